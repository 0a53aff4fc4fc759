//! The second opinion: a notice hung, taken up, looked through, concluded on, and a revision issued for cutting.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, by_id, on_both, refused};
use prost_types::Timestamp;
use std::time::{SystemTime, UNIX_EPOCH};
use tonic::{Code, Status};

fn in_days(days: i64) -> Option<Timestamp> {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    Some(Timestamp { seconds: i64::try_from(now).unwrap() + days * 86_400, nanos: 0 })
}

fn wish(worry: &str) -> v1::HangNoticeRequest {
    v1::HangNoticeRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        worry: worry.into(),
        frame_kind: "Shelf".into(),
        skills: vec!["joinery".into()],
        expire_time: in_days(7),
        ..v1::HangNoticeRequest::default()
    }
}

async fn hang(who: &Actor, wish: v1::HangNoticeRequest) -> Result<v1::Notice, Status> {
    Ok(who.notices().hang_notice(wish).await?.into_inner().notice.unwrap())
}

async fn take_up(who: &Actor, id: &str) -> Result<v1::Notice, Status> {
    let request = v1::TakeUpNoticeRequest { notice_id: id.into() };
    Ok(who.notices().take_up_notice(request).await?.into_inner().notice.unwrap())
}

async fn board(who: &Actor, wanted: v1::ListNoticesRequest) -> v1::ListNoticesResponse {
    who.notices().list_notices(wanted).await.unwrap().into_inner()
}

async fn body(who: &Actor, letter: &str) -> Result<v1::GetRevisionBodyResponse, Status> {
    let (group, design, letter) = (GROUP.into(), "shelf".into(), letter.into());
    Ok(who.designs().get_revision_body(v1::GetRevisionBodyRequest { group, design, letter }).await?.into_inner())
}

async fn findings(who: &Actor, letter: &str) -> Result<v1::GetFindingsResponse, Status> {
    let (group, design, letter) = (GROUP.into(), "shelf".into(), letter.into());
    Ok(who.findings().get_findings(v1::GetFindingsRequest { group, design, letter }).await?.into_inner())
}

/// A shelf of two revisions by maarit, and somebody of another group.
async fn shelf(bench: &mut Bench) -> (Crew, Actor) {
    let crew = bench.saltmarsh().await;
    for (length_mm, from) in [(800.0, ""), (810.0, "A")] {
        let text = one_bearer("shelf", length_mm).replace("survey = 1", "survey = 1\ngross_limit = \"3500 kg\"");
        crew.maarit.submits(GROUP, "shelf", &text, from).await.unwrap();
    }
    crew.ines.waits_for_findings(GROUP, "shelf", "B").await.unwrap();
    crew.ines.founds("elsewhere").await.unwrap();
    let outsider = crew.ines.lets_in("tove", "elsewhere", v1::Right::Reviewer).await.unwrap();
    (crew, outsider)
}

