//! New things for a scene: a text for each kind, of a usual size, to be changed afterwards.
//!
//! The sizes are ours: what such a thing commonly measures. A long thing lies across the line from
//! the stump, as a barrier or a mat is wanted.

use glam::DVec2;

use crate::{
    quantity::Units,
    scene::{
        model::{Cut, LimbSpec, Line, PieceSpec, ReleaseSpec, Scene},
        places::MapFrame,
        standing::Left,
    },
};

use super::{
    Thing,
    moving::{azimuth_of, place_text},
    splice::{EditError, Splice, insert_item, quoted},
    things::{fresh_id, line_of},
    written::{azimuth_text, floored, length_text},
};

/// What can be put into a scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "the words are those of the core types")]
pub enum New {
    Structure,
    KeepTree,
    Person,
    Vehicle,
    Road,
    Path,
    Wire,
    BarrierLog,
    BrushMat,
    Wall,
    Stump,
    Patch,
    Limb,
    Cut,
    Top,
    LimbCut,
    PullLine,
    Redirect,
    TiedButt,
    TagLine,
    Lowering,
}

/// How a new thing is written. `{id}` is its id, `{a|b}` is a in imperial scenes and b in metric
/// ones, `@x y@` the place x metres to the left of and y metres beyond where it is put, seen from
/// the stump; `{left}` an azimuth to that side and `{out}` one to the place; `{to}`, `{from}`, `{aim}`
/// and `{push}` are a cut's, `{limb}` that of a limb, `{up}` a limb's, `{cut}` and `{attach}` a pull line's,
/// `{held}`, `{block}` and `{brake}` those of a line that holds a piece.
struct Template {
    new: New,
    /// In words.
    words: &'static str,
    /// The list it goes to.
    list: &'static str,
    /// Its id, with a number where that is taken.
    id: &'static str,
    text: &'static str,
}

