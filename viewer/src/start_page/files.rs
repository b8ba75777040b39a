//! Which scene files there are: saved ones, recent ones, and those a typed path may mean.

use std::{
    ffi::OsString,
    fs,
    path::{Path, PathBuf},
};

/// Files remembered.
const RECENT_MAX: usize = 10;
/// Longest line of the list that is taken for a path, bytes.
const LINE_MAX: usize = 4_096;
/// Paths suggested at once.
const SUGGESTED_MAX: usize = 12;

/// The folders with saved scenes: `scenes` beside the program and in the working folder.
#[must_use]
pub(crate) fn scene_folders() -> Vec<PathBuf> {
    let beside = std::env::current_exe().ok().and_then(|exe| Some(exe.parent()?.join("scenes")));
    let here = std::env::current_dir().ok().map(|folder| folder.join("scenes"));
    beside.into_iter().chain(here).collect()
}

/// The scene files of some folders, by name; the same file through two folders once.
#[must_use]
pub(crate) fn saved_scenes(folders: &[PathBuf]) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = Vec::new();
    let mut known: Vec<PathBuf> = Vec::new();
    for folder in folders {
        let Ok(entries) = fs::read_dir(folder) else { continue };
        for path in entries.flatten().map(|entry| entry.path()) {
            let Ok(real) = path.canonicalize() else { continue };
            if real.is_file() && is_scene(&path) && !known.contains(&real) {
                known.push(real);
                found.push(path);
            }
        }
    }
    found.sort_by(|a, b| a.file_name().cmp(&b.file_name()).then_with(|| a.cmp(b)));
    found
}

fn is_scene(path: &Path) -> bool {
    opened_as(path) == Some(OpenedAs::Scene)
}

/// Endings of files that ground comes out of.
pub(crate) const GROUND_ENDINGS: [&str; 10] =
    ["tif", "tiff", "gtiff", "asc", "grd", "las", "laz", "csv", "txt", "gpx"];

/// What a file is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum OpenedAs {
    /// A scene.
    Scene,
    /// A terrain file.
    Ground,
}

/// What a file is taken for, by its ending.
#[must_use]
pub(crate) fn opened_as(path: &Path) -> Option<OpenedAs> {
    let ending = path.extension()?.to_str()?.to_ascii_lowercase();
    match ending.as_str() {
        "ron" => Some(OpenedAs::Scene),
        other => GROUND_ENDINGS.contains(&other).then_some(OpenedAs::Ground),
    }
}

/// Where recent files are remembered, by the environment; nowhere if that names no folder.
#[must_use]
pub(crate) fn recent_list(environment: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    let folder =
        |name: &str| environment(name).map(PathBuf::from).filter(|folder| folder.is_absolute());
    let config = folder("XDG_CONFIG_HOME").or_else(|| Some(folder("HOME")?.join(".config")))?;
    Some(config.join("tumblewood").join("recent"))
}

/// The recent files of a list that are still there, the last used first. A list that is missing or
/// damaged has none.
#[must_use]
pub(crate) fn recent_files(list: &Path) -> Vec<PathBuf> {
    remembered(list).into_iter().filter(|path| path.is_file()).collect()
}

fn remembered(list: &Path) -> Vec<PathBuf> {
    let bytes = fs::read(list).unwrap_or_default();
    let text = String::from_utf8_lossy(&bytes);
    let is_path = |line: &&str| {
        !line.is_empty() && line.len() <= LINE_MAX && !line.chars().any(char::is_control)
    };
    let mut paths: Vec<PathBuf> = Vec::new();
    for path in text.lines().map(str::trim).filter(is_path).map(PathBuf::from) {
        if path.is_absolute() && !paths.contains(&path) {
            paths.push(path);
        }
    }
    paths.truncate(RECENT_MAX);
    paths
}

/// Puts a file at the head of the list of recent ones.
///
/// # Errors
/// The list can't be written, or the file's name can't stand in it.
pub(crate) fn remember(list: &Path, scene: &Path) -> Result<(), String> {
    let scene = std::path::absolute(scene).map_err(|e| e.to_string())?;
    let line = scene.to_str().ok_or("its name is no text")?;
    if line.chars().any(char::is_control) {
        return Err("its name has characters that a list of lines can't hold".to_owned());
    }
    let mut paths = vec![scene.clone()];
    paths.extend(remembered(list).into_iter().filter(|path| *path != scene));
    paths.truncate(RECENT_MAX);
    let mut text = String::new();
    for line in paths.iter().filter_map(|path| path.to_str()) {
        text.push_str(line);
        text.push('\n');
    }
    if let Some(folder) = list.parent() {
        fs::create_dir_all(folder).map_err(|e| e.to_string())?;
    }
    tumblewood::scene::write(list, text.as_bytes(), true).map_err(|e| e.to_string())
}

/// A typed path as a path: without quotes around it, `~/` as the home folder.
#[must_use]
pub(crate) fn typed_path(typed: &str, home: Option<&Path>) -> PathBuf {
    let typed = typed.trim();
    let bare = typed.strip_prefix(['"', '\'']).and_then(|t| t.strip_suffix(['"', '\'']));
    let typed = bare.unwrap_or(typed);
    match (typed.strip_prefix("~/"), home) {
        (Some(rest), Some(home)) => home.join(rest),
        _ => PathBuf::from(typed),
    }
}

