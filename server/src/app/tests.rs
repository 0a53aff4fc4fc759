//! The rules, without a wire, on both databases and with the real engine.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at the first surprise")]

mod carried;
mod issued;

use super::accounts::{Entitlement, NewAccount, SignUpMode};
use super::designs::CheckState;
use super::remarks::{Act, NewRemark, PlaceKind, Reference, RemarkKind, RemarkState, Spot};
use super::submit::{Sent, Submission, Submitted};
use super::{App, AppError, AppResult, RequestId};
use crate::auth::rights::need_of;
use crate::auth::{Caller, Right};
use crate::clock::now_micros;
use crate::store;
use crate::testing::on_both;
use std::net::{IpAddr, Ipv4Addr};
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

const HOME: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);

/// One shelf board's bearer on two walls: the least that is a design.
fn text(depth: u32) -> String {
    format!(
        "format = 1\nname = \"shelf\"\ntitle = \"A shelf\"\n[vehicle]\nname = \"Curlew\"\nsurvey = 1\n\
         [[stock]]\nname = \"s\"\nsection = {{ width = 45, depth = {depth} }}\nmaterial = \"C16\"\n\
         [[members]]\ntag = \"B1\"\nkind = \"bearer\"\nstock = \"s\"\nfrom = [0, 0, 500]\nto = [1200, 0, 500]\n\
         [[anchors]]\nmember = \"B1\"\nat = \"both\"\nto = \"wall\"\nhold = \"seated\"\n\
         [[loads]]\ncase = \"gear\"\naction = \"stowage\"\nmember = \"B1\"\nat = 600\nforce = [0, 0, -400]\n"
    )
}

fn request(id: &str, what: u8) -> RequestId {
    RequestId { scope: Uuid::nil(), method: "Test", id: id.into(), digest: vec![what] }
}

/// A caller of a method, as the door makes one.
async fn calls(app: &App, account: &str, method: &str) -> Caller {
    let (account, _) = store::accounts::by_name(app.store.read(), account).await.unwrap().unwrap();
    let sessions = store::sessions::page(app.store.read(), account.id, None, 1).await.unwrap();
    Caller {
        account_id: account.id,
        account: account.name,
        session_id: sessions[0].id,
        token_ends_at: now_micros() + 600_000_000,
        need: need_of(&format!("/battenboard.v1.{method}")),
    }
}

async fn account(app: &Arc<App>, name: &str, entitlement: Entitlement) -> AppResult<String> {
    let password = format!("{name} sleeps under larch");
    let new = NewAccount { name: name.into(), password, entitlement, program: "test".into(), address: HOME };
    Ok(app.create_account(new, RequestId::default()).await?.tokens.refresh)
}

async fn submit(app: &Arc<App>, by: &str, depth: u32, worked_from: &str, id: &str) -> AppResult<Submitted> {
    let caller = calls(app, by, "DesignService/SubmitRevision").await;
    let submission = Submission {
        group: "saltmarsh-wheels".into(),
        design: "shelf".into(),
        sent: Sent { design: None, text: text(depth) },
        note: String::new(),
        worked_from: worked_from.into(),
        drawn_after: None,
    };
    let digest = u8::try_from(depth % 256).unwrap();
    app.submit_revision(&caller, submission, request(id, digest)).await
}

/// ines keeps the group, okoro reviews, maarit looks on.
async fn crew(app: &Arc<App>) {
    assert_eq!(app.sign_up_mode().await.unwrap(), SignUpMode::FirstDirect);
    account(app, "ines", Entitlement::None).await.unwrap();
    let refused = account(app, "okoro", Entitlement::None).await;
    assert!(matches!(refused, Err(AppError::NotAllowed { .. })), "{refused:?}");
    let keeper = calls(app, "ines", "GroupService/CreateInvitation").await;
    let title = "Saltmarsh Wheels".to_owned();
    app.create_group(&keeper, "saltmarsh-wheels".into(), title, RequestId::default()).await.unwrap();
    for (name, right) in [("okoro", Right::Reviewer), ("maarit", Right::Onlooker)] {
        let group = "saltmarsh-wheels".to_owned();
        let made = app.create_invitation(&keeper, group, right, RequestId::default()).await.unwrap();
        account(app, name, Entitlement::Invitation(made.code.clone())).await.unwrap();
        let again = account(app, "somebody", Entitlement::Invitation(made.code)).await;
        assert!(matches!(again, Err(AppError::NotAllowed { .. })), "a code is used up: {again:?}");
    }
}

