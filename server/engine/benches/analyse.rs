//! A frame as builders make them, whole: validation, places, elements, elimination, factor, solution, results.
//!
//! The floor of the stack for the arithmetic alone (60 members, 144 unknowns, 30 load cases, end forces of every member
//! in every case) is under 1 ms on the machine the floors were measured on.
#![allow(missing_docs, clippy::expect_used, dead_code, reason = "a bench; it uses a part of the tests' helpers")]

#[path = "../tests/frames/build.rs"]
mod build;
#[path = "../tests/frames/grid.rs"]
mod grid;
#[path = "../tests/frames/vectors.rs"]
mod vectors;

use battenboard_engine::design::{Design, Frame};
use battenboard_engine::{Ask, check};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

fn with_cases(cases: usize) -> Design {
    let mut design = grid::sixty_members();
    for number in 0..cases {
        let tag = design.members[(7 * number) % design.members.len()].tag.clone();
        let size = 100.0 + 10.0 * number as f64;
        design.loads.push(build::point_load(&format!("case {number}"), &tag, 200.0, [5.0, -3.0, -size], [0.0; 3]));
    }
    design
}

fn whole(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("frame of 60 members");
    for cases in [1, 30] {
        let design = with_cases(cases);
        assert_eq!(design.members.len(), 60);
        let frame = Frame::new(&design).expect("a sound design");
        let findings = check(&frame, Ask::default(), &|| false).expect("findings");
        assert!(findings.faults.is_empty());
        group.bench_function(format!("validate, {cases} load cases"), |bencher| {
            bencher.iter(|| Frame::new(black_box(&design)));
        });
        group.bench_function(format!("check, {cases} load cases"), |bencher| {
            bencher.iter(|| check(black_box(&frame), Ask::default(), &|| false));
        });
        group.bench_function(format!("check with all results, {cases} load cases"), |bencher| {
            bencher.iter(|| check(black_box(&frame), Ask { results: true, mends: false }, &|| false));
        });
    }
    group.finish();
}

criterion_group!(benches, whole);
criterion_main!(benches);
