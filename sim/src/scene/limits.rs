//! What each number of a scene may be, and what it may be when it isn't known.
//!
//! The limits keep out slips of the pen (inches for feet, a comma lost), not unusual jobs; the
//! ranges of numbers that aren't known are ours.

/// Limits of one number, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Limits {
    /// Least allowed.
    pub(super) low: f64,
    /// Greatest allowed.
    pub(super) high: f64,
    /// Least, as told, greatest of a number that isn't known; `None` where it must be given.
    pub(super) unknown: Option<[f64; 3]>,
}

const fn given(low: f64, high: f64) -> Limits {
    Limits { low, high, unknown: None }
}

const fn open(low: f64, high: f64, unknown: [f64; 3]) -> Limits {
    Limits { low, high, unknown: Some(unknown) }
}

const DEG: f64 = std::f64::consts::PI / 180.0;
const TURN: f64 = 360.0 * DEG;

/// An azimuth that must be given.
pub(super) const AZIMUTH: Limits = given(-TURN, 2.0 * TURN);
/// An azimuth that may be anywhere.
pub(super) const AZIMUTH_OPEN: Limits = open(-TURN, 2.0 * TURN, [0.0, TURN / 2.0, TURN]);

/// Slope distance of a leg.
pub(super) const LEG: Limits = given(0.05, 500.0);
/// Inclination of a leg or a tape.
pub(super) const SLOPE: Limits = given(-80.0 * DEG, 80.0 * DEG);
/// A tape from the stump or a station.
pub(super) const TAPE: Limits = given(0.0, 2_000.0);
/// East or north of the stump.
pub(super) const LOCAL: Limits = given(-5_000.0, 5_000.0);
/// Height of a breakline.
pub(super) const BREAKLINE: Limits = given(0.05, 30.0);

/// Depth of litter by finger.
pub(super) const LITTER: Limits = open(0.002, 1.0, [0.02, 0.05, 0.12]);
/// Depth of turf by finger.
pub(super) const TURF: Limits = open(0.002, 0.5, [0.01, 0.03, 0.08]);
/// Bumps, peak to trough.
pub(super) const BUMPS: Limits = open(0.0, 2.0, [0.03, 0.10, 0.40]);
/// Between stems of undergrowth.
pub(super) const SPACING: Limits = open(0.05, 20.0, [0.3, 1.0, 3.0]);
/// Thickness of a stem of undergrowth.
pub(super) const THICKNESS: Limits = open(0.002, 0.3, [0.01, 0.02, 0.05]);
/// Height of undergrowth.
pub(super) const UNDERGROWTH: Limits = open(0.1, 10.0, [0.5, 1.2, 3.0]);
/// Depth at which rock begins.
pub(super) const HARD: Limits = open(0.01, 10.0, [0.1, 0.5, 2.0]);
/// Mean wind.
pub(super) const WIND: Limits = open(0.0, 40.0, [0.0, 2.0, 6.0]);
/// Gust.
pub(super) const GUST: Limits = open(0.0, 60.0, [0.0, 4.0, 12.0]);

/// Height of a tree.
pub(super) const TREE_HEIGHT: Limits = open(1.0, 130.0, [10.0, 20.0, 35.0]);
/// Diameter at breast height.
pub(super) const DBH: Limits = open(0.03, 6.0, [0.2, 0.4, 1.0]);
/// Diameter of a stem.
pub(super) const DIAMETER: Limits = given(0.01, 8.0);
/// Height on a stem.
pub(super) const STEM: Limits = given(0.0, 130.0);
/// Offset of a plumb line.
pub(super) const OFFSET: Limits = open(0.0, 30.0, [0.0, 0.5, 3.0]);
/// Lean from the vertical.
pub(super) const LEAN: Limits = open(0.0, 45.0 * DEG, [0.0, 2.0 * DEG, 10.0 * DEG]);
/// Sound shell of a hollow.
pub(super) const SHELL: Limits = open(0.005, 3.0, [0.03, 0.08, 0.20]);

/// Angle of a limb above the horizontal.
pub(super) const LIMB_ANGLE: Limits = given(-60.0 * DEG, 85.0 * DEG);
/// Length of a limb.
pub(super) const LIMB_LENGTH: Limits = given(0.3, 30.0);
/// Diameter of a limb at the bark.
pub(super) const LIMB_DIAMETER: Limits = given(0.02, 2.0);
/// Twigs and leaves of a limb by weight.
pub(super) const BRUSH: Limits = given(0.0, 3_000.0);
/// From the bark to a cut through a limb.
pub(super) const LIMB_AT: Limits = given(0.0, 30.0);
/// Depth of an under cut as a share of the limb's diameter.
pub(super) const UNDER: Limits = given(0.05, 0.7);
/// From the under cut out to the top cut.
pub(super) const STEP: Limits = given(-0.5, 0.5);

