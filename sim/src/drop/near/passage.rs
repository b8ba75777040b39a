//! Where a piece went, kept so that its gap to any body can be measured afterwards.
//!
//! Poses are kept in f32 and no further apart than [`APART_M`] at any point of the surface; between
//! two of them the piece is taken to go straight and turn evenly. In that way of 0.25 m the ground
//! bends a path by millimetres, and in flight the poses lie on the closed form itself. A gap is
//! measured on the path so defined, whatever stood there when the piece went by: it alters no
//! step, and the gap to a body that has been moved since is the one a whole drop would report,
//! as long as the drop is otherwise the same.
//!
//! Looks are halved until they are an eighth of the gap or 5 mm apart, whichever is more, so the
//! least gap is known to 1/16 of itself or 2.5 mm at worst; on a straight pass at distance g the
//! error is (g/16)²/2g, a five-hundredth. Free bodies are measured where they lay at the start.

use glam::{DQuat, DVec3, Quat, Vec3};

use crate::{motion::Motion, site::Body, tree::Piece};

use super::{
    form::{Form, Solid, Solids, WORLD, gap_below_m},
    gap::Size,
};

/// Way between two kept poses, m.
pub const APART_M: f64 = 0.25;

/// Least way between looks, m.
const LOOK_M: f64 = 0.005;

/// Way between looks as a share of the gap.
const LOOK_SHARE: f64 = 0.125;

/// Poses of a piece, from Launch to the end: centre (m) and attitude.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Passage(Vec<([f32; 3], [f32; 4])>);

type Pose = (DVec3, DQuat);

impl Passage {
    /// Keeps a pose; one that is nowhere is left out.
    pub fn keep(&mut self, centre_m: DVec3, attitude: DQuat) {
        let (centre_m, attitude) = (centre_m.as_vec3(), attitude.as_quat());
        if centre_m.is_finite() && attitude.is_finite() {
            self.0.push((centre_m.to_array(), attitude.to_array()));
        }
    }

    /// Poses kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether none is kept.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Gives back memory that isn't used.
    pub fn shrink(&mut self) {
        self.0.shrink_to_fit();
    }

    /// Least gap between the surfaces of the piece that went here and a body, m: 0 when they touch
    /// or overlap, infinite for a body without shapes or for no poses.
    #[must_use]
    pub fn gap_m(&self, piece: &Piece, body: &Body) -> f64 {
        let solids = Solids::new(std::slice::from_ref(body));
        self.gaps_m(piece, &solids, |_| true).first().copied().unwrap_or(f64::INFINITY)
    }

    /// The same for those of `solids` that `which` names by index; infinite for the others.
    pub(crate) fn gaps_m(
        &self,
        piece: &Piece,
        solids: &Solids,
        which: impl Fn(usize) -> bool,
    ) -> Vec<f64> {
        let poses: Vec<Pose> = self.0.iter().map(|&(at, turned)| pose(at, turned)).collect();
        let measure = Measure { form: Form::whole(piece), size: Size::new(piece), poses };
        let one = |(i, solid)| if which(i) { measure.least_m(solid) } else { f64::INFINITY };
        solids.bodies.iter().enumerate().map(one).collect()
    }
}

fn pose(at: [f32; 3], turned: [f32; 4]) -> Pose {
    (Vec3::from_array(at).as_dvec3(), Quat::from_array(turned).as_dquat().normalize())
}

/// Half-way between two poses.
fn between(a: Pose, b: Pose) -> Pose {
    let same = if a.1.dot(b.1) < 0.0 { -b.1 } else { b.1 };
    (0.5 * (a.0 + b.0), (a.1 + same).normalize())
}

struct Measure {
    form: Form,
    size: Size,
    poses: Vec<Pose>,
}

impl Measure {
    fn least_m(&self, solid: &Solid) -> f64 {
        let mut least_m = f64::INFINITY;
        for pose in &self.poses {
            least_m = least_m.min(self.gap_below_m(*pose, solid, least_m));
        }
        for pair in self.poses.windows(2) {
            let [a, b] = *pair else { continue };
            let way_m = self.size.apart_m(a, b);
            // Either gap is within the way of the other, so one of them says enough here.
            if self.spheres_m(a, solid) - way_m >= least_m {
                continue;
            }
            let cutoff_m = least_m + way_m;
            let gaps_m = [a, b].map(|pose| self.gap_below_m(pose, solid, cutoff_m));
            self.look_between(a, b, gaps_m, solid, &mut least_m);
        }
        least_m
    }

    fn look_between(&self, a: Pose, b: Pose, gaps_m: [f64; 2], solid: &Solid, least_m: &mut f64) {
        let way_m = self.size.apart_m(a, b);
        let nearer_m = gaps_m[0].min(gaps_m[1]);
        // No gap between them is less than this.
        let bound_m = 0.5 * (gaps_m[0] + gaps_m[1] - way_m);
        if bound_m >= *least_m || way_m <= LOOK_M.max(LOOK_SHARE * nearer_m) {
            return;
        }
        let middle = between(a, b);
        let gap_m = self.gap_below_m(middle, solid, *least_m + way_m);
        *least_m = least_m.min(gap_m);
        self.look_between(a, middle, [gaps_m[0], gap_m], solid, least_m);
        self.look_between(middle, b, [gap_m, gaps_m[1]], solid, least_m);
    }

    fn spheres_m(&self, pose: Pose, solid: &Solid) -> f64 {
        let middle_m = self.form.middle_in_world_m(&at(pose));
        let other_m = solid.form.middle_in_world_m(&solid.start);
        middle_m.distance(other_m) - self.form.bound_m - solid.form.bound_m
    }

    fn gap_below_m(&self, pose: Pose, solid: &Solid, cutoff_m: f64) -> f64 {
        let spheres_m = self.spheres_m(pose, solid);
        if spheres_m >= cutoff_m {
            return spheres_m;
        }
        gap_below_m(&self.form, &at(pose), &solid.form, &solid.start, cutoff_m)
    }
}

fn at((centre_m, attitude): Pose) -> Motion {
    Motion { centre_m, attitude, ..WORLD }
}
