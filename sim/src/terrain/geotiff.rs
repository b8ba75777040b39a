//! Heights from a GeoTIFF: one band, square cells, projected coordinates in a length unit it names.
//!
//! Everything that can't be told is refused rather than guessed: degrees, Web Mercator (whose metres
//! aren't metres on the ground), rotated or oblong cells, an unnamed unit. Only the window that is
//! wanted is decoded. Known answers: rasters written byte by byte in the tests below.

use std::path::Path;

use geotiff_reader::{GeoTiffFile, GeoTiffOpenOptions, crs::ModelType, geokeys};
use glam::DVec2;

use super::{
    LengthUnit, Raster, TerrainError, Window,
    ascii::wanted,
    raster::{Filled, HEIGHT_RANGE_M, MOST_NODES, Patch, check_cell, check_size},
    system::Keys,
};

/// Most columns or rows of the file itself.
const MOST_SIDE: u64 = 1_000_000;
/// Largest file that is opened, bytes: the reader holds it whole or maps it piece by piece.
const LARGEST_FILE: u64 = 4 << 30;
/// GDAL's own tag: what samples are to be multiplied by and what is to be added (GDAL, GTiff driver).
const GDAL_METADATA: u16 = 42112;
/// What a page of the file is; bit 2 says a mask of another (TIFF 6.0, tag NewSubfileType).
const KIND_OF_PAGE: u16 = 254;
const MASK: u64 = 4;
/// Heights at or beyond this are no-data whatever the file says.
const FLOAT_NODATA: f64 = 1e30;

/// What the program writes of itself into the citation of a terrain that it made: band 2 then says
/// how far each height is from a known one.
pub const OWN_CITATION: &str = "tumblewood ground";

/// What that citation says of heights that a receiver held in the hand gave.
pub(super) const HAND_HELD: &str = "; heights by a hand-held receiver";

/// Reads the heights of a GeoTIFF, or the part of them within `window` (in the file's own
/// coordinates).
///
/// `unit` says the unit of coordinates and heights where the file doesn't; a file that says
/// otherwise is refused.
///
/// # Errors
/// What can't be read or told, and what is allowed.
pub fn read(
    path: &Path,
    unit: Option<LengthUnit>,
    window: Option<Window>,
) -> Result<Raster, TerrainError> {
    let sheet = Sheet::open(path)?;
    let (horizontal, vertical, mut warnings) = units(&sheet.file, &sheet.name, unit)?;
    let cell = sheet.step.x;
    if !(0.0..=1e-6 * cell).contains(&(cell - sheet.step.y).abs()) {
        let read = format!("cells of {} by {}", cell, sheet.step.y);
        return Err(sheet.error("cell size", read, "square cells"));
    }
    let cell_m = cell * horizontal.metres();
    check_cell(&sheet.name, cell_m)?;
    let patch = sheet.patch(vertical, window)?;
    warnings.extend(sheet.filled_words(window)?);
    warnings.extend(sheet.hand_held_words());
    if horizontal != vertical {
        warnings.push(format!(
            "{}: coordinates are in units of {} m, heights in units of {} m",
            sheet.name,
            horizontal.metres(),
            vertical.metres()
        ));
    }
    let crs = sheet.file.crs();
    Ok(Raster {
        origin_m: patch.south_west * horizontal.metres(),
        cell_m,
        nx: patch.nx,
        ny: patch.ny,
        heights_m: patch.heights_m,
        epsg: crs.projected_epsg().map(u32::from).filter(|c| !matches!(c, 0 | 32767)),
        crs_name: sheet.citation().map(short_name).unwrap_or_default(),
        unit_m: horizontal.metres(),
        warnings,
        file: sheet.name,
    })
}

/// A GeoTIFF whose header has been read: where its heights lie, in its own coordinates.
pub struct Sheet {
    /// File it is, for messages.
    pub name: String,
    /// Columns and rows.
    pub size: [u64; 2],
    /// The middle of the south-west cell.
    pub south_west: DVec2,
    /// From one cell to the next, east and north, both over 0.
    pub step: DVec2,
    nodata: Option<f64>,
    file: GeoTiffFile,
}

impl std::fmt::Debug for Sheet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Sheet").field("name", &self.name).field("size", &self.size).finish()
    }
}

