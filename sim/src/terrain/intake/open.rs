//! Files opened far enough to know what they are: kind, coordinate system, units, extent.

use std::path::{Path, PathBuf};

use glam::DVec2;

use super::{Wanted, cloud, place::named, survey};
use crate::terrain::{
    LengthUnit, TerrainError, ascii,
    geotiff::Sheet,
    system::{Keys, System, Told, vertical, vertical_of_wkt},
};

/// What a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Heights on a grid.
    Raster,
    /// Many points, with or without classes.
    Cloud,
    /// Points that someone surveyed.
    Survey,
}

/// A file whose header has been read.
pub(super) struct Opened {
    pub(super) path: PathBuf,
    pub(super) name: String,
    pub(super) system: System,
    pub(super) height_unit: LengthUnit,
    /// South-west and north-east corner in its own coordinates.
    pub(super) low: DVec2,
    pub(super) high: DVec2,
    pub(super) what: What,
    /// What was understood, one line.
    pub(super) words: String,
    pub(super) warnings: Vec<String>,
}

pub(super) enum What {
    GeoTiff(Box<Sheet>),
    Ascii { cell: f64 },
    Cloud { points: u64 },
    Survey(survey::Survey),
}

impl What {
    fn kind(&self) -> Kind {
        match self {
            Self::GeoTiff(_) | Self::Ascii { .. } => Kind::Raster,
            Self::Cloud { .. } => Kind::Cloud,
            Self::Survey(_) => Kind::Survey,
        }
    }
}

impl Opened {
    #[cfg(test)]
    pub(super) fn test(system: System, low: DVec2, high: DVec2) -> Self {
        Self {
            path: PathBuf::new(),
            name: "test".into(),
            system,
            height_unit: LengthUnit::Metre,
            low,
            high,
            what: What::Ascii { cell: 1.0 },
            words: String::new(),
            warnings: Vec::new(),
        }
    }
}

/// What the files hold; they are all of one kind.
pub(super) fn kind(files: &[Opened]) -> Kind {
    files.first().map_or(Kind::Raster, |f| f.what.kind())
}

/// Opens all files; they must be of one kind, and in systems that can be laid on each other.
pub(super) fn open(wanted: &Wanted) -> Result<Vec<Opened>, TerrainError> {
    let files =
        wanted.files.iter().map(|path| open_one(path, wanted)).collect::<Result<Vec<_>, _>>()?;
    if let Some(other) = files.iter().find(|f| f.what.kind() != kind(&files)) {
        return Err(TerrainError::new(
            other.name.clone(),
            "kind of file",
            "another kind than the first file's",
            "files of one kind: rasters, or point clouds, or surveys",
        ));
    }
    if let Some(first) = files.first() {
        for file in &files {
            laid_on(file, &first.system, "the first file's coordinates")?;
        }
    }
    Ok(files)
}

/// Checks that a file's places can be told in a system: its own, or both known on earth. Others
/// would be joined as if they counted alike, or left out unsaid.
pub(super) fn laid_on(file: &Opened, system: &System, whose: &str) -> Result<(), TerrainError> {
    if file.system.same(system) || (file.system.on_earth && system.on_earth) {
        return Ok(());
    }
    let words = |system: &System| format!("{} in {}", named(system), system.unit_words());
    Err(TerrainError::new(
        file.name.clone(),
        "coordinate system",
        format!("{}, beside {whose}: {}", words(&file.system), words(system)),
        "one system in one unit, or systems whose place on earth is known; --crs EPSG:N names that \
         of files that don't",
    ))
}

/// How a file says where and in what unit its heights are.
#[derive(Default)]
pub(super) struct Said {
    pub(super) system: Option<System>,
    /// What it names and isn't understood; `system` then holds no more than its unit.
    pub(super) not_understood: Option<TerrainError>,
    /// Unit of heights and the name of what they count from.
    pub(super) heights: Option<(LengthUnit, String)>,
}

