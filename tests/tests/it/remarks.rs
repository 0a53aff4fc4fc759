//! Remarks, from the first doubt to the last word.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, by_id, on_both, refused};
use tonic::{Code, Status};

const OPEN: i32 = v1::RemarkState::Open as i32;
const ANSWERED: i32 = v1::RemarkState::Answered as i32;
const CLEARED: i32 = v1::RemarkState::Cleared as i32;

async fn crew_with_a_shelf(bench: &mut Bench) -> Crew {
    let crew = bench.saltmarsh().await;
    crew.ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
    crew
}

fn request(kind: v1::PlaceKind, tag: &str, at_mm: Option<f64>) -> v1::CreateRemarkRequest {
    v1::CreateRemarkRequest {
        group: GROUP.into(),
        design: "shelf".into(),
        letter: String::new(),
        place: Some(v1::Place { kind: kind.into(), tag: tag.into(), at_mm }),
        kind: v1::RemarkKind::Question.into(),
        text: "is it stiff enough?".into(),
        request_id: String::new(),
        proof_load: None,
    }
}

async fn place(who: &Actor, request: v1::CreateRemarkRequest) -> Result<v1::Remark, Status> {
    Ok(who.remarks().create_remark(request).await?.into_inner().remark.unwrap())
}

#[test]
fn a_remark_is_answered_cleared_and_raised_again() {
    on_both("remarks life", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = crew_with_a_shelf(bench).await;
        let remark = okoro.remarks_on(GROUP, "shelf", "B1", "38 wide would do").await.unwrap();
        assert_eq!((remark.number, remark.state, remark.letter.as_str()), (1, OPEN, "A"));
        let answered = ines.answers(&remark, "45 is what the yard has").await.unwrap();
        assert_eq!(answered.state, ANSWERED);
        let cleared = okoro.clears(&remark).await.unwrap();
        assert_eq!(cleared.state, CLEARED);
        refused(ines.answers(&remark, "too late").await, Code::FailedPrecondition);
        refused(okoro.clears(&remark).await, Code::FailedPrecondition);
        let raised = ines.raises_again(&remark, "the yard has 38 now").await.unwrap();
        assert_eq!(raised.state, OPEN);
        refused(ines.raises_again(&remark, "it is open").await, Code::FailedPrecondition);
        let acts: Vec<(String, i32)> = raised.entries.iter().map(|entry| (entry.author.clone(), entry.act)).collect();
        let wanted =
            [("ines", v1::RemarkAct::Answer), ("okoro", v1::RemarkAct::Clear), ("ines", v1::RemarkAct::RaiseAgain)];
        assert_eq!(acts, wanted.map(|(author, act)| (author.to_owned(), i32::from(act))));
    });
}

#[test]
fn only_its_author_clears_a_remark() {
    on_both("remarks who clears", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = crew_with_a_shelf(bench).await;
        let remark = okoro.remarks_on(GROUP, "shelf", "B1", "too thin").await.unwrap();
        refused(maarit.clears(&remark).await, Code::PermissionDenied);
        refused(ines.clears(&remark).await, Code::PermissionDenied);
        okoro.clears(&remark).await.unwrap();
        let by_keeper = ines.remarks_on(GROUP, "shelf", "B1", "look here").await.unwrap();
        refused(okoro.clears(&by_keeper).await, Code::PermissionDenied);
    });
}

