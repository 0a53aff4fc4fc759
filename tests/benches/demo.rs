//! The demo designs from text to findings on one core: read, validated, analysed, checked.
//!
//! Bound for the platform 10 ms, goal 2 ms; with stability 20 ms, goal 5 ms; the floor of the arithmetic alone for a frame of 60 members and 30 load
//! cases is 0.44 ms on the machine the floors were measured on.
#![allow(clippy::unwrap_used, missing_docs, reason = "a failed step is a failed bench")]

use battenboard_engine::{Ask, check};
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;

fn demo(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("demo");
    for name in ["curlew", "dunlin", "avocet"] {
        let path = format!("{}/designs/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        group.bench_function(format!("{name}: read"), |bencher| {
            bencher.iter(|| battenboard_designfile::read_frame(black_box(&text)).unwrap());
        });
        group.bench_function(format!("{name}: read and checked"), |bencher| {
            bencher.iter(|| {
                let (_, frame) = battenboard_designfile::read_frame(black_box(&text)).unwrap();
                check(&frame, Ask::default(), &|| false).unwrap()
            });
        });
    }
    // With one thing done at a time and no gear: about twenty combinations, as in the platform the bounds are for.
    let path = format!("{}/designs/curlew.toml", env!("CARGO_MANIFEST_DIR"));
    let mut design = battenboard_designfile::read(&std::fs::read_to_string(path).unwrap()).unwrap().design;
    design.people.truncate(4);
    design.stowage.clear();
    let frame = battenboard_engine::design::Frame::new(&design).unwrap();
    let combinations = check(&frame, Ask::default(), &|| false).unwrap().combinations.len();
    group.bench_function(format!("curlew with {combinations} combinations: checked"), |bencher| {
        bencher.iter(|| check(black_box(&frame), Ask::default(), &|| false).unwrap());
    });
    group.finish();
}

criterion_group!(benches, demo);
criterion_main!(benches);
