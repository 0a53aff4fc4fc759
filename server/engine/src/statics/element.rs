//! One prismatic bar with shear flexibility and St-Venant torsion (Timoshenko beam), in its local axes.
//!
//! Degrees of freedom, in order: displacement x, y, z and turn x, y, z at the start, then at the end. Right-handed, so
//! a positive turn about y lowers z along x. With `phi = 12 E I / (G A_s l^2)` the stiffness is exact for end loads,
//! and the shape functions below are its exact displacements: consistent loads made with them give exact nodal
//! displacements for any load (Przemieniecki, Theory of Matrix Structural Analysis, 1968, 5.6; from memory, tested
//! against closed forms).

/// Stiffness figures of a bar, in N and mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Length.
    pub length: f64,
    /// Axial stiffness E A.
    pub ea: f64,
    /// Torsional stiffness G J.
    pub gj: f64,
    /// Bending stiffness in the x-z plane, E I_y.
    pub eiy: f64,
    /// Bending stiffness in the x-y plane, E I_z.
    pub eiz: f64,
    /// Shear stiffness along y, G A_sy; infinite where shear flexibility is left out.
    pub gay: f64,
    /// Shear stiffness along z, G A_sz.
    pub gaz: f64,
}

/// Vector of the twelve degrees of freedom.
pub type Twelve = [f64; 12];

impl Bar {
    /// The same bar at another length.
    pub fn with_length(self, length: f64) -> Self {
        Self { length, ..self }
    }

    /// Shear parameter of bending in x-y.
    pub fn phi_y(&self) -> f64 {
        self.phi(self.eiz, self.gay)
    }

    /// Shear parameter of bending in x-z.
    pub fn phi_z(&self) -> f64 {
        self.phi(self.eiy, self.gaz)
    }

    fn phi(&self, ei: f64, ga: f64) -> f64 {
        12.0 * ei / (ga * self.length * self.length)
    }

    /// Stiffness matrix, symmetric, rows by degree of freedom.
    pub fn stiffness(&self) -> [Twelve; 12] {
        let mut k = [[0.0; 12]; 12];
        let axial = self.ea / self.length;
        let torsion = self.gj / self.length;
        for (i, stiffness) in [(0, axial), (3, torsion)] {
            k[i][i] = stiffness;
            k[i + 6][i + 6] = stiffness;
            k[i][i + 6] = -stiffness;
            k[i + 6][i] = -stiffness;
        }
        // In x-y a positive turn about z raises y along x; in x-z a positive turn about y lowers z.
        self.bend(&mut k, self.eiz, self.gay, [1, 5, 7, 11], 1.0);
        self.bend(&mut k, self.eiy, self.gaz, [2, 4, 8, 10], -1.0);
        k
    }

    /// Stiffness times displacements (local axes), without the zeros of the matrix.
    pub fn forces(&self, u: &Twelve) -> Twelve {
        let mut forces = [0.0; 12];
        for (i, stiffness) in [(0, self.ea / self.length), (3, self.gj / self.length)] {
            let force = stiffness * (u[i] - u[i + 6]);
            forces[i] = force;
            forces[i + 6] = -force;
        }
        self.bend_forces(&mut forces, u, (self.eiz, self.gay), [1, 5, 7, 11], 1.0);
        self.bend_forces(&mut forces, u, (self.eiy, self.gaz), [2, 4, 8, 10], -1.0);
        forces
    }

    fn bend_forces(&self, forces: &mut Twelve, u: &Twelve, (ei, ga): (f64, f64), dof: [usize; 4], turn: f64) {
        let phi = self.phi(ei, ga);
        let l = self.length;
        let base = ei / (l * l * l * (1.0 + phi));
        let side = 6.0 * l * base * turn;
        let [w1, t1, w2, t2] = dof.map(|i| u[i]);
        let shear = 12.0 * base * (w1 - w2) + side * (t1 + t2);
        let (near, far) = ((4.0 + phi) * l * l * base, (2.0 - phi) * l * l * base);
        forces[dof[0]] = shear;
        forces[dof[2]] = -shear;
        forces[dof[1]] = side * (w1 - w2) + near * t1 + far * t2;
        forces[dof[3]] = side * (w1 - w2) + far * t1 + near * t2;
    }

