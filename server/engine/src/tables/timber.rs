//! Strength classes of solid timber (EN 338:2016), glued laminated timber (EN 14080:2013) and laminated veneer lumber.
//!
//! Strengths and moduli N/mm², densities kg/m³. Of each row, [`TimberClass::read`] names the values that were read in
//! a published table or book, with the source; every other value is from memory of the standard.

use super::Basis;

/// What kind of timber a class is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Solid softwood, EN 338 C classes.
    Softwood,
    /// Solid hardwood, EN 338 D classes.
    Hardwood,
    /// Glued laminated softwood, EN 14080.
    Glulam,
    /// Laminated veneer lumber, EN 14374; the lesser side of a section is the thickness of its billet.
    Lvl,
}

/// One strength class. Characteristic (5 %) values end in `k` or `05`, mean values in `mean`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimberClass {
    /// Name in the standard, e.g. `C24`.
    pub name: &'static str,
    /// Kind of timber.
    pub family: Family,
    /// Bending.
    pub f_m_k: f64,
    /// Tension along the grain.
    pub f_t_0_k: f64,
    /// Tension across the grain.
    pub f_t_90_k: f64,
    /// Compression along the grain.
    pub f_c_0_k: f64,
    /// Compression across the grain.
    pub f_c_90_k: f64,
    /// Shear; of veneer lumber on edge (in the plane of its veneers).
    pub f_v_k: f64,
    /// Shear by forces across the veneers; the same as `f_v_k` in solid timber and glulam.
    pub f_v_flat_k: f64,
    /// Compression across the grain square to the veneers; the same as `f_c_90_k` in solid timber and glulam.
    pub f_c_90_flat_k: f64,
    /// Modulus of elasticity along the grain, mean.
    pub e_0_mean: f64,
    /// Modulus of elasticity along the grain, 5 %.
    pub e_0_05: f64,
    /// Modulus of elasticity across the grain, mean.
    pub e_90_mean: f64,
    /// Shear modulus, mean.
    pub g_mean: f64,
    /// Shear modulus, 5 %. EN 338 gives none: E_0,05/16 there (derived, as G_mean from E_0,mean).
    pub g_05: f64,
    /// Density, 5 %.
    pub rho_k: f64,
    /// Density, mean.
    pub rho_mean: f64,
    /// Exponent of the size effect of LVL (EN 1995-1-1 (3.3)); 0 for all else.
    pub size_exponent: f64,
    /// Field names of the values that were read, each with the key of its source in [`SOURCES`].
    pub read: &'static [(&'static str, &'static str)],
}

/// Keys and titles of what was read.
pub const SOURCES: [(&str, &str); 8] = [
    (
        "PK",
        "Porteous and Kermani, Structural Timber Design to Eurocode 5, 2007 (after EN 338:2003; these values are the same in 2016)",
    ),
    ("SB", "structuralbasics.com, glulam table after EN 14080:2013"),
    ("CE", "claesenander.se page 126, short table of C classes"),
    ("ET", "engineeringtoolbox.com d_1804, densities after BS EN 338 (older edition)"),
    ("TR", "a public copy of EN 338:2016 table 1 as a data file, seen November 2026; not the standard itself"),
    (
        "TD",
        "a public copy of the rho_k columns of EN 338 and EN 14080, seen November 2026; not the standards themselves",
    ),
    ("LH", "LVL Handbook Europe, 3rd edition 2025, pages 181 to 201"),
    (
        "LD",
        "a public copy of a maker's declared values for veneer lumber of this class, seen November 2026; not the declaration itself",
    ),
];

/// Softwood values that the copy `TR` gives, all in agreement with the rows below.
const TRANSCRIBED: [&str; 10] =
    ["f_m_k", "f_t_0_k", "f_t_90_k", "f_c_0_k", "f_c_90_k", "f_v_k", "e_0_mean", "e_0_05", "g_mean", "rho_mean"];

impl TimberClass {
    /// The class as its strength across the grain counts under a pressure: square to the veneers or in their plane.
    pub fn pressed(&self, square_to_veneers: bool) -> Self {
        Self { f_c_90_k: if square_to_veneers { self.f_c_90_flat_k } else { self.f_c_90_k }, ..*self }
    }

