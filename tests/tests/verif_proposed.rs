//! What is proposed from points, footprints and meshes, against ground, houses and trees of known
//! shape; what a scene takes of it; and bad files, refused with what was read and what is allowed.

use std::{
    fs,
    path::{Path, PathBuf},
};

use glam::{DVec2, DVec3};
use tumblewood::{
    keyed::Key,
    proposed::{
        self, Base, Item, Proposals, Put, Sure, Up,
        accept::{Proposed, Take},
        footprint, mesh,
    },
    scene::{
        self,
        outline::{area_m2, contains},
    },
    terrain::{
        LengthUnit, Side,
        intake::{Wanted, take, write},
    },
};
use tumblewood_tests::{
    ground::{RIM, wanted},
    root,
};

/// Where the invented clouds lie.
const AT: DVec2 = DVec2::new(500.0, 900.0);

/// Points thrown at random over a square about the place, so many a square metre; `above` tells the
/// height over the place and the class, or nothing.
fn thrown(
    seed: u64,
    half_m: f64,
    per_m2: f64,
    above: impl Fn(DVec2, f64) -> Option<(f64, u8)>,
) -> Vec<(DVec3, u8)> {
    let key = Key::root(seed);
    let count = (4.0 * half_m * half_m * per_m2) as u64;
    (0..count)
        .filter_map(|k| {
            let draw = |word: &str| key.word(word).number(k).uniform();
            let at = (DVec2::new(draw("x"), draw("y")) * 2.0 - 1.0) * half_m;
            let (z, class) = above(at, draw("z"))?;
            // A scanner's noise: normal, 2 cm (Box & Muller 1958).
            let noise = libm::sqrt(-2.0 * libm::log(draw("a").max(1e-12)))
                * libm::cos(std::f64::consts::TAU * draw("b"));
            Some(((at + AT).extend(100.0 + z + 0.02 * noise), class))
        })
        .collect()
}

fn las(folder: &Path, name: &str, points: &[(DVec3, u8)]) -> PathBuf {
    let path = folder.join(name);
    let mut writer =
        las::Writer::from_path(&path, las::Builder::from((1, 2)).into_header().expect("a header"))
            .expect("a file");
    for (p, class) in points {
        writer
            .write_point(las::Point {
                x: p.x,
                y: p.y,
                z: p.z,
                classification: las::point::Classification::new(*class).expect("a class"),
                ..las::Point::default()
            })
            .expect("written");
    }
    writer.close().expect("written");
    path
}

/// The ground of a file, as `terrain` writes it.
fn ground(folder: &Path, wanted: &Wanted) -> Base {
    let ground = take(wanted, &mut |_| true).unwrap_or_else(|e| panic!("{e}"));
    let path = folder.join("ground.tif");
    fs::write(&path, write::geotiff(&ground).expect("bytes")).expect("written");
    Base::open(&path).unwrap_or_else(|e| panic!("{e}"))
}

/// What points propose on their own ground.
fn of_points(points: &[(DVec3, u8)]) -> (Base, Proposals) {
    let folder = tempfile::tempdir().expect("a folder");
    let cloud = wanted(las(folder.path(), "points.las", points), "500,900", 18.0);
    let base = ground(folder.path(), &cloud);
    let found = proposed::from_points(&base, &cloud, &mut |_| true);
    (base, found.unwrap_or_else(|e| panic!("{e}")))
}

#[test]
fn verif_ripples_come_back_as_their_peak_to_trough() {
    for (height_m, word) in [(0.0, "lawn"), (0.1, "ankle"), (0.4, "knee")] {
        let ripples = |p: DVec2, _| {
            let wave = libm::sin(std::f64::consts::TAU * (p.x + 0.3 * p.y) / 0.37);
            Some((0.5 * p.x - 0.2 * p.y + 0.5 * height_m * wave, 2))
        };
        let (_, found) = of_points(&thrown(1, 20.0, 40.0, ripples));
        let one = found.proposals.iter().find(|p| p.id == "roughness").expect("roughness");
        let Item::Roughness { bumps_m: [low, high] } = one.item else { panic!("{one:?}") };
        assert!(low <= 1.06 * height_m + 0.01, "{height_m}: {low:.3} to {high:.3}");
        assert!(high >= 0.94 * height_m && high < height_m + 0.065, "{low:.3} to {high:.3}");
        assert!(one.why.contains(&format!("the word {word}")), "{}", one.why);
        assert_eq!(one.sure, if height_m > 0.05 { Sure::Fair } else { Sure::Poor }, "{}", one.why);
        assert!(one.points > 40_000);
        let others = found.proposals.iter().filter(|p| p.id != "roughness").count();
        assert_eq!(others, 0, "{:?}", found.proposals);
    }
    let sparse = thrown(1, 20.0, 3.0, |p, _| Some((0.5 * p.x, 2)));
    let (_, found) = of_points(&sparse);
    assert!(found.notes.iter().any(|n| n.contains("roughness can't be told")), "{:?}", found.notes);
    let unclassed = thrown(1, 20.0, 40.0, |p, _| Some((0.5 * p.x, 1)));
    let (_, found) = of_points(&unclassed);
    assert!(found.notes.iter().any(|n| n.contains("no points are classed")), "{:?}", found.notes);
}

