//! The corners of a notch: which of them a crack opens from, and how much shear passes there.

use super::{Cut, keep_worse};
use crate::design::Notch;
use crate::design::touch::SideFace;
use crate::findings::{Check, CheckKind, SectionForces, Verdict};
use crate::rules::judge::State;
use crate::rules::notch::{self, Notched};
use crate::statics::line::Piece;

/// A moment that uses less than this share of the whole section does not pull a notch open (P). Were (6.62) taken with
/// M/V for its arm x, a square notch through seven tenths of a section 70 deep would split at a share of 0.07 (by hand).
const LEAST_BENDING: f64 = 0.05;
/// A moment over that of the shear times its arm by this is not the notch of 6.5.2.
const ARM_SLACK: f64 = 1.5;

/// What the corners come to.
#[derive(Default)]
pub(super) struct Corners {
    /// The worst shear at a corner.
    pub(super) worst: Option<Check>,
    /// True where a notch is pulled open by bending, for which there is no rule.
    pub(super) open: bool,
}

/// One corner of a notch.
struct Corner<'a> {
    at_mm: f64,
    /// True where the whole section lies behind it, seen from the member's start.
    whole_after: bool,
    side: SideFace,
    /// The place that carries the member or loads it beside the notch, and whether it carries.
    beside: Option<(f64, bool)>,
    notched: Notched,
    cut: &'a Cut<'a>,
}

impl Cut<'_> {
    /// Judges the corners of all notches.
    pub(super) fn corners(&self, states: &[State<'_>]) -> Corners {
        let mut corners = Corners::default();
        for notch in &self.stated.notches {
            for whole_after in [false, true] {
                if let Some(corner) = self.corner(notch, whole_after) {
                    corner.take(states, &mut corners);
                }
            }
        }
        corners
    }

    /// A corner; `None` at the member's end, where the notch runs out.
    fn corner(&self, notch: &Notch, whole_after: bool) -> Option<Corner<'_>> {
        let length = self.placed.length_mm;
        let near = 1e-6 * length;
        let at_mm = if whole_after { notch.to_mm } else { notch.from_mm };
        if at_mm <= near || at_mm >= length - near {
            return None;
        }
        let side = SideFace::of(notch.face);
        let h_mm = self.size_mm(side.axis);
        // On the side of what is left, within the notch or no farther beside it than the section is deep.
        let reach = |place: f64| {
            let [from, to] = if whole_after { [notch.from_mm - h_mm, at_mm] } else { [at_mm, notch.to_mm + h_mm] };
            place >= from - near && place <= to + near
        };
        let beside = self.places.iter().filter(|(place, _)| reach(*place)).copied();
        // The nearest; of two at one place the one that carries.
        let beside =
            beside.min_by(|a, b| (a.0 - at_mm).abs().total_cmp(&(b.0 - at_mm).abs()).then_with(|| b.1.cmp(&a.1)));
        let inside = 1e-6 * (notch.to_mm - notch.from_mm).min(length);
        let left = self.left(if whole_after { at_mm - inside } else { at_mm + inside });
        let notched = Notched {
            h_mm,
            h_ef_mm: left[side.axis - 1].size_mm(),
            width_mm: left[2 - side.axis].size_mm(),
            x_mm: beside.map_or(0.0, |(place, _)| (place - at_mm).abs()),
            slope: notch.slope,
            k_n: notch::k_n(self.class.family),
        };
        (notched.h_ef_mm > 0.0 && notched.width_mm > 0.0).then_some(Corner {
            at_mm,
            whole_after,
            side,
            beside,
            notched,
            cut: self,
        })
    }
}

impl Corner<'_> {
    fn take(&self, states: &[State<'_>], corners: &mut Corners) {
        let whole = &self.cut.whole;
        let mut worst: Option<(f64, usize, f64)> = None;
        for (index, state) in states.iter().enumerate() {
            let bending = self.pulled_open(&self.forces(state.pieces, self.at_mm));
            let per_moment = whole.per_moment(state.k_mod)[2 - self.side.axis];
            let bent = bending * per_moment > LEAST_BENDING;
            let pushed = self.pushed_open(state.pieces);
            // A support opens the crack by its push alone; under a load the face must be in tension besides.
            let opens = self.beside.is_some_and(|(_, carries)| pushed > 0.0 && (carries || bending > 0.0));
            if bent && !(opens && bending <= ARM_SLACK * pushed * self.notched.x_mm) {
                corners.open = true;
            }
            if !opens {
                continue;
            }
            let used = pushed * notch::per_newton(&self.notched, whole, state.k_mod);
            if worst.is_none_or(|(most, ..)| used > most * (1.0 + 1e-9)) {
                worst = Some((used, index, pushed));
            }
        }
        if let Some((_, index, shear)) = worst {
            keep_worse(&mut corners.worst, Some(self.check(&states[index], shear)));
        }
    }

    fn check(&self, state: &State<'_>, shear_n: f64) -> Check {
        let outcome = notch::outcome(&self.notched, &self.cut.whole, state.k_mod, shear_n);
        Check {
            tag: self.cut.stated.tag.clone(),
            member_kind: self.cut.stated.kind.clone(),
            kind: CheckKind::Notch,
            clause: outcome.clause.to_owned(),
            at_mm: self.at_mm,
            point_mm: self.cut.placed.point(self.at_mm),
            combination: state.combination.to_owned(),
            forces: self.forces(state.pieces, self.at_mm),
            demand: outcome.demand,
            resistance: outcome.resistance,
            unit: outcome.unit.to_owned(),
            utilisation: outcome.utilisation,
            verdict: Verdict::of(outcome.utilisation),
            factors: outcome.factors,
            mend: None,
        }
    }

    /// Direction into the timber from the notched face, along its section axis.
    fn inward(&self) -> f64 {
        if self.side.positive { -1.0 } else { 1.0 }
    }

    /// Force, N, with which the part beside the corner pushes the whole section away from the notched face: positive
    /// opens a crack along the grain from the corner. The larger of those at the corner and at the support.
    fn pushed_open(&self, pieces: &[Piece]) -> f64 {
        let push = |at_mm: f64| {
            let forces = self.forces(pieces, at_mm);
            let shear = if self.side.axis == 1 { forces.vy_n } else { forces.vz_n };
            // The +x face of what comes before shows the force of what comes behind.
            if self.whole_after { -shear * self.inward() } else { shear * self.inward() }
        };
        self.beside.map_or_else(|| push(self.at_mm), |(place, _)| push(self.at_mm).max(push(place)))
    }

    /// Moment, N·mm, that pulls at the notched face.
    fn pulled_open(&self, forces: &SectionForces) -> f64 {
        let moment = if self.side.axis == 1 { forces.mz_n_mm } else { -forces.my_n_mm };
        moment * self.inward()
    }

    /// Forces at a place, on its side towards the whole section: what acts at the place itself is passed on by what is
    /// left.
    fn forces(&self, pieces: &[Piece], at_mm: f64) -> SectionForces {
        let near = 1e-7 * self.cut.placed.length_mm;
        let piece = if self.whole_after {
            pieces.iter().find(|piece| piece.to_mm > at_mm + near).or_else(|| pieces.last())
        } else {
            pieces.iter().rev().find(|piece| piece.from_mm < at_mm - near).or_else(|| pieces.first())
        };
        piece.map(|piece| piece.forces(at_mm - piece.from_mm)).unwrap_or_default()
    }
}
