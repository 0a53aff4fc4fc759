//! The design as a whole, its vehicle, members and settings.

use super::{
    onwire::{OnWire, list, list_to_wire, optional, required, required_value, whole},
    path::Path,
};
use crate::v1;
use battenboard_engine::design::{
    Design, Face, Hole, Inside, Member, Notch, Seat, Settings, ToBeMeasured, Vehicle, Violation,
};

impl OnWire for Design {
    type Wire = v1::Frame;

    fn to_wire(&self) -> v1::Frame {
        let Self {
            name,
            title,
            vehicle,
            stock,
            members,
            joints,
            anchors,
            decks,
            stowage,
            people,
            loads,
            settings,
            to_be_measured,
        } = self;
        v1::Frame {
            name: name.clone(),
            title: title.clone(),
            vehicle: Some(vehicle.to_wire()),
            stock: list_to_wire(stock),
            members: list_to_wire(members),
            joints: list_to_wire(joints),
            anchors: list_to_wire(anchors),
            decks: list_to_wire(decks),
            stowage: list_to_wire(stowage),
            people: list_to_wire(people),
            loads: list_to_wire(loads),
            settings: Some(settings.to_wire()),
            to_be_measured: list_to_wire(to_be_measured),
        }
    }

    fn from_wire(wire: v1::Frame, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Frame {
            name,
            title,
            vehicle,
            stock,
            members,
            joints,
            anchors,
            decks,
            stowage,
            people,
            loads,
            settings,
            to_be_measured,
        } = wire;
        let vehicle = required(vehicle, &at.field("vehicle"), faults);
        let stock = list(stock, &at.field("stock"), faults);
        let members = list(members, &at.field("members"), faults);
        let joints = list(joints, &at.field("joints"), faults);
        let anchors = list(anchors, &at.field("anchors"), faults);
        let decks = list(decks, &at.field("decks"), faults);
        let stowage = list(stowage, &at.field("stowage"), faults);
        let people = list(people, &at.field("people"), faults);
        let loads = list(loads, &at.field("loads"), faults);
        let settings: Option<Option<Settings>> = optional(settings, &at.field("settings"), faults);
        let to_be_measured = list(to_be_measured, &at.field("to_be_measured"), faults);
        Some(Self {
            name,
            title,
            vehicle: vehicle?,
            stock: stock?,
            members: members?,
            joints: joints?,
            anchors: anchors?,
            decks: decks?,
            stowage: stowage?,
            people: people?,
            loads: loads?,
            settings: settings?.unwrap_or_default(),
            to_be_measured: to_be_measured?,
        })
    }
}

impl OnWire for Vehicle {
    type Wire = v1::Vehicle;

    fn to_wire(&self) -> v1::Vehicle {
        let Self {
            name,
            survey,
            wheelbase_mm,
            track_mm,
            gross_limit_kg,
            front_limit_kg,
            rear_limit_kg,
            weighed_front_kg,
            weighed_rear_kg,
            length_mm,
            seats,
            inside,
        } = self;
        v1::Vehicle {
            name: name.clone(),
            survey: i64::from(*survey),
            wheelbase_mm: *wheelbase_mm,
            track_mm: *track_mm,
            gross_limit_kg: *gross_limit_kg,
            front_limit_kg: *front_limit_kg,
            rear_limit_kg: *rear_limit_kg,
            weighed_front_kg: *weighed_front_kg,
            weighed_rear_kg: *weighed_rear_kg,
            length_mm: *length_mm,
            seats: list_to_wire(seats),
            inside: inside.as_ref().map(Inside::to_wire),
        }
    }

    fn from_wire(wire: v1::Vehicle, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Vehicle {
            name,
            survey,
            wheelbase_mm,
            track_mm,
            gross_limit_kg,
            front_limit_kg,
            rear_limit_kg,
            weighed_front_kg,
            weighed_rear_kg,
            length_mm,
            seats,
            inside,
        } = wire;
        let survey = whole(survey, &at.field("survey"), faults);
        let seats = list(seats, &at.field("seats"), faults);
        let inside = optional(inside, &at.field("inside"), faults);
        Some(Self {
            name,
            survey: survey?,
            wheelbase_mm,
            track_mm,
            gross_limit_kg,
            front_limit_kg,
            rear_limit_kg,
            weighed_front_kg,
            weighed_rear_kg,
            length_mm,
            seats: seats?,
            inside: inside?,
        })
    }
}

impl OnWire for Seat {
    type Wire = v1::Seat;

    fn to_wire(&self) -> v1::Seat {
        let Self { x_mm, y_mm, mass_kg } = *self;
        v1::Seat { x_mm, y_mm, mass_kg }
    }

