//! Plywood by kind and nominal thickness: bent across its thickness (flatwise), and stressed in its plane.
//!
//! Stresses and moduli N/mm², densities kg/m³. Bending figures are those of the full, homogeneous section (thickness
//! as a solid). `along` means face grain along the span, `across` face grain across it.

use super::Basis;

/// Share of a sheet's mean stiffness that its 5 % value is (EN 12369-2, from memory).
pub const FIFTH: f64 = 0.8;

/// One kind of sheet in one thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Panel {
    /// Name, e.g. `birch plywood`.
    pub name: &'static str,
    /// Thickness it is sold as.
    pub nominal_mm: f64,
    /// Mean actual thickness.
    pub thickness_mm: f64,
    /// Mean density.
    pub rho_mean: f64,
    /// Where thickness and density come from.
    pub mass_basis: Basis,
    /// Strength and stiffness flatwise; `None`: no table supports any, so it is weighed but not checked.
    pub bending: Option<PanelBending>,
    /// Strength and stiffness in its plane; `None`: no table supports any, so a member made of it is not checked.
    pub in_plane: Option<PanelInPlane>,
}

/// Strength (5 %) and stiffness (mean) of a sheet in its plane, over its full thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelInPlane {
    /// Tension along the face grain.
    pub f_t_along_k: f64,
    /// Tension across the face grain.
    pub f_t_across_k: f64,
    /// Compression along the face grain.
    pub f_c_along_k: f64,
    /// Compression across the face grain.
    pub f_c_across_k: f64,
    /// Panel shear.
    pub f_v_k: f64,
    /// Modulus of elasticity in tension and compression along the face grain.
    pub e_along: f64,
    /// Likewise across it.
    pub e_across: f64,
}

impl Panel {
    /// Least modulus of elasticity of a strip whichever way it is cut and laid, N/mm²; `None`: not known.
    pub fn weakest_modulus(&self) -> Option<f64> {
        let flat = self.bending.map(|b| b.e_m_along.min(b.e_m_across))?;
        Some(self.in_plane.map_or(flat, |plane| flat.min(plane.e_along).min(plane.e_across)))
    }
}

/// Strength (5 %) and stiffness (mean) of a sheet flatwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanelBending {
    /// Bending strength, face grain along the span.
    pub f_m_along_k: f64,
    /// Bending strength, face grain across the span.
    pub f_m_across_k: f64,
    /// Modulus of elasticity in bending, face grain along the span.
    pub e_m_along: f64,
    /// Modulus of elasticity in bending, face grain across the span.
    pub e_m_across: f64,
    /// Planar (rolling) shear strength, face grain along the span.
    pub f_r_along_k: f64,
    /// Planar shear strength, face grain across the span.
    pub f_r_across_k: f64,
    /// Planar shear modulus, face grain along the span.
    pub g_r_along: f64,
    /// Planar shear modulus, face grain across the span.
    pub g_r_across: f64,
    /// Shear modulus in the sheet's plane (twist of the sheet).
    pub g_v: f64,
    /// Where these come from.
    pub basis: Basis,
    /// True where no standard table exists: the low end of a typical range; a maker's declaration should replace it.
    pub low_confidence: bool,
}

/// The sheet of that name and nominal thickness (to 0.05 mm), upper or lower case.
pub fn panel(name: &str, nominal_mm: f64) -> Option<&'static Panel> {
    PANELS.iter().find(|panel| panel.name.eq_ignore_ascii_case(name) && (panel.nominal_mm - nominal_mm).abs() <= 0.05)
}

/// Thicknesses a sheet of that name is known in; empty if the name is unknown.
pub fn thicknesses(name: &str) -> impl Iterator<Item = f64> + '_ {
    PANELS.iter().filter(move |panel| panel.name.eq_ignore_ascii_case(name)).map(|panel| panel.nominal_mm)
}

/// Every sheet of the table as `birch plywood 12`, for suggestions.
pub fn known() -> Vec<String> {
    PANELS.iter().map(|panel| format!("{} {}", panel.name, panel.nominal_mm)).collect()
}

/// Names of the kinds of sheet.
pub const NAMES: [&str; 4] = ["birch plywood", "okoume plywood", "poplar plywood", "spruce plywood"];

