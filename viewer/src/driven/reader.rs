//! A screen reader in front of the program: it is told what stands on the panels, and is heard.

use bevy::a11y::ActionRequest;
use bevy_egui::{
    EguiContext, EguiOutput, PrimaryEguiContext,
    egui::accesskit::{self, Action, NodeId, TreeId},
};

use super::*;
use crate::desk::Tab;

/// Name and number of all that was told to a reader in the last frame.
fn told(user: &mut User) -> Vec<(String, NodeId)> {
    let mut outputs = user.app.world_mut().query::<&EguiOutput>();
    let output = outputs.single(user.app.world()).expect("one screen");
    let update = output.platform_output.accesskit_update.as_ref().expect("told");
    let nodes = update.nodes.iter();
    nodes.map(|(id, node)| (node.label().unwrap_or_default().to_owned(), *id)).collect()
}

/// Asks for something to be done to what has this name.
fn ask(user: &mut User, name: &str, action: Action) {
    let told = told(user);
    let all: Vec<NodeId> =
        told.iter().filter(|(other, _)| other == name).map(|(_, id)| *id).collect();
    let [target_node] = all[..] else { panic!("{name}: {} of {told:?}", all.len()) };
    let request =
        accesskit::ActionRequest { action, target_node, target_tree: TreeId::ROOT, data: None };
    user.app.world_mut().write_message(ActionRequest(request));
    user.frames(3);
}

#[test]
fn prop_a_screen_reader_is_told_of_the_panels_and_heard() {
    let mut user = User::new();
    // As the window does it where there is a reader to be told.
    let mut contexts =
        user.app.world_mut().query_filtered::<&mut EguiContext, With<PrimaryEguiContext>>();
    let mut context = contexts.single_mut(user.app.world_mut()).expect("one screen");
    context.get_mut().enable_accesskit();
    user.frames(2);
    assert_eq!(user.desk().tab, Tab::Forecast);
    ask(&mut user, "Change", Action::Click);
    assert_eq!(user.desk().tab, Tab::Change);
    ask(&mut user, "boathouse (structure)", Action::Click);
    assert_eq!(user.desk().picked, Some(target("boathouse")));
    let text = user.text();
    ask(&mut user, "Move 1 ft up over the map", Action::Click);
    assert_ne!(user.text(), text);
    ask(&mut user, "Undo", Action::Focus);
    user.key(KeyCode::Enter, Key::Enter);
    assert_eq!(user.text(), text);
}
