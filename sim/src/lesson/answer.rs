//! What an answer looks like: made by a screen, or typed and written as text.

use glam::DVec2;

use crate::{
    job::Job,
    quantity::{Angle, Azimuth, Force, Length, Quantity, Units},
    scene::{
        model::{Asked, LessonSpec, QuestionSpec},
        places::{MapFrame, heading},
    },
};

/// A range or a mark is to hold this share of the drops.
pub const HELD: f64 = 0.8;

/// What a number of an answer measures; SI inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Distance along the ground, m.
    Distance,
    /// Turn of the piece, rad.
    Turn,
    /// Pull, N.
    Force,
}

/// Farthest that a range or a mark's radius goes, m: beyond it a number is a slip, and one that is
/// not finite would spoil the record.
const FARTHEST_M: f64 = 10_000.0;
/// Farthest mark from the stump to the east or north, m.
const FARTHEST_MARK_M: f64 = 100_000.0;
/// Strongest pull, N.
const STRONGEST_N: f64 = 10e6;

/// What a question wants to hear.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// One of these with a confidence, or a chance for each.
    Options(Vec<String>),
    /// How often in a hundred.
    Chance,
    /// A range that holds 8 in 10.
    Range(Measure),
    /// A mark on the ground with a radius that holds 8 in 10.
    Mark,
}

/// A learner's answer.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// One option by index, and how sure, 0 to 1; the rest is spread evenly over the others.
    Choice {
        /// Which.
        option: usize,
        /// How sure, 0 to 1.
        confidence: f64,
    },
    /// A chance for each option; they sum to 1.
    Chances(Vec<f64>),
    /// How often, 0 to 1.
    Chance(f64),
    /// A range, SI.
    Range {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// A mark on the map.
    Mark {
        /// x east, y north of the stump, m.
        at_m: DVec2,
        /// Radius, m.
        radius_m: f64,
    },
}

/// How numbers and azimuths of an answer are read and written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terms {
    /// Units it is written in; read is any.
    pub units: Units,
    /// How azimuths of the scene lie on the map.
    pub frame: MapFrame,
}

impl Terms {
    /// Of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        Self { units: job.scene.units, frame: job.frame() }
    }

    /// Azimuth of the scene toward a place on the map, degrees from 0 to 360.
    fn azimuth_deg(&self, at_m: DVec2) -> f64 {
        let azimuth_rad = libm::atan2(at_m.x, at_m.y) - self.frame.turn_rad;
        azimuth_rad.to_degrees().rem_euclid(360.0)
    }
}

impl Measure {
    /// A number of it for a reader.
    #[must_use]
    pub fn shown(self, si: f64, units: Units) -> String {
        match self {
            Self::Distance => units.distance(si),
            Self::Turn => format!("{:.0}°", si.to_degrees()),
            Self::Force => units.force(si),
        }
    }

    /// Reads one with its unit.
    fn read(self, text: &str) -> Result<f64, String> {
        let said = |e: crate::quantity::QuantityError| e.said();
        match self {
            Self::Distance => Length::read(text).map(Quantity::si).map_err(said),
            Self::Turn => Angle::read(text).map(Quantity::si).map_err(said),
            Self::Force => Force::read(text).map(Quantity::si).map_err(said),
        }
    }

    /// As it is written in a file and read again.
    fn written(self, si: f64, units: Units) -> String {
        match self {
            Self::Distance => length_written(si, units),
            Self::Turn => format!("{:.1} deg", si.to_degrees()),
            Self::Force => match units {
                Units::Metric => format!("{si:.0} N"),
                Units::Imperial => format!("{:.0} lbf", si / POUND_FORCE_N),
            },
        }
    }

    /// The most that a number of it may be, SI and in words.
    fn most(self) -> (f64, &'static str) {
        match self {
            Self::Distance => (FARTHEST_M, "10 km"),
            Self::Turn => (std::f64::consts::TAU, "360 deg"),
            Self::Force => (STRONGEST_N, "10 MN, or 10000 kN"),
        }
    }

    fn example(self) -> &'static str {
        match self {
            Self::Distance => "20 ft to 60 ft, or 6 m to 18 m",
            Self::Turn => "30 deg to 60 deg",
            Self::Force => "1.2 kN to 2 kN, or 200 lbf to 400 lbf",
        }
    }
}

