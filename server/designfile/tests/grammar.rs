//! The whole grammar in one file, and what it reads as.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_designfile::{read, read_bytes, read_frame, write};
use battenboard_engine::design::*;

const WHOLE: &str = include_str!("whole.toml");

fn whole() -> Design {
    match read(WHOLE) {
        Ok(read) => read.design,
        Err(mistakes) => panic!("{mistakes:#?}"),
    }
}

#[test]
fn rows_are_written_out() {
    let design = whole();
    let tags: Vec<&str> = design.members.iter().map(|member| member.tag.as_str()).collect();
    assert_eq!(tags, ["RL", "RR", "B1", "B2", "B3", "B4", "B5", "B6", "B7", "P1", "P2", "P3", "P4", "H"]);
    let third = &design.members[4];
    assert_eq!((third.from, third.to), ([2600.0, -640.0, 516.5], [2600.0, 640.0, 516.5]));
    assert_eq!((third.held_depth_mm, third.held_width_mm, third.sag_limit_mm), (Some(900.0), Some(450.0), Some(6.0)));
    assert_eq!((third.up, third.roll_deg), (Some([0.0, 0.0, 1.0]), 0.0));
}

#[test]
fn sections_materials_and_grades() {
    let design = whole();
    let names: Vec<&str> = design.stock.iter().map(|stock| stock.name.as_str()).collect();
    assert_eq!(names, ["45x70", "38x63", "40 round", "50x30x3", "tube", "slotted 40"]);
    assert_eq!(design.stock[0].section, Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 });
    assert_eq!(design.stock[0].lengths_mm, [2400.0, 3000.0]);
    assert_eq!(design.stock[0].price_per_m, Some(3.20));
    assert_eq!(design.stock[0].grading, Grading::Assumed);
    assert_eq!(design.stock[1].grading, Grading::Stamped);
    assert_eq!(design.stock[2].section, Section::Round { diameter_mm: 40.0 });
    assert_eq!(design.stock[3].section, Section::RectangularTube { width_mm: 50.0, depth_mm: 30.0, wall_mm: 3.0 });
    assert_eq!(design.stock[4].section, Section::RoundTube { diameter_mm: 42.4, wall_mm: 2.6 });
    let Section::Given(given) = &design.stock[5].section else { panic!("{:?}", design.stock[5].section) };
    assert_eq!(
        (given.area_mm2, given.iy_mm4, given.wy_mm3, given.shear_area_y_mm2),
        (640.0, 91_000.0, Some(4_550.0), None)
    );
    let Material::Given { e_n_mm2, g_n_mm2, density_kg_m3 } = design.stock[5].material else { panic!() };
    assert_eq!((e_n_mm2, g_n_mm2, density_kg_m3), (70_000.0, 26_000.0, 2_700.0));
}

#[test]
fn joints_are_paired() {
    let design = whole();
    let pairs: Vec<(&str, &str)> = design.joints.iter().map(|j| (j.member.as_str(), j.on.as_str())).collect();
    let mut expected: Vec<(String, &str)> =
        (1..=7).flat_map(|n| [(format!("B{n}"), "RL"), (format!("B{n}"), "RR")]).collect();
    // in order, nearest, a single one
    expected.extend([
        ("RL".to_owned(), "P1"),
        ("RL".to_owned(), "P2"),
        ("RR".to_owned(), "P3"),
        ("RR".to_owned(), "P4"),
    ]);
    expected.push(("H".to_owned(), "P4"));
    assert_eq!(pairs, expected.iter().map(|(a, b)| (a.as_str(), *b)).collect::<Vec<_>>());
    assert_eq!(design.joints[0].hold, Hold::Seated);
    let last = design.joints.last().unwrap();
    assert_eq!(last.tag.as_deref(), Some("H/top"));
    assert_eq!((last.at_mm, last.on_at_mm, last.axes), (Some(0.0), Some(415.0), Axes::Member));
    let spring = Grip::Spring;
    assert_eq!(last.hold, Hold::Given([Grip::Rigid, Grip::Free, spring(450.0), Grip::Free, Grip::Rigid, spring(2e6)]));
}

#[test]
fn anchors_are_written_out() {
    let design = whole();
    let anchors: Vec<(&str, f64, &str)> =
        design.anchors.iter().map(|a| (a.member.as_str(), a.at_mm, a.to.as_str())).collect();
    let mut expected = vec![("P1", 0.0, "floor"), ("P2", 0.0, "floor"), ("P3", 0.0, "floor"), ("P4", 0.0, "floor")];
    expected.extend([
        ("RL", 0.0, "rib"),
        ("RL", 2000.0, "rib"),
        ("RL", 1000.0, "rib"),
        ("RR", 0.0, "rib"),
        ("RR", 2000.0, "rib"),
        ("RR", 1000.0, "rib"),
    ]);
    assert_eq!(anchors, expected);
    assert_eq!(design.anchors[0].settlement, [0.0, 0.0, -2.0, 0.0, 0.5_f64.to_radians(), 0.001]);
}

