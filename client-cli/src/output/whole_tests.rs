use super::*;
use battenboard_engine::fit::headroom::room;

fn over(clear_mm: f64, mattress_mm: f64, under: Option<&str>) -> String {
    let (enough_for, next_mm) = room(clear_mm);
    let item = Headroom { deck: "D1".into(), under: under.map(Into::into), clear_mm, mattress_mm, enough_for, next_mm };
    headroom(&item).replace('\u{a0}', " ")
}

fn line(combination: &str, buckling_factor: Option<f64>) -> StabilityLine {
    StabilityLine {
        combination: combination.into(),
        buckling_factor,
        sways: true,
        second_order: false,
        members: vec!["P1".into()],
    }
}

#[test]
fn room_is_said_with_what_is_missing_for_more() {
    assert_eq!(
        over(430.0, 75.0, None),
        "430 mm above the mattress: too little to lie and turn over; 70 mm more for that"
    );
    assert_eq!(
        over(640.0, 75.0, None),
        "640 mm above the mattress: enough to lie; 80 mm more to sit bent, 260 mm to sit up"
    );
    assert_eq!(over(740.0, 0.0, None), "740 mm above the wood: enough to sit bent; 160 mm more to sit up");
    assert_eq!(over(899.7, 75.0, None), "899 mm above the mattress: enough to sit bent; 1 mm more to sit up");
    assert_eq!(over(1000.0, 75.0, None), "1000 mm above the mattress: enough to sit up");
    assert_eq!(
        over(700.0, 75.0, Some("D2")),
        "700 mm from the mattress to deck D2: enough to lie; 20 mm more to sit bent, 200 mm to sit up"
    );
}

#[test]
fn no_room_at_all_is_said_so() {
    assert_eq!(over(0.0, 75.0, None), "nobody gets in: the mattress touches the ceiling");
    assert_eq!(over(0.4, 75.0, Some("D2")), "nobody gets in: the mattress touches deck D2");
    assert_eq!(over(-22.0, 0.0, None), "nobody gets in: the wood reaches 22 mm past the ceiling");
}

#[test]
fn stability_is_one_line_with_the_load_that_folds_it_first() {
    let mut found = Stability { frequency_hz: Some(7.28), sway_stiffness_n_mm: None, lines: Vec::new() };
    assert_eq!(stability(&Stability::default()), None);
    assert_eq!(stability(&found).as_deref(), Some("Sways 7.2 times a second"));
    found.lines = vec![line("asleep", None), line("kneeling at the edge", Some(34.9)), line("gear", Some(60.0))];
    assert_eq!(
        stability(&found).as_deref(),
        Some("Sways 7.2 times a second; folds at 34 times its worst load (kneeling at the edge)")
    );
    found.frequency_hz = None;
    found.lines.truncate(1);
    assert_eq!(stability(&found).as_deref(), Some("Folds at over 20 times its loads"));
}

#[test]
fn decks_of_one_height_are_said_together_the_lowest_first() {
    let deck = |tag: &str, clear_mm| {
        let (enough_for, next_mm) = room(clear_mm);
        Headroom { deck: tag.into(), under: None, clear_mm, mattress_mm: 75.0, enough_for, next_mm }
    };
    let mut findings = crate::output::samples::holding();
    findings.headroom = vec![deck("DL", 1000.0), deck("DM", 480.2), deck("DR", 1000.0)];
    let said = rooms(&findings);
    let names: Vec<&str> = said.iter().map(|(decks, _)| decks.as_str()).collect();
    assert_eq!(names, ["DM", "DL and DR"]);
    assert!(said[1].1.ends_with("enough to sit up"));
}

#[test]
fn the_softer_way_is_named_where_it_is_much_softer() {
    let stiffness = |x, y| Stability { sway_stiffness_n_mm: Some([x, y]), ..Stability::default() };
    assert!(stiffen(&stiffness(15.0, 1200.0)).ends_with("that holds it lengthways"));
    assert!(stiffen(&stiffness(100.0, 40.0)).ends_with("that holds it crossways"));
    for even in [stiffness(100.0, 60.0), Stability::default()] {
        assert_eq!(stiffen(&even), "add a brace, a panel or a wall fixing against leaning over");
    }
}
