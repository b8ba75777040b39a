//! Invented jobs with a truth behind them: what the bank, the tree and the cut are, what somebody
//! noted of them, and what a drop does on the true ones.
//!
//! Everything about a job follows from its number. Nothing of the truth goes through the program's
//! own drawing: numbers, ground, wood and lean are drawn here, from the limits that the scene's
//! words stand for. What is done with the numbers then (terrain, piece, release, drop) is the
//! program's, as are the limits of ground words, how ground lies off a survey between its stations,
//! and the scatter from drop to drop.

mod notes;

use std::{collections::BTreeMap, f64::consts::TAU, sync::Arc};

use glam::DVec3;
use tumblewood::{
    drop::{GroundLaw, Setup, drop},
    ground::{
        Cover, Ground, GroundWords, Heel, SoilWord, Strength, Thumb, TopLayer, Undergrowth, Wetness,
    },
    job::{Job, Outer, World},
    keyed::Key,
    outcome::{Outcome, judge},
    release::{Release, Scatter, release},
    scene::{
        self, MapFrame, Scene,
        doubt::{Doubtful, How},
        model,
        places::transects,
    },
    terrain::{between::Between, transects::stations},
    tree::Lean,
};

use notes::{DEGREE, METRE, METRE_PER_SECOND, NEWTON, Note, Notes, PERCENT};

/// One invented job.
#[derive(Debug)]
pub struct Invented {
    /// The job as noted.
    pub job: Job,
    /// Every true input by path, SI.
    pub truths: BTreeMap<String, f64>,
    /// The true words for the ground, where the notes have them or leave them open.
    pub words: GroundWords,
    exact: Scene,
    key: Key,
}

/// How the truth of a job may differ from what its forecast takes for granted.
#[derive(Clone, Copy, Debug)]
pub struct Other {
    /// What differs.
    pub name: &'static str,
    /// What the ground is.
    pub law: GroundLaw,
    /// The words that are true instead; `None` where that makes no other truth of this job.
    pub words: fn(&Invented) -> Option<GroundWords>,
    /// What is done to the ground drawn from them.
    pub ground: fn(&mut Ground, Key),
    /// Numbers are as far off as if all had been told by eye.
    pub eyed: bool,
}

impl Other {
    /// The law and the doubts that the forecast has too.
    pub const NONE: Self = Self {
        name: "none: the forecast's own law",
        law: GroundLaw::Soil,
        words: |job| Some(job.words),
        ground: |_, _| {},
        eyed: false,
    };
}

impl Invented {
    /// The job with this number, of the jobs of one seed: the first of its draws whose piece leaves
    /// by its notes, because nobody makes a cut that will sit back. That too picks by notes alone.
    ///
    /// # Panics
    ///
    /// Where the program refuses the scene: these are meant to be valid.
    #[must_use]
    pub fn new(seed: u64, number: u64) -> Self {
        let key = Key::root(seed).word("invented").number(number);
        let mut draws = (0..).map(|i| Self::drawn(number, key.number(i)));
        draws.find(Self::leaves_as_noted).expect("endless draws")
    }

    fn leaves_as_noted(&self) -> bool {
        let cut = self.job.world(Outer::Told).and_then(|world| world.cut(0)).expect("as told");
        let released = release(&cut.stand(), &cut.method, &Scatter::default());
        matches!(released, Release::Left(_))
    }

    fn drawn(number: u64, key: Key) -> Self {
        let mut notes = Notes::new(key);
        let text = written(number, &mut notes);
        let told = scene::parse(&text, "invented").unwrap_or_else(|e| panic!("{e}\n{text}"));
        let exact = told.realise(&mut |path, _| match notes.truths.get(path) {
            Some(truth) => *truth,
            None => panic!("job {number}: nothing true is known of {path}"),
        });
        let words = settled(&tumblewood::job::words(&exact.site.ground), &mut notes);
        let ground = ground(&words, &exact.site.ground, &mut notes);
        let job = Job::load(told).unwrap_or_else(|e| panic!("{e}\n{text}"));
        let mut invented = Self { job, truths: BTreeMap::new(), words, exact, key };
        if matches!(invented.exact.tree.lean, model::Lean::Upright(_)) {
            notes.unseen("tree.lean.upright.toward_rad", [0.0, TAU]);
        }
        let density = notes.unseen("tree.density", [0.9, 1.1]);
        let world = invented.job.world(Outer::Told).expect("as told");
        let (_, between_m) = invented.true_world(invented.exact.clone());
        notes.truths.insert("site.terrain.between_m".into(), between_m);
        notes.truths.insert("tree.density".into(), density * world.stem.density_kg_m3);
        if matches!(invented.words.wetness, Wetness::Damp | Wetness::DontKnow) {
            let capped = f64::from(u8::from(ground.adhesion.is_some()));
            notes.truths.insert("site.ground.traction_capped".into(), capped);
        }
        invented.truths = notes.truths;
        invented
    }