#[test]
fn a_remark_is_placed_on_what_is_there() {
    on_both("remarks places", async |bench: &mut Bench| {
        let Crew { okoro, .. } = crew_with_a_shelf(bench).await;
        use v1::PlaceKind::{Anchor, Deck, Joint, Member, Unspecified, Whole};
        for good in [
            request(Member, "B1", None),
            request(Member, "B1", Some(0.0)),
            request(Member, "B1", Some(800.0)),
            request(Anchor, "B1/left rib", None),
            request(Whole, "", None),
        ] {
            place(&okoro, good).await.unwrap();
        }
        for bad in [
            request(Member, "B2", None),
            request(Member, "", None),
            request(Member, "b1", None),
            request(Member, "B1", Some(801.0)),
            request(Member, "B1", Some(-1.0)),
            request(Member, "B1", Some(f64::NAN)),
            request(Joint, "B1", None),
            request(Deck, "D1", None),
            request(Anchor, "B1/roof", None),
            request(Whole, "B1", None),
            request(Unspecified, "B1", None),
            v1::CreateRemarkRequest { place: None, ..request(Member, "B1", None) },
            v1::CreateRemarkRequest { text: String::new(), ..request(Member, "B1", None) },
            v1::CreateRemarkRequest { text: "x".repeat(4001), ..request(Member, "B1", None) },
            v1::CreateRemarkRequest { text: "a\0b".into(), ..request(Member, "B1", None) },
            v1::CreateRemarkRequest { kind: 0, ..request(Member, "B1", None) },
            v1::CreateRemarkRequest { kind: 99, ..request(Member, "B1", None) },
        ] {
            refused(place(&okoro, bad).await, Code::InvalidArgument);
        }
    });
}

#[test]
fn a_mistyped_tag_offers_the_nearest() {
    on_both("remarks nearest", async |bench: &mut Bench| {
        let Crew { okoro, .. } = crew_with_a_shelf(bench).await;
        let status = refused(place(&okoro, request(v1::PlaceKind::Member, "B11", None)).await, Code::InvalidArgument);
        let details = tonic_types::StatusExt::get_error_details(&status);
        let said = format!("{} {:?}", status.message(), details.bad_request());
        assert!(said.contains("B1") && said.contains("B11"), "{said}");
    });
}

#[test]
fn remarks_on_what_never_was_are_not_found() {
    on_both("remarks never was", async |bench: &mut Bench| {
        let Crew { okoro, .. } = crew_with_a_shelf(bench).await;
        let member = || request(v1::PlaceKind::Member, "B1", None);
        refused(place(&okoro, v1::CreateRemarkRequest { letter: "B".into(), ..member() }).await, Code::NotFound);
        refused(place(&okoro, v1::CreateRemarkRequest { design: "settle".into(), ..member() }).await, Code::NotFound);
        refused(place(&okoro, v1::CreateRemarkRequest { group: "nobody".into(), ..member() }).await, Code::NotFound);
        let mut remark = okoro.remarks_on(GROUP, "shelf", "B1", "too thin").await.unwrap();
        remark.id = uuid::Uuid::now_v7().to_string();
        refused(okoro.answers(&remark, "yes").await, Code::NotFound);
        refused(okoro.clears(&remark).await, Code::NotFound);
        refused(okoro.raises_again(&remark, "yes").await, Code::NotFound);
        remark.id = "1".into();
        let status = okoro.answers(&remark, "yes").await.unwrap_err();
        assert!([Code::NotFound, Code::InvalidArgument].contains(&status.code()), "{status:?}");
        for number in [0, -1, 99, i64::MAX] {
            let number = v1::RemarkNumber { group: GROUP.into(), design: "shelf".into(), number };
            let reference = v1::RemarkReference { by: Some(v1::remark_reference::By::Number(number)) };
            let status =
                okoro.remarks().get_remark(v1::GetRemarkRequest { remark: Some(reference) }).await.unwrap_err();
            assert!([Code::NotFound, Code::InvalidArgument].contains(&status.code()), "{status:?}");
        }
        refused(okoro.remarks().get_remark(v1::GetRemarkRequest { remark: None }).await, Code::InvalidArgument);
    });
}

