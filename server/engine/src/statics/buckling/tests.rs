//! Buckling of posts against closed forms, and its parts by hand.
#![allow(clippy::unwrap_used, reason = "a failed test may panic")]

use super::modes::{leaning, taking_part};
use super::*;
use crate::design::{Design, Frame};
use crate::statics::posts::{self, EULER, LENGTH, WEAK};

/// Every combination given by its cases and their factors.
fn studied(design: &Design, states: &[&[(&str, f64)]]) -> Vec<Buckled> {
    let frame = posts::frame(design);
    let analysis = posts::solved(&frame);
    let terms: Vec<Vec<(usize, f64)>> = states.iter().map(|named| posts::terms(&analysis, named)).collect();
    let terms: Vec<&[(usize, f64)]> = terms.iter().map(Vec::as_slice).collect();
    study(&analysis, &terms, &|| false).unwrap().states
}

fn near(found: f64, expected: f64, share: f64, what: &str) {
    assert!((found - expected).abs() <= share * expected.abs(), "{what}: {found} instead of {expected}");
}

/// Along a straight line from -100 N (pressed) to -60, and from 20 to 40, by hand.
#[test]
fn compression_in_a_divided_bar() {
    let axial = [[-100.0, -60.0], [20.0, 40.0]];
    assert_eq!(pressed(&[(0, 0.25), (0, 0.75), (1, 0.5)], &axial), [90.0, 70.0, -30.0]);
}

/// The envelope is the greatest compression at either end in any combination; what is only pulled has none.
#[test]
fn the_envelope_is_the_greatest_compression() {
    let axial = Axial(vec![vec![[-10.0, 4.0], [2.0, -7.0], [3.0, 5.0]], vec![[-1.0, -20.0], [0.0, 1.0], [1.0, 0.0]]]);
    let states: [&[(usize, f64)]; 2] = [&[(0, 2.0)], &[(0, 1.0), (1, 1.0)]];
    assert_eq!(envelope(&axial, &states), [20.0, 14.0, 0.0]);
}

/// alpha = 1/mu; what is pulled or not loaded (zero of either sign) never buckles.
#[test]
fn only_a_positive_eigenvalue_has_a_factor() {
    let of = |value: f64| factor(Some(&Ritz { value, shares: Vec::new() }));
    assert_eq!(of(0.25), 4.0);
    for value in [0.0, -0.0, -0.25] {
        assert_eq!(of(value), f64::INFINITY);
    }
    assert_eq!(factor(None), f64::INFINITY);
}

/// By hand: a block of 20 x 20 for each of 10 000 bars is 4 million numbers; never under 8 nor over 24.
#[test]
fn the_common_space_keeps_to_its_memory() {
    assert_eq!([0, 1, 10_000, 1_000_000].map(most), [SPACE_MAX, SPACE_MAX, 20, 8]);
}

/// Places that all move along one line give that line, whatever their amounts; alike amounts across it fall out.
#[test]
fn the_level_direction_is_the_main_one() {
    let shape =
        |moved: &[[f64; 2]]| -> Vec<f64> { moved.iter().flat_map(|[x, y]| [*x, *y, 9.0, 1.0, 1.0, 1.0]).collect() };
    for angle in [0.0_f64, 0.4, PI / 6.0, 1.2, PI / 2.0] {
        let line = [angle.cos(), angle.sin()];
        let moved: Vec<[f64; 2]> = [3.0, -0.5, 0.01].iter().map(|a| line.map(|c| a * c)).collect();
        let found = level_direction(&shape(&moved));
        assert!((found[0] - line[0]).abs() < 1e-12 && (found[1] - line[1]).abs() < 1e-12, "{angle}: {found:?}");
    }
    for (moved, expected) in [([[1.0, 0.5], [1.0, -0.5]], [1.0, 0.0]), ([[0.5, 1.0], [-0.5, 1.0]], [0.0, 1.0])] {
        let found = level_direction(&shape(&moved));
        assert!((found[0] - expected[0]).abs() < 1e-12 && (found[1] - expected[1]).abs() < 1e-12, "{found:?}");
    }
    assert_eq!(level_direction(&shape(&[[0.0; 2]; 3])), [0.0; 3]);
}

/// Two posts clamped at their feet, the second pressed twice as much.
fn pair() -> Frame {
    let mut design = posts::blank();
    for (tag, x) in [("P", 0.0), ("Q", 900.0)] {
        posts::stand(&mut design, tag, x, posts::free_in(&[]), None);
    }
    posts::frame(&design)
}

