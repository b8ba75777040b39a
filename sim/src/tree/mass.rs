//! Mass, centre and inertia of bodies put together from cone frusta.
//!
//! A frustum of density ρ, length L, radii R₁ and R₂ (R linear between):
//!
//! ```text
//! m   = ρ·π·L/3 ·(R₁² + R₁R₂ + R₂²)
//! z_c = L/4 ·(R₁² + 2R₁R₂ + 3R₂²)/(R₁² + R₁R₂ + R₂²)            from the R₁ end
//! I_a = ρ·π·L/10·(R₁⁴ + R₁³R₂ + R₁²R₂² + R₁R₂³ + R₂⁴)          about its axis
//! I_t = I_a/2 + ρ·π·L³·(R₁²/30 + R₁R₂/10 + R₂²/5) − m·z_c²      across, about its centre
//! ```
//!
//! The integrals of r², z·r², r⁴/2 and z²·r² over the length, done by hand. A hollow is a frustum
//! of negative density. Known answers: `val_frustum_volume_and_centroid`,
//! `verif_cylinder_inertia`.

use std::f64::consts::PI;

use glam::{DMat3, DQuat, DVec3};
use nalgebra::Matrix3;

/// A cone frustum with its density (negative for a hollow).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frustum {
    /// Centre of one end disc, m.
    pub from_m: DVec3,
    /// Centre of the other end disc, m.
    pub to_m: DVec3,
    /// Radius at `from_m`, m.
    pub from_radius_m: f64,
    /// Radius at `to_m`, m.
    pub to_radius_m: f64,
    /// Density, kg/m³; negative takes away.
    pub density_kg_m3: f64,
}

/// Mass, first and second moments of a body about the origin of its frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Mass times centre, kg m.
    pub moment_kg_m: DVec3,
    /// Inertia tensor about the origin, kg m².
    pub inertia_kg_m2: DMat3,
}

impl Frustum {
    /// Volume, m³.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        let (a, b) = (self.from_radius_m, self.to_radius_m);
        PI * self.from_m.distance(self.to_m) / 3.0 * (a * a + a * b + b * b)
    }

    /// Centre of volume, m.
    #[must_use]
    pub fn centre_m(&self) -> DVec3 {
        let (a, b) = (self.from_radius_m, self.to_radius_m);
        let share = (a * a + 2.0 * a * b + 3.0 * b * b) / (4.0 * (a * a + a * b + b * b));
        self.from_m.lerp(self.to_m, share)
    }

    /// Mass properties about the origin.
    #[must_use]
    pub fn mass(&self) -> Mass {
        let (a, b) = (self.from_radius_m, self.to_radius_m);
        let axis = self.to_m - self.from_m;
        let length_m = axis.length();
        if length_m <= 0.0 || a + b <= 0.0 {
            return Mass::ZERO;
        }
        let unit = axis / length_m;
        let centre_m = self.centre_m();
        let mass_kg = self.density_kg_m3 * self.volume_m3();
        let fourth = a.powi(4) + a.powi(3) * b + a * a * b * b + a * b.powi(3) + b.powi(4);
        let axial = self.density_kg_m3 * PI * length_m / 10.0 * fourth;
        let second = a * a / 30.0 + a * b / 10.0 + b * b / 5.0;
        let across = 0.5 * axial + self.density_kg_m3 * PI * length_m.powi(3) * second
            - mass_kg * (centre_m - self.from_m).length_squared();
        let about_centre = DMat3::IDENTITY * across + outer(unit) * (axial - across);
        Mass {
            mass_kg,
            moment_kg_m: mass_kg * centre_m,
            inertia_kg_m2: about_centre + shift(mass_kg, centre_m),
        }
    }
}

impl Mass {
    /// Nothing.
    pub const ZERO: Self =
        Self { mass_kg: 0.0, moment_kg_m: DVec3::ZERO, inertia_kg_m2: DMat3::ZERO };

    /// A ball of even density: 2/5·m·r² about its centre.
    #[must_use]
    pub fn ball(mass_kg: f64, centre_m: DVec3, radius_m: f64) -> Self {
        let about_centre = DMat3::IDENTITY * (0.4 * mass_kg * radius_m * radius_m);
        Self {
            mass_kg,
            moment_kg_m: mass_kg * centre_m,
            inertia_kg_m2: about_centre + shift(mass_kg, centre_m),
        }
    }

    /// This body and another as one.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            mass_kg: self.mass_kg + other.mass_kg,
            moment_kg_m: self.moment_kg_m + other.moment_kg_m,
            inertia_kg_m2: self.inertia_kg_m2 + other.inertia_kg_m2,
        }
    }

    /// Centre of mass, m.
    #[must_use]
    pub fn centre_m(&self) -> DVec3 {
        self.moment_kg_m / self.mass_kg
    }

    /// Inertia tensor about the centre of mass, kg m².
    #[must_use]
    pub fn inertia_about_centre_kg_m2(&self) -> DMat3 {
        self.inertia_kg_m2 - shift(self.mass_kg, self.centre_m())
    }
}

