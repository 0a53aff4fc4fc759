//! The door: every call passes here before its method. Rate, token, live session, and what the method needs by the
//! table of rights; then a request id, a deadline and a line in the records.
//!
//! It stands before routing, so no method can forget it, and a method without a row in the table is refused.

mod rate;

use super::headers::{bearer, code, rename_size_refusal, timeout};
use super::status::to_status;
use crate::app::{App, AppError};
use crate::auth::rights::need_of;
use crate::auth::tokens::TokenError;
use crate::auth::{Caller, Need};
use crate::clock::{SECOND, new_id, now_micros};
use rate::Rates;
use std::convert::Infallible;
use std::future::Future;
use std::net::{IpAddr, Ipv4Addr};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::{Duration, Instant};
use tokio::sync::Semaphore;
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::http::{HeaderValue, Request, Response};
use tonic::transport::server::{TcpConnectInfo, TlsConnectInfo};
use tower::{Layer, Service};
use tracing::Instrument;

/// Paths that belong to no rights: health and reflection.
const OPEN: [&str; 2] = ["/grpc.health.v1.Health/", "/grpc.reflection."];
/// The deadline is kept this much before the caller's, so that the answer is ours and says DEADLINE_EXCEEDED.
const BEFORE_DEADLINE: Duration = Duration::from_millis(5);

/// Puts the door before services.
#[derive(Clone)]
pub struct DoorLayer(Arc<Shared>);

struct Shared {
    app: Arc<App>,
    calls: Arc<Semaphore>,
    rates: Rates,
}

impl DoorLayer {
    /// A door to this app.
    pub fn new(app: Arc<App>) -> Self {
        let (calls, per_second) = (app.limits.calls, app.limits.calls_per_second);
        Self(Arc::new(Shared { app, calls: Arc::new(Semaphore::new(calls)), rates: Rates::new(per_second) }))
    }
}

impl<S> Layer<S> for DoorLayer {
    type Service = Door<S>;

    fn layer(&self, inner: S) -> Door<S> {
        Door { shared: Arc::clone(&self.0), inner }
    }
}

/// Services behind the door.
#[derive(Clone)]
pub struct Door<S> {
    shared: Arc<Shared>,
    inner: S,
}

type Answer<E> = Pin<Box<dyn Future<Output = Result<Response<Body>, E>> + Send>>;

impl<S> Service<Request<Body>> for Door<S>
where
    S: Service<Request<Body>, Response = Response<Body>, Error = Infallible> + Clone + Send + 'static,
    S::Future: Send + 'static,
{
    type Response = Response<Body>;
    type Error = Infallible;
    type Future = Answer<Infallible>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request<Body>) -> Self::Future {
        // The clone that was made ready is used, the fresh one waits for its own turn.
        let fresh = self.inner.clone();
        let inner = std::mem::replace(&mut self.inner, fresh);
        let shared = Arc::clone(&self.shared);
        let id = new_id();
        let span = tracing::info_span!("call", request = %id.simple(), method = %request.uri().path());
        Box::pin(
            async move {
                let begun = Instant::now();
                let mut response = shared.pass(inner, request).await;
                rename_size_refusal(response.headers_mut());
                if let Ok(id) = HeaderValue::from_str(&id.simple().to_string()) {
                    response.headers_mut().insert("x-request-id", id);
                }
                let took_ms = begun.elapsed().as_secs_f64() * 1e3;
                tracing::info!(code = code(response.headers()), took_ms, "answered");
                Ok(response)
            }
            .instrument(span),
        )
    }
}

impl Shared {
    async fn pass<S>(&self, mut inner: S, mut request: Request<Body>) -> Response<Body>
    where
        S: Service<Request<Body>, Response = Response<Body>, Error = Infallible> + Send,
        S::Future: Send,
    {
        let path = request.uri().path();
        if OPEN.iter().any(|open| path.starts_with(open)) {
            return match inner.call(request).await {
                Ok(response) => response,
                Err(never) => match never {},
            };
        }
        let Ok(_place) = Arc::clone(&self.calls).try_acquire_owned() else {
            let (what, retry_after) = ("too many calls are in progress", Duration::from_secs(1));
            return refused(to_status(AppError::TooMany { what, retry_after }));
        };
        let asked = timeout(request.headers()).map(|asked| asked.saturating_sub(BEFORE_DEADLINE));
        let longest = Duration::from_secs(self.app.limits.call_s);
        let need = need_of(path);
        let (token, address) = (bearer(request.headers()).map(str::to_owned), address(&request));
        let answer = async {
            match self.admit(need, token, address).await {
                Ok(caller) => {
                    if let Some(caller) = caller {
                        request.extensions_mut().insert(caller);
                    }
                    match inner.call(request).await {
                        Ok(response) => response,
                        Err(never) => match never {},
                    }
                }
                Err(status) => refused(status),
            }
        };
        let late = || refused(Status::deadline_exceeded("the call took longer than it was given"));
        tokio::time::timeout(asked.unwrap_or(longest).min(longest), answer).await.unwrap_or_else(|_| late())
    }

    /// Who is calling, if the method may be called at all.
    async fn admit(&self, need: Need, token: Option<String>, address: IpAddr) -> Result<Option<Caller>, Status> {
        match need {
            Need::Nobody => Err(Status::unimplemented("there is no such method")),
            Need::Anyone => {
                self.rates.take(rate::Of::Address(address)).map_err(to_status)?;
                Ok(None)
            }
            Need::Read if token.is_none() => {
                self.rates.take(rate::Of::Address(address)).map_err(to_status)?;
                Ok(Some(Caller::visitor(need)))
            }
            Need::Account | Need::Crew(_) | Need::Design(_) | Need::Read => {
                let token = token.ok_or_else(|| unauthenticated("an access token is needed"))?;
                let caller = self.known(&token, need).await?;
                self.rates.take(rate::Of::Account(caller.account_id)).map_err(to_status)?;
                Ok(Some(caller))
            }
        }
    }

    async fn known(&self, token: &str, need: Need) -> Result<Caller, Status> {
        let bearer = self.app.tokens.verify(token).map_err(|error| match error {
            TokenError::Expired => unauthenticated("the access token has ended"),
            TokenError::Bad => unauthenticated("the access token is not good"),
        })?;
        // The token says whole seconds, and is good within the last of them; streams end with the instant, and so do calls.
        if now_micros() >= bearer.ends_at {
            return Err(unauthenticated("the access token has ended"));
        }
        let found = self.app.live.find(&self.app.store, bearer.session_id).await;
        let live = found.map_err(|error| to_status(error.into()))?;
        let live = live.filter(|live| live.account_id == bearer.account_id);
        let live = live.ok_or_else(|| unauthenticated("the session has ended"))?;
        Ok(Caller {
            account_id: bearer.account_id,
            account: live.account,
            session_id: bearer.session_id,
            token_ends_at: bearer.ends_at.min(i64::MAX - SECOND),
            need,
        })
    }
}

fn unauthenticated(reason: &'static str) -> Status {
    to_status(AppError::Unauthenticated { reason })
}

fn refused(status: Status) -> Response<Body> {
    status.into_http()
}

fn address(request: &Request<Body>) -> IpAddr {
    let plain = request.extensions().get::<TcpConnectInfo>().and_then(TcpConnectInfo::remote_addr);
    let under_tls = || {
        let info = request.extensions().get::<TlsConnectInfo<TcpConnectInfo>>();
        info.and_then(|info| info.get_ref().remote_addr())
    };
    plain.or_else(under_tls).map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |address| address.ip())
}
