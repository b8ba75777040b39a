//! Where the drops of one cut went: tracks over the bank, where they came to rest, and the lines
//! that pieces pass.

use bevy::math::{Vec2, Vec3};
use tumblewood::{
    drop::Ending,
    forecast::{Fate, renew::Path},
    outcome::{Outcome, Reach},
    report::plan::{DropView, PassLine, farthest_m, lines_passed, spread},
    site::{Answer, Body, Shape, Site},
};

use crate::{
    drape::{band, on_ground},
    marks::{rest, strike},
    palette::{MODES, Palette},
    pick::{Ray, meets},
    shape::{Colour, Drawn, single},
};

/// Tracks keep at least this far over the ground, m.
const LIFT_M: f32 = 0.15;
/// This many tracks that reach nothing are drawn at most: 500 of them hide the bank they run over.
const MOST_QUIET: usize = 80;
/// Most points of one track.
const MOST_POINTS: usize = 300;
/// Beads of a reaching track are this many units apart, and this many at most.
const BEAD_EVERY: f32 = 6.0;
const MOST_BEADS: usize = 40;
/// Beads are no higher over the ground than this, m.
const BEADS_BELOW_M: f32 = 2.0;
/// Radius of a bead, units.
const BEAD: f32 = 0.4;
/// Width of a line that pieces pass and of its paper, units.
const PASS_WIDTH: f32 = 0.22;
const PASS_PAPER: f32 = 0.5;
/// Lines that pieces pass lie so far over the ground, m.
const PASS_LIFT_M: f32 = 0.1;

/// Which drops are shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Filter {
    /// Modes shown, in the order of [`MODES`].
    pub(crate) modes: [bool; 4],
    /// The one target that counts, by its place among the site's targets; any if none.
    pub(crate) target: Option<usize>,
    /// Only drops that reached it.
    pub(crate) only_reaching: bool,
    /// Only drops that came at least this near to it, m; one that was lost before it could be
    /// told may have.
    pub(crate) within_m: Option<f64>,
}

impl Default for Filter {
    fn default() -> Self {
        Self { modes: [true; 4], target: None, only_reaching: false, within_m: None }
    }
}

impl Filter {
    /// True if a drop is shown.
    #[must_use]
    pub(crate) fn shows(&self, outcome: &Outcome) -> bool {
        let mode = MODES.iter().zip(self.modes).any(|((mode, _), on)| on && *mode == outcome.mode);
        let near = self.within_m.is_none_or(|within_m| {
            self.counted(outcome).any(|reach| match reach {
                Reach::Reached { .. } | Reach::Unknown => true,
                Reach::Missed { gap_m } => *gap_m <= within_m,
            })
        });
        mode && near && (!self.only_reaching || self.reaches(outcome))
    }

    /// True if a drop reached what counts.
    #[must_use]
    pub(crate) fn reaches(&self, outcome: &Outcome) -> bool {
        self.counted(outcome).any(|reach| matches!(reach, Reach::Reached { .. }))
    }

    fn counted<'a>(&self, outcome: &'a Outcome) -> impl Iterator<Item = &'a Reach> {
        let target = self.target;
        let counts = move |(k, _): &(usize, &Reach)| target.is_none_or(|target| target == *k);
        outcome.reaches.iter().enumerate().filter(counts).map(|(_, reach)| reach)
    }
}

/// The drops of one cut on the ground as told, and what they are drawn on.
#[derive(Clone, Copy)]
pub(crate) struct Drops<'a> {
    /// What became of each.
    pub(crate) fates: &'a [Fate],
    /// Where each went; as many as fates, or fewer while they come in.
    pub(crate) paths: &'a [Path],
    /// The site at that cut.
    pub(crate) site: &'a Site,
    /// Size of signs, m: about half the side of a square.
    pub(crate) unit_m: f32,
    /// What they are painted with.
    pub(crate) palette: &'a Palette,
}

impl<'a> Drops<'a> {
    /// Number, outcome and path of each drop that left the spar and is shown.
    fn shown(&self, filter: &Filter) -> impl Iterator<Item = (usize, &'a Outcome, &'a [[f32; 3]])> {
        let (filter, paths) = (*filter, self.paths);
        self.fates.iter().enumerate().filter_map(move |(k, fate)| {
            let outcome = fate.outcome().filter(|outcome| filter.shows(outcome))?;
            Some((k, outcome, paths.get(k).map_or(&[][..], |path| &path.0[..])))
        })
    }

