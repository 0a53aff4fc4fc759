//! Access tokens: JWTs with one fixed algorithm, issuer, audience and a key id.

use super::keys::Keys;
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation, decode, decode_header, encode};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError, RwLock};
use uuid::Uuid;

/// Who issues the tokens.
const ISSUER: &str = "battenboard-server";
/// Whom they are for.
const AUDIENCE: &str = "battenboard.v1";
/// The one algorithm; a token that names another is refused before its signature is looked at.
const ALGORITHM: Algorithm = Algorithm::HS256;
/// Longer texts are no token of ours.
const LONGEST_TOKEN: usize = 2048;

/// What a token says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Claims {
    iss: String,
    aud: String,
    /// Account.
    sub: Uuid,
    /// Session.
    sid: Uuid,
    /// Seconds since 1970.
    iat: i64,
    /// Seconds since 1970.
    exp: i64,
}

/// A token that was found good.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bearer {
    /// Its account.
    pub account_id: Uuid,
    /// Its session.
    pub session_id: Uuid,
    /// When it ends, UTC microseconds.
    pub ends_at: i64,
}

/// Why a token is no good. The caller is told no more than that, and whether to refresh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TokenError {
    /// It has ended.
    #[error("the access token has ended")]
    Expired,
    /// Anything else.
    #[error("the access token is not good")]
    Bad,
}

/// Why tokens cannot be signed.
#[derive(Debug, thiserror::Error)]
#[error("access tokens cannot be signed: {cause}")]
pub struct SigningError {
    cause: String,
}

impl From<jsonwebtoken::errors::Error> for SigningError {
    fn from(error: jsonwebtoken::errors::Error) -> Self {
        Self { cause: error.to_string() }
    }
}

/// Signs and verifies access tokens.
pub struct AccessTokens {
    held: RwLock<Arc<Held>>,
    validation: Validation,
}

/// The keys, ready for use.
struct Held {
    signing: EncodingKey,
    header: Header,
    verifying: BTreeMap<String, DecodingKey>,
}

impl Held {
    fn of(keys: &Keys) -> Self {
        let signing = keys.by_id.get(&keys.signing).map(Vec::as_slice).unwrap_or_default();
        Self {
            signing: EncodingKey::from_secret(signing),
            header: Header { kid: Some(keys.signing.clone()), ..Header::new(ALGORITHM) },
            verifying: keys.by_id.iter().map(|(id, key)| (id.clone(), DecodingKey::from_secret(key))).collect(),
        }
    }
}

impl AccessTokens {
    /// Takes the keys and signs and verifies once: with the wrong build of the signing library the first use panics,
    /// which must happen here and not at the first caller.
    ///
    /// # Errors
    /// [`SigningError`] when the self-test fails.
    pub fn new(keys: &Keys, now: i64) -> Result<Self, SigningError> {
        // By path: this fails to compile if the library was built without this backend. Err: it is installed already.
        let _ = jsonwebtoken::crypto::aws_lc::DEFAULT_PROVIDER.install_default();
        let mut validation = Validation::new(ALGORITHM);
        validation.set_issuer(&[ISSUER]);
        validation.set_audience(&[AUDIENCE]);
        validation.set_required_spec_claims(&["exp", "iss", "aud", "sub"]);
        validation.leeway = 0;
        let tokens = Self { held: RwLock::new(Arc::new(Held::of(keys))), validation };
        tokens.self_test(now)?;
        Ok(tokens)
    }

    /// Takes other keys from now on.
    pub fn replace(&self, keys: &Keys) {
        *self.held.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(Held::of(keys));
    }

    fn held(&self) -> Arc<Held> {
        Arc::clone(&self.held.read().unwrap_or_else(PoisonError::into_inner))
    }

