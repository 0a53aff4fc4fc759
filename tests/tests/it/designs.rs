//! Designs and their revisions.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::{one_bearer, one_bearer_weighed};
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, on_both, refused};
use tonic::Code;
use tonic_types::StatusExt;

fn list(page_size: i32, page_token: &str) -> v1::ListRevisionsRequest {
    v1::ListRevisionsRequest { group: GROUP.into(), design: "shelf".into(), page_size, page_token: page_token.into() }
}

fn body(letter: &str) -> v1::GetRevisionBodyRequest {
    v1::GetRevisionBodyRequest { group: GROUP.into(), design: "shelf".into(), letter: letter.into() }
}

#[test]
fn letters_run_on_and_skip_i_and_o() {
    on_both("designs letters", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let mut letters: Vec<String> = Vec::new();
        for number in 0..26 {
            let text = one_bearer("shelf", 600.0 + f64::from(number));
            let before = letters.last().cloned().unwrap_or_default();
            let made = ines.submits(GROUP, "shelf", &text, &before).await.unwrap();
            letters.push(made.revision.unwrap().letter);
        }
        let wanted: Vec<String> =
            "ABCDEFGHJKLMNPQRSTUVWXYZ".chars().map(String::from).chain(["AA".into(), "AB".into()]).collect();
        assert_eq!(letters, wanted);
        let mut seen = Vec::new();
        let mut token = String::new();
        loop {
            let page = ines.designs().list_revisions(list(10, &token)).await.unwrap().into_inner();
            seen.extend(page.revisions.into_iter().map(|revision| revision.letter));
            token = page.next_page_token;
            if token.is_empty() {
                break;
            }
        }
        seen.reverse();
        assert_eq!(seen, wanted, "newest first, each once");
        refused(ines.designs().list_revisions(list(10, "forged")).await, Code::InvalidArgument);
    });
}

#[test]
fn the_text_comes_back_to_the_letter_and_so_does_the_frame() {
    on_both("designs body", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let text = format!("# my own words, \u{e9}t\u{e9}\r\n{}\n\n", one_bearer("shelf", 800.0));
        ines.submits(GROUP, "shelf", &text, "").await.unwrap();
        let read = okoro.designs().get_revision_body(body("A")).await.unwrap().into_inner();
        assert_eq!(read.text, text);
        let frame = read.frame.unwrap();
        assert_eq!(frame.members.len(), 1);
        assert_eq!(frame.members[0].to.as_ref().unwrap().x_mm, 1800.0);
        // The typed frame alone is the same content: no new letter.
        let request = v1::SubmitRevisionRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            frame: Some(frame.clone()),
            worked_from: "A".into(),
            ..Default::default()
        };
        let same = ines.designs().submit_revision(request.clone()).await.unwrap().into_inner();
        assert!(same.unchanged);
        assert_eq!(same.revision.unwrap().letter, "A");
        // A frame that is not what the text says is refused.
        let mismatch = v1::SubmitRevisionRequest { text: one_bearer("shelf", 801.0), ..request };
        refused(ines.designs().submit_revision(mismatch).await, Code::InvalidArgument);
    });
}

#[test]
fn who_worked_from_an_older_letter_is_told_what_came_between() {
    on_both("designs conflict", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        maarit.submits(GROUP, "shelf", &one_bearer("shelf", 810.0), "A").await.unwrap();
        let status = refused(ines.submits(GROUP, "shelf", &one_bearer("shelf", 820.0), "A").await, Code::Aborted);
        let info = status.get_details_error_info().expect("ErrorInfo says what came between");
        assert_eq!(info.metadata.get("latest_letter").map(String::as_str), Some("B"));
        assert_eq!(info.metadata.get("author").map(String::as_str), Some("maarit"));
        refused(ines.submits(GROUP, "shelf", &one_bearer("shelf", 820.0), "").await, Code::Aborted);
        for never in ["C", "Q", "I", "a", "A1", "ZZZZZZZZZZZZ"] {
            let status = ines.submits(GROUP, "shelf", &one_bearer("shelf", 820.0), never).await.unwrap_err();
            assert!([Code::Aborted, Code::InvalidArgument].contains(&status.code()), "{never}: {status:?}");
        }
        let made = ines.submits(GROUP, "shelf", &one_bearer("shelf", 820.0), "B").await.unwrap();
        assert_eq!(made.revision.unwrap().letter, "C");
    });
}

