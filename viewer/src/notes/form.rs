//! What a climber has on paper, as typed.
//!
//! Everything is text until the scene's own reader has judged it. A bare number takes the unit
//! that stands beside its field.

use tumblewood::{
    quantity::{Azimuth, Length, Quantity, QuantityError, Slope, Units},
    scene::How,
};

/// How a number came to be known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Sure {
    /// As the whole form says.
    #[default]
    AsForm,
    /// Tape, inclinometer, compass.
    Measured,
    /// Paces.
    Paced,
    /// By eye.
    Eyed,
    /// Not known.
    DontKnow,
}

impl Sure {
    /// Words that stand for a whole form too.
    pub(crate) const OF_A_FORM: [Self; 3] = [Self::Measured, Self::Paced, Self::Eyed];

    /// All words of one number.
    pub(crate) const OF_A_NUMBER: [Self; 5] =
        [Self::AsForm, Self::Measured, Self::Paced, Self::Eyed, Self::DontKnow];

    /// The word of the scene file; none where nothing is said.
    pub(crate) fn file(self) -> Option<&'static str> {
        match self {
            Self::AsForm => None,
            Self::Measured => Some("Measured"),
            Self::Paced => Some("Paced"),
            Self::Eyed => Some("Eyed"),
            Self::DontKnow => Some("DontKnow"),
        }
    }

    fn how(self, form: Self) -> How {
        match self {
            Self::AsForm if form == Self::AsForm => How::Measured,
            Self::AsForm => form.how(Self::Measured),
            Self::Measured => How::Measured,
            Self::Paced => How::Paced,
            Self::Eyed => How::Eyed,
            Self::DontKnow => How::DontKnow,
        }
    }

    /// The word and what it stands for: "eyed ±20 %", "eyed ±10°".
    pub(crate) fn shown(self, form: Self, kind: Kind) -> String {
        let how = self.how(form);
        let spread = if kind.is_angle() {
            format!("±{:.0}°", how.angle_half_rad().to_degrees())
        } else {
            format!("±{:.0} %", 100.0 * how.relative_half())
        };
        match self {
            Self::AsForm => spread,
            Self::Measured => format!("measured {spread}"),
            Self::Paced => format!("paced {spread}"),
            Self::Eyed => format!("eyed {spread}"),
            Self::DontKnow => "don't know".to_owned(),
        }
    }
}

/// What a number is for, which says the unit it takes when it is typed bare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A distance or a height.
    Far,
    /// A diameter or a thickness.
    Thick,
    /// The inclination of a leg.
    Slope,
    /// A direction from north, or an angle.
    Turn,
    /// A push.
    Force,
    /// A part of the diameter.
    Share,
}

impl Kind {
    fn is_angle(self) -> bool {
        matches!(self, Self::Slope | Self::Turn)
    }

    /// The unit of a bare number.
    pub(crate) fn unit(self, form: &NotesForm) -> &'static str {
        match (self, form.units) {
            (Self::Far, Units::Imperial) => "ft",
            (Self::Far, Units::Metric) => "m",
            (Self::Thick, Units::Imperial) => "in",
            (Self::Thick, Units::Metric) => "cm",
            (Self::Slope, _) if form.percent => "%",
            (Self::Slope | Self::Turn, _) => "deg",
            (Self::Force, Units::Imperial) => "lbf",
            (Self::Force, Units::Metric) => "N",
            (Self::Share, _) => "%",
        }
    }

    /// A text as it goes into the scene: a bare number with its unit, all else as it is.
    pub(crate) fn with_unit(self, text: &str, form: &NotesForm) -> String {
        let text = text.trim();
        if is_bare(text) { format!("{text} {}", self.unit(form)) } else { text.to_owned() }
    }
}

/// True for a number without a unit: digits, a sign, a point, a fraction.
pub(crate) fn is_bare(text: &str) -> bool {
    let text = text.trim();
    text.contains(|c: char| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || " .+-−/".contains(c))
}

