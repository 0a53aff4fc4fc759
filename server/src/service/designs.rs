//! DesignService.

use super::asked::{request_id, signed_in};
use super::status::to_status;
use super::views;
use crate::app::access::Visibility;
use crate::app::error::Fault;
use crate::app::submit::{Sent, Submission};
use crate::app::{App, AppError};
use battenboard_engine::Ask;
use battenboard_engine::design::Design;
use battenboard_proto::convert::{findings_to_wire, frame_from_wire, frame_to_wire};
use battenboard_proto::v1;
use battenboard_proto::v1::design_service_server::DesignService;
use prost::Message;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Designs(pub Arc<App>);

/// The design of a sent frame, with every fault of form at once.
fn typed(frame: Option<v1::Frame>) -> Result<Option<Design>, Status> {
    let faults = |found: Vec<battenboard_engine::design::Violation>| {
        to_status(AppError::Invalid { faults: found.into_iter().map(Fault::from).collect() })
    };
    frame.map(frame_from_wire).transpose().map_err(faults)
}

fn visibility_of(wire: i32) -> Result<Visibility, Status> {
    match v1::Visibility::try_from(wire) {
        Ok(v1::Visibility::Group) => Ok(Visibility::Group),
        Ok(v1::Visibility::Noticeboard) => Ok(Visibility::Noticeboard),
        Ok(v1::Visibility::Open) => Ok(Visibility::Open),
        Ok(v1::Visibility::Unspecified) | Err(_) => {
            Err(to_status(AppError::invalid("visibility", "say which: group, noticeboard or open")))
        }
    }
}

#[tonic::async_trait]
impl DesignService for Designs {
    async fn list_designs(
        &self,
        request: Request<v1::ListDesignsRequest>,
    ) -> Result<Response<v1::ListDesignsResponse>, Status> {
        let (caller, _, v1::ListDesignsRequest { group, page_size, page_token }) = signed_in(request)?;
        let (designs, next_page_token) =
            self.0.list_designs(&caller, &group, page_size, &page_token).await.map_err(to_status)?;
        let designs = designs.into_iter().map(views::design).collect();
        Ok(Response::new(v1::ListDesignsResponse { designs, next_page_token }))
    }

    async fn get_design(
        &self,
        request: Request<v1::GetDesignRequest>,
    ) -> Result<Response<v1::GetDesignResponse>, Status> {
        let (caller, _, v1::GetDesignRequest { group, design }) = signed_in(request)?;
        let design = self.0.get_design(&caller, &group, &design).await.map_err(to_status)?;
        Ok(Response::new(v1::GetDesignResponse { design: Some(views::design(design)) }))
    }

    async fn submit_revision(
        &self,
        request: Request<v1::SubmitRevisionRequest>,
    ) -> Result<Response<v1::SubmitRevisionResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "SubmitRevision", id, &message);
        let v1::SubmitRevisionRequest { group, design, frame, text, note, worked_from, request_id: _, drawn_after } =
            message;
        let sent = Sent { design: typed(frame)?, text };
        let drawn_after = drawn_after.map(views::drawn_after_of);
        let submission = Submission { group, design, sent, note, worked_from, drawn_after };
        let kept = self.0.submit_revision(&caller, submission, request).await.map_err(to_status)?;
        Ok(Response::new(v1::SubmitRevisionResponse {
            figures_withheld: kept.revision.withheld,
            revision: Some(views::revision(kept.revision)),
            unchanged: kept.unchanged,
            findings: kept.findings.as_ref().map(findings_to_wire),
            check_state: views::check_state(kept.check_state).into(),
        }))
    }

    async fn list_revisions(
        &self,
        request: Request<v1::ListRevisionsRequest>,
    ) -> Result<Response<v1::ListRevisionsResponse>, Status> {
        let (caller, _, v1::ListRevisionsRequest { group, design, page_size, page_token }) = signed_in(request)?;
        let (revisions, next_page_token) =
            self.0.list_revisions(&caller, &group, &design, page_size, &page_token).await.map_err(to_status)?;
        let revisions = revisions.into_iter().map(views::revision).collect();
        Ok(Response::new(v1::ListRevisionsResponse { revisions, next_page_token }))
    }

    async fn get_revision(
        &self,
        request: Request<v1::GetRevisionRequest>,
    ) -> Result<Response<v1::GetRevisionResponse>, Status> {
        let (caller, _, v1::GetRevisionRequest { group, design, letter }) = signed_in(request)?;
        let revision = self.0.get_revision(&caller, &group, &design, &letter).await.map_err(to_status)?;
        Ok(Response::new(v1::GetRevisionResponse { revision: Some(views::revision(revision)) }))
    }

    async fn get_revision_body(
        &self,
        request: Request<v1::GetRevisionBodyRequest>,
    ) -> Result<Response<v1::GetRevisionBodyResponse>, Status> {
        let (caller, _, v1::GetRevisionBodyRequest { group, design, letter }) = signed_in(request)?;
        let (revision, design, text) =
            self.0.get_revision_body(&caller, &group, &design, &letter).await.map_err(to_status)?;
        let (revision, frame) = (Some(views::revision(revision)), Some(frame_to_wire(&design)));
        Ok(Response::new(v1::GetRevisionBodyResponse { revision, frame, text }))
    }

    async fn compare_revisions(
        &self,
        request: Request<v1::CompareRevisionsRequest>,
    ) -> Result<Response<v1::CompareRevisionsResponse>, Status> {
        let (caller, _, v1::CompareRevisionsRequest { group, design, from_letter, to_letter }) = signed_in(request)?;
        let compared =
            self.0.compare_revisions(&caller, &group, &design, &from_letter, &to_letter).await.map_err(to_status)?;
        let comparison = Some(views::comparison(compared));
        Ok(Response::new(v1::CompareRevisionsResponse { comparison }))
    }

    async fn update_design_visibility(
        &self,
        request: Request<v1::UpdateDesignVisibilityRequest>,
    ) -> Result<Response<v1::UpdateDesignVisibilityResponse>, Status> {
        let (caller, _, v1::UpdateDesignVisibilityRequest { group, design, visibility }) = signed_in(request)?;
        let visibility = visibility_of(visibility)?;
        let design = self.0.update_visibility(&caller, group, design, visibility).await.map_err(to_status)?;
        Ok(Response::new(v1::UpdateDesignVisibilityResponse { design: Some(views::design(design)) }))
    }

    async fn try_frame(&self, request: Request<v1::TryFrameRequest>) -> Result<Response<v1::TryFrameResponse>, Status> {
        let (caller, _, v1::TryFrameRequest { frame, text, want_results, want_mends }) = signed_in(request)?;
        let sent = Sent { design: typed(frame)?, text };
        let ask = Ask { results: want_results, mends: want_mends };
        let findings = self.0.try_frame(&caller, sent, ask).await.map_err(to_status)?;
        let response = v1::TryFrameResponse { findings: Some(findings_to_wire(&findings)) };
        let (bytes, most) = (response.encoded_len(), self.0.limits.answer_bytes);
        if bytes > most {
            let message = format!("the results take {bytes} bytes, an answer at most {most}: ask without them");
            return Err(to_status(AppError::invalid("want_results", message)));
        }
        Ok(Response::new(response))
    }
}
