//! The scene file: what a user writes, checked.
//!
//! A file is read as [`v1`] types (RON, units in words, unknown fields refused), resolved to the
//! core [`Scene`] (SI, every number with its doubt) and checked. What is wrong is said with file,
//! line, column, field, what was read and what is allowed.

use std::{
    fmt::Write as _,
    path::{Path, PathBuf},
    sync::Arc,
};

use ron::extensions::Extensions;
use serde_path_to_error::Segment;
use sha2::{Digest, Sha256};

use crate::terrain::BYTE_ORDER_MARK;

pub mod bundle;
mod case;
pub mod check;
pub mod course;
pub mod doubt;
pub mod edit;
pub mod error;
mod excerpt;
pub mod happened;
mod items;
mod limits;
mod locate;
pub mod model;
pub mod numbers;
pub mod outline;
pub mod places;
mod resolve;
pub mod standing;
mod starter_on;
pub mod told;
pub mod v1;
pub mod write;

pub use bundle::bundle;
pub use case::case;
pub use course::{Course, is_course, load_course};
pub use doubt::{Doubtful, How, Spread};
pub use error::{Problem, SceneError, Source, Wrong};
pub use model::*;
pub use places::{MapFrame, place_m, station_m};
pub use starter_on::{OnGround, starter_on};
pub use write::{folder_of, write};

/// Largest scene file that is read, bytes: an inline terrain of 2049² heights fits.
pub const FILE_MAX: u64 = 128 << 20;

/// Reads and checks a scene file.
///
/// # Errors
/// The file can't be read, or what is in it is wrong: see [`SceneError`].
pub fn load(path: &Path) -> Result<Scene, SceneError> {
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    parse_in(&read_text(path)?, &path.display().to_string(), &folder)
}

/// The text of a scene file, whatever is in it.
///
/// # Errors
/// It can't be read, is no plain file, too large or no UTF-8 text.
pub fn read_text(path: &Path) -> Result<String, SceneError> {
    let wrong = |what: String| SceneError::File {
        file: path.to_owned(),
        what,
        allowed: "a scene file that can be read, at most 128 MB of UTF-8 text".to_owned(),
    };
    let about = std::fs::metadata(path).map_err(|e| wrong(format!("can't be read: {e}")))?;
    if !about.is_file() {
        return Err(wrong("is a directory or no plain file".to_owned()));
    }
    if about.len() > FILE_MAX {
        return Err(wrong(format!("{} MB is too large for a scene", about.len() >> 20)));
    }
    let mut bytes = std::fs::read(path).map_err(|e| wrong(format!("can't be read: {e}")))?;
    // Editors on Windows put one there.
    if bytes.starts_with(BYTE_ORDER_MARK) {
        bytes.drain(..BYTE_ORDER_MARK.len());
    }
    String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let line = 1 + e.as_bytes().iter().take(at).filter(|b| **b == b'\n').count();
        wrong(format!("line {line} (byte {at}) is no UTF-8 text"))
    })
}

/// As [`parse`], of a scene whose paths count from `folder`: the terrain file it names must be
/// there.
///
/// # Errors
/// What is in it is wrong, or its terrain file isn't there.
pub fn parse_in(text: &str, name: &str, folder: &Path) -> Result<Scene, SceneError> {
    let mut scene = parse(text, name)?;
    scene.folder = folder.to_owned();
    if let TerrainSpec::AsciiGrid(raster) | TerrainSpec::GeoTiff(raster) = &scene.site.terrain
        && !scene.file(&raster.file).is_file()
    {
        let what = "no such file, or no plain file";
        let allowed = "a raster file, its path relative to the scene file";
        if let Some(error) = scene.refuse("site.terrain.file", what, allowed) {
            return Err(error);
        }
    }
    Ok(scene)
}

