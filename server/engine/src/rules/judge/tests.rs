#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

mod bounds;
mod inside;

use super::*;
use crate::design::Section;
use crate::rules::strength::lateral as lateral_rules;
use crate::rules::strength::lateral::Row;
use crate::tables::timber::class;
use proptest::prelude::*;

fn resistance(width_mm: f64, depth_mm: f64, length: f64) -> Resistance {
    Resistance::new(&Section::Rectangle { width_mm, depth_mm }, class("C24").unwrap(), length, length)
}

fn subject<'a>(resistance: Option<Resistance>, length_mm: f64, supports_mm: &'a [f64]) -> Subject<'a> {
    Subject {
        tag: "B1",
        kind: "bearer",
        from: [100.0, 200.0, 300.0],
        along: [0.0, 1.0, 0.0],
        length_mm,
        resistance,
        metal: None,
        shear_stiffness_n: [None; 2],
        supports_mm,
        unheld: &[],
        limits: SagLimits::new("bearer", None),
        sag_limit_mm: None,
    }
}

fn find(checks: &[Check], kind: CheckKind) -> Check {
    checks.iter().find(|check| check.kind == kind).unwrap_or_else(|| panic!("no {kind:?}")).clone()
}

fn close(left: f64, right: f64) {
    assert!((left - right).abs() <= 1e-9 * right.abs().max(1e-12), "{left} against {right}");
}

/// Simple beam under an even load w downwards: N = 0, V' = w, M' = V, E I u'' = -M.
fn simple_beam(w: f64, length: f64, stiffness: f64) -> Piece {
    Piece {
        to_mm: length,
        vz: [-w * length / 2.0, w, 0.0],
        my: [0.0, -w * length / 2.0, w / 2.0, 0.0],
        uz: [0.0, -w * length.powi(3) / 24.0, 0.0, w * length / 12.0, -w / 24.0, 0.0].map(|c| c / stiffness),
        ..Piece::default()
    }
}

#[test]
fn simple_beam_by_hand() {
    let (w, length) = (2.0, 1900.0);
    let stiffness = 11_000.0 * 70.0 * 120f64.powi(3) / 12.0;
    let pieces = [simple_beam(w, length, stiffness)];
    let state =
        |limit_state| State { combination: "both asleep", limit_state, k_mod: 0.8, buckling_mm: None, pieces: &pieces };
    let states = [LimitState::Strength, LimitState::SagInstant, LimitState::SagFinal].map(state);
    let member = subject(Some(resistance(70.0, 120.0, length)), length, &[0.0, 1900.0]);
    let checks = judge(&member, &states);
    assert_eq!(
        checks.iter().map(|check| check.kind).collect::<Vec<_>>(),
        [CheckKind::Bending, CheckKind::Shear, CheckKind::SagInstant, CheckKind::SagFinal]
    );
    let bending = find(&checks, CheckKind::Bending);
    close(bending.at_mm, 950.0);
    assert_eq!(bending.point_mm, [100.0, 1150.0, 300.0]);
    close(bending.demand, w * length * length / 8.0 / (70.0 * 120.0 * 120.0 / 6.0));
    assert_eq!((bending.unit.as_str(), bending.combination.as_str()), ("N/mm2", "both asleep"));
    let shear = find(&checks, CheckKind::Shear);
    close(shear.demand, 1.5 * w * length / 2.0 / (0.67 * 70.0 * 120.0));
    assert_eq!(shear.at_mm, 0.0);
    let sag = find(&checks, CheckKind::SagFinal);
    close(sag.demand, 5.0 * w * length.powi(4) / (384.0 * stiffness));
    close(sag.at_mm, 950.0);
    close(sag.resistance, 1900.0 / 250.0);
    close(find(&checks, CheckKind::SagInstant).resistance, 1900.0 / 300.0);
}