#[test]
fn verif_a_step_is_found_where_it_is_and_as_high() {
    for (height_m, per_m2) in [(1.5, 20.0), (0.8, 10.0), (3.0, 4.0)] {
        // Behind the line x = 3 + 0.2·y the ground is higher.
        let behind = |p: DVec2| (p.x - 3.0 - 0.2 * p.y) / libm::sqrt(1.04);
        let bank = |p: DVec2, _| {
            let step = if behind(p) > 0.0 { height_m } else { 0.0 };
            Some((0.36 * p.x + 0.1 * p.y + step, 2))
        };
        let (_, found) = of_points(&thrown(2, 20.0, per_m2, bank));
        let faces: Vec<_> = found
            .proposals
            .iter()
            .filter_map(|p| match &p.item {
                Item::Face { line_m, height_m, low_side } => Some((line_m, height_m, low_side)),
                _ => None,
            })
            .collect();
        let mut metres = 0.0;
        for (line, [low, high], side) in &faces {
            for p in line.iter() {
                assert!(behind(*p).abs() < 0.35, "{height_m}: {p} is {:.2} off", behind(*p));
            }
            let middle = 0.5 * (low + high);
            assert!((middle - height_m).abs() < 0.15 * height_m, "{height_m}: {low} to {high}");
            // Walking north the low ground is to the west, to the left.
            let north = line[line.len() - 1].y > line[0].y;
            assert_eq!(**side == Side::Left, north, "{line:?}");
            metres += line[0].distance(line[line.len() - 1]);
        }
        assert!(metres > 25.0, "{height_m}: {metres:.0} m in {} lines", faces.len());
        let others = found.proposals.len() - faces.len();
        assert!(others <= 1 && (others == 0 || found.proposals[0].id == "roughness"), "{found:?}");
    }
    // A bank of 45° four metres wide, well surveyed, is a slope: neither its foot nor its rim is a step.
    let ramp = |p: DVec2, _| Some(((p.x - 3.0).clamp(0.0, 4.0), 2));
    let (_, found) = of_points(&thrown(2, 20.0, 20.0, ramp));
    assert!(!found.proposals.iter().any(|p| matches!(p.item, Item::Face { .. })), "{found:?}");
}

/// A house of 10 by 6 m, turned by 0.4 rad, eaves at 3 m and ridge at 5 m above ground at its foot.
fn house(p: DVec2) -> Option<f64> {
    let own = DVec2::from_angle(-0.4).rotate(p - DVec2::new(-6.0, 5.0));
    (own.x.abs() <= 5.0 && own.y.abs() <= 3.0).then(|| 3.0 + 2.0 * (1.0 - own.y.abs() / 3.0))
}

#[test]
fn verif_a_house_comes_back_with_eaves_and_ridge() {
    for class in [6, 1] {
        let site = |p: DVec2, _| match house(p) {
            Some(top) => Some((top, class)),
            None => Some((0.0, 2)),
        };
        let (_, found) = of_points(&thrown(3, 20.0, 12.0, site));
        let built: Vec<_> = found
            .proposals
            .iter()
            .filter_map(|p| match &p.item {
                Item::Structure { corners_m, wall_m, roof_m } => {
                    Some((corners_m, wall_m, roof_m, p.sure))
                }
                _ => None,
            })
            .collect();
        let [(corners, wall, roof, sure)] = built.as_slice() else { panic!("{found:?}") };
        assert_eq!(*sure, if class == 6 { Sure::Fair } else { Sure::Poor });
        let area = area_m2(corners);
        // Nobody classed: squares of 2 m that the rim of the roof only touches are left out.
        let least = if class == 6 { 54.0 } else { 40.0 };
        assert!(area > least && area < 66.0, "{class}: {area:.1} m²");
        assert!(contains(corners, DVec2::new(-6.0, 5.0)));
        assert!((0.5 * (wall[0] + wall[1]) - 3.2).abs() < 0.35, "{class}: eaves {wall:?}");
        assert!((0.5 * (roof[0] + roof[1]) - 5.0).abs() < 0.2, "{class}: ridge {roof:?}");
        assert!(!found.proposals.iter().any(|p| matches!(p.item, Item::KeepTree { .. })));
    }
}

