//! What a user types and what comes back: the one place that reads arguments, prints and writes.
//!
//! Exit codes: 0 answered (a piece that sits back is an answer), 1 can't be answered with why,
//! 2 bad input, 130 interrupted with the partial result printed and marked.

mod brief;
mod check;
mod drops;
mod fell;
mod files;
mod limbs;
mod orders;
mod output;
mod practice;
mod progress;
mod propose;
mod say;
mod search;
mod terrain;
mod tune;
mod view;

use std::{
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::{Args, Parser, Subcommand, ValueEnum};
use tumblewood::{
    drop::GroundLaw,
    job::{Job, JobError},
    quantity::{Azimuth, Length, Quantity},
    scene::{self, Scene, SceneError},
};

use say::note;

/// Where a piece of tree goes when it is cut on a steep bank.
///
/// A planning aid, not a clearance: the model has not been compared with dropped logs. Local codes
/// and licensed practice decide.
#[derive(Debug, Parser)]
#[command(name = "tumblewood", version, arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Print what was understood of a scene, and every warning.
    #[command(after_help = "Example:\n  tumblewood check scenes/lake-oak.ron")]
    Check {
        /// The scene file.
        scene: PathBuf,
    },
    /// Write a commented starter scene that runs as it stands, or a file to note what happens in.
    #[command(
        after_help = "Example:\n  tumblewood new my-job.ron\n  tumblewood new my-job.ron --terrain ground.tif\n  tumblewood new --notes my-job.happened.ron --for my-job.ron"
    )]
    New {
        /// The scene file to write.
        #[arg(required_unless_present = "notes")]
        file: Option<PathBuf>,
        /// Lay the scene on the ground of this GeoTIFF, as tumblewood terrain writes it.
        #[arg(long, conflicts_with = "notes", value_name = "GEOTIFF")]
        terrain: Option<PathBuf>,
        /// Put what is proposed in this file into it, as tumblewood propose writes it.
        #[arg(long, requires = "terrain", value_name = "PROPOSALS")]
        with: Option<PathBuf>,
        /// Ids of the proposals that are taken, as a,b,c; all that fit if left out.
        #[arg(long, requires = "with", value_delimiter = ',', value_name = "IDS")]
        take: Vec<String>,
        /// Write a commented file for notes of what happened with each cut instead.
        #[arg(long, requires = "for_scene", conflicts_with = "file")]
        notes: Option<PathBuf>,
        /// The scene that the notes are for.
        #[arg(long = "for", requires = "notes", value_name = "SCENE")]
        for_scene: Option<PathBuf>,
        /// Replace a file that is there.
        #[arg(long)]
        force: bool,
    },
    /// Pack a scene and the terrain it names into one file.
    #[command(
        after_help = "Example:\n  tumblewood bundle scenes/lidar-slope.ron --to lidar-slope-packed.ron"
    )]
    Bundle {
        /// The scene file.
        scene: PathBuf,
        /// The file to write.
        #[arg(long)]
        to: PathBuf,
        /// Replace a file that is there.
        #[arg(long)]
        force: bool,
    },
    /// Follow one drop and show it as a table and a filmstrip.
    #[command(
        after_help = "Example:\n  tumblewood drop scenes/lake-oak.ron --cut s3 --drop 7 --out out"
    )]
    Drop {
        /// The scene file.
        scene: PathBuf,
        /// The cut's id.
        #[arg(long)]
        cut: String,
        /// Which drop of the forecast, from 0.
        #[arg(long)]
        drop: u32,
        #[command(flatten)]
        run: RunArgs,
        /// Folder for the filmstrip.
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Drop every piece many times under the stated doubt and count.
    #[command(
        after_help = "Example:\n  tumblewood forecast scenes/lake-oak.ron --cut s3 --out out"
    )]
    Forecast {
        /// The scene file.
        scene: PathBuf,
        /// One cut's id; all cuts if left out.
        #[arg(long)]
        cut: Option<String>,
        /// Drops of each cut on the ground as told.
        #[arg(long, default_value_t = 500, value_parser = clap::value_parser!(u32).range(1..=100_000))]
        drops: u32,
        #[command(flatten)]
        run: RunArgs,
        #[command(flatten)]
        how: HowArgs,
    },
    /// Work out what stands above a cut, what its hinge holds and what pull brings it over.
    #[command(
        after_help = "Examples:\n  tumblewood fell scenes/mill-ash.ron --cut stem --out out\n  tumblewood fell scenes/mill-ash.ron --cut stem --reach --out out"
    )]
    Fell {
        /// The scene file.
        scene: PathBuf,
        /// The cut's id.
        #[arg(long)]
        cut: String,
        /// Map which way it can reach instead: laid down and dropped on every azimuth, as it is cut
        /// and with all on it that stands before any cut.
        #[arg(long)]
        reach: bool,
        /// Drops on each azimuth of the map.
        #[arg(long, requires = "reach", default_value_t = tumblewood::forecast::reach_map::DROPS, value_parser = clap::value_parser!(u32).range(1..=10_000))]
        drops: u32,
        #[command(flatten)]
        run: RunArgs,
        /// Threads; all cores if left out.
        #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
        threads: Option<u16>,
        /// Print JSON for a machine in place of words.
        #[arg(long)]
        json: bool,
        /// Folder for the text, the JSON and the curve of the pull, or the plan of the map.
        #[arg(long)]
        out: Option<PathBuf>,
    },
    /// Write the page a crew is handed: plan, cuts, where no one stands, when to stop.
    #[command(
        after_help = "Example:\n  tumblewood brief scenes/lake-oak.ron --to brief.html --to brief.pdf"
    )]
    Brief {
        /// The scene file.
        scene: PathBuf,
        #[command(flatten)]
        args: BriefArgs,
        #[command(flatten)]
        run: RunArgs,
    },
    /// Say what notes of what happened tell about the ground, and about the cuts still to come.
    #[command(after_help = "Example:\n  tumblewood tune my-job.ron --notes my-job.happened.ron")]
    Tune {
        /// The scene file.
        scene: PathBuf,
        /// The notes, as tumblewood new --notes begins them.
        #[arg(long)]
        notes: PathBuf,
        /// Grounds drawn from those that fit the scene.
        #[arg(long, default_value_t = 200, value_parser = clap::value_parser!(u32).range(10..=100_000))]
        draws: u32,
        /// Drops of each cut on each ground.
        #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u32).range(2..=10_000))]
        drops: u32,
        #[command(flatten)]
        run: RunArgs,
        /// Threads; all cores if left out.
        #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
        threads: Option<u16>,
        /// Print JSON for a machine in place of words.
        #[arg(long)]
        json: bool,
    },
    /// Take a lesson: say what you think will happen, then see what does and how often.
    #[command(
        after_help = "Examples:\n  tumblewood practice scenes/lessons/course.ron\n  tumblewood practice scenes/lessons/course.ron --lesson 3\n  tumblewood practice --scores --out out"
    )]
    Practice(practice::PracticeArgs),
    /// Take the ground about a place out of rasters, point clouds or surveyed points.
    #[command(
        after_help = "Example:\n  tumblewood terrain hill.laz --at 44.057,-123.069 --around 100m --to ground.tif"
    )]
    Terrain(terrain::TerrainArgs),
    /// Propose roughness, steps, buildings and trees from points, footprints or meshes, to be looked
    /// at on site and taken or left.
    #[command(
        after_help = "Examples:\n  tumblewood propose hill.laz --terrain ground.tif --to proposed.ron --out out\n  tumblewood propose house.geojson --height 5m --terrain ground.tif --to house.ron"
    )]
    Propose(propose::ProposeArgs),
    /// Put proposals into a scene, each marked as proposed.
    #[command(
        after_help = "Example:\n  tumblewood accept my-job.ron proposed.ron --take building-1,tree-2"
    )]
    Accept {
        /// The scene file, which is changed.
        scene: PathBuf,
        /// The file of proposals.
        proposals: PathBuf,
        /// Ids of those that are taken, as a,b,c; all that fit if left out.
        #[arg(long, value_delimiter = ',', value_name = "IDS")]
        take: Vec<String>,
    },
    /// Show the hillside in a window: move things, replay drops, see what reaches.
    #[command(after_help = "Example:\n  tumblewood view scenes/lake-oak.ron")]
    View {
        /// The scene file; the page of saved scenes if left out.
        scene: Option<PathBuf>,
    },
    /// Compare lengths, and faces if given, of one cut; or orders of the cuts.
    #[command(
        after_help = "Example:\n  tumblewood compare scenes/lake-oak.ron --cut s3 --lengths 4ft..16ft:4ft --faces 205deg,295deg\n  tumblewood compare scenes/garden-maple.ron --order snag-off,west-off,top --order west-off,snag-off,top\n  tumblewood compare scenes/lake-oak.ron --cut s3 --lengths 4ft..16ft --faces 180deg..250deg --search 30000"
    )]
    Compare {
        /// The scene file.
        scene: PathBuf,
        /// The cut's id.
        #[arg(long, required_unless_present = "order")]
        cut: Option<String>,
        /// One order of the cuts, as a,b,c; give it once for each order. Every order has the same
        /// cuts: all of them, or those that are to be made.
        #[arg(long, value_name = "IDS", conflicts_with_all = ["cut", "lengths", "faces"])]
        order: Vec<String>,
        /// Lengths, as 4ft..16ft:2ft or 4ft,6ft,9ft; the top stays, the cut moves. What is pushed
        /// above the top of a shorter piece is pushed at its top.
        #[arg(long, value_parser = lengths, required_unless_present = "order")]
        lengths: Option<Values>,
        /// Azimuths of the face, as 180deg,210deg; the scene's own if left out.
        #[arg(long, value_parser = faces)]
        faces: Option<Values>,
        /// Search between two lengths (--lengths 4ft..16ft), and two faces if given, with so many
        /// drops in all: coarse over the whole box, finer where least reaches over all grounds. It
        /// shows all that it tried and singles none out.
        #[arg(long, value_name = "DROPS", conflicts_with = "order")]
        search: Option<u32>,
        /// Drops of each cell on the ground as told.
        #[arg(long, default_value_t = tumblewood::forecast::compare::DROPS, value_parser = clap::value_parser!(u32).range(1..=100_000))]
        drops: u32,
        #[command(flatten)]
        run: RunArgs,
        #[command(flatten)]
        how: HowArgs,
    },
}