/// A cantilever with a tip load: sag P L³/3EI + P L/(G A_s), though its axis leaves the support at an angle.
#[test]
fn cantilever_keeps_its_shear_sag() {
    let (load, length, stiffness, shear_stiffness) = (500.0, 600.0, 5.0e9, 4.0e6);
    let piece = Piece {
        to_mm: length,
        vz: [-load, 0.0, 0.0],
        my: [load * length, -load, 0.0, 0.0],
        // u' = -theta + V/(G A_s)
        uz: [0.0, -load / shear_stiffness, -load * length / (2.0 * stiffness), load / (6.0 * stiffness), 0.0, 0.0],
        ..Piece::default()
    };
    let pieces = [piece];
    let states =
        [State { combination: "c", limit_state: LimitState::SagFinal, k_mod: 1.0, buckling_mm: None, pieces: &pieces }];
    let mut member = subject(None, length, &[0.0]);
    member.shear_stiffness_n = [None, Some(shear_stiffness)];
    let sag = find(&judge(&member, &states), CheckKind::SagFinal);
    close(sag.demand, load * length.powi(3) / (3.0 * stiffness) + load * length / shear_stiffness);
    close(sag.resistance, 600.0 / 125.0);
    close(sag.at_mm, 600.0);
    // Moved and turned as a stiff body with its support it sags no more.
    let mut moved = piece;
    moved.uz[0] += 12.0;
    moved.uz[1] += 0.02;
    let pieces = [moved];
    let states = [State { pieces: &pieces, ..states[0] }];
    close(find(&judge(&member, &states), CheckKind::SagFinal).demand, sag.demand);
}

/// Two spans that sag alike: the first is named.
#[test]
fn of_equal_sags_the_first_is_named() {
    let one = simple_beam(2.0, 1000.0, 1e9);
    let pieces = [one, Piece { from_mm: 1000.0, to_mm: 2000.0, ..one }];
    let states =
        [State { combination: "c", limit_state: LimitState::SagFinal, k_mod: 1.0, buckling_mm: None, pieces: &pieces }];
    let sag = find(&judge(&subject(None, 2000.0, &[0.0, 1000.0, 2000.0]), &states), CheckKind::SagFinal);
    close(sag.at_mm, 500.0);
    let straight = [Piece { to_mm: 2000.0, ..Piece::default() }];
    let states = [State { pieces: &straight, ..states[0] }];
    assert_eq!(find(&judge(&subject(None, 2000.0, &[0.0, 2000.0]), &states), CheckKind::SagFinal).at_mm, 0.0);
}

/// An even curve c x² over 1.4 m in two pieces, held at 0 and 1 m, one of the pieces reaching over the hold: past it the
/// member leaves the chord by c (1.4² - 1.4) m².
#[test]
fn a_piece_may_reach_over_a_hold() {
    let c = -1e-5;
    let curve = |from_mm: f64, to_mm: f64| {
        let uz = [c * from_mm * from_mm, 2.0 * c * from_mm, c, 0.0, 0.0, 0.0];
        Piece { from_mm, to_mm, uz, ..Piece::default() }
    };
    let pieces = [curve(0.0, 800.0), curve(800.0, 1400.0)];
    let states = [State {
        combination: "c",
        limit_state: LimitState::SagInstant,
        k_mod: 1.0,
        buckling_mm: None,
        pieces: &pieces,
    }];
    let sag = find(&judge(&subject(None, 1400.0, &[0.0, 1000.0]), &states), CheckKind::SagInstant);
    close(sag.demand, 5.6);
    close(sag.at_mm, 1400.0);
}

/// An overhang is measured from its back-span's line and never more strictly limited than that span.
#[test]
fn overhang_follows_its_back_span() {
    // The whole member turned as a stiff body, then the overhang bent: only the bending counts.
    let straight = Piece { to_mm: 1000.0, uz: [3.0, 0.01, 0.0, 0.0, 0.0, 0.0], ..Piece::default() };
    let bent = Piece { from_mm: 1000.0, to_mm: 1400.0, uz: [13.0, 0.01, -2e-5, 0.0, 0.0, 0.0], ..Piece::default() };
    let pieces = [straight, bent];
    let states = [State {
        combination: "c",
        limit_state: LimitState::SagInstant,
        k_mod: 1.0,
        buckling_mm: None,
        pieces: &pieces,
    }];
    let mut member = subject(None, 1400.0, &[0.0, 1000.0]);
    member.sag_limit_mm = Some(20.0);
    let checks = judge(&member, &states);
    let sag = find(&checks, CheckKind::SagInstant);
    close(sag.demand, 2e-5 * 160_000.0);
    close(sag.resistance, 1000.0 / 300.0);
    let stated = find(&checks, CheckKind::SagStated);
    // Greatest where 0.01 = 4e-5 s, 250 mm out: 13 + 2.5 - 1.25.
    close(stated.demand, 14.25);
    close(stated.at_mm, 1250.0);
    assert_eq!(stated.resistance, 20.0);
}