const TEMPLATES: &[Template] = &[
    Template {
        new: New::Structure,
        words: "structure",
        list: "targets",
        id: "building",
        text: "Structure(
    id: {id},
    corners: [
        @3 -2@,
        @-3 -2@,
        @-3 2@,
        @3 2@,
    ],
    wall: \"{8 ft|2.4 m}\",
    roof: \"{12 ft|3.6 m}\",
)",
    },
    Template {
        new: New::KeepTree,
        words: "keep tree",
        list: "targets",
        id: "keep-tree",
        text: "KeepTree(
    id: {id},
    at: @0 0@,
    diameter: Eyed(\"{12 in|30 cm}\"),
    height: Eyed(\"{50 ft|15 m}\"),
    limbs: (from: Eyed(\"{10 ft|3 m}\"), spread: Eyed(\"{8 ft|2.5 m}\")),
)",
    },
    Template {
        new: New::Person,
        words: "person",
        list: "targets",
        id: "person",
        text: "Person(id: {id}, at: @0 0@)",
    },
    Template {
        new: New::Vehicle,
        words: "vehicle",
        list: "targets",
        id: "truck",
        text: "Vehicle(
    id: {id},
    at: @0 0@,
    heading: {left},
    length: \"{19 ft|5.8 m}\",
    width: \"{6 ft 6 in|2 m}\",
    height: \"{6 ft 6 in|2 m}\",
)",
    },
    Template {
        new: New::Road,
        words: "road",
        list: "targets",
        id: "road",
        text: "Road(id: {id}, line: [@15 0@, @-15 0@], width: \"{12 ft|3.6 m}\")",
    },
    Template {
        new: New::Path,
        words: "path",
        list: "targets",
        id: "path",
        text: "Path(id: {id}, line: [@8 0@, @-8 0@], width: \"{4 ft|1.2 m}\")",
    },
    Template {
        new: New::Wire,
        words: "overhead wire",
        list: "targets",
        id: "wire",
        text: "Wire(
    id: {id},
    from: (at: @12 0@, height: Eyed(\"{20 ft|6 m}\")),
    to: (at: @-12 0@, height: Eyed(\"{20 ft|6 m}\")),
    sag: DontKnow,
)",
    },
    Template {
        new: New::BarrierLog,
        words: "barrier log",
        list: "aids",
        id: "barrier-log",
        text: "BarrierLog(
    id: {id},
    from: @2 0@,
    to: @-2 0@,
    diameter: \"{14 in|35 cm}\",
    held: Staked,
)",
    },
    Template {
        new: New::BrushMat,
        words: "brush mat",
        list: "aids",
        id: "brush-mat",
        text: "BrushMat(
    id: {id},
    outline: [
        @2 -1.5@,
        @-2 -1.5@,
        @-2 1.5@,
        @2 1.5@,
    ],
    thickness: Paced(\"{1 ft|30 cm}\"),
)",
    },
    Template {
        new: New::Wall,
        words: "wall",
        list: "aids",
        id: "low-wall",
        text: "Wall(
    id: {id},
    line: [@3 0@, @-3 0@],
    height: \"{3 ft|1 m}\",
    thickness: \"{1 ft|30 cm}\",
)",
    },
    Template {
        new: New::Stump,
        words: "stump",
        list: "aids",
        id: "old-stump",
        text: "Stump(id: {id}, at: @0 0@, diameter: \"{18 in|45 cm}\", height: \"{16 in|40 cm}\")",
    },
    Template {
        new: New::Patch,
        words: "patch of other ground",
        list: "site.patches",
        id: "patch",
        text: "(
    id: {id},
    outline: [
        @4 -3@,
        @-4 -3@,
        @-4 3@,
        @4 3@,
    ],
    ground: (soil: DontKnow, cover: DontKnow, roughness: DontKnow, wetness: DontKnow),
)",
    },
    Template {
        new: New::Limb,
        words: "limb",
        list: "tree.limbs",
        id: "limb",
        text: "(id: {id}, height: Eyed({up}), azimuth: Eyed({out}), angle: Eyed(\"30 deg\"), \
length: Eyed(\"{10 ft|3 m}\"), diameter: Eyed(\"{3 in|8 cm}\"), brush: Usual)",
    },
    Template {
        new: New::Cut,
        words: "cut",
        list: "cuts",
        id: "cut-1",
        text: "(
    id: {id},
    piece: Section(from: {from}, to: {to}),
    release: Hinge(face: {aim}, opening: \"70 deg\", depth: \"25 %\", hinge: \"{3/8 in|1 cm}\", \
push: (force: DontKnow, height: {push})),
    after: Cleared,
)",
    },
    Template {
        new: New::Top,
        words: "cut of the top",
        list: "cuts",
        id: "top",
        text: "(
    id: {id},
    piece: Top(from: {from}),
    release: Hinge(face: {aim}, opening: \"70 deg\", depth: \"25 %\", hinge: \"{3/8 in|1 cm}\", \
push: (force: DontKnow, height: {push})),
    after: Cleared,
)",
    },
    Template {
        new: New::LimbCut,
        words: "cut of a limb",
        list: "cuts",
        id: "limb-cut",
        text: "(
    id: {id},
    piece: Limb(limb: {limb}, at: \"{6 in|15 cm}\"),
    release: UnderAndTop(under: \"30 %\", step: \"{1 1/2 in|4 cm}\"),
    after: Cleared,
)",
    },
    Template {
        new: New::PullLine,
        words: "pull line",
        list: "lines",
        id: "pull-line",
        text: "PullLine(
    id: {id},
    cut: {cut},
    height: {attach},
    rope: \"polyester double braid 5/8 in\",
    anchor: Tree(at: @0 0@, height: \"{2 ft|60 cm}\"),
    pull: Eyed(\"{400 lbf|2 kN}\"),
)",
    },
    Template {
        new: New::Redirect,
        words: "redirect",
        list: "lines",
        id: "redirect",
        text: "(id: {id}, at: @0 0@, height: \"{3 ft|1 m}\")",
    },
    Template {
        new: New::TiedButt,
        words: "tied butt",
        list: "lines",
        id: "tied-butt",
        text: "TiedButt(
    id: {id},
    cut: {held},
    from_cut: \"{1 ft|30 cm}\",
    rope: \"polyester double braid 5/8 in\",
    slack: \"{3 ft|1 m}\",
    anchor: Stump(at: @0 0@, height: \"{1 ft|30 cm}\"),
)",
    },
    Template {
        new: New::TagLine,
        words: "tag line",
        list: "lines",
        id: "tag-line",
        text: "TagLine(
    id: {id},
    cut: {held},
    from_cut: \"{1 ft|30 cm}\",
    rope: \"polyester double braid 1/2 in\",
    slack: \"{6 ft|2 m}\",
    anchor: Hand(at: @0 0@, hold: DontKnow),
)",
    },
    Template {
        new: New::Lowering,
        words: "lowering line",
        list: "lines",
        id: "lowering-line",
        text: "Lowering(
    id: {id},
    cut: {held},
    from_cut: \"{1 ft|30 cm}\",
    rope: \"polyester double braid 5/8 in\",
    slack: \"{1 ft|30 cm}\",
    block: Spar(height: {block}),
    brake: Spar(height: {brake}),
)",
    },
];

/// Length of a new piece, m (6 ft, or 1.8 m).
const PIECE_M: [f64; 2] = [6.0 * 0.3048, 1.8];
/// Height of the stump that a new lowest cut leaves, m (1 ft, or 30 cm; ours).
const STUMP_M: [f64; 2] = [0.3048, 0.3];
/// A new lowering block hangs this far below the cut, m (ours).
const BLOCK_BELOW_M: f64 = 0.5;
/// Height of a new brake on the spar, m (ours: a person's chest).
const BRAKE_M: f64 = 1.2;
/// What is lower than this can't be cut again, m (ours).
const LEFT_M: f64 = 0.1;
/// Height on a piece at which a pull line is made fast, as a share of its length (two thirds up,
/// common practice).
const ATTACH_SHARE: f64 = 2.0 / 3.0;
/// Height of a new limb, as a share of the tree (ours).
const LIMB_SHARE: f64 = 0.5;
/// Height above the cut at which hands push, m, as where the scene doesn't say.
const PUSH_M: f64 = 1.2;

impl New {
    /// Everything that can be put into a scene, in the order of a menu.
    #[must_use]
    pub fn all() -> Vec<Self> {
        TEMPLATES.iter().map(|template| template.new).collect()
    }

    /// What it is, in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        self.template().words
    }

    /// Whether it goes where one points; what goes on the tree by itself doesn't.
    #[must_use]
    pub fn has_place(self) -> bool {
        !matches!(self, Self::Cut | Self::Top | Self::LimbCut | Self::Lowering)
    }

    fn template(self) -> &'static Template {
        // Every kind has its row: `prop_every_kind_can_be_put_in` goes through them.
        TEMPLATES.iter().find(|template| template.new == self).unwrap_or(&TEMPLATES[0])
    }
}

