//! The ground as a rigid surface: the second opinion of `--ground rigid`.
//!
//! A window of the terrain about the piece as a rapier heightfield, in the same world as the solids
//! near it, with Coulomb friction and restitution 0. What a rigid contact can't say stays unsaid:
//! no digging in, no sinking, no rolling resistance, no cover, no roughness, no undergrowth, no
//! rebound.
//!
//! A contact costs by the triangles under the piece's box, so the window's nodes are at least
//! [`LEAST_CELL_M`] apart. Known answer: `verif_a_log_slides_down_rigid_ground_as_coulomb_says`.

use std::sync::Arc;

use glam::{DQuat, DVec3};
use rapier3d::parry::{
    shape::{HeightFieldFlags, SharedShape},
    utils::Array2,
};

use crate::{GRAVITY_M_S2, motion::Motion, terrain::Terrain, tree::Piece};

use super::{
    convert,
    form::Solids,
    world::{Near, Response},
};

/// Nodes of the window are no closer, m.
const LEAST_CELL_M: f64 = 0.5;

/// How far the window reaches beyond the piece on each side, m.
const MARGIN_M: f64 = 8.0;

/// How far the piece may go from the window's middle, m.
const STRAY_M: f64 = 6.0;

/// A rigid terrain window and the solids near the piece in one rapier world.
#[derive(Debug)]
pub struct RigidGround {
    near: Near,
    terrain: Arc<Terrain>,
    friction: f64,
    reach_m: f64,
    /// Centre of the window, m, once there is one.
    middle_m: Option<DVec3>,
}

impl RigidGround {
    /// Rigid ground with Coulomb's `friction` of wood on it, under a world as [`Near::new`] makes
    /// it with `solid_friction`.
    #[must_use]
    pub fn new(
        terrain: Arc<Terrain>,
        friction: f64,
        solids: &Solids,
        piece: &Piece,
        which: &[usize],
        solid_friction: f64,
        at_m: DVec3,
    ) -> Self {
        let near = Near::new(solids, piece, which, solid_friction, at_m);
        let reach_m = piece.bounding_radius_m() + MARGIN_M;
        Self { near, terrain, friction, reach_m, middle_m: None }
    }

    /// One step of `dt_s` (s): gravity, then contact with ground and solids; no drift. Motions
    /// as for [`Near::step`], but with the velocities before gravity.
    pub fn step(&mut self, motions: &mut [Motion], dt_s: f64) -> &Response {
        if let Some(piece) = motions.first() {
            self.follow(piece.centre_m);
        }
        for motion in motions.iter_mut() {
            motion.velocity_m_s.z -= GRAVITY_M_S2 * dt_s;
        }
        self.near.step(motions, dt_s)
    }

    /// Free bodies by index in `Site::bodies`, as [`Near::free`].
    pub fn free(&self) -> impl Iterator<Item = usize> + '_ {
        self.near.free()
    }

    /// Moves the window along with the piece.
    fn follow(&mut self, centre_m: DVec3) {
        let strayed = |middle_m: DVec3| (centre_m - middle_m).truncate().length() > STRAY_M;
        if self.middle_m.is_some_and(|m| !strayed(m)) {
            return;
        }
        self.middle_m = Some(centre_m);
        let grid = &self.terrain.grid;
        let cell_m = grid.cell_m * (LEAST_CELL_M / grid.cell_m).ceil().max(1.0);
        let cells = (2.0 * self.reach_m / cell_m).ceil();
        // Nodes fall on the terrain's own, so that planes stay planes and ridges stay sharp.
        let south_west = grid.origin_m
            + ((centre_m.truncate() - self.reach_m - grid.origin_m) / cell_m).floor() * cell_m;
        let last = grid.origin_m
            + grid.cell_m * glam::DVec2::new((grid.nx - 1) as f64, (grid.ny - 1) as f64);
        let size = cells as usize + 1;
        let width_m = cells * cell_m;
        let mut heights_m = vec![0.0; size * size];
        // Parry's rows run along its z, which is our −y once its y is turned up: north first;
        // its columns along x; stored column by column.
        for (k, height_m) in heights_m.iter_mut().enumerate() {
            let (row, column) = (k % size, k / size);
            let x_m = south_west.x + column as f64 * cell_m;
            let y_m = south_west.y + width_m - row as f64 * cell_m;
            // Beyond the terrain's edge its last height goes on; the drop ends there anyway.
            let (x_m, y_m) =
                (x_m.clamp(grid.origin_m.x, last.x), y_m.clamp(grid.origin_m.y, last.y));
            *height_m = self.terrain.surface(x_m, y_m).map_or(0.0, |s| s.height_m);
        }
        // Heights about the window's own level keep f32 fine-grained on a mountain.
        let level_m = centre_m.z.round();
        let top_m = heights_m.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let local = heights_m.iter().map(|h| convert::real(h - level_m)).collect();
        let shape = SharedShape::heightfield_with_flags(
            Array2::new(size, size, local),
            convert::vector(DVec3::new(width_m, 1.0, width_m)),
            HeightFieldFlags::FIX_INTERNAL_EDGES,
        );
        let middle = south_west + 0.5 * width_m;
        let upright = DQuat::from_xyzw(0.5_f64.sqrt(), 0.0, 0.0, 0.5_f64.sqrt());
        self.near.set_terrain(shape, self.friction, middle.extend(level_m), upright, top_m);
    }
}