    fn from_wire(wire: v1::Seat, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Seat { x_mm, y_mm, mass_kg } = wire;
        Some(Self { x_mm, y_mm, mass_kg })
    }
}

impl OnWire for Inside {
    type Wire = v1::Inside;

    fn to_wire(&self) -> v1::Inside {
        let Self { from, to } = *self;
        v1::Inside { from: Some(from.into()), to: Some(to.into()) }
    }

    fn from_wire(wire: v1::Inside, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Inside { from, to } = wire;
        let from = required_value(from, &at.field("from"), faults);
        let to = required_value(to, &at.field("to"), faults);
        Some(Self { from: from?, to: to? })
    }
}

impl OnWire for Member {
    type Wire = v1::Member;

    fn to_wire(&self) -> v1::Member {
        let Self {
            tag,
            kind,
            stock,
            from,
            to,
            up,
            roll_deg,
            held_depth_mm,
            held_width_mm,
            sag_limit_mm,
            notches,
            holes,
        } = self;
        v1::Member {
            tag: tag.clone(),
            kind: kind.clone(),
            stock: stock.clone(),
            from: Some((*from).into()),
            to: Some((*to).into()),
            up: up.map(Into::into),
            roll_deg: *roll_deg,
            held_depth_mm: *held_depth_mm,
            held_width_mm: *held_width_mm,
            sag_limit_mm: *sag_limit_mm,
            notches: list_to_wire(notches),
            holes: list_to_wire(holes),
        }
    }

    fn from_wire(wire: v1::Member, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Member {
            tag,
            kind,
            stock,
            from,
            to,
            up,
            roll_deg,
            held_depth_mm,
            held_width_mm,
            sag_limit_mm,
            notches,
            holes,
        } = wire;
        let from = required_value(from, &at.field("from"), faults);
        let to = required_value(to, &at.field("to"), faults);
        let notches = list(notches, &at.field("notches"), faults);
        let holes = list(holes, &at.field("holes"), faults);
        Some(Self {
            tag,
            kind,
            stock,
            from: from?,
            to: to?,
            up: up.map(Into::into),
            roll_deg,
            held_depth_mm,
            held_width_mm,
            sag_limit_mm,
            notches: notches?,
            holes: holes?,
        })
    }
}

impl OnWire for Notch {
    type Wire = v1::Notch;

    fn to_wire(&self) -> v1::Notch {
        let Self { from_mm, to_mm, depth_mm, face, slope } = *self;
        v1::Notch { from_mm, to_mm, depth_mm, face: face.to_wire(), slope }
    }

    fn from_wire(wire: v1::Notch, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Notch { from_mm, to_mm, depth_mm, face, slope } = wire;
        let face = Face::from_wire(face, &at.field("face"), faults)?;
        Some(Self { from_mm, to_mm, depth_mm, face, slope })
    }
}

impl OnWire for Hole {
    type Wire = v1::Hole;

    fn to_wire(&self) -> v1::Hole {
        let Self { at_mm, diameter_mm, through_depth, off_mm } = *self;
        v1::Hole { at_mm, diameter_mm, through_depth, off_mm }
    }

    fn from_wire(wire: v1::Hole, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Hole { at_mm, diameter_mm, through_depth, off_mm } = wire;
        Some(Self { at_mm, diameter_mm, through_depth, off_mm })
    }
}

impl OnWire for ToBeMeasured {
    type Wire = v1::ToBeMeasured;

    fn to_wire(&self) -> v1::ToBeMeasured {
        let Self { tag, what } = self;
        v1::ToBeMeasured { tag: tag.clone(), what: what.clone() }
    }

    fn from_wire(wire: v1::ToBeMeasured, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::ToBeMeasured { tag, what } = wire;
        Some(Self { tag, what })
    }
}

impl OnWire for Settings {
    type Wire = v1::Settings;

    fn to_wire(&self) -> v1::Settings {
        let Self { service_class, person_kg, gamma_permanent, gamma_variable, span_over_sag, road_g } = *self;
        v1::Settings {
            service_class: service_class.map(i32::from),
            person_kg,
            gamma_permanent,
            gamma_variable,
            span_over_sag,
            road: road_g.map(Into::into),
        }
    }

    fn from_wire(wire: v1::Settings, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Settings { service_class, person_kg, gamma_permanent, gamma_variable, span_over_sag, road } = wire;
        let service_class = match service_class {
            Some(class) => Some(whole(class, &at.field("service_class"), faults)?),
            None => None,
        };
        Some(Self {
            service_class,
            person_kg,
            gamma_permanent,
            gamma_variable,
            span_over_sag,
            road_g: road.map(Into::into),
        })
    }
}
