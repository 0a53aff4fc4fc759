//! The one way to a server: a channel with deadlines, tokens that renew themselves, refusals turned into plain words.
//!
//! Calls are plain functions here; the small runtime that drives them lives inside [`Server`].

mod listen;
mod pinned;
mod refusal;

use crate::accounts::{AccountsFile, SignedIn};
use crate::error::ClientError;
use crate::io::Io;
use crate::joining::JoiningLine;
use battenboard_proto::v1;
use battenboard_proto::v1::account_service_client::AccountServiceClient;
use pinned::Pinned;
use std::sync::Arc;
use std::time::Duration;
use tonic::metadata::MetadataValue;
pub use tonic::transport::Channel;
use tonic::transport::{ClientTlsConfig, Endpoint};
use tonic::{Code, Request, Response, Status, Streaming};

pub use listen::{Hearer, Interruption};
pub use refusal::{InTheWay, aborted, in_the_way, refused};

/// True where a server says that what was asked for is not there.
pub fn is_not_found(status: &Status) -> bool {
    status.code() == Code::NotFound
}

/// True where a server says that what is asked for does not fit how things stand.
pub fn is_wrong_state(status: &Status) -> bool {
    status.code() == Code::FailedPrecondition
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
    certificate: Option<String>,
    runtime: tokio::runtime::Runtime,
    now: fn() -> jiff::Timestamp,
}

impl Server {
    /// Opens the way to a server; one that was joined must show the certificate it was joined with.
    ///
    /// # Errors
    /// [`ClientError::Usage`] for an address that is none; [`ClientError::Unreachable`]; [`ClientError::Certificate`].
    pub fn connect(io: &mut Io<'_>, url: &str) -> Result<Self, ClientError> {
        let url = address(url)?;
        let certificates = AccountsFile::of(&io.config_dir).read()?.certificates;
        if let Some(secure) = url.strip_prefix("http://").map(|rest| format!("https://{rest}"))
            && certificates.contains_key(&secure)
        {
            return Err(ClientError::usage(
                format!("`{url}` was joined with its certificate, and is asked by no open way"),
                format!("--server {secure}"),
            ));
        }
        let wanted = certificates.get(&url).cloned();
        Self::open(io, url, wanted)
    }

    /// Opens the way to a server by its joining line: its certificate must be the line's, and is remembered.
    ///
    /// # Errors
    /// As [`Self::connect`].
    pub fn join(io: &mut Io<'_>, line: &JoiningLine) -> Result<Self, ClientError> {
        let url = address(&line.url())?;
        let server = Self::open(io, url.clone(), Some(line.fingerprint.clone()))?;
        let mut before = None;
        server.accounts.change(|accounts| {
            before = accounts.certificates.insert(url.clone(), line.fingerprint.clone());
            accounts.current = Some(url);
        })?;
        if before.is_some_and(|before| before != line.fingerprint) {
            io.note("note: this server was known by another certificate until now; the line's takes its place");
        }
        Ok(server)
    }

    fn open(io: &mut Io<'_>, url: String, certificate: Option<String>) -> Result<Self, ClientError> {
        let accounts = AccountsFile::of(&io.config_dir);
        let signed_in = accounts.read()?.servers.get(&url).cloned();
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(|source| ClientError::Folder { what: "network", source })?;
        let pinned = certificate.as_deref().map(|wanted| Arc::new(Pinned::to(wanted)));
        let endpoint = endpoint(&url, pinned.clone())?;
        let channel = runtime.block_on(endpoint.connect()).map_err(|cause| {
            let other = pinned.as_ref().and_then(|pinned| pinned.other().map(str::to_owned));
            refusal::unreachable(&url, certificate.as_deref().zip(other.as_deref()), &cause)
        })?;
        if url.starts_with("http://") && !is_loopback(&url) {
            io.note("note: this connection is not encrypted; use it in your own network only");
        }
        Ok(Self { url, channel, accounts, signed_in, certificate, runtime, now: io.now })
    }

    /// Its address.
    pub fn url(&self) -> &str {
        &self.url
    }

    /// How somebody else joins with a code, where this server is known by its certificate.
    pub fn joining_line(&self, code: &str) -> Option<JoiningLine> {
        let address = self.url.strip_prefix("https://")?.to_owned();
        Some(JoiningLine { address, fingerprint: self.certificate.clone()?, code: Some(code.to_owned()) })
    }

    /// True where only this machine is at that address.
    pub fn is_this_machine(&self) -> bool {
        is_loopback(&self.url)
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
        let request = prepare(body, None, Some(CALL_SECONDS))?;
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
        self.call_raw(body, Some(CALL_SECONDS), send)?
            .map(Response::into_inner)
            .map_err(|status| refused(&self.url, &status))
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
        Ok(self.call_raw(body, Some(CALL_SECONDS), send)?.map(Response::into_inner))
    }

    /// As [`Self::call`] for what begins where an earlier answer ended: what the server says is within where it does not
    /// know that place, or keeps it no longer.
    ///
    /// # Errors
    /// [`ClientError::NotSignedIn`], or any other refusal in plain words.
    pub fn call_or_begin_anew<Q: Clone, A>(
        &mut self,
        body: Q,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<A>, Status>,
    ) -> Result<Result<A, String>, ClientError> {
        match self.call_raw(body, Some(CALL_SECONDS), send)? {
            Ok(answer) => Ok(Ok(answer.into_inner())),
            Err(status) if [Code::OutOfRange, Code::InvalidArgument].contains(&status.code()) => {
                Ok(Err(status.message().to_owned()))
            }
            Err(status) => Err(refused(&self.url, &status)),
        }
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
        let answer = self.call_raw(body, Some(WATCH_SECONDS), send)?;
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
        seconds: Option<u64>,
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
        let request = prepare(body, None, Some(CALL_SECONDS))?;
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

fn prepare<Q>(body: Q, token: Option<&str>, seconds: Option<u64>) -> Result<Request<Q>, ClientError> {
    let mut request = Request::new(body);
    // What is heard for ever has no deadline.
    if let Some(seconds) = seconds {
        request.set_timeout(Duration::from_secs(seconds));
    }
    let ascii = |text: &str| {
        MetadataValue::try_from(text).map_err(|_| ClientError::Shape { cause: "a token with odd characters".into() })
    };
    request.metadata_mut().insert("x-request-id", ascii(&request_id())?);
    if let Some(token) = token {
        request.metadata_mut().insert("authorization", ascii(&format!("Bearer {token}"))?);
    }
    Ok(request)
}

fn endpoint(url: &str, pinned: Option<Arc<Pinned>>) -> Result<Endpoint, ClientError> {
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
    if let Some(pinned) = pinned {
        // The name is asked of nobody; without one, an address in brackets would be refused as a name.
        let tls = ClientTlsConfig::new().domain_name("battenboard");
        endpoint.tls_config_with_verifier(tls, pinned).map_err(bad)
    } else if url.starts_with("https://") {
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
    let host = url.trim_start_matches("http://").trim_start_matches("https://");
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
