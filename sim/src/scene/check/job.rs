//! The tree and its cuts.

use super::{super::model::*, Checks};

/// Shortest section, m.
const SECTION_MIN_M: f64 = 0.05;
/// Two heights on a stem are the same within this, m.
pub(super) const SAME_HEIGHT_M: f64 = 0.002;

impl Checks {
    pub(super) fn tree(&mut self, tree: &TreeSpec) {
        let height_m = tree.height_m.told;
        let below_top = format!("below the top at {}", self.m(height_m));
        if let Some(top) = &tree.topped_at_m
            && top.told >= height_m
        {
            self.wrong("tree.topped_at", "above the tree's top", &below_top);
        }
        for (i, at) in tree.diameters.iter().enumerate() {
            let path = format!("tree.diameters[{i}]");
            if at.height_m.told >= height_m {
                self.wrong(&format!("{path}[0]"), "above the tree's top", &below_top);
            }
            let before = i.checked_sub(1).and_then(|b| tree.diameters.get(b));
            if let Some(before) = before
                && at.height_m.told <= before.height_m.told + SAME_HEIGHT_M
            {
                self.wrong(
                    &format!("{path}[0]"),
                    "not above the diameter before it",
                    "the lowest first, each height once",
                );
            }
            if let Some(before) = before
                && at.diameter_m.told > 1.25 * before.diameter_m.told
            {
                let allowed = format!(
                    "at most a quarter more than the {} below it",
                    self.thick(before.diameter_m.told)
                );
                self.wrong(&format!("{path}[1]"), "a stem that grows thicker upward", allowed);
            }
        }
        match &tree.lean {
            Lean::Plumb { offset_m, height_m: at, .. } => {
                if at.told > height_m {
                    self.wrong("tree.lean.height", "above the tree's top", &below_top);
                }
                if offset_m.told > at.told {
                    self.wrong(
                        "tree.lean.offset",
                        "a lean of more than 45 deg",
                        "at most the height it was plumbed from",
                    );
                }
            }
            Lean::Upright(_) | Lean::Angle { .. } => {}
        }
        for (i, hollow) in tree.hollows.iter().enumerate() {
            let path = format!("tree.hollows[{i}]");
            if hollow.to_m.told <= hollow.from_m.told {
                self.wrong(
                    &format!("{path}.to"),
                    "a hollow without length",
                    "a height above `from`",
                );
            }
            if hollow.to_m.told > height_m {
                self.wrong(&format!("{path}.to"), "above the tree's top", &below_top);
            }
            let before = i.checked_sub(1).and_then(|b| tree.hollows.get(b));
            if before.is_some_and(|b| hollow.from_m.told < b.to_m.told - SAME_HEIGHT_M) {
                self.wrong(
                    &format!("{path}.from"),
                    "it overlaps the hollow before it",
                    "the lowest first, none over another",
                );
            }
            let radius_m = 0.5 * stem_diameter_m(tree, hollow.from_m.told);
            if hollow.shell_m.told >= radius_m {
                let allowed =
                    format!("less than the stem's radius there, about {}", self.thick(radius_m));
                self.wrong(
                    &format!("{path}.shell"),
                    "a shell as thick as the stem is solid",
                    allowed,
                );
            }
        }
    }

