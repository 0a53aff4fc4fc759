//! Vehicles, their surveys and what their frames weigh together, as the command shows them; free of the wire's types.

use battenboard_engine::design::Vehicle;
use battenboard_engine::findings::AxleLine;
use serde::Serialize;

/// A vehicle of a group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Surveyed {
    /// Its name.
    pub vehicle: String,
    /// Number of its latest survey.
    pub latest_survey: i64,
    /// When that was recorded, microseconds of Unix time.
    pub latest_us: i64,
}

/// A numbered survey.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Survey {
    /// Its number.
    pub number: i64,
    /// The figures.
    pub figures: Vehicle,
    /// What was said of it.
    pub note: String,
    /// Who recorded it.
    pub author: String,
    /// When, microseconds of Unix time.
    pub at_us: i64,
    /// Design and letter of the revision it came with; `None`: it was recorded by itself.
    pub came_with: Option<(String, String)>,
}

/// The survey a revision is drawn on, beside the latest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct DrawnOn {
    /// Its number.
    pub survey: i64,
    /// Number of the latest.
    pub latest: i64,
    /// When the latest was recorded, microseconds of Unix time.
    pub latest_us: i64,
}

/// A design of a vehicle by the revision that counts.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Aboard {
    /// Its name.
    pub design: String,
    /// The revision.
    pub letter: String,
    /// True where that is issued for cutting; else it is the latest.
    pub issued: bool,
    /// Survey it is drawn on; 0: none.
    pub survey: i64,
    /// Frame, fixings and bedding.
    pub frame_kg: Option<f64>,
    /// Gear.
    pub gear_kg: Option<f64>,
    /// True where its figures are kept from whoever asks.
    pub figures_withheld: bool,
    /// True where the server can't reckon it.
    pub not_reckoned: bool,
    /// True where it was recorded as built before the latest survey.
    pub built_before_survey: bool,
}

/// What all frames of a vehicle come to.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct MassSum {
    /// Number of the survey that the sums are by.
    pub survey: i64,
    /// The designs.
    pub frames: Vec<Aboard>,
    /// True where there are more.
    pub more_frames: bool,
    /// True where figures are kept from whoever asks.
    pub figures_withheld: bool,
    /// Frames, fixings and bedding.
    pub frames_kg: Option<f64>,
    /// Gear.
    pub gear_kg: Option<f64>,
    /// Passengers.
    pub passengers_kg: Option<f64>,
    /// What was weighed.
    pub weighed_kg: Option<f64>,
    /// All of it.
    pub total_kg: Option<f64>,
    /// Left to the permissible mass.
    pub payload_left_kg: Option<f64>,
    /// Axle loads.
    pub axles: Vec<AxleLine>,
    /// What of the survey's figures is missing.
    pub missing: Vec<String>,
    /// Least payload of a motor caravan.
    pub least_payload_kg: Option<f64>,
    /// Gear of the same name in more than one design.
    pub gear_named_twice: Vec<String>,
}

impl MassSum {
    /// True where an axle or the whole is over its limit.
    #[must_use]
    pub fn is_over(&self) -> bool {
        let lines = self.axles.iter().flat_map(|line| [line.front_left_kg, line.rear_left_kg, line.payload_left_kg]);
        lines.chain([self.payload_left_kg]).flatten().any(|left| left < 0.0)
    }
}
