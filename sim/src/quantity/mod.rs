//! Units at files and flags: what a user types and reads.
//!
//! Inside the program every number is SI; at its border a number carries its unit in words.
//!
//! # Grammar
//!
//! ```text
//! quantity = [ "+" | "-" ] term { term }
//! term     = number unit            -- each further term in a smaller unit of the same kind
//! number   = digits [ "." digits ] | [ digits " " ] digits "/" digits
//! unit     = a word from the table of the kind, with or without a space before it
//! range    = quantity ".." quantity ":" quantity      -- first, last (included if hit), step
//! list     = quantity { "," quantity }
//! ```
//!
//! | kind | units |
//! |---|---|
//! | [`Length`] | m, cm, mm, km, ft, in, yd |
//! | [`Angle`] | deg, rad |
//! | [`Slope`] | deg, rad, % (rise over level distance) |
//! | [`Azimuth`] | deg, rad, from 0 to 360 deg, clockwise from north |
//! | [`Mass`] | kg, g, t, lb, oz |
//! | [`Speed`] | m/s, km/h, mph, ft/s, kn |
//! | [`Force`] | N, kN, lbf, lb, kgf |
//! | [`Pressure`] | Pa, kPa, MPa, psi |
//! | [`Share`] | % |
//!
//! ```
//! use tumblewood::quantity::{Azimuth, Force, Length, Mass, Pressure, Share, Slope, Speed, Units};
//! let height: Length = "6 ft 4 in".parse()?;
//! assert!((height.m() - 1.9304).abs() < 1e-12);
//! assert_eq!(height.text(Units::Imperial), "6 ft 4 in");
//! assert_eq!(height.text(Units::Metric), "1.93 m");
//! assert_eq!("5 1/2 in".parse::<Length>()?, "5.5in".parse::<Length>()?);
//! assert!(("65 %".parse::<Slope>()?.rad().tan() - 0.65).abs() < 1e-12);
//! assert!(("-34 deg".parse::<Slope>()?.rad().to_degrees() + 34.0).abs() < 1e-12);
//! assert!(("450 lb".parse::<Mass>()?.kg() - 204.1166).abs() < 1e-3);
//! assert_eq!("12 kN".parse::<Force>()?.n(), 12_000.0);
//! assert!(("25 mph".parse::<Speed>()?.m_s() - 11.176).abs() < 1e-12);
//! assert_eq!("2.4 kPa".parse::<Pressure>()?.pa(), 2_400.0);
//! assert_eq!("25 %".parse::<Share>()?.share(), 0.25);
//! assert_eq!("200 deg".parse::<Azimuth>()?.text(Units::Metric), "200 deg");
//! # Ok::<(), tumblewood::quantity::QuantityError>(())
//! ```
//!
//! A bare number is refused, and the refusal says what is missing:
//!
//! ```
//! use tumblewood::quantity::Length;
//! let refused = "24".parse::<Length>().unwrap_err().to_string();
//! assert_eq!(
//!     refused,
//!     "read \"24\": a length needs a unit; allowed: m, cm, mm, km, ft, in, yd, like \"6 ft 4 in\" or \"1.9 m\""
//! );
//! ```
//!
//! Ranges and lists for flags:
//!
//! ```
//! use tumblewood::quantity::{range, series, Azimuth, Length};
//! assert_eq!(range::<Length>("4ft..16ft:2ft")?.len(), 7);
//! assert_eq!(series::<Azimuth>("180deg,210deg")?.len(), 2);
//! # Ok::<(), tumblewood::quantity::QuantityError>(())
//! ```

use std::{fmt, marker::PhantomData};

use serde::de::{self, Visitor};

mod kinds;
mod series;

pub use kinds::*;
pub use series::{RANGE_MAX, range, series};

/// Units a reader prefers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Metres and kilograms.
    #[default]
    Metric,
    /// Feet and pounds.
    Imperial,
}

