//! Stresses in a metal section under forces that act together, and where on its outline they are worst together.
//!
//! Linear elastic: sigma = N/A + My/Wy + Mz/Wz, tau = V S/(I t) (EN 1993-1-1 (6.20)) plus St-Venant torsion. Signs are
//! left out: each force counts by its size, as if every one made the same corner worse. In a doubly symmetric section
//! there is such a corner for the normal stresses; for shear it is a bound on the safe side. So every result only grows
//! when a force grows, which is what lets the judge bound whole stretches of a member.

use crate::design::Section;
use crate::design::section::{SectionProperties, middle_line, properties, radii};
use crate::findings::SectionForces;
use crate::rules::roots::in_interval;
use crate::statics::line::value;
use std::f64::consts::PI;

/// Sizes of the forces on a section, none below zero: N and N·mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sizes {
    /// Axial force.
    pub n: f64,
    /// Moment about y.
    pub my: f64,
    /// Moment about z.
    pub mz: f64,
    /// Shear along y.
    pub vy: f64,
    /// Shear along z.
    pub vz: f64,
    /// Torsion.
    pub t: f64,
}

impl Sizes {
    /// Sizes of given forces.
    pub fn of(forces: &SectionForces) -> Self {
        let SectionForces { n_n, vy_n, vz_n, t_n_mm, my_n_mm, mz_n_mm } = *forces;
        Self { n: n_n.abs(), my: my_n_mm.abs(), mz: mz_n_mm.abs(), vy: vy_n.abs(), vz: vz_n.abs(), t: t_n_mm.abs() }
    }
}

/// Shape of a section as the stresses run round it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Outline {
    /// Solid rectangle.
    Bar,
    /// Rectangular tube.
    Tube,
    /// Round, solid or tube.
    Round,
    /// Given by figures: only sums of the greatest stresses are known.
    Profile,
}

/// Stresses in a section by 1 N or 1 N·mm of each force, 1/mm² and 1/mm³.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stresses {
    outline: Outline,
    n: f64,
    my: f64,
    mz: f64,
    /// Shear by a force along y: at the corners and at the middle line.
    vy: [f64; 2],
    /// Likewise along z.
    vz: [f64; 2],
    /// Greatest shear by torsion; 0 where it is not known.
    t: f64,
    /// Whether shear is known.
    shear_known: bool,
}

/// Peak over mean of the shear stress in a rectangle, 1.5, over what its shear area of 5/6 A already holds. No stouter
/// shape has more; taken for profiles given by their shear area (P).
const PROFILE_PEAK: f64 = 1.25;

/// Normal and shear stress at one point, N/mm².
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// Normal stress.
    pub sigma: f64,
    /// Shear stress.
    pub tau: f64,
}

impl Point {
    /// sqrt(sigma² + 3 tau²): EN 1993-1-1 (6.1) and EN 1999-1-1 (6.15) with stresses along the member only.
    pub fn equivalent(&self) -> f64 {
        self.sigma.hypot(3f64.sqrt() * self.tau)
    }
}

impl Stresses {
    /// Those of a section with these figures; `None` where an elastic modulus is not known.
    pub fn new(section: &Section, figures: &SectionProperties) -> Option<Self> {
        let (wy, wz) = (figures.wy_mm3?, figures.wz_mm3?);
        let plain = Self {
            outline: Outline::Profile,
            n: 1.0 / figures.area_mm2,
            my: 1.0 / wy,
            mz: 1.0 / wz,
            vy: [0.0; 2],
            vz: [0.0; 2],
            t: 0.0,
            shear_known: true,
        };
        let stresses = match section {
            Section::Rectangle { width_mm, depth_mm } => plain.bar(*width_mm, *depth_mm, figures),
            Section::RectangularTube { width_mm, depth_mm, wall_mm } if is_open(*width_mm, *depth_mm, *wall_mm) => {
                plain.tube([*width_mm, *depth_mm], *wall_mm, figures)
            }
            Section::RectangularTube { width_mm, depth_mm, .. } => plain.bar(*width_mm, *depth_mm, figures),
            Section::Round { diameter_mm } => plain.round(*diameter_mm, 0.0, figures),
            Section::RoundTube { diameter_mm, wall_mm } => {
                plain.round(*diameter_mm, (diameter_mm - 2.0 * wall_mm).max(0.0), figures)
            }
            Section::Given(_) => plain.profile(figures),
        };
        Some(stresses)
    }

