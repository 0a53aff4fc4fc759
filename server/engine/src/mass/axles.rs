//! Axle and wheel loads by moments (lever law), static and level.

use super::PlacedMass;
use crate::design::Vehicle;
use crate::findings::{AxleLine, LoadState};

/// Shares of a mass on the front and on the rear axle: m (WB - x)/WB and m x/WB with x behind the front axle. A mass
/// behind the rear axle lightens the front one (its share is negative), one before the front axle the rear one.
pub fn shares_kg(mass_kg: f64, x_mm: f64, wheelbase_mm: f64) -> [f64; 2] {
    let rear = mass_kg * x_mm / wheelbase_mm;
    [mass_kg - rear, rear]
}

/// Right minus left wheel loads of a mass: m (1/2 + y/t) - m (1/2 - y/t), t the track.
pub fn right_minus_left_kg(mass_kg: f64, y_mm: f64, track_mm: f64) -> f64 {
    2.0 * mass_kg * y_mm / track_mm
}

/// Least payload of a motor caravan for luggage and personal effects, kg: 10 (n + L) with n all aboard, the driver
/// among them, and L the overall length in metres (Regulation (EU) 1230/2012 annex I part A 2.6.4.1.2, read as quoted
/// in an owner's manual). It comes on top of 75 kg a passenger. `None` where the length is not known.
pub fn least_payload_kg(vehicle: &Vehicle) -> Option<f64> {
    let aboard = vehicle.seats.len() as f64 + 1.0;
    Some(10.0 * (aboard + vehicle.length_mm? / 1000.0))
}

/// Axle lines in each load state, and the names of the vehicle's figures that are missing. `own` is the frame with
/// fixings and bedding.
pub(super) fn lines(vehicle: &Vehicle, own: &[PlacedMass], stowage: &PlacedMass) -> (Vec<AxleLine>, Vec<String>) {
    let figures = [
        ("wheelbase_mm", vehicle.wheelbase_mm),
        ("track_mm", vehicle.track_mm),
        ("gross_limit_kg", vehicle.gross_limit_kg),
        ("front_limit_kg", vehicle.front_limit_kg),
        ("rear_limit_kg", vehicle.rear_limit_kg),
        ("weighed_front_kg", vehicle.weighed_front_kg),
        ("weighed_rear_kg", vehicle.weighed_rear_kg),
    ];
    let missing = figures.iter().filter(|(_, value)| value.is_none()).map(|(name, _)| (*name).to_owned()).collect();
    let base = (vehicle.wheelbase_mm, vehicle.weighed_front_kg, vehicle.weighed_rear_kg);
    let (Some(wheelbase), Some(front), Some(rear)) = base else { return (Vec::new(), missing) };
    let passengers: Vec<PlacedMass> = vehicle
        .seats
        .iter()
        .map(|seat| PlacedMass { mass_kg: seat.mass_kg, at_mm: [seat.x_mm, seat.y_mm, 0.0] })
        .collect();
    let empty = own.to_vec();
    let touring: Vec<PlacedMass> = own.iter().chain([stowage]).copied().collect();
    let line = |state, ours: &[PlacedMass], guests: &[PlacedMass]| {
        let mut loads = [front, rear];
        for mass in ours.iter().chain(guests) {
            let [to_front, to_rear] = shares_kg(mass.mass_kg, mass.at_mm[0], wheelbase);
            loads = [loads[0] + to_front, loads[1] + to_rear];
        }
        AxleLine {
            state,
            front_kg: loads[0],
            rear_kg: loads[1],
            right_minus_left_kg: vehicle
                .track_mm
                .map(|track| ours.iter().map(|m| right_minus_left_kg(m.mass_kg, m.at_mm[1], track)).sum()),
            front_left_kg: vehicle.front_limit_kg.map(|limit| limit - loads[0]),
            rear_left_kg: vehicle.rear_limit_kg.map(|limit| limit - loads[1]),
            payload_left_kg: vehicle.gross_limit_kg.map(|limit| limit - loads[0] - loads[1]),
        }
    };
    let lines = vec![line(LoadState::Empty, &empty, &[]), line(LoadState::Touring, &touring, &passengers)];
    (lines, missing)
}