#[test]
fn of_two_at_the_same_moment_one_gets_the_letter() {
    on_both("designs race", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        let mut tasks = tokio::task::JoinSet::new();
        for number in 0..8 {
            let who = if number % 2 == 0 { ines.clone() } else { maarit.clone() };
            tasks.spawn(async move {
                who.submits(GROUP, "shelf", &one_bearer("shelf", 900.0 + f64::from(number)), "A").await
            });
        }
        let results = tasks.join_all().await;
        let (made, lost): (Vec<_>, Vec<_>) = results.into_iter().partition(Result::is_ok);
        assert_eq!(made.len(), 1, "two revisions took the same place");
        assert!(lost.iter().all(|lost| lost.as_ref().is_err_and(|status| status.code() == Code::Aborted)), "{lost:?}");
        let page = ines.designs().list_revisions(list(0, "")).await.unwrap().into_inner();
        assert_eq!(page.revisions.len(), 2);
    });
}

#[test]
fn a_repeated_submit_gives_the_first_answer() {
    on_both("designs request id", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        let request = v1::SubmitRevisionRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            text: one_bearer("shelf", 800.0),
            request_id: "the same try".into(),
            ..Default::default()
        };
        let first = ines.designs().submit_revision(request.clone()).await.unwrap().into_inner().revision.unwrap();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 805.0), "A").await.unwrap();
        let again = ines.designs().submit_revision(request.clone()).await.unwrap().into_inner().revision.unwrap();
        assert_eq!((first.letter, first.content_id), (again.letter, again.content_id));
        // Another account's request of the same id is another request.
        let other = maarit.designs().submit_revision(request).await;
        refused(other, Code::Aborted);
        let page = ines.designs().list_revisions(list(0, "")).await.unwrap().into_inner();
        assert_eq!(page.revisions.len(), 2);
    });
}

#[test]
fn faults_of_a_file_come_all_at_once_with_their_lines() {
    on_both("designs faults", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let text = one_bearer("shelf", 800.0)
            .replace(r#"stock = "45x70""#, r#"stock = "45x71""#)
            .replace(r#"kind = "bearer""#, "kind = \"bearer\"\ncolour = \"grey\"");
        let status = refused(ines.submits(GROUP, "shelf", &text, "").await, Code::InvalidArgument);
        let faults = status.get_details_bad_request().expect("BadRequest names the places").field_violations;
        let said: Vec<String> = faults.iter().map(|fault| format!("{}: {}", fault.field, fault.description)).collect();
        assert!(said.iter().any(|line| line.contains("45x71") && line.contains("line ")), "{said:?}");
        assert!(said.iter().any(|line| line.contains("colour") && line.contains("line ")), "{said:?}");
        // Nothing of it was kept.
        refused(ines.designs().get_revision_body(body("")).await, Code::NotFound);
    });
}

#[test]
fn a_thousand_faults_fit_an_answer() {
    on_both("designs many faults", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let mut text = one_bearer("shelf", 800.0);
        for number in 0..1000 {
            text.push_str(&format!("\n[[joints]]\nmember = \"X{number}\"\non = \"Y{number}\"\n"));
        }
        let status = refused(ines.submits(GROUP, "shelf", &text, "").await, Code::InvalidArgument);
        let faults = status.get_details_bad_request().expect("BadRequest names the places").field_violations;
        assert!((2..=51).contains(&faults.len()), "{} faults", faults.len());
        assert_eq!(faults.last().unwrap().field, "more");
        // The connection lives on.
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
    });
}

#[test]
fn another_groups_design_does_not_exist() {
    on_both("designs hidden", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        ines.founds("elsewhere").await.unwrap();
        let outsider = ines.lets_in("outsider", "elsewhere", v1::Right::Keeper).await.unwrap();
        let design = || v1::GetDesignRequest { group: GROUP.into(), design: "shelf".into() };
        refused(outsider.designs().get_design(design()).await, Code::NotFound);
        refused(outsider.designs().get_revision_body(body("A")).await, Code::NotFound);
        refused(outsider.designs().list_revisions(list(0, "")).await, Code::NotFound);
        refused(outsider.submits(GROUP, "shelf", &one_bearer("shelf", 900.0), "A").await, Code::NotFound);
        refused(outsider.waits_for_findings(GROUP, "shelf", "A").await, Code::NotFound);
        refused(outsider.remarks_on(GROUP, "shelf", "B1", "mine now").await, Code::NotFound);
        let compare = v1::CompareRevisionsRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            from_letter: "A".into(),
            to_letter: String::new(),
        };
        refused(outsider.designs().compare_revisions(compare).await, Code::NotFound);
        ines.designs().get_design(design()).await.unwrap();
    });
}

