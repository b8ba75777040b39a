//! From the file's words to the core scene: SI, doubt, defaults said.

use std::path::PathBuf;

use crate::quantity::{Length, Quantity, Slope};

use super::{
    doubt::{Doubtful, How, Spread},
    error::Wrong,
    limits::{self as lim, Limits},
    model::*,
    told::Told,
    v1,
};

/// Height of a cut under which it is made from the ground: what a person reaches with a saw
/// (5 ft, common practice).
const GROUND_CUT_BELOW_M: f64 = 1.53;
/// Half the side of the square of a raster that is used when the scene doesn't say, m (ours).
const AROUND_M: f64 = 100.0;
/// Width of a hinge when the scene doesn't say: the face's own chord.
const HINGE_WIDTH_SHARE: f64 = 1.0;
/// Height above the cut at which hands push when the scene doesn't say, m (ours).
const PUSH_HEIGHT_M: f64 = 1.2;
/// How far from upright a stem may be that looks upright, rad (2°, ours).
const UPRIGHT_HALF_RAD: f64 = 2.0 * std::f64::consts::PI / 180.0;

/// The core scene of a file, and all that is wrong with its single values.
///
/// `source`, `hash` and `folder` are filled in by the caller.
pub(super) fn resolve(
    file: &v1::Scene,
    source: std::sync::Arc<super::Source>,
) -> (Scene, Vec<Wrong>) {
    let how = match file.doubt.unwrap_or_default() {
        v1::Doubt::Exactly => How::Exactly,
        v1::Doubt::Measured => How::Measured,
        v1::Doubt::Paced => How::Paced,
        v1::Doubt::Eyed => How::Eyed,
    };
    let mut r = Reader {
        how,
        units: file.units.into(),
        wrongs: Vec::new(),
        assumed: Vec::new(),
        transects: Vec::new(),
    };
    if file.doubt.is_none() {
        r.assume("doubt", "numbers without a word of their own are measured (2 %, 2 deg)");
    }
    let site = r.site(&file.site);
    let tree = r.tree(&file.tree);
    let targets = r.each("targets", &file.targets, Reader::target);
    let climber = r.climber(file.climber.as_ref());
    let climber_line = match &file.climber_line {
        None | Some(v1::ClimberLine::DownTheSpar) => ClimberLineSpec::DownTheSpar,
        Some(v1::ClimberLine::MovedTo { at }) => {
            ClimberLineSpec::To(r.place("climber_line.at", at))
        }
        Some(v1::ClimberLine::Away) => ClimberLineSpec::Away,
    };
    let feller = match &file.feller {
        None | Some(v1::Feller::AtStump) => FellerSpec::AtStump,
        Some(v1::Feller::MovedTo { at }) => FellerSpec::At(r.place("feller.at", at)),
    };
    let aids = r.each("aids", &file.aids, Reader::aid);
    let cuts = r.each("cuts", &file.cuts, Reader::cut);
    let scene = Scene {
        name: file.name.trim().to_owned(),
        invented: file.invented,
        note: file.note.trim().to_owned(),
        units: r.units,
        site,
        tree,
        targets,
        climber,
        climber_line,
        feller,
        aids,
        cuts,
        assumed: r.assumed,
        hash: String::new(),
        folder: PathBuf::new(),
        source,
    };
    (scene, r.wrongs)
}

struct Reader {
    how: How,
    units: crate::quantity::Units,
    wrongs: Vec<Wrong>,
    assumed: Vec<Assumed>,
    /// Ids and numbers of legs of the transects read so far.
    transects: Vec<(String, usize)>,
}

impl Reader {
    fn wrong(&mut self, path: &str, what: impl Into<String>, allowed: impl Into<String>) {
        self.wrongs.push(Wrong {
            path: path.to_owned(),
            what: what.into(),
            allowed: allowed.into(),
        });
    }

    fn assume(&mut self, path: &str, taken: impl Into<String>) {
        self.assumed.push(Assumed { path: path.to_owned(), taken: taken.into() });
    }

