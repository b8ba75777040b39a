//! What happened: notes beside a scene, keyed by the ids of its cuts.
//!
//! A file of its own, so that the scene stays what was planned. Numbers and places are written as
//! in scenes, with their doubt; everything but the cut's id may be left out.

use std::{fmt::Write as _, path::Path, sync::Arc};

use super::{
    Scene, SceneError, Source, doubt::Doubtful, model::Place, read, read_text, resolve, v1, version,
};
use crate::quantity::{Length, Quantity as _, Units};

/// How a piece left the spar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Left {
    /// It went over the face or the rim.
    OverTheFace,
    /// It sat back and stayed on the spar.
    SatBack,
}

/// How a piece went, in the words of outcomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Under 1 m and a quarter turn.
    Stayed,
    /// Mostly sliding.
    Slid,
    /// Mostly rolling.
    Rolled,
    /// End over end, half a turn or more.
    Tumbled,
}

/// What is noted of one cut.
#[derive(Clone, Debug, PartialEq)]
pub struct CutNote {
    /// The cut's index in the scene.
    pub cut: usize,
    /// Where it stands in the file, as errors name it.
    pub path: String,
    /// Length as cut, m.
    pub length_m: Option<Doubtful>,
    /// How it left.
    pub left: Option<Left>,
    /// Where it first touched the ground.
    pub first_touch: Option<Place>,
    /// Where its middle lay.
    pub lay: Option<Place>,
    /// How it went, and whether that was seen (or else guessed).
    pub went: Option<(Way, bool)>,
    /// Free words.
    pub words: String,
}

/// Notes of what happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Happened {
    /// The start of the hash of the scene they were begun for, if they say it.
    pub scene_hash: Option<String>,
    /// In the order of the file; each cut at most once.
    pub notes: Vec<CutNote>,
    /// The file, so that later steps can point into it.
    pub source: Arc<Source>,
}

impl Happened {
    /// True when they say that they were begun for another state of the scene.
    #[must_use]
    pub fn is_of_another(&self, scene: &Scene) -> bool {
        self.scene_hash.as_ref().is_some_and(|hash| !scene.hash.starts_with(hash.as_str()))
    }
}

/// Reads and checks the notes beside a scene.
///
/// # Errors
/// The file can't be read, or what is in it is wrong: see [`SceneError`].
pub fn load(path: &Path, scene: &Scene) -> Result<Happened, SceneError> {
    parse(&read_text(path)?, &path.display().to_string(), scene)
}

/// Reads and checks notes from their text; `name` is what errors call the file.
///
/// # Errors
/// What is in it is wrong: see [`SceneError`].
pub fn parse(text: &str, name: &str, scene: &Scene) -> Result<Happened, SceneError> {
    let source = Arc::new(Source { name: name.to_owned(), text: Arc::from(text) });
    version(&source)?;
    let file: v1::Happened = read(&source).map_err(SceneError::Invalid)?;
    let (happened, wrongs) = resolve::happened(&file, scene, Arc::clone(&source));
    match source.error(&wrongs) {
        Some(error) => Err(error),
        None => Ok(happened),
    }
}

