//! The order of what is kept, and what becomes of it, without a server.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::sidecar::Source;

const SERVER: &str = "http://localhost:7313";

fn unsent(id: &str, text: &str, worked_from: &str) -> Unsent {
    Unsent {
        kept_us: 0,
        server: SERVER.into(),
        group: "saltmarsh-wheels".into(),
        design: "curlew-platform".into(),
        text: text.into(),
        note: String::new(),
        worked_from: worked_from.into(),
        drawn_after: None,
        request_id: id.into(),
        behind: String::new(),
        gave_way: false,
    }
}

struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn sidecar(&self) -> Sidecar {
        Sidecar::of(&self.folder.path().join("frame.toml"))
    }

    /// As the next run of the command finds it.
    fn queue(&self) -> Queue {
        Queue::open(&self.sidecar()).unwrap()
    }

    /// Id, letter and whether it waits, as on disk.
    fn kept(&self) -> Vec<(String, String, bool)> {
        let list = self.sidecar().unsent().unwrap();
        list.into_iter().map(|item| (item.request_id.clone(), item.worked_from.clone(), item.waits())).collect()
    }
}

fn entry(id: &str, worked_from: &str, waits: bool) -> (String, String, bool) {
    (id.into(), worked_from.into(), waits)
}

fn someone_else(latest: &str) -> ClientError {
    ClientError::SomeoneElse {
        latest: latest.into(),
        author: "okoro".into(),
        worked_from: "A".into(),
        next: String::new(),
    }
}

#[test]
fn it_is_on_disk_before_it_is_sent_and_gone_when_the_server_has_it() {
    let desk = Desk::new();
    let mut queue = desk.queue();
    let at_hand = queue.take_in(unsent("1", "one", "A"), false).unwrap();
    assert!(at_hand.fresh);
    assert_eq!(desk.kept(), [entry("1", "A", true)]);
    assert_eq!(queue.is_done(&at_hand.submission).unwrap(), 0);
    assert_eq!(desk.kept(), []);
}

#[test]
fn the_very_same_goes_under_its_first_id() {
    let desk = Desk::new();
    desk.queue().take_in(unsent("1", "one", "A"), false).unwrap();
    let again = desk.queue().take_in(unsent("2", "one", "A"), false).unwrap();
    assert_eq!((again.submission.request_id.as_str(), again.fresh), ("1", false));
    assert_eq!(desk.kept(), [entry("1", "A", true)]);
    // Another letter is another request: under the first id the server would refuse it.
    let named = desk.queue().take_in(unsent("3", "one", "B"), true).unwrap();
    assert_eq!((named.submission.request_id.as_str(), named.fresh), ("3", true));
}

#[test]
fn only_the_first_tells_what_the_design_was_drawn_after() {
    let source = Source {
        server: SERVER.into(),
        group: "saltmarsh-wheels".into(),
        design: "curlew-platform".into(),
        letter: "C".into(),
    };
    let told = |id: &str, text: &str| Unsent { drawn_after: Some(source.clone()), ..unsent(id, text, "") };
    let desk = Desk::new();
    desk.queue().take_in(told("1", "one"), false).unwrap();
    desk.queue().take_in(told("2", "two"), false).unwrap();
    let mut queue = desk.queue();
    let mut at_hand = queue.take_in(told("3", "three"), false).unwrap();
    let first = queue.next_before(&at_hand).unwrap();
    assert_eq!(first.drawn_after.as_ref(), Some(&source));
    queue.is_sent(&first, "A", &mut at_hand).unwrap();
    assert_eq!(at_hand.submission.drawn_after, None);
    let kept = desk.sidecar().unsent().unwrap();
    assert!(kept.len() == 2 && kept.iter().all(|item| item.drawn_after.is_none()), "{kept:?}");
    // Without its source it is another request: under the first id the server would refuse it.
    let desk = Desk::new();
    desk.queue().take_in(told("1", "one"), false).unwrap();
    assert!(!desk.queue().take_in(told("2", "one"), false).unwrap().fresh);
    assert!(desk.queue().take_in(unsent("3", "one", ""), false).unwrap().fresh);
}

#[test]
fn several_go_in_their_order_each_worked_from_the_one_before() {
    let desk = Desk::new();
    desk.queue().take_in(unsent("1", "one", ""), false).unwrap();
    desk.queue().take_in(unsent("2", "two", ""), false).unwrap();
    let mut queue = desk.queue();
    let mut at_hand = queue.take_in(unsent("3", "three", ""), false).unwrap();
    for (id, letter) in [("1", "A"), ("2", "B")] {
        let next = queue.next_before(&at_hand).unwrap();
        assert_eq!(next.request_id, id);
        queue.is_sent(&next, letter, &mut at_hand).unwrap();
    }
    assert_eq!(queue.next_before(&at_hand), None);
    assert_eq!(at_hand.submission.worked_from, "B");
    // What is on disk is what will be sent: after a kill here the id still belongs to the same request.
    assert_eq!(desk.kept(), [entry("3", "B", true)]);
}

