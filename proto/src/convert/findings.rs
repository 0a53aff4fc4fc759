//! Findings as a whole, their checks, assumptions, shares and combinations.

use super::{
    onwire::{OnWire, list, list_to_wire, optional, required, required_value, whole},
    path::Path,
};
use crate::v1;
use battenboard_engine::{
    design::Violation,
    findings::{
        Assumption, AssumptionCode, Check, CheckKind, Combination, Equations, Factor, Findings, LimitState, Mend,
        NotChecked, Results, Share, Unchecked, Verdict,
    },
};

impl OnWire for Findings {
    type Wire = v1::Findings;

    fn to_wire(&self) -> v1::Findings {
        let Self {
            shape,
            engine_version,
            engine_fingerprint,
            verdict,
            faults,
            checks,
            not_checked,
            weight,
            assumptions,
            shares,
            combinations,
            equations,
            stability,
            hold_downs,
            headroom,
            results,
        } = self;
        v1::Findings {
            shape: i64::from(*shape),
            engine_version: engine_version.clone(),
            engine_fingerprint: engine_fingerprint.clone(),
            verdict: verdict.to_wire(),
            faults: list_to_wire(faults),
            checks: list_to_wire(checks),
            not_checked: list_to_wire(not_checked),
            weight: Some(weight.to_wire()),
            assumptions: list_to_wire(assumptions),
            shares: list_to_wire(shares),
            combinations: list_to_wire(combinations),
            equations: Some(equations.to_wire()),
            stability: Some(stability.to_wire()),
            hold_downs: list_to_wire(hold_downs),
            headroom: list_to_wire(headroom),
            results: results.as_ref().map(Results::to_wire),
        }
    }

    fn from_wire(wire: v1::Findings, at: &Path<'_>, violations: &mut Vec<Violation>) -> Option<Self> {
        let v1::Findings {
            shape,
            engine_version,
            engine_fingerprint,
            verdict,
            faults,
            checks,
            not_checked,
            weight,
            assumptions,
            shares,
            combinations,
            equations,
            stability,
            hold_downs,
            headroom,
            results,
        } = wire;
        let shape = whole(shape, &at.field("shape"), violations);
        let verdict = Verdict::from_wire(verdict, &at.field("verdict"), violations);
        let faults = list(faults, &at.field("faults"), violations);
        let checks = list(checks, &at.field("checks"), violations);
        let not_checked = list(not_checked, &at.field("not_checked"), violations);
        let weight = required(weight, &at.field("weight"), violations);
        let assumptions = list(assumptions, &at.field("assumptions"), violations);
        let shares = list(shares, &at.field("shares"), violations);
        let combinations = list(combinations, &at.field("combinations"), violations);
        let equations = required(equations, &at.field("equations"), violations);
        // Findings that an older server kept have none of these.
        let stability = optional(stability, &at.field("stability"), violations);
        let hold_downs = list(hold_downs, &at.field("hold_downs"), violations);
        let headroom = list(headroom, &at.field("headroom"), violations);
        let results = optional(results, &at.field("results"), violations);
        Some(Self {
            shape: shape?,
            engine_version,
            engine_fingerprint,
            verdict: verdict?,
            faults: faults?,
            checks: checks?,
            not_checked: not_checked?,
            weight: weight?,
            assumptions: assumptions?,
            shares: shares?,
            combinations: combinations?,
            equations: equations?,
            stability: stability?.unwrap_or_default(),
            hold_downs: hold_downs?,
            headroom: headroom?,
            results: results?,
        })
    }
}

impl OnWire for Check {
    type Wire = v1::Check;

    fn to_wire(&self) -> v1::Check {
        let Self {
            tag,
            member_kind,
            kind,
            clause,
            at_mm,
            point_mm,
            combination,
            forces,
            demand,
            resistance,
            unit,
            utilisation,
            verdict,
            factors,
            mend,
        } = self;
        v1::Check {
            tag: tag.clone(),
            member_kind: member_kind.clone(),
            kind: kind.to_wire(),
            clause: clause.clone(),
            at_mm: *at_mm,
            point: Some((*point_mm).into()),
            combination: combination.clone(),
            forces: Some(forces.to_wire()),
            demand: *demand,
            resistance: *resistance,
            unit: unit.clone(),
            utilisation: *utilisation,
            verdict: verdict.to_wire(),
            factors: list_to_wire(factors),
            mend: mend.as_ref().map(Mend::to_wire),
        }
    }

    fn from_wire(wire: v1::Check, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Check {
            tag,
            member_kind,
            kind,
            clause,
            at_mm,
            point,
            combination,
            forces,
            demand,
            resistance,
            unit,
            utilisation,
            verdict,
            factors,
            mend,
        } = wire;
        let kind = CheckKind::from_wire(kind, &at.field("kind"), faults);
        let point_mm = required_value(point, &at.field("point"), faults);
        let forces = required(forces, &at.field("forces"), faults);
        let verdict = Verdict::from_wire(verdict, &at.field("verdict"), faults);
        let factors = list(factors, &at.field("factors"), faults);
        let mend = optional(mend, &at.field("mend"), faults);
        Some(Self {
            tag,
            member_kind,
            kind: kind?,
            clause,
            at_mm,
            point_mm: point_mm?,
            combination,
            forces: forces?,
            demand,
            resistance,
            unit,
            utilisation,
            verdict: verdict?,
            factors: factors?,
            mend: mend?,
        })
    }
}

