//! The ground as a GeoTIFF that scenes read, and any map program.
//!
//! Band 1 holds heights in metres, band 2 how far each is from a known one (0 where it is one
//! itself): what was filled in stays to be seen. The citation says so, and where the place is.

use std::io::Cursor;

use geotiff_writer::{Compression, GeoTiffBuilder, PlanarConfiguration, Predictor};
use ndarray::Array3;

use super::Intake;
use crate::terrain::{
    TerrainError,
    geotiff::{HAND_HELD, OWN_CITATION},
};

/// The bytes of the file; the same ground gives the same bytes.
///
/// # Errors
/// What the writer refuses.
pub fn geotiff(ground: &Intake) -> Result<Vec<u8>, TerrainError> {
    let error = |what: String| {
        TerrainError::new("the file to write", "raster", what, "a raster that a GeoTIFF holds")
    };
    let lattice = &ground.lattice;
    let (nx, ny) = (lattice.nx, lattice.ny);
    let bands = [&ground.heights_m, &ground.from_known_m];
    let array = Array3::from_shape_fn((ny, nx, 2), |(row, i, band)| {
        let k = (ny - 1 - row) * nx + i;
        bands.get(band).and_then(|b| b.get(k)).copied().unwrap_or(f32::NAN)
    });
    let citation = format!(
        "{OWN_CITATION}: band 1 height, band 2 distance from a known height, m{}; place {} {}",
        if ground.about.hand_held { HAND_HELD } else { "" },
        ground.at_m.x,
        ground.at_m.y
    );
    use geotiff_writer::{GeoKeyValue as Value, ModelType, RasterType};
    let mut builder = GeoTiffBuilder::new(nx as u32, ny as u32)
        .bands(2)
        .raster_type(RasterType::PixelIsArea)
        .model_type(ModelType::Projected)
        .geokey(1026, Value::Ascii(citation))
        .geokey(3072, Value::Short(ground.system.epsg.unwrap_or(32767)))
        .geokey(3076, Value::Short(9001))
        .geokey(4099, Value::Short(9001))
        .pixel_scale(lattice.cell_m, lattice.cell_m)
        .origin(lattice.low_m.x - 0.5 * lattice.cell_m, lattice.high_m().y + 0.5 * lattice.cell_m)
        .compression(Compression::Deflate)
        .predictor(Predictor::FloatingPoint)
        .planar_configuration(PlanarConfiguration::Planar);
    if !ground.system.name.is_empty() {
        builder = builder.geokey(3073, Value::Ascii(plain(&ground.system.name)));
    }
    let mut out = Cursor::new(Vec::new());
    builder.write_3d_to(&mut out, array.view()).map_err(|e| error(e.to_string()))?;
    Ok(out.into_inner())
}

/// A name in the letters that a GeoTIFF's texts may hold: ASCII, and a bar ends a text (OGC GeoTIFF
/// 1.1, GeoAsciiParams).
fn plain(name: &str) -> String {
    let letter = |c: char| match c {
        '|' => '/',
        ' '..='~' => c,
        _ => '?',
    };
    name.chars().map(letter).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_names_of_systems_are_plain() {
        assert_eq!(plain("NAD83 / UTM 10N"), "NAD83 / UTM 10N");
        assert_eq!(plain("Österreich|Süd\n"), "?sterreich/S?d?");
    }
}
