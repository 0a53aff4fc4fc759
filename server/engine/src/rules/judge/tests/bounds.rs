//! What the judge leaves unlooked at: a bound that is too low would pass over the worst place.

use super::*;
use crate::design::section::properties;
use crate::rules::metal::{Lengths, MetalResistance};
use crate::tables::metal::metal;

/// A piece over a stretch with even forces.
fn even(from_mm: f64, to_mm: f64, n: f64, my: f64, mz: f64) -> Piece {
    Piece { from_mm, to_mm, n: [n, 0.0, 0.0], my: [my, 0.0, 0.0, 0.0], mz: [mz, 0.0, 0.0, 0.0], ..Piece::default() }
}

fn strength<'a>(pieces: &'a [Piece]) -> [State<'a>; 1] {
    [State { combination: "c", limit_state: LimitState::Strength, k_mod: 0.8, buckling_mm: None, pieces }]
}

fn whole(pieces: &[Piece]) -> f64 {
    pieces.iter().map(|piece| piece.to_mm).fold(0.0, f64::max)
}

/// Checks of timber pieces of that size with those lengths against buckling, tipping over one stretch.
fn timber(sizes: [f64; 2], length: f64, stretch: Option<Unheld>, pieces: &[Piece]) -> Vec<Check> {
    let mut member = subject(Some(resistance(sizes[0], sizes[1], length)), whole(pieces), &[]);
    let unheld: Vec<Unheld> = stretch.into_iter().collect();
    member.unheld = &unheld;
    judge(&member, &strength(pieces))
}

fn steel(sizes: [f64; 2], pieces: &[Piece]) -> Vec<Check> {
    let section = Section::Rectangle { width_mm: sizes[0], depth_mm: sizes[1] };
    let lengths = Lengths { held_mm: [300.0; 2], upright_mm: 300.0 };
    let mut member = subject(None, whole(pieces), &[]);
    member.metal = MetalResistance::new(&section, &properties(&section), metal("S235").unwrap(), &lengths);
    judge(&member, &strength(pieces))
}

fn has(checks: &[Check], kind: CheckKind) -> bool {
    checks.iter().any(|check| check.kind == kind)
}

/// A force or moment that uses a given share of C24 70 x 70 with k_mod 0.8, by hand: area 4900, modulus 57 167,
/// k_h (150/70)^0.2, gamma_M 1.3.
fn pressed(share: f64) -> f64 {
    -share * 4900.0 * 0.8 * 21.0 / 1.3
}

fn bent(share: f64) -> f64 {
    share * 70.0_f64.powi(3) / 6.0 * 0.8 * 24.0 * (150.0_f64 / 70.0).powf(0.2) / 1.3
}

/// Beyond its strength the square of (6.19) is more than the share itself: 3 makes 9, after a piece with 2.2² + 3 = 7.84.
#[test]
fn crushing_far_beyond_the_strength_is_still_ranked() {
    let pieces = [even(0.0, 100.0, pressed(2.2), bent(3.0), 0.0), even(100.0, 200.0, pressed(3.0), 0.0, 0.0)];
    let found = find(&timber([70.0, 70.0], 200.0, None, &pieces), CheckKind::CompressionBending);
    close(found.utilisation, 9.0);
    assert!(found.at_mm >= 100.0);
}

/// Shear alone, however far beyond its strength, is no torsion: its square would be more than itself.
#[test]
fn shear_alone_is_no_torsion() {
    let pieces = [Piece { vz: [60_000.0, 0.0, 0.0], ..even(0.0, 100.0, 0.0, 0.0, 0.0) }];
    let checks = timber([70.0, 70.0], 200.0, None, &pieces);
    assert!(find(&checks, CheckKind::Shear).utilisation > 2.0);
    assert!(!has(&checks, CheckKind::Torsion));
}

fn held(from_mm: f64, to_mm: f64) -> Option<Unheld> {
    Some(Unheld { from_mm, to_mm, row: Row::Constant, safe_sign: 0.0 })
}

/// Lateral utilisation of 10 x 120 over 800 mm by the rules' own sums, at one place.
fn lateral_at(pieces: &[Piece], check: &Check, at_mm: f64) -> [f64; 2] {
    let piece = pieces.iter().find(|piece| piece.from_mm <= at_mm && at_mm <= piece.to_mm).unwrap();
    let length = check.factors.iter().find(|f| f.name == "l_ef").unwrap().value;
    lateral_rules::both(&resistance(10.0, 120.0, 800.0), 0.8, &piece.forces(at_mm - piece.from_mm), length)
}