impl OnWire for Factor {
    type Wire = v1::Factor;

    fn to_wire(&self) -> v1::Factor {
        let Self { name, value } = self;
        v1::Factor { name: name.clone(), value: *value }
    }

    fn from_wire(wire: v1::Factor, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Factor { name, value } = wire;
        Some(Self { name, value })
    }
}

impl OnWire for Mend {
    type Wire = v1::Mend;

    fn to_wire(&self) -> v1::Mend {
        let Self { members, from_stock, to_stock, utilisation, mass_change_kg, next_worst, next_worst_tag } = self;
        v1::Mend {
            members: members.clone(),
            from_stock: from_stock.clone(),
            to_stock: to_stock.clone(),
            utilisation: *utilisation,
            mass_change_kg: *mass_change_kg,
            next_worst: *next_worst,
            next_worst_tag: next_worst_tag.clone(),
        }
    }

    fn from_wire(wire: v1::Mend, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Mend { members, from_stock, to_stock, utilisation, mass_change_kg, next_worst, next_worst_tag } = wire;
        Some(Self { members, from_stock, to_stock, utilisation, mass_change_kg, next_worst, next_worst_tag })
    }
}

impl OnWire for NotChecked {
    type Wire = v1::NotChecked;

    fn to_wire(&self) -> v1::NotChecked {
        let Self { tag, what } = self;
        v1::NotChecked { tag: tag.clone(), what: what.to_wire() }
    }

    fn from_wire(wire: v1::NotChecked, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::NotChecked { tag, what } = wire;
        Some(Self { tag, what: Unchecked::from_wire(what, &at.field("what"), faults)? })
    }
}

impl OnWire for Assumption {
    type Wire = v1::Assumption;

    fn to_wire(&self) -> v1::Assumption {
        let Self { code, about, value } = self;
        v1::Assumption { code: code.to_wire(), about: about.clone(), value: *value }
    }

    fn from_wire(wire: v1::Assumption, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Assumption { code, about, value } = wire;
        Some(Self { code: AssumptionCode::from_wire(code, &at.field("code"), faults)?, about, value })
    }
}

impl OnWire for Share {
    type Wire = v1::Share;

    fn to_wire(&self) -> v1::Share {
        let Self { anchor, equal_kg, computed_kg, combination } = self;
        v1::Share {
            anchor: anchor.clone(),
            equal_kg: *equal_kg,
            computed_kg: *computed_kg,
            combination: combination.clone(),
        }
    }

    fn from_wire(wire: v1::Share, _at: &Path<'_>, _faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Share { anchor, equal_kg, computed_kg, combination } = wire;
        Some(Self { anchor, equal_kg, computed_kg, combination })
    }
}

impl OnWire for Combination {
    type Wire = v1::Combination;

    fn to_wire(&self) -> v1::Combination {
        let Self { name, limit_state, terms, k_mod, load_sum_n, reaction_sum_n, residual } = self;
        v1::Combination {
            name: name.clone(),
            limit_state: limit_state.to_wire(),
            terms: list_to_wire(terms),
            k_mod: *k_mod,
            load_sum: Some((*load_sum_n).into()),
            reaction_sum: Some((*reaction_sum_n).into()),
            residual: *residual,
        }
    }

    fn from_wire(wire: v1::Combination, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Combination { name, limit_state, terms, k_mod, load_sum, reaction_sum, residual } = wire;
        let limit_state = LimitState::from_wire(limit_state, &at.field("limit_state"), faults);
        let terms = list(terms, &at.field("terms"), faults);
        let load_sum_n = required_value(load_sum, &at.field("load_sum"), faults);
        let reaction_sum_n = required_value(reaction_sum, &at.field("reaction_sum"), faults);
        Some(Self {
            name,
            limit_state: limit_state?,
            terms: terms?,
            k_mod,
            load_sum_n: load_sum_n?,
            reaction_sum_n: reaction_sum_n?,
            residual,
        })
    }
}

impl OnWire for Equations {
    type Wire = v1::Equations;

    fn to_wire(&self) -> v1::Equations {
        let Self { unknowns, factor_nonzeros, condition } = *self;
        // No memory holds 2^63 numbers; the wire has no unsigned integers.
        let count = |number: u64| i64::try_from(number).unwrap_or(i64::MAX);
        v1::Equations { unknowns: count(unknowns), factor_nonzeros: count(factor_nonzeros), condition }
    }

    fn from_wire(wire: v1::Equations, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
        let v1::Equations { unknowns, factor_nonzeros, condition } = wire;
        let unknowns = whole(unknowns, &at.field("unknowns"), faults);
        let factor_nonzeros = whole(factor_nonzeros, &at.field("factor_nonzeros"), faults);
        Some(Self { unknowns: unknowns?, factor_nonzeros: factor_nonzeros?, condition })
    }
}
