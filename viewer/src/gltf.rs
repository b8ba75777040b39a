//! A replay as one file that any 3D program opens: binary glTF 2.0.
//!
//! The terrain, every thing, the moving piece as a node with its places and attitudes at the
//! track's samples, and the way of its centre as a line. Metres, y up (glTF 2.0, §3.4); colours
//! are on the nodes and carry their light (KHR_materials_unlit, where a program knows it).
//! Layout: one buffer of 4-byte numbers, one view and one accessor per array, so that everything
//! is aligned as §3.6.2.4 wants it.

use bevy::math::{Quat, Vec3};
use serde_json::{Value, json};
use tumblewood::drop::Sample;

use crate::{
    frame::to_screen_frame,
    mesh::Relief,
    shape::{Colour, Drawn, single},
};

/// Component types and targets (glTF 2.0, §5.1.3 and §5.11.5).
const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const ARRAY_BUFFER: u32 = 34_962;
const ELEMENT_ARRAY_BUFFER: u32 = 34_963;
/// Primitive modes (§5.24.4).
const LINES: u32 = 1;
const TRIANGLES: u32 = 4;
/// Of the file and its two chunks (§4.4).
const MAGIC: &[u8; 4] = b"glTF";
const JSON_CHUNK: &[u8; 4] = b"JSON";
const BIN_CHUNK: &[u8; 4] = b"BIN\0";

/// What is exported.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Replayed<'a> {
    /// What the file is called inside.
    pub(crate) name: &'a str,
    /// Said with it, in the file's extras: what it stands for and what it doesn't.
    pub(crate) caution: &'a str,
    /// The ground.
    pub(crate) relief: &'a Relief,
    /// Its colour, unlit.
    pub(crate) ground: Colour,
    /// What stands on it, by name.
    pub(crate) things: &'a [(String, Drawn)],
    /// The piece in its own frame.
    pub(crate) piece: &'a Drawn,
    /// Where the piece was when.
    pub(crate) samples: &'a [Sample],
    /// Colour of the way of its centre.
    pub(crate) way: Colour,
}

/// Writes the file.
#[must_use]
pub(crate) fn glb(replayed: &Replayed<'_>) -> Vec<u8> {
    let mut file = File::default();
    file.still("terrain", &ground(replayed.relief, replayed.ground));
    for (name, drawn) in replayed.things {
        file.still(name, drawn);
    }
    let mut way = Drawn::default();
    let centres: Vec<Vec3> = replayed.samples.iter().map(|s| single(s.motion.centre_m)).collect();
    way.polyline(&centres, replayed.way);
    file.still("way of the centre", &way);
    file.moving("piece", replayed.piece, replayed.samples);
    file.finish(replayed)
}

/// The finite nodes of the terrain.
fn ground(relief: &Relief, colour: Colour) -> Drawn {
    let mut drawn = Drawn::default();
    let mut place = vec![0; relief.points_m.len()];
    for ((point, light), place) in relief.points_m.iter().zip(&relief.light).zip(&mut place) {
        if point.is_finite() {
            *place = drawn.points_m.len() as u32;
            drawn.points_m.push(*point);
            let [r, g, b, a] = colour;
            drawn.colours.push([r * light, g * light, b * light, a]);
        }
    }
    // No triangle touches a hole.
    let at = |k: u32| place.get(k as usize).copied().unwrap_or(0);
    drawn.triangles = relief.triangles.iter().map(|triangle| triangle.map(at)).collect();
    drawn
}

#[derive(Default)]
struct File {
    bytes: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    nodes: Vec<Value>,
    animations: Vec<Value>,
}

