//! Each kind of mistake: where it is said to be, what is underlined, and the words.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs, reason = "a failed read is a failed test")]

use battenboard_designfile::read_frame;

const BASE: &str = include_str!("base.toml");

/// The mistakes of the base file after some edits: `line:column [underlined] message (mend)`.
fn said(edits: &[(&str, &str)]) -> Vec<String> {
    let mut text = BASE.to_owned();
    for (from, to) in edits {
        assert!(text.contains(from), "the base file has no {from:?}");
        text = text.replacen(from, to, 1);
    }
    let mistakes = read_frame(&text).err().unwrap_or_default();
    let one = |mistake: battenboard_designfile::Mistake| {
        let under = text.get(mistake.span).unwrap_or("?").replace('\n', " ");
        let mend = mistake.mend.map(|mend| format!(" ({mend})")).unwrap_or_default();
        format!("{}:{} [{under}] {}{mend}", mistake.line, mistake.column, mistake.message)
    };
    mistakes.into_iter().map(one).collect()
}

#[test]
fn the_base_file_has_none() {
    assert_eq!(said(&[]), [] as [&str; 0]);
}

#[test]
fn no_format() {
    assert_eq!(
        said(&[("format = 1\n", "")]),
        [
            "1:1 [] the file doesn't say its format (put `format = 1` on the first line)"
        ] as [&str; 1]
    );
}

#[test]
fn other_format() {
    assert_eq!(
        said(&[("format = 1\n", "format = 2\n")]),
        [
            "1:10 [2] `format` is 1, here is `2` (this version of the program reads format 1)"
        ] as [&str; 1]
    );
}

