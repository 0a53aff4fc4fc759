//! Dense linear algebra of the tests' own: Gauss elimination with partial pivoting, refined until the solution is right
//! in twice the working precision.

/// A square matrix, row by row.
#[derive(Clone)]
pub struct Dense {
    pub size: usize,
    pub rows: Vec<f64>,
}

impl Dense {
    /// All zero.
    pub fn zero(size: usize) -> Self {
        Self { size, rows: vec![0.0; size * size] }
    }

    /// Adds to an entry.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        self.rows[row * self.size + column] += value;
    }

    /// An entry.
    pub fn at(&self, row: usize, column: usize) -> f64 {
        self.rows[row * self.size + column]
    }

    /// Solves for several right-hand sides, in twice the working precision; `None` where a pivot vanishes.
    pub fn solve(&self, sides: &[Vec<f64>]) -> Option<Vec<Vec<Twofold>>> {
        let factor = Factor::of(self)?;
        let refined = sides.iter().map(|side| {
            let mut solution = vec![Twofold::default(); self.size];
            for _ in 0..6 {
                let correction = factor.solve(&self.residual(side, &solution));
                for (value, change) in solution.iter_mut().zip(correction) {
                    *value = value.plus(change);
                }
            }
            solution
        });
        Some(refined.collect())
    }

    /// `side - self * solution`.
    fn residual(&self, side: &[f64], solution: &[Twofold]) -> Vec<f64> {
        (0..self.size)
            .map(|row| {
                let terms = solution.iter().enumerate().map(|(column, value)| (-self.at(row, column), *value));
                Twofold::sum(side[row], terms).rounded()
            })
            .collect()
    }
}

/// A number in two parts: short stiff pieces of a frame make large forces of displacements that differ in their last
/// digits only, so a single part would not do.
#[derive(Clone, Copy, Debug, Default)]
pub struct Twofold {
    pub high: f64,
    pub low: f64,
}

impl Twofold {
    /// The sum with a single number (two-sum).
    fn plus(self, other: f64) -> Self {
        let sum = self.high + other;
        let back = sum - self.high;
        let low = self.low + ((self.high - (sum - back)) + (other - back));
        let high = sum + low;
        Self { high, low: low - (high - sum) }
    }

    /// `first` plus all products.
    pub fn sum(first: f64, terms: impl Iterator<Item = (f64, Self)>) -> Self {
        terms.fold(Self { high: first, low: 0.0 }, |sum, (factor, value)| {
            let product = factor * value.high;
            let error = factor.mul_add(value.high, -product);
            sum.plus(product).plus(error).plus(factor * value.low)
        })
    }

    /// The nearest single number.
    pub fn rounded(self) -> f64 {
        self.high + self.low
    }

    /// Times a power of two, which is exact.
    pub fn times(self, power: f64) -> Self {
        Self { high: self.high * power, low: self.low * power }
    }
}

struct Factor {
    size: usize,
    rows: Vec<f64>,
    order: Vec<usize>,
}

impl Factor {
    fn of(matrix: &Dense) -> Option<Self> {
        let size = matrix.size;
        let mut rows = matrix.rows.clone();
        let mut order: Vec<usize> = (0..size).collect();
        for step in 0..size {
            let largest = |row: &usize| rows[row * size + step].abs();
            let pivot = (step..size).max_by(|a, b| largest(a).total_cmp(&largest(b)))?;
            if rows[pivot * size + step] == 0.0 {
                return None;
            }
            if pivot != step {
                order.swap(pivot, step);
                for column in 0..size {
                    rows.swap(pivot * size + column, step * size + column);
                }
            }
            for row in step + 1..size {
                let ratio = rows[row * size + step] / rows[step * size + step];
                if ratio == 0.0 {
                    continue;
                }
                rows[row * size + step] = ratio;
                for column in step + 1..size {
                    rows[row * size + column] -= ratio * rows[step * size + column];
                }
            }
        }
        Some(Self { size, rows, order })
    }

    fn solve(&self, side: &[f64]) -> Vec<f64> {
        let mut x: Vec<f64> = self.order.iter().map(|row| side[*row]).collect();
        for row in 0..self.size {
            let known: f64 = (0..row).map(|column| self.rows[row * self.size + column] * x[column]).sum();
            x[row] -= known;
        }
        for row in (0..self.size).rev() {
            let known: f64 = (row + 1..self.size).map(|column| self.rows[row * self.size + column] * x[column]).sum();
            x[row] = (x[row] - known) / self.rows[row * self.size + row];
        }
        x
    }
}
