//! Notches, holes, lengths of contact, and what is true or false.

use super::said;

const RAIL: &str = "from = [1900, -600, 450]\nto = [3900, -600, 450]\n";

/// The mistakes once the first rail has these notches or holes.
fn rail(cuts: &str) -> Vec<String> {
    said(&[(RAIL, &format!("{RAIL}{cuts}\n"))])
}

#[test]
fn sound_cuts_have_none() {
    let cuts = "notches = [{ from = 0, to = 40, depth = 12 }, { from = 1900, to = 2100, depth = 20, face = \"left\" }]\n\
                holes = [{ at = 300, diameter = 20, through = \"width\", off = 24 }]";
    assert_eq!(rail(cuts), [] as [&str; 0]);
}

#[test]
fn notch_deeper_than_the_section() {
    assert_eq!(
        rail("notches = [{ from = 0, to = 40, depth = 70 }]"),
        ["26:41 [70] a notch 70 mm deep does not fit the section of 70 mm"] as [&str; 1]
    );
    assert_eq!(
        rail("notches = [{ from = 0, to = 40, depth = 45, face = \"right\" }]"),
        ["26:41 [45] a notch 45 mm deep does not fit the section of 45 mm"] as [&str; 1]
    );
}

#[test]
fn notch_beside_the_member() {
    assert_eq!(
        rail("notches = [{ from = 2000, to = 2040, depth = 12 }]"),
        ["26:21 [2000] a notch from 2000 mm is not on a member of 2000 mm"] as [&str; 1]
    );
    assert_eq!(
        rail("notches = [{ from = 40, to = 40, depth = 12 }]"),
        ["26:30 [40] a notch from 40 mm to 40 mm has no length"] as [&str; 1]
    );
}

#[test]
fn two_notches_that_meet() {
    let cuts = "notches = [{ from = 0, to = 90, depth = 40 }, { from = 80, to = 99, depth = 30, face = \"upper\" }]";
    assert_eq!(rail(cuts), ["26:77 [30] 70 mm cut out of 70 mm leave nothing, with `notches[0]`"] as [&str; 1]);
}

#[test]
fn hole_out_of_the_side() {
    assert_eq!(
        rail("holes = [{ at = 300, diameter = 20, through = \"depth\", off = 12.5 }]"),
        ["26:62 [12.5] a hole of 20 mm, 12.5 mm off the middle, does not stay inside the section of 45 mm"]
            as [&str; 1]
    );
    assert_eq!(
        rail("holes = [{ at = 2001, diameter = 20, through = \"width\" }]"),
        ["26:17 [2001] a hole at 2001 mm is not on a member of 2000 mm"] as [&str; 1]
    );
}

#[test]
fn hole_that_runs_nowhere() {
    assert_eq!(
        rail("holes = [{ at = 300, diameter = 20 }]"),
        ["26:10 [{ at = 300, diameter = 20 }] a hole needs `through` (such as `through = \"width\"`)"] as [&str; 1]
    );
    assert_eq!(
        rail("holes = [{ at = 300, diameter = 20, through = \"depht\" }]"),
        ["26:47 [\"depht\"] `through` can't be \"depht\" (perhaps \"depth\" was meant)"] as [&str; 1]
    );
}

#[test]
fn too_many_cuts_of_one_member() {
    let notch = "{ from = 1, to = 2, depth = 1 },";
    let found = rail(&format!("notches = [{}]", notch.repeat(65)));
    assert!(
        found.len() == 1 && found[0].contains("there are 65 notches of one member, at most 64 are taken"),
        "{found:?}"
    );
    let both = format!(
        "notches = [{}]\nholes = [{}]",
        notch.repeat(60),
        "{ at = 9, diameter = 1, through = \"width\" },".repeat(5)
    );
    let found = rail(&both);
    assert!(found.len() == 1 && found[0].contains("`RL` has 65 notches and holes, at most 64 are taken"), "{found:?}");
}

#[test]
fn contact_longer_than_the_member() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = [\"RL\"]\nbearing = [45, 2100]")]),
        ["46:16 [2100] 2100 mm of contact do not fit on `RL`, which is 2000 mm long"] as [&str; 1]
    );
    assert_eq!(
        said(&[("at = \"both\"\n", "at = \"both\"\nbearing = 0\n")]).first().map(String::as_str),
        Some("50:11 [0] 0 mm of contact do not fit on `RL`, which is 2000 mm long")
    );
}

#[test]
fn true_in_quotes() {
    assert_eq!(
        said(&[("price = 3.2\n", "price = 3.2\nresawn = \"true\"\n")]),
        ["13:10 [\"true\"] `resawn` is true or false, here is `\"true\"` (write it without quotes: `true`)"]
            as [&str; 1]
    );
}
