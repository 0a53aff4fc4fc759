//! Against stresses worked out by hand, and against a search of every point of a section.
#![allow(clippy::unwrap_used, reason = "a failed test may panic")]

use super::*;
use proptest::prelude::*;

fn stresses(section: Section) -> Stresses {
    let figures = properties(&section);
    Stresses::new(&section, &figures).unwrap()
}

fn close(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found} against {expected}");
}

/// 20 x 40 bar. By hand: A 800, Wy 5333.3, N 8 kN -> 10; My 400 N·m -> 75; Vz 16 kN -> 1.5 · 20 = 30.
/// At the corner 85 without shear; at the middle of the side 10 with 30: sqrt(100 + 2700) = 52.9. Corner governs.
/// With Vz 64 kN the middle does: tau 120, sqrt(100 + 3 · 14 400) = 208.1; a quarter up (u = 0.25: sigma 28.75, tau 112.5)
/// has sqrt(826.6 + 37 968.8) = 197.0, less.
#[test]
fn bar_by_hand() {
    let bar = stresses(Section::Rectangle { width_mm: 20.0, depth_mm: 40.0 });
    let forces = Sizes { n: 8000.0, my: 400_000.0, vz: 16_000.0, ..Sizes::default() };
    close(bar.worst(&forces).equivalent(), 85.0, 1e-12);
    close(bar.shear(&forces), 30.0, 1e-12);
    let sheared = bar.worst(&Sizes { vz: 64_000.0, ..forces });
    // Between the middle (208.09) and a little above it: u = 0.02 gives sigma 11.5, tau 119.952: 208.08.
    close(sheared.equivalent(), 208.1, 1e-3);
}

/// Square bar in torsion: tau = T/(0.208 a³), twice as wide 0.246, ten times 0.312 (Timoshenko and Goodier, Theory of
/// Elasticity, the table of rectangular bars; from memory).
#[test]
fn bar_torsion_of_the_table() {
    for (ratio, alpha) in [(1.0, 0.208), (2.0, 0.246), (3.0, 0.267), (10.0, 0.312)] {
        let bar = stresses(Section::Rectangle { width_mm: 10.0, depth_mm: 10.0 * ratio });
        close(bar.torsion(&Sizes { t: 1.0, ..Sizes::default() }), 1.0 / (alpha * ratio * 1000.0), 3e-3);
    }
}

/// 40 x 40 x 3 tube with sharp corners, V 5 kN. By hand: I = 101 972, S = (64 000 - 34³)/8 = 3087, tau = 5000 · 3087/(101 972
/// · 6) = 25.23; at the web's end S = 40 · 3 · 37/2 = 2220: 18.14. Torsion 100 N·m: I_t = 3³ · 148/3 + 4 · 1369² · 3/148 = 153 294,
/// the cell's flow has T/I_t · 2 · 1369/148 = 12.07 (Bredt 12.17), the skin of the wall T t/I_t = 1.96 more: 14.03.
#[test]
fn square_tube_by_hand() {
    let tube = stresses(Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 });
    close(tube.shear(&Sizes { vz: 5000.0, ..Sizes::default() }), 25.23, 1e-3);
    close(tube.vz[0] * 5000.0, 18.14, 1e-3);
    let twist = tube.torsion(&Sizes { t: 100_000.0, ..Sizes::default() });
    close(twist, 14.03, 1e-3);
    // Bending of 500 N·m (98.07 with W 5098.6) and the 5 kN: the web's end has sigma 98.07 and tau 18.14: 103.0.
    let both = Sizes { my: 500_000.0, vz: 5000.0, ..Sizes::default() };
    close(tube.worst(&both).equivalent(), (98.07f64.powi(2) + 3.0 * 18.14f64.powi(2)).sqrt(), 1e-3);
}

/// The same tube pushed along y: the walls that lie along y bear it. With 500 N·m about y these walls have 98.07 all along,
/// and the greatest shear in their middle: sqrt(98.07² + 3 · 25.23²).
#[test]
fn square_tube_pushed_sideways_by_hand() {
    let tube = stresses(Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 });
    let pushed = Sizes { vy: 5000.0, ..Sizes::default() };
    close(tube.shear(&pushed), 25.23, 1e-3);
    let both = Sizes { my: 500_000.0, ..pushed };
    close(tube.worst(&both).equivalent(), (98.07f64.powi(2) + 3.0 * 25.23f64.powi(2)).sqrt(), 1e-3);
}

