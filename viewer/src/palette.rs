//! The colours of the hillside: one table, three themes.
//!
//! Nothing is told by colour alone: modes have marks of their own shape, tracks that reach a target
//! have beads, what stops pieces has bands. Colours differ in lightness as well as in hue, so that
//! they can be told apart with any of the three dichromacies; the tests simulate them. The colours
//! are ours, by day close to those of the printed plan.

use tumblewood::outcome::Mode;

use crate::shape::Colour;

/// What light the screen is read in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Theme {
    /// Indoors by day.
    #[default]
    Day,
    /// Outdoors: as much contrast as a screen has.
    Sunlight,
    /// In the dark.
    DarkRoom,
}

/// All themes with the word for each.
pub(crate) const THEMES: [(Theme, &str); 3] =
    [(Theme::Day, "day"), (Theme::Sunlight, "bright sunlight"), (Theme::DarkRoom, "dark room")];

/// The modes in the order of legends and of [`Palette::modes`], with the word for each.
pub(crate) const MODES: [(Mode, &str); 4] = [
    (Mode::Stayed, "stayed"),
    (Mode::Slid, "slid"),
    (Mode::Rolled, "rolled"),
    (Mode::Tumbled, "tumbled"),
];

/// A colour as a screen is given it: sRGB, 0xRRGGBB.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Paint(pub(crate) u32);

impl Paint {
    /// Red, green and blue, 0 to 255.
    #[must_use]
    pub(crate) fn srgb(self) -> [u8; 3] {
        [16, 8, 0].map(|shift| (self.0 >> shift & 0xff) as u8)
    }

    /// Linear light, opaque (IEC 61966-2-1).
    #[must_use]
    pub(crate) fn linear(self) -> Colour {
        let [r, g, b] = self.srgb().map(|part| {
            let part = f32::from(part) / 255.0;
            if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        });
        [r, g, b, 1.0]
    }
}

/// What everything is painted with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Palette {
    /// The sky, and whatever else nothing is drawn on.
    pub(crate) sky: Paint,
    /// Bare ground, lit from the front.
    pub(crate) ground: Paint,
    /// Contours.
    pub(crate) contour: Paint,
    /// Every fifth contour.
    pub(crate) dark_contour: Paint,
    /// Text, frames and the rim of every mark.
    pub(crate) ink: Paint,
    /// Second-rank text.
    pub(crate) soft_ink: Paint,
    /// Behind text; the inside of a hollow mark.
    pub(crate) paper: Paint,
    /// A track that reaches nothing.
    pub(crate) quiet: Paint,
    /// A track that reaches a target, and a target that was reached.
    pub(crate) alarm: Paint,
    /// Lines that pieces pass.
    pub(crate) pass_line: Paint,
    /// Edges of what must not be touched; people.
    pub(crate) target: Paint,
    /// Walls and sheet metal of what must not be touched.
    pub(crate) target_wall: Paint,
    /// Roofs of it.
    pub(crate) target_roof: Paint,
    /// Windows.
    pub(crate) window: Paint,
    /// Edges and bands of what stops or softens pieces.
    pub(crate) aid: Paint,
    /// Walls there to stop pieces.
    pub(crate) aid_wall: Paint,
    /// A road or path.
    pub(crate) road: Paint,
    /// Bark.
    pub(crate) bark: Paint,
    /// Wood of a cut face.
    pub(crate) wood: Paint,
    /// Growth rings on it.
    pub(crate) ring: Paint,
    /// The band round the butt end of a piece and the stripe along it.
    pub(crate) butt: Paint,
    /// The piece of the chosen cut.
    pub(crate) chosen: Paint,
    /// The ring of a cut on the stem.
    pub(crate) cut: Paint,
    /// Leaves.
    pub(crate) leaf: Paint,
    /// Wires and lines.
    pub(crate) wire: Paint,
    /// Faces and hands.
    pub(crate) pale: Paint,
    /// Hatches of patches of other ground.
    pub(crate) hatch: Paint,
    /// How a piece went, in the order of [`MODES`].
    pub(crate) modes: [Paint; 4],
}

impl Palette {
    /// The colour of a mode.
    #[must_use]
    pub(crate) fn mode(&self, mode: Mode) -> Paint {
        let [stayed, slid, rolled, tumbled] = self.modes;
        match mode {
            Mode::Stayed => stayed,
            Mode::Slid => slid,
            Mode::Rolled => rolled,
            Mode::Tumbled => tumbled,
        }
    }
}

