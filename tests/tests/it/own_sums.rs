//! Sums of one's own: while they go on, no figure of the server's comes out by any method, in any reply or refusal, nor by
//! the command. Whole encoded replies are scanned; the same scan of what others get finds the figures there.
#![allow(clippy::needless_update, reason = "a request of few fields is written like one of many")]

use super::command::Desk;
use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer_weighed;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, by_id, on_both};
use prost::Message;
use std::collections::{BTreeMap, BTreeSet};
use std::time::{SystemTime, UNIX_EPOCH};
use tonic::{Response, Status};

const DESIGN: &str = "shelf";

/// A figure that is kept, by what it is.
struct Kept {
    what: String,
    bytes: [u8; 8],
    texts: Vec<String>,
}

impl Kept {
    fn of(what: String, figure: f64) -> Self {
        let mut texts = vec![format!("{figure}"), format!("{figure:.3}"), format!("{figure:.2}")];
        // Short texts stand in any file; as per cent they have their sign.
        texts.retain(|text| text.len() > 4);
        texts.extend([format!(": {:.0} %", figure * 100.0), format!("{:.1} %", figure * 100.0)]);
        Self { what, bytes: figure.to_le_bytes(), texts }
    }

    fn is_in(&self, reply: &[u8]) -> bool {
        let has = |part: &[u8]| reply.windows(part.len()).any(|window| window == part);
        has(&self.bytes) || self.texts.iter().any(|text| has(text.as_bytes()))
    }
}

macro_rules! request {
    ($of:ident { $($field:ident: $value:expr),* $(,)? }) => {{
        // Field by field: of some messages this is all, of others not.
        let mut request = v1::$of::default();
        $(request.$field = $value.into();)*
        request
    }};
}

/// What is found of revisions, as somebody sees it from whom nothing is kept.
async fn figures(who: &Actor) -> Vec<Kept> {
    let mut kept = Vec::new();
    for letter in ["A", "B"] {
        let found = who.waits_for_findings(GROUP, DESIGN, letter).await.unwrap();
        let weight = found.weight.unwrap();
        kept.push(Kept::of(format!("total mass of {letter}"), weight.total_kg));
        kept.push(Kept::of(format!("frame and fixings of {letter}"), weight.frame_kg + weight.fixings_kg));
        for axles in weight.axles {
            for (name, figure) in [("front", axles.front_kg), ("rear", axles.rear_kg)] {
                kept.push(Kept::of(format!("{name} axle of {letter}, {:?}", axles.state()), figure));
            }
        }
        for check in found.checks {
            let what = format!("{letter} {} {:?}", check.tag, check.kind());
            for (name, figure) in [("utilisation", check.utilisation), ("demand", check.demand)] {
                // Figures like 0 or 1000 stand anywhere.
                if figure.abs() > 1e-9 && figure.fract().abs() > 1e-9 {
                    kept.push(Kept::of(format!("{name} of {what}"), figure));
                }
            }
        }
    }
    assert!(kept.len() > 10, "{}", kept.len());
    kept
}

/// What the proof load came to, as somebody sees it from whom nothing is kept.
async fn proof_figures(who: &Actor, there: &There) -> Vec<Kept> {
    let until = std::time::Instant::now() + std::time::Duration::from_secs(60);
    loop {
        let list = request!(ListProofResultsRequest { group: GROUP, design: DESIGN, number: there.remark.number });
        let results = who.proofs().list_proof_results(list).await.unwrap().into_inner().results;
        if results.len() == 2 && results.iter().all(|it| it.state() == v1::ProofState::Done) {
            let of = |it: &v1::ProofResult| {
                let sag = it.sag_mm.map(|sag| Kept::of(format!("sag under the proof load on {}", it.letter), sag));
                let most = it.greatest_sag_mm.map(|sag| Kept::of(format!("greatest sag on {}", it.letter), sag));
                sag.into_iter().chain(most).collect::<Vec<_>>()
            };
            let kept: Vec<Kept> = results.iter().flat_map(of).collect();
            assert!(kept.len() >= 2, "{results:?}");
            return kept;
        }
        assert!(std::time::Instant::now() < until, "{results:?}");
        tokio::time::sleep(std::time::Duration::from_millis(20)).await;
    }
}

