//! Ground out of a file that is dropped onto the window, down to a scene on it.

use bevy::window::FileDragAndDrop;

use super::*;
use crate::{
    desk::{Question, Tab},
    screens::Screens,
};

fn hillside() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../assets/terrain/lidar-hillside.tif")
}

impl User {
    fn drop_file(&mut self, path: PathBuf) {
        let window = self.window;
        self.send(FileDragAndDrop::DroppedFile { window, path_buf: path });
        self.frames(3);
    }

    fn wait_for_mail(&mut self) {
        self.frames(4);
        self.wait_until("mail", |desk| desk.mail.waiting == 0 && desk.mail.come.is_empty());
        self.frames(4);
    }

    /// Does what fields and buttons of the page do.
    fn ground(&mut self, act: impl FnOnce(&mut crate::ground_page::GroundPage)) {
        let mut screens = self.app.world_mut().resource_mut::<Screens>();
        act(screens.pages.ground.as_mut().expect("the page"));
        self.frames(2);
    }
}

#[test]
fn prop_a_dropped_file_becomes_a_scene_on_its_ground() {
    let mut user = User::new();
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    user.drop_file(hillside());
    assert_eq!(user.desk().question, Some(Question::Leave(Leaving::Ground(hillside()))));
    user.wish(Wish::LeaveAnyway(Leaving::Ground(hillside())));
    user.wait_for_mail();
    assert_eq!((user.desk().screen, &user.desk().message), (Screen::Ground, &None));
    // Files that are neither are refused with what is allowed.
    user.drop_file(PathBuf::from("a/picture.jpg"));
    assert!(user.message().contains(".laz") && user.message().contains("picture.jpg"));
    user.escape();

    user.ground(|page| {
        assert!(page.seen.is_some(), "{:?}", page.said);
        page.put.at = "429340.8,5150646.9".to_owned();
        page.put.around = "30 m".to_owned();
        page.renew();
        page.crop();
    });
    user.wait_for_mail();
    let scene = user.folder.path().join("on-ground.ron");
    let named = scene.display().to_string();
    user.ground(|page| {
        assert!(page.cropped.is_some(), "{:?}", page.said);
        page.scene = named;
        page.settle();
    });
    user.wait_until("the scene", |desk| desk.screen == Screen::Hillside);
    user.frames(2);
    let desk = user.desk();
    assert_eq!((desk.tab, &desk.trouble, &desk.message), (Tab::Change, &None, &None));
    assert_eq!(user.document().path(), Some(&*scene));
    assert!(user.folder.path().join("on-ground.tif").is_file());
    user.wait_until("drops", |desk| desk.counts().is_some());
    user.check();

    // A scene that is dropped is opened.
    let other = user.file();
    user.drop_file(other.clone());
    assert_eq!(user.document().path(), Some(&*other));
}
