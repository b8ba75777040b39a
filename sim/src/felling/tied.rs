//! Lines that hold a piece in its drop, in numbers: what a straight fall into them loads rope,
//! block and spar with, by closed forms. The forecast follows the piece itself.

use std::f64::consts::PI;

use glam::DVec3;

use crate::{
    GRAVITY_M_S2,
    drop::tether::peak_n,
    job::{CutReady, TiedReady, World},
    line,
    scene::model::{Hitch, TiedLine},
};

use super::{
    draw::Draw,
    page::{Found, Page, over},
    result::{Group, Measure},
    rules::{self, Rule},
};

/// Where the peak is taken to come for the spar's bending, off the plumb line under hitch or block,
/// rad (ours: a piece that tips off its hinge comes into its line about so far out).
const OUT_RAD: f64 = 30.0 * PI / 180.0;
/// Hung further to the side than this share of its length, a line isn't fallen straight into (ours).
const TO_THE_SIDE: f64 = 0.5;
/// Tension at the bottom over the weight, of a weight that swings from level on a taut line.
const SWUNG: f64 = 3.0;
/// Least angle of a sling's leg from square to the pull, rad (ASME B30.9, read).
const SLING_LEAST_RAD: f64 = 30.0 * PI / 180.0;

/// The numbers of every line that holds the piece of a cut.
pub(super) fn tied_figures(page: &mut Page, world: &World, ready: &CutReady, draw: Draw) {
    page.group = Group::Tied;
    for ((_, told), tied) in world.tied_of(&ready.id).zip(&ready.tied) {
        one(page, told, tied, ready, draw);
    }
}

/// Puts the numbers of one line.
struct Adder<'a> {
    page: &'a mut Page,
    id: &'a str,
}

impl Adder<'_> {
    fn put(
        &mut self,
        key: &str,
        label: &str,
        measure: Measure,
        value: f64,
        rule: Rule,
    ) -> &mut Found {
        let id = self.id;
        self.page.put(format!("tied.{id}.{key}"), format!("{id}: {label}"), measure, value, rule)
    }
}