impl File {
    /// Adds numbers as a view and an accessor; its index. Least and greatest are said for floats.
    fn floats<const N: usize>(&mut self, rows: &[[f32; N]], target: Option<u32>) -> usize {
        const NAMES: [&str; 4] = ["SCALAR", "VEC2", "VEC3", "VEC4"];
        let start = self.bytes.len();
        self.bytes.extend(rows.iter().flatten().flat_map(|part| part.to_le_bytes()));
        let mut low = [f32::INFINITY; N];
        let mut high = [f32::NEG_INFINITY; N];
        for row in rows {
            for ((low, high), part) in low.iter_mut().zip(&mut high).zip(row) {
                (*low, *high) = (low.min(*part), high.max(*part));
            }
        }
        self.accessor(
            start,
            target,
            json!({
                "componentType": FLOAT, "count": rows.len(), "type": NAMES.get(N - 1),
                "min": low.as_slice(), "max": high.as_slice(),
            }),
        )
    }

    fn indices<const N: usize>(&mut self, rows: &[[u32; N]]) -> usize {
        let start = self.bytes.len();
        self.bytes.extend(rows.iter().flatten().flat_map(|k| k.to_le_bytes()));
        let about = json!({
            "componentType": UNSIGNED_INT, "count": rows.len() * N, "type": "SCALAR",
        });
        self.accessor(start, Some(ELEMENT_ARRAY_BUFFER), about)
    }

    fn accessor(&mut self, start: usize, target: Option<u32>, mut about: Value) -> usize {
        let mut view =
            json!({ "buffer": 0, "byteOffset": start, "byteLength": self.bytes.len() - start });
        if let Some(target) = target {
            view["target"] = target.into();
        }
        self.views.push(view);
        about["bufferView"] = (self.views.len() - 1).into();
        self.accessors.push(about);
        self.accessors.len() - 1
    }

    /// Adds a mesh; its index, if there is anything in it.
    fn mesh(&mut self, name: &str, drawn: &Drawn) -> Option<usize> {
        if drawn.triangles.is_empty() && drawn.lines.is_empty() {
            return None;
        }
        let points: Vec<[f32; 3]> =
            drawn.points_m.iter().map(|point| to_screen_frame(*point).to_array()).collect();
        let places = self.floats(&points, Some(ARRAY_BUFFER));
        let colours = self.floats(&drawn.colours, Some(ARRAY_BUFFER));
        let mut parts = Vec::new();
        if !drawn.triangles.is_empty() {
            parts.push((TRIANGLES, self.indices(&drawn.triangles)));
        }
        if !drawn.lines.is_empty() {
            parts.push((LINES, self.indices(&drawn.lines)));
        }
        let primitives: Vec<Value> = parts
            .into_iter()
            .map(|(mode, indices)| {
                json!({
                    "attributes": { "POSITION": places, "COLOR_0": colours },
                    "indices": indices, "material": 0, "mode": mode,
                })
            })
            .collect();
        self.meshes.push(json!({ "name": name, "primitives": primitives }));
        Some(self.meshes.len() - 1)
    }

    fn still(&mut self, name: &str, drawn: &Drawn) {
        if let Some(mesh) = self.mesh(name, drawn) {
            self.nodes.push(json!({ "name": name, "mesh": mesh }));
        }
    }

    /// A node that moves through samples; two at one time are one.
    fn moving(&mut self, name: &str, drawn: &Drawn, samples: &[Sample]) {
        let (Some(mesh), Some(first)) = (self.mesh(name, drawn), samples.first()) else { return };
        let mut times: Vec<[f32; 1]> = Vec::with_capacity(samples.len());
        let mut places: Vec<[f32; 3]> = Vec::with_capacity(samples.len());
        let mut turns: Vec<[f32; 4]> = Vec::with_capacity(samples.len());
        let mut before = Quat::IDENTITY;
        for sample in samples {
            let time_s = (sample.time_s - first.time_s) as f32;
            if times.last().is_some_and(|[last]| time_s <= *last) {
                continue;
            }
            // The nearer of the two quaternions of one attitude.
            let turn = in_screen_frame(sample.motion.attitude);
            before = if turn.dot(before) < 0.0 { -turn } else { turn };
            times.push([time_s]);
            places.push(to_screen_frame(single(sample.motion.centre_m)).to_array());
            turns.push(before.to_array());
        }
        let node = self.nodes.len();
        self.nodes.push(json!({
            "name": name, "mesh": mesh,
            "translation": places.first(), "rotation": turns.first(),
        }));
        if times.len() < 2 {
            return;
        }
        let time = self.floats(&times, None);
        let place = self.floats(&places, None);
        let turn = self.floats(&turns, None);
        let channel = |sampler: u32, path: &str| json!({ "sampler": sampler, "target": { "node": node, "path": path } });
        let sampler =
            |output: usize| json!({ "input": time, "output": output, "interpolation": "LINEAR" });
        self.animations.push(json!({
            "name": "drop",
            "channels": [channel(0, "translation"), channel(1, "rotation")],
            "samplers": [sampler(place), sampler(turn)],
        }));
    }

