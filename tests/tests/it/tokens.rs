//! Access tokens that are not what they should be: forged, unsigned, for somebody else, for another server, spoilt.

use battenboard_proto::v1;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, base64url, claims_of, on_both, on_postgres, refused};
use std::time::{Duration, Instant};
use tonic::{Code, Status};

#[test]
fn a_token_signed_with_another_key_is_refused() {
    on_both("tokens forged", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let token = ines.access_token();
        let mut header = jsonwebtoken::decode_header(&token).unwrap();
        let key = jsonwebtoken::EncodingKey::from_secret(&[7; 64]);
        for algorithm in
            [jsonwebtoken::Algorithm::HS256, jsonwebtoken::Algorithm::HS384, jsonwebtoken::Algorithm::HS512]
        {
            header.alg = algorithm;
            let forged = jsonwebtoken::encode(&header, &claims_of(&token), &key).unwrap();
            refused(
                ines.holding(&forged).accounts().get_account(v1::GetAccountRequest {}).await,
                Code::Unauthenticated,
            );
        }
    });
}

#[test]
fn a_token_without_a_signature_is_refused() {
    on_both("tokens alg none", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let token = ines.access_token();
        let body = token.split('.').nth(1).unwrap();
        for algorithm in ["none", "None", "NONE", "nOnE", ""] {
            let header = base64url(format!(r#"{{"typ":"JWT","alg":"{algorithm}"}}"#).as_bytes());
            for forged in [format!("{header}.{body}."), format!("{header}.{body}"), format!("{header}.{body}.AAAA")] {
                refused(
                    ines.holding(&forged).accounts().get_account(v1::GetAccountRequest {}).await,
                    Code::Unauthenticated,
                );
            }
        }
    });
}

#[test]
fn a_changed_claim_spoils_the_signature() {
    on_both("tokens changed claim", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let token = ines.access_token();
        let parts: Vec<&str> = token.split('.').collect();
        let mut claims = claims_of(&token);
        claims["exp"] = serde_json::json!(4_102_444_800_u64);
        let body = base64url(claims.to_string().as_bytes());
        let forged = format!("{}.{body}.{}", parts[0], parts[2]);
        refused(ines.holding(&forged).accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
    });
}

#[test]
fn a_token_signed_with_the_right_key_for_another_audience_or_past_its_time_is_refused() {
    on_both("tokens audience and time", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        let token = ines.access_token();
        let header = jsonwebtoken::decode_header(&token).unwrap();
        let secret = bench.signing_key(header.kid.as_deref().unwrap());
        let key = jsonwebtoken::EncodingKey::from_secret(&secret);
        let sign = |claims: &serde_json::Value| jsonwebtoken::encode(&header, claims, &key).unwrap();
        // The way in accepts what is signed as the server itself would: the refusals below are for their own reason.
        let same = ines.holding(&sign(&claims_of(&token)));
        same.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
        let spoilt = [
            ("aud", serde_json::json!("another server")),
            ("aud", serde_json::Value::Null),
            ("iss", serde_json::json!("somebody else")),
            ("exp", serde_json::json!(1_000_000_000_u64)),
        ];
        for (claim, value) in spoilt {
            let mut claims = claims_of(&token);
            if value.is_null() {
                claims.as_object_mut().unwrap().remove(claim);
            } else {
                claims[claim] = value;
            }
            let status = refused(
                ines.holding(&sign(&claims)).accounts().get_account(v1::GetAccountRequest {}).await,
                Code::Unauthenticated,
            );
            assert!(!status.message().contains("JWT") && !status.message().contains("aud"), "{}", status.message());
        }
    });
}

