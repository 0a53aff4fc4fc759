//! What was sent, read and validated: after this, a [`Frame`].

use crate::app::content::{self, Content};
use crate::app::error::Fault;
use crate::app::names::name_faults;
use crate::app::{App, AppError, AppResult};
use battenboard_designfile::Mistake;
use battenboard_engine::design::{Design, Frame, Violation};
use std::sync::Arc;

/// A frame as it was sent: typed, as text, or both.
#[derive(Clone, Debug, Default)]
pub struct Sent {
    /// The typed frame.
    pub design: Option<Design>,
    /// The design file; empty: none.
    pub text: String,
}

/// A frame that is sound.
pub struct Prepared {
    /// The validated frame.
    pub frame: Frame,
    /// How it is stored.
    pub content: Content,
    /// The text as it was written; empty: none.
    pub text: String,
}

impl App {
    /// Reads and validates what was sent, on a blocking thread: a large design takes a while. `name` is the design it
    /// has to be, if it has to be one.
    ///
    /// # Errors
    /// [`AppError::Invalid`] with every fault of the frame or text.
    pub async fn prepare(&self, sent: Sent, name: Option<String>) -> AppResult<Prepared> {
        let permit = Arc::clone(&self.readers).acquire_owned().await.map_err(|_| AppError::ShuttingDown)?;
        let (members, text_bytes) = (self.limits.members, self.limits.text_bytes);
        let work = move || {
            let _permit = permit;
            prepare(sent, name.as_deref(), members, text_bytes)
        };
        // The readers are pure and bounded; should one panic, this call fails and the server goes on.
        tokio::task::spawn_blocking(work).await.map_err(AppError::internal)?
    }
}

fn prepare(sent: Sent, name: Option<&str>, most_members: usize, most_bytes: usize) -> AppResult<Prepared> {
    let Sent { design, text } = sent;
    if text.len() > most_bytes {
        let message = format!("the text has {} bytes, at most {most_bytes} are taken", text.len());
        return Err(AppError::invalid("text", message));
    }
    let design = match (design, text.is_empty()) {
        (None, true) => return Err(AppError::invalid("frame", "send a frame, a text, or both")),
        (Some(design), true) => design,
        (typed, false) => {
            let read = battenboard_designfile::read(&text).map_err(mistakes)?.design;
            refuse_mismatch(typed.as_ref(), &read)?;
            read
        }
    };
    refuse_oversize(&design, most_members)?;
    let mut faults = Vec::new();
    if let Some(name) = name {
        faults.extend(name_faults("design", name, 1));
        if faults.is_empty() && design.name != name {
            let message = format!("the frame says its name is `{}`, not `{name}`", design.name);
            faults.push(Fault::of("design", message));
        }
    }
    let frame = match validate(&design, &text) {
        Ok(frame) if faults.is_empty() => frame,
        Ok(_) => return Err(AppError::Invalid { faults }),
        Err(more) => {
            faults.extend(more);
            return Err(AppError::Invalid { faults });
        }
    };
    let content = content::write(&design);
    Ok(Prepared { frame, content, text })
}

/// The validated frame; with a text, faults are told at their places in it.
fn validate(design: &Design, text: &str) -> Result<Frame, Vec<Fault>> {
    Frame::new(design).map_err(|faults| {
        // The text is read once more only to find the places: most texts are sound.
        let placed = if text.is_empty() { None } else { battenboard_designfile::read_frame(text).err() };
        match placed {
            Some(found) => found.into_iter().map(mistake).collect(),
            None => faults.into_iter().map(Fault::from).collect(),
        }
    })
}

fn mistakes(found: Vec<Mistake>) -> AppError {
    AppError::Invalid { faults: found.into_iter().map(mistake).collect() }
}

fn mistake(found: Mistake) -> Fault {
    let Mistake { line, column, span: _, message, mend, path } = found;
    let path = if path.is_empty() { "text".to_owned() } else { path };
    Fault { violation: Violation { path, message, mend }, place: Some((line, column)) }
}

/// Frame and text must say the same: what is shown is what was computed. Compared by content, as negative zero does not
/// survive the wire.
fn refuse_mismatch(typed: Option<&Design>, read: &Design) -> AppResult<()> {
    match typed {
        Some(typed) if typed != read && content::write(typed).id != content::write(read).id => {
            let message = "the frame is not what the text says: send one of them, or write the text anew";
            Err(AppError::invalid("text", message))
        }
        _ => Ok(()),
    }
}

/// Sizes beyond what this server takes, before anything is built from them.
fn refuse_oversize(design: &Design, most_members: usize) -> AppResult<()> {
    let counts = [
        ("members", design.members.len(), most_members),
        ("joints", design.joints.len(), most_members * 6),
        ("anchors", design.anchors.len(), most_members * 6),
        ("decks", design.decks.len(), battenboard_designfile::DECK_LIMIT),
        ("stock", design.stock.len(), battenboard_designfile::STOCK_LIMIT),
        ("stowage", design.stowage.len(), battenboard_designfile::STOWAGE_LIMIT),
        ("people", design.people.len(), battenboard_designfile::PEOPLE_LIMIT),
        ("loads", design.loads.len(), battenboard_designfile::LOAD_LIMIT),
        ("to_be_measured", design.to_be_measured.len(), battenboard_designfile::TO_BE_MEASURED_LIMIT),
    ];
    let over = |(what, count, most): &(&str, usize, usize)| {
        (count > most).then(|| Fault::of(*what, format!("{count} {what}, this server takes at most {most}")))
    };
    let faults: Vec<Fault> = counts.iter().filter_map(over).collect();
    if faults.is_empty() { Ok(()) } else { Err(AppError::Invalid { faults }) }
}