    fn finish(self, replayed: &Replayed<'_>) -> Vec<u8> {
        let nodes: Vec<usize> = (0..self.nodes.len()).collect();
        let mut about = json!({
            "asset": {
                "version": "2.0",
                "generator": concat!("tumblewood ", env!("CARGO_PKG_VERSION")),
                "extras": { "caution": replayed.caution },
            },
            "extensionsUsed": ["KHR_materials_unlit"],
            "scene": 0,
            "scenes": [{ "name": replayed.name, "nodes": nodes }],
            "buffers": [{ "byteLength": self.bytes.len() }],
            "materials": [{
                "name": "painted", "doubleSided": true,
                "pbrMetallicRoughness": { "metallicFactor": 0.0, "roughnessFactor": 1.0 },
                "extensions": { "KHR_materials_unlit": {} },
            }],
        });
        // A list that is there must not be empty.
        for (key, list) in [
            ("nodes", self.nodes),
            ("meshes", self.meshes),
            ("accessors", self.accessors),
            ("bufferViews", self.views),
            ("animations", self.animations),
        ] {
            if !list.is_empty() {
                about[key] = list.into();
            }
        }
        let mut text = about.to_string().into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        let length = 12 + 8 + text.len() + 8 + self.bytes.len();
        let mut file = Vec::with_capacity(length);
        file.extend(MAGIC);
        file.extend(2_u32.to_le_bytes());
        file.extend((length as u32).to_le_bytes());
        chunk(&mut file, JSON_CHUNK, &text);
        chunk(&mut file, BIN_CHUNK, &self.bytes);
        file
    }
}

fn chunk(file: &mut Vec<u8>, kind: &[u8; 4], bytes: &[u8]) {
    file.extend((bytes.len() as u32).to_le_bytes());
    file.extend(kind);
    file.extend(bytes);
}

