//! What must be there after a kill: all that was acknowledged, once, and of everything the whole.

use super::writers::{Role, Writer};
use battenboard_proto::v1;
use battenboard_tests::harness::{Actor, GROUP};
use std::collections::BTreeMap;
use std::time::Duration;
use v1::EventKind as Kind;

/// Longest wait for all checks that were left: leases of killed servers run out first.
const ALL_CHECKED: Duration = Duration::from_secs(180);

/// Somebody who looks after each kill.
pub struct Book {
    pub who: Actor,
    /// The notice that is taken up.
    notice: String,
    /// Checks that ended twice: no harm, both found the same.
    pub checked_twice: usize,
}

fn of_kind<'a>(told: &'a [Vec<String>], kind: &str) -> Vec<&'a [String]> {
    told.iter().filter(|words| words[0] == kind).map(|words| &words[1..]).collect()
}

impl Book {
    pub fn of(who: Actor, notice: String) -> Self {
        Self { who, notice, checked_twice: 0 }
    }

    /// Asks that everything told is there and whole; at the end also that every check has ended with findings.
    pub async fn holds(&mut self, writers: &[Writer], at_the_end: bool) {
        let events = self.events().await;
        let mut told: Vec<Vec<String>> = Vec::new();
        for writer in writers {
            let of_his = writer.told();
            match writer.role {
                Role::Submits(_) => self.submits_hold(&writer.design(), &of_his, at_the_end).await,
                Role::Remarks(_) => self.remarks_hold(&writer.design(), &of_his).await,
                Role::Looks => self.looks_hold(&of_his).await,
                Role::Hangs | Role::TakesUp => {}
            }
            told.extend(of_his);
        }
        self.notices_hold(&told).await;
        self.events_hold(&events, &told);
        if at_the_end {
            let long = of_kind(&told, "submit").into_iter().filter(|words| words[0].starts_with("long-"));
            for words in long {
                self.checked(&words[0], &words[1]).await;
            }
        }
    }

    /// Letters without a gap, each submit once in the order of its writer, each with its check or findings.
    async fn submits_hold(&self, design: &str, told: &[Vec<String>], at_the_end: bool) {
        let mut revisions: Vec<v1::Revision> = Vec::new();
        let mut page_token = String::new();
        loop {
            let (group, design) = (GROUP.to_owned(), design.to_owned());
            let list = v1::ListRevisionsRequest { group, design, page_size: 200, page_token };
            let page = self.who.designs().list_revisions(list).await.unwrap().into_inner();
            revisions.extend(page.revisions);
            page_token = page.next_page_token;
            if page_token.is_empty() {
                break;
            }
        }
        revisions.reverse();
        let ordinals: Vec<i64> = revisions.iter().map(|it| it.ordinal).collect();
        assert_eq!(ordinals, (1..=revisions.len() as i64).collect::<Vec<_>>(), "{design}");
        let there: Vec<_> = revisions[1..].iter().map(|it| (it.letter.as_str(), it.note.as_str())).collect();
        let submits = of_kind(told, "submit").into_iter().filter(|words| words[0] == design);
        let wanted: Vec<_> = submits.map(|words| (words[1].as_str(), words[2].as_str())).collect();
        assert_eq!(there, wanted, "{design}: what is there and what was acknowledged");
        for revision in &revisions {
            // A revision with neither check nor findings is told as failed.
            assert_ne!(revision.check_state, i32::from(v1::CheckState::Failed), "{design} {}", revision.letter);
            if at_the_end {
                self.checked(design, &revision.letter).await;
            }
        }
    }

    async fn checked(&self, design: &str, letter: &str) {
        let found = tokio::time::timeout(ALL_CHECKED, self.who.waits_for_findings(GROUP, design, letter));
        let found = found.await.unwrap_or_else(|_| panic!("{design} {letter} is never checked")).unwrap();
        assert!(!found.checks.is_empty(), "{design} {letter}");
    }

    /// Numbers without a gap, each remark and answer once, each with its standing.
    async fn remarks_hold(&self, design: &str, told: &[Vec<String>]) {
        let mut remarks: Vec<v1::Remark> = Vec::new();
        let mut page_token = String::new();
        loop {
            let (group, design) = (GROUP.to_owned(), design.to_owned());
            let list = v1::ListRemarksRequest { group, design, page_size: 200, page_token, ..Default::default() };
            let page = self.who.remarks().list_remarks(list).await.unwrap().into_inner();
            remarks.extend(page.remarks);
            page_token = page.next_page_token;
            if page_token.is_empty() {
                break;
            }
        }
        remarks.reverse();
        let there: Vec<_> = remarks.iter().map(|it| (it.number.to_string(), it.text.clone())).collect();
        let wanted = of_kind(told, "remark").into_iter().map(|words| (words[1].clone(), words[2].clone()));
        assert_eq!(there, wanted.collect::<Vec<_>>(), "{design}");
        assert!(remarks.iter().zip(1..).all(|(remark, number)| remark.number == number), "{design}");
        let answers = remarks
            .iter()
            .flat_map(|remark| remark.entries.iter().map(|entry| (remark.number.to_string(), entry.text.clone())));
        let wanted = of_kind(told, "answer").into_iter().map(|words| (words[1].clone(), words[2].clone()));
        assert_eq!(answers.collect::<Vec<_>>(), wanted.collect::<Vec<_>>(), "{design}");
        for remark in &remarks {
            let standing = remark.standing.as_ref().unwrap();
            assert_eq!((standing.tag.as_str(), standing.as_of_letter.is_empty()), ("B1", false), "{remark:?}");
            let state = if remark.entries.is_empty() { v1::RemarkState::Open } else { v1::RemarkState::Answered };
            assert_eq!(remark.state, i32::from(state), "{remark:?}");
        }
    }

