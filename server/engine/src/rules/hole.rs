//! What notches and holes leave of a rectangular section: EN 1995-1-1 5.2 (net section).
//!
//! Every cut is a strip that runs through the whole section, so what is left is the product of what is left along y
//! and along z, and its figures are exact. A round hole is taken at its middle, where it is widest. The code has no rule
//! for splitting at holes and at notches between supports; see [`LARGE`].

use super::strength::Resistance;

/// Share of the side a hole is drilled across over which it needs a rule of its own (DIN EN 1995-1-1/NA, NCI to 6.7:
/// openings with d > 50 mm or of more than 0.15 h are to be verified as openings; from memory).
pub const LARGE: f64 = 0.15;

/// Diameter over which that holds whatever the section, mm (same source).
pub const LARGE_MM: f64 = 50.0;

/// What is left of one side of a section: stretches in order, mm from its middle.
#[derive(Clone, Debug, PartialEq)]
pub struct Left(Vec<[f64; 2]>);

impl Left {
    /// A whole side.
    pub fn whole(size_mm: f64) -> Self {
        Self(vec![[-0.5 * size_mm, 0.5 * size_mm]])
    }

    /// Takes a stretch away.
    pub fn cut(&mut self, from_mm: f64, to_mm: f64) {
        let parts = self.0.iter().flat_map(|[low, high]| [[*low, high.min(from_mm)], [low.max(to_mm), *high]]);
        self.0 = parts.filter(|[low, high]| high > low).collect();
    }

    /// Sum of what is left, mm.
    pub fn size_mm(&self) -> f64 {
        self.0.iter().map(|[low, high]| high - low).sum()
    }

    /// Its middle, mm from the whole side's middle.
    fn middle_mm(&self) -> f64 {
        let first: f64 = self.0.iter().map(|[low, high]| 0.5 * (high * high - low * low)).sum();
        first / self.size_mm()
    }

    /// Second moment about its own middle over the other side's unit width, mm³.
    fn second_mm3(&self) -> f64 {
        let middle = self.middle_mm();
        self.0.iter().map(|[low, high]| ((high - middle).powi(3) - (low - middle).powi(3)) / 3.0).sum()
    }

    /// Farthest fibre from its middle, mm.
    fn reach_mm(&self) -> f64 {
        let middle = self.middle_mm();
        self.0.iter().flatten().map(|edge| (edge - middle).abs()).fold(0.0, f64::max)
    }
}

/// A net section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Net {
    /// Area, mm².
    pub area_mm2: f64,
    /// Elastic moduli about its own axes, y and z, mm³.
    pub modulus_mm3: [f64; 2],
    /// Its middle from that of the whole section, along y and z, mm.
    pub middle_mm: [f64; 2],
}

impl Net {
    /// The net section of what is left along y and along z; `None` where nothing is.
    pub fn of(y: &Left, z: &Left) -> Option<Self> {
        let (width, depth) = (y.size_mm(), z.size_mm());
        (width > 0.0 && depth > 0.0).then(|| Self {
            area_mm2: width * depth,
            modulus_mm3: [width * z.second_mm3() / z.reach_mm(), depth * y.second_mm3() / y.reach_mm()],
            middle_mm: [y.middle_mm(), z.middle_mm()],
        })
    }

    /// The resistance of the net section in the whole one's strengths and size factors. Its shear stress is 1.5 V over
    /// what is left, as of one rectangle.
    pub fn resistance(&self, whole: &Resistance) -> Resistance {
        Resistance {
            area_mm2: self.area_mm2,
            wy_mm3: Some(self.modulus_mm3[0]),
            wz_mm3: Some(self.modulus_mm3[1]),
            ..*whole
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed test may panic")]

    use super::*;

    fn close(found: f64, wanted: f64) {
        assert!((found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0), "{found} against {wanted}");
    }

    /// 45 x 70 with 12 off the lower face: a rectangle 45 x 58, 6 higher (by hand).
    #[test]
    fn a_notch_leaves_a_rectangle() {
        let (y, mut z) = (Left::whole(45.0), Left::whole(70.0));
        z.cut(-35.0, -23.0);
        let net = Net::of(&y, &z).unwrap();
        close(net.area_mm2, 45.0 * 58.0);
        close(net.modulus_mm3[0], 45.0 * 58.0 * 58.0 / 6.0);
        close(net.modulus_mm3[1], 58.0 * 45.0 * 45.0 / 6.0);
        assert_eq!(net.middle_mm, [0.0, 6.0]);
    }

    /// A hole of 20 across the width, in the middle of 45 x 70: I = 45 (70³ - 20³)/12 (by hand).
    #[test]
    fn a_hole_in_the_middle() {
        let (y, mut z) = (Left::whole(45.0), Left::whole(70.0));
        z.cut(-10.0, 10.0);
        let net = Net::of(&y, &z).unwrap();
        close(net.area_mm2, 45.0 * 50.0);
        close(net.modulus_mm3[0], 45.0 * (343_000.0 - 8_000.0) / 12.0 / 35.0);
        close(net.modulus_mm3[1], 50.0 * 45.0 * 45.0 / 6.0);
    }

    /// A hole of 20, 15 above the middle of 45 x 70, by the parallel-axis rule (by hand): A = 2250,
    /// z0 = -45 x 20 x 15/2250 = -6, I = 45 x 70³/12 - 45 x 20³/12 - 900 x 15² - 2250 x 6² = 972 750; the farthest
    /// fibre is 35 + 6 = 41 away: W = 23 725.6.
    #[test]
    fn a_hole_off_the_middle() {
        let (y, mut z) = (Left::whole(45.0), Left::whole(70.0));
        z.cut(5.0, 25.0);
        let net = Net::of(&y, &z).unwrap();
        close(net.middle_mm[1], -6.0);
        close(net.modulus_mm3[0], 972_750.0 / 41.0);
    }

    /// A notch and a hole at one place: what is left is their product, nothing is taken away twice (by hand).
    #[test]
    fn cuts_that_cross() {
        let (mut y, mut z) = (Left::whole(45.0), Left::whole(70.0));
        z.cut(-35.0, -25.0);
        y.cut(-5.0, 5.0);
        close(Net::of(&y, &z).unwrap().area_mm2, 35.0 * 60.0);
        z.cut(-25.0, 35.0);
        assert_eq!(Net::of(&y, &z), None);
        y.cut(-22.5, 22.5);
        assert_eq!(Net::of(&y, &Left::whole(70.0)), None);
    }
}
