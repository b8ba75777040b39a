//! `propose`: what files say of a site beyond its heights; `accept`: what of it a scene takes.

use std::{
    path::{Path, PathBuf},
    sync::atomic::Ordering,
};

use clap::{Args, ValueEnum};
use tumblewood::{
    proposed::{
        self, Base, Proposals, Up,
        accept::{AcceptError, Accepted, Proposed, Take},
        footprint, mesh,
    },
    quantity::{Azimuth, Quantity as _},
    report::{plan, text},
    scene,
    terrain::{intake::Wanted, system::Told},
};

use super::{
    Failure,
    output::{Folder, new_file},
    progress::stop_flag,
    say::say,
    terrain::{UnitArg, bar, length, wrong},
};

#[derive(Debug, Args)]
pub(super) struct ProposeArgs {
    /// Point clouds (.las, .laz, .copc.laz), footprints (.geojson, .json) and meshes (.obj, .glb,
    /// .gltf), in any mixture.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// The ground, as tumblewood terrain wrote it.
    #[arg(long, value_name = "GEOTIFF")]
    terrain: PathBuf,
    /// The coordinate system of files that don't name theirs, as EPSG:2994; "none" for metres that
    /// lie nowhere on earth, as their ground.
    #[arg(long, value_name = "EPSG:N|none")]
    crs: Option<Told>,
    /// The unit of heights of clouds, and of OBJ files, that don't name theirs.
    #[arg(long, value_enum)]
    heights_in: Option<UnitArg>,
    /// Eaves of footprints without a height of their own.
    #[arg(long, value_parser = length)]
    height: Option<f64>,
    /// Ridge of such footprints; flat if left out.
    #[arg(long, value_parser = length, requires = "height")]
    roof: Option<f64>,
    /// Where the origin of meshes goes: "X,Y" in the ground's coordinates, or "latitude,longitude";
    /// in the ground's own coordinates if left out.
    #[arg(long, allow_hyphen_values = true, value_name = "X,Y|LAT,LON")]
    at: Option<String>,
    /// To which azimuth of the grid a mesh's ahead (y of z up, −z of y up) points.
    #[arg(long, value_parser = azimuth, requires = "at", default_value = "0 deg")]
    turn: f64,
    /// Which axis of an OBJ file is up.
    #[arg(long, value_enum)]
    up: Option<UpArg>,
    /// The file of proposals to write, .ron.
    #[arg(long)]
    to: PathBuf,
    /// Folder for a plan of what is proposed.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Replace a file that is there.
    #[arg(long)]
    force: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum UpArg {
    /// y up.
    Y,
    /// z up.
    Z,
}

fn azimuth(text: &str) -> Result<f64, String> {
    let azimuth: Azimuth = text.parse().map_err(|e| format!("{e}"))?;
    Ok(azimuth.si())
}

pub(super) fn propose(args: &ProposeArgs) -> Result<(), Failure> {
    new_file(&args.to, &["ron"], args.force)?;
    let mut folder = args.out.as_deref().map(Folder::make).transpose()?;
    let base = Base::open(&args.terrain).map_err(|e| wrong(&e))?;
    let found = find(args, &base)?;
    scene::write(&args.to, proposed::write::ron(&base, &found).as_bytes(), args.force)?;
    if let Some(folder) = &mut folder {
        let name = args.to.file_stem().and_then(|s| s.to_str()).unwrap_or("proposed");
        let title = format!(
            "Proposed on {}",
            args.terrain.file_name().map(|n| n.to_string_lossy()).unwrap_or_default()
        );
        folder.picture(name, &plan::proposed(&base, &found, &title))?;
        folder.tell();
    }
    let to = args.to.display();
    say(&format!(
        "Wrote {to}\n{}\nNext: tumblewood new my-job.ron --terrain {} --with {to} --take ID,ID\n",
        text::proposed(&found),
        args.terrain.display()
    ))
}

fn find(args: &ProposeArgs, base: &Base) -> Result<Proposals, Failure> {
    let mut found = Proposals::default();
    let mut clouds = Vec::new();
    let unit = args.heights_in.map(UnitArg::unit);
    for file in &args.files {
        let ending = file.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
        let more = match ending.as_str() {
            "las" | "laz" => {
                clouds.push(file.clone());
                continue;
            }
            "geojson" | "json" => {
                let epsg = match args.crs {
                    Some(Told::Epsg(code)) => Some(code),
                    // Footprints without a system are degrees, by their standard, on such ground.
                    Some(Told::Nowhere) if base.system.on_earth => {
                        return Err(Failure::input(format!(
                            "{}: --crs: read none, on ground whose place on earth is known; \
                             allowed: EPSG:N",
                            file.display()
                        )));
                    }
                    Some(Told::Nowhere) | None => None,
                };
                let told = footprint::Told { epsg, wall_m: args.height, roof_m: args.roof };
                footprint::from_footprints(base, file, told)
            }
            "obj" | "glb" | "gltf" => {
                let up = args.up.map(|up| match up {
                    UpArg::Y => Up::Y,
                    UpArg::Z => Up::Z,
                });
                let put = proposed::Put { at: args.at.clone(), turn_rad: args.turn };
                mesh::from_mesh(base, file, mesh::Told { up, unit }, &put)
            }
            _ => {
                return Err(Failure::input(format!(
                    "{}: file: read the ending {ending:?}; allowed: .las, .laz or .copc.laz \
                     (points), .geojson or .json (footprints), .obj, .glb or .gltf (meshes)",
                    file.display()
                )));
            }
        };
        found.join(more.map_err(|e| wrong(&e))?);
    }
    if !clouds.is_empty() {
        let wanted = Wanted {
            files: clouds,
            at: None,
            around_m: base.around_m,
            cell_m: None,
            crs: args.crs,
            heights_in: unit,
            find_ground: false,
        };
        let (stop, bar) = (stop_flag(), bar());
        let of_points = proposed::from_points(base, &wanted, &mut |progress| {
            bar.set_length(progress.total);
            bar.set_position(progress.done);
            !stop.load(Ordering::Relaxed)
        });
        bar.finish_and_clear();
        match of_points {
            Ok(more) => found.join(more),
            Err(_) if stop.load(Ordering::Relaxed) => return Err(Failure::Interrupted),
            Err(error) => return Err(wrong(&error)),
        }
    }
    Ok(found)
}

/// The ids that `--take` names; all if it is left out.
pub(super) fn take(ids: &[String]) -> Take {
    if ids.is_empty() { Take::All } else { Take::Ids(ids.to_vec()) }
}

pub(super) fn accept(path: &Path, from: &Path, ids: &[String]) -> Result<(), Failure> {
    let proposed = Proposed::load(from)?;
    let text = scene::read_text(path)?;
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    let name = path.display().to_string();
    let done = proposed.accept(&text, &name, &folder, &take(ids)).map_err(failure)?;
    scene::write(path, done.text.as_bytes(), true)?;
    say(&format!("{}Next: tumblewood check {name}\n", words(&done, &name)))
}

/// What a scene took and what it did not.
pub(super) fn words(done: &Accepted, name: &str) -> String {
    let mut out = match done.taken.as_slice() {
        [] => format!("{name} takes nothing.\n"),
        ids => {
            format!("{name} takes {}, marked as proposed: look at each on site.\n", ids.join(", "))
        }
    };
    for (id, why) in &done.refused {
        out += &format!("It can't take {id}: {why}\n");
    }
    out
}

pub(super) fn failure(error: AcceptError) -> Failure {
    Failure::Input(error.into())
}
