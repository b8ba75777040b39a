//! Ground from a file: look it over, put the stump on it, crop, and begin a scene there.
//!
//! What the command's `terrain` and `new --terrain` do, with their words and their errors. The page
//! is plain state; what takes time is asked of a thread ([`run`]).

mod map;
mod relief;
mod run;
mod screen;
#[cfg(test)]
mod tests;

use std::{path::PathBuf, sync::Arc};

use bevy_egui::egui::{ColorImage, Context, TextureHandle, TextureOptions};
use glam::DVec2;
use tumblewood::{
    forecast::Progress,
    quantity::{Length, Quantity as _, Units},
    terrain::{
        LengthUnit,
        intake::{AROUND_RANGE_M, Intake, Overview, Wanted},
    },
};

pub(crate) use run::{GroundAsk, Grounded, run};
pub(crate) use screen::ground_page;

use crate::{start_page::TypedPath, wish::Same};

/// Distance to each side that a frame begins with, m.
const AROUND_M: f64 = 100.0;

/// What leaves the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum GroundMessage {
    /// Back to the first page; nothing is kept.
    Back,
    /// Something is to be worked out, with [`run`].
    Ask(GroundAsk),
    /// What is under way is to stop.
    Cancel,
    /// A new scene is to be opened.
    Open(PathBuf),
}

/// What a file may leave open, as told by hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Told {
    /// The code of its coordinate system, as typed.
    pub(crate) epsg: String,
    /// The unit of its heights.
    pub(crate) heights_in: Option<LengthUnit>,
    /// The ground is to be found among all points.
    pub(crate) find_ground: bool,
}

/// Where the stump was put, as typed.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Put {
    /// The place.
    pub(crate) at: String,
    /// From there to each side.
    pub(crate) around: String,
    /// From one height to the next; the file's own if empty.
    pub(crate) cell: String,
}

/// Files that were looked over.
pub(crate) struct Seen {
    /// What was found.
    pub(crate) overview: Arc<Overview>,
    texture: TextureHandle,
    lines_m: Vec<Vec<DVec2>>,
    step_m: f64,
    /// What was understood, in lines.
    pub(crate) words: Vec<String>,
}

/// Ground that was cropped.
pub(crate) struct Cropped {
    ground: Same<Intake>,
    /// What the command says of it, in lines.
    pub(crate) words: Vec<String>,
    texture: TextureHandle,
    /// What was asked for.
    of: Put,
}

/// The page.
#[derive(Default)]
pub(crate) struct GroundPage {
    /// The path that is being typed.
    pub(crate) typed: TypedPath,
    /// The home folder, that `~/` stands for.
    pub(crate) home: Option<PathBuf>,
    /// The files that were meant.
    pub(crate) files: Vec<PathBuf>,
    /// What they may leave open.
    pub(crate) told: Told,
    /// What was seen of them.
    pub(crate) seen: Option<Seen>,
    /// Where the stump was put.
    pub(crate) put: Put,
    /// Where that is, m in the overview's system.
    pub(crate) place_m: Option<DVec2>,
    /// Why it is nowhere.
    pub(crate) misplaced: Option<String>,
    /// Where it was put before, the last last, and what was taken back.
    done: Vec<Put>,
    undone: Vec<Put>,
    remembered: Put,
    /// What was cropped.
    pub(crate) cropped: Option<Cropped>,
    shows_cropped: bool,
    /// The new scene's file, as typed.
    pub(crate) scene: String,
    /// What is under way and how far it is.
    pub(crate) running: Option<(&'static str, f32)>,
    /// What is to be asked next.
    ask: Option<GroundAsk>,
    /// What is asked for now.
    asked: Option<Put>,
    /// A scene that was written.
    written: Option<PathBuf>,
    /// Why the last thing could not be done.
    pub(crate) said: Option<String>,
    /// The stump is to be put there and cropped about, as soon as the file is seen.
    pub(crate) at_once: Option<String>,
}

impl GroundPage {
    /// The page on this machine.
    #[must_use]
    pub(crate) fn here() -> Self {
        Self { home: std::env::var_os("HOME").map(PathBuf::from), ..Self::default() }
    }

    /// Means a file: it is read next.
    pub(crate) fn open(&mut self, path: PathBuf) {
        self.typed.text = path.display().to_string();
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        self.scene = format!("{name}-job.ron");
        self.files = vec![path];
        (self.put, self.remembered) = (Put::default(), Put::default());
        (self.done, self.undone) = (Vec::new(), Vec::new());
        self.look();
    }

