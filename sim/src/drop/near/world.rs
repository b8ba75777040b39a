//! The piece and the solids near it in one rapier world.
//!
//! Each step is told where every moving body is and how it moves once soil and gravity have had
//! their say, and answers with what contact adds. Rapier solves the impulses (Coulomb friction,
//! restitution 0); three things stay here, in f64:
//!
//! - **Velocity**: the change rapier makes is added to the velocity given. A body on which no
//!   impulse acted gets its own back, bit for bit.
//! - **Energy**: contacts without rebound never add any. Impulses carried over from the last step
//!   (warm start) can, when a hit ends within it; all of a step's changes are then scaled by the
//!   largest s in 0..1 with ΔE(s) = s·b + s²·c ≤ 0, which keeps momentum.
//! - **Overlap**: pushed out by a share of its depth a step along the contact normals, as position
//!   only ([`Push`]). Rapier's own recovery goes through f32 positions, which lose 1 mm/s in
//!   0.1 ms steps at 2 m from the origin, and through velocity, which adds energy.
//!
//! Known answers: `verif_a_log_rolls_down_a_ramp_at_two_thirds`,
//! `verif_a_hit_on_a_free_log_conserves_momentum`, `prop_contacts_never_add_energy`.

use glam::DVec3;
use rapier3d::dynamics::{FrictionModel, RigidBodyBuilder, RigidBodyHandle};
use rapier3d::geometry::ColliderBuilder;
use rapier3d::parry::mass_properties::MassProperties;
use rapier3d::pipeline::PhysicsWorld;
use rapier3d::prelude::{CoefficientCombineRule, ColliderHandle, SharedShape};

use crate::{motion::Motion, tree::Piece};

use super::{
    convert,
    form::{Form, Role, Solids, gap_below_m},
    fresh,
};

mod contacts;
mod push_out;

pub use contacts::Contact;
pub use push_out::Push;

/// Rapier's sub-steps in a step: one, as our steps are sub-steps already.
const SUBSTEPS: usize = 1;

/// Sweeps over the contact points in a step. A face that lands flat on four points spins off
/// sideways by 3 % of its speed with 8 sweeps, 0.8 % with 40.
const SWEEPS: usize = 40;

/// Least distance at which rapier looks for contacts, m.
const PREDICTION_M: f64 = 0.004;

/// Steps that rapier works at a stretch before it is asked again whether anything can touch.
const STEPS_BETWEEN_LOOKS: u32 = 32;

/// `user_data` of the terrain's collider; solids carry their index in `Site::bodies`.
const TERRAIN: u128 = u64::MAX as u128;

/// Added to a mover's number in the `user_data` of its colliders.
const MOVER: u128 = 1 << 64;

/// What contact did in a step.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Response {
    /// Contacts that pushed, ordered by mover, then ground, then body index.
    pub contacts: Vec<Contact>,
    /// For each motion, what takes it out of overlap.
    pub pushes: Vec<Push>,
}

struct Mover {
    handle: RigidBodyHandle,
    form: Form,
    /// Index in `Site::bodies`; `None` for the piece.
    body: Option<usize>,
    inverse_mass: f64,
    /// In the body frame, 1/(kg m²).
    inverse_inertia: DVec3,
    butt_m: DVec3,
    axis: DVec3,
    length_m: f64,
}

/// A rapier world with one piece and the solids near it.
///
/// Invariant: a function of what it was made from and the steps since; one world per drop gives
/// the same bits on any thread.
pub struct Near {
    world: PhysicsWorld,
    origin_m: DVec3,
    movers: Vec<Mover>,
    fixed: Vec<(usize, Form)>,
    terrain: Option<(ColliderHandle, f64)>,
    response: Response,
    before: Vec<Motion>,
    /// Least way, m, the bodies have to go before anything can touch.
    clear_m: f64,
    steps_to_look: u32,
    last_dt_s: f64,
    rapier_steps: u64,
}

