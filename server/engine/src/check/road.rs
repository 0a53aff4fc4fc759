//! The frame on the road, and the anchors that must hold it down.

use crate::check::CheckError;
use crate::design::vector::dot;
use crate::design::{Action, Frame, LoadKind};
use crate::findings::{Assumption, AssumptionCode, HoldDown, LimitState, NotChecked, Unchecked};
use crate::rules::combine::road::{self, Accelerations};
use crate::rules::combine::{COMBINATIONS_MAX, Case, Combined, OnRoad};
use crate::rules::equilibrium::{self, Anchored, Split};
use crate::statics::Analysis;
use crate::statics::influence::{self, BarLoads, Moved};
use crate::statics::load::{self, LoadCase, Loads, Mass, Role};
use crate::statics::solve::{anchor_force, parts};
use std::collections::{BTreeMap, BTreeSet};

/// An anchor that must hold down less than this, N, is not listed.
const LEAST_N: f64 = 1.0;

/// Most anchors of one piece of the frame whose pull is found part by part of the own weight; each costs a solution.
const EXACT: usize = 32;

/// The cases of an analysis as they are combined.
pub fn cases(analysis: &Analysis<'_>) -> Vec<Case> {
    let all = &analysis.cases;
    let found = |role: Role| all.iter().position(|c| c.role == role);
    let on_road = |(index, case): (usize, &LoadCase)| match (case.role, case.action) {
        (Role::Weight(_) | Role::Push(..), _) => OnRoad::Part,
        (Role::Standing, Action::Lying | Action::Moving) => OnRoad::Away,
        (Role::Standing, Action::Permanent | Action::Stowage) => {
            match (found(Role::Push(index, 0)), found(Role::Push(index, 1))) {
                (Some(x), Some(y)) => OnRoad::Mass { weight: found(Role::Weight(index)), push: Some([x, y]) },
                _ => OnRoad::Still,
            }
        }
    };
    all.iter()
        .enumerate()
        .map(|c| Case { name: c.1.name.clone(), action: c.1.action, people: c.1.people, road: on_road(c) })
        .collect()
}

/// Adds the combinations of the road, after those of strength when parked.
///
/// # Errors
/// [`CheckError::TooManyCombinations`] when there would be more than [`COMBINATIONS_MAX`] in all.
pub fn add(frame: &Frame, cases: &[Case], combined: &mut Vec<Combined>) -> Result<(), CheckError> {
    let design = frame.design();
    let motions = Accelerations::new(&design.vehicle, &design.settings).motions();
    let count = combined.len() as u64 + road::count(cases, motions.len());
    if count > COMBINATIONS_MAX {
        return Err(CheckError::TooManyCombinations { count, limit: COMBINATIONS_MAX });
    }
    let parked = combined.iter().take_while(|c| c.limit_state == LimitState::Strength).count();
    combined.splice(parked..parked, road::combinations(cases, &motions, &design.settings));
    Ok(())
}

/// What was taken for the road.
pub fn assumptions(frame: &Frame) -> Vec<Assumption> {
    let design = frame.design();
    let taken = Accelerations::new(&design.vehicle, &design.settings);
    let mut list =
        vec![Assumption { code: AssumptionCode::TravelAcceleration, about: Vec::new(), value: Some(taken.forward) }];
    if taken != Accelerations::usual(&design.vehicle) {
        let about = vec!["road".to_owned()];
        list.push(Assumption { code: AssumptionCode::FactorChanged, about, value: Some(taken.forward) });
    }
    list
}

/// What of the road is not checked: how gear is fixed to what it lies on, and the push of loads given in newtons.
pub fn not_checked(frame: &Frame) -> Vec<NotChecked> {
    let design = frame.design();
    let gear: BTreeSet<&String> =
        design.stowage.iter().filter(|s| s.mass_kg > 0.0).filter_map(|s| s.on.as_ref()).collect();
    let newtons: BTreeSet<&String> = design
        .loads
        .iter()
        .filter(|load| matches!(load.action, Action::Permanent | Action::Stowage))
        .filter_map(|load| match &load.what {
            LoadKind::Point { member, .. } | LoadKind::Line { member, .. } => Some(member),
            LoadKind::Area { deck, .. } => Some(deck),
            LoadKind::Mass { .. } => None,
        })
        .collect();
    let put = |what: Unchecked| move |tag: &String| NotChecked { tag: tag.clone(), what };
    let gear = gear.into_iter().map(put(Unchecked::GearFixings));
    gear.chain(newtons.into_iter().map(put(Unchecked::Travelling))).collect()
}

