//! Results in full precision: every case and combination, every member, anchor and joint.

use super::states::MemberStates;
use crate::design::frame::FrameMember;
use crate::design::vector::{add, scale, to_vehicle};
use crate::findings::{
    Extreme, LimitState, MemberResults, PlaceResults, PointForces, Results, SectionForces, StateResults,
};
use crate::rules::combine::Combined;
use crate::rules::roots;
use crate::statics::Analysis;
use crate::statics::line::{Piece, value};
use crate::statics::load::Role;
use crate::statics::recover::{Cuts, MemberState};
use crate::statics::solve::{anchor_force, joint_force};
use crate::statics::system::System;

/// A state to show: its name, what a combination is for (`None`: a load case), its cases with factors.
type Wanted = (String, Option<LimitState>, Vec<(usize, f64)>);
/// One of a piece's polynomials.
type Pick<T> = fn(&Piece) -> &T;

/// Everything that was computed: the standing load cases at the begin, then every combination. The unit pushes of the
/// road and the cases of the end are no further loads; they show in the combinations.
pub fn results(analysis: &Analysis<'_>, combined: &[Combined]) -> Results {
    let begun = analysis.cases.iter().enumerate().take(analysis.begun());
    let standing = begun.filter(|(_, case)| case.role == Role::Standing);
    let cases = standing.map(|(k, case)| (case.name.clone(), None, vec![(k, 1.0)]));
    let combinations = combined.iter().map(|c| (c.name.clone(), Some(c.limit_state), c.terms.clone()));
    let wanted: Vec<Wanted> = cases.chain(combinations).collect();
    let mut states: Vec<StateResults> = wanted
        .iter()
        .map(|(name, limit_state, terms)| StateResults {
            name: name.clone(),
            combined: limit_state.is_some(),
            limit_state: *limit_state,
            members: Vec::new(),
            reactions: reactions(analysis, terms),
            joints: joints(analysis, terms),
        })
        .collect();
    let supports = super::states::supports(analysis.frame);
    for member in (0..analysis.frame.members.len()).filter(|m| !analysis.untold[*m]) {
        let all = MemberStates::recover(analysis, member);
        let mut state = MemberState::default();
        for (result, (_, _, terms)) in states.iter_mut().zip(&wanted) {
            all.combine(terms, &mut state);
            result.members.push(member_results(analysis, member, &all.cuts, &state, &supports[member]));
        }
    }
    Results { states }
}

fn combined_force(terms: &[(usize, f64)], tag: &str, of_case: impl Fn(usize) -> ([f64; 3], [f64; 3])) -> PointForces {
    let mut sum = PointForces { tag: tag.to_owned(), ..PointForces::default() };
    for (case, factor) in terms {
        let (force, moment) = of_case(*case);
        sum.force_n = add(sum.force_n, scale(force, *factor));
        sum.moment_n_mm = add(sum.moment_n_mm, scale(moment, *factor));
    }
    sum
}

fn reactions(analysis: &Analysis<'_>, terms: &[(usize, f64)]) -> Vec<PointForces> {
    let Analysis { frame, system: System { mesh, .. }, solved, .. } = analysis;
    let anchors = frame.anchors.iter().enumerate().filter(|(_, a)| !analysis.untold[a.member]);
    anchors.map(|(i, a)| combined_force(terms, &a.tag, |case| anchor_force(frame, mesh, &solved[case], i))).collect()
}

fn joints(analysis: &Analysis<'_>, terms: &[(usize, f64)]) -> Vec<PointForces> {
    let Analysis { frame, system: System { mesh, .. }, solved, .. } = analysis;
    let joints = frame.joints.iter().enumerate().filter(|(_, j)| !analysis.untold[j.member]);
    joints.map(|(i, j)| combined_force(terms, &j.tag, |case| joint_force(frame, mesh, &solved[case], i))).collect()
}

