//! Files that are whole or not there: written beside their place, then moved onto it.

use std::{io::Write as _, path::Path};

use super::SceneError;

/// Writes a file; what stands there already is replaced only with `force`.
///
/// The bytes go to a temporary file in the same folder first, so that an interruption leaves
/// either the old file or the new one, never a half.
///
/// # Errors
/// The path is a directory, is taken, or its folder can't be written.
pub fn write(path: &Path, bytes: &[u8], force: bool) -> Result<(), SceneError> {
    let refuse = |what: String| SceneError::File {
        file: path.to_owned(),
        what,
        allowed: "a file name in a folder that can be written; --force to replace a file"
            .to_owned(),
    };
    if path.is_dir() {
        return Err(refuse("is a directory".to_owned()));
    }
    if path.exists() && !force {
        return Err(refuse("is there already".to_owned()));
    }
    if path.file_name().is_none() {
        return Err(refuse("is no file name".to_owned()));
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let failed = |e: std::io::Error| refuse(format!("can't be written: {e}"));
    let mut file = builder().tempfile_in(folder).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    let moved = if force { file.persist(path) } else { file.persist_noclobber(path) };
    moved.map(|_| ()).map_err(|e| failed(e.error))
}

/// A temporary file that gets the permissions of any other file, not those of a secret.
fn builder() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tumblewood-").suffix(".tmp");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_file_is_whole_or_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.ron");
        write(&path, b"one", false).unwrap();
        let taken = write(&path, b"two", false).unwrap_err().to_string();
        assert!(taken.contains("is there already") && taken.contains("--force"), "{taken}");
        assert_eq!(std::fs::read(&path).unwrap(), b"one");
        write(&path, b"two", true).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        let directory = write(folder.path(), b"x", true).unwrap_err().to_string();
        assert!(directory.contains("is a directory"), "{directory}");
        assert!(write(&folder.path().join("no/such/folder.ron"), b"x", false).is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing left over");
    }
}
