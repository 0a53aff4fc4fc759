//! Buckling and vibration against published values and closed forms, through the statics as the check uses them.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault, and uses a part of the shared helpers"
)]

#[path = "frames/book.rs"]
mod book;
#[path = "frames/build.rs"]
mod build;
#[path = "frames/convert.rs"]
mod convert;
#[path = "frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::{Action, Axes, Design, Frame, Grip, Hold, Load, LoadKind, Material};
use battenboard_engine::statics::buckling::{self, Buckled};
use battenboard_engine::statics::{analyse, second_order, sway, vibration};
use book::Book;
use convert::{Converted, tag};
use std::f64::consts::PI;

/// The books load with 1 N; this often, so that the factor is of a size that is looked at.
const TIMES: f64 = 5000.0;

/// Buckling under the case of that name alone, taken [`TIMES`] times.
fn buckled(design: &Design, case: &str) -> Buckled {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"));
    let analysis = analyse(&frame, &|| false).unwrap();
    assert!(analysis.faults.is_empty(), "{:?}", analysis.faults);
    let index = analysis.cases.iter().position(|c| c.name == case).unwrap();
    let terms = [(index, TIMES)];
    let mut found = buckling::study(&analysis, &[&terms], &|| false).unwrap().states.remove(0);
    found.factor *= TIMES;
    found
}

fn frequencies(design: &Design, count: usize) -> Vec<f64> {
    let frame = Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"));
    let analysis = analyse(&frame, &|| false).unwrap();
    assert!(analysis.faults.is_empty(), "{:?}", analysis.faults);
    vibration::lowest(&analysis, count, &|| false).unwrap().iter().map(|v| v.frequency_hz).collect()
}

fn close(found: f64, expected: f64, share: f64, what: &str) {
    assert!((found - expected).abs() <= share * expected.abs(), "{what}: {found} instead of {expected}");
}

fn book(id: &str) -> Book {
    Book::all().into_iter().find(|b| b.id == id).unwrap()
}

/// F140 to F148 of the reference set: Timoshenko and Gere, Theory of Elastic Stability, 1961, ch. 2 (from memory).
#[test]
fn published_columns_and_the_portal() {
    for id in ["F140", "F142", "F144", "F146", "F148"] {
        let book = book(id);
        let found = buckled(&Converted::of(&book).design, build::CASE);
        let [first, rest @ ..] = book.raw_checks() else { panic!("{id} checks nothing") };
        close(found.factor, first["expect"].as_f64().unwrap(), first["tol"].as_f64().unwrap(), id);
        assert_eq!(found.sways, matches!(id, "F144" | "F146" | "F148"), "{id}");
        for second in rest {
            // The second mode bends the post about its other axis: the length there says at which load.
            let section = &book.model.sections["s"];
            let length = found.columns[0].length_mm[0];
            let load = PI * PI * 11_000.0 * section.iy / (length * length);
            close(load, second["expect"].as_f64().unwrap(), second["tol"].as_f64().unwrap(), id);
        }
    }
}

/// F150 to F156: Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1 (from memory); the oscillator; AFNOR
/// SDLX01/89 (read).
#[test]
fn published_frequencies() {
    for id in ["F150", "F152", "F154", "F156"] {
        let book = book(id);
        let mut design = Converted::of(&book).design;
        design.loads.clear();
        // Numbers of the book pass through as they are: N, t and mm, or N, kg and m, where the engine's own factor from
        // kg/m³ to t/mm³, 1e-12, makes every frequency 1e6 times too great.
        let metres = id == "F156";
        for stock in &mut design.stock {
            if let Material::Given { density_kg_m3, .. } = &mut stock.material {
                *density_kg_m3 = match id {
                    "F156" => 7850.0,
                    "F154" => 0.0,
                    _ => 460.0,
                };
            }
        }
        if id == "F154" {
            let what = LoadKind::Mass { member: tag("m0"), at_mm: 1500.0, mass_kg: 10.0 };
            design.loads.push(Load { case: "tip".into(), action: Action::Permanent, what });
        }
        let checks = book.raw_checks();
        let found = frequencies(&design, checks.len());
        for (check, found) in checks.iter().zip(&found) {
            let found = if metres { found * 1e-6 } else { *found };
            let tolerance = check["tol"].as_f64().unwrap().max(1e-5);
            close(found, check["expect"].as_f64().unwrap(), tolerance, &format!("{id} mode {}", check["mode"]));
        }
        assert_eq!(found.len(), checks.len(), "{id}");
    }
}

/// A post of E = 11000, 45 x 95, without shear flexibility, standing on `foot` and held at its top by `head`.
fn post(foot: Hold, head: Option<Hold>) -> Design {
    let mut design = build::blank("post");
    design.stock.push(build::stock(
        "s",
        11_000.0,
        690.0,
        build::section(4275.0, 3_215_156.25, 721_406.25, 1_960_000.0),
    ));
    design.members.push(build::member("P", "s", [0.0; 3], [0.0, 0.0, 1800.0]));
    design.anchors.push(build::anchor("foot", "P", 0.0, foot));
    if let Some(head) = head {
        design.anchors.push(build::anchor("head", "P", 1800.0, head));
    }
    design.loads.push(build::point_load(build::CASE, "P", 1800.0, [0.0, 0.0, -1.0], [0.0; 3]));
    design
}

