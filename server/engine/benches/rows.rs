//! Rows of slender platforms of 100, 1,000 and 10,000 members: time and fill must grow about as the members do.
#![allow(
    missing_docs,
    clippy::expect_used,
    clippy::print_stdout,
    dead_code,
    reason = "a bench; it prints the fill beside the times, and uses a part of the tests' helpers"
)]

#[path = "../tests/frames/build.rs"]
mod build;
#[path = "../tests/frames/chance.rs"]
mod chance;
#[path = "../tests/frames/platform.rs"]
mod platform;

use battenboard_engine::design::{Design, Frame};
use battenboard_engine::findings::Equations;
use battenboard_engine::{Ask, check};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use platform::Sizes;

/// Fill of the largest row per member over that of the smallest: a frame that is long and slender needs no more.
const GROWTH: f64 = 2.0;

fn row(fields: usize) -> Design {
    let sizes = Sizes { fields, field_mm: 900.0, width_mm: 1300.0, height_mm: 450.0, bearers: 6 };
    let mut design = platform::of(sizes);
    for (number, place) in [200.0, 650.0, 1000.0].into_iter().enumerate() {
        let case = format!("case {number}");
        design.loads.push(build::point_load(&case, "B0-1", place, [10.0, 5.0, -600.0], [0.0; 3]));
        design.loads.push(build::point_load(&case, &format!("B{}-4", fields - 1), place, [0.0, 0.0, -600.0], [0.0; 3]));
    }
    design
}

fn rows(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("row of platforms");
    group.sample_size(10);
    let mut fill = Vec::new();
    for fields in [10, 100, 1000] {
        let design = row(fields);
        let members = design.members.len();
        let frame = Frame::new(&design).expect("a sound design");
        let findings = check(&frame, Ask::default(), &|| false).expect("findings");
        assert!(findings.faults.is_empty(), "a row of {fields} platforms has faults");
        let Equations { unknowns, factor_nonzeros, condition } = findings.equations;
        let each = factor_nonzeros as f64 / members as f64;
        println!(
            "{members} members: {unknowns} unknowns, {factor_nonzeros} non-zeros in the factor ({each:.0} a member), \
             scaled condition {condition:.1e}, {} MB predicted",
            frame.predicted_bytes() / 1_000_000
        );
        fill.push(each);
        group.throughput(Throughput::Elements(members as u64));
        group.bench_with_input(BenchmarkId::new("validate", members), &design, |bencher, design| {
            bencher.iter(|| Frame::new(design));
        });
        group.bench_with_input(BenchmarkId::new("check", members), &frame, |bencher, frame| {
            bencher.iter(|| check(frame, Ask::default(), &|| false));
        });
    }
    group.finish();
    let growth = fill[fill.len() - 1] / fill[0];
    println!("fill a member, largest row over smallest: {growth:.2}");
    assert!(growth < GROWTH, "the fill grows {growth:.2} times faster than the members");
}

criterion_group!(benches, rows);
criterion_main!(benches);
