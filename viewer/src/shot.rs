//! Pictures without a window or a display: one, a turn round the bank, or a drop as a film.
//!
//! The forecast is waited for first, and the drop that is to be shown. The first frames are empty
//! while the renderer still loads what it draws with, so a frame is taken again until the hillside
//! is on it.

use std::{
    fs,
    path::{Path, PathBuf},
    str::FromStr,
    sync::{Arc, OnceLock},
    thread,
    time::{Duration, Instant},
};

use bevy::{
    app::ScheduleRunnerPlugin,
    camera::RenderTarget,
    prelude::*,
    render::{
        RenderPlugin,
        render_resource::TextureFormat,
        renderer::RenderAdapterInfo,
        view::screenshot::{Screenshot, ScreenshotCaptured},
    },
    window::ExitCondition,
    winit::WinitPlugin,
};

use crate::{
    camera::View,
    desk::Desk,
    display::NoPicture,
    hand::Eye,
    lost::ToLose,
    palette::{Paint, palette},
    playing::Clock,
    start::{plugins, run},
    view::{Bench, ViewPlugin},
    wish::Wish,
    worker::{Stage, Workers},
};

/// Frames looked at before giving up: pipelines are ready after a handful on any machine.
const MOST_FRAMES: u32 = 200;
/// The hillside covers at least this share of the picture.
const LEAST_HILLSIDE: f64 = 0.05;
/// Pictures of a turn round the bank.
const TURNTABLE: u32 = 36;
/// Pictures a second of a film, and the most of them.
const FILM_A_SECOND: u32 = 12;
/// From so many lengths of the piece it is seen close by: it and some of where it was.
const CLOSE_LENGTHS: f32 = 7.0;
/// Frames that are not counted, while the renderer still loads what it draws with.
const WARM_UP: u32 = 30;
/// What the camera turns from one counted frame to the next, rad.
const TURN_A_FRAME_RAD: f32 = 0.01;
/// The most pictures of a film: some 33 s.
const MOST_OF_FILM: u32 = 400;

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

/// What is to be made.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Made {
    /// One picture.
    Picture(PngFile),
    /// A turn round the bank, as pictures in a folder.
    Turntable(PathBuf),
    /// A drop from its beginning to its end, as an animated PNG.
    Film(PngFile),
    /// No picture: how long so many frames take while the camera turns.
    Timing(u32),
}

/// What is to be shown on it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Shown {
    /// Where from.
    pub(crate) view: View,
    /// Size, px.
    pub(crate) size: Size,
    /// With panels, as in the window.
    pub(crate) panels: bool,
    /// A drop that is played.
    pub(crate) drop: Option<u32>,
    /// At which moment, s; its end if left out.
    pub(crate) at_s: Option<f64>,
    /// From near the piece, going with it.
    pub(crate) close: bool,
}

/// Pictures under way.
#[derive(Resource)]
struct Shot {
    made: Made,
    shown: Shown,
    picture: Handle<Image>,
    /// Frames looked at since the last one that was good.
    frames: u32,
    waiting: bool,
    asked_for_drop: bool,
    /// Pictures to be made, once it is known, and those that are.
    of: Option<u32>,
    taken: u32,
    /// Azimuth at the start of a turn, rad.
    azimuth_rad: f32,
    film: Vec<Vec<u8>>,
    frame_ends: Vec<Instant>,
    result: Arc<OnceLock<Result<String, NoPicture>>>,
}

