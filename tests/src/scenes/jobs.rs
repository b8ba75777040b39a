//! The tree and its cuts.

use super::{
    Sketch,
    pen::{Kind, Pen},
    sites::{local, place},
};

const SPECIES: [&str; 21] = [
    "Black cherry",
    "White oak",
    "Northern red oak",
    "Sugar maple",
    "Red maple",
    "Silver maple",
    "American sycamore",
    "Yellow-poplar",
    "Hackberry",
    "White ash",
    "American elm",
    "Black walnut",
    "Black locust",
    "Eastern white pine",
    "Douglas-fir (coast)",
    "Loblolly pine",
    "Eastern redcedar",
    "Eastern hemlock",
    "American beech",
    "Eastern cottonwood",
    "Sweetgum",
];
/// Height of breast-height diameter, m.
const BREAST_M: f64 = 1.37;
/// A tree whose height or diameter isn't known is told so, m.
const UNKNOWN_M: [f64; 2] = [20.0, 0.4];

/// A piece that a line can pull: the cut's id, its butt and top, m.
type Pulled = (String, [f64; 2]);

/// Tree, cuts from the top down, and the last of them that turns on a hinge.
pub(super) fn tree_and_cuts(
    pen: &mut Pen,
    sketch: &mut Sketch,
) -> (String, String, Option<Pulled>) {
    let mut height_m = pen.within(8.0, 32.0);
    height_m = pen.rounded(height_m);
    let slender = pen.within(0.01, 0.03);
    let mut dbh_m = pen.rounded(0.12 + slender * height_m);
    let (mut height, mut dbh) = (pen.told(Kind::Length, height_m), pen.told(Kind::Length, dbh_m));
    if pen.one_in(8) {
        ([height_m, dbh_m], height, dbh) =
            (UNKNOWN_M, "DontKnow".to_owned(), "DontKnow".to_owned());
    }
    let stem_m = |at_m: f64| dbh_m * ((height_m - at_m) / (height_m - BREAST_M)).min(1.0);
    let mut top_m = height_m;
    // Not known, the height is no whole number of inches that a cut could end at.
    let topped = if height_m == UNKNOWN_M[0] || pen.one_in(2) {
        let share = pen.within(0.4, 0.9);
        top_m = pen.rounded(height_m * share);
        format!(", topped_at: {}", pen.told(Kind::Length, top_m))
    } else {
        String::new()
    };
    let diameters: Vec<String> = (0..if pen.one_in(2) { pen.whole(1, 4) } else { 0 })
        .map(|i| {
            let share = 0.2 * i as f64 + pen.within(0.0, 0.12);
            let at_m = pen.rounded(0.5 + height_m * share);
            let wide_m = stem_m(at_m) * pen.within(0.9, 1.05);
            format!("({}, {})", pen.told(Kind::Length, at_m), pen.told(Kind::Thickness, wide_m))
        })
        .collect();
    let lean = lean(pen, height_m);
    let hollows: Vec<String> = if pen.one_in(3) {
        let from_m = {
            let share = pen.within(0.0, 0.3);
            pen.rounded(share * height_m)
        };
        let (to_m, shell_m) =
            (from_m + pen.within(0.3, 4.0), 0.5 * stem_m(from_m) * pen.within(0.25, 0.8));
        let (from, to) = (pen.told(Kind::Length, from_m), pen.told(Kind::Length, to_m));
        vec![format!("(from: {from}, to: {to}, shell: {})", pen.told(Kind::Thickness, shell_m))]
    } else {
        Vec::new()
    };
    let species = SPECIES[pen.whole(0, SPECIES.len() - 1)];
    let tree = format!(
        "(species: \"{species}\", dbh: {dbh}, height: {height}{topped}, diameters: [{}]{lean}, \
         hollows: [{}])",
        diameters.join(", "),
        hollows.join(", ")
    );
    let n = pen.whole(1, 3);
    let mut cuts = Vec::new();
    let mut pulled = None;
    for i in 0..n {
        let longest = (0.5 * top_m).min(5.0);
        let from_m = if i + 1 == n && pen.one_in(4) {
            pen.within(0.1, 1.4)
        } else {
            top_m - pen.within(0.2 * longest, longest)
        };
        let from_m = pen.rounded(from_m).max(0.0);
        // A top is cut off below where it is a twig.
        let from_m = if from_m > 0.9 * height_m { pen.rounded(0.9 * height_m) } else { from_m };
        let cut = cut(pen, sketch, from_m, top_m, &stem_m);
        if cut.contains("Hinge(") {
            pulled = Some((format!("cut-{}", sketch.ids), [from_m, top_m]));
        }
        cuts.push(cut);
        top_m = from_m;
        if top_m < 2.0 {
            break;
        }
    }
    (tree, cuts.join(",\n        "), pulled)
}

