//! Vehicles of a group: surveys that several designs share, and what their frames weigh together.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, on_both, refused};
use tonic::Code;

/// Figures as a design file states them, invented; `wheelbase` tells surveys apart.
fn stated(wheelbase: u32) -> String {
    format!(
        "survey = 7\nwheelbase = {wheelbase}\ntrack = 1710\ngross_limit = 3500\nfront_limit = 1850\nrear_limit = 2400\n\
         weighed_front = 1290\nweighed_rear = 1120\nseats = [{{ x = 900, y = 400 }}]"
    )
}

/// The same on the wire.
fn figures(vehicle: &str, wheelbase: u32) -> v1::Vehicle {
    v1::Vehicle {
        name: vehicle.into(),
        wheelbase_mm: Some(f64::from(wheelbase)),
        track_mm: Some(1710.0),
        gross_limit_kg: Some(3500.0),
        front_limit_kg: Some(1850.0),
        rear_limit_kg: Some(2400.0),
        weighed_front_kg: Some(1290.0),
        weighed_rear_kg: Some(1120.0),
        seats: vec![v1::Seat { x_mm: 900.0, y_mm: 400.0, mass_kg: 75.0 }],
        ..v1::Vehicle::default()
    }
}

fn text(design: &str, length_mm: f64, wheelbase: u32) -> String {
    one_bearer(design, length_mm).replace("survey = 1", &stated(wheelbase))
}

/// A text with a box of gear on the vehicle's floor.
fn with_gear(text: &str, mass_kg: u32, x_mm: u32) -> String {
    format!(
        "{text}\n[[stowage]]\nname = \"bottles\"\nmass = {mass_kg}\nat = [{x_mm}, 100, 250]\nsize = [400, 300, 500]\n"
    )
}

async fn vehicle(who: &Actor, name: &str) -> Result<v1::GetVehicleResponse, tonic::Status> {
    let request = v1::GetVehicleRequest { group: GROUP.into(), vehicle: name.into(), ..Default::default() };
    Ok(who.vehicles().get_vehicle(request).await?.into_inner())
}

async fn sum(who: &Actor, name: &str) -> Result<v1::VehicleMassSum, tonic::Status> {
    let request = v1::SumVehicleMassesRequest { group: GROUP.into(), vehicle: name.into() };
    Ok(who.vehicles().sum_vehicle_masses(request).await?.into_inner().sum.unwrap())
}

async fn revision(who: &Actor, design: &str, letter: &str) -> v1::Revision {
    let request = v1::GetRevisionRequest { group: GROUP.into(), design: design.into(), letter: letter.into() };
    who.designs().get_revision(request).await.unwrap().into_inner().revision.unwrap()
}

/// The survey that a new revision names, and the latest.
async fn submits(who: &Actor, design: &str, text: &str, from: &str) -> (i64, i64) {
    let kept = who.submits(GROUP, design, text, from).await.unwrap().revision.unwrap();
    let said = (kept.vehicle_survey, kept.latest_vehicle_survey);
    // What is answered at once is what is read later.
    let read = revision(who, design, &kept.letter).await;
    assert_eq!(said, (read.vehicle_survey, read.latest_vehicle_survey), "{design}");
    said
}

