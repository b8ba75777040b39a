//! A surface over scattered stations: triangles between them, the bank carried on beyond.
//!
//! 1. The stations are triangulated, constrained to the legs (Delaunay constrained; crate `spade`).
//! 2. Triangles along the rim with an angle over 135° opposite the rim are taken off: the chord
//!    between two far stations that only just passes a third one is no surveyed ground, and where
//!    that one lies metres lower it would stand as a cliff.
//! 3. Beyond what is left the bank is carried on: points on a lattice get the heights
//!    `Σ w·(h_b + s_b·(x − b)) / Σ w`, `w = |x − b|⁻⁶`, over places b along the rim with height h_b
//!    and slope s_b ([`Trend`]); the nearest rule, and no two neighbours differ by a jump.
//! 4. They join the triangulation, so that the surface is one, without a step, across the rim.
//!
//! A plane is carried on as that plane. Steps 2 to 4 and their numbers are ours. Known answers:
//! `verif_a_plane_surveyed_at_random_is_carried_on_as_that_plane` and
//! `prop_no_step_where_the_survey_ends`.

use std::collections::BTreeMap;

use glam::{DVec2, DVec3};
use spade::{
    ConstrainedDelaunayTriangulation, FloatTriangulation as _, HasPosition, Point2,
    PositionInTriangulation, Triangulation, handles::FixedVertexHandle,
};

use super::Trend;

/// Cosine of the angle of a rim triangle, opposite the rim, over which it is taken off: 135°.
const THIN_COS: f64 = -std::f64::consts::FRAC_1_SQRT_2;
/// Distance between carried-on points, m, where the survey is not very wide.
const LATTICE_M: f64 = 4.0;
/// Most carried-on points along a side of the terrain.
const LATTICE_MOST: f64 = 100.0;
/// Most places along the rim that they are carried on from.
const RIM_MOST: f64 = 2000.0;

struct Vertex {
    at: Point2<f64>,
    height: f64,
    carried: bool,
}

impl HasPosition for Vertex {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

type Mesh = ConstrainedDelaunayTriangulation<Vertex>;

/// Triangulated stations and the ground carried on beyond them.
pub(in crate::terrain) struct Tin {
    mesh: Mesh,
    /// Legs and breaklines left out because they cross earlier ones.
    pub(in crate::terrain) crossings: usize,
}

impl Tin {
    /// The surface of stations joined by edges over the rectangle from `low_m` to `high_m`.
    ///
    /// # Errors
    /// What the triangulation says of points it can't take.
    pub(in crate::terrain) fn new(
        points: &[DVec3],
        edges: &[[usize; 2]],
        low_m: DVec2,
        high_m: DVec2,
    ) -> Result<Self, String> {
        let mut mesh = Mesh::new();
        let mut handles: Vec<FixedVertexHandle> = Vec::with_capacity(points.len());
        for p in points {
            let at = Point2::new(tidy(p.x), tidy(p.y));
            let vertex = Vertex { at, height: p.z, carried: false };
            handles.push(mesh.insert(vertex).map_err(|e| e.to_string())?);
        }
        let mut crossings = 0;
        for [a, b] in edges {
            if let (Some(&a), Some(&b)) = (handles.get(*a), handles.get(*b))
                && a != b
                && !mesh.exists_constraint(a, b)
                && mesh.try_add_constraint(a, b).is_empty()
            {
                crossings += 1;
            }
        }
        let survey = Surveyed::new(&mesh);
        let rim = survey.rim(&mesh);
        for [a, b] in &rim {
            if !mesh.exists_constraint(*a, *b) {
                mesh.try_add_constraint(*a, *b);
            }
        }
        let segments: Vec<[DVec3; 2]> =
            rim.iter().map(|[a, b]| [place(&mesh, *a), place(&mesh, *b)]).collect();
        let lattice_m = LATTICE_M.max((high_m - low_m).max_element() / LATTICE_MOST);
        let from = rim_samples(points, &segments, 0.25 * lattice_m);
        let count = ((high_m - low_m) / lattice_m).ceil() + 2.0;
        let mut carried = Vec::new();
        for j in 0..=count.y as usize {
            for i in 0..=count.x as usize {
                let step = DVec2::new(i as f64 - 1.0, j as f64 - 1.0);
                let at = low_m + step * lattice_m;
                let near = 0.5 * lattice_m;
                if !survey.contains(&mesh, at) && segments.iter().all(|s| away_m(s, at) >= near) {
                    let at_point = Point2::new(tidy(at.x), tidy(at.y));
                    carried.push(Vertex {
                        at: at_point,
                        height: carry_on(&from, at),
                        carried: true,
                    });
                }
            }
        }
        for vertex in carried {
            mesh.insert(vertex).map_err(|e| e.to_string())?;
        }
        Ok(Self { mesh, crossings })
    }

