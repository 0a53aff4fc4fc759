//! The wire's answers about vehicles, made plain.

use crate::commands::online;
use crate::error::ClientError;
use crate::vehicle::{Aboard, DrawnOn, MassSum, Survey, Surveyed};
use battenboard_engine::design::Violation;
use battenboard_proto::{convert, v1};

fn shape(faults: Vec<Violation>) -> ClientError {
    ClientError::Shape { cause: faults.first().map_or_else(String::new, ToString::to_string) }
}

pub fn surveyed(wire: v1::SurveyedVehicle) -> Surveyed {
    let v1::SurveyedVehicle { group: _, name, latest_survey, latest_survey_time } = wire;
    Surveyed { vehicle: name, latest_survey, latest_us: online::instant(latest_survey_time) }
}

pub fn survey(wire: v1::Survey) -> Result<Survey, ClientError> {
    let v1::Survey { number, figures, note, author, create_time, came_with_design, came_with_letter } = wire;
    let figures = convert::vehicle_from_wire(online::needed(figures, "figures")?).map_err(shape)?;
    let came_with = (!came_with_design.is_empty()).then_some((came_with_design, came_with_letter));
    Ok(Survey { number, figures, note, author, at_us: online::instant(create_time), came_with })
}

/// The survey a revision is drawn on; `None` where it names none.
pub fn drawn_on(revision: &v1::Revision) -> Option<DrawnOn> {
    (revision.vehicle_survey > 0).then(|| DrawnOn {
        survey: revision.vehicle_survey,
        latest: revision.latest_vehicle_survey,
        latest_us: online::instant(revision.latest_vehicle_survey_time),
    })
}

fn aboard(wire: v1::FrameAboard) -> Aboard {
    let v1::FrameAboard {
        design,
        letter,
        issued,
        vehicle_survey,
        frame_kg,
        gear_kg,
        figures_withheld,
        not_reckoned,
        built_before_survey,
    } = wire;
    Aboard {
        design,
        letter,
        issued,
        survey: vehicle_survey,
        frame_kg,
        gear_kg,
        figures_withheld,
        not_reckoned,
        built_before_survey,
    }
}

pub fn sum(wire: v1::VehicleMassSum) -> Result<MassSum, ClientError> {
    let v1::VehicleMassSum {
        group: _,
        vehicle: _,
        survey,
        survey_time: _,
        frames,
        more_frames,
        figures_withheld,
        frames_kg,
        gear_kg,
        passengers_kg,
        weighed_kg,
        total_kg,
        payload_left_kg,
        axles,
        missing,
        least_payload_kg,
        gear_named_twice,
    } = wire;
    let axles = axles.into_iter().map(|line| convert::axle_line_from_wire(line).map_err(shape));
    Ok(MassSum {
        survey,
        frames: frames.into_iter().map(aboard).collect(),
        more_frames,
        figures_withheld,
        frames_kg,
        gear_kg,
        passengers_kg,
        weighed_kg,
        total_kg,
        payload_left_kg,
        axles: axles.collect::<Result<_, _>>()?,
        missing,
        least_payload_kg,
        gear_named_twice,
    })
}
