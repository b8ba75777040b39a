//! The hillside in 3D: a window, or with `--shot` a picture without one.
//!
//! Exit code 0 when it was shown, 1 when it can't be shown here with the reason in one line,
//! 2 for bad input.

mod camera;
mod chart;
mod compare_page;
mod desk;
mod display;
mod drape;
#[cfg(test)]
mod driven;
mod export;
mod frame;
mod furniture;
mod gltf;
mod grant;
mod ground_page;
mod hand;
mod hearing;
mod keys;
mod labels;
mod layers;
mod lesson_page;
mod lost;
mod marks;
mod mesh;
mod notes;
mod page;
mod pages;
mod palette;
mod panel;
mod pick;
mod playing;
mod practice_page;
mod reader;
mod screens;
mod shape;
mod shot;
mod sight;
mod signs;
mod start;
mod start_page;
mod strip;
mod task;
mod teach_page;
mod things;
mod tracks;
mod view;
mod window;
mod wish;
mod worker;

use std::{env, path::PathBuf, process::ExitCode};

use clap::{ArgGroup, Parser};
use tumblewood::scene::edit::{Document, things::by_id};

use crate::{
    camera::View,
    desk::{Desk, Screen, Tab},
    display::display_named,
    lost::ToLose,
    palette::{THEMES, Theme},
    shot::{Made, PngFile, Shown, Size, shot},
    start_page::{GROUND_ENDINGS, OpenedAs, opened_as},
    window::window,
    worker::ToPage,
};

/// Shows the hillside of a scene: what stands there, what is cut, where the pieces go.
///
/// A planning aid, not a clearance: the model has not been compared with dropped logs. Local codes
/// and licensed practice decide.
#[derive(Parser, Debug)]
#[command(
    version,
    after_help = "Examples:\n  tumblewood-viewer scenes/lake-oak.ron\n  tumblewood-viewer \
                  scenes/lake-oak.ron --shot bank.png --view oblique --cut s3 --drop 3 --at 3.2s",
    group = ArgGroup::new("picture").args(["shot", "turntable", "film", "glb", "timing"])
)]
struct Arguments {
    /// Scene file, or a terrain file to put the stump on; the page of saved scenes if none is given.
    scene: Option<PathBuf>,
    /// Where on a terrain file the stump stands: "X,Y" or "latitude,longitude".
    #[arg(long, value_name = "X,Y|LAT,LON", allow_hyphen_values = true, requires = "scene")]
    stump: Option<String>,
    /// Make a picture without a window or a display and leave; of the first page without a scene.
    #[arg(long, value_name = "FILE.png")]
    shot: Option<PngFile>,
    /// Make pictures of a turn round the bank in this folder and leave.
    #[arg(long, value_name = "DIR", requires = "scene")]
    turntable: Option<PathBuf>,
    /// Make an animated PNG of --drop and leave.
    #[arg(long, value_name = "FILE.png", requires = "drop")]
    film: Option<PngFile>,
    /// Write --drop of --cut as a file for 3D programs (binary glTF) and leave.
    #[arg(
        long,
        value_name = "FILE.glb",
        value_parser = export::glb_file,
        requires_all = ["drop", "cut"],
        conflicts_with_all = ["view", "at", "close", "size", "panels"],
    )]
    glb: Option<PathBuf>,
    /// Say how long so many frames take while the camera turns, and leave.
    #[arg(long, value_name = "FRAMES", hide = true, requires = "scene")]
    timing: Option<u32>,
    /// Lose the graphics card so many times, once there is something to be seen.
    #[arg(long, value_name = "TIMES", hide = true, default_value_t = 0)]
    lose_card: u32,
    /// Practice: a course's lessons, or a lesson itself; the first course without a file.
    #[arg(long, conflicts_with_all = ["stump", "cut", "pick", "turntable", "film", "glb", "drop"])]
    practice: bool,
    /// Where from: plan, side, oblique or climber.
    #[arg(long, default_value = "oblique", requires = "picture")]
    view: View,
    /// The cut's id; the first if left out.
    #[arg(long, value_name = "ID", requires = "scene")]
    cut: Option<String>,
    /// A drop that is shown where it was, from 0.
    #[arg(long, value_name = "I", requires = "picture")]
    drop: Option<u32>,
    /// The moment of that drop, such as 3.2s; its end if left out.
    #[arg(long, value_name = "TIME", value_parser = seconds, requires = "drop")]
    at: Option<f64>,
    /// From near the piece, going with it.
    #[arg(long, requires = "drop")]
    close: bool,
    /// Size of the picture in pixels.
    #[arg(long, value_name = "WxH", default_value = "1280x720", requires = "picture")]
    size: Size,
    /// With the panels, as the window shows it.
    #[arg(long, requires = "picture")]
    panels: bool,
    /// Which part of the panel: forecast, pull, change or view.
    #[arg(long, value_name = "PART", value_parser = tab, requires = "panels")]
    tab: Option<Tab>,
    /// With this thing taken hold of.
    #[arg(long, value_name = "ID", hide = true, requires = "panels")]
    pick: Option<String>,
    /// In the colours for: day, bright sunlight or dark room.
    #[arg(long, value_name = "LIGHT", value_parser = light, hide = true)]
    light: Option<Theme>,
    /// Drops of each cut on the ground as told.
    #[arg(long, default_value_t = 500, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    drops: u32,
    /// Grounds drawn from those that fit the notes.
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    grounds: u32,
    /// Seed of all draws: same seed, same answer.
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

