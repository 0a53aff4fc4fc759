//! Proof loads: run at once, on every later revision, and what follows from them for their remarks.

use battenboard_client::{Exit, Screen, run_captured};
use battenboard_proto::v1;
use battenboard_tests::harness::frames::{one_bearer, row_of_trestles};
use battenboard_tests::harness::{
    Actor, Bench, Crew, Database, DatabaseKind, GROUP, ServerProcess, block_on, by_id, on_both, refused,
};
use battenboard_tests::verify::not_run;
use std::time::{Duration, Instant};
use tonic::{Code, Status};

const OPEN: i32 = v1::RemarkState::Open as i32;
const CLEARED: i32 = v1::RemarkState::Cleared as i32;
const PASSED: i32 = v1::ProofOutcome::Passed as i32;
const FAILED: i32 = v1::ProofOutcome::Failed as i32;
const CANNOT: i32 = v1::ProofOutcome::CannotBeRun as i32;

/// 100 kg at 400 mm sag 0.74 mm on a bearer of 800 and 2.6 mm on one of 1400 (P a² b²/(3 E I l), E 11000), with own
/// weight, shelf and shear 1.0 and 3.3: a limit of 2 mm tells them apart.
const SHORT: f64 = 800.0;
const LONG: f64 = 1400.0;

fn hundred_kilograms() -> v1::ProofLoad {
    v1::ProofLoad {
        press: Some(v1::proof_load::Press::MassKg(100.0)),
        most_sag_mm: Some(2.0),
        ..v1::ProofLoad::default()
    }
}

fn request(load: v1::ProofLoad) -> v1::CreateRemarkRequest {
    v1::CreateRemarkRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        letter: String::new(),
        place: Some(v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: Some(400.0) }),
        kind: v1::RemarkKind::Snag.into(),
        text: "does it carry me standing here?".into(),
        request_id: String::new(),
        proof_load: Some(load),
    }
}

async fn make(who: &Actor, request: v1::CreateRemarkRequest) -> Result<v1::Remark, Status> {
    Ok(who.remarks().create_remark(request).await?.into_inner().remark.unwrap())
}

async fn get(who: &Actor, remark: &v1::Remark) -> v1::Remark {
    let request = v1::GetRemarkRequest { remark: by_id(remark) };
    who.remarks().get_remark(request).await.unwrap().into_inner().remark.unwrap()
}

