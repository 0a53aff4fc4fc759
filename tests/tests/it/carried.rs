//! Remarks that survive change: what they say of their items from revision to revision, through the API.

#[path = "carried/ledger.rs"]
mod ledger;

use battenboard_proto::v1;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::rows::remarks_at_once;
use battenboard_tests::harness::{Actor, Bench, Crew, GROUP, on_both, refused};
use ledger::{Chance, Ledger};
use std::collections::{BTreeMap, BTreeSet};
use tonic::Code;

const LETTERS: [&str; 24] = [
    "A", "B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N", "P", "Q", "R", "S", "T", "U", "V", "W", "X", "Y",
    "Z",
];

/// The letter of the n-th revision, from 0.
fn letter(n: usize) -> String {
    if n < 24 { LETTERS[n].to_owned() } else { format!("{}{}", LETTERS[n / 24 - 1], LETTERS[n % 24]) }
}

fn request(design: &str, letter: &str, kind: v1::PlaceKind, tag: &str, at_mm: Option<f64>) -> v1::CreateRemarkRequest {
    v1::CreateRemarkRequest {
        group: GROUP.into(),
        design: design.into(),
        letter: letter.into(),
        place: Some(v1::Place { kind: kind.into(), tag: tag.into(), at_mm }),
        kind: v1::RemarkKind::Snag.into(),
        text: "springy".into(),
        request_id: String::new(),
        proof_load: None,
    }
}

/// All remarks of a design as of a letter and on a tag, by number.
async fn all(who: &Actor, design: &str, as_of: &str, tag: &str) -> BTreeMap<i64, v1::Remark> {
    let mut found = BTreeMap::new();
    let mut page_token = String::new();
    loop {
        let list = v1::ListRemarksRequest {
            group: GROUP.into(),
            design: design.into(),
            page_size: 200,
            page_token,
            as_of_letter: as_of.into(),
            tag: tag.into(),
            ..v1::ListRemarksRequest::default()
        };
        let page = who.remarks().list_remarks(list).await.unwrap().into_inner();
        found.extend(page.remarks.into_iter().map(|remark| (remark.number, remark)));
        page_token = page.next_page_token;
        if page_token.is_empty() {
            return found;
        }
    }
}

fn near(a: Option<f64>, b: Option<f64>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() < 1e-6,
        (None, None) => true,
        _ => false,
    }
}

/// A bearer under a tag of its own on each revision, always at one place.
fn under(name: &str, tag: &str) -> String {
    one_bearer(name, 800.0).replace("\"B1\"", &format!("\"{tag}\""))
}

