//! The ESRI ASCII grid: six header lines, then heights row by row from the north.
//!
//! ```text
//! ncols 4            nodes in x
//! nrows 3            nodes in y
//! xllcorner 500000   west edge of the south-west cell (or xllcenter: its middle)
//! yllcorner 4600000
//! cellsize 1
//! NODATA_value -9999 (may be left out; -9999 then)
//! 12.1 12.4 ...
//! ```
//!
//! Read as a stream: memory goes with the nodes wanted, never with what a header claims. Known
//! answers: planes and a table of bad files in the tests below.

use std::{
    fs::File,
    io::{BufRead, BufReader},
    path::Path,
};

use glam::DVec2;

use super::{
    BYTE_ORDER_MARK, LengthUnit, Raster, TerrainError, Window,
    raster::{HEIGHT_RANGE_M, Patch, check_cell, check_size},
};

/// Longest number that is read; anything longer isn't one.
const LONGEST_TOKEN: usize = 64;
/// Heights at or beyond this are no-data whatever the header says: rasters from float tools carry
/// −3.4e38 in several roundings.
const FLOAT_NODATA: f64 = 1e30;

/// Reads an ESRI ASCII grid, or the part of it within `window`; `unit` is that of its coordinates
/// and heights, which the format doesn't say.
///
/// # Errors
/// What is wrong with the file, with its line.
pub fn read(path: &Path, unit: LengthUnit, window: Option<Window>) -> Result<Raster, TerrainError> {
    parse(open(path)?, &path.display().to_string(), unit, window)
}

fn open(path: &Path) -> Result<BufReader<File>, TerrainError> {
    let name = path.display().to_string();
    let open = |e: std::io::Error| {
        TerrainError::new(name.clone(), "file", e.to_string(), "a readable ESRI ASCII grid")
    };
    let file = File::open(path).map_err(open)?;
    if file.metadata().map_err(open)?.is_dir() {
        return Err(TerrainError::new(name, "file", "a directory", "an ESRI ASCII grid"));
    }
    let mut reader = BufReader::with_capacity(1 << 16, file);
    if reader.fill_buf().map_err(open)?.starts_with(BYTE_ORDER_MARK) {
        reader.consume(BYTE_ORDER_MARK.len());
    }
    Ok(reader)
}

/// Reads an ESRI ASCII grid from a stream; see [`read`].
///
/// # Errors
/// What is wrong with it, with its line.
pub fn parse(
    source: impl BufRead,
    name: &str,
    unit: LengthUnit,
    window: Option<Window>,
) -> Result<Raster, TerrainError> {
    let cell = |header: &Header| {
        check_cell(name, header.cell * unit.metres()).map_err(|e| e.at_line(header.cell_line))
    };
    let (header, patch) = read_part(source, name, unit, &cell, |_| window)?;
    Ok(Raster {
        file: name.to_owned(),
        origin_m: patch.south_west * unit.metres(),
        cell_m: header.cell * unit.metres(),
        nx: patch.nx,
        ny: patch.ny,
        heights_m: patch.heights_m,
        epsg: None,
        crs_name: String::new(),
        unit_m: unit.metres(),
        warnings: Vec::new(),
    })
}

/// Where a grid's nodes lie, in its own coordinates: south-west and north-east node, and the cell.
///
/// # Errors
/// What is wrong with its header, with its line.
pub fn extent(path: &Path) -> Result<(DVec2, DVec2, f64), TerrainError> {
    let name = path.display().to_string();
    let mut words = Words::new(open(path)?, &name);
    let (header, _) = header(&mut words)?;
    Ok((DVec2::new(header.west, header.south), header.north_east(), header.cell))
}

/// Reads the part of a grid that is wanted in its own coordinates, whatever their unit; `unit` is
/// that of its heights.
///
/// # Errors
/// What is wrong with it, with its line.
pub fn patch(path: &Path, unit: LengthUnit, window: Window) -> Result<Patch, TerrainError> {
    let name = path.display().to_string();
    read_part(open(path)?, &name, unit, &|_| Ok(()), |_| Some(window)).map(|(_, patch)| patch)
}

