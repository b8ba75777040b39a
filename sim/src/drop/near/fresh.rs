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
    ContactManifoldsWorkspace, NormalConstraints, ShapeCastOptions, contact_manifold_pfm_pfm_shapes,
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

/// A contact normal this close to a face's is the face's, as a cosine (0.6°). The closest-point
/// search in f32 finds a normal on a smooth side to about 3e-4 rad, which shakes a rolling log;
/// touching a face it can only be the face's own.
const FACE_COSINE: Real = 0.999_95;

/// Answers only for a round against a flat-faced solid; for the rest the next in the chain does.
struct Forget;

/// Outward unit normals of a flat-faced solid, in its own frame.
struct Faces(Vec<Vector>);

impl Faces {
    fn of(shape: &dyn Shape) -> Option<Self> {
        if shape.as_cuboid().is_some() {
            let axes = [Vector::X, Vector::Y, Vector::Z];
            return Some(Self(axes.into_iter().flat_map(|a| [a, -a]).collect()));
        }
        let hull = shape.as_convex_polyhedron()?;
        Some(Self(hull.faces().iter().map(|f| f.normal).collect()))
    }
}

impl NormalConstraints for Faces {
    fn project_local_normal_mut(&self, normal: &mut Vector) -> bool {
        if let Some(face) = self.0.iter().find(|face| face.dot(*normal) > FACE_COSINE) {
            *normal = *face;
        }
        true
    }
}

impl<M: Default, C: Default + Copy> PersistentQueryDispatcher<M, C> for Forget {
    fn contact_manifolds(
        &self,
        pos12: &Pose,
        one: &dyn Shape,
        two: &dyn Shape,
        prediction: Real,
        manifolds: &mut Vec<ContactManifold<M, C>>,
        _: &mut Option<ContactManifoldsWorkspace>,
    ) -> Result<(), Unsupported> {
        manifolds.iter_mut().for_each(ContactManifold::mark_shapes_deformed);
        let (faces_one, faces_two) = (Faces::of(one), Faces::of(two));
        if faces_one.is_some() == faces_two.is_some() {
            return Err(Unsupported);
        }
        if manifolds.is_empty() {
            manifolds.push(ContactManifold::new());
        }
        if let Some(manifold) = manifolds.first_mut() {
            contact_manifold_pfm_pfm_shapes(
                pos12,
                one,
                two,
                faces_one.as_ref().map(|f| f as &dyn NormalConstraints),
                faces_two.as_ref().map(|f| f as &dyn NormalConstraints),
                prediction,
                manifold,
            );
        }
        Ok(())
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
