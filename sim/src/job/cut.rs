//! One cut ready to drop: the piece on its spar, its release, and the site around it.
//!
//! What differs from drop to drop (the inner draws) is one table here; the magnitudes are ours, for
//! want of a published figure, except where a range of [`crate::release`] is named:
//!
//! | what | hinge | snap | push over the rim | under and top cut |
//! |---|---|---|---|---|
//! | heading, sd (within 3 sd) | 4° | 8° | 10° | 4° |
//! | twist as it leaves, sd | 0.1 rad/s | 0.2 rad/s | 0.3 rad/s | 0.1 rad/s |
//! | push, ± | 20 % | 20 % | 20 % | |
//! | hinge moment | first yield to upper bound | | | |
//! | what the last wood holds of the weight | | | | its range |
//! | break and tear angle | their ranges | | | its range |
//! | friction on the cut | its range | its range | its range | its range |
//! | wind as it starts | mean to gust, evenly | as hinge | as hinge | as hinge |
//!
//! A hinge over a hollow is as wide as the sound wood at its ends, and in as many drops as its
//! width is gone it breaks early ([`EARLY_BREAK_RANGE_RAD`]) and steers no more than a rim does.

use glam::DVec3;

use crate::{
    drop::{bending::Beam, tether::LineLoad},
    keyed::Key,
    outcome::LineOutcome,
    release::{
        BREAK_ANGLE_RANGE_RAD, FRICTION_RANGE, HingeSpec, LAST_HOLD_RANGE, Method, Push, RimSpec,
        Scatter, Stand, TEAR_ANGLE_RANGE_RAD, UnderAndTopSpec,
    },
    scene::{
        model::{Cut, Cutter, LogSpec, PieceSpec, ReleaseSpec},
        places::heading,
    },
    site::{Answer, Body, Site},
    tree::{Hollow, LimbPart, Section, Stub},
    wood,
};

use super::{JobError, World, limbs, terrain::Footing, tied::TiedReady};

/// A drawn top keeps this length, m.
const SHORTEST_TOP_M: f64 = 0.05;
/// A drawn limb keeps this length, m.
const SHORTEST_LIMB_M: f64 = 0.05;
/// A hinge keeps some sound wood at its ends, however wide the hollow.
const MOST_GONE: f64 = 0.95;
/// Turn at which a hinge in decayed wood breaks when it lets go early, least and most, rad: brash
/// wood doesn't fold. No source is known; ours. That it does so in as many drops as its width is
/// gone is ours too.
const EARLY_BREAK_RANGE_RAD: [f64; 2] =
    [std::f64::consts::PI / 180.0, 15.0 * std::f64::consts::PI / 180.0];
/// Level way of a pushing hand, m (ours).
const HAND_TRAVEL_M: f64 = 0.6;
/// Wind under this is reckoned as this, so that gusts in a calm have something to be told by, m/s.
const CALM_M_S: f64 = 0.1;
/// Air density, kg/m³, and drag of a log broadside (White, Fluid Mechanics, from memory).
const AIR_DRAG: f64 = 0.5 * 1.2 * 0.8;

/// A cut ready to drop.
#[derive(Clone, Debug)]
pub struct CutReady {
    /// The cut's id.
    pub id: String,
    /// Its index in the scene.
    pub index: usize,
    /// Ids of the cuts before whose pieces are left where they stop, in order, where they aren't yet
    /// among the site's bodies: where they lie differs from drop to drop.
    pub left_before: Vec<String>,
    /// The cut by whose id the bumps of the ground are drawn.
    pub bumps: String,
    /// The piece as it sat on the stem.
    pub section: Section,
    /// How it is released, as told.
    pub method: Method,
    /// The site with spar, climber and line.
    pub site: Site,
    /// Height of the cut along the stem, m.
    pub from_height_m: f64,
    /// Share of the hinge's width that stands over hollow or decayed wood.
    pub decay_share: f64,
    /// What of this draw a user should know.
    pub warnings: Vec<String>,
    /// The logs to be had from it.
    pub log: Option<Log>,
    /// The lines that hold it in its drop.
    pub tied: Vec<TiedReady>,
    stand: Stand0,
}

/// A piece that a mill is to have.
#[derive(Clone, Debug, PartialEq)]
pub struct Log {
    /// What the mill takes.
    pub wanted: LogSpec,
    /// The piece as a beam.
    pub beam: Beam,
    /// Modulus of rupture of its wood, Pa.
    pub rupture_pa: f64,
    /// Diameter inside bark over that outside.
    pub inside_bark: f64,
}