#[test]
fn designs_share_a_vehicle_and_each_revision_names_the_survey_it_is_drawn_on() {
    on_both("vehicles shared", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        assert_eq!(submits(&maarit, "shelf", &text("shelf", 800.0, 4035), "").await, (1, 1));
        // The same figures are the same survey, whatever number the file states and whoever submits.
        let other_number = text("rack", 700.0, 4035).replace("survey = 7", "survey = 3");
        assert_eq!(submits(&ines, "rack", &other_number, "").await, (1, 1));
        let second = maarit.surveys(GROUP, figures("Curlew", 4040), "with a tape, twice").await.unwrap();
        let kept = second.survey.unwrap();
        assert_eq!((kept.number, second.unchanged, kept.author.as_str()), (2, false, "maarit"));
        assert_eq!(kept.figures, Some(v1::Vehicle { survey: 2, ..figures("Curlew", 4040) }));
        assert_eq!(kept.note, "with a tape, twice");
        let older = revision(&okoro, "rack", "A").await;
        assert_eq!((older.vehicle_survey, older.latest_vehicle_survey), (1, 2));
        assert_eq!(older.latest_vehicle_survey_time, kept.create_time);
        assert_eq!(submits(&maarit, "shelf", &text("shelf", 800.0, 4040), "A").await, (2, 2));
        // Back to figures that were there before: they are not recorded anew.
        assert_eq!(submits(&maarit, "shelf", &text("shelf", 800.0, 4035), "B").await, (1, 2));
        // Figures that no survey has are the next one, by whoever submits them.
        assert_eq!(submits(&maarit, "shelf", &text("shelf", 800.0, 4050), "C").await, (3, 3));
        // No figures, no survey.
        assert_eq!(submits(&maarit, "shelf", &one_bearer("shelf", 810.0), "D").await, (0, 0));
        let found = vehicle(&okoro, "Curlew").await.unwrap();
        assert_eq!(found.vehicle.unwrap().latest_survey, 3);
        let told: Vec<_> = found
            .surveys
            .iter()
            .map(|it| (it.number, it.came_with_design.as_str(), it.came_with_letter.as_str()))
            .collect();
        assert_eq!(told, [(3, "shelf", "D"), (2, "", ""), (1, "shelf", "A")]);
        let news = v1::ListNewsRequest { from_oldest: true, ..Default::default() };
        let events = okoro.news().list_news(news).await.unwrap().into_inner().events;
        let surveys = events.iter().filter(|event| event.kind() == v1::EventKind::SurveyRecorded);
        let surveys: Vec<_> = surveys.map(|it| (it.vehicle.as_str(), it.survey_number, it.actor.as_str())).collect();
        assert_eq!(surveys, [("Curlew", 1, "maarit"), ("Curlew", 2, "maarit"), ("Curlew", 3, "maarit")]);
        let list = v1::ListVehiclesRequest { group: GROUP.into(), ..Default::default() };
        let list = okoro.vehicles().list_vehicles(list).await.unwrap().into_inner().vehicles;
        assert_eq!(list.iter().map(|it| (it.name.as_str(), it.latest_survey)).collect::<Vec<_>>(), [("Curlew", 3)]);
    });
}

#[test]
fn surveys_are_read_in_pages_to_their_end() {
    on_both("vehicles pages", async |bench: &mut Bench| {
        let Crew { maarit, .. } = bench.saltmarsh().await;
        for wheelbase in 0..7 {
            maarit.surveys(GROUP, figures("Curlew", 4000 + wheelbase), "").await.unwrap();
        }
        let (mut seen, mut page_token) = (Vec::new(), String::new());
        loop {
            let (group, vehicle) = (GROUP.into(), "Curlew".into());
            let request = v1::GetVehicleRequest { group, vehicle, page_size: 3, page_token };
            let page = maarit.vehicles().get_vehicle(request).await.unwrap().into_inner();
            assert!(page.surveys.len() <= 3);
            seen.extend(page.surveys.into_iter().map(|survey| survey.number));
            page_token = page.next_page_token;
            if page_token.is_empty() {
                break;
            }
            let other = v1::ListVehiclesRequest { group: GROUP.into(), page_size: 3, page_token: page_token.clone() };
            refused(maarit.vehicles().list_vehicles(other).await, Code::InvalidArgument);
        }
        assert_eq!(seen, [7, 6, 5, 4, 3, 2, 1]);
    });
}

