//! What members are made of and what lies on them.

use super::Chance;
use super::shapes::length;
use battenboard_engine::design::{
    Action, Axes, Deck, DeckSurface, Design, GivenSection, Grading, Heading, Inside, Load, LoadKind, Material, People,
    Posture, Seat, Section, Settings, Stock, Stowage, ToBeMeasured, Vector, Vehicle,
};
use battenboard_engine::tables;

/// A stock of any kind; most are rectangles of a strength class.
pub fn stock(chance: &mut Chance<'_>, number: usize) -> Stock {
    let (section, given) = section(chance);
    let material = if given || chance.percent(15) {
        Material::Given {
            e_n_mm2: chance.number(&[9_000.0, 70_000.0, 210_000.0]),
            g_n_mm2: chance.number(&[560.0, 26_000.0, 81_000.0]),
            density_kg_m3: chance.number(&[400.0, 2_700.0, 7_850.0]),
        }
    } else if chance.percent(30) {
        let names: Vec<&str> = tables::names().collect();
        Material::Class(chance.pick(&names).to_owned())
    } else {
        Material::Class(chance.pick(&["C16", "C24", "GL24h", "D30"]).to_owned())
    };
    Stock {
        name: format!("S{number}"),
        section,
        material,
        grading: chance.pick(&[Grading::Stamped, Grading::Assumed, Grading::Measured]),
        lengths_mm: Vec::new(),
        price_per_m: chance.maybe(10, &[3.2, 0.0]),
        resawn: chance.percent(10),
    }
}

/// A section, and whether its material is to be given.
fn section(chance: &mut Chance<'_>) -> (Section, bool) {
    let mut size = |usual: &[f64]| chance.number(usual);
    let (width_mm, depth_mm, wall_mm) =
        (size(&[45.0, 38.0, 20.0, 60.0, 12.0]), size(&[70.0, 45.0, 95.0, 200.0, 18.0]), size(&[2.0, 3.0, 5.0]));
    match chance.below(10) {
        0..=5 => (Section::Rectangle { width_mm, depth_mm }, false),
        6 => (Section::Round { diameter_mm: width_mm }, false),
        7 => (Section::RectangularTube { width_mm, depth_mm, wall_mm }, false),
        8 => (Section::RoundTube { diameter_mm: depth_mm, wall_mm }, false),
        _ => {
            let given = GivenSection {
                area_mm2: chance.number(&[640.0, 3_150.0]),
                iy_mm4: chance.number(&[91_000.0, 1.3e6]),
                iz_mm4: chance.number(&[91_000.0, 5.3e5]),
                j_mm4: chance.number(&[20_000.0, 1e6]),
                shear_area_y_mm2: chance.maybe(50, &[300.0, 2_600.0]),
                shear_area_z_mm2: chance.maybe(50, &[300.0, 2_600.0]),
                wy_mm3: chance.maybe(50, &[4_550.0, 36_000.0]),
                wz_mm3: chance.maybe(50, &[4_550.0, 23_000.0]),
                width_mm: chance.maybe(50, &[40.0]),
                depth_mm: chance.maybe(50, &[40.0]),
            };
            (Section::Given(given), chance.percent(80))
        }
    }
}

/// Name of one of the design's stock.
pub fn stock_name(design: &Design, chance: &mut Chance<'_>) -> String {
    design.stock[chance.below(design.stock.len())].name.clone()
}

/// A deck on members, with people and gear about its middle.
pub fn deck(design: &mut Design, chance: &mut Chance<'_>, carried_by: Vec<String>, middle: [f64; 2]) {
    let surface = if chance.percent(50) {
        DeckSurface::Slats { stock: stock_name(design, chance), gap_mm: chance.number(&[50.0, 0.0, 20.0]) }
    } else {
        DeckSurface::Sheet {
            material: chance.pick(&tables::panel::NAMES).to_owned(),
            thickness_mm: chance.number(&[12.0, 9.0, 18.0, 6.0]),
            grain_across: chance.percent(50),
        }
    };
    design.decks.push(Deck {
        tag: "D1".into(),
        surface,
        carried_by,
        bedding_kg: chance.number(&[0.0, 9.0]),
        mattress_mm: chance.maybe(20, &[100.0, 60.0]),
        screwed: chance.percent(30),
        ..Deck::default()
    });
    for number in 0..chance.below(4) {
        let off: [f64; 2] = std::array::from_fn(|k| middle[k] + chance.number(&[0.0, 100.0, -200.0]));
        design.people.push(People {
            name: format!("people {number}"),
            posture: chance.pick(&[Posture::Lying, Posture::Sitting, Posture::Kneeling]),
            deck: "D1".into(),
            at_mm: vec![off; 1 + chance.below(2)],
            heads: chance.pick(&[Heading::Front, Heading::Rear, Heading::Left, Heading::Right]),
            mass_kg: chance.maybe(30, &[85.0, 120.0]),
        });
    }
    for number in 0..chance.below(3) {
        design.stowage.push(Stowage {
            name: format!("gear {number}"),
            mass_kg: chance.number(&[20.0, 56.0, 0.0]),
            at: [middle[0], middle[1], chance.number(&[600.0, 200.0])],
            size: std::array::from_fn(|_| chance.number(&[300.0, 600.0])),
            on: chance.pick(&[Some("D1"), Some("RL"), None]).map(str::to_owned),
        });
    }
}

