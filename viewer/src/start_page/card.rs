//! A saved scene on a card: its name, what it says of itself, and the bank from above.

use std::path::{Path, PathBuf};

use bevy_egui::egui::{ColorImage, Context, TextureHandle, TextureOptions};
use tumblewood::{
    job::{Job, JobError, Outer},
    report::{
        Stamp,
        plan::{Plan, map_alone},
        png::{self, Pixels},
    },
    scene,
};

/// Width and height of the map on a card, in its own pixels: little more than the card, or its
/// names could not be read.
const MAP: (f64, f64) = (384.0, 252.0);
/// Pixels of the picture to one of the map, so that it stays sharp where the screen is scaled.
const SCALE: f32 = 2.0;

/// The picture of a card.
#[derive(Clone)]
pub(crate) enum CardPicture {
    /// Not drawn yet.
    Waiting,
    /// Drawn.
    Ready(TextureHandle),
    /// There is none: the card says why.
    Missing,
}

/// A scene file on a card.
#[derive(Clone)]
pub(crate) struct Card {
    /// Where it is.
    pub(crate) path: PathBuf,
    /// The scene's name, or the file's if it can't be read.
    pub(crate) name: String,
    /// The first line of its note.
    pub(crate) note: String,
    /// It describes no real place.
    pub(crate) invented: bool,
    /// Why it can't be opened.
    pub(crate) error: Option<String>,
    /// The bank from above.
    pub(crate) picture: CardPicture,
}

impl Card {
    /// Reads what a scene says of itself; its terrain is not read.
    #[must_use]
    pub(crate) fn of(path: PathBuf) -> Self {
        let file = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        match scene::load(&path) {
            Ok(scene) => Self {
                name: scene.name,
                note: scene.note.lines().next().unwrap_or_default().trim().to_owned(),
                invented: scene.invented,
                error: None,
                picture: CardPicture::Waiting,
                path,
            },
            Err(error) => Self {
                name: file,
                note: String::new(),
                invented: false,
                error: Some(error.to_string()),
                picture: CardPicture::Missing,
                path,
            },
        }
    }

    /// Takes the picture that was drawn of it; what could not be drawn is its error.
    pub(crate) fn take(&mut self, context: &Context, drawn: Result<Pixels, String>) {
        match drawn {
            Ok(pixels) => {
                let size = [pixels.width as usize, pixels.height as usize];
                let image = ColorImage::from_rgba_unmultiplied(size, &pixels.rgba);
                let name = self.path.to_string_lossy().into_owned();
                let texture = context.load_texture(name, image, TextureOptions::LINEAR);
                self.picture = CardPicture::Ready(texture);
            }
            Err(why) => {
                self.picture = CardPicture::Missing;
                self.error.get_or_insert(why);
            }
        }
    }
}

/// Draws the bank of a scene file from above, with what stands on it; takes a second or so.
///
/// # Errors
/// The scene or its terrain can't be read, or the picture can't be made.
pub(crate) fn picture(path: &Path) -> Result<Pixels, String> {
    let svg = map(path).map_err(|error| error.to_string())?;
    png::pixels(&svg, SCALE).map_err(|error| error.to_string())
}

fn map(path: &Path) -> Result<String, JobError> {
    let job = Job::load(scene::load(path)?)?;
    let world = job.world(Outer::Told)?;
    let stamp = Stamp {
        scene: job.scene.name.clone(),
        scene_hash: job.scene.hash.clone(),
        law: String::new(),
        seed: 0,
        date: String::new(),
    };
    Ok(map_alone(
        &Plan {
            title: &job.scene.name,
            subtitle: "",
            stamp: &stamp,
            units: job.scene.units,
            site: &world.site,
            ground_words: "",
            patch_words: &[],
            north_words: "",
            lines: None,
            rings: &[],
            faces: &[],
            drops: &[],
            standing: None,
            forecast: None,
        },
        MAP,
    ))
}