    /// Whether the value of a field was read in a source, follows from another, or is from memory of the standard.
    pub fn basis(&self, field: &str) -> Basis {
        if let Some((_, source)) = self.read.iter().find(|(name, _)| *name == field) {
            return Basis::Read(source);
        }
        match (self.family, field) {
            (Family::Softwood, "rho_k") => Basis::Read("TR"),
            (Family::Softwood, field) if TRANSCRIBED.contains(&field) => Basis::Read("TR"),
            (Family::Softwood | Family::Hardwood, "g_05") => Basis::Derived,
            _ => Basis::Memory,
        }
    }
}

/// The class of that name, upper or lower case.
pub fn class(name: &str) -> Option<&'static TimberClass> {
    CLASSES.iter().find(|class| class.name.eq_ignore_ascii_case(name))
}

/// All classes, weakest first within a family.
pub fn classes() -> &'static [TimberClass] {
    &CLASSES
}

/// A solid timber row: strengths m, t0, c0, c90, v; moduli E, E05, E90, G; densities k, mean.
const fn solid(
    name: &'static str,
    family: Family,
    strength: [f64; 5],
    moduli: [f64; 4],
    density: [f64; 2],
    read: &'static [(&'static str, &'static str)],
) -> TimberClass {
    TimberClass {
        name,
        family,
        f_m_k: strength[0],
        f_t_0_k: strength[1],
        f_t_90_k: match family {
            Family::Hardwood => 0.6,
            Family::Softwood | Family::Glulam | Family::Lvl => 0.4,
        },
        f_c_0_k: strength[2],
        f_c_90_k: strength[3],
        f_v_k: strength[4],
        f_v_flat_k: strength[4],
        f_c_90_flat_k: strength[3],
        e_0_mean: moduli[0],
        e_0_05: moduli[1],
        e_90_mean: moduli[2],
        g_mean: moduli[3],
        g_05: moduli[1] / 16.0,
        rho_k: density[0],
        rho_mean: density[1],
        size_exponent: 0.0,
        read,
    }
}

/// A glulam row: strengths m, t0, c0; moduli E, E05; densities k, mean. The rest is the same in every class.
const fn glulam(
    name: &'static str,
    strength: [f64; 3],
    moduli: [f64; 2],
    density: [f64; 2],
    read: &'static [(&'static str, &'static str)],
) -> TimberClass {
    TimberClass {
        name,
        family: Family::Glulam,
        f_m_k: strength[0],
        f_t_0_k: strength[1],
        f_t_90_k: 0.5,
        f_c_0_k: strength[2],
        f_c_90_k: 2.5,
        f_v_k: 3.5,
        f_v_flat_k: 3.5,
        f_c_90_flat_k: 2.5,
        e_0_mean: moduli[0],
        e_0_05: moduli[1],
        e_90_mean: 300.0,
        g_mean: 650.0,
        g_05: 540.0,
        rho_k: density[0],
        rho_mean: density[1],
        size_exponent: 0.0,
        read,
    }
}

const READ_GLULAM_H: &[(&str, &str)] = &[
    ("f_m_k", "SB"),
    ("f_t_0_k", "SB"),
    ("f_t_90_k", "SB"),
    ("f_c_0_k", "SB"),
    ("f_c_90_k", "SB"),
    ("f_v_k", "SB"),
    ("e_0_mean", "SB"),
    ("e_0_05", "SB"),
    ("g_mean", "SB"),
    ("g_05", "SB"),
    ("rho_k", "SB"),
    ("rho_mean", "SB"),
];

const READ_GLULAM_C: &[(&str, &str)] = &[
    ("f_m_k", "SB"),
    ("f_t_0_k", "SB"),
    ("f_t_90_k", "SB"),
    ("f_c_0_k", "SB"),
    ("f_c_90_k", "SB"),
    ("f_v_k", "SB"),
    ("e_0_mean", "SB"),
    ("e_0_05", "SB"),
    ("rho_k", "TD"),
];

