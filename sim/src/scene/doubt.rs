//! A number together with how sure it is.
//!
//! | word | a length, a mass, a speed, a share | an angle |
//! |---|---|---|
//! | measured | ±2 % | ±2° |
//! | paced | ±8 % | ±5° |
//! | eyed | ±20 % | ±10° |
//! | don't know | the whole plausible range of that field | the same |
//! | within, between | as stated | as stated |
//!
//! The limits are ours, for want of a published figure. Within them every value is taken as
//! likely as any other: the word says where the truth may lie, not where it is likelier.

/// How a number came to be known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum How {
    /// Not in doubt.
    Exactly,
    /// With a tape, an inclinometer, a compass.
    Measured,
    /// With paces.
    Paced,
    /// By eye.
    Eyed,
    /// With limits that the scene states.
    Stated,
    /// Not known: the whole plausible range.
    DontKnow,
}

impl How {
    /// The word a reader sees.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Exactly => "exact",
            Self::Measured => "measured",
            Self::Paced => "paced",
            Self::Eyed => "eyed",
            Self::Stated => "within stated limits",
            Self::DontKnow => "not known",
        }
    }

    /// Half width relative to the value, for anything but an angle.
    #[must_use]
    pub fn relative_half(self) -> f64 {
        match self {
            Self::Measured => 0.02,
            Self::Paced => 0.08,
            Self::Eyed => 0.20,
            Self::Exactly | Self::Stated | Self::DontKnow => 0.0,
        }
    }

    /// Half width of an angle, rad.
    #[must_use]
    pub fn angle_half_rad(self) -> f64 {
        match self {
            Self::Measured => 2.0_f64.to_radians(),
            Self::Paced => 5.0_f64.to_radians(),
            Self::Eyed => 10.0_f64.to_radians(),
            Self::Exactly | Self::Stated | Self::DontKnow => 0.0,
        }
    }
}

/// The limits between which a number may lie, and why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Least value, in the number's SI unit.
    pub low: f64,
    /// Greatest value, in the number's SI unit.
    pub high: f64,
    /// How the number came to be known.
    pub how: How,
}

/// A number as told and the limits between which it may lie; SI, the unit in the field's name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubtful {
    /// The value as told.
    pub told: f64,
    /// Where it may lie.
    pub spread: Spread,
}

impl Doubtful {
    /// A number without doubt.
    #[must_use]
    pub fn exact(told: f64) -> Self {
        Self { told, spread: Spread { low: told, high: told, how: How::Exactly } }
    }

    /// A number known as `how` says, relative to its size.
    #[must_use]
    pub fn relative(told: f64, how: How) -> Self {
        Self::around(told, told.abs() * how.relative_half(), how)
    }

    /// An angle (rad) known as `how` says.
    #[must_use]
    pub fn angle(told_rad: f64, how: How) -> Self {
        Self::around(told_rad, how.angle_half_rad(), how)
    }

    /// A number within `half` of what was told.
    #[must_use]
    pub fn around(told: f64, half: f64, how: How) -> Self {
        Self { told, spread: Spread { low: told - half, high: told + half, how } }
    }

    /// True when the number can be drawn differently from what was told.
    #[must_use]
    pub fn is_doubtful(&self) -> bool {
        self.spread.low < self.spread.high
    }

    /// The value at `share` (0 to 1) of the way through its limits.
    #[must_use]
    pub fn at(&self, share: f64) -> f64 {
        if self.is_doubtful() {
            self.spread.low + (self.spread.high - self.spread.low) * share
        } else {
            self.told
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_words_give_the_stated_limits() {
        let paced = Doubtful::relative(-10.0, How::Paced);
        assert!((paced.spread.low + 10.8).abs() < 1e-12 && (paced.spread.high + 9.2).abs() < 1e-12);
        let eyed = Doubtful::angle(0.0, How::Eyed);
        assert!((eyed.at(1.0).to_degrees() - 10.0).abs() < 1e-12);
        assert!((eyed.at(0.5)).abs() < 1e-12);
        assert_eq!(Doubtful::exact(3.0).at(0.9), 3.0);
    }
}
