//! The brief as one HTML file: nothing else is needed, no network and no script.
//!
//! A phone reads it as one column; paper, A4 or Letter, takes it in two. The plan is drawn inside
//! the file.

use std::fmt::Write as _;

use super::{Block, Line, Section, Sheet, Stretch, plan_key, stamped};
use crate::report::svg::escape;

/// Width of the strip below the plan, px: a phone's.
const KEY_PX: f64 = 380.0;

const STYLE: &str = include_str!("brief.css");

/// The page. `plan` is the plan's own SVG document.
#[must_use]
pub fn html(sheet: &Sheet, plan: &str) -> String {
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Brief: \
         {0}</title>\n<meta name=\"keywords\" content=\"{1}\">\n<style>\n{STYLE}</style>\n\
         </head>\n<body>\n<header>\n<h1>{0}</h1>\n",
        escape(&sheet.title),
        escape(&stamped::words(&sheet.stamp))
    );
    let [caution, made] = sheet.under_title();
    let _ = writeln!(
        out,
        "<p class=\"caution\">{}</p>\n<p class=\"made\">{}</p>\n</header>",
        escape(&caution),
        escape(&made)
    );
    let _ = writeln!(
        out,
        "<figure>\n{}\n<figcaption>{}\n<p class=\"made\">{}</p></figcaption>\n</figure>\n<main>",
        picture(plan),
        picture(&plan_key::picture(KEY_PX)),
        escape(&sheet.plan_words)
    );
    for part in &sheet.sections {
        section(&mut out, part);
    }
    out.push_str("<section id=\"sources\">\n<h2>Where the numbers come from</h2>\n<ol>\n");
    for (i, text) in sheet.sources.texts().iter().enumerate() {
        let _ = writeln!(out, "<li id=\"n{}\">{}</li>", i + 1, escape(text));
    }
    let stamp = &sheet.stamp;
    let _ = writeln!(
        out,
        "</ol>\n<p class=\"hash\">Scene {}, SHA-256 {}; law {}; seed {}; {}.</p>\n</section>\n\
         </main>\n</body>\n</html>",
        escape(&stamp.scene),
        escape(&stamp.scene_hash),
        escape(&stamp.law),
        stamp.seed,
        escape(&stamp.date)
    );
    out
}

/// A picture that takes the width it is given.
fn picture(svg: &str) -> &str {
    svg.trim_end()
}

/// What a block is gathered in, with its neighbours of one kind.
fn wrapper(block: &Block) -> Option<(&'static str, &'static str)> {
    match block {
        Block::Head(_) | Block::Text(_) => None,
        Block::Item(_) => Some(("<ul>", "</ul>")),
        Block::Tick(_) => Some(("<ul class=\"ticks\">", "</ul>")),
        Block::Blank(_) => Some(("<dl>", "</dl>")),
    }
}

fn section(out: &mut String, section: &Section) {
    let _ = writeln!(out, "<section id=\"{}\">\n<h2>{}</h2>", section.id, escape(&section.title));
    let mut open: Option<(&str, &str)> = None;
    for block in &section.blocks {
        let wanted = wrapper(block);
        if open != wanted {
            if let Some((_, close)) = open {
                let _ = writeln!(out, "{close}");
            }
            if let Some((begin, _)) = wanted {
                let _ = writeln!(out, "{begin}");
            }
            open = wanted;
        }
        let _ = match block {
            Block::Head(line) => writeln!(out, "<h3>{}</h3>", inline(line)),
            Block::Text(line) => writeln!(out, "<p>{}</p>", inline(line)),
            Block::Item(line) | Block::Tick(line) => writeln!(out, "<li>{}</li>", inline(line)),
            Block::Blank(name) => writeln!(out, "<dt>{}</dt><dd></dd>", escape(name)),
        };
    }
    if let Some((_, close)) = open {
        let _ = writeln!(out, "{close}");
    }
    out.push_str("</section>\n");
}

fn inline(line: &Line) -> String {
    let mut out = String::new();
    let mut after_mark = false;
    for stretch in &line.0 {
        let _ = match stretch {
            Stretch::Plain(text) => write!(out, "{}", escape(text)),
            Stretch::Strong(text) => write!(out, "<strong>{}</strong>", escape(text)),
            Stretch::Mark(n) => {
                let comma = if after_mark { "," } else { "" };
                write!(out, "<sup>{comma}<a href=\"#n{n}\">{n}</a></sup>")
            }
        };
        after_mark = matches!(stretch, Stretch::Mark(_));
    }
    out
}
