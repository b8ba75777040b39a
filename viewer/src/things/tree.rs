//! The tree that is taken down, its pieces, trees that stay, and stumps.

use bevy::math::{Quat, Vec3, vec3};
use tumblewood::{
    job::CutReady,
    keyed::Key,
    motion::Motion,
    release::{HingeSpec, Method},
    scene::{edit::Thing, model::PieceSpec, standing::Left},
    site::{Body, BodyKind},
    tree::Piece,
};

use super::{Look, Scenery, THIN_SIDES, capsules, hulls};
use crate::{
    palette::Palette,
    shape::{Colour, Drawn, End, ROUND_SIDES, Ring, circle, single, square_to},
};

/// The spar ends this far under the cut, m (as the physics has it).
const KERF_M: f64 = 0.02;
/// The stem is drawn this far into the ground, m.
const FOOT_M: f32 = 0.5;
/// Distance between rings of the stem, m.
const STATION_M: f64 = 0.75;
/// Half height of the ring that marks a cut, m.
const CUT_RING_M: f64 = 0.03;
/// The dark band is this part of the piece's length.
const BAND_SHARE: f32 = 0.12;
/// Half the width of the stripe along a piece, rad about its axis.
const STRIPE_RAD: f32 = 0.2;
/// Leaves on one limb.
const LEAVES_A_LIMB: u64 = 26;

/// The spar up to the cut (or the whole stem), rings where the cuts are, and the chosen piece.
pub(super) fn looks(scenery: &Scenery<'_>, ready: Option<&CutReady>) -> Vec<(Thing, Look)> {
    let Scenery { world, palette, .. } = *scenery;
    let whole_m = world.stem.top_m();
    let whole_m = world.scene.tree.topped_at_m.map_or(whole_m, |top| top.told.min(whole_m));
    let top_m = ready.map_or(whole_m, |ready| {
        let cut = world.scene.cuts.get(ready.index);
        // Beside a limb the stem goes on.
        if cut.is_some_and(|cut| cut.piece.stem_cut_m().is_none()) {
            world.scene.standing(ready.index).top_m.min(whole_m)
        } else {
            ready.from_height_m - KERF_M
        }
    });
    let mut looks = Vec::new();
    if top_m > 0.05 {
        let mut look = Look::default();
        spar(&mut look.solid, scenery, top_m);
        let spar = ready
            .and_then(|ready| ready.site.bodies.iter().find(|body| body.kind == BodyKind::Spar));
        // Its limbs where the physics has them.
        for (from, to, radius) in spar.into_iter().flat_map(capsules) {
            let bark = palette.bark.linear();
            look.solid.tube(&[from, to], &[radius; 2], THIN_SIDES, [End::Open, End::Round], bark);
        }
        looks.push((Thing::Tree, look));
    }
    looks.extend(limbs(scenery, ready));
    for (index, cut) in world.scene.cuts.iter().enumerate() {
        // A limb is cut where it leaves the stem: its ring would lie in the bark.
        let from_m = cut.piece.stem_cut_m();
        let mut look = Look::default();
        match ready.filter(|ready| ready.index == index) {
            Some(ready) => chosen(&mut look, ready, palette),
            None => match from_m {
                Some(from_m) if from_m.told < top_m => {
                    ring(&mut look.dressing, scenery, from_m.told);
                }
                _ => continue,
            },
        }
        looks.push((Thing::Cut(cut.id.clone()), look));
    }
    looks
}

/// The limbs that stay on the spar, each as it is told, so that it can be taken hold of: a sleeve over
/// what the physics has.
fn limbs(scenery: &Scenery<'_>, ready: Option<&CutReady>) -> Vec<(Thing, Look)> {
    let scene = &scenery.world.scene;
    let before = ready.map_or(0, |ready| ready.index);
    let standing = scene.standing(before);
    let on_piece = ready.map(|ready| scene.limbs_on(ready.index)).unwrap_or_default();
    let cut_now = ready.and_then(|ready| match scene.cuts.get(ready.index)?.piece {
        PieceSpec::Limb { limb, .. } => Some(limb),
        _ => None,
    });
    let attitude = scenery.world.stem.lean.attitude();
    let all = scene.tree.limbs.iter().zip(&scenery.world.limbs).enumerate();
    let whole = all.filter(|(i, _)| {
        let stays = standing.limbs.get(*i) == Some(&Left::Whole) && Some(*i) != cut_now;
        stays && on_piece.iter().all(|(other, _)| other != i)
    });
    whole
        .map(|(_, (spec, limb))| {
            let (foot, radius) = station(scenery, limb.height_m);
            let along = single(attitude * limb.along);
            let bark = foot + along * radius;
            let tip = foot + along * (radius + limb.length_m as f32);
            let thick = 0.5 * limb.diameter_m as f32;
            let mut look = Look::default();
            let radii = [1.1 * thick + 0.01, 0.45 * thick + 0.01];
            let ends = [End::Open, End::Round];
            let colour = scenery.palette.bark.linear();
            look.dressing.tube(&[bark, tip], &radii, THIN_SIDES, ends, colour);
            (Thing::Limb(spec.id.clone()), look)
        })
        .collect()
}

