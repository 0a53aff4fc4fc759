//! Stability of the frame, anchors that hold it down, headroom.

use super::{
    onwire::{OnWire, list, list_to_wire},
    path::Path,
};
use crate::v1;
use battenboard_engine::{
    design::Violation,
    findings::{Headroom, HoldDown, Room, Stability, StabilityLine},
};

impl OnWire for Stability {
    type Wire = v1::Stability;

    fn to_wire(&self) -> v1::Stability {
        let Self { frequency_hz, sway_stiffness_n_mm, lines } = self;
        v1::Stability {
            frequency_hz: *frequency_hz,
            sway_stiffness_x_n_mm: sway_stiffness_n_mm.map(|s| s[0]),
            sway_stiffness_y_n_mm: sway_stiffness_n_mm.map(|s| s[1]),
            lines: list_to_wire(lines),
        }
    }

    fn from_wire(wire: v1::Stability, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Stability { frequency_hz, sway_stiffness_x_n_mm, sway_stiffness_y_n_mm, lines } = wire;
        let sway_stiffness_n_mm = sway_stiffness_x_n_mm.zip(sway_stiffness_y_n_mm).map(|(x, y)| [x, y]);
        Some(Self { frequency_hz, sway_stiffness_n_mm, lines: list(lines, &at.field("lines"), faults)? })
    }
}

impl OnWire for StabilityLine {
    type Wire = v1::StabilityLine;

    fn to_wire(&self) -> v1::StabilityLine {
        let Self { combination, buckling_factor, sways, second_order, members } = self;
        v1::StabilityLine {
            combination: combination.clone(),
            buckling_factor: *buckling_factor,
            sways: *sways,
            second_order: *second_order,
            members: members.clone(),
        }
    }

    fn from_wire(wire: v1::StabilityLine, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::StabilityLine { combination, buckling_factor, sways, second_order, members } = wire;
        Some(Self { combination, buckling_factor, sways, second_order, members })
    }
}

impl OnWire for HoldDown {
    type Wire = v1::HoldDown;

    fn to_wire(&self) -> v1::HoldDown {
        let Self { anchor, combination, force_n } = self;
        v1::HoldDown { anchor: anchor.clone(), combination: combination.clone(), force_n: *force_n }
    }

    fn from_wire(wire: v1::HoldDown, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::HoldDown { anchor, combination, force_n } = wire;
        Some(Self { anchor, combination, force_n })
    }
}

impl OnWire for Headroom {
    type Wire = v1::Headroom;

    fn to_wire(&self) -> v1::Headroom {
        let Self { deck, under, clear_mm, mattress_mm, enough_for, next_mm } = self;
        v1::Headroom {
            deck: deck.clone(),
            clear_mm: *clear_mm,
            mattress_mm: *mattress_mm,
            enough_for: enough_for.to_wire(),
            next_mm: *next_mm,
            under: under.clone(),
        }
    }

    fn from_wire(wire: v1::Headroom, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Headroom { deck, clear_mm, mattress_mm, enough_for, next_mm, under } = wire;
        let enough_for = Room::from_wire(enough_for, &at.field("enough_for"), faults)?;
        Some(Self { deck, under, clear_mm, mattress_mm, enough_for, next_mm })
    }
}
