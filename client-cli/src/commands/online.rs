//! What the verbs with a server share: which server, group and design are meant, and the wire's answers made plain.

use super::Common;
use crate::accounts::AccountsFile;
use crate::args::{DesignArgs, GroupArgs};
use crate::connect::Channel;
use crate::connect::{MESSAGE_LIMIT, Server, micros};
use crate::error::ClientError;
use crate::file;
use crate::io::Io;
use crate::remark::{Proof, ProofRow, Remark, RemarkAct, RemarkEntry, RemarkKind, RemarkState, Standing, StandingKind};
use crate::sidecar::{Home, Sidecar};
use battenboard_engine::design::Violation;
use battenboard_engine::findings::{Findings, Verdict};
use battenboard_proto::v1::design_service_client::DesignServiceClient;
use battenboard_proto::v1::group_service_client::GroupServiceClient;
use battenboard_proto::{convert, v1};

/// Entries asked for at a time.
pub const PAGE: i32 = 200;
/// Most pages that are read of one list.
const PAGES: usize = 100;

/// The design service, for answers of any size the server gives.
pub fn designs(channel: Channel) -> DesignServiceClient<Channel> {
    DesignServiceClient::new(channel).max_decoding_message_size(MESSAGE_LIMIT)
}

/// What the folder remembers of its design file, if there is one.
pub fn sidecar(common: &Common, io: &Io<'_>) -> Result<Option<(Sidecar, Option<Home>)>, ClientError> {
    // No design file here is no failure: a reviewer has none.
    let Ok(path) = file::find(io, common.file()) else { return Ok(None) };
    let sidecar = Sidecar::of(&path);
    let home = sidecar.home()?;
    Ok(Some((sidecar, home)))
}

/// Address of the server that is meant: named, the folder's, or the one last signed in to.
pub fn url(common: &Common, io: &Io<'_>, home: Option<&Home>) -> Result<String, ClientError> {
    if let Some(named) = &common.server {
        return Ok(named.clone());
    }
    if let Some(home) = home {
        return Ok(home.server.clone());
    }
    let current = AccountsFile::of(&io.config_dir).read()?.current;
    current.ok_or_else(|| ClientError::usage("no server is known yet", "name one: --server http://localhost:7313"))
}

/// Opens the way to the server that is meant.
pub fn connect(common: &Common, io: &mut Io<'_>) -> Result<Server, ClientError> {
    let home = sidecar(common, io)?.and_then(|(_, home)| home);
    let url = url(common, io, home.as_ref())?;
    Server::connect(io, &url)
}

/// The group that is meant: named, or the only one the account is in.
pub fn group(server: &mut Server, args: &GroupArgs, home: Option<&Home>) -> Result<String, ClientError> {
    if let Some(named) = &args.group {
        return Ok(named.clone());
    }
    if let Some(home) = home.filter(|home| home.server == server.url()) {
        return Ok(home.group.clone());
    }
    let body = v1::ListGroupsRequest { page_size: PAGE, page_token: String::new() };
    let answer =
        server.call(body, async |channel, request| GroupServiceClient::new(channel).list_groups(request).await)?;
    let mut names: Vec<String> = answer.groups.into_iter().map(|group| group.name).collect();
    match (names.pop(), names.len()) {
        (Some(only), 0) => Ok(only),
        (None, _) => Err(ClientError::usage(
            "you are in no build group yet",
            "batten enter CODE, or batten found-group NAME for a new one",
        )),
        (Some(last), _) => {
            names.push(last);
            Err(ClientError::usage(
                "you are in more than one build group",
                format!("say which: --group {}", names.join(" | ")),
            ))
        }
    }
}

/// Group and design that are meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// Build group.
    pub group: String,
    /// Design.
    pub design: String,
}

