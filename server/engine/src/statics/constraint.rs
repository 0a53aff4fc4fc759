//! Rigid joints, anchors and offsets as linear equations between displacements, eliminated exactly.
//!
//! Every equation is `sum(c_i u_i) = value`. They are taken one by one: displacements eliminated before are
//! substituted, the largest coefficient left becomes the pivot. What is left over is `u = T q + g` with free unknowns
//! `q`; no large springs are involved. The multipliers (forces of joints and anchors) come back from the residual by
//! the same triangles, so that equilibrium is shown and not assumed.

/// A sparse row: index and coefficient, sorted by index.
pub type Row = Vec<(usize, f64)>;

/// One equation between displacements.
#[derive(Clone, Debug, Default)]
pub struct Equation {
    /// Coefficients by raw degree of freedom.
    pub row: Row,
    /// Right-hand side per load case that has one (settlement): case, value.
    pub value: f64,
}

/// An equation after substitution of all pivots before it.
#[derive(Clone, Debug)]
struct Reduced {
    row: Row,
    pivot: usize,
    value: f64,
    /// Earlier equations used, with their factors: original = this + sum(factor x reduced of that).
    used: Vec<(usize, f64)>,
}

/// The elimination of a set of equations.
#[derive(Clone, Debug)]
pub struct Elimination {
    reduced: Vec<Option<Reduced>>,
    /// Per raw degree of freedom: its free unknowns and factors.
    pub terms: Vec<Row>,
    /// Per raw degree of freedom: its forced part (from settlements).
    pub forced: Vec<f64>,
    /// Number of free unknowns.
    pub free_count: usize,
}

/// Two settlements that no rigid frame can follow at once: index of the equation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Contradiction(pub usize);

/// Adds `factor x row` to a sorted sparse row.
fn add_scaled(target: &mut Row, row: &Row, factor: f64, scratch: &mut Row) {
    scratch.clear();
    let (mut i, mut j) = (0, 0);
    while i < target.len() || j < row.len() {
        let left = target.get(i).map_or(usize::MAX, |e| e.0);
        let right = row.get(j).map_or(usize::MAX, |e| e.0);
        if left < right {
            scratch.push(target[i]);
            i += 1;
        } else if right < left {
            scratch.push((right, factor * row[j].1));
            j += 1;
        } else {
            scratch.push((left, target[i].1 + factor * row[j].1));
            i += 1;
            j += 1;
        }
    }
    std::mem::swap(target, scratch);
}

impl Elimination {
    /// Eliminates `equations` over `raw_count` displacements. `arm` is a typical length (mm): a turn weighs `1 / arm`
    /// of a displacement when pivots are compared, so that units do not decide.
    ///
    /// # Errors
    /// [`Contradiction`] when an equation only repeats others but with another value.
    pub fn new(raw_count: usize, equations: &[Equation], arm: f64) -> Result<Self, Contradiction> {
        let mut pivot_of: Vec<usize> = vec![usize::MAX; raw_count];
        let mut reduced: Vec<Option<Reduced>> = Vec::with_capacity(equations.len());
        let mut scratch = Row::new();
        for (index, equation) in equations.iter().enumerate() {
            let step = reduce(equation, &pivot_of, &reduced, arm, &mut scratch);
            if let Some(step) = &step {
                pivot_of[step.pivot] = index;
            } else if equation.value.abs() > 0.0 {
                let left = leftover_value(equation, &pivot_of, &reduced, &mut scratch);
                if left.abs() > 1e-9 * equation.value.abs() {
                    return Err(Contradiction(index));
                }
            }
            reduced.push(step);
        }
        Ok(Self::resolve(raw_count, reduced, &pivot_of))
    }

    /// From the last pivot to the first, expresses each by free unknowns only.
    fn resolve(raw_count: usize, reduced: Vec<Option<Reduced>>, pivot_of: &[usize]) -> Self {
        let mut number = vec![usize::MAX; raw_count];
        let mut free_count = 0;
        for (dof, pivot) in pivot_of.iter().enumerate() {
            if *pivot == usize::MAX {
                number[dof] = free_count;
                free_count += 1;
            }
        }
        let mut terms: Vec<Row> =
            number.iter().map(|n| if *n == usize::MAX { Row::new() } else { vec![(*n, 1.0)] }).collect();
        let mut forced = vec![0.0; raw_count];
        let mut scratch = Row::new();
        for step in reduced.iter().rev().flatten() {
            let lead = step.row.iter().find(|e| e.0 == step.pivot).map_or(1.0, |e| e.1);
            let mut row = Row::new();
            let mut constant = step.value / lead;
            for (dof, coefficient) in step.row.iter().filter(|e| e.0 != step.pivot) {
                let factor = -coefficient / lead;
                add_scaled(&mut row, &terms[*dof], factor, &mut scratch);
                constant += factor * forced[*dof];
            }
            row.retain(|e| e.1.abs() > 1e-14);
            terms[step.pivot] = row;
            forced[step.pivot] = constant;
        }
        Self { reduced, terms, forced, free_count }
    }

