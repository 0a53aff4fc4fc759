//! Steel and aluminium classes: stiffness and density for the statics. Their strength rules are not made yet.
//!
//! All values from memory of EN 1993-1-1 table 3.1 (t <= 40 mm) and EN 1999-1-1 table 3.2b; N/mm² and kg/m³.

/// One class of metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalClass {
    /// Name, e.g. `S235` or `6060-T66`.
    pub name: &'static str,
    /// Yield strength (steel) or 0.2 % proof strength f_o (aluminium, thinnest range).
    pub f_y: f64,
    /// Tensile strength.
    pub f_u: f64,
    /// Modulus of elasticity.
    pub e: f64,
    /// Shear modulus.
    pub g: f64,
    /// Density.
    pub rho: f64,
}

const fn steel(name: &'static str, f_y: f64, f_u: f64) -> MetalClass {
    MetalClass { name, f_y, f_u, e: 210_000.0, g: 81_000.0, rho: 7850.0 }
}

const fn aluminium(name: &'static str, f_y: f64, f_u: f64) -> MetalClass {
    MetalClass { name, f_y, f_u, e: 70_000.0, g: 27_000.0, rho: 2700.0 }
}

static CLASSES: [MetalClass; 10] = [
    steel("S235", 235.0, 360.0),
    steel("S275", 275.0, 430.0),
    steel("S355", 355.0, 510.0),
    aluminium("6060-T5", 120.0, 160.0),
    aluminium("6060-T6", 140.0, 170.0),
    aluminium("6060-T66", 150.0, 195.0),
    aluminium("6063-T5", 130.0, 175.0),
    aluminium("6063-T6", 160.0, 195.0),
    aluminium("6063-T66", 200.0, 245.0),
    aluminium("6082-T6", 250.0, 290.0),
];

/// The class of that name, upper or lower case.
pub fn metal(name: &str) -> Option<&'static MetalClass> {
    CLASSES.iter().find(|class| class.name.eq_ignore_ascii_case(name))
}

/// All classes.
pub fn classes() -> &'static [MetalClass] {
    &CLASSES
}
