//! The one match from what went wrong to a gRPC code with its details.
//!
//! Details travel in trailers, which clients cut at some 16 kB: faults are at most 50 and 8 kB, then "and N more".
//! What went wrong inside stays inside: the caller gets no text of ours for it.

use crate::app::AppError;
use crate::app::cutting::Obstacle;
use crate::app::error::{Fault, StoreError};
use battenboard_proto::convert::{Violations, wire_violation};
use std::time::Duration;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, FieldViolation, PreconditionViolation, StatusExt};

/// Who says so, in a google.rpc ErrorInfo.
const DOMAIN: &str = "battenboard";
/// When to try again after the database could not be used.
const AFTER_OUTAGE: Duration = Duration::from_secs(2);
/// When to listen again after falling behind.
const AFTER_FALLING_BEHIND: Duration = Duration::from_secs(1);
/// Longest fact that travels in a status, bytes.
const FACT_BYTES: usize = 6000;
/// Longest message of a status, bytes.
const MESSAGE_BYTES: usize = 1000;

/// The status of an error.
pub fn to_status(error: AppError) -> Status {
    let said = shortened(error.to_string());
    let plain = |code, said: String| Status::new(code, said);
    let info = |code, said: String, reason: &str, facts: Vec<(&str, String)>| {
        let facts = facts.into_iter().map(|(key, value)| (key.to_owned(), value)).collect::<Facts>();
        Status::with_error_details(code, said, ErrorDetails::with_error_info(reason, DOMAIN, facts))
    };
    match error {
        AppError::Unauthenticated { .. } => plain(Code::Unauthenticated, said),
        AppError::NotAllowed { .. } => plain(Code::PermissionDenied, said),
        AppError::NotFound { .. } => plain(Code::NotFound, said),
        AppError::Invalid { faults } => invalid(said, &faults),
        AppError::AlreadyThere { .. } => plain(Code::AlreadyExists, said),
        AppError::NotLatest { latest_letter, author, worked_from } => {
            let facts = vec![("latest_letter", latest_letter), ("author", author), ("worked_from", worked_from)];
            info(Code::Aborted, said, "NOT_LATEST", facts)
        }
        AppError::WrongState { reason, .. } => info(Code::FailedPrecondition, said, reason, Vec::new()),
        AppError::InTheWay { obstacles, .. } => in_the_way(said, &obstacles),
        AppError::TooMany { retry_after, .. } => retry(Code::ResourceExhausted, said, retry_after),
        AppError::NoLongerKept { number, cursor, .. } => {
            let facts = vec![("number", number.to_string()), ("cursor", cursor)];
            info(Code::OutOfRange, said, "NO_LONGER_KEPT", short(facts))
        }
        AppError::Behind { cursor } => {
            let facts: Facts =
                short(vec![("cursor", cursor)]).into_iter().map(|(key, value)| (key.into(), value)).collect();
            let mut details = ErrorDetails::with_error_info("FELL_BEHIND", DOMAIN, facts);
            details.set_retry_info(Some(AFTER_FALLING_BEHIND));
            Status::with_error_details(Code::ResourceExhausted, said, details)
        }
        AppError::TooLong => plain(Code::DeadlineExceeded, said),
        AppError::ShuttingDown => retry(Code::Unavailable, said, AFTER_OUTAGE),
        AppError::Store(StoreError::Unavailable { cause }) => {
            tracing::error!(%cause, "the database cannot be used");
            let said = "the server cannot reach its data now, nothing was changed: try again".to_owned();
            retry(Code::Unavailable, said, AFTER_OUTAGE)
        }
        AppError::Store(error) => inside(&error),
        AppError::Internal { cause } => inside(&cause),
    }
}

