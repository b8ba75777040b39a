//! The printed sheet of a lesson taken in a room: what was asked, what the room said, what the drops
//! did, the lesson's words and its cautions. One HTML file, no network and no script.

use std::fmt::Write as _;

use super::{
    bank::Bank,
    hands::hands,
    stamp::{NOT_COMPARED, PLANNING_AID, Stamp},
    svg::escape,
};
use crate::{
    lesson::{Facts, Form, Found, Terms, fill, form, words::NO_PERMISSION},
    scene::model::LessonSpec,
};

const STYLE: &str = include_str!("brief/brief.css");
/// What a room's table needs beside the brief's style.
const TABLE: &str = "table { border-collapse: collapse; width: 100%; margin: 6px 0; }\nth, td { \
                     text-align: left; border: 1px solid #1c2321; padding: 3px 8px; }\ntd.n, th.n { \
                     text-align: right; white-space: nowrap; }\n@media print { \
                     figure > svg { height: auto; width: 100%; } }\n";

/// What a sheet shows.
#[derive(Clone, Debug)]
pub struct Sheet<'a> {
    /// Title of the course; empty for a lesson alone.
    pub course: &'a str,
    /// The lesson.
    pub lesson: &'a LessonSpec,
    /// Where the numbers come from.
    pub stamp: &'a Stamp,
    /// Units and azimuths.
    pub terms: &'a Terms,
    /// The lesson's questions in order, with what was said and found; none before the reveal, and
    /// then there are lines for a pen.
    pub found: &'a [Found],
    /// The bank, under marks.
    pub bank: &'a Bank,
    /// The facts of the run; nothing before the reveal, and then no words on why.
    pub facts: Option<&'a Facts>,
    /// The scene says that it is invented.
    pub invented: bool,
}

/// The sheet as one HTML document.
#[must_use]
pub fn html(sheet: &Sheet<'_>) -> String {
    let lesson = sheet.lesson;
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Lesson: \
         {0}</title>\n<style>\n{STYLE}{TABLE}</style>\n</head>\n<body>\n<header>\n<h1>{0}</h1>\n",
        escape(&lesson.title)
    );
    let mut made = sheet.stamp.line();
    if !sheet.course.is_empty() {
        made = format!("{} · {made}", sheet.course);
    }
    if sheet.invented {
        made.push_str(" · an invented place");
    }
    let _ = writeln!(
        out,
        "<p class=\"caution\">{}</p>\n<p class=\"made\">{}</p>\n</header>\n<main>",
        escape(&format!("{NOT_COMPARED} {PLANNING_AID} {NO_PERMISSION}")),
        escape(&made)
    );
    section(&mut out, "about", "What it is about", &[&lesson.about, &lesson.situation]);
    if !lesson.hidden.is_empty() {
        let _ = writeln!(out, "<section id=\"known\">\n<h2>What can be known on site</h2>\n<ul>");
        for hidden in &lesson.hidden {
            let found = if sheet.facts.is_some() {
                format!(" Found: {}.", hidden.finds)
            } else {
                String::new()
            };
            let line = format!("{}, by {}.{found}", hidden.what, hidden.by);
            let _ = writeln!(out, "<li>{}</li>", escape(&line));
        }
        out.push_str("</ul>\n</section>\n");
    }
    for (i, question) in lesson.questions.iter().enumerate() {
        let case = lesson.cases.get(question.of).filter(|_| question.of > 0);
        let of = case.map(|case| format!(" ({})", case.label)).unwrap_or_default();
        let _ = writeln!(
            out,
            "<section id=\"q{0}\">\n<h2>{0}. {1}{2}</h2>",
            i + 1,
            escape(&question.ask),
            escape(&of)
        );
        match sheet.found.get(i) {
            None => lines_for_a_pen(&mut out, &form(lesson, question)),
            Some(found) => {
                room(&mut out, sheet, found);
                out.push_str("<h3>What happened</h3>\n<ul>\n");
                for line in found.happened(sheet.terms) {
                    let _ = writeln!(out, "<li>{}</li>", escape(&line));
                }
                out.push_str("</ul>\n");
            }
        }
        out.push_str("</section>\n");
    }
    if let Some(facts) = sheet.facts {
        let [why, next] = [&lesson.why, &lesson.try_next].map(|text| fill(text, lesson, facts));
        section(&mut out, "why", "Why, in this very run", &[&why]);
        if !next.is_empty() {
            section(&mut out, "next", "Change one thing", &[&next]);
        }
    }
    let _ = writeln!(out, "<section id=\"cautions\">\n<h2>Cautions</h2>\n<ul>");
    for caution in lesson.cautions.iter().map(String::as_str).chain([NO_PERMISSION, PLANNING_AID]) {
        let _ = writeln!(out, "<li>{}</li>", escape(caution));
    }
    let _ = writeln!(
        out,
        "</ul>\n</section>\n<p class=\"hash\">Scene {}, SHA-256 {}; law {}; seed {}; {}.</p>\n</main>\n\
         </body>\n</html>",
        escape(&sheet.stamp.scene),
        escape(&sheet.stamp.scene_hash),
        escape(&sheet.stamp.law),
        sheet.stamp.seed,
        escape(&sheet.stamp.date)
    );
    out
}

fn section(out: &mut String, id: &str, title: &str, texts: &[&str]) {
    let _ = writeln!(out, "<section id=\"{id}\">\n<h2>{}</h2>", escape(title));
    for text in texts.iter().flat_map(|text| text.split("\n\n")).filter(|text| !text.is_empty()) {
        let _ = writeln!(out, "<p>{}</p>", escape(text));
    }
    out.push_str("</section>\n");
}

fn lines_for_a_pen(out: &mut String, form: &Form) {
    match form {
        Form::Options(options) => {
            out.push_str("<dl>\n");
            for option in options {
                let _ = writeln!(out, "<dt>{}, hands and how sure</dt><dd></dd>", escape(option));
            }
            out.push_str("</dl>\n");
        }
        _ => {
            let _ = writeln!(
                out,
                "<dl><dt>Answers and hands: {}</dt><dd></dd><dd></dd></dl>",
                escape(&form.allowed())
            );
        }
    }
}

/// The room's answers as a table, as a picture with the drops, and in sentences.
fn room(out: &mut String, sheet: &Sheet<'_>, found: &Found) {
    let tally = &found.tally;
    let Some(truth) = found.truth.as_ref().filter(|_| tally.count() > 0) else { return };
    let spread = tally.spread(truth);
    out.push_str(
        "<table>\n<tr><th>The room said</th><th class=\"n\">hands</th><th class=\"n\">score, less is \
         nearer</th></tr>\n",
    );
    for (hands, score) in tally.hands.iter().zip(&spread.scores) {
        let said = hands.answer.said(&found.form, sheet.terms);
        let score =
            score.map(|score| found.score_shown(score.value, sheet.terms)).unwrap_or_default();
        let _ = writeln!(
            out,
            "<tr><td>{}</td><td class=\"n\">{}</td><td class=\"n\">{score}</td></tr>",
            escape(&said),
            hands.hands
        );
    }
    out.push_str("</table>\n");
    if let Some(picture) = hands(found, sheet.terms, sheet.bank) {
        let _ = writeln!(out, "<figure>\n{picture}</figure>");
    }
    for line in found.room(sheet.terms) {
        let _ = writeln!(out, "<p>{}</p>", escape(&line));
    }
}
