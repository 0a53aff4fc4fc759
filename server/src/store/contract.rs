//! What the store promises, asked of both databases: SQLite always, PostgreSQL where `BATTENBOARD_TEST_POSTGRES` names
//! a server on which databases may be made.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at the first surprise")]

mod of_events;

use super::findings::Key;
use super::*;
use crate::clock::new_id;
use crate::testing::on_both;
use sea_orm::{ColumnTrait as _, EntityTrait as _, QueryFilter as _, QueryOrder as _};
use std::sync::Arc;
use uuid::Uuid;

/// Everything below, on one store.
async fn store_contract(store: Store) {
    names_are_unique_and_ordered_by_bytes(&store).await;
    a_dropped_transaction_leaves_nothing(&store).await;
    letters_are_dense_under_contention(&store).await;
    event_numbers_are_dense_and_in_commit_order(&store).await;
    of_events::all(&store).await;
    findings_and_checks_are_one_a_key(&store).await;
    a_check_is_claimed_once_and_again_when_its_lease_has_run_out(&store).await;
    a_repeat_is_found(&store).await;
    bytes_and_texts_come_back_as_they_were(&store).await;
    remarks_stand_as_of_each_revision(&store).await;
    sessions_are_bounded_and_swept(&store).await;
    codes_to_get_back_in_are_good_once_and_in_their_time(&store).await;
    references_hold(&store).await;
}

#[test]
fn the_store_keeps_its_promises() {
    on_both("the_store_keeps_its_promises", |database| async move {
        let store = database.store().await;
        store_contract(store.clone()).await;
        store.close().await;
    });
}

pub(super) async fn account(store: &Store, name: &str) -> Uuid {
    let account = accounts::Account { id: new_id(), name: name.into(), created_at: 1, suspended_at: None };
    let id = account.id;
    let tx = store.write_tx().await.unwrap();
    accounts::insert(&tx, account, "hash".into()).await.unwrap();
    store.commit(tx).await.unwrap();
    id
}

async fn group(store: &Store, name: &str, keeper: Uuid) -> Uuid {
    let group = groups::Group { id: new_id(), name: name.into(), title: "t".into(), created_by: keeper, created_at: 1 };
    let id = group.id;
    let tx = store.write_tx().await.unwrap();
    groups::insert(&tx, group).await.unwrap();
    let entry = groups::Crew { group_id: id, account_id: keeper, role: "keeper".into(), joined_at: 1 };
    groups::insert_crew(&tx, entry).await.unwrap();
    events::open_stream(&tx, id).await.unwrap();
    store.commit(tx).await.unwrap();
    id
}

async fn design(store: &Store, group_id: Uuid, by: Uuid, name: &str) -> Uuid {
    let row = designs::Design {
        id: new_id(),
        group_id,
        name: name.into(),
        title: "t".into(),
        latest_ordinal: 0,
        latest_remark: 0,
        created_by: by,
        created_at: 1,
        visibility: "group".into(),
        drawn_after_id: None,
        drawn_after_ordinal: None,
    };
    let tx = store.write_tx().await.unwrap();
    designs::insert_if_new(&tx, row).await.unwrap();
    store.commit(tx).await.unwrap();
    designs::by_name(store.read(), group_id, name).await.unwrap().unwrap().id
}

fn key(n: u8) -> Key {
    Key { content_id: vec![n; 32], settings_id: vec![9; 32], engine_fingerprint: "f1".into() }
}

async fn revision(tx: &WriteTx, group_id: Uuid, design_id: Uuid, author_id: Uuid, n: u8) -> (Uuid, i64) {
    let ordinal = designs::take_ordinal(tx, design_id, "t").await.unwrap();
    let survey_id = designs::survey(tx, group_id, "Curlew", 1, 1).await.unwrap();
    revisions::put_settings(tx, &key(n).settings_id, b"settings", 1).await.unwrap();
    let row = revisions::Revision {
        id: new_id(),
        design_id,
        ordinal,
        body_format: 1,
        body: vec![0, 255, n],
        text_as_written: Some(b"text".to_vec()),
        content_id: key(n).content_id,
        author_id,
        note: "é\n\"".into(),
        worked_from: (ordinal > 1).then(|| ordinal - 1),
        survey_id,
        settings_id: key(n).settings_id,
        engine_fingerprint: "f1".into(),
        created_at: 1,
        vehicle_survey_id: None,
    };
    let id = row.id;
    revisions::insert(tx, row).await.unwrap();
    (id, ordinal)
}