/// Birch: actual thickness and density read in a birch plywood datasheet; bending from memory of the Handbook of
/// Finnish Plywood (every row has E along + E across = 17 500, which they must). For 12 mm a density (5 %) of 630 was
/// read in Porteous and Kermani. Planar shear: the low ends of the remembered ranges (along 2.5 to 3.2, across
/// 1.75 to 2.4), planar shear moduli likewise about 200 and 120.
///
/// In its plane the figures go by the share of the plies that run along the face grain (derived): all plies 1.4 mm but
/// the sanded faces 1.1 mm, so of 5 plies 3.6 mm of 6.4 mm. Such a ply bears 52 N/mm² of compression along its grain
/// (27.7 + 24.3 read for 12 mm in Porteous and Kermani), 75 of tension and has a modulus of 17 500 (from memory of the
/// Handbook of Finnish Plywood), across its grain nothing. Panel shear 9.5 from memory of the same.
const fn birch(sizes: [f64; 2], plies: f64, rho_mean: f64, strength: [f64; 2], e_m_along: f64) -> Panel {
    let [nominal_mm, thickness_mm] = sizes;
    // Every second ply runs along, both faces among them: (plies + 1)/2.
    let along = (1.4 * ((plies + 1.0) / 2.0 - 2.0) + 2.2) / (1.4 * (plies - 2.0) + 2.2);
    Panel {
        name: NAMES[0],
        nominal_mm,
        thickness_mm,
        rho_mean,
        mass_basis: Basis::Read("birch plywood datasheet"),
        bending: Some(PanelBending {
            f_m_along_k: strength[0],
            f_m_across_k: strength[1],
            e_m_along,
            e_m_across: 17_500.0 - e_m_along,
            f_r_along_k: 2.5,
            f_r_across_k: 1.75,
            g_r_along: 200.0,
            g_r_across: 120.0,
            g_v: 620.0,
            basis: Basis::Memory,
            low_confidence: false,
        }),
        in_plane: Some(PanelInPlane {
            f_t_along_k: 75.0 * along,
            f_t_across_k: 75.0 * (1.0 - along),
            f_c_along_k: 52.0 * along,
            f_c_across_k: 52.0 * (1.0 - along),
            f_v_k: 9.5,
            e_along: 17_500.0 * along,
            e_across: 17_500.0 * (1.0 - along),
        }),
    }
}

/// Okoume: 450 kg/m³ read in an okoume data page, thickness as named. No strength in any table at hand.
const fn okoume(nominal_mm: f64) -> Panel {
    Panel {
        name: NAMES[1],
        nominal_mm,
        thickness_mm: nominal_mm,
        rho_mean: 450.0,
        mass_basis: Basis::Read("okoume plywood data page"),
        bending: None,
        in_plane: None,
    }
}

/// Poplar and spruce: the low end of typical ranges, from memory; no standard table.
const fn typical(name: &'static str, nominal_mm: f64, rho_mean: f64, strength: [f64; 3], moduli: [f64; 2]) -> Panel {
    Panel {
        name,
        nominal_mm,
        thickness_mm: nominal_mm,
        rho_mean,
        mass_basis: Basis::Memory,
        bending: Some(PanelBending {
            f_m_along_k: strength[0],
            f_m_across_k: strength[1],
            e_m_along: moduli[0],
            e_m_across: moduli[1],
            f_r_along_k: strength[2],
            f_r_across_k: strength[2],
            g_r_along: 50.0,
            g_r_across: 50.0,
            g_v: 350.0,
            basis: Basis::Memory,
            low_confidence: true,
        }),
        in_plane: None,
    }
}

