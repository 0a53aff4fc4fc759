//! Findings: computed by the server, kept, the same as the engine's own.

use battenboard_engine::{Ask, check, design::Frame};
use battenboard_proto::v1;
use battenboard_tests::harness::frames::{one_bearer, row_of_trestles};
use battenboard_tests::harness::{Bench, Crew, GROUP, on_both, refused};
use std::time::{Duration, Instant};
use tonic::Code;

fn get(design: &str, letter: &str) -> v1::GetFindingsRequest {
    v1::GetFindingsRequest { group: GROUP.into(), design: design.into(), letter: letter.into() }
}

#[test]
fn a_small_frame_has_its_findings_in_the_answer() {
    on_both("findings at once", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let text = one_bearer("shelf", 800.0);
        let answer = ines.submits(GROUP, "shelf", &text, "").await.unwrap();
        let here = answer.findings.expect("one bearer takes less than 200 ms");
        assert_eq!(answer.check_state, i32::from(v1::CheckState::Done));
        let design = battenboard_designfile::read(&text).unwrap().design;
        let offline = check(&Frame::new(&design).unwrap(), Ask { results: false, mends: true }, &|| false).unwrap();
        assert_eq!(here.engine_fingerprint, offline.engine_fingerprint);
        assert_eq!(here.checks.len(), offline.checks.len());
        for (ours, theirs) in here.checks.iter().zip(&offline.checks) {
            assert_eq!(ours.tag, theirs.tag);
            assert_eq!(ours.utilisation.to_bits(), theirs.utilisation.to_bits(), "{} {:?}", theirs.tag, theirs.kind);
        }
        let read = okoro.findings().get_findings(get("shelf", "")).await.unwrap().into_inner();
        assert_eq!(read.letter, "A");
        assert_eq!(read.findings.unwrap(), here);
        refused(okoro.findings().get_findings(get("shelf", "B")).await, Code::NotFound);
        refused(okoro.findings().get_findings(get("no-such-design", "")).await, Code::NotFound);
    });
}

#[test]
fn findings_outlive_a_restart() {
    on_both("findings restart", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        let before = ines.waits_for_findings(GROUP, "shelf", "A").await.unwrap();
        bench.restart().await;
        let ines = bench.again(&ines);
        let after = ines.findings().get_findings(get("shelf", "A")).await.unwrap().into_inner().findings.unwrap();
        assert_eq!(before, after);
    });
}

#[test]
fn a_large_frame_follows_by_stream_and_others_are_served_meanwhile() {
    on_both("findings stream", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let text = row_of_trestles("long-row", 300);
        let answer = ines.submits(GROUP, "long-row", &text, "").await.unwrap();
        assert_eq!(answer.revision.unwrap().letter, "A");
        let started = Instant::now();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        assert!(started.elapsed() < Duration::from_secs(5), "a small frame waited for a large one");
        let findings = ines.waits_for_findings(GROUP, "long-row", "").await.unwrap();
        assert!(findings.checks.iter().any(|check| check.tag == "B3"));
    });
}

#[test]
fn a_trial_leaves_nothing_behind() {
    on_both("findings trial", async |bench: &mut Bench| {
        let Crew { okoro, .. } = bench.saltmarsh().await;
        let request = v1::TryFrameRequest {
            frame: None,
            text: one_bearer("shelf", 800.0),
            want_results: true,
            want_mends: false,
        };
        let findings = okoro.designs().try_frame(request).await.unwrap().into_inner().findings.unwrap();
        assert!(findings.results.is_some_and(|results| !results.states.is_empty()));
        refused(okoro.findings().get_findings(get("shelf", "")).await, Code::NotFound);
    });
}

/// One stiffness raised by one per cent: the sag falls by one per cent, nothing else of it moves.
#[test]
fn findings_follow_the_stiffness() {
    on_both("findings stiffness", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let given = |e: f64| {
            let material = format!("material = {{ e = {e}, g = 690, density = 420 }}");
            one_bearer("shelf", 1600.0).replace("material = \"C24\"", &material)
        };
        let sag = async |e: f64, worked_from: &str| {
            ines.submits(GROUP, "shelf", &given(e), worked_from).await.unwrap();
            let findings = ines.waits_for_findings(GROUP, "shelf", "").await.unwrap();
            let kind = i32::from(v1::CheckKind::SagInstant);
            findings.checks.iter().find(|check| check.kind == kind).expect("sag is checked").demand
        };
        let before = sag(11000.0, "").await;
        let after = sag(11110.0, "A").await;
        let ratio = before / after;
        // Bending by E, shear by G: of this bearer nearly all is bending.
        assert!((1.009..1.0101).contains(&ratio), "sag {before} became {after}");
    });
}