#[test]
fn verif_crowns_come_back_as_trees() {
    // Crowns as paraboloids: where, height, radius; and one at the place, which comes down.
    let trees = [
        (8.0, 2.0, 12.0, 3.0),
        (-9.0, -6.0, 18.0, 4.0),
        (3.0, -12.0, 7.0, 2.0),
        (0.5, 0.0, 9.0, 2.0),
    ];
    let shade = |p: DVec2, draw: f64| {
        for (x, y, high, radius) in trees {
            let off = p.distance(DVec2::new(x, y)) / radius;
            // Two of three returns come from within the crown, which begins a third up.
            if off < 1.0 && draw < 0.67 {
                let top = high * (1.0 - 0.66 * off * off);
                return Some((top - (top - high / 3.0) * draw * draw, 5));
            }
        }
        Some((0.0, 2))
    };
    let (_, found) = of_points(&thrown(4, 20.0, 15.0, shade));
    let kept: Vec<_> = found
        .proposals
        .iter()
        .filter_map(|p| match &p.item {
            Item::KeepTree { at_m, height_m, limbs_m } => Some((at_m, height_m, limbs_m)),
            _ => None,
        })
        .collect();
    assert_eq!(kept.len(), 3, "{found:?}");
    for (x, y, high, radius) in trees.iter().take(3) {
        let near = kept.iter().find(|(at, ..)| at.distance(DVec2::new(*x, *y)) < 1.2);
        let (_, height, limbs) = near.unwrap_or_else(|| panic!("none at {x}, {y}: {kept:?}"));
        assert!(height[0] < high + 0.1 && height[1] > *high, "{high}: {height:?}");
        let spread = limbs.expect("limbs")[1];
        assert!((spread - radius).abs() < 0.25 * radius, "{radius}: {spread:.1}");
    }
    assert!(found.notes.iter().any(|n| n.contains("stands at the place itself")), "{found:?}");
}

#[test]
fn verif_undergrowth_is_where_it_was_put_and_its_spacing_is_not_invented() {
    let patch =
        |p: DVec2| p.cmpgt(DVec2::new(2.0, -10.0)).all() && p.cmplt(DVec2::new(12.0, 2.0)).all();
    let site = |p: DVec2, draw: f64| {
        // Half the returns over the patch come from plants up to 1.2 m.
        Some(if patch(p) && draw < 0.5 { (0.25 + 1.9 * draw, 1) } else { (0.0, 2) })
    };
    let (base, found) = of_points(&thrown(5, 20.0, 8.0, site));
    let brush: Vec<_> =
        found.proposals.iter().filter(|p| matches!(p.item, Item::Brush { .. })).collect();
    let [one] = brush.as_slice() else { panic!("{found:?}") };
    let Item::Brush { outline_m, height_m } = &one.item else { panic!("{one:?}") };
    let area = area_m2(outline_m);
    assert!(area > 100.0 && area < 170.0 && contains(outline_m, DVec2::new(7.0, -4.0)), "{area}");
    assert!(height_m[0] > 0.6 && height_m[1] < 1.25 && height_m[1] > 1.05, "{height_m:?}");
    let text = proposed::write::ron(&base, &found);
    assert!(text.contains("spacing: DontKnow, thickness: DontKnow"), "{text}");
}