/// (6.35) at three times the strength is more than at 2.7 times in the piece before, though the sums that are not squared
/// say 3 against 7.3.
#[test]
fn tipping_far_beyond_the_strength_is_still_ranked() {
    let unit = find(
        &timber([10.0, 120.0], 800.0, held(0.0, 800.0), &[even(0.0, 800.0, 0.0, 1e6, 0.0)]),
        CheckKind::LateralBuckling,
    );
    let strong = |share: f64| share * 1e6 / unit.utilisation;
    let pieces = [even(0.0, 400.0, -1.0, strong(2.7), 0.0), even(400.0, 800.0, -1.0, strong(3.0), 0.0)];
    let found = find(&timber([10.0, 120.0], 800.0, held(0.0, 800.0), &pieces), CheckKind::LateralBuckling);
    assert!((found.utilisation - 9.0).abs() < 0.01, "{}", found.utilisation);
}

/// A piece whose sum (6.35) is made of sideways bending and compression beats one bent the strong way only.
#[test]
fn sideways_bending_adds_to_tipping() {
    let whole = held(0.0, 800.0);
    let share =
        |piece: Piece| find(&timber([10.0, 120.0], 800.0, whole, &[piece]), CheckKind::LateralBuckling).utilisation;
    let strong = 1e6 / share(even(0.0, 800.0, 0.0, 1e6, 0.0));
    let axial = 1e3 / share(even(0.0, 800.0, -1e3, 1.0, 0.0));
    let weak = 1e5 / share(even(0.0, 800.0, 0.0, 1.0, 1e5));
    let pieces = [even(0.0, 400.0, 0.0, strong, 0.0), even(400.0, 800.0, -axial, 0.3 * strong, 0.5 * weak)];
    let found = find(&timber([10.0, 120.0], 800.0, whole, &pieces), CheckKind::LateralBuckling);
    assert!((found.utilisation - 1.59).abs() < 1e-3, "{}", found.utilisation);
}

/// The worst place lies where none of the three resultants turns: it is found all the same.
#[test]
fn tipping_is_worst_between_the_turning_places() {
    let cases =
        [(0.0, [0.0, 27.0, -0.0225], 1.0), (-100.0, [0.0, 21.0, -0.021], -1.0), (-300.0, [300.0, 9.0, -0.015], 1.0)];
    for (n, weak, sign) in cases {
        let piece = Piece {
            to_mm: 800.0,
            n: [n, -n / 8000.0, -n / 1e7],
            my: [3e4, -9.0, -0.003, 0.0],
            mz: [sign * weak[0], sign * weak[1], sign * weak[2], 0.0],
            ..Piece::default()
        };
        let pieces = [piece];
        let found = find(&timber([10.0, 120.0], 800.0, held(0.0, 800.0), &pieces), CheckKind::LateralBuckling);
        let sampled = (0..=80_000).map(|step| {
            let [alone, pressed] = lateral_at(&pieces, &found, f64::from(step) * 0.01);
            alone.max(pressed)
        });
        close(found.utilisation, sampled.fold(0.0, f64::max));
        assert!(found.at_mm > 1.0 && found.at_mm < 799.0, "{}", found.at_mm);
    }
}

/// Bent the strong way only, a piece with 0.9 of its strength beats one with 0.85: 0.9² would not.
#[test]
fn tipping_under_the_strength_is_ranked() {
    let share = |piece: Piece| {
        find(&timber([10.0, 120.0], 800.0, held(0.0, 800.0), &[piece]), CheckKind::LateralBuckling).utilisation
    };
    let strong = 1e5 / share(even(0.0, 800.0, 0.0, 1e5, 0.0));
    let pieces = [even(0.0, 400.0, 0.0, 0.85 * strong, 0.0), even(400.0, 800.0, 0.0, 0.9 * strong, 0.0)];
    let found = find(&timber([10.0, 120.0], 800.0, held(0.0, 800.0), &pieces), CheckKind::LateralBuckling);
    close(found.utilisation, 0.9);
}

