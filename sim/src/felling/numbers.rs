//! All numbers of one cut in one truth.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    job::{CutReady, JobError, LineReady, World},
    line::{self, WORST_BLOCK_FRICTION},
    release::{
        BREAK_ANGLE_RANGE_RAD, HingeSpec, Method, Release, Scatter, Stand, plane::Plane,
        strap_moment_n_m, trace,
    },
    scene::model::{Anchor, Face, Over, PullLine, ReleaseSpec},
    tree::stem::BREAST_HEIGHT_M,
    wood::Species,
};

use super::{
    decay,
    draw::Draw,
    hinge::{self, HingeWood, core_chord_m},
    result::{Group, Measure, Sized},
    rules::{self, Rule},
    statics::{Above, Rope},
    traction, wedge,
};

/// Least shell over radius of a tree with its crown on (Mattheck & Breloer, read second hand).
const SHELL_RATIO: f64 = 0.30;
/// Back lean that is too much for wedges alone, as a share of the height (common practice: 5 to
/// 10 %).
const WEDGE_LEAN: f64 = 0.05;
/// Least distance of what pulls from the stump, in heights of what falls (ANSI Z133 as quoted).
const PULLER_HEIGHTS: f64 = 1.5;
/// Height of a pull line where the scene has none, as a share of the piece (common practice).
const ATTACH_SHARE: f64 = 2.0 / 3.0;
/// A rope that pulls further off the face than this is said to, rad (ours).
const OFF_FACE_RAD: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// Least angle of a sling's leg from square to the pull, rad (ASME B30.9, read).
const SLING_LEAST_RAD: f64 = 30.0 * std::f64::consts::PI / 180.0;
/// Heights between which a stem's bending is worked out, m.
const LOOK_M: f64 = 0.25;

/// A limit past which a number is said to be outside.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Limit {
    pub(super) least: f64,
    pub(super) most: f64,
    pub(super) words: String,
}

/// One number in one truth.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    pub(super) key: String,
    pub(super) group: Group,
    pub(super) label: String,
    pub(super) measure: Measure,
    pub(super) value: f64,
    pub(super) rule: Rule,
    pub(super) limit: Option<Limit>,
    pub(super) outside: Vec<String>,
}

/// A rope that holds the stem, with its name if the scene has it.
#[derive(Clone, Debug)]
pub(super) struct Pulled {
    pub(super) line: Option<String>,
    pub(super) rope: Rope,
    pub(super) working_load_n: Option<f64>,
    pub(super) told_pull_n: Option<f64>,
    pub(super) vehicle_n: Option<f64>,
}

/// One cut in one truth.
#[derive(Debug)]
pub(super) struct Numbers {
    pub(super) figures: Vec<Found>,
    pub(super) still: Above,
    pub(super) gust_n: DVec3,
    pub(super) pulled: Vec<Pulled>,
    /// Moment missing without a line, if it sits back, N m.
    pub(super) missing_n_m: Option<f64>,
    pub(super) warnings: Vec<String>,
}

