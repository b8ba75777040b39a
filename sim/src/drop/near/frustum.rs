//! A tapered round as a parry shape: exact side and end planes, rim rounded.
//!
//! The shape is a smaller frustum grown by a ball of the rim radius ρ. With h half the length,
//! k = (r_to − r_from)/2h the taper and r(z) the radius along the axis, the core has half length
//! h − ρ and radius r(z) − ρ·√(1 + k²) at its own ends, so the grown side and the grown end planes
//! are those asked for to rounding; only the rim differs, by 0.41·ρ (more at the wide end of a strong taper).
//!
//! Left out: bark texture, out-of-round. An N-sided hull in its place rolls 9 to 28 % slow, because
//! each edge costs energy; known answer: `verif_a_log_rolls_down_a_ramp_at_two_thirds`.

use rapier3d::math::{Pose, Real, Vector};
use rapier3d::parry::bounding_volume::{Aabb, BoundingSphere};
use rapier3d::parry::mass_properties::MassProperties;
use rapier3d::parry::query::details::{
    local_point_projection_on_support_map, local_ray_intersection_with_support_map_with_params,
};
use rapier3d::parry::query::gjk::VoronoiSimplex;
use rapier3d::parry::query::{PointProjection, PointQuery, Ray, RayCast, RayIntersection};
use rapier3d::parry::shape::{
    Cylinder, FeatureId, PackedFeatureId, PolygonalFeature, PolygonalFeatureMap, Shape, ShapeType,
    SupportMap, TypedShape,
};

use super::convert::real;

/// Share of the smaller radius that the rim is rounded by.
///
/// Ours: a sawn rim under bark is never sharp, and a rounded one keeps the closest-point search
/// off the penetrating branch for hits up to this depth.
const RIM_SHARE: f64 = 0.1;

/// A sharp frustum about z: radius `from_radius` at −`half`, `to_radius` at +`half`, m.
#[derive(Clone, Copy, Debug)]
struct Core {
    half: Real,
    from_radius: Real,
    to_radius: Real,
    /// Sine of the side's angle to the axis: the outward side normal has this z component.
    side_normal_z: Real,
}

/// A tapered round about z with a rounded rim.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frustum {
    core: Core,
    rim: Real,
}

impl Frustum {
    /// A round of half length `half_m` about z, radius `from_radius_m` at −z and `to_radius_m` at
    /// +z, all in m.
    pub(super) fn new(half_m: f64, from_radius_m: f64, to_radius_m: f64) -> Self {
        let rim_m = RIM_SHARE * from_radius_m.min(to_radius_m).min(half_m).max(0.0);
        let taper = (to_radius_m - from_radius_m) / (2.0 * half_m);
        let slant = (1.0 + taper * taper).sqrt();
        let core_half_m = half_m - rim_m;
        let middle_m = 0.5 * (from_radius_m + to_radius_m);
        let radius_m = |z_m: f64| (middle_m + taper * z_m - rim_m * slant).max(0.0);
        Self {
            core: Core {
                half: real(core_half_m),
                from_radius: real(radius_m(-core_half_m)),
                to_radius: real(radius_m(core_half_m)),
                side_normal_z: real(-taper / slant),
            },
            rim: real(rim_m),
        }
    }

    /// A cylinder that holds the shape, for bounds only.
    fn around(&self) -> Cylinder {
        Cylinder::new(
            self.core.half + self.rim,
            self.core.from_radius.max(self.core.to_radius) + self.rim,
        )
    }
}

/// Radial direction of `v` in the plane across the axis, x if there is none.
fn azimuth(v: Vector) -> Vector {
    Vector::new(v.x, v.y, 0.0).try_normalize().unwrap_or(Vector::X)
}

impl SupportMap for Core {
    fn local_support_point(&self, dir: Vector) -> Vector {
        let across = (dir.x * dir.x + dir.y * dir.y).sqrt();
        let from = across * self.from_radius - dir.z * self.half;
        let to = across * self.to_radius + dir.z * self.half;
        let (radius, z) =
            if to > from { (self.to_radius, self.half) } else { (self.from_radius, -self.half) };
        let scale = if across > 0.0 { radius / across } else { 0.0 };
        Vector::new(dir.x * scale, dir.y * scale, z)
    }
}

