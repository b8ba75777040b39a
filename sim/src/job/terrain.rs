//! The terrain a scene names: read once, built for each truth.
//!
//! A survey by tape is built anew from the drawn legs, with a draw of what it leaves open between
//! its stations. A raster keeps its heights; its doubt is a
//! uniform tilt about the stump of at most 0.5° in each direction, which stands for the survey's
//! and the registration's error over a bank's length (ours).

use std::{
    cell::RefCell,
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use glam::{DVec2, DVec3};

use crate::{
    scene::{
        doubt::Doubtful,
        model::{self, North, Scene, TerrainSpec},
        places::{MapFrame, place_m, transects},
    },
    terrain::{
        CutFace, Grid, LengthUnit, Raster, Side, SurveySpec, Terrain, TerrainError, Window, ascii,
        bend::{Bent, bend},
        between::Between,
        geotiff, said,
        transects::{Closing, survey, walk},
    },
};

use super::{JobError, Outer};

/// Greatest tilt that a raster may be off by, in x and in y, rad.
const TILT_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// Tape and grid that are further apart than this are told of, m (ours).
const BENT_MUCH_M: f64 = 1.5;

/// Where heights come from, read in.
#[derive(Clone, Debug)]
pub(super) enum Source {
    /// Legs of the scene; nothing to read.
    Survey,
    /// A grid with the stump at the origin.
    Grid(Box<Terrain>),
}

impl Source {
    /// Reads the terrain of a scene; also how azimuths and coordinates lie on it.
    pub(super) fn read(scene: &Scene) -> Result<(Self, MapFrame), JobError> {
        let stump = |xy: [f64; 2]| DVec2::new(xy[0], xy[1]);
        let mut frame = MapFrame::default();
        let source = match &scene.site.terrain {
            TerrainSpec::Transects(_) => Self::Survey,
            TerrainSpec::AsciiGrid(spec) => {
                let window =
                    Window { centre: stump(spec.stump), half: DVec2::splat(spec.around_m) };
                let raster = ascii::read(&scene.file(&spec.file), LengthUnit::Metre, Some(window))?;
                frame.unit_m = raster.unit_m;
                Self::Grid(Box::new(raster.into_terrain_at(stump(spec.stump))?))
            }
            TerrainSpec::GeoTiff(spec) => {
                let path = scene.file(&spec.file);
                // The window is in the file's unit, which only the file knows.
                frame.unit_m = geotiff::unit_m(&path)?;
                let half = DVec2::splat(spec.around_m / frame.unit_m);
                let window = Window { centre: stump(spec.stump), half };
                let raster = geotiff::read(&path, None, Some(window))?;
                Self::Grid(Box::new(raster.into_terrain_at(stump(spec.stump))?))
            }
            TerrainSpec::Inline(inline) => {
                let at = inline.stump.unwrap_or([0.0, 0.0]);
                let south_west = DVec2::new(inline.south_west_m[0], inline.south_west_m[1]);
                frame.unit_m = inline.map_unit_m;
                let raster = Raster {
                    file: scene.source.name.clone(),
                    origin_m: south_west + stump(at) * inline.map_unit_m,
                    cell_m: inline.cell_m,
                    nx: inline.columns,
                    ny: inline.rows,
                    heights_m: inline.heights_m.iter().map(|h| *h as f32).collect(),
                    epsg: inline
                        .crs
                        .as_deref()
                        .and_then(|c| c.strip_prefix("EPSG:"))
                        .and_then(|c| c.parse().ok()),
                    crs_name: inline.crs.clone().unwrap_or_default(),
                    unit_m: inline.map_unit_m,
                    warnings: Vec::new(),
                };
                Self::Grid(Box::new(raster.into_terrain_at(stump(at))?))
            }
        };
        if scene.site.terrain.is_georeferenced()
            && let Some(North::Magnetic { declination_rad }) = scene.site.north
        {
            frame.turn_rad = declination_rad;
        }
        Ok((source, frame))
    }

    /// The terrain of one truth of the scene as told, with what a user should know of it.
    pub(super) fn build(
        &self,
        told: &Scene,
        scene: &Scene,
        frame: MapFrame,
        outer: Outer,
        inputs: &mut BTreeMap<String, f64>,
    ) -> Result<(Terrain, Vec<String>), JobError> {
        let breaklines: Vec<Vec<DVec2>> = scene
            .site
            .breaklines
            .iter()
            .map(|line| line.points.iter().map(|p| place_m(&scene.site, p, &frame)).collect())
            .collect();
        let lines = transects(&scene.site, &frame);
        let (stations, closings) = walk(&lines, DVec3::ZERO)?;
        let mut terrain = match self {
            Self::Survey => {
                let spec = SurveySpec { units: scene.units, ..SurveySpec::default() };
                let mut terrain = survey(&lines, DVec3::ZERO, &[], &spec)?;
                let path = "site.terrain.between_m";
                match outer.key(path) {
                    Some(key) => {
                        if let Some(between) = Between::new(&stations.concat()) {
                            let mean_m = between.add(Arc::make_mut(&mut terrain.grid), key);
                            inputs.insert(path.to_owned(), mean_m);
                        }
                    }
                    None => terrain.warnings.extend(guessed(&stations.concat(), scene)),
                }
                for (spec, line) in scene.site.breaklines.iter().zip(&breaklines) {
                    lower(
                        Arc::make_mut(&mut terrain.grid),
                        line,
                        spec.low_side,
                        spec.height_m.told,
                    );
                }
                // On whichever side of a step the stump stands.
                put_down(&mut terrain);
                terrain
            }
            Self::Grid(grid) => {
                let mut terrain = (**grid).clone();
                let mut tilt = DVec2::ZERO;
                for (axis, path) in ["site.terrain.tilt_east_rad", "site.terrain.tilt_north_rad"]
                    .into_iter()
                    .enumerate()
                {
                    if let Some(share) = outer.pick(path) {
                        tilt[axis] = TILT_RAD * (2.0 * share - 1.0);
                        inputs.insert(path.to_owned(), tilt[axis]);
                    }
                }
                if tilt != DVec2::ZERO {
                    terrain = terrain.raise(tilt, DVec2::ZERO);
                }
                if let Some(bent) = bend(Arc::make_mut(&mut terrain.grid), &stations.concat()) {
                    put_down(&mut terrain);
                    terrain.warnings.extend(closings.iter().map(|c| c.said(scene.units)));
                    terrain.warnings.extend(bent_words(&bent, scene));
                }
                terrain
            }
        };
        if outer == Outer::Told {
            terrain.warnings.extend(misread(told, &closings));
        }
        let faces: Vec<CutFace> = scene
            .site
            .breaklines
            .iter()
            .zip(breaklines)
            .map(|(line, line_m)| CutFace {
                id: line.id.clone(),
                line_m,
                height_m: line.height_m.told,
                low_side: match line.low_side {
                    model::Side::Left => Side::Left,
                    model::Side::Right => Side::Right,
                },
            })
            .collect();
        if !faces.is_empty() {
            terrain = terrain.with_faces(&faces, scene.units);
        }
        let mut warnings = terrain.warnings.clone();
        warnings.extend(terrain.steepness_warning(scene.units));
        if scene.site.terrain.is_georeferenced() {
            if scene.site.north == Some(North::True) {
                warnings.push(
                    "true north is taken as the map's grid north; they differ by the map's \
                     convergence, up to about 2°"
                        .to_owned(),
                );
            }
            if let Some(North::Magnetic { .. }) = scene.site.north {
                warnings.push(
                    "compass azimuths are turned by the declination alone; true and grid north \
                     differ by the map's convergence, up to about 2°"
                        .to_owned(),
                );
            }
        }
        Ok((terrain, warnings))
    }
}

/// Puts the stump's ground at the frame's zero.
fn put_down(terrain: &mut Terrain) {
    let stump = terrain.grid.surface(0.0, 0.0).map_or(0.0, |s| s.height_m);
    if stump != 0.0 {
        let grid = Arc::make_mut(&mut terrain.grid);
        grid.heights_m.iter_mut().for_each(|h| *h -= stump as f32);
    }
}

/// What a told survey misses its stations by beyond the doubt of its legs, one sentence each.
///
/// The doubt of a leg of length L is its half-width of L, and L times those of its inclination and
/// its azimuth; that of a loop the root of the sum of their squares, as for errors that don't hang
/// together.
fn misread(told: &Scene, closings: &[Closing]) -> Vec<String> {
    let half = |x: &Doubtful| 0.5 * (x.spread.high - x.spread.low);
    let lines = told.site.terrain.legs();
    let mut found = Vec::new();
    for closing in closings {
        let squares = closing.legs.iter().filter_map(|(t, k)| {
            let line = lines.get(*t)?;
            let leg = line.legs.get(*k)?;
            let (l, turn) = (leg.slope_distance_m.told, half(&line.azimuth_rad));
            let along = half(&leg.slope_distance_m);
            let across = l * half(&leg.inclination_rad).hypot(turn);
            Some(along * along + across * across)
        });
        let explained_m = squares.sum::<f64>().sqrt();
        if closing.off_m.length() > explained_m {
            found.push(format!(
                "transect {} misses its station by {}, more than the {} that its doubt explains: \
                 look for a leg that was misread",
                closing.id,
                said(closing.off_m.length(), 2, told.units),
                said(explained_m, 2, told.units)
            ));
        }
    }
    found
}

/// How far the ground between a survey's stations is a guess, in words.
fn guessed(stations: &[DVec3], scene: &Scene) -> Option<String> {
    let mut spreads = Between::new(stations)?.spreads_m();
    spreads.sort_by(f64::total_cmp);
    let (median, most) = (spreads.get(spreads.len() / 2)?, spreads.last()?);
    Some(format!(
        "between the stations the ground is a guess: grounds are drawn off it with a standard \
         deviation over {} in half of the places about the stations, {} at most; a line where \
         pieces go tells more",
        said(*median, 2, scene.units),
        said(*most, 2, scene.units)
    ))
}

/// What a user should know of a grid that was bent to taped legs.
fn bent_words(bent: &Bent, scene: &Scene) -> Vec<String> {
    let far = |m: f64| said(m.abs(), 2, scene.units);
    let mut said = vec![format!(
        "the terrain lies {} off {} stations by tape (root mean square), {} {} at most: it is bent \
         to them, and less and less away from them",
        far(bent.rms_m),
        bent.stations,
        far(bent.most_m),
        if bent.most_m > 0.0 { "below" } else { "above" },
    )];
    if bent.rms_m > BENT_MUCH_M {
        said.push(
            "tape and terrain are so far apart that one of them may be of another place: look at \
             where the stump is on the terrain, and at what azimuths count from"
                .to_owned(),
        );
    }
    if bent.off_it > 0 {
        said.push(format!(
            "{} stations by tape lie off the terrain and count for nothing",
            bent.off_it
        ));
    }
    said
}

/// Lowers the ground on the low side of a breakline: the legs of a survey leave out its step.
fn lower(grid: &mut Grid, line: &[DVec2], low_side: model::Side, height_m: f64) {
    let sign = if low_side == model::Side::Left { 1.0 } else { -1.0 };
    for j in 0..grid.ny {
        for i in 0..grid.nx {
            let at = grid.origin_m + DVec2::new(i as f64, j as f64) * grid.cell_m;
            if let Some(height) = grid.heights_m.get_mut(j * grid.nx + i) {
                *height -= (height_m * low_share(line, sign, at)) as f32;
            }
        }
    }
}

/// How much of a breakline's step is below a place: all of it on the low side, none on the high.
///
/// Past the line's ends the step opens out like a fan about the end, by the angle: a wall ends in
/// a ramp round its end, not in a step that no wall holds.
fn low_share(line: &[DVec2], sign: f64, at: DVec2) -> f64 {
    let nearest =
        line.windows(2).enumerate().min_by(|(_, a), (_, b)| away(a, at).total_cmp(&away(b, at)));
    let Some((k, [a, b])) = nearest else { return 0.0 };
    let (along, length) = ((*b - *a).normalize_or_zero(), a.distance(*b));
    let (way, off) = ((at - *a).dot(along), sign * along.perp_dot(at - *a));
    let past = if k == 0 && way < 0.0 {
        -way
    } else if k + 2 == line.len() && way > length {
        way - length
    } else {
        return f64::from(u8::from(off > 0.0));
    };
    0.5 + libm::atan2(off, past) / std::f64::consts::PI
}

/// Distance from a place to a segment, m.
fn away(segment: &[DVec2], at: DVec2) -> f64 {
    let [a, b] = segment else { return f64::INFINITY };
    let along = *b - *a;
    let t = (at - *a).dot(along) / along.length_squared().max(1e-12);
    at.distance(*a + along * t.clamp(0.0, 1.0))
}

/// The ground that things stand on. A told place off the terrain is an error; a drawn one stands at
/// the height of the nearest known ground, which is said.
pub(super) struct Footing<'a> {
    pub(super) terrain: &'a Terrain,
    drawn: bool,
    moved: RefCell<BTreeSet<String>>,
}