    pub(super) fn cuts(&mut self, scene: &Scene) {
        let tree = &scene.tree;
        let mut top_m = tree.topped_at_m.map_or(tree.height_m.told, |top| top.told);
        let mut top_is = "the top of what stands".to_owned();
        for (i, cut) in scene.cuts.iter().enumerate() {
            let path = format!("cuts[{i}]");
            let (from_m, to_m) = match &cut.piece {
                PieceSpec::Section { from_m, to_m } => (from_m.told, to_m.told),
                PieceSpec::Top { from_m } => {
                    if !self.top(i, from_m.told, top_m, &top_is) {
                        continue;
                    }
                    (from_m.told, top_m)
                }
                PieceSpec::Limb { limb, at_m } => {
                    self.limb_cut(scene, i, *limb, at_m.told);
                    continue;
                }
            };
            if to_m - from_m < SECTION_MIN_M && matches!(cut.piece, PieceSpec::Section { .. }) {
                let what = if to_m < from_m {
                    "a section upside down"
                } else {
                    "a section without length"
                };
                self.wrong(
                    &format!("{path}.piece.to"),
                    what,
                    format!("at least {} above `from`", self.m(SECTION_MIN_M)),
                );
                continue;
            }
            if to_m > top_m + SAME_HEIGHT_M {
                self.wrong(
                    &format!("{path}.piece.to"),
                    format!("above {top_is}"),
                    format!("at most {}", self.m(top_m)),
                );
            } else {
                top_m = from_m;
                top_is = format!("what the cut {:?} leaves standing", cut.id);
            }
            self.not_a_limb(i, &cut.release);
            let stem_m = stem_diameter_m(tree, from_m);
            self.release(&format!("{path}.release"), &cut.release, stem_m, to_m - from_m);
            for (j, stub) in cut.stubs.iter().enumerate() {
                let path = format!("{path}.stubs[{j}]");
                if !(from_m..=to_m).contains(&stub.height_m.told) {
                    self.wrong(
                        &format!("{path}.height"),
                        "a stub that is not on this section",
                        format!("{} to {}", self.m(from_m), self.m(to_m)),
                    );
                }
                let there_m = stem_diameter_m(tree, stub.height_m.told);
                if stub.diameter_m.told > there_m {
                    self.wrong(
                        &format!("{path}.diameter"),
                        "a stub thicker than the stem",
                        format!("at most the stem's diameter there, about {}", self.thick(there_m)),
                    );
                }
            }
        }
    }

    pub(super) fn release(
        &mut self,
        path: &str,
        release: &ReleaseSpec,
        stem_m: f64,
        length_m: f64,
    ) {
        let (face, strap_m, push) = match release {
            ReleaseSpec::Hinge { face, push } => (Some(face), 0.0, push.as_ref()),
            ReleaseSpec::BoredHinge { face, strap_m, push } => {
                (Some(face), strap_m.told, push.as_ref())
            }
            ReleaseSpec::Snap { push, .. } | ReleaseSpec::PushOver { push, .. } => {
                (None, 0.0, Some(push))
            }
            ReleaseSpec::UnderAndTop { .. } => (None, 0.0, None),
        };
        if let Some(face) = face {
            let room_m = stem_m * (1.0 - face.depth_share.told);
            let about = format!(
                "the stem is about {} there, {} behind the face",
                self.thick(stem_m),
                self.thick(room_m)
            );
            if face.hinge_m.told >= room_m {
                self.wrong(
                    &format!("{path}.hinge"),
                    "a hinge thicker than the stem behind the face",
                    format!("less than that: {about}"),
                );
            } else if face.hinge_m.told + strap_m >= room_m {
                self.wrong(
                    &format!("{path}.strap"),
                    "no room for hinge and strap",
                    format!("together less than what is left: {about}"),
                );
            }
        }
        if let Some(push) = push
            && push.height_m.told > length_m
        {
            self.wrong(
                &format!("{path}.push.height"),
                "a push above the piece",
                format!("at most its length, {}", self.m(length_m)),
            );
        }
    }
}

/// About how thick the stem is at a height, m: straight between what was measured, as breast
/// height below it, and to a point at the top. Only for refusing what can't be; pieces are made
/// from the published taper.
pub(super) fn stem_diameter_m(tree: &TreeSpec, height_m: f64) -> f64 {
    const BREAST_M: f64 = 1.37;
    let mut points = vec![(BREAST_M, tree.dbh_m.told)];
    points.extend(tree.diameters.iter().map(|d| (d.height_m.told, d.diameter_m.told)));
    points.push((tree.height_m.told, 0.0));
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let above = points.iter().position(|p| p.0 >= height_m);
    match above {
        // Below the lowest: a stem is no thinner there, and flares by up to a half at the ground.
        Some(0) => points.first().map_or(0.0, |p| p.1 * 1.5),
        Some(i) => {
            let (low, high) = (points.get(i - 1), points.get(i));
            low.zip(high).map_or(0.0, |(low, high)| {
                low.1 + (high.1 - low.1) * (height_m - low.0) / (high.0 - low.0)
            })
        }
        None => 0.0,
    }
}
