//! ProofService.

use super::asked::signed_in;
use super::status::to_status;
use super::views;
use crate::app::App;
use battenboard_proto::v1::proof_service_server::ProofService;
use battenboard_proto::{convert, v1};
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Proofs(pub Arc<App>);

#[tonic::async_trait]
impl ProofService for Proofs {
    async fn list_proof_results(
        &self,
        request: Request<v1::ListProofResultsRequest>,
    ) -> Result<Response<v1::ListProofResultsResponse>, Status> {
        let (caller, _, message) = signed_in(request)?;
        let v1::ListProofResultsRequest { group, design, number, page_size, page_token } = message;
        let remark = (group.as_str(), design.as_str(), number);
        let (load, results, next_page_token) =
            self.0.list_proof_results(&caller, remark, page_size, &page_token).await.map_err(to_status)?;
        let results = results.into_iter().map(views::proof_result).collect();
        let proof_load = Some(convert::proof_load_to_wire(&load));
        Ok(Response::new(v1::ListProofResultsResponse { results, next_page_token, proof_load }))
    }
}
