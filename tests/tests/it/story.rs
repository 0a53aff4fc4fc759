//! A second opinion from the first doubt to the saw, by three people at three shells, each with the real command: a keeper,
//! a builder, and a reviewer of another build group. Their screens are kept as named snapshots.

use super::command::Desk;
use super::tour::without_times;
use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Database, DatabaseKind, ServerProcess};
use serde_json::Value;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

const PASSWORD: [&str; 2] = ["--password-file", "password"];
/// The keeper is in two groups and has no design file: she says which she means.
const SHELF: [&str; 4] = ["--group", "saltmarsh-wheels", "--design", "shelf"];

/// Three shells, and words that differ from run to run.
struct Story<'a> {
    ines: Desk<'a>,
    okoro: Desk<'a>,
    maarit: Desk<'a>,
    changing: Vec<(String, &'static str)>,
}

impl<'a> Story<'a> {
    fn of(folder: &'a Path, server: &ServerProcess) -> Self {
        let desk = |name| Desk { folder, name };
        let [ines, okoro, maarit] = ["ines", "okoro", "maarit"].map(desk);
        for desk in [&ines, &okoro, &maarit] {
            desk.writes("password", "seven planks of larch\n");
        }
        let changing = vec![(server.address_with_scheme(), "http://SERVER"), (server.address().to_owned(), "SERVER")];
        Self { ines, okoro, maarit, changing }
    }

    /// Runs a command line, keeps its screen under a name, and gives it.
    #[track_caller]
    fn keeps(&self, name: &str, desk: &Desk<'_>, exit: i32, arguments: &[&str]) -> String {
        let said = desk.ends_with(exit, arguments);
        let widest = said.lines().map(|line| line.chars().count()).max().unwrap_or_default();
        assert!(widest <= 80, "{name}: {widest} columns\n{said}");
        // Whether a check was quick enough to be answered at once is the machine's affair.
        let lines: String =
            said.lines().filter(|line| !line.ends_with(" is checked")).map(|l| format!("{l}\n")).collect();
        let mut shown = format!("{}$ batten {}\n{lines}", desk.name, arguments.join(" "));
        for (text, word) in &self.changing {
            shown = shown.replace(text.as_str(), word);
        }
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(name, without_times(&shown));
        });
        said
    }

    fn json(desk: &Desk<'_>, exit: i32, arguments: &[&str]) -> Value {
        let arguments = [arguments, &["--json"]].concat();
        serde_json::from_str(&desk.ends_with(exit, &arguments)).unwrap()
    }
}

/// A day of the calendar so many days from now, as `batten ask --by` takes it.
fn in_days(days: u64) -> String {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_secs();
    // Days since 1970 to year, month and day; the civil calendar in eras of 400 years.
    let day = i64::try_from(now / 86_400 + days).unwrap() + 719_468;
    let (era, of_era) = (day / 146_097, day % 146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * of_year + 2) / 153;
    let day_of_month = of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 { month_from_march + 3 } else { month_from_march - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day_of_month:02}")
}

#[test]
fn a_second_opinion_from_doubt_to_saw() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let mut story = Story::of(folder.path(), &server);
    everybody_is_there(&story, &server.address_with_scheme());
    asked_and_taken_up(&mut story);
    own_sums_first(&story);
    an_opinion(&story);
    mended(&story);
    cut(&story);
    months_later(&story);
}

fn everybody_is_there(story: &Story<'_>, address: &str) {
    let Story { ines, okoro, maarit, .. } = story;
    let sign_up = |name| [&["sign-up", name, "--server", address][..], &PASSWORD].concat();
    ines.ends_with(0, &sign_up("ines"));
    for group in ["saltmarsh-wheels", "other-yard"] {
        ines.ends_with(0, &["found-group", group]);
    }
    for (desk, group, right) in [(okoro, "saltmarsh-wheels", "builder"), (maarit, "other-yard", "reviewer")] {
        let code = Story::json(ines, 0, &["let-in", "--as", right, "--group", group]);
        let code = ["--code", code["code"].as_str().unwrap()];
        desk.ends_with(0, &[&sign_up(desk.name)[..], &code].concat());
    }
}

