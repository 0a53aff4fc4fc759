//! Combinations of load cases: EN 1990 6.10 for strength, 6.14b for sag at once, EN 1995-1-1 2.2.3 for sag in the end.
//!
//! Every subset of the variable cases is a combination with each of its cases in turn leading; of the people's cases
//! at most one is in a subset, for people do one thing at a time. Combinations proved to govern nowhere are left out:
//!
//! - *A case with psi_0 = 1 leading while another variable case is present*: its factors lie between those of "the
//!   other leads" and those of the subset without the other. All utilisations are convex in the forces, and the
//!   subset without the other has no greater k_mod, so one of these two is at least as bad.
//! - *Permanent loads alone at the favourable factor*: the same forces as with the unfavourable one, but smaller.
//!
//! Permanent loads at 1.0 beside variable ones can govern (a tie that own weight presses together and a person pulls:
//! 1.35 x 100 - 1.5 x 120 = -45, but 1.0 x 100 - 1.5 x 120 = -80), so they stay. All permanent cases share one factor
//! (EN 1990 A1.3.1, the own weight of one structure). Static equilibrium is in [`super::equilibrium`], where each part
//! of the own weight has the factor that is worse; what happens on the road is in [`road`].

pub mod road;

use crate::design::{Action, Settings};
use crate::error::CheckError;
use crate::findings::LimitState;
use crate::tables::factors::{Duration, Product, k_mod};

/// Most combinations taken.
pub const COMBINATIONS_MAX: u64 = 2_000;

/// Partial factor of permanent loads where they help (EN 1990 table A1.2(B); read in Steel Buildings in Europe,
/// part 3, table 3.1).
const PERMANENT_LEAST: f64 = 1.0;
/// Partial factor of permanent loads where they harm (same source).
const GAMMA_PERMANENT: f64 = 1.35;
/// Partial factor of variable loads (same source).
const GAMMA_VARIABLE: f64 = 1.5;

/// A load case to be combined.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Its name in the builder's words.
    pub name: String,
    /// Kind of action.
    pub action: Action,
    /// True for an entry of the design's people: such cases exclude one another.
    pub people: bool,
    /// What it does on the road.
    pub road: OnRoad,
}

/// What a case does on the road.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum OnRoad {
    /// It is not aboard while driving: people.
    #[default]
    Away,
    /// It stays as it rests: loads given in newtons, whose mass nobody knows.
    Still,
    /// It is a mass, or holds some.
    Mass {
        /// Case of the masses' weight alone, where the case also holds loads in newtons.
        weight: Option<usize>,
        /// Cases of their push of 1 g towards +x and +y; `None`: only bumps are asked.
        push: Option<[usize; 2]>,
    },
    /// It is no standing case but a part of one, for the road alone.
    Part,
}

impl OnRoad {
    /// True where a standing case is aboard while driving.
    pub fn rides(self) -> bool {
        matches!(self, Self::Still | Self::Mass { .. })
    }
}

/// One combination: cases with their factors.
#[derive(Clone, Debug, PartialEq)]
pub struct Combined {
    /// Name in plain words, e.g. `kneeling at the edge, with dive bottles`.
    pub name: String,
    /// What it is for.
    pub limit_state: LimitState,
    /// Index of the case and its factor, in the order of the cases. A sag's factors hold the creep.
    pub terms: Vec<(usize, f64)>,
    /// Duration of the shortest action present.
    pub duration: Duration,
}

impl Combined {
    /// Modification factor of the shortest action present (EN 1995-1-1 3.1.3(2)); 1 for sag.
    pub fn k_mod(&self, product: Product, service_class: u8) -> f64 {
        match self.limit_state {
            LimitState::Strength => k_mod(product, service_class, self.duration),
            LimitState::SagInstant | LimitState::SagFinal => 1.0,
        }
    }
}