/// The highest of the raw points over the nearest ground points, by the file's own numbers.
#[test]
fn val_the_tallest_tree_of_a_real_cloud_stands_as_high_as_its_raw_points() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = root().join("assets/terrain/river-bank.laz");
    let cloud = Wanted { heights_in: Some(LengthUnit::Foot), ..wanted(&file, RIM, 25.0) };
    let base = ground(folder.path(), &cloud);
    let found = proposed::from_points(&base, &cloud, &mut |_| true).expect("proposals");
    let mut reader = las::Reader::from_path(&file).expect("points");
    let points: Vec<las::Point> = reader
        .read_all()
        .expect("points")
        .points()
        .map(|p| p.expect("a point"))
        .filter(|p| {
            (p.x - 636_585.0).abs() < 25.0 / 0.3048 && (p.y - 849_220.0).abs() < 25.0 / 0.3048
        })
        .collect();
    let top = points.iter().max_by(|a, b| a.z.total_cmp(&b.z)).expect("a point");
    let far = |p: &las::Point| (p.x - top.x).hypot(p.y - top.y);
    let mut ground: Vec<&las::Point> =
        points.iter().filter(|p| u8::from(p.classification) == 2).collect();
    ground.sort_by(|a, b| far(a).total_cmp(&far(b)));
    let under = ground.iter().take(3).map(|p| p.z).sum::<f64>() / 3.0;
    let high_m = (top.z - under) * 0.3048;
    assert!(high_m > 20.0, "{high_m}");
    let tallest = found
        .proposals
        .iter()
        .filter_map(|p| match p.item {
            Item::KeepTree { height_m, .. } => Some(height_m[0]),
            _ => None,
        })
        .fold(0.0, f64::max);
    // A bank of some 40° under the tree, its nearest ground points up to 2 m off.
    assert!((tallest - high_m).abs() < 1.0, "{tallest:.1} of {high_m:.1} m");
}

/// Least squares by numpy over the same cloud's ground points, windows wherever they begin
/// (`tests/terrain/make.py`): 2.4 to 2.5 cm in the typical window, 2.0 and 3.2 cm at the quarters.
#[test]
fn val_the_roughness_of_a_dense_cloud_is_that_of_numpy() {
    let folder = tempfile::tempdir().expect("a folder");
    let cloud = wanted(root().join("assets/terrain/dense-yard.laz"), "2445195,604320", 5.0);
    let cloud = Wanted { heights_in: Some(LengthUnit::UsSurveyFoot), ..cloud };
    let base = ground(folder.path(), &cloud);
    let found = proposed::from_points(&base, &cloud, &mut |_| true).expect("proposals");
    let one = found.proposals.iter().find(|p| p.id == "roughness").expect("roughness");
    let Item::Roughness { bumps_m: [low, high] } = one.item else { panic!("{one:?}") };
    assert!(low < 0.02 && (0.023..0.028).contains(&high), "{low:.4} to {high:.4} m");
    assert!(one.why.contains("2 to 3 cm in the middle half"), "{}", one.why);
    assert_eq!(one.sure, Sure::Poor);
    assert!(found.proposals.iter().any(|p| p.item.words() == "keep tree"), "{found:?}");
}

/// A gabled house of 8 by 5 m, eaves 2.5 m, ridge 4.5 m, as triangles.
fn gabled() -> (Vec<[f64; 3]>, Vec<[usize; 3]>) {
    let corners = vec![
        [0.0, 0.0, 0.0],
        [8.0, 0.0, 0.0],
        [8.0, 5.0, 0.0],
        [0.0, 5.0, 0.0],
        [0.0, 0.0, 2.5],
        [8.0, 0.0, 2.5],
        [8.0, 5.0, 2.5],
        [0.0, 5.0, 2.5],
        [0.0, 2.5, 4.5],
        [8.0, 2.5, 4.5],
    ];
    let faces = vec![
        [0, 1, 5],
        [0, 5, 4],
        [1, 2, 6],
        [1, 6, 5],
        [2, 3, 7],
        [2, 7, 6],
        [3, 0, 4],
        [3, 4, 7],
        [4, 5, 9],
        [4, 9, 8],
        [6, 7, 8],
        [6, 8, 9],
        [7, 4, 8],
        [5, 6, 9],
    ];
    (corners, faces)
}

fn obj(y_up: bool) -> String {
    let (corners, faces) = gabled();
    let mut text = String::from("# a house\n");
    for [x, y, z] in corners {
        text += &if y_up { format!("v {x} {z} {}\n", -y) } else { format!("v {x} {y} {z}\n") };
    }
    for f in faces {
        text += &format!("f {}//1 {} {}/2\n", f[0] + 1, f[1] + 1, f[2] + 1);
    }
    text
}