/// Anchors that must hold the frame down, the hardest pulled first.
///
/// The own weight is taken part by part for the [`EXACT`] anchors of each piece of the frame that are nearest to being
/// lifted, for the others as one (P): that may say up to a fifth of what lifts them too little, of anchors which press
/// more than those. Forces are those of the begin, also where parts creep differently.
///
/// # Errors
/// [`CheckError::Stopped`].
pub fn hold_downs(
    analysis: &Analysis<'_>,
    cases: &[Case],
    stop: &dyn Fn() -> bool,
) -> Result<Vec<HoldDown>, CheckError> {
    let design = analysis.frame.design();
    let motions = Accelerations::new(&design.vehicle, &design.settings).motions();
    let pull = |anchored: &Anchored| equilibrium::hold_down(anchored, cases, &motions, &design.settings);
    let mut found: BTreeMap<usize, (f64, String)> = BTreeMap::new();
    let anchors = analysis.frame.anchors.iter().enumerate();
    for (index, _) in anchors.filter(|(_, a)| !analysis.untold[a.member] && influence::holds_down(a)) {
        let mut anchored = reactions(analysis, index, motions.len());
        whole(analysis, cases, &motions, &mut anchored);
        found.insert(index, pull(&anchored));
    }
    let parts = parts(analysis.frame);
    let loads = permanent(analysis, &parts);
    let groups = influence::groups(&nearest(analysis, &parts, &found), parts.len());
    let all = influence::moved(analysis, &groups, stop)?;
    for (group, moved) in groups.into_iter().zip(all) {
        for (anchor, part) in group {
            let mut anchored = reactions(analysis, anchor, motions.len());
            loads.get(&part).into_iter().flatten().for_each(|mass| mass.put(&moved, &motions, &mut anchored));
            found.insert(anchor, pull(&anchored));
        }
    }
    let tag = |anchor: usize| analysis.frame.anchors[anchor].tag.clone();
    let mut list: Vec<HoldDown> = found
        .into_iter()
        .filter(|(_, (force_n, _))| *force_n > LEAST_N)
        .map(|(anchor, (force_n, combination))| HoldDown { anchor: tag(anchor), combination, force_n })
        .collect();
    list.sort_by(|a, b| {
        super::rank(b.force_n).total_cmp(&super::rank(a.force_n)).then_with(|| a.anchor.cmp(&b.anchor))
    });
    Ok(list)
}

/// Of each part of the frame the anchors that are nearest to being lifted, each with its part.
fn nearest(analysis: &Analysis<'_>, parts: &[usize], found: &BTreeMap<usize, (f64, String)>) -> Vec<(usize, usize)> {
    let mut order: Vec<(usize, f64)> = found.iter().map(|(anchor, (force, _))| (*anchor, *force)).collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut taken = vec![0_usize; parts.len()];
    let mut kept = Vec::new();
    for (anchor, _) in order {
        let part = parts[analysis.frame.anchors[anchor].member];
        taken[part] += 1;
        if taken[part] <= EXACT {
            kept.push((anchor, part));
        }
    }
    kept
}

/// Upward forces of the cases at an anchor, without any of the permanent loads' parts.
fn reactions(analysis: &Analysis<'_>, anchor: usize, motions: usize) -> Anchored {
    let force = |solved| anchor_force(analysis.frame, &analysis.system.mesh, solved, anchor).0[2];
    let cases_n: Vec<f64> = analysis.solved[..analysis.begun()].iter().map(force).collect();
    let settled = analysis.cases.iter().zip(&cases_n).filter(|(case, _)| case.settlement);
    let settlement_n = settled.map(|(_, force)| force).sum();
    Anchored { standing: Split::default(), road: vec![Split::default(); motions], settlement_n, cases_n }
}