/// The design that is meant: named, the folder's, or the only one of the group.
pub fn target(
    common: &Common,
    args: &DesignArgs,
    io: &Io<'_>,
    server: &mut Server,
) -> Result<(Target, Option<Sidecar>), ClientError> {
    let (sidecar, home) = match sidecar(common, io)? {
        Some((sidecar, home)) => (Some(sidecar), home),
        None => (None, None),
    };
    let home = home.filter(|home| home.server == server.url());
    let named_other = |home: &Home| {
        args.group.group.as_ref().is_some_and(|group| *group != home.group)
            || args.design.as_ref().is_some_and(|design| *design != home.design)
    };
    if let Some(home) = home.as_ref().filter(|home| !named_other(home)) {
        return Ok((Target { group: home.group.clone(), design: home.design.clone() }, sidecar));
    }
    let group = group(server, &args.group, home.as_ref())?;
    if let Some(design) = &args.design {
        return Ok((Target { group, design: design.clone() }, None));
    }
    let mut names: Vec<String> = list_designs(server, &group)?.into_iter().map(|design| design.name).collect();
    match (names.pop(), names.len()) {
        (Some(design), 0) => Ok((Target { group, design }, None)),
        (None, _) => Err(ClientError::usage(format!("{group} has no designs yet"), "batten submit makes the first")),
        (Some(last), _) => {
            names.push(last);
            names.truncate(12);
            Err(ClientError::usage(
                format!("{group} has more than one design"),
                format!("say which: --design {}", names.join(" | ")),
            ))
        }
    }
}

/// All designs of a group.
pub fn list_designs(server: &mut Server, group: &str) -> Result<Vec<v1::Design>, ClientError> {
    pages(|page_token| {
        let body = v1::ListDesignsRequest { group: group.to_owned(), page_size: PAGE, page_token };
        let answer = server.call(body, async |channel, request| designs(channel).list_designs(request).await)?;
        Ok((answer.designs, answer.next_page_token))
    })
}

/// Reads a list to its end, page by page.
pub fn pages<T>(mut read: impl FnMut(String) -> Result<(Vec<T>, String), ClientError>) -> Result<Vec<T>, ClientError> {
    let mut found = Vec::new();
    let mut token = String::new();
    for _ in 0..PAGES {
        let (items, next) = read(token)?;
        found.extend(items);
        if next.is_empty() {
            return Ok(found);
        }
        token = next;
    }
    Err(ClientError::Shape { cause: format!("a list of more than {PAGES} pages") })
}

/// Findings as the engine knows them.
pub fn findings(wire: v1::Findings) -> Result<Findings, ClientError> {
    convert::findings_from_wire(wire).map_err(|violations| ClientError::Shape {
        cause: violations.first().map_or_else(String::new, ToString::to_string),
    })
}

/// A verdict; `None` before the check is done.
pub fn verdict(wire: i32) -> Option<Verdict> {
    match v1::Verdict::try_from(wire).ok()? {
        v1::Verdict::Unspecified => None,
        v1::Verdict::Holds => Some(Verdict::Holds),
        v1::Verdict::Near => Some(Verdict::Near),
        v1::Verdict::NotChecked => Some(Verdict::NotChecked),
        v1::Verdict::FallsShort => Some(Verdict::FallsShort),
    }
}

/// An instant, microseconds of Unix time; 0 where the answer has none.
pub fn instant(time: Option<prost_types::Timestamp>) -> i64 {
    time.map_or(0, |time| micros(&time))
}

/// A part that every answer must have.
pub fn needed<T>(part: Option<T>, what: &str) -> Result<T, ClientError> {
    part.ok_or_else(|| ClientError::Shape { cause: format!("an answer without its {what}") })
}