/// Draws what is on a desk into files; what there is to say of it.
pub(crate) fn shot(
    desk: Desk,
    made: Made,
    shown: Shown,
    to_lose: ToLose,
) -> Result<String, NoPicture> {
    let result = Arc::new(OnceLock::new());
    let told = result.clone();
    run(move || {
        let mut app = App::new();
        app.add_plugins(
            to_lose
                .between_frames(plugins())
                .set(WindowPlugin {
                    primary_window: None,
                    exit_condition: ExitCondition::DontExit,
                    ..default()
                })
                .set(RenderPlugin { synchronous_pipeline_compilation: true, ..default() })
                .disable::<WinitPlugin>(),
        )
        .add_plugins(ScheduleRunnerPlugin::run_loop(Duration::ZERO));

        let Size { width, height } = shown.size;
        let picture = Image::new_target_texture(width, height, TextureFormat::Rgba8UnormSrgb, None);
        let picture = app.world_mut().resource_mut::<Assets<Image>>().add(picture);
        let mut bench = Bench { desk, workers: Workers::start(|| {}), wishes: vec![] };
        crate::grant::order(&mut bench.desk, &bench.workers);
        bench.wishes.push(Wish::View(shown.view));
        app.insert_resource(bench)
            .insert_resource(to_lose)
            .add_plugins(ViewPlugin {
                target: Some(RenderTarget::Image(picture.clone().into())),
                panels: shown.panels,
                smooth: !matches!(made, Made::Timing(_)),
            })
            .insert_resource(Shot {
                made,
                shown,
                picture,
                frames: 0,
                waiting: false,
                asked_for_drop: false,
                of: None,
                taken: 0,
                azimuth_rad: 0.0,
                film: vec![],
                frame_ends: vec![],
                result: told,
            })
            .add_systems(Last, take);
        app
    })?;
    let stopped = || NoPicture::Stopped { reason: "ended before the picture was made".to_owned() };
    result.get().cloned().unwrap_or_else(|| Err(stopped()))
}

/// Asks for the frame that is being drawn, once everything that is to be on it is there and unless
/// one is on its way.
fn take(
    mut commands: Commands,
    mut shot: ResMut<Shot>,
    mut bench: ResMut<Bench>,
    mut eye: ResMut<Eye>,
    mut exit: MessageWriter<AppExit>,
    adapter: Option<Res<RenderAdapterInfo>>,
    to_lose: Res<ToLose>,
) {
    if shot.result.get().is_some() {
        exit.write(AppExit::Success);
        return;
    }
    if shot.waiting {
        return;
    }
    if to_lose.is_under_way() {
        thread::sleep(Duration::from_millis(5));
        return;
    }
    match ready(&mut shot, &mut bench) {
        Ok(true) => {}
        Ok(false) => {
            // Other threads work for it.
            thread::sleep(Duration::from_millis(5));
            return;
        }
        Err(reason) => {
            let _ = shot.result.set(Err(NoPicture::Stopped { reason }));
            return;
        }
    }
    let end_s = bench.desk.playing.clock.end_s;
    if let Made::Timing(frames) = shot.made {
        eye.azimuth_rad += TURN_A_FRAME_RAD;
        shot.frame_ends.push(Instant::now());
        if shot.frame_ends.len() as u32 > frames + WARM_UP {
            let said = frame_times(&shot.frame_ends, adapter.as_deref());
            let _ = shot.result.set(Ok(said));
        }
        return;
    }
    let of = match shot.made {
        Made::Timing(_) => 0,
        Made::Picture(_) => 1,
        Made::Turntable(_) => TURNTABLE,
        Made::Film(_) => ((end_s * f64::from(FILM_A_SECOND)).ceil() as u32 + 1).min(MOST_OF_FILM),
    };
    if shot.of.is_none() {
        shot.of = Some(of);
        shot.azimuth_rad = eye.azimuth_rad;
        let piece = bench.desk.playing.drops.first().map(|made| &made.replay.ready.section.piece);
        if let Some(piece) = piece.filter(|_| shot.shown.close) {
            eye.distance_m = CLOSE_LENGTHS * piece.length_m() as f32;
            bench.desk.playing.follows = true;
        }
    }
    let clock = &mut bench.desk.playing.clock;
    match shot.made {
        Made::Picture(_) => clock.seek(shot.shown.at_s.unwrap_or(end_s)),
        Made::Turntable(_) => {
            clock.seek(shot.shown.at_s.unwrap_or(end_s));
            let share = shot.taken as f32 / of as f32;
            eye.azimuth_rad = shot.azimuth_rad + std::f32::consts::TAU * share;
        }
        Made::Film(_) => clock.seek(f64::from(shot.taken) / f64::from(FILM_A_SECOND)),
        Made::Timing(_) => {}
    }
    shot.waiting = true;
    // What was just set is drawn in the next frame, and the one after is sure to show it.
    shot.frames += 1;
    commands.spawn(Screenshot::image(shot.picture.clone())).observe(keep_or_take_again);
}

