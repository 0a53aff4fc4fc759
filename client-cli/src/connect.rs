//! The one way to a server: a channel with deadlines, tokens that renew themselves, refusals turned into plain words.
//!
//! Calls are plain functions here; the small runtime that drives them lives inside [`Server`].

mod refusal;

use crate::accounts::{AccountsFile, SignedIn};
use crate::error::ClientError;
use crate::io::Io;
use battenboard_proto::v1;
use battenboard_proto::v1::account_service_client::AccountServiceClient;
use std::time::Duration;
use tonic::metadata::MetadataValue;
pub use tonic::transport::Channel;
use tonic::transport::{ClientTlsConfig, Endpoint};
use tonic::{Code, Request, Response, Status, Streaming};

pub use refusal::{aborted, refused};

/// True where a server says that what was asked for is not there.
pub fn is_not_found(status: &Status) -> bool {
    status.code() == Code::NotFound
}

/// Largest answer that is taken; findings of the largest design the server takes are well below.
pub const MESSAGE_LIMIT: usize = 64 * 1024 * 1024;
/// How long one call may take.
const CALL_SECONDS: u64 = 30;
/// How long a check may take until its stream is given up.
const WATCH_SECONDS: u64 = 600;
/// A token that ends this soon is renewed before it is used.
const RENEW_BEFORE_US: i64 = 5_000_000;

/// A server, and the account that is signed in there, if any.
pub struct Server {
    url: String,
    channel: Channel,
    accounts: AccountsFile,
    signed_in: Option<SignedIn>,
    runtime: tokio::runtime::Runtime,
    now: fn() -> jiff::Timestamp,
}