/// A piece as it sat on the tree.
struct Sat {
    section: Section,
    cut_m: DVec3,
    attitude: glam::DQuat,
    cut_radius_m: f64,
    /// Height of the cut along the stem, m.
    from_height_m: f64,
    /// How high the stem beside it goes, m.
    spar_top_m: f64,
    /// Area of its wood broadside, m².
    stem_m2: f64,
}

/// What a [`Stand`] needs besides the section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stand0 {
    pub(super) cut_m: DVec3,
    pub(super) attitude: glam::DQuat,
    cut_radius_m: f64,
    wind_n: DVec3,
    /// A gust's speed over the mean wind's; 1 where there is no wind.
    gust_ratio: f64,
}

impl CutReady {
    /// The section as it stands on the spar.
    #[must_use]
    pub fn stand(&self) -> Stand<'_> {
        self.stand_with(0.5 * (FRICTION_RANGE[0] + FRICTION_RANGE[1]), 0.0)
    }

    /// As [`stand`](Self::stand), in the gust.
    #[must_use]
    pub fn stand_in_gust(&self) -> Stand<'_> {
        self.stand_with(0.5 * (FRICTION_RANGE[0] + FRICTION_RANGE[1]), 1.0)
    }

    /// Ids of what is held at this cut, in the order of the site's bodies.
    pub fn held_ids(&self) -> impl Iterator<Item = String> + '_ {
        let held = |body: &&Body| matches!(body.answer, Answer::Held { .. });
        self.site.bodies.iter().filter(held).map(|body| body.id.clone())
    }

    /// Ids of what lies loose at this cut: logs that aren't held, in the order of the site's bodies,
    /// then the cuts before whose pieces are left where they stop.
    pub fn loose_ids(&self) -> impl Iterator<Item = String> + '_ {
        let free = |body: &&Body| matches!(body.answer, Answer::Free { .. });
        let logs = self.site.bodies.iter().filter(free).map(|body| body.id.clone());
        logs.chain(self.left_before.iter().cloned())
    }

    /// Whether the same draws let go of the same piece in the same way from both.
    #[must_use]
    pub fn leaves_like(&self, other: &Self) -> bool {
        self.section == other.section
            && self.method == other.method
            && self.stand == other.stand
            && self.decay_share == other.decay_share
            && self.bumps == other.bumps
            && self.log == other.log
            && self.tied == other.tied
    }

    /// What a drop's loads are beside what its lines may bear.
    #[must_use]
    pub fn on_lines(&self, loads: &[LineLoad]) -> Vec<LineOutcome> {
        let of = |(line, load): (&TiedReady, &LineLoad)| LineOutcome {
            id: line.id.clone(),
            load: *load,
            working_share: load.peak_n / line.working_n.max(1e-9),
            spar_share: line.spar_share(load),
        };
        self.tied.iter().zip(loads).map(of).collect()
    }

    /// The section in a wind between the mean (`gust` 0) and the gust (1).
    fn stand_with(&self, friction: f64, gust: f64) -> Stand<'_> {
        let Stand0 { cut_m, attitude, cut_radius_m, wind_n, gust_ratio } = self.stand;
        let faster = 1.0 + (gust_ratio - 1.0) * gust;
        let wind_n = wind_n * (faster * faster);
        Stand { section: &self.section, cut_m, attitude, cut_radius_m, friction, wind_n }
    }

    /// The inner draws of one drop: how it stands, how it is let go and how that scatters.
    #[must_use]
    pub fn scatter(&self, inner: Key) -> (Stand<'_>, Method, Scatter) {
        let within =
            |word: &str, [low, high]: [f64; 2]| low + (high - low) * inner.word(word).uniform();
        let normal = |word: &str, sd: f64| sd * inner.word(word).normal().clamp(-3.0, 3.0);
        let pushed =
            |push: Push| Push { force_n: push.force_n * within("push", [0.8, 1.2]), ..push };
        let (heading_deg, yaw, method) = match self.method {
            Method::Hinge(spec) | Method::BoredHinge(spec) => {
                let spec = HingeSpec {
                    moment_factor: within("moment_factor", [-1.0, 1.0]),
                    break_angle_rad: within("break_angle", BREAK_ANGLE_RANGE_RAD),
                    tear_angle_rad: within("tear_angle", TEAR_ANGLE_RANGE_RAD),
                    push: pushed(spec.push),
                    ..spec
                };
                let bored = matches!(self.method, Method::BoredHinge(_));
                let early =
                    self.decay_share > 0.0 && inner.word("decay").uniform() < self.decay_share;
                let spec = if early {
                    HingeSpec {
                        break_angle_rad: within("early_break", EARLY_BREAK_RANGE_RAD),
                        ..spec
                    }
                } else {
                    spec
                };
                // What has let go early doesn't steer: as pushed over the rim.
                (
                    if early { 10.0 } else { 4.0 },
                    0.1,
                    if bored { Method::BoredHinge(spec) } else { Method::Hinge(spec) },
                )
            }
            Method::SnapCut(spec) => {
                (8.0, 0.2, Method::SnapCut(RimSpec { push: pushed(spec.push), ..spec }))
            }
            Method::FlatCut(spec) => {
                (10.0, 0.3, Method::FlatCut(RimSpec { push: pushed(spec.push), ..spec }))
            }
            Method::UnderAndTop(spec) => {
                let hold_share = within("last_hold", LAST_HOLD_RANGE);
                let split_share = within("split", [0.0, 1.0]);
                let spec = UnderAndTopSpec { hold_share, split_share, ..spec };
                (4.0, 0.1, Method::UnderAndTop(spec))
            }
        };
        let scatter = Scatter {
            heading_rad: normal("heading", f64::to_radians(heading_deg)),
            yaw_rad_s: normal("yaw", yaw),
            side_follow: within("side_follow", [0.0, 0.5]),
        };
        let stand = self.stand_with(within("friction", FRICTION_RANGE), within("gust", [0.0, 1.0]));
        (stand, method, scatter)
    }
}

