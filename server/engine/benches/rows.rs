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

use battenboard_engine::design::{Action, Design, Frame, Material, Section};
use battenboard_engine::findings::Equations;
use battenboard_engine::{Ask, check};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use platform::Sizes;
use std::time::Instant;

/// Fill of the largest row per member over that of the smallest: a frame that is long and slender needs no more.
const FILL_GROWTH: f64 = 2.0;
/// Likewise for the time; the larger share is for the processor's caches, which the smallest row fits into.
const TIME_GROWTH: f64 = 5.0;

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

/// Shortest of three checks, seconds.
fn shortest(frame: &Frame) -> f64 {
    let once = || {
        let begun = Instant::now();
        let findings = check(frame, Ask::default(), &|| false);
        assert!(findings.is_ok());
        begun.elapsed().as_secs_f64()
    };
    (0..3).map(|_| once()).fold(f64::INFINITY, f64::min)
}

fn growth(figures: &[f64]) -> f64 {
    figures[figures.len() - 1] / figures[0]
}

fn rows(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("row of platforms");
    group.sample_size(10);
    let (mut fill, mut time) = (Vec::new(), Vec::new());
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
        time.push(shortest(&frame) / members as f64);
        group.throughput(Throughput::Elements(members as u64));
        group.bench_with_input(BenchmarkId::new("validate", members), &design, |bencher, design| {
            bencher.iter(|| Frame::new(design));
        });
        group.bench_with_input(BenchmarkId::new("check", members), &frame, |bencher, frame| {
            bencher.iter(|| check(frame, Ask::default(), &|| false));
        });
    }
    group.finish();
    println!(
        "a member of the largest row over one of the smallest: fill {:.2}, time {:.2}",
        growth(&fill),
        growth(&time)
    );
    assert!(growth(&fill) < FILL_GROWTH, "the fill grows faster than the members");
    assert!(growth(&time) < TIME_GROWTH, "the time grows faster than the members");
}

/// The server's own bound on members, in timber, on tall posts, with every subset of two loads that press them all.
fn most_that_the_server_takes(criterion: &mut Criterion) {
    let sizes = Sizes { fields: 195, field_mm: 900.0, width_mm: 1300.0, height_mm: 900.0, bearers: 6 };
    let mut design = platform::of(sizes);
    for (stock, [width_mm, depth_mm]) in design.stock.iter_mut().zip([[45.0, 45.0], [45.0, 70.0]]) {
        stock.section = Section::Rectangle { width_mm, depth_mm };
        stock.material = Material::Class("C16".into());
    }
    for bearer in design.members.iter().filter(|member| member.tag.starts_with('B')) {
        let case = format!("case {}", design.loads.len() % 2);
        let mut load = build::point_load(&case, &bearer.tag, 650.0, [0.0, 0.0, -300.0], [0.0; 3]);
        load.action = Action::Moving;
        design.loads.push(load);
    }
    let frame = Frame::new(&design).expect("a sound design");
    let findings = check(&frame, Ask::default(), &|| false).expect("findings");
    assert!(findings.faults.is_empty(), "{:?}", findings.faults);
    let lowest = findings.stability.lines.iter().filter_map(|line| line.buckling_factor).fold(f64::INFINITY, f64::min);
    let (members, combinations) = (design.members.len(), findings.combinations.len());
    println!(
        "{members} members, {combinations} combinations: {} checks, lowest buckling factor {lowest:.1}, {:.2} Hz",
        findings.checks.len(),
        findings.stability.frequency_hz.unwrap_or_default()
    );
    let mut group = criterion.benchmark_group("with stability");
    group.sample_size(10);
    group.bench_function(format!("{members} members, {combinations} combinations"), |bencher| {
        bencher.iter(|| check(&frame, Ask::default(), &|| false));
    });
    group.finish();
}

criterion_group!(benches, rows, most_that_the_server_takes);
criterion_main!(benches);