    /// Of the drops shown that reach nothing, one in so many has its track drawn; of those that
    /// reach, each has.
    #[must_use]
    pub(crate) fn quiet_every(&self, filter: &Filter) -> usize {
        let (shown, reached) = counted(self, filter);
        (shown - reached).div_ceil(MOST_QUIET).max(1)
    }

    /// Number and path of each drop whose track is drawn, and whether it reaches.
    fn with_track(&self, filter: &Filter) -> impl Iterator<Item = (usize, bool, &'a [[f32; 3]])> {
        let every = self.quiet_every(filter);
        // Evenly by number among those that reach nothing: draws are keyed, so no kind is favoured.
        let mut quiet = 0;
        self.shown(filter).filter_map(move |(k, outcome, path)| {
            let reaches = filter.reaches(outcome);
            quiet += usize::from(!reaches);
            (reaches || quiet % every == 1 % every).then_some((k, reaches, path))
        })
    }
}

/// The tracks that are drawn, those that reach nothing first.
#[must_use]
pub(crate) fn tracks(drops: &Drops<'_>, filter: &Filter) -> Drawn {
    let mut drawn = Drawn::default();
    for reaching in [false, true] {
        for (.., path) in drops.with_track(filter).filter(|(_, reaches, _)| *reaches == reaching) {
            add_track(&mut drawn, drops, path, reaching);
        }
    }
    drawn
}

/// What is left out of the tracks, in words; nothing where each is drawn.
#[must_use]
pub(crate) fn left_out(drops: &Drops<'_>, filter: &Filter) -> Option<String> {
    let every = drops.quiet_every(filter);
    let nth = match (every % 100, every % 10) {
        (11..=13, _) => "th",
        (_, 1) => "st",
        (_, 2) => "nd",
        (_, 3) => "rd",
        _ => "th",
    };
    (every > 1).then(|| format!("Tracks: each that reaches, every {every}{nth} of the others."))
}

/// The drop whose track a ray passes within an angle, nearest to the eye first: its number.
#[must_use]
pub(crate) fn under(
    ray: &Ray,
    drops: &Drops<'_>,
    filter: &Filter,
    slack_rad: f32,
) -> Option<usize> {
    let far = drops.with_track(filter).map(|(k, _, path)| {
        let mut line = Drawn::default();
        line.polyline(&over_ground_m(drops, path), drops.palette.quiet.linear());
        (k, meets(ray, &line, slack_rad))
    });
    let near = far.filter(|(_, far_m)| far_m.is_finite()).min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(near.0)
}

/// A path over the ground, thinned; its last point is kept.
#[must_use]
pub(crate) fn over_ground_m(drops: &Drops<'_>, path: &[[f32; 3]]) -> Vec<Vec3> {
    let stride = path.len().saturating_sub(1).div_ceil(MOST_POINTS - 1).max(1);
    let kept = path.iter().step_by(stride);
    let last = path.last().filter(|_| path.len() % stride != 1 && stride > 1);
    kept.chain(last)
        .map(|&point| Vec3::from_array(point))
        .filter(|point| point.is_finite())
        .map(|point| {
            let ground = on_ground(&drops.site.terrain, point.truncate(), LIFT_M);
            point.with_z(ground.map_or(point.z, |ground| ground.z.max(point.z)))
        })
        .collect()
}

fn add_track(drawn: &mut Drawn, drops: &Drops<'_>, path: &[[f32; 3]], reaching: bool) {
    let points = over_ground_m(drops, path);
    let palette = drops.palette;
    let colour = if reaching { palette.alarm } else { palette.quiet }.linear();
    drawn.polyline(&points, colour);
    if reaching {
        let is_low = |at: Vec3| {
            on_ground(&drops.site.terrain, at.truncate(), 0.0)
                .is_none_or(|ground| at.z < ground.z + BEADS_BELOW_M)
        };
        beads(drawn, &points, drops.unit_m, colour, is_low);
    }
}

