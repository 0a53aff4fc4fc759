//! The small linear algebra against closed forms, and what is said of motions that are known beforehand.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a failed test may panic")]

use super::*;
use crate::statics::constraint::Equation;
use crate::statics::mesh::Plan;
use crate::statics::small_frames::{design, frame};
use std::f64::consts::PI;

/// A chain of equal springs between walls: 2 on the diagonal, -1 beside it.
fn chain(n: usize) -> Vec<f64> {
    let entry = |i: usize, j: usize| if i == j { 2.0 } else { -f64::from(u8::from(i.abs_diff(j) == 1)) };
    (0..n * n).map(|k| entry(k / n, k % n)).collect()
}

/// The same as a lower triangle by columns.
fn chain_below(n: usize) -> Lower {
    let mut lower = Lower { order: n, starts: vec![0], ..Lower::default() };
    for column in 0..n {
        lower.rows.push(column);
        lower.values.push(2.0);
        if column + 1 < n {
            lower.rows.push(column + 1);
            lower.values.push(-1.0);
        }
        lower.starts.push(lower.rows.len());
    }
    lower
}

/// Its eigenvalues 2 - 2 cos(k pi / (n + 1)), least first (Golub and Van Loan, Matrix Computations, 4.8; from memory).
fn chain_values(n: usize) -> Vec<f64> {
    (1..=n).map(|k| 2.0 - 2.0 * (k as f64 * PI / (n + 1) as f64).cos()).collect()
}

/// A full symmetric matrix without any pattern.
fn full(n: usize) -> Vec<f64> {
    let entry = |i: usize, j: usize| 3.0 / (1.0 + (i + 2 * j) as f64) + if i == j { 1.5 * i as f64 } else { -0.4 };
    (0..n * n).map(|k| entry((k / n).max(k % n), (k / n).min(k % n))).collect()
}

fn times(a: &[f64], x: &[f64]) -> Vec<f64> {
    a.chunks(x.len()).map(|row| row.iter().zip(x).map(|(r, x)| r * x).sum()).collect()
}

fn column(v: &[f64], n: usize, k: usize) -> Vec<f64> {
    (0..n).map(|i| v[i * n + k]).collect()
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-11
}

fn all_near(one: &[f64], other: &[f64]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(a, b)| near(*a, *b))
}

/// 1 x 4 + 2 x 5 + 3 x 6, by hand.
#[test]
fn products_are_sums_of_products() {
    assert!(near(product(&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.0]), 32.0));
}

/// One rotation takes away its own entry, keeps trace, sum of squares and symmetry, is what its vectors say
/// (A before = V A V'), and turns by no more than 45 degrees (Jacobi; Golub and Van Loan 8.5, from memory).
#[test]
fn a_rotation_takes_one_entry_away() {
    for (n, p, q) in [(3, 0, 1), (4, 1, 3), (5, 2, 4), (5, 0, 4)] {
        let before = full(n);
        let mut a = before.clone();
        let mut v: Vec<f64> = (0..n * n).map(|k| f64::from(u8::from(k / n == k % n))).collect();
        rotate(&mut a, &mut v, n, p, q);
        assert!(near(a[p * n + q], 0.0) && near(a[q * n + p], 0.0), "{n} {p} {q}");
        let trace = |m: &[f64]| (0..n).map(|i| m[i * n + i]).sum::<f64>();
        assert!(near(trace(&a), trace(&before)) && near(product(&a, &a), product(&before, &before)));
        for i in 0..n {
            for j in 0..n {
                assert!(near(a[i * n + j], a[j * n + i]));
                let turned = times(&before, &column(&v, n, j));
                assert!(near(product(&column(&v, n, i), &turned), a[i * n + j]), "{n} {p} {q}: {i} {j}");
            }
        }
        assert!(v[p * n + p] >= 0.5_f64.sqrt() - 1e-12 && near(v[p * n + p], v[q * n + q]));
    }
}

