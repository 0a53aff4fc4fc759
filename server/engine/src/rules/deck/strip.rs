//! A strip of deck over one span or overhang under even loads on parts of it, in closed form.

use crate::design::surface::FrameDeck;
use crate::rules::strength::Resistance;
use crate::statics::line::{Piece, value};

/// One span between two members, or the overhang past the outermost one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reach {
    /// Place across the members where it begins: at a member.
    pub(super) start_mm: f64,
    /// 1 towards greater places, -1 towards lesser ones (the overhang before the first member).
    pub(super) direction: f64,
    pub(super) length_mm: f64,
    pub(super) cantilever: bool,
}

impl Reach {
    /// A range across the members as places along the reach, cut to it; `None` where nothing is left.
    pub(super) fn cut(&self, range: [f64; 2]) -> Option<[f64; 2]> {
        let ends = range.map(|place| (place - self.start_mm) * self.direction);
        let cut = [ends[0].min(ends[1]).max(0.0), ends[0].max(ends[1]).min(self.length_mm)];
        (cut[1] - cut[0] > 1e-9).then_some(cut)
    }
}

/// All reaches of a deck.
pub(super) fn reaches(deck: &FrameDeck) -> Vec<Reach> {
    let places: Vec<f64> = deck.lines.iter().map(|line| line.place_mm).collect();
    let mut reaches: Vec<Reach> = places
        .windows(2)
        .map(|pair| Reach { start_mm: pair[0], direction: 1.0, length_mm: pair[1] - pair[0], cantilever: false })
        .collect();
    if let (Some(first), Some(last)) = (places.first(), places.last()) {
        let past = [(*first, -1.0, first - deck.across_mm[0]), (*last, 1.0, deck.across_mm[1] - last)];
        reaches.extend(
            past.into_iter()
                .filter(|(_, _, length_mm)| *length_mm > 1.0)
                .map(|(start_mm, direction, length_mm)| Reach { start_mm, direction, length_mm, cantilever: true }),
        );
    }
    reaches
}

/// A load, even over a part of the reach, downwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spread {
    pub(super) from_mm: f64,
    pub(super) to_mm: f64,
    pub(super) line_n_mm: f64,
}

impl Spread {
    fn force(&self) -> f64 {
        self.line_n_mm * (self.to_mm - self.from_mm)
    }

    fn middle(&self) -> f64 {
        0.5 * (self.from_mm + self.to_mm)
    }
}

/// Stiffness and resistance of a strip.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beam {
    pub(super) bending_stiffness_n_mm2: f64,
    pub(super) shear_stiffness_n: f64,
    pub(super) resistance: Option<Resistance>,
}

