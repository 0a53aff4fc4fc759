//! What shows that the numbers are right: sums and residuals of each combination, shares of the bearing points.

use crate::check::members::SERVICE_CLASS;
use crate::design::vector::{add, scale};
use crate::findings::{self, Factor, LimitState, Share};
use crate::rules::combine::Combined;
use crate::statics::Analysis;
use crate::statics::influence::holds_down;
use crate::statics::load::GRAVITY;
use crate::statics::solve::anchor_force;
use crate::tables::factors::Product;

/// Residuals are of the largest force, or of this, N or N·mm, where all forces are smaller (P).
const FORCE_LEAST: f64 = 1.0;

/// The combinations with their evidence.
pub fn combinations(analysis: &Analysis<'_>, combined: &[Combined]) -> Vec<findings::Combination> {
    let service_class = analysis.frame.design().settings.service_class.unwrap_or(SERVICE_CLASS);
    combined
        .iter()
        .map(|combination| {
            let mut evidence = findings::Combination {
                name: combination.name.clone(),
                limit_state: combination.limit_state,
                terms: Vec::with_capacity(combination.terms.len()),
                k_mod: combination.k_mod(Product::Solid, service_class),
                load_sum_n: [0.0; 3],
                reaction_sum_n: [0.0; 3],
                residual: 0.0,
            };
            // Of the combination, not case by case: a movement forced on a frame that follows freely leaves noise alone.
            let (mut unheld, mut largest) = (0.0, FORCE_LEAST);
            for (case, factor) in &combination.terms {
                let solved = &analysis.solved[*case];
                evidence.terms.push(Factor { name: analysis.cases[*case].name.clone(), value: *factor });
                evidence.load_sum_n = add(evidence.load_sum_n, scale(solved.load_sum, *factor));
                evidence.reaction_sum_n = add(evidence.reaction_sum_n, scale(solved.reaction_sum, *factor));
                unheld += factor.abs() * solved.unheld;
                largest = f64::max(largest, factor.abs() * solved.largest);
            }
            evidence.residual = unheld / largest;
            evidence
        })
        .collect()
}

/// Downward load of each anchor in the characteristic combination with the largest downward sum, beside the rule of
/// equal shares (common practice, no source). None where members are left out, whose loads both would lack.
pub fn shares(analysis: &Analysis<'_>, combined: &[Combined]) -> Vec<Share> {
    if analysis.untold.contains(&true) {
        return Vec::new();
    }
    let down = |c: &Combined| -> f64 { c.terms.iter().map(|(case, f)| -f * analysis.solved[*case].load_sum[2]).sum() };
    let heaviest =
        combined.iter().filter(|c| c.limit_state == LimitState::SagInstant).max_by(|a, b| down(a).total_cmp(&down(b)));
    let Some(heaviest) = heaviest else { return Vec::new() };
    let anchors: Vec<usize> =
        (0..analysis.frame.anchors.len()).filter(|a| holds_down(&analysis.frame.anchors[*a])).collect();
    let equal_kg = down(heaviest) / GRAVITY / anchors.len().max(1) as f64;
    anchors
        .iter()
        .map(|anchor| {
            let up: f64 = heaviest
                .terms
                .iter()
                .map(|(case, f)| {
                    f * anchor_force(analysis.frame, &analysis.system.mesh, &analysis.solved[*case], *anchor).0[2]
                })
                .sum();
            Share {
                anchor: analysis.frame.anchors[*anchor].tag.clone(),
                equal_kg,
                computed_kg: up / GRAVITY,
                combination: heaviest.name.clone(),
            }
        })
        .collect()
}
