//! Greatest eigenvalues of A x = mu K x for a factorised K: lowest buckling factors (mu = 1/alpha) and lowest
//! frequencies (mu = 1/omega²), by Rayleigh and Ritz on a block Krylov space of K^-1 A.
//!
//! Vectors are those of the scaled unknowns, orthonormal in the inner product of K, kept with their images K v so that K
//! is never multiplied. The start is fixed: the same frame gives the same findings.

use super::factor::FactorError;
use faer::diag::DiagMut;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::evd::{ComputeEigenvectors, self_adjoint_evd, self_adjoint_evd_scratch};
use faer::{MatMut, MatRef, Par};

/// Share of its length that a vector must keep beside those before it.
const NEW: f64 = 1e-5;

/// A symmetric matrix by raw degree of freedom, vehicle axes.
pub trait Operator {
    /// Adds A u to `forces`.
    fn apply(&self, raw: &[f64], forces: &mut [f64]);
}

/// A factorised K.
pub trait Equations {
    /// Number of unknowns.
    fn order(&self) -> usize;
    /// Number of raw degrees of freedom.
    fn raw_count(&self) -> usize;
    /// Forces by raw degree of freedom as forces on the unknowns; `reduced` is overwritten.
    fn reduce(&self, raw: &[f64], reduced: &mut [f64]);
    /// Unknowns as displacements by raw degree of freedom; `raw` is overwritten.
    fn expand(&self, unknowns: &[f64], raw: &mut [f64]);
    /// Solves in place for `columns` right-hand sides stored one after another.
    fn solve(&self, right: &mut [f64], columns: usize);
}

/// A space of displacements, K-orthonormal, by scaled unknown.
#[derive(Default)]
pub struct Space {
    /// The vectors.
    vectors: Vec<Vec<f64>>,
    /// K times each.
    images: Vec<Vec<f64>>,
    /// Each by raw degree of freedom.
    pub raw: Vec<Vec<f64>>,
}

/// An eigenvector in a space.
#[derive(Clone, Debug)]
pub struct Ritz {
    /// mu.
    pub value: f64,
    /// Shares of the space's vectors.
    pub shares: Vec<f64>,
}

impl Space {
    /// Number of vectors.
    pub fn len(&self) -> usize {
        self.vectors.len()
    }

    /// True without vectors.
    pub fn is_empty(&self) -> bool {
        self.vectors.is_empty()
    }

    /// Takes in a vector `v` with `K v`; false where it holds nothing new. First made right against the vectors from
    /// `near` on, which on a Krylov space hold nearly all of what is not new; then against all.
    fn take(&mut self, system: &dyn Equations, mut vector: Vec<f64>, mut image: Vec<f64>, near: usize) -> bool {
        let before = product(&vector, &image);
        if before.is_nan() || before <= 0.0 {
            return false;
        }
        for from in [near, 0] {
            for (v, k) in self.vectors[from..].iter().zip(&self.images[from..]) {
                let share = product(v, &image);
                add_scaled(&mut vector, v, -share);
                add_scaled(&mut image, k, -share);
            }
        }
        let left = product(&vector, &image);
        if left.is_nan() || left <= NEW * NEW * before {
            return false;
        }
        let size = left.sqrt().recip();
        vector.iter_mut().chain(&mut image).for_each(|x| *x *= size);
        let mut raw = vec![0.0; system.raw_count()];
        system.expand(&vector, &mut raw);
        self.vectors.push(vector);
        self.images.push(image);
        self.raw.push(raw);
        true
    }

    /// Takes in K^-1 of forces on the scaled unknowns.
    fn take_solved(&mut self, system: &dyn Equations, forces: &[Vec<f64>]) -> usize {
        let n = system.order();
        let mut block: Vec<f64> = forces.concat();
        system.solve(&mut block, forces.len());
        let solved = block.chunks(n.max(1)).zip(forces);
        solved.filter(|(vector, image)| self.take(system, vector.to_vec(), (*image).clone(), 0)).count()
    }

    /// A vector of the space by raw degree of freedom.
    pub fn raw_of(&self, shares: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.raw.first().map_or(0, Vec::len)];
        self.raw.iter().zip(shares).for_each(|(raw, share)| add_scaled(&mut sum, raw, *share));
        sum
    }

    /// Eigenvectors in this space of a matrix given by its entries v_i' A v_j (row by row), greatest value first.
    pub fn ritz(&self, entries: &[f64]) -> Vec<Ritz> {
        let count = self.len();
        let (values, vectors) = symmetric_eigen(entries, count).unwrap_or_default();
        (0..values.len())
            .rev()
            .map(|k| Ritz { value: values[k], shares: vectors[k * count..(k + 1) * count].to_vec() })
            .collect()
    }
}

