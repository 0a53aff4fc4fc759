//! Accounts: sign up, in and out; sessions; the password.

use super::passwords::{new_password, one_password, password_lines, typed_twice};
use super::{Common, online, recovery};
use crate::args::{AccountArgs, AccountVerb, SignInArgs, SignUpArgs};
use crate::connect::{Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::{codes_screen, times};
use battenboard_proto::v1;
use battenboard_proto::v1::account_service_client::AccountServiceClient;
use std::path::Path;

pub fn sign_up(common: &Common, args: SignUpArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let SignUpArgs { name, code, first, password } = args;
    let password = new_password(io, password.password_file.as_deref())?;
    let mut server = online::connect(common, io)?;
    use v1::create_account_request::Entitlement;
    let entitlement =
        code.map(|code| if first { Entitlement::FirstAccountCode(code) } else { Entitlement::InvitationCode(code) });
    make(common, name, password, entitlement, &mut server, io)
}

/// Makes an account, remembers its tokens and shows its recovery codes this once.
pub fn make(
    common: &Common,
    name: String,
    password: String,
    entitlement: Option<v1::create_account_request::Entitlement>,
    server: &mut Server,
    io: &mut Io<'_>,
) -> Result<Exit, ClientError> {
    let body = v1::CreateAccountRequest { name: name.clone(), password, entitlement, request_id: request_id() };
    let answer = server
        .call_openly(body, async |channel, request| AccountServiceClient::new(channel).create_account(request).await)?;
    let v1::CreateAccountResponse { account, tokens, group, recovery_codes } = answer;
    let name = account.map_or(name, |account| account.name);
    server.keep_tokens(&name, tokens)?;
    if common.json {
        io.json(&serde_json::json!({
            "account": name, "server": server.url(), "group": none_if_empty(&group), "recovery_codes": recovery_codes,
        }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Account {name} made at {}; you are signed in.", server.url()));
    if !group.is_empty() {
        sheet.paragraph(&format!("You are in the build group {group}."));
    }
    codes_screen::show(&mut sheet, &recovery_codes, &name);
    let next = if group.is_empty() { "batten found-group NAME, or batten enter CODE" } else { "batten designs" };
    sheet.hanging("Next: ", next);
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn sign_in(common: &Common, args: SignInArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let SignInArgs { name, password } = args;
    let password = one_password(io, password.password_file.as_deref(), "Password:")?;
    let mut server = online::connect(common, io)?;
    let body = v1::SignInRequest { name: name.clone(), password };
    let answer =
        server.call_openly(body, async |channel, request| AccountServiceClient::new(channel).sign_in(request).await)?;
    server.keep_tokens(&name, answer.tokens)?;
    if common.json {
        io.json(&serde_json::json!({ "account": name, "server": server.url() }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("Signed in to {} as {name}.", server.url()));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

pub fn sign_out(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let url = server.url().to_owned();
    let ended = server.call(v1::SignOutRequest {}, async |channel, request| {
        AccountServiceClient::new(channel).sign_out(request).await
    });
    // Whoever was signed out already is signed out now: that is what was asked for.
    match ended {
        Ok(_) | Err(ClientError::NotSignedIn { .. }) => server.forget_tokens()?,
        Err(other) => return Err(other),
    }
    if common.json {
        io.json(&serde_json::json!({ "server": url, "signed_in": false }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("Signed out of {url}. What this folder remembers stays."));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

pub fn account(common: &Common, args: AccountArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    match args.what {
        None => who(common, io),
        Some(AccountVerb::Sessions) => sessions(common, io),
        Some(AccountVerb::End { session }) => end(common, session, io),
        Some(AccountVerb::Codes { password }) => recovery::codes(common, &password, io),
        Some(AccountVerb::Recover { name, password_file }) => {
            recovery::recover(common, name, password_file.as_deref(), io)
        }
        Some(AccountVerb::Password { password_file }) => password(common, password_file.as_deref(), io),
    }
}

fn who(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let answer = server.call(v1::GetAccountRequest {}, async |channel, request| {
        AccountServiceClient::new(channel).get_account(request).await
    })?;
    let account = online::needed(answer.account, "account")?;
    let since = online::instant(account.create_time);
    let left = answer.recovery_codes_count;
    if common.json {
        io.json(&serde_json::json!({
            "account": account.name, "server": server.url(), "made_us": since, "recovery_codes_count": left,
        }))?;
    } else {
        let mut sheet = io.sheet();
        let since = times::instant(since, &io.zone);
        sheet.paragraph(&format!("{} at {}, account made {since}.", account.name, server.url()));
        sheet.paragraph(&codes_screen::left(left));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn sessions(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let list = online::pages(|page_token| {
        let body = v1::ListSessionsRequest { page_size: online::PAGE, page_token };
        let answer = server
            .call(body, async |channel, request| AccountServiceClient::new(channel).list_sessions(request).await)?;
        Ok((answer.sessions, answer.next_page_token))
    })?;
    if common.json {
        let list: Vec<_> = list.into_iter().map(session_json).collect();
        io.json(&serde_json::json!({ "sessions": list }))?;
        return Ok(Exit::Holds);
    }
    let rows: Vec<Vec<String>> = list
        .into_iter()
        .map(|session| {
            let this = if session.current { " (this one)" } else { "" };
            vec![
                session.session_id,
                times::instant(online::instant(session.last_use_time), &io.zone),
                format!("{}{this}", session.program),
            ]
        })
        .collect();
    let mut sheet = io.sheet();
    // An id must be copied whole, so it is not the last, wrapping column; ids are short enough for one.
    wide_first(&mut sheet, &rows);
    sheet.hanging("Next: ", "batten account end SESSION ends one");
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

/// A list whose first column is never cut: each entry on two lines.
fn wide_first(sheet: &mut crate::output::sheet::Sheet, rows: &[Vec<String>]) {
    for row in rows {
        sheet.line(row.first().cloned().unwrap_or_default());
        sheet.hanging("    ", &format!("last used {}, {}", row[1], row[2]));
    }
}

fn session_json(session: v1::Session) -> serde_json::Value {
    let v1::Session { session_id, program, create_time, last_use_time, expire_time, current } = session;
    serde_json::json!({
        "session": session_id, "program": program, "opened_us": online::instant(create_time),
        "last_used_us": online::instant(last_use_time), "ends_us": online::instant(expire_time), "current": current,
    })
}

fn end(common: &Common, session_id: String, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let body = v1::EndSessionRequest { session_id: session_id.clone() };
    server.call(body, async |channel, request| AccountServiceClient::new(channel).end_session(request).await)?;
    if common.json {
        io.json(&serde_json::json!({ "session": session_id, "ended": true }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("Session {session_id} ended."));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn password(common: &Common, file: Option<&Path>, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let (old_password, new_password) = match file {
        Some(_) => {
            let lines = password_lines(io, file)?;
            match (lines.first(), lines.get(1)) {
                (Some(old), Some(new)) => (old.clone(), new.clone()),
                _ => {
                    return Err(ClientError::usage(
                        "two lines are wanted: the old password and the new one",
                        "the first line is the old password, the second the new one",
                    ));
                }
            }
        }
        None => (one_password(io, None, "Old password:")?, typed_twice(io)?),
    };
    let mut server = online::connect(common, io)?;
    let name = server.account().unwrap_or_default().to_owned();
    let body = v1::ChangePasswordRequest { old_password, new_password };
    let answer = server.call_for_status(body, async |channel, request| {
        AccountServiceClient::new(channel).change_password(request).await
    })?;
    let answer = answer.map_err(|status| crate::connect::refused(server.url(), &status))?;
    server.keep_tokens(&name, answer.tokens)?;
    if common.json {
        io.json(&serde_json::json!({ "account": name, "password_changed": true }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph("Password changed; all other sessions have ended.");
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn none_if_empty(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}