/// A stretch counts by its own length, wherever along the member it lies.
#[test]
fn a_stretch_in_the_middle_counts_by_its_length() {
    let beam = simple_beam(2.0, 4000.0, 1e12);
    let stub = |from_mm: f64| Piece { from_mm, to_mm: from_mm + 3000.0, ..Piece::default() };
    let pieces = [stub(0.0), Piece { from_mm: 3000.0, to_mm: 7000.0, ..beam }, stub(7000.0)];
    let mut member = subject(Some(resistance(45.0, 220.0, 4000.0)), 10_000.0, &[]);
    let stretches = [Unheld { from_mm: 3000.0, to_mm: 7000.0, row: Row::Constant, safe_sign: 0.0 }];
    member.unheld = &stretches;
    let found = find(&judge(&member, &strength(&pieces)), CheckKind::LateralBuckling);
    assert_eq!(found.factors.iter().find(|f| f.name == "l_ef").unwrap().value, 4040.0);
}

/// A beam too stocky to tip, bent beyond its strength, has no line of its own for rounding's worth of compression.
#[test]
fn rounding_does_not_press() {
    let pieces = [even(0.0, 400.0, -1e-4, 3e6, 0.0)];
    let checks = timber([45.0, 95.0], 900.0, held(0.0, 400.0), &pieces);
    assert!(find(&checks, CheckKind::Bending).utilisation > 1.5);
    assert!(!has(&checks, CheckKind::LateralBuckling));
}

/// Stocky one way and slender the other, a pressed member is a column: (6.24) asks more than (6.35) and says it.
/// Shares by hand, 30 x 150: m 0.3, column about z 0.9; (6.35) 0.99, (6.24) 0.7 m + 0.9 = 1.11.
#[test]
fn a_column_slender_one_way_says_it_by_itself() {
    let stretch = held(0.0, 500.0);
    let share = |n: f64, my: f64, kind| {
        find(&timber([30.0, 150.0], 500.0, stretch, &[even(0.0, 500.0, n, my, 0.0)]), kind).utilisation
    };
    let (axial, moment) = (1e4 / share(-1e4, 0.0, CheckKind::Column), 1e6 / share(0.0, 1e6, CheckKind::Bending));
    let pieces = [even(0.0, 500.0, -0.9 * axial, 0.3 * moment, 0.0)];
    let checks = timber([30.0, 150.0], 500.0, stretch, &pieces);
    close(find(&checks, CheckKind::Column).utilisation, 0.9 + 0.7 * 0.3);
    assert!(!has(&checks, CheckKind::LateralBuckling));
}

/// A millionth of what a steel bar bears is no compression and no torsion.
#[test]
fn steel_feels_no_rounding() {
    let checks = steel([20.0, 60.0], &[Piece { t: [1.0, 0.0, 0.0], ..even(0.0, 300.0, -0.1, 1e5, 0.0) }]);
    assert!(has(&checks, CheckKind::Bending));
    for kind in [CheckKind::Column, CheckKind::Torsion, CheckKind::CompressionBending] {
        assert!(!has(&checks, kind), "{kind:?}");
    }
}

/// Bending about both axes counts by stress: W is 12 000 about y and 4000 about z. 1 and 3 kN·m·10⁻³ make 0.83 N/mm² at the
/// start, 9 about y alone 0.75 at the end.
#[test]
fn steel_bends_worst_by_stress() {
    let piece = Piece {
        to_mm: 300.0,
        n: [-500.0, 0.0, 0.0],
        my: [1e3, 8e3 / 300.0, 0.0, 0.0],
        mz: [3e3, -3e3 / 300.0, 0.0, 0.0],
        ..Piece::default()
    };
    assert_eq!(find(&steel([20.0, 60.0], &[piece]), CheckKind::Column).at_mm, 0.0);
    // 20 about y at the start make 1.67, 3 about z at the end 0.75.
    let other = Piece { my: [2e4, -2e4 / 300.0, 0.0, 0.0], mz: [0.0, 10.0, 0.0, 0.0], ..piece };
    assert_eq!(find(&steel([20.0, 60.0], &[other]), CheckKind::Column).at_mm, 0.0);
    // A piece that begins later ends where it ends: the same rise in two halves.
    let half = |from_mm: f64, my: f64| Piece {
        from_mm,
        to_mm: from_mm + 150.0,
        my: [my, 20.0, 0.0, 0.0],
        mz: [0.0; 4],
        ..piece
    };
    let found = find(&steel([20.0, 60.0], &[half(0.0, 1e3), half(150.0, 4e3)]), CheckKind::Column);
    assert_eq!((found.at_mm, found.forces.my_n_mm), (300.0, 7e3));
}