/// A pull line on a piece, to one side of the tree, over a redirect on another or straight.
pub(super) fn lines(pen: &mut Pen, sketch: &mut Sketch, pulled: Option<Pulled>) -> String {
    let Some((cut, [from_m, to_m])) = pulled.filter(|_| pen.one_in(2)) else {
        return String::new();
    };
    // Well inside, for what was written is rounded.
    let up_m = from_m + (to_m - from_m) * pen.within(0.3, 0.8);
    let height = pen.said(Kind::Length, up_m);
    let rope = pen.pick(&["nylon 3-strand 5/8 in", "manila 3-strand 1/2 in", "marked 12 mm"]);
    let strength = if rope.starts_with("marked") {
        let strength = pen.within(5_000.0, 40_000.0);
        format!(", strength: {}", pen.told(Kind::Force, strength))
    } else {
        String::new()
    };
    let redirect = if pen.one_in(2) {
        let id = sketch.id("block");
        let at = local(pen, sketch, 9.0, 4.0);
        let (high, over) =
            (pen.lengths(0.3, 2.0), pen.pick(&["", ", over: Block", ", over: Wood"]));
        format!("(id: \"{id}\", at: {at}, height: {high}{over})")
    } else {
        String::new()
    };
    let far = local(pen, sketch, 12.0, -5.0);
    let high = pen.lengths(0.3, 2.0);
    let anchor = match pen.pick(&["Tree", "Stump", "Vehicle"]) {
        "Vehicle" => {
            let driven = pen.within(0.4, 0.9);
            let driven = pen.told(Kind::Share, driven);
            format!("Vehicle(at: {far}, height: {high}, mass: Eyed(\"3 t\"), driven: {driven})")
        }
        word => format!("{word}(at: {far}, height: {high})"),
    };
    let (id, force) = (sketch.id("line"), pen.within(100.0, 9_000.0));
    let pull = pen.told(Kind::Force, force);
    format!(
        "PullLine(id: \"{id}\", cut: \"{cut}\", height: {height}, rope: \"{rope}\"{strength}, \
         redirects: [{redirect}], anchor: {anchor}, pull: {pull})"
    )
}

fn lean(pen: &mut Pen, height_m: f64) -> String {
    let toward = pen.within(0.0, 360.0).floor();
    match pen.pick(&["", "Upright", "Plumb", "Angle"]) {
        "" => String::new(),
        "Plumb" => {
            let at_m = height_m * pen.within(0.2, 0.7);
            let offset_m = at_m * pen.within(0.0, 0.2);
            format!(
                ", lean: Plumb(offset: {}, height: {}, toward: {})",
                pen.told(Kind::Length, offset_m),
                pen.told(Kind::Length, at_m),
                pen.told_or_not(Kind::Azimuth, toward)
            )
        }
        "Angle" => {
            let angle = pen.within(0.0, 15.0);
            format!(
                ", lean: Angle(angle: {}, toward: {})",
                pen.told_or_not(Kind::Angle, angle),
                pen.told_or_not(Kind::Azimuth, toward)
            )
        }
        word => format!(", lean: {word}"),
    }
}