    /// Forced displacements where the equations have other values than they were eliminated with: equation and value,
    /// each at most once. What only repeats other equations is left out, as its force is.
    pub fn forced_by(&self, values: &[(usize, f64)]) -> Vec<f64> {
        let mut value = vec![0.0; self.reduced.len()];
        for (equation, stated) in values {
            value[*equation] = *stated;
        }
        for (index, step) in self.reduced.iter().enumerate() {
            let Some(step) = step else { continue };
            value[index] -= step.used.iter().map(|(earlier, factor)| factor * value[*earlier]).sum::<f64>();
        }
        let mut forced = vec![0.0; self.terms.len()];
        for (index, step) in self.reduced.iter().enumerate().rev() {
            let Some(step) = step else { continue };
            let lead = step.row.iter().find(|e| e.0 == step.pivot).map_or(1.0, |e| e.1);
            let others = step.row.iter().filter(|e| e.0 != step.pivot);
            forced[step.pivot] = (value[index] - others.map(|(dof, c)| c * forced[*dof]).sum::<f64>()) / lead;
        }
        forced
    }

    /// Forces of the equations from the out-of-balance forces `residual` (K u - f by raw degree of freedom); leaves in
    /// `residual` what no equation can carry, which is the error of equilibrium.
    pub fn multipliers(&self, residual: &mut [f64]) -> Vec<f64> {
        let mut force = vec![0.0; self.reduced.len()];
        for (index, step) in self.reduced.iter().enumerate() {
            let Some(step) = step else { continue };
            let lead = step.row.iter().find(|e| e.0 == step.pivot).map_or(1.0, |e| e.1);
            let value = residual[step.pivot] / lead;
            if value != 0.0 {
                for (dof, coefficient) in &step.row {
                    residual[*dof] -= value * coefficient;
                }
            }
            force[index] = value;
        }
        for (index, step) in self.reduced.iter().enumerate().rev() {
            let Some(step) = step else { continue };
            for (earlier, factor) in &step.used {
                force[*earlier] -= factor * force[index];
            }
        }
        force
    }
}

fn substitute(
    equation: &Equation,
    pivot_of: &[usize],
    reduced: &[Option<Reduced>],
    scratch: &mut Row,
) -> (Row, f64, Vec<(usize, f64)>) {
    let mut row = equation.row.clone();
    let mut value = equation.value;
    let mut used = Vec::new();
    // Each pass removes the earliest pivot present; a reduced row holds no pivot of an equation before it, so the
    // passes go forward and end.
    loop {
        let earliest = row.iter().filter(|e| e.1 != 0.0 && pivot_of[e.0] != usize::MAX).min_by_key(|e| pivot_of[e.0]);
        let Some(&(dof, coefficient)) = earliest else { break };
        let source = pivot_of[dof];
        let Some(step) = &reduced[source] else { break };
        let lead = step.row.iter().find(|e| e.0 == dof).map_or(1.0, |e| e.1);
        let factor = coefficient / lead;
        add_scaled(&mut row, &step.row, -factor, scratch);
        row.retain(|e| e.0 != dof);
        value -= factor * step.value;
        used.push((source, factor));
    }
    (row, value, used)
}

fn leftover_value(equation: &Equation, pivot_of: &[usize], reduced: &[Option<Reduced>], scratch: &mut Row) -> f64 {
    substitute(equation, pivot_of, reduced, scratch).1
}

fn weight(dof: usize, coefficient: f64, arm: f64) -> f64 {
    if dof % 6 < 3 { coefficient.abs() } else { coefficient.abs() / arm }
}

