//! How wide a strip of sheet bears a patch of load: the sheet as an orthotropic plate between two members.
//!
//! The plate is simply supported along both members, free at the sheet's two edges, with Poisson's ratios of 0 and
//! twist stiffness from the shear modulus in its plane: D_x w_xxxx + 2 H w_xxyy + D_y w_yyyy = q, H = 2 G t³/12. Lévy's
//! solution: w = Σ W_m(y) sin(α x), α = m π/l, with x from member to member and y along them. For an even load over a
//! patch W_m is that of the endless plate, in closed form, and two waves that die away from the free edges; their four
//! constants make edge moment and edge (Kirchhoff) shear zero. Nothing is sampled but the places under the patch where
//! the moments are read.

use std::f64::consts::PI;

/// Terms of the series; moments fall as 1/m³.
const TERMS: u32 = 30;
/// Places read across and along the patch, ends included.
const READ: usize = 5;

/// Share of the greatest moment under which a moment is none.
const NOTHING: f64 = 1e-9;

/// Stiffness of a sheet, as ratios: its thickness cancels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plate {
    /// D_x/D_y: modulus across the members over that along them.
    ratio: f64,
    /// H/sqrt(D_x D_y), under 1.
    twist: f64,
    /// Bending strength across the members over that along them.
    strength_ratio: f64,
}

/// One term's decay and wave number: roots ±a ± ib of the characteristic equation.
#[derive(Clone, Copy)]
struct Wave {
    a: f64,
    b: f64,
}

impl Plate {
    /// Moduli of elasticity in bending across and along the members, shear modulus in the plane (N/mm²), and bending
    /// strength across the members over that along them.
    pub(super) fn new([e_across, e_along]: [f64; 2], g_v: f64, strength_ratio: f64) -> Self {
        // Under 1 the roots are complex; no wood comes near it.
        let twist = (2.0 * g_v / (e_across * e_along).sqrt()).min(0.999);
        Self { ratio: e_across / e_along, twist, strength_ratio }
    }

    /// Width of a strip that, bearing the whole patch as a simple beam, is used as much as the plate is under the
    /// patch, along its span or sideways, whichever is worse. At least the patch, at most the sheet.
    ///
    /// `over` is the patch across the members from the first of the two, `patch` and `sheet` are ranges along them.
    pub(super) fn effective_width_mm(&self, span: f64, over: [f64; 2], patch: [f64; 2], sheet: [f64; 2]) -> f64 {
        let patch_width = patch[1] - patch[0];
        // A patch may stand out over the sheet's edge by its rounding up to 1 mm.
        let sheet = [sheet[0].min(patch[0]), sheet[1].max(patch[1])];
        let sheet_width = sheet[1] - sheet[0];
        if sheet_width <= patch_width + 1e-6 {
            return patch_width;
        }
        let places = |[from, to]: [f64; 2]| -> [f64; READ] {
            std::array::from_fn(|i| from + (to - from) * i as f64 / (READ - 1) as f64)
        };
        let (xs, ys) = (places(over), places(patch));
        let used = self.used(span, over, patch, sheet, xs, ys);
        let mut width = sheet_width;
        let beams = xs.map(|x| beam_moment(span, over, x) * patch_width);
        let greatest = beams.into_iter().fold(0.0, f64::max);
        // Over a member both moments are nothing, and their ratio is rounding.
        for (beam, row) in beams.into_iter().zip(used).filter(|(beam, _)| *beam > NOTHING * greatest) {
            for moment in row.into_iter().filter(|moment| *moment > 0.0) {
                width = width.min(beam / moment);
            }
        }
        width.clamp(patch_width, sheet_width)
    }

