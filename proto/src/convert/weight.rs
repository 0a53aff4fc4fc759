//! The weight table.

use super::{
    onwire::{OnWire, list, list_to_wire, required_value},
    path::Path,
};
use crate::v1;
use battenboard_engine::{
    design::Violation,
    findings::{AxleLine, LoadState, MassLine, WeightTable},
};

impl OnWire for WeightTable {
    type Wire = v1::WeightTable;

    fn to_wire(&self) -> v1::WeightTable {
        let Self {
            frame_kg,
            fixings_kg,
            bedding_kg,
            stowage_kg,
            total_kg,
            centre_mm,
            by_stock,
            by_kind,
            axles,
            missing,
            least_payload_kg,
        } = self;
        v1::WeightTable {
            frame_kg: *frame_kg,
            fixings_kg: *fixings_kg,
            bedding_kg: *bedding_kg,
            stowage_kg: *stowage_kg,
            total_kg: *total_kg,
            centre: Some((*centre_mm).into()),
            by_stock: list_to_wire(by_stock),
            by_kind: list_to_wire(by_kind),
            axles: list_to_wire(axles),
            missing: missing.clone(),
            least_payload_kg: *least_payload_kg,
        }
    }

    fn from_wire(wire: v1::WeightTable, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::WeightTable {
            frame_kg,
            fixings_kg,
            bedding_kg,
            stowage_kg,
            total_kg,
            centre,
            by_stock,
            by_kind,
            axles,
            missing,
            least_payload_kg,
        } = wire;
        let centre_mm = required_value(centre, &at.field("centre"), faults);
        let by_stock = list(by_stock, &at.field("by_stock"), faults);
        let by_kind = list(by_kind, &at.field("by_kind"), faults);
        let axles = list(axles, &at.field("axles"), faults);
        Some(Self {
            frame_kg,
            fixings_kg,
            bedding_kg,
            stowage_kg,
            total_kg,
            centre_mm: centre_mm?,
            by_stock: by_stock?,
            by_kind: by_kind?,
            axles: axles?,
            missing,
            least_payload_kg,
        })
    }
}

impl OnWire for MassLine {
    type Wire = v1::MassLine;

    fn to_wire(&self) -> v1::MassLine {
        let Self { name, mass_kg } = self;
        v1::MassLine { name: name.clone(), mass_kg: *mass_kg }
    }

    fn from_wire(wire: v1::MassLine, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::MassLine { name, mass_kg } = wire;
        Some(Self { name, mass_kg })
    }
}

impl OnWire for AxleLine {
    type Wire = v1::AxleLine;

    fn to_wire(&self) -> v1::AxleLine {
        let Self { state, front_kg, rear_kg, right_minus_left_kg, front_left_kg, rear_left_kg, payload_left_kg } =
            *self;
        v1::AxleLine {
            state: state.to_wire(),
            front_kg,
            rear_kg,
            right_minus_left_kg,
            front_left_kg,
            rear_left_kg,
            payload_left_kg,
        }
    }

    fn from_wire(wire: v1::AxleLine, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::AxleLine {
            state,
            front_kg,
            rear_kg,
            right_minus_left_kg,
            front_left_kg,
            rear_left_kg,
            payload_left_kg,
        } = wire;
        let state = LoadState::from_wire(state, &at.field("state"), faults)?;
        Some(Self { state, front_kg, rear_kg, right_minus_left_kg, front_left_kg, rear_left_kg, payload_left_kg })
    }
}