/// Where two pieces meet the earlier holds the place.
#[test]
fn a_joint_belongs_to_the_earlier_piece() {
    let pieces = [0.0, 100.0].map(|from_mm| Piece { from_mm, to_mm: from_mm + 100.0, ..Piece::default() });
    let found = [0.0, 100.0, 100.1, 500.0].map(|at| piece_at(&pieces, at).map(|piece| piece.from_mm));
    assert_eq!(found, [Some(0.0), Some(0.0), Some(100.0), Some(100.0)]);
}

/// Axial noise is no axial force; a slender member gives a column check, a stocky one (6.19).
#[test]
fn axial_force_chooses_the_checks() {
    let run = |n: f64, length: f64| {
        let pieces = [Piece { to_mm: length, n: [n, 0.0, 0.0], my: [1e5, 0.0, 0.0, 0.0], ..Piece::default() }];
        let states = [State {
            combination: "c",
            limit_state: LimitState::Strength,
            k_mod: 0.8,
            buckling_mm: None,
            pieces: &pieces,
        }];
        let member = subject(Some(resistance(70.0, 70.0, length)), length, &[]);
        judge(&member, &states).into_iter().map(|check| check.kind).collect::<Vec<_>>()
    };
    use CheckKind::{Bending, Column, CompressionBending, Shear, TensionBending};
    assert_eq!(run(1e-4, 1000.0), [Bending, Shear]);
    assert_eq!(run(-1e-4, 1000.0), [Bending, Shear]);
    assert_eq!(run(-1e-4, 300.0), [Bending, Shear]);
    assert_eq!(run(5000.0, 1000.0), [TensionBending, Bending, Shear]);
    assert_eq!(run(-5000.0, 1000.0), [Bending, Shear, Column]);
    assert_eq!(run(-5000.0, 300.0), [CompressionBending, Bending, Shear]);
}

fn polynomial<const N: usize>(scale: f64) -> impl Strategy<Value = [f64; N]> {
    proptest::collection::vec(-1.0_f64..1.0, N)
        .prop_map(move |c| std::array::from_fn(|power| c[power] * scale / 400f64.powi(power as i32)))
}

prop_compose! {
    fn piece()(
        n in polynomial::<3>(2e4), vy in polynomial::<3>(2e3), vz in polynomial::<3>(2e3),
        my in polynomial::<4>(8e5), mz in polynomial::<4>(4e5),
        uy in polynomial::<6>(4.0), uz in polynomial::<6>(4.0),
        flat in 0..4,
    ) -> Piece {
        let zero = |on: bool, value: [f64; 4]| if on { [0.0; 4] } else { value };
        Piece {
            from_mm: 0.0, to_mm: 400.0, n: if flat == 1 { [n[0], 0.0, 0.0] } else { n }, vy, vz, t: [0.0; 3],
            my: zero(flat == 3, my), mz: zero(flat == 2, mz), uy, uz,
        }
    }
}