/// Newtons in a pound-force (NIST SP 811, appendix B).
const POUND_FORCE_N: f64 = 4.448_221_615_260_5;
/// Metres in a foot.
const FOOT_M: f64 = 0.3048;

fn length_written(m: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{m:.2} m"),
        Units::Imperial => format!("{:.1} ft", m / FOOT_M),
    }
}

/// What a question wants to hear.
#[must_use]
pub fn form(lesson: &LessonSpec, question: &QuestionSpec) -> Form {
    let words = |words: &[&str]| Form::Options(words.iter().map(|&w| w.to_owned()).collect());
    match &question.asked {
        Asked::Mode => words(&MODES),
        Asked::FirstEnd => words(&ENDS),
        Asked::HowItLies => words(&LIES),
        Asked::Chance(_) => Form::Chance,
        Asked::Fewest { among, .. } => Form::Options(
            among
                .iter()
                .filter_map(|case| lesson.cases.get(*case))
                .map(|case| case.label.clone())
                .collect(),
        ),
        Asked::FirstTouch | Asked::Rest => Form::Mark,
        Asked::HowFar => Form::Range(Measure::Distance),
        Asked::LetsGoAt => Form::Range(Measure::Turn),
        Asked::Pull(_) => Form::Range(Measure::Force),
    }
}

/// How a piece goes, in the order of options.
pub(super) const MODES: [&str; 5] =
    ["sits back on the spar", "stays where it lands", "slides", "rolls", "goes end over end"];
/// Which end touches first, in the order of options.
pub(super) const ENDS: [&str; 4] =
    ["butt", "top", "side, or its whole length at once", "it doesn't leave the spar"];
/// How it lies, in the order of options.
pub(super) const LIES: [&str; 5] = [
    "firmly: it would lie on ground 5° steeper too",
    "barely: it would go on ground less than 5° steeper",
    "held only by what it lies against",
    "not at rest on known ground",
    "it doesn't leave the spar",
];

impl Form {
    /// What may be typed, in words.
    #[must_use]
    pub fn allowed(&self) -> String {
        match self {
            Self::Options(options) => format!(
                "a number from 1 to {0} and how sure you are, as 2 70 %; or {0} chances that add up \
                 to 100, as {1}",
                options.len(),
                example_of(options.len())
            ),
            Self::Chance => "a number from 0 to 100, how often in a hundred, as 35".to_owned(),
            Self::Range(measure) => {
                format!("two ends that hold 8 in 10, as {}", measure.example())
            }
            Self::Mark => "azimuth and level distance from the stump and a radius that holds 8 in \
                           10, as 205 deg 40 ft radius 10 ft"
                .to_owned(),
        }
    }

    /// Whether an answer is one to this form.
    ///
    /// # Errors
    /// What is wrong and what is allowed, in words.
    pub fn check(&self, answer: &Answer) -> Result<(), String> {
        let is_share = |x: f64| (0.0..=1.0).contains(&x);
        let fits = match (self, answer) {
            (Self::Options(options), Answer::Choice { option, confidence }) => {
                *option < options.len() && is_share(*confidence)
            }
            (Self::Options(options), Answer::Chances(chances)) => {
                let sum: f64 = chances.iter().sum();
                chances.len() == options.len()
                    && chances.iter().all(|c| is_share(*c))
                    && (sum - 1.0).abs() < 1e-6
            }
            (Self::Chance, Answer::Chance(chance)) => is_share(*chance),
            // None of what is measured is less than nothing.
            (Self::Range(measure), Answer::Range { low, high }) => {
                let (most, words) = measure.most();
                // A turn of 360 deg is one, however it was rounded.
                if *high > most * (1.0 + 1e-12) {
                    return Err(format!("beyond what can be; allowed: ends of up to {words}"));
                }
                *low >= 0.0 && high.is_finite() && low <= high
            }
            (Self::Mark, Answer::Mark { at_m, radius_m }) => {
                if at_m.abs().max_element() > FARTHEST_MARK_M || *radius_m > FARTHEST_M {
                    return Err(
                        "beyond what can be; allowed: a mark within 100 km of the stump to \
                                each side, and a radius of up to 10 km"
                            .to_owned(),
                    );
                }
                at_m.is_finite() && radius_m.is_finite() && *radius_m >= 0.0
            }
            _ => false,
        };
        if fits { Ok(()) } else { Err(format!("no answer to this; allowed: {}", self.allowed())) }
    }
}

