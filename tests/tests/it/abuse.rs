//! Requests no honest program makes. Each gets a clear answer, and the server goes on serving.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::{CURLEW, one_bearer, row_of_trestles};
use battenboard_tests::harness::{Bench, Crew, GROUP, on_both, refused};
use std::time::{Duration, Instant};
use tonic::Code;

/// A typed frame of one bearer, to be spoilt in many ways.
async fn typed_frame(bench: &Bench, crew: &Crew) -> v1::Frame {
    let _ = bench;
    crew.ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
    let request = v1::GetRevisionBodyRequest { group: GROUP.into(), design: "shelf".into(), letter: "A".into() };
    crew.ines.designs().get_revision_body(request).await.unwrap().into_inner().frame.unwrap()
}

fn submit(frame: v1::Frame) -> v1::SubmitRevisionRequest {
    v1::SubmitRevisionRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        frame: Some(frame),
        worked_from: "A".into(),
        ..Default::default()
    }
}

#[test]
fn numbers_that_are_none_are_refused_by_field_path() {
    on_both("abuse numbers", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let frame = typed_frame(bench, &crew).await;
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
            let mut spoilt = frame.clone();
            spoilt.members[0].to.as_mut().unwrap().x_mm = value;
            let status = refused(crew.ines.designs().submit_revision(submit(spoilt)).await, Code::InvalidArgument);
            let details = tonic_types::StatusExt::get_error_details(&status);
            let fields = details.bad_request().map(|bad| format!("{:?}", bad.field_violations)).unwrap_or_default();
            assert!(fields.contains("members[0].to"), "{value}: {fields}");
        }
    });
}

#[test]
fn frames_with_parts_missing_are_refused() {
    on_both("abuse parts missing", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let frame = typed_frame(bench, &crew).await;
        let spoilers: [fn(&mut v1::Frame); 8] = [
            |frame| frame.vehicle = None,
            |frame| frame.members[0].from = None,
            |frame| frame.stock[0].section = None,
            |frame| frame.stock[0].material = None,
            |frame| frame.anchors[0].hold = None,
            |frame| frame.anchors[0].axes = 77,
            |frame| frame.stock.clear(),
            |frame| frame.members[0].tag = "\u{202e}B1".into(),
        ];
        for (index, spoil) in spoilers.into_iter().enumerate() {
            let mut spoilt = frame.clone();
            spoil(&mut spoilt);
            let result = crew.ines.designs().submit_revision(submit(spoilt)).await;
            assert_eq!(
                result.map(|_| ()).map_err(|status| status.code()),
                Err(Code::InvalidArgument),
                "spoiler {index}"
            );
        }
        let neither = v1::SubmitRevisionRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
        refused(crew.ines.designs().submit_revision(neither).await, Code::InvalidArgument);
    });
}

#[test]
fn over_two_thousand_members_the_limit_is_named() {
    on_both("abuse members", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let frame = typed_frame(bench, &crew).await;
        let mut many = frame.clone();
        for number in 2..=2001 {
            let mut member = frame.members[0].clone();
            member.tag = format!("B{number}");
            many.members.push(member);
        }
        let started = Instant::now();
        let status = refused(crew.ines.designs().submit_revision(submit(many)).await, Code::InvalidArgument);
        assert!(started.elapsed() < Duration::from_secs(2), "{:?}", started.elapsed());
        let details = tonic_types::StatusExt::get_error_details(&status);
        let said = format!("{} {:?}", status.message(), details.bad_request());
        assert!(said.contains("2000") || said.contains("2,000"), "{said}");
        assert!(details.retry_info().is_none(), "a size is no matter of waiting");
    });
}

#[test]
fn a_million_members_and_a_hundred_megabytes_are_refused_at_the_door() {
    on_both("abuse size", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let frame = typed_frame(bench, &crew).await;
        let mut million = frame.clone();
        million.members = vec![frame.members[0].clone(); 1_000_000];
        let hundred_mb = v1::SubmitRevisionRequest { text: "#".repeat(100 << 20), ..submit(frame) };
        for request in [submit(million), hundred_mb] {
            let started = Instant::now();
            let status = crew.ines.designs().submit_revision(request).await.unwrap_err();
            assert!(
                [
                    Code::InvalidArgument,
                    Code::OutOfRange,
                    Code::ResourceExhausted,
                    Code::Cancelled,
                    Code::Unknown,
                    Code::Internal
                ]
                .contains(&status.code()),
                "{status:?}"
            );
            assert!(started.elapsed() < Duration::from_secs(10), "{:?}", started.elapsed());
        }
        crew.okoro.groups().get_group(v1::GetGroupRequest { group: GROUP.into() }).await.unwrap();
    });
}

#[test]
fn texts_over_their_limits_are_refused() {
    on_both("abuse texts", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let long = format!("{}\n# {}", one_bearer("shelf", 800.0), "x".repeat(256 * 1024));
        let status = refused(ines.submits(GROUP, "shelf", &long, "").await, Code::InvalidArgument);
        let details = tonic_types::StatusExt::get_error_details(&status);
        let said = format!("{} {:?}", status.message(), details.bad_request());
        assert!(said.contains("256") || said.contains("262144"), "{said}");
        let note = v1::SubmitRevisionRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            text: one_bearer("shelf", 800.0),
            note: "n".repeat(2001),
            ..Default::default()
        };
        refused(ines.designs().submit_revision(note.clone()).await, Code::InvalidArgument);
        let request_id = v1::SubmitRevisionRequest { note: String::new(), request_id: "r".repeat(65), ..note };
        refused(ines.designs().submit_revision(request_id).await, Code::InvalidArgument);
    });
}

