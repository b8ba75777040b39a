//! Matches the world: what a wind pushes a standing section with.

use std::fs;

use tumblewood::{
    job::{Job, Outer},
    scene,
};
use tumblewood_tests::{
    root,
    table::{Check, Table},
};

/// Air of 20 °C at sea level, kg/m³: 101,325 Pa over 287.05 J/(kg K) and 293.15 K.
const AIR_KG_M3: f64 = 101_325.0 / 287.05 / 293.15;

/// Of a section that is five to ten times as long as thick, as sections are.
#[test]
fn val_wind_on_a_section() {
    let mut check = Check::new(
        Table::World,
        "val_wind::val_wind_on_a_section",
        "force of a wind of 10 m/s on a standing section, over its area broadside and v²",
        "½ρC of a cylinder with free ends in a cross wind: drag coefficient 0.74 where it is five, \
         0.82 where it is ten times as long as thick (White, Fluid Mechanics, from memory), dry air \
         of 20 °C",
    );
    let text = fs::read_to_string(root().join("scenes/lake-oak.ron")).expect("a scene");
    let text = text.replacen("speed: Eyed(\"4 mph\")", "speed: Exactly(\"10 m/s\")", 1);
    let text = text.replacen("gust: Eyed(\"10 mph\")", "gust: Exactly(\"10 m/s\")", 1);
    let mut scene = scene::parse(&text, "lake-oak").unwrap_or_else(|e| panic!("{e}"));
    scene.folder = root().join("scenes");
    let job = Job::load(scene).unwrap_or_else(|e| panic!("{e}"));
    let world = job.world(Outer::Told).unwrap_or_else(|e| panic!("{e}"));
    let ready = world.cut(0).unwrap_or_else(|e| panic!("{e}"));
    let piece = &ready.section.piece;
    let stem = &piece.rounds[..piece.stem_rounds];
    let area_m2: f64 =
        stem.iter().map(|r| r.from_m.distance(r.to_m) * (r.from_radius_m + r.to_radius_m)).sum();
    let slenderness = piece.length_m() * piece.length_m() / area_m2;
    let seen = format!("{slenderness:.1} times as long as thick");
    check.holds("the section", (5.0..10.0).contains(&slenderness), &seen);
    let ours = ready.stand().wind_n.length() / area_m2 / 100.0;
    check.within("", "kg/m³", ours, [0.74, 0.82].map(|drag| 0.5 * AIR_KG_M3 * drag));
    check.end();
}
