//! The one shape of every conversion, and what to do with fields that may be missing.

use super::path::Path;
use battenboard_engine::design::Violation;

/// A type of the engine that has a form on the wire.
pub(super) trait OnWire: Sized {
    /// Its form on the wire.
    type Wire;

    /// The form on the wire; never fails.
    fn to_wire(&self) -> Self::Wire;

    /// The value that the wire says. `None` exactly when at least one violation was added.
    fn from_wire(wire: Self::Wire, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self>;
}

/// A message that must be there.
pub(super) fn required<T: OnWire>(wire: Option<T::Wire>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<T> {
    T::from_wire(present(wire, at, faults)?, at, faults)
}

/// A message that may be missing; the outer `None` is a fault.
pub(super) fn optional<T: OnWire>(
    wire: Option<T::Wire>,
    at: &Path<'_>,
    faults: &mut Vec<Violation>,
) -> Option<Option<T>> {
    wire.map_or(Some(None), |wire| T::from_wire(wire, at, faults).map(Some))
}

/// A list; every entry is looked at, even after a fault.
pub(super) fn list<T: OnWire>(wire: Vec<T::Wire>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Vec<T>> {
    let count = wire.len();
    let mut values = Vec::with_capacity(count);
    for (index, wire) in wire.into_iter().enumerate() {
        values.extend(T::from_wire(wire, &at.index(index), faults));
    }
    (values.len() == count).then_some(values)
}

/// The wire forms of a list.
pub(super) fn list_to_wire<T: OnWire>(values: &[T]) -> Vec<T::Wire> {
    values.iter().map(T::to_wire).collect()
}

/// Plain numbers in a message that must be there.
pub(super) fn required_value<W: Into<T>, T>(wire: Option<W>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<T> {
    present(wire, at, faults).map(Into::into)
}

/// What must be there, or the violation that says it is not.
pub(super) fn present<W>(wire: Option<W>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<W> {
    if wire.is_none() {
        faults.push(Violation::new(at.to_string(), "is missing"));
    }
    wire
}

/// A oneof that must be set; one of a newer sender that is not known here arrives as not set.
pub(super) fn chosen<W>(wire: Option<W>, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<W> {
    if wire.is_none() {
        faults.push(Violation::new(at.to_string(), "says none of its kinds, or one that is newer than this program"));
    }
    wire
}

/// A whole number that fits where it goes.
pub(super) fn whole<W, T>(wire: W, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<T>
where
    W: Copy + std::fmt::Display,
    T: TryFrom<W>,
{
    let value = T::try_from(wire).ok();
    if value.is_none() {
        faults.push(Violation::new(at.to_string(), format!("{wire} is out of range")));
    }
    value
}

#[cfg(test)]
mod tests {
    use super::{Path, chosen, present, whole};

    #[test]
    fn each_fault_names_its_path() {
        let mut faults = Vec::new();
        let path = Path::ROOT.field("hold");
        assert_eq!(present::<f64>(None, &path, &mut faults), None);
        assert_eq!(chosen::<f64>(None, &path, &mut faults), None);
        assert_eq!(whole::<i64, u32>(-1, &path, &mut faults), None);
        assert_eq!(whole::<i64, u32>(4_294_967_295, &path, &mut faults), Some(u32::MAX));
        assert_eq!(faults.len(), 3);
        assert!(faults.iter().all(|fault| fault.path == "hold"));
        assert_eq!(faults[2].message, "-1 is out of range");
    }
}