/// Reads and checks a scene from its text; `name` is what errors call the file.
///
/// # Errors
/// What is in it is wrong: see [`SceneError`].
pub fn parse(text: &str, name: &str) -> Result<Scene, SceneError> {
    let source = Arc::new(Source { name: name.to_owned(), text: Arc::from(text) });
    version(&source)?;
    let file: v1::Scene = read(&source).map_err(SceneError::Invalid)?;
    let (mut scene, wrongs) = resolve::resolve(&file, Arc::clone(&source));
    let wrongs = if wrongs.is_empty() { check::check(&scene) } else { wrongs };
    let wrongs = if wrongs.is_empty() { check::lesson(&scene) } else { wrongs };
    if let Some(error) = source.error(&wrongs) {
        return Err(error);
    }
    scene.hash = hash(text.as_bytes());
    Ok(scene)
}

/// SHA-256 of bytes, hex.
#[must_use]
pub fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut hex, byte| {
        // Writing to a String can't fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// The version comes first, so that a later file is known as such before anything else is read.
fn version(source: &Source) -> Result<(), SceneError> {
    let Some((name, name_span, value_span)) = locate::first_field(&source.text) else {
        return Ok(());
    };
    let (what, span) = match (name, source.text.get(value_span.clone())) {
        ("version", Some("1")) => return Ok(()),
        ("version", _) => ("a version this program doesn't read", value_span),
        _ => ("the version must come first", name_span),
    };
    let wrong = Wrong {
        path: "version".to_owned(),
        what: what.to_owned(),
        allowed: "version: 1, as the first field".to_owned(),
    };
    Err(SceneError::Invalid(Box::new(source.at(span, wrong))))
}

pub(crate) fn read<'a, T: serde::Deserialize<'a>>(source: &'a Source) -> Result<T, Box<Problem>> {
    let options = ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME | Extensions::UNWRAP_VARIANT_NEWTYPES);
    let mut reader = ron::Deserializer::from_str_with_options(&source.text, &options)
        .map_err(|e| Box::new(source.refused("", e.span.end, &e.code)))?;
    let file: T = serde_path_to_error::deserialize(&mut reader).map_err(|e| {
        let path = path_text(e.path());
        let spanned = reader.span_error(e.into_inner());
        Box::new(source.refused(&path, spanned.span.end, &spanned.code))
    })?;
    reader.end().map_err(|code| {
        let spanned = reader.span_error(code);
        Box::new(source.refused("", spanned.span.end, &spanned.code))
    })?;
    Ok(file)
}

/// A path as a reader sees it: fields and positions, without the words of variants.
fn path_text(path: &serde_path_to_error::Path) -> String {
    let mut text = String::new();
    for segment in path {
        match segment {
            Segment::Seq { index } => {
                let _ = write!(text, "[{index}]");
            }
            Segment::Map { key } => {
                if !text.is_empty() {
                    text.push('.');
                }
                text.push_str(key);
            }
            Segment::Enum { .. } | Segment::Unknown => {}
        }
    }
    text
}

impl Scene {
    /// The ids of the structures whose windows it names.
    #[must_use]
    pub fn windowed(&self) -> Vec<&str> {
        let of = |target: &'_ model::Target| matches!(&target.kind, model::TargetKind::Structure { windows, .. } if !windows.is_empty());
        self.targets.iter().filter(|target| of(target)).map(|target| target.id.as_str()).collect()
    }

    /// Where a file that the scene names is.
    #[must_use]
    pub fn file(&self, path: &Path) -> PathBuf {
        self.folder.join(path)
    }
}

/// The text of a commented scene that runs as it stands, for `tumblewood new`.
#[must_use]
pub fn starter() -> &'static str {
    include_str!("starter.ron")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_the_starter_is_read() {
        let scene = parse(starter(), "starter.ron").unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(scene.cuts.len(), 3);
        assert!((scene.tree.dbh_m.told - 19.0 * 0.0254).abs() < 1e-12);
        assert_eq!(scene.hash.len(), 64);
    }

    #[test]
    fn verif_a_byte_order_mark_is_no_text() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("marked.ron");
        std::fs::write(&path, format!("\u{feff}{}", starter())).unwrap();
        assert_eq!(read_text(&path).unwrap(), starter());
    }
}