fn in_a_week() -> Option<prost_types::Timestamp> {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    Some(prost_types::Timestamp { seconds: i64::try_from(now).unwrap() + 7 * 86_400, nanos: 0 })
}

/// A text of the shelf that falls short, in a vehicle with a survey.
fn text(letter: &str) -> String {
    one_bearer_weighed(DESIGN, if letter == "A" { 3987.0 } else { 3961.0 }).replace("-150", "-2931")
}

/// Everything said by one method: replies, and refusals with their details.
#[derive(Default)]
struct Said(BTreeMap<&'static str, Vec<u8>>);

impl Said {
    fn hear<T: Message>(&mut self, method: &'static str, answer: Result<Response<T>, Status>) {
        let said = self.0.entry(method).or_default();
        match answer {
            Ok(reply) => said.extend(reply.into_inner().encode_to_vec()),
            Err(status) => {
                said.extend(status.message().as_bytes());
                said.extend(status.details());
            }
        }
    }

    async fn hear_stream<T: Message>(
        &mut self,
        method: &'static str,
        answer: Result<Response<tonic::Streaming<T>>, Status>,
    ) {
        let message = answer.unwrap().into_inner().message().await.unwrap().unwrap();
        self.hear(method, Ok(Response::new(message)));
    }
}

/// What there is to read: a finding accepted, a stamp over what stands in the way, a record of what was built, own figures
/// of another beside the server's, a remark, a notice.
struct There {
    remark: v1::Remark,
    notice: String,
}

async fn make(crew: &Crew) -> There {
    let Crew { ines, okoro, maarit } = crew;
    for (letter, from) in [("A", ""), ("B", "A")] {
        maarit.submits(GROUP, DESIGN, &text(letter), from).await.unwrap();
        let found = maarit.waits_for_findings(GROUP, DESIGN, letter).await.unwrap();
        let check = found.checks.into_iter().find(|it| it.verdict() == v1::Verdict::FallsShort).unwrap();
        let mut grant = request!(GrantConcessionRequest { group: GROUP, design: DESIGN, letter: letter });
        (grant.tag, grant.check_kind, grant.reason) = (check.tag, check.kind, "hats".into());
        ines.cutting().grant_concession(grant).await.unwrap();
    }
    // Made on A: B comes after it, so that the server has something to say of its own accord.
    let wanted = v1::CreateRemarkRequest {
        place: Some(v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: Some(1234.5) }),
        proof_load: Some(v1::ProofLoad {
            press: Some(v1::proof_load::Press::MassKg(1.0)),
            most_sag_mm: Some(1000.0),
            ..v1::ProofLoad::default()
        }),
        ..request!(CreateRemarkRequest {
            group: GROUP,
            design: DESIGN,
            letter: "A",
            kind: v1::RemarkKind::Snag,
            text: "does it carry a cat?"
        })
    };
    let remark = okoro.remarks().create_remark(wanted).await.unwrap().into_inner().remark.unwrap();
    let issue =
        request!(IssueForCuttingRequest { group: GROUP, design: DESIGN, letter: "B", override_reason: "a trial" });
    ines.cutting().issue_for_cutting(issue).await.unwrap();
    maarit.cutting().record_as_built(as_built()).await.unwrap();
    let notice = request!(HangNoticeRequest { group: GROUP, design: DESIGN, worry: "stiff?", frame_kind: "shelf" });
    let notice = v1::HangNoticeRequest { expire_time: in_a_week(), ..notice };
    let notice = maarit.notices().hang_notice(notice).await.unwrap().into_inner().notice.unwrap().id;
    There { remark, notice }
}

fn as_built() -> v1::RecordAsBuiltRequest {
    let mass = v1::MeasuredMass { of: v1::MassOf::Frame.into(), mass_kg: 6.5, ..Default::default() };
    let record = request!(RecordAsBuiltRequest { group: GROUP, design: DESIGN, letter: "B" });
    v1::RecordAsBuiltRequest { masses: vec![mass], ..record }
}

