//! Elastic properties of a section from its shape and sizes.
//!
//! Width lies along the member's local y, depth along its local z: `iy` resists bending in the x-z plane (depth),
//! `iz` bending in the x-y plane. Lengths mm.

mod cold_formed;

use super::{GivenSection, Section};
use std::f64::consts::PI;

pub use cold_formed::{MiddleLine, cold_formed, middle_line, of, radii};

/// Area, second moments, torsion constant, shear areas, elastic moduli and outer sizes of a section.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SectionProperties {
    /// Area.
    pub area_mm2: f64,
    /// Second moment about local y (bending in the x-z plane).
    pub iy_mm4: f64,
    /// Second moment about local z (bending in the x-y plane).
    pub iz_mm4: f64,
    /// St-Venant torsion constant.
    pub j_mm4: f64,
    /// Shear area for forces along local y; `None`: no shear deflection in that direction.
    pub shear_area_y_mm2: Option<f64>,
    /// Shear area for forces along local z; `None`: no shear deflection in that direction.
    pub shear_area_z_mm2: Option<f64>,
    /// Elastic modulus about local y; `None`: unknown.
    pub wy_mm3: Option<f64>,
    /// Elastic modulus about local z; `None`: unknown.
    pub wz_mm3: Option<f64>,
    /// Outer size along local y; `None`: unknown.
    pub width_mm: Option<f64>,
    /// Outer size along local z; `None`: unknown.
    pub depth_mm: Option<f64>,
}

/// Properties of a section. Sizes are taken as they are: the validated frame has none below zero, and no wall over
/// half the outer size.
///
/// Shear areas are those of exact bending theory at a Poisson's ratio of 0 (Cowper 1966): 5/6 A for a rectangle,
/// 6/7 A for a round; a rectangular tube takes the energy of its thin-walled shear flow.
pub fn properties(section: &Section) -> SectionProperties {
    match section {
        Section::Rectangle { width_mm, depth_mm } => rectangle(*width_mm, *depth_mm),
        Section::Round { diameter_mm } => ring(*diameter_mm, 0.0),
        Section::RectangularTube { width_mm, depth_mm, wall_mm } => rectangular_tube(*width_mm, *depth_mm, *wall_mm),
        Section::RoundTube { diameter_mm, wall_mm } => ring(*diameter_mm, (diameter_mm - 2.0 * wall_mm).max(0.0)),
        Section::Given(given) => given_properties(given),
    }
}

/// Solid rectangle.
fn rectangle(width: f64, depth: f64) -> SectionProperties {
    let area = width * depth;
    SectionProperties {
        area_mm2: area,
        iy_mm4: width * depth.powi(3) / 12.0,
        iz_mm4: depth * width.powi(3) / 12.0,
        j_mm4: rectangle_torsion(width, depth),
        shear_area_y_mm2: Some(area * 5.0 / 6.0),
        shear_area_z_mm2: Some(area * 5.0 / 6.0),
        wy_mm3: Some(width * depth.powi(2) / 6.0),
        wz_mm3: Some(depth * width.powi(2) / 6.0),
        width_mm: Some(width),
        depth_mm: Some(depth),
    }
}

/// St-Venant's series for a solid rectangle with sides `a >= b`:
/// J = a b³/3 (1 - 192 b/(π⁵ a) Σ tanh(n π a/(2 b))/n⁵, n odd).
///
/// Twenty terms leave less than 1e-7 of J. (The handbook closed form 1/3 - 0.21 b/a (1 - b⁴/(12 a⁴)) is off by up to
/// 4e-3, so it is not used.)
fn rectangle_torsion(width: f64, depth: f64) -> f64 {
    let (a, b) = (width.max(depth), width.min(depth));
    if b <= 0.0 {
        return 0.0;
    }
    let series: f64 = (0..20)
        .rev()
        .map(|k| {
            let n = f64::from(2 * k + 1);
            (n * PI * a / (2.0 * b)).tanh() / n.powi(5)
        })
        .sum();
    a * b.powi(3) / 3.0 * (1.0 - 192.0 * b / (PI.powi(5) * a) * series)
}

