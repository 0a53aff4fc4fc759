//! `proof-load`: a doubt as a load with a limit, for the server to run on every revision, or here and now on the file.

use super::online;
use super::{Common, remarks, why};
use crate::args::{Kind, ProofLoadArgs, Stay, Way};
use crate::connect::request_id;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::file;
use crate::io::Io;
use crate::output::{places, proof_screen};
use battenboard_designfile::{quantity, size, unit};
use battenboard_engine::proof::{Lasts, Press, ProofLoad, ProofOutcome, SagWhen, Target, prove};
use battenboard_proto::{convert, v1};

pub fn run(common: &Common, args: ProofLoadArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    // Everything that was typed is understood before anybody is asked.
    let typed = Typed::read(&args)?;
    if args.here { here(common, &args, &typed, io) } else { at_the_server(common, args, &typed, io) }
}

/// What was typed, as numbers.
struct Typed {
    press: Press,
    at: At,
    patch_mm: Option<[f64; 2]>,
    most_sag_mm: Option<f64>,
    most_utilisation: Option<f64>,
    sag: SagWhen,
    lasts: Lasts,
}

enum At {
    Along(f64),
    Point([f64; 2]),
}

fn number(text: &str, kind: unit::Kind) -> Result<f64, ClientError> {
    quantity(text, kind).map_err(|fault| ClientError::Usage { message: fault.to_string(), hint: fault.mend() })
}

impl Typed {
    fn read(args: &ProofLoadArgs) -> Result<Self, ClientError> {
        let at = match args.at.split_once(',') {
            Some((x, y)) => At::Point([number(x, unit::Kind::Length)?, number(y, unit::Kind::Length)?]),
            None => At::Along(number(&args.at, unit::Kind::Length)?),
        };
        let patch = args.patch.as_deref().map(|text| {
            size(text).map_err(|fault| ClientError::Usage { message: fault.to_string(), hint: fault.mend() })
        });
        Ok(Self {
            press: press(&args.load, args.way)?,
            at,
            patch_mm: patch.transpose()?.map(|(x, y)| [x, y]),
            most_sag_mm: args.most_sag.as_deref().map(|text| number(text, unit::Kind::Length)).transpose()?,
            most_utilisation: args.most_used.as_deref().map(share).transpose()?,
            sag: if args.last { SagWhen::Final } else { SagWhen::AtOnce },
            lasts: match args.stays {
                Stay::Long => Lasts::Long,
                Stay::Medium => Lasts::Medium,
                Stay::Short => Lasts::Short,
                Stay::Instant => Lasts::Instantaneous,
            },
        })
    }

    /// The load on what its tag names.
    fn on(&self, tag: &str, kind: v1::PlaceKind) -> Result<ProofLoad, ClientError> {
        let tag = tag.to_owned();
        let target = match (kind, &self.at) {
            (v1::PlaceKind::Member, At::Along(at_mm)) => {
                if self.patch_mm.is_some() {
                    return Err(ClientError::usage("a patch is for decks", "leave out --patch"));
                }
                Target::Member { tag, at_mm: *at_mm }
            }
            (v1::PlaceKind::Member, At::Point(_)) => {
                let message = format!("`{tag}` is a member: its place is a distance from its marked end");
                return Err(ClientError::usage(message, "for example --at 600"));
            }
            (v1::PlaceKind::Deck, At::Point(at_mm)) => Target::Deck { tag, at_mm: *at_mm, patch_mm: self.patch_mm },
            (v1::PlaceKind::Deck, At::Along(_)) => {
                let message = format!("`{tag}` is a deck: its place is a point, x and y in the vehicle");
                return Err(ClientError::usage(message, "for example --at 1500,0"));
            }
            _ => {
                let message = format!("`{tag}` is neither a member nor a deck");
                return Err(ClientError::usage(message, "put the load on a member beside it"));
            }
        };
        let Self { press, most_sag_mm, most_utilisation, sag, lasts, .. } = *self;
        let load = ProofLoad { target, press, most_sag_mm, most_utilisation, sag, lasts };
        match load.faults().into_iter().next() {
            Some(fault) => Err(ClientError::Usage { message: fault.message, hint: fault.mend }),
            None => Ok(load),
        }
    }
}