#[test]
fn who_took_a_notice_up_reads_and_remarks_from_its_revision_on() {
    on_both("notice taken up", async |bench: &mut Bench| {
        let (crew, tove) = shelf(bench).await;
        let notice = hang(&crew.maarit, v1::HangNoticeRequest { letter: "B".into(), ..wish("is 45 wide enough?") });
        let notice = notice.await.unwrap();
        assert_eq!((notice.letter.as_str(), notice.frame_kind.as_str()), ("B", "shelf"));
        // Hung, but not shown: the notice is read by all, the design is not.
        refused(body(&tove, "B").await, Code::NotFound);
        let seen = board(&tove, v1::ListNoticesRequest::default()).await.notices;
        assert_eq!(seen.len(), 1);
        assert_eq!((seen[0].group.as_str(), seen[0].design.as_str()), ("", ""));
        let taken = take_up(&tove, &notice.code).await.unwrap();
        assert_eq!((taken.group.as_str(), taken.design.as_str(), taken.mine), (GROUP, "shelf", true));
        let read = body(&tove, "B").await.unwrap();
        let vehicle = read.frame.unwrap().vehicle.unwrap();
        assert_eq!((vehicle.name.as_str(), vehicle.gross_limit_kg), ("Curlew", None), "the plate is the crew's");
        assert!(!read.text.contains("3500"), "{}", read.text);
        assert!(body(&crew.okoro, "B").await.unwrap().text.contains("3500"));
        refused(body(&tove, "A").await, Code::NotFound);
        refused(tove.submits(GROUP, "shelf", &one_bearer("shelf", 820.0), "B").await, Code::PermissionDenied);
        let remark = tove.remarks_on(GROUP, "shelf", "B1", "knots near the middle?").await.unwrap();
        assert!(remark.from_outside);
        let list = v1::ListAsBuiltsRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
        refused(tove.cutting().list_as_builts(list).await, Code::PermissionDenied);
        // Handed back, it does not exist any more; the remark stays.
        let back = v1::HandBackNoticeRequest { notice_id: notice.id.clone() };
        tove.notices().hand_back_notice(back.clone()).await.unwrap();
        refused(tove.notices().hand_back_notice(back).await, Code::FailedPrecondition);
        refused(body(&tove, "B").await, Code::NotFound);
        let get = v1::GetRemarkRequest { remark: by_id(&remark) };
        crew.ines.remarks().get_remark(get).await.unwrap();
        // He has left: another reviewer who has not submitted clears it after his own look, the builder does not.
        refused(crew.maarit.clears(&remark).await, Code::PermissionDenied);
        crew.okoro.clears(&remark).await.unwrap();
    });
}

#[test]
fn a_keeper_sets_aside_what_came_from_outside_and_ends_a_taking_up() {
    on_both("notice set aside", async |bench: &mut Bench| {
        let (crew, tove) = shelf(bench).await;
        let notice = hang(&crew.maarit, wish("is it stiff enough?")).await.unwrap();
        take_up(&tove, &notice.id).await.unwrap();
        let theirs = tove.remarks_on(GROUP, "shelf", "B1", "too thin").await.unwrap();
        let ours = crew.okoro.remarks_on(GROUP, "shelf", "B1", "too thin").await.unwrap();
        let aside = |remark: &v1::Remark, reason: &str| v1::SetRemarkAsideRequest {
            remark: by_id(remark),
            reason: reason.into(),
            request_id: String::new(),
        };
        refused(crew.maarit.remarks().set_remark_aside(aside(&theirs, "no")).await, Code::PermissionDenied);
        refused(crew.ines.remarks().set_remark_aside(aside(&ours, "no")).await, Code::PermissionDenied);
        refused(crew.ines.remarks().set_remark_aside(aside(&theirs, "")).await, Code::InvalidArgument);
        let set = crew.ines.remarks().set_remark_aside(aside(&theirs, "measured: 0.4 mm")).await.unwrap();
        assert_eq!(set.into_inner().remark.unwrap().state, i32::from(v1::RemarkState::SetAside));
        refused(tove.raises_again(&theirs, "still").await, Code::PermissionDenied);
        crew.ines.raises_again(&theirs, "looked again").await.unwrap();
        let end = |account: &str, reason: &str| v1::EndTakeUpRequest {
            notice_id: notice.id.clone(),
            account: account.into(),
            reason: reason.into(),
        };
        refused(crew.maarit.notices().end_take_up(end("tove", "enough")).await, Code::PermissionDenied);
        refused(crew.ines.notices().end_take_up(end("okoro", "enough")).await, Code::FailedPrecondition);
        refused(crew.ines.notices().end_take_up(end("nobody-here", "enough")).await, Code::NotFound);
        let ended = crew.ines.notices().end_take_up(end("tove", "enough")).await.unwrap().into_inner().notice.unwrap();
        assert_eq!((ended.taker_count, ended.take_ups[0].reason.as_str()), (0, "enough"));
        refused(body(&tove, "").await, Code::NotFound);
    });
}