fn asked_and_taken_up(story: &mut Story<'_>) {
    story.okoro.writes("frame.toml", &one_bearer("shelf", 800.0));
    story.okoro.ends_with(0, &["submit", "--note", "first drawing"]);
    let day = in_days(20);
    let wish = ["ask", "is 45 wide enough for a shelf of books?", "--kind", "shelf", "--skill", "joinery", "--by"];
    let notice = Story::json(&story.okoro, 0, &[&wish[..], &[&day, "--reviewers", "2"]].concat());
    let code = notice["code"].as_str().unwrap().to_owned();
    story.changing.push((code.clone(), "NOTICE"));
    // Who hung it by a day that is no day is told so before anything is sent.
    story.okoro.ends_with(3, &["ask", "?", "--kind", "shelf", "--by", "soon"]);

    let maarit = &story.maarit;
    story.keeps("story_01_notices", maarit, 0, &["notices", "--skill", "joinery"]);
    assert!(maarit.ends_with(0, &["notices", "--kind", "berth platform"]).contains("No notice hangs"));
    // Hung, but not shown: the design is its group's until she takes the notice up.
    maarit.ends_with(3, &[&["review"][..], &SHELF].concat());
    story.keeps("story_02_take_up", maarit, 0, &["take-up", &code]);
    maarit.ends_with(0, &[&["fetch-file", "A", "--to", "frame.toml"][..], &SHELF].concat());
    story.okoro.ends_with(5, &["show-to", "noticeboard"]);
    story.ines.ends_with(0, &[&["show-to", "noticeboard"][..], &SHELF].concat());
    let ours = ["notices", "--ours", "--group", "saltmarsh-wheels"];
    story.keeps("story_03_notices_ours", &story.ines, 0, &ours);
}

fn own_sums_first(story: &Story<'_>) {
    let maarit = &story.maarit;
    maarit.ends_with(0, &["check"]);
    maarit.ends_with(0, &["own-sums", "begin"]);
    // No way out shows a figure or a verdict; each says why.
    let ways: [(i32, &[&str]); 8] = [
        (2, &[]),
        (2, &["check"]),
        (2, &["check", "--table"]),
        (2, &["why", "B1"]),
        (2, &["try", "B1", "45x95"]),
        (0, &["revisions"]),
        (0, &["compare", "A", "A"]),
        (0, &["review"]),
    ];
    for (exit, way) in ways {
        let said = maarit.ends_with(exit, way).replace('\n', " ");
        assert!(said.contains("You make sums of your own on this design"), "batten {way:?}\n{said}");
        for figure in ["holds", "Holds", "takes", " kg", "of 1.00"] {
            assert!(!said.contains(figure), "batten {way:?} says `{figure}`\n{said}");
        }
        let json = Story::json(maarit, exit, way);
        let text = json.to_string();
        assert!(text.contains("\"figures_withheld\":true"), "batten {way:?} --json\n{text}");
        assert!(!text.contains("\"holds\"") && !text.contains("utilisation\":0"), "batten {way:?} --json\n{text}");
    }
    story.keeps("story_04_bare_with_own_sums", maarit, 2, &[]);
    // Without figures of her own the server's are opened on purpose only, with a reason.
    maarit.ends_with(3, &["own-sums", "end"]);
    let own = ["looked-at", "B1", "--how", "own", "--own-utilisation", "12%", "--own-sag", "0.4mm"];
    story.keeps("story_05_own_figures", maarit, 0, &own);
    story.keeps("story_06_own_sums_end", maarit, 0, &["own-sums", "end"]);
    maarit.ends_with(0, &["check"]);
    let revisions = Story::json(maarit, 0, &["revisions"]);
    assert_eq!((&revisions["revisions"][0]["verdict"], &revisions["said"]), (&Value::from("holds"), &Value::Null));
    let review = Story::json(maarit, 0, &["review"]);
    let look = &review["review"]["looked_at"][0]["looks"][0];
    assert_eq!(look["own_utilisation"], Value::from(0.12));
    assert!(look["server_utilisation"].is_f64(), "{look}");
}

