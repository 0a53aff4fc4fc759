//! Access tokens that are not what they should be: forged, unsigned, for somebody else, for another server, spoilt.

use battenboard_proto::v1;
use battenboard_tests::harness::{Bench, base64url, claims_of, on_both, refused};
use tonic::Code;

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
