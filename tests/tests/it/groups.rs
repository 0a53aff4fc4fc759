//! Build groups, crew and invitations.

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, on_both, refused};
use tonic::Code;

fn get_group() -> v1::GetGroupRequest {
    v1::GetGroupRequest { group: GROUP.into() }
}

async fn accept(who: &Actor, code: &str) -> Result<v1::AcceptInvitationResponse, tonic::Status> {
    Ok(who.groups().accept_invitation(v1::AcceptInvitationRequest { code: code.into() }).await?.into_inner())
}

#[test]
fn a_group_does_not_exist_for_who_is_not_in_it() {
    on_both("groups hidden", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        okoro.groups().get_group(get_group()).await.unwrap();
        ines.founds("elsewhere").await.unwrap();
        let stranger_here = ines.lets_in("outsider", "elsewhere", v1::Right::Keeper).await.unwrap();
        let hidden = refused(stranger_here.groups().get_group(get_group()).await, Code::NotFound);
        let request = v1::GetGroupRequest { group: "no-such-group".into() };
        let missing = refused(stranger_here.groups().get_group(request).await, Code::NotFound);
        assert_eq!(
            hidden.message().replace(GROUP, "X"),
            missing.message().replace("no-such-group", "X"),
            "the answer tells which groups exist"
        );
        let crew = v1::ListCrewRequest { group: GROUP.into(), page_size: 0, page_token: String::new() };
        refused(stranger_here.groups().list_crew(crew).await, Code::NotFound);
        refused(stranger_here.invites(GROUP, v1::Right::Keeper).await, Code::NotFound);
        let list = v1::ListGroupsRequest { page_size: 0, page_token: String::new() };
        let mine = stranger_here.groups().list_groups(list).await.unwrap().into_inner();
        assert_eq!(mine.groups.iter().map(|group| group.name.as_str()).collect::<Vec<_>>(), ["elsewhere"]);
    });
}

/// Who may do what, written by hand: the table in the server's code is held against this one.
#[test]
fn each_right_allows_what_it_should_and_no_more() {
    on_both("groups rights", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        ines.founds(GROUP).await.unwrap();
        ines.submits(GROUP, "shelf", &one_bearer("shelf", 800.0), "").await.unwrap();
        let remark = ines.remarks_on(GROUP, "shelf", "B1", "which way does the grain run?").await.unwrap();
        let rights = [
            (v1::Right::Onlooker, [true, false, false, false]),
            (v1::Right::Reviewer, [true, true, false, false]),
            (v1::Right::Builder, [true, true, true, false]),
            (v1::Right::Keeper, [true, true, true, true]),
        ];
        for (index, (right, may)) in rights.into_iter().enumerate() {
            let who = ines.lets_in(&format!("crew-{index}"), GROUP, right).await.unwrap();
            let reads = who.groups().get_group(get_group()).await.map(|_| ());
            let remarks = who.remarks_on(GROUP, "shelf", "B1", "looks thin to me").await.map(|_| ());
            let answers = who.answers(&remark, "along it").await.map(|_| ());
            let design = format!("shelf-{index}");
            let submits = who.submits(GROUP, &design, &one_bearer(&design, 700.0), "").await.map(|_| ());
            let invites = who.invites(GROUP, v1::Right::Onlooker).await.map(|_| ());
            for (what, result, may) in [
                ("reads", reads, may[0]),
                ("remarks", remarks, may[1]),
                ("answers", answers, may[1]),
                ("submits", submits, may[2]),
                ("invites", invites, may[3]),
            ] {
                let code = result.map_or_else(|status| status.code(), |()| Code::Ok);
                let expected = if may { Code::Ok } else { Code::PermissionDenied };
                assert_eq!(code, expected, "{right:?} {what}");
            }
        }
    });
}

