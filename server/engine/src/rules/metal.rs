//! Metal members: elastic section checks and buckling, EN 1993-1-1:2005 (steel) and EN 1999-1-1:2007 (aluminium).
//!
//! Recommended partial factors: steel gamma_M0 = gamma_M1 = 1.0, aluminium gamma_M1 = 1.1. Elastic over the whole section
//! (class 3), even where a code would let it yield; no welds, so no softened zone; no fatigue. Metal neither creeps nor
//! minds how long a load lasts. What a section needs and has not got is said as not checked, never passed over.

pub mod column;
pub mod lateral;
pub mod stress;
pub mod walls;

use crate::design::Section;
use crate::design::section::SectionProperties;
use crate::findings::CheckKind;
use crate::rules::strength::{Outcome, factor};
use crate::tables::metal::{MetalClass, MetalKind};
use column::{Curve, Slenderness};
use lateral::Lateral;
use stress::{Sizes, Stresses};

/// Which code judges a member.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standard {
    /// EN 1993-1-1.
    Steel,
    /// EN 1999-1-1.
    Aluminium,
}

/// Lengths that a member's buckling depends on, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lengths {
    /// Between holds against buckling in the depth direction (about y) and in the width direction (about z).
    pub held_mm: [f64; 2],
    /// Between places held against turning over; for lateral buckling.
    pub upright_mm: f64,
}

/// Everything about a metal member that its checks need and no load changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalResistance {
    /// The code.
    pub standard: Standard,
    /// f_y or f_o, N/mm².
    pub strength: f64,
    /// Partial factor of a section: gamma_M0 (steel), gamma_M1 (aluminium).
    pub gamma_section: f64,
    /// Partial factor of buckling, gamma_M1.
    pub gamma_buckling: f64,
    /// Area, mm².
    pub area_mm2: f64,
    /// Whether it is a tube.
    pub hollow: bool,
    /// Stresses by unit forces.
    pub stresses: Stresses,
    /// Buckling about y and about z.
    pub column: [Slenderness; 2],
    /// Lateral buckling; `None`: as stiff sideways as upright.
    pub lateral: Option<Lateral>,
    /// Second moments about y and about z, mm⁴: which axis is the stiffer.
    second_moments: [f64; 2],
    curve: Curve,
    e: f64,
}

impl MetalResistance {
    /// Resistance of a section of a class; `None` where it can't be judged: a modulus is not given, a wall is thicker
    /// than the class's table goes, or so thin that it may buckle by itself (class 4).
    pub fn new(section: &Section, figures: &SectionProperties, class: &MetalClass, lengths: &Lengths) -> Option<Self> {
        let strength = match thickness(section) {
            Some(thickness) => class.strength(thickness)?,
            None => class.least_strength()?,
        }
        .yield_n_mm2;
        if !walls::stout(section, class, strength) {
            return None;
        }
        let (standard, gamma_section, gamma_buckling) = match class.kind {
            MetalKind::Steel => (Standard::Steel, 1.0, 1.0),
            MetalKind::Aluminium(_) => (Standard::Aluminium, 1.1, 1.1),
        };
        let curve = Curve::of(class.kind);
        let second_moments = [figures.iy_mm4, figures.iz_mm4];
        let column = std::array::from_fn(|axis| {
            let radius = (second_moments[axis] / figures.area_mm2).sqrt();
            Slenderness::new(curve, class.e, strength, lengths.held_mm[axis], radius)
        });
        Some(Self {
            standard,
            strength,
            gamma_section,
            gamma_buckling,
            area_mm2: figures.area_mm2,
            hollow: matches!(section, Section::RectangularTube { .. } | Section::RoundTube { .. }),
            stresses: Stresses::new(section, figures)?,
            column,
            lateral: lateral::lateral(standard, figures, [class.e, class.g, strength], lengths.upright_mm),
            second_moments,
            curve,
            e: class.e,
        })
    }

    /// The same with the buckling lengths of one combination, about y and about z, mm; `None` leaves them.
    ///
    /// 0 says that a second-order analysis covers sway: the member then keeps its own length, held at both ends
    /// (EN 1993-1-1 5.2.2(7)b), since the bow of that analysis is timber's and not that of table 5.1.
    pub fn in_state(&self, buckling_mm: Option<[f64; 2]>) -> Self {
        let Some(lengths) = buckling_mm else { return *self };
        let column = std::array::from_fn(|axis| {
            let own = &self.column[axis];
            let length = if lengths[axis] > 0.0 { lengths[axis] } else { own.length_mm };
            Slenderness::new(self.curve, self.e, self.strength, length, own.radius_mm)
        });
        Self { column, ..*self }
    }