/// The work of compression on leaning chords over the whole: 1 where straight posts lean, 0 where the ends only turn, by
/// the definition; nothing where nothing moves. Each post does its share: by hand P theta² l each.
#[test]
fn leaning_and_taking_part_by_hand() {
    let frame = pair();
    let analysis = posts::solved(&frame);
    let refined = Refined::new(&analysis.system, &[0, 0]);
    let press = |mean: f64| [Press { mean, half: 0.0 }; 2];
    let operator = Compression { frame: &frame, refined: &refined, pressed: vec![press(1000.0), press(2000.0)] };
    // A lean to y of theta is a turn of -theta about x: places 0 and 2 are feet, 1 and 3 heads.
    let leant = |thetas: [f64; 2]| {
        let mut raw = vec![0.0; 24];
        for (post, theta) in thetas.into_iter().enumerate() {
            raw[12 * post + 7] = theta * LENGTH;
            (raw[12 * post + 3], raw[12 * post + 9]) = (-theta, -theta);
        }
        raw
    };
    let both = leant([0.01, 0.02]);
    near(leaning(&analysis, &operator, &both), 1.0, 1e-12, "both lean");
    near(operator.work(&both).iter().flatten().sum(), 1.8 * (100.0 + 800.0), 1e-12, "P theta² l");
    assert_eq!(taking_part(&analysis, &operator, &both), [1, 0]);
    assert_eq!(taking_part(&analysis, &operator, &leant([0.0, 0.01])), [1]);
    // Less than a twentieth of the work: 1 against 2 x 16.
    assert_eq!(taking_part(&analysis, &operator, &leant([0.01, 0.04])), [1]);
    // Leaning along x works in the other plane: a turn of theta about y.
    let mut along = leant([0.0, 0.01]);
    (along[6], along[4], along[10]) = (0.02 * LENGTH, 0.02, 0.02);
    assert_eq!(taking_part(&analysis, &operator, &along), [0, 1]);
    let mut turned = vec![0.0; 24];
    (turned[3], turned[9], turned[16]) = (0.01, -0.01, 0.02);
    assert!(leaning(&analysis, &operator, &turned).abs() < 1e-12);
    let still = vec![0.0; 24];
    assert_eq!(leaning(&analysis, &operator, &still), 0.0);
    assert!(taking_part(&analysis, &operator, &still).is_empty());
}

/// A post that may turn at its foot against a spring and slide at its head: tan u = -E I u/(c l), u = l sqrt(P/E I); by
/// hand from w = A sin kx + B (1 - cos kx). At u = 0.8 pi the length is l/0.8. Even at a fiftieth of that load the mode
/// says the length, in which no combination comes under the factors that are told.
#[test]
fn a_column_far_from_buckling_has_the_length_of_its_mode() {
    let u = 0.8 * PI;
    let spring = -u * WEAK / (LENGTH * u.tan());
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::springy(spring, 1e12), Some(posts::free_in(&[0, 1, 2])));
    posts::press(&mut design, "load", "P", u * u * WEAK / (LENGTH * LENGTH) / 50.0);
    let [found] = <[Buckled; 1]>::try_from(studied(&design, &[&[("load", 1.0)]])).ok().unwrap();
    assert_eq!(found.columns.len(), 1);
    near(found.columns[0].length_mm[1], LENGTH / 0.8, 1e-3, "length about z");
}

/// A combination with nine tenths of the load buckles at the same load, so at 1/0.9 of the factor; what is told of it is
/// the same though another combination decides the lengths. Pinned post at Euler's load (closed form).
#[test]
fn a_lesser_combination_is_told_as_well() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(&[3, 4]), Some(posts::free_in(&[2, 3, 4])));
    posts::press(&mut design, "load", "P", EULER / 4.0);
    let found = studied(&design, &[&[("load", 1.0)], &[("load", 0.9)], &[("load", -1.0)]]);
    for (state, factor) in found.iter().zip([4.0, 4.0 / 0.9]) {
        near(state.factor, factor, 1e-3, "factor");
        assert_eq!(state.members, [0]);
        assert!(!state.sways);
        near(state.columns[0].length_mm[1], LENGTH, 1e-3, "length");
    }
    near(found[1].factor, found[0].factor / 0.9, 1e-7, "one load");
    // Pulled it doesn't buckle.
    assert_eq!(found[2].factor, f64::INFINITY);
    assert!(found[2].columns.is_empty());
}

