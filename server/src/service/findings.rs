//! FindingService.

use super::asked::signed_in;
use super::status::to_status;
use super::views;
use crate::app::App;
use crate::app::letters::letter;
use crate::app::watch::Step;
use battenboard_proto::convert::findings_to_wire;
use battenboard_proto::v1;
use battenboard_proto::v1::finding_service_server::FindingService;
use std::pin::Pin;
use std::sync::Arc;
use tokio_stream::wrappers::ReceiverStream;
use tokio_stream::{Stream, StreamExt};
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct FindingsOf(pub Arc<App>);

fn response(step: Step) -> v1::WatchCheckResponse {
    let Step { ordinal, standing } = step;
    let progress = v1::CheckProgress {
        letter: letter(ordinal),
        check_state: views::check_state(standing.state).into(),
        ahead_count: i32::try_from(standing.ahead).unwrap_or(i32::MAX),
    };
    let findings = standing.findings.as_ref().map(findings_to_wire);
    v1::WatchCheckResponse { progress: Some(progress), findings, figures_withheld: standing.withheld }
}

#[tonic::async_trait]
impl FindingService for FindingsOf {
    type WatchCheckStream = Pin<Box<dyn Stream<Item = Result<v1::WatchCheckResponse, Status>> + Send>>;

    async fn get_findings(
        &self,
        request: Request<v1::GetFindingsRequest>,
    ) -> Result<Response<v1::GetFindingsResponse>, Status> {
        let (caller, _, v1::GetFindingsRequest { group, design, letter: asked }) = signed_in(request)?;
        let (ordinal, standing) = self.0.get_findings(&caller, &group, &design, &asked).await.map_err(to_status)?;
        Ok(Response::new(v1::GetFindingsResponse {
            letter: letter(ordinal),
            check_state: views::check_state(standing.state).into(),
            findings: standing.findings.as_ref().map(findings_to_wire),
            figures_withheld: standing.withheld,
        }))
    }

    async fn watch_check(
        &self,
        request: Request<v1::WatchCheckRequest>,
    ) -> Result<Response<Self::WatchCheckStream>, Status> {
        let (caller, _, v1::WatchCheckRequest { group, design, letter }) = signed_in(request)?;
        let steps = self.0.watch_check(&caller, &group, &design, &letter).await.map_err(to_status)?;
        let stream = ReceiverStream::new(steps).map(|step| step.map(response).map_err(to_status));
        Ok(Response::new(Box::pin(stream)))
    }
}