#[derive(Debug, Args)]
struct RunArgs {
    /// Seed of all draws: same seed, same answer.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// What the ground is: the soil law, or a rigid surface as a second opinion.
    #[arg(long, value_enum, default_value_t = GroundArg::Soil)]
    ground: GroundArg,
}

#[derive(Debug, Args)]
struct HowArgs {
    /// Grounds drawn from those that fit the notes.
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    grounds: u32,
    /// Threads; all cores if left out.
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Print JSON for a machine in place of words.
    #[arg(long)]
    json: bool,
    /// Folder for pictures and tables.
    #[arg(long)]
    out: Option<PathBuf>,
}

#[derive(Debug, Args)]
struct BriefArgs {
    /// The file to write, .html or .pdf; give it twice for both.
    #[arg(long, required_unless_present = "check")]
    to: Vec<PathBuf>,
    /// Say whether this brief still fits the scene, and write nothing.
    #[arg(long, conflicts_with_all = ["to", "paper", "force"])]
    check: Option<PathBuf>,
    /// Paper of a PDF; Letter for scenes in feet, A4 for scenes in metres.
    #[arg(long, value_enum)]
    paper: Option<PaperArg>,
    /// Replace a file that is there.
    #[arg(long)]
    force: bool,
    /// Drops of each cut on the ground as told.
    #[arg(long, default_value_t = 500, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    drops: u32,
    /// Grounds drawn from those that fit the notes.
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    grounds: u32,
    /// Threads; all cores if left out.
    #[arg(long, value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum PaperArg {
    A4,
    Letter,
}

