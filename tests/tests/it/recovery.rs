//! Recovery codes: shown once, each good once, and no way to learn which names exist.

use battenboard_proto::v1;
use battenboard_tests::harness::{Actor, Bench, DatabaseKind, on_both, refused};
use std::collections::BTreeSet;
use std::time::{Duration, Instant};
use tonic::{Code, Status};

const NEW: &str = "a new roof of cedar";

/// Makes the first account; gives it with its recovery codes.
async fn with_codes(bench: &Bench, name: &str) -> (Actor, Vec<String>) {
    let ines = bench.first_account(name).await;
    let request = v1::RenewRecoveryCodesRequest { password: ines.password.clone() };
    let codes = ines.accounts().renew_recovery_codes(request).await.unwrap().into_inner().recovery_codes;
    (ines, codes)
}

async fn recover(stranger: &Actor, name: &str, code: &str, new: &str) -> Result<v1::RecoverAccountResponse, Status> {
    let request = v1::RecoverAccountRequest { name: name.into(), code: code.into(), new_password: new.into() };
    Ok(stranger.accounts().recover_account(request).await?.into_inner())
}

async fn sign_in(stranger: &Actor, name: &str, password: &str) -> Result<(), Status> {
    let request = v1::SignInRequest { name: name.into(), password: password.into() };
    stranger.accounts().sign_in(request).await.map(|_| ())
}

async fn left(actor: &Actor) -> i32 {
    actor.accounts().get_account(v1::GetAccountRequest {}).await.unwrap().into_inner().recovery_codes_count
}

#[test]
fn ten_codes_are_shown_when_an_account_is_made_and_only_their_hashes_are_kept() {
    on_both("recovery at making", async |bench: &mut Bench| {
        let request = v1::CreateAccountRequest {
            name: "ines".into(),
            password: "seven planks of larch".into(),
            entitlement: None,
            request_id: "the first try".into(),
        };
        let stranger = bench.stranger();
        let made = stranger.accounts().create_account(request.clone()).await.unwrap().into_inner();
        let codes: BTreeSet<String> = made.recovery_codes.iter().cloned().collect();
        assert_eq!((codes.len(), made.recovery_codes.len()), (10, 10));
        // Who lost the answer asks again, and gets codes that are good in place of those nobody saw.
        let again = stranger.accounts().create_account(request).await.unwrap().into_inner();
        assert!(again.recovery_codes.len() == 10 && again.recovery_codes.iter().all(|code| !codes.contains(code)));
        refused(recover(&stranger, "ines", &made.recovery_codes[0], NEW).await, Code::Unauthenticated);
        recover(&stranger, "ines", &again.recovery_codes[0], NEW).await.unwrap();
        if bench.kind() == DatabaseKind::Sqlite {
            for file in std::fs::read_dir(bench.database().folder()).unwrap() {
                let path = file.unwrap().path();
                let Ok(bytes) = std::fs::read(&path) else { continue };
                for code in codes.iter().chain(&again.recovery_codes) {
                    for text in [code.clone(), code.replace('-', "")] {
                        let held = bytes.windows(text.len()).any(|window| window == text.as_bytes());
                        assert!(!held, "{} holds a code", path.display());
                    }
                }
            }
        }
    });
}