fn read_part(
    source: impl BufRead,
    name: &str,
    unit: LengthUnit,
    check: &dyn Fn(&Header) -> Result<(), TerrainError>,
    window: impl Fn(&Header) -> Option<Window>,
) -> Result<(Header, Patch), TerrainError> {
    let mut words = Words::new(source, name);
    let (header, first) = header(&mut words)?;
    check(&header)?;
    let window = window(&header);
    let rows =
        wanted(header.south, header.cell, header.rows, window.map(|w| (w.centre.y, w.half.y)));
    let columns =
        wanted(header.west, header.cell, header.columns, window.map(|w| (w.centre.x, w.half.x)));
    let (Some(rows), Some(columns)) = (rows, columns) else {
        let high = header.north_east();
        return Err(TerrainError::new(
            name,
            "part wanted",
            "a part off the raster",
            format!("within x {} to {}, y {} to {}", header.west, high.x, header.south, high.y),
        ));
    };
    let (nx, ny) = (columns.1 - columns.0 + 1, rows.1 - rows.0 + 1);
    check_size(name, nx, ny)?;
    // The file runs from north to south; rows are kept in that order and turned over at the end.
    let mut heights = Vec::new();
    let mut pending = first;
    for row_north in 0..header.rows {
        let row = header.rows - 1 - row_north;
        let keep_row = row >= rows.0 && row <= rows.1;
        for column in 0..header.columns {
            if !(pending || words.next()?) {
                return Err(words.error(
                    "heights",
                    format!("the end of the file after {row_north} rows and {column} values"),
                    format!("{} rows of {} values", header.rows, header.columns),
                ));
            }
            pending = false;
            if keep_row && column >= columns.0 && column <= columns.1 {
                heights.push(words.height(header.nodata, unit)?);
            }
        }
    }
    // Rows south of the window are read too: a header that doesn't fit its heights shifts each row
    // against the next, and only the end of the file tells.
    if words.next()? {
        return Err(words.error(
            "heights",
            format!("{:?} after the last row", words.text()),
            format!("{} rows of {} values and nothing more", header.rows, header.columns),
        ));
    }
    let (nx, ny) = (nx as usize, ny as usize);
    let first = DVec2::new(columns.0 as f64, rows.0 as f64);
    let patch = Patch {
        south_west: DVec2::new(header.west, header.south) + first * header.cell,
        step: DVec2::splat(header.cell),
        nx,
        ny,
        heights_m: heights.chunks(nx).rev().flatten().copied().collect(),
    };
    Ok((header, patch))
}

/// First and last node of a row or column of `count` within `(centre, half)` of a window.
pub(super) fn wanted(
    low: f64,
    cell: f64,
    count: u64,
    window: Option<(f64, f64)>,
) -> Option<(u64, u64)> {
    let last = count.checked_sub(1)?;
    let Some((centre, half)) = window else { return Some((0, last)) };
    let first = ((centre - half - low) / cell).floor().max(0.0);
    let end = ((centre + half - low) / cell).ceil().min(last as f64);
    (first.is_finite() && end.is_finite() && end > first).then_some((first as u64, end as u64))
}

struct Header {
    columns: u64,
    rows: u64,
    /// Middle of the south-west cell.
    west: f64,
    south: f64,
    cell: f64,
    cell_line: u64,
    nodata: f64,
}

impl Header {
    fn north_east(&self) -> DVec2 {
        let last = |count: u64| (count.max(1) - 1) as f64 * self.cell;
        DVec2::new(self.west + last(self.columns), self.south + last(self.rows))
    }
}

/// Reads the header up to the first height, which is then the current word (true), or the end.
fn header<R: BufRead>(words: &mut Words<'_, R>) -> Result<(Header, bool), TerrainError> {
    const KEYS: [&str; 8] = [
        "ncols",
        "nrows",
        "xllcorner",
        "xllcenter",
        "yllcorner",
        "yllcenter",
        "cellsize",
        "nodata_value",
    ];
    let mut values: [Option<(f64, u64)>; 8] = [None; 8];
    let mut more = words.next()?;
    while more && words.text().starts_with(|c: char| c.is_ascii_alphabetic()) {
        let key = words.text().to_ascii_lowercase();
        // "nan" and "inf" begin the heights of a broken or float raster, not a key.
        if key.parse::<f64>().is_ok() {
            break;
        }
        if key == "dx" || key == "dy" {
            return Err(words.error("header", key, "one cellsize: square cells only"));
        }
        let key = if key == "xllcentre" || key == "yllcentre" {
            key.replace("centre", "center")
        } else {
            key
        };
        let Some(slot) = KEYS.iter().position(|k| *k == key) else {
            let read = format!("{:?}", words.text());
            return Err(words.error("header", read, KEYS.join(", ")));
        };
        let line = words.line;
        if !words.next()? {
            return Err(words.error(&key, "the end of the file", "a number"));
        }
        let value = words.text().parse::<f64>().ok();
        let allowed = match slot {
            0 | 1 => "a whole number from 2 to 1,000,000",
            6 => "a number over 0",
            _ => "a number",
        };
        let good = value.filter(|v| match slot {
            0 | 1 => v.fract() == 0.0 && (2.0..=1e6).contains(v),
            6 => v.is_finite() && *v > 0.0,
            7 => true,
            _ => v.abs() < 1e9,
        });
        let Some(value) = good else {
            let read = format!("{:?}", words.text());
            return Err(words.error(&key, read, allowed));
        };
        match values.get_mut(slot) {
            Some(place @ None) => *place = Some((value, line)),
            _ => return Err(words.error(&key, "it twice", "each key once")),
        }
        more = words.next()?;
    }
    let [columns, rows, x_corner, x_centre, y_corner, y_centre, cell, nodata] = values;
    let need = |value: Option<(f64, u64)>, key: &str| {
        value.ok_or_else(|| {
            TerrainError::new(words.name, key, "no such line in the header", "one such line")
        })
    };
    let (columns, rows) = (need(columns, "ncols")?.0, need(rows, "nrows")?.0);
    let (cell, cell_line) = need(cell, "cellsize")?;
    let middle =
        |corner: Option<(f64, u64)>, centre: Option<(f64, u64)>, axis: &str| match (corner, centre)
        {
            (Some((edge, _)), None) => Ok(edge + 0.5 * cell),
            (None, Some((middle, _))) => Ok(middle),
            (Some(_), Some((_, line))) => Err(TerrainError::new(
                words.name,
                format!("{axis}llcenter"),
                format!("it and {axis}llcorner"),
                "one of the two",
            )
            .at_line(line)),
            (None, None) => need(None, &format!("{axis}llcorner")).map(|_| 0.0),
        };
    let header = Header {
        columns: columns as u64,
        rows: rows as u64,
        west: middle(x_corner, x_centre, "x")?,
        south: middle(y_corner, y_centre, "y")?,
        cell,
        cell_line,
        nodata: nodata.map_or(-9999.0, |(v, _)| v),
    };
    Ok((header, more))
}

