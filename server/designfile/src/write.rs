//! From design to text: a plain file, each member and joint written out.

mod page;

use crate::vehicle::SEAT_KG;
use battenboard_engine::design::{
    Action, Anchor, Axes, Deck, DeckSurface, Design, Face, GivenSection, Grading, Grip, Heading, Hold, Hole, Inside,
    Joint, Load, LoadKind, Material, Member, Notch, People, Posture, Seat, Section, Settings, Stock, Stowage,
    ToBeMeasured, Vehicle,
};
use page::{Page, list};
pub(crate) use page::{number, quoted};

/// Writes a design as a file that reads back to an equal one, if it is one that can be read (see
/// [`Frame::new`](battenboard_engine::design::Frame::new)). Comments, rows and patterns of a file it came from are
/// not in it.
pub fn write(design: &Design) -> String {
    let Design {
        name,
        title,
        vehicle: of,
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
    } = design;
    let mut page = Page::default();
    page.put("format", "1");
    page.text("name", name);
    page.text("title", title);
    vehicle(&mut page, of);
    stock.iter().for_each(|item| one_stock(&mut page, item));
    members.iter().for_each(|item| member(&mut page, item));
    joints.iter().for_each(|item| joint(&mut page, item));
    anchors.iter().for_each(|item| anchor(&mut page, item));
    decks.iter().for_each(|item| deck(&mut page, item));
    stowage.iter().for_each(|item| gear(&mut page, item));
    people.iter().for_each(|item| crowd(&mut page, item));
    loads.iter().for_each(|item| load(&mut page, item));
    check(&mut page, settings);
    to_be_measured.iter().for_each(|item| not_known_yet(&mut page, item));
    page.0
}

/// The `[[stock]]` table of a stock.
pub(crate) fn stock_text(stock: &Stock) -> String {
    let mut page = Page::default();
    one_stock(&mut page, stock);
    page.0
}

/// A stock as one table in a line, for a file that lists its stock so.
pub(crate) fn stock_inline(stock: &Stock) -> String {
    let text = stock_text(stock);
    let lines: Vec<&str> = text.lines().filter(|line| line.contains(" = ")).collect();
    format!("{{ {} }}", lines.join(", "))
}

/// The `[vehicle]` table of a vehicle; empty where nothing is known of it.
pub(crate) fn vehicle_text(of: &Vehicle) -> String {
    let mut page = Page::default();
    vehicle(&mut page, of);
    page.0
}

/// What a file says of a vehicle, key by key, as it would be written; figures that are not known are left out.
pub fn vehicle_fields(of: &Vehicle) -> Vec<(String, String)> {
    let text = vehicle_text(of);
    let fields = text.lines().filter_map(|line| line.split_once(" = "));
    fields.map(|(key, value)| (key.to_owned(), value.to_owned())).collect()
}

fn vehicle(page: &mut Page, vehicle: &Vehicle) {
    if *vehicle == Vehicle::default() {
        return;
    }
    let Vehicle {
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
    } = vehicle;
    page.open("[vehicle]");
    page.text("name", name);
    page.put("survey", survey.to_string());
    page.maybe("wheelbase", *wheelbase_mm);
    page.maybe("track", *track_mm);
    page.maybe("gross_limit", *gross_limit_kg);
    page.maybe("front_limit", *front_limit_kg);
    page.maybe("rear_limit", *rear_limit_kg);
    page.maybe("weighed_front", *weighed_front_kg);
    page.maybe("weighed_rear", *weighed_rear_kg);
    page.maybe("length", *length_mm);
    page.list("seats", seats, seat);
    if let Some(Inside { from, to }) = inside {
        page.put("inside", format!("{{ from = {}, to = {} }}", list(from), list(to)));
    }
}

