//! Texts that mean harm: each ends soon, in mistakes or in a design, never in a panic.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a failed read is a failed test"
)]

use battenboard_designfile::{MISTAKE_LIMIT, Mistake, read, read_bytes};
use proptest::prelude::*;
use std::time::{Duration, Instant};

const BASE: &str = include_str!("base.toml");

/// Reads within a time that is generous for a debug build on a busy machine.
fn mistakes(text: &str) -> Vec<Mistake> {
    let began = Instant::now();
    let mistakes = read(text).err().unwrap_or_default();
    assert!(began.elapsed() < Duration::from_secs(20), "took {:?}", began.elapsed());
    assert!(mistakes.len() <= MISTAKE_LIMIT + 1);
    for mistake in &mistakes {
        assert!(mistake.line >= 1 && mistake.column >= 1);
        assert!(text.get(mistake.span.clone()).is_some(), "{mistake:?}");
    }
    mistakes
}

fn first(text: &str) -> String {
    mistakes(text).first().map(|mistake| mistake.message.clone()).unwrap_or_default()
}

fn head() -> &'static str {
    "format = 1\nname = \"x\"\n\n[[stock]]\nname = \"s\"\nsection = { width = 45, depth = 70 }\nmaterial = \"C16\"\n"
}

fn row(prefix: &str, count: u32) -> String {
    format!(
        "\n[[members]]\ntag = \"{prefix}*\"\nkind = \"k\"\nstock = \"s\"\nfrom = [0, 0, 0]\nto = [9, 0, 0]\ncount = {count}\nstep = [1, 0, 0]\n"
    )
}

#[test]
fn too_long_a_text_is_not_looked_at() {
    let text = " ".repeat(100_000_000);
    let began = Instant::now();
    let mistakes = read(&text).unwrap_err();
    assert!(read_bytes(text.as_bytes()).is_err());
    assert!(began.elapsed() < Duration::from_millis(200));
    assert_eq!(mistakes[0].message, "the file has 100000000 bytes, at most 262144 (256 kB) are read");
}

#[test]
fn bytes_that_are_no_text() {
    let mistakes = read_bytes(b"format = 1\nname = \"caf\xe9\"\n").unwrap_err();
    assert_eq!((mistakes[0].line, mistakes[0].column), (2, 12));
    assert_eq!(mistakes[0].message, "from here on the file is not UTF-8 text (byte 0xe9)");
    let mistakes = read_bytes(b"\xff\xfef\0o\0").unwrap_err();
    assert_eq!(mistakes[0].message, "the file is UTF-16 text, not UTF-8");
    assert!(read_bytes(b"").is_err());
}

#[test]
fn members_are_refused_before_they_are_made() {
    let text = format!("{}{}{}", head(), row("A", 9_999), row("B", 2));
    assert_eq!(first(&text), "with these the design has 10001 members, at most 10000 are taken");
    let many = format!("{}{}", head(), row("A", 10_000).repeat(900));
    assert_eq!(first(&many), "with these the design has 20000 members, at most 10000 are taken");
    let full = format!("{}{}", head(), row("A", 10_000));
    assert_eq!(read(&full).unwrap().design.members.len(), 10_000);
}

#[test]
fn joints_are_refused_before_they_are_made() {
    let members = format!("{}{}{}", head(), row("A", 5_000), row("B", 5_000));
    let joint = |pair: &str| format!("\n[[joints]]\nmember = \"A*\"\non = \"B*\"\n{pair}");
    assert_eq!(
        first(&format!("{members}{}", joint(""))),
        "with these the design has 25000000 joints, at most 60000 are taken"
    );
    assert_eq!(
        first(&format!("{members}{}", joint("pair = \"nearest\"\n"))),
        "to find the nearest members 25000000 distances are needed, at most 4000000 are reckoned"
    );
    let in_order = joint("pair = \"in order\"\n");
    assert_eq!(read(&format!("{members}{in_order}")).unwrap().design.joints.len(), 5_000);
    assert_eq!(
        first(&format!("{members}{}", in_order.repeat(2_000))),
        "the joint `B1/A1` stands twice, first on line 27"
    );
}