#[test]
fn a_comparison_names_what_changed_and_what_it_did() {
    on_both("designs compare", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 1200.0), "A").await.unwrap();
        ines.waits_for_findings(GROUP, "shelf", "A").await.unwrap();
        ines.waits_for_findings(GROUP, "shelf", "B").await.unwrap();
        let request = v1::CompareRevisionsRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            from_letter: "A".into(),
            to_letter: "B".into(),
        };
        let comparison = ines.designs().compare_revisions(request).await.unwrap().into_inner().comparison.unwrap();
        assert_eq!(comparison.members.len(), 1);
        assert_eq!(comparison.members[0].tag, "B1");
        let (before, after) = (comparison.mass_before_kg.unwrap(), comparison.mass_after_kg.unwrap());
        assert!(
            (after / before - 1.5).abs() < 1e-6,
            "half as long again weighs half as much again: {before} to {after}"
        );
        let change = comparison.utilisations.iter().find(|change| change.tag == "B1").expect("B1 is worked harder");
        assert!(change.utilisation_after.unwrap() > change.utilisation_before.unwrap());
        // The findings themselves are the other way to the same figures.
        let mut sags = Vec::new();
        for letter in ["A", "B"] {
            let found = ines.waits_for_findings(GROUP, "shelf", letter).await.unwrap();
            let check = found.checks.into_iter().find(|check| check.kind() == v1::CheckKind::SagFinal).unwrap();
            sags.push(Some(check.demand));
        }
        let told: Vec<_> =
            comparison.sags.iter().map(|it| (it.tag.as_str(), it.sag_before_mm, it.sag_after_mm)).collect();
        assert_eq!(told, [("B1", sags[0], sags[1])]);
        assert!(sags[1] > sags[0], "{sags:?}");
    });
}

#[test]
fn the_request_and_the_frame_must_name_the_same_design() {
    on_both("designs names", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        refused(ines.submits(GROUP, "another", &one_bearer("shelf", 800.0), "").await, Code::InvalidArgument);
        refused(ines.submits(GROUP, "shelf", "", "").await, Code::InvalidArgument);
        refused(ines.submits("no-such-group", "shelf", &one_bearer("shelf", 800.0), "").await, Code::NotFound);
    });
}

/// Level lever law by hand: a mass at x behind the front axle puts x/4035 of itself on the rear one.
#[test]
fn a_revision_tells_its_crew_the_axle_loads_beside_their_limits() {
    on_both("designs axles", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer_weighed("shelf", 800.0), "").await.unwrap();
        let found = ines.waits_for_findings(GROUP, "shelf", "A").await.unwrap();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "A").await.unwrap();
        ines.waits_for_findings(GROUP, "shelf", "B").await.unwrap();
        let revisions = okoro.designs().list_revisions(list(0, "")).await.unwrap().into_inner().revisions;
        assert_eq!(revisions[0].axle_loads, None, "this vehicle was not weighed");
        let axles = revisions[1].axle_loads.unwrap();
        let total_kg = revisions[1].total_mass_kg.unwrap();
        // The bearer lies from x = 1000 to 1800 mm; nothing else has mass.
        let rear_kg = 1120.0 + total_kg * 1400.0 / 4035.0;
        assert!((axles.rear_kg - rear_kg).abs() < 1e-6, "{axles:?}, {rear_kg}");
        assert!((axles.front_kg + axles.rear_kg - 2410.0 - total_kg).abs() < 1e-6, "{axles:?}");
        assert_eq!((axles.front_limit_kg, axles.rear_limit_kg), (Some(1850.0), Some(2400.0)));
        assert_eq!(axles.state(), found.weight.unwrap().axles[0].state(), "alike in both: the first is shown");
        // Beyond the crew they would tell the weighings.
        let shown = v1::UpdateDesignVisibilityRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            visibility: v1::Visibility::Open.into(),
        };
        ines.designs().update_design_visibility(shown).await.unwrap();
        ines.founds("elsewhere").await.unwrap();
        let outsider = ines.lets_in("outsider", "elsewhere", v1::Right::Keeper).await.unwrap();
        let theirs = outsider.designs().list_revisions(list(0, "")).await.unwrap().into_inner().revisions;
        assert_eq!((theirs.len(), theirs[1].axle_loads), (2, None));
        assert_eq!(theirs[1].total_mass_kg, Some(total_kg), "the rest is shown");
    });
}

fn after(group: &str, design: &str, letter: &str) -> Option<v1::DrawnAfter> {
    Some(v1::DrawnAfter { group: group.into(), design: design.into(), letter: letter.into() })
}

