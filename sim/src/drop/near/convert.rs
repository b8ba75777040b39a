//! The border to rapier: f64 world on our side, f32 about a nearby origin on rapier's.
//!
//! f32 keeps 8 µm at 100 m and 0.1 µm at 1 m, so everything that crosses is taken relative to an
//! origin close to the piece first. No other file turns one into the other.

use glam::{DQuat, DVec3};
use rapier3d::math::{Pose, Real, Rotation, Vector};

/// A vector for rapier.
pub(super) fn vector(v: DVec3) -> Vector {
    v.as_vec3()
}

/// A number for rapier.
pub(super) fn real(x: f64) -> Real {
    x as Real
}

/// A vector from rapier.
pub(super) fn from_vector(v: Vector) -> DVec3 {
    v.as_dvec3()
}

/// An attitude for rapier; renormalised, as rounding to f32 leaves it 6e-8 off unit length.
pub(super) fn rotation(q: DQuat) -> Rotation {
    q.as_quat().normalize()
}

/// A pose for rapier, relative to `origin_m`.
pub(super) fn pose(centre_m: DVec3, attitude: DQuat, origin_m: DVec3) -> Pose {
    Pose::from_parts(vector(centre_m - origin_m), rotation(attitude))
}
