//! The readers of files that nobody here wrote, each with files that it can read: what
//! `fuzz_terrain` changes bytes in, and what the coverage-guided `tests/fuzz` begins from.

use std::{
    alloc::{self, GlobalAlloc, Layout},
    fs,
    path::Path,
    sync::atomic::{AtomicUsize, Ordering},
};

use glam::DVec2;
use tempfile::TempDir;
use tumblewood::{
    proposed::{
        Base, Proposals, Put, Up, accept::Proposed, footprint, from_points, mesh, write::ron,
    },
    terrain::{
        LengthUnit,
        intake::{Wanted, near, take, write},
        system::System,
    },
};

use crate::{
    ground::{RIM, STUMP, wanted},
    root,
};

/// Most memory that a reader may ask for at a time, bytes: the files have under 200 kB, the
/// lattices some 10,000 nodes.
const MOST_BYTES: usize = 256 << 20;

/// Counts what is asked for and remembers the most: the allocator of whatever reads here.
pub struct Counting;

static NOW: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

#[allow(unsafe_code, reason = "an allocator is the one place that sees what is asked of it")]
// SAFETY: every call is passed on unchanged to the system's allocator.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let now = NOW.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        MOST.fetch_max(now, Ordering::Relaxed);
        // SAFETY: the caller's promises are those of the system's allocator.
        unsafe { alloc::System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        NOW.fetch_sub(layout.size(), Ordering::Relaxed);
        // SAFETY: as above.
        unsafe { alloc::System.dealloc(pointer, layout) }
    }
}

/// What is read of a file, or the error that is said.
type Reading = Box<dyn Fn(&Path) -> Result<(), String>>;

/// A reader of one kind of file.
pub struct Reader {
    /// What it is called: `csv`.
    pub name: &'static str,
    /// Files that it can read.
    pub seeds: Vec<Vec<u8>>,
    /// How its files' names end, without the dot.
    ending: &'static str,
    read: Reading,
    folder: TempDir,
}

impl Reader {
    fn new(name: &'static str, ending: &'static str, seeds: Vec<Vec<u8>>, read: Reading) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        Self { name, seeds, ending, read, folder }
    }

    /// Reads bytes as its file and looks at what came of it.
    ///
    /// # Errors
    ///
    /// What the reader says of the file.
    ///
    /// # Panics
    ///
    /// If the reader does, if what it gives isn't all numbers, if its error doesn't say what was
    /// read and what is allowed, or if it took more memory than the file can want. The memory
    /// counted is the whole program's: one read at a time.
    pub fn read(&self, bytes: &[u8]) -> Result<(), String> {
        let path = self.folder.path().join(format!("file.{}", self.ending));
        fs::write(&path, bytes).expect("written");
        let before = NOW.load(Ordering::Relaxed);
        MOST.store(before, Ordering::Relaxed);
        let said = (self.read)(&path);
        let most = MOST.load(Ordering::Relaxed).saturating_sub(before);
        assert!(most < MOST_BYTES, "{}: {most} bytes asked for", self.name);
        if let Err(said) = &said {
            assert!(said.contains("read") && said.contains("allowed"), "{}: {said}", self.name);
        }
        said
    }
}

