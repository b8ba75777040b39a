//! How near a piece comes to each body, surface to surface in 3D.
//!
//! A gap can shrink no faster than the surfaces close, so once it is known it need not be looked at
//! again until the way gone could matter: to the least gap so far, or to whether the body is near.
//! Between looks an update is one multiplication and one comparison.
//!
//! The least gap is the least of the gaps looked at. Looks are an eighth of the gap or 5 mm apart,
//! whichever is more, so it is known to 1/16 of itself or 2.5 mm at worst; on a straight pass at
//! distance g the error is (g/16)²/2g, a five-hundredth.

use glam::{DQuat, DVec3};

use crate::{motion::Motion, site::Body, tree::Piece};

use super::form::{Form, Role, Solid, Solids, gap_below_m};

/// A solid is near from this gap on, m, and what the surfaces close in [`NEAR_TIME_S`].
const NEAR_IN_M: f64 = 0.3;

/// The longest step next to something solid, s.
const NEAR_TIME_S: f64 = 1e-3;

/// A solid is no longer near beyond this gap, m.
const NEAR_OUT_M: f64 = 0.6;

/// Least way between looks, m.
const LOOK_M: f64 = 0.005;

/// Way between looks as a share of the gap.
const LOOK_SHARE: f64 = 0.125;

/// Gap between the surfaces of a piece at `motion` and a body, m: 0 when they touch or overlap,
/// `f64::INFINITY` for a body without shapes. Made for a few calls; [`GapWatch`] is for many.
#[must_use]
pub fn gap_m(piece: &Piece, motion: &Motion, body: &Body) -> f64 {
    let solids = Solids::new(std::slice::from_ref(body));
    solids.bodies.first().map_or(f64::INFINITY, |solid| {
        gap_below_m(&Form::of_piece(piece), motion, &solid.form, &solid.start, f64::INFINITY)
    })
}

/// `attitude` after a small turn given as a rotation vector in the world frame, rad.
pub(super) fn turned(attitude: DQuat, turn_rad: DVec3) -> DQuat {
    let half = 0.5 * turn_rad;
    (DQuat::from_xyzw(half.x, half.y, half.z, 1.0) * attitude).normalize()
}

/// What an update noticed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Noticed {
    /// [`GapWatch::near`] is another list than before.
    pub near_changed: bool,
    /// [`GapWatch::touched`] holds bodies touched for the first time.
    pub touched: bool,
}

#[derive(Clone, Copy, Debug)]
struct Watched {
    least_m: f64,
    /// Way gone at which the next look is due, m.
    due_m: f64,
    near: bool,
}

/// Follows the gaps between one piece and all bodies through a drop.
#[derive(Clone, Debug)]
pub struct GapWatch {
    form: FormBox,
    bodies: Vec<Watched>,
    /// Slot of each body among the free ones, from 1; 0 for what stands.
    slots: Vec<usize>,
    near: Vec<usize>,
    touched: Vec<usize>,
    way_m: f64,
    next_due_m: f64,
    last_time_s: f64,
    looks: u64,
}

#[derive(Clone)]
struct FormBox(Form);

impl std::fmt::Debug for FormBox {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} parts", self.0.parts.len())
    }
}

impl GapWatch {
    /// A watch for `piece` over all of `solids`, from `time_s` (s) on.
    #[must_use]
    pub fn new(solids: &Solids, piece: &Piece, time_s: f64) -> Self {
        let mut free = 0;
        let slots = solids.bodies.iter().map(|s| {
            free += usize::from(s.role == Role::Free);
            if s.role == Role::Free { free } else { 0 }
        });
        Self {
            form: FormBox(Form::of_piece(piece)),
            slots: slots.collect(),
            bodies: vec![
                Watched { least_m: f64::INFINITY, due_m: 0.0, near: false };
                solids.bodies.len()
            ],
            near: Vec::new(),
            touched: Vec::new(),
            way_m: 0.0,
            // With nothing to watch no look is ever due, and no step is shortened for one.
            next_due_m: if solids.bodies.is_empty() { f64::INFINITY } else { 0.0 },
            last_time_s: time_s,
            looks: 0,
        }
    }

    /// Tells the watch where everything is at `time_s` (s).
    ///
    /// `motions[0]` is the piece, then every free body in the order of [`Solids::free`] (those
    /// left out lie where they started). `speed_bound_m_s` bounds how fast any two surfaces closed
    /// since the last update, m/s.
    pub fn update(
        &mut self,
        solids: &Solids,
        time_s: f64,
        motions: &[Motion],
        speed_bound_m_s: f64,
    ) -> Noticed {
        self.way_m += speed_bound_m_s * (time_s - self.last_time_s);
        self.last_time_s = time_s;
        if self.way_m < self.next_due_m {
            return Noticed::default();
        }
        self.look_round(solids, motions, speed_bound_m_s)
    }