    fn bend(&self, k: &mut [Twelve; 12], ei: f64, ga: f64, dof: [usize; 4], turn: f64) {
        let phi = self.phi(ei, ga);
        let l = self.length;
        let base = ei / (l * l * l * (1.0 + phi));
        let side = 6.0 * l * base * turn;
        let near = (4.0 + phi) * l * l * base;
        let far = (2.0 - phi) * l * l * base;
        let rows = [
            [12.0 * base, side, -12.0 * base, side],
            [side, near, -side, far],
            [-12.0 * base, -side, 12.0 * base, -side],
            [side, far, -side, near],
        ];
        for (i, row) in rows.iter().enumerate() {
            for (j, value) in row.iter().enumerate() {
                k[dof[i]][dof[j]] = *value;
            }
        }
    }

    /// Adds to `loads` the nodal loads equivalent to a force and a moment (local axes) at `at` from the start.
    pub fn add_point(&self, loads: &mut Twelve, at: f64, force: [f64; 3], moment: [f64; 3]) {
        let xi = (at / self.length).clamp(0.0, 1.0);
        loads[0] += force[0] * (1.0 - xi);
        loads[6] += force[0] * xi;
        loads[3] += moment[0] * (1.0 - xi);
        loads[9] += moment[0] * xi;
        self.add_bending(loads, xi, force[1], moment[2], self.phi(self.eiz, self.gay), ([1, 5, 7, 11], 1.0));
        self.add_bending(loads, xi, force[2], moment[1], self.phi(self.eiy, self.gaz), ([2, 4, 8, 10], -1.0));
    }

    fn add_bending(
        &self,
        loads: &mut Twelve,
        xi: f64,
        force: f64,
        moment: f64,
        phi: f64,
        (dof, turn): ([usize; 4], f64),
    ) {
        if force == 0.0 && moment == 0.0 {
            return;
        }
        let l = self.length;
        let over = 1.0 / (1.0 + phi);
        let (xi2, xi3) = (xi * xi, xi * xi * xi);
        let place = [
            (1.0 - 3.0 * xi2 + 2.0 * xi3 + phi * (1.0 - xi)) * over,
            l * (xi - 2.0 * xi2 + xi3 + 0.5 * phi * (xi - xi2)) * over * turn,
            (3.0 * xi2 - 2.0 * xi3 + phi * xi) * over,
            l * (xi3 - xi2 - 0.5 * phi * (xi - xi2)) * over * turn,
        ];
        let slope = [
            6.0 * (xi2 - xi) / l * over * turn,
            (1.0 - 4.0 * xi + 3.0 * xi2 + phi * (1.0 - xi)) * over,
            6.0 * (xi - xi2) / l * over * turn,
            (3.0 * xi2 - 2.0 * xi + phi * xi) * over,
        ];
        for i in 0..4 {
            loads[dof[i]] += force * place[i] + moment * slope[i];
        }
    }

