//! Stored pictures against new ones: how much of either is not found in the other.
//!
//! Drivers differ by which pixels a thin line covers and how they shade an edge, not by what is
//! drawn. So means over 2 × 2 pixels are compared, and a place counts as found where the other
//! picture has a place like it no farther than a pixel away; a line that is missing, or a thing
//! that was moved, is found nowhere.

use std::{
    fmt::Write,
    fs,
    io::{BufReader, Cursor},
    path::Path,
};

/// Places are alike if no channel differs by more than this, of 255.
pub const TOLERANCE: i32 = 24;
/// How far off a place like it may be, pixels.
const REACH: usize = 1;
/// Share of places not found in the other picture that is still the same picture.
pub const MOST: f64 = 0.0006;

/// A picture in RGB.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels across.
    pub width: usize,
    /// Pixels down.
    pub height: usize,
    /// Rows from the top, three bytes a pixel.
    pub rgb: Vec<u8>,
}

/// What differs between two pictures.
#[derive(Clone, Debug)]
pub struct Difference {
    /// Share of places that are not found in the other picture.
    pub share: f64,
    /// The stored picture, pale, with those places in red.
    pub drawn: Picture,
}

impl Picture {
    /// Reads a PNG of eight bits a channel.
    ///
    /// # Errors
    /// The file can't be read, or is another kind of picture.
    pub fn read(path: &Path) -> Result<Self, String> {
        let bytes = fs::read(path).map_err(|error| format!("{}: {error}", path.display()))?;
        Self::decode(&bytes).map_err(|error| format!("{}: {error}", path.display()))
    }

    fn decode(bytes: &[u8]) -> Result<Self, String> {
        let decoder = png::Decoder::new(BufReader::new(Cursor::new(bytes)));
        let mut reader = decoder.read_info().map_err(|error| error.to_string())?;
        let size = reader.output_buffer_size().ok_or("too large")?;
        let mut rgb = vec![0; size];
        let info = reader.next_frame(&mut rgb).map_err(|error| error.to_string())?;
        if (info.color_type, info.bit_depth) != (png::ColorType::Rgb, png::BitDepth::Eight) {
            return Err(format!(
                "read {:?} of {:?}, allowed is RGB of eight bits",
                info.color_type, info.bit_depth
            ));
        }
        rgb.truncate(info.buffer_size());
        Ok(Self { width: info.width as usize, height: info.height as usize, rgb })
    }

    /// Writes a PNG.
    ///
    /// # Errors
    /// The file can't be written.
    pub fn write(&self, path: &Path) -> Result<(), String> {
        let failed = |error: &dyn std::fmt::Display| format!("{}: {error}", path.display());
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, self.width as u32, self.height as u32);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        let mut writer = encoder.write_header().map_err(|error| failed(&error))?;
        writer.write_image_data(&self.rgb).map_err(|error| failed(&error))?;
        writer.finish().map_err(|error| failed(&error))?;
        fs::write(path, bytes).map_err(|error| failed(&error))
    }

    fn pixel(&self, x: usize, y: usize) -> [i32; 3] {
        let at = 3 * (y * self.width + x);
        [0, 1, 2].map(|k| self.rgb.get(at + k).copied().map_or(0, i32::from))
    }

    /// Means over 2 × 2 pixels, one for each inner corner of the picture.
    fn means(&self) -> Means {
        let (width, height) = (self.width.saturating_sub(1), self.height.saturating_sub(1));
        let at = |x: usize, y: usize| {
            let four = [(0, 0), (1, 0), (0, 1), (1, 1)].map(|(i, j)| self.pixel(x + i, y + j));
            [0, 1, 2].map(|k| four.iter().map(|pixel| pixel[k]).sum::<i32>() / 4)
        };
        let rows = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
        Means { width, height, colours: rows.map(|(x, y)| at(x, y)).collect() }
    }
}

struct Means {
    width: usize,
    height: usize,
    colours: Vec<[i32; 3]>,
}

impl Means {
    fn at(&self, x: usize, y: usize) -> [i32; 3] {
        self.colours.get(y * self.width + x).copied().unwrap_or_default()
    }

    /// True if there is a place like this colour next to here.
    fn has(&self, colour: [i32; 3], x: usize, y: usize) -> bool {
        let around = |at: usize, size: usize| at.saturating_sub(REACH)..(at + REACH + 1).min(size);
        around(y, self.height).any(|y| {
            around(x, self.width).any(|x| {
                let here = self.at(x, y);
                colour.iter().zip(here).all(|(a, b)| (a - b).abs() <= TOLERANCE)
            })
        })
    }
}

