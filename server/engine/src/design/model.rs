//! A frame design as plain data: what the design file says, with repeated items written out.
//!
//! Units are in the field names (`_mm`, `_kg`, `_n`); axes are the vehicle's unless a field says otherwise.
//! Nothing here is checked: [`Frame::new`](super::Frame::new) does that, and names every fault by field path.

use super::ToBeMeasured;
use serde::{Deserialize, Serialize};

/// A point or direction in vehicle axes (x rearwards, y right, z up), in mm where it is a point.
pub type Vector = [f64; 3];

/// One frame for one vehicle.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Design {
    /// Short name within the build group: lower-case letters, digits and hyphens, at most 40.
    pub name: String,
    /// What it is, in the builder's words.
    pub title: String,
    /// The vehicle it is built into.
    pub vehicle: Vehicle,
    /// Sections and materials the builder can buy.
    pub stock: Vec<Stock>,
    /// Straight timbers and profiles, patterns written out (`B*`, count 7, gives B1 to B7).
    pub members: Vec<Member>,
    /// Where two members meet.
    pub joints: Vec<Joint>,
    /// Where a member is fixed to the vehicle.
    pub anchors: Vec<Anchor>,
    /// Surfaces that carry people or gear to members.
    pub decks: Vec<Deck>,
    /// Boxes of gear.
    pub stowage: Vec<Stowage>,
    /// People on decks. Each entry is one thing the sleepers do at a time: at most one entry is in a combination.
    pub people: Vec<People>,
    /// Loads given outright.
    pub loads: Vec<Load>,
    /// What the checks assume; every default used here stands in the assumptions list.
    pub settings: Settings,
    /// Dimensions and choices not yet known, in the builder's order; at most
    /// [`TO_BE_MEASURED_MAX`](super::TO_BE_MEASURED_MAX).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub to_be_measured: Vec<ToBeMeasured>,
}

/// The vehicle as surveyed and weighed. What is `None` is not known yet.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Vehicle {
    /// Name within the build group, e.g. `Curlew`.
    pub name: String,
    /// Number of the survey the measures come from.
    pub survey: u32,
    /// Distance between the axles; x = 0 at the front axle.
    pub wheelbase_mm: Option<f64>,
    /// Distance between the wheels of an axle.
    pub track_mm: Option<f64>,
    /// Permissible mass of the whole by the plate.
    pub gross_limit_kg: Option<f64>,
    /// Permissible mass on the front axle by the plate.
    pub front_limit_kg: Option<f64>,
    /// Permissible mass on the rear axle by the plate.
    pub rear_limit_kg: Option<f64>,
    /// Weighed on the front axle, driver and fuel aboard, without this frame and its gear.
    pub weighed_front_kg: Option<f64>,
    /// Weighed on the rear axle, likewise.
    pub weighed_rear_kg: Option<f64>,
    /// Overall length; for the least payload of a motor caravan.
    pub length_mm: Option<f64>,
    /// Seats used by passengers on the road, the driver's not among them.
    pub seats: Vec<Seat>,
    /// Clear opening inside: corner nearest the front left floor, and its opposite corner.
    pub inside: Option<Inside>,
}

/// A passenger's seat.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Seat {
    /// Place of the seating point, behind the front axle.
    pub x_mm: f64,
    /// Place of the seating point, to the right of the centre line.
    pub y_mm: f64,
    /// Mass of the passenger; 75 by the paperwork (Reg. (EU) 1230/2012).
    pub mass_kg: f64,
}

/// The box a frame must stay within.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Inside {
    /// Lower corner (least x, y, z).
    pub from: Vector,
    /// Upper corner (greatest x, y, z).
    pub to: Vector,
}

/// A section in a material, as bought.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    /// Its name in this design, e.g. `45x70`.
    pub name: String,
    /// Shape and sizes of the section.
    pub section: Section,
    /// What it is made of.
    pub material: Material,
    /// How the grade is known.
    pub grading: Grading,
    /// Lengths it is sold in.
    pub lengths_mm: Vec<f64>,
    /// Price of one metre, in the builder's money.
    pub price_per_m: Option<f64>,
    /// True for a piece sawn out of a graded board: the board's grade says nothing of it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub resawn: bool,
}