#[test]
fn format_in_quotes() {
    assert_eq!(
        said(&[("format = 1\n", "format = \"1\"\n")]),
        [
            "1:10 [\"1\"] `format` is 1, here is `\"1\"` (this version of the program reads format 1)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_key() {
    assert_eq!(
        said(&[("width = 45", "widht = 45")]),
        [
            "10:13 [widht] `widht` is no key of a section (perhaps `width` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_key_without_a_neighbour() {
    assert_eq!(
        said(&[("price = 3.2\n", "price = 3.2\ncolour = \"red\"\n")]),
        [
            "13:1 [colour] `colour` is no key of a stock (known here: name, section, material, grade, lengths, price)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_table() {
    assert_eq!(
        said(&[("[[decks]]", "[[deck]]")]),
        [
            "53:3 [deck] `deck` is no key of a design file (perhaps `decks` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn missing_key() {
    assert_eq!(
        said(&[("stock = \"45x70\"\nfrom = [1900, -600, 450]", "from = [1900, -600, 450]")]),
        [
            "20:1 [[[members]]] a member needs `stock` (such as `stock = \"45x70\"`)"
        ] as [&str; 1]
    );
}

#[test]
fn missing_name() {
    assert_eq!(
        said(&[("name = \"base\"\n", "")]),
        [
            "1:1 [] a design file needs `name` (such as `name = \"curlew-platform\"`)"
        ] as [&str; 1]
    );
}

#[test]
fn unit_of_another_kind() {
    assert_eq!(
        said(&[("width = 45", "width = \"18 kg\"")]),
        [
            "10:21 [\"18 kg\"] `width`: `18 kg` is a mass, but a length is wanted (a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\")"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_unit() {
    assert_eq!(
        said(&[("width = 45", "width = \"4.5 inch\"")]),
        [
            "10:21 [\"4.5 inch\"] `width`: the unit in `4.5 inch` is not known (a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\")"
        ] as [&str; 1]
    );
}

#[test]
fn unit_in_capitals() {
    assert_eq!(
        said(&[("width = 45", "width = \"45 MM\"")]),
        [
            "10:21 [\"45 MM\"] `width`: the unit in `45 MM` is not known (perhaps `mm` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn bare_number_in_quotes() {
    assert_eq!(
        said(&[("width = 45", "width = \"45\"")]),
        [
            "10:21 [\"45\"] `width` is a number in quotes without a unit: \"45\" (take the quotes off, or write its unit)"
        ] as [&str; 1]
    );
}

#[test]
fn decimal_comma_in_quotes() {
    assert_eq!(
        said(&[("width = 45", "width = \"4,5 cm\"")]),
        [
            "10:21 [\"4,5 cm\"] `width`: `4,5 cm` has a comma in its number (write a point: `4.5 cm`)"
        ] as [&str; 1]
    );
}

#[test]
fn no_number() {
    assert_eq!(
        said(&[("width = 45", "width = true")]),
        [
            "10:21 [true] `width` is a length, here is `true` (a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\")"
        ] as [&str; 1]
    );
}

#[test]
fn nan() {
    assert_eq!(
        said(&[("width = 45", "width = nan")]),
        [
            "10:21 [nan] `width` is a length, here is `nan` (write a number that can be measured)"
        ] as [&str; 1]
    );
}

#[test]
fn infinite() {
    assert_eq!(
        said(&[("width = 45", "width = -inf")]),
        [
            "10:21 [-inf] `width` is a length, here is `-inf` (write a number that can be measured)"
        ] as [&str; 1]
    );
}

#[test]
fn huge_float() {
    assert_eq!(
        said(&[("width = 45", "width = 1e400")]),
        [
            "10:21 [1e400] `width` is a length, here is `1e400` (write a number that can be measured)"
        ] as [&str; 1]
    );
}

#[test]
fn huge_integer() {
    assert_eq!(
        said(&[("width = 45", "width = 99999999999999999999999999999999999999999999")]),
        [
            "10:21 [99999999999999999999999999999999999999999999] `width` is a length, here is `9999999999999999999999999999999999999999 ...` (write a number that can be measured)"
        ] as [&str; 1]
    );
}

#[test]
fn number_for_text() {
    assert_eq!(
        said(&[("tag = \"RL\"", "tag = 5")]),
        [
            "21:7 [5] `tag` is a text in quotes, here is `5` (write \"5\")"
        ] as [&str; 1]
    );
}

#[test]
fn unprintable_text() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"Ba\\u0000se\"")]),
        [
            "3:9 [\"Ba\\u0000se\"] `title` has a character that can't be printed: \"Ba\\u{0}se\" (take it out)"
        ] as [&str; 1]
    );
}

#[test]
fn date() {
    assert_eq!(
        said(&[("width = 45", "width = 2024-01-01")]),
        [
            "10:21 [2024-01-01] `width` is a length, here is the date `2024-01-01` (a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\")"
        ] as [&str; 1]
    );
}

#[test]
fn short_point() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = [1900, -600]")]),
        [
            "24:8 [[1900, -600]] `from` is three lengths [x, y, z], here are 2"
        ] as [&str; 1]
    );
}

#[test]
fn no_point() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = 1900")]),
        [
            "24:8 [1900] `from` is three lengths [x, y, z], here is `1900`"
        ] as [&str; 1]
    );
}

#[test]
fn unit_within_a_point() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = [1900, \"3 kN\", 450]")]),
        [
            "24:15 [\"3 kN\"] `from`: `3 kN` is a force, but a length is wanted (a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\")"
        ] as [&str; 1]
    );
}