fn exit_of(outcome: ProofOutcome) -> Exit {
    match outcome {
        ProofOutcome::Passed => Exit::Holds,
        ProofOutcome::Failed => Exit::FallsShort,
        ProofOutcome::CannotBeRun => Exit::NotChecked,
    }
}

/// A mass that stands there, or a force that points somewhere. A bare number is kilograms.
fn press(text: &str, way: Way) -> Result<Press, ClientError> {
    if let Ok(mass_kg) = quantity(text, unit::Kind::Mass) {
        if way != Way::Down {
            return Err(ClientError::usage("a mass presses down", "for another way say a force, e.g. 900N"));
        }
        return Ok(Press::Mass(mass_kg));
    }
    let force = quantity(text, unit::Kind::Force).map_err(|_| {
        ClientError::usage(format!("`{text}` is no load"), "a mass, e.g. 100kg, or a force, e.g. 900N or 1.2kN")
    })?;
    Ok(Press::Force(match way {
        Way::Down => [0.0, 0.0, -force],
        Way::Up => [0.0, 0.0, force],
        Way::Front => [-force, 0.0, 0.0],
        Way::Rear => [force, 0.0, 0.0],
        Way::Left => [0.0, -force, 0.0],
        Way::Right => [0.0, force, 0.0],
    }))
}

/// `80%` or `0.8`.
fn share(text: &str) -> Result<f64, ClientError> {
    let trimmed = text.trim();
    match trimmed.strip_suffix('%') {
        Some(percent) => Ok(number(percent, unit::Kind::Factor)? / 100.0),
        None => number(trimmed, unit::Kind::Factor),
    }
}

fn here(common: &Common, args: &ProofLoadArgs, typed: &Typed, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let loaded = file::load(io, common.file())?;
    let tag = why::known_tag(&loaded.design, &args.tag)?;
    let kind = if places::member(&loaded.design, &tag).is_some() {
        v1::PlaceKind::Member
    } else {
        remarks::place_kind(&loaded.design, &tag)
    };
    let load = typed.on(&tag, kind)?;
    let results = prove(&loaded.frame, std::slice::from_ref(&load), &|| false)?;
    let result = online::needed(results.into_iter().next(), "result")?;
    let exit = exit_of(result.outcome);
    if common.json {
        io.json(&serde_json::json!({ "proof_load": load, "result": result }))?;
    } else {
        let mut sheet = io.sheet();
        proof_screen::answer(&mut sheet, &load, &result);
        io.show(&sheet)?;
    }
    Ok(exit)
}

fn at_the_server(common: &Common, args: ProofLoadArgs, typed: &Typed, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let ProofLoadArgs { tag, text, kind, letter, design, .. } = args;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let letter = letter.unwrap_or_default().to_uppercase();
    let mut place = remarks::place(&mut server, &target, &letter, &tag, None)?;
    let place_kind = v1::PlaceKind::try_from(place.kind).unwrap_or_default();
    let load = typed.on(&place.tag, place_kind)?;
    if let Target::Member { at_mm, .. } = &load.target {
        place.at_mm = Some(*at_mm);
    }
    let body = v1::CreateRemarkRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter,
        place: Some(place),
        kind: remark_kind(kind) as i32,
        text: text.unwrap_or_default(),
        request_id: request_id(),
        proof_load: Some(convert::proof_load_to_wire(&load)),
    };
    let answer = server.call(body, async |channel, request| remarks::client(channel).create_remark(request).await)?;
    let remark = online::remark(online::needed(answer.remark, "remark")?)?;
    remarks::done(common, io, &mut server, &target, sidecar.as_ref(), &remark)?;
    // The remark is made either way; the number for scripts is that of its load on its own revision.
    let result = remark.proof.as_ref().and_then(|proof| proof.results.first()).and_then(|row| row.result.as_ref());
    Ok(result.map_or(Exit::NotChecked, |result| exit_of(result.outcome)))
}

fn remark_kind(kind: Kind) -> v1::RemarkKind {
    match kind {
        Kind::Snag => v1::RemarkKind::Snag,
        Kind::Advice => v1::RemarkKind::Advice,
        Kind::Question => v1::RemarkKind::Question,
        Kind::WellMade => v1::RemarkKind::WellMade,
    }
}
