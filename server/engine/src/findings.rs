//! What the engine says of a design: plain data with evidence, no words. Sentences are codes with parameters;
//! they become words at the edge, so that another language needs no recomputation.
//!
//! The serde form of [`Findings`] is the documented shape of `batten check --json`, version [`SHAPE`].

mod about;
mod results;

use crate::design::Vector;
use serde::{Deserialize, Serialize};

pub use results::{Extreme, MemberResults, PlaceResults, PointForces, Results, StateResults};

/// Version of the serde form of [`Findings`]; raised when a field goes or changes its meaning.
pub const SHAPE: u32 = 1;

/// Everything the engine found about one design, worst first.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Findings {
    /// [`SHAPE`] of this text.
    pub shape: u32,
    /// Human version of the engine, e.g. `0.1.0`.
    pub engine_version: String,
    /// Hash of the engine's sources and tables at build.
    pub engine_fingerprint: String,
    /// The worst of all checks and faults.
    pub verdict: Verdict,
    /// What keeps a part or the whole from being computed (a mechanism, a part held by nothing).
    pub faults: Vec<Fault>,
    /// All checks, worst first (by utilisation, then tag, then kind).
    pub checks: Vec<Check>,
    /// What was not checked, member by member.
    pub not_checked: Vec<NotChecked>,
    /// Masses, centre of mass, axle loads, payload left.
    pub weight: WeightTable,
    /// Every default and assumption behind these findings, the most important first.
    pub assumptions: Vec<Assumption>,
    /// How the deck's load spreads over its bearing points, by equal shares and by computation.
    pub shares: Vec<Share>,
    /// The combinations that were analysed, with their evidence.
    pub combinations: Vec<Combination>,
    /// Size and condition of the equations.
    pub equations: Equations,
    /// Sway, buckling and vibration of the frame as a whole.
    #[serde(default)]
    pub stability: Stability,
    /// Anchors that must hold the frame down, each in its worst combination, the greatest force first.
    #[serde(default)]
    pub hold_downs: Vec<HoldDown>,
    /// Clear height over each deck where people lie or sit, where the vehicle's inside is known or a deck is above it.
    #[serde(default)]
    pub headroom: Vec<Headroom>,
    /// Displacements, reactions, end forces, extremes; only when asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub results: Option<Results>,
}

/// The answer to "does it hold?", ordered from good to bad.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Utilisation at most 0.90.
    Holds,
    /// Over 0.90, at most 1.00.
    Near,
    /// Not checked, or can't be computed.
    NotChecked,
    /// Over 1.00.
    FallsShort,
}

impl Verdict {
    /// The verdict of a utilisation, rounded to 1e-6 first so that machines never disagree in words.
    pub fn of(utilisation: f64) -> Self {
        let rounded = (utilisation * 1e6).round() / 1e6;
        match rounded {
            u if u.is_nan() => Self::NotChecked,
            u if u > 1.0 => Self::FallsShort,
            u if u > 0.9 => Self::Near,
            _ => Self::Holds,
        }
    }
}

/// One thing asked of a member or deck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckKind {
    /// Tension along the grain, alone or with bending (6.1, 6.17, 6.18).
    TensionBending,
    /// Compression along the grain with bending, no buckling (6.2, 6.19, 6.20).
    CompressionBending,
    /// Bending about both axes without axial force (6.11, 6.12).
    Bending,
    /// Shear (6.13).
    Shear,
    /// Column buckling with bending (6.23, 6.24).
    Column,
    /// Sag at once under characteristic loads, to the span's limit.
    SagInstant,
    /// Sag in the end, with creep (2.3 to 2.5), to the span's limit.
    SagFinal,
    /// Sag against a limit in mm that the builder stated.
    SagStated,
    /// Bending of the deck between its members.
    DeckBending,
    /// Shear of the deck at its members.
    DeckShear,
    /// Sag of the deck between its members.
    DeckSag,
    /// Torsion, alone (6.14) and with shear (P).
    Torsion,
    /// Lateral buckling of a deep beam (6.33, 6.35).
    LateralBuckling,
    /// Bearing across the grain at a joint or anchor (6.3).
    Bearing,
    /// Shear at a notch (6.60).
    Notch,
    /// Bending, tension and shear of what a hole leaves (5.2, net section).
    Hole,
    /// Sideways drift of the frame under notional loads and lean (P: height/150).
    Sway,
    /// Buckling factor of the frame as a whole (P: at least 3).
    FrameBuckling,
    /// Lowest frequency of the frame with all masses aboard (P: at least 3 Hz).
    Frequency,
}

