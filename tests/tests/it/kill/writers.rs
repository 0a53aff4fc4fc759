//! Those who write while the server is killed. Each has one call on its way at most, and writes down what was
//! acknowledged before the next.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, GROUP, by_id};
use prost_types::Timestamp;
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};
use tonic::{Code, Status};

/// What a writer does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Submits to the design of this number.
    Submits(usize),
    /// Makes a remark on the design of this number, answers it, makes the next.
    Remarks(usize),
    Looks,
    /// Hangs a notice, takes it down, hangs the next.
    Hangs,
    /// Takes the one notice up, hands it back, takes it up.
    TakesUp,
}

impl Role {
    pub const SUBMITTERS: usize = 8;

    pub fn all() -> Vec<Self> {
        let mut all: Vec<Self> = (0..Self::SUBMITTERS).map(Self::Submits).collect();
        all.extend((0..5).map(Self::Remarks));
        all.extend([Self::Looks, Self::Hangs, Self::TakesUp]);
        all
    }
}

/// A call that has no answer yet.
#[derive(Clone, Debug)]
enum Wanted {
    Submit(Box<v1::SubmitRevisionRequest>),
    Remark(v1::CreateRemarkRequest),
    Answer(v1::AnswerRemarkRequest),
    Look(v1::MarkLookedAtRequest),
    Hang(v1::HangNoticeRequest),
    TakeDown(String),
    TakeUp(String),
    HandBack(String),
}

/// One writer.
pub struct Writer {
    pub who: Actor,
    pub role: Role,
    pub number: usize,
    file: File,
    path: PathBuf,
    notice: String,
    wanted: Option<Wanted>,
    count: u64,
    letter: String,
    /// What the last call made, where the next one is about it: a remark, a notice.
    open: Option<v1::Remark>,
    hangs: Option<String>,
}

/// A day to come.
fn in_a_week() -> Option<Timestamp> {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    Some(Timestamp { seconds: i64::try_from(now).unwrap() + 7 * 86_400, nanos: 0 })
}

fn notice_wanted(design: &str, worry: &str, request_id: &str) -> v1::HangNoticeRequest {
    v1::HangNoticeRequest {
        group: GROUP.into(),
        design: design.into(),
        letter: "A".into(),
        worry: worry.into(),
        frame_kind: "shelf".into(),
        skills: vec!["joinery".into(), "statics".into()],
        expire_time: in_a_week(),
        most_takers: 20,
        request_id: request_id.into(),
        ..Default::default()
    }
}

/// Hangs a notice; gives its id.
pub async fn hang(who: &Actor, design: &str, worry: &str, request_id: &str) -> Result<String, Status> {
    let request = notice_wanted(design, worry, request_id);
    Ok(who.notices().hang_notice(request).await?.into_inner().notice.unwrap().id)
}

/// Where the answer to a call got lost, and not where the server refused it.
fn is_lost(status: &Status) -> bool {
    let codes = [Code::Unavailable, Code::Unknown, Code::Cancelled, Code::Internal, Code::DeadlineExceeded];
    codes.contains(&status.code())
}

impl Writer {
    pub fn new(who: Actor, role: Role, number: usize, folder: &Path, notice: &str) -> Self {
        let path = folder.join(format!("acknowledged-{number}"));
        let file = OpenOptions::new().create(true).append(true).open(&path).unwrap();
        let (notice, letter) = (notice.to_owned(), "A".to_owned());
        Self { who, role, number, file, path, notice, wanted: None, count: 0, letter, open: None, hangs: None }
    }

    /// What was acknowledged, from the file: each line's words.
    pub fn told(&self) -> Vec<Vec<String>> {
        let text = std::fs::read_to_string(&self.path).unwrap();
        text.lines().map(|line| line.split('\t').map(str::to_owned).collect()).collect()
    }

    /// The design that this writer's calls are about.
    pub fn design(&self) -> String {
        match self.role {
            Role::Submits(yard) | Role::Remarks(yard) => format!("yard-{yard}"),
            Role::Looks => "yard-0".into(),
            Role::Hangs => "yard-1".into(),
            Role::TakesUp => "yard-2".into(),
        }
    }

    /// Writes until a call has no answer.
    pub async fn writes_until_it_fails(&mut self) {
        while self.wanted.is_none() {
            self.wanted = Some(self.next());
            self.calls().await;
        }
    }

    /// Submits a frame of its own design whose check takes its time.
    pub async fn submits_long(&mut self, design: &str, text: &str) {
        let note = format!("long {design}");
        self.wanted = Some(Wanted::Submit(Box::new(self.submission(design, text, "", &note))));
        self.calls().await;
    }

    /// Makes the call again that had no answer; true if there was one.
    pub async fn repeats(&mut self) -> bool {
        let lost = self.wanted.is_some();
        if lost {
            self.calls().await;
            assert!(self.wanted.is_none(), "{:?} is not answered though nobody kills the server", self.wanted);
        }
        lost
    }

