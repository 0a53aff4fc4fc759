//! Materials and factors of the standards, as tables with their sources. Nothing here depends on a design.

pub mod factors;
pub mod metal;
pub mod panel;
pub mod timber;

/// Where a value of a table comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Read in the named source.
    Read(&'static str),
    /// From memory of the standard; to be checked against it.
    Memory,
    /// Follows from other values by a stated rule.
    Derived,
}

/// A material that a stock can be made of, by name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Entry {
    /// A strength class of timber.
    Timber(&'static timber::TimberClass),
    /// A class of metal.
    Metal(&'static metal::MetalClass),
    /// A sheet cut into strips; the strip's lesser side is the sheet's nominal thickness.
    Panel(&'static panel::Panel),
}

/// Stiffness and density of a member's material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stiffness {
    /// Modulus of elasticity along the member, mean.
    pub e_n_mm2: f64,
    /// Shear modulus, mean.
    pub g_n_mm2: f64,
    /// Density, mean.
    pub density_kg_m3: f64,
}

impl Entry {
    /// Mean stiffness and density. A sheet's is the least of its moduli, since nobody says how a strip is cut and laid
    /// (P); `None` where its table has none.
    pub fn stiffness(&self) -> Option<Stiffness> {
        match self {
            Self::Timber(class) => {
                Some(Stiffness { e_n_mm2: class.e_0_mean, g_n_mm2: class.g_mean, density_kg_m3: class.rho_mean })
            }
            Self::Metal(class) => Some(Stiffness { e_n_mm2: class.e, g_n_mm2: class.g, density_kg_m3: class.rho }),
            Self::Panel(panel) => panel.bending.zip(panel.weakest_modulus()).map(|(bending, e_n_mm2)| Stiffness {
                e_n_mm2,
                g_n_mm2: bending.g_v,
                density_kg_m3: panel.rho_mean,
            }),
        }
    }

    /// Mean density, kg/m³.
    pub fn density_kg_m3(&self) -> f64 {
        match self {
            Self::Timber(class) => class.rho_mean,
            Self::Metal(class) => class.rho,
            Self::Panel(panel) => panel.rho_mean,
        }
    }
}

/// The material of that name, upper or lower case. `least_side_mm` is the lesser outer side of the section; it only
/// matters for sheets, where it must be a thickness that is sold.
pub fn find(name: &str, least_side_mm: Option<f64>) -> Option<Entry> {
    timber::class(name)
        .map(Entry::Timber)
        .or_else(|| metal::metal(name).map(Entry::Metal))
        .or_else(|| panel::panel(name, least_side_mm?).map(Entry::Panel))
}

/// Whether any table knows the name, whatever the thickness.
pub fn knows(name: &str) -> bool {
    names().any(|known| known.eq_ignore_ascii_case(name))
}

/// Names of all materials, for suggestions.
pub fn names() -> impl Iterator<Item = &'static str> {
    let timber = timber::classes().iter().map(|class| class.name);
    let metal = metal::classes().iter().map(|class| class.name);
    timber.chain(metal).chain(panel::NAMES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_found() {
        for name in names() {
            assert!(knows(name), "{name}");
            let side = panel::thicknesses(name).next();
            assert!(find(name, side).is_some(), "{name}");
        }
        assert!(find("birch plywood", None).is_none());
    }
}
