//! Coordinate systems: what a file says of its own, and the way from it to metres on the ground.
//!
//! A system is a definition string of the PROJ kind (from the EPSG table of crate
//! `crs-definitions`, or from WKT by crate `proj4wkt`), read by crate `proj4rs`. Outside source:
//! `val_projections` holds frozen answers of PROJ against it.
//!
//! Left out: shifts between datums of the WGS 84 family (NAD83, ETRS89 and their like are taken as
//! one; up to about 2 m), and geoids: a height stays the height that the file has.

use std::sync::{Arc, OnceLock};

use glam::DVec2;
use proj4rs::Proj;

use super::{LengthUnit, TerrainError};

/// Most that a metre of the map may differ from a metre on the ground (ours; UTM: 0.1 %).
const SCALE_OFF: f64 = 0.002;
/// WGS 84: semi-major axis, m, and eccentricity squared (NGA.STND.0036).
const AXIS_M: f64 = 6_378_137.0;
const ECCENTRICITY_SQUARED: f64 = 6.694_379_990_14e-3;
/// Inverse flattening of WGS 84; GRS 80's differs by 1.5e-6.
const INVERSE_FLATTENING: f64 = 298.257_223_563;
/// Step over which a map is compared with the ground, degrees: about 11 m.
const STEP_DEG: f64 = 1e-4;

/// Shifts to WGS 84 of national datums on ellipsoids of their own (from memory; held against PROJ
/// in `val_projections`, within 5 m). Without one, latitude and longitude would be off by hundreds
/// of metres.
const SHIFTS: [(u16, &str); 5] = [
    (27700, "446.448,-125.157,542.06,0.15,0.247,0.842,-20.489"),
    (28992, "565.2369,50.0087,465.658,-0.406857,0.350733,-1.870347,4.0812"),
    (31370, "-106.8686,52.2978,-103.7239,0.3366,-0.457,1.8422,-1.2747"),
    (21781, "674.374,15.056,405.346,0,0,0,0"),
    (2056, "674.374,15.056,405.346,0,0,0,0"),
];

/// A coordinate system.
#[derive(Clone, Debug)]
pub struct System {
    /// EPSG code, if the file names one or one was given.
    pub epsg: Option<u16>,
    /// Its name; empty if none is known.
    pub name: String,
    /// Metres in one unit of its coordinates; `None` for degrees.
    pub unit_m: Option<f64>,
    /// Whether latitude and longitude can be told within a few metres.
    pub on_earth: bool,
    definition: String,
    projection: Option<Arc<Proj>>,
}

/// What a GeoTIFF's or a point cloud's keys say (OGC GeoTIFF 1.1, annexes).
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Keys {
    /// GTModelType: 1 projected, 2 geographic, 3 geocentric.
    pub model: Option<u16>,
    /// Code of the projected system.
    pub projected: Option<u16>,
    /// Code of the geographic system.
    pub geographic: Option<u16>,
    /// Code of the unit of projected coordinates.
    pub linear_unit: Option<u16>,
    /// Code of the vertical system.
    pub vertical: Option<u16>,
    /// Code of the unit of heights.
    pub vertical_unit: Option<u16>,
    /// Names, as the file has them.
    pub citation: String,
}

impl Keys {
    /// Whether all is understood but, at most, which system a code names: another can be told then.
    #[must_use]
    pub fn only_the_code_is_unknown(&self) -> bool {
        self.model != Some(3)
            && self.linear_unit.is_none_or(|code| LengthUnit::from_code(code).is_some())
    }

    /// A system of which only the unit is known, if it is named.
    #[must_use]
    pub fn unit_alone(&self) -> Option<System> {
        if self.model == Some(2) {
            return Some(System { unit_m: None, ..System::nowhere(LengthUnit::Metre) });
        }
        self.linear_unit.and_then(LengthUnit::from_code).map(System::nowhere)
    }
}