impl Sheet {
    /// Opens a GeoTIFF of one band of heights (or of our own two); no height is read yet.
    ///
    /// # Errors
    /// What can't be read or told, and what is allowed.
    pub fn open(path: &Path) -> Result<Self, TerrainError> {
        let name = path.display().to_string();
        let error = |field: &str, read: String, allowed: &str| {
            TerrainError::new(name.clone(), field, read, allowed)
        };
        let file = open(path)?;
        let (columns, rows) = (u64::from(file.width()), u64::from(file.height()));
        if columns > MOST_SIDE || rows > MOST_SIDE {
            let read = format!("{columns} columns by {rows} rows");
            return Err(error("size", read, "up to 1,000,000 a side"));
        }
        let own = file
            .geokeys()
            .get_ascii(geokeys::GT_CITATION)
            .is_some_and(|c| c.starts_with(OWN_CITATION));
        if file.band_count() != if own { 2 } else { 1 } {
            let read = format!("{} bands", file.band_count());
            return Err(error("bands", read, "one band of heights"));
        }
        if let Some(how) = scaled(&file) {
            return Err(error(
                "scale of heights",
                how,
                "heights as they are; write the raster unscaled (GDAL: gdal_translate -unscale)",
            ));
        }
        if masked(&file) {
            return Err(error(
                "mask",
                "a mask page, which says where heights are missing".into(),
                "a no-data value in its place (GDAL: gdalwarp -dstnodata -9999 IN.tif OUT.tif)",
            ));
        }
        let Some(t) = file.transform() else {
            return Err(error(
                "georeference",
                "none".into(),
                "a tie point with a pixel scale, or a matrix",
            ));
        };
        let step = DVec2::new(t.pixel_width, -t.pixel_height);
        let skewed = (t.skew_x.abs() + t.skew_y.abs()) > 1e-9 * step.x.abs();
        if skewed || !(step.x > 0.0 && step.y > 0.0 && step.is_finite()) {
            return Err(error(
                "georeference",
                "a rotated or mirrored raster".into(),
                "columns to the east, rows to the south",
            ));
        }
        // The transform is that of cell corners; nodes are cell middles.
        let west = t.origin_x + 0.5 * step.x;
        let south = t.origin_y - step.y * (rows as f64 - 0.5);
        if !(west.abs() < 1e9 && south.abs() < 1e9) {
            let read = format!("x {west}, y {south}");
            return Err(error("georeference", read, "coordinates under 1e9"));
        }
        let nodata = match file.nodata().map(str::trim) {
            None | Some("") => None,
            Some(text) => Some(
                text.trim_end_matches('\0')
                    .parse::<f64>()
                    .map_err(|_| error("no-data value", format!("{text:?}"), "a number"))?,
            ),
        };
        let south_west = DVec2::new(west, south);
        Ok(Self { name, size: [columns, rows], south_west, step, nodata, file })
    }

    /// What the file says of its coordinate system.
    #[must_use]
    pub fn keys(&self) -> Keys {
        let code =
            |key: u16| self.file.geokeys().get_short(key).filter(|c| !matches!(c, 0 | 32767));
        Keys {
            model: code(geokeys::GT_MODEL_TYPE),
            projected: code(geokeys::PROJECTED_CS_TYPE),
            geographic: code(geokeys::GEODETIC_CRS_TYPE),
            linear_unit: code(geokeys::PROJ_LINEAR_UNITS),
            vertical: code(geokeys::VERTICAL_CS_TYPE),
            vertical_unit: code(geokeys::VERTICAL_UNITS),
            citation: self.citation().map(short_name).unwrap_or_default(),
        }
    }

    fn citation(&self) -> Option<&str> {
        // What the program says of itself there names no system.
        let whole = self.file.geokeys().get_ascii(geokeys::GT_CITATION);
        let whole = whole.filter(|citation| !citation.starts_with(OWN_CITATION));
        self.file.crs().projection_citation().or(whole)
    }

    /// The place that a terrain which the program made was asked for, in its coordinates.
    #[must_use]
    pub fn place(&self) -> Option<DVec2> {
        let citation = self.file.geokeys().get_ascii(geokeys::GT_CITATION)?;
        let rest = citation.strip_prefix(OWN_CITATION)?;
        let (x, y) = rest.split_once("place ")?.1.split_once(' ')?;
        let y = y.trim_matches(|c: char| c == '|' || c == '\0' || c.is_whitespace());
        let place = DVec2::new(x.parse().ok()?, y.parse().ok()?);
        place.is_finite().then_some(place)
    }