/// Local y of a vertical member is vehicle y, its depth lies along x: the weak bending, about local z, moves it in y.
const EULER_WEAK: f64 = PI * PI * 11_000.0 * 721_406.25 / (1800.0 * 1800.0);

/// Fixed-fixed 4, fixed-pinned 2.0457 (tan u = u, u = 4.493409), pinned 1, cantilever 1/4, guided 1, to 0.1 %: no inner
/// node is given. Closed forms (Timoshenko and Gere, 1961, 2.1; derived again from their equations).
#[test]
fn columns_between_every_kind_of_ends() {
    let held = |free: &[usize]| build::free_in(free);
    let cases = [
        ("fixed-fixed", post(held(&[]), Some(held(&[2]))), 4.0),
        ("fixed-pinned", post(held(&[]), Some(held(&[2, 3, 4, 5]))), (4.493_409_457_9 / PI).powi(2)),
        ("pinned-pinned", post(held(&[3, 4]), Some(held(&[2, 3, 4]))), 1.0),
        ("cantilever", post(held(&[]), None), 0.25),
        ("guided", post(held(&[]), Some(held(&[0, 1, 2]))), 1.0),
    ];
    for (name, design, factor) in cases {
        let found = buckled(&design, build::CASE);
        close(found.factor, factor * EULER_WEAK, 1e-3, name);
        // The length about the weak axis says the same; about the strong axis the ends are alike.
        let length = 1800.0 / factor.sqrt();
        for about in found.columns[0].length_mm {
            close(about, length, 1e-3, name);
        }
        assert_eq!(found.sways, matches!(name, "cantilever" | "guided"), "{name}");
    }
}

/// Springy ends: pinned foot, head held sideways, both with the same turning spring c. By hand: the symmetric mode has
/// tan(u/2) = -E I u/(c l), u = l sqrt(P/E I) between pi and 2 pi, here solved by halving.
#[test]
fn columns_with_springy_ends() {
    let weak = 11_000.0 * 721_406.25;
    for stiffness in [1e5, 1e6, 1e7, 1e8, 1e9] {
        let turn = |free: usize, k: f64| {
            let mut grips = [Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Rigid, Grip::Rigid];
            grips[3] = Grip::Spring(k);
            if free < 6 {
                grips[free] = Grip::Free;
            }
            Hold::Given(grips)
        };
        let found = buckled(&post(turn(6, stiffness), Some(turn(2, stiffness))), build::CASE);
        // f(u) = tan(u/2) + (E I/c l) u rises from -infinity to (E I/c l) 2 pi between pi and 2 pi.
        let (mut low, mut high) = (PI + 1e-9, 2.0 * PI);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            let value = (0.5 * middle).tan() + weak / (stiffness * 1800.0) * middle;
            if value < 0.0 { low = middle } else { high = middle }
        }
        let expected = (low / 1800.0).powi(2) * weak;
        close(found.factor, expected, 1e-3, &format!("spring {stiffness}"));
    }
}

/// Shear flexibility: P = P_E/(1 + P_E/G A_s) for a pinned column (Engesser; Timoshenko and Gere, 1961, 2.17, from memory).
#[test]
fn shear_lowers_the_load() {
    let mut design = post(build::free_in(&[3, 4]), Some(build::free_in(&[2, 3, 4])));
    design.stock[0] = build::stock("s", 11_000.0, 690.0, build::rectangle(45.0, 95.0));
    let shear = 690.0 * 45.0 * 95.0 * 5.0 / 6.0;
    let found = buckled(&design, build::CASE);
    close(found.factor, EULER_WEAK / (1.0 + EULER_WEAK / shear), 1e-3, "pinned with shear");
}

/// A loaded post, and an idle one beside it under the same rail, a tenth as stiff: the first is governed by its own
/// buckling, the second is no column at all.
#[test]
fn an_idle_post_is_not_blamed() {
    let mut design = post(build::free_in(&[5]), Some(build::free_in(&[2, 3, 4])));
    design.members.push(build::member("Q", "s", [600.0, 0.0, 0.0], [600.0, 0.0, 1800.0]));
    design.members.push(build::member("R", "s", [0.0, 0.0, 1800.0], [600.0, 0.0, 1800.0]));
    design.anchors.push(build::anchor("Q/foot", "Q", 0.0, Hold::Pinned));
    design.joints.push(build::joint("P/R", ("R", 0.0), ("P", 1800.0), build::free_in(&[3, 4]), Axes::Vehicle));
    design.joints.push(build::joint("Q/R", ("R", 600.0), ("Q", 1800.0), build::free_in(&[3, 4]), Axes::Vehicle));
    let found = buckled(&design, build::CASE);
    assert_eq!(found.columns.iter().map(|c| c.member).collect::<Vec<_>>(), [0]);
    assert_eq!(found.members, [0]);
}

