//! The world in which everybody asks: a group with its crew, three designs of three revisions each with a notice on B,
//! somebody who took it up, and a stranger.

use super::Who;
use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, GROUP, by_id};
use prost_types::Timestamp;
use std::collections::BTreeMap;
use std::time::{SystemTime, UNIX_EPOCH};
use tonic::Status;

/// Another group of the same keeper, into which anybody may be invited.
pub const ELSEWHERE: &str = "elsewhere";

/// Everybody and everything there is.
pub struct World {
    /// Signed-in people by who they are; the keeper's and the author's acts prepare what others are asked about.
    pub people: BTreeMap<Who, Actor>,
    /// Without a token.
    pub visitor: Actor,
    /// A second keeper, so that the first may leave.
    pub aino: Actor,
    /// Of another group: taken in and out.
    pub runa: Actor,
    /// The notice of each design.
    pub notices: BTreeMap<String, String>,
    /// Where what is asked about belongs; another name where it is to be absent.
    pub group: String,
    /// Counts what needs a name of its own.
    pub count: u64,
}

/// The text of a design's revision.
pub fn text(design: &str, letter: &str) -> String {
    let length_mm = match letter {
        "A" => 800.0,
        "B" => 810.0,
        _ => 820.0,
    };
    one_bearer(design, length_mm)
}

/// A day to come.
pub fn in_a_week() -> Option<Timestamp> {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    Some(Timestamp { seconds: i64::try_from(now).unwrap() + 7 * 86_400, nanos: 0 })
}

/// What a refusal says, without the names and numbers that were asked for.
pub fn words_of(status: &Status) -> String {
    let said = status.message().split('`').enumerate().map(|(at, part)| if at % 2 == 1 { "..." } else { part });
    format!("{:?} {}", status.code(), said.collect::<String>())
}

/// A group that nobody has founded.
pub const ABSENT_GROUP: &str = "nowhere";

/// A wish for a second opinion.
pub fn notice_wanted(group: &str, design: &str, letter: &str) -> v1::HangNoticeRequest {
    v1::HangNoticeRequest {
        group: group.into(),
        design: design.into(),
        letter: letter.into(),
        worry: "is it stiff enough?".into(),
        frame_kind: "shelf".into(),
        expire_time: in_a_week(),
        ..Default::default()
    }
}

/// A remark of advice on a member.
pub fn remark_wanted(group: &str, design: &str, letter: &str) -> v1::CreateRemarkRequest {
    v1::CreateRemarkRequest {
        group: group.into(),
        design: design.into(),
        letter: letter.into(),
        place: Some(v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: None }),
        kind: v1::RemarkKind::Advice.into(),
        text: "plane the edges".into(),
        request_id: String::new(),
        proof_load: None,
    }
}

impl World {
    /// Makes it.
    pub async fn of(bench: &Bench) -> Self {
        let crew = bench.saltmarsh().await;
        let keeper = crew.ines;
        let let_in = async |name: &str, group: &str, right| keeper.lets_in(name, group, right).await.unwrap();
        keeper.founds(ELSEWHERE).await.unwrap();
        let mut people = BTreeMap::from([
            (Who::Onlooker, let_in("pekka", GROUP, v1::Right::Onlooker).await),
            (Who::Builder, let_in("sanna", GROUP, v1::Right::Builder).await),
            (Who::Stranger, let_in("tove", ELSEWHERE, v1::Right::Keeper).await),
            (Who::Taker, let_in("liv", ELSEWHERE, v1::Right::Reviewer).await),
        ]);
        let aino = let_in("aino", GROUP, v1::Right::Keeper).await;
        let runa = let_in("runa", ELSEWHERE, v1::Right::Reviewer).await;
        people.extend([(Who::Reviewer, crew.okoro), (Who::Author, crew.maarit), (Who::Keeper, keeper)]);
        people.insert(Who::StrangerBefore, people[&Who::Stranger].clone());
        people.insert(Who::TakerBefore, people[&Who::Taker].clone());
        let (visitor, notices, group) = (bench.stranger(), BTreeMap::new(), GROUP.to_owned());
        let mut world = Self { people, visitor, aino, runa, notices, group, count: 0 };
        let kinds = [v1::Visibility::Group, v1::Visibility::Noticeboard, v1::Visibility::Open];
        for (design, visibility) in super::DESIGNS.into_iter().zip(kinds) {
            world.make_design(design, visibility).await;
        }
        let figures = v1::Vehicle { name: "Dunlin".into(), track_mm: Some(1630.0), ..v1::Vehicle::default() };
        world.people[&Who::Author].surveys(GROUP, figures, "").await.unwrap();
        world
    }