impl<'a> Footing<'a> {
    pub(super) fn new(terrain: &'a Terrain, drawn: bool) -> Self {
        Self { terrain, drawn, moved: RefCell::default() }
    }

    /// The ground at a place, m.
    pub(super) fn on(&self, what: &str, at: DVec2) -> Result<DVec3, JobError> {
        if let Some(surface) = self.terrain.surface(at.x, at.y) {
            return Ok(at.extend(surface.height_m));
        }
        let (low, high) = self.terrain.bounds();
        let near = at.clamp(low, high);
        match self.terrain.surface(near.x, near.y).filter(|_| self.drawn && at.is_finite()) {
            Some(surface) => {
                self.moved.borrow_mut().insert(what.to_owned());
                Ok(at.extend(surface.height_m))
            }
            None => Err(off_terrain(self.terrain, what, at)),
        }
    }

    /// What stands beyond the terrain, one sentence each.
    pub(super) fn warnings(self) -> Vec<String> {
        let moved = self.moved.into_inner().into_iter();
        moved
            .map(|what| {
                format!(
                    "{what} lies beyond the terrain as drawn: it stands at the height of the \
                     nearest known ground, and drops that go there are lost"
                )
            })
            .collect()
    }
}

/// A place off the terrain, as an error that says what the terrain covers.
fn off_terrain(terrain: &Terrain, what: &str, at: DVec2) -> JobError {
    let (low, high) = terrain.bounds();
    JobError::Terrain(TerrainError::new(
        what.to_owned(),
        "place",
        format!("{:.1} m east, {:.1} m north of the stump", at.x, at.y),
        format!(
            "on the terrain: {:.0} to {:.0} m east, {:.0} to {:.0} m north",
            low.x, high.x, low.y, high.y
        ),
    ))
}