/// Of two states that may tip a narrow bar over the worse is told, in whichever order they come.
#[test]
fn steel_tips_worst_in_the_worse_state() {
    let section = Section::Rectangle { width_mm: 10.0, depth_mm: 60.0 };
    let lengths = Lengths { held_mm: [1000.0; 2], upright_mm: 1000.0 };
    let mut member = subject(None, 1000.0, &[]);
    member.metal = MetalResistance::new(&section, &properties(&section), metal("S235").unwrap(), &lengths);
    let (light, heavy) = ([even(0.0, 1000.0, 0.0, 1e5, 0.0)], [even(0.0, 1000.0, 0.0, 3e5, 0.0)]);
    for order in [[&light, &heavy], [&heavy, &light]] {
        let found = find(&judge(&member, &order.map(|pieces| strength(pieces)[0])), CheckKind::LateralBuckling);
        assert_eq!(found.forces.my_n_mm, 3e5);
    }
}

/// Compression and bending make the same corner worse: 10 and 10 N/mm² are more than 12 of compression alone.
#[test]
fn steel_compression_adds_to_bending() {
    let pieces = [even(0.0, 100.0, -12.0 * 1200.0, 0.0, 0.0), even(100.0, 200.0, -10.0 * 1200.0, 10.0 * 12_000.0, 0.0)];
    let found = find(&steel([20.0, 60.0], &pieces), CheckKind::CompressionBending);
    close(found.demand, 20.0);
}

/// Pressed without bending, (6.35) and (6.24) are the same sum: the column says it.
#[test]
fn a_pressed_member_does_not_tip() {
    let pieces = [even(0.0, 500.0, -39_500.0, 0.0, 0.0)];
    let checks = timber([30.0, 150.0], 500.0, held(0.0, 500.0), &pieces);
    assert!(find(&checks, CheckKind::Column).utilisation > 0.9, "{checks:?}");
    assert!(!has(&checks, CheckKind::LateralBuckling));
}

/// Buckling about the stiff axis may govern where the holds are far apart that way: 45 x 70, 3 m about y, 0.3 m about z.
#[test]
fn a_column_may_buckle_about_its_stiff_axis() {
    let section = Section::Rectangle { width_mm: 45.0, depth_mm: 70.0 };
    let resistance = Resistance::new(&section, class("C24").unwrap(), 3000.0, 300.0);
    let pieces = [even(0.0, 100.0, -1.0, 5e5, 0.0), even(100.0, 200.0, -8000.0, 0.0, 0.0)];
    let member = subject(Some(resistance), 200.0, &[]);
    let found = find(&judge(&member, &strength(&pieces)), CheckKind::Column);
    close(found.utilisation, column::per_newton(&resistance, 0.8)[0] * 8000.0);
    assert!(found.utilisation > 2.0 * column::per_newton(&resistance, 0.8)[1] * 8000.0);
}

/// Where the push ends it is no compression any more, though the moment is greatest there.
#[test]
fn a_push_that_ends_is_none_at_its_end() {
    let piece = Piece { to_mm: 100.0, n: [-6400.0, 64.0, 0.0], my: [0.0, 2e4, 0.0, 0.0], ..Piece::default() };
    for (length, kind) in [(100.0, CheckKind::CompressionBending), (2000.0, CheckKind::Column)] {
        let found = find(&timber([70.0, 70.0], length, None, &[piece]), kind);
        assert!(found.forces.n_n < 0.0 && found.at_mm < 100.0, "{found:?}");
    }
    let pulled = Piece { n: [6400.0, -64.0, 0.0], ..piece };
    let found = find(&timber([70.0, 70.0], 2000.0, None, &[pulled]), CheckKind::TensionBending);
    assert!(found.forces.n_n > 0.0 && found.at_mm < 100.0, "{found:?}");
}

