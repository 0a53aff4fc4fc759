//! What a call carries beside its message.

use super::status::to_status;
use crate::app::{AppError, RequestId};
use crate::auth::Caller;
use prost::Message;
use sha2::{Digest, Sha256};
use std::net::{IpAddr, Ipv4Addr};
use tonic::{Request, Status};
use uuid::Uuid;

/// Where a call comes from.
#[derive(Clone, Debug)]
pub struct Visitor {
    /// What the program says of itself.
    pub program: String,
    /// Its address.
    pub address: IpAddr,
}

/// The caller that the door let in, where it came from, and the message.
///
/// # Errors
/// UNAUTHENTICATED if the door let in nobody: then a row of the table of rights is wrong.
pub fn signed_in<T>(request: Request<T>) -> Result<(Caller, Visitor, T), Status> {
    let (visitor, caller) = (visitor_of(&request), request.extensions().get::<Caller>().cloned());
    let nobody = || to_status(AppError::Unauthenticated { reason: "an access token is needed" });
    Ok((caller.ok_or_else(nobody)?, visitor, request.into_inner()))
}

/// Where a call comes from, and the message.
pub fn anyone<T>(request: Request<T>) -> (Visitor, T) {
    (visitor_of(&request), request.into_inner())
}

fn visitor_of<T>(request: &Request<T>) -> Visitor {
    let program = request.metadata().get("user-agent").and_then(|agent| agent.to_str().ok());
    Visitor {
        program: program.unwrap_or("unnamed program").to_owned(),
        // Without an address (a test's own transport) all calls count as one.
        address: request.remote_addr().map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |address| address.ip()),
    }
}

/// The request's id with the digest of the rest of the message, from which the id was taken.
pub fn request_id(scope: Uuid, method: &'static str, id: String, rest: &impl Message) -> RequestId {
    let digest = if id.is_empty() { Vec::new() } else { Sha256::digest(rest.encode_to_vec()).to_vec() };
    RequestId { scope, method, id, digest }
}