    /// Heights, in metres, or the part of them within `window`.
    ///
    /// # Errors
    /// A window off the raster or too large, or heights that can't be read.
    pub fn patch(&self, unit: LengthUnit, window: Option<Window>) -> Result<Patch, TerrainError> {
        let [x, y] = self.part(window)?;
        let samples = self.samples(0, [x, y])?;
        let (nx, ny) = ((x.1 - x.0 + 1) as usize, (y.1 - y.0 + 1) as usize);
        let mut heights_m = Vec::with_capacity(samples.len());
        for row in samples.chunks_exact(nx).rev() {
            for &value in row {
                let hole = value.is_nan()
                    || (value.is_finite() && value.abs() >= FLOAT_NODATA)
                    || self.nodata.is_some_and(|n| value == n || value == f64::from(n as f32));
                let h = value * unit.metres();
                if !hole && !(HEIGHT_RANGE_M.0..=HEIGHT_RANGE_M.1).contains(&h) {
                    let (low, high) = HEIGHT_RANGE_M;
                    return Err(self.error(
                        "height",
                        format!("{value}"),
                        &format!("{low} to {high} m, or a no-data value that the file names"),
                    ));
                }
                heights_m.push(if hole { f32::NAN } else { h as f32 });
            }
        }
        let first = DVec2::new(x.0 as f64, y.0 as f64);
        let south_west = self.south_west + first * self.step;
        Ok(Patch { south_west, step: self.step, nx, ny, heights_m })
    }

    /// What to know of a terrain that the program made of a hand-held receiver's heights.
    #[must_use]
    pub(super) fn hand_held_words(&self) -> Option<String> {
        let own = self.file.geokeys().get_ascii(geokeys::GT_CITATION)?;
        (own.starts_with(OWN_CITATION) && own.contains(HAND_HELD)).then(|| {
            format!(
                "{}: its heights are those of a hand-held receiver, some 5 to 10 m off (common \
                 practice), and so are its slopes: a tape and inclinometer say more",
                self.name
            )
        })
    }

    /// Of a terrain that the program made: how far each height of a window is from a known one, as
    /// heights are laid out; nothing of other rasters.
    pub(super) fn how_far_from_known_m(
        &self,
        window: Option<Window>,
    ) -> Result<Option<Patch>, TerrainError> {
        if self.file.band_count() != 2 {
            return Ok(None);
        }
        let [x, y] = self.part(window)?;
        let samples = self.samples(1, [x, y])?;
        let (nx, ny) = ((x.1 - x.0 + 1) as usize, (y.1 - y.0 + 1) as usize);
        let rows = samples.chunks_exact(nx).rev();
        let heights_m = rows.flatten().map(|d| *d as f32).collect();
        let south_west = self.south_west + DVec2::new(x.0 as f64, y.0 as f64) * self.step;
        Ok(Some(Patch { south_west, step: self.step, nx, ny, heights_m }))
    }

    /// Of a terrain that the program made: what of the window is filled in, in words.
    fn filled_words(&self, window: Option<Window>) -> Result<Option<String>, TerrainError> {
        let Some(from) = self.how_far_from_known_m(window)? else { return Ok(None) };
        let filled = Filled::count(from.heights_m.iter().map(|d| f64::from(*d)));
        let name = &self.name;
        Ok(filled.words().map(|words| format!("{name}: {words}; its band 2 says where")))
    }

    /// Columns and rows of a window, first and last, rows from the south.
    fn part(&self, window: Option<Window>) -> Result<[(u64, u64); 2], TerrainError> {
        let (low, step) = (self.south_west, self.step);
        let x = wanted(low.x, step.x, self.size[0], window.map(|w| (w.centre.x, w.half.x)));
        let y = wanted(low.y, step.y, self.size[1], window.map(|w| (w.centre.y, w.half.y)));
        let (Some(x), Some(y)) = (x, y) else {
            let high = self.north_east();
            return Err(self.error(
                "part wanted",
                window.map_or_else(
                    || "all".into(),
                    |w| format!("around {}, {}", w.centre.x, w.centre.y),
                ),
                &format!("within x {} to {}, y {} to {}", low.x, high.x, low.y, high.y),
            ));
        };
        check_size(&self.name, x.1 - x.0 + 1, y.1 - y.0 + 1)?;
        Ok([x, y])
    }

    /// The middle of the north-east cell.
    #[must_use]
    pub fn north_east(&self) -> DVec2 {
        let last = self.size.map(|n| (n.max(1) - 1) as f64);
        self.south_west + DVec2::from(last) * self.step
    }

