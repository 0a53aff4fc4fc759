//! Sway, buckling and vibration of the frame as a whole, and what they mean for its members.

use super::assumed::Columns;
use crate::check::CheckError;
use crate::design::Vector;
use crate::design::vector::scale;
use crate::findings::{Check, CheckKind, Factor, Fault, LimitState, SectionForces, Stability, StabilityLine, Verdict};
use crate::rules::combine::Combined;
use crate::statics::buckling::{self, Buckled, Buckling, Column, SWAY_LOOKED_AT, TOLD};
use crate::statics::mesh::Mesh;
use crate::statics::second_order::{self, Leaning};
use crate::statics::vibration::{self, Vibration};
use crate::statics::{Analysis, mechanism, sway};

/// Buckling factor and frequency (Hz) under which something can nearly move (P).
const NEARLY_LOOSE: f64 = 1.0;
/// Buckling factor and frequency (Hz) that are asked of a frame (P).
const ASKED: f64 = 3.0;
/// Height over drift that is asked of a frame (P).
const HEIGHT_OVER_DRIFT: f64 = 150.0;

/// A strength combination by second order.
pub struct SecondOrder {
    /// Index of the combination.
    pub combination: usize,
    /// Its name, with the way it leans.
    pub name: String,
    /// The solved frame.
    pub leaning: Leaning,
}

/// What the frame's stability comes to.
#[derive(Default)]
pub struct Study {
    /// For the findings.
    pub stability: Stability,
    /// Checks of the frame as a whole.
    pub checks: Vec<Check>,
    /// Near-mechanisms.
    pub faults: Vec<Fault>,
    /// Buckling lengths of columns per combination (empty for those that are not of strength).
    pub columns: Vec<Vec<Column>>,
    /// Combinations whose forces come from second order; each leans two ways and is bowed two ways.
    pub second_order: Vec<SecondOrder>,
    /// Places and bars these were solved with.
    pub divided: Option<Mesh>,
}

impl Study {
    /// Buckling lengths of a member in a combination, mm, about y and about z; `None`: its whole or held length.
    pub fn buckling_mm(&self, combination: usize, member: usize) -> Option<[f64; 2]> {
        self.columns.get(combination)?.iter().find(|c| c.member == member).map(|c| c.length_mm)
    }

    /// How columns were judged.
    pub fn columns_found(&self, combined: &[Combined]) -> Columns {
        let mut second_order: Vec<String> = Vec::new();
        for second in &self.second_order {
            let name = &combined[second.combination].name;
            if second_order.last() != Some(name) {
                second_order.push(name.clone());
            }
        }
        Columns { by_frame: self.columns.iter().flatten().map(|c| c.member).collect(), second_order }
    }

    /// True where a combination's forces come from second order.
    pub fn is_second_order(&self, combination: usize) -> bool {
        self.second_order.iter().any(|s| s.combination == combination)
    }
}

/// Studies a solved frame.
///
/// # Errors
/// [`CheckError::Stopped`], [`CheckError::TooLarge`].
pub fn study(analysis: &Analysis<'_>, combined: &[Combined], stop: &dyn Fn() -> bool) -> Result<Study, CheckError> {
    let mut study = pressed(analysis, combined, stop)?;
    if analysis.system.order() == 0 {
        return Ok(study);
    }
    let shaking = vibration::lowest(analysis, 1, stop)?;
    if let Some(lowest) = shaking.first() {
        frequency(analysis, lowest, &mut study);
    }
    let levels: Vec<usize> =
        (0..combined.len()).filter(|c| combined[*c].limit_state == LimitState::SagInstant).collect();
    drift(analysis, combined, &levels, &mut study);
    nothing_of_a_part(analysis, &mut study);
    Ok(study)
}

/// Buckling and second order of the strength combinations, without frequency and drift: what members are judged by.
///
/// # Errors
/// [`CheckError::Stopped`], [`CheckError::TooLarge`].
pub fn pressed(analysis: &Analysis<'_>, combined: &[Combined], stop: &dyn Fn() -> bool) -> Result<Study, CheckError> {
    let mut study = Study { columns: vec![Vec::new(); combined.len()], ..Study::default() };
    if analysis.system.order() == 0 {
        return Ok(study);
    }
    let strength: Vec<usize> =
        (0..combined.len()).filter(|c| combined[*c].limit_state == LimitState::Strength).collect();
    let terms: Vec<&[(usize, f64)]> = strength.iter().map(|c| combined[*c].terms.as_slice()).collect();
    let mut buckled = buckling::study(analysis, &terms, stop)?;
    for (combination, state) in strength.iter().zip(&mut buckled.states) {
        study.columns[*combination] = std::mem::take(&mut state.columns);
    }
    second_order(analysis, combined, &strength, &buckled, &mut study, stop)?;
    lines(analysis, combined, &strength, &buckled, &mut study)?;
    nothing_of_a_part(analysis, &mut study);
    Ok(study)
}

/// Of a frame that lacks members nothing is said as a whole; its columns and what can nearly move still count.
fn nothing_of_a_part(analysis: &Analysis<'_>, study: &mut Study) {
    if analysis.untold.contains(&true) {
        study.stability = Stability::default();
        study.checks.clear();
    }
}

