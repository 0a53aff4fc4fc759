//! Counts and numbers: finite, in range, sizes that a frame can have.

use crate::design::{Design, Grip, Hold, Material, Section, Stock, TO_BE_MEASURED_MAX, Vector, Vehicle, Violation};

/// Farthest a point may lie from the front axle, mm. Generous, so that a textbook frame in any unit fits.
const COORDINATE_MAX: f64 = 1e7;
/// Most seats of a vehicle.
const SEATS_MAX: usize = 64;
/// Largest number of any kind; a design file holds none that is larger.
pub const MEASURE_MAX: f64 = 1e18;
const LENGTH_RANGE: std::ops::RangeInclusive<f64> = 1e-3..=1e6;

/// Checks counts. True when the design is too large to go on.
pub fn counts(design: &Design, violations: &mut Vec<Violation>) -> bool {
    let limits = [
        ("members", design.members.len(), super::MEMBERS_MAX),
        ("joints", design.joints.len(), 6 * super::MEMBERS_MAX),
        ("anchors", design.anchors.len(), 2 * super::MEMBERS_MAX),
        ("stock", design.stock.len(), 64),
        ("decks", design.decks.len(), 1_000),
        ("stowage", design.stowage.len(), 64),
        ("people", design.people.len(), 64),
        ("loads", design.loads.len(), 4 * super::MEMBERS_MAX),
        ("vehicle.seats", design.vehicle.seats.len(), SEATS_MAX),
        ("to_be_measured", design.to_be_measured.len(), TO_BE_MEASURED_MAX),
    ];
    for (path, count, limit) in limits {
        if count > limit {
            violations.push(Violation::new(path, format!("{count} {path}, at most {limit} are taken")));
        }
    }
    let cuts: usize = design.members.iter().map(|m| m.notches.len() + m.holes.len()).sum();
    if cuts > super::MEMBERS_MAX {
        let message = format!("{cuts} notches and holes in all, at most {} are taken", super::MEMBERS_MAX);
        violations.push(Violation::new("members", message));
    }
    if violations.is_empty() && design.members.is_empty() {
        violations.push(Violation::new("members", "the design has no members").mend("state at least one member"));
    }
    !violations.is_empty()
}

struct Collector<'a> {
    violations: &'a mut Vec<Violation>,
}

impl Collector<'_> {
    fn say(&mut self, path: String, message: String) {
        self.violations.push(Violation::new(path, message));
    }

    fn within(&mut self, path: impl Fn() -> String, value: f64, least: f64, most: f64, unit: &str) {
        // Written so that NaN is out of range too.
        if !(value >= least && value <= most) {
            self.say(path(), format!("{value} {unit} is not between {least} and {most} {unit}"));
        }
    }

    fn measured(&mut self, path: impl Fn() -> String, values: &[f64]) {
        if let Some(bad) = values.iter().find(|v| v.is_nan() || v.abs() > MEASURE_MAX) {
            self.say(path(), format!("{bad} is not a number that can be measured"));
        }
    }

    fn point(&mut self, path: impl Fn() -> String, point: &Vector) {
        if let Some(bad) = point.iter().find(|v| v.is_nan() || v.abs() > COORDINATE_MAX) {
            self.say(path(), format!("{bad} mm is not a place in a vehicle"));
        }
    }
}

/// Checks every number.
pub fn values(design: &Design, violations: &mut Vec<Violation>) {
    let mut collector = Collector { violations };
    vehicle(&design.vehicle, &mut collector);
    for (i, s) in design.stock.iter().enumerate() {
        stock(s, &format!("stock[{i}]"), &mut collector);
    }
    members(design, &mut collector);
    holds(design, &mut collector);
    surfaces(design, &mut collector);
    settings(design, &mut collector);
}

/// Checks every number of a vehicle that stands alone.
pub fn of_vehicle(of: &Vehicle, violations: &mut Vec<Violation>) {
    let (count, limit) = (of.seats.len(), SEATS_MAX);
    if count > limit {
        violations.push(Violation::new("vehicle.seats", format!("{count} seats, at most {limit} are taken")));
        return;
    }
    vehicle(of, &mut Collector { violations });
}

