//! Accounts and sessions.

use battenboard_proto::v1;
use battenboard_tests::harness::{Actor, Bench, on_both, refused};
use std::time::{Duration, Instant};
use tonic::{Code, Status};

async fn account_with(stranger: &Actor, name: &str, password: &str) -> Result<v1::CreateAccountResponse, Status> {
    let request = v1::CreateAccountRequest {
        name: name.into(),
        password: password.into(),
        entitlement: None,
        request_id: String::new(),
    };
    Ok(stranger.accounts().create_account(request).await?.into_inner())
}

async fn sign_in(stranger: &Actor, name: &str, password: &str) -> Result<v1::Tokens, Status> {
    let request = v1::SignInRequest { name: name.into(), password: password.into() };
    let tokens = stranger.accounts().sign_in(request).await?.into_inner().tokens;
    Ok(tokens.expect("a session without tokens"))
}

async fn refresh(stranger: &Actor, tokens: &v1::Tokens) -> Result<v1::Tokens, Status> {
    let request = v1::RefreshSessionRequest { refresh_token: tokens.refresh_token.clone() };
    let tokens = stranger.accounts().refresh_session(request).await?.into_inner().tokens;
    Ok(tokens.expect("a session without tokens"))
}

#[test]
fn the_first_account_on_a_fresh_server_needs_no_code_and_the_second_does() {
    on_both("accounts first", async |bench: &mut Bench| {
        let ines = bench.stranger().makes_account("ines", None).await.unwrap();
        let mine = ines.accounts().get_account(v1::GetAccountRequest {}).await.unwrap().into_inner();
        assert_eq!(mine.account.unwrap().name, "ines");
        refused(bench.stranger().makes_account("okoro", None).await, Code::PermissionDenied);
        refused(bench.stranger().makes_account("okoro", Some("no such code")).await, Code::PermissionDenied);
    });
}

#[test]
fn short_long_and_common_passwords_are_refused() {
    on_both("accounts passwords", async |bench: &mut Bench| {
        let stranger = bench.stranger();
        for password in ["", "short", "elevenchars", "password1234", "123456789012", "qwertyuiop12"] {
            let status = refused(account_with(&stranger, "ines", password).await, Code::InvalidArgument);
            assert!(
                password.len() < 8 || !status.message().contains(password),
                "a refusal repeats the password: {}",
                status.message()
            );
        }
        refused(account_with(&stranger, "ines", &"x".repeat(129)).await, Code::InvalidArgument);
        account_with(&stranger, "ines", &"long enough ".repeat(10)).await.unwrap();
    });
}

#[test]
fn names_are_short_and_plain() {
    on_both("accounts names", async |bench: &mut Bench| {
        let stranger = bench.stranger();
        for name in ["", "x", "Ines", "ines maria", "1ines", "in\u{e9}s", "ines\0", &"n".repeat(41)] {
            refused(account_with(&stranger, name, "seven planks of larch").await, Code::InvalidArgument);
        }
    });
}

#[test]
fn a_wrong_password_and_an_unknown_name_get_the_same_answer() {
    on_both("accounts sign in", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let stranger = bench.stranger();
        let wrong = refused(sign_in(&stranger, "ines", "the tide was out at ten").await, Code::Unauthenticated);
        let unknown = refused(sign_in(&stranger, "nobody", "the tide was out at ten").await, Code::Unauthenticated);
        assert_eq!(wrong.message(), unknown.message(), "the answer tells which names exist");
        // The least of four: what else the machine does only adds.
        let least = async |name: &str| {
            let mut least = Duration::MAX;
            for _ in 0..4 {
                let begun = Instant::now();
                refused(sign_in(&stranger, name, "the tide was out at ten").await, Code::Unauthenticated);
                least = least.min(begun.elapsed());
            }
            least.as_secs_f64()
        };
        let (wrong, unknown) = (least("ines").await, least("nobody").await);
        assert!((0.34..3.0).contains(&(unknown / wrong)), "the time tells which names exist: {wrong} s, {unknown} s");
        sign_in(&stranger, "ines", &ines.password).await.unwrap();
    });
}

#[test]
fn many_wrong_tries_are_slowed_and_the_owner_is_not_locked_out_for_good() {
    on_both("accounts slowed", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let stranger = bench.stranger();
        let mut slowed = None;
        for _ in 0..40 {
            let status = sign_in(&stranger, "ines", "the tide was out at ten").await.unwrap_err();
            if status.code() == Code::ResourceExhausted {
                slowed = Some(status);
                break;
            }
            assert_eq!(status.code(), Code::Unauthenticated, "{}", status.message());
        }
        let status = slowed.expect("forty wrong passwords in a row were all tried");
        let details = tonic_types::StatusExt::get_error_details(&status);
        let wait = details.retry_info().and_then(|retry| retry.retry_delay).expect("RetryInfo says how long to wait");
        assert!(wait.as_secs() <= 60, "{wait:?} is a lock, not a delay");
        // Open sessions go on.
        ines.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
    });
}

