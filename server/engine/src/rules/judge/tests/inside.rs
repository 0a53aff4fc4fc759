//! Worst places that lie inside a piece, where no single resultant turns.

use super::*;

/// A value at the piece's start, its slope over the piece and a bulge in its middle, as coefficients over 400 mm.
fn bulge(start: f64, rise: f64, bulge: f64) -> [f64; 3] {
    [start, (rise + 4.0 * bulge) / 400.0, -4.0 * bulge / 160_000.0]
}

fn cubic([a, b, c]: [f64; 3], twist: f64) -> [f64; 4] {
    // s (L - s) (L/2 - s), nothing at ends and middle.
    [a, b + twist * 80_000.0, c - twist * 600.0, twist]
}

prop_compose! {
    /// Axial force of one sign, moments and forces with a bulge, all well under the strength of 45 x 70 in C24.
    fn bulging()(
        n in (1e3_f64..8e3, -500.0_f64..500.0, -500.0_f64..3e3), pushed in any::<bool>(),
        my in (-1e5_f64..1e5, -1e5_f64..1e5, -1.5e5_f64..1.5e5, -2e-3_f64..2e-3),
        mz in (-5e4_f64..5e4, -5e4_f64..5e4, -8e4_f64..8e4, -1e-3_f64..1e-3),
        v in (-500.0_f64..500.0, -500.0_f64..500.0, -800.0_f64..800.0),
        w in (-500.0_f64..500.0, -500.0_f64..500.0, -800.0_f64..800.0),
        t in (-2e4_f64..2e4, -2e4_f64..2e4, -2e4_f64..2e4),
    ) -> Piece {
        let sign = if pushed { -1.0 } else { 1.0 };
        Piece {
            to_mm: 400.0,
            n: bulge(sign * n.0, sign * n.1, sign * n.2),
            vy: bulge(v.0, v.1, v.2),
            vz: bulge(w.0, w.1, w.2),
            t: bulge(t.0, t.1, t.2),
            my: cubic(bulge(my.0, my.1, my.2), my.3),
            mz: cubic(bulge(mz.0, mz.1, mz.2), mz.3),
            ..Piece::default()
        }
    }
}

proptest! {
    /// Each check by itself is at least what any of 4001 places gives, and is what its own place gives.
    #[test]
    fn no_place_inside_is_worse(piece in bulging(), stocky in any::<bool>()) {
        let strength = resistance(45.0, 70.0, if stocky { 120.0 } else { 900.0 });
        let member = subject(Some(strength), 400.0, &[]);
        let pieces = [piece];
        let states =
            [State { combination: "c", limit_state: LimitState::Strength, k_mod: 0.8, buckling_mm: None, pieces: &pieces }];
        let checks = judge(&member, &states);
        type Rule = (CheckKind, fn(&Resistance, f64, &SectionForces) -> f64);
        let axial: Rule = match (piece.n[0] > 0.0, stocky) {
            (true, _) => (CheckKind::TensionBending, tension::utilisation),
            (false, true) => (CheckKind::CompressionBending, compression::utilisation),
            (false, false) => (CheckKind::Column, column::utilisation),
        };
        let rules = [
            axial,
            (CheckKind::Bending, bending::utilisation),
            (CheckKind::Shear, shear::utilisation),
            (CheckKind::Torsion, torsion::utilisation),
        ];
        for (kind, utilisation) in rules {
            let most = (0..=4000).map(|step| utilisation(&strength, 0.8, &piece.forces(f64::from(step) * 0.1)));
            let most = most.fold(0.0, f64::max);
            let Some(found) = checks.iter().find(|check| check.kind == kind) else {
                prop_assert!(kind == CheckKind::Torsion, "{kind:?}");
                continue;
            };
            prop_assert!(found.utilisation >= most * (1.0 - 1e-9), "{kind:?}: {} under {most}", found.utilisation);
            let again = utilisation(&strength, 0.8, &piece.forces(found.at_mm));
            prop_assert!((again - found.utilisation).abs() <= 1e-9 * again);
        }
    }

    /// Lateral buckling over the whole piece, with the effective length it says.
    #[test]
    fn no_place_inside_is_nearer_to_tipping(piece in bulging()) {
        // A fifth of the moments is plenty for 10 x 120.
        let piece = Piece { n: piece.n.map(|c| 0.05 * c), my: piece.my.map(|c| 0.4 * c), mz: piece.mz.map(|c| 0.1 * c), ..piece };
        let strength = resistance(10.0, 120.0, 400.0);
        let stretches = [Unheld { from_mm: 0.0, to_mm: 400.0, row: Row::Constant, safe_sign: 0.0 }];
        let mut member = subject(Some(strength), 400.0, &[]);
        member.unheld = &stretches;
        let pieces = [piece];
        let states =
            [State { combination: "c", limit_state: LimitState::Strength, k_mod: 0.8, buckling_mm: None, pieces: &pieces }];
        let found = find(&judge(&member, &states), CheckKind::LateralBuckling);
        let length = found.factors.iter().find(|f| f.name == "l_ef").unwrap().value;
        let at = |s: f64| lateral_rules::both(&strength, 0.8, &piece.forces(s), length).into_iter().fold(0.0, f64::max);
        let most = (0..=4000).map(|step| at(f64::from(step) * 0.1)).fold(0.0, f64::max);
        prop_assert!(found.utilisation >= most * (1.0 - 1e-9), "{} under {most}", found.utilisation);
        prop_assert!((at(found.at_mm) - found.utilisation).abs() <= 1e-9 * most);
    }
}