/// The text of a new thing at a place on the map, m.
///
/// A cut takes the next piece down the stem, its face toward the place; what belongs to a cut or a
/// limb goes to the one that is `near`.
#[must_use]
pub fn template(
    new: New,
    id: &str,
    at: DVec2,
    scene: &Scene,
    frame: &MapFrame,
    near: Option<&Thing>,
) -> String {
    let (pulled, held) = (hinged(scene, near), held(scene, near));
    let spar_m = held.map_or(0.0, |cut| scene.tree.cut_height_m(&cut.piece));
    let out = at.try_normalize().unwrap_or(DVec2::Y);
    let left = out.perp();
    let units = scene.units;
    let (from_m, to_m) = next_section(scene);
    let height = |m: f64| quoted(&length_text(floored(m, units), units));
    let azimuth = |by: DVec2| quoted(&azimuth_text(azimuth_of(by, frame), 1.0));
    let hole = |name: &str| match name {
        "id" => quoted(id),
        "left" => azimuth(left),
        "out" => azimuth(out),
        "up" => height(LIMB_SHARE * scene.standing(0).top_m),
        "limb" => quoted(limb(scene, near).map_or("", |(limb, _)| &limb.id)),
        "from" => height(from_m),
        "to" => height(to_m),
        "held" => quoted(held.map_or("", |cut| &cut.id)),
        "block" => height(spar_m - BLOCK_BELOW_M.min(0.5 * spar_m)),
        "brake" => height(BRAKE_M.min(0.5 * spar_m)),
        "cut" => quoted(pulled.map_or("", |cut| &cut.id)),
        "attach" => {
            let ends = |cut| scene.stem_taken_m(scene.cuts.iter().position(|c| c == cut)?);
            let [low, high] = pulled.and_then(ends).unwrap_or([from_m, to_m]);
            height(low + ATTACH_SHARE * (high - low))
        }
        "push" => height(PUSH_M.min(0.8 * (to_m - from_m))),
        "aim" => match scene.cuts.last() {
            // A place at the stump says nothing of a direction; the last cut does.
            Some(cut) if at == DVec2::ZERO => {
                quoted(&azimuth_text(cut.release.toward_rad().told, 1.0))
            }
            _ => azimuth(out),
        },
        sizes => {
            let (imperial, metric) = sizes.split_once('|').unwrap_or((sizes, sizes));
            let is_metric = units == Units::Metric;
            if is_metric { metric } else { imperial }.to_owned()
        }
    };
    let place = |offsets: &str| {
        let (x, y) = offsets.split_once(' ').unwrap_or((offsets, "0"));
        let number = |text: &str| text.parse::<f64>().unwrap_or(0.0);
        place_text(at + left * number(x) + out * number(y), frame, units)
    };
    let mut text = String::new();
    let mut rest = new.template().text;
    while let Some(start) = rest.find(['{', '@']) {
        let (before, from) = rest.split_at(start);
        let close = if from.starts_with('{') { '}' } else { '@' };
        let Some((inside, after)) = from.get(1..).and_then(|from| from.split_once(close)) else {
            break;
        };
        text += before;
        text += &if close == '}' { hole(inside) } else { place(inside) };
        rest = after;
    }
    text + rest
}