/// A tube whose walls meet one way is a bar.
#[test]
fn a_closed_tube_is_a_bar() {
    for (width_mm, depth_mm) in [(40.0, 6.0), (6.0, 40.0)] {
        let tube = stresses(Section::RectangularTube { width_mm, depth_mm, wall_mm: 3.0 });
        assert_eq!(tube.outline, Outline::Bar);
        close(tube.shear(&Sizes { vz: 1000.0, ..Sizes::default() }), 1.5 * 1000.0 / 240.0, 1e-12);
    }
}

/// Thin round tube: tau = 2 V/A, torsion T/(2 pi r² t); solid round: 4 V/(3 A), 16 T/(pi d³) (handbook, from memory).
#[test]
fn rounds_by_hand() {
    let thin = stresses(Section::RoundTube { diameter_mm: 100.1, wall_mm: 0.1 });
    let area = PI * 100.0 * 0.1;
    close(thin.shear(&Sizes { vy: 1000.0, ..Sizes::default() }), 2.0 * 1000.0 / area, 1e-3);
    close(thin.torsion(&Sizes { t: 1e6, ..Sizes::default() }), 1e6 / (2.0 * PI * 2500.0 * 0.1), 2e-3);
    let solid = stresses(Section::Round { diameter_mm: 20.0 });
    close(solid.shear(&Sizes { vz: 3000.0, ..Sizes::default() }), 4.0 / 3.0 * 3000.0 / (PI * 100.0), 1e-12);
    close(solid.torsion(&Sizes { t: 1e5, ..Sizes::default() }), 16.0 * 1e5 / (PI * 8000.0), 1e-12);
    // Bent both ways the moments add up as vectors: 3 and 4 make 5.
    let bent = Sizes { my: 300_000.0, mz: 400_000.0, ..Sizes::default() };
    close(solid.worst(&bent).equivalent(), 500_000.0 / (PI * 8000.0 / 32.0), 1e-9);
}

/// What sigma and tau at a point of a solid rectangle are, with their signs: (v, u) from -1 to 1 along y and z.
fn bar_point(forces: &[f64; 6], width: f64, depth: f64, v: f64, u: f64) -> f64 {
    let [n, vy, vz, t, my, mz] = *forces;
    let area = width * depth;
    let sigma = n / area + my * u / (area * depth / 6.0) - mz * v / (area * width / 6.0);
    // Torsion: at the outline at most its peak; a field that is no more than that anywhere.
    let peak =
        t * bar_torsion(width, depth, properties(&Section::Rectangle { width_mm: width, depth_mm: depth }).j_mm4);
    let tau_z = 1.5 * vz / area * (1.0 - u * u) + peak * v * (1.0 - u * u);
    let tau_y = 1.5 * vy / area * (1.0 - v * v) - peak * u * (1.0 - v * v);
    (sigma * sigma + 3.0 * (tau_y * tau_y + tau_z * tau_z)).sqrt()
}