    fn self_test(&self, now: i64) -> Result<(), SigningError> {
        let (account_id, session_id) = (Uuid::from_u128(1), Uuid::from_u128(2));
        let (token, _) = self.sign(account_id, session_id, now, 60)?;
        let good = self.verify(&token).is_ok_and(|bearer| bearer.session_id == session_id);
        // The last letter of an HS256 signature carries four of its bits: the one before it carries six.
        let mut forged = token.into_bytes();
        if let Some(letter) = forged.iter_mut().rev().nth(1) {
            *letter = if *letter == b'A' { b'B' } else { b'A' };
        }
        let refused = String::from_utf8(forged).is_ok_and(|forged| self.verify(&forged) == Err(TokenError::Bad));
        if good && refused { Ok(()) } else { Err(SigningError { cause: "the self-test failed".into() }) }
    }

    /// A token for a session that ends in `lifetime_s` seconds, and when that is.
    ///
    /// # Errors
    /// [`SigningError`].
    pub fn sign(
        &self,
        account_id: Uuid,
        session_id: Uuid,
        now: i64,
        lifetime_s: i64,
    ) -> Result<(String, i64), SigningError> {
        let iat = now / crate::clock::SECOND;
        let exp = iat + lifetime_s;
        let claims = Claims { iss: ISSUER.into(), aud: AUDIENCE.into(), sub: account_id, sid: session_id, iat, exp };
        let held = self.held();
        Ok((encode(&held.header, &claims, &held.signing)?, exp * crate::clock::SECOND))
    }

