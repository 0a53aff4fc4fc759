//! Remarks that a release before this did not carry: none is lost, and each stands as if it had been carried all along.

use super::*;
use crate::app::remarks::{Filter, RemarkView};

/// A shelf whose bearer has this tag and depth.
fn shelf(tag: &str, depth: u32) -> Sent {
    let text = text(depth).replace("\"B1\"", &format!("\"{tag}\""));
    Sent { design: None, text }
}

async fn submits(app: &Arc<App>, sent: Sent, worked_from: &str) {
    let caller = calls(app, "ines", "DesignService/SubmitRevision").await;
    let submission = Submission {
        group: "saltmarsh-wheels".into(),
        design: "shelf".into(),
        sent,
        note: String::new(),
        worked_from: worked_from.into(),
        drawn_after: None,
    };
    app.submit_revision(&caller, submission, RequestId::default()).await.unwrap();
}

async fn remarks_on(app: &Arc<App>, letter: &str, kind: PlaceKind, tag: &str) {
    let caller = calls(app, "okoro", "RemarkService/CreateRemark").await;
    let at_mm = (kind == PlaceKind::Member).then_some(640.0);
    let new = NewRemark { letter: letter.into(), spot: Spot { kind, tag: tag.into(), at_mm }, ..new_remark(tag) };
    app.create_remark(&caller, new, RequestId::default()).await.unwrap();
}

async fn listed(app: &Arc<App>, as_of: &str, tag: &str) -> Vec<RemarkView> {
    let caller = calls(app, "okoro", "RemarkService/ListRemarks").await;
    let filter = Filter { as_of: as_of.into(), tag: tag.into(), ..Filter::default() };
    app.list_remarks(&caller, "saltmarsh-wheels", "shelf", filter, 0, "").await.unwrap().0
}

/// Number, tag, state and revision of each, newest first.
async fn standings(app: &Arc<App>, as_of: &str) -> Vec<(i64, String, &'static str, usize, Option<f64>)> {
    let list = listed(app, as_of, "").await;
    let told = |view: RemarkView| {
        let standing = view.standing.standing;
        (view.number, standing.tag, standing.what.word(), standing.since, standing.at_mm)
    };
    list.into_iter().map(told).collect()
}

/// Five revisions with remarks on the first, the second and, late, on the third.
async fn history(app: &Arc<App>) -> Uuid {
    crew(app).await;
    submits(app, shelf("B1", 70), "").await;
    remarks_on(app, "", PlaceKind::Member, "B1").await;
    remarks_on(app, "", PlaceKind::Anchor, "B1/wall@0").await;
    remarks_on(app, "", PlaceKind::Whole, "").await;
    submits(app, shelf("B1", 95), "A").await;
    remarks_on(app, "", PlaceKind::Member, "B1").await;
    submits(app, shelf("K7", 95), "B").await;
    submits(app, shelf("K7", 120), "C").await;
    remarks_on(app, "C", PlaceKind::Member, "K7").await;
    submits(app, shelf("Q2", 120), "D").await;
    let keeper = calls(app, "ines", "DesignService/GetDesign").await;
    let place = crate::app::designs::find(app.store.read(), &keeper, "saltmarsh-wheels", "shelf").await.unwrap();
    place.design.id
}

async fn forget(app: &Arc<App>, design_id: Uuid, after: Option<i64>) {
    let tx = app.store.write_tx().await.unwrap();
    store::standings::forget_for_tests(&tx, design_id, after).await.unwrap();
    app.store.commit(tx).await.unwrap();
}

#[test]
fn remarks_of_an_earlier_release_stand_as_if_they_had_been_carried() {
    on_both("remarks_of_an_earlier_release", |database| async move {
        let app = database.app(|_| {}).await;
        let design_id = history(&app).await;
        let mut wanted = Vec::new();
        for letter in ["A", "B", "C", "D", "E"] {
            wanted.push(standings(&app, letter).await);
        }
        let latest: Vec<(i64, &str, &str, usize)> =
            wanted[4].iter().map(|(number, tag, word, since, _)| (*number, tag.as_str(), *word, *since)).collect();
        let by_hand = [
            (5, "Q2", "renamed", 5),
            (4, "Q2", "renamed", 5),
            (3, "", "as_it_was", 1),
            (2, "Q2/wall@0", "renamed", 5),
            (1, "Q2", "renamed", 5),
        ];
        assert_eq!(latest, by_hand);
        // All of it, or what came after the second revision, or after the fourth: as of any revision asked first.
        for (after, first) in [(None, 4), (None, 2), (None, 0), (Some(2), 4), (Some(4), 4), (Some(2), 3)] {
            forget(&app, design_id, after).await;
            let letters = ["A", "B", "C", "D", "E"];
            assert_eq!(standings(&app, letters[first]).await, wanted[first], "{after:?}");
            for (letter, wanted) in letters.iter().zip(&wanted) {
                assert_eq!(&standings(&app, letter).await, wanted, "as of {letter} after {after:?}");
            }
        }
        // Asked for by tag, or one by one.
        forget(&app, design_id, None).await;
        let on: Vec<i64> = listed(&app, "", "Q2").await.iter().map(|view| view.number).collect();
        assert_eq!(on, [5, 4, 1]);
        forget(&app, design_id, None).await;
        let caller = calls(&app, "okoro", "RemarkService/GetRemark").await;
        let number = Reference::Number { group: "saltmarsh-wheels".into(), design: "shelf".into(), number: 4 };
        assert_eq!(app.get_remark(&caller, &number).await.unwrap().standing.standing.tag, "Q2");
        app.store.close().await;
    });
}

#[test]
fn a_submit_carries_what_an_earlier_release_left_behind() {
    on_both("a_submit_carries_what_was_left_behind", |database| async move {
        let app = database.app(|_| {}).await;
        let design_id = history(&app).await;
        let mut wanted = standings(&app, "").await;
        for (number, (after, letter, tag)) in
            [(None, "E", "R1"), (Some(3), "F", "R2"), (Some(6), "G", "R3")].into_iter().enumerate()
        {
            forget(&app, design_id, after).await;
            submits(&app, shelf(tag, 120), letter).await;
            for (_, now, word, since, _) in wanted.iter_mut().filter(|entry| !entry.1.is_empty()) {
                let anchor = now.contains('/');
                *now = if anchor { format!("{tag}/wall@0") } else { tag.to_owned() };
                (*word, *since) = ("renamed", 6 + number);
            }
            assert_eq!(standings(&app, "").await, wanted, "{after:?}");
        }
        app.store.close().await;
    });
}
