//! What must hold between the numbers of a scene, beyond the limits of each.
//!
//! Everything here is told from the scene alone; what needs the terrain (a target off it, holes)
//! or the species table is checked where those are read, with [`Scene::refuse`].

use std::collections::BTreeMap;

use glam::DVec2;

use crate::quantity::{Length, Units};

use super::{
    error::{SceneError, Wrong},
    items::ids,
    model::*,
    outline::{area_m2, crossing},
    places::{MapFrame, place_m},
};

mod job;
mod lesson;
mod limbs;
mod lines;
mod site;
mod things;

/// Ids that the program gives itself.
pub const RESERVED_IDS: [&str; 6] =
    ["climber", "climber_line", "feller", "stump", "spar", "terrain"];
/// Longest id.
const ID_MAX: usize = 40;
/// Shortest wall, path, log or span, m.
const LINE_MIN_M: f64 = 0.1;
/// Smallest outline, m².
const AREA_MIN_M2: f64 = 0.01;

impl Scene {
    /// An error that points at a field of this scene's file.
    #[must_use]
    pub fn refuse(&self, path: &str, what: &str, allowed: &str) -> Option<SceneError> {
        let wrong =
            Wrong { path: path.to_owned(), what: what.to_owned(), allowed: allowed.to_owned() };
        self.source.error(&[wrong])
    }

    /// Everything that is wrong between the numbers of this scene: nothing in one that was read,
    /// unless it was changed since.
    #[must_use]
    pub fn wrongs(&self) -> Vec<Wrong> {
        check(self)
    }

    /// Refuses a species that `knows` doesn't know; `allowed` says which there are.
    ///
    /// # Errors
    /// The species is unknown.
    pub fn check_species(
        &self,
        knows: &dyn Fn(&str) -> bool,
        allowed: &str,
    ) -> Result<(), SceneError> {
        if knows(&self.tree.species) {
            return Ok(());
        }
        self.refuse("tree.species", "an unknown species", allowed).map_or(Ok(()), Err)
    }
}

/// Everything that is wrong between the numbers of a scene, in no order.
pub(super) fn check(scene: &Scene) -> Vec<Wrong> {
    let mut c = Checks { units: scene.units, wrongs: Vec::new() };
    c.names(scene);
    c.ids(scene);
    c.site(&scene.site);
    c.places(scene);
    c.tree(&scene.tree);
    c.limbs(&scene.tree);
    c.targets(scene);
    c.aids(scene);
    c.cuts(scene);
    c.lines(scene);
    c.wrongs
}

/// What of a lesson its scene, which is right, can't answer.
pub(super) fn lesson(scene: &Scene) -> Vec<Wrong> {
    let mut c = Checks { units: scene.units, wrongs: Vec::new() };
    c.lesson(scene);
    c.wrongs
}

struct Checks {
    units: Units,
    wrongs: Vec<Wrong>,
}

impl Checks {
    fn wrong(&mut self, path: &str, what: impl Into<String>, allowed: impl Into<String>) {
        self.wrongs.push(Wrong {
            path: path.to_owned(),
            what: what.into(),
            allowed: allowed.into(),
        });
    }

    fn m(&self, length_m: f64) -> String {
        use crate::quantity::Quantity;
        Length::from_si(length_m).text(self.units)
    }

    /// A diameter or thickness for a reader.
    fn thick(&self, length_m: f64) -> String {
        use crate::quantity::Quantity;
        Length::from_si(length_m).thickness_text(self.units)
    }

    fn names(&mut self, scene: &Scene) {
        for (path, text) in [("name", &scene.name), ("tree.species", &scene.tree.species)] {
            if text.is_empty() || text.len() > 200 || text.chars().any(char::is_control) {
                self.wrong(path, "no name", "1 to 200 printable characters on one line");
            }
        }
    }

    fn ids(&mut self, scene: &Scene) {
        let mut seen: BTreeMap<&str, String> = BTreeMap::new();
        for (path, id) in ids(scene) {
            let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
            if id.is_empty() || id.len() > ID_MAX || !id.chars().all(plain) {
                let allowed = "1 to 40 letters, digits, - or _, like \"boathouse-1\"";
                self.wrong(&path, "no id", allowed);
            } else if RESERVED_IDS.contains(&id) {
                self.wrong(
                    &path,
                    "an id that the program uses itself",
                    format!("any id but {}", RESERVED_IDS.join(", ")),
                );
            } else if let Some(first) = seen.get(id) {
                let what = format!("an id that is taken, by {}", first.trim_end_matches(".id"));
                self.wrong(&path, what, "an id of its own for every item of the scene");
            } else {
                seen.insert(id, path);
            }
        }
    }

    /// Two ends apart.
    fn span(&mut self, site: &SiteSpec, path: &str, from: &Place, to: &Place) {
        let frame = MapFrame::default();
        if place_m(site, from, &frame).distance(place_m(site, to, &frame)) < LINE_MIN_M {
            self.wrong(
                path,
                "both ends are in one place",
                format!("ends at least {} apart", self.m(LINE_MIN_M)),
            );
        }
    }

    /// A line of at least two points, none on the next.
    fn line(&mut self, site: &SiteSpec, path: &str, points: &[Place]) {
        if points.len() < 2 {
            self.wrong(path, format!("a line of {} point(s)", points.len()), "at least two points");
        }
        for (i, pair) in points.windows(2).enumerate() {
            if let [from, to] = pair {
                self.span(site, &format!("{path}[{}]", i + 1), from, to);
            }
        }
    }

    /// An outline of at least three corners that doesn't cross itself.
    fn outline(&mut self, site: &SiteSpec, path: &str, corners: &[Place]) {
        if corners.len() < 3 {
            self.wrong(
                path,
                format!("an outline of {} corner(s)", corners.len()),
                "at least three corners",
            );
            return;
        }
        let points = map(site, corners);
        if let Some((i, j)) = crossing(&points) {
            self.wrong(
                path,
                format!("an outline that crosses itself: its sides {} and {}", i + 1, j + 1),
                "corners in order round the outline",
            );
        } else if area_m2(&points).abs() < AREA_MIN_M2 {
            self.wrong(path, "an outline without area", "corners that are not on one line");
        }
    }
}

fn map(site: &SiteSpec, places: &[Place]) -> Vec<DVec2> {
    places.iter().map(|place| place_m(site, place, &MapFrame::default())).collect()
}
