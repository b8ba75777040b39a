//! A cut that turns on a hinge, in one truth.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    job::{CutReady, JobError, World},
    release::{BREAK_ANGLE_RANGE_RAD, HingeSpec, Method, Scatter, Stand, plane::Plane},
    scene::model::{Face, ReleaseSpec},
    tree::stem::BREAST_HEIGHT_M,
    wood::Species,
};

use super::{
    draw::Draw,
    hinge::{self, HingeWood, core_chord_m},
    result::{Measure, Sized},
    rules,
    statics::Above,
};

/// A cut released over a hinge: what the numbers are about.
pub(super) struct Hinged<'a> {
    pub(super) world: &'a World,
    pub(super) ready: CutReady,
    pub(super) face: Face,
    pub(super) spec: HingeSpec,
    pub(super) wood: HingeWood,
    pub(super) species: &'a Species,
    /// Thickness of the strap at the back of a bored hinge, m.
    pub(super) strap_m: Option<f64>,
    /// The wood's strength over that of its species.
    pub(super) strength: f64,
}

impl<'a> Hinged<'a> {
    /// A cut of a world with its hinge as drawn; `None` where it is released over no hinge.
    pub(super) fn of(
        world: &'a World,
        species: &'a Species,
        index: usize,
        draw: Draw,
    ) -> Result<Option<Self>, JobError> {
        let ready = world.cut_without_lines(index)?;
        let release = world.scene.cuts.get(index).map(|cut| cut.release);
        let (Some(ReleaseSpec::Hinge { face, .. } | ReleaseSpec::BoredHinge { face, .. }), method) =
            (release, ready.method)
        else {
            return Ok(None);
        };
        let (Method::Hinge(spec) | Method::BoredHinge(spec)) = method else { return Ok(None) };
        let strap_m = match release {
            Some(ReleaseSpec::BoredHinge { strap_m, .. }) => Some(strap_m.told),
            _ => None,
        };
        let strength = draw.strength();
        let told_rad = spec.break_angle_rad;
        let [early_rad, late_rad] = BREAK_ANGLE_RANGE_RAD;
        let spec = HingeSpec {
            rupture_pa: strength * spec.rupture_pa,
            compression_along_pa: strength * spec.compression_along_pa,
            moment_factor: draw.within("moment_factor", [-1.0, 0.0, 1.0]),
            break_angle_rad: draw.within("break_angle", [early_rad, told_rad, late_rad]),
            ..spec
        };
        let radius_m = ready.stand().cut_radius_m;
        let off_m = radius_m - spec.face_depth_m;
        let chord_m = core_chord_m(radius_m, off_m);
        let core_m = core_chord_m(
            world.stem.core_radius_m(ready.from_height_m),
            off_m - 0.5 * spec.hinge_thickness_m,
        );
        let wood = HingeWood {
            width_m: face.width_share.told * chord_m,
            core_m,
            thickness_m: spec.hinge_thickness_m,
        };
        Ok(Some(Self { world, ready, face, spec, wood, species, strap_m, strength }))
    }

    /// How it is released, its lines left slack.
    pub(super) fn method(&self) -> Method {
        match self.ready.method {
            Method::BoredHinge(_) => Method::BoredHinge(self.spec),
            _ => Method::Hinge(self.spec),
        }
    }

    /// The stem above the hinge in a wind.
    pub(super) fn above(&self, stand: &Stand<'_>) -> Above {
        let plane = Plane::new(stand, &self.method(), &Scatter::default());
        let pivot = plane.task.pivot_m;
        Above {
            weight_n: stand.section.piece.mass_kg * GRAVITY_M_S2,
            centre_m: stand.cut_m + stand.attitude * stand.section.centre_m,
            pivot_m: stand.cut_m + plane.forward * pivot.x + DVec3::Z * pivot.y,
            axis: plane.axis,
            wind_n: stand.wind_n,
            hinge_n_m: self.spec.moment_n_m(),
            until_rad: self.spec.break_angle_rad,
        }
    }

    /// From the hinge to the bark behind, m.
    pub(super) fn lever_m(&self) -> f64 {
        2.0 * self.radius_m() - self.spec.face_depth_m - 0.5 * self.spec.hinge_thickness_m
    }

    /// Of the stem at the cut, m.
    pub(super) fn radius_m(&self) -> f64 {
        self.ready.stand().cut_radius_m
    }

    /// The diameter that practice sizes a hinge by, m.
    fn sized_by_m(&self) -> f64 {
        if self.ready.from_height_m < BREAST_HEIGHT_M {
            self.world.scene.tree.dbh_m.told
        } else {
            2.0 * self.radius_m()
        }
    }

    /// Face and hinge beside practice.
    pub(super) fn sizes(&self) -> Vec<Sized> {
        let (across_m, by_m) = (2.0 * self.radius_m(), self.sized_by_m());
        let size =
            |key, label, measure, own: f64, [low, high]: [f64; 2], rule, words: [&str; 2]| {
                let outside = match own {
                    own if own < low * (1.0 - 1e-9) => vec![words[0].to_owned()],
                    own if own > high * (1.0 + 1e-9) => vec![words[1].to_owned()],
                    _ => Vec::new(),
                };
                Sized {
                    key,
                    label,
                    measure,
                    own,
                    practice_low: low,
                    practice_high: high,
                    rule,
                    outside,
                }
            };
        let of = |m: f64, [low, high]: [f64; 2]| [m * low, m * high];
        vec![
            size(
                "face_depth",
                "face depth",
                Measure::Thickness,
                self.spec.face_depth_m,
                of(across_m, hinge::USUAL_FACE_DEPTH),
                rules::FACE_DEPTH,
                [
                    "shallower than practice: less of the stem helps it over",
                    "deeper than practice: less wood is left to hold",
                ],
            ),
            size(
                "face_opening",
                "face opening",
                Measure::Angle,
                self.face.opening_rad.told,
                hinge::FACE_OPENING_RAD,
                rules::FACE_OPENING,
                [
                    "a narrow face closes on the way down and breaks the hinge there",
                    "wider than practice",
                ],
            ),
            size(
                "hinge_length",
                "hinge length",
                Measure::Thickness,
                self.wood.width_m,
                of(by_m, hinge::HINGE_WIDTH),
                rules::HINGE_LENGTH,
                [
                    "shorter than practice: less holds against a side lean",
                    "longer than the diameter",
                ],
            ),
            size(
                "hinge_thickness",
                "hinge thickness",
                Measure::Thickness,
                self.wood.thickness_m,
                of(by_m, hinge::USUAL_HINGE_THICKNESS),
                rules::HINGE_THICKNESS,
                [
                    "thinner than practice: it may break before it has steered",
                    "thicker than practice: it takes far more pull, pulls fibre, and can split the \
                     stem up the grain instead of folding",
                ],
            ),
        ]
    }
}
