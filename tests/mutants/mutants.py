"""All mutants of the engine's rules and statics in one build, switched by an environment variable.

cargo-mutants makes the list; building and testing its mutants one by one takes a day. Here each function that has
mutants gets one copy of its body for each of them, and BATTENBOARD_MUTANT says which copy runs. What does not compile is
found by `cargo check` and left out; so are constants, which have no place for a switch,
and functions within functions. A test that panics ends its process at once.

    cargo install cargo-mutants --locked
    python3 tests/mutants/mutants.py build DIR [--only rules/judge] [--share 0.25]
    python3 tests/mutants/mutants.py run DIR [--jobs 2]
    python3 tests/mutants/mutants.py tell DIR

`build` copies the tree to DIR/tree; `run` goes on where it was stopped.
"""

import argparse
import collections
import concurrent.futures
import json
import os
import pathlib
import random
import re
import resource
import shutil
import subprocess
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
PACKAGE = "battenboard-engine"
ENGINE = "server/engine"
NONE = 2**32 - 1
SECONDS_MAX = 60
MEMORY_MAX = 6 << 30
# Quick test binaries first: most mutants die within a tenth of a second. Those not named here run before the last four.
LAST = ["mechanisms", "road", "independent", "invariants"]

SWITCH = """
static MUTANT: std::sync::LazyLock<u32> = std::sync::LazyLock::new(|| {
    if std::env::var("BATTENBOARD_MUTANT").is_ok() {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            before(info);
            std::process::exit(101);
        }));
    }
    std::env::var("BATTENBOARD_MUTANT").ok().and_then(|text| text.parse().ok()).unwrap_or(u32::MAX)
});

pub(crate) fn mutant() -> u32 {
    *MUTANT
}
"""


def listed(only):
    """The mutants of cargo-mutants' list that a switch can hold."""
    files = [f"--file={ENGINE}/src/{folder}/**" for folder in ("rules", "statics")]
    command = ["cargo", "mutants", "-p", PACKAGE, *files, "--list", "--json"]
    found = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    mutants = [{**mutant, "id": number} for number, mutant in enumerate(json.loads(found.stdout))]
    texts = {file: (ROOT / file).read_text().split("\n") for file in {mutant["file"] for mutant in mutants}}
    for mutant in mutants:
        mutant.pop("diff", None)
        mutant["line"] = texts[mutant["file"]][mutant["span"]["start"]["line"] - 1].strip()
    return [mutant for mutant in mutants if only in mutant["file"] and mutant["function"] and not within(mutant, mutants)]


def within(mutant, mutants):
    """Whether a mutant's function lies within another that has mutants: only the outer one gets a switch."""
    ends = lambda m: [(m["function"]["span"][end]["line"], m["function"]["span"][end]["column"]) for end in ("start", "end")]
    first, last = ends(mutant)
    others = (ends(m) for m in mutants if m["function"] and m["file"] == mutant["file"])
    return any(start <= first and last <= end and (start, end) != (first, last) for start, end in others)


def body(item):
    """First and last place within the braces of a function's body."""
    place, open_braces, pairs = 0, [], {}
    skip = re.compile(r'//[^\n]*|/\*.*?\*/|r(#*)".*?"\1|"(?:\\.|[^"\\])*"|\'(?:\\.[^\']*|[^\'\\])\'', re.S)
    while place < len(item):
        passed = skip.match(item, place)
        if passed:
            place = passed.end()
            continue
        if item[place] == "{":
            open_braces.append(place)
        elif item[place] == "}":
            pairs[place] = open_braces.pop()
        place += 1
    last = item.rstrip().rfind("}")
    return pairs[last] + 1, last


def switched(text, mutants):
    """A file's text with the bodies of its functions once for each mutant and once as they are."""
    starts = [0]
    for line in text.split("\n"):
        starts.append(starts[-1] + len(line) + 1)

    def place(spot):
        return starts[spot["line"] - 1] + spot["column"] - 1

    functions = collections.defaultdict(list)
    for mutant in mutants:
        span = mutant["function"]["span"]
        functions[place(span["start"]), place(span["end"])].append(mutant)
    parts, done = [], 0
    for (start, end), own in sorted(functions.items()):
        item = text[start:end]
        first, last = body(item)
        inside = item[first:last]
        # Two bodies never have the same `impl Iterator`: what each gives is collected.
        alike = ".collect::<Vec<_>>().into_iter()" if "impl Iterator" in own[0]["function"]["return_type"] else ""
        arms = []
        for mutant in own:
            cut = [place(mutant["span"][side]) - start - first for side in ("start", "end")]
            changed = inside[: cut[0]] + mutant["replacement"] + inside[cut[1] :]
            arms.append(f"\n/*M{mutant['id']}*/ {mutant['id']}u32 => ({{{changed}\n}}){alike},/*E{mutant['id']}*/")
        parts += [text[done:start], item[:first], " match crate::mutant() {", *arms, "\n_ => ({", inside, f"\n}}){alike}\n}}}}"]
        done = end
    return "".join([*parts, text[done:]])


def write(tree, mutants):
    by_file = collections.defaultdict(list)
    for mutant in mutants:
        by_file[mutant["file"]].append(mutant)
    for file, own in by_file.items():
        (tree / file).write_text(switched((ROOT / file).read_text(), own))
    root = ROOT / ENGINE / "src/lib.rs"
    (tree / ENGINE / "src/lib.rs").write_text(root.read_text() + SWITCH)