    /// Under a unit pressure on the patch: at each x and y the greater of the moment along the span and the moment
    /// sideways times the strength ratio, per unit width.
    fn used(
        &self,
        span: f64,
        over: [f64; 2],
        patch: [f64; 2],
        sheet: [f64; 2],
        xs: [f64; READ],
        ys: [f64; READ],
    ) -> [[f64; READ]; READ] {
        let mut along = [[0.0; READ]; READ];
        let mut sideways = [[0.0; READ]; READ];
        for m in 1..=TERMS {
            let alpha = f64::from(m) * PI / span;
            let load = 2.0 / (f64::from(m) * PI) * ((alpha * over[0]).cos() - (alpha * over[1]).cos());
            let beta = alpha * self.ratio.powf(0.25);
            let wave = Wave { a: beta * (0.5 + 0.5 * self.twist).sqrt(), b: beta * (0.5 - 0.5 * self.twist).sqrt() };
            let edges = wave.edge_constants(patch, sheet);
            for (j, y) in ys.iter().enumerate() {
                let bent = wave.with_edges(edges, 0, *y, patch, sheet);
                let curved = wave.with_edges(edges, 2, *y, patch, sheet);
                for (i, x) in xs.iter().enumerate() {
                    let sine = load * (alpha * x).sin();
                    along[i][j] += self.ratio * alpha * alpha * bent * sine;
                    sideways[i][j] -= curved * sine;
                }
            }
        }
        std::array::from_fn(|i| std::array::from_fn(|j| along[i][j].max(sideways[i][j].abs() * self.strength_ratio)))
    }
}

/// Moment at x of a simple beam under a unit line load over a part of it.
fn beam_moment(span: f64, [from, to]: [f64; 2], x: f64) -> f64 {
    let force = to - from;
    let reaction = force * (span - 0.5 * (from + to)) / span;
    let passed = x.clamp(from, to) - from;
    reaction * x - passed * (x - from - 0.5 * passed)
}

impl Wave {
    /// n-th derivative of e^(-a z) (P cos bz + Q sin bz) at z, as the factors of P and Q.
    fn decaying(self, n: u32, z: f64) -> [f64; 2] {
        let (mut re, mut im) = (1.0, 0.0);
        for _ in 0..n {
            (re, im) = (-self.a * re - self.b * im, -self.a * im + self.b * re);
        }
        let (sine, cosine) = (self.b * z).sin_cos();
        let decay = (-self.a * z).exp();
        [decay * (re * cosine - im * sine), decay * (re * sine + im * cosine)]
    }

    /// Integral over n derivatives of the endless plate's answer to a unit line load at 0 with D_y = 1:
    /// g(u) = e^(-a|u|) (cos bu + a/b sin b|u|)/(4 a (a² + b²)); n = 0 is its integral from 0, n = 1 itself ...
    fn line_load(self, n: u32, u: f64) -> f64 {
        let Self { a, b } = self;
        let square = a * a + b * b;
        let z = u.abs();
        let scale = 1.0 / (4.0 * a * square);
        // g and its integral from endless to z, by the same wave: derivative order n - 1.
        if n == 0 {
            let (sine, cosine) = (b * z).sin_cos();
            let rest = (-a * z).exp() * (2.0 * a * cosine - (b * b - a * a) / b * sine);
            return u.signum() * scale * (2.0 * a - rest) / square;
        }
        let [p, q] = self.decaying(n - 1, z);
        let value = scale * (p + a / b * q);
        // g is even: its odd derivatives are odd.
        if n.is_multiple_of(2) { u.signum() * value } else { value }
    }

    /// n-th derivative along y of the endless plate under a unit pressure on the patch.
    fn endless(self, n: u32, y: f64, patch: [f64; 2]) -> f64 {
        self.line_load(n, y - patch[0]) - self.line_load(n, y - patch[1])
    }

    /// n-th derivative along y with the waves from the edges; constants P, Q of the upper edge, then of the lower.
    fn with_edges(self, constants: [f64; 4], n: u32, y: f64, patch: [f64; 2], sheet: [f64; 2]) -> f64 {
        let waves = self.edge_waves(n, y, sheet);
        self.endless(n, y, patch) + constants.iter().zip(waves).map(|(c, w)| c * w).sum::<f64>()
    }

    fn edge_waves(self, n: u32, y: f64, sheet: [f64; 2]) -> [f64; 4] {
        let sign = if n.is_multiple_of(2) { 1.0 } else { -1.0 };
        let (upper, lower) = (self.decaying(n, sheet[1] - y), self.decaying(n, y - sheet[0]));
        [sign * upper[0], sign * upper[1], lower[0], lower[1]]
    }

