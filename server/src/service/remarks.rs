//! RemarkService.

use super::asked::{request_id, signed_in};
use super::status::to_status;
use super::views;
use crate::app::error::Fault;
use crate::app::letters::letter as letter_of;
use crate::app::remarks::{Act, Filter, NewRemark, PlaceKind, Reference, RemarkKind, RemarkState, Spot};
use crate::app::{App, AppError};
use battenboard_engine::design::Violation;
use battenboard_engine::proof::ProofLoad;
use battenboard_proto::v1::remark_reference::By;
use battenboard_proto::v1::remark_service_server::RemarkService;
use battenboard_proto::{convert, v1};
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Remarks(pub Arc<App>);

fn reference(wire: Option<v1::RemarkReference>) -> Result<Reference, Status> {
    match wire.and_then(|reference| reference.by) {
        Some(By::Id(id)) => Ok(Reference::Id(id)),
        Some(By::Number(v1::RemarkNumber { group, design, number })) => Ok(Reference::Number { group, design, number }),
        None => Err(to_status(AppError::invalid("remark", "say which remark, by id or by number"))),
    }
}

fn spot(wire: Option<v1::Place>) -> Result<Spot, Fault> {
    let Some(v1::Place { kind, tag, at_mm }) = wire else {
        return Err(Fault::of("place", "say what the remark is placed on"));
    };
    Ok(Spot { kind: place_kind_of(kind)?, tag, at_mm })
}

/// What something is placed on.
pub fn place_kind_of(wire: i32) -> Result<PlaceKind, Fault> {
    match v1::PlaceKind::try_from(wire) {
        Ok(v1::PlaceKind::Member) => Ok(PlaceKind::Member),
        Ok(v1::PlaceKind::Joint) => Ok(PlaceKind::Joint),
        Ok(v1::PlaceKind::Anchor) => Ok(PlaceKind::Anchor),
        Ok(v1::PlaceKind::Deck) => Ok(PlaceKind::Deck),
        Ok(v1::PlaceKind::Whole) => Ok(PlaceKind::Whole),
        Ok(v1::PlaceKind::Unspecified) | Err(_) => {
            Err(Fault::of("place.kind", "say which: member, joint, anchor, deck or the whole"))
        }
    }
}

/// The proof load, standing where the remark is placed.
fn proof_load_of(load: Option<v1::ProofLoad>, place: Option<&v1::Place>) -> Result<Option<ProofLoad>, Vec<Fault>> {
    // Without a place the remark itself is refused.
    let (Some(load), Some(place)) = (load, place) else { return Ok(None) };
    let faults = |faults: Vec<Violation>| faults.into_iter().map(Fault::from).collect();
    convert::proof_load_from_wire(load, place).map(Some).map_err(faults)
}

fn kind_of(wire: i32) -> Result<RemarkKind, Fault> {
    match v1::RemarkKind::try_from(wire) {
        Ok(v1::RemarkKind::Snag) => Ok(RemarkKind::Snag),
        Ok(v1::RemarkKind::Advice) => Ok(RemarkKind::Advice),
        Ok(v1::RemarkKind::Question) => Ok(RemarkKind::Question),
        Ok(v1::RemarkKind::WellMade) => Ok(RemarkKind::WellMade),
        Ok(v1::RemarkKind::Unspecified) | Err(_) => {
            Err(Fault::of("kind", "say which: a snag, advice, a question or well made"))
        }
    }
}

fn state_of(wire: i32) -> Result<RemarkState, Status> {
    match v1::RemarkState::try_from(wire) {
        Ok(v1::RemarkState::Open) => Ok(RemarkState::Open),
        Ok(v1::RemarkState::Answered) => Ok(RemarkState::Answered),
        Ok(v1::RemarkState::Cleared) => Ok(RemarkState::Cleared),
        Ok(v1::RemarkState::SetAside) => Ok(RemarkState::SetAside),
        Ok(v1::RemarkState::Unspecified) | Err(_) => {
            Err(to_status(AppError::invalid("states", "each is open, answered, cleared or set aside")))
        }
    }
}

