//! Inputs in doubt by the words of whoever told them: "litter on the soil" for
//! `site.ground.top.thickness`, and their values as such a reader sees them.

use super::{cut_words, units::decimals, words};
use crate::{
    quantity::Units,
    scene::model::{Cover, GroundSpec, Scene},
};

/// What a number is, to be written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Length,
    Pressure,
    Angle,
    Density,
    Plain,
    YesNo,
}

/// Numbers of a ground by the end of their path; LAYER stands for what lies on the soil.
const GROUND: [(&str, &str, Kind); 31] = [
    ("soil.shear_strength", "strength of the soil", Kind::Pressure),
    ("soil.friction_angle", "friction angle of the loose ground", Kind::Angle),
    ("soil.density", "density of the soil", Kind::Density),
    ("soil.inertial_factor", "how much soil a blow throws aside", Kind::Plain),
    ("soil.rate_factor", "how much stronger the soil is in a quick blow", Kind::Plain),
    ("soil.side_bearing_deep", "what soil bears under the side of a log", Kind::Plain),
    ("soil.sideways_share", "what soil bears against upright faces", Kind::Plain),
    ("soil.mobilised_at", "how far soil gives before it holds", Kind::Plain),
    ("soil.friction", "friction of wood on the soil", Kind::Plain),
    ("soil.adhesion", "where wet, traction over soil strength", Kind::Plain),
    ("traction_capped", "so wet that the soil's strength limits traction", Kind::YesNo),
    ("wetness", "how wet it is", Kind::Plain),
    ("soil.loose", "loose ground, where it was not tested", Kind::YesNo),
    ("cover.bare", "bare ground, where it was not looked at", Kind::YesNo),
    ("top.thickness", "depth of LAYER", Kind::Length),
    ("top.shear_strength", "strength of LAYER", Kind::Pressure),
    ("top.friction", "friction of wood on LAYER", Kind::Plain),
    ("restitution", "rebound", Kind::Plain),
    ("stop.depth", "depth of what is hard below", Kind::Length),
    ("stop.shear_strength", "strength of what is hard below", Kind::Pressure),
    ("roughness", "bumps of the ground", Kind::Length),
    ("undergrowth.spacing", "distance between stems of undergrowth", Kind::Length),
    ("undergrowth.thickness", "thickness of undergrowth", Kind::Length),
    ("undergrowth.height", "height of undergrowth", Kind::Length),
    // The same, where the scene has a number for it.
    ("litter_m", "depth of LAYER", Kind::Length),
    ("turf_m", "depth of LAYER", Kind::Length),
    ("roughness_m", "bumps of the ground", Kind::Length),
    ("undergrowth.spacing_m", "distance between stems of undergrowth", Kind::Length),
    ("undergrowth.thickness_m", "thickness of undergrowth", Kind::Length),
    ("undergrowth.height_m", "height of undergrowth", Kind::Length),
    ("hard_at_m", "depth of what is hard below", Kind::Length),
];

/// Numbers of a scene by the end of their path, after what they belong to.
const OTHERS: [(&str, &str); 27] = [
    ("push.force_n", "push"),
    ("push.height_m", "height of the push"),
    ("toward_rad", "direction"),
    ("opening_rad", "opening of the face"),
    ("depth_share", "depth of the face"),
    ("hinge_m", "thickness of the hinge"),
    ("width_share", "width of the hinge"),
    ("strap_m", "strap"),
    ("piece.from_m", "height of the cut"),
    ("piece.length_m", "length of the piece"),
    ("inclination_rad", "slope"),
    ("slope_distance_m", "length"),
    ("azimuth_rad", "azimuth"),
    ("axis_rad", "azimuth it lies on"),
    ("distance_m", "distance"),
    ("east_m", "place east"),
    ("north_m", "place north"),
    ("speed_m_s", "mean speed"),
    ("gust_m_s", "gust"),
    ("from_rad", "where it comes from"),
    ("offset_m", "offset of the plumb line"),
    ("angle_rad", "angle"),
    ("density", "green weight of the wood"),
    ("diameter_m", "diameter"),
    ("height_m", "height"),
    ("thickness_m", "thickness"),
    ("dbh_m", "diameter at breast height"),
];

