//! Supernodal Cholesky factor of the scaled stiffness matrix, and its evidence.
//!
//! The matrix is scaled to a unit diagonal first: pivots, condition and the test for mechanisms then do not depend on
//! units. The order of elimination is approximate minimum degree on the graph of places, which costs half of that on
//! single unknowns and fills no more.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::perm::PermRef;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::amd;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky, supernodal::SupernodalLltRef,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side};
use std::sync::Arc;

/// The lower triangle of a symmetric matrix, compressed by columns, rows sorted.
#[derive(Clone, Debug, Default)]
pub struct Lower {
    /// Order of the matrix.
    pub order: usize,
    /// Where each column begins.
    pub starts: Vec<usize>,
    /// Row of each entry; the first of a column is its diagonal.
    pub rows: Vec<usize>,
    /// Value of each entry.
    pub values: Vec<f64>,
}

impl Lower {
    /// y = K x.
    pub fn multiply(&self, x: &[f64]) -> Vec<f64> {
        let mut y = vec![0.0; self.order];
        for (column, ends) in self.starts.windows(2).enumerate() {
            // The diagonal comes first.
            let below = ends[0] + 1..ends[1];
            let mut sum = self.values[ends[0]] * x[column];
            for (row, value) in self.rows[below.clone()].iter().zip(&self.values[below]) {
                y[*row] += value * x[column];
                sum += value * x[*row];
            }
            y[column] += sum;
        }
        y
    }

    /// Factors that bring the diagonal to one; one where a diagonal is zero.
    pub fn scaling(&self) -> Vec<f64> {
        (0..self.order)
            .map(|c| self.values[self.starts[c]])
            .map(|d| if d > 0.0 { 1.0 / d.sqrt() } else { 1.0 })
            .collect()
    }

    /// The matrix scaled on both sides, with `shift` added to its diagonal.
    pub fn scaled(&self, scaling: &[f64], shift: f64) -> Self {
        let mut scaled = self.clone();
        for column in 0..self.order {
            for k in self.starts[column]..self.starts[column + 1] {
                let row = self.rows[k];
                scaled.values[k] *= scaling[row] * scaling[column];
                if row == column {
                    scaled.values[k] += shift;
                }
            }
        }
        scaled
    }
}

/// The order of elimination and the shape of the factor, kept for matrices of one pattern.
#[derive(Clone)]
pub struct Shape {
    symbolic: Arc<SymbolicCholesky<usize>>,
}

/// A factor of one scaled matrix.
pub struct Factor {
    symbolic: Arc<SymbolicCholesky<usize>>,
    values: Vec<f64>,
}

/// Why there is no factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FactorError {
    /// A pivot was not positive: the matrix is singular or nearly so.
    NotPositive,
    /// Out of memory.
    OutOfMemory,
}

impl Shape {
    /// Orders and analyses a pattern. `group` gives the place of each unknown.
    ///
    /// # Errors
    /// [`FactorError::OutOfMemory`].
    pub fn new(matrix: &Lower, group: &[usize]) -> Result<Self, FactorError> {
        let (forward, inverse) = order(matrix, group)?;
        let pattern = pattern(matrix);
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..Default::default()
        };
        let perm = PermRef::new_checked(&forward, &inverse, matrix.order);
        let symbolic = factorize_symbolic_cholesky(pattern, Side::Lower, SymmetricOrdering::Custom(perm), params)
            .map_err(|_| FactorError::OutOfMemory)?;
        Ok(Self { symbolic: Arc::new(symbolic) })
    }

    /// Stored values of the factor.
    pub fn nonzeros(&self) -> u64 {
        self.symbolic.len_val() as u64
    }

    /// Multiplications and additions of one factorisation, counted from the pattern.
    pub fn operations(&self) -> f64 {
        let SymbolicCholeskyRaw::Supernodal(symbolic) = self.symbolic.raw() else { return 0.0 };
        let values = symbolic.col_ptr_for_val();
        let widths = symbolic.supernode_begin().iter().zip(symbolic.supernode_end()).map(|(from, to)| to - from);
        let blocks = widths.zip(values.windows(2).map(|w| w[1] - w[0]));
        blocks.filter(|(width, _)| *width > 0).map(|(width, size)| size as f64 * (size / width) as f64).sum()
    }

    /// Factorises a scaled matrix of this pattern.
    ///
    /// # Errors
    /// [`FactorError::NotPositive`] for a singular matrix.
    pub fn factor(&self, scaled: &Lower) -> Result<Factor, FactorError> {
        let mut values = vec![0.0; self.symbolic.len_val()];
        let matrix = SparseColMatRef::new(pattern(scaled), &scaled.values);
        let request = self.symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default());
        let mut memory = MemBuffer::try_new(request).map_err(|_| FactorError::OutOfMemory)?;
        self.symbolic
            .factorize_numeric_llt(
                &mut values,
                matrix,
                Side::Lower,
                Default::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Default::default(),
            )
            .map_err(|_| FactorError::NotPositive)?;
        Ok(Factor { symbolic: Arc::clone(&self.symbolic), values })
    }
}

