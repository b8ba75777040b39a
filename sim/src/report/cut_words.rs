//! A cut's release in words, and the numbers of scenes as a reader of its units sees them.

use crate::{
    quantity::{Angle, Force, Length, Quantity as _, Share, Speed, Units},
    report::units::decimals,
    scene::model::{Face, Push, ReleaseSpec},
};

/// How a piece is let go, with every number as told.
#[must_use]
pub fn release_words(release: &ReleaseSpec, units: Units) -> String {
    let face = |f: &Face| {
        format!(
            "toward {}, open {}, {} deep; hinge {} thick, {} of the width",
            angle(f.toward_rad.told, units),
            angle(f.opening_rad.told, units),
            share(f.depth_share.told, units),
            length(f.hinge_m.told, units),
            share(f.width_share.told, units)
        )
    };
    let push = |p: &Push| {
        format!("push {} at {}", force(p.force_n.told, units), length(p.height_m.told, units))
    };
    let by = |p: &Option<Push>| p.as_ref().map_or("no push".to_owned(), push);
    match release {
        ReleaseSpec::Hinge { face: f, push: p } => {
            format!("hinge over a face {}; {}", face(f), by(p))
        }
        ReleaseSpec::BoredHinge { face: f, strap_m, push: p } => format!(
            "bored hinge over a face {}; strap {}; {}",
            face(f),
            length(strap_m.told, units),
            by(p)
        ),
        ReleaseSpec::Snap { toward_rad, push: p } => {
            format!("snap cut toward {}; {}", angle(toward_rad.told, units), push(p))
        }
        ReleaseSpec::PushOver { toward_rad, push: p } => format!(
            "flat cut, pushed over the rim toward {}; {}",
            angle(toward_rad.told, units),
            push(p)
        ),
        ReleaseSpec::UnderAndTop { under_share, step_m, .. } => format!(
            "under cut {} deep; top cut {} {}",
            share(under_share.told, units),
            length(step_m.told.abs(), units),
            if step_m.told < 0.0 { "inside it" } else { "outside it" }
        ),
    }
}

/// A length, finer where it is a matter of a hinge.
#[must_use]
pub fn length(x_m: f64, units: Units) -> String {
    // A hinge is a matter of a sixteenth of an inch.
    match units {
        Units::Metric if x_m.abs() < 0.1 => format!("{} mm", decimals(x_m * 1000.0, 1)),
        Units::Imperial if x_m.abs() < 0.1 => format!("{} in", decimals(x_m / 0.0254, 2)),
        _ => Length::from_si(x_m).text(units),
    }
}

/// An angle.
#[must_use]
pub fn angle(x_rad: f64, units: Units) -> String {
    Angle::from_si(x_rad).text(units)
}

/// A share of one.
#[must_use]
pub fn share(x: f64, units: Units) -> String {
    Share::from_si(x).text(units)
}

/// A force.
#[must_use]
pub fn force(x_n: f64, units: Units) -> String {
    match units {
        Units::Metric if x_n.abs() < 1000.0 => format!("{} N", decimals(x_n, 0)),
        _ => Force::from_si(x_n).text(units),
    }
}

/// A mass.
#[must_use]
pub fn mass(x_kg: f64, units: Units) -> String {
    units.mass(x_kg)
}

/// A speed.
#[must_use]
pub fn speed(x_m_s: f64, units: Units) -> String {
    Speed::from_si(x_m_s).text(units)
}