/// How long an action stays. Lying is medium term, as imposed floor load is in table 2.2; sitting, kneeling and
/// climbing are taken as short (P: the code has all imposed floor load in medium).
pub fn duration(action: Action) -> Duration {
    match action {
        Action::Permanent => Duration::Permanent,
        Action::Stowage => Duration::Long,
        Action::Lying => Duration::Medium,
        Action::Moving => Duration::Short,
    }
}

/// psi_0, psi_1, psi_2 of EN 1990 table A1.1: storage as category E, people as category A (read in two public pages
/// that quote the table, November 2026). Permanent actions have none; they are never reduced.
pub fn psi(action: Action) -> [f64; 3] {
    match action {
        Action::Permanent => [1.0, 1.0, 1.0],
        Action::Stowage => [1.0, 0.9, 0.8],
        Action::Lying | Action::Moving => [0.7, 0.5, 0.3],
    }
}

/// All combinations of the cases: strength, then sag at once, then sag in the end with creep factor `k_def`.
///
/// # Errors
/// [`CheckError::TooManyCombinations`] when there would be more than [`COMBINATIONS_MAX`]; counted before any is made.
pub fn combinations(cases: &[Case], settings: &Settings, k_def: f64) -> Result<Vec<Combined>, CheckError> {
    let standing = |case: &Case| case.road != OnRoad::Part;
    let permanent: Vec<usize> = indices(cases, |case| standing(case) && case.action == Action::Permanent);
    let people: Vec<usize> = indices(cases, |case| case.action != Action::Permanent && case.people);
    let others: Vec<usize> = indices(cases, |case| standing(case) && case.action != Action::Permanent && !case.people);
    count(&others, &people)?;
    let factors = Factors::new(settings, k_def);
    let subsets = subsets(&others, &people);
    let mut all = Vec::new();
    for limit_state in [LimitState::Strength, LimitState::SagInstant, LimitState::SagFinal] {
        for subset in &subsets {
            for leading in leaders(cases, subset) {
                let part = Part { cases, permanent: &permanent, subset, leading, limit_state };
                let harmful = factors.permanent;
                all.extend(part.combined(&factors, harmful, ""));
                let helps = limit_state == LimitState::Strength && leading.is_some() && !permanent.is_empty();
                if helps && harmful != PERMANENT_LEAST {
                    all.extend(part.combined(&factors, PERMANENT_LEAST, "; own weight at its least"));
                }
            }
        }
    }
    let made = all.len() as u64;
    if made > COMBINATIONS_MAX {
        return Err(CheckError::TooManyCombinations { count: made, limit: COMBINATIONS_MAX });
    }
    Ok(all)
}

/// The combinations in which one variable case stands beside the permanent ones, at a duration of its own: strength
/// (permanent loads at their most and at their least), sag at once, sag in the end. `cases` holds the permanent ones and
/// that one.
///
/// # Errors
/// [`CheckError::TooManyCombinations`].
pub fn alone(
    cases: &[Case],
    case: usize,
    duration: Duration,
    settings: &Settings,
    k_def: f64,
) -> Result<Vec<Combined>, CheckError> {
    let mut combined = combinations(cases, settings, k_def)?;
    combined.retain(|combination| combination.terms.iter().any(|(term, _)| *term == case));
    combined.iter_mut().for_each(|combination| combination.duration = duration);
    Ok(combined)
}

fn indices(cases: &[Case], wanted: impl Fn(&Case) -> bool) -> Vec<usize> {
    (0..cases.len()).filter(|index| wanted(&cases[*index])).collect()
}

/// Refuses too many subsets before any is made; each gives three combinations or more.
fn count(others: &[usize], people: &[usize]) -> Result<(), CheckError> {
    let exponent = u32::try_from(others.len()).unwrap_or(u32::MAX);
    let subsets = 2_u64.checked_pow(exponent).unwrap_or(u64::MAX).saturating_mul(people.len() as u64 + 1);
    let least = subsets.saturating_mul(3);
    if least > COMBINATIONS_MAX {
        return Err(CheckError::TooManyCombinations { count: least, limit: COMBINATIONS_MAX });
    }
    Ok(())
}

