//! Footprints of buildings out of GeoJSON (RFC 7946).
//!
//! Polygons and multipolygons, bare or in features; longitude and latitude by that standard, the
//! system that `--crs` or the older `crs` member names, or the ground's own where they lie on it.
//! Heights come from a feature's `height` (the highest) and `eaves` in metres, or with a unit, else
//! from flags. Read by serde_json: crate geojson would bring geo-types and some forty more.

use std::{fs, path::Path};

use glam::DVec2;
use serde_json::Value;

use super::{Base, Item, Proposal, Proposals, Sure, cells::simplified, write::id_of};
use crate::{
    quantity::{Length, Quantity as _},
    scene::outline::{area_m2, contains, crossing},
    terrain::{TerrainError, system::System, without_mark},
};

/// Largest file, bytes.
const LARGEST_FILE: u64 = 16 << 20;
/// Most footprints on the ground.
const MOST: usize = 200;
/// Most corners of one.
const MOST_CORNERS: usize = 1_000;
/// Least area, m².
const LEAST_AREA_M2: f64 = 0.5;
/// Corners within so far of a straight side are left out, m.
const OFF_M: f64 = 0.05;
/// Heights that are allowed, m.
const HEIGHT_M: [f64; 2] = [0.2, 100.0];

/// What a file of footprints leaves open.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told {
    /// Its coordinate system.
    pub epsg: Option<u16>,
    /// Height of the eaves where a footprint has none of its own, m.
    pub wall_m: Option<f64>,
    /// Height of the ridge, m; as the eaves if left out.
    pub roof_m: Option<f64>,
}

/// One polygon as it is written.
struct Written<'a> {
    /// Where in the file.
    path: String,
    rings: &'a Value,
    properties: Option<&'a Value>,
    id: Option<String>,
}

/// What footprints propose on the ground.
///
/// # Errors
/// What can't be read or told, and none on the ground.
pub fn from_footprints(base: &Base, path: &Path, told: Told) -> Result<Proposals, TerrainError> {
    let name = path.display().to_string();
    let error = |field: &str, read: String, allowed: &str| {
        TerrainError::new(name.clone(), field, read, allowed)
    };
    for (flag, height) in [("--height", told.wall_m), ("--roof", told.roof_m)] {
        if let Some(m) = height.filter(|h| !(HEIGHT_M[0]..=HEIGHT_M[1]).contains(h)) {
            let allowed = format!("{} to {} m", HEIGHT_M[0], HEIGHT_M[1]);
            return Err(error(flag, format!("{m} m"), &allowed));
        }
    }
    let whole = "a plain GeoJSON file, up to 16 MB";
    let about = fs::metadata(path).map_err(|e| error("file", e.to_string(), whole))?;
    if !about.is_file() || about.len() > LARGEST_FILE {
        return Err(error("file", format!("{} bytes", about.len()), whole));
    }
    let bytes = fs::read(path).map_err(|e| error("file", e.to_string(), whole))?;
    let json: Value = serde_json::from_slice(without_mark(&bytes))
        .map_err(|e| error("file", e.to_string(), "GeoJSON, whole").at_line(e.line() as u64))?;
    let (mut written, mut other) = (Vec::new(), 0);
    polygons(&name, &json, "", (None, None), &mut written, &mut other)?;
    if written.is_empty() {
        let read = format!("no polygon, {other} other geometries");
        return Err(error("geometry", read, "Polygon or MultiPolygon"));
    }
    let mut corners =
        written.iter().map(|w| outer(&name, w)).collect::<Result<Vec<(Vec<DVec2>, usize)>, _>>()?;
    let (system, words) = system(base, &name, &json, told.epsg, &corners)?;
    let mut found = Proposals::default();
    let mut off = 0;
    for (one, (ring, holes)) in written.iter().zip(&mut corners) {
        for p in ring.iter_mut() {
            let here = match &system {
                Some(system) => system.to(*p, &base.system),
                None => Some(*p),
            };
            *p = here.ok_or_else(|| {
                error(&one.path, format!("{}, {}", p.x, p.y), "places that its system has")
            })? - base.at_m;
        }
        let [low, high] = base.bounds_m();
        let inside = |p: &DVec2| p.cmpge(low).all() && p.cmple(high).all();
        if !ring.iter().all(inside) {
            off += 1;
            continue;
        }
        if found.proposals.len() >= MOST {
            off += 1;
            continue;
        }
        found.push(structure(&name, one, ring, *holes, told)?);
    }
    let count = found.proposals.len();
    if count == 0 {
        let first = corners.first().and_then(|(ring, _)| ring.first()).copied();
        let first = first.unwrap_or(DVec2::ZERO);
        return Err(error(
            "coordinates",
            format!(
                "{off} footprints, none whole on the ground; the first is {:.0} m east and {:.0} m \
                 north of the place, {words}",
                first.x, first.y
            ),
            "footprints on the ground; --crs EPSG:N names their system",
        ));
    }
    found.files.push(format!("{name}: {count} footprints on the ground; {words}"));
    if off > 0 {
        found.notes.push(format!(
            "{name}: {off} footprints are left out: off the ground, or beyond the first {MOST}"
        ));
    }
    if other > 0 {
        found.notes.push(format!("{name}: {other} geometries that aren't polygons are left out"));
    }
    Ok(found)
}

