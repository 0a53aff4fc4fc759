//! Sag along a member: to the chord of each span, to the line of the back-span on overhangs, and absolute.
//!
//! Each local axis is judged by itself. Limits (P where the code leaves a range): a span's final sag at most
//! span/250 (EN 1995-1-1 table 7.2: 250 to 350) and its instant sag at most span/300 (300 to 500); slats span/150 for
//! both (P); an overhang at most length/125 in the end (125 to 175) and length/150 at once (150 to 250), but never
//! less than the span beside it is allowed (P: a short stub that only tips with its span is no fault).

use super::{MARGIN, Place, State, Subject, displacement, displacement_at, factor, forces_at, hull, most, piece_at};
use crate::findings::{Check, CheckKind, LimitState};
use crate::rules::roots::{derivative, in_interval};
use crate::rules::strength::Outcome;
use crate::statics::line::value;

/// Supports nearer than this count as one, mm.
const SAME_PLACE_MM: f64 = 1e-6;

/// Span over sag, by what is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SagLimits {
    /// Span over final sag.
    pub span_final: f64,
    /// Span over instant sag.
    pub span_instant: f64,
    /// Overhang over final sag.
    pub overhang_final: f64,
    /// Overhang over instant sag.
    pub overhang_instant: f64,
}

impl SagLimits {
    /// Limits for a kind of member. `span_over_sag` is the builder's own final limit for spans; the instant one then
    /// moves along (300 to 250).
    pub fn new(kind: &str, span_over_sag: Option<f64>) -> Self {
        let (span_final, span_instant) = if kind == "slat" {
            (150.0, 150.0)
        } else {
            let last = span_over_sag.unwrap_or(250.0);
            (last, last * 1.2)
        };
        Self { span_final, span_instant, overhang_final: 125.0, overhang_instant: 150.0 }
    }
}

/// The worst sag of one kind so far.
#[derive(Clone, Copy, Debug)]
struct Worst {
    utilisation: f64,
    state: usize,
    at_mm: f64,
    sag_mm: f64,
    limit_mm: f64,
    /// Span or overhang judged, mm; `None` for an absolute limit.
    length_mm: Option<f64>,
}

/// The worst of each sag check so far.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SagBest {
    instant: Option<Worst>,
    last: Option<Worst>,
    stated: Option<Worst>,
}

/// A stretch of the member with the straight line its sag is measured from and its limit.
struct Reach {
    from_mm: f64,
    to_mm: f64,
    /// Along y and z: place, value and slope of the line.
    lines: [[f64; 3]; 2],
    limit_mm: f64,
    length_mm: Option<f64>,
}

impl SagBest {
    /// Takes in one sag state.
    pub(super) fn take(&mut self, subject: &Subject<'_>, index: usize, state: &State<'_>) {
        let instant = state.limit_state == LimitState::SagInstant;
        let (span, overhang) = match instant {
            true => (subject.limits.span_instant, subject.limits.overhang_instant),
            false => (subject.limits.span_final, subject.limits.overhang_final),
        };
        let best = if instant { &mut self.instant } else { &mut self.last };
        relative(subject, state, [span, overhang], &mut |reach| reach.take(index, state, best));
        if let (true, Some(limit_mm)) = (instant, subject.sag_limit_mm) {
            let lines = [[0.0; 3]; 2];
            let whole = Reach { from_mm: 0.0, to_mm: subject.length_mm, lines, limit_mm, length_mm: None };
            whole.take(index, state, &mut self.stated);
        }
    }

    /// The governing checks.
    pub(super) fn checks(&self, subject: &Subject<'_>, states: &[State<'_>]) -> Vec<Check> {
        let kinds = [
            (CheckKind::SagInstant, self.instant, "EN 1995-1-1 7.2 table 7.2"),
            (CheckKind::SagFinal, self.last, "EN 1995-1-1 2.2.3 and 7.2 table 7.2"),
            (CheckKind::SagStated, self.stated, "limit stated in the design"),
        ];
        let mut checks = Vec::new();
        for (kind, worst, clause) in kinds {
            let Some(worst) = worst else { continue };
            let state = &states[worst.state];
            let forces = forces_at(state.pieces, worst.at_mm);
            let place = Place { at_mm: worst.at_mm, combination: state.combination, forces };
            let factors = match worst.length_mm {
                Some(length) => vec![factor("l", length), factor("l/w", length / worst.limit_mm)],
                None => Vec::new(),
            };
            let outcome = Outcome {
                utilisation: worst.utilisation,
                demand: worst.sag_mm,
                resistance: worst.limit_mm,
                unit: "mm",
                clause,
                factors,
            };
            checks.push(subject.check(kind, &place, outcome));
        }
        checks
    }
}