/// Whether everything that is to be shown is there.
///
/// # Errors
///
/// It never will be.
fn ready(shot: &mut Shot, bench: &mut Bench) -> Result<bool, String> {
    let desk = &bench.desk;
    if let Some(why) =
        desk.trouble.as_ref().or(desk.message.as_ref()).or(desk.answer.failed.as_ref())
    {
        return Err(why.clone());
    }
    // The first page waits for its cards, panels for their last counts: progress is no picture.
    let is_asking = !bench.wishes.is_empty() || !desk.mail.come.is_empty();
    if shot.shown.panels && (desk.is_working() || is_asking) {
        return Ok(false);
    }
    // A lesson that asks has no forecast.
    let job = desk.job.as_ref().filter(|_| desk.document.is_some());
    if job.is_none_or(|job| job.scene.cuts.is_empty()) {
        return Ok(true);
    }
    if desk.counts().is_none_or(|counts| counts.stage < Stage::Full) {
        return Ok(false);
    }
    bench.workers.stop();
    let Some(drop) = shot.shown.drop else { return Ok(true) };
    if !shot.asked_for_drop {
        shot.asked_for_drop = true;
        bench.desk.play(&[drop], false, &bench.workers);
        return Ok(false);
    }
    if let Some(made) = bench.desk.playing.drops.first() {
        if made.replay.what.is_err() {
            return Err(format!("drop {drop} sits back: there is nothing to show of it"));
        }
        let end_s = bench.desk.playing.clock.end_s;
        if bench.desk.playing.clock.runs {
            bench.desk.playing.clock = Clock::new(end_s);
        }
        return Ok(true);
    }
    Ok(false)
}

fn keep_or_take_again(captured: On<ScreenshotCaptured>, mut shot: ResMut<Shot>, bench: Res<Bench>) {
    shot.waiting = false;
    if shot.result.get().is_some() {
        return;
    }
    let image = &captured.image;
    let sky = palette(bench.desk.look.theme).sky;
    // Two frames pass before what was set is drawn, and more while pipelines are loaded.
    if shot.frames < 3 || !is_complete(image.data.as_deref().unwrap_or_default(), sky) {
        if shot.frames >= MOST_FRAMES {
            let reason = format!("the picture was still empty after {MOST_FRAMES} frames");
            let _ = shot.result.set(Err(NoPicture::Stopped { reason }));
        }
        return;
    }
    shot.frames = 0;
    let done = keep(&mut shot, image);
    shot.taken += 1;
    let over = Some(shot.taken) == shot.of;
    let done = match (done, over, shot.made.clone()) {
        (Ok(()), true, Made::Film(file)) => write_film(&file, &shot.film, shot.shown.size),
        (done, ..) => done,
    };
    if over || done.is_err() {
        let done = done.map(|()| String::new());
        let _ = shot.result.set(done.map_err(|reason| NoPicture::Stopped { reason }));
    }
}

fn keep(shot: &mut Shot, image: &Image) -> Result<(), String> {
    match &shot.made {
        Made::Picture(file) => save(image, file),
        Made::Turntable(folder) => {
            fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
            save(image, &PngFile(folder.join(format!("turn-{:03}.png", shot.taken))))
        }
        Made::Film(_) => {
            let picture = image.clone().try_into_dynamic().map_err(|e| e.to_string())?;
            shot.film.push(picture.to_rgb8().into_raw());
            Ok(())
        }
        Made::Timing(_) => Ok(()),
    }
}