#[test]
fn a_refresh_token_is_used_once_and_its_theft_ends_the_session() {
    on_both("accounts refresh", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let stranger = bench.stranger();
        let first = ines.tokens.clone().unwrap();
        let second = refresh(&stranger, &first).await.unwrap();
        assert_ne!(first.refresh_token, second.refresh_token);
        // A lost reply: the former one is taken once more, within 30 seconds.
        let sibling = refresh(&stranger, &first).await.unwrap();
        let third = refresh(&stranger, &second).await.unwrap();
        refresh(&stranger, &third).await.unwrap();
        // Now the very first again: somebody has a copy. The whole family ends.
        refused(refresh(&stranger, &first).await, Code::Unauthenticated);
        refused(refresh(&stranger, &sibling).await, Code::Unauthenticated);
        refused(refresh(&stranger, &third).await, Code::Unauthenticated);
    });
}

#[test]
fn signing_out_ends_the_token_within_two_seconds() {
    on_both("accounts sign out", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let other = ines.signs_in().await.unwrap();
        ines.accounts().sign_out(v1::SignOutRequest {}).await.unwrap();
        bench.until_cache_is_stale().await;
        refused(ines.accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
        refused(refresh(&bench.stranger(), ines.tokens.as_ref().unwrap()).await, Code::Unauthenticated);
        other.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
    });
}

#[test]
fn sessions_are_listed_and_ended_singly() {
    on_both("accounts sessions", async |bench: &mut Bench| {
        let here = bench.first_account("ines").await;
        let there = here.signs_in().await.unwrap();
        let list = v1::ListSessionsRequest { page_size: 1, page_token: String::new() };
        let page = here.accounts().list_sessions(list).await.unwrap().into_inner();
        assert_eq!(page.sessions.len(), 1);
        assert!(!page.next_page_token.is_empty(), "two sessions do not fit a page of one");
        let rest = v1::ListSessionsRequest { page_size: 0, page_token: page.next_page_token };
        let rest = here.accounts().list_sessions(rest).await.unwrap().into_inner();
        let other = page.sessions.iter().chain(&rest.sessions).find(|session| !session.current).unwrap().clone();
        let end = v1::EndSessionRequest { session_id: other.session_id };
        here.accounts().end_session(end.clone()).await.unwrap();
        refused(here.accounts().end_session(end).await, Code::NotFound);
        bench.until_cache_is_stale().await;
        refused(there.accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
        here.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
    });
}

#[test]
fn a_changed_password_ends_every_other_session() {
    on_both("accounts change password", async |bench: &mut Bench| {
        let here = bench.first_account("ines").await;
        let there = here.signs_in().await.unwrap();
        let change =
            |old: &str, new: &str| v1::ChangePasswordRequest { old_password: old.into(), new_password: new.into() };
        refused(
            here.accounts().change_password(change("not the one I had", "a new roof of cedar")).await,
            Code::Unauthenticated,
        );
        refused(here.accounts().change_password(change(&here.password, "short")).await, Code::InvalidArgument);
        let changed = here.accounts().change_password(change(&here.password, "a new roof of cedar")).await.unwrap();
        bench.until_cache_is_stale().await;
        refused(there.accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
        refused(here.accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
        let fresh = here.holding(&changed.into_inner().tokens.unwrap().access_token);
        fresh.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
        refused(sign_in(&bench.stranger(), "ines", &here.password).await, Code::Unauthenticated);
        sign_in(&bench.stranger(), "ines", "a new roof of cedar").await.unwrap();
    });
}

#[test]
fn a_repeated_request_makes_no_second_account() {
    on_both("accounts request id", async |bench: &mut Bench| {
        let stranger = bench.stranger();
        let request = v1::CreateAccountRequest {
            name: "ines".into(),
            password: "seven planks of larch".into(),
            entitlement: None,
            request_id: "the first try".into(),
        };
        let first = stranger.accounts().create_account(request.clone()).await.unwrap().into_inner();
        let again = stranger.accounts().create_account(request.clone()).await.unwrap().into_inner();
        assert_eq!(first.account, again.account);
        // The same id in another's hands, without the password, opens nothing.
        let guess = v1::CreateAccountRequest { password: "the tide was out at ten".into(), ..request };
        let status = stranger.accounts().create_account(guess).await.unwrap_err();
        assert!(
            [Code::AlreadyExists, Code::PermissionDenied, Code::Unauthenticated, Code::InvalidArgument]
                .contains(&status.code()),
            "{status:?}"
        );
    });
}
