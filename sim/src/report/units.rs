//! Numbers as a climber reads them, in the scene's units.

use crate::quantity::{Length, Quantity};

pub use crate::quantity::Units;

/// Metres in a foot (international foot, 1959).
const FOOT_M: f64 = 0.3048;
/// Kilograms in a pound (international pound, 1959).
const POUND_KG: f64 = 0.453_592_37;
/// Joules in a foot-pound force; newton metres too.
const FOOT_POUND_J: f64 = FOOT_M * POUND_KG * crate::GRAVITY_M_S2;
/// Newtons in a pound-force.
const POUND_FORCE_N: f64 = POUND_KG * crate::GRAVITY_M_S2;
/// Pascals in a pound-force per square inch.
const PSI_PA: f64 = POUND_FORCE_N / (FOOT_M / 12.0 * (FOOT_M / 12.0));
/// Metres a second in a mile an hour.
const MPH_M_S: f64 = 0.447_04;

impl Units {
    /// Length of one unit of distance, m.
    #[must_use]
    pub fn distance_unit_m(self) -> f64 {
        match self {
            Self::Metric => 1.0,
            Self::Imperial => FOOT_M,
        }
    }

    /// Short name of the unit of distance.
    #[must_use]
    pub fn distance_name(self) -> &'static str {
        match self {
            Self::Metric => "m",
            Self::Imperial => "ft",
        }
    }

    /// A distance over ground, with one decimal under 10 units.
    #[must_use]
    pub fn distance(self, distance_m: f64) -> String {
        format!("{} {}", self.distance_number(distance_m), self.distance_name())
    }

    /// As [`Units::distance`], without the unit.
    #[must_use]
    pub fn distance_number(self, distance_m: f64) -> String {
        let x = distance_m / self.distance_unit_m();
        if x.abs() < 9.95 { decimals(x, 1) } else { decimals(x, 0) }
    }

    /// A length of timber, as a scene says it.
    #[must_use]
    pub fn length(self, length_m: f64) -> String {
        Length::from_si(length_m).text(self)
    }

    /// A diameter: centimetres or inches.
    #[must_use]
    pub fn diameter(self, diameter_m: f64) -> String {
        Length::from_si(diameter_m).thickness_text(self)
    }

    /// A mass: kilograms or pounds, to three figures at most.
    #[must_use]
    pub fn mass(self, mass_kg: f64) -> String {
        match self {
            Self::Metric => format!("{} kg", three_figures(mass_kg)),
            Self::Imperial => format!("{} lb", three_figures(mass_kg / POUND_KG)),
        }
    }

    /// A volume of wood: cubic metres or cubic feet.
    #[must_use]
    pub fn volume(self, volume_m3: f64) -> String {
        match self {
            Self::Metric => format!("{} m³", decimals(volume_m3, 2)),
            Self::Imperial => format!("{} ft³", decimals(volume_m3 / FOOT_M.powi(3), 1)),
        }
    }

    /// A speed: metres a second or miles an hour.
    #[must_use]
    pub fn speed(self, speed_m_s: f64) -> String {
        match self {
            Self::Metric => format!("{} m/s", decimals(speed_m_s, 1)),
            Self::Imperial => format!("{} mph", decimals(speed_m_s / MPH_M_S, 0)),
        }
    }

    /// An energy: kilojoules or foot-pounds, to two or three figures.
    #[must_use]
    pub fn energy(self, energy_j: f64) -> String {
        match self {
            Self::Metric if energy_j.abs() < 9_950.0 => {
                format!("{} kJ", decimals(energy_j / 1000.0, 1))
            }
            Self::Metric => format!("{} kJ", three_figures(energy_j / 1000.0)),
            Self::Imperial => format!("{} ft·lb", three_figures(energy_j / FOOT_POUND_J)),
        }
    }

    /// A moment: newton metres or foot-pounds.
    #[must_use]
    pub fn moment(self, moment_n_m: f64) -> String {
        match self {
            Self::Metric => format!("{} N m", three_figures(moment_n_m)),
            Self::Imperial => format!("{} ft·lbf", three_figures(moment_n_m / FOOT_POUND_J)),
        }
    }

    /// A force: newtons and kilonewtons, or pounds, to three figures.
    #[must_use]
    pub fn force(self, force_n: f64) -> String {
        match self {
            Self::Metric if force_n.abs() < 995.0 => format!("{} N", three_figures(force_n)),
            Self::Metric if force_n.abs() < 9_950.0 => {
                format!("{} kN", decimals(force_n / 1000.0, 2))
            }
            Self::Metric if force_n.abs() < 99_500.0 => {
                format!("{} kN", decimals(force_n / 1000.0, 1))
            }
            Self::Metric => format!("{} kN", three_figures(force_n / 1000.0)),
            Self::Imperial => format!("{} lbf", three_figures(force_n / POUND_FORCE_N)),
        }
    }

    /// A stress: megapascals or pounds per square inch.
    #[must_use]
    pub fn stress(self, stress_pa: f64) -> String {
        match self {
            Self::Metric if stress_pa.abs() < 9.95e6 => {
                format!("{} MPa", decimals(stress_pa / 1e6, 2))
            }
            Self::Metric => format!("{} MPa", decimals(stress_pa / 1e6, 1)),
            Self::Imperial => format!("{} psi", three_figures(stress_pa / PSI_PA)),
        }
    }

    /// The largest of 1, 2 or 5 times a power of ten units that is not above `most_m`, m.
    #[must_use]
    pub fn round_step_m(self, most_m: f64) -> f64 {
        let unit = self.distance_unit_m();
        let most = (most_m / unit).max(1e-3);
        let mut power = 1e-3;
        while power * 10.0 <= most {
            power *= 10.0;
        }
        let digit = if most >= 5.0 * power {
            5.0
        } else if most >= 2.0 * power {
            2.0
        } else {
            1.0
        };
        digit * power * unit
    }
}

