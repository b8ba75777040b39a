//! From a scene to sites, stems and cuts ready to simulate, as told or as drawn under doubt.
//!
//! A [`Job`] holds the scene and the terrain file it names, read once. [`Job::world`] makes one
//! world: every doubtful number as told, or drawn by the key (seed, index, input path). A
//! [`World`] makes [`CutReady`]s: the piece on its spar, the release, and the site with the spar,
//! the climber and the line as they are at that cut.
//!
//! The frame: the stump's ground is the origin, x east, y the scene's north, or grid north where
//! the terrain is georeferenced.

mod around;
mod bodies;
mod cut;
pub mod holding;
mod limbs;
mod line;
mod on_ground;
mod terrain;
mod tied;

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    ground::words::{Between, Cover, GroundWords, Roughness, UndergrowthWords, Wetness},
    keyed::Key,
    rope,
    scene::{
        doubt::Doubtful,
        error::SceneError,
        model::{self, AidKind, GroundSpec, Scene},
        places::{MapFrame, place_m},
    },
    site::{BodyKind, Patch, Site},
    terrain::TerrainError,
    tree::{Hollow, Lean, Limb, Stem, StemError, stem::Station},
    wood,
};

pub use cut::{CutReady, Log};
use holding::{Lies, holding};
pub use limbs::Above;
pub use line::{LineReady, PULLED_FOR};
pub use on_ground::scene_on;
use terrain::Footing;
pub use tied::TiedReady;

/// Half-width of the doubt in green density: "in green material the variation may occasionally be
/// as great as 20 per cent" (FPL Technical Note 218); half of that is taken as usual (ours).
const DENSITY_SHARE: f64 = 0.10;
/// Diameters of one stem are at least this far apart, m: a scene's are, as told.
const APART_M: f64 = 0.002;

/// What keeps a scene from being simulated.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum JobError {
    /// Something in the scene file, with its place.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Scene(#[from] SceneError),
    /// The terrain.
    #[error(transparent)]
    Terrain(#[from] TerrainError),
    /// The stem or a section of it.
    #[error(transparent)]
    Stem(#[from] StemError),
    /// Something that names no place in the file.
    #[error("{0}")]
    Other(String),
}

/// Which truth: as told, or one that is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outer {
    /// Every number as told.
    Told,
    /// Every doubtful number drawn.
    Drawn {
        /// Seed of all draws.
        seed: u64,
        /// Which draw.
        index: u64,
    },
}

impl Outer {
    /// A number uniform in (0, 1) for an input path, or `None` as told. Wetness alternates from
    /// draw to draw, so that exactly half of the grounds have their traction capped.
    fn pick(self, path: &str) -> Option<f64> {
        if let Self::Drawn { index, .. } = self
            && path.ends_with("wetness")
        {
            return Some(if index % 2 == 0 { 0.25 } else { 0.75 });
        }
        self.key(path).map(Key::uniform)
    }

    /// The key of an input's draws, or `None` as told.
    fn key(self, path: &str) -> Option<Key> {
        let Self::Drawn { seed, index } = self else { return None };
        Some(Key::root(seed).word("outer").number(index).word(path))
    }
}

/// A scene with what it names read in.
#[derive(Clone, Debug)]
pub struct Job {
    /// The scene as told.
    pub scene: Scene,
    source: terrain::Source,
    frame: MapFrame,
}

/// One truth of a job.
#[derive(Clone, Debug)]
pub struct World {
    /// Terrain, grounds and everything that stands, without spar and climber.
    pub site: Site,
    /// The stem, whole.
    pub stem: Stem,
    /// The scene with exact numbers.
    pub scene: Scene,
    /// What this draw took, by input path, SI; empty as told.
    pub inputs: BTreeMap<String, f64>,
    /// Which words this draw took where none was told, by input path.
    pub words: BTreeMap<String, String>,
    /// Targets in report order: the scene's, then climber, line and feller.
    pub targets: Vec<TargetInfo>,
    /// What a user should know.
    pub warnings: Vec<String>,
    /// Limbs of this draw, listed ones first.
    pub limbs: Vec<Limb>,
    /// Where they are at each cut.
    limbs_at: Vec<limbs::AtCut>,
    frame: MapFrame,
    drawn: bool,
    /// What of the site stands beyond the terrain.
    beyond: Vec<String>,
}