/// The house as a glTF with its bytes in the same file (Khronos, glTF 2.0, 4.4).
fn glb() -> Vec<u8> {
    let (corners, faces) = gabled();
    let mut bin = Vec::new();
    for f in faces.iter().flatten() {
        bin.extend((*f as u16).to_le_bytes());
    }
    let indices = bin.len();
    for [x, y, z] in &corners {
        for v in [*x as f32, *z as f32, -*y as f32] {
            bin.extend(v.to_le_bytes());
        }
    }
    let count = faces.len() * 3;
    let mut json = format!(
        "{{\"asset\":{{\"version\":\"2.0\"}},\"scene\":0,\"scenes\":[{{\"nodes\":[0]}}],\
         \"nodes\":[{{\"children\":[1],\"translation\":[1,0,0]}},{{\"mesh\":0,\"translation\":[-1,0,0]}}],\
         \"meshes\":[{{\"primitives\":[{{\"attributes\":{{\"POSITION\":1}},\"indices\":0}}]}}],\
         \"buffers\":[{{\"byteLength\":{}}}],\
         \"bufferViews\":[{{\"buffer\":0,\"byteLength\":{indices}}},\
         {{\"buffer\":0,\"byteOffset\":{indices},\"byteLength\":{}}}],\
         \"accessors\":[{{\"bufferView\":0,\"componentType\":5123,\"count\":{count},\"type\":\"SCALAR\"}},\
         {{\"bufferView\":1,\"componentType\":5126,\"count\":{},\"type\":\"VEC3\",\
         \"min\":[0,0,-5],\"max\":[8,4.5,0]}}]}}",
        bin.len(),
        bin.len() - indices,
        corners.len()
    )
    .into_bytes();
    json.resize(json.len().next_multiple_of(4), b' ');
    bin.resize(bin.len().next_multiple_of(4), 0);
    let mut out = b"glTF".to_vec();
    let total = 12 + 8 + json.len() + 8 + bin.len();
    for n in [2, total as u32, json.len() as u32] {
        out.extend(n.to_le_bytes());
    }
    out.extend(b"JSON");
    out.extend(json);
    out.extend((bin.len() as u32).to_le_bytes());
    out.extend(b"BIN\0");
    out.extend(bin);
    out
}

/// Real ground with a known place on earth.
fn bank(folder: &Path) -> Base {
    let cloud = Wanted {
        heights_in: Some(LengthUnit::Foot),
        ..wanted(root().join("assets/terrain/river-bank.laz"), RIM, 25.0)
    };
    ground(folder, &cloud)
}

#[test]
fn verif_a_gabled_mesh_keeps_its_eaves_and_ridge() {
    let folder = tempfile::tempdir().expect("a folder");
    let base = bank(folder.path());
    let at = base.at_m + DVec2::new(5.0, -12.0);
    let put = Put { at: Some(format!("{},{}", at.x, at.y)), turn_rad: 0.0 };
    let told = |up| mesh::Told { up, unit: Some(LengthUnit::Metre) };
    let files: [(&str, Vec<u8>, Option<Up>); 3] = [
        ("z.obj", obj(false).into_bytes(), Some(Up::Z)),
        ("y.obj", obj(true).into_bytes(), Some(Up::Y)),
        ("house.glb", glb(), None),
    ];
    for (name, bytes, up) in files {
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("written");
        let found = mesh::from_mesh(&base, &path, told(up), &put).unwrap_or_else(|e| panic!("{e}"));
        let [one] = found.proposals.as_slice() else { panic!("{found:?}") };
        let Item::Structure { corners_m, wall_m, roof_m } = &one.item else { panic!("{one:?}") };
        assert_eq!((corners_m.len(), one.points), (4, 10), "{name}");
        for corner in [[0.0, 0.0], [8.0, 0.0], [8.0, 5.0], [0.0, 5.0]] {
            let corner = DVec2::from(corner) + DVec2::new(5.0, -12.0);
            let off = corners_m.iter().map(|c| c.distance(corner)).fold(f64::INFINITY, f64::min);
            assert!(off < 0.01, "{name}: {corners_m:?}");
        }
        // Its rim is seen half a cell of 8/48 m in from the edge.
        assert!((wall_m[0] - 2.5).abs() < 0.2 && (roof_m[0] - 4.5).abs() < 1e-6, "{wall_m:?}");
        assert!(one.why.contains("Lost are windows"), "{}", one.why);
        // Turned by a quarter, what was ahead points east.
        let turned = Put { turn_rad: std::f64::consts::FRAC_PI_2, ..put.clone() };
        let found = mesh::from_mesh(&base, &path, told(up), &turned).expect("turned");
        let Item::Structure { corners_m, .. } = &found.proposals[0].item else { panic!() };
        let corner = DVec2::new(5.0 + 5.0, -12.0 - 8.0);
        assert!(corners_m.iter().any(|c| c.distance(corner) < 0.01), "{name}: {corners_m:?}");
    }
}

