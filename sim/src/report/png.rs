//! SVG to PNG with the embedded font and nothing of the machine's.

use std::sync::Arc;

use resvg::{tiny_skia, usvg};

use super::font;

/// Why a picture could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// The SVG could not be read.
    #[error("the picture's SVG could not be read: {0}")]
    Svg(String),
    /// The picture has no size, or one too large for memory.
    #[error("a picture of {width} × {height} px cannot be made")]
    Size {
        /// Width, px.
        width: u32,
        /// Height, px.
        height: u32,
    },
    /// The PNG could not be written.
    #[error("the picture's PNG could not be written: {0}")]
    Png(String),
}

/// Reads an SVG with the embedded font.
///
/// # Errors
/// The text is no SVG.
pub(crate) fn parse(svg: &str) -> Result<usvg::Tree, PictureError> {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(font::REGULAR.to_vec());
    fonts.load_font_data(font::SEMIBOLD.to_vec());
    fonts.set_sans_serif_family(font::FAMILY);
    let options = usvg::Options {
        font_family: font::FAMILY.to_owned(),
        fontdb: Arc::new(fonts),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(svg, &options).map_err(|e| PictureError::Svg(e.to_string()))
}

/// Draws an SVG as PNG, `scale` device px to one px of the SVG.
///
/// # Errors
/// The SVG can't be read, its size can't be drawn, or the PNG can't be written.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, PictureError> {
    drawn(svg, scale)?.encode_png().map_err(|e| PictureError::Png(e.to_string()))
}

/// A picture as rows of red, green, blue and alpha from the top, alpha not multiplied in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pixels {
    /// Width, px.
    pub width: u32,
    /// Height, px.
    pub height: u32,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
}

/// Draws an SVG as pixels, `scale` device px to one px of the SVG.
///
/// # Errors
/// The SVG can't be read, or its size can't be drawn.
pub fn pixels(svg: &str, scale: f32) -> Result<Pixels, PictureError> {
    let pixels = drawn(svg, scale)?;
    let channels = |p: &tiny_skia::PremultipliedColorU8| {
        let plain = p.demultiply();
        [plain.red(), plain.green(), plain.blue(), plain.alpha()]
    };
    Ok(Pixels {
        width: pixels.width(),
        height: pixels.height(),
        rgba: pixels.pixels().iter().flat_map(channels).collect(),
    })
}

fn drawn(svg: &str, scale: f32) -> Result<tiny_skia::Pixmap, PictureError> {
    let tree = parse(svg)?;
    let width = (tree.size().width() * scale).ceil() as u32;
    let height = (tree.size().height() * scale).ceil() as u32;
    let mut pixels =
        tiny_skia::Pixmap::new(width, height).ok_or(PictureError::Size { width, height })?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
    Ok(pixels)
}

/// Rows of grey values from the top, `width` a row, as PNG.
///
/// # Errors
/// `grey` isn't a whole number of rows, or the PNG can't be written.
pub(crate) fn grey_png(width: u32, grey: &[u8]) -> Result<Vec<u8>, PictureError> {
    let height = grey.len() as u32 / width.max(1);
    let size = PictureError::Size { width, height };
    let Some(mut pixels) = tiny_skia::Pixmap::new(width, height) else { return Err(size) };
    if (width * height) as usize != grey.len() {
        return Err(size);
    }
    for (pixel, &g) in pixels.pixels_mut().iter_mut().zip(grey) {
        *pixel = tiny_skia::ColorU8::from_rgba(g, g, g, 255).premultiply();
    }
    pixels.encode_png().map_err(|e| PictureError::Png(e.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_the_same_svg_gives_the_same_bytes_and_text_leaves_ink() {
        let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='80' height='30'>\
                   <text x='5' y='20' font-size='16'>stump</text></svg>";
        let once = png(svg, 2.0).expect("drawn");
        assert_eq!(once, png(svg, 2.0).expect("drawn"));
        let pixels = tiny_skia::Pixmap::decode_png(&once).expect("a PNG");
        assert_eq!((pixels.width(), pixels.height()), (160, 60));
        assert!(pixels.pixels().iter().filter(|p| p.alpha() > 128).count() > 200);
        let plain = super::pixels(svg, 2.0).expect("drawn");
        assert_eq!((plain.width, plain.height, plain.rgba.len()), (160, 60, 160 * 60 * 4));
        assert!(plain.rgba.chunks_exact(4).filter(|p| p[3] > 128).count() > 200);
    }

    #[test]
    fn prop_what_is_no_picture_is_an_error() {
        assert!(matches!(png("<svg", 1.0), Err(PictureError::Svg(_))));
    }
}