/// The remark once it has so many results and all of them are done.
async fn proved(who: &Actor, remark: &v1::Remark, count: usize) -> v1::Remark {
    let until = Instant::now() + Duration::from_secs(60);
    loop {
        let now = get(who, remark).await;
        let done = |result: &v1::ProofResult| result.state == v1::ProofState::Done as i32;
        if now.proof_results.len() >= count && now.proof_results.iter().all(done) {
            // Once more: what follows from the last result may have come between the two parts of the answer.
            return get(who, remark).await;
        }
        assert!(Instant::now() < until, "no result: {:?}", now.proof_results);
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

fn row(remark: &v1::Remark) -> Vec<(&str, i32)> {
    remark.proof_results.iter().map(|result| (result.letter.as_str(), result.outcome)).collect()
}

async fn submit(crew: &Crew, length_mm: f64, worked_from: &str) {
    crew.ines.submits(GROUP, "shelf", &one_bearer("shelf", length_mm), worked_from).await.unwrap();
}

async fn crew_with(bench: &mut Bench, length_mm: f64) -> Crew {
    let crew = bench.saltmarsh().await;
    submit(&crew, length_mm, "").await;
    crew
}

#[test]
fn a_proof_load_is_run_at_once() {
    on_both("proofs at once", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let remark = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        assert_eq!((row(&remark), remark.state), (vec![("A", FAILED)], OPEN));
        let load = remark.proof_load.as_ref().unwrap();
        assert_eq!((load.most_sag_mm, load.sag), (Some(2.0), v1::ProofSag::Instant as i32));
        let result = &remark.proof_results[0];
        assert!(result.sag_mm.unwrap() > 2.0 && result.sag_mm.unwrap() < 4.0, "{result:?}");
        assert!(result.greatest_sag_mm.unwrap() > result.sag_mm.unwrap());
        assert_eq!(result.point.unwrap(), v1::Point { x_mm: 1400.0, y_mm: 0.0, z_mm: 500.0 });
        let governing = result.governing.as_ref().unwrap();
        // Only its seated end keeps it from twisting: sideways buckling takes a little more than bending alone.
        assert_eq!((governing.tag.as_str(), governing.kind), ("B1", v1::CheckKind::LateralBuckling as i32));
        assert!(!result.engine_fingerprint.is_empty() && result.end_time.is_some());
        // On its own revision a pass clears nothing: the doubt is answered, its author says whether that is enough.
        submit(&crew, SHORT, "A").await;
        let passing = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        assert_eq!((row(&passing), passing.state), (vec![("B", PASSED)], OPEN));
    });
}

#[test]
fn a_later_revision_that_passes_clears_a_snag_and_one_that_fails_opens_it_again() {
    on_both("proofs life", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let remark = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        // Never by the builder's word: an answer leaves it to be looked at, and clearing is refused.
        refused(crew.ines.clears(&remark).await, Code::PermissionDenied);
        crew.ines.answers(&remark, "shorter now").await.unwrap();
        submit(&crew, SHORT, "A").await;
        let cleared = proved(&crew.okoro, &remark, 2).await;
        assert_eq!((row(&cleared), cleared.state), (vec![("A", FAILED), ("B", PASSED)], CLEARED));
        let entry = cleared.entries.last().unwrap();
        assert_eq!((entry.author.as_str(), entry.act), ("ines", v1::RemarkAct::Proved as i32));
        assert!(entry.text.starts_with("revision B carries it: 1 mm of 2 mm allowed; B1 at "), "{}", entry.text);
        refused(crew.ines.answers(&remark, "thank you").await, Code::FailedPrecondition);
        submit(&crew, LONG + 10.0, "B").await;
        let open = proved(&crew.okoro, &remark, 3).await;
        assert_eq!((open.state, open.entries.last().unwrap().act), (OPEN, v1::RemarkAct::FellShortAgain as i32));
        submit(&crew, SHORT + 10.0, "C").await;
        let again = proved(&crew.okoro, &remark, 4).await;
        assert_eq!((again.state, again.entries.len()), (CLEARED, 4));
        assert_eq!(row(&again), [("A", FAILED), ("B", PASSED), ("C", FAILED), ("D", PASSED)]);
    });
}

#[test]
fn what_its_author_cleared_is_left_alone_until_it_is_raised_again() {
    on_both("proofs author", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let remark = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        crew.okoro.clears(&remark).await.unwrap();
        submit(&crew, LONG + 10.0, "A").await;
        // Another's proof load is run on it, this one is not.
        let other = make(&crew.maarit, request(hundred_kilograms())).await.unwrap();
        proved(&crew.maarit, &other, 1).await;
        let left = get(&crew.okoro, &remark).await;
        assert_eq!((row(&left), left.state), (vec![("A", FAILED)], CLEARED));
        crew.maarit.raises_again(&remark, "it still springs").await.unwrap();
        let raised = proved(&crew.okoro, &remark, 2).await;
        assert_eq!((row(&raised), raised.state), (vec![("A", FAILED), ("B", FAILED)], OPEN));
        submit(&crew, SHORT, "B").await;
        assert_eq!(proved(&crew.okoro, &remark, 3).await.state, CLEARED);
    });
}

#[test]
fn what_is_gone_cannot_be_run_and_that_is_no_pass() {
    on_both("proofs gone", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let remark = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        let loose = one_bearer("shelf", SHORT).replace("hold = \"seated\"", "hold = { z = \"rigid\" }");
        crew.ines.submits(GROUP, "shelf", &loose, "A").await.unwrap();
        let moves = proved(&crew.okoro, &remark, 2).await;
        assert_eq!((row(&moves), moves.state, moves.entries.len()), (vec![("A", FAILED), ("B", CANNOT)], OPEN, 0));
        assert_eq!(moves.proof_results[1].obstacle, v1::ProofObstacle::TargetMoves as i32);
        let stub = one_bearer("shelf", 300.0).replace("at = 400", "at = 100");
        crew.ines.submits(GROUP, "shelf", &stub, "B").await.unwrap();
        let short = proved(&crew.okoro, &remark, 3).await;
        assert_eq!(short.proof_results[2].obstacle, v1::ProofObstacle::BeyondEnd as i32);
        assert_eq!(short.proof_results[2].obstacle_length_mm, Some(300.0));
        let other = one_bearer("shelf", SHORT).replace("\"B1\"", "\"B9\"").replace(", 0, 500]", ", 400, 500]");
        crew.ines.submits(GROUP, "shelf", &other, "C").await.unwrap();
        let gone = proved(&crew.okoro, &remark, 4).await;
        let result = &gone.proof_results[3];
        assert_eq!((result.obstacle, result.obstacle_tag.as_str()), (v1::ProofObstacle::TargetGone as i32, "B1"));
        // Another of that tag elsewhere is not what the doubt was about: back is what is back at its place.
        submit(&crew, SHORT + 100.0, "D").await;
        let elsewhere = proved(&crew.okoro, &remark, 5).await;
        assert_eq!(elsewhere.proof_results[4].obstacle, v1::ProofObstacle::TargetGone as i32);
        assert_eq!(get(&crew.okoro, &remark).await.state, OPEN);
    });
}

