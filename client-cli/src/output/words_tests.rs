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
fn a_mechanism_is_said_with_its_direction_and_mend() {
    let slide = Fault::Mechanism { members: tags(&["RL"]), motion: Motion::Slide, direction: [1.0, 0.0, 0.0] };
    let (what, mend) = fault(&slide);
    assert_eq!(what, "RL can slide along the vehicle: nothing holds it that way");
    assert_eq!(mend, "fix RL so that it can't move along the vehicle");
    let fold = Fault::Mechanism { members: tags(&["P1", "P2"]), motion: Motion::Fold, direction: [0.0, 1.0, 0.0] };
    assert_eq!(fault(&fold).0, "P1 and P2 can lean over across the vehicle: nothing is stiff against it");
}

#[test]
fn a_gap_names_both_tags_and_the_millimetres() {
    let (what, mend) = fault(&Fault::Gap { on: "RL".into(), member: "B5".into(), gap_mm: 40.0 });
    assert_eq!(what, "B5 does not reach RL: 40\u{a0}mm of air lie between them");
    assert_eq!(mend, "lengthen or move RL or B5 by 40\u{a0}mm");
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
