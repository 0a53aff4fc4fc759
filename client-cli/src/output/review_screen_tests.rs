#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]

use super::*;
use crate::output::samples::assert_screen;
use crate::review::{Look, MemberDisposition};

const NOW_US: i64 = 1_790_000_000_000_000;

fn look(account: &str, kind: LookKind) -> Look {
    Look {
        account: account.into(),
        kind,
        at_us: NOW_US,
        own_utilisation: None,
        own_sag_mm: None,
        note: String::new(),
        server_utilisation: None,
    }
}

fn item(kind: &'static str, tag: &str, looks: Vec<Look>) -> Item {
    Item { kind, tag: tag.into(), looks, looked_before: None }
}

pub fn sample() -> Review {
    let own = Look {
        own_utilisation: Some(0.65),
        own_sag_mm: Some(4.0),
        server_utilisation: Some(0.71),
        note: "by the table of my old book".into(),
        ..look("maarit", LookKind::OwnSums)
    };
    let conclusion = |disposition, superseded| Conclusion {
        account: "maarit".into(),
        at_us: NOW_US,
        disposition,
        note: "Sound.\nMind the knots.".into(),
        members: vec![MemberDisposition {
            tag: "B3".into(),
            disposition: Disposition::CutItWithChanges,
            note: "heart side up".into(),
        }],
        from_outside: true,
        superseded,
    };
    let mut nobody: Vec<Item> = (1..=12).map(|n| item("joint", &format!("RL/B{n}"), Vec::new())).collect();
    nobody.insert(0, item("member", "P2", Vec::new()));
    nobody[0].looked_before = Some("A".into());
    Review {
        letter: "B".into(),
        conclusions: vec![conclusion(Disposition::CutIt, false), conclusion(Disposition::ChangeAndSendAgain, true)],
        looked_at: vec![
            item("member", "B3", vec![own, look("okoro", LookKind::LookedAtOnly)]),
            item("member", "B4", vec![look("okoro", LookKind::ServersSums)]),
        ],
        nobody,
        own_sums: vec![OwnSums {
            account: "maarit".into(),
            begun_us: NOW_US,
            ended_us: Some(NOW_US),
            figures_in: true,
            reason: String::new(),
        }],
        open_snags: 1,
        open_others: 0,
        figures_withheld: false,
    }
}

#[test]
fn the_first_page_begins_with_what_nobody_looked_at() {
    let sheet = review("curlew-platform", &sample(), None, None, &TimeZone::UTC, 80);
    assert!(sheet.lines()[0].contains("nobody looked at 13 of 15"), "{sheet}");
    assert_screen("review", &sheet);
}

#[test]
fn without_the_servers_figures_it_says_so_and_shows_none() {
    let mut kept = sample();
    kept.figures_withheld = true;
    kept.looked_at[0].looks[0].server_utilisation = None;
    kept.own_sums[0].ended_us = None;
    let said = "You make sums of your own on this design; the server keeps its figures from you.";
    let shown = review("curlew-platform", &kept, None, Some(said), &TimeZone::UTC, 80).to_string();
    assert!(shown.contains("sums of your own") && shown.contains("0.65") && !shown.contains("0.71"), "{shown}");
}