    fn samples(&self, band: usize, [x, y]: [(u64, u64); 2]) -> Result<Vec<f64>, TerrainError> {
        let north = self.size[1] - 1 - y.1;
        let (ny, nx) = ((y.1 - y.0 + 1) as usize, (x.1 - x.0 + 1) as usize);
        let found = samples(&self.file, band, [north as usize, x.0 as usize, ny, nx])
            .map_err(|(read, allowed)| self.error("heights", read, allowed))?;
        if found.len() != nx * ny {
            let read = format!("{} heights", found.len());
            return Err(self.error("heights", read, "one a cell"));
        }
        Ok(found)
    }

    fn error(&self, field: &str, read: String, allowed: &str) -> TerrainError {
        TerrainError::new(self.name.clone(), field, read, allowed)
    }
}

/// Metres in one unit of a GeoTIFF's coordinates, from its header alone.
///
/// # Errors
/// As [`read`], for what the header says.
pub fn unit_m(path: &Path) -> Result<f64, TerrainError> {
    let file = open(path)?;
    units(&file, &path.display().to_string(), None).map(|(horizontal, ..)| horizontal.metres())
}

/// Opens a file; nothing but its header is read yet.
fn open(path: &Path) -> Result<GeoTiffFile, TerrainError> {
    let name = path.display().to_string();
    let error = |field: &str, read: String, allowed: &str| {
        TerrainError::new(name.clone(), field, read, allowed)
    };
    let meta =
        std::fs::metadata(path).map_err(|e| error("file", e.to_string(), "a readable GeoTIFF"))?;
    if meta.is_dir() {
        return Err(error("file", "a directory".into(), "a GeoTIFF"));
    }
    if meta.len() > LARGEST_FILE {
        let read = format!("{} bytes", meta.len());
        return Err(error("file", read, "up to 4 GB; crop a larger raster"));
    }
    let options = GeoTiffOpenOptions { decode_output_bytes: 16 * MOST_NODES, ..Default::default() };
    GeoTiffFile::open_with_options(path, options)
        .map_err(|e| error("file", e.to_string(), "a GeoTIFF with one band of heights"))
}

/// Whether a page of the file masks another: heights under it are no heights.
fn masked(file: &GeoTiffFile) -> bool {
    file.tiff().ifds().iter().any(|ifd| {
        let kind = ifd.tag(KIND_OF_PAGE).and_then(|tag| tag.value.as_u64());
        kind.is_some_and(|kind| kind & MASK != 0)
    })
}

/// How a file says its samples are to be scaled, if they are.
fn scaled(file: &GeoTiffFile) -> Option<String> {
    let ifd = file.tiff().ifd(file.base_ifd_index()).ok()?;
    let text = ifd.tag(GDAL_METADATA)?.value.as_str()?;
    [("scale", 1.0), ("offset", 0.0)].into_iter().find_map(|(role, plain)| {
        let (_, rest) = text.split_once(&format!("role=\"{role}\""))?;
        let value = rest.split_once('>')?.1.split('<').next()?.trim();
        let is_plain = value.parse::<f64>().is_ok_and(|v| v == plain);
        (!is_plain).then(|| format!("{role} {value:.24}"))
    })
}

/// A system's name out of a citation, which may be a whole definition with the name in quotes.
fn short_name(citation: &str) -> String {
    let name = match citation.split_once("PROJCS[\"") {
        Some((_, rest)) => rest.split('"').next().unwrap_or_default(),
        None => citation,
    };
    name.trim_matches(|c: char| c == '|' || c == '\0' || c.is_whitespace()).to_owned()
}

/// Decodes a window (first row from the north, first column, rows, columns) of any number format.
fn samples(
    file: &GeoTiffFile,
    band: usize,
    [row, column, rows, columns]: [usize; 4],
) -> Result<Vec<f64>, (String, &'static str)> {
    const KINDS: &str =
        "integers of 8 to 32 bits or floats of 32 or 64, in an encoding that is read";
    let layout = file
        .tiff()
        .ifd(file.base_ifd_index())
        .and_then(|ifd| ifd.raster_layout())
        .map_err(|e| (e.to_string(), KINDS))?;
    macro_rules! as_f64 {
        ($kind:ty) => {
            file.read_band_window::<$kind>(band, row, column, rows, columns)
                .map(|a| a.iter().map(|&v| f64::from(v)).collect())
                .map_err(|e| (e.to_string(), KINDS))
        };
    }
    match (layout.sample_format, layout.bits_per_sample) {
        (1, 8) => as_f64!(u8),
        (1, 16) => as_f64!(u16),
        (1, 32) => as_f64!(u32),
        (2, 8) => as_f64!(i8),
        (2, 16) => as_f64!(i16),
        (2, 32) => as_f64!(i32),
        (3, 32) => as_f64!(f32),
        (3, 64) => as_f64!(f64),
        (format, bits) => Err((format!("sample format {format} of {bits} bits"), KINDS)),
    }
}