    /// Height at a place of the rectangle and whether it lies beyond the survey.
    pub(in crate::terrain) fn height(&self, at: DVec2, scratch: &mut Weights) -> (f64, bool) {
        self.mesh.barycentric().get_weights(Point2::new(tidy(at.x), tidy(at.y)), &mut scratch.0);
        let (mut height, mut carried) = (0.0, 0.0);
        for (handle, weight) in &scratch.0 {
            let vertex = self.mesh.vertex(*handle);
            height += weight * vertex.data().height;
            carried += if vertex.data().carried { *weight } else { 0.0 };
        }
        (height, carried > 1e-9)
    }
}

/// Scratch memory of [`Tin::height`].
#[derive(Default)]
pub(in crate::terrain) struct Weights(Vec<(FixedVertexHandle, f64)>);

/// Which triangles of a mesh of stations are surveyed ground.
struct Surveyed {
    /// Kept triangles by their index in the mesh.
    kept: BTreeMap<usize, bool>,
    /// Triangles at each edge.
    sides: BTreeMap<[usize; 2], Vec<usize>>,
}

impl Surveyed {
    fn new(mesh: &Mesh) -> Self {
        let mut corners: BTreeMap<usize, [FixedVertexHandle; 3]> = BTreeMap::new();
        let mut sides: BTreeMap<[usize; 2], Vec<usize>> = BTreeMap::new();
        for edge in mesh.undirected_edges() {
            let [a, b] = edge.vertices().map(|v| v.fix().index());
            sides.insert(key(a, b), Vec::new());
        }
        for face in mesh.inner_faces() {
            let vertices = face.vertices().map(|v| v.fix());
            let k = face.fix().index();
            let [a, b, c] = vertices.map(|v| v.index());
            for side in [key(a, b), key(b, c), key(c, a)] {
                sides.entry(side).or_default().push(k);
            }
            corners.insert(k, vertices);
        }
        let mut kept: BTreeMap<usize, bool> = corners.keys().map(|k| (*k, true)).collect();
        let mut rim: Vec<[usize; 2]> =
            sides.iter().filter(|(_, faces)| faces.len() == 1).map(|(side, _)| *side).collect();
        while let Some(side) = rim.pop() {
            let mut left =
                sides.get(&side).into_iter().flatten().filter(|k| kept.get(k) == Some(&true));
            let (Some(&k), None) = (left.next(), left.next()) else { continue };
            let Some(all) = corners.get(&k) else { continue };
            let Some(apex) = all.iter().find(|v| !side.contains(&v.index())) else { continue };
            let ends: Vec<FixedVertexHandle> =
                all.iter().copied().filter(|v| side.contains(&v.index())).collect();
            let [a, b] = ends[..] else { continue };
            if mesh.exists_constraint(a, b) {
                continue;
            }
            let at = place(mesh, *apex).truncate();
            let (u, v) = (place(mesh, a).truncate() - at, place(mesh, b).truncate() - at);
            if u.dot(v) < THIN_COS * u.length() * v.length() {
                kept.insert(k, false);
                rim.extend([key(apex.index(), a.index()), key(apex.index(), b.index())]);
            }
        }
        Self { kept, sides }
    }