fn cut(
    pen: &mut Pen,
    sketch: &mut Sketch,
    from_m: f64,
    to_m: f64,
    stem_m: &dyn Fn(f64) -> f64,
) -> String {
    let id = sketch.id("cut");
    let (from, to) = (pen.told(Kind::Length, from_m), pen.told(Kind::Length, to_m));
    // A twig bears no stub.
    let most = if stem_m(to_m) > 0.03 && pen.one_in(2) { pen.whole(1, 3) } else { 0 };
    let stubs: Vec<String> = (0..most)
        .map(|_| {
            // Well inside, for what was written is rounded.
            let at_m = from_m + (to_m - from_m) * pen.within(0.2, 0.8);
            let wide_m = (stem_m(at_m) * pen.within(0.2, 0.7)).max(0.012);
            let azimuth = pen.within(0.0, 360.0).floor();
            let height = pen.said(Kind::Length, at_m);
            let (azimuth, length) = (pen.told(Kind::Azimuth, azimuth), pen.lengths(0.1, 1.2));
            let diameter = pen.told(Kind::Thickness, wide_m);
            format!(
                "(height: {height}, azimuth: {azimuth}, length: {length}, diameter: {diameter})"
            )
        })
        .collect();
    let release = release(pen, stem_m(from_m), to_m - from_m);
    let cutter = match pen.pick(&["", "OnTheSpar", "OnTheGround"]) {
        "" => String::new(),
        word => format!(", cutter: {word}"),
    };
    let after = match pen.pick(&["", "Cleared", "LeftWhereItStops", "LeftAt"]) {
        "" => String::new(),
        "LeftAt" => {
            let (at, axis) = (place(pen, sketch), pen.within(0.0, 360.0).floor());
            format!(", after: LeftAt(at: {at}, axis: {})", pen.told(Kind::Azimuth, axis))
        }
        word => format!(", after: {word}"),
    };
    format!(
        "(id: \"{id}\", piece: Section(from: {from}, to: {to}), stubs: [{}], release: \
         {release}{cutter}{after})",
        stubs.join(", ")
    )
}

fn release(pen: &mut Pen, stem_m: f64, length_m: f64) -> String {
    let azimuth = pen.within(0.0, 360.0).floor();
    let push = if pen.one_in(4) {
        String::new()
    } else {
        let (force, height) = (pen.within(50.0, 1_500.0), 0.8 * length_m * pen.within(0.3, 0.9));
        let force = pen.told_or_not(Kind::Force, force);
        format!(", push: (force: {force}, height: {})", pen.told(Kind::Length, height.max(0.03)))
    };
    let word = pen.pick(&["Hinge", "Snap", "PushOver", "BoredHinge"]);
    let toward = pen.told(Kind::Azimuth, azimuth);
    if matches!(word, "Snap" | "PushOver") {
        return format!("{word}(toward: {toward}{push})");
    }
    let (opening, depth) = (pen.within(30.0, 110.0), pen.within(0.1, 0.4));
    let hinge = (stem_m * pen.within(0.02, 0.15)).max(0.004);
    let (opening, depth) = (pen.told(Kind::Angle, opening), pen.told(Kind::Share, depth));
    let hinge = pen.told(Kind::Thickness, hinge);
    let width = if pen.one_in(2) {
        let width = pen.within(0.5, 1.0);
        format!(", width: {}", pen.said(Kind::Share, width))
    } else {
        String::new()
    };
    let strap = if word == "BoredHinge" {
        let strap = (stem_m * pen.within(0.03, 0.2)).max(0.004);
        format!(", strap: {}", pen.told(Kind::Thickness, strap))
    } else {
        String::new()
    };
    format!(
        "{word}(face: {toward}, opening: {opening}, depth: {depth}, hinge: {hinge}{width}{strap}{push})"
    )
}