#[test]
fn it_goes_with_its_member_to_a_new_name() {
    on_both("proofs renamed", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let remark = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        let renamed = one_bearer("shelf", LONG).replace("\"B1\"", "\"B9\"");
        crew.ines.submits(GROUP, "shelf", &renamed, "A").await.unwrap();
        let proved = proved(&crew.okoro, &remark, 2).await;
        assert_eq!(row(&proved), [("A", FAILED), ("B", FAILED)]);
        let sags: Vec<f64> = proved.proof_results.iter().map(|result| result.sag_mm.unwrap()).collect();
        assert!((sags[0] - sags[1]).abs() < 1e-9, "{sags:?}");
        assert_eq!(proved.proof_results[1].governing.as_ref().unwrap().tag, "B9");
    });
}

#[test]
fn one_on_an_old_revision_is_run_on_the_later_ones_too() {
    on_both("proofs old", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        submit(&crew, SHORT, "A").await;
        submit(&crew, LONG + 10.0, "B").await;
        let old = v1::CreateRemarkRequest { letter: "A".into(), ..request(hundred_kilograms()) };
        let remark = make(&crew.okoro, old).await.unwrap();
        let remark = proved(&crew.okoro, &remark, 3).await;
        assert_eq!(row(&remark), [("A", FAILED), ("B", PASSED), ("C", FAILED)]);
        // Whatever came first: the newest revision has the last word.
        assert_eq!(remark.state, OPEN);
        // A question is never cleared by a revision.
        let asks = v1::CreateRemarkRequest {
            letter: "A".into(),
            kind: v1::RemarkKind::Question.into(),
            ..request(hundred_kilograms())
        };
        let question = make(&crew.okoro, asks).await.unwrap();
        submit(&crew, SHORT + 1.0, "C").await;
        assert_eq!(proved(&crew.okoro, &question, 4).await.state, OPEN);
        assert_eq!(proved(&crew.okoro, &remark, 4).await.state, CLEARED);
    });
}

#[test]
fn the_row_is_read_in_pages_by_the_crew_alone() {
    on_both("proofs pages", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let remark = make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        let without = crew.okoro.remarks_on(GROUP, "shelf", "B1", "no load").await.unwrap();
        submit(&crew, SHORT, "A").await;
        submit(&crew, SHORT + 1.0, "B").await;
        proved(&crew.okoro, &remark, 3).await;
        let list = |number: i64, page_size: i32, page_token: &str| v1::ListProofResultsRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            number,
            page_size,
            page_token: page_token.into(),
        };
        let first = crew.maarit.proofs().list_proof_results(list(1, 2, "")).await.unwrap().into_inner();
        let letters = |page: &v1::ListProofResultsResponse| {
            page.results.iter().map(|result| result.letter.clone()).collect::<Vec<_>>()
        };
        assert_eq!(letters(&first), ["C", "B"]);
        assert_eq!(first.proof_load.as_ref().unwrap().most_sag_mm, Some(2.0));
        let rest = crew.maarit.proofs().list_proof_results(list(1, 2, &first.next_page_token)).await.unwrap();
        assert_eq!(letters(rest.get_ref()), ["A"]);
        assert_eq!(rest.get_ref().next_page_token, "");
        let wrong = list(without.number, 2, &first.next_page_token);
        refused(crew.maarit.proofs().list_proof_results(wrong).await, Code::NotFound);
        refused(crew.maarit.proofs().list_proof_results(list(1, 2, "ab")).await, Code::InvalidArgument);
        refused(crew.maarit.proofs().list_proof_results(list(1, -1, "")).await, Code::InvalidArgument);
        refused(crew.maarit.proofs().list_proof_results(list(99, 0, "")).await, Code::NotFound);
        crew.ines.founds("elsewhere").await.unwrap();
        let outsider = crew.ines.lets_in("outsider", "elsewhere", v1::Right::Keeper).await.unwrap();
        refused(outsider.proofs().list_proof_results(list(1, 0, "")).await, Code::NotFound);
        refused(make(&outsider, request(hundred_kilograms())).await, Code::NotFound);
        let onlooker = crew.ines.lets_in("onlooker", GROUP, v1::Right::Onlooker).await.unwrap();
        assert_eq!(letters(onlooker.proofs().list_proof_results(list(1, 0, "")).await.unwrap().get_ref()).len(), 3);
        refused(make(&onlooker, request(hundred_kilograms())).await, Code::PermissionDenied);
    });
}