/// What a line pulls: a cut of the stem that turns on a hinge, the one that is near or the last.
fn hinged<'a>(scene: &'a Scene, near: Option<&Thing>) -> Option<&'a Cut> {
    let turns = |cut: &&Cut| {
        let hinged =
            matches!(cut.release, ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. });
        hinged && cut.piece.stem_cut_m().is_some()
    };
    let by_id = |id: &str| scene.cuts.iter().find(|cut| cut.id == id).filter(turns);
    let own = match near {
        Some(Thing::Cut(id)) => by_id(id),
        Some(thing) => line_of(scene, thing).and_then(|line| by_id(line.cut())),
        None => None,
    };
    own.or_else(|| scene.cuts.iter().rev().find(turns))
}

/// Whose piece a line holds: the cut that is near, or the last.
fn held<'a>(scene: &'a Scene, near: Option<&Thing>) -> Option<&'a Cut> {
    let id = match near {
        Some(Thing::Cut(id)) => Some(id.as_str()),
        Some(thing) => line_of(scene, thing).map(Line::cut),
        None => None,
    };
    scene.cuts.iter().find(|cut| Some(cut.id.as_str()) == id).or_else(|| scene.cuts.last())
}

/// The line that a new redirect turns: the one that is near, or that pulls the cut that is; else the
/// last.
fn turned(scene: &Scene, near: Option<&Thing>) -> Option<usize> {
    let own = near.and_then(|thing| line_of(scene, thing)).map(Line::id);
    let of_cut = |line: &Line| matches!(near, Some(Thing::Cut(id)) if line.cut() == *id);
    let meant = |line: &Line| Some(line.id()) == own || of_cut(line);
    let pulls = |line: &Line| line.pull().is_some();
    let found = scene.lines.iter().position(|line| pulls(line) && meant(line));
    found.or_else(|| scene.lines.iter().rposition(pulls))
}

