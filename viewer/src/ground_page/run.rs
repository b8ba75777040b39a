//! What takes time: looking files over, cropping, writing what is to be used.

use std::{
    path::{Path, PathBuf},
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
};

use tumblewood::{
    forecast::Progress,
    job::scene_on,
    report::{plan, png, text},
    scene,
    terrain::{
        TerrainError,
        intake::{self, Intake, Overview, Wanted, overview, take, write},
    },
};

use crate::wish::Same;

/// Pixels of the cropped picture to one of the map, so that it stays sharp where a screen is scaled.
const SCALE: f32 = 1.25;
/// Parts that progress is told in.
const PARTS: u32 = 1000;

/// What is asked of a thread.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum GroundAsk {
    /// Look files over.
    Look(Wanted),
    /// Crop them about a place.
    Crop(Wanted),
    /// Write what was cropped and a new scene on it.
    Use {
        /// What was cropped.
        ground: Same<Intake>,
        /// The scene's file; the terrain's has the same name and ends in .tif.
        scene: PathBuf,
    },
}

/// What came of it.
#[derive(Debug)]
pub(crate) enum Grounded {
    /// The files, looked over.
    Seen(Arc<Overview>),
    /// The ground about the place.
    Cropped {
        /// The ground.
        ground: Same<Intake>,
        /// What the command says of it.
        words: String,
        /// The command's picture of it, what is filled in hatched.
        picture: png::Pixels,
    },
    /// A new scene was written here.
    Written(PathBuf),
}

/// Does what is asked: for a thread of its own.
///
/// # Errors
/// What the command says of it.
pub(crate) fn run(
    ask: &GroundAsk,
    stop: &AtomicBool,
    tell: &dyn Fn(Progress),
) -> Result<Grounded, String> {
    let mut last = None;
    let mut progress = |progress: intake::Progress| {
        let share = progress.done as f64 / progress.total.max(1) as f64;
        let done = (share * f64::from(PARTS)) as u32;
        if last != Some(done) {
            last = Some(done);
            tell(Progress { done, total: PARTS, reached: 0 });
        }
        !stop.load(Ordering::Relaxed)
    };
    let said = |error: TerrainError| error.to_string();
    match ask {
        GroundAsk::Look(wanted) => {
            Ok(Grounded::Seen(Arc::new(overview(wanted, &mut progress).map_err(said)?)))
        }
        GroundAsk::Crop(wanted) => {
            let ground = take(wanted, &mut progress).map_err(said)?;
            let picture = plan::ground(&ground, "Ground about the stump");
            Ok(Grounded::Cropped {
                words: text::terrain(&ground),
                picture: png::pixels(&picture, SCALE).map_err(|error| error.to_string())?,
                ground: Same(Arc::new(ground)),
            })
        }
        GroundAsk::Use { ground, scene } => written(&ground.0, scene).map(Grounded::Written),
    }
}

/// Writes the terrain file and the scene on it, over nothing; where the scene is.
fn written(ground: &Intake, scene: &Path) -> Result<PathBuf, String> {
    if scene.as_os_str().is_empty() {
        return Err("the new scene: read no name; allowed: the name of a new file".to_owned());
    }
    let scene =
        if scene.extension().is_none() { scene.with_extension("ron") } else { scene.to_owned() };
    let terrain = scene.with_extension("tif");
    if let Some(there) = [&scene, &terrain].into_iter().find(|path| path.exists()) {
        return Err(format!(
            "{} is there already; allowed: the name of a new file",
            there.display()
        ));
    }
    let bytes = write::geotiff(ground).map_err(|error| error.to_string())?;
    scene::write(&terrain, &bytes, false).map_err(|error| error.to_string())?;
    let text = scene_on(&terrain, &scene).map_err(|error| error.to_string());
    let done = text.and_then(|text| {
        scene::write(&scene, text.as_bytes(), false).map_err(|error| error.to_string())
    });
    if done.is_err() {
        // A terrain without its scene is of no use to anyone.
        let _ = std::fs::remove_file(&terrain);
    }
    done.map(|()| scene)
}