def not_compiling(tree, environment):
    """Numbers of the mutants within which the compiler finds a mistake; `None` when there is none at all."""
    command = ["cargo", "check", "-p", PACKAGE, "--message-format=json"]
    checked = subprocess.run(command, cwd=tree, env=environment, capture_output=True, text=True)
    if checked.returncode == 0:
        return None
    bad, places = set(), {}
    for line in checked.stdout.splitlines():
        message = json.loads(line).get("message") if line.startswith("{") else None
        if not isinstance(message, dict) or message.get("level") != "error":
            continue
        for span in message["spans"]:
            file = span["file_name"]
            if file not in places:
                text = (tree / file).read_bytes() if (tree / file).exists() else b""
                marks = re.finditer(rb"/\*M(\d+)\*/", text)
                places[file] = [(int(m[1]), m.start(), text.find(b"/*E" + m[1] + b"*/")) for m in marks]
            bad |= {number for number, first, last in places[file] if first <= span["byte_start"] < last}
    if not bad:
        raise SystemExit(checked.stderr[-4000:])
    return bad


def without_seeds(tree):
    """Takes the places where proptest would keep what failed: a seed that one mutant left would kill the next."""
    (tree / ENGINE / "proptest-regressions").write_text("")
    for test in (tree / ENGINE / "tests").rglob("*.rs"):
        test.with_suffix(".proptest-regressions").mkdir(exist_ok=True)


def build(folder, only, share):
    tree = folder / "tree"
    shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns("target", ".git"), dirs_exist_ok=True)
    mutants = listed(only)
    random.Random(1).shuffle(mutants)
    mutants = sorted(mutants[: round(share * len(mutants))], key=lambda mutant: mutant["id"])
    environment = dict(os.environ, CARGO_TARGET_DIR=str(folder / "target"), RUSTFLAGS="--cap-lints=allow")
    write(tree, mutants)
    while (bad := not_compiling(tree, environment)) is not None:
        mutants = [mutant for mutant in mutants if mutant["id"] not in bad]
        write(tree, mutants)
    without_seeds(tree)
    command = ["cargo", "test", "-p", PACKAGE, "--no-run", "--config=profile.dev.debug=0", "--message-format=json"]
    built = subprocess.run(command, cwd=tree, env=environment, stdout=subprocess.PIPE, text=True, check=True)
    lines = [json.loads(line) for line in built.stdout.splitlines() if line.startswith("{")]
    tests = {line["target"]["name"]: line["executable"] for line in lines if line.get("executable")}
    order = sorted(tests, key=lambda name: (LAST.index(name) + 1 if name in LAST else 0, name == "battenboard_engine"))
    (folder / "mutants.json").write_text(json.dumps({"mutants": mutants, "tests": [[n, tests[n]] for n in order]}))
    print(f"{len(mutants)} mutants in one build")


def bounded():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_MAX, MEMORY_MAX))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def judged(number, tests, engine):
    """The test binary that fails with a mutant, or `alive`."""
    environment = dict(os.environ, BATTENBOARD_MUTANT=str(number), RAYON_NUM_THREADS="1", CARGO_MANIFEST_DIR=str(engine))
    for name, path in tests:
        command = [path, "--test-threads=1", "-q"]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "preexec_fn": bounded}
        try:
            if subprocess.run(command, cwd=engine, env=environment, timeout=SECONDS_MAX, **quiet).returncode != 0:
                return name
        except subprocess.TimeoutExpired:
            return f"out of time in {name}"
    return "alive"


def run(folder, jobs):
    made = json.loads((folder / "mutants.json").read_text())
    engine, outcomes = folder / "tree" / ENGINE, folder / "outcomes.jsonl"
    if (found := judged(NONE, made["tests"], engine)) != "alive":
        raise SystemExit(f"{found} fails without any mutant")
    done = {json.loads(line)["id"] for line in outcomes.open()} if outcomes.exists() else set()
    left = [mutant["id"] for mutant in made["mutants"] if mutant["id"] not in done]
    random.Random(1).shuffle(left)
    begun = time.time()
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool, outcomes.open("a") as out:
        for number, result in zip(left, pool.map(lambda n: judged(n, made["tests"], engine), left)):
            out.write(json.dumps({"id": number, "result": result}) + "\n")
            out.flush()
    print(f"{len(left)} mutants in {time.time() - begun:.0f} s")
    tell(folder)


def tell(folder):
    made = json.loads((folder / "mutants.json").read_text())
    names = {mutant["id"]: mutant for mutant in made["mutants"]}
    results = [json.loads(line) for line in (folder / "outcomes.jsonl").open()]
    alive = [names[r["id"]] for r in results if r["result"] == "alive"]
    for mutant in sorted(alive, key=lambda m: (m["file"], m["span"]["start"]["line"], m["span"]["start"]["column"])):
        print(f"{mutant['name'].removeprefix(ENGINE + '/src/')}  |  {mutant['line']}")
    for folder_name in ("rules", "statics"):
        own = [r for r in results if f"/src/{folder_name}/" in names[r["id"]]["file"]]
        killed = sum(r["result"] != "alive" for r in own)
        print(f"{folder_name}: {killed} of {len(own)} killed ({100 * killed / max(1, len(own)):.1f} %)")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=["build", "run", "tell"])
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--only", default="", help="a part of the files' paths")
    parser.add_argument("--share", type=float, default=1.0, help="a random share of the mutants")
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args()
    folder = asked.folder.resolve()
    folder.mkdir(parents=True, exist_ok=True)
    if asked.what == "build":
        build(folder, asked.only, asked.share)
    elif asked.what == "run":
        run(folder, asked.jobs)
    else:
        tell(folder)


if __name__ == "__main__":
    main()