/// Facts without those that are too long for a trailer.
fn short(facts: Vec<(&'static str, String)>) -> Vec<(&'static str, String)> {
    facts.into_iter().filter(|(_, value)| value.len() <= FACT_BYTES).collect()
}

type Facts = std::collections::HashMap<String, String>;

fn inside(cause: &dyn std::fmt::Display) -> Status {
    tracing::error!(%cause, "a call failed by a mistake of the server");
    Status::internal(
        "the server made a mistake: its host finds it in the server's records under this call's request id",
    )
}

fn retry(code: Code, said: String, after: Duration) -> Status {
    Status::with_error_details(code, said, ErrorDetails::with_retry_info(Some(after)))
}

fn invalid(said: String, faults: &[Fault]) -> Status {
    let place = |(line, column): (usize, usize)| Some((i32::try_from(line).ok()?, i32::try_from(column).ok()?));
    let wire: Vec<_> =
        faults.iter().map(|fault| wire_violation(&fault.violation, fault.place.and_then(place))).collect();
    let laid = Violations::of(&wire);
    let fields: Vec<FieldViolation> =
        laid.fields.into_iter().map(|(field, description)| FieldViolation::new(field, description)).collect();
    Status::with_error_details(Code::InvalidArgument, said, ErrorDetails::with_bad_request(fields))
}

/// Most obstacles that are told, and the longest words for one, bytes: together they stay within a trailer.
const OBSTACLES: (usize, usize) = (50, 120);

fn in_the_way(said: String, obstacles: &[Obstacle]) -> Status {
    let short = |text: &str| text.chars().take(OBSTACLES.1 / 4 * 3).collect::<String>();
    let mut told: Vec<PreconditionViolation> = obstacles
        .iter()
        .take(OBSTACLES.0)
        .map(|it| PreconditionViolation::new(it.kind.word(), short(&it.subject), short(&it.said)))
        .collect();
    if obstacles.len() > OBSTACLES.0 {
        let more = format!("and {} more", obstacles.len() - OBSTACLES.0);
        told.push(PreconditionViolation::new("MORE", "", more));
    }
    Status::with_error_details(Code::FailedPrecondition, said, ErrorDetails::with_precondition_failure(told))
}

/// Cuts a message at a letter.
fn shortened(mut said: String) -> String {
    if said.len() > MESSAGE_BYTES {
        let end = (0..=MESSAGE_BYTES).rev().find(|at| said.is_char_boundary(*at)).unwrap_or(0);
        said.truncate(end);
        said.push_str(" ...");
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn many_faults_stay_within_a_trailer() {
        let faults: Vec<Fault> = (0..5000).map(|n| Fault::of(format!("members[{n}].stock"), "no such stock")).collect();
        let status = to_status(AppError::Invalid { faults });
        assert_eq!(status.code(), Code::InvalidArgument);
        assert!(status.details().len() < 12_000, "{}", status.details().len());
        let details = status.get_error_details();
        let violations = details.bad_request().map(|bad| bad.field_violations.clone()).unwrap_or_default();
        assert_eq!(violations.len(), 51);
        assert_eq!(violations.last().map(|last| last.description.as_str()), Some("and 4950 more"));
    }

    #[test]
    fn what_went_wrong_inside_stays_inside() {
        let secret = "password=hunter2 host=db7";
        let unavailable = AppError::Store(StoreError::Unavailable { cause: secret.into() });
        let refused = AppError::Store(StoreError::Refused { cause: secret.into() });
        let codes =
            [(unavailable, Code::Unavailable), (refused, Code::Internal), (AppError::internal(secret), Code::Internal)];
        for (error, code) in codes {
            let status = to_status(error);
            assert_eq!(status.code(), code);
            assert!(!format!("{status:?}").contains("hunter2"));
        }
    }

    #[test]
    fn somebody_else_first_is_told_with_letter_and_author() {
        let status = to_status(AppError::NotLatest {
            latest_letter: "D".into(),
            author: "okoro".into(),
            worked_from: "C".into(),
        });
        assert_eq!(status.code(), Code::Aborted);
        let details = status.get_error_details();
        let facts = details.error_info().map(|info| info.metadata.clone()).unwrap_or_default();
        assert_eq!(facts.get("latest_letter").map(String::as_str), Some("D"));
        assert_eq!(facts.get("author").map(String::as_str), Some("okoro"));
    }

    #[test]
    fn long_messages_are_cut_at_a_letter() {
        let said = shortened("é".repeat(5000));
        assert!(said.len() <= MESSAGE_BYTES + 4 && said.ends_with("é ..."));
    }
}