proptest! {
    /// No point of a bar has more than is said, and in one plane some point has all of it.
    #[test]
    fn bars_bound_every_point(raw in proptest::array::uniform6(-1.0_f64..1.0), plane in 0..3_u8) {
        let (width, depth) = (12.0, 30.0);
        let mut forces: [f64; 6] = [4e4, 2e4, 2e4, 1e5, 3e5, 1e5];
        for (size, share) in forces.iter_mut().zip(raw) { *size *= share; }
        if plane == 1 { (forces[1], forces[3], forces[5]) = (0.0, 0.0, 0.0); }
        if plane == 2 { (forces[2], forces[3], forces[4]) = (0.0, 0.0, 0.0); }
        let [n, vy, vz, t, my, mz] = forces.map(f64::abs);
        let found = stresses(Section::Rectangle { width_mm: width, depth_mm: depth })
            .worst(&Sizes { n, my, mz, vy, vz, t }).equivalent();
        let mut most = 0.0_f64;
        for i in -40..=40 {
            for j in -40..=40 {
                most = most.max(bar_point(&forces, width, depth, f64::from(i) / 40.0, f64::from(j) / 40.0));
            }
        }
        prop_assert!(most <= found * (1.0 + 1e-9), "{most} over {found}");
        if plane > 0 { prop_assert!(most >= found * 0.995, "{most} under {found}"); }
    }

    /// Likewise round a tube of thin wall, with the flow's signs.
    #[test]
    fn tubes_bound_every_point(raw in proptest::array::uniform6(-1.0_f64..1.0)) {
        let mut forces: [f64; 6] = [4e4, 1e4, 1e4, 3e5, 5e5, 4e5];
        for (size, share) in forces.iter_mut().zip(raw) { *size *= share; }
        let tube = stresses(Section::RectangularTube { width_mm: 40.0, depth_mm: 60.0, wall_mm: 2.0 });
        let [n, vy, vz, t, my, mz] = forces.map(f64::abs);
        let found = tube.worst(&Sizes { n, my, mz, vy, vz, t }).equivalent();
        let [n, vy, vz, t, my, mz] = forces;
        let mut most = 0.0_f64;
        for step in -50..=50 {
            let u = f64::from(step) / 50.0;
            for side in [-1.0, 1.0] {
                let quarter = |flow: [f64; 2], u: f64| flow[1] - (flow[1] - flow[0]) * u * u;
                // Web at y = side: its own shear, the linear flow of the other force, torsion round the cell.
                let sigma = n * tube.n + my * tube.my * u - mz * tube.mz * side;
                let tau = vz * quarter(tube.vz, u) - vy * tube.vy[0] * u * side + t * tube.t * side;
                most = most.max(Point { sigma, tau }.equivalent());
                let sigma = n * tube.n + my * tube.my * side - mz * tube.mz * u;
                let tau = vy * quarter(tube.vy, u) - vz * tube.vz[0] * u * side - t * tube.t * side;
                most = most.max(Point { sigma, tau }.equivalent());
            }
        }
        prop_assert!(most <= found * (1.0 + 1e-9), "{most} over {found}");
    }

    /// Round the outline of a round section: bounded by what is said, reached in one plane.
    #[test]
    fn rounds_bound_every_point(raw in proptest::array::uniform6(-1.0_f64..1.0), plane in proptest::bool::ANY) {
        let mut forces: [f64; 6] = [4e4, 1e4, 1e4, 1e5, 2e5, 2e5];
        for (size, share) in forces.iter_mut().zip(raw) { *size *= share; }
        if plane { (forces[1], forces[3], forces[5]) = (0.0, 0.0, 0.0); }
        let round = stresses(Section::RoundTube { diameter_mm: 40.0, wall_mm: 3.0 });
        let [n, vy, vz, t, my, mz] = forces.map(f64::abs);
        let found = round.worst(&Sizes { n, my, mz, vy, vz, t }).equivalent();
        let [n, vy, vz, t, my, mz] = forces;
        let mut most = 0.0_f64;
        for step in 0..720 {
            // Angle from z; the tangent there points along (cos, -sin) in (y, z).
            let angle = f64::from(step) * PI / 360.0;
            let (sin, cos) = angle.sin_cos();
            let sigma = n * round.n + my * round.my * cos - mz * round.mz * sin;
            let tau = t * round.t + vy * round.vy[1] * cos - vz * round.vz[1] * sin;
            most = most.max(Point { sigma, tau }.equivalent());
        }
        prop_assert!(most <= found * (1.0 + 1e-9), "{most} over {found}");
        if plane { prop_assert!(most >= found * 0.9999, "{most} under {found}"); }
    }

    /// A greater force never uses less: what the judge's bounds rest on.
    #[test]
    fn stresses_only_grow(raw in proptest::array::uniform6(0.0_f64..1.0), more in proptest::array::uniform6(0.0_f64..1.0)) {
        let sections = [
            Section::Rectangle { width_mm: 20.0, depth_mm: 35.0 },
            Section::Round { diameter_mm: 25.0 },
            Section::RectangularTube { width_mm: 30.0, depth_mm: 50.0, wall_mm: 2.0 },
            Section::RoundTube { diameter_mm: 42.0, wall_mm: 2.5 },
        ];
        let of = |[n, vy, vz, t, my, mz]: [f64; 6]| Sizes {
            n: 4e4 * n, my: 3e5 * my, mz: 2e5 * mz, vy: 1e4 * vy, vz: 1e4 * vz, t: 1e5 * t,
        };
        let grown: [f64; 6] = std::array::from_fn(|i| raw[i] + more[i]);
        for section in sections {
            let stresses = stresses(section);
            let (less, greater) = (stresses.worst(&of(raw)).equivalent(), stresses.worst(&of(grown)).equivalent());
            prop_assert!(greater >= less * (1.0 - 1e-12), "{greater} under {less}");
            prop_assert!(stresses.shear(&of(grown)) >= stresses.shear(&of(raw)) * (1.0 - 1e-12));
        }
    }
}
