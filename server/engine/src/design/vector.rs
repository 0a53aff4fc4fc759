//! Three-vectors as arrays, and the rotation from local to vehicle axes as its three unit columns.

use super::Vector;

/// Local axes x, y, z as unit vectors in vehicle axes.
pub type Triad = [Vector; 3];

/// Vehicle axes as a triad.
pub const VEHICLE: Triad = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// a + b.
pub fn add(a: Vector, b: Vector) -> Vector {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// a - b.
pub fn sub(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// a times a number.
pub fn scale(a: Vector, factor: f64) -> Vector {
    [a[0] * factor, a[1] * factor, a[2] * factor]
}

/// Scalar product.
pub fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Vector product.
pub fn cross(a: Vector, b: Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Length.
pub fn norm(a: Vector) -> f64 {
    dot(a, a).sqrt()
}

/// Unit vector; `None` for a vector too short to have a direction.
pub fn unit(a: Vector) -> Option<Vector> {
    let length = norm(a);
    (length > 1e-12).then(|| scale(a, 1.0 / length))
}

/// Components of a vehicle-axes vector in local axes.
pub fn to_local(triad: &Triad, a: Vector) -> Vector {
    [dot(triad[0], a), dot(triad[1], a), dot(triad[2], a)]
}

/// A local vector in vehicle axes.
pub fn to_vehicle(triad: &Triad, a: Vector) -> Vector {
    add(add(scale(triad[0], a[0]), scale(triad[1], a[1])), scale(triad[2], a[2]))
}

/// Local axes of a member: x along it, z towards `up` (default z; x for a vertical member) as far as square to x,
/// y = z cross x, then turned by `roll_deg` about x. `None` when the member has no length or `up` lies along it.
pub fn member_axes(from: Vector, to: Vector, up: Option<Vector>, roll_deg: f64) -> Option<Triad> {
    let x = unit(sub(to, from))?;
    // A member within about 0.06 degrees of plumb is vertical: its depth cannot point up.
    let vertical = (x[0] * x[0] + x[1] * x[1]).sqrt() < 1e-3;
    let up = unit(up.unwrap_or(if vertical { [1.0, 0.0, 0.0] } else { [0.0, 0.0, 1.0] }))?;
    let across = cross(up, x);
    if norm(across) < 1e-3 {
        return None;
    }
    let y = unit(across)?;
    let z = cross(x, y);
    let (sin, cos) = roll_deg.to_radians().sin_cos();
    Some([x, add(scale(y, cos), scale(z, sin)), sub(scale(z, cos), scale(y, sin))])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axes_are_right_handed_and_roll_turns_y_towards_z() {
        let axes = member_axes([0.0; 3], [2.0, 0.0, 0.0], None, 0.0).unwrap_or(VEHICLE);
        assert_eq!(axes, VEHICLE);
        let rolled = member_axes([0.0; 3], [2.0, 0.0, 0.0], None, 90.0).unwrap_or(VEHICLE);
        assert!(norm(sub(rolled[1], [0.0, 0.0, 1.0])) < 1e-15);
        assert!(norm(sub(rolled[2], [0.0, -1.0, 0.0])) < 1e-15);
        let post = member_axes([0.0; 3], [0.0, 0.0, 1.0], None, 0.0).unwrap_or(VEHICLE);
        assert_eq!(post[2], [1.0, 0.0, 0.0]);
        assert!(norm(sub(cross(post[2], post[0]), post[1])) < 1e-15);
    }
}
