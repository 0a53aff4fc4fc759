//! Static equilibrium: whether an anchor must hold the frame down, EN 1990 table A1.2(A) (EQU).
//!
//! Every part of the permanent loads has the factor that is worse for the anchor: 1.1 where it lifts, 0.9 where it
//! presses (the back-span's dead load is favourable, that of the overhang is not). Variable loads are there with 1.5
//! where they lift, the others beside the leading one with psi_0, and away where they press; of the people at most one
//! entry is there. On the road a mass has one factor for its weight and its push: 1.1 or 0.9, gear 1.5 or away.
//! Factors from memory of EN 1990:2002 + A1 table A1.2(A), recommended values.

use super::combine::road::{self, Motion};
use super::combine::{self, Case, OnRoad, psi};
use crate::design::{Action, Settings};

/// Partial factor of permanent loads that lift.
const LIFTING: f64 = 1.1;
/// Partial factor of permanent loads that press.
const PRESSING: f64 = 0.9;

/// Upward forces of an anchor on the frame by parts of the permanent loads, those that press apart from those that lift.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Split {
    /// Sum of what parts that press on the anchor make, N; not negative.
    pub pressing_n: f64,
    /// Sum of what parts that lift it make, N; not positive.
    pub lifting_n: f64,
}

impl Split {
    /// Adds a part.
    pub fn put(&mut self, force_n: f64) {
        self.pressing_n += force_n.max(0.0);
        self.lifting_n += force_n.min(0.0);
    }

    /// The least upward force they can make together.
    fn least_n(&self) -> f64 {
        PRESSING * self.pressing_n + LIFTING * self.lifting_n
    }
}

/// Upward forces of the vehicle on the frame at one anchor, N, by what makes them, without factors.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Anchored {
    /// Parts of the permanent loads as they rest.
    pub standing: Split,
    /// Parts of the permanent loads under each motion of the road, in their order.
    pub road: Vec<Split>,
    /// Movements forced on anchors; they may be there or not.
    pub settlement_n: f64,
    /// Each case of the analysis, whatever its action.
    pub cases_n: Vec<f64>,
}

/// The force an anchor must hold down with, N, and the combination it is worst in; zero or less: it only presses.
pub fn hold_down(anchored: &Anchored, cases: &[Case], motions: &[Motion], settings: &Settings) -> (f64, String) {
    let mut worst = standing(anchored, cases, settings);
    for (motion, split) in motions.iter().zip(&anchored.road) {
        let found = travelling(anchored, split, cases, motion, settings);
        if found.0 > worst.0 {
            worst = found;
        }
    }
    worst
}

fn permanent(anchored: &Anchored, split: &Split) -> f64 {
    split.least_n() + LIFTING * anchored.settlement_n.min(0.0)
}

/// The worst subset of the variable cases with the worst of them leading. For each choice of people all other cases
/// that lift are there, and the sum is least where the one leads that gains most by it.
fn standing(anchored: &Anchored, cases: &[Case], settings: &Settings) -> (f64, String) {
    let factor = combine::variable_factor(settings);
    let lifts = |case: &usize| anchored.cases_n[*case] < 0.0;
    let variable = |case: &Case| case.action != Action::Permanent && case.road != OnRoad::Part;
    let all: Vec<usize> = (0..cases.len()).filter(|i| variable(&cases[*i])).filter(lifts).collect();
    let others: Vec<usize> = all.iter().copied().filter(|i| !cases[*i].people).collect();
    let people = all.iter().copied().filter(|i| cases[*i].people);
    let mut worst = (-permanent(anchored, &anchored.standing), "own weight alone".to_owned());
    let own = worst.0;
    for person in std::iter::once(None).chain(people.map(Some)) {
        let subset: Vec<usize> = others.iter().copied().chain(person).collect();
        let reduced: f64 = subset.iter().map(|i| psi(cases[*i].action)[0] * anchored.cases_n[*i]).sum();
        let gain = |case: usize| (1.0 - psi(cases[case].action)[0]) * anchored.cases_n[case];
        let Some(leading) = subset.iter().copied().min_by(|a, b| gain(*a).total_cmp(&gain(*b))) else { continue };
        let force = own - factor * (reduced + gain(leading));
        if force > worst.0 {
            worst = (force, combine::name(cases, leading, &subset));
        }
    }
    worst
}

fn travelling(
    anchored: &Anchored,
    split: &Split,
    cases: &[Case],
    motion: &Motion,
    settings: &Settings,
) -> (f64, String) {
    let factor = combine::variable_factor(settings);
    let gear: Vec<usize> =
        (0..cases.len()).filter(|i| cases[*i].action == Action::Stowage && cases[*i].road.rides()).collect();
    let force = |case: usize| -> f64 {
        let terms = road::terms(cases, case, motion, factor);
        terms.iter().map(|(case, factor)| factor * anchored.cases_n[*case]).sum()
    };
    let aboard: Vec<usize> = gear.iter().copied().filter(|case| force(*case) < 0.0).collect();
    let lifted: f64 = aboard.iter().map(|case| force(*case)).sum();
    (-permanent(anchored, split) - lifted, road::name(cases, motion, &gear, &aboard))
}

#[cfg(test)]
mod tests;
