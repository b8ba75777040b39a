//! The pull, the line that gives it and what pulls the line, in numbers.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    job::LineReady,
    line::{self, WORST_BLOCK_FRICTION},
    scene::model::{Anchor, Over, PullLine},
};

use super::{
    draw::Draw,
    hinged::Hinged,
    numbers::{Pulled, rope_of},
    page::{Page, over},
    result::{Group, Measure},
    rules::{self, Rule},
    statics::{Above, Rope},
    traction,
};

/// Least distance of what pulls from the stump, in heights of what falls (ANSI Z133 as quoted).
const PULLER_HEIGHTS: f64 = 1.5;
/// A rope that pulls further off the face than this is said to, rad (ours).
const OFF_FACE_RAD: f64 = 10.0 * std::f64::consts::PI / 180.0;
/// Least angle of a sling's leg from square to the pull, rad (ASME B30.9, read).
const SLING_LEAST_RAD: f64 = 30.0 * std::f64::consts::PI / 180.0;

#[allow(clippy::too_many_arguments, reason = "three winds of one stem and one rope")]
pub(super) fn pull_figures(
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
pub(super) fn line_figures(
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