#[test]
fn decks_gear_and_people() {
    let design = whole();
    assert_eq!(design.decks[0].carried_by.len(), 7);
    assert_eq!(
        design.decks[0].surface,
        DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true }
    );
    assert_eq!(design.decks[1].surface, DeckSurface::Slats { stock: "38x63".into(), gap_mm: 50.0 });
    assert_eq!(design.decks[1].carried_by, ["B7", "B1"]);
    assert_eq!((design.decks[1].from_mm, design.decks[1].to_mm), (Some([2000.0, -640.0]), Some([3800.0, 640.0])));
    assert_eq!(design.stowage[0].on, None);
    assert_eq!(design.stowage[1].on.as_deref(), Some("D1"));
    assert_eq!(design.people[0].at_mm, [[2900.0, -350.0], [2900.0, 350.0]]);
    // the middle of the deck, of its members and of its corners
    assert_eq!(design.people[1].at_mm, [[2900.0, 0.0]]);
    assert_eq!(design.people[2].at_mm, [[2900.0, 0.0]]);
    assert_eq!((design.people[1].heads, design.people[1].mass_kg), (Heading::Front, Some(85.0)));
}

#[test]
fn loads_of_all_kinds() {
    let design = whole();
    let LoadKind::Point { at_mm, force_n, moment_n_mm, axes, .. } = design.loads[0].what.clone() else { panic!() };
    assert_eq!((at_mm, force_n, moment_n_mm, axes), (900.0, [0.0, 0.0, -250.0], [0.0; 3], Axes::Vehicle));
    let LoadKind::Line { from_mm, to_mm, start_n_mm, end_n_mm, .. } = design.loads[1].what.clone() else { panic!() };
    assert_eq!((from_mm, to_mm, start_n_mm, end_n_mm), (0.0, 800.0, [0.0, 0.0, -1.5], [0.0, 0.0, -0.5]));
    let LoadKind::Line { from_mm, to_mm, end_n_mm, .. } = design.loads[2].what.clone() else { panic!() };
    assert_eq!((from_mm, to_mm, end_n_mm), (0.0, 2000.0, [0.0, 0.0, -1.2]));
    let LoadKind::Mass { at_mm, mass_kg, .. } = design.loads[3].what.clone() else { panic!() };
    assert_eq!((at_mm, mass_kg), (2000.0, 3.5));
    assert_eq!(design.loads[4].what, LoadKind::Area { deck: "D1".into(), pressure_n_mm2: 0.0015 });
    assert_eq!(design.settings.span_over_sag, Some(250.0));
    assert_eq!(design.vehicle.seats[0].mass_kg, 75.0);
    assert_eq!(design.vehicle.seats[1].mass_kg, 90.0);
}

#[test]
fn it_is_a_frame_and_writes_back() {
    let (read_back, _) = read_frame(WHOLE).unwrap_or_else(|mistakes| panic!("{mistakes:#?}"));
    let written = write(&read_back.design);
    let again = read(&written).unwrap_or_else(|mistakes| panic!("{mistakes:#?}\n{written}"));
    assert_eq!(again.design, read_back.design);
}

#[test]
fn line_ends_and_byte_order_mark_change_nothing() {
    let crlf = format!("\u{feff}{}", WHOLE.replace('\n', "\r\n"));
    assert_eq!(read_bytes(crlf.as_bytes()).unwrap().design, whole());
}