/// Second order of a leaning, bowed cantilever, at its foot. By hand from E I w'' = P (deflection at the top - w - shape):
/// lean phi alone M = P phi tan(k l)/k; a parabolic bow e alone M = P (8 e/(k l)² - A), A = (8 e/(k l)² - 4 e sin(k l)/(k l))
/// / cos(k l), k² = P/E I. Both ways of leaning, about the weak axis. A bow towards the lean takes its part off, for it
/// brings the middle over the foot; one away from it adds.
#[test]
fn a_leaning_post_by_second_order() {
    let design = post(build::free_in(&[]), None);
    let frame = Frame::new(&design).unwrap();
    let analysis = analyse(&frame, &|| false).unwrap();
    let index = analysis.cases.iter().position(|c| c.name == build::CASE).unwrap();
    let (length, weak) = (1800.0, 11_000.0 * 721_406.25);
    for share in [0.1, 0.3, 0.6, 0.9] {
        let load = share * 0.25 * EULER_WEAK;
        let terms = [(index, load)];
        let parts = buckling::study(&analysis, &[&terms], &|| false).unwrap().parts;
        let base = second_order::Base::new(&analysis, &parts).unwrap().unwrap();
        for (side, bowed) in [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
            let leaning = base.leaning(&terms, [0.0, side, 0.0], bowed).unwrap();
            let found = leaning.pieces(&frame, &base.mesh, 0)[0].mz[0].abs();
            let k = (load / weak).sqrt();
            let (angle, bow) = (k * length, bowed * second_order::BOW * length);
            let lean = load * second_order::LEAN * angle.tan() / k;
            let a = (8.0 * bow / (angle * angle) - 4.0 * bow * angle.sin() / angle) / angle.cos();
            let expected = lean + load * (8.0 * bow / (angle * angle) - a);
            close(found, expected, 2e-3, &format!("share {share}, side {side}"));
        }
    }
}

/// A beam-column held at both ends, pressed by P and loaded across by w: the middle moment is w/k² (sec(k l/2) - 1) by
/// second order (Timoshenko and Gere, 1961, 1.5, from memory; derived again). The bow adds P e 8/(k l)² (sec(k l/2) - 1).
#[test]
fn a_beam_column_by_second_order() {
    let mut design = post(build::free_in(&[3, 4]), Some(build::free_in(&[2, 3, 4])));
    let line = 0.5;
    let across = [0.0, line / 12_000.0, 0.0];
    design.loads.push(build::line_load(build::CASE, "P", (0.0, across), (1800.0, across)));
    let frame = Frame::new(&design).unwrap();
    let analysis = analyse(&frame, &|| false).unwrap();
    let index = analysis.cases.iter().position(|c| c.name == build::CASE).unwrap();
    let terms = [(index, 12_000.0)];
    let parts = buckling::study(&analysis, &[&terms], &|| false).unwrap().parts;
    let base = second_order::Base::new(&analysis, &parts).unwrap().unwrap();
    let leaning = base.leaning(&terms, [0.0, 1.0, 0.0], 1.0).unwrap();
    let pieces = leaning.pieces(&frame, &base.mesh, 0);
    let middle = pieces.iter().find(|p| (p.from_mm - 900.0).abs() < 1.0).unwrap().mz[0].abs();
    let k = (12_000.0 / (11_000.0 * 721_406.25_f64)).sqrt();
    let (angle, bow) = (k * 1800.0, second_order::BOW * 1800.0);
    let grown = 1.0 / (0.5 * angle).cos() - 1.0;
    // A lean moves both ends of a post that is held at both; only the bow and the load bend it.
    let expected = line / (k * k) * grown + 12_000.0 * bow * 8.0 / (angle * angle) * grown;
    close(middle, expected, 2e-3, "beam-column");
}

/// Notional pushes, by hand: a clamped post of height h under F leans by f F h³/(3 E I) and f F h/(G A_s), with f 0.055 of
/// what is not people (P); the stiffness is the push over it.
#[test]
fn a_post_drifts_as_a_cantilever() {
    let design = post(Hold::Rigid, None);
    let frame = Frame::new(&design).unwrap();
    let analysis = analyse(&frame, &|| false).unwrap();
    let terms: Vec<(usize, f64)> = (0..analysis.cases.len()).map(|case| (case, 1.0)).collect();
    let (drift, stiffness) = sway::drift(&analysis, &[&terms]).unwrap();
    let bar = analysis.system.mesh.elements[0].bar;
    let height = frame.members[0].length_mm;
    let force = -analysis.solved.iter().map(|solved| solved.load_sum[2]).sum::<f64>();
    assert!(force > 0.0);
    let weaker = bar.eiy.min(bar.eiz);
    let shear = if bar.eiy < bar.eiz { bar.gaz } else { bar.gay };
    let soft = height.powi(3) / (3.0 * weaker) + height / shear;
    close(drift.drift_mm, 0.055 * force * soft, 1e-9, "drift");
    close(stiffness[drift.direction], 1.0 / soft, 1e-9, "stiffness");
    close(drift.height_mm, height, 1e-12, "height");
}
