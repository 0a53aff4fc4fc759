//! Getting back in without the password: the ten recovery codes.

use super::passwords::{one_password, password_lines, typed_twice};
use super::{Common, online};
use crate::args::PasswordArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::codes_screen;
use battenboard_proto::v1;
use battenboard_proto::v1::account_service_client::AccountServiceClient;
use std::path::Path;

pub fn codes(common: &Common, args: &PasswordArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let password = one_password(io, args.password_file.as_deref(), "Password:")?;
    let mut server = online::connect(common, io)?;
    let name = server.account().unwrap_or_default().to_owned();
    let body = v1::RenewRecoveryCodesRequest { password };
    let answer = server
        .call(body, async |channel, request| AccountServiceClient::new(channel).renew_recovery_codes(request).await)?;
    let codes = answer.recovery_codes;
    if common.json {
        io.json(&serde_json::json!({ "account": name, "recovery_codes": codes }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph("Ten fresh recovery codes; the former ones are good no more.");
        codes_screen::show(&mut sheet, &codes, &name);
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

pub fn recover(common: &Common, name: String, file: Option<&Path>, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let (code, new_password) = match file {
        Some(_) => {
            let mut lines = password_lines(io, file)?.into_iter();
            match (lines.next(), lines.next()) {
                (Some(code), Some(new)) => (code, new),
                _ => {
                    return Err(ClientError::usage(
                        "two lines are wanted: the code and the new password",
                        "the first line is the code, the second the new password",
                    ));
                }
            }
        }
        None => (one_password(io, None, "Recovery code, or the host's reset code:")?, typed_twice(io)?),
    };
    let mut server = online::connect(common, io)?;
    let body = v1::RecoverAccountRequest { name: name.clone(), code, new_password };
    let answer = server.call_openly(body, async |channel, request| {
        AccountServiceClient::new(channel).recover_account(request).await
    })?;
    server.keep_tokens(&name, answer.tokens)?;
    let left = answer.recovery_codes_count;
    if common.json {
        io.json(&serde_json::json!({ "account": name, "password_changed": true, "recovery_codes_count": left }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(&format!(
            "The new password holds; you are signed in to {} as {name}, and all other sessions have ended.",
            server.url()
        ));
        sheet.paragraph(&codes_screen::left(left));
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}