#[test]
fn thirty_chance_edits_come_out_as_reckoned() {
    on_both("carried thirty edits", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        let mut edits: BTreeMap<&str, usize> = BTreeMap::new();
        let mut states: BTreeSet<i32> = BTreeSet::new();
        for seed in 1..=4 {
            let mut chance = Chance(77 * seed);
            let mut ledger = Ledger::new();
            let design = format!("rack-{seed}");
            let text = |ledger: &Ledger| ledger.text().replace("\"rack\"", &format!("\"{design}\""));
            ines.submits(GROUP, &design, &text(&ledger), "").await.unwrap();
            for record in &ledger.records {
                let remark = request(&design, "", record.kind, record.tag(), record.at_mm());
                okoro.remarks().create_remark(remark).await.unwrap();
            }
            let mut history: Vec<Vec<v1::Standing>> = Vec::new();
            for number in 0..=30 {
                if number > 0 {
                    let edit = (0..100).find_map(|_| ledger.edit(&mut chance, &letter(number))).unwrap();
                    *edits.entry(edit).or_default() += 1;
                    ines.submits(GROUP, &design, &text(&ledger), &letter(number - 1)).await.unwrap();
                }
                let expected =
                    |record: &ledger::Record| v1::Standing { as_of_letter: letter(number), ..record.expected.clone() };
                history.push(ledger.records.iter().map(expected).collect());
                let found = all(&okoro, &design, "", "").await;
                compare(&found, &history[number], &format!("seed {seed}, edit {number}"));
                states.extend(history[number].iter().map(|standing| standing.what));
            }
            // Each revision still says what it said when it was the latest.
            for (number, expected) in history.iter().enumerate().step_by(3) {
                let found = all(&okoro, &design, &letter(number), "").await;
                compare(&found, expected, &format!("seed {seed}, as of {}", letter(number)));
            }
            let tags: BTreeSet<&str> =
                ledger.records.iter().flat_map(|record| [record.on(), Some(record.tag())]).flatten().collect();
            for tag in tags.into_iter().filter(|tag| !tag.is_empty()) {
                let on = |(number, record): (usize, &ledger::Record)| {
                    (record.on() == Some(tag)).then_some(number as i64 + 1)
                };
                let wanted: Vec<i64> = ledger.records.iter().enumerate().filter_map(on).collect();
                let found: Vec<i64> = all(&okoro, &design, "", tag).await.into_keys().collect();
                assert_eq!(found, wanted, "seed {seed}, on {tag}");
            }
        }
        assert_eq!(edits.len(), 8, "every kind of edit was made: {edits:?}");
        assert_eq!(states.len(), 7, "every standing was met: {states:?}");
    });
}

fn compare(found: &BTreeMap<i64, v1::Remark>, expected: &[v1::Standing], place: &str) {
    assert_eq!(found.len(), expected.len(), "{place}");
    for (remark, expected) in found.values().zip(expected) {
        let mut standing = remark.standing.clone().unwrap();
        let said = format!("{place}, remark on {:?}", remark.place);
        assert!(near(standing.at_mm, expected.at_mm), "{said}: {standing:?} is not {expected:?}");
        standing.at_mm = expected.at_mm;
        assert_eq!(&standing, expected, "{said}");
    }
}

#[test]
fn a_remark_on_an_older_revision_is_carried_as_it_is_made() {
    on_both("carried older revision", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        for (number, tag) in ["B1", "B1", "K7", "Q2"].into_iter().enumerate() {
            let from = if number == 0 { String::new() } else { letter(number - 1) };
            let length = if number == 0 { 790.0 } else { 800.0 };
            let text = one_bearer("shelf", length).replace("\"B1\"", &format!("\"{tag}\""));
            ines.submits(GROUP, "shelf", &text, &from).await.unwrap();
        }
        let once = v1::CreateRemarkRequest {
            request_id: "r1".into(),
            ..request("shelf", "B", v1::PlaceKind::Member, "B1", Some(640.0))
        };
        let made = okoro.remarks().create_remark(once.clone()).await.unwrap().into_inner();
        assert_eq!(made.latest_letter, "D");
        let remark = made.remark.clone().unwrap();
        assert_eq!((remark.letter.as_str(), remark.place.as_ref().unwrap().tag.as_str()), ("B", "B1"));
        let standing = remark.standing.unwrap();
        assert_eq!((standing.what(), standing.tag.as_str()), (v1::StandingKind::Renamed, "Q2"));
        assert_eq!((standing.renamed_from.as_str(), standing.since_letter.as_str()), ("K7", "D"));
        assert!(near(standing.at_mm, Some(640.0)));
        let again = okoro.remarks().create_remark(once).await.unwrap().into_inner();
        assert_eq!(again, made, "a repeat gives the same again");
        // On each revision it says what it is called there, and on none before its own is it shown.
        assert!(all(&okoro, "shelf", "A", "").await.is_empty());
        let called = async |as_of: &str| all(&okoro, "shelf", as_of, "").await[&1].standing.clone().unwrap().tag;
        assert_eq!([called("B").await, called("C").await, called("D").await], ["B1", "K7", "Q2"]);
        let on = async |as_of: &str, tag: &str| all(&okoro, "shelf", as_of, tag).await.len();
        assert_eq!([on("", "Q2").await, on("", "B1").await, on("B", "B1").await, on("A", "B1").await], [1, 0, 1, 0]);
        // On the latest, nothing is newer.
        let latest = request("shelf", "", v1::PlaceKind::Whole, "", None);
        let latest = okoro.remarks().create_remark(latest).await.unwrap().into_inner();
        assert_eq!(latest.latest_letter, latest.remark.unwrap().letter);
        let no_such = v1::ListRemarksRequest {
            group: GROUP.into(),
            design: "shelf".into(),
            as_of_letter: "E".into(),
            ..v1::ListRemarksRequest::default()
        };
        refused(okoro.remarks().list_remarks(no_such.clone()).await, Code::NotFound);
        let no_tag = v1::ListRemarksRequest { as_of_letter: String::new(), tag: "x".repeat(200), ..no_such };
        refused(okoro.remarks().list_remarks(no_tag).await, Code::InvalidArgument);
    });
}

