//! Proposals that a user takes, put into the text of a scene.
//!
//! Every one is marked there by a comment, its text otherwise as it stands in the file of proposals,
//! so that what the user changed there is what the scene gets. The scene is read again after each:
//! what doesn't fit it is refused with why.

use std::{path::Path, sync::Arc};

use serde::Deserialize;

use super::write::system_text;
use crate::{
    scene::{
        self, Scene, SceneError, Source, TerrainSpec, Wrong,
        edit::{
            EditError,
            splice::{apply, insert_item, set, value},
            things,
        },
        v1,
    },
    terrain::{LengthUnit, TerrainError, geotiff, system::System},
};

/// A file of proposals as it is written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FileV1 {
    version: u32,
    ground: GroundV1,
    proposals: Vec<ProposalV1>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct GroundV1 {
    file: String,
    system: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(dead_code, reason = "read so that a file is checked whole; the texts are what is taken")]
struct ProposalV1 {
    id: String,
    from: String,
    points: u64,
    sure: SureV1,
    why: String,
    roughness: Option<v1::Roughness>,
    breakline: Option<v1::Breakline>,
    patch: Option<v1::Patch>,
    target: Option<v1::Target>,
}

#[derive(Debug, Deserialize)]
enum SureV1 {
    Fair,
    Poor,
}

/// Where an item goes in a scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Goes {
    /// In place of what the scene says there.
    Field(&'static str),
    /// Behind what the list holds.
    List(&'static str),
}

/// Fields of a proposal and where they go.
const FIELDS: [(&str, Goes); 4] = [
    ("roughness", Goes::Field("site.ground.roughness")),
    ("breakline", Goes::List("site.breaklines")),
    ("patch", Goes::List("site.patches")),
    ("target", Goes::List("targets")),
];

/// A file of proposals.
#[derive(Debug)]
pub struct Proposed {
    name: String,
    /// File and system of the ground they lie on.
    ground: (String, String),
    items: Vec<Taken>,
}

#[derive(Debug)]
struct Taken {
    id: String,
    from: String,
    field: &'static str,
    goes: Goes,
    text: String,
}

/// Which of the proposals are taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Take {
    /// All that fit the scene.
    All,
    /// These.
    Ids(Vec<String>),
}

/// A scene with proposals in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// Its text.
    pub text: String,
    /// Ids that it took.
    pub taken: Vec<String>,
    /// Ids that don't fit it, and why.
    pub refused: Vec<(String, String)>,
}

/// Why proposals can't be taken.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum AcceptError {
    /// The scene, or the file of proposals, is wrong.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Scene(#[from] SceneError),
    /// The scene's text has no room for it.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Edit(#[from] EditError),
    /// They don't go together.
    #[error(transparent)]
    Apart(#[from] TerrainError),
}

impl Proposed {
    /// Reads a file of proposals.
    ///
    /// # Errors
    /// It can't be read, or what is in it is wrong.
    pub fn load(path: &Path) -> Result<Self, SceneError> {
        Self::parse(&scene::read_text(path)?, &path.display().to_string())
    }

    /// Reads proposals from their text.
    ///
    /// # Errors
    /// What is in it is wrong.
    pub fn parse(text: &str, name: &str) -> Result<Self, SceneError> {
        let source = Source { name: name.to_owned(), text: Arc::from(text) };
        let file: FileV1 = scene::read(&source).map_err(SceneError::Invalid)?;
        let (mut items, mut wrongs) = (Vec::<Taken>::new(), Vec::new());
        let mut wrong = |path: String, what: &str, allowed: &str| {
            wrongs.push(Wrong { path, what: what.to_owned(), allowed: allowed.to_owned() });
        };
        if file.version != 1 {
            wrong("version".into(), "a version this program doesn't read", "version: 1");
        }
        for (k, one) in file.proposals.iter().enumerate() {
            let path = format!("proposals[{k}]");
            if items.iter().any(|i| i.id == one.id) || one.id.is_empty() {
                wrong(format!("{path}.id"), "an id that is empty or there twice", "one of its own");
            }
            let mut own = FIELDS.iter().filter_map(|(field, goes)| {
                Some((*field, *goes, value(text, &format!("{path}.{field}"))?))
            });
            match (own.next(), own.next()) {
                (Some((field, goes, text)), None) => items.push(Taken {
                    id: one.id.clone(),
                    from: one.from.clone(),
                    field,
                    goes,
                    text: dedented(text),
                }),
                _ => wrong(
                    path,
                    "a proposal of no thing, or of several",
                    "one of roughness, breakline, patch and target",
                ),
            }
        }
        match source.error(&wrongs) {
            Some(error) => Err(error),
            None => Ok(Self {
                name: name.to_owned(),
                ground: (file.ground.file, file.ground.system),
                items,
            }),
        }
    }

    /// Whether any target is among those that are taken.
    #[must_use]
    pub fn has_target(&self, take: &Take) -> bool {
        self.items.iter().any(|i| {
            i.field == "target"
                && match take {
                    Take::All => true,
                    Take::Ids(ids) => ids.contains(&i.id),
                }
        })
    }

