//! Loads on decks taken one way to the members under them, by the lever rule between neighbouring lines.

use super::load::{Loads, MemberLoad};
use crate::design::surface::{DeckLine, FrameDeck};
use crate::design::vector::{norm, scale, to_local};
use crate::design::{Frame, Heading, Posture, Vector};

/// A rectangle on a deck, mm in vehicle axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// Least and greatest place across the members.
    pub across: [f64; 2],
    /// Least and greatest place along the members.
    pub along: [f64; 2],
}

impl Patch {
    /// The whole of a deck.
    pub fn whole(deck: &FrameDeck) -> Self {
        Self { across: deck.across_mm, along: deck.along_mm }
    }

    /// Sizes across and along.
    fn sizes(&self) -> [f64; 2] {
        [self.across[1] - self.across[0], self.along[1] - self.along[0]]
    }

    /// The patch moved onto its deck; where it is larger than the deck it is cut to it.
    pub fn moved_onto(self, deck: &FrameDeck) -> Self {
        Self { across: moved(self.across, deck.across_mm), along: moved(self.along, deck.along_mm) }
    }
}

fn moved(range: [f64; 2], within: [f64; 2]) -> [f64; 2] {
    let size = (range[1] - range[0]).min(within[1] - within[0]);
    let from = range[0].clamp(within[0], within[1] - size);
    [from, from + size]
}

/// Patches of a person with the share of his weight on each (P; see [`Posture`]), moved onto the deck as one.
pub fn person(deck: &FrameDeck, posture: Posture, heads: Heading, at: [f64; 2]) -> Vec<(Patch, f64)> {
    match posture {
        Posture::Lying => lying(deck, heads, at),
        Posture::Sitting => vec![(sitting(deck, at).moved_onto(deck), 1.0)],
        Posture::Kneeling => vec![(centred(deck, at, [80.0, 80.0]).moved_onto(deck), 1.0)],
    }
}

/// A patch of sizes along x and y around a point.
fn centred(deck: &FrameDeck, at: [f64; 2], size: [f64; 2]) -> Patch {
    let around = |axis: usize| [at[axis] - 0.5 * size[axis], at[axis] + 0.5 * size[axis]];
    Patch { across: around(deck.across()), along: around(deck.along) }
}

fn lying(deck: &FrameDeck, heads: Heading, at: [f64; 2]) -> Vec<(Patch, f64)> {
    let (axis, sign) = match heads {
        Heading::Front => (0, 1.0),
        Heading::Rear => (0, -1.0),
        Heading::Left => (1, 1.0),
        Heading::Right => (1, -1.0),
    };
    let mut size = [450.0, 450.0];
    size[axis] = 1800.0;
    let body = centred(deck, at, size).moved_onto(deck);
    let along_body = if axis == deck.along { body.along } else { body.across };
    // A deck shorter than a person takes all of him on its length.
    let stretch = (along_body[1] - along_body[0]) / 1800.0;
    let head = if sign > 0.0 { along_body[0] } else { along_body[1] };
    let parts = [(0.0, 200.0, 0.08), (200.0, 800.0, 0.50), (800.0, 1800.0, 0.42)];
    parts
        .into_iter()
        .map(|(from, to, share)| {
            let ends = [head + sign * from * stretch, head + sign * to * stretch];
            let range = [ends[0].min(ends[1]), ends[0].max(ends[1])];
            let patch =
                if axis == deck.along { Patch { along: range, ..body } } else { Patch { across: range, ..body } };
            (patch, share)
        })
        .collect()
}

/// 300 mm along the nearest edge of the deck, 200 mm inwards.
fn sitting(deck: &FrameDeck, at: [f64; 2]) -> Patch {
    let to_edge = |value: f64, range: [f64; 2]| (value - range[0]).min(range[1] - value);
    let edge_runs_along = to_edge(at[deck.across()], deck.across_mm) < to_edge(at[deck.along], deck.along_mm);
    let mut size = [200.0, 200.0];
    size[if edge_runs_along { deck.along } else { deck.across() }] = 300.0;
    centred(deck, at, size)
}

/// A downward force, N, in vehicle axes.
pub fn down(force: f64) -> Vector {
    [0.0, 0.0, -force]
}

/// Spreads a force (N, vehicle axes), even over a patch, to the members of a deck.
pub fn spread(frame: &Frame, deck: &FrameDeck, patch: Patch, force: Vector, loads: &mut Loads) {
    let [size_across, size_along] = patch.sizes();
    let magnitude = norm(force);
    if magnitude == 0.0 || size_across <= 0.0 {
        return;
    }
    let direction = scale(force, 1.0 / magnitude);
    let shares = shares(deck, patch.across, [magnitude / size_across, 0.0]);
    for (line, share) in deck.lines.iter().zip(shares) {
        if share != 0.0 {
            let per_mm = if size_along > 0.0 { share / size_along } else { 0.0 };
            along_line(frame, deck, line, Stretch { at: patch.along, value: [per_mm; 2] }, direction, loads);
        }
    }
}

