//! The standing stem: diameters, lean and decay.
//!
//! Heights run along the stem from its foot. The **stem frame** has its origin on the stem's axis
//! at the cut, z up the stem; turned upright without twist it is the world frame (x east,
//! y north), so that an azimuth on the stem is clockwise from north as seen with the lean taken
//! out.
//!
//! Between measured diameters the stem tapers straight; a stem of which only breast-height
//! diameter D and height H are known follows the published taper (Westfall et al. 2023,
//! GTR-WO-104, models 1, 6 and 7, outside bark, national rows):
//!
//! ```text
//! V    = a·D^b·H^c                                               ft³ from in and ft
//! d(h) = √( V/(0.005454154·H)·α·β·(1−h/H)^(α−1)·(1−(1−h/H)^α)^(β−1) )      in
//! ```
//!
//! That curve keeps the volume and misses D by some percent; a climber has measured D, so the
//! whole curve is scaled by D/d(4.5 ft). The scaling is ours. Forest-grown trees stand behind the
//! coefficients; an open-grown stem tapers faster. Left out: curve, ovality, flare below 1 ft.
//!
//! Known answer: `val_taper_of_a_white_oak`.

use glam::{DQuat, DVec3};
use thiserror::Error;

use super::crown;
use crate::wood::{Species, TaperCoefficients};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;
/// Height at which breast-height diameter is measured, m (4.5 ft).
pub const BREAST_HEIGHT_M: f64 = 4.5 * M_PER_FT;
/// Diameter the stem ends with at its top, m. Ours: a point has no face to stand on.
const TIP_DIAMETER_M: f64 = 0.02;
/// Spacing of stations on a stem drawn from the published taper, m: the chord misses the
/// diameter by less than 6 mm, and few rounds keep a drop quick.
const STATION_SPACING_M: f64 = 1.5;

/// A diameter at a height along the stem.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Height along the stem from its foot, m.
    pub height_m: f64,
    /// Diameter over bark, m.
    pub diameter_m: f64,
}

/// A hollow or decayed core.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hollow {
    /// Lower end along the stem, m.
    pub from_m: f64,
    /// Upper end along the stem, m.
    pub to_m: f64,
    /// Thickness of the sound shell, bark included, m; the core within weighs nothing.
    pub sound_shell_m: f64,
}

/// How the stem leans.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lean {
    /// Angle from vertical, rad.
    pub angle_rad: f64,
    /// Azimuth it leans toward, clockwise from north, rad.
    pub azimuth_rad: f64,
}

/// A standing stem. Make one with [`Stem::measured`] or [`Stem::published`].
#[derive(Clone, Debug, PartialEq)]
pub struct Stem {
    /// Diameters by height, rising.
    pub stations: Vec<Station>,
    /// Green density of wood and bark, kg/m³.
    pub density_kg_m3: f64,
    /// Decay.
    pub hollows: Vec<Hollow>,
    /// Lean.
    pub lean: Lean,
    /// Most pressure the side grain bears, Pa.
    pub side_crush_pa: f64,
    /// Most pressure the end grain bears, Pa.
    pub end_crush_pa: f64,
    /// Modulus of rupture, Pa.
    pub rupture_pa: f64,
    /// Modulus of elasticity, Pa.
    pub elasticity_pa: f64,
    /// Speed from which its brush lays itself into the wind, m/s.
    pub brush_yields_at_m_s: f64,
}

