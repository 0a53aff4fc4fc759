//! Any findings, whether they make sense or not.

use super::any_design::{number, text, value, vector};
use super::any_stability::{headroom, hold_down, stability};
use battenboard_engine::findings::{
    Assumption, AssumptionCode, AxleLine, Check, CheckKind, Combination, Equations, Extreme, Factor, Fault, Findings,
    LimitState, LoadState, MassLine, MemberResults, Mend, Motion, NotChecked, PlaceResults, PointForces, Results,
    SectionForces, Share, StateResults, Unchecked, Verdict, WeightTable,
};
use proptest::{collection::vec, option, prelude::*};

/// Findings without anything found.
pub(super) fn plain() -> Findings {
    Findings {
        shape: 1,
        engine_version: "0.1.0".into(),
        engine_fingerprint: "00".into(),
        verdict: Verdict::Holds,
        faults: Vec::new(),
        checks: Vec::new(),
        not_checked: Vec::new(),
        weight: WeightTable::default(),
        assumptions: Vec::new(),
        shares: Vec::new(),
        combinations: Vec::new(),
        equations: Equations::default(),
        stability: Default::default(),
        hold_downs: Vec::new(),
        headroom: Vec::new(),
        results: None,
    }
}

prop_compose! {
    pub(super) fn findings()(
        (shape, engine_version, engine_fingerprint) in (any::<u32>(), text(), text()),
        verdict in value::<Verdict>(),
        faults in vec(fault(), 0..4),
        checks in vec(check(), 0..3),
        not_checked in vec(
            (text(), value::<Unchecked>()).prop_map(|(tag, what)| NotChecked { tag, what }), 0..3
        ),
        weight in weight(),
        assumptions in vec(assumption(), 0..3),
        shares in vec(share(), 0..3),
        combinations in vec(combination(), 0..3),
        equations in equations(),
        (stability, hold_downs, headroom) in (stability(), vec(hold_down(), 0..3), vec(headroom(), 0..3)),
        results in option::of(vec(state(), 0..2).prop_map(|states| Results { states })),
    ) -> Findings {
        Findings {
            shape, engine_version, engine_fingerprint, verdict, faults, checks, not_checked, weight, assumptions,
            shares, combinations, equations, stability, hold_downs, headroom, results,
        }
    }
}

fn tags() -> impl Strategy<Value = Vec<String>> {
    vec(text(), 0..3)
}

fn fault() -> impl Strategy<Value = Fault> {
    prop_oneof![
        (tags(), value::<Motion>(), vector()).prop_map(|(members, motion, direction)| Fault::Mechanism {
            members,
            motion,
            direction
        }),
        near_mechanism(),
        tags().prop_map(|members| Fault::Disconnected { members }),
        (text(), text(), number()).prop_map(|(on, member, gap_mm)| Fault::Gap { on, member, gap_mm }),
        text().prop_map(|anchor| Fault::Contradiction { anchor }),
        (text(), text(), number()).prop_map(|(stiffest, softest, condition)| Fault::IllConditioned {
            stiffest,
            softest,
            condition
        }),
    ]
}

prop_compose! {
    fn near_mechanism()(
        (members, motion, direction) in (tags(), value::<Motion>(), vector()),
        (frequency_hz, buckling_factor) in (option::of(number()), option::of(number())),
        combination in text(),
    ) -> Fault {
        Fault::NearMechanism { members, motion, direction, frequency_hz, buckling_factor, combination }
    }
}

fn forces() -> impl Strategy<Value = SectionForces> {
    (vector(), vector()).prop_map(|([n_n, vy_n, vz_n], [t_n_mm, my_n_mm, mz_n_mm])| SectionForces {
        n_n,
        vy_n,
        vz_n,
        t_n_mm,
        my_n_mm,
        mz_n_mm,
    })
}

fn factors() -> impl Strategy<Value = Vec<Factor>> {
    vec((text(), number()).prop_map(|(name, value)| Factor { name, value }), 0..3)
}

prop_compose! {
    fn mend()(
        (members, from_stock, to_stock, next_worst_tag) in (tags(), text(), text(), text()),
        [utilisation, mass_change_kg, next_worst] in vector(),
    ) -> Mend {
        Mend { members, from_stock, to_stock, utilisation, mass_change_kg, next_worst, next_worst_tag }
    }
}