/// Why a text is no quantity of the wanted kind.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("read {read:?}: {what}; allowed: {allowed}")]
pub struct QuantityError {
    /// What was read.
    pub read: String,
    /// What is wrong with it.
    pub what: String,
    /// What would be right.
    pub allowed: String,
}

impl QuantityError {
    /// What is wrong and what would be right, for a place that shows what was read itself.
    #[must_use]
    pub fn said(&self) -> String {
        format!("{}; allowed: {}", self.what, self.allowed)
    }
}

/// What makes a kind of quantity: its name, its units and an example.
#[derive(Debug)]
pub struct Kind {
    /// With its article: "a length".
    pub name: &'static str,
    /// Unit words and their size in SI, in the order they are listed to a reader.
    pub units: &'static [(&'static str, f64)],
    /// Further spellings of a unit.
    pub also: &'static [(&'static str, &'static str)],
    /// Examples for a reader.
    pub example: &'static str,
    /// Least and greatest value in SI.
    pub limits: Option<(f64, f64, &'static str)>,
    /// Unit in which the number is the tangent of an angle, in parts of one.
    pub tangent: Option<(&'static str, f64)>,
    /// It is an angle: its doubt is in degrees, not in parts of its size.
    pub angular: bool,
}

impl Kind {
    fn units_text(&self) -> String {
        let words: Vec<&str> =
            self.units.iter().map(|u| u.0).chain(self.tangent.map(|t| t.0)).collect();
        words.join(", ")
    }

    /// What is allowed, in words.
    #[must_use]
    pub fn allowed(&self) -> String {
        let limits = self.limits.map_or(String::new(), |(_, _, text)| format!(", {text}"));
        format!("{}{limits}, like {}", self.units_text(), self.example)
    }

    fn refuse(&self, read: &str, what: String) -> QuantityError {
        let mut read = read.to_owned();
        if read.chars().count() > 60 {
            read = read.chars().take(57).chain("...".chars()).collect();
        }
        QuantityError { read, what, allowed: self.allowed() }
    }

    /// Size of a unit word in SI.
    fn unit(&self, word: &str) -> Option<f64> {
        let word = self.also.iter().find(|a| a.0 == word).map_or(word, |a| a.1);
        self.units.iter().find(|u| u.0 == word).map(|u| u.1)
    }

    /// Reads a text as SI.
    ///
    /// # Errors
    /// The text is not `[sign] number unit ...` with this kind's units, or is out of its limits.
    pub fn read(&self, text: &str) -> Result<f64, QuantityError> {
        let trimmed = text.trim();
        let (sign, mut rest) = match trimmed.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (-1.0, rest.trim_start()),
            None => (1.0, trimmed.strip_prefix('+').unwrap_or(trimmed).trim_start()),
        };
        let mut sum = 0.0;
        let mut smallest = f64::INFINITY;
        let mut terms = 0;
        while !rest.is_empty() {
            let (number, after) = take_number(rest)
                .ok_or_else(|| self.refuse(text, format!("{} begins with a number", self.name)))?;
            let after = after.trim_start();
            let end = after
                .find(|c: char| c.is_ascii_digit() || c.is_whitespace() || c == '-')
                .unwrap_or(after.len());
            let (word, next) = after.split_at(end);
            if word.is_empty() {
                return Err(self.refuse(text, format!("{} needs a unit", self.name)));
            }
            if let Some((unit, part)) = self.tangent
                && unit == word
                && terms == 0
                && next.trim().is_empty()
            {
                return self.within(text, libm::atan(sign * number * part));
            }
            let size = self.unit(word).ok_or_else(|| {
                self.refuse(text, format!("{word:?} is no unit of {}", self.name))
            })?;
            if size >= smallest {
                let what = format!("{word:?} does not follow a larger unit");
                return Err(self.refuse(text, what));
            }
            smallest = size;
            sum += number * size;
            terms += 1;
            rest = next.trim_start();
        }
        if terms == 0 {
            return Err(self.refuse(text, format!("{} was expected", self.name)));
        }
        self.within(text, sign * sum)
    }

    fn within(&self, text: &str, value: f64) -> Result<f64, QuantityError> {
        if !value.is_finite() {
            return Err(self.refuse(text, "the number is too large".to_owned()));
        }
        match self.limits {
            Some((low, high, _)) if !(low..=high).contains(&value) => {
                Err(self.refuse(text, format!("out of the limits of {}", self.name)))
            }
            _ => Ok(value),
        }
    }
}