impl Server {
    /// Opens the way to a server.
    ///
    /// # Errors
    /// [`ClientError::Usage`] for an address that is none; [`ClientError::Unreachable`].
    pub fn connect(io: &mut Io<'_>, url: &str) -> Result<Self, ClientError> {
        let url = address(url)?;
        let accounts = AccountsFile::of(&io.config_dir);
        let signed_in = accounts.read()?.servers.get(&url).cloned();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|source| ClientError::Folder { what: "network", source })?;
        let endpoint = endpoint(&url)?;
        let channel = runtime
            .block_on(endpoint.connect())
            .map_err(|cause| ClientError::Unreachable { server: url.clone(), cause: refusal::root(&cause) })?;
        if url.starts_with("http://") && !is_loopback(&url) {
            io.note("note: this connection is not encrypted; use it in your own network only");
        }
        Ok(Self { url, channel, accounts, signed_in, runtime, now: io.now })
    }

    /// Its address.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// Name of the account that is signed in.
    pub fn account(&self) -> Option<&str> {
        self.signed_in.as_ref().map(|signed_in| signed_in.account.as_str())
    }

    /// A call that needs no account.
    ///
    /// # Errors
    /// The refusal in plain words.
    pub fn call_openly<Q, A>(
        &self,
        body: Q,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<A>, Status>,
    ) -> Result<A, ClientError> {
        let request = prepare(body, None, CALL_SECONDS)?;
        let answer = self.runtime.block_on(send(self.channel.clone(), request));
        answer.map(Response::into_inner).map_err(|status| refused(&self.url, &status))
    }

    /// A call by the account that is signed in; its token is renewed when it has ended.
    ///
    /// # Errors
    /// [`ClientError::NotSignedIn`], or the refusal in plain words.
    pub fn call<Q: Clone, A>(
        &mut self,
        body: Q,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<A>, Status>,
    ) -> Result<A, ClientError> {
        self.call_raw(body, CALL_SECONDS, send)?.map(Response::into_inner).map_err(|status| refused(&self.url, &status))
    }

    /// As [`Self::call`], with the bare status of a refusal for who knows more about it.
    ///
    /// # Errors
    /// [`ClientError::NotSignedIn`], [`ClientError::Unreachable`]; any other refusal is within.
    pub fn call_for_status<Q: Clone, A>(
        &mut self,
        body: Q,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<A>, Status>,
    ) -> Result<Result<A, Status>, ClientError> {
        Ok(self.call_raw(body, CALL_SECONDS, send)?.map(Response::into_inner))
    }

    /// Follows a stream until `each` says that it has what it wanted.
    ///
    /// # Errors
    /// As [`Self::call`]; a stream that ends early is [`ClientError::Unreachable`].
    pub fn follow<Q: Clone, A, T>(
        &mut self,
        body: Q,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<Streaming<A>>, Status>,
        mut each: impl FnMut(A) -> Option<T>,
    ) -> Result<T, ClientError> {
        let answer = self.call_raw(body, WATCH_SECONDS, send)?;
        let mut stream = answer.map_err(|status| refused(&self.url, &status))?.into_inner();
        loop {
            match self.runtime.block_on(stream.message()) {
                Ok(Some(item)) => {
                    if let Some(found) = each(item) {
                        return Ok(found);
                    }
                }
                Ok(None) => {
                    let cause = "the server ended its answer early".to_owned();
                    return Err(ClientError::Unreachable { server: self.url.clone(), cause });
                }
                Err(status) => return Err(refused(&self.url, &status)),
            }
        }
    }

    /// Remembers new tokens of an account; this server becomes the one that is meant when none is named.
    ///
    /// # Errors
    /// [`ClientError::Shape`] for an answer without tokens; [`ClientError::File`].
    pub fn keep_tokens(&mut self, account: &str, tokens: Option<v1::Tokens>) -> Result<(), ClientError> {
        let signed_in = signed_in(account, tokens)?;
        let url = self.url.clone();
        let kept = signed_in.clone();
        self.accounts.change(move |accounts| {
            accounts.current = Some(url.clone());
            accounts.servers.insert(url, kept);
        })?;
        self.signed_in = Some(signed_in);
        Ok(())
    }

    /// Forgets the account on this server.
    ///
    /// # Errors
    /// [`ClientError::File`].
    pub fn forget_tokens(&mut self) -> Result<(), ClientError> {
        self.signed_in = None;
        let url = self.url.clone();
        self.accounts.change(move |accounts| {
            accounts.servers.remove(&url);
        })
    }

    fn call_raw<Q: Clone, A>(
        &mut self,
        body: Q,
        seconds: u64,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<A>, Status>,
    ) -> Result<Result<Response<A>, Status>, ClientError> {
        let Some(mut signed_in) = self.signed_in.clone() else { return Err(self.nobody()) };
        let mut renewed = false;
        if signed_in.access_expires_us - (self.now)().as_microsecond() < RENEW_BEFORE_US {
            signed_in = self.renew(&signed_in)?;
            renewed = true;
        }
        loop {
            let request = prepare(body.clone(), Some(&signed_in.access_token), seconds)?;
            match self.runtime.block_on(send(self.channel.clone(), request)) {
                Err(status) if status.code() == Code::Unauthenticated && !renewed => {
                    signed_in = self.renew(&signed_in)?;
                    renewed = true;
                }
                Err(status) if refusal::is_network(&status) => return Err(refused(&self.url, &status)),
                answer => return Ok(answer),
            }
        }
    }

    /// Trades the refresh token for new ones. Two runs of the command take turns by the accounts' lock; who comes
    /// second finds the new tokens in the file and takes those.
    fn renew(&mut self, used: &SignedIn) -> Result<SignedIn, ClientError> {
        let _lock = self.accounts.lock()?;
        let kept = self.accounts.read()?.servers.get(&self.url).cloned().ok_or_else(|| self.nobody())?;
        if kept.access_token != used.access_token {
            self.signed_in = Some(kept.clone());
            return Ok(kept);
        }
        let body = v1::RefreshSessionRequest { refresh_token: kept.refresh_token.clone() };
        let request = prepare(body, None, CALL_SECONDS)?;
        let channel = self.channel.clone();
        let answer =
            self.runtime.block_on(async move { AccountServiceClient::new(channel).refresh_session(request).await });
        let url = self.url.clone();
        match answer {
            Ok(answer) => {
                let fresh = signed_in(&kept.account, answer.into_inner().tokens)?;
                let stored = fresh.clone();
                self.accounts.change_locked(move |accounts| {
                    accounts.servers.insert(url, stored);
                })?;
                self.signed_in = Some(fresh.clone());
                Ok(fresh)
            }
            Err(status) if status.code() == Code::Unauthenticated => {
                self.signed_in = None;
                self.accounts.change_locked(move |accounts| {
                    accounts.servers.remove(&url);
                })?;
                Err(self.nobody())
            }
            Err(status) => Err(refused(&self.url, &status)),
        }
    }

    fn nobody(&self) -> ClientError {
        ClientError::NotSignedIn { server: Some(self.url.clone()) }
    }
}

