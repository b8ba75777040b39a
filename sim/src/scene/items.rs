//! The ids and places of a scene with their paths in the file.

use super::model::*;

/// Every id of a scene with its path.
pub(super) fn ids(scene: &Scene) -> Vec<(String, &str)> {
    let mut found: Vec<(String, &str)> = Vec::new();
    let list = match &scene.site.terrain {
        TerrainSpec::Transects(_) => "lines",
        _ => "taped",
    };
    let lines = scene.site.terrain.legs().iter().enumerate();
    found.extend(lines.map(|(i, t)| (format!("site.terrain.{list}[{i}].id"), &t.id[..])));
    let site = &scene.site;
    found.extend(
        site.breaklines
            .iter()
            .enumerate()
            .map(|(i, b)| (format!("site.breaklines[{i}].id"), &b.id[..])),
    );
    found.extend(
        site.patches.iter().enumerate().map(|(i, p)| (format!("site.patches[{i}].id"), &p.id[..])),
    );
    let limbs = scene.tree.limbs.iter().enumerate();
    found.extend(limbs.map(|(i, l)| (format!("tree.limbs[{i}].id"), &l.id[..])));
    found.extend(
        scene.targets.iter().enumerate().map(|(i, t)| (format!("targets[{i}].id"), &t.id[..])),
    );
    found.extend(scene.aids.iter().enumerate().map(|(i, a)| (format!("aids[{i}].id"), &a.id[..])));
    found.extend(scene.cuts.iter().enumerate().map(|(i, c)| (format!("cuts[{i}].id"), &c.id[..])));
    for (i, line) in scene.lines.iter().enumerate() {
        found.push((format!("lines[{i}].id"), line.id()));
        let redirects = line.pull().map_or(&[][..], |line| &line.redirects);
        found.extend(
            redirects
                .iter()
                .enumerate()
                .map(|(j, r)| (format!("lines[{i}].redirects[{j}].id"), &r.id[..])),
        );
    }
    found
}

/// A path by position of one whose first step may be an id: `stem.piece.to` is `cuts[2].piece.to`
/// where `stem` is the third cut.
pub(super) fn path_of(scene: &Scene, field: &str) -> String {
    let field = field.trim();
    let (first, rest) = field.find(['.', '[']).map_or((field, ""), |end| field.split_at(end));
    ids(scene).into_iter().find(|(_, id)| *id == first).map_or_else(
        || field.to_owned(),
        |(path, _)| path.trim_end_matches(".id").to_owned() + rest,
    )
}

/// Every place of a scene with its path.
pub(super) fn all_places(scene: &Scene) -> Vec<(String, &Place)> {
    fn list<'a>(found: &mut Vec<(String, &'a Place)>, path: &str, places: &'a [Place]) {
        found.extend(places.iter().enumerate().map(|(i, place)| (format!("{path}[{i}]"), place)));
    }
    let mut found = Vec::new();
    for (i, line) in scene.site.breaklines.iter().enumerate() {
        list(&mut found, &format!("site.breaklines[{i}].points"), &line.points);
    }
    for (i, patch) in scene.site.patches.iter().enumerate() {
        list(&mut found, &format!("site.patches[{i}].outline"), &patch.outline);
    }
    for (i, target) in scene.targets.iter().enumerate() {
        let path = format!("targets[{i}]");
        match &target.kind {
            TargetKind::Structure { corners, .. } => {
                list(&mut found, &format!("{path}.corners"), corners);
            }
            TargetKind::Path { line, .. } => list(&mut found, &format!("{path}.line"), line),
            TargetKind::KeepTree { at, .. }
            | TargetKind::Person { at }
            | TargetKind::Vehicle { at, .. } => found.push((format!("{path}.at"), at)),
            TargetKind::Wire { from, to, .. } => {
                found.push((format!("{path}.from.at"), &from.at));
                found.push((format!("{path}.to.at"), &to.at));
            }
        }
    }
    for (i, aid) in scene.aids.iter().enumerate() {
        let path = format!("aids[{i}]");
        match &aid.kind {
            AidKind::BarrierLog { from, to, .. } => {
                found.push((format!("{path}.from"), from));
                found.push((format!("{path}.to"), to));
            }
            AidKind::BrushMat { outline, .. } => {
                list(&mut found, &format!("{path}.outline"), outline);
            }
            AidKind::Wall { line, .. } => list(&mut found, &format!("{path}.line"), line),
            AidKind::Stump { at, .. } => found.push((format!("{path}.at"), at)),
        }
    }
    if let ClimberSpec::At { at, .. } = &scene.climber {
        found.push(("climber.at".to_owned(), at));
    }
    if let ClimberLineSpec::To(at) = &scene.climber_line {
        found.push(("climber_line.at".to_owned(), at));
    }
    if let FellerSpec::At(at) = &scene.feller {
        found.push(("feller.at".to_owned(), at));
    }
    for (i, cut) in scene.cuts.iter().enumerate() {
        if let After::LeftAt { at, .. } = &cut.after {
            found.push((format!("cuts[{i}].after.at"), at));
        }
    }
    for (i, line) in scene.lines.iter().enumerate() {
        match line {
            Line::Pull(line) => {
                for (j, redirect) in line.redirects.iter().enumerate() {
                    found.push((format!("lines[{i}].redirects[{j}].at"), &redirect.at));
                }
                found.push((format!("lines[{i}].anchor.at"), line.anchor.at()));
            }
            Line::Tied(line) => {
                let far = if line.block.is_some() { "brake" } else { "anchor" };
                let block = line.block.as_ref().and_then(|block| block.on.at());
                found.extend(block.map(|at| (format!("lines[{i}].block.at"), at)));
                found.extend(line.hitch.at().map(|at| (format!("lines[{i}].{far}.at"), at)));
            }
        }
    }
    found
}