#[test]
fn mistyped_choice() {
    assert_eq!(
        said(&[("grade = \"stamped\"", "grade = \"stampt\"")]),
        [
            "18:9 [\"stampt\"] `grade` can't be \"stampt\" (perhaps \"stamped\" was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_choice() {
    assert_eq!(
        said(&[("grade = \"stamped\"", "grade = \"good\"")]),
        [
            "18:9 [\"good\"] `grade` can't be \"good\" (one of stamped, measured, assumed)"
        ] as [&str; 1]
    );
}

#[test]
fn mixed_section() {
    assert_eq!(
        said(&[("width = 45", "diameter = 4, width = 45")]),
        [
            "10:35 [45] `width` does not go with a round section (`diameter`) (take it out)",
            "10:47 [70] `depth` does not go with a round section (`diameter`) (take it out)"
        ] as [&str; 2]
    );
}

#[test]
fn doubled_stock() {
    assert_eq!(
        said(&[("name = \"38x63\"", "name = \"45x70\"")]),
        [
            "15:8 [\"45x70\"] the stock \"45x70\" stands twice, first on line 9 (give one of the two another name)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_stock() {
    assert_eq!(
        said(&[("stock = \"38x63\"", "stock = \"38x64\"")]),
        [
            "37:9 [\"38x64\"] there is no stock named \"38x64\" (perhaps `38x63` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn no_tag() {
    assert_eq!(
        said(&[("tag = \"RL\"", "tag = \"3 RL\"")]),
        [
            "21:7 [\"3 RL\"] `3 RL` is no tag (a tag is a letter, then letters, digits, `-`, `_` or `.`)"
        ] as [&str; 1]
    );
}

#[test]
fn long_tag() {
    assert_eq!(
        said(&[("tag = \"RL\"", "tag = \"RailAtTheLeftSideOfTheVan\"")]),
        [
            "21:7 [\"RailAtTheLeftSideOfTheVan\"] `RailAtTheLeftSideOfTheVan` is no tag (a tag has at most 24 characters)"
        ] as [&str; 1]
    );
}

#[test]
fn doubled_tag() {
    assert_eq!(
        said(&[("tag = \"RR\"", "tag = \"RL\"")]),
        [
            "28:7 [\"RL\"] the tag `RL` stands twice, first on line 21 (give one of the two another tag)"
        ] as [&str; 1]
    );
}

#[test]
fn tag_within_a_row() {
    assert_eq!(
        said(&[("tag = \"RR\"", "tag = \"B2\"")]),
        [
            "35:7 [\"B*\"] the tag `B2` stands twice, first on line 28 (give one of the two another tag)"
        ] as [&str; 1]
    );
}

#[test]
fn count_without_star() {
    assert_eq!(
        said(&[("tag = \"B*\"", "tag = \"B\"")]),
        [
            "40:9 [3] `count` is for a row, but the tag `B` is of one member (write the tag `B*`, or take `count` out)",
            "41:8 [[300, 0, 0]] `step` is for a row, but the tag `B` is of one member (write the tag `B*`, or take `step` out)"
        ] as [&str; 2]
    );
}

#[test]
fn star_without_count() {
    assert_eq!(
        said(&[("count = 3\n", "")]),
        [
            "34:1 [[[members]]] a member needs `count` (such as `count = 7`)"
        ] as [&str; 1]
    );
}

#[test]
fn star_without_step() {
    assert_eq!(
        said(&[("step = [300, 0, 0]\n", "")]),
        [
            "34:1 [[[members]]] a member needs `step` (such as `step = [300, 0, 0]`)"
        ] as [&str; 1]
    );
}

#[test]
fn star_in_the_middle() {
    assert_eq!(
        said(&[("tag = \"B*\"", "tag = \"B*x\"")]),
        [
            "35:7 [\"B*x\"] `B*x` is no tag (the tag of a row is a letter, then letters, digits, `-`, `_` or `.`, and one `*` at its end: `B*`)"
        ] as [&str; 1]
    );
}

#[test]
fn count_of_none() {
    assert_eq!(
        said(&[("count = 3", "count = 0")]),
        [
            "40:9 [0] `count` is a whole number from 1 to 10000, here is `0`"
        ] as [&str; 1]
    );
}

#[test]
fn hostile_count() {
    assert_eq!(
        said(&[("count = 3", "count = 1000000")]),
        [
            "40:9 [1000000] `count` is a whole number from 1 to 10000, here is `1000000`"
        ] as [&str; 1]
    );
}

#[test]
fn huge_count() {
    assert_eq!(
        said(&[("count = 3", "count = 99999999999999999999999999")]),
        [
            "40:9 [99999999999999999999999999] `count` is a whole number from 1 to 10000, here is `99999999999999999999999999`"
        ] as [&str; 1]
    );
}

#[test]
fn broken_count() {
    assert_eq!(
        said(&[("count = 3", "count = 3.5")]),
        [
            "40:9 [3.5] `count` is a whole number from 1 to 10000, here is `3.5`"
        ] as [&str; 1]
    );
}

#[test]
fn row_with_long_numbers() {
    assert_eq!(
        said(&[("count = 3", "count = 3\nfirst = 1000000")]),
        [
            "41:9 [1000000] `first` is a whole number from 0 to 999999, here is `1000000`"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_member() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = [\"RL\", \"RX\"]")]),
        [
            "45:13 [\"RX\"] `RX` in `on` is no member (perhaps `RL` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn pattern_of_none() {
    assert_eq!(
        said(&[("member = \"B*\"", "member = \"C*\"")]),
        [
            "44:10 [\"C*\"] `C*` in `member` fits no member: none has the tag `C` and a number (perhaps `B*` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn pattern_of_a_single_member() {
    assert_eq!(
        said(&[("member = \"B*\"", "member = \"RL*\"")]),
        [
            "44:10 [\"RL*\"] `RL*` in `member` fits no member: none has the tag `RL` and a number (perhaps `RL` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn bare_star() {
    assert_eq!(
        said(&[("member = \"B*\"", "member = \"*\"")]),
        [
            "44:10 [\"*\"] `*` is no pattern (a pattern is the beginning of a tag and one `*` at its end, such as `B*`)"
        ] as [&str; 1]
    );
}

#[test]
fn joint_with_itself() {
    assert_eq!(
        said(&[("member = \"B*\"\non = [\"RL\", \"RR\"]", "member = \"RL\"\non = \"RL\"")]),
        [
            "45:6 [\"RL\"] `member` and `on` are both `RL`: a member is not joined to itself"
        ] as [&str; 1]
    );
}

#[test]
fn joint_both_ways() {
    assert_eq!(
        said(&[("[[anchors]]", "[[joints]]\nmember = \"RL\"\non = \"B1\"\n\n[[anchors]]")]),
        [
            "47:1 [[[joints]]] `RL` lies on `B1` here, and `B1` on `RL` on line 43: only one can carry the other (take one of the two joints out)"
        ] as [&str; 1]
    );
}

#[test]
fn doubled_joint() {
    assert_eq!(
        said(&[("[[anchors]]", "[[joints]]\nmember = \"B2\"\non = \"RL\"\n\n[[anchors]]")]),
        [
            "47:1 [[[joints]]] the joint `RL/B2` stands twice, first on line 43 (take one of the two out, or give them tags of their own if the members meet twice)"
        ] as [&str; 1]
    );
}

#[test]
fn tag_of_many_joints() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = [\"RL\", \"RR\"]\ntag = \"J\"")]),
        [
            "46:7 [\"J\"] `tag` names one joint, but this entry stands for 6 (leave `tag` out, or name one member and one `on`)"
        ] as [&str; 1]
    );
}

#[test]
fn unequal_lists_in_order() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = [\"RL\", \"RR\"]\npair = \"in order\"")]),
        [
            "46:8 [\"in order\"] `member` stands for 3 members and `on` for 2: in order they can't be paired (make the two lists equally long, or leave `pair` out)"
        ] as [&str; 1]
    );
}

#[test]
fn mistyped_pair() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = [\"RL\", \"RR\"]\npair = \"in oder\"")]),
        [
            "46:8 [\"in oder\"] `pair` can't be \"in oder\" (perhaps \"in order\" was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn empty_list() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = []")]),
        [
            "45:6 [[]] `on` is an empty list (name at least one member)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_hold() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = \"welded\"")]),
        [
            "51:8 [\"welded\"] `hold` can't be \"welded\" (one of rigid, pinned, seated)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_direction() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = { turn = \"rigid\" }")]),
        [
            "51:10 [turn] `turn` is no key of a hold (known here: x, y, z, turn_x, turn_y, turn_z)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_grip() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = { x = \"fixed\" }")]),
        [
            "51:14 [\"fixed\"] `x` can't be \"fixed\" (one of rigid, free)"
        ] as [&str; 1]
    );
}