/// A time such as `3.2s` or `3.2 s`.
fn seconds(text: &str) -> Result<f64, String> {
    let wrong = || format!("read \"{text}\", expected seconds such as 3.2s");
    let number = text.trim().strip_suffix('s').ok_or_else(wrong)?.trim();
    let time_s: f64 = number.parse().map_err(|_| wrong())?;
    if (0.0..=120.0).contains(&time_s) {
        Ok(time_s)
    } else {
        Err(format!("read {text}, allowed is 0 s to 120 s"))
    }
}

/// A part of the panel by its word.
fn tab(text: &str) -> Result<Tab, String> {
    match text {
        "forecast" => Ok(Tab::Forecast),
        "pull" => Ok(Tab::Pull),
        "change" => Ok(Tab::Change),
        "view" => Ok(Tab::View),
        _ => Err(format!("read \"{text}\", allowed are forecast, pull, change, view")),
    }
}

/// Colours by the word for their light.
fn light(text: &str) -> Result<Theme, String> {
    let found = THEMES.iter().find(|(_, word)| *word == text).map(|(theme, _)| *theme);
    found.ok_or_else(|| format!("read \"{text}\", allowed are {}", THEMES.map(|t| t.1).join(", ")))
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let picture = arguments.shot.is_some()
        || arguments.turntable.is_some()
        || arguments.film.is_some()
        || arguments.glb.is_some()
        || arguments.timing.is_some();
    let desk = match desk(&arguments, picture) {
        Ok(desk) => desk,
        Err(why) => return tell(&why, 2),
    };
    if let (Some(path), Some(drop)) = (&arguments.glb, arguments.drop) {
        return match export::one(&desk, drop, path) {
            Ok(()) => ExitCode::SUCCESS,
            Err(why) => tell(&why, 1),
        };
    }
    let shown = Shown {
        view: arguments.view,
        size: arguments.size,
        // Without a scene there is nothing but a page.
        panels: arguments.panels || desk.screen != Screen::Hillside,
        drop: arguments.drop,
        at_s: arguments.at,
        close: arguments.close,
    };
    let to_lose = ToLose::new(arguments.lose_card);
    let made = match (arguments.shot, arguments.turntable, arguments.film) {
        (Some(file), _, _) => Some(Made::Picture(file)),
        (_, Some(folder), _) => Some(Made::Turntable(folder)),
        (_, _, Some(file)) => Some(Made::Film(file)),
        _ => arguments.timing.map(Made::Timing),
    };
    let ended = match made {
        Some(made) => shot(desk, made, shown, to_lose),
        None => display_named(|name| env::var_os(name))
            .and_then(|()| window(desk, to_lose))
            .map(|()| String::new()),
    };
    match ended {
        Ok(said) if said.is_empty() => ExitCode::SUCCESS,
        Ok(said) => tell(&said, 0),
        Err(error) => tell(&error.to_string(), 1),
    }
}