impl Factor {
    /// Solves in place for `columns` right-hand sides stored one after another.
    pub fn solve(&self, right: &mut [f64], columns: usize) {
        self.solve_apart(right, columns, self.symbolic.nrows());
    }

    /// The same for right-hand sides that begin `apart` from one another, at least their length; what is between stays.
    pub fn solve_apart(&self, right: &mut [f64], columns: usize, apart: usize) {
        let rows = self.symbolic.nrows();
        if rows == 0 || columns == 0 {
            return;
        }
        let request = self.symbolic.solve_in_place_scratch::<f64>(columns, Par::Seq);
        let mut memory = MemBuffer::new(request);
        let matrix = MatMut::from_column_major_slice_with_stride_mut(right, rows, columns, apart);
        LltRef::new(&self.symbolic, &self.values).solve_in_place_with_conj(
            Conj::No,
            matrix,
            Par::Seq,
            MemStack::new(&mut memory),
        );
    }

    /// Least squared diagonal of the factor: with a unit diagonal before, how much of the weakest unknown's
    /// stiffness is left once all others gave way.
    pub fn least_pivot(&self) -> f64 {
        let SymbolicCholeskyRaw::Supernodal(symbolic) = self.symbolic.raw() else { return 0.0 };
        let factor = SupernodalLltRef::new(symbolic, &self.values);
        let mut least = f64::INFINITY;
        for s in 0..symbolic.n_supernodes() {
            let block = factor.supernode(s).val();
            for j in 0..block.ncols() {
                let pivot = block[(j, j)];
                least = least.min(pivot * pivot);
            }
        }
        least
    }
}

fn pattern(matrix: &Lower) -> SymbolicSparseColMatRef<'_, usize> {
    SymbolicSparseColMatRef::new_checked(matrix.order, matrix.order, &matrix.starts, None, &matrix.rows)
}