/// A place on the stem's axis and the stem's radius there, m.
fn station(scenery: &Scenery<'_>, height_m: f64) -> (Vec3, f32) {
    let stem = &scenery.world.stem;
    let at = stem.lean.attitude() * (glam::DVec3::Z * height_m);
    (single(at), 0.5 * stem.diameter_m(height_m) as f32)
}

fn spar(drawn: &mut Drawn, scenery: &Scenery<'_>, top_m: f64) {
    let parts = (top_m / STATION_M).ceil().clamp(1.0, 400.0);
    let (foot, radius) = station(scenery, 0.0);
    let mut points = vec![foot - Vec3::Z * FOOT_M];
    let mut radii = vec![radius];
    for k in 0..=parts as u32 {
        let (point, radius) = station(scenery, top_m * f64::from(k) / parts);
        points.push(point);
        radii.push(radius);
    }
    let end = face(scenery.palette);
    drawn.tube(&points, &radii, ROUND_SIDES, [End::Open, end], scenery.palette.bark.linear());
}

fn face(palette: &Palette) -> End {
    End::Face { wood: palette.wood.linear(), ring: palette.ring.linear() }
}

fn ring(drawn: &mut Drawn, scenery: &Scenery<'_>, height_m: f64) {
    let ends = [height_m - CUT_RING_M, height_m + CUT_RING_M].map(|h| station(scenery, h.max(0.0)));
    let colour = scenery.palette.cut.linear();
    let radii = ends.map(|(_, radius)| 1.02 * radius + 0.008);
    drawn.tube(&ends.map(|(at, _)| at), &radii, ROUND_SIDES, [End::Open; 2], colour);
}

/// The piece as it sits on the spar, its face if it has one, and where it is meant to fall.
fn chosen(look: &mut Look, ready: &CutReady, palette: &Palette) {
    let stand = ready.stand();
    let side = palette.chosen.linear();
    look.solid.append(&placed(&ready.section.piece, &stand.motion(), palette, side, true));
    let turn = rotation(stand.attitude);
    let cut = single(stand.cut_m);
    let azimuth_rad = match &ready.method {
        Method::Hinge(spec) | Method::BoredHinge(spec) => {
            notch(&mut look.dressing, (cut, turn, stand.cut_radius_m as f32), spec, palette);
            spec.face_azimuth_rad
        }
        Method::SnapCut(spec) | Method::FlatCut(spec) => spec.azimuth_rad,
        Method::UnderAndTop(spec) => spec.azimuth_rad,
    } as f32;
    let out = turn * vec3(azimuth_rad.sin(), azimuth_rad.cos(), 0.0);
    let radius = stand.cut_radius_m as f32;
    let [start, neck, tip] = [0.15, 1.1, 1.5].map(|far| cut + out * (radius + far));
    let drawn = &mut look.dressing;
    drawn.tube(&[start, neck], &[0.03; 2], THIN_SIDES, [End::Round, End::Open], side);
    let head = End::Face { wood: side, ring: side };
    drawn.tube(&[neck, tip], &[0.11, 0.002], 10, [head, End::Open], side);
}

/// The mouth of the face as it is seen from outside: what is cut away, to its full height.
fn notch(
    drawn: &mut Drawn,
    (cut, turn, radius): (Vec3, Quat, f32),
    spec: &HingeSpec,
    palette: &Palette,
) {
    const STEPS: i32 = 12;
    let depth = (spec.face_depth_m as f32).clamp(0.0, 2.0 * radius);
    let half = ((radius - depth) / radius.max(1e-6)).clamp(-1.0, 1.0).acos();
    let below = (spec.face_below_rad as f32).clamp(0.0, 1.4).tan();
    let above = ((spec.face_opening_rad - spec.face_below_rad) as f32).clamp(0.0, 1.4).tan();
    let azimuth = spec.face_azimuth_rad as f32;
    // Outside the bark, and outside the piece above where the stem is wider than at the cut.
    let shown = 1.03 * radius + 0.01;
    let at = |k: i32| {
        let off = half * k as f32 / STEPS as f32;
        let deep = (radius * off.cos() - (radius - depth)).max(0.0);
        let (sin, cos) = (azimuth + off).sin_cos();
        [-deep * below, deep * above].map(|z| cut + turn * vec3(sin * shown, cos * shown, z))
    };
    let (wood, rim) = (palette.wood.linear(), palette.ink.linear());
    for k in -STEPS..STEPS {
        // Azimuths run clockwise: the next one is to the left, seen from outside.
        let ([low, high], [low_on, high_on]) = (at(k), at(k + 1));
        drawn.sign(&[low_on, low, high, high_on], wood);
        drawn.polyline(&[low, low_on], rim);
        drawn.polyline(&[high, high_on], rim);
    }
}

