//! The renderer says that something is wrong; no card is needed to hear it.

use bevy::render::error_handler::{ErrorType, RenderError, RenderErrorHandler, RenderErrorPolicy};

use super::*;

fn happens(user: &mut User, ty: ErrorType) -> RenderErrorPolicy {
    let error = RenderError { ty, description: "no more\n  of it".to_owned(), source: None };
    let world = user.app.world_mut();
    let respond = world.resource::<RenderErrorHandler>().0;
    respond(&error, world, &mut World::new())
}

fn changed() -> (User, PathBuf, String) {
    let mut user = User::new();
    user.edit(Edit::Move(target("boathouse"), DVec2::new(0.0, 1.0)));
    let copy = user.folder.path().join(".scene.ron.tumblewood-unsaved");
    let work = user.text();
    assert_eq!(fs::read_to_string(&copy).expect("a copy"), work);
    (user, copy, work)
}

#[test]
fn prop_a_lost_card_is_taken_up_once_and_the_work_is_kept() {
    let (mut user, copy, work) = changed();
    // A forecast may come in meanwhile; the ground stays.
    let ground = user.desk().stamps.ground;
    let policy = happens(&mut user, ErrorType::DeviceLost);
    assert!(matches!(policy, RenderErrorPolicy::Recover(_)));
    assert!(user.message().contains("graphics card was lost"), "{}", user.message());
    let meshes = user.app.world().resource::<Assets<Mesh>>();
    assert_eq!(meshes.iter().count(), 0, "what was on the card is nowhere else");
    user.frames(2);
    assert_eq!(
        user.desk().stamps.ground,
        ground,
        "nothing is drawn on a card that is not there yet"
    );
    assert_eq!(user.text(), work);
    user.check();

    let policy = happens(&mut user, ErrorType::DeviceLost);
    assert!(matches!(policy, RenderErrorPolicy::StopRendering));
    user.frames(1);
    assert!(user.app.should_exit().is_some_and(|exit| exit.is_error()));
    drop(user.app);
    assert_eq!(fs::read_to_string(&copy).expect("a copy"), work);
}

#[test]
fn prop_any_other_error_ends_with_the_work_kept() {
    for ty in [ErrorType::OutOfMemory, ErrorType::Validation, ErrorType::Internal] {
        let (mut user, copy, work) = changed();
        assert!(matches!(happens(&mut user, ty), RenderErrorPolicy::StopRendering));
        user.frames(1);
        assert!(user.app.should_exit().is_some_and(|exit| exit.is_error()));
        drop(user.app);
        assert_eq!(fs::read_to_string(&copy).expect("a copy"), work);
    }
}
