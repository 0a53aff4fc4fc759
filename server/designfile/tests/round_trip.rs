//! What is written reads back to the same design; the demo designs of the tests read.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_designfile::{read, write};
use battenboard_engine::design::*;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

/// Any finite number the reader takes; round ones as often as ragged ones.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        (-5_000i32..5_000).prop_map(f64::from),
        (-50_000i32..50_000).prop_map(|n| f64::from(n) / 10.0),
        -1e9..1e9f64,
        prop::num::f64::NORMAL.prop_filter("within what is read", |n| n.abs() <= 1e18),
        Just(-0.0),
    ]
}

fn point() -> impl Strategy<Value = Vector> {
    [number(), number(), number()]
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof!["[A-Za-z0-9 \"'\\\\#=äß✓-]{0,20}", "\\PC{0,30}"]
}

fn section() -> impl Strategy<Value = Section> {
    let given = (vec(number(), 4), vec(option::of(number()), 6)).prop_map(|(needed, more)| {
        Section::Given(GivenSection {
            area_mm2: needed[0],
            iy_mm4: needed[1],
            iz_mm4: needed[2],
            j_mm4: needed[3],
            shear_area_y_mm2: more[0],
            shear_area_z_mm2: more[1],
            wy_mm3: more[2],
            wz_mm3: more[3],
            width_mm: more[4],
            depth_mm: more[5],
        })
    });
    prop_oneof![
        (number(), number()).prop_map(|(width_mm, depth_mm)| Section::Rectangle { width_mm, depth_mm }),
        number().prop_map(|diameter_mm| Section::Round { diameter_mm }),
        (number(), number(), number()).prop_map(|(width_mm, depth_mm, wall_mm)| Section::RectangularTube {
            width_mm,
            depth_mm,
            wall_mm
        }),
        (number(), number()).prop_map(|(diameter_mm, wall_mm)| Section::RoundTube { diameter_mm, wall_mm }),
        given,
    ]
}

fn stock() -> impl Strategy<Value = Stock> {
    let material = prop_oneof![
        text().prop_map(Material::Class),
        (number(), number(), number()).prop_map(|(e_n_mm2, g_n_mm2, density_kg_m3)| Material::Given {
            e_n_mm2,
            g_n_mm2,
            density_kg_m3
        }),
    ];
    let grading = prop::sample::select(vec![Grading::Stamped, Grading::Measured, Grading::Assumed]);
    (section(), material, grading, vec(number(), 0..3), option::of(number()), any::<bool>()).prop_map(
        |(section, material, grading, lengths_mm, price_per_m, resawn)| Stock {
            name: String::new(),
            section,
            material,
            grading,
            lengths_mm,
            price_per_m,
            resawn,
        },
    )
}

fn member() -> impl Strategy<Value = Member> {
    let held = (option::of(number()), option::of(number()), option::of(number()));
    let face = prop::sample::select(vec![Face::Lower, Face::Upper, Face::Left, Face::Right]);
    let notch = (point(), face, number()).prop_map(|([from_mm, to_mm, depth_mm], face, slope)| Notch {
        from_mm,
        to_mm,
        depth_mm,
        face,
        slope,
    });
    let hole = (point(), any::<bool>()).prop_map(|([at_mm, diameter_mm, off_mm], through_depth)| Hole {
        at_mm,
        diameter_mm,
        through_depth,
        off_mm,
    });
    let cuts = (vec(notch, 0..3), vec(hole, 0..3));
    (text(), point(), point(), option::of(point()), number(), held, cuts).prop_map(
        |(kind, from, to, up, roll_deg, held, (notches, holes))| Member {
            kind,
            from,
            to,
            up,
            roll_deg,
            held_depth_mm: held.0,
            held_width_mm: held.1,
            sag_limit_mm: held.2,
            notches,
            holes,
            ..Member::default()
        },
    )
}

fn hold() -> impl Strategy<Value = Hold> {
    let grip = || prop_oneof![Just(Grip::Free), Just(Grip::Rigid), number().prop_map(Grip::Spring)];
    prop_oneof![
        Just(Hold::Rigid),
        Just(Hold::Pinned),
        Just(Hold::Seated),
        [grip(), grip(), grip(), grip(), grip(), grip()].prop_map(Hold::Given),
    ]
}

fn axes() -> impl Strategy<Value = Axes> {
    prop_oneof![Just(Axes::Vehicle), Just(Axes::Member)]
}

fn load() -> impl Strategy<Value = LoadKind> {
    prop_oneof![
        (number(), point(), point(), axes()).prop_map(|(at_mm, force_n, moment_n_mm, axes)| LoadKind::Point {
            member: "M0".into(),
            at_mm,
            force_n,
            moment_n_mm,
            axes
        }),
        (number(), number(), point(), point(), axes()).prop_map(|(from_mm, to_mm, start_n_mm, end_n_mm, axes)| {
            LoadKind::Line { member: "M0".into(), from_mm, to_mm, start_n_mm, end_n_mm, axes }
        }),
        (number(), number()).prop_map(|(at_mm, mass_kg)| LoadKind::Mass { member: "M1".into(), at_mm, mass_kg }),
        number().prop_map(|pressure_n_mm2| LoadKind::Area { deck: "D0".into(), pressure_n_mm2 }),
    ]
}