/// What makes a stem or a section impossible.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum StemError {
    /// Fewer than two diameters.
    #[error("a stem needs its diameter at two heights or more")]
    TooFewStations,
    /// Heights that don't rise.
    #[error("heights must rise: {height_m} m does not follow {before_m} m")]
    HeightsDontRise {
        /// The height before, m.
        before_m: f64,
        /// The offending height, m.
        height_m: f64,
    },
    /// A number that is zero, negative or not a number.
    #[error("{what} must be more than zero, not {value}")]
    NotPositive {
        /// What it is, with its unit.
        what: &'static str,
        /// The number.
        value: f64,
    },
    /// A height too small for the published taper.
    #[error(
        "the published taper needs a tree taller than breast height (1.37 m), not {height_m} m"
    )]
    TooLow {
        /// The tree's height, m.
        height_m: f64,
    },
    /// A section that is not on the stem or has no length.
    #[error(
        "section from {from_m} m to {to_m} m is not on the stem (0 m to {top_m} m) or upside down"
    )]
    NotOnStem {
        /// Lower end, m.
        from_m: f64,
        /// Upper end, m.
        to_m: f64,
        /// Top of the stem, m.
        top_m: f64,
    },
    /// A stub that is not on the section.
    #[error("stub at {height_m} m is not on the section from {from_m} m to {to_m} m")]
    StubNotOnSection {
        /// The stub's height along the stem, m.
        height_m: f64,
        /// Lower end of the section, m.
        from_m: f64,
        /// Upper end of the section, m.
        to_m: f64,
    },
}

impl Lean {
    /// Lean from a plumb line: it hangs `offset_m` from the stem's foot, let down from
    /// `height_m` up.
    #[must_use]
    pub fn from_plumb_line(offset_m: f64, height_m: f64, azimuth_rad: f64) -> Self {
        Self { angle_rad: libm::atan2(offset_m, height_m), azimuth_rad }
    }

    /// Turns the stem frame into the world frame: tilts the vertical toward the azimuth, with no
    /// twist.
    #[must_use]
    pub fn attitude(&self) -> DQuat {
        let half = 0.5 * self.angle_rad;
        let axis = DVec3::new(-libm::cos(self.azimuth_rad), libm::sin(self.azimuth_rad), 0.0);
        let v = axis * libm::sin(half);
        DQuat::from_xyzw(v.x, v.y, v.z, libm::cos(half)).normalize()
    }
}

impl Stem {
    /// A stem of measured diameters, upright and sound. Below the lowest of them its diameter is
    /// kept; if the tree's height is given and no diameter reaches it, the stem tapers straight
    /// to a tip of 2 cm there.
    ///
    /// # Errors
    /// Fewer than two diameters (the tip counts), heights that don't rise, numbers not above zero.
    pub fn measured(
        mut stations: Vec<Station>,
        height_m: Option<f64>,
        species: &Species,
    ) -> Result<Self, StemError> {
        for s in &stations {
            above_zero("a diameter in m", s.diameter_m)?;
            if !(s.height_m >= 0.0 && s.height_m.is_finite()) {
                return Err(StemError::NotPositive { what: "a height in m", value: s.height_m });
            }
        }
        if let (Some(height_m), Some(last)) = (height_m, stations.last())
            && height_m > last.height_m
        {
            let diameter_m = TIP_DIAMETER_M.min(last.diameter_m);
            stations.push(Station { height_m, diameter_m });
        }
        if stations.len() < 2 {
            return Err(StemError::TooFewStations);
        }
        for pair in stations.windows(2) {
            if pair[1].height_m <= pair[0].height_m {
                let (before_m, height_m) = (pair[0].height_m, pair[1].height_m);
                return Err(StemError::HeightsDontRise { before_m, height_m });
            }
        }
        if stations[0].height_m > 0.0 {
            stations.insert(0, Station { height_m: 0.0, ..stations[0] });
        }
        Ok(Self {
            stations,
            density_kg_m3: species.density_kg_m3,
            hollows: Vec::new(),
            lean: Lean::default(),
            side_crush_pa: species.compression_across_pa,
            end_crush_pa: species.compression_along_pa,
            rupture_pa: species.rupture_pa,
            elasticity_pa: species.elasticity_pa,
            brush_yields_at_m_s: crown::yields_at_m_s(species),
        })
    }