    async fn looks_hold(&self, told: &[Vec<String>]) {
        let get = v1::GetReviewRequest { group: GROUP.into(), design: "yard-0".into(), letter: "A".into() };
        let review = self.who.reviews().get_review(get).await.unwrap().into_inner().review.unwrap();
        let latest = review.looked_at.iter().flat_map(|item| &item.looks).map(|look| look.note.as_str()).next();
        assert_eq!(latest, of_kind(told, "look").last().map(|words| words[0].as_str()));
    }

    /// Each notice once, with its skills and as many takers as have it taken up.
    async fn notices_hold(&self, told: &[Vec<String>]) {
        let mut notices: BTreeMap<String, v1::Notice> = BTreeMap::new();
        let mut page_token = String::new();
        loop {
            let list = v1::ListGroupNoticesRequest { group: GROUP.into(), page_size: 200, page_token };
            let page = self.who.notices().list_group_notices(list).await.unwrap().into_inner();
            notices.extend(page.notices.into_iter().map(|notice| (notice.id.clone(), notice)));
            page_token = page.next_page_token;
            if page_token.is_empty() {
                break;
            }
        }
        let hung = of_kind(told, "hang");
        assert_eq!(notices.len(), hung.len() + 1);
        let down = of_kind(told, "take down");
        for words in &hung {
            let notice = &notices[&words[0]];
            let is_down = down.iter().any(|down| down[0] == words[0]);
            let state = if is_down { v1::NoticeState::TakenDown } else { v1::NoticeState::Hanging };
            assert_eq!(notice.state, i32::from(state), "{notice:?}");
        }
        for notice in notices.values() {
            let open = notice.take_ups.iter().filter(|it| it.end_time.is_none()).count();
            assert_eq!((notice.taker_count as usize, notice.skills.len()), (open, 2), "{notice:?}");
        }
        let taken = &notices[&self.notice].take_ups;
        let (up, back) = (of_kind(told, "take up").len(), of_kind(told, "hand back").len());
        assert_eq!((taken.len(), taken.iter().filter(|it| it.end_time.is_some()).count()), (up, back));
    }

    async fn events(&self) -> Vec<v1::Event> {
        let mut events: Vec<v1::Event> = Vec::new();
        let mut page_token = String::new();
        loop {
            let from_oldest = page_token.is_empty();
            let list = v1::ListNewsRequest { from_oldest, page_size: 200, page_token, ..Default::default() };
            let page = self.who.news().list_news(list).await.unwrap().into_inner();
            events.extend(page.events);
            page_token = page.next_page_token;
            if page_token.is_empty() {
                return events;
            }
        }
    }

    /// Numbers of each stream without a hole, and of each act its one event.
    fn events_hold(&mut self, events: &[v1::Event], told: &[Vec<String>]) {
        let stream = |of: &dyn Fn(&v1::Event) -> bool| -> Vec<i64> {
            events.iter().filter(|event| of(event)).map(|event| event.number).collect()
        };
        let board = stream(&|event| event.on_noticeboard);
        let group = stream(&|event| !event.on_noticeboard && event.group == GROUP);
        for numbers in [&board, &group] {
            assert_eq!(*numbers, (1..=numbers.len() as i64).collect::<Vec<_>>(), "numbers of a stream");
        }
        let count = |kind: Kind, on_board: bool| {
            let of =
                |it: &&v1::Event| it.kind() == kind && it.on_noticeboard == on_board && it.actor.starts_with("writer");
            events.iter().filter(of).count()
        };
        let acts = [
            ("submit", Kind::RevisionSubmitted, false),
            ("remark", Kind::RemarkMade, false),
            ("answer", Kind::RemarkAnswered, false),
            ("look", Kind::LookedAt, false),
            ("hang", Kind::NoticeHung, false),
            ("hang", Kind::NoticeHung, true),
            ("take down", Kind::NoticeEnded, false),
            ("take down", Kind::NoticeEnded, true),
            ("take up", Kind::NoticeTakenUp, false),
            ("hand back", Kind::NoticeHandedBack, false),
        ];
        for (act, kind, on_board) in acts {
            assert_eq!(count(kind, on_board), of_kind(told, act).len(), "{act}: events and acknowledgements");
        }
        let mut ended: BTreeMap<(&str, &str), usize> = BTreeMap::new();
        for event in events.iter().filter(|event| event.kind() == Kind::Checked) {
            *ended.entry((&event.design, &event.letter)).or_default() += 1;
        }
        self.checked_twice = ended.values().filter(|times| **times > 1).count();
    }
}