fn vehicle(v: &Vehicle, c: &mut Collector) {
    let figures = [
        ("wheelbase", v.wheelbase_mm, 500.0, 20_000.0, "mm"),
        ("track", v.track_mm, 300.0, 5_000.0, "mm"),
        ("gross_limit", v.gross_limit_kg, 1.0, 60_000.0, "kg"),
        ("front_limit", v.front_limit_kg, 1.0, 60_000.0, "kg"),
        ("rear_limit", v.rear_limit_kg, 1.0, 60_000.0, "kg"),
        ("weighed_front", v.weighed_front_kg, 0.0, 60_000.0, "kg"),
        ("weighed_rear", v.weighed_rear_kg, 0.0, 60_000.0, "kg"),
        ("length", v.length_mm, 500.0, 30_000.0, "mm"),
    ];
    for (name, value, least, most, unit) in figures {
        if let Some(value) = value {
            c.within(|| format!("vehicle.{name}"), value, least, most, unit);
        }
    }
    for (i, seat) in v.seats.iter().enumerate() {
        c.measured(|| format!("vehicle.seats[{i}]"), &[seat.x_mm, seat.y_mm]);
        c.within(|| format!("vehicle.seats[{i}].mass"), seat.mass_kg, 0.0, 300.0, "kg");
    }
    if let Some(inside) = &v.inside {
        c.point(|| "vehicle.inside.from".into(), &inside.from);
        c.point(|| "vehicle.inside.to".into(), &inside.to);
    }
}

fn stock(stock: &Stock, path: &str, c: &mut Collector) {
    section(&stock.section, &format!("{path}.section"), c);
    if let Material::Given { e_n_mm2, g_n_mm2, density_kg_m3 } = &stock.material {
        c.within(|| format!("{path}.material.e"), *e_n_mm2, 1e-6, 1e15, "N/mm2");
        c.within(|| format!("{path}.material.g"), *g_n_mm2, 1e-6, 1e15, "N/mm2");
        c.within(|| format!("{path}.material.density"), *density_kg_m3, 0.0, 25_000.0, "kg/m3");
    }
    for length in &stock.lengths_mm {
        c.within(|| format!("{path}.lengths"), *length, 10.0, 30_000.0, "mm");
    }
    if let Some(price) = stock.price_per_m {
        c.within(|| format!("{path}.price"), price, 0.0, 1e6, "a metre");
    }
}

fn section(section: &Section, path: &str, c: &mut Collector) {
    let mut size = |name: &str, value: f64| c.within(|| format!("{path}.{name}"), value, 0.1, 2_000.0, "mm");
    match section {
        Section::Rectangle { width_mm, depth_mm } => {
            size("width", *width_mm);
            size("depth", *depth_mm);
        }
        Section::Round { diameter_mm } => size("diameter", *diameter_mm),
        Section::RectangularTube { width_mm, depth_mm, wall_mm } => {
            size("width", *width_mm);
            size("depth", *depth_mm);
            wall(path, *wall_mm, width_mm.min(*depth_mm), c);
        }
        Section::RoundTube { diameter_mm, wall_mm } => {
            size("diameter", *diameter_mm);
            wall(path, *wall_mm, *diameter_mm, c);
        }
        Section::Given(given) => {
            let needed = [("area", given.area_mm2), ("iy", given.iy_mm4), ("iz", given.iz_mm4), ("j", given.j_mm4)];
            let extra = [
                ("shear_area_y", given.shear_area_y_mm2),
                ("shear_area_z", given.shear_area_z_mm2),
                ("wy", given.wy_mm3),
                ("wz", given.wz_mm3),
                ("width", given.width_mm),
                ("depth", given.depth_mm),
            ];
            let extra = extra.into_iter().filter_map(|(name, value)| value.map(|v| (name, v)));
            for (name, value) in needed.into_iter().chain(extra) {
                c.within(|| format!("{path}.{name}"), value, 1e-12, 1e18, "");
            }
        }
    }
}

fn wall(path: &str, wall: f64, outer: f64, c: &mut Collector) {
    if !(wall >= 0.1 && wall <= 0.5 * outer) {
        c.say(format!("{path}.wall"), format!("a wall of {wall} mm does not fit a tube of {outer} mm"));
    }
}

fn members(design: &Design, c: &mut Collector) {
    for (i, m) in design.members.iter().enumerate() {
        c.point(|| format!("members[{i}].from"), &m.from);
        c.point(|| format!("members[{i}].to"), &m.to);
        let length = (0..3).map(|k| (m.to[k] - m.from[k]).powi(2)).sum::<f64>().sqrt();
        if length.is_finite() && !LENGTH_RANGE.contains(&length) {
            let message = format!("`{}` is {length} mm long", m.tag);
            c.violations
                .push(Violation::new(format!("members[{i}].to"), message).mend("give its two ends different places"));
        }
        c.measured(|| format!("members[{i}].roll"), &[m.roll_deg]);
        if let Some(up) = &m.up {
            c.measured(|| format!("members[{i}].up"), up);
        }
        for (name, value) in [("held_depth", m.held_depth_mm), ("held_width", m.held_width_mm)] {
            if let Some(value) = value {
                c.within(|| format!("members[{i}].{name}"), value, 1.0, 1e6, "mm");
            }
        }
        if let Some(limit) = m.sag_limit_mm {
            c.within(|| format!("members[{i}].sag_limit"), limit, 0.01, 1e4, "mm");
        }
    }
}

