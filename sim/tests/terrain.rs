//! `terrain`: real ground to a forecast in three commands, and bad files refused: with the file,
//! what was read and what is allowed, and nothing written.

mod common;

use std::{fs, path::Path};

use common::{err, folder, root, tumblewood};

const CLOUD: &str = "assets/terrain/river-bank.laz";
const RASTER: &str = "assets/terrain/lidar-hillside.tif";
const RIM: &str = "636585,849220";

fn out(output: &std::process::Output) -> String {
    assert!(output.status.success(), "{}", err(output));
    String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn verif_a_point_cloud_and_a_raster_become_forecasts_in_three_commands() {
    let folder = folder();
    let path = |name: &str| folder.path().join(name).display().to_string();
    for (name, file, more) in [
        ("points", CLOUD, &["--at", RIM, "--around", "25m", "--heights-in", "ft"][..]),
        ("raster", RASTER, &["--at", "46.505684,-93.920956", "--around", "60 m"][..]),
    ] {
        let (ground, scene) = (path(&format!("{name}.tif")), path(&format!("{name}.ron")));
        let pictures = path("pictures");
        let mut words = vec!["terrain", file, "--to", &ground, "--out", &pictures];
        words.extend(more);
        let said = out(&tumblewood(&words));
        let next = format!("tumblewood new my-job.ron --terrain {ground}");
        for part in ["coordinates in", "place:", "grid north lies", "slope at the place", &next] {
            assert!(said.contains(part), "{part:?} in {said}");
        }
        let svg = fs::read_to_string(folder.path().join(format!("pictures/{name}.svg")))
            .expect("a picture");
        assert_eq!(svg.contains("url(#filled)"), name == "points", "holes are hatched");
        let said = out(&tumblewood(&["new", &scene, "--terrain", &ground]));
        assert!(said.contains(&format!("tumblewood forecast {scene}")), "{said}");
        let said = out(&tumblewood(&["check", &scene]));
        assert_eq!(said.contains("are filled in, not surveyed"), name == "points", "{said}");
        let results = path(&format!("{name}-results"));
        let few = [
            "forecast",
            &scene,
            "--cut",
            "third",
            "--drops",
            "12",
            "--grounds",
            "1",
            "--out",
            &results,
        ];
        let said = out(&tumblewood(&few));
        assert!(said.contains("Cut third") && !said.contains("Sits back in 12 of 12"), "{said}");
        for ending in ["geojson", "kml"] {
            let file = format!("{results}/third-ends.{ending}");
            let text = fs::read_to_string(&file).unwrap_or_else(|e| panic!("{file}: {e}"));
            let (drops, line) = match ending {
                "kml" => (text.matches("<Point>").count(), "1 in 10 pass"),
                _ => (text.matches("\"Point\"").count(), "\"one_in\": 10"),
            };
            assert_eq!(drops, 12, "{file}");
            assert!(text.contains(line), "{file}");
        }
        let packed = path(&format!("{name}-packed.ron"));
        out(&tumblewood(&["bundle", &scene, "--to", &packed]));
        let said = out(&tumblewood(&["check", &packed]));
        assert_eq!(said.contains("are filled in, not surveyed"), name == "points", "{said}");
    }
}

/// A change to the bytes of a good file, and what the refusal must name.
type Slip<'a> = (&'a str, &'a str, &'a dyn Fn(&mut Vec<u8>), &'a [&'a str]);

fn put(bytes: &mut [u8], at: usize, what: &[u8]) {
    bytes[at..at + what.len()].copy_from_slice(what);
}