/// Solid round (`inner` 0) or round tube; every figure is exact. Shear area by Cowper at a Poisson's ratio of 0 with
/// m = inner/outer: 6 (1 + m²)² / (7 (1 + m²)² + 20 m²) of A, which is 6/7 solid and 1/2 thin.
fn ring(outer: f64, inner: f64) -> SectionProperties {
    let area = PI / 4.0 * (outer.powi(2) - inner.powi(2));
    let second_moment = PI / 64.0 * (outer.powi(4) - inner.powi(4));
    let m2 = if outer > 0.0 { (inner / outer).powi(2) } else { 0.0 };
    let square = (1.0 + m2).powi(2);
    let shear_area = area * 6.0 * square / (7.0 * square + 20.0 * m2);
    let modulus = if outer > 0.0 { 2.0 * second_moment / outer } else { 0.0 };
    SectionProperties {
        area_mm2: area,
        iy_mm4: second_moment,
        iz_mm4: second_moment,
        j_mm4: 2.0 * second_moment,
        shear_area_y_mm2: Some(shear_area),
        shear_area_z_mm2: Some(shear_area),
        wy_mm3: Some(modulus),
        wz_mm3: Some(modulus),
        width_mm: Some(outer),
        depth_mm: Some(outer),
    }
}

/// Rectangular tube with sharp corners. Area, second moments and moduli are exact. The torsion constant is Bredt's
/// closed cell plus the wall's own (t³ p/3 + 4 A_m² t/p with the middle line's area and length: EN 10210-2 annex B
/// with corner radii of half a wall), right for thin walls and a few per cent off for thick ones.
fn rectangular_tube(width: f64, depth: f64, wall: f64) -> SectionProperties {
    let (inner_width, inner_depth) = ((width - 2.0 * wall).max(0.0), (depth - 2.0 * wall).max(0.0));
    if inner_width <= 0.0 || inner_depth <= 0.0 {
        return rectangle(width, depth);
    }
    let (b, h) = (width - wall, depth - wall);
    let iy = (width * depth.powi(3) - inner_width * inner_depth.powi(3)) / 12.0;
    let iz = (depth * width.powi(3) - inner_depth * inner_width.powi(3)) / 12.0;
    let perimeter = 2.0 * (b + h);
    SectionProperties {
        area_mm2: width * depth - inner_width * inner_depth,
        iy_mm4: iy,
        iz_mm4: iz,
        j_mm4: wall.powi(3) * perimeter / 3.0 + 4.0 * (b * h).powi(2) * wall / perimeter,
        shear_area_y_mm2: Some(tube_shear_area(h, b, wall)),
        shear_area_z_mm2: Some(tube_shear_area(b, h, wall)),
        wy_mm3: Some(2.0 * iy / depth),
        wz_mm3: Some(2.0 * iz / width),
        width_mm: Some(width),
        depth_mm: Some(depth),
    }
}

/// Shear area of a thin-walled box for a force along `h`: I² / ∫ Q²/t ds over its middle line, flanges included.
fn tube_shear_area(b: f64, h: f64, wall: f64) -> f64 {
    let second_moment = wall * (h.powi(3) / 6.0 + b * h.powi(2) / 2.0);
    let middle = h * b / 4.0 + h.powi(2) / 8.0;
    let flanges = wall * h.powi(2) * b.powi(3) / 24.0;
    let webs = 2.0 * wall * (middle.powi(2) * h - middle * h.powi(3) / 12.0 + h.powi(5) / 320.0);
    second_moment.powi(2) / (flanges + webs)
}