/// An input in words.
#[must_use]
pub fn input(path: &str, scene: &Scene) -> String {
    let (ground, spec, place) = if let Some(rest) = path.strip_prefix("site.ground.") {
        (rest, Some(&scene.site.ground), String::new())
    } else if let Some(rest) = path.strip_prefix("site.patches.") {
        let (id, rest) = rest.split_once('.').unwrap_or((rest, ""));
        let patch = scene.site.patches.iter().find(|p| p.id == id);
        let rest = rest.strip_prefix("ground.").unwrap_or(rest);
        (rest, patch.map(|p| &p.ground), format!(" in {}", words::name(id)))
    } else if let Some((id, rest)) = path.strip_prefix("aids.").and_then(|p| p.split_once('.')) {
        (rest, None, format!(" of {}", words::name(id)))
    } else {
        ("", None, String::new())
    };
    if let Some((_, word, _)) = GROUND.iter().find(|(end, ..)| ground == *end) {
        return word.replace("LAYER", layer(spec)) + &place;
    }
    match path {
        "tree.density" => return "green weight of the wood".to_owned(),
        "site.terrain.between_m" => return "the ground between the tapes' stations".to_owned(),
        _ => {}
    }
    let known = OTHERS.iter().find(|(end, _)| {
        path.strip_suffix(end).is_some_and(|before| before.is_empty() || before.ends_with('.'))
    });
    match known {
        Some((end, word)) => {
            let owner = path.strip_suffix(end).unwrap_or(path);
            format!("{word} of {}", owner_words(owner))
        }
        None => words::name(path).replace('.', " "),
    }
}

/// Fields of a scene that are left open, after what they belong to, besides the numbers of
/// [`OTHERS`].
const OPEN: [(&str, &str); 6] = [
    ("cutter", "who cuts, and from where"),
    ("over", "what the line turns on"),
    ("release.width", "width of the hinge"),
    ("after", "what becomes of the piece"),
    ("brush", "brush"),
    ("log", "log"),
];

/// A field that the scene leaves open, as its reader names it (`cuts[0].release.push.height`), in
/// words: "height of the push of cut s3".
#[must_use]
pub fn field(path: &str, scene: &Scene) -> String {
    let path = with_ids(path, scene);
    let bare = |end: &'static str| {
        ["_m_s", "_m", "_n", "_rad", "_share"]
            .iter()
            .find_map(|unit| end.strip_suffix(unit))
            .unwrap_or(end)
    };
    let numbers = OTHERS.iter().map(|(end, word)| (bare(end), *word));
    let known = OPEN.iter().copied().chain(numbers).find(|(end, _)| {
        path.strip_suffix(end).is_some_and(|before| before.is_empty() || before.ends_with('.'))
    });
    match known {
        Some((end, word)) => {
            format!("{word} of {}", owner_words(path.strip_suffix(end).unwrap_or(&path)))
        }
        None => owner_words(&path),
    }
}

/// A reader's path with ids in place of places in lists: `cuts[0]` is `cuts.s3`.
fn with_ids(path: &str, scene: &Scene) -> String {
    let id = |list: &str, at: usize| -> Option<String> {
        Some(match list {
            "cuts" => scene.cuts.get(at)?.id.clone(),
            "aids" => scene.aids.get(at)?.id.clone(),
            "targets" => scene.targets.get(at)?.id.clone(),
            "lines" => scene.lines.get(at)?.id().to_owned(),
            "limbs" => scene.tree.limbs.get(at)?.id.clone(),
            "patches" => scene.site.patches.get(at)?.id.clone(),
            _ => return None,
        })
    };
    let part = |part: &str| {
        let listed = part.strip_suffix(']').and_then(|p| p.split_once('['));
        let Some((list, at)) = listed else { return part.to_owned() };
        let at: Option<usize> = at.parse().ok();
        match at.and_then(|at| id(list, at)) {
            Some(id) => format!("{list}.{id}"),
            None => format!("{list}.{}", at.map_or(String::new(), |at| (at + 1).to_string())),
        }
    };
    path.split('.').map(part).collect::<Vec<String>>().join(".")
}

/// What a number belongs to: "cut s3", "the lean", "leg 2 of down".
fn owner_words(path: &str) -> String {
    let mut parts: Vec<&str> =
        path.split('.').filter(|p| !p.is_empty() && *p != "release" && *p != "at").collect();
    let lead = parts.first().copied().unwrap_or("");
    match lead {
        "cuts" => {
            parts.remove(0);
            format!("cut {}", words::name(&parts.join(" ")))
        }
        "site" if parts.get(1) == Some(&"transects") => match (parts.get(2), parts.get(3)) {
            (Some(line), Some(leg)) => format!("leg {leg} of {}", words::name(line)),
            (Some(line), None) => format!("line {}", words::name(line)),
            _ => "the survey".to_owned(),
        },
        "site" if parts.get(1) == Some(&"patches") => {
            format!("patch {}", words::name(&parts[2..].join(" ")))
        }
        "site" => format!("the {}", words::name(&parts[1..].join(" "))),
        "tree" if parts.len() == 1 => "the tree".to_owned(),
        "tree" => format!("the tree's {}", words::name(&parts[1..].join(" "))),
        "targets" | "aids" | "lines" => words::name(&parts[1..].join(" ")),
        _ => words::name(&parts.join(" ")),
    }
}

