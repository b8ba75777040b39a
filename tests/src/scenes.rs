//! Whole scenes that nobody would write and everybody could: every word of the file, drawn by key.
//!
//! A scene is a function of its number alone. It is meant to be valid: what `check` refuses of it
//! is a mistake here. Everything stands within 20 m of the stump, because beyond the known ground
//! a scene is rightly refused.

mod jobs;
mod pen;
mod sites;
mod things;

use pen::Pen;

/// A scene as written, and the raster that lies beside it, if it names one.
#[derive(Clone, Debug)]
pub struct Written {
    /// The scene file.
    pub text: String,
    /// Name and text of the raster it names.
    pub beside: Option<(String, String)>,
}

/// What the parts of a scene need to know of each other.
struct Sketch {
    /// Azimuth of the fall line, degrees.
    down_deg: f64,
    /// The transects, each with the number of its legs; none on a grid.
    lines: Vec<(String, usize)>,
    /// The stump in the terrain's own coordinates.
    stump: Option<[f64; 2]>,
    /// Words that the scene's own ids are made of.
    ids: usize,
}

impl Sketch {
    fn id(&mut self, word: &str) -> String {
        self.ids += 1;
        format!("{word}-{}", self.ids)
    }
}

/// The scene with this number.
#[must_use]
pub fn scene(number: u64) -> Written {
    let mut pen = Pen::new(number);
    let mut sketch =
        Sketch { down_deg: pen.within(0.0, 360.0).round(), lines: Vec::new(), stump: None, ids: 0 };
    let units = pen.units_word();
    let doubt = match pen.pick(&["", "Exactly", "Measured", "Paced", "Eyed"]) {
        "" => String::new(),
        word => format!("    doubt: {word},\n"),
    };
    let (site, beside) = sites::site(&mut pen, &mut sketch);
    let targets = things::targets(&mut pen, &mut sketch);
    let people = things::people(&mut pen, &sketch);
    let aids = things::aids(&mut pen, &mut sketch);
    let (tree, cuts, pulled) = jobs::tree_and_cuts(&mut pen, &mut sketch);
    let lines = jobs::lines(&mut pen, &mut sketch, pulled);
    let text = format!(
        "(\n    version: 1,\n    name: \"Drawn {number}\",\n    invented: true,\n    units: {units},\n\
         {doubt}    site: {site},\n    tree: {tree},\n    targets: [{targets}],\n{people}    \
         aids: [{aids}],\n    cuts: [{cuts}],\n    lines: [{lines}],\n)\n"
    );
    Written { text, beside }
}
