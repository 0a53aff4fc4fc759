//! Factors of EN 1995-1-1 for duration, moisture, creep and material, recommended values.

use super::Basis;
use super::timber::Family;

/// How long a load stays (EN 1995-1-1 table 2.1), from long to short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Duration {
    /// Over ten years: own weight.
    Permanent,
    /// Six months to ten years: storage.
    Long,
    /// A week to six months: imposed floor load.
    Medium,
    /// Under a week.
    Short,
    /// Accidents.
    Instantaneous,
}

/// What a factor is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Product {
    /// Solid timber.
    Solid,
    /// Glued laminated timber.
    Glulam,
    /// Laminated veneer lumber.
    Lvl,
    /// Plywood, of the EN 636 type that fits the service class.
    Plywood,
}

impl From<Family> for Product {
    fn from(family: Family) -> Self {
        match family {
            Family::Softwood | Family::Hardwood => Self::Solid,
            Family::Glulam => Self::Glulam,
            Family::Lvl => Self::Lvl,
        }
    }
}

/// Where the tables of this file come from, by name of the factor.
pub const BASES: [(&str, Basis); 3] = [
    ("k_mod", Basis::Read("ICE Manual of Structural Design: Buildings, table 19.9, after BS EN 1995-1-1")),
    ("k_def", Basis::Memory),
    ("gamma_M", Basis::Read("solid timber: Porteous and Kermani; LVL: LVL Handbook Europe 2025; others from memory")),
];

/// Modification factor for duration and moisture, table 3.1. The same for all four products. A service class other
/// than 1 to 3 is taken as 3.
pub fn k_mod(_product: Product, service_class: u8, duration: Duration) -> f64 {
    let row = match service_class {
        1 | 2 => [0.60, 0.70, 0.80, 0.90, 1.10],
        _ => [0.50, 0.55, 0.65, 0.70, 0.90],
    };
    match duration {
        Duration::Permanent => row[0],
        Duration::Long => row[1],
        Duration::Medium => row[2],
        Duration::Short => row[3],
        Duration::Instantaneous => row[4],
    }
}

/// Creep factor, table 3.2. A service class other than 1 to 3 is taken as 3.
pub fn k_def(product: Product, service_class: u8) -> f64 {
    match (product, service_class) {
        (Product::Plywood, 1) => 0.80,
        (Product::Plywood, 2) => 1.00,
        (Product::Plywood, _) => 2.50,
        (_, 1) => 0.60,
        (_, 2) => 0.80,
        (_, _) => 2.00,
    }
}

/// Partial factor of the material, table 2.3 (fundamental combinations).
pub fn gamma_m(product: Product) -> f64 {
    match product {
        Product::Solid => 1.3,
        Product::Glulam => 1.25,
        Product::Lvl | Product::Plywood => 1.2,
    }
}
