//! Results in full precision.

use super::{
    onwire::{OnWire, list, list_to_wire, optional, required, required_value},
    path::Path,
};
use crate::v1;
use battenboard_engine::{
    design::Violation,
    findings::{Extreme, MemberResults, PlaceResults, PointForces, Results, StateResults},
};

impl OnWire for Results {
    type Wire = v1::Results;

    fn to_wire(&self) -> v1::Results {
        let Self { states } = self;
        v1::Results { states: list_to_wire(states) }
    }

    fn from_wire(wire: v1::Results, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Results { states } = wire;
        Some(Self { states: list(states, &at.field("states"), faults)? })
    }
}

impl OnWire for StateResults {
    type Wire = v1::StateResults;

    fn to_wire(&self) -> v1::StateResults {
        let Self { name, combined, limit_state, members, reactions, joints } = self;
        v1::StateResults {
            name: name.clone(),
            combined: *combined,
            members: list_to_wire(members),
            reactions: list_to_wire(reactions),
            joints: list_to_wire(joints),
            limit_state: limit_state.as_ref().map(OnWire::to_wire),
        }
    }

    fn from_wire(wire: v1::StateResults, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::StateResults { name, combined, members, reactions, joints, limit_state } = wire;
        let members = list(members, &at.field("members"), faults);
        let reactions = list(reactions, &at.field("reactions"), faults);
        let joints = list(joints, &at.field("joints"), faults);
        let limit_state = optional(limit_state, &at.field("limit_state"), faults);
        Some(Self {
            name,
            combined,
            limit_state: limit_state?,
            members: members?,
            reactions: reactions?,
            joints: joints?,
        })
    }
}

impl OnWire for MemberResults {
    type Wire = v1::MemberResults;

    fn to_wire(&self) -> v1::MemberResults {
        let Self { tag, places, extremes } = self;
        v1::MemberResults { tag: tag.clone(), places: list_to_wire(places), extremes: list_to_wire(extremes) }
    }

    fn from_wire(wire: v1::MemberResults, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::MemberResults { tag, places, extremes } = wire;
        let places = list(places, &at.field("places"), faults);
        let extremes = list(extremes, &at.field("extremes"), faults);
        Some(Self { tag, places: places?, extremes: extremes? })
    }
}

impl OnWire for PlaceResults {
    type Wire = v1::PlaceResults;

    fn to_wire(&self) -> v1::PlaceResults {
        let Self { at_mm, displacement, forces_before, forces_after } = self;
        v1::PlaceResults {
            at_mm: *at_mm,
            displacement: Some((*displacement).into()),
            forces_before: Some(forces_before.to_wire()),
            forces_after: Some(forces_after.to_wire()),
        }
    }

    fn from_wire(wire: v1::PlaceResults, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::PlaceResults { at_mm, displacement, forces_before, forces_after } = wire;
        let displacement = required_value(displacement, &at.field("displacement"), faults);
        let forces_before = required(forces_before, &at.field("forces_before"), faults);
        let forces_after = required(forces_after, &at.field("forces_after"), faults);
        Some(Self { at_mm, displacement: displacement?, forces_before: forces_before?, forces_after: forces_after? })
    }
}

impl OnWire for Extreme {
    type Wire = v1::Extreme;

    fn to_wire(&self) -> v1::Extreme {
        let Self { quantity, least, least_at_mm, greatest, greatest_at_mm } = self;
        v1::Extreme {
            quantity: quantity.clone(),
            least: *least,
            least_at_mm: *least_at_mm,
            greatest: *greatest,
            greatest_at_mm: *greatest_at_mm,
        }
    }

    fn from_wire(wire: v1::Extreme, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Extreme { quantity, least, least_at_mm, greatest, greatest_at_mm } = wire;
        Some(Self { quantity, least, least_at_mm, greatest, greatest_at_mm })
    }
}

impl OnWire for PointForces {
    type Wire = v1::PointForces;

    fn to_wire(&self) -> v1::PointForces {
        let Self { tag, force_n, moment_n_mm } = self;
        v1::PointForces { tag: tag.clone(), force: Some((*force_n).into()), moment: Some((*moment_n_mm).into()) }
    }

    fn from_wire(wire: v1::PointForces, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::PointForces { tag, force, moment } = wire;
        let force_n = required_value(force, &at.field("force"), faults);
        let moment_n_mm = required_value(moment, &at.field("moment"), faults);
        Some(Self { tag, force_n: force_n?, moment_n_mm: moment_n_mm? })
    }
}
