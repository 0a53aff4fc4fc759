//! Where in a message one is, kept without allocation: a path is written out only when there is a fault.

use std::fmt;

/// A place in a message; it borrows the place above it.
#[derive(Clone, Copy)]
pub(super) struct Path<'a> {
    above: Option<&'a Path<'a>>,
    step: Step,
}

#[derive(Clone, Copy)]
enum Step {
    Root,
    Field(&'static str),
    Index(usize),
}

impl Path<'_> {
    /// The message itself.
    pub(super) const ROOT: Path<'static> = Path { above: None, step: Step::Root };
}

impl<'a> Path<'a> {
    /// A field of the message here.
    pub(super) fn field(&'a self, name: &'static str) -> Self {
        Self { above: Some(self), step: Step::Field(name) }
    }

    /// An entry of the list here, from 0.
    pub(super) fn index(&'a self, index: usize) -> Self {
        Self { above: Some(self), step: Step::Index(index) }
    }
}

impl fmt::Display for Path<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Some(above) = self.above else { return Ok(()) };
        above.fmt(f)?;
        match (self.step, above.step) {
            (Step::Root, _) => Ok(()),
            (Step::Field(name), Step::Root) => f.write_str(name),
            (Step::Field(name), _) => write!(f, ".{name}"),
            (Step::Index(index), _) => write!(f, "[{index}]"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Path;

    #[test]
    fn paths_read_like_the_design_file() {
        let members = Path::ROOT.field("members");
        let third = members.index(3);
        assert_eq!(third.field("stock").to_string(), "members[3].stock");
        assert_eq!(Path::ROOT.to_string(), "");
    }
}