#[test]
fn places_lead_back_to_the_text() {
    let read = read(WHOLE).unwrap();
    let at = |path: &str| {
        let place = read.places.find(path);
        WHOLE[place.span].to_owned()
    };
    // B3 is of the row's entry; with and without units and the typed design's own names
    assert_eq!(at("members[4].stock"), "\"38x63\"");
    assert_eq!(at("members[4].from[2]"), "516.5");
    assert_eq!(at("members[4].held_depth_mm"), "900");
    assert_eq!(at("stock[0].section.rectangle.depth_mm"), "\"7 cm\"");
    assert_eq!(at("stock[5].material.given.e_n_mm2"), "70000");
    assert_eq!(at("stock[1].grading"), "\"stamped\"");
    assert_eq!(at("settings.person_kg"), "100");
    assert_eq!(at("decks[1].surface.slats.gap_mm"), "50");
    // what a list names, not the whole list
    assert_eq!(at("joints[1].on"), "\"RR\"");
    assert_eq!(at("joints[1].member"), "\"B*\"");
    assert_eq!(at("decks[1].carried_by[0]"), "\"B7\"");
    assert_eq!(at("decks[0].carried_by[3]"), "\"B*\"");
    assert_eq!(at("anchors[5].at_mm"), "\"both\"");
    assert_eq!(at("joints[18].hold.given[5]"), "\"2 kNm\"");
    assert_eq!(at("loads[1].what.line.end_n_mm[2]"), "-0.5");
    assert_eq!(at("people[0].at_mm[1]"), "[2900, 350]");
    assert_eq!(at("members[4].notches[1].depth"), "10");
    assert_eq!(at("members[4].holes[0].off"), "-4");
    assert_eq!(at("joints[1].bearing[1]"), "38");
    assert_eq!(at("anchors[0].contact_mm"), "45");
    assert_eq!(at("settings.road[3]"), "2.0");
    // each name of a list, the pattern of a row, an entry without a name
    assert_eq!(at("to_be_measured[1].tag"), "\"RL/B3\"");
    assert_eq!(at("to_be_measured[8].tag"), "\"P*\"");
    assert_eq!(at("to_be_measured[8].what"), "\"floor to rail, at each post\"");
    assert_eq!(at("to_be_measured[10].tag"), "[[to_be_measured]]");
    // shorter and longer than anything known
    assert_eq!(at("members[4]"), "[[members]]");
    assert_eq!(at("members[4].roll_deg.what.else"), "0");
    assert_eq!(at("members[0].held_depth"), "[[members]]");
    assert_eq!(at("members"), "[[members]]");
    for path in ["", "members[99].stock", "nothing.at.all", "a[", "[0]", "members[99999999999999999999]"] {
        let place = read.places.find(path);
        assert!(place.line >= 1 && place.column >= 1 && WHOLE.get(place.span).is_some(), "{path}");
    }
    let place = read.places.find("members[0].stock");
    assert_eq!(WHOLE.lines().nth(place.line - 1).unwrap().get(place.column - 1..).unwrap(), "\"45x70\"");
}

#[test]
fn notches_holes_and_contacts() {
    let design = whole();
    let bearer = &design.members[5];
    assert_eq!(
        bearer.notches,
        [
            Notch { from_mm: 0.0, to_mm: 60.0, depth_mm: 12.0, face: Face::Lower, slope: 0.0 },
            Notch { from_mm: 1220.0, to_mm: 1280.0, depth_mm: 10.0, face: Face::Upper, slope: 3.0 },
        ]
    );
    assert_eq!(
        bearer.holes,
        [
            Hole { at_mm: 300.0, diameter_mm: 20.0, through_depth: false, off_mm: -4.0 },
            Hole { at_mm: 700.0, diameter_mm: 8.0, through_depth: true, off_mm: 0.0 },
        ]
    );
    assert!(design.members[0].notches.is_empty() && design.members[0].holes.is_empty());
    assert_eq!(design.joints[0].contact_mm, Some([45.0, 38.0]));
    assert_eq!(design.joints[14].contact_mm, None);
    assert_eq!(design.joints[16].contact_mm, Some([60.0, 60.0]));
    assert_eq!((design.anchors[0].contact_mm, design.anchors[4].contact_mm), (Some(45.0), None));
}

#[test]
fn mattress_screws_sawn_pieces_and_the_road() {
    let design = whole();
    assert_eq!((design.decks[0].mattress_mm, design.decks[0].screwed), (Some(120.0), true));
    assert_eq!((design.decks[1].mattress_mm, design.decks[1].screwed), (None, false));
    assert!(design.stock[1].resawn && !design.stock[0].resawn);
    assert_eq!(design.settings.road_g, Some([0.8, 0.5, 0.6, 2.0, 0.5]));
}

#[test]
fn what_is_to_be_measured_is_written_out() {
    let design = whole();
    let entries: Vec<(&str, &str)> =
        design.to_be_measured.iter().map(|item| (item.tag.as_str(), item.what.as_str())).collect();
    let (arch, floor) = ("wall to wheel arch", "floor to rail, at each post");
    let first = ["B2", "RL/B3", "P1/floor", "D1", "tube", "vehicle"].map(|tag| (tag, arch));
    let row = ["P1", "P2", "P3", "P4"].map(|tag| (tag, floor));
    let expected = [&first[..], &row[..], &[("", "how thick the floor will be")]].concat();
    assert_eq!(entries, expected);
}
