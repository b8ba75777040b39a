//! Shares, counts and modes in plain words, the same in tables and pictures.

use crate::{
    drop::{Place, RestsOn},
    forecast::result::{Interval, TargetForecast},
    outcome::Mode,
    scene::model::{Cover, GroundSpec, Heel, North, SoilWord, Thumb, Wetness},
};

/// How a mode is called.
#[must_use]
pub fn mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Tumbled => "tumbled end over end",
        Mode::Stayed => "stayed",
        Mode::Rolled => "rolled",
        Mode::Slid => "slid",
    }
}

/// How a part of the piece is called.
#[must_use]
pub fn place(place: Place) -> &'static str {
    match place {
        Place::Butt => "butt",
        Place::Top => "top",
        Place::Side => "side",
        Place::Flat => "flat",
    }
}

/// What a piece rests on.
#[must_use]
pub fn rests_on(rests_on: RestsOn) -> &'static str {
    match rests_on {
        RestsOn::Ground => "the ground",
        RestsOn::Structure => "a structure",
        RestsOn::Tree => "a tree",
        RestsOn::Line => "a line",
    }
}

/// An id as a label: underscores become spaces.
#[must_use]
pub fn name(id: &str) -> String {
    id.replace('_', " ")
}

/// A share as a number in a hundred; what is little but not nothing says so.
#[must_use]
pub fn in_hundred(share: f64) -> String {
    if share > 0.0 && share < 0.005 {
        "under 1".to_owned()
    } else if share < 1.0 && share > 0.995 {
        "over 99".to_owned()
    } else {
        format!("{:.0}", 100.0 * share)
    }
}

/// The headline: least and greatest share among the grounds.
#[must_use]
pub fn over_grounds(range: Interval) -> String {
    let (low, high) = (in_hundred(range.low), in_hundred(range.high));
    if range.high <= 0.0 {
        "none in any drop over other grounds that fit your notes".to_owned()
    } else if low == high {
        format!("about {high} in 100 over other grounds that fit your notes")
    } else {
        format!("between {low} and {high} in 100 over other grounds that fit your notes")
    }
}

/// The counts on the ground as told; none is a bound, and drops that were lost are said.
#[must_use]
pub fn as_told(target: &TargetForecast, drops: u32) -> String {
    let mut text = format!("{} of {drops} on the ground as you told it", target.reached);
    if target.unknown > 0 {
        text.push_str(&format!(", {} more can't be told", target.unknown));
    }
    text
}

/// An upper bound on a share, rounded up so that it still bounds: "at most 8 in 1000".
#[must_use]
pub fn at_most(high: f64) -> String {
    if high < 0.1 {
        format!("at most {:.0} in 1000", (1000.0 * high).ceil().max(1.0))
    } else {
        format!("at most {:.0} in 100", (100.0 * high).ceil().min(100.0))
    }
}

/// Counting noise alone, said as such, for the second line.
#[must_use]
pub fn counting_noise(target: &TargetForecast, confidence: f64) -> String {
    let percent = 100.0 * confidence;
    if target.reached == 0 {
        format!("{} by counting alone ({percent:.0} %, two-sided)", at_most(target.high))
    } else {
        format!(
            "{} to {} in 100 by counting alone ({percent:.0} %, two-sided)",
            in_hundred(target.low),
            in_hundred(target.high)
        )
    }
}

/// What azimuths count from.
#[must_use]
pub fn north(north: Option<North>) -> &'static str {
    match north {
        Some(North::Magnetic { .. }) => "magnetic north",
        Some(North::True) => "true north",
        Some(North::Grid) => "grid north",
        None => "the scene's north",
    }
}

/// The ground as the user told it.
#[must_use]
pub fn ground(spec: &GroundSpec) -> String {
    let soil = match spec.soil {
        SoilWord::Thumb(Thumb::FistEasily) => "fist goes in easily",
        SoilWord::Thumb(Thumb::ThumbEasily) => "thumb goes in easily",
        SoilWord::Thumb(Thumb::ThumbWithEffort) => "thumb goes in with effort",
        SoilWord::Thumb(Thumb::ThumbIndents) => "thumb leaves a dent",
        SoilWord::Thumb(Thumb::Thumbnail) => "thumbnail marks it",
        SoilWord::Thumb(Thumb::ThumbnailWithDifficulty) => "thumbnail hardly marks it",
        SoilWord::Heel(Heel::None) => "loose, heel leaves no mark",
        SoilWord::Heel(Heel::OneCm) => "loose, heel mark 1 cm",
        SoilWord::Heel(Heel::ThreeCm) => "loose, heel mark 3 cm",
        SoilWord::Heel(Heel::OverTheWelt) => "loose, heel sinks over the welt",
        SoilWord::Gravel => "gravel",
        SoilWord::Pavement => "pavement",
        SoilWord::DontKnow => "soil not tested",
    };
    let cover = match &spec.cover {
        Cover::Litter(_) => ", litter on it",
        Cover::Turf(_) => ", turf on it",
        Cover::Bare => ", bare",
        Cover::DontKnow => ", cover not looked at",
    };
    let wet = match spec.wetness {
        Wetness::Dry => ", dry",
        Wetness::Damp => ", damp",
        Wetness::Wet => ", wet",
        Wetness::DontKnow => ", wetness not known",
    };
    format!("{soil}{cover}{wet}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_words_for_shares() {
        let range = |low, high| over_grounds(Interval { low, high });
        assert_eq!(
            range(0.0, 0.31),
            "between 0 and 31 in 100 over other grounds that fit your notes"
        );
        assert_eq!(range(0.0, 0.0), "none in any drop over other grounds that fit your notes");
        assert_eq!(
            range(0.0, 0.002),
            "between 0 and under 1 in 100 over other grounds that fit your notes"
        );
        assert_eq!(at_most(0.00735), "at most 8 in 1000");
        assert_eq!(at_most(0.152), "at most 16 in 100");
        assert_eq!(in_hundred(0.999), "over 99");
    }
}