#[test]
fn a_design_goes_from_letter_to_letter() {
    on_both("a_design_goes_from_letter_to_letter", |database| async move {
        let app = database.app(|_| {}).await;
        crew(&app).await;
        let first = submit(&app, "ines", 70, "", "r1").await.unwrap();
        assert_eq!((first.revision.ordinal, first.unchanged), (1, false));
        assert_eq!(first.check_state, CheckState::Done);
        let findings = first.findings.expect("a shelf is checked within the time a submit waits");
        assert!(!findings.checks.is_empty());

        let again = submit(&app, "ines", 70, "", "r1").await.unwrap();
        assert_eq!((again.revision.ordinal, again.unchanged), (1, false), "a repeat gets the former answer");
        let misused = submit(&app, "ines", 95, "A", "r1").await;
        assert!(matches!(misused, Err(AppError::Invalid { .. })), "{misused:?}");
        let same = submit(&app, "ines", 70, "A", "r2").await.unwrap();
        assert_eq!((same.revision.ordinal, same.unchanged), (1, true));

        let second = submit(&app, "ines", 95, "A", "r3").await.unwrap();
        assert_eq!(second.revision.ordinal, 2);
        match submit(&app, "ines", 120, "A", "r4").await {
            Err(AppError::NotLatest { latest_letter, author, .. }) => {
                assert_eq!((latest_letter.as_str(), author.as_str()), ("B", "ines"));
            }
            other => panic!("{other:?}"),
        }
        let unentitled = submit(&app, "okoro", 120, "B", "r5").await;
        assert!(matches!(unentitled, Err(AppError::NotAllowed { .. })), "{unentitled:?}");

        let reader = calls(&app, "maarit", "DesignService/CompareRevisions").await;
        let compared = app.compare_revisions(&reader, "saltmarsh-wheels", "shelf", "A", "").await.unwrap();
        assert_eq!((compared.from, compared.to), (1, 2));
        let comparison = compared.comparison;
        assert_eq!(comparison.stock.len(), 1);
        let change = &comparison.utilisations[0];
        assert!(change.after < change.before, "a deeper bearer is less used: {change:?}");
        let (_, _, text_back) = app.get_revision_body(&reader, "saltmarsh-wheels", "shelf", "A").await.unwrap();
        assert_eq!(text_back, text(70));
        app.store.close().await;
    });
}

#[test]
fn a_back_door_into_another_group_is_no_door() {
    on_both("a_back_door_into_another_group_is_no_door", |database| async move {
        let app = database.app(|_| {}).await;
        crew(&app).await;
        submit(&app, "ines", 70, "", "").await.unwrap();
        let keeper = calls(&app, "ines", "GroupService/CreateInvitation").await;
        app.create_group(&keeper, "elsewhere".into(), "Elsewhere".into(), RequestId::default()).await.unwrap();
        let made =
            app.create_invitation(&keeper, "elsewhere".into(), Right::Keeper, RequestId::default()).await.unwrap();
        account(&app, "stranger", Entitlement::Invitation(made.code)).await.unwrap();
        let stranger = calls(&app, "stranger", "DesignService/GetDesign").await;
        let hidden = app.get_design(&stranger, "saltmarsh-wheels", "shelf").await;
        let missing = app.get_design(&stranger, "no-such-group", "shelf").await;
        for refused in [hidden, missing] {
            assert!(matches!(refused, Err(AppError::NotFound { what: "group", .. })), "{refused:?}");
        }
        app.store.close().await;
    });
}

fn new_remark(tag: &str) -> NewRemark {
    NewRemark {
        group: "saltmarsh-wheels".into(),
        design: "shelf".into(),
        letter: String::new(),
        spot: Spot { kind: PlaceKind::Member, tag: tag.into(), at_mm: None },
        kind: RemarkKind::Snag,
        text: "it springs".into(),
        proof_load: None,
    }
}