/// A decimal number or a fraction at the start of `text`, and what follows it.
fn take_number(text: &str) -> Option<(f64, &str)> {
    let (first, rest) = take_decimal(text)?;
    if let Some((below, after)) = fraction_tail(rest) {
        return Some((first / below, after));
    }
    // "5 1/2": a whole number, a space and a fraction.
    let spaced = rest.trim_start();
    if spaced.len() < rest.len()
        && let Some((above, rest)) = take_decimal(spaced)
        && let Some((below, after)) = fraction_tail(rest)
    {
        return Some((first + above / below, after));
    }
    Some((first, rest))
}

fn fraction_tail(text: &str) -> Option<(f64, &str)> {
    let (below, after) = take_decimal(text.strip_prefix('/')?)?;
    (below > 0.0).then_some((below, after))
}

fn take_decimal(text: &str) -> Option<(f64, &str)> {
    let mut end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let tail = text.get(end..)?;
    if let Some(after_point) = tail.strip_prefix('.')
        && after_point.starts_with(|c: char| c.is_ascii_digit())
    {
        let digits = after_point.find(|c: char| !c.is_ascii_digit()).unwrap_or(after_point.len());
        end += 1 + digits;
    }
    let number = text.get(..end)?.parse().ok()?;
    Some((number, text.get(end..)?))
}

/// A quantity that a user can type.
pub trait Quantity: Sized + Copy {
    /// Its name, units and limits.
    const KIND: Kind;

    /// From SI.
    fn from_si(si: f64) -> Self;

    /// In SI.
    fn si(self) -> f64;

    /// For a reader.
    fn shown(self, units: Units) -> String;

    /// Reads a text.
    ///
    /// # Errors
    /// See [`Kind::read`].
    fn read(text: &str) -> Result<Self, QuantityError> {
        Self::KIND.read(text).map(Self::from_si)
    }
}

/// Accepts a string and says what is wrong with anything else.
struct Words<Q>(PhantomData<Q>);

impl<Q: Quantity> Visitor<'_> for Words<Q> {
    type Value = Q;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} in quotes with its unit: {}", Q::KIND.name, Q::KIND.allowed())
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Q, E> {
        Q::read(text).map_err(|wrong| E::custom(wrong.said()))
    }

    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Q, E> {
        Err(E::custom(bare::<Q>(&number.to_string()).said()))
    }

    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Q, E> {
        Err(E::custom(bare::<Q>(&number.to_string()).said()))
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Q, E> {
        Err(E::custom(bare::<Q>(&number.to_string()).said()))
    }
}

