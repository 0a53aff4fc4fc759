//! Small frames for tests whose matter is not the statics.

use std::fmt::Write;

/// The demo platform's design file.
pub const CURLEW: &str = include_str!("../../designs/curlew.toml");

/// The demo platform under another name with a rail a little longer each time: no two are the same, so that nothing is
/// found ready.
pub fn curlew_again(design: &str, number: u64) -> String {
    let end = 3650.0 + number as f64 * 1e-3;
    CURLEW
        .replace("to = [3650, -850, 535]", &format!("to = [{end}, -850, 535]"))
        .replace("name = \"curlew-platform\"", &format!("name = \"{design}\""))
}

/// One bearer on two ribs, as a design file; `length_mm` tells revisions apart.
pub fn one_bearer(name: &str, length_mm: f64) -> String {
    format!(
        r#"format = 1
name = "{name}"
title = "One bearer on two ribs"

[vehicle]
name = "Curlew"
survey = 1

[[stock]]
name = "45x70"
section = {{ width = 45, depth = 70 }}
material = "C24"
grade = "stamped"

[[members]]
tag = "B1"
kind = "bearer"
stock = "45x70"
from = [1000, 0, 500]
to = [{}, 0, 500]

[[anchors]]
member = "B1"
at = "start"
to = "left rib"
hold = "seated"

[[anchors]]
member = "B1"
at = "end"
to = "right rib"
hold = "pinned"

[[loads]]
case = "a shelf"
action = "permanent"
member = "B1"
at = 400
force = [0, 0, -150]
"#,
        1000.0 + length_mm
    )
}

/// The same in a vehicle that was weighed: front axle 1290 kg, rear axle 1120 kg, 4035 mm apart, with limits of 1850 and
/// 2400 kg; all of them invented.
pub fn one_bearer_weighed(name: &str, length_mm: f64) -> String {
    let plate = "survey = 1\nwheelbase = 4035\nweighed_front = 1290\nweighed_rear = 1120\nfront_limit = 1850\nrear_limit = 2400";
    one_bearer(name, length_mm).replace("survey = 1", plate)
}

/// A slender row of `bays` trestles with two rails: a frame of `4 * bays + 1` members that takes its time.
pub fn row_of_trestles(name: &str, bays: u32) -> String {
    let mut text = format!(
        r#"format = 1
name = "{name}"
title = "A row of trestles"
stock = [{{ name = "45x70", section = {{ width = 45, depth = 70 }}, material = "C24", grade = "stamped" }}]
members = [
"#
    );
    let length = bays * 500;
    let rows = [
        format!(
            r#"{{ tag = "PL*", kind = "post", stock = "45x70", from = [0, -300, 0], to = [0, -300, 400], count = {}, step = [500, 0, 0] }}"#,
            bays + 1
        ),
        format!(
            r#"{{ tag = "PR*", kind = "post", stock = "45x70", from = [0, 300, 0], to = [0, 300, 400], count = {}, step = [500, 0, 0] }}"#,
            bays + 1
        ),
        format!(
            r#"{{ tag = "RL", kind = "rail", stock = "45x70", from = [-30, -300, 435], to = [{}, -300, 435] }}"#,
            length + 30
        ),
        format!(
            r#"{{ tag = "RR", kind = "rail", stock = "45x70", from = [-30, 300, 435], to = [{}, 300, 435] }}"#,
            length + 30
        ),
        format!(
            r#"{{ tag = "B*", kind = "bearer", stock = "45x70", from = [0, -320, 505], to = [0, 320, 505], count = {}, step = [250, 0, 0] }}"#,
            2 * bays + 1
        ),
    ];
    let _ = writeln!(text, "  {},", rows.join(",\n  "));
    text.push_str(
        r#"]
joints = [
  { member = "RL", on = "PL*", hold = "rigid" },
  { member = "RR", on = "PR*", hold = "rigid" },
  { member = "B*", on = ["RL", "RR"], hold = "rigid" },
]
anchors = [{ member = ["PL*", "PR*"], at = "start", to = "floor", hold = "pinned" }]
decks = [{ tag = "D1", sheet = { material = "birch plywood", thickness = 12, grain = "across" }, carried_by = "B*" }]
people = [{ name = "a knee", posture = "kneeling", deck = "D1", at = [[500, 0]] }]
vehicle = { name = "Curlew", survey = 1 }
"#,
    );
    text
}
