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

use std::{fmt, marker::PhantomData, str::FromStr};

use serde::de::{self, Deserialize, Deserializer, Visitor};

/// Most values a range may stand for.
pub const RANGE_MAX: usize = 1_000;

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

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $getter:ident, $getter_doc:literal, $kind:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = $getter_doc]
            #[must_use]
            pub fn $getter(self) -> f64 {
                self.0
            }
        }

        impl Quantity for $name {
            const KIND: Kind = $kind;

            fn from_si(si: f64) -> Self {
                Self(si)
            }

            fn si(self) -> f64 {
                self.0
            }

            fn shown(self, units: Units) -> String {
                self.text(units)
            }
        }

        impl FromStr for $name {
            type Err = QuantityError;

            fn from_str(text: &str) -> Result<Self, QuantityError> {
                Self::read(text)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                deserializer.deserialize_any(Words::<Self>(PhantomData))
            }
        }
    };
}

const DEG: f64 = std::f64::consts::PI / 180.0;
const FT: f64 = 0.3048;
const LB: f64 = 0.453_592_37;
const LBF: f64 = LB * crate::GRAVITY_M_S2;
const DEGREES: &[(&str, &str)] = &[("degrees", "deg"), ("degree", "deg"), ("°", "deg")];

quantity!(
    /// A length.
    Length,
    m,
    "In m.",
    Kind {
        name: "a length",
        units: &[
            ("m", 1.0),
            ("cm", 0.01),
            ("mm", 0.001),
            ("km", 1_000.0),
            ("ft", FT),
            ("in", FT / 12.0),
            ("yd", 3.0 * FT),
        ],
        also: &[
            ("feet", "ft"),
            ("foot", "ft"),
            ("inches", "in"),
            ("inch", "in"),
            ("metres", "m"),
            ("meters", "m"),
        ],
        example: "\"6 ft 4 in\" or \"1.9 m\"",
        limits: None,
        tangent: None,
        angular: false,
    }
);

quantity!(
    /// An angle.
    Angle,
    rad,
    "In rad.",
    Kind {
        name: "an angle",
        units: &[("deg", DEG), ("rad", 1.0)],
        also: DEGREES,
        example: "\"70 deg\"",
        limits: None,
        tangent: None,
        angular: true,
    }
);

quantity!(
    /// The inclination of a slope or a tape; up is positive.
    Slope,
    rad,
    "In rad.",
    Kind {
        name: "a slope",
        units: &[("deg", DEG), ("rad", 1.0)],
        also: DEGREES,
        example: "\"-34 deg\" or \"65 %\"",
        limits: Some((-89.0 * DEG, 89.0 * DEG, "from -89 deg to 89 deg")),
        tangent: Some(("%", 0.01)),
        angular: true,
    }
);

quantity!(
    /// A direction, clockwise from north.
    Azimuth,
    rad,
    "In rad.",
    Kind {
        name: "an azimuth",
        units: &[("deg", DEG), ("rad", 1.0)],
        also: DEGREES,
        example: "\"200 deg\"",
        limits: Some((0.0, 360.0 * DEG, "from 0 deg to 360 deg")),
        tangent: None,
        angular: true,
    }
);

quantity!(
    /// A mass.
    Mass,
    kg,
    "In kg.",
    Kind {
        name: "a mass",
        units: &[("kg", 1.0), ("g", 0.001), ("t", 1_000.0), ("lb", LB), ("oz", LB / 16.0)],
        also: &[("lbs", "lb"), ("pounds", "lb")],
        example: "\"450 lb\" or \"200 kg\"",
        limits: None,
        tangent: None,
        angular: false,
    }
);

quantity!(
    /// A speed.
    Speed,
    m_s,
    "In m/s.",
    Kind {
        name: "a speed",
        units: &[
            ("m/s", 1.0),
            ("km/h", 1.0 / 3.6),
            ("mph", 0.447_04),
            ("ft/s", FT),
            ("kn", 1_852.0 / 3_600.0),
        ],
        also: &[],
        example: "\"25 mph\" or \"11 m/s\"",
        limits: None,
        tangent: None,
        angular: false,
    }
);

quantity!(
    /// A force.
    Force,
    n,
    "In N.",
    Kind {
        name: "a force",
        units: &[
            ("N", 1.0),
            ("kN", 1_000.0),
            ("lbf", LBF),
            ("lb", LBF),
            ("kgf", crate::GRAVITY_M_S2),
        ],
        also: &[("lbs", "lb")],
        example: "\"12 kN\" or \"60 lbf\"",
        limits: None,
        tangent: None,
        angular: false,
    }
);

quantity!(
    /// A pressure or a strength.
    Pressure,
    pa,
    "In Pa.",
    Kind {
        name: "a pressure",
        units: &[("Pa", 1.0), ("kPa", 1_000.0), ("MPa", 1.0e6), ("psi", LBF / (FT / 12.0 * (FT / 12.0)))],
        also: &[],
        example: "\"2.4 kPa\"",
        limits: None,
        tangent: None,
        angular: false,
    }
);