    /// A stem from breast-height diameter and height by the published taper, scaled through the
    /// diameter; upright and sound.
    ///
    /// # Errors
    /// Numbers not above zero, a tree lower than breast height.
    pub fn published(dbh_m: f64, height_m: f64, species: &Species) -> Result<Self, StemError> {
        above_zero("breast-height diameter in m", dbh_m)?;
        above_zero("height in m", height_m)?;
        if height_m <= BREAST_HEIGHT_M {
            return Err(StemError::TooLow { height_m });
        }
        let taper = &species.taper;
        let curve_m = |h_m: f64| published_diameter_m(taper, dbh_m, height_m, h_m);
        let scale = dbh_m / curve_m(BREAST_HEIGHT_M);
        let steps = ((height_m - BREAST_HEIGHT_M) / STATION_SPACING_M).ceil().max(1.0);
        let spacing_m = (height_m - BREAST_HEIGHT_M) / steps;
        // Below one foot the curve runs off to infinity; the stump's flare is not in it.
        // It is most curved between one foot and breast height.
        let heights = [M_PER_FT, 2.5 * M_PER_FT]
            .into_iter()
            .chain((0..).map(|i| BREAST_HEIGHT_M + spacing_m * f64::from(i)));
        let stations = heights
            .take(3 + steps as usize)
            .map(|h_m| {
                let diameter_m = (scale * curve_m(h_m)).max(TIP_DIAMETER_M);
                Station { height_m: h_m.min(height_m), diameter_m }
            })
            .collect();
        Self::measured(stations, None, species)
    }

    /// Height of the top along the stem, m.
    #[must_use]
    pub fn top_m(&self) -> f64 {
        self.stations.last().map_or(0.0, |s| s.height_m)
    }

    /// Radius of the hollow or rotten core at a height along the stem, m; 0 where the stem is sound.
    #[must_use]
    pub fn core_radius_m(&self, height_m: f64) -> f64 {
        let radius_m = 0.5 * self.diameter_m(height_m);
        self.hollows
            .iter()
            .filter(|h| h.from_m <= height_m && height_m < h.to_m)
            .map(|h| (radius_m - h.sound_shell_m).max(0.0))
            .fold(0.0, f64::max)
    }

    /// Diameter over bark at a height along the stem, m; past the ends that of the end.
    #[must_use]
    pub fn diameter_m(&self, height_m: f64) -> f64 {
        let above = self.stations.partition_point(|s| s.height_m <= height_m);
        match (above.checked_sub(1).and_then(|i| self.stations.get(i)), self.stations.get(above)) {
            (Some(a), Some(b)) => {
                let share = (height_m - a.height_m) / (b.height_m - a.height_m);
                a.diameter_m + share * (b.diameter_m - a.diameter_m)
            }
            (Some(s), None) | (None, Some(s)) => s.diameter_m,
            (None, None) => 0.0,
        }
    }
}

/// Model 7 of Westfall et al. 2023 as published: diameter outside bark at `h_m`, m.
#[must_use]
pub fn published_diameter_m(t: &TaperCoefficients, dbh_m: f64, height_m: f64, h_m: f64) -> f64 {
    let (dbh_in, height_ft) = (dbh_m / M_PER_IN, height_m / M_PER_FT);
    let volume_ft3 = t.a * libm::pow(dbh_in, t.b) * libm::pow(height_ft, t.c);
    let above = (1.0 - h_m / height_m).max(0.0);
    let share = t.alpha
        * t.beta
        * libm::pow(above, t.alpha - 1.0)
        * libm::pow(1.0 - libm::pow(above, t.alpha), t.beta - 1.0);
    (volume_ft3 / (0.005_454_154 * height_ft) * share).sqrt() * M_PER_IN
}

