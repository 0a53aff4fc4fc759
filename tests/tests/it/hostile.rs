//! Input that was made to break something, given to the command and to a server as child processes that may use at most
//! 256 MB of memory and two seconds.

use battenboard_tests::harness::frames::one_bearer;
use battenboard_tests::harness::{Actor, Database, DatabaseKind, GROUP, Limited, ServerProcess, block_on};
use std::path::Path;
use std::time::{Duration, Instant};
use tonic::Code;

/// Most memory, in kB: what the process may write to, by the kernel's own count.
const MEMORY_KB: u64 = 256 * 1024;
/// Longest time.
const TIME: Duration = Duration::from_secs(2);

/// One hostile design file: its name, its text, the exit codes that are right, words of which one must be said.
struct Hostile {
    name: &'static str,
    text: Vec<u8>,
    exits: &'static [i32],
    words: &'static [&'static str],
}

fn hostile(
    name: &'static str,
    text: impl Into<Vec<u8>>,
    exits: &'static [i32],
    words: &'static [&'static str],
) -> Hostile {
    Hostile { name, text: text.into(), exits, words }
}

/// Replaces a part of the plain bearer; fails where the part is not there, so that no case quietly tests nothing.
fn bearer_with(part: &str, other: &str) -> String {
    let plain = one_bearer("shelf", 800.0);
    assert!(plain.contains(part), "`{part}` is no part of the plain bearer");
    plain.replace(part, other)
}

fn without_anchors() -> String {
    let plain = one_bearer("shelf", 800.0);
    let (start, end) = (plain.find("[[anchors]]").unwrap(), plain.find("[[loads]]").unwrap());
    format!("{}{}", &plain[..start], &plain[end..])
}

/// Two bearers end to end, one a million million times as stiff as the other; the vehicle holds the first.
fn far_apart(first: &str, second: &str) -> String {
    let stiff = format!("material = {{ e = {first}, g = {first}, density = 420 }}");
    let second = format!(
        r#"
[[stock]]
name = "soft"
section = {{ width = 45, depth = 70 }}
material = {{ e = {second}, g = {second}, density = 420 }}

[[members]]
tag = "B2"
kind = "bearer"
stock = "soft"
from = [1800, 0, 500]
to = [2600, 0, 500]

[[joints]]
member = "B2"
on = "B1"
hold = "rigid"
at = "start"
on_at = "end"
"#
    );
    format!("{}{second}", bearer_with("material = \"C24\"", &stiff).replace("at = \"end\"", "at = 100"))
}

fn cases() -> Vec<Hostile> {
    let cyclic = format!(
        "{}\n[[members]]\ntag = \"R1\"\nkind = \"rail\"\nstock = \"45x70\"\nfrom = [1400, -400, 430]\nto = [1400, 400, 430]\n\
         [[joints]]\nmember = \"B1\"\non = \"R1\"\n[[joints]]\nmember = \"R1\"\non = \"B1\"\n",
        one_bearer("shelf", 800.0)
    );
    let twice = format!(
        "{}\n[[members]]\ntag = \"B2\"\nkind = \"bearer\"\nstock = \"45x70\"\nfrom = [1000, 0, 500]\nto = [1800, 0, 500]\n",
        one_bearer("shelf", 800.0)
    );
    let rows =
        "\n[[members]]\ntag = \"X\"\nkind = \"post\"\nstock = \"45x70\"\nfrom = [0, 0, 0]\nto = [0, 0, 9]".repeat(2500);
    vec![
        hostile(
            "a million members by count",
            bearer_with("tag = \"B1\"", "tag = \"B*\"\ncount = 1000000\nstep = [0, 100, 0]"),
            &[3],
            &["10,000", "10000", "10 000"],
        ),
        hostile(
            "a count past all numbers",
            bearer_with("tag = \"B1\"", "tag = \"B*\"\ncount = 9223372036854775807"),
            &[3],
            &["count"],
        ),
        hostile(
            "a count too large for TOML",
            bearer_with("tag = \"B1\"", "tag = \"B*\"\ncount = 99999999999999999999999"),
            &[3],
            &["line"],
        ),
        hostile("thousands of doubled tags", format!("{}{rows}", one_bearer("shelf", 800.0)), &[3], &["X"]),
        hostile(
            "not a number",
            bearer_with("from = [1000, 0, 500]", "from = [nan, 0, 500]"),
            &[3],
            &["nan", "NaN", "finite"],
        ),
        hostile("endless", bearer_with("from = [1000, 0, 500]", "from = [1000, -inf, 500]"), &[3], &["inf", "finite"]),
        hostile("absurd size", bearer_with("from = [1000, 0, 500]", "from = [-1e18, 0, 500]"), &[3], &["from"]),
        hostile(
            "nested lists",
            format!("format = 1\nx = {}{}", "[".repeat(100_000), "]".repeat(100_000)),
            &[3],
            &["nest", "deep"],
        ),
        hostile(
            "nested tables",
            format!("format = 1\nx = {}1{}", "{ a = ".repeat(30_000), " }".repeat(30_000)),
            &[3],
            &["nest", "deep"],
        ),
        hostile(
            "a key of many parts",
            format!("format = 1\n{}x = 1", "a.".repeat(100_000)),
            &[3],
            &["nest", "deep", "parts"],
        ),
        hostile("a hundred megabytes", "# nothing\n".repeat(10 << 20), &[3], &["256", "262144"]),
        hostile("members that carry each other", cyclic, &[3], &["B1"]),
        hostile("start and end the same", bearer_with("to = [1800, 0, 500]", "to = [1000, 0, 500]"), &[3], &["B1"]),
        hostile("two members in one place", twice, &[2], &["B2"]),
        hostile("nothing holds it", without_anchors(), &[2], &["B1"]),
        hostile("stiffness a million million apart", far_apart("1.0e9", "1.0e-3"), &[1, 2, 3], &["B2", "soft"]),
        hostile("a stiff one on a soft one", far_apart("1.0e-3", "1.0e9"), &[1, 2, 3], &["B1", "B2", "soft"]),
        hostile("not text", [0xff, 0xfe, 0x00, 0x80].repeat(1000), &[3], &["text", "UTF-8", "line"]),
        hostile("empty", "", &[3], &["format"]),
    ]
}

