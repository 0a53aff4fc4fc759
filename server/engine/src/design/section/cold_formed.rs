//! Steel hollow sections with the rounded corners that rolling gives them.
//!
//! EN 10219-2 annex B (the formulas are those of EN 10210-2, which differs in its radii): sharp corners would make a
//! 40 x 40 x 3 tube 5 % too heavy and 9 % too stiff.

use super::{SectionProperties, properties, tube_shear_area};
use crate::design::{Material, Section, Stock};
use crate::tables::metal::{MetalKind, metal};
use std::f64::consts::PI;

/// Properties of a stock's section. A rectangular tube of a steel class is taken as cold formed to EN 10219-2 (P: what
/// a steel merchant has in small sizes), every other section as its shape says.
pub fn of(stock: &Stock) -> SectionProperties {
    let steel =
        matches!(&stock.material, Material::Class(name) if metal(name).is_some_and(|m| m.kind == MetalKind::Steel));
    match stock.section {
        Section::RectangularTube { width_mm, depth_mm, wall_mm } if steel => cold_formed(width_mm, depth_mm, wall_mm),
        _ => properties(&stock.section),
    }
}

/// Cold-formed tube with the corners of [`radii`].
pub fn cold_formed(width: f64, depth: f64, wall: f64) -> SectionProperties {
    let [outer, inner] = radii(width, depth, wall);
    hollow(width, depth, wall, outer, inner)
}

/// Radii of a cold-formed tube's corners: outside 2.0, 2.5 or 3.0 times the wall up to 6 mm, up to 10 mm and over;
/// inside one wall less (EN 10219-2 annex B, from memory). They never take more than half a side.
pub fn radii(width: f64, depth: f64, wall: f64) -> [f64; 2] {
    let walls = match wall {
        t if t <= 6.0 => 2.0,
        t if t <= 10.0 => 2.5,
        _ => 3.0,
    };
    let outer = (walls * wall).min(0.5 * width.min(depth));
    [outer, (outer - wall).max(0.0)]
}

/// Tube with corner radii, outside and inside.
fn hollow(width: f64, depth: f64, wall: f64, outer: f64, inner: f64) -> SectionProperties {
    let sharp = properties(&Section::RectangularTube { width_mm: width, depth_mm: depth, wall_mm: wall });
    if width <= 2.0 * wall || depth <= 2.0 * wall {
        return sharp;
    }
    let area = sharp.area_mm2 - (4.0 - PI) * (outer.powi(2) - inner.powi(2));
    let second_moment =
        |sharp: f64, along: f64| sharp - corners(outer, 0.5 * along) + corners(inner, 0.5 * along - wall);
    let iy = second_moment(sharp.iy_mm4, depth);
    let iz = second_moment(sharp.iz_mm4, width);
    let middle = middle_line(width, depth, wall, 0.5 * (outer + inner));
    let (b, h) = (width - wall, depth - wall);
    let share = area / sharp.area_mm2;
    SectionProperties {
        area_mm2: area,
        iy_mm4: iy,
        iz_mm4: iz,
        j_mm4: middle.torsion_constant(wall),
        shear_area_y_mm2: Some(share * tube_shear_area(h, b, wall)),
        shear_area_z_mm2: Some(share * tube_shear_area(b, h, wall)),
        wy_mm3: Some(2.0 * iy / depth),
        wz_mm3: Some(2.0 * iz / width),
        ..sharp
    }
}

/// Second moment, about the middle of the section, of the four bits cut off outside rounded corners of radius `r`
/// whose sharp corner lies `reach` from the middle.
fn corners(r: f64, reach: f64) -> f64 {
    let area = (1.0 - PI / 4.0) * r.powi(2);
    let place = reach - (10.0 - 3.0 * PI) / (12.0 - 3.0 * PI) * r;
    let own = (1.0 / 3.0 - PI / 16.0 - 1.0 / (3.0 * (12.0 - 3.0 * PI))) * r.powi(4);
    4.0 * (own + area * place.powi(2))
}

/// Middle line of a tube's wall.
#[derive(Clone, Copy, Debug)]
pub struct MiddleLine {
    length: f64,
    enclosed: f64,
}