#[test]
fn verif_a_footprint_is_the_same_in_degrees_and_in_the_grounds_own_coordinates() {
    let folder = tempfile::tempdir().expect("a folder");
    let base = bank(folder.path());
    let corners =
        [[3.0, -15.0], [11.0, -15.0], [11.0, -11.0], [7.0, -11.0], [7.0, -9.0], [3.0, -9.0]]
            .map(|c| DVec2::from(c) + base.at_m);
    let ring = |to: &dyn Fn(DVec2) -> DVec2| {
        let all: Vec<String> = corners
            .iter()
            .chain(corners.first())
            .map(|c| to(*c))
            .map(|c| format!("[{},{}]", c.x, c.y))
            .collect();
        format!("[[{}]]", all.join(","))
    };
    let lonlat = |c: DVec2| base.system.lonlat(c).expect("on earth");
    let feature = |rings: String, head: &str| {
        format!(
            "{{\"type\":\"FeatureCollection\",{head}\"features\":[{{\"type\":\"Feature\",\"id\":\"Old Mill\",\
             \"properties\":{{\"height\":\"7.5 m\",\"eaves\":4}},\"geometry\":{{\"type\":\"Polygon\",\
             \"coordinates\":{rings}}}}},{{\"type\":\"Feature\",\"properties\":null,\"geometry\":\
             {{\"type\":\"Point\",\"coordinates\":[0,0]}}}}]}}"
        )
    };
    let own = feature(ring(&|c| c), "");
    let named = feature(
        ring(&|c| c),
        "\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"urn:ogc:def:crs:EPSG::32610\"}},",
    );
    for (name, text) in [
        ("own.geojson", own),
        ("named.json", named),
        ("degrees.geojson", feature(ring(&lonlat), "")),
    ] {
        let path = folder.path().join(name);
        fs::write(&path, text).expect("written");
        let found = footprint::from_footprints(&base, &path, footprint::Told::default())
            .unwrap_or_else(|e| panic!("{e}"));
        let [one] = found.proposals.as_slice() else { panic!("{found:?}") };
        let Item::Structure { corners_m, wall_m, roof_m } = &one.item else { panic!("{one:?}") };
        assert_eq!(one.id, "old-mill", "{name}");
        assert_eq!((wall_m, roof_m), (&[4.0; 2], &[7.5; 2]), "{name}");
        assert_eq!(corners_m.len(), 6, "{name}");
        for (a, b) in corners_m.iter().zip(corners) {
            assert!((*a + base.at_m).distance(b) < 1e-3, "{name}: {a}");
        }
        assert!(found.notes.iter().any(|n| n.contains("aren't polygons")), "{:?}", found.notes);
    }
}