/// Second order where the frame sways at under ten times its loads.
fn second_order(
    analysis: &Analysis<'_>,
    combined: &[Combined],
    strength: &[usize],
    buckled: &Buckling,
    study: &mut Study,
    stop: &dyn Fn() -> bool,
) -> Result<(), CheckError> {
    let soft = |state: &Buckled| state.sways && state.factor < SWAY_LOOKED_AT && state.factor > NEARLY_LOOSE;
    if !buckled.states.iter().any(soft) {
        return Ok(());
    }
    let Some(base) = second_order::Base::new(analysis, &buckled.parts)? else { return Ok(()) };
    for (combination, state) in strength.iter().zip(&buckled.states).filter(|(_, state)| soft(state)) {
        if stop() {
            return Err(CheckError::Stopped);
        }
        let mut ways = Vec::new();
        for (side, bowed) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
            let lean = scale(state.direction, side);
            let bow = if bowed > 0.0 { "bowed with it" } else { "bowed against it" };
            let name = format!("{}; leaning {}, {bow}", combined[*combination].name, way(lean));
            let solved = base.leaning(&combined[*combination].terms, lean, bowed);
            ways.extend(solved.map(|leaning| SecondOrder { combination: *combination, name, leaning }));
        }
        // Without an equilibrium some way the buckling factor stands for it.
        if ways.len() == 4 {
            study.second_order.extend(ways);
        }
    }
    study.divided = Some(base.mesh);
    Ok(())
}

/// A level direction in words.
fn way(lean: Vector) -> &'static str {
    match (lean[0].abs() >= lean[1].abs(), lean[0] > 0.0, lean[1] > 0.0) {
        (true, true, _) => "rearwards",
        (true, false, _) => "forwards",
        (false, _, true) => "to the right",
        (false, _, false) => "to the left",
    }
}

/// Lines for the findings, the check of the worst buckling factor, and the fault where it is under one.
fn lines(
    analysis: &Analysis<'_>,
    combined: &[Combined],
    strength: &[usize],
    buckled: &Buckling,
    study: &mut Study,
) -> Result<(), CheckError> {
    let tag = |member: &usize| analysis.frame.design().members[*member].tag.clone();
    let mut worst: Option<(usize, f64)> = None;
    for (index, (combination, state)) in strength.iter().zip(&buckled.states).enumerate() {
        study.stability.lines.push(StabilityLine {
            combination: combined[*combination].name.clone(),
            buckling_factor: Some(state.factor).filter(|f| *f <= TOLD),
            sways: state.sways,
            second_order: study.is_second_order(*combination),
            members: state.members.iter().map(tag).collect(),
        });
        // Equal ones to a hair go to the first.
        if state.factor <= TOLD && worst.is_none_or(|(_, least)| state.factor < least * (1.0 - 1e-9)) {
            worst = Some((index, state.factor));
        }
    }
    let Some((index, factor)) = worst else { return Ok(()) };
    let name = &combined[strength[index]].name;
    study.checks.push(whole(CheckKind::FrameBuckling, "buckling factor of the frame (P)", name, (ASKED, factor, "1")));
    // A mode that does not settle has no shape to tell of; its factor stands in the check above all the same.
    if factor < NEARLY_LOOSE
        && let Some((mesh, shape)) = buckling::in_detail(analysis, &combined[strength[index]].terms, &buckled.parts)?
    {
        let found = mechanism::describe(analysis.frame, &mesh, &shape).0;
        study.faults.extend(nearly(found, None, Some(factor), name));
    }
    Ok(())
}

/// The check of the lowest frequency, and the fault where it is under one.
fn frequency(analysis: &Analysis<'_>, lowest: &Vibration, study: &mut Study) {
    let hz = lowest.frequency_hz;
    study.stability.frequency_hz = Some(hz);
    study.checks.push(whole(CheckKind::Frequency, "lowest frequency (P)", "everything aboard", (ASKED, hz, "Hz")));
    if hz < NEARLY_LOOSE {
        let found = mechanism::describe(analysis.frame, &analysis.system.mesh, &lowest.shape).0;
        study.faults.extend(nearly(found, Some(hz), None, ""));
    }
}

/// The check of the drift under notional loads.
fn drift(analysis: &Analysis<'_>, combined: &[Combined], levels: &[usize], study: &mut Study) {
    let terms: Vec<&[(usize, f64)]> = levels.iter().map(|c| combined[*c].terms.as_slice()).collect();
    let Some((worst, stiffness)) = sway::drift(analysis, &terms) else { return };
    study.stability.sway_stiffness_n_mm = Some(stiffness).filter(|s| s.iter().all(|s| s.is_finite()));
    let name = &combined[levels[worst.combination]].name;
    let limit = worst.height_mm / HEIGHT_OVER_DRIFT;
    let mut check =
        whole(CheckKind::Sway, "drift under notional loads, height/150 (P)", name, (worst.drift_mm, limit, "mm"));
    check.at_mm = worst.at_mm;
    check.point_mm = analysis.frame.members[worst.member].point(worst.at_mm);
    check.factors = vec![Factor { name: "h".into(), value: worst.height_mm }];
    study.checks.push(check);
}

/// A check of the frame as a whole.
fn whole(kind: CheckKind, clause: &str, combination: &str, (demand, resistance, unit): (f64, f64, &str)) -> Check {
    let utilisation = demand / resistance;
    Check {
        tag: "design".into(),
        member_kind: "frame".into(),
        kind,
        clause: clause.into(),
        at_mm: 0.0,
        point_mm: [0.0; 3],
        combination: combination.into(),
        forces: SectionForces::default(),
        demand,
        resistance,
        unit: unit.into(),
        utilisation,
        verdict: Verdict::of(utilisation),
        factors: Vec::new(),
        mend: None,
    }
}

/// A motion that meets nearly no resistance.
fn nearly(motion: Fault, hz: Option<f64>, factor: Option<f64>, combination: &str) -> Option<Fault> {
    let Fault::Mechanism { members, motion, direction } = motion else { return None };
    let combination = combination.to_owned();
    Some(Fault::NearMechanism { members, motion, direction, frequency_hz: hz, buckling_factor: factor, combination })
}
