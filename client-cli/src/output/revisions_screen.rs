//! The revisions of a design, newest first: what each is like, what was said of it, and its cutting stamp.

use super::columns::{Side, table};
use super::remarks_screen::plain;
use super::sheet::Sheet;
use super::{cutting_screen, figures, review_screen, times, words};
use crate::cutting::Stamp;
use crate::review::Disposition;
use battenboard_engine::findings::Verdict;

/// A revision as the list shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its letter.
    pub letter: String,
    /// Its verdict; `None` before its check is done.
    pub verdict: Option<Verdict>,
    /// Greatest utilisation, and whose it is.
    pub worst: Option<(f64, String)>,
    /// Total mass, kg.
    pub mass_kg: Option<f64>,
    /// Who submitted it.
    pub author: String,
    /// When, microseconds of Unix time.
    pub came_us: i64,
    /// What its author said of it.
    pub note: String,
    /// Its stamp.
    pub stamp: Option<Stamp>,
    /// Who concluded what on it.
    pub concluded: Vec<(String, Disposition)>,
    /// True where the server keeps its figures from whoever asks.
    pub withheld: bool,
}

/// The list. `withheld`: what is said where the server keeps its figures from whoever asks.
pub fn revisions(name: &str, list: &[Line], withheld: &str, now: jiff::Timestamp, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    sheet.paragraph(&format!("Revisions of {name}, newest first"));
    let any_withheld = list.iter().any(|line| line.withheld);
    let rows: Vec<Vec<String>> = list.iter().map(|line| row(line, any_withheld, now)).collect();
    let mut heads = vec![("", Side::Left)];
    if !any_withheld {
        heads.extend([("verdict", Side::Left), ("worst of 1.00", Side::Left), ("kg", Side::Right)]);
    }
    heads.extend([("by", Side::Left), ("came", Side::Left), ("what was said", Side::Left)]);
    table(&mut sheet, &heads, &rows);
    for warning in list.iter().filter_map(|line| cutting_screen::warning(line.stamp.as_ref()?)) {
        sheet.paragraph(&warning);
    }
    if any_withheld {
        sheet.paragraph(withheld);
    }
    sheet
}

fn row(line: &Line, any_withheld: bool, now: jiff::Timestamp) -> Vec<String> {
    let mut row = vec![line.letter.clone()];
    if !any_withheld {
        let worst = |(value, tag): &(f64, String)| format!("{} {tag}", figures::utilisation(*value));
        row.push(line.verdict.map_or("being checked", words::verdict_word).to_owned());
        row.push(line.worst.as_ref().map_or_else(|| "-".to_owned(), worst));
        row.push(line.mass_kg.map_or_else(|| "-".to_owned(), |kg| format!("{kg:.1}")));
    }
    row.push(line.author.clone());
    row.push(times::ago(line.came_us, now));
    row.push(said(line));
    row
}

/// Its author's note, the reviewers' conclusions and the stamp.
fn said(line: &Line) -> String {
    let note = (!line.note.is_empty()).then(|| plain(&line.note));
    let concluded =
        line.concluded.iter().map(|(account, what)| format!("{account}: {}", review_screen::plainly(*what)));
    let stamp = line.stamp.as_ref().map(cutting_screen::stamp_word);
    note.into_iter().chain(concluded).chain(stamp).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::output::samples::assert_screen;

    fn lines() -> Vec<Line> {
        let line = |letter: &str, verdict, worst: f64| Line {
            letter: letter.into(),
            verdict: Some(verdict),
            worst: Some((worst, "B3".into())),
            mass_kg: Some(30.0 + worst),
            author: "okoro".into(),
            came_us: 1_790_000_000_000_000,
            note: "heavier bearers".into(),
            stamp: None,
            concluded: Vec::new(),
            withheld: false,
        };
        let stamp = Stamp {
            letter: "B".into(),
            issued_by: "ines".into(),
            issued_us: 1_790_000_000_000_000,
            override_reason: String::new(),
            overridden: Vec::new(),
            taken_back_us: None,
            taken_back_by: String::new(),
            take_back_reason: String::new(),
            superseded: false,
            falls_short_now: true,
        };
        let mut list =
            vec![line("C", Verdict::Holds, 0.7), line("B", Verdict::Near, 0.95), line("A", Verdict::FallsShort, 1.2)];
        list[1].stamp = Some(stamp);
        list[1].concluded = vec![("maarit".into(), Disposition::CutIt)];
        list[2].concluded = vec![("maarit".into(), Disposition::ChangeAndSendAgain)];
        list
    }

    #[test]
    fn a_stamped_revision_carries_its_warning() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let sheet = revisions("saltmarsh-wheels/curlew-platform", &lines(), "", now, 80);
        assert!(sheet.to_string().contains("STOP: B was issued for cutting and falls short"));
        assert_screen("revisions", &sheet);
    }

    #[test]
    fn without_the_servers_figures_there_is_no_column_of_figures() {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let mut list = lines();
        for line in &mut list {
            (line.withheld, line.verdict, line.worst, line.mass_kg) = (true, None, None, None);
        }
        list[1].stamp = None;
        let shown = revisions("saltmarsh-wheels/curlew-platform", &list, "Kept from you.", now, 80).to_string();
        assert!(shown.ends_with("Kept from you.\n"), "{shown}");
        assert!(!shown.contains("kg") && !shown.contains("being checked") && !shown.contains("1.00"), "{shown}");
    }
}
