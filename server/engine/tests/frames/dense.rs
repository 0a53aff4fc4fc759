//! Dense linear algebra of the tests' own: Gauss elimination with partial pivoting and refinement whose residual is
//! summed in twice the working precision.

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

    /// Solves for several right-hand sides; `None` where a pivot vanishes.
    pub fn solve(&self, sides: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
        let factor = Factor::of(self)?;
        let refined = sides.iter().map(|side| {
            let mut solution = factor.solve(side);
            for _ in 0..4 {
                let correction = factor.solve(&self.residual(side, &solution));
                for (value, change) in solution.iter_mut().zip(correction) {
                    *value += change;
                }
            }
            solution
        });
        Some(refined.collect())
    }

    /// `side - self * solution`, each sum carried in two parts (products by fused multiply-add, sums by the two-sum).
    fn residual(&self, side: &[f64], solution: &[f64]) -> Vec<f64> {
        (0..self.size)
            .map(|row| {
                let (mut high, mut low) = (side[row], 0.0);
                for (column, value) in solution.iter().enumerate() {
                    let entry = -self.at(row, column);
                    let product = entry * value;
                    let error = entry.mul_add(*value, -product);
                    let sum = high + product;
                    let back = sum - high;
                    low += (high - (sum - back)) + (product - back) + error;
                    high = sum;
                }
                high + low
            })
            .collect()
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
