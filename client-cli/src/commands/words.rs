//! `words`: explains a word in three lines.

use super::Common;
use crate::args::WordsArgs;
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::output::sheet;
use crate::output::terms::{self, Term};
use battenboard_engine::nearest::nearest;

pub fn run(common: &Common, args: &WordsArgs, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    let name = args.name.join(" ");
    if name.is_empty() {
        return all(common, io);
    }
    let Some(term) = terms::find(&name) else {
        let nearest = nearest(&name, terms::names());
        return Err(ClientError::Usage {
            message: format!("`{name}` is none of our words"),
            hint: Some(nearest.map_or_else(
                || "batten words lists them all".to_owned(),
                |nearest| format!("did you mean `{nearest}`?"),
            )),
        });
    };
    if common.json {
        io.json(&as_json(term))?;
    } else {
        let mut sheet = io.sheet();
        // The word itself is in the text's first place only where it is not what was asked for.
        if term.name != name {
            sheet.line(format!("{} (see {name})", term.name));
        }
        sheet.paragraph(term.text);
        io.show(&sheet)?;
    }
    Ok(Exit::Holds)
}

fn all(common: &Common, io: &mut Io<'_>) -> Result<Exit, ClientError> {
    if common.json {
        io.json(&terms::TERMS.iter().map(as_json).collect::<Vec<_>>())?;
        return Ok(Exit::Holds);
    }
    let mut page = io.sheet();
    let names: Vec<&str> = terms::TERMS.iter().map(|term| term.name).collect();
    for line in sheet::wrap(&names.iter().map(|name| name.replace(' ', "\u{a0}")).collect::<Vec<_>>().join(", "), 78) {
        page.line(line);
    }
    page.hanging("Next: ", "batten words NAME explains one of them");
    io.show(&page)?;
    Ok(Exit::Holds)
}

fn as_json(term: &Term) -> serde_json::Value {
    serde_json::json!({ "name": term.name, "also": term.also, "text": term.text })
}