impl System {
    /// The system of an EPSG code.
    ///
    /// # Errors
    /// A code that isn't in the table or isn't a horizontal system.
    pub fn from_epsg(file: &str, code: u16) -> Result<Self, TerrainError> {
        let shift = SHIFTS.iter().find(|s| s.0 == code);
        let definition = crs_definitions::from_code(code)
            .map(|d| d.proj4.replace("+type=crs", ""))
            .map(|d| shift.map_or(d.clone(), |s| format!("{d} +towgs84={}", s.1)));
        definition
            .and_then(|definition| Self::new(Some(code), format!("EPSG:{code}"), definition))
            .ok_or_else(|| {
                TerrainError::new(
                    file,
                    "coordinate system",
                    format!("EPSG:{code}"),
                    "a horizontal system of the EPSG table; --crs EPSG:N names another",
                )
            })
    }

    /// The system of a WKT text (OGC 01-009 or ISO 19162, ESRI's too).
    ///
    /// # Errors
    /// What can't be read.
    pub fn from_wkt(file: &str, text: &str) -> Result<Self, TerrainError> {
        let text = text.trim_matches(|c: char| c == '\0' || c.is_whitespace());
        let horizontal = horizontal_part(text);
        let name = quoted(horizontal).unwrap_or_default();
        if let Some(code) = authority(horizontal)
            && let Ok(found) = Self::from_epsg(file, code)
        {
            let stated = linear_unit(horizontal);
            return Ok(Self { name, ..found }.in_unit(stated));
        }
        proj4wkt::wkt_to_projstring(horizontal)
            .ok()
            .map(|definition| without_invented_shift(definition, horizontal))
            .and_then(|definition| Self::new(None, name, definition))
            .map(Self::with_code_of_utm)
            .ok_or_else(|| {
                let start: String = text.chars().take(60).collect();
                TerrainError::new(
                    file,
                    "coordinate system",
                    format!("{start:?}"),
                    "WKT of a projection that is known; --crs EPSG:N names it",
                )
            })
    }

    /// What is known of a system whose WKT text isn't understood: its unit, if it names one.
    #[must_use]
    pub fn unit_of_wkt(text: &str) -> Option<Self> {
        let horizontal = horizontal_part(text.trim_start());
        let starts = |words: [&str; 2]| words.iter().any(|word| horizontal.starts_with(word));
        let unit_m = if starts(["PROJCS[", "PROJCRS["]) {
            Some(linear_unit(horizontal).filter(|m| m.is_finite() && *m > 0.0)?)
        } else if starts(["GEOGCS[", "GEOGCRS["]) {
            None
        } else {
            return None;
        };
        Some(Self { unit_m, ..Self::nowhere(LengthUnit::Metre) })
    }

    /// The system that keys name; `None` where they name none.
    ///
    /// # Errors
    /// Codes that aren't known and what is allowed.
    pub fn from_keys(file: &str, keys: &Keys) -> Result<Option<Self>, TerrainError> {
        let error = |field: &str, read: String, allowed: &str| {
            TerrainError::new(file, field, read, allowed)
        };
        let unit = match keys.linear_unit {
            None => None,
            Some(code) => Some(LengthUnit::from_code(code).ok_or_else(|| {
                error(
                    "unit of coordinates",
                    format!("unit code {code}"),
                    "metres, feet or US survey feet",
                )
            })?),
        };
        let name = |system: Self| match name_in(&keys.citation) {
            Some(name) => Self { name, ..system },
            None => system,
        };
        match keys.model {
            Some(3) => Err(error(
                "coordinate system",
                "geocentric coordinates".into(),
                "projected coordinates or degrees",
            )),
            Some(2) => {
                Self::from_epsg(file, keys.geographic.unwrap_or(4326)).map(|s| Some(name(s)))
            }
            _ => match keys.projected {
                Some(code) => {
                    let system = Self::from_epsg(file, code)?;
                    Ok(Some(name(system.in_unit(unit.map(LengthUnit::metres)))))
                }
                // Projected, by parameters of its own or by none: its unit may still be known.
                None => Ok(unit.map(|unit| name(Self::nowhere(unit)))),
            },
        }
    }

