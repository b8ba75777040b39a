//! Terrain files, footprints and meshes with bytes changed: every reader answers with ground,
//! proposals or an error; none panics, and none takes memory by what a file merely claims.
//!
//! A mutation fuzzer over the kept corpus (`assets/terrain`): draws are keyed, so a find repeats by
//! its number. A second or two of it here, ten minutes a reader in `tests/run long`;
//! `TUMBLEWOOD_FUZZ=csv,gpx` names readers that it is run on alone.

use std::{
    alloc::{GlobalAlloc, Layout, System},
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    path::{Path, PathBuf},
    sync::atomic::{AtomicUsize, Ordering},
    time::{Duration, Instant},
};

use tumblewood::{
    keyed::Key,
    proposed::{
        Base, Proposals, Put, Up, accept::Proposed, footprint, from_points, mesh, write::ron,
    },
    terrain::{
        LengthUnit,
        intake::{Wanted, take, write},
    },
};
use tumblewood_tests::{proof::is_long, root};

/// Most memory that a reader may ask for at a time, bytes: the files have under 200 kB, the
/// lattices some 10,000 nodes.
const MOST_BYTES: usize = 256 << 20;

/// Counts what is asked for and remembers the most.
struct Counting;

static NOW: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

#[allow(unsafe_code, reason = "an allocator is the one place that sees what is asked of it")]
// SAFETY: every call is passed on unchanged to the system's allocator.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let now = NOW.fetch_add(layout.size(), Ordering::Relaxed) + layout.size();
        MOST.fetch_max(now, Ordering::Relaxed);
        // SAFETY: the caller's promises are those of the system's allocator.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        NOW.fetch_sub(layout.size(), Ordering::Relaxed);
        // SAFETY: as above.
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// A kept file, and how it is asked for.
struct Seed {
    bytes: Vec<u8>,
    ending: &'static str,
    at: &'static str,
    heights_in: Option<LengthUnit>,
}

fn seed(file: &str, ending: &'static str, at: &'static str, feet: bool) -> Seed {
    let bytes = fs::read(root().join("assets/terrain").join(file)).expect("a kept file");
    Seed { bytes, ending, at, heights_in: feet.then_some(LengthUnit::Foot) }
}

const STUMP: &str = "429340.8,5150646.9";
const RIM: &str = "636585,849220";

/// The file with a few places changed: bits, whole numbers at their limits, pieces cut or doubled.
fn changed(bytes: &[u8], key: Key, round: u64) -> Vec<u8> {
    let mut out = bytes.to_vec();
    let key = key.number(round);
    let draw = |word: &str, k: u64, most: usize| {
        (key.word(word).number(k).uniform() * most as f64) as usize
    };
    for k in 0..1 + draw("count", 0, 4) as u64 {
        if out.is_empty() {
            break;
        }
        // Headers and ends hold the claims: most changes go there.
        let at = match draw("where", k, 4) {
            0 | 1 => draw("at", k, out.len().min(600)),
            2 => out.len() - 1 - draw("at", k, out.len().min(200)),
            _ => draw("at", k, out.len()),
        };
        let number =
            [0_u64, 1, 0x7f, 0xff, 0x7fff, 0xffff, 0x7fff_ffff, u64::MAX][draw("number", k, 8)];
        match draw("how", k, 6) {
            0 => out[at] ^= 1 << draw("bit", k, 8),
            1 => out[at] = draw("byte", k, 256) as u8,
            2 => {
                let width = [2, 4, 8][draw("width", k, 3)];
                for (slot, byte) in out[at..].iter_mut().take(width).zip(number.to_le_bytes()) {
                    *slot = byte;
                }
            }
            3 => out.truncate(at),
            4 => {
                let end = (at + 1 + draw("length", k, 64)).min(out.len());
                out.drain(at..end);
            }
            _ => {
                let end = (at + 1 + draw("length", k, 64)).min(out.len());
                let piece = out[at..end].to_vec();
                out.splice(at..at, piece);
            }
        }
    }
    out
}

/// What is read of a changed file, or the error that is said.
type Reading<'a> = &'a dyn Fn(&Path, &Seed) -> Result<(), String>;

/// Ground out of a file, its heights all numbers.
fn ground(path: &Path, one: &Seed) -> Result<(), String> {
    let ground = take(&wanted(path, one), &mut |_| true).map_err(|e| e.to_string())?;
    assert!(ground.heights_m.iter().all(|h| h.is_finite()));
    Ok(())
}

