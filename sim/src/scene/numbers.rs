//! Every doubtful number of a scene, by its path.
//!
//! A path names items by id, never by position (`cuts.top.piece.length_m`), so that a key made from
//! it draws the same number whatever else is added to the scene.
//!
//! Two kinds of numbers are in doubt together, because they were measured together. The corners
//! of one outline or line share one draw of each kind of number, so that a building moves and does
//! not fold; and a section is its butt's height and its length, so that a section of 1 ft high up
//! keeps its foot.

use super::{
    doubt::{Doubtful, How, Spread},
    model::*,
};

type Visit<'a> = &'a mut dyn FnMut(&str, &mut Doubtful);

impl Scene {
    /// Visits every number that can be in doubt, in the order of the file, with its path.
    ///
    /// A visitor may leave a number or put an exact one in its place. For the corners of an
    /// outline or line it sees the first corner's numbers, and the others follow.
    pub fn each_number(&mut self, visit: Visit<'_>) {
        site(&mut self.site, visit);
        tree(&mut self.tree, visit);
        for target in &mut self.targets {
            target_numbers(&format!("targets.{}", target.id), &mut target.kind, visit);
        }
        if let ClimberSpec::At { at, feet_m } = &mut self.climber {
            place("climber.at", at, visit);
            visit("climber.feet_m", feet_m);
        }
        if let ClimberLineSpec::To(at) = &mut self.climber_line {
            place("climber_line.to", at, visit);
        }
        if let FellerSpec::At(at) = &mut self.feller {
            place("feller.at", at, visit);
        }
        for aid in &mut self.aids {
            aid_numbers(&format!("aids.{}", aid.id), &mut aid.kind, visit);
        }
        for cut in &mut self.cuts {
            cut_numbers(cut, visit);
        }
        for line in &mut self.lines {
            line_numbers(line, visit);
        }
    }

    /// The scene with every doubtful number replaced by `draw(path, number)`.
    ///
    /// The result holds exact numbers only: `told` is the value drawn.
    #[must_use]
    pub fn realise(&self, draw: &mut dyn FnMut(&str, &Doubtful) -> f64) -> Self {
        let mut scene = self.clone();
        scene.each_number(&mut |path, number| {
            let value = if number.is_doubtful() { draw(path, number) } else { number.told };
            *number = Doubtful::exact(value);
        });
        scene
    }

    /// Every number that is in doubt, with its path, in the order of the file.
    #[must_use]
    pub fn doubts(&self) -> Vec<(String, Doubtful)> {
        let mut found = Vec::new();
        self.clone().each_number(&mut |path, number| {
            if number.is_doubtful() {
                found.push((path.to_owned(), *number));
            }
        });
        found
    }
}

fn site(site: &mut SiteSpec, visit: Visit<'_>) {
    for line in site.terrain.legs_mut() {
        let path = format!("site.transects.{}", line.id);
        visit(&format!("{path}.azimuth_rad"), &mut line.azimuth_rad);
        for (i, leg) in line.legs.iter_mut().enumerate() {
            visit(&format!("{path}.{}.slope_distance_m", i + 1), &mut leg.slope_distance_m);
            visit(&format!("{path}.{}.inclination_rad", i + 1), &mut leg.inclination_rad);
        }
    }
    for line in &mut site.breaklines {
        let path = format!("site.breaklines.{}", line.id);
        places(&format!("{path}.points"), &mut line.points, visit);
        visit(&format!("{path}.height_m"), &mut line.height_m);
    }
    ground("site.ground", &mut site.ground, visit);
    for patch in &mut site.patches {
        let path = format!("site.patches.{}", patch.id);
        places(&format!("{path}.outline"), &mut patch.outline, visit);
        ground(&format!("{path}.ground"), &mut patch.ground, visit);
    }
    if let Some(wind) = &mut site.wind {
        visit("site.wind.speed_m_s", &mut wind.speed_m_s);
        visit("site.wind.gust_m_s", &mut wind.gust_m_s);
        visit("site.wind.from_rad", &mut wind.from_rad);
    }
}