/// One check with its governing place, combination and forces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// Member or deck.
    pub tag: String,
    /// Its kind (rail, bearer ...), for the sentence.
    pub member_kind: String,
    /// What was asked.
    pub kind: CheckKind,
    /// Clause of the rules, e.g. `EN 1995-1-1 6.3.2 (6.23)`.
    pub clause: String,
    /// Place along the member from its start, mm.
    pub at_mm: f64,
    /// The same place in the vehicle, mm.
    pub point_mm: Vector,
    /// Name of the governing combination.
    pub combination: String,
    /// Forces acting there together.
    pub forces: SectionForces,
    /// Demand, in `unit`.
    pub demand: f64,
    /// Resistance, in `unit`.
    pub resistance: f64,
    /// `N/mm2`, `mm` or `1` (an interaction sum).
    pub unit: String,
    /// Demand over resistance.
    pub utilisation: f64,
    /// The verdict of that utilisation.
    pub verdict: Verdict,
    /// Factors that went in, by their names in the standard (k_mod, k_h, k_cr, gamma_M, k_c,y, l_ef ...), in order.
    pub factors: Vec<Factor>,
    /// The smallest stock item found that makes every check of this member hold, proved by a full run.
    pub mend: Option<Mend>,
}

/// A named number of the standard.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Factor {
    /// Name in the standard, e.g. `k_mod`.
    pub name: String,
    /// Value.
    pub value: f64,
}

/// Stress resultants on the face whose outward normal is local +x. Tension positive.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SectionForces {
    /// Axial force, tension positive.
    pub n_n: f64,
    /// Shear along local y.
    pub vy_n: f64,
    /// Shear along local z.
    pub vz_n: f64,
    /// Torsion about local x.
    pub t_n_mm: f64,
    /// Moment about local y (bends in x-z; negative sags when z is up).
    pub my_n_mm: f64,
    /// Moment about local z (bends in x-y).
    pub mz_n_mm: f64,
}

/// What would mend a check that falls short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mend {
    /// Tags of the members to change (a pattern is changed together).
    pub members: Vec<String>,
    /// Stock they have now.
    pub from_stock: String,
    /// Stock they would need.
    pub to_stock: String,
    /// Worst utilisation of those members afterwards.
    pub utilisation: f64,
    /// Kilograms more (or less).
    pub mass_change_kg: f64,
    /// Worst utilisation of the whole afterwards, and its tag: where the trouble moved, if it did.
    pub next_worst: f64,
    /// Tag of the next worst.
    pub next_worst_tag: String,
}

