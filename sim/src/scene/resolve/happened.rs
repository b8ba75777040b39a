//! The notes of what happened, against the scene they are beside.

use std::sync::Arc;

use crate::quantity::Length;

use super::{
    super::{
        error::{Source, Wrong},
        happened::{CutNote, Happened, Left},
        limits as lim,
        model::*,
        v1,
    },
    Reader, how,
};

/// Shortest start of a hash that names a scene.
const HASH_MIN: usize = 8;

/// The notes of a file, and all that is wrong with them.
pub(in crate::scene) fn happened(
    file: &v1::Happened,
    scene: &Scene,
    source: Arc<Source>,
) -> (Happened, Vec<Wrong>) {
    let mut r = Reader {
        how: how(file.doubt),
        units: scene.units,
        wrongs: Vec::new(),
        assumed: Vec::new(),
        limbs: Vec::new(),
        transects: (scene.site.terrain.legs().iter())
            .map(|t| (t.id.clone(), t.legs.len()))
            .collect(),
    };
    if let Some(hash) = &file.scene_hash
        && !((HASH_MIN..=64).contains(&hash.len()) && hash.bytes().all(|b| b.is_ascii_hexdigit()))
    {
        r.wrong(
            "scene_hash",
            "no hash of a scene",
            "8 to 64 of the digits 0 to 9 and a to f, as the starter and briefs have them",
        );
    }
    let mut notes: Vec<CutNote> = Vec::new();
    for (i, note) in file.notes.iter().enumerate() {
        let path = format!("notes[{i}]");
        if let Some(read) = r.cut_note(&path, note, scene) {
            if notes.iter().any(|n| n.cut == read.cut) {
                r.wrong(&format!("{path}.cut"), "a cut that is noted twice", "each cut once");
            }
            notes.push(read);
        }
    }
    let scene_hash = file.scene_hash.as_ref().map(|hash| hash.to_lowercase());
    (Happened { scene_hash, notes, source }, r.wrongs)
}

impl Reader {
    fn cut_note(&mut self, path: &str, note: &v1::CutNote, scene: &Scene) -> Option<CutNote> {
        let at = |field: &str| format!("{path}.{field}");
        let Some(cut) = scene.cuts.iter().position(|c| c.id == note.cut) else {
            let ids: Vec<&str> = scene.cuts.iter().map(|c| c.id.as_str()).collect();
            let ids = if ids.is_empty() { "the scene has no cuts".into() } else { ids.join(", ") };
            self.wrong(&at("cut"), "no such cut in the scene", ids);
            return None;
        };
        // What is up to the piece's own top could be on it.
        let most_m = match scene.stem_taken_m(cut) {
            Some([_, to_m]) => to_m,
            None => scene.tree.height_m.told,
        };
        let limits = lim::Limits { low: 0.05, high: most_m, unknown: None };
        let place = |r: &mut Self, field: &str, place: &Option<v1::Place>| {
            let place = place.as_ref()?;
            if matches!(place, v1::Place::Grid { .. }) && scene.site.terrain.stump().is_none() {
                r.wrong(
                    &at(field),
                    "coordinates of a terrain that has none",
                    "At(azimuth: .., distance: ..), Station(..) or Local(east: .., north: ..)",
                );
            }
            Some(r.place(&at(field), place))
        };
        let read = CutNote {
            cut,
            path: path.to_owned(),
            length_m: note
                .length
                .as_ref()
                .map(|length| self.number::<Length>(&at("length"), length, limits)),
            left: note.left.map(Into::into),
            first_touch: place(self, "first_touch", &note.first_touch),
            lay: place(self, "lay", &note.lay),
            went: note.went.map(|went| match went {
                v1::Went::Seen(way) => (way.into(), true),
                v1::Went::Guessed(way) => (way.into(), false),
            }),
            words: note.words.trim().to_owned(),
        };
        let went_on = [
            ("first_touch", read.first_touch.is_some()),
            ("lay", read.lay.is_some()),
            ("went", read.went.is_some()),
        ];
        if read.left == Some(Left::SatBack) {
            for (field, _) in went_on.iter().filter(|(_, said)| *said) {
                self.wrong(
                    &at(field),
                    "a piece that sat back did not leave the spar",
                    "left: OverTheFace, or no first_touch, lay and went",
                );
            }
        }
        if read.left.is_none() && read.length_m.is_none() && went_on.iter().all(|(_, said)| !said) {
            self.wrong(
                path,
                "a note that says nothing of what happened",
                "one or more of length, left, first_touch, lay, went",
            );
        }
        Some(read)
    }
}