/// Given loads in up to three cases.
pub fn loads(design: &mut Design, chance: &mut Chance<'_>) {
    const CASES: [(&str, Action); 4] = [
        ("shelf", Action::Stowage),
        ("pump", Action::Permanent),
        ("crowd", Action::Moving),
        ("sleeper", Action::Lying),
    ];
    for _ in 0..chance.below(4) {
        let index = chance.below(design.members.len());
        let (member, whole) = (design.members[index].tag.clone(), length(&design.members[index]));
        let axes = chance.pick(&[Axes::Vehicle, Axes::Member]);
        let what = match chance.below(7) {
            0..=2 => LoadKind::Point {
                member,
                at_mm: chance.number(&[0.5 * whole, 0.0, whole, 0.3 * whole]),
                force_n: vector(chance, &[0.0, -1_000.0, 500.0, 30_000.0]),
                moment_n_mm: vector(chance, &[0.0, 0.0, 1e5]),
                axes,
            },
            3 | 4 => LoadKind::Line {
                member,
                from_mm: chance.number(&[0.0, 0.25 * whole]),
                to_mm: chance.number(&[whole, 0.5 * whole]),
                start_n_mm: vector(chance, &[0.0, -1.5, 0.5]),
                end_n_mm: vector(chance, &[0.0, -1.5, 0.5]),
                axes,
            },
            5 => LoadKind::Mass { member, at_mm: 0.5 * whole, mass_kg: chance.number(&[3.5, 40.0]) },
            _ => LoadKind::Area { deck: "D1".into(), pressure_n_mm2: chance.number(&[0.001, 0.01]) },
        };
        let (case, action) = chance.pick(&CASES);
        design.loads.push(Load { case: case.into(), action, what });
    }
}

fn vector(chance: &mut Chance<'_>, usual: &[f64]) -> Vector {
    std::array::from_fn(|_| chance.number(usual))
}

/// A vehicle of which more or less is known.
pub fn vehicle(design: &mut Design, chance: &mut Chance<'_>) {
    let mut maybe = |usual: f64| chance.maybe(80, &[usual]);
    let known = [4_035.0, 1_710.0, 3_500.0, 1_850.0, 2_400.0, 1_290.0, 1_120.0, 5_990.0].map(&mut maybe);
    let [
        wheelbase_mm,
        track_mm,
        gross_limit_kg,
        front_limit_kg,
        rear_limit_kg,
        weighed_front_kg,
        weighed_rear_kg,
        length_mm,
    ] = known;
    let seats = (0..chance.below(3)).map(|_| Seat { x_mm: chance.number(&[900.0]), y_mm: 400.0, mass_kg: 75.0 });
    design.vehicle = Vehicle {
        name: "Made".into(),
        survey: 1,
        wheelbase_mm,
        track_mm,
        gross_limit_kg,
        front_limit_kg,
        rear_limit_kg,
        weighed_front_kg,
        weighed_rear_kg,
        length_mm,
        seats: seats.collect(),
        inside: None,
    };
    if chance.percent(50) {
        let to = [chance.number(&[4_700.0]), 890.0, chance.number(&[1_900.0, 900.0])];
        design.vehicle.inside = Some(Inside { from: [-1_500.0, -890.0, 0.0], to });
    }
}

/// Assumptions other than the usual.
pub fn settings(design: &mut Design, chance: &mut Chance<'_>) {
    design.settings = Settings {
        service_class: chance.pick(&[None, Some(1), Some(2), Some(3), Some(4)]),
        person_kg: chance.maybe(30, &[80.0]),
        gamma_permanent: chance.maybe(30, &[1.0, 1.2]),
        gamma_variable: chance.maybe(30, &[1.0, 1.2]),
        span_over_sag: chance.maybe(30, &[150.0, 400.0]),
        road_g: chance.percent(30).then(|| std::array::from_fn(|_| chance.number(&[0.8, 0.5, 2.0]))),
    };
}

/// What is not known yet, now and then of something that is not there.
pub fn to_be_measured(design: &mut Design, chance: &mut Chance<'_>) {
    for _ in 0..1 + chance.below(3) {
        let tag = chance.pick(&["RL", "", "vehicle", "D1", "B1", "RL/B1", "nothing"]).to_owned();
        let what = chance.pick(&["length", "wall to wheel arch", "", " "]).to_owned();
        design.to_be_measured.push(ToBeMeasured { tag, what });
    }
}