/// What keeps a part or the whole from being computed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "code")]
pub enum Fault {
    /// Something can move without resistance.
    Mechanism {
        /// Tags of the members that move.
        members: Vec<String>,
        /// How they move.
        motion: Motion,
        /// Unit vector of the motion (slide) or of its axis (turn), vehicle axes.
        direction: Vector,
    },
    /// Something can nearly move: it shakes slower than 1 Hz with all masses aboard, or buckles under the loads (P).
    NearMechanism {
        /// Tags of the members that move most.
        members: Vec<String>,
        /// How they move.
        motion: Motion,
        /// Unit vector of the motion (slide, fold) or of its axis (turn), vehicle axes.
        direction: Vector,
        /// Lowest frequency, Hz, where that is what is too low.
        frequency_hz: Option<f64>,
        /// Buckling factor, where that is what is too low.
        buckling_factor: Option<f64>,
        /// Combination of that factor; empty for a frequency.
        combination: String,
    },
    /// These members hang together with nothing that is held by the vehicle.
    Disconnected {
        /// Tags of the members.
        members: Vec<String>,
    },
    /// A joint's members do not touch.
    Gap {
        /// Carrying member.
        on: String,
        /// Carried member.
        member: String,
        /// Clear distance between them, mm.
        gap_mm: f64,
    },
    /// Settlements that no rigid frame can follow at once.
    Contradiction {
        /// The anchor whose settlement contradicts the others.
        anchor: String,
    },
    /// Stiffnesses too far apart to compute with.
    IllConditioned {
        /// Tag of the stiffest.
        stiffest: String,
        /// Tag of the softest.
        softest: String,
        /// Estimate of the scaled condition.
        condition: f64,
    },
}

/// Sway, buckling and vibration of the frame as a whole.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stability {
    /// Lowest frequency with all masses aboard, Hz; `None`: no mass, or not computed.
    pub frequency_hz: Option<f64>,
    /// Sideways stiffness of the frame in x and y: notional load over the drift at the highest place, N/mm; `None`: not
    /// computed.
    pub sway_stiffness_n_mm: Option<[f64; 2]>,
    /// One line a strength combination, in their order.
    pub lines: Vec<StabilityLine>,
}

/// Stability of the frame in one strength combination.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StabilityLine {
    /// Its name.
    pub combination: String,
    /// Factor on all loads at which the frame buckles (E_0,05, G_0,05, K_u); `None`: over 20, or nothing is pressed.
    pub buckling_factor: Option<f64>,
    /// True where the frame leans over as it buckles, false where members bow between places that stay.
    pub sways: bool,
    /// True where forces were taken from a second-order analysis (5.4.4), so that k_c is 1 in the planes it covers.
    pub second_order: bool,
    /// Tags of the members that take most part in the mode, the most important first.
    pub members: Vec<String>,
}

/// An anchor that must hold the frame down.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HoldDown {
    /// Its tag.
    pub anchor: String,
    /// The worst combination (EN 1990 table A1.2(A), EQU).
    pub combination: String,
    /// Force with which it must hold the frame down, N.
    pub force_n: f64,
}

/// Clear height over a deck.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Headroom {
    /// Deck.
    pub deck: String,
    /// Deck above it that is its ceiling; `None`: the vehicle's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under: Option<String>,
    /// Clear height from the top of the mattress as it is lain on to the ceiling, mm; zero or less: nobody gets in.
    pub clear_mm: f64,
    /// How thick the mattress was taken, pressed together, mm.
    pub mattress_mm: f64,
    /// What that height is enough for.
    pub enough_for: Room,
    /// How much higher the ceiling (or lower the deck) would have to be for the next better use, mm; 0 for the best.
    pub next_mm: f64,
}

/// What a clear height over a mattress is enough for (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Room {
    /// Under 500 mm: less than one wants for lying.
    Cramped,
    /// From 500 mm: lying and turning over.
    Lying,
    /// From 720 mm: sitting bent, a compromise.
    Bent,
    /// From 900 mm: sitting up.
    Sitting,
}

/// How a mechanism moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Motion {
    /// Slides along the direction.
    Slide,
    /// Turns about the direction.
    Turn,
    /// Leans or folds: members of the part move differently.
    Fold,
}

/// What was not checked, and why.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NotChecked {
    /// Member, joint, anchor, deck, or `design`.
    pub tag: String,
    /// What was not checked.
    pub what: Unchecked,
}

