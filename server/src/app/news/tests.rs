//! The hub and the pages without a wire, on one database or both.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at the first surprise")]

use super::hub::{End, Hub, Item, MOST_BEHIND, Word};
use super::resolve::EventView;
use super::{EventKind, Only, VisibleStream};
use crate::store::Grown;
use crate::store::events::Event;
use crate::testing::block_on;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use tokio::sync::mpsc;
use uuid::Uuid;

const STREAM: Uuid = Uuid::from_u128(7);

fn stream(id: Uuid) -> VisibleStream {
    VisibleStream { id, since: None, only: None }
}

fn given(number: i64) -> (Event, Arc<EventView>) {
    let event = Event {
        stream_id: STREAM,
        number,
        kind: "remark".into(),
        actor_id: None,
        design_id: Some(Uuid::from_u128(number.unsigned_abs().into())),
        ordinal: Some(number),
        subject_id: None,
        created_at: number,
    };
    let view = EventView {
        stream_id: STREAM,
        number,
        on_noticeboard: false,
        kind: EventKind::RemarkMade,
        group: String::new(),
        design: String::new(),
        ordinal: None,
        actor: String::new(),
        account: String::new(),
        remark: None,
        survey: None,
        created_at: number,
    };
    (event, Arc::new(view))
}

fn numbers(queue: &mut mpsc::Receiver<Item>) -> Vec<i64> {
    std::iter::from_fn(|| queue.try_recv().ok()).map(|item| item.number).collect()
}

#[test]
fn each_listener_gets_each_event_once_and_a_slow_one_is_cut_off_alone() {
    let hub = Arc::new(Hub::default());
    let heads = BTreeMap::from([(STREAM, 10)]);
    let enter = |n: u128| hub.enter(Uuid::from_u128(n), Uuid::from_u128(n), &[stream(STREAM)], 3).unwrap();
    let (slow, quick, late) = (enter(1), enter(2), enter(3));
    assert!(hub.enter(STREAM, STREAM, &[], 3).is_err(), "there is a limit");
    let (mut of_slow, mut of_quick) = (slow.tune_in(&heads), quick.tune_in(&heads));
    hub.give(STREAM, &[given(11), given(12)]);
    // Read twice, or read for a following that is over: nobody hears it twice, and none with a hole.
    hub.give(STREAM, &[given(12), given(13), given(15)]);
    assert_eq!(numbers(&mut of_quick), [11, 12, 13]);
    assert_eq!(hub.followed(&Grown { any: true, ..Grown::default() }), BTreeMap::from([(STREAM, 13)]));
    assert_eq!(hub.followed(&Grown::default()), BTreeMap::new(), "nothing has grown");
    // Who tunes in late to a followed stream gets what comes after what was given, whatever head he read.
    let mut of_late = late.tune_in(&BTreeMap::from([(STREAM, 12)]));
    let most = i64::try_from(MOST_BEHIND).unwrap();
    for number in 14..=most + 10 {
        hub.give(STREAM, &[given(number)]);
        assert_eq!(numbers(&mut of_quick), [number]);
        assert_eq!(numbers(&mut of_late), [number]);
    }
    block_on(async {
        assert!(tokio::time::timeout(std::time::Duration::from_millis(50), slow.told()).await.is_err(), "not yet");
        hub.give(STREAM, &[given(most + 11)]);
        assert_eq!(slow.told().await, Word::Over(End::Behind));
    });
    assert_eq!(numbers(&mut of_slow).len(), MOST_BEHIND);
    assert_eq!(numbers(&mut of_quick), [most + 11]);
    drop((quick, late));
    assert!(hub.followed(&Grown { any: true, ..Grown::default() }).is_empty(), "nobody listens to it any more");
}

#[test]
fn a_part_of_a_stream_moves_on_silently_over_the_rest() {
    let hub = Arc::new(Hub::default());
    let only = Some(vec![Only { design_id: Uuid::from_u128(3), from_ordinal: 3 }]);
    let part = VisibleStream { only, ..stream(STREAM) };
    let seat = hub.enter(STREAM, STREAM, std::slice::from_ref(&part), 1).unwrap();
    let mut queue = seat.tune_in(&BTreeMap::new());
    hub.give(STREAM, &[given(1), given(2), given(3), given(4)]);
    let heard: Vec<(i64, bool)> =
        std::iter::from_fn(|| queue.try_recv().ok()).map(|item| (item.number, item.event.is_some())).collect();
    assert_eq!(heard, [(1, false), (2, false), (3, true), (4, false)]);
    let (mut early, _) = given(3);
    early.ordinal = Some(2);
    assert!(!part.shows(&early), "a revision before");
    early.ordinal = None;
    assert!(!part.shows(&early), "of no revision");
}

#[test]
fn who_signs_out_or_is_taken_out_is_told_and_an_answer_of_before_does_not_count() {
    let hub = Arc::new(Hub::default());
    let (one, other, new) = (Uuid::from_u128(1), Uuid::from_u128(2), Uuid::from_u128(8));
    let (out, mut stays) =
        (hub.enter(one, one, &[stream(STREAM)], 9).unwrap(), hub.enter(other, other, &[stream(STREAM)], 9).unwrap());
    let wider = vec![stream(STREAM), stream(new)];
    let visible = BTreeMap::from([(one, vec![]), (other, wider.clone())]);
    let roll = hub.roll();
    hub.look_after(&roll, &BTreeSet::from([one, other]), &visible);
    block_on(async {
        assert_eq!(out.told().await, Word::Over(End::Closed(STREAM)));
        assert_eq!(stays.told().await, Word::Widened);
    });
    stays.change(&wider);
    // Asked for before the change: it says nothing of the streams of now.
    hub.look_after(&roll, &BTreeSet::from([one, other]), &BTreeMap::from([(other, vec![stream(STREAM)])]));
    let (queue, heads) = (stays.tune_in(&BTreeMap::new()), hub.followed(&Grown { any: true, ..Grown::default() }));
    assert_eq!(heads.len(), 2);
    assert!(!queue.is_closed());
    hub.look_after(&hub.roll(), &BTreeSet::new(), &visible);
    block_on(async { assert_eq!(stays.told().await, Word::Over(End::SignedOut)) });
    assert!(stays.tune_in(&BTreeMap::new()).is_closed(), "what is over stays over");
    hub.lose(STREAM);
}