#[test]
fn a_load_without_sense_is_refused_and_named() {
    on_both("proofs faults", async |bench: &mut Bench| {
        let crew = crew_with(bench, SHORT).await;
        let mass = |kg: f64| Some(v1::proof_load::Press::MassKg(kg));
        let good = hundred_kilograms;
        for (load, field) in [
            (v1::ProofLoad { press: None, ..good() }, "proof_load.press"),
            (v1::ProofLoad { press: mass(0.0), ..good() }, "proof_load.mass_kg"),
            (v1::ProofLoad { press: mass(-5.0), ..good() }, "proof_load.mass_kg"),
            (v1::ProofLoad { press: mass(f64::NAN), ..good() }, "proof_load.mass_kg"),
            (v1::ProofLoad { press: mass(1e9), ..good() }, "proof_load.mass_kg"),
            (v1::ProofLoad { most_sag_mm: None, ..good() }, "proof_load.most_sag_mm"),
            (v1::ProofLoad { most_sag_mm: Some(-1.0), ..good() }, "proof_load.most_sag_mm"),
            (v1::ProofLoad { most_utilisation: Some(1.5), ..good() }, "proof_load.most_utilisation"),
            (v1::ProofLoad { sag: 9, ..good() }, "proof_load.sag"),
            (v1::ProofLoad { duration: 9, ..good() }, "proof_load.duration"),
            (v1::ProofLoad { patch_x_mm: Some(80.0), ..good() }, "proof_load.point"),
        ] {
            let status = refused(make(&crew.okoro, request(load)).await, Code::InvalidArgument);
            let details = tonic_types::StatusExt::get_error_details(&status);
            let said = format!("{:?}", details.bad_request());
            assert!(said.contains(field), "{field}: {said}");
        }
        let placed = |kind: v1::PlaceKind, tag: &str, at_mm: Option<f64>| v1::CreateRemarkRequest {
            place: Some(v1::Place { kind: kind.into(), tag: tag.into(), at_mm }),
            ..request(good())
        };
        for bad in [
            placed(v1::PlaceKind::Member, "B1", None),
            placed(v1::PlaceKind::Member, "B1", Some(900.0)),
            placed(v1::PlaceKind::Member, "B2", Some(100.0)),
            placed(v1::PlaceKind::Anchor, "B1/left rib", None),
            placed(v1::PlaceKind::Whole, "", None),
        ] {
            refused(make(&crew.okoro, bad).await, Code::InvalidArgument);
        }
        let list = v1::ListRemarksRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
        assert_eq!(crew.okoro.remarks().list_remarks(list).await.unwrap().into_inner().remarks.len(), 0);
    });
}

#[test]
fn a_load_on_a_deck_stands_on_its_point() {
    on_both("proofs deck", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        crew.ines.submits(GROUP, "row", &row_of_trestles("row", 2), "").await.unwrap();
        let on_deck = |x_mm: f64| v1::CreateRemarkRequest {
            design: "row".into(),
            place: Some(v1::Place { kind: v1::PlaceKind::Deck.into(), tag: "D1".into(), at_mm: None }),
            ..request(v1::ProofLoad {
                point: Some(v1::PlanPoint { x_mm, y_mm: 0.0 }),
                most_sag_mm: Some(20.0),
                ..hundred_kilograms()
            })
        };
        let remark = make(&crew.okoro, on_deck(375.0)).await.unwrap();
        let remark = proved(&crew.okoro, &remark, 1).await;
        assert!([PASSED, FAILED].contains(&remark.proof_results[0].outcome), "{:?}", remark.proof_results);
        assert!(remark.proof_results[0].sag_mm.unwrap() > 0.1);
        let status = refused(make(&crew.okoro, on_deck(9000.0)).await, Code::InvalidArgument);
        let details = tonic_types::StatusExt::get_error_details(&status);
        assert!(format!("{:?}", details.bad_request()).contains("it reaches from x"), "{details:?}");
    });
}