/// Checks that a careful engineer would make and this engine does not make yet, or cannot make here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unchecked {
    /// Strength: the material is given by stiffness alone.
    StrengthUnknown,
    /// Metal section rules.
    Metal,
    /// Torsion, alone and with shear.
    Torsion,
    /// Lateral buckling of a deep beam.
    LateralBuckling,
    /// Bearing across the grain.
    Bearing,
    /// Notches and holes.
    Notches,
    /// Sway and the stability of the whole frame.
    Stability,
    /// Fixings of a joint.
    JointFixings,
    /// Fixing of an anchor into the body.
    AnchorFixings,
    /// What a load given in newtons pushes with on the road: its mass is not known.
    Travelling,
    /// Fit and clashes.
    Fit,
    /// Everything: a fault keeps it from being computed.
    NotComputed,
    /// How gear is fixed to what it lies on, for braking and bends.
    GearFixings,
    /// Shear, alone and with bending: a metal profile is given without its shear areas.
    Shear,
}

/// Masses and what they do to the vehicle.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WeightTable {
    /// Members, decks and fixed kit, without fixings.
    pub frame_kg: f64,
    /// Allowance for fixings and finish (common practice, no source: 6 % of the timber).
    pub fixings_kg: f64,
    /// Mattresses and bedding.
    pub bedding_kg: f64,
    /// Gear, wherever it lies.
    pub stowage_kg: f64,
    /// Sum of the above.
    pub total_kg: f64,
    /// Centre of mass of the sum, vehicle axes, mm.
    pub centre_mm: Vector,
    /// Mass by stock.
    pub by_stock: Vec<MassLine>,
    /// Mass by kind of member.
    pub by_kind: Vec<MassLine>,
    /// Axle loads in each load state; empty where the vehicle's figures are missing.
    pub axles: Vec<AxleLine>,
    /// What of the vehicle's figures is missing, as field names.
    pub missing: Vec<String>,
    /// Least payload a motor caravan must have left for luggage, on top of the passengers (Regulation (EU) 1230/2012
    /// annex I part A 2.6.4.1.2); `None`: the vehicle's length is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_payload_kg: Option<f64>,
}

/// A named mass.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MassLine {
    /// Stock or kind.
    pub name: String,
    /// Mass.
    pub mass_kg: f64,
}

/// What is aboard when axles are reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LoadState {
    /// As weighed, plus this frame with its bedding.
    Empty,
    /// With gear and passengers.
    Touring,
}

/// Axle loads in one load state.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AxleLine {
    /// What is aboard.
    pub state: LoadState,
    /// On the front axle.
    pub front_kg: f64,
    /// On the rear axle.
    pub rear_kg: f64,
    /// Of the frame, bedding and gear alone: to the right of the centre line minus to the left, as wheel loads.
    pub right_minus_left_kg: Option<f64>,
    /// Left to the front axle's limit.
    pub front_left_kg: Option<f64>,
    /// Left to the rear axle's limit.
    pub rear_left_kg: Option<f64>,
    /// Left to the permissible mass: the payload left.
    pub payload_left_kg: Option<f64>,
}

/// A default or assumption that went in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Assumption {
    /// What was assumed.
    pub code: AssumptionCode,
    /// Tags or names it is about.
    pub about: Vec<String>,
    /// Its number, where it has one.
    pub value: Option<f64>,
}

