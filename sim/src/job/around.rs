//! What stands and lies about a cut: the rest of the spar, who works there, pieces noted to lie.

use glam::{DVec2, DVec3};

use crate::{
    scene::{
        model::{After, ClimberLineSpec, ClimberSpec, FellerSpec, PieceSpec, Place},
        places::{heading, place_m},
    },
    site::{Answer, Body, BodyKind, Shape},
};

use super::{
    JobError, World,
    bodies::{off_the_ground, person},
    limbs::{self, KERF_M},
    terrain::Footing,
};

/// The climber's feet are this far below the cut, m.
const FEET_BELOW_M: f64 = 1.5;
/// The climber's line goes round the spar this far below the cut, m.
const LINE_BELOW_M: f64 = 0.5;
/// Radius of the climber's line, m.
const LINE_RADIUS_M: f64 = 0.006;
/// How far the feller retreats, m (29 CFR guidance, 20 ft; values of the OSHA Logging eTool).
const RETREAT_M: f64 = 6.0;

impl World {
    /// A point of the stem's axis, m.
    pub(super) fn on_stem(&self, height_m: f64) -> DVec3 {
        self.stem.lean.attitude() * (DVec3::Z * height_m)
    }

    /// What is left of the tree under a cut, as tapering solids.
    pub(super) fn spar(&self, cut_m: f64, index: usize) -> Option<Body> {
        let top = cut_m - KERF_M;
        if top < 0.05 {
            return None;
        }
        let parts = (top / 3.0).ceil().max(1.0) as usize;
        let mut shapes: Vec<Shape> = (0..parts)
            .map(|i| {
                let (a, b) = (i as f64 / parts as f64, (i + 1) as f64 / parts as f64);
                let ring = |h: f64, below: f64| {
                    let (centre, radius) = (self.on_stem(h), 0.5 * self.stem.diameter_m(h));
                    (0..12).map(move |k| {
                        let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / 12.0);
                        centre + DVec3::new(c * radius, s * radius, -below)
                    })
                };
                let foot = if i == 0 { 0.5 } else { 0.0 };
                Shape::Hull { points_m: ring(top * a, foot).chain(ring(top * b, 0.0)).collect() }
            })
            .collect();
        let on_spar = self.limbs_at.get(index).map_or(&[][..], |at| &at.on_spar);
        shapes.extend(limbs::on_spar(&self.scene, &self.stem, &self.limbs, on_spar));
        Some(Body {
            id: "spar".into(),
            kind: BodyKind::Spar,
            is_target: false,
            answer: Answer::Fixed,
            shapes,
        })
    }

    fn place(&self, on: &Footing<'_>, what: &str, place: &Place) -> Result<DVec3, JobError> {
        on.on(what, place_m(&self.scene.site, place, &self.frame))
    }

    pub(super) fn climber(
        &self,
        on: &Footing<'_>,
        cut_m: f64,
        toward_rad: f64,
    ) -> Result<Option<Body>, JobError> {
        let shape = match &self.scene.climber {
            ClimberSpec::Away => return Ok(None),
            ClimberSpec::At { at, feet_m } => {
                person(self.place(on, "climber", at)? + DVec3::Z * feet_m.told)
            }
            ClimberSpec::OnSpar => {
                let feet = (cut_m - FEET_BELOW_M).max(0.0);
                // Beside the stem at its stoutest along the climber, opposite the face.
                let away = 0.5 * self.stem.diameter_m(feet) + 0.5 * super::bodies::PERSON_M[0];
                let back = -heading(toward_rad, &self.frame) * away;
                person(self.on_stem(feet) + back.extend(0.0))
            }
        };
        Ok(Some(noted("climber", BodyKind::Climber, vec![shape])))
    }

    pub(super) fn climber_line(
        &self,
        on: &Footing<'_>,
        cut_m: f64,
    ) -> Result<Option<Body>, JobError> {
        let height = (cut_m - LINE_BELOW_M).max(0.1);
        let (centre, radius) = (self.on_stem(height), 0.5 * self.stem.diameter_m(height));
        let ring = |k: i32| {
            let (s, c) = libm::sincos(std::f64::consts::TAU * f64::from(k) / 12.0);
            centre + DVec3::new(c, s, 0.0) * (radius + LINE_RADIUS_M)
        };
        let capsule =
            |from_m: DVec3, to_m: DVec3| Shape::Capsule { from_m, to_m, radius_m: LINE_RADIUS_M };
        let mut shapes: Vec<Shape> = (0..12).map(|k| capsule(ring(k), ring(k + 1))).collect();
        let end = match &self.scene.climber_line {
            ClimberLineSpec::Away => return Ok(None),
            ClimberLineSpec::DownTheSpar => {
                let foot = 0.5 * self.stem.diameter_m(0.0) + LINE_RADIUS_M;
                on.on("climber_line", DVec2::new(0.0, foot))?
            }
            ClimberLineSpec::To(place) => self.place(on, "climber_line", place)?,
        };
        shapes.push(capsule(ring(3), end));
        Ok(Some(noted("climber_line", BodyKind::ClimberLine, shapes)))
    }

    /// The feller where the retreat ends: 45° to the side and back, on the uphill side.
    pub(super) fn feller(&self, on: &Footing<'_>, toward_rad: f64) -> Result<Body, JobError> {
        let at = match &self.scene.feller {
            FellerSpec::At(place) => self.place(on, "feller", place)?,
            FellerSpec::AtStump => {
                let quarter = 0.75 * std::f64::consts::PI;
                let either = [toward_rad - quarter, toward_rad + quarter]
                    .map(|azimuth| heading(azimuth, &self.frame) * RETREAT_M);
                let heights = [on.on("feller", either[0])?, on.on("feller", either[1])?];
                if heights[0].z >= heights[1].z { heights[0] } else { heights[1] }
            }
        };
        Ok(noted("feller", BodyKind::Feller, vec![person(at)]))
    }

    /// Pieces of earlier cuts that lie where the scene notes them.
    pub(super) fn lying(&self, on: &Footing<'_>, index: usize) -> Result<Vec<Body>, JobError> {
        let mut bodies = Vec::new();
        for (k, cut) in self.scene.cuts.iter().enumerate().take(index) {
            let After::LeftAt { at, axis_rad } = &cut.after else { continue };
            let (length, radius_m) = match (&cut.piece, self.scene.stem_taken_m(k)) {
                (_, Some([from, to])) => (to - from, 0.5 * self.stem.diameter_m(0.5 * (to + from))),
                (PieceSpec::Limb { limb, at_m }, None) => {
                    let Some(limb) = self.limbs.get(*limb) else { continue };
                    let middle_m = 0.5 * (at_m.told + limb.length_m);
                    (limb.length_m - at_m.told, 0.5 * limb.diameter_at_m(middle_m))
                }
                _ => continue,
            };
            let centre = place_m(&self.scene.site, at, &self.frame);
            let half = heading(axis_rad.told, &self.frame) * (0.5 * length - radius_m).max(0.01);
            let what = format!("cuts.{}.after", cut.id);
            let ends = [on.on(&what, centre - half)?, on.on(&what, centre + half)?];
            let up = off_the_ground(&self.site.terrain, ends, radius_m, 0.0);
            bodies.push(Body {
                id: format!("{} lying", cut.id),
                kind: BodyKind::BarrierLog,
                is_target: false,
                answer: Answer::Fixed,
                shapes: vec![Shape::Capsule { from_m: ends[0] + up, to_m: ends[1] + up, radius_m }],
            });
        }
        Ok(bodies)
    }
}

fn noted(id: &str, kind: BodyKind, shapes: Vec<Shape>) -> Body {
    Body { id: id.to_owned(), kind, is_target: true, answer: Answer::Noted, shapes }
}
