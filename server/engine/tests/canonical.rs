//! The canonical text of a design: one text a design, read back exactly, the same for ever.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_engine::design::canonical::{CanonicalError, canonical_text, content_id, from_canonical};
use battenboard_engine::design::*;
use proptest::prelude::*;
use serde_json::Value;

/// A stored body of the first release; neither file ever changes. The hash can be had with `sha256sum` too.
const BODY_1: &str = include_str!("fixtures/body_1.txt");
const BODY_1_SHA256: &str = include_str!("fixtures/body_1.sha256");

#[test]
fn body_1_is_read_for_ever() {
    let design = from_canonical(BODY_1).unwrap();
    assert_eq!(canonical_text(&design), BODY_1);
    assert_eq!(content_id(&design), BODY_1_SHA256.trim());
    // every kind of part is in it, so that no part's form can change unnoticed
    assert_eq!((design.stock.len(), design.members.len(), design.joints.len(), design.anchors.len()), (6, 14, 19, 10));
    assert_eq!((design.decks.len(), design.stowage.len(), design.people.len(), design.loads.len()), (2, 2, 3, 5));
    assert_eq!(design.title, "Two lengthwise berths on trestles, \"42 mm\" \\ Größe \u{1}");
    assert_eq!(design.members[1].up, Some([0.1 + 0.2, -1e-6, 999_999_999_999_999.0]));
}

#[test]
fn the_form_of_a_small_design() {
    let design = Design {
        name: "a".into(),
        members: vec![Member { tag: "R".into(), to: [-0.0, 1000.5, 1e300], roll_deg: 2.5e-7, ..Member::default() }],
        joints: vec![Joint {
            hold: Hold::Given([Grip::Rigid, Grip::Free, Grip::Spring(450.0), Grip::Free, Grip::Free, Grip::Free]),
            ..Joint::default()
        }],
        ..Design::default()
    };
    let expected = concat!(
        "body 1\n",
        r#"{"anchors":[],"decks":[],"#,
        r#""joints":[{"axes":"vehicle","hold":{"given":["rigid","free",{"spring":450},"free","free","free"]},"member":"","on":""}],"#,
        r#""loads":[],"members":[{"from":[0,0,0],"kind":"","roll_deg":2.5e-7,"stock":"","tag":"R","to":[0,1000.5,1e300]}],"#,
        r#""name":"a","people":[],"settings":{},"stock":[],"stowage":[],"title":"","vehicle":{"name":"","seats":[],"survey":0}}"#,
    );
    assert_eq!(canonical_text(&design), expected);
    // sha256 by another program over the text above
    assert_eq!(content_id(&design), "48dbf7baa85ad5002d47f50c309977dc25450fc293b744904e551cf651b56f80");
}

#[test]
fn zero_has_one_sign() {
    let with = |zero: f64| Design {
        members: vec![Member { roll_deg: zero, from: [zero; 3], ..Member::default() }],
        ..Design::default()
    };
    assert_eq!(content_id(&with(-0.0)), content_id(&with(0.0)));
    assert_ne!(content_id(&with(1e-300)), content_id(&with(0.0)));
}

/// Turns the keys of every table round.
fn reversed(value: &Value) -> String {
    match value {
        Value::Object(map) => {
            let mut fields: Vec<String> =
                map.iter().map(|(key, value)| format!("{}:{}", Value::from(key.as_str()), reversed(value))).collect();
            fields.sort_unstable_by(|a, b| b.cmp(a));
            format!("{{{}}}", fields.join(", "))
        }
        Value::Array(items) => format!("[{}]", items.iter().map(reversed).collect::<Vec<_>>().join(" , ")),
        other => other.to_string(),
    }
}

#[test]
fn the_order_of_keys_does_not_matter() {
    let design = from_canonical(BODY_1).unwrap();
    let text = reversed(&serde_json::to_value(&design).unwrap());
    assert!(text.find("\"vehicle\"").unwrap() < text.find("\"anchors\"").unwrap());
    let again: Design = serde_json::from_str(&text).unwrap();
    assert_eq!(content_id(&again), content_id(&design));
}