/// One matrix whose greatest eigenvalues are sought.
pub struct Search<'a> {
    operator: &'a dyn Operator,
    /// How many of its eigenvalues must settle.
    wanted: usize,
    space: Space,
    /// Number of vectors before the last round and before the one before that.
    rounds: [usize; 2],
    forces: Vec<Vec<f64>>,
    entries: Vec<f64>,
    start: Vec<Vec<f64>>,
    found: Vec<Ritz>,
    done: bool,
}

impl<'a> Search<'a> {
    /// A search from fixed, spread-out displacements, `block` at a time.
    pub fn new(system: &dyn Equations, operator: &'a dyn Operator, wanted: usize, block: usize) -> Self {
        let mut spread = Space::default();
        spread.take_solved(system, &start_block(system, block));
        Self::from(system, operator, wanted, &spread.raw)
    }

    /// A search from given displacements by raw degree of freedom.
    pub fn from(system: &dyn Equations, operator: &'a dyn Operator, wanted: usize, raw: &[Vec<f64>]) -> Self {
        let start = raw.iter().map(|raw| applied(system, operator, raw)).collect();
        let (space, rounds, forces, entries, found) = Default::default();
        Self { operator, wanted, space, rounds, forces, entries, start, found, done: false }
    }

    /// Takes in solved vectors of its start; ends where nothing is new or the wanted values have settled to `within`.
    fn step(&mut self, system: &dyn Equations, solved: &[f64], most: usize, within: f64) -> Result<(), FactorError> {
        let n = system.order().max(1);
        let old = self.space.len();
        for (vector, image) in solved.chunks(n).zip(std::mem::take(&mut self.start)) {
            self.space.take(system, vector.to_vec(), image, self.rounds[0]);
        }
        self.rounds = [self.rounds[1], old];
        let count = self.space.len();
        self.forces.extend(self.space.raw[old..].iter().map(|raw| applied(system, self.operator, raw)));
        self.entries = projected(&self.space, &self.forces, std::mem::take(&mut self.entries), old);
        let found = self.space.ritz(&self.entries);
        if count > 0 && found.is_empty() {
            return Err(FactorError::OutOfMemory);
        }
        let pairs = || found.iter().zip(&self.found).take(self.wanted);
        let settled = pairs().count() == self.wanted
            && pairs().all(|(now, then)| (now.value - then.value).abs() <= within * found[0].value.abs());
        self.done = count == old || settled || count >= most || count >= system.order();
        self.found = found;
        self.start = self.forces[old..].to_vec();
        Ok(())
    }
}

/// Runs searches side by side, all their vectors solved together each round, until each has settled its wanted values to
/// `within` of the greatest, or holds `most` vectors. Gives each space with its eigenvectors, greatest value first.
///
/// # Errors
/// [`FactorError::OutOfMemory`] where the eigenvalues of a small matrix can't be had.
pub fn run(
    system: &dyn Equations,
    mut searches: Vec<Search<'_>>,
    most: usize,
    within: f64,
) -> Result<Vec<(Space, Vec<Ritz>)>, FactorError> {
    loop {
        let mut block: Vec<f64> = Vec::new();
        searches.iter().filter(|s| !s.done).for_each(|s| block.extend(s.start.iter().flatten()));
        let n = system.order();
        if block.is_empty() || n == 0 {
            return Ok(searches.into_iter().map(|s| (s.space, s.found)).collect());
        }
        let columns = block.len() / n;
        system.solve(&mut block, columns);
        let mut from = 0;
        for search in searches.iter_mut().filter(|s| !s.done) {
            let to = from + search.start.len() * n;
            search.step(system, &block[from..to], most, within)?;
            from = to;
        }
    }
}

/// Entries v_i' A v_j of a grown space, from those of the first `old` vectors.
fn projected(space: &Space, forces: &[Vec<f64>], entries: Vec<f64>, old: usize) -> Vec<f64> {
    let count = space.len();
    let mut grown = vec![0.0; count * count];
    for i in 0..count {
        for j in 0..=i {
            let entry = if i < old { entries[i * old + j] } else { product(&space.vectors[j], &forces[i]) };
            grown[i * count + j] = entry;
            grown[j * count + i] = entry;
        }
    }
    grown
}

/// A times displacements, as forces on the scaled unknowns.
fn applied(system: &dyn Equations, operator: &dyn Operator, raw: &[f64]) -> Vec<f64> {
    let mut forces = vec![0.0; raw.len()];
    operator.apply(raw, &mut forces);
    let mut reduced = vec![0.0; system.order()];
    system.reduce(&forces, &mut reduced);
    reduced
}

/// Fixed, spread-out forces.
fn start_block(system: &dyn Equations, count: usize) -> Vec<Vec<f64>> {
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let count = count.min(system.order());
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    (0..count).map(|_| (0..system.order()).map(|_| next()).collect()).collect()
}

