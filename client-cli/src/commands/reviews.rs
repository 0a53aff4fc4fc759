//! Second opinions: what was looked at and how, what is concluded, sums of one's own, and where it all stands.

mod wire;

use super::online::{self, Target};
use super::{Common, cutting, remarks, why, withheld};
use crate::args::{BeginOrEnd, ConcludeArgs, Concluded, How, LookedAtArgs, OwnSumsArgs, ReviewArgs};
use crate::connect::Channel;
use crate::connect::{self, MESSAGE_LIMIT, Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::review_screen;
use crate::review::Review;
use crate::sidecar::Sidecar;
use battenboard_designfile::{quantity, unit};
use battenboard_proto::v1;
use battenboard_proto::v1::review_service_client::ReviewServiceClient;
use clap::ValueEnum;

/// Most items the server takes at a time.
const AT_ONCE: usize = 500;

fn client(channel: Channel) -> ReviewServiceClient<Channel> {
    ReviewServiceClient::new(channel).max_decoding_message_size(MESSAGE_LIMIT)
}

pub fn looked_at(common: &Common, args: &LookedAtArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let own_utilisation = args.own_utilisation.as_deref().map(share).transpose()?;
    let own_sag_mm = args.own_sag.as_deref().map(length).transpose()?;
    let kind = match args.how {
        How::Only => v1::LookKind::LookedAtOnly,
        How::Servers => v1::LookKind::ServersSums,
        How::Own => v1::LookKind::OwnSums,
    };
    if kind != v1::LookKind::OwnSums && (own_utilisation.is_some() || own_sag_mm.is_some()) {
        return Err(ClientError::usage("a figure of your own goes with sums of your own", "add --how own"));
    }
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &args.design, io, &mut server)?;
    let wanted = args.letter.clone().unwrap_or_default().to_uppercase();
    let (letter, places) = places(&mut server, &target, &wanted, &args.tags)?;
    let mut review = None;
    for places in places.chunks(AT_ONCE) {
        let body = v1::MarkLookedAtRequest {
            group: target.group.clone(),
            design: target.design.clone(),
            letter: letter.clone(),
            places: places.to_vec(),
            kind: kind.into(),
            own_utilisation,
            own_sag_mm,
            note: args.note.clone().unwrap_or_default(),
            request_id: request_id(),
        };
        let answer = server.call(body, async |channel, request| client(channel).mark_looked_at(request).await)?;
        review = answer.review;
    }
    let review = wire::review(online::needed(review, "review")?)?;
    show(common, io, &mut server, &target, sidecar.as_ref(), &review)
}

/// The items of these tags, each once, and the letter they were looked up in.
fn places(
    server: &mut Server,
    target: &Target,
    letter: &str,
    tags: &[String],
) -> Result<(String, Vec<v1::Place>), ClientError> {
    let (letter, design) = remarks::drawn(server, target, letter)?;
    let mut found: Vec<v1::Place> = Vec::new();
    for typed in tags {
        let known = why::known_tag(&design, typed);
        let tags = if known.is_err() && typed.eq_ignore_ascii_case("all") {
            design.members.iter().map(|member| member.tag.clone()).collect()
        } else {
            vec![known?]
        };
        for tag in tags {
            let kind = remarks::place_kind(&design, &tag).into();
            let place = v1::Place { kind, tag, at_mm: None };
            if !found.contains(&place) {
                found.push(place);
            }
        }
    }
    Ok((letter, found))
}

pub fn conclude(common: &Common, args: ConcludeArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let ConcludeArgs { disposition, note, members, letter, design } = args;
    let members: Vec<v1::MemberDisposition> = members.iter().map(|text| member(text)).collect::<Result<_, _>>()?;
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let body = v1::ConcludeReviewRequest {
        group: target.group.clone(),
        design: target.design.clone(),
        letter: letter.unwrap_or_default().to_uppercase(),
        disposition: concluded(disposition).into(),
        note: note.unwrap_or_default(),
        members,
        request_id: request_id(),
    };
    let answer = server.call(body, async |channel, request| client(channel).conclude_review(request).await)?;
    let review = wire::review(online::needed(answer.review, "review")?)?;
    show(common, io, &mut server, &target, sidecar.as_ref(), &review)
}

pub fn review(common: &Common, args: ReviewArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &args.design, io, &mut server)?;
    let letter = args.letter.unwrap_or_default().to_uppercase();
    let review = of_revision(&mut server, &target, &letter)?;
    show(common, io, &mut server, &target, sidecar.as_ref(), &review)
}

/// Where the review of a revision stands; an empty letter is the latest.
pub fn of_revision(server: &mut Server, target: &Target, letter: &str) -> Result<Review, ClientError> {
    let body =
        v1::GetReviewRequest { group: target.group.clone(), design: target.design.clone(), letter: letter.to_owned() };
    let answer = server.call(body, async |channel, request| client(channel).get_review(request).await)?;
    wire::review(online::needed(answer.review, "review")?)
}