    /// The world of exact numbers, with the ground between its stations that no note tells, and the
    /// mean of what that lies off the surveyed surface, m. It is of the kind that forecasts draw,
    /// about the true stations, from a key of its own.
    fn true_world(&self, scene: Scene) -> (World, f64) {
        let tapes = transects(&scene.site, &MapFrame::default());
        let stations = stations(&tapes, DVec3::ZERO).expect("a survey").concat();
        let between = Between::new(&stations).expect("stations enough");
        let mut world = self.job.with_scene(scene).world(Outer::Told).expect("a true world");
        let terrain = Arc::make_mut(&mut world.site.terrain);
        let mean_m = between.add(Arc::make_mut(&mut terrain.grid), self.key.word("between"));
        (world, mean_m)
    }

    /// The true drop where the truth differs so; `None` where it makes no other truth, and within,
    /// `None` for a piece that sits back.
    #[must_use]
    pub fn drop_once(&self, other: &Other) -> Option<Option<Outcome>> {
        let words = (other.words)(self)?;
        let scene = if other.eyed { self.eyed() } else { self.exact.clone() };
        let mut notes = Notes::new(self.key);
        let mut ground = ground(&words, &scene.site.ground, &mut notes);
        (other.ground)(&mut ground, self.key.word("other"));
        let (mut world, _) = self.true_world(scene);
        world.site.ground = ground;
        world.stem.density_kg_m3 = self.truths["tree.density"];
        if let Some(toward) = self.truths.get("tree.lean.upright.toward_rad") {
            world.stem.lean = Lean { azimuth_rad: *toward, ..world.stem.lean };
        }
        let cut = world.cut(0).expect("the cut");
        let inner = self.key.word("inner");
        let (stand, method, scatter) = cut.scatter(inner);
        Some(match release(&stand, &method, &scatter) {
            Release::SitsBack { .. } => None,
            Release::Left(launch) => {
                let setup = Setup::new(&cut.site, other.law);
                let bumps = inner.word("bumps");
                let track = drop(&setup, &cut.section.piece, &launch, bumps, f64::INFINITY);
                Some(judge(&track, &cut.site))
            }
        })
    }

    /// Truths as far from the notes as if every number in doubt had been told by eye.
    fn eyed(&self) -> Scene {
        self.job.scene.realise(&mut |path, number| {
            let how = number.spread.how;
            if !matches!(how, How::Measured | How::Paced) {
                return self.truths[path];
            }
            let told = number.told;
            let by_eye = if path.ends_with("_rad") {
                Doubtful::angle(told, How::Eyed)
            } else {
                Doubtful::relative(told, How::Eyed)
            };
            by_eye.at(self.key.word("eyed").word(path).uniform())
        })
    }
}

/// The scene file, and the truths behind it in `notes`.
fn written(number: u64, notes: &mut Notes) -> String {
    let site = site(notes);
    let ground = ground_text(notes);
    let tree = tree(notes);
    let cut = cut(notes);
    format!(
        "(\n    version: 1,\n    name: \"Invented {number}\",\n    invented: true,\n    \
         units: Metric,\n    site: ({site},\n    ground: ({ground})),\n    tree: ({tree}),\n    \
         climber: Away,\n    climber_line: Away,\n    cuts: [({cut})],\n)\n"
    )
}

/// A line of a survey: id, whence, azimuth and its legs' lengths and slopes.
struct Line {
    id: &'static str,
    from: &'static str,
    azimuth_deg: [f64; 2],
    legs: &'static [([f64; 2], [f64; 2])],
}