fn one(page: &mut Page, told: &TiedLine, tied: &TiedReady, ready: &CutReady, draw: Draw) {
    let piece = &ready.section.piece;
    let (id, tether) = (&tied.id, &tied.tether);
    let weight_n = piece.mass_kg * GRAVITY_M_S2;
    let mut add = Adder { page, id };
    add.put("weight", "weight of the piece", Measure::Mass, piece.mass_kg, rules::WEIGHT);
    let over_hitch = tied.attach_m - tether.to_m;
    let fall_m = (over_hitch.z + tether.free_m).max(0.0);
    let figure = add.put(
        "fall",
        "free fall until it is tight, straight under",
        Measure::Length,
        fall_m,
        rules::TIED_FALL,
    );
    if over_hitch.truncate().length() > TO_THE_SIDE * tether.free_m {
        figure.outside.push(
            "its hitch or block is to the side: it swings in rather than falls in, and bears less"
                .to_owned(),
        );
    }
    let loaded_m = tether.loaded_m();
    add.put("loaded", "length that stretches", Measure::Length, loaded_m, rules::TIED_LOADED);
    add.put(
        "stiffness",
        "rope's stiffness EA",
        Measure::Force,
        tether.stiffness_n,
        rules::TIED_STIFFNESS,
    );
    let peak = peak_n(weight_n, fall_m, loaded_m, tether.stiffness_n).min(tether.runs_n);
    add.put("peak", "peak load of that fall", Measure::Force, peak, rules::TIED_PEAK);
    add.put(
        "peak_weights",
        "that in weights of the piece",
        Measure::Number,
        peak / weight_n,
        rules::TIED_PEAK,
    );
    add.put("working", "working load", Measure::Force, tied.working_n, rules::ROPE);
    let share = add.put(
        "working_share",
        "peak over working load",
        Measure::Share,
        over(peak, tied.working_n),
        rules::ROPE,
    );
    share.most(1.0, "more than the rope's working load");
    if !(5.0..=12.0).contains(&told.design_factor) {
        share.outside.push("a design factor outside the 5 to 12 of CI 1401".to_owned());
    }
    add.put("breaks", "breaking strength less knots", Measure::Force, tether.breaks_n, rules::ROPE);
    add.put(
        "breaks_share",
        "peak over that",
        Measure::Share,
        over(peak, tether.breaks_n),
        rules::ROPE,
    )
    .most(1.0, "it breaks");
    add.put(
        "swing",
        "tension of a swing from level, taut",
        Measure::Force,
        SWUNG * weight_n,
        rules::TIED_SWING,
    );
    let along_m = tether.at_m.distance(piece.butt_m());
    let farther_m = along_m.max(piece.length_m() - along_m);
    add.put(
        "reach",
        "as far as the piece can swing from hitch or block",
        Measure::Length,
        tether.free_m + farther_m,
        rules::TIED_REACH,
    );
    if let Hitch::Hand { hold_n, .. } = &told.hitch {
        let runs_m = if hold_n.told > weight_n {
            weight_n * fall_m / (hold_n.told - weight_n)
        } else {
            f64::INFINITY
        };
        let figure = add.put(
            "runs",
            "what hands let run before it stops, straight under",
            Measure::Length,
            runs_m,
            rules::TIED_HANDS,
        );
        if runs_m.is_infinite() {
            figure.outside.push("hands don't hold the piece's weight: they steer it".to_owned());
        }
    }
    let down = -DVec3::Z;
    let (hitch_n, tail_n) = tether.load_n(peak, down);
    if let (Some(tail), Some(block)) = (tether.tail, &told.block) {
        let between_rad = {
            let back = (tail.brake_m - tether.to_m).normalize_or(down);
            libm::acos(down.dot(back).clamp(-1.0, 1.0))
        };
        let load = hitch_n.length();
        let label = "angle between the legs of rope at the block";
        add.put("between", label, Measure::Angle, between_rad, rules::BLOCK);
        let figure = add.put("block", "peak on the block", Measure::Force, load, rules::TIED_BLOCK);
        if let Some(most) = block.working_n {
            figure.most(most.told, "more than the block is to be loaded with");
        }
        add.put("brake", "peak at the brake", Measure::Force, tail_n, rules::TIED_BLOCK);
        let leg = block.sling_rad.map_or(load, |legs| line::sling_leg_n(load, legs.told));
        let figure =
            add.put("sling", "peak on a leg of its sling", Measure::Force, leg, rules::SLING);
        if let Some(most) = block.sling_working_n {
            figure.most(most.told, "more than the sling is to be loaded with");
        }
        let from_square = block.sling_rad.map(|legs| 0.5 * (PI - legs.told));
        if from_square.is_some_and(|rad| rad < SLING_LEAST_RAD) {
            figure.outside.push("legs spread over 120°, which ASME B30.9 avoids".to_owned());
        }
    }
    let Some(spar) = &tied.spar else { return };
    let strength = draw.strength();
    let out = over_hitch.truncate().normalize_or(glam::DVec2::X).extend(0.0);
    for (key, label, off_rad) in [
        ("spar", "spar's bending strength used, peak straight under", 0.0),
        ("spar_out", "the same, peak 30° out from plumb", OUT_RAD),
    ] {
        let (sine, cosine) = libm::sincos(off_rad);
        let (hitch_n, tail_n) = tether.load_n(peak, out * sine + down * cosine);
        let (share, _) = spar.weakest(&tied.spar_loads(hitch_n, tail_n));
        add.put(key, label, Measure::Share, share / strength, rules::TIED_SPAR)
            .most(1.0, "more than the spar's clear green wood bears: it may break");
    }
}