#[test]
fn what_is_refused_is_kept_and_what_is_only_at_hand_is_not() {
    let desk = Desk::new();
    desk.queue().take_in(unsent("1", "one", "A"), false).unwrap();
    let mut queue = desk.queue();
    let at_hand = queue.take_in(unsent("2", "two", "A"), false).unwrap();
    let first = queue.next_before(&at_hand).unwrap();
    queue.is_refused(&first, &at_hand, &someone_else("B")).unwrap();
    assert_eq!(desk.kept(), [entry("1", "A", true)]);
    assert_eq!(desk.sidecar().unsent().unwrap()[0].behind, "B");
}

#[test]
fn a_named_letter_passes_over_what_was_kept_and_loses_none_of_it() {
    let desk = Desk::new();
    desk.queue().take_in(unsent("1", "one", "A"), false).unwrap();
    let mut queue = desk.queue();
    let at_hand = queue.take_in(unsent("2", "two", "B"), true).unwrap();
    assert_eq!(queue.next_before(&at_hand), None);
    // A refusal changes nothing for the older one; only what is kept or taken in its place does.
    queue.is_refused(&at_hand.submission, &at_hand, &someone_else("C")).unwrap();
    assert_eq!(desk.kept(), [entry("1", "A", true)]);
    let mut queue = desk.queue();
    let at_hand = queue.take_in(unsent("3", "two", "C"), true).unwrap();
    queue.is_kept(&at_hand).unwrap();
    assert_eq!(desk.kept(), [entry("1", "A", false), entry("3", "C", true)]);
    let mut queue = desk.queue();
    let at_hand = queue.take_in(unsent("4", "two", "A"), false).unwrap();
    assert_eq!((at_hand.submission.request_id.as_str(), queue.next_before(&at_hand)), ("3", None));
    queue.is_done(&at_hand.submission).unwrap();
    assert_eq!(desk.kept(), [entry("1", "A", false)]);
}

#[test]
fn what_is_for_another_server_stays_where_it_is() {
    let desk = Desk::new();
    let other = Unsent { server: "https://boards.example".into(), ..unsent("1", "one", "A") };
    desk.queue().take_in(other, false).unwrap();
    let mut queue = desk.queue();
    let at_hand = queue.take_in(unsent("2", "one", "A"), false).unwrap();
    assert!(at_hand.fresh);
    assert_eq!(queue.next_before(&at_hand), None);
    assert_eq!(queue.elsewhere(SERVER), ["https://boards.example"]);
    queue.is_done(&at_hand.submission).unwrap();
    assert_eq!(desk.kept(), [entry("1", "A", true)]);
}

#[test]
fn a_group_that_was_not_known_is_settled_once_it_is() {
    let desk = Desk::new();
    desk.queue().take_in(Unsent { group: String::new(), ..unsent("1", "one", "") }, false).unwrap();
    let mut queue = desk.queue();
    let mut at_hand = queue.take_in(Unsent { group: String::new(), ..unsent("2", "one", "") }, false).unwrap();
    assert!(!at_hand.fresh && queue.lacks_group(&at_hand));
    queue.settle_group(&mut at_hand, "saltmarsh-wheels").unwrap();
    assert!(!queue.lacks_group(&at_hand));
    assert_eq!(at_hand.submission.group, "saltmarsh-wheels");
    assert_eq!(desk.sidecar().unsent().unwrap()[0].group, "saltmarsh-wheels");
}

#[test]
fn a_full_shelf_drops_nothing_that_is_on_it() {
    let desk = Desk::new();
    let full: Vec<Unsent> =
        (0..MOST_KEPT).map(|number| unsent(&number.to_string(), &format!("text {number}"), "A")).collect();
    desk.sidecar().keep_unsent(&full).unwrap();
    let mut queue = desk.queue();
    let mut at_hand = queue.take_in(unsent("new", "new", "A"), false).unwrap();
    queue.is_kept(&at_hand).unwrap();
    assert_eq!(desk.sidecar().unsent().unwrap(), full);
    assert!(!queue.holds(&at_hand.submission));
    // Once one of them is sent there is room for it.
    let first = queue.next_before(&at_hand).unwrap();
    queue.is_sent(&first, "B", &mut at_hand).unwrap();
    queue.is_kept(&at_hand).unwrap();
    assert_eq!(desk.kept().last(), Some(&entry("new", "B", true)));
}

#[test]
fn what_an_older_command_kept_is_read() {
    let desk = Desk::new();
    let folder = desk.folder.path().join(".batten/unsent");
    std::fs::create_dir_all(&folder).unwrap();
    let old = r#"[{"kept_us":1,"server":"http://localhost:7313","group":"g","design":"d","text":"t","note":"","worked_from":"A","request_id":"1"}]"#;
    std::fs::write(folder.join("frame.json"), old).unwrap();
    assert_eq!(desk.kept(), [entry("1", "A", true)]);
}
