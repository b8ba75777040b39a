//! Ground that tests ask of kept files.

use std::path::PathBuf;

use tumblewood::terrain::intake::Wanted;

/// The stump of `scenes/lidar-slope.ron`, in the middle of the excerpts in `assets/terrain/forms`.
pub const STUMP: &str = "429340.8,5150646.9";
/// The rim of `assets/terrain/river-bank.laz`, feet.
pub const RIM: &str = "636585,849220";

/// The ground of a file about a place, all else as the file says.
#[must_use]
pub fn wanted(file: impl Into<PathBuf>, at: &str, around_m: f64) -> Wanted {
    Wanted {
        files: vec![file.into()],
        at: Some(at.to_owned()),
        around_m,
        cell_m: None,
        crs: None,
        heights_in: None,
        find_ground: false,
    }
}