#[test]
fn lists_of_patterns_end() {
    let members = format!("{}{}", head(), row("A", 10_000));
    let list = vec!["\"A*\""; 30_000].join(",");
    for joint in [
        format!("\n[[joints]]\nmember = [{list}]\non = \"A1\"\n"),
        format!("\n[[anchors]]\nmember = [{list}]\nat = \"both\"\nto = \"floor\"\nhold = \"pinned\"\n"),
        format!("\n[[decks]]\ntag = \"D\"\nsheet = {{ material = \"x\", thickness = 9 }}\ncarried_by = [{list}]\n"),
        "\n[[joints]]\nmember = \"A*\"\non = [\"A1\", \"A2\"]\npair = \"in order\"\n".repeat(3_000),
        "\n[[joints]]\nmember = \"C\"\non = \"A*\"\n".repeat(5_000),
    ] {
        assert!(!mistakes(&format!("{members}{joint}")).is_empty());
    }
}

#[test]
fn unknown_tags_among_many_end() {
    let members = format!("{}{}", head(), row("A", 10_000));
    let list: Vec<String> = (0..20_000).map(|n| format!("\"B{n}\"")).collect();
    let text = format!("{members}\n[[joints]]\nmember = [{}]\non = \"A1\"\n", list.join(","));
    let mistakes = mistakes(&text);
    assert_eq!(mistakes.len(), MISTAKE_LIMIT + 1);
    assert_eq!(mistakes[MISTAKE_LIMIT].message, "and 19950 more mistakes");
}

#[test]
fn nesting_is_refused_before_it_is_parsed() {
    let bracket = "lists and tables are nested deeper than 16 here";
    assert_eq!(first(&format!("a = {}", "[".repeat(200_000))), bracket);
    assert_eq!(first(&format!("a = {}", "{b=".repeat(80_000))), bracket);
    assert_eq!(first(&format!("{}x = 1", "a.".repeat(100_000))), "a key has more than 16 dotted parts here");
    assert_eq!(first(&format!("[{}x]", "a.".repeat(100_000))), "a key has more than 16 dotted parts here");
    // many shallow headings, each deeper by what stands under it
    let heading = format!("[{}x]\n{}y = 1\n", "a.".repeat(15), "b.".repeat(15));
    assert!(!mistakes(&heading.repeat(4_000)).is_empty());
}

#[test]
fn many_mistakes_are_counted() {
    let keys: String = (0..20_000).map(|n| format!("k{n} = 1\n")).collect();
    let mistakes = mistakes(&format!("format = 1\nname = \"x\"\n{keys}"));
    assert_eq!(mistakes.len(), MISTAKE_LIMIT + 1);
    assert_eq!(mistakes[0].message, "`k0` is no key of a design file");
    assert_eq!(mistakes[MISTAKE_LIMIT].message, "and 19950 more mistakes");
    for line in [
        "=\n",
        "[\n",
        "\"\n",
        "a = \n",
        "[[a]\n",
        "\u{1f4a9} = 1\n",
        "a = 1\n",
        "[a]\n",
        "[[a]]\n[a]\n",
        "a.b = 1\n",
        "}\n",
        ",\n",
        "\\\n",
    ] {
        let text = line.repeat(200_000 / line.len());
        assert!(!self::mistakes(&text).is_empty(), "{line:?}");
    }
}

#[test]
fn odd_numbers() {
    for number in [
        "1e308",
        "-1e308",
        "1e-400",
        "0x7fffffffffffffff",
        "0b1",
        "0o17",
        "1_000",
        "+5",
        "-0.0",
        "9223372036854775808",
        "1979-05-27T07:32:00Z",
        "[1]",
        "{}",
        "''",
    ] {
        let text = BASE.replacen("width = 45", &format!("width = {number}"), 1);
        let _ = mistakes(&text);
    }
    let hex = BASE.replacen("width = 45", "width = 0x2d", 1);
    assert_eq!(read(&hex).unwrap().design, read(BASE).unwrap().design);
}