    /// Looks at every body once more, for the end of a drop.
    pub fn finish(&mut self, solids: &Solids, motions: &[Motion]) -> Noticed {
        self.bodies.iter_mut().for_each(|b| b.due_m = 0.0);
        self.look_round(solids, motions, 0.0)
    }

    /// Way the surfaces can close before the next look is due, m: what a jump through free flight
    /// may cover.
    #[must_use]
    pub fn way_to_next_look_m(&self) -> f64 {
        self.next_due_m - self.way_m
    }

    /// Solid bodies that are near, by index in `Site::bodies`, ascending.
    #[must_use]
    pub fn near(&self) -> &[usize] {
        &self.near
    }

    /// Bodies first touched at the last look, by index in `Site::bodies`, ascending.
    #[must_use]
    pub fn touched(&self) -> &[usize] {
        &self.touched
    }

    /// Least gap so far to each body, in the site's order, m.
    pub fn least_m(&self) -> impl Iterator<Item = f64> + '_ {
        self.bodies.iter().map(|b| b.least_m)
    }

    /// Notes a touch found otherwise, by a contact's impulse; true if it is the first.
    pub fn note_touch(&mut self, body: usize) -> bool {
        self.bodies.get_mut(body).is_some_and(|b| std::mem::replace(&mut b.least_m, 0.0) > 0.0)
    }

    /// Exact evaluations so far.
    #[must_use]
    pub fn looks(&self) -> u64 {
        self.looks
    }

    fn look_round(&mut self, solids: &Solids, motions: &[Motion], speed_m_s: f64) -> Noticed {
        let mut noticed = Noticed::default();
        self.touched.clear();
        let Some(piece) = motions.first() else { return noticed };
        let enter_m = NEAR_IN_M + speed_m_s * NEAR_TIME_S;
        self.next_due_m = f64::INFINITY;
        for (i, (solid, watched)) in solids.bodies.iter().zip(&mut self.bodies).enumerate() {
            if self.way_m >= watched.due_m {
                let slot = self.slots.get(i).copied().unwrap_or(0);
                let moving = if slot > 0 { motions.get(slot) } else { None };
                let at = moving.unwrap_or(&solid.start);
                let was = *watched;
                let (way_m, exact) = look(watched, solid, &self.form.0, piece, at, enter_m);
                watched.due_m = self.way_m + way_m;
                self.looks += u64::from(exact);
                noticed.near_changed |= was.near != watched.near;
                if was.least_m > 0.0 && watched.least_m == 0.0 {
                    self.touched.push(i);
                    noticed.touched = true;
                }
            }
            self.next_due_m = self.next_due_m.min(watched.due_m);
        }
        if noticed.near_changed {
            self.near.clear();
            self.near
                .extend(self.bodies.iter().enumerate().filter_map(|(i, b)| b.near.then_some(i)));
        }
        noticed
    }
}

/// Looks at one body: the way until the next look, m, and whether this one was exact.
fn look(
    watched: &mut Watched,
    solid: &Solid,
    form: &Form,
    piece: &Motion,
    at: &Motion,
    enter_m: f64,
) -> (f64, bool) {
    let can_be_near = solid.role != Role::Noted;
    let middles_m = form.middle_in_world_m(piece).distance(solid.form.middle_in_world_m(at));
    let spheres_m = middles_m - form.bound_m - solid.form.bound_m;
    let least_m = watched.least_m;
    // Touched is touched: nothing can be less.
    let to_least_m = |gap_m: f64| if least_m > 0.0 { gap_m - least_m } else { f64::INFINITY };
    let to_near_m = |gap_m: f64| if can_be_near { gap_m - enter_m } else { f64::INFINITY };
    if !watched.near && spheres_m > enter_m && to_least_m(spheres_m) >= 0.0 {
        let way_m = to_least_m(spheres_m).min(to_near_m(spheres_m));
        return (way_m.max(LOOK_M), false);
    }
    let gap_m = gap_below_m(form, piece, &solid.form, at, f64::INFINITY);
    watched.least_m = least_m.min(gap_m);
    let step_m = (LOOK_SHARE * gap_m).max(LOOK_M);
    let for_least_m =
        if watched.least_m > 0.0 { step_m.max(gap_m - watched.least_m) } else { f64::INFINITY };
    watched.near = can_be_near && gap_m < if watched.near { NEAR_OUT_M } else { enter_m };
    let for_near_m = if watched.near { NEAR_OUT_M - gap_m } else { to_near_m(gap_m) };
    (for_least_m.min(for_near_m.max(LOOK_M)), true)
}