    /// tau = 1.5 V/A in the middle, parabolic, 0 at the edges.
    fn bar(self, width: f64, depth: f64, figures: &SectionProperties) -> Self {
        let middle = 1.5 / figures.area_mm2;
        let t = bar_torsion(width, depth, figures.j_mm4);
        Self { outline: Outline::Bar, vy: [0.0, middle], vz: [0.0, middle], t, ..self }
    }

    /// V S/(I 2 t) at the corner and at the middle of the webs; in the walls across it falls to 0 in their middle.
    /// S of sharp corners, which is the larger.
    fn tube(self, [width, depth]: [f64; 2], wall: f64, figures: &SectionProperties) -> Self {
        let flow = |across: f64, along: f64, second_moment: f64| {
            let inner = [across - 2.0 * wall, along - 2.0 * wall];
            let corner = across * wall * (along - wall) / 2.0;
            let middle = (across * along.powi(2) - inner[0] * inner[1].powi(2)) / 8.0;
            [corner, middle].map(|first_moment| first_moment / (second_moment * 2.0 * wall))
        };
        let sharp = Section::RectangularTube { width_mm: width, depth_mm: depth, wall_mm: wall };
        // Where corners are round (steel) the wall's middle line is shorter.
        let rounded = figures.area_mm2 < properties(&sharp).area_mm2 * (1.0 - 1e-9);
        let [outer, inner] = if rounded { radii(width, depth, wall) } else { [0.0; 2] };
        Self {
            outline: Outline::Tube,
            vy: flow(depth, width, figures.iz_mm4),
            vz: flow(width, depth, figures.iy_mm4),
            t: 1.0 / middle_line(width, depth, wall, 0.5 * (outer + inner)).torsion_modulus(wall),
            ..self
        }
    }

    /// On the outline tau = 4 V/(3 A) (R² + R r + r²)/(R² + r²) times the sine from the force's direction.
    fn round(self, outer: f64, inner: f64, figures: &SectionProperties) -> Self {
        let squares = outer.powi(2) + inner.powi(2);
        let middle = 4.0 / 3.0 / figures.area_mm2 * (squares + outer * inner) / squares;
        Self { outline: Outline::Round, vy: [0.0, middle], vz: [0.0, middle], t: 0.5 * outer / figures.j_mm4, ..self }
    }

    fn profile(self, figures: &SectionProperties) -> Self {
        let mean = |area: Option<f64>| area.map_or([0.0; 2], |area| [PROFILE_PEAK / area; 2]);
        let shear_known = figures.shear_area_y_mm2.is_some() && figures.shear_area_z_mm2.is_some();
        Self { vy: mean(figures.shear_area_y_mm2), vz: mean(figures.shear_area_z_mm2), shear_known, ..self }
    }

    /// Whether shear stresses are known.
    pub fn shear_known(&self) -> bool {
        self.shear_known
    }

    /// Whether the shear stress of torsion is known.
    pub fn torsion_known(&self) -> bool {
        self.outline != Outline::Profile
    }

    /// The point of the section with the greatest sqrt(sigma² + 3 tau²). Exact where one plane's bending and shear act,
    /// with or without an axial force; on the safe side else.
    pub fn worst(&self, sizes: &Sizes) -> Point {
        let (n, my, mz) = (sizes.n * self.n, sizes.my * self.my, sizes.mz * self.mz);
        let (vy, vz) = (self.vy.map(|one| one * sizes.vy), self.vz.map(|one| one * sizes.vz));
        let t = sizes.t * self.t;
        match self.outline {
            Outline::Bar => {
                // Two bounds of what any point inside has; each is exact for its own plane, so the lesser is taken.
                let deep = along([n + mz, my], [t + vz[1], 0.0, -vz[1]], vy[1] * (vy[1] + 2.0 * t));
                let wide = along([n + my, mz], [t + vy[1], 0.0, -vy[1]], vz[1] * (vz[1] + 2.0 * t));
                if deep.equivalent() <= wide.equivalent() { deep } else { wide }
            }
            Outline::Tube => {
                let webs = along([n + mz, my], [t + vz[1], vy[0], vz[0] - vz[1]], 0.0);
                let walls = along([n + my, mz], [t + vy[1], vz[0], vy[0] - vy[1]], 0.0);
                if webs.equivalent() >= walls.equivalent() { webs } else { walls }
            }
            Outline::Round => around([n, my, mz], [t, vz[1], vy[1]]),
            Outline::Profile => Point { sigma: n + my + mz, tau: vy[1] + vz[1] },
        }
    }