/// How a typed path may go on: folders, ending in `/`, then files of one kind.
#[must_use]
pub(crate) fn completions(
    typed: &str,
    home: Option<&Path>,
    wanted: Option<OpenedAs>,
) -> Vec<String> {
    let typed = typed.trim_start();
    let (folder, begun) = typed.rsplit_once('/').map_or(("", typed), |(f, b)| (f, b));
    let shown = if typed.contains('/') { format!("{folder}/") } else { String::new() };
    let place = match shown.as_str() {
        "" => PathBuf::from("."),
        shown => typed_path(shown, home),
    };
    let Ok(entries) = fs::read_dir(place) else { return Vec::new() };
    let begun = begun.to_lowercase();
    let (mut folders, mut files) = (Vec::new(), Vec::new());
    for entry in entries.flatten() {
        let Ok(name) = entry.file_name().into_string() else { continue };
        let hidden = name.starts_with('.') && !begun.starts_with('.');
        if hidden || !name.to_lowercase().starts_with(&begun) {
            continue;
        }
        let path = entry.path();
        if path.is_dir() {
            folders.push(format!("{shown}{name}/"));
        } else if wanted.is_some() && opened_as(&path) == wanted {
            files.push(format!("{shown}{name}"));
        }
    }
    folders.sort();
    files.sort();
    folders.extend(files);
    folders.truncate(SUGGESTED_MAX);
    folders
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().expect("a folder")
    }

    fn put(path: &Path, text: &[u8]) {
        fs::write(path, text).expect("written");
    }

    #[test]
    fn prop_saved_scenes_are_those_of_the_folders_once_each() {
        let (a, b) = (folder(), folder());
        for name in ["b.ron", "a.ron", "notes.txt"] {
            put(&a.path().join(name), b"");
        }
        put(&b.path().join("c.ron"), b"");
        let folders =
            [a.path().to_owned(), b.path().to_owned(), a.path().join("."), a.path().join("none")];
        let names: Vec<String> = saved_scenes(&folders)
            .iter()
            .filter_map(|path| Some(path.file_name()?.to_str()?.to_owned()))
            .collect();
        assert_eq!(names, ["a.ron", "b.ron", "c.ron"]);
    }

    #[test]
    fn prop_the_last_used_file_comes_first_and_the_list_ends() {
        let folder = folder();
        let list = folder.path().join("deep/tumblewood/recent");
        assert!(recent_files(&list).is_empty(), "no list is no error");
        let scenes: Vec<PathBuf> =
            (0..14).map(|i| folder.path().join(format!("{i}.ron"))).collect();
        for scene in &scenes {
            put(scene, b"");
            remember(&list, scene).expect("remembered");
        }
        remember(&list, &scenes[9]).expect("remembered");
        let recent = recent_files(&list);
        assert_eq!(recent.len(), RECENT_MAX);
        assert_eq!(recent[..2], [scenes[9].clone(), scenes[13].clone()]);
        fs::remove_file(&scenes[13]).expect("removed");
        assert_eq!(recent_files(&list)[1], scenes[12], "what is gone isn't offered");
        put(&list, b"\xff\xfe\0\n\nrelative.ron\n");
        assert!(recent_files(&list).is_empty(), "a damaged list is no error");
        remember(&list, &scenes[1]).expect("and is mended");
        assert_eq!(recent_files(&list), [scenes[1].clone()]);
    }

    #[test]
    fn verif_the_list_lies_where_settings_do() {
        let of = |pairs: &'static [(&str, &str)]| {
            recent_list(move |name| {
                pairs.iter().find(|pair| pair.0 == name).map(|pair| pair.1.into())
            })
        };
        let both = of(&[("XDG_CONFIG_HOME", "/set"), ("HOME", "/home/kim")]);
        assert_eq!(both, Some("/set/tumblewood/recent".into()));
        let home = of(&[("XDG_CONFIG_HOME", ""), ("HOME", "/home/kim")]);
        assert_eq!(home, Some("/home/kim/.config/tumblewood/recent".into()));
        assert_eq!(of(&[]), None);
    }

    #[test]
    fn verif_a_typed_path_goes_on_to_folders_and_scenes() {
        let folder = folder();
        fs::create_dir(folder.path().join("jobs")).expect("made");
        fs::create_dir(folder.path().join(".hidden")).expect("made");
        for name in ["Job one.ron", "jot.txt", "other.ron"] {
            put(&folder.path().join(name), b"");
        }
        let root = folder.path().to_str().expect("text").to_owned();
        let all = completions(&format!("{root}/"), None, Some(OpenedAs::Scene));
        assert_eq!(all, ["jobs/", "Job one.ron", "other.ron"].map(|n| format!("{root}/{n}")));
        let some = completions(&format!("{root}/JO"), None, Some(OpenedAs::Scene));
        assert_eq!(some, ["jobs/", "Job one.ron"].map(|n| format!("{root}/{n}")));
        let ground = completions(&format!("{root}/"), None, Some(OpenedAs::Ground));
        assert_eq!(ground, ["jobs/", "jot.txt"].map(|n| format!("{root}/{n}")));
        assert_eq!(
            completions("~/jo", Some(folder.path()), Some(OpenedAs::Scene)),
            ["~/jobs/", "~/Job one.ron"]
        );
        assert!(completions("/no/such/folder/x", None, Some(OpenedAs::Scene)).is_empty());
        let home = Path::new("/home/kim");
        assert_eq!(typed_path(" \"~/a b.ron\" ", Some(home)), home.join("a b.ron"));
    }
}
