//! `start --after`: the text of another's revision under a new name.

use crate::args::AfterArgs;
use crate::commands::{Common, designs, online};
use crate::error::ClientError;
use crate::io::Io;
use crate::sidecar::Source;
use battenboard_designfile::{EditError, set_name};
use battenboard_proto::v1;

/// What a design starts from.
pub struct Fetched {
    /// The text, under the new name.
    pub text: String,
    /// Where it is from.
    pub source: Source,
    /// True where the server keeps its figures of the source from the caller.
    pub withheld: bool,
}

/// Fetches the revision and gives its design the new name; everything else of its text stays as it was written.
pub fn fetch(common: &Common, after: AfterArgs, name: &str, io: &mut Io<'_>) -> Result<Fetched, ClientError> {
    let AfterArgs { after, letter, group } = after;
    let (design, letter) = (after.unwrap_or_default(), letter.unwrap_or_default().to_uppercase());
    let mut server = online::connect(common, io)?;
    let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
    let group = online::group(&mut server, &group, home.as_ref())?;
    let body = v1::GetRevisionBodyRequest { group, design, letter };
    let answer =
        server.call(body, async |channel, request| online::designs(channel).get_revision_body(request).await)?;
    let v1::Revision { group, design, letter, figures_withheld, .. } = online::needed(answer.revision, "revision")?;
    if design == name {
        return Err(ClientError::usage(
            format!("`{name}` is the name of what it is drawn after"),
            format!("give it a name of its own; to go on with {design} itself: batten fetch-file {letter}"),
        ));
    }
    let frame = online::needed(answer.frame, "frame")?;
    let written = if answer.text.is_empty() { designs::written(frame)? } else { answer.text };
    let text = renamed(&written, name)?;
    let source = Source { server: server.url().to_owned(), group, design, letter };
    Ok(Fetched { text, source, withheld: figures_withheld })
}

fn renamed(text: &str, name: &str) -> Result<String, ClientError> {
    match set_name(text, name) {
        Ok(text) => Ok(text),
        // A file whose name stands in an odd way is written anew: its comments are lost, nothing else.
        Err(EditError::Unsafe) => match battenboard_designfile::read(text) {
            Ok(mut read) => {
                name.clone_into(&mut read.design.name);
                Ok(battenboard_designfile::write(&read.design))
            }
            Err(_) => Err(ClientError::Shape { cause: EditError::Unsafe.to_string() }),
        },
        Err(error) => Err(ClientError::Shape { cause: error.to_string() }),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use crate::commands::start::usual_text;

    #[test]
    fn only_the_name_changes() {
        let before = usual_text();
        let after = renamed(&before, "dunlin-settle").unwrap();
        assert_eq!(after.replace("\"dunlin-settle\"", "\"berth-platform\""), before);
        assert!(renamed("format = 1\n", "dunlin-settle").is_err());
    }
}