async fn names_are_unique_and_ordered_by_bytes(store: &Store) {
    let ines = account(store, "ines").await;
    let again = accounts::Account { id: new_id(), name: "ines".into(), created_at: 1, suspended_at: None };
    let tx = store.write_tx().await.unwrap();
    let taken = accounts::insert(&tx, again, "hash".into()).await;
    assert!(matches!(taken, Err(StoreError::Taken { .. })), "{taken:?}");
    drop(tx);
    // A language's order would put these otherwise.
    let mut wanted = vec!["a-b", "a1", "aa", "ab", "b"];
    for name in ["ab", "a-b", "b", "aa", "a1"] {
        group(store, name, ines).await;
    }
    let mut seen = Vec::new();
    let mut after: Option<String> = None;
    loop {
        let page = groups::page(store.read(), ines, after.as_deref(), 2).await.unwrap();
        let Some((last, _)) = page.last() else { break };
        after = Some(last.name.clone());
        seen.extend(page.into_iter().map(|(group, _)| group.name));
    }
    wanted.sort_unstable();
    assert_eq!(seen, wanted);
    let crew = groups::by_name(store.read(), "ab").await.unwrap().unwrap();
    assert_eq!(groups::crew_page(store.read(), crew.id, None, 5).await.unwrap()[0].1, "ines");
    assert_eq!(groups::count_role(store.read(), crew.id, "keeper").await.unwrap(), 1);
}

async fn a_dropped_transaction_leaves_nothing(store: &Store) {
    let row = accounts::Account { id: new_id(), name: "ghost".into(), created_at: 1, suspended_at: None };
    let tx = store.write_tx().await.unwrap();
    accounts::insert(&tx, row, "hash".into()).await.unwrap();
    drop(tx);
    assert!(accounts::by_name(store.read(), "ghost").await.unwrap().is_none());
    // The connection that was rolled back is good for the next.
    account(store, "guest").await;
}