proptest! {
    /// The governing utilisation is at least that of every sampled place of every state, and is what its own place
    /// and forces give.
    #[test]
    fn no_sampled_place_is_worse(pieces in proptest::collection::vec(piece(), 1..5), length in 150.0_f64..2000.0) {
        let shifted: Vec<Piece> = pieces.iter().enumerate().map(|(i, piece)| {
            let from_mm = 400.0 * i as f64;
            Piece { from_mm, to_mm: from_mm + 400.0, ..*piece }
        }).collect();
        let whole = 400.0 * shifted.len() as f64;
        let strength = resistance(45.0, 70.0, length);
        let supports = [0.0, 400.0 * (shifted.len() / 2) as f64, whole];
        let supports = if shifted.len() < 2 { &supports[..1] } else { &supports[..] };
        let member = subject(Some(strength), whole, supports);
        let state = |limit_state| State { combination: "c", limit_state, k_mod: 0.8, buckling_mm: None, pieces: &shifted };
        let states = [state(LimitState::Strength), state(LimitState::SagFinal)];
        let checks = judge(&member, &states);
        let stocky = strength.column_y.stocky() && strength.column_z.stocky();
        type Rule = (CheckKind, fn(&Resistance, f64, &SectionForces) -> f64, fn(f64) -> bool);
        let rules: [Rule; 5] = [
            (CheckKind::Bending, bending::utilisation, |_| true),
            (CheckKind::Shear, shear::utilisation, |_| true),
            (CheckKind::TensionBending, tension::utilisation, |n| n > 0.0),
            (CheckKind::Column, column::utilisation, |n| n < 0.0),
            (CheckKind::CompressionBending, compression::utilisation, |n| n < 0.0),
        ];
        for (kind, utilisation, counts) in rules {
            if kind == CheckKind::Column && stocky || kind == CheckKind::CompressionBending && !stocky {
                continue;
            }
            let mut worst = 0.0_f64;
            for piece in &shifted {
                for step in 0..=800 {
                    let forces = piece.forces(f64::from(step) * 0.5);
                    if counts(forces.n_n) {
                        worst = worst.max(utilisation(&strength, 0.8, &forces));
                    }
                }
            }
            let found = checks.iter().find(|check| check.kind == kind);
            // Where the axial force vanishes the check passes into plain bending, which covers the open end.
            let bending_there = find(&checks, CheckKind::Bending).utilisation;
            let covered = found.map_or(0.0, |check| check.utilisation).max(bending_there);
            let alone = matches!(kind, CheckKind::Shear);
            let reached = if alone { found.unwrap().utilisation } else { covered };
            prop_assert!(reached >= worst * (1.0 - 1e-8), "{:?} {} {}", kind, reached, worst);
            if let Some(check) = found {
                let again = utilisation(&strength, 0.8, &check.forces);
                prop_assert!((again - check.utilisation).abs() <= 1e-9 * again);
                prop_assert!((check.demand / check.resistance - check.utilisation).abs() <= 1e-9 * again);
            }
        }
        if supports.len() == 3 {
            let sag = find(&checks, CheckKind::SagFinal);
            for window in supports.windows(2) {
                let ends = [0, 1].map(|axis| [
                    displacement_at(&shifted, axis, window[0]),
                    displacement_at(&shifted, axis, window[1]),
                ]);
                for piece in shifted.iter().filter(|p| p.from_mm >= window[0] && p.to_mm <= window[1]) {
                    for step in 0..=400 {
                        let s = f64::from(step);
                        let share = (piece.from_mm + s - window[0]) / (window[1] - window[0]);
                        for (axis, [start, end]) in ends.iter().enumerate() {
                            let chord = start + share * (end - start);
                            let d = (value(displacement(piece, axis), s) - chord).abs();
                            let used = d * 250.0 / (window[1] - window[0]);
                            prop_assert!(sag.utilisation >= used * (1.0 - 1e-8) - 1e-9, "{} {}", sag.utilisation, used);
                        }
                    }
                }
            }
        }
    }
}