/// Chances as one would type them for so many options.
fn example_of(options: usize) -> String {
    let first = 100 - 10 * options.saturating_sub(1).min(9);
    let rest = std::iter::repeat_n("10".to_owned(), options.saturating_sub(1));
    std::iter::once(first.to_string()).chain(rest).collect::<Vec<_>>().join(" ")
}

impl Answer {
    /// The chance of each of so many options.
    #[must_use]
    pub fn chances(&self, options: usize) -> Vec<f64> {
        match self {
            Self::Choice { option, confidence } => {
                let others = options.saturating_sub(1).max(1) as f64;
                let rest = (1.0 - confidence) / others;
                (0..options).map(|i| if i == *option { *confidence } else { rest }).collect()
            }
            Self::Chances(chances) => chances.clone(),
            _ => Vec::new(),
        }
    }

    /// Reads an answer as typed.
    ///
    /// # Errors
    /// What was read and what is allowed, in words.
    pub fn read(text: &str, form: &Form, terms: &Terms) -> Result<Self, String> {
        let wrong =
            |why: &str| format!("read {:?}: {why}; allowed: {}", text.trim(), form.allowed());
        let answer = match form {
            Form::Options(options) => options_read(text, options.len()).map_err(|e| wrong(&e))?,
            Form::Chance => match numbers(text).map_err(|e| wrong(&e))?[..] {
                [chance] => Self::Chance(chance / 100.0),
                _ => return Err(wrong("not one number")),
            },
            Form::Range(measure) => {
                let ends = text.split_once(" to ").or_else(|| text.split_once(".."));
                let (low, high) = ends.ok_or_else(|| wrong("no two ends"))?;
                let [low, high] = [low, high].map(|end| measure.read(end.trim()));
                let (low, high) = (low.map_err(|e| wrong(&e))?, high.map_err(|e| wrong(&e))?);
                if low > high {
                    return Err(wrong("the ends run backwards"));
                }
                Self::Range { low, high }
            }
            Form::Mark => mark_read(text, &terms.frame).map_err(|e| wrong(&e))?,
        };
        form.check(&answer).map_err(|why| format!("read {:?}: {why}", text.trim()))?;
        Ok(answer)
    }

    /// As it is read again by [`Answer::read`].
    #[must_use]
    pub fn written(&self, form: &Form, terms: &Terms) -> String {
        let units = terms.units;
        let in_hundred = |share: f64| format!("{}", (share * 1e4).round() / 100.0);
        match self {
            Self::Choice { option, confidence } => {
                format!("{} {} %", option + 1, in_hundred(*confidence))
            }
            Self::Chances(chances) => {
                chances.iter().map(|c| in_hundred(*c)).collect::<Vec<_>>().join(" ")
            }
            Self::Chance(chance) => in_hundred(*chance),
            Self::Range { low, high } => {
                let measure = if let Form::Range(m) = form { *m } else { Measure::Distance };
                format!("{} to {}", measure.written(*low, units), measure.written(*high, units))
            }
            Self::Mark { at_m, radius_m } => {
                let azimuth = terms.azimuth_deg(*at_m);
                format!(
                    "{:.1} deg {} radius {}",
                    azimuth,
                    length_written(at_m.length(), units),
                    length_written(*radius_m, units)
                )
            }
        }
    }

    /// For a reader: what was said.
    #[must_use]
    pub fn said(&self, form: &Form, terms: &Terms) -> String {
        let units = terms.units;
        let in_hundred = |share: f64| format!("{:.0}", 100.0 * share);
        match (self, form) {
            (Self::Choice { option, confidence }, Form::Options(options)) => {
                let word = options.get(*option).map_or("", String::as_str);
                format!("{word}, {} in 100 sure", in_hundred(*confidence))
            }
            (Self::Chances(chances), Form::Options(options)) => {
                let each = options.iter().zip(chances);
                let each = each.map(|(word, c)| format!("{word}: {}", in_hundred(*c)));
                format!("{}, in 100", each.collect::<Vec<_>>().join("; "))
            }
            (Self::Chance(chance), _) => format!("{} in 100", in_hundred(*chance)),
            (Self::Range { low, high }, Form::Range(m)) => {
                format!("{} to {}, 8 in 10 within it", m.shown(*low, units), m.shown(*high, units))
            }
            (Self::Mark { at_m, radius_m }, _) => {
                let azimuth = terms.azimuth_deg(*at_m);
                format!(
                    "toward {azimuth:.0}°, {} from the stump, 8 in 10 within {} of it",
                    units.distance(at_m.length()),
                    units.distance(*radius_m)
                )
            }
            _ => self.written(form, terms),
        }
    }
}