/// Values of the chain by their closed form; A v = value v, vectors of length one across one another.
#[test]
fn small_matrices_give_their_values_and_vectors() {
    for (matrix, n) in [(chain(5), 5), (chain(6), 6), (full(4), 4), (full(7), 7)] {
        let (values, vectors) = symmetric_eigen(matrix.clone(), n);
        for (i, value) in values.iter().enumerate() {
            let vector = column(&vectors, n, i);
            let wanted: Vec<f64> = vector.iter().map(|v| v * value).collect();
            assert!(all_near(&times(&matrix, &vector), &wanted));
            for j in 0..n {
                assert!(near(product(&vector, &column(&vectors, n, j)), f64::from(u8::from(i == j))));
            }
        }
        if matrix == chain(n) {
            let mut sorted = values;
            sorted.sort_by(f64::total_cmp);
            assert!(all_near(&sorted, &chain_values(n)));
        }
    }
}

/// A single pair beside diagonal entries is not passed over: [[2, 1], [1, 0]] has 1 +- sqrt(2), by hand.
#[test]
fn a_single_pair_is_seen_wherever_it_stands() {
    for (one, other) in [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)] {
        let mut matrix = vec![0.0; 16];
        (0..4).for_each(|i| matrix[i * 4 + i] = 5.0 + i as f64);
        (matrix[one * 5], matrix[other * 5]) = (2.0, 0.0);
        (matrix[one * 4 + other], matrix[other * 4 + one]) = (1.0, 1.0);
        let (values, _) = symmetric_eigen(matrix, 4);
        let root = 2.0_f64.sqrt();
        assert!(
            [1.0 - root, 1.0 + root].iter().all(|wanted| values.iter().any(|v| near(*v, *wanted))),
            "{one} {other}"
        );
    }
}

/// The block is spread out evenly: between -1/2 and 1/2, mean 0, variance 1/12, neighbours independent (uniform
/// distribution; four times the scatter of 6000 values allowed).
#[test]
fn the_first_block_is_spread_out() {
    let block = start_block(1_000, 6);
    let count = block.len() as f64;
    assert_eq!(block.len(), 6_000);
    assert!(block.iter().all(|v| (-0.5..0.5).contains(v)));
    assert!((block.iter().sum::<f64>() / count).abs() < 4.0 * (1.0 / 12.0 / count).sqrt());
    assert!((product(&block, &block) / count - 1.0 / 12.0).abs() < 4.0 * (1.0 / 180.0 / count).sqrt());
    assert!((product(&block[1..], &block[..block.len() - 1]) / count).abs() < 4.0 / 12.0 / count.sqrt());
}

/// What comes out has length one and stands across; each vector is made of those up to it only, the first keeps its
/// direction (Gram and Schmidt, by hand: (3, 4, 0), (1, 0, 0), (1, 1, 1) give (0.6, 0.8, 0), (0.8, -0.6, 0), (0, 0, 1)).
#[test]
fn vectors_are_set_across_one_another() {
    let mut block = vec![3.0, 4.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 1.0];
    orthonormalise(&mut block, 3, 3);
    assert!(all_near(&block, &[0.6, 0.8, 0.0, 0.8, -0.6, 0.0, 0.0, 0.0, 1.0]));
}

/// With as many vectors as unknowns the quotients are the chain's own values, least first, and K v = value v. With
/// fewer they are the quotients of the block's vectors, across one another also by K, and the space stays the same.
#[test]
fn the_block_turns_to_its_ritz_vectors() {
    for (n, count) in [(6, 6), (7, 3)] {
        let matrix = chain_below(n);
        let mut block = start_block(n, count);
        let mut before = block.clone();
        orthonormalise(&mut before, n, count);
        let quotients = rayleigh_ritz(&matrix, &mut block, count);
        assert_eq!(quotients.len(), count);
        assert!(quotients.is_sorted());
        let vectors: Vec<&[f64]> = block.chunks(n).collect();
        for (i, vector) in vectors.iter().enumerate() {
            for (j, other) in vectors.iter().enumerate() {
                let one = f64::from(u8::from(i == j));
                assert!(near(product(vector, other), one));
                assert!(near(product(other, &times(&chain(n), vector)), one * quotients[i]));
            }
            let within: f64 = before.chunks(n).map(|b| product(b, vector).powi(2)).sum();
            assert!(near(within, 1.0));
        }
        if n == count {
            assert!(all_near(&quotients, &chain_values(n)));
        }
    }
}

