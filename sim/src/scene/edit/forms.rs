//! What each kind of thing has that can be edited: one table a kind, in the order of a form.
//!
//! A row names a field of the file relative to its thing, the label a reader sees and what may
//! stand there; the file's own types decide what is right.

use super::fields::{
    FieldKind::{
        self, Angle, Azimuth, Choice, Force, Length, Lengths, Mass, Name, Number, PlainLength,
        Share, Slope, Speed, Text,
    },
    Names,
};

/// A word that may stand in a field, and what comes with it.
#[derive(Debug, PartialEq)]
pub struct Word {
    /// As the file writes it.
    pub word: &'static str,
    /// As a reader sees it.
    pub label: &'static str,
    pub(super) parts: &'static [Part],
}

/// A part of what comes with a word: `Litter("3 in")`, `Snap(toward: ..)`.
#[derive(Debug, PartialEq)]
pub(super) struct Part {
    /// Its field; none for the one value in brackets.
    pub(super) name: &'static str,
    /// The field of another word whose value it takes over.
    pub(super) was: &'static str,
    /// What it is to begin with, in imperial and in metric scenes; `None` for what is kept where it
    /// stands and not put where it doesn't.
    pub(super) begins: Option<[&'static str; 2]>,
}

/// Stands for `was` where a field of the same name in another word means something else.
pub(super) const ANEW: &str = "anew";

/// A row of a form.
#[derive(Debug)]
pub(super) enum Row {
    /// One field.
    One { at: &'static str, label: &'static str, kind: FieldKind, need: Need },
    /// The rows of each item of a list.
    Each { at: &'static str, label: &'static str, rows: &'static [Row] },
    /// The rows of what stands at a field.
    Under { at: &'static str, label: &'static str, rows: &'static [Row] },
    /// The rows of a thing that has a field, or that hasn't.
    Where { has: &'static str, not: bool, rows: &'static [Row] },
}

/// Whether a field must stand in the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Need {
    /// Shown where it stands; it belongs to what holds it.
    Stands,
    /// May be left out, in everything that has this other field; in anything, if none is named.
    May(&'static str),
    /// Stands or is left out together with others, see [`GROUPS`].
    Group,
    /// Not in the file: the length of a section, told by its two ends.
    Derived,
}

const fn row(at: &'static str, label: &'static str, kind: FieldKind) -> Row {
    Row::One { at, label, kind, need: Need::Stands }
}

const fn may(at: &'static str, label: &'static str, kind: FieldKind) -> Row {
    Row::One { at, label, kind, need: Need::May("") }
}

const fn may_with(
    at: &'static str,
    other: &'static str,
    label: &'static str,
    kind: FieldKind,
) -> Row {
    Row::One { at, label, kind, need: Need::May(other) }
}

const fn group(at: &'static str, label: &'static str, kind: FieldKind) -> Row {
    Row::One { at, label, kind, need: Need::Group }
}

const fn each(at: &'static str, label: &'static str, rows: &'static [Row]) -> Row {
    Row::Each { at, label, rows }
}

const fn under(at: &'static str, label: &'static str, rows: &'static [Row]) -> Row {
    Row::Under { at, label, rows }
}

const fn having(has: &'static str, rows: &'static [Row]) -> Row {
    Row::Where { has, not: false, rows }
}

const fn without(has: &'static str, rows: &'static [Row]) -> Row {
    Row::Where { has, not: true, rows }
}

const fn word(word: &'static str, label: &'static str) -> Word {
    Word { word, label, parts: &[] }
}

const fn with(word: &'static str, label: &'static str, parts: &'static [Part]) -> Word {
    Word { word, label, parts }
}

const fn part(name: &'static str, imperial: &'static str, metric: &'static str) -> Part {
    Part { name, was: "", begins: Some([imperial, metric]) }
}

const fn kept(name: &'static str) -> Part {
    Part { name, was: "", begins: None }
}

/// The azimuth a piece is to fall toward: `face` of a hinge, `toward` of a snap or a push.
const fn aim(name: &'static str, was: &'static str) -> Part {
    Part { name, was, begins: Some([NORTH, NORTH]) }
}

const NORTH: &str = "\"0 deg\"";

/// What holds a group of fields, and the fields with what each is to begin with.
type Group = (&'static str, &'static [(&'static str, [&'static str; 2])]);

/// Groups of fields that stand together, by the name of what holds them, and what each is to begin
/// with in imperial and in metric scenes when another of them is filled in; `=` is the same as
/// what was typed.
pub(super) const GROUPS: &[Group] = &[
    ("push", &[("force", ["DontKnow"; 2]), ("height", ["\"4 ft\"", "\"1.2 m\""])]),
    (
        "limbs",
        &[("from", ["\"9 ft\"", "\"3 m\""]), ("spread", ["Eyed(\"6 ft\")", "Eyed(\"2 m\")"])],
    ),
    (
        "undergrowth",
        &[
            ("spacing", ["Eyed(\"3 ft\")", "Eyed(\"1 m\")"]),
            ("thickness", ["Eyed(\"3/4 in\")", "Eyed(\"2 cm\")"]),
            ("height", ["Eyed(\"4 ft\")", "Eyed(\"1.2 m\")"]),
        ],
    ),
    ("wind", &[("speed", ["="; 2]), ("gust", ["="; 2]), ("from", ["DontKnow"; 2])]),
    (
        "crown",
        &[("from", ["\"20 ft\"", "\"6 m\""]), ("spread", ["Eyed(\"8 ft\")", "Eyed(\"2.5 m\")"])],
    ),
    ("log", &[("lengths", ["[\"8 ft\"]", "[\"2.5 m\"]"])]),
];

/// The form of what stands alone, of items without a word of their own, and of the whole scene.
pub(super) const SCENE: &[Row] = &[
    row("name", "Name", Text),
    may("note", "Note", Text),
    row("units", "Units", Choice(UNITS)),
    may("doubt", "How plain numbers were taken", Choice(DOUBTS)),
];

/// Of the site, without its patches.
pub(super) const SITE: &[Row] = &[
    may("north", "Azimuths count from", Choice(NORTHS)),
    row("north.declination", "Declination, east of true north", Angle),
    under("ground", "", GROUND),
    group("wind.speed", "Wind speed", Speed),
    group("wind.gust", "Gust", Speed),
    group("wind.from", "Wind from", Azimuth),
];

/// Of the ground of the site or a patch.
const GROUND: &[Row] = &[
    row("soil", "Soil, by thumb or heel", Choice(SOILS)),
    row("cover", "Cover", Choice(COVERS)),
    row("cover[0]", "Depth of the cover, by finger", Length),
    row("roughness", "Roughness", Choice(ROUGHNESSES)),
    row("roughness[0]", "Bumps, peak to trough", Length),
    row("wetness", "Wetness", Choice(WETNESSES)),
    group("undergrowth.spacing", "Undergrowth, between stems", Length),
    group("undergrowth.thickness", "Undergrowth, thickness of a stem", Length),
    group("undergrowth.height", "Undergrowth, height", Length),
    may("hard_at", "Depth at which rock begins", Length),
];

/// Of a patch.
pub(super) const PATCH: &[Row] =
    &[row("id", "Id", Text), under("ground", "", GROUND), each("outline", "Corner", PLACE)];

/// Of the tree.
pub(super) const TREE: &[Row] = &[
    row("species", "Species", Name(Names::Species)),
    row("dbh", "Diameter at breast height", Length),
    row("height", "Height of the whole tree", Length),
    may("topped_at", "Stands up to", Length),
    each(
        "diameters",
        "Diameter",
        &[row("[0]", "Height on the stem", Length), row("[1]", "Over bark", Length)],
    ),
    may("lean", "Lean", Choice(LEANS)),
    row("lean.offset", "Plumb line, offset", Length),
    row("lean.height", "Plumb line, at a height of", Length),
    row("lean.angle", "Lean from the vertical", Angle),
    row("lean.toward", "Lean toward", Azimuth),
    each(
        "hollows",
        "Hollow",
        &[
            row("from", "From", Length),
            row("to", "To", Length),
            row("shell", "Sound shell", Length),
        ],
    ),
    group("crown.from", "Crown, lowest limbs", Length),
    group("crown.spread", "Crown, reach", Length),
    may_with("crown.full", "crown.from", "Crown, how full", Choice(FULL)),
];

/// Of a limb.
pub(super) const LIMB: &[Row] = &[
    row("id", "Id", Text),
    row("height", "Height on the stem", Length),
    row("azimuth", "Points to", Azimuth),
    row("angle", "Above the horizontal", Angle),
    row("length", "Length from the bark", Length),
    row("diameter", "Diameter at the bark", Length),
    may("brush", "Brush", Choice(BRUSHES)),
    row("brush[0]", "Brush, weight", Mass),
];

const BRUSHES: &[Word] = &[
    word("Bare", "none: dead or stripped"),
    word("Thin", "little"),
    word("Usual", "as limbs have"),
    word("Thick", "much"),
    with("Weighs", "as much as it weighs", &[part("", "Eyed(\"40 lb\")", "Eyed(\"20 kg\")")]),
];

const FULL: &[Word] =
    &[word("Thin", "thin"), word("Usual", "as forest trees"), word("Full", "full, open-grown")];

/// Of a cut.
pub(super) const CUT: &[Row] = &[
    row("id", "Id", Text),
    row("piece.to", "Top of the piece", Length),
    row("piece.from", "Butt of the piece", Length),
    row("piece.limb", "Limb", Name(Names::Limb)),
    row("piece.at", "Cut, from the bark", Length),
    Row::One {
        at: "piece.length",
        label: "Length of the piece",
        kind: PlainLength,
        need: Need::Derived,
    },
    having("piece.limb", &[row("release", "Release", Choice(LIMB_RELEASES))]),
    without("piece.limb", &[row("release", "Release", Choice(RELEASES))]),
    row("release.face", "Face azimuth", Azimuth),
    row("release.toward", "Broken or pushed toward", Azimuth),
    row("release.opening", "Face opening", Angle),
    row("release.depth", "Face depth, share of the stem", Share),
    row("release.hinge", "Hinge thickness", Length),
    may_with("release.width", "release.hinge", "Hinge width, share of the chord", Share),
    row("release.strap", "Back strap", Length),
    row("release.under", "Under cut, share of the limb", Share),
    may_with("release.step", "release.under", "Top cut outside the under cut", Length),
    without(
        "release.under",
        &[
            group("release.push.force", "Push", Force),
            group("release.push.height", "Push, above the cut", Length),
        ],
    ),
    each(
        "stubs",
        "Stub",
        &[
            row("height", "Height on the stem", Length),
            row("azimuth", "Points to", Azimuth),
            row("length", "Length from the bark", Length),
            row("diameter", "Diameter", Length),
        ],
    ),
    may("cutter", "Cut from", Choice(CUTTERS)),
    may("after", "The piece afterwards", Choice(AFTERS)),
    row("after.axis", "Lies with its top to", Azimuth),
    under("after.at", "Lies", PLACE),
    group("log.lengths", "Lengths that a mill takes", Lengths),
    may_with("log.trim", "log.lengths", "Trim, more for each", PlainLength),
];

/// Of the climber, the climber's line and the feller.
pub(super) const CLIMBER: &[Row] = &[
    may("", "Climber", Choice(CLIMBERS)),
    row("feet", "Feet above the ground there", Length),
    under("at", "", PLACE),
];
pub(super) const CLIMBER_LINE: &[Row] =
    &[may("", "Climber's line", Choice(CLIMBER_LINES)), under("at", "", PLACE)];
pub(super) const FELLER: &[Row] = &[may("", "Feller", Choice(FELLERS)), under("at", "", PLACE)];

/// Of a place, as far as it is told by these.
const PLACE: &[Row] = &[
    may_with("from", "distance", "From the station", Text),
    row("azimuth", "Azimuth", Azimuth),
    row("distance", "Distance", Length),
    may_with("slope", "distance", "Slope of the tape", Slope),
    row("east", "East of the stump", Length),
    row("north", "North of the stump", Length),
    row("x", "Grid x", Number),
    row("y", "Grid y", Number),
];

const WINDOW: &[Row] = &[
    row("wall", "In the wall from corner", Number),
    row("along", "Along the wall", PlainLength),
    row("width", "Width", PlainLength),
    row("sill", "Sill", PlainLength),
    row("height", "Height", PlainLength),
];

/// The forms of targets and aids by the file's word for them.
pub(super) const FORMS: &[(&str, &[Row])] = &[
    (
        "Structure",
        &[
            row("id", "Id", Text),
            row("wall", "Height of the walls", Length),
            may("roof", "Height of the roof", Length),
            each("windows", "Window", WINDOW),
            each("corners", "Corner", PLACE),
        ],
    ),
    (
        "KeepTree",
        &[
            row("id", "Id", Text),
            row("diameter", "Diameter at breast height", Length),
            row("height", "Height", Length),
            group("limbs.from", "Lowest limb", Length),
            group("limbs.spread", "Reach of the limbs", Length),
            under("at", "", PLACE),
        ],
    ),
    ("Person", &[row("id", "Id", Text), under("at", "", PLACE)]),
    (
        "Vehicle",
        &[
            row("id", "Id", Text),
            row("heading", "Nose toward", Azimuth),
            row("length", "Length", Length),
            row("width", "Width", Length),
            row("height", "Height", Length),
            under("at", "", PLACE),
        ],
    ),
    ("Road", WAY),
    ("Path", WAY),
    (
        "Wire",
        &[
            row("id", "Id", Text),
            row("from.height", "Height at the first end", Length),
            row("to.height", "Height at the second end", Length),
            may("sag", "Sag at mid span", Length),
            under("from.at", "First end", PLACE),
            under("to.at", "Second end", PLACE),
        ],
    ),
    (
        "BarrierLog",
        &[
            row("id", "Id", Text),
            row("diameter", "Diameter", Length),
            row("held", "How it is held", Choice(HELDS)),
            under("from", "First end", PLACE),
            under("to", "Second end", PLACE),
        ],
    ),
    (
        "BrushMat",
        &[
            row("id", "Id", Text),
            row("thickness", "Thickness", Length),
            each("outline", "Corner", PLACE),
        ],
    ),
    (
        "Wall",
        &[
            row("id", "Id", Text),
            row("height", "Height", Length),
            row("thickness", "Thickness", Length),
            each("line", "Point", PLACE),
        ],
    ),
    (
        "Stump",
        &[
            row("id", "Id", Text),
            row("diameter", "Diameter", Length),
            row("height", "Height", Length),
            under("at", "", PLACE),
        ],
    ),
    (
        "PullLine",
        &[
            row("id", "Id", Text),
            row("cut", "Pulls the piece of the cut", Name(Names::Hinged)),
            row("height", "Made fast on the stem at", Length),
            row("pull", "Pulled with, at most", Force),
            row("rope", "Rope", Name(Names::Rope)),
            may("strength", "Breaking strength, by its own tag", Force),
            may("knot_loss", "Strength that knots take", Share),
            may("design_factor", "Design factor", Number),
        ],
    ),
    (
        "TiedButt",
        &[under("", "", TIED), row("anchor", "Far end at", Choice(FASTS)), under("", "", HITCHED)],
    ),
    (
        "TagLine",
        &[
            under("", "", TIED),
            row("anchor", "Far end at", Choice(HITCHES)),
            under("", "", HITCHED),
        ],
    ),
    (
        "Lowering",
        &[
            row("id", "Id", Text),
            row("cut", "Lowers the piece of the cut", Name(Names::Cut)),
            row("from_cut", "Made fast on the piece, from the cut", Length),
            row("slack", "Let out beyond straight before it is held", Length),
            row("rope", "Rope", Name(Names::Rope)),
            may("strength", "Breaking strength, by its own tag", Force),
            may("stretch", "Longer under a tenth of that, by its own sheet", Share),
            may("damping", "Damping, of critical", Share),
            may("knot_loss", "Strength that knots take", Share),
            may("design_factor", "Design factor", Number),
            row("block", "Block on", Choice(BLOCKS)),
            row("block.height", "Block, height", Length),
            may("friction", "Friction over the block", Share),
            may("block_limit", "Working load of the block", Force),
            may("sling_limit", "Working load of its sling", Force),
            may("sling", "Between the legs of its sling", Angle),
            row("brake", "Brake on", Choice(BRAKES)),
            row("brake.height", "Brake, height", Length),
            under("block.at", "Block", PLACE),
            under("brake.at", "Brake", PLACE),
        ],
    ),
];

const TIED: &[Row] = &[
    row("id", "Id", Text),
    row("cut", "Holds the piece of the cut", Name(Names::Cut)),
    row("from_cut", "Made fast on the piece, from the cut", Length),
    row("slack", "Longer than straight by", Length),
    row("rope", "Rope", Name(Names::Rope)),
    may("strength", "Breaking strength, by its own tag", Force),
    may("stretch", "Longer under a tenth of that, by its own sheet", Share),
    may("damping", "Damping, of critical", Share),
    may("knot_loss", "Strength that knots take", Share),
    may("design_factor", "Design factor", Number),
];

/// Of what a line that holds a piece is made fast to.
const HITCHED: &[Row] = &[
    row("anchor.height", "Far end, height", Length),
    row("anchor.hold", "The most that hands hold", Force),
    under("anchor.at", "Far end", PLACE),
];

/// Of a redirect of a line.
pub(super) const REDIRECT: &[Row] = &[
    row("id", "Id", Text),
    row("height", "Height above the ground", Length),
    may("over", "Turns on", Choice(OVERS)),
    may("sling", "Between the legs of its sling", Angle),
    under("at", "", PLACE),
];

/// Of what the far end of a line is made fast to.
pub(super) const ANCHOR: &[Row] = &[
    row("", "Made fast to", Choice(ANCHORS)),
    row("height", "Height above the ground", Length),
    row("mass", "Mass as laden", Mass),
    row("driven", "Share of its weight on driven wheels", Share),
    under("at", "", PLACE),
];

const WAY: &[Row] =
    &[row("id", "Id", Text), row("width", "Width", Length), each("line", "Point", PLACE)];

const UNITS: &[Word] = &[word("Imperial", "feet and pounds"), word("Metric", "metres and newtons")];
const DOUBTS: &[Word] = &[
    word("Exactly", "exact"),
    word("Measured", "measured"),
    word("Paced", "paced"),
    word("Eyed", "eyed"),
];
const NORTHS: &[Word] = &[
    with("Magnetic", "compass north", &[part("declination", NORTH, NORTH)]),
    word("True", "true north"),
    word("Grid", "grid north"),
];
const SOILS: &[Word] = &[
    word("FistEasily", "fist goes in easily"),
    word("ThumbEasily", "thumb goes in easily"),
    word("ThumbWithEffort", "thumb goes in with effort"),
    word("ThumbIndents", "thumb indents"),
    word("Thumbnail", "thumbnail marks"),
    word("ThumbnailWithDifficulty", "thumbnail marks with difficulty"),
    word("HeelNoMark", "loose, heel leaves no mark"),
    word("HeelOneCm", "loose, heel mark 1 cm"),
    word("HeelThreeCm", "loose, heel mark 3 cm"),
    word("HeelOverTheWelt", "loose, heel over the welt"),
    word("Gravel", "gravel"),
    word("Pavement", "pavement"),
    word("DontKnow", "not tested"),
];
const COVERS: &[Word] = &[
    with("Litter", "litter", &[part("", "\"2 in\"", "\"5 cm\"")]),
    with("Turf", "turf", &[part("", "\"1 in\"", "\"3 cm\"")]),
    word("Bare", "bare"),
    word("DontKnow", "not looked at"),
];
const ROUGHNESSES: &[Word] = &[
    word("Lawn", "like a lawn"),
    word("Ankle", "up to the ankle"),
    word("Knee", "up to the knee"),
    with("Bumps", "as measured", &[part("", "\"4 in\"", "\"10 cm\"")]),
    word("DontKnow", "not looked at"),
];
const WETNESSES: &[Word] =
    &[word("Dry", "dry"), word("Damp", "damp"), word("Wet", "wet"), word("DontKnow", "not known")];
const LEANS: &[Word] = &[
    word("Upright", "upright as far as one can see"),
    with(
        "Plumb",
        "by plumb line",
        &[
            part("offset", "\"1 ft\"", "\"30 cm\""),
            part("height", "\"30 ft\"", "\"9 m\""),
            part("toward", NORTH, NORTH),
        ],
    ),
    with(
        "Angle",
        "by angle",
        &[part("angle", "\"2 deg\"", "\"2 deg\""), part("toward", NORTH, NORTH)],
    ),
];
const OPENING: Part = part("opening", "\"70 deg\"", "\"70 deg\"");
const DEPTH: Part = part("depth", "\"25 %\"", "\"25 %\"");
const HINGE: Part = part("hinge", "\"3/8 in\"", "\"1 cm\"");
const RELEASES: &[Word] = &[
    with(
        "Hinge",
        "hinge over a face",
        &[aim("face", "toward"), OPENING, DEPTH, HINGE, kept("width"), kept("push")],
    ),
    with(
        "BoredHinge",
        "bored hinge with a back strap",
        &[
            aim("face", "toward"),
            OPENING,
            DEPTH,
            HINGE,
            kept("width"),
            part("strap", "\"1 in\"", "\"3 cm\""),
            kept("push"),
        ],
    ),
    with("Snap", "snap cut", &[aim("toward", "face"), kept("push")]),
    with("PushOver", "flat cut and push", &[aim("toward", "face"), kept("push")]),
];
const LIMB_RELEASES: &[Word] = &[
    with(
        "Hinge",
        "hinge over a face",
        &[aim("face", "toward"), OPENING, DEPTH, HINGE, kept("width"), kept("push")],
    ),
    with(
        "BoredHinge",
        "bored hinge with a back strap",
        &[
            aim("face", "toward"),
            OPENING,
            DEPTH,
            HINGE,
            kept("width"),
            part("strap", "\"1/2 in\"", "\"1 cm\""),
            kept("push"),
        ],
    ),
    with(
        "UnderAndTop",
        "under cut, then top cut",
        &[part("under", "\"30 %\"", "\"30 %\""), kept("step")],
    ),
];
const CUTTERS: &[Word] = &[word("OnTheSpar", "the spar"), word("OnTheGround", "the ground")];
const AFTERS: &[Word] = &[
    word("Cleared", "cleared away"),
    word("LeftWhereItStops", "left where it stops"),
    with("LeftAt", "left where it was noted", &[AWAY, part("axis", NORTH, NORTH)]),
];
/// A place some way off, to be moved.
const AWAY: Part = part(
    "at",
    "At(azimuth: \"0 deg\", distance: \"10 ft\")",
    "At(azimuth: \"0 deg\", distance: \"3 m\")",
);
const CLIMBERS: &[Word] = &[
    word("OnSpar", "on the spar at each cut"),
    with("MovedTo", "at a place", &[AWAY, part("feet", "\"0 ft\"", "\"0 m\"")]),
    word("Away", "away"),
];
const CLIMBER_LINES: &[Word] = &[
    word("DownTheSpar", "down the spar"),
    with("MovedTo", "to a place", &[AWAY]),
    word("Away", "away"),
];
const FELLERS: &[Word] =
    &[word("AtStump", "at the stump, retreating"), with("MovedTo", "at a place", &[AWAY])];
const OVERS: &[Word] = &[word("Block", "a block"), word("Wood", "bark or wood")];
const FAR_HEIGHT: Part = part("height", "\"2 ft\"", "\"60 cm\"");
const ANCHORS: &[Word] = &[
    with("Tree", "a tree", &[AWAY, FAR_HEIGHT]),
    with("Stump", "a stump", &[AWAY, FAR_HEIGHT]),
    with(
        "Vehicle",
        "a vehicle",
        &[
            AWAY,
            FAR_HEIGHT,
            part("mass", "Eyed(\"6500 lb\")", "Eyed(\"3000 kg\")"),
            part("driven", "\"100 %\"", "\"100 %\""),
        ],
    ),
];
/// A height on another tree may not stand on the spar.
const ON_SPAR: Part = Part { name: "height", was: ANEW, begins: Some(["\"3 ft\"", "\"1 m\""]) };
const HITCHES: &[Word] = &[
    with("Spar", "the spar that stays", &[ON_SPAR]),
    with("Tree", "a tree", &[AWAY, FAR_HEIGHT]),
    with("Stump", "a stump", &[AWAY, FAR_HEIGHT]),
    with("Hand", "someone's hands", &[AWAY, part("hold", "DontKnow", "DontKnow")]),
];
/// Hands hold no butt.
const FASTS: &[Word] = &[
    with("Spar", "the spar that stays", &[ON_SPAR]),
    with("Tree", "a tree", &[AWAY, FAR_HEIGHT]),
    with("Stump", "a stump", &[AWAY, FAR_HEIGHT]),
];
const BLOCKS: &[Word] = &[
    with("Spar", "the spar that stays", &[ON_SPAR]),
    with("Tree", "a tree", &[AWAY, part("height", "\"20 ft\"", "\"6 m\"")]),
];
const BRAKES: &[Word] = &[
    with("Spar", "the spar that stays", &[ON_SPAR]),
    with("Tree", "a tree", &[AWAY, FAR_HEIGHT]),
    with("Stump", "a stump", &[AWAY, FAR_HEIGHT]),
];
const HELDS: &[Word] = &[
    word("Staked", "staked"),
    word("AgainstStump", "against a stump"),
    word("InDent", "in a dent"),
    word("NotHeld", "not held"),
];