/// Units of coordinates and of heights; refuses what can't be told.
fn units(
    file: &GeoTiffFile,
    name: &str,
    given: Option<LengthUnit>,
) -> Result<(LengthUnit, LengthUnit, Vec<String>), TerrainError> {
    let error =
        |field: &str, read: String, allowed: &str| TerrainError::new(name, field, read, allowed);
    let crs = file.crs();
    match crs.model_type_enum() {
        ModelType::Geographic | ModelType::Geocentric => {
            return Err(error(
                "coordinate system",
                "degrees (geographic) or geocentric coordinates".into(),
                "projected coordinates; tumblewood terrain makes them of it",
            ));
        }
        ModelType::Projected => {}
        _ if given.is_some() => {}
        _ => {
            return Err(error(
                "coordinate system",
                "none".into(),
                "projected coordinates that the file names, or a unit given beside it",
            ));
        }
    }
    let epsg = crs.projected_epsg().map_or(0, u32::from);
    if matches!(epsg, 3857 | 900_913 | 3785 | 3395) {
        return Err(error(
            "coordinate system",
            format!("EPSG:{epsg} (world Mercator)"),
            "a system whose metres are metres on the ground; tumblewood terrain makes one of it",
        ));
    }
    let code = |key: u16| file.geokeys().get_short(key).filter(|c| !matches!(c, 0 | 32767));
    let coded = |key: u16, field: &str| match code(key) {
        None => Ok(None),
        Some(9001) => Ok(Some(LengthUnit::Metre)),
        Some(9002) => Ok(Some(LengthUnit::Foot)),
        Some(9003) => Ok(Some(LengthUnit::UsSurveyFoot)),
        Some(other) => {
            Err(error(field, format!("unit code {other}"), "metres, feet or US survey feet"))
        }
    };
    let horizontal = match coded(geokeys::PROJ_LINEAR_UNITS, "unit of coordinates")? {
        Some(unit) => Some(unit),
        None if in_metres(epsg) => Some(LengthUnit::Metre),
        // The zone's definition is in metres (Snyder 1987, USGS PP 1395, ch. 8).
        None if crs.projection_citation().is_some_and(|c| c.contains("UTM zone")) => {
            Some(LengthUnit::Metre)
        }
        None => None,
    };
    let horizontal = match (horizontal, given) {
        (Some(a), Some(b)) if a != b => {
            return Err(error(
                "unit of coordinates",
                format!("{} m a unit in the file, {} m given beside it", a.metres(), b.metres()),
                "one that agrees with the file",
            ));
        }
        (Some(unit), _) | (None, Some(unit)) => unit,
        (None, None) => {
            return Err(error(
                "unit of coordinates",
                if epsg == 0 { "none".into() } else { format!("none, and EPSG:{epsg}") },
                "a file that names its unit, or a unit given beside it",
            ));
        }
    };
    let mut warnings = Vec::new();
    let vertical = match (coded(geokeys::VERTICAL_UNITS, "unit of heights")?, given) {
        (Some(unit), _) | (None, Some(unit)) => unit,
        (None, None) if horizontal == LengthUnit::Metre => {
            warnings.push(format!(
                "{name}: the file doesn't name the unit of its heights; taken as metres, like its \
                 coordinates"
            ));
            LengthUnit::Metre
        }
        (None, None) => {
            return Err(error(
                "unit of heights",
                "none, over coordinates in feet".into(),
                "a file that names it, or a unit given beside it",
            ));
        }
    };
    Ok((horizontal, vertical, warnings))
}

/// Whether an EPSG code is a projected system in metres, of those common in height models: UTM on
/// WGS 84, NAD83, NAD83(2011) and ETRS89, and national grids (EPSG registry, from memory).
fn in_metres(epsg: u32) -> bool {
    const NATIONAL: [u32; 17] = [
        2056, 2154, 2180, 2193, 3006, 3035, 3067, 3301, 3346, 5070, 5514, 6350, 6931, 21781, 27700,
        28992, 31370,
    ];
    matches!(epsg, 32601..=32660 | 32701..=32760 | 26901..=26923 | 6330..=6348 | 25828..=25838)
        || NATIONAL.contains(&epsg)
}

#[cfg(test)]
mod tests;