/// The colours of a theme.
#[must_use]
pub(crate) fn palette(theme: Theme) -> &'static Palette {
    match theme {
        Theme::Day => &DAY,
        Theme::Sunlight => &SUNLIGHT,
        Theme::DarkRoom => &DARK_ROOM,
    }
}

const DAY: Palette = Palette {
    sky: Paint(0xcc_dbeb),
    ground: Paint(0xdb_d1b3),
    contour: Paint(0x6b_4d2e),
    dark_contour: Paint(0x29_1a0d),
    ink: Paint(0x1c_2321),
    soft_ink: Paint(0x59_625f),
    paper: Paint(0xff_ffff),
    quiet: Paint(0x46_627f),
    alarm: Paint(0xb3_261e),
    pass_line: Paint(0x3d_2a66),
    target: Paint(0x5b_2a86),
    target_wall: Paint(0xa6_98ba),
    target_roof: Paint(0x6f_5c8a),
    window: Paint(0x22_304a),
    aid: Paint(0x0c_7d6c),
    aid_wall: Paint(0xa9_d6c8),
    road: Paint(0xef_e6d0),
    bark: Paint(0x5e_3f22),
    wood: Paint(0xd9_b98c),
    ring: Paint(0x8a_6334),
    butt: Paint(0x1a_1108),
    chosen: Paint(0x0f_6ec4),
    cut: Paint(0xff_ffff),
    leaf: Paint(0x3c_7446),
    wire: Paint(0x1f_2a44),
    pale: Paint(0xf2_e9dc),
    hatch: Paint(0x6a_4a1e),
    modes: [Paint(0x15_182b), Paint(0xd9_9a00), Paint(0x35_a3bd), Paint(0x84_2f6b)],
};

const SUNLIGHT: Palette = Palette {
    sky: Paint(0xff_ffff),
    ground: Paint(0xf4_f0e2),
    contour: Paint(0x7a_5a34),
    dark_contour: Paint(0x2a_1a0a),
    ink: Paint(0x00_0000),
    soft_ink: Paint(0x33_3a38),
    paper: Paint(0xff_ffff),
    quiet: Paint(0x2a_557f),
    alarm: Paint(0xa8_0000),
    pass_line: Paint(0x2b_1460),
    target: Paint(0x4a_1478),
    target_wall: Paint(0x9f_8dba),
    target_roof: Paint(0x5f_4a80),
    window: Paint(0x10_1c30),
    aid: Paint(0x00_907a),
    aid_wall: Paint(0xa6_d8ca),
    road: Paint(0xff_ffff),
    bark: Paint(0x3f_2710),
    wood: Paint(0xd3_a968),
    ring: Paint(0x6a_4514),
    butt: Paint(0x00_0000),
    chosen: Paint(0x00_5fc8),
    cut: Paint(0xff_ffff),
    leaf: Paint(0x1f_5c2d),
    wire: Paint(0x00_0000),
    pale: Paint(0xff_ffff),
    hatch: Paint(0x4a_3008),
    modes: [Paint(0x00_0000), Paint(0xd0_8a00), Paint(0x1b_93b3), Paint(0x7a_1a5d)],
};

const DARK_ROOM: Palette = Palette {
    sky: Paint(0x0d_1117),
    ground: Paint(0x4a_4c42),
    contour: Paint(0x77_796a),
    dark_contour: Paint(0xa3_a592),
    ink: Paint(0xf2_f0e6),
    soft_ink: Paint(0xb9_bdb4),
    paper: Paint(0x17_1c22),
    quiet: Paint(0x86_aacc),
    alarm: Paint(0xff_a07a),
    pass_line: Paint(0xe9_deff),
    target: Paint(0xc9_a0f0),
    target_wall: Paint(0x84_759c),
    target_roof: Paint(0x5a_4a75),
    window: Paint(0xcf_e3ff),
    aid: Paint(0x40_c8b0),
    aid_wall: Paint(0x86_c2b3),
    road: Paint(0x77_725f),
    bark: Paint(0x9c_7646),
    wood: Paint(0xe6_cfa4),
    ring: Paint(0x6e_4f2a),
    butt: Paint(0xff_ffff),
    chosen: Paint(0x58_b0ff),
    cut: Paint(0xf2_f0e6),
    leaf: Paint(0x5c_9a62),
    wire: Paint(0xe8_ecf5),
    pale: Paint(0xf2_e9dc),
    hatch: Paint(0xb9_b090),
    modes: [Paint(0xff_ffff), Paint(0xff_d24d), Paint(0x58_c4de), Paint(0xc9_529c)],
};

