//! Sideways drift under notional loads: a share of the weights, pushed level.

use super::load::LoadCase;
use super::solve::Analysis;
use super::system::raw_loads;

/// Level push for each newton of weight that is not people's: lean 1/200 and a parked slope of 5 % (P).
pub const PUSH: f64 = 0.005 + 0.05;
/// Level push for each newton of people's weight: the same, and 0.1 as they move (P).
pub const PUSH_PEOPLE: f64 = PUSH + 0.1;
/// Heights over the lowest anchor from which drift is looked at, mm.
const HEIGHT_LEAST: f64 = 100.0;

/// The place that drifts most for its height, and how stiff the frame is that way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drift {
    /// Index of the combination.
    pub combination: usize,
    /// Direction: 0 along the vehicle, 1 across it.
    pub direction: usize,
    /// Index of the member.
    pub member: usize,
    /// Place from its start, mm.
    pub at_mm: f64,
    /// Drift, mm.
    pub drift_mm: f64,
    /// Height over the lowest anchor, mm.
    pub height_mm: f64,
}

/// The worst drift over the combinations given by their terms, for its height; and the sideways stiffness along and across
/// the vehicle, N/mm: the greatest push of all combinations over the drift of the place that then moves most. `None` where
/// nothing stands high enough or nothing weighs.
pub fn drift(analysis: &Analysis<'_>, combinations: &[&[(usize, f64)]]) -> Option<(Drift, [f64; 2])> {
    let mesh = &analysis.system.mesh;
    let foot = analysis.frame.anchors.iter().filter(|a| !mesh.left_out[a.member]);
    let foot = foot.map(|a| mesh.places[mesh.place(a.member, a.at_mm)].point[2]).fold(f64::INFINITY, f64::min);
    let high: Vec<usize> = (0..mesh.places.len()).filter(|p| mesh.places[*p].point[2] - foot >= HEIGHT_LEAST).collect();
    if high.is_empty() {
        return None;
    }
    let pushed = Pushed::all(analysis);
    let mut worst: Option<Drift> = None;
    let mut stiffness = [f64::INFINITY; 2];
    for (combination, terms) in combinations.iter().enumerate() {
        for direction in [0, 1] {
            let push: f64 = terms.iter().map(|(case, factor)| factor * pushed[*case].push_n).sum();
            let mut most = 0.0_f64;
            for place in &high {
                let moved = |(case, factor): &(usize, f64)| factor * pushed[*case].u[direction][6 * place + direction];
                let drift_mm = terms.iter().map(moved).sum::<f64>().abs();
                most = most.max(drift_mm);
                let height_mm = mesh.places[*place].point[2] - foot;
                if worst.is_none_or(|w| drift_mm / height_mm > w.drift_mm / w.height_mm * (1.0 + 1e-9)) {
                    let (member, at_mm) = (mesh.places[*place].member, mesh.places[*place].at_mm);
                    worst = Some(Drift { combination, direction, member, at_mm, drift_mm, height_mm });
                }
            }
            if most > 0.0 {
                stiffness[direction] = stiffness[direction].min(push / most);
            }
        }
    }
    worst.filter(|w| w.drift_mm > 0.0).map(|w| (w, stiffness))
}

/// A case's notional push.
struct Pushed {
    /// Sum of the push, N.
    push_n: f64,
    /// Displacements by raw degree of freedom, pushed along and across the vehicle.
    u: [Vec<f64>; 2],
}

impl Pushed {
    /// Of all cases, solved together.
    fn all(analysis: &Analysis<'_>) -> Vec<Self> {
        let system = &analysis.system;
        let (order, raw_count) = (system.order(), system.mesh.raw_count());
        let weights: Vec<Vec<f64>> = analysis.cases.iter().map(|case| downward(analysis, case)).collect();
        let mut block = vec![0.0; 2 * order * weights.len()];
        let columns = weights.iter().flat_map(|weights| [(weights, 0), (weights, 1)]);
        let mut level = vec![0.0; raw_count];
        for ((weights, direction), column) in columns.zip(block.chunks_mut(order.max(1))) {
            level.fill(0.0);
            level.chunks_mut(6).zip(weights).for_each(|(slot, push)| slot[direction] = *push);
            system.reduce(&level, column);
        }
        system.factor.solve(&mut block, 2 * weights.len());
        let mut solved = block.chunks(order.max(1)).map(|column| {
            let mut u = vec![0.0; raw_count];
            system.expand(column, &mut u);
            u
        });
        weights
            .iter()
            .map(|weights| Self {
                push_n: weights.iter().sum(),
                u: std::array::from_fn(|_| solved.next().unwrap_or_default()),
            })
            .collect()
    }
}