/// The principal moments of a tensor and the rotation that turns the principal axes into the
/// tensor's frame: z is the principal axis nearest the frame's z, x of the other two the one
/// nearest the frame's x, all of them pointing the frame's way, right-handed.
#[must_use]
pub fn principal(inertia_kg_m2: DMat3) -> (DVec3, DQuat) {
    let t = inertia_kg_m2;
    let crossed = t.y_axis.x.abs().max(t.z_axis.x.abs()).max(t.z_axis.y.abs());
    // Rounding must not choose axes for a body that is symmetric about its stem.
    if crossed <= 1e-12 * (t.x_axis.x + t.y_axis.y + t.z_axis.z) {
        return (DVec3::new(t.x_axis.x, t.y_axis.y, t.z_axis.z), DQuat::IDENTITY);
    }
    let eigen = Matrix3::from_fn(|row, column| t.col(column)[row]).symmetric_eigen();
    let mut axes: Vec<(f64, DVec3)> = (0..3)
        .map(|i| {
            let v = eigen.eigenvectors.column(i);
            (eigen.eigenvalues[i], DVec3::new(v[0], v[1], v[2]))
        })
        .collect();
    axes.sort_by(|a, b| b.1.z.abs().total_cmp(&a.1.z.abs()));
    axes[1..].sort_by(|a, b| b.1.x.abs().total_cmp(&a.1.x.abs()));
    let z = axes[0].1 * axes[0].1.z.signum();
    let x = axes[1].1 * axes[1].1.x.signum();
    let y = z.cross(x);
    let moments = DVec3::new(axes[1].0, axes[2].0, axes[0].0);
    (moments, DQuat::from_mat3(&DMat3::from_cols(x, y, z)).normalize())
}

/// The inertia of a point mass about the origin (parallel axes).
fn shift(mass_kg: f64, at_m: DVec3) -> DMat3 {
    (DMat3::IDENTITY * at_m.length_squared() - outer(at_m)) * mass_kg
}

fn outer(v: DVec3) -> DMat3 {
    DMat3::from_cols(v * v.x, v * v.y, v * v.z)
}

#[cfg(test)]
mod tests {
    use super::*;

    const M_PER_FT: f64 = 0.3048;
    const M_PER_IN: f64 = 0.0254;

    fn frustum(from_in: f64, to_in: f64, length_ft: f64, lb_ft3: f64) -> Frustum {
        Frustum {
            from_m: DVec3::ZERO,
            to_m: DVec3::Z * length_ft * M_PER_FT,
            from_radius_m: 0.5 * from_in * M_PER_IN,
            to_radius_m: 0.5 * to_in * M_PER_IN,
            density_kg_m3: lb_ft3 * 16.018_463,
        }
    }

    /// University of Missouri, cubic volume of logs: cone frusta of 10–12 in by 16 ft
    /// (10.588 ft³) and 25–29 cm by 5 m (0.286801 m³).
    #[test]
    fn val_frustum_volume_and_centroid() {
        let log = frustum(12.0, 10.0, 16.0, 63.0);
        assert!((log.volume_m3() / M_PER_FT.powi(3) - 10.588).abs() < 5e-4);
        let metric = Frustum { from_radius_m: 0.125, to_radius_m: 0.145, ..log };
        let metric = Frustum { to_m: DVec3::Z * 5.0, ..metric };
        assert!((metric.volume_m3() - 0.286_801).abs() < 5e-7);
    }

    #[test]
    fn prop_principal_axes_rebuild_the_tensor() {
        let tilted = Frustum {
            from_m: DVec3::new(0.1, -0.2, 0.3),
            to_m: DVec3::new(0.9, 0.4, 1.1),
            from_radius_m: 0.1,
            to_radius_m: 0.05,
            density_kg_m3: 800.0,
        };
        let whole = frustum(20.0, 16.0, 6.0, 60.0).mass().with(tilted.mass());
        let tensor = whole.inertia_about_centre_kg_m2();
        let (moments, rotation) = principal(tensor);
        let turn = DMat3::from_quat(rotation);
        let back = turn * DMat3::from_diagonal(moments) * turn.transpose();
        assert!(back.abs_diff_eq(tensor, 1e-9 * moments.max_element()));
        assert!((turn.determinant() - 1.0).abs() < 1e-12);
        assert!(turn.z_axis.z > 0.9 && turn.x_axis.x > 0.0);
    }
}
