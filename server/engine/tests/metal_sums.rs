//! Sums of metal members by hand where they are not the usual ones: the weak axis governs, a bar laid flat, a profile
//! known by its figures only. The steps stand beside each; values of tables are from memory where it says so.
#![allow(clippy::unwrap_used, missing_docs, reason = "a failed test may panic")]

use battenboard_engine::design::Section;
use battenboard_engine::design::section::{cold_formed, properties};
use battenboard_engine::rules::metal::column::{self, Greatest};
use battenboard_engine::rules::metal::stress::{Sizes, Stresses};
use battenboard_engine::rules::metal::{Lengths, MetalResistance, lateral, walls};
use battenboard_engine::tables::metal::{BucklingClass, MetalKind, metal};

fn close(found: f64, expected: f64, absolute: f64) {
    assert!((found - expected).abs() <= absolute, "{found} against {expected}");
}

fn bar(width_mm: f64, depth_mm: f64) -> Section {
    Section::Rectangle { width_mm, depth_mm }
}

fn resistance(section: &Section, class: &str, length_mm: f64) -> MetalResistance {
    let lengths = Lengths { held_mm: [length_mm; 2], upright_mm: length_mm };
    MetalResistance::new(section, &properties(section), metal(class).unwrap(), &lengths).unwrap()
}

/// Steel bar 30 x 40, S235, 1 m, N 20 kN, My 300 N·m, Mz 200 N·m: lambda_y 1000/(11.547 · 93.913) = 0.92215, phi 1.10211,
/// chi_y 1/(1.10211 + 0.60356) = 0.58628; chi_z 0.4199 (as of the bar 30 x 30). Squash 20 000/(1200 · 235) = 0.070922: shares
/// 0.12097 and 0.16890. k_yy = 1 + 0.6 · 0.92215 · 0.12097 = 1.06693, k_zz = 1.10134, k_zy = 0.8 k_yy. Bending 300 000/(8000 ·
/// 235) = 0.159574 and 200 000/(6000 · 235) = 0.141844. (6.61): 0.12097 + 0.17025 + 0.15622 = 0.44744;
/// (6.62): 0.16890 + 0.13620 + 0.15622 = 0.46132.
#[test]
fn the_weak_axis_governs_a_steel_beam_column() {
    let upright = resistance(&bar(30.0, 40.0), "S235", 1000.0);
    assert!(!upright.tips());
    let (used, clause) = column::sum(&upright, &Greatest { n: 20_000.0, my: 300_000.0, mz: 200_000.0 });
    close(used, 0.461_32, 1e-4);
    assert_eq!(clause, "EN 1993-1-1 6.3.3 (6.62)");
    // Laid flat with its moments it is the same bar.
    let flat = resistance(&bar(40.0, 30.0), "S235", 1000.0);
    assert!(upright.stiffer_about_y() && !flat.stiffer_about_y());
    let turned = column::sum(&flat, &Greatest { n: 20_000.0, my: 200_000.0, mz: 300_000.0 });
    close(turned.0, used, 1e-12);
}

/// Square tube 40 x 40 x 3 of 6060-T66, 1.2 m, chi 0.5223 (by hand in the beam-column of `metal_examples`), pressed alone
/// with 15 kN: 15 000/444 = 33.78 against 0.5223 · 160/1.1 = 75.97.
#[test]
fn a_pressed_aluminium_tube_is_said_as_stress() {
    let tube =
        resistance(&Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 }, "6060-T66", 1200.0);
    let alone = column::outcome(&tube, &Greatest { n: 15_000.0, ..Greatest::default() });
    assert_eq!((alone.unit, alone.clause), ("N/mm2", "EN 1999-1-1 6.3.1.1 (6.48)"));
    close(alone.demand, 33.784, 1e-3);
    close(alone.resistance, 75.97, 0.03);
    close(alone.utilisation, 0.4447, 2e-4);
    // 160 N/mm² over gamma_M1 = 1.1 bound its section.
    close(tube.section_limit(), 145.4545, 1e-4);
    // Bent about its other axis only, or with little push and less bending, it is still a sum.
    assert_eq!(column::outcome(&tube, &Greatest { n: 15_000.0, my: 0.0, mz: 1e5 }).unit, "1");
    assert_eq!(column::outcome(&tube, &Greatest { n: 10.0, my: 1.0, mz: 0.0 }).unit, "1");
}

/// Bar 10 x 60 of S235, 1 m, chi_LT 0.6974 (by hand in `metal_examples`): My 500 N·m gives 500 000/(6000 · 235 · 0.6974) =
/// 0.5085; Mz 20 N·m adds 20 000/(1000 · 235) = 0.0851, and then it is the sum of (6.62).
#[test]
fn tipping_with_and_without_sideways_bending() {
    let tipping = resistance(&bar(10.0, 60.0), "S235", 1000.0);
    let alone = lateral::outcome(&tipping, &Greatest { my: 500_000.0, ..Greatest::default() });
    close(alone.utilisation, 0.5085, 2e-3);
    assert_eq!(alone.clause, "EN 1993-1-1 6.3.2.1 (6.54)");
    let both = lateral::outcome(&tipping, &Greatest { my: 500_000.0, mz: 20_000.0, n: 0.0 });
    close(both.utilisation - alone.utilisation, 20_000.0 / 235_000.0, 1e-12);
    assert_eq!((both.demand, both.clause), (both.utilisation, "EN 1993-1-1 6.3.3 (6.62)"));
}