/// Unknowns are scaled and spread to where an equation ties more to them: u0 = 2 u1 with u1 eliminated, by hand.
#[test]
fn scaled_unknowns_become_movements() {
    let tie = Equation { row: vec![(0, 1.0), (1, -2.0)], value: 0.0 };
    let elimination = Elimination::new(4, &[tie], 1.0).unwrap();
    let raw = raw_motion(&[1.0, 3.0, 5.0], &[10.0, 100.0, 0.1], &elimination);
    assert!(all_near(&raw, &[10.0, 5.0, 300.0, 0.5]));
}

/// Two mixtures of a motion of the first place and one of the second come apart, each with a largest entry of one.
#[test]
fn mixtures_come_apart() {
    let one = [0.0, 4.0, 2.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let other = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 8.0, 0.0, 0.0, -4.0];
    let mix = |a: f64, b: f64| (0..12).map(|i| a * one[i] + b * other[i]).collect::<Vec<f64>>();
    let apart = localise(vec![mix(1.0, 1.0), mix(1.0, -0.5)], 1.0);
    let scaled = |of: [f64; 12], by: f64| of.map(|v| v / by);
    assert_eq!(apart.len(), 2);
    for wanted in [scaled(one, 4.0), scaled(other, 8.0)] {
        assert!(apart.iter().any(|found| all_near(found, &wanted)), "{apart:?}");
    }
}

/// A turn counts with its arm, a shift as it is: 0.01 rad at 1000 mm is more than a shift of 4 mm and becomes the one
/// that others are cleared of, at 100 mm it is less. Nothing at all stays nothing.
#[test]
fn turns_count_with_their_arm() {
    for place in [0, 6] {
        let mut motion = vec![0.0; 12];
        (motion[place + 1], motion[place + 4]) = (4.0, 0.01);
        let far = localise(vec![motion.clone()], 1_000.0);
        assert!(near(far[0][place + 4], 1.0) && near(far[0][place + 1], 400.0));
        let close = localise(vec![motion], 100.0);
        assert!(near(close[0][place + 1], 1.0) && near(close[0][place + 4], 0.0025));
    }
    assert_eq!(localise(vec![vec![0.0; 6]], 1_000.0), vec![vec![0.0; 6]]);
}

/// Both ways are one motion: the largest component points forward, of equals the first (by hand, 3-4-5).
#[test]
fn directions_point_forward() {
    for turned in [1.0, -1.0] {
        assert!(all_near(&signed(scale([-3.0, 0.0, 4.0], turned)), &[-0.6, 0.0, 0.8]));
        assert!(all_near(&signed(scale([3.0, 0.0, -3.0], turned)), &[0.5_f64.sqrt(), 0.0, -0.5_f64.sqrt()]));
    }
    assert_eq!(signed([1.0, 1e-10, -1e-10]), [1.0, 0.0, 0.0]);
    assert_eq!(signed([0.0; 3]), [0.0; 3]);
}

/// Two bearers along x, 1000 and 2000 mm long, and what their own ends do.
fn two() -> Frame {
    frame(&design(&[
        ("A", "C24", [0.0, 0.0, 0.0], [1_000.0, 0.0, 0.0]),
        ("B", "C24", [0.0, 500.0, 0.0], [2_000.0, 500.0, 0.0]),
    ]))
}

fn moving(frame: &Frame, member: usize, shift: Vector, turn: Vector) -> Moving {
    let m = &frame.members[member];
    Moving { member, middle: m.point(0.5 * m.length_mm), shift, turn }
}