/// One number as typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Noted {
    /// The text.
    pub(crate) text: String,
    /// How it came to be known.
    pub(crate) sure: Sure,
}

impl From<&str> for Noted {
    fn from(text: &str) -> Self {
        Self { text: text.to_owned(), sure: Sure::AsForm }
    }
}

impl Noted {
    /// A number by eye.
    pub(crate) fn eyed(text: &str) -> Self {
        Self { text: text.to_owned(), sure: Sure::Eyed }
    }

    /// Nothing was typed and nothing said.
    pub(crate) fn is_empty(&self) -> bool {
        self.sure != Sure::DontKnow && self.text.trim().is_empty()
    }

    /// A length or distance, m, if it can be read.
    pub(crate) fn metres(&self, kind: Kind, form: &NotesForm) -> Option<f64> {
        self.read::<Length>(kind, form).ok()
    }

    /// An azimuth, rad, if it can be read.
    pub(crate) fn azimuth_rad(&self, form: &NotesForm) -> Option<f64> {
        self.read::<Azimuth>(Kind::Turn, form).ok()
    }

    /// An inclination, rad, if it can be read.
    pub(crate) fn slope_rad(&self, form: &NotesForm) -> Option<f64> {
        self.read::<Slope>(Kind::Slope, form).ok()
    }

    fn read<Q: Quantity>(&self, kind: Kind, form: &NotesForm) -> Result<f64, QuantityError> {
        Q::read(&kind.with_unit(&self.text, form)).map(Quantity::si)
    }
}

/// One leg of a line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Leg {
    /// Along the slope.
    pub(crate) distance: Noted,
    /// Down is negative.
    pub(crate) slope: Noted,
}

/// Legs on one azimuth.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Line {
    /// Its name.
    pub(crate) id: String,
    /// `stump` or `NAME:N`.
    pub(crate) from: String,
    /// Which way.
    pub(crate) azimuth: Noted,
    /// The legs.
    pub(crate) legs: Vec<Leg>,
}

/// A place by tape and compass.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Spot {
    /// `stump` or `NAME:N`.
    pub(crate) from: String,
    /// Which way.
    pub(crate) azimuth: Noted,
    /// How far on the level.
    pub(crate) distance: Noted,
}

/// How a building's footprint was noted.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Footprint {
    /// The corners of the wall toward the tree, and how far it goes back from there.
    Wall {
        /// One corner.
        one: Spot,
        /// The other.
        two: Spot,
        /// Away from the stump.
        depth: Noted,
    },
    /// Its middle and size.
    Middle {
        /// The middle.
        at: Spot,
        /// Along its heading.
        length: Noted,
        /// Across it.
        width: Noted,
        /// Which way its length runs.
        heading: Noted,
    },
}

/// What must not be touched.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum TargetKind {
    /// A building.
    Structure {
        /// Where it stands.
        footprint: Footprint,
        /// Height of its walls.
        wall: Noted,
    },
    /// A tree that stays.
    KeepTree {
        /// Where.
        at: Spot,
        /// At breast height.
        diameter: Noted,
        /// Of the whole tree.
        height: Noted,
    },
    /// Someone standing there.
    Person {
        /// Where.
        at: Spot,
    },
    /// A path or road.
    Path {
        /// Its middle line.
        line: Vec<Spot>,
        /// How wide.
        width: Noted,
    },
}

/// A target and its name.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Target {
    /// Its name.
    pub(crate) id: String,
    /// What it is.
    pub(crate) kind: TargetKind,
}

/// A diameter measured up the stem.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Girth {
    /// How high.
    pub(crate) height: Noted,
    /// Over bark.
    pub(crate) diameter: Noted,
}

/// A lean by plumb line.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Plumb {
    /// From the stem's foot to the plumb bob.
    pub(crate) offset: Noted,
    /// How high the line hung.
    pub(crate) height: Noted,
    /// Which way.
    pub(crate) toward: Noted,
}