/// Height of a wall of a building.
pub(super) const WALL: Limits = given(0.2, 100.0);
/// Reach of limbs.
pub(super) const SPREAD: Limits = given(0.2, 40.0);
/// Length of a vehicle.
pub(super) const VEHICLE_LENGTH: Limits = given(0.5, 30.0);
/// Width or height of a vehicle.
pub(super) const VEHICLE: Limits = given(0.3, 6.0);
/// Width of a road or path.
pub(super) const ROAD: Limits = given(0.3, 60.0);
/// Height of a wire.
pub(super) const WIRE: Limits = given(0.5, 100.0);
/// Sag of a wire.
pub(super) const SAG: Limits = open(0.0, 20.0, [0.0, 0.3, 1.5]);

/// Diameter of a barrier log.
pub(super) const LOG: Limits = given(0.05, 3.0);
/// Thickness of a brush mat.
pub(super) const MAT: Limits = given(0.02, 3.0);
/// Height of a free-standing wall.
pub(super) const LOW_WALL: Limits = given(0.1, 30.0);
/// Thickness of a free-standing wall.
pub(super) const WALL_THICKNESS: Limits = given(0.05, 3.0);
/// Height of a stump.
pub(super) const STUMP: Limits = given(0.02, 3.0);

/// Opening of a face.
pub(super) const OPENING: Limits = given(10.0 * DEG, 150.0 * DEG);
/// Depth of a face as a share of the diameter.
pub(super) const DEPTH: Limits = given(0.05, 0.6);
/// Thickness of a hinge or strap.
pub(super) const HINGE: Limits = given(0.002, 1.0);
/// Width of a hinge as a share of the chord.
pub(super) const WIDTH: Limits = given(0.1, 1.0);
/// A push by hand, pole or wedge. Not known: one person's hands to a long pole.
pub(super) const PUSH: Limits = open(0.0, 200_000.0, [150.0, 300.0, 500.0]);
/// Height of a push above the cut.
pub(super) const PUSH_HEIGHT: Limits = given(0.02, 50.0);
/// Length of a log that a mill takes, m.
pub(super) const MILL_LENGTH_M: [f64; 2] = [0.5, 20.0];
/// What is cut more for each, m.
pub(super) const TRIM_M: [f64; 2] = [0.0, 0.5];
/// Length of a stub.
pub(super) const STUB: Limits = given(0.02, 10.0);
/// Diameter of a stub.
pub(super) const STUB_DIAMETER: Limits = given(0.01, 2.0);

/// Breaking strength of a rope.
pub(super) const ROPE: Limits = given(500.0, 2_000_000.0);
/// Share of a rope's strength that knots take (Cordage Institute CI 1401: up to 50 %).
pub(super) const KNOT_LOSS: Limits = open(0.0, 0.8, [0.2, 0.5, 0.5]);
/// How much longer a rope is under a tenth of its breaking strength (from memory; ours where no rope
/// is known).
pub(super) const STRETCH: Limits = open(0.001, 0.5, [0.01, 0.03, 0.12]);
/// Damping of a rope as a share of critical (ours).
pub(super) const DAMPING: Limits = open(0.0, 1.0, [0.02, 0.08, 0.2]);
/// How much longer a line is than straight.
pub(super) const SLACK: Limits = given(0.0, 40.0);
/// The most that hands hold (ours: one person's grip to two who lean back).
pub(super) const HOLD: Limits = open(10.0, 2_000.0, [100.0, 200.0, 400.0]);
/// Friction of a rope over a block: as [`crate::line::BLOCK_FRICTION`].
pub(super) const FRICTION_AT_BLOCK: Limits = open(0.0, 1.0, crate::line::BLOCK_FRICTION);
/// What a line is pulled with.
pub(super) const LINE_PULL: Limits = given(10.0, 500_000.0);
/// Height of a block, a hitch or an anchor above the ground.
pub(super) const LINE_HEIGHT: Limits = given(0.0, 40.0);
/// Angle between the legs of a sling.
pub(super) const SLING: Limits = given(0.0, 170.0 * DEG);
/// Mass of a vehicle.
pub(super) const VEHICLE_MASS: Limits = given(100.0, 100_000.0);
/// Share of a vehicle's weight on driven wheels.
pub(super) const DRIVEN: Limits = given(0.1, 1.0);
