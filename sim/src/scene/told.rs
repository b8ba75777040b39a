//! A number in a scene file, plain or with how it came to be known.
//!
//! ```text
//! told = "24 in"                      -- known as the scene's `doubt` says
//!      | Exactly("24 in") | Measured("24 in") | Paced("24 in") | Eyed("24 in")
//!      | Within("24 in", "2 in")      -- 22 in to 26 in
//!      | Between("20 in", "28 in")
//!      | DontKnow                     -- where a plausible range is known
//! ```

use ron::value::RawValue;
use serde::de::{Deserialize, Deserializer, Error};

use crate::quantity::{Quantity, bare};

/// A number as written.
#[derive(Clone, Copy, Debug, PartialEq, serde::Deserialize)]
#[serde(rename = "number with its doubt")]
enum Words<Q> {
    Exactly(Q),
    Measured(Q),
    Paced(Q),
    Eyed(Q),
    Within(Q, Q),
    Between(Q, Q),
    DontKnow,
}

/// A number as written, plain or with its doubt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Told<Q> {
    /// Known as the scene's `doubt` says.
    Plain(Q),
    /// Not in doubt.
    Exactly(Q),
    /// Tape, inclinometer, compass.
    Measured(Q),
    /// Paces.
    Paced(Q),
    /// By eye.
    Eyed(Q),
    /// Value and half width.
    Within(Q, Q),
    /// Least and greatest.
    Between(Q, Q),
    /// Not known.
    DontKnow,
}

impl<'de, Q: Quantity + Deserialize<'de>> Deserialize<'de> for Told<Q> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        // RON tells a reader of "anything" the fields of a variant but not its name, so the
        // value is taken as text first.
        let raw = <&RawValue>::deserialize(deserializer)?;
        let text = super::locate::without_comments(raw.get_ron());
        let first = text.chars().next().unwrap_or(' ');
        let refuse = |code: ron::Error| D::Error::custom(super::error::said(&code));
        if first == '"' || (first == 'r' && text.contains('"')) {
            return ron::from_str::<Q>(text).map(Self::Plain).map_err(|e| refuse(e.code));
        }
        if first.is_ascii_digit() || matches!(first, '-' | '+' | '.') {
            return Err(D::Error::custom(bare::<Q>(text).said()));
        }
        if matches!(text, "NaN" | "inf") {
            return Err(D::Error::custom(bare::<Q>(text).said()));
        }
        let words: Words<Q> = ron::from_str(text).map_err(|e| refuse(e.code))?;
        Ok(match words {
            Words::Exactly(q) => Self::Exactly(q),
            Words::Measured(q) => Self::Measured(q),
            Words::Paced(q) => Self::Paced(q),
            Words::Eyed(q) => Self::Eyed(q),
            Words::Within(q, half) => Self::Within(q, half),
            Words::Between(low, high) => Self::Between(low, high),
            Words::DontKnow => Self::DontKnow,
        })
    }
}
