//! What must hold between the numbers of a scene, beyond the limits of each.
//!
//! Everything here is told from the scene alone; what needs the terrain (a target off it, holes)
//! or the species table is checked where those are read, with [`Scene::refuse`].

use std::collections::BTreeMap;

use glam::DVec2;

use crate::quantity::{Length, Units};

use super::{
    doubt::Doubtful,
    error::{SceneError, Wrong},
    items::{all_places, ids},
    model::*,
    outline::{area_m2, contains, crossing},
    places::{MapFrame, heading, place_m},
};

/// Ids that the program gives itself.
pub const RESERVED_IDS: [&str; 6] =
    ["climber", "climber_line", "feller", "stump", "spar", "terrain"];
/// Longest id.
const ID_MAX: usize = 40;
/// Least number of legs of a transect: one leg says nothing of how the slope goes on.
const LEGS_MIN: usize = 2;
/// Least angle between the lines of two transects, rad: nearer than that they are one line, and
/// one line is no surface.
const LINES_APART_RAD: f64 = 15.0 * std::f64::consts::PI / 180.0;
/// Shortest section, m.
const SECTION_MIN_M: f64 = 0.05;
/// Shortest wall, path, log or span, m.
const LINE_MIN_M: f64 = 0.1;
/// Smallest outline, m².
const AREA_MIN_M2: f64 = 0.01;
/// Largest inline terrain, nodes along one side.
const INLINE_MAX: usize = 4_097;
/// Two heights on a stem are the same within this, m.
const SAME_HEIGHT_M: f64 = 0.002;

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
    c.targets(scene);
    c.aids(scene);
    c.cuts(scene);
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

    fn site(&mut self, site: &SiteSpec) {
        match &site.terrain {
            TerrainSpec::Transects(lines) => self.transects(lines),
            TerrainSpec::Inline(grid) => self.inline(grid),
            TerrainSpec::AsciiGrid(_) | TerrainSpec::GeoTiff(_) => {}
        }
        if site.terrain.is_georeferenced() && site.north.is_none() {
            self.wrong(
                "site",
                "the terrain has coordinates of its own, so north must be said",
                "north: Magnetic(declination: \"-8 deg\"), True or Grid",
            );
        }
        if let Some(wind) = &site.wind
            && wind.gust_m_s.told < wind.speed_m_s.told
        {
            self.wrong(
                "site.wind.gust",
                "a gust slower than the wind",
                "at least the wind's speed",
            );
        }
        for (i, line) in site.breaklines.iter().enumerate() {
            self.line(site, &format!("site.breaklines[{i}].points"), &line.points);
        }
        for (i, patch) in site.patches.iter().enumerate() {
            self.outline(site, &format!("site.patches[{i}].outline"), &patch.outline);
        }
    }

    fn transects(&mut self, lines: &[Transect]) {
        for (i, line) in lines.iter().enumerate() {
            if line.legs.len() < LEGS_MIN {
                self.wrong(
                    &format!("site.terrain.lines[{i}].legs"),
                    format!("a transect of {} leg(s)", line.legs.len()),
                    "at least two legs, so that the change of slope is known",
                );
            }
        }
        let apart = |a: &Transect, b: &Transect| {
            let frame = MapFrame::default();
            let (a, b) = (heading(a.azimuth_rad.told, &frame), heading(b.azimuth_rad.told, &frame));
            a.perp_dot(b).abs() >= libm::sin(LINES_APART_RAD)
        };
        let surface =
            lines.iter().enumerate().any(|(i, a)| lines.iter().skip(i + 1).any(|b| apart(a, b)));
        if !surface {
            self.wrong(
                "site.terrain.lines",
                "transects along one line only, which make no surface",
                "at least two transects whose lines are 15 deg or more apart",
            );
        }
    }

    fn inline(&mut self, grid: &InlineGrid) {
        for (path, side) in
            [("site.terrain.columns", grid.columns), ("site.terrain.rows", grid.rows)]
        {
            if !(2..=INLINE_MAX).contains(&side) {
                self.wrong(path, "no usable number of heights", format!("2 to {INLINE_MAX}"));
                return;
            }
        }
        if grid.heights_m.len() != grid.columns * grid.rows {
            self.wrong(
                "site.terrain.heights_m",
                format!("{} heights", grid.heights_m.len()),
                format!("columns x rows = {}", grid.columns * grid.rows),
            );
        }
        let bad = |h: &f64| !(h.is_finite() && h.abs() < 10_000.0);
        if let Some(i) = grid.heights_m.iter().position(bad) {
            self.wrong(
                &format!("site.terrain.heights_m[{i}]"),
                "no height",
                "metres between -10000 and 10000, no holes",
            );
        }
        let low = DVec2::from(grid.south_west_m);
        let high =
            low + DVec2::new((grid.columns - 1) as f64, (grid.rows - 1) as f64) * grid.cell_m;
        if low.max_element() >= 0.0 || high.min_element() <= 0.0 {
            self.wrong(
                "site.terrain.south_west",
                "the stump is not on the terrain",
                "a south-west corner from which the grid reaches past the stump at (0, 0)",
            );
        }
        if grid.crs.is_some() && grid.stump.is_none() {
            let allowed = "stump: (x, y) in that crs, or no crs";
            self.wrong("site.terrain", "half a georeference", allowed);
        }
    }

    /// Coordinates of the terrain only where it has some.
    fn places(&mut self, scene: &Scene) {
        if scene.site.terrain.stump().is_some() {
            return;
        }
        for (path, place) in all_places(scene) {
            if matches!(place, Place::Grid { .. }) {
                self.wrong(
                    &path,
                    "coordinates of a terrain that has none",
                    "At(azimuth: .., distance: ..), Station(..) or Local(east: .., north: ..)",
                );
            }
        }
    }

    fn tree(&mut self, tree: &TreeSpec) {
        let height_m = tree.height_m.told;
        let below_top = format!("below the top at {}", self.m(height_m));
        if let Some(top) = &tree.topped_at_m
            && top.told >= height_m
        {
            self.wrong("tree.topped_at", "above the tree's top", &below_top);
        }
        for (i, at) in tree.diameters.iter().enumerate() {
            let path = format!("tree.diameters[{i}]");
            if at.height_m.told >= height_m {
                self.wrong(&format!("{path}[0]"), "above the tree's top", &below_top);
            }
            let before = i.checked_sub(1).and_then(|b| tree.diameters.get(b));
            if let Some(before) = before
                && at.height_m.told <= before.height_m.told + SAME_HEIGHT_M
            {
                self.wrong(
                    &format!("{path}[0]"),
                    "not above the diameter before it",
                    "the lowest first, each height once",
                );
            }
            if let Some(before) = before
                && at.diameter_m.told > 1.25 * before.diameter_m.told
            {
                let allowed = format!(
                    "at most a quarter more than the {} below it",
                    self.thick(before.diameter_m.told)
                );
                self.wrong(&format!("{path}[1]"), "a stem that grows thicker upward", allowed);
            }
        }
        match &tree.lean {
            Lean::Plumb { offset_m, height_m: at, .. } => {
                if at.told > height_m {
                    self.wrong("tree.lean.height", "above the tree's top", &below_top);
                }
                if offset_m.told > at.told {
                    self.wrong(
                        "tree.lean.offset",
                        "a lean of more than 45 deg",
                        "at most the height it was plumbed from",
                    );
                }
            }
            Lean::Upright(_) | Lean::Angle { .. } => {}
        }
        for (i, hollow) in tree.hollows.iter().enumerate() {
            let path = format!("tree.hollows[{i}]");
            if hollow.to_m.told <= hollow.from_m.told {
                self.wrong(
                    &format!("{path}.to"),
                    "a hollow without length",
                    "a height above `from`",
                );
            }
            if hollow.to_m.told > height_m {
                self.wrong(&format!("{path}.to"), "above the tree's top", &below_top);
            }
            let before = i.checked_sub(1).and_then(|b| tree.hollows.get(b));
            if before.is_some_and(|b| hollow.from_m.told < b.to_m.told - SAME_HEIGHT_M) {
                self.wrong(
                    &format!("{path}.from"),
                    "it overlaps the hollow before it",
                    "the lowest first, none over another",
                );
            }
            let radius_m = 0.5 * stem_diameter_m(tree, hollow.from_m.told);
            if hollow.shell_m.told >= radius_m {
                let allowed =
                    format!("less than the stem's radius there, about {}", self.thick(radius_m));
                self.wrong(
                    &format!("{path}.shell"),
                    "a shell as thick as the stem is solid",
                    allowed,
                );
            }
        }
    }

    fn targets(&mut self, scene: &Scene) {
        let site = &scene.site;
        for (i, target) in scene.targets.iter().enumerate() {
            let path = format!("targets[{i}]");
            match &target.kind {
                TargetKind::Structure { corners, wall_m, roof_m, windows } => {
                    self.outline(site, &format!("{path}.corners"), corners);
                    if roof_m.told < wall_m.told {
                        self.wrong(
                            &format!("{path}.roof"),
                            "a roof lower than the walls",
                            format!("at least {}", self.m(wall_m.told)),
                        );
                    }
                    for (j, window) in windows.iter().enumerate() {
                        self.window(
                            site,
                            &format!("{path}.windows[{j}]"),
                            window,
                            corners,
                            *wall_m,
                        );
                    }
                    let points = map(site, corners);
                    if contains(&points, DVec2::ZERO) {
                        self.wrong(
                            &format!("{path}.corners"),
                            "the stump stands inside it",
                            "a footprint beside the stump",
                        );
                    }
                }
                TargetKind::KeepTree { at, diameter_m, height_m, limbs } => {
                    self.beside_stump(scene, &format!("{path}.at"), at, 0.5 * diameter_m.told);
                    if let Some(limbs) = limbs
                        && limbs.from_m.told >= height_m.told
                    {
                        self.wrong(
                            &format!("{path}.limbs.from"),
                            "limbs above the tree's top",
                            format!("below {}", self.m(height_m.told)),
                        );
                    }
                }
                TargetKind::Person { .. } => {}
                TargetKind::Vehicle { at, width_m, .. } => {
                    self.beside_stump(scene, &format!("{path}.at"), at, 0.5 * width_m.told);
                }
                TargetKind::Path { line, .. } => self.line(site, &format!("{path}.line"), line),
                TargetKind::Wire { from, to, sag_m } => {
                    self.span(site, &format!("{path}.to.at"), &from.at, &to.at);
                    let lowest = from.height_m.told.min(to.height_m.told);
                    if sag_m.told >= lowest {
                        self.wrong(
                            &format!("{path}.sag"),
                            "a wire that sags to the ground",
                            format!("less than its lower end, {}", self.m(lowest)),
                        );
                    }
                }
            }
        }
    }

    fn window(
        &mut self,
        site: &SiteSpec,
        path: &str,
        window: &Window,
        corners: &[Place],
        wall_m: Doubtful,
    ) {
        let points = map(site, corners);
        let Some(from) = points.get(window.wall) else {
            self.wrong(&format!("{path}.wall"), "no such wall", format!("1 to {}", points.len()));
            return;
        };
        let to = points.get(window.wall + 1).or(points.first()).copied().unwrap_or(*from);
        let length_m = from.distance(to);
        if window.along_m + window.width_m > length_m {
            self.wrong(
                &format!("{path}.along"),
                "a window past the end of its wall",
                format!("along and width together at most {}", self.m(length_m)),
            );
        }
        if window.sill_m + window.height_m > wall_m.told {
            self.wrong(
                &format!("{path}.sill"),
                "a window above its wall",
                format!("sill and height together at most {}", self.m(wall_m.told)),
            );
        }
    }

    fn aids(&mut self, scene: &Scene) {
        let site = &scene.site;
        for (i, aid) in scene.aids.iter().enumerate() {
            let path = format!("aids[{i}]");
            match &aid.kind {
                AidKind::BarrierLog { from, to, .. } => {
                    self.span(site, &format!("{path}.to"), from, to);
                }
                AidKind::BrushMat { outline, .. } => {
                    self.outline(site, &format!("{path}.outline"), outline);
                }
                AidKind::Wall { line, .. } => self.line(site, &format!("{path}.line"), line),
                AidKind::Stump { at, diameter_m, .. } => {
                    self.beside_stump(scene, &format!("{path}.at"), at, 0.5 * diameter_m.told);
                }
            }
        }
    }

    fn beside_stump(&mut self, scene: &Scene, path: &str, at: &Place, half_m: f64) {
        let least_m = half_m + 0.5 * scene.tree.dbh_m.told;
        if place_m(&scene.site, at, &MapFrame::default()).length() < least_m {
            self.wrong(
                path,
                "it stands in the tree itself",
                format!("at least {} from the stump", self.m(least_m)),
            );
        }
    }

    fn cuts(&mut self, scene: &Scene) {
        let tree = &scene.tree;
        let mut top_m = tree.topped_at_m.map_or(tree.height_m.told, |top| top.told);
        let mut top_is = "the top of what stands".to_owned();
        for (i, cut) in scene.cuts.iter().enumerate() {
            let path = format!("cuts[{i}]");
            let PieceSpec::Section { from_m, to_m } = &cut.piece;
            let (from_m, to_m) = (from_m.told, to_m.told);
            if to_m - from_m < SECTION_MIN_M {
                let what = if to_m < from_m {
                    "a section upside down"
                } else {
                    "a section without length"
                };
                self.wrong(
                    &format!("{path}.piece.to"),
                    what,
                    format!("at least {} above `from`", self.m(SECTION_MIN_M)),
                );
                continue;
            }
            if to_m > top_m + SAME_HEIGHT_M {
                self.wrong(
                    &format!("{path}.piece.to"),
                    format!("above {top_is}"),
                    format!("at most {}", self.m(top_m)),
                );
            } else {
                top_m = from_m;
                top_is = format!("what the cut {:?} leaves standing", cut.id);
            }
            let stem_m = stem_diameter_m(tree, from_m);
            self.release(&format!("{path}.release"), &cut.release, stem_m, to_m - from_m);
            for (j, stub) in cut.stubs.iter().enumerate() {
                let path = format!("{path}.stubs[{j}]");
                if !(from_m..=to_m).contains(&stub.height_m.told) {
                    self.wrong(
                        &format!("{path}.height"),
                        "a stub that is not on this section",
                        format!("{} to {}", self.m(from_m), self.m(to_m)),
                    );
                }
                let there_m = stem_diameter_m(tree, stub.height_m.told);
                if stub.diameter_m.told > there_m {
                    self.wrong(
                        &format!("{path}.diameter"),
                        "a stub thicker than the stem",
                        format!("at most the stem's diameter there, about {}", self.thick(there_m)),
                    );
                }
            }
        }
    }

    fn release(&mut self, path: &str, release: &ReleaseSpec, stem_m: f64, length_m: f64) {
        let (face, strap_m, push) = match release {
            ReleaseSpec::Hinge { face, push } => (Some(face), 0.0, push.as_ref()),
            ReleaseSpec::BoredHinge { face, strap_m, push } => {
                (Some(face), strap_m.told, push.as_ref())
            }
            ReleaseSpec::Snap { push, .. } | ReleaseSpec::PushOver { push, .. } => {
                (None, 0.0, Some(push))
            }
        };
        if let Some(face) = face {
            let room_m = stem_m * (1.0 - face.depth_share.told);
            let about = format!(
                "the stem is about {} there, {} behind the face",
                self.thick(stem_m),
                self.thick(room_m)
            );
            if face.hinge_m.told >= room_m {
                self.wrong(
                    &format!("{path}.hinge"),
                    "a hinge thicker than the stem behind the face",
                    format!("less than that: {about}"),
                );
            } else if face.hinge_m.told + strap_m >= room_m {
                self.wrong(
                    &format!("{path}.strap"),
                    "no room for hinge and strap",
                    format!("together less than what is left: {about}"),
                );
            }
        }
        if let Some(push) = push
            && push.height_m.told > length_m
        {
            self.wrong(
                &format!("{path}.push.height"),
                "a push above the piece",
                format!("at most its length, {}", self.m(length_m)),
            );
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

/// About how thick the stem is at a height, m: straight between what was measured, as breast
/// height below it, and to a point at the top. Only for refusing what can't be; pieces are made
/// from the published taper.
fn stem_diameter_m(tree: &TreeSpec, height_m: f64) -> f64 {
    const BREAST_M: f64 = 1.37;
    let mut points = vec![(BREAST_M, tree.dbh_m.told)];
    points.extend(tree.diameters.iter().map(|d| (d.height_m.told, d.diameter_m.told)));
    points.push((tree.height_m.told, 0.0));
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let above = points.iter().position(|p| p.0 >= height_m);
    match above {
        // Below the lowest: a stem is no thinner there, and flares by up to a half at the ground.
        Some(0) => points.first().map_or(0.0, |p| p.1 * 1.5),
        Some(i) => {
            let (low, high) = (points.get(i - 1), points.get(i));
            low.zip(high).map_or(0.0, |(low, high)| {
                low.1 + (high.1 - low.1) * (height_m - low.0) / (high.0 - low.0)
            })
        }
        None => 0.0,
    }
}

fn map(site: &SiteSpec, places: &[Place]) -> Vec<DVec2> {
    places.iter().map(|place| place_m(site, place, &MapFrame::default())).collect()
}