impl Core {
    // Feature ids as for parry's cylinder: the side is one segment (face 0, vertices 1 and 11),
    // each end a square in its circle with vertices 1, 3, 5, 7 and 11, 13, 15, 17.
    fn feature(&self, dir: Vector, hint: Vector, out: &mut PolygonalFeature) {
        if (dir.z - self.side_normal_z).abs() < 0.5 {
            // By the normal, not the hint: the closest point on a smooth side is known to
            // √(r·ε) only, and its azimuth would shake the contact of a rolling log.
            let out_dir = azimuth(dir);
            out.vertices[0] = out_dir * self.from_radius - Vector::Z * self.half;
            out.vertices[1] = out_dir * self.to_radius + Vector::Z * self.half;
            out.eids = [PackedFeatureId::edge(0); 4];
            out.fid = PackedFeatureId::face(0);
            out.vids = [1, 11, 11, 11].map(PackedFeatureId::vertex);
            out.num_vertices = 2;
            return;
        }
        let (radius, z, base) = if dir.z < 0.0 {
            (self.from_radius, -self.half, 0)
        } else {
            (self.to_radius, self.half, 10)
        };
        // A corner of the square at the contact's azimuth, so that a rim hit has a point there.
        let u = azimuth(if hint.x == 0.0 && hint.y == 0.0 { dir } else { hint }) * radius;
        let v = Vector::new(-u.y, u.x, 0.0);
        let centre = Vector::new(0.0, 0.0, z);
        out.vertices = [centre + u, centre + v, centre - u, centre - v];
        out.eids = [2, 4, 6, 8].map(|id| PackedFeatureId::edge(base + id));
        out.fid = PackedFeatureId::face(base + 9);
        out.vids = [1, 3, 5, 7].map(|id| PackedFeatureId::vertex(base + id));
        out.num_vertices = 4;
    }
}

impl PolygonalFeatureMap for Core {
    fn local_support_feature(&self, dir: Vector, out_feature: &mut PolygonalFeature) {
        self.feature(dir, dir, out_feature);
    }

    fn local_support_feature_toward(
        &self,
        dir: Vector,
        hint: Vector,
        out_feature: &mut PolygonalFeature,
    ) {
        self.feature(dir, hint, out_feature);
    }
}

impl SupportMap for Frustum {
    fn local_support_point(&self, dir: Vector) -> Vector {
        self.core.local_support_point(dir) + dir.normalize_or(Vector::Z) * self.rim
    }
}

impl RayCast for Frustum {
    fn cast_local_ray_and_get_normal(
        &self,
        ray: &Ray,
        max_time_of_impact: Real,
        solid: bool,
    ) -> Option<RayIntersection> {
        local_ray_intersection_with_support_map_with_params(
            self,
            &mut VoronoiSimplex::new(),
            ray,
            max_time_of_impact,
            solid,
        )
    }
}

impl PointQuery for Frustum {
    fn project_local_point(&self, pt: Vector, solid: bool) -> PointProjection {
        local_point_projection_on_support_map(self, &mut VoronoiSimplex::new(), pt, solid)
    }

    fn project_local_point_and_get_feature(&self, pt: Vector) -> (PointProjection, FeatureId) {
        (self.project_local_point(pt, false), FeatureId::Unknown)
    }
}

impl Shape for Frustum {
    fn compute_local_aabb(&self) -> Aabb {
        let around = self.around();
        let half = Vector::new(around.radius, around.radius, around.half_height);
        Aabb::new(-half, half)
    }

    fn compute_local_bounding_sphere(&self) -> BoundingSphere {
        let around = self.around();
        let corner = Vector::new(around.radius, 0.0, around.half_height);
        BoundingSphere::new(Vector::ZERO, corner.length())
    }

    fn compute_aabb(&self, position: &Pose) -> Aabb {
        // Tight: a slanted log's turned box is up to twice its own, and every triangle under the
        // box costs.
        let reach = |axis: Vector| {
            let dir = position.rotation.inverse() * axis;
            let along = |d: Vector| self.local_support_point(d).dot(d);
            (along(dir), along(-dir))
        };
        let (x, y, z) = (reach(Vector::X), reach(Vector::Y), reach(Vector::Z));
        let centre = position.translation;
        Aabb::new(centre - Vector::new(x.1, y.1, z.1), centre + Vector::new(x.0, y.0, z.0))
    }

    fn clone_dyn(&self) -> Box<dyn Shape> {
        Box::new(*self)
    }

    fn scale_dyn(&self, _scale: Vector, _num_subdivisions: u32) -> Option<Box<dyn Shape>> {
        None
    }

    fn mass_properties(&self, _density: Real) -> MassProperties {
        // The body's mass and inertia come from the piece as a whole.
        MassProperties::new(Vector::ZERO, 0.0, Vector::ZERO)
    }

    fn shape_type(&self) -> ShapeType {
        ShapeType::Custom
    }

    fn as_typed_shape(&self) -> TypedShape<'_> {
        TypedShape::Custom(self)
    }

    fn ccd_thickness(&self) -> Real {
        self.core.from_radius.min(self.core.to_radius) + self.rim
    }

    fn ccd_angular_thickness(&self) -> Real {
        std::f32::consts::FRAC_PI_2
    }

    fn is_convex(&self) -> bool {
        true
    }

    fn as_support_map(&self) -> Option<&dyn SupportMap> {
        Some(self)
    }

    fn as_polygonal_feature_map(&self) -> Option<(&dyn PolygonalFeatureMap, Real)> {
        Some((&self.core, self.rim))
    }
}
