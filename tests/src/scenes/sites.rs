//! Terrain, grounds, wind, and places on them.

use super::{
    Sketch,
    pen::{Kind, Pen},
};
use crate::root;

/// The site of a scene and the raster beside it, if it names one.
pub(super) fn site(pen: &mut Pen, sketch: &mut Sketch) -> (String, Option<(String, String)>) {
    let mut beside = None;
    let terrain = match pen.whole(0, 9) {
        0..=5 => transects(pen, sketch),
        6 | 7 => inline(pen, sketch),
        8 => {
            sketch.stump = Some([4_000.0, 7_000.0]);
            beside = Some(("bank.asc".to_owned(), ascii(pen, sketch.down_deg)));
            "AsciiGrid(file: \"bank.asc\", stump: (4000.0, 7000.0))".to_owned()
        }
        _ => {
            sketch.stump = Some([429_340.8, 5_150_646.9]);
            let file = root().join("assets/terrain/lidar-hillside.tif");
            let around = pen.length(50.0);
            format!(
                "GeoTiff(file: {:?}, stump: (429340.8, 5150646.9), around: {around})",
                file.display().to_string()
            )
        }
    };
    let north = if sketch.stump.is_some() || pen.one_in(3) {
        match pen.pick(&["Magnetic", "True", "Grid"]) {
            "Magnetic" => {
                let east = pen.within(-20.0, 20.0);
                format!("north: Magnetic(declination: {}), ", pen.said(Kind::Angle, east))
            }
            word => format!("north: {word}, "),
        }
    } else {
        String::new()
    };
    let breaklines: Vec<String> = (0..pen.whole(0, 2)).map(|i| breakline(pen, sketch, i)).collect();
    let bottom = ground(pen);
    let patches: Vec<String> = (0..pen.whole(0, 2))
        .map(|_| {
            let (id, outline) = (sketch.id("patch"), quad(pen, sketch, 6.0, 8.0));
            format!("(id: \"{id}\", outline: {outline}, ground: {})", ground(pen))
        })
        .collect();
    let wind = if pen.one_in(2) {
        // Not known is 2 m/s, the gust 4 m/s.
        let speed = pen.within(0.0, 4.0).round();
        let gust = pen.within(1.5, 2.5) * speed + 4.0;
        let from = pen.within(0.0, 360.0).floor();
        let (speed, gust) = (pen.told_or_not(Kind::Speed, speed), pen.told(Kind::Speed, gust));
        let from = pen.told_or_not(Kind::Azimuth, from);
        format!("wind: (speed: {speed}, gust: {gust}, from: {from}), ")
    } else {
        String::new()
    };
    let text = format!(
        "(\n        terrain: {terrain},\n        {north}breaklines: [{}],\n        ground: {bottom},\n        \
         patches: [{}],\n        {wind}\n    )",
        breaklines.join(", "),
        patches.join(", ")
    );
    (text, beside)
}

fn transects(pen: &mut Pen, sketch: &mut Sketch) -> String {
    let mut lines = Vec::new();
    let mut line = |pen: &mut Pen, id: &str, from: &str, turn_deg: f64, slope: [f64; 2], n| {
        let azimuth = (sketch.down_deg + turn_deg + pen.within(-12.0, 12.0)).rem_euclid(360.0);
        let azimuth = pen.told(Kind::Azimuth, azimuth.floor());
        let legs: Vec<String> = (0..n)
            .map(|_| {
                let (length, slope) = (pen.lengths(6.0, 12.0), pen.within(slope[0], slope[1]));
                format!("({length}, {})", pen.told(Kind::Slope, slope))
            })
            .collect();
        let from = match from {
            "" => String::new(),
            from => format!("from: \"{from}\", "),
        };
        lines
            .push(format!("(id: \"{id}\", {from}azimuth: {azimuth}, legs: [{}])", legs.join(", ")));
        sketch.lines.push((id.to_owned(), n));
    };
    let steepest = pen.within(-45.0, -5.0);
    let legs = pen.whole(3, 5);
    line(pen, "down", pen_from(legs), 0.0, [steepest, steepest + 15.0], legs);
    line(pen, "up", "stump", 180.0, [-5.0, 25.0], 2);
    line(pen, "left", "", 270.0, [-8.0, 8.0], 2);
    line(pen, "right", "", 90.0, [-8.0, 8.0], 2);
    if pen.one_in(2) {
        let from = format!("down:{legs}");
        line(pen, "low-left", &from, 270.0, [-5.0, 5.0], 2);
        line(pen, "low-right", "down:2", 90.0, [-5.0, 5.0], 3);
    }
    format!("Transects(lines: [{}])", lines.join(", "))
}