    /// Projected coordinates of which only the unit is known.
    #[must_use]
    pub fn nowhere(unit: LengthUnit) -> Self {
        Self {
            epsg: None,
            name: String::new(),
            unit_m: Some(unit.metres()),
            on_earth: false,
            definition: String::new(),
            projection: None,
        }
    }

    /// The UTM zone of a place, on WGS 84 (Snyder 1987, USGS PP 1395, ch. 8; Norway's and
    /// Svalbard's exceptions left out).
    #[must_use]
    pub fn utm(latitude: f64, longitude: f64) -> Option<Self> {
        if !(-80.0..=84.0).contains(&latitude) || !(-180.0..=180.0).contains(&longitude) {
            return None;
        }
        let zone = (((longitude + 180.0) / 6.0).floor() as u16).min(59) + 1;
        let (code, half) = if latitude < 0.0 { (32700 + zone, 'S') } else { (32600 + zone, 'N') };
        let system = Self::from_epsg("", code).ok()?;
        Some(Self { name: format!("WGS 84 / UTM zone {zone}{half}"), ..system })
    }

    fn new(epsg: Option<u16>, name: String, definition: String) -> Option<Self> {
        let projection = Proj::from_proj_string(definition.trim()).ok()?;
        if projection.is_geocent() || !projection.is_normalized_axis() {
            return None;
        }
        let unit_m = (!projection.is_latlong()).then(|| projection.to_meter());
        if !(projection.has_inverse() || unit_m.is_none()) {
            return None;
        }
        let family = [
            "+datum=WGS84",
            "+datum=NAD83",
            "+ellps=GRS80",
            "+ellps=WGS84",
            "+towgs84=",
            "+nadgrids=@null",
        ];
        let on_earth = family.iter().any(|word| definition.contains(word));
        Some(Self {
            epsg,
            name,
            unit_m,
            on_earth,
            definition,
            projection: Some(Arc::new(projection)),
        })
    }

    /// The same system with the code of the UTM zone that it is, if it is one: ESRI's texts name none.
    #[must_use]
    fn with_code_of_utm(self) -> Self {
        let code = || {
            let probes = [DVec2::new(5e5, 2e6), DVec2::new(3e5, 5e6), DVec2::new(7e5, 8e6)];
            let first = self.lonlat(probes[0])?;
            let zone = Self::utm(first.y, first.x)?;
            let fits =
                probes.iter().all(|p| self.to(*p, &zone).is_some_and(|q| q.distance(*p) < 1e-3));
            let code = zone.epsg.filter(|_| fits && self.unit_m == Some(1.0))?;
            let north = code - 32600;
            Some(match self.name.to_ascii_uppercase().replace('_', " ") {
                name if name.starts_with("NAD 1983 UTM") && north <= 23 => 26900 + north,
                name if name.starts_with("ETRS 1989 UTM") && (28..=38).contains(&north) => {
                    25800 + north
                }
                _ => code,
            })
        };
        let epsg = code();
        Self { epsg, ..self }
    }

    /// The same system with its coordinates in another unit (m): files name EPSG codes in metres
    /// over coordinates in feet. The code then no longer fits and is left out.
    #[must_use]
    fn in_unit(self, unit_m: Option<f64>) -> Self {
        let (Some(stated), Some(own)) = (unit_m, self.unit_m) else { return self };
        if (stated / own - 1.0).abs() < 1e-9 {
            return self;
        }
        // False origins are in metres whatever the unit (PROJ's rule for x_0 and y_0).
        let kept: Vec<&str> = self
            .definition
            .split_whitespace()
            .filter(|word| !word.starts_with("+units=") && !word.starts_with("+to_meter="))
            .collect();
        let definition = format!("{} +to_meter={stated}", kept.join(" "));
        Self::new(None, self.name.clone(), definition).unwrap_or(self)
    }

    /// Whether two systems give the same coordinates.
    #[must_use]
    pub fn same(&self, other: &Self) -> bool {
        self.unit_m == other.unit_m
            && (self.definition == other.definition
                || (self.epsg.is_some() && self.epsg == other.epsg))
    }