/// Words of a stream with their lines.
struct Words<'a, R> {
    source: R,
    name: &'a str,
    /// Line of the current word.
    line: u64,
    word: Vec<u8>,
}

impl<'a, R: BufRead> Words<'a, R> {
    fn new(source: R, name: &'a str) -> Self {
        Self { source, name, line: 1, word: Vec::with_capacity(LONGEST_TOKEN) }
    }

    /// Goes to the next word; false at the end.
    fn next(&mut self) -> Result<bool, TerrainError> {
        self.word.clear();
        loop {
            let buffer = match self.source.fill_buf() {
                Ok(buffer) => buffer,
                Err(e) => {
                    let (name, line) = (self.name, self.line);
                    return Err(TerrainError::new(name, "file", e.to_string(), "a readable file")
                        .at_line(line));
                }
            };
            if buffer.is_empty() {
                return Ok(!self.word.is_empty());
            }
            let mut used = 0;
            let mut done = false;
            for &byte in buffer {
                if byte.is_ascii_whitespace() {
                    if !self.word.is_empty() {
                        // Left unread, so that its line break is counted with the next word.
                        done = true;
                        break;
                    }
                    self.line += u64::from(byte == b'\n');
                } else {
                    self.word.push(byte);
                }
                used += 1;
                if self.word.len() > LONGEST_TOKEN {
                    break;
                }
            }
            self.source.consume(used);
            if self.word.len() > LONGEST_TOKEN {
                return Err(self.error(
                    "text",
                    format!("{:?}… of over {LONGEST_TOKEN} characters", self.text()),
                    "numbers apart by blanks",
                ));
            }
            if done {
                return Ok(true);
            }
        }
    }

    fn text(&self) -> std::borrow::Cow<'_, str> {
        String::from_utf8_lossy(&self.word)
    }

    fn error(
        &self,
        field: &str,
        read: impl Into<String>,
        allowed: impl Into<String>,
    ) -> TerrainError {
        TerrainError::new(self.name, field, read, allowed).at_line(self.line)
    }

    /// The current word as a height in metres; NaN where there is none.
    fn height(&self, nodata: f64, unit: LengthUnit) -> Result<f32, TerrainError> {
        let value = std::str::from_utf8(&self.word).ok().and_then(|w| w.parse::<f64>().ok());
        let bad = |allowed: &str| self.error("height", format!("{:?}", self.text()), allowed);
        let value = value.ok_or_else(|| bad("a number"))?;
        let none = value == nodata
            || (value.is_nan() && nodata.is_nan())
            || (value.is_finite() && value.abs() >= FLOAT_NODATA);
        if none {
            return Ok(f32::NAN);
        }
        let height_m = value * unit.metres();
        if !(height_m >= HEIGHT_RANGE_M.0 && height_m <= HEIGHT_RANGE_M.1) {
            let (low, high) = HEIGHT_RANGE_M;
            return Err(bad(&format!("{low} to {high} m, or the no-data value {nodata}")));
        }
        Ok(height_m as f32)
    }
}

#[cfg(test)]
mod tests;
