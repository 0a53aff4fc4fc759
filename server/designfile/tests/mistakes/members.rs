//! Stock, tags, rows and joints.

use super::said;

#[test]
fn doubled_stock() {
    assert_eq!(
        said(&[("name = \"38x63\"", "name = \"45x70\"")]),
        ["15:8 [\"45x70\"] the stock \"45x70\" stands twice, first on line 9 (give one of the two another name)"]
            as [&str; 1]
    );
}

#[test]
fn unknown_stock() {
    assert_eq!(
        said(&[("stock = \"38x63\"", "stock = \"38x64\"")]),
        ["37:9 [\"38x64\"] there is no stock named \"38x64\" (perhaps `38x63` was meant)"] as [&str; 1]
    );
}

#[test]
fn no_tag() {
    assert_eq!(
        said(&[("tag = \"RL\"", "tag = \"3 RL\"")]),
        ["21:7 [\"3 RL\"] `3 RL` is no tag (a tag is a letter, then letters, digits, `-`, `_` or `.`)"] as [&str; 1]
    );
}

#[test]
fn long_tag() {
    assert_eq!(
        said(&[("tag = \"RL\"", "tag = \"RailAtTheLeftSideOfTheVan\"")]),
        ["21:7 [\"RailAtTheLeftSideOfTheVan\"] `RailAtTheLeftSideOfTheVan` is no tag (a tag has at most 24 characters)"]
            as [&str; 1]
    );
}

#[test]
fn doubled_tag() {
    assert_eq!(
        said(&[("tag = \"RR\"", "tag = \"RL\"")]),
        ["28:7 [\"RL\"] the tag `RL` stands twice, first on line 21 (give one of the two another tag)"] as [&str; 1]
    );
}

#[test]
fn tag_within_a_row() {
    assert_eq!(
        said(&[("tag = \"RR\"", "tag = \"B2\"")]),
        ["35:7 [\"B*\"] the tag `B2` stands twice, first on line 28 (give one of the two another tag)"] as [&str; 1]
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
        ["34:1 [[[members]]] a member needs `count` (such as `count = 7`)"] as [&str; 1]
    );
}

#[test]
fn star_without_step() {
    assert_eq!(
        said(&[("step = [300, 0, 0]\n", "")]),
        ["34:1 [[[members]]] a member needs `step` (such as `step = [300, 0, 0]`)"] as [&str; 1]
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
        ["40:9 [0] `count` is a whole number from 1 to 10000, here is `0`"] as [&str; 1]
    );
}

#[test]
fn hostile_count() {
    assert_eq!(
        said(&[("count = 3", "count = 1000000")]),
        ["40:9 [1000000] `count` is a whole number from 1 to 10000, here is `1000000`"] as [&str; 1]
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
        ["40:9 [3.5] `count` is a whole number from 1 to 10000, here is `3.5`"] as [&str; 1]
    );
}

#[test]
fn row_with_long_numbers() {
    assert_eq!(
        said(&[("count = 3", "count = 3\nfirst = 1000000")]),
        ["41:9 [1000000] `first` is a whole number from 0 to 999999, here is `1000000`"] as [&str; 1]
    );
}

#[test]
fn unknown_member() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = [\"RL\", \"RX\"]")]),
        ["45:13 [\"RX\"] `RX` in `on` is no member (perhaps `RL` was meant)"] as [&str; 1]
    );
}

#[test]
fn pattern_of_none() {
    assert_eq!(
        said(&[("member = \"B*\"", "member = \"C*\"")]),
        ["44:10 [\"C*\"] `C*` in `member` fits no member: none has the tag `C` and a number (perhaps `B*` was meant)"]
            as [&str; 1]
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
        ["44:10 [\"*\"] `*` is no pattern (a pattern is the beginning of a tag and one `*` at its end, such as `B*`)"]
            as [&str; 1]
    );
}

#[test]
fn joint_with_itself() {
    assert_eq!(
        said(&[("member = \"B*\"\non = [\"RL\", \"RR\"]", "member = \"RL\"\non = \"RL\"")]),
        ["45:6 [\"RL\"] `member` and `on` are both `RL`: a member is not joined to itself"] as [&str; 1]
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
        ["46:8 [\"in oder\"] `pair` can't be \"in oder\" (perhaps \"in order\" was meant)"] as [&str; 1]
    );
}

#[test]
fn empty_list() {
    assert_eq!(
        said(&[("on = [\"RL\", \"RR\"]", "on = []")]),
        ["45:6 [[]] `on` is an empty list (name at least one member)"] as [&str; 1]
    );
}
