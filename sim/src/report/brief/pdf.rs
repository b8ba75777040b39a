//! The brief's pages as a PDF whose text can be searched and copied.
//!
//! Pages are SVG; krilla writes them with the embedded font. Nothing of the machine or the clock is
//! in the file: the same sheet gives the same bytes.

use krilla::{Document, geom::Size, metadata::Metadata, page::PageSettings};
use krilla_svg::{SurfaceExt as _, SvgSettings};

use super::{Paper, Sheet, pages, stamped};
use crate::report::png::{PictureError, parse};

/// Why a PDF could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PdfError {
    /// A page could not be read as a picture.
    #[error(transparent)]
    Page(#[from] PictureError),
    /// The document could not be written.
    #[error("the PDF could not be written: {0}")]
    Write(String),
}

/// The brief as a PDF on this paper. `plan` draws the plan's SVG document at a width and height.
///
/// # Errors
/// A page could not be drawn or the document not be written.
pub fn pdf(
    sheet: &Sheet,
    paper: Paper,
    plan: &dyn Fn((f64, f64)) -> String,
) -> Result<Vec<u8>, PdfError> {
    let mut document = Document::new();
    document.set_metadata(
        Metadata::new()
            .title(format!("Brief: {}", sheet.title))
            .keywords(vec![stamped::words(&sheet.stamp)])
            .creator("tumblewood".to_owned())
            .language("en".to_owned()),
    );
    let (width, height) = paper.size_pt();
    let no_size = || PdfError::Write("a page without a size".to_owned());
    for page in pages(sheet, paper, plan) {
        let tree = parse(&page)?;
        let (w, h) = (width as f32, height as f32);
        let size = Size::from_wh(w, h).ok_or_else(no_size)?;
        let settings = PageSettings::from_wh(w, h).ok_or_else(no_size)?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| PdfError::Write("a page could not be drawn".to_owned()))?;
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|e| PdfError::Write(format!("{e:?}")))
}