    /// Reads the items of a list with their paths.
    fn each<T, U>(
        &mut self,
        path: &str,
        items: &[T],
        read: fn(&mut Self, &str, &T) -> U,
    ) -> Vec<U> {
        items
            .iter()
            .enumerate()
            .map(|(i, item)| read(self, &format!("{path}[{i}]"), item))
            .collect()
    }

    /// A number within its limits, with its doubt.
    fn number<Q: Quantity>(&mut self, path: &str, told: &Told<Q>, limits: Limits) -> Doubtful {
        let kind = Q::KIND;
        let show = |si: f64| Q::from_si(si).shown(self.units);
        let allowed = format!("{} to {}", show(limits.low), show(limits.high));
        let known = |value: Q, how: How| {
            if kind.angular {
                Doubtful::angle(value.si(), how)
            } else {
                Doubtful::relative(value.si(), how)
            }
        };
        let mut number = match *told {
            Told::Plain(q) => known(q, self.how),
            Told::Exactly(q) => Doubtful::exact(q.si()),
            Told::Measured(q) => known(q, How::Measured),
            Told::Paced(q) => known(q, How::Paced),
            Told::Eyed(q) => known(q, How::Eyed),
            Told::Within(q, half) => {
                if half.si() < 0.0 {
                    self.wrong(path, "the half width is negative", "zero or more");
                }
                Doubtful::around(q.si(), half.si().abs(), How::Stated)
            }
            Told::Between(low, high) => {
                if low.si() > high.si() {
                    self.wrong(path, "the limits run backwards", "the smaller one first");
                }
                let (low, high) = (low.si().min(high.si()), low.si().max(high.si()));
                let spread = Spread { low, high, how: How::Stated };
                Doubtful { told: 0.5 * (low + high), spread }
            }
            Told::DontKnow => {
                let Some([low, told, high]) = limits.unknown else {
                    let what = format!("{} that must be known", kind.name);
                    self.wrong(
                        path,
                        what,
                        format!("{allowed}; Eyed(..) or Between(.., ..) if in doubt"),
                    );
                    return Doubtful::exact(limits.low);
                };
                self.assume(
                    path,
                    format!("not known: {} to {}, {} as told", show(low), show(high), show(told)),
                );
                Doubtful { told, spread: Spread { low, high, how: How::DontKnow } }
            }
        };
        let stated = number.spread.how == How::Stated;
        let outside = |x: f64| !(limits.low..=limits.high).contains(&x);
        if outside(number.told)
            || (stated && (outside(number.spread.low) || outside(number.spread.high)))
        {
            let what = if number.told < 0.0 && limits.low >= 0.0 {
                format!("{} that can't be negative", kind.name)
            } else if number.told == 0.0 && limits.low > 0.0 {
                format!("{} that can't be zero", kind.name)
            } else {
                format!("{} beyond what is plausible here", kind.name)
            };
            self.wrong(path, what, allowed);
        }
        number.spread.low = number.spread.low.max(limits.low);
        number.spread.high = number.spread.high.min(limits.high);
        number
    }

    /// A length that is not in doubt.
    fn plain(&mut self, path: &str, length: Length, low_m: f64, high_m: f64) -> f64 {
        if !(low_m..=high_m).contains(&length.m()) {
            let [low, high] = [low_m, high_m].map(|m| Length::from_si(m).text(self.units));
            self.wrong(path, "a length beyond what is plausible here", format!("{low} to {high}"));
        }
        length.m()
    }