    /// Whether two systems count in one unit. Texts round it: a US survey foot differs from a foot
    /// by 2e-6 of it.
    #[must_use]
    pub fn same_unit(&self, other: &Self) -> bool {
        match (self.unit_m, other.unit_m) {
            (Some(a), Some(b)) => (a / b - 1.0).abs() < 1e-7,
            (a, b) => a.is_none() && b.is_none(),
        }
    }

    /// Longitude and latitude, degrees on WGS 84, of coordinates in the system's unit.
    #[must_use]
    pub fn lonlat(&self, at: DVec2) -> Option<DVec2> {
        self.to(at, world()?)
    }

    /// Coordinates, in the system's unit, of a longitude and latitude in degrees on WGS 84.
    #[must_use]
    pub fn from_lonlat(&self, lonlat: DVec2) -> Option<DVec2> {
        world()?.to(lonlat, self)
    }

    /// Coordinates of this system as those of another; `None` where there are none.
    #[must_use]
    pub fn to(&self, at: DVec2, other: &Self) -> Option<DVec2> {
        let (from, to) = (self.projection.as_ref()?, other.projection.as_ref()?);
        let turn = |p: DVec2, degrees: bool, f: fn(f64) -> f64| {
            if degrees { DVec2::new(f(p.x), f(p.y)) } else { p }
        };
        let start = turn(at, self.unit_m.is_none(), f64::to_radians);
        if self.unit_m.is_none() && (at.x.abs() > 360.0 || at.y.abs() > 90.0) {
            return None;
        }
        let mut point = (start.x, start.y, 0.0);
        proj4rs::transform::transform(from, to, &mut point).ok()?;
        let end = turn(DVec2::new(point.0, point.1), other.unit_m.is_none(), f64::to_degrees);
        end.is_finite().then_some(end)
    }

    /// What a metre of the map is on the ground at a place (1 is true), the farthest from 1 of two
    /// directions, and the convergence: how far grid north lies clockwise of true north, rad.
    #[must_use]
    pub fn scale_and_convergence(&self, at: DVec2) -> Option<(f64, f64)> {
        let unit_m = self.unit_m?;
        let here = self.lonlat(at)?;
        let step = |d: DVec2| Some((self.from_lonlat(here + d)? - at) * unit_m);
        let north = step(DVec2::new(0.0, STEP_DEG))?;
        let east = step(DVec2::new(STEP_DEG, 0.0))?;
        let (sin, cos) = libm::sincos(here.y.to_radians());
        let w = 1.0 - ECCENTRICITY_SQUARED * sin * sin;
        let radians = STEP_DEG.to_radians();
        let ground_north = AXIS_M * (1.0 - ECCENTRICITY_SQUARED) / w.powf(1.5) * radians;
        let ground_east = AXIS_M / w.sqrt() * cos * radians;
        let scales = [north.length() / ground_north, east.length() / ground_east];
        let scale =
            if (scales[0] - 1.0).abs() > (scales[1] - 1.0).abs() { scales[0] } else { scales[1] };
        // True north in the map's frame, seen clockwise from the map's y, is −convergence.
        Some((scale, -libm::atan2(north.x, north.y)))
    }

    /// Whether the map's metres are metres on the ground at a place.
    #[must_use]
    pub fn is_true_metres(&self, at: DVec2) -> bool {
        self.unit_m == Some(1.0)
            && match self.scale_and_convergence(at) {
                Some((scale, _)) => (scale - 1.0).abs() <= SCALE_OFF,
                None => self.projection.is_none(),
            }
    }

    /// The unit in words.
    #[must_use]
    pub fn unit_words(&self) -> &'static str {
        match self.unit_m {
            None => "degrees",
            Some(m) if (m - LengthUnit::UsSurveyFoot.metres()).abs() < 1e-9 => "US survey feet",
            Some(m) if (m - LengthUnit::Foot.metres()).abs() < 1e-9 => "feet",
            Some(1.0) => "metres",
            Some(_) => "a unit of its own",
        }
    }
}