#[test]
fn verif_bad_files_are_refused_with_what_is_allowed() {
    // Where a LAS header (1.4 R15, table 1) and LASzip's chunk table have their numbers.
    let points_at = |b: &[u8]| u32::from_le_bytes(b[96..100].try_into().expect("four")) as usize;
    let table_at = |b: &[u8]| {
        let at = points_at(b);
        u64::from_le_bytes(b[at..at + 8].try_into().expect("eight")) as usize
    };
    let slips: &[Slip<'_>] = &[
        ("empty.laz", CLOUD, &|b| b.clear(), &["the end of the file too soon"]),
        ("half.laz", CLOUD, &|b| b.truncate(b.len() / 2), &["chunk table", "cut off"]),
        ("head.laz", CLOUD, &|b| b.truncate(200), &["the end of the file too soon"]),
        ("name.laz", CLOUD, &|b| put(b, 0, b"LASX"), &["signature", "LASF"]),
        ("version.laz", CLOUD, &|b| b[25] = 9, &["version", "1.9", "1.0 to 1.4"]),
        ("far.laz", CLOUD, &|b| put(b, 96, &[0xff; 4]), &["offset of points", "4294967295"]),
        ("records.laz", CLOUD, &|b| put(b, 100, &[0xff; 4]), &["records", "4294967295"]),
        ("many.laz", CLOUD, &|b| put(b, 107, &[0xff; 4]), &["points", "4294967295", "chunks"]),
        (
            "chunks.laz",
            CLOUD,
            &|b| {
                let at = table_at(b) + 4;
                put(b, at, &[0xff; 4]);
            },
            &["chunk table", "4294967295 chunks"],
        ),
        (
            "table.laz",
            CLOUD,
            &|b| {
                let at = points_at(b);
                put(b, at, &[0x7f; 8]);
            },
            &["chunk table", "cut off"],
        ),
        ("scale.laz", CLOUD, &|b| put(b, 131, &f64::NAN.to_le_bytes()), &["place", "allowed"]),
        ("bare.las", CLOUD, &|b| b[104] = 3, &["points", "14077", "as the file holds"]),
        ("wide.tif", RASTER, &|b| b.truncate(1000), &["wide.tif"]),
        ("text.tif", RASTER, &|b| *b = b"hello".to_vec(), &["text.tif", "GeoTIFF"]),
        ("ending.xyz", RASTER, &|_| (), &["ending", "xyz", ".las", ".csv"]),
    ];
    let folder = folder();
    let to = folder.path().join("out.tif").display().to_string();
    for (name, from, slip, parts) in slips {
        let mut bytes = fs::read(root().join(from)).expect("a good file");
        slip(&mut bytes);
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("a bad one");
        refused(&path, &to, &["--at", RIM, "--heights-in", "ft"], parts);
    }
    let texts: &[(&str, &str, &[&str])] = &[
        ("three.csv", "x,y,z\n0,0,1\n1,0,1\n", &["points", "3 to 50000"]),
        ("word.csv", "x,y,z\n0,0,1\n1,zero,1\n5,5,5\n", &["line 3", "y", "zero", "a number"]),
        ("nan.csv", "x,y,z\n0,0,NaN\n1,1,1\n5,5,5\n", &["line 2", "z", "NaN"]),
        ("short.csv", "x,y,z\n0,0,1\n1,1\n5,5,5\n", &["line 3"]),
        ("heads.csv", "a,b,c\n0,0,1\n1,1,1\n", &["headings", "a", "lat, lon"]),
        ("level.csv", "x,y\n0,0\n1,1\n", &["no height"]),
        ("mixed.csv", "x_ft,y_m,z\n0,0,1\n", &["one unit"]),
        ("degrees.csv", "x,y,z\n8.51,46.61,400\n8.52,46.61,401\n8.51,46.6,402\n", &["EPSG:4326"]),
        ("half.gpx", "<gpx version=\"1.1\"><wpt lat=\"46\" lon", &["half.gpx", "GPX"]),
        ("none.gpx", "<gpx version=\"1.1\" creator=\"a\"></gpx>", &["points", "0"]),
        (
            "deep.asc",
            "ncols 1000000\nnrows 1000000\nxllcorner 0\nyllcorner 0\ncellsize 1\n1 2 3",
            &["the end of the file", "1000000 rows"],
        ),
        (
            "cell.asc",
            "ncols 3\nnrows 2\nxllcorner 500000\nyllcorner 0\ncellsize nan\n1 2 3 4 5 6",
            &["cellsize"],
        ),
    ];
    for (name, text, parts) in texts {
        let path = folder.path().join(name);
        fs::write(&path, text).expect("a bad one");
        refused(&path, &to, &["--at", "1,1"], parts);
    }
}