/// `x` with so many decimals and a true minus; never "-0".
#[must_use]
pub fn decimals(x: f64, places: usize) -> String {
    let text = format!("{:.places$}", x.abs());
    let is_zero = text.chars().all(|c| c == '0' || c == '.');
    if x < 0.0 && !is_zero { format!("−{text}") } else { text }
}

fn three_figures(x: f64) -> String {
    let mut step = 1.0;
    while x.abs() / step >= 1000.0 {
        step *= 10.0;
    }
    let whole = (x / step).round() * step;
    let digits = format!("{:.0}", whole.abs());
    let mut grouped = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            grouped.push(',');
        }
        grouped.push(c);
    }
    if whole < 0.0 { format!("−{grouped}") } else { grouped }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_numbers_read_as_a_climber_says_them() {
        let (m, i) = (Units::Metric, Units::Imperial);
        for (got, want) in [
            (m.distance(3.12), "3.1 m"),
            (m.distance(42.4), "42 m"),
            (m.distance(-0.01), "0.0 m"),
            (m.distance(-12.0), "−12 m"),
            (i.distance(3.048), "10 ft"),
            (i.length(1.9304), "6 ft 4 in"),
            (i.length(1.8288), "6 ft"),
            (i.length(0.2032), "8 in"),
            (m.length(1.9), "1.9 m"),
            (i.diameter(0.4572), "18 in"),
            (i.mass(204.1166), "450 lb"),
            (m.mass(1234.0), "1,230 kg"),
            (m.speed(8.04), "8.0 m/s"),
            (i.speed(8.9408), "20 mph"),
            (m.energy(4321.0), "4.3 kJ"),
            (m.energy(43_210.0), "43 kJ"),
            (i.energy(1355.8179), "1,000 ft·lb"),
            (m.volume(0.2867), "0.29 m³"),
            (i.volume(0.3), "10.6 ft³"),
            (m.moment(-0.4), "0 N m"),
            (m.moment(-1234.0), "−1,230 N m"),
            (i.moment(135.581_79), "100 ft·lbf"),
            (m.force(450.0), "450 N"),
            (m.force(5_338.0), "5.34 kN"),
            (m.force(23_456.0), "23.5 kN"),
            (i.force(5_338.0), "1,200 lbf"),
            (m.stress(57.2e6), "57.2 MPa"),
            (i.stress(57.226e6), "8,300 psi"),
        ] {
            assert_eq!(got, want);
        }
    }

    #[test]
    fn verif_round_steps_are_one_two_or_five() {
        for (most, step) in [(1.0, 1.0), (1.9, 1.0), (2.0, 2.0), (49.0, 20.0), (50.0, 50.0)] {
            assert!((Units::Metric.round_step_m(most) - step).abs() < 1e-9, "{most}");
        }
        assert!((Units::Imperial.round_step_m(7.0) - 20.0 * 0.3048).abs() < 1e-9);
    }
}
