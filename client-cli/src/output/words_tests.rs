#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;

fn tags(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

#[test]
fn lists_never_say_and_one_more() {
    assert_eq!(list(&tags(&["B1"]), 2), "B1");
    assert_eq!(list(&tags(&["B1", "B2", "B3"]), 2), "B1, B2 and B3");
    assert_eq!(list(&tags(&["B1", "B2", "B3", "B4"]), 2), "B1, B2 and 2 more");
    assert_eq!(list(&[], 2), "nothing");
}

#[test]
fn a_mend_says_where_the_trouble_moves() {
    let moved = Mend {
        members: tags(&["B1", "B2"]),
        from_stock: "38x63".into(),
        to_stock: "45x70".into(),
        utilisation: 0.82,
        mass_change_kg: 1.26,
        next_worst: 0.88,
        next_worst_tag: "RL".into(),
    };
    assert_eq!(
        mend(&moved).replace('\u{a0}', " "),
        "45x70 instead of 38x63 for B1 and B2 brings it to 82 %, 1.3 kg more; then RL is worst, at 88 %"
    );
}

#[test]
fn a_push_nobody_feels_is_said_to_be_bending() {
    use crate::output::samples::check;
    let checks = [
        check("B4", "bearer", CheckKind::Column, 0.0, 0.92),
        check("B4", "bearer", CheckKind::Bending, 640.0, 0.915),
        check("P1", "post", CheckKind::Column, 0.0, 0.92),
        check("P1", "post", CheckKind::Bending, 10.0, 0.5),
    ];
    let bent = felt(&checks[0], &checks);
    assert_eq!((bent.kind, bent.at_mm, bent.utilisation), (CheckKind::Bending, 640.0, 0.92));
    assert_eq!(felt(&checks[2], &checks), checks[2], "a post that carries does buckle");
}

#[test]
fn what_is_to_be_measured_is_said_with_its_tag() {
    let said = |tag: &str| {
        let about = tags(&[tag, "wall to wheel arch"]);
        assumption(&Assumption { code: AssumptionCode::ToBeMeasured, about, value: None })
    };
    assert_eq!(said("B3"), "still to be measured: B3, wall to wheel arch");
    assert_eq!(said(""), "still to be measured: wall to wheel arch");
}