/// A downward pressure over a patch that is zero at its middle and grows by a unit (N/mm² a mm) along a vehicle axis:
/// no force, but a couple.
pub fn tilt(frame: &Frame, deck: &FrameDeck, patch: Patch, axis: usize, loads: &mut Loads) {
    let [size_across, size_along] = patch.sizes();
    if size_across <= 0.0 || size_along <= 0.0 {
        return;
    }
    let along = axis == deck.along;
    let shares = if along {
        shares(deck, patch.across, [1.0, 0.0])
    } else {
        shares(deck, patch.across, [-0.5 * size_across * size_along, size_along])
    };
    for (line, share) in deck.lines.iter().zip(shares) {
        let ends = if along { [-0.5 * share * size_along, 0.5 * share * size_along] } else { [share / size_along; 2] };
        if ends != [0.0; 2] {
            along_line(frame, deck, line, Stretch { at: patch.along, value: ends }, down(1.0), loads);
        }
    }
}

/// What the lines of a deck take of a load over a range across them, by the lever rule. `line` is the load per mm at
/// the range's beginning, and its growth a mm.
fn shares(deck: &FrameDeck, range: [f64; 2], line: [f64; 2]) -> Vec<f64> {
    let mut share = vec![0.0; deck.lines.len()];
    for span in 0..deck.lines.len() - 1 {
        let (a, b) = (deck.lines[span].place_mm, deck.lines[span + 1].place_mm);
        // The outer spans also take what lies past the outer lines, as a lever.
        let low = if span == 0 { f64::NEG_INFINITY } else { a };
        let high = if span + 2 == deck.lines.len() { f64::INFINITY } else { b };
        let (from, to) = (range[0].max(low), range[1].min(high));
        if to > from {
            let (length, middle) = (to - from, 0.5 * (from + to));
            let part = length * (line[0] + line[1] * (middle - range[0]));
            let moment = part * (middle - a) + line[1] * length.powi(3) / 12.0;
            let far = moment / (b - a);
            share[span] += part - far;
            share[span + 1] += far;
        }
    }
    share
}

/// A load along a line of members: where it begins and ends, and its values there, N/mm, straight between.
#[derive(Clone, Copy)]
struct Stretch {
    at: [f64; 2],
    value: [f64; 2],
}

impl Stretch {
    /// The part from one place to another.
    fn part(&self, from: f64, to: f64) -> Self {
        let [start, end] = self.value;
        let length = self.at[1] - self.at[0];
        let value =
            |place: f64| if length > 0.0 { start + (end - start) * (place - self.at[0]) / length } else { start };
        Self { at: [from, to], value: [value(from), value(to)] }
    }

    fn force(&self) -> f64 {
        0.5 * (self.value[0] + self.value[1]) * (self.at[1] - self.at[0])
    }
}

/// Puts a load along a line on its members; what lies past their ends goes to the nearest end.
fn along_line(
    frame: &Frame,
    deck: &FrameDeck,
    line: &DeckLine,
    stretch: Stretch,
    direction: Vector,
    loads: &mut Loads,
) {
    let mut from = stretch.at[0];
    for (k, (member, covers)) in line.members.iter().enumerate() {
        let last = k + 1 == line.members.len();
        // Each member takes up to the middle of the gap to its neighbour.
        let to = if last { stretch.at[1] } else { stretch.at[1].min(0.5 * (covers[1] + line.members[k + 1].1[0])) };
        if to <= from {
            continue;
        }
        let (inner_from, inner_to) = (from.clamp(covers[0], covers[1]), to.clamp(covers[0], covers[1]));
        let outside = [(from, inner_from.min(to), covers[0]), (inner_to.max(from), to, covers[1])];
        if inner_to - inner_from > 1e-9 {
            push_line(frame, deck, *member, stretch.part(inner_from, inner_to), direction, loads);
        }
        for (a, b, end) in outside {
            if b - a > 1e-9 {
                push_point(frame, deck, *member, end, scale(direction, stretch.part(a, b).force()), loads);
            }
        }
        from = to;
    }
}

/// Place on a member from a place along the deck.
fn on_member(frame: &Frame, deck: &FrameDeck, member: usize, place: f64) -> f64 {
    let member = &frame.members[member];
    ((place - member.from[deck.along]) * member.axes[0][deck.along].signum()).clamp(0.0, member.length_mm)
}

fn push_line(frame: &Frame, deck: &FrameDeck, member: usize, stretch: Stretch, direction: Vector, loads: &mut Loads) {
    let [a, b] = stretch.at.map(|place| on_member(frame, deck, member, place));
    let [start, end] = stretch.value.map(|value| to_local(&frame.members[member].axes, scale(direction, value)));
    // A member may run against the deck.
    let load = if a <= b {
        MemberLoad::Line { from: a, to: b, start, end }
    } else {
        MemberLoad::Line { from: b, to: a, start: end, end: start }
    };
    loads.push((member, load));
}

fn push_point(frame: &Frame, deck: &FrameDeck, member: usize, place: f64, force: Vector, loads: &mut Loads) {
    let at = on_member(frame, deck, member, place);
    let force = to_local(&frame.members[member].axes, force);
    loads.push((member, MemberLoad::Point { at, force, moment: [0.0; 3] }));
}

#[cfg(test)]
mod tests;