/// The text of a commented file to note what happens in, for the cuts of this scene.
#[must_use]
pub fn starter(scene: &Scene) -> String {
    let hash: String = scene.hash.chars().take(12).collect();
    let name: String = scene.name.chars().filter(|c| !c.is_control()).collect();
    let mut text = format!(
        "// What happened, cut by cut, beside the scene “{name}”.
// Take the // away from a cut that was made, and write what was seen; leave out what was not.
// Then: tumblewood tune SCENE --notes THIS_FILE
//
// Numbers have their units and may say how they were taken, as in scenes:
//   Measured(\"9 ft\"), Paced(\"40 ft\"), Eyed(\"60 ft\"), Within(\"24 in\", \"2 in\").
// One without a word of its own is as sure as `doubt` says.
// Places are written as in scenes: At(azimuth: \"205 deg\", distance: \"40 ft\"), from the stump or
// from: \"LINE:N\"; or Station(\"LINE:N\"), or Local(east: \"3 m\", north: \"-12 m\").
(
    version: 1,
    scene_hash: \"{hash}\",
    doubt: Paced,
    notes: [
"
    );
    for (index, cut) in scene.cuts.iter().enumerate() {
        let length_m = scene.piece_length_m(index).unwrap_or_default();
        let length = |m: f64| Length::from_si(m).text(scene.units);
        let [near, far] = match scene.units {
            Units::Metric => ["6 m", "15 m"],
            Units::Imperial => ["20 ft", "50 ft"],
        };
        // Writing to a String can't fail.
        let _ = write!(
            text,
            "        // (
        //     cut: \"{}\",
        //     length: Measured(\"{}\"), // as it was cut
        //     left: OverTheFace, // or SatBack, and then nothing below
        //     first_touch: At(azimuth: \"{:.0} deg\", distance: \"{}\"), // on the ground
        //     lay: At(azimuth: \"{:.0} deg\", distance: \"{}\"), // its middle, when it lay still
        //     went: Seen(Rolled), // Stayed, Slid, Rolled, Tumbled; Seen or Guessed
        //     words: \"\",
        // ),
",
            cut.id,
            length(length_m),
            cut.release.toward_rad().told.to_degrees().rem_euclid(360.0),
            near,
            cut.release.toward_rad().told.to_degrees().rem_euclid(360.0),
            far,
        );
    }
    text.push_str("    ],\n)\n");
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene;

    fn demo() -> Scene {
        scene::parse(scene::starter(), "starter.ron").unwrap_or_else(|e| panic!("{e}"))
    }

    /// Reads notes that hold these fields.
    fn noted(fields: &str) -> Result<Happened, String> {
        let text = format!("(\n    version: 1,\n    notes: [({fields})],\n)\n");
        parse(&text, "job.happened.ron", &demo()).map_err(|e| e.to_string())
    }

    #[test]
    fn verif_the_starter_is_read_with_and_without_its_comments() {
        let scene = demo();
        let text = starter(&scene);
        let empty = parse(&text, "n.ron", &scene).unwrap_or_else(|e| panic!("{e}"));
        assert!(empty.notes.is_empty() && !empty.is_of_another(&scene));
        let full = text.replace("        // ", "        ");
        let full = parse(&full, "n.ron", &scene).unwrap_or_else(|e| panic!("{e}\n{full}"));
        assert_eq!(full.notes.len(), scene.cuts.len());
        let note = &full.notes[1];
        assert_eq!((note.cut, note.went), (1, Some((Way::Rolled, true))));
        assert!((note.length_m.map_or(0.0, |l| l.told) - 8.0 * 0.3048).abs() < 1e-9);
    }

    #[test]
    fn verif_places_and_doubts_are_those_of_scenes() {
        let read = noted(
            "cut: \"third\", lay: At(from: \"down:2\", azimuth: \"150 deg\", distance: \
             Eyed(\"9 ft\")), went: Guessed(Slid)",
        )
        .unwrap_or_else(|e| panic!("{e}"));
        let note = &read.notes[0];
        let Some(Place::Taped { distance_m, azimuth_rad, .. }) = note.lay else {
            panic!("{note:?}")
        };
        assert!((distance_m.spread.high / distance_m.told - 1.2).abs() < 1e-9);
        assert!((azimuth_rad.spread.high - azimuth_rad.told - 2_f64.to_radians()).abs() < 1e-9);
        assert_eq!(note.went, Some((Way::Slid, false)));
    }

    #[test]
    fn prop_what_is_wrong_is_named_with_its_place() {
        for (fields, named) in [
            (
                "cut: \"fourth\", left: SatBack",
                vec!["3:", "notes[0].cut", "fourth", "first, second"],
            ),
            ("cut: \"first\"", vec!["notes[0]", "nothing", "lay"]),
            ("cut: \"first\", left: SatBack, went: Seen(Slid)", vec!["notes[0].went", "sat back"]),
            ("cut: \"first\", length: \"0 ft\"", vec!["notes[0].length", "0 ft", "allowed"]),
            ("cut: \"first\", length: \"90 ft\"", vec!["notes[0].length", "90 ft", "48 ft"]),
            ("cut: \"first\", length: \"6\"", vec!["notes[0].length", "unit"]),
            ("cut: \"first\", went: Seen(Flew)", vec!["went", "Flew", "Tumbled"]),
            ("cut: \"first\", went: Rolled", vec!["went", "Rolled", "Seen"]),
            ("cut: \"first\", lay: At(azimuth: \"10 deg\")", vec!["lay", "distance"]),
            ("cut: \"first\", lay: Station(\"down:9\")", vec!["lay", "down:9", "down:5"]),
            ("cut: \"first\", lay: Grid(x: 1.0, y: 2.0)", vec!["lay", "allowed", "Local"]),
            ("cut: \"first\", lies: 3", vec!["lies", "allowed", "first_touch"]),
            (
                "cut: \"first\", left: SatBack), (cut: \"first\", left: OverTheFace",
                vec!["notes[1].cut", "twice", "once"],
            ),
        ] {
            let said = noted(fields).expect_err(fields);
            for part in named {
                assert!(said.contains(part), "{fields} should name {part}: {said}");
            }
        }
        for (text, named) in [
            ("(version: 2)", "version"),
            ("(notes: [])", "version"),
            ("(version: 1, scene_hash: \"xyz\")", "scene_hash"),
            ("(version: 1, notes: [", "notes[0]"),
        ] {
            let said = parse(text, "n.ron", &demo()).expect_err(text).to_string();
            assert!(said.contains("n.ron:1:") && said.contains(named), "{said}");
        }
    }
}