fn fuzz(name: &str, seeds: &[Seed], seconds: u64, read: Reading<'_>) {
    let named = std::env::var("TUMBLEWOOD_FUZZ").unwrap_or_default();
    if !named.is_empty() && !named.split(',').any(|n| n == name) {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let key = Key::root(61).word(name);
    let until = Instant::now() + Duration::from_secs(if is_long() { 600 } else { seconds });
    let (mut round, mut answered) = (0, 0);
    // Panics are counted here, not printed.
    while Instant::now() < until || round < seeds.len() as u64 {
        let one = &seeds[(round % seeds.len() as u64) as usize];
        let bytes = changed(&one.bytes, key, round);
        let path: PathBuf = folder.path().join(format!("bad.{}", one.ending));
        fs::write(&path, &bytes).expect("written");
        MOST.store(NOW.load(Ordering::Relaxed), Ordering::Relaxed);
        let before = NOW.load(Ordering::Relaxed);
        let result = catch_unwind(AssertUnwindSafe(|| read(&path, one)));
        let most = MOST.load(Ordering::Relaxed).saturating_sub(before);
        let keep = || {
            let kept = std::env::temp_dir().join(format!("{name}-{round}.{}", one.ending));
            let _ = fs::write(&kept, &bytes);
            kept.display().to_string()
        };
        match result {
            Ok(Ok(())) => answered += 1,
            Ok(Err(said)) => {
                assert!(
                    said.contains("read") && said.contains("allowed"),
                    "{name} {round}: {said}"
                );
            }
            Err(_) => panic!("{name} {round} panics: {}", keep()),
        }
        assert!(most < MOST_BYTES, "{name} {round} takes {most} bytes: {}", keep());
        round += 1;
    }
    assert!(
        answered > 0,
        "{name}: none of {round} was readable, so nothing behind a header was tried"
    );
}

fn wanted(path: &Path, one: &Seed) -> Wanted {
    Wanted {
        files: vec![path.to_owned()],
        at: Some(one.at.to_owned()),
        around_m: 15.0,
        cell_m: None,
        epsg: None,
        heights_in: one.heights_in,
        find_ground: false,
    }
}

/// One test, one reader after the other: the memory counted is the whole program's.
#[test]
fn prop_changed_files_give_ground_or_an_error_in_bounded_memory() {
    fuzz(
        "laz",
        &[
            seed("river-bank.laz", "laz", RIM, true),
            seed("forms/layered.copc.laz", "laz", "637301,851217", true),
        ],
        3,
        &ground,
    );
    let forms = ["plain", "deflate-predictor3", "lerc", "zstd", "tiled", "cog", "lzw", "packbits"];
    let tiffs: Vec<Seed> =
        forms.iter().map(|f| seed(&format!("forms/{f}.tif"), "tif", STUMP, false)).collect();
    fuzz("geotiff", &tiffs, 3, &ground);
    fuzz("ascii", &[seed("forms/ascii.asc", "asc", STUMP, false)], 1, &ground);
    let text =
        |text: String, ending, at| Seed { bytes: text.into_bytes(), ending, at, heights_in: None };
    let rows: String = (0..60)
        .map(|k| {
            format!("{},{},{},{}\n", 500 + k % 8 * 4, 900 + k / 8 * 4, k % 5, ["", "edge"][k % 2])
        })
        .collect();
    fuzz("csv", &[text(format!("x,y,z,line\n{rows}"), "csv", "512,912")], 1, &ground);
    let points: String = (0..40)
        .map(|k| {
            let (lat, lon) = (46.5 + f64::from(k % 6) * 1e-4, 8.4 + f64::from(k / 6) * 1e-4);
            format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"><ele>{}</ele></trkpt>\n", 500 + k)
        })
        .collect();
    let gpx =
        format!("<gpx version=\"1.1\" creator=\"a\"><trk><trkseg>\n{points}</trkseg></trk></gpx>");
    fuzz("gpx", &[text(gpx, "gpx", "46.5002,8.4003")], 1, &ground);
    proposals();
}

/// Everything that proposals are made of or read from, on the river bank.
fn proposals() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("ground.tif");
    let cloud = seed("river-bank.laz", "laz", RIM, true);
    let file = root().join("assets/terrain/river-bank.laz");
    let bank = Wanted { around_m: 25.0, ..wanted(&file, &cloud) };
    let taken = take(&bank, &mut |_| true).expect("ground");
    fs::write(&path, write::geotiff(&taken).expect("bytes")).expect("written");
    let base = Base::open(&path).expect("ground");
    let fine = |found: Proposals| {
        for one in &found.proposals {
            let text = format!("{one:?}");
            assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
        }
        let text = ron(&base, &found);
        Proposed::parse(&text, "p.ron").unwrap_or_else(|e| panic!("{e}: {text}"));
    };
    fuzz("points", std::slice::from_ref(&cloud), 2, &|path, one| {
        let wanted = Wanted { around_m: 25.0, ..wanted(path, one) };
        from_points(&base, &wanted, &mut |_| true).map(fine).map_err(|e| e.to_string())
    });
    let text = |text: &str, ending| Seed { bytes: text.into(), ending, at: "", heights_in: None };
    let at = base.at_m;
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
    let told = footprint::Told { epsg: None, wall_m: Some(3.0), roof_m: None };
    fuzz("geojson", &[text(&house, "geojson"), text(globe, "json")], 1, &|path, _| {
        footprint::from_footprints(&base, path, told).map(fine).map_err(|e| e.to_string())
    });
    let put = Put { at: Some(format!("{},{}", at.x + 4.0, at.y - 9.0)), turn_rad: 0.3 };
    let told = mesh::Told { up: Some(Up::Z), unit: None };
    let meshes: Reading<'_> =
        &|path, _| mesh::from_mesh(&base, path, told, &put).map(fine).map_err(|e| e.to_string());
    let shed = "o shed\nv 0 0 0\nv 4 0 0\nv 4 3 0\nv 0 3 0\nv 0 0 2\nv 4 0 2.5\nv 4 3 2\nv 0 3 2.5\n\
                f 1 2 6 5\nf 2/1 3/1 7/1 6/1\nf -1 -2 -3 -4\nf 1 5 8 4\n";
    fuzz("obj", &[text(shed, "obj")], 1, meshes);
    let glb = Seed { bytes: glb(), ending: "glb", at: "", heights_in: None };
    fuzz("glb", &[glb], 1, meshes);
    let found = from_points(&base, &bank, &mut |_| true).expect("proposals");
    let file = ron(&base, &found);
    fuzz(
        "proposals",
        &[text(file.get(..6000).unwrap_or(&file), "ron"), text(&file, "ron")],
        1,
        &|path, _| Proposed::load(path).map(|_| ()).map_err(|e| format!("{e} (read, allowed)")),
    );
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