/// The tree.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tree {
    /// One of the table.
    pub(crate) species: String,
    /// Diameter at breast height.
    pub(crate) dbh: Noted,
    /// Of the whole tree.
    pub(crate) height: Noted,
    /// What still stands, if its top is gone; empty if not.
    pub(crate) topped_at: Noted,
    /// Lowest first.
    pub(crate) girths: Vec<Girth>,
    /// None if upright as far as one can see.
    pub(crate) lean: Option<Plumb>,
}

/// The first cut.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Cut {
    /// Its name.
    pub(crate) id: String,
    /// Height of the cut.
    pub(crate) from: Noted,
    /// Height of the piece's top.
    pub(crate) to: Noted,
    /// A word of the releases.
    pub(crate) release: &'static str,
    /// Where the piece is meant to fall.
    pub(crate) face: Noted,
    /// Of the face.
    pub(crate) opening: Noted,
    /// Of the face, as a part of the diameter.
    pub(crate) depth: Noted,
    /// Thickness of the hinge.
    pub(crate) hinge: Noted,
    /// How hard it is pushed; empty for no push.
    pub(crate) push: Noted,
    /// Where it is pushed, above the cut.
    pub(crate) push_height: Noted,
}

/// All notes.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct NotesForm {
    /// Of the job.
    pub(crate) name: String,
    /// Free words.
    pub(crate) note: String,
    /// No real place.
    pub(crate) invented: bool,
    /// Units of bare numbers and of all that is printed.
    pub(crate) units: Units,
    /// Bare inclinations are percent, not degrees.
    pub(crate) percent: bool,
    /// How numbers without a word of their own were taken.
    pub(crate) doubt: Sure,
    /// Lines of legs.
    pub(crate) lines: Vec<Line>,
    /// A word of the soils.
    pub(crate) soil: &'static str,
    /// A word of the covers.
    pub(crate) cover: &'static str,
    /// Its depth by finger.
    pub(crate) cover_depth: Noted,
    /// A word of the bumps.
    pub(crate) roughness: &'static str,
    /// Measured bumps.
    pub(crate) bumps: Noted,
    /// A word of the wetnesses.
    pub(crate) wetness: &'static str,
    /// The tree.
    pub(crate) tree: Tree,
    /// What must not be touched.
    pub(crate) targets: Vec<Target>,
    /// The first cut.
    pub(crate) cut: Cut,
}

impl Leg {
    /// A leg as typed.
    pub(crate) fn new(distance: &str, slope: &str) -> Self {
        Self { distance: distance.into(), slope: slope.into() }
    }
}

impl Line {
    /// A line as typed.
    pub(crate) fn new(id: &str, from: &str, azimuth: &str, legs: &[(&str, &str)]) -> Self {
        Self {
            id: id.to_owned(),
            from: from.to_owned(),
            azimuth: azimuth.into(),
            legs: legs.iter().map(|(distance, slope)| Leg::new(distance, slope)).collect(),
        }
    }
}

impl Spot {
    /// A place as typed.
    pub(crate) fn new(from: &str, azimuth: &str, distance: &str) -> Self {
        Self { from: from.to_owned(), azimuth: azimuth.into(), distance: distance.into() }
    }
}

impl Target {
    /// A target to start from.
    pub(crate) fn new(kind: TargetKind, id: String) -> Self {
        Self { id, kind }
    }
}

impl TargetKind {
    /// What it is called.
    pub(crate) fn name(&self) -> &'static str {
        match self {
            Self::Structure { .. } => "Building",
            Self::KeepTree { .. } => "Tree that stays",
            Self::Person { .. } => "Person",
            Self::Path { .. } => "Path or road",
        }
    }

    /// One of each to start from.
    pub(crate) fn starting() -> [Self; 4] {
        let spot = |azimuth, distance| Spot::new("stump", azimuth, distance);
        [
            Self::Structure {
                footprint: Footprint::Wall {
                    one: spot("168", "88"),
                    two: spot("156", "88"),
                    depth: "12".into(),
                },
                wall: "9".into(),
            },
            Self::KeepTree {
                at: spot("120", "33"),
                diameter: "7".into(),
                height: Noted::eyed("35"),
            },
            Self::Person { at: spot("200", "80") },
            Self::Path { line: vec![spot("130", "100"), spot("190", "100")], width: "4".into() },
        ]
    }
}

