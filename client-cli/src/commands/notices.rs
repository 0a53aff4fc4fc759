//! Notices: ask for a second opinion, read the noticeboard, take up, hand back, take down, end a look.

use super::Common;
use super::online;
use crate::args::{AskArgs, EndLookArgs, NoticeArgs, NoticesArgs, RecordArgs};
use crate::connect::Channel;
use crate::connect::{Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::notice::{Notice, NoticeState, Record, TakeUp, TakeUpEnd};
use crate::output::notices_screen;
use battenboard_proto::v1;
use battenboard_proto::v1::notice_service_client::NoticeServiceClient;
use jiff::civil::Date;

fn client(channel: Channel) -> NoticeServiceClient<Channel> {
    NoticeServiceClient::new(channel)
}

pub fn ask(common: &Common, args: AskArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let AskArgs { worry, kind, by, vehicle, skills, reviewers, letter, design } = args;
    let end = end_of_day(&by, &io.zone)?;
    let mut server = online::connect(common, io)?;
    let (target, _) = online::target(common, &design, io, &mut server)?;
    let body = v1::HangNoticeRequest {
        group: target.group,
        design: target.design,
        letter: letter.unwrap_or_default().to_uppercase(),
        worry,
        vehicle: vehicle.unwrap_or_default(),
        frame_kind: kind,
        skills,
        expire_time: Some(end),
        most_takers: reviewers.unwrap_or(0),
        request_id: request_id(),
    };
    let answer = server.call(body, async |channel, request| client(channel).hang_notice(request).await)?;
    let notice = notice(online::needed(answer.notice, "notice")?)?;
    let head = format!("Notice {} hangs on the noticeboard.", notice.code);
    let next = format!("batten notices --ours shows who took it up; batten take-down {} ends it", notice.code);
    one(common, io, &head, &notice, &next)
}

pub fn list(common: &Common, args: NoticesArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let NoticesArgs { vehicle, kind, skill, since, before, ours, group } = args;
    let since = since.map(|day| start_of_day(&day, &io.zone)).transpose()?;
    let before = before.map(|day| start_of_day(&day, &io.zone)).transpose()?;
    let mut server = online::connect(common, io)?;
    if ours {
        let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
        let group = online::group(&mut server, &group, home.as_ref())?;
        let list = of_group(&mut server, &group)?;
        if common.json {
            io.json(&serde_json::json!({ "group": group, "notices": list }))?;
        } else {
            let sheet = notices_screen::ours(&group, &list, (io.now)(), &io.zone, io.width);
            io.show(&sheet)?;
        }
        return Ok(Exit::Holds);
    }
    let wire = online::pages(|page_token| {
        let body = v1::ListNoticesRequest {
            vehicle: vehicle.clone().unwrap_or_default(),
            frame_kind: kind.clone().unwrap_or_default(),
            skill: skill.clone().unwrap_or_default(),
            hung_from_time: since,
            hung_before_time: before,
            page_size: online::PAGE,
            page_token,
        };
        let answer = server.call(body, async |channel, request| client(channel).list_notices(request).await)?;
        Ok((answer.notices, answer.next_page_token))
    })?;
    let list: Vec<Notice> = wire.into_iter().map(notice).collect::<Result<_, _>>()?;
    if common.json {
        io.json(&serde_json::json!({ "notices": list }))?;
    } else {
        let filtered = [&vehicle, &kind, &skill].iter().any(|word| word.is_some()) || since.or(before).is_some();
        let sheet = notices_screen::board(&list, filtered, (io.now)(), &io.zone, io.width);
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn of_group(server: &mut Server, group: &str) -> Result<Vec<Notice>, ClientError> {
    let wire = online::pages(|page_token| {
        let body = v1::ListGroupNoticesRequest { group: group.to_owned(), page_size: online::PAGE, page_token };
        let answer = server.call(body, async |channel, request| client(channel).list_group_notices(request).await)?;
        Ok((answer.notices, answer.next_page_token))
    })?;
    wire.into_iter().map(notice).collect()
}

pub fn take_up(common: &Common, args: NoticeArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let body = v1::TakeUpNoticeRequest { notice_id: args.code };
    let answer = server.call(body, async |channel, request| client(channel).take_up_notice(request).await)?;
    let notice = notice(online::needed(answer.notice, "notice")?)?;
    let design = match (&notice.group, &notice.design) {
        (Some(group), Some(design)) => format!("--group {group} --design {design}"),
        _ => return Err(ClientError::Shape { cause: "a notice taken up without its design".into() }),
    };
    let head =
        format!("You have taken up notice {}: from revision {} on you read and remark.", notice.code, notice.letter);
    let next = format!(
        "in a folder of its own, batten fetch-file {} --to frame.toml {design}; there every verb means this design. \
         Elsewhere say {design}",
        notice.letter
    );
    one(common, io, &head, &notice, &next)
}

pub fn hand_back(common: &Common, args: NoticeArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let body = v1::HandBackNoticeRequest { notice_id: args.code.clone() };
    let answer = server.call(body, async |channel, request| client(channel).hand_back_notice(request).await)?;
    // Where one sees it no more there is none in the answer.
    let notice = answer.notice.map(notice).transpose()?;
    if common.json {
        io.json(&serde_json::json!({ "code": args.code, "notice": notice }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Handed back: notice {} waits for somebody else. Your remarks stay.", args.code));
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn take_down(common: &Common, args: NoticeArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let body = v1::TakeDownNoticeRequest { notice_id: args.code };
    let answer = server.call(body, async |channel, request| client(channel).take_down_notice(request).await)?;
    let notice = notice(online::needed(answer.notice, "notice")?)?;
    let head = format!("Notice {} is taken down. Who took it up goes on looking.", notice.code);
    one(common, io, &head, &notice, "batten end-look CODE NAME --reason TEXT ends that somebody looks (keepers)")
}

pub fn end_look(common: &Common, args: EndLookArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let EndLookArgs { code, name, reason } = args;
    let mut server = online::connect(common, io)?;
    let body = v1::EndTakeUpRequest { notice_id: code, account: name.clone(), reason };
    let answer = server.call(body, async |channel, request| client(channel).end_take_up(request).await)?;
    let notice = notice(online::needed(answer.notice, "notice")?)?;
    let head = format!("{name} looks at it no more; the remarks made stay, and {name} can read why it ended.");
    one(common, io, &head, &notice, "batten notices --ours")
}

pub fn record(common: &Common, args: RecordArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let body = v1::GetReviewerRecordRequest { account: args.name };
    let answer = server.call(body, async |channel, request| client(channel).get_reviewer_record(request).await)?;
    let v1::ReviewerRecord { account, taken_up_count, concluded_count, snag_count, snag_mended_count } =
        online::needed(answer.record, "record")?;
    let record = Record {
        account,
        taken_up: taken_up_count,
        concluded: concluded_count,
        snags: snag_count,
        mended: snag_mended_count,
    };
    if common.json {
        io.json(&record)?;
    } else {
        let sheet = notices_screen::record(&record, io.width);
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn one(common: &Common, io: &mut Io<'_>, head: &str, notice: &Notice, next: &str) -> Result<Exit, ClientError> {
    if common.json {
        io.json(notice)?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(head);
    sheet.blank();
    notices_screen::one(&mut sheet, notice, (io.now)(), &io.zone);
    sheet.blank();
    sheet.hanging("Next: ", next);
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

fn day(text: &str) -> Result<Date, ClientError> {
    let wrong = || ClientError::usage(format!("`{text}` is no day"), "year-month-day, e.g. 2026-12-01");
    // No time of day behind it: a day is meant.
    if text.len() > 10 {
        return Err(wrong());
    }
    text.parse().map_err(|_| wrong())
}

fn stamp(moment: Result<jiff::ZonedDateTime, jiff::Error>, text: &str) -> Result<prost_types::Timestamp, ClientError> {
    let moment = moment.map_err(|cause| ClientError::usage(format!("`{text}`: {cause}"), "name another day"))?;
    Ok(prost_types::Timestamp { seconds: moment.timestamp().as_second(), nanos: 0 })
}

/// The last second of a day in that zone.
fn end_of_day(text: &str, zone: &jiff::tz::TimeZone) -> Result<prost_types::Timestamp, ClientError> {
    stamp(day(text)?.to_zoned_datetime(zone.clone()).and_then(|start| start.end_of_day()), text)
}

/// The beginning of a day in that zone.
fn start_of_day(text: &str, zone: &jiff::tz::TimeZone) -> Result<prost_types::Timestamp, ClientError> {
    stamp(day(text)?.to_zoned_datetime(zone.clone()), text)
}

/// A notice as the command knows it.
fn notice(wire: v1::Notice) -> Result<Notice, ClientError> {
    let state = match wire.state() {
        v1::NoticeState::Hanging => NoticeState::Hanging,
        v1::NoticeState::RunOut => NoticeState::RunOut,
        v1::NoticeState::TakenDown => NoticeState::TakenDown,
        v1::NoticeState::Unspecified => {
            return Err(ClientError::Shape { cause: "a notice in an unknown state".into() });
        }
    };
    let v1::Notice {
        id: _,
        group,
        design,
        letter,
        worry,
        vehicle,
        frame_kind,
        skills,
        hung_by,
        hang_time,
        expire_time,
        state: _,
        most_takers,
        taker_count,
        mine,
        take_ups,
        code,
    } = wire;
    let seen = |name: String| (!name.is_empty()).then_some(name);
    Ok(Notice {
        code,
        group: seen(group),
        design: seen(design),
        letter,
        worry,
        vehicle,
        frame_kind,
        skills,
        hung_by,
        hung_us: online::instant(hang_time),
        ends_us: online::instant(expire_time),
        state,
        most_takers,
        takers: taker_count,
        mine,
        take_ups: take_ups.into_iter().map(taken).collect(),
    })
}

fn taken(wire: v1::TakeUp) -> TakeUp {
    let end = match wire.end() {
        v1::TakeUpEnd::Unspecified => None,
        v1::TakeUpEnd::HandedBack => Some(TakeUpEnd::HandedBack),
        v1::TakeUpEnd::ByKeeper => Some(TakeUpEnd::ByKeeper),
    };
    let v1::TakeUp { account, take_time, end: _, end_time, reason } = wire;
    let ended_us = end_time.map(|time| online::instant(Some(time)));
    TakeUp { account, taken_us: online::instant(take_time), end, ended_us, reason }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use jiff::tz::{TimeZone, offset};

    #[test]
    fn a_day_ends_where_its_reader_is() {
        // 2026-12-01 ends at 22:59:59 of Greenwich one hour east of it; from the calendar: 20788 days since 1970 with it.
        let east = TimeZone::fixed(offset(1));
        let end = end_of_day("2026-12-01", &east).unwrap().seconds;
        let start = start_of_day("2026-12-01", &east).unwrap().seconds;
        assert_eq!(start, 20_788 * 86_400 - 3600);
        assert_eq!(end, start + 86_399);
        for wrong in ["tomorrow", "2026-13-01", "01.12.2026", "2026-12-01T10:00", ""] {
            assert!(end_of_day(wrong, &east).is_err(), "{wrong}");
        }
    }
}
