//! The brief laid out on paper: pages as SVG, in points.
//!
//! The head and the plan take the page's width, everything after them flows down two columns and
//! on to the next page. Every page carries the caution, the stamp and its number.

use super::{Block, Line, Sheet, Stretch, plan_key, short};
use crate::report::{
    font, marks, stamp,
    svg::{MARK, Svg, TextStyle, n},
};

/// What it is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8½ × 11 in (ANSI A).
    Letter,
}

impl Paper {
    /// Width and height, points.
    #[must_use]
    pub fn size_pt(self) -> (f64, f64) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// White edge round a page, pt: what desk printers leave white anyway, and a punch's width.
const EDGE: f64 = 30.0;
/// Between the columns, pt.
const GUTTER: f64 = 18.0;
/// Height of the foot of each page, pt.
const FOOT: f64 = 20.0;
/// Text, pt.
const TEXT: f64 = 8.0;
/// Notes, pt.
const SMALL: f64 = 6.4;
/// Line height over text size.
const LEADING: f64 = 1.22;
/// Height of the plan over its width.
const PLAN_SHAPE: f64 = 0.5;
/// The plan is drawn at this many px a point, so that its letters fit the page's.
const PLAN_PX: f64 = 1.5;

/// The pages. `plan` draws the plan's SVG document at a width and height in px.
#[must_use]
pub fn pages(sheet: &Sheet, paper: Paper, plan: &dyn Fn((f64, f64)) -> String) -> Vec<String> {
    let (width, height) = paper.size_pt();
    let mut flow = Flow::new(width, height);
    head(&mut flow, sheet, plan);
    for section in &sheet.sections {
        flow.heading(&section.title);
        let mut blocks = section.blocks.iter().peekable();
        while let Some(block) = blocks.next() {
            flow.block(block, blocks.peek().is_some());
        }
    }
    flow.heading("Where the numbers come from");
    for (i, text) in sheet.sources.texts().iter().enumerate() {
        let line = Line::new().plain(text.as_str());
        flow.paragraph(&line, SMALL, 14.0, Lead::Number(i + 1));
    }
    flow.finish(sheet)
}

/// Title, caution, stamp and plan, over the whole width of the first page.
fn head(flow: &mut Flow, sheet: &Sheet, plan: &dyn Fn((f64, f64)) -> String) {
    let width = flow.width - 2.0 * EDGE;
    let svg = &mut flow.page;
    let mut y = EDGE + 15.0;
    let title = font::wrap(&sheet.title, 17.0, true, width);
    for line in title {
        svg.text(EDGE, y, &line, TextStyle { size: 17.0, bold: true, ..TextStyle::default() });
        y += 20.0;
    }
    let [caution, made] = sheet.under_title();
    y -= 4.0;
    let top = y - 6.0;
    for line in font::wrap(&caution, TEXT + 0.6, true, width - 12.0) {
        let style = TextStyle { size: TEXT + 0.6, bold: true, ..TextStyle::default() };
        svg.text(EDGE + 6.0, y + 5.0, &line, style);
        y += 11.5;
    }
    svg.element(
        "rect",
        format_args!(
            "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"{}\" \
             stroke-width=\"1.2\"",
            n(EDGE),
            n(top),
            n(width),
            n(y - top),
            marks::ALARM
        ),
    );
    y += 10.0;
    for line in font::wrap(&made, SMALL + 0.4, false, width) {
        let style = TextStyle { size: SMALL + 0.4, fill: marks::SOFT_INK, ..TextStyle::default() };
        svg.text(EDGE, y, &line, style);
        y += 9.5;
    }
    let plan_height = PLAN_SHAPE * width;
    let drawn = plan((PLAN_PX * width, PLAN_PX * plan_height));
    svg.place(&drawn, (EDGE, y - 2.0), 1.0 / PLAN_PX);
    svg.element(
        "rect",
        format_args!(
            "x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"{}\" \
             stroke-width=\"0.9\"",
            n(EDGE),
            n(y - 2.0),
            n(width),
            n(plan_height),
            marks::INK
        ),
    );
    y += plan_height + 3.0;
    let scale = 0.62;
    let (_, key_height) = plan_key::key(width / scale);
    svg.place(&plan_key::picture(width / scale), (EDGE, y), scale);
    y += scale * key_height + 7.0;
    for line in font::wrap(&sheet.plan_words, SMALL + 0.4, false, width) {
        let style = TextStyle { size: SMALL + 0.4, fill: marks::SOFT_INK, ..TextStyle::default() };
        svg.text(EDGE, y, &line, style);
        y += 8.6;
    }
    flow.start(y - 6.0);
}

/// What stands before a paragraph's first line.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lead {
    Nothing,
    Bullet,
    Box,
    Number(usize),
}