    /// Greatest shear stress by the two shear forces alone.
    pub fn shear(&self, sizes: &Sizes) -> f64 {
        let (vy, vz) = (self.vy.map(|one| one * sizes.vy), self.vz.map(|one| one * sizes.vz));
        match self.outline {
            Outline::Bar | Outline::Round => vy[1].hypot(vz[1]),
            Outline::Tube => {
                let webs = along([0.0; 2], [vz[1], vy[0], vz[0] - vz[1]], 0.0);
                webs.tau.max(along([0.0; 2], [vy[1], vz[0], vy[0] - vy[1]], 0.0).tau)
            }
            Outline::Profile => vy[1] + vz[1],
        }
    }

    /// Greatest shear stress by torsion alone.
    pub fn torsion(&self, sizes: &Sizes) -> f64 {
        sizes.t * self.t
    }

    /// Normal stress by 1 N·mm about y and about z, and by 1 N.
    pub(crate) fn normal(&self) -> [f64; 3] {
        [self.n, self.my, self.mz]
    }
}

/// Whether a tube has a hollow at all.
fn is_open(width: f64, depth: f64, wall: f64) -> bool {
    width > 2.0 * wall && depth > 2.0 * wall
}

/// Greatest shear stress of a solid rectangle by 1 N·mm of torsion, at the middle of its long sides (St-Venant):
/// tau = b/J (1 - 8/pi² sum over odd n of 1/(n² cosh(n pi a/(2 b)))), a >= b. Twenty terms leave less than 1e-12.
fn bar_torsion(width: f64, depth: f64, j: f64) -> f64 {
    let (a, b) = (width.max(depth), width.min(depth));
    let series: f64 = (0..20)
        .rev()
        .map(|k| {
            let n = f64::from(2 * k + 1);
            1.0 / (n * n * (n * PI * a / (2.0 * b)).cosh())
        })
        .sum();
    b / j * (1.0 - 8.0 / (PI * PI) * series)
}

/// Worst of (s0 + s1 u)² + 3 ((t0 + t1 u + t2 u²)² + across) for u from 0 (middle of a face) to 1 (corner): an end, or a
/// root of its derivative, a cubic.
fn along([s0, s1]: [f64; 2], [t0, t1, t2]: [f64; 3], across: f64) -> Point {
    let half_slope = [s0 * s1 + 3.0 * t0 * t1, s1 * s1 + 3.0 * (t1 * t1 + 2.0 * t0 * t2), 9.0 * t1 * t2, 6.0 * t2 * t2];
    let at = |u: f64| Point { sigma: s0 + s1 * u, tau: (value(&[t0, t1, t2], u).powi(2) + across).sqrt() };
    worst_of(&half_slope, at)
}

/// Worst round a circle's quarter: sigma = n + y cos + z sin, tau = t + vz sin + vy cos of the angle from local z. The
/// derivative is a quartic in the tangent of half the angle.
fn around([p, q, r]: [f64; 3], [t, b, c]: [f64; 3]) -> Point {
    // Half the slope of (p + q cos + r sin)² is p r cos - p q sin + (r² - q²) sin cos + q r (cos² - sin²).
    let terms = |p: f64, q: f64, r: f64| [p * r, -p * q, r * r - q * q, q * r];
    let (normal, shear) = (terms(p, q, r), terms(t, c, b));
    let [cos, sin, both, double] = std::array::from_fn(|i| normal[i] + 3.0 * shear[i]);
    let half_slope = [cos + double, 2.0 * (sin + both), -6.0 * double, 2.0 * (sin - both), double - cos];
    let at = |w: f64| {
        let (cos, sin) = ((1.0 - w * w) / (1.0 + w * w), 2.0 * w / (1.0 + w * w));
        Point { sigma: p + q * cos + r * sin, tau: t + b * sin + c * cos }
    };
    worst_of(&half_slope, at)
}

fn worst_of(half_slope: &[f64], at: impl Fn(f64) -> Point) -> Point {
    let mut worst = at(0.0);
    for u in in_interval(half_slope, 0.0, 1.0).as_slice().iter().chain(&[1.0]) {
        let here = at(*u);
        if here.equivalent() > worst.equivalent() {
            worst = here;
        }
    }
    worst
}

#[cfg(test)]
mod tests;
