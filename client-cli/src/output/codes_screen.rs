//! Recovery codes, shown once to be written down.

use super::sheet::Sheet;

/// The codes in two columns, with what they are for.
pub fn show(sheet: &mut Sheet, codes: &[String], name: &str) {
    if codes.is_empty() {
        return;
    }
    sheet.blank();
    sheet.paragraph(
        "If you ever forget the password, one of these codes lets you set a new one. Write them on paper now: they are \
         not shown again.",
    );
    for pair in codes.chunks(2) {
        sheet.line(format!("    {}", pair.join("    ")));
    }
    sheet.hanging("Each is good once, with: ", &format!("batten account recover {name}"));
    sheet.blank();
}

/// How many codes are left, and what to do when they run out.
pub fn left(count: i32) -> String {
    match count {
        0 => "No recovery code is left. Ten fresh ones: batten account codes".into(),
        1 => "One recovery code is left. Ten fresh ones: batten account codes".into(),
        2..=3 => format!("{count} recovery codes are left. Ten fresh ones: batten account codes"),
        _ => format!("{count} recovery codes are left."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_codes_fit_a_screen_with_what_they_are_for() {
        let codes: Vec<String> = (0..10).map(|n| format!("abcde-fghij-kmnpq-rstu{n}")).collect();
        let mut sheet = Sheet::new(80);
        show(&mut sheet, &codes, "ines");
        assert!(sheet.len() <= 12 && sheet.lines().iter().all(|line| line.chars().count() <= 80), "{sheet}");
        assert!(codes.iter().all(|code| sheet.to_string().contains(code.as_str())), "{sheet}");
        assert!(left(0).contains("batten account codes") && !left(10).contains("account codes"));
    }
}