#[test]
fn notices_are_bounded_found_by_words_and_end() {
    on_both("notice board", async |bench: &mut Bench| {
        let (crew, tove) = shelf(bench).await;
        let mut bad = vec![
            v1::HangNoticeRequest { worry: " ".into(), ..wish("x") },
            v1::HangNoticeRequest { frame_kind: String::new(), ..wish("x") },
            v1::HangNoticeRequest { expire_time: in_days(-1), ..wish("x") },
            v1::HangNoticeRequest { expire_time: in_days(400), ..wish("x") },
            v1::HangNoticeRequest { expire_time: None, ..wish("x") },
            v1::HangNoticeRequest { most_takers: 21, ..wish("x") },
            v1::HangNoticeRequest { most_takers: -1, ..wish("x") },
        ];
        bad.push(v1::HangNoticeRequest { skills: vec!["a".into(); 6], ..wish("x") });
        bad.push(v1::HangNoticeRequest { expire_time: Some(Timestamp { seconds: i64::MAX, nanos: 0 }), ..wish("x") });
        for bad in bad {
            refused(hang(&crew.maarit, bad).await, Code::InvalidArgument);
        }
        refused(hang(&crew.okoro, wish("a reviewer hangs none")).await, Code::PermissionDenied);
        refused(hang(&tove, wish("nor a stranger")).await, Code::NotFound);
        let once = v1::HangNoticeRequest { request_id: "n1".into(), most_takers: 1, ..wish("one") };
        let first = hang(&crew.maarit, once.clone()).await.unwrap();
        assert_eq!(first, hang(&crew.maarit, once.clone()).await.unwrap());
        let other = v1::HangNoticeRequest { worry: "another".into(), ..once };
        refused(hang(&crew.maarit, other).await, Code::InvalidArgument);
        for worry in ["two", "three", "four"] {
            hang(&crew.maarit, wish(worry)).await.unwrap();
        }
        let fifth = v1::HangNoticeRequest {
            frame_kind: " Berth  Platform".into(),
            vehicle: "Panel van".into(),
            skills: vec!["Timber".into()],
            ..wish("five")
        };
        hang(&crew.ines, fifth).await.unwrap();
        refused(hang(&crew.ines, wish("six")).await, Code::FailedPrecondition);
        let all = board(&tove, v1::ListNoticesRequest::default()).await.notices;
        let worries: Vec<_> = all.iter().map(|notice| notice.worry.as_str()).collect();
        assert_eq!(worries, ["one", "two", "three", "four", "five"], "oldest first");
        for wanted in [
            v1::ListNoticesRequest { frame_kind: "berth platform".into(), ..Default::default() },
            v1::ListNoticesRequest { vehicle: "PANEL VAN".into(), ..Default::default() },
            v1::ListNoticesRequest { skill: "timber".into(), ..Default::default() },
            v1::ListNoticesRequest { hung_from_time: all[4].hang_time, ..Default::default() },
        ] {
            let found = board(&tove, wanted).await.notices;
            assert_eq!(found.iter().map(|notice| notice.worry.as_str()).collect::<Vec<_>>(), ["five"]);
        }
        // A page that is read while things change: nothing twice, nothing skipped that was there all along.
        let page = board(&tove, v1::ListNoticesRequest { page_size: 2, ..Default::default() }).await;
        let down = v1::TakeDownNoticeRequest { notice_id: all[1].code.to_uppercase() };
        refused(tove.notices().take_down_notice(down.clone()).await, Code::PermissionDenied);
        crew.ines.notices().take_down_notice(down.clone()).await.unwrap();
        refused(crew.ines.notices().take_down_notice(down).await, Code::FailedPrecondition);
        let rest = v1::ListNoticesRequest { page_token: page.next_page_token.clone(), ..Default::default() };
        let rest = board(&tove, rest).await.notices;
        assert_eq!(rest.iter().map(|notice| notice.worry.as_str()).collect::<Vec<_>>(), ["three", "four", "five"]);
        let forged =
            v1::ListNoticesRequest { page_token: page.next_page_token, skill: "joinery".into(), ..Default::default() };
        refused(tove.notices().list_notices(forged).await, Code::InvalidArgument);
        // Taken down, it is not there for others; as many as it asks for, and no more.
        let get = v1::GetNoticeRequest { notice_id: all[1].id.clone() };
        refused(tove.notices().get_notice(get.clone()).await, Code::NotFound);
        crew.okoro.notices().get_notice(get).await.unwrap();
        refused(take_up(&crew.maarit, &first.id).await, Code::FailedPrecondition);
        take_up(&tove, &first.id).await.unwrap();
        take_up(&tove, &first.id).await.unwrap();
        refused(take_up(&crew.okoro, &first.id).await, Code::FailedPrecondition);
        refused(take_up(&tove, "zzzzzz").await, Code::NotFound);
    });
}

