//! What is no sound TOML, and what only the engine sees.

use super::said;

#[test]
fn unclosed_quote() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"Base")]),
        ["3:14 [] the quotes of this text are not closed (end it with the quote it begins with)"] as [&str; 1]
    );
}

#[test]
fn unquoted_text() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = Base")]),
        ["3:9 [Base] `Base` is a text without quotes (write \"Base\")"] as [&str; 1]
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
        ["53:9 [] this table's heading is not closed (end it with `]`, or `]]` where it began with `[[`)"] as [&str; 1]
    );
}

#[test]
fn missing_comma() {
    assert_eq!(
        said(&[("from = [1900, -600, 450]", "from = [1900 -600, 450]")]),
        ["24:9 [1900 -600] `1900 -600` is more than one number (put a comma between two items)"] as [&str; 1]
    );
}

#[test]
fn no_value() {
    assert_eq!(
        said(&[("price = 3.2", "price =")]),
        ["12:8 [] there is no value after `=` (write `key = value`)"] as [&str; 1]
    );
}

#[test]
fn value_with_a_bare_unit() {
    assert_eq!(
        said(&[("width = 45", "width = 45 mm")]),
        ["10:21 [45 mm] `45 mm` is a text without quotes (write \"45 mm\")"] as [&str; 1]
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
        ["79:22 [] this list is not closed (end it with `]`)"] as [&str; 1]
    );
}

#[test]
fn no_equals() {
    assert_eq!(
        said(&[("price = 3.2", "price 3.2")]),
        ["12:7 [] a `=` is missing here (write `key = value`)"] as [&str; 1]
    );
}

#[test]
fn leading_zero() {
    assert_eq!(
        said(&[("price = 3.2", "price = 03")]),
        ["12:9 [0] `0` is not a way to write a number (write it plainly, such as 45 or 4.5)"] as [&str; 1]
    );
}

#[test]
fn decimal_comma() {
    assert_eq!(
        said(&[("price = 3.2", "price = 3,2")]),
        ["12:10 [] `3,2` has a comma in its number (write a point: `3.2`)"] as [&str; 1]
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
        ["13:1 [price] `price` stands twice in the same table, first on line 12 (take one of the two out)"]
            as [&str; 1]
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
        ["10:25 [width] `width` stands twice in the same table, first on line 10 (take one of the two out)"]
            as [&str; 1]
    );
}

#[test]
fn nul_byte() {
    assert_eq!(
        said(&[("title = \"Base\"", "title = \"Ba\0se\"")]),
        ["3:12 [\0] the file has a NUL byte here (take it out: a design file is plain text)"] as [&str; 1]
    );
}

#[test]
fn bare_carriage_return() {
    assert_eq!(
        said(&[("name = \"base\"\n", "name = \"base\"\r")]),
        ["2:15 [] a line ends with a bare carriage return (save the file with ordinary line ends)"] as [&str; 1]
    );
}

#[test]
fn deep_nesting() {
    assert_eq!(
        said(&[("price = 3.2", "price = [[[[[[[[[[[[[[[[[[[[")]),
        ["12:25 [[] lists and tables are nested deeper than 16 here"] as [&str; 1]
    );
}

#[test]
fn many_dots() {
    assert_eq!(
        said(&[("price = 3.2", "a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s = 1")]),
        ["12:34 [.] a key has more than 16 dotted parts here"] as [&str; 1]
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
        ["11:12 [\"C17\"] no material is called `C17` (did you mean `C14`?)"] as [&str; 1]
    );
}

#[test]
fn found_by_the_engine_in_a_setting() {
    assert_eq!(
        said(&[("service_class = 2", "person = \"2 t\"")]),
        ["79:10 [\"2 t\"] 2000 kg is not between 1 and 500 kg"] as [&str; 1]
    );
}