#[test]
fn spring_of_another_kind() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = { x = \"2 kNm\" }")]),
        [
            "51:14 [\"2 kNm\"] `x`: `2 kNm` is a moment, but a spring is wanted (a bare number is N/mm; or \"450 N/mm\", \"1.2 kN/m\")"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_place() {
    assert_eq!(
        said(&[("at = \"both\"", "at = \"middle\"")]),
        [
            "49:6 [\"middle\"] `at` can't be \"middle\" (one of start, end, both)"
        ] as [&str; 1]
    );
}

#[test]
fn doubled_anchor() {
    assert_eq!(
        said(&[("at = \"both\"", "at = [\"both\", 0]")]),
        [
            "47:1 [[[anchors]]] `RL` is fixed to `rib` twice at the same place (0 mm from its start), first on line 47 (take one of the two out)"
        ] as [&str; 1]
    );
}

#[test]
fn short_settlement() {
    assert_eq!(
        said(&[("at = \"both\"", "at = \"both\"\nsettlement = [0, 0, 1]")]),
        [
            "50:14 [[0, 0, 1]] `settlement` is three movements and three turns [x, y, z, turn_x, turn_y, turn_z], here are 3"
        ] as [&str; 1]
    );
}

#[test]
fn sheet_and_slats() {
    assert_eq!(
        said(&[("carried_by", "slats = { stock = \"38x63\", gap = 5 }\ncarried_by")]),
        [
            "56:9 [{ stock = \"38x63\", gap = 5 }] a deck is of a sheet or of slats, not of both (take one of the two out)"
        ] as [&str; 1]
    );
}

#[test]
fn neither_sheet_nor_slats() {
    assert_eq!(
        said(&[("sheet = { material = \"birch plywood\", thickness = 12 }\n", "")]),
        [
            "53:1 [[[decks]]] a deck needs `sheet` or `slats` (such as `sheet = { material = \"birch plywood\", thickness = 12 }` or `slats = { stock = \"18x70\", gap = 50 }`)"
        ] as [&str; 1]
    );
}

#[test]
fn deck_with_the_tag_of_a_member() {
    assert_eq!(
        said(&[("tag = \"D1\"", "tag = \"RL\"")]),
        [
            "54:7 [\"RL\"] the tag `RL` stands twice, first on line 21 (give one of the two another tag)"
        ] as [&str; 1]
    );
}

#[test]
fn deck_names_a_member_twice() {
    assert_eq!(
        said(&[("carried_by = \"B*\"", "carried_by = [\"B*\", \"B2\"]")]),
        [
            "56:21 [\"B2\"] `B2` is named twice in `carried_by` (name it once)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_deck() {
    assert_eq!(
        said(&[("deck = \"D1\"", "deck = \"D2\"")]),
        [
            "61:8 [\"D2\"] `D2` in `deck` is no deck (perhaps `D1` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn one_person_without_inner_brackets() {
    assert_eq!(
        said(&[("at = [[2300, 0]]", "at = [2300, 0]")]),
        [
            "62:6 [[2300, 0]] `at` is a list of points, here is `[2300, 0]` (write it in brackets once more: `[[2300, 0]]`)"
        ] as [&str; 1]
    );
}

#[test]
fn gear_on_nothing_known() {
    assert_eq!(
        said(&[("on = \"D1\"", "on = \"D\"")]),
        [
            "69:6 [\"D\"] `D` in `on` is no deck and no member (perhaps `D1` was meant)"
        ] as [&str; 1]
    );
}

#[test]
fn load_of_nothing() {
    assert_eq!(
        said(&[("force = [0, 0, -250]\n", "")]),
        [
            "71:1 [[[loads]]] a load needs to say how much it is (one of `force` and `moment`, `line`, `mass`, `pressure`)"
        ] as [&str; 1]
    );
}

#[test]
fn load_of_two_kinds() {
    assert_eq!(
        said(&[("force = [0, 0, -250]", "force = [0, 0, -250]\nmass = 3")]),
        [
            "77:8 [3] a load is one thing: here are `force` and `mass` (write two entries with the same `case`)"
        ] as [&str; 1]
    );
}

#[test]
fn key_of_another_kind_of_load() {
    assert_eq!(
        said(&[("force = [0, 0, -250]", "force = [0, 0, -250]\nfrom = 3")]),
        [
            "77:8 [3] `from` does not go with `force` (take it out)"
        ] as [&str; 1]
    );
}

#[test]
fn pattern_where_one_tag_is_taken() {
    assert_eq!(
        said(&[("member = \"RL\"\nat = 900", "member = \"B*\"\nat = 900")]),
        [
            "74:10 [\"B*\"] `member` takes one tag, here is the pattern `B*` (name one member)"
        ] as [&str; 1]
    );
}

#[test]
fn single_brackets() {
    assert_eq!(
        said(&[("[[decks]]", "[decks]")]),
        [
            "53:1 [[decks]] `decks` is a list of tables, here is only one (write `[[decks]]` with two brackets on each side)"
        ] as [&str; 1]
    );
}

#[test]
fn double_brackets() {
    assert_eq!(
        said(&[("[vehicle]", "[[vehicle]]")]),
        [
            "5:1 [[[vehicle]]] `vehicle` is one table, here is a list of them (write `[vehicle]` with one bracket on each side)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_service_class() {
    assert_eq!(
        said(&[("service_class = 2", "service_class = 4")]),
        [
            "79:17 [4] `service_class` is a whole number from 1 to 3, here is `4`"
        ] as [&str; 1]
    );
}

#[test]
fn unclosed_quote() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"Base")]),
        [
            "3:14 [] the quotes of this text are not closed (end it with the quote it begins with)"
        ] as [&str; 1]
    );
}

#[test]
fn unquoted_text() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = Base")]),
        [
            "3:9 [Base] `Base` is a text without quotes (write \"Base\")"
        ] as [&str; 1]
    );
}

