//! Where the hillside on the screen comes from.

use std::path::Path;

use glam::DVec2;
use tumblewood::{
    job::{Job, Outer},
    terrain::{Grid, Terrain},
};

/// A terrain and what to call it.
#[derive(Clone, Debug)]
pub(crate) struct Hillside {
    /// The scene's name.
    pub(crate) name: String,
    /// The ground's surface.
    pub(crate) terrain: Terrain,
}

/// Why there is no hillside to draw.
#[derive(Debug, thiserror::Error)]
pub(crate) enum HillsideError {
    /// The scene file.
    #[error(transparent)]
    Scene(#[from] tumblewood::scene::SceneError),
    /// What the scene names.
    #[error(transparent)]
    Job(#[from] tumblewood::job::JobError),
}

/// The hillside of a scene file, or the invented lake bank if none is named.
pub(crate) fn hillside(scene: Option<&Path>) -> Result<Hillside, HillsideError> {
    let Some(path) = scene else {
        return Ok(Hillside {
            name: "Lake bank (invented, no real place)".to_owned(),
            terrain: lake_bank(),
        });
    };
    let job = Job::load(tumblewood::scene::load(path)?)?;
    let world = job.world(Outer::Told)?;
    let invented = if job.scene.invented { " (invented)" } else { "" };
    Ok(Hillside {
        name: format!("{}{invented}", job.scene.name),
        terrain: world.site.terrain.as_ref().clone(),
    })
}

/// A bank of our own invention, 160 by 120 m: a bench above, 34° at the steepest, a shore below.
fn lake_bank() -> Terrain {
    let (cell_m, nx, ny) = (1.0, 161, 121);
    let origin_m = DVec2::new(-80.0, -60.0);
    let heights_m = (0..nx * ny)
        .map(|k| {
            let x_m = origin_m.x + cell_m * (k % nx) as f64;
            let y_m = origin_m.y + cell_m * (k / nx) as f64;
            lake_bank_height_m(x_m, y_m) as f32
        })
        .collect();
    Terrain::from(Grid { origin_m, cell_m, nx, ny, heights_m })
}

/// The bank falls to the south, a gully runs down it in the west, and the ground is never smooth.
fn lake_bank_height_m(x_m: f64, y_m: f64) -> f64 {
    let down_m = -y_m + 6.0 * (x_m / 37.0).sin();
    let bank_m = -13.5 * down_m / 20.0_f64.hypot(down_m);
    let gully_m = -2.5 * (-((x_m + 38.0 + 0.2 * y_m) / 9.0).powi(2)).exp();
    let lumps_m = 0.35 * (x_m / 5.3).sin() * (y_m / 4.1).cos();
    20.0 + bank_m + gully_m + lumps_m
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_the_invented_bank_is_whole_and_as_steep_as_it_says() {
        let terrain = hillside(None).unwrap().terrain;
        let grid = &terrain.grid;
        assert_eq!(grid.heights_m.len(), grid.nx * grid.ny);
        let mut steepest = 0.0_f64;
        for j in 0..grid.ny {
            for i in 0..grid.nx {
                let x_m = grid.origin_m.x + i as f64 * grid.cell_m;
                let y_m = grid.origin_m.y + j as f64 * grid.cell_m;
                let surface = terrain.surface(x_m, y_m).unwrap();
                assert!(surface.height_m.is_finite());
                steepest = steepest.max(surface.gradient.length());
            }
        }
        let degrees = steepest.atan().to_degrees();
        assert!((30.0..45.0).contains(&degrees), "{degrees}");
    }

    #[test]
    fn prop_a_named_scene_is_never_replaced_by_the_invented_bank() {
        assert!(hillside(Some(Path::new("bank.ron"))).is_err());
    }
}