#[test]
fn a_remark_made_while_a_submit_runs_is_carried_exactly_once() {
    on_both("carried race", async |bench: &mut Bench| {
        const ROUNDS: usize = 8;
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        let tag = |number: usize| format!("T{number}");
        ines.submits(GROUP, "shelf", &under("shelf", &tag(0)), "").await.unwrap();
        let mut made: Vec<(usize, i64)> = Vec::new();
        for round in 0..ROUNDS {
            let mut tasks = tokio::task::JoinSet::new();
            for n in 0..6 {
                // On the revision that is the latest as the round begins, and on the first.
                let number = if n % 3 == 2 { 0 } else { round };
                let who = if n % 2 == 0 { okoro.clone() } else { maarit.clone() };
                let remark = request("shelf", &letter(number), v1::PlaceKind::Member, &tag(number), Some(100.0));
                tasks.spawn(async move {
                    tokio::time::sleep(std::time::Duration::from_millis(3 * n)).await;
                    let answer = who.remarks().create_remark(remark).await.unwrap().into_inner();
                    (number, answer.remark.unwrap().number)
                });
            }
            let text = under("shelf", &tag(round + 1));
            ines.submits(GROUP, "shelf", &text, &letter(round)).await.unwrap();
            made.extend(tasks.join_all().await);
        }
        // Each has gone through each step: on every revision from its own on it is on the tag of that.
        for number in 0..=ROUNDS {
            let found = all(&okoro, "shelf", &letter(number), "").await;
            let mut wanted: Vec<i64> = made.iter().filter(|(on, _)| *on <= number).map(|(_, remark)| *remark).collect();
            wanted.sort_unstable();
            assert_eq!(found.keys().copied().collect::<Vec<i64>>(), wanted);
            for (on, remark) in made.iter().filter(|(on, _)| *on <= number) {
                let standing = found[remark].standing.clone().unwrap();
                let (what, since) = match *on == number {
                    true => (v1::StandingKind::AsItWas, letter(*on)),
                    false => (v1::StandingKind::Renamed, letter(number)),
                };
                let place = format!("remark {remark} of {} on {}", letter(*on), letter(number));
                assert_eq!((standing.what(), &standing.tag), (what, &tag(number)), "{place}");
                assert_eq!((standing.since_letter, standing.at_mm), (since, Some(100.0)), "{place}");
            }
        }
    });
}

