//! Frequencies against published values and closed forms, by bars without any inner node, and with nodes put in.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault, and uses a part of the shared helpers"
)]

#[path = "frames/build.rs"]
mod build;
#[path = "frames/chance.rs"]
mod chance;
#[path = "frames/random.rs"]
mod random;
#[path = "frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::{Action, Axes, Design, Frame, Hold, Load, LoadKind, Material, Section};
use battenboard_engine::statics::{analyse, vibration};
use chance::Chance;
use random::Kinds;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// What is promised of a frequency.
const PROMISED: f64 = 1e-3;
const LENGTH: f64 = 1800.0;
/// E I about the weak axis of the post, N mm².
const WEAK: f64 = 11_000.0 * 721_406.25;
/// Mass of the post, t/mm.
const LINE: f64 = 460e-12 * 4275.0;

fn lowest(design: &Design) -> f64 {
    where_sound(design).expect("a sound frame with a mass")
}

/// The lowest frequency, Hz, of a frame that the engine finds nothing wrong with and that has a mass.
fn where_sound(design: &Design) -> Option<f64> {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"));
    let analysis = analyse(&frame, &|| false).unwrap();
    if !analysis.faults.is_empty() {
        return None;
    }
    vibration::lowest(&analysis, 1, &|| false).unwrap().first().map(|found| found.frequency_hz)
}

fn close(found: f64, expected: f64, share: f64, what: &str) {
    assert!((found - expected).abs() <= share * expected.abs(), "{what}: {found} instead of {expected}");
}

/// A post of E = 11000, 45 x 95, of `density` kg/m³, without shear flexibility, on `foot`, held at its top by `head`.
fn post(density: f64, foot: Hold, head: Option<Hold>) -> Design {
    let mut design = build::blank("post");
    let section = build::section(4275.0, 3_215_156.25, 721_406.25, 1_960_000.0);
    design.stock.push(build::stock("s", 11_000.0, 690.0, section));
    weigh(&mut design, density);
    design.members.push(build::member("P", "s", [0.0; 3], [0.0, 0.0, LENGTH]));
    design.anchors.push(build::anchor("foot", "P", 0.0, foot));
    if let Some(head) = head {
        design.anchors.push(build::anchor("head", "P", LENGTH, head));
    }
    design
}

fn weigh(design: &mut Design, density: f64) {
    for stock in &mut design.stock {
        if let Material::Given { density_kg_m3, .. } = &mut stock.material {
            *density_kg_m3 = density;
        }
    }
}

fn put(design: &mut Design, member: &str, at_mm: f64, mass_kg: f64) {
    let what = LoadKind::Mass { member: member.into(), at_mm, mass_kg };
    design.loads.push(Load { case: "kit".into(), action: Action::Permanent, what });
}

/// Where a rising function crosses zero.
fn zero(mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if of(middle) < 0.0 { low = middle } else { high = middle }
    }
    low
}

/// beta l of an even bar between all ends: Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1 (from memory):
/// pinned pi, clamped 4.730041, cantilever 1.875104, clamped and pinned 3.926602, clamped and guided 2.365020, pinned and
/// guided pi/2.
#[test]
fn even_bars_between_every_kind_of_ends() {
    let held = build::free_in;
    let cases = [
        ("pinned", post(460.0, held(&[3, 4]), Some(held(&[2, 3, 4]))), PI),
        ("clamped", post(460.0, held(&[]), Some(held(&[2]))), 4.730_041),
        ("clamped, nothing free", post(460.0, held(&[]), Some(held(&[]))), 4.730_041),
        ("cantilever", post(460.0, held(&[]), None), 1.875_104),
        ("clamped and pinned", post(460.0, held(&[]), Some(held(&[2, 3, 4]))), 3.926_602),
        ("clamped and guided", post(460.0, held(&[]), Some(held(&[0, 1, 2]))), 2.365_020),
        ("pinned and guided", post(460.0, held(&[3, 4]), Some(held(&[0, 1, 2]))), FRAC_PI_2),
    ];
    for (name, design, beta) in cases {
        let expected = (beta / LENGTH).powi(2) * (WEAK / LINE).sqrt() / TAU;
        let found = lowest(&design);
        close(found, expected, PROMISED, name);
    }
}