#[test]
fn anything_else_is_refused() {
    let body = |body: &str| from_canonical(body).unwrap_err();
    assert_eq!(body(""), CanonicalError::UnknownBody { found: String::new() });
    assert_eq!(body("body 2\n{}"), CanonicalError::UnknownBody { found: "body 2".into() });
    assert!(matches!(body("body 1\n{}"), CanonicalError::Unreadable { .. }));
    assert!(matches!(body(&BODY_1[..BODY_1.len() - 1]), CanonicalError::Unreadable { .. }));
    assert!(matches!(body(&format!("body 1\n{}", "[".repeat(1_000_000))), CanonicalError::Unreadable { .. }));
    assert!(matches!(body(&"x".repeat(40_000_000)), CanonicalError::TooLong { .. }));
    let changed = |from: &str, to: &str| {
        assert!(BODY_1.contains(from), "{from}");
        body(&BODY_1.replacen(from, to, 1))
    };
    for (from, to) in [
        // a blank, an unknown key, a doubled part, another order, other numbers, a `None` spelt out, another escape
        ("\"axes\":", "\"axes\": "),
        ("{\"at_mm\":0,", "{\"at_inch\":0,\"at_mm\":0,"),
        ("{\"at_mm\":0,\"axes\":\"vehicle\",", "{\"axes\":\"vehicle\",\"at_mm\":0,"),
        ("{\"at_mm\":0,", "{\"at_mm\":0.0,"),
        ("{\"at_mm\":0,", "{\"at_mm\":-0,"),
        ("1e16", "10000000000000000"),
        ("Größe", "Gr\\u00f6ße"),
        ("\"to\":\"floor\"}", "\"tag\":null,\"to\":\"floor\"}"),
    ] {
        assert!(matches!(changed(from, to), CanonicalError::NotCanonical { .. }), "{from} {to}");
    }
    assert!(matches!(changed("\"rigid\"", "\"stiff\""), CanonicalError::Unreadable { .. }));
    assert!(from_canonical(&format!("{BODY_1}\n")).is_err());
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        (-5_000i32..5_000).prop_map(f64::from),
        prop::num::f64::NORMAL,
        prop::num::f64::SUBNORMAL,
        Just(0.0),
        Just(-0.0),
        -1e16..1e16f64
    ]
}

fn member() -> impl Strategy<Value = Member> {
    (
        "\\PC{0,12}",
        [number(), number(), number()],
        prop::option::of([number(), number(), number()]),
        prop::option::of(number()),
    )
        .prop_map(|(tag, from, up, sag_limit_mm)| Member { tag, from, up, sag_limit_mm, ..Member::default() })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn it_reads_back(members in prop::collection::vec(member(), 0..5), title in any::<String>(), figures in prop::collection::vec(prop::option::of(number()), 8)) {
        let design = Design {
            title,
            members,
            vehicle: Vehicle { wheelbase_mm: figures[0], gross_limit_kg: figures[1], length_mm: figures[2], ..Vehicle::default() },
            settings: Settings { person_kg: figures[3], gamma_variable: figures[4], ..Settings::default() },
            stock: vec![Stock {
                name: "s".into(),
                section: Section::Round { diameter_mm: figures[5].unwrap_or(1.0) },
                material: Material::Given { e_n_mm2: figures[6].unwrap_or(1.0), g_n_mm2: 1.0, density_kg_m3: 1.0 },
                grading: Grading::Measured,
                lengths_mm: figures.iter().flatten().copied().collect(),
                price_per_m: figures[7],
                resawn: false,
            }],
            ..Design::default()
        };
        let text = canonical_text(&design);
        let again = from_canonical(&text);
        prop_assert_eq!(again.as_ref(), Ok(&design));
        prop_assert_eq!(canonical_text(&again.unwrap()), text);
    }

    #[test]
    fn another_number_is_another_design(a in number(), b in number()) {
        let with = |price| Design { vehicle: Vehicle { track_mm: Some(price), ..Vehicle::default() }, ..Design::default() };
        prop_assert_eq!(a == b, content_id(&with(a)) == content_id(&with(b)));
    }

    #[test]
    fn any_text_ends(text in "\\PC{0,60}") {
        let _ = from_canonical(&text);
        let _ = from_canonical(&format!("body 1\n{text}"));
    }
}

#[test]
fn figures_of_a_vehicle_are_equal_whatever_its_name_and_number() {
    let vehicle = Vehicle { name: "Curlew".into(), survey: 3, track_mm: Some(1710.0), ..Vehicle::default() };
    let other = Vehicle { name: "Dunlin".into(), survey: 0, ..vehicle.clone() };
    let text = canonical::figures_text(&vehicle);
    assert_eq!(text, canonical::figures_text(&other));
    // Fixed for ever, as stored surveys are compared by it.
    assert_eq!(text, "figures 1\n{\"name\":\"\",\"seats\":[],\"survey\":0,\"track_mm\":1710}");
    let bare = Vehicle { name: String::new(), survey: 0, ..vehicle.clone() };
    assert_eq!(canonical::from_figures(&text).unwrap(), bare);
    let zero = |track_mm| canonical::figures_text(&Vehicle { track_mm, ..Vehicle::default() });
    assert_eq!(zero(Some(-0.0)), zero(Some(0.0)));
    assert_ne!(zero(Some(0.0)), zero(None));
    for bad in ["", "body 1\n{}", "figures 2\n{}", "figures 1\n{", "figures 1\n {}", &text.replace("1710", "1710.0")] {
        assert!(canonical::from_figures(bad).is_err(), "{bad}");
    }
}