#[test]
fn unclosed_list() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = [1900, -600, 450")]),
        [
            "24:8 [[] this list is not closed, or one of its tables has no braces (end a list with `]`, and put `{` and `}` around a table in it)"
        ] as [&str; 1]
    );
}

#[test]
fn unclosed_heading() {
    assert_eq!(
        said(&[("[[decks]]", "[[decks]")]),
        [
            "53:9 [] this table's heading is not closed (end it with `]`, or `]]` where it began with `[[`)"
        ] as [&str; 1]
    );
}

#[test]
fn missing_comma() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = [1900 -600, 450]")]),
        [
            "24:9 [1900 -600] `1900 -600` is more than one number (put a comma between two items)"
        ] as [&str; 1]
    );
}

#[test]
fn no_value() {
    assert_eq!(
        said(&[("price = 3.2", "price =")]),
        [
            "12:8 [] there is no value after `=` (write `key = value`)"
        ] as [&str; 1]
    );
}

#[test]
fn value_with_a_bare_unit() {
    assert_eq!(
        said(&[("width = 45", "width = 45 mm")]),
        [
            "10:21 [45 mm] `45 mm` is a text without quotes (write \"45 mm\")"
        ] as [&str; 1]
    );
}

#[test]
fn table_in_a_list_without_braces() {
    assert_eq!(
        said(&[("[vehicle]", "seats = [x = 1]\n[vehicle]")]),
        [
            "5:9 [[] this list is not closed, or one of its tables has no braces (end a list with `]`, and put `{` and `}` around a table in it)"
        ] as [&str; 1]
    );
}

