//! The embedded font and how wide its text comes out.

/// Family name in the font files and in every picture.
pub const FAMILY: &str = "Source Sans Pro";

/// The regular weight, TrueType.
pub static REGULAR: &[u8] = include_bytes!("../../../assets/fonts/SourceSansPro-Regular.ttf");

/// The semibold weight, TrueType.
pub static SEMIBOLD: &[u8] = include_bytes!("../../../assets/fonts/SourceSansPro-Semibold.ttf");

/// Height of a capital letter, em.
pub const CAP_HEIGHT: f64 = 0.66;

/// Advance widths of the characters 32 to 126, 1/1000 em, from the font's own table.
const REGULAR_ADVANCE: [u16; 95] = [
    200, 289, 425, 497, 497, 824, 609, 249, 303, 303, 418, 497, 249, 311, 249, 350, 497, 497, 497,
    497, 497, 497, 497, 497, 497, 497, 249, 249, 497, 497, 497, 425, 847, 544, 588, 571, 615, 527,
    494, 617, 652, 263, 480, 579, 486, 727, 647, 664, 566, 664, 569, 534, 536, 645, 515, 786, 513,
    476, 539, 303, 350, 303, 497, 500, 542, 504, 553, 456, 555, 496, 292, 504, 544, 246, 247, 495,
    255, 829, 547, 542, 555, 555, 347, 419, 338, 544, 467, 718, 446, 467, 425, 303, 241, 303, 497,
];
const SEMIBOLD_ADVANCE: [u16; 95] = [
    200, 315, 482, 513, 513, 841, 639, 275, 324, 324, 438, 513, 275, 322, 275, 344, 513, 513, 513,
    513, 513, 513, 513, 513, 513, 513, 275, 275, 513, 513, 513, 444, 875, 558, 597, 576, 625, 538,
    510, 628, 663, 282, 494, 597, 502, 745, 656, 674, 582, 674, 592, 545, 546, 655, 536, 800, 541,
    501, 540, 324, 344, 324, 513, 500, 549, 516, 563, 462, 564, 507, 317, 520, 558, 262, 263, 522,
    271, 843, 560, 549, 564, 564, 373, 431, 361, 556, 495, 748, 481, 495, 443, 324, 255, 324, 513,
];

/// Width of a line of text at `size` px, px. Kerning is left out; characters beyond ASCII count
/// as a digit.
#[must_use]
pub fn text_width(text: &str, size: f64, bold: bool) -> f64 {
    let table = if bold { &SEMIBOLD_ADVANCE } else { &REGULAR_ADVANCE };
    let other = if bold { 513 } else { 497 };
    let thousandths: u32 = text
        .chars()
        .map(|c| {
            let index = (c as usize).wrapping_sub(32);
            u32::from(table.get(index).copied().unwrap_or(other))
        })
        .sum();
    f64::from(thousandths) * size / 1000.0
}

/// Breaks text into lines no wider than `width` px; a single word that is wider stays whole.
#[must_use]
pub fn wrap(text: &str, size: f64, bold: bool, width: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if line.is_empty() || text_width(&longer, size, bold) <= width {
            line = longer;
        } else {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_wrapped_lines_fit_and_keep_every_word() {
        let text = "The model has not been compared with dropped logs and decides nothing";
        let lines = wrap(text, 14.0, false, 160.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|l| text_width(l, 14.0, false) <= 160.0), "{lines:?}");
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn val_width_equals_the_renderer_s_own() {
        // The renderer lays the text out itself, from the font's tables, with kerning.
        let text = "unhinged nose 1 in 100";
        for (bold, weight) in [(false, 400), (true, 600)] {
            let svg = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='900' height='90'><text x='0' \
                 y='50' font-family='{FAMILY}' font-size='40' font-weight='{weight}'>{text}\
                 </text></svg>"
            );
            let tree = crate::report::png::parse(&svg).expect("our own picture");
            let drawn = f64::from(tree.root().abs_bounding_box().width());
            let ours = text_width(text, 40.0, bold);
            assert!((drawn - ours).abs() < 0.03 * ours, "{drawn} {ours}");
        }
    }
}