/// Passes a number above zero.
pub(crate) fn above_zero(what: &'static str, value: f64) -> Result<(), StemError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(StemError::NotPositive { what, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wood::species;

    /// Model 7 worked for 20 in × 80 ft at 1, 4.5, 16, 32, 48 and 64 ft (Westfall et al. 2023,
    /// coefficients of its tables S2a and S5a).
    #[test]
    fn val_taper_of_a_white_oak() {
        let table = [
            ("white oak", [24.8, 21.3, 17.2, 13.5, 10.0, 6.1]),
            ("black cherry", [21.8, 20.3, 17.5, 14.0, 10.4, 6.3]),
            ("Douglas-fir", [22.3, 20.3, 17.4, 14.1, 10.7, 6.8]),
        ];
        for (name, inches) in table {
            let taper = &species(name).unwrap().taper;
            for (h_ft, d_in) in [1.0, 4.5, 16.0, 32.0, 48.0, 64.0].into_iter().zip(inches) {
                let d_m = published_diameter_m(taper, 0.508, 80.0 * 0.3048, h_ft * 0.3048);
                assert!((d_m / 0.0254 - d_in).abs() < 0.051, "{name} {h_ft} ft: {d_m}");
            }
        }
    }

    #[test]
    fn prop_published_stem_passes_through_its_diameter_and_narrows() {
        for (dbh_m, height_m) in [(0.508, 24.4), (0.2, 1.6), (1.1, 41.0)] {
            let stem = Stem::published(dbh_m, height_m, species("white oak").unwrap()).unwrap();
            assert!((stem.diameter_m(BREAST_HEIGHT_M) - dbh_m).abs() < 1e-12);
            assert_eq!(stem.top_m(), height_m);
            assert!(stem.stations.windows(2).all(|p| p[1].diameter_m <= p[0].diameter_m));
        }
    }

    /// The chords between stations miss the curve by little where sections are cut.
    #[test]
    fn verif_stations_follow_the_published_curve() {
        let oak = species("white oak").unwrap();
        let (dbh_m, height_m) = (0.508, 24.4);
        let stem = Stem::published(dbh_m, height_m, oak).unwrap();
        let curve_m = |h_m| published_diameter_m(&oak.taper, dbh_m, height_m, h_m);
        let scale = dbh_m / curve_m(BREAST_HEIGHT_M);
        for i in 0..200 {
            let h_m = 0.31 + 0.11 * f64::from(i);
            let off_m = (stem.diameter_m(h_m) - scale * curve_m(h_m)).abs();
            assert!(off_m < 0.006, "{h_m}: {off_m}");
        }
    }

    #[test]
    fn verif_plumb_line_and_lean() {
        let lean = Lean::from_plumb_line(1.524, 11.58, 200_f64.to_radians());
        assert!((lean.angle_rad.to_degrees() - 7.497).abs() < 1e-3);
        let up = lean.attitude() * DVec3::Z;
        assert!((up.x - lean.angle_rad.sin() * 200_f64.to_radians().sin()).abs() < 1e-12);
        assert!((up.y - lean.angle_rad.sin() * 200_f64.to_radians().cos()).abs() < 1e-12);
        let north = Lean { angle_rad: 0.1, azimuth_rad: 0.0 };
        assert!((north.attitude() * DVec3::X - DVec3::X).length() < 1e-12);
    }

    #[test]
    fn prop_impossible_stems_are_refused() {
        let oak = species("white oak").unwrap();
        let at = |height_m, diameter_m| Station { height_m, diameter_m };
        assert_eq!(Stem::measured(vec![], None, oak).unwrap_err(), StemError::TooFewStations);
        assert_eq!(
            Stem::measured(vec![at(1.0, 0.4)], None, oak).unwrap_err(),
            StemError::TooFewStations
        );
        assert!(Stem::measured(vec![at(1.0, 0.4)], Some(20.0), oak).is_ok());
        for bad in [vec![at(1.0, 0.4), at(1.0, 0.3)], vec![at(1.0, 0.4), at(3.0, f64::NAN)]] {
            assert!(Stem::measured(bad, None, oak).is_err());
        }
        assert!(Stem::published(0.5, 1.2, oak).is_err());
        assert!(Stem::published(-0.5, 12.0, oak).is_err());
    }
}