/// Pieces of the strip: a simple beam over a span, a cantilever over an overhang. z is up: V' = q, M' = V,
/// E I w'' = -M, and the shear adds M/(G A_s).
pub(super) fn pieces(reach: &Reach, loads: Vec<Spread>, beam: &Beam) -> Vec<Piece> {
    let length = reach.length_mm;
    let mut places = vec![0.0, length];
    places.extend(loads.iter().flat_map(|load| [load.from_mm, load.to_mm]));
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| *a - *b < 1e-9);
    let (mut shear, mut moment) = if reach.cantilever {
        (-loads.iter().map(Spread::force).sum::<f64>(), loads.iter().map(|l| l.force() * l.middle()).sum())
    } else {
        (-loads.iter().map(|l| l.force() * (length - l.middle()) / length).sum::<f64>(), 0.0)
    };
    let start_moment: f64 = moment;
    let (mut slope, mut sag) = (0.0, 0.0);
    let (bending, shearing) = (beam.bending_stiffness_n_mm2, beam.shear_stiffness_n);
    let mut pieces = Vec::with_capacity(places.len());
    for pair in places.windows(2) {
        let (from_mm, to_mm) = (pair[0], pair[1]);
        let (step, middle) = (to_mm - from_mm, 0.5 * (from_mm + to_mm));
        let over = loads.iter().filter(|l| l.from_mm < middle && middle < l.to_mm);
        let line: f64 = over.map(|l| l.line_n_mm).sum();
        let my = [moment, shear, 0.5 * line, 0.0];
        let turn = [slope, -moment / bending, -shear / (2.0 * bending), -line / (6.0 * bending)];
        let bent = [sag, slope, 0.5 * turn[1], turn[2] / 3.0, turn[3] / 4.0, 0.0];
        let mut uz = bent;
        uz[0] += (moment - start_moment) / shearing;
        uz[1] += shear / shearing;
        uz[2] += 0.5 * line / shearing;
        pieces.push(Piece { from_mm, to_mm, vz: [shear, line, 0.0], my, uz, ..Piece::default() });
        (moment, shear) = (value(&my, step), shear + line * step);
        (sag, slope) = (value(&bent, step), value(&turn, step));
    }
    if !reach.cantilever {
        // The far end is held, too: tilt the whole back onto its support.
        let tilt = sag / length;
        for piece in &mut pieces {
            piece.uz[0] -= tilt * piece.from_mm;
            piece.uz[1] -= tilt;
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    const BEAM: Beam = Beam { bending_stiffness_n_mm2: 2.0e8, shear_stiffness_n: 4.0e5, resistance: None };

    fn reach(length_mm: f64, cantilever: bool) -> Reach {
        Reach { start_mm: 0.0, direction: 1.0, length_mm, cantilever }
    }

    /// Shear force, moment and displacement at a place.
    fn at(pieces: &[Piece], place: f64) -> [f64; 3] {
        let piece = pieces.iter().rev().find(|piece| piece.from_mm <= place);
        piece.map_or([f64::NAN; 3], |piece| {
            let s = place - piece.from_mm;
            [value(&piece.vz, s), value(&piece.my, s), value(&piece.uz, s)]
        })
    }

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found}, expected {expected}");
    }

    /// Closed forms of the simple beam: q l²/8, 5 q l⁴/384 E I, and q l²/8 G A_s by shear.
    #[test]
    fn an_even_load_over_the_whole_span() {
        let (q, l) = (2.0, 400.0);
        let pieces = pieces(&reach(l, false), vec![Spread { from_mm: 0.0, to_mm: l, line_n_mm: q }], &BEAM);
        assert_eq!(pieces.len(), 1, "places that coincide make no piece");
        let [shear, moment, _] = at(&pieces, 0.0);
        close(shear, -q * l / 2.0);
        close(moment, 0.0);
        let [shear, moment, sag] = at(&pieces, l / 2.0);
        close(shear, 0.0);
        close(moment.abs(), q * l * l / 8.0);
        close(
            sag,
            -5.0 * q * l.powi(4) / (384.0 * BEAM.bending_stiffness_n_mm2) - q * l * l / 8.0 / BEAM.shear_stiffness_n,
        );
        close(at(&pieces, l)[2], 0.0);
    }

    /// A load beside the middle: the reactions by the lever, the sag under an almost single force F a² b²/(3 E I l) and
    /// F a b/(l G A_s).
    #[test]
    fn a_load_beside_the_middle() {
        let (l, a, force) = (400.0, 100.0, 200.0);
        let spread = Spread { from_mm: a - 50.0, to_mm: a + 50.0, line_n_mm: force / 100.0 };
        let wide = pieces(&reach(l, false), vec![spread], &BEAM);
        close(at(&wide, 0.0)[0], -force * (l - a) / l);
        close(at(&wide, l)[0], force * a / l);
        close(at(&wide, 150.0)[1].abs(), force * a / l * (l - 150.0));
        let spread = Spread { from_mm: a - 0.005, to_mm: a + 0.005, line_n_mm: force / 0.01 };
        let narrow = pieces(&reach(l, false), vec![spread], &BEAM);
        let b = l - a;
        let bent = force * a * a * b * b / (3.0 * BEAM.bending_stiffness_n_mm2 * l);
        let sheared = force * a * b / (l * BEAM.shear_stiffness_n);
        let sag = at(&narrow, a)[2];
        assert!((sag + bent + sheared).abs() < 1e-4 * (bent + sheared), "{sag}, expected {}", -bent - sheared);
    }

    /// Two loads add up.
    #[test]
    fn loads_add_up() {
        let spreads = [
            Spread { from_mm: 20.0, to_mm: 120.0, line_n_mm: 1.5 },
            Spread { from_mm: 90.0, to_mm: 300.0, line_n_mm: 0.7 },
        ];
        for cantilever in [false, true] {
            let of = |loads: Vec<Spread>| pieces(&reach(350.0, cantilever), loads, &BEAM);
            let (both, one, other) = (of(spreads.to_vec()), of(vec![spreads[0]]), of(vec![spreads[1]]));
            for place in [10.0, 100.0, 200.0, 320.0] {
                let (both, one, other) = (at(&both, place), at(&one, place), at(&other, place));
                (0..3).for_each(|i| close(both[i], one[i] + other[i]));
            }
        }
    }

    /// Closed forms of the cantilever under an even load: q l²/2, q l⁴/8 E I and q l²/2 G A_s.
    #[test]
    fn an_overhang_under_an_even_load() {
        let (q, l) = (0.5, 150.0);
        let pieces = pieces(&reach(l, true), vec![Spread { from_mm: 0.0, to_mm: l, line_n_mm: q }], &BEAM);
        let [shear, moment, sag] = at(&pieces, 0.0);
        close(shear, -q * l);
        close(moment.abs(), q * l * l / 2.0);
        close(sag, 0.0);
        let [shear, moment, sag] = at(&pieces, l);
        close(shear, 0.0);
        close(moment, 0.0);
        close(sag, -q * l.powi(4) / (8.0 * BEAM.bending_stiffness_n_mm2) - q * l * l / (2.0 * BEAM.shear_stiffness_n));
    }

    /// A load hanging over both ends of a reach is cut to it; one that goes the other way is turned round.
    #[test]
    fn ranges_are_cut_to_a_reach() {
        let forward = Reach { start_mm: 1000.0, ..reach(400.0, false) };
        assert_eq!(forward.cut([900.0, 1100.0]), Some([0.0, 100.0]));
        assert_eq!(forward.cut([1300.0, 1600.0]), Some([300.0, 400.0]));
        assert_eq!(forward.cut([1400.0, 1500.0]), None);
        let back = Reach { direction: -1.0, ..forward };
        assert_eq!(back.cut([900.0, 1100.0]), Some([0.0, 100.0]));
        assert_eq!(back.cut([700.0, 800.0]), Some([200.0, 300.0]));
    }
}
