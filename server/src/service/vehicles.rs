//! VehicleService.

use super::asked::{request_id, signed_in};
use super::status::to_status;
use super::views::instant;
use crate::app::error::Fault;
use crate::app::letters::letter;
use crate::app::vehicles::{Aboard, MassSum, NewSurvey, SurveyView, VehicleView};
use crate::app::{App, AppError};
use battenboard_engine::design::Violation;
use battenboard_proto::convert::{axle_line_to_wire, vehicle_from_wire, vehicle_to_wire};
use battenboard_proto::v1;
use battenboard_proto::v1::vehicle_service_server::VehicleService;
use std::sync::Arc;
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct Vehicles(pub Arc<App>);

fn vehicle(view: VehicleView) -> v1::SurveyedVehicle {
    let VehicleView { group, name, latest, latest_at } = view;
    v1::SurveyedVehicle { group, name, latest_survey: latest, latest_survey_time: instant(latest_at) }
}

fn survey(view: SurveyView) -> v1::Survey {
    let SurveyView { figures, number, note, author, created_at, came_with } = view;
    let (design, at) = came_with.map_or_else(Default::default, |(design, ordinal)| (design, letter(ordinal)));
    v1::Survey {
        number,
        figures: Some(vehicle_to_wire(&figures)),
        note,
        author,
        create_time: instant(created_at),
        came_with_design: design,
        came_with_letter: at,
    }
}

fn aboard(view: Aboard) -> v1::FrameAboard {
    let Aboard { design, ordinal, issued, survey, masses_kg, withheld, not_reckoned, built_before_survey } = view;
    v1::FrameAboard {
        design,
        letter: letter(ordinal),
        issued,
        vehicle_survey: survey.unwrap_or_default(),
        frame_kg: masses_kg.map(|[frame, _]| frame),
        gear_kg: masses_kg.map(|[_, gear]| gear),
        figures_withheld: withheld,
        not_reckoned,
        built_before_survey,
    }
}

fn sum(view: MassSum) -> v1::VehicleMassSum {
    let MassSum {
        group,
        vehicle,
        survey,
        survey_at,
        frames,
        more_frames,
        totals,
        weighed_kg,
        missing,
        least_payload_kg,
        gear_named_twice,
    } = view;
    v1::VehicleMassSum {
        group,
        vehicle,
        survey,
        survey_time: instant(survey_at),
        figures_withheld: frames.iter().any(|frame| frame.withheld),
        frames: frames.into_iter().map(aboard).collect(),
        more_frames,
        frames_kg: totals.as_ref().map(|totals| totals.frames_kg),
        gear_kg: totals.as_ref().map(|totals| totals.gear_kg),
        passengers_kg: totals.as_ref().map(|totals| totals.passengers_kg),
        weighed_kg,
        total_kg: totals.as_ref().and_then(|totals| totals.total_kg),
        payload_left_kg: totals.as_ref().and_then(|totals| totals.payload_left_kg),
        axles: totals.map(|totals| totals.axles.iter().map(axle_line_to_wire).collect()).unwrap_or_default(),
        missing,
        least_payload_kg,
        gear_named_twice,
    }
}

#[tonic::async_trait]
impl VehicleService for Vehicles {
    async fn list_vehicles(
        &self,
        request: Request<v1::ListVehiclesRequest>,
    ) -> Result<Response<v1::ListVehiclesResponse>, Status> {
        let (caller, _, v1::ListVehiclesRequest { group, page_size, page_token }) = signed_in(request)?;
        let (found, next_page_token) =
            self.0.list_vehicles(&caller, &group, page_size, &page_token).await.map_err(to_status)?;
        let vehicles = found.into_iter().map(vehicle).collect();
        Ok(Response::new(v1::ListVehiclesResponse { vehicles, next_page_token }))
    }

    async fn get_vehicle(
        &self,
        request: Request<v1::GetVehicleRequest>,
    ) -> Result<Response<v1::GetVehicleResponse>, Status> {
        let (caller, _, v1::GetVehicleRequest { group, vehicle: name, page_size, page_token }) = signed_in(request)?;
        let (found, surveys, next_page_token) =
            self.0.get_vehicle(&caller, &group, &name, page_size, &page_token).await.map_err(to_status)?;
        let surveys = surveys.into_iter().map(survey).collect();
        Ok(Response::new(v1::GetVehicleResponse { vehicle: Some(vehicle(found)), surveys, next_page_token }))
    }

    async fn record_survey(
        &self,
        request: Request<v1::RecordSurveyRequest>,
    ) -> Result<Response<v1::RecordSurveyResponse>, Status> {
        let (caller, _, mut message) = signed_in(request)?;
        let id = std::mem::take(&mut message.request_id);
        let request = request_id(caller.account_id, "RecordSurvey", id, &message);
        let v1::RecordSurveyRequest { group, vehicle, note, .. } = message;
        let faults = |found: Vec<Violation>| {
            to_status(AppError::Invalid { faults: found.into_iter().map(Fault::from).collect() })
        };
        // Without any it says nothing, which the app refuses with everything else.
        let figures = vehicle_from_wire(vehicle.unwrap_or_default()).map_err(faults)?;
        let recorded = self.0.record_survey(&caller, NewSurvey { group, figures, note }, request).await;
        let recorded = recorded.map_err(to_status)?;
        let (kept, unchanged) = (Some(survey(recorded.survey)), recorded.unchanged);
        Ok(Response::new(v1::RecordSurveyResponse { survey: kept, unchanged }))
    }

    async fn sum_vehicle_masses(
        &self,
        request: Request<v1::SumVehicleMassesRequest>,
    ) -> Result<Response<v1::SumVehicleMassesResponse>, Status> {
        let (caller, _, v1::SumVehicleMassesRequest { group, vehicle }) = signed_in(request)?;
        let found = self.0.sum_vehicle_masses(&caller, &group, &vehicle).await.map_err(to_status)?;
        Ok(Response::new(v1::SumVehicleMassesResponse { sum: Some(sum(found)) }))
    }
}