/// Beads along the part of a track that is near the ground: in the air there is but one way to go.
fn beads(
    drawn: &mut Drawn,
    points: &[Vec3],
    unit_m: f32,
    colour: Colour,
    is_low: impl Fn(Vec3) -> bool,
) {
    let length_m: f32 = points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let every_m = (BEAD_EVERY * unit_m).max(length_m / MOST_BEADS as f32).max(1e-3);
    let mut next_m = 0.5 * every_m;
    for pair in points.windows(2) {
        let part_m = pair[0].distance(pair[1]);
        while next_m <= part_m {
            let at = pair[0].lerp(pair[1], next_m / part_m.max(1e-6));
            if is_low(at) {
                bead(drawn, at, BEAD * unit_m, colour);
            }
            next_m += every_m;
        }
        next_m -= part_m;
    }
}

/// An eight-sided bead.
fn bead(drawn: &mut Drawn, at_m: Vec3, radius_m: f32, colour: Colour) {
    for (x, y, z) in [(1.0, 1.0, 1.0), (-1.0, 1.0, 1.0), (-1.0, -1.0, 1.0), (1.0, -1.0, 1.0)] {
        let corner = |axis: Vec3, sign: f32| at_m + axis * (radius_m * sign);
        for z in [z, -z] {
            let corners = [corner(Vec3::X, x), corner(Vec3::Y, y), corner(Vec3::Z, z)];
            if x * y * z > 0.0 {
                drawn.face(&corners, colour);
            } else {
                drawn.face(&[corners[1], corners[0], corners[2]], colour);
            }
        }
    }
}

/// Where each drop that is shown came to rest or was last seen, by the mark of its mode, and a ring
/// with a cross where it was next to a target that it reached.
#[must_use]
pub(crate) fn rests(drops: &Drops<'_>, filter: &Filter) -> Drawn {
    let mut drawn = Drawn::default();
    let terrain = &drops.site.terrain;
    for (_, outcome, path) in drops.shown(filter) {
        rest(&mut drawn, terrain, outcome, drops.unit_m, drops.palette);
        let targets = drops.site.bodies.iter().filter(|body| body.is_target);
        for (k, (body, reach)) in targets.zip(&outcome.reaches).enumerate() {
            let counts = filter.target.is_none_or(|target| target == k);
            if counts && matches!(reach, Reach::Reached { .. }) {
                let at = nearest_m(body, path).unwrap_or(single(outcome.end_m));
                strike(&mut drawn, terrain, at, drops.unit_m, drops.palette);
            }
        }
    }
    drawn
}

/// The point of a path that is nearest to a body.
fn nearest_m(body: &Body, path: &[[f32; 3]]) -> Option<Vec3> {
    let points = path.iter().map(|&point| Vec3::from_array(point));
    points.min_by(|a, b| away_m(body, *a).total_cmp(&away_m(body, *b)))
}

/// From a place to a body's axes or the boxes round its solids, m.
fn away_m(body: &Body, at_m: Vec3) -> f32 {
    let to_box = |low: Vec3, high: Vec3| at_m.distance(at_m.clamp(low.min(high), high.max(low)));
    let shape = |shape: &Shape| match shape {
        Shape::Capsule { from_m, to_m, .. } => {
            let (from, along) = (single(*from_m), single(*to_m - *from_m));
            let share = (at_m - from).dot(along) / along.length_squared().max(1e-9);
            at_m.distance(from + along * share.clamp(0.0, 1.0))
        }
        Shape::Cuboid { centre_m, half_m, .. } => {
            let half = Vec3::splat(half_m.max_element() as f32);
            to_box(single(*centre_m) - half, single(*centre_m) + half)
        }
        Shape::Hull { points_m } => {
            let start = (Vec3::INFINITY, Vec3::NEG_INFINITY);
            let both = |(low, high): (Vec3, Vec3), p: Vec3| (low.min(p), high.max(p));
            let (low, high) = points_m.iter().copied().map(single).fold(start, both);
            to_box(low, high)
        }
    };
    match &body.answer {
        Answer::Free { motion, .. } => at_m.distance(single(motion.centre_m)),
        Answer::Fixed | Answer::Noted | Answer::Held { .. } => {
            body.shapes.iter().map(shape).fold(f32::INFINITY, f32::min)
        }
    }
}

/// A line that pieces pass, drawn.
#[derive(Clone, Debug)]
pub(crate) struct Passed {
    /// Which, and how far from the stump.
    pub(crate) line: PassLine,
    /// The line on the ground, with dashes of its own.
    pub(crate) drawn: Drawn,
    /// Its ends on known ground, m.
    pub(crate) ends_m: [Vec3; 2],
}