/// A twist of half a hundredth of the strength beside a fair shear force is not said; of two hundredths it is.
#[test]
fn little_torsion_is_not_said() {
    let resistance = resistance(45.0, 95.0, 500.0);
    let unit = torsion::per_moment(&resistance, 0.8);
    for (share, said) in [(0.005, false), (0.02, true)] {
        let pieces = [Piece { t: [share / unit, 0.0, 0.0], vz: [1000.0, 0.0, 0.0], ..even(0.0, 100.0, 0.0, 1e5, 0.0) }];
        assert_eq!(has(&timber([45.0, 95.0], 500.0, None, &pieces), CheckKind::Torsion), said, "{share}");
    }
    // It is where it decides: 1.05² + 0.005 is more than the shear's 1.05.
    let full = 1.05 / shear::per_newton(&resistance, 0.8)[1];
    let pieces = [Piece { t: [0.005 / unit, 0.0, 0.0], vz: [full, 0.0, 0.0], ..even(0.0, 100.0, 0.0, 1e5, 0.0) }];
    close(find(&timber([45.0, 95.0], 500.0, None, &pieces), CheckKind::Torsion).utilisation, 1.05 * 1.05 + 0.005);
}

/// Bending alone is M/W, whatever the axial force; of places that are used alike the first is named.
#[test]
fn steel_bending_is_bending_alone() {
    let checks = steel([20.0, 60.0], &[even(0.0, 300.0, -24_000.0, 1.2e6, 0.0)]);
    let bending = find(&checks, CheckKind::Bending);
    close(bending.demand, 100.0);
    assert_eq!(bending.at_mm, 0.0);
    close(find(&checks, CheckKind::CompressionBending).demand, 120.0);
}

/// A rod pushed at one end and pulled at the other is bent with tension where it is pulled only: 1 N/mm² of pull, 100 of push.
#[test]
fn steel_pull_is_no_push() {
    let piece = Piece { to_mm: 300.0, n: [1200.0, -121_200.0 / 300.0, 0.0], ..Piece::default() };
    let checks = steel([20.0, 60.0], &[piece]);
    close(find(&checks, CheckKind::TensionBending).demand, 1.0);
    close(find(&checks, CheckKind::CompressionBending).demand, 100.0);
    let turned = Piece { n: piece.n.map(|c| -c), ..piece };
    let checks = steel([20.0, 60.0], &[turned]);
    close(find(&checks, CheckKind::TensionBending).demand, 100.0);
    close(find(&checks, CheckKind::CompressionBending).demand, 1.0);
}

/// The place of the greatest bending, and the worst of two states.
#[test]
fn steel_column_takes_the_worst_place_and_state() {
    let rising =
        |n: f64| Piece { to_mm: 300.0, n: [n, 0.0, 0.0], my: [1e3, 8e3 / 300.0, 0.0, 0.0], ..Piece::default() };
    let (light, heavy) = ([rising(-20_000.0)], [rising(-60_000.0)]);
    let section = Section::Rectangle { width_mm: 20.0, depth_mm: 60.0 };
    let lengths = Lengths { held_mm: [300.0; 2], upright_mm: 300.0 };
    let mut member = subject(None, 300.0, &[]);
    member.metal = MetalResistance::new(&section, &properties(&section), metal("S235").unwrap(), &lengths);
    for order in [[&light, &heavy], [&heavy, &light]] {
        let states = order.map(|pieces| strength(pieces)[0]);
        let found = find(&judge(&member, &states), CheckKind::Column);
        assert_eq!((found.at_mm, found.forces.n_n), (300.0, -60_000.0));
    }
    // Of states that are alike the first is named.
    let mut states = [&light, &light].map(|pieces| strength(pieces)[0]);
    states[1].combination = "later";
    assert_eq!(find(&judge(&member, &states), CheckKind::Column).combination, "c");
}

/// Push that fades and bending that grows are worst together where neither turns: 100 (1 - x) + 200 (2 x - x²) N/mm² has its
/// greatest 212.5 at three quarters (by hand).
#[test]
fn steel_is_looked_at_between_the_turning_places() {
    let (area, modulus) = (1200.0, 12_000.0);
    let piece = Piece {
        to_mm: 300.0,
        n: [-100.0 * area, 100.0 * area / 300.0, 0.0],
        my: [0.0, 400.0 * modulus / 300.0, -200.0 * modulus / 90_000.0, 0.0],
        ..Piece::default()
    };
    let found = find(&steel([20.0, 60.0], &[piece]), CheckKind::CompressionBending);
    assert!(found.demand <= 212.5 * (1.0 + 1e-9) && found.demand > 212.5 * (1.0 - 2e-4), "{}", found.demand);
    assert!((found.at_mm - 225.0).abs() < 5.0, "{}", found.at_mm);
}
