//! Between the world and the upright plane in which a piece turns off its spar.
//!
//! The plane holds the vertical and the azimuth aimed at: x level toward the azimuth, y up, origin
//! on the stem's axis at the cut. The turning axis is level and square to it, so a turn by θ takes
//! the vertical toward x and leaves the moment of inertia about the axis as it is, whatever the
//! piece's tensor; only what lies across the plane is carried along unchanged.

use glam::{DMat3, DQuat, DVec2, DVec3};

use super::{
    HingeSpec, KERF_M, Method, Push, RimSpec, SPLIT_RAD, Scatter, Stand, UnderAndTopSpec,
    turn::{Face, Holding, Pose, Task},
};
use crate::{GRAVITY_M_S2, motion::Motion};

/// Turn that snaps the wood between two opposed cuts, rad. Ours: short fibres, they break at once.
const SNAP_RAD: f64 = 0.03;

/// The plane of one release and the task in it.
#[derive(Clone, Debug)]
pub struct Plane {
    /// Level, toward the azimuth.
    pub forward: DVec3,
    /// Turning axis, level: turning about it takes the vertical forward.
    pub axis: DVec3,
    /// Where the centre lies across the plane, along `axis`, m.
    pub across_m: f64,
    /// Side lean of the centre seen from the pivot, positive to the right, rad.
    pub side_angle_rad: f64,
    /// The planar problem.
    pub task: Task,
}

impl Plane {
    /// The plane a piece turns in, its heading scattered and drawn toward its side lean.
    #[must_use]
    pub fn new(stand: &Stand, how: &Method, scatter: &Scatter) -> Self {
        let azimuth_rad = match how {
            Method::Hinge(h) | Method::BoredHinge(h) => h.face_azimuth_rad,
            Method::SnapCut(r) | Method::FlatCut(r) => r.azimuth_rad,
            Method::UnderAndTop(u) => u.azimuth_rad,
        };
        let aimed = Self::at(stand, how, azimuth_rad);
        let turned_rad = scatter.heading_rad + scatter.side_follow * aimed.side_angle_rad;
        if turned_rad == 0.0 { aimed } else { Self::at(stand, how, azimuth_rad + turned_rad) }
    }

    fn at(stand: &Stand, how: &Method, azimuth_rad: f64) -> Self {
        let forward = DVec3::new(libm::sin(azimuth_rad), libm::cos(azimuth_rad), 0.0);
        let axis = DVec3::Z.cross(forward);
        let flat = |v: DVec3| DVec2::new(v.dot(forward), v.z);
        let centre = stand.attitude * stand.section.centre_m;
        let stem = flat(stand.attitude * DVec3::Z).normalize_or(DVec2::Y);
        let out = DVec2::new(stem.y, -stem.x);
        let radius_m = stand.cut_radius_m;

        let body = DMat3::from_quat(stand.attitude * stand.section.attitude);
        let axis_in_body = body.transpose() * axis;
        let inertia_kg_m2 = (axis_in_body * axis_in_body).dot(stand.section.piece.inertia_kg_m2);

        let at_hinge = |h: &HingeSpec| {
            let apex_m = radius_m - h.face_depth_m;
            let face = Face {
                lip_m: out * radius_m - stem * (h.face_depth_m * libm::tan(h.face_below_rad)),
                opening_rad: h.face_opening_rad,
                below_rad: h.face_below_rad,
                length_m: h.face_depth_m
                    / libm::cos(h.face_opening_rad - h.face_below_rad).max(0.1),
                tear_rad: h.tear_angle_rad,
            };
            let holding = Holding { moment_n_m: h.moment_n_m(), until_rad: h.break_angle_rad };
            (out * (apex_m - 0.5 * h.hinge_thickness_m), Some(face), holding, h.push)
        };
        let at_rim = |r: &RimSpec, moment_n_m: f64| {
            (out * radius_m, None, Holding { moment_n_m, until_rad: SNAP_RAD }, r.push)
        };
        let at_strip = |u: &UnderAndTopSpec| {
            // Where the stub's end carries the limb it turns on that.
            let pivot_m = out * (radius_m - u.under_depth_m) + stem * (-u.step_m).max(0.0);
            let weight_n = stand.section.piece.mass_kg * GRAVITY_M_S2;
            let moment_n_m = u.hold_share * weight_n * (flat(centre) - pivot_m).x.max(0.0);
            let closes_rad = libm::atan2(KERF_M, u.under_depth_m);
            let until_rad = if u.step_m > 0.0 {
                u.split_share * SPLIT_RAD
            } else if u.step_m < 0.0 {
                let rise_rad = libm::atan2(stem.y, stem.x);
                closes_rad.max(rise_rad + libm::atan(stand.friction))
            } else {
                closes_rad
            };
            (pivot_m, None, Holding { moment_n_m, until_rad }, Push::default())
        };
        let (pivot_m, face, holding, push) = match how {
            Method::Hinge(h) | Method::BoredHinge(h) => at_hinge(h),
            Method::SnapCut(r) => at_rim(r, r.holding_moment_n_m),
            Method::FlatCut(r) => at_rim(r, 0.0),
            Method::UnderAndTop(u) => at_strip(u),
        };
        let across_m = centre.dot(axis);
        let arm_m = flat(centre).distance(pivot_m);
        let task = Task {
            mass_kg: stand.section.piece.mass_kg,
            inertia_kg_m2,
            centre_m: flat(centre),
            stem_tilt_rad: libm::atan2(stem.x, stem.y),
            pivot_m,
            face,
            holding,
            push_n: push.force_n,
            // The hand is on the bark behind.
            push_at_m: stem * push.height_m - out * radius_m,
            push_travel_m: push.travel_m,
            steady_n: flat(stand.wind_n) - DVec2::Y * (stand.section.piece.mass_kg * GRAVITY_M_S2),
            friction: stand.friction,
            // A limb torn off slides down past its stub: there is nothing under it.
            spar_width_m: if matches!(how, Method::UnderAndTop(_)) { 0.0 } else { 2.0 * radius_m },
        };
        // `axis` points to the left of the heading.
        Self { forward, axis, across_m, side_angle_rad: -libm::atan2(across_m, arm_m), task }
    }

    /// The world motion of a planar pose.
    #[must_use]
    pub fn motion(&self, stand: &Stand, pose: &Pose, scatter: &Scatter) -> Motion {
        let world = |v: DVec2| self.forward * v.x + DVec3::Z * v.y;
        let half_rad = 0.5 * pose.turn_rad;
        let v = self.axis * libm::sin(half_rad);
        let turn = DQuat::from_xyzw(v.x, v.y, v.z, libm::cos(half_rad));
        // A hinge line followed out of level twists the piece by its share of the turning rate.
        let twist_rad_s = scatter.yaw_rad_s
            - scatter.side_follow * pose.rate_rad_s * libm::sin(self.side_angle_rad);
        Motion {
            centre_m: stand.cut_m + self.axis * self.across_m + world(pose.centre_m),
            attitude: (turn * stand.attitude * stand.section.attitude).normalize(),
            velocity_m_s: world(pose.velocity_m_s),
            spin_rad_s: self.axis * pose.rate_rad_s + DVec3::Z * twist_rad_s,
        }
    }
}