#[test]
fn odd_headers_are_refused_and_harm_nothing() {
    on_both("tokens odd", async |bench: &mut Bench| {
        let ines = bench.first_account("ines").await;
        for odd in
            ["", ".", "..", "a.b.c", "Bearer Bearer", &"x".repeat(6000), &ines.tokens.as_ref().unwrap().refresh_token]
        {
            refused(ines.holding(odd).accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
        }
        refused(bench.stranger().accounts().get_account(v1::GetAccountRequest {}).await, Code::Unauthenticated);
        ines.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
    });
}

#[test]
fn every_method_but_the_open_ones_asks_for_a_token() {
    on_both("tokens every method", async |bench: &mut Bench| {
        let open = ["CreateAccount", "SignIn", "RecoverAccount", "RefreshSession", "GetServerInfo"];
        // What is open to all is read without a token; the rest does not exist for a stranger.
        let read = [
            "GetDesign",
            "ListRevisions",
            "GetRevision",
            "GetRevisionBody",
            "CompareRevisions",
            "GetFindings",
            "GetRemark",
            "ListRemarks",
            "GetReview",
            "ListProofResults",
        ];
        let methods = bench.methods();
        assert!(methods.len() > 25, "{methods:?}");
        for (service, method) in methods {
            let code = bench.call_empty(&service, &method).await.map_or_else(|status| status.code(), |()| Code::Ok);
            if open.contains(&method.as_str()) {
                assert!(![Code::Internal, Code::Unknown].contains(&code), "{service}/{method}: {code:?}");
            } else if read.contains(&method.as_str()) {
                assert!([Code::NotFound, Code::InvalidArgument].contains(&code), "{service}/{method}: {code:?}");
            } else {
                assert_eq!(code, Code::Unauthenticated, "{service}/{method}");
            }
        }
    });
}

/// Tokens of every bad kind, each but for one thing like a good one.
async fn bad_tokens(bench: &Bench, good: &Actor) -> Vec<(&'static str, String)> {
    let token = good.access_token();
    let (header, claims) = (jsonwebtoken::decode_header(&token).unwrap(), claims_of(&token));
    let secret = bench.signing_key(header.kid.as_deref().unwrap());
    let sign = |header: &jsonwebtoken::Header, claims: &serde_json::Value, secret: &[u8]| {
        jsonwebtoken::encode(header, claims, &jsonwebtoken::EncodingKey::from_secret(secret)).unwrap()
    };
    let with = |claim: &str, value: serde_json::Value| {
        let mut claims = claims.clone();
        claims[claim] = value;
        sign(&header, &claims, &secret)
    };
    let headed = |change: &dyn Fn(&mut jsonwebtoken::Header)| {
        let mut header = header.clone();
        change(&mut header);
        sign(&header, &claims, &secret)
    };
    // Signed the same way as these, it is good: each refusal is for its own reason.
    good.holding(&headed(&|_| ())).accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
    let ended = good.signs_in().await.unwrap();
    ended.accounts().sign_out(v1::SignOutRequest {}).await.unwrap();
    let nobody = serde_json::json!(uuid::Uuid::now_v7());
    vec![
        ("another key", sign(&header, &claims, &[9; 32])),
        ("another issuer", with("iss", "battenboard".into())),
        ("another audience", with("aud", "battenboard.v2".into())),
        ("two audiences, neither ours", with("aud", serde_json::json!(["one", "two"]))),
        ("ended", with("exp", serde_json::json!(1_000_000_000_u64))),
        ("no session", with("sid", nobody.clone())),
        ("another's session", with("sub", nobody)),
        ("an end that is no number", with("exp", "tomorrow".into())),
        ("another algorithm", headed(&|header| header.alg = jsonwebtoken::Algorithm::HS512)),
        ("no key id", headed(&|header| header.kid = None)),
        ("an unknown key id", headed(&|header| header.kid = Some("none".into()))),
        ("a key id that is a path", headed(&|header| header.kid = Some("../battenboard.db".into()))),
        ("a signed-out session", ended.access_token()),
        ("no signature", token.rsplit_once('.').unwrap().0.to_owned() + "."),
    ]
}

#[test]
fn a_bad_token_of_any_kind_opens_no_method() {
    on_both("tokens bad everywhere", async |bench: &mut Bench| {
        let crew = bench.saltmarsh().await;
        let open = ["CreateAccount", "SignIn", "RecoverAccount", "RefreshSession", "GetServerInfo"];
        for (kind, token) in bad_tokens(bench, &crew.okoro).await {
            // Also of what is open to callers without any: a bad token is never taken for none.
            for (service, method) in bench.methods() {
                if !open.contains(&method.as_str()) {
                    let answer = bench.call_empty_holding(&service, &method, Some(&token)).await;
                    let code = answer.map_or_else(|status| status.code(), |()| Code::Ok);
                    assert_eq!(code, Code::Unauthenticated, "{kind}: {service}/{method}");
                }
            }
        }
    });
}

async fn reads_group(who: &Actor) -> Result<(), Status> {
    who.groups().get_group(v1::GetGroupRequest { group: GROUP.into() }).await.map(|_| ())
}

/// Asks again and again until it is refused; gives after how long.
async fn refused_after(who: &Actor, code: Code) -> Duration {
    let since = Instant::now();
    loop {
        match reads_group(who).await {
            Err(status) if status.code() == code => return since.elapsed(),
            other => assert!(since.elapsed() < Duration::from_secs(3), "{other:?} after {:?}", since.elapsed()),
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[test]
fn who_was_taken_out_or_signed_out_elsewhere_is_refused_at_once() {
    on_both("tokens taken out", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        reads_group(&okoro).await.unwrap();
        let removal = v1::RemoveCrewRequest { group: GROUP.into(), account: "okoro".into() };
        ines.groups().remove_crew(removal).await.unwrap();
        refused(reads_group(&okoro).await, Code::NotFound);
        // The account itself is as good as before.
        okoro.accounts().get_account(v1::GetAccountRequest {}).await.unwrap();
        let other = maarit.signs_in().await.unwrap();
        reads_group(&other).await.unwrap();
        let list = other.accounts().list_sessions(v1::ListSessionsRequest::default()).await.unwrap().into_inner();
        let session_id = list.sessions.into_iter().find(|session| session.current).unwrap().session_id;
        maarit.accounts().end_session(v1::EndSessionRequest { session_id }).await.unwrap();
        refused(reads_group(&other).await, Code::Unauthenticated);
        reads_group(&maarit).await.unwrap();
    });
}

#[test]
fn what_one_server_ended_another_refuses_within_two_seconds() {
    on_postgres("tokens two servers", async |bench: &mut Bench| {
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        let other = bench.another_server();
        let channel = other.channel().await.unwrap();
        let (okoro_there, maarit_there) = (okoro.through(channel.clone()), maarit.through(channel));
        // The other server knows both sessions, as of now.
        reads_group(&okoro_there).await.unwrap();
        reads_group(&maarit_there).await.unwrap();
        let removal = v1::RemoveCrewRequest { group: GROUP.into(), account: "okoro".into() };
        ines.groups().remove_crew(removal).await.unwrap();
        assert!(refused_after(&okoro_there, Code::NotFound).await <= Duration::from_secs(2));
        maarit.accounts().sign_out(v1::SignOutRequest {}).await.unwrap();
        assert!(refused_after(&maarit_there, Code::Unauthenticated).await <= Duration::from_millis(2100));
        other.stop().unwrap();
    });
}
