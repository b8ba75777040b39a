//! A point cloud's frame, checked before the reader of crate `las` sees it.
//!
//! That reader takes memory by what a file claims: lengths of records, counts of chunks, sizes of
//! layers. Here each claim is held against the bytes that are there (LAS 1.4 R15, ASPRS 2019;
//! LASzip's chunk table and layered chunks as in crate `laz`), so that memory goes with the file.

use std::{
    fs::File,
    io::{BufReader, Read, Seek, SeekFrom},
    path::Path,
};

use laz::{LazVlr, laszip::ChunkTable};

use super::caught::caught;
use crate::terrain::TerrainError;

/// Largest record that is read, bytes: a WKT text is some thousand.
const LARGEST_RECORD: u64 = 1 << 20;
/// Most records of either kind.
const MOST_RECORDS: u32 = 10_000;
/// Largest chunk of compressed points that is taken into memory, bytes.
const LARGEST_CHUNK: u64 = 64 << 20;
/// Most points of a chunk: a millionth part of what 4 bytes may claim.
const MOST_IN_CHUNK: u64 = 50_000_000;

/// Holds a file's claims against its length.
///
/// # Errors
/// What can't be.
pub(super) fn check(path: &Path) -> Result<(), TerrainError> {
    let name = path.display().to_string();
    let error =
        |read: String, allowed: &str| TerrainError::new(name.clone(), "file", read, allowed);
    let about =
        std::fs::metadata(path).map_err(|e| error(e.to_string(), "a readable LAS or LAZ"))?;
    if !about.is_file() {
        return Err(error("a directory or no plain file".into(), "a LAS or LAZ file"));
    }
    let file = File::open(path).map_err(|e| error(e.to_string(), "a readable LAS or LAZ"))?;
    let mut source = Source { file: BufReader::new(file), length: about.len() };
    let found = caught(|| source.frame());
    let unknown = || error("what no reader can make sense of".into(), "a whole LAS or LAZ file");
    found.ok_or_else(unknown)?.map_err(|wrong| match wrong {
        Wrong::Read(e) => error(
            if e.kind() == std::io::ErrorKind::UnexpectedEof {
                "the end of the file too soon".into()
            } else {
                e.to_string()
            },
            "a whole LAS or LAZ file",
        ),
        Wrong::Claim(field, read, allowed) => TerrainError::new(name.clone(), field, read, allowed),
    })
}