/// Notional push at each place, N.
fn downward(analysis: &Analysis<'_>, case: &LoadCase) -> Vec<f64> {
    if case.settlement {
        return vec![0.0; analysis.system.mesh.places.len()];
    }
    let share = if case.people { PUSH_PEOPLE } else { PUSH };
    let weights = raw_loads(analysis.frame, &analysis.system.mesh, case);
    weights.chunks(6).map(|place| share * (-place[2]).max(0.0)).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::design::{Design, Hold};
    use crate::statics::posts;

    /// Clamped posts (height, newtons on the head), their feet at a height.
    fn standing(foot: f64, each: &[(f64, f64)]) -> Design {
        let mut design = posts::blank();
        for (k, (height, newtons)) in each.iter().enumerate() {
            let (tag, x) = (format!("P{k}"), 500.0 * k as f64);
            posts::member(&mut design, &tag, [x, 0.0, foot], [x, 0.0, foot + height]);
            posts::anchor(&mut design, &tag, 0.0, Hold::Rigid);
            posts::load(&mut design, "load", &tag, *height, [0.0, 0.0, -newtons], [0.0; 3]);
        }
        design
    }

    fn of(design: &Design, factors: &[f64]) -> Option<(Drift, [f64; 2])> {
        let frame = posts::frame(design);
        let analysis = posts::solved(&frame);
        let terms: Vec<_> = factors.iter().map(|factor| posts::terms(&analysis, &[("load", *factor)])).collect();
        drift(&analysis, &terms.iter().map(Vec::as_slice).collect::<Vec<_>>())
    }

    /// Heights count from the lowest anchor: a post drifts by 0.055 F h³/3 E I (a cantilever, by hand) wherever it stands,
    /// and a stub under 100 mm is not looked at wherever it stands.
    #[test]
    fn heights_count_from_the_foot() {
        let expected = 0.055 * 1000.0 * 1200.0_f64.powi(3) / (3.0 * posts::WEAK);
        for foot in [0.0, 500.0, -300.0] {
            let (drift, stiffness) = of(&standing(foot, &[(1200.0, 1000.0)]), &[1.0]).unwrap();
            assert!((drift.drift_mm / expected - 1.0).abs() < 1e-9, "{foot}: {drift:?}");
            assert!((drift.height_mm - 1200.0).abs() < 1e-9 && drift.direction == 1, "{foot}: {drift:?}");
            // The push over it; along the vehicle four times as stiff.
            assert!((stiffness[1] * expected / 55.0 - 1.0).abs() < 1e-9, "{stiffness:?}");
            assert!((stiffness[0] / stiffness[1] - 4.0).abs() < 1e-9, "{stiffness:?}");
            assert!(of(&standing(foot, &[(99.0, 1000.0)]), &[1.0]).is_none(), "{foot}");
            assert!(of(&standing(foot, &[(100.0, 1000.0)]), &[1.0]).is_some(), "{foot}");
        }
    }

    /// The worst place is that with the greatest drift over height (h² by hand), wherever it comes in the lists; the first
    /// of those that are alike.
    #[test]
    fn the_worst_is_told_and_the_first_of_equals() {
        for (each, member) in [
            ([(1200.0, 1000.0), (900.0, 1000.0)], 0),
            ([(900.0, 1000.0), (1200.0, 1000.0)], 1),
            ([(1000.0, 1000.0), (1000.0, 1000.0)], 0),
            // The lower one drifts more for its height: 2 x 0.9² against 1.2².
            ([(900.0, 2000.0), (1200.0, 1000.0)], 0),
        ] {
            for (factors, combination) in [([2.0, 1.0], 0), ([1.0, 2.0], 1), ([1.0, 1.0], 0)] {
                let (drift, _) = of(&standing(0.0, &each), &factors).unwrap();
                assert_eq!((drift.member, drift.combination), (member, combination), "{each:?} {factors:?}");
            }
        }
    }

    #[test]
    fn what_weighs_nothing_does_not_drift() {
        assert!(of(&standing(0.0, &[(1200.0, 1000.0)]), &[0.0]).is_none());
    }
}