/// Clamped at both ends: half the length about the weak axis, whose mode lies at 36 of the load; about the strong axis
/// buckling lies over 100 (4 x 36) and pinned over 25, so that the whole length stays (P).
#[test]
fn a_length_that_does_not_matter_stays_whole() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(&[]), Some(posts::free_in(&[2])));
    posts::press(&mut design, "load", "P", EULER / 9.0);
    let found = studied(&design, &[&[("load", 1.0)]]);
    let [about_y, about_z] = found[0].columns[0].length_mm;
    assert_eq!(about_y, LENGTH);
    near(about_z, 0.5 * LENGTH, 1e-3, "about z");
}

/// Eight posts pressed together have more modes than are settled; what no mode says the member alone does: clamped and
/// pinned l/1.43030 (tan u = u, u = 4.493409; Timoshenko and Gere 2.1, derived again) about both axes of each.
#[test]
fn many_columns_at_once() {
    let mut design = posts::blank();
    for k in 0..8 {
        let tag = format!("P{k}");
        let x = 500.0 * f64::from(k);
        posts::stand(&mut design, &tag, x, posts::free_in(&[]), Some(posts::free_in(&[2, 3, 4, 5])));
        posts::press(&mut design, "load", &tag, EULER / (4.0 + 0.25 * f64::from(k)));
    }
    let found = studied(&design, &[&[("load", 1.0)]]);
    near(found[0].factor, 4.0 * (4.493_409_457_9 / PI).powi(2), 1e-3, "factor");
    assert_eq!(found[0].columns.len(), 8);
    for column in &found[0].columns {
        for length in column.length_mm {
            near(length, LENGTH * PI / 4.493_409_457_9, 1e-3, "length");
        }
    }
}

/// Two cantilevers have twice their length about both axes, which only their four modes say: alone no length is over the
/// member's own.
#[test]
fn modes_decide_the_lengths_of_all_that_take_part() {
    let mut design = posts::blank();
    for (tag, x, factor) in [("P", 0.0, 3.0), ("Q", 900.0, 4.0)] {
        posts::stand(&mut design, tag, x, posts::free_in(&[]), None);
        posts::press(&mut design, "load", tag, 0.25 * EULER / factor);
    }
    let found = studied(&design, &[&[("load", 1.0)]]);
    near(found[0].factor, 3.0, 1e-3, "factor");
    assert!(found[0].sways);
    for column in &found[0].columns {
        for length in column.length_mm {
            near(length, 2.0 * LENGTH, 1e-3, "length");
        }
    }
}

/// One post bows between pins at twice the load, another sways as a cantilever at 5 or at 15 times: only the former makes
/// the frame one that sways (under 10 second order begins).
#[test]
fn a_further_low_mode_may_sway() {
    for (factor, sways) in [(5.0, true), (15.0, false)] {
        let mut design = posts::blank();
        posts::stand(&mut design, "P", 0.0, posts::free_in(&[3, 4]), Some(posts::free_in(&[2, 3, 4])));
        posts::stand(&mut design, "Q", 900.0, posts::free_in(&[]), None);
        posts::press(&mut design, "load", "P", EULER / 2.0);
        posts::press(&mut design, "load", "Q", 0.25 * EULER / factor);
        let found = studied(&design, &[&[("load", 1.0)]]);
        near(found[0].factor, 2.0, 1e-3, "factor");
        assert_eq!(found[0].sways, sways, "{factor}");
    }
}

/// The mode of a pinned post in detail is half a sine wave (Euler); of one that is pulled there is none.
#[test]
fn a_mode_in_detail_is_half_a_wave() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(&[3, 4]), Some(posts::free_in(&[2, 3, 4])));
    posts::press(&mut design, "load", "P", 1000.0);
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let detail = |factor: f64| in_detail(&analysis, &posts::terms(&analysis, &[("load", factor)]), &[8]).unwrap();
    let (mesh, shape) = detail(1.0).unwrap();
    assert_eq!(mesh.places.len(), 9);
    let most = shape[6 * 4 + 1];
    for (place, of) in mesh.places.iter().enumerate() {
        let expected = most * (PI * of.at_mm / LENGTH).sin();
        assert!((shape[6 * place + 1] - expected).abs() < 1e-3 * most.abs(), "{place}");
    }
    assert!(detail(-1.0).is_none());
}