fn ground(path: &str, ground: &mut GroundSpec, visit: Visit<'_>) {
    match &mut ground.cover {
        Cover::Litter(depth) => visit(&format!("{path}.litter_m"), depth),
        Cover::Turf(depth) => visit(&format!("{path}.turf_m"), depth),
        Cover::Bare | Cover::DontKnow => {}
    }
    if let Roughness::Measured(height) = &mut ground.roughness {
        visit(&format!("{path}.roughness_m"), height);
    }
    if let Some(undergrowth) = &mut ground.undergrowth {
        visit(&format!("{path}.undergrowth.spacing_m"), &mut undergrowth.spacing_m);
        visit(&format!("{path}.undergrowth.thickness_m"), &mut undergrowth.thickness_m);
        visit(&format!("{path}.undergrowth.height_m"), &mut undergrowth.height_m);
    }
    if let Some(depth) = &mut ground.hard_at_m {
        visit(&format!("{path}.hard_at_m"), depth);
    }
}

fn tree(tree: &mut TreeSpec, visit: Visit<'_>) {
    visit("tree.dbh_m", &mut tree.dbh_m);
    visit("tree.height_m", &mut tree.height_m);
    if let Some(height) = &mut tree.topped_at_m {
        visit("tree.topped_at_m", height);
    }
    for (i, at) in tree.diameters.iter_mut().enumerate() {
        visit(&format!("tree.diameters.{}.height_m", i + 1), &mut at.height_m);
        visit(&format!("tree.diameters.{}.diameter_m", i + 1), &mut at.diameter_m);
    }
    match &mut tree.lean {
        Lean::Upright(angle) => visit("tree.lean.angle_rad", angle),
        Lean::Plumb { offset_m, height_m, toward_rad } => {
            visit("tree.lean.offset_m", offset_m);
            visit("tree.lean.height_m", height_m);
            visit("tree.lean.toward_rad", toward_rad);
        }
        Lean::Angle { angle_rad, toward_rad } => {
            visit("tree.lean.angle_rad", angle_rad);
            visit("tree.lean.toward_rad", toward_rad);
        }
    }
    for (i, hollow) in tree.hollows.iter_mut().enumerate() {
        visit(&format!("tree.hollows.{}.from_m", i + 1), &mut hollow.from_m);
        visit(&format!("tree.hollows.{}.to_m", i + 1), &mut hollow.to_m);
        visit(&format!("tree.hollows.{}.shell_m", i + 1), &mut hollow.shell_m);
    }
    for limb in &mut tree.limbs {
        let path = format!("tree.limbs.{}", limb.id);
        visit(&format!("{path}.height_m"), &mut limb.height_m);
        visit(&format!("{path}.azimuth_rad"), &mut limb.azimuth_rad);
        visit(&format!("{path}.angle_rad"), &mut limb.angle_rad);
        visit(&format!("{path}.length_m"), &mut limb.length_m);
        visit(&format!("{path}.diameter_m"), &mut limb.diameter_m);
        match &mut limb.brush {
            BrushSpec::Share(share) => visit(&format!("{path}.brush_share"), share),
            BrushSpec::Mass(mass) => visit(&format!("{path}.brush_kg"), mass),
        }
    }
    if let Some(crown) = &mut tree.crown {
        visit("tree.crown.from_m", &mut crown.from_m);
        visit("tree.crown.spread_m", &mut crown.spread_m);
        visit("tree.crown.factor", &mut crown.factor);
    }
}

fn place(path: &str, place: &mut Place, visit: Visit<'_>) {
    for kind in PLACE_NUMBERS {
        if let Some(number) = place_number(place, kind) {
            visit(&format!("{path}.{kind}"), number);
        }
    }
}

/// The kinds of numbers a place is made of.
const PLACE_NUMBERS: [&str; 5] =
    ["azimuth_rad", "distance_m", "inclination_rad", "east_m", "north_m"];

fn place_number<'a>(place: &'a mut Place, kind: &str) -> Option<&'a mut Doubtful> {
    match (place, kind) {
        (Place::Taped { azimuth_rad, .. }, "azimuth_rad") => Some(azimuth_rad),
        (Place::Taped { distance_m, .. }, "distance_m") => Some(distance_m),
        (Place::Taped { inclination_rad, .. }, "inclination_rad") => Some(inclination_rad),
        (Place::Local { east_m, .. }, "east_m") => Some(east_m),
        (Place::Local { north_m, .. }, "north_m") => Some(north_m),
        _ => None,
    }
}