#[test]
fn a_remark_is_answered_cleared_by_its_author_and_raised_again() {
    on_both("a_remark_is_answered_cleared_by_its_author_and_raised_again", |database| async move {
        let app = database.app(|_| {}).await;
        crew(&app).await;
        submit(&app, "ines", 70, "", "").await.unwrap();
        let okoro = calls(&app, "okoro", "RemarkService/CreateRemark").await;
        let made = app.create_remark(&okoro, new_remark("B1"), request("m1", 1)).await.unwrap();
        let again = app.create_remark(&okoro, new_remark("B1"), request("m1", 1)).await.unwrap();
        assert_eq!((made.id, made.number), (again.id, 1));
        let nearest = app.create_remark(&okoro, new_remark("B2"), RequestId::default()).await;
        assert!(nearest.as_ref().is_err_and(|error| error.to_string().contains("did you mean `B1`?")), "{nearest:?}");
        let onlooker = calls(&app, "maarit", "RemarkService/CreateRemark").await;
        let refused = app.create_remark(&onlooker, new_remark("B1"), RequestId::default()).await;
        assert!(matches!(refused, Err(AppError::NotAllowed { .. })), "{refused:?}");

        let ines = calls(&app, "ines", "RemarkService/AnswerRemark").await;
        let by_id = Reference::Id(made.id.to_string());
        let act = |by: Caller, act, said: &str, id: &str| {
            let (app, by_id, said, request) = (Arc::clone(&app), by_id.clone(), said.to_owned(), request(id, 2));
            async move { app.act_on_remark(&by, by_id, act, said, request).await }
        };
        let answered = act(ines.clone(), Act::Answer, "deeper now", "m2").await.unwrap();
        assert_eq!((answered.state, answered.entries.len()), (RemarkState::Answered, 1));
        let repeated = act(ines.clone(), Act::Answer, "deeper now", "m2").await.unwrap();
        assert_eq!(repeated.entries.len(), 1, "a repeat adds nothing");
        let keeper = act(ines, Act::Clear, "", "m3").await;
        assert!(matches!(keeper, Err(AppError::NotAllowed { .. })), "only its author clears: {keeper:?}");
        assert_eq!(act(okoro.clone(), Act::Clear, "", "m4").await.unwrap().state, RemarkState::Cleared);
        let twice = act(okoro.clone(), Act::Clear, "", "m5").await;
        assert!(matches!(twice, Err(AppError::WrongState { .. })), "{twice:?}");
        let raised = act(okoro, Act::RaiseAgain, "it still springs", "m6").await.unwrap();
        assert_eq!((raised.state, raised.entries.len()), (RemarkState::Open, 3));
        app.store.close().await;
    });
}

#[test]
fn a_refresh_token_is_taken_once_more_while_young_and_otherwise_ends_its_session() {
    on_both("refresh_rotation", |database| async move {
        let app = database.app(|_| {}).await;
        let first = account(&app, "ines", Entitlement::None).await.unwrap();
        let second = app.refresh_session(first.clone()).await.unwrap();
        let sibling = app.refresh_session(first.clone()).await.expect("a lost reply");
        assert_ne!(second.refresh, sibling.refresh);
        assert!(app.refresh_session(sibling.refresh).await.is_ok());
        let third = app.refresh_session(first).await;
        assert!(matches!(third, Err(AppError::Unauthenticated { .. })), "{third:?}");
        let family = app.refresh_session(second.refresh).await;
        assert!(matches!(family, Err(AppError::Unauthenticated { .. })), "the session has ended: {family:?}");
        let unknown = app.refresh_session("0".repeat(64)).await;
        assert!(matches!(unknown, Err(AppError::Unauthenticated { .. })));
        app.store.close().await;
    });
}

#[test]
fn two_refreshes_at_once_give_two_siblings() {
    on_both("two_refreshes_at_once", |database| async move {
        let app = database.app(|_| {}).await;
        let token = account(&app, "ines", Entitlement::None).await.unwrap();
        let (one, other) = tokio::join!(app.refresh_session(token.clone()), app.refresh_session(token));
        assert_ne!(one.unwrap().refresh, other.unwrap().refresh);
        app.store.close().await;
    });
}

#[test]
fn of_many_submits_at_once_one_gets_the_letter() {
    on_both("of_many_submits_at_once_one_gets_the_letter", |database| async move {
        let app = database.app(|_| {}).await;
        crew(&app).await;
        let tasks: Vec<_> = (0..8)
            .map(|n| {
                let app = Arc::clone(&app);
                tokio::spawn(async move { submit(&app, "ines", 70 + n, "", "").await })
            })
            .collect();
        let mut kept = 0;
        for task in tasks {
            match task.await.unwrap() {
                Ok(submitted) => kept += i32::from(!submitted.unchanged),
                Err(AppError::NotLatest { .. }) => {}
                Err(other) => panic!("{other:?}"),
            }
        }
        assert_eq!(kept, 1);
        let again: Vec<_> = (0..4)
            .map(|_| {
                let app = Arc::clone(&app);
                tokio::spawn(async move { submit(&app, "ines", 200, "A", "same").await })
            })
            .collect();
        for task in again {
            assert_eq!(task.await.unwrap().unwrap().revision.ordinal, 2, "repeats of one request get one answer");
        }
        app.store.close().await;
    });
}