/// All readers. Drawn anew for each caller: proposals need ground that is made for them.
///
/// # Panics
///
/// If a kept file can't be read.
#[must_use]
pub fn readers() -> Vec<Reader> {
    let forms = ["plain", "deflate-predictor3", "lerc", "zstd", "tiled", "cog", "lzw", "packbits"];
    let rows: String = (0..60)
        .map(|k| {
            format!("{},{},{},{}\n", 500 + k % 8 * 4, 900 + k / 8 * 4, k % 5, ["", "edge"][k % 2])
        })
        .collect();
    let points: String = (0..40)
        .map(|k| {
            let (lat, lon) = (46.5 + f64::from(k % 6) * 1e-4, 8.4 + f64::from(k / 6) * 1e-4);
            format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"><ele>{}</ele></trkpt>\n", 500 + k)
        })
        .collect();
    let gpx =
        format!("<gpx version=\"1.1\" creator=\"a\"><trk><trkseg>\n{points}</trkseg></trk></gpx>");
    let tiffs = forms.iter().map(|form| kept(&format!("forms/{form}.tif"))).collect();
    let mut all = vec![
        ground("laz", "laz", river_bank(15.0), vec![kept("river-bank.laz")]),
        octree(),
        ground("geotiff", "tif", wanted("", STUMP, 15.0), tiffs),
        ground("ascii", "asc", wanted("", STUMP, 15.0), vec![kept("forms/ascii.asc")]),
        ground(
            "csv",
            "csv",
            wanted("", "512,912", 15.0),
            vec![format!("x,y,z,line\n{rows}").into()],
        ),
        ground("gpx", "gpx", wanted("", "46.5002,8.4003", 15.0), vec![gpx.into()]),
    ];
    all.extend(proposals());
    all
}

fn kept(file: &str) -> Vec<u8> {
    fs::read(root().join("assets/terrain").join(file)).expect("a kept file")
}

/// Ground out of a file, its heights all numbers.
fn ground(name: &'static str, ending: &'static str, asked: Wanted, seeds: Vec<Vec<u8>>) -> Reader {
    let read = Box::new(move |path: &Path| {
        let wanted = Wanted { files: vec![path.to_owned()], ..asked.clone() };
        let ground = take(&wanted, &mut |_| true).map_err(|e| e.to_string())?;
        assert!(ground.heights_m.iter().all(|h| h.is_finite()));
        Ok(())
    });
    Reader::new(name, ending, seeds, read)
}

/// Points by their octree: those of this file are too far apart to be ground.
fn octree() -> Reader {
    let metres = System::utm(49.36, -117.245).expect("a zone");
    let at_m = metres.from_lonlat(DVec2::new(-117.245, 49.36)).expect("a place");
    let read = Box::new(move |path: &Path| {
        let wanted = Wanted { files: vec![path.to_owned()], ..wanted("", "", 700.0) };
        let found = near(&wanted, &metres, at_m, 0.0, &mut |_| true).map_err(|e| e.to_string())?;
        assert!(found.points.iter().all(|point| point.at_m.iter().all(|m| m.is_finite())));
        Ok(())
    });
    Reader::new("copc", "laz", vec![kept("forms/layered.copc.laz")], read)
}

/// The river bank's cloud doesn't say that its heights are in feet.
fn river_bank(around_m: f64) -> Wanted {
    Wanted { heights_in: Some(LengthUnit::Foot), ..wanted("", RIM, around_m) }
}

/// Proposals that are written, read again, and all numbers.
fn fine(base: &Base, found: &Proposals) {
    for one in &found.proposals {
        let text = format!("{one:?}");
        assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
    }
    let text = ron(base, found);
    Proposed::parse(&text, "p.ron").unwrap_or_else(|e| panic!("{e}: {text}"));
}