/// The points of one outline or line: all as far through their limits as the first.
fn places(path: &str, points: &mut [Place], visit: Visit<'_>) {
    for kind in PLACE_NUMBERS {
        let mut numbers: Vec<&mut Doubtful> =
            points.iter_mut().filter_map(|point| place_number(point, kind)).collect();
        let first = numbers.iter().position(|n| n.is_doubtful()).unwrap_or(0);
        let Some(lead) = numbers.get_mut(first) else { continue };
        let Spread { low, high, .. } = lead.spread;
        let was_doubtful = lead.is_doubtful();
        visit(&format!("{path}.{kind}"), lead);
        if was_doubtful && !lead.is_doubtful() {
            let share = (lead.told - low) / (high - low);
            for number in numbers {
                *number = Doubtful::exact(number.at(share));
            }
        }
    }
}

/// A section as the height of its butt and its length.
fn section_numbers(path: &str, from_m: &mut Doubtful, to_m: &mut Doubtful, visit: Visit<'_>) {
    let told = to_m.told - from_m.told;
    let Spread { low, high, how } = to_m.spread;
    let limit = |limit: f64| match how {
        How::Stated => limit - from_m.told,
        // The same parts of the length as of the height.
        _ if to_m.told > 0.0 => told * limit / to_m.told,
        _ => told,
    };
    let spread = Spread { low: limit(low).max(0.0), high: limit(high), how };
    let mut length_m = Doubtful { told, spread };
    let before = (*from_m, length_m);
    visit(&format!("{path}.from_m"), from_m);
    visit(&format!("{path}.length_m"), &mut length_m);
    if before == (*from_m, length_m) {
        return;
    }
    let told = from_m.told + length_m.told;
    *to_m = Doubtful {
        told,
        spread: Spread {
            low: told + (length_m.spread.low - length_m.told),
            high: told + (length_m.spread.high - length_m.told),
            how: length_m.spread.how,
        },
    };
}

fn target_numbers(path: &str, kind: &mut TargetKind, visit: Visit<'_>) {
    match kind {
        TargetKind::Structure { corners, wall_m, roof_m, windows: _ } => {
            places(&format!("{path}.corners"), corners, visit);
            visit(&format!("{path}.wall_m"), wall_m);
            visit(&format!("{path}.roof_m"), roof_m);
        }
        TargetKind::KeepTree { at, diameter_m, height_m, limbs } => {
            place(&format!("{path}.at"), at, visit);
            visit(&format!("{path}.diameter_m"), diameter_m);
            visit(&format!("{path}.height_m"), height_m);
            if let Some(limbs) = limbs {
                visit(&format!("{path}.limbs.from_m"), &mut limbs.from_m);
                visit(&format!("{path}.limbs.spread_m"), &mut limbs.spread_m);
            }
        }
        TargetKind::Person { at } => place(&format!("{path}.at"), at, visit),
        TargetKind::Vehicle { at, heading_rad, length_m, width_m, height_m } => {
            place(&format!("{path}.at"), at, visit);
            visit(&format!("{path}.heading_rad"), heading_rad);
            visit(&format!("{path}.length_m"), length_m);
            visit(&format!("{path}.width_m"), width_m);
            visit(&format!("{path}.height_m"), height_m);
        }
        TargetKind::Path { line, width_m } => {
            places(&format!("{path}.line"), line, visit);
            visit(&format!("{path}.width_m"), width_m);
        }
        TargetKind::Wire { from, to, sag_m } => {
            place(&format!("{path}.from.at"), &mut from.at, visit);
            visit(&format!("{path}.from.height_m"), &mut from.height_m);
            place(&format!("{path}.to.at"), &mut to.at, visit);
            visit(&format!("{path}.to.height_m"), &mut to.height_m);
            visit(&format!("{path}.sag_m"), sag_m);
        }
    }
}

fn aid_numbers(path: &str, kind: &mut AidKind, visit: Visit<'_>) {
    match kind {
        AidKind::BarrierLog { from, to, diameter_m, held: _ } => {
            place(&format!("{path}.from"), from, visit);
            place(&format!("{path}.to"), to, visit);
            visit(&format!("{path}.diameter_m"), diameter_m);
        }
        AidKind::BrushMat { outline, thickness_m } => {
            places(&format!("{path}.outline"), outline, visit);
            visit(&format!("{path}.thickness_m"), thickness_m);
        }
        AidKind::Wall { line, height_m, thickness_m } => {
            places(&format!("{path}.line"), line, visit);
            visit(&format!("{path}.height_m"), height_m);
            visit(&format!("{path}.thickness_m"), thickness_m);
        }
        AidKind::Stump { at, diameter_m, height_m } => {
            place(&format!("{path}.at"), at, visit);
            visit(&format!("{path}.diameter_m"), diameter_m);
            visit(&format!("{path}.height_m"), height_m);
        }
    }
}