#[tonic::async_trait]
impl RemarkService for Remarks {
    async fn create_remark(
        &self,
        request: Request<v1::CreateRemarkRequest>,
    ) -> Result<Response<v1::CreateRemarkResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "CreateRemark", id, &message);
        let v1::CreateRemarkRequest { group, design, letter, place, kind, text, request_id: _, proof_load } = message;
        let proof_load = proof_load_of(proof_load, place.as_ref());
        let (spot, kind, proof_load) = match (spot(place), kind_of(kind), proof_load) {
            (Ok(spot), Ok(kind), Ok(proof_load)) => (spot, kind, proof_load),
            (spot, kind, proof_load) => {
                let faults = spot.err().into_iter().chain(kind.err()).chain(proof_load.err().into_iter().flatten());
                return Err(to_status(AppError::Invalid { faults: faults.collect() }));
            }
        };
        let new = NewRemark { group, design, letter, spot, kind, text, proof_load };
        let remark = self.0.create_remark(&caller, new, request).await.map_err(to_status)?;
        let latest_letter = letter_of(remark.standing.as_of);
        Ok(Response::new(v1::CreateRemarkResponse { remark: Some(views::remark(remark)), latest_letter }))
    }

    async fn get_remark(
        &self,
        request: Request<v1::GetRemarkRequest>,
    ) -> Result<Response<v1::GetRemarkResponse>, Status> {
        let (caller, _, v1::GetRemarkRequest { remark }) = signed_in(request)?;
        let remark = self.0.get_remark(&caller, &reference(remark)?).await.map_err(to_status)?;
        Ok(Response::new(v1::GetRemarkResponse { remark: Some(views::remark(remark)) }))
    }

    async fn list_remarks(
        &self,
        request: Request<v1::ListRemarksRequest>,
    ) -> Result<Response<v1::ListRemarksResponse>, Status> {
        let (caller, _, message) = signed_in(request)?;
        let v1::ListRemarksRequest { group, design, letter, states, page_size, page_token, as_of_letter, tag } =
            message;
        let mut states = states.into_iter().map(state_of).collect::<Result<Vec<_>, _>>()?;
        states.sort_unstable_by_key(|state| state.word());
        states.dedup();
        let filter = Filter { letter, states, as_of: as_of_letter, tag };
        let (remarks, next_page_token) =
            self.0.list_remarks(&caller, &group, &design, filter, page_size, &page_token).await.map_err(to_status)?;
        let remarks = remarks.into_iter().map(views::remark).collect();
        Ok(Response::new(v1::ListRemarksResponse { remarks, next_page_token }))
    }

    async fn answer_remark(
        &self,
        request: Request<v1::AnswerRemarkRequest>,
    ) -> Result<Response<v1::AnswerRemarkResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "AnswerRemark", id, &message);
        let v1::AnswerRemarkRequest { remark, text, request_id: _ } = message;
        let remark = reference(remark)?;
        let remark = self.0.act_on_remark(&caller, remark, Act::Answer, text, request).await.map_err(to_status)?;
        Ok(Response::new(v1::AnswerRemarkResponse { remark: Some(views::remark(remark)) }))
    }

    async fn clear_remark(
        &self,
        request: Request<v1::ClearRemarkRequest>,
    ) -> Result<Response<v1::ClearRemarkResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "ClearRemark", id, &message);
        let v1::ClearRemarkRequest { remark, note, request_id: _ } = message;
        let remark = reference(remark)?;
        let remark = self.0.act_on_remark(&caller, remark, Act::Clear, note, request).await.map_err(to_status)?;
        Ok(Response::new(v1::ClearRemarkResponse { remark: Some(views::remark(remark)) }))
    }

    async fn set_remark_aside(
        &self,
        request: Request<v1::SetRemarkAsideRequest>,
    ) -> Result<Response<v1::SetRemarkAsideResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "SetRemarkAside", id, &message);
        let v1::SetRemarkAsideRequest { remark, reason, request_id: _ } = message;
        let remark = reference(remark)?;
        let remark = self.0.act_on_remark(&caller, remark, Act::SetAside, reason, request).await.map_err(to_status)?;
        Ok(Response::new(v1::SetRemarkAsideResponse { remark: Some(views::remark(remark)) }))
    }

    async fn raise_remark_again(
        &self,
        request: Request<v1::RaiseRemarkAgainRequest>,
    ) -> Result<Response<v1::RaiseRemarkAgainResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "RaiseRemarkAgain", id, &message);
        let v1::RaiseRemarkAgainRequest { remark, text, request_id: _ } = message;
        let remark = reference(remark)?;
        let remark = self.0.act_on_remark(&caller, remark, Act::RaiseAgain, text, request).await.map_err(to_status)?;
        Ok(Response::new(v1::RaiseRemarkAgainResponse { remark: Some(views::remark(remark)) }))
    }
}
