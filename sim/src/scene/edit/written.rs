//! A number as the file writes it: its text, and the word for how sure it is around it.

use crate::{
    quantity::{Azimuth, Length, Quantity, Units},
    scene::locate,
};

use super::splice::{EditError, Splice, quoted, set, unquoted, value};

/// How sure a number is, in the file's words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// As the scene's `doubt` says.
    Plain,
    /// Not in doubt.
    Exactly,
    /// Tape, inclinometer, compass.
    Measured,
    /// Paces.
    Paced,
    /// By eye.
    Eyed,
    /// Within a half width, as typed.
    Within(String),
    /// Up to a greatest value, as typed; the text beside it is the least.
    Between(String),
    /// Not known.
    DontKnow,
}

/// A number as it stands in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Without quotes, such as `8 ft`; empty if not known.
    pub text: String,
    /// How sure it is.
    pub doubt: Doubt,
}

impl Doubt {
    /// The file's word; none for a plain number.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Plain => "",
            Self::Exactly => "Exactly",
            Self::Measured => "Measured",
            Self::Paced => "Paced",
            Self::Eyed => "Eyed",
            Self::Within(_) => "Within",
            Self::Between(_) => "Between",
            Self::DontKnow => "DontKnow",
        }
    }

    /// The second text, of `Within` and `Between`.
    #[must_use]
    pub fn second(&self) -> Option<&str> {
        match self {
            Self::Within(text) | Self::Between(text) => Some(text),
            _ => None,
        }
    }
}

impl Written {
    /// Reads a value as it stands in the file; `None` if it is no number with its unit.
    #[must_use]
    pub fn read(value: &str) -> Option<Self> {
        let value = locate::without_comments(value);
        if let Some(text) = unquoted(value) {
            return Some(Self { text, doubt: Doubt::Plain });
        }
        let found = locate::find(value, "")?;
        let end = value.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(value.len());
        let inner = |i: usize| {
            let part = found.parts.get(i)?;
            unquoted(value.get(part.value.clone())?)
        };
        let (text, doubt) = match value.get(..end)? {
            "Exactly" => (inner(0)?, Doubt::Exactly),
            "Measured" => (inner(0)?, Doubt::Measured),
            "Paced" => (inner(0)?, Doubt::Paced),
            "Eyed" => (inner(0)?, Doubt::Eyed),
            "Within" => (inner(0)?, Doubt::Within(inner(1)?)),
            "Between" => (inner(0)?, Doubt::Between(inner(1)?)),
            "DontKnow" => (String::new(), Doubt::DontKnow),
            _ => return None,
        };
        Some(Self { text, doubt })
    }

    /// The value as the file writes it.
    #[must_use]
    pub fn write(&self) -> String {
        let text = quoted(&self.text);
        match (&self.doubt, self.doubt.second()) {
            (Doubt::Plain, _) => text,
            (Doubt::DontKnow, _) => "DontKnow".to_owned(),
            (doubt, Some(second)) => format!("{}({text}, {})", doubt.word(), quoted(second)),
            (doubt, None) => format!("{}({text})", doubt.word()),
        }
    }
}

/// A number of the file put to a new value in SI, its doubt kept: limits go along with it.
pub(super) fn renumber<Q: Quantity>(
    text: &str,
    path: &str,
    new: f64,
    show: &dyn Fn(f64) -> String,
) -> Result<Splice, EditError> {
    let missing = || EditError::NoSuch(path.to_owned());
    let old = value(text, path).and_then(Written::read).ok_or_else(missing)?;
    let doubt = match old.doubt {
        Doubt::Between(high) => {
            let (low, high) = (si::<Q>(path, &old.text)?, si::<Q>(path, &high)?);
            let half = 0.5 * (high - low);
            let (low, high) = (new - half, new + half);
            let limits = Q::KIND.limits;
            if limits.is_none_or(|(least, most, _)| low >= least && high <= most) {
                let doubt = Doubt::Between(show(high));
                return set(text, path, &Written { text: show(low), doubt }.write());
            }
            // Limits that an azimuth beyond north can't state by their ends.
            Doubt::Within(show(half))
        }
        Doubt::DontKnow => Doubt::Plain,
        doubt => doubt,
    };
    set(text, path, &Written { text: show(new), doubt }.write())
}

/// What was typed, in SI.
pub(super) fn si<Q: Quantity>(path: &str, text: &str) -> Result<f64, EditError> {
    Q::read(text).map(Q::si).map_err(|wrong| EditError::Quantity { path: path.to_owned(), wrong })
}

/// The units a length is written in; those of the scene where its text doesn't tell.
pub(super) fn units_of(text: &str, scene: Units) -> Units {
    let words = || text.split(|c: char| !c.is_ascii_alphabetic());
    let any = |list: &[&str]| words().any(|word| list.contains(&word));
    if any(&["ft", "in", "yd", "feet", "foot", "inches", "inch"]) {
        Units::Imperial
    } else if any(&["m", "cm", "mm", "km", "metres", "meters"]) {
        Units::Metric
    } else {
        scene
    }
}