static PANELS: [Panel; 20] = [
    birch([6.5, 6.4], 5.0, 670.0, [50.9, 29.0], 12_737.0),
    birch([9.0, 9.2], 7.0, 710.0, [45.6, 32.1], 11_395.0),
    birch([12.0, 12.0], 9.0, 695.0, [42.9, 33.2], 10_719.0),
    birch([15.0, 14.9], 11.0, 690.0, [41.3, 33.8], 10_316.0),
    birch([18.0, 17.7], 13.0, 685.0, [40.2, 34.1], 10_048.0),
    birch([21.0, 20.5], 15.0, 680.0, [39.4, 34.3], 9858.0),
    okoume(4.0),
    okoume(5.0),
    okoume(6.0),
    okoume(8.0),
    okoume(9.0),
    okoume(10.0),
    okoume(12.0),
    okoume(15.0),
    okoume(18.0),
    okoume(20.0),
    typical(NAMES[2], 15.0, 450.0, [18.0, 14.0, 0.6], [4000.0, 3000.0]),
    typical(NAMES[2], 18.0, 450.0, [18.0, 14.0, 0.6], [4000.0, 3000.0]),
    typical(NAMES[3], 18.0, 460.0, [18.0, 12.0, 0.6], [7500.0, 3000.0]),
    typical(NAMES[3], 21.0, 460.0, [18.0, 12.0, 0.6], [7500.0, 3000.0]),
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;

    /// With all plies equal and none stiff across its grain, the share of the plies along the face grain in the
    /// bending stiffness has a closed form. E along of every row lies 6 to 8 % under 17 500 times that share (sanding
    /// thins the faces), so that no digit and no ply count slipped.
    #[test]
    fn birch_moduli_follow_from_the_plies() {
        for (nominal, plies) in [(6.5, 5), (9.0, 7), (12.0, 9), (15.0, 11), (18.0, 13), (21.0, 15)] {
            let n = f64::from(plies);
            let share: f64 = (0..plies)
                .filter(|ply| ply % 2 == 0)
                .map(|ply| f64::from(ply) - (n - 1.0) / 2.0)
                .map(|middle| 12.0 * middle * middle + 1.0)
                .sum::<f64>()
                / n.powi(3);
            let bending = panel("birch plywood", nominal).unwrap().bending.unwrap();
            let ratio = bending.e_m_along / (17_500.0 * share);
            assert!(ratio > 0.915 && ratio < 0.945, "{nominal}: {ratio}");
        }
    }

    /// 27.7 along and 24.3 across for 12 mm (read, Porteous and Kermani); 5 plies of 6.5 mm: 3.6/6.4 along, so
    /// compression 29.3 and 22.8, tension 42.2 and 32.8, modulus 9844 and 7656 (Handbook of Finnish Plywood, from memory).
    #[test]
    fn birch_in_its_plane() {
        let plane = |nominal| panel("birch plywood", nominal).unwrap().in_plane.unwrap();
        let near = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 3e-3, "{found} {expected}");
        near(plane(12.0).f_c_along_k, 27.7);
        near(plane(12.0).f_c_across_k, 24.3);
        let five = plane(6.5);
        for (found, expected) in [(five.f_c_along_k, 29.3), (five.f_c_across_k, 22.8), (five.f_t_along_k, 42.2)] {
            near(found, expected);
        }
        near(five.f_t_across_k, 32.8);
        near(five.e_along, 9844.0);
        near(five.e_across, 7656.0);
        for (nominal, plies) in [(6.5, 5.0), (9.0, 7.0), (12.0, 9.0), (15.0, 11.0), (18.0, 13.0), (21.0, 15.0)] {
            // The plies' own thicknesses add up to the sheet's, to the sanding.
            let sum: f64 = 1.4 * (plies - 2.0) + 2.2;
            assert!((sum - panel("birch plywood", nominal).unwrap().thickness_mm).abs() <= 0.11, "{nominal}");
            near(plane(nominal).e_along / 17_500.0, (1.4 * ((plies + 1.0) / 2.0 - 2.0) + 2.2) / sum);
        }
        assert_eq!(panel("birch plywood", 12.0).unwrap().weakest_modulus(), Some(6781.0));
        assert!(panel("spruce plywood", 18.0).unwrap().in_plane.is_none());
    }

    #[test]
    fn thickness_must_be_one_that_is_sold() {
        assert!(panel("Birch Plywood", 12.0).is_some());
        assert!(panel("birch plywood", 13.0).is_none());
        assert!(panel("chipboard", 12.0).is_none());
        assert_eq!(thicknesses("poplar plywood").collect::<Vec<_>>(), [15.0, 18.0]);
        // Okoume 12 mm weighs 5.4 kg/m2 (read, okoume data page).
        let okoume = panel("okoume plywood", 12.0).unwrap();
        assert!((okoume.thickness_mm / 1000.0 * okoume.rho_mean - 5.4).abs() < 1e-9);
    }
}
