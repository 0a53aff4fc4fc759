//! Another survey in a file's `[vehicle]`, and nothing else of the file touched.

use super::{EditError, splice, with_line_ends};
use crate::read::{Read, read};
use crate::vehicle::VEHICLE;
use crate::write::{vehicle_fields, vehicle_text};
use battenboard_engine::design::Vehicle;
use std::collections::BTreeMap;
use std::ops::Range;

/// Changes the vehicle of a file's text. What is equal stays as it is written; a figure that the new vehicle lacks stays as a
/// comment. Comments are kept.
///
/// # Errors
/// [`EditError`]; then nothing is to be changed.
pub fn set_vehicle(text: &str, vehicle: &Vehicle) -> Result<String, EditError> {
    let before = read(text).map_err(EditError::Mistakes)?;
    let result = match before.places.of_file("vehicle") {
        None => {
            let block = vehicle_text(vehicle);
            format!("{text}{}", with_line_ends(text, text.len(), &block))
        }
        Some(span) if text[span.clone()].starts_with('{') => inline(text, span, vehicle)?,
        Some(_) => splice(text, cuts(text, &before, vehicle)?),
    };
    let mut expected = before.design;
    expected.vehicle = vehicle.clone();
    match read(&result) {
        Ok(after) if after.design == expected => Ok(result),
        _ => Err(EditError::UnsafeVehicle),
    }
}

/// One table in a line is written anew; a comment in it would be lost.
fn inline(text: &str, span: Range<usize>, vehicle: &Vehicle) -> Result<String, EditError> {
    if text[span.clone()].contains('#') {
        return Err(EditError::UnsafeVehicle);
    }
    let fields: Vec<String> =
        vehicle_fields(vehicle).into_iter().map(|(key, value)| format!("{key} = {value}")).collect();
    Ok(splice(text, vec![(span, format!("{{ {} }}", fields.join(", ")))]))
}

fn cuts(text: &str, before: &Read, vehicle: &Vehicle) -> Result<Vec<(Range<usize>, String)>, EditError> {
    let old: BTreeMap<_, _> = vehicle_fields(&before.design.vehicle).into_iter().collect();
    let new: BTreeMap<_, _> = vehicle_fields(vehicle).into_iter().collect();
    let (mut cuts, mut added) = (Vec::new(), String::new());
    for key in VEHICLE {
        match (before.places.of_file(&format!("vehicle.{key}")), new.get(key)) {
            (Some(_), Some(value)) if old.get(key) == Some(value) => {}
            (Some(span), Some(value)) => cuts.push((span, value.clone())),
            (Some(span), None) if old.contains_key(key) => cuts.extend(comment_out(text, &span)),
            (None, Some(value)) => added.push_str(&format!("{key} = {value}\n")),
            (_, None) => {}
        }
    }
    if !added.is_empty() {
        let end = before.places.end_of("vehicle").ok_or(EditError::UnsafeVehicle)?;
        let at = text[end..].find('\n').map_or(text.len(), |next| end + next + 1);
        cuts.push((at..at, with_line_ends(text, at, &added)));
    }
    Ok(cuts)
}

/// Puts a `#` before each line of a value.
fn comment_out(text: &str, span: &Range<usize>) -> Vec<(Range<usize>, String)> {
    let first = text[..span.start].rfind('\n').map_or(0, |at| at + 1);
    let further = text[span.clone()].match_indices('\n').map(|(at, _)| span.start + at + 1);
    std::iter::once(first).chain(further).map(|at| (at..at, "# ".to_owned())).collect()
}
