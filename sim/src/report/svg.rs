//! A small SVG writer: the same calls give the same bytes.

use std::fmt::Write as _;

use super::font;

/// A picture being written, in px from the top left corner.
#[derive(Clone, Debug)]
pub struct Svg {
    width: f64,
    height: f64,
    defs: String,
    body: String,
}

/// Where a line of text hangs on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The point is at the left end.
    Start,
    /// The point is in the middle.
    Middle,
    /// The point is at the right end.
    End,
}

/// How a line of text looks.
#[derive(Clone, Copy, Debug)]
pub struct TextStyle<'a> {
    /// Size of the letters, px.
    pub size: f64,
    /// Semibold rather than regular.
    pub bold: bool,
    /// Colour.
    pub fill: &'a str,
    /// Where it hangs.
    pub anchor: Anchor,
    /// Outline that keeps it readable over lines, if any: its colour.
    pub halo: Option<&'a str>,
    /// Turned clockwise about its point, degrees.
    pub turn_deg: f64,
}

impl Default for TextStyle<'_> {
    fn default() -> Self {
        Self {
            size: 13.0,
            bold: false,
            fill: "#1c2321",
            anchor: Anchor::Start,
            halo: None,
            turn_deg: 0.0,
        }
    }
}

/// Size of a mark over the size of its line.
pub const MARK: f64 = 0.66;

impl Svg {
    /// An empty picture of this size, px.
    #[must_use]
    pub fn new(width: f64, height: f64) -> Self {
        Self { width, height, defs: String::new(), body: String::new() }
    }

    /// Adds an element. `attributes` is written as it stands: our own words and numbers only.
    pub fn element(&mut self, name: &str, attributes: std::fmt::Arguments<'_>) {
        let _ = writeln!(self.body, "<{name} {attributes}/>");
    }

    /// Opens a group; close it with [`Svg::close`].
    pub fn open(&mut self, attributes: std::fmt::Arguments<'_>) {
        let _ = writeln!(self.body, "<g {attributes}>");
    }

    /// Closes the group opened last.
    pub fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// Adds what another picture holds, at the same place.
    pub fn append(&mut self, other: Self) {
        self.defs.push_str(&other.defs);
        self.body.push_str(&other.body);
    }

    /// Adds one line in several looks with its base line at (x, y), px: each part is its text,
    /// whether it is bold, and how many px it is lifted if it is a small mark.
    pub fn line(&mut self, (x, y): (f64, f64), size: f64, parts: &[(String, bool, Option<f64>)]) {
        let _ = write!(
            self.body,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\">",
            n(x),
            n(y),
            n(size),
            TextStyle::default().fill
        );
        let mut lifted = 0.0;
        for (text, bold, mark) in parts {
            let lift = mark.unwrap_or(0.0);
            let _ = write!(self.body, "<tspan");
            if lift != lifted {
                let _ = write!(self.body, " dy=\"{}\"", n(lifted - lift));
                lifted = lift;
            }
            if *bold {
                self.body.push_str(" font-weight=\"600\"");
            }
            if mark.is_some() {
                let _ = write!(self.body, " font-size=\"{}\"", n(MARK * size));
            }
            let _ = write!(self.body, ">{}</tspan>", escape(text));
        }
        self.body.push_str("</text>\n");
    }

    /// Adds a whole picture of ours at (x, y), px, so many times its own size.
    pub fn place(&mut self, picture: &str, (x, y): (f64, f64), scale: f64) {
        let moved = format!("transform=\"translate({} {}) scale({scale:.5})\"", n(x), n(y));
        self.open(format_args!("{moved}"));
        self.body.push_str(picture);
        self.close();
    }

    /// Adds a definition (pattern, clip path) as it stands.
    pub fn define(&mut self, definition: &str) {
        self.defs.push_str(definition);
        self.defs.push('\n');
    }