/// Middle line with corners of radius `radius`, mm.
pub fn middle_line(width: f64, depth: f64, wall: f64, radius: f64) -> MiddleLine {
    let (b, h) = (width - wall, depth - wall);
    MiddleLine { length: 2.0 * (b + h) - 2.0 * radius * (4.0 - PI), enclosed: b * h - radius.powi(2) * (4.0 - PI) }
}

impl MiddleLine {
    /// I_t = t³ h/3 + 2 K A_h with K = 2 A_h t/h, mm⁴.
    pub fn torsion_constant(&self, wall: f64) -> f64 {
        wall.powi(3) * self.length / 3.0 + 4.0 * self.enclosed.powi(2) * wall / self.length
    }

    /// C_t = I_t/(t + K/t): torsion over the greatest shear stress, mm³.
    pub fn torsion_modulus(&self, wall: f64) -> f64 {
        let k = 2.0 * self.enclosed * wall / self.length;
        self.torsion_constant(wall) / (wall + k / wall)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;

    /// EN 10210-2 (hot finished: radii 1.5 and 1.0 walls), square sections: side, wall, A cm², I cm⁴, W cm³, I_t cm⁴,
    /// C_t cm³. Read: table of square hollow sections on amesweb.info (values of EN 10210-2, three figures).
    const SQUARES: [[f64; 7]; 5] = [
        [40.0, 2.6, 3.82, 8.80, 4.40, 14.0, 6.41],
        [40.0, 4.0, 5.59, 11.8, 5.91, 19.5, 8.54],
        [50.0, 3.2, 5.88, 21.2, 8.49, 33.8, 12.4],
        [60.0, 5.0, 10.7, 53.3, 17.8, 86.4, 25.7],
        [80.0, 6.3, 18.1, 162.0, 40.5, 262.0, 58.7],
    ];

    #[test]
    fn square_hollow_sections_of_the_table() {
        for [side, wall, area, second, modulus, torsion, torsion_modulus] in SQUARES {
            let found = hollow(side, side, wall, 1.5 * wall, wall);
            let c_t = middle_line(side, side, wall, 1.25 * wall).torsion_modulus(wall);
            let pairs = [
                (found.area_mm2 / 100.0, area),
                (found.iy_mm4 / 1e4, second),
                (found.iz_mm4 / 1e4, second),
                (found.wy_mm3.unwrap() / 1e3, modulus),
                (found.j_mm4 / 1e4, torsion),
                (c_t / 1e3, torsion_modulus),
            ];
            for (mine, table) in pairs {
                assert!((mine - table).abs() <= 5.5e-3 * table, "{side} x {wall}: {mine} against {table}");
            }
        }
    }

    /// EN 10219-2 table B.3, 40 x 40 x 3 (from memory): A 4.21 cm², I 9.32 cm⁴, W 4.66 cm³, I_t 15.8 cm⁴, C_t 7.07 cm³.
    #[test]
    fn cold_formed_forty_by_three() {
        let found = cold_formed(40.0, 40.0, 3.0);
        assert!((found.area_mm2 - 421.0).abs() < 0.5, "{}", found.area_mm2);
        assert!((found.iy_mm4 - 93_200.0).abs() < 60.0, "{}", found.iy_mm4);
        assert!((found.j_mm4 - 158_000.0).abs() < 500.0, "{}", found.j_mm4);
        let c_t = middle_line(40.0, 40.0, 3.0, 4.5).torsion_modulus(3.0);
        assert!((c_t - 7070.0).abs() < 60.0, "{c_t}");
    }

    #[test]
    fn only_steel_tubes_are_rounded() {
        let tube = Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 };
        let stock = |class: &str| Stock {
            name: String::new(),
            section: tube.clone(),
            material: Material::Class(class.into()),
            grading: Default::default(),
            lengths_mm: Vec::new(),
            price_per_m: None,
            resawn: false,
        };
        assert!(of(&stock("S235")).area_mm2 < 422.0);
        assert_eq!(of(&stock("6060-T66")), properties(&tube));
    }

    #[test]
    fn thick_walls_stay_finite() {
        for wall in [0.5, 5.0, 9.0, 9.99, 10.0] {
            let found = cold_formed(20.0, 20.0, wall);
            assert!(found.area_mm2 > 0.0 && found.iy_mm4 > 0.0 && found.j_mm4 > 0.0, "{wall} {found:?}");
        }
    }
}
