use glam::DVec2;

use super::*;
use crate::scene::{
    MapFrame,
    edit::{Doubt, Thing, fields, move_by, set_field, unsaved_in},
    starter,
};

/// A folder with the starter in it.
fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.ron");
    fs::write(&path, starter()).unwrap();
    (folder, path)
}

fn beech() -> Thing {
    Thing::Target("young-beech".to_owned())
}

fn moved(document: &Document, key: Option<&str>, by_m: DVec2) -> Vec<Splice> {
    let (scene, text) = document.base(key);
    move_by(scene.unwrap(), &MapFrame::default(), text, &beech(), by_m).unwrap()
}

/// Puts a text into a field of a cut.
fn typed(document: &mut Document, path: &str, text: &str) -> Result<(), EditError> {
    let (scene, base) = document.base(Some(path));
    let all = fields(scene.unwrap(), base, &Thing::Cut("second".to_owned()));
    let field = all.into_iter().find(|field| field.path == path).unwrap();
    let splice = set_field(base, &field, text, &Doubt::Plain)?;
    document.apply("change second", Some(path), &[splice])
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn verif_steps_are_undone_to_the_byte() {
    let (_folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    assert!(!document.is_dirty() && document.undo().is_none() && document.error().is_none());
    let mut texts = vec![document.text().to_owned()];
    for k in 0..5 {
        let splices = moved(&document, None, DVec2::new(0.4, f64::from(k) * 0.1));
        document.apply(&format!("move {k}"), None, &splices).unwrap();
        texts.push(document.text().to_owned());
    }
    assert!(document.is_dirty());
    for k in (0..5).rev() {
        assert_eq!(document.undo_name(), Some(format!("move {k}").as_str()));
        document.undo();
        assert_eq!(document.text(), texts[k]);
    }
    assert!(!document.is_dirty());
    for text in &texts[1..] {
        document.redo();
        assert_eq!(document.text(), text);
        assert_eq!(&*document.scene().unwrap().source.text, text);
    }
    document.undo();
    let splices = moved(&document, None, DVec2::X);
    document.apply("move", None, &splices).unwrap();
    assert_eq!(document.redo_name(), None);
}

#[test]
fn verif_an_edit_taken_back_was_never_made() {
    let (_folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    let edit = |document: &mut Document, name: &str, north_m: f64| {
        let splices = moved(document, None, DVec2::new(0.4, north_m));
        document.apply(name, None, &splices).unwrap();
    };
    edit(&mut document, "first", 0.1);
    edit(&mut document, "second", 0.2);
    document.undo();
    let text = document.text().to_owned();
    edit(&mut document, "refused later", 0.3);
    document.take_back();
    assert_eq!(document.text(), text);
    let steps = (document.undo_name(), document.redo_name());
    assert_eq!(steps, (Some("first"), Some("second")));
}

#[test]
fn verif_a_drag_is_one_step_from_where_it_began() {
    let (folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    for k in 1..=50 {
        // Each step is less than what a text can say.
        let splices = moved(&document, Some("drag 1"), DVec2::new(0.001 * f64::from(k), 0.0));
        document.apply("move young-beech", Some("drag 1"), &splices).unwrap();
    }
    let dragged = document.text().to_owned();
    let splices = moved(&Document::open(&path).unwrap(), None, DVec2::new(0.05, 0.0));
    assert_eq!(dragged, apply(starter(), &splices).unwrap());
    document.seal();
    assert!(names(folder.path()).contains(&".job.ron.tumblewood-unsaved".to_owned()));
    let splices = moved(&document, Some("drag 1"), DVec2::Y);
    document.apply("move young-beech", Some("drag 1"), &splices).unwrap();
    document.undo();
    assert_eq!(document.text(), dragged);
    document.undo();
    assert_eq!(document.text(), starter());
    // Back where it began there is nothing to undo.
    let splices = moved(&document, Some("drag 2"), DVec2::Y);
    document.apply("move young-beech", Some("drag 2"), &splices).unwrap();
    document.apply("move young-beech", Some("drag 2"), &[]).unwrap();
    assert_eq!((document.undo_name(), document.is_dirty()), (None, false));
}

#[test]
fn verif_a_wrong_edit_changes_nothing_and_a_wrong_scene_can_be_mended() {
    let (_folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    let refused = typed(&mut document, "cuts[1].piece.to", "60 ft").unwrap_err();
    let said = refused.to_string();
    assert!(said.contains("job.ron:") && said.contains("cuts[1].piece.to"), "{said}");
    assert_eq!((document.text(), document.undo_name()), (starter(), None));
    typed(&mut document, "cuts[1].piece.to", "41 ft").unwrap();
    let refused = typed(&mut document, "cuts[1].piece.to", "60 ft").unwrap_err();
    assert!(matches!(refused, EditError::Scene(_)));
    assert!(document.text().contains("to: \"41 ft\""));

    fs::write(&path, starter().replace("\"48 ft\"", "\"48\"")).unwrap();
    let mut document = Document::open(&path).unwrap();
    assert!(document.scene().is_none());
    let shown = document.error_text().unwrap();
    assert!(shown.contains("needs a unit") && shown.contains("╭─"), "{shown}");
    let mend = Splice::between(document.text(), &document.text().replace("\"48\"", "\"49 ft\""));
    document.apply("mend", None, &[mend]).unwrap();
    assert!(document.scene().is_some());
}

#[test]
fn verif_a_file_that_changed_is_not_written_over() {
    let (folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    let splices = moved(&document, None, DVec2::X);
    document.apply("move", None, &splices).unwrap();
    let work = document.text().to_owned();
    assert_eq!(document.on_disk().unwrap(), OnDisk::Same);

    let other = starter().replace("Hemlock above", "Old hemlock above");
    fs::write(&path, &other).unwrap();
    assert_eq!(document.on_disk().unwrap(), OnDisk::Changed);
    let refused = document.save(false).unwrap_err();
    assert!(matches!(refused, DocumentError::Changed(_)), "{refused}");
    assert_eq!(fs::read_to_string(&path).unwrap(), other);
    document.reload().unwrap();
    assert_eq!((document.text(), document.is_dirty()), (other.as_str(), false));
    document.undo();
    assert_eq!((document.text(), document.is_dirty()), (work.as_str(), true));

    fs::remove_file(&path).unwrap();
    assert_eq!(document.on_disk().unwrap(), OnDisk::Gone);
    assert!(matches!(document.save(false).unwrap_err(), DocumentError::Gone(_)));
    assert!(document.reload().is_err());
    assert_eq!(document.text(), work);
    document.save(true).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), work);
    assert!(!document.is_dirty());
    assert_eq!(names(folder.path()), ["job.ron"]);
}

#[test]
fn verif_what_cant_be_written_is_kept() {
    let (folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    let splices = moved(&document, None, DVec2::X);
    document.apply("move", None, &splices).unwrap();
    let work = document.text().to_owned();

    // The file may only be read.
    let mut rights = fs::metadata(&path).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(&path, rights).unwrap();
    let said = document.save(false).unwrap_err().to_string();
    assert!(said.contains("may only be read") && !said.contains("--force"), "{said}");

    let taken = folder.path().join("taken.ron");
    fs::write(&taken, "x").unwrap();
    assert!(matches!(document.save_as(&taken, false).unwrap_err(), DocumentError::Taken(_)));
    let nowhere = folder.path().join("no/such/folder.ron");
    for bad in [folder.path(), &nowhere, Path::new("/proc/job.ron"), Path::new("/")] {
        document.save_as(bad, true).unwrap_err();
        assert_eq!((document.text(), document.path()), (work.as_str(), Some(path.as_path())));
        assert!(document.is_dirty());
    }
    assert_eq!(fs::read_to_string(&taken).unwrap(), "x");
    assert_eq!(fs::read_to_string(&path).unwrap(), starter());
    document.save_as(&taken, true).unwrap();
    assert_eq!(fs::read_to_string(&taken).unwrap(), work);
    assert_eq!((document.path(), document.is_dirty()), (Some(taken.as_path()), false));

    // Where nothing can be kept, that is said and the edit stands.
    let mut document = Document::new(starter(), Path::new("/proc/no"));
    assert!(matches!(document.save(true).unwrap_err(), DocumentError::NoName));
    let splices = moved(&document, None, DVec2::X);
    document.apply("move", None, &splices).unwrap();
    assert!(document.keep_error().unwrap().contains("/proc/no"));
    assert_eq!(document.text(), work);
}

#[test]
fn verif_what_cant_be_read_is_no_document() {
    let (folder, path) = folder();
    fs::write(&path, b"(version: 1, name: \"\xff\")").unwrap();
    for (bad, why) in [
        (path.as_path(), "no UTF-8"),
        (folder.path(), "directory"),
        (&folder.path().join("none.ron"), "can't be read"),
    ] {
        let said = Document::open(bad).unwrap_err().to_string();
        assert!(said.contains(why), "{said}");
    }
}

#[cfg(unix)]
#[test]
fn verif_a_link_and_the_rights_of_a_file_stay() {
    use std::os::unix::fs::PermissionsExt as _;
    let (folder, path) = folder();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let link = folder.path().join("link.ron");
    std::os::unix::fs::symlink(&path, &link).unwrap();
    let mut document = Document::open(&link).unwrap();
    let splices = moved(&document, None, DVec2::X);
    document.apply("move", None, &splices).unwrap();
    document.save(false).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(&path).unwrap(), document.text());
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
}

#[test]
fn verif_what_was_left_unsaved_is_found_again() {
    let (folder, path) = folder();
    let mut document = Document::open(&path).unwrap();
    let splices = moved(&document, None, DVec2::X);
    document.apply("move", None, &splices).unwrap();
    let work = document.text().to_owned();
    drop(document);

    let mut document = Document::open(&path).unwrap();
    let found = document.found().unwrap();
    assert_eq!(found.text, work);
    assert!(found.kept_at.unwrap() >= found.saved_at.unwrap());
    assert_eq!(document.text(), starter());
    // Until it is answered for, nothing is written over it.
    let splices = moved(&document, None, DVec2::Y);
    document.apply("move", None, &splices).unwrap();
    assert!(document.keep_error().unwrap().contains("left unsaved"));
    assert_eq!(fs::read_to_string(&document.found().unwrap().path).unwrap(), work);
    document.take_found();
    assert_eq!((document.text(), document.found()), (work.as_str(), None));
    assert!(document.is_dirty());
    drop(document);

    let mut document = Document::open(&path).unwrap();
    document.drop_found().unwrap();
    assert_eq!(names(folder.path()), ["job.ron"]);
    let splices = moved(&document, None, DVec2::Y);
    document.apply("move", None, &splices).unwrap();
    assert_eq!(names(folder.path()), [".job.ron.tumblewood-unsaved", "job.ron"]);
    document.undo();
    assert_eq!(names(folder.path()), ["job.ron"], "nothing is left to save");
    document.redo();
    document.save(false).unwrap();
    assert_eq!(names(folder.path()), ["job.ron"]);
    document.undo();
    document.give_up();
    assert_eq!(names(folder.path()), ["job.ron"]);
    assert!(document.is_dirty());
}

#[test]
fn verif_a_new_scene_is_kept_in_its_folder() {
    let (folder, path) = folder();
    let mut first = Document::new(starter(), folder.path());
    let mut second = Document::new(starter(), folder.path());
    for document in [&mut first, &mut second] {
        assert!(document.is_dirty(), "it is in no file");
        let splices = moved(document, None, DVec2::X);
        document.apply("move", None, &splices).unwrap();
    }
    let work = first.text().to_owned();
    drop((first, second));
    let kept = unsaved_in(folder.path());
    assert_eq!(kept.len(), 2);
    let mut document = Document::recover(&kept[0], folder.path());
    assert_eq!(document.text(), work);
    assert!(document.is_dirty() && document.scene().is_some());
    fs::remove_file(&path).unwrap();
    document.save_as(&path, false).unwrap();
    assert_eq!(unsaved_in(folder.path()).len(), 1);
}

#[test]
fn verif_a_terrain_file_is_found_from_a_new_folder() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["jobs", "assets", "elsewhere/deep"] {
        fs::create_dir_all(folder.path().join(name)).unwrap();
    }
    let grid = "ncols 3\nnrows 3\nxllcorner 0\nyllcorner 0\ncellsize 30\n1 1 1\n1 1 1\n1 1 1\n";
    fs::write(folder.path().join("assets/hill.asc"), grid).unwrap();
    let text = "(version: 1, name: \"b\", units: Metric, site: (north: True,
        terrain: AsciiGrid(file: \"../assets/hill.asc\", stump: (45.0, 45.0)), // flat
        ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)),
        tree: (species: \"White oak\", dbh: \"50 cm\", height: \"20 m\"))";
    let path = folder.path().join("jobs/job.ron");
    fs::write(&path, text).unwrap();
    let mut document = Document::open(&path).unwrap();
    assert!(document.error().is_none());
    for (from, to) in [("50 cm", "60 cm"), ("20 m", "21 m")] {
        let edit = Splice::between(document.text(), &document.text().replace(from, to));
        document.apply("grow", None, &[edit]).unwrap();
    }
    document.undo();
    let there = folder.path().join("elsewhere/deep/job.ron");
    document.save_as(&there, false).unwrap();
    let named = "file: \"../../assets/hill.asc\"";
    assert!(document.text().contains(named) && document.error().is_none());
    assert!(Document::open(&there).unwrap().error().is_none());
    // What was done before is undone and done again from the new folder.
    document.undo();
    let expect = text.replace("../assets", "../../assets");
    assert_eq!((document.text(), document.error().is_none()), (expect.as_str(), true));
    document.redo();
    document.redo();
    assert!(document.text().contains("21 m") && document.text().contains(named));
    assert!(document.error().is_none());
    assert!(Document::open(&path).unwrap().text() == text);

    let edit = Splice::between(document.text(), &document.text().replace("hill.asc", "none.asc"));
    let refused = document.apply("other terrain", None, &[edit]).unwrap_err().to_string();
    assert!(refused.contains("no such file"), "{refused}");
}