    /// Adds a path along `points`, px, closed or open.
    pub fn polyline(
        &mut self,
        points: &[(f64, f64)],
        closed: bool,
        attributes: std::fmt::Arguments<'_>,
    ) {
        if points.len() > 1 {
            let d = path_data(points, closed);
            self.element("path", format_args!("d=\"{d}\" {attributes}"));
        }
    }

    /// Adds a line of text with its base line at (x, y), px; any text is escaped.
    pub fn text(&mut self, x: f64, y: f64, text: &str, style: TextStyle<'_>) {
        let _ = write!(
            self.body,
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"",
            n(x),
            n(y),
            n(style.size),
            style.fill
        );
        if style.bold {
            self.body.push_str(" font-weight=\"600\"");
        }
        match style.anchor {
            Anchor::Start => {}
            Anchor::Middle => self.body.push_str(" text-anchor=\"middle\""),
            Anchor::End => self.body.push_str(" text-anchor=\"end\""),
        }
        if let Some(halo) = style.halo {
            let _ = write!(
                self.body,
                " stroke=\"{halo}\" stroke-width=\"4.5\" stroke-linejoin=\"round\" \
                 paint-order=\"stroke\""
            );
        }
        if style.turn_deg != 0.0 {
            let _ =
                write!(self.body, " transform=\"rotate({} {} {})\"", n(style.turn_deg), n(x), n(y));
        }
        let _ = writeln!(self.body, ">{}</text>", escape(text));
    }

    /// The picture as one SVG document.
    #[must_use]
    pub fn finish(self, title: &str) -> String {
        let (w, h) = (n(self.width), n(self.height));
        let defs = if self.defs.is_empty() {
            String::new()
        } else {
            format!("<defs>\n{}</defs>\n", self.defs)
        };
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" \
             viewBox=\"0 0 {w} {h}\" font-family=\"{}, sans-serif\">\n<title>{}</title>\n{defs}\
             <rect width=\"{w}\" height=\"{h}\" fill=\"#ffffff\"/>\n{}</svg>\n",
            quoted_family(),
            escape(title),
            self.body
        )
    }
}

fn quoted_family() -> String {
    format!("'{}'", font::FAMILY)
}

/// The `d` of a path along `points`.
#[must_use]
pub fn path_data(points: &[(f64, f64)], closed: bool) -> String {
    let mut d = String::new();
    for (i, &(x, y)) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if i == 0 { "M" } else { "L" }, n(x), n(y));
    }
    if closed {
        d.push('Z');
    }
    d
}

/// A number with at most two decimals, without trailing zeros; anything not finite is 0.
#[must_use]
pub fn n(x: f64) -> String {
    if !x.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{x:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text made harmless in markup; characters that XML forbids are left out.
#[must_use]
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// Bytes as base64 (RFC 4648), for pictures inside the picture.
#[must_use]
pub fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let byte = |i: usize| u32::from(chunk.get(i).copied().unwrap_or(0));
        let word = byte(0) << 16 | byte(1) << 8 | byte(2);
        for i in 0..4 {
            if i <= chunk.len() {
                out.push(char::from(LETTERS[(word >> (18 - 6 * i) & 63) as usize]));
            } else {
                out.push('=');
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_numbers_are_short_and_never_odd() {
        for (x, text) in [
            (1.0, "1"),
            (0.126, "0.13"),
            (-0.001, "0"),
            (f64::NAN, "0"),
            (f64::INFINITY, "0"),
            (120.5, "120.5"),
            (-3.25, "-3.25"),
            (100.0, "100"),
        ] {
            assert_eq!(n(x), text);
        }
    }

    #[test]
    fn val_base64_is_that_of_rfc_4648() {
        // Test vectors of RFC 4648, section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn prop_hostile_text_still_parses() {
        let mut svg = Svg::new(50.0, 50.0);
        svg.text(1.0, 20.0, "<b> & \"q\" 'a' \u{0} \u{1b}[31m", TextStyle::default());
        let picture = svg.finish("</title><script>");
        assert!(!picture.contains("<script>"));
        assert!(crate::report::png::parse(&picture).is_ok(), "{picture}");
    }
}