    /// Whether it resists bending about y at least as well as about z.
    pub fn stiffer_about_y(&self) -> bool {
        self.second_moments[0] >= self.second_moments[1]
    }

    /// Whether lateral buckling takes anything off.
    pub fn tips(&self) -> bool {
        self.lateral.is_some_and(|lateral| lateral.chi < 1.0)
    }

    pub(crate) fn strength_name(&self) -> &'static str {
        match self.standard {
            Standard::Steel => "f_y",
            Standard::Aluminium => "f_o",
        }
    }

    /// Design value of the yield strength for section checks, N/mm².
    pub fn section_limit(&self) -> f64 {
        self.strength / self.gamma_section
    }

    /// What forces of these sizes use of the section in one of its checks.
    pub fn section_utilisation(&self, asks: SectionCheck, sizes: &Sizes) -> f64 {
        match asks {
            SectionCheck::Stress => self.stresses.worst(sizes).equivalent() / self.section_limit(),
            SectionCheck::Shear => self.stresses.shear(sizes) * 3f64.sqrt() / self.section_limit(),
            SectionCheck::Torsion => {
                (self.stresses.torsion(sizes) + self.stresses.shear(sizes)) * 3f64.sqrt() / self.section_limit()
            }
        }
    }

    /// The same with its evidence.
    pub fn section_outcome(&self, asks: SectionCheck, sizes: &Sizes) -> Outcome {
        let limit = self.section_limit();
        let gamma = match self.standard {
            Standard::Steel => factor("gamma_M0", self.gamma_section),
            Standard::Aluminium => factor("gamma_M1", self.gamma_section),
        };
        let mut factors = vec![gamma, factor(self.strength_name(), self.strength)];
        let (demand, resistance) = match asks {
            SectionCheck::Stress => {
                let point = self.stresses.worst(sizes);
                factors.extend([factor("sigma_x", point.sigma), factor("tau", point.tau)]);
                (point.equivalent(), limit)
            }
            SectionCheck::Shear => (self.stresses.shear(sizes), limit / 3f64.sqrt()),
            SectionCheck::Torsion => {
                let twist = self.stresses.torsion(sizes);
                factors.push(factor("tau_T", twist));
                (twist + self.stresses.shear(sizes), limit / 3f64.sqrt())
            }
        };
        let clause = asks.clause(self.standard);
        Outcome { utilisation: demand / resistance, demand, resistance, unit: "N/mm2", clause, factors }
    }
}

/// What is asked of a section at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SectionCheck {
    /// Normal and shear stress together at the worst point.
    Stress,
    /// Shear forces alone.
    Shear,
    /// Torsion with shear forces.
    Torsion,
}

impl SectionCheck {
    /// Clauses: the yield criterion; elastic shear; torsion by St-Venant with shear. EN 1999-1-1 allows 1.2 times as much
    /// in its criterion (C of 6.2.1(5)), which is not used (P).
    fn clause(self, standard: Standard) -> &'static str {
        match (standard, self) {
            (Standard::Steel, Self::Stress) => "EN 1993-1-1 6.2.1 (6.1)",
            (Standard::Steel, Self::Shear) => "EN 1993-1-1 6.2.6 (6.19)",
            (Standard::Steel, Self::Torsion) => "EN 1993-1-1 6.2.7 (6.1)",
            (Standard::Aluminium, Self::Stress) => "EN 1999-1-1 6.2.1 (6.15)",
            (Standard::Aluminium, Self::Shear) => "EN 1999-1-1 6.2.6",
            (Standard::Aluminium, Self::Torsion) => "EN 1999-1-1 6.2.7",
        }
    }
}

/// Thickness that the strength depends on: a tube's wall, a bar's lesser side. `None`: a profile given by figures.
pub fn thickness(section: &Section) -> Option<f64> {
    match section {
        Section::Rectangle { width_mm, depth_mm } => Some(width_mm.min(*depth_mm)),
        Section::Round { diameter_mm } => Some(*diameter_mm),
        Section::RectangularTube { wall_mm, .. } | Section::RoundTube { wall_mm, .. } => Some(*wall_mm),
        Section::Given(_) => None,
    }
}

/// Kinds of check that a metal section answers at one place, by whether the axial force counts.
pub const SECTION_KINDS: [(CheckKind, SectionCheck); 5] = [
    (CheckKind::Bending, SectionCheck::Stress),
    (CheckKind::TensionBending, SectionCheck::Stress),
    (CheckKind::CompressionBending, SectionCheck::Stress),
    (CheckKind::Shear, SectionCheck::Shear),
    (CheckKind::Torsion, SectionCheck::Torsion),
];