impl World {
    /// The cut at an index of the scene.
    ///
    /// # Errors
    ///
    /// No such cut, a section that isn't on the stem, a place off the terrain.
    pub fn cut(&self, index: usize) -> Result<CutReady, JobError> {
        let mut ready = self.cut_without_lines(index)?;
        if let Some(pulled) = self.pulled_by_lines(&ready)? {
            ready.method = pulled;
        }
        Ok(ready)
    }

    /// As [`cut`](Self::cut), its pull lines left slack.
    ///
    /// # Errors
    ///
    /// As [`cut`](Self::cut).
    pub fn cut_without_lines(&self, index: usize) -> Result<CutReady, JobError> {
        let cut = self.scene.cuts.get(index).ok_or_else(|| {
            JobError::Other(format!(
                "no cut number {}: the scene has {}",
                index + 1,
                self.scene.cuts.len()
            ))
        })?;
        let sat = match &cut.piece {
            PieceSpec::Section { from_m, to_m } => {
                // A drawn stem may be shorter than the told one: the section keeps its length and
                // moves down with the top.
                let over = (to_m.told - self.stem.top_m()).max(0.0);
                self.off_the_stem(
                    index,
                    cut,
                    [(from_m.told - over).max(0.0), to_m.told - over],
                    over,
                )?
            }
            PieceSpec::Top { from_m } => {
                let top = self.scene.standing(index).top_m.min(self.stem.top_m());
                let from = from_m.told.min(top - SHORTEST_TOP_M).max(0.0);
                self.off_the_stem(index, cut, [from, top], 0.0)?
            }
            PieceSpec::Limb { limb, at_m } => self.off_a_limb(index, *limb, at_m.told)?,
        };
        let from = sat.from_height_m;
        let air_m2 =
            sat.stem_m2 + sat.section.piece.brush.drag_area_m2() * self.brush_share_in_wind();
        let stand = Stand0 {
            cut_m: sat.cut_m,
            attitude: sat.attitude,
            cut_radius_m: sat.cut_radius_m,
            wind_n: self.wind_n(air_m2),
            gust_ratio: self.gust_ratio(),
        };
        let method = self.method(cut, sat.cut_radius_m)?;
        let (method, decay_share) = match cut.piece.stem_cut_m() {
            Some(_) => self.over_hollow(method, from, sat.cut_radius_m),
            None => (method, 0.0),
        };
        let toward = cut.release.toward_rad().told;
        let footing = Footing::new(&self.site.terrain, self.drawn);
        let mut site = self.site.clone();
        site.bodies.extend(self.spar(sat.spar_top_m, index));
        match cut.cutter {
            Cutter::OnTheSpar => {
                site.bodies.extend(self.climber(&footing, from, toward)?);
                site.bodies.extend(self.climber_line(&footing, from)?);
            }
            Cutter::OnTheGround => site.bodies.push(self.feller(&footing, toward)?),
        }
        site.bodies.extend(self.lying(&footing, index)?);
        let log =
            cut.log.as_ref().map(|wanted| self.log(wanted, &sat.section, from)).transpose()?;
        let tied =
            self.tied(cut, &sat.section.piece, (&stand, &sat.section), sat.spar_top_m, &footing)?;
        let warnings = self.beyond.iter().cloned().chain(footing.warnings()).collect();
        Ok(CutReady {
            id: cut.id.clone(),
            warnings,
            index,
            left_before: {
                let before = self.scene.left_before(index).filter_map(|i| self.scene.cuts.get(i));
                before.map(|cut| cut.id.clone()).collect()
            },
            bumps: self.scene.bumps_of(index).to_owned(),
            section: sat.section,
            method,
            site,
            from_height_m: from,
            log,
            tied,
            decay_share,
            stand,
        })
    }