impl std::fmt::Debug for Near {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Near({} moving, {} fixed)", self.movers.len(), self.fixed.len())
    }
}

impl Near {
    /// A world that holds `piece`, near `at_m` (m, within about 100 m), and those of `solids` that
    /// `which` names by index in `Site::bodies`; noted ones are left out. `friction` is Coulomb's
    /// coefficient of wood on anything in it.
    #[must_use]
    pub fn new(
        solids: &Solids,
        piece: &Piece,
        which: &[usize],
        friction: f64,
        at_m: DVec3,
    ) -> Self {
        let mut near = Self {
            world: world(),
            origin_m: at_m.round(),
            movers: Vec::new(),
            fixed: Vec::new(),
            terrain: None,
            response: Response::default(),
            before: Vec::new(),
            clear_m: 0.0,
            steps_to_look: 0,
            last_dt_s: 0.0,
            rapier_steps: 0,
        };
        // The piece takes the other side's coefficient: combined by the lesser of the two.
        near.insert_mover(Form::of_piece(piece), piece, None, f64::from(f32::MAX), at_m);
        for &index in which {
            let Some(solid) = solids.bodies.get(index) else { continue };
            match (solid.role, &solid.piece) {
                (Role::Noted, _) => {}
                (Role::Free, Some(log)) => {
                    let at_m = solid.start.centre_m;
                    near.insert_mover(solid.form.clone(), log, Some(index), friction, at_m);
                }
                (Role::Fixed | Role::Free, _) => near.insert_fixed(&solid.form, index, friction),
            }
        }
        near.response.pushes = vec![Push::default(); near.movers.len()];
        near
    }

