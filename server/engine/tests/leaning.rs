//! Sideways drift and second order along a member against sums by hand.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    missing_docs,
    dead_code,
    reason = "a test ends where it finds a fault, and uses a part of the shared helpers"
)]

#[path = "frames/build.rs"]
mod build;

use battenboard_engine::design::vector::{Triad, dot};
use battenboard_engine::design::{Design, Frame, Hold, Vector};
use battenboard_engine::statics::line::{Piece, value};
use battenboard_engine::statics::second_order::{BOW, Base, LEAN, Leaning};
use battenboard_engine::statics::{Analysis, analyse, sway};

fn close(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1e-9), "{what}: {found} against {expected}");
}

fn frame_of(design: &Design) -> Frame {
    Frame::new(design).unwrap_or_else(|violations| panic!("{violations:?}"))
}

fn solved(frame: &Frame) -> Analysis<'_> {
    let analysis = analyse(frame, &|| false).unwrap();
    assert!(analysis.faults.is_empty(), "{:?}", analysis.faults);
    analysis
}

/// Posts on their feet at 300 mm, each with a weight on its top: tag, place, height, weight.
fn posts(posts: &[(&str, f64, f64, f64)]) -> Design {
    let mut design = build::blank("posts");
    design.stock.push(build::stock("s", 1e4, 600.0, build::section(2500.0, 5e5, 5e5, 1e6)));
    for (tag, x, height, weight) in posts {
        design.members.push(build::member(tag, "s", [*x, 0.0, 300.0], [*x, 0.0, 300.0 + height]));
        design.anchors.push(build::anchor(&format!("F{tag}"), tag, 0.0, Hold::Rigid));
        design.loads.push(build::point_load(build::CASE, tag, *height, [0.0, 0.0, -weight], [0.0; 3]));
    }
    design
}

fn drift_of(design: &Design) -> Option<(sway::Drift, [f64; 2])> {
    let frame = frame_of(design);
    let analysis = solved(&frame);
    let case = analysis.cases.iter().position(|case| case.name == build::CASE).unwrap();
    let terms = [(case, 1.0)];
    sway::drift(&analysis, &[&terms])
}

/// A clamped post pushed level at its top by 0.055 of the weight drifts H h³/(3 E I); its height counts from the lowest foot.
#[test]
fn drift_of_clamped_posts() {
    let drift = |height: f64, weight: f64| 0.055 * weight * height.powi(3) / (3.0 * 1e4 * 5e5);
    let (one, stiffness) = drift_of(&posts(&[("A", 0.0, 1000.0, 400.0)])).unwrap();
    close(one.drift_mm, drift(1000.0, 400.0), "drift");
    assert_eq!((one.height_mm, one.at_mm, one.member), (1000.0, 1000.0, 0));
    stiffness.iter().for_each(|found| close(*found, 3.0 * 1e4 * 5e5 / 1e9, "3 E I/h³"));
    // A lower post with less drift, but more for its height; then one with less of both.
    let (worst, _) = drift_of(&posts(&[("A", 0.0, 1000.0, 400.0), ("B", 500.0, 500.0, 2000.0)])).unwrap();
    assert!(drift(500.0, 2000.0) < drift(1000.0, 400.0));
    assert_eq!((worst.member, worst.height_mm), (1, 500.0));
    let (worst, _) = drift_of(&posts(&[("A", 0.0, 1000.0, 400.0), ("B", 500.0, 500.0, 1000.0)])).unwrap();
    assert_eq!(worst.member, 0);
    // Of equal ones the first.
    let (worst, _) = drift_of(&posts(&[("A", 0.0, 1000.0, 400.0), ("B", 500.0, 1000.0, 400.0)])).unwrap();
    assert_eq!((worst.member, worst.direction), (0, 0));
}

/// What stands less than 100 mm high is not looked at, however it drifts; nor is a frame on which nothing presses down.
#[test]
fn drift_is_told_of_what_stands_high() {
    let (worst, _) = drift_of(&posts(&[("A", 0.0, 1000.0, 1.0), ("B", 500.0, 99.0, 1e6)])).unwrap();
    assert_eq!(worst.member, 0);
    assert_eq!(drift_of(&posts(&[("B", 500.0, 99.0, 1e6)])), None);
    let mut design = posts(&[("A", 0.0, 1000.0, 1.0)]);
    design.loads = vec![build::point_load(build::CASE, "A", 1000.0, [50.0, 0.0, 0.0], [0.0; 3])];
    assert_eq!(drift_of(&design), None);
}

