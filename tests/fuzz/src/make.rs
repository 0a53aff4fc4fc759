//! Designs out of choices: a tree of members on a coarse grid or a platform, then further joints and anchors, decks,
//! gear, people and loads. Most are sound; now and then a number or a name is not.

mod parts;
mod shapes;
mod stuff;

use super::chance::Chance;
use battenboard_engine::design::Design;

/// The design of these choices.
pub fn design(bytes: &[u8]) -> Design {
    let mut chance = Chance::new(bytes);
    let mut design = Design { name: "made".into(), title: "Made of choices".into(), ..Design::default() };
    for number in 0..1 + chance.below(4) {
        design.stock.push(stuff::stock(&mut chance, number));
    }
    if chance.percent(40) {
        shapes::platform(&mut design, &mut chance);
    } else {
        shapes::tree(&mut design, &mut chance);
    }
    parts::extra(&mut design, &mut chance);
    stuff::loads(&mut design, &mut chance);
    if chance.percent(20) {
        stuff::vehicle(&mut design, &mut chance);
    }
    if chance.percent(20) {
        stuff::settings(&mut design, &mut chance);
    }
    if chance.percent(20) {
        stuff::to_be_measured(&mut design, &mut chance);
    }
    design
}