    /// Whose token this is.
    ///
    /// # Errors
    /// [`TokenError`].
    pub fn verify(&self, token: &str) -> Result<Bearer, TokenError> {
        if token.len() > LONGEST_TOKEN {
            return Err(TokenError::Bad);
        }
        let header = decode_header(token).map_err(|_| TokenError::Bad)?;
        let held = self.held();
        let key = header.kid.and_then(|kid| held.verifying.get(&kid)).ok_or(TokenError::Bad)?;
        let claims = decode::<Claims>(token, key, &self.validation).map_err(|error| match error.kind() {
            jsonwebtoken::errors::ErrorKind::ExpiredSignature => TokenError::Expired,
            _ => TokenError::Bad,
        })?;
        let Claims { iss: _, aud: _, sub, sid, iat: _, exp } = claims.claims;
        Ok(Bearer { account_id: sub, session_id: sid, ends_at: exp.saturating_mul(crate::clock::SECOND) })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use crate::clock::{SECOND, now_micros};

    fn keys(ids: &[(&str, u8)], signing: &str) -> Keys {
        Keys { signing: signing.into(), by_id: ids.iter().map(|(id, byte)| ((*id).into(), vec![*byte; 32])).collect() }
    }

    fn forged(header: &Header, claims: &Claims, secret: u8) -> String {
        encode(header, claims, &EncodingKey::from_secret(&[secret; 32])).unwrap()
    }

    fn claims(now: i64) -> Claims {
        let iat = now / SECOND;
        let (sub, sid) = (Uuid::from_u128(7), Uuid::from_u128(8));
        Claims { iss: ISSUER.into(), aud: AUDIENCE.into(), sub, sid, iat, exp: iat + 60 }
    }

    #[test]
    fn a_good_token_names_its_account_and_session() {
        let now = now_micros();
        let tokens = AccessTokens::new(&keys(&[("a", 1)], "a"), now).unwrap();
        let (token, ends_at) = tokens.sign(Uuid::from_u128(7), Uuid::from_u128(8), now, 600).unwrap();
        let bearer = tokens.verify(&token).unwrap();
        assert_eq!(bearer, Bearer { account_id: Uuid::from_u128(7), session_id: Uuid::from_u128(8), ends_at });
        assert!(ends_at > now + 590 * SECOND && ends_at <= now + 600 * SECOND);
    }

    #[test]
    fn a_token_of_an_older_key_is_taken_as_long_as_the_key_is_there() {
        let now = now_micros();
        let old = AccessTokens::new(&keys(&[("a", 1)], "a"), now).unwrap();
        let (token, _) = old.sign(Uuid::from_u128(7), Uuid::from_u128(8), now, 600).unwrap();
        assert!(AccessTokens::new(&keys(&[("a", 1), ("b", 2)], "b"), now).unwrap().verify(&token).is_ok());
        let retired = AccessTokens::new(&keys(&[("b", 2)], "b"), now).unwrap();
        assert_eq!(retired.verify(&token), Err(TokenError::Bad));
    }

    #[test]
    fn a_running_server_takes_other_keys() {
        let now = now_micros();
        let tokens = AccessTokens::new(&keys(&[("a", 1)], "a"), now).unwrap();
        let sign = || tokens.sign(Uuid::from_u128(7), Uuid::from_u128(8), now, 600).unwrap().0;
        let old = sign();
        tokens.replace(&keys(&[("a", 1), ("b", 2)], "b"));
        let new = sign();
        assert_eq!(decode_header(&new).unwrap().kid.as_deref(), Some("b"));
        assert!(tokens.verify(&old).is_ok() && tokens.verify(&new).is_ok());
        tokens.replace(&keys(&[("b", 2)], "b"));
        assert!(tokens.verify(&old) == Err(TokenError::Bad) && tokens.verify(&new).is_ok());
    }

    #[test]
    fn forged_foreign_and_expired_tokens_are_refused() {
        let now = now_micros();
        let tokens = AccessTokens::new(&keys(&[("a", 1)], "a"), now).unwrap();
        let header = Header { kid: Some("a".into()), ..Header::new(ALGORITHM) };
        assert!(tokens.verify(&forged(&header, &claims(now), 1)).is_ok());
        assert_eq!(tokens.verify(&forged(&header, &claims(now), 2)), Err(TokenError::Bad), "wrong key");
        let expired = Claims { exp: now / SECOND - 1, ..claims(now) };
        assert_eq!(tokens.verify(&forged(&header, &expired, 1)), Err(TokenError::Expired));
        let audience = Claims { aud: "elsewhere".into(), ..claims(now) };
        assert_eq!(tokens.verify(&forged(&header, &audience, 1)), Err(TokenError::Bad), "audience");
        let issuer = Claims { iss: "elsewhere".into(), ..claims(now) };
        assert_eq!(tokens.verify(&forged(&header, &issuer, 1)), Err(TokenError::Bad), "issuer");
        let algorithm = Header { kid: Some("a".into()), ..Header::new(Algorithm::HS512) };
        assert_eq!(tokens.verify(&forged(&algorithm, &claims(now), 1)), Err(TokenError::Bad), "algorithm");
        let unknown = Header { kid: Some("z".into()), ..Header::new(ALGORITHM) };
        assert_eq!(tokens.verify(&forged(&unknown, &claims(now), 1)), Err(TokenError::Bad), "key id");
        assert_eq!(tokens.verify(&forged(&Header::new(ALGORITHM), &claims(now), 1)), Err(TokenError::Bad), "no key id");
    }

    #[test]
    fn a_token_without_signature_is_refused() {
        let now = now_micros();
        let tokens = AccessTokens::new(&keys(&[("a", 1)], "a"), now).unwrap();
        let good = forged(&Header { kid: Some("a".into()), ..Header::new(ALGORITHM) }, &claims(now), 1);
        let body = good.split('.').nth(1).unwrap();
        // {"alg":"none","kid":"a"} in base64url.
        let none = format!("eyJhbGciOiJub25lIiwia2lkIjoiYSJ9.{body}.");
        assert_eq!(tokens.verify(&none), Err(TokenError::Bad));
        for garbage in ["", ".", "..", "a.b.c", &"x".repeat(100_000)] {
            assert_eq!(tokens.verify(garbage), Err(TokenError::Bad));
        }
    }
}
