//! A revision that an older engine let pass is issued for cutting; this one finds that it falls short.

use super::{calls, crew, submit};
use crate::clock::{new_id, now_micros};
use crate::store::{cutting, designs, events, groups, revisions};
use crate::testing::on_both;
use battenboard_engine::findings::Verdict;
use std::sync::Arc;
use std::time::Duration;

#[test]
fn a_new_engine_looks_again_at_what_is_issued_and_says_where_it_falls_short() {
    on_both("issued, a new engine", |database| async move {
        // Not checked by this engine yet: as a revision that only an older one has seen.
        let older = database.app(|config| config.limits.submit_wait_ms = 0).await;
        crew(&older).await;
        older.checks.stop();
        submit(&older, "ines", 20, "", "").await.unwrap();
        older.tasks.close();
        older.tasks.wait().await;
        let conn = older.store.read();
        let group = groups::by_name(conn, "saltmarsh-wheels").await.unwrap().unwrap();
        let design = designs::by_name(conn, group.id, "shelf").await.unwrap().unwrap();
        let revision = revisions::by_ordinal(conn, design.id, 1).await.unwrap().unwrap();
        let stamp = cutting::Stamp {
            id: new_id(),
            design_id: design.id,
            revision_id: revision.id,
            ordinal: 1,
            account_id: revision.author_id,
            override_reason: String::new(),
            overridden: String::new(),
            engine_fingerprint: "an older engine".into(),
            issued_at: now_micros(),
            taken_back_at: None,
            taken_back_by: None,
            taken_back_reason: String::new(),
        };
        let tx = older.store.write_tx().await.unwrap();
        cutting::insert_stamp(&tx, stamp).await.unwrap();
        older.store.commit(tx).await.unwrap();
        older.store.close().await;

        let newer = database.app(|_| {}).await;
        assert_eq!(newer.recheck_issued().await.unwrap(), 0, "its check waits already");
        let runner = tokio::spawn(Arc::clone(&newer).run_stored_checks());
        let reader = calls(&newer, "maarit", "DesignService/GetRevision").await;
        let until = tokio::time::Instant::now() + Duration::from_secs(60);
        let seen = loop {
            let seen = newer.get_revision(&reader, "saltmarsh-wheels", "shelf", "A").await.unwrap();
            if seen.summary.is_some() {
                break seen;
            }
            assert!(tokio::time::Instant::now() < until, "the check does not end");
            tokio::time::sleep(Duration::from_millis(20)).await;
        };
        assert_eq!(seen.summary.unwrap().verdict, Verdict::FallsShort);
        let stamp = seen.stamp.unwrap();
        assert!(stamp.falls_short_now && !stamp.superseded, "{stamp:?}");
        let told = events::after(newer.store.read(), group.id, 0, 100).await.unwrap();
        let kinds: Vec<&str> = told.iter().rev().take(2).map(|event| event.kind.as_str()).collect();
        assert_eq!(kinds, ["falls_short_now", "checked"]);
        assert_eq!(newer.recheck_issued().await.unwrap(), 0, "looked at once");
        newer.stopping.cancel();
        runner.await.unwrap();
        newer.store.close().await;
    });
}