    /// What was understood of the files is no more.
    pub(crate) fn forget(&mut self) {
        (self.seen, self.cropped, self.said) = (None, None, None);
        self.renew();
    }

    /// Asks for the files to be looked over.
    pub(crate) fn look(&mut self) {
        self.forget();
        match self.wanted() {
            Ok(wanted) => self.ask = Some(GroundAsk::Look(wanted)),
            Err(why) => self.said = Some(why),
        }
    }

    /// What is wanted of the files, as typed.
    fn wanted(&self) -> Result<Wanted, String> {
        let code = self.told.epsg.trim();
        Ok(Wanted {
            files: self.files.clone(),
            at: Some(self.put.at.trim().to_owned()).filter(|at| !at.is_empty()),
            around_m: self.around_m().unwrap_or(AROUND_M),
            cell_m: self.cell_m().ok().flatten(),
            crs: (!code.is_empty()).then(|| code.parse()).transpose()?,
            heights_in: self.told.heights_in,
            find_ground: self.told.find_ground,
        })
    }

    /// How far it is cropped to each side, m.
    ///
    /// # Errors
    /// What was read and what is allowed.
    pub(crate) fn around_m(&self) -> Result<f64, String> {
        length_m("To each side", &self.put.around)
    }

    /// Distance between heights, m; the file's own if nothing is typed.
    ///
    /// # Errors
    /// What was read and what is allowed.
    pub(crate) fn cell_m(&self) -> Result<Option<f64>, String> {
        let typed = self.put.cell.trim();
        (!typed.is_empty()).then(|| length_m("Heights apart", typed)).transpose()
    }

    /// There is a place, a frame, and nothing else under way.
    fn can_crop(&self) -> bool {
        let typed = self.around_m().is_ok() && self.cell_m().is_ok();
        typed && self.place_m.is_some() && self.running.is_none()
    }

    /// Asks for the ground about the place.
    pub(crate) fn crop(&mut self) {
        match self.wanted() {
            Ok(wanted) => {
                self.said = None;
                self.ask = Some(GroundAsk::Crop(wanted));
            }
            Err(why) => self.said = Some(why),
        }
    }

    /// Asks for what was cropped to be written, with a new scene on it.
    pub(crate) fn settle(&mut self) {
        if let Some(cropped) = &self.cropped {
            let (ground, scene) = (cropped.ground.clone(), self.scene.trim().into());
            self.ask = Some(GroundAsk::Use { ground, scene });
        }
    }

    /// What is to be asked of a thread now, if anything.
    fn next(&mut self) -> Option<GroundAsk> {
        let ask = self.ask.take()?;
        let words = match &ask {
            GroundAsk::Look(_) => "Reading",
            GroundAsk::Crop(_) => "Cropping",
            GroundAsk::Use { .. } => "Writing",
        };
        self.running = Some((words, 0.0));
        self.asked = Some(self.put.clone());
        self.said = None;
        Some(ask)
    }

    /// Takes how far a thread is.
    pub(crate) fn work(&mut self, progress: Progress) {
        if let Some((_, share)) = &mut self.running {
            *share = progress.done as f32 / progress.total.max(1) as f32;
        }
    }

    /// Takes what a thread made.
    pub(crate) fn take(&mut self, context: &Context, done: Result<Grounded, String>) {
        self.running = None;
        match done {
            Err(why) => self.said = Some(why),
            Ok(Grounded::Written(scene)) => self.written = Some(scene),
            Ok(Grounded::Seen(overview)) => self.see(context, overview),
            Ok(Grounded::Cropped { ground, words, picture }) => {
                let size = [picture.width as usize, picture.height as usize];
                let image = ColorImage::from_rgba_premultiplied(size, &picture.rgba);
                self.cropped = Some(Cropped {
                    ground,
                    words: self.new_of(unwrapped(&words)),
                    texture: context.load_texture("cropped", image, TextureOptions::LINEAR),
                    of: self.asked.take().unwrap_or_default(),
                });
                self.shows_cropped = true;
            }
        }
    }

    /// Lines that the page doesn't say already of the whole files.
    fn new_of(&self, mut lines: Vec<String>) -> Vec<String> {
        if let Some(seen) = &self.seen {
            let told = |line: &String| {
                seen.overview.words.contains(line) || seen.overview.warnings.contains(line)
            };
            lines.retain(|line| !told(line));
        }
        lines.pop_if(|last| last == "Warnings");
        lines
    }