quantity!(
    /// A share of a whole.
    Share,
    share,
    "As a part of one.",
    Kind {
        name: "a share",
        units: &[("%", 0.01)],
        also: &[("percent", "%")],
        example: "\"25 %\"",
        limits: Some((0.0, 1.0, "from 0 % to 100 %")),
        tangent: None,
        angular: false,
    }
);

/// `number` with at most `places` decimals, without trailing zeros, never `-0`.
fn short(number: f64, places: usize) -> String {
    let mut text = format!("{number:.places$}");
    if text.contains('.') {
        text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    if text == "-0" { "0".to_owned() } else { text }
}

impl Length {
    /// For a reader of diameters and thicknesses, which the trade gives in inches: `16 in`, `41 cm`.
    #[must_use]
    pub fn thickness_text(self, units: Units) -> String {
        match units {
            Units::Metric => format!("{} cm", short(self.0 * 100.0, 1)),
            Units::Imperial => format!("{} in", short(self.0 / FT * 12.0, 1)),
        }
    }

    /// For a reader: `6 ft 4 in`, `7.5 in`, `1.93 m`, `24 cm`.
    #[must_use]
    pub fn text(self, units: Units) -> String {
        let sign = if self.0 < 0.0 { "-" } else { "" };
        let size = self.0.abs();
        match units {
            Units::Metric if size < 0.995 => format!("{sign}{} cm", short(size * 100.0, 1)),
            Units::Metric => format!("{sign}{} m", short(size, if size < 10.0 { 2 } else { 1 })),
            Units::Imperial if size < 0.95 * FT => {
                format!("{sign}{} in", short(size / FT * 12.0, 1))
            }
            Units::Imperial => {
                let inches = (size / FT * 12.0).round();
                let feet = (inches / 12.0).floor();
                match inches - feet * 12.0 {
                    0.0 => format!("{sign}{feet} ft"),
                    over => format!("{sign}{feet} ft {over} in"),
                }
            }
        }
    }
}

macro_rules! degrees_text {
    ($($name:ident),*) => {$(
        impl $name {
            /// For a reader, in degrees.
            #[must_use]
            pub fn text(self, _units: Units) -> String {
                format!("{} deg", short(self.0.to_degrees(), 1))
            }
        }
    )*};
}
degrees_text!(Angle, Slope, Azimuth);

macro_rules! simple_text {
    ($($name:ident: $metric:literal per $metric_size:expr, $imperial:literal per $imperial_size:expr;)*) => {$(
        impl $name {
            /// For a reader, to three figures.
            #[must_use]
            pub fn text(self, units: Units) -> String {
                let (unit, size) = match units {
                    Units::Metric => ($metric, $metric_size),
                    Units::Imperial => ($imperial, $imperial_size),
                };
                let number = self.0 / size;
                let places = match number.abs() {
                    x if x < 10.0 => 2,
                    x if x < 100.0 => 1,
                    _ => 0,
                };
                format!("{} {unit}", short(number, places))
            }
        }
    )*};
}
simple_text! {
    Mass: "kg" per 1.0, "lb" per LB;
    Speed: "m/s" per 1.0, "mph" per 0.447_04;
    Force: "kN" per 1_000.0, "lbf" per LBF;
    Pressure: "kPa" per 1_000.0, "psi" per LBF / (FT / 12.0 * (FT / 12.0));
    Share: "%" per 0.01, "%" per 0.01;
}

/// The values of `first..last:step`; `last` is among them if the steps hit it.
///
/// # Errors
/// A part is no quantity, the step is not positive, the range runs backwards or is too long.
pub fn range<Q: Quantity>(text: &str) -> Result<Vec<Q>, QuantityError> {
    let wrong = |what: &str| QuantityError {
        read: text.to_owned(),
        what: what.to_owned(),
        allowed: format!(
            "first..last:step, like 4ft..16ft:2ft, with {} in each place",
            Q::KIND.name
        ),
    };
    let (first, rest) = text.split_once("..").ok_or_else(|| wrong("a range has two dots"))?;
    let (last, step) = rest.split_once(':').ok_or_else(|| wrong("a range has a step"))?;
    let (first, last) = (Q::read(first)?.si(), Q::read(last)?.si());
    let step = Q::KIND.read(step)?;
    if step <= 0.0 {
        return Err(wrong("the step must be greater than zero"));
    }
    if last < first {
        return Err(wrong("the range runs backwards"));
    }
    // A hair more than the whole steps, so that rounding does not lose the last value.
    let steps = ((last - first) / step + 1e-9).floor();
    if steps >= RANGE_MAX as f64 {
        return Err(wrong("the range has more than 1000 values"));
    }
    Ok((0..=steps as usize).map(|i| Q::from_si(first + step * i as f64)).collect())
}

/// The values of a list with commas, or of a range.
///
/// # Errors
/// See [`range`] and [`Kind::read`].
pub fn series<Q: Quantity>(text: &str) -> Result<Vec<Q>, QuantityError> {
    if text.contains("..") {
        return range(text);
    }
    text.split(',').map(Q::read).collect()
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
