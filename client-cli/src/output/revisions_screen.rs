//! The revisions of a design, newest first: what each is like, what was said of it, and its cutting stamp.

use super::columns::{Side, table_with_notes};
use super::remarks_screen::plain;
use super::sheet::Sheet;
use super::{cutting_screen, figures, review_screen, times, words};
use crate::cutting::Stamp;
use crate::review::Disposition;
use battenboard_engine::findings::{LoadState, Verdict};
use jiff::tz::TimeZone;

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
    /// Axle loads, where they are known.
    pub axles: Option<Axles>,
    /// Who submitted it.
    pub author: String,
    /// When, microseconds of Unix time.
    pub came_us: i64,
    /// What its author said of it.
    pub note: String,
    /// That its vehicle was surveyed anew since it was drawn; `None`: it was not.
    pub outdated: Option<String>,
    /// Its stamp.
    pub stamp: Option<Stamp>,
    /// Who concluded what on it.
    pub concluded: Vec<(String, Disposition)>,
    /// True where the server keeps its figures from whoever asks.
    pub withheld: bool,
}

/// Loads of the front and the rear axle in one load state, and what these may carry; kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axles {
    /// What is aboard.
    pub state: LoadState,
    /// What they carry.
    pub loads_kg: [f64; 2],
    /// What they may carry, where that is known.
    pub limits_kg: [Option<f64>; 2],
}

/// What stands over the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// The design.
    pub name: String,
    /// What it was drawn after.
    pub drawn_after: Option<String>,
    /// What is said where the server keeps its figures from whoever asks.
    pub withheld: &'static str,
}

/// The list: figures in one line each, and below it what was said.
pub fn revisions(heading: &Heading, list: &[Line], zone: &TimeZone, width: usize) -> Sheet {
    let mut sheet = Sheet::new(width);
    let after = heading.drawn_after.as_ref().map(|source| format!("; drawn after {source}"));
    sheet.paragraph(&format!("Revisions of {}, newest first{}", heading.name, after.unwrap_or_default()));
    for warning in list.iter().filter_map(|line| cutting_screen::warning(line.stamp.as_ref()?)) {
        sheet.paragraph(&warning);
    }
    let columns = Columns {
        figures: !list.iter().any(|line| line.withheld),
        axles: list.iter().any(|line| line.axles.is_some()),
    };
    let rows: Vec<Vec<String>> = list.iter().map(|line| columns.row(line)).collect();
    let said: Vec<String> = list.iter().map(|line| said(line, zone)).collect();
    table_with_notes(&mut sheet, &columns.heads(), &rows, &said);
    if columns.axles {
        sheet.paragraph(&axle_sentence(list));
    }
    for line in list {
        if let Some(over) = line.axles.as_ref().and_then(over) {
            sheet.paragraph(&format!("{} is too heavy: {over}.", line.letter));
        }
    }
    if !columns.figures {
        sheet.paragraph(heading.withheld);
    }
    sheet
}

/// Which columns the list has.
struct Columns {
    figures: bool,
    axles: bool,
}

impl Columns {
    fn heads(&self) -> Vec<(&'static str, Side)> {
        let mut heads = vec![("", Side::Left), ("verdict", Side::Left)];
        if self.figures {
            heads.extend([("worst of 1.00", Side::Left), ("kg", Side::Right)]);
        }
        if self.axles {
            heads.push(("on axles", Side::Right));
        }
        heads
    }

    fn row(&self, line: &Line) -> Vec<String> {
        let dash = || "-".to_owned();
        let unknown = if line.withheld { words::WITHHELD } else { "being checked" };
        let mut row = vec![line.letter.clone(), line.verdict.map_or(unknown, words::verdict_word).to_owned()];
        if self.figures {
            let worst = |(value, tag): &(f64, String)| format!("{} {tag}", figures::utilisation(*value));
            row.push(line.worst.as_ref().map_or_else(dash, worst));
            row.push(line.mass_kg.map_or_else(dash, |kg| format!("{kg:.1}")));
        }
        if self.axles {
            let loads = |axles: Axles| format!("{:.0} + {:.0}", axles.loads_kg[0], axles.loads_kg[1]);
            row.push(line.axles.map_or_else(dash, loads));
        }
        row
    }
}

/// What the column of axle loads means, and what the axles may carry: as the newest says, where that changed.
fn axle_sentence(list: &[Line]) -> String {
    let known: Vec<(&str, Axles)> = list.iter().filter_map(|line| Some((line.letter.as_str(), line.axles?))).collect();
    let Some((letter, newest)) = known.first() else { return String::new() };
    let aboard = if known.iter().all(|(_, axles)| axles.state == newest.state) {
        state_words(newest.state)
    } else {
        "each with what is aboard when least is left to a limit"
    };
    let limit = |name: &str, limit: Option<f64>| limit.map(|kg| format!("{} on the {name}", figures::kilograms(kg)));
    let limits: Vec<String> =
        [limit("front", newest.limits_kg[0]), limit("rear", newest.limits_kg[1])].into_iter().flatten().collect();
    let of = if known.iter().all(|(_, axles)| axles.limits_kg == newest.limits_kg) {
        String::new()
    } else {
        format!("in {letter} ")
    };
    let may = if limits.is_empty() {
        format!("{of}their limits are not known")
    } else {
        format!("{of}at most {}", limits.join(", "))
    };
    format!("On axles: kilograms on the front + the rear, {aboard}; {may}.")
}