    fn see(&mut self, context: &Context, overview: Arc<Overview>) {
        let (lines_m, step_m) = relief::lines(&overview);
        let image = relief::relief(&overview);
        let [low_m, high_m] = overview.corners_m;
        if self.put.around.is_empty() {
            let fits_m = (0.5 * (high_m - low_m).min_element()).floor();
            let (least_m, most_m) = AROUND_RANGE_M;
            self.put.around = metres(fits_m.clamp(least_m, most_m).min(AROUND_M));
        }
        self.seen = Some(Seen {
            words: understood(&overview),
            texture: context.load_texture("relief", image, TextureOptions::NEAREST),
            lines_m,
            step_m,
            overview,
        });
        self.shows_cropped = false;
        if let Some(at) = self.at_once.take() {
            self.put.at = at;
        }
        let at_once = !self.put.at.is_empty() && self.done.is_empty();
        self.renew();
        self.remembered = self.put.clone();
        if at_once && self.place_m.is_some() {
            self.crop();
        }
    }

    /// Works out where the stump is, after a change of what is typed.
    pub(crate) fn renew(&mut self) {
        (self.place_m, self.misplaced) = (None, None);
        let Some(seen) = self.seen.as_ref().filter(|_| !self.put.at.trim().is_empty()) else {
            return;
        };
        match seen.overview.place_m(&self.put.at) {
            Ok(place_m) => self.place_m = Some(place_m),
            Err(error) => self.misplaced = Some(error.to_string()),
        }
    }

    /// Puts the stump somewhere, m in the overview's system.
    pub(crate) fn put_at(&mut self, seen: &Seen, at_m: DVec2) {
        if let Some(typed) = seen.overview.typed(at_m) {
            self.put.at = typed;
            (self.place_m, self.misplaced) = match seen.overview.place_m(&self.put.at) {
                Ok(place_m) => (Some(place_m), None),
                Err(error) => (None, Some(error.to_string())),
            };
        }
    }

    /// Sets how far it is cropped to each side, m.
    pub(crate) fn frame(&mut self, around_m: f64) {
        let (least_m, most_m) = AROUND_RANGE_M;
        self.put.around = metres(around_m.clamp(least_m, most_m));
    }

    /// Keeps where it was before, to be gone back to.
    fn remember(&mut self) {
        if self.put != self.remembered {
            let before = std::mem::replace(&mut self.remembered, self.put.clone());
            self.done.push(before);
            self.undone.clear();
        }
    }

    /// Back to where it was put before.
    pub(crate) fn undo(&mut self) {
        if let Some(before) = self.done.pop() {
            self.undone.push(std::mem::replace(&mut self.put, before));
            self.remembered = self.put.clone();
            self.renew();
        }
    }

    /// Forth again.
    pub(crate) fn redo(&mut self) {
        if let Some(after) = self.undone.pop() {
            self.done.push(std::mem::replace(&mut self.put, after));
            self.remembered = self.put.clone();
            self.renew();
        }
    }
}

/// A length as typed, m.
fn length_m(name: &str, typed: &str) -> Result<f64, String> {
    let length: Result<Length, _> = typed.trim().parse();
    length.map(|length| length.si()).map_err(|error| format!("{name}: {error}"))
}

/// A length for a field.
fn metres(length_m: f64) -> String {
    if length_m < 20.0 { format!("{length_m:.1} m") } else { format!("{length_m:.0} m") }
}

/// What was understood of files as a whole, in lines.
fn understood(seen: &Overview) -> Vec<String> {
    let [low_m, high_m] = seen.corners_m;
    let (size_m, middle_m) = (high_m - low_m, 0.5 * (low_m + high_m));
    let mut lines = seen.words.clone();
    let middle = seen.typed(middle_m).unwrap_or_default();
    let globe = seen
        .latitude_longitude(middle_m)
        .map_or("; where on earth isn't known".to_owned(), |(latitude, longitude)| {
            format!(" (latitude {latitude:.5}, longitude {longitude:.5})")
        });
    lines.push(format!(
        "It covers {} by {}; its middle is {middle}{globe}.",
        Units::Metric.distance(size_m.x),
        Units::Metric.distance(size_m.y)
    ));
    match seen.height_range_m() {
        Some((least, greatest)) => {
            lines.push(format!("Least height {least:.1} m, greatest {greatest:.1} m."));
        }
        None => lines.push("No heights can be shown of it.".to_owned()),
    }
    lines
}

/// The command's words, a line each, without the breaks of a terminal.
fn unwrapped(words: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for line in words.lines().filter(|line| !line.trim().is_empty()) {
        match lines.last_mut().filter(|_| line.starts_with("    ")) {
            Some(last) => {
                last.push(' ');
                last.push_str(line.trim());
            }
            None => lines.push(line.trim().to_owned()),
        }
    }
    lines
}