/// Compares two pictures.
///
/// # Errors
/// They are not of one size.
pub fn difference(stored: &Picture, new: &Picture) -> Result<Difference, String> {
    if (stored.width, stored.height) != (new.width, new.height) {
        return Err(format!(
            "{} x {} pixels are stored, {} x {} are new",
            stored.width, stored.height, new.width, new.height
        ));
    }
    let (a, b) = (stored.means(), new.means());
    let pale = |c: u8| 128 + c / 2;
    let mut drawn = Picture { rgb: stored.rgb.iter().copied().map(pale).collect(), ..*stored };
    let mut lost = 0;
    for y in 0..a.height {
        for x in 0..a.width {
            if b.has(a.at(x, y), x, y) && a.has(b.at(x, y), x, y) {
                continue;
            }
            lost += 1;
            let at = 3 * (y * stored.width + x);
            if let Some(pixel) = drawn.rgb.get_mut(at..at + 3) {
                pixel.copy_from_slice(&[210, 0, 30]);
            }
        }
    }
    let all = (a.width * a.height).max(1);
    Ok(Difference { share: f64::from(lost) / all as f64, drawn })
}

/// One picture of a page of failures.
#[derive(Clone, Debug)]
pub struct Failure {
    /// Its name.
    pub name: String,
    /// What is wrong.
    pub why: String,
    /// The pictures that there are, by what they are, each beside the page.
    pub pictures: Vec<(&'static str, String)>,
}

/// A page that shows what was stored, what came out and what differs, side by side.
#[must_use]
pub fn page(failures: &[Failure]) -> String {
    let mut page =
        "<!doctype html>\n<meta charset=\"utf-8\">\n<title>Pictures that differ</title>\n\
                    <style>body { font-family: sans-serif } figure { display: inline-block; \
                    margin: 4px } img { width: 32vw; image-rendering: pixelated }</style>\n"
            .to_owned();
    for Failure { name, why, pictures } in failures {
        let _ = writeln!(page, "<h2>{}</h2>\n<p>{}</p>", escaped(name), escaped(why));
        for (what, file) in pictures {
            let file = escaped(file);
            let _ = writeln!(
                page,
                "<figure><img src=\"{file}\" alt=\"{what}\"><figcaption>{what}</figcaption></figure>"
            );
        }
    }
    page
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bank of grey stripes with a line and a block on it.
    fn picture(line_y: Option<usize>, block: (usize, usize)) -> Picture {
        let (width, height) = (120, 80);
        let mut rgb = Vec::new();
        for y in 0..height {
            for x in 0..width {
                let on_block =
                    (block.0..block.0 + 9).contains(&x) && (block.1..block.1 + 5).contains(&y);
                rgb.extend(if on_block {
                    [140, 90, 40]
                } else if line_y == Some(y) && x > 20 {
                    [20, 60, 160]
                } else {
                    [180 + (y / 8) as u8, 190, 170]
                });
            }
        }
        Picture { width, height, rgb }
    }

    fn share(a: &Picture, b: &Picture) -> f64 {
        difference(a, b).expect("of one size").share
    }

    #[test]
    fn prop_what_a_driver_may_do_is_no_difference() {
        let stored = picture(Some(40), (30, 20));
        assert_eq!(share(&stored, &stored), 0.0);
        // A line in the next row, everything a little darker.
        assert_eq!(share(&stored, &picture(Some(41), (30, 20))), 0.0);
        let darker = stored.rgb.iter().map(|c| c.saturating_sub(12)).collect();
        assert_eq!(share(&stored, &Picture { rgb: darker, ..stored.clone() }), 0.0);
    }

    #[test]
    fn prop_what_is_missing_or_moved_is_a_difference_either_way() {
        let stored = picture(Some(40), (30, 20));
        for other in [
            picture(None, (30, 20)),
            picture(Some(46), (30, 20)),
            picture(Some(40), (36, 20)),
            picture(Some(40), (30, 25)),
        ] {
            let (there, back) = (share(&stored, &other), share(&other, &stored));
            assert!(there > 3.0 * MOST && there == back, "{there} {back}");
        }
    }

    #[test]
    fn prop_the_difference_is_drawn_where_it_is() {
        let (stored, new) = (picture(Some(40), (30, 20)), picture(None, (30, 20)));
        let drawn = difference(&stored, &new).unwrap().drawn;
        let is_red = |x, y| drawn.pixel(x, y) == [210, 0, 30];
        assert!(is_red(80, 40) && !is_red(80, 60) && !is_red(10, 40));
        let small = Picture { width: 2, height: 2, rgb: vec![0; 12] };
        assert!(difference(&stored, &small).unwrap_err().contains("120 x 80 pixels are stored"));
    }

    #[test]
    fn prop_pictures_come_back_from_files_and_others_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let (stored, file) = (picture(Some(40), (30, 20)), folder.path().join("bank.png"));
        stored.write(&file).unwrap();
        assert_eq!(Picture::read(&file), Ok(stored));
        fs::write(&file, b"no picture").unwrap();
        assert!(Picture::read(&file).unwrap_err().contains("bank.png"));
        assert!(Picture::read(&folder.path().join("none.png")).unwrap_err().contains("none.png"));
    }

    #[test]
    fn prop_the_page_shows_all_three_side_by_side() {
        let failure = Failure {
            name: "plan".to_owned(),
            why: "0.30 % differ & more".to_owned(),
            pictures: vec![("stored", "plan-stored.png".to_owned())],
        };
        let page = page(&[failure]);
        assert!(page.contains("<h2>plan</h2>") && page.contains("differ &amp; more"));
        assert!(page.contains("<img src=\"plan-stored.png\" alt=\"stored\">"));
    }
}
