//! Notches and holes: what they leave of a member, and shear at the corners of notches beside supports.
//!
//! The statics keep the whole section: a cut is short and changes the stiffness of a member by next to nothing.

mod corner;

use super::members;
use super::stability::Study;
use crate::check::CheckError;
use crate::design::frame::{FrameMaterial, FrameMember};
use crate::design::touch::SideFace;
use crate::design::{Frame, Hole, Member, Notch, Section};
use crate::findings::{Check, CheckKind, LimitState};
use crate::rules::combine::Combined;
use crate::rules::hole::{LARGE, LARGE_MM, Left, Net};
use crate::rules::judge::{SagLimits, State, Subject, judge};
use crate::rules::strength::{Resistance, factor};
use crate::statics::Analysis;
use crate::statics::line::Piece;
use crate::tables::timber::TimberClass;
use std::collections::BTreeSet;

/// What notches and holes come to.
#[derive(Debug, Default)]
pub struct CutChecks {
    /// The worst of each kind for each member with cuts.
    pub checks: Vec<Check>,
    /// Members with a cut that no rule here covers.
    pub open: BTreeSet<usize>,
}

/// A timber with cuts.
struct Cut<'a> {
    stated: &'a Member,
    placed: &'a FrameMember,
    class: &'static TimberClass,
    whole: Resistance,
    width_mm: f64,
    depth_mm: f64,
    /// Places where something carries it (true) or lies on it (false), mm from its start.
    places: Vec<(f64, bool)>,
}

/// Judges every member with notches or holes.
///
/// # Errors
/// [`CheckError::Stopped`].
pub fn checks(
    analysis: &Analysis<'_>,
    combined: &[Combined],
    study: &Study,
    stop: &dyn Fn() -> bool,
) -> Result<CutChecks, CheckError> {
    let mut found = CutChecks::default();
    let design = analysis.frame.design();
    let computed = (0..design.members.len()).filter(|member| !analysis.untold[*member]);
    for member in computed.filter(|m| !(design.members[*m].notches.is_empty() && design.members[*m].holes.is_empty())) {
        if stop() {
            return Err(CheckError::Stopped);
        }
        let Some(cut) = Cut::new(analysis.frame, member) else {
            found.open.insert(member);
            continue;
        };
        let more = members::with_states(analysis, combined, study, member, |states| cut.judge(states));
        found.checks.extend(more.checks);
        if more.open {
            found.open.insert(member);
        }
    }
    Ok(found)
}

/// Checks of one member.
struct Judgement {
    checks: Vec<Check>,
    open: bool,
}

impl<'a> Cut<'a> {
    /// `None` where it is no rectangle of timber of a class.
    fn new(frame: &'a Frame, member: usize) -> Option<Self> {
        let (stated, placed) = (&frame.design().members[member], &frame.members[member]);
        let FrameMaterial::Timber(class) = placed.material else { return None };
        let Section::Rectangle { width_mm, depth_mm } = frame.design().stock[placed.stock].section else { return None };
        let whole = members::resistance(frame, member)?;
        let joints = frame.joints.iter().flat_map(|joint| {
            let carried = (joint.member == member).then_some((joint.at_mm, true));
            carried.into_iter().chain((joint.on == member).then_some((joint.on_at_mm, false)))
        });
        let anchors = frame.anchors.iter().filter(|a| a.member == member).map(|a| (a.at_mm, true));
        Some(Self { stated, placed, class, whole, width_mm, depth_mm, places: joints.chain(anchors).collect() })
    }

    /// The section's size along local y (1) or z (2), mm.
    fn size_mm(&self, axis: usize) -> f64 {
        if axis == 1 { self.width_mm } else { self.depth_mm }
    }

