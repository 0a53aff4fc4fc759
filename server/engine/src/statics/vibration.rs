//! Lowest frequencies with all masses aboard: K x = omega² M x with mean stiffness.

use super::divide::{PARTS_MAX, divided, parts_for};
use super::krylov::{Search, run};
use super::load::{self, GRAVITY, LoadCase};
use super::mesh::Mesh;
use super::operators::Masses;
use super::recover;
use super::solve::Analysis;
use super::stiffness::Stiffness;
use super::system::System;
use crate::design::Frame;
use crate::design::vector::to_vehicle;
use crate::error::CheckError;
use std::f64::consts::TAU;

/// omega² m h⁴/E I of a bar up to which its cubic shape is good to 0.1 % in the frequency.
const QUIET: f64 = 1.0;
/// Most vectors of the space beside those asked for.
const SPACE: usize = 16;

/// A way of shaking.
#[derive(Clone, Debug)]
pub struct Vibration {
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Displacements by raw degree of freedom of `mesh`.
    pub shape: Vec<f64>,
    /// The mesh, divided where it had to be.
    pub mesh: Mesh,
    /// Members by the share of kinetic energy they have a part in, the most important first.
    pub members: Vec<usize>,
}

/// The `count` lowest ways of shaking with the frame's own mass, decks, bedding, all gear and the heaviest entry of
/// people; empty where there is no mass.
///
/// # Errors
/// [`CheckError::Stopped`], [`CheckError::TooLarge`].
pub fn lowest(analysis: &Analysis<'_>, count: usize, stop: &dyn Fn() -> bool) -> Result<Vec<Vibration>, CheckError> {
    let frame = analysis.frame;
    let aboard = aboard(frame);
    let plain = &analysis.system.mesh;
    let mut parts = vec![1; plain.elements.len()];
    let mut found = search(frame, &analysis.system, &aboard, count)?;
    for _round in 0..4 {
        let masses = Masses::new(frame, plain, &aboard);
        let mut more = found.len() < count && masses.bars.iter().any(|bar| bar[0] > 0.0);
        if more {
            // Bars between clamps have no unknowns of their own before they are cut.
            parts.iter_mut().for_each(|p| *p = (2 * *p).min(PARTS_MAX));
        }
        let square = found.last().map_or(0.0, |last| (TAU * last.frequency_hz).powi(2));
        for ((element, [mass, _]), parts) in plain.elements.iter().zip(&masses.bars).zip(&mut parts) {
            let bar = &element.bar;
            let argument = square * mass * bar.length.powi(4) / bar.eiy.min(bar.eiz);
            let needed = parts_for(argument, QUIET, 4.0);
            more |= needed > *parts;
            *parts = needed.max(*parts);
        }
        if !more {
            return Ok(found);
        }
        if stop() {
            return Err(CheckError::Stopped);
        }
        let Some(finer) = divided(frame, plain, &parts, Stiffness::Mean, |_| Vec::new())? else { return Ok(found) };
        found = search(frame, &finer.system, &aboard, count)?;
    }
    Ok(found)
}

fn search(frame: &Frame, system: &System, aboard: &[LoadCase], count: usize) -> Result<Vec<Vibration>, CheckError> {
    let masses = Masses::new(frame, &system.mesh, aboard);
    let search = Search::new(system, &masses, count, count.clamp(2, 4));
    let found = run(system, vec![search], SPACE + 4 * count, 1e-8)
        .map_err(|_| CheckError::TooLarge { needed_mb: u64::MAX, limit_mb: 0 })?;
    let Some((space, ritz)) = found.into_iter().next() else { return Ok(Vec::new()) };
    let sound = ritz.into_iter().take(count).filter(|r| r.value > 0.0);
    let shapes = sound.map(|r| {
        let shape = space.raw_of(&r.shares);
        let members = masses.taking_part(&shape);
        Vibration { frequency_hz: 1.0 / (TAU * r.value.sqrt()), shape, mesh: system.mesh.clone(), members }
    });
    Ok(shapes.collect())
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

impl<'a> Masses<'a> {
    /// Masses of a mesh from weights: what lies along a bar is spread evenly over it, what stands at one of its places is
    /// there. A bar's own mass also turns about its axis.
    pub fn new(frame: &'a Frame, mesh: &'a Mesh, aboard: &[LoadCase]) -> Self {
        let mut bars = vec![[0.0; 2]; mesh.elements.len()];
        let mut places = vec![0.0; mesh.places.len()];
        for (bar, element) in bars.iter_mut().zip(&mesh.elements) {
            let member = &frame.members[element.member];
            let density = member.density_kg_m3 * 1e-12;
            bar[1] = density * (member.section.iy_mm4 + member.section.iz_mm4);
            for case in aboard {
                let on = case.on(element.member);
                if on.is_empty() {
                    continue;
                }
                let lines = recover::equivalent_of(mesh, element, on, recover::Part::Lines);
                let points = recover::equivalent_of(mesh, element, on, recover::Part::Points);
                let tonnes = |of: &[f64]| {
                    let force = to_vehicle(&member.axes, [of[0], of[1], of[2]]);
                    -force[2] / GRAVITY * 1e-3
                };
                bar[0] += (tonnes(&lines[..3]) + tonnes(&lines[6..9])) / element.bar.length;
                places[element.start] += tonnes(&points[..3]);
                places[element.start + 1] += tonnes(&points[6..9]);
            }
            bar[0] = bar[0].max(0.0);
        }
        places.iter_mut().for_each(|p| *p = p.max(0.0));
        Self { frame, mesh, bars, places }
    }

    /// Members by their masses' share of the kinetic energy of a motion, at most four, the most important first.
    fn taking_part(&self, shape: &[f64]) -> Vec<usize> {
        let mut energy = vec![0.0; self.frame.members.len()];
        for (element, [mass, polar]) in self.mesh.elements.iter().zip(&self.bars) {
            let u = super::operators::local(&self.frame.members[element.member].axes, shape, element.start);
            let forces = element.bar.mass_forces(&u, *mass, *polar);
            energy[element.member] += forces.iter().zip(&u).map(|(f, u)| f * u).sum::<f64>();
        }
        for (place, mass) in self.mesh.places.iter().zip(&self.places).enumerate().map(|(i, (p, m))| ((i, p), m)) {
            let (index, place) = place;
            let moved = &shape[6 * index..6 * index + 3];
            energy[place.member] += mass * moved.iter().map(|u| u * u).sum::<f64>();
        }
        let whole: f64 = energy.iter().sum();
        let mut order: Vec<usize> = (0..energy.len()).filter(|m| energy[*m] > 0.05 * whole).collect();
        order.sort_by(|a, b| energy[*b].total_cmp(&energy[*a]).then(a.cmp(b)));
        order.truncate(4);
        order
    }
}