/// Longitude and latitude on WGS 84.
fn world() -> Option<&'static System> {
    static WORLD: OnceLock<Option<System>> = OnceLock::new();
    let system =
        || System::new(Some(4326), "WGS 84".into(), "+proj=longlat +datum=WGS84 +no_defs".into());
    WORLD.get_or_init(system).as_ref()
}

/// Unit and name of heights by the code of their system.
#[must_use]
pub fn vertical(code: u16) -> Option<(LengthUnit, String)> {
    let definition = crs_definitions::from_code(code)?.proj4;
    let unit = definition.split_whitespace().find_map(|w| w.strip_prefix("+vunits="))?;
    let unit = match unit {
        "m" => LengthUnit::Metre,
        "ft" => LengthUnit::Foot,
        "us-ft" => LengthUnit::UsSurveyFoot,
        _ => return None,
    };
    Some((unit, format!("EPSG:{code}")))
}

/// Unit and name of heights that a WKT text names, if it names any.
#[must_use]
pub fn vertical_of_wkt(text: &str) -> Option<(LengthUnit, String)> {
    let start = ["VERT_CS[", "VERTCRS[", "VERTICALCRS[", "VERTCS["]
        .iter()
        .find_map(|word| text.find(word))?;
    let part = text.get(start..)?;
    let unit = LengthUnit::from_metres(linear_unit(part)?)?;
    Some((unit, quoted(part).unwrap_or_default()))
}

impl LengthUnit {
    /// The unit of an EPSG code of units.
    #[must_use]
    pub fn from_code(code: u16) -> Option<Self> {
        match code {
            9001 => Some(Self::Metre),
            9002 => Some(Self::Foot),
            9003 => Some(Self::UsSurveyFoot),
            _ => None,
        }
    }

    /// The unit of so many metres.
    #[must_use]
    pub fn from_metres(metres: f64) -> Option<Self> {
        [Self::Metre, Self::Foot, Self::UsSurveyFoot]
            .into_iter()
            .find(|unit| (unit.metres() / metres - 1.0).abs() < 1e-7)
    }

    /// The unit in words, as flags take it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Metre => "m",
            Self::Foot => "ft",
            Self::UsSurveyFoot => "us-ft",
        }
    }
}

/// A coordinate system as it is told of files that don't name theirs: `EPSG:2994`, its number, or
/// `none`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// The system of a code.
    Epsg(u16),
    /// Metres, nowhere on earth.
    Nowhere,
}

impl std::str::FromStr for Told {
    type Err = String;

    /// What was read and what is allowed.
    fn from_str(text: &str) -> Result<Self, String> {
        if text.eq_ignore_ascii_case("none") {
            return Ok(Self::Nowhere);
        }
        let digits = text.trim_start_matches("EPSG:").trim_start_matches("epsg:");
        digits.parse().map(Self::Epsg).map_err(|_| {
            format!(
                "read {text}; allowed: EPSG:N, as EPSG:2994, or none (metres, nowhere on earth)"
            )
        })
    }
}

/// Without the shift of zeros that crate proj4wkt writes where a text names none: it is right on the
/// ellipsoids of WGS 84 and GRS 80 only, and would place old datums some 100 m off as if known.
fn without_invented_shift(definition: String, text: &str) -> String {
    let number = |key: &str| {
        let word = definition.split_whitespace().find_map(|w| w.strip_prefix(key));
        word.and_then(|w| w.parse::<f64>().ok())
    };
    let of_the_family = number("+a=").is_some_and(|a| (a - AXIS_M).abs() < 0.01)
        && number("+rf=").is_some_and(|rf| (rf - INVERSE_FLATTENING).abs() < 1e-4);
    if of_the_family || text.contains("TOWGS84") {
        return definition;
    }
    definition.replace("+towgs84=0,0,0,0,0,0,0", "")
}