/// A target by name and kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TargetInfo {
    /// Stable id.
    pub id: String,
    /// What it is.
    pub kind: BodyKind,
}

impl Job {
    /// Reads what a scene names and builds its told world once, so that errors come early.
    ///
    /// # Errors
    ///
    /// An unknown species, a terrain that can't be read, something that stands off the terrain, a
    /// cut that isn't on the stem.
    pub fn load(scene: Scene) -> Result<Self, JobError> {
        let (source, frame) = terrain::Source::read(&scene)?;
        Self { scene, source, frame }.checked()
    }

    /// The job of a scene that was edited: what the terrain file holds is read again only if the
    /// scene names another one or another part of it.
    ///
    /// # Errors
    ///
    /// As [`load`](Self::load).
    pub fn edited(&self, scene: Scene) -> Result<Self, JobError> {
        let same = self.scene.folder == scene.folder
            && self.scene.site.terrain == scene.site.terrain
            && self.scene.site.north == scene.site.north;
        if same { self.with_scene(scene).checked() } else { Self::load(scene) }
    }

    /// Itself, if the told world and all cuts can be built.
    fn checked(self) -> Result<Self, JobError> {
        let names: Vec<&str> = wood::all_species().iter().map(|s| s.name).collect();
        let allowed = format!("one of {}", names.join(", "));
        self.scene.check_species(&|name| wood::species(name).is_ok(), &allowed)?;
        let world = self.world(Outer::Told)?;
        for cut in 0..self.scene.cuts.len() {
            let ready = world.cut(cut)?;
            for (_, line) in world.lines_of(&ready.id) {
                world.line(&ready, line)?;
            }
        }
        for (index, line) in self.scene.lines.iter().enumerate() {
            self.rope(index, line)?;
        }
        Ok(self)
    }

    /// A rope is one of the table, or its strength is told.
    fn rope(&self, index: usize, line: &model::Line) -> Result<(), JobError> {
        let (name, strength_n) = line.rope();
        if strength_n.is_some() || rope::named(name).is_some() {
            return Ok(());
        }
        let names: Vec<&str> = rope::all().iter().map(|rope| rope.name).collect();
        let allowed = format!("any name with strength: \"..\" beside it, or {}", names.join(", "));
        let refused =
            self.scene.refuse(&format!("lines[{index}].rope"), "no rope of the table", &allowed);
        refused.map_or(Ok(()), |error| Err(error.into()))
    }

    /// How the scene's azimuths and coordinates lie on the map.
    #[must_use]
    pub fn frame(&self) -> MapFrame {
        self.frame
    }

    /// The same site under another scene of the same terrain: other cuts, other numbers.
    #[must_use]
    pub fn with_scene(&self, scene: Scene) -> Self {
        Self { scene, source: self.source.clone(), frame: self.frame }
    }