/// The refusal of a bare number.
#[must_use]
pub fn bare<Q: Quantity>(read: &str) -> QuantityError {
    Q::KIND.refuse(read, format!("a bare number where {} with its unit belongs", Q::KIND.name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_texts_are_read_in_si() {
        for (text, si) in [
            ("6 ft 4 in", 76.0 * 0.0254),
            ("6ft4in", 76.0 * 0.0254),
            ("5 1/2 in", 5.5 * 0.0254),
            ("3/8 in", 0.375 * 0.0254),
            ("1 ft 3 1/4 in", 15.25 * 0.0254),
            ("-1.9 m", -1.9),
            ("+2 feet", 0.6096),
            ("1 m 20 cm", 1.2),
        ] {
            let read: Length = text.parse().unwrap_or_else(|e| panic!("{e}"));
            assert!((read.m() - si).abs() < 1e-12, "{text} is {}", read.m());
        }
        assert!(("-65%".parse::<Slope>().unwrap().rad() + libm::atan(0.65)).abs() < 1e-15);
        // 1 lbf is 4.448 221 615 260 5 N (NIST SP 811, appendix B).
        assert!(("60 lb".parse::<Force>().unwrap().n() - 60.0 * 4.448_221_615_260_5).abs() < 1e-9);
        assert!(("14 psi".parse::<Pressure>().unwrap().pa() - 96_526.602).abs() < 0.01);
    }

    #[test]
    fn verif_what_is_no_length_is_refused() {
        for text in [
            "",
            " ",
            "24",
            "ft",
            "24 kg",
            "NaN ft",
            "inf m",
            "1e5 m",
            "4 in 6 ft",
            "6 ft 4",
            "1/0 in",
            "6 ft -4 in",
            "--6 ft",
            "6 ft ft",
            "1..2 m",
            "6,5 m",
            "4 ft 4 ft",
            "½ in",
            "1 m/s",
        ] {
            let refused = text.parse::<Length>().unwrap_err();
            assert!(refused.allowed.contains("ft, in"), "{text}");
        }
        assert!("361 deg".parse::<Azimuth>().is_err() && "20 %".parse::<Azimuth>().is_err());
        assert!("10 % 2 deg".parse::<Slope>().is_err() && "90 deg".parse::<Slope>().is_err());
    }

    #[test]
    fn verif_ranges_take_in_their_last_value_if_hit() {
        let feet = |text: &str| -> Vec<f64> {
            let read = series::<Length>(text).unwrap_or_else(|e| panic!("{e}"));
            read.iter().map(|l| (l.m() / 0.3048 * 1e6).round() / 1e6).collect()
        };
        assert_eq!(feet("4ft..16ft:4ft"), [4.0, 8.0, 12.0, 16.0]);
        assert_eq!(feet("4ft..15ft:4ft"), [4.0, 8.0, 12.0]);
        assert_eq!(feet("4 ft .. 4 ft : 1 in"), [4.0]);
        assert_eq!(feet("0.1ft..0.7ft:0.1ft").len(), 7);
        assert_eq!(feet("8ft,4ft"), [8.0, 4.0]);
        for bad in [
            "4ft..16ft",
            "4..16:2",
            "16ft..4ft:2ft",
            "4ft..16ft:0ft",
            "4ft..16ft:-2ft",
            "",
            "4ft,",
            "0ft..1km:1mm",
        ] {
            assert!(series::<Length>(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn prop_a_shown_length_reads_back_within_its_last_place() {
        for i in 0..2_000 {
            let length = Length::from_si(f64::from(i) * 0.037_1 - 20.0);
            for (units, step) in [(Units::Metric, 0.05), (Units::Imperial, 0.5 * 0.0254)] {
                let text = length.text(units);
                let back: Length = text.parse().unwrap_or_else(|e| panic!("{e}"));
                assert!((back.m() - length.m()).abs() <= step + 1e-9, "{} as {text}", length.m());
            }
        }
    }

    #[test]
    fn verif_shown_texts() {
        for (m, metric, imperial) in [
            (0.0, "0 cm", "0 in"),
            (0.012, "1.2 cm", "0.5 in"),
            (0.3048, "30.5 cm", "1 ft"),
            (0.999, "1 m", "3 ft 3 in"),
            (14.63, "14.6 m", "48 ft"),
            (-2.0, "-2 m", "-6 ft 7 in"),
        ] {
            assert_eq!(Length::from_si(m).text(Units::Metric), metric);
            assert_eq!(Length::from_si(m).text(Units::Imperial), imperial);
        }
        assert_eq!(Mass::from_si(204.1).text(Units::Imperial), "450 lb");
        assert_eq!(Share::from_si(0.25).text(Units::Metric), "25 %");
        assert_eq!(Angle::from_si(-0.0).text(Units::Metric), "0 deg");
    }
}
