//! Textbook frames as they stand in `tests/fixtures/frames/*.json`: nodes, members between nodes, supports, loads,
//! and the values a frame must give. Units are the book's own; they pass through as numbers.
//!
//! Local axes of a member: x from i to j, `up` in the local x-z plane on the side of +z (default Z, X for vertical
//! members), y = up cross x; Iy bends in x-z. Roll in degrees about x, right-handed.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A frame with its source and the values published for it.
#[derive(Debug, Deserialize)]
pub struct Book {
    pub id: String,
    pub title: String,
    pub source: Source,
    pub model: Model,
    /// As they stand: those of frames for a later part are of kinds that [`Wanted`] does not know.
    checks: Vec<serde_json::Value>,
}

impl Book {
    /// All frames of the fixtures, in the order of their names.
    pub fn all() -> Vec<Self> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/frames");
        let mut files: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        files.sort();
        let read = |file: &PathBuf| {
            let text = fs::read_to_string(file).unwrap();
            serde_json::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
        };
        files.iter().map(read).collect()
    }

    /// The number in its name.
    pub fn number(&self) -> u32 {
        self.id.trim_start_matches(char::is_alphabetic).parse().unwrap_or_else(|_| panic!("{} has no number", self.id))
    }

    /// Its published values as they stand.
    pub fn raw_checks(&self) -> &[serde_json::Value] {
        &self.checks
    }

    /// Its published values.
    pub fn checks(&self) -> Vec<Check> {
        let read = |check: &serde_json::Value| {
            serde_json::from_value(check.clone()).unwrap_or_else(|error| panic!("{}: {error}: {check}", self.id))
        };
        self.checks.iter().map(read).collect()
    }
}

/// Where the values come from.
#[derive(Debug, Deserialize)]
pub struct Source {
    pub title: String,
    pub author: String,
    pub locator: String,
    /// `read` in the named place, from `memory`, or `derived` from elementary theory.
    pub basis: String,
}

/// Nodes, members, supports, loads.
#[derive(Debug, Deserialize)]
pub struct Model {
    pub nodes: BTreeMap<String, [f64; 3]>,
    pub materials: BTreeMap<String, Stiffness>,
    pub sections: BTreeMap<String, Figures>,
    pub members: Vec<Bar>,
    /// Node, then direction (`ux` to `rz`), then the movement forced on it (0 where merely held).
    pub supports: BTreeMap<String, BTreeMap<String, f64>>,
    #[serde(default)]
    pub springs: Vec<NodeSpring>,
    #[serde(default)]
    pub member_loads: Vec<MemberLoad>,
    #[serde(default)]
    pub node_loads: Vec<NodeLoad>,
}

/// Elastic moduli.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "PascalCase")]
pub struct Stiffness {
    pub e: f64,
    pub g: f64,
}

/// Section figures; without shear areas there is no shear deflection.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "PascalCase")]
pub struct Figures {
    pub a: f64,
    pub iy: f64,
    pub iz: f64,
    pub j: f64,
    pub asy: Option<f64>,
    pub asz: Option<f64>,
}

/// A member between two nodes.
#[derive(Debug, Deserialize)]
pub struct Bar {
    pub id: String,
    pub i: String,
    pub j: String,
    pub mat: String,
    pub sec: String,
    pub up: Option<[f64; 3]>,
    #[serde(default)]
    pub roll: f64,
    /// End (`i`, `j`), then the local directions set free.
    #[serde(default)]
    pub releases: BTreeMap<String, Vec<String>>,
    /// End, then local direction, then spring.
    #[serde(default)]
    pub springs: BTreeMap<String, BTreeMap<String, f64>>,
    /// End, then the rigid arm from the node to the member's end.
    #[serde(default)]
    pub offsets: BTreeMap<String, [f64; 3]>,
}

/// A spring from a node to the ground.
#[derive(Debug, Deserialize)]
pub struct NodeSpring {
    pub node: String,
    pub dof: String,
    pub k: f64,
}

/// A load along a member, global axes, per length of the member.
#[derive(Debug, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum MemberLoad {
    Point { member: String, at: f64, force: [f64; 3] },
    Line { member: String, from: f64, to: f64, start: [f64; 3], end: [f64; 3] },
}

/// A force and moment at a node.
#[derive(Debug, Deserialize)]
pub struct NodeLoad {
    pub node: String,
    pub force: [f64; 3],
    pub moment: [f64; 3],
}

/// A published value: passes if `abs(value - expect) <= tol * abs(expect) + atol`.
#[derive(Debug, Deserialize)]
pub struct Check {
    pub expect: f64,
    pub tol: f64,
    #[serde(default)]
    pub atol: f64,
    #[serde(default)]
    pub desc: String,
    #[serde(flatten)]
    pub what: Wanted,
}

/// What a published value is of.
#[derive(Debug, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Wanted {
    /// Displacement or turn of a node.
    Disp { node: String, dof: String },
    /// Its size.
    Absdisp { node: String, dof: String },
    /// Force of the ground on the structure.
    Reaction { node: String, dof: String },
    /// Its size.
    Absreaction { node: String, dof: String },
    /// Displacement in global axes at a place of a member.
    Mdisp { member: String, x: f64, dof: String },
    /// Stress resultant on the +x face at a place (`Msag` = -My).
    Internal { member: String, x: f64, comp: String },
    /// Its size.
    Absinternal { member: String, x: f64, comp: String },
    /// Size of a local end force.
    Absend { member: String, end: String, comp: String },
    /// Greatest value of a component over members.
    Max { members: Vec<String>, comp: String },
    /// Greatest size of a component over members.
    Maxabs { members: Vec<String>, comp: String },
    /// Value of a quantity for a unit downward load at a place of a member.
    Influence { member: String, a: f64, quantity: Quantity },
    /// Greatest value of a quantity over all places of a train of loads.
    MovingMax { path: Vec<String>, loads: Vec<f64>, offsets: Vec<f64>, quantity: Quantity, step: f64 },
}

/// What an influence line is of.
#[derive(Debug, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Quantity {
    Reaction { node: String, dof: String },
    Internal { member: String, x: f64, comp: String },
    Extreme { members: Vec<String>, comp: String, which: String },
}

/// Number of a direction: `ux` 0 to `rz` 5.
pub fn direction(dof: &str) -> usize {
    ["ux", "uy", "uz", "rx", "ry", "rz"]
        .iter()
        .position(|name| *name == dof)
        .unwrap_or_else(|| panic!("no direction `{dof}`"))
}
