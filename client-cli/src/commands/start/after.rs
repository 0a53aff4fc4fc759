//! `start --after`: the text of another's revision under a new name.

use crate::args::GroupArgs;
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

/// The revision that is named, e.g. `curlew-platform:C` or `saltmarsh-wheels/curlew-platform`.
#[derive(Debug, PartialEq, Eq)]
struct Named {
    group: Option<String>,
    design: String,
    letter: String,
}

/// Fetches the revision and gives its design the new name; everything else of its text stays as it was written.
pub fn fetch(common: &Common, after: &str, name: &str, io: &mut Io<'_>) -> Result<Fetched, ClientError> {
    let Named { group, design, letter } = named(after)?;
    let mut server = online::connect(common, io)?;
    let home = online::sidecar(common, io)?.and_then(|(_, home)| home);
    let group = online::group(&mut server, &GroupArgs { group }, home.as_ref())?;
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

fn named(after: &str) -> Result<Named, ClientError> {
    let unusable = || {
        ClientError::usage(
            format!("`{after}` names no revision"),
            "DESIGN or DESIGN:LETTER, with its group before it where that is another: saltmarsh-wheels/curlew-platform:C",
        )
    };
    let (group, rest) = match after.split_once('/') {
        Some((group, rest)) => (Some(group.to_owned()), rest),
        None => (None, after),
    };
    let (design, letter) = match rest.split_once(':') {
        Some((_, letter)) if letter.is_empty() || !letter.chars().all(|c| c.is_ascii_alphabetic()) => {
            return Err(unusable());
        }
        Some((design, letter)) => (design, letter.to_uppercase()),
        None => (rest, String::new()),
    };
    if design.is_empty() || design.contains('/') || group.as_ref().is_some_and(String::is_empty) {
        return Err(unusable());
    }
    Ok(Named { group, design: design.to_owned(), letter })
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
    fn a_revision_is_named_with_or_without_group_and_letter() {
        let of = |group: Option<&str>, design: &str, letter: &str| Named {
            group: group.map(String::from),
            design: design.into(),
            letter: letter.into(),
        };
        assert_eq!(named("curlew-platform").unwrap(), of(None, "curlew-platform", ""));
        assert_eq!(named("curlew-platform:c").unwrap(), of(None, "curlew-platform", "C"));
        assert_eq!(named("salt/curlew:AA").unwrap(), of(Some("salt"), "curlew", "AA"));
        for unusable in ["", ":C", "salt/", "/curlew", "a/b/c", "curlew:", "curlew:1", "curlew:C:D"] {
            assert!(matches!(named(unusable), Err(ClientError::Usage { .. })), "{unusable}");
        }
    }

    #[test]
    fn only_the_name_changes() {
        let before = usual_text();
        let after = renamed(&before, "dunlin-settle").unwrap();
        assert_eq!(after.replace("\"dunlin-settle\"", "\"berth-platform\""), before);
        assert!(renamed("format = 1\n", "dunlin-settle").is_err());
    }
}