/// The numbers of "70 %", "35 in 100", "10 20 70", each from 0 to 100.
fn numbers(text: &str) -> Result<Vec<f64>, String> {
    let text = text.replace("in 100", " ").replace(['%', ',', ';'], " ");
    let mut numbers = Vec::new();
    for word in text.split_whitespace() {
        let number: f64 = word.parse().map_err(|_| format!("{word:?} is no number"))?;
        if !(0.0..=100.0).contains(&number) {
            return Err(format!("{word} is not within 0 to 100"));
        }
        numbers.push(number);
    }
    if numbers.is_empty() { Err("nothing was said".to_owned()) } else { Ok(numbers) }
}

/// Two numbers are an option and how sure, but for two options without a percent sign: those are
/// chances.
fn options_read(text: &str, options: usize) -> Result<Answer, String> {
    let numbers = numbers(text)?;
    match numbers[..] {
        [option, confidence] if options != 2 || text.contains('%') => {
            let choice = (1..=options).find(|i| (*i as f64 - option).abs() < 1e-9);
            let option = choice.ok_or_else(|| format!("{option} is none of 1 to {options}"))? - 1;
            Ok(Answer::Choice { option, confidence: confidence / 100.0 })
        }
        _ if numbers.len() == options => {
            let sum: f64 = numbers.iter().sum();
            if (sum - 100.0).abs() > 0.5 {
                return Err(format!("the chances add up to {sum:.0}"));
            }
            Ok(Answer::Chances(numbers.iter().map(|number| number / sum).collect()))
        }
        [_] => Err("one number alone".to_owned()),
        _ => Err(format!("{} numbers", numbers.len())),
    }
}

/// "205 deg 40 ft radius 10 ft".
fn mark_read(text: &str, frame: &MapFrame) -> Result<Answer, String> {
    let (place, radius) = text.split_once("radius").ok_or("no radius")?;
    let place = place.trim().trim_end_matches(',').replace('°', " deg");
    // The azimuth ends with its unit; what follows is the distance.
    let end = place.find("deg").map(|at| at + "deg".len());
    let (azimuth, distance) =
        end.and_then(|end| place.split_at_checked(end)).ok_or("no azimuth")?;
    let said = |e: crate::quantity::QuantityError| e.said();
    let azimuth_rad = Azimuth::read(azimuth.trim()).map_err(said)?.si();
    let distance = distance.trim_start_matches([',', ' ']).trim();
    let distance_m = Length::read(distance).map_err(said)?.si();
    let radius_m = Length::read(radius.trim()).map_err(said)?.si();
    if distance_m < 0.0 || radius_m < 0.0 {
        return Err("a distance that can't be negative".to_owned());
    }
    Ok(Answer::Mark { at_m: heading(azimuth_rad, frame) * distance_m, radius_m })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_answers_have_limits() {
        let frame = MapFrame::default();
        let terms = Terms { units: Units::Metric, frame };
        let [far, turn, pull] = [Measure::Distance, Measure::Turn, Measure::Force].map(Form::Range);
        for (form, text, allowed) in [
            (&far, "1 m to 10 km", None),
            (&far, "1 m to 10001 m", Some("10 km")),
            (&turn, "0 deg to 360 deg", None),
            (&turn, "0 deg to 361 deg", Some("360 deg")),
            (&pull, "1 kN to 10000 kN", None),
            (&pull, "1 kN to 10001 kN", Some("10 MN")),
            (&Form::Mark, "90 deg 90 km radius 10 km", None),
            (&Form::Mark, "90 deg 101 km radius 1 m", Some("100 km")),
            (&Form::Mark, "90 deg 1 m radius 11 km", Some("10 km")),
        ] {
            let read = Answer::read(text, form, &terms);
            match allowed {
                None => drop(read.unwrap_or_else(|e| panic!("{text}: {e}"))),
                Some(allowed) => {
                    let said = read.unwrap_err();
                    let parts = [text, "beyond what can be", allowed];
                    assert!(parts.iter().all(|part| said.contains(part)), "{said}");
                }
            }
        }
    }
}