/// Eight sums side by side: a single one waits for each addition.
fn product(a: &[f64], b: &[f64]) -> f64 {
    let (a_blocks, a_rest) = a.as_chunks::<8>();
    let (b_blocks, b_rest) = b.as_chunks::<8>();
    let mut sums = [0.0; 8];
    for (x, y) in a_blocks.iter().zip(b_blocks) {
        for i in 0..8 {
            sums[i] += x[i] * y[i];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f64>() + rest
}

fn add_scaled(target: &mut [f64], vector: &[f64], factor: f64) {
    target.iter_mut().zip(vector).for_each(|(t, v)| *t += factor * v);
}

/// Eigenvalues, ascending, and eigenvectors (one after another) of a small symmetric matrix; `None` where it holds what
/// is no number.
pub fn symmetric_eigen(entries: &[f64], count: usize) -> Option<(Vec<f64>, Vec<f64>)> {
    if count == 0 || entries.iter().any(|e| !e.is_finite()) {
        return None;
    }
    let mut values = vec![0.0; count];
    let mut vectors = vec![0.0; count * count];
    let request = self_adjoint_evd_scratch::<f64>(count, ComputeEigenvectors::Yes, Par::Seq, Default::default());
    let mut memory = MemBuffer::try_new(request).ok()?;
    self_adjoint_evd(
        MatRef::from_column_major_slice(entries, count, count),
        DiagMut::from_slice_mut(&mut values),
        Some(MatMut::from_column_major_slice_mut(&mut vectors, count, count)),
        Par::Seq,
        MemStack::new(&mut memory),
        Default::default(),
    )
    .ok()?;
    Some((values, vectors))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;

    /// Unknowns that are the raw degrees of freedom, of stiffness one.
    struct Plain(usize);

    impl Equations for Plain {
        fn order(&self) -> usize {
            self.0
        }
        fn raw_count(&self) -> usize {
            self.0
        }
        fn reduce(&self, raw: &[f64], reduced: &mut [f64]) {
            reduced.copy_from_slice(raw);
        }
        fn expand(&self, unknowns: &[f64], raw: &mut [f64]) {
            raw.copy_from_slice(unknowns);
        }
        fn solve(&self, _right: &mut [f64], _columns: usize) {}
    }

    /// A diagonal matrix: its eigenvalues are its entries.
    struct Diagonal(Vec<f64>);

    impl Operator for Diagonal {
        fn apply(&self, raw: &[f64], forces: &mut [f64]) {
            forces.iter_mut().zip(raw).zip(&self.0).for_each(|((f, u), a)| *f += a * u);
        }
    }

    /// Eigenvalues 5, 4 and some under 1 are found from a start that knows nothing of them, and the search ends once they
    /// have settled, long before its space is full.
    #[test]
    fn the_greatest_are_found_and_the_search_ends() {
        let mut entries: Vec<f64> = (0..200).map(|k| (f64::from(k) * 0.7).sin()).collect();
        (entries[130], entries[17]) = (5.0, 4.0);
        let (system, operator) = (Plain(200), Diagonal(entries));
        let search = Search::new(&system, &operator, 2, 3);
        let (space, ritz) = run(&system, vec![search], 120, 1e-9).unwrap().remove(0);
        assert!((ritz[0].value - 5.0).abs() < 1e-7 && (ritz[1].value - 4.0).abs() < 1e-7, "{:?}", &ritz[..2]);
        assert!(!space.is_empty() && space.len() < 60, "{}", space.len());
        let vector = space.raw_of(&ritz[0].shares);
        assert!((vector[130].abs() - 1.0).abs() < 1e-3, "{}", vector[130]);
    }

    #[test]
    fn a_space_without_vectors_is_empty() {
        assert!(Space::default().is_empty());
    }

    /// The start is spread out: numbers between -1/2 and 1/2, even about nothing with a variance of 1/12 (an even spread, by
    /// hand), none twice, neighbours and vectors without tie.
    #[test]
    fn the_start_is_spread_out() {
        let block = start_block(&Plain(3000), 3);
        let all: Vec<f64> = block.concat();
        assert_eq!(all.len(), 9000);
        assert!(all.iter().all(|x| x.abs() <= 0.5));
        let mean = |values: &mut dyn Iterator<Item = f64>| values.sum::<f64>() / 9000.0;
        assert!(mean(&mut all.iter().copied()).abs() < 0.015);
        assert!((mean(&mut all.iter().map(|x| x * x)) - 1.0 / 12.0).abs() < 0.004);
        for apart in [1, 2, 3000] {
            let tie = mean(&mut all.iter().zip(&all[apart..]).map(|(a, b)| a * b));
            assert!(tie.abs() < 0.005, "{apart}: {tie}");
        }
        let mut sorted = all;
        sorted.sort_by(f64::total_cmp);
        assert!(sorted.windows(2).all(|pair| pair[0] < pair[1]));
        // No more vectors than unknowns.
        assert_eq!(start_block(&Plain(2), 5).len(), 2);
    }
}
