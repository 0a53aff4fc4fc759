//! News: what happened since one last looked, and hearing it live.

use super::{Common, online};
use crate::args::NewsArgs;
use crate::connect::{Channel, Hearer, Interruption, MESSAGE_LIMIT, Server};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::news::{Event, EventKind, NewsFile, ReadSoFar};
use crate::output::news_screen::Lines;
use crate::output::times;
use battenboard_proto::v1;
use battenboard_proto::v1::group_service_client::GroupServiceClient;
use battenboard_proto::v1::news_service_client::NewsServiceClient;

/// Most pages of one look; what is left comes with the next.
const PAGES: usize = 50;

fn client(channel: Channel) -> NewsServiceClient<Channel> {
    NewsServiceClient::new(channel).max_decoding_message_size(MESSAGE_LIMIT)
}

/// Whose news, and how far they were read.
struct Reader {
    file: NewsFile,
    server: String,
    account: String,
    read: Option<ReadSoFar>,
    several_groups: bool,
}

impl Reader {
    fn of(io: &Io<'_>, server: &mut Server) -> Result<Self, ClientError> {
        let nobody = || ClientError::NotSignedIn { server: Some(server.url().to_owned()) };
        let account = server.account().map(str::to_owned).ok_or_else(nobody)?;
        let file = NewsFile::of(&io.config_dir);
        let url = server.url().to_owned();
        let read = file.read(&url, &account)?;
        let body = v1::ListGroupsRequest { page_size: 2, page_token: String::new() };
        let groups =
            server.call(body, async |channel, request| GroupServiceClient::new(channel).list_groups(request).await)?;
        Ok(Self { file, server: url, account, read, several_groups: groups.groups.len() > 1 })
    }

    fn cursor(&self) -> String {
        self.read.as_ref().map(|read| read.cursor.clone()).unwrap_or_default()
    }

    fn keep(&mut self, cursor: String, now: jiff::Timestamp) -> Result<(), ClientError> {
        let read = ReadSoFar { cursor, looked_us: now.as_microsecond() };
        self.file.keep(&self.server, &self.account, read.clone())?;
        self.read = Some(read);
        Ok(())
    }
}

/// What one look gave.
struct Look {
    events: Vec<Event>,
    cursor: String,
    more: bool,
}

fn look(server: &mut Server, cursor: String, from_oldest: bool) -> Result<Result<Look, String>, ClientError> {
    let mut found = Look { events: Vec::new(), cursor: String::new(), more: true };
    let mut page_token = String::new();
    for _ in 0..PAGES {
        let body = v1::ListNewsRequest {
            cursor: cursor.clone(),
            from_oldest: from_oldest && cursor.is_empty(),
            // Without a place to begin: the last ones, as many as fit a few screens.
            page_size: if cursor.is_empty() && !from_oldest { 0 } else { online::PAGE },
            page_token,
        };
        let answer =
            server.call_or_begin_anew(body, async |channel, request| client(channel).list_news(request).await)?;
        let answer = match answer {
            Ok(answer) => answer,
            Err(said) => return Ok(Err(said)),
        };
        found.events.extend(answer.events.into_iter().map(event));
        found.cursor = answer.cursor;
        page_token = answer.next_page_token;
        if page_token.is_empty() {
            found.more = false;
            break;
        }
    }
    Ok(Ok(found))
}

pub fn news(common: &Common, args: &NewsArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let mut reader = Reader::of(io, &mut server)?;
    let mut cursor = if args.all { String::new() } else { reader.cursor() };
    let found = match look(&mut server, cursor.clone(), args.all)? {
        Ok(found) => found,
        Err(said) if !cursor.is_empty() => {
            io.note(&format!(
                "{said}. These are the last news; batten designs and batten remarks show how things stand"
            ));
            cursor.clear();
            look(&mut server, String::new(), false)?.map_err(|cause| ClientError::Shape { cause })?
        }
        Err(cause) => return Err(ClientError::Shape { cause }),
    };
    let since = reader.read.as_ref().filter(|_| !cursor.is_empty()).map(|read| read.looked_us);
    if common.json {
        io.json(&serde_json::json!({ "since_us": since, "events": found.events, "more": found.more }))?;
    } else {
        show(io, &found, since, args.all, reader.several_groups)?;
    }
    // Only now: what was not shown was not read.
    reader.keep(found.cursor, (io.now)())?;
    Ok(Exit::Holds)
}

fn show(io: &mut Io<'_>, found: &Look, since: Option<i64>, all: bool, several: bool) -> Result<(), ClientError> {
    let mut sheet = io.sheet();
    let ago = since.map(|since| times::ago(since, (io.now)()));
    let head = match (found.events.is_empty(), ago, all) {
        (true, Some(ago), _) => format!("Nothing new; you last looked {ago}."),
        (true, None, _) => "No news yet.".to_owned(),
        (false, Some(ago), _) => format!("New since you last looked, {ago}:"),
        (false, None, true) => "All news that are kept:".to_owned(),
        (false, None, false) => "The last news:".to_owned(),
    };
    sheet.paragraph(&head);
    let mut lines = Lines::new(io.zone.clone(), several);
    found.events.iter().for_each(|event| lines.add(&mut sheet, event));
    if found.more {
        sheet.blank();
        sheet.hanging("There is more: ", "batten news");
    }
    io.show(&sheet)
}

