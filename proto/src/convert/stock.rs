//! Stock: sections and materials.

use super::{
    onwire::{OnWire, chosen, required},
    path::Path,
};
use crate::v1::{self, material, section};
use battenboard_engine::design::{GivenSection, Grading, Material, Section, Stock, Violation};

impl OnWire for Stock {
    type Wire = v1::Stock;

    fn to_wire(&self) -> v1::Stock {
        let Self { name, section, material, grading, lengths_mm, price_per_m, resawn } = self;
        v1::Stock {
            name: name.clone(),
            section: Some(section.to_wire()),
            material: Some(material.to_wire()),
            grading: grading.to_wire(),
            lengths_mm: lengths_mm.clone(),
            price_per_m: *price_per_m,
            resawn: *resawn,
        }
    }

    fn from_wire(wire: v1::Stock, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Stock { name, section, material, grading, lengths_mm, price_per_m, resawn } = wire;
        let section = required(section, &at.field("section"), faults);
        let material = required(material, &at.field("material"), faults);
        let grading = Grading::from_wire(grading, &at.field("grading"), faults);
        Some(Self { name, section: section?, material: material?, grading: grading?, lengths_mm, price_per_m, resawn })
    }
}

impl OnWire for Section {
    type Wire = v1::Section;

    fn to_wire(&self) -> v1::Section {
        let shape = match *self {
            Self::Rectangle { width_mm, depth_mm } => {
                section::Shape::Rectangle(v1::RectangleSection { width_mm, depth_mm })
            }
            Self::Round { diameter_mm } => section::Shape::Round(v1::RoundSection { diameter_mm }),
            Self::RectangularTube { width_mm, depth_mm, wall_mm } => {
                section::Shape::RectangularTube(v1::RectangularTubeSection { width_mm, depth_mm, wall_mm })
            }
            Self::RoundTube { diameter_mm, wall_mm } => {
                section::Shape::RoundTube(v1::RoundTubeSection { diameter_mm, wall_mm })
            }
            Self::Given(ref given) => section::Shape::Given(given.to_wire()),
        };
        v1::Section { shape: Some(shape) }
    }

    fn from_wire(wire: v1::Section, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Section { shape } = wire;
        Some(match chosen(shape, at, faults)? {
            section::Shape::Rectangle(v1::RectangleSection { width_mm, depth_mm }) => {
                Self::Rectangle { width_mm, depth_mm }
            }
            section::Shape::Round(v1::RoundSection { diameter_mm }) => Self::Round { diameter_mm },
            section::Shape::RectangularTube(v1::RectangularTubeSection { width_mm, depth_mm, wall_mm }) => {
                Self::RectangularTube { width_mm, depth_mm, wall_mm }
            }
            section::Shape::RoundTube(v1::RoundTubeSection { diameter_mm, wall_mm }) => {
                Self::RoundTube { diameter_mm, wall_mm }
            }
            section::Shape::Given(given) => Self::Given(GivenSection::from_wire(given, &at.field("given"), faults)?),
        })
    }
}

impl OnWire for GivenSection {
    type Wire = v1::GivenSection;

    fn to_wire(&self) -> v1::GivenSection {
        let Self {
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
        } = *self;
        v1::GivenSection {
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

    fn from_wire(wire: v1::GivenSection, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::GivenSection {
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
        } = wire;
        Some(Self {
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
        })
    }
}

impl OnWire for Material {
    type Wire = v1::Material;

    fn to_wire(&self) -> v1::Material {
        let kind = match self {
            Self::Class(class) => material::Kind::Class(class.clone()),
            &Self::Given { e_n_mm2, g_n_mm2, density_kg_m3 } => {
                material::Kind::Given(v1::GivenMaterial { e_n_mm2, g_n_mm2, density_kg_m3 })
            }
        };
        v1::Material { kind: Some(kind) }
    }

    fn from_wire(wire: v1::Material, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Material { kind } = wire;
        Some(match chosen(kind, at, faults)? {
            material::Kind::Class(class) => Self::Class(class),
            material::Kind::Given(v1::GivenMaterial { e_n_mm2, g_n_mm2, density_kg_m3 }) => {
                Self::Given { e_n_mm2, g_n_mm2, density_kg_m3 }
            }
        })
    }
}