/// The part of a WKT text that is the horizontal system: a compound one's first member.
fn horizontal_part(text: &str) -> &str {
    let compound = ["COMPD_CS[", "COMPOUNDCRS["].iter().any(|w| text.starts_with(w));
    if !compound {
        return text;
    }
    let start = ["PROJCS[", "PROJCRS[", "GEOGCS[", "GEOGCRS["]
        .iter()
        .filter_map(|w| text.get(1..).and_then(|t| t.find(w)).map(|at| at + 1))
        .min()
        .unwrap_or(0);
    let part = text.get(start..).unwrap_or(text);
    part.get(..end_of(part)).unwrap_or(part)
}

/// One past the bracket that closes the first one.
fn end_of(text: &str) -> usize {
    let (mut depth, mut in_quotes) = (0_usize, false);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            b'"' => in_quotes = !in_quotes,
            b'[' if !in_quotes => depth += 1,
            b']' if !in_quotes => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return at + 1;
                }
            }
            _ => {}
        }
    }
    text.len()
}

/// The first text in quotes.
fn quoted(text: &str) -> Option<String> {
    text.split('"').nth(1).map(str::to_owned)
}

/// The EPSG code of the outermost node.
fn authority(text: &str) -> Option<u16> {
    let (mut depth, mut found) = (0_usize, None);
    let mut rest = text;
    while let Some(at) = rest.find(['[', ']', '"']) {
        match rest.as_bytes().get(at) {
            Some(b'[') => {
                let word = rest.get(..at).unwrap_or("");
                if depth == 1 && (word.ends_with("AUTHORITY") || word.ends_with("ID")) {
                    let inside = rest.get(at + 1..).unwrap_or("");
                    let inside = inside.split(']').next().unwrap_or("");
                    if inside.trim_start().starts_with("\"EPSG\"") {
                        found = inside
                            .split(',')
                            .nth(1)
                            .and_then(|c| c.trim_matches(|c| c == '"' || c == ' ').parse().ok());
                    }
                }
                depth += 1;
                rest = rest.get(at + 1..).unwrap_or("");
            }
            Some(b'"') => {
                let after = rest.get(at + 1..).unwrap_or("");
                rest = after.find('"').and_then(|end| after.get(end + 1..)).unwrap_or("");
            }
            _ => {
                depth = depth.saturating_sub(1);
                rest = rest.get(at + 1..).unwrap_or("");
            }
        }
    }
    found
}

/// Metres of the last length unit that a WKT text names: that of its axes.
fn linear_unit(text: &str) -> Option<f64> {
    let mut found = None;
    for word in ["UNIT[", "LENGTHUNIT["] {
        let mut from = 0;
        while let Some(at) = text.get(from..).and_then(|t| t.find(word)) {
            let inside = text.get(from + at + word.len()..).unwrap_or("");
            let mut parts = inside.split([',', ']']);
            let name = parts.next().unwrap_or("").trim_matches('"').to_ascii_lowercase();
            let value = parts.next().and_then(|v| v.trim().parse::<f64>().ok());
            if !name.contains("deg") && !name.contains("rad") && !name.contains("unity") {
                found = value.or(found);
            }
            from += at + word.len();
        }
    }
    found
}