#[test]
fn visibility_opens_a_design_step_by_step() {
    on_both("visibility", async |bench: &mut Bench| {
        let (crew, tove) = shelf(bench).await;
        let visitor = bench.stranger();
        let show = |visibility: v1::Visibility| v1::UpdateDesignVisibilityRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            visibility: visibility.into(),
        };
        refused(
            crew.maarit.designs().update_design_visibility(show(v1::Visibility::Open)).await,
            Code::PermissionDenied,
        );
        refused(tove.designs().update_design_visibility(show(v1::Visibility::Open)).await, Code::NotFound);
        crew.ines.designs().update_design_visibility(show(v1::Visibility::Noticeboard)).await.unwrap();
        refused(body(&tove, "").await, Code::NotFound);
        hang(&crew.maarit, v1::HangNoticeRequest { letter: "B".into(), ..wish("look, please") }).await.unwrap();
        body(&tove, "B").await.unwrap();
        refused(body(&tove, "A").await, Code::NotFound);
        refused(body(&visitor, "B").await, Code::NotFound);
        refused(tove.remarks_on(GROUP, "shelf", "B1", "too thin").await, Code::PermissionDenied);
        crew.ines.designs().update_design_visibility(show(v1::Visibility::Open)).await.unwrap();
        body(&tove, "A").await.unwrap();
        body(&visitor, "A").await.unwrap();
        let shown = findings(&visitor, "B").await.unwrap().findings.unwrap();
        assert!(shown.weight.unwrap().axles.is_empty());
        refused(visitor.remarks_on(GROUP, "shelf", "B1", "too thin").await, Code::Unauthenticated);
        refused(body(&visitor.holding("no token"), "A").await, Code::Unauthenticated);
        crew.ines.designs().update_design_visibility(show(v1::Visibility::Group)).await.unwrap();
        refused(body(&visitor, "A").await, Code::NotFound);
        refused(body(&tove, "B").await, Code::NotFound);
    });
}

fn place(kind: v1::PlaceKind, tag: &str) -> v1::Place {
    v1::Place { kind: kind.into(), tag: tag.into(), at_mm: None }
}

fn look(places: Vec<v1::Place>, kind: v1::LookKind) -> v1::MarkLookedAtRequest {
    v1::MarkLookedAtRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        places,
        kind: kind.into(),
        ..Default::default()
    }
}

fn conclusion(disposition: v1::Disposition) -> v1::ConcludeReviewRequest {
    v1::ConcludeReviewRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        disposition: disposition.into(),
        ..Default::default()
    }
}