impl From<PaperArg> for tumblewood::report::brief::Paper {
    fn from(paper: PaperArg) -> Self {
        match paper {
            PaperArg::A4 => Self::A4,
            PaperArg::Letter => Self::Letter,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum GroundArg {
    Soil,
    Rigid,
}

impl GroundArg {
    fn law(self) -> GroundLaw {
        match self {
            Self::Soil => GroundLaw::Soil,
            Self::Rigid => GroundLaw::Rigid,
        }
    }
}

/// Values of one flag that gives several.
#[derive(Clone, Debug)]
enum Values {
    /// Each of them.
    Each(Vec<f64>),
    /// All between two, for a search.
    Between([f64; 2], String),
}

impl Values {
    /// Each value, where a range needs a step.
    fn each(self, flag: &str) -> Result<Vec<f64>, Failure> {
        match self {
            Self::Each(values) => Ok(values),
            Self::Between(_, text) => Err(Failure::input(format!(
                "{flag}: read {text}, a range without a step; allowed: first..last:step, values \
                 with commas, or --search N to search between the two"
            ))),
        }
    }

    /// Both ends, where a search has no steps.
    fn between(self, flag: &str) -> Result<[f64; 2], Failure> {
        match self {
            Self::Between(ends, _) => Ok(ends),
            Self::Each(values) => Err(Failure::input(format!(
                "{flag}: read {} value(s); allowed with --search: least..greatest, as 4ft..16ft",
                values.len()
            ))),
        }
    }
}

fn lengths(text: &str) -> Result<Values, String> {
    values::<Length>(text, |m| m > 0.0, "lengths above zero")
}

fn faces(text: &str) -> Result<Values, String> {
    values::<Azimuth>(text, |_| true, "")
}

fn values<Q: Quantity>(
    text: &str,
    fits: impl Fn(f64) -> bool,
    allowed: &str,
) -> Result<Values, String> {
    let read = |text: &str| -> Result<Vec<f64>, String> {
        let values = tumblewood::quantity::series::<Q>(text).map_err(|e| e.to_string())?;
        let values: Vec<f64> = values.into_iter().map(Quantity::si).collect();
        let all_fit = values.iter().all(|v| fits(*v));
        if all_fit { Ok(values) } else { Err(format!("read {text}; allowed: {allowed}")) }
    };
    if let Some((first, last)) = text.split_once("..").filter(|(_, last)| !last.contains(':')) {
        let (Some(low), Some(high)) = (read(first)?.pop(), read(last)?.pop()) else {
            return Err(format!("read {text}; allowed: least..greatest"));
        };
        if high <= low {
            return Err(format!("read {text}, which runs backwards; allowed: least..greatest"));
        }
        return Ok(Values::Between([low, high], text.to_owned()));
    }
    let values = read(text)?;
    let again = values.iter().enumerate().any(|(i, v)| values.iter().take(i).any(|w| w == v));
    if again {
        Err(format!("read {text}; allowed: each value once"))
    } else {
        Ok(Values::Each(values))
    }
}

/// Why a command ended without its answer.
#[derive(Debug)]
enum Failure {
    /// Exit 2: something the user gave.
    Input(miette::Report),
    /// Exit 1: nothing is wrong with the input, but it can't be answered.
    CantAnswer(String),
    /// Another program has said why; with its exit code.
    Said(u8),
    /// Exit 130: stopped by the user; what there is has been printed.
    Interrupted,
}

impl From<SceneError> for Failure {
    fn from(error: SceneError) -> Self {
        Self::Input(error.into())
    }
}

impl From<JobError> for Failure {
    fn from(error: JobError) -> Self {
        Self::Input(error.into())
    }
}

impl Failure {
    fn input(text: impl Into<String>) -> Self {
        Self::Input(miette::Report::msg(text.into()))
    }
}

pub(crate) fn main() -> ExitCode {
    say::plain_errors();
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            // clap's own codes: 0 for help and version, 2 for everything else.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    match run(cli.command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(Failure::Input(report)) => {
            note(&format!("{report:?}"));
            ExitCode::from(2)
        }
        Err(Failure::CantAnswer(why)) => {
            note(&format!("can't be answered: {why}"));
            ExitCode::from(1)
        }
        Err(Failure::Said(code)) => ExitCode::from(code),
        Err(Failure::Interrupted) => {
            note("Stopped before the end; the folder of --out, if any, is not complete.");
            ExitCode::from(130)
        }
    }
}

fn run(command: Command) -> Result<(), Failure> {
    match command {
        Command::Check { scene } => check::check(&load(&scene)?),
        Command::New { file: Some(file), terrain: Some(ground), with, take, force, .. } => {
            let with = with.as_deref().map(|with| (with, propose::take(&take)));
            files::new_on(&file, &ground, with, force)
        }
        Command::New { file: Some(file), force, .. } => files::new(&file, force),
        Command::New { notes: Some(notes), for_scene: Some(scene), force, .. } => {
            files::new_notes(&notes, &load(&scene)?, &scene, force)
        }
        Command::New { .. } => Err(Failure::input("FILE: read nothing; allowed: a file to write")),
        Command::Bundle { scene, to, force } => files::bundle(&scene, &to, force),
        Command::Drop { scene, cut, drop, run, out } => {
            drops::drop(&load(&scene)?, &cut, drop, &run, out.as_deref())
        }
        Command::Forecast { scene, cut, drops, run, how } => {
            drops::forecast(&load(&scene)?, cut.as_deref(), drops, &run, &how)
        }
        Command::Fell { scene, cut, reach: true, drops, run, threads, json, out } => {
            fell::reach(&load(&scene)?, &cut, drops, &run, threads, json, out.as_deref())
        }
        Command::Fell { scene, cut, run, json, out, .. } => {
            fell::fell(&load(&scene)?, &cut, run.seed, json, out.as_deref())
        }
        Command::Brief { scene, args, run } => brief::brief(&scene, &args, &run),
        Command::Tune { scene, notes, draws, drops, run, threads, json } => {
            tune::tune(&load(&scene)?, &notes, [draws, drops], &run, threads, json)
        }
        Command::Practice(args) => practice::practice(&args),
        Command::Terrain(args) => terrain::terrain(args),
        Command::Propose(args) => propose::propose(&args),
        Command::Accept { scene, proposals, take } => propose::accept(&scene, &proposals, &take),
        Command::View { scene } => view::view(scene.as_deref()),
        Command::Compare {
            scene,
            cut: Some(cut),
            lengths: Some(lengths),
            faces,
            search: Some(search),
            drops,
            run,
            how,
            ..
        } => {
            let faces = faces.map(|faces| faces.between("--faces")).transpose()?;
            let lengths = lengths.between("--lengths")?;
            search::search(&load(&scene)?, &cut, (lengths, faces, search), drops, &run, &how)
        }
        Command::Compare {
            scene,
            cut: Some(cut),
            lengths: Some(lengths),
            faces,
            drops,
            run,
            how,
            ..
        } => {
            let faces = faces.map_or(Ok(Vec::new()), |faces| faces.each("--faces"))?;
            let lengths = lengths.each("--lengths")?;
            drops::compare(&load(&scene)?, &cut, lengths, faces, drops, &run, &how)
        }
        Command::Compare { scene, order, drops, run, how, .. } => {
            orders::compare(&load(&scene)?, &order, drops, &run, &how)
        }
    }
}

fn load(path: &Path) -> Result<Job, Failure> {
    let scene: Scene = scene::load(path)?;
    Ok(Job::load(scene)?)
}

/// Index of a cut by its id.
fn cut_index(job: &Job, id: &str) -> Result<usize, Failure> {
    let ids: Vec<&str> = job.scene.cuts.iter().map(|c| c.id.as_str()).collect();
    ids.iter().position(|c| *c == id).ok_or_else(|| {
        Failure::input(format!(
            "{}: --cut: no such cut; read {id}; allowed: {}",
            job.scene.source.name,
            ids.join(", ")
        ))
    })
}