fn holds(design: &Design, c: &mut Collector) {
    for (i, joint) in design.joints.iter().enumerate() {
        hold(&joint.hold, &format!("joints[{i}].hold"), c);
        let places: Vec<f64> = joint.at_mm.into_iter().chain(joint.on_at_mm).collect();
        c.measured(|| format!("joints[{i}].at"), &places);
    }
    for (i, anchor) in design.anchors.iter().enumerate() {
        hold(&anchor.hold, &format!("anchors[{i}].hold"), c);
        c.measured(|| format!("anchors[{i}].at"), &[anchor.at_mm]);
        c.measured(|| format!("anchors[{i}].settlement"), &anchor.settlement);
        settlement(anchor, i, c);
    }
}

fn settlement(anchor: &crate::design::Anchor, index: usize, c: &mut Collector) {
    let free = |k: usize| match &anchor.hold {
        Hold::Rigid => false,
        Hold::Pinned => k > 2,
        // The roll it holds is the member's own; a turn stated in vehicle axes would also ask for turns that are free.
        Hold::Seated => k > 3 || (k == 3 && anchor.axes == crate::design::Axes::Vehicle),
        Hold::Given(grips) => grips[k] == Grip::Free,
    };
    if (0..6).any(|k| anchor.settlement[k] != 0.0 && free(k)) {
        c.say(
            format!("anchors[{index}].settlement"),
            "a settlement in a direction that is not held moves nothing".into(),
        );
    }
}

fn hold(hold: &Hold, path: &str, c: &mut Collector) {
    let Hold::Given(grips) = hold else { return };
    for grip in grips {
        if let Grip::Spring(stiffness) = grip {
            c.within(|| path.to_owned(), *stiffness, 1e-9, 1e15, "N/mm or N mm/rad");
        }
    }
}

fn surfaces(design: &Design, c: &mut Collector) {
    for (i, deck) in design.decks.iter().enumerate() {
        c.within(|| format!("decks[{i}].bedding"), deck.bedding_kg, 0.0, 1_000.0, "kg");
        if let Some(thick) = deck.mattress_mm {
            c.within(|| format!("decks[{i}].mattress"), thick, 0.0, 500.0, "mm");
        }
        let corners: Vec<f64> = deck.from_mm.into_iter().chain(deck.to_mm).flatten().collect();
        c.measured(|| format!("decks[{i}].from"), &corners);
        if let crate::design::DeckSurface::Slats { gap_mm, .. } = &deck.surface {
            c.within(|| format!("decks[{i}].slats.gap"), *gap_mm, 0.0, 500.0, "mm");
        }
    }
    for (i, box_) in design.stowage.iter().enumerate() {
        c.within(|| format!("stowage[{i}].mass"), box_.mass_kg, 0.0, 5_000.0, "kg");
        c.point(|| format!("stowage[{i}].at"), &box_.at);
        for size in &box_.size {
            c.within(|| format!("stowage[{i}].size"), *size, 1.0, 20_000.0, "mm");
        }
    }
    for (i, people) in design.people.iter().enumerate() {
        if let Some(mass) = people.mass_kg {
            c.within(|| format!("people[{i}].mass"), mass, 1.0, 500.0, "kg");
        }
        for at in &people.at_mm {
            c.measured(|| format!("people[{i}].at"), at);
        }
    }
}

fn settings(design: &Design, c: &mut Collector) {
    let s = &design.settings;
    if let Some(class) = s.service_class.filter(|class| !(1..=3).contains(class)) {
        c.say("settings.service_class".into(), format!("service class {class} does not exist; it is 1, 2 or 3"));
    }
    let figures = [
        ("person", s.person_kg, 1.0, 500.0, "kg"),
        ("gamma_permanent", s.gamma_permanent, 1.0, 3.0, ""),
        ("gamma_variable", s.gamma_variable, 1.0, 3.0, ""),
        ("span_over_sag", s.span_over_sag, 50.0, 2_000.0, ""),
    ];
    for (name, value, least, most, unit) in figures {
        if let Some(value) = value {
            c.within(|| format!("settings.{name}"), value, least, most, unit);
        }
    }
    for (k, g) in s.road_g.iter().flatten().enumerate() {
        c.within(|| format!("settings.road[{k}]"), *g, 0.0, 5.0, "g");
    }
}