fn cut_numbers(cut: &mut Cut, visit: Visit<'_>) {
    let path = format!("cuts.{}", cut.id);
    match &mut cut.piece {
        PieceSpec::Section { from_m, to_m } => {
            section_numbers(&format!("{path}.piece"), from_m, to_m, visit);
        }
        PieceSpec::Limb { at_m, .. } => visit(&format!("{path}.piece.at_m"), at_m),
        PieceSpec::Top { from_m } => visit(&format!("{path}.piece.from_m"), from_m),
    }
    for (i, stub) in cut.stubs.iter_mut().enumerate() {
        let path = format!("{path}.stubs.{}", i + 1);
        visit(&format!("{path}.height_m"), &mut stub.height_m);
        visit(&format!("{path}.azimuth_rad"), &mut stub.azimuth_rad);
        visit(&format!("{path}.length_m"), &mut stub.length_m);
        visit(&format!("{path}.diameter_m"), &mut stub.diameter_m);
    }
    let release = format!("{path}.release");
    match &mut cut.release {
        ReleaseSpec::Hinge { face, push } => {
            face_numbers(&release, face, visit);
            if let Some(push) = push {
                push_numbers(&release, push, visit);
            }
        }
        ReleaseSpec::Snap { toward_rad, push } | ReleaseSpec::PushOver { toward_rad, push } => {
            visit(&format!("{release}.toward_rad"), toward_rad);
            push_numbers(&release, push, visit);
        }
        ReleaseSpec::BoredHinge { face, strap_m, push } => {
            face_numbers(&release, face, visit);
            visit(&format!("{release}.strap_m"), strap_m);
            if let Some(push) = push {
                push_numbers(&release, push, visit);
            }
        }
        ReleaseSpec::UnderAndTop { under_share, step_m, .. } => {
            visit(&format!("{release}.under_share"), under_share);
            visit(&format!("{release}.step_m"), step_m);
        }
    }
    if let After::LeftAt { at, axis_rad } = &mut cut.after {
        place(&format!("{path}.after.at"), at, visit);
        visit(&format!("{path}.after.axis_rad"), axis_rad);
    }
}

fn line_numbers(line: &mut Line, visit: Visit<'_>) {
    match line {
        Line::Pull(line) => pull_line_numbers(line, visit),
        Line::Tied(line) => tied_line_numbers(line, visit),
    }
}

fn tied_line_numbers(line: &mut TiedLine, visit: Visit<'_>) {
    let path = format!("lines.{}", line.id);
    visit(&format!("{path}.from_cut_m"), &mut line.from_cut_m);
    if let Some(strength) = &mut line.strength_n {
        visit(&format!("{path}.strength_n"), strength);
    }
    visit(&format!("{path}.stretch_share"), &mut line.stretch_share);
    visit(&format!("{path}.damping_share"), &mut line.damping_share);
    visit(&format!("{path}.knot_loss_share"), &mut line.knot_loss_share);
    visit(&format!("{path}.slack_m"), &mut line.slack_m);
    hitch_numbers(&format!("{path}.hitch"), &mut line.hitch, visit);
    if let Some(block) = &mut line.block {
        let path = format!("{path}.block");
        hitch_numbers(&path, &mut block.on, visit);
        visit(&format!("{path}.friction"), &mut block.friction);
        let limits = [("working_n", &mut block.working_n), ("sling_n", &mut block.sling_working_n)];
        for (name, limit) in limits {
            if let Some(limit) = limit {
                visit(&format!("{path}.{name}"), limit);
            }
        }
        if let Some(legs) = &mut block.sling_rad {
            visit(&format!("{path}.sling_rad"), legs);
        }
    }
}

fn hitch_numbers(path: &str, hitch: &mut Hitch, visit: Visit<'_>) {
    match hitch {
        Hitch::Spar { height_m } => visit(&format!("{path}.height_m"), height_m),
        Hitch::Tree { at, height_m } | Hitch::Stump { at, height_m } => {
            place(&format!("{path}.at"), at, visit);
            visit(&format!("{path}.height_m"), height_m);
        }
        Hitch::Hand { at, hold_n } => {
            place(&format!("{path}.at"), at, visit);
            visit(&format!("{path}.hold_n"), hold_n);
        }
    }
}

