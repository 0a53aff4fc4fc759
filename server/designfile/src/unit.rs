//! Quantities with units: `1.8 m`, `70 mm`, `85 kg`, `1.5 kN/m2`; and sizes: `45x70`.

use crate::lines::shorten;
use battenboard_engine::nearest::nearest;

/// What kind of quantity is wanted, and with it the unit a bare number has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// mm.
    Length,
    /// kg.
    Mass,
    /// N.
    Force,
    /// N/mm: a load along a member.
    Line,
    /// N·mm.
    Moment,
    /// N/mm²: a pressure or a modulus of a material.
    Pressure,
    /// Degrees.
    Angle,
    /// Radians; a bare number is degrees all the same.
    Turn,
    /// N/mm: a spring.
    Spring,
    /// N·mm a radian: a spring against turning.
    TurnSpring,
    /// kg/m³.
    Density,
    /// mm².
    Area,
    /// mm⁴.
    Inertia,
    /// mm³.
    Modulus,
    /// No unit.
    Factor,
    /// Money a metre, no unit.
    Price,
}

/// A unit: its spellings, and the power of ten that takes it to the base unit of its kind.
type Unit = (&'static [&'static str], i32);

const LINE: &[Unit] = &[(&["N/mm", "kN/m"], 0), (&["N/m"], -3)];
const SPRING: &[Unit] = &[(&["N/mm", "kN/m"], 0), (&["N/m"], -3), (&["kN/mm"], 3)];
const MOMENT: &[Unit] = &[(&["Nmm", "N·mm", "N mm"], 0), (&["Nm", "N·m", "N m"], 3), (&["kNm", "kN·m", "kN m"], 6)];
const TURN_SPRING: &[Unit] = &[
    (&["Nmm/rad", "N·mm/rad", "Nmm", "N·mm"], 0),
    (&["Nm/rad", "N·m/rad", "Nm", "N·m"], 3),
    (&["kNm/rad", "kN·m/rad", "kNm", "kN·m"], 6),
];
const PRESSURE: &[Unit] = &[
    (&["N/mm2", "N/mm²", "MPa"], 0),
    (&["kN/m2", "kN/m²", "kPa"], -3),
    (&["N/m2", "N/m²", "Pa"], -6),
    (&["kN/mm2", "kN/mm²", "GPa"], 3),
];

const ALL: [Kind; 13] = [
    Kind::Length,
    Kind::Mass,
    Kind::Force,
    Kind::Line,
    Kind::Moment,
    Kind::Pressure,
    Kind::Angle,
    Kind::Spring,
    Kind::TurnSpring,
    Kind::Density,
    Kind::Area,
    Kind::Inertia,
    Kind::Modulus,
];

