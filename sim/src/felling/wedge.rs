//! What a wedge lifts.
//!
//! A lift S at a distance b behind the hinge turns the stem by about S/b, so that a point h above
//! the hinge moves by S·h/b; the trade takes the stump's diameter for b (common practice). The force
//! under the wedge is the missing moment over b. Left out: wood that crushes under the wedge instead
//! of lifting, wedges driven one beside the other.
//!
//! Known answer: `val_felling::val_wedge_lift`.

/// How far a point `height_m` above the hinge moves when the back is lifted, m.
#[must_use]
pub fn moves_m(lift_m: f64, height_m: f64, lever_m: f64) -> f64 {
    lift_m * height_m / lever_m
}

/// The lift that turns a stem by an angle, m.
#[must_use]
pub fn lift_m(turn_rad: f64, lever_m: f64) -> f64 {
    lever_m * libm::tan(turn_rad)
}