fn state_words(state: LoadState) -> &'static str {
    match state {
        LoadState::Empty => "without gear and people",
        LoadState::Touring => "with gear and people aboard",
    }
}

/// Which axle carries more than it may.
fn over(axles: &Axles) -> Option<String> {
    let names = ["front", "rear"];
    let too_much = |index: &usize| axles.limits_kg[*index].is_some_and(|limit| axles.loads_kg[*index] > limit);
    let said = |index: usize| {
        let limit = axles.limits_kg[index].unwrap_or_default();
        let (is, may) = figures::kilograms_to_limit(axles.loads_kg[index], limit);
        format!("{is} on its {} axle, {may} at most", names[index])
    };
    let list: Vec<String> = (0..2).filter(too_much).map(said).collect();
    (!list.is_empty()).then(|| list.join("; "))
}

/// Who brought it and when, his note, the reviewers' conclusions and the stamp.
fn said(line: &Line, zone: &TimeZone) -> String {
    let came = format!("{}, {}", line.author, times::day(line.came_us, zone));
    let came = if line.note.is_empty() { came } else { format!("{came}: {}", plain(&line.note)) };
    let concluded =
        line.concluded.iter().map(|(account, what)| format!("{account}: {}", review_screen::plainly(*what)));
    let stamp = line.stamp.as_ref().map(cutting_screen::stamp_word);
    let all = std::iter::once(came).chain(concluded).chain(stamp).chain(line.outdated.clone());
    all.collect::<Vec<_>>().join("; ")
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
            axles: None,
            author: "okoro".into(),
            came_us: 1_790_000_000_000_000,
            note: "heavier bearers".into(),
            outdated: None,
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
        list[2].outdated = Some("drawn on survey 2; survey 3 of 2026-11-25 is newer".into());
        list[1].concluded = vec![("maarit".into(), Disposition::CutIt)];
        list[2].concluded = vec![("maarit".into(), Disposition::ChangeAndSendAgain)];
        list
    }

    fn heading(drawn_after: Option<&str>) -> Heading {
        let name = "curlew-platform (saltmarsh-wheels)".into();
        Heading { name, drawn_after: drawn_after.map(String::from), withheld: "Kept from you." }
    }

    #[test]
    fn a_stamped_revision_carries_its_warning() {
        let sheet = revisions(&heading(None), &lines(), &TimeZone::UTC, 80);
        assert!(sheet.to_string().contains("STOP: B was issued for cutting and falls short"));
        assert_screen("revisions", &sheet);
    }

    #[test]
    fn axle_loads_stand_beside_what_the_axles_may_carry() {
        let mut list = lines();
        let axles = |rear_kg: f64| Axles {
            state: LoadState::Touring,
            loads_kg: [1684.2, rear_kg],
            limits_kg: [Some(1850.0), Some(2100.0)],
        };
        // A was checked by an older release, which kept none.
        (list[0].axles, list[1].axles) = (Some(axles(2100.2)), Some(axles(2054.6)));
        list[0].author = "somebody-of-a-long-name".into();
        list[0].came_us -= 40 * 60 * 1_000_000;
        let sheet = revisions(&heading(Some("dunlin-settle C")), &list, &TimeZone::UTC, 80);
        assert!(sheet.lines().iter().all(|line| line.chars().count() <= 80), "{sheet}");
        assert_screen("revisions_axles", &sheet);
        // Where neither stays the same from one revision to the next, the sentence says so.
        list[1].axles = Some(Axles { state: LoadState::Empty, limits_kg: [None, None], ..axles(1500.0) });
        let sheet = revisions(&heading(None), &list, &TimeZone::UTC, 80).to_string().replace('\n', " ");
        assert!(
            sheet.contains("each with what is aboard when least is left to a limit; in C at most 1850 kg"),
            "{sheet}"
        );
    }

    #[test]
    fn without_the_servers_figures_there_is_no_column_of_figures() {
        let mut list = lines();
        for line in &mut list {
            (line.withheld, line.verdict, line.worst, line.mass_kg) = (true, None, None, None);
        }
        list[1].stamp = None;
        let shown = revisions(&heading(None), &list, &TimeZone::UTC, 80).to_string();
        assert!(shown.ends_with("Kept from you.\n"), "{shown}");
        assert_eq!(shown.matches("withheld").count(), 3, "{shown}");
        assert!(!shown.contains("kg") && !shown.contains("being checked") && !shown.contains("1.00"), "{shown}");
    }
}
