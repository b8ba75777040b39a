//! Draws and the words for them: numbers in either system, plain or with their doubt.

use tumblewood::keyed::Key;

const FT_M: f64 = 0.3048;

/// Draws one after another from a key and writes them down.
pub(super) struct Pen {
    key: Key,
    drawn: u64,
    imperial: bool,
}

/// How a number is written: its half width when stated, and the words of its unit.
#[derive(Clone, Copy)]
pub(super) enum Kind {
    /// m, to the centimetre or inch.
    Length,
    /// m, to the millimetre or tenth of an inch.
    Thickness,
    /// deg.
    Angle,
    /// deg, from 0 to 360.
    Azimuth,
    /// deg, or percent.
    Slope,
    /// Part of one.
    Share,
    /// N.
    Force,
    /// m/s.
    Speed,
}

impl Pen {
    pub(super) fn new(number: u64) -> Self {
        let key = Key::root(20_617).word("scene").number(number);
        let imperial = key.word("units").uniform() < 0.5;
        Self { key, drawn: 0, imperial }
    }

    pub(super) fn units_word(&self) -> &'static str {
        if self.imperial { "Imperial" } else { "Metric" }
    }

    pub(super) fn share(&mut self) -> f64 {
        self.drawn += 1;
        self.key.number(self.drawn).uniform()
    }

    pub(super) fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// A whole number from `least` to `most`.
    pub(super) fn whole(&mut self, least: usize, most: usize) -> usize {
        least + (self.share() * (most - least + 1) as f64) as usize
    }

    pub(super) fn one_in(&mut self, n: usize) -> bool {
        self.whole(1, n) == 1
    }

    pub(super) fn pick(&mut self, words: &[&'static str]) -> &'static str {
        words[self.whole(0, words.len() - 1)]
    }

    /// A length as the scene's units can say it, m.
    pub(super) fn rounded(&self, length_m: f64) -> f64 {
        let step = if self.imperial { FT_M / 12.0 } else { 0.01 };
        (length_m / step).round() * step
    }

    /// A length without doubt.
    pub(super) fn length(&mut self, length_m: f64) -> String {
        self.said(Kind::Length, length_m)
    }

    /// `value` in words, in quotes.
    pub(super) fn said(&mut self, kind: Kind, value: f64) -> String {
        let text = match (kind, self.imperial) {
            (Kind::Length, false) if value.abs() < 1.0 || self.one_in(6) => {
                format!("{:.0} cm", value * 100.0)
            }
            (Kind::Length, false) => format!("{value:.2} m"),
            (Kind::Length, true) => {
                let inches = (value / FT_M * 12.0).round();
                let feet = (inches.abs() / 12.0).floor();
                let sign = if inches < 0.0 { "-" } else { "" };
                if inches.abs() < 12.0 || self.one_in(6) {
                    format!("{inches} in")
                } else {
                    format!("{sign}{feet} ft {} in", inches.abs() - 12.0 * feet)
                }
            }
            (Kind::Thickness, false) => format!("{:.0} mm", value * 1000.0),
            (Kind::Thickness, true) => format!("{:.1} in", value / FT_M * 12.0),
            (Kind::Angle | Kind::Azimuth, _) => format!("{value:.1} deg"),
            (Kind::Slope, _) if self.one_in(3) => {
                format!("{:.0} %", 100.0 * value.to_radians().tan())
            }
            (Kind::Slope, _) => format!("{value:.1} deg"),
            (Kind::Share, _) => format!("{:.0} %", 100.0 * value),
            (Kind::Force, false) => format!("{value:.0} N"),
            (Kind::Force, true) => format!("{:.0} lbf", value / 4.448_222),
            (Kind::Speed, false) => format!("{value:.1} m/s"),
            (Kind::Speed, true) => format!("{:.0} mph", value / 0.447_04),
        };
        format!("\"{text}\"")
    }

    /// `value` plain or with one of the words of doubt.
    pub(super) fn told(&mut self, kind: Kind, value: f64) -> String {
        let word =
            self.pick(&["", "", "Exactly", "Measured", "Paced", "Eyed", "Within", "Between"]);
        let half = match kind {
            Kind::Angle | Kind::Slope => 2.0_f64.min(value.abs()),
            Kind::Azimuth => 4.0_f64.min(value).min(360.0 - value),
            // A length of a few units of its scale has no room for less than one.
            _ => 0.04 * value.abs(),
        };
        match word {
            "" => self.said(kind, value),
            "Within" | "Between" if half <= 0.0 => self.said(kind, value),
            "Within" => {
                let half = if matches!(kind, Kind::Slope) {
                    format!("\"{half:.1} deg\"")
                } else {
                    self.said(kind, half)
                };
                format!("Within({}, {half})", self.said(kind, value))
            }
            "Between" => {
                let low = self.said(kind, value - half);
                format!("Between({low}, {})", self.said(kind, value + half))
            }
            word => format!("{word}({})", self.said(kind, value)),
        }
    }

    /// As [`Pen::told`], or now and then not known.
    pub(super) fn told_or_not(&mut self, kind: Kind, value: f64) -> String {
        if self.one_in(6) { "DontKnow".to_owned() } else { self.told(kind, value) }
    }

    /// A length of `low` to `high`, m, with its doubt.
    pub(super) fn lengths(&mut self, low_m: f64, high_m: f64) -> String {
        let value = self.within(low_m, high_m);
        self.told(Kind::Length, value)
    }
}
