//! How far members move along a direction in one combination: exact, piece by piece, absolute.

use super::outcome::ProofSag;
use super::place::{On, Placed};
use crate::check::states::MemberStates;
use crate::design::Vector;
use crate::design::vector::to_local;
use crate::rules::roots::{derivative, in_interval};
use crate::statics::Analysis;
use crate::statics::line::value;

/// A member's movement along a direction as polynomials over its pieces.
struct Moved {
    pieces: Vec<([f64; 2], [f64; 6])>,
}

impl Moved {
    /// Sums the movement of a member over cases with their factors.
    fn new(analysis: &Analysis<'_>, member: usize, terms: &[(usize, f64)], direction: Vector) -> Self {
        let states = MemberStates::recover(analysis, member);
        let along = to_local(&analysis.frame.members[member].axes, direction);
        let mut pieces: Vec<([f64; 2], [f64; 6])> =
            states.cuts.at_mm.windows(2).map(|ends| ([ends[0], ends[1]], [0.0; 6])).collect();
        for (case, factor) in terms {
            let mesh = analysis.mesh_of(*case);
            let first_bar = mesh.elements.partition_point(|e| e.start < mesh.spans[member].0);
            let state = &states.cases[*case];
            for (index, (_, sum)) in pieces.iter_mut().enumerate() {
                let piece = &state.pieces[index];
                let stiffness = mesh.elements[first_bar + states.cuts.bar[index]].bar.ea;
                // Along the axis: the start's movement and what the piece stretches, u' = N/EA.
                let stretch = [state.displacements[index][0], piece.n[0], piece.n[1] / 2.0, piece.n[2] / 3.0];
                for (power, coefficient) in sum.iter_mut().enumerate() {
                    let axial = match power {
                        0 => stretch[0],
                        1..=3 => stretch[power] / stiffness,
                        _ => 0.0,
                    };
                    *coefficient +=
                        factor * (along[0] * axial + along[1] * piece.uy[power] + along[2] * piece.uz[power]);
                }
            }
        }
        Self { pieces }
    }

    fn at(&self, at_mm: f64) -> f64 {
        let index = self.pieces.partition_point(|([_, to], _)| *to < at_mm);
        let piece = self.pieces.get(index).or_else(|| self.pieces.last());
        piece.map_or(0.0, |([from, _], moved)| value(moved, at_mm - from))
    }

    /// The place that moves most, either way, and how far.
    fn greatest(&self) -> (f64, f64) {
        let mut best = (0.0, 0.0);
        for ([from, to], moved) in &self.pieces {
            let length = to - from;
            let turns = in_interval(&derivative(moved), 0.0, length);
            for s in [0.0].into_iter().chain(turns.as_slice().iter().copied()).chain([length]) {
                let size = value(moved, s).abs();
                if size > best.1 * (1.0 + 1e-9) {
                    best = (from + s, size);
                }
            }
        }
        best
    }
}

/// How far the place of a load and what it lies on give way. `deck_mm`: the sag of the deck between its members.
pub(super) fn sag(analysis: &Analysis<'_>, placed: &Placed<'_>, terms: &[(usize, f64)], deck_mm: f64) -> ProofSag {
    let design = analysis.frame.design();
    let mut found = ProofSag { at_place_mm: 0.0, greatest_mm: 0.0, greatest_tag: String::new(), greatest_at_mm: 0.0 };
    let weights = match placed.on {
        On::Member(member, at) => vec![(member, at, 1.0)],
        On::Deck(deck, ..) => under(analysis, deck, placed.point_mm),
    };
    let mut members: Vec<usize> = placed.members();
    members.extend(weights.iter().map(|(member, ..)| *member));
    members.sort_unstable();
    members.dedup();
    for member in members {
        let moved = Moved::new(analysis, member, terms, placed.direction);
        for (_, at, weight) in weights.iter().filter(|(under, ..)| *under == member) {
            found.at_place_mm += weight * moved.at(*at);
        }
        let (at, most) = moved.greatest();
        if found.greatest_tag.is_empty() || most > found.greatest_mm * (1.0 + 1e-9) {
            let greatest_tag = design.members[member].tag.clone();
            found = ProofSag { greatest_mm: most, greatest_tag, greatest_at_mm: at, ..found };
        }
    }
    found.at_place_mm = found.at_place_mm.abs() + deck_mm;
    if let On::Deck(deck, ..) = placed.on
        && found.at_place_mm > found.greatest_mm
    {
        let greatest_tag = design.decks[deck].tag.clone();
        found = ProofSag { greatest_mm: found.at_place_mm, greatest_tag, greatest_at_mm: 0.0, ..found };
    }
    found
}

/// The members beside a point of a deck: each with the place on it and the share of its movement that the point has, by
/// the straight line between the two (beyond the outer ones drawn on).
fn under(analysis: &Analysis<'_>, deck: usize, point: Vector) -> Vec<(usize, f64, f64)> {
    let Some(deck) = analysis.frame.decks.get(deck) else { return Vec::new() };
    let (across, along) = (point[deck.across()], point[deck.along]);
    let inner = deck.lines.partition_point(|line| line.place_mm <= across);
    let second = inner.clamp(1, deck.lines.len().saturating_sub(1).max(1));
    let (Some(one), Some(other)) = (deck.lines.get(second - 1), deck.lines.get(second)) else { return Vec::new() };
    let far = (across - one.place_mm) / (other.place_mm - one.place_mm);
    let on = |line: &crate::design::surface::DeckLine, share: f64| {
        let past = |covers: &[f64; 2]| (covers[0] - along).max(along - covers[1]).max(0.0);
        let nearest = line.members.iter().min_by(|a, b| past(&a.1).total_cmp(&past(&b.1)))?;
        let member = &analysis.frame.members[nearest.0];
        let at = (along - member.from[deck.along]) * member.axes[0][deck.along].signum();
        Some((nearest.0, at.clamp(0.0, member.length_mm), share))
    };
    [on(one, 1.0 - far), on(other, far)].into_iter().flatten().collect()
}