/// Visits every span and overhang of the member with its line.
fn relative(subject: &Subject<'_>, state: &State<'_>, [span, overhang]: [f64; 2], visit: &mut dyn FnMut(Reach)) {
    let supports = subject.supports_mm;
    let (Some(first), Some(last)) = (supports.first().copied(), supports.last().copied()) else { return };
    let mut ends = [None; 2];
    let mut left = first;
    for right in supports.iter().copied().skip(1).filter(|right| right - first > SAME_PLACE_MM) {
        let length = right - left;
        if length <= SAME_PLACE_MM {
            continue;
        }
        let lines = [0, 1].map(|axis| chord(state, axis, left, right));
        let limit_mm = length / span;
        ends[0].get_or_insert((lines, limit_mm));
        ends[1] = Some((lines, limit_mm));
        visit(Reach { from_mm: left, to_mm: right, lines, limit_mm, length_mm: Some(length) });
        left = right;
    }
    let reaches = [(0.0, first, ends[0]), (last, subject.length_mm, ends[1])];
    for (from_mm, to_mm, beside) in reaches {
        let length = to_mm - from_mm;
        if length <= SAME_PLACE_MM {
            continue;
        }
        let (lines, least) = beside.unwrap_or_else(|| ([0, 1].map(|axis| tangent(subject, state, axis, first)), 0.0));
        let limit_mm = (length / overhang).max(least);
        visit(Reach { from_mm, to_mm, lines, limit_mm, length_mm: Some(length) });
    }
}

/// The straight line through two places of the bent axis.
fn chord(state: &State<'_>, axis: usize, left: f64, right: f64) -> [f64; 3] {
    let (one, other) = (displacement_at(state.pieces, axis, left), displacement_at(state.pieces, axis, right));
    [left, one, (other - one) / (right - left)]
}

/// The line a cantilever starts along: through its support, at right angles to the section there. The axis itself
/// leaves at an angle V/(G A_s) to it.
fn tangent(subject: &Subject<'_>, state: &State<'_>, axis: usize, at_mm: f64) -> [f64; 3] {
    let Some(piece) = piece_at(state.pieces, at_mm) else { return [at_mm, 0.0, 0.0] };
    let s = at_mm - piece.from_mm;
    let shear = if axis == 0 { value(&piece.vy, s) } else { value(&piece.vz, s) };
    let slip = subject.shear_stiffness_n[axis].map_or(0.0, |stiffness| shear / stiffness);
    let bent = displacement(piece, axis);
    [at_mm, value(bent, s), value(&derivative(bent), s) - slip]
}

impl Reach {
    /// Looks for a greater share of the limit in this stretch.
    fn take(&self, index: usize, state: &State<'_>, best: &mut Option<Worst>) {
        let first = state.pieces.partition_point(|piece| piece.to_mm <= self.from_mm + SAME_PLACE_MM);
        for piece in &state.pieces[first..] {
            if piece.from_mm >= self.to_mm - SAME_PLACE_MM {
                break;
            }
            let length = piece.to_mm - piece.from_mm;
            let ends = [(self.from_mm - piece.from_mm).max(0.0), (self.to_mm - piece.from_mm).min(length)];
            for (axis, [place, line, slope]) in self.lines.into_iter().enumerate() {
                let mut sag = *displacement(piece, axis);
                sag[0] -= line + slope * (piece.from_mm - place);
                sag[1] -= slope;
                let enough = |found: f64, best: &Option<Worst>| {
                    found / self.limit_mm > best.map_or(-1.0, |best| best.utilisation * MARGIN)
                };
                if !enough(most(hull(&sag, length)), best) {
                    continue;
                }
                let mut visit = |s: f64| {
                    let sag_mm = value(&sag, s).abs();
                    if enough(sag_mm, best) {
                        *best = Some(Worst {
                            utilisation: sag_mm / self.limit_mm,
                            state: index,
                            at_mm: piece.from_mm + s,
                            sag_mm,
                            limit_mm: self.limit_mm,
                            length_mm: self.length_mm,
                        });
                    }
                };
                ends.into_iter().for_each(&mut visit);
                in_interval(&derivative(&sag), ends[0], ends[1]).as_slice().iter().for_each(|s| visit(*s));
            }
        }
    }
}
