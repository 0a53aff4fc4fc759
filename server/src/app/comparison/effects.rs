//! What a comparison needs of stored findings. It is a small part of their body, and the rest is passed over unread:
//! building all of it for one look costs several times as much.

use crate::app::{AppError, AppResult};
use battenboard_engine::findings::{CheckKind, Verdict};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Verdict, mass and figures of every member and deck.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Effects {
    /// The worst of all checks and faults.
    pub verdict: Verdict,
    weight: Weight,
    checks: Vec<Figures>,
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
struct Weight {
    total_kg: f64,
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
struct Figures {
    tag: String,
    kind: CheckKind,
    demand: f64,
    utilisation: f64,
}

impl Effects {
    /// Those of a stored body.
    ///
    /// # Errors
    /// [`AppError::Internal`] for a body that this release cannot read.
    pub fn read(body: &[u8]) -> AppResult<Self> {
        serde_json::from_slice(body).map_err(|error| AppError::internal(format!("stored findings: {error}")))
    }

    /// Total mass, kg.
    pub fn total_mass_kg(&self) -> f64 {
        self.weight.total_kg
    }

    /// Greatest utilisation by tag.
    pub fn utilisations(&self) -> BTreeMap<&str, f64> {
        greatest(self.checks.iter().map(|check| (check.tag.as_str(), check.utilisation)))
    }

    /// Final sag by tag, mm: that of the check of the sag in the end. A deck's checks of sag are of one kind; the sag in the
    /// end is the greater of them.
    pub fn sags_mm(&self) -> BTreeMap<&str, f64> {
        let final_sag = |check: &&Figures| matches!(check.kind, CheckKind::SagFinal | CheckKind::DeckSag);
        greatest(self.checks.iter().filter(final_sag).map(|check| (check.tag.as_str(), check.demand)))
    }
}

fn greatest<'t>(figures: impl Iterator<Item = (&'t str, f64)>) -> BTreeMap<&'t str, f64> {
    let mut by_tag: BTreeMap<&str, f64> = BTreeMap::new();
    for (tag, figure) in figures {
        let greatest = by_tag.entry(tag).or_insert(figure);
        *greatest = greatest.max(figure);
    }
    by_tag
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use crate::app::engine;
    use battenboard_engine::design::Frame;

    /// What is read of a body is what the findings say: the whole of them is the other way to it.
    #[test]
    fn they_are_those_of_the_findings() {
        let text = include_str!("../../../../tests/designs/curlew.toml");
        let design = battenboard_designfile::read(text).unwrap().design;
        let findings = engine::run(&Frame::new(&design).unwrap(), engine::ASK_STORED, &|| false).unwrap();
        let row = engine::row(&engine::key(b"curlew"), &findings, 1).unwrap();
        let effects = Effects::read(&row.body).unwrap();
        assert_eq!((effects.verdict, effects.total_mass_kg()), (findings.verdict, findings.weight.total_kg));
        let (utilisations, sags) = (effects.utilisations(), effects.sags_mm());
        assert!(!sags.is_empty());
        for check in &findings.checks {
            let tag = check.tag.as_str();
            assert!(utilisations[tag] >= check.utilisation);
            match check.kind {
                CheckKind::SagFinal => assert_eq!(sags[tag], check.demand, "{tag}"),
                CheckKind::DeckSag => assert!(sags[tag] >= check.demand, "{tag}"),
                _ => {}
            }
        }
        let first = &findings.checks[0];
        assert_eq!(utilisations[first.tag.as_str()], first.utilisation, "checks stand worst first");
        assert!(Effects::read(b"{}").is_err());
    }
}