/// Everything that proposals are made of or read from, on the river bank.
fn proposals() -> Vec<Reader> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("ground.tif");
    let file = root().join("assets/terrain/river-bank.laz");
    let bank = |path: &Path| Wanted { files: vec![path.to_owned()], ..river_bank(25.0) };
    let taken = take(&bank(&file), &mut |_| true).expect("ground");
    fs::write(&path, write::geotiff(&taken).expect("bytes")).expect("written");
    let base = || Base::open(&path).expect("ground");
    let at = base().at_m;
    let house = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"id\":7,\"properties\":\
         {{\"height\":6,\"eaves\":\"3 m\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":[[[{0},{1}],\
         [{2},{1}],[{2},{3}],[{0},{3}],[{0},{1}]]]}}}}]}}",
        at.x + 2.0,
        at.y - 9.0,
        at.x + 9.5,
        at.y - 3.25
    );
    let globe = "{\"type\":\"MultiPolygon\",\"coordinates\":[[[[-123.07125,44.05062],[-123.07117,44.05062],\
                 [-123.07117,44.05067],[-123.07125,44.05062]]]]}";
    let shed = "o shed\nv 0 0 0\nv 4 0 0\nv 4 3 0\nv 0 3 0\nv 0 0 2\nv 4 0 2.5\nv 4 3 2\nv 0 3 2.5\n\
                f 1 2 6 5\nf 2/1 3/1 7/1 6/1\nf -1 -2 -3 -4\nf 1 5 8 4\n";
    let found = from_points(&base(), &bank(&file), &mut |_| true).expect("proposals");
    let written = ron(&base(), &found);
    let cut = written.get(..6000).unwrap_or(&written).to_owned();
    let of_mesh = |name, ending, seed: Vec<u8>| {
        let base = base();
        let put = Put { at: Some(format!("{},{}", at.x + 4.0, at.y - 9.0)), turn_rad: 0.3 };
        let told = mesh::Told { up: Some(Up::Z), unit: None };
        let read = Box::new(move |path: &Path| {
            let found = mesh::from_mesh(&base, path, told, &put).map_err(|e| e.to_string())?;
            fine(&base, &found);
            Ok(())
        });
        Reader::new(name, ending, vec![seed], read)
    };
    let (on_points, on_footprints) = (base(), base());
    let told = footprint::Told { epsg: None, wall_m: Some(3.0), roof_m: None };
    vec![
        Reader::new(
            "points",
            "laz",
            vec![kept("river-bank.laz")],
            Box::new(move |path| {
                let found = from_points(&on_points, &bank(path), &mut |_| true)
                    .map_err(|e| e.to_string())?;
                fine(&on_points, &found);
                Ok(())
            }),
        ),
        Reader::new(
            "geojson",
            "geojson",
            vec![house.into(), globe.into()],
            Box::new(move |path| {
                let found = footprint::from_footprints(&on_footprints, path, told)
                    .map_err(|e| e.to_string())?;
                fine(&on_footprints, &found);
                Ok(())
            }),
        ),
        of_mesh("obj", "obj", shed.into()),
        of_mesh("glb", "glb", glb()),
        Reader::new(
            "proposals",
            "ron",
            vec![cut.into(), written.into()],
            Box::new(|path| {
                Proposed::load(path).map(|_| ()).map_err(|e| format!("{e} (read, allowed)"))
            }),
        ),
    ]
}

/// A tetrahedron of 4 m as a glTF in one file.
fn glb() -> Vec<u8> {
    let corners: [[f32; 3]; 4] = [[0., 0., 0.], [4., 0., 0.], [0., 0., -4.], [1., 4., -1.]];
    let mut bin: Vec<u8> =
        [0_u16, 1, 3, 1, 2, 3, 2, 0, 3, 0, 2, 1].iter().flat_map(|k| k.to_le_bytes()).collect();
    bin.extend(corners.iter().flatten().flat_map(|x| x.to_le_bytes()));
    let mut json = "{\"asset\":{\"version\":\"2.0\"},\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"mesh\":0}],\
                    \"meshes\":[{\"primitives\":[{\"attributes\":{\"POSITION\":1},\"indices\":0}]}],\
                    \"buffers\":[{\"byteLength\":72}],\"bufferViews\":[{\"buffer\":0,\"byteLength\":24},\
                    {\"buffer\":0,\"byteOffset\":24,\"byteLength\":48}],\"accessors\":[{\"bufferView\":0,\
                    \"componentType\":5123,\"count\":12,\"type\":\"SCALAR\"},{\"bufferView\":1,\
                    \"componentType\":5126,\"count\":4,\"type\":\"VEC3\",\"min\":[0,0,-4],\"max\":[4,4,0]}]}"
        .as_bytes()
        .to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut out = b"glTF".to_vec();
    out.extend(2_u32.to_le_bytes());
    out.extend(((28 + json.len() + bin.len()) as u32).to_le_bytes());
    out.extend((json.len() as u32).to_le_bytes());
    out.extend(b"JSON");
    out.extend(json);
    out.extend((bin.len() as u32).to_le_bytes());
    out.extend(b"BIN\0");
    out.extend(bin);
    out
}