fn an_opinion(story: &Story<'_>) {
    let Story { ines, okoro, maarit, .. } = story;
    maarit.ends_with(0, &["remark", "B1", "books creep: take the next deeper one", "--kind", "snag"]);
    maarit.ends_with(0, &["remark", "all", "paint it green", "--kind", "advice"]);
    // She has it proved: somebody stands amid it.
    let doubt = ["proof-load", "B1", "100kg", "--at", "400", "--most-sag", "0.8mm", "does it carry me amid it?"];
    story.keeps("story_20_proof_load", maarit, 1, &doubt);
    let conclude = ["conclude", "change", "--note", "nearly there", "--member", "B1=change:deeper"];
    story.keeps("story_07_conclude", maarit, 0, &conclude);
    maarit.ends_with(3, &["conclude", "do-not-build", "--member", "B1=maybe"]);
    // Who submitted does not conclude on his own.
    okoro.ends_with(5, &["conclude", "cut-it"]);
    story.keeps("story_08_in_the_way", okoro, 1, &["issue-for-cutting", "A"]);
    let refused = Story::json(okoro, 1, &["issue-for-cutting", "A"]);
    let kinds: Vec<_> = refused["in_the_way"].as_array().unwrap().iter().map(|it| it["kind"].clone()).collect();
    // Of the whole, and of B1.
    assert_eq!(kinds, ["SNAG_OPEN", "SNAG_OPEN", "DISPOSITION", "DISPOSITION"]);
    let aside = [&["set-aside", "2", "it is larch: oil, no paint"][..], &SHELF].concat();
    okoro.ends_with(5, &["set-aside", "2", "no"]);
    story.keeps("story_09_set_aside", ines, 0, &aside);
}

