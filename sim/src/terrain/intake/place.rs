//! `--at`: the place in the middle, as coordinates of the files or as latitude and longitude.

use glam::DVec2;

use super::open::Opened;
use crate::terrain::{TerrainError, system::System};

/// The place, in a system whose metres are metres on the ground.
pub(super) struct Place {
    pub(super) system: System,
    pub(super) at_m: DVec2,
    pub(super) lonlat: Option<DVec2>,
    pub(super) words: String,
}

/// Understands `--at` against what the first file covers.
///
/// Two numbers are coordinates of the file where they lie within it, latitude and longitude where
/// those do; a letter N, S, E or W makes them latitude and longitude for certain.
pub(super) fn place(at: Option<&str>, files: &[Opened]) -> Result<Place, TerrainError> {
    let Some(first) = files.first() else {
        return Err(TerrainError::new("terrain", "files", "none", "at least one file"));
    };
    let (low, high) = files.iter().fold((first.low, first.high), |(low, high), f| {
        match file_box(f, &first.system) {
            Some((a, b)) => (low.min(a), high.max(b)),
            None => (low, high),
        }
    });
    let allowed = || allowed(&first.system, low, high);
    let error = |read: &str| TerrainError::new("--at", "place", read.to_owned(), allowed());
    let text = at.ok_or_else(|| error("nothing"))?;
    let (numbers, lettered) = numbers(text).ok_or_else(|| error(&format!("{text:?}")))?;
    let within = |p: DVec2| p.cmpge(low).all() && p.cmple(high).all();
    let degrees = first.system.unit_m.is_none();
    // Latitude comes first, as maps on a phone give it.
    let lonlat = DVec2::new(numbers.y, numbers.x);
    let fits_globe = lonlat.y.abs() <= 90.0 && lonlat.x.abs() <= 180.0;
    let as_lonlat = if degrees {
        Some(lonlat)
    } else if fits_globe && first.system.on_earth {
        first.system.from_lonlat(lonlat)
    } else {
        None
    };
    let as_lonlat = as_lonlat.filter(|p| within(*p));
    let as_given = Some(numbers).filter(|p| !degrees && !lettered && within(*p));
    let (at, by_globe) = match (as_given, as_lonlat) {
        (Some(_), Some(_)) => {
            return Err(error(&format!("{text:?}, which both fit")));
        }
        (Some(at), None) => (at, false),
        (None, Some(at)) => (at, true),
        (None, None) => return Err(error(&format!("{text:?}"))),
    };
    let lonlat = if !first.system.on_earth {
        None
    } else if by_globe {
        Some(lonlat)
    } else {
        first.system.lonlat(at)
    };
    let understood = match (by_globe, lonlat) {
        (true, _) => format!("latitude {}, longitude {}", numbers.x, numbers.y),
        (false, Some(l)) => {
            format!("x {}, y {} (latitude {:.6}, longitude {:.6})", at.x, at.y, l.y, l.x)
        }
        (false, None) => format!("x {}, y {}; where on earth isn't known", at.x, at.y),
    };
    // A system without a code would lose its place on earth with the file that is written.
    let named_or_lost = first.system.epsg.is_some() || !first.system.on_earth;
    if named_or_lost && first.system.is_true_metres(at) {
        return Ok(Place { system: first.system.clone(), at_m: at, lonlat, words: understood });
    }
    // Coordinates that are metres but for their unit, of a system that isn't known.
    let target = lonlat.and_then(|l| System::utm(l.y, l.x)).ok_or_else(|| {
        TerrainError::new(
            first.name.clone(),
            "coordinate system",
            format!("{} in {}", named(&first.system), first.system.unit_words()),
            "a system with a known place on earth, or one whose metres are metres on the ground; \
             --crs EPSG:N names it",
        )
    })?;
    let at_m = first.system.to(at, &target).ok_or_else(|| error(&format!("{text:?}")))?;
    Ok(Place { system: target, at_m, lonlat, words: understood })
}

/// A system's name, or that it has none.
pub(super) fn named(system: &System) -> String {
    match (system.name.as_str(), system.epsg) {
        ("", None) => "no named coordinate system".to_owned(),
        (name, Some(code)) if name == format!("EPSG:{code}") => name.to_owned(),
        (name, Some(code)) => format!("{name} (EPSG:{code})"),
        (name, None) => name.to_owned(),
    }
}

/// The corners of another file's box in the first one's system.
pub(super) fn file_box(file: &Opened, system: &System) -> Option<(DVec2, DVec2)> {
    if file.system.same(system) {
        return Some((file.low, file.high));
    }
    let corners = [
        file.low,
        file.high,
        DVec2::new(file.low.x, file.high.y),
        DVec2::new(file.high.x, file.low.y),
    ];
    let mut found = corners.iter().map(|c| file.system.to(*c, system));
    let first = found.next()??;
    found.try_fold((first, first), |(low, high), c| c.map(|c| (low.min(c), high.max(c))))
}

