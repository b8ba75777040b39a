//! Contact points found anew at each step.
//!
//! Parry keeps a pair's contact points and normal until they have turned by 1° or shifted by 1 mm.
//! In steps of 1 ms and less a rolling log then carries its contact along for many steps: the
//! normal leans with it, by up to 0.017 rad on a log on a 20° ramp, always the same way. This
//! dispatcher forgets the cached points first and leaves the rest to parry's own; impulses are still carried over by
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

use super::form::window;

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
            let reach = |other: &dyn Shape| {
                let sphere = other.compute_local_bounding_sphere();
                sphere.center().length() + sphere.radius() + prediction
            };
            let (mut here, mut shift_one, mut shift_two) = (*pos12, Vector::ZERO, Vector::ZERO);
            let (small_one, small_two);
            let (mut one, mut two) = (one, two);
            if let Some(cuboid) = one.as_cuboid() {
                let Some((small, offset)) = window(cuboid, pos12.translation, reach(two)) else {
                    manifold.clear();
                    return Ok(());
                };
                (small_one, shift_one) = (small, offset);
                one = &small_one;
                here = here.append_translation(-offset);
            }
            if let Some(cuboid) = two.as_cuboid() {
                let seen = pos12.inverse().translation;
                let Some((small, offset)) = window(cuboid, seen, reach(one)) else {
                    manifold.clear();
                    return Ok(());
                };
                (small_two, shift_two) = (small, offset);
                two = &small_two;
                here = here.prepend_translation(offset);
            }
            contact_manifold_pfm_pfm_shapes(
                &here,
                one,
                two,
                faces_one.as_ref().map(|f| f as &dyn NormalConstraints),
                faces_two.as_ref().map(|f| f as &dyn NormalConstraints),
                prediction,
                manifold,
            );
            for point in &mut manifold.points {
                point.local_p1 += shift_one;
                point.local_p2 += shift_two;
            }
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