/// All polygons in a GeoJSON object.
fn polygons<'a>(
    name: &str,
    json: &'a Value,
    path: &str,
    (properties, id): (Option<&'a Value>, Option<&str>),
    found: &mut Vec<Written<'a>>,
    other: &mut usize,
) -> Result<(), TerrainError> {
    let at =
        |field: &str| if path.is_empty() { field.to_owned() } else { format!("{path}.{field}") };
    let list = |field: &str| {
        json.get(field)
            .and_then(Value::as_array)
            .ok_or_else(|| TerrainError::new(name, at(field), short(json.get(field)), "a list"))
    };
    match json.get("type").and_then(Value::as_str) {
        Some("FeatureCollection") => {
            for (k, feature) in list("features")?.iter().enumerate() {
                let path = format!("{}[{k}]", at("features"));
                polygons(name, feature, &path, (None, None), found, other)?;
            }
        }
        Some("Feature") => {
            let geometry = json.get("geometry").unwrap_or(&Value::Null);
            if geometry.is_null() {
                *other += 1;
                return Ok(());
            }
            let properties = json.get("properties");
            let named =
                |v: &Value| v.as_str().map(str::to_owned).or(v.as_i64().map(|n| n.to_string()));
            let own = json
                .get("id")
                .and_then(named)
                .or_else(|| properties.and_then(|p| p.get("name")).and_then(named));
            polygons(name, geometry, &at("geometry"), (properties, own.as_deref()), found, other)?;
        }
        Some("GeometryCollection") => {
            for (k, one) in list("geometries")?.iter().enumerate() {
                let path = format!("{}[{k}]", at("geometries"));
                polygons(name, one, &path, (properties, id), found, other)?;
            }
        }
        Some("Polygon") => found.push(Written {
            path: at("coordinates"),
            rings: json.get("coordinates").unwrap_or(&Value::Null),
            properties,
            id: id.map(str::to_owned),
        }),
        Some("MultiPolygon") => {
            for (k, rings) in list("coordinates")?.iter().enumerate() {
                let path = format!("{}[{k}]", at("coordinates"));
                found.push(Written { path, rings, properties, id: id.map(str::to_owned) });
            }
        }
        Some("Point" | "MultiPoint" | "LineString" | "MultiLineString") => *other += 1,
        _ => {
            return Err(TerrainError::new(
                name,
                at("type"),
                short(json.get("type")),
                "FeatureCollection, Feature or a geometry of GeoJSON (RFC 7946)",
            ));
        }
    }
    Ok(())
}

/// A value in a few letters.
fn short(value: Option<&Value>) -> String {
    let text = value.map_or("nothing".to_owned(), ToString::to_string);
    if text.chars().count() > 40 {
        return text.chars().take(37).chain("...".chars()).collect();
    }
    text
}