fn rotation(attitude: glam::DQuat) -> Quat {
    let [x, y, z, w] = attitude.to_array().map(|part| part as f32);
    Quat::from_xyzw(x, y, z, w)
}

/// A piece in its own frame, for replays: a dark band round its butt end and a stripe along it, so
/// that its turns can be read. The light is that of a piece that stands upright.
#[must_use]
pub(crate) fn piece(piece: &Piece, palette: &Palette) -> Drawn {
    body(piece, Quat::IDENTITY, palette, palette.chosen.linear(), true)
}

/// A piece where it is, in the site's frame, with the light as it falls there.
#[must_use]
pub(crate) fn piece_at(piece: &Piece, motion: &Motion, palette: &Palette) -> Drawn {
    placed(piece, motion, palette, palette.chosen.linear(), true)
}

/// A log that is free to move, where it is.
pub(super) fn log_at(piece: &Piece, motion: &Motion, palette: &Palette) -> Drawn {
    placed(piece, motion, palette, palette.bark.linear(), false)
}

fn placed(piece: &Piece, motion: &Motion, palette: &Palette, side: Colour, marked: bool) -> Drawn {
    let (turn, centre) = (rotation(motion.attitude), single(motion.centre_m));
    body(piece, turn, palette, side, marked).moved(|point| centre + turn * point)
}

fn body(piece: &Piece, turn: Quat, palette: &Palette, side: Colour, marked: bool) -> Drawn {
    let mut drawn = Drawn::turned(turn);
    let (wood, ring) = (palette.wood.linear(), palette.ring.linear());
    let rounds = piece.rounds.iter().map(|round| {
        let ends = [single(round.from_m), single(round.to_m)];
        (ends, [round.from_radius_m as f32, round.to_radius_m as f32])
    });
    let stem: Vec<_> = rounds.clone().take(piece.stem_rounds).collect();
    let band_m = if marked { BAND_SHARE * piece.length_m() as f32 } else { 0.0 };
    let mut along_m = 0.0;
    let mut rings = Vec::with_capacity(2 * stem.len() + 2);
    let mut add = |centre_m: Vec3, radius_m: f32, colour: Colour| {
        rings.push(Ring { centre_m, radius_m, tilt: 0.0, colour });
    };
    for &([from, to], [from_radius, to_radius]) in &stem {
        let length_m = from.distance(to);
        let dark = |at_m: f32| if at_m < band_m { palette.butt.linear() } else { side };
        add(from, from_radius, dark(along_m));
        if along_m < band_m && band_m <= along_m + length_m {
            let share = (band_m - along_m) / length_m.max(1e-6);
            let radius = from_radius + (to_radius - from_radius) * share;
            add(from.lerp(to, share), radius, palette.butt.linear());
            add(from.lerp(to, share), radius, side);
        }
        along_m += length_m;
        add(to, to_radius, dark(along_m - 1e-4));
        if marked {
            stripe(&mut drawn, [from, to], [from_radius, to_radius], palette.butt.linear());
        }
    }
    drawn.lathe(&rings, ROUND_SIDES);
    if let (Some(([from, to], [radius, _])), Some(([back, top], [_, top_radius]))) =
        (stem.first(), stem.last())
    {
        let out = (*from - *to).normalize_or(-Vec3::Z);
        drawn.cut_face(*from, out, *radius, ROUND_SIDES, wood, ring);
        let out = (*top - *back).normalize_or(Vec3::Z);
        drawn.cut_face(*top, out, *top_radius, ROUND_SIDES, wood, ring);
    }
    for (ends, radii) in rounds.skip(piece.stem_rounds) {
        drawn.tube(&ends, &radii, 10, [End::Open, End::Face { wood, ring }], side);
    }
    for rod in &piece.brush.rods {
        let ends = [single(rod.from_m), single(rod.to_m)];
        let radii = [rod.from_radius_m as f32, rod.to_radius_m as f32];
        drawn.tube(&ends, &radii, THIN_SIDES, [End::Open, End::Round], side);
    }
    twigs(&mut drawn, piece, palette.leaf.linear());
    drawn
}