impl Kind {
    fn units(self) -> &'static [Unit] {
        match self {
            Self::Length => &[(&["mm"], 0), (&["cm"], 1), (&["m"], 3)],
            Self::Mass => &[(&["kg"], 0), (&["g"], -3), (&["t"], 3)],
            Self::Force => &[(&["N"], 0), (&["kN"], 3)],
            Self::Line => LINE,
            Self::Moment => MOMENT,
            Self::Pressure => PRESSURE,
            // Radians are no power of ten: see `quantity`.
            Self::Angle | Self::Turn => &[(&["deg", "degrees", "°"], 0), (&[RADIAN], 0)],
            Self::Spring => SPRING,
            Self::TurnSpring => TURN_SPRING,
            Self::Density => &[(&["kg/m3", "kg/m³"], 0)],
            Self::Area => &[(&["mm2", "mm²"], 0), (&["cm2", "cm²"], 2)],
            Self::Inertia => &[(&["mm4", "mm⁴"], 0), (&["cm4", "cm⁴"], 4)],
            Self::Modulus => &[(&["mm3", "mm³"], 0), (&["cm3", "cm³"], 3)],
            Self::Factor | Self::Price => &[],
        }
    }

    fn spellings(self) -> impl Iterator<Item = &'static str> {
        self.units().iter().flat_map(|(spellings, _)| spellings.iter().copied())
    }

    fn power(self, unit: &str) -> Option<i32> {
        self.units().iter().find(|(spellings, _)| spellings.contains(&unit)).map(|(_, power)| *power)
    }

    /// In words: `a length`.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Mass => "a mass",
            Self::Force => "a force",
            Self::Line => "a load along a member",
            Self::Moment => "a moment",
            Self::Pressure => "a pressure",
            Self::Angle | Self::Turn => "an angle",
            Self::Spring => "a spring",
            Self::TurnSpring => "a spring against turning",
            Self::Density => "a density",
            Self::Area => "an area",
            Self::Inertia => "a second moment of area",
            Self::Modulus => "a section modulus",
            Self::Factor => "a plain number",
            Self::Price => "a price",
        }
    }

    /// How it is written, for a mend.
    pub fn example(self) -> &'static str {
        match self {
            Self::Length => "a bare number is mm; or \"70 mm\", \"7 cm\", \"0.07 m\"",
            Self::Mass => "a bare number is kg; or \"85 kg\", \"500 g\", \"1.2 t\"",
            Self::Force => "a bare number is N; or \"900 N\", \"1.5 kN\"",
            Self::Line => "a bare number is N/mm; or \"1.2 kN/m\", \"2 N/mm\"",
            Self::Moment => "a bare number is N·mm; or \"3 Nm\", \"2 kNm\"",
            Self::Pressure => "a bare number is N/mm2; or \"1.5 kN/m2\", \"2 N/mm2\"",
            Self::Angle | Self::Turn => "a bare number is degrees; or \"15 deg\", \"0.1 rad\"",
            Self::Spring => "a bare number is N/mm; or \"450 N/mm\", \"1.2 kN/m\"",
            Self::TurnSpring => "a bare number is N·mm a radian; or \"2 kNm/rad\"",
            Self::Density => "a bare number is kg/m3; or \"420 kg/m3\"",
            Self::Area => "a bare number is mm2; or \"3150 mm2\", \"31.5 cm2\"",
            Self::Inertia => "a bare number is mm4; or \"128 cm4\"",
            Self::Modulus => "a bare number is mm3; or \"36.8 cm3\"",
            Self::Factor => "a bare number such as 1.35",
            Self::Price => "a bare number such as 3.20",
        }
    }
}

const RADIAN: &str = "rad";

/// Figures beyond this are refused: no timber, load or spring needs them.
pub(crate) const LARGEST: f64 = 1e18;

/// Why a text is no quantity of the wanted kind.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// No number to begin with.
    #[error("`{text}` does not begin with a number")]
    NoNumber {
        /// The text.
        text: String,
        /// What is wanted.
        want: Kind,
    },
    /// A decimal comma.
    #[error("`{text}` has a comma in its number")]
    Comma {
        /// The text.
        text: String,
        /// The same with a point.
        with_point: String,
    },
    /// A unit of another kind.
    #[error("`{text}` is {}, but {} is wanted", is.noun(), want.noun())]
    OtherKind {
        /// The text.
        text: String,
        /// What it is.
        is: Kind,
        /// What is wanted.
        want: Kind,
    },
    /// A unit nobody knows.
    #[error("the unit in `{text}` is not known")]
    UnknownUnit {
        /// The text.
        text: String,
        /// What is wanted.
        want: Kind,
        /// The unit that was probably meant.
        near: Option<&'static str>,
    },
    /// Infinite, or larger than anything real.
    #[error("`{text}` is too large a number")]
    TooLarge {
        /// The text.
        text: String,
    },
    /// Not `WIDTHxDEPTH`.
    #[error("`{text}` is no size of a section")]
    NoSize {
        /// The text.
        text: String,
    },
}

