//! Members sawn out of sheet, on edge or laid flat: EN 1995-1-1 with the strengths of the sheet.
//!
//! The lesser side of the section is the sheet's thickness. A design does not say which way the face grain of a strip
//! runs, so each figure is that of the weaker direction (P). Bending in the sheet's plane is held to the lesser of its
//! tension and compression strength (P: no table gives one for bending on edge). Shear in the plane is panel shear,
//! across the thickness planar (rolling) shear; torsion makes both and is held to the planar one (P). No size factor
//! and no cracks (3.5, 6.1.7(2) name neither for sheets), k_m = 1 (6.1.6(2)), beta_c = 0.2 as for solid timber (P: 6.29
//! names no sheets).

use super::column::{Buckling, Slenderness};
use super::lateral::Lateral;
use super::torsion::Twist;
use super::{Resistance, radius};
use crate::design::Section;
use crate::design::section::properties;
use crate::tables::factors::{Product, gamma_m};
use crate::tables::panel::{FIFTH, Panel};

/// Resistance of a strip; `None` where the section is no rectangle or the table has no figures. Lengths between holds,
/// mm, as in [`Resistance::new`].
pub fn resistance(section: &Section, panel: &Panel, length_y_mm: f64, length_z_mm: f64) -> Option<Resistance> {
    let Section::Rectangle { width_mm, depth_mm } = section else { return None };
    let (flatwise, plane) = (panel.bending?, panel.in_plane?);
    let on_edge = width_mm <= depth_mm;
    let figures = properties(section);
    let f_t_0_k = plane.f_t_along_k.min(plane.f_t_across_k);
    let f_c_0_k = plane.f_c_along_k.min(plane.f_c_across_k);
    let f_m_flat = flatwise.f_m_along_k.min(flatwise.f_m_across_k);
    let f_r = flatwise.f_r_along_k.min(flatwise.f_r_across_k);
    let f_m_edge = f_t_0_k.min(f_c_0_k);
    let in_order = |edge: f64, flat: f64| if on_edge { (edge, flat) } else { (flat, edge) };
    let ((f_m_y_k, f_m_z_k), (f_v_k, f_v_y_k)) = (in_order(f_m_edge, f_m_flat), in_order(plane.f_v_k, f_r));
    let e_0_05 = FIFTH * panel.weakest_modulus()?;
    let buckling = Buckling { f_c_0_k, e_0_05, beta_c: 0.2 };
    Some(Resistance {
        area_mm2: figures.area_mm2,
        wy_mm3: figures.wy_mm3,
        wz_mm3: figures.wz_mm3,
        shear_peak_y: Some(1.5),
        shear_peak_z: Some(1.5),
        f_t_0_k,
        f_c_0_k,
        f_m_y_k,
        f_m_z_k,
        f_v_k,
        f_v_y_k,
        k_h_t: 1.0,
        k_h_y: 1.0,
        k_h_z: 1.0,
        k_m: 1.0,
        k_cr: 1.0,
        gamma_m: gamma_m(Product::Plywood),
        column_y: Slenderness::new(&buckling, length_y_mm, radius(figures.iy_mm4, &figures)),
        column_z: Slenderness::new(&buckling, length_z_mm, radius(figures.iz_mm4, &figures)),
        buckling: Some(buckling),
        twist: Twist::new(section, &figures, f_r).map(|twist| Twist { k_shape: 1.0, ..twist }),
        lateral: Lateral::new(section, &figures, e_0_05, FIFTH * flatwise.g_v),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;
    use crate::findings::SectionForces;
    use crate::rules::strength::{bending, shear, tension};
    use crate::tables::panel::panel;

    /// Birch 12 mm, 12 x 100 on edge, k_mod 0.8, by hand: W = 12 · 100²/6 = 20 000, f_m,d = 0.8 · 24.27/1.2 = 16.18;
    /// M = 0.2 kNm gives 10/16.18 = 0.618. Shear in the plane 1.5 · 1000/1200 = 1.25 against 0.8 · 9.5/1.2 = 6.333:
    /// 0.197; across the thickness against 0.8 · 1.75/1.2 = 1.1667: 1.071. Tension 12 000/1200 = 10 against
    /// 0.8 · 35/1.2 = 23.33: 0.4286. (Strengths: tables/panel.rs, derived and from memory there.)
    #[test]
    fn birch_on_edge_by_hand() {
        let sheet = panel("birch plywood", 12.0).unwrap();
        let edge = Section::Rectangle { width_mm: 12.0, depth_mm: 100.0 };
        let strip = resistance(&edge, sheet, 1.0, 1.0).unwrap();
        let bent = SectionForces { my_n_mm: 2e5, ..SectionForces::default() };
        assert!((bending::utilisation(&strip, 0.8, &bent) - 0.618).abs() < 1e-3);
        let sheared = |vy_n, vz_n| SectionForces { vy_n, vz_n, ..SectionForces::default() };
        assert!((shear::utilisation(&strip, 0.8, &sheared(0.0, 1000.0)) - 0.1974).abs() < 1e-4);
        assert!((shear::utilisation(&strip, 0.8, &sheared(1000.0, 0.0)) - 1.0714).abs() < 1e-4);
        let both = shear::outcome(&strip, 0.8, &sheared(1000.0, 1000.0));
        assert!(both.unit == "1" && (both.utilisation - 0.1974f64.hypot(1.0714)).abs() < 1e-4);
        let pulled = SectionForces { n_n: 12_000.0, ..SectionForces::default() };
        assert!((tension::utilisation(&strip, 0.8, &pulled) - 0.4286).abs() < 1e-3);
        // Flat, the same forces change places.
        let flat = resistance(&Section::Rectangle { width_mm: 100.0, depth_mm: 12.0 }, sheet, 1.0, 1.0).unwrap();
        assert!((shear::utilisation(&flat, 0.8, &sheared(0.0, 1000.0)) - 1.0714).abs() < 1e-4);
        assert_eq!((flat.f_m_y_k, flat.f_m_z_k), (strip.f_m_z_k, strip.f_m_y_k));
        assert!(resistance(&edge, panel("poplar plywood", 15.0).unwrap(), 1.0, 1.0).is_none());
    }

    /// Birch 12 mm as a post 12 x 100 of 400 mm, by hand: i = 12/sqrt(12) = 3.464, lambda 115.5; lambda_rel = lambda/pi
    /// sqrt(f_c,0,k/E_0.05), E_0.05 four fifths of the least modulus of the sheet (P).
    #[test]
    fn a_strip_buckles_with_its_weakest_modulus() {
        let sheet = panel("birch plywood", 12.0).unwrap();
        let strip = resistance(&Section::Rectangle { width_mm: 12.0, depth_mm: 100.0 }, sheet, 1.0, 400.0).unwrap();
        let modulus = 0.8 * sheet.weakest_modulus().unwrap();
        let by_hand = 400.0 / (12.0 / 12f64.sqrt()) / std::f64::consts::PI * (strip.f_c_0_k / modulus).sqrt();
        assert!((strip.column_z.relative / by_hand - 1.0).abs() < 1e-12, "{}", strip.column_z.relative);
        // (6.31): pi sqrt(E I_z G J)/(l W), with four fifths of the panel shear modulus.
        let figures = properties(&Section::Rectangle { width_mm: 12.0, depth_mm: 100.0 });
        let stiffness = (modulus * figures.iz_mm4 * 0.8 * sheet.bending.unwrap().g_v * figures.j_mm4).sqrt();
        let critical = std::f64::consts::PI * stiffness / (700.0 * 20_000.0);
        assert!((strip.lateral.unwrap().critical_n_mm2(700.0) / critical - 1.0).abs() < 1e-12);
    }
}
