//! Real roots of a polynomial on an interval, bracketed, up to degree 5.

use crate::statics::line::value;

/// Highest degree taken.
pub const DEGREE_MAX: usize = 5;

/// Roots in ascending order.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Roots {
    places: [f64; DEGREE_MAX],
    count: usize,
}

impl Roots {
    /// The roots.
    pub fn as_slice(&self) -> &[f64] {
        &self.places[..self.count]
    }

    fn push(&mut self, place: f64) {
        let new = self.count == 0 || place > self.places[self.count - 1];
        if new && self.count < DEGREE_MAX {
            self.places[self.count] = place;
            self.count += 1;
        }
    }
}

/// Coefficients of the derivative, lowest power first, of at most [`DEGREE_MAX`] + 1 coefficients.
pub fn derivative(coefficients: &[f64]) -> [f64; DEGREE_MAX] {
    let mut result = [0.0; DEGREE_MAX];
    for (power, (slot, coefficient)) in result.iter_mut().zip(coefficients.iter().skip(1)).enumerate() {
        *slot = (power + 1) as f64 * coefficient;
    }
    result
}

/// Roots in `[low, high]` of the polynomial with these coefficients, lowest power first, at which it changes its
/// sign or is exactly zero. Places where it only touches zero may be missed: they are no extremes of its integral.
///
/// Between two neighbouring roots of its derivative a polynomial is monotonic, so each root is bracketed and can't
/// be lost; leading zeros do no harm. The zero polynomial has none.
///
/// # Panics
/// With more than `DEGREE_MAX + 1` coefficients: a mistake of the caller.
#[track_caller]
pub fn in_interval(coefficients: &[f64], low: f64, high: f64) -> Roots {
    assert!(coefficients.len() <= DEGREE_MAX + 1, "degree at most {DEGREE_MAX}");
    let Some(degree) = coefficients.iter().rposition(|c| *c != 0.0) else { return Roots::default() };
    let coefficients = &coefficients[..=degree];
    if degree <= 2 {
        return quadratic(coefficients, low, high);
    }
    let turns = in_interval(&derivative(coefficients)[..degree], low, high);
    let mut roots = Roots::default();
    let mut left = (low, value(coefficients, low));
    for place in turns.as_slice().iter().copied().chain(std::iter::once(high)) {
        let right = (place, value(coefficients, place));
        bracketed(coefficients, left, right, &mut roots);
        left = right;
    }
    roots
}

/// Closed form for degree 2 and less, without cancellation.
fn quadratic(coefficients: &[f64], low: f64, high: f64) -> Roots {
    let [c, b, a] = std::array::from_fn(|power| coefficients.get(power).copied().unwrap_or(0.0));
    let mut found = [f64::NAN; 2];
    if a == 0.0 {
        found[0] = -c / b;
    } else {
        let discriminant = b * b - 4.0 * a * c;
        if discriminant >= 0.0 {
            let q = -0.5 * (b + discriminant.sqrt().copysign(b));
            found = [q / a, if q == 0.0 { f64::NAN } else { c / q }];
            found.sort_by(f64::total_cmp);
        }
    }
    let mut roots = Roots::default();
    for place in found {
        if place >= low && place <= high {
            roots.push(place);
        }
    }
    roots
}

/// The root between two places where the polynomial is monotonic, if its sign changes: Newton steps kept within the
/// bracket, else halving.
fn bracketed(coefficients: &[f64], left: (f64, f64), right: (f64, f64), roots: &mut Roots) {
    if left.1 == 0.0 {
        roots.push(left.0);
    }
    if right.1 == 0.0 {
        roots.push(right.0);
    }
    if left.1 * right.1 >= 0.0 {
        return;
    }
    let slope = derivative(coefficients);
    let slope = &slope[..coefficients.len() - 1];
    let (mut below, mut above) = if left.1 < 0.0 { (left.0, right.0) } else { (right.0, left.0) };
    let mut place = 0.5 * (below + above);
    for _ in 0..100 {
        let here = value(coefficients, place);
        if here == 0.0 {
            break;
        }
        if here < 0.0 {
            below = place;
        } else {
            above = place;
        }
        let newton = place - here / value(slope, place);
        let within = (newton - below) * (newton - above) < 0.0;
        let next = if within { newton } else { 0.5 * (below + above) };
        if (next - place).abs() <= 4.0 * f64::EPSILON * next.abs() {
            place = next;
            break;
        }
        place = next;
    }
    roots.push(place);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Coefficients of the product of (s - root).
    fn from_roots(roots: &[f64]) -> Vec<f64> {
        let mut product = vec![1.0];
        for root in roots {
            let mut next = vec![0.0; product.len() + 1];
            for (power, coefficient) in product.iter().enumerate() {
                next[power] -= root * coefficient;
                next[power + 1] += coefficient;
            }
            product = next;
        }
        product
    }

    #[test]
    fn known_roots() {
        assert!(in_interval(&[0.0, 0.0, 0.0], 0.0, 1.0).as_slice().is_empty());
        assert!(in_interval(&[3.0], 0.0, 1.0).as_slice().is_empty());
        assert_eq!(in_interval(&[-1.0, 2.0], 0.0, 1.0).as_slice(), [0.5]);
        assert_eq!(in_interval(&[-1.0, 2.0, 0.0, 0.0, 0.0, 0.0], 0.0, 1.0).as_slice(), [0.5]);
        assert_eq!(in_interval(&[2.0, -3.0, 1.0], 0.0, 5.0).as_slice(), [1.0, 2.0]);
        assert_eq!(in_interval(&[2.0, -3.0, 1.0], 1.5, 5.0).as_slice(), [2.0]);
        assert_eq!(in_interval(&[1.0, 0.0, 1.0], -5.0, 5.0).as_slice(), [] as [f64; 0]);
        // Ends count.
        assert_eq!(in_interval(&[0.0, -1.0, 0.0, 1.0], -1.0, 1.0).as_slice(), [-1.0, 0.0, 1.0]);
        // Badly scaled: a nearly linear quadratic keeps its near root.
        let near = in_interval(&[-1.0, 1e8, 1.0], 0.0, 1.0);
        assert!((near.as_slice()[0] - 1e-8).abs() < 1e-22);
    }

    proptest! {
        #[test]
        fn finds_every_root(mut roots in proptest::collection::vec(0.0_f64..1000.0, 1..6)) {
            roots.sort_by(f64::total_cmp);
            prop_assume!(roots.windows(2).all(|pair| pair[1] - pair[0] > 5.0));
            let found = in_interval(&from_roots(&roots), 0.0, 1000.0);
            prop_assert_eq!(found.as_slice().len(), roots.len());
            for (one, other) in found.as_slice().iter().zip(&roots) {
                prop_assert!((one - other).abs() < 1e-4, "{} {}", one, other);
            }
        }

        #[test]
        fn no_sign_change_is_missed(c in proptest::array::uniform6(-1.0_f64..1.0)) {
            let roots = in_interval(&c, -1.0, 1.0);
            let steps: Vec<f64> = (0..=2000).map(|i| f64::from(i) / 1000.0 - 1.0).collect();
            for pair in steps.windows(2) {
                if value(&c, pair[0]) * value(&c, pair[1]) < 0.0 {
                    prop_assert!(roots.as_slice().iter().any(|r| *r >= pair[0] - 1e-9 && *r <= pair[1] + 1e-9));
                }
            }
        }
    }
}
