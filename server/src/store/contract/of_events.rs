//! What the store promises of streams and their readers.

use super::*;
use crate::store::events::{NOTICEBOARD, News, append, append_all};
use std::collections::BTreeMap;
use std::time::Duration;

/// Everything below, on one store.
pub async fn all(store: &Store) {
    readers_are_told_of_commits_and_of_nothing_else(store).await;
    two_streams_are_written_in_one_transaction_in_the_order_of_their_ids(store).await;
    a_stream_is_read_from_either_end(store).await;
    pruning_leaves_no_hole_and_keeps_the_head(store).await;
    names_and_sessions_are_found_for_many_at_once(store).await;
    other_servers_are_told(store).await;
}

fn news(kind: &'static str) -> News {
    News { kind, ..News::default() }
}

async fn stream(store: &Store, name: &str) -> Uuid {
    let by = account(store, &format!("{name}-keeper")).await;
    let id = group(store, name, by).await;
    store.take_grown();
    id
}

async fn write(store: &Store, id: Uuid, times: &[i64]) {
    for now in times {
        let tx = store.write_tx().await.unwrap();
        append(&tx, id, news("remark"), *now).await.unwrap();
        store.commit(tx).await.unwrap();
    }
}

async fn numbers(store: &Store, id: Uuid) -> Vec<i64> {
    events::after(store.read(), id, 0, 1000).await.unwrap().iter().map(|event| event.number).collect()
}

async fn readers_are_told_of_commits_and_of_nothing_else(store: &Store) {
    let id = stream(store, "told").await;
    let tx = store.write_tx().await.unwrap();
    append(&tx, id, news("remark"), 1).await.unwrap();
    assert_eq!(store.take_grown(), Grown::default(), "before the commit");
    drop(tx);
    assert_eq!(store.take_grown(), Grown::default(), "taken back");
    write(store, id, &[1]).await;
    tokio::time::timeout(Duration::from_secs(1), store.streams_grow()).await.expect("the bell");
    assert_eq!(store.take_grown(), Grown { streams: [id].into(), any: false });
    let tx = store.write_tx().await.unwrap();
    accounts::names(&tx, [id]).await.unwrap();
    store.commit(tx).await.unwrap();
    assert_eq!(store.take_grown(), Grown::default(), "a transaction without an event");
}