#[test]
fn a_review_tells_what_nobody_looked_at_and_who_concluded() {
    on_both("review", async |bench: &mut Bench| {
        let (crew, _) = shelf(bench).await;
        let member = || vec![place(v1::PlaceKind::Member, "B1")];
        for bad in [
            look(vec![], v1::LookKind::OwnSums),
            look(vec![place(v1::PlaceKind::Member, "B2")], v1::LookKind::OwnSums),
            look(vec![place(v1::PlaceKind::Whole, "")], v1::LookKind::OwnSums),
            look([member(), member()].concat(), v1::LookKind::OwnSums),
            look(member(), v1::LookKind::Unspecified),
            v1::MarkLookedAtRequest { own_sag_mm: Some(1.0), ..look(member(), v1::LookKind::LookedAtOnly) },
            v1::MarkLookedAtRequest { own_sag_mm: Some(f64::NAN), ..look(member(), v1::LookKind::OwnSums) },
        ] {
            refused(crew.okoro.reviews().mark_looked_at(bad).await, Code::InvalidArgument);
        }
        let once = v1::MarkLookedAtRequest {
            own_utilisation: Some(0.4),
            request_id: "l1".into(),
            ..look(member(), v1::LookKind::OwnSums)
        };
        for _ in 0..2 {
            let review = crew.okoro.reviews().mark_looked_at(once.clone()).await.unwrap().into_inner().review.unwrap();
            assert_eq!(review.looked_at.len(), 1);
            let looks = &review.looked_at[0].looks;
            assert_eq!((looks.len(), looks[0].own_utilisation), (1, Some(0.4)));
            assert!(looks[0].server_utilisation.is_some_and(|server| server > 0.0));
            let nobody: Vec<_> = review.nobody.iter().map(|item| item.place.clone().unwrap().tag).collect();
            assert_eq!(nobody, ["B1/left rib", "B1/right rib"]);
        }
        refused(
            crew.maarit.reviews().conclude_review(conclusion(v1::Disposition::CutIt)).await,
            Code::PermissionDenied,
        );
        let twice = v1::ConcludeReviewRequest {
            members: vec![v1::MemberDisposition { tag: "B9".into(), disposition: 1, note: String::new() }],
            ..conclusion(v1::Disposition::CutIt)
        };
        refused(crew.okoro.reviews().conclude_review(twice).await, Code::InvalidArgument);
        let first = v1::ConcludeReviewRequest {
            members: vec![v1::MemberDisposition { tag: "B1".into(), disposition: 4, note: "shakes".into() }],
            ..conclusion(v1::Disposition::ChangeAndSendAgain)
        };
        crew.okoro.reviews().conclude_review(first).await.unwrap();
        let then = crew.okoro.reviews().conclude_review(conclusion(v1::Disposition::CutIt)).await.unwrap();
        let conclusions = then.into_inner().review.unwrap().conclusions;
        let told: Vec<_> = conclusions.iter().map(|it| (it.disposition, it.superseded, it.members.len())).collect();
        assert_eq!(told, [(1, false, 0), (3, true, 1)]);
    });
}

#[test]
fn sums_of_ones_own_keep_every_figure_away_until_they_end() {
    on_both("own sums", async |bench: &mut Bench| {
        let (crew, _) = shelf(bench).await;
        let okoro = &crew.okoro;
        let names = || (GROUP.to_owned(), "shelf".to_owned());
        let (group, design) = names();
        okoro.reviews().begin_own_sums(v1::BeginOwnSumsRequest { group, design }).await.unwrap();
        let told = findings(okoro, "B").await.unwrap();
        assert!(told.figures_withheld && told.findings.is_none());
        let (group, design) = names();
        let page = v1::ListRevisionsRequest { group, design, ..Default::default() };
        let revisions = okoro.designs().list_revisions(page).await.unwrap().into_inner().revisions;
        let hidden = |it: &v1::Revision| {
            it.figures_withheld && it.verdict == 0 && it.total_mass_kg.is_none() && it.worst_utilisation.is_none()
        };
        assert!(revisions.len() == 2 && revisions.iter().all(hidden));
        let (group, design) = names();
        let compare = v1::CompareRevisionsRequest { group, design, from_letter: "A".into(), to_letter: "B".into() };
        let compared = okoro.designs().compare_revisions(compare).await.unwrap().into_inner().comparison.unwrap();
        assert!(compared.figures_withheld && compared.utilisations.is_empty() && compared.mass_after_kg.is_none());
        let list = v1::ListDesignsRequest { group: GROUP.into(), ..Default::default() };
        let listed = okoro.designs().list_designs(list).await.unwrap().into_inner();
        assert_eq!(listed.designs[0].latest_verdict, 0);
        let mut watched = okoro
            .findings()
            .watch_check(v1::WatchCheckRequest { group: GROUP.into(), design: "shelf".into(), letter: String::new() })
            .await
            .unwrap()
            .into_inner();
        assert!(watched.message().await.unwrap().unwrap().findings.is_none());
        // What is kept from him is not to be had by asking for a trial check of the same frame either.
        let text = body(okoro, "B").await.unwrap().text;
        let trial = v1::TryFrameRequest { text, ..Default::default() };
        refused(okoro.designs().try_frame(trial).await, Code::FailedPrecondition);
        assert!(findings(&crew.ines, "B").await.unwrap().findings.is_some(), "others see them");
        let (group, design) = names();
        let end = |reason: &str| v1::EndOwnSumsRequest {
            group: group.clone(),
            design: design.clone(),
            reason: reason.into(),
        };
        refused(okoro.reviews().end_own_sums(end("")).await, Code::InvalidArgument);
        let figure = v1::MarkLookedAtRequest {
            own_utilisation: Some(0.5),
            ..look(vec![place(v1::PlaceKind::Member, "B1")], v1::LookKind::OwnSums)
        };
        let review = okoro.reviews().mark_looked_at(figure).await.unwrap().into_inner().review.unwrap();
        assert_eq!(review.looked_at[0].looks[0].server_utilisation, None);
        let ended = okoro.reviews().end_own_sums(end("")).await.unwrap().into_inner().own_sums.unwrap();
        assert!(ended.figures_in);
        assert!(findings(okoro, "B").await.unwrap().findings.is_some());
        refused(okoro.reviews().end_own_sums(end("")).await, Code::FailedPrecondition);
    });
}