    fn log(&self, wanted: &LogSpec, section: &Section, from_m: f64) -> Result<Log, JobError> {
        let species =
            wood::species(&self.scene.tree.species).map_err(|e| JobError::Other(e.to_string()))?;
        let hollow_m = |from_butt_m: f64| 2.0 * self.stem.core_radius_m(from_m + from_butt_m);
        Ok(Log {
            wanted: wanted.clone(),
            beam: Beam::new(section, hollow_m),
            rupture_pa: species.rupture_pa,
            // Bark and wood are as long as each other: areas go as volumes.
            inside_bark: (1.0 / (1.0 + species.bark_share)).sqrt(),
        })
    }

    /// A section or a top, with the limbs that stand on it; a drawn stem may be `over` shorter than
    /// the told one.
    fn off_the_stem(
        &self,
        index: usize,
        cut: &Cut,
        [from, to]: [f64; 2],
        over: f64,
    ) -> Result<Sat, JobError> {
        let stubs: Vec<Stub> = cut
            .stubs
            .iter()
            .map(|s| Stub {
                height_m: (s.height_m.told - over).clamp(from, to),
                azimuth_rad: s.azimuth_rad.told + self.frame.turn_rad,
                rise_rad: 0.0,
                length_m: s.length_m.told,
                diameter_m: s.diameter_m.told,
            })
            .collect();
        let on_piece = self.limbs_at.get(index).map_or(&[][..], |at| &at.on_piece);
        let limbs = limbs::parts(&self.scene, &self.limbs, on_piece, [from, to]);
        let section = self.stem.limbed_section(from, to, &stubs, &limbs)?;
        let stem_m2 = section.piece.length_m() * self.stem.diameter_m(0.5 * (from + to));
        let stand = Stand::on(&self.stem, &section, from, DVec3::ZERO);
        let (cut_m, attitude, cut_radius_m) = (stand.cut_m, stand.attitude, stand.cut_radius_m);
        Ok(Sat {
            section,
            cut_m,
            attitude,
            cut_radius_m,
            from_height_m: from,
            spar_top_m: from,
            stem_m2,
        })
    }

    /// A limb, cut so far from the bark.
    fn off_a_limb(&self, index: usize, limb: usize, at_m: f64) -> Result<Sat, JobError> {
        let missing = || JobError::Other(format!("cut number {} has no limb", index + 1));
        let whole = self.limbs.get(limb).ok_or_else(missing)?;
        let standing = self.scene.standing(index);
        let left = standing.limbs.get(limb).copied().ok_or_else(missing)?;
        let to_m = limbs::left_m(&self.scene, whole, left);
        // Both cuts of one limb are in doubt: what is drawn keeps some length between them.
        let at_m = at_m.min(to_m - SHORTEST_LIMB_M).max(0.0);
        let cut = self.stem.limb(&LimbPart { limb: *whole, to_m }, at_m)?;
        let lean = self.stem.lean.attitude();
        let stem_m2 = cut.section.piece.length_m() * whole.diameter_at_m(0.5 * (at_m + to_m));
        Ok(Sat {
            cut_m: lean * cut.cut_m,
            attitude: lean * cut.attitude,
            cut_radius_m: cut.cut_radius_m,
            from_height_m: whole.height_m,
            spar_top_m: standing.top_m.min(self.stem.top_m()) + limbs::KERF_M,
            stem_m2,
            section: cut.section,
        })
    }