impl Said {
    /// What GeoTIFF keys say.
    pub(super) fn by_keys(name: &str, keys: &Keys) -> Result<Self, TerrainError> {
        let unit = match keys.vertical_unit {
            None => None,
            Some(code) => Some(LengthUnit::from_code(code).ok_or_else(|| {
                let read = format!("unit code {code}");
                TerrainError::new(name, "unit of heights", read, "metres, feet or US survey feet")
            })?),
        };
        let of_system = keys.vertical.and_then(vertical);
        // The unit that is told beside the system is the heights' own.
        let heights = match (unit, of_system) {
            (Some(unit), Some((_, datum))) => Some((unit, datum)),
            (Some(unit), None) => Some((unit, String::new())),
            (None, found) => found,
        };
        let (system, not_understood) = match System::from_keys(name, keys) {
            Ok(system) => (system, None),
            Err(error) if keys.only_the_code_is_unknown() => (keys.unit_alone(), Some(error)),
            Err(error) => return Err(error),
        };
        Ok(Self { system, not_understood, heights })
    }

    /// What a WKT text says.
    pub(super) fn by_text(name: &str, text: &str) -> Self {
        let (system, not_understood) = match System::from_wkt(name, text) {
            Ok(system) => (Some(system), None),
            Err(error) => (System::unit_of_wkt(text), Some(error)),
        };
        Self { system, not_understood, heights: vertical_of_wkt(text) }
    }

    /// What the text of a `.prj` file beside a raster says.
    fn beside(path: &Path) -> Result<Option<Self>, TerrainError> {
        let prj = path.with_extension("prj");
        let Ok(about) = std::fs::metadata(&prj) else { return Ok(None) };
        let name = prj.display().to_string();
        let error = |read: String| {
            TerrainError::new(name.clone(), "file", read, "a text of WKT, up to 64 kB")
        };
        if about.len() > 1 << 16 {
            return Err(error(format!("{} bytes", about.len())));
        }
        let text = std::fs::read_to_string(&prj).map_err(|e| error(e.to_string()))?;
        Ok(Some(Self::by_text(&name, &text)))
    }
}

/// The system and the unit of heights that a file's coordinates are in, by what it says, by flags,
/// or by a plain rule that is said.
pub(super) fn settle(
    name: &str,
    said: Said,
    wanted: &Wanted,
    (low, high): (DVec2, DVec2),
    warnings: &mut Vec<String>,
) -> Result<(System, LengthUnit, String), TerrainError> {
    let given = match wanted.crs {
        None => None,
        Some(Told::Epsg(code)) => Some(System::from_epsg("--crs", code)?),
        Some(Told::Nowhere) => Some(System::nowhere(LengthUnit::Metre)),
    };
    if let Some(error) = said.not_understood {
        // Coordinates that may be degrees can't be told to be metres.
        let unit_known = said.system.is_some();
        if given.is_none() || (wanted.crs == Some(Told::Nowhere) && !unit_known) {
            return Err(error);
        }
        warnings.push(format!(
            "{name}: its own coordinate system isn't understood ({}); --crs stands for it",
            error.read
        ));
    }
    let system = match (said.system, given) {
        (Some(own), Some(given)) if own.on_earth && !own.same(&given) => {
            return Err(TerrainError::new(
                name,
                "coordinate system",
                format!("{} in the file, {} by --crs", named(&own), named(&given)),
                "the file's own, without --crs",
            ));
        }
        (Some(own), Some(given)) if !own.same_unit(&given) => {
            return Err(TerrainError::new(
                name,
                "unit of coordinates",
                format!(
                    "{} in the file, {} of {} by --crs",
                    own.unit_words(),
                    given.unit_words(),
                    named(&given)
                ),
                format!("--crs of a system in {}", own.unit_words()),
            ));
        }
        (_, Some(given)) => given,
        (Some(own), None) => own,
        (None, None) => {
            let like_degrees = low.abs().max(high.abs()).cmple(DVec2::new(180.0, 90.0)).all()
                && (high - low).max_element() < 20.0;
            if like_degrees {
                return Err(TerrainError::new(
                    name,
                    "coordinate system",
                    format!("none, over x {} to {}, y {} to {}", low.x, high.x, low.y, high.y),
                    "--crs EPSG:4326 if these are degrees, --crs none if they are metres of no known \
                     place, or another system",
                ));
            }
            warnings.push(format!(
                "{name}: no coordinate system; coordinates are taken as metres, and where on earth \
                 it is isn't known (--crs EPSG:N says it)"
            ));
            System::nowhere(LengthUnit::Metre)
        }
    };
    let (unit, datum) = match (said.heights, wanted.heights_in) {
        (Some((own, _)), Some(given)) if own != given => {
            return Err(TerrainError::new(
                name,
                "unit of heights",
                format!("{} in the file, {} by --heights-in", own.word(), given.word()),
                "the file's own, without --heights-in",
            ));
        }
        (Some((own, datum)), _) => (own, datum),
        (None, Some(given)) => (given, String::new()),
        (None, None) if system.unit_m.is_none_or(|m| m == 1.0) => {
            warnings.push(format!(
                "{name}: the file doesn't name the unit of its heights; taken as metres \
                 (--heights-in says another)"
            ));
            (LengthUnit::Metre, String::new())
        }
        (None, None) => {
            let likely =
                system.unit_m.and_then(LengthUnit::from_metres).map_or("ft", LengthUnit::word);
            return Err(TerrainError::new(
                name,
                "unit of heights",
                format!("none, over coordinates in {}", system.unit_words()),
                format!(
                    "--heights-in {likely} if they are like the coordinates, or m: slopes come out \
                     3.3 times wrong with the other"
                ),
            ));
        }
    };
    let beyond = low.is_finite() && high.is_finite() && low.cmple(high).all();
    if !beyond || low.abs().max(high.abs()).max_element() > 1e9 {
        return Err(TerrainError::new(
            name,
            "extent",
            format!("x {} to {}, y {} to {}", low.x, high.x, low.y, high.y),
            "coordinates under 1e9, the least before the greatest",
        ));
    }
    let datum = if datum.is_empty() {
        "what they count from isn't named".to_owned()
    } else {
        format!("counted from {datum}")
    };
    let words = format!(
        "{}, coordinates in {}, heights in {} ({datum})",
        named(&system),
        system.unit_words(),
        match unit {
            LengthUnit::Metre => "metres",
            LengthUnit::Foot => "feet",
            LengthUnit::UsSurveyFoot => "US survey feet",
        }
    );
    Ok((system, unit, words))
}