#[test]
fn a_survey_is_recorded_once_however_often_and_at_whatever_moment_it_comes() {
    on_both("vehicles at once", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        let request = v1::RecordSurveyRequest {
            group: GROUP.into(),
            vehicle: Some(figures("Curlew", 4035)),
            note: String::new(),
            request_id: "weighed in june".into(),
        };
        let (mut here, mut there) = (maarit.vehicles(), maarit.vehicles());
        let (one, two) = tokio::join!(here.record_survey(request.clone()), there.record_survey(request.clone()));
        let (one, two) = (one.unwrap().into_inner(), two.unwrap().into_inner());
        assert_eq!(one, two, "two answers to one request");
        assert_eq!((one.survey.as_ref().unwrap().number, one.unchanged), (1, false));
        let changed = v1::RecordSurveyRequest { vehicle: Some(figures("Curlew", 4036)), ..request };
        refused(maarit.vehicles().record_survey(changed).await, Code::InvalidArgument);
        // The same again by somebody else: nothing changed.
        let same = ines.surveys(GROUP, figures("Curlew", 4035), "I measured it too").await.unwrap();
        assert_eq!((same.survey.as_ref().unwrap().number, same.unchanged), (1, true));
        assert_eq!(same.survey.unwrap().note, "");
        // Eight different ones at a moment: dense numbers, each its own.
        let mut tasks = tokio::task::JoinSet::new();
        for wheelbase in 4100..4108 {
            let who = if wheelbase % 2 == 0 { ines.clone() } else { maarit.clone() };
            tasks.spawn(async move { who.surveys(GROUP, figures("Curlew", wheelbase), "").await });
        }
        let mut numbers: Vec<i64> =
            tasks.join_all().await.into_iter().map(|it| it.unwrap().survey.unwrap().number).collect();
        numbers.sort_unstable();
        assert_eq!(numbers, (2..=9).collect::<Vec<_>>());
        // Designs that come at a moment with the same new figures of a new vehicle, and one survey of it by itself.
        let mut tasks = tokio::task::JoinSet::new();
        for number in 0..6 {
            let (who, design) = (maarit.clone(), format!("shelf-{number}"));
            let text = text(&design, 800.0, 3275).replace("Curlew", "Dunlin");
            tasks.spawn(async move {
                who.submits(GROUP, &design, &text, "").await.map(|it| it.revision.unwrap().vehicle_survey)
            });
        }
        let who = ines.clone();
        tasks.spawn(async move { Ok(who.surveys(GROUP, figures("Dunlin", 3275), "").await?.survey.unwrap().number) });
        for number in tasks.join_all().await {
            assert_eq!(number.unwrap(), 1);
        }
        assert_eq!(vehicle(&ines, "Dunlin").await.unwrap().surveys.len(), 1);
    });
}

#[test]
fn the_hundred_and_first_is_refused_and_a_revision_comes_in_all_the_same() {
    on_both("vehicles full", async |bench: &mut Bench| {
        let Crew { maarit, .. } = bench.saltmarsh().await;
        for wheelbase in 0..100 {
            maarit.surveys(GROUP, figures("Curlew", 4000 + wheelbase), "").await.unwrap();
        }
        let full = refused(maarit.surveys(GROUP, figures("Curlew", 5000), "").await, Code::FailedPrecondition);
        assert!(full.message().contains("100 surveys"), "{}", full.message());
        // What equals the latest is no new one.
        assert!(maarit.surveys(GROUP, figures("Curlew", 4099), "").await.unwrap().unchanged);
        assert_eq!(submits(&maarit, "shelf", &text("shelf", 800.0, 5000), "").await, (0, 0));
        assert_eq!(submits(&maarit, "rack", &text("rack", 800.0, 4010), "").await, (11, 100));
        for number in 1..100 {
            maarit.surveys(GROUP, figures(&format!("van {number}"), 4000), "").await.unwrap();
        }
        let full = refused(maarit.surveys(GROUP, figures("van 100", 4000), "").await, Code::FailedPrecondition);
        assert!(full.message().contains("100 vehicles"), "{}", full.message());
        let another = text("bench", 800.0, 4000).replace("Curlew", "van 101");
        assert_eq!(submits(&maarit, "bench", &another, "").await, (0, 0));
        refused(vehicle(&maarit, "van 101").await, Code::NotFound);
    });
}

#[test]
fn bad_figures_are_refused_with_their_places() {
    on_both("vehicles bad", async |bench: &mut Bench| {
        let Crew { maarit, .. } = bench.saltmarsh().await;
        let good = figures("Curlew", 4035);
        let seat = |mass_kg| v1::Seat { x_mm: 900.0, y_mm: 400.0, mass_kg };
        let cases = [
            ("vehicle.wheelbase", v1::Vehicle { wheelbase_mm: Some(40.0), ..good.clone() }),
            ("vehicle.gross_limit", v1::Vehicle { gross_limit_kg: Some(f64::NAN), ..good.clone() }),
            ("vehicle.weighed_rear", v1::Vehicle { weighed_rear_kg: Some(-1.0), ..good.clone() }),
            ("vehicle.seats[1].mass", v1::Vehicle { seats: vec![seat(75.0), seat(750.0)], ..good.clone() }),
            ("vehicle.seats", v1::Vehicle { seats: vec![seat(75.0); 65], ..good.clone() }),
            ("vehicle.inside.to", v1::Vehicle { inside: Some(v1::Inside::default()), ..good.clone() }),
            ("vehicle.survey", v1::Vehicle { survey: -1, ..good.clone() }),
            ("vehicle.name", v1::Vehicle { name: "  ".into(), ..good.clone() }),
            ("vehicle.name", v1::Vehicle { name: "v".repeat(121), ..good.clone() }),
            ("vehicle", v1::Vehicle { name: "Curlew".into(), survey: 4, ..v1::Vehicle::default() }),
        ];
        for (path, bad) in cases {
            let refusal = refused(maarit.surveys(GROUP, bad, "").await, Code::InvalidArgument);
            let details = String::from_utf8_lossy(refusal.details()).into_owned();
            assert!(details.contains(path), "{path}: {}", refusal.message());
        }
        let note = "n".repeat(2001);
        refused(maarit.surveys(GROUP, good.clone(), &note).await, Code::InvalidArgument);
        let nothing = v1::RecordSurveyRequest { group: GROUP.into(), vehicle: None, ..Default::default() };
        let refusal = refused(maarit.vehicles().record_survey(nothing).await, Code::InvalidArgument);
        assert!(String::from_utf8_lossy(refusal.details()).contains("request_id"), "a request id is needed");
        refused(vehicle(&maarit, "Curlew").await, Code::NotFound);
    });
}

