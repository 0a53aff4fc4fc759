//! Build groups: found one, let someone in, enter, the crew.

use super::{Common, online};
use crate::args::{CrewArgs, CrewRight, EnterArgs, FoundGroupArgs, LetInArgs};
use crate::connect::{Server, request_id};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::columns::{Side, table};
use crate::output::times;
use battenboard_proto::v1;
use battenboard_proto::v1::group_service_client::GroupServiceClient;
use clap::ValueEnum;

pub fn found(common: &Common, args: FoundGroupArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let FoundGroupArgs { name, title } = args;
    let mut server = online::connect(common, io)?;
    let body = v1::CreateGroupRequest { title: title.unwrap_or_else(|| name.clone()), name, request_id: request_id() };
    let answer =
        server.call(body, async |channel, request| GroupServiceClient::new(channel).create_group(request).await)?;
    let group = online::needed(answer.group, "group")?;
    if common.json {
        io.json(&serde_json::json!({ "group": group.name, "title": group.title, "right": "keeper" }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("Build group {} founded; you are its keeper.", group.name));
        sheet.hanging("Next: ", "batten let-in --as reviewer prints a code for the next one; batten submit");
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

pub fn let_in(common: &Common, args: &LetInArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
    let group = online::group(&mut server, &args.group, home.as_ref())?;
    let right = wire_right(args.right);
    let body = v1::CreateInvitationRequest { group: group.clone(), right: right as i32, request_id: request_id() };
    let answer = server
        .call(body, async |channel, request| GroupServiceClient::new(channel).create_invitation(request).await)?;
    let ends_us = online::instant(answer.expire_time);
    let line = server.joining_line(&answer.code).map(|line| line.to_string());
    if common.json {
        io.json(&serde_json::json!({
            "code": answer.code, "group": group, "right": right_word(answer.right), "ends_us": ends_us,
            "joining_line": line,
        }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    if let Some(line) = line {
        sheet.line(format!("batten join {line}"));
        sheet.paragraph(&format!(
            "Lets one person into {group} as {}, with an account or without, until {}. It is shown this once; send the \
             whole line by a way you trust.",
            right_word(answer.right),
            times::instant(ends_us, &io.zone)
        ));
        if server.is_this_machine() {
            sheet.hanging("But: ", "this address is your own machine's; put in the one by which others reach it");
        }
        io.show(&sheet)?;
        return Ok(Exit::Holds);
    }
    sheet.line(answer.code.clone());
    sheet.paragraph(&format!(
        "One-time code into {group} as {}, good until {}. It is shown this once.",
        right_word(answer.right),
        times::instant(ends_us, &io.zone)
    ));
    sheet.hanging("With it: ", &format!("batten enter {}", answer.code));
    sheet.hanging(
        "or, without an account: ",
        &format!("batten sign-up NAME --server {} --code {}", server.url(), answer.code),
    );
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

pub fn enter(common: &Common, args: EnterArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    enter_with(common, args.code, &mut server, io)
}

/// Enters the group of a code with the account that is signed in.
pub fn enter_with(common: &Common, code: String, server: &mut Server, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let body = v1::AcceptInvitationRequest { code };
    let answer = server
        .call(body, async |channel, request| GroupServiceClient::new(channel).accept_invitation(request).await)?;
    let group = online::needed(answer.group, "group")?;
    if common.json {
        io.json(&serde_json::json!({ "group": group.name, "title": group.title }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("You are in the build group {} ({}).", group.name, group.title));
        sheet.hanging("Next: ", &format!("batten designs --group {}", group.name));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

pub fn crew(common: &Common, args: &CrewArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let mut server = online::connect(common, io)?;
    let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
    let group = online::group(&mut server, &args.group, home.as_ref())?;
    if let Some(give) = &args.give {
        give_right(&mut server, &group, give)?;
    }
    if let Some(account) = &args.out {
        let body = v1::RemoveCrewRequest { group: group.clone(), account: account.clone() };
        server.call(body, async |channel, request| GroupServiceClient::new(channel).remove_crew(request).await)?;
        // Who has left sees the crew no more.
        if server.account() == Some(account.as_str()) {
            return left(common, &group, account, io);
        }
    }
    let list = online::pages(|page_token| {
        let body = v1::ListCrewRequest { group: group.clone(), page_size: online::PAGE, page_token };
        let answer =
            server.call(body, async |channel, request| GroupServiceClient::new(channel).list_crew(request).await)?;
        Ok((answer.crew, answer.next_page_token))
    })?;
    if common.json {
        let crew: Vec<_> = list
            .iter()
            .map(|entry| {
                let since = online::instant(entry.join_time);
                serde_json::json!({ "account": entry.account, "right": right_word(entry.right), "since_us": since })
            })
            .collect();
        io.json(&serde_json::json!({ "group": group, "crew": crew }))?;
        return Ok(Exit::Holds);
    }
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|entry| {
            let since = times::instant(online::instant(entry.join_time), &io.zone);
            vec![entry.account.clone(), right_word(entry.right).to_owned(), since]
        })
        .collect();
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("Crew of {group}"));
    table(&mut sheet, &[("name", Side::Left), ("right", Side::Left), ("since", Side::Left)], &rows);
    io.show(&sheet)?;
    Ok(Exit::Holds)
}

fn left(common: &Common, group: &str, account: &str, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    if common.json {
        io.json(&serde_json::json!({ "group": group, "left": account }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!("You have left {group}; your revisions and remarks stay there."));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn give_right(server: &mut Server, group: &str, give: &[String]) -> Result<(), ClientError> {
    let (Some(account), Some(word)) = (give.first(), give.get(1)) else { return Ok(()) };
    let right = CrewRight::from_str(word, true)
        .map_err(|_| ClientError::usage(format!("`{word}` is no right"), "onlooker, reviewer, builder or keeper"))?;
    let body = v1::UpdateCrewRightRequest {
        group: group.to_owned(),
        account: account.clone(),
        right: wire_right(right) as i32,
    };
    server.call(body, async |channel, request| GroupServiceClient::new(channel).update_crew_right(request).await)?;
    Ok(())
}

fn wire_right(right: CrewRight) -> v1::Right {
    match right {
        CrewRight::Onlooker => v1::Right::Onlooker,
        CrewRight::Reviewer => v1::Right::Reviewer,
        CrewRight::Builder => v1::Right::Builder,
        CrewRight::Keeper => v1::Right::Keeper,
    }
}

fn right_word(right: i32) -> &'static str {
    match v1::Right::try_from(right) {
        Ok(v1::Right::Onlooker) => "onlooker",
        Ok(v1::Right::Reviewer) => "reviewer",
        Ok(v1::Right::Builder) => "builder",
        Ok(v1::Right::Keeper) => "keeper",
        Ok(v1::Right::Unspecified) | Err(_) => "unknown",
    }
}