/// Leaves where a piece has brush.
fn twigs(drawn: &mut Drawn, piece: &Piece, colour: Colour) {
    for (k, spray) in piece.brush.sprays.iter().enumerate().filter(|(_, s)| s.mass_kg > 0.0) {
        let radius = spray.radius_m as f32;
        for leaf in 0..LEAVES_A_LIMB {
            let key = Key::root(0).word("brush").number(k as u64).number(leaf);
            let draw = |word: &str| key.word(word).uniform() as f32;
            let off = vec3(draw("x"), draw("y"), draw("z")) * 2.0 - Vec3::ONE;
            let middle = single(spray.at_m) + off.clamp_length_max(1.0) * radius;
            let axis = vec3(draw("u") - 0.5, draw("v") - 0.5, 0.3 + draw("w"));
            let mut leaf = circle(middle, axis.normalize_or(Vec3::Z), 0.14, 3);
            drawn.face(&leaf, colour);
            leaf.reverse();
            drawn.face(&leaf, colour);
        }
    }
}

/// A stripe along one side of a round, a little off it.
fn stripe(
    drawn: &mut Drawn,
    [from, to]: [Vec3; 2],
    [from_radius, to_radius]: [f32; 2],
    colour: Colour,
) {
    let (u, v) = square_to((to - from).normalize_or(Vec3::Z));
    let out = |off: f32| (u * off.cos() + v * off.sin()) * 1.012;
    for [right, left] in [[-STRIPE_RAD, 0.0], [0.0, STRIPE_RAD]].map(|offs| offs.map(out)) {
        let corners = [
            from + right * from_radius,
            from + left * from_radius,
            to + left * to_radius,
            to + right * to_radius,
        ];
        drawn.face(&corners, colour);
    }
}

/// A tree that stays: stem and limbs where the physics has them, and leaves one can see through.
pub(super) fn keep_tree(scenery: &Scenery<'_>, body: &Body) -> Look {
    let palette = scenery.palette;
    let bark = palette.bark.linear();
    let mut look = Look::default();
    let upright = |(from, to, _): &(Vec3, Vec3, f32)| {
        (to.truncate() - from.truncate()).length() < 1e-3 * (to.z - from.z).abs()
    };
    let (stem, limbs): (Vec<_>, Vec<_>) = capsules(body).partition(upright);
    let (mut points, mut radii) = (Vec::new(), Vec::new());
    for (k, (from, to, radius)) in stem.iter().enumerate() {
        let before = k.checked_sub(1).and_then(|j| stem.get(j)).map_or(*radius, |(_, _, r)| *r);
        points.push(*from);
        radii.push(0.5 * (radius + before));
        if k + 1 == stem.len() {
            points.push(*to);
            radii.push(*radius);
        }
    }
    look.solid.tube(&points, &radii, ROUND_SIDES, [End::Round; 2], bark);
    let key = Key::root(0).word("leaves").word(&body.id);
    for (k, (from, to, radius)) in limbs.into_iter().enumerate() {
        look.solid.tube(&[from, to], &[radius, 0.6 * radius], 5, [End::Round; 2], bark);
        for leaf in 0..LEAVES_A_LIMB {
            let key = key.number(k as u64).number(leaf);
            let draw = |word: &str| key.word(word).uniform() as f32;
            let spread = from.distance(to) * vec3(0.14, 0.14, 0.35);
            let off = vec3(draw("x"), draw("y"), draw("z")) * 2.0 - Vec3::ONE;
            let middle = from.lerp(to, 0.35 + 0.65 * draw("along")) + off * spread;
            let axis = vec3(draw("u") - 0.5, draw("v") - 0.5, 0.3 + draw("w"));
            let size = 0.12 + 0.16 * draw("size");
            let mut leaf = circle(middle, axis.normalize_or(Vec3::Z), size, 3);
            look.dressing.face(&leaf, palette.leaf.linear());
            leaf.reverse();
            look.dressing.face(&leaf, palette.leaf.linear());
        }
    }
    look
}

/// A stump: bark, and a cut face on top.
pub(super) fn stump(scenery: &Scenery<'_>, body: &Body) -> Look {
    let palette = scenery.palette;
    let (bark, wood) = (palette.bark.linear(), palette.wood.linear());
    let mut look = Look::default();
    for points in hulls(body) {
        let colour = |normal: Vec3| if normal.z > 0.9 { wood } else { bark };
        look.solid.hull(&points, colour, Some(palette.aid.linear()));
        let top = points.iter().map(|p| p.z).fold(f32::NEG_INFINITY, f32::max);
        let rim: Vec<Vec3> = points.iter().filter(|p| p.z > top - 0.01).copied().collect();
        let middle = rim.iter().sum::<Vec3>() / rim.len().max(1) as f32;
        let radius = rim.iter().map(|p| p.distance(middle)).fold(f32::INFINITY, f32::min);
        for share in [0.3, 0.6, 0.85] {
            let at = middle + Vec3::Z * 0.004;
            look.dressing.outline(&circle(at, Vec3::Z, radius * share, 16), palette.ring.linear());
        }
    }
    look
}