/// Every subset of the other cases, each with none or one of the people's; in order of case indices.
fn subsets(others: &[usize], people: &[usize]) -> Vec<Vec<usize>> {
    let mut result = Vec::new();
    for bits in 0..1_u64 << others.len() {
        let base: Vec<usize> =
            others.iter().enumerate().filter(|(bit, _)| bits >> bit & 1 == 1).map(|(_, case)| *case).collect();
        result.push(base.clone());
        for person in people {
            let mut with = base.clone();
            with.push(*person);
            with.sort_unstable();
            result.push(with);
        }
    }
    result
}

/// Cases of a subset that must be tried as leading; `None` alone for the empty subset.
fn leaders(cases: &[Case], subset: &[usize]) -> Vec<Option<usize>> {
    let reduced: Vec<Option<usize>> =
        subset.iter().copied().filter(|case| psi(cases[*case].action)[0] < 1.0).map(Some).collect();
    match (reduced.is_empty(), subset.first()) {
        (false, _) => reduced,
        // All have psi_0 = 1: whichever leads, the factors are the same.
        (true, first) => vec![first.copied()],
    }
}

struct Factors {
    permanent: f64,
    variable: f64,
    k_def: f64,
}

impl Factors {
    fn new(settings: &Settings, k_def: f64) -> Self {
        Self {
            permanent: settings.gamma_permanent.unwrap_or(GAMMA_PERMANENT),
            variable: variable_factor(settings),
            k_def,
        }
    }
}

/// Partial factor of variable loads, unfavourable.
pub(crate) fn variable_factor(settings: &Settings) -> f64 {
    settings.gamma_variable.unwrap_or(GAMMA_VARIABLE)
}

/// A subset with its leading case.
struct Part<'a> {
    cases: &'a [Case],
    permanent: &'a [usize],
    subset: &'a [usize],
    leading: Option<usize>,
    limit_state: LimitState,
}

impl Part<'_> {
    /// The combination, or `None` where there is no load at all.
    fn combined(&self, factors: &Factors, gamma_permanent: f64, ending: &str) -> Option<Combined> {
        let creep = factors.k_def;
        let permanent = match self.limit_state {
            LimitState::Strength => gamma_permanent,
            LimitState::SagInstant => 1.0,
            LimitState::SagFinal => 1.0 + creep,
        };
        let mut terms: Vec<(usize, f64)> = self.permanent.iter().map(|case| (*case, permanent)).collect();
        for case in self.subset {
            let [psi_0, _, psi_2] = psi(self.cases[*case].action);
            let instant = if self.leading == Some(*case) { 1.0 } else { psi_0 };
            let factor = match self.limit_state {
                LimitState::Strength => factors.variable * instant,
                LimitState::SagInstant => instant,
                LimitState::SagFinal => instant + psi_2 * creep,
            };
            terms.push((*case, factor));
        }
        terms.sort_unstable_by_key(|(case, _)| *case);
        let shortest = terms.iter().map(|(case, _)| duration(self.cases[*case].action)).max()?;
        let name = format!("{}{ending}", self.name());
        Some(Combined { name, limit_state: self.limit_state, terms, duration: shortest })
    }

    fn name(&self) -> String {
        self.leading.map_or_else(|| "own weight alone".to_owned(), |leading| name(self.cases, leading, self.subset))
    }
}

/// Name of a subset of cases: the leading one, then what else is aboard.
pub(crate) fn name(cases: &[Case], leading: usize, subset: &[usize]) -> String {
    let others: Vec<&str> =
        subset.iter().filter(|case| **case != leading).map(|case| cases[*case].name.as_str()).collect();
    let first = &cases[leading].name;
    if others.is_empty() { first.clone() } else { format!("{first}, with {}", joined(&others)) }
}

/// Names as one would say them: `a, b and c`.
fn joined(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [many @ .., last] => format!("{} and {last}", many.join(", ")),
    }
}

#[cfg(test)]
mod tests;
