//! A picture without a window or a display.
//!
//! The first frames are empty while the renderer still loads what it draws with, so a frame is
//! taken again until the hillside and the panel are both on it.

use std::{
    fs,
    path::{Path, PathBuf},
    str::FromStr,
    sync::{Arc, OnceLock},
    time::Duration,
};

use bevy::{
    app::ScheduleRunnerPlugin,
    camera::RenderTarget,
    prelude::*,
    render::{
        RenderPlugin,
        render_resource::TextureFormat,
        view::screenshot::{Screenshot, ScreenshotCaptured},
    },
    window::ExitCondition,
    winit::WinitPlugin,
};

use crate::{
    display::NoPicture,
    hillside::Hillside,
    panel::PANEL_WIDTH,
    start::{plugins, run},
    view::{SKY, ViewPlugin},
};

/// Frames looked at before giving up: pipelines are ready after a handful on any machine.
const MOST_FRAMES: u32 = 200;
/// The hillside covers at least this share of the picture beside the panel.
const LEAST_HILLSIDE: f64 = 0.1;
/// Letters on the panel's ground cover at least this share of it.
const LEAST_LETTERS: f64 = 0.005;
/// The panel's bright ground covers at least this share of it.
const LEAST_PAPER: f64 = 0.5;

/// Size of a picture, pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Size {
    pub(crate) width: u32,
    pub(crate) height: u32,
}

impl Size {
    /// Room for the panel and something beside it.
    const LEAST: Self = Self { width: 400, height: 300 };
    /// What every graphics driver can draw at once.
    const MOST: u32 = 8192;
}

impl FromStr for Size {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (width, height) = text
            .split_once('x')
            .and_then(|(width, height)| {
                Some((width.parse::<u32>().ok()?, height.parse::<u32>().ok()?))
            })
            .ok_or_else(|| format!("read \"{text}\", expected WIDTHxHEIGHT such as 1280x720"))?;
        if width < Self::LEAST.width
            || height < Self::LEAST.height
            || width.max(height) > Self::MOST
        {
            return Err(format!(
                "read {width}x{height}, allowed are {}x{} to {2}x{2} pixels",
                Self::LEAST.width,
                Self::LEAST.height,
                Self::MOST
            ));
        }
        Ok(Self { width, height })
    }
}

/// Where a picture can be written, decided before anything is drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PngFile(PathBuf);

impl PngFile {
    /// The file beside it that is written first, so that no half of a picture is left.
    fn unfinished(&self) -> PathBuf {
        self.0.with_extension(format!("{}.tmp.png", std::process::id()))
    }
}

impl FromStr for PngFile {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let path = PathBuf::from(text);
        if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png")) {
            return Err(format!("read \"{text}\", expected a name that ends in .png"));
        }
        if path.is_dir() {
            return Err(format!("\"{text}\" is a folder"));
        }
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        if !folder.unwrap_or(Path::new(".")).is_dir() {
            return Err(format!("the folder of \"{text}\" does not exist"));
        }
        Ok(Self(path))
    }
}

/// A picture under way.
#[derive(Resource)]
struct Shot {
    file: PngFile,
    picture: Handle<Image>,
    frames: u32,
    waiting: bool,
    result: Arc<OnceLock<Result<(), NoPicture>>>,
}

/// Draws the hillside and its panel into a PNG file.
pub(crate) fn shot(hillside: Hillside, file: PngFile, size: Size) -> Result<(), NoPicture> {
    let result = Arc::new(OnceLock::new());
    let told = result.clone();
    run(move || {
        let mut app = App::new();
        app.add_plugins(
            plugins()
                .set(WindowPlugin {
                    primary_window: None,
                    exit_condition: ExitCondition::DontExit,
                    ..default()
                })
                .set(RenderPlugin { synchronous_pipeline_compilation: true, ..default() })
                .disable::<WinitPlugin>(),
        )
        .add_plugins(ScheduleRunnerPlugin::run_loop(Duration::ZERO));

        let picture =
            Image::new_target_texture(size.width, size.height, TextureFormat::Rgba8UnormSrgb, None);
        let picture = app.world_mut().resource_mut::<Assets<Image>>().add(picture);
        app.add_plugins(ViewPlugin {
            hillside,
            target: Some(RenderTarget::Image(picture.clone().into())),
        })
        .insert_resource(Shot { file, picture, frames: 0, waiting: false, result: told })
        .add_systems(Last, take);
        app
    })?;
    let stopped = || NoPicture::Stopped { reason: "ended before the picture was made".to_owned() };
    result.get().cloned().unwrap_or_else(|| Err(stopped()))
}