#[test]
fn prop_a_scene_takes_what_is_named_marks_it_and_is_read_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let base = bank(folder.path());
    let cloud = Wanted {
        heights_in: Some(LengthUnit::Foot),
        ..wanted(root().join("assets/terrain/river-bank.laz"), RIM, 25.0)
    };
    let mut found = proposed::from_points(&base, &cloud, &mut |_| true).expect("proposals");
    let step = Item::Face {
        line_m: vec![DVec2::new(-20.0, -8.0), DVec2::new(-10.0, -9.0), DVec2::new(0.0, -8.0)],
        height_m: [0.6, 0.9],
        low_side: Side::Left,
    };
    let more = [("step", step), ("roughness", Item::Roughness { bumps_m: [0.08, 0.11] })];
    for (id, item) in more {
        found.proposals.push(proposed::Proposal {
            id: id.into(),
            from: "a */ name.laz".into(),
            points: 9,
            sure: Sure::Poor,
            why: "a \"test\"".into(),
            item,
        });
    }
    let text = proposed::write::ron(&base, &found);
    let proposals = Proposed::parse(&text, "p.ron").unwrap_or_else(|e| panic!("{e:?}"));
    let start = scene::starter_on(&scene::OnGround {
        file: "ground.tif".into(),
        stump: base.at_m.into(),
        around_m: 25.0,
        reach_m: 25.0,
        down_rad: 0.3,
    });
    let accept = |take: &Take| proposals.accept(&start, "job.ron", folder.path(), take);
    let ids = ["tree-2", "brush-1", "step", "roughness"].map(str::to_owned).to_vec();
    let done = accept(&Take::Ids(ids.clone())).unwrap_or_else(|e| panic!("{e}"));
    // The ground's own first: patches take after it.
    assert_eq!(done.taken, ["roughness", "tree-2", "brush-1", "step"]);
    assert_eq!(done.text.matches("look at it on site */").count(), 4, "{}", done.text);
    let scene = scene::parse_in(&done.text, "job.ron", folder.path()).expect("a scene");
    let before = scene::parse_in(&start, "job.ron", folder.path()).expect("a scene");
    assert_eq!(scene.targets.len(), before.targets.len() + 1);
    assert_eq!((scene.site.breaklines.len(), scene.site.patches.len()), (1, 1));
    let height = scene.site.breaklines[0].height_m;
    assert!((height.told - 0.75).abs() < 1e-9, "{height:?}");
    // What points don't say of the patch is the scene's own, the new roughness with it.
    assert_eq!(scene.site.patches[0].ground.roughness, scene.site.ground.roughness);
    let all = accept(&Take::All).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(all.taken.len() + all.refused.len(), found.proposals.len());
    assert!(all.taken.len() > 10, "{:?}", all.refused);
    let again = proposals.accept(&done.text, "job.ron", folder.path(), &Take::Ids(ids));
    assert!(again.unwrap_err().to_string().contains("tree-2, which the scene has already"));
    let none = accept(&Take::Ids(vec!["tree-99".into()])).unwrap_err().to_string();
    assert!(none.contains("p.ron: --take: read tree-99; allowed: "), "{none}");
    let other = root().join("scenes/lidar-slope.ron");
    let there = fs::read_to_string(&other).expect("a scene");
    let wrong = proposals
        .accept(&there, "other.ron", &root().join("scenes"), &Take::All)
        .unwrap_err()
        .to_string();
    assert!(
        wrong.contains("in EPSG:26915; allowed: ground as ground.tif, in EPSG:32610"),
        "{wrong}"
    );
    for (from, to, part) in [
        ("version: 1", "version: 2", "version"),
        ("sure: Poor", "sure: Certain", "proposals[0].sure"),
        ("id: \"tree-2\"", "id: \"tree-1\"", "there twice"),
        ("diameter: DontKnow", "diameter: 12", ".target.diameter"),
        ("            target:", "            roughness: Lawn, target:", "of several"),
    ] {
        let bad = text.replacen(from, to, 1);
        assert_ne!(bad, text, "{from}");
        let said = Proposed::parse(&bad, "p.ron").expect_err(to).to_string();
        assert!(said.contains(part) && said.contains("p.ron:"), "{said}");
    }
}

