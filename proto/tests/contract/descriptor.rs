//! The built descriptor set, laid out flat: every element of the package by its full name.

use battenboard_proto::FILE_DESCRIPTOR_SET;
use prost::Message;
use prost_types::{
    DescriptorProto, EnumDescriptorProto, FieldDescriptorProto, FileDescriptorProto, FileDescriptorSet,
    MethodDescriptorProto, ServiceDescriptorProto, SourceCodeInfo,
};

/// The package of the contract.
pub const PACKAGE: &str = "battenboard.v1";

/// The set as built, its imports left out.
pub fn built() -> FileDescriptorSet {
    own(FileDescriptorSet::decode(FILE_DESCRIPTOR_SET).unwrap())
}

/// The files of the package alone.
pub fn own(mut set: FileDescriptorSet) -> FileDescriptorSet {
    set.file.retain(|file| file.name().starts_with("battenboard/"));
    set
}

/// One element with its full name, and where its comment would be in its file.
pub struct Element<'a> {
    /// E.g. `battenboard.v1.Member.tag`.
    pub name: String,
    /// The file it is in.
    pub file: &'a FileDescriptorProto,
    /// Path within the file's descriptor, as source info counts.
    pub path: Vec<i32>,
    /// What it is.
    pub kind: Kind<'a>,
}

/// What an element is.
pub enum Kind<'a> {
    Message(&'a DescriptorProto),
    Field { field: &'a FieldDescriptorProto, message: &'a DescriptorProto },
    Oneof { index: i32, message: &'a DescriptorProto },
    Enum(&'a EnumDescriptorProto),
    Value { number: i32 },
    Service(&'a ServiceDescriptorProto),
    Method(&'a MethodDescriptorProto),
}

impl Element<'_> {
    /// The comment before it, trimmed; empty where there is none.
    pub fn comment(&self) -> String {
        let locations = self.file.source_code_info.as_ref().map(|SourceCodeInfo { location }| location.as_slice());
        locations
            .unwrap_or_default()
            .iter()
            .find(|location| location.path == self.path)
            .map(|location| location.leading_comments().trim().to_owned())
            .unwrap_or_default()
    }
}

/// Every element of a set. Numbers in paths are the field numbers of `descriptor.proto`.
pub fn elements(set: &FileDescriptorSet) -> Vec<Element<'_>> {
    let mut all = Vec::new();
    for file in &set.file {
        let package = file.package();
        for (index, message) in (0..).zip(&file.message_type) {
            add_message(&mut all, file, package, &[4, index], message);
        }
        for (index, one) in (0..).zip(&file.enum_type) {
            add_enum(&mut all, file, package, &[5, index], one);
        }
        for (index, service) in (0..).zip(&file.service) {
            let name = format!("{package}.{}", service.name());
            for (method_index, method) in (0..).zip(&service.method) {
                let name = format!("{name}.{}", method.name());
                all.push(Element { name, file, path: vec![6, index, 2, method_index], kind: Kind::Method(method) });
            }
            all.push(Element { name, file, path: vec![6, index], kind: Kind::Service(service) });
        }
    }
    all
}

fn add_message<'a>(
    all: &mut Vec<Element<'a>>,
    file: &'a FileDescriptorProto,
    within: &str,
    path: &[i32],
    message: &'a DescriptorProto,
) {
    let name = format!("{within}.{}", message.name());
    let under = |field: i32, index: i32| [path, &[field, index]].concat();
    for (index, field) in (0..).zip(&message.field) {
        let kind = Kind::Field { field, message };
        all.push(Element { name: format!("{name}.{}", field.name()), file, path: under(2, index), kind });
    }
    for (index, oneof) in (0..).zip(&message.oneof_decl) {
        // An `optional` scalar is a oneof of its own, made by the compiler.
        let made = message.field.iter().any(|field| field.proto3_optional() && field.oneof_index == Some(index));
        if !made {
            let kind = Kind::Oneof { index, message };
            all.push(Element { name: format!("{name}.{}", oneof.name()), file, path: under(8, index), kind });
        }
    }
    for (index, nested) in (0..).zip(&message.nested_type) {
        add_message(all, file, &name, &under(3, index), nested);
    }
    for (index, nested) in (0..).zip(&message.enum_type) {
        add_enum(all, file, &name, &under(4, index), nested);
    }
    all.push(Element { name, file, path: path.to_vec(), kind: Kind::Message(message) });
}

fn add_enum<'a>(
    all: &mut Vec<Element<'a>>,
    file: &'a FileDescriptorProto,
    within: &str,
    path: &[i32],
    one: &'a EnumDescriptorProto,
) {
    let name = format!("{within}.{}", one.name());
    for (index, value) in (0..).zip(&one.value) {
        let kind = Kind::Value { number: value.number() };
        all.push(Element { name: format!("{name}.{}", value.name()), file, path: [path, &[2, index]].concat(), kind });
    }
    all.push(Element { name, file, path: path.to_vec(), kind: Kind::Enum(one) });
}
