//! The ground under a piece: height, slope and law at a place, roughness included.

use glam::{DVec2, DVec3};

use crate::{
    ground::Ground,
    site::Site,
    soil::{law::Law, rough::bumps, thicket::Thicket},
    terrain::{Surface, cut_face::Band},
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
                p.cmpge(b[0]).all()
                    && p.cmple(b[1]).all()
                    && inside(&patch.outline_m, p)
                    && patch.within_m.as_ref().is_none_or(|within| inside(within, p))
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

/// The ground about one place as a few planes: what a station of a piece sees next to a cut face.
#[derive(Clone, Copy, Debug)]
pub struct Locale {
    low: Plane,
    /// The high level and the face between, if the place is in the band of one.
    face: Option<(Plane, Band)>,
}

impl Locale {
    /// How deep a point near the place lies in the ground, m; negative above it.
    #[inline]
    #[must_use]
    pub fn depth_m(&self, point_m: DVec3) -> f64 {
        let low = self.low.depth_m(point_m);
        self.face_depth_m(point_m).map_or(low, |behind| low.max(behind))
    }

    /// How deep a point near the place lies in what stands behind the face, m; negative in front
    /// of it or above it, `None` where there is no face.
    #[inline]
    #[must_use]
    pub fn face_depth_m(&self, point_m: DVec3) -> Option<f64> {
        let (high, band) = self.face.as_ref()?;
        let off = (point_m - self.low.at_m).truncate();
        let here = Band { behind_m: band.behind_m + off.dot(band.into), ..*band };
        Some(high.depth_m(point_m).min(here.stretched_m()))
    }
}

impl Bed<'_> {
    /// The ground about a place, cut faces and roughness included; `None` off the terrain.
    #[must_use]
    pub fn locale(&self, ground: usize, x_m: f64, y_m: f64) -> Option<Locale> {
        let plain = self.plane(ground, x_m, y_m)?;
        let terrain = &self.site.terrain;
        let at = DVec2::new(x_m, y_m);
        if !terrain.faces.near_face(x_m, y_m, 0.0) {
            return Some(Locale { low: plain, face: None });
        }
        let Some(band) = terrain.faces.band(&terrain.grid, at) else {
            return Some(Locale { low: plain, face: None });
        };
        // `plain` stands on one of the two levels; the bumps and tilt on it lie on the other too.
        let level = if band.behind_m >= 0.0 { band.high } else { band.low };
        let lift = plain.at_m.z - level.height_m;
        let plane = |surface: &Surface| {
            let g = surface.gradient + terrain.tilt.gradient;
            let steep = 1.0 / (1.0 + g.length_squared()).sqrt();
            Plane {
                at_m: at.extend(surface.height_m + lift),
                normal: DVec3::new(-g.x, -g.y, 1.0) * steep,
            }
        };
        Some(Locale { low: plane(&band.low), face: Some((plane(&band.high), band)) })
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