fn show(
    common: &Common,
    io: &mut Io<'_>,
    server: &mut Server,
    target: &Target,
    sidecar: Option<&Sidecar>,
    review: &Review,
) -> Result<Exit, ClientError> {
    if let Some(sidecar) = sidecar {
        sidecar.keep_withheld(review.figures_withheld)?;
    }
    let stamp = cutting::standing(server, target, &review.letter)?.stamp;
    if common.json {
        let said = review.figures_withheld.then_some(withheld::SAID);
        io.json(&serde_json::json!({
            "group": target.group, "design": target.design, "review": review, "stamp": stamp, "said": said,
        }))?;
        return Ok(Exit::Holds);
    }
    let said = review.figures_withheld.then_some(withheld::SAID);
    let sheet = review_screen::review(&target.design, review, stamp.as_ref(), said, &io.zone, io.width);
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn own_sums(common: &Common, args: OwnSumsArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let OwnSumsArgs { what, reason, design } = args;
    if what == BeginOrEnd::Begin && reason.is_some() {
        return Err(ClientError::usage("a reason is for the end", "batten own-sums end --reason TEXT"));
    }
    let mut server = online::connect(common, io)?;
    let (target, sidecar) = online::target(common, &design, io, &mut server)?;
    let begin = what == BeginOrEnd::Begin;
    let answer = if begin {
        let body = v1::BeginOwnSumsRequest { group: target.group.clone(), design: target.design.clone() };
        server.call(body, async |channel, request| client(channel).begin_own_sums(request).await)?.own_sums
    } else {
        let reason = reason.unwrap_or_default();
        let body = v1::EndOwnSumsRequest { group: target.group.clone(), design: target.design.clone(), reason };
        end(&mut server, sidecar.as_ref(), body)?.own_sums
    };
    if let Some(sidecar) = &sidecar {
        sidecar.keep_withheld(begin)?;
    }
    let sums = wire::own_sums(online::needed(answer, "own sums")?);
    if common.json {
        let said = begin.then_some(withheld::SAID);
        io.json(&serde_json::json!({ "own_sums": sums, "figures_withheld": begin, "said": said }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    if begin {
        sheet.paragraph(withheld::SAID);
        sheet.hanging("Next: ", "batten looked-at TAG --how own --own-utilisation 65% --own-sag 4mm");
    } else {
        let how = if sums.figures_in { "with figures of your own" } else { "without figures of your own" };
        sheet.paragraph(&format!("Your own sums on {} are ended, {how}; the server shows its figures.", target.design));
        sheet.hanging("Next: ", "batten review shows your figures beside the server's");
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

fn end(
    server: &mut Server,
    sidecar: Option<&Sidecar>,
    body: v1::EndOwnSumsRequest,
) -> Result<v1::EndOwnSumsResponse, ClientError> {
    let answer = server.call_for_status(body, async |channel, request| client(channel).end_own_sums(request).await)?;
    answer.or_else(|status| {
        // Ended elsewhere: nothing is kept from him here any more either.
        if let Some(sidecar) = sidecar.filter(|_| connect::is_wrong_state(&status)) {
            sidecar.keep_withheld(false)?;
        }
        Err(connect::refused(server.url(), &status))
    })
}

/// `65%` or `0.65`. A bare number over 10 is a slip: no sums end at ten times what a member can carry.
fn share(text: &str) -> Result<f64, ClientError> {
    let wrong = || ClientError::usage(format!("`{text}` is no utilisation"), "say `65%` or `0.65`");
    let trimmed = text.trim();
    let (number, percent) = match trimmed.strip_suffix('%') {
        Some(number) => (number.trim_end(), true),
        None => (trimmed, false),
    };
    let number: f64 = number.parse().map_err(|_| wrong())?;
    let share = if percent { number / 100.0 } else { number };
    if !share.is_finite() || share < 0.0 || (!percent && share > 10.0) {
        return Err(wrong());
    }
    Ok(share)
}

fn length(text: &str) -> Result<f64, ClientError> {
    quantity(text, unit::Kind::Length)
        .map_err(|fault| ClientError::Usage { message: fault.to_string(), hint: fault.mend() })
}

/// `B3=with-changes:"heart side up"`.
fn member(text: &str) -> Result<v1::MemberDisposition, ClientError> {
    let wrong = || {
        let hint = "TAG=cut-it, with-changes, change or do-not-build, and :NOTE if there is one";
        ClientError::usage(format!("`{text}` says no disposition of a member"), hint)
    };
    let (tag, rest) = text.split_once('=').ok_or_else(wrong)?;
    let (word, note) = rest.split_once(':').unwrap_or((rest, ""));
    let disposition = Concluded::from_str(word.trim(), true).map_err(|_| wrong())?;
    if tag.trim().is_empty() {
        return Err(wrong());
    }
    Ok(v1::MemberDisposition {
        tag: tag.trim().to_owned(),
        disposition: concluded(disposition).into(),
        note: note.trim().trim_matches('"').to_owned(),
    })
}

fn concluded(what: Concluded) -> v1::Disposition {
    match what {
        Concluded::CutIt => v1::Disposition::CutIt,
        Concluded::WithChanges => v1::Disposition::CutItWithChanges,
        Concluded::Change => v1::Disposition::ChangeAndSendAgain,
        Concluded::DoNotBuild => v1::Disposition::DoNotBuild,
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;

    #[test]
    fn a_share_is_typed_in_per_cent_or_of_one() {
        for (typed, share_of_one) in [("65%", 0.65), ("65 %", 0.65), ("0.65", 0.65), ("120%", 1.2), ("0", 0.0)] {
            assert_eq!(share(typed).unwrap(), share_of_one, "{typed}");
        }
        for wrong in ["65", "-1%", "", "%", "inf", "NaN", "much"] {
            assert!(share(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_member_that_differs_is_one_word() {
        let read = |text: &str| member(text).map(|it| (it.tag.clone(), it.disposition(), it.note)).unwrap();
        let with = v1::Disposition::CutItWithChanges;
        assert_eq!(read("B3=with-changes:\"heart: up\""), ("B3".into(), with, "heart: up".into()));
        assert_eq!(read("RL/B3=do-not-build"), ("RL/B3".into(), v1::Disposition::DoNotBuild, String::new()));
        for wrong in ["B3", "=cut-it", "B3=", "B3=maybe", "B3:cut-it"] {
            assert!(member(wrong).is_err(), "{wrong}");
        }
    }
}