fn refused(path: &Path, to: &str, args: &[&str], parts: &[&str]) {
    let file = path.display().to_string();
    let mut words = vec!["terrain", &file, "--to", to];
    words.extend(args);
    let output = tumblewood(&words);
    let said = err(&output);
    assert_eq!(output.status.code(), Some(2), "{file}: {said}");
    for part in parts.iter().chain(&["read", "allowed"]) {
        assert!(said.contains(part), "{part:?} for {file} in {said}");
    }
    assert!(!said.contains("panicked") && !Path::new(to).exists(), "{said}");
}

#[test]
fn verif_bad_flags_say_what_is_allowed() {
    let folder = folder();
    let to = folder.path().join("out.tif").display().to_string();
    let cases: &[(&[&str], &[&str])] = &[
        (&[CLOUD], &["unit of heights", "--heights-in ft", "3.3 times"]),
        (&[CLOUD, "--heights-in", "ft"], &["--at", "nothing", "latitude 44.05", "the middle is"]),
        (&[CLOUD, "--heights-in", "ft", "--at", "1,2"], &["\"1,2\"", "x 6364"]),
        (
            &[CLOUD, "--heights-in", "ft", "--at", RIM, "--around", "2m"],
            &["--around", "5 m to 5000 m"],
        ),
        (
            &[CLOUD, "--heights-in", "ft", "--at", RIM, "--around", "500m", "--cell", "0.1m"],
            &["nodes", "wider --cell"],
        ),
        (&[CLOUD, "--heights-in", "ft", "--at", RIM, "--around", "60m"], &["holes", "may do"]),
        (&[CLOUD, "--heights-in", "ells", "--at", RIM], &["ells"]),
        (&[RASTER, "--crs", "EPSG:2994", "--at", RIM], &["EPSG:2994", "without --crs"]),
        (&[RASTER, "--crs", "EPSG:5703", "--at", RIM], &["EPSG:5703", "horizontal"]),
        (&[RASTER, "--crs", "UTM", "--at", RIM], &["UTM", "EPSG:N"]),
        (&[RASTER, CLOUD, "--heights-in", "ft", "--at", RIM], &["of one kind"]),
        (&["no-such.tif", "--at", RIM], &["no-such.tif"]),
        (&["scenes", "--at", RIM], &["scenes"]),
    ];
    for (args, parts) in cases {
        let mut words = vec!["terrain", "--to", &to];
        words.extend(*args);
        let output = tumblewood(&words);
        let said = err(&output);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {said}");
        for part in *parts {
            assert!(said.contains(part), "{part:?} for {args:?} in {said}");
        }
        assert!(!Path::new(&to).exists());
    }
    for to in ["README.md", "out.asc", "scenes"] {
        let output = tumblewood(&["terrain", RASTER, "--at", "429340.8,5150646.9", "--to", to]);
        assert_eq!(output.status.code(), Some(2), "{to}");
    }
}