/// How long frames took, in a line: half of them, and nineteen in twenty, under so much.
fn frame_times(ends: &[Instant], adapter: Option<&RenderAdapterInfo>) -> String {
    let frames = ends.windows(2).skip(WARM_UP as usize);
    let mut ms: Vec<f64> =
        frames.map(|pair| 1e3 * pair[1].duration_since(pair[0]).as_secs_f64()).collect();
    ms.sort_by(f64::total_cmp);
    let at = |share: f64| ms.get((share * ms.len() as f64) as usize).copied().unwrap_or_default();
    let name = adapter.map_or("an unknown device", |adapter| adapter.name.as_str());
    format!("{} frames on {name}: {:.2} ms, 19 in 20 under {:.2} ms", ms.len(), at(0.5), at(0.95))
}

/// Writes pictures as one animated PNG, played for ever.
fn write_film(file: &PngFile, film: &[Vec<u8>], size: Size) -> Result<(), String> {
    let failed = |cause: &dyn std::fmt::Display| format!("{}: {cause}", file.0.display());
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, size.width, size.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_animated(film.len() as u32, 0).map_err(|e| failed(&e))?;
    encoder.set_frame_delay(1, FILM_A_SECOND as u16).map_err(|e| failed(&e))?;
    let mut writer = encoder.write_header().map_err(|e| failed(&e))?;
    for picture in film {
        writer.write_image_data(picture).map_err(|e| failed(&e))?;
    }
    writer.finish().map_err(|e| failed(&e))?;
    tumblewood::scene::write(&file.0, &bytes, true).map_err(|e| e.to_string())
}

/// Whether the hillside is on a picture of four bytes a pixel. A frame that nothing has been drawn
/// on is black, or all sky.
fn is_complete(pixels: &[u8], sky: Paint) -> bool {
    let sky = sky.srgb();
    let drawn = pixels.chunks_exact(4).filter(|pixel| pixel[..3] != sky && pixel[..3] != [0, 0, 0]);
    let all = (pixels.len() / 4).max(1);
    drawn.count() as f64 / all as f64 > LEAST_HILLSIDE
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

    #[test]
    fn prop_an_early_frame_is_not_a_picture() {
        let sky = Paint(0xcc_dbeb);
        let pixels = |ground: usize| {
            let mut pixels = [[0x80, 0x70, 0x60, 0xff]; 1].repeat(ground);
            pixels.resize(1_000, [0xcc, 0xdb, 0xeb, 0xff]);
            pixels.concat()
        };
        assert!(is_complete(&pixels(100), sky));
        assert!(!is_complete(&pixels(10), sky), "hardly anything but sky");
        assert!(!is_complete(&[0; 4_000], sky), "nothing at all");
        assert!(!is_complete(&[], sky));
    }

    #[test]
    fn prop_a_film_is_an_animated_png_with_all_its_pictures() {
        let folder = tempfile::tempdir().unwrap();
        let file: PngFile = folder.path().join("film.png").to_str().unwrap().parse().unwrap();
        let size = Size { width: 4, height: 3 };
        let film: Vec<Vec<u8>> = (0..5).map(|k| vec![40 * k; 36]).collect();
        write_film(&file, &film, size).unwrap();
        let reader = png::Decoder::new(std::io::BufReader::new(fs::File::open(&file.0).unwrap()));
        let mut reader = reader.read_info().unwrap();
        assert_eq!(reader.info().animation_control().unwrap().num_frames, 5);
        for picture in &film {
            let mut read = vec![0; 36];
            reader.next_frame(&mut read).unwrap();
            assert_eq!(read, *picture);
        }
    }
}