/// A profile's own figures.
fn given_properties(given: &GivenSection) -> SectionProperties {
    let GivenSection {
        area_mm2,
        iy_mm4,
        iz_mm4,
        j_mm4,
        shear_area_y_mm2,
        shear_area_z_mm2,
        wy_mm3,
        wz_mm3,
        width_mm,
        depth_mm,
    } = given.clone();
    SectionProperties {
        area_mm2,
        iy_mm4,
        iz_mm4,
        j_mm4,
        shear_area_y_mm2,
        shear_area_z_mm2,
        wy_mm3,
        wz_mm3,
        width_mm,
        depth_mm,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;

    fn close(left: f64, right: f64, relative: f64) {
        assert!((left - right).abs() <= relative * right.abs(), "{left} against {right}");
    }

    #[test]
    fn rectangle_by_hand() {
        let found = properties(&Section::Rectangle { width_mm: 45.0, depth_mm: 95.0 });
        close(found.area_mm2, 4275.0, 1e-12);
        close(found.iy_mm4, 45.0 * 857_375.0 / 12.0, 1e-12);
        close(found.iz_mm4, 95.0 * 91_125.0 / 12.0, 1e-12);
        close(found.wy_mm3.unwrap(), 45.0 * 9025.0 / 6.0, 1e-12);
        // Square: beta = 0.140577 (Timoshenko and Goodier, Theory of Elasticity, table of torsion; from memory).
        close(properties(&Section::Rectangle { width_mm: 10.0, depth_mm: 10.0 }).j_mm4, 1405.77, 1e-5);
        // a/b = 2: 0.229; a/b = 10: 0.312 (same table; from memory).
        close(properties(&Section::Rectangle { width_mm: 20.0, depth_mm: 10.0 }).j_mm4, 20_000.0 * 0.229, 2e-3);
        close(properties(&Section::Rectangle { width_mm: 10.0, depth_mm: 100.0 }).j_mm4, 1e5 * 0.312, 2e-3);
    }

    #[test]
    fn torsion_matches_two_hundred_terms() {
        for ratio in [1.0_f64, 1.3, 2.0, 5.0, 20.0] {
            let sum: f64 =
                (0..200).map(|k| f64::from(2 * k + 1)).map(|n| (n * PI * ratio / 2.0).tanh() / n.powi(5)).sum();
            let long = ratio / 3.0 * (1.0 - 192.0 / (PI.powi(5) * ratio) * sum);
            close(rectangle_torsion(ratio, 1.0), long, 1e-7);
            close(rectangle_torsion(1.0, ratio), long, 1e-7);
        }
    }

    #[test]
    fn tubes() {
        // 40 x 40 x 3, sharp corners: I = (40^4 - 34^4)/12 = 101 972 mm4.
        let tube = properties(&Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 });
        close(tube.iy_mm4, 101_972.0, 1e-5);
        close(tube.wy_mm3.unwrap(), 5098.6, 1e-5);
        close(tube.area_mm2, 444.0, 1e-12);
        // Thin square box: exact energy solution, A_s = 5/12 A (hand-worked: I = 2/3, flanges 1/24, webs 2 (9/64 - 1/32 + 1/320)).
        let thin = properties(&Section::RectangularTube { width_mm: 1000.1, depth_mm: 1000.1, wall_mm: 0.1 });
        let hand = (4.0 / 9.0) / (1.0 / 24.0 + 2.0 * (9.0 / 64.0 - 1.0 / 32.0 + 1.0 / 320.0)) / 4.0;
        close(thin.shear_area_z_mm2.unwrap() / thin.area_mm2, hand, 1e-3);
        let round = properties(&Section::RoundTube { diameter_mm: 60.0, wall_mm: 5.0 });
        close(round.iy_mm4, PI / 64.0 * (60f64.powi(4) - 50f64.powi(4)), 1e-12);
        close(round.j_mm4, 2.0 * round.iy_mm4, 1e-12);
        // A tube whose wall meets in the middle is the solid.
        let full = properties(&Section::RoundTube { diameter_mm: 60.0, wall_mm: 30.0 });
        assert_eq!(full, properties(&Section::Round { diameter_mm: 60.0 }));
    }
}