fn issue(letter: &str, override_reason: &str) -> v1::IssueForCuttingRequest {
    v1::IssueForCuttingRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        letter: letter.into(),
        override_reason: override_reason.into(),
        request_id: String::new(),
    }
}

fn in_the_way(status: &Status) -> Vec<String> {
    let details = tonic_types::StatusExt::get_error_details(status);
    details.precondition_failure().unwrap().violations.iter().map(|it| it.r#type.clone()).collect()
}

#[test]
fn a_revision_is_issued_for_cutting_when_nothing_stands_in_the_way() {
    on_both("issued for cutting", async |bench: &mut Bench| {
        let (crew, _) = shelf(bench).await;
        refused(crew.okoro.cutting().issue_for_cutting(issue("B", "")).await, Code::PermissionDenied);
        let snag = crew.okoro.remarks_on(GROUP, "shelf", "B1", "split at the end").await.unwrap();
        crew.okoro.reviews().conclude_review(conclusion(v1::Disposition::DoNotBuild)).await.unwrap();
        let status = refused(crew.maarit.cutting().issue_for_cutting(issue("B", "")).await, Code::FailedPrecondition);
        assert_eq!(in_the_way(&status), ["SNAG_OPEN", "DISPOSITION"]);
        let over = crew.maarit.cutting().issue_for_cutting(issue("B", "I want to")).await;
        refused(over, Code::PermissionDenied);
        let issued = crew.ines.cutting().issue_for_cutting(issue("B", "a trial piece")).await.unwrap().into_inner();
        let stamp = issued.stamp.unwrap();
        assert_eq!((stamp.override_reason.as_str(), stamp.overridden.len()), ("a trial piece", 2));
        let back = |reason: &str| v1::TakeBackCuttingStampRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            letter: "B".into(),
            reason: reason.into(),
        };
        refused(crew.maarit.cutting().take_back_cutting_stamp(back("no")).await, Code::PermissionDenied);
        crew.ines.cutting().take_back_cutting_stamp(back("the wrong one")).await.unwrap();
        refused(crew.ines.cutting().take_back_cutting_stamp(back("again")).await, Code::FailedPrecondition);
        crew.okoro.clears(&snag).await.unwrap();
        crew.okoro.reviews().conclude_review(conclusion(v1::Disposition::CutIt)).await.unwrap();
        let stamp = crew.maarit.cutting().issue_for_cutting(issue("B", "")).await.unwrap().into_inner().stamp.unwrap();
        assert!(stamp.override_reason.is_empty() && !stamp.superseded && !stamp.falls_short_now);
        let get = v1::GetRevisionRequest { group: GROUP.into(), design: "shelf".into(), letter: "B".into() };
        let revision = crew.okoro.designs().get_revision(get).await.unwrap().into_inner().revision.unwrap();
        assert_eq!(revision.stamp.unwrap().issued_by, "maarit");
    });
}