#[test]
fn list_not_closed_at_the_end() {
    assert_eq!(
        said(&[("service_class = 2\n", "service_class = [2, 3\n")]),
        [
            "79:22 [] this list is not closed (end it with `]`)"
        ] as [&str; 1]
    );
}

#[test]
fn no_equals() {
    assert_eq!(
        said(&[("price = 3.2", "price 3.2")]),
        [
            "12:7 [] a `=` is missing here (write `key = value`)"
        ] as [&str; 1]
    );
}

#[test]
fn leading_zero() {
    assert_eq!(
        said(&[("price = 3.2", "price = 03")]),
        [
            "12:9 [0] `0` is not a way to write a number (write it plainly, such as 45 or 4.5)"
        ] as [&str; 1]
    );
}

#[test]
fn decimal_comma() {
    assert_eq!(
        said(&[("price = 3.2", "price = 3,2")]),
        [
            "12:10 [] `3,2` has a comma in its number (write a point: `3.2`)"
        ] as [&str; 1]
    );
}

#[test]
fn bad_escape() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"C:\\q\"")]),
        [
            "3:13 [] a `\\` in a text must be followed by one of b e f n r t \" \\ x u U (write `\\\\` for the sign itself)"
        ] as [&str; 1]
    );
}

#[test]
fn two_syntax_mistakes() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = Base"), ("price = 3.2", "price = 03")]),
        [
            "3:9 [Base] `Base` is a text without quotes (write \"Base\")",
            "12:9 [0] `0` is not a way to write a number (write it plainly, such as 45 or 4.5)"
        ] as [&str; 2]
    );
}

