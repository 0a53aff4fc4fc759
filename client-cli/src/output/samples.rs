//! Hand-made findings for the tests of the screens. The numbers are invented; they stand for shape, not for statics.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::sheet::{Sheet, WIDEST};
use battenboard_engine::design::{Anchor, Deck, Design, Joint, Member, People, Posture, Stowage, Vehicle};
use battenboard_engine::findings::*;

/// Two rails, three bearers, four posts, one deck.
pub fn design() -> Design {
    let member = |tag: &str, kind: &str, stock: &str, from, to| Member {
        tag: tag.into(),
        kind: kind.into(),
        stock: stock.into(),
        from,
        to,
        ..Member::default()
    };
    let mut members = vec![
        member("RL", "rail", "45x70", [1900.0, -600.0, 450.0], [3900.0, -600.0, 450.0]),
        member("RR", "rail", "45x70", [1900.0, 600.0, 450.0], [3900.0, 600.0, 450.0]),
    ];
    for index in 0..3u8 {
        let x = 2200.0 + 700.0 * f64::from(index);
        members.push(member(&format!("B{}", index + 1), "bearer", "38x63", [x, -640.0, 520.0], [x, 640.0, 520.0]));
    }
    for (tag, x, y) in [("P1", 2000.0, -600.0), ("P2", 3800.0, -600.0), ("P3", 2000.0, 600.0), ("P4", 3800.0, 600.0)] {
        members.push(member(tag, "post", "45x45", [x, y, 0.0], [x, y, 415.0]));
    }
    Design {
        name: "sample-platform".into(),
        title: "A sample".into(),
        vehicle: Vehicle { name: "Sample".into(), survey: 1, ..Vehicle::default() },
        members,
        decks: vec![Deck {
            tag: "D1".into(),
            carried_by: vec!["B1".into(), "B2".into(), "B3".into()],
            ..Deck::default()
        }],
        stowage: vec![Stowage { name: "box".into(), mass_kg: 40.0, ..Stowage::default() }],
        ..Design::default()
    }
}

/// One check with what the screens need.
pub fn check(tag: &str, member_kind: &str, kind: CheckKind, at_mm: f64, utilisation: f64) -> Check {
    let sag = super::words::is_sag(kind);
    Check {
        tag: tag.into(),
        member_kind: member_kind.into(),
        kind,
        clause: if sag { "EN 1995-1-1 7.2".into() } else { "EN 1995-1-1 6.1.6 (6.11)".into() },
        at_mm,
        point_mm: [2200.0, 0.0, 520.0],
        combination: "kneeling at the edge".into(),
        forces: SectionForces { my_n_mm: -612_000.0, vz_n: 450.0, ..SectionForces::default() },
        demand: if sag { 8.0 * utilisation } else { utilisation },
        resistance: if sag { 8.0 } else { 1.0 },
        unit: if sag { "mm".into() } else { "1".into() },
        utilisation,
        verdict: Verdict::of(utilisation),
        factors: vec![Factor { name: "k_mod".into(), value: 0.9 }, Factor { name: "gamma_M".into(), value: 1.3 }],
        mend: None,
    }
}

/// Findings that hold.
pub fn holding() -> Findings {
    findings(vec![
        check("B2", "bearer", CheckKind::Bending, 640.0, 0.714),
        check("B1", "bearer", CheckKind::Bending, 640.0, 0.70),
        check("B2", "bearer", CheckKind::SagInstant, 640.0, 0.5),
        check("RL", "rail", CheckKind::SagFinal, 1000.0, 0.44),
        check("P1", "post", CheckKind::Column, 0.0, 0.12),
    ])
}

/// Findings that fall short, with a mend.
pub fn short() -> Findings {
    let mut worst = check("B2", "bearer", CheckKind::Bending, 640.0, 1.61);
    worst.mend = Some(Mend {
        members: vec!["B1".into(), "B2".into(), "B3".into()],
        from_stock: "38x63".into(),
        to_stock: "45x70".into(),
        utilisation: 0.82,
        mass_change_kg: 1.26,
        next_worst: 0.88,
        next_worst_tag: "RL".into(),
    });
    findings(vec![
        worst,
        check("B1", "bearer", CheckKind::Bending, 640.0, 1.2),
        check("B2", "bearer", CheckKind::SagInstant, 640.0, 0.95),
        check("RL", "rail", CheckKind::SagFinal, 1000.0, 0.44),
        check("P1", "post", CheckKind::Column, 0.0, 0.12),
    ])
}

