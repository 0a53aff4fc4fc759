//! Enums without data: the engine's and the wire's have the same variants, the wire's also `Unspecified`.
//!
//! Both matches are written out from one list without a wildcard: a variant that is new on either side breaks the build.

use super::{onwire::OnWire, path::Path};
use crate::v1;
use battenboard_engine::{
    design::{Action, Axes, Face, Grading, Heading, Posture, Violation},
    findings::{AssumptionCode, CheckKind, LimitState, LoadState, Motion, Room, Unchecked, Verdict},
};

/// Turns a number of the wire into its enum and adds a violation for an unspecified or unknown one.
pub(super) fn known<W>(number: i32, unspecified: W, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<W>
where
    W: TryFrom<i32> + PartialEq,
{
    match W::try_from(number) {
        Ok(value) if value != unspecified => Some(value),
        Ok(_) => {
            faults.push(Violation::new(at.to_string(), "is unspecified"));
            None
        }
        Err(_) => {
            faults.push(Violation::new(at.to_string(), format!("{number} is no value that this program knows")));
            None
        }
    }
}

macro_rules! same_variants {
    ($($name:ident { $($variant:ident),+ $(,)? })+) => {$(
        impl OnWire for $name {
            type Wire = i32;

            fn to_wire(&self) -> i32 {
                match self {
                    $(Self::$variant => v1::$name::$variant.into(),)+
                }
            }

            fn from_wire(wire: i32, at: &Path<'_>, faults: &mut Vec<Violation>) -> Option<Self> {
                match known(wire, v1::$name::Unspecified, at, faults)? {
                    // Kept out by `known`; named so that the match has no wildcard.
                    v1::$name::Unspecified => None,
                    $(v1::$name::$variant => Some(Self::$variant),)+
                }
            }
        }

        #[cfg(test)]
        impl EveryValue for $name {
            const VALUES: &'static [Self] = &[$(Self::$variant),+];
        }

        impl From<$name> for v1::$name {
            fn from(value: $name) -> Self {
                match value {
                    $($name::$variant => Self::$variant,)+
                }
            }
        }
    )+};
}

/// All values of an enum, for the tests.
#[cfg(test)]
pub(super) trait EveryValue: Sized + 'static {
    /// All values, in the engine's order.
    const VALUES: &'static [Self];
}

same_variants! {
    Grading { Stamped, Measured, Assumed }
    Axes { Vehicle, Member }
    Face { Lower, Upper, Left, Right }
    Posture { Lying, Sitting, Kneeling }
    Heading { Front, Rear, Left, Right }
    Action { Permanent, Stowage, Lying, Moving }
    Verdict { Holds, Near, NotChecked, FallsShort }
    CheckKind {
        TensionBending, CompressionBending, Bending, Shear, Column, SagInstant, SagFinal, SagStated, DeckBending,
        DeckShear, DeckSag, Torsion, LateralBuckling, Bearing, Notch, Hole, Sway, FrameBuckling, Frequency,
    }
    Motion { Slide, Turn, Fold }
    Unchecked {
        StrengthUnknown, Metal, Torsion, LateralBuckling, Bearing, Notches, Stability, JointFixings, AnchorFixings,
        Travelling, Fit, NotComputed, GearFixings, Shear,
    }
    LoadState { Empty, Touring }
    AssumptionCode {
        ToBeMeasured, GradeAssumed, PersonMass, JointsIdeal, AnchorsIdeal, ServiceClass, SmallPiece, PeopleGiven, ShortTerm,
        ColumnPinned, ColumnHeld, DeckOneWay, FixingsShare, FactorChanged, SpinSetAside, FromMemory,
        ColumnByFrame, NotColumnCritical, SecondOrder, LateralHolds, ContactLength, MixedCreep, TravelAcceleration,
        NoDiaphragm, SharingFactor, MattressThickness, UngradedPiece, MetalElastic, MetalUnwelded, MetalProfile,
    }
    LimitState { Strength, SagInstant, SagFinal }
    Room { Cramped, Lying, Bent, Sitting }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fmt::Debug;

    /// Every value has its own number over 0 and comes back; 0 and the number after the last are refused.
    fn every_value<T: OnWire<Wire = i32> + EveryValue + PartialEq + Debug>() {
        let mut numbers = Vec::new();
        for value in T::VALUES {
            let mut faults = Vec::new();
            let number = value.to_wire();
            assert_eq!(T::from_wire(number, &Path::ROOT, &mut faults).as_ref(), Some(value));
            assert!(faults.is_empty() && number > 0 && !numbers.contains(&number), "{value:?} has number {number}");
            numbers.push(number);
        }
        let beyond = numbers.iter().max().map_or(1, |last| last + 1);
        for number in [0, -1, beyond] {
            let mut faults = Vec::new();
            assert_eq!(T::from_wire(number, &Path::ROOT.field("kind"), &mut faults), None);
            assert_eq!(faults.len(), 1, "{number}");
            assert_eq!(faults[0].path, "kind");
        }
    }

    #[test]
    fn every_value_of_every_enum_travels() {
        every_value::<Grading>();
        every_value::<Axes>();
        every_value::<Face>();
        every_value::<Posture>();
        every_value::<Heading>();
        every_value::<Action>();
        every_value::<Verdict>();
        every_value::<CheckKind>();
        every_value::<Motion>();
        every_value::<Unchecked>();
        every_value::<LoadState>();
        every_value::<AssumptionCode>();
        every_value::<LimitState>();
        every_value::<Room>();
    }
}