#[test]
fn a_concession_covers_one_finding_of_one_revision() {
    on_both("concession", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        // Far too long for its load: it falls short.
        let text = one_bearer("shelf", 4000.0).replace("-150", "-3000");
        crew.maarit.submits(GROUP, "shelf", &text, "").await.unwrap();
        let found = crew.ines.waits_for_findings(GROUP, "shelf", "A").await.unwrap();
        let short: Vec<_> =
            found.checks.iter().filter(|it| it.verdict == i32::from(v1::Verdict::FallsShort)).cloned().collect();
        assert!(!short.is_empty());
        let status = refused(crew.maarit.cutting().issue_for_cutting(issue("A", "")).await, Code::FailedPrecondition);
        assert_eq!(in_the_way(&status), vec!["FALLS_SHORT"; short.len()]);
        let grant = |check: &v1::Check| v1::GrantConcessionRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            letter: "A".into(),
            tag: check.tag.clone(),
            check_kind: check.kind,
            reason: "a shelf for hats".into(),
            request_id: String::new(),
        };
        refused(crew.maarit.cutting().grant_concession(grant(&short[0])).await, Code::PermissionDenied);
        let none = v1::GrantConcessionRequest { tag: "B7".into(), ..grant(&short[0]) };
        refused(crew.ines.cutting().grant_concession(none).await, Code::NotFound);
        for check in &short {
            let granted = crew.ines.cutting().grant_concession(grant(check)).await.unwrap().into_inner();
            let granted = granted.concession.unwrap();
            assert_eq!((granted.utilisation, granted.lapsed), (Some(check.utilisation), false));
        }
        crew.maarit.cutting().issue_for_cutting(issue("A", "")).await.unwrap();
        let record = v1::RecordAsBuiltRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            letter: "A".into(),
            masses: vec![v1::MeasuredMass { of: v1::MassOf::Frame.into(), mass_kg: 6.5, ..Default::default() }],
            ..Default::default()
        };
        let bad = v1::RecordAsBuiltRequest { masses: vec![], ..record.clone() };
        refused(crew.maarit.cutting().record_as_built(bad).await, Code::InvalidArgument);
        let built = crew.maarit.cutting().record_as_built(record).await.unwrap().into_inner().as_built.unwrap();
        let weight = found.weight.unwrap();
        assert_eq!(built.masses[0].computed_mass_kg, Some(weight.frame_kg + weight.fixings_kg));
    });
}

#[test]
fn a_measured_sag_stands_beside_what_its_mass_alone_does() {
    on_both("as built", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        crew.maarit.submits(GROUP, "shelf", &one_bearer("shelf", 2000.0), "").await.unwrap();
        let sag =
            v1::MeasuredSag { tag: "B1".into(), at_mm: 1000.0, load_kg: 40.0, sag_mm: 5.0, computed_sag_mm: None };
        let record = v1::RecordAsBuiltRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            letter: "A".into(),
            sags: vec![sag],
            ..Default::default()
        };
        let built = crew.maarit.cutting().record_as_built(record).await.unwrap().into_inner().as_built.unwrap();
        // A simply supported beam with a load amid it: P l³/(48 E I), and P l/(4 G A_s) for shear (A_s = 5/6 A); C24 by
        // EN 338:2016: E 11000, G 690 N/mm². Handbook formula.
        let (p, l, (b, h)) = (40.0 * 9.80665, 2000.0_f64, (45.0, 70.0_f64));
        let by_hand =
            p * l.powi(3) / (48.0 * 11_000.0 * b * h.powi(3) / 12.0) + p * l / (4.0 * 690.0 * b * h * 5.0 / 6.0);
        let computed = built.sags[0].computed_sag_mm.unwrap();
        assert!((computed / by_hand - 1.0).abs() < 1e-3, "{computed} and {by_hand}");
    });
}
