//! A stream that is heard until its hearer has enough: taken up again where it was when the token ends, the server goes
//! away, or the reader was too slow.

use super::{Channel, Server, refused};
use crate::error::ClientError;
use std::time::Duration;
use tonic::{Code, Request, Response, Status, Streaming};

/// Waits before a stream is taken up again: the first, and the longest; each is twice the one before.
const WAITS: (Duration, Duration) = (Duration::from_millis(250), Duration::from_secs(15));

/// Why a stream was interrupted; it is taken up again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Interruption {
    /// The server can't be reached, or can't serve now.
    Away(String),
    /// A group is closed to the hearer; the others go on.
    Closed(String),
    /// Where the hearer stands is not known, or no longer kept: he has to begin anew.
    BeginAnew(String),
}

/// Somebody who hears a stream.
pub trait Hearer<Q, A> {
    /// What to ask for, from where he stands.
    fn asks(&self) -> Q;

    /// Takes what came.
    ///
    /// # Errors
    /// What makes him stop.
    fn hears(&mut self, message: A) -> Result<(), ClientError>;

    /// Learns of an interruption.
    ///
    /// # Errors
    /// What makes him stop.
    fn interrupted(&mut self, why: Interruption) -> Result<(), ClientError>;
}

impl Server {
    /// Hears a stream until something ends it for good.
    ///
    /// # Errors
    /// Always: what ended it.
    pub fn listen<Q: Clone, A>(
        &mut self,
        hearer: &mut impl Hearer<Q, A>,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<Streaming<A>>, Status>,
    ) -> Result<std::convert::Infallible, ClientError> {
        let (mut wait, mut begun_anew) = (WAITS.0, false);
        loop {
            let ended = match self.call_raw(hearer.asks(), None, &send) {
                Ok(Ok(answer)) => {
                    let mut stream = answer.into_inner();
                    loop {
                        match self.runtime.block_on(stream.message()) {
                            Ok(Some(message)) => {
                                (wait, begun_anew) = (WAITS.0, false);
                                hearer.hears(message)?;
                            }
                            Ok(None) => break Status::unavailable("the server ended the stream"),
                            Err(status) => break status,
                        }
                    }
                }
                Ok(Err(status)) => status,
                Err(ClientError::Unreachable { cause, .. }) => Status::unavailable(cause),
                Err(error) => return Err(error),
            };
            match ended.code() {
                Code::Unauthenticated | Code::ResourceExhausted => {}
                Code::NotFound => hearer.interrupted(Interruption::Closed(ended.message().to_owned()))?,
                Code::OutOfRange | Code::InvalidArgument if !begun_anew => {
                    begun_anew = true;
                    hearer.interrupted(Interruption::BeginAnew(ended.message().to_owned()))?;
                }
                _ => match refused(&self.url, &ended) {
                    ClientError::Unreachable { cause, .. } => hearer.interrupted(Interruption::Away(cause))?,
                    error => return Err(error),
                },
            }
            // Made within the runtime: its clock runs nowhere else.
            self.runtime.block_on(async { tokio::time::sleep(wait).await });
            wait = (wait * 2).min(WAITS.1);
        }
    }
}
