//! What stands in the way of cutting: a pure function of what is known of a revision.

use crate::app::reviews::Disposition;
use battenboard_engine::findings::{Check, CheckKind, Findings, Verdict};

/// Rounding that is no rise of a utilisation.
const SAME: f64 = 1e-6;

/// What kind of thing stands in the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ObstacleKind {
    /// The check is not done.
    CheckNotDone,
    /// Something is still to be measured.
    ToBeMeasured,
    /// A part cannot be computed.
    Fault,
    /// A check falls short, and no concession covers it.
    FallsShort,
    /// A snag is not cleared.
    SnagOpen,
    /// A reviewer said: change it, or don't build it.
    Disposition,
}

impl ObstacleKind {
    /// Its word on the wire.
    pub fn word(self) -> &'static str {
        match self {
            Self::CheckNotDone => "CHECK_NOT_DONE",
            Self::ToBeMeasured => "TO_BE_MEASURED",
            Self::Fault => "FAULT",
            Self::FallsShort => "FALLS_SHORT",
            Self::SnagOpen => "SNAG_OPEN",
            Self::Disposition => "DISPOSITION",
        }
    }

    /// True where a keeper's reason goes over it.
    pub fn can_be_overridden(self) -> bool {
        !matches!(self, Self::CheckNotDone | Self::ToBeMeasured)
    }
}

/// Something that stands in the way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Obstacle {
    /// What kind of thing.
    pub kind: ObstacleKind,
    /// Of what: a tag, a remark's number, an account; empty: the whole.
    pub subject: String,
    /// In words.
    pub said: String,
}

/// A finding that was accepted up to a utilisation.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted {
    /// Member or deck.
    pub tag: String,
    /// What of it.
    pub kind: CheckKind,
    /// Up to here.
    pub utilisation: f64,
}

impl Accepted {
    /// True where the concession covers a check as it is found now.
    pub fn covers(&self, check: &Check) -> bool {
        self.tag == check.tag && self.kind == check.kind && check.utilisation <= self.utilisation + SAME
    }
}

/// What is known of a revision that is to be cut.
#[derive(Default)]
pub struct Known<'a> {
    /// Its findings, once there are any.
    pub findings: Option<&'a Findings>,
    /// Findings that were accepted.
    pub accepted: Vec<Accepted>,
    /// What is still to be measured: tag (empty: the whole) and what.
    pub to_be_measured: Vec<(String, String)>,
    /// Numbers of snags that are not cleared, and on what.
    pub snags: Vec<(i64, String)>,
    /// The latest dispositions: account, tag (empty: the whole), what.
    pub dispositions: Vec<(String, String, Disposition)>,
    /// True where figures are kept from the caller.
    pub without_figures: bool,
}

/// What is said of an obstacle without the figure at its end, if there is one.
pub(super) fn without_figure(said: &str) -> &str {
    match said.rsplit_once(": ") {
        Some((short, figure)) if figure.ends_with(" %") => short,
        _ => said,
    }
}

/// What stands in the way of cutting, the worst kind first.
pub fn obstacles(known: &Known<'_>) -> Vec<Obstacle> {
    let obstacle = |kind, subject: &str, said: String| Obstacle { kind, subject: subject.to_owned(), said };
    let mut list = Vec::new();
    if known.findings.is_none() {
        list.push(obstacle(ObstacleKind::CheckNotDone, "", "its check is not done yet".into()));
    }
    for (tag, what) in &known.to_be_measured {
        let on = if tag.is_empty() { String::new() } else { format!("{tag}: ") };
        list.push(obstacle(ObstacleKind::ToBeMeasured, tag, format!("{on}{what} is still to be measured")));
    }
    for fault in known.findings.iter().flat_map(|findings| &findings.faults) {
        let tags = fault.tags();
        let said = format!("a part cannot be computed: {}", tags.join(", "));
        list.push(obstacle(ObstacleKind::Fault, tags.first().map_or("", String::as_str), said));
    }
    let short = known.findings.iter().flat_map(|findings| &findings.checks);
    let short = short.filter(|check| check.verdict == Verdict::FallsShort);
    for check in short.filter(|check| !known.accepted.iter().any(|accepted| accepted.covers(check))) {
        let word = super::check_word(check.kind).replace('_', " ");
        let said = if known.without_figures {
            format!("{} falls short in {word}", check.tag)
        } else {
            format!("{} falls short in {word}: {:.0} %", check.tag, check.utilisation * 100.0)
        };
        list.push(obstacle(ObstacleKind::FallsShort, &check.tag, said));
    }
    for (number, on) in &known.snags {
        let said = format!("snag {number} on {on} is not cleared");
        list.push(obstacle(ObstacleKind::SnagOpen, &number.to_string(), said));
    }
    for (account, tag, disposition) in &known.dispositions {
        if *disposition < Disposition::ChangeAndSendAgain {
            continue;
        }
        let of = if tag.is_empty() { String::new() } else { format!(" of {tag}") };
        let said = format!("{account} says{of}: {}", disposition.plain());
        list.push(obstacle(ObstacleKind::Disposition, account, said));
    }
    list
}

#[cfg(test)]
mod tests {
    use super::without_figure;

    #[test]
    fn the_figure_goes_and_the_rest_stays() {
        assert_eq!(without_figure("B1 falls short in bending: 123 %"), "B1 falls short in bending");
        for other in ["B1 falls short in bending", "a part cannot be computed: B1, B2", "okoro says: don't build this"]
        {
            assert_eq!(without_figure(other), other);
        }
    }
}