#[test]
fn an_outsider_sees_nothing_of_surveys_however_widely_a_design_is_shown() {
    on_both("vehicles hidden", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        ines.founds("elsewhere").await.unwrap();
        let stranger = ines.lets_in("tove", "elsewhere", v1::Right::Keeper).await.unwrap();
        submits(&maarit, "shelf", &text("shelf", 800.0, 4035), "").await;
        let (group, design) = (GROUP.to_owned(), "shelf".to_owned());
        let show = v1::UpdateDesignVisibilityRequest { group, design, visibility: v1::Visibility::Open.into() };
        ines.designs().update_design_visibility(show).await.unwrap();
        for who in [&stranger, &bench.stranger()] {
            let read = revision(who, "shelf", "A").await;
            assert_eq!((read.vehicle_survey, read.latest_vehicle_survey), (0, 0));
            assert_eq!(read.latest_vehicle_survey_time, None);
        }
        refused(vehicle(&stranger, "Curlew").await, Code::NotFound);
        refused(sum(&stranger, "Curlew").await, Code::NotFound);
        refused(stranger.surveys(GROUP, figures("Curlew", 4000), "").await, Code::NotFound);
        let list = v1::ListVehiclesRequest { group: GROUP.into(), ..Default::default() };
        refused(stranger.vehicles().list_vehicles(list).await, Code::NotFound);
        // A reviewer reads and does not record.
        vehicle(&okoro, "Curlew").await.unwrap();
        refused(okoro.surveys(GROUP, figures("Curlew", 4000), "").await, Code::PermissionDenied);
    });
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-9 * a.abs().max(b.abs()).max(1.0), "{a} {b}");
}