/// A rotation of the site's frame as one of the file's: its axis is turned, its angle stays.
fn in_screen_frame(site: glam::DQuat) -> Quat {
    let [x, y, z, w] = site.to_array().map(|part| part as f32);
    let axis = to_screen_frame(Vec3::new(x, y, z));
    Quat::from_xyzw(axis.x, axis.y, axis.z, w).normalize()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::relief;
    use ::gltf::{Gltf, animation::util::ReadOutputs, mesh::Mode};
    use glam::{DQuat, DVec2, DVec3};
    use tumblewood::{motion::Motion, terrain::Terrain};

    fn samples(count: u32) -> Vec<Sample> {
        (0..count)
            .map(|k| {
                let time_s = 0.1 * f64::from(k);
                // Faster than half a turn in two samples, and through the quaternion's sign.
                let attitude = DQuat::from_axis_angle(DVec3::new(0.6, 0.0, 0.8), 9.0 * time_s)
                    * DQuat::from_rotation_x(0.3);
                let motion = Motion {
                    centre_m: DVec3::new(2.0 * time_s, -3.0 * time_s, 8.0 - time_s),
                    attitude: if k % 3 == 0 { -attitude } else { attitude },
                    velocity_m_s: DVec3::ZERO,
                    spin_rad_s: DVec3::ZERO,
                };
                Sample { time_s, motion, on_ground: false }
            })
            .collect()
    }

    fn hilly() -> Relief {
        let mut terrain =
            Terrain::from_heights(DVec2::splat(-5.0), 1.0, 11, 11, |x, y| 0.3 * x - 0.5 * y);
        std::sync::Arc::make_mut(&mut terrain.grid).heights_m[60] = f32::NAN;
        relief(&terrain)
    }

    fn piece() -> Drawn {
        let mut piece = Drawn::default();
        let ends = [Vec3::Z * -1.0, Vec3::Z * 1.5];
        let face = crate::shape::End::Face { wood: [0.5; 4], ring: [0.2, 0.2, 0.2, 1.0] };
        piece.tube(&ends, &[0.3, 0.2], 12, [face; 2], [0.3, 0.2, 0.1, 1.0]);
        piece
    }

    fn file(samples: &[Sample], things: &[(String, Drawn)]) -> Vec<u8> {
        glb(&Replayed {
            name: "Lake bank, drop 17",
            caution: "The model has not been compared with dropped logs.",
            relief: &hilly(),
            ground: [0.7, 0.6, 0.4, 1.0],
            things,
            piece: &piece(),
            samples,
            way: [0.9, 0.1, 0.1, 1.0],
        })
    }

    #[test]
    fn val_another_reader_reads_back_what_was_written() {
        let samples = samples(24);
        let mut hut = Drawn::default();
        let axes = [Vec3::X, Vec3::Y, Vec3::Z];
        hut.cuboid(Vec3::new(3.0, -2.0, 1.0), axes, Vec3::ONE, [0.5, 0.5, 0.5, 1.0]);
        let things = [("hut".to_owned(), hut), ("nothing".to_owned(), Drawn::default())];
        let bytes = file(&samples, &things);
        // Reading checks indices, required properties, and least and greatest of places.
        let read = Gltf::from_slice(&bytes).unwrap();
        let blob = read.blob.clone().unwrap();
        assert_eq!(read.document.as_json().extensions_required.len(), 0);

        let names: Vec<_> = read.nodes().map(|node| node.name().unwrap().to_owned()).collect();
        assert_eq!(names, ["terrain", "hut", "way of the centre", "piece"]);
        for view in read.views() {
            assert_eq!(view.offset() % 4, 0);
            assert!(view.offset() + view.length() <= blob.len());
        }
        for mesh in read.meshes() {
            for primitive in mesh.primitives() {
                let reader = primitive.reader(|_| Some(&blob));
                let places: Vec<[f32; 3]> = reader.read_positions().unwrap().collect();
                assert!(places.iter().flatten().all(|part| part.is_finite()));
                let round = primitive.bounding_box();
                for (axis, (low, high)) in round.min.iter().zip(round.max).enumerate() {
                    let parts = || places.iter().map(|p| p[axis]);
                    assert_eq!(parts().fold(f32::INFINITY, f32::min), *low);
                    assert_eq!(parts().fold(f32::NEG_INFINITY, f32::max), high);
                }
                let colours: Vec<_> = reader.read_colors(0).unwrap().into_rgba_f32().collect();
                assert_eq!(colours.len(), places.len());
                assert!(colours.iter().flatten().all(|part| (0.0..=1.0).contains(part)));
                let indices: Vec<u32> = reader.read_indices().unwrap().into_u32().collect();
                assert!(indices.iter().all(|k| (*k as usize) < places.len()));
                let corners = match primitive.mode() {
                    Mode::Triangles => 3,
                    Mode::Lines => 2,
                    other => panic!("{other:?}"),
                };
                assert_eq!(indices.len() % corners, 0);
            }
        }
        // The hut is 3 m east, 2 m south, 1 m up: y up, and south toward the viewer.
        let hut = read.meshes().nth(1).unwrap().primitives().next().unwrap().bounding_box();
        assert_eq!((hut.min, hut.max), ([2.0, 0.0, 1.0], [4.0, 2.0, 3.0]));
    }

    /// Where a point of the piece is at each sample, by the file and by the motion itself.
    #[test]
    fn val_the_animation_puts_the_piece_where_it_was() {
        let samples = samples(24);
        let bytes = file(&samples, &[]);
        let read = Gltf::from_slice(&bytes).unwrap();
        let blob = read.blob.clone().unwrap();
        let animation = read.animations().next().unwrap();
        let (mut times, mut places, mut turns) = (Vec::new(), Vec::new(), Vec::new());
        for channel in animation.channels() {
            assert_eq!(channel.target().node().name(), Some("piece"));
            let reader = channel.reader(|_| Some(&blob));
            let inputs: Vec<f32> = reader.read_inputs().unwrap().collect();
            let said = channel.sampler().input();
            assert_eq!(said.min().unwrap()[0].as_f64().unwrap(), 0.0);
            let last = said.max().unwrap()[0].as_f64().unwrap();
            assert!((last - 2.3).abs() < 1e-6);
            times.push(inputs);
            match reader.read_outputs().unwrap() {
                ReadOutputs::Translations(all) => places = all.collect(),
                ReadOutputs::Rotations(all) => turns = all.into_f32().collect(),
                _ => panic!("neither place nor attitude"),
            }
        }
        assert_eq!(times[0], times[1]);
        assert!(times[0].windows(2).all(|pair| pair[1] > pair[0]));
        assert_eq!((places.len(), turns.len()), (samples.len(), samples.len()));
        let body = DVec3::new(0.2, -0.1, 1.3);
        let own = to_screen_frame(single(body));
        for (sample, (place, turn)) in samples.iter().zip(places.iter().zip(&turns)) {
            let turn = Quat::from_array(*turn);
            assert!((turn.length() - 1.0).abs() < 1e-5);
            let there = Vec3::from_array(*place) + turn * own;
            let want = to_screen_frame(single(sample.motion.point_m(body)));
            assert!(there.abs_diff_eq(want, 1e-4), "{there} {want}");
        }
        for pair in turns.windows(2) {
            assert!(Quat::from_array(pair[0]).dot(Quat::from_array(pair[1])) >= 0.0);
        }
    }

    #[test]
    fn verif_the_file_is_laid_out_as_its_format_wants() {
        let bytes = file(&samples(5), &[]);
        let word = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!((&bytes[..4], word(4), word(8)), (&b"glTF"[..], 2, bytes.len()));
        let json = word(12);
        assert_eq!((&bytes[16..20], json % 4), (&b"JSON"[..], 0));
        let about: Value = serde_json::from_slice(&bytes[20..20 + json]).unwrap();
        let binary = 20 + json;
        assert_eq!((&bytes[binary + 4..binary + 8], word(binary) % 4), (&b"BIN\0"[..], 0));
        assert_eq!(bytes.len(), binary + 8 + word(binary));
        let length = about["buffers"][0]["byteLength"].as_u64().unwrap() as usize;
        assert!(word(binary) - length < 4);
        assert!(
            about["asset"]["extras"]["caution"].as_str().unwrap().contains("not been compared")
        );
    }

    #[test]
    fn prop_a_piece_that_never_moved_is_a_still_picture() {
        for count in [0, 1] {
            let bytes = file(&samples(count), &[]);
            let read = Gltf::from_slice(&bytes).unwrap();
            assert_eq!(read.animations().count(), 0);
            assert_eq!(read.nodes().any(|n| n.name() == Some("piece")), count == 1);
        }
        let mut twice = samples(3);
        twice.push(twice[2]);
        let bytes = file(&twice, &[]);
        let read = Gltf::from_slice(&bytes).unwrap();
        let animation = read.animations().next().unwrap();
        assert_eq!(animation.samplers().next().unwrap().input().count(), 3);
    }
}