/// With shear flexibility, without rotary inertia: omega² = E I k⁴/m (1 + E I k²/G A_s), k = pi/l, of a bar on pins, whose
/// way of swinging stays a half wave (by hand from Timoshenko's equations).
#[test]
fn shear_lowers_the_frequency() {
    let mut design = post(460.0, build::free_in(&[3, 4]), Some(build::free_in(&[2, 3, 4])));
    design.stock[0].section = Section::Given(build::rectangle(45.0, 95.0));
    let (k, shear) = (PI / LENGTH, 690.0 * 45.0 * 95.0 * 5.0 / 6.0);
    let square = WEAK * k.powi(4) / LINE / (1.0 + WEAK * k * k / shear);
    close(lowest(&design), square.sqrt() / TAU, PROMISED, "pinned with shear");
}

/// A mass on a bar without any: k = 3 E I l/(a² b²) on pins, 3 E I l³/(a³ b³) between clamps, 3 E I/a³ on a cantilever
/// (Roark's Formulas for Stress and Strain, table 8; from memory).
#[test]
fn one_mass_on_a_light_bar() {
    let (on_pins, clamped) = ([&[3, 4][..], &[2, 3, 4]], [&[][..], &[2]]);
    for share in [0.5, 1.0 / 3.0, 0.1] {
        let (a, b) = (share * LENGTH, (1.0 - share) * LENGTH);
        let cases = [
            ("pins", on_pins, 3.0 * WEAK * LENGTH / (a * a * b * b)),
            ("clamps", clamped, 3.0 * WEAK * LENGTH.powi(3) / (a * b).powi(3)),
        ];
        for (name, [foot, head], stiffness) in cases {
            let mut design = post(0.0, build::free_in(foot), Some(build::free_in(head)));
            put(&mut design, "P", a, 25.0);
            close(lowest(&design), (stiffness / 0.025).sqrt() / TAU, 1e-9, &format!("{name}, {share}"));
        }
        let mut design = post(0.0, build::free_in(&[]), None);
        put(&mut design, "P", a, 25.0);
        close(lowest(&design), (3.0 * WEAK / a.powi(3) / 0.025).sqrt() / TAU, 1e-9, &format!("cantilever, {share}"));
    }
}

/// A mass amid an even bar on pins, from no mass to many times the bar's: x (tan x - tanh x) = 2 m l/M with beta l = 2 x; at
/// the end of a cantilever: 1 + cos x cosh x = M/(m l) x (sin x cosh x - cos x sinh x), beta l = x (derived from the bar's
/// equation; both go over into the formulas above and those of an even bar).
#[test]
fn one_mass_on_a_heavy_bar() {
    let bar = LINE * LENGTH;
    for ratio in [0.01, 0.3, 1.0, 5.0, 100.0] {
        let expected = |beta: f64| (beta / LENGTH).powi(2) * (WEAK / LINE).sqrt() / TAU;
        let mut amid = post(460.0, build::free_in(&[3, 4]), Some(build::free_in(&[2, 3, 4])));
        put(&mut amid, "P", 0.5 * LENGTH, ratio * bar * 1e3);
        let x = zero(1e-6, FRAC_PI_2 - 1e-9, |x| ratio * x * (x.tan() - x.tanh()) - 2.0);
        close(lowest(&amid), expected(2.0 * x), PROMISED, &format!("amid, {ratio}"));
        let mut tip = post(460.0, build::free_in(&[]), None);
        put(&mut tip, "P", LENGTH, ratio * bar * 1e3);
        let of = |x: f64| ratio * x * (x.sin() * x.cosh() - x.cos() * x.sinh()) - 1.0 - x.cos() * x.cosh();
        close(lowest(&tip), expected(zero(1e-6, 1.9, of)), PROMISED, &format!("tip, {ratio}"));
    }
}

