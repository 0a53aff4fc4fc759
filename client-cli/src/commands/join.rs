//! Joining a server by its line: its certificate is remembered, an account made, the group entered.

use super::passwords::new_password;
use super::{Common, account, group};
use crate::args::JoinArgs;
use crate::connect::Server;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::joining::JoiningLine;
use battenboard_proto::v1;
use battenboard_proto::v1::create_account_request::Entitlement;
use battenboard_proto::v1::server_info_service_client::ServerInfoServiceClient;

pub fn run(common: &Common, args: JoinArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let JoinArgs { line, name, password } = args;
    let line = JoiningLine::read(&line)?;
    // Before any question: a server that is not the line's is no place for a password.
    let mut server = Server::join(io, &line)?;
    let Some(code) = line.code else { return known(common, &server, io) };
    if name.is_none() && server.account().is_some() {
        return group::enter_with(common, code, &mut server, io);
    }
    let name = match name {
        Some(name) => name,
        None => ask_name(io)?,
    };
    let password = new_password(io, password.password_file.as_deref())?;
    let entitlement = entitlement(&server, code)?;
    account::make(common, name, password, Some(entitlement), &mut server, io)
}

/// What a code is for: the first account where there is none yet, else a group.
fn entitlement(server: &Server, code: String) -> Result<Entitlement, ClientError> {
    let info = server.call_openly(v1::GetServerInfoRequest {}, async |channel, request| {
        ServerInfoServiceClient::new(channel).get_server_info(request).await
    })?;
    let first = [v1::SignUpMode::FirstCode, v1::SignUpMode::FirstDirect].map(|mode| mode as i32);
    Ok(if first.contains(&info.sign_up_mode) {
        Entitlement::FirstAccountCode(code)
    } else {
        Entitlement::InvitationCode(code)
    })
}

fn ask_name(io: &mut Io<'_>) -> Result<String, ClientError> {
    let name = io.ask("Your name here (a to z, 0 to 9, hyphens):")?.unwrap_or_default();
    if name.is_empty() {
        return Err(ClientError::usage("there is no name for the account", "--name NAME"));
    }
    Ok(name)
}

/// A line without a code: only the certificate is remembered.
fn known(common: &Common, server: &Server, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    if common.json {
        io.json(&serde_json::json!({ "server": server.url(), "account": server.account() }))?;
        return Ok(Exit::Holds);
    }
    let mut sheet = io.sheet();
    sheet.paragraph(&format!("{} is known by its certificate from now on.", server.url()));
    match server.account() {
        Some(account) => sheet.paragraph(&format!("You are signed in there as {account}.")),
        None => sheet.hanging("Next: ", "batten sign-in NAME"),
    }
    io.show(&sheet)?;
    Ok(Exit::Holds)
}
