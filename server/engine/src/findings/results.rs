//! Results in full precision: displacements, reactions, end forces and extremes of every case and combination.

use super::{LimitState, SectionForces};
use crate::design::Vector;
use serde::{Deserialize, Serialize};

/// Results in full precision.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Results {
    /// Per load case, then per combination.
    pub states: Vec<StateResults>,
}

/// Results of one load case or combination.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct StateResults {
    /// Name of the case or combination.
    pub name: String,
    /// True for a combination, false for a load case.
    pub combined: bool,
    /// What a combination is for: its name comes again in each limit state. `None` for a load case.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_state: Option<LimitState>,
    /// Per member: places (ends, joints, anchors), end forces, extremes.
    pub members: Vec<MemberResults>,
    /// Force and moment of the vehicle on the frame at each anchor, vehicle axes, N and N·mm.
    pub reactions: Vec<PointForces>,
    /// Force and moment of the carrying on the carried member at each joint, vehicle axes, N and N·mm.
    pub joints: Vec<PointForces>,
}

/// Results along one member.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MemberResults {
    /// Its tag.
    pub tag: String,
    /// Displacements and forces at its places, in order along it. At a place with a joint, anchor or point load the
    /// forces are those just after it; `forces_before` just before.
    pub places: Vec<PlaceResults>,
    /// Greatest and least of each stress resultant along it, with their places.
    pub extremes: Vec<Extreme>,
}

/// Results at one place of a member.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PlaceResults {
    /// Place from the start, mm.
    pub at_mm: f64,
    /// Displacement x, y, z (mm) and turn about x, y, z (radians), vehicle axes.
    pub displacement: [f64; 6],
    /// Forces just before the place.
    pub forces_before: SectionForces,
    /// Forces just after the place.
    pub forces_after: SectionForces,
}

/// A greatest or least value along a member.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Extreme {
    /// `n`, `vy`, `vz`, `t`, `my`, `mz`, `sag_y`, `sag_z` (to the chord, mm).
    pub quantity: String,
    /// Least value.
    pub least: f64,
    /// Its place, mm.
    pub least_at_mm: f64,
    /// Greatest value.
    pub greatest: f64,
    /// Its place, mm.
    pub greatest_at_mm: f64,
}

/// A force and moment at a named point.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PointForces {
    /// Anchor or joint tag.
    pub tag: String,
    /// Force, N.
    pub force_n: Vector,
    /// Moment, N·mm.
    pub moment_n_mm: Vector,
}