fn member_results(
    analysis: &Analysis<'_>,
    member: usize,
    cuts: &Cuts,
    state: &MemberState,
    supports: &[f64],
) -> MemberResults {
    let place = &analysis.frame.members[member];
    let last = state.pieces.len();
    let places = cuts
        .at_mm
        .iter()
        .enumerate()
        .map(|(i, at_mm)| PlaceResults {
            at_mm: *at_mm,
            displacement: in_vehicle(place, &state.displacements[i]),
            forces_before: if i > 0 { end_forces(&state.pieces[i - 1]) } else { SectionForces::default() },
            forces_after: if i < last { state.pieces[i].forces(0.0) } else { SectionForces::default() },
        })
        .collect();
    MemberResults {
        tag: analysis.frame.design().members[member].tag.clone(),
        places,
        extremes: extremes(&state.pieces, supports),
    }
}

fn end_forces(piece: &Piece) -> SectionForces {
    piece.forces(piece.to_mm - piece.from_mm)
}

fn in_vehicle(member: &FrameMember, local: &[f64; 6]) -> [f64; 6] {
    let moved = to_vehicle(&member.axes, [local[0], local[1], local[2]]);
    let turned = to_vehicle(&member.axes, [local[3], local[4], local[5]]);
    [moved[0], moved[1], moved[2], turned[0], turned[1], turned[2]]
}

/// Extremes of each stress resultant and of the sags to the chords between supports.
fn extremes(pieces: &[Piece], supports: &[f64]) -> Vec<Extreme> {
    let named: [(&str, Pick<[f64]>); 6] =
        [("n", |p| &p.n), ("vy", |p| &p.vy), ("vz", |p| &p.vz), ("t", |p| &p.t), ("my", |p| &p.my), ("mz", |p| &p.mz)];
    let mut found: Vec<Extreme> = named
        .iter()
        .map(|(name, pick)| extreme(name, pieces, |p, out| out[..pick(p).len()].copy_from_slice(pick(p))))
        .collect();
    let deflections: [(&str, Pick<[f64; 6]>); 2] = [("sag_y", |p| &p.uy), ("sag_z", |p| &p.uz)];
    for (name, pick) in deflections {
        let chords = chords(pieces, supports, pick);
        found.push(extreme(name, pieces, |piece, out| {
            out.copy_from_slice(pick(piece));
            let middle = 0.5 * (piece.from_mm + piece.to_mm);
            let chord = chords.iter().find(|c| middle <= c.to).or(chords.last());
            if let Some(chord) = chord {
                out[0] -= chord.value + chord.slope * (piece.from_mm - chord.from);
                out[1] -= chord.slope;
            }
        }));
    }
    found
}

struct Chord {
    from: f64,
    to: f64,
    value: f64,
    slope: f64,
}

/// Straight lines between neighbouring supports; past the outer ones the line of the span beside them goes on.
fn chords(pieces: &[Piece], supports: &[f64], pick: fn(&Piece) -> &[f64; 6]) -> Vec<Chord> {
    let at = |x: f64| {
        let piece = pieces.iter().find(|p| x <= p.to_mm + 1e-9).or(pieces.last());
        piece.map_or(0.0, |p| value(pick(p), x - p.from_mm))
    };
    let mut chords: Vec<Chord> = supports
        .windows(2)
        .filter(|w| w[1] - w[0] > 1e-9)
        .map(|w| Chord { from: w[0], to: w[1], value: at(w[0]), slope: (at(w[1]) - at(w[0])) / (w[1] - w[0]) })
        .collect();
    if let Some(last) = chords.last_mut() {
        last.to = f64::INFINITY;
    }
    chords
}

fn extreme(name: &str, pieces: &[Piece], fill: impl Fn(&Piece, &mut [f64; 6])) -> Extreme {
    let mut found =
        Extreme { quantity: name.to_owned(), least: f64::INFINITY, greatest: f64::NEG_INFINITY, ..Extreme::default() };
    for piece in pieces {
        let mut polynomial = [0.0; 6];
        fill(piece, &mut polynomial);
        let length = piece.to_mm - piece.from_mm;
        let turning = roots::in_interval(&roots::derivative(&polynomial), 0.0, length);
        for s in [0.0, length].iter().chain(turning.as_slice()) {
            let here = value(&polynomial, *s);
            if here < found.least {
                (found.least, found.least_at_mm) = (here, piece.from_mm + s);
            }
            if here > found.greatest {
                (found.greatest, found.greatest_at_mm) = (here, piece.from_mm + s);
            }
        }
    }
    found
}