/// The desk to begin with. A window shows a scene that can't be read with its error and waits for
/// it to be mended; a picture is refused.
fn desk(arguments: &Arguments, picture: bool) -> Result<Desk, String> {
    let mut desk = Desk::new();
    desk.ask.drops = arguments.drops;
    desk.ask.seed = arguments.seed;
    desk.look.theme = arguments.light.unwrap_or(desk.look.theme);
    // A picture without panels shows drops on the ground as told alone.
    desk.ask.grounds = if picture && !arguments.panels { 0 } else { arguments.grounds };
    desk.recent = start_page::recent_list(|name| env::var_os(name));
    if arguments.practice {
        desk.screen = Screen::Practice;
        desk.mail.come.extend(arguments.scene.clone().map(ToPage::Practice));
        return Ok(desk);
    }
    let Some(path) = &arguments.scene else { return Ok(desk) };
    if opened_as(path) == Some(OpenedAs::Ground) {
        let of_a_scene = [
            ("--cut", arguments.cut.is_some()),
            ("--drop", arguments.drop.is_some()),
            ("--pick", arguments.pick.is_some()),
            ("--turntable", arguments.turntable.is_some()),
            ("--timing", arguments.timing.is_some()),
        ];
        if let Some((flag, _)) = of_a_scene.iter().find(|(_, given)| *given) {
            return Err(format!("{flag}: {} is a terrain file; allowed: a scene", path.display()));
        }
        desk.screen = Screen::Ground;
        desk.mail.come.push(ToPage::Ground { path: path.clone(), at: arguments.stump.clone() });
        return Ok(desk);
    }
    if arguments.stump.is_some() {
        return Err(format!(
            "--stump: {} is no terrain file; allowed: {}",
            path.display(),
            GROUND_ENDINGS.map(|e| format!(".{e}")).join(", ")
        ));
    }
    let document = Document::open(path).map_err(|error| error.to_string())?;
    desk.screen = Screen::Hillside;
    desk.question = document.found().map(crate::grant::recovered);
    desk.document = Some(document);
    if let Err(why) = crate::grant::take_scene(&mut desk) {
        if picture {
            return Err(why);
        }
        desk.trouble = Some(why);
    }
    if picture {
        desk.question = None;
    }
    if let Some(id) = &arguments.cut {
        let cuts = desk.job.as_ref().map(|job| &job.scene.cuts[..]).unwrap_or_default();
        let ids: Vec<&str> = cuts.iter().map(|cut| cut.id.as_str()).collect();
        desk.cut = ids
            .iter()
            .position(|other| other == id)
            .ok_or_else(|| format!("--cut: no such cut; read {id}; allowed: {}", ids.join(", ")))?;
        desk.show().map_err(|error| worker::shown(&error))?;
    }
    if let (Some(id), Some(job)) = (&arguments.pick, &desk.job) {
        let thing = by_id(&job.scene, id);
        (desk.picked, desk.tab) = (Some(thing.ok_or("--pick: no such thing")?), Tab::Change);
    }
    desk.tab = arguments.tab.unwrap_or(desk.tab);
    desk.wanted_view = Some(View::Oblique);
    Ok(desk)
}

fn tell(why: &str, code: u8) -> ExitCode {
    eprintln!("tumblewood-viewer: {why}");
    ExitCode::from(code)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_parts_of_the_panel_are_read_or_refused_with_what_was_read() {
        assert_eq!(tab("pull"), Ok(Tab::Pull));
        assert!(tab("hinge").unwrap_err().starts_with("read \"hinge\""));
    }

    #[test]
    fn prop_moments_are_read_or_refused_with_what_was_read() {
        assert_eq!(seconds("3.2s"), Ok(3.2));
        assert_eq!(seconds(" 3 s"), Ok(3.0));
        for bad in ["", "s", "3", "3.2m", "-1s", "NaN s", "1e9s"] {
            assert!(seconds(bad).unwrap_err().starts_with("read "), "{bad}");
        }
    }
}