/// A word, or a mark that sticks to the word before it.
struct Word {
    text: String,
    bold: bool,
    mark: bool,
    /// A space stands before it.
    spaced: bool,
}

/// Pages being filled.
struct Flow {
    width: f64,
    height: f64,
    page: Svg,
    done: Vec<Svg>,
    /// Which column, 0 or 1.
    column: usize,
    /// Where the columns of this page begin.
    top: f64,
    y: f64,
}

impl Flow {
    fn new(width: f64, height: f64) -> Self {
        let page = Svg::new(width, height);
        Self { width, height, page, done: Vec::new(), column: 0, top: EDGE, y: EDGE }
    }

    fn start(&mut self, y: f64) {
        (self.top, self.y, self.column) = (y, y, 0);
    }

    fn column_width(&self) -> f64 {
        (self.width - 2.0 * EDGE - GUTTER) / 2.0
    }

    fn left(&self) -> f64 {
        EDGE + self.column as f64 * (self.column_width() + GUTTER)
    }

    fn bottom(&self) -> f64 {
        self.height - EDGE - FOOT
    }

    /// Goes on in the next column or page unless so much fits here.
    fn need(&mut self, height: f64) {
        if self.y + height <= self.bottom() || self.y <= self.top {
            return;
        }
        if self.column == 0 {
            self.column = 1;
        } else {
            let full = std::mem::replace(&mut self.page, Svg::new(self.width, self.height));
            self.done.push(full);
            self.column = 0;
            self.top = EDGE;
        }
        self.y = self.top;
    }

    fn heading(&mut self, text: &str) {
        // Never alone at the foot of a column.
        self.need(40.0);
        if self.y > self.top {
            self.y += 3.5;
        }
        self.y += 11.0;
        let style = TextStyle { size: 10.6, bold: true, ..TextStyle::default() };
        self.page.text(self.left(), self.y, text, style);
        self.page.element(
            "path",
            format_args!(
                "d=\"M{} {}h{}\" stroke=\"{}\" stroke-width=\"0.9\"",
                n(self.left()),
                n(self.y + 3.0),
                n(self.column_width()),
                marks::INK
            ),
        );
        self.y += 5.5;
    }

    fn block(&mut self, block: &Block, more: bool) {
        match block {
            Block::Head(line) => {
                // Kept together with what it is the head of.
                self.need(if more { 4.5 } else { 2.0 } * TEXT * LEADING);
                self.y += 2.5;
                let from = self.y;
                let column = (self.column, self.done.len());
                self.paragraph(line, TEXT + 0.3, 6.0, Lead::Nothing);
                if column == (self.column, self.done.len()) {
                    self.page.element(
                        "path",
                        format_args!(
                            "d=\"M{} {}V{}\" stroke=\"{}\" stroke-width=\"2.4\"",
                            n(self.left() + 1.2),
                            n(from + 1.5),
                            n(self.y),
                            marks::FACE
                        ),
                    );
                }
            }
            Block::Text(line) => self.paragraph(line, TEXT, 0.0, Lead::Nothing),
            Block::Item(line) => self.paragraph(line, TEXT, 9.0, Lead::Bullet),
            Block::Tick(line) => self.paragraph(line, TEXT, 11.0, Lead::Box),
            Block::Blank(name) => self.blank(name),
        }
    }

    fn blank(&mut self, name: &str) {
        self.need(14.0);
        self.y += 12.0;
        let left = self.left();
        self.page.text(left, self.y, name, TextStyle { size: TEXT, ..TextStyle::default() });
        let from = left + font::text_width(name, TEXT, false) + 5.0;
        self.page.element(
            "path",
            format_args!(
                "d=\"M{} {}H{}\" stroke=\"{}\" stroke-width=\"0.6\"",
                n(from),
                n(self.y + 2.0),
                n(left + self.column_width()),
                marks::INK
            ),
        );
        self.y += 2.0;
    }

    /// A line of any length, wrapped `indent` pt in, after what leads it.
    fn paragraph(&mut self, line: &Line, size: f64, indent: f64, lead: Lead) {
        let step = LEADING * size;
        let rows = wrapped(line, size, self.column_width() - indent);
        // No single line is left behind, where there are more.
        self.need(if rows.len() > 1 { 2.0 * step } else { step });
        for (i, row) in rows.iter().enumerate() {
            self.need(step);
            self.y += step;
            if i == 0 {
                self.lead(lead, size);
            }
            let left = self.left() + indent;
            self.row(row, size, left);
        }
        self.y += 0.16 * size;
    }