/// A cut released over a hinge: what the numbers are about.
pub(super) struct Hinged<'a> {
    pub(super) world: &'a World,
    pub(super) ready: CutReady,
    pub(super) face: Face,
    pub(super) spec: HingeSpec,
    pub(super) wood: HingeWood,
    pub(super) species: &'a Species,
    /// Thickness of the strap at the back of a bored hinge, m.
    strap_m: Option<f64>,
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

    fn method(&self) -> Method {
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
    fn lever_m(&self) -> f64 {
        2.0 * self.radius_m() - self.spec.face_depth_m - 0.5 * self.spec.hinge_thickness_m
    }

    fn radius_m(&self) -> f64 {
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
                of(across_m, hinge::FACE_DEPTH),
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
                of(by_m, hinge::HINGE_THICKNESS),
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

/// Gathers numbers.
struct Page {
    figures: Vec<Found>,
    group: Group,
}

impl Page {
    fn put(
        &mut self,
        key: impl Into<String>,
        label: impl Into<String>,
        measure: Measure,
        value: f64,
        rule: Rule,
    ) -> &mut Found {
        self.figures.push(Found {
            key: key.into(),
            group: self.group,
            label: label.into(),
            measure,
            value,
            rule,
            limit: None,
            outside: Vec::new(),
        });
        // Just pushed.
        let last = self.figures.len() - 1;
        &mut self.figures[last]
    }
}

impl Found {
    fn most(&mut self, most: f64, words: impl Into<String>) {
        self.limit = Some(Limit { least: f64::NEG_INFINITY, most, words: words.into() });
    }

    fn least(&mut self, least: f64, words: impl Into<String>) {
        self.limit = Some(Limit { least, most: f64::INFINITY, words: words.into() });
    }
}

/// A load over what bears it: none over nothing is none.
fn over(load: f64, bears: f64) -> f64 {
    if load > 0.0 { load / bears } else { 0.0 }
}

/// All numbers of a cut in one truth.
pub(super) fn numbers(cut: &Hinged<'_>, draw: Draw) -> Result<Numbers, JobError> {
    let (mean_stand, gust_stand) = (cut.ready.stand(), cut.ready.stand_in_gust());
    let mean = cut.above(&mean_stand);
    let (still, gust) = (mean.in_wind(DVec3::ZERO), mean.in_wind(gust_stand.wind_n));
    let has_wind = gust.wind_n != DVec3::ZERO;
    let mut page = Page { figures: Vec::new(), group: Group::Stem };
    let mut warnings = Vec::new();
    stem_figures(&mut page, cut, &mean, &gust);

    let mut pulled = Vec::new();
    let id = cut.ready.id.clone();
    let lines: Vec<&PullLine> = cut.world.lines_of(&id).map(|(_, line)| line).collect();
    let mut readies = Vec::new();
    for line in &lines {
        readies.push(cut.world.line(&cut.ready, line)?);
    }
    let first = readies.first().map_or_else(|| level_rope(cut, &still), rope_of);
    hinge_figures(&mut page, cut, &mean_stand, &gust, &first);
    strength_figures(&mut page, cut, &first, gust.pull_n(&first, 0.0).unwrap_or(0.0));

    page.group = Group::Pull;
    if lines.is_empty() {
        let what = "level line two thirds up";
        pull_figures(&mut page, "level", what, &still, &mean, &gust, has_wind, &first);
        pulled.push(Pulled {
            line: None,
            rope: first,
            working_load_n: None,
            told_pull_n: None,
            vehicle_n: None,
        });
    }
    for (line, ready) in lines.iter().zip(&readies) {
        let rope = rope_of(ready);
        page.group = Group::Pull;
        pull_figures(&mut page, &line.id, &line.id, &still, &mean, &gust, has_wind, &rope);
        let on_line = line_figures(&mut page, cut, line, ready, &gust, draw);
        warnings.extend(on_line.1);
        pulled.push(on_line.0);
    }
    strap_figures(&mut page, cut, &gust, &pulled);
    page.group = Group::Wedge;
    wedge_figures(&mut page, cut, &mean);

    let (release, _) = trace(&mean_stand, &cut.method(), &Scatter::default());
    let missing_n_m = match release {
        Release::Left(_) => None,
        Release::SitsBack { missing_moment_n_m } => Some(missing_moment_n_m),
    };
    let gust_n = gust.wind_n;
    Ok(Numbers { figures: page.figures, still, gust_n, pulled, missing_n_m, warnings })
}

fn rope_of(ready: &LineReady) -> Rope {
    Rope { from_m: ready.attach_m, to_m: ready.first_m() }
}

/// A level rope toward the face, two thirds up the piece.
fn level_rope(cut: &Hinged<'_>, above: &Above) -> Rope {
    let stand = cut.ready.stand();
    let up_m = ATTACH_SHARE * cut.ready.section.piece.length_m();
    let from_m = stand.cut_m + stand.attitude * (DVec3::Z * up_m);
    // So far away that it stays level while the stem comes over.
    Rope { from_m, to_m: from_m + above.forward() * 1e6 }
}

fn stem_figures(page: &mut Page, cut: &Hinged<'_>, mean: &Above, gust: &Above) {
    let piece = &cut.ready.section.piece;
    let start = mean.moments(0.0);
    let arm = mean.centre_m - mean.pivot_m;
    page.put("weight", "weight above the cut", Measure::Mass, piece.mass_kg, rules::WEIGHT);
    page.put("centre", "its centre above the hinge", Measure::Length, arm.z, rules::WEIGHT);
    page.put("lean", "lean of the centre, fore", Measure::Angle, start.line_rad, rules::LEAN);
    let right = -mean.axis;
    let side_rad = libm::atan2(arm.dot(right), arm.z);
    page.put(
        "side_lean",
        "lean of the centre, to the right",
        Measure::Angle,
        side_rad,
        rules::LEAN,
    );
    page.put(
        "moment_fore",
        "lean moment, fore",
        Measure::Moment,
        start.weight_n_m,
        rules::LEAN_MOMENT,
    );
    let side = arm.cross(-DVec3::Z * mean.weight_n).dot(mean.forward());
    page.put("moment_side", "lean moment, to the right", Measure::Moment, side, rules::LEAN_MOMENT);
    if gust.wind_n != DVec3::ZERO {
        for (key, label, above) in
            [("wind_mean", "wind, fore", mean), ("wind_gust", "gust, fore", gust)]
        {
            let moment = above.moments(0.0).wind_n_m;
            page.put(key, label, Measure::Moment, moment, rules::WIND);
        }
    }
}

fn hinge_figures(page: &mut Page, cut: &Hinged<'_>, stand: &Stand<'_>, gust: &Above, rope: &Rope) {
    page.group = Group::Hinge;
    let wood = &cut.wood;
    let rupture_pa = cut.spec.rupture_pa;
    page.put(
        "hinge_fore",
        "hinge, bending forward",
        Measure::Moment,
        cut.spec.moment_n_m(),
        rules::HINGE_FORE,
    );
    let holds = rupture_pa * wood.side_modulus_m3();
    page.put("hinge_side", "hinge, to the side, holds", Measure::Moment, holds, rules::HINGE_SIDE);

    // Weight, gust and rope about the middle of the hinge.
    let pull_n = gust.pull_n(rope, 0.0).unwrap_or(0.0);
    let tension = gust.way(rope, 0.0) * pull_n;
    let forward = gust.forward();
    let weight = -DVec3::Z * gust.weight_n;
    let about = |at: DVec3, force: DVec3| (at - gust.pivot_m).cross(force).dot(forward);
    let side = about(gust.centre_m, weight + gust.wind_n) + about(rope.from_m, tension);
    let to = if side < 0.0 { "left" } else { "right" };
    page.put(
        "side_load",
        format!("side load on it, to the {to}"),
        Measure::Moment,
        side.abs(),
        rules::SIDE_LOAD,
    );
    page.put(
        "side_share",
        "share of the side hold used",
        Measure::Share,
        over(side.abs(), holds),
        rules::SIDE_LOAD,
    )
    .most(1.0, "the hinge doesn't hold the side load: it goes to that side");
    let up = stand.attitude * DVec3::Z;
    let [tension_pa, compression_pa] = wood.end_stresses_pa(side, gust.weight_n * up.z);
    page.put(
        "end_tension",
        "stress at its end away from the side load, tension",
        Measure::Stress,
        tension_pa,
        rules::END_STRESS,
    )
    .most(rupture_pa, "more than the wood's modulus of rupture: that end tears");
    page.put(
        "end_compression",
        "stress at its end toward the side load, compression",
        Measure::Stress,
        compression_pa,
        rules::END_STRESS,
    )
    .most(cut.spec.compression_along_pa, "more than the wood bears along the grain: it crushes");
    let force = weight + tension + gust.wind_n;
    let across_n = (force - up * force.dot(up)).length();
    page.put("shear", "shear stress in it", Measure::Stress, wood.shear_pa(across_n), rules::SHEAR)
        .most(
            cut.strength * cut.species.shear_pa,
            "more than the wood bears in shear along the grain",
        );
}

/// What the strap of a bored hinge holds until it is let go, against all that turns the stem.
fn strap_figures(page: &mut Page, cut: &Hinged<'_>, gust: &Above, pulled: &[Pulled]) {
    let Some(strap_m) = cut.strap_m else { return };
    page.group = Group::Hinge;
    let by_lines: f64 = pulled
        .iter()
        .map(|line| line.told_pull_n.unwrap_or(0.0) * gust.arm_m(&line.rope, 0.0).max(0.0))
        .sum();
    let turns = (by_lines - gust.missing_n_m(0.0)).max(0.0);
    page.put("turns", "what turns it, gust and lines", Measure::Moment, turns, rules::STRAP);
    page.put(
        "strap",
        "back strap, sound, holds",
        Measure::Moment,
        strap_moment_n_m(&cut.spec, cut.radius_m(), strap_m),
        rules::STRAP,
    )
    .least(turns, "less than what turns it: it goes before the strap is let go");
}

fn strength_figures(page: &mut Page, cut: &Hinged<'_>, rope: &Rope, pull_n: f64) {
    page.group = Group::Strength;
    let radius_m = cut.radius_m();
    let core_m = cut.world.stem.core_radius_m(cut.ready.from_height_m);
    // In every draw or in none, by the scene as told.
    let told_hollow = cut
        .world
        .scene
        .tree
        .hollows
        .iter()
        .any(|h| (h.from_m.told..h.to_m.told).contains(&cut.ready.from_height_m));
    if told_hollow && core_m > 0.0 {
        let ratio = 1.0 - core_m / radius_m;
        let (d, core) = (2.0 * radius_m, 2.0 * core_m);
        page.put(
            "shell",
            "sound shell at the cut",
            Measure::Thickness,
            radius_m - core_m,
            rules::SHELL,
        );
        page.put("shell_ratio", "shell over radius, t/R", Measure::Number, ratio, rules::SHELL)
            .least(
                SHELL_RATIO,
                format!(
                    "under 0.30, the usual line for trees with a full crown; shells like this were \
                 found to fail by {}",
                    decay::fails_by(ratio)
                ),
            );
        page.put(
            "section_loss",
            "section modulus lost to the hollow",
            Measure::Share,
            decay::modulus_loss(d, core),
            rules::SHELL,
        );
        page.put(
            "wagener_loss",
            "strength lost by Wagener's rule",
            Measure::Share,
            decay::wagener_loss(d, core),
            rules::SHELL,
        );
        let sound = HingeWood { core_m: 0.0, ..cut.wood };
        for (key, label, of) in [
            (
                "hinge_fore_lost",
                "hinge forward, lost to the hollow",
                HingeWood::fore_modulus_m3 as fn(&_) -> f64,
            ),
            (
                "hinge_side_lost",
                "hinge to the side, lost to the hollow",
                HingeWood::side_modulus_m3,
            ),
        ] {
            let lost = 1.0 - of(&cut.wood) / of(&sound);
            page.put(key, label, Measure::Share, lost, rules::HINGE_SIDE);
        }
    }
    let force = (rope.to_m - rope.from_m).normalize_or_zero() * pull_n;
    for (key, label, force) in [
        ("stem_share", "stem's bending strength used by its lean", DVec3::ZERO),
        ("stem_share_pulled", "the same with the pull needed", force),
    ] {
        let share = weakest(cut, rope.from_m, force);
        page.put(key, label, Measure::Share, share, rules::STEM_BENDING)
            .most(1.0, "the stem may break before it goes over");
    }
}

/// The greatest share of its bending strength that the standing stem uses, under its weight and a
/// force at a point.
fn weakest(cut: &Hinged<'_>, at_m: DVec3, force: DVec3) -> f64 {
    let stem = &cut.world.stem;
    let attitude = stem.lean.attitude();
    let top_m = cut.ready.from_height_m + cut.ready.section.piece.length_m();
    let looks = (top_m / LOOK_M).floor() as usize;
    (0..looks)
        .filter_map(|i| {
            let height_m = LOOK_M * i as f64;
            let foot = attitude * (DVec3::Z * height_m);
            let above = stem.section(height_m, top_m, &[]).ok()?;
            let centre = attitude * above.centre_m;
            let weight = -DVec3::Z * (above.piece.mass_kg * GRAVITY_M_S2);
            // Above the line it doesn't bend the stem.
            let pulls = (at_m - foot).dot(attitude * DVec3::Z) > 0.0;
            let by_line = if pulls { (at_m - foot).cross(force) } else { DVec3::ZERO };
            let diameter_m = stem.diameter_m(height_m);
            let core_m = 2.0 * stem.core_radius_m(height_m);
            let bears = cut.spec.rupture_pa * decay::modulus_m3(diameter_m, core_m);
            Some((centre.cross(weight) + by_line).length() / bears)
        })
        .fold(0.0, f64::max)
}

#[allow(clippy::too_many_arguments, reason = "three winds of one stem and one rope")]
fn pull_figures(
    page: &mut Page,
    key: &str,
    name: &str,
    still: &Above,
    mean: &Above,
    gust: &Above,
    has_wind: bool,
    rope: &Rope,
) {
    let way = still.way(rope, 0.0);
    let up_m = rope.from_m - still.pivot_m;
    page.put(
        format!("pull.{key}.knot"),
        format!("{name}: knot above the hinge"),
        Measure::Length,
        up_m.z,
        rules::KNOT,
    )
    .least((still.centre_m - still.pivot_m).z, "below the centre of what falls");
    let below_rad = -libm::asin(way.z.clamp(-1.0, 1.0));
    let right = -still.axis;
    let off_rad = libm::atan2(way.dot(right), way.dot(still.forward()));
    page.put(
        format!("pull.{key}.rope_angle"),
        format!("{name}: rope below level at the stem"),
        Measure::Angle,
        below_rad,
        rules::ROPE_ANGLE,
    );
    page.put(
        format!("pull.{key}.off_face"),
        format!("{name}: rope off the face's azimuth"),
        Measure::Angle,
        off_rad.abs(),
        rules::ROPE_ANGLE,
    )
    .most(OFF_FACE_RAD, "it pulls to the side of the face: the hinge has to steer against it");
    let arm_m = still.arm_m(rope, 0.0);
    let wrong_way = "the line pulls away from the face: it can't turn this piece";
    let taken_up = mean.moments(0.0);
    let back = (-taken_up.weight_n_m - taken_up.wind_n_m).max(0.0);
    let of = |missing: f64| if arm_m > 0.0 { missing / arm_m } else { f64::INFINITY };
    page.put(
        format!("pull.{key}.first_tension"),
        format!("{name}: first tension, before the back cut"),
        Measure::Force,
        of(back),
        rules::FIRST_TENSION,
    );
    let winds: &[(&str, &str, &Above)] = if has_wind {
        &[("still", "still air", still), ("mean", "mean wind", mean), ("gust", "gust", gust)]
    } else {
        &[("still", "still air", still)]
    };
    for (wind, words, above) in winds {
        let figure = page.put(
            format!("pull.{key}.{wind}"),
            format!("{name}: pull to turn it, {words}"),
            Measure::Force,
            of(above.missing_n_m(0.0).max(0.0)),
            rules::PULL,
        );
        if arm_m <= 0.0 {
            figure.outside.push(wrong_way.to_owned());
        }
    }
    let most_rad = still.until_rad.max(std::f64::consts::FRAC_PI_4);
    let balance = still.balance_rad(most_rad);
    page.put(
        format!("pull.{key}.greatest"),
        format!("{name}: the greatest on the way over{}", if has_wind { ", gust" } else { "" }),
        Measure::Force,
        gust.greatest_pull_n(rope, most_rad),
        rules::PULL,
    );
    let figure = page.put(
        format!("pull.{key}.balance"),
        format!("{name}: past balance after a turn of"),
        Measure::Angle,
        balance.unwrap_or(most_rad),
        rules::BALANCE,
    );
    if balance.is_none() {
        figure.outside.push("it comes to no balance within the turn looked at".to_owned());
    }
}

/// Rope, blocks and what pulls; the line for its curve, and what a user should know of it.
fn line_figures(
    page: &mut Page,
    cut: &Hinged<'_>,
    line: &PullLine,
    ready: &LineReady,
    gust: &Above,
    draw: Draw,
) -> (Pulled, Vec<String>) {
    page.group = Group::Line;
    let (id, points) = (&line.id, ready.points());
    let frictions: Vec<f64> = line
        .redirects
        .iter()
        .map(|r| draw.within(&format!("friction.{}", r.id), line::friction(r.over)))
        .collect();
    let (_, loss) = line::run(&points, &frictions, 1.0);
    let rope = rope_of(ready);
    let wind = if gust.wind_n == DVec3::ZERO { "" } else { ", gust" };
    let most_rad = gust.until_rad.max(std::f64::consts::FRAC_PI_4);
    let needed_n = loss * gust.greatest_pull_n(&rope, most_rad);
    page.put(
        format!("line.{id}.far_pull"),
        format!("{id}: pull needed at the far end{wind}"),
        Measure::Force,
        needed_n,
        rules::FAR_PULL,
    );
    let told_n = line.pull_n.told;
    if line.redirects.iter().any(|r| r.over == Over::Block) {
        let worst: Vec<f64> = line
            .redirects
            .iter()
            .zip(&frictions)
            .map(|(r, own)| if r.over == Over::Block { WORST_BLOCK_FRICTION } else { *own })
            .collect();
        page.put(
            format!("line.{id}.far_pull_worst_block"),
            format!("{id}: the same over the worst blocks measured"),
            Measure::Force,
            needed_n / loss * line::run(&points, &worst, 1.0).1,
            rules::FAR_PULL,
        );
    }
    page.put(
        format!("line.{id}.told_share"),
        format!("{id}: that over what it is pulled with at most"),
        Measure::Share,
        over(needed_n, told_n),
        rules::FAR_PULL,
    )
    .most(1.0, "more than it is pulled with: it sits back");
    let (turns, _) = line::run(&points, &frictions, told_n / loss);
    for (turn, redirect) in turns.iter().zip(&line.redirects) {
        let block = &redirect.id;
        page.put(
            format!("line.{id}.{block}.between"),
            format!("{block}: angle between the legs of rope"),
            Measure::Angle,
            turn.between_rad,
            rules::BLOCK,
        );
        let load_n = turn.load_n.length();
        page.put(
            format!("line.{id}.{block}.load"),
            format!("{block}: load on it and its anchor"),
            Measure::Force,
            load_n,
            rules::BLOCK,
        );
        let leg = redirect.sling_rad.map_or(load_n, |legs| line::sling_leg_n(load_n, legs.told));
        let figure = page.put(
            format!("line.{id}.{block}.sling"),
            format!("{block}: load on a leg of its sling"),
            Measure::Force,
            leg,
            rules::SLING,
        );
        let from_square = redirect.sling_rad.map(|legs| 0.5 * (std::f64::consts::PI - legs.told));
        if from_square.is_some_and(|rad| rad < SLING_LEAST_RAD) {
            figure.outside.push("legs spread over 120°, which ASME B30.9 avoids".to_owned());
        }
    }
    page.put(
        format!("line.{id}.anchor"),
        format!("{id}: load at the far end, as pulled"),
        Measure::Force,
        told_n,
        rules::ANCHOR,
    );
    let of_table = crate::rope::named(&line.rope);
    let strength_n =
        line.strength_n.map_or(of_table.map_or(0.0, |kind| kind.strength_n), |told| told.told);
    page.put(
        format!("line.{id}.strength"),
        format!("{id}: breaking strength, {}", line.rope),
        Measure::Force,
        strength_n,
        rules::ROPE,
    );
    let working_n = line::working_load_n(strength_n, line.knot_loss_share.told, line.design_factor);
    page.put(
        format!("line.{id}.working"),
        format!("{id}: working load"),
        Measure::Force,
        working_n,
        rules::ROPE,
    );
    let share = page.put(
        format!("line.{id}.rope_share"),
        format!("{id}: the most in it over the working load"),
        Measure::Share,
        over(told_n.max(needed_n), working_n),
        rules::ROPE,
    );
    share.most(1.0, "more than the rope's working load");
    if !(5.0..=12.0).contains(&line.design_factor) {
        share.outside.push("a design factor outside the 5 to 12 of CI 1401".to_owned());
    }
    let standing_m = cut.ready.section.piece.length_m();
    let far_m = ready.far_m().truncate().length();
    page.put(
        format!("line.{id}.puller"),
        format!("{id}: far end from the stump, in heights of what falls"),
        Measure::Number,
        far_m / standing_m,
        rules::PULLER_PLACE,
    )
    .least(PULLER_HEIGHTS, "nearer than 1.5 heights: within reach of what falls that way");
    let vehicle_n = vehicle_figures(page, line, ready, needed_n, draw);
    let mut warnings = Vec::new();
    if let Some(along_m) = ready.touches_ground_m {
        let units = cut.world.scene.units;
        warnings.push(format!(
            "{id}: a leg of the line meets the ground {} from its start: it is outside what is \
             worked out here",
            units.distance(along_m)
        ));
    }
    let at_stem = |n: f64| n / loss;
    let pulled = Pulled {
        line: Some(id.clone()),
        rope,
        working_load_n: Some(at_stem(working_n)),
        told_pull_n: Some(at_stem(told_n)),
        vehicle_n: vehicle_n.map(at_stem),
    };
    (pulled, warnings)
}

fn vehicle_figures(
    page: &mut Page,
    line: &PullLine,
    ready: &LineReady,
    needed_n: f64,
    draw: Draw,
) -> Option<f64> {
    let Anchor::Vehicle { mass_kg, driven_share, .. } = &line.anchor else { return None };
    let tyre = traction::on(&ready.ground)?;
    page.group = Group::Vehicle;
    let id = &line.id;
    let friction = draw.within("tyre", tyre.friction);
    page.put(
        format!("vehicle.{id}.friction"),
        format!("{id}: tyres on {} {}", tyre.wetness, tyre.ground),
        Measure::Number,
        friction,
        Rule { source: tyre.source, ..rules::VEHICLE },
    );
    let points = ready.points();
    let before_m = points.iter().rev().nth(1).copied().unwrap_or(ready.attach_m);
    let to_rope = (before_m - ready.far_m()).normalize_or_zero();
    let level = -to_rope.truncate().normalize_or_zero().extend(0.0);
    let (sin, cos) = libm::sincos(ready.slope_rad);
    let (drive, normal) = (level * cos + DVec3::Z * sin, DVec3::Z * cos - level * sin);
    let rope_rad = libm::atan2(to_rope.dot(normal), -to_rope.dot(drive));
    page.put(
        format!("vehicle.{id}.slope"),
        format!("{id}: slope it pulls up"),
        Measure::Angle,
        ready.slope_rad,
        rules::VEHICLE,
    );
    let gives_n = traction::pull_n(
        mass_kg.told * GRAVITY_M_S2,
        driven_share.told,
        friction,
        ready.slope_rad,
        rope_rad,
    );
    page.put(
        format!("vehicle.{id}.gives"),
        format!("{id}: pull it gives before it spins"),
        Measure::Force,
        gives_n,
        rules::VEHICLE,
    );
    page.put(
        format!("vehicle.{id}.share"),
        format!("{id}: pull needed over that"),
        Measure::Share,
        over(needed_n, gives_n),
        rules::VEHICLE,
    )
    .most(1.0, "more than it can give here: it spins");
    Some(gives_n)
}

fn wedge_figures(page: &mut Page, cut: &Hinged<'_>, mean: &Above) {
    let start = mean.moments(0.0);
    let lever_m = cut.lever_m();
    let back_rad = (-start.line_rad).max(0.0);
    page.put(
        "wedge_lift",
        "wedge lift to stand its centre over the hinge",
        Measure::Thickness,
        wedge::lift_m(back_rad, lever_m),
        rules::WEDGE,
    )
    .most(
        lever_m * WEDGE_LEAN,
        "a back lean over 5 % of the height: not for wedges alone (common practice)",
    );
    let top_m = cut.ready.section.piece.length_m();
    page.put(
        "wedge_moves",
        "the top moves, per 1 of lift",
        Measure::Number,
        wedge::moves_m(1.0, top_m, lever_m),
        rules::WEDGE,
    );
    page.put(
        "wedge_force",
        "force under the wedge to start it",
        Measure::Force,
        mean.missing_n_m(0.0).max(0.0) / lever_m,
        rules::WEDGE_FORCE,
    );
}