fn mended(story: &Story<'_>) {
    let Story { okoro, maarit, .. } = story;
    okoro.ends_with(0, &["answer", "1", "45x95 now, and it is called F1"]);
    let deeper = one_bearer("shelf", 800.0).replace("depth = 70", "depth = 95").replace("45x70", "45x95");
    okoro.writes("frame.toml", &deeper.replace("\"B1\"", "\"F1\""));
    okoro.ends_with(0, &["submit", "--note", "deeper bearer"]);
    // The proof load was run on B too, and clears its remark by itself: nobody's word is needed.
    let until = std::time::Instant::now() + std::time::Duration::from_secs(60);
    while !okoro.ends_with(0, &["remarks"]).contains("cleared, proved") {
        assert!(std::time::Instant::now() < until, "the proof load was not run on B");
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    let said = story.keeps("story_10_remarks", okoro, 0, &["remarks"]);
    assert!(said.contains("B1 is now called F1"), "{said}");
    // The back-check: she looks at the mended revision herself.
    maarit.ends_with(0, &["fetch-file", "B", "--to", "frame.toml", "--over"]);
    let said = story.keeps("story_11_review_of_b", maarit, 0, &["review"]);
    assert!(said.starts_with("shelf B: nobody looked at 3 of 3"), "{said}");
    maarit.ends_with(0, &["looked-at", "all", "--how", "servers", "--note", "sag halved"]);
    maarit.ends_with(3, &["looked-at", "B1"]);
    story.keeps("story_12_clear", maarit, 0, &["clear", "1", "good: it is mended"]);
    maarit.ends_with(0, &["conclude", "cut-it"]);
}

fn cut(story: &Story<'_>) {
    let Story { ines, okoro, maarit, .. } = story;
    maarit.ends_with(5, &["issue-for-cutting", "B"]);
    story.keeps("story_13_issue_for_cutting", ines, 0, &[&["issue-for-cutting", "B"][..], &SHELF].concat());
    let built = ["as-built", "B", "--mass", "frame=2.1kg", "--mass", "stock:45x95=2kg", "--note", "F1 is larch"];
    okoro.ends_with(0, &[&built[..], &["--sag", "F1@400:50kg=0.3mm"]].concat());
    okoro.ends_with(3, &["as-built", "B", "--mass", "heavy"]);
    okoro.ends_with(0, &["as-builts"]);
    let record = Story::json(okoro, 0, &["as-builts"]);
    let record = &record["as_builts"][0];
    assert_eq!((&record["masses"][0]["mass_kg"], &record["note"]), (&Value::from(2.1), &Value::from("F1 is larch")));
    assert!(record["masses"][0]["computed_kg"].is_f64(), "{record}");
    assert_eq!(record["sags"][0]["sag_mm"], Value::from(0.3));
    assert!(okoro.ends_with(0, &["concessions"]).contains("No finding"));
    okoro.ends_with(5, &["concede", "B", "F1", "bending", "why not"]);
    ines.ends_with(3, &[&["concede", "B", "F1", "looks", "odd"][..], &SHELF].concat());
}

fn months_later(story: &Story<'_>) {
    let Story { ines, okoro, maarit, changing, .. } = story;
    let code = changing.last().unwrap().0.clone();
    okoro.ends_with(0, &["take-down", &code]);
    maarit.ends_with(0, &["hand-back", &code]);
    maarit.ends_with(3, &["review"]);
    ines.ends_with(3, &["end-look", &code, "maarit", "--reason", "enough"]);
    story.keeps("story_14_record", ines, 0, &["record", "maarit"]);
    // Who knew what, and when.
    let said = story.keeps("story_15_revisions", okoro, 0, &["revisions"]).replace('\n', " ");
    for part in ["issued for cutting", "maarit: cut it", "maarit: change it"] {
        let plain = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(plain.contains(part), "`{part}` is missing: {plain}");
    }
    story.keeps("story_16_review_of_a", okoro, 0, &["review", "A"]);
    story.keeps("story_17_review_of_b", okoro, 0, &["review", "B"]);
    story.keeps("story_18_news", okoro, 0, &["news", "--all"]);
    let back = [&["take-back", "B", "the van is sold"][..], &SHELF].concat();
    story.keeps("story_19_take_back", ines, 0, &back);
}

#[test]
fn a_keeper_concedes_a_finding_and_it_no_longer_stands_in_the_way() {
    let folder = tempfile::tempdir().unwrap();
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start(env!("CARGO_BIN_EXE_battenboard"), &database);
    let ines = Desk { folder: folder.path(), name: "ines" };
    ines.writes("password", "seven planks of larch\n");
    // Far too long for its load: it falls short.
    ines.writes("frame.toml", &one_bearer("shelf", 4000.0).replace("-150", "-3000"));
    ines.ends_with(0, &[&["sign-up", "ines", "--server", &server.address_with_scheme()][..], &PASSWORD].concat());
    ines.ends_with(0, &["found-group", "saltmarsh-wheels"]);
    ines.ends_with(1, &["submit"]);
    let found = Story::json(&ines, 1, &["check"]);
    let short: Vec<(String, String)> = found["checks"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|check| check["verdict"] == "falls_short")
        .map(|check| (check["tag"].as_str().unwrap().to_owned(), check["kind"].as_str().unwrap().to_owned()))
        .collect();
    assert!(short.len() > 1, "{short:?}");
    let refused = Story::json(&ines, 1, &["issue-for-cutting", "A"]);
    assert_eq!(refused["in_the_way"].as_array().unwrap().len(), short.len());
    for (tag, kind) in &short {
        // By the name that JSON has, and by that of the command's own table.
        let kind = if kind == "sag_final" { "sag in the end" } else { kind };
        ines.ends_with(0, &["concede", "A", tag, kind, "a shelf for hats"]);
    }
    let list = Story::json(&ines, 0, &["concessions", "A"]);
    assert_eq!(list["concessions"].as_array().unwrap().len(), short.len());
    assert!(ines.ends_with(0, &["concessions"]).contains("accepted as it is by ines"));
    ines.ends_with(0, &["issue-for-cutting", "A"]);
    ines.ends_with(0, &["take-back", "A", "a trial"]);
    let over = Story::json(&ines, 0, &["issue-for-cutting", "A", "--over", "a second trial"]);
    // Nothing stood in the way, so nothing was gone over.
    assert_eq!(over["stamp"]["override_reason"], "");
}
