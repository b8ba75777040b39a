//! Triangles out of OBJ and glTF files.
//!
//! OBJ: `v` and `f` lines alone; faces of more than three corners are cut into fans. It names no
//! unit and no way up, so both are told. glTF 2.0: triangles of the scene's nodes, metres and y up by
//! its definition (Khronos, glTF 2.0, 3.4), as `.glb` or as `.gltf` with its `.bin` beside it.

use std::{fs, path::Path};

use glam::{DMat4, DVec3};

use super::{
    Base, Proposals,
    solid::{self, Put, Up},
};
use crate::terrain::{LengthUnit, TerrainError, intake::caught};

/// Largest file, bytes.
const LARGEST_FILE: u64 = 64 << 20;
/// Most corners and triangles: more are a scan, not a house.
const MOST: usize = 500_000;
/// Deepest that nodes of a glTF may hang on each other, and most of them.
const DEEPEST: usize = 32;
const MOST_NODES: usize = 100_000;
/// Largest coordinate.
const FURTHEST: f64 = 1e9;

/// Triangles: x right, y ahead, z up, m.
#[derive(Clone, Debug, Default)]
pub struct Mesh {
    /// Corners of each.
    pub triangles: Vec<[DVec3; 3]>,
    /// How many corners the file has.
    pub corners: usize,
    /// What was left out.
    pub notes: Vec<String>,
}

/// How an OBJ file is to be read.
#[derive(Clone, Copy, Debug, Default)]
pub struct Told {
    /// Which axis is up; only glTF has its own.
    pub up: Option<Up>,
    /// The unit; only glTF has its own.
    pub unit: Option<LengthUnit>,
}

/// What a mesh proposes on the ground.
///
/// # Errors
/// What can't be read, told or placed.
pub fn from_mesh(
    base: &Base,
    path: &Path,
    told: Told,
    put: &Put,
) -> Result<Proposals, TerrainError> {
    let mesh = read(path, told)?;
    solid::propose(base, &path.display().to_string(), &mesh, put)
}

/// Reads a mesh.
///
/// # Errors
/// What can't be read or told.
pub fn read(path: &Path, told: Told) -> Result<Mesh, TerrainError> {
    let name = path.display().to_string();
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
    let bytes = bytes(&name, path)?;
    let mesh = if ending == "obj" { obj(&name, &bytes, told)? } else { gltf(&name, path, &bytes)? };
    if mesh.triangles.is_empty() {
        return Err(TerrainError::new(name, "triangles", "none", "a mesh with faces"));
    }
    Ok(mesh)
}

fn bytes(name: &str, path: &Path) -> Result<Vec<u8>, TerrainError> {
    let error =
        |read: String| TerrainError::new(name, "file", read, "a plain file of a mesh, up to 64 MB");
    let about = fs::metadata(path).map_err(|e| error(e.to_string()))?;
    if !about.is_file() || about.len() > LARGEST_FILE {
        return Err(error(format!("{} bytes", about.len())));
    }
    fs::read(path).map_err(|e| error(e.to_string()))
}

fn obj(name: &str, bytes: &[u8], told: Told) -> Result<Mesh, TerrainError> {
    let Some(up) = told.up else {
        return Err(TerrainError::new(name, "up", "nothing", "--up y or --up z: OBJ doesn't say"));
    };
    let unit_m = told.unit.unwrap_or(LengthUnit::Metre).metres();
    let text = String::from_utf8_lossy(bytes);
    let (mut corners, mut mesh) = (Vec::<DVec3>::new(), Mesh::default());
    if told.unit.is_none() {
        mesh.notes.push("OBJ names no unit; taken as metres (--heights-in says another)".into());
    }
    for (line, text) in text.lines().enumerate() {
        let error = |field: &str, read: &str, allowed: String| {
            TerrainError::new(name, field, read, allowed).at_line(line as u64 + 1)
        };
        let mut words = text.split_whitespace();
        match words.next() {
            Some("v") => {
                let mut number = || -> Option<f64> {
                    let x: f64 = words.next()?.parse().ok()?;
                    (x.is_finite() && x.abs() < FURTHEST).then_some(x)
                };
                let at = (|| Some(DVec3::new(number()?, number()?, number()?)))();
                let at = at
                    .ok_or_else(|| error("v", text.trim(), "three numbers under 1e9".to_owned()))?;
                corners.push(upright(at * unit_m, up));
            }
            Some("f") => {
                let own: Vec<DVec3> = words
                    .map(|word| {
                        let index = word.split('/').next().and_then(|i| i.parse::<i64>().ok());
                        let k = match index {
                            Some(k) if k > 0 => usize::try_from(k - 1).ok(),
                            // Counted back from the last one so far.
                            Some(k) if k < 0 => usize::try_from(corners.len() as i64 + k).ok(),
                            _ => None,
                        };
                        k.and_then(|k| corners.get(k))
                            .copied()
                            .ok_or_else(|| error("f", word, format!("1 to {}", corners.len())))
                    })
                    .collect::<Result<_, _>>()?;
                if own.len() < 3 {
                    return Err(error("f", text.trim(), "three corners or more".to_owned()));
                }
                let fan = own.iter().skip(1).zip(own.iter().skip(2));
                let first = own.first().copied().unwrap_or(DVec3::ZERO);
                mesh.triangles.extend(fan.map(|(b, c)| [first, *b, *c]));
            }
            _ => {}
        }
        if corners.len() > MOST || mesh.triangles.len() > MOST {
            return Err(error("size", "more corners or triangles", format!("at most {MOST}")));
        }
    }
    mesh.corners = corners.len();
    Ok(mesh)
}

