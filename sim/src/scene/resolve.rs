//! From the file's words to the core scene: SI, doubt, defaults said.

use std::path::PathBuf;

use crate::quantity::{Length, Quantity};

use super::{
    doubt::{Doubtful, How, Spread},
    error::Wrong,
    limits::Limits,
    model::*,
    told::Told,
    v1,
};

mod happened;
mod job;
mod lesson;
mod limbs;
mod lines;
mod site;
mod things;
mod tied;

pub(super) use happened::happened;

/// The core scene of a file, and all that is wrong with its single values.
///
/// `source`, `hash` and `folder` are filled in by the caller.
pub(super) fn resolve(
    file: &v1::Scene,
    source: std::sync::Arc<super::Source>,
) -> (Scene, Vec<Wrong>) {
    let mut r = Reader {
        how: how(file.doubt),
        units: file.units.into(),
        wrongs: Vec::new(),
        assumed: Vec::new(),
        transects: Vec::new(),
        limbs: Vec::new(),
    };
    if file.doubt.is_none() {
        r.assume("doubt", "numbers without a word of their own are measured (2 %, 2 deg)");
    }
    let site = r.site(&file.site);
    let tree = r.tree(&file.tree);
    let targets = r.each("targets", &file.targets, Reader::target);
    let climber = r.climber(file.climber.as_ref());
    let climber_line = match &file.climber_line {
        None | Some(v1::ClimberLine::DownTheSpar) => ClimberLineSpec::DownTheSpar,
        Some(v1::ClimberLine::MovedTo { at }) => {
            ClimberLineSpec::To(r.place("climber_line.at", at))
        }
        Some(v1::ClimberLine::Away) => ClimberLineSpec::Away,
    };
    let feller = match &file.feller {
        None | Some(v1::Feller::AtStump) => FellerSpec::AtStump,
        Some(v1::Feller::MovedTo { at }) => FellerSpec::At(r.place("feller.at", at)),
    };
    let aids = r.each("aids", &file.aids, Reader::aid);
    let cuts = r.each("cuts", &file.cuts, Reader::cut);
    let lines = r.each("lines", &file.lines, Reader::line);
    let mut scene = Scene {
        name: file.name.trim().to_owned(),
        invented: file.invented,
        note: file.note.trim().to_owned(),
        units: r.units,
        site,
        tree,
        targets,
        climber,
        climber_line,
        feller,
        aids,
        cuts,
        lines,
        lesson: None,
        assumed: std::mem::take(&mut r.assumed),
        hash: String::new(),
        folder: PathBuf::new(),
        source,
    };
    let lesson = file.lesson.as_ref().map(|lesson| r.lesson(lesson, &scene));
    scene.lesson = lesson;
    (scene, r.wrongs)
}

/// How sure numbers without a word of their own are.
fn how(doubt: Option<v1::Doubt>) -> How {
    match doubt.unwrap_or_default() {
        v1::Doubt::Exactly => How::Exactly,
        v1::Doubt::Measured => How::Measured,
        v1::Doubt::Paced => How::Paced,
        v1::Doubt::Eyed => How::Eyed,
    }
}

struct Reader {
    how: How,
    units: crate::quantity::Units,
    wrongs: Vec<Wrong>,
    assumed: Vec<Assumed>,
    /// Ids and numbers of legs of the transects read so far.
    transects: Vec<(String, usize)>,
    /// Ids, azimuths (rad) and heights (m) of the limbs read so far.
    limbs: Vec<(String, f64, f64)>,
}

impl Reader {
    fn wrong(&mut self, path: &str, what: impl Into<String>, allowed: impl Into<String>) {
        self.wrongs.push(Wrong {
            path: path.to_owned(),
            what: what.into(),
            allowed: allowed.into(),
        });
    }

    fn assume(&mut self, path: &str, taken: impl Into<String>) {
        self.assumed.push(Assumed { path: path.to_owned(), taken: taken.into() });
    }

    /// Reads the items of a list with their paths.
    fn each<T, U>(
        &mut self,
        path: &str,
        items: &[T],
        read: fn(&mut Self, &str, &T) -> U,
    ) -> Vec<U> {
        items
            .iter()
            .enumerate()
            .map(|(i, item)| read(self, &format!("{path}[{i}]"), item))
            .collect()
    }

    /// A number within its limits, with its doubt.
    fn number<Q: Quantity>(&mut self, path: &str, told: &Told<Q>, limits: Limits) -> Doubtful {
        let kind = Q::KIND;
        let show = |si: f64| Q::from_si(si).shown(self.units);
        let allowed = format!("{} to {}", show(limits.low), show(limits.high));
        let known = |value: Q, how: How| {
            if kind.angular {
                Doubtful::angle(value.si(), how)
            } else {
                Doubtful::relative(value.si(), how)
            }
        };
        let mut number = match *told {
            Told::Plain(q) => known(q, self.how),
            Told::Exactly(q) => Doubtful::exact(q.si()),
            Told::Measured(q) => known(q, How::Measured),
            Told::Paced(q) => known(q, How::Paced),
            Told::Eyed(q) => known(q, How::Eyed),
            Told::Within(q, half) => {
                if half.si() < 0.0 {
                    self.wrong(path, "the half width is negative", "zero or more");
                }
                Doubtful::around(q.si(), half.si().abs(), How::Stated)
            }
            Told::Between(low, high) => {
                if low.si() > high.si() {
                    self.wrong(path, "the limits run backwards", "the smaller one first");
                }
                let (low, high) = (low.si().min(high.si()), low.si().max(high.si()));
                let spread = Spread { low, high, how: How::Stated };
                Doubtful { told: 0.5 * (low + high), spread }
            }
            Told::DontKnow => {
                let Some([low, told, high]) = limits.unknown else {
                    let what = format!("{} that must be known", kind.name);
                    self.wrong(
                        path,
                        what,
                        format!("{allowed}; Eyed(..) or Between(.., ..) if in doubt"),
                    );
                    return Doubtful::exact(limits.low);
                };
                self.assume(
                    path,
                    format!("not known: {} to {}, {} as told", show(low), show(high), show(told)),
                );
                Doubtful { told, spread: Spread { low, high, how: How::DontKnow } }
            }
        };
        let stated = number.spread.how == How::Stated;
        let outside = |x: f64| !(limits.low..=limits.high).contains(&x);
        if outside(number.told)
            || (stated && (outside(number.spread.low) || outside(number.spread.high)))
        {
            let what = if number.told < 0.0 && limits.low >= 0.0 {
                format!("{} that can't be negative", kind.name)
            } else if number.told == 0.0 && limits.low > 0.0 {
                format!("{} that can't be zero", kind.name)
            } else {
                format!("{} beyond what is plausible here", kind.name)
            };
            self.wrong(path, what, allowed);
        }
        number.spread.low = number.spread.low.max(limits.low);
        number.spread.high = number.spread.high.min(limits.high);
        number
    }

    /// A length that is not in doubt.
    fn plain(&mut self, path: &str, length: Length, low_m: f64, high_m: f64) -> f64 {
        if !(low_m..=high_m).contains(&length.m()) {
            let [low, high] = [low_m, high_m].map(|m| Length::from_si(m).text(self.units));
            self.wrong(path, "a length beyond what is plausible here", format!("{low} to {high}"));
        }
        length.m()
    }
}