/// Two light clamped posts under a stiff rail that carries a mass, about the weak axis of the posts. By hand, from slope and
/// deflection: the rail sways against 24 E I/h³, tilts against 8 E I/h + E A b²/2 h, and a sway pushes a tilt with
/// 12 E I/h². (Without the posts' own shortening, 24 E I/h³ alone, it would be 0.12 % higher.)
#[test]
fn a_portal_sways_on_its_posts() {
    let mut design = post(0.0, build::free_in(&[]), None);
    let mut stiff = build::stock("stiff", 1e9, 1e9, build::section(1e4, 1e8, 1e8, 1e8));
    stiff.name = "stiff".into();
    design.stock.push(stiff);
    design.members.push(build::member("Q", "s", [0.0, 900.0, 0.0], [0.0, 900.0, LENGTH]));
    design.members.push(build::member("R", "stiff", [0.0, 0.0, LENGTH], [0.0, 900.0, LENGTH]));
    design.anchors.push(build::anchor("Q/foot", "Q", 0.0, Hold::Rigid));
    for (tag, at) in [("P", 0.0), ("Q", 900.0)] {
        design.joints.push(build::joint(&format!("R/{tag}"), ("R", at), (tag, LENGTH), Hold::Rigid, Axes::Vehicle));
    }
    // Held in x, so that it sways in its own plane.
    design.anchors.push(build::anchor("side", "R", 450.0, build::free_in(&[1, 2, 3, 4, 5])));
    put(&mut design, "R", 450.0, 30.0);
    let (sway, push) = (24.0 * WEAK / LENGTH.powi(3), 12.0 * WEAK / LENGTH.powi(2));
    let tilt = 8.0 * WEAK / LENGTH + 11_000.0 * 4275.0 * 900.0 * 900.0 / (2.0 * LENGTH);
    close(lowest(&design), ((sway - push * push / tilt) / 0.03).sqrt() / TAU, 1e-5, "portal");
}

/// Nodes that do nothing change a frequency by no more than is promised: random frames with masses at any place, and
/// with twelve more nodes a member.
#[test]
fn nodes_put_in_change_no_frequency() {
    let mut looked_at = 0;
    for seed in 0..120 {
        let mut chance = Chance::new(77_000 + seed);
        let mut design =
            random::frame(88_000 + seed, Kinds { members: 1 + chance.below(5), ..Kinds::mixed(&mut chance) });
        design.loads.clear();
        weigh(&mut design, if chance.percent(30) { 0.0 } else { 500.0 });
        let mut finer = design.clone();
        // Free anchors are places and hold nothing.
        for member in &design.members {
            for part in 0..12 {
                let at = (f64::from(part) + chance.between(0.1, 0.9)) / 12.0 * vectors::length(member);
                let tag = format!("{}/{part}", member.tag);
                finer.anchors.push(build::anchor(&tag, &member.tag, at, build::free_in(&[0, 1, 2, 3, 4, 5])));
            }
        }
        for _ in 0..chance.below(6) {
            let member = design.members[chance.below(design.members.len())].clone();
            let (at, kg) = (chance.between(0.0, 1.0) * vectors::length(&member), chance.decades(0.5, 100.0));
            put(&mut design, &member.tag, at, kg);
            put(&mut finer, &member.tag, at, kg);
        }
        // Very short bars may be ill-conditioned, and are named as such.
        let (Some(found), Some(fine)) = (where_sound(&design), where_sound(&finer)) else { continue };
        close(found, fine, PROMISED, &format!("seed {seed}"));
        looked_at += 1;
    }
    assert!(looked_at > 60, "{looked_at}");
}