/// Shape of a section. Width is along the member's local y, depth along its local z.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Section {
    /// Solid rectangle.
    Rectangle {
        /// Size along local y.
        width_mm: f64,
        /// Size along local z.
        depth_mm: f64,
    },
    /// Solid round.
    Round {
        /// Diameter.
        diameter_mm: f64,
    },
    /// Rectangular hollow section: in steel with the round corners of EN 10219-2, else with sharp ones.
    RectangularTube {
        /// Outer size along local y.
        width_mm: f64,
        /// Outer size along local z.
        depth_mm: f64,
        /// Wall thickness.
        wall_mm: f64,
    },
    /// Round tube.
    RoundTube {
        /// Outer diameter.
        diameter_mm: f64,
        /// Wall thickness.
        wall_mm: f64,
    },
    /// A profile by its maker's or a table's figures.
    Given(GivenSection),
}

/// Section figures as given. `iy_mm4` resists bending in the local x-z plane (depth), `iz_mm4` in x-y.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct GivenSection {
    /// Area.
    pub area_mm2: f64,
    /// Second moment about local y (bending in the x-z plane).
    pub iy_mm4: f64,
    /// Second moment about local z (bending in the x-y plane).
    pub iz_mm4: f64,
    /// St-Venant torsion constant.
    pub j_mm4: f64,
    /// Shear area for forces along local y; `None`: no shear deflection is computed in that direction.
    pub shear_area_y_mm2: Option<f64>,
    /// Shear area for forces along local z; `None`: no shear deflection is computed in that direction.
    pub shear_area_z_mm2: Option<f64>,
    /// Elastic modulus about local y; `None`: bending stress is not checked.
    pub wy_mm3: Option<f64>,
    /// Elastic modulus about local z; `None`: bending stress is not checked.
    pub wz_mm3: Option<f64>,
    /// Outer size along local y, for gaps and fit; `None`: not checked.
    pub width_mm: Option<f64>,
    /// Outer size along local z, for gaps and fit; `None`: not checked.
    pub depth_mm: Option<f64>,
}

/// A material by strength class, or by its stiffness alone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// A strength class of EN 338 (`C16`), EN 14080 (`GL24h`) or a panel of the tables (`birch plywood`).
    Class(String),
    /// Stiffness and density given; strength is then not checked.
    Given {
        /// Modulus of elasticity along the member.
        e_n_mm2: f64,
        /// Shear modulus.
        g_n_mm2: f64,
        /// Density.
        density_kg_m3: f64,
    },
}

/// How a grade is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Grading {
    /// Stamped on the timber.
    Stamped,
    /// Measured (density, stiffness, knots).
    Measured,
    /// Taken for granted; stands in the assumptions list.
    #[default]
    Assumed,
}

/// One straight timber or profile.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Member {
    /// What gets pencilled on it, e.g. `B3`: a letter, then letters, digits, `-`, `_` or `.`, at most 24.
    pub tag: String,
    /// rail, bearer, post, batten, slat, brace, noggin, edge, ledger or the builder's own word.
    pub kind: String,
    /// Name of its stock.
    pub stock: String,
    /// Start of its axis.
    pub from: Vector,
    /// End of its axis.
    pub to: Vector,
    /// Direction of the section's depth; `None`: up (z), or x for a vertical member.
    pub up: Option<Vector>,
    /// Turn of the section about local x after `up`, degrees, right-handed.
    pub roll_deg: f64,
    /// Length between holds against buckling in the depth direction; `None`: the whole member, pinned.
    pub held_depth_mm: Option<f64>,
    /// Length between holds against buckling in the width direction; `None`: the whole member, pinned.
    pub held_width_mm: Option<f64>,
    /// Most sag wanted, absolute, under characteristic loads.
    pub sag_limit_mm: Option<f64>,
    /// Pieces cut out of its faces.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notches: Vec<Notch>,
    /// Holes through it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<Hole>,
}

/// Most notches and holes of one member together.
pub const CUTS_MAX: usize = 64;

/// A piece cut out of a member's face, over its whole width.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Notch {
    /// Where it begins, from the member's start.
    pub from_mm: f64,
    /// Where it ends; the member's length or more: it runs out at the end.
    pub to_mm: f64,
    /// How deep it is.
    pub depth_mm: f64,
    /// The face it is cut into.
    pub face: Face,
    /// Run over rise of its sloping ends; 0 for a square cut (EN 1995-1-1 6.5.2, i).
    pub slope: f64,
}

/// A long face of a member, by its local axes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// At -z: the lower face of a level member.
    #[default]
    Lower,
    /// At +z: the upper face of a level member.
    Upper,
    /// At -y.
    Left,
    /// At +y.
    Right,
}

