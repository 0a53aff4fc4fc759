//! Bare `batten`: where you are. Needs no network; what the server last said is shown with its age.

use super::{Common, check, submit, withheld};
use crate::accounts::AccountsFile;
use crate::compare::Changes;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file::{self, Loaded};
use crate::io::Io;
use crate::output::sheet::Sheet;
use crate::output::{check_screen, remarks_screen, times, words};
use crate::remark::{Remark, RemarkState};
use crate::sidecar::{Home, KeptFindings, KeptRemarks, Sidecar, Unsent};
use battenboard_engine::Ask;
use battenboard_engine::findings::{Findings, Verdict};

pub fn run(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let path = match file::find(io, common.file()) {
        Ok(path) => path,
        // No file and none named: the usual beginning, not a failure.
        Err(ClientError::Usage { message, .. }) if common.file.is_none() => return nothing_here(common, io, &message),
        Err(error) => return Err(error),
    };
    let loaded = file::load_path(io, path)?;
    let memory = Memory::of(io, &loaded)?;
    let findings = if memory.withheld { None } else { Some(check::findings(&loaded, Ask::default())?) };
    let verdict = findings.as_ref().map(|findings| findings.verdict);
    if common.json {
        io.json(&serde_json::json!({
            "file": loaded.shown, "design": loaded.design.name, "verdict": verdict,
            "figures_withheld": memory.withheld, "home": memory.home, "changed": memory.changed(),
            "unsent_count": memory.waiting().count(), "gave_way_count": memory.gave_way(),
            "remarks": memory.remarks.as_ref().map(|kept| &kept.remarks),
            "next": next_step(&memory, findings.as_ref()),
        }))?;
    } else {
        let sheet = screen(io, &loaded, findings.as_ref(), &memory);
        io.show(&sheet)?;
    }
    Ok(verdict.map_or(Exit::NotChecked, Exit::from))
}

/// What the folder remembers of this file.
struct Memory {
    home: Option<Home>,
    changes: Option<Changes>,
    unsent: Vec<Unsent>,
    account: Option<String>,
    findings: Option<KeptFindings>,
    remarks: Option<KeptRemarks>,
    withheld: bool,
}

impl Memory {
    fn of(io: &Io<'_>, loaded: &Loaded) -> Result<Self, ClientError> {
        let sidecar = Sidecar::of(&loaded.path);
        let home = sidecar.home()?;
        let servers = AccountsFile::of(&io.config_dir).read()?.servers;
        let account =
            home.as_ref().and_then(|home| servers.get(&home.server)).map(|signed_in| signed_in.account.clone());
        Ok(Self {
            home,
            account,
            changes: submit::changes_since(&sidecar, loaded)?,
            unsent: sidecar.unsent()?,
            findings: sidecar.findings()?,
            remarks: sidecar.remarks()?,
            withheld: sidecar.withheld(),
        })
    }

    fn changed(&self) -> Option<bool> {
        self.changes.as_ref().map(|changes| !changes.is_empty())
    }

    /// Kept submissions that are still to be sent, oldest first.
    fn waiting(&self) -> impl DoubleEndedIterator<Item = &Unsent> {
        self.unsent.iter().filter(|item| item.waits())
    }

    /// How many others are kept.
    fn gave_way(&self) -> usize {
        self.unsent.len() - self.waiting().count()
    }

    /// The oldest remark in that state that is (or is not) one's own.
    fn remark(&self, state: RemarkState, own: bool) -> Option<&Remark> {
        let kept = self.remarks.iter().flat_map(|kept| &kept.remarks);
        let mine = |remark: &&Remark| self.account.as_ref() == Some(&remark.author);
        kept.filter(|remark| remark.state == state && mine(remark) == own).min_by_key(|remark| remark.number)
    }
}