#[test]
fn a_code_sets_a_new_password_once_and_ends_all_sessions() {
    on_both("recovery once", async |bench: &mut Bench| {
        let (ines, codes) = with_codes(bench, "ines").await;
        let other = ines.signs_in().await.unwrap();
        assert_eq!(left(&ines).await, 10);
        let stranger = bench.stranger();
        // As copied from paper: in capitals, with spaces.
        let typed = codes[3].to_uppercase().replace('-', " ");
        let back = recover(&stranger, "ines", &typed, NEW).await.unwrap();
        assert_eq!(back.recovery_codes_count, 9);
        let fresh = ines.holding(&back.tokens.unwrap().access_token);
        assert_eq!(left(&fresh).await, 9);
        bench.until_cache_is_stale().await;
        for ended in [&ines, &other] {
            refused(ended.accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
            let token = ended.tokens.as_ref().unwrap().refresh_token.clone();
            let refresh = v1::RefreshSessionRequest { refresh_token: token };
            refused(stranger.accounts().refresh_session(refresh).await, Code::Unauthenticated);
        }
        refused(sign_in(&stranger, "ines", &ines.password).await, Code::Unauthenticated);
        sign_in(&stranger, "ines", NEW).await.unwrap();
        refused(recover(&stranger, "ines", &codes[3], "a floor of ash boards").await, Code::Unauthenticated);
        sign_in(&stranger, "ines", NEW).await.unwrap();
        recover(&stranger, "ines", &codes[4], "a floor of ash boards").await.unwrap();
    });
}

#[test]
fn of_two_who_use_the_same_code_at_once_one_gets_in() {
    on_both("recovery race", async |bench: &mut Bench| {
        let (_, codes) = with_codes(bench, "ines").await;
        let stranger = bench.stranger();
        let tries = (0..4).map(|n| {
            let (stranger, code) = (stranger.clone(), codes[0].clone());
            tokio::spawn(async move { recover(&stranger, "ines", &code, &format!("{NEW}, number {n}")).await })
        });
        let mut good = 0;
        for done in tries.collect::<Vec<_>>() {
            match done.await.unwrap() {
                Ok(_) => good += 1,
                Err(status) => assert_eq!(status.code(), Code::Unauthenticated, "{}", status.message()),
            }
        }
        assert_eq!(good, 1);
    });
}

#[test]
fn an_unknown_name_and_a_wrong_code_get_the_same_answer_after_the_same_time() {
    on_both("recovery answers", async |bench: &mut Bench| {
        let (ines, codes) = with_codes(bench, "ines").await;
        ines.founds("saltmarsh-wheels").await.unwrap();
        ines.lets_in("okoro", "saltmarsh-wheels", v1::Right::Reviewer).await.unwrap();
        let stranger = bench.stranger();
        // The least of five: what else the machine does only adds.
        let ask = async |name: &str, code: &str| {
            let mut least = Duration::MAX;
            let mut said = String::new();
            for _ in 0..5 {
                let begun = Instant::now();
                let status = refused(recover(&stranger, name, code, NEW).await, Code::Unauthenticated);
                least = least.min(begun.elapsed());
                said = status.message().to_owned();
            }
            (least, said)
        };
        let wrong = "aaaaa-aaaaa-aaaaa-aaaaa";
        let answers = [ask("ines", wrong).await, ask("nobody", wrong).await, ask("okoro", &codes[0]).await];
        for (time, said) in &answers {
            assert_eq!(*said, answers[0].1, "the answer tells which names exist");
            let ratio = time.as_secs_f64() / answers[0].0.as_secs_f64();
            assert!((0.34..3.0).contains(&ratio), "the time tells which names exist: {answers:?}");
        }
        // A bad new password is told before any name is looked at.
        for name in ["ines", "nobody"] {
            refused(recover(&stranger, name, wrong, "short").await, Code::InvalidArgument);
        }
        for (name, code) in [("ines\0", wrong), ("", wrong), ("nobody-else", ""), ("no-one", &"x".repeat(5000))] {
            let status = refused(recover(&stranger, name, code, NEW).await, Code::Unauthenticated);
            assert_eq!(status.message(), answers[0].1);
        }
    });
}

#[test]
fn guessing_at_codes_is_slowed_together_with_guessing_at_passwords() {
    on_both("recovery slowed", async |bench: &mut Bench| {
        let (_, codes) = with_codes(bench, "ines").await;
        let stranger = bench.stranger();
        let mut slowed = None;
        for _ in 0..40 {
            let status = recover(&stranger, "ines", "aaaaa-aaaaa-aaaaa-aaaaa", NEW).await.unwrap_err();
            if status.code() == Code::ResourceExhausted {
                slowed = Some(status);
                break;
            }
            assert_eq!(status.code(), Code::Unauthenticated, "{}", status.message());
        }
        let status = slowed.expect("forty wrong codes in a row were all tried");
        let details = tonic_types::StatusExt::get_error_details(&status);
        let wait = details.retry_info().and_then(|retry| retry.retry_delay).expect("RetryInfo says how long to wait");
        assert!(wait <= Duration::from_secs(60), "{wait:?} is a lock, not a delay");
        refused(sign_in(&stranger, "ines", "the tide was out at ten").await, Code::ResourceExhausted);
        tokio::time::sleep(wait + Duration::from_millis(200)).await;
        recover(&stranger, "ines", &codes[0], NEW).await.unwrap();
    });
}

#[test]
fn codes_are_renewed_with_the_password_and_the_former_are_good_no_more() {
    on_both("recovery renewed", async |bench: &mut Bench| {
        let (ines, codes) = with_codes(bench, "ines").await;
        let renew = |password: &str| v1::RenewRecoveryCodesRequest { password: password.into() };
        let wrong = ines.accounts().renew_recovery_codes(renew("the tide was out at ten")).await;
        refused(wrong, Code::Unauthenticated);
        let fresh = ines.accounts().renew_recovery_codes(renew(&ines.password)).await.unwrap().into_inner();
        assert_eq!((fresh.recovery_codes.len(), left(&ines).await), (10, 10));
        let stranger = bench.stranger();
        refused(recover(&stranger, "ines", &codes[0], NEW).await, Code::Unauthenticated);
        recover(&stranger, "ines", &fresh.recovery_codes[9], NEW).await.unwrap();
    });
}