proptest! {
    /// Torsion with shear, and lateral buckling over two stretches: no sampled place is worse than what was found.
    #[test]
    fn no_sampled_place_is_more_twisted_or_nearer_to_tipping(
        pieces in proptest::collection::vec((piece(), polynomial::<3>(4e4)), 1..4), stiff in 1.0_f64..4.0,
    ) {
        let pieces: Vec<Piece> = pieces.iter().enumerate().map(|(i, (piece, t))| {
            let from_mm = 400.0 * i as f64;
            Piece { from_mm, to_mm: from_mm + 400.0, t: *t, my: piece.my.map(|c| c * stiff), ..*piece }
        }).collect();
        let whole = 400.0 * pieces.len() as f64;
        // Thin enough to tip: 10 x 120.
        let strength = resistance(10.0, 120.0, whole);
        let stretches = [(0.0, 0.6 * whole, Row::Constant), (0.6 * whole, whole, Row::Overhang)]
            .map(|(from_mm, to_mm, row)| Unheld { from_mm, to_mm, row, safe_sign: 0.0 });
        let mut member = subject(Some(strength), whole, &[]);
        member.unheld = &stretches;
        let states =
            [State { combination: "c", limit_state: LimitState::Strength, k_mod: 0.8, buckling_mm: None, pieces: &pieces }];
        let checks = judge(&member, &states);
        let found = |kind| checks.iter().find(|check| check.kind == kind);
        // Where k_crit is 1 the checks of bending and of columns say what lateral buckling would.
        let reached = [CheckKind::LateralBuckling, CheckKind::Bending, CheckKind::Column]
            .into_iter()
            .filter_map(found)
            .map(|check| check.utilisation)
            .fold(0.0, f64::max);
        let mut worst = [0.0_f64; 3];
        // No row used here is shorter, so this k_crit is no less than what was used in either stretch.
        for piece in &pieces {
            for step in 0..=800 {
                let s = f64::from(step) * 0.5;
                let forces = piece.forces(s);
                // A torsion of less than a hundredth of its strength is said only where it decides.
                let twist = torsion::per_moment(&strength, 0.8) * forces.t_n_mm.abs();
                worst[0] = worst[0].max(if twist >= 0.01 { torsion::utilisation(&strength, 0.8, &forces) } else { 0.0 });
                let at = piece.from_mm + s;
                let length = if at < 0.6 * whole { 0.9 * 0.6 * whole } else { 2.0 * 0.4 * whole };
                let [alone, pressed] = lateral_rules::both(&strength, 0.8, &forces, length);
                (worst[1], worst[2]) = (worst[1].max(alone), worst[2].max(pressed));
            }
        }
        let by_twist = found(CheckKind::Torsion).map_or(0.0, |check| check.utilisation);
        prop_assert!(by_twist >= worst[0] * (1.0 - 1e-8), "{} {}", by_twist, worst[0]);
        if let Some(twisted) = found(CheckKind::Torsion) {
            let again = torsion::utilisation(&strength, 0.8, &twisted.forces);
            prop_assert!((again - twisted.utilisation).abs() <= 1e-9 * again);
        }
        prop_assert!(reached >= worst[1] * (1.0 - 1e-8), "{} {:?}", worst[1], checks);
        // Overloaded in bending, (6.35) has no greatest value: it leaps where the member passes into tension. It falls
        // short either way.
        let all = if worst[1] > 1.0 { 1.0 } else { worst[2] };
        prop_assert!(reached >= all * (1.0 - 1e-8), "{} {:?}", worst[2], checks);
        if let Some(tipping) = found(CheckKind::LateralBuckling) {
            let length = tipping.factors.iter().find(|f| f.name == "l_ef").unwrap().value;
            let again = lateral_rules::both(&strength, 0.8, &tipping.forces, length).into_iter().fold(0.0, f64::max);
            prop_assert!((again - tipping.utilisation).abs() <= 1e-9 * again);
        }
    }
}