/// Each case of permanent loads as one part.
fn whole(analysis: &Analysis<'_>, cases: &[Case], motions: &[road::Motion], anchored: &mut Anchored) {
    for (index, case) in cases.iter().enumerate() {
        let own = case.action == Action::Permanent && case.road.rides() && !analysis.cases[index].settlement;
        if !own {
            continue;
        }
        anchored.standing.put(anchored.cases_n[index]);
        for (motion, split) in motions.iter().zip(&mut anchored.road) {
            let terms = road::terms(cases, index, motion, 1.0);
            split.put(terms.iter().map(|(case, factor)| factor * anchored.cases_n[*case]).sum());
        }
    }
}

/// What one bar has of a permanent load.
#[derive(Clone, Copy, Debug, Default)]
struct Piece {
    weight: Option<BarLoads>,
    push: [Option<BarLoads>; 2],
}

/// A permanent load on one part of the frame, bar by bar. The couple of a mass' height belongs to its pieces by their
/// weight.
#[derive(Clone, Debug, Default)]
struct Permanent {
    pieces: BTreeMap<usize, Piece>,
    couple: [Vec<BarLoads>; 2],
    /// False for loads in newtons, which stay as they rest on the road.
    rides: bool,
}

impl Permanent {
    /// Adds what it does to an anchor.
    fn put(&self, moved: &Moved, motions: &[road::Motion], anchored: &mut Anchored) {
        let force = |loads: Option<BarLoads>| loads.map_or(0.0, |loads| moved.force(&loads));
        let down = |piece: &Piece| piece.weight.map_or(0.0, |loads| loads.sum(2));
        let whole: f64 = self.pieces.values().map(down).sum();
        let couple = [0, 1].map(|axis| self.couple[axis].iter().map(|loads| moved.force(loads)).sum::<f64>());
        for piece in self.pieces.values() {
            let weight = force(piece.weight);
            anchored.standing.put(weight);
            let share = if whole == 0.0 { 0.0 } else { down(piece) / whole };
            let push = [0, 1].map(|axis| force(piece.push[axis]) + share * couple[axis]);
            for (motion, split) in motions.iter().zip(&mut anchored.road) {
                let level = dot([push[0], push[1], 0.0], [motion.push[0], motion.push[1], 0.0]);
                split.put(if self.rides { motion.down * weight + level } else { weight });
            }
        }
    }
}

/// Permanent loads by the part of the frame they are on: each mass of its own, then what is given in newtons.
fn permanent(analysis: &Analysis<'_>, parts: &[usize]) -> BTreeMap<usize, Vec<Permanent>> {
    let load::Parts { cases, masses } = load::parts(analysis.frame);
    let permanent = |case: usize| cases[case].action == Action::Permanent;
    let given = cases
        .iter()
        .filter(|case| case.action == Action::Permanent && !case.loads.is_empty())
        .map(|case| by_part(analysis, parts, &Mass { weight: case.loads.clone(), ..Mass::default() }, false));
    let masses = masses.iter().filter(|m| permanent(m.case)).map(|mass| by_part(analysis, parts, mass, true));
    let mut all: BTreeMap<usize, Vec<Permanent>> = BTreeMap::new();
    for (part, load) in masses.chain(given).flatten() {
        all.entry(part).or_default().push(load);
    }
    all
}

fn by_part(analysis: &Analysis<'_>, parts: &[usize], mass: &Mass, rides: bool) -> BTreeMap<usize, Permanent> {
    let mut all: BTreeMap<usize, Permanent> = BTreeMap::new();
    let mut each = |loads: &Loads, put: &dyn Fn(&mut Permanent, usize, BarLoads)| {
        let mut by_member: BTreeMap<usize, Loads> = BTreeMap::new();
        for load in loads {
            by_member.entry(load.0).or_default().push(*load);
        }
        for (member, loads) in by_member {
            for (bar, loads) in influence::by_bar(analysis, member, &loads) {
                let load = all.entry(parts[member]).or_insert_with(|| Permanent { rides, ..Permanent::default() });
                put(load, bar, loads);
            }
        }
    };
    each(&mass.weight, &|load, bar, loads| load.pieces.entry(bar).or_default().weight = Some(loads));
    for (axis, push) in mass.push.iter().enumerate() {
        each(&push.even, &|load, bar, loads| load.pieces.entry(bar).or_default().push[axis] = Some(loads));
        each(&push.couple, &|load, _, loads| load.couple[axis].push(loads));
    }
    all
}
