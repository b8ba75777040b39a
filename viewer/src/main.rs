//! The hillside in 3D: a window, or with `--shot` a picture without one.
//!
//! Exit code 0 when it was shown, 1 when it can't be shown here with the reason in one line,
//! 2 for bad input.

mod bank;
mod camera;
mod chart;
mod compare_page;
mod display;
mod frame;
mod hand;
mod hillside;
mod mesh;
mod notes;
mod page;
mod panel;
mod shot;
mod start;
mod start_page;
mod view;
mod window;

use std::{env, path::PathBuf, process::ExitCode};

use clap::Parser;

use crate::{
    display::display_named,
    hillside::hillside,
    shot::{PngFile, Size, shot},
    window::window,
};

/// Shows the hillside of a scene.
#[derive(Parser, Debug)]
#[command(version, after_help = "Example: tumblewood-viewer --shot bank.png --size 1600x900")]
struct Arguments {
    /// Scene file; the invented lake bank if none is given.
    scene: Option<PathBuf>,
    /// Make a picture without a window or a display and leave.
    #[arg(long, value_name = "FILE.png")]
    shot: Option<PngFile>,
    /// Size of the picture in pixels.
    #[arg(long, value_name = "WxH", default_value = "1280x720", requires = "shot")]
    size: Size,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let hillside = match hillside(arguments.scene.as_deref()) {
        Ok(hillside) => hillside,
        Err(error) => return tell(&error, 2),
    };
    let shown = match arguments.shot {
        Some(file) => shot(hillside, file, arguments.size),
        None => display_named(|name| env::var_os(name)).and_then(|()| window(hillside)),
    };
    match shown {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => tell(&error, 1),
    }
}

fn tell(error: &dyn std::error::Error, code: u8) -> ExitCode {
    eprintln!("tumblewood-viewer: {error}");
    ExitCode::from(code)
}
