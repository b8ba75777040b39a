//! The ground under a piece: height, slope and law at a place, roughness included.

use glam::{DVec2, DVec3};

use crate::{
    ground::Ground,
    site::Site,
    soil::{law::Law, rough::bumps, thicket::Thicket},
};

/// The plane that touches the ground at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// A point on it, m.
    pub at_m: DVec3,
    /// Unit normal, out of the ground.
    pub normal: DVec3,
}

impl Plane {
    /// How deep a point lies below the plane, m; negative above it.
    #[inline]
    #[must_use]
    pub fn depth_m(&self, point_m: DVec3) -> f64 {
        (self.at_m - point_m).dot(self.normal)
    }
}

/// A site's terrain and grounds, compiled for the hot loop.
#[derive(Clone, Debug)]
pub struct Bed<'a> {
    site: &'a Site,
    laws: Vec<Law>,
    roughness_m: Vec<f64>,
    boxes: Vec<[DVec2; 2]>,
    thickets: Vec<Option<Thicket>>,
    roughness_key: u64,
}

impl<'a> Bed<'a> {
    /// Compiles the grounds of a site; index 0 is the ground outside all patches.
    #[must_use]
    pub fn new(site: &'a Site) -> Self {
        let grounds: Vec<&Ground> = std::iter::once(&site.ground)
            .chain(site.patches.iter().map(|patch| &patch.ground))
            .collect();
        Self {
            site,
            laws: grounds.iter().map(|ground| Law::new(ground)).collect(),
            roughness_m: grounds.iter().map(|ground| ground.roughness_m).collect(),
            thickets: grounds.iter().map(|g| g.undergrowth.as_ref().map(Thicket::new)).collect(),
            roughness_key: site.roughness_key,
            boxes: site
                .patches
                .iter()
                .map(|patch| {
                    patch.outline_m.iter().fold([DVec2::INFINITY, DVec2::NEG_INFINITY], |b, p| {
                        [b[0].min(*p), b[1].max(*p)]
                    })
                })
                .collect(),
        }
    }

    /// The same ground with other bumps.
    #[must_use]
    pub fn with_roughness(&self, key: u64) -> Self {
        Self { roughness_key: key, ..self.clone() }
    }

    /// The undergrowth of a ground, if any.
    #[inline]
    #[must_use]
    pub fn thicket(&self, ground: usize) -> Option<&Thicket> {
        self.thickets.get(ground)?.as_ref()
    }

    /// The site it was made of.
    #[must_use]
    pub fn site(&self) -> &'a Site {
        self.site
    }

    /// Which ground lies at a place: 0, or 1 + the index of the last patch that holds it.
    #[inline]
    #[must_use]
    pub fn ground_at(&self, x_m: f64, y_m: f64) -> usize {
        let p = DVec2::new(x_m, y_m);
        self.boxes
            .iter()
            .zip(&self.site.patches)
            .enumerate()
            .rev()
            .find(|(_, (b, patch))| {
                p.cmpge(b[0]).all() && p.cmple(b[1]).all() && inside(&patch.outline_m, p)
            })
            .map_or(0, |(i, _)| i + 1)
    }

    /// The law of a ground by the index that [`Bed::ground_at`] gave.
    #[inline]
    #[must_use]
    pub fn law(&self, ground: usize) -> &Law {
        &self.laws[ground]
    }

    /// The tangent plane of the ground at a place, roughness included; `None` off the terrain.
    #[inline]
    #[must_use]
    pub fn plane(&self, ground: usize, x_m: f64, y_m: f64) -> Option<Plane> {
        let surface = self.site.terrain.surface(x_m, y_m)?;
        let (mut height, mut gradient) = (surface.height_m, surface.gradient);
        let roughness = self.roughness_m[ground];
        if roughness > 0.0 {
            let (h, g) = bumps(self.roughness_key, roughness, x_m, y_m);
            height += h;
            gradient += g;
        }
        let normal = DVec3::new(-gradient.x, -gradient.y, 1.0)
            * (1.0 / (1.0 + gradient.length_squared()).sqrt());
        Some(Plane { at_m: DVec3::new(x_m, y_m, height), normal })
    }
}

impl Bed<'_> {
    /// How deep a point lies in the ground, cut faces and roughness included, m; negative above
    /// it, `None` off the terrain.
    #[must_use]
    pub fn depth_m(&self, point_m: DVec3) -> Option<f64> {
        let roughness = self.roughness_m[self.ground_at(point_m.x, point_m.y)];
        let bump = if roughness > 0.0 {
            bumps(self.roughness_key, roughness, point_m.x, point_m.y).0
        } else {
            0.0
        };
        self.site.terrain.depth_m(point_m - DVec3::Z * bump)
    }
}

/// Whether a point lies inside a closed outline (even-odd rule).
#[must_use]
pub fn inside(outline: &[DVec2], p: DVec2) -> bool {
    let mut odd = false;
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            odd = !odd;
        }
    }
    odd
}