prop_compose! {
    fn check()(
        (tag, member_kind, kind, clause) in (text(), text(), value::<CheckKind>(), text()),
        (at_mm, point_mm, combination, forces) in (number(), vector(), text(), forces()),
        ([demand, resistance, utilisation], unit) in (vector(), text()),
        (verdict, factors, mend) in (value::<Verdict>(), factors(), option::of(mend())),
    ) -> Check {
        Check {
            tag, member_kind, kind, clause, at_mm, point_mm, combination, forces, demand, resistance, unit,
            utilisation, verdict, factors, mend,
        }
    }
}

fn masses() -> impl Strategy<Value = Vec<MassLine>> {
    vec((text(), number()).prop_map(|(name, mass_kg)| MassLine { name, mass_kg }), 0..3)
}

prop_compose! {
    fn axle()(
        (state, front_kg, rear_kg) in (value::<LoadState>(), number(), number()),
        (right_minus_left_kg, front_left_kg) in (option::of(number()), option::of(number())),
        (rear_left_kg, payload_left_kg) in (option::of(number()), option::of(number())),
    ) -> AxleLine {
        AxleLine { state, front_kg, rear_kg, right_minus_left_kg, front_left_kg, rear_left_kg, payload_left_kg }
    }
}

prop_compose! {
    fn weight()(
        [frame_kg, fixings_kg, bedding_kg] in vector(),
        (stowage_kg, total_kg, centre_mm) in (number(), number(), vector()),
        (by_stock, by_kind, axles, missing) in (masses(), masses(), vec(axle(), 0..3), tags()),
        least_payload_kg in option::of(number()),
    ) -> WeightTable {
        WeightTable {
            frame_kg, fixings_kg, bedding_kg, stowage_kg, total_kg, centre_mm, by_stock, by_kind, axles, missing,
            least_payload_kg,
        }
    }
}

fn assumption() -> impl Strategy<Value = Assumption> {
    (value::<AssumptionCode>(), tags(), option::of(number())).prop_map(|(code, about, value)| Assumption {
        code,
        about,
        value,
    })
}

fn share() -> impl Strategy<Value = Share> {
    (text(), number(), number(), text()).prop_map(|(anchor, equal_kg, computed_kg, combination)| Share {
        anchor,
        equal_kg,
        computed_kg,
        combination,
    })
}

prop_compose! {
    fn combination()(
        (name, limit_state, terms) in (text(), value::<LimitState>(), factors()),
        (k_mod, load_sum_n, reaction_sum_n, residual) in (number(), vector(), vector(), number()),
    ) -> Combination {
        Combination { name, limit_state, terms, k_mod, load_sum_n, reaction_sum_n, residual }
    }
}

fn equations() -> impl Strategy<Value = Equations> {
    // The wire counts to 2^63 - 1.
    (0..=i64::MAX as u64, 0..=i64::MAX as u64, number()).prop_map(|(unknowns, factor_nonzeros, condition)| Equations {
        unknowns,
        factor_nonzeros,
        condition,
    })
}

fn places() -> impl Strategy<Value = Vec<PlaceResults>> {
    let place = (number(), vector(), vector(), forces(), forces()).prop_map(
        |(at_mm, [x, y, z], [turn_x, turn_y, turn_z], forces_before, forces_after)| PlaceResults {
            at_mm,
            displacement: [x, y, z, turn_x, turn_y, turn_z],
            forces_before,
            forces_after,
        },
    );
    vec(place, 0..2)
}

fn extremes() -> impl Strategy<Value = Vec<Extreme>> {
    let extreme =
        (text(), vector(), number()).prop_map(|(quantity, [least, least_at_mm, greatest], greatest_at_mm)| Extreme {
            quantity,
            least,
            least_at_mm,
            greatest,
            greatest_at_mm,
        });
    vec(extreme, 0..2)
}

fn points() -> impl Strategy<Value = Vec<PointForces>> {
    let point =
        (text(), vector(), vector()).prop_map(|(tag, force_n, moment_n_mm)| PointForces { tag, force_n, moment_n_mm });
    vec(point, 0..2)
}

fn state() -> impl Strategy<Value = StateResults> {
    let member =
        (text(), places(), extremes()).prop_map(|(tag, places, extremes)| MemberResults { tag, places, extremes });
    let what = (text(), any::<bool>(), option::of(value::<LimitState>()));
    (what, vec(member, 0..2), points(), points()).prop_map(
        |((name, combined, limit_state), members, reactions, joints)| StateResults {
            name,
            combined,
            limit_state,
            members,
            reactions,
            joints,
        },
    )
}