/// Shift and turn of a member from its ends: one end raised by 10 over 1000 mm raises the middle by 5 and turns about
/// -y by 0.01 (a positive turn about y lowers z along x); the turn about its length is that of its first place.
#[test]
fn a_member_moves_as_its_ends_do() {
    let frame = two();
    let mut motion = vec![0.0; 24];
    (motion[6], motion[8], motion[3], motion[9]) = (0.0, 10.0, 0.03, 0.07);
    let found = whole_motion(&frame, &motion, 0, 0, 2);
    assert!(all_near(&found.shift, &[0.0, 0.0, 5.0]) && all_near(&found.turn, &[0.03, -0.01, 0.0]));
    assert!(all_near(&found.middle, &[500.0, 0.0, 0.0]));
}

/// By hand, with a largest movement of 1000 and so a tolerance of exactly 1, half lengths of 500 and 1000.
#[test]
fn kinds_of_motion_are_told_apart() {
    let frame = two();
    let still = [0.0; 3];
    let told = |a: (Vector, Vector), b: (Vector, Vector)| {
        let both = [moving(&frame, 0, a.0, a.1), moving(&frame, 1, b.0, b.1)];
        kind(&frame, &both.iter().collect::<Vec<_>>(), 1_000.0)
    };
    let along = |x: f64| [0.0, x, 0.0];
    let slide = (Motion::Slide, [0.0, 1.0, 0.0]);
    assert_eq!(told((along(-1_000.0), still), (along(-1_000.0), still)), slide);
    assert_eq!(told((along(1_000.0), still), (along(999.5), still)), slide);
    // Turns whose ends move by less than the tolerance do not count: 0.0015 x 500 = 0.75.
    assert_eq!(told((along(1_000.0), [0.0, 0.0, 0.0015]), (along(1_000.0), still)), slide);
    // What differs by the tolerance, by a tenth, or goes the other way, does not go together.
    for other in [999.0, 900.0, -1_000.0] {
        assert_eq!(told((along(1_000.0), still), (along(other), still)).0, Motion::Fold, "{other}");
    }
    // A turn of 0.002 at 500 moves ends by the tolerance itself, and so counts.
    assert_eq!(told((along(1_000.0), [0.0, 0.0, 0.002]), (along(1_000.0), still)).0, Motion::Fold);
    // Both turn alike about x; B's middle, 500 beside A's, goes up by 1 and by no more.
    let tilt = [0.002, 0.0, 0.0];
    let lifted = |by: f64| ([0.0, 1_000.0, by], tilt);
    assert_eq!(told(lifted(0.0), lifted(1.0)), (Motion::Turn, [1.0, 0.0, 0.0]));
    assert_eq!(told(lifted(0.0), lifted(2.0)).0, Motion::Fold);
    // 0.5 rad about x through A's middle raises B's, 500 beside, by 250 (small turns); B must turn as much.
    let about = [0.5, 0.0, 0.0];
    let raised = [0.0, 0.0, 250.0];
    assert_eq!(told((still, about), (raised, about)), (Motion::Turn, [1.0, 0.0, 0.0]));
    assert_eq!(told((still, scale(about, 0.9)), (raised, about)).0, Motion::Fold);
    assert_eq!(told((still, about), (scale(raised, 0.9), about)).0, Motion::Fold);
}

/// A member that turns by t about its own length moves by t x half its length when movers are told: 0.001 x 500 = 0.5
/// is over a hundredth of 40, 0.0006 x 500 = 0.3 is not. What is left out is not told of.
#[test]
fn members_under_a_hundredth_stand_still() {
    let frame = two();
    let tags = |left_out: [bool; 2], turn: f64| {
        let mesh = Mesh::new(&frame, &Plan::plain(&left_out));
        let mut motion = vec![0.0; mesh.raw_count()];
        for (place, at) in mesh.places.iter().enumerate() {
            if at.member == 0 {
                motion[6 * place + 3] = turn;
            } else {
                motion[6 * place + 1] = 40.0;
            }
        }
        let (fault, members) = describe(&frame, &mesh, &motion);
        let Fault::Mechanism { members: tags, .. } = fault else { panic!("{fault:?}") };
        assert_eq!(members.len(), tags.len());
        tags
    };
    assert_eq!(tags([false, false], 0.001), ["A", "B"]);
    assert_eq!(tags([false, false], 0.0006), ["B"]);
    assert_eq!(tags([true, false], 0.0), ["B"]);
}
