//! People: figures in mid-step, as wide and as tall as the solid that stands for them.

use bevy::math::{Vec3, vec3};
use tumblewood::site::Body;

use super::{Look, Scenery, THIN_SIDES, capsules};
use crate::shape::{Colour, Drawn, End};

/// A figure 1.8 m tall and 0.5 m wide, feet at the origin, looking along y: ends of each part,
/// their radii and what it is of.
const PARTS: [([Vec3; 2], [f32; 2], Of); 11] = [
    // Torso and hips.
    ([vec3(0.0, 0.0, 0.92), vec3(0.0, 0.0, 1.36)], [0.13, 0.17], Of::Coat),
    ([vec3(-0.09, 0.0, 0.9), vec3(0.09, 0.0, 0.9)], [0.1, 0.1], Of::Dark),
    // Legs, one ahead.
    ([vec3(-0.1, 0.0, 0.9), vec3(-0.12, 0.1, 0.48)], [0.09, 0.065], Of::Dark),
    ([vec3(-0.12, 0.1, 0.48), vec3(-0.13, 0.12, 0.06)], [0.065, 0.05], Of::Dark),
    ([vec3(-0.13, 0.12, 0.05), vec3(-0.13, 0.2, 0.05)], [0.05, 0.05], Of::Dark),
    ([vec3(0.1, 0.0, 0.9), vec3(0.12, -0.06, 0.48)], [0.09, 0.065], Of::Dark),
    ([vec3(0.12, -0.06, 0.48), vec3(0.13, -0.2, 0.06)], [0.065, 0.05], Of::Dark),
    // Arms, the other one ahead.
    ([vec3(-0.19, 0.0, 1.38), vec3(-0.2, -0.12, 1.1)], [0.05, 0.045], Of::Coat),
    ([vec3(-0.2, -0.12, 1.1), vec3(-0.19, -0.05, 0.86)], [0.045, 0.035], Of::Pale),
    ([vec3(0.19, 0.0, 1.38), vec3(0.2, 0.08, 1.1)], [0.05, 0.045], Of::Coat),
    ([vec3(0.2, 0.08, 1.1), vec3(0.17, 0.2, 0.95)], [0.045, 0.035], Of::Pale),
];
/// Middle and radius of the head.
const HEAD: (Vec3, f32) = (vec3(0.0, 0.0, 1.68), 0.12);
/// Size the table is for, m: across and up.
const SIZE_M: [f32; 2] = [0.5, 1.8];

#[derive(Clone, Copy)]
enum Of {
    Coat,
    Dark,
    Pale,
}

/// A person; one at work wears a helmet.
pub(super) fn figure(scenery: &Scenery<'_>, body: &Body, works: bool) -> Look {
    let mut look = Look::default();
    for (from, to, radius) in capsules(body) {
        let (low, high) = (from.z.min(to.z) - radius, from.z.max(to.z) + radius);
        let foot = from.truncate().extend(low);
        let size =
            vec3(2.0 * radius / SIZE_M[0], 2.0 * radius / SIZE_M[0], (high - low) / SIZE_M[1]);
        let place = |point: Vec3| foot + point * size;
        look.solid.append(&person(scenery, works).moved(place));
    }
    look
}

fn person(scenery: &Scenery<'_>, works: bool) -> Drawn {
    let palette = scenery.palette;
    let colour = |of: Of| -> Colour {
        match of {
            Of::Coat => palette.target.linear(),
            Of::Dark => palette.window.linear(),
            Of::Pale => palette.pale.linear(),
        }
    };
    let mut drawn = Drawn::default();
    for (ends, radii, of) in PARTS {
        drawn.tube(&ends, &radii, 8, [End::Round; 2], colour(of));
    }
    let (head, radius) = HEAD;
    let ball = |drawn: &mut Drawn, at: Vec3, colour| {
        drawn.tube(&[at, at + Vec3::Z * 0.001], &[radius; 2], 10, [End::Round; 2], colour);
    };
    ball(&mut drawn, head, palette.pale.linear());
    if works {
        // The helmet: the upper half of the head and a brim.
        let brim = head + Vec3::Z * 0.02;
        let helmet = palette.cut.linear();
        drawn.tube(
            &[brim, brim + Vec3::Z * 0.001],
            &[1.04 * radius; 2],
            10,
            [End::Open, End::Round],
            helmet,
        );
        drawn.tube(
            &[brim, brim + Vec3::Z * 0.02],
            &[radius * 1.25; 2],
            THIN_SIDES * 2,
            [End::Face { wood: helmet, ring: helmet }; 2],
            helmet,
        );
        // A sling for the saw or the line, so that who works can be told from who passes by.
        drawn.tube(
            &[vec3(-0.14, 0.1, 0.98), vec3(0.14, 0.12, 1.4)],
            &[0.035; 2],
            THIN_SIDES,
            [End::Round; 2],
            palette.aid.linear(),
        );
    }
    drawn
}
