#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::design::surface::mattress_taken;
use crate::design::{
    Anchor, DeckSurface, Design, Grading, Hold, Inside, Material, Member, People, Section, Stock, Vehicle,
};

/// A deck of 12 mm birch plywood on two bearers 45 wide and 70 deep, whose tops lie at `top_mm`, 1200 x 600 in plan.
fn deck(design: &mut Design, tag: &str, top_mm: f64, from_y_mm: f64) {
    let axis_mm = top_mm - 35.0;
    for (index, y) in [from_y_mm, from_y_mm + 555.0].into_iter().enumerate() {
        let member = format!("{tag}B{index}");
        design.members.push(Member {
            tag: member.clone(),
            kind: "bearer".into(),
            stock: "45x70".into(),
            from: [2000.0, y, axis_mm],
            to: [3200.0, y, axis_mm],
            ..Member::default()
        });
        for at_mm in [0.0, 1200.0] {
            design.anchors.push(Anchor {
                tag: Some(format!("{member}at{at_mm}")),
                member: member.clone(),
                at_mm,
                to: "rib".into(),
                hold: Hold::Pinned,
                ..Anchor::default()
            });
        }
    }
    design.decks.push(Deck {
        tag: tag.into(),
        surface: DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true },
        carried_by: vec![format!("{tag}B0"), format!("{tag}B1")],
        ..Deck::default()
    });
}

/// One deck, its wood's top at 512 mm, under a ceiling.
fn under(ceiling_mm: f64) -> Design {
    let mut design = Design {
        name: "room".into(),
        title: "A deck under a ceiling".into(),
        vehicle: Vehicle {
            name: "Curlew".into(),
            survey: 1,
            inside: Some(Inside { from: [1500.0, -900.0, 0.0], to: [4700.0, 900.0, ceiling_mm] }),
            ..Vehicle::default()
        },
        stock: vec![Stock {
            name: "45x70".into(),
            section: Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 },
            material: Material::Class("C24".into()),
            grading: Grading::Stamped,
            lengths_mm: Vec::new(),
            price_per_m: None,
            resawn: false,
        }],
        ..Design::default()
    };
    deck(&mut design, "D1", 500.0, -300.0);
    design
}

fn found(design: &Design) -> Vec<Headroom> {
    headroom(&Frame::new(design).unwrap())
}

#[test]
fn a_deck_where_somebody_only_kneels_has_none_and_one_to_lie_on_is_measured_from_its_wood() {
    let mut design = under(1512.0);
    design.people.push(People {
        name: "a knee".into(),
        posture: Posture::Kneeling,
        deck: "D1".into(),
        at_mm: vec![[2600.0, 0.0]],
        ..People::default()
    });
    assert_eq!(found(&design), []);
    design.people[0].posture = Posture::Lying;
    // 1512 - (500 + 12), bare wood.
    let expected = Headroom {
        deck: "D1".into(),
        under: None,
        clear_mm: 1000.0,
        mattress_mm: 0.0,
        enough_for: Room::Sitting,
        next_mm: 0.0,
    };
    assert_eq!(found(&design), [expected]);
}

#[test]
fn a_mattress_is_pressed_together_and_one_that_is_not_stated_is_taken() {
    let mut design = under(1512.0);
    design.decks[0].mattress_mm = Some(120.0);
    let stated = found(&design);
    // 120 x 0.75 = 90.
    assert_eq!((stated[0].mattress_mm, stated[0].clear_mm), (90.0, 910.0));
    assert_eq!(mattress_taken(&design), Vec::<String>::new());
    design.decks[0].mattress_mm = None;
    design.decks[0].bedding_kg = 14.0;
    let taken = found(&design);
    assert_eq!((taken[0].mattress_mm, taken[0].clear_mm), (75.0, 925.0));
    assert_eq!(mattress_taken(&design), ["D1"]);
}

#[test]
fn without_a_ceiling_there_is_no_height() {
    let mut design = under(1512.0);
    design.vehicle.inside = None;
    design.decks[0].bedding_kg = 14.0;
    let frame = Frame::new(&design).unwrap();
    assert_eq!(headroom(&frame), []);
}

#[test]
fn a_deck_above_is_the_ceiling_of_the_one_below_only_where_it_is_over_it() {
    let mut design = under(1912.0);
    deck(&mut design, "D2", 1282.0, 0.0);
    design.decks.iter_mut().for_each(|deck| deck.mattress_mm = Some(0.0));
    let both = found(&design);
    // D2's bearers reach down to 1282 - 70 = 1212; 1212 - 512 = 700 are clear under them, 1912 - 1294 = 618 above.
    assert_eq!((both[0].under.as_deref(), both[0].clear_mm, both[0].next_mm), (Some("D2"), 700.0, 20.0));
    assert_eq!((both[1].under.as_deref(), both[1].clear_mm), (None, 618.0));
    let mut beside = under(1912.0);
    deck(&mut beside, "D2", 1282.0, 300.0);
    beside.decks.iter_mut().for_each(|deck| deck.mattress_mm = Some(0.0));
    // D1 ends at y = 255 + 22.5, D2 begins at 300 - 22.5: they only meet in plan.
    assert_eq!((found(&beside)[0].under.as_deref(), found(&beside)[0].clear_mm), (None, 1400.0));
}

#[test]
fn a_ceiling_below_the_mattress_leaves_less_than_nothing() {
    let mut design = under(550.0);
    design.decks[0].mattress_mm = Some(80.0);
    let low = found(&design);
    assert_eq!((low[0].clear_mm, low[0].enough_for, low[0].next_mm), (-22.0, Room::Cramped, 522.0));
}

#[test]
fn rooms_change_at_their_limits_and_rounding_does_not_decide() {
    assert_eq!(room(499.9), (Room::Cramped, 500.0 - 499.9));
    assert_eq!(room(500.0), (Room::Lying, 220.0));
    assert_eq!(room(720.0 - 1e-9), (Room::Bent, 180.0));
    assert_eq!(room(900.0), (Room::Sitting, 0.0));
}

/// Common practice, no source: a roof line raised by 150 to 200 mm is the difference between lying and sitting.
///
/// It is so for a deck over which one lies, or at best sits bent: at 740 mm raising by 160 to 200 lets one sit up. It
/// holds from 900 - 150 = 750 mm for every raise of 150 to 200, from 900 - 200 = 700 mm for the greatest of them, and
/// not under that, nor where one sits up already.
#[test]
fn a_roof_line_raised_by_150_to_200_is_the_difference_between_lying_and_sitting() {
    let enough = |clear_mm: f64, raised_mm: f64| {
        let mut design = under(512.0 + clear_mm + raised_mm);
        design.decks[0].mattress_mm = Some(0.0);
        found(&design)[0].enough_for
    };
    assert_eq!(enough(740.0, 0.0), Room::Bent);
    for raised in [160.0, 170.0, 180.0, 190.0, 200.0] {
        assert_eq!(enough(740.0, raised), Room::Sitting, "740 mm raised by {raised}");
    }
    assert_eq!((enough(700.0, 0.0), enough(700.0, 200.0)), (Room::Lying, Room::Sitting));
    for clear in 500..900 {
        let clear = f64::from(clear);
        let (least, most) = (enough(clear, 150.0) == Room::Sitting, enough(clear, 200.0) == Room::Sitting);
        assert_eq!((least, most), (clear >= 750.0, clear >= 700.0), "{clear} mm");
        assert!(enough(clear, 0.0) < Room::Sitting);
    }
}
