//! Terrain, ground and wind, and places on them.

use std::path::PathBuf;

use crate::quantity::{Length, Quantity, Slope};

use super::{
    super::{doubt::Doubtful, limits as lim, model::*, v1},
    Reader,
};

/// Half the side of the square of a raster that is used when the scene doesn't say, m (ours).
const AROUND_M: f64 = 100.0;

impl Reader {
    pub(super) fn site(&mut self, site: &v1::Site) -> SiteSpec {
        let terrain = self.terrain(&site.terrain);
        let north = site.north.map(|north| match north {
            v1::North::Magnetic { declination } => {
                if declination.rad().abs() > std::f64::consts::PI {
                    self.wrong("site.north.declination", "no declination", "-180 deg to 180 deg");
                }
                North::Magnetic { declination_rad: declination.rad() }
            }
            v1::North::True => North::True,
            v1::North::Grid => North::Grid,
        });
        let breaklines =
            self.each("site.breaklines", &site.breaklines, |r, path, line| Breakline {
                id: line.id.clone(),
                points: r.places(&format!("{path}.points"), &line.points),
                height_m: r.number(&format!("{path}.height"), &line.height, lim::BREAKLINE),
                low_side: line.low_side.into(),
            });
        let ground = self.ground("site.ground", &site.ground);
        let patches = self.each("site.patches", &site.patches, |r, path, patch| PatchSpec {
            id: patch.id.clone(),
            outline: r.places(&format!("{path}.outline"), &patch.outline),
            ground: r.ground(&format!("{path}.ground"), &patch.ground),
        });
        let wind = site.wind.as_ref().map(|wind| Wind {
            speed_m_s: self.number("site.wind.speed", &wind.speed, lim::WIND),
            gust_m_s: self.number("site.wind.gust", &wind.gust, lim::GUST),
            from_rad: self.number("site.wind.from", &wind.from, lim::AZIMUTH_OPEN),
        });
        if wind.is_none() {
            self.assume("site.wind", "still air");
        }
        SiteSpec { terrain, north, breaklines, ground, patches, wind }
    }

    fn terrain(&mut self, terrain: &v1::Terrain) -> TerrainSpec {
        match terrain {
            v1::Terrain::Transects { lines } => {
                TerrainSpec::Transects(self.each("site.terrain.lines", lines, Self::transect))
            }
            v1::Terrain::AsciiGrid(raster) => TerrainSpec::AsciiGrid(self.raster(raster)),
            v1::Terrain::GeoTiff(raster) => TerrainSpec::GeoTiff(self.raster(raster)),
            v1::Terrain::Inline(grid) => TerrainSpec::Inline(InlineGrid {
                cell_m: self.plain("site.terrain.cell", grid.cell, 0.05, 100.0),
                columns: grid.columns,
                rows: grid.rows,
                south_west_m: [grid.south_west.0.m(), grid.south_west.1.m()],
                heights_m: grid.heights_m.clone(),
                crs: grid.crs.clone(),
                stump: grid.stump.map(|(x, y)| [x, y]),
                map_unit_m: grid
                    .map_unit
                    .map_or(1.0, |unit| self.plain("site.terrain.map_unit", unit, 0.1, 10.0)),
                source: grid.source.clone(),
                taped: self.each("site.terrain.taped", &grid.taped, Self::transect),
            }),
        }
    }

    fn transect(&mut self, path: &str, line: &v1::Transect) -> Transect {
        let from = self.station(&format!("{path}.from"), line.from.as_deref().unwrap_or("stump"));
        let read = Transect {
            id: line.id.clone(),
            from,
            azimuth_rad: self.number(&format!("{path}.azimuth"), &line.azimuth, lim::AZIMUTH),
            legs: self.each(&format!("{path}.legs"), &line.legs, |r, path, leg| Leg {
                slope_distance_m: r.number(&format!("{path}[0]"), &leg.0, lim::LEG),
                inclination_rad: r.number(&format!("{path}[1]"), &leg.1, lim::SLOPE),
            }),
            closes_on: line
                .closes_on
                .as_deref()
                .map(|text| self.station(&format!("{path}.closes_on"), text)),
        };
        self.transects.push((line.id.clone(), line.legs.len()));
        read
    }

    fn station(&mut self, path: &str, text: &str) -> Station {
        if text == "stump" {
            return Station::Stump;
        }
        let (id, number) = text.split_once(':').map_or((text, None), |(id, n)| (id, Some(n)));
        let found = self.transects.iter().position(|t| t.0 == id);
        let legs = found.and_then(|i| self.transects.get(i)).map_or(0, |t| t.1);
        let number = number.map_or(Some(legs), |n| n.trim().parse().ok());
        match (found, number) {
            (Some(transect), Some(n)) if (1..=legs).contains(&n) => {
                return Station::LegEnd { transect, legs: n };
            }
            (Some(_), _) => {
                self.wrong(
                    path,
                    "no such leg",
                    format!("{id}:1 to {id}:{legs}, or {id} for its end"),
                );
            }
            (None, _) => {
                let known: Vec<&str> = self.transects.iter().map(|t| t.0.as_str()).collect();
                let known = if known.is_empty() {
                    String::new()
                } else {
                    format!(", or ID:N with a transect listed before: {}", known.join(", "))
                };
                self.wrong(path, "no such station", format!("stump{known}"));
            }
        }
        Station::Stump
    }

