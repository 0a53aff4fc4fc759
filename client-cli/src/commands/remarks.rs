//! Remarks: make one, list them, answer, clear, raise again, set aside.

use super::online::{self, Target};
use super::{Common, why};
use crate::args::{AnswerArgs, ClearArgs, Kind, RemarkArgs, RemarksArgs};
use crate::connect::Channel;
use crate::connect::{MESSAGE_LIMIT, Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::{places, remarks_screen, standings, times};
use crate::remark::{Remark, RemarkState};
use crate::sidecar::{KeptRemarks, Sidecar};
use battenboard_designfile::{quantity, unit};
use battenboard_engine::design::Design;
use battenboard_proto::v1::remark_service_client::RemarkServiceClient;
use battenboard_proto::{convert, v1};

pub fn client(channel: Channel) -> RemarkServiceClient<Channel> {
    RemarkServiceClient::new(channel).max_decoding_message_size(MESSAGE_LIMIT)
}

pub fn remark(common: &Common, args: RemarkArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let RemarkArgs { tag, text, kind, at, letter, design } = args;
    let at_mm = at
        .map(|at| {
            quantity(&at, unit::Kind::Length)
                .map_err(|fault| ClientError::Usage { message: fault.to_string(), hint: fault.mend() })
        })
        .transpose()?;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let letter = letter.unwrap_or_default().to_uppercase();
    let place = place(&mut server, &target, &letter, &tag, at_mm)?;
    let kind = match kind {
        Kind::Snag => v1::RemarkKind::Snag,
        Kind::Advice => v1::RemarkKind::Advice,
        Kind::Question => v1::RemarkKind::Question,
        Kind::WellMade => v1::RemarkKind::WellMade,
    };
    let body = v1::CreateRemarkRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter,
        place: Some(place),
        kind: kind as i32,
        text,
        request_id: request_id(),
        proof_load: None,
    };
    let answer = server.call(body, async |channel, request| client(channel).create_remark(request).await)?;
    let remark = online::remark(online::needed(answer.remark, "remark")?)?;
    if !common.json && !answer.latest_letter.is_empty() && answer.latest_letter != remark.letter {
        io.note(&standings::newer(&remark, &answer.latest_letter));
    }
    done(common, io, &mut server, &target, sidecar.as_ref(), &remark)
}

/// Where a remark belongs: the tag is looked up in the revision itself, so that a slip of the pen is found here.
pub fn place(
    server: &mut Server,
    target: &Target,
    letter: &str,
    tag: &str,
    at_mm: Option<f64>,
) -> Result<v1::Place, ClientError> {
    if why::WHOLE.contains(&tag) {
        return Ok(v1::Place { kind: v1::PlaceKind::Whole as i32, tag: String::new(), at_mm: None });
    }
    let (_, design) = drawn(server, target, letter)?;
    let tag = why::known_tag(&design, tag)?;
    let kind = place_kind(&design, &tag);
    if at_mm.is_some() && kind != v1::PlaceKind::Member {
        return Err(ClientError::usage(format!("`{tag}` is no member, so it has no length"), "leave out --at"));
    }
    Ok(v1::Place { kind: kind as i32, tag, at_mm })
}

/// The letter and the design of a revision; an empty letter is the latest.
pub fn drawn(server: &mut Server, target: &Target, letter: &str) -> Result<(String, Design), ClientError> {
    let body = v1::GetRevisionBodyRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter: letter.to_owned(),
    };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).get_revision_body(request).await)?;
    let design = convert::frame_from_wire(online::needed(answer.frame, "frame")?).map_err(|violations| {
        ClientError::Shape { cause: violations.first().map_or_else(String::new, ToString::to_string) }
    })?;
    Ok((online::needed(answer.revision, "revision")?.letter, design))
}

/// What the item of a known tag is.
pub fn place_kind(design: &Design, tag: &str) -> v1::PlaceKind {
    if places::member(design, tag).is_some() {
        v1::PlaceKind::Member
    } else if design.decks.iter().any(|deck| deck.tag == tag) {
        v1::PlaceKind::Deck
    } else if design.joints.iter().any(|joint| places::joint_tag(joint) == tag) {
        v1::PlaceKind::Joint
    } else {
        v1::PlaceKind::Anchor
    }
}

pub fn answer(common: &Common, args: AnswerArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let AnswerArgs { number, text, design } = args;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let remark = Some(reference(&target, number));
    let body = v1::AnswerRemarkRequest { remark, text, request_id: request_id() };
    let answer = server.call(body, async |channel, request| client(channel).answer_remark(request).await)?;
    let remark = online::remark(online::needed(answer.remark, "remark")?)?;
    done(common, io, &mut server, &target, sidecar.as_ref(), &remark)
}

pub fn clear(common: &Common, args: ClearArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let ClearArgs { number, text, design } = args;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let remark = Some(reference(&target, number));
    let body = v1::ClearRemarkRequest { remark, note: text.unwrap_or_default(), request_id: request_id() };
    let answer = server.call(body, async |channel, request| client(channel).clear_remark(request).await)?;
    let remark = online::remark(online::needed(answer.remark, "remark")?)?;
    done(common, io, &mut server, &target, sidecar.as_ref(), &remark)
}

