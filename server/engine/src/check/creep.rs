//! Combinations of a frame whose parts creep differently.

use crate::findings::LimitState;
use crate::rules::combine::{Combined, psi};
use crate::statics::Analysis;

/// Rewrites the combinations for a frame with cases of the end appended ([`Analysis::creep`]); `k_def` is the creep
/// factor they were made with.
///
/// - *Sag in the end* (2.2.3(3), 2.3.2.2(1)): the characteristic combination at once, and what its quasi-permanent part
///   (G + psi_2 Q) sags more in the end than at the begin. Where all parts creep alike this is (2.3) to (2.5).
/// - *Strength* (2.2.2(2), (2.10)): each combination also with the forces of the end. The code softens by psi_2 k_def of
///   the leading action; here by k_def, the extreme (P): the forces change steadily between begin and end.
pub fn in_the_end(analysis: &Analysis<'_>, k_def: f64, combined: &mut Vec<Combined>) {
    let begun = analysis.begun();
    let mut twins = Vec::new();
    for combination in combined.iter_mut() {
        match combination.limit_state {
            LimitState::SagInstant => {}
            LimitState::SagFinal => {
                let terms = std::mem::take(&mut combination.terms);
                // A movement forced on an anchor stays what it is, at once and in the end.
                let lasting = |case: usize| match analysis.cases[case].settlement {
                    true => 0.0,
                    false => psi(analysis.cases[case].action)[2],
                };
                let at_once = terms.iter().map(|(case, factor)| (*case, factor - lasting(*case) * (k_def + 1.0)));
                let at_last =
                    terms.iter().map(|(case, _)| (begun + case, lasting(*case))).filter(|(_, lasting)| *lasting != 0.0);
                combination.terms = at_once.chain(at_last).collect();
            }
            LimitState::Strength => {
                let terms = combination.terms.iter().map(|(case, factor)| (begun + case, *factor)).collect();
                let name = format!("{}; in the end", combination.name);
                twins.push(Combined { name, terms, ..combination.clone() });
            }
        }
    }
    // Strength stands before sag.
    let at = combined.iter().take_while(|c| c.limit_state == LimitState::Strength).count();
    combined.splice(at..at, twins);
}