#[test]
fn verif_what_points_and_footprints_propose_gets_into_a_scene() {
    let folder = folder();
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (ground, proposed, job) = (path("ground.tif"), path("proposed.ron"), path("job.ron"));
    let place = ["--at", RIM, "--around", "25m", "--heights-in", "ft", "--to", &ground];
    out(&tumblewood(&[&["terrain", CLOUD][..], &place].concat()));
    let pictures = path("pictures");
    let footprint = path("mill.geojson");
    let house = "{\"type\":\"Feature\",\"properties\":{\"name\":\"Mill\"},\"geometry\":{\"type\":\"Polygon\",\
                 \"coordinates\":[[[-123.07125,44.05062],[-123.07117,44.05062],[-123.07117,44.05067],\
                 [-123.07125,44.05067],[-123.07125,44.05062]]]}}";
    fs::write(&footprint, house).expect("written");
    let files = ["propose", CLOUD, &footprint, "--heights-in", "ft", "--height", "3m"];
    let rest = ["--roof", "5m", "--terrain", &ground, "--to", &proposed, "--out", &pictures];
    let said = out(&tumblewood(&[&files[..], &rest].concat()));
    for part in
        ["mill: structure, eaves 3.0 m, ridge 5.0 m", "tree-1: keep tree", "look at each on site"]
    {
        assert!(said.contains(part), "{part:?} in {said}");
    }
    let svg = fs::read_to_string(folder.path().join("pictures/proposed.svg")).expect("a picture");
    assert!(svg.contains(">mill<") && svg.contains(">tree-1<"));
    let taken = ["--with", &proposed, "--take", "mill,tree-2"];
    let said = out(&tumblewood(&[&["new", &job, "--terrain", &ground][..], &taken].concat()));
    assert!(said.contains("takes mill, tree-2, marked as proposed"), "{said}");
    let text = fs::read_to_string(&job).expect("a scene");
    assert_eq!(text.matches("look at it on site */").count(), 2, "{text}");
    assert!(
        !text.contains("young-fir") && text.contains("proposed from files, not surveyed"),
        "{text}"
    );
    let said = out(&tumblewood(&["check", &job]));
    assert!(said.contains("mill") && said.contains("tree-2"), "{said}");
    let said = out(&tumblewood(&["accept", &job, &proposed, "--take", "brush-1"]));
    assert!(said.contains("takes brush-1"), "{said}");
    let said = out(&tumblewood(&["check", &job]));
    assert!(said.contains("brush-1"), "{said}");
    let again = tumblewood(&["accept", &job, &proposed, "--take", "brush-1"]);
    assert_eq!(again.status.code(), Some(2));
    assert!(err(&again).contains("brush-1, which the scene has already"), "{}", err(&again));
    // What fits nowhere changes nothing, and the invented targets stay where none is taken.
    let text = fs::read_to_string(&job).expect("a scene");
    let again = path("again.ron");
    let mill = fs::read_to_string(&proposed).expect("proposals");
    let own = mill.split("        (\n            id: ").find(|one| one.starts_with("\"mill\""));
    let own = own.expect("the mill").replace("wall: \"3.0 m\"", "wall: \"300 m\"");
    let head = mill.split("        (\n            id: ").next().expect("a head");
    let own = own.split("\n        ),\n").next().expect("a proposal");
    fs::write(&again, format!("{head}        (\n            id: {own}\n        ),\n    ],\n)\n"))
        .expect("written");
    let other = path("other.ron");
    for args in
        [vec!["new", &other, "--terrain", &ground, "--with", &again], vec!["accept", &job, &again]]
    {
        let output = tumblewood(&args);
        let said = err(&output);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains("none of whose proposals") && said.contains("mill"), "{said}");
    }
    assert!(!Path::new(&other).exists());
    assert_eq!(fs::read_to_string(&job).expect("a scene"), text);
    // Nothing that is read is written over.
    let before = fs::read(&ground).expect("ground");
    let inputs: &[&[&str]] = &[
        &["terrain", &ground, "--to", &ground, "--force"],
        &["new", &ground, "--terrain", &ground, "--force"],
        &["new", &proposed, "--terrain", &ground, "--with", &proposed, "--force"],
        &["bundle", &job, "--to", &ground, "--force"],
        &["bundle", &job, "--to", &job, "--force"],
    ];
    for args in inputs {
        let output = tumblewood(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}: {}", err(&output));
        assert!(err(&output).contains("allowed"), "{}", err(&output));
    }
    assert!(fs::read(&ground).expect("ground") == before);
    assert_eq!(fs::read_to_string(&job).expect("a scene"), text);
    let more = path("more.ron");
    let cases: &[(&[&str], &[&str])] = &[
        (&[CLOUD, "--to", &more], &["unit of heights", "--heights-in ft"]),
        (&[RASTER, "--to", &more], &["tif", ".geojson"]),
        (&[&footprint, "--to", &more], &["without a height", "--height"]),
        (&[&footprint, "--height", "3m", "--to", &proposed], &["there already", "--force"]),
        (&[&footprint, "--height", "3m", "--to", "more.txt"], &["more.txt", ".ron"]),
        (&["no-such.obj", "--up", "z", "--to", &more], &["no-such.obj"]),
    ];
    for (args, parts) in cases {
        let output = tumblewood(&[&["propose", "--terrain", &ground][..], args].concat());
        let said = err(&output);
        assert_eq!(output.status.code(), Some(2), "{said}");
        for part in parts.iter().chain(&["read", "allowed"]) {
            assert!(said.contains(part), "{part:?} in {said}");
        }
        assert!(!Path::new(&more).exists());
    }
}