    /// One truth.
    ///
    /// # Errors
    ///
    /// A draw that makes no terrain, stem or place on the terrain.
    pub fn world(&self, outer: Outer) -> Result<World, JobError> {
        let mut inputs = BTreeMap::new();
        let scene = self.scene.realise(&mut |path, number| match outer.pick(path) {
            None => number.told,
            Some(share) => {
                let value = number.at(share);
                inputs.insert(path.to_owned(), value);
                value
            }
        });
        let (terrain, mut warnings) =
            self.source.build(&self.scene, &scene, self.frame, outer, &mut inputs)?;
        let terrain = Arc::new(terrain);
        let mut drawn = Drawn { inputs: &mut inputs, words: BTreeMap::new() };
        let ground = drawn.ground("site.ground", &scene.site.ground, outer);
        let mut patches: Vec<Patch> = Vec::new();
        for spec in &scene.site.patches {
            let path = format!("site.patches.{}", spec.id);
            patches.push(Patch {
                id: spec.id.clone(),
                outline_m: self.outline(&scene, &spec.outline),
                within_m: None,
                ground: drawn.ground(&path, &spec.ground, outer),
            });
        }
        // A mat lies over what is beneath it: the ground outside all patches, and each patch.
        let beneath = patches.clone();
        let mut over = Vec::new();
        for aid in &scene.aids {
            let AidKind::BrushMat { outline, thickness_m } = &aid.kind else { continue };
            let mut mat =
                |path: &str, spec: &GroundSpec, within_m: Option<Vec<glam::DVec2>>| Patch {
                    id: aid.id.clone(),
                    outline_m: self.outline(&scene, outline),
                    within_m,
                    ground: drawn.mat(&format!("aids.{}", aid.id), thickness_m, path, spec, outer),
                };
            patches.push(mat("site.ground", &scene.site.ground, None));
            for (spec, patch) in scene.site.patches.iter().zip(&beneath) {
                let path = format!("site.patches.{}", spec.id);
                over.push(mat(&path, &spec.ground, Some(patch.outline_m.clone())));
            }
        }
        patches.extend(over);
        let taken = drawn.words;
        warnings.extend(words(&self.scene.site.ground).assumed().into_iter().map(str::to_owned));
        let stem = self.stem(&scene, outer, &mut inputs)?;
        let place = |place: &model::Place| place_m(&scene.site, place, &self.frame);
        let footing = Footing::new(&terrain, outer != Outer::Told);
        let mut hold = |id: &str, held: model::Held, lies: &Lies, at: glam::DVec2| {
            let path = format!("aids.{id}.hold");
            let at_its_place = |patch: &&Patch| patch.within_m.is_none() && patch.holds(at);
            let patch = patches.iter().rev().find(at_its_place);
            let soil = patch.map_or(&ground, |patch| &patch.ground);
            let share = outer.pick(&path).unwrap_or(0.5);
            let hold = holding(held, lies, soil, share)?;
            if outer != Outer::Told {
                inputs.insert(format!("{path}_n"), hold.force_n);
            }
            Some(hold)
        };
        let (bodies, targets) =
            bodies::bodies(&scene, &footing, &stem, &place, self.frame, &mut hold)?;
        let beyond = footing.warnings();
        let site =
            Site { terrain, ground, patches, bodies, roughness_key: 0, stump_m: glam::DVec3::ZERO };
        let species =
            wood::species(&scene.tree.species).map_err(|e| JobError::Other(e.to_string()))?;
        Ok(World {
            site,
            limbs: limbs::limbs(&scene, &stem, self.frame.turn_rad, species),
            limbs_at: limbs::by_cut(&self.scene),
            stem,
            scene,
            inputs,
            words: taken,
            targets,
            warnings,
            frame: self.frame,
            drawn: outer != Outer::Told,
            beyond,
        })
    }

    fn outline(&self, scene: &Scene, places: &[model::Place]) -> Vec<glam::DVec2> {
        places.iter().map(|p| place_m(&scene.site, p, &self.frame)).collect()
    }

    fn stem(
        &self,
        scene: &Scene,
        outer: Outer,
        inputs: &mut BTreeMap<String, f64>,
    ) -> Result<Stem, JobError> {
        let tree = &scene.tree;
        let species = wood::species(&tree.species).map_err(|e| JobError::Other(e.to_string()))?;
        let mut stem = if tree.diameters.is_empty() {
            Stem::published(tree.dbh_m.told, tree.height_m.told, species)?
        } else {
            // Heights in doubt may be drawn past each other; on the stem they keep their order.
            let mut above_m = f64::NEG_INFINITY;
            let measured = tree.diameters.iter().map(|d| {
                above_m = d.height_m.told.max(above_m + APART_M);
                Station { height_m: above_m, diameter_m: d.diameter_m.told }
            });
            Stem::measured(measured.collect(), Some(tree.height_m.told), species)?
        };
        if let Some(share) = outer.pick("tree.density") {
            stem.density_kg_m3 *= 1.0 + DENSITY_SHARE * (2.0 * share - 1.0);
            inputs.insert("tree.density".into(), stem.density_kg_m3);
        }
        let turn = self.frame.turn_rad;
        stem.lean = match &tree.lean {
            model::Lean::Upright(doubt) => {
                // Which way an upright stem may lean is as unknown as how much.
                let path = "tree.lean.upright.toward_rad";
                let toward = outer.pick(path).map_or(0.0, |share| share * std::f64::consts::TAU);
                if outer != Outer::Told {
                    inputs.insert(path.to_owned(), toward);
                }
                Lean { angle_rad: doubt.told.abs(), azimuth_rad: toward }
            }
            model::Lean::Plumb { offset_m, height_m, toward_rad } => {
                Lean::from_plumb_line(offset_m.told, height_m.told, toward_rad.told + turn)
            }
            model::Lean::Angle { angle_rad, toward_rad } => {
                Lean { angle_rad: angle_rad.told, azimuth_rad: toward_rad.told + turn }
            }
        };
        stem.hollows = tree
            .hollows
            .iter()
            .map(|h| Hollow {
                from_m: h.from_m.told,
                to_m: h.to_m.told,
                sound_shell_m: h.shell_m.told,
            })
            .collect();
        Ok(stem)
    }
}

