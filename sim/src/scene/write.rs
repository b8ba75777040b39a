//! Files that are whole or not there: written beside their place, then moved onto it.

use std::{
    fs::{self, Permissions},
    io::Write as _,
    path::Path,
};

use super::SceneError;

/// Writes a file; what stands there already is replaced only with `force`.
///
/// The bytes go to a temporary file in the same folder first, so that an interruption leaves
/// either the old file or the new one, never a half. A link stays one: what it leads to is written.
/// What is replaced gives its rights to what replaces it.
///
/// # Errors
/// The path is a directory, is taken, may only be read, is a link to nothing, or its folder isn't
/// there or can't be written.
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
    let mut path = path.to_owned();
    if path.is_symlink() {
        path = fs::canonicalize(&path).map_err(|_| refuse("is a link to nothing".to_owned()))?;
    }
    let rights = fs::metadata(&path).ok().map(|about| about.permissions());
    if rights.as_ref().is_some_and(Permissions::readonly) {
        return Err(refuse("may only be read".to_owned()));
    }
    let folder = folder_of(&path);
    if !folder.is_dir() {
        return Err(refuse(format!("can't be written: there is no folder {}", folder.display())));
    }
    // The temporary file's name would say nothing to a reader.
    let failed = |e: std::io::Error| {
        let own = e.get_ref().and_then(|inner| inner.source()).map(ToString::to_string);
        refuse(format!("can't be written: {}", own.unwrap_or_else(|| e.to_string())))
    };
    let mut file = builder(rights.as_ref()).tempfile_in(folder).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    if let Some(rights) = rights {
        // What the file is made with is cut by the umask.
        file.as_file().set_permissions(rights).map_err(failed)?;
    }
    file.as_file().sync_all().map_err(failed)?;
    let moved = if force { file.persist(&path) } else { file.persist_noclobber(&path) };
    moved.map(|_| ()).map_err(|e| failed(e.error))
}

/// The folder that a file is in.
#[must_use]
pub fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A temporary file that gets the rights of what it replaces from the first byte, else those of any
/// other file, not those of a secret.
#[cfg_attr(not(unix), allow(unused_variables, reason = "only unix makes files with rights"))]
fn builder(rights: Option<&Permissions>) -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".tumblewood-").suffix(".tmp");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        builder.permissions(rights.cloned().unwrap_or_else(|| Permissions::from_mode(0o666)));
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
        let nowhere = write(&folder.path().join("no/such/folder.ron"), b"x", false).unwrap_err();
        let nowhere = nowhere.to_string();
        assert!(nowhere.contains("no folder") && !nowhere.contains(".tumblewood-"), "{nowhere}");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing left over");
    }

    #[cfg(unix)]
    #[test]
    fn verif_links_and_rights_stay() {
        use std::os::unix::fs::{PermissionsExt as _, symlink};
        let folder = tempfile::tempdir().unwrap();
        let (own, link) = (folder.path().join("own.ron"), folder.path().join("link.ron"));
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        fs::write(&own, b"one").unwrap();
        fs::set_permissions(&own, Permissions::from_mode(0o600)).unwrap();
        symlink("own.ron", &link).unwrap();
        write(&link, b"two", true).unwrap();
        assert!(link.is_symlink());
        assert_eq!((fs::read(&own).unwrap().as_slice(), mode(&own)), (&b"two"[..], 0o600));
        fs::set_permissions(&own, Permissions::from_mode(0o666)).unwrap();
        write(&own, b"three", true).unwrap();
        assert_eq!(mode(&own), 0o666, "whatever the umask");
        fs::set_permissions(&own, Permissions::from_mode(0o444)).unwrap();
        for path in [&own, &link] {
            let said = write(path, b"four", true).unwrap_err().to_string();
            assert!(said.contains("may only be read"), "{said}");
        }
        assert_eq!(fs::read(&own).unwrap(), b"three");
        fs::remove_file(&own).unwrap();
        let said = write(&link, b"five", true).unwrap_err().to_string();
        assert!(said.contains("a link to nothing") && link.is_symlink(), "{said}");
    }
}