    /// Free bodies in this world by index in `Site::bodies`: `motions[1..]` of [`Near::step`].
    pub fn free(&self) -> impl Iterator<Item = usize> + '_ {
        self.movers.iter().filter_map(|m| m.body)
    }

    /// What contact did in the last step.
    #[must_use]
    pub fn response(&self) -> &Response {
        &self.response
    }

    /// Steps that rapier itself took; the others were over before it was asked.
    #[must_use]
    pub fn rapier_steps(&self) -> u64 {
        self.rapier_steps
    }

    /// One step of `dt_s` (s): contact alone, no gravity, no drift.
    ///
    /// `motions[0]` is the piece, the rest the free bodies in the order of [`Near::free`], each
    /// with the pose to look for contact at and the velocities after all other forces. Velocities
    /// are changed in place by what contact adds, poses are not; of more motions than bodies, the
    /// rest are left alone.
    pub fn step(&mut self, motions: &mut [Motion], dt_s: f64) -> &Response {
        self.response.contacts.clear();
        self.response.pushes.fill(Push::default());
        if motions.len() < self.movers.len() || self.nothing_can_touch(motions, dt_s) {
            self.last_dt_s = 0.0;
            return &self.response;
        }
        self.put(motions, dt_s);
        self.world.step();
        self.rapier_steps += 1;
        self.read_contacts(motions);
        if !self.response.contacts.is_empty() {
            self.read_velocities(motions);
        }
        self.push_out(motions, dt_s);
        &self.response
    }

    fn insert_mover(
        &mut self,
        form: Form,
        piece: &Piece,
        body: Option<usize>,
        friction: f64,
        at_m: DVec3,
    ) {
        let mass = MassProperties::new(
            convert::vector(DVec3::ZERO),
            convert::real(piece.mass_kg),
            convert::vector(piece.inertia_kg_m2),
        );
        let number = self.movers.len() as u128;
        let handle = self.world.insert_body(
            RigidBodyBuilder::dynamic()
                .translation(convert::vector(at_m - self.origin_m))
                .additional_mass_properties(mass)
                .gyroscopic_forces_enabled(false)
                .can_sleep(false),
        );
        for part in &form.parts {
            let place = convert::pose(part.centre_m, part.attitude, DVec3::ZERO);
            let collider = collider(&part.shape, friction).position(place);
            self.world.insert_collider(collider.user_data(MOVER + number), Some(handle));
        }
        let (butt_m, top_m) = (piece.butt_m(), piece.top_m());
        self.movers.push(Mover {
            handle,
            form,
            body,
            inverse_mass: 1.0 / piece.mass_kg,
            inverse_inertia: piece.inertia_kg_m2.recip(),
            butt_m,
            axis: (top_m - butt_m).normalize_or_zero(),
            length_m: piece.length_m(),
        });
    }

    fn insert_fixed(&mut self, form: &Form, index: usize, friction: f64) {
        for part in &form.parts {
            let place = convert::pose(part.centre_m, part.attitude, self.origin_m);
            let collider = collider(&part.shape, friction).position(place);
            self.world.insert_collider(collider.user_data(index as u128), None);
        }
        self.fixed.push((index, form.clone()));
    }

    /// Puts `shape` in as the terrain in place of what was there, at `centre_m`, turned so that
    /// parry's y is up; nothing of it is higher than `top_m`.
    pub(super) fn set_terrain(
        &mut self,
        shape: SharedShape,
        friction: f64,
        centre_m: DVec3,
        attitude: glam::DQuat,
        top_m: f64,
    ) {
        if let Some((old, _)) = self.terrain.take() {
            self.world.remove_collider(old);
        }
        let place = convert::pose(centre_m, attitude, self.origin_m);
        let collider = collider(&shape, friction).position(place).user_data(TERRAIN);
        self.terrain = Some((self.world.insert_collider(collider, None), top_m));
        self.clear_m = 0.0;
        self.steps_to_look = 0;
    }

    /// Whether no pair can come within reach of rapier's contact search in this step.
    fn nothing_can_touch(&mut self, motions: &[Motion], dt_s: f64) -> bool {
        let way_m = closing_m_s(&self.movers, motions) * dt_s;
        self.clear_m -= way_m;
        // As far again for the way of a whole step by bodies shown at its middle.
        let reach_m = 2.0 * way_m + PREDICTION_M;
        if self.clear_m > reach_m {
            return true;
        }
        if self.steps_to_look > 0 {
            self.steps_to_look -= 1;
            return false;
        }
        self.clear_m = self.clearance_m(motions);
        let clear = self.clear_m > reach_m;
        if !clear {
            self.steps_to_look = STEPS_BETWEEN_LOOKS;
        }
        clear
    }

    /// Least gap between any moving body and any other, m.
    fn clearance_m(&self, motions: &[Motion]) -> f64 {
        let mut least_m = f64::INFINITY;
        for (i, (a, at_a)) in self.movers.iter().zip(motions).enumerate() {
            let middle_m = a.form.middle_in_world_m(at_a);
            let mut look = |form: &Form, at: &Motion| {
                let spheres_m =
                    middle_m.distance(form.middle_in_world_m(at)) - a.form.bound_m - form.bound_m;
                if spheres_m < least_m {
                    least_m = least_m.min(gap_below_m(&a.form, at_a, form, at, least_m));
                }
            };
            for (_, form) in &self.fixed {
                look(form, &super::form::WORLD);
            }
            for (b, at_b) in self.movers.iter().zip(motions).skip(i + 1) {
                look(&b.form, at_b);
            }
            if let Some((_, top_m)) = self.terrain {
                least_m = least_m.min((middle_m.z - a.form.bound_m - top_m).max(0.0));
            }
        }
        least_m
    }

    fn put(&mut self, motions: &[Motion], dt_s: f64) {
        let way_m = closing_m_s(&self.movers, motions) * dt_s;
        let parameters = &mut self.world.integration_parameters;
        parameters.dt = convert::real(dt_s);
        parameters.normalized_prediction_distance = convert::real((1.5 * way_m).max(PREDICTION_M));
        // Impulses scale with the step; after a step without rapier there are none to carry over.
        parameters.warmstart_coefficient = if self.last_dt_s > 0.0 {
            convert::real((dt_s / self.last_dt_s).min(1.0))
        } else {
            0.0
        };
        self.last_dt_s = dt_s;
        self.before.clear();
        self.before.extend_from_slice(motions);
        for (mover, motion) in self.movers.iter().zip(motions) {
            if let Some(body) = self.world.bodies.get_mut(mover.handle) {
                let pose = convert::pose(motion.centre_m, motion.attitude, self.origin_m);
                body.set_position(pose, false);
                body.set_linvel(convert::vector(motion.velocity_m_s), false);
                body.set_angvel(convert::vector(motion.spin_rad_s), false);
            }
        }
    }

    /// Adds what rapier changed, scaled back if it added energy.
    fn read_velocities(&self, motions: &mut [Motion]) {
        let changes = || {
            self.movers.iter().zip(&self.before).filter_map(|(mover, before)| {
                let body = self.world.bodies.get(mover.handle)?;
                let dv = convert::from_vector(body.linvel() - convert::vector(before.velocity_m_s));
                let dw = convert::from_vector(body.angvel() - convert::vector(before.spin_rad_s));
                Some((mover, before, dv, dw))
            })
        };
        // Energy after − before = s·linear + s²·square.
        let (mut linear, mut square) = (0.0, 0.0);
        for (mover, before, dv, dw) in changes() {
            let mass = 1.0 / mover.inverse_mass;
            let turn = |w: DVec3| before.attitude.conjugate() * w;
            let momentum = turn(dw) * mover.inverse_inertia.recip();
            linear += mass * before.velocity_m_s.dot(dv) + turn(before.spin_rad_s).dot(momentum);
            square += 0.5 * (mass * dv.length_squared() + turn(dw).dot(momentum));
        }
        let scale = if linear + square > 0.0 { (-linear / square).clamp(0.0, 1.0) } else { 1.0 };
        for ((_, before, dv, dw), motion) in changes().zip(motions) {
            // A body nothing touched keeps its bits, the sign of a zero included.
            if dv != DVec3::ZERO || dw != DVec3::ZERO {
                motion.velocity_m_s = before.velocity_m_s + scale * dv;
                motion.spin_rad_s = before.spin_rad_s + scale * dw;
            }
        }
    }
}

