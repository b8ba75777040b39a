//! The scene of a lesson's case: the file's text with some fields set to something else, read again
//! as any file is.

use super::{
    SceneError,
    edit::splice::{apply, set, unset},
    error::Wrong,
    model::{CaseSpec, Scene},
    parse_in,
};

/// The scene of a case by its index in the lesson; the scene itself for the first. A changed one has
/// no lesson of its own, and its hash is that of its own text.
///
/// # Errors
/// The scene has no such case, or would be wrong with what the case sets.
pub fn case(scene: &Scene, index: usize) -> Result<Scene, SceneError> {
    let wrong = |wrong: Wrong| {
        let path = format!("lesson.cases[{}]", index.saturating_sub(1));
        let path = if wrong.path.is_empty() { path } else { format!("{path}.{}", wrong.path) };
        let wrongs = [Wrong { path, ..wrong }];
        scene.source.error(&wrongs).unwrap_or_else(|| SceneError::File {
            file: scene.source.name.clone().into(),
            what: "no such case".to_owned(),
            allowed: "a case of its lesson".to_owned(),
        })
    };
    let spec = scene.lesson.as_ref().and_then(|lesson| lesson.cases.get(index));
    let spec = spec.ok_or_else(|| {
        wrong(Wrong {
            path: String::new(),
            what: "no such case".to_owned(),
            allowed: "a case of its lesson".to_owned(),
        })
    })?;
    changed(scene, spec).map_err(wrong)
}

/// The scene of a case, or what is wrong with it, by its path within the case.
pub(super) fn changed(scene: &Scene, case: &CaseSpec) -> Result<Scene, Wrong> {
    if case.set.is_empty() {
        return Ok(scene.clone());
    }
    let no_field = |path: &str| Wrong {
        path: path.to_owned(),
        what: "no such field in the scene".to_owned(),
        allowed: "a path such as site.ground.soil, or an id and a field of it, as stem.piece.to"
            .to_owned(),
    };
    let mut text = scene.source.text.to_string();
    if let Ok(Some(without)) = unset(&text, "lesson") {
        text = apply(&text, &[without]).map_err(|_| no_field(""))?;
    }
    for (i, (path, value)) in case.set.iter().enumerate() {
        let splice = set(&text, path, value).map_err(|_| no_field(&format!("set[{i}][0]")))?;
        text = apply(&text, &[splice]).map_err(|_| no_field(&format!("set[{i}][0]")))?;
    }
    let name = format!("{} (case {})", scene.source.name, case.id);
    parse_in(&text, &name, &scene.folder).map_err(|error| {
        let Some(problem) = error.problem() else {
            return Wrong {
                path: String::new(),
                what: error.to_string(),
                allowed: "a case with which the scene is right".to_owned(),
            };
        };
        // The field that is set nearest to what is wrong; the later of two.
        let shared =
            |path: &str| path.bytes().zip(problem.path.bytes()).take_while(|(a, b)| a == b).count();
        let nearest = case.set.iter().enumerate().max_by_key(|(_, (path, _))| shared(path));
        let at = nearest.filter(|(_, (path, _))| shared(path) > 0).map(|(i, _)| i);
        Wrong {
            path: at.map_or_else(String::new, |i| format!("set[{i}]")),
            what: format!("with it the scene is wrong: {}: {}", problem.path, problem.what),
            allowed: problem.allowed.clone(),
        }
    })
}