/// Veneer lumber with all veneers along. Its class name gives the bending strength flatwise (48); the lower one on edge
/// (44) is taken for both (P). Compression along the grain: 35 dry, but 29 in service class 2 (from memory of the
/// makers' joint bulletin of 2020), which vehicles are in, so the lower one. Across the veneers 2.2 (from memory).
const LVL_48_P: TimberClass = TimberClass {
    name: "LVL 48 P",
    family: Family::Lvl,
    f_m_k: 44.0,
    f_t_0_k: 35.0,
    f_t_90_k: 0.8,
    f_c_0_k: 29.0,
    f_c_90_k: 6.0,
    f_v_k: 4.2,
    f_v_flat_k: 2.3,
    f_c_90_flat_k: 2.2,
    e_0_mean: 13_800.0,
    e_0_05: 11_600.0,
    e_90_mean: 430.0,
    g_mean: 600.0,
    g_05: 400.0,
    rho_k: 480.0,
    rho_mean: 510.0,
    size_exponent: 0.15,
    read: &[
        ("f_m_k", "LH"),
        ("f_t_0_k", "LD"),
        ("f_t_90_k", "LD"),
        ("f_c_90_k", "LH"),
        ("f_v_k", "LH"),
        ("f_v_flat_k", "LD"),
        ("e_0_mean", "LH"),
        ("e_0_05", "LD"),
        ("g_mean", "LH"),
        ("g_05", "LD"),
        ("rho_k", "LD"),
        ("rho_mean", "LD"),
        ("size_exponent", "LH"),
    ],
};