/// A system's name out of a citation: "PCS Name = …|", a whole definition, or the name alone.
fn name_in(citation: &str) -> Option<String> {
    let first = citation.split('|').find(|part| !part.trim().is_empty())?;
    let name = match first.split_once("PROJCS[\"") {
        Some((_, rest)) => rest.split('"').next().unwrap_or_default(),
        None => first.trim_start_matches("PCS Name ="),
    };
    let name = name.trim_matches(|c: char| c == '\0' || c.is_whitespace());
    (!name.is_empty()).then(|| name.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_feet_degrees_and_survey_feet_are_told_apart() {
        let feet = System::from_epsg("t", 2994).unwrap();
        assert_eq!((feet.unit_words(), feet.on_earth), ("feet", true));
        assert_eq!(System::from_epsg("t", 2225).unwrap().unit_words(), "US survey feet");
        assert_eq!(System::from_epsg("t", 4269).unwrap().unit_words(), "degrees");
        assert_eq!(System::from_epsg("t", 26915).unwrap().unit_words(), "metres");
        // A height system or nothing is no place.
        assert!(System::from_epsg("t", 5703).is_err() && System::from_epsg("t", 7).is_err());
        assert_eq!(vertical(6360).unwrap().0, LengthUnit::UsSurveyFoot);
        assert_eq!(vertical(3855).unwrap().0, LengthUnit::Metre);
    }

    #[test]
    fn verif_a_code_in_metres_over_coordinates_in_feet_keeps_its_place() {
        let keys = Keys {
            model: Some(1),
            projected: Some(32104),
            linear_unit: Some(9003),
            ..Keys::default()
        };
        let feet = System::from_keys("t", &keys).unwrap().unwrap();
        assert_eq!((feet.unit_words(), feet.epsg), ("US survey feet", None));
        let metres = System::from_epsg("t", 32104).unwrap();
        let at = DVec2::new(700_000.0, 180_000.0);
        let (a, b) = (metres.lonlat(at).unwrap(), feet.lonlat(at * 3937.0 / 1200.0).unwrap());
        assert!(a.distance(b) < 1e-10, "{a} {b}");
    }

    #[test]
    fn verif_mercator_metres_are_none_and_utm_metres_are() {
        let place = DVec2::new(-93.9, 46.5);
        for (code, good) in [(3857, false), (32615, true), (26915, true), (5070, false)] {
            let system = System::from_epsg("t", code).unwrap();
            let at = system.from_lonlat(place).unwrap();
            assert_eq!(system.is_true_metres(at), good, "{code}");
            assert!(system.lonlat(at).unwrap().distance(place) < 1e-8);
        }
        let (scale, convergence) = System::from_epsg("t", 32615)
            .map(|s| s.scale_and_convergence(s.from_lonlat(place).unwrap()).unwrap())
            .unwrap();
        // 0.9 degrees of longitude west of the meridian: sin φ Δλ, to first order (Snyder, 8-15).
        let want = 46.5_f64.to_radians().sin() * (-0.9_f64).to_radians();
        assert!((convergence - want).abs() < 2e-4, "{convergence} {want}");
        assert!((scale - 0.99968).abs() < 1e-4, "{scale}");
    }

    #[test]
    fn verif_wkt_is_read_with_its_code_and_without() {
        let wkt = r#"COMPD_CS["NAD83 / Oregon + NAVD88",PROJCS["NAD83 / Oregon GIC Lambert (ft)",GEOGCS["NAD83",DATUM["North_American_Datum_1983",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6269"]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4269"]],PROJECTION["Lambert_Conformal_Conic_2SP"],PARAMETER["standard_parallel_1",43],PARAMETER["standard_parallel_2",45.5],PARAMETER["latitude_of_origin",41.75],PARAMETER["central_meridian",-120.5],PARAMETER["false_easting",1312335.958005249],PARAMETER["false_northing",0],UNIT["foot",0.3048,AUTHORITY["EPSG","9002"]],AUTHORITY["EPSG","2992"]],VERT_CS["NAVD88 height (ftUS)",VERT_DATUM["North American Vertical Datum 1988",2005],UNIT["US survey foot",0.304800609601219],AUTHORITY["EPSG","6360"]]]"#;
        let system = System::from_wkt("t", wkt).unwrap();
        assert_eq!((system.epsg, system.unit_words()), (Some(2992), "feet"));
        assert_eq!(vertical_of_wkt(wkt).unwrap().0, LengthUnit::UsSurveyFoot);
        let bare = wkt.replace(r#",AUTHORITY["EPSG","2992"]"#, "");
        let by_text = System::from_wkt("t", &bare).unwrap();
        assert_eq!(by_text.unit_words(), "feet");
        let at = DVec2::new(636_500.0, 849_200.0);
        let (a, b) = (system.lonlat(at).unwrap(), by_text.lonlat(at).unwrap());
        assert!(a.distance(b) < 1e-9, "{a} {b}");
        assert!(vertical_of_wkt(&bare).is_some() && System::from_wkt("t", "PROJCS[\"x\"").is_err());
        assert!(System::from_wkt("t", "").is_err());
    }
}
