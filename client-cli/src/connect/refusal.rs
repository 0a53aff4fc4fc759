//! A server's refusal in plain words, and the exit code that belongs to it: the one match from gRPC codes.

use crate::error::ClientError;
use crate::exit::Exit;
use tonic::{Code, Status};
use tonic_types::StatusExt;

/// True when the server was not reached or can't serve now, so that a later try may do.
pub fn is_network(status: &Status) -> bool {
    matches!(status.code(), Code::Unavailable | Code::DeadlineExceeded | Code::Cancelled)
        // What the transport itself reports has a source; what a server says has none.
        || (status.code() == Code::Unknown && std::error::Error::source(status).is_some())
}

/// Why the way to a server did not open; `certificates` are the one it was joined with and the other it has shown.
pub fn unreachable(
    server: &str,
    certificates: Option<(&str, &str)>,
    cause: &(dyn std::error::Error + 'static),
) -> ClientError {
    if let Some((wanted, shown)) = certificates {
        let message = format!(
            "`{server}` shows another certificate than the one you know it by; nothing was sent\n  \
             known: {wanted}\n  shown: {shown}"
        );
        let host = server.trim_start_matches("https://");
        // No-break spaces keep a command in one piece; they come out as plain ones.
        let command = format!("batten\u{a0}join\u{a0}{host}/{shown}");
        let hint = format!(
            "either the server was set up anew, or somebody stands between you and it. Ask its host, by telephone or \
             face to face, which fingerprint it prints at its start. Only if that is the one shown: \
             {command}"
        );
        return ClientError::Certificate { message, hint };
    }
    if is_certificate_refusal(cause) {
        let message = format!("nobody this command knows vouches for the certificate of `{server}`; nothing was sent");
        let hint = "a server with a certificate of its own is joined once, by its line: batten\u{a0}join\u{a0}LINE, \
                    from its host or from a keeper's batten\u{a0}let-in";
        return ClientError::Certificate { message, hint: hint.to_owned() };
    }
    ClientError::Unreachable { server: server.to_owned(), cause: root(cause) }
}

/// True where TLS refused the server's certificate.
fn is_certificate_refusal(error: &(dyn std::error::Error + 'static)) -> bool {
    std::iter::successors(Some(error), |error| error.source()).any(|error| {
        let within = error.downcast_ref::<std::io::Error>().and_then(std::io::Error::get_ref);
        let within = within.and_then(|within| within.downcast_ref::<rustls::Error>());
        let refusal = within.or_else(|| error.downcast_ref::<rustls::Error>());
        matches!(refusal, Some(rustls::Error::InvalidCertificate(_)))
    })
}

/// The refusal as an error of this command.
pub fn refused(server: &str, status: &Status) -> ClientError {
    if is_network(status) {
        let cause = std::error::Error::source(status).map_or_else(|| status.message().to_owned(), root);
        let cause = if status.code() == Code::DeadlineExceeded { "no answer in time".to_owned() } else { cause };
        return ClientError::Unreachable { server: server.to_owned(), cause };
    }
    let (exit, hint) = match status.code() {
        Code::Unauthenticated => (Exit::NotAllowed, None),
        Code::PermissionDenied => (Exit::NotAllowed, Some("batten crew shows who may do what".to_owned())),
        Code::InvalidArgument | Code::NotFound | Code::AlreadyExists | Code::FailedPrecondition | Code::OutOfRange => {
            (Exit::Usage, None)
        }
        Code::ResourceExhausted => (Exit::Server, retry_hint(status)),
        _ => (Exit::Server, None),
    };
    ClientError::Refused { exit, message: message(status), hint }
}

/// What the server said, with every violation on a line of its own.
fn message(status: &Status) -> String {
    let mut text = match status.message() {
        "" => format!("the server refused: {}", status.code()),
        said => said.trim_end_matches('.').to_owned(),
    };
    let details = status.get_error_details();
    if let Some(bad) = details.bad_request() {
        for violation in &bad.field_violations {
            let said = violation.description.replace('\n', " ");
            let line = if violation.field.is_empty() { said.clone() } else { format!("{}: {said}", violation.field) };
            // A refusal with one fault says it in its message already.
            if !said.is_empty() && text.contains(&said) {
                continue;
            }
            text.push_str(&format!("\n  {line}"));
        }
    }
    text
}

fn retry_hint(status: &Status) -> Option<String> {
    let delay = status.get_error_details().retry_info()?.retry_delay?;
    Some(format!("try again in {} seconds", delay.as_secs().max(1)))
}

/// Latest letter and its author, where a submission was not worked from the latest revision.
pub fn aborted(status: &Status) -> Option<(String, String)> {
    if status.code() != Code::Aborted {
        return None;
    }
    let details = status.get_error_details();
    let metadata = &details.error_info()?.metadata;
    Some((metadata.get("latest_letter")?.clone(), metadata.get("author").cloned().unwrap_or_default()))
}

/// Something that stands in the way of what was asked for, as the server says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InTheWay {
    /// Which kind of thing, e.g. `SNAG_OPEN`.
    pub kind: String,
    /// Of what.
    pub subject: String,
    /// In words.
    pub said: String,
}

/// What stands in the way, where that is why a server refused.
pub fn in_the_way(status: &Status) -> Option<Vec<InTheWay>> {
    if status.code() != Code::FailedPrecondition {
        return None;
    }
    let details = status.get_error_details();
    let violations = &details.precondition_failure()?.violations;
    let one = |it: &tonic_types::PreconditionViolation| InTheWay {
        kind: it.r#type.clone(),
        subject: it.subject.clone(),
        said: it.description.clone(),
    };
    Some(violations.iter().map(one).collect())
}

/// The innermost reason, which is the one a person can do something about.
pub fn root(error: &(dyn std::error::Error + 'static)) -> String {
    let mut innermost = error;
    while let Some(source) = innermost.source() {
        innermost = source;
    }
    match innermost.downcast_ref::<std::io::Error>().map(std::io::Error::kind) {
        Some(std::io::ErrorKind::ConnectionRefused) => "nobody answers at that address".to_owned(),
        Some(std::io::ErrorKind::TimedOut) => "no answer in time".to_owned(),
        _ => innermost.to_string(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test may stop at once")]
    use super::*;
    use std::collections::HashMap;
    use tonic_types::ErrorDetails;

    fn exit_of(code: Code) -> Exit {
        refused("http://localhost:1", &Status::new(code, "no")).exit()
    }

    #[test]
    fn codes_become_the_documented_exit_codes() {
        let cases = [
            (Code::InvalidArgument, Exit::Usage),
            (Code::NotFound, Exit::Usage),
            (Code::AlreadyExists, Exit::Usage),
            (Code::FailedPrecondition, Exit::Usage),
            (Code::PermissionDenied, Exit::NotAllowed),
            (Code::Unauthenticated, Exit::NotAllowed),
            (Code::Unavailable, Exit::Server),
            (Code::DeadlineExceeded, Exit::Server),
            (Code::ResourceExhausted, Exit::Server),
            (Code::Internal, Exit::Server),
        ];
        for (code, exit) in cases {
            assert_eq!(exit_of(code), exit, "{code}");
        }
    }

    #[test]
    fn every_violation_is_said() {
        let mut details = ErrorDetails::new();
        details.add_bad_request_violation("name", "too short");
        details.add_bad_request_violation("password", "too common");
        let status = Status::with_error_details(Code::InvalidArgument, "2 things are wrong", details);
        assert_eq!(refused("x", &status).to_string(), "2 things are wrong\n  name: too short\n  password: too common");
    }

    #[test]
    fn a_single_violation_is_not_said_twice() {
        let mut details = ErrorDetails::new();
        details.add_bad_request_violation("password", "too short");
        let status = Status::with_error_details(Code::InvalidArgument, "password: too short", details);
        assert_eq!(refused("x", &status).to_string(), "password: too short");
    }

    #[test]
    fn what_stands_in_the_way_is_told() {
        let mut details = ErrorDetails::new();
        details.add_precondition_failure_violation("SNAG_OPEN", "3", "snag 3 on B1 is not cleared");
        let status = Status::with_error_details(Code::FailedPrecondition, "something stands in the way", details);
        let said = "snag 3 on B1 is not cleared".to_owned();
        let wanted = InTheWay { kind: "SNAG_OPEN".into(), subject: "3".into(), said };
        assert_eq!(in_the_way(&status), Some(vec![wanted]));
        assert_eq!(in_the_way(&Status::failed_precondition("other")), None);
    }

    #[test]
    fn somebody_else_was_first() {
        let metadata = HashMap::from([("latest_letter".into(), "D".into()), ("author".into(), "okoro".into())]);
        let details = ErrorDetails::with_error_info("NOT_LATEST", "battenboard", metadata);
        let status = Status::with_error_details(Code::Aborted, "not the latest", details);
        assert_eq!(aborted(&status), Some(("D".into(), "okoro".into())));
        assert_eq!(aborted(&Status::aborted("other")), None);
    }
}