#[test]
fn verif_bad_footprints_and_meshes_are_refused_with_what_is_allowed() {
    let folder = tempfile::tempdir().expect("a folder");
    let base = bank(folder.path());
    let polygon =
        |rings: &str| format!("{{\"type\":\"Polygon\",\"coordinates\":{rings}}}").into_bytes();
    let own = |corners: &[[f64; 2]]| {
        let all: Vec<String> = corners
            .iter()
            .map(|c| DVec2::from(*c) + base.at_m)
            .map(|c| format!("[{},{}]", c.x, c.y))
            .collect();
        polygon(&format!("[[{}]]", all.join(",")))
    };
    let house = own(&[[1.0, 1.0], [9.0, 1.0], [9.0, 9.0]]);
    let text = String::from_utf8(house.clone()).expect("text");
    let with = |properties: &str| {
        format!("{{\"type\":\"Feature\",\"properties\":{properties},\"geometry\":{text}}}")
            .into_bytes()
    };
    let nan = "v 0 0 nan\nv 1 0 0\nv 0 1 1\nf 1 2 3\n";
    let cases: Vec<(&str, Vec<u8>, &[&str])> = vec![
        ("cut.geojson", house[..house.len() / 2].to_vec(), &["file", "EOF", "GeoJSON, whole"]),
        ("empty.json", Vec::new(), &["EOF"]),
        ("kind.json", b"{\"type\":\"Topology\"}".to_vec(), &["type", "Topology", "RFC 7946"]),
        ("none.json", b"{\"type\":\"FeatureCollection\",\"features\":[]}".to_vec(), &["no polygon"]),
        ("list.json", b"{\"type\":\"FeatureCollection\",\"features\":3}".to_vec(), &["features", "a list"]),
        ("rings.json", polygon("7"), &["coordinates", "a list of rings"]),
        ("two.json", polygon("[[[1,1],[2,2]]]"), &["coordinates[0]", "2 corners", "3 to 1000"]),
        ("text.json", polygon("[[[1,1],[2,\"x\"],[3,3]]]"), &["coordinates[0][1]", "under 1e9"]),
        ("huge.json", polygon("[[[1,1],[2,1e300],[3,3]]]"), &["coordinates[0][1]", "1e+300"]),
        ("line.json", own(&[[1.0, 1.0], [5.0, 1.0], [9.0, 1.0]]), &["round 0.00 m²", "0.5 m²"]),
        (
            "bow.json",
            own(&[[1.0, 1.0], [9.0, 9.0], [9.0, 1.0], [1.0, 8.0]]),
            &["that cross", "in order"],
        ),
        ("far.json", polygon("[[[7,46],[7.1,46],[7.1,46.1]]]"), &["none whole on the ground", "--crs"]),
        ("off.json", polygon("[[[4e6,5e6],[4.1e6,5e6],[4.1e6,5.1e6]]]"), &["x 4000000", "--crs EPSG:N"]),
        ("flat.json", house.clone(), &["without a height", "--height"]),
        ("tall.json", with("{\"height\":900}"), &["properties.height", "900", "0.2 to 100 m"]),
        ("word.json", with("{\"height\":\"tall\"}"), &["properties.height", "tall"]),
        ("roof.json", with("{\"height\":3,\"eaves\":4}"), &["a roof at 3 m", "at least the eaves"]),
        ("nan.obj", nan.into(), &["line 1", "v", "nan", "three numbers"]),
        ("index.obj", obj(false).replace("f 1//1", "f 99").into(), &["line 12", "99", "1 to 10"]),
        ("back.obj", "v 0 0 0\nf -1 -2 -3\n".into(), &["line 2", "-2", "1 to 1"]),
        ("faces.obj", "v 0 0 0\nv 1 1 1\n".into(), &["triangles", "none"]),
        ("pair.obj", "v 0 0 0\nv 1 1 1\nf 1 2\n".into(), &["line 3", "three corners"]),
        ("big.obj", obj(false).replace("v 8 ", "v 8000 ").into(), &["size", "0.5 to 500 m"]),
        ("low.obj", obj(false).replace(" 2.5\n", " 0\n").replace(" 4.5\n", " 0\n").into(), &["height", "--up"]),
        ("cut.glb", glb()[..200].to_vec(), &["file", "glTF 2.0"]),
        ("text.gltf", b"hello".to_vec(), &["file", "glTF 2.0"]),
        (
            "data.gltf",
            b"{\"asset\":{\"version\":\"2.0\"},\"buffers\":[{\"byteLength\":4,\"uri\":\"data:x;base64,AAAA\"}]}".to_vec(),
            &["buffers", "data:x", ".glb"],
        ),
    ];
    let at = base.at_m + DVec2::new(5.0, -12.0);
    let put = Put { at: Some(format!("{},{}", at.x, at.y)), turn_rad: 0.0 };
    let told = mesh::Told { up: Some(Up::Z), unit: None };
    for (name, bytes, parts) in cases {
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("written");
        let result = if name.ends_with("json") {
            footprint::from_footprints(&base, &path, footprint::Told::default())
        } else {
            mesh::from_mesh(&base, &path, told, &put)
        };
        let said = result.expect_err(name).to_string();
        for part in parts.iter().chain(&[name, "read", "allowed"]) {
            assert!(said.contains(part), "{part:?} for {name} in {said}");
        }
    }
    let path = folder.path().join("z.obj");
    fs::write(&path, obj(false)).expect("written");
    let said = |told, put: &Put| mesh::from_mesh(&base, &path, told, put).unwrap_err().to_string();
    assert!(said(mesh::Told::default(), &put).contains("--up y or --up z"));
    assert!(said(told, &Put::default()).contains("--at X,Y"));
    let off = Put { at: Some("46.5,8.4".into()), turn_rad: 0.0 };
    assert!(said(told, &off).contains("latitude 44.0"));
}