    /// A hinge at a height of the stem, without the part of its width that stands over a hollow, and
    /// the share of it that does. A hollow counts that begins below the cut and goes on above it.
    fn over_hollow(&self, how: Method, height_m: f64, radius_m: f64) -> (Method, f64) {
        let (Method::Hinge(spec) | Method::BoredHinge(spec)) = how else { return (how, 0.0) };
        let here = |h: &&Hollow| h.from_m <= height_m && height_m < h.to_m;
        let shells = self.stem.hollows.iter().filter(here).map(|h| h.sound_shell_m);
        let Some(shell_m) = shells.min_by(f64::total_cmp) else { return (how, 0.0) };
        let core_m = (radius_m - shell_m).max(0.0);
        // Where the middle of the hinge is, from the pith.
        let off_m = radius_m - spec.face_depth_m - 0.5 * spec.hinge_thickness_m;
        let gone_m = 2.0 * (core_m * core_m - off_m * off_m).max(0.0).sqrt();
        let share = (gone_m / spec.hinge_width_m.max(1e-6)).min(MOST_GONE);
        if share <= 0.0 {
            return (how, 0.0);
        }
        let sound = HingeSpec { hinge_width_m: spec.hinge_width_m * (1.0 - share), ..spec };
        let bored = matches!(how, Method::BoredHinge(_));
        (if bored { Method::BoredHinge(sound) } else { Method::Hinge(sound) }, share)
    }

    /// How much of its area brush shows the mean wind.
    fn brush_share_in_wind(&self) -> f64 {
        let speed = self.scene.site.wind.map_or(0.0, |w| w.speed_m_s.told.max(CALM_M_S));
        (self.stem.brush_yields_at_m_s / speed.max(CALM_M_S)).min(1.0)
    }

    /// A gust's speed over the mean wind's.
    fn gust_ratio(&self) -> f64 {
        let wind = self.scene.site.wind;
        wind.map_or(1.0, |w| (w.gust_m_s.told / w.speed_m_s.told.max(CALM_M_S)).max(1.0))
    }

    fn wind_n(&self, area_m2: f64) -> DVec3 {
        let Some(wind) = &self.scene.site.wind else { return DVec3::ZERO };
        let toward = -heading(wind.from_rad.told, &self.frame);
        (toward * (AIR_DRAG * area_m2 * wind.speed_m_s.told.max(CALM_M_S).powi(2))).extend(0.0)
    }

    fn method(&self, cut: &Cut, radius_m: f64) -> Result<Method, JobError> {
        let species =
            wood::species(&self.scene.tree.species).map_err(|e| JobError::Other(e.to_string()))?;
        let push = |p: &crate::scene::model::Push| Push {
            force_n: p.force_n.told,
            height_m: p.height_m.told,
            travel_m: HAND_TRAVEL_M,
        };
        let hinge = |face: &crate::scene::model::Face, by: Option<&crate::scene::model::Push>| {
            let usual = HingeSpec::usual(0.0, radius_m, species);
            let depth = face.depth_share.told * 2.0 * radius_m;
            // The chord of the stem where the face ends.
            let off = radius_m - depth;
            let chord = 2.0 * (radius_m * radius_m - off * off).max(0.0).sqrt();
            HingeSpec {
                face_azimuth_rad: face.toward_rad.told + self.frame.turn_rad,
                face_opening_rad: face.opening_rad.told,
                face_depth_m: depth,
                hinge_thickness_m: face.hinge_m.told,
                hinge_width_m: face.width_share.told * chord,
                push: by.map_or_else(Push::default, push),
                ..usual
            }
        };
        let rim = |toward: f64, by: &crate::scene::model::Push| RimSpec {
            azimuth_rad: toward + self.frame.turn_rad,
            holding_moment_n_m: 0.0,
            push: push(by),
        };
        Ok(match &cut.release {
            ReleaseSpec::Hinge { face, push } => Method::Hinge(hinge(face, push.as_ref())),
            ReleaseSpec::BoredHinge { face, push, .. } => {
                Method::BoredHinge(hinge(face, push.as_ref()))
            }
            ReleaseSpec::Snap { toward_rad, push } => Method::SnapCut(rim(toward_rad.told, push)),
            ReleaseSpec::PushOver { toward_rad, push } => {
                Method::FlatCut(rim(toward_rad.told, push))
            }
            ReleaseSpec::UnderAndTop { under_share, step_m, .. } => {
                let PieceSpec::Limb { limb, .. } = cut.piece else {
                    return Err(JobError::Other("an under-and-top cut is for limbs".to_owned()));
                };
                let azimuth = self.scene.tree.limbs.get(limb).map_or(0.0, |l| l.azimuth_rad.told);
                Method::UnderAndTop(UnderAndTopSpec::usual(
                    azimuth + self.frame.turn_rad,
                    under_share.told * 2.0 * radius_m,
                    step_m.told,
                    species,
                ))
            }
        })
    }
}
