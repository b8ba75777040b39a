//! Where a rigid body is and how it moves.

use glam::{DQuat, DVec3};

/// Position, attitude and velocities of a body at one moment, in the world frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Centre of mass, m.
    pub centre_m: DVec3,
    /// Turns the body frame (principal axes, z from butt to top) into the world frame.
    pub attitude: DQuat,
    /// Velocity of the centre of mass, m/s.
    pub velocity_m_s: DVec3,
    /// Angular velocity in the world frame, rad/s.
    pub spin_rad_s: DVec3,
}

impl Motion {
    /// World position of a point fixed in the body, m.
    #[must_use]
    pub fn point_m(&self, body_point_m: DVec3) -> DVec3 {
        self.centre_m + self.attitude * body_point_m
    }

    /// World velocity of a point fixed in the body, m/s.
    #[must_use]
    pub fn point_velocity_m_s(&self, body_point_m: DVec3) -> DVec3 {
        self.velocity_m_s + self.spin_rad_s.cross(self.attitude * body_point_m)
    }
}
