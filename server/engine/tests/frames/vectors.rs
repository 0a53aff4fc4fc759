//! Small vector arithmetic and the local axes of a member, written anew for the tests so that they share no line
//! with the engine.

use battenboard_engine::design::{Member, Vector};

/// Sum.
pub fn add(a: Vector, b: Vector) -> Vector {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// Difference.
pub fn sub(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// Multiple.
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

/// The same direction with length 1.
pub fn unit(a: Vector) -> Vector {
    scale(a, 1.0 / norm(a))
}

/// Length of a member's axis.
pub fn length(member: &Member) -> f64 {
    norm(sub(member.to, member.from))
}

/// Point of a member's axis, `at` from its start.
pub fn point(member: &Member, at: f64) -> Vector {
    add(member.from, scale(unit(sub(member.to, member.from)), at))
}

/// Local axes x, y, z of a member as rows: `up` lies in the local x-z plane on the side of +z (default vehicle z, or
/// vehicle x for a vertical member), y = z cross x, then the roll, right-handed about x.
pub fn axes(member: &Member) -> [Vector; 3] {
    let x = unit(sub(member.to, member.from));
    let up = member.up.unwrap_or(if x[0].hypot(x[1]) < 1e-9 { [1.0, 0.0, 0.0] } else { [0.0, 0.0, 1.0] });
    let y = unit(cross(up, x));
    let z = cross(x, y);
    let (sine, cosine) = member.roll_deg.to_radians().sin_cos();
    [x, add(scale(y, cosine), scale(z, sine)), add(scale(z, cosine), scale(y, -sine))]
}

/// Components along the rows of `rows`.
pub fn into(rows: [Vector; 3], v: Vector) -> Vector {
    [dot(rows[0], v), dot(rows[1], v), dot(rows[2], v)]
}

/// From components along the rows of `rows` back to the vehicle's axes.
pub fn out_of(rows: [Vector; 3], v: Vector) -> Vector {
    add(add(scale(rows[0], v[0]), scale(rows[1], v[1])), scale(rows[2], v[2]))
}