/// The corners of a polygon's outer ring as they are written, and how many holes it has.
fn outer(name: &str, one: &Written<'_>) -> Result<(Vec<DVec2>, usize), TerrainError> {
    let error = |path: String, read: String, allowed: String| {
        Err(TerrainError::new(name, path, read, allowed))
    };
    let rings = one.rings.as_array().filter(|r| !r.is_empty());
    let (Some(rings), Some(ring)) =
        (rings, rings.and_then(|r| r.first()).and_then(Value::as_array))
    else {
        return error(one.path.clone(), short(Some(one.rings)), "a list of rings".into());
    };
    if !(3..=MOST_CORNERS).contains(&ring.len()) {
        let allowed = format!("3 to {MOST_CORNERS} corners");
        return error(format!("{}[0]", one.path), format!("{} corners", ring.len()), allowed);
    }
    let mut corners: Vec<DVec2> = Vec::new();
    for (k, corner) in ring.iter().enumerate() {
        let number = |i: usize| {
            corner.get(i).and_then(Value::as_f64).filter(|x| x.is_finite() && x.abs() < 1e9)
        };
        let (Some(x), Some(y)) = (number(0), number(1)) else {
            let path = format!("{}[0][{k}]", one.path);
            return error(path, short(Some(corner)), "two numbers under 1e9".into());
        };
        corners.push(DVec2::new(x, y));
    }
    if corners.first() == corners.last() {
        corners.pop();
    }
    Ok((corners, rings.len() - 1))
}

/// The system of the coordinates, if it isn't the ground's own, and how that was told.
fn system(
    base: &Base,
    name: &str,
    json: &Value,
    given: Option<u16>,
    corners: &[(Vec<DVec2>, usize)],
) -> Result<(Option<System>, String), TerrainError> {
    let own = json.pointer("/crs/properties/name").and_then(Value::as_str);
    let code = match (given, own) {
        (Some(code), _) => Some((code, format!("EPSG:{code} by --crs"))),
        (None, Some(text)) if text.ends_with("CRS84") => Some((4326, text.to_owned())),
        (None, Some(text)) => {
            let code = text.rsplit(':').next().and_then(|c| c.parse().ok());
            let code = code.filter(|_| text.to_ascii_uppercase().contains("EPSG"));
            let allowed = "a name that ends in EPSG:N, or --crs EPSG:N";
            let code = code.ok_or_else(|| {
                TerrainError::new(name, "crs.properties.name", format!("{text:?}"), allowed)
            })?;
            Some((code, text.to_owned()))
        }
        (None, None) => None,
    };
    let all = || corners.iter().flat_map(|(ring, _)| ring);
    let (low, high) =
        all().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(a, b), p| (a.min(*p), b.max(*p)));
    let [west, east] = base.bounds_m().map(|b| b + base.at_m);
    let on_ground = all().any(|p| p.cmpge(west).all() && p.cmple(east).all());
    let like_degrees = low.abs().max(high.abs()).cmple(DVec2::new(180.0, 90.0)).all();
    let needs_earth =
        |code: u16, words: String| -> Result<(Option<System>, String), TerrainError> {
            let system = System::from_epsg(name, code)?;
            if system.same(&base.system) {
                return Ok((None, words));
            }
            if !base.system.on_earth {
                return Err(TerrainError::new(
                    name,
                    "coordinate system",
                    words,
                    "the ground's own coordinates: where on earth that ground is isn't known",
                ));
            }
            Ok((Some(system), words))
        };
    match code {
        Some((code, words)) => needs_earth(code, words),
        // Without a word of it degrees are what the standard says, unless the ground is nowhere.
        None if like_degrees && base.system.on_earth => {
            needs_earth(4326, "longitude and latitude, as RFC 7946 has them".to_owned())
        }
        None if on_ground => Ok((None, "taken as the ground's own coordinates".to_owned())),
        None => Err(TerrainError::new(
            name,
            "coordinates",
            format!("x {} to {}, y {} to {}", low.x, high.x, low.y, high.y),
            format!(
                "longitude and latitude (RFC 7946), the ground's own x {:.0} to {:.0} and y {:.0} to \
                 {:.0}, or --crs EPSG:N",
                west.x, east.x, west.y, east.y
            ),
        )),
    }
}

