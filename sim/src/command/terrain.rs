//! `terrain`: ground out of rasters, point clouds and surveys, about a place.

use std::{
    io::IsTerminal as _,
    path::{Path, PathBuf},
    sync::atomic::Ordering,
};

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressStyle};
use tumblewood::{
    quantity::{Length, Quantity as _},
    report::{plan, text},
    scene,
    terrain::{
        LengthUnit, TerrainError,
        intake::{self, Wanted, write},
        system::Told,
    },
};

use super::{
    Failure,
    output::{Folder, new_file},
    progress::stop_flag,
    say::say,
};

#[derive(Debug, Args)]
pub(super) struct TerrainArgs {
    /// Rasters (.tif, .asc), point clouds (.las, .laz, .copc.laz) or surveyed points (.csv, .gpx);
    /// several of one kind are joined.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// The place in the middle, usually the stump: "X,Y" in the files' own coordinates, or
    /// "latitude,longitude".
    #[arg(long, allow_hyphen_values = true, value_name = "X,Y|LAT,LON")]
    at: Option<String>,
    /// From the place to each side.
    #[arg(long, default_value = "100m", allow_hyphen_values = true, value_parser = length)]
    around: f64,
    /// Distance between heights; the raster's own, or 0.5 m from points, if left out.
    #[arg(long, allow_hyphen_values = true, value_parser = length)]
    cell: Option<f64>,
    /// The coordinate system of files that don't name theirs, as EPSG:2994; "none" for metres that
    /// lie nowhere on earth.
    #[arg(long, value_name = "EPSG:N|none")]
    crs: Option<Told>,
    /// The unit of heights of files that don't name theirs.
    #[arg(long, value_enum)]
    heights_in: Option<UnitArg>,
    /// Find the ground among all points of a cloud, whatever their classes.
    #[arg(long)]
    find_ground: bool,
    /// The GeoTIFF to write, .tif.
    #[arg(long)]
    to: PathBuf,
    /// Folder for a picture of the ground, what is filled in hatched.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Replace a file that is there.
    #[arg(long)]
    force: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum UnitArg {
    /// Metres.
    M,
    /// International feet.
    Ft,
    /// US survey feet.
    UsFt,
}

impl UnitArg {
    pub(super) fn unit(self) -> LengthUnit {
        match self {
            Self::M => LengthUnit::Metre,
            Self::Ft => LengthUnit::Foot,
            Self::UsFt => LengthUnit::UsSurveyFoot,
        }
    }
}

pub(super) fn length(text: &str) -> Result<f64, String> {
    let length: Length = text.parse().map_err(|e| format!("{e}"))?;
    Ok(length.si())
}

pub(super) fn terrain(args: TerrainArgs) -> Result<(), Failure> {
    new_file(&args.to, &["tif", "tiff"], args.force)?;
    let mut folder = args.out.as_deref().map(Folder::make).transpose()?;
    let wanted = Wanted {
        files: args.files,
        at: args.at,
        around_m: args.around,
        cell_m: args.cell,
        crs: args.crs,
        heights_in: args.heights_in.map(UnitArg::unit),
        find_ground: args.find_ground,
    };
    let stop = stop_flag();
    let bar = bar();
    let ground = intake::take(&wanted, &mut |progress| {
        bar.set_length(progress.total);
        bar.set_position(progress.done);
        !stop.load(Ordering::Relaxed)
    });
    bar.finish_and_clear();
    let ground = match ground {
        Ok(ground) => ground,
        Err(_) if stop.load(Ordering::Relaxed) => return Err(Failure::Interrupted),
        Err(error) => return Err(wrong(&error)),
    };
    let bytes = write::geotiff(&ground).map_err(|e| wrong(&e))?;
    scene::write(&args.to, &bytes, args.force)?;
    if let Some(folder) = &mut folder {
        let name = args.to.file_stem().and_then(|s| s.to_str()).unwrap_or("ground");
        let picture = plan::ground(&ground, &format!("Ground of {}", file_names(&wanted.files)));
        folder.picture(name, &picture)?;
        folder.tell();
    }
    let to = args.to.display();
    say(&format!(
        "Wrote {to}\n{}\nNext: tumblewood new my-job.ron --terrain {to}\n",
        text::terrain(&ground)
    ))
}

pub(super) fn wrong(error: &TerrainError) -> Failure {
    Failure::input(error.to_string())
}

fn file_names(files: &[PathBuf]) -> String {
    let name = |path: &Path| path.file_name().map(|n| n.to_string_lossy().into_owned());
    match files {
        [one] => name(one).unwrap_or_default(),
        [first, rest @ ..] => {
            format!("{} and {} more", name(first).unwrap_or_default(), rest.len())
        }
        [] => String::new(),
    }
}

/// A bar on stderr when it is a terminal; silent otherwise.
pub(super) fn bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(1);
    if let Ok(style) =
        ProgressStyle::with_template("{bar:32} {human_pos}/{human_len} points, about {eta} left")
    {
        bar.set_style(style);
    }
    bar
}