/// A round hole through a member.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Hole {
    /// Place of its middle from the member's start.
    pub at_mm: f64,
    /// Its diameter.
    pub diameter_mm: f64,
    /// True: it runs along local z (down through the depth); false: along local y (through the width).
    pub through_depth: bool,
    /// Distance of its middle from the member's axis, along y (through the depth) or z (through the width).
    pub off_mm: f64,
}

/// What a joint or anchor does in one direction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Grip {
    /// Nothing holds it.
    #[default]
    Free,
    /// Held without give.
    Rigid,
    /// Held by a spring: N/mm for a direction, N·mm/rad for a turn.
    Spring(f64),
}

/// What a joint or anchor holds, in the order x, y, z, turn about x, about y, about z.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hold {
    /// All six.
    Rigid,
    /// The three directions, no turn.
    Pinned,
    /// The three directions and the carried member's roll about its own length: a timber screwed flat on another.
    #[default]
    Seated,
    /// Each of the six stated, in the axes named beside it.
    Given([Grip; 6]),
}

/// The axes a stated [`Hold::Given`] or a load is measured in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Axes {
    /// x rearwards, y right, z up.
    #[default]
    Vehicle,
    /// The local axes of the member (of a joint: the carried one).
    Member,
}

/// Where a member meets the one that carries it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Joint {
    /// Its own tag where two members meet twice; `None`: `ON/MEMBER`, e.g. `RL/B3`.
    pub tag: Option<String>,
    /// The carried member.
    pub member: String,
    /// The member that carries it (in a stiff corner: either).
    pub on: String,
    /// Place along the carried member from its start; `None`: where the axes come nearest.
    pub at_mm: Option<f64>,
    /// Place along the carrying member from its start; `None`: nearest to the place on the carried one.
    pub on_at_mm: Option<f64>,
    /// What it holds; the hinge of a free turn lies on the carried member's axis.
    pub hold: Hold,
    /// Axes of a given hold.
    pub axes: Axes,
    /// Length of the touching faces along the carried member, then along the carrying one; `None`: their sizes where
    /// they cross.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact_mm: Option<[f64; 2]>,
}

/// Where a member is fixed to the vehicle.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Anchor {
    /// Its own tag; `None`: `MEMBER/TO`, e.g. `P1/floor`.
    pub tag: Option<String>,
    /// The member.
    pub member: String,
    /// Place along the member from its start.
    pub at_mm: f64,
    /// What it is fixed to: floor, rib, wheel arch, cupboard ...
    pub to: String,
    /// What it holds.
    pub hold: Hold,
    /// Axes of a given hold and of the settlement.
    pub axes: Axes,
    /// Movement forced on it: x, y, z in mm, turns in radians; must be zero in directions that are not held.
    pub settlement: [f64; 6],
    /// Length along the member on which it lies; `None`: not known, bearing there is not checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact_mm: Option<f64>,
}

/// A surface that carries loads one way to the members under it. Level; its bearers are level and parallel.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Deck {
    /// Its tag, e.g. `D1`.
    pub tag: String,
    /// What it is made of.
    pub surface: DeckSurface,
    /// Tags of the members it lies on.
    pub carried_by: Vec<String>,
    /// Corner with the least x and y; `None`: from the members under it.
    pub from_mm: Option<[f64; 2]>,
    /// Opposite corner.
    pub to_mm: Option<[f64; 2]>,
    /// Mass of mattress and bedding spread over it.
    pub bedding_kg: f64,
    /// Thickness of the mattress as bought.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mattress_mm: Option<f64>,
    /// True where it is screwed to every member under it, so that it holds them upright.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub screwed: bool,
}

/// What a deck is made of.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DeckSurface {
    /// Slats across the members, each laid flat (its stock's width along the members).
    Slats {
        /// Name of the slats' stock.
        stock: String,
        /// Clear gap between slats.
        gap_mm: f64,
    },
    /// A sheet of panel material.
    Sheet {
        /// Panel of the tables, e.g. `birch plywood`.
        material: String,
        /// Nominal thickness.
        thickness_mm: f64,
        /// Face grain runs from member to member (true) or along them (false).
        grain_across: bool,
    },
}

impl DeckSurface {
    /// Name of the slats' stock, where it is of slats.
    pub fn slats(&self) -> Option<&str> {
        match self {
            Self::Slats { stock, .. } => Some(stock),
            Self::Sheet { .. } => None,
        }
    }
}