/// One footprint, in metres from the place.
fn structure(
    name: &str,
    one: &Written<'_>,
    ring: &[DVec2],
    holes: usize,
    told: Told,
) -> Result<Proposal, TerrainError> {
    let error = |field: String, read: String, allowed: String| {
        Err(TerrainError::new(name, field, read, allowed))
    };
    let mut corners_m: Vec<DVec2> = Vec::new();
    for p in ring {
        if corners_m.last().is_none_or(|last| last.distance(*p) > 0.01) {
            corners_m.push(*p);
        }
    }
    let from = corners_m.len();
    if corners_m.len() > 4 {
        let closed: Vec<DVec2> =
            corners_m.iter().copied().chain(corners_m.first().copied()).collect();
        let mut fewer = simplified(&closed, OFF_M);
        fewer.pop();
        if fewer.len() >= 3 && crossing(&fewer).is_none() {
            corners_m = fewer;
        }
    }
    let field = format!("{}[0]", one.path);
    if corners_m.len() < 3 || area_m2(&corners_m).abs() < LEAST_AREA_M2 {
        let area = area_m2(&corners_m).abs();
        let read = format!("{} corners round {area:.2} m²", corners_m.len());
        return error(field, read, format!("an outline of {LEAST_AREA_M2} m² or more"));
    }
    if let Some((i, j)) = crossing(&corners_m) {
        let read = format!("sides {} and {} that cross", i + 1, j + 1);
        return error(field, read, "corners in order round the outline".into());
    }
    if area_m2(&corners_m) < 0.0 {
        corners_m.reverse();
    }
    let own = |key: &str| -> Result<Option<f64>, TerrainError> {
        let Some(value) = one.properties.and_then(|p| p.get(key)).filter(|v| !v.is_null()) else {
            return Ok(None);
        };
        let metres = match value {
            Value::Number(number) => number.as_f64(),
            Value::String(text) => text
                .trim()
                .parse::<f64>()
                .ok()
                .or_else(|| text.parse::<Length>().ok().map(Length::si)),
            _ => None,
        };
        let metres = metres.filter(|h| (HEIGHT_M[0]..=HEIGHT_M[1]).contains(h));
        metres.map(Some).ok_or_else(|| {
            TerrainError::new(
                name,
                format!("{} (its properties.{key})", one.path),
                short(Some(value)),
                format!("{} to {} m, as a number or with a unit", HEIGHT_M[0], HEIGHT_M[1]),
            )
        })
    };
    let (height, eaves) = (own("height")?, own("eaves")?);
    let of_file = height.is_some() || eaves.is_some();
    let wall = eaves.or(height).or(told.wall_m);
    let roof = height.or(if of_file { None } else { told.roof_m }).or(wall);
    let (Some(wall), Some(roof)) = (wall, roof) else {
        return error(
            one.path.clone(),
            "a footprint without a height".into(),
            "properties height and eaves, or --height (and --roof)".into(),
        );
    };
    if roof < wall {
        let allowed = format!("at least the eaves, {wall} m");
        return error(one.path.clone(), format!("a roof at {roof} m"), allowed);
    }
    let area = area_m2(&corners_m);
    let mut why = format!(
        "a footprint of {area:.0} m², eaves at {wall:.1} m and ridge at {roof:.1} m {}",
        if of_file { "by the file" } else { "as told by flags" }
    );
    if corners_m.len() < from {
        why += &format!("; {} corners on straight sides left out", from - corners_m.len());
    }
    if holes > 0 {
        why += &format!("; {holes} courtyards filled");
    }
    if contains(&corners_m, DVec2::ZERO) {
        why += "; the place lies inside it, where no stump can stand";
    }
    why += ". Look whether it stands there, and how high";
    Ok(Proposal {
        id: id_of(one.id.as_deref().unwrap_or(""), "footprint"),
        from: name.to_owned(),
        points: from as u64,
        sure: Sure::Fair,
        why,
        item: Item::Structure { corners_m, wall_m: [wall, wall], roof_m: [roof, roof] },
    })
}