fn layer(spec: Option<&GroundSpec>) -> &'static str {
    match spec.map(|s| &s.cover) {
        Some(Cover::Litter(_)) => "the litter",
        Some(Cover::Turf(_)) => "the turf",
        None => "the brush",
        Some(Cover::Bare | Cover::DontKnow) => "what lies on the soil",
    }
}

fn kind(path: &str) -> Kind {
    let ends = |end: &str| {
        path.strip_suffix(end).is_some_and(|before| before.is_empty() || before.ends_with('.'))
    };
    GROUND.iter().find(|(end, ..)| ends(end)).map_or(Kind::Plain, |(_, _, kind)| *kind)
}

/// True for an input that is 1 where something is so and 0 where not.
#[must_use]
pub fn is_yes_or_no(path: &str) -> bool {
    kind(path) == Kind::YesNo
}

/// True for an input that is a number of the ground.
#[must_use]
pub fn is_of_ground(path: &str) -> bool {
    let rest = path.strip_prefix("site.ground.").or_else(|| {
        let (_, rest) = path.strip_prefix("site.patches.")?.split_once('.')?;
        Some(rest.strip_prefix("ground.").unwrap_or(rest))
    });
    rest.is_some_and(|rest| GROUND.iter().any(|(end, ..)| *end == rest))
}

/// A value of an input as a reader of these units sees it.
#[must_use]
pub fn value(path: &str, x: f64, units: Units) -> String {
    let figures = |x: f64| {
        let places = if x.abs() < 0.1 {
            3
        } else if x.abs() < 10.0 {
            2
        } else {
            0
        };
        decimals(x, places)
    };
    match kind(path) {
        Kind::Length => cut_words::length(x, units),
        Kind::Pressure => match units {
            Units::Metric => format!("{} kPa", decimals(x / 1e3, if x < 1e4 { 1 } else { 0 })),
            // Pounds-force on a square inch, 6,894.757 Pa.
            Units::Imperial => format!("{} psi", decimals(x / 6_894.757, 1)),
        },
        Kind::Angle => format!("{}°", decimals(x.to_degrees(), 0)),
        Kind::YesNo => format!("{} in 100", words::in_hundred(x)),
        Kind::Density => format!("{} kg/m³", decimals(x, 0)),
        Kind::Plain if path == "tree.density" => format!("{} kg/m³", decimals(x, 0)),
        Kind::Plain if path.ends_with("_rad") => cut_words::angle(x, units),
        Kind::Plain if path.ends_with("_m_s") => cut_words::speed(x, units),
        Kind::Plain if path.ends_with("_share") => cut_words::share(x, units),
        Kind::Plain if path.ends_with("_n") => cut_words::force(x, units),
        Kind::Plain if path.ends_with("_m") => cut_words::length(x, units),
        Kind::Plain => figures(x),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{parse, starter};

    #[test]
    fn verif_inputs_are_called_by_the_users_words() {
        let scene = parse(starter(), "starter").expect("a scene");
        for (path, said) in [
            ("site.ground.top.thickness", "depth of the litter"),
            ("site.patches.creek-flat.top.friction", "friction of wood on the turf in creek-flat"),
            ("site.ground.traction_capped", "so wet that the soil's strength limits traction"),
            ("cuts.third.release.push.force_n", "push of cut third"),
            ("site.transects.down.2.inclination_rad", "slope of leg 2 of down"),
            ("tree.lean.toward_rad", "direction of the tree's lean"),
            ("tree.dbh_m", "diameter at breast height of the tree"),
            ("site.wind.gust_m_s", "gust of the wind"),
            ("tree.density", "green weight of the wood"),
            ("site.terrain.between_m", "the ground between the tapes' stations"),
            ("site.patches.creek-flat.ground.turf_m", "depth of the turf in creek-flat"),
            ("site.patches.creek-flat.outline.distance_m", "distance of patch creek-flat outline"),
            ("something.else", "something else"),
        ] {
            assert_eq!(input(path, &scene), said);
        }
        assert_eq!(value("site.ground.soil.shear_strength", 17e3, Units::Metric), "17 kPa");
        assert_eq!(value("site.ground.traction_capped", 0.5, Units::Metric), "50 in 100");
    }

    /// Every number a ground can draw has its words.
    #[test]
    fn prop_no_number_of_the_ground_is_left_as_a_path() {
        let mut scene = parse(starter(), "starter").expect("a scene");
        scene.site.ground.soil = crate::ground::SoilWord::DontKnow;
        scene.site.ground.cover = Cover::DontKnow;
        for row in crate::job::words(&scene.site.ground).ranges() {
            let path = format!("site.ground.{}", row.path);
            assert!(!input(&path, &scene).contains("site"), "{path}");
        }
    }
}