/// A remark as the command keeps and shows it.
pub fn remark(wire: v1::Remark) -> Result<Remark, ClientError> {
    let v1::Remark {
        id: _,
        number,
        group: _,
        design: _,
        letter,
        place,
        kind,
        text,
        author,
        create_time,
        state,
        entries,
        from_outside,
        standing: stands,
        proof_load,
        proof_results,
    } = wire;
    let place = needed(place, "place")?;
    let proof = proof_load.map(|load| proof(load, &place, proof_results)).transpose()?;
    let v1::Place { kind: place_kind, tag, at_mm } = place;
    let whole = place_kind == v1::PlaceKind::Whole as i32;
    let unknown = |what: &str| ClientError::Shape { cause: format!("a remark of an unknown {what}") };
    Ok(Remark {
        number,
        letter,
        tag: (!whole).then_some(tag),
        at_mm,
        kind: match v1::RemarkKind::try_from(kind) {
            Ok(v1::RemarkKind::Snag) => RemarkKind::Snag,
            Ok(v1::RemarkKind::Advice) => RemarkKind::Advice,
            Ok(v1::RemarkKind::Question) => RemarkKind::Question,
            Ok(v1::RemarkKind::WellMade) => RemarkKind::WellMade,
            Ok(v1::RemarkKind::Unspecified) | Err(_) => return Err(unknown("kind")),
        },
        text,
        author,
        at_us: instant(create_time),
        state: match v1::RemarkState::try_from(state) {
            Ok(v1::RemarkState::Open) => RemarkState::Open,
            Ok(v1::RemarkState::Answered) => RemarkState::Answered,
            Ok(v1::RemarkState::Cleared) => RemarkState::Cleared,
            Ok(v1::RemarkState::SetAside) => RemarkState::SetAside,
            Ok(v1::RemarkState::Unspecified) | Err(_) => return Err(unknown("state")),
        },
        entries: entries.into_iter().map(entry).collect::<Result<_, _>>()?,
        from_outside,
        // An older server does not say.
        standing: stands.map(standing).transpose()?,
        proof,
    })
}

fn standing(wire: v1::Standing) -> Result<Standing, ClientError> {
    let what = match wire.what() {
        v1::StandingKind::AsItWas => StandingKind::AsItWas,
        v1::StandingKind::Changed => StandingKind::Changed,
        v1::StandingKind::Moved => StandingKind::Moved,
        v1::StandingKind::Renamed => StandingKind::Renamed,
        v1::StandingKind::Split => StandingKind::Split,
        v1::StandingKind::Gone => StandingKind::Gone,
        v1::StandingKind::Back => StandingKind::Back,
        v1::StandingKind::Unspecified => {
            return Err(ClientError::Shape { cause: "a remark that stands in an unknown way".into() });
        }
    };
    let said = |text: String| (!text.is_empty()).then_some(text);
    Ok(Standing {
        what,
        tag: wire.tag,
        at_mm: wire.at_mm,
        since: wire.since_letter,
        pieces: wire.pieces,
        there_now: said(wire.there_now),
        renamed_from: said(wire.renamed_from),
        gone_since: said(wire.gone_since_letter),
        as_of: wire.as_of_letter,
    })
}

/// A proof load, which stands where its remark is placed, with its results.
fn proof(load: v1::ProofLoad, place: &v1::Place, results: Vec<v1::ProofResult>) -> Result<Proof, ClientError> {
    let shape = |faults: Vec<Violation>| ClientError::Shape {
        cause: faults.first().map_or_else(String::new, ToString::to_string),
    };
    let row = |wire: v1::ProofResult| {
        let letter = wire.letter.clone();
        Ok(ProofRow { letter, result: convert::proof_result_from_wire(wire).map_err(shape)? })
    };
    let load = convert::proof_load_from_wire(load, place).map_err(shape)?;
    Ok(Proof { load, results: results.into_iter().map(row).collect::<Result<_, ClientError>>()? })
}

fn entry(wire: v1::RemarkEntry) -> Result<RemarkEntry, ClientError> {
    let v1::RemarkEntry { author, create_time, act, text } = wire;
    let act = match v1::RemarkAct::try_from(act) {
        Ok(v1::RemarkAct::Answer) => RemarkAct::Answer,
        Ok(v1::RemarkAct::Clear) => RemarkAct::Clear,
        Ok(v1::RemarkAct::RaiseAgain) => RemarkAct::RaiseAgain,
        Ok(v1::RemarkAct::SetAside) => RemarkAct::SetAside,
        Ok(v1::RemarkAct::Proved) => RemarkAct::Proved,
        Ok(v1::RemarkAct::FellShortAgain) => RemarkAct::FellShortAgain,
        Ok(v1::RemarkAct::Unspecified) | Err(_) => {
            return Err(ClientError::Shape { cause: "a remark with an unknown act".into() });
        }
    };
    Ok(RemarkEntry { author, at_us: instant(create_time), act, text })
}