/// Minimum degree on the graph of groups, written out to unknowns.
fn order(matrix: &Lower, group: &[usize]) -> Result<(Vec<usize>, Vec<usize>), FactorError> {
    // Groups are numbered as they first appear.
    let groups = group.iter().max().map_or(0, |g| g + 1);
    let mut lists: Vec<Vec<usize>> = vec![Vec::new(); groups];
    let mut members: Vec<Vec<usize>> = vec![Vec::new(); groups];
    for column in 0..matrix.order {
        members[group[column]].push(column);
        for row in &matrix.rows[matrix.starts[column]..matrix.starts[column + 1]] {
            let (a, b) = (group[column].min(group[*row]), group[column].max(group[*row]));
            if lists[a].last() != Some(&b) {
                lists[a].push(b);
            }
        }
    }
    let mut starts = vec![0];
    let mut rows = Vec::new();
    for list in &mut lists {
        list.sort_unstable();
        list.dedup();
        rows.extend_from_slice(list);
        starts.push(rows.len());
    }
    let graph = SymbolicSparseColMatRef::new_checked(groups, groups, &starts, None, &rows);
    let (mut forward, mut inverse) = (vec![0; groups], vec![0; groups]);
    let request = amd::order_maybe_unsorted_scratch::<usize>(groups, rows.len());
    let mut memory = MemBuffer::try_new(request).map_err(|_| FactorError::OutOfMemory)?;
    amd::order_maybe_unsorted(&mut forward, &mut inverse, graph, Default::default(), MemStack::new(&mut memory))
        .map_err(|_| FactorError::OutOfMemory)?;
    let expanded: Vec<usize> = forward.iter().flat_map(|g| members[*g].iter().copied()).collect();
    let mut expanded_inverse = vec![0; matrix.order];
    for (new, old) in expanded.iter().enumerate() {
        expanded_inverse[*old] = new;
    }
    Ok((expanded, expanded_inverse))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `blocks` full blocks of `size` unknowns each that have nothing to do with one another.
    fn blocks(blocks: usize, size: usize) -> Lower {
        let order = blocks * size;
        let mut lower = Lower { order, starts: vec![0], ..Lower::default() };
        for column in 0..order {
            for row in column..(column / size + 1) * size {
                lower.rows.push(row);
                lower.values.push(if row == column { 1.0 } else { 0.5 / size as f64 });
            }
            lower.starts.push(lower.rows.len());
        }
        lower
    }

    fn shape(matrix: &Lower, group: &[usize]) -> Option<Shape> {
        Shape::new(matrix, group).ok()
    }

    /// A full matrix of order n wants n (n + 1) / 2 values and n³/3 operations (Golub and Van Loan 4.2, from memory); as a
    /// square block three times as many at most. Matrices beside one another want the sum.
    #[test]
    fn a_full_block_costs_its_cube() {
        let counts = |number: usize| {
            let group: Vec<usize> = (0..6 * number).map(|k| k / 6).collect();
            shape(&blocks(number, 6), &group).map_or((0.0, 0.0), |s| (s.nonzeros() as f64, s.operations()))
        };
        let (nonzeros, operations) = counts(1);
        assert!((21.0..=36.0).contains(&nonzeros) && (72.0..=216.0).contains(&operations), "{nonzeros} {operations}");
        for number in [2, 5] {
            assert_eq!(counts(number), (number as f64 * nonzeros, number as f64 * operations));
        }
    }

    /// A hub that all others hang on is eliminated late, so that nothing fills: 2 n - 1 values by hand, against n²/2
    /// where it comes first.
    #[test]
    fn a_hub_does_not_fill_the_factor() {
        let n = 200;
        let mut lower = Lower { order: n, starts: vec![0], ..Lower::default() };
        for column in 0..n {
            let rows: Vec<usize> = if column == 0 { (0..n).collect() } else { vec![column] };
            lower.values.extend(rows.iter().map(|row| if *row == column { 1.0 } else { 0.01 }));
            lower.rows.extend(rows);
            lower.starts.push(lower.rows.len());
        }
        let group: Vec<usize> = (0..n).collect();
        let nonzeros = shape(&lower, &group).map_or(0, |s| s.nonzeros());
        assert!((399..5_000).contains(&nonzeros), "{nonzeros}");
    }

    /// [[4, 2], [2, 9]] scaled by 1/2 and 1/3 is [[1, 1/3], [1/3, 1]]; a shift comes on the diagonal only (by hand).
    #[test]
    fn scaling_brings_the_diagonal_to_one_and_the_shift_on_top() {
        let lower = Lower { order: 2, starts: vec![0, 2, 3], rows: vec![0, 1, 1], values: vec![4.0, 2.0, 9.0] };
        let scaling = lower.scaling();
        for shift in [0.0, 0.25] {
            let scaled = lower.scaled(&scaling, shift).values;
            let wanted = [1.0 + shift, 1.0 / 3.0, 1.0 + shift];
            assert!(scaled.iter().zip(wanted).all(|(s, w)| (s - w).abs() < 1e-15), "{scaled:?}");
        }
    }
}
