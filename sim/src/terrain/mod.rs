//! Heights of the ground and where they come from.

pub mod grid;

pub use grid::{Grid, Surface};

/// The ground's surface: a grid of heights and the cut faces that no grid can say.
#[derive(Clone, Debug)]
pub struct Terrain {
    /// Heights on a square grid.
    pub grid: Grid,
}

impl Terrain {
    /// Height and gradient at a place, or `None` off the grid.
    #[must_use]
    pub fn surface(&self, x_m: f64, y_m: f64) -> Option<Surface> {
        self.grid.surface(x_m, y_m)
    }
}
