//! The worst place of each strength check along the pieces of a member.

use super::lateral::{self, LateralBest, Unheld};
use super::{MARGIN, State, hull, most};
use crate::findings::SectionForces;
use crate::rules::roots::{derivative, in_interval};
use crate::rules::strength::{AXIAL_LEAST, Resistance, bending, column, compression, shear, tension, torsion};
use crate::statics::line::Piece;

/// Share of its strength that torsion must use by itself in a piece to be said (P). Less is said only where the sum with
/// shear is both over [`NEAR`] and over what shear alone uses, so that no verdict depends on this.
const TWIST_LEAST: f64 = 0.01;
/// Where a verdict stops being "holds".
pub(super) const NEAR: f64 = 0.9;

/// The worst of one check so far.
#[derive(Clone, Copy, Debug)]
pub(super) struct Best {
    pub(super) utilisation: f64,
    pub(super) state: usize,
    pub(super) at_mm: f64,
    pub(super) forces: SectionForces,
}

/// The worst of each strength check so far.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct StrengthBest {
    pub(super) bending: Option<Best>,
    pub(super) tension: Option<Best>,
    pub(super) compression: Option<Best>,
    pub(super) column: Option<Best>,
    pub(super) shear: Option<Best>,
    pub(super) torsion: Option<Best>,
    pub(super) lateral: Option<LateralBest>,
}

/// A check's utilisation at one place.
type Utilisation = fn(&Resistance, f64, &SectionForces) -> f64;

/// Utilisation by 1 N or 1 N·mm in one state.
pub(super) struct PerUnit {
    /// Moments about y and z.
    moment: [f64; 2],
    tension: f64,
    pub(super) compression: f64,
    /// Compression with buckling about y and z.
    column: [f64; 2],
    /// Shear along y and z.
    shear: [f64; 2],
    torsion: f64,
}

/// One piece in one state.
pub(super) struct Stretch<'a> {
    resistance: &'a Resistance,
    k_mod: f64,
    state: usize,
    unit: &'a PerUnit,
    piece: &'a Piece,
    length: f64,
    bounds: Bounds,
}

/// Bounds of a piece's resultants.
struct Bounds {
    /// Least and greatest axial force.
    n: [f64; 2],
    my: f64,
    mz: f64,
    vy: f64,
    vz: f64,
    t: f64,
}

impl StrengthBest {
    /// Takes in the pieces of one strength state; `unheld` are the stretches over which the member may tip sideways.
    pub(super) fn take(&mut self, resistance: &Resistance, unheld: &[Unheld], index: usize, state: &State<'_>) {
        let stocky = resistance.column_y.stocky() && resistance.column_z.stocky();
        let unit = PerUnit {
            moment: resistance.per_moment(state.k_mod),
            tension: tension::per_newton(resistance, state.k_mod),
            compression: compression::per_newton(resistance, state.k_mod),
            column: column::per_newton(resistance, state.k_mod),
            shear: shear::per_newton(resistance, state.k_mod),
            torsion: torsion::per_moment(resistance, state.k_mod),
        };
        for piece in state.pieces {
            let length = piece.to_mm - piece.from_mm;
            let bounds = Bounds {
                n: hull(&piece.n, length),
                my: most(hull(&piece.my, length)),
                mz: most(hull(&piece.mz, length)),
                vy: most(hull(&piece.vy, length)),
                vz: most(hull(&piece.vz, length)),
                t: most(hull(&piece.t, length)),
            };
            let stretch = Stretch { resistance, k_mod: state.k_mod, state: index, unit: &unit, piece, length, bounds };
            stretch.bending(&mut self.bending);
            stretch.tension(&mut self.tension);
            if stocky {
                stretch.compression(&mut self.compression);
            } else {
                stretch.column(&mut self.column);
            }
            stretch.shear(&mut self.shear);
            stretch.torsion(&mut self.torsion);
        }
        lateral::take(&mut self.lateral, unheld, resistance, &unit, index, state);
    }
}

