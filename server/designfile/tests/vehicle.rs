//! Taking another survey into a file: only its vehicle changes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_designfile::{EditError, read, set_vehicle};
use battenboard_engine::design::{Inside, Seat, Vehicle};

const CURLEW: &str = include_str!("../../../tests/designs/curlew.toml");
const DUNLIN: &str = include_str!("../../../tests/designs/dunlin.toml");
const AVOCET: &str = include_str!("../../../tests/designs/avocet.toml");

fn surveyed() -> Vehicle {
    Vehicle {
        name: "Curlew".into(),
        survey: 3,
        wheelbase_mm: Some(4040.0),
        track_mm: Some(1710.0),
        weighed_front_kg: Some(1301.5),
        weighed_rear_kg: Some(1120.0),
        seats: vec![Seat { x_mm: 900.0, y_mm: 400.0, mass_kg: 75.0 }, Seat { x_mm: 900.0, y_mm: 0.0, mass_kg: 40.0 }],
        inside: Some(Inside { from: [1500.0, -890.0, 0.0], to: [4700.0, 890.0, 1900.0] }),
        ..Vehicle::default()
    }
}

#[test]
fn what_is_equal_stays_as_it_is_written_and_what_lacks_stays_as_a_comment() {
    let text = CURLEW
        .replace("track = 1710", "track = \"171 cm\"   # tape")
        .replace("gross_limit = 3500", "gross_limit = 3500   # the plate");
    let edited = set_vehicle(&text, &surveyed()).unwrap();
    let wanted = text
        .replace("survey = 1", "survey = 3")
        .replace("wheelbase = 4035", "wheelbase = 4040")
        .replace("gross_limit = ", "# gross_limit = ")
        .replace("front_limit = ", "# front_limit = ")
        .replace("rear_limit = ", "# rear_limit = ")
        .replace("weighed_front = 1290", "weighed_front = 1301.5")
        .replace("\nlength = ", "\n# length = ")
        .replace("seats = [{ x = 900, y = 400 }]", "seats = [{ x = 900, y = 400 }, { x = 900, y = 0, mass = 40 }]");
    assert_eq!(edited, wanted);
    // And back: what was there is written anew behind the rest.
    let before = read(&text).unwrap().design.vehicle;
    let back = set_vehicle(&edited, &before).unwrap();
    assert_eq!(read(&back).unwrap().design, read(&text).unwrap().design);
    assert!(back.contains("# gross_limit = 3500   # the plate") && back.contains("\ngross_limit = 3500\n"), "{back}");
}

#[test]
fn each_way_of_writing_a_vehicle_is_changed_or_left_alone() {
    let table: Vec<&str> = CURLEW.split("[vehicle]\n").collect();
    let rest = table[1].split_once("\n\n").map_or("", |(_, rest)| rest);
    let without = format!("{}{rest}", table[0]);
    let inline = format!("vehicle = {{ name = \"Curlew\", survey = 1, wheelbase = 4035 }}\n{without}");
    let windows = CURLEW.replace('\n', "\r\n");
    for text in [CURLEW, DUNLIN, AVOCET, &without, &inline, &windows, without.trim_end()] {
        let design = read(text).unwrap().design;
        let edited = set_vehicle(text, &surveyed()).unwrap();
        let after = read(&edited).unwrap().design;
        assert_eq!(after.vehicle, surveyed());
        assert_eq!(battenboard_engine::design::Design { vehicle: design.vehicle, ..after }, read(text).unwrap().design);
        let comments = |text: &str| text.lines().filter(|line| line.starts_with('#')).count();
        assert!(comments(&edited) >= comments(text), "a comment is gone");
        assert_eq!(edited.contains("\r\n"), text.contains("\r\n"));
        assert_eq!(edited.matches('\n').count() == edited.matches("\r\n").count(), text.contains("\r\n"), "line ends");
        assert_eq!(set_vehicle(&edited, &surveyed()).unwrap(), edited, "the same again changes nothing");
    }
    // Where it can't be done safely the file is left as it is.
    let dotted = format!("vehicle.name = \"Curlew\"\nvehicle.survey = 1\n{without}");
    let outcome = set_vehicle(&dotted, &surveyed());
    assert!(outcome.is_err() || read(&outcome.unwrap()).unwrap().design.vehicle == surveyed());
    assert!(matches!(set_vehicle("format = \n", &surveyed()), Err(EditError::Mistakes(_))));
}