    fn subject(&self, resistance: Resistance) -> Subject<'_> {
        Subject {
            tag: &self.stated.tag,
            kind: &self.stated.kind,
            from: self.placed.from,
            along: self.placed.axes[0],
            length_mm: self.placed.length_mm,
            resistance: Some(resistance),
            metal: None,
            shear_stiffness_n: [None; 2],
            supports_mm: &[],
            unheld: &[],
            limits: SagLimits::new(&self.stated.kind, None),
            sag_limit_mm: None,
        }
    }

    fn judge(&self, states: &[State<'_>]) -> Judgement {
        let strength: Vec<State<'_>> =
            states.iter().filter(|state| state.limit_state == LimitState::Strength).copied().collect();
        let corners = self.corners(&strength);
        let mut judgement = Judgement { checks: Vec::new(), open: corners.open || self.has_large_hole() };
        let (mut notch, mut hole) = (corners.worst, None);
        for zone in self.zones() {
            let worst = if zone.notched { &mut notch } else { &mut hole };
            match self.net_check(&zone, &strength) {
                Ok(check) => keep_worse(worst, check),
                Err(NothingLeft) => judgement.open = true,
            }
        }
        judgement.checks.extend(notch.into_iter().chain(hole));
        judgement
    }

    /// Holes that would need a rule of their own against splitting.
    fn has_large_hole(&self) -> bool {
        self.stated.holes.iter().any(|hole| {
            let across = self.size_mm(if hole.through_depth { 1 } else { 2 });
            hole.diameter_mm > (LARGE * across).min(LARGE_MM)
        })
    }

    /// What is left of the section at a place, along y and along z.
    fn left(&self, at_mm: f64) -> [Left; 2] {
        let mut left = [Left::whole(self.width_mm), Left::whole(self.depth_mm)];
        for notch in self.stated.notches.iter().filter(|notch| notch.from_mm < at_mm && notch.to_mm > at_mm) {
            let side = SideFace::of(notch.face);
            let half = 0.5 * self.size_mm(side.axis);
            let inner = half - notch.depth_mm;
            let (from, to) = if side.positive { (inner, half) } else { (-half, -inner) };
            left[side.axis - 1].cut(from, to);
        }
        for hole in self.stated.holes.iter().filter(|hole| (hole.at_mm - at_mm).abs() < 0.5 * hole.diameter_mm) {
            let radius = 0.5 * hole.diameter_mm;
            left[if hole.through_depth { 0 } else { 1 }].cut(hole.off_mm - radius, hole.off_mm + radius);
        }
        left
    }

    /// The stretches of the member with the same cuts, those without any left out.
    fn zones(&self) -> Vec<Zone> {
        let length = self.placed.length_mm;
        let notches = self.stated.notches.iter().map(span_of_notch);
        let holes = self.stated.holes.iter().map(span_of_hole);
        let spans: Vec<[f64; 2]> = notches.chain(holes).map(|span| span.map(|at| at.clamp(0.0, length))).collect();
        let mut ends: Vec<f64> = spans.iter().flatten().copied().collect();
        ends.sort_by(f64::total_cmp);
        let mut zones = Vec::new();
        for pair in ends.windows(2).filter(|pair| pair[1] - pair[0] > 1e-9 * length) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let within = |[from, to]: [f64; 2]| from < middle && to > middle;
            let notched = self.stated.notches.iter().any(|notch| within(span_of_notch(notch)));
            if notched || self.stated.holes.iter().any(|hole| within(span_of_hole(hole))) {
                zones.push(Zone { from_mm: pair[0], to_mm: pair[1], notched });
            }
        }
        zones
    }

    /// The worst of bending, tension, compression and shear of what is left along a zone.
    fn net_check(&self, zone: &Zone, states: &[State<'_>]) -> Result<Option<Check>, NothingLeft> {
        let [y, z] = self.left(0.5 * (zone.from_mm + zone.to_mm));
        let net = Net::of(&y, &z).ok_or(NothingLeft)?;
        let sliced: Vec<Vec<Piece>> =
            states.iter().map(|state| slice(state.pieces, zone.from_mm, zone.to_mm, net.middle_mm)).collect();
        let states: Vec<State<'_>> = states
            .iter()
            .zip(&sliced)
            .map(|(state, pieces)| State { pieces, buckling_mm: self.buckling_mm(zone, state), ..*state })
            .collect();
        let checks = judge(&self.subject(net.resistance(&self.whole)), &states);
        let worst = checks.into_iter().max_by(|a, b| a.utilisation.total_cmp(&b.utilisation));
        Ok(worst.map(|mut check| {
            check.kind = if zone.notched { CheckKind::Notch } else { CheckKind::Hole };
            check.clause.push_str(", net section (5.2)");
            check.factors.push(factor("A_net", net.area_mm2));
            check.factors.push(factor("W_net,y", net.modulus_mm3[0]));
            check.factors.push(factor("W_net,z", net.modulus_mm3[1]));
            check
        }))
    }
}