impl Default for NotesForm {
    /// An invented bank with a tree above a shed, which runs as it stands.
    fn default() -> Self {
        let [shed, ..] = TargetKind::starting();
        Self {
            name: "My bank".to_owned(),
            note: "Starting values: replace them with your own notes.".to_owned(),
            invented: true,
            units: Units::Imperial,
            percent: false,
            doubt: Sure::Measured,
            lines: vec![
                Line::new(
                    "down",
                    "stump",
                    "160",
                    &[("20", "-24"), ("35", "-33"), ("35", "-28"), ("60", "-4")],
                ),
                Line::new("up", "stump", "340", &[("20", "20"), ("40", "12")]),
                Line::new("left", "stump", "70", &[("40", "-2"), ("40", "3")]),
                Line::new("right", "stump", "250", &[("40", "1"), ("40", "-3")]),
                Line::new("foot-left", "down:3", "70", &[("40", "1"), ("40", "-2")]),
                Line::new("foot-right", "down:3", "250", &[("40", "-3"), ("40", "-1")]),
            ],
            soil: "ThumbWithEffort",
            cover: "Litter",
            cover_depth: "2".into(),
            roughness: "Ankle",
            bumps: "4".into(),
            wetness: "DontKnow",
            tree: Tree {
                species: "Red maple".to_owned(),
                dbh: "18".into(),
                height: Noted::eyed("65"),
                topped_at: "44".into(),
                girths: vec![
                    Girth { height: "2".into(), diameter: "20".into() },
                    Girth { height: "20".into(), diameter: "14".into() },
                    Girth { height: "40".into(), diameter: "9".into() },
                ],
                lean: Some(Plumb {
                    offset: "2".into(),
                    height: "30".into(),
                    toward: Noted::eyed("160"),
                }),
            },
            targets: vec![Target::new(shed, "shed".to_owned())],
            cut: Cut {
                id: "first".to_owned(),
                from: "36".into(),
                to: "44".into(),
                release: "Hinge",
                face: "160".into(),
                opening: "70".into(),
                depth: "25".into(),
                hinge: "1/2".into(),
                push: Noted::eyed("60"),
                push_height: "6".into(),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_bare_number_takes_the_unit_beside_its_field() {
        let mut form = NotesForm::default();
        for (kind, typed, written) in [
            (Kind::Far, "30", "30 ft"),
            (Kind::Far, "30 m", "30 m"),
            (Kind::Thick, " 1 1/4 ", "1 1/4 in"),
            (Kind::Slope, "-33", "-33 deg"),
            (Kind::Slope, "-65 %", "-65 %"),
            (Kind::Turn, "160", "160 deg"),
            (Kind::Force, "40", "40 lbf"),
            (Kind::Share, "25", "25 %"),
            (Kind::Far, "", ""),
            (Kind::Far, "thirty", "thirty"),
            (Kind::Far, "3e2", "3e2"),
        ] {
            assert_eq!(kind.with_unit(typed, &form), written);
        }
        (form.units, form.percent) = (Units::Metric, true);
        assert_eq!(Kind::Slope.with_unit("-65", &form), "-65 %");
        assert_eq!(Kind::Thick.with_unit("45", &form), "45 cm");
    }

    #[test]
    fn verif_doubt_is_shown_with_what_it_stands_for() {
        assert_eq!(Sure::AsForm.shown(Sure::Paced, Kind::Far), "±8 %");
        assert_eq!(Sure::Eyed.shown(Sure::Paced, Kind::Turn), "eyed ±10°");
        assert_eq!(Sure::DontKnow.shown(Sure::Measured, Kind::Far), "don't know");
    }
}