fn started(
    group: &str,
    length_mm: f64,
    worked_from: &str,
    source: Option<v1::DrawnAfter>,
) -> v1::SubmitRevisionRequest {
    v1::SubmitRevisionRequest {
        group: group.into(),
        design: "bench".into(),
        text: one_bearer("bench", length_mm),
        worked_from: worked_from.into(),
        drawn_after: source,
        ..Default::default()
    }
}

async fn source_of(who: &Actor, group: &str) -> Option<v1::DrawnAfter> {
    let design = v1::GetDesignRequest { group: group.into(), design: "bench".into() };
    let one = who.designs().get_design(design).await.unwrap().into_inner().design.unwrap().drawn_after;
    let list = v1::ListDesignsRequest { group: group.into(), page_size: 0, page_token: String::new() };
    let listed = who.designs().list_designs(list).await.unwrap().into_inner().designs;
    let listed = listed.into_iter().find(|it| it.name == "bench").unwrap().drawn_after;
    assert_eq!(one, listed, "alike in both");
    one
}

#[test]
fn a_design_says_what_it_was_drawn_after_to_those_who_may_see_that() {
    on_both("designs drawn after", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 810.0), "A").await.unwrap();
        // Within a group, all of it see it.
        let first = started(GROUP, 900.0, "", after(GROUP, "shelf", "A"));
        ines.designs().submit_revision(first.clone()).await.unwrap();
        assert_eq!(source_of(&maarit, GROUP).await, after(GROUP, "shelf", "A"));
        // The same once more changes nothing; later ones have nothing to say of it.
        assert!(ines.designs().submit_revision(first).await.unwrap().into_inner().unchanged);
        for source in [after(GROUP, "shelf", "A"), after(GROUP, "shelf", "B"), None] {
            let told = started(GROUP, 950.0, "A", source.clone());
            match ines.designs().submit_revision(told).await {
                Err(status) => assert_eq!((status.code(), source), (Code::InvalidArgument, after(GROUP, "shelf", "B"))),
                Ok(_) => assert_ne!(source, after(GROUP, "shelf", "B")),
            }
        }
        assert_eq!(source_of(&maarit, GROUP).await, after(GROUP, "shelf", "A"));
        // Of another group only what one may read can be named.
        ines.founds("elsewhere").await.unwrap();
        let outsider = ines.lets_in("outsider", "elsewhere", v1::Right::Builder).await.unwrap();
        for source in [after(GROUP, "shelf", "A"), after(GROUP, "no-such", "A"), after("no-such", "shelf", "A")] {
            let told = started("elsewhere", 900.0, "", source);
            refused(outsider.designs().submit_revision(told).await, Code::NotFound);
        }
        for letter in ["C", "I", "AB", "A1"] {
            let told = started("elsewhere", 900.0, "", after(GROUP, "shelf", letter));
            refused(ines.designs().submit_revision(told).await, Code::NotFound);
        }
        let told = started("elsewhere", 900.0, "", after(GROUP, "shelf", ""));
        refused(ines.designs().submit_revision(told).await, Code::InvalidArgument);
        let told = started("elsewhere", 900.0, "", after(GROUP, "shelf", "B"));
        ines.designs().submit_revision(told).await.unwrap();
        assert_eq!(source_of(&ines, "elsewhere").await, after(GROUP, "shelf", "B"));
        assert_eq!(source_of(&outsider, "elsewhere").await, None, "what one may not see does not exist");
        let shown = v1::UpdateDesignVisibilityRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            visibility: v1::Visibility::Open.into(),
        };
        ines.designs().update_design_visibility(shown).await.unwrap();
        assert_eq!(source_of(&outsider, "elsewhere").await, after(GROUP, "shelf", "B"));
    });
}

#[test]
fn a_design_says_why_it_has_no_verdict() {
    on_both("designs withheld", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        ines.waits_for_findings(GROUP, "shelf", "A").await.unwrap();
        let begin = v1::BeginOwnSumsRequest { group: GROUP.into(), design: "shelf".into() };
        okoro.reviews().begin_own_sums(begin).await.unwrap();
        for (who, withheld) in [(&ines, false), (&okoro, true)] {
            let design = v1::GetDesignRequest { group: GROUP.into(), design: "shelf".into() };
            let design = who.designs().get_design(design).await.unwrap().into_inner().design.unwrap();
            assert_eq!(design.figures_withheld, withheld);
            assert_eq!(design.latest_verdict() == v1::Verdict::Unspecified, withheld);
        }
    });
}
