//! Databases that an earlier release left, with rows in them: the server makes them its own, and what was in them is told
//! as before.

use battenboard_proto::v1;
use battenboard_tests::harness::earlier::back_to;
use battenboard_tests::harness::frames::one_bearer_weighed;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, on_both};

/// What is told of the shelf: its remarks, what changed in it, its revisions.
#[derive(Debug, PartialEq)]
struct Told {
    remarks: Vec<v1::Remark>,
    comparison: Option<v1::Comparison>,
    revisions: Vec<v1::Revision>,
}

async fn told(who: &Actor) -> Told {
    let (group, design) = (GROUP.to_owned(), "shelf".to_owned());
    let list = v1::ListRemarksRequest { group: group.clone(), design: design.clone(), ..Default::default() };
    let remarks = who.remarks().list_remarks(list).await.unwrap().into_inner().remarks;
    let (from_letter, to_letter) = ("A".into(), "B".into());
    let compare = v1::CompareRevisionsRequest { group: group.clone(), design: design.clone(), from_letter, to_letter };
    let comparison = who.designs().compare_revisions(compare).await.unwrap().into_inner().comparison;
    let list = v1::ListRevisionsRequest { group, design, ..Default::default() };
    let revisions = who.designs().list_revisions(list).await.unwrap().into_inner().revisions;
    Told { remarks, comparison, revisions }
}

#[test]
fn what_an_earlier_release_kept_is_told_as_before() {
    on_both("releases", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        maarit.submits(GROUP, "shelf", &one_bearer_weighed("shelf", 800.0), "").await.unwrap();
        okoro.remarks_on(GROUP, "shelf", "B1", "springy").await.unwrap();
        maarit.submits(GROUP, "shelf", &one_bearer_weighed("shelf", 900.0), "A").await.unwrap();
        for letter in ["A", "B"] {
            maarit.waits_for_findings(GROUP, "shelf", letter).await.unwrap();
        }
        let before = told(&ines).await;
        let stands = before.remarks[0].standing.as_ref().unwrap();
        assert_eq!(stands.as_of_letter, "B", "{stands:?}");
        let comparison = before.comparison.as_ref().unwrap();
        assert!(!comparison.utilisations.is_empty() && !comparison.sags.is_empty(), "{comparison:?}");
        assert!(before.revisions.iter().all(|revision| revision.axle_loads.is_some()));
        // 14 did not keep effects beside findings; 12 knew no axle loads in lists, no vehicles; 6 left remarks where they
        // were made.
        for migrations in [14, 12, 6] {
            bench.restart_after(async |database| back_to(database, migrations).await).await;
            let mut then = told(&bench.again(&ines)).await;
            for (revision, as_before) in then.revisions.iter_mut().zip(&before.revisions) {
                // What a release did not keep is not known of its rows afterwards, and nothing is made up.
                assert_eq!(revision.axle_loads.is_some(), migrations > 12, "{migrations}");
                assert_eq!(revision.vehicle_survey > 0, migrations > 13, "{migrations}");
                *revision = v1::Revision {
                    axle_loads: as_before.axle_loads,
                    vehicle_survey: as_before.vehicle_survey,
                    latest_vehicle_survey: as_before.latest_vehicle_survey,
                    latest_vehicle_survey_time: as_before.latest_vehicle_survey_time,
                    ..revision.clone()
                };
            }
            assert_eq!(then, before, "{migrations}");
        }
        // And work goes on.
        let maarit = bench.again(&maarit);
        maarit.submits(GROUP, "shelf", &one_bearer_weighed("shelf", 700.0), "B").await.unwrap();
        maarit.waits_for_findings(GROUP, "shelf", "C").await.unwrap();
        let after = told(&bench.again(&ines)).await;
        assert_eq!(after.remarks[0].standing.as_ref().unwrap().as_of_letter, "C");
    });
}
