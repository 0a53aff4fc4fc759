//! Proof loads on decks: the strip under the patch, and the members under it.

use super::*;
use battenboard_engine::design::{Deck, DeckSurface, Heading, People, Posture};
use battenboard_engine::findings::Check;
use battenboard_engine::{Ask, check};

/// Three bearers along y, 400 mm apart, C24 45x70, 1200 long, each on four rigid directions at both ends, under a deck.
fn decked(surface: DeckSurface) -> Design {
    let mut design = timber();
    design.members.clear();
    design.anchors.clear();
    for (number, x) in [0.0, 400.0, 800.0].into_iter().enumerate() {
        let tag = format!("B{number}");
        design.members.push(build::member(&tag, "bar", [x, 0.0, 0.0], [x, 1200.0, 0.0]));
        for (end, at) in [("L", 0.0), ("R", 1200.0)] {
            design.anchors.push(build::anchor(&format!("{tag}{end}"), &tag, at, build::free_in(&[3, 5])));
        }
    }
    design.decks.push(Deck {
        tag: "D1".into(),
        surface,
        carried_by: ["B0", "B1", "B2"].map(String::from).to_vec(),
        ..Deck::default()
    });
    design
}

fn sheet() -> DeckSurface {
    DeckSurface::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true }
}

fn knee(at: [f64; 2]) -> ProofLoad {
    let target = Target::Deck { tag: "D1".into(), at_mm: at, patch_mm: Some([80.0, 80.0]) };
    ProofLoad { most_utilisation: Some(1.0), ..mass(target, 100.0) }
}

/// The same knee as an entry of the design's people.
fn kneeling(at: [f64; 2]) -> Vec<Check> {
    let mut design = decked(sheet());
    design.people.push(People {
        name: "a knee".into(),
        posture: Posture::Kneeling,
        deck: "D1".into(),
        heads: Heading::Front,
        at_mm: vec![at],
        mass_kg: Some(100.0),
    });
    check(&frame(&design), Ask::default(), &|| false).unwrap().checks
}

#[test]
fn a_knee_uses_what_the_findings_say_it_uses() {
    for at in [[200.0, 600.0], [400.0, 300.0], [620.0, 1150.0]] {
        let findings = kneeling(at);
        let strength = findings.iter().filter(|check| {
            check.combination.starts_with("a knee")
                && ![CheckKind::SagInstant, CheckKind::SagFinal, CheckKind::DeckSag].contains(&check.kind)
                && ![CheckKind::Sway, CheckKind::Frequency].contains(&check.kind)
        });
        let worst = strength.map(|check| check.utilisation).fold(0.0, f64::max);
        let result = run(&decked(sheet()), &knee(at));
        let used = result.utilisation().unwrap_or_else(|| panic!("{result:?}"));
        assert!((used - worst).abs() < 1e-6 * worst, "{at:?}: {used} instead of {worst}");
        assert!(result.not_judged.is_empty(), "{:?}", result.not_judged);
    }
}

/// Over a bearer the place sags with that bearer; between two with half of each and with the deck's own strip.
#[test]
fn a_place_on_a_deck_sags_with_what_lies_under_it() {
    let over = run(&decked(sheet()), &knee([400.0, 600.0])).sag.unwrap();
    let under = over.greatest_mm;
    assert!(under > 0.5 && over.at_place_mm >= under * 0.99, "{over:?}");
    let between = run(&decked(sheet()), &knee([200.0, 600.0]));
    let strip = kneeling([200.0, 600.0]).into_iter().find(|check| check.kind == CheckKind::DeckSag).unwrap();
    let found = between.sag.unwrap();
    assert!(found.at_place_mm > strip.demand * 0.5, "{found:?} {}", strip.demand);
    assert_eq!(found.greatest_tag, "D1");
}

/// By hand: slats of C24 45 x 20 on edge bearers 400 apart, touching nothing beside; P on one slat's pitch. A simple
/// beam with the load even over 80 mm in its middle: w = P l³/(48 E I) (1 - c²/(2 l²) + c³/(8 l³)), c = 80 (derived by
/// superposition of point loads), and shear P l/(4 G A_s)(1 - c/(2 l)). Own weight of 0.4 N is under a hundredth.
#[test]
fn a_slat_alone_sags_by_hand() {
    let slats = DeckSurface::Slats { stock: "slat".into(), gap_mm: 100.0 };
    let mut design = decked(slats);
    let mut stock = design.stock[0].clone();
    stock.name = "slat".into();
    stock.section = Section::Rectangle { width_mm: 45.0, depth_mm: 20.0 };
    stock.resawn = false;
    stock.material = Material::Class("C24".into());
    design.stock.push(stock);
    for member in &mut design.members {
        member.stock = "bar".into();
    }
    let at = [200.0, 600.0];
    let target = Target::Deck { tag: "D1".into(), at_mm: at, patch_mm: Some([80.0, 80.0]) };
    let result = run(&design, &ProofLoad { most_sag_mm: Some(50.0), ..mass(target, 30.0) });
    let (p, l, c): (f64, f64, f64) = (30.0 * G, 400.0, 80.0);
    let (i, shear) = (45.0 * 8000.0 / 12.0, 690.0 * 900.0 * 5.0 / 6.0);
    let bending = p * l.powi(3) / (48.0 * 11_000.0 * i) * (1.0 - c * c / (2.0 * l * l) + c.powi(3) / (8.0 * l.powi(3)));
    let slat = bending + p * l / (4.0 * shear) * (1.0 - c / (2.0 * l));
    // Each bearer has half of it, at its middle, over 80 mm.
    let l: f64 = 1200.0;
    let beam = 0.5 * p * l.powi(3) / (48.0 * 11_000.0 * I)
        * (1.0 - c * c / (2.0 * l * l) + c.powi(3) / (8.0 * l.powi(3)))
        + 0.5 * p * l / (4.0 * 690.0 * AREA * 5.0 / 6.0) * (1.0 - c / (2.0 * l));
    let found = sag(&result);
    assert!((found - slat - beam).abs() < 0.03 * found, "{found} instead of {slat} and {beam}");
}

#[test]
fn a_point_beside_the_deck_cannot_be_run() {
    let result = run(&decked(sheet()), &knee([2000.0, 600.0]));
    assert_eq!(result.reason, Some(Reason::OffDeck { tag: "D1".into() }));
    let mut design = decked(sheet());
    design.decks.clear();
    assert_eq!(run(&design, &knee([200.0, 600.0])).reason, Some(Reason::TargetGone { tag: "D1".into() }));
}
