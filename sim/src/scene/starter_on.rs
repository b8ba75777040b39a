//! A scene to start from on ground that came from a file.

/// The ground a new scene lies on.
#[derive(Clone, Debug, PartialEq)]
pub struct OnGround {
    /// The terrain file, as the scene is to name it.
    pub file: String,
    /// The stump in the file's own coordinates.
    pub stump: [f64; 2],
    /// Half the side of the square that is used, m.
    pub around_m: f64,
    /// From the stump to the nearest end of the known ground, m.
    pub reach_m: f64,
    /// The way down at the stump, an azimuth of the file's grid, rad.
    pub down_rad: f64,
}

/// The text of a scene on that ground, which runs as it stands: everything invented lies within
/// reach, down the fall line.
#[must_use]
pub fn starter_on(ground: &OnGround) -> String {
    let name = std::path::Path::new(&ground.file)
        .file_name()
        .map_or_else(|| ground.file.clone(), |n| n.to_string_lossy().into_owned());
    let azimuth =
        |turn: f64| (ground.down_rad.to_degrees() + turn).rem_euclid(360.0).round() % 360.0;
    // A shed some 30 m down, nearer where the ground ends sooner.
    let near = (0.5 * ground.reach_m).clamp(4.0, 30.0);
    let tenths = |m: f64| (10.0 * m).round() / 10.0;
    let quoted = |text: &str| text.replace('\\', "\\\\").replace('"', "\\\"");
    let holes: [(&str, String); 12] = [
        ("{name}", quoted(&name)),
        ("{file}", quoted(&ground.file)),
        ("{x}", format!("{:?}", ground.stump[0])),
        ("{y}", format!("{:?}", ground.stump[1])),
        ("{around}", format!("{}", ground.around_m.ceil().clamp(5.0, 5000.0))),
        ("{down}", format!("{}", azimuth(0.0))),
        ("{down_less}", format!("{}", azimuth(-6.0))),
        ("{down_more}", format!("{}", azimuth(6.0))),
        ("{aside}", format!("{}", azimuth(25.0))),
        ("{across}", format!("{}", azimuth(90.0))),
        ("{near}", format!("{}", tenths(near))),
        ("{half}", format!("{}", tenths(0.5 * near))),
    ];
    let text = include_str!("starter_on.ron").replace("{far}", &tenths(1.15 * near).to_string());
    holes.iter().fold(text, |text, (hole, value)| text.replace(hole, value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{TerrainSpec, parse};

    #[test]
    fn verif_the_scene_is_read_whatever_the_file_is_called() {
        for file in ["ground.tif", "../a b/hügel \"one\".tif", "C:\\x\\y.tif"] {
            let text = starter_on(&OnGround {
                file: file.into(),
                stump: [494_298.07, 4_877_508.0],
                around_m: 57.2,
                reach_m: 57.0,
                down_rad: 6.2,
            });
            let scene = parse(&text, "new.ron").unwrap_or_else(|e| panic!("{file}: {e}"));
            let TerrainSpec::GeoTiff(raster) = &scene.site.terrain else { panic!("no raster") };
            assert_eq!(raster.file, std::path::Path::new(file));
            assert_eq!((raster.stump, raster.around_m), ([494_298.07, 4_877_508.0], 58.0));
            assert!(!text.contains('{') && scene.invented);
        }
    }
}