#[test]
fn the_fifty_first_is_refused() {
    on_both("proofs many", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let mut tasks = tokio::task::JoinSet::new();
        for number in 0..60 {
            let who = [&crew.ines, &crew.okoro, &crew.maarit][number % 3].clone();
            tasks.spawn(async move { (make(&who, request(hundred_kilograms())).await, who) });
        }
        let (mut made, mut over) = (Vec::new(), 0);
        for (result, who) in tasks.join_all().await {
            match result {
                Ok(remark) => made.push((remark, who)),
                Err(status) => {
                    assert_eq!(status.code(), Code::FailedPrecondition, "{}", status.message());
                    assert!(status.message().contains("50 proof loads"), "{}", status.message());
                    over += 1;
                }
            }
        }
        assert_eq!((made.len(), over), (50, 10));
        let (remark, author) = &made[0];
        author.clears(remark).await.unwrap();
        make(&crew.okoro, request(hundred_kilograms())).await.unwrap();
        refused(author.raises_again(remark, "after all").await, Code::FailedPrecondition);
        submit(&crew, SHORT, "A").await;
        assert_eq!(proved(&crew.okoro, &made[1].0, 2).await.state, CLEARED);
    });
}

#[test]
fn a_repeat_makes_one() {
    on_both("proofs repeat", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let once = v1::CreateRemarkRequest { request_id: "p1".into(), ..request(hundred_kilograms()) };
        let first = make(&crew.okoro, once.clone()).await.unwrap();
        let first = proved(&crew.okoro, &first, 1).await;
        assert_eq!(first, make(&crew.okoro, once.clone()).await.unwrap());
        let other = v1::CreateRemarkRequest { proof_load: None, ..once };
        refused(make(&crew.okoro, other).await, Code::InvalidArgument);
        let at_once = v1::CreateRemarkRequest { request_id: "p2".into(), ..request(hundred_kilograms()) };
        let (one, another) = tokio::join!(make(&crew.okoro, at_once.clone()), make(&crew.okoro, at_once));
        assert_eq!(one.unwrap().number, another.unwrap().number);
    });
}

/// The same load stated in the design: its findings use what the proof load uses.
#[test]
fn it_is_what_the_findings_say_of_the_same_load() {
    on_both("proofs equal", async |bench: &mut Bench| {
        let crew = crew_with(bench, LONG).await;
        let load = v1::ProofLoad {
            press: Some(v1::proof_load::Press::Force(v1::Force { x_n: 0.0, y_n: 0.0, z_n: -980.665 })),
            ..hundred_kilograms()
        };
        let remark = make(&crew.okoro, request(load)).await.unwrap();
        let remark = proved(&crew.okoro, &remark, 1).await;
        let mut text = one_bearer("shelf", LONG);
        text.push_str(
            "\n[[loads]]\ncase = \"me\"\naction = \"moving\"\nmember = \"B1\"\nat = 400\nforce = [0, 0, -980.665]\n",
        );
        let answer = crew.ines.submits(GROUP, "shelf", &text, "A").await.unwrap();
        assert!(answer.revision.is_some());
        let findings = crew.ines.waits_for_findings(GROUP, "shelf", "B").await.unwrap();
        let governing = remark.proof_results[0].governing.clone().unwrap();
        let same = findings
            .checks
            .iter()
            .find(|check| check.tag == "B1" && check.kind == governing.kind && check.combination.starts_with("me"))
            .unwrap();
        let share = same.utilisation / governing.utilisation;
        assert!((share - 1.0).abs() < 1e-9, "{} and {}", same.utilisation, governing.utilisation);
        assert_eq!((&same.clause, same.at_mm), (&governing.clause, governing.at_mm));
    });
}