/// Fastest that the surfaces of two of the bodies can close, m/s.
fn closing_m_s(movers: &[Mover], motions: &[Motion]) -> f64 {
    let speed = |(mover, motion): (&Mover, &Motion)| {
        let reach_m = mover.form.middle_m.length() + mover.form.bound_m;
        motion.velocity_m_s.length() + motion.spin_rad_s.length() * reach_m
    };
    let (mut first, mut second) = (0.0_f64, 0.0_f64);
    for fast in movers.iter().zip(motions).map(speed) {
        second = second.max(fast.min(first));
        first = first.max(fast);
    }
    first + second
}

fn world() -> PhysicsWorld {
    let mut world = PhysicsWorld::new();
    world.gravity = convert::vector(DVec3::ZERO);
    world.narrow_phase = fresh::narrow_phase();
    let parameters = &mut world.integration_parameters;
    // The default, Simplified, robs a log that rolls obliquely of its speed.
    parameters.friction_model = FrictionModel::Coulomb;
    parameters.num_solver_iterations = SUBSTEPS;
    parameters.num_internal_pgs_iterations = SWEEPS;
    parameters.num_internal_stabilization_iterations = SWEEPS;
    // Kept contact points are frozen on the body, which a rolling log turns away from.
    parameters.contact_recycling = false;
    // Overlap is ours to undo.
    parameters.normalized_max_corrective_velocity = 0.0;
    parameters.max_ccd_substeps = 0;
    world
}

fn collider(shape: &SharedShape, friction: f64) -> ColliderBuilder {
    ColliderBuilder::new(shape.clone())
        .density(0.0)
        .friction(convert::real(friction))
        .friction_combine_rule(CoefficientCombineRule::Min)
        .restitution(0.0)
}
