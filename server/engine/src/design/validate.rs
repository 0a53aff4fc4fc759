//! Every number, tag and reference of a design, checked at the door; all faults are collected.

mod cuts;
mod loads;
mod numbers;
mod tags;
mod to_be_measured;

use super::frame::FrameMember;
use super::resolve::Tags;
use super::surface::FrameDeck;
use super::{Design, Vehicle, Violation};

/// Most faults that are told of one design; the rest is counted in a last line.
pub const VIOLATIONS_MAX: usize = 200;

/// Most members of a design the engine takes (a server may take fewer).
pub const MEMBERS_MAX: usize = 20_000;

/// Checks all that can be seen before axes are placed.
pub fn design(design: &Design) -> Vec<Violation> {
    let mut violations = Vec::new();
    let too_many = numbers::counts(design, &mut violations);
    // A design far beyond the limits is not looked at item by item.
    if !too_many {
        numbers::values(design, &mut violations);
        tags::names(design, &mut violations);
        tags::references(design, &mut violations);
        loads::cases(design, &mut violations);
        to_be_measured::entries(design, &mut violations);
    }
    cap(&mut violations);
    violations
}

/// Checks a vehicle that stands alone, as a survey does; field paths begin with `vehicle`.
pub fn vehicle(vehicle: &Vehicle) -> Vec<Violation> {
    let mut violations = Vec::new();
    tags::of_vehicle(&vehicle.name, &mut violations);
    numbers::of_vehicle(vehicle, &mut violations);
    let names_alone = Vehicle { name: vehicle.name.clone(), survey: vehicle.survey, ..Vehicle::default() };
    if *vehicle == names_alone {
        let mend = "state at least one measure, limit or weighing";
        violations.push(Violation::new("vehicle", "no figure of the vehicle is stated").mend(mend));
    }
    violations
}

/// Checks what needs placed members and decks.
pub fn placed(
    design: &Design,
    members: &[FrameMember],
    decks: &[FrameDeck],
    tags: &Tags,
    violations: &mut Vec<Violation>,
) {
    if members.len() == design.members.len() {
        cuts::placed(design, members, tags, violations);
    }
    loads::places(design, members, tags, violations);
    if decks.len() == design.decks.len() {
        loads::people(design, decks, violations);
        loads::seats(design, decks, violations);
    }
    cap(violations);
}

fn cap(violations: &mut Vec<Violation>) {
    if violations.len() > VIOLATIONS_MAX {
        let more = violations.len() - VIOLATIONS_MAX;
        violations.truncate(VIOLATIONS_MAX);
        violations.push(Violation::new("", format!("and {more} more faults")));
    }
}