fn deck() -> impl Strategy<Value = Deck> {
    let surface = prop_oneof![
        (text(), number(), any::<bool>()).prop_map(|(material, thickness_mm, grain_across)| DeckSurface::Sheet {
            material,
            thickness_mm,
            grain_across
        }),
        number().prop_map(|gap_mm| DeckSurface::Slats { stock: "S0".into(), gap_mm }),
    ];
    let corner = || option::of([number(), number()]);
    let bed = (number(), option::of(number()), any::<bool>());
    (surface, corner(), corner(), bed).prop_map(|(surface, from_mm, to_mm, (bedding_kg, mattress_mm, screwed))| Deck {
        tag: String::new(),
        surface,
        carried_by: vec!["M1".into(), "M0".into()],
        from_mm,
        to_mm,
        bedding_kg,
        mattress_mm,
        screwed,
    })
}

fn people() -> impl Strategy<Value = People> {
    let posture = prop::sample::select(vec![Posture::Lying, Posture::Sitting, Posture::Kneeling]);
    let heads = prop::sample::select(vec![Heading::Front, Heading::Rear, Heading::Left, Heading::Right]);
    (text(), posture, vec([number(), number()], 0..4), heads, option::of(number())).prop_map(
        |(name, posture, at_mm, heads, mass_kg)| People { name, posture, deck: "D0".into(), at_mm, heads, mass_kg },
    )
}

fn vehicle() -> impl Strategy<Value = Vehicle> {
    let seat = (number(), number(), number()).prop_map(|(x_mm, y_mm, mass_kg)| Seat { x_mm, y_mm, mass_kg });
    let inside = option::of((point(), point()).prop_map(|(from, to)| Inside { from, to }));
    (text(), any::<u32>(), vec(option::of(number()), 8), vec(seat, 0..3), inside).prop_map(
        |(name, survey, figures, seats, inside)| Vehicle {
            name,
            survey,
            wheelbase_mm: figures[0],
            track_mm: figures[1],
            gross_limit_kg: figures[2],
            front_limit_kg: figures[3],
            rear_limit_kg: figures[4],
            weighed_front_kg: figures[5],
            weighed_rear_kg: figures[6],
            length_mm: figures[7],
            seats,
            inside,
        },
    )
}

fn design() -> impl Strategy<Value = Design> {
    let joint = (option::of(number()), option::of(number()), hold(), axes(), option::of([number(), number()]));
    let anchor = (hold(), axes(), [number(), number(), number(), number(), number(), number()], option::of(number()));
    let action = prop::sample::select(vec![Action::Permanent, Action::Stowage, Action::Lying, Action::Moving]);
    let gear = (text(), number(), point(), point(), option::of(Just("M1".to_owned())));
    let road = option::of([number(), number(), number(), number(), number()]);
    let settings = (option::of(1u8..=3), vec(option::of(number()), 4), road);
    let parts = (vec(stock(), 1..3), vec(member(), 2..5), vec(joint, 0..3), vec(anchor, 0..3), vec(deck(), 1..3));
    let on = prop::sample::select(vec!["", "M1", "S0", "D0", "vehicle"]);
    let open = (on, text()).prop_map(|(on, what)| ToBeMeasured { tag: on.into(), what });
    let more = (vec(gear, 0..3), vec(people(), 0..3), vec((text(), action, load()), 0..4), settings, vec(open, 0..3));
    (text(), text(), vehicle(), parts, more).prop_map(|(name, title, vehicle, parts, more)| {
        let (mut stock, mut members, joints, anchors, mut decks) = parts;
        let (stowage, people, loads, settings, to_be_measured) = more;
        stock.iter_mut().enumerate().for_each(|(n, stock)| stock.name = format!("S{n}"));
        decks.iter_mut().enumerate().for_each(|(n, deck)| deck.tag = format!("D{n}"));
        for (n, member) in members.iter_mut().enumerate() {
            (member.tag, member.stock) = (format!("M{n}"), "S0".into());
        }
        let joints = joints.into_iter().enumerate().map(|(n, (at_mm, on_at_mm, hold, axes, contact_mm))| Joint {
            tag: (n > 0).then(|| format!("J{n}")),
            member: "M0".into(),
            on: "M1".into(),
            at_mm,
            on_at_mm,
            hold,
            axes,
            contact_mm,
        });
        let anchors = anchors.into_iter().enumerate().map(|(n, (hold, axes, settlement, contact_mm))| Anchor {
            tag: (n > 0).then(|| format!("A{n}")),
            member: "M1".into(),
            at_mm: n as f64,
            to: "floor".into(),
            hold,
            axes,
            settlement,
            contact_mm,
        });
        let stowage = stowage.into_iter().map(|(name, mass_kg, at, size, on)| Stowage { name, mass_kg, at, size, on });
        Design {
            name,
            title,
            vehicle,
            joints: joints.collect(),
            anchors: anchors.collect(),
            stowage: stowage.collect(),
            loads: loads.into_iter().map(|(case, action, what)| Load { case, action, what }).collect(),
            settings: Settings {
                service_class: settings.0,
                person_kg: settings.1[0],
                gamma_permanent: settings.1[1],
                gamma_variable: settings.1[2],
                span_over_sag: settings.1[3],
                road_g: settings.2,
            },
            stock,
            members,
            decks,
            people,
            to_be_measured,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_written_design_reads_back(design in design()) {
        let written = write(&design);
        match read(&written) {
            Ok(read) => prop_assert_eq!(read.design, design),
            Err(mistakes) => prop_assert!(false, "{:#?}\n{}", mistakes, written),
        }
    }
}

#[test]
fn the_demo_designs_read_and_write_back() {
    for (name, text) in [
        ("curlew", include_str!("../../../tests/designs/curlew.toml")),
        ("dunlin", include_str!("../../../tests/designs/dunlin.toml")),
        ("avocet", include_str!("../../../tests/designs/avocet.toml")),
    ] {
        let design = read(text).unwrap_or_else(|mistakes| panic!("{name}: {mistakes:#?}")).design;
        assert_eq!(read(&write(&design)).unwrap().design, design, "{name}");
    }
}
