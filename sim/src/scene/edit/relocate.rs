//! A scene whose file moves to another folder: its terrain file named from there.

use std::{
    fs,
    path::{Component, Path, PathBuf, absolute},
};

use super::splice::{apply, quoted, set, unquoted, value};

/// Where a scene names its terrain file.
const FILE: &str = "site.terrain.file";

/// The text of a scene with its terrain file named from the folder `to` instead of `from`; `None`
/// if nothing differs: no terrain file, an absolute path, or the same folder.
pub(super) fn relocated(text: &str, from: &Path, to: &Path) -> Option<String> {
    let file = PathBuf::from(unquoted(value(text, FILE)?)?);
    if file.is_absolute() {
        return None;
    }
    let (from, to) = (real(from)?, real(to)?);
    if from == to {
        return None;
    }
    let named = named_from(&from.join(&file), &to)?;
    apply(text, &[set(text, FILE, &quoted(&named)).ok()?]).ok()
}

/// A file as files in a folder name it: from there, with slashes; `None` if it has no name.
pub(in crate::scene) fn named_from(file: &Path, folder: &Path) -> Option<String> {
    // The folder of the file as it really is, the file by the name it has there.
    let target = real(file.parent()?)?.join(file.file_name()?);
    Some(slashed(&relative(&target, &real(folder)?)))
}

/// A folder without links and dots; as far as that can be told if it isn't there.
fn real(folder: &Path) -> Option<PathBuf> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    fs::canonicalize(folder).or_else(|_| absolute(folder)).ok()
}

/// A file named from a folder, both absolute.
fn relative(file: &Path, folder: &Path) -> PathBuf {
    let (mut of_file, mut of_folder) =
        (file.components().peekable(), folder.components().peekable());
    let mut shared = 0;
    while let (Some(a), Some(b)) = (of_file.peek(), of_folder.peek()) {
        if a != b {
            break;
        }
        shared += 1;
        of_file.next();
        of_folder.next();
    }
    if shared == 0 {
        return file.to_owned();
    }
    of_folder.map(|_| Component::ParentDir).chain(of_file).collect()
}

/// A path as scenes write it on every machine.
fn slashed(path: &Path) -> String {
    let text = path.to_string_lossy();
    if path.is_relative() { text.replace('\\', "/") } else { text.into_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_file_is_named_from_another_folder() {
        for (file, folder, expect) in [
            ("/a/b/hill.tif", "/a/b", "hill.tif"),
            ("/a/b/hill.tif", "/a/c/d", "../../b/hill.tif"),
            ("/a/b/hill.tif", "/a", "b/hill.tif"),
            ("/a/hill.tif", "/a/b", "../hill.tif"),
        ] {
            assert_eq!(relative(Path::new(file), Path::new(folder)), Path::new(expect));
        }
    }
}