/// x right, y ahead, z up.
fn upright(p: DVec3, up: Up) -> DVec3 {
    match up {
        Up::Z => p,
        Up::Y => DVec3::new(p.x, -p.z, p.y),
    }
}

fn gltf(name: &str, path: &Path, bytes: &[u8]) -> Result<Mesh, TerrainError> {
    let broken = |read: String| {
        TerrainError::new(name, "file", read, "a whole glTF 2.0 file, .glb or .gltf with its .bin")
    };
    let panics = || broken("parts that don't fit together".to_owned());
    // The crate trusts lengths that a file claims in places (found by `fuzz_terrain`).
    let file = caught(|| gltf::Gltf::from_slice(bytes))
        .ok_or_else(panics)?
        .map_err(|e| broken(e.to_string()))?;
    let mut buffers = Vec::new();
    for buffer in file.buffers() {
        let own = match buffer.source() {
            gltf::buffer::Source::Bin => file.blob.clone().unwrap_or_default(),
            gltf::buffer::Source::Uri(uri) => {
                let plain = !uri.contains(':') && !uri.contains("..") && !uri.starts_with('/');
                if !plain {
                    let start: String = uri.chars().take(20).collect();
                    return Err(TerrainError::new(
                        name,
                        "buffers",
                        format!("{start:?}..."),
                        "a .bin file beside it; or write it as .glb",
                    ));
                }
                let beside = path.parent().unwrap_or(Path::new("")).join(uri);
                self::bytes(&beside.display().to_string(), &beside)?
            }
        };
        if own.len() < buffer.length() {
            let read = format!("{} of {} bytes", own.len(), buffer.length());
            return Err(TerrainError::new(name, "buffers", read, "all of them"));
        }
        buffers.push(own);
    }
    // An accessor without a view is zeros, however many it claims.
    if file.accessors().any(|a| a.count() > MOST * 3) {
        return Err(TerrainError::new(name, "size", "more corners", format!("at most {MOST}")));
    }
    let mut walk = Walk { name, buffers: &buffers, mesh: Mesh::default(), nodes: 0, other: 0 };
    let scene = file.default_scene().or_else(|| file.scenes().next());
    let done = caught(|| {
        scene
            .into_iter()
            .flat_map(|s| s.nodes())
            .try_for_each(|node| walk.node(&node, DMat4::IDENTITY, 0))
    });
    done.ok_or_else(panics)??;
    let (mut mesh, other) = (walk.mesh, walk.other);
    if other > 0 {
        mesh.notes.push(format!("{other} parts that aren't lists of triangles are left out"));
    }
    Ok(mesh)
}

/// Nodes of a glTF, one after another.
struct Walk<'a> {
    name: &'a str,
    buffers: &'a [Vec<u8>],
    mesh: Mesh,
    nodes: usize,
    other: usize,
}

impl Walk<'_> {
    fn node(
        &mut self,
        node: &gltf::Node<'_>,
        above: DMat4,
        depth: usize,
    ) -> Result<(), TerrainError> {
        self.nodes += 1;
        if depth > DEEPEST || self.nodes > MOST_NODES {
            return Err(TerrainError::new(
                self.name,
                "nodes",
                format!("{} nodes, {depth} deep", self.nodes),
                format!("at most {MOST_NODES}, at most {DEEPEST} deep"),
            ));
        }
        let own = DMat4::from_cols_array_2d(
            &node.transform().matrix().map(|column| column.map(f64::from)),
        );
        let here = above * own;
        for primitive in node.mesh().into_iter().flat_map(|m| m.primitives()) {
            self.primitive(&primitive, here)?;
        }
        node.children().try_for_each(|child| self.node(&child, here, depth + 1))
    }

    fn primitive(
        &mut self,
        primitive: &gltf::Primitive<'_>,
        here: DMat4,
    ) -> Result<(), TerrainError> {
        let error = |field: &str, read: String, allowed: String| {
            TerrainError::new(self.name, field, read, allowed)
        };
        if primitive.mode() != gltf::mesh::Mode::Triangles {
            self.other += 1;
            return Ok(());
        }
        let reader = primitive.reader(|buffer| self.buffers.get(buffer.index()).map(Vec::as_slice));
        let Some(positions) = reader.read_positions() else {
            return Err(error("POSITION", "nothing".into(), "three numbers a corner".into()));
        };
        let mut corners = Vec::new();
        for p in positions {
            let at = here.transform_point3(DVec3::from(p.map(f64::from)));
            if !(at.is_finite() && at.abs().max_element() < FURTHEST) {
                let allowed = "numbers under 1e9, moved by nodes or not".to_owned();
                return Err(error("POSITION", format!("{p:?}"), allowed));
            }
            corners.push(upright(at, Up::Y));
        }
        let order: Vec<usize> = match reader.read_indices() {
            Some(indices) => indices.into_u32().map(|k| k as usize).collect(),
            None => (0..corners.len()).collect(),
        };
        for triangle in order.chunks_exact(3) {
            let [a, b, c] =
                [0, 1, 2].map(|k| triangle.get(k).and_then(|k| corners.get(*k)).copied());
            let (Some(a), Some(b), Some(c)) = (a, b, c) else {
                let allowed = format!("under {}", corners.len());
                return Err(error("indices", format!("{triangle:?}"), allowed));
            };
            self.mesh.triangles.push([a, b, c]);
        }
        self.mesh.corners += corners.len();
        if self.mesh.corners > MOST || self.mesh.triangles.len() > MOST {
            let read = "more corners or triangles".to_owned();
            return Err(error("size", read, format!("at most {MOST}")));
        }
        Ok(())
    }
}