fn open_one(path: &Path, wanted: &Wanted) -> Result<Opened, TerrainError> {
    let name = path.display().to_string();
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
    let mut warnings = Vec::new();
    let (said, low, high, what, start) = match ending.as_str() {
        "tif" | "tiff" | "gtiff" => {
            let sheet = Sheet::open(path)?;
            let said = Said::by_keys(&name, &sheet.keys())?;
            let (low, high) = (sheet.south_west, sheet.north_east());
            warnings.extend(sheet.hand_held_words());
            let start = format!("GeoTIFF, {} by {} heights", sheet.size[0], sheet.size[1]);
            (said, low, high, What::GeoTiff(Box::new(sheet)), start)
        }
        "asc" | "grd" => {
            let (low, high, cell) = ascii::extent(path)?;
            let said = Said::beside(path)?.unwrap_or_default();
            let count = (high - low) / cell + 1.0;
            let start = format!("ESRI ASCII grid, {:.0} by {:.0} heights", count.x, count.y);
            (said, low, high, What::Ascii { cell }, start)
        }
        "las" | "laz" => {
            let (said, low, high, points, start) = cloud::open(path)?;
            (said, low, high, What::Cloud { points }, start)
        }
        "csv" | "txt" | "gpx" => {
            let survey = survey::read(path, &ending)?;
            let (low, high) = survey.extent();
            let start = format!("{} surveyed points", survey.points.len());
            warnings.extend(survey.warnings.clone());
            (survey.said(wanted.crs.is_some()), low, high, What::Survey(survey), start)
        }
        _ => {
            return Err(TerrainError::new(
                name,
                "file",
                format!("the ending {ending:?}"),
                ".tif (GeoTIFF), .asc (ESRI ASCII grid), .las, .laz or .copc.laz (points), .csv or \
                 .gpx (surveyed points)",
            ));
        }
    };
    let (system, height_unit, words) = settle(&name, said, wanted, (low, high), &mut warnings)?;
    if let What::Survey(survey) = &what {
        survey.check_heights(&name, height_unit)?;
    }
    let words = format!("{name}: {start}; {words}");
    Ok(Opened {
        path: path.to_owned(),
        name,
        system,
        height_unit,
        low,
        high,
        what,
        words,
        warnings,
    })
}