/// A bank that falls away to the south and ends in a gentle foot; along it, near the stump.
const BANK: [Line; 2] = [
    Line {
        id: "down",
        from: "",
        azimuth_deg: [150.0, 210.0],
        legs: &[
            ([4.0, 12.0], [-44.0, -12.0]),
            ([12.0, 32.0], [-44.0, -12.0]),
            ([20.0, 50.0], [-16.0, 12.0]),
        ],
    },
    Line {
        id: "east",
        from: "",
        azimuth_deg: [60.0, 120.0],
        legs: &[([6.0, 15.0], [-12.0, 12.0]), ([8.0, 20.0], [-12.0, 12.0])],
    },
];

/// Along the foot of the bank, for half of the jobs.
const FOOT: Line = Line {
    id: "foot",
    from: "from: \"down:2\", ",
    azimuth_deg: [240.0, 300.0],
    legs: &[([6.0, 15.0], [-12.0, 12.0]), ([8.0, 20.0], [-12.0, 12.0])],
};

fn site(notes: &mut Notes) -> String {
    let foot = notes.pick("foot", &[true, false]).then_some(FOOT);
    let lines: Vec<String> = BANK
        .iter()
        .chain(&foot)
        .map(|Line { id, from, azimuth_deg, legs }| {
            let path = format!("site.transects.{id}");
            let azimuth = notes.number(&format!("{path}.azimuth_rad"), DEGREE, *azimuth_deg);
            let legs: Vec<String> = (1..)
                .zip(*legs)
                .map(|(n, (length, slope))| {
                    let path = format!("{path}.{n}");
                    let length = notes.number(&format!("{path}.slope_distance_m"), METRE, *length);
                    let slope = notes.number(&format!("{path}.inclination_rad"), DEGREE, *slope);
                    format!("({length}, {slope})")
                })
                .collect();
            format!("(id: \"{id}\", {from}azimuth: {azimuth}, legs: [{}])", legs.join(", "))
        })
        .collect();
    let wind = if notes.pick("wind", &[true, false]) {
        let speed = notes.number("site.wind.speed_m_s", METRE_PER_SECOND, [1.0, 5.0]);
        let gust = notes.number("site.wind.gust_m_s", METRE_PER_SECOND, [5.5, 14.0]);
        let from = notes.number("site.wind.from_rad", DEGREE, [0.0, 360.0]);
        format!(", wind: (speed: {speed}, gust: {gust}, from: {from})")
    } else {
        String::new()
    };
    format!("terrain: Transects(lines: [{}]){wind}", lines.join(", "))
}

const SOILS: [&str; 13] = [
    "FistEasily",
    "ThumbEasily",
    "ThumbEasily",
    "ThumbWithEffort",
    "ThumbWithEffort",
    "ThumbIndents",
    "ThumbIndents",
    "Thumbnail",
    "HeelOneCm",
    "HeelThreeCm",
    "Gravel",
    "DontKnow",
    "DontKnow",
];

/// Mostly told, so that there are jobs enough whose traction turns out otherwise.
const WETNESS: [&str; 10] =
    ["Dry", "Dry", "Dry", "Dry", "Wet", "Wet", "Wet", "Wet", "Damp", "DontKnow"];

fn ground_text(notes: &mut Notes) -> String {
    let soil = notes.pick("soil", &SOILS);
    let cover = match notes.pick("cover", &["Litter", "Litter", "Turf", "Bare", "DontKnow"]) {
        "Litter" if notes.pick("felt", &[false, true, true, true]) => {
            format!("Litter({})", notes.number("site.ground.litter_m", METRE, [0.02, 0.12]))
        }
        "Litter" => {
            // Litter that nobody put a finger in: 2 to 12 cm by the scene's documentation.
            notes.unseen("site.ground.litter_m", [0.02, 0.12]);
            "Litter(DontKnow)".to_owned()
        }
        "Turf" => format!("Turf({})", notes.number("site.ground.turf_m", METRE, [0.01, 0.06])),
        word => word.to_owned(),
    };
    let roughness = match notes.pick("roughness", &["Lawn", "Ankle", "Ankle", "Bumps", "DontKnow"])
    {
        "Bumps" => {
            format!("Bumps({})", notes.number("site.ground.roughness_m", METRE, [0.03, 0.2]))
        }
        word => word.to_owned(),
    };
    let wetness = notes.pick("wet", &WETNESS);
    let mut text =
        format!("soil: {soil}, cover: {cover}, roughness: {roughness}, wetness: {wetness}");
    if notes.pick("undergrowth", &[true, false, false, false]) {
        let path = "site.ground.undergrowth";
        let spacing = notes.number(&format!("{path}.spacing_m"), METRE, [0.5, 3.0]);
        let thickness = notes.number(&format!("{path}.thickness_m"), METRE, [0.01, 0.05]);
        let height = notes.number(&format!("{path}.height_m"), METRE, [0.5, 3.0]);
        text += &format!(
            ", undergrowth: (spacing: {spacing}, thickness: {thickness}, height: {height})"
        );
    }
    if notes.pick("hard", &[true, false, false, false]) {
        let depth = notes.number("site.ground.hard_at_m", METRE, [0.1, 1.0]);
        text += &format!(", hard_at: {depth}");
    }
    text
}

