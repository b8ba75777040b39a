//! The part of a COPC file about a place, by its octree: other chunks are never unpacked.
//!
//! Taken only where the octree accounts for every point of the file and each chunk lies in it; else
//! the whole file is streamed as any other LAZ (copc.io, COPC 1.0: a node holds points within its
//! cube alone).

use std::{fs::File, io::BufReader, path::Path};

use glam::DVec2;
use las::{CopcReader, PointData, copc::Entry};

use super::caught::caught;

/// Most points of a chunk: writers keep to 100,000, and a chunk is held unpacked.
const MOST_IN_CHUNK: i32 = 2_000_000;
/// Deepest level of the octree.
const DEEPEST: i32 = 30;
/// Cubes reach further by this, in the file's unit, than they say: coordinates are rounded.
const ROUNDED: f64 = 0.01;

/// Chunks near a place, one after the other.
pub(super) struct Near {
    reader: CopcReader<'static, BufReader<File>>,
    /// In the order in which they lie in the file, the last first.
    left: Vec<Entry>,
}

impl Near {
    /// Chunks that meet a rectangle in the file's own coordinates; nothing where the file has no
    /// octree that can be trusted.
    pub(super) fn open(path: &Path, (low, high): (DVec2, DVec2)) -> Option<Self> {
        let bytes = std::fs::metadata(path).ok()?.len();
        let reader = caught(|| CopcReader::from_path(path))?.ok()?;
        let info = reader.header().copc_info_vlr()?;
        let (middle, half) = (DVec2::new(info.center_x, info.center_y), info.halfsize);
        if !(middle.is_finite() && half.is_finite() && half > 0.0) {
            return None;
        }
        let mut count = 0_u64;
        let mut left = Vec::new();
        for entry in reader.hierarchy_entries().filter(|e| e.point_count > 0) {
            let size = u64::try_from(entry.byte_size).ok()?;
            let within = entry.offset.checked_add(size).is_some_and(|end| end <= bytes);
            let key = entry.key;
            if entry.point_count > MOST_IN_CHUNK || !within || !(0..=DEEPEST).contains(&key.l) {
                return None;
            }
            count += u64::try_from(entry.point_count).ok()?;
            let side = 2.0 * half / f64::from(1_u32 << key.l);
            let corner = middle - half + DVec2::new(f64::from(key.x), f64::from(key.y)) * side;
            let meets =
                (corner - ROUNDED).cmple(high).all() && (corner + side + ROUNDED).cmpge(low).all();
            if meets {
                left.push(entry);
            }
        }
        left.sort_by_key(|e| std::cmp::Reverse(e.offset));
        (count == reader.header().number_of_points()).then_some(Self { reader, left })
    }

    /// The next chunk, unpacked.
    pub(super) fn next(&mut self) -> Option<las::Result<PointData>> {
        let entry = self.left.pop()?;
        Some(self.reader.read_entry(&entry))
    }
}
