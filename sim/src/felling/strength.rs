//! What the hinge holds and what the stem bears, in numbers.

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    release::{Stand, strap_moment_n_m},
};

use super::{
    decay,
    hinge::HingeWood,
    hinged::Hinged,
    numbers::Pulled,
    page::{Page, over},
    result::{Group, Measure},
    rules,
    statics::{Above, Rope},
};

/// Least shell over radius of a tree with its crown on (Mattheck & Breloer, read second hand).
const SHELL_RATIO: f64 = 0.30;
/// Heights between which a stem's bending is worked out, m.
const LOOK_M: f64 = 0.25;

pub(super) fn hinge_figures(
    page: &mut Page,
    cut: &Hinged<'_>,
    stand: &Stand<'_>,
    gust: &Above,
    rope: &Rope,
) {
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
pub(super) fn strap_figures(page: &mut Page, cut: &Hinged<'_>, gust: &Above, pulled: &[Pulled]) {
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

pub(super) fn strength_figures(page: &mut Page, cut: &Hinged<'_>, rope: &Rope, pull_n: f64) {
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
        ("stem_share_pulled", "stem's bending strength used by lean and pull", force),
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
            let above = cut.world.standing(cut.ready.index, height_m, LOOK_M).ok()?;
            let centre = attitude * above.centre_m - foot;
            let weight = -DVec3::Z * (above.mass_kg * GRAVITY_M_S2);
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
