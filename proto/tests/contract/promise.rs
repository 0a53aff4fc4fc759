//! Nothing that was promised goes or changes: the built contract against the committed one. Additions are free.

use super::descriptor::{Element, Kind, PACKAGE, built, elements, own};
use prost::Message;
use prost_types::{FieldDescriptorProto, FileDescriptorSet};
use std::{collections::BTreeMap, env, fs, path::PathBuf};

/// Set this variable to have the committed descriptor written anew.
const RENEW: &str = "RENEW_DESCRIPTOR";

fn committed_path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("descriptor/v1.binpb")
}

/// What is promised of an element, in a form that can be compared; the same text means the same promise.
fn promise(element: &Element<'_>) -> String {
    match &element.kind {
        Kind::Message(_) => "message".into(),
        Kind::Enum(_) => "enum".into(),
        Kind::Service(_) => "service".into(),
        Kind::Oneof { .. } => "oneof".into(),
        Kind::Value { number } => format!("enum value {number}"),
        Kind::Method(method) => format!(
            "method from {}{} to {}{}",
            if method.client_streaming() { "stream " } else { "" },
            method.input_type(),
            if method.server_streaming() { "stream " } else { "" },
            method.output_type(),
        ),
        Kind::Field { field, message } => {
            let oneof = field.oneof_index.filter(|_| !field.proto3_optional());
            let oneof = oneof.and_then(|index| message.oneof_decl.get(usize::try_from(index).ok()?));
            format!(
                "field {} of type {:?} {} {:?}{} json {}{}",
                field.number(),
                field.r#type(),
                field.type_name(),
                field.label(),
                if field.proto3_optional() { " optional" } else { "" },
                json_name(field),
                oneof.map(|oneof| format!(" in oneof {}", oneof.name())).unwrap_or_default(),
            )
        }
    }
}

/// The name in JSON; compilers leave it out where it is the usual one.
fn json_name(field: &FieldDescriptorProto) -> String {
    if let Some(name) = &field.json_name {
        return name.clone();
    }
    let mut name = String::new();
    let mut raise = false;
    for c in field.name().chars() {
        match (c, raise) {
            ('_', _) => raise = true,
            (c, true) => {
                name.push(c.to_ascii_uppercase());
                raise = false;
            }
            (c, false) => name.push(c),
        }
    }
    name
}

fn promises(set: &FileDescriptorSet) -> BTreeMap<String, String> {
    elements(set).iter().map(|element| (element.name.clone(), promise(element))).collect()
}

/// What of `before` is gone or changed in `after`, and what new values stand under numbers that had been given away.
fn broken(before: &FileDescriptorSet, after: &FileDescriptorSet) -> Vec<String> {
    let after = promises(after);
    promises(before)
        .into_iter()
        .filter_map(|(name, promised)| match after.get(&name) {
            None => Some(format!("{name} is gone; it was: {promised}")),
            Some(now) if *now != promised => Some(format!("{name} was: {promised}\n    is now: {now}")),
            Some(_) => None,
        })
        .collect()
}

/// The set without comments: these may change.
fn bare(mut set: FileDescriptorSet) -> FileDescriptorSet {
    for file in &mut set.file {
        file.source_code_info = None;
    }
    set
}

#[test]
fn nothing_of_the_committed_contract_is_gone_or_changed() {
    let path = committed_path();
    // Renewing adds promises and breaks none: the committed file is asked first, wherever there is one.
    let first = env::var_os(RENEW).is_some() && !path.exists();
    let committed = if first {
        FileDescriptorSet::default()
    } else {
        own(FileDescriptorSet::decode(fs::read(&path).unwrap().as_slice()).unwrap())
    };
    assert!(first || !committed.file.is_empty(), "{} holds nothing of {PACKAGE}", path.display());
    let faults = broken(&committed, &built());
    assert!(
        faults.is_empty(),
        "{} of {PACKAGE} broken; clients that are out there would fail:\n{}\n",
        faults.len(),
        faults.join("\n")
    );
    if env::var_os(RENEW).is_some() {
        // With imports, so that other tools can read the file by itself.
        let all = FileDescriptorSet::decode(battenboard_proto::FILE_DESCRIPTOR_SET).unwrap();
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, bare(all).encode_to_vec()).unwrap();
        return;
    }
    let (before, now) = (promises(&committed), promises(&built()));
    let added: Vec<&String> = now.keys().filter(|name| !before.contains_key(*name)).collect();
    assert!(
        added.is_empty(),
        "these are new, and not promised yet: {added:?}\nif they are meant, promise them: {RENEW}=1 cargo test -p \
         battenboard-proto --test contract, and keep the renewed proto/descriptor/v1.binpb with the change"
    );
}

/// The first message with a field, with the name of that field.
fn with_first_field(change: impl Fn(&mut FieldDescriptorProto)) -> FileDescriptorSet {
    let mut set = built();
    let message = set.file.iter_mut().flat_map(|file| &mut file.message_type).find(|m| !m.field.is_empty());
    change(&mut message.unwrap().field[0]);
    set
}

#[test]
fn a_broken_promise_is_seen() {
    let promised = built();
    assert!(broken(&promised, &promised).is_empty());

    for changed in [
        with_first_field(|field| field.set_type(prost_types::field_descriptor_proto::Type::Bytes)),
        with_first_field(|field| field.number = Some(99)),
        with_first_field(|field| field.name = Some("renamed".into())),
        with_first_field(|field| field.set_label(prost_types::field_descriptor_proto::Label::Repeated)),
        with_first_field(|field| field.proto3_optional = Some(true)),
        with_first_field(|field| field.json_name = Some("other".into())),
    ] {
        assert_eq!(broken(&promised, &changed).len(), 1);
    }

    let mut fewer = built();
    fewer.file.iter_mut().find(|file| !file.service.is_empty()).unwrap().service[0].method.pop();
    assert_eq!(broken(&promised, &fewer).len(), 1);
    // What is there only afterwards breaks nothing.
    assert!(broken(&fewer, &promised).is_empty());

    let mut streaming = built();
    let service = &mut streaming.file.iter_mut().find(|file| !file.service.is_empty()).unwrap().service[0];
    service.method[0].server_streaming = Some(true);
    assert_eq!(broken(&promised, &streaming).len(), 1);

    let mut renumbered = built();
    let one = &mut renumbered.file.iter_mut().find(|file| !file.enum_type.is_empty()).unwrap().enum_type[0];
    one.value[1].number = Some(77);
    assert_eq!(broken(&promised, &renumbered).len(), 1);
}