    async fn make_design(&mut self, design: &str, visibility: v1::Visibility) {
        let (author, keeper) = (&self.people[&Who::Author], &self.people[&Who::Keeper]);
        for (letter, from) in [("A", ""), ("B", "A"), ("C", "B")] {
            author.submits(GROUP, design, &text(design, letter), from).await.unwrap();
            author.waits_for_findings(GROUP, design, letter).await.unwrap();
        }
        let request = v1::UpdateDesignVisibilityRequest {
            group: GROUP.into(),
            design: design.into(),
            visibility: visibility.into(),
        };
        keeper.designs().update_design_visibility(request).await.unwrap();
        let notice = self.hangs(design).await;
        self.takes_up(Who::Taker, &notice).await.unwrap();
        self.notices.insert(design.to_owned(), notice);
    }

    /// Somebody as he is now.
    pub fn actor(&self, who: Who) -> Actor {
        self.people.get(&who).cloned().unwrap_or_else(|| self.visitor.clone())
    }

    /// Signs somebody in anew, under the password he has.
    pub async fn renew(&mut self, who: Who, password: Option<&str>) {
        let Some(actor) = self.people.get(&who) else { return };
        let mut known = actor.clone();
        if let Some(password) = password {
            known.password = password.to_owned();
        }
        let fresh = known.signs_in().await.unwrap();
        for (_, actor) in self.people.iter_mut().filter(|(_, actor)| actor.name == fresh.name) {
            *actor = fresh.clone();
        }
    }

    /// A number that was not given before.
    pub fn next(&mut self) -> u64 {
        self.count += 1;
        self.count
    }

    /// The author hangs a notice on B; gives its id.
    pub async fn hangs(&self, design: &str) -> String {
        let request = notice_wanted(GROUP, design, "B");
        let hung = self.people[&Who::Author].notices().hang_notice(request).await.unwrap();
        hung.into_inner().notice.unwrap().id
    }

    /// The keeper takes a notice down, if it hangs.
    pub async fn takes_down(&self, id: &str) {
        let request = v1::TakeDownNoticeRequest { notice_id: id.into() };
        let _ = self.people[&Who::Keeper].notices().take_down_notice(request).await;
    }

    /// Takes a notice up.
    pub async fn takes_up(&self, who: Who, id: &str) -> Result<(), Status> {
        let request = v1::TakeUpNoticeRequest { notice_id: id.into() };
        self.actor(who).notices().take_up_notice(request).await.map(|_| ())
    }

    /// Hands a notice back, if it was taken up.
    pub async fn hands_back(&self, who: Who, id: &str) -> Result<(), Status> {
        let request = v1::HandBackNoticeRequest { notice_id: id.into() };
        self.actor(who).notices().hand_back_notice(request).await.map(|_| ())
    }

    /// Somebody makes a remark.
    pub async fn remark_by(&self, who: Who, design: &str, letter: &str) -> v1::Remark {
        let request = remark_wanted(GROUP, design, letter);
        self.actor(who).remarks().create_remark(request).await.unwrap().into_inner().remark.unwrap()
    }

    /// The same, answered.
    pub async fn answered_remark(&self, design: &str, letter: &str) -> v1::Remark {
        let remark = self.remark_by(Who::Reviewer, design, letter).await;
        self.people[&Who::Reviewer].answers(&remark, "done").await.unwrap()
    }

    /// Refers to a remark: by its id, or by a number that no remark has, where it is to be absent.
    pub fn reference(&self, remark: &v1::Remark) -> Option<v1::RemarkReference> {
        if self.group == GROUP {
            return by_id(remark);
        }
        let id = uuid::Uuid::now_v7().to_string();
        Some(v1::RemarkReference { by: Some(v1::remark_reference::By::Id(id)) })
    }

    /// The crew takes somebody in.
    pub async fn let_in(&self, actor: &Actor, group: &str, right: v1::Right) {
        let by = if actor.name == self.people[&Who::Keeper].name { &self.aino } else { &self.people[&Who::Keeper] };
        let code = by.invites(group, right).await.unwrap();
        actor.groups().accept_invitation(v1::AcceptInvitationRequest { code }).await.unwrap();
    }

    /// Asks for the same of a group that is not there; `None` where what is asked about has no group's name.
    pub async fn ask_of_what_is_not_there(&mut self, row: &str, who: Who) -> Option<Result<(), Status>> {
        if row.starts_with("NoticeService/") && !row.ends_with("HangNotice") {
            return None;
        }
        self.group = ABSENT_GROUP.to_owned();
        let outcome = self.ask(row, who, super::DESIGNS[0]).await;
        self.group = GROUP.to_owned();
        Some(outcome)
    }
}