/// The limb that a new cut takes, and the place of that cut in their order: before the limb comes
/// down with something else. The one that is near, or the first that no cut takes by itself.
fn limb<'a>(scene: &'a Scene, near: Option<&Thing>) -> Option<(&'a LimbSpec, usize)> {
    let own = scene.tree.limbs.iter().position(|l| near == Some(&Thing::Limb(l.id.clone())));
    let left = |limb: usize, before: usize| scene.standing(before).limbs.get(limb).copied();
    let all = scene.cuts.len();
    let by_itself = |limb: usize| {
        let takes =
            |cut: &Cut| matches!(cut.piece, PieceSpec::Limb { limb: other, .. } if other == limb);
        scene.cuts.iter().any(takes)
    };
    let untouched = |limb: &usize| left(*limb, 0) == Some(Left::Whole) && !by_itself(*limb);
    let limb = own.or_else(|| (0..scene.tree.limbs.len()).find(untouched))?;
    let gone = |before: &usize| matches!(left(limb, *before), Some(Left::Gone(_)));
    let place = (0..=all).find(gone).map_or(all, |after| after.saturating_sub(1));
    Some((scene.tree.limbs.get(limb)?, place))
}

/// Butt and top of the next piece down the stem, m.
fn next_section(scene: &Scene) -> (f64, f64) {
    let to_m = scene.standing(scene.cuts.len()).top_m;
    let units = usize::from(scene.units == Units::Metric);
    let (length_m, stump_m) = (PIECE_M[units], STUMP_M[units]);
    let least_m = if to_m > 2.0 * stump_m { stump_m } else { 0.0 };
    ((to_m - length_m).max(least_m), to_m)
}

/// Puts a new thing into a scene at a place on the map, m; the splice and the thing. What belongs to
/// a cut, a limb or a line goes to the one that is `near`, if any is.
///
/// # Errors
/// The text isn't the scene's; a cut where nothing stands, a line where no piece could be pulled or held, a redirect without
/// a line, a cut of a limb where there is none.
pub fn add(
    scene: &Scene,
    frame: &MapFrame,
    text: &str,
    new: New,
    at: DVec2,
    near: Option<&Thing>,
) -> Result<(Splice, Thing), EditError> {
    let Template { list, id, .. } = new.template();
    let refused = |path: &str, what: &str, allowed: &str| {
        Err(EditError::Refused { path: path.into(), what: what.into(), allowed: allowed.into() })
    };
    let (mut list_path, mut index) = ((*list).to_owned(), usize::MAX);
    match new {
        New::PullLine if hinged(scene, near).is_none() => {
            return refused(
                list,
                "there is no piece on a hinge that a line could pull",
                "a cut released by Hinge or BoredHinge first",
            );
        }
        New::TiedButt | New::TagLine | New::Lowering if scene.cuts.is_empty() => {
            return refused(list, "there is no piece that a line could hold", "a cut first");
        }
        New::Lowering
            if held(scene, near)
                .is_some_and(|cut| scene.tree.cut_height_m(&cut.piece) < LEFT_M) =>
        {
            return refused(list, "nothing stands below that piece", "a cut further up the stem");
        }
        New::Cut | New::Top if scene.standing(scene.cuts.len()).top_m < LEFT_M => {
            return refused(list, "nothing is left of the stem", "a cut before the last one");
        }
        New::Redirect => match turned(scene, near) {
            Some(line) => list_path = format!("lines[{line}].redirects"),
            None => return refused(list, "there is no line to redirect", "a pull line first"),
        },
        New::LimbCut => match limb(scene, near) {
            Some((_, place)) => index = place,
            None => return refused(list, "no limb is left to be cut", "a limb of the tree first"),
        },
        _ => {}
    }
    let id = fresh_id(scene, id);
    let item = template(new, &id, at, scene, frame, near);
    let splice = insert_item(text, &list_path, index, &item)?;
    let thing = match *list {
        "aids" => Thing::Aid(id),
        "site.patches" => Thing::Patch(id),
        "cuts" => Thing::Cut(id),
        "tree.limbs" => Thing::Limb(id),
        "lines" if new == New::Redirect => Thing::Redirect(id),
        "lines" => Thing::Line(id),
        _ => Thing::Target(id),
    };
    Ok((splice, thing))
}

#[cfg(test)]
mod tests;
