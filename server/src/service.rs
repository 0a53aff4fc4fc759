//! The wire: each method authenticates (the door did), converts, calls the app, converts back. No SQL and no rule here.

mod accounts;
mod asked;
mod cutting;
mod designs;
mod door;
mod findings;
mod groups;
mod headers;
mod news;
mod notices;
mod proofs;
mod remarks;
mod reviews;
mod serverinfo;
mod status;
mod vehicles;
mod views;

pub use door::DoorLayer;

use crate::app::App;
use battenboard_proto::v1::{
    account_service_server::AccountServiceServer, cutting_service_server::CuttingServiceServer,
    design_service_server::DesignServiceServer, finding_service_server::FindingServiceServer,
    group_service_server::GroupServiceServer, news_service_server::NewsServiceServer,
    notice_service_server::NoticeServiceServer, proof_service_server::ProofServiceServer,
    remark_service_server::RemarkServiceServer, review_service_server::ReviewServiceServer,
    server_info_service_server::ServerInfoServiceServer, vehicle_service_server::VehicleServiceServer,
};
use std::sync::Arc;
use tonic::codec::CompressionEncoding::Gzip;
use tonic::service::Routes;

/// Names of our services, for health.
pub const NAMES: [&str; 12] = [
    "battenboard.v1.AccountService",
    "battenboard.v1.GroupService",
    "battenboard.v1.DesignService",
    "battenboard.v1.FindingService",
    "battenboard.v1.RemarkService",
    "battenboard.v1.ProofService",
    "battenboard.v1.NewsService",
    "battenboard.v1.ReviewService",
    "battenboard.v1.CuttingService",
    "battenboard.v1.NoticeService",
    "battenboard.v1.VehicleService",
    "battenboard.v1.ServerInfoService",
];

/// Sets the sizes and the compression of a service; a wrapper put round it first would hide these.
macro_rules! bounded {
    ($service:expr, $limits:expr) => {
        $service
            .max_decoding_message_size($limits.message_bytes)
            .max_encoding_message_size($limits.answer_bytes)
            .accept_compressed(Gzip)
            .send_compressed(Gzip)
    };
}

/// All our services.
pub fn routes(app: &Arc<App>) -> Routes {
    let limits = app.limits;
    let app = || Arc::clone(app);
    Routes::new(bounded!(AccountServiceServer::new(accounts::Accounts(app())), limits))
        .add_service(bounded!(GroupServiceServer::new(groups::Groups(app())), limits))
        .add_service(bounded!(DesignServiceServer::new(designs::Designs(app())), limits))
        .add_service(bounded!(FindingServiceServer::new(findings::FindingsOf(app())), limits))
        .add_service(bounded!(RemarkServiceServer::new(remarks::Remarks(app())), limits))
        .add_service(bounded!(ProofServiceServer::new(proofs::Proofs(app())), limits))
        .add_service(bounded!(NewsServiceServer::new(news::News(app())), limits))
        .add_service(bounded!(ReviewServiceServer::new(reviews::Reviews(app())), limits))
        .add_service(bounded!(CuttingServiceServer::new(cutting::Cutting(app())), limits))
        .add_service(bounded!(NoticeServiceServer::new(notices::Notices(app())), limits))
        .add_service(bounded!(VehicleServiceServer::new(vehicles::Vehicles(app())), limits))
        .add_service(bounded!(ServerInfoServiceServer::new(serverinfo::ServerInfo(app())), limits))
}
