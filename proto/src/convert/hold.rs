//! Joints and anchors, and what they hold.

use super::{
    enums::known,
    onwire::{OnWire, chosen, required},
    path::Path,
};
use crate::v1::{self, SimpleGrip, SimpleHold, direction_grip, hold, turn_grip};
use battenboard_engine::design::{Anchor, Axes, Grip, Hold, Joint, Violation};

impl OnWire for Joint {
    type Wire = v1::Joint;

    fn to_wire(&self) -> v1::Joint {
        let Self { tag, member, on, at_mm, on_at_mm, hold, axes, contact_mm } = self;
        v1::Joint {
            tag: tag.clone(),
            member: member.clone(),
            on: on.clone(),
            at_mm: *at_mm,
            on_at_mm: *on_at_mm,
            hold: Some(hold.to_wire()),
            axes: axes.to_wire(),
            contact: contact_mm.map(Into::into),
        }
    }

    fn from_wire(wire: v1::Joint, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Joint { tag, member, on, at_mm, on_at_mm, hold, axes, contact } = wire;
        let hold = required(hold, &at.field("hold"), faults);
        let axes = Axes::from_wire(axes, &at.field("axes"), faults);
        Some(Self { tag, member, on, at_mm, on_at_mm, hold: hold?, axes: axes?, contact_mm: contact.map(Into::into) })
    }
}

impl OnWire for Anchor {
    type Wire = v1::Anchor;

    fn to_wire(&self) -> v1::Anchor {
        let Self { tag, member, at_mm, to, hold, axes, settlement, contact_mm } = self;
        v1::Anchor {
            tag: tag.clone(),
            member: member.clone(),
            at_mm: *at_mm,
            to: to.clone(),
            hold: Some(hold.to_wire()),
            axes: axes.to_wire(),
            settlement: Some((*settlement).into()),
            contact_mm: *contact_mm,
        }
    }

    fn from_wire(wire: v1::Anchor, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Anchor { tag, member, at_mm, to, hold, axes, settlement, contact_mm } = wire;
        let hold = required(hold, &at.field("hold"), faults);
        let axes = Axes::from_wire(axes, &at.field("axes"), faults);
        let settlement = settlement.map(Into::into).unwrap_or_default();
        Some(Self { tag, member, at_mm, to, hold: hold?, axes: axes?, settlement, contact_mm })
    }
}

impl OnWire for Hold {
    type Wire = v1::Hold;

    fn to_wire(&self) -> v1::Hold {
        let hold = match self {
            Self::Rigid => hold::Hold::Simple(SimpleHold::Rigid.into()),
            Self::Pinned => hold::Hold::Simple(SimpleHold::Pinned.into()),
            Self::Seated => hold::Hold::Simple(SimpleHold::Seated.into()),
            Self::Given([x, y, z, turn_x, turn_y, turn_z]) => hold::Hold::Given(v1::GivenHold {
                x: Some(direction_to_wire(*x)),
                y: Some(direction_to_wire(*y)),
                z: Some(direction_to_wire(*z)),
                turn_x: Some(turn_to_wire(*turn_x)),
                turn_y: Some(turn_to_wire(*turn_y)),
                turn_z: Some(turn_to_wire(*turn_z)),
            }),
        };
        v1::Hold { hold: Some(hold) }
    }

    fn from_wire(wire: v1::Hold, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Hold { hold } = wire;
        match chosen(hold, at, faults)? {
            hold::Hold::Simple(simple) => {
                match known(simple, SimpleHold::Unspecified, &at.field("simple"), faults)? {
                    // Kept out by `known`; named so that the match has no wildcard.
                    SimpleHold::Unspecified => None,
                    SimpleHold::Rigid => Some(Self::Rigid),
                    SimpleHold::Pinned => Some(Self::Pinned),
                    SimpleHold::Seated => Some(Self::Seated),
                }
            }
            hold::Hold::Given(v1::GivenHold { x, y, z, turn_x, turn_y, turn_z }) => {
                let at = at.field("given");
                let x = direction_from_wire(x, &at.field("x"), faults);
                let y = direction_from_wire(y, &at.field("y"), faults);
                let z = direction_from_wire(z, &at.field("z"), faults);
                let turn_x = turn_from_wire(turn_x, &at.field("turn_x"), faults);
                let turn_y = turn_from_wire(turn_y, &at.field("turn_y"), faults);
                let turn_z = turn_from_wire(turn_z, &at.field("turn_z"), faults);
                Some(Self::Given([x?, y?, z?, turn_x?, turn_y?, turn_z?]))
            }
        }
    }
}

// The engine has one `Grip`; on the wire a spring's unit is in its field's name, so that directions and turns differ.

fn direction_to_wire(grip: Grip) -> v1::DirectionGrip {
    let grip = match grip {
        Grip::Free => direction_grip::Grip::Simple(SimpleGrip::Free.into()),
        Grip::Rigid => direction_grip::Grip::Simple(SimpleGrip::Rigid.into()),
        Grip::Spring(stiffness) => direction_grip::Grip::SpringNPerMm(stiffness),
    };
    v1::DirectionGrip { grip: Some(grip) }
}

fn turn_to_wire(grip: Grip) -> v1::TurnGrip {
    let grip = match grip {
        Grip::Free => turn_grip::Grip::Simple(SimpleGrip::Free.into()),
        Grip::Rigid => turn_grip::Grip::Simple(SimpleGrip::Rigid.into()),
        Grip::Spring(stiffness) => turn_grip::Grip::SpringNMmPerRad(stiffness),
    };
    v1::TurnGrip { grip: Some(grip) }
}

fn direction_from_wire(wire: Option<v1::DirectionGrip>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Grip> {
    match chosen(wire.and_then(|wire| wire.grip), at, faults)? {
        direction_grip::Grip::Simple(simple) => simple_from_wire(simple, at, faults),
        direction_grip::Grip::SpringNPerMm(stiffness) => Some(Grip::Spring(stiffness)),
    }
}

fn turn_from_wire(wire: Option<v1::TurnGrip>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Grip> {
    match chosen(wire.and_then(|wire| wire.grip), at, faults)? {
        turn_grip::Grip::Simple(simple) => simple_from_wire(simple, at, faults),
        turn_grip::Grip::SpringNMmPerRad(stiffness) => Some(Grip::Spring(stiffness)),
    }
}

fn simple_from_wire(simple: i32, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Grip> {
    match known(simple, SimpleGrip::Unspecified, &at.field("simple"), faults)? {
        // Kept out by `known`; named so that the match has no wildcard.
        SimpleGrip::Unspecified => None,
        SimpleGrip::Free => Some(Grip::Free),
        SimpleGrip::Rigid => Some(Grip::Rigid),
    }
}
