//! What is to be measured: on what, and in how many words.

use super::said;
use battenboard_designfile::read_frame;

/// The base file with these lines as its first entry.
fn with(entry: &str) -> Vec<String> {
    let written = format!("[[to_be_measured]]\n{entry}\n\n[check]");
    said(&[("[check]", &written)])
}

#[test]
fn sound_entries() {
    for on in ["\"B*\"", "[\"RL\", \"RL/B1\", \"RL/rib@0\", \"D1\"]", "\"45x70\"", "\"vehicle\"", "\"\""] {
        assert_eq!(with(&format!("on = {on}\nwhat = \"wall to wheel arch\"")), [] as [&str; 0], "{on}");
    }
    assert_eq!(with("what = \"height inside\""), [] as [&str; 0]);
}

#[test]
fn not_said_what() {
    assert_eq!(
        with("on = \"B1\""),
        ["78:1 [[[to_be_measured]]] an entry of to_be_measured needs `what` (such as `what = \"wall to wheel arch\"`)"]
            as [&str; 1]
    );
    assert_eq!(
        with("on = \"B1\"\nwhat = \" \""),
        ["80:8 [\" \"] it is not said what is to be measured (say it in a few words, such as `wall to wheel arch`)"]
            as [&str; 1]
    );
}

#[test]
fn mistyped_key_and_name() {
    assert_eq!(
        with("om = \"B1\"\nwhat = \"length\""),
        ["79:1 [om] `om` is no key of an entry of to_be_measured (perhaps `on` was meant)"] as [&str; 1]
    );
    assert_eq!(
        with("on = [\"B1\", \"B33\"]\nwhat = \"length\""),
        ["79:13 [\"B33\"] `B33` in `on` is no member, joint, anchor, deck or stock (perhaps `B3` was meant)"]
            as [&str; 1]
    );
    assert_eq!(
        with("on = \"whatever else\"\nwhat = \"length\""),
        [
            "79:6 [\"whatever else\"] `whatever else` in `on` is no member, joint, anchor, deck or stock (name one of them or `vehicle`; for the whole leave `on` out)"
        ] as [&str; 1]
    );
    assert_eq!(
        with("on = \"vehicel\"\nwhat = \"length\""),
        [
            "79:6 [\"vehicel\"] `vehicel` in `on` is no member, joint, anchor, deck or stock (perhaps `vehicle` was meant)"
        ] as [&str; 1]
    );
    assert_eq!(
        with("on = \"Q*\"\nwhat = \"length\""),
        ["79:6 [\"Q*\"] `Q*` in `on` fits no member (name one of them or `vehicle`; for the whole leave `on` out)"]
            as [&str; 1]
    );
}

#[test]
fn no_name_where_others_could_not_be_read() {
    let written = "[[to_be_measured]]\non = \"corner\"\nwhat = \"x\"\n\n[check]";
    assert_eq!(
        said(&[("[check]", written), ("member = \"B*\"\non", "tag = 3\nmember = \"B*\"\non")]),
        ["44:7 [3] `tag` is a text in quotes, here is `3` (write \"3\")"] as [&str; 1]
    );
}

#[test]
fn twice_the_same() {
    assert_eq!(
        with("on = [\"B1\", \"B*\"]\nwhat = \"length\""),
        ["79:13 [\"B*\"] `B1: length` stands twice, first in to_be_measured[0] (say it once)"] as [&str; 1]
    );
}

#[test]
fn too_long_a_text() {
    // 200 characters are a text; in bytes these are 400.
    let long = "ü".repeat(200);
    let mistakes = with(&format!("on = \"B1\"\nwhat = \"{long}\""));
    assert_eq!(mistakes.len(), 1);
    assert!(mistakes[0].contains("longer than 200 bytes: `üüü"), "{mistakes:?}");
}

#[test]
fn too_many() {
    let base = include_str!("../base.toml");
    let entries = |count: usize| {
        let one = |n: usize| format!("\n[[to_be_measured]]\nwhat = \"no. {n}\"\n");
        format!("{base}{}", (0..count).map(one).collect::<String>())
    };
    assert!(read_frame(&entries(64)).is_ok());
    let mistakes = read_frame(&entries(65)).unwrap_err();
    assert_eq!(mistakes[0].message, "there are 65 entries of `to_be_measured`, at most 64 are read");
    let row = base.replace("count = 3\nstep = [300, 0, 0]", "count = 65\nstep = [10, 0, 0]");
    let mistakes = read_frame(&format!("{row}\n[[to_be_measured]]\non = \"B*\"\nwhat = \"length\"\n")).unwrap_err();
    assert_eq!(mistakes[0].message, "more than 64 things are to be measured, rows written out");
    let list = format!("{base}\n[[to_be_measured]]\non = [{}]\nwhat = \"length\"\n", "\"B1\", ".repeat(65));
    assert_eq!(read_frame(&list).unwrap_err()[0].message, "`on` names 65 things, at most 64 are read");
}