    fn lead(&mut self, lead: Lead, size: f64) {
        let (left, y) = (self.left(), self.y);
        match lead {
            Lead::Nothing => {}
            Lead::Bullet => self.page.element(
                "circle",
                format_args!(
                    "cx=\"{}\" cy=\"{}\" r=\"1.3\" fill=\"{}\"",
                    n(left + 3.0),
                    n(y - 0.3 * size),
                    marks::INK
                ),
            ),
            Lead::Box => self.page.element(
                "rect",
                format_args!(
                    "x=\"{}\" y=\"{}\" width=\"6.2\" height=\"6.2\" fill=\"none\" stroke=\"{}\" \
                     stroke-width=\"0.8\"",
                    n(left + 0.5),
                    n(y - 6.2),
                    marks::INK
                ),
            ),
            Lead::Number(number) => self.page.text(
                left,
                y,
                &format!("{number}."),
                TextStyle { size, ..TextStyle::default() },
            ),
        }
    }

    /// Writes the words of one row as one text, so that the renderer's own widths count.
    fn row(&mut self, row: &[Word], size: f64, left: f64) {
        let mut parts: Vec<(String, bool, Option<f64>)> = Vec::new();
        for (i, word) in row.iter().enumerate() {
            let space = if word.spaced && i > 0 { " " } else { "" };
            let text = format!("{space}{}", word.text);
            let mark = word.mark.then_some(0.32 * size);
            match parts.last_mut() {
                Some((before, bold, m)) if *bold == word.bold && *m == mark => {
                    before.push_str(&text)
                }
                _ => parts.push((text, word.bold, mark)),
            }
        }
        self.page.line((left, self.y), size, &parts);
    }

    fn finish(mut self, sheet: &Sheet) -> Vec<String> {
        self.done.push(self.page);
        let count = self.done.len();
        let (width, height) = (self.width, self.height);
        let stamp = &sheet.stamp;
        let pages = self.done.into_iter().enumerate().map(|(i, mut page)| {
            let y = height - EDGE - 4.0;
            let bold = TextStyle { size: SMALL + 0.3, bold: true, ..TextStyle::default() };
            page.text(EDGE, y, stamp::NOT_COMPARED, bold);
            let small = TextStyle { size: SMALL, fill: marks::SOFT_INK, ..TextStyle::default() };
            let line = format!(
                "{} · scene {} · law {} · seed {} · {} · page {} of {count}",
                sheet.title,
                short(&stamp.scene_hash),
                stamp.law,
                stamp.seed,
                stamp.date,
                i + 1
            );
            for (row, text) in
                font::wrap(&line, SMALL, false, width - 2.0 * EDGE).iter().take(1).enumerate()
            {
                page.text(EDGE, y + 9.0 + 8.0 * row as f64, text, small);
            }
            page.finish(&format!("{}, page {} of {count}", sheet.title, i + 1))
        });
        pages.collect()
    }
}

/// A line's words in rows no wider than `width`; a single word that is wider stays whole.
fn wrapped(line: &Line, size: f64, width: f64) -> Vec<Vec<Word>> {
    let mut rows: Vec<Vec<Word>> = vec![Vec::new()];
    let mut x = 0.0;
    for word in words(line) {
        let shown = if word.mark { MARK * size } else { size };
        let wide = font::text_width(&word.text, shown, word.bold);
        let space = if word.spaced { font::text_width(" ", size, false) } else { 0.0 };
        let Some(row) = rows.last_mut() else { break };
        if word.spaced && x > 0.0 && x + space + wide > width {
            x = wide;
            rows.push(vec![word]);
        } else {
            x += if row.is_empty() { wide } else { space + wide };
            row.push(word);
        }
    }
    rows
}

fn words(line: &Line) -> Vec<Word> {
    let mut found: Vec<Word> = Vec::new();
    let mut spaced = false;
    for stretch in &line.0 {
        let (text, bold) = match stretch {
            Stretch::Plain(text) => (text.as_str(), false),
            Stretch::Strong(text) => (text.as_str(), true),
            Stretch::Mark(number) => {
                let after = found.last().is_some_and(|w| w.mark);
                let text = if after { format!(",{number}") } else { number.to_string() };
                found.push(Word { text, bold: false, mark: true, spaced: false });
                continue;
            }
        };
        if text.is_empty() {
            continue;
        }
        spaced |= text.starts_with(' ');
        for part in text.split(' ').filter(|p| !p.is_empty()) {
            let text = part.to_owned();
            found.push(Word { text, bold, mark: false, spaced: spaced && !found.is_empty() });
            spaced = true;
        }
        spaced = text.ends_with(' ');
    }
    found
}
