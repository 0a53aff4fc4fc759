//! Conversions between the wire and the engine: one place, both directions side by side.
//!
//! Each type is taken apart without `..`, so that a field that is new on either side breaks the build here. Numbers
//! pass as they are; whether they are finite or make sense is for [`battenboard_engine::design::Frame::new`] to say,
//! as is an empty text. On the wire itself a negative zero becomes zero, as proto3 leaves out what equals zero.

mod deck;
mod enums;
mod fault;
mod findings;
mod frame;
mod hold;
mod load;
mod onwire;
mod path;
mod proof;
mod results;
mod stability;
mod stock;
mod values;
mod violation;
mod weight;

use crate::v1;
use battenboard_engine::{
    design::{Design, Vehicle, Violation},
    findings::{AxleLine, CheckKind, Findings},
};
use onwire::OnWire;
use path::Path;

pub use proof::{proof_load_from_wire, proof_load_to_wire, proof_result_from_wire, proof_result_to_wire};
pub use violation::{MORE, VIOLATIONS_MAX, Violations, describe, read_description, wire_violation};

/// The design that a wire frame says.
///
/// # Errors
/// All faults of form, by the frame's field paths: a required message that is not there, an enum that is unspecified
/// or unknown, a oneof that is not set or of a newer kind, an integer out of its range.
pub fn frame_from_wire(frame: v1::Frame) -> Result<Design, Vec<Violation>> {
    from_wire(frame)
}

/// The wire form of a design; nothing is lost.
#[must_use]
pub fn frame_to_wire(design: &Design) -> v1::Frame {
    design.to_wire()
}

/// The vehicle that a wire message says.
///
/// # Errors
/// As [`frame_from_wire`]; field paths begin with `vehicle`.
pub fn vehicle_from_wire(vehicle: v1::Vehicle) -> Result<Vehicle, Vec<Violation>> {
    let mut faults = Vec::new();
    match (Vehicle::from_wire(vehicle, &Path::ROOT.field("vehicle"), &mut faults), faults.is_empty()) {
        (Some(value), true) => Ok(value),
        _ => Err(faults),
    }
}

/// The wire form of a vehicle; nothing is lost.
#[must_use]
pub fn vehicle_to_wire(vehicle: &Vehicle) -> v1::Vehicle {
    vehicle.to_wire()
}

/// The axle line that a wire message says.
///
/// # Errors
/// As [`frame_from_wire`].
pub fn axle_line_from_wire(line: v1::AxleLine) -> Result<AxleLine, Vec<Violation>> {
    from_wire(line)
}

/// The wire form of an axle line; nothing is lost.
#[must_use]
pub fn axle_line_to_wire(line: &AxleLine) -> v1::AxleLine {
    line.to_wire()
}

/// The check that a number of the wire says; `None` where it is unspecified or unknown.
#[must_use]
pub fn check_kind_from_wire(number: i32) -> Option<CheckKind> {
    CheckKind::from_wire(number, &Path::ROOT, &mut Vec::new())
}

/// The findings that a wire message says.
///
/// # Errors
/// As [`frame_from_wire`]; an unknown enum value usually means that the sender is newer than this program.
pub fn findings_from_wire(findings: v1::Findings) -> Result<Findings, Vec<Violation>> {
    from_wire(findings)
}

/// The wire form of findings; nothing is lost, save that counts over 2^63 - 1 stop there.
#[must_use]
pub fn findings_to_wire(findings: &Findings) -> v1::Findings {
    findings.to_wire()
}

fn from_wire<T: OnWire>(wire: T::Wire) -> Result<T, Vec<Violation>> {
    let mut faults = Vec::new();
    // A value is there exactly when nothing was found wrong; `None` without a fault cannot be told from outside, so
    // both are asked.
    match (T::from_wire(wire, &Path::ROOT, &mut faults), faults.is_empty()) {
        (Some(value), true) => Ok(value),
        _ => Err(faults),
    }
}

#[cfg(test)]
mod tests;