impl Default for DeckSurface {
    fn default() -> Self {
        Self::Sheet { material: "birch plywood".into(), thickness_mm: 12.0, grain_across: true }
    }
}

/// A box of gear.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stowage {
    /// Its name, e.g. `dive bottles`.
    pub name: String,
    /// Its mass.
    pub mass_kg: f64,
    /// Middle of the box.
    pub at: Vector,
    /// Sizes of the box along x, y, z.
    pub size: Vector,
    /// Tag of the deck or member it lies on; `None`: the vehicle's floor, so it weighs but loads no member.
    pub on: Option<String>,
}

/// What a person does on a deck.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Posture {
    /// 1.80 x 0.45 m: head 8 % on 0.20 m, trunk 50 % on 0.60 m, legs 42 % on 1.00 m (P).
    #[default]
    Lying,
    /// 300 x 200 mm, its longer side along the free edge (P).
    Sitting,
    /// One knee, 80 x 80 mm (P).
    Kneeling,
}

/// People on a deck, doing one thing at a time.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct People {
    /// Name of this entry, e.g. `both asleep`.
    pub name: String,
    /// What they do.
    pub posture: Posture,
    /// Tag of the deck.
    pub deck: String,
    /// Middle of each person's patch (x, y); a patch that would reach past the deck is moved in.
    pub at_mm: Vec<[f64; 2]>,
    /// Which way a lying person's head points; the body lies along this axis.
    pub heads: Heading,
    /// Mass of one person; `None`: the settings'.
    pub mass_kg: Option<f64>,
}

/// A level direction.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Heading {
    /// -x.
    #[default]
    Front,
    /// +x.
    Rear,
    /// -y.
    Left,
    /// +y.
    Right,
}

/// A load given outright. Loads with the same case are present together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Load {
    /// Name of its load case.
    pub case: String,
    /// What kind of action the case is; one kind a case.
    pub action: Action,
    /// Where and how much.
    pub what: LoadKind,
}

/// Kinds of action; factors and durations in `rules::combine` (EN 1990, EN 1995-1-1 table 2.1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// Timber, deck, mattress, fixed kit.
    Permanent,
    /// Gear put away.
    Stowage,
    /// People lying.
    Lying,
    /// People sitting, kneeling, climbing.
    Moving,
}

/// Where a given load acts. Forces in N, moments in N·mm, lines in N/mm, mass in kg.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LoadKind {
    /// A force and a moment at one place of a member's axis.
    Point {
        /// Tag of the member.
        member: String,
        /// Place from its start.
        at_mm: f64,
        /// Force.
        force_n: Vector,
        /// Moment.
        moment_n_mm: Vector,
        /// Axes of both.
        axes: Axes,
    },
    /// A line load between two places, straight from one value to the other, per mm of the member.
    Line {
        /// Tag of the member.
        member: String,
        /// Place where it begins.
        from_mm: f64,
        /// Place where it ends.
        to_mm: f64,
        /// Value where it begins.
        start_n_mm: Vector,
        /// Value where it ends.
        end_n_mm: Vector,
        /// Axes of both.
        axes: Axes,
    },
    /// A mass fixed to a member (a pump, a tap): weighs, and loads the member.
    Mass {
        /// Tag of the member.
        member: String,
        /// Place from its start.
        at_mm: f64,
        /// Mass.
        mass_kg: f64,
    },
    /// An even pressure on a whole deck, downwards.
    Area {
        /// Tag of the deck.
        deck: String,
        /// Pressure.
        pressure_n_mm2: f64,
    },
}

/// What the checks assume. `None`: the project's default, which then stands in the assumptions list.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// Service class of EN 1995-1-1 2.3.1.3 (1, 2 or 3); default 2.
    pub service_class: Option<u8>,
    /// Mass of one person; default 100 (common practice, no source).
    pub person_kg: Option<f64>,
    /// Partial factor of permanent loads, unfavourable; default 1.35 (EN 1990 table A1.2(B)).
    pub gamma_permanent: Option<f64>,
    /// Partial factor of variable loads; default 1.5.
    pub gamma_variable: Option<f64>,
    /// Span over sag for final deflection of rails and bearers; default 250 (EN 1995-1-1 table 7.2).
    pub span_over_sag: Option<f64>,
    /// Accelerations on the road in g: forward (braking), rearward, sideways, down in all, up net of weight; default by
    /// the vehicle's permissible mass (P).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub road_g: Option<[f64; 5]>,
}