/// Somebody else's figure of his own, beside which the server's is shown.
async fn own_figure(who: &Actor) {
    let place = v1::Place { kind: v1::PlaceKind::Member.into(), tag: "B1".into(), at_mm: None };
    let look = request!(MarkLookedAtRequest { group: GROUP, design: DESIGN, letter: "B", kind: v1::LookKind::OwnSums });
    let look = v1::MarkLookedAtRequest { places: vec![place], own_utilisation: Some(2.0), ..look };
    who.reviews().mark_looked_at(look).await.unwrap();
}

/// Every method that reads.
async fn reads(who: &Actor, there: &There) -> Said {
    let mut said = Said::default();
    let mut designs = who.designs();
    said.hear("ListDesigns", designs.list_designs(request!(ListDesignsRequest { group: GROUP })).await);
    said.hear("GetDesign", designs.get_design(request!(GetDesignRequest { group: GROUP, design: DESIGN })).await);
    let list = request!(ListRevisionsRequest { group: GROUP, design: DESIGN });
    said.hear("ListRevisions", designs.list_revisions(list).await);
    let compare = request!(CompareRevisionsRequest { group: GROUP, design: DESIGN, from_letter: "A", to_letter: "B" });
    said.hear("CompareRevisions", designs.compare_revisions(compare).await);
    for letter in ["A", "B"] {
        let get = request!(GetRevisionRequest { group: GROUP, design: DESIGN, letter: letter });
        said.hear("GetRevision", designs.get_revision(get).await);
        let get = request!(GetRevisionBodyRequest { group: GROUP, design: DESIGN, letter: letter });
        said.hear("GetRevisionBody", designs.get_revision_body(get).await);
        let trial = request!(TryFrameRequest { text: text(letter), want_results: true, want_mends: true });
        said.hear("TryFrame", designs.try_frame(trial).await);
        let get = request!(GetFindingsRequest { group: GROUP, design: DESIGN, letter: letter });
        said.hear("GetFindings", who.findings().get_findings(get).await);
        let watch = request!(WatchCheckRequest { group: GROUP, design: DESIGN, letter: letter });
        said.hear_stream("WatchCheck", who.findings().watch_check(watch).await).await;
        let get = request!(GetReviewRequest { group: GROUP, design: DESIGN, letter: letter });
        said.hear("GetReview", who.reviews().get_review(get).await);
        let list = request!(ListConcessionsRequest { group: GROUP, design: DESIGN, letter: letter });
        said.hear("ListConcessions", who.cutting().list_concessions(list).await);
    }
    let list = request!(ListCuttingStampsRequest { group: GROUP, design: DESIGN });
    said.hear("ListCuttingStamps", who.cutting().list_cutting_stamps(list).await);
    let list = request!(ListAsBuiltsRequest { group: GROUP, design: DESIGN });
    said.hear("ListAsBuilts", who.cutting().list_as_builts(list).await);
    let list = request!(ListRemarksRequest { group: GROUP, design: DESIGN });
    said.hear("ListRemarks", who.remarks().list_remarks(list).await);
    said.hear("GetRemark", who.remarks().get_remark(v1::GetRemarkRequest { remark: by_id(&there.remark) }).await);
    let list = request!(ListProofResultsRequest { group: GROUP, design: DESIGN, number: there.remark.number });
    said.hear("ListProofResults", who.proofs().list_proof_results(list).await);
    let mut notices = who.notices();
    said.hear("GetNotice", notices.get_notice(v1::GetNoticeRequest { notice_id: there.notice.clone() }).await);
    said.hear("ListNotices", notices.list_notices(v1::ListNoticesRequest::default()).await);
    said.hear("ListGroupNotices", notices.list_group_notices(request!(ListGroupNoticesRequest { group: GROUP })).await);
    said.hear(
        "GetReviewerRecord",
        notices.get_reviewer_record(request!(GetReviewerRecordRequest { account: "okoro" })).await,
    );
    let mut vehicles = who.vehicles();
    said.hear("ListVehicles", vehicles.list_vehicles(request!(ListVehiclesRequest { group: GROUP })).await);
    let get = request!(GetVehicleRequest { group: GROUP, vehicle: "Curlew" });
    said.hear("GetVehicle", vehicles.get_vehicle(get).await);
    let sum = request!(SumVehicleMassesRequest { group: GROUP, vehicle: "Curlew" });
    said.hear("SumVehicleMasses", vehicles.sum_vehicle_masses(sum).await);
    said.hear("ListNews", who.news().list_news(request!(ListNewsRequest { from_oldest: true })).await);
    said.hear_stream("ListenNews", who.news().listen_news(v1::ListenNewsRequest::default()).await).await;
    said.hear("GetGroup", who.groups().get_group(request!(GetGroupRequest { group: GROUP })).await);
    said.hear("ListGroups", who.groups().list_groups(v1::ListGroupsRequest::default()).await);
    said.hear("ListCrew", who.groups().list_crew(request!(ListCrewRequest { group: GROUP })).await);
    said.hear("GetAccount", who.accounts().get_account(v1::GetAccountRequest {}).await);
    said.hear("ListSessions", who.accounts().list_sessions(v1::ListSessionsRequest::default()).await);
    said.hear("GetServerInfo", who.server_info().get_server_info(v1::GetServerInfoRequest {}).await);
    said
}

