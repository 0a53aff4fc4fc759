//! ServerInfoService.

use super::status::to_status;
use crate::app::accounts::SignUpMode;
use crate::app::{App, NOTE_BYTES, REMARK_BYTES, engine, pages};
use battenboard_proto::v1;
use battenboard_proto::v1::server_info_service_server::ServerInfoService;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct ServerInfo(pub Arc<App>);

fn count(limit: usize) -> i32 {
    i32::try_from(limit).unwrap_or(i32::MAX)
}

#[tonic::async_trait]
impl ServerInfoService for ServerInfo {
    async fn get_server_info(
        &self,
        _: Request<v1::GetServerInfoRequest>,
    ) -> Result<Response<v1::GetServerInfoResponse>, Status> {
        let limits = &self.0.limits;
        let mode = match self.0.sign_up_mode().await.map_err(to_status)? {
            SignUpMode::Invitation => v1::SignUpMode::Invitation,
            SignUpMode::Open => v1::SignUpMode::Open,
            SignUpMode::FirstCode => v1::SignUpMode::FirstCode,
            SignUpMode::FirstDirect => v1::SignUpMode::FirstDirect,
        };
        Ok(Response::new(v1::GetServerInfoResponse {
            version: env!("CARGO_PKG_VERSION").to_owned(),
            engine_version: engine::version().to_owned(),
            engine_fingerprint: engine::fingerprint().to_owned(),
            limits: Some(v1::Limits {
                members_count: count(limits.members),
                text_bytes: count(limits.text_bytes),
                message_bytes: count(limits.message_bytes),
                note_bytes: count(NOTE_BYTES),
                remark_bytes: count(REMARK_BYTES),
                page_size: count(usize::try_from(pages::MOST).unwrap_or(usize::MAX)),
            }),
            sign_up_mode: mode.into(),
        }))
    }
}
