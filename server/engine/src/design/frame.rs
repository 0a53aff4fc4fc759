//! The validated frame: after this door, invalid states do not exist.

use super::boxes::{self, Block};
use super::resolve::Tags;
use super::section::SectionProperties;
use super::surface::FrameDeck;
use super::vector::{self, Triad};
use super::{Design, Grip, Vector, Violation, resolve, validate};
use crate::tables::panel::Panel;
use crate::tables::timber::TimberClass;

/// A gap up to this many mm between two members still counts as touching (P).
pub const GAP_LIMIT_MM: f64 = 2.0;

/// A design whose every number, tag and reference has been checked, with its joints placed.
#[derive(Clone, Debug)]
pub struct Frame {
    design: Design,
    tags: Tags,
    /// One for each of the design's members, in the same order.
    pub members: Vec<FrameMember>,
    /// Joints that touch, in the design's order.
    pub joints: Vec<FrameJoint>,
    /// Joints whose members do not touch: they hold nothing.
    pub gaps: Vec<JointGap>,
    /// Anchors, in the design's order.
    pub anchors: Vec<FrameAnchor>,
    /// Decks, in the design's order.
    pub decks: Vec<FrameDeck>,
}

/// What a member is made of, resolved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FrameMaterial {
    /// Timber of a strength class.
    Timber(&'static TimberClass),
    /// A metal of the tables, by its name.
    Metal(&'static str),
    /// A strip of sheet.
    Panel(&'static Panel),
    /// Given by stiffness alone.
    Given,
}

/// A member with its axes, section and material.
#[derive(Clone, Debug)]
pub struct FrameMember {
    /// Length of its axis, mm.
    pub length_mm: f64,
    /// Start of its axis, mm.
    pub from: Vector,
    /// Local axes.
    pub axes: Triad,
    /// Section figures.
    pub section: SectionProperties,
    /// Material.
    pub material: FrameMaterial,
    /// Mean modulus of elasticity along it, N/mm².
    pub e_n_mm2: f64,
    /// Mean shear modulus, N/mm².
    pub g_n_mm2: f64,
    /// Mean density, kg/m³.
    pub density_kg_m3: f64,
    /// Index of its stock.
    pub stock: usize,
}

impl FrameMember {
    /// The point of the axis at `at_mm` from the start, vehicle axes.
    pub fn point(&self, at_mm: f64) -> Vector {
        vector::add(self.from, vector::scale(self.axes[0], at_mm))
    }

    /// Mass, kg.
    pub fn mass_kg(&self) -> f64 {
        self.section.area_mm2 * self.length_mm * 1e-9 * self.density_kg_m3
    }

    /// The solid it fills; `None` when its outer sizes are not known.
    pub fn block(&self) -> Option<Block> {
        let half = [0.5 * self.length_mm, 0.5 * self.section.width_mm?, 0.5 * self.section.depth_mm?];
        Some(Block { middle: self.point(half[0]), axes: self.axes, half })
    }
}

/// A joint with its place on both members.
#[derive(Clone, Debug)]
pub struct FrameJoint {
    /// Index of the joint in the design.
    pub stated: usize,
    /// Its tag, `ON/MEMBER` unless it has its own.
    pub tag: String,
    /// Index of the carried member.
    pub member: usize,
    /// Index of the carrying member.
    pub on: usize,
    /// Place on the carried member, mm from its start.
    pub at_mm: f64,
    /// Place on the carrying member, mm from its start.
    pub on_at_mm: f64,
    /// What it holds along and about its axes.
    pub grips: [Grip; 6],
    /// Its axes.
    pub axes: Triad,
    /// True where its hold is one of the idealised ones and no fixing was reckoned.
    pub idealised: bool,
}

/// A joint whose members do not touch.
#[derive(Clone, Debug)]
pub struct JointGap {
    /// Index of the carried member.
    pub member: usize,
    /// Index of the carrying member.
    pub on: usize,
    /// Clear distance, mm.
    pub gap_mm: f64,
}

/// An anchor with its place.
#[derive(Clone, Debug)]
pub struct FrameAnchor {
    /// Its tag, `MEMBER/TO` unless it has its own.
    pub tag: String,
    /// Index of the member.
    pub member: usize,
    /// Place on the member, mm from its start.
    pub at_mm: f64,
    /// What it holds along and about its axes.
    pub grips: [Grip; 6],
    /// Its axes.
    pub axes: Triad,
    /// Forced movement along and about its axes, mm and radians.
    pub settlement: [f64; 6],
}

impl Frame {
    /// Checks a design, collects every fault, and places its joints.
    ///
    /// # Errors
    /// All violations, in the order of the design's fields.
    pub fn new(design: &Design) -> Result<Self, Vec<Violation>> {
        let mut violations = validate::design(design);
        if !violations.is_empty() {
            return Err(violations);
        }
        let members = resolve::members(design, &mut violations);
        if !violations.is_empty() {
            return Err(violations);
        }
        let tags = resolve::Tags::new(design);
        let (joints, gaps) = resolve::joints(design, &members, &tags, &mut violations);
        let anchors = resolve::anchors(design, &members, &tags, &mut violations);
        let decks = super::surface::decks(design, &members, &tags, &mut violations);
        validate::placed(design, &members, &decks, &tags, &mut violations);
        if violations.is_empty() {
            Ok(Self { design: design.clone(), tags, members, joints, gaps, anchors, decks })
        } else {
            Err(violations)
        }
    }

    /// Index of the member with a tag.
    pub fn member(&self, tag: &str) -> Option<usize> {
        self.tags.member(tag)
    }

    /// The design as stated.
    pub fn design(&self) -> &Design {
        &self.design
    }

    /// Predicted peak memory of a check, bytes; for admission before queueing. Measured on rows of platforms
    /// (`benches/rows.rs`): the fill of their factor grows with the number of places.
    pub fn predicted_bytes(&self) -> u64 {
        let places = 2 * (self.members.len() + self.joints.len()) as u64 + self.anchors.len() as u64;
        4_000_000 + places * 6_000
    }
}

/// Clear distance between two members, mm; zero or less where they touch, `None` where a size is not known.
pub fn gap_mm(a: &FrameMember, b: &FrameMember) -> Option<f64> {
    Some(boxes::separation(&a.block()?, &b.block()?))
}