impl QuantityError {
    /// What would mend it.
    pub fn mend(&self) -> Option<String> {
        match self {
            Self::NoNumber { want, .. } | Self::OtherKind { want, .. } | Self::UnknownUnit { want, near: None, .. } => {
                Some(want.example().to_owned())
            }
            Self::Comma { with_point, .. } => Some(format!("write a point: `{with_point}`")),
            Self::UnknownUnit { near: Some(near), .. } => Some(format!("perhaps `{near}` was meant")),
            Self::TooLarge { .. } => None,
            Self::NoSize { .. } => Some("write width by depth in mm, such as `45x70`".to_owned()),
        }
    }
}

/// Reads a quantity. Without a unit the number is in the base unit of its kind (mm, kg, N, N/mm, N·mm, degrees ...),
/// and so is what is returned (of [`Kind::Turn`]: radians). Whether it may be zero or negative is the caller's business.
///
/// # Errors
/// [`QuantityError`] when there is no number, the unit is unknown or of another kind, or the number is beyond 1e18.
pub fn quantity(text: &str, kind: Kind) -> Result<f64, QuantityError> {
    let trimmed = text.trim();
    let quoted = shorten(trimmed);
    let (number, rest) = split_number(trimmed);
    if number.is_empty() {
        return Err(QuantityError::NoNumber { text: quoted, want: kind });
    }
    if let Some(after) = rest.strip_prefix(',')
        && after.starts_with(|c: char| c.is_ascii_digit())
    {
        return Err(QuantityError::Comma { with_point: shorten(&trimmed.replacen(',', ".", 1)), text: quoted });
    }
    let unit = rest.trim();
    let value = match kind.power(unit) {
        _ if unit.is_empty() => scaled(number, 0),
        Some(power) => scaled(number, power),
        None => return Err(unit_error(quoted, unit, kind)),
    };
    let value = value.map(|value| match kind {
        Kind::Angle if unit == RADIAN => value.to_degrees(),
        Kind::Turn if unit != RADIAN => value.to_radians(),
        _ => value,
    });
    value.filter(|value| value.abs() <= LARGEST).ok_or(QuantityError::TooLarge { text: quoted })
}

/// Whether a quantity is written without a unit.
pub(crate) fn is_bare(text: &str) -> bool {
    let (number, rest) = split_number(text.trim());
    !number.is_empty() && rest.is_empty()
}

fn unit_error(text: String, unit: &str, want: Kind) -> QuantityError {
    if let Some(is) = ALL.into_iter().find(|other| other.power(unit).is_some()) {
        return QuantityError::OtherKind { text, is, want };
    }
    let folded = |spelling: &&str| spelling.eq_ignore_ascii_case(unit);
    let near = want.spellings().find(folded).or_else(|| nearest(unit, want.spellings()));
    QuantityError::UnknownUnit {
        text,
        want,
        near: near.filter(|_| unit.len() > 1 || want.spellings().any(|s| folded(&s))),
    }
}