    /// The text of a scene with those that are taken; `name` is what errors call it, `folder` where
    /// its paths count from.
    ///
    /// # Errors
    /// A scene that is wrong, lies on other ground, or has no room for one that is named.
    pub fn accept(
        &self,
        text: &str,
        name: &str,
        folder: &Path,
        take: &Take,
    ) -> Result<Accepted, AcceptError> {
        let mut scene = scene::parse_in(text, name, folder)?;
        self.check_ground(&scene)?;
        let chosen: Vec<&Taken> = match take {
            Take::All => self.items.iter().collect(),
            Take::Ids(ids) => ids
                .iter()
                .map(|id| {
                    self.items.iter().find(|i| i.id == *id).ok_or_else(|| {
                        let known: Vec<&str> = self.items.iter().map(|i| i.id.as_str()).collect();
                        TerrainError::new(self.name.clone(), "--take", id, known.join(", "))
                    })
                })
                .collect::<Result<_, _>>()?,
        };
        // A patch takes what it doesn't say from the scene's ground: that is changed first.
        let (fields, lists): (Vec<&Taken>, Vec<&Taken>) =
            chosen.into_iter().partition(|i| matches!(i.goes, Goes::Field(_)));
        let mut done = Accepted { text: text.to_owned(), taken: Vec::new(), refused: Vec::new() };
        for item in fields.into_iter().chain(lists) {
            match item.put(&scene, &done.text, name, folder) {
                Ok((text, with)) => {
                    (done.text, scene) = (text, with);
                    done.taken.push(item.id.clone());
                }
                Err(error) if *take == Take::All => {
                    let why = match &error {
                        AcceptError::Scene(SceneError::Invalid(p)) => {
                            format!("{}: {}; allowed: {}", p.path, p.what, p.allowed)
                        }
                        other => other.to_string(),
                    };
                    done.refused.push((item.id.clone(), why));
                }
                Err(error) => return Err(error),
            }
        }
        Ok(done)
    }

    /// The scene must lie on ground with the same coordinates.
    fn check_ground(&self, scene: &Scene) -> Result<(), AcceptError> {
        let (file, system) = match &scene.site.terrain {
            TerrainSpec::GeoTiff(spec) => {
                let sheet = geotiff::Sheet::open(&scene.file(&spec.file))?;
                let system = System::from_keys(&sheet.name, &sheet.keys())?
                    .unwrap_or_else(|| System::nowhere(LengthUnit::Metre));
                (spec.file.display().to_string(), system_text(&system))
            }
            TerrainSpec::Inline(grid) => {
                // Behind the file stands what was done with it.
                let file = grid.source.split(", cropped").next().unwrap_or_default();
                (file.to_owned(), grid.crs.clone().unwrap_or_default())
            }
            TerrainSpec::AsciiGrid(spec) => (spec.file.display().to_string(), String::new()),
            TerrainSpec::Transects(_) => ("tape and inclinometer".to_owned(), String::new()),
        };
        let (own_file, own_system) = &self.ground;
        // Without a system only the same file has the same coordinates.
        let same =
            if own_system.is_empty() { same_name(&file, own_file) } else { system == *own_system };
        if same && scene.site.terrain.stump().is_some() {
            return Ok(());
        }
        Err(TerrainError::new(
            scene.source.name.clone(),
            "site.terrain",
            format!("ground from {file}, {}", named(&system)),
            format!("ground as {own_file}, {}", named(own_system)),
        )
        .into())
    }
}

/// Whether two paths end in one file's name.
fn same_name(a: &str, b: &str) -> bool {
    let name = |path: &str| Path::new(path).file_name().map(ToOwned::to_owned);
    name(a).is_some() && name(a) == name(b)
}

fn named(system: &str) -> String {
    if system.is_empty() { "in no named system".to_owned() } else { format!("in {system}") }
}

impl Taken {
    /// The scene's text with it, and the scene.
    fn put(
        &self,
        scene: &Scene,
        text: &str,
        name: &str,
        folder: &Path,
    ) -> Result<(String, Scene), AcceptError> {
        if matches!(self.goes, Goes::List(_)) {
            let breaks = scene.site.breaklines.iter().any(|b| b.id == self.id);
            if breaks || things::by_id(scene, &self.id).is_some() {
                return Err(TerrainError::new(
                    name,
                    "id",
                    format!("{}, which the scene has already", self.id),
                    "another id for the proposal, or taking the scene's own out",
                )
                .into());
            }
        }
        let from = self.from.replace("*/", "").replace(['\n', '\r'], " ");
        let marked = format!("/* proposed from {from}, look at it on site */\n{}", self.text);
        let mut text = match self.goes {
            Goes::Field(path) => {
                let marked = marked.replace("*/\n", "*/ ");
                apply(text, &[set(text, path, &marked)?])?
            }
            Goes::List(list) => apply(text, &[insert_item(text, list, usize::MAX, &marked)?])?,
        };
        if self.field == "patch" {
            // What points don't say of a patch is what the scene says of its ground.
            let index = scene.site.patches.len();
            for field in ["soil", "cover", "roughness", "wetness", "hard_at"] {
                let path = format!("site.patches[{index}].ground.{field}");
                let untold = value(&text, &path).is_none_or(|own| own.trim() == "DontKnow");
                let ground = value(&text, &format!("site.ground.{field}")).map(str::to_owned);
                if let (true, Some(ground)) = (untold, ground) {
                    text = apply(&text, &[set(&text, &path, &ground)?])?;
                }
            }
        }
        let with = scene::parse_in(&text, name, folder)?;
        Ok((text, with))
    }
}

/// Lines after the first without the indentation that they share.
fn dedented(text: &str) -> String {
    let depth = |line: &&str| line.len() - line.trim_start().len();
    let rest = || text.lines().skip(1).filter(|l| !l.trim().is_empty());
    let shared = rest().map(|l| depth(&l)).min().unwrap_or(0);
    text.lines()
        .enumerate()
        .map(|(k, line)| if k == 0 { line } else { line.get(shared..).unwrap_or("") })
        .collect::<Vec<_>>()
        .join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_ground_is_known_by_its_whole_name() {
        assert!(same_name("there/gn.tif", "gn.tif") && same_name("gn.tif", "gn.tif"));
        assert!(!same_name("mygn.tif", "gn.tif") && !same_name("gn.tif.old", "gn.tif"));
        assert!(!same_name("", ""));
    }
}