    fn submission(&self, design: &str, text: &str, from: &str, note: &str) -> v1::SubmitRevisionRequest {
        v1::SubmitRevisionRequest {
            group: GROUP.into(),
            design: design.into(),
            text: text.into(),
            note: note.into(),
            worked_from: from.into(),
            request_id: uuid::Uuid::now_v7().to_string(),
            frame: None,
            drawn_after: None,
        }
    }

    fn next(&mut self) -> Wanted {
        self.count += 1;
        let (design, mark) = (self.design(), format!("{} of writer {}", self.count, self.number));
        let request_id = uuid::Uuid::now_v7().to_string();
        match self.role {
            Role::Submits(_) => {
                let text = one_bearer(&design, 700.0 + self.count as f64 * 0.125);
                Wanted::Submit(Box::new(self.submission(&design, &text, &self.letter, &mark)))
            }
            Role::Remarks(_) => match self.open.take() {
                Some(remark) => {
                    Wanted::Answer(v1::AnswerRemarkRequest { remark: by_id(&remark), text: mark, request_id })
                }
                None => Wanted::Remark(v1::CreateRemarkRequest {
                    group: GROUP.into(),
                    design,
                    letter: String::new(),
                    place: Some(v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: Some(10.0) }),
                    kind: v1::RemarkKind::Advice.into(),
                    text: mark,
                    request_id,
                    proof_load: None,
                }),
            },
            Role::Looks => Wanted::Look(v1::MarkLookedAtRequest {
                group: GROUP.into(),
                design,
                letter: "A".into(),
                places: vec![v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: None }],
                kind: v1::LookKind::LookedAtOnly.into(),
                note: mark,
                request_id,
                ..Default::default()
            }),
            Role::Hangs => match self.hangs.take() {
                Some(id) => Wanted::TakeDown(id),
                None => Wanted::Hang(notice_wanted(&design, &mark, &request_id)),
            },
            Role::TakesUp if self.count % 2 == 1 => Wanted::TakeUp(self.notice.clone()),
            Role::TakesUp => Wanted::HandBack(self.notice.clone()),
        }
    }

    /// Makes the call that is wanted; where it is answered, writes that down and wants nothing.
    async fn calls(&mut self) {
        let Some(wanted) = self.wanted.clone() else { return };
        match self.calls_for(wanted).await {
            Ok(words) => {
                writeln!(self.file, "{}", words.join("\t")).unwrap();
                self.wanted = None;
            }
            Err(status) => assert!(is_lost(&status), "{:?}: {status:?}", self.wanted),
        }
    }

    async fn calls_for(&mut self, wanted: Wanted) -> Result<Vec<String>, Status> {
        let who = self.who.clone();
        let words = |words: &[&str]| Ok(words.iter().map(|word| (*word).to_owned()).collect());
        match wanted {
            Wanted::Submit(request) => {
                let (design, note) = (request.design.clone(), request.note.clone());
                let made = who.designs().submit_revision(*request).await?.into_inner().revision.unwrap();
                assert_eq!((&made.design, &made.note), (&design, &note));
                if design == self.design() {
                    self.letter.clone_from(&made.letter);
                }
                words(&["submit", &design, &made.letter, &note])
            }
            Wanted::Remark(request) => {
                let remark = who.remarks().create_remark(request).await?.into_inner().remark.unwrap();
                let line = words(&["remark", &remark.design, &remark.number.to_string(), &remark.text]);
                self.open = Some(remark);
                line
            }
            Wanted::Answer(request) => {
                let text = request.text.clone();
                let remark = who.remarks().answer_remark(request).await?.into_inner().remark.unwrap();
                words(&["answer", &remark.design, &remark.number.to_string(), &text])
            }
            Wanted::Look(request) => {
                let note = request.note.clone();
                who.reviews().mark_looked_at(request).await?;
                words(&["look", &note])
            }
            Wanted::Hang(request) => {
                let id = who.notices().hang_notice(request).await?.into_inner().notice.unwrap().id;
                self.hangs = Some(id.clone());
                words(&["hang", &id])
            }
            Wanted::TakeDown(id) => {
                let request = v1::TakeDownNoticeRequest { notice_id: id.clone() };
                done_once(who.notices().take_down_notice(request).await.map(|_| ()))?;
                words(&["take down", &id])
            }
            Wanted::TakeUp(id) => {
                who.notices().take_up_notice(v1::TakeUpNoticeRequest { notice_id: id.clone() }).await?;
                words(&["take up", &id])
            }
            Wanted::HandBack(id) => {
                let request = v1::HandBackNoticeRequest { notice_id: id.clone() };
                done_once(who.notices().hand_back_notice(request).await.map(|_| ()))?;
                words(&["hand back", &id])
            }
        }
    }
}

/// A call without a request id: refused when it is repeated, as it was done already.
fn done_once(answer: Result<(), Status>) -> Result<(), Status> {
    match answer {
        Err(status) if status.code() == Code::FailedPrecondition => Ok(()),
        other => other,
    }
}