#[test]
fn a_remark_is_hidden_from_another_group() {
    on_both("remarks hidden", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = crew_with_a_shelf(bench).await;
        let remark = okoro.remarks_on(GROUP, "shelf", "B1", "too thin").await.unwrap();
        ines.founds("elsewhere").await.unwrap();
        let outsider = ines.lets_in("outsider", "elsewhere", v1::Right::Keeper).await.unwrap();
        let get = v1::GetRemarkRequest { remark: by_id(&remark) };
        refused(outsider.remarks().get_remark(get.clone()).await, Code::NotFound);
        refused(outsider.answers(&remark, "hello").await, Code::NotFound);
        refused(outsider.clears(&remark).await, Code::NotFound);
        assert_eq!(okoro.remarks().get_remark(get).await.unwrap().into_inner().remark.unwrap().state, OPEN);
    });
}

#[test]
fn repeats_add_nothing() {
    on_both("remarks request id", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = crew_with_a_shelf(bench).await;
        let once = v1::CreateRemarkRequest { request_id: "r1".into(), ..request(v1::PlaceKind::Member, "B1", None) };
        let first = place(&okoro, once.clone()).await.unwrap();
        assert_eq!(first, place(&okoro, once).await.unwrap());
        let answer = v1::AnswerRemarkRequest { remark: by_id(&first), text: "it is".into(), request_id: "r2".into() };
        ines.remarks().answer_remark(answer.clone()).await.unwrap();
        let again = ines.remarks().answer_remark(answer).await.unwrap().into_inner().remark.unwrap();
        assert_eq!(again.entries.len(), 1);
    });
}

#[test]
fn lists_are_by_letter_and_state_newest_first() {
    on_both("remarks lists", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = crew_with_a_shelf(bench).await;
        for number in 0..5 {
            okoro.remarks_on(GROUP, "shelf", "B1", &format!("doubt {number}")).await.unwrap();
        }
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 810.0), "A").await.unwrap();
        let late = okoro.remarks_on(GROUP, "shelf", "B1", "still").await.unwrap();
        assert_eq!((late.letter.as_str(), late.number), ("B", 6));
        ines.answers(&late, "yes").await.unwrap();
        let list = |letter: &str, states: Vec<i32>, page_size: i32, page_token: &str| v1::ListRemarksRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            letter: letter.into(),
            states,
            page_size,
            page_token: page_token.into(),
            ..Default::default()
        };
        let numbers = async |request| {
            let page = ines.remarks().list_remarks(request).await.unwrap().into_inner();
            (page.remarks.iter().map(|remark| remark.number).collect::<Vec<_>>(), page.next_page_token)
        };
        assert_eq!(numbers(list("", vec![], 0, "")).await.0, [6, 5, 4, 3, 2, 1]);
        assert_eq!(numbers(list("A", vec![], 0, "")).await.0, [5, 4, 3, 2, 1]);
        assert_eq!(numbers(list("", vec![ANSWERED], 0, "")).await.0, [6]);
        let (first, token) = numbers(list("", vec![OPEN], 2, "")).await;
        assert_eq!(first, [5, 4]);
        assert_eq!(numbers(list("", vec![OPEN], 9, &token)).await.0, [3, 2, 1]);
        let other_filter = ines.remarks().list_remarks(list("", vec![ANSWERED], 2, &token)).await;
        refused(other_filter, Code::InvalidArgument);
    });
}

#[test]
fn many_at_once_get_numbers_without_holes() {
    on_both("remarks race", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = crew_with_a_shelf(bench).await;
        let mut tasks = tokio::task::JoinSet::new();
        for number in 0..12 {
            let who = [&ines, &okoro, &maarit][number % 3].clone();
            tasks.spawn(async move { who.remarks_on(GROUP, "shelf", "B1", &format!("doubt {number}")).await });
        }
        let mut numbers: Vec<i64> = tasks.join_all().await.into_iter().map(|made| made.unwrap().number).collect();
        numbers.sort_unstable();
        assert_eq!(numbers, (1..=12).collect::<Vec<i64>>());
    });
}