fn seat(seat: &Seat) -> String {
    let Seat { x_mm, y_mm, mass_kg } = seat;
    let mass = if *mass_kg == SEAT_KG { String::new() } else { format!(", mass = {}", number(*mass_kg)) };
    format!("{{ x = {}, y = {}{mass} }}", number(*x_mm), number(*y_mm))
}

fn one_stock(page: &mut Page, stock: &Stock) {
    let Stock { name, section: shape, material, grading, lengths_mm, price_per_m, resawn } = stock;
    page.open("[[stock]]");
    page.text("name", name);
    page.put("section", section(shape));
    match material {
        Material::Class(class) => page.text("material", class),
        Material::Given { e_n_mm2, g_n_mm2, density_kg_m3 } => {
            let (e, g, density) = (number(*e_n_mm2), number(*g_n_mm2), number(*density_kg_m3));
            page.put("material", format!("{{ e = {e}, g = {g}, density = {density} }}"));
        }
    }
    match grading {
        Grading::Stamped => page.text("grade", "stamped"),
        Grading::Measured => page.text("grade", "measured"),
        Grading::Assumed => page.text("grade", "assumed"),
    }
    if !lengths_mm.is_empty() {
        page.numbers("lengths", lengths_mm);
    }
    page.maybe("price", *price_per_m);
    page.flag("resawn", *resawn);
}

fn section(section: &Section) -> String {
    let fields: Vec<(&str, Option<f64>)> = match section {
        Section::Rectangle { width_mm, depth_mm } => vec![("width", Some(*width_mm)), ("depth", Some(*depth_mm))],
        Section::Round { diameter_mm } => vec![("diameter", Some(*diameter_mm))],
        Section::RectangularTube { width_mm, depth_mm, wall_mm } => {
            vec![("width", Some(*width_mm)), ("depth", Some(*depth_mm)), ("wall", Some(*wall_mm))]
        }
        Section::RoundTube { diameter_mm, wall_mm } => vec![("diameter", Some(*diameter_mm)), ("wall", Some(*wall_mm))],
        Section::Given(GivenSection {
            area_mm2,
            iy_mm4,
            iz_mm4,
            j_mm4,
            shear_area_y_mm2,
            shear_area_z_mm2,
            wy_mm3,
            wz_mm3,
            width_mm,
            depth_mm,
        }) => vec![
            ("area", Some(*area_mm2)),
            ("iy", Some(*iy_mm4)),
            ("iz", Some(*iz_mm4)),
            ("j", Some(*j_mm4)),
            ("shear_area_y", *shear_area_y_mm2),
            ("shear_area_z", *shear_area_z_mm2),
            ("wy", *wy_mm3),
            ("wz", *wz_mm3),
            ("width", *width_mm),
            ("depth", *depth_mm),
        ],
    };
    let stated = fields.into_iter().filter_map(|(key, value)| value.map(|value| format!("{key} = {}", number(value))));
    format!("{{ {} }}", stated.collect::<Vec<_>>().join(", "))
}

fn member(page: &mut Page, member: &Member) {
    let Member { tag, kind, stock, from, to, up, roll_deg, held_depth_mm, held_width_mm, sag_limit_mm, notches, holes } =
        member;
    page.open("[[members]]");
    page.text("tag", tag);
    page.text("kind", kind);
    page.text("stock", stock);
    page.numbers("from", from);
    page.numbers("to", to);
    if let Some(up) = up {
        page.numbers("up", up);
    }
    if *roll_deg != 0.0 {
        page.number("roll", *roll_deg);
    }
    page.maybe("held_depth", *held_depth_mm);
    page.maybe("held_width", *held_width_mm);
    page.maybe("sag_limit", *sag_limit_mm);
    page.list("notches", notches, notch);
    page.list("holes", holes, hole);
}

fn notch(notch: &Notch) -> String {
    let Notch { from_mm, to_mm, depth_mm, face, slope } = notch;
    let face = match face {
        Face::Lower => "lower",
        Face::Upper => "upper",
        Face::Left => "left",
        Face::Right => "right",
    };
    let [from, to, depth, slope] = [from_mm, to_mm, depth_mm, slope].map(|figure| number(*figure));
    format!("{{ from = {from}, to = {to}, depth = {depth}, face = \"{face}\", slope = {slope} }}")
}

