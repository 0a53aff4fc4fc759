//! Changing the stock of members in a file: only that changes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_designfile::{EditError, StartAnswers, StartKind, read, set_stock, template};
use battenboard_engine::design::{Grading, Material, Section, Stock};

const BASE: &str = include_str!("base.toml");
const LISTED: &str = include_str!("../../../tests/designs/curlew.toml");

fn tags(tags: &[&str]) -> Vec<String> {
    tags.iter().map(|tag| (*tag).to_owned()).collect()
}

fn deep() -> Stock {
    Stock {
        name: "45x95".into(),
        section: Section::Rectangle { width_mm: 45.0, depth_mm: 95.0 },
        material: Material::Class("C24".into()),
        grading: Grading::Assumed,
        lengths_mm: vec![],
        price_per_m: Some(4.7),
        resawn: false,
    }
}

#[test]
fn a_single_member_changes_and_nothing_else() {
    let commented = BASE.replacen("stock = \"45x70\"\nfrom", "stock   =  '45x70'   # from the shed\nfrom", 1);
    let edited = set_stock(&commented, &tags(&["RL"]), "38x63", None).unwrap();
    assert_eq!(edited, commented.replacen("'45x70'   # from", "\"38x63\"   # from", 1));
}

#[test]
fn a_row_changes_as_a_whole_or_not() {
    let edited = set_stock(BASE, &tags(&["B1", "B3", "B2"]), "45x70", None).unwrap();
    assert_eq!(edited, BASE.replacen("stock = \"38x63\"\nfrom", "stock = \"45x70\"\nfrom", 1));
    let error = set_stock(BASE, &tags(&["B2"]), "45x70", None).unwrap_err();
    assert_eq!(
        error.to_string(),
        "`B*` on line 35 is one row; to change only B2 of it, the row would have to be split"
    );
    let EditError::RowSplit { whole, .. } = error else { panic!("{error}") };
    assert_eq!(whole, ["B1", "B2", "B3"]);
}

#[test]
fn a_new_stock_goes_behind_the_last() {
    let edited = set_stock(BASE, &tags(&["RL"]), "45x95", Some(&deep())).unwrap();
    let new = "\n[[stock]]\nname = \"45x95\"\nsection = { width = 45, depth = 95 }\nmaterial = \"C24\"\ngrade = \"assumed\"\nprice = 4.7\n";
    let expected = BASE.replacen("grade = \"stamped\"\n", &format!("grade = \"stamped\"\n{new}"), 1).replacen(
        "stock = \"45x70\"\nfrom",
        "stock = \"45x95\"\nfrom",
        1,
    );
    assert_eq!(edited, expected);
    // once there it is not put in again
    let again = set_stock(&edited, &tags(&["RR"]), "45x95", Some(&deep())).unwrap();
    assert_eq!(again.matches("[[stock]]").count(), 3);
}

#[test]
fn a_list_of_stock_gets_one_more_line() {
    let edited = set_stock(LISTED, &tags(&["RL"]), "45x95", Some(&deep())).unwrap();
    let line = "  { name = \"45x95\", section = { width = 45, depth = 95 }, material = \"C24\", grade = \"assumed\", price = 4.7 },\n";
    assert!(edited.contains(line), "{edited}");
    assert_eq!(edited.lines().count(), LISTED.lines().count() + 1);
    let short = template(&StartAnswers {
        name: "x".into(),
        title: "x".into(),
        kind: StartKind::Settle,
        length_mm: 1900.0,
        width_mm: 600.0,
        bay_height_mm: 350.0,
        timber_mm: (45.0, 60.0),
        sleepers: 1,
        material: "C16".into(),
    });
    let edited = set_stock(&short, &tags(&["F", "W"]), "45x95", Some(&deep())).unwrap();
    assert_eq!(edited.lines().count(), short.lines().count() + 1);
    assert!(edited.contains("grade = \"assumed\" },\n  { name = \"45x95\""), "{edited}");
}

#[test]
fn line_ends_and_byte_order_mark_stay() {
    let crlf = format!("\u{feff}{}", BASE.replace('\n', "\r\n"));
    let edited = set_stock(&crlf, &tags(&["RL"]), "45x95", Some(&deep())).unwrap();
    assert!(edited.starts_with('\u{feff}'));
    assert_eq!(edited.matches('\n').count(), edited.matches("\r\n").count());
    let plain = set_stock(BASE, &tags(&["RL"]), "45x95", Some(&deep())).unwrap();
    assert_eq!(edited.trim_start_matches('\u{feff}').replace("\r\n", "\n"), plain);
}

#[test]
fn what_can_not_be_done_is_said() {
    let said =
        |tags_of: &[&str], stock: &str, new: Option<&Stock>| set_stock(BASE, &tags(tags_of), stock, new).unwrap_err();
    assert_eq!(said(&["RX"], "38x63", None), EditError::UnknownMember { tag: "RX".into(), near: Some("RL".into()) });
    assert_eq!(
        said(&["RL"], "38x64", None),
        EditError::UnknownStock { stock: "38x64".into(), near: Some("38x63".into()) }
    );
    assert_eq!(said(&[], "38x63", None), EditError::NoMember);
    let other = Stock { name: "38x63".into(), ..deep() };
    assert_eq!(said(&["RL"], "38x63", Some(&other)), EditError::OtherStock { stock: "38x63".into() });
    let broken = BASE.replacen("width", "widht", 1);
    let error = set_stock(&broken, &tags(&["RL"]), "38x63", None).unwrap_err();
    assert_eq!(error.to_string(), "the file has mistakes, the first on line 10: `widht` is no key of a section");
}

#[test]
fn a_file_that_ends_without_a_line_end() {
    let text = BASE.split("\n[check]").next().unwrap().trim_end();
    let edited = set_stock(text, &tags(&["RL"]), "45x95", Some(&deep())).unwrap();
    assert_eq!(read(&edited).unwrap().design.members[0].stock, "45x95");
}
