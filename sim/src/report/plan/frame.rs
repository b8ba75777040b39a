//! The map's window: which part of the world is drawn where on the page.

use glam::DVec2;

use super::labels::Box;

/// World to page, north up.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    /// The map on the page, px.
    pub(crate) window: Box,
    /// World at the window's south-west corner, m.
    pub(crate) origin_m: DVec2,
    /// Pixels a metre.
    pub(crate) px_m: f64,
}

impl Frame {
    /// The window at (left, top), `width` px wide and as high as suits what it shows, at least
    /// `least_height` px.
    pub(crate) fn around(
        points: &[DVec2],
        corner: (f64, f64),
        width: f64,
        least_height: f64,
    ) -> Self {
        let (_, size) = shown(points);
        let height = (width * size.y / size.x).min(1.1 * width).max(least_height);
        Self::filling(points, corner, (width, height))
    }

    /// The window at (left, top) of a given size in px.
    pub(crate) fn filling(
        points: &[DVec2],
        (left, top): (f64, f64),
        (width, height): (f64, f64),
    ) -> Self {
        let (middle, size) = shown(points);
        let px_m = (width / size.x).min(height / size.y);
        Self {
            window: Box { left, top, right: left + width, bottom: top + height },
            origin_m: middle - DVec2::new(width, height) / (2.0 * px_m),
            px_m,
        }
    }

    pub(crate) fn width_px(&self) -> f64 {
        self.window.right - self.window.left
    }

    pub(crate) fn height_px(&self) -> f64 {
        self.window.bottom - self.window.top
    }

    pub(crate) fn size_m(&self) -> DVec2 {
        DVec2::new(self.width_px(), self.height_px()) / self.px_m
    }

    /// Page position of a place in the world, px.
    pub(crate) fn page(&self, world_m: DVec2) -> (f64, f64) {
        let p = (world_m - self.origin_m) * self.px_m;
        (self.window.left + p.x, self.window.bottom - p.y)
    }

    pub(crate) fn path(&self, world_m: &[DVec2]) -> Vec<(f64, f64)> {
        world_m.iter().map(|&p| self.page(p)).collect()
    }
}

/// Middle and size of what is to be seen, m: at least 24 m across, and a tenth of margin on every
/// side.
fn shown(points: &[DVec2]) -> (DVec2, DVec2) {
    let low = points.iter().copied().fold(DVec2::INFINITY, DVec2::min);
    let high = points.iter().copied().fold(DVec2::NEG_INFINITY, DVec2::max);
    let (low, high) =
        if low.is_finite() && high.is_finite() { (low, high) } else { (DVec2::ZERO, DVec2::ZERO) };
    ((low + high) / 2.0, ((high - low) * 1.2).max(DVec2::splat(24.0)))
}