    fn raster(&mut self, raster: &v1::Raster) -> RasterSpec {
        if raster.file.trim().is_empty() {
            self.wrong("site.terrain.file", "no file name", "a path, relative to the scene file");
        }
        if !(raster.stump.0.is_finite() && raster.stump.1.is_finite()) {
            self.wrong("site.terrain.stump", "no coordinates", "x and y in the file's own system");
        }
        let around_m = match raster.around {
            Some(around) => self.plain("site.terrain.around", around, 5.0, 5_000.0),
            None => {
                let text = Length::from_si(AROUND_M).text(self.units);
                self.assume("site.terrain.around", format!("{text} each way from the stump"));
                AROUND_M
            }
        };
        RasterSpec {
            file: PathBuf::from(&raster.file),
            stump: [raster.stump.0, raster.stump.1],
            around_m,
            taped: self.each("site.terrain.taped", &raster.taped, Self::transect),
        }
    }

    pub(super) fn place(&mut self, path: &str, place: &v1::Place) -> Place {
        match place {
            v1::Place::At { from, azimuth, distance, slope } => Place::Taped {
                from: self.station(&format!("{path}.from"), from.as_deref().unwrap_or("stump")),
                azimuth_rad: self.number(&format!("{path}.azimuth"), azimuth, lim::AZIMUTH),
                distance_m: self.number(&format!("{path}.distance"), distance, lim::TAPE),
                inclination_rad: slope.as_ref().map_or(Doubtful::exact(0.0), |slope| {
                    self.number::<Slope>(&format!("{path}.slope"), slope, lim::SLOPE)
                }),
            },
            v1::Place::Station(text) => Place::AtStation(self.station(path, text)),
            v1::Place::Local { east, north } => Place::Local {
                east_m: self.number(&format!("{path}.east"), east, lim::LOCAL),
                north_m: self.number(&format!("{path}.north"), north, lim::LOCAL),
            },
            v1::Place::Grid { x, y } => {
                if !(x.is_finite() && y.is_finite()) {
                    self.wrong(path, "no coordinates", "x and y in the terrain's own system");
                }
                Place::Grid { x: *x, y: *y }
            }
        }
    }

    pub(super) fn places(&mut self, path: &str, places: &[v1::Place]) -> Vec<Place> {
        self.each(path, places, Self::place)
    }

    fn ground(&mut self, path: &str, ground: &v1::Ground) -> GroundSpec {
        let cover = match &ground.cover {
            v1::Cover::Litter(depth) => {
                Cover::Litter(self.number(&format!("{path}.cover"), depth, lim::LITTER))
            }
            v1::Cover::Turf(depth) => {
                Cover::Turf(self.number(&format!("{path}.cover"), depth, lim::TURF))
            }
            v1::Cover::Bare => Cover::Bare,
            v1::Cover::DontKnow => Cover::DontKnow,
        };
        let roughness = match &ground.roughness {
            v1::Roughness::Lawn => Roughness::Lawn,
            v1::Roughness::Ankle => Roughness::Ankle,
            v1::Roughness::Knee => Roughness::Knee,
            v1::Roughness::Bumps(height) => {
                Roughness::Measured(self.number(&format!("{path}.roughness"), height, lim::BUMPS))
            }
            v1::Roughness::DontKnow => Roughness::DontKnow,
        };
        for (field, open) in [
            ("soil", matches!(ground.soil, v1::Soil::DontKnow)),
            ("cover", matches!(cover, Cover::DontKnow)),
            ("roughness", matches!(roughness, Roughness::DontKnow)),
            ("wetness", matches!(ground.wetness, v1::Wetness::DontKnow)),
        ] {
            if open {
                self.assume(&format!("{path}.{field}"), "not known: the whole plausible range");
            }
        }
        GroundSpec {
            soil: ground.soil.into(),
            cover,
            roughness,
            undergrowth: ground.undergrowth.as_ref().map(|u| {
                let path = format!("{path}.undergrowth");
                UndergrowthSpec {
                    spacing_m: self.number(&format!("{path}.spacing"), &u.spacing, lim::SPACING),
                    thickness_m: self.number(
                        &format!("{path}.thickness"),
                        &u.thickness,
                        lim::THICKNESS,
                    ),
                    height_m: self.number(&format!("{path}.height"), &u.height, lim::UNDERGROWTH),
                }
            }),
            wetness: ground.wetness.into(),
            hard_at_m: ground
                .hard_at
                .as_ref()
                .map(|depth| self.number(&format!("{path}.hard_at"), depth, lim::HARD)),
        }
    }
}
