//! Keys and single values.

use super::said;

#[test]
fn no_format() {
    assert_eq!(
        said(&[("format = 1\n", "")]),
        ["1:1 [] the file doesn't say its format (put `format = 1` on the first line)"] as [&str; 1]
    );
}

#[test]
fn other_format() {
    assert_eq!(
        said(&[("format = 1\n", "format = 2\n")]),
        ["1:10 [2] `format` is 1, here is `2` (this version of the program reads format 1)"] as [&str; 1]
    );
}

#[test]
fn format_in_quotes() {
    assert_eq!(
        said(&[("format = 1\n", "format = \"1\"\n")]),
        ["1:10 [\"1\"] `format` is 1, here is `\"1\"` (this version of the program reads format 1)"] as [&str; 1]
    );
}

#[test]
fn unknown_key() {
    assert_eq!(
        said(&[("width = 45", "widht = 45")]),
        ["10:13 [widht] `widht` is no key of a section (perhaps `width` was meant)"] as [&str; 1]
    );
}

#[test]
fn unknown_key_without_a_neighbour() {
    assert_eq!(
        said(&[("price = 3.2\n", "price = 3.2\ncolour = \"red\"\n")]),
        [
            "13:1 [colour] `colour` is no key of a stock (known here: name, section, material, grade, lengths, price, resawn)"
        ] as [&str; 1]
    );
}

#[test]
fn unknown_table() {
    assert_eq!(
        said(&[("[[decks]]", "[[deck]]")]),
        ["53:3 [deck] `deck` is no key of a design file (perhaps `decks` was meant)"] as [&str; 1]
    );
}

#[test]
fn missing_key() {
    assert_eq!(
        said(&[("stock = \"45x70\"\nfrom = [1900, -600, 450]", "from = [1900, -600, 450]")]),
        ["20:1 [[[members]]] a member needs `stock` (such as `stock = \"45x70\"`)"] as [&str; 1]
    );
}

#[test]
fn missing_name() {
    assert_eq!(
        said(&[("name = \"base\"\n", "")]),
        ["1:1 [] a design file needs `name` (such as `name = \"curlew-platform\"`)"] as [&str; 1]
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
        ["10:21 [\"45 MM\"] `width`: the unit in `45 MM` is not known (perhaps `mm` was meant)"] as [&str; 1]
    );
}

#[test]
fn bare_number_in_quotes() {
    assert_eq!(
        said(&[("width = 45", "width = \"45\"")]),
        ["10:21 [\"45\"] `width` is a number in quotes without a unit: \"45\" (take the quotes off, or write its unit)"]
            as [&str; 1]
    );
}

#[test]
fn decimal_comma_in_quotes() {
    assert_eq!(
        said(&[("width = 45", "width = \"4,5 cm\"")]),
        ["10:21 [\"4,5 cm\"] `width`: `4,5 cm` has a comma in its number (write a point: `4.5 cm`)"] as [&str; 1]
    );
}

#[test]
fn no_number() {
    assert_eq!(
        said(&[("width = 45", "width = true")]),
        ["10:21 [true] `width` is a length, here is `true` (a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\")"]
            as [&str; 1]
    );
}

#[test]
fn nan() {
    assert_eq!(
        said(&[("width = 45", "width = nan")]),
        ["10:21 [nan] `width` is a length, here is `nan` (write a number that can be measured)"] as [&str; 1]
    );
}

#[test]
fn infinite() {
    assert_eq!(
        said(&[("width = 45", "width = -inf")]),
        ["10:21 [-inf] `width` is a length, here is `-inf` (write a number that can be measured)"] as [&str; 1]
    );
}

#[test]
fn huge_float() {
    assert_eq!(
        said(&[("width = 45", "width = 1e400")]),
        ["10:21 [1e400] `width` is a length, here is `1e400` (write a number that can be measured)"] as [&str; 1]
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
        ["21:7 [5] `tag` is a text in quotes, here is `5` (write \"5\")"] as [&str; 1]
    );
}

#[test]
fn unprintable_text() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"Ba\\u0000se\"")]),
        ["3:9 [\"Ba\\u0000se\"] `title` has a character that can't be printed: \"Ba\\u{0}se\" (take it out)"]
            as [&str; 1]
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
        ["24:8 [[1900, -600]] `from` is three lengths [x, y, z], here are 2"] as [&str; 1]
    );
}

#[test]
fn no_point() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = 1900")]),
        ["24:8 [1900] `from` is three lengths [x, y, z], here is `1900`"] as [&str; 1]
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
        ["18:9 [\"stampt\"] `grade` can't be \"stampt\" (perhaps \"stamped\" was meant)"] as [&str; 1]
    );
}

#[test]
fn unknown_choice() {
    assert_eq!(
        said(&[("grade = \"stamped\"", "grade = \"good\"")]),
        ["18:9 [\"good\"] `grade` can't be \"good\" (one of stamped, measured, assumed)"] as [&str; 1]
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
