//! What others do to the scene's file while it is open here.

use super::*;
use crate::desk::{Leaving, Question};

fn moved() -> Edit {
    Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0))
}

#[test]
fn prop_a_file_broken_outside_shows_the_commands_error_until_it_is_mended() {
    let mut user = User::counting();
    user.wait_for_counts();
    let (text, told) = (user.text(), user.told());
    let broken = text.replace("wall: \"8 ft\"", "wall: \"8 feat\"");
    fs::write(user.file(), &broken).unwrap();
    user.look_at_disk();
    let trouble = user.desk().trouble.clone().expect("trouble");
    // Word for word what the command says of the file.
    let file = user.file();
    let error = tumblewood::scene::load(&file).unwrap_err();
    assert_eq!(trouble, tumblewood::scene::edit::document::shown(&error));
    assert!(trouble.contains("8 feat") && trouble.contains("scene.ron"), "{trouble}");
    assert_eq!(user.text(), broken);
    assert!(!user.counts().is_now, "counts of the scene before the file broke");
    assert!(!user.desk().is_working());
    user.check();

    // What can be seen is not what the text says: nothing is done to either.
    user.edit(moved());
    assert_eq!(user.text(), broken);
    assert!(user.message().contains("can't be read"));
    user.escape();
    user.letter(KeyCode::Digit2, "2");
    user.check();

    // A mistake of the other that is undone here is unsaved work.
    user.undo();
    assert_eq!((&*user.text(), user.document().is_dirty()), (&*text, true));
    assert_eq!(user.desk().trouble, None);
    user.redo();
    assert!(user.desk().trouble.is_some());

    fs::write(user.file(), &text).unwrap();
    user.look_at_disk();
    assert_eq!((&*user.text(), &user.desk().trouble), (&*text, &None));
    user.letter(KeyCode::Digit1, "1");
    user.wait_for_counts();
    assert_eq!(user.told(), told);
    user.check();
}

#[test]
fn prop_work_is_not_lost_to_another_who_writes_the_file() {
    let mut user = User::new();
    let theirs = user.text().replace("wall: \"8 ft\"", "wall: \"9 ft\"");
    user.edit(moved());
    let ours = user.text();
    fs::write(user.file(), &theirs).unwrap();
    user.look_at_disk();
    assert_eq!(user.desk().question, Some(Question::Overwrite));
    assert_eq!(user.text(), ours);
    // Asked once; saving asks again and writes nothing.
    user.escape();
    user.look_at_disk();
    assert_eq!(user.desk().question, None);
    user.save();
    assert_eq!(user.desk().question, Some(Question::Overwrite));
    user.escape();
    user.wish(Wish::SaveAs(user.file()));
    assert_eq!(user.desk().question, Some(Question::Overwrite));
    assert_eq!(fs::read_to_string(user.file()).unwrap(), theirs);
    user.wish(Wish::Reload);
    assert_eq!(user.text(), theirs);
    user.check();
    user.undo();
    assert_eq!(user.text(), ours, "what was in hand can be had back");
    user.wish(Wish::Overwrite);
    assert_eq!(fs::read_to_string(user.file()).unwrap(), ours);
}

#[test]
fn prop_a_file_that_went_away_is_written_again() {
    let mut user = User::new();
    let text = user.text();
    fs::remove_file(user.file()).unwrap();
    user.look_at_disk();
    assert!(user.message().contains("gone"));
    user.escape();
    user.look_at_disk();
    assert_eq!(user.desk().message, None, "told once");
    // What is here is nowhere else.
    user.wish(Wish::Leave(Leaving::Quit));
    assert_eq!(user.desk().question, Some(Question::Leave(Leaving::Quit)));
    user.escape();
    user.save();
    assert_eq!(user.desk().message, None);
    assert_eq!(fs::read_to_string(user.file()).unwrap(), text);
    user.look_at_disk();
    user.wish(Wish::Leave(Leaving::Quit));
    assert!(user.desk().is_over);
}

#[test]
fn prop_a_folder_that_went_away_takes_no_work_with_it() {
    let mut user = User::new();
    fs::remove_dir_all(user.folder.path()).unwrap();
    user.edit(moved());
    let work = user.text();
    assert!(user.document().keep_error().is_some(), "no copy can be kept");
    user.save();
    assert!(user.desk().message.is_some());
    assert_eq!((&*user.text(), user.document().is_dirty()), (&*work, true));
    user.escape();
    let other = tempfile::tempdir().unwrap();
    user.wish(Wish::SaveAs(other.path().join("bank.ron")));
    assert_eq!(fs::read_to_string(other.path().join("bank.ron")).unwrap(), work);
    assert!(user.document().keep_error().is_none() && !user.document().is_dirty());
}

#[test]
fn prop_a_folder_that_may_only_be_read_takes_no_work() {
    use std::os::unix::fs::PermissionsExt;
    let mut user = User::new();
    let folder = user.folder.path().to_owned();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    // Who may do everything may write here too.
    let may_write = fs::write(folder.join("probe"), "").is_ok();
    user.edit(moved());
    let work = user.text();
    assert_eq!(user.document().keep_error().is_none(), may_write);
    user.save();
    assert_eq!(user.desk().message.is_none(), may_write);
    assert_eq!((&*user.text(), user.document().is_dirty()), (&*work, !may_write));
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
    user.escape();
    user.save();
    assert_eq!(fs::read_to_string(user.file()).unwrap(), work);
}
