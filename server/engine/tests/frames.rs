//! Published frames, beams and grids: every linear value of the reference set and some more, each with its source in
//! its file under `tests/fixtures/frames/`.
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
#[path = "frames/read.rs"]
mod read;
#[path = "frames/values.rs"]
mod values;
#[path = "frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::Design;
use book::{Book, Wanted};
use convert::{Converted, tag};
use std::fmt::Write as _;

/// Frames of the reference set that are not run here: one-sided contact, which the engine does not do yet (F110 to F114), and
/// buckling and frequencies, which `stability.rs` has (F140 to F156).
const LATER: [&str; 12] =
    ["F110", "F112", "F114", "F140", "F142", "F144", "F146", "F148", "F150", "F152", "F154", "F156"];
/// Frames in the reference set, and further published frames beside it (their names begin with X).
const REFERENCE_FRAMES: usize = 53;
const FURTHER_FRAMES: usize = 9;
/// Values checked in all.
const VALUES: usize = 260;

/// Adds a case of unit loads, downwards, at places of members; each load is (member, place, size).
fn put_case(design: &mut Design, case: &str, loads: &[(String, f64, f64)]) {
    for (member, at, size) in loads {
        design.loads.push(build::point_load(case, member, *at, [0.0, 0.0, -size], [0.0; 3]));
    }
}

/// Places of a train along a path of members laid end to end: every load that is on the path, per position.
fn positions(
    made: &Converted,
    path: &[String],
    loads: &[f64],
    offsets: &[f64],
    step: f64,
) -> Vec<Vec<(String, f64, f64)>> {
    let lengths: Vec<f64> = path.iter().map(|member| made.length(&tag(member))).collect();
    let whole: f64 = lengths.iter().sum();
    let train = offsets.iter().copied().fold(0.0, f64::max);
    let steps = ((whole + train) / step).round() as usize;
    let mut all = Vec::new();
    for count in 0..=steps {
        let head = count as f64 * step - train;
        let mut here = Vec::new();
        for (load, offset) in loads.iter().zip(offsets) {
            let mut at = head + offset;
            for (member, length) in path.iter().zip(&lengths) {
                if (-1e-9..=length + 1e-9).contains(&at) {
                    here.push((tag(member), at.clamp(0.0, *length), *load));
                    break;
                }
                at -= length;
            }
        }
        all.push(here);
    }
    all
}

/// The value of an influence ordinate or the greatest over a moving train.
fn by_unit_loads(book: &Book, wanted: &Wanted) -> f64 {
    let mut made = Converted::of(book);
    made.design.loads.clear();
    let (cases, asked) = match wanted {
        Wanted::Influence { member, a, quantity } => (vec![vec![(tag(member), *a, 1.0)]], quantity),
        Wanted::MovingMax { path, loads, offsets, quantity, step } => {
            (positions(&made, path, loads, offsets, *step), quantity)
        }
        _ => panic!("no unit loads needed"),
    };
    let mut best = f64::NEG_INFINITY;
    // Not all positions at once: a design is not made for hundreds of load cases.
    for some in cases.chunks(20) {
        let mut design = made.design.clone();
        for (number, case) in some.iter().enumerate() {
            put_case(&mut design, &format!("position {number}"), case);
        }
        let findings = read::solve(&design);
        for number in 0..some.len() {
            let state = read::case(&findings, &format!("position {number}"));
            best = best.max(values::quantity(state, asked));
        }
    }
    best
}

#[test]
fn published_frames_give_their_published_values() {
    let mut wrong = String::new();
    let (mut reference, mut further, mut later, mut values) = (0, 0, 0, 0);
    for book in Book::all() {
        if book.id.starts_with('X') {
            further += 1
        } else {
            reference += 1
        }
        if LATER.contains(&book.id.as_str()) {
            later += 1;
            continue;
        }
        let checks = book.checks();
        assert!(!checks.is_empty(), "{} checks nothing", book.id);
        let made = Converted::marked(&book);
        let findings = read::solve(&made.design);
        // Movement of supports is a load case of its own.
        let settled = made.design.anchors.iter().any(|anchor| anchor.settlement.iter().any(|move_by| *move_by != 0.0));
        let state = if settled { read::total(&findings) } else { read::case(&findings, build::CASE).clone() };
        for check in &checks {
            let found = values::value(&made, &state, &check.what).unwrap_or_else(|| by_unit_loads(&book, &check.what));
            values += 1;
            let holds = (found - check.expect).abs() <= check.tol * check.expect.abs() + check.atol;
            if !holds {
                let Book { id, title, source, .. } = &book;
                writeln!(
                    wrong,
                    "{id} {title}: {:?} is {found:e}, published {:e} ({}; {} {}, {}, {})",
                    check.what, check.expect, check.desc, source.author, source.title, source.locator, source.basis
                )
                .unwrap();
            }
        }
    }
    assert!(wrong.is_empty(), "values missed:\n{wrong}");
    assert_eq!((reference, further, later), (REFERENCE_FRAMES, FURTHER_FRAMES, LATER.len()));
    assert_eq!(values, VALUES, "number of values checked");
}

/// Every fixture says where its values come from.
#[test]
fn every_frame_names_its_source() {
    for book in Book::all() {
        assert!(!book.source.title.is_empty() && !book.source.author.is_empty(), "{}: no source", book.id);
        assert!(
            ["read", "memory", "derived"].contains(&book.source.basis.as_str()),
            "{}: {}",
            book.id,
            book.source.basis
        );
        assert!(!book.title.is_empty() && !book.source.locator.contains("TODO"));
    }
}