/// Asks for the frame that is being drawn, unless one is on its way.
fn take(mut commands: Commands, mut shot: ResMut<Shot>, mut exit: MessageWriter<AppExit>) {
    if shot.result.get().is_some() {
        exit.write(AppExit::Success);
    } else if !shot.waiting {
        shot.waiting = true;
        commands.spawn(Screenshot::image(shot.picture.clone())).observe(keep_or_take_again);
    }
}

fn keep_or_take_again(captured: On<ScreenshotCaptured>, mut shot: ResMut<Shot>) {
    shot.waiting = false;
    shot.frames += 1;
    if shot.result.get().is_some() {
        return;
    }
    let image = &captured.image;
    let result = if is_complete(image.data.as_deref().unwrap_or_default(), image.width()) {
        save(image, &shot.file)
    } else if shot.frames >= MOST_FRAMES {
        Err(format!("the picture was still empty after {MOST_FRAMES} frames"))
    } else {
        return;
    };
    // The only place that sets it, and it was empty above.
    let _ = shot.result.set(result.map_err(|reason| NoPicture::Stopped { reason }));
}

/// Whether both the hillside and the panel's letters are on a picture of four bytes a pixel. A
/// frame that nothing has been drawn on is black, or all sky.
fn is_complete(pixels: &[u8], width: u32) -> bool {
    let [red, green, blue, _] = SKY.to_srgba().to_u8_array();
    let (rows, panel) = (width as usize, PANEL_WIDTH as usize);
    let (mut hillside, mut beside) = (0_u32, 0_u32);
    let (mut letters, mut paper, mut on_panel) = (0_u32, 0_u32, 0_u32);
    for (place, pixel) in pixels.chunks_exact(4).enumerate() {
        let colour = &pixel[..3];
        if place % rows.max(1) + panel < rows {
            beside += 1;
            hillside += u32::from(colour != [red, green, blue] && colour != [0, 0, 0]);
        } else {
            on_panel += 1;
            letters += u32::from(colour.iter().all(|&part| part < 128));
            paper += u32::from(colour.iter().all(|&part| part > 230));
        }
    }
    let share = |part: u32, whole: u32| f64::from(part) / f64::from(whole.max(1));
    share(hillside, beside) > LEAST_HILLSIDE
        && share(letters, on_panel) > LEAST_LETTERS
        && share(paper, on_panel) > LEAST_PAPER
}

fn save(image: &Image, file: &PngFile) -> Result<(), String> {
    let failed = |cause: &dyn std::fmt::Display| format!("{}: {cause}", file.0.display());
    let picture = image.clone().try_into_dynamic().map_err(|cause| failed(&cause))?.to_rgb8();
    let unfinished = file.unfinished();
    let written = picture
        .save(&unfinished)
        .map_err(|cause| failed(&cause))
        .and_then(|()| fs::rename(&unfinished, &file.0).map_err(|cause| failed(&cause)));
    if written.is_err() {
        // Whether or not it was ever made: the error to tell is the one above.
        let _ = fs::remove_file(&unfinished);
    }
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_sizes_are_read_or_refused_with_what_was_read() {
        assert_eq!("1280x720".parse(), Ok(Size { width: 1280, height: 720 }));
        for bad in ["", "1280", "1280x", "x720", "-1x720", "0x0", "399x300", "8193x300", "1e3x700"]
        {
            let message = bad.parse::<Size>().unwrap_err();
            assert!(message.starts_with("read "), "{bad}: {message}");
        }
    }

    #[test]
    fn prop_a_picture_goes_only_where_a_picture_can_go() {
        assert!("bank.png".parse::<PngFile>().is_ok());
        assert!("bank.jpg".parse::<PngFile>().is_err());
        assert!("".parse::<PngFile>().is_err());
        assert!("no/such/folder/bank.png".parse::<PngFile>().is_err());
    }

    /// A picture 400 wide with so much hillside and so many dark pixels on the panel.
    fn picture(hillside_rows: usize, dark_rows: usize) -> Vec<u8> {
        let sky = SKY.to_srgba().to_u8_array();
        let mut pixels = Vec::new();
        for row in 0..200 {
            let beside = if row < hillside_rows { [120, 110, 90, 255] } else { sky };
            let panel = if row < dark_rows { [10, 10, 10, 255] } else { [248, 248, 248, 255] };
            pixels.extend([beside; 100].concat());
            pixels.extend([panel; 300].concat());
        }
        pixels
    }

    #[test]
    fn prop_an_early_frame_is_not_a_picture() {
        assert!(is_complete(&picture(100, 10), 400));
        assert!(!is_complete(&picture(0, 10), 400), "no hillside");
        assert!(!is_complete(&picture(100, 0), 400), "no panel");
        assert!(!is_complete(&[0; 400 * 200 * 4], 400), "nothing at all");
        assert!(!is_complete(&[], 0));
    }
}