/// The stump, said or left out.
fn pen_from(legs: usize) -> &'static str {
    if legs.is_multiple_of(2) { "stump" } else { "" }
}

/// Heights of a bank with bumps of its own, m.
fn bank(pen: &mut Pen, down_deg: f64) -> impl Fn(f64, f64) -> f64 + use<> {
    let (slope, bump, wave) = (pen.within(0.05, 0.9), pen.within(0.0, 0.6), pen.within(4.0, 15.0));
    let (sine, cosine) = down_deg.to_radians().sin_cos();
    move |x, y| {
        let bumps = (x / wave).sin() * (y / wave + 1.0).cos();
        100.0 - slope * (x * sine + y * cosine) + bump * bumps
    }
}

fn inline(pen: &mut Pen, sketch: &mut Sketch) -> String {
    let cell_m = if pen.one_in(2) { 1.0 } else { 2.0 };
    let half = if cell_m < 1.5 { 40 } else { 20 };
    let n = 2 * half + 1;
    let height = bank(pen, sketch.down_deg);
    let at = |k: usize| (k as f64 - half as f64) * cell_m;
    let heights: Vec<String> =
        (0..n * n).map(|k| format!("{:.2}", height(at(k % n), at(k / n)))).collect();
    let place = if pen.one_in(2) {
        sketch.stump = Some([500.0, 900.0]);
        ", stump: (500.0, 900.0)"
    } else {
        ""
    };
    format!(
        "Inline(cell: \"{cell_m} m\", columns: {n}, rows: {n}, south_west: (\"{low} m\", \"{low} m\"), \
         heights_m: [{}]{place})",
        heights.join(","),
        low = -(half as f64) * cell_m,
    )
}

fn ascii(pen: &mut Pen, down_deg: f64) -> String {
    let height = bank(pen, down_deg);
    let mut text = "ncols 81\nnrows 81\nxllcorner 3959.5\nyllcorner 6959.5\ncellsize 1\n\
                    NODATA_value -9999\n"
        .to_owned();
    for row in 0..81 {
        let heights: Vec<String> = (0..81)
            .map(|column| format!("{:.2}", height(f64::from(column) - 40.0, 40.0 - f64::from(row))))
            .collect();
        text += &heights.join(" ");
        text.push('\n');
    }
    text
}

fn breakline(pen: &mut Pen, sketch: &mut Sketch, i: usize) -> String {
    // Across the fall line, the second above the stump.
    let away_m = if i == 0 { pen.within(3.0, 12.0) } else { pen.within(-12.0, -5.0) };
    let points: Vec<String> = [-14.0, 0.0, 14.0]
        .iter()
        .map(|along| {
            let bend = pen.within(-1.0, 1.0);
            local(pen, sketch, away_m + bend, *along)
        })
        .collect();
    let (id, height) = (sketch.id("bank"), pen.lengths(0.2, 1.2));
    let side = pen.pick(&["Left", "Right"]);
    format!("(id: \"{id}\", points: [{}], height: {height}, low_side: {side})", points.join(", "))
}

/// The ground in words.
fn ground(pen: &mut Pen) -> String {
    let soil = pen.pick(&[
        "FistEasily",
        "ThumbEasily",
        "ThumbWithEffort",
        "ThumbIndents",
        "Thumbnail",
        "ThumbnailWithDifficulty",
        "HeelNoMark",
        "HeelOneCm",
        "HeelThreeCm",
        "HeelOverTheWelt",
        "Gravel",
        "Pavement",
        "DontKnow",
    ]);
    let cover = match pen.pick(&["Litter", "Turf", "Bare", "DontKnow"]) {
        word @ ("Litter" | "Turf") => {
            let depth = pen.within(0.01, 0.15);
            format!("{word}({})", pen.told_or_not(Kind::Thickness, depth))
        }
        word => word.to_owned(),
    };
    let roughness = match pen.pick(&["Lawn", "Ankle", "Knee", "Bumps", "DontKnow"]) {
        "Bumps" => {
            let height = pen.within(0.0, 0.5);
            format!("Bumps({})", pen.told_or_not(Kind::Thickness, height))
        }
        word => word.to_owned(),
    };
    let wetness = pen.pick(&["Dry", "Damp", "Wet", "DontKnow"]);
    let undergrowth = if pen.one_in(3) {
        let [spacing, thickness, height] =
            [pen.within(0.3, 4.0), pen.within(0.006, 0.08), pen.within(0.3, 4.0)];
        format!(
            ", undergrowth: (spacing: {}, thickness: {}, height: {})",
            pen.told_or_not(Kind::Length, spacing),
            pen.told_or_not(Kind::Thickness, thickness),
            pen.told_or_not(Kind::Length, height)
        )
    } else {
        String::new()
    };
    let hard = if pen.one_in(4) {
        let depth = pen.within(0.05, 1.5);
        format!(", hard_at: {}", pen.told_or_not(Kind::Length, depth))
    } else {
        String::new()
    };
    format!(
        "(soil: {soil}, cover: {cover}, roughness: {roughness}{undergrowth}, wetness: {wetness}{hard})"
    )
}