async fn two_streams_are_written_in_one_transaction_in_the_order_of_their_ids(store: &Store) {
    let id = stream(store, "two-streams").await;
    let before = events::heads(store.read(), vec![NOTICEBOARD, id]).await.unwrap();
    assert_eq!(before.get(&id), Some(&0));
    let head = *before.get(&NOTICEBOARD).expect("the noticeboard has its stream from the start");
    // Half of them name the group first: with locks taken as named they would wait for each other for ever.
    let tasks: Vec<_> = (0..12)
        .map(|n| {
            let store = store.clone();
            tokio::spawn(async move {
                let tx = store.write_tx().await.unwrap();
                let mut both = vec![(id, news("notice")), (NOTICEBOARD, news("notice"))];
                both.rotate_left(n % 2);
                append_all(&tx, both, 1).await.unwrap();
                store.commit(tx).await.unwrap();
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    let after = events::heads(store.read(), vec![NOTICEBOARD, id, new_id()]).await.unwrap();
    assert_eq!(after, BTreeMap::from([(NOTICEBOARD, head + 12), (id, 12)]));
    assert_eq!(store.take_grown().streams, [NOTICEBOARD, id].into());
}

async fn a_stream_is_read_from_either_end(store: &Store) {
    let id = stream(store, "ends").await;
    write(store, id, &[10, 20, 30, 40, 50]).await;
    let of = |events: Vec<events::Event>| events.iter().map(|event| event.number).collect::<Vec<_>>();
    let conn = store.read();
    assert_eq!(of(events::after(conn, id, 2, 2).await.unwrap()), [3, 4]);
    assert_eq!(of(events::after(conn, id, 5, 2).await.unwrap()), [] as [i64; 0]);
    assert_eq!(of(events::latest(conn, id, 4, 3).await.unwrap()), [4, 3, 2]);
    assert_eq!(events::first_since(conn, id, 21).await.unwrap(), Some(3));
    assert_eq!(events::first_since(conn, id, 51).await.unwrap(), None);
    assert_eq!(events::first_kept(conn, vec![id, new_id()]).await.unwrap(), BTreeMap::from([(id, 1)]));
}

async fn pruning_leaves_no_hole_and_keeps_the_head(store: &Store) {
    let (id, old, young) =
        (stream(store, "pruned").await, stream(store, "pruned-whole").await, stream(store, "not-pruned").await);
    // Times of transactions that waited for each other: 35 was written after 105.
    write(store, id, &[10, 20, 105, 35, 110]).await;
    write(store, old, &[1, 2]).await;
    write(store, young, &[100]).await;
    let tx = store.write_tx().await.unwrap();
    let pruned = events::prune(&tx, 100).await.unwrap();
    store.commit(tx).await.unwrap();
    assert!(pruned >= 4, "{pruned}");
    assert_eq!(numbers(store, id).await, [3, 4, 5]);
    assert_eq!(numbers(store, old).await, [] as [i64; 0]);
    assert_eq!(numbers(store, young).await, [1]);
    assert_eq!(events::heads(store.read(), vec![old]).await.unwrap().get(&old), Some(&2));
    write(store, old, &[200]).await;
    assert_eq!(numbers(store, old).await, [3], "a number is never given twice");
    let tx = store.write_tx().await.unwrap();
    assert_eq!(events::prune(&tx, 100).await.unwrap(), 0, "what stays stays");
    store.commit(tx).await.unwrap();
}

async fn names_and_sessions_are_found_for_many_at_once(store: &Store) {
    let (one, two) = (account(store, "many-one").await, account(store, "many-two").await);
    let (first, second) = (group(store, "many-first", one).await, group(store, "many-second", one).await);
    let conn = store.read();
    let entries = groups::entries_of(conn, vec![one, two]).await.unwrap();
    let entries: Vec<(Uuid, Uuid)> = entries.into_iter().map(|entry| (entry.account_id, entry.group_id)).collect();
    assert_eq!(entries, [(one, first), (one, second)]);
    let names = groups::names(conn, vec![second, new_id()]).await.unwrap();
    assert_eq!(names, BTreeMap::from([(second, "many-second".into())]));
    let design_id = design(store, first, one, "curlew").await;
    assert_eq!(designs::by_ids(conn, vec![design_id, new_id()]).await.unwrap()[0].name, "curlew");
    assert!(remarks::numbers(conn, vec![new_id()]).await.unwrap().is_empty());
    let session = |account_id| sessions::Session {
        id: new_id(),
        account_id,
        label: String::new(),
        created_at: 1,
        refreshed_at: 1,
        ended_at: None,
        end_reason: None,
    };
    let (live, ended) = (session(one), session(two));
    let token = |n: u8, id| sessions::RefreshToken {
        hash: vec![n, 200],
        session_id: id,
        issued_at: 1,
        // Not for the sweeping that is tried elsewhere.
        expires_at: 1000,
        used_at: None,
        siblings: 0,
    };
    let ids = vec![live.id, ended.id, new_id()];
    let tx = store.write_tx().await.unwrap();
    sessions::insert(&tx, live.clone(), token(1, live.id)).await.unwrap();
    sessions::insert(&tx, ended.clone(), token(2, ended.id)).await.unwrap();
    assert_eq!(sessions::live_among(&tx, ids.clone()).await.unwrap(), [live.id, ended.id].into());
    sessions::end(&tx, two, ended.id, 2, "signed out").await.unwrap();
    assert_eq!(sessions::live_among(&tx, ids).await.unwrap(), [live.id].into());
    store.commit(tx).await.unwrap();
}

async fn other_servers_are_told(store: &Store) {
    if !store.is_postgres() {
        return;
    }
    let id = stream(store, "abroad").await;
    let other = Store::open(store.database().clone(), 2).await.unwrap();
    let tasks = [
        tokio::spawn(store.clone().pass_on_grown()),
        tokio::spawn(store.clone().hear_of_grown()),
        tokio::spawn(other.clone().hear_of_grown()),
    ];
    let hears = |told: Grown| {
        let other = other.clone();
        async move {
            let heard = async {
                let mut all = Grown::default();
                while !(told.streams.is_subset(&all.streams) && (all.any || !told.any)) {
                    other.streams_grow().await;
                    let Grown { streams, any } = other.take_grown();
                    all.streams.extend(streams);
                    all.any |= any;
                }
            };
            tokio::time::timeout(Duration::from_secs(10), heard).await.expect("word from the other server");
        }
    };
    // Ears open: something may have been missed before.
    hears(Grown { any: true, ..Grown::default() }).await;
    write(store, id, &[1]).await;
    hears(Grown { streams: [id].into(), any: false }).await;
    let end = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
               WHERE datname = current_database() AND application_name = 'battenboard-server listening'";
    store.read().execute_unprepared(end).await.unwrap();
    hears(Grown { any: true, ..Grown::default() }).await;
    write(store, id, &[2]).await;
    hears(Grown { streams: [id].into(), any: false }).await;
    // What a server tells itself it does not hear once more from outside.
    tokio::time::sleep(Duration::from_millis(1500)).await;
    store.take_grown();
    write(store, id, &[3]).await;
    hears(Grown { streams: [id].into(), any: false }).await;
    assert_eq!(store.take_grown(), Grown { streams: [id].into(), any: false });
    tokio::time::sleep(Duration::from_millis(100)).await;
    assert_eq!(store.take_grown(), Grown::default());
    tasks.iter().for_each(tokio::task::JoinHandle::abort);
    other.close().await;
}
