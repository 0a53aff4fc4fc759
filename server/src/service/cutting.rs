//! CuttingService.

use super::asked::{request_id, signed_in};
use super::status::to_status;
use super::views::instant;
use crate::app::cutting::{
    AsBuiltView, ConcessionView, MassOf, MeasuredMass, MeasuredSag, NewAsBuilt, NewConcession, NewIssue, StampView,
};
use crate::app::error::Fault;
use crate::app::letters::letter;
use crate::app::{App, AppError};
use battenboard_proto::convert::check_kind_from_wire;
use battenboard_proto::v1;
use battenboard_proto::v1::cutting_service_server::CuttingService;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Cutting(pub Arc<App>);

/// A stamp.
pub fn stamp(view: StampView) -> v1::CuttingStamp {
    let StampView {
        ordinal,
        issued_by,
        issued_at,
        override_reason,
        overridden,
        taken_back,
        superseded,
        falls_short_now,
    } = view;
    let (take_back_time, taken_back_by, take_back_reason) = match taken_back {
        Some((at, by, why)) => (instant(at), by, why),
        None => (None, String::new(), String::new()),
    };
    v1::CuttingStamp {
        letter: letter(ordinal),
        issued_by,
        issue_time: instant(issued_at),
        override_reason,
        overridden,
        take_back_time,
        taken_back_by,
        take_back_reason,
        superseded,
        falls_short_now,
    }
}

fn concession(view: ConcessionView) -> v1::Concession {
    let ConcessionView { ordinal, tag, kind, utilisation, reason, account, created_at, lapsed } = view;
    v1::Concession {
        letter: letter(ordinal),
        tag,
        check_kind: v1::CheckKind::from(kind).into(),
        utilisation,
        reason,
        account,
        create_time: instant(created_at),
        lapsed,
    }
}

fn mass(mass: MeasuredMass) -> v1::MeasuredMass {
    let (of, name) = match mass.of {
        MassOf::Frame => (v1::MassOf::Frame, String::new()),
        MassOf::Stock(name) => (v1::MassOf::Stock, name),
        MassOf::Kind(name) => (v1::MassOf::Kind, name),
    };
    v1::MeasuredMass { of: of.into(), name, mass_kg: mass.mass_kg, computed_mass_kg: mass.computed_kg }
}

fn mass_of((at, mass): (usize, v1::MeasuredMass)) -> Result<MeasuredMass, Fault> {
    let v1::MeasuredMass { of, name, mass_kg, .. } = mass;
    let of = match v1::MassOf::try_from(of) {
        Ok(v1::MassOf::Frame) => MassOf::Frame,
        Ok(v1::MassOf::Stock) => MassOf::Stock(name),
        Ok(v1::MassOf::Kind) => MassOf::Kind(name),
        Ok(v1::MassOf::Unspecified) | Err(_) => {
            return Err(Fault::of(format!("masses[{at}].of"), "say of what: the frame, a stock or a kind"));
        }
    };
    Ok(MeasuredMass { of, mass_kg, computed_kg: None })
}

fn sag(sag: MeasuredSag) -> v1::MeasuredSag {
    let MeasuredSag { tag, at_mm, load_kg, sag_mm, computed_mm } = sag;
    v1::MeasuredSag { tag, at_mm, load_kg, sag_mm, computed_sag_mm: computed_mm }
}

fn sag_of(sag: v1::MeasuredSag) -> MeasuredSag {
    let v1::MeasuredSag { tag, at_mm, load_kg, sag_mm, .. } = sag;
    MeasuredSag { tag, at_mm, load_kg, sag_mm, computed_mm: None }
}

fn as_built(view: AsBuiltView) -> v1::AsBuilt {
    let AsBuiltView { ordinal, account, created_at, note, masses, sags } = view;
    v1::AsBuilt {
        letter: letter(ordinal),
        account,
        create_time: instant(created_at),
        note,
        masses: masses.into_iter().map(mass).collect(),
        sags: sags.into_iter().map(sag).collect(),
    }
}