#[test]
fn another_group_sees_nothing_of_it() {
    on_both("carried hidden", async |bench: &mut Bench| {
        let Crew { ines, okoro, .. } = bench.saltmarsh().await;
        ines.submits(GROUP, "shelf", &under("shelf", "B1"), "").await.unwrap();
        okoro.remarks_on(GROUP, "shelf", "B1", "springy").await.unwrap();
        ines.submits(GROUP, "shelf", &under("shelf", "K7"), "A").await.unwrap();
        ines.founds("elsewhere").await.unwrap();
        let outsider = ines.lets_in("outsider", "elsewhere", v1::Right::Keeper).await.unwrap();
        for (as_of, tag) in [("", ""), ("A", ""), ("", "K7"), ("Z", "nothing")] {
            let list = v1::ListRemarksRequest {
                group: GROUP.into(),
                design: "shelf".into(),
                as_of_letter: as_of.into(),
                tag: tag.into(),
                ..v1::ListRemarksRequest::default()
            };
            refused(outsider.remarks().list_remarks(list).await, Code::NotFound);
        }
    });
}

/// Forty slats of one length under tags of one row.
fn slats(row: &str, first_mm: u32) -> String {
    let text = Ledger::new().text().replace("\"S*\"", &format!("\"{row}*\"")).replace("count = 4", "count = 40");
    text.replace("from = [300, 5000, 500]\nto = [300, 5400, 500]", &{
        format!("from = [{first_mm}, 5000, 500]\nto = [{first_mm}, 5400, 500]")
    })
}

/// What this process has in memory, MB.
fn resident_mb() -> f64 {
    let pages = std::fs::read_to_string("/proc/self/statm").unwrap_or_default();
    let pages: f64 = pages.split(' ').nth(1).and_then(|pages| pages.parse().ok()).unwrap_or(0.0);
    pages * 4096e-6
}

#[test]
fn ten_thousand_remarks_are_carried_in_bounded_memory_and_harm_nobody() {
    on_both("carried ten thousand", async |bench: &mut Bench| {
        const COUNT: usize = 10_000;
        let Crew { ines, okoro, maarit } = bench.saltmarsh().await;
        ines.submits(GROUP, "rack", &slats("S", 300), "").await.unwrap();
        maarit.submits(GROUP, "shelf", &under("shelf", "B1"), "").await.unwrap();
        maarit.remarks_on(GROUP, "shelf", "B1", "springy").await.unwrap();
        okoro.remarks_on(GROUP, "rack", "S1", "springy").await.unwrap();
        let tags: Vec<String> = (1..=40).map(|n| format!("S{n}")).collect();
        remarks_at_once(bench.database(), "rack", &tags, COUNT - 1).await;
        let before = resident_mb();
        let carrying = async {
            ines.submits(GROUP, "rack", &slats("K", 300), "A").await.unwrap();
            ines.submits(GROUP, "rack", &slats("K", 400), "B").await.unwrap();
        };
        // Another design of the group is read meanwhile; nobody waits for the ten thousand.
        let list = v1::ListRemarksRequest { group: GROUP.into(), design: "shelf".into(), ..Default::default() };
        let mut slowest = std::time::Duration::ZERO;
        let mut reads = 0;
        tokio::pin!(carrying);
        let mut reader = okoro.remarks();
        loop {
            let started = std::time::Instant::now();
            tokio::select! {
                () = &mut carrying => break,
                page = reader.list_remarks(list.clone()) => {
                    assert_eq!(page.unwrap().into_inner().remarks.len(), 1);
                    slowest = slowest.max(started.elapsed());
                    reads += 1;
                }
            }
        }
        let grown = resident_mb() - before;
        assert!(grown < 200.0, "carrying {COUNT} remarks took {grown:.0} MB");
        assert!(reads > 3 && slowest.as_secs_f64() < 2.0, "{reads} reads, the slowest {slowest:?}");
        // Renamed in B, and moved by a third of their distance in C.
        let all = all(&okoro, "rack", "", "").await;
        assert_eq!(all.len(), COUNT);
        for remark in all.values() {
            let (standing, placed) = (remark.standing.clone().unwrap(), remark.place.clone().unwrap());
            assert_eq!((standing.what(), standing.since_letter.as_str()), (v1::StandingKind::Moved, "C"));
            assert_eq!(standing.tag, placed.tag.replace('S', "K"));
        }
    });
}