pub fn raise_again(common: &Common, args: AnswerArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let AnswerArgs { number, text, design } = args;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let remark = Some(reference(&target, number));
    let body = v1::RaiseRemarkAgainRequest { remark, text, request_id: request_id() };
    let answer = server.call(body, async |channel, request| client(channel).raise_remark_again(request).await)?;
    let remark = online::remark(online::needed(answer.remark, "remark")?)?;
    done(common, io, &mut server, &target, sidecar.as_ref(), &remark)
}

pub fn set_aside(common: &Common, args: AnswerArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let AnswerArgs { number, text, design } = args;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let remark = Some(reference(&target, number));
    let body = v1::SetRemarkAsideRequest { remark, reason: text, request_id: request_id() };
    let answer = server.call(body, async |channel, request| client(channel).set_remark_aside(request).await)?;
    let remark = online::remark(online::needed(answer.remark, "remark")?)?;
    done(common, io, &mut server, &target, sidecar.as_ref(), &remark)
}

fn reference(target: &Target, number: i64) -> v1::RemarkReference {
    use v1::remark_reference::By;
    let number = v1::RemarkNumber { group: target.group.clone(), design: target.design.clone(), number };
    v1::RemarkReference { by: Some(By::Number(number)) }
}

/// Shows the remark as it is now, and brings what the folder remembers up to date.
pub fn done(
    common: &Common,
    io: &mut Io<'_>,
    server: &mut Server,
    target: &Target,
    sidecar: Option<&Sidecar>,
    remark: &Remark,
) -> Result<Exit, ClientError> {
    if let Some(sidecar) = sidecar {
        let remarks = all(server, target, "")?;
        sidecar.keep_remarks(&KeptRemarks { kept_us: (io.now)().as_microsecond(), remarks })?;
    }
    if common.json {
        io.json(remark)?;
    } else {
        let mut sheet = io.sheet();
        remarks_screen::one(&mut sheet, remark, &io.zone);
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

/// All remarks of a design as they stand on the revision of a letter (empty: the latest), newest first.
pub fn all(server: &mut Server, target: &Target, as_of: &str) -> Result<Vec<Remark>, ClientError> {
    let wire = online::pages(|page_token| {
        let body = v1::ListRemarksRequest {
            group: target.group.clone(),
            design: target.design.clone(),
            letter: String::new(),
            states: Vec::new(),
            page_size: online::PAGE,
            page_token,
            as_of_letter: as_of.to_owned(),
            // Sorted out here: the folder keeps them all.
            tag: String::new(),
        };
        let answer = server.call(body, async |channel, request| client(channel).list_remarks(request).await)?;
        Ok((answer.remarks, answer.next_page_token))
    })?;
    wire.into_iter().map(online::remark).collect()
}

pub fn list(common: &Common, args: &RemarksArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let as_of = args.as_of.as_ref().map(|letter| letter.to_uppercase()).unwrap_or_default();
    let fresh = online::connect(common, io).and_then(|mut server| {
        let (target, sidecar) = online::target(common, &args.design, io, &mut server)?;
        let remarks = all(&mut server, &target, &as_of)?;
        Ok((target, sidecar, remarks))
    });
    match fresh {
        Ok((target, sidecar, remarks)) => {
            let kept = KeptRemarks { kept_us: (io.now)().as_microsecond(), remarks };
            // What is kept is as of the latest revision.
            if let Some(sidecar) = sidecar.filter(|_| as_of.is_empty()) {
                sidecar.keep_remarks(&kept)?;
            }
            show(common, args, io, &target.design, &kept)?;
            Ok(Exit::Holds)
        }
        // Without network the last known ones are read, with their age.
        Err(error @ ClientError::Unreachable { .. }) => {
            if !as_of.is_empty() {
                io.note("How remarks stood on an older revision is known to the server only.");
                return Err(error);
            }
            let Some((sidecar, Some(home))) = online::sidecar(common, io)? else { return Err(error) };
            let Some(kept) = sidecar.remarks()? else { return Err(error) };
            io.note(&format!("{error}; these are the remarks as of {}", times::ago(kept.kept_us, (io.now)())));
            show(common, args, io, &home.design, &kept)?;
            Ok(error.exit())
        }
        Err(error) => Err(error),
    }
}

fn show(
    common: &Common,
    args: &RemarksArgs,
    io: &mut Io<'_>,
    design: &str,
    kept: &KeptRemarks,
) -> Result<(), ClientError> {
    let letter = args.letter.as_ref().map(|letter| letter.to_uppercase());
    let wanted: Vec<Remark> = kept
        .remarks
        .iter()
        .filter(|remark| !args.open || !matches!(remark.state, RemarkState::Cleared | RemarkState::SetAside))
        .filter(|remark| letter.as_ref().is_none_or(|letter| remark.letter == *letter))
        .filter(|remark| args.on.as_ref().is_none_or(|tag| remark.is_on(tag)))
        .cloned()
        .collect();
    if common.json {
        return io.json(&serde_json::json!({ "design": design, "as_of_us": kept.kept_us, "remarks": wanted }));
    }
    let sheet = remarks_screen::remarks(design, &wanted, &io.zone, io.width);
    io.show(&sheet)
}