/// A length to the centimetre or the half inch: `12.34 m`, `10 ft 6 1/2 in`.
#[must_use]
pub fn length_text(length_m: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("{} m", number_text(length_m, 2)),
        Units::Imperial => {
            let halves = (length_m.abs() / (0.5 * 0.0254)).round();
            let sign = if length_m < 0.0 && halves > 0.0 { "-" } else { "" };
            let feet = (halves / 24.0).floor();
            let left = halves - feet * 24.0;
            let (inches, half) = ((left / 2.0).floor(), left % 2.0 > 0.5);
            let inches = match (inches > 0.0, half) {
                (true, true) => format!("{inches} 1/2 in"),
                (true, false) => format!("{inches} in"),
                (false, true) => "1/2 in".to_owned(),
                (false, false) => String::new(),
            };
            match (feet > 0.0, inches.is_empty()) {
                (true, false) => format!("{sign}{feet} ft {inches}"),
                (false, false) => format!("{sign}{inches}"),
                (_, true) => format!("{sign}{feet} ft"),
            }
        }
    }
}

/// The greatest length not above this one that [`length_text`] writes to the letter, m.
pub(super) fn floored(length_m: f64, units: Units) -> f64 {
    let step_m = if units == Units::Metric { 0.01 } else { 0.5 * 0.0254 };
    ((length_m + 1e-9) / step_m).floor() * step_m
}

/// An azimuth, so fine that at `distance_m` it is good to 8 mm.
#[must_use]
pub fn azimuth_text(azimuth_rad: f64, distance_m: f64) -> String {
    let places = (1..6)
        .find(|places| distance_m * 0.5 * 0.1_f64.powi(*places).to_radians() <= 0.008)
        .unwrap_or(6);
    let degrees = azimuth_rad.to_degrees().rem_euclid(360.0);
    let text = number_text(degrees, places as usize);
    format!("{} deg", if text == "360" { "0" } else { &text })
}

/// An azimuth brought between 0 and a full turn, rad.
pub(super) fn azimuth_rad(x: f64) -> f64 {
    x.rem_euclid(std::f64::consts::TAU)
}

/// At most so many decimals, no zeros behind them, never `-0`.
pub(super) fn number_text(number: f64, places: usize) -> String {
    let mut text = format!("{number:.places$}");
    if text.contains('.') {
        text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// An azimuth of the file turned to a new one, rad.
pub(super) fn set_azimuth(
    text: &str,
    path: &str,
    new_rad: f64,
    distance_m: f64,
) -> Result<Splice, EditError> {
    let show = |rad: f64| azimuth_text(rad, distance_m);
    renumber::<Azimuth>(text, path, azimuth_rad(new_rad), &show)
}

/// A length of the file put to a new one, m, in the units it is written in.
pub(super) fn set_length(
    text: &str,
    path: &str,
    new_m: f64,
    scene: Units,
) -> Result<Splice, EditError> {
    let old = value(text, path).unwrap_or_default();
    let units = units_of(old, scene);
    renumber::<Length>(text, path, new_m, &|m| length_text(m, units))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_number_is_read_and_written_as_it_stands() {
        for value in [
            "\"8 ft\"",
            "Eyed(\"8 ft\")",
            "Exactly(\"8 ft\")",
            "Measured(\"8 ft\")",
            "Paced(\"8 ft\")",
            "Within(\"8 ft\", \"1 ft\")",
            "Between(\"7 ft\", \"9 ft\")",
            "DontKnow",
        ] {
            assert_eq!(Written::read(value).unwrap().write(), value);
        }
        let spaced = Written::read("Within( /* a */ \"8 ft\" , \"1 ft\", ) // b").unwrap();
        assert_eq!(spaced.write(), "Within(\"8 ft\", \"1 ft\")");
        for value in ["8", "Litter(\"3 in\")", "Within(\"8 ft\")", "(a: 1)", ""] {
            assert_eq!(Written::read(value), None, "{value}");
        }
    }

    #[test]
    fn prop_a_length_reads_back_to_the_centimetre_or_the_half_inch() {
        for i in 0..4_000 {
            let length_m = f64::from(i) * 0.017_3 - 30.0;
            for (units, half_m) in [(Units::Metric, 0.005), (Units::Imperial, 0.25 * 0.0254)] {
                let text = length_text(length_m, units);
                let back: Length = text.parse().unwrap_or_else(|e| panic!("{e}"));
                assert!((back.m() - length_m).abs() <= half_m + 1e-9, "{length_m} as {text}");
            }
        }
        assert_eq!(length_text(-0.001, Units::Imperial), "0 ft");
        assert_eq!(length_text(3.2131, Units::Imperial), "10 ft 6 1/2 in");
        assert_eq!(azimuth_text(-1e-9, 1.0), "0 deg");
        assert_eq!(azimuth_text(1.0, 10.0), "57.3 deg");
        assert_eq!(azimuth_text(1.0, 100.0), "57.296 deg");
    }

    #[test]
    fn verif_limits_go_along_with_a_number() {
        let text = "(a: Between(\"340 deg\", \"350 deg\"), b: Within(\"3 m\", \"20 cm\"), c: Eyed(\"3 ft\"))";
        let at = |splice: Splice| splice.text;
        let a = |deg: f64| at(set_azimuth(text, "a", deg.to_radians(), 1.0).unwrap());
        assert_eq!(a(10.0), "Between(\"5 deg\", \"15 deg\")");
        assert_eq!(a(362.0), "Within(\"2 deg\", \"5 deg\")");
        assert_eq!(
            at(set_length(text, "b", 4.2, Units::Imperial).unwrap()),
            "Within(\"4.2 m\", \"20 cm\")"
        );
        assert_eq!(at(set_length(text, "c", 1.2192, Units::Metric).unwrap()), "Eyed(\"4 ft\")");
    }
}