enum Wrong {
    Read(std::io::Error),
    Claim(&'static str, String, String),
}

impl From<std::io::Error> for Wrong {
    fn from(error: std::io::Error) -> Self {
        Self::Read(error)
    }
}

struct Source {
    file: BufReader<File>,
    length: u64,
}

impl Source {
    fn frame(&mut self) -> Result<(), Wrong> {
        let claim = |field, read: String, allowed: String| Err(Wrong::Claim(field, read, allowed));
        let mut head = [0_u8; 227];
        self.file.read_exact(&mut head)?;
        if head.get(..4) != Some(b"LASF") {
            return claim("signature", format!("{:?}", head.get(..4)), "LASF".into());
        }
        let (major, minor) = (head[24], head[25]);
        if major != 1 || minor > 4 {
            return claim("version", format!("{major}.{minor}"), "1.0 to 1.4".into());
        }
        let header = u64::from(u16_at(&head, 94));
        let points = u64::from(u32_at(&head, 96));
        let records = u32_at(&head, 100);
        let format = head[104];
        let record = u64::from(u16_at(&head, 105));
        let mut count = u64::from(u32_at(&head, 107));
        if header < 227 || points < header || points > self.length {
            return claim(
                "offset of points",
                format!("{points} in a file of {} bytes", self.length),
                "within the file, after its header".into(),
            );
        }
        if records > MOST_RECORDS {
            return claim("records", format!("{records}"), format!("up to {MOST_RECORDS}"));
        }
        let (mut extended, mut extended_at) = (0, 0);
        if minor >= 4 && header >= 375 {
            let mut more = [0_u8; 148];
            self.file.read_exact(&mut more)?;
            extended_at = u64_at(&more, 235 - 227);
            extended = u32_at(&more, 243 - 227);
            count = count.max(u64_at(&more, 247 - 227));
        }
        let compressed = format & 0x80 != 0;
        if record < 20 {
            return claim("record length", format!("{record} bytes"), "20 or more".into());
        }
        let least = if compressed { 0 } else { count.saturating_mul(record) };
        if least > self.length - points {
            return claim(
                "points",
                format!("{count} of {record} bytes in a file of {} bytes", self.length),
                "as many as the file holds: it is cut off, or its header is wrong".into(),
            );
        }
        self.file.seek(SeekFrom::Start(header))?;
        let mut laszip = None;
        let mut at = header;
        for _ in 0..records {
            let mut head = [0_u8; 54];
            self.file.read_exact(&mut head)?;
            let size = u64::from(u16_at(&head, 20));
            at += 54 + size;
            if at > points {
                return claim(
                    "records",
                    format!("one that ends at byte {at}"),
                    format!("before the points, which begin at {points}"),
                );
            }
            let mut data = vec![0_u8; size as usize];
            self.file.read_exact(&mut data)?;
            if head.get(2..16) == Some(b"laszip encoded") && u16_at(&head, 18) == 22204 {
                laszip = Some(data);
            }
        }
        if points - at > LARGEST_RECORD {
            return claim(
                "offset of points",
                format!("{} bytes after the last record", points - at),
                format!("up to {LARGEST_RECORD}"),
            );
        }
        self.extended(extended, extended_at)?;
        if compressed {
            let Some(data) = laszip else {
                return claim(
                    "records",
                    "no laszip record".into(),
                    "one, with packed points".into(),
                );
            };
            let bad = |e: laz::LasZipError| {
                Wrong::Claim("laszip record", e.to_string(), "one that is known".into())
            };
            let vlr = LazVlr::from_buffer(&data).map_err(bad)?;
            // The sum that the crate makes of them is one of 16 bits.
            let size: u64 = vlr.items().iter().map(|item| u64::from(item.size())).sum();
            if size != record {
                return claim(
                    "laszip record",
                    format!("points of {size} bytes"),
                    format!("{record}, as the header says"),
                );
            }
            // The first compressor knew no chunks.
            if u16_at(&data, 0) != 1 {
                self.packed(&vlr, points, count, record)?;
            }
        }
        Ok(())
    }

    /// The first extended record is the only one that crate `las` reads.
    fn extended(&mut self, count: u32, at: u64) -> Result<(), Wrong> {
        if count == 0 {
            return Ok(());
        }
        let outside = |size: u64| {
            Wrong::Claim(
                "extended records",
                format!("one of {size} bytes at {at} in a file of {} bytes", self.length),
                "records within the file, up to 64 MB".into(),
            )
        };
        if at.checked_add(60).is_none_or(|end| end > self.length) {
            return Err(outside(0));
        }
        self.file.seek(SeekFrom::Start(at))?;
        let mut head = [0_u8; 60];
        self.file.read_exact(&mut head)?;
        let size = u64_at(&head, 20);
        // A tree of a large COPC file is some megabytes.
        if size > LARGEST_CHUNK || at + 60 + size > self.length {
            return Err(outside(size));
        }
        Ok(())
    }