/// The lines that 1 in 2, 1 in 10 and 1 in 100 pieces pass, over all drops that left the spar.
#[must_use]
pub(crate) fn passed(drops: &Drops<'_>) -> Vec<Passed> {
    let stump_m = drops.site.stump_m;
    let left: Vec<_> = drops.shown(&Filter::default()).collect();
    let views: Vec<DropView<'_>> =
        left.iter().map(|(_, outcome, _)| DropView { outcome, track: None }).collect();
    let Some((from, to)) = spread(stump_m, &views) else { return Vec::new() };
    let farthest = left.iter().zip(&views).map(|((_, outcome, path), view)| {
        let stump = single(stump_m).truncate();
        let along = path.iter().map(|p| f64::from(Vec2::new(p[0], p[1]).distance(stump)));
        (along.fold(farthest_m(stump_m, view), f64::max), outcome.ending == Ending::Rest)
    });
    let lines = lines_passed(farthest.collect());
    lines.into_iter().filter_map(|line| draw_passed(drops, line, (from, to))).collect()
}

fn draw_passed(drops: &Drops<'_>, line: PassLine, (from, to): (f64, f64)) -> Option<Passed> {
    let distance_m = line.distance_m.max(0.1) as f32;
    // A little beyond the spread on either side, by the same length on the ground.
    let pad = (3.0 * drops.unit_m / distance_m).min(0.6);
    let (from, to) = (from as f32 - pad, to as f32 + pad);
    let stump = single(drops.site.stump_m).truncate();
    let at = |along_m: f32| stump + Vec2::from_angle(from + along_m / distance_m) * distance_m;
    let arc = |start_m: f32, end_m: f32| -> Vec<Vec2> {
        let parts = ((end_m - start_m) / 0.5).ceil().clamp(1.0, 400.0);
        let point = |k: usize| at(start_m + (end_m - start_m) * k as f32 / parts);
        (0..=parts as usize).map(point).collect()
    };
    let length_m = (to - from) * distance_m;
    let terrain = &drops.site.terrain;
    let mut drawn = Drawn::default();
    let unit_m = drops.unit_m;
    let paper = drops.palette.paper.linear();
    let size = |width: f32, lift_m: f32| (width * unit_m, lift_m, 0.5);
    band(&mut drawn, terrain, &arc(0.0, length_m), size(PASS_PAPER, PASS_LIFT_M), paper);
    let lift_m = PASS_LIFT_M + 0.03 * unit_m + 0.02;
    for [start_m, end_m] in dashes(line.one_in, length_m, unit_m) {
        let part = arc(start_m, end_m);
        band(
            &mut drawn,
            terrain,
            &part,
            size(PASS_WIDTH, lift_m),
            drops.palette.pass_line.linear(),
        );
    }
    let mut known = arc(0.0, length_m).into_iter().filter_map(|m| on_ground(terrain, m, lift_m));
    let first_m = known.next()?;
    let ends_m = [first_m, known.last().unwrap_or(first_m)];
    Some(Passed { line, drawn, ends_m })
}

/// Where along a line its dashes are, m: dots for 1 in 2, dashes for 1 in 10, all of it for less.
fn dashes(one_in: u32, length_m: f32, unit_m: f32) -> Vec<[f32; 2]> {
    let (dash, gap) = match one_in {
        2 => (0.4, 0.6),
        10 => (1.8, 0.8),
        _ => return vec![[0.0, length_m]],
    };
    // At most some hundreds of dashes, whatever the unit.
    let unit_m = unit_m.max(length_m / 400.0);
    let every_m = (dash + gap) * unit_m;
    let count = (length_m / every_m).ceil().max(0.0) as usize;
    (0..count)
        .map(|k| {
            let start_m = k as f32 * every_m;
            [start_m, (start_m + dash * unit_m).min(length_m)]
        })
        .collect()
}

/// How many of the drops are shown, and how many of those reached what counts.
#[must_use]
pub(crate) fn counted(drops: &Drops<'_>, filter: &Filter) -> (usize, usize) {
    let shown = drops.shown(filter).map(|(_, outcome, _)| filter.reaches(outcome));
    shown.fold((0, 0), |(shown, reached), reaches| (shown + 1, reached + usize::from(reaches)))
}

#[cfg(test)]
mod tests;