fn hole(hole: &Hole) -> String {
    let Hole { at_mm, diameter_mm, through_depth, off_mm } = hole;
    let through = if *through_depth { "depth" } else { "width" };
    let [at, diameter, off] = [at_mm, diameter_mm, off_mm].map(|figure| number(*figure));
    format!("{{ at = {at}, diameter = {diameter}, through = \"{through}\", off = {off} }}")
}

fn hold(hold: &Hold) -> String {
    let grips = match hold {
        Hold::Rigid => return quoted("rigid"),
        Hold::Pinned => return quoted("pinned"),
        Hold::Seated => return quoted("seated"),
        Hold::Given(grips) => grips,
    };
    let named = ["x", "y", "z", "turn_x", "turn_y", "turn_z"].iter().zip(grips);
    let held = named.filter_map(|(name, grip)| match grip {
        Grip::Free => None,
        Grip::Rigid => Some(format!("{name} = \"rigid\"")),
        Grip::Spring(stiffness) => Some(format!("{name} = {}", number(*stiffness))),
    });
    format!("{{ {} }}", held.collect::<Vec<_>>().join(", "))
}

fn axes(page: &mut Page, axes: Axes) {
    match axes {
        Axes::Vehicle => {}
        Axes::Member => page.text("axes", "member"),
    }
}

fn joint(page: &mut Page, joint: &Joint) {
    let Joint { tag, member, on, at_mm, on_at_mm, hold: held, axes: measured, contact_mm } = joint;
    page.open("[[joints]]");
    if let Some(tag) = tag {
        page.text("tag", tag);
    }
    page.text("member", member);
    page.text("on", on);
    page.maybe("at", *at_mm);
    page.maybe("on_at", *on_at_mm);
    page.put("hold", hold(held));
    axes(page, *measured);
    if let Some(lengths) = contact_mm {
        page.numbers("bearing", lengths);
    }
}

fn anchor(page: &mut Page, anchor: &Anchor) {
    let Anchor { tag, member, at_mm, to, hold: held, axes: measured, settlement, contact_mm } = anchor;
    page.open("[[anchors]]");
    if let Some(tag) = tag {
        page.text("tag", tag);
    }
    page.text("member", member);
    page.number("at", *at_mm);
    page.text("to", to);
    page.put("hold", hold(held));
    axes(page, *measured);
    page.maybe("bearing", *contact_mm);
    if settlement.iter().any(|part| *part != 0.0) {
        let [x, y, z, turns @ ..] = settlement;
        let ways = [x, y, z].map(|way| number(*way));
        // Bare turns would be degrees, and not read back to the last bit.
        let turns = turns.map(|turn| if turn == 0.0 { number(turn) } else { format!("\"{} rad\"", number(turn)) });
        page.put("settlement", format!("[{}, {}]", ways.join(", "), turns.join(", ")));
    }
}

fn deck(page: &mut Page, deck: &Deck) {
    let Deck { tag, surface, carried_by, from_mm, to_mm, bedding_kg, mattress_mm, screwed } = deck;
    page.open("[[decks]]");
    page.text("tag", tag);
    match surface {
        DeckSurface::Sheet { material, thickness_mm, grain_across } => {
            let (material, thickness) = (quoted(material), number(*thickness_mm));
            let grain = if *grain_across { "across" } else { "along" };
            page.put("sheet", format!("{{ material = {material}, thickness = {thickness}, grain = \"{grain}\" }}"));
        }
        DeckSurface::Slats { stock, gap_mm } => {
            page.put("slats", format!("{{ stock = {}, gap = {} }}", quoted(stock), number(*gap_mm)));
        }
    }
    let carried: Vec<String> = carried_by.iter().map(|tag| quoted(tag)).collect();
    page.put("carried_by", format!("[{}]", carried.join(", ")));
    if let Some(from) = from_mm {
        page.numbers("from", from);
    }
    if let Some(to) = to_mm {
        page.numbers("to", to);
    }
    if *bedding_kg != 0.0 {
        page.number("bedding", *bedding_kg);
    }
    page.maybe("mattress", *mattress_mm);
    page.flag("screwed", *screwed);
}

