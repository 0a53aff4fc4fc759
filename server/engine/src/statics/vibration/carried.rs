//! What each bar carries, at its true place along it.

use super::super::inner::{Bending, Refined, gauss};
use super::super::load::{GRAVITY, LoadCase, MemberLoad};
use super::super::mesh::{Element, Mesh};
use super::super::operators::Pair;
use super::super::recover::HAIR;
use super::super::system::System;
use super::swinging::Plane;
use crate::design::Frame;
use crate::design::vector::{Triad, to_vehicle};

/// Fewest and most points of the quadrature that stand for what lies along a part of a bar: products of two cubic shapes
/// and a straight load need four, the swinging of a bar between its ends more over its whole length.
const POINTS: [usize; 2] = [4, 12];
/// Most points of a bar; where there are more, neighbours are taken together at their centre.
const POINTS_MAX: usize = 63;
/// Share of a bar's length under which places are one.
const SAME: f64 = 1e-9;

/// A mass at a place of a bar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    /// Place, 0 to 1 of the bar's length.
    pub(super) s: f64,
    /// Mass, t.
    pub(super) mass: f64,
    /// Share of the bar that it stands for; nothing where it stands by itself.
    pub(super) width: f64,
}

/// Masses of all bars.
pub(super) struct Carried {
    /// Per bar: its masses.
    points: Vec<Vec<Point>>,
    /// Per bar: its inertia along itself and about its axis.
    pub(super) lengthwise: Vec<[Pair; 2]>,
}

impl Carried {
    /// From weights.
    pub(super) fn new(frame: &Frame, mesh: &Mesh, aboard: &[LoadCase]) -> Self {
        let rules: Vec<Vec<[f64; 2]>> = (0..=POINTS[1]).map(gauss).collect();
        let mut carried = Self { points: Vec::new(), lengthwise: Vec::new() };
        for element in &mesh.elements {
            let member = &frame.members[element.member];
            let mut on = OnBar::new(mesh, element, &member.axes);
            for (_, load) in aboard.iter().flat_map(|case| case.on(element.member)) {
                on.add(load);
            }
            let points = on.points(&rules);
            let along = points.iter().fold([0.0; 3], |[near, both, far], Point { s, mass, .. }| {
                [near + mass * (1.0 - s) * (1.0 - s), both + mass * s * (1.0 - s), far + mass * s * s]
            });
            let density = member.density_kg_m3 * 1e-12;
            let polar = density * (member.section.iy_mm4 + member.section.iz_mm4) * element.bar.length;
            carried.points.push(points);
            carried.lengthwise.push([along, [polar / 3.0, polar / 6.0, polar / 3.0]]);
        }
        carried
    }

    /// The bars with these masses and the inner shapes in which they have more than `quiet` of 1/omega² by themselves.
    pub(super) fn refined<'a>(&self, system: &'a System, quiet: f64) -> Refined<'a> {
        let bars = system.mesh.elements.iter().zip(&self.points).map(|(Element { bar, .. }, points)| -> [Bending; 2] {
            let planes = [(bar.eiz, bar.phi_y()), (bar.eiy, bar.phi_z())];
            planes.map(|(ei, phi)| Plane { length: bar.length, ei, phi }.bending(points, quiet))
        });
        Refined::with(system, bars.collect())
    }
}

/// What is on one bar.
struct OnBar<'a> {
    axes: &'a Triad,
    /// Where the bar starts and ends, mm from the member's start.
    from: f64,
    to: f64,
    /// Places closer than this are one, mm.
    near: f64,
    is_last: bool,
    standing: Vec<Point>,
    /// Where something that lies along the bar begins or ends, and how that changes the mass per length of the bar: at
    /// its start and its growth along it, t.
    edges: Vec<(f64, [f64; 2])>,
}

impl<'a> OnBar<'a> {
    fn new(mesh: &Mesh, element: &Element, axes: &'a Triad) -> Self {
        let (from, to) = (mesh.places[element.start].at_mm, mesh.places[element.start + 1].at_mm);
        let end = mesh.spans[element.member].1;
        let near = HAIR * mesh.places[end - 1].at_mm;
        let is_last = end == element.start + 2;
        Self { axes, from, to, near, is_last, standing: Vec::new(), edges: Vec::new() }
    }

    /// Mass of a weight, t.
    fn mass(&self, force: [f64; 3]) -> f64 {
        -to_vehicle(self.axes, force)[2] / GRAVITY * 1e-3
    }

    fn add(&mut self, load: &MemberLoad) {
        let length = self.to - self.from;
        match load {
            MemberLoad::Point { at, force, .. } => {
                // What stands at a place belongs to the bar that starts there, at the member's end to the last.
                if *at >= self.from - self.near && (*at < self.to - self.near || self.is_last) {
                    let s = ((at - self.from) / length).clamp(0.0, 1.0);
                    self.standing.push(Point { s, mass: self.mass(*force), width: 0.0 });
                }
            }
            MemberLoad::Line { from, to, start, end } => {
                let (low, high) = (from.max(self.from), to.min(self.to));
                if high > low {
                    let [start, end] = [start, end].map(|line| self.mass(*line) * length);
                    let growth = (end - start) / (to - from) * length;
                    let at_start = start + growth * (self.from - from) / length;
                    self.edges.push(((low - self.from) / length, [at_start, growth]));
                    self.edges.push(((high - self.from) / length, [-at_start, -growth]));
                }
            }
        }
    }

    /// Masses that stand for all of it; none is negative: what a deck takes off a member as a lever is left out there.
    fn points(mut self, rules: &[Vec<[f64; 2]>]) -> Vec<Point> {
        self.standing.sort_by(|a, b| a.s.total_cmp(&b.s));
        let mut points: Vec<Point> = Vec::new();
        for point in self.standing {
            match points.last_mut().filter(|last| point.s - last.s <= SAME) {
                Some(last) => last.mass += point.mass,
                None => points.push(point),
            }
        }
        self.edges.sort_by(|a, b| a.0.total_cmp(&b.0));
        let [mut start, mut growth] = [0.0; 2];
        for (index, (from, change)) in self.edges.iter().enumerate() {
            start += change[0];
            growth += change[1];
            let width = self.edges.get(index + 1).map_or(0.0, |next| next.0 - from);
            if width <= SAME {
                continue;
            }
            // A hair over, so that rounding doesn't decide.
            let count = POINTS[0] + ((POINTS[1] - POINTS[0]) as f64 * width + 1e-6) as usize;
            points.extend(rules[count.min(POINTS[1])].iter().map(|[place, weight]| {
                let s = from + width * place;
                let width = weight * width;
                Point { s, mass: width * (start + growth * s), width }
            }));
        }
        points.retain(|point| point.mass > 0.0);
        if points.len() > POINTS_MAX { together(&points) } else { points }
    }
}

/// Neighbours taken together at their centres.
fn together(points: &[Point]) -> Vec<Point> {
    let mut sums = vec![[0.0; 3]; POINTS_MAX];
    for Point { s, mass, width } in points {
        let sum = &mut sums[((s * POINTS_MAX as f64) as usize).min(POINTS_MAX - 1)];
        *sum = [sum[0] + mass, sum[1] + mass * s, sum[2].max(*width)];
    }
    let heavy = sums.into_iter().filter(|[mass, ..]| *mass > 0.0);
    heavy.map(|[mass, moment, width]| Point { s: moment / mass, mass, width }).collect()
}

#[cfg(test)]
mod tests;
