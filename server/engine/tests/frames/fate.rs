//! What becomes of a design, and what must hold of every answer.

use battenboard_engine::design::{Design, Frame, LoadKind};
use battenboard_engine::findings::{Fault, Findings, Unchecked};
use battenboard_engine::{Ask, CheckError, check};
use serde_json::Value;

/// What became of a design.
#[derive(Debug)]
pub enum Fate {
    Refused(Vec<String>),
    Bounded,
    Found(Box<Findings>),
}

impl Fate {
    pub fn findings(&self) -> &Findings {
        match self {
            Self::Found(findings) => findings,
            other => panic!("no findings but {other:?}"),
        }
    }
}

/// Runs a design and asserts what must hold of every one.
pub fn fate(design: &Design) -> Fate {
    let frame = match Frame::new(design) {
        Ok(frame) => frame,
        Err(violations) => {
            assert!(!violations.is_empty() && violations.iter().all(|v| !v.to_string().is_empty()), "{}", design.name);
            return Fate::Refused(violations.iter().map(ToString::to_string).collect());
        }
    };
    match check(&frame, Ask { results: true, mends: false }, &|| false) {
        Ok(findings) => {
            sound(design, &findings);
            Fate::Found(Box::new(findings))
        }
        Err(CheckError::TooLarge { .. } | CheckError::TooCostly { .. } | CheckError::TooManyCombinations { .. }) => {
            Fate::Bounded
        }
        Err(CheckError::Stopped) => panic!("nobody stopped {}", design.name),
    }
}

fn sound(design: &Design, findings: &Findings) {
    numbers(&design.name, findings);
    if findings.faults.iter().any(|fault| !matches!(fault, Fault::NearMechanism { .. })) {
        return;
    }
    for combination in &findings.combinations {
        let size =
            combination.load_sum_n.iter().chain(&combination.reaction_sum_n).fold(0.0_f64, |a, b| a.max(b.abs()));
        for (load, reaction) in combination.load_sum_n.iter().zip(&combination.reaction_sum_n) {
            let miss = (load + reaction).abs();
            assert!(miss <= 1e-6 * size + 1e-9, "{}: {miss} N of {size} N held by nothing", design.name);
        }
    }
    for load in &design.loads {
        let (LoadKind::Point { member, .. } | LoadKind::Line { member, .. } | LoadKind::Mass { member, .. }) =
            &load.what
        else {
            continue;
        };
        let used = findings.checks.iter().filter(|c| c.tag == *member).map(|c| c.utilisation).fold(0.0, f64::max);
        let said = findings.not_checked.iter().any(|n| {
            n.tag == *member && matches!(n.what, Unchecked::NotComputed | Unchecked::StrengthUnknown | Unchecked::Metal)
        });
        assert!(used > 0.0 || said, "{}: {member} is loaded and nothing is said of it", design.name);
    }
}

/// serde_json writes what is no number as null, so a null is only let be where a field may be empty.
fn numbers(name: &str, findings: &Findings) {
    const MAY_BE_EMPTY: [&str; 12] = [
        "mend",
        "value",
        "frequency_hz",
        "buckling_factor",
        "sway_stiffness_n_mm",
        "right_minus_left_kg",
        "front_left_kg",
        "rear_left_kg",
        "payload_left_kg",
        "results",
        "least_payload_kg",
        "direction",
    ];
    fn walk(name: &str, path: &str, value: &Value) {
        match value {
            Value::Null => panic!("{name}: no number at {path}"),
            Value::Array(items) => items.iter().enumerate().for_each(|(i, v)| walk(name, &format!("{path}[{i}]"), v)),
            Value::Object(fields) => {
                for (key, value) in fields.iter().filter(|(k, v)| !(v.is_null() && MAY_BE_EMPTY.contains(&k.as_str())))
                {
                    walk(name, &format!("{path}.{key}"), value);
                }
            }
            Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
        }
    }
    walk(name, "findings", &serde_json::to_value(findings).unwrap());
    let stability = &findings.stability;
    let factors = stability.lines.iter().filter_map(|line| line.buckling_factor);
    let frequency = stability.frequency_hz.into_iter().chain(stability.sway_stiffness_n_mm.into_iter().flatten());
    assert!(factors.chain(frequency).all(f64::is_finite), "{name}: {stability:?}");
}