impl Cut<'_> {
    /// Buckling lengths that count at a zone: those of the member within its middle third, where a column bows most,
    /// none nearer to its ends (common practice, no source).
    fn buckling_mm(&self, zone: &Zone, state: &State<'_>) -> Option<[f64; 2]> {
        let third = self.placed.length_mm / 3.0;
        let middle = zone.to_mm > third && zone.from_mm < 2.0 * third;
        if middle { state.buckling_mm } else { Some([0.0; 2]) }
    }
}

/// Cuts at one place that leave nothing.
struct NothingLeft;

/// A stretch of a member with the same cuts all along.
struct Zone {
    from_mm: f64,
    to_mm: f64,
    /// True where a notch is among them.
    notched: bool,
}

fn span_of_notch(notch: &Notch) -> [f64; 2] {
    [notch.from_mm, notch.to_mm]
}

fn span_of_hole(hole: &Hole) -> [f64; 2] {
    [hole.at_mm - 0.5 * hole.diameter_mm, hole.at_mm + 0.5 * hole.diameter_mm]
}

fn keep_worse(worst: &mut Option<Check>, check: Option<Check>) {
    let Some(check) = check else { return };
    if worst.as_ref().is_none_or(|worst| check.utilisation > worst.utilisation * (1.0 + 1e-9)) {
        *worst = Some(check);
    }
}

/// The parts of the pieces between two places, their moments about an axis that lies `middle_mm` (along y and z) off
/// the member's: an axial force bends what is left on one side. With sigma = N/A + My z/Iy - Mz y/Iz the moments about
/// that axis are My - N z0 and Mz + N y0.
fn slice(pieces: &[Piece], from_mm: f64, to_mm: f64, middle_mm: [f64; 2]) -> Vec<Piece> {
    let [y0, z0] = middle_mm;
    let within = pieces.iter().filter(|piece| piece.to_mm.min(to_mm) > piece.from_mm.max(from_mm));
    within
        .map(|piece| {
            let begin = piece.from_mm.max(from_mm);
            let by = begin - piece.from_mm;
            let n = shifted(&piece.n, by);
            let (mut my, mut mz) = (shifted(&piece.my, by), shifted(&piece.mz, by));
            my.iter_mut().zip(&n).for_each(|(m, n)| *m -= n * z0);
            mz.iter_mut().zip(&n).for_each(|(m, n)| *m += n * y0);
            Piece {
                from_mm: begin,
                to_mm: piece.to_mm.min(to_mm),
                n,
                vy: shifted(&piece.vy, by),
                vz: shifted(&piece.vz, by),
                t: shifted(&piece.t, by),
                my,
                mz,
                ..Piece::default()
            }
        })
        .collect()
}

/// The same polynomial in powers of a variable that begins `by` later.
fn shifted<const N: usize>(coefficients: &[f64; N], by: f64) -> [f64; N] {
    let mut moved = *coefficients;
    for first in 0..N {
        for power in (first..N - 1).rev() {
            moved[power] += by * moved[power + 1];
        }
    }
    moved
}

#[cfg(test)]
mod tests;