fn check_limited(file: &Path, config: &Path) -> Limited {
    let program = env!("CARGO_BIN_EXE_battenboard");
    let arguments = ["batten", "check", "--file", &file.to_string_lossy()];
    Limited::run(program, &arguments, &[("BATTEN_CONFIG_DIR", config)], MEMORY_KB, Duration::from_secs(20))
}

#[test]
fn the_command_answers_hostile_files_within_two_seconds_and_256_mb() {
    let folder = tempfile::tempdir().unwrap();
    let config = folder.path().join("config");
    let mut wrong = Vec::new();
    for case in cases() {
        let file = folder.path().join("frame.toml");
        std::fs::write(&file, &case.text).unwrap();
        // Other tests run beside this one on the same cores: the best of three is the command's own time.
        let mut run = check_limited(&file, &config);
        for _ in 0..2 {
            if run.time > TIME {
                run = check_limited(&file, &config);
            }
        }
        let exit_is_right = run.exit.is_some_and(|exit| case.exits.contains(&exit));
        let says_it = case.words.iter().any(|word| run.said.contains(word));
        let quiet = !run.said.contains("panicked") && !run.said.contains("RUST_BACKTRACE");
        if !exit_is_right || !says_it || !quiet || run.time > TIME || run.said.len() > 40_000 {
            wrong.push(format!("{}: exit {:?}, {:?}\n{:.1500}", case.name, run.exit, run.time, run.said));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n----\n"));
}

#[test]
fn the_memory_limit_of_these_tests_is_a_limit() {
    // A process that wants more than it may have must fail, or the test above proves nothing.
    let greedy = "x=$(head -c 700000000 /dev/zero | tr '\\0' x); echo got ${#x}";
    let run = Limited::run("sh", &["-c", greedy], &[], MEMORY_KB, Duration::from_secs(60));
    assert!(run.exit != Some(0) || !run.said.contains("got 700000000"), "{:?} {}", run.exit, run.said);
}

#[test]
fn a_folder_or_nothing_in_place_of_the_file_is_said_in_words() {
    let folder = tempfile::tempdir().unwrap();
    for path in [folder.path().to_path_buf(), folder.path().join("not-there.toml")] {
        let run = check_limited(&path, folder.path());
        assert_eq!(run.exit, Some(3), "{}", run.said);
        assert!(!run.said.contains("os error") || run.said.contains("can't be read"), "{}", run.said);
    }
}

#[test]
fn a_server_answers_hostile_designs_within_two_seconds_and_256_mb() {
    let database = Database::fresh(DatabaseKind::Sqlite);
    let server = ServerProcess::start_limited(env!("CARGO_BIN_EXE_battenboard"), &database, MEMORY_KB);
    block_on(async {
        let ines = Actor::stranger(server.channel().await).makes_account("ines", None).await.unwrap();
        ines.founds(GROUP).await.unwrap();
        for (index, case) in cases().into_iter().enumerate() {
            let Ok(text) = String::from_utf8(case.text) else { continue };
            let design = format!("shelf-{index}");
            let text = text.replace("name = \"shelf\"", &format!("name = \"{design}\""));
            let started = Instant::now();
            let answer = ines.submits(GROUP, &design, &text, "").await;
            let time = started.elapsed();
            match answer {
                // A frame that can't stand or sags out of all measure is a finding, not a refusal.
                Ok(answer) => {
                    assert!(case.exits != [3], "{} was taken: {answer:?}", case.name);
                    let findings = ines.waits_for_findings(GROUP, &design, "").await.unwrap();
                    let short = findings.verdict == i32::from(battenboard_proto::v1::Verdict::FallsShort);
                    assert!(short || !findings.faults.is_empty(), "{}: {:?}", case.name, findings.verdict);
                }
                Err(status) => assert!(
                    [Code::InvalidArgument, Code::OutOfRange, Code::ResourceExhausted].contains(&status.code()),
                    "{}: {status:?}",
                    case.name
                ),
            }
            assert!(time < 3 * TIME, "{}: {time:?}", case.name);
            let mine = battenboard_proto::v1::GetAccountRequest {};
            ines.accounts().get_account(mine).await.unwrap_or_else(|status| panic!("after {}: {status:?}", case.name));
        }
    });
}