#[test]
fn quotes_are_kept_short() {
    let long = "x".repeat(100_000);
    for text in [
        BASE.replacen("\"RL\"", &format!("\"{long}\""), 1),
        BASE.replacen("width", &long, 1),
        BASE.replacen("45", &format!("\"{long}\""), 1),
    ] {
        for mistake in mistakes(&text) {
            assert!(mistake.message.len() < 400, "{}", mistake.message.len());
            assert!(mistake.mend.is_none_or(|mend| mend.len() < 400));
        }
    }
}

/// Pieces that a TOML text is made of, so that chance comes deeper than its first line.
fn piece() -> impl Strategy<Value = String> {
    let words = prop::sample::select(vec![
        "[[members]]",
        "[vehicle]",
        "[[joints]]",
        "[[stock]]",
        "[members.x]",
        "[[members.x]]",
        "tag",
        "from",
        "count",
        "=",
        " = ",
        "1",
        "-2.5",
        "nan",
        "\"B*\"",
        "\"RL\"",
        "'x'",
        "\"\"\"",
        "[",
        "]",
        "{",
        "}",
        ",",
        ".",
        "\n",
        "\r\n",
        "\r",
        "#",
        "true",
        "\"1 m\"",
        "\\",
        "\u{feff}",
        "ä",
        "\0",
        "*",
        "member",
        "on",
        "hold",
        "{ x = \"rigid\" }",
        "[0, 0, 0]",
        "stock",
        "format = 1\n",
        "name = \"x\"\n",
        "1979-05-27",
        "a.b.c",
        "\"",
        "'",
    ]);
    words.prop_map(str::to_owned)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read_bytes(&bytes);
    }

    #[test]
    fn any_text(text in "\\PC{0,200}") {
        mistakes(&text);
    }

    #[test]
    fn any_pieces(pieces in prop::collection::vec(piece(), 0..80)) {
        mistakes(&pieces.concat());
        mistakes(&format!("{BASE}\n{}", pieces.concat()));
    }

    #[test]
    fn a_sound_file_with_a_part_replaced(at in 0..BASE.len(), length in 0usize..40, pieces in prop::collection::vec(piece(), 0..6)) {
        let end = (at + length).min(BASE.len());
        prop_assume!(BASE.is_char_boundary(at) && BASE.is_char_boundary(end));
        mistakes(&format!("{}{}{}", &BASE[..at], pieces.concat(), &BASE[end..]));
    }

    #[test]
    fn any_path_finds_a_place(path in "[a-z_]{0,8}(\\[[0-9]{0,3}\\])?(\\.[a-z_]{0,12}(\\[[0-9]\\])?){0,3}") {
        let place = read(BASE).unwrap().places.find(&path);
        prop_assert!(BASE.get(place.span).is_some());
    }

    #[test]
    fn any_quantity(text in "\\PC{0,30}") {
        for kind in [battenboard_designfile::Kind::Length, battenboard_designfile::Kind::Turn, battenboard_designfile::Kind::Price] {
            if let Ok(value) = battenboard_designfile::quantity(&text, kind) {
                prop_assert!(value.is_finite());
            }
        }
        let _ = battenboard_designfile::size(&text);
    }
}

/// An empty list is read as a whole: what refers to something in it refers to nothing. Found by the fuzz target `reader`.
#[test]
fn references_into_empty_lists() {
    let people = "\n[[people]]\nname = \"a knee\"\nposture = \"kneeling\"\ndeck = \"D2\"\n";
    for list in ["members", "decks"] {
        let text = format!("format = 1\nname = \"x\"\n{list} = []\n{people}");
        assert_eq!(first(&text), "`D2` in `deck` is no deck", "{list}");
    }
    let member = "\n[[members]]\ntag = \"A\"\nkind = \"k\"\nstock = \"s\"\nfrom = [0, 0, 0]\nto = [9, 0, 0]\n";
    let text = format!("format = 1\nname = \"x\"\nstock = []\n{member}");
    assert!(first(&text).contains('s'), "{}", first(&text));
    assert!(read(&text).is_err());
}