fn allowed(system: &System, low: DVec2, high: DVec2) -> String {
    let middle = 0.5 * (low + high);
    let globe = |p: DVec2| system.on_earth.then(|| system.lonlat(p)).flatten();
    let whole = |x: f64| if (high - low).max_element() > 10.0 { x.round() } else { x };
    let mut text = match system.unit_m {
        Some(_) => format!(
            "X,Y with x {} to {} and y {} to {}, in {}",
            whole(low.x),
            whole(high.x),
            whole(low.y),
            whole(high.y),
            system.unit_words()
        ),
        None => "latitude,longitude".to_owned(),
    };
    if let (Some(a), Some(b), Some(m)) = (globe(low), globe(high), globe(middle)) {
        if system.unit_m.is_some() {
            text += ", or latitude,longitude";
        }
        text += &format!(
            " with latitude {:.5} to {:.5} and longitude {:.5} to {:.5}; the middle is \
             {:.5},{:.5}",
            a.y.min(b.y),
            a.y.max(b.y),
            a.x.min(b.x),
            a.x.max(b.x),
            m.y,
            m.x
        );
    } else {
        text += &format!("; the middle is {},{}", whole(middle.x), whole(middle.y));
    }
    text
}

/// Two numbers apart by a comma, and whether letters say that they are latitude and longitude.
fn numbers(text: &str) -> Option<(DVec2, bool)> {
    let (first, second) = text.split_once(',')?;
    let number = |part: &str, plus: char, minus: char| {
        let part = part.trim();
        let last = part.chars().last()?.to_ascii_uppercase();
        let (digits, sign, lettered) = if last == plus || last == minus {
            let digits = part.get(..part.len() - 1)?;
            (digits, if last == plus { 1.0 } else { -1.0 }, true)
        } else {
            (part, 1.0, false)
        };
        let value: f64 = digits.trim().trim_end_matches('°').parse().ok()?;
        value.is_finite().then_some((sign * value, lettered))
    };
    let (a, a_lettered) = number(first, 'N', 'S')?;
    let (b, b_lettered) = number(second, 'E', 'W')?;
    (a_lettered == b_lettered).then_some((DVec2::new(a, b), a_lettered))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terrain::LengthUnit;

    fn file(code: u16, low: DVec2, high: DVec2) -> Opened {
        Opened::test(System::from_epsg("t", code).unwrap(), low, high)
    }

    #[test]
    fn verif_coordinates_and_latitude_find_the_same_place() {
        let files = [file(26915, DVec2::new(429_000.0, 5.15e6), DVec2::new(430_000.0, 5.1512e6))];
        let given = place(Some("429340.8, 5150646.9"), &files).unwrap();
        assert_eq!(given.at_m, DVec2::new(429_340.8, 5_150_646.9));
        let l = given.lonlat.unwrap();
        for text in [format!("{},{}", l.y, l.x), format!("{}N, {}W", l.y, -l.x)] {
            let found = place(Some(&text), &files).unwrap();
            assert!(found.at_m.distance(given.at_m) < 1e-3, "{text}: {}", found.at_m);
        }
        // The other way round, off the file, half a pair, no pair.
        for bad in [format!("{},{}", l.x, l.y), "0,0".into(), "46N,3".into(), "x".into()] {
            let error = place(Some(&bad), &files).err().unwrap().to_string();
            assert!(error.contains("latitude 46.") && error.contains("429000"), "{error}");
        }
        assert!(place(None, &files).err().unwrap().to_string().contains("read nothing"));
    }

    #[test]
    fn verif_feet_and_degrees_go_to_utm_metres() {
        let feet = [file(2994, DVec2::new(636_000.0, 848_900.0), DVec2::new(637_200.0, 849_500.0))];
        let found = place(Some("636500,849200"), &feet).unwrap();
        assert_eq!(found.system.epsg, Some(32610));
        let degrees = [file(4326, DVec2::new(-94.0, 46.0), DVec2::new(-93.0, 47.0))];
        let found = place(Some("46.5,-93.9"), &degrees).unwrap();
        assert_eq!(found.system.epsg, Some(32615));
        assert!(place(Some("-93.9,46.5"), &degrees).is_err());
        let lost =
            Opened::test(System::nowhere(LengthUnit::Foot), DVec2::ZERO, DVec2::splat(100.0));
        let error = place(Some("50,50"), &[lost]).err().unwrap().to_string();
        assert!(error.contains("--crs"), "{error}");
        let local =
            Opened::test(System::nowhere(LengthUnit::Metre), DVec2::ZERO, DVec2::splat(100.0));
        assert_eq!(place(Some("50,20"), &[local]).unwrap().at_m, DVec2::new(50.0, 20.0));
    }
}