#[cfg(test)]
mod tests {
    use super::*;

    type Rgb = [f64; 3];
    type Matrix = [Rgb; 3];

    /// Protanopia and deuteranopia in linear sRGB (Viénot, Brettel and Mollon 1999, "Digital video
    /// colourmaps for checking the legibility of displays by dichromats"; numbers from memory, for
    /// sRGB primaries).
    const PROTAN: Matrix =
        [[0.112_38, 0.887_62, 0.0], [0.112_38, 0.887_62, 0.0], [0.004_01, -0.004_01, 1.0]];
    const DEUTAN: Matrix =
        [[0.292_75, 0.707_25, 0.0], [0.292_75, 0.707_25, 0.0], [-0.022_34, 0.022_34, 1.0]];
    /// Tritanopia on either side of the plane through grey (Brettel, Viénot and Mollon 1997,
    /// "Computerized simulation of color appearance for dichromats"; numbers from memory, for sRGB
    /// primaries).
    const TRITAN: [Matrix; 2] = [
        [
            [1.012_77, 0.135_48, -0.148_26],
            [-0.012_43, 0.868_12, 0.144_31],
            [0.075_89, 0.805_00, 0.119_11],
        ],
        [
            [0.936_78, 0.189_79, -0.126_57],
            [0.061_54, 0.815_26, 0.123_20],
            [-0.375_62, 1.127_67, 0.247_96],
        ],
    ];
    const TRITAN_PLANE: Rgb = [0.039_01, -0.027_88, -0.011_13];

    fn dot(a: Rgb, b: Rgb) -> f64 {
        a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
    }

    fn times(matrix: &Matrix, rgb: Rgb) -> Rgb {
        matrix.map(|row| dot(row, rgb))
    }

    fn linear(paint: Paint) -> Rgb {
        let [r, g, b, _] = paint.linear().map(f64::from);
        [r, g, b]
    }

    /// The colour as seen with full colour vision and with each dichromacy.
    fn seen(paint: Paint) -> [Rgb; 4] {
        let rgb = linear(paint);
        let side = usize::from(dot(TRITAN_PLANE, rgb) < 0.0);
        [rgb, times(&PROTAN, rgb), times(&DEUTAN, rgb), times(&TRITAN[side], rgb)]
            .map(|rgb| rgb.map(|part| part.clamp(0.0, 1.0)))
    }