pub fn listen(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let reader = Reader::of(io, &mut server)?;
    io.note(&format!("listening as {}; Ctrl-C ends it", reader.account));
    let lines = Lines::new(io.zone.clone(), reader.several_groups);
    let mut ear = Ear { cursor: reader.cursor(), reader, json: common.json, lines, away: false, io };
    match server.listen(&mut ear, async |channel, request| client(channel).listen_news(request).await)? {}
}

struct Ear<'a, 'b> {
    reader: Reader,
    cursor: String,
    json: bool,
    lines: Lines,
    away: bool,
    io: &'a mut Io<'b>,
}

impl Hearer<v1::ListenNewsRequest, v1::ListenNewsResponse> for Ear<'_, '_> {
    fn asks(&self) -> v1::ListenNewsRequest {
        v1::ListenNewsRequest { cursor: self.cursor.clone() }
    }

    fn hears(&mut self, message: v1::ListenNewsResponse) -> Result<(), ClientError> {
        let v1::ListenNewsResponse { events, cursor, caught_up: _ } = message;
        if std::mem::take(&mut self.away) {
            self.io.note("the server is back");
        }
        for event in events.into_iter().map(event) {
            if self.json {
                let line =
                    serde_json::to_string(&event).map_err(|cause| ClientError::Shape { cause: cause.to_string() })?;
                self.io.write_out(&format!("{line}\n"))?;
            } else {
                let mut sheet = self.io.sheet();
                self.lines.add(&mut sheet, &event);
                self.io.show(&sheet)?;
            }
        }
        self.cursor.clone_from(&cursor);
        self.reader.keep(cursor, (self.io.now)())
    }

    fn interrupted(&mut self, why: Interruption) -> Result<(), ClientError> {
        match why {
            Interruption::Away(cause) => {
                if !std::mem::replace(&mut self.away, true) {
                    self.io.note(&format!("the server is away ({cause}); trying again until it is back"));
                }
            }
            Interruption::Closed(said) => self.io.note(&format!("{said} for you any more; the rest goes on")),
            Interruption::BeginAnew(said) => {
                self.io.note(&format!("{said}. Listening from now on; batten designs shows how things stand"));
                self.cursor.clear();
            }
        }
        Ok(())
    }
}

/// An event as the command knows it.
fn event(wire: v1::Event) -> Event {
    let kind = kind(wire.kind());
    let v1::Event {
        number,
        on_noticeboard,
        kind: _,
        group,
        design,
        letter,
        actor,
        account,
        remark_number,
        create_time,
        vehicle,
        survey_number,
    } = wire;
    let at_us = online::instant(create_time);
    Event {
        number,
        on_noticeboard,
        kind,
        group,
        design,
        letter,
        actor,
        account,
        remark_number,
        at_us,
        vehicle,
        survey_number,
    }
}

fn kind(wire: v1::EventKind) -> EventKind {
    match wire {
        v1::EventKind::Unspecified => EventKind::Unknown,
        v1::EventKind::GroupFounded => EventKind::GroupFounded,
        v1::EventKind::CrewChanged => EventKind::CrewChanged,
        v1::EventKind::RevisionSubmitted => EventKind::RevisionSubmitted,
        v1::EventKind::Checked => EventKind::Checked,
        v1::EventKind::RemarkMade => EventKind::RemarkMade,
        v1::EventKind::RemarkAnswered => EventKind::RemarkAnswered,
        v1::EventKind::RemarkCleared => EventKind::RemarkCleared,
        v1::EventKind::RemarkRaisedAgain => EventKind::RemarkRaisedAgain,
        v1::EventKind::RemarkSetAside => EventKind::RemarkSetAside,
        v1::EventKind::RemarkCarried => EventKind::RemarkCarried,
        v1::EventKind::ProofLoadRan => EventKind::ProofLoadRan,
        v1::EventKind::LookedAt => EventKind::LookedAt,
        v1::EventKind::Concluded => EventKind::Concluded,
        v1::EventKind::IssuedForCutting => EventKind::IssuedForCutting,
        v1::EventKind::StampTakenBack => EventKind::StampTakenBack,
        v1::EventKind::ConcessionGiven => EventKind::ConcessionGiven,
        v1::EventKind::AsBuiltRecorded => EventKind::AsBuiltRecorded,
        v1::EventKind::VisibilityChanged => EventKind::VisibilityChanged,
        v1::EventKind::NoticeHung => EventKind::NoticeHung,
        v1::EventKind::NoticeTakenUp => EventKind::NoticeTakenUp,
        v1::EventKind::NoticeHandedBack => EventKind::NoticeHandedBack,
        v1::EventKind::NoticeEnded => EventKind::NoticeEnded,
        v1::EventKind::TakingUpEnded => EventKind::TakingUpEnded,
        v1::EventKind::FallsShortNow => EventKind::FallsShortNow,
        v1::EventKind::SurveyRecorded => EventKind::SurveyRecorded,
    }
}
