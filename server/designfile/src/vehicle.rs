//! `[vehicle]`: measures, plate and weighings.

use crate::desk::Desk;
use crate::fields::Fields;
use crate::unit::Kind;
use battenboard_engine::design::{Inside, Seat, Vehicle};

/// The words of a vehicle, in the order in which they are written.
pub(crate) const VEHICLE: [&str; 12] = [
    "name",
    "survey",
    "wheelbase",
    "track",
    "gross_limit",
    "front_limit",
    "rear_limit",
    "weighed_front",
    "weighed_rear",
    "length",
    "seats",
    "inside",
];

/// Mass of a passenger by the paperwork, kg (Reg. (EU) 1230/2012).
pub(crate) const SEAT_KG: f64 = 75.0;

/// Most seats of a vehicle.
const SEAT_LIMIT: usize = 64;

pub(crate) fn read(desk: &mut Desk<'_>, root: &Fields<'_>) -> Vehicle {
    let Some(node) = root.get("vehicle") else { return Vehicle::default() };
    if matches!(node.value, toml::de::DeValue::Array(_)) {
        let draft = node.draft("`vehicle` is one table, here is a list of them");
        desk.say(draft.mend("write `[vehicle]` with one bracket on each side"));
        return Vehicle::default();
    }
    let Some(fields) = Fields::open(desk, &node, "a vehicle", &VEHICLE) else { return Vehicle::default() };
    Vehicle {
        name: fields.text(desk, "name").unwrap_or_default(),
        survey: fields.get("survey").and_then(|node| node.whole(desk, 0, u32::MAX)).unwrap_or_default(),
        wheelbase_mm: fields.number(desk, "wheelbase", Kind::Length),
        track_mm: fields.number(desk, "track", Kind::Length),
        gross_limit_kg: fields.number(desk, "gross_limit", Kind::Mass),
        front_limit_kg: fields.number(desk, "front_limit", Kind::Mass),
        rear_limit_kg: fields.number(desk, "rear_limit", Kind::Mass),
        weighed_front_kg: fields.number(desk, "weighed_front", Kind::Mass),
        weighed_rear_kg: fields.number(desk, "weighed_rear", Kind::Mass),
        length_mm: fields.number(desk, "length", Kind::Length),
        seats: seats(desk, &fields),
        inside: inside(desk, &fields),
    }
}

fn seats(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Vec<Seat> {
    let nodes = fields.get("seats").map(|node| node.items(desk, "seats")).unwrap_or_default();
    if let Some(node) = nodes.get(SEAT_LIMIT) {
        desk.say(node.draft(format!("there are {} seats, at most {SEAT_LIMIT} are read", nodes.len())));
        return Vec::new();
    }
    let mut seats = Vec::with_capacity(nodes.len());
    for node in &nodes {
        if let Some(seat) = Fields::open(desk, node, "a seat", &["x", "y", "mass"]) {
            seats.push(Seat {
                x_mm: seat.need_number(desk, "x", Kind::Length, "900"),
                y_mm: seat.need_number(desk, "y", Kind::Length, "400"),
                mass_kg: seat.number(desk, "mass", Kind::Mass).unwrap_or(SEAT_KG),
            });
        }
    }
    seats
}

fn inside(desk: &mut Desk<'_>, fields: &Fields<'_>) -> Option<Inside> {
    let node = fields.get("inside")?;
    let fields = Fields::open(desk, &node, "the inside", &["from", "to"])?;
    let from = fields.need(desk, "from", "[1500, -890, 0]").and_then(|node| node.point(desk));
    let to = fields.need(desk, "to", "[4700, 890, 1900]").and_then(|node| node.point(desk));
    Some(Inside { from: from?, to: to? })
}
