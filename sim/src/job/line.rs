//! A pull line on its site: where it is made fast, where it turns, where its far end is.

use glam::{DVec2, DVec3};

use crate::{
    line,
    release::{HingeSpec, Method, Push, Scatter, plane::Plane},
    scene::{
        model::{GroundSpec, PullLine},
        outline::contains,
    },
};

use super::{CutReady, JobError, World, terrain::Footing};

/// Ground is looked up along a line at least this often, m.
const LOOK_M: f64 = 0.5;
/// The ends of a leg stand on the ground: touching is looked for between them, m from each.
const CLEAR_OF_ENDS_M: f64 = 1.0;
/// Baseline of the slope that a vehicle stands on, m: about its wheelbase.
const WHEELBASE_M: f64 = 3.0;

/// Level way of the knot while the line is pulled, over its height above the cut: half a radian.
pub const PULLED_FOR: f64 = 0.5;

/// A pull line in the world, the stem standing.
#[derive(Clone, Debug, PartialEq)]
pub struct LineReady {
    /// Where it is made fast, on the stem's axis, m.
    pub attach_m: DVec3,
    /// Its turns from the stem on, then its far end, m.
    pub points_m: Vec<DVec3>,
    /// The ground under the far end.
    pub ground: GroundSpec,
    /// Slope under the far end in the direction away from the line, rad; up is positive.
    pub slope_rad: f64,
    /// Where a leg first meets the ground, if one does, m from the leg's start.
    pub touches_ground_m: Option<f64>,
    /// Where that is.
    pub touches_ground_at_m: Option<DVec3>,
}

impl LineReady {
    /// All its points from the stem on, m.
    #[must_use]
    pub fn points(&self) -> Vec<DVec3> {
        std::iter::once(self.attach_m).chain(self.points_m.iter().copied()).collect()
    }

    /// Its first fixed point, m.
    #[must_use]
    pub fn first_m(&self) -> DVec3 {
        self.points_m.first().copied().unwrap_or(self.attach_m)
    }

    /// Its far end, m.
    #[must_use]
    pub fn far_m(&self) -> DVec3 {
        self.points_m.last().copied().unwrap_or(self.attach_m)
    }
}