/// Kinds of assumption, the most important first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AssumptionCode {
    /// Still to be measured or chosen, one entry each; about: the tag or name it is on (empty: the whole), then what.
    ToBeMeasured,
    /// Grade of a stock is assumed; about: stock names and class.
    GradeAssumed,
    /// Mass of a person, kg.
    PersonMass,
    /// Joints idealised: seated, pinned or rigid without reckoning their fixings; about: joint tags.
    JointsIdeal,
    /// Anchors taken as unyielding; about: anchor tags.
    AnchorsIdeal,
    /// Service class.
    ServiceClass,
    /// Small or re-sawn piece: grade of the whole board taken for it; about: stock names.
    SmallPiece,
    /// People only where the design puts them.
    PeopleGiven,
    /// Kneeling, sitting and climbing taken as short term (the code puts imposed loads in medium).
    ShortTerm,
    /// Column length is the whole member, pinned; about: tags.
    ColumnPinned,
    /// Column length as stated by the builder; about: tags.
    ColumnHeld,
    /// Deck carries one way, each slat alone, a sheet on the strip that its stiffness as a plate gives.
    DeckOneWay,
    /// Fixings and finish, share of the timber's mass.
    FixingsShare,
    /// A partial factor differs from the recommended one; about: its name.
    FactorChanged,
    /// Spin of a member about its own length that no load drives was set aside; about: tags.
    SpinSetAside,
    /// A value of a table is from memory of the standard; about: its name.
    FromMemory,
    /// Column lengths from the frame's own buckling; about: tags.
    ColumnByFrame,
    /// Too little compression to buckle (under 1 % of the pinned Euler load, P); about: tags.
    NotColumnCritical,
    /// Forces by second order with lean 0.005 and bow 0.0025 l (5.4.4); about: names of combinations.
    SecondOrder,
    /// Held against lateral buckling only where joints or anchors hold the roll; about: tags.
    LateralHolds,
    /// Contact lengths of bearing taken from the sizes of the members that cross; about: joint and anchor tags.
    ContactLength,
    /// Joints whose parts creep differently, or materials that do: worst of begin and end (2.3.2.2); about: stock.
    MixedCreep,
    /// Accelerations on the road in g: forward, rearward, sideways, down, up (P); value: forward.
    TravelAcceleration,
    /// A sheet is no diaphragm, slats never; about: deck tags.
    NoDiaphragm,
    /// Load sharing comes from the model: k_sys = 1.
    SharingFactor,
    /// Thickness of a mattress taken for the headroom, mm; about: deck tags.
    MattressThickness,
    /// Small or re-sawn piece taken as the lowest class C14 (P); about: stock names.
    UngradedPiece,
    /// Metal judged elastically, tubes and bars of steel as cold formed, loads on the edge that makes a deep one tip (P);
    /// no welds, no fatigue; about: stock names.
    MetalElastic,
    /// Aluminium without welds, so without zones that heat has softened; about: stock names.
    MetalUnwelded,
    /// Metal profile given by its figures: walls taken to be thick enough, shape alike on both sides; about: stock names.
    MetalProfile,
}

/// Load of one bearing point (anchor) by equal shares and by computation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// Anchor.
    pub anchor: String,
    /// Downward load by equal shares of the whole, kg.
    pub equal_kg: f64,
    /// Downward load by computation in the same load case, kg.
    pub computed_kg: f64,
    /// Name of the combination (characteristic) the computed figure belongs to.
    pub combination: String,
}

/// What a combination is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitState {
    /// Strength (EN 1990 6.10).
    Strength,
    /// Sag at once (characteristic, EN 1990 6.14b).
    SagInstant,
    /// Sag in the end (EN 1995-1-1 2.2.3).
    SagFinal,
}

/// A combination with its evidence.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Combination {
    /// Its name, e.g. `kneeling at the edge, with gear`.
    pub name: String,
    /// What it is for.
    pub limit_state: LimitState,
    /// Load cases with their factors, in order.
    pub terms: Vec<Factor>,
    /// Modification factor of its shortest action for solid timber in the service class (1 for sag).
    pub k_mod: f64,
    /// Sum of the loads in x, y, z, N.
    pub load_sum_n: Vector,
    /// Sum of the reactions in x, y, z, N.
    pub reaction_sum_n: Vector,
    /// Residual of the equations over the largest force.
    pub residual: f64,
}

/// Size and condition of the equations.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Equations {
    /// Unknowns after elimination.
    pub unknowns: u64,
    /// Non-zeros of the factor.
    pub factor_nonzeros: u64,
    /// Estimate of the scaled condition.
    pub condition: f64,
}
