//! Loads given outright.

use super::{
    onwire::{OnWire, chosen, required_value},
    path::Path,
};
use crate::v1::{self, load};
use battenboard_engine::design::{Action, Axes, Load, LoadKind, Violation};

impl OnWire for Load {
    type Wire = v1::Load;

    fn to_wire(&self) -> v1::Load {
        let Self { case, action, what } = self;
        v1::Load { case: case.clone(), action: action.to_wire(), what: Some(what_to_wire(what)) }
    }

    fn from_wire(wire: v1::Load, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Load { case, action, what } = wire;
        let action = Action::from_wire(action, &at.field("action"), faults);
        // A oneof adds no step to a field path: the path of its choice is a field of the load.
        let what = chosen(what, &at.field("what"), faults).and_then(|what| what_from_wire(what, at, faults));
        Some(Self { case, action: action?, what: what? })
    }
}

fn what_to_wire(what: &LoadKind) -> load::What {
    match what {
        LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes } => load::What::Point(v1::PointLoad {
            member: member.clone(),
            at_mm: *at_mm,
            force: Some((*force_n).into()),
            moment: Some((*moment_n_mm).into()),
            axes: axes.to_wire(),
        }),
        LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes } => load::What::Line(v1::LineLoad {
            member: member.clone(),
            from_mm: *from_mm,
            to_mm: *to_mm,
            start: Some((*start_n_mm).into()),
            end: Some((*end_n_mm).into()),
            axes: axes.to_wire(),
        }),
        LoadKind::Mass { member, at_mm, mass_kg } => {
            load::What::Mass(v1::MassLoad { member: member.clone(), at_mm: *at_mm, mass_kg: *mass_kg })
        }
        LoadKind::Area { deck, pressure_n_mm2 } => {
            load::What::Area(v1::AreaLoad { deck: deck.clone(), pressure_n_mm2: *pressure_n_mm2 })
        }
    }
}

fn what_from_wire(what: load::What, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<LoadKind> {
    Some(match what {
        load::What::Point(v1::PointLoad { member, at_mm, force, moment, axes }) => LoadKind::Point {
            member,
            at_mm,
            force_n: force.map(Into::into).unwrap_or_default(),
            moment_n_mm: moment.map(Into::into).unwrap_or_default(),
            axes: Axes::from_wire(axes, &at.field("point").field("axes"), faults)?,
        },
        load::What::Line(v1::LineLoad { member, from_mm, to_mm, start, end, axes }) => {
            let at = at.field("line");
            let start = required_value(start, &at.field("start"), faults);
            let end = required_value(end, &at.field("end"), faults);
            let axes = Axes::from_wire(axes, &at.field("axes"), faults);
            LoadKind::Line { member, from_mm, to_mm, start_n_mm: start?, end_n_mm: end?, axes: axes? }
        }
        load::What::Mass(v1::MassLoad { member, at_mm, mass_kg }) => LoadKind::Mass { member, at_mm, mass_kg },
        load::What::Area(v1::AreaLoad { deck, pressure_n_mm2 }) => LoadKind::Area { deck, pressure_n_mm2 },
    })
}