fn tree(notes: &mut Notes) -> String {
    let species = notes.pick(
        "species",
        &["White oak", "Sugar maple", "American beech", "Eastern white pine", "Eastern hemlock"],
    );
    let dbh = notes.number("tree.dbh_m", METRE, [0.25, 0.6]);
    let height = notes.number("tree.height_m", METRE, [16.0, 30.0]);
    let mut text = format!("species: \"{species}\", dbh: {dbh}, height: {height}");
    if notes.pick("diameters", &[true, false]) {
        let mut at = |n: usize, height: [f64; 2], diameter: [f64; 2]| {
            let path = format!("tree.diameters.{n}");
            let height = notes.number(&format!("{path}.height_m"), METRE, height);
            let diameter = notes.number(&format!("{path}.diameter_m"), METRE, diameter);
            format!("({height}, {diameter})")
        };
        let low = at(1, [1.5, 3.5], [0.3, 0.6]);
        let high = at(2, [7.0, 12.0], [0.2, 0.4]);
        text += &format!(", diameters: [{low}, {high}]");
    }
    let lean = match notes.pick("lean", &["Upright", "Plumb", "Angle"]) {
        "Plumb" => {
            let offset = notes.number("tree.lean.offset_m", METRE, [0.1, 1.0]);
            let height = notes.number("tree.lean.height_m", METRE, [6.0, 12.0]);
            let toward = notes.number("tree.lean.toward_rad", DEGREE, [90.0, 270.0]);
            format!("Plumb(offset: {offset}, height: {height}, toward: {toward})")
        }
        "Angle" => {
            let angle = notes.number("tree.lean.angle_rad", DEGREE, [0.5, 10.0]);
            let toward = notes.number("tree.lean.toward_rad", DEGREE, [90.0, 270.0]);
            format!("Angle(angle: {angle}, toward: {toward})")
        }
        word => {
            // Within 2° of upright, by the scene's documentation.
            let half = 2_f64.to_radians();
            notes.unseen("tree.lean.angle_rad", [-half, half]);
            word.to_owned()
        }
    };
    format!("{text}, lean: {lean}")
}

fn cut(notes: &mut Notes) -> String {
    let from = notes.note("cuts.cut.piece.from_m", METRE, [4.0, 9.0]);
    // A section is the height of its butt and its length; its top is as sure as its length is.
    let length: Note = notes.note("cuts.cut.piece.length_m", METRE, [0.8, 4.0]);
    let (from_text, to_text) = (from.text(0.0), length.text(from.told));
    let path = "cuts.cut.release";
    let kind = notes.pick("release", &["Hinge", "Snap", "PushOver"]);
    // A hinge takes a rope, the others hands and a pole.
    let force = if kind == "Hinge" { [1500.0, 5000.0] } else { [400.0, 1500.0] };
    let force = notes.number(&format!("{path}.push.force_n"), NEWTON, force);
    let height = notes.number(&format!("{path}.push.height_m"), METRE, [0.3, 0.7]);
    let push = format!("push: (force: {force}, height: {height})");
    let toward = notes.number(&format!("{path}.toward_rad"), DEGREE, [110.0, 250.0]);
    let release = if kind == "Hinge" {
        let opening = notes.number(&format!("{path}.opening_rad"), DEGREE, [45.0, 110.0]);
        let depth = notes.number(&format!("{path}.depth_share"), PERCENT, [15.0, 40.0]);
        let hinge = notes.number(&format!("{path}.hinge_m"), METRE, [0.004, 0.012]);
        format!("Hinge(face: {toward}, opening: {opening}, depth: {depth}, hinge: {hinge}, {push})")
    } else {
        format!("{kind}(toward: {toward}, {push})")
    };
    format!(
        "id: \"cut\", piece: Section(from: {from_text}, to: {to_text}), release: {release}, \
         cutter: OnTheSpar"
    )
}

