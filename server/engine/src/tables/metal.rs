//! Steel and aluminium classes: strength by thickness, stiffness, density. N/mm², mm and kg/m³.
//!
//! Steel: EN 1993-1-1 table 3.1, thickness up to 40 mm (from memory; hollow sections of EN 10219 have the same yield
//! strength). Aluminium: EN 1999-1-1:2007 table 3.2b, extruded profiles, tubes and bars, without welds (read in the
//! table's text on the public web; 6082 from memory). Moduli and densities from memory of 3.2.6 and 3.2.5.

use super::Basis;

/// One class of metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalClass {
    /// Name, e.g. `S235` or `6060-T66`.
    pub name: &'static str,
    /// Which code it is judged by.
    pub kind: MetalKind,
    /// Strengths by thickness, thinnest range first.
    ranges: &'static [Range],
    /// Modulus of elasticity.
    pub e: f64,
    /// Shear modulus.
    pub g: f64,
    /// Density.
    pub rho: f64,
    /// Where its strengths come from.
    pub basis: Basis,
}

/// Steel or aluminium.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MetalKind {
    /// EN 1993-1-1.
    Steel,
    /// EN 1999-1-1, with its buckling class.
    Aluminium(BucklingClass),
}

/// Buckling class of an aluminium alloy and temper (EN 1999-1-1 table 3.2b).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BucklingClass {
    /// Harder tempers.
    A,
    /// Softer ones, more bent by their curved stress line.
    B,
}

/// Strengths up to a thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Range {
    to_mm: f64,
    strength: Strength,
}

/// Characteristic strengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strength {
    /// Yield strength f_y (steel) or 0.2 % proof strength f_o (aluminium).
    pub yield_n_mm2: f64,
    /// Tensile strength f_u.
    pub tensile_n_mm2: f64,
}

impl MetalClass {
    /// Strengths at a thickness of wall or bar. `None`: thicker than the table goes.
    pub fn strength(&self, thickness_mm: f64) -> Option<Strength> {
        self.ranges.iter().find(|range| thickness_mm <= range.to_mm).map(|range| range.strength)
    }

    /// The least strengths of any thickness in the table, for a profile whose walls are not known.
    pub fn least_strength(&self) -> Option<Strength> {
        let weakest = self.ranges.iter().min_by(|a, b| a.strength.yield_n_mm2.total_cmp(&b.strength.yield_n_mm2));
        weakest.map(|range| range.strength)
    }
}

const fn up_to(to_mm: f64, yield_n_mm2: f64, tensile_n_mm2: f64) -> Range {
    Range { to_mm, strength: Strength { yield_n_mm2, tensile_n_mm2 } }
}

const fn steel(name: &'static str, ranges: &'static [Range]) -> MetalClass {
    MetalClass { name, kind: MetalKind::Steel, ranges, e: 210_000.0, g: 81_000.0, rho: 7850.0, basis: Basis::Memory }
}

const fn aluminium(name: &'static str, class: BucklingClass, ranges: &'static [Range], basis: Basis) -> MetalClass {
    MetalClass { name, kind: MetalKind::Aluminium(class), ranges, e: 70_000.0, g: 27_000.0, rho: 2700.0, basis }
}

const TABLE_3_2B: Basis = Basis::Read("EN 1999-1-1:2007 table 3.2b (extruded, unwelded)");

use BucklingClass::{A, B};

static CLASSES: [MetalClass; 12] = [
    steel("S235", &[up_to(40.0, 235.0, 360.0)]),
    steel("S275", &[up_to(40.0, 275.0, 430.0)]),
    steel("S355", &[up_to(40.0, 355.0, 510.0)]),
    aluminium("6060-T5", B, &[up_to(5.0, 120.0, 160.0), up_to(25.0, 100.0, 140.0)], TABLE_3_2B),
    aluminium("6060-T6", A, &[up_to(15.0, 140.0, 170.0)], TABLE_3_2B),
    aluminium("6060-T66", A, &[up_to(3.0, 160.0, 215.0), up_to(25.0, 150.0, 195.0)], TABLE_3_2B),
    aluminium("6061-T6", A, &[up_to(20.0, 240.0, 260.0)], TABLE_3_2B),
    aluminium("6063-T5", B, &[up_to(3.0, 130.0, 175.0), up_to(25.0, 110.0, 160.0)], TABLE_3_2B),
    aluminium("6063-T6", A, &[up_to(25.0, 160.0, 195.0)], TABLE_3_2B),
    aluminium("6063-T66", A, &[up_to(10.0, 200.0, 245.0), up_to(25.0, 180.0, 225.0)], TABLE_3_2B),
    // Of the rows for open and for hollow profiles the lower, hollow one.
    aluminium("6005A-T6", A, &[up_to(5.0, 215.0, 255.0), up_to(10.0, 200.0, 250.0)], TABLE_3_2B),
    // The code allows 260/310 over 5 mm in profiles; bars have 250/295 up to 20 mm.
    aluminium("6082-T6", A, &[up_to(20.0, 250.0, 290.0)], Basis::Memory),
];

/// The class of that name, upper or lower case.
pub fn metal(name: &str) -> Option<&'static MetalClass> {
    CLASSES.iter().find(|class| class.name.eq_ignore_ascii_case(name))
}

/// All classes.
pub fn classes() -> &'static [MetalClass] {
    &CLASSES
}