/// A column is cut so finely that even between clamps, at 4 pi² E I/l², each part's shape is quiet, however little it is
/// pressed; a member that is none is not cut.
#[test]
fn columns_are_cut_for_their_own_load() {
    let mut design = posts::blank();
    posts::stand(&mut design, "P", 0.0, posts::free_in(&[]), Some(posts::free_in(&[2])));
    posts::stand(&mut design, "Q", 900.0, posts::free_in(&[]), None);
    posts::press(&mut design, "load", "P", 0.015 * EULER);
    let frame = posts::frame(&design);
    let analysis = posts::solved(&frame);
    let terms = posts::terms(&analysis, &[("load", 1.0)]);
    let parts = study(&analysis, &[&terms], &|| false).unwrap().parts;
    let part = LENGTH / parts[0] as f64;
    assert!(4.0 * PI * PI * (part / LENGTH).powi(2) <= QUIET, "{parts:?}");
    assert_eq!(parts[1], 1);
}

/// Load of a post on a soft foot: u tan u = c l/E I, u = l sqrt(P/E I) (Timoshenko and Gere 2.1, derived again: a
/// cantilever on a turning spring), here solved by halving.
fn soft_load(spring: f64) -> f64 {
    let (mut low, mut high) = (0.0, 0.5 * PI);
    for _ in 0..100 {
        let u: f64 = 0.5 * (low + high);
        if u * u.tan() < spring * LENGTH / WEAK { low = u } else { high = u }
    }
    low * low * WEAK / (LENGTH * LENGTH)
}

/// Posts on feet that turn by these springs about x and y, each pressed in its own combination, which finds it alone, its
/// factor and its way. No post is a column: the first bears half a hundredth of Euler's load.
fn posts_one_by_one(springs: [f64; 2], factors: &[f64]) {
    let mut design = posts::blank();
    let names: Vec<String> = (0..factors.len()).map(|k| format!("P{k}")).collect();
    for (k, (name, factor)) in names.iter().zip(factors).enumerate() {
        posts::stand(&mut design, name, 500.0 * k as f64, posts::springy(springs[0], springs[1]), None);
        posts::press(&mut design, name, name, soft_load(springs[0]) / factor);
    }
    for ((k, state), factor) in each_alone(&design, &names).iter().enumerate().zip(factors) {
        near(state.factor, *factor, 1e-3, &format!("post {k} of {}", factors.len()));
        assert_eq!(state.members, [k]);
        assert!(state.sways);
        near(state.direction[1].abs(), 1.0, 1e-6, "it leans along its weak axis");
    }
}

/// One combination for each of these cases.
fn each_alone(design: &Design, names: &[String]) -> Vec<Buckled> {
    let states: Vec<Vec<(&str, f64)>> = names.iter().map(|name| vec![(name.as_str(), 1.0)]).collect();
    studied(design, &states.iter().map(Vec::as_slice).collect::<Vec<_>>())
}

/// A spring of which a foot is so soft, N mm/rad.
const SOFT: f64 = 0.03 * EULER * LENGTH;

#[test]
fn every_combination_finds_its_own_post() {
    posts_one_by_one([SOFT, 1e12], &[5.0, 6.25, 7.8, 9.8, 12.2]);
    posts_one_by_one([SOFT, 1e12], &[5.0; 8]);
}

/// Soft both ways, the lean along the stiffer axis buckles at little more.
#[test]
fn every_combination_finds_its_own_way_of_like_posts() {
    posts_one_by_one([SOFT, SOFT], &[10.0; 5]);
}

#[test]
fn every_combination_finds_its_own_of_many_like_posts() {
    posts_one_by_one([SOFT, 1e12], &[5.0; 24]);
}

/// Like cantilevers on rigid feet, each pressed in its own combination to a quarter of what buckles it (closed form).
fn like_columns(count: usize) {
    let mut design = posts::blank();
    let names: Vec<String> = (0..count).map(|k| format!("P{k}")).collect();
    for (k, name) in names.iter().enumerate() {
        posts::stand(&mut design, name, 500.0 * k as f64, posts::free_in(&[]), None);
        posts::press(&mut design, name, name, 0.25 * EULER / 4.0);
    }
    for (k, state) in each_alone(&design, &names).iter().enumerate() {
        near(state.factor, 4.0, 1e-3, &format!("post {k} of {count}"));
        assert_eq!(state.members, [k]);
        near(state.columns[0].length_mm[1], 2.0 * LENGTH, 1e-3, "length about z");
    }
}

#[test]
fn every_combination_finds_its_own_column() {
    [1, 4, 8].into_iter().for_each(like_columns);
}

#[test]
fn every_combination_finds_its_own_of_many_like_columns() {
    like_columns(24);
}