/// What one design adds to the axles, by the lever law and by its own findings; the base is in both but once in the sum.
#[test]
fn what_the_frames_do_to_the_axles_adds_up_and_counts_the_vehicle_once() {
    on_both("vehicles summed", async |bench: &mut Bench| {
        let Crew { ines, maarit, .. } = bench.saltmarsh().await;
        let shelf = with_gear(&text("shelf", 800.0, 4035), 20, 1500);
        submits(&maarit, "shelf", &shelf, "").await;
        submits(&maarit, "shelf", &with_gear(&text("shelf", 900.0, 4035), 20, 1500), "A").await;
        submits(&maarit, "rack", &with_gear(&text("rack", 700.0, 4035), 50, 4500), "").await;
        submits(&maarit, "elsewhere", &text("elsewhere", 700.0, 3275).replace("Curlew", "Dunlin"), "").await;
        let weight = async |design: &str, letter: &str| {
            maarit.waits_for_findings(GROUP, design, letter).await.unwrap().weight.unwrap()
        };
        let (a, b, rack) = (weight("shelf", "A").await, weight("shelf", "B").await, weight("rack", "A").await);
        let found = sum(&maarit, "Curlew").await.unwrap();
        let aboard = |it: &v1::FrameAboard| (it.design.clone(), it.letter.clone(), it.issued);
        let told: Vec<_> = found.frames.iter().map(aboard).collect();
        assert_eq!(told, [("rack".into(), "A".into(), false), ("shelf".into(), "B".into(), false)]);
        assert_eq!((found.survey, found.gear_named_twice.as_slice()), (1, ["bottles".to_owned()].as_slice()));
        let wheelbase = 4035.0;
        // Lever law with moments about the front axle: rear = sum of m x / wheelbase (statics of a beam on two supports).
        let adds = |it: &v1::WeightTable| it.total_kg * it.centre.unwrap().x_mm / wheelbase;
        let touring = found.axles.iter().find(|line| line.state() == v1::LoadState::Touring).unwrap();
        close(touring.rear_kg, 1120.0 + 75.0 * 900.0 / wheelbase + adds(&b) + adds(&rack));
        let all = 1290.0 + 1120.0 + 75.0 + b.total_kg + rack.total_kg;
        close(touring.front_kg + touring.rear_kg, all);
        close(found.total_kg.unwrap(), all);
        close(found.payload_left_kg.unwrap(), 3500.0 - all);
        close(touring.rear_left_kg.unwrap(), 2400.0 - touring.rear_kg);
        assert_eq!((found.weighed_kg, found.passengers_kg, found.gear_kg), (Some(2410.0), Some(75.0), Some(70.0)));
        // Each alone on the weighed vehicle, by its own findings: what each adds to what is there without it.
        for state in [v1::LoadState::Empty, v1::LoadState::Touring] {
            let line = |of: &[v1::AxleLine]| *of.iter().find(|line| line.state() == state).unwrap();
            let guests = if state == v1::LoadState::Touring { 75.0 } else { 0.0 };
            let base = 1290.0 + guests * (1.0 - 900.0 / wheelbase);
            let alone: f64 = [&b, &rack].into_iter().map(|it| line(&it.axles).front_kg - base).sum();
            close(line(&found.axles).front_kg, base + alone);
            let sideways = [&b, &rack].into_iter().map(|it| line(&it.axles).right_minus_left_kg.unwrap()).sum();
            close(line(&found.axles).right_minus_left_kg.unwrap(), sideways);
        }
        // What is issued for cutting counts before what came later; what was built before the survey is said.
        let (group, design, letter) = (GROUP.to_owned(), "shelf".to_owned(), "A".to_owned());
        let override_reason = "a trial".to_owned();
        let issue = v1::IssueForCuttingRequest { group, design, letter, override_reason, ..Default::default() };
        ines.cutting().issue_for_cutting(issue).await.unwrap();
        let (group, design, letter) = (GROUP.to_owned(), "shelf".to_owned(), "A".to_owned());
        let built = v1::RecordAsBuiltRequest { group, design, letter, note: "as drawn".into(), ..Default::default() };
        maarit.cutting().record_as_built(built).await.unwrap();
        let found = sum(&maarit, "Curlew").await.unwrap();
        let shelf = &found.frames[1];
        assert_eq!((shelf.letter.as_str(), shelf.issued, shelf.built_before_survey), ("A", true, false));
        close(found.total_kg.unwrap(), 2410.0 + 75.0 + a.total_kg + rack.total_kg);
        // A later survey that does not say where the axles are: masses are summed, axles are not, and what lacks is named.
        let bare = v1::Vehicle { wheelbase_mm: None, ..figures("Curlew", 1) };
        maarit.surveys(GROUP, bare, "").await.unwrap();
        let found = sum(&maarit, "Curlew").await.unwrap();
        assert!(found.axles.is_empty());
        assert_eq!((found.survey, found.missing.as_slice()), (2, ["wheelbase_mm".to_owned()].as_slice()));
        close(found.total_kg.unwrap(), 2410.0 + 75.0 + a.total_kg + rack.total_kg);
        assert!(found.frames[1].built_before_survey && !found.frames[0].built_before_survey);
        assert_eq!(found.frames[1].vehicle_survey, 1);
    });
}

#[test]
fn who_makes_his_own_sums_on_one_of_them_is_told_the_masses_of_the_others_and_no_sum() {
    on_both("vehicles withheld", async |bench: &mut Bench| {
        let Crew { okoro, maarit, .. } = bench.saltmarsh().await;
        submits(&maarit, "shelf", &text("shelf", 800.0, 4035), "").await;
        submits(&maarit, "rack", &text("rack", 700.0, 4035), "").await;
        let begin = v1::BeginOwnSumsRequest { group: GROUP.into(), design: "shelf".into() };
        okoro.reviews().begin_own_sums(begin).await.unwrap();
        let found = sum(&okoro, "Curlew").await.unwrap();
        assert!(found.figures_withheld && found.axles.is_empty());
        assert_eq!((found.frames_kg, found.total_kg, found.payload_left_kg), (None, None, None));
        let told: Vec<_> = found.frames.iter().map(|it| (it.frame_kg.is_some(), it.figures_withheld)).collect();
        assert_eq!(told, [(true, false), (false, true)]);
        assert!(sum(&maarit, "Curlew").await.unwrap().total_kg.is_some());
    });
}
