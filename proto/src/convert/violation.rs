//! Faults as they travel in a status: the one place that knows how `mistake.proto` lays them into a google.rpc
//! BadRequest, for server and command alike.

use crate::v1;
use battenboard_engine::design::Violation;

/// Most faults in one status; the details travel in trailers, which peers cut off at about 16 kB.
pub const VIOLATIONS_MAX: usize = 50;

/// Most bytes of faults in one status.
const BYTES_MAX: usize = 8 * 1024;

/// Field of the entry that says how many faults were left out.
pub const MORE: &str = "more";

/// Faults laid out for a status.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Violations {
    /// `field` and `description` of each field violation, in order.
    pub fields: Vec<(String, String)>,
    /// How many faults are not among them; when over 0, the last entry says so.
    pub left_out_count: usize,
}

impl Violations {
    /// Lays out faults, at most [`VIOLATIONS_MAX`] and 8 kB of them, then "and N more".
    #[must_use]
    pub fn of(faults: &[v1::Violation]) -> Self {
        let mut laid = Self::default();
        let mut bytes = 0;
        for (index, fault) in faults.iter().enumerate() {
            let (field, description) = describe(fault);
            bytes += field.len() + description.len();
            if index == VIOLATIONS_MAX || bytes > BYTES_MAX {
                laid.left_out_count = faults.len() - index;
                laid.fields.push((MORE.to_owned(), format!("and {} more", laid.left_out_count)));
                break;
            }
            laid.fields.push((field, description));
        }
        laid
    }
}

/// An engine's violation on the wire, with its place in the text (line and column from 1) where there is one.
#[must_use]
pub fn wire_violation(violation: &Violation, place: Option<(i32, i32)>) -> v1::Violation {
    let Violation { path, message, mend } = violation;
    let (line, column) = place.unwrap_or_default();
    v1::Violation { path: path.clone(), line, column, message: message.clone(), mend: mend.clone().unwrap_or_default() }
}

/// `field` and `description` of a google.rpc BadRequest field violation.
#[must_use]
pub fn describe(violation: &v1::Violation) -> (String, String) {
    let v1::Violation { path, line, column, message, mend } = violation;
    let mut description = String::new();
    if *line > 0 {
        description.push_str(&format!("line {line}, column {column}: "));
    }
    description.push_str(message);
    if !mend.is_empty() {
        description.push_str(MEND);
        description.push_str(mend);
    }
    (path.clone(), description)
}

const MEND: &str = "\nmend: ";

/// The fault that a field violation says; what is not laid out as [`describe`] does it is all message.
#[must_use]
pub fn read_description(field: &str, description: &str) -> v1::Violation {
    let (place, rest) = read_place(description).map_or(((0, 0), description), |(place, rest)| (place, rest));
    let (message, mend) = rest.split_once(MEND).unwrap_or((rest, ""));
    v1::Violation {
        path: field.to_owned(),
        line: place.0,
        column: place.1,
        message: message.to_owned(),
        mend: mend.to_owned(),
    }
}

fn read_place(description: &str) -> Option<((i32, i32), &str)> {
    let (line, rest) = description.strip_prefix("line ")?.split_once(", column ")?;
    let (column, rest) = rest.split_once(": ")?;
    Some(((line.parse().ok().filter(|line| *line > 0)?, column.parse().ok()?), rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(line: i32, mend: &str) -> v1::Violation {
        v1::Violation {
            path: "members[3].stock".into(),
            line,
            column: if line > 0 { 9 } else { 0 },
            message: "`45x7` is no stock of this design: see line 3".into(),
            mend: mend.into(),
        }
    }

    #[test]
    fn a_fault_comes_back_from_its_description() {
        for fault in
            [fault(0, ""), fault(12, ""), fault(0, "did you mean `45x70`?"), fault(12, "did you mean `45x70`?")]
        {
            let (field, description) = describe(&fault);
            assert_eq!(read_description(&field, &description), fault, "{description}");
        }
        let (_, description) = describe(&fault(12, "did you mean `45x70`?"));
        assert_eq!(
            description,
            "line 12, column 9: `45x7` is no stock of this design: see line 3\nmend: did you mean `45x70`?"
        );
    }

    #[test]
    fn a_foreign_description_is_all_message() {
        let read = read_description("text", "line up, column in: no");
        assert_eq!((read.line, read.message.as_str()), (0, "line up, column in: no"));
    }

    #[test]
    fn too_many_faults_end_with_how_many_more() {
        let laid = Violations::of(&vec![fault(1, ""); 60]);
        assert_eq!((laid.fields.len(), laid.left_out_count), (51, 10));
        assert_eq!(laid.fields.last(), Some(&("more".to_owned(), "and 10 more".to_owned())));
        assert_eq!(Violations::of(&vec![fault(1, ""); 50]).left_out_count, 0);
    }

    #[test]
    fn long_faults_stay_within_the_bytes_of_a_trailer() {
        let long = v1::Violation { message: "x".repeat(3000), ..fault(1, "") };
        let laid = Violations::of(&vec![long; 5]);
        assert_eq!((laid.fields.len(), laid.left_out_count), (3, 3));
    }
}