fn signed_in(account: &str, tokens: Option<v1::Tokens>) -> Result<SignedIn, ClientError> {
    let missing = || ClientError::Shape { cause: "an answer without tokens".into() };
    let v1::Tokens { access_token, access_expire_time, refresh_token, refresh_expire_time: _ } =
        tokens.ok_or_else(missing)?;
    let access_expires_us = access_expire_time.map(|time| micros(&time)).ok_or_else(missing)?;
    Ok(SignedIn { account: account.to_owned(), access_token, access_expires_us, refresh_token })
}

/// Microseconds of Unix time.
pub fn micros(time: &prost_types::Timestamp) -> i64 {
    time.seconds.saturating_mul(1_000_000).saturating_add(i64::from(time.nanos) / 1000)
}

/// A fresh id by which the server recognises a repeat.
pub fn request_id() -> String {
    uuid::Uuid::now_v7().to_string()
}

fn prepare<Q>(body: Q, token: Option<&str>, seconds: u64) -> Result<Request<Q>, ClientError> {
    let mut request = Request::new(body);
    request.set_timeout(Duration::from_secs(seconds));
    let ascii = |text: &str| {
        MetadataValue::try_from(text).map_err(|_| ClientError::Shape { cause: "a token with odd characters".into() })
    };
    request.metadata_mut().insert("x-request-id", ascii(&request_id())?);
    if let Some(token) = token {
        request.metadata_mut().insert("authorization", ascii(&format!("Bearer {token}"))?);
    }
    Ok(request)
}

fn endpoint(url: &str) -> Result<Endpoint, ClientError> {
    let bad = |cause: tonic::transport::Error| {
        ClientError::usage(format!("`{url}` is no address of a server: {}", refusal::root(&cause)), ADDRESS_HINT)
    };
    let endpoint = Endpoint::from_shared(url.to_owned())
        .map_err(bad)?
        .user_agent(concat!("batten/", env!("CARGO_PKG_VERSION")))
        .map_err(bad)?
        .connect_timeout(Duration::from_secs(5))
        .tcp_keepalive(Some(Duration::from_secs(30)))
        .http2_keep_alive_interval(Duration::from_secs(20))
        .keep_alive_timeout(Duration::from_secs(10));
    if url.starts_with("https://") {
        endpoint.tls_config(ClientTlsConfig::new().with_webpki_roots()).map_err(bad)
    } else {
        Ok(endpoint)
    }
}

const ADDRESS_HINT: &str = "an address looks like http://localhost:7313 or https://boards.example:7313";

/// An address as it is kept: a scheme, no slash at the end.
///
/// # Errors
/// [`ClientError::Usage`] for an address that is none.
pub fn address(url: &str) -> Result<String, ClientError> {
    let trimmed = url.trim().trim_end_matches('/');
    let rest = trimmed.strip_prefix("http://").or_else(|| trimmed.strip_prefix("https://"));
    match rest {
        Some(rest) if !rest.is_empty() && !rest.contains(['/', '@', ' ']) => Ok(trimmed.to_owned()),
        _ => Err(ClientError::usage(format!("`{url}` is no address of a server"), ADDRESS_HINT)),
    }
}

fn is_loopback(url: &str) -> bool {
    let host = url.trim_start_matches("http://");
    ["localhost", "127.", "[::1]"].iter().any(|start| host.starts_with(start))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn an_address_has_a_scheme_and_nothing_behind_the_port() {
        assert_eq!(address("http://localhost:7313/").unwrap(), "http://localhost:7313");
        for bad in ["localhost:7313", "ftp://x", "http://", "http://a/b", "http://me@host"] {
            assert!(address(bad).is_err(), "{bad}");
        }
        assert!(is_loopback("http://127.0.0.1:1") && !is_loopback("http://192.168.1.4:1"));
    }
}