    fn is_kept(&self, face: usize) -> bool {
        self.kept.get(&face).copied().unwrap_or(false)
    }

    /// Edges with surveyed ground on one side only, and legs with none.
    fn rim(&self, mesh: &Mesh) -> Vec<[FixedVertexHandle; 2]> {
        mesh.undirected_edges()
            .filter_map(|edge| {
                let ends = edge.vertices().map(|v| v.fix());
                let faces = self.sides.get(&key(ends[0].index(), ends[1].index()))?;
                let kept = faces.iter().filter(|k| self.is_kept(**k)).count();
                (kept == 1 || (kept == 0 && edge.is_constraint_edge())).then_some(ends)
            })
            .collect()
    }

    fn contains(&self, mesh: &Mesh, at: DVec2) -> bool {
        match mesh.locate(Point2::new(tidy(at.x), tidy(at.y))) {
            PositionInTriangulation::OnFace(face) => self.is_kept(face.index()),
            PositionInTriangulation::OnEdge(edge) => {
                let [a, b] = mesh.directed_edge(edge).vertices().map(|v| v.fix().index());
                let faces = self.sides.get(&key(a, b));
                faces.into_iter().flatten().any(|k| self.is_kept(*k))
            }
            PositionInTriangulation::OnVertex(_) => true,
            PositionInTriangulation::OutsideOfConvexHull(_)
            | PositionInTriangulation::NoTriangulation => false,
        }
    }
}

/// A place of the rim, its height and the slope the bank goes on with.
struct Rim {
    at: DVec2,
    height: f64,
    slope: DVec2,
}

fn rim_samples(points: &[DVec3], segments: &[[DVec3; 2]], spacing_m: f64) -> Vec<Rim> {
    let trend = Trend::new(points);
    let length = |s: &[DVec3; 2]| s[0].truncate().distance(s[1].truncate());
    let spacing = spacing_m.max(segments.iter().map(length).sum::<f64>() / RIM_MOST);
    segments
        .iter()
        .flat_map(|s| {
            let parts = (length(s) / spacing).ceil().max(1.0) as usize;
            // Middles of equal parts: every metre of the rim weighs the same.
            (0..parts).map(move |k| s[0].lerp(s[1], (k as f64 + 0.5) / parts as f64))
        })
        .map(|p| Rim {
            at: p.truncate(),
            height: p.z,
            slope: trend.slope_near(points, p.truncate()),
        })
        .collect()
}

fn carry_on(rim: &[Rim], at: DVec2) -> f64 {
    let (mut sum, mut height) = (0.0, 0.0);
    for b in rim {
        let off = at - b.at;
        let w = 1.0 / (off.length_squared().powi(3) + 1e-12);
        sum += w;
        height += w * (b.height + b.slope.dot(off));
    }
    height / sum.max(f64::MIN_POSITIVE)
}

fn away_m(segment: &[DVec3; 2], at: DVec2) -> f64 {
    let [a, b] = segment.map(|p| p.truncate());
    let along = b - a;
    let t = (at - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
    at.distance(a + along * t.clamp(0.0, 1.0))
}

fn place(mesh: &Mesh, handle: FixedVertexHandle) -> DVec3 {
    let vertex = mesh.vertex(handle);
    let at = vertex.position();
    DVec3::new(at.x, at.y, vertex.data().height)
}

fn key(a: usize, b: usize) -> [usize; 2] {
    [a.min(b), a.max(b)]
}

/// A coordinate that spade takes: it refuses numbers under 1e-43 that aren't 0.
fn tidy(x: f64) -> f64 {
    if x.abs() < 1e-12 { 0.0 } else { x }
}
