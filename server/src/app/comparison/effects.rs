//! What a comparison needs of findings: few figures of each member and deck. They are kept beside the findings' body,
//! because reading all of that for one look costs several times as much.

use crate::app::{AppError, AppResult};
use battenboard_engine::findings::{CheckKind, Findings, Verdict};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Verdict, mass and figures of every member and deck.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Effects {
    /// The worst of all checks and faults.
    pub verdict: Verdict,
    /// Total mass, kg.
    pub total_mass_kg: f64,
    /// Greatest utilisation by tag.
    pub utilisations: BTreeMap<String, f64>,
    /// Final sag by tag, mm: that of the check of the sag in the end. A deck's checks of sag are of one kind; the sag in the
    /// end is the greater of them.
    pub sags_mm: BTreeMap<String, f64>,
}

/// The part of a body of findings that effects are made of; the rest is passed over unread.
#[derive(Deserialize)]
struct Part {
    verdict: Verdict,
    weight: Weight,
    checks: Vec<Figures>,
}

#[derive(Deserialize)]
struct Weight {
    total_kg: f64,
}

#[derive(Deserialize)]
struct Figures {
    tag: String,
    kind: CheckKind,
    demand: f64,
    utilisation: f64,
}

impl Effects {
    /// Those of findings.
    pub fn of(findings: &Findings) -> Self {
        let figures = |check: &battenboard_engine::findings::Check| Figures {
            tag: check.tag.clone(),
            kind: check.kind,
            demand: check.demand,
            utilisation: check.utilisation,
        };
        let checks = findings.checks.iter().map(figures).collect();
        Part { verdict: findings.verdict, weight: Weight { total_kg: findings.weight.total_kg }, checks }.into()
    }

    /// As they are stored.
    ///
    /// # Errors
    /// [`AppError::Internal`] if they cannot be written as JSON.
    pub fn write(&self) -> AppResult<Vec<u8>> {
        serde_json::to_vec(self).map_err(AppError::internal)
    }

    /// Those stored.
    ///
    /// # Errors
    /// [`AppError::Internal`] for what this release cannot read.
    pub fn read(stored: &[u8]) -> AppResult<Self> {
        serde_json::from_slice(stored).map_err(|error| AppError::internal(format!("stored effects: {error}")))
    }

    /// Those of a stored body of findings.
    ///
    /// # Errors
    /// [`AppError::Internal`] for a body that this release cannot read.
    pub fn read_body(body: &[u8]) -> AppResult<Self> {
        let part: Part =
            serde_json::from_slice(body).map_err(|error| AppError::internal(format!("stored findings: {error}")))?;
        Ok(part.into())
    }
}

impl From<Part> for Effects {
    fn from(part: Part) -> Self {
        let Part { verdict, weight, checks } = part;
        let final_sag = |check: &&Figures| matches!(check.kind, CheckKind::SagFinal | CheckKind::DeckSag);
        Self {
            verdict,
            total_mass_kg: weight.total_kg,
            utilisations: greatest(checks.iter().map(|check| (check.tag.as_str(), check.utilisation))),
            sags_mm: greatest(checks.iter().filter(final_sag).map(|check| (check.tag.as_str(), check.demand))),
        }
    }
}

fn greatest<'t>(figures: impl Iterator<Item = (&'t str, f64)>) -> BTreeMap<String, f64> {
    let mut by_tag: BTreeMap<String, f64> = BTreeMap::new();
    for (tag, figure) in figures {
        match by_tag.get_mut(tag) {
            Some(greatest) => *greatest = greatest.max(figure),
            None => {
                by_tag.insert(tag.to_owned(), figure);
            }
        }
    }
    by_tag
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
    use super::*;
    use crate::app::engine;
    use battenboard_engine::design::Frame;

    /// What is stored, and what is read of a body, is what the findings say.
    #[test]
    fn they_are_those_of_the_findings() {
        let text = include_str!("../../../../tests/designs/curlew.toml");
        let design = battenboard_designfile::read(text).unwrap().design;
        let findings = engine::run(&Frame::new(&design).unwrap(), engine::ASK_STORED, &|| false).unwrap();
        let row = engine::row(&engine::key(b"curlew"), &findings, 1).unwrap();
        let effects = Effects::read_body(&row.body).unwrap();
        assert_eq!(Effects::read(row.effects.as_deref().unwrap()).unwrap(), effects);
        assert_eq!((effects.verdict, effects.total_mass_kg), (findings.verdict, findings.weight.total_kg));
        let Effects { utilisations, sags_mm: sags, .. } = effects;
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
        assert!(Effects::read(b"{}").is_err() && Effects::read_body(b"{}").is_err());
    }
}