    fn site(&mut self, site: &v1::Site) -> SiteSpec {
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
                source: grid.source.clone(),
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
        }
    }

    fn place(&mut self, path: &str, place: &v1::Place) -> Place {
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

    fn places(&mut self, path: &str, places: &[v1::Place]) -> Vec<Place> {
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

    fn tree(&mut self, tree: &v1::Tree) -> TreeSpec {
        let lean = match &tree.lean {
            Some(v1::Lean::Plumb { offset, height, toward }) => Lean::Plumb {
                offset_m: self.number("tree.lean.offset", offset, lim::OFFSET),
                height_m: self.number("tree.lean.height", height, Limits { low: 0.5, ..lim::STEM }),
                toward_rad: self.number("tree.lean.toward", toward, lim::AZIMUTH_OPEN),
            },
            Some(v1::Lean::Angle { angle, toward }) => Lean::Angle {
                angle_rad: self.number("tree.lean.angle", angle, lim::LEAN),
                toward_rad: self.number("tree.lean.toward", toward, lim::AZIMUTH_OPEN),
            },
            Some(v1::Lean::Upright) | None => {
                self.assume("tree.lean", "upright, within 2 deg");
                Lean::Upright(Doubtful::around(0.0, UPRIGHT_HALF_RAD, How::Stated))
            }
        };
        TreeSpec {
            species: tree.species.trim().to_owned(),
            dbh_m: self.number("tree.dbh", &tree.dbh, lim::DBH),
            height_m: self.number("tree.height", &tree.height, lim::TREE_HEIGHT),
            topped_at_m: tree
                .topped_at
                .as_ref()
                .map(|h| self.number("tree.topped_at", h, Limits { low: 0.1, ..lim::STEM })),
            diameters: self.each("tree.diameters", &tree.diameters, |r, path, at| StemDiameter {
                height_m: r.number(&format!("{path}[0]"), &at.0, lim::STEM),
                diameter_m: r.number(&format!("{path}[1]"), &at.1, lim::DIAMETER),
            }),
            lean,
            hollows: self.each("tree.hollows", &tree.hollows, |r, path, hollow| Hollow {
                from_m: r.number(&format!("{path}.from"), &hollow.from, lim::STEM),
                to_m: r.number(&format!("{path}.to"), &hollow.to, lim::STEM),
                shell_m: r.number(&format!("{path}.shell"), &hollow.shell, lim::SHELL),
            }),
        }
    }

    fn target(&mut self, path: &str, target: &v1::Target) -> Target {
        let at = |field: &str| format!("{path}.{field}");
        let (id, kind) = match target {
            v1::Target::Structure { id, corners, wall, roof, windows } => {
                let wall_m = self.number(&at("wall"), wall, lim::WALL);
                let roof_m = match roof {
                    Some(roof) => self.number(&at("roof"), roof, lim::WALL),
                    None => {
                        self.assume(&at("roof"), "flat, as high as the walls");
                        wall_m
                    }
                };
                let corners = self.places(&at("corners"), corners);
                let windows = self.each(&at("windows"), windows, |r, path, w| Window {
                    // Zero is refused by the check, which counts from 1 as the file does.
                    wall: w.wall.wrapping_sub(1),
                    along_m: r.plain(&format!("{path}.along"), w.along, 0.0, 200.0),
                    width_m: r.plain(&format!("{path}.width"), w.width, 0.05, 50.0),
                    sill_m: r.plain(&format!("{path}.sill"), w.sill, 0.0, 100.0),
                    height_m: r.plain(&format!("{path}.height"), w.height, 0.05, 50.0),
                });
                (id, TargetKind::Structure { corners, wall_m, roof_m, windows })
            }
            v1::Target::KeepTree { id, at: place, diameter, height, limbs } => {
                let kind = TargetKind::KeepTree {
                    at: self.place(&at("at"), place),
                    diameter_m: self.number(&at("diameter"), diameter, lim::DBH),
                    height_m: self.number(&at("height"), height, lim::TREE_HEIGHT),
                    limbs: limbs.as_ref().map(|limbs| Limbs {
                        from_m: self.number(&at("limbs.from"), &limbs.from, lim::STEM),
                        spread_m: self.number(&at("limbs.spread"), &limbs.spread, lim::SPREAD),
                    }),
                };
                (id, kind)
            }
            v1::Target::Person { id, at: place } => {
                (id, TargetKind::Person { at: self.place(&at("at"), place) })
            }
            v1::Target::Vehicle { id, at: place, heading, length, width, height } => {
                let kind = TargetKind::Vehicle {
                    at: self.place(&at("at"), place),
                    heading_rad: self.number(&at("heading"), heading, lim::AZIMUTH),
                    length_m: self.number(&at("length"), length, lim::VEHICLE_LENGTH),
                    width_m: self.number(&at("width"), width, lim::VEHICLE),
                    height_m: self.number(&at("height"), height, lim::VEHICLE),
                };
                (id, kind)
            }
            v1::Target::Road { id, line, width } | v1::Target::Path { id, line, width } => {
                let kind = TargetKind::Path {
                    line: self.places(&at("line"), line),
                    width_m: self.number(&at("width"), width, lim::ROAD),
                };
                (id, kind)
            }
            v1::Target::Wire { id, from, to, sag } => {
                let kind = TargetKind::Wire {
                    from: self.wire_end(&at("from"), from),
                    to: self.wire_end(&at("to"), to),
                    sag_m: match sag {
                        Some(sag) => self.number(&at("sag"), sag, lim::SAG),
                        None => self.number(&at("sag"), &Told::<Length>::DontKnow, lim::SAG),
                    },
                };
                (id, kind)
            }
        };
        Target { id: id.clone(), kind }
    }

    fn wire_end(&mut self, path: &str, end: &v1::WireEnd) -> WireEnd {
        WireEnd {
            at: self.place(&format!("{path}.at"), &end.at),
            height_m: self.number(&format!("{path}.height"), &end.height, lim::WIRE),
        }
    }

    fn climber(&mut self, climber: Option<&v1::Climber>) -> ClimberSpec {
        match climber {
            None | Some(v1::Climber::OnSpar) => ClimberSpec::OnSpar,
            Some(v1::Climber::MovedTo { at, feet }) => ClimberSpec::At {
                at: self.place("climber.at", at),
                feet_m: self.number("climber.feet", feet, lim::STEM),
            },
            Some(v1::Climber::Away) => ClimberSpec::Away,
        }
    }

    fn aid(&mut self, path: &str, aid: &v1::Aid) -> Aid {
        let at = |field: &str| format!("{path}.{field}");
        let (id, kind) = match aid {
            v1::Aid::BarrierLog { id, from, to, diameter, held } => {
                let kind = AidKind::BarrierLog {
                    from: self.place(&at("from"), from),
                    to: self.place(&at("to"), to),
                    diameter_m: self.number(&at("diameter"), diameter, lim::LOG),
                    held: (*held).into(),
                };
                (id, kind)
            }
            v1::Aid::BrushMat { id, outline, thickness } => {
                let kind = AidKind::BrushMat {
                    outline: self.places(&at("outline"), outline),
                    thickness_m: self.number(&at("thickness"), thickness, lim::MAT),
                };
                (id, kind)
            }
            v1::Aid::Wall { id, line, height, thickness } => {
                let kind = AidKind::Wall {
                    line: self.places(&at("line"), line),
                    height_m: self.number(&at("height"), height, lim::LOW_WALL),
                    thickness_m: self.number(&at("thickness"), thickness, lim::WALL_THICKNESS),
                };
                (id, kind)
            }
            v1::Aid::Stump { id, at: place, diameter, height } => {
                let kind = AidKind::Stump {
                    at: self.place(&at("at"), place),
                    diameter_m: self.number(&at("diameter"), diameter, lim::DBH),
                    height_m: self.number(&at("height"), height, lim::STUMP),
                };
                (id, kind)
            }
        };
        Aid { id: id.clone(), kind }
    }

    fn cut(&mut self, path: &str, cut: &v1::Cut) -> Cut {
        let v1::Piece::Section { from, to } = &cut.piece;
        let from_m = self.number(&format!("{path}.piece.from"), from, lim::STEM);
        let to_m = self.number(&format!("{path}.piece.to"), to, lim::STEM);
        let cutter = match cut.cutter {
            Some(cutter) => cutter.into(),
            None if from_m.told < GROUND_CUT_BELOW_M => {
                self.assume(&format!("{path}.cutter"), "cut from the ground");
                Cutter::OnTheGround
            }
            None => Cutter::OnTheSpar,
        };
        let after = match &cut.after {
            Some(v1::After::Cleared) => After::Cleared,
            Some(v1::After::LeftWhereItStops) => After::LeftWhereItStops,
            Some(v1::After::LeftAt { at, axis }) => After::LeftAt {
                at: self.place(&format!("{path}.after.at"), at),
                axis_rad: self.number(&format!("{path}.after.axis"), axis, lim::AZIMUTH),
            },
            None => {
                self.assume(&format!("{path}.after"), "cleared before the next cut");
                After::Cleared
            }
        };
        Cut {
            id: cut.id.clone(),
            piece: PieceSpec::Section { from_m, to_m },
            stubs: self.each(&format!("{path}.stubs"), &cut.stubs, |r, path, stub| Stub {
                height_m: r.number(&format!("{path}.height"), &stub.height, lim::STEM),
                azimuth_rad: r.number(&format!("{path}.azimuth"), &stub.azimuth, lim::AZIMUTH),
                length_m: r.number(&format!("{path}.length"), &stub.length, lim::STUB),
                diameter_m: r.number(
                    &format!("{path}.diameter"),
                    &stub.diameter,
                    lim::STUB_DIAMETER,
                ),
            }),
            release: self.release(
                &format!("{path}.release"),
                &cut.release,
                to_m.told - from_m.told,
            ),
            cutter,
            after,
        }
    }

    fn release(&mut self, path: &str, release: &v1::Release, length_m: f64) -> ReleaseSpec {
        let at = |field: &str| format!("{path}.{field}");
        match release {
            v1::Release::Hinge { face, opening, depth, hinge, width, push } => ReleaseSpec::Hinge {
                face: Face {
                    toward_rad: self.number(&at("face"), face, lim::AZIMUTH),
                    opening_rad: self.number(&at("opening"), opening, lim::OPENING),
                    depth_share: self.number(&at("depth"), depth, lim::DEPTH),
                    hinge_m: self.number(&at("hinge"), hinge, lim::HINGE),
                    width_share: self.hinge_width(path, width.as_ref()),
                },
                push: push.as_ref().map(|push| self.push(path, push)),
            },
            v1::Release::BoredHinge { face, opening, depth, hinge, width, strap, push } => {
                ReleaseSpec::BoredHinge {
                    face: Face {
                        toward_rad: self.number(&at("face"), face, lim::AZIMUTH),
                        opening_rad: self.number(&at("opening"), opening, lim::OPENING),
                        depth_share: self.number(&at("depth"), depth, lim::DEPTH),
                        hinge_m: self.number(&at("hinge"), hinge, lim::HINGE),
                        width_share: self.hinge_width(path, width.as_ref()),
                    },
                    strap_m: self.number(&at("strap"), strap, lim::HINGE),
                    push: push.as_ref().map(|push| self.push(path, push)),
                }
            }
            v1::Release::Snap { toward, push } => ReleaseSpec::Snap {
                toward_rad: self.number(&at("toward"), toward, lim::AZIMUTH),
                push: self.push_or_hands(path, push.as_ref(), length_m),
            },
            v1::Release::PushOver { toward, push } => ReleaseSpec::PushOver {
                toward_rad: self.number(&at("toward"), toward, lim::AZIMUTH),
                push: self.push_or_hands(path, push.as_ref(), length_m),
            },
        }
    }

    fn hinge_width(
        &mut self,
        path: &str,
        width: Option<&Told<crate::quantity::Share>>,
    ) -> Doubtful {
        match width {
            Some(width) => self.number(&format!("{path}.width"), width, lim::WIDTH),
            None => {
                self.assume(&format!("{path}.width"), "the hinge is as wide as the stem there");
                Doubtful::exact(HINGE_WIDTH_SHARE)
            }
        }
    }

    fn push(&mut self, path: &str, push: &v1::Push) -> Push {
        Push {
            force_n: self.number(&format!("{path}.push.force"), &push.force, lim::PUSH),
            height_m: self.number(&format!("{path}.push.height"), &push.height, lim::PUSH_HEIGHT),
        }
    }

    fn push_or_hands(&mut self, path: &str, push: Option<&v1::Push>, length_m: f64) -> Push {
        if let Some(push) = push {
            return self.push(path, push);
        }
        let height_m = PUSH_HEIGHT_M.min(0.8 * length_m).max(lim::PUSH_HEIGHT.low);
        let text = Length::from_si(height_m).text(self.units);
        self.assume(&format!("{path}.push.height"), format!("hands at {text} above the cut"));
        Push {
            force_n: self.number(
                &format!("{path}.push.force"),
                &Told::<crate::quantity::Force>::DontKnow,
                lim::PUSH,
            ),
            height_m: Doubtful::exact(height_m),
        }
    }
}
