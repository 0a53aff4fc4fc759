//! Lowest frequencies with all masses aboard: K x = omega² M x with mean stiffness.
//!
//! Masses stand where they are ([`carried`]). Bars keep the shapes their ends give them and get inner ones where they may
//! swing between their places ([`swinging`]): the factor is that of the load cases, and nothing is cut. Along themselves
//! and about their axes bars stay as stiff as one: far over the lowest frequencies of a frame. Masses push at the members'
//! axes; a bar's own also turns about its axis, its rotary inertia in bending is left out (it vanishes with its depth over
//! the wave's length).

mod carried;
mod swinging;

use super::inner::Refined;
use super::krylov::{Ritz, Search, Space, run};
use super::load::{self, LoadCase};
use super::operators::Inertia;
use super::solve::Analysis;
use super::system::System;
use crate::design::Frame;
use crate::design::vector::to_vehicle;
use crate::error::CheckError;
use carried::Carried;
use std::f64::consts::TAU;

/// Share of 1/omega² up to which what a bar has of it by itself may be left out: 0.05 % in the frequency.
const LEFT_OUT: f64 = 1e-3;
/// Most vectors of the space beside those asked for.
const SPACE: usize = 16;

/// A way of shaking.
#[derive(Clone, Debug)]
pub struct Vibration {
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Displacements by raw degree of freedom of the frame's places.
    pub shape: Vec<f64>,
    /// Members by the share of kinetic energy they have a part in, the most important first.
    pub members: Vec<usize>,
}

/// The `count` lowest ways of shaking with the frame's own mass, decks, bedding, all gear and the heaviest entry of
/// people; empty where there is no mass.
///
/// # Errors
/// [`CheckError::Stopped`], [`CheckError::TooLarge`].
pub fn lowest(analysis: &Analysis<'_>, count: usize, stop: &dyn Fn() -> bool) -> Result<Vec<Vibration>, CheckError> {
    if stop() {
        return Err(CheckError::Stopped);
    }
    of_system(analysis.frame, &analysis.system, count)
}

fn of_system(frame: &Frame, system: &System, count: usize) -> Result<Vec<Vibration>, CheckError> {
    let carried = Carried::new(frame, &system.mesh, &aboard(frame));
    let quiet = LEFT_OUT * by_pulls(frame, system, &carried, count)?;
    let refined = carried.refined(system, quiet);
    let inertia = Inertia { frame, refined: &refined, lengthwise: &carried.lengthwise };
    let search = Search::new(&refined, &inertia, count, count.clamp(2, 4));
    let (space, ritz) = settled(&refined, search, SPACE + 4 * count)?;
    let sound = ritz.into_iter().take(count).filter(|r| r.value > 0.0);
    let shapes = sound.map(|r| {
        let mut shape = space.raw_of(&r.shares);
        let members = taking_part(&inertia.energy(&shape));
        shape.truncate(system.mesh.raw_count());
        Vibration { frequency_hz: 1.0 / (TAU * r.value.sqrt()), shape, members }
    });
    Ok(shapes.collect())
}

/// What 1/omega² of the `count` lowest is at least: that of the frame in the shapes into which its masses pull it along the
/// three axes of the vehicle (Rayleigh and Ritz; no bar swings between its places). It doesn't depend on how the frame is
/// written, so that neither do the inner shapes chosen by it.
fn by_pulls(frame: &Frame, system: &System, carried: &Carried, count: usize) -> Result<f64, CheckError> {
    let refined = carried.refined(system, f64::INFINITY);
    let inertia = Inertia { frame, refined: &refined, lengthwise: &carried.lengthwise };
    let along = |axis: usize| (0..system.mesh.raw_count()).map(|dof| f64::from(u8::from(dof % 6 == axis))).collect();
    let pulls: [Vec<f64>; 3] = [0, 1, 2].map(along);
    let (_, ritz) = settled(&refined, Search::from(&refined, &inertia, count, &pulls), pulls.len())?;
    Ok(ritz.get(count.saturating_sub(1)).map_or(0.0, |ritz| ritz.value.max(0.0)))
}

fn settled(refined: &Refined<'_>, search: Search<'_>, most: usize) -> Result<(Space, Vec<Ritz>), CheckError> {
    let found = run(refined, vec![search], most, 1e-8);
    let found = found.map_err(|_| CheckError::TooLarge { needed_mb: u64::MAX, limit_mb: 0 })?;
    Ok(found.into_iter().next().unwrap_or_default())
}

/// Members by their masses' share of the kinetic energy of a motion, at most four, the most important first.
fn taking_part(energy: &[f64]) -> Vec<usize> {
    let whole: f64 = energy.iter().sum();
    let mut order: Vec<usize> = (0..energy.len()).filter(|m| energy[*m] > 0.05 * whole).collect();
    order.sort_by(|a, b| energy[*b].total_cmp(&energy[*a]).then(a.cmp(b)));
    order.truncate(4);
    order
}

/// Load cases whose weight is a mass that shakes with the frame: of the people's only the heaviest.
fn aboard(frame: &Frame) -> Vec<LoadCase> {
    let mut cases = load::masses(frame);
    let weight = |case: &LoadCase| -> f64 {
        case.loads.iter().map(|(m, l)| to_vehicle(&frame.members[*m].axes, l.force())[2].abs()).sum()
    };
    let mut heaviest: Option<usize> = None;
    for index in (0..cases.len()).filter(|i| cases[*i].people) {
        if heaviest.is_none_or(|h| weight(&cases[index]) > weight(&cases[h])) {
            heaviest = Some(index);
        }
    }
    let mut index = 0;
    cases.retain(|case| {
        index += 1;
        !case.people || Some(index - 1) == heaviest
    });
    cases
}

#[cfg(test)]
mod tests;