#[test]
fn doubled_key() {
    assert_eq!(
        said(&[("price = 3.2", "price = 3.2\nprice = 3.3")]),
        [
            "13:1 [price] `price` stands twice in the same table, first on line 12 (take one of the two out)"
        ] as [&str; 1]
    );
}

#[test]
fn doubled_table() {
    assert_eq!(
        said(&[("[check]", "[vehicle]\nname = \"x\"\n\n[check]")]),
        [
            "78:2 [vehicle] `vehicle` stands twice in the same table, first on line 5 (take one of the two out)",
            "79:1 [name] `name` stands twice in the same table (take one of the two out)"
        ] as [&str; 2]
    );
}

#[test]
fn doubled_key_beside_another_mistake() {
    assert_eq!(
        said(&[("price = 3.2", "price = 3.2\nprice = 3.3"), ("width = 45", "widht = 45")]),
        [
            "10:13 [widht] `widht` is no key of a section (perhaps `width` was meant)",
            "13:1 [price] `price` stands twice in the same table, first on line 12 (take one of the two out)"
        ] as [&str; 2]
    );
}

#[test]
fn doubled_key_in_a_line() {
    assert_eq!(
        said(&[("width = 45", "width = 45, width = 46")]),
        [
            "10:25 [width] `width` stands twice in the same table, first on line 10 (take one of the two out)"
        ] as [&str; 1]
    );
}

#[test]
fn nul_byte() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"Ba\0se\"")]),
        [
            "3:12 [\0] the file has a NUL byte here (take it out: a design file is plain text)"
        ] as [&str; 1]
    );
}

#[test]
fn bare_carriage_return() {
    assert_eq!(
        said(&[("name = \"base\"\n", "name = \"base\"\r")]),
        [
            "2:15 [] a line ends with a bare carriage return (save the file with ordinary line ends)"
        ] as [&str; 1]
    );
}

#[test]
fn deep_nesting() {
    assert_eq!(
        said(&[("price = 3.2", "price = [[[[[[[[[[[[[[[[[[[[")]),
        [
            "12:25 [[] lists and tables are nested deeper than 16 here"
        ] as [&str; 1]
    );
}

#[test]
fn many_dots() {
    assert_eq!(
        said(&[("price = 3.2", "a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s = 1")]),
        [
            "12:34 [.] a key has more than 16 dotted parts here"
        ] as [&str; 1]
    );
}

#[test]
fn found_by_the_engine_in_a_member() {
    assert_eq!(
        said(&[("to = [3900, -600, 450]", "to = [99999999, -600, 450]")]),
        [
            "25:6 [[99999999, -600, 450]] 99999999 mm is not a place in a vehicle",
            "25:6 [[99999999, -600, 450]] `RL` is 99998099 mm long (give its two ends different places)"
        ] as [&str; 2]
    );
}

#[test]
fn found_by_the_engine_in_a_stock() {
    assert_eq!(
        said(&[("material = \"C16\"", "material = \"C17\"")]),
        [
            "11:12 [\"C17\"] no material is called `C17` (did you mean `C14`?)"
        ] as [&str; 1]
    );
}

#[test]
fn found_by_the_engine_in_a_setting() {
    assert_eq!(
        said(&[("service_class = 2", "person = \"2 t\"")]),
        [
            "79:10 [\"2 t\"] 2000 kg is not between 1 and 500 kg"
        ] as [&str; 1]
    );
}