fn nothing_here(common: &Common, io: &mut Io<'_>, message: &str) -> Result<Exit, ClientError> {
    let accounts = AccountsFile::of(&io.config_dir).read()?;
    let server = accounts.current.clone();
    let account = server.as_ref().and_then(|url| accounts.servers.get(url)).map(|signed_in| signed_in.account.clone());
    if common.json {
        io.json(&serde_json::json!({ "file": null, "server": server, "account": account, "next": "batten start" }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("{}.", words::sentence(message)));
    if let (Some(server), Some(account)) = (&server, &account) {
        sheet.paragraph(&format!("Signed in to {server} as {account}."));
        sheet.hanging("Next: ", "batten start, or batten designs to see those of your build group");
    } else {
        sheet.hanging("Next: ", "batten start writes a starter file and checks it; it needs no account");
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

fn screen(io: &Io<'_>, loaded: &Loaded, findings: Option<&Findings>, memory: &Memory) -> Sheet {
    let now = (io.now)();
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("{}: {}, {}", loaded.shown, loaded.design.name, loaded.design.title));
    match findings {
        Some(findings) => sheet.paragraph(&check_screen::verdict_sentence(&loaded.design, findings)),
        None => sheet.paragraph(withheld::SAID),
    }
    match &memory.home {
        None => sheet.paragraph("Not submitted yet."),
        Some(home) => {
            let state = match memory.changed() {
                Some(true) => format!("changed since revision {}", home.letter),
                Some(false) => format!("the same as revision {}", home.letter),
                None => format!("worked from revision {}", home.letter),
            };
            sheet.paragraph(&format!("In {} at {}; {state}.", home.group, home.server));
        }
    }
    if let Some(kept) = &memory.findings {
        sheet.paragraph(&format!(
            "The server on revision {}: {} ({}).",
            kept.letter,
            words::verdict_word(kept.findings.verdict),
            times::ago(kept.kept_us, now)
        ));
    }
    unsent(&mut sheet, loaded, memory, now);
    if let Some(kept) = &memory.remarks {
        let age = times::ago(kept.kept_us, now);
        sheet.paragraph(&format!("{} ({age}).", words::sentence(&remarks_screen::count(&kept.remarks))));
    }
    sheet.hanging("Next: ", &next_step(memory, findings));
    sheet
}

fn unsent(sheet: &mut Sheet, loaded: &Loaded, memory: &Memory, now: jiff::Timestamp) {
    if let Some(last) = memory.waiting().next_back() {
        let count = match memory.waiting().count() {
            1 => "A submission waits".to_owned(),
            count => format!("{count} submissions wait"),
        };
        let since = if last.text == loaded.text { "" } else { "; the file has changed since" };
        sheet.paragraph(&format!("{count} to be sent, kept {}{since}.", times::ago(last.kept_us, now)));
    }
    if let Some(behind) = memory.waiting().find(|item| !item.behind.is_empty()) {
        sheet.paragraph(&format!("It is not taken: someone else submitted revision {} first.", behind.behind));
    }
    match memory.gave_way() {
        0 => {}
        1 => sheet.paragraph("One kept submission gave way to a later one (batten submit --drop-kept)."),
        count => {
            sheet.paragraph(&format!("{count} kept submissions gave way to a later one (batten submit --drop-kept)."))
        }
    }
}

fn next_step(memory: &Memory, findings: Option<&Findings>) -> String {
    if let Some(Unsent { behind, worked_from, .. }) = memory.waiting().find(|item| !item.behind.is_empty()) {
        return submit::go_on(worked_from, behind);
    }
    if memory.waiting().next().is_some() {
        return "batten submit sends what was kept".into();
    }
    if let Some(open) = memory.remark(RemarkState::Open, false) {
        return format!("batten answer {} TEXT; batten remarks shows what was said", open.number);
    }
    if let Some(answered) = memory.remark(RemarkState::Answered, true) {
        let number = answered.number;
        return format!("your remark {number} is answered: batten clear {number}, or batten raise-again {number} TEXT");
    }
    let Some(findings) = findings else {
        return "batten looked-at TAG --how own --own-utilisation SHARE, then batten own-sums end".into();
    };
    if findings.verdict == Verdict::FallsShort
        && let Some(worst) = findings.checks.first()
    {
        return format!("batten why {}", worst.tag);
    }
    if !findings.faults.is_empty() {
        return "batten check says what can't be computed and why".into();
    }
    match (&memory.home, memory.changed()) {
        (None, _) => "batten submit, when you want a second opinion".into(),
        (Some(_), Some(true)) => "batten submit makes it the next revision".into(),
        (Some(_), _) => "batten remarks asks what others say by now".into(),
    }
}
