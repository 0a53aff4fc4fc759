//! What compression does to a bar: its geometric stiffness.

use super::element::{Bar, Twelve};

/// Degrees of freedom of bending in x-y and in x-z, with the sign of the turn (see [`super::element`]).
const PLANES: [([usize; 4], f64); 2] = [([1, 5, 7, 11], 1.0), ([2, 4, 8, 10], -1.0)];

impl Bar {
    /// Forces of the geometric stiffness times displacements (local axes), for a compression of `y` newtons in x-y
    /// and `z` in x-z: what compression takes from the stiffness. The two differ only where one plane is looked at alone.
    ///
    /// Integral of P w'² over the bar's own shape, so that shear flexibility lowers the load by Engesser's
    /// P_E/(1 + P_E/G A_s) (Timoshenko and Gere, Theory of Elastic Stability, 1961, 2.17; from memory). Twist (Wagner) is
    /// left out: a timber's is far over its bending.
    pub fn geometric_forces(&self, u: &Twelve, [y, z]: [f64; 2]) -> Twelve {
        let mut forces = [0.0; 12];
        for ((dof, turn), (compression, phi)) in PLANES.into_iter().zip([(y, self.phi_y()), (z, self.phi_z())]) {
            if compression == 0.0 {
                continue;
            }
            let [a, b, d, e] = self.geometric_terms(phi).map(|term| term * compression);
            let [w1, t1, w2, t2] = dof.map(|i| u[i]);
            let across = a * (w1 - w2) + b * turn * (t1 + t2);
            forces[dof[0]] = across;
            forces[dof[2]] = -across;
            forces[dof[1]] = b * turn * (w1 - w2) + d * t1 + e * t2;
            forces[dof[3]] = b * turn * (w1 - w2) + e * t1 + d * t2;
        }
        forces
    }

    /// Terms of the geometric matrix for a compression of 1 N: w-w, w-turn, near turn, far turn.
    fn geometric_terms(&self, phi: f64) -> [f64; 4] {
        let l = self.length;
        let over = 1.0 / ((1.0 + phi) * (1.0 + phi));
        let square = phi * phi;
        [
            (1.2 + 2.0 * phi + square) / l * over,
            0.1 * over,
            l * (2.0 / 15.0 + phi / 6.0 + square / 12.0) * over,
            -l * (1.0 / 30.0 + phi / 6.0 + square / 12.0) * over,
        ]
    }

    /// Subtracts the geometric matrix for a compression of `compression` newtons from a stiffness matrix.
    pub fn take_geometric(&self, k: &mut [Twelve; 12], compression: f64) {
        for column in 0..12 {
            let mut unit = [0.0; 12];
            unit[column] = 1.0;
            for (row, force) in k.iter_mut().zip(self.geometric_forces(&unit, [compression; 2])) {
                row[column] -= force;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar() -> Bar {
        Bar { length: 700.0, ea: 4.0e7, gj: 1.3e9, eiy: 3.5e10, eiz: 0.8e10, gay: 2.0e5, gaz: 2.4e6 }
    }

    /// The work of compression is the integral of w'² over the bar's own shape, here summed up from unit loads: by
    /// Maxwell the shape at a place is what a unit load there puts on the ends ([`Bar::add_point`]).
    #[test]
    fn the_geometric_work_is_the_integral_of_the_slope_squared() {
        let bar = bar();
        let u: Twelve = std::array::from_fn(|i| [0.7, -0.3, 1.1, 0.0, 0.002, -0.003][i % 6] * (1.0 + i as f64 / 7.0));
        for axis in [1, 2] {
            let shape = |x: f64| {
                let mut loads = [0.0; 12];
                let mut force = [0.0; 3];
                force[axis] = 1.0;
                bar.add_point(&mut loads, x, force, [0.0; 3]);
                loads.iter().zip(&u).map(|(a, b)| a * b).sum::<f64>()
            };
            let steps = 4000;
            let step = bar.length / f64::from(steps);
            let work: f64 = (0..steps)
                .map(|i| {
                    let x = f64::from(i) * step;
                    (shape(x + step) - shape(x)).powi(2) / step
                })
                .sum();
            let weights = if axis == 1 { [1.0, 0.0] } else { [0.0, 1.0] };
            let forces = bar.geometric_forces(&u, weights);
            let by_matrix: f64 = forces.iter().zip(&u).map(|(a, b)| a * b).sum();
            assert!((work - by_matrix).abs() < 1e-5 * by_matrix, "{work} {by_matrix}");
        }
    }
}
