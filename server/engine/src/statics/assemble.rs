//! The stiffness matrix of the free unknowns, and load vectors taken to them.

use super::constraint::Elimination;
use super::element::Twelve;
use super::factor::Lower;
use super::mesh::{Element, Mesh};
use crate::design::Frame;
use crate::design::vector::Triad;

/// Turns a vector of twelve from local to vehicle axes.
pub fn to_vehicle(axes: &Triad, local: &Twelve) -> Twelve {
    let [x, y, z] = axes;
    let mut out = [0.0; 12];
    for (out, l) in out.as_chunks_mut::<3>().0.iter_mut().zip(local.as_chunks::<3>().0) {
        for (i, out) in out.iter_mut().enumerate() {
            *out = x[i] * l[0] + y[i] * l[1] + z[i] * l[2];
        }
    }
    out
}

/// Turns a vector of twelve from vehicle to local axes.
pub fn to_local(axes: &Triad, vehicle: &Twelve) -> Twelve {
    let mut out = [0.0; 12];
    for (out, v) in out.as_chunks_mut::<3>().0.iter_mut().zip(vehicle.as_chunks::<3>().0) {
        for (out, axis) in out.iter_mut().zip(axes) {
            *out = axis[0] * v[0] + axis[1] * v[1] + axis[2] * v[2];
        }
    }
    out
}

/// A bar's matrix turned from local to vehicle axes.
fn turned(axes: &Triad, local: &[Twelve; 12]) -> [Twelve; 12] {
    let mut half = [[0.0; 12]; 12];
    for (out, row) in half.iter_mut().zip(local) {
        *out = to_vehicle(axes, row);
    }
    let mut full = [[0.0; 12]; 12];
    for column in 0..12 {
        let mut line = [0.0; 12];
        for (value, row) in line.iter_mut().zip(&half) {
            *value = row[column];
        }
        let turned = to_vehicle(axes, &line);
        for (row, value) in turned.iter().enumerate() {
            full[row][column] = *value;
        }
    }
    full
}

/// Pairs of unknowns of a bar that hangs on twelve, as most do.
const PAIRS: usize = 78;

/// Entries of the lower triangle before they are sorted and summed.
struct Entries {
    row: Vec<u32>,
    column: Vec<u32>,
    value: Vec<f64>,
}

impl Entries {
    fn with_capacity(count: usize) -> Self {
        Self { row: Vec::with_capacity(count), column: Vec::with_capacity(count), value: Vec::with_capacity(count) }
    }

    fn push(&mut self, a: usize, b: usize, value: f64) {
        self.row.push(a.max(b) as u32);
        self.column.push(a.min(b) as u32);
        self.value.push(value);
    }

    /// Sorts by column, then row (two stable counting passes), and sums repeats in that order.
    fn compress(self, order: usize) -> Lower {
        let by_row = counting_order(&self.row, order, None);
        let sorted = counting_order(&self.column, order, Some(&by_row));
        let mut lower = Lower { order, starts: vec![0; order + 1], rows: Vec::new(), values: Vec::new() };
        let mut last = (u32::MAX, u32::MAX);
        for entry in sorted {
            let entry = entry as usize;
            let place = (self.column[entry], self.row[entry]);
            if place == last {
                if let Some(value) = lower.values.last_mut() {
                    *value += self.value[entry];
                }
            } else {
                lower.rows.push(place.1 as usize);
                lower.values.push(self.value[entry]);
                lower.starts[place.0 as usize + 1] += 1;
                last = place;
            }
        }
        for column in 0..order {
            lower.starts[column + 1] += lower.starts[column];
        }
        lower
    }
}

