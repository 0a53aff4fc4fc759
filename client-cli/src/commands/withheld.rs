//! Where somebody makes sums of his own on a design: no figure of the server's, nor of the engine in this very program,
//! which would be the same, is shown before he ends them.

use super::{Common, designs};
use crate::error::ClientError;
use crate::exit::Exit;
use crate::io::Io;
use crate::sidecar::Sidecar;
use battenboard_proto::v1;
use std::path::Path;

/// What is said in the place of figures.
pub const SAID: &str = "You make sums of your own on this design; the server keeps its figures from you. \
                        `batten own-sums end` shows them again.";

/// Says so and gives the exit code where figures of this design file are kept from its reader.
pub fn instead(common: &Common, io: &mut Io<'_>, design_file: &Path) -> Result<Option<Exit>, ClientError> {
    if !Sidecar::of(design_file).withheld() {
        return Ok(None);
    }
    if common.json {
        io.json(&serde_json::json!({ "figures_withheld": true, "said": SAID }))?;
    } else {
        let mut sheet = io.sheet();
        sheet.paragraph(SAID);
        io.show(&sheet)?;
    }
    Ok(Some(Exit::NotChecked))
}

/// What is said of a revision that was kept, in the place of its findings.
pub fn submitted(
    common: &Common,
    io: &mut Io<'_>,
    revision: &v1::Revision,
    unchanged: bool,
) -> Result<Exit, ClientError> {
    if common.json {
        io.json(&serde_json::json!({
            "revision": designs::revision_json(revision), "unchanged": unchanged, "findings": null,
            "figures_withheld": true, "said": SAID,
        }))?;
        return Ok(Exit::NotChecked);
    }
    let mut sheet = io.sheet();
    let letter = &revision.letter;
    if unchanged {
        sheet.paragraph(&format!("Nothing changed: it says what revision {letter} says, so there is no new letter."));
    } else {
        sheet.paragraph(&format!("Kept as revision {letter} of {} ({}).", revision.design, revision.group));
    }
    sheet.paragraph(SAID);
    io.show(&sheet)?;
    Ok(Exit::NotChecked)
}
