//! Contact points found anew at each step.
//!
//! Parry keeps a pair's contact points and normal until they have turned by 1° or shifted by 1 mm.
//! In steps of 1 ms and less a rolling log then carries its contact along for many steps: the
//! normal leans with it by half a degree on average, as if the ramp were that much steeper or
//! flatter (measured: a log on a 20° ramp lost its footing within 50 ms). This dispatcher forgets
//! the cached points first and leaves the rest to parry's own; impulses are still carried over by
//! feature.

use rapier3d::geometry::NarrowPhase;
use rapier3d::math::{Pose, Real, Vector};
use rapier3d::parry::query::details::{
    ContactManifoldsWorkspace, NormalConstraints, ShapeCastOptions,
};
use rapier3d::parry::query::{
    ClosestPoints, Contact, ContactManifold, DefaultQueryDispatcher, NonlinearRigidMotion,
    PersistentQueryDispatcher, QueryDispatcher, ShapeCastHit, ShapeDistance, ShapeIntersection,
    Unsupported,
};
use rapier3d::parry::shape::Shape;

/// A narrow phase that keeps no contact points from step to step.
pub(super) fn narrow_phase() -> NarrowPhase {
    NarrowPhase::with_query_dispatcher(Forget.chain(DefaultQueryDispatcher))
}

/// Answers nothing itself, so that the next dispatcher in the chain does.
struct Forget;

impl<M, C: Default + Copy> PersistentQueryDispatcher<M, C> for Forget {
    fn contact_manifolds(
        &self,
        _: &Pose,
        _: &dyn Shape,
        _: &dyn Shape,
        _: Real,
        manifolds: &mut Vec<ContactManifold<M, C>>,
        _: &mut Option<ContactManifoldsWorkspace>,
    ) -> Result<(), Unsupported> {
        manifolds.iter_mut().for_each(ContactManifold::mark_shapes_deformed);
        Err(Unsupported)
    }

    fn contact_manifold_convex_convex(
        &self,
        _: &Pose,
        _: &dyn Shape,
        _: &dyn Shape,
        _: Option<&dyn NormalConstraints>,
        _: Option<&dyn NormalConstraints>,
        _: Real,
        manifold: &mut ContactManifold<M, C>,
    ) -> Result<(), Unsupported> {
        manifold.mark_shapes_deformed();
        Err(Unsupported)
    }
}

impl QueryDispatcher for Forget {
    fn intersection_test(
        &self,
        _: &Pose,
        _: &dyn Shape,
        _: &dyn Shape,
    ) -> Result<ShapeIntersection, Unsupported> {
        Err(Unsupported)
    }

    fn distance(
        &self,
        _: &Pose,
        _: &dyn Shape,
        _: &dyn Shape,
    ) -> Result<ShapeDistance, Unsupported> {
        Err(Unsupported)
    }

    fn contact(
        &self,
        _: &Pose,
        _: &dyn Shape,
        _: &dyn Shape,
        _: Real,
    ) -> Result<Option<Contact>, Unsupported> {
        Err(Unsupported)
    }

    fn closest_points(
        &self,
        _: &Pose,
        _: &dyn Shape,
        _: &dyn Shape,
        _: Real,
    ) -> Result<ClosestPoints, Unsupported> {
        Err(Unsupported)
    }

    fn cast_shapes(
        &self,
        _: &Pose,
        _: Vector,
        _: &dyn Shape,
        _: &dyn Shape,
        _: ShapeCastOptions,
    ) -> Result<Option<ShapeCastHit>, Unsupported> {
        Err(Unsupported)
    }

    fn cast_shapes_nonlinear(
        &self,
        _: &NonlinearRigidMotion,
        _: &dyn Shape,
        _: &NonlinearRigidMotion,
        _: &dyn Shape,
        _: Real,
        _: Real,
        _: bool,
    ) -> Result<Option<ShapeCastHit>, Unsupported> {
        Err(Unsupported)
    }
}