pub(super) fn beats(bound: f64, best: &Option<Best>) -> bool {
    best.is_none_or(|best| bound > best.utilisation * MARGIN)
}

impl Stretch<'_> {
    /// No place of the piece has a greater interaction sum than this, with these shares of axial force.
    fn bound(&self, axial: [f64; 2]) -> f64 {
        let (y, z) = (self.bounds.my * self.unit.moment[0], self.bounds.mz * self.unit.moment[1]);
        let k_m = self.resistance.k_m;
        (axial[0] + y + k_m * z).max(axial[1] + k_m * y + z)
    }

    fn try_place(&self, s: f64, utilisation: Utilisation, axial: fn(f64) -> bool, best: &mut Option<Best>) {
        let forces = self.piece.forces(s);
        if !axial(forces.n_n) {
            return;
        }
        let found = utilisation(self.resistance, self.k_mod, &forces);
        if beats(found, best) && found.is_finite() {
            *best = Some(Best { utilisation: found, state: self.state, at_mm: self.piece.from_mm + s, forces });
        }
    }

    /// Places where n N + y My + z Mz is greatest or least within the piece.
    fn linear_places(&self, [n, y, z]: [f64; 3], visit: &mut dyn FnMut(f64)) {
        let Piece { n: axial, my, mz, .. } = self.piece;
        let slope = [
            n * axial[1] + y * my[1] + z * mz[1],
            2.0 * (n * axial[2] + y * my[2] + z * mz[2]),
            3.0 * (y * my[3] + z * mz[3]),
        ];
        in_interval(&slope, 0.0, self.length).as_slice().iter().for_each(|s| visit(*s));
    }

    /// All signs that the two moments may have in |My| and |Mz|; one is enough where a moment is nowhere.
    fn signs(&self, axial: bool) -> impl Iterator<Item = [f64; 2]> + use<> {
        // Without axial force the overall sign moves no root.
        let (both_y, both_z) = (axial && self.bounds.my > 0.0, self.bounds.mz > 0.0);
        [[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0], [-1.0, -1.0]]
            .into_iter()
            .filter(move |[y, z]| (both_y || *y > 0.0) && (both_z || *z > 0.0))
    }

    fn bending(&self, best: &mut Option<Best>) {
        if !beats(self.bound([0.0; 2]), best) {
            return;
        }
        let mut visit = |s: f64| self.try_place(s, bending::utilisation, |_| true, best);
        visit(0.0);
        visit(self.length);
        self.interaction_places([0.0, 0.0], &mut visit);
    }

    /// Extremes of the two interaction sums with their axial coefficients.
    fn interaction_places(&self, axial: [f64; 2], visit: &mut dyn FnMut(f64)) {
        let [y, z] = self.unit.moment;
        let k_m = self.resistance.k_m;
        for [sign_y, sign_z] in self.signs(axial != [0.0, 0.0]) {
            self.linear_places([axial[0], sign_y * y, sign_z * k_m * z], visit);
            self.linear_places([axial[1], sign_y * k_m * y, sign_z * z], visit);
        }
    }

    fn tension(&self, best: &mut Option<Best>) {
        let one = self.unit.tension;
        let greatest = self.bounds.n[1] * one;
        if greatest < AXIAL_LEAST || !beats(self.bound([greatest; 2]), best) {
            return;
        }
        let mut visit = |s: f64| self.try_place(s, tension::utilisation, |n| n > 0.0, best);
        visit(0.0);
        visit(self.length);
        self.interaction_places([one, one], &mut visit);
    }

    fn column(&self, best: &mut Option<Best>) {
        let [about_y, about_z] = self.unit.column;
        let least = self.bounds.n[0];
        let greatest = [-least * about_y, -least * about_z];
        if greatest[0].max(greatest[1]) < AXIAL_LEAST || !beats(self.bound(greatest), best) {
            return;
        }
        let mut visit = |s: f64| self.try_place(s, column::utilisation, |n| n < 0.0, best);
        visit(0.0);
        visit(self.length);
        self.interaction_places([-about_y, -about_z], &mut visit);
    }

    fn compression(&self, best: &mut Option<Best>) {
        let one = self.unit.compression;
        let greatest = -self.bounds.n[0] * one;
        // The square is under the share itself up to 1, and over it beyond.
        let axial = greatest.max(greatest * greatest);
        if greatest < AXIAL_LEAST || !beats(self.bound([axial; 2]), best) {
            return;
        }
        let mut visit = |s: f64| self.try_place(s, compression::utilisation, |n| n < 0.0, best);
        visit(0.0);
        visit(self.length);
        // (6.2): where N itself is greatest.
        self.linear_places([1.0, 0.0, 0.0], &mut visit);
        // (6.19), (6.20): the square of N makes the slope a cubic, 2 c² N N' + ...
        let n = &self.piece.n;
        let slope_n = derivative(n);
        let square: [f64; 4] = std::array::from_fn(|power| {
            let products = (0..=power.min(2)).map(|i| n[i] * slope_n.get(power - i).copied().unwrap_or(0.0));
            2.0 * one * one * products.sum::<f64>()
        });
        let [y, z] = self.unit.moment;
        let k_m = self.resistance.k_m;
        let (dy, dz) = (derivative(&self.piece.my), derivative(&self.piece.mz));
        for [sign_y, sign_z] in self.signs(true) {
            for (y, z) in [(y, k_m * z), (k_m * y, z)] {
                let slope: [f64; 4] =
                    std::array::from_fn(|power| square[power] + sign_y * y * dy[power] + sign_z * z * dz[power]);
                in_interval(&slope, 0.0, self.length).as_slice().iter().for_each(|s| visit(*s));
            }
        }
    }

    fn shear(&self, best: &mut Option<Best>) {
        let [y, z] = self.unit.shear;
        if !beats(((self.bounds.vy * y).powi(2) + (self.bounds.vz * z).powi(2)).sqrt(), best) {
            return;
        }
        let mut visit = |s: f64| self.try_place(s, shear::utilisation, |_| true, best);
        visit(0.0);
        visit(self.length);
        self.shear_places([y, z], 0.0, &mut visit);
    }

    /// Places where (y Vy)² + (z Vz)² + twist T is greatest or least. Half the slope of the squares is a cubic, 0 also
    /// where a lone shear force is 0, which does no harm.
    fn shear_places(&self, [y, z]: [f64; 2], twist: f64, visit: &mut dyn FnMut(f64)) {
        let Piece { vy, vz, t, .. } = self.piece;
        let (dy, dz, dt) = (derivative(vy), derivative(vz), derivative(t));
        let slope: [f64; 4] = std::array::from_fn(|power| {
            let squares: f64 =
                (0..=power.min(2)).map(|i| y * y * vy[i] * dy[power - i] + z * z * vz[i] * dz[power - i]).sum();
            2.0 * squares + twist * dt[power]
        });
        in_interval(&slope, 0.0, self.length).as_slice().iter().for_each(|s| visit(*s));
    }

    fn torsion(&self, best: &mut Option<Best>) {
        let ([y, z], one) = (self.unit.shear, self.unit.torsion);
        let alone = self.bounds.t * one;
        let bound = alone + (self.bounds.vy * y).powi(2) + (self.bounds.vz * z).powi(2);
        let said = alone >= TWIST_LEAST;
        if alone < AXIAL_LEAST || !said && bound * MARGIN <= NEAR || !beats(bound, best) {
            return;
        }
        let mut visit = |s: f64| {
            let forces = self.piece.forces(s);
            let sum = torsion::utilisation(self.resistance, self.k_mod, &forces);
            if said || sum > NEAR && sum > shear::utilisation(self.resistance, self.k_mod, &forces) {
                self.try_place(s, torsion::utilisation, |_| true, best);
            }
        };
        visit(0.0);
        visit(self.length);
        // The sum may turn on either side of where the torsion changes its sign.
        self.shear_places([y, z], one, &mut visit);
        self.shear_places([y, z], -one, &mut visit);
    }
}