async fn letters_are_dense_under_contention(store: &Store) {
    let by = account(store, "okoro").await;
    let group_id = group(store, "letters", by).await;
    let design_id = design(store, group_id, by, "curlew").await;
    let store = Arc::new(store.clone());
    let tasks: Vec<_> = (0..12)
        .map(|n| {
            let store = Arc::clone(&store);
            tokio::spawn(async move {
                let tx = store.write_tx().await.unwrap();
                designs::by_name_for_update(&tx, group_id, "curlew").await.unwrap().unwrap();
                revision(&tx, group_id, design_id, by, n).await;
                // Every third one changes its mind.
                if n % 3 != 0 {
                    store.commit(tx).await.unwrap();
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    let ordinals: Vec<i64> =
        revisions::page(store.read(), design_id, 1, None, 50).await.unwrap().iter().map(|row| row.ordinal).collect();
    assert_eq!(ordinals, (1..=8).rev().collect::<Vec<i64>>());
    let older = revisions::page(store.read(), design_id, 1, Some(4), 2).await.unwrap();
    assert_eq!(older.iter().map(|row| row.ordinal).collect::<Vec<_>>(), [3, 2]);
    let latest = revisions::latest(store.read(), &[(design_id, 8)]).await.unwrap();
    assert_eq!(latest.len(), 1);
}

async fn event_numbers_are_dense_and_in_commit_order(store: &Store) {
    let by = account(store, "maarit").await;
    let group_id = group(store, "events", by).await;
    let store = Arc::new(store.clone());
    let tasks: Vec<_> = (0..20)
        .map(|n| {
            let store = Arc::clone(&store);
            tokio::spawn(async move {
                let tx = store.write_tx().await.unwrap();
                let news = events::News { kind: "crew", actor_id: Some(by), ..events::News::default() };
                events::append(&tx, group_id, news, n).await.unwrap();
                if n % 4 != 0 {
                    store.commit(tx).await.unwrap();
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    let stored = entity::events::Entity::find()
        .filter(entity::events::Column::StreamId.eq(group_id))
        .order_by_asc(entity::events::Column::Number)
        .all(store.read())
        .await
        .unwrap();
    let numbers: Vec<i64> = stored.iter().map(|event| event.number).collect();
    assert_eq!(numbers, (1..=15).collect::<Vec<i64>>());
    assert!(events::append(&store.write_tx().await.unwrap(), new_id(), events::News::default(), 1).await.is_err());
}

fn findings_row(n: u8) -> findings::Row {
    let Key { content_id, settings_id, engine_fingerprint } = key(n);
    findings::Row {
        content_id,
        settings_id,
        engine_fingerprint,
        verdict: "holds".into(),
        total_mass_kg: 31.25,
        worst_utilisation: Some(0.1 + 0.2),
        worst_tag: "B3".into(),
        body: b"{}".to_vec(),
        created_at: 1,
        axle_state: Some("touring".into()),
        front_axle_kg: Some(1180.5),
        rear_axle_kg: Some(0.1 + 1400.2),
        front_limit_kg: None,
        rear_limit_kg: Some(2100.0),
        effects: Some(b"{}".to_vec()),
    }
}

fn check_row(n: u8, revision_id: Uuid, account_id: Uuid) -> checks::Check {
    let Key { content_id, settings_id, engine_fingerprint } = key(n);
    checks::Check {
        id: new_id(),
        content_id,
        settings_id,
        engine_fingerprint,
        revision_id,
        account_id,
        state: checks::QUEUED.into(),
        attempts: 0,
        holder: None,
        leased_until: None,
        heartbeat_at: None,
        failure: None,
        created_at: 1,
        ended_at: None,
    }
}

async fn findings_and_checks_are_one_a_key(store: &Store) {
    let tx = store.write_tx().await.unwrap();
    revisions::put_settings(&tx, &key(1).settings_id, b"settings", 1).await.unwrap();
    findings::insert_if_new(&tx, findings_row(1)).await.unwrap();
    findings::insert_if_new(&tx, findings::Row { body: b"other".to_vec(), ..findings_row(1) }).await.unwrap();
    store.commit(tx).await.unwrap();
    assert_eq!(findings::body(store.read(), &key(1)).await.unwrap().as_deref(), Some(&b"{}"[..]));
    assert_eq!(findings::body(store.read(), &key(2)).await.unwrap(), None);
    let summaries = findings::summaries(store.read(), &[key(1), key(2)]).await.unwrap();
    assert_eq!(summaries.len(), 1);
    assert_eq!(summaries[0].key(), key(1));
    assert_eq!(summaries[0].worst_utilisation, Some(0.1 + 0.2), "numbers come back to the last bit");
    let axles = (summaries[0].axle_state.as_deref(), summaries[0].front_axle_kg, summaries[0].rear_axle_kg);
    assert_eq!(axles, (Some("touring"), Some(1180.5), Some(0.1 + 1400.2)));
    assert_eq!((summaries[0].front_limit_kg, summaries[0].rear_limit_kg), (None, Some(2100.0)));
}

async fn a_check_is_claimed_once_and_again_when_its_lease_has_run_out(store: &Store) {
    let by = account(store, "checker").await;
    let other = account(store, "checker-two").await;
    let group_id = group(store, "checks", by).await;
    let design_id = design(store, group_id, by, "curlew").await;
    let tx = store.write_tx().await.unwrap();
    let (revision_id, _) = revision(&tx, group_id, design_id, by, 40).await;
    for n in 40..44 {
        checks::insert_if_new(&tx, check_row(n, revision_id, by)).await.unwrap();
    }
    checks::insert_if_new(&tx, check_row(40, revision_id, other)).await.unwrap();
    checks::insert_if_new(&tx, check_row(50, revision_id, other)).await.unwrap();
    store.commit(tx).await.unwrap();
    assert_eq!(checks::count_unfinished(store.read(), by).await.unwrap(), 4);
    let waiting = checks::accounts_waiting(store.read(), 100, "f1").await.unwrap();
    assert_eq!(waiting.len(), 2);
    assert!(checks::accounts_waiting(store.read(), 100, "another engine").await.unwrap().is_empty());

    let (one, two) = (new_id(), new_id());
    let store_two = store.clone();
    let claim = |store: Store, holder| async move {
        let mut claimed = Vec::new();
        for _ in 0..4 {
            let tx = store.write_tx().await.unwrap();
            if let Some(check) = checks::claim(&tx, by, holder, 100, 200, "f1").await.unwrap() {
                claimed.push(check.id);
            }
            store.commit(tx).await.unwrap();
        }
        claimed
    };
    let (mut first, second) = tokio::join!(claim(store.clone(), one), claim(store_two, two));
    first.extend(second);
    first.sort_unstable();
    first.dedup();
    assert_eq!(first.len(), 4, "each is claimed by one");

    let tx = store.write_tx().await.unwrap();
    assert!(checks::claim(&tx, by, one, 150, 250, "f1").await.unwrap().is_none(), "all leases hold");
    let again = checks::claim(&tx, by, one, 201, 301, "f1").await.unwrap().expect("a lease has run out");
    assert_eq!(again.attempts, 2);
    assert!(checks::heartbeat(&tx, again.id, one, 202, 302).await.unwrap());
    assert!(!checks::heartbeat(&tx, again.id, new_id(), 202, 302).await.unwrap(), "another's lease");
    checks::release(&tx, again.id, one).await.unwrap();
    let key = Key { content_id: again.content_id.clone(), ..key(40) };
    let released = checks::by_key(&tx, &key).await.unwrap().unwrap();
    assert_eq!((released.state.as_str(), released.attempts), (checks::QUEUED, 1), "an orderly end is no attempt");
    // Taken up again and again as if its servers were killed, it rests half a minute from the fourth time on.
    let mut now = 1_000;
    for attempts in 2..=4 {
        let taken = checks::claim(&tx, by, one, now, now + 1, "f1").await.unwrap().expect("free");
        assert_eq!((taken.id, taken.attempts), (again.id, attempts));
        now += 2;
    }
    let claim_at = async |now: i64| checks::claim(&tx, by, one, now, now + 1, "f1").await.unwrap();
    let others = checks::count_unfinished(&tx, by).await.unwrap();
    for _ in 1..others {
        assert_ne!(claim_at(now).await.expect("the others go on").id, again.id);
    }
    let taken = claim_at(1_004 + 30 * 1_000_000 + 1).await.expect("rested");
    assert_eq!((taken.id, taken.attempts), (again.id, 5));
    checks::end(&tx, &key, checks::FAILED, Some("why"), 300).await.unwrap();
    let ended = checks::by_keys(&tx, std::slice::from_ref(&key)).await.unwrap();
    assert_eq!((ended[0].state.as_str(), ended[0].failure.as_deref()), (checks::FAILED, Some("why")));
    store.commit(tx).await.unwrap();
}

async fn a_repeat_is_found(store: &Store) {
    let row = requests::Request {
        scope: Uuid::nil(),
        request_id: "r1".into(),
        method: "M".into(),
        digest: vec![1],
        answer: vec![2],
        created_at: 10,
    };
    let tx = store.write_tx().await.unwrap();
    requests::insert(&tx, row.clone()).await.unwrap();
    store.commit(tx).await.unwrap();
    assert_eq!(requests::find(store.read(), Uuid::nil(), "r1").await.unwrap(), Some(row.clone()));
    assert_eq!(requests::find(store.read(), new_id(), "r1").await.unwrap(), None, "another scope");
    let tx = store.write_tx().await.unwrap();
    let taken = requests::insert(&tx, row).await;
    assert!(matches!(&taken, Err(StoreError::Taken { constraint }) if constraint.contains("requests")), "{taken:?}");
    drop(tx);
    let tx = store.write_tx().await.unwrap();
    assert_eq!(requests::prune(&tx, 11).await.unwrap(), 1);
    store.commit(tx).await.unwrap();
}

async fn bytes_and_texts_come_back_as_they_were(store: &Store) {
    let by = account(store, "scribe").await;
    let group_id = group(store, "bytes", by).await;
    let design_id = design(store, group_id, by, "curlew").await;
    let tx = store.write_tx().await.unwrap();
    let (id, ordinal) = revision(&tx, group_id, design_id, by, 77).await;
    let number = designs::take_remark_number(&tx, design_id).await.unwrap();
    let remark = remarks::Remark {
        id: new_id(),
        design_id,
        number,
        revision_id: id,
        ordinal,
        place_kind: "member".into(),
        place_tag: "B3".into(),
        at_mm: Some(640.5),
        kind: "snag".into(),
        state: "open".into(),
        text: "zu dünn, 38×63".into(),
        author_id: by,
        entries: 0,
        created_at: 5,
        take_up_id: None,
    };
    remarks::insert(&tx, remark.clone()).await.unwrap();
    let entry = remarks::Entry {
        remark_id: remark.id,
        number: 1,
        act: "answer".into(),
        author_id: by,
        text: "mended".into(),
        ordinal,
        created_at: 6,
    };
    remarks::append(&tx, entry, "answered").await.unwrap();
    store.commit(tx).await.unwrap();
    let found = revisions::by_id(store.read(), id).await.unwrap().unwrap();
    assert_eq!((found.body, found.note.as_str()), (vec![0, 255, 77], "é\n\""));
    let found = remarks::by_number(store.read(), design_id, 1).await.unwrap().unwrap();
    assert_eq!((found.text.as_str(), found.state.as_str(), found.at_mm), ("zu dünn, 38×63", "answered", Some(640.5)));
    assert_eq!(remarks::entries(store.read(), vec![remark.id]).await.unwrap().len(), 1);
    let wanted = remarks::Wanted { states: vec!["answered".into()], ..remarks::Wanted::default() };
    assert_eq!(remarks::page(store.read(), design_id, &wanted, 5).await.unwrap().len(), 1);
    let wanted = remarks::Wanted { before: Some(1), ..remarks::Wanted::default() };
    assert!(remarks::page(store.read(), design_id, &wanted, 5).await.unwrap().is_empty());
    let heading = revisions::heading(store.read(), design_id, ordinal).await.unwrap().unwrap();
    let vehicles = designs::vehicle_names(store.read(), vec![heading.survey_id]).await.unwrap();
    assert_eq!(vehicles.get(&heading.survey_id).map(String::as_str), Some("Curlew"));
}

fn remark_row(design_id: Uuid, revision_id: Uuid, number: i64, ordinal: i64, by: Uuid) -> remarks::Remark {
    remarks::Remark {
        id: new_id(),
        design_id,
        number,
        revision_id,
        ordinal,
        place_kind: "member".into(),
        place_tag: "B3".into(),
        at_mm: None,
        kind: "snag".into(),
        state: "open".into(),
        text: "springy".into(),
        author_id: by,
        entries: 0,
        created_at: 5,
        take_up_id: None,
    }
}

async fn remarks_stand_as_of_each_revision(store: &Store) {
    let by = account(store, "carrier").await;
    let group_id = group(store, "standings", by).await;
    let design_id = design(store, group_id, by, "curlew").await;
    let tx = store.write_tx().await.unwrap();
    let (revision_id, _) = revision(&tx, group_id, design_id, by, 90).await;
    let rows: Vec<remarks::Remark> =
        [(1, 1), (2, 1), (3, 4)].map(|(number, on)| remark_row(design_id, revision_id, number, on, by)).into();
    for row in &rows {
        remarks::insert(&tx, row.clone()).await.unwrap();
    }
    let standing = |remark: usize, ordinal: i64, what: &str, tag: &str| standings::Standing {
        remark_id: rows[remark].id,
        ordinal,
        design_id,
        what: what.into(),
        tag: tag.into(),
        at_mm: (remark == 0).then_some(0.1 + 0.2),
        detail: ordinal.to_be_bytes().to_vec(),
        number: (remark != 1).then_some(rows[remark].number),
    };
    let written = vec![standing(0, 2, "renamed", "K7"), standing(0, 5, "gone", "K7"), standing(1, 3, "renamed", "K7")];
    standings::insert(&tx, written.clone()).await.unwrap();
    // Written twice it is there once, and more than one statement takes is written, too.
    let many = (10..1300).map(|ordinal| standing(2, ordinal, "moved", "B3")).collect();
    standings::insert(&tx, many).await.unwrap();
    standings::insert(&tx, vec![standing(0, 2, "gone", "Q9")]).await.unwrap();
    standings::insert(&tx, Vec::new()).await.unwrap();
    standings::insert_origins(&tx, vec![(rows[0].id, vec![1, 0, 255])]).await.unwrap();
    standings::insert_origins(&tx, vec![(rows[0].id, vec![9]), (rows[1].id, vec![2])]).await.unwrap();
    assert_eq!(standings::carried_to(&tx, design_id).await.unwrap(), 0);
    for ordinal in [3, 5] {
        standings::set_carried(&tx, design_id, ordinal).await.unwrap();
    }
    store.commit(tx).await.unwrap();
    let (read, ids) = (store.read(), rows.iter().map(|row| row.id).collect::<Vec<_>>());
    assert_eq!(standings::carried_to(read, design_id).await.unwrap(), 5);
    let as_of = async |ordinal| standings::latest(read, ids.clone(), ordinal).await.unwrap();
    assert!(as_of(1).await.is_empty());
    assert_eq!(as_of(4).await.get(&ids[0]), Some(&written[0]), "to the last bit");
    assert_eq!(as_of(5).await.get(&ids[0]), Some(&written[1]));
    assert_eq!(as_of(999).await[&ids[2]].ordinal, 999);
    assert!(standings::latest(read, Vec::new(), 9).await.unwrap().is_empty());
    assert_eq!(standings::origins(read, ids.clone()).await.unwrap()[&ids[0]], [1, 0, 255]);
    assert_eq!(standings::with_origin(read, ids.clone()).await.unwrap().len(), 2);
    let placed = standings::placed(read, design_id, 1, 5).await.unwrap();
    assert_eq!(placed.iter().map(|one| one.number).collect::<Vec<_>>(), [2, 3]);
    let page = async |on: Option<(&str, i64)>, made_by: Option<i64>| {
        let on = on.map(|(tag, ordinal)| (tag.to_owned(), ordinal));
        let wanted = remarks::Wanted { on, made_by, ..remarks::Wanted::default() };
        let rows = remarks::page(read, design_id, &wanted, 9).await.unwrap();
        rows.iter().map(|row| row.number).collect::<Vec<_>>()
    };
    assert_eq!(page(Some(("B3", 1)), None).await, [3, 2, 1]);
    assert_eq!(page(Some(("B3", 2)), None).await, [3, 2]);
    assert_eq!(page(Some(("K7", 4)), None).await, [2, 1]);
    assert_eq!(page(Some(("K7", 5)), None).await, [2], "what is gone stands on nothing");
    assert_eq!(page(None, Some(3)).await, [2, 1]);
    let pages = [(2, None, vec![3, 2]), (1, None, vec![3]), (2, Some(3), vec![2]), (2, Some(2), vec![])];
    for (limit, before, numbers) in pages {
        let wanted = remarks::Wanted { on: Some(("B3".into(), 2)), before, ..remarks::Wanted::default() };
        let rows = remarks::page(read, design_id, &wanted, limit).await.unwrap();
        assert_eq!(rows.iter().map(|row| row.number).collect::<Vec<_>>(), numbers, "{limit} before {before:?}");
    }
}

async fn sessions_are_bounded_and_swept(store: &Store) {
    let by = account(store, "sleeper").await;
    let tx = store.write_tx().await.unwrap();
    let mut ids = Vec::new();
    for n in 0..4_u8 {
        let session = sessions::Session {
            id: new_id(),
            account_id: by,
            label: "l".into(),
            created_at: 1,
            refreshed_at: i64::from(n),
            ended_at: None,
            end_reason: None,
        };
        ids.push(session.id);
        let token = sessions::RefreshToken {
            hash: vec![n; 32],
            session_id: session.id,
            issued_at: 1,
            expires_at: 10 + i64::from(n),
            used_at: None,
            siblings: 0,
        };
        sessions::insert(&tx, session, token).await.unwrap();
    }
    assert_eq!(sessions::end_beyond(&tx, by, 3, 5).await.unwrap(), 1);
    assert!(sessions::live(&tx, ids[0]).await.unwrap().is_none(), "the oldest has ended");
    assert_eq!(sessions::page(&tx, by, None, 9).await.unwrap().len(), 3);
    assert_eq!(sessions::end_beyond(&tx, by, 3, 5).await.unwrap(), 0);
    assert_eq!(sessions::expiries(&tx, ids.clone()).await.unwrap().get(&ids[3]), Some(&13));
    assert_eq!(sessions::prune_tokens(&tx, 12).await.unwrap(), 2);
    assert_eq!(sessions::prune(&tx, 9).await.unwrap(), 2, "those without a token");
    store.commit(tx).await.unwrap();
}

async fn codes_to_get_back_in_are_good_once_and_in_their_time(store: &Store) {
    let (nela, other) = (account(store, "nela").await, account(store, "other").await);
    let tx = store.write_tx().await.unwrap();
    recovery::insert(&tx, nela, vec![vec![1; 32], vec![2; 32]], None, 10).await.unwrap();
    recovery::insert(&tx, nela, vec![vec![3; 32]], Some(100), 10).await.unwrap();
    recovery::insert(&tx, other, vec![vec![4; 32]], Some(200), 10).await.unwrap();
    store.commit(tx).await.unwrap();
    let good = async |id, n: u8, now| recovery::is_good(store.read(), id, &[n; 32], now).await.unwrap();
    assert!(good(nela, 1, 1_000_000).await && good(nela, 3, 99).await);
    assert!(!good(nela, 3, 100).await, "it has ended");
    assert!(!good(other, 1, 10).await && !good(nela, 4, 10).await, "another's code");
    let tx = store.write_tx().await.unwrap();
    assert!(!recovery::take(&tx, nela, &[3; 32], 100).await.unwrap());
    assert!(recovery::take(&tx, nela, &[1; 32], 50).await.unwrap());
    assert!(!recovery::take(&tx, nela, &[1; 32], 51).await.unwrap(), "good once");
    assert_eq!(recovery::count_left(&tx, nela).await.unwrap(), 1);
    recovery::remove_resets(&tx, nela).await.unwrap();
    assert!(!recovery::is_good(&tx, nela, &[3; 32], 50).await.unwrap());
    recovery::remove_lasting(&tx, nela).await.unwrap();
    assert_eq!(recovery::count_left(&tx, nela).await.unwrap(), 0);
    assert_eq!(recovery::prune(&tx, 200).await.unwrap(), 0);
    assert_eq!(recovery::prune(&tx, 201).await.unwrap(), 1);
    store.commit(tx).await.unwrap();
}

async fn references_hold(store: &Store) {
    let tx = store.write_tx().await.unwrap();
    let entry = groups::Crew { group_id: new_id(), account_id: new_id(), role: "keeper".into(), joined_at: 1 };
    assert!(groups::insert_crew(&tx, entry).await.is_err(), "a crew of no group");
}