/// What methods that write say in return; some refuse, and say why.
async fn writes(who: &Actor, there: &There) -> Said {
    let mut said = Said::default();
    let submit = request!(SubmitRevisionRequest { group: GROUP, design: DESIGN, text: text("B"), worked_from: "B" });
    said.hear("SubmitRevision", who.designs().submit_revision(submit).await);
    said.hear("RecordAsBuilt", who.cutting().record_as_built(as_built()).await);
    for reason in ["", "another trial"] {
        let issue =
            request!(IssueForCuttingRequest { group: GROUP, design: DESIGN, letter: "B", override_reason: reason });
        said.hear("IssueForCutting", who.cutting().issue_for_cutting(issue).await);
    }
    let back = request!(TakeBackCuttingStampRequest { group: GROUP, design: DESIGN, letter: "B", reason: "no" });
    said.hear("TakeBackCuttingStamp", who.cutting().take_back_cutting_stamp(back.clone()).await);
    said.hear("TakeBackCuttingStamp", who.cutting().take_back_cutting_stamp(back).await);
    for kind in 1..=40 {
        let mut grant =
            request!(GrantConcessionRequest { group: GROUP, design: DESIGN, letter: "B", check_kind: kind });
        (grant.tag, grant.reason) = ("B1".into(), "hats".into());
        said.hear("GrantConcession", who.cutting().grant_concession(grant).await);
    }
    let answer = request!(AnswerRemarkRequest { remark: by_id(&there.remark), text: "done" });
    said.hear("AnswerRemark", who.remarks().answer_remark(answer).await);
    let conclude =
        request!(ConcludeReviewRequest { group: GROUP, design: DESIGN, disposition: v1::Disposition::CutIt });
    said.hear("ConcludeReview", who.reviews().conclude_review(conclude).await);
    let begin = request!(BeginOwnSumsRequest { group: GROUP, design: DESIGN });
    said.hear("BeginOwnSums", who.reviews().begin_own_sums(begin).await);
    said
}

fn leaks(said: &Said, kept: &[Kept]) -> Vec<String> {
    let of = |method: &str, reply: &[u8]| -> Vec<String> {
        kept.iter().filter(|it| it.is_in(reply)).map(|it| format!("{method}: {}", it.what)).collect()
    };
    said.0.iter().flat_map(|(method, reply)| of(method, reply)).collect()
}

