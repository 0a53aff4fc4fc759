#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::design::{Anchor, Axes, Deck, Design, Hold, Joint, Material, Member, Section, Stock};

fn stock(width_mm: f64, depth_mm: f64) -> Stock {
    Stock {
        name: format!("{width_mm}x{depth_mm}"),
        section: Section::Rectangle { width_mm, depth_mm },
        material: Material::Class("C24".to_owned()),
        grading: crate::design::Grading::Stamped,
        lengths_mm: Vec::new(),
        price_per_m: None,
        resawn: false,
    }
}

fn member(tag: &str, stock: &str, from: Vector, to: Vector) -> Member {
    Member { tag: tag.to_owned(), kind: "bearer".to_owned(), stock: stock.to_owned(), from, to, ..Member::default() }
}

fn anchor(at_mm: f64, hold: Hold) -> Anchor {
    Anchor { member: "B1".to_owned(), at_mm, to: format!("rib {at_mm}"), hold, axes: Axes::Member, ..Anchor::default() }
}

fn beam(anchors: Vec<Anchor>) -> Design {
    Design {
        name: "beam".to_owned(),
        stock: vec![stock(45.0, 220.0)],
        members: vec![member("B1", "45x220", [0.0; 3], [2000.0, 0.0, 0.0])],
        anchors,
        ..Design::default()
    }
}

fn of_first(design: &Design) -> Vec<(f64, f64, Row, f64)> {
    let frame = Frame::new(design).unwrap_or_else(|v| panic!("{v:?}"));
    unheld(&frame)[0].iter().map(|u| (u.from_mm, u.to_mm, u.row, u.safe_sign)).collect()
}

/// Roll and sideways movement must both be held; one alone counts for nothing.
#[test]
fn both_directions_are_needed() {
    use Grip::{Free, Rigid};
    let seated = |at| anchor(at, Hold::Seated);
    assert_eq!(of_first(&beam(vec![seated(0.0), seated(2000.0)])), [(0.0, 2000.0, Row::Constant, 0.0)]);
    assert!(of_first(&beam(vec![anchor(0.0, Hold::Pinned), anchor(2000.0, Hold::Pinned)])).is_empty());
    let no_sideways = Hold::Given([Rigid, Free, Rigid, Rigid, Free, Free]);
    assert_eq!(
        of_first(&beam(vec![seated(0.0), anchor(1000.0, no_sideways), seated(2000.0)])),
        [(0.0, 2000.0, Row::Constant, 0.0)]
    );
    assert_eq!(
        of_first(&beam(vec![seated(300.0), anchor(1000.0, Hold::Rigid)])),
        [(0.0, 300.0, Row::Overhang, 0.0), (300.0, 1000.0, Row::Constant, 0.0), (1000.0, 2000.0, Row::Clamped, 0.0)]
    );
}

/// A bearer that is seated holds itself upright; the rail under it is not held by the bearer, whose end may turn.
#[test]
fn a_seat_holds_the_carried_member_alone() {
    let mut design = beam(vec![anchor(0.0, Hold::Seated), anchor(2000.0, Hold::Seated)]);
    design.stock.push(stock(45.0, 70.0));
    design.members.push(member("C1", "45x70", [1000.0, -500.0, 145.0], [1000.0, 500.0, 145.0]));
    design.anchors.push(Anchor { member: "C1".to_owned(), at_mm: 1000.0, to: "wall".to_owned(), ..Anchor::default() });
    let joint = |hold| Joint { member: "C1".to_owned(), on: "B1".to_owned(), hold, ..Joint::default() };
    design.joints = vec![joint(Hold::Seated)];
    assert_eq!(of_first(&design).len(), 1);
    let crossing = unheld(&Frame::new(&design).unwrap());
    assert_eq!(crossing[1].iter().map(|u| (u.from_mm, u.to_mm)).collect::<Vec<_>>(), [(0.0, 500.0), (500.0, 1000.0)]);
    // A stiff corner holds both.
    design.joints = vec![joint(Hold::Rigid)];
    assert_eq!(of_first(&design).len(), 2);
    // A member that hangs on this one alone holds nothing.
    design.anchors.pop();
    assert_eq!(of_first(&design).len(), 1);
}

/// 20 G J/a and 40 E I_z/a³ with a = 1000 mm to the next place, by hand: G J = 690 · 5.823e6 = 4.018e9, so
/// 8.04e7 N·mm/rad; E I_z = 11 000 · 1 670 625 = 1.838e10, so 735 N/mm.
#[test]
fn springs_count_where_they_are_stiff_enough() {
    use Grip::{Rigid, Spring};
    let with = |sideways: f64, roll: f64| {
        let middle = Hold::Given([Rigid, Spring(sideways), Rigid, Spring(roll), Grip::Free, Grip::Free]);
        of_first(&beam(vec![anchor(0.0, Hold::Seated), anchor(1000.0, middle), anchor(2000.0, Hold::Seated)])).len()
    };
    assert_eq!(with(750.0, 8.1e7), 2);
    assert_eq!(with(720.0, 8.1e7), 1);
    assert_eq!(with(750.0, 7.9e7), 1);
}

/// Only a sheet, only when screwed, and only over its own length.
#[test]
fn a_screwed_sheet_holds_the_upper_edge() {
    let mut design = beam(vec![anchor(0.0, Hold::Seated), anchor(2000.0, Hold::Seated)]);
    design.members.push(member("B2", "45x220", [0.0, 400.0, 0.0], [2000.0, 400.0, 0.0]));
    for at_mm in [0.0, 2000.0] {
        design.anchors.push(Anchor { member: "B2".to_owned(), ..anchor(at_mm, Hold::Seated) });
    }
    let deck = Deck { tag: "D1".to_owned(), carried_by: vec!["B1".to_owned(), "B2".to_owned()], ..Deck::default() };
    let sign = |deck: Deck| {
        let mut design = design.clone();
        design.decks = vec![deck];
        of_first(&design)[0].3
    };
    assert_eq!(sign(deck.clone()), 0.0);
    assert_eq!(sign(Deck { screwed: true, ..deck.clone() }), -1.0);
    let short = Deck { screwed: true, from_mm: Some([300.0, -22.5]), ..deck.clone() };
    assert_eq!(sign(short), 0.0);
    let mut slats = design.clone();
    slats.stock.push(stock(95.0, 20.0));
    let surface = DeckSurface::Slats { stock: "95x20".to_owned(), gap_mm: 50.0 };
    slats.decks = vec![Deck { screwed: true, surface, ..deck }];
    assert_eq!(of_first(&slats)[0].3, 0.0);
}
