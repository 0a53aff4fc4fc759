//! Combinations on the road: factored mass x (g + a), nobody on the frame.
//!
//! One acceleration at a time, each with the weight: braking, pulling away, bends, and two bumps. A mass has one factor
//! for its weight and its push. The frame's masses are tried at most (1.35) and at least (1.0), gear at most (1.5) and
//! absent, as EN 1990 table A1.2(B) has favourable variable loads: utilisations are convex in the forces, so nothing
//! between can govern. Of up to three actions of gear each is also absent alone (P); many are all there or all away.
//! Own weight at its least with no gear only scales the forces of "at most" and is left out. Loads given in newtons
//! whose mass nobody knows stay as they rest.

use super::{Case, Combined, Factors, OnRoad, joined};
use crate::design::{Action, Settings, Vehicle};
use crate::findings::LimitState;
use crate::tables::factors::Duration;

/// Up to this many actions of gear, each is absent in turn.
const ABSENT_IN_TURN: usize = 3;

/// Accelerations on the road in g.
///
/// Forward, rearward and sideways are securing values for vans of normal and emergency driving, no crash values: 0.8,
/// 0.5, 0.6 over 2.0 t to 3.5 t of permissible mass, 0.9, 0.5, 0.7 up to 2.0 t (VDI 2700 sheet 16, read in figure 1 of
/// ESV paper 09-0008; its running text says it the other way round). Over 3.5 t the figure has 0.5 sideways; 0.6 is
/// kept (P, on the safe side). Bumps are a choice of this project with no source (P).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accelerations {
    /// Braking: masses push towards -x.
    pub forward: f64,
    /// Pulling away: masses push towards +x.
    pub rearward: f64,
    /// Bends: masses push towards +y or -y.
    pub sideways: f64,
    /// A bump pressing down, weight included.
    pub down: f64,
    /// A bump throwing up, net of weight.
    pub up: f64,
}

/// Permissible mass, kg, up to which the severer values hold.
const LIGHT_KG: f64 = 2_000.0;

impl Accelerations {
    /// Those of a vehicle; where its permissible mass is not known the severer ones. Stated ones go first.
    pub fn new(vehicle: &Vehicle, settings: &Settings) -> Self {
        if let Some([forward, rearward, sideways, down, up]) = settings.road_g {
            return Self { forward, rearward, sideways, down, up };
        }
        Self::usual(vehicle)
    }

    /// Those of a vehicle where nothing is stated.
    pub fn usual(vehicle: &Vehicle) -> Self {
        let heavy = vehicle.gross_limit_kg.is_some_and(|kg| kg > LIGHT_KG);
        let (forward, sideways) = if heavy { (0.8, 0.6) } else { (0.9, 0.7) };
        Self { forward, rearward: 0.5, sideways, down: 2.0, up: 0.5 }
    }

    /// What the road does, one at a time.
    pub fn motions(&self) -> [Motion; 6] {
        let motion = |name, x, y, down| Motion { name, push: [x, y], down };
        [
            motion("braking", -self.forward, 0.0, 1.0),
            motion("pulling away", self.rearward, 0.0, 1.0),
            motion("a bend to the left", 0.0, self.sideways, 1.0),
            motion("a bend to the right", 0.0, -self.sideways, 1.0),
            motion("a bump pressing down", 0.0, 0.0, self.down),
            motion("a bump throwing up", 0.0, 0.0, -self.up),
        ]
    }
}

/// One thing the road does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Its name.
    pub name: &'static str,
    /// Push of masses towards +x and +y, g.
    pub push: [f64; 2],
    /// Weight of masses, g; negative: they are thrown up.
    pub down: f64,
}

/// All strength combinations of the road; none where no case has a mass.
pub fn combinations(cases: &[Case], motions: &[Motion], settings: &Settings) -> Vec<Combined> {
    let factors = Factors::new(settings, 0.0);
    let permanent = super::indices(cases, |c| c.action == Action::Permanent && c.road.rides());
    let gear = super::indices(cases, |c| c.action == Action::Stowage && c.road.rides());
    if !cases.iter().any(|c| matches!(c.road, OnRoad::Mass { .. })) {
        return Vec::new();
    }
    let mut all = Vec::new();
    for motion in motions {
        for aboard in aboard(&gear) {
            let least = !aboard.is_empty() && !permanent.is_empty() && factors.permanent != super::PERMANENT_LEAST;
            let own = [(factors.permanent, ""), (super::PERMANENT_LEAST, "; own weight at its least")];
            for (own, ending) in own.into_iter().take(1 + usize::from(least)) {
                let frame = permanent.iter().flat_map(|case| self::terms(cases, *case, motion, own));
                let boxes = aboard.iter().flat_map(|case| self::terms(cases, *case, motion, factors.variable));
                let mut terms: Vec<(usize, f64)> = frame.chain(boxes).collect();
                terms.sort_unstable_by_key(|(case, _)| *case);
                let name = format!("{}{ending}", name(cases, motion, &gear, &aboard));
                all.push(Combined { name, limit_state: LimitState::Strength, terms, duration: Duration::Short });
            }
        }
    }
    all
}

/// How many combinations that makes.
pub fn count(cases: &[Case], motions: usize) -> u64 {
    let gear = super::indices(cases, |c| c.action == Action::Stowage && c.road.rides());
    (2 * motions * aboard(&gear).len()) as u64
}

/// All gear, each absent in turn, none.
fn aboard(gear: &[usize]) -> Vec<Vec<usize>> {
    let mut loads = vec![gear.to_vec()];
    if (2..=ABSENT_IN_TURN).contains(&gear.len()) {
        loads.extend(gear.iter().map(|away| gear.iter().copied().filter(|g| g != away).collect()));
    }
    if !gear.is_empty() {
        loads.push(Vec::new());
    }
    loads
}

/// The terms of a standing case under a motion, times its factor; none where it is not aboard.
pub fn terms(cases: &[Case], case: usize, motion: &Motion, factor: f64) -> Vec<(usize, f64)> {
    let mut terms = match cases[case].road {
        OnRoad::Still => vec![(case, 1.0)],
        // The standing case also holds loads in newtons: they stay, its masses get what is more or less.
        OnRoad::Mass { weight: Some(weight), .. } => vec![(case, 1.0), (weight, motion.down - 1.0)],
        OnRoad::Mass { weight: None, .. } => vec![(case, motion.down)],
        OnRoad::Part | OnRoad::Away => Vec::new(),
    };
    if let OnRoad::Mass { push: Some(push), .. } = cases[case].road {
        terms.extend(push.into_iter().zip(motion.push));
    }
    terms.retain(|(_, value)| *value != 0.0);
    terms.iter_mut().for_each(|(_, value)| *value *= factor);
    terms
}

/// What the road does, then what is aboard.
pub fn name(cases: &[Case], motion: &Motion, gear: &[usize], aboard: &[usize]) -> String {
    let names: Vec<&str> = aboard.iter().map(|case| cases[*case].name.as_str()).collect();
    match (gear.is_empty(), names.is_empty()) {
        (true, _) => motion.name.to_owned(),
        (false, true) => format!("{}, empty", motion.name),
        (false, false) => format!("{}, with {}", motion.name, joined(&names)),
    }
}

#[cfg(test)]
mod tests;