#[test]
fn an_invitation_lets_one_account_in_once() {
    on_both("groups invitation", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        ines.founds(GROUP).await.unwrap();
        ines.founds("elsewhere").await.unwrap();
        let okoro = ines.lets_in("okoro", "elsewhere", v1::Right::Reviewer).await.unwrap();
        let maarit = ines.lets_in("maarit", "elsewhere", v1::Right::Reviewer).await.unwrap();
        let code = ines.invites(GROUP, v1::Right::Builder).await.unwrap();
        assert!(code.len() >= 16, "a code of {} letters can be guessed", code.len());
        // Who is in already keeps his right and leaves the code unused.
        accept(&ines, &code).await.unwrap();
        assert_eq!(accept(&okoro, &code).await.unwrap().group.unwrap().my_right, i32::from(v1::Right::Builder));
        let used = refused(accept(&maarit, &code).await, Code::NotFound);
        let unknown = refused(accept(&maarit, "AAAA-BBBB-CCCC-DDDD").await, Code::NotFound);
        let blotted = |status: &tonic::Status, code: &str| status.message().replace(code, "CODE");
        let (used, unknown) = (blotted(&used, &code), blotted(&unknown, "AAAA-BBBB-CCCC-DDDD"));
        assert_eq!(used, unknown, "the answer tells which codes existed");
        let mine = ines.groups().get_group(get_group()).await.unwrap().into_inner().group.unwrap();
        assert_eq!(mine.my_right, i32::from(v1::Right::Keeper));
    });
}

#[test]
fn a_group_never_loses_its_last_keeper() {
    on_both("groups last keeper", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let right = |account: &str, right: v1::Right| v1::UpdateCrewRightRequest {
            group: GROUP.into(),
            account: account.into(),
            right: right.into(),
        };
        let leave = |account: &str| v1::RemoveCrewRequest { group: GROUP.into(), account: account.into() };
        let only = ines.groups().update_crew_right(right("ines", v1::Right::Builder)).await;
        refused(only, Code::FailedPrecondition);
        refused(ines.groups().remove_crew(leave("ines")).await, Code::FailedPrecondition);
        refused(okoro.groups().update_crew_right(right("okoro", v1::Right::Keeper)).await, Code::PermissionDenied);
        refused(ines.groups().update_crew_right(right("nobody", v1::Right::Keeper)).await, Code::NotFound);
        refused(ines.groups().update_crew_right(right("okoro", v1::Right::Unspecified)).await, Code::InvalidArgument);
        ines.groups().update_crew_right(right("okoro", v1::Right::Keeper)).await.unwrap();
        ines.groups().remove_crew(leave("ines")).await.unwrap();
        bench.until_cache_is_stale().await;
        refused(ines.groups().get_group(get_group()).await, Code::NotFound);
        okoro.groups().get_group(get_group()).await.unwrap();
    });
}

#[test]
fn names_are_unique_and_requests_are_recognised_again() {
    on_both("groups names", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let request = v1::CreateGroupRequest {
            name: GROUP.into(),
            title: "Saltmarsh Wheels".into(),
            request_id: "founding".into(),
        };
        let first = ines.groups().create_group(request.clone()).await.unwrap().into_inner();
        assert_eq!(first, ines.groups().create_group(request).await.unwrap().into_inner());
        refused(ines.founds(GROUP).await, Code::AlreadyExists);
        for name in ["", "Saltmarsh", "salt marsh", "-salt", &"s".repeat(41)] {
            refused(ines.founds(name).await, Code::InvalidArgument);
        }
    });
}

#[test]
fn pages_end_and_forged_page_tokens_are_refused() {
    on_both("groups pages", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let mut names: Vec<String> = (0..7).map(|number| format!("group-{number}")).collect();
        for name in names.iter().rev() {
            ines.founds(name).await.unwrap();
        }
        let mut seen = Vec::new();
        let mut token = String::new();
        loop {
            let request = v1::ListGroupsRequest { page_size: 3, page_token: token };
            let page = ines.groups().list_groups(request).await.unwrap().into_inner();
            assert!(page.groups.len() <= 3);
            seen.extend(page.groups.into_iter().map(|group| group.name));
            token = page.next_page_token;
            if token.is_empty() {
                break;
            }
            let of_another_list = v1::ListSessionsRequest { page_size: 3, page_token: token.clone() };
            refused(ines.accounts().list_sessions(of_another_list).await, Code::InvalidArgument);
        }
        names.sort();
        assert_eq!(seen, names, "each group once, by name");
        for forged in ["x", "AAAA", "group-3", "\u{1f6a7}", &"A".repeat(3000)] {
            let request = v1::ListGroupsRequest { page_size: 3, page_token: forged.into() };
            refused(ines.groups().list_groups(request).await, Code::InvalidArgument);
        }
        let negative = v1::ListGroupsRequest { page_size: -1, page_token: String::new() };
        refused(ines.groups().list_groups(negative).await, Code::InvalidArgument);
        let most = v1::ListGroupsRequest { page_size: i32::MAX, page_token: String::new() };
        assert_eq!(ines.groups().list_groups(most).await.unwrap().into_inner().groups.len(), 7);
    });
}