impl World {
    /// All limbs of the tree: the listed ones in the scene's order, then those its crown is taken
    /// to have.
    #[must_use]
    pub fn limbs(&self) -> &[Limb] {
        &self.limbs
    }

    /// Unit vector on the map toward an azimuth from the scene's north, rad.
    #[must_use]
    pub fn heading(&self, azimuth_rad: f64) -> glam::DVec2 {
        crate::scene::places::heading(azimuth_rad, &self.frame)
    }

    /// Where a place of the scene is on the map, m.
    #[must_use]
    pub fn place_m(&self, place: &model::Place) -> glam::DVec2 {
        place_m(&self.scene.site, place, &self.frame)
    }
}

/// What grounds took, as they are drawn.
struct Drawn<'a> {
    inputs: &'a mut BTreeMap<String, f64>,
    words: BTreeMap<String, String>,
}

impl Drawn<'_> {
    /// One draw of a ground; what was drawn is noted under `path`.
    fn ground(&mut self, path: &str, spec: &GroundSpec, outer: Outer) -> crate::ground::Ground {
        let words = words(spec);
        let pick = |key: &str| outer.pick(&format!("{path}.{key}")).unwrap_or(0.5);
        let ground = words.draw(outer == Outer::Told, &pick);
        if outer == Outer::Told {
            return ground;
        }
        for (key, value) in words.drawn(&pick).into_iter().chain(words.chosen_kinds(&pick)) {
            self.inputs.insert(format!("{path}.{key}"), value);
        }
        for (key, word) in words.chosen(&pick) {
            self.words.insert(format!("{path}.{key}"), word.to_owned());
        }
        if matches!(words.wetness, Wetness::Damp | Wetness::DontKnow) {
            let capped = f64::from(u8::from(ground.adhesion.is_some()));
            self.inputs.insert(format!("{path}.traction_capped"), capped);
        }
        ground
    }

    /// A brush mat over a ground: the soil is the one drawn for `beneath`, the mat has its own.
    fn mat(
        &mut self,
        path: &str,
        thickness_m: &Doubtful,
        beneath: &str,
        spec: &GroundSpec,
        outer: Outer,
    ) -> crate::ground::Ground {
        let mut mat = words(spec);
        mat.cover = Cover::BrushMat(Some(between(thickness_m)));
        let own = |key: &str| key.starts_with("top.") || key == "restitution";
        let pick = |key: &str| {
            let of = if own(key) { path } else { beneath };
            outer.pick(&format!("{of}.{key}")).unwrap_or(0.5)
        };
        if outer != Outer::Told {
            for (key, value) in mat.drawn(&pick).into_iter().filter(|(key, _)| own(key)) {
                self.inputs.insert(format!("{path}.{key}"), value);
            }
        }
        mat.draw(outer == Outer::Told, &pick)
    }
}

fn between(number: &Doubtful) -> Between {
    Between { low: number.spread.low, told: number.told, high: number.spread.high }
}

/// The scene's words for a ground as the ground tables know them.
#[must_use]
pub fn words(spec: &GroundSpec) -> GroundWords {
    GroundWords {
        soil: spec.soil,
        cover: match &spec.cover {
            model::Cover::Litter(depth) => Cover::Litter(Some(between(depth))),
            model::Cover::Turf(depth) => Cover::Turf(Some(between(depth))),
            model::Cover::Bare => Cover::Bare,
            model::Cover::DontKnow => Cover::DontKnow,
        },
        roughness: match &spec.roughness {
            model::Roughness::Lawn => Roughness::Lawn,
            model::Roughness::Ankle => Roughness::Ankle,
            model::Roughness::Knee => Roughness::Knee,
            model::Roughness::Measured(height) => Roughness::Measured(between(height)),
            model::Roughness::DontKnow => Roughness::DontKnow,
        },
        undergrowth: spec.undergrowth.as_ref().map(|u| UndergrowthWords {
            spacing_m: between(&u.spacing_m),
            thickness_m: between(&u.thickness_m),
            height_m: between(&u.height_m),
        }),
        wetness: spec.wetness,
        hard_at_m: spec.hard_at_m.as_ref().map(between),
    }
}