/// Soil that holds together, weakest first.
pub const THUMBS: [Thumb; 6] = [
    Thumb::FistEasily,
    Thumb::ThumbEasily,
    Thumb::ThumbWithEffort,
    Thumb::ThumbIndents,
    Thumb::Thumbnail,
    Thumb::ThumbnailWithDifficulty,
];
/// Loose ground, firmest first.
pub const HEELS: [Heel; 4] = [Heel::None, Heel::OneCm, Heel::ThreeCm, Heel::OverTheWelt];

/// The true words where none were noted: every soil and every cover as likely.
fn settled(words: &GroundWords, notes: &mut Notes) -> GroundWords {
    let mut words = *words;
    if words.soil == SoilWord::DontKnow {
        let all: Vec<SoilWord> =
            THUMBS.map(SoilWord::Thumb).into_iter().chain(HEELS.map(SoilWord::Heel)).collect();
        words.soil = notes.pick("true soil", &all);
        let loose = matches!(words.soil, SoilWord::Heel(_));
        notes.truths.insert("site.ground.soil.loose".into(), f64::from(u8::from(loose)));
    }
    if words.cover == Cover::DontKnow {
        let all = [Cover::Litter(None), Cover::Turf(None), Cover::Bare];
        words.cover = notes.pick("true cover", &all);
        let bare = words.cover == Cover::Bare;
        notes.truths.insert("site.ground.cover.bare".into(), f64::from(u8::from(bare)));
    }
    words
}

/// A true ground of these words: each number even within its limits, or even in its logarithm
/// where the table says so. What the scene has a number for is that number.
fn ground(words: &GroundWords, spec: &model::GroundSpec, notes: &mut Notes) -> Ground {
    let key = notes.key.word("ground");
    let mut values: BTreeMap<&str, f64> = BTreeMap::new();
    for row in words.ranges() {
        let share = key.word(row.path).uniform();
        let value = if row.low == row.high {
            row.low
        } else if row.log {
            row.low * libm::exp(libm::log(row.high / row.low) * share)
        } else {
            row.low + (row.high - row.low) * share
        };
        values.insert(row.path, value);
        if row.low < row.high {
            notes.truths.insert(format!("site.ground.{}", row.path), value);
        }
    }
    let get = |path: &str| values.get(path).copied();
    let number = |path: &str| get(path).unwrap_or(0.0);
    let density_kg_m3 = number("soil.density");
    let capped = match spec.wetness {
        Wetness::Dry => false,
        Wetness::Wet => true,
        // Half of damp ground limits traction, and half of ground nobody felt.
        Wetness::Damp | Wetness::DontKnow => key.word("capped").uniform() < 0.5,
    };
    Ground {
        top: get("top.thickness").map(|thickness_m| TopLayer {
            thickness_m,
            shear_strength_pa: number("top.shear_strength"),
            friction: number("top.friction"),
        }),
        soil: match get("soil.friction_angle") {
            Some(friction_angle_rad) => Strength::Frictional {
                friction_angle_rad,
                unit_weight_n_m3: density_kg_m3 * tumblewood::GRAVITY_M_S2,
            },
            None => Strength::Cohesive { shear_strength_pa: number("soil.shear_strength") },
        },
        stop_depth_m: get("stop.depth").unwrap_or(f64::INFINITY),
        // Of a stop that isn't there.
        stop_strength_pa: get("stop.shear_strength").unwrap_or(1.6e6),
        rate_factor: number("soil.rate_factor"),
        restitution: number("restitution"),
        friction: number("soil.friction"),
        adhesion: get("soil.adhesion").filter(|_| capped),
        inertial_factor: number("soil.inertial_factor"),
        density_kg_m3,
        side_bearing_deep: number("soil.side_bearing_deep"),
        sideways_share: number("soil.sideways_share"),
        mobilised_at: number("soil.mobilised_at"),
        roughness_m: number("roughness"),
        undergrowth: get("undergrowth.spacing").map(|spacing_m| Undergrowth {
            spacing_m,
            thickness_m: number("undergrowth.thickness"),
            height_m: number("undergrowth.height"),
        }),
    }
}
