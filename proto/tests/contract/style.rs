//! What buf's STANDARD and COMMENTS rules ask, as far as a descriptor shows it, and our own: statuses named, presence
//! said, no unsigned integers. Holds on a machine without buf; `.ci/run` runs buf itself.

use super::descriptor::{Element, Kind, PACKAGE, built, elements};
use prost_types::field_descriptor_proto::Type;
use std::collections::BTreeMap;

/// Faults of one rule over all elements; the test shows all of them at once.
fn broken(rule: impl Fn(&Element<'_>) -> Option<String>) -> Vec<String> {
    let set = built();
    elements(&set).iter().filter_map(|element| Some(format!("{}: {}", element.name, rule(element)?))).collect()
}

fn assert_none(faults: Vec<String>) {
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn last(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

fn is_lower_snake(name: &str) -> bool {
    name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_') && !name.contains("__")
}

fn is_pascal(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_uppercase()) && name.chars().all(|c| c.is_ascii_alphanumeric())
}

/// `CheckKind` -> `CHECK_KIND_`.
fn value_prefix(enum_name: &str) -> String {
    let mut prefix = String::new();
    for c in enum_name.chars() {
        if c.is_ascii_uppercase() && !prefix.is_empty() {
            prefix.push('_');
        }
        prefix.push(c.to_ascii_uppercase());
    }
    prefix + "_"
}

#[test]
fn every_file_is_of_the_package_and_in_its_folder() {
    for file in built().file {
        assert_eq!(file.package(), PACKAGE, "{}", file.name());
        assert_eq!(file.syntax(), "proto3", "{}", file.name());
        let stem = file.name().strip_prefix("battenboard/v1/").and_then(|name| name.strip_suffix(".proto"));
        assert!(stem.is_some_and(is_lower_snake), "{}", file.name());
    }
}

#[test]
fn names_are_written_as_their_kind_asks() {
    assert_none(broken(|element| {
        let name = last(&element.name);
        let good = match element.kind {
            Kind::Message(_) | Kind::Enum(_) | Kind::Method(_) => is_pascal(name),
            Kind::Service(_) => is_pascal(name) && name.ends_with("Service"),
            Kind::Field { .. } | Kind::Oneof { .. } => is_lower_snake(name),
            Kind::Value { .. } => is_lower_snake(&name.to_ascii_lowercase()) && name.to_ascii_uppercase() == name,
        };
        (!good).then(|| "is not written as its kind asks".to_owned())
    }));
}

#[test]
fn every_method_has_its_own_request_and_response() {
    let mut users: BTreeMap<String, u32> = BTreeMap::new();
    let set = built();
    for element in elements(&set) {
        if let Kind::Method(method) = element.kind {
            let name = method.name();
            assert_eq!(method.input_type(), format!(".{PACKAGE}.{name}Request"));
            assert_eq!(method.output_type(), format!(".{PACKAGE}.{name}Response"));
            *users.entry(method.input_type().to_owned()).or_default() += 1;
            *users.entry(method.output_type().to_owned()).or_default() += 1;
        }
    }
    assert!(users.values().all(|count| *count == 1), "{users:?}");
    assert!(!users.is_empty());
}

#[test]
fn enums_begin_with_unspecified_and_carry_their_prefix() {
    assert_none(broken(|element| {
        let Kind::Enum(one) = element.kind else { return None };
        let prefix = value_prefix(one.name());
        let unspecified = format!("{prefix}UNSPECIFIED");
        if one.value.first().is_none_or(|value| value.number() != 0 || value.name() != unspecified) {
            return Some(format!("does not begin with {unspecified} = 0"));
        }
        one.value
            .iter()
            .find(|value| !value.name().starts_with(&prefix))
            .map(|value| format!("{} lacks the prefix {prefix}", value.name()))
    }));
}

#[test]
fn everything_has_a_comment() {
    assert_none(broken(|element| element.comment().is_empty().then(|| "has no comment".to_owned())));
}

#[test]
fn fields_say_whether_they_are_needed() {
    // Requests and what they carry: REQUIRED or OPTIONAL. What only the server says: OUTPUT_ONLY. A response and the
    // plain numbers of a vector need neither: all of it is said.
    let plain = ["Point", "PlanPoint", "Extent", "Direction", "Force", "Moment", "LineForce", "Movement", "Violation"];
    assert_none(broken(|element| {
        let Kind::Field { field, message } = element.kind else { return None };
        // A choice of a oneof: the oneof's own comment says it.
        let choice = field.oneof_index.is_some() && !field.proto3_optional();
        if choice || plain.contains(&message.name()) || message.name().ends_with("Response") {
            return None;
        }
        let comment = element.comment();
        let said = ["REQUIRED. ", "OPTIONAL. ", "OUTPUT_ONLY. "].iter().any(|word| comment.starts_with(word));
        (!said).then(|| format!("says neither REQUIRED, OPTIONAL nor OUTPUT_ONLY: {comment}"))
    }));
    assert_none(broken(|element| {
        let Kind::Oneof { index, message } = element.kind else { return None };
        let choices = message.field.iter().filter(|field| field.oneof_index == Some(index)).count();
        (choices < 2).then(|| "is a oneof of one".to_owned())
    }));
}

#[test]
fn services_say_what_a_caller_without_token_or_right_gets() {
    assert_none(broken(|element| {
        let Kind::Service(service) = element.kind else { return None };
        let comment = element.comment();
        let said = comment.contains("UNAUTHENTICATED") || comment.contains("without a good one");
        let open = service.name() == "ServerInfoService" && comment.contains("without a token");
        (!said && !open).then(|| "does not say what a call without a token gets".to_owned())
    }));
}

#[test]
fn methods_name_their_statuses() {
    let statuses = [
        "INVALID_ARGUMENT",
        "NOT_FOUND",
        "ALREADY_EXISTS",
        "PERMISSION_DENIED",
        "UNAUTHENTICATED",
        "ABORTED",
        "RESOURCE_EXHAUSTED",
        "FAILED_PRECONDITION",
        "OUT_OF_RANGE",
        "DEADLINE_EXCEEDED",
        "UNAVAILABLE",
    ];
    // These fail only as every method of their service does.
    let silent = ["SignOut", "GetAccount"];
    assert_none(broken(|element| {
        let Kind::Method(method) = element.kind else { return None };
        let comment = element.comment();
        let named = silent.contains(&method.name()) || statuses.iter().any(|status| comment.contains(status));
        (!named).then(|| "names no status".to_owned())
    }));
}

#[test]
fn numbers_are_signed_or_floating() {
    assert_none(broken(|element| {
        let Kind::Field { field, .. } = element.kind else { return None };
        match field.r#type() {
            Type::Double | Type::Int32 | Type::Int64 | Type::Bool | Type::String | Type::Message | Type::Enum => None,
            other => Some(format!("is of type {other:?}; the contract has double, int32, int64, bool and string")),
        }
    }));
}

#[test]
fn lists_have_page_tokens() {
    assert_none(broken(|element| {
        let Kind::Message(message) = element.kind else { return None };
        let has = |name: &str| message.field.iter().any(|field| field.name() == name);
        // `ListNews`, not `ListenNews`.
        let lists = |name: &str| name.strip_prefix("List").is_some_and(|what| what.starts_with(char::is_uppercase));
        let needed: &[&str] = match message.name() {
            name if lists(name) && name.ends_with("Request") => &["page_size", "page_token"],
            name if lists(name) && name.ends_with("Response") => &["next_page_token"],
            _ => &[],
        };
        needed.iter().find(|name| !has(name)).map(|name| format!("lacks {name}"))
    }));
}

#[test]
fn times_are_timestamps_and_end_in_time() {
    assert_none(broken(|element| {
        let Kind::Field { field, .. } = element.kind else { return None };
        let is_time = field.type_name() == ".google.protobuf.Timestamp";
        (is_time != field.name().ends_with("_time"))
            .then(|| "a Timestamp ends in _time and nothing else does".to_owned())
    }));
}

#[test]
fn prefixes_are_made_as_buf_makes_them() {
    assert_eq!(value_prefix("CheckKind"), "CHECK_KIND_");
    assert_eq!(value_prefix("Axes"), "AXES_");
}