    /// Chunks of compressed points: their table, and in layered ones the sizes of their layers.
    fn packed(&mut self, vlr: &LazVlr, points: u64, count: u64, record: u64) -> Result<(), Wrong> {
        let claim = |field, read: String, allowed: String| Err(Wrong::Claim(field, read, allowed));
        self.file.seek(SeekFrom::Start(points))?;
        let mut word = [0_u8; 8];
        self.file.read_exact(&mut word)?;
        let mut table = u64::from_le_bytes(word);
        if table == u64::MAX {
            // A writer that couldn't go back put it at the end.
            self.file.seek(SeekFrom::End(-8))?;
            self.file.read_exact(&mut word)?;
            table = u64::from_le_bytes(word);
        }
        if table < points + 8 || table.checked_add(8).is_none_or(|end| end > self.length) {
            return claim(
                "chunk table",
                format!("at byte {table} of {}", self.length),
                "within the file, after the points: it is cut off".into(),
            );
        }
        self.file.seek(SeekFrom::Start(table))?;
        let mut head = [0_u8; 8];
        self.file.read_exact(&mut head)?;
        let chunks = u64::from(u32_at(&head, 4));
        // A chunk holds one point at least, and a point takes a byte at least in layers of its own.
        if chunks > (table - points) / 8 + 1 {
            return claim(
                "chunk table",
                format!("{chunks} chunks"),
                "as many as the file holds".into(),
            );
        }
        self.file.seek(SeekFrom::Start(points))?;
        let entries = ChunkTable::read_from(&mut self.file, vlr).map_err(|e| {
            Wrong::Claim("chunk table", e.to_string(), "one that can be unpacked".into())
        })?;
        let mut at = points + 8;
        let (mut held, last) = (0_u64, entries.len().saturating_sub(1));
        for (k, entry) in (&entries).into_iter().enumerate() {
            let fits = entry.byte_count <= LARGEST_CHUNK
                && at.checked_add(entry.byte_count).is_some_and(|end| end <= table);
            let points_fit = entry.point_count <= MOST_IN_CHUNK || !vlr.uses_variable_size_chunks();
            if !fits || !points_fit || entry.point_count == 0 {
                return claim(
                    "chunk table",
                    format!(
                        "a chunk of {} points in {} bytes",
                        entry.point_count, entry.byte_count
                    ),
                    "chunks within the file, up to 64 MB each".into(),
                );
            }
            self.layers(vlr, at, entry.byte_count, record)?;
            at += entry.byte_count;
            held += if k == last && !vlr.uses_variable_size_chunks() {
                entry.point_count.min(count.saturating_sub(held))
            } else {
                entry.point_count
            };
        }
        if held < count {
            return claim(
                "points",
                format!("{count} in chunks that hold {held}"),
                "as many as its chunks hold".into(),
            );
        }
        Ok(())
    }

    /// A layered chunk: one raw point, how many points, the size of each layer, the layers.
    fn layers(&mut self, vlr: &LazVlr, at: u64, size: u64, record: u64) -> Result<(), Wrong> {
        use laz::laszip::LazItemType as Item;
        let layers: u64 = vlr
            .items()
            .iter()
            .map(|item| match item.item_type() {
                Item::Point14 => 9,
                Item::RGB14 | Item::WavePacket14 => 1,
                Item::RGBNIR14 => 2,
                Item::Byte14(n) => u64::from(n),
                _ => 0,
            })
            .sum();
        if layers == 0 {
            return Ok(());
        }
        let head = record + 4 + 4 * layers;
        let too_small = || {
            Wrong::Claim(
                "chunk",
                format!("layers beyond its {size} bytes"),
                "layers that fit their chunk".into(),
            )
        };
        if size < head {
            return Err(too_small());
        }
        self.file.seek(SeekFrom::Start(at + record + 4))?;
        let mut sum = head;
        for _ in 0..layers {
            let mut word = [0_u8; 4];
            self.file.read_exact(&mut word)?;
            sum += u64::from(u32::from_le_bytes(word));
        }
        if sum > size { Err(too_small()) } else { Ok(()) }
    }
}

fn u16_at(bytes: &[u8], at: usize) -> u16 {
    bytes.get(at..at + 2).and_then(|b| b.try_into().ok()).map_or(0, u16::from_le_bytes)
}

fn u32_at(bytes: &[u8], at: usize) -> u32 {
    bytes.get(at..at + 4).and_then(|b| b.try_into().ok()).map_or(0, u32::from_le_bytes)
}

fn u64_at(bytes: &[u8], at: usize) -> u64 {
    bytes.get(at..at + 8).and_then(|b| b.try_into().ok()).map_or(0, u64::from_le_bytes)
}