/// Order of `keys` (each under `order`), stable with respect to `before`.
fn counting_order(keys: &[u32], order: usize, before: Option<&[u32]>) -> Vec<u32> {
    let mut starts = vec![0_usize; order + 1];
    for key in keys {
        starts[*key as usize + 1] += 1;
    }
    for i in 0..order {
        starts[i + 1] += starts[i];
    }
    let mut sorted = vec![0_u32; keys.len()];
    for position in 0..keys.len() {
        let entry = before.map_or(position as u32, |list| list[position]);
        let slot = &mut starts[keys[entry as usize] as usize];
        sorted[*slot] = entry;
        *slot += 1;
    }
    sorted
}

/// Assembles T' K T over bars and springs. `compression` of each bar in N (empty: none) is taken from its stiffness.
pub fn matrix(frame: &Frame, mesh: &Mesh, elimination: &Elimination, compression: &[f64]) -> Lower {
    matrix_of(frame, mesh, elimination, |index, element| {
        let mut local = element.bar.stiffness();
        let pressed = compression.get(index).copied().unwrap_or(0.0);
        if pressed != 0.0 {
            element.bar.take_geometric(&mut local, pressed);
        }
        local
    })
}

/// Assembles T' K T over springs and bars, each bar's matrix given in its local axes.
pub fn matrix_of(
    frame: &Frame,
    mesh: &Mesh,
    elimination: &Elimination,
    local: impl Fn(usize, &Element) -> [Twelve; 12],
) -> Lower {
    let mut entries = Entries::with_capacity(elimination.free_count + PAIRS * mesh.elements.len());
    // Every unknown has its diagonal, also where nothing is stiff: the factor must see it and refuse.
    for unknown in 0..elimination.free_count {
        entries.push(unknown, unknown, 0.0);
    }
    let mut unknowns: Vec<usize> = Vec::new();
    for (index, element) in mesh.elements.iter().enumerate() {
        let k = turned(&frame.members[element.member].axes, &local(index, element));
        let raw = 6 * element.start;
        unknowns.clear();
        unknowns.extend((0..12).flat_map(|i| elimination.terms[raw + i].iter().map(|e| e.0)));
        unknowns.sort_unstable();
        unknowns.dedup();
        let m = unknowns.len();
        let mut spread = vec![0.0; 12 * m];
        for i in 0..12 {
            for (unknown, factor) in &elimination.terms[raw + i] {
                let column = unknowns.partition_point(|u| u < unknown);
                spread[i * m + column] = *factor;
            }
        }
        add_element(&mut entries, &k, &spread, &unknowns);
    }
    for spring in &mesh.springs {
        let row = reduced_row(&spring.row, elimination);
        for (i, (a, ca)) in row.iter().enumerate() {
            for (b, cb) in &row[..=i] {
                entries.push(*a, *b, spring.stiffness * ca * cb);
            }
        }
    }
    entries.compress(elimination.free_count)
}

fn add_element(entries: &mut Entries, k: &[Twelve; 12], spread: &[f64], unknowns: &[usize]) {
    let m = unknowns.len();
    let mut half = vec![0.0; 12 * m];
    for i in 0..12 {
        for j in 0..12 {
            let stiffness = k[i][j];
            if stiffness != 0.0 {
                let row = half[i * m..(i + 1) * m].iter_mut();
                row.zip(&spread[j * m..]).for_each(|(sum, factor)| *sum += stiffness * factor);
            }
        }
    }
    let mut sums = vec![0.0; m];
    for a in 0..m {
        let line = &mut sums[..=a];
        line.fill(0.0);
        for i in 0..12 {
            let factor = spread[i * m + a];
            if factor != 0.0 {
                line.iter_mut().zip(&half[i * m..]).for_each(|(sum, k)| *sum += factor * k);
            }
        }
        for (b, sum) in line.iter().enumerate() {
            entries.push(unknowns[a], unknowns[b], *sum);
        }
    }
}