/// Methods in whose replies the scan must find figures for those from whom none are kept: else it looks in the wrong place.
const CARRY: [&str; 15] = [
    "SumVehicleMasses",
    "ListRemarks",
    "GetRemark",
    "ListProofResults",
    "ListRevisions",
    "CompareRevisions",
    "GetRevision",
    "GetRevisionBody",
    "TryFrame",
    "GetFindings",
    "WatchCheck",
    "GetReview",
    "ListConcessions",
    "ListCuttingStamps",
    "ListAsBuilts",
];

#[test]
fn while_sums_of_ones_own_go_on_no_figure_comes_out_by_any_method() {
    on_both("own sums scanned", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let there = make(&crew).await;
        let pekka = crew.ines.lets_in("pekka", GROUP, v1::Right::Keeper).await.unwrap();
        own_figure(&pekka).await;
        let mut kept = figures(&pekka).await;
        kept.extend(proof_figures(&pekka, &there).await);
        let said = reads(&pekka, &there).await;
        let reading: BTreeSet<String> =
            bench.methods().into_iter().map(|(_, method)| method).filter(|it| reads_only(it)).collect();
        let asked: BTreeSet<String> = said.0.keys().map(|method| (*method).to_owned()).collect();
        assert_eq!(asked, reading, "methods that read, here and in the contract");
        let found = leaks(&said, &kept);
        for method in CARRY {
            assert!(found.iter().any(|it| it.starts_with(&format!("{method}:"))), "no figure in {method}: {found:?}");
        }
        assert!(found.iter().any(|it| it.starts_with("ListRevisions: rear axle of B")), "{found:?}");
        for (who, name) in [(&crew.okoro, "reviewer"), (&crew.maarit, "builder"), (&crew.ines, "keeper")] {
            let begin = request!(BeginOwnSumsRequest { group: GROUP, design: DESIGN });
            who.reviews().begin_own_sums(begin).await.unwrap();
            let read = leaks(&reads(who, &there).await, &kept);
            assert!(read.is_empty(), "to the {name}: {read:#?}");
            let written = leaks(&writes(who, &there).await, &kept);
            assert!(written.is_empty(), "to the {name}: {written:#?}");
            // What his own acts have left behind tells others nothing less.
            let read = leaks(&reads(who, &there).await, &kept);
            assert!(read.is_empty(), "to the {name} afterwards: {read:#?}");
        }
        by_the_command(bench, &crew.okoro, &pekka, &kept);
    });
}

/// Methods that read, by their names; a trial is one as well.
fn reads_only(method: &str) -> bool {
    ["Get", "List", "Compare", "Watch", "Try", "Sum"].iter().any(|start| method.starts_with(start))
}

/// The command says no more than the server does.
fn by_the_command(bench: &Bench, withheld: &Actor, other: &Actor, kept: &[Kept]) {
    let folder = tempfile::tempdir().unwrap();
    let address = format!("http://{}", bench.address());
    let says = |who: &Actor| -> Vec<String> {
        let desk = Desk { folder: folder.path(), name: &who.name };
        desk.writes("password", &format!("{}\n", who.password));
        desk.ends_with(0, &["sign-in", &who.name, "--server", &address, "--password-file", "password"]);
        let of = ["--group", GROUP, "--design", DESIGN];
        let mut said = String::new();
        for verb in [&["revisions"][..], &["compare", "A", "B"], &["remarks"]] {
            said += &desk.ends_with(0, &[verb, &of, &["--json"]].concat());
            said += &desk.ends_with(0, &[verb, &of].concat());
        }
        said += &desk.ends_with(0, &["designs", "--group", GROUP, "--json"]);
        for json in [&[][..], &["--json"]] {
            said += &desk.ends_with(0, &[&["vehicle", "Curlew", "--group", GROUP], json].concat());
        }
        said += &desk.ends_with(0, &["news", "--json"]);
        said += &desk.ends_with(0, &[&["fetch-file", "B", "--to", "-"][..], &of].concat());
        let worst = |it: &&Kept| it.is_in(said.as_bytes());
        kept.iter().filter(worst).map(|it| it.what.clone()).collect()
    };
    assert!(!says(other).is_empty(), "the scan finds nothing where everything is said");
    let said = says(withheld);
    assert!(said.is_empty(), "{said:#?}");
}
