//! The kinds of quantities: their units, limits and how a reader sees them.

use std::{marker::PhantomData, str::FromStr};

use serde::de::{Deserialize, Deserializer};

use super::{Kind, Quantity, QuantityError, Units, Words};

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
