use super::*;

fn tags(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn said(members: &[&str], motion: Motion, direction: [f64; 3]) -> (String, String) {
    fault(&Fault::Mechanism { members: tags(members), motion, direction })
}

fn nearly(motion: Motion, direction: [f64; 3], hz: Option<f64>, factor: Option<f64>) -> String {
    let combination = if factor.is_some() { "kneeling at the edge" } else { "" };
    let near = Fault::NearMechanism {
        members: tags(&["P1", "P2", "RL"]),
        motion,
        direction,
        frequency_hz: hz,
        buckling_factor: factor,
        combination: combination.into(),
    };
    fault(&near).0
}

#[test]
fn a_slide_is_said_with_its_direction_and_mend() {
    let (what, mend) = said(&["RL"], Motion::Slide, [1.0, 0.0, 0.0]);
    assert_eq!(what, "RL can slide along the vehicle: nothing holds it that way");
    assert_eq!(mend, "fix RL so that it can't move along the vehicle");
    let (what, mend) = said(&["B1", "B2"], Motion::Slide, [0.0, 0.0, 1.0]);
    assert_eq!(what, "B1 and B2 can slide up and down: nothing holds them that way");
    assert_eq!(mend, "fix B1 or what it is joined to so that they can't move up and down");
}

#[test]
fn a_turn_is_said_with_its_line() {
    let (what, mend) = said(&["RL"], Motion::Turn, [0.0, 1.0, 0.0]);
    assert_eq!(what, "RL can turn about a line that runs across the vehicle: nothing stops it");
    assert_eq!(mend, "hold RL at a second place, or by a joint that does not turn");
}

#[test]
fn racking_is_said_with_its_plane_and_what_stiffens_it() {
    let (what, mend) = said(&["P1", "P2", "RL"], Motion::Fold, [0.99, 0.0, 0.1]);
    assert_eq!(
        what,
        "nothing stiffens P1, P2 and RL lengthways (plane x-z): posts and rails can lean over like a parallelogram"
    );
    assert_eq!(mend, "add a brace, a panel or a wall fixing that holds it lengthways");
    let (what, mend) = said(&["P1", "P2"], Motion::Fold, [0.0, 1.0, 0.0]);
    assert_eq!(
        what,
        "nothing stiffens P1 and P2 crossways (plane y-z): posts and rails can lean over like a parallelogram"
    );
    assert_eq!(mend, "add a brace, a panel or a wall fixing that holds it crossways");
    let (what, _) = said(&["P1", "P2"], Motion::Fold, [0.8, 0.6, 0.0]);
    assert_eq!(what, "nothing stiffens P1 and P2 sideways: posts and rails can lean over like a parallelogram");
}

#[test]
fn folding_up_and_down_is_no_racking() {
    let (what, mend) = said(&["RL1", "RL2"], Motion::Fold, [0.0, 0.0, 1.0]);
    assert_eq!(what, "RL1 and RL2 can fold up and down: nothing is stiff against it");
    assert_eq!(mend, "put a post under RL1 or what it is joined to, or make the joint that folds a stiff one");
    let (what, _) = said(&["RL"], Motion::Fold, [0.6, 0.0, 0.8]);
    assert_eq!(what, "nothing stiffens RL aslant: its joints fold");
}

#[test]
fn what_can_nearly_move_says_how_nearly() {
    assert_eq!(
        nearly(Motion::Fold, [1.0, 0.0, 0.0], Some(0.62), None),
        "hardly anything stiffens P1, P2 and RL lengthways (plane x-z): posts and rails can lean over like a \
         parallelogram; with everything aboard it sways only 0.62 times a second"
    );
    assert_eq!(
        nearly(Motion::Slide, [0.0, 1.0, 0.0], None, Some(0.999)),
        "hardly anything keeps P1, P2 and RL from sliding across the vehicle; it folds at 0.99 times its loads \
         (kneeling at the edge)"
    );
    assert_eq!(
        nearly(Motion::Turn, [0.0, 0.0, 1.0], Some(0.05), Some(0.4)),
        "hardly anything keeps P1, P2 and RL from turning about a line that stands upright; with everything aboard it sways \
         only 0.05 times a second; it folds at 0.4 times its loads (kneeling at the edge)"
    );
    assert_eq!(
        nearly(Motion::Fold, [0.0, 0.0, 1.0], None, None),
        "hardly anything keeps P1, P2 and RL from folding up and down"
    );
}

#[test]
fn a_gap_names_both_tags_and_the_millimetres() {
    let (what, mend) = fault(&Fault::Gap { on: "RL".into(), member: "B5".into(), gap_mm: 40.0 });
    assert_eq!(what, "B5 does not reach RL: 40\u{a0}mm of air lie between them");
    assert_eq!(mend, "lengthen or move RL or B5 by 40\u{a0}mm");
}
