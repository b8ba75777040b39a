//! The only place where the site's frame meets the screen's.
//!
//! The site: x east, y north, z up, f64 metres. The renderer: x right, y up, z toward the viewer,
//! f32 metres.

use bevy::math::Vec3;
use glam::DVec3;

/// A place or direction of the site, as the renderer wants it.
#[must_use]
pub(crate) fn to_screen_frame(site: Vec3) -> Vec3 {
    Vec3::new(site.x, site.z, -site.y)
}

/// A place or direction of the site in double precision.
#[must_use]
pub(crate) fn double(site: Vec3) -> DVec3 {
    DVec3::new(site.x.into(), site.y.into(), site.z.into())
}

/// A place or direction of the renderer, as the site has it.
#[must_use]
pub(crate) fn from_screen_frame(screen: Vec3) -> Vec3 {
    Vec3::new(screen.x, -screen.z, screen.y)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_the_frame_stays_right_handed() {
        let (east, north, up) = (Vec3::X, Vec3::Y, Vec3::Z);
        let turned = to_screen_frame(east).cross(to_screen_frame(north));
        assert_eq!(turned, to_screen_frame(up));
        assert_eq!(to_screen_frame(up), Vec3::Y);
        let any = Vec3::new(1.0, 2.0, 3.0);
        assert_eq!(from_screen_frame(to_screen_frame(any)), any);
    }
}
