//! Masses of a bar against sums by hand.

use super::*;
use crate::statics::load::MemberLoad;

const AXES: Triad = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A bar from 1000 to 3000 of a member of 4000.
fn on_bar(loads: &[MemberLoad]) -> Vec<Point> {
    on_a_bar(loads, false)
}

fn on_a_bar(loads: &[MemberLoad], is_last: bool) -> Vec<Point> {
    let rules: Vec<Vec<[f64; 2]>> = (0..=POINTS[1]).map(gauss).collect();
    let (from, to, near) = (1000.0, 3000.0, 1e-4);
    let mut on = OnBar { axes: &AXES, from, to, near, is_last, standing: Vec::new(), edges: Vec::new() };
    loads.iter().for_each(|load| on.add(load));
    on.points(&rules)
}

/// A weight per mm, kg, that is `start` at `from` and `end` at `to`.
fn line(from: f64, to: f64, start: f64, end: f64) -> MemberLoad {
    let down = |kg: f64| [0.0, 0.0, -kg * GRAVITY];
    MemberLoad::Line { from, to, start: down(start), end: down(end) }
}

fn stands(at: f64, kg: f64) -> MemberLoad {
    MemberLoad::Point { at, force: [0.0, 0.0, -kg * GRAVITY], moment: [0.0; 3] }
}

/// Mass, t, and its moments about the bar's start over the length, over its square, and so on.
fn moments(points: &[Point]) -> [f64; 4] {
    std::array::from_fn(|power| points.iter().map(|p| p.mass * p.s.powi(power as i32)).sum())
}

fn expect(points: &[Point], expected: [f64; 4]) {
    for (found, expected) in moments(points).into_iter().zip(expected) {
        assert!((found - expected).abs() < 1e-12, "{found} instead of {expected}");
    }
}

/// By hand: integrals of the density over the part of each load that lies on the bar.
#[test]
fn every_mass_is_at_its_place() {
    // 0.01 kg/mm over the member: 20 kg on the bar, even.
    expect(&on_bar(&[line(0.0, 4000.0, 0.01, 0.01)]), [0.02, 0.01, 0.02 / 3.0, 0.005]);
    // From nothing at 500 to 0.02 kg/mm at 2500: 0.005 at the bar's start, over 1500.
    let (q0, q1, b) = (0.005 * 2.0, 0.02 * 2.0, 0.75_f64);
    let tilted = |n: i32| {
        let n = f64::from(n);
        q0 * b.powf(n + 1.0) / (n + 1.0) + (q1 - q0) / b * b.powf(n + 2.0) / (n + 2.0)
    };
    expect(&on_bar(&[line(500.0, 2500.0, 0.0, 0.02)]), [0, 1, 2, 3].map(tilted));
    // Two boxes at one place are one; one at the far end belongs to the next bar, one outside to another.
    let boxes = [stands(1500.0, 3.0), stands(1500.0, 4.0), stands(3000.0, 9.0), stands(200.0, 9.0)];
    let found = on_bar(&boxes);
    assert_eq!(found.len(), 1);
    expect(&found, [0.007, 0.007 / 4.0, 0.007 / 16.0, 0.007 / 64.0]);
}

/// What a lever takes off a bar lowers what is there, to nothing at most.
#[test]
fn no_mass_is_negative() {
    let found = on_bar(&[line(1000.0, 3000.0, 0.01, 0.01), line(1000.0, 2000.0, -0.004, -0.004)]);
    // 6 kg over the near half and 10 kg over the far one.
    let halves = |n: i32| {
        let half = 0.5_f64.powi(n + 1);
        (0.012 * half + 0.02 * (1.0 - half)) / f64::from(n + 1)
    };
    expect(&found, [0, 1, 2, 3].map(halves));
    let found = on_bar(&[line(1000.0, 3000.0, 0.01, 0.01), line(1000.0, 2000.0, -0.02, -0.02), stands(1200.0, -5.0)]);
    assert!(found.iter().all(|p| p.mass > 0.0 && p.s > 0.5));
}

/// Many small loads make no more points than the bar can have, of the same mass about the same centre.
#[test]
fn points_are_bounded() {
    let loads: Vec<MemberLoad> = (0..500).map(|k| stands(1001.0 + 3.0 * f64::from(k), 0.1)).collect();
    let found = on_bar(&loads);
    assert!(found.len() <= POINTS_MAX);
    let [mass, moment, ..] = moments(&found);
    let by_hand: f64 = (0..500).map(|k| 1e-4 * (1.0 + 3.0 * f64::from(k)) / 2000.0).sum();
    assert!((mass - 0.05).abs() < 1e-12 && (moment - by_hand).abs() < 1e-12);
}

/// By hand: 0.01 kg/mm from the bar's quarter to its third quarter are 10 kg there; a load that grows to 0.02 kg/mm over
/// the near half leaves nothing of its growth in an even one behind it.
#[test]
fn loads_begin_and_end_within_a_bar() {
    let even = |q: f64, a: f64, b: f64, n: i32| q * (b.powi(n + 1) - a.powi(n + 1)) / f64::from(n + 1);
    expect(&on_bar(&[line(1500.0, 2500.0, 0.01, 0.01)]), [0, 1, 2, 3].map(|n| even(0.02, 0.25, 0.75, n)));
    // Over s from 0 to 1/2 the density is 0.08 s: its moments are 0.08 (1/2)^(n + 2)/(n + 2).
    let grown = |n: i32| 0.08 * 0.5_f64.powi(n + 2) / f64::from(n + 2);
    let found = on_bar(&[line(1000.0, 2000.0, 0.0, 0.02), line(2000.0, 3000.0, 0.01, 0.01)]);
    expect(&found, [0, 1, 2, 3].map(|n| grown(n) + even(0.02, 0.5, 1.0, n)));
}

/// As many boxes as a bar has points for each stay where they are; with one more at a member's far end it stays at its
/// end, as the last of fewer.
#[test]
fn boxes_stay_apart_while_there_is_room() {
    let mut boxes: Vec<MemberLoad> = (0..POINTS_MAX).map(|k| stands(1001.0 + 3.0 * k as f64, 1.0)).collect();
    let places = (0..POINTS_MAX).map(|k| (1.0 + 3.0 * k as f64) / 2000.0);
    let found = on_a_bar(&boxes, true);
    assert_eq!(found.len(), POINTS_MAX);
    assert!(found.iter().zip(places).all(|(point, s)| (point.s - s).abs() < 1e-12));
    boxes.push(stands(3000.0, 2.0));
    let found = on_a_bar(&boxes, true);
    assert!(found.len() <= POINTS_MAX);
    let last = found.last().map(|point| (point.s, point.mass));
    assert!(last.is_some_and(|(s, mass)| (s - 1.0).abs() < 1e-12 && (mass - 0.002).abs() < 1e-12), "{last:?}");
}