fn reduce(
    equation: &Equation,
    pivot_of: &[usize],
    reduced: &[Option<Reduced>],
    arm: f64,
    scratch: &mut Row,
) -> Option<Reduced> {
    let size = equation.row.iter().map(|e| weight(e.0, e.1, arm)).fold(0.0, f64::max);
    let (mut row, value, used) = substitute(equation, pivot_of, reduced, scratch);
    row.retain(|e| weight(e.0, e.1, arm) > 1e-11 * size);
    let largest = row.iter().map(|e| weight(e.0, e.1, arm)).fold(0.0, f64::max);
    if largest <= 1e-9 * size {
        return None;
    }
    // Among near-equals the last: the carried member's own place, whose row stays short.
    let pivot = row.iter().rev().find(|e| weight(e.0, e.1, arm) > 0.999 * largest).map(|e| e.0)?;
    Some(Reduced { row, pivot, value, used })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn equation(row: &[(usize, f64)], value: f64) -> Equation {
        Equation { row: row.to_vec(), value }
    }

    #[test]
    fn chains_and_repeats_resolve_to_free_unknowns() {
        // u0 = u1, u1 = 2 u2, u0 = 2 u2 (a repeat), u3 = 5.
        let equations = [
            equation(&[(0, 1.0), (1, -1.0)], 0.0),
            equation(&[(1, 1.0), (2, -2.0)], 0.0),
            equation(&[(0, 1.0), (2, -2.0)], 0.0),
            equation(&[(3, 1.0)], 5.0),
        ];
        let elimination = Elimination::new(6, &equations, 1.0).ok();
        let elimination = elimination.as_ref();
        assert_eq!(elimination.map(|e| e.free_count), Some(3));
        assert_eq!(elimination.map(|e| e.forced[3]), Some(5.0));
        // Forces on the three tied displacements: 4 on u0, 6 on u1 and what balances them on u2.
        let mut residual = vec![4.0, 6.0, -20.0, 1.5, 0.0, 0.0];
        let force = elimination.map(|e| e.multipliers(&mut residual)).unwrap_or_default();
        assert_eq!(force, vec![4.0, 10.0, 0.0, 1.5]);
        assert!(residual.iter().all(|r| r.abs() < 1e-12));
    }

    #[test]
    fn other_values_force_other_places() {
        // u1 = 2 u2 + a, u0 = u1 + b: forced u1 = a, u0 = a + b.
        let rows = |a: f64, b: f64| {
            [equation(&[(1, 1.0), (2, -2.0)], a), equation(&[(0, 1.0), (1, -1.0)], b), equation(&[(4, 2.0)], 6.0)]
        };
        let none = Elimination::new(6, &rows(0.0, 0.0), 1.0).ok();
        let stated = Elimination::new(6, &rows(3.0, 0.5), 1.0).ok();
        let forced = none.map(|e| e.forced_by(&[(0, 3.0), (1, 0.5), (2, 6.0)]));
        assert_eq!(forced, stated.map(|e| e.forced));
    }

    #[test]
    fn two_settlements_of_one_place_contradict() {
        let equations = [equation(&[(0, 1.0)], 2.0), equation(&[(0, 1.0)], 3.0)];
        assert_eq!(Elimination::new(6, &equations, 1.0).err(), Some(Contradiction(1)));
    }

    /// A repeat with the same value is no contradiction (u0 = 2 and 2 u0 = 4), and bears no force: the first bears it all.
    #[test]
    fn a_repeat_that_agrees_bears_nothing() {
        let equations = [equation(&[(0, 1.0)], 2.0), equation(&[(0, 2.0)], 4.0), equation(&[(2, 1.0)], 0.5)];
        let forces = Elimination::new(6, &equations, 1.0).map(|e| e.multipliers(&mut [7.0, 0.0, -3.0, 0.0, 0.0, 0.0]));
        assert_eq!(forces.ok(), Some(vec![7.0, 0.0, -3.0]));
    }

    /// u0 = 2 and u0 + 2 u1 = 10 give u1 = 4; with u1 - u2 = 1 on top u2 = 3 (by hand).
    #[test]
    fn stated_values_are_substituted() {
        let equations =
            [equation(&[(0, 1.0)], 2.0), equation(&[(0, 1.0), (1, 2.0)], 10.0), equation(&[(1, 1.0), (2, -1.0)], 1.0)];
        let forced = Elimination::new(6, &equations, 1.0).map(|e| e.forced);
        assert_eq!(forced.ok(), Some(vec![2.0, 4.0, 3.0, 0.0, 0.0, 0.0]));
    }

    /// Of the six directions of any place the last three are turns, which weigh one over the arm.
    #[test]
    fn turns_weigh_one_over_the_arm() {
        for dof in 0..24 {
            let weight = weight(dof, -30.0, 10.0);
            assert!((weight - if matches!(dof % 6, 0..3) { 30.0 } else { 3.0 }).abs() < 1e-12, "{dof}");
        }
    }
}
