//! Holds, anchors, decks, people, gear, loads, settings.

use super::said;

#[test]
fn unknown_hold() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = \"welded\"")]),
        ["51:8 [\"welded\"] `hold` can't be \"welded\" (one of rigid, pinned, seated)"] as [&str; 1]
    );
}

#[test]
fn unknown_direction() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = { turn = \"rigid\" }")]),
        ["51:10 [turn] `turn` is no key of a hold (known here: x, y, z, turn_x, turn_y, turn_z)"] as [&str; 1]
    );
}

#[test]
fn unknown_grip() {
    assert_eq!(
        said(&[("hold = \"pinned\"", "hold = { x = \"fixed\" }")]),
        ["51:14 [\"fixed\"] `x` can't be \"fixed\" (one of rigid, free)"] as [&str; 1]
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
        ["49:6 [\"middle\"] `at` can't be \"middle\" (one of start, end, both)"] as [&str; 1]
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
        ["54:7 [\"RL\"] the tag `RL` stands twice, first on line 21 (give one of the two another tag)"] as [&str; 1]
    );
}

#[test]
fn deck_names_a_member_twice() {
    assert_eq!(
        said(&[("carried_by = \"B*\"", "carried_by = [\"B*\", \"B2\"]")]),
        ["56:21 [\"B2\"] `B2` is named twice in `carried_by` (name it once)"] as [&str; 1]
    );
}

#[test]
fn unknown_deck() {
    assert_eq!(
        said(&[("deck = \"D1\"", "deck = \"D2\"")]),
        ["61:8 [\"D2\"] `D2` in `deck` is no deck (perhaps `D1` was meant)"] as [&str; 1]
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
        ["69:6 [\"D\"] `D` in `on` is no deck and no member (perhaps `D1` was meant)"] as [&str; 1]
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
        ["77:8 [3] a load is one thing: here are `force` and `mass` (write two entries with the same `case`)"]
            as [&str; 1]
    );
}

#[test]
fn key_of_another_kind_of_load() {
    assert_eq!(
        said(&[("force = [0, 0, -250]", "force = [0, 0, -250]\nfrom = 3")]),
        ["77:8 [3] `from` does not go with `force` (take it out)"] as [&str; 1]
    );
}

#[test]
fn pattern_where_one_tag_is_taken() {
    assert_eq!(
        said(&[("member = \"RL\"\nat = 900", "member = \"B*\"\nat = 900")]),
        ["74:10 [\"B*\"] `member` takes one tag, here is the pattern `B*` (name one member)"] as [&str; 1]
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
        ["79:17 [4] `service_class` is a whole number from 1 to 3, here is `4`"] as [&str; 1]
    );
}