fn pull_line_numbers(line: &mut PullLine, visit: Visit<'_>) {
    let path = format!("lines.{}", line.id);
    visit(&format!("{path}.height_m"), &mut line.height_m);
    if let Some(strength) = &mut line.strength_n {
        visit(&format!("{path}.strength_n"), strength);
    }
    visit(&format!("{path}.knot_loss_share"), &mut line.knot_loss_share);
    for redirect in &mut line.redirects {
        let path = format!("{path}.redirects.{}", redirect.id);
        place(&format!("{path}.at"), &mut redirect.at, visit);
        visit(&format!("{path}.height_m"), &mut redirect.height_m);
        if let Some(legs) = &mut redirect.sling_rad {
            visit(&format!("{path}.sling_rad"), legs);
        }
    }
    let anchor = format!("{path}.anchor");
    match &mut line.anchor {
        Anchor::Tree { at, height_m } | Anchor::Stump { at, height_m } => {
            place(&format!("{anchor}.at"), at, visit);
            visit(&format!("{anchor}.height_m"), height_m);
        }
        Anchor::Vehicle { at, height_m, mass_kg, driven_share } => {
            place(&format!("{anchor}.at"), at, visit);
            visit(&format!("{anchor}.height_m"), height_m);
            visit(&format!("{anchor}.mass_kg"), mass_kg);
            visit(&format!("{anchor}.driven_share"), driven_share);
        }
    }
    visit(&format!("{path}.pull_n"), &mut line.pull_n);
}

fn face_numbers(path: &str, face: &mut Face, visit: Visit<'_>) {
    visit(&format!("{path}.toward_rad"), &mut face.toward_rad);
    visit(&format!("{path}.opening_rad"), &mut face.opening_rad);
    visit(&format!("{path}.depth_share"), &mut face.depth_share);
    visit(&format!("{path}.hinge_m"), &mut face.hinge_m);
    visit(&format!("{path}.width_share"), &mut face.width_share);
}

fn push_numbers(path: &str, push: &mut Push, visit: Visit<'_>) {
    visit(&format!("{path}.push.force_n"), &mut push.force_n);
    visit(&format!("{path}.push.height_m"), &mut push.height_m);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{MapFrame, parse, place_m, starter};

    #[test]
    fn verif_a_building_in_doubt_moves_and_does_not_fold() {
        let text = starter().replace("doubt: Measured", "doubt: Eyed");
        let scene = parse(&text, "starter").unwrap();
        let corners = |scene: &Scene| -> Vec<glam::DVec2> {
            let TargetKind::Structure { corners, .. } = &scene.targets[0].kind else {
                panic!("the first target is a structure")
            };
            corners.iter().map(|at| place_m(&scene.site, at, &MapFrame::default())).collect()
        };
        let told = corners(&scene);
        for share in [0.0, 0.2, 0.9, 1.0] {
            let drawn = corners(&scene.realise(&mut |_, number| number.at(share)));
            for i in 0..4 {
                let side = |c: &[glam::DVec2]| c[i].distance(c[(i + 1) % 4]);
                // Eyed distances are 20 % off at most, and so are the sides.
                let ratio = side(&drawn) / side(&told);
                assert!((0.79..1.21).contains(&ratio), "side {i} is {ratio} of itself");
            }
        }
    }

    #[test]
    fn verif_a_short_section_high_up_keeps_its_length() {
        let text =
            starter().replace("from: \"42 ft\", to: \"48 ft\"", "from: \"47 ft\", to: \"48 ft\"");
        let scene = parse(&text, "starter").unwrap();
        let drawn = scene.realise(&mut |path, number| match path {
            "cuts.first.piece.from_m" => number.at(1.0),
            "cuts.first.piece.length_m" => number.at(0.0),
            _ => number.told,
        });
        let PieceSpec::Section { from_m, to_m } = drawn.cuts[0].piece else { panic!() };
        assert!((from_m.told - 47.0 * 0.3048 * 1.02).abs() < 1e-12);
        assert!((to_m.told - from_m.told - 0.3048 * 0.98).abs() < 1e-12);
    }
}
