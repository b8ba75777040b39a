//! Where the places of a scene are on the map.
//!
//! The map frame is the site's: x east, y north, metres from the stump. Without a georeferenced
//! terrain y is the scene's own north and the turn is 0; with one, y is grid north and the turn is
//! what takes an azimuth of the scene to one of the grid.

use glam::{DVec2, DVec3};

use super::model::{self, Place, SiteSpec, Station, TerrainSpec};
use crate::terrain::{Leg, Start, Transect, transects::stations};

/// How the scene's azimuths and the terrain's coordinates lie on the map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapFrame {
    /// Added to an azimuth of the scene to give one from the map's y, rad.
    pub turn_rad: f64,
    /// Size of the terrain's unit, m.
    pub unit_m: f64,
}

impl Default for MapFrame {
    fn default() -> Self {
        Self { turn_rad: 0.0, unit_m: 1.0 }
    }
}

/// The unit vector of an azimuth (rad) of the scene on the map.
#[must_use]
pub fn heading(azimuth_rad: f64, frame: &MapFrame) -> DVec2 {
    let (sin, cos) = libm::sincos(azimuth_rad + frame.turn_rad);
    DVec2::new(sin, cos)
}

/// The site's transects on the map, by the numbers as told.
#[must_use]
pub fn transects(site: &SiteSpec, frame: &MapFrame) -> Vec<Transect> {
    let start = |station: Station| match station {
        Station::Stump => Start::Stump,
        Station::LegEnd { transect, legs } => Start::Station { transect, leg: legs },
    };
    let leg = |leg: &model::Leg| Leg {
        slope_distance_m: leg.slope_distance_m.told,
        inclination_rad: leg.inclination_rad.told,
    };
    let lines = site.terrain.legs().iter();
    lines
        .map(|line| Transect {
            id: line.id.clone(),
            from: start(line.from),
            azimuth_rad: line.azimuth_rad.told + frame.turn_rad,
            legs: line.legs.iter().map(leg).collect(),
            closes: line.closes_on.map(start),
        })
        .collect()
}

/// Where a station is on the map, m, and its height above the stump by the legs, m.
///
/// The stump is at (0, 0), 0; so is a station that the site doesn't have.
#[must_use]
pub fn station_m(site: &SiteSpec, station: Station, frame: &MapFrame) -> (DVec2, f64) {
    let Station::LegEnd { transect, legs } = station else { return (DVec2::ZERO, 0.0) };
    let all = stations(&transects(site, frame), DVec3::ZERO).unwrap_or_default();
    let at = all.get(transect).and_then(|line| line.get(legs)).copied().unwrap_or_default();
    (at.truncate(), at.z)
}

/// Where a place is on the map, m, by the numbers as told.
#[must_use]
pub fn place_m(site: &SiteSpec, place: &Place, frame: &MapFrame) -> DVec2 {
    match place {
        Place::Taped { from, azimuth_rad, distance_m, inclination_rad } => {
            let level_m = distance_m.told * libm::cos(inclination_rad.told);
            station_m(site, *from, frame).0 + heading(azimuth_rad.told, frame) * level_m
        }
        Place::AtStation(station) => station_m(site, *station, frame).0,
        Place::Local { east_m, north_m } => DVec2::new(east_m.told, north_m.told),
        Place::Grid { x, y } => {
            let stump = site.terrain.stump().unwrap_or([0.0, 0.0]);
            DVec2::new(x - stump[0], y - stump[1]) * frame.unit_m
        }
    }
}

impl TerrainSpec {
    /// The stump in the terrain's own coordinates, if it has any.
    #[must_use]
    pub fn stump(&self) -> Option<[f64; 2]> {
        match self {
            Self::Transects(_) => None,
            Self::AsciiGrid(raster) | Self::GeoTiff(raster) => Some(raster.stump),
            Self::Inline(grid) => grid.stump,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{Doubtful, parse, starter};

    #[test]
    fn verif_a_tape_down_a_slope_is_shorter_on_the_map() {
        let mut scene = parse(starter(), "starter").unwrap();
        scene.site.terrain = TerrainSpec::Transects(Vec::new());
        let place = Place::Taped {
            from: Station::Stump,
            azimuth_rad: Doubtful::exact(90_f64.to_radians()),
            distance_m: Doubtful::exact(10.0),
            inclination_rad: Doubtful::exact(-60_f64.to_radians()),
        };
        let at = place_m(&scene.site, &place, &MapFrame::default());
        assert!(at.distance(DVec2::new(5.0, 0.0)) < 1e-12, "{at}");
        let turned = MapFrame { turn_rad: 90_f64.to_radians(), unit_m: 1.0 };
        let at = place_m(&scene.site, &place, &turned);
        assert!(at.distance(DVec2::new(0.0, -5.0)) < 1e-12, "{at}");
    }

    #[test]
    fn verif_stations_add_up_along_their_legs() {
        let scene = parse(starter(), "starter").unwrap();
        let station = Station::LegEnd { transect: 0, legs: 2 };
        let (at, height) = station_m(&scene.site, station, &MapFrame::default());
        let (a, b) = (24_f64.to_radians(), 33_f64.to_radians());
        let level = 0.3048 * (15.0 * a.cos() + 30.0 * b.cos());
        assert!((at.length() - level).abs() < 1e-9);
        assert!((height + 0.3048 * (15.0 * a.sin() + 30.0 * b.sin())).abs() < 1e-9);
    }
}
