//! Every doubtful number of a scene, by its path.
//!
//! A path names items by id, never by position (`cuts.top.piece.to_m`), so that a key made from it
//! draws the same number whatever else is added to the scene.

use super::{doubt::Doubtful, model::*};

type Visit<'a> = &'a mut dyn FnMut(&str, &mut Doubtful);

impl Scene {
    /// Visits every number that can be in doubt, in the order of the file, with its path.
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
    }

    /// The scene with every doubtful number replaced by `draw(path, number)`.
    ///
    /// The result holds exact numbers only: `told` is the value drawn.
    #[must_use]
    pub fn realise(&self, draw: &mut dyn FnMut(&str, &Doubtful) -> f64) -> Self {
        let mut scene = self.clone();
        scene.each_number(&mut |path, number| {
            if number.is_doubtful() {
                *number = Doubtful::exact(draw(path, number));
            }
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
    if let TerrainSpec::Transects(lines) = &mut site.terrain {
        for line in lines {
            let path = format!("site.transects.{}", line.id);
            visit(&format!("{path}.azimuth_rad"), &mut line.azimuth_rad);
            for (i, leg) in line.legs.iter_mut().enumerate() {
                visit(&format!("{path}.{}.slope_distance_m", i + 1), &mut leg.slope_distance_m);
                visit(&format!("{path}.{}.inclination_rad", i + 1), &mut leg.inclination_rad);
            }
        }
    }
    for line in &mut site.breaklines {
        let path = format!("site.breaklines.{}", line.id);
        places(&path, &mut line.points, visit);
        visit(&format!("{path}.height_m"), &mut line.height_m);
    }
    ground("site.ground", &mut site.ground, visit);
    for patch in &mut site.patches {
        let path = format!("site.patches.{}", patch.id);
        places(&path, &mut patch.outline, visit);
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
}

fn place(path: &str, place: &mut Place, visit: Visit<'_>) {
    match place {
        Place::Taped { azimuth_rad, distance_m, inclination_rad, .. } => {
            visit(&format!("{path}.azimuth_rad"), azimuth_rad);
            visit(&format!("{path}.distance_m"), distance_m);
            visit(&format!("{path}.inclination_rad"), inclination_rad);
        }
        Place::Local { east_m, north_m } => {
            visit(&format!("{path}.east_m"), east_m);
            visit(&format!("{path}.north_m"), north_m);
        }
        Place::AtStation(_) | Place::Grid { .. } => {}
    }
}

fn places(path: &str, points: &mut [Place], visit: Visit<'_>) {
    for (i, point) in points.iter_mut().enumerate() {
        place(&format!("{path}.{}", i + 1), point, visit);
    }
}

fn target_numbers(path: &str, kind: &mut TargetKind, visit: Visit<'_>) {
    match kind {
        TargetKind::Structure { corners, wall_m, roof_m, windows: _ } => {
            places(path, corners, visit);
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
            places(path, line, visit);
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
            places(path, outline, visit);
            visit(&format!("{path}.thickness_m"), thickness_m);
        }
        AidKind::Wall { line, height_m, thickness_m } => {
            places(path, line, visit);
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
    let PieceSpec::Section { from_m, to_m } = &mut cut.piece;
    visit(&format!("{path}.piece.from_m"), from_m);
    visit(&format!("{path}.piece.to_m"), to_m);
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
    }
    if let After::LeftAt { at, axis_rad } = &mut cut.after {
        place(&format!("{path}.after.at"), at, visit);
        visit(&format!("{path}.after.axis_rad"), axis_rad);
    }
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