/// A place so far down the fall line and to its left, m, from the stump.
pub(super) fn local(pen: &mut Pen, sketch: &Sketch, down_m: f64, left_m: f64) -> String {
    let (sine, cosine) = sketch.down_deg.to_radians().sin_cos();
    let (x, y) = (down_m * sine - left_m * cosine, down_m * cosine + left_m * sine);
    if let Some([east, north]) = sketch.stump
        && pen.one_in(3)
    {
        return format!("Grid(x: {:.2}, y: {:.2})", east + x, north + y);
    }
    if pen.one_in(2) {
        let (x, y) = (pen.told(Kind::Length, x), pen.told(Kind::Length, y));
        return format!("Local(east: {x}, north: {y})");
    }
    let azimuth = x.atan2(y).to_degrees().rem_euclid(360.0).min(359.9);
    let (azimuth, distance) =
        (pen.told(Kind::Azimuth, azimuth), pen.told(Kind::Length, x.hypot(y)));
    format!("At(azimuth: {azimuth}, distance: {distance})")
}

/// Any place 3 to 18 m from the stump, said in any way.
pub(super) fn place(pen: &mut Pen, sketch: &Sketch) -> String {
    if !sketch.lines.is_empty() && pen.one_in(3) {
        let (id, legs) = sketch.lines[pen.whole(0, sketch.lines.len().min(4) - 1)].clone();
        let leg = pen.whole(1, legs.min(2));
        if pen.one_in(2) {
            return format!("Station(\"{id}:{leg}\")");
        }
        let (azimuth, tape) = (pen.within(0.0, 360.0).floor(), pen.within(0.5, 2.0));
        let (azimuth, tape) = (pen.told(Kind::Azimuth, azimuth), pen.told(Kind::Length, tape));
        return format!("At(from: \"{id}:{leg}\", azimuth: {azimuth}, distance: {tape})");
    }
    let (angle, distance) = (pen.within(0.0, std::f64::consts::TAU), pen.within(3.0, 18.0));
    if pen.one_in(4) {
        let (tape, slope) = (pen.told(Kind::Length, distance), pen.within(-30.0, 30.0));
        let (azimuth, slope) =
            (pen.told(Kind::Azimuth, angle.to_degrees().floor()), pen.told(Kind::Slope, slope));
        return format!("At(azimuth: {azimuth}, distance: {tape}, slope: {slope})");
    }
    local(pen, sketch, distance * angle.cos(), distance * angle.sin())
}

/// Four corners about a place 7 to 16 m from the stump, in a list.
pub(super) fn quad(pen: &mut Pen, sketch: &Sketch, long_m: f64, wide_m: f64) -> String {
    let (angle, away) = (pen.within(-1.2, 1.2), pen.within(7.0, 16.0));
    let (down, left) = (away * angle.cos(), away * angle.sin());
    let [long, wide] = [0.5 * pen.within(0.5, 1.0) * long_m, 0.5 * pen.within(0.5, 1.0) * wide_m];
    let turn = pen.within(0.0, 1.5);
    let corners: Vec<String> = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .iter()
        .map(|(u, v)| {
            let (u, v) = (u * long, v * wide);
            let (sine, cosine) = turn.sin_cos();
            local(pen, sketch, down + u * cosine - v * sine, left + u * sine + v * cosine)
        })
        .collect();
    format!("[{}]", corners.join(", "))
}