/// Rows of table 6.1 from the moments of a simple beam 45 x 220, 4 m, by hand: an even load has 0.9 · 4000 + 2 · 220,
/// end moments alone 4000, a load with moments at the ends 4000 + 440.
#[test]
fn moments_choose_the_row() {
    let stretches = [Unheld { from_mm: 0.0, to_mm: 4000.0, row: Row::Constant, safe_sign: 0.0 }];
    let length = |pieces: &[Piece], safe_sign: f64| {
        let stretches = [Unheld { safe_sign, ..stretches[0] }];
        let mut member = subject(Some(resistance(45.0, 220.0, 4000.0)), 4000.0, &[]);
        member.unheld = &stretches;
        let states =
            [State { combination: "c", limit_state: LimitState::Strength, k_mod: 0.8, buckling_mm: None, pieces }];
        let found = judge(&member, &states).into_iter().find(|check| check.kind == CheckKind::LateralBuckling);
        found.map(|check| check.factors.iter().find(|f| f.name == "l_ef").unwrap().value)
    };
    let even = simple_beam(2.0, 4000.0, 1e12);
    assert_eq!(length(&[even], 0.0), Some(4040.0));
    let constant = Piece { to_mm: 4000.0, my: [4e6, 0.0, 0.0, 0.0], ..Piece::default() };
    assert_eq!(length(&[constant], 0.0), Some(4000.0));
    let both = Piece { my: [4e6, even.my[1], even.my[2], 0.0], ..even };
    assert_eq!(length(&[both], 0.0), Some(4440.0));
    // End moments of a twentieth of the greatest are none: 3.9 % there and 5.3 % (2 · 4000²/8 = 4·10⁶ in the middle).
    let with_ends = |share: f64| Piece { my: [share * 4e6, even.my[1], even.my[2], 0.0], ..even };
    assert_eq!(length(&[with_ends(0.04)], 0.0), Some(4040.0));
    assert_eq!(length(&[with_ends(0.055)], 0.0), Some(4440.0));
    // Two loads near the ends: the moment is even between them, fuller than a parabola.
    let (rise, fall) = (Piece { to_mm: 500.0, vz: [-8e3, 0.0, 0.0], my: [0.0, -8e3, 0.0, 0.0], ..even }, 3500.0);
    let flat = Piece { from_mm: 500.0, to_mm: fall, vz: [0.0; 3], my: [-4e6, 0.0, 0.0, 0.0], ..even };
    let down = Piece { from_mm: fall, to_mm: 4000.0, vz: [8e3, 0.0, 0.0], my: [-4e6, 8e3, 0.0, 0.0], ..even };
    assert_eq!(length(&[rise, flat, down], 0.0), Some(4440.0));
    // An overhang of 1000 under an even load: twice its length, and twice the depth for the load.
    let overhang = Piece { to_mm: 1000.0, vz: [-2e3, 2.0, 0.0], my: [1e6, -2e3, 1.0, 0.0], ..even };
    let mut member = subject(Some(resistance(45.0, 220.0, 1000.0)), 1000.0, &[0.0]);
    let stretch = [Unheld { from_mm: 0.0, to_mm: 1000.0, row: Row::Overhang, safe_sign: 0.0 }];
    member.unheld = &stretch;
    let pieces = [Piece { my: overhang.my.map(|c| 20.0 * c), ..overhang }];
    let states =
        [State { combination: "c", limit_state: LimitState::Strength, k_mod: 0.8, buckling_mm: None, pieces: &pieces }];
    let tipping = find(&judge(&member, &states), CheckKind::LateralBuckling);
    assert_eq!(tipping.factors.iter().find(|f| f.name == "l_ef").unwrap().value, 2440.0);
    // A shear force that changes by rounding only is no load.
    let noisy = Piece { vz: [-1000.0, 1e-8, 0.0], my: [4e6, -1000.0, 0.0, 0.0], ..even };
    assert_eq!(length(&[noisy], 0.0), Some(4000.0));
    // A deck that holds the upper edge leaves nothing to check where the beam sags, all where it is lifted.
    assert_eq!(length(&[even], -1.0), None);
    assert_eq!(length(&[simple_beam(-2.0, 4000.0, 1e12)], -1.0), Some(4040.0));
}

/// k_crit = 1: (6.33) is plain bending and is not said again; (6.35) only where it asks more than (6.23) and (6.24).
#[test]
fn a_stocky_beam_has_no_line_of_its_own() {
    let stretches = [Unheld { from_mm: 0.0, to_mm: 400.0, row: Row::Constant, safe_sign: 0.0 }];
    let kinds = |n: f64, my: f64| {
        let pieces = [Piece { to_mm: 400.0, n: [n, 0.0, 0.0], my: [my, 0.0, 0.0, 0.0], ..Piece::default() }];
        let states = [State {
            combination: "c",
            limit_state: LimitState::Strength,
            k_mod: 0.8,
            buckling_mm: None,
            pieces: &pieces,
        }];
        let mut member = subject(Some(resistance(45.0, 95.0, 900.0)), 400.0, &[]);
        member.unheld = &stretches;
        judge(&member, &states).iter().any(|check| check.kind == CheckKind::LateralBuckling)
    };
    assert!(!kinds(0.0, 1e6));
    assert!(!kinds(-1000.0, 1e5));
    // Shares by hand: m = 1e6/(67 687.5 · 0.8 · 26.3/1.3) = 0.913; (6.35) m² + a over (6.23) m + a·k_c,z/k_c,y.
    assert!(kinds(-10_000.0, 1e6));
}