    /// CIE 1976 L*a*b* of linear sRGB under D65 (IEC 61966-2-1; CIE 15).
    fn lab(rgb: Rgb) -> Rgb {
        let f =
            |t: f64| if t > 216.0 / 24_389.0 { t.cbrt() } else { t * 841.0 / 108.0 + 4.0 / 29.0 };
        let x = f(dot([0.412_456_4, 0.357_576_1, 0.180_437_5], rgb) / 0.950_47);
        let y = f(dot([0.212_672_9, 0.715_152_2, 0.072_175_0], rgb));
        let z = f(dot([0.019_333_9, 0.119_192_0, 0.950_304_1], rgb) / 1.088_83);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    /// Least distance in L*a*b* over the four kinds of sight.
    fn least_distance(a: Paint, b: Paint) -> f64 {
        let far = |(a, b): (&Rgb, &Rgb)| {
            let (a, b) = (lab(*a), lab(*b));
            let d = [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
            dot(d, d).sqrt()
        };
        seen(a).iter().zip(&seen(b)).map(far).fold(f64::INFINITY, f64::min)
    }

    /// Contrast ratio (WCAG 2.2, "contrast ratio" and "relative luminance").
    fn contrast(a: Paint, b: Paint) -> f64 {
        let luminance = |paint| dot([0.2126, 0.7152, 0.0722], linear(paint));
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn val_lightness_and_contrast_are_the_published_ones() {
        // The ends of the scale, and mid grey: L* of sRGB 119 is 50.0 (CIE 15 by hand).
        assert!((lab(linear(Paint(0xff_ffff)))[0] - 100.0).abs() < 1e-3);
        assert!((lab(linear(Paint(0x77_7777)))[0] - 50.0).abs() < 0.1);
        assert!((contrast(Paint(0xff_ffff), Paint(0)) - 21.0).abs() < 1e-6);
        // #767676 is the lightest grey that has 4.5 : 1 on white (WCAG's own example, from memory).
        let grey = contrast(Paint(0xff_ffff), Paint(0x76_7676));
        assert!((4.5..4.6).contains(&grey), "{grey}");
    }

    /// A dichromat keeps the answers of the two kinds of cone that are left, and grey stays grey.
    /// Cones of linear sRGB by Smith and Pokorny (as Viénot and others 1999 have them, from memory).
    #[test]
    fn verif_dichromats_keep_grey_and_two_cones_of_three() {
        const CONES: Matrix = [
            [17.8824, 43.5161, 4.119_35],
            [3.455_65, 27.1554, 3.867_14],
            [0.029_956_6, 0.184_309, 1.467_09],
        ];
        let kept: [(&Matrix, [usize; 2]); 4] =
            [(&PROTAN, [1, 2]), (&DEUTAN, [0, 2]), (&TRITAN[0], [0, 1]), (&TRITAN[1], [0, 1])];
        for (matrix, kept) in kept {
            for row in matrix {
                assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-5, "{row:?}");
            }
            for cone in kept {
                for primary in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] {
                    let (before, after) =
                        (dot(CONES[cone], primary), dot(CONES[cone], times(matrix, primary)));
                    let whole: f64 = CONES[cone].iter().sum();
                    // The published cones are of a screen whose primaries differ a little.
                    assert!((before - after).abs() < 0.02 * whole, "{cone} {before} {after}");
                }
            }
        }
    }

    #[test]
    fn prop_what_must_be_told_apart_can_be_with_any_sight() {
        for (theme, name) in THEMES {
            let p = palette(theme);
            let mut pairs = vec![
                (p.quiet, p.alarm, "quiet, alarm"),
                (p.quiet, p.pass_line, "quiet, pass line"),
                (p.alarm, p.pass_line, "alarm, pass line"),
                (p.sky, p.bark, "sky, bark"),
                (p.sky, p.leaf, "sky, leaf"),
                (p.sky, p.chosen, "sky, chosen"),
                (p.sky, p.quiet, "sky, quiet"),
                (p.sky, p.alarm, "sky, alarm"),
                (p.sky, p.wire, "sky, wire"),
                (p.ground, p.bark, "ground, bark"),
                (p.ground, p.leaf, "ground, leaf"),
                (p.ground, p.chosen, "ground, chosen"),
                (p.ground, p.quiet, "ground, quiet"),
                (p.ground, p.alarm, "ground, alarm"),
                (p.ground, p.pass_line, "ground, pass line"),
                (p.bark, p.chosen, "bark, chosen"),
                (p.bark, p.wood, "bark, wood"),
                (p.bark, p.cut, "bark, cut"),
                (p.chosen, p.butt, "chosen, butt"),
                (p.target, p.aid, "target, aid"),
                (p.target_wall, p.aid_wall, "target wall, aid wall"),
                (p.target_wall, p.window, "wall, window"),
            ];
            for (i, (_, one)) in MODES.iter().enumerate() {
                for (j, (_, other)) in MODES.iter().enumerate().skip(i + 1) {
                    assert_ne!(one, other);
                    pairs.push((p.modes[i], p.modes[j], "two modes"));
                }
            }
            for (a, b, what) in pairs {
                let distance = least_distance(a, b);
                assert!(distance >= 20.0, "{name}: {what} {distance:.1}");
            }
        }
    }

    #[test]
    fn prop_text_and_signs_stand_out() {
        for (theme, name) in THEMES {
            let p = palette(theme);
            // WCAG 2.2: 7 for text (1.4.6), 4.5 for second-rank text (1.4.3), 3 for signs (1.4.11).
            for (a, b, least) in [
                (p.ink, p.paper, 7.0),
                (p.ink, p.ground, 4.5),
                (p.soft_ink, p.paper, 4.5),
                (p.alarm, p.paper, 4.5),
                (p.quiet, p.ground, 3.0),
                (p.alarm, p.ground, 3.0),
                (p.pass_line, p.ground, 3.0),
                (p.target, p.ground, 3.0),
                (p.aid, p.ground, 3.0),
                (p.chosen, p.ground, 3.0),
                (p.hatch, p.ground, 3.0),
            ] {
                let ratio = contrast(a, b);
                assert!(ratio >= least, "{name}: {a:?} on {b:?} {ratio:.2}");
            }
        }
        let least = |theme| contrast(palette(theme).ink, palette(theme).ground);
        assert!(least(Theme::Sunlight) > least(Theme::Day));
    }

    #[test]
    fn verif_every_mode_has_its_colour() {
        let p = palette(Theme::Day);
        assert_eq!(MODES.map(|(mode, _)| p.mode(mode)), p.modes);
    }
}