#[test]
fn deep_nesting_is_an_error_not_a_crash() {
    on_both("abuse nesting", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        for deep in [
            format!("format = 1\nx = {}{}", "[".repeat(60_000), "]".repeat(60_000)),
            format!("format = 1\nx = {}1{}", "{ a = ".repeat(20_000), " }".repeat(20_000)),
            format!("format = 1\n{}x = 1", "a.".repeat(60_000)),
            format!("format = 1\n[{}x]\n", "a.".repeat(60_000)),
        ] {
            refused(ines.submits(GROUP, "shelf", &deep, "").await, Code::InvalidArgument);
        }
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
    });
}

#[test]
fn texts_that_are_not_a_design_are_refused() {
    on_both("abuse garbage", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        for garbage in
            ["\0\0\0\0", "\u{feff}", "<html>", "{}", "format = 2", "format = -1", "format = 1\nformat = 1", "= = ="]
        {
            refused(ines.submits(GROUP, "shelf", garbage, "").await, Code::InvalidArgument);
        }
    });
}

#[test]
fn names_that_reach_for_something_else_find_nothing() {
    on_both("abuse names", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        for name in
            ["../shelf", "shelf'; DROP TABLE designs; --", "sh%lf", "SHELF", "shelf ", "\0", &"s".repeat(100_000)]
        {
            let request = v1::GetDesignRequest { group: GROUP.into(), design: name.into() };
            let status = ines.designs().get_design(request).await.unwrap_err();
            assert!([Code::NotFound, Code::InvalidArgument].contains(&status.code()), "{name:.40}: {status:?}");
            assert!(status.message().len() < 1000, "the answer repeats {} bytes", status.message().len());
        }
        let wild = v1::GetGroupRequest { group: "%".into() };
        let status = ines.groups().get_group(wild).await.unwrap_err();
        assert!([Code::NotFound, Code::InvalidArgument].contains(&status.code()));
    });
}

#[test]
fn who_hangs_up_leaves_no_half_written_revision() {
    on_both("abuse hang up", async |bench: &mut Bench| {
        let Crew { ines, .. } = bench.saltmarsh().await;
        let mut worked_from = String::new();
        for number in 0..20_u64 {
            let who = ines.clone();
            let text = one_bearer("shelf", 700.0 + number as f64);
            let before = worked_from.clone();
            let call = tokio::spawn(async move { who.submits(GROUP, "shelf", &text, &before).await });
            tokio::time::sleep(Duration::from_micros(300 * number)).await;
            call.abort();
            let _ = call.await;
            tokio::time::sleep(Duration::from_millis(30)).await;
            let list = v1::ListRevisionsRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
            let revisions = match ines.designs().list_revisions(list).await {
                Ok(page) => page.into_inner().revisions,
                Err(status) if status.code() == Code::NotFound => Vec::new(),
                Err(status) => panic!("{status:?}"),
            };
            worked_from = revisions.first().map(|revision| revision.letter.clone()).unwrap_or_default();
        }
        // Whatever was kept is whole: text, frame and findings.
        let list = v1::ListRevisionsRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
        let page = ines.designs().list_revisions(list).await.unwrap().into_inner();
        assert!(!page.revisions.is_empty());
        for revision in page.revisions {
            let request = v1::GetRevisionBodyRequest {
                group: GROUP.into(),
                design: "shelf".into(),
                letter: revision.letter.clone(),
            };
            let body = ines.designs().get_revision_body(request).await.unwrap().into_inner();
            assert!(body.frame.is_some() && !body.text.is_empty());
            ines.waits_for_findings(GROUP, "shelf", &revision.letter).await.unwrap();
        }
    });
}

#[test]
fn a_flood_of_one_account_leaves_anothers_check_next_in_line() {
    on_both("abuse flood", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        let mut flood = tokio::task::JoinSet::new();
        for number in 0..24 {
            let (who, name) = (ines.clone(), format!("row-{number}"));
            flood.spawn(async move { who.submits(GROUP, &name, &row_of_trestles(&name, 120), "").await.unwrap() });
        }
        flood.join_all().await;
        let left = async || {
            let list = v1::ListDesignsRequest { group: GROUP.into(), page_size: 200, ..Default::default() };
            let page = ines.designs().list_designs(list).await.unwrap().into_inner();
            let done = i32::from(v1::CheckState::Done);
            page.designs.iter().filter(|design| design.latest_check_state != done).count()
        };
        let before = left().await;
        assert!(before > 8, "{before} of the flood wait: nothing is proved");
        // The other's check is one of many in the queue, and comes at its account's turn.
        maarit.submits(GROUP, "curlew-platform", CURLEW, "").await.unwrap();
        maarit.waits_for_findings(GROUP, "curlew-platform", "A").await.unwrap();
        let after = left().await;
        assert!(after + 6 > before, "{before} waited before, {after} afterwards: the flood went first");
    });
}