    /// Constants that leave both edges free: W'' = 0 and W''' - 2 (a² - b²) W' = 0 there.
    fn edge_constants(self, patch: [f64; 2], sheet: [f64; 2]) -> [f64; 4] {
        let kappa = 2.0 * (self.a * self.a - self.b * self.b);
        let mut rows = [[0.0; 5]; 4];
        for (edge, y) in [sheet[1], sheet[0]].into_iter().enumerate() {
            let [first, second, third] = [1, 2, 3].map(|n| (self.edge_waves(n, y, sheet), self.endless(n, y, patch)));
            rows[2 * edge][..4].copy_from_slice(&second.0);
            rows[2 * edge + 1][..4].copy_from_slice(&third.0);
            rows[2 * edge + 1][..4].iter_mut().zip(first.0).for_each(|(c, wave)| *c -= kappa * wave);
            rows[2 * edge][4] = -second.1;
            rows[2 * edge + 1][4] = -(third.1 - kappa * first.1);
        }
        // Derivatives of different order differ in size by powers of a: made alike first.
        for row in &mut rows {
            let size = row[..4].iter().fold(0.0_f64, |size, c| size.max(c.abs()));
            row.iter_mut().for_each(|c| *c /= size);
        }
        solve(rows)
    }
}

/// Gauss elimination with row pivots.
fn solve(mut rows: [[f64; 5]; 4]) -> [f64; 4] {
    for column in 0..4 {
        let pivot = (column..4).max_by(|i, j| rows[*i][column].abs().total_cmp(&rows[*j][column].abs()));
        rows.swap(column, pivot.unwrap_or(column));
        let pivot = rows[column];
        for row in &mut rows[column + 1..] {
            let share = row[column] / pivot[column];
            row.iter_mut().zip(pivot).for_each(|(c, p)| *c -= share * p);
        }
    }
    let mut result = [0.0; 4];
    for i in (0..4).rev() {
        let known: f64 = (i + 1..4).map(|j| rows[i][j] * result[j]).sum();
        result[i] = (rows[i][4] - known) / rows[i][i];
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(left: f64, right: f64, relative: f64) {
        assert!((left - right).abs() <= relative * right.abs(), "{left} against {right}");
    }

    /// Deflection at (x, y) for a unit pressure on a patch, D_y = 1.
    fn sag(plate: &Plate, span: f64, over: [f64; 2], patch: [f64; 2], sheet: [f64; 2], [x, y]: [f64; 2]) -> f64 {
        (1..=400)
            .map(|m| {
                let alpha = f64::from(m) * PI / span;
                let load = 2.0 / (f64::from(m) * PI) * ((alpha * over[0]).cos() - (alpha * over[1]).cos());
                let beta = alpha * plate.ratio.powf(0.25);
                let wave =
                    Wave { a: beta * (0.5 + 0.5 * plate.twist).sqrt(), b: beta * (0.5 - 0.5 * plate.twist).sqrt() };
                let edges = wave.edge_constants(patch, sheet);
                wave.with_edges(edges, 0, y, patch, sheet) * load * (alpha * x).sin()
            })
            .sum()
    }

    /// Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, table 23 (from memory): an endless isotropic
    /// plate under a point load amid its span sags 0.01695 P a²/D there.
    #[test]
    fn point_load_on_an_endless_isotropic_plate() {
        let plate = Plate { ratio: 1.0, twist: 0.999_999, strength_ratio: 1.0 };
        let (over, patch) = ([0.4995, 0.5005], [-0.0005, 0.0005]);
        let found = sag(&plate, 1.0, over, patch, [-50.0, 50.0], [0.5, 0.0]) / 1e-6;
        close(found, 0.01695, 1e-3);
    }

    /// Loaded over its whole width a sheet bends as a beam, whatever its edges: W = q/(D_x alpha⁴), even over y.
    #[test]
    fn full_width_is_a_beam() {
        let plate = Plate::new([10_719.0, 6781.0], 620.0, 1.3);
        let (over, sheet) = ([0.0, 300.0], [0.0, 500.0]);
        for y in [0.0, 130.0, 250.0, 500.0] {
            let found = sag(&plate, 300.0, over, sheet, sheet, [150.0, y]) * plate.ratio;
            close(found, 5.0 * 300f64.powi(4) / 384.0, 1e-6);
        }
    }

    /// Edges are free: no moment and no Kirchhoff shear, for a load anywhere.
    #[test]
    fn edges_carry_nothing() {
        let wave = Wave { a: 0.009, b: 0.0078 };
        let (patch, sheet) = ([40.0, 120.0], [0.0, 700.0]);
        let constants = wave.edge_constants(patch, sheet);
        let kappa = 2.0 * (0.009_f64.powi(2) - 0.0078_f64.powi(2));
        for edge in sheet {
            let [w1, w2, w3] = [1, 2, 3].map(|n| wave.with_edges(constants, n, edge, patch, sheet));
            let scale = [1, 2, 3].map(|n| wave.endless(n, 100.0, patch).abs());
            assert!(w2.abs() < 1e-10 * scale[1], "{w2}");
            assert!((w3 - kappa * w1).abs() < 1e-10 * scale[2].max(kappa * scale[0]), "{w3}");
        }
    }

    /// The fourth derivative's equation holds where there is no load: D_y W'''' - 2 H alpha² W'' + D_x alpha⁴ W = 0,
    /// here with finite differences of the second derivative.
    #[test]
    fn equation_of_the_plate_holds() {
        let (a, b) = (0.009, 0.0078);
        let wave = Wave { a, b };
        let (patch, sheet) = ([40.0, 120.0], [0.0, 400.0]);
        let constants = wave.edge_constants(patch, sheet);
        let at = |n, y| wave.with_edges(constants, n, y, patch, sheet);
        let (square, beta4) = (2.0 * (a * a - b * b), (a * a + b * b).powi(2));
        for (y, load) in [(80.0, 1.0), (250.0, 0.0)] {
            let h = 0.5;
            let fourth = (at(2, y + h) - 2.0 * at(2, y) + at(2, y - h)) / (h * h);
            let rest = fourth - square * at(2, y) + beta4 * at(0, y) - load;
            assert!(rest.abs() < 1e-4, "{y}: {rest}");
        }
    }

    /// A knee spreads wide inside a sheet, less at its edge, and never beyond the sheet.
    #[test]
    fn widths_are_in_order() {
        let plate = Plate::new([10_719.0, 6781.0], 620.0, 42.9 / 33.2);
        let width = |patch, sheet| plate.effective_width_mm(300.0, [110.0, 190.0], patch, sheet);
        let inside = width([560.0, 640.0], [0.0, 1200.0]);
        let edge = width([0.0, 80.0], [0.0, 1200.0]);
        let narrow = width([20.0, 100.0], [0.0, 120.0]);
        assert!(inside > 160.0 && inside < 300.0, "{inside}");
        assert!(edge > 80.0 && edge < 0.75 * inside, "{edge}");
        assert!(narrow > 80.0 && narrow <= 120.0, "{narrow}");
        assert_eq!(width([0.0, 80.0], [0.0, 80.0]), 80.0);
    }

    /// A patch that reaches to the far member is as wide as one that reaches to the near one.
    #[test]
    fn both_members_are_alike() {
        let plate = Plate::new([10_719.0, 6781.0], 620.0, 42.9 / 33.2);
        let width = |over| plate.effective_width_mm(285.0, over, [560.0, 640.0], [0.0, 1200.0]);
        let (near, far) = (width([0.0, 67.5]), width([217.5, 285.0]));
        assert!(near > 90.0 && (near - far).abs() < 1e-9 * near, "{near} {far}");
        let at_edge = |patch| plate.effective_width_mm(285.0, [100.0, 160.0], patch, [0.0, 1200.0]);
        let (low, high) = (at_edge([10.0, 90.0]), at_edge([1110.0, 1190.0]));
        assert!((low - high).abs() < 1e-9 * low, "{low} {high}");
    }

    /// A sheet that is weak along the members is used sideways: by the curvature along them (D_y = 1), here by finite
    /// differences of the deflection, times the ratio of the strengths.
    #[test]
    fn a_sheet_weak_sideways_is_used_sideways() {
        let plate = Plate::new([10_719.0, 6781.0], 620.0, 40.0);
        let (span, over, patch, sheet) = (300.0, [110.0, 190.0], [560.0, 640.0], [0.0, 1200.0]);
        let used = plate.used(span, over, patch, sheet, [150.0; READ], [600.0; READ])[0][0];
        let (h, at) = (1.0, |y: f64| sag(&plate, span, over, patch, sheet, [150.0, y]));
        let curvature = (at(600.0 + h) - 2.0 * at(600.0) + at(600.0 - h)) / (h * h);
        close(used, -curvature * 40.0, 1e-3);
        let strong = Plate { strength_ratio: 1.0, ..plate };
        assert!(used > 3.0 * strong.used(span, over, patch, sheet, [150.0; READ], [600.0; READ])[0][0]);
    }
}