const HEIGHT: f64 = 1500.0;

/// A clamped post pressed at its top, pushed level half-way up and turned at its top.
fn pressed_post() -> Design {
    let mut design = build::blank("pressed");
    design.stock.push(build::stock("s", 1e4, 600.0, build::section(2500.0, 5e5, 8e5, 1e6)));
    design.members.push(build::member("P", "s", [0.0; 3], [0.0, 0.0, HEIGHT]));
    design.anchors.push(build::anchor("F", "P", 0.0, Hold::Rigid));
    design.loads.push(build::point_load(build::CASE, "P", HEIGHT, [0.0, 0.0, -900.0], [7e4, -4e4, 0.0]));
    design.loads.push(build::point_load(build::CASE, "P", 0.5 * HEIGHT, [60.0, 40.0, 0.0], [0.0; 3]));
    design
}

fn leaning(design: &Design, lean: Vector, bowed: f64, parts: usize, look: &dyn Fn(&Frame, &Base<'_>, &Leaning)) {
    let frame = frame_of(design);
    let analysis = solved(&frame);
    let bars = analysis.system.mesh.elements.len();
    let base = Base::new(&analysis, &vec![parts; bars]).unwrap().unwrap();
    let terms: Vec<(usize, f64)> = (0..analysis.cases.len()).map(|case| (case, 1.0)).collect();
    look(&frame, &base, &base.leaning(&terms, lean, bowed).unwrap());
}

/// Displacement and imperfect shape of a place together, level. Each local plane bows by itself, towards the lean or, where
/// that has no part in it, along its own axis.
fn shifted(axes: &Triad, base: &Base<'_>, found: &Leaning, place: usize) -> [f64; 2] {
    let part = base.mesh.places[place].at_mm / HEIGHT;
    let bow = BOW * HEIGHT * 4.0 * part * (1.0 - part);
    let bows = [1, 2].map(|axis| if dot(axes[axis], found.lean) < 0.0 { -found.bowed } else { found.bowed });
    std::array::from_fn(|i| {
        let bowed = bow * (bows[0] * axes[1][i] + bows[1] * axes[2][i]);
        found.u[6 * place + i] + LEAN * base.mesh.places[place].point[2] * found.lean[i] + bowed
    })
}

/// Moment about vehicle x and y that the part above a height feels, from the loads where they have moved to.
fn moment_above(axes: &Triad, base: &Base<'_>, found: &Leaning, place: usize) -> [f64; 2] {
    let top = base.mesh.places.len() - 1;
    let (here, top) = (shifted(axes, base, found, place), shifted(axes, base, found, top));
    let arm = (0.5 * HEIGHT - base.mesh.places[place].at_mm).max(0.0);
    [7e4 - 900.0 * (top[1] - here[1]) - 40.0 * arm, -4e4 + 900.0 * (top[0] - here[0]) + 60.0 * arm]
}

fn at_end(piece: &Piece) -> [f64; 2] {
    [piece.my, piece.mz].map(|moment| value(&moment, piece.to_mm - piece.from_mm))
}

/// Equilibrium where the post has moved to, by hand: at each place its moments are those of what acts above; between the
/// places they run on without a leap, and their slope is the shear.
#[test]
fn a_leaning_post_is_in_equilibrium() {
    for (lean, bowed) in [([1.0, 0.0, 0.0], 1.0), ([0.6, -0.8, 0.0], -1.0)] {
        leaning(&pressed_post(), lean, bowed, 3, &|frame, base, found| {
            let pieces = found.pieces(frame, &base.mesh, 0);
            let axes = frame.members[0].axes;
            for piece in &pieces {
                let slopes = [(piece.my[1], piece.vz[0]), (piece.mz[1], -piece.vy[0])];
                slopes.iter().for_each(|(slope, shear)| assert!((slope - shear).abs() < 1e-6, "{slope} {shear}"));
                let place = base.mesh.places.iter().position(|p| (p.at_mm - piece.from_mm).abs() < 1e-6);
                let Some(place) = place else { continue };
                let [about_x, about_y] = moment_above(&axes, base, found, place);
                let above = [about_x, about_y, 0.0];
                for (axis, moment) in [(1, piece.my[0]), (2, piece.mz[0])] {
                    let wanted = dot(axes[axis], above);
                    assert!((moment - wanted).abs() < 1e-5 * 2e5, "{} mm: {moment} against {wanted}", piece.from_mm);
                }
            }
            for pair in pieces.windows(2) {
                let (before, after) = (at_end(&pair[0]), [pair[1].my[0], pair[1].mz[0]]);
                (0..2).for_each(|i| assert!((before[i] - after[i]).abs() < 1e-5 * 2e5, "{before:?} {after:?}"));
            }
            let top = at_end(&pieces[pieces.len() - 1]);
            assert!((dot(axes[1], [7e4, -4e4, 0.0]) - top[0]).abs() < 1.0, "{top:?}");
            assert!((dot(axes[2], [7e4, -4e4, 0.0]) - top[1]).abs() < 1.0, "{top:?}");
        });
    }
}

/// A foot that is moved takes the whole post along and changes nothing else; one that is turned by 0.01 leans it, and the load
/// on it makes that theta tan(k h)/k, k² = P/(E I) (the post's own equation, by hand: 17.4 mm where the turn alone makes 15).
#[test]
fn a_moved_foot_moves_the_post() {
    let tip = |settlement: [f64; 6]| {
        let moved = std::cell::Cell::new([0.0; 2]);
        let mut design = pressed_post();
        design.anchors[0].settlement = settlement;
        leaning(&design, [1.0, 0.0, 0.0], 1.0, 3, &|_, base, found| {
            moved.set([found.u[0], found.u[6 * (base.mesh.places.len() - 1)]]);
        });
        moved.get()
    };
    let still = tip([0.0; 6]);
    assert!(still[0].abs() < 1e-12);
    let moved = tip([12.0, 0.0, 0.0, 0.0, 0.0, 0.0]);
    close(moved[0], 12.0, "foot");
    assert!((moved[1] - still[1] - 12.0).abs() < 1e-6, "{moved:?} {still:?}");
    let turned = tip([0.0, 0.0, 0.0, 0.0, 0.01, 0.0]);
    let k = (900.0 / (1e4 * 5e5_f64)).sqrt();
    let wanted = 0.01 * (k * HEIGHT).tan() / k;
    assert!((turned[1] - still[1] - wanted).abs() < 1e-3 * wanted, "{turned:?} {still:?} {wanted}");
}

/// A square post leans alike along x and along y: each way it bends about another of its axes.
#[test]
fn a_square_post_leans_alike_both_ways() {
    let mut design = build::blank("square");
    design.stock.push(build::stock("s", 1e4, 600.0, build::section(2500.0, 5e5, 5e5, 1e6)));
    design.members.push(build::member("P", "s", [0.0; 3], [0.0, 0.0, HEIGHT]));
    design.anchors.push(build::anchor("F", "P", 0.0, Hold::Rigid));
    design.loads.push(build::point_load(build::CASE, "P", HEIGHT, [0.0, 0.0, -3000.0], [0.0; 3]));
    for (bowed, parts) in [(1.0, 1), (-1.0, 3)] {
        let middle_and_top = |lean: Vector, axis: usize| {
            let moved = std::cell::Cell::new([0.0; 2]);
            leaning(&design, lean, bowed, parts, &|_, base, found| {
                let top = base.mesh.places.len() - 1;
                moved.set([found.u[6 * (top / 2) + axis], found.u[6 * top + axis]]);
            });
            moved.get()
        };
        let (along, across) = (middle_and_top([1.0, 0.0, 0.0], 0), middle_and_top([0.0, 1.0, 0.0], 1));
        (0..2).for_each(|i| assert!((along[i] - across[i]).abs() < 1e-9, "{along:?} {across:?}"));
        assert!(along[1] > 1.0);
    }
}