#[rustfmt::skip]
static CLASSES: [TimberClass; 19] = [
    solid("C14", Family::Softwood, [14.0, 7.2, 16.0, 2.0, 3.0], [7000.0, 4700.0, 230.0, 440.0], [290.0, 350.0],
        &[("f_c_0_k", "CE"), ("e_0_mean", "CE"), ("rho_k", "CE"), ("rho_mean", "ET")]),
    solid("C16", Family::Softwood, [16.0, 8.5, 17.0, 2.2, 3.2], [8000.0, 5400.0, 270.0, 500.0], [310.0, 370.0],
        &[("f_c_0_k", "PK"), ("e_0_05", "PK"), ("rho_mean", "ET")]),
    solid("C18", Family::Softwood, [18.0, 10.0, 18.0, 2.2, 3.4], [9000.0, 6000.0, 300.0, 560.0], [320.0, 380.0],
        &[("f_c_0_k", "CE"), ("e_0_mean", "CE"), ("rho_k", "PK"), ("rho_mean", "ET")]),
    solid("C20", Family::Softwood, [20.0, 11.5, 19.0, 2.3, 3.6], [9500.0, 6400.0, 320.0, 590.0], [330.0, 400.0], &[]),
    solid("C22", Family::Softwood, [22.0, 13.0, 20.0, 2.4, 3.8], [10000.0, 6700.0, 330.0, 630.0], [340.0, 410.0],
        &[("f_t_0_k", "PK"), ("f_c_0_k", "PK"), ("e_0_05", "PK"), ("e_0_mean", "PK"), ("rho_k", "PK"), ("rho_mean", "ET")]),
    solid("C24", Family::Softwood, [24.0, 14.5, 21.0, 2.5, 4.0], [11000.0, 7400.0, 370.0, 690.0], [350.0, 420.0],
        &[("f_m_k", "PK"), ("f_c_0_k", "PK"), ("f_c_90_k", "PK"), ("e_0_05", "PK"), ("e_0_mean", "CE"), ("rho_k", "PK"), ("rho_mean", "ET")]),
    solid("C27", Family::Softwood, [27.0, 16.5, 22.0, 2.5, 4.0], [11500.0, 7700.0, 380.0, 720.0], [360.0, 430.0],
        &[("f_c_0_k", "PK"), ("e_0_05", "PK")]),
    solid("C30", Family::Softwood, [30.0, 19.0, 24.0, 2.7, 4.0], [12000.0, 8000.0, 400.0, 750.0], [380.0, 460.0],
        &[("e_0_05", "PK"), ("e_0_mean", "CE"), ("rho_k", "CE"), ("rho_mean", "ET")]),
    solid("C35", Family::Softwood, [35.0, 22.5, 25.0, 2.7, 4.0], [13000.0, 8700.0, 430.0, 810.0], [390.0, 470.0],
        &[("f_c_0_k", "PK"), ("e_0_05", "PK"), ("e_0_mean", "CE")]),
    solid("C40", Family::Softwood, [40.0, 26.0, 27.0, 2.8, 4.0], [14000.0, 9400.0, 470.0, 880.0], [400.0, 480.0],
        &[("e_0_mean", "CE")]),
    solid("D24", Family::Hardwood, [24.0, 14.0, 21.0, 4.9, 3.7], [10000.0, 8400.0, 670.0, 630.0], [485.0, 580.0], &[]),
    solid("D30", Family::Hardwood, [30.0, 18.0, 24.0, 5.3, 3.9], [11000.0, 9200.0, 730.0, 690.0], [530.0, 640.0],
        &[("rho_mean", "ET"), ("rho_k", "TD")]),
    solid("D40", Family::Hardwood, [40.0, 24.0, 27.0, 5.5, 4.2], [13000.0, 10900.0, 870.0, 810.0], [550.0, 660.0], &[("rho_k", "TD")]),
    solid("D50", Family::Hardwood, [50.0, 30.0, 30.0, 6.2, 4.5], [14000.0, 11800.0, 930.0, 880.0], [620.0, 740.0], &[("rho_k", "TD")]),
    glulam("GL24c", [24.0, 17.0, 21.5], [11000.0, 9100.0], [365.0, 400.0], READ_GLULAM_C),
    glulam("GL24h", [24.0, 19.2, 24.0], [11500.0, 9600.0], [385.0, 420.0], READ_GLULAM_H),
    glulam("GL28c", [28.0, 19.5, 24.0], [12500.0, 10400.0], [390.0, 420.0], READ_GLULAM_C),
    glulam("GL28h", [28.0, 22.3, 28.0], [12600.0, 10500.0], [425.0, 460.0], READ_GLULAM_H),
    LVL_48_P,
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;

    #[test]
    fn names_and_basis() {
        assert_eq!(class("c24").unwrap().name, "C24");
        assert_eq!(class("GL24H").unwrap().f_t_0_k, 19.2);
        assert!(class("C25").is_none());
        assert_eq!(class("C24").unwrap().basis("f_c_0_k"), Basis::Read("PK"));
        assert_eq!(class("C24").unwrap().basis("e_90_mean"), Basis::Memory);
        assert_eq!(class("C24").unwrap().basis("g_05"), Basis::Derived);
        assert_eq!(class("D24").unwrap().basis("f_m_k"), Basis::Memory);
        assert_eq!(class("lvl 48 p").unwrap().basis("f_m_k"), Basis::Read("LH"));
        assert_eq!(class("LVL 48 P").unwrap().basis("f_c_0_k"), Basis::Memory);
        assert_eq!([true, false].map(|flat| class("LVL 48 P").unwrap().pressed(flat).f_c_90_k), [2.2, 6.0]);
        assert_eq!(class("C24").unwrap().pressed(true), *class("C24").unwrap());
        assert!(classes().iter().all(|c| c.read.iter().all(|(_, key)| SOURCES.iter().any(|(own, _)| own == key))));
    }

    /// The rules of EN 384 that made the rows (from memory of that standard): E_0,05 = 0.67 E_0,mean and
    /// G_mean = E_0,mean/16 for softwood, 0.84 and /16 for hardwood. A slip of a digit in a row shows here.
    #[test]
    fn rows_follow_the_rules_of_en_384() {
        for class in classes() {
            let (share, across) = match class.family {
                Family::Softwood => (0.67, 30.0),
                Family::Hardwood => (0.84, 15.0),
                Family::Glulam | Family::Lvl => continue,
            };
            let name = class.name;
            assert!((class.e_0_05 - share * class.e_0_mean).abs() <= 51.0, "{name}");
            assert!((class.g_mean - class.e_0_mean / 16.0).abs() <= 6.0, "{name}");
            assert!((class.e_90_mean - class.e_0_mean / across).abs() <= 7.0, "{name}");
            assert!((class.rho_mean / class.rho_k - 1.2).abs() <= 0.013, "{name}");
        }
    }
}