/// Findings around those checks, worst first.
pub fn findings(checks: Vec<Check>) -> Findings {
    let assumption = |code, about: &[&str], value| Assumption {
        code,
        about: about.iter().map(|name| (*name).to_owned()).collect(),
        value,
    };
    let not_checked = |tag: &str, what| NotChecked { tag: tag.into(), what };
    Findings {
        shape: SHAPE,
        engine_version: "0.1.0".into(),
        engine_fingerprint: "sample".into(),
        verdict: checks.iter().map(|check| check.verdict).max().unwrap_or(Verdict::NotChecked),
        faults: Vec::new(),
        checks,
        not_checked: vec![
            not_checked("RL", Unchecked::Torsion),
            not_checked("RR", Unchecked::Torsion),
            not_checked("RL/B1", Unchecked::JointFixings),
            not_checked("P1/floor", Unchecked::AnchorFixings),
            not_checked("RL", Unchecked::GearFixings),
            not_checked("design", Unchecked::Fit),
        ],
        weight: WeightTable {
            frame_kg: 29.0,
            fixings_kg: 1.8,
            bedding_kg: 18.0,
            stowage_kg: 40.0,
            total_kg: 88.8,
            axles: vec![AxleLine {
                state: LoadState::Touring,
                front_kg: 1500.0,
                rear_kg: 1600.0,
                right_minus_left_kg: None,
                front_left_kg: Some(350.0),
                rear_left_kg: Some(800.0),
                payload_left_kg: Some(400.0),
            }],
            ..WeightTable::default()
        },
        assumptions: vec![
            assumption(AssumptionCode::GradeAssumed, &["45x70 C16", "38x63 C16"], None),
            assumption(AssumptionCode::PersonMass, &[], Some(100.0)),
            assumption(AssumptionCode::JointsIdeal, &["RL/B1"], None),
            assumption(AssumptionCode::ServiceClass, &[], Some(2.0)),
        ],
        shares: Vec::new(),
        combinations: Vec::new(),
        equations: Equations::default(),
        stability: Default::default(),
        hold_downs: Vec::new(),
        headroom: Vec::new(),
        results: None,
    }
}

/// The short findings with joints, anchors and the forces of the governing combination, with and without safety
/// factors.
pub fn with_results() -> (Design, Findings) {
    let joint = |member: &str, on: &str| Joint { member: member.into(), on: on.into(), ..Joint::default() };
    let point =
        |tag: &str, up_n: f64| PointForces { tag: tag.into(), force_n: [0.0, 0.0, up_n], moment_n_mm: [0.0; 3] };
    let mut design = design();
    design.people = vec![People {
        name: "kneeling at the edge".into(),
        posture: Posture::Kneeling,
        deck: "D1".into(),
        ..People::default()
    }];
    design.joints = vec![joint("B2", "RL"), joint("B2", "RR"), joint("RL", "P1"), joint("RL", "P2")];
    design.anchors = vec![Anchor { member: "P1".into(), to: "floor".into(), ..Anchor::default() }];
    let mut findings = short();
    let combination = |limit_state, factor: f64, k_mod| Combination {
        name: "kneeling at the edge".into(),
        limit_state,
        terms: vec![Factor { name: "kneeling at the edge".into(), value: factor }],
        k_mod,
        load_sum_n: [0.0; 3],
        reaction_sum_n: [0.0; 3],
        residual: 0.0,
    };
    findings.combinations =
        vec![combination(LimitState::Strength, 1.5, 0.9), combination(LimitState::SagInstant, 1.0, 1.0)];
    findings.shares =
        vec![Share { anchor: "P1/floor".into(), equal_kg: 33.0, computed_kg: 41.0, combination: "both asleep".into() }];
    let state = |factor: f64, limit_state| StateResults {
        name: "kneeling at the edge".into(),
        combined: true,
        limit_state: Some(limit_state),
        members: Vec::new(),
        joints: [("RL/B2", 730.0), ("RR/B2", 290.0), ("P1/RL", 410.0), ("P2/RL", 350.0)]
            .map(|(tag, up_n)| point(tag, factor * up_n))
            .to_vec(),
        reactions: vec![point("P1/floor", factor * 415.0)],
    };
    findings.results =
        Some(Results { states: vec![state(1.5, LimitState::Strength), state(1.0, LimitState::SagInstant)] });
    (design, findings)
}

/// Findings with something to say of the whole: it sways, two anchors hold it down, there is room over its deck.
pub fn of_the_whole(checks: Vec<Check>) -> Findings {
    let mut findings = findings(checks);
    let line = |combination: &str, buckling_factor, sways, second_order| StabilityLine {
        combination: combination.into(),
        buckling_factor,
        sways,
        second_order,
        members: vec!["P1".into(), "P2".into(), "RL".into()],
    };
    findings.stability = Stability {
        frequency_hz: Some(7.2),
        sway_stiffness_n_mm: Some([212.0, 88.0]),
        lines: vec![
            line("both asleep", Some(58.3), false, false),
            line("kneeling at the edge", Some(34.2), true, true),
            line("gear alone", None, false, false),
        ],
    };
    let hold_down =
        |anchor: &str, force_n| HoldDown { anchor: anchor.into(), combination: "kneeling at the edge".into(), force_n };
    findings.hold_downs = vec![hold_down("P3/floor", 180.0), hold_down("P1/floor", 45.0)];
    findings.headroom = vec![Headroom {
        deck: "D1".into(),
        under: None,
        clear_mm: 640.0,
        mattress_mm: 75.0,
        enough_for: Room::Lying,
        next_mm: 80.0,
    }];
    findings
}

/// Compares a screen with the file of that name, and holds every line to 80 columns. With `BATTEN_WRITE_SCREENS` set
/// the file is written instead: read it before keeping it.
pub fn assert_screen(name: &str, sheet: &Sheet) {
    let wide: Vec<&String> = sheet.lines().iter().filter(|line| line.chars().count() > WIDEST).collect();
    assert!(wide.is_empty(), "wider than {WIDEST} columns: {wide:?}");
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("src/output/screens/{name}.txt"));
    let text = sheet.to_string();
    if std::env::var_os("BATTEN_WRITE_SCREENS").is_some() {
        std::fs::write(&path, &text).expect("the screens' folder can be written");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(text, kept, "{name} is not what was kept");
}