#[test]
fn proof_loads_that_waited_when_the_server_was_killed_are_run() {
    for kind in DatabaseKind::ALL {
        if !kind.is_here() {
            not_run("postgres", "proofs kill");
            continue;
        }
        let database = Database::fresh(kind);
        block_on(async {
            let mut server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
            let ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
            ines.founds(GROUP).await.unwrap();
            ines.submits(GROUP, "row", &row_of_trestles("row", 480), "").await.unwrap();
            let load = |number: usize| v1::CreateRemarkRequest {
                design: "row".into(),
                place: Some(v1::Place {
                    kind: v1::PlaceKind::Member.into(),
                    tag: format!("B{}", number + 1),
                    at_mm: Some(320.0),
                }),
                ..request(hundred_kilograms())
            };
            let mut tasks = tokio::task::JoinSet::new();
            for number in 0..6 {
                let (who, load) = (ines.clone(), load(number));
                tasks.spawn(async move { make(&who, load).await.unwrap() });
            }
            let made = tasks.join_all().await;
            let done = v1::ProofState::Done as i32;
            let unfinished = made.iter().filter(|remark| remark.proof_results[0].state != done).count();
            assert!(unfinished > 0, "all were done before the answer: the kill would prove nothing");
            server.kill();
            let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
            let ines = Actor::stranger(server.channel().await).with_account(&ines).signs_in().await.unwrap();
            for remark in &made {
                let until = Instant::now() + Duration::from_secs(180);
                loop {
                    let now = get(&ines, remark).await;
                    if now.proof_results[0].state == done {
                        assert!([PASSED, FAILED].contains(&now.proof_results[0].outcome), "{now:?}");
                        break;
                    }
                    assert!(Instant::now() < until, "never taken up again");
                    tokio::time::sleep(Duration::from_millis(100)).await;
                }
            }
        });
    }
}

/// The command, by hand: at the server and here.
#[test]
fn the_command_says_it_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let address = server.address_with_scheme();
    let desk = folder.path().join("ines");
    std::fs::create_dir_all(&desk).unwrap();
    std::fs::write(desk.join("password"), "seven planks of larch\n").unwrap();
    std::fs::write(desk.join("frame.toml"), one_bearer("shelf", LONG)).unwrap();
    let types = |arguments: &[&str]| -> Screen { run_captured(arguments, &desk, &folder.path().join("config"), "") };
    let load = |more: &[&str]| -> Screen {
        let mut arguments = vec!["proof-load", "B1", "100kg", "--at", "400", "--most-sag", "2mm"];
        arguments.extend(more);
        types(&arguments)
    };
    let here = load(&["--here"]);
    assert_eq!(here.exit, Exit::FallsShort, "{}", here.stderr);
    assert!(here.stdout.contains("Fails: sags 3") && here.stdout.contains("of 2 mm allowed"), "{}", here.stdout);
    assert_eq!(load(&["does it?"]).exit, Exit::Usage, "no server is known yet");
    types(&["sign-up", "ines", "--server", &address, "--password-file", "password"]);
    types(&["found-group", "saltmarsh-wheels"]);
    assert_eq!(types(&["submit"]).exit, Exit::Holds);
    let made = load(&["does it carry me standing here?"]);
    assert_eq!(made.exit, Exit::FallsShort, "{}", made.stderr);
    assert!(made.stdout.contains("proof load: 100 kg on B1, 400 mm from its marked end"), "{}", made.stdout);
    assert!(made.stdout.contains("A: Fails: sags 3"), "{}", made.stdout);
    std::fs::write(desk.join("frame.toml"), one_bearer("shelf", SHORT)).unwrap();
    assert_eq!(load(&["--here"]).exit, Exit::Holds);
    types(&["submit"]);
    let until = Instant::now() + Duration::from_secs(60);
    let shown = loop {
        let screen = types(&["remarks"]);
        if screen.stdout.contains("B 1 mm") || Instant::now() > until {
            break screen.stdout;
        }
        std::thread::sleep(Duration::from_millis(50));
    };
    assert!(shown.contains("A 3.3 mm fails, B 1 mm passes"), "{shown}");
    assert!(shown.contains("cleared, proved: revision B carries it: 1 mm of 2 mm allowed; "), "{shown}");
    narrow(&shown);
}

fn narrow(shown: &str) {
    for line in shown.lines() {
        assert!(line.chars().count() <= 80, "wider than 80 columns: {line}");
    }
}