/// A raw row by free unknowns, sorted, repeats summed.
pub fn reduced_row(row: &[(usize, f64)], elimination: &Elimination) -> Vec<(usize, f64)> {
    let mut terms: Vec<(usize, f64)> = row
        .iter()
        .flat_map(|(dof, factor)| elimination.terms[*dof].iter().map(move |(u, f)| (*u, f * factor)))
        .collect();
    terms.sort_by_key(|t| t.0);
    let mut summed: Vec<(usize, f64)> = Vec::with_capacity(terms.len());
    for (unknown, factor) in terms {
        match summed.last_mut().filter(|last| last.0 == unknown) {
            Some(last) => last.1 += factor,
            None => summed.push((unknown, factor)),
        }
    }
    summed
}

/// Out-of-balance forces K u - f by raw degree of freedom: bars and springs at displacements `u`, less the loads.
pub fn out_of_balance(frame: &Frame, mesh: &Mesh, u: &[f64], loads: &[f64]) -> Vec<f64> {
    let mut residual: Vec<f64> = loads.iter().map(|f| -f).collect();
    for element in &mesh.elements {
        let raw = 6 * element.start;
        let axes = &frame.members[element.member].axes;
        let forces = end_forces(element, axes, &u[raw..raw + 12]);
        for (i, force) in to_vehicle(axes, &forces).iter().enumerate() {
            residual[raw + i] += force;
        }
    }
    for spring in &mesh.springs {
        let stretch: f64 = spring.row.iter().map(|(dof, c)| c * u[*dof]).sum();
        // The pull at rest stands among the loads already.
        for (dof, c) in &spring.row {
            residual[*dof] += spring.stiffness * stretch * c;
        }
    }
    residual
}

/// Stiffness times displacements of a bar, local axes.
pub fn end_forces(element: &Element, axes: &Triad, u: &[f64]) -> Twelve {
    let mut vehicle = [0.0; 12];
    vehicle.copy_from_slice(u);
    let local = to_local(axes, &vehicle);
    element.bar.forces(&local)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statics::constraint::Equation;
    use crate::statics::mesh::{Holder, Plan, Spring};
    use crate::statics::small_frames::crossing;

    /// u1 = u0/4 (eliminated) and 2 u0 + 12 u1 + 7 u2 are 5 q0 + 7 q1, by hand.
    #[test]
    fn rows_are_summed_over_free_unknowns() {
        let tie = Equation { row: vec![(0, 1.0), (1, -4.0)], value: 0.0 };
        let row = Elimination::new(3, &[tie], 1.0).map(|e| reduced_row(&[(0, 2.0), (1, 12.0), (2, 7.0)], &e));
        assert_eq!(row.ok(), Some(vec![(0, 5.0), (1, 7.0)]));
    }

    /// A spring of 3 N/mm that stretches by 2 u0 - u8/2 pulls with 3 x 9 = 27 when u0 = 5 and u8 = 2: 54 on u0 and -13.5 on
    /// u8 (by hand), on top of what the bars do.
    #[test]
    fn a_spring_pulls_by_its_row() {
        let frame = crossing("C24", "C24");
        let plain = Mesh::new(&frame, &Plan::plain(&[false, false]));
        let mut sprung = plain.clone();
        sprung.springs.push(Spring {
            holder: Holder::Spin(0),
            row: vec![(0, 2.0), (8, -0.5)],
            stiffness: 3.0,
            rest: 0.0,
        });
        let mut u = vec![0.0; plain.raw_count()];
        (u[0], u[8]) = (5.0, 2.0);
        let loads = vec![0.0; u.len()];
        let without = out_of_balance(&frame, &plain, &u, &loads);
        let with = out_of_balance(&frame, &sprung, &u, &loads);
        for (dof, (with, without)) in with.iter().zip(&without).enumerate() {
            let wanted = [(0, 54.0), (8, -13.5)].iter().find(|w| w.0 == dof).map_or(0.0, |w| w.1);
            assert!((with - without - wanted).abs() < 1e-6, "{dof}");
        }
    }
}