    /// Adds the nodal loads equivalent to a line load (local axes, N/mm) that runs straight from `start` at `from` to
    /// `end` at `to`. Shape functions are cubic and the load linear, so three Gauss points are exact.
    pub fn add_line(&self, loads: &mut Twelve, from: f64, to: f64, start: [f64; 3], end: [f64; 3]) {
        let span = to - from;
        if span <= 0.0 {
            return;
        }
        let root = (0.6_f64).sqrt();
        for (place, weight) in [(-root, 5.0 / 18.0), (0.0, 8.0 / 18.0), (root, 5.0 / 18.0)] {
            let share = 0.5 * (1.0 + place);
            let force = [0, 1, 2].map(|i| (start[i] + (end[i] - start[i]) * share) * span * weight);
            self.add_point(loads, from + share * span, force, [0.0; 3]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar() -> Bar {
        Bar { length: 900.0, ea: 4.0e7, gj: 1.3e9, eiy: 3.5e10, eiz: 0.8e10, gay: 2.0e6, gaz: 2.4e6 }
    }

    #[test]
    fn a_rigid_motion_meets_no_resistance() {
        let bar = bar();
        let k = bar.stiffness();
        let l = bar.length;
        // A turn about y lowers the far end in z; a turn about z raises it in y.
        let motions: [Twelve; 3] = [
            [1.0, 2.0, 3.0, 0.0, 0.0, 0.0, 1.0, 2.0, 3.0, 0.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, 0.01, 0.0, 0.0, 0.0, -0.01 * l, 0.0, 0.01, 0.0],
            [0.0, 0.0, 0.0, 0.02, 0.0, 0.01, 0.0, 0.01 * l, 0.0, 0.02, 0.0, 0.01],
        ];
        for motion in motions {
            for row in &k {
                let sum: f64 = row.iter().zip(&motion).map(|(a, b)| a * b).sum();
                assert!(sum.abs() < 1e-7, "{sum}");
            }
        }
    }

    #[test]
    fn forces_are_the_matrix_times_the_displacements() {
        let bar = bar();
        let u: Twelve = std::array::from_fn(|i| 0.3 + (i as f64 * 1.7).sin());
        for (row, force) in bar.stiffness().iter().zip(bar.forces(&u)) {
            let sum: f64 = row.iter().zip(&u).map(|(a, b)| a * b).sum();
            assert!((sum - force).abs() <= 1e-12 * sum.abs().max(1e3), "{sum} {force}");
        }
    }

    #[test]
    fn a_uniform_load_gives_the_fixed_end_moments_of_the_tables() {
        // w l^2 / 12 at both ends, w l / 2; Roark's Formulas for Stress and Strain, table 8 (from memory).
        let bar = bar();
        let mut loads = [0.0; 12];
        bar.add_line(&mut loads, 0.0, bar.length, [0.0, 0.0, -1.5], [0.0, 0.0, -1.5]);
        let moment = 1.5 * bar.length * bar.length / 12.0;
        assert!((loads[2] + 1.5 * bar.length / 2.0).abs() < 1e-9);
        assert!((loads[4] - moment).abs() < 1e-6, "{}", loads[4]);
        assert!((loads[10] + moment).abs() < 1e-6);
    }

    /// Independent reckoning: the bar cut at the load, the middle place set free and the ends clamped. What the ends then
    /// hold is what the load is worth there, with shear flexibility and for every direction of force and moment.
    #[test]
    fn a_load_at_a_place_is_what_the_cut_bar_hands_to_its_ends() {
        let bar = bar();
        let (force, moment) = ([120.0, -70.0, 45.0], [9.0e3, 2.0e4, -3.0e4]);
        for at in [130.0, 450.0, 777.0] {
            let (near, far) = (bar.with_length(at).stiffness(), bar.with_length(bar.length - at).stiffness());
            let load = [force[0], force[1], force[2], moment[0], moment[1], moment[2]];
            let stiff = |i: usize, j: usize| near[6 + i][6 + j] + far[i][j];
            let mut moved = [0.0; 6];
            for i in [0, 3] {
                moved[i] = load[i] / stiff(i, i);
            }
            // Each plane of bending: two equations, solved by Cramer's rule.
            for (w, t) in [(1, 5), (2, 4)] {
                let determinant = stiff(w, w) * stiff(t, t) - stiff(w, t) * stiff(t, w);
                moved[w] = (load[w] * stiff(t, t) - stiff(w, t) * load[t]) / determinant;
                moved[t] = (stiff(w, w) * load[t] - load[w] * stiff(t, w)) / determinant;
            }
            let mut found = [0.0; 12];
            bar.add_point(&mut found, at, force, moment);
            for i in 0..6 {
                let start: f64 = -(0..6).map(|j| near[i][6 + j] * moved[j]).sum::<f64>();
                let end: f64 = -(0..6).map(|j| far[6 + i][j] * moved[j]).sum::<f64>();
                assert!((found[i] - start).abs() < 1e-6, "{i} at {at}: {} against {start}", found[i]);
                assert!((found[6 + i] - end).abs() < 1e-6, "{i} at {at}: {} against {end}", found[6 + i]);
            }
        }
    }
}
