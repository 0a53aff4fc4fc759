//! From opinion to saw: issue for cutting, take back, concede, and record what was built.

mod wire;

use super::Common;
use super::online::{self, Target};
use super::withheld::SAID;
use crate::args::{AsBuiltArgs, ConcedeArgs, ConcessionsArgs, DesignArgs, IssueArgs, TakeBackArgs};
use crate::connect::Channel;
use crate::connect::{self, InTheWay, Server, request_id};
use crate::cutting::{Obstacle, Stamp};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::{cutting_screen, words};
use battenboard_designfile::{quantity, unit};
use battenboard_engine::findings::CheckKind;
use battenboard_proto::v1::cutting_service_client::CuttingServiceClient;
use battenboard_proto::{convert, v1};
use std::collections::BTreeSet;

pub use wire::stamp;

/// Revisions with as-built records whose stamps are asked for, one call each.
const MOST_STAMPS: usize = 12;

fn client(channel: Channel) -> CuttingServiceClient<Channel> {
    CuttingServiceClient::new(channel)
}

pub fn issue(common: &Common, args: IssueArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let IssueArgs { letter, over, design } = args;
    let letter = letter.to_uppercase();
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &design, io, &mut server)?;
    let body = v1::IssueForCuttingRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter: letter.clone(),
        override_reason: over.clone().unwrap_or_default(),
        request_id: request_id(),
    };
    let answer =
        server.call_for_status(body, async |channel, request| client(channel).issue_for_cutting(request).await)?;
    let stamp = match answer {
        Ok(answer) => stamp(online::needed(answer.stamp, "stamp")?),
        Err(status) => {
            let Some(list) = connect::in_the_way(&status) else {
                return Err(connect::refused(server.url(), &status));
            };
            return refused(common, io, &target, &letter, list);
        }
    };
    if common.json {
        io.json(&serde_json::json!({ "issued": true, "stamp": stamp }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Revision {letter} of {} ({}) is the one to cut.", target.design, target.group));
    cutting_screen::stamp_lines(&mut sheet, &stamp, &io.zone);
    sheet.hanging("Not checked: ", "screws and fixings, and whether it fits.");
    sheet.hanging("Next: ", "measure again in the vehicle, then saw. When it is built and weighed:");
    sheet.hanging("  ", &format!("batten as-built {letter} --mass frame=KILOGRAMS"));
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

fn refused(
    common: &Common,
    io: &mut Io<'_>,
    target: &Target,
    letter: &str,
    list: Vec<InTheWay>,
) -> Result<Exit, ClientError> {
    let list: Vec<Obstacle> = list.into_iter().map(|it| obstacle(letter, it)).collect();
    if common.json {
        io.json(&serde_json::json!({ "issued": false, "letter": letter, "in_the_way": list }))?;
    } else {
        let sheet = cutting_screen::in_the_way(&target.design, letter, &list, io.width);
        io.show(&sheet)?;
    }
    Ok(Exit::FallsShort)
}

fn obstacle(letter: &str, it: InTheWay) -> Obstacle {
    let InTheWay { kind, subject, said } = it;
    let mend = match kind.as_str() {
        "CHECK_NOT_DONE" => "wait until batten revisions shows its verdict".to_owned(),
        "TO_BE_MEASURED" => "measure it, write it into the file, batten submit".to_owned(),
        "FAULT" => "batten check says why; batten submit when it is mended".to_owned(),
        "FALLS_SHORT" => {
            format!("batten why {subject}; or a keeper accepts it: batten concede {letter} {subject} CHECK REASON")
        }
        "SNAG_OPEN" => format!("mend it, batten submit; then whoever made it looks: batten clear {subject}"),
        "DISPOSITION" => format!("mend it, batten submit; then {subject} looks again: batten conclude"),
        _ => String::new(),
    };
    Obstacle { kind, subject, said, mend }
}

pub fn take_back(common: &Common, args: TakeBackArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let TakeBackArgs { letter, reason, design } = args;
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &design, io, &mut server)?;
    let body = v1::TakeBackCuttingStampRequest {
        group: target.group,
        design: target.design,
        letter: letter.to_uppercase(),
        reason,
    };
    let answer = server.call(body, async |channel, request| client(channel).take_back_cutting_stamp(request).await)?;
    let stamp = stamp(online::needed(answer.stamp, "stamp")?);
    if common.json {
        io.json(&stamp)?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Revision {} is not to be cut after all.", stamp.letter));
    cutting_screen::stamp_lines(&mut sheet, &stamp, &io.zone);
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// The stamp of a revision, and whether the server keeps its figures of it from whoever asks.
#[derive(Debug)]
pub struct Standing {
    /// `None` where it was never issued, or one may not know.
    pub stamp: Option<Stamp>,
    /// True where figures are withheld.
    pub withheld: bool,
}

/// How a revision stands; an empty letter is the latest.
pub fn standing(server: &mut Server, target: &Target, letter: &str) -> Result<Standing, ClientError> {
    let body = v1::GetRevisionRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter: letter.to_owned(),
    };
    let answer = server.call(body, async |channel, request| online::designs(channel).get_revision(request).await)?;
    let revision = online::needed(answer.revision, "revision")?;
    Ok(Standing { stamp: revision.stamp.map(stamp), withheld: revision.figures_withheld })
}

pub fn concede(common: &Common, args: ConcedeArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let ConcedeArgs { letter, tag, check, reason, design } = args;
    let kind = check_kind(&check)?;
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &design, io, &mut server)?;
    let body = v1::GrantConcessionRequest {
        group: target.group,
        design: target.design,
        letter: letter.to_uppercase(),
        tag,
        check_kind: kind,
        reason,
        request_id: request_id(),
    };
    let answer = server.call(body, async |channel, request| client(channel).grant_concession(request).await)?;
    let concession = wire::concession(online::needed(answer.concession, "concession")?)?;
    if common.json {
        io.json(&concession)?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    cutting_screen::concession(&mut sheet, &concession, &io.zone);
    sheet.paragraph("It is for this revision alone, and lapses when its utilisation rises.");
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn concessions(common: &Common, args: ConcessionsArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let ConcessionsArgs { letter, design } = args;
    let letter = letter.unwrap_or_default().to_uppercase();
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &design, io, &mut server)?;
    let wire = online::pages(|page_token| {
        let body = v1::ListConcessionsRequest {
            group: target.group.clone(),
            design: target.design.clone(),
            letter: letter.clone(),
            page_size: online::PAGE,
            page_token,
        };
        let answer = server.call(body, async |channel, request| client(channel).list_concessions(request).await)?;
        Ok((answer.concessions, answer.next_page_token))
    })?;
    let list: Vec<_> = wire.into_iter().map(wire::concession).collect::<Result<_, _>>()?;
    let Standing { stamp, withheld } = standing(&mut server, &target, &letter)?;
    if common.json {
        io.json(&serde_json::json!({
            "design": target.design, "concessions": list, "stamp": stamp, "figures_withheld": withheld,
        }))?;
        return Ok(Exit::Holds);
    }
    let of = if letter.is_empty() { "the latest revision".to_owned() } else { format!("revision {letter}") };
    let mut sheet = io.sheet();
    if list.is_empty() {
        sheet.paragraph(&format!("No finding of {of} of {} was accepted as it is.", target.design));
    } else {
        sheet.paragraph(&format!("Findings of {of} of {} that were accepted as they are", target.design));
    }
    for concession in &list {
        sheet.blank();
        cutting_screen::concession(&mut sheet, concession, &io.zone);
    }
    if let Some(stamp) = &stamp {
        sheet.blank();
        cutting_screen::stamp_lines(&mut sheet, stamp, &io.zone);
    }
    if withheld {
        sheet.paragraph(SAID);
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn as_built(common: &Common, args: AsBuiltArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let AsBuiltArgs { letter, note, masses, sags, design } = args;
    let masses: Vec<v1::MeasuredMass> = masses.iter().map(|text| mass(text)).collect::<Result<_, _>>()?;
    let sags: Vec<v1::MeasuredSag> = sags.iter().map(|text| sag(text)).collect::<Result<_, _>>()?;
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &design, io, &mut server)?;
    let body = v1::RecordAsBuiltRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter: letter.to_uppercase(),
        note: note.unwrap_or_default(),
        masses,
        sags,
        request_id: request_id(),
    };
    let answer = server.call(body, async |channel, request| client(channel).record_as_built(request).await)?;
    let built = wire::as_built(online::needed(answer.as_built, "record")?)?;
    let Standing { stamp, withheld } = standing(&mut server, &target, &built.letter)?;
    if common.json {
        io.json(&serde_json::json!({ "as_built": built, "stamp": stamp, "figures_withheld": withheld }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    cutting_screen::as_built(&mut sheet, &built, &io.zone);
    match &stamp {
        Some(stamp) => cutting_screen::stamp_lines(&mut sheet, stamp, &io.zone),
        None => sheet.paragraph(&format!("Revision {} was never issued for cutting.", built.letter)),
    }
    if withheld {
        sheet.paragraph(SAID);
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn as_builts(common: &Common, args: &DesignArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, args, io, &mut server)?;
    let wire = online::pages(|page_token| {
        let body = v1::ListAsBuiltsRequest {
            group: target.group.clone(),
            design: target.design.clone(),
            page_size: online::PAGE,
            page_token,
        };
        let answer = server.call(body, async |channel, request| client(channel).list_as_builts(request).await)?;
        Ok((answer.as_builts, answer.next_page_token))
    })?;
    let list: Vec<_> = wire.into_iter().map(wire::as_built).collect::<Result<_, _>>()?;
    let Standing { withheld, .. } = standing(&mut server, &target, "")?;
    if common.json {
        io.json(&serde_json::json!({ "design": target.design, "as_builts": list, "figures_withheld": withheld }))?;
        return Ok(Exit::Holds);
    }
    let mut stamps = Vec::new();
    for letter in list.iter().map(|built| &built.letter).collect::<BTreeSet<_>>().into_iter().take(MOST_STAMPS) {
        stamps.extend(standing(&mut server, &target, letter)?.stamp);
    }
    let mut sheet = io.sheet();
    if list.is_empty() {
        sheet.paragraph(&format!("Nothing is recorded of {} as built.", target.design));
        sheet.hanging("Next: ", "batten as-built LETTER --mass frame=31.5kg");
    } else {
        sheet.paragraph(&format!("{} as built, the newest record first", target.design));
    }
    for built in &list {
        sheet.blank();
        cutting_screen::as_built(&mut sheet, built, &io.zone);
    }
    for warning in stamps.iter().filter_map(cutting_screen::warning) {
        sheet.paragraph(&warning);
    }
    if withheld {
        sheet.paragraph(SAID);
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// A check by the name that a table or the server gives it, e.g. `sag in the end` or `sag-final`.
fn check_kind(typed: &str) -> Result<i32, ClientError> {
    let plain = |text: &str| text.trim().to_lowercase().replace(['-', '_'], " ");
    let wanted = plain(typed);
    let numbers = (1..i32::from(u8::MAX)).map_while(|number| Some((number, convert::check_kind_from_wire(number)?)));
    let known: Vec<(i32, CheckKind)> = numbers.collect();
    let found =
        known.iter().find(|(_, kind)| plain(words::check_name(*kind)) == wanted || plain(word(*kind)) == wanted);
    found.map(|(number, _)| *number).ok_or_else(|| {
        let names: Vec<String> = known.iter().map(|(_, kind)| word(*kind).to_lowercase().replace('_', "-")).collect();
        ClientError::usage(format!("`{typed}` is no check"), names.join(", "))
    })
}

/// A check's own word on the wire: `SAG_FINAL`.
fn word(kind: CheckKind) -> &'static str {
    let number = (1..i32::from(u8::MAX)).find(|number| convert::check_kind_from_wire(*number) == Some(kind));
    let name = number.and_then(|number| v1::CheckKind::try_from(number).ok()).map_or("", |kind| kind.as_str_name());
    name.trim_start_matches("CHECK_KIND_")
}

fn read(text: &str, kind: unit::Kind) -> Result<f64, ClientError> {
    quantity(text, kind).map_err(|fault| ClientError::Usage { message: fault.to_string(), hint: fault.mend() })
}

/// `frame=31.5kg`, `stock:45x70=12kg`, `kind:bearer=7kg`.
fn mass(text: &str) -> Result<v1::MeasuredMass, ClientError> {
    let wrong = || {
        let hint = "frame=31.5kg, stock:45x70=12kg or kind:bearer=7kg";
        ClientError::usage(format!("`{text}` says no mass of anything"), hint)
    };
    let (what, kilograms) = text.rsplit_once('=').ok_or_else(wrong)?;
    let (of, name) = match what.split_once(':') {
        None if what.trim() == "frame" => (v1::MassOf::Frame, ""),
        Some(("stock", name)) => (v1::MassOf::Stock, name),
        Some(("kind", name)) => (v1::MassOf::Kind, name),
        _ => return Err(wrong()),
    };
    let mass_kg = read(kilograms, unit::Kind::Mass)?;
    Ok(v1::MeasuredMass { of: of.into(), name: name.trim().to_owned(), mass_kg, computed_mass_kg: None })
}

/// `B3@600:100kg=4mm`.
fn sag(text: &str) -> Result<v1::MeasuredSag, ClientError> {
    let wrong = || {
        let hint = "TAG@PLACE:MASS=SAG, e.g. B3@600:100kg=4mm";
        ClientError::usage(format!("`{text}` says no sag of a member"), hint)
    };
    let (under, sag) = text.rsplit_once('=').ok_or_else(wrong)?;
    let (place, load) = under.rsplit_once(':').ok_or_else(wrong)?;
    let (tag, at) = place.rsplit_once('@').ok_or_else(wrong)?;
    Ok(v1::MeasuredSag {
        tag: tag.trim().to_owned(),
        at_mm: read(at, unit::Kind::Length)?,
        load_kg: read(load, unit::Kind::Mass)?,
        sag_mm: read(sag, unit::Kind::Length)?,
        computed_sag_mm: None,
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn a_check_is_found_by_each_of_its_names() {
        let wanted = i32::from(v1::CheckKind::SagFinal);
        for name in ["sag-final", "sag_final", "SAG FINAL", "sag in the end"] {
            assert_eq!(check_kind(name).unwrap(), wanted, "{name}");
        }
        // Every kind of the wire is reached.
        assert_eq!(check_kind("frequency").unwrap(), i32::from(v1::CheckKind::Frequency));
        let hint = check_kind("looks odd").unwrap_err().hint().unwrap();
        assert!(hint.contains("bending") && hint.contains("lateral-buckling"), "{hint}");
    }

    #[test]
    fn measurements_are_typed_in_one_word() {
        let frame = mass("frame=31.5kg").unwrap();
        assert_eq!((frame.of(), frame.mass_kg), (v1::MassOf::Frame, 31.5));
        let stock = mass("stock:45x70=12 kg").unwrap();
        assert_eq!((stock.of(), stock.name.as_str(), stock.mass_kg), (v1::MassOf::Stock, "45x70", 12.0));
        let bearer = mass("kind:bearer=7").unwrap();
        assert_eq!((bearer.of(), bearer.name.as_str()), (v1::MassOf::Kind, "bearer"));
        let found = sag("B3@60cm:100kg=4mm").unwrap();
        assert_eq!((found.tag.as_str(), found.at_mm, found.load_kg, found.sag_mm), ("B3", 600.0, 100.0, 4.0));
        for wrong in ["", "frame", "deck=3kg", "frame=heavy", "stock=3kg"] {
            assert!(mass(wrong).is_err(), "{wrong}");
        }
        for wrong in ["", "B3=4mm", "B3@600=4mm", "B3:100kg=4mm", "B3@600:100kg", "B3@600:100mm=4mm"] {
            assert!(sag(wrong).is_err(), "{wrong}");
        }
    }
}