/// Of a profile given by its figures only sums are known: shear areas 500 and 800 (mean times 1.25), A 1000, W 20 000 and
/// 5000. Normal 10 + 25 + 40, shear 1.25 (2 + 2.5).
#[test]
fn a_profile_adds_its_greatest_stresses() {
    let mut figures = properties(&bar(20.0, 50.0));
    (figures.area_mm2, figures.wy_mm3, figures.wz_mm3) = (1000.0, Some(20_000.0), Some(5000.0));
    (figures.shear_area_y_mm2, figures.shear_area_z_mm2) = (Some(500.0), Some(800.0));
    let given = Section::Given(battenboard_engine::design::GivenSection::default());
    let stresses = Stresses::new(&given, &figures).unwrap();
    let sizes = Sizes { n: 10_000.0, my: 500_000.0, mz: 200_000.0, vy: 1000.0, vz: 2000.0, t: 0.0 };
    assert!(stresses.shear_known() && !stresses.torsion_known());
    close(stresses.shear(&sizes), 5.625, 1e-12);
    let worst = stresses.worst(&sizes);
    close(worst.sigma, 75.0, 1e-12);
    close(worst.tau, 5.625, 1e-12);
}

/// A bar laid flat with the forces turned along is used alike, whichever way they act.
#[test]
fn a_bar_laid_flat_is_the_same_bar() {
    let of = |width: f64, depth: f64| Stresses::new(&bar(width, depth), &properties(&bar(width, depth))).unwrap();
    let (upright, flat) = (of(20.0, 40.0), of(40.0, 20.0));
    let forces = [0.0, 1.0].into_iter().flat_map(|a| [0.0, 1.0, 3.0].map(|b| (a, b)));
    for (a, b) in forces {
        let sizes = Sizes { n: 4e3 * b, my: 2e5 * a, mz: 1e5 * b, vy: 9e3 * a, vz: 2e4 * b, t: 3e4 * a };
        let turned = Sizes { my: sizes.mz, mz: sizes.my, vy: sizes.vz, vz: sizes.vy, ..sizes };
        close(upright.worst(&sizes).equivalent(), flat.worst(&turned).equivalent(), 1e-9);
    }
}

/// A bar 40 x 20 pushed across its thin side and twisted: in the middle of its long side the push, 1.5 · 16 000/800 = 30, and
/// the twist 100 000/(0.246 · 40 · 20²) = 25.4 (Timoshenko and Goodier's table for 2 to 1, from memory) meet; bending of 16 N/mm²
/// about the other axis is nothing there, so sqrt(3) · 55.4 governs.
#[test]
fn twist_and_push_meet_on_the_long_side() {
    let flat = Stresses::new(&bar(40.0, 20.0), &properties(&bar(40.0, 20.0))).unwrap();
    let found = flat.worst(&Sizes { vz: 0.0, vy: 16_000.0, t: 100_000.0, ..Sizes::default() });
    let upright = Stresses::new(&bar(20.0, 40.0), &properties(&bar(20.0, 40.0))).unwrap();
    let turned = upright.worst(&Sizes { vz: 16_000.0, t: 100_000.0, ..Sizes::default() });
    close(found.equivalent(), turned.equivalent(), 1e-9);
    close(turned.equivalent(), 3f64.sqrt() * 55.4, 0.3);
}

/// Cold-formed 40 x 40 x 3, corners of 6 outside and 3 inside (EN 10219-2): p = 148 - (8 - 2 pi) · 4.5 = 140.27, A_h = 37² -
/// (4 - pi) · 4.5² = 1351.6, I_t = 3³ · 140.27/3 + 4 · 1351.6² · 3/140.27 = 157 540, C_t = I_t/(3 + 2 · 1351.6/140.27) = 7074
/// (15.8 cm⁴ and 7.07 cm³ in that standard's table, from memory).
#[test]
fn torsion_of_a_tube_with_round_corners() {
    let figures = cold_formed(40.0, 40.0, 3.0);
    let tube = Section::RectangularTube { width_mm: 40.0, depth_mm: 40.0, wall_mm: 3.0 };
    let found = Stresses::new(&tube, &figures).unwrap().torsion(&Sizes { t: 1e5, ..Sizes::default() });
    close(found, 1e5 / 7074.0, 0.01);
}

/// Aluminium tube 86 x 2: 3 sqrt(84/2) = 19.44 (EN 1999-1-1 (6.4), from memory); steel 43.
#[test]
fn round_walls_by_hand() {
    close(walls::round_ratio(MetalKind::Aluminium(BucklingClass::A), 86.0, 2.0), 19.442, 1e-3);
    close(walls::round_ratio(MetalKind::Steel, 86.0, 2.0), 43.0, 1e-12);
}

/// (6.60): push and bending of a solid bar have their exponents each by itself.
#[test]
fn a_solid_aluminium_bar_adds_its_powers() {
    let solid = resistance(&bar(20.0, 20.0), "6060-T66", 1200.0);
    let used = |n: f64, my: f64| column::sum(&solid, &Greatest { n, my, mz: 0.0 }).0;
    let (pushed, bent) = (used(3000.0, 0.0), used(0.0, 50_000.0));
    assert!(pushed > 0.1 && bent > 0.1, "{pushed} {bent}");
    close(used(3000.0, 50_000.0), pushed + bent, 1e-12);
}