#[test]
fn a_check_that_was_left_behind_is_taken_up() {
    on_both("a_check_that_was_left_behind_is_taken_up", |database| async move {
        // A server that never waits, and whose runner never runs: as one that was killed at once.
        let killed = database.app(|config| config.limits.submit_wait_ms = 0).await;
        crew(&killed).await;
        killed.checks.stop();
        let left = submit(&killed, "ines", 70, "", "").await.unwrap();
        assert!(left.findings.is_none());
        assert!(matches!(left.check_state, CheckState::Waiting | CheckState::Running), "{:?}", left.check_state);
        killed.tasks.close();
        killed.tasks.wait().await;

        let other = database.app(|_| {}).await;
        let runner = tokio::spawn(Arc::clone(&other).run_stored_checks());
        let reader = calls(&other, "maarit", "FindingService/WatchCheck").await;
        let mut steps = other.watch_check(&reader, "saltmarsh-wheels", "shelf", "").await.unwrap();
        let mut last = None;
        while let Some(step) = tokio::time::timeout(Duration::from_secs(60), steps.recv()).await.unwrap() {
            last = Some(step.unwrap());
        }
        let last = last.unwrap().standing;
        assert_eq!(last.state, CheckState::Done);
        assert!(!last.findings.unwrap().checks.is_empty());
        other.stopping.cancel();
        runner.await.unwrap();
        other.store.close().await;
        killed.store.close().await;
    });
}

#[test]
fn a_check_that_failed_is_asked_for_again_by_submitting_again() {
    on_both("a_check_that_failed_is_asked_for_again", |database| async move {
        // A server that gives a check no time, and others that do: one that answers at once, one that does not wait.
        let hasty = database.app(|config| config.limits.check_s = 0).await;
        crew(&hasty).await;
        let failed = submit(&hasty, "ines", 70, "", "").await.unwrap();
        assert_eq!((failed.check_state, failed.findings), (CheckState::Failed, None));
        let again = submit(&hasty, "ines", 70, "A", "").await.unwrap();
        assert_eq!((again.unchanged, again.check_state), (true, CheckState::Failed), "it may fail again");
        let other = submit(&hasty, "ines", 95, "A", "").await.unwrap();
        assert_eq!((other.revision.ordinal, other.check_state), (2, CheckState::Failed));

        let app = database.app(|_| {}).await;
        let again = submit(&app, "ines", 95, "B", "").await.unwrap();
        assert_eq!((again.revision.ordinal, again.unchanged, again.check_state), (2, true, CheckState::Done));
        assert!(again.findings.is_some());
        let later = database.app(|config| config.limits.submit_wait_ms = 0).await;
        // Back to the frame of the first revision, whose check failed too.
        let third = submit(&later, "ines", 70, "B", "").await.unwrap();
        assert_eq!(third.revision.ordinal, 3);
        let reader = calls(&later, "maarit", "FindingService/WatchCheck").await;
        let runner = tokio::spawn(Arc::clone(&later).run_stored_checks());
        for letter in ["C", "A"] {
            let mut steps = later.watch_check(&reader, "saltmarsh-wheels", "shelf", letter).await.unwrap();
            let mut last = None;
            while let Some(step) = tokio::time::timeout(Duration::from_secs(60), steps.recv()).await.unwrap() {
                last = Some(step.unwrap());
            }
            assert_eq!(last.unwrap().standing.state, CheckState::Done, "{letter}");
        }
        later.stopping.cancel();
        runner.await.unwrap();
        for app in [hasty, app, later] {
            app.store.close().await;
        }
    });
}

#[test]
fn faults_of_a_text_come_with_their_places_all_at_once() {
    on_both("faults_of_a_text", |database| async move {
        let app = database.app(|_| {}).await;
        crew(&app).await;
        let caller = calls(&app, "ines", "DesignService/TryFrame").await;
        let faulty = text(70).replace("stock = \"s\"", "stock = \"t\"").replace("at = 600", "att = 600");
        let sent = Sent { design: None, text: faulty };
        match app.try_frame(&caller, sent, Default::default()).await {
            Err(AppError::Invalid { faults }) => {
                assert!(faults.len() >= 2, "{faults:?}");
                assert!(faults.iter().all(|fault| fault.place.is_some_and(|(line, _)| line > 1)), "{faults:?}");
            }
            other => panic!("{other:?}"),
        }
        let read = battenboard_designfile::read(&text(95)).unwrap().design;
        let mismatch = Sent { design: Some(read), text: text(70) };
        assert!(matches!(app.try_frame(&caller, mismatch, Default::default()).await, Err(AppError::Invalid { .. })));
        app.store.close().await;
    });
}