fn gear(page: &mut Page, stowage: &Stowage) {
    let Stowage { name, mass_kg, at, size, on } = stowage;
    page.open("[[stowage]]");
    page.text("name", name);
    page.number("mass", *mass_kg);
    page.numbers("at", at);
    page.numbers("size", size);
    if let Some(on) = on {
        page.text("on", on);
    }
}

fn crowd(page: &mut Page, people: &People) {
    let People { name, posture, deck, at_mm, heads, mass_kg } = people;
    page.open("[[people]]");
    page.text("name", name);
    match posture {
        Posture::Lying => page.text("posture", "lying"),
        Posture::Sitting => page.text("posture", "sitting"),
        Posture::Kneeling => page.text("posture", "kneeling"),
    }
    page.text("deck", deck);
    let at: Vec<String> = at_mm.iter().map(|point| list(point)).collect();
    page.put("at", format!("[{}]", at.join(", ")));
    match heads {
        Heading::Front => page.text("heads", "front"),
        Heading::Rear => page.text("heads", "rear"),
        Heading::Left => page.text("heads", "left"),
        Heading::Right => page.text("heads", "right"),
    }
    page.maybe("mass", *mass_kg);
}

fn load(page: &mut Page, load: &Load) {
    let Load { case, action, what } = load;
    page.open("[[loads]]");
    page.text("case", case);
    match action {
        Action::Permanent => page.text("action", "permanent"),
        Action::Stowage => page.text("action", "stowage"),
        Action::Lying => page.text("action", "lying"),
        Action::Moving => page.text("action", "moving"),
    }
    match what {
        LoadKind::Point { member, at_mm, force_n, moment_n_mm, axes: measured } => {
            page.text("member", member);
            page.number("at", *at_mm);
            page.numbers("force", force_n);
            page.numbers("moment", moment_n_mm);
            axes(page, *measured);
        }
        LoadKind::Line { member, from_mm, to_mm, start_n_mm, end_n_mm, axes: measured } => {
            page.text("member", member);
            page.number("from", *from_mm);
            page.number("to", *to_mm);
            page.numbers("line", start_n_mm);
            page.numbers("line_end", end_n_mm);
            axes(page, *measured);
        }
        LoadKind::Mass { member, at_mm, mass_kg } => {
            page.text("member", member);
            page.number("at", *at_mm);
            page.number("mass", *mass_kg);
        }
        LoadKind::Area { deck, pressure_n_mm2 } => {
            page.text("deck", deck);
            page.number("pressure", *pressure_n_mm2);
        }
    }
}

fn check(page: &mut Page, settings: &Settings) {
    if *settings == Settings::default() {
        return;
    }
    let Settings { service_class, person_kg, gamma_permanent, gamma_variable, span_over_sag, road_g } = settings;
    page.open("[check]");
    page.maybe("service_class", service_class.map(f64::from));
    page.maybe("person", *person_kg);
    page.maybe("gamma_permanent", *gamma_permanent);
    page.maybe("gamma_variable", *gamma_variable);
    page.maybe("span_over_sag", *span_over_sag);
    if let Some(accelerations) = road_g {
        page.numbers("road", accelerations);
    }
}

fn not_known_yet(page: &mut Page, entry: &ToBeMeasured) {
    let ToBeMeasured { tag, what } = entry;
    page.open("[[to_be_measured]]");
    if !tag.is_empty() {
        page.text("on", tag);
    }
    page.text("what", what);
}