/// The longest number at the start of a text, and the rest.
fn split_number(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |from: usize| bytes.iter().skip(from).take_while(|b| b.is_ascii_digit()).count();
    let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let whole = digits(sign);
    let mut end = sign + whole;
    let mut fraction = 0;
    if bytes.get(end) == Some(&b'.') {
        fraction = digits(end + 1);
        if whole + fraction > 0 {
            end += 1 + fraction;
        }
    }
    if whole + fraction == 0 {
        return ("", text);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    text.split_at(end)
}

/// The number times a power of ten, rounded once: 0.07 m is 70 mm and not 70.00000000000001.
fn scaled(number: &str, power: i32) -> Option<f64> {
    let (digits, exponent) = number.split_once(['e', 'E']).unwrap_or((number, "0"));
    let exponent = exponent.parse::<i32>().ok()?.checked_add(power)?;
    let value: f64 = format!("{digits}e{exponent}").parse().ok()?;
    value.is_finite().then_some(value)
}

/// Reads the size of a section, `45x70`: width by depth, mm unless a unit follows (`4.5 x 7 cm`).
///
/// # Errors
/// [`QuantityError`] when it is not two lengths over zero with an `x` between.
pub fn size(text: &str) -> Result<(f64, f64), QuantityError> {
    let no_size = || QuantityError::NoSize { text: shorten(text.trim()) };
    let lower = text.trim().to_lowercase();
    let (first, second) = lower.split_once(['x', '×', '*']).ok_or_else(no_size)?;
    let (number, rest) = split_number(second.trim());
    let unit = rest.trim();
    let depth = quantity(second, Kind::Length)?;
    let first = first.trim();
    // A unit at the end goes for both.
    let width = if is_bare(first) && !number.is_empty() {
        quantity(&format!("{first} {unit}"), Kind::Length)?
    } else {
        quantity(first, Kind::Length)?
    };
    if width > 0.0 && depth > 0.0 { Ok((width, depth)) } else { Err(no_size()) }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed read is a failed test")]
    use super::*;

    #[test]
    fn units_are_exact() {
        let read = |text, kind| quantity(text, kind).unwrap();
        assert_eq!(read("1.8 m", Kind::Length), 1800.0);
        assert_eq!(read("0.07m", Kind::Length), 70.0);
        assert_eq!(read("180 cm", Kind::Length), 1800.0);
        assert_eq!(read(" -2.5 ", Kind::Length), -2.5);
        assert_eq!(read("500 g", Kind::Mass), 0.5);
        assert_eq!(read("1.2 t", Kind::Mass), 1200.0);
        assert_eq!(read("1.5 kN", Kind::Force), 1500.0);
        assert_eq!(read("1.2 kN/m", Kind::Line), 1.2);
        assert_eq!(read("3 Nm", Kind::Moment), 3000.0);
        assert_eq!(read("2 kNm", Kind::Moment), 2e6);
        assert_eq!(read("1.5 kN/m2", Kind::Pressure), 0.0015);
        assert_eq!(read("1e3 mm", Kind::Length), 1000.0);
        assert_eq!(read("2 kNm/rad", Kind::TurnSpring), 2e6);
        assert!((read("1 rad", Kind::Angle) - 57.295_779_513_082_32).abs() < 1e-12);
    }

    #[test]
    fn errors_say_what_is_wanted() {
        let said = |text, kind| {
            let error = quantity(text, kind).unwrap_err();
            (error.to_string(), error.mend())
        };
        let length = Kind::Length.example().to_owned();
        assert_eq!(
            said("18 kg", Kind::Length),
            ("`18 kg` is a mass, but a length is wanted".into(), Some(length.clone()))
        );
        assert_eq!(said("wide", Kind::Length), ("`wide` does not begin with a number".into(), Some(length)));
        assert_eq!(
            said("1,8 m", Kind::Length),
            ("`1,8 m` has a comma in its number".into(), Some("write a point: `1.8 m`".into()))
        );
        assert_eq!(
            said("5 KG", Kind::Mass),
            ("the unit in `5 KG` is not known".into(), Some("perhaps `kg` was meant".into()))
        );
        assert_eq!(said("9e99 m", Kind::Length), ("`9e99 m` is too large a number".into(), None));
        assert_eq!(said("1e99999999999 m", Kind::Length).0, "`1e99999999999 m` is too large a number");
        assert_eq!(said("1.35 kg", Kind::Factor).0, "`1.35 kg` is a mass, but a plain number is wanted");
    }

    #[test]
    fn sizes() {
        assert_eq!(size("45x70"), Ok((45.0, 70.0)));
        assert_eq!(size(" 45 X 70 mm"), Ok((45.0, 70.0)));
        assert_eq!(size("4.5×7 cm"), Ok((45.0, 70.0)));
        assert_eq!(size("4.5cm x 70mm"), Ok((45.0, 70.0)));
        assert!(size("45").is_err());
        assert!(size("45x").is_err());
        assert!(size("0x70").is_err());
        assert!(size("45x70 kg").is_err());
    }
}