impl World {
    /// The pull lines of a cut, by the scene's order, each with its place in the scene's list.
    pub fn lines_of<'a>(&'a self, cut: &'a str) -> impl Iterator<Item = (usize, &'a PullLine)> {
        let lines = self.scene.lines.iter().enumerate();
        lines.filter_map(|(i, line)| Some((i, line.pull()?))).filter(move |(_, l)| l.cut == cut)
    }

    /// A pull line on this site.
    ///
    /// # Errors
    ///
    /// A place off the terrain.
    pub fn line(&self, ready: &CutReady, line: &PullLine) -> Result<LineReady, JobError> {
        let terrain = &self.site.terrain;
        let footing = Footing::new(terrain, self.drawn);
        let cut = self.scene.cuts.get(ready.index);
        let from_m = cut.map_or(0.0, |cut| self.scene.tree.cut_height_m(&cut.piece));
        // Drawn heights may cross; a line stays on its piece.
        let length_m = ready.section.piece.length_m();
        let up_m = (line.height_m.told - from_m).clamp(0.02 * length_m, length_m);
        let stand = ready.stand();
        let attach_m = stand.cut_m + stand.attitude * (DVec3::Z * up_m);
        let mut points_m = Vec::new();
        for redirect in &line.redirects {
            let foot = footing.on(&redirect.id, self.place_m(&redirect.at))?;
            points_m.push(foot + DVec3::Z * redirect.height_m.told);
        }
        let far = self.place_m(line.anchor.at());
        points_m.push(footing.on(&line.id, far)? + DVec3::Z * line.anchor.height_m().told);
        let before_m = points_m.iter().rev().nth(1).copied().unwrap_or(attach_m);
        let away = (far - before_m.truncate()).normalize_or_zero();
        let gradient = terrain.mean_gradient(far, WHEELBASE_M).unwrap_or(DVec2::ZERO);
        let legs = std::iter::once(attach_m).chain(points_m.iter().copied());
        let legs: Vec<DVec3> = legs.collect();
        let touch = legs.windows(2).find_map(|leg| {
            let along_m = touches(|p| terrain.depth_m(p), leg[0], leg[1])?;
            Some((along_m, leg[0] + (leg[1] - leg[0]).normalize_or_zero() * along_m))
        });
        Ok(LineReady {
            attach_m,
            points_m,
            ground: self.ground_told_at(far),
            slope_rad: libm::atan(gradient.dot(away)),
            touches_ground_m: touch.map(|(along_m, _)| along_m),
            touches_ground_at_m: touch.map(|(_, at_m)| at_m),
        })
    }

    /// How a cut is released with its pull lines pulled as told; `None` where it has none.
    ///
    /// The lines' moments about the hinge at the start, together with that of the hands, become one
    /// level push on the stem at the height of the first line; it goes on until the stem has turned
    /// half a radian. What a rope that is pulled down turns less and less well in between is left out.
    pub(super) fn pulled_by_lines(&self, ready: &CutReady) -> Result<Option<Method>, JobError> {
        let (mut moment_n_m, mut up_m) = (0.0, None);
        let stand = ready.stand();
        let plane = Plane::new(&stand, &ready.method, &Scatter::default());
        let pivot = plane.task.pivot_m;
        let pivot_m = stand.cut_m + plane.forward * pivot.x + DVec3::Z * pivot.y;
        for (_, line) in self.lines_of(&ready.id) {
            let at = self.line(ready, line)?;
            let frictions: Vec<f64> =
                line.redirects.iter().map(|r| line::friction(r.over)[1]).collect();
            let (_, loss) = line::run(&at.points(), &frictions, 1.0);
            let pull = (at.first_m() - at.attach_m).normalize_or_zero() * (line.pull_n.told / loss);
            moment_n_m += plane.axis.dot((at.attach_m - pivot_m).cross(pull));
            up_m = up_m.or(Some(at.attach_m.distance(stand.cut_m)));
        }
        let (Some(height_m), Method::Hinge(spec) | Method::BoredHinge(spec)) = (up_m, ready.method)
        else {
            return Ok(None);
        };
        moment_n_m += plane.task.start_moments().push_n_m;
        let at = |force_n: f64| {
            let push = Push { force_n, height_m, travel_m: PULLED_FOR * height_m };
            let spec = HingeSpec { push, ..spec };
            match ready.method {
                Method::BoredHinge(_) => Method::BoredHinge(spec),
                _ => Method::Hinge(spec),
            }
        };
        let one = Plane::new(&stand, &at(1.0), &Scatter::default());
        let arm_m = one.task.start_moments().push_n_m;
        // A line that pulls the wrong way is no push.
        let force_n = if arm_m > 0.0 { (moment_n_m / arm_m).max(0.0) } else { 0.0 };
        Ok(Some(at(force_n)))
    }

    /// The ground as told at a place on the map.
    fn ground_told_at(&self, at: DVec2) -> GroundSpec {
        let site = &self.scene.site;
        let inside = |outline: &[crate::scene::Place]| {
            let points: Vec<DVec2> = outline.iter().map(|p| self.place_m(p)).collect();
            contains(&points, at)
        };
        let patch = site.patches.iter().rev().find(|patch| inside(&patch.outline));
        patch.map_or(site.ground, |patch| patch.ground)
    }
}

/// Where a leg first goes into the ground, m from its start.
fn touches(depth_m: impl Fn(DVec3) -> Option<f64>, from: DVec3, to: DVec3) -> Option<f64> {
    let length_m = from.distance(to);
    let steps = (length_m / LOOK_M).ceil().max(1.0) as usize;
    (0..=steps)
        .map(|i| length_m * i as f64 / steps as f64)
        .filter(|along| (CLEAR_OF_ENDS_M..=length_m - CLEAR_OF_ENDS_M).contains(along))
        .find(|along| depth_m(from.lerp(to, along / length_m)).is_some_and(|depth| depth > 0.0))
}