#[tonic::async_trait]
impl CuttingService for Cutting {
    async fn issue_for_cutting(
        &self,
        request: Request<v1::IssueForCuttingRequest>,
    ) -> Result<Response<v1::IssueForCuttingResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "IssueForCutting", id, &message);
        let v1::IssueForCuttingRequest { group, design, letter, override_reason, .. } = message;
        let new = NewIssue { group, design, letter, override_reason };
        let issued = self.0.issue_for_cutting(&caller, new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::IssueForCuttingResponse { stamp: Some(stamp(issued)) }))
    }

    async fn take_back_cutting_stamp(
        &self,
        request: Request<v1::TakeBackCuttingStampRequest>,
    ) -> Result<Response<v1::TakeBackCuttingStampResponse>, Status> {
        let (caller, _, v1::TakeBackCuttingStampRequest { group, design, letter, reason }) = signed_in(request)?;
        let taken = self.0.take_back_stamp(&caller, group, design, letter, reason).await.map_err(to_status)?;
        Ok(Response::new(v1::TakeBackCuttingStampResponse { stamp: Some(stamp(taken)) }))
    }

    async fn list_cutting_stamps(
        &self,
        request: Request<v1::ListCuttingStampsRequest>,
    ) -> Result<Response<v1::ListCuttingStampsResponse>, Status> {
        let (caller, _, v1::ListCuttingStampsRequest { group, design, page_size, page_token }) = signed_in(request)?;
        let (found, next_page_token) =
            self.0.list_cutting_stamps(&caller, &group, &design, page_size, &page_token).await.map_err(to_status)?;
        let stamps = found.into_iter().map(stamp).collect();
        Ok(Response::new(v1::ListCuttingStampsResponse { stamps, next_page_token }))
    }

    async fn grant_concession(
        &self,
        request: Request<v1::GrantConcessionRequest>,
    ) -> Result<Response<v1::GrantConcessionResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "GrantConcession", id, &message);
        let v1::GrantConcessionRequest { group, design, letter, tag, reason, .. } = message;
        let unsaid = || to_status(AppError::invalid("check_kind", "say which check of it"));
        let kind = check_kind_from_wire(message.check_kind).ok_or_else(unsaid)?;
        let new = NewConcession { group, design, letter, tag, kind, reason };
        let granted = self.0.grant_concession(&caller, new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::GrantConcessionResponse { concession: Some(concession(granted)) }))
    }

    async fn list_concessions(
        &self,
        request: Request<v1::ListConcessionsRequest>,
    ) -> Result<Response<v1::ListConcessionsResponse>, Status> {
        let (caller, _, message) = signed_in(request)?;
        let v1::ListConcessionsRequest { group, design, letter, page_size, page_token } = message;
        let found = self.0.list_concessions(&caller, &group, &design, &letter, page_size, &page_token).await;
        let (found, next_page_token) = found.map_err(to_status)?;
        let concessions = found.into_iter().map(concession).collect();
        Ok(Response::new(v1::ListConcessionsResponse { concessions, next_page_token }))
    }

    async fn record_as_built(
        &self,
        request: Request<v1::RecordAsBuiltRequest>,
    ) -> Result<Response<v1::RecordAsBuiltResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "RecordAsBuilt", id, &message);
        let v1::RecordAsBuiltRequest { group, design, letter, note, masses, sags, .. } = message;
        let masses = masses.into_iter().enumerate().map(mass_of).collect::<Result<_, Fault>>();
        let masses = masses.map_err(|fault| to_status(AppError::Invalid { faults: vec![fault] }))?;
        let sags = sags.into_iter().map(sag_of).collect();
        let new = NewAsBuilt { group, design, letter, note, masses, sags };
        let recorded = self.0.record_as_built(&caller, new, request).await.map_err(to_status)?;
        Ok(Response::new(v1::RecordAsBuiltResponse { as_built: Some(as_built(recorded)) }))
    }

    async fn list_as_builts(
        &self,
        request: Request<v1::ListAsBuiltsRequest>,
    ) -> Result<Response<v1::ListAsBuiltsResponse>, Status> {
        let (caller, _, v1::ListAsBuiltsRequest { group, design, page_size, page_token }) = signed_in(request)?;
        let (found, next_page_token) =
            self.0.list_as_builts(&caller, &group, &design, page_size, &page_token).await.map_err(to_status)?;
        let as_builts = found.into_iter().map(as_built).collect();
        Ok(Response::new(v1::ListAsBuiltsResponse { as_builts, next_page_token }))
    }
}
