//! A section cut from the stem: the stem's geometry between two cuts, stubs left on, as a
//! [`Piece`] in its principal frame.
//!
//! Mass and inertia are sums of frusta (see [`super::mass`]); hollows are frusta taken away, stubs
//! cylinders that begin at the bark, limbs frusta with balls of brush ([`super::limb`]). A rotten
//! core weighs nothing and its opening in the cut face still meets the ground as if closed. Known answer:
//! `verif_stub_and_hollow_match_brute_force`.

use glam::{DQuat, DVec3};

use super::{
    brush::{Brush, Spray, slender_end, split},
    limb::{LimbPart, ball},
    mass::{Frustum, Mass, principal},
    piece::{Piece, Round},
    stem::{Hollow, Stem, StemError, above_zero},
};

/// A branch stub left on a section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stub {
    /// Height along the stem from its foot, m.
    pub height_m: f64,
    /// Azimuth it points to, clockwise from north with the lean taken out, rad.
    pub azimuth_rad: f64,
    /// Angle above square to the stem, rad.
    pub rise_rad: f64,
    /// Length from the bark, m.
    pub length_m: f64,
    /// Diameter, m.
    pub diameter_m: f64,
}

/// A section as cut: the piece and how it sat on the stem.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// The piece, in its own principal frame.
    pub piece: Piece,
    /// Centre of mass in the stem frame (origin on the axis at the lower cut, z up the stem,
    /// x east and y north with the lean taken out), m.
    pub centre_m: DVec3,
    /// Turns the piece's frame into the stem frame.
    pub attitude: DQuat,
}

impl Stem {
    /// The section between two heights along the stem.
    ///
    /// # Errors
    /// A section that is not on the stem, a stub that is not on the section, sizes not above
    /// zero.
    pub fn section(&self, from_m: f64, to_m: f64, stubs: &[Stub]) -> Result<Section, StemError> {
        self.limbed_section(from_m, to_m, stubs, &[])
    }

    /// The same with the limbs that stand on it.
    ///
    /// # Errors
    /// As [`section`](Self::section).
    pub fn limbed_section(
        &self,
        from_m: f64,
        to_m: f64,
        stubs: &[Stub],
        limbs: &[LimbPart],
    ) -> Result<Section, StemError> {
        let top_m = self.top_m();
        if !(from_m >= 0.0 && from_m < to_m && to_m <= top_m + 1e-9) {
            return Err(StemError::NotOnStem { from_m, to_m, top_m });
        }
        let mut bole = self.bole(from_m, to_m);
        let mut mass = bole
            .iter()
            .map(|f| f.mass().with(self.hollow_mass(f, from_m)))
            .fold(Mass::ZERO, Mass::with);
        let stubs: Vec<Frustum> =
            stubs.iter().map(|s| self.stub(s, from_m, to_m)).collect::<Result<_, _>>()?;
        mass = stubs.iter().map(Frustum::mass).fold(mass, Mass::with);
        let mut limbs = self.limbs_on(from_m, limbs);
        mass = limbs.frusta.iter().map(Frustum::mass).fold(mass, Mass::with);
        mass = limbs.brush.sprays.iter().map(ball).fold(mass, Mass::with);

        // With brush on it the stem gives where it is slender; next to the cut it never does.
        let mut slender_from = None;
        if !limbs.brush.is_empty() {
            let [stiff, slender] = split(&bole, &self.wood(), mass.mass_kg * crate::GRAVITY_M_S2);
            if !slender.is_empty() {
                slender_from = Some(stiff.len());
                limbs.brush.sprays.extend(slender_end(&slender, &self.wood()));
                bole = [stiff, slender].concat();
            }
        }

        // A shell of nothing, or less, would leave no piece.
        above_zero("the section's mass in kg", mass.mass_kg)?;
        let centre_m = mass.centre_m();
        let (inertia_kg_m2, attitude) = principal(mass.inertia_about_centre_kg_m2());
        let to_body = |p: DVec3| attitude.inverse() * (p - centre_m);
        let round = |f: &Frustum, from_is_face, to_is_face| Round {
            from_m: to_body(f.from_m),
            to_m: to_body(f.to_m),
            from_radius_m: f.from_radius_m,
            to_radius_m: f.to_radius_m,
            from_is_face,
            to_is_face,
        };
        let stem_rounds = bole.len();
        let mut rounds: Vec<Round> =
            bole.iter().enumerate().map(|(i, f)| round(f, i == 0, i + 1 == stem_rounds)).collect();
        rounds.extend(stubs.iter().map(|f| round(f, false, true)));
        rounds.extend(limbs.stiff.iter().map(|(f, ends)| round(f, false, *ends)));
        let rods = limbs.brush.rods.iter();
        let brush = Brush {
            sprays: (limbs.brush.sprays.iter())
                .map(|s| Spray { at_m: to_body(s.at_m), ..*s })
                .collect(),
            rods: rods
                .map(|r| Round { from_m: to_body(r.from_m), to_m: to_body(r.to_m), ..*r })
                .collect(),
            slender_from,
            ..limbs.brush
        };
        let piece = Piece {
            rounds,
            stem_rounds,
            mass_kg: mass.mass_kg,
            inertia_kg_m2,
            side_crush_pa: self.side_crush_pa,
            end_crush_pa: self.end_crush_pa,
            brush,
        };
        Ok(Section { piece, centre_m, attitude })
    }

    /// The stem between two heights as frusta in the stem frame.
    fn bole(&self, from_m: f64, to_m: f64) -> Vec<Frustum> {
        // A station within 2 cm of a cut would only add a sliver.
        let inner = |h: &f64| *h > from_m + 0.02 && *h < to_m - 0.02;
        let mut heights = vec![from_m];
        heights.extend(self.stations.iter().map(|s| s.height_m).filter(inner));
        heights.push(to_m);
        heights
            .windows(2)
            .map(|h| Frustum {
                from_m: DVec3::Z * (h[0] - from_m),
                to_m: DVec3::Z * (h[1] - from_m),
                from_radius_m: 0.5 * self.diameter_m(h[0]),
                to_radius_m: 0.5 * self.diameter_m(h[1]),
                density_kg_m3: self.density_kg_m3,
            })
            .collect()
    }

    /// The mass that hollows take from one frustum of the bole (negative). Where hollows overlap
    /// the deeper counts up to the next boundary, so nothing is taken away twice.
    fn hollow_mass(&self, bole: &Frustum, cut_m: f64) -> Mass {
        let (low_m, high_m) = (bole.from_m.z, bole.to_m.z);
        let mut bounds = vec![low_m, high_m];
        for h in &self.hollows {
            bounds.extend([h.from_m - cut_m, h.to_m - cut_m]);
            // Where the core narrows to nothing.
            let slope = (bole.to_radius_m - bole.from_radius_m) / (high_m - low_m);
            if slope != 0.0 {
                bounds.push(low_m + (h.sound_shell_m - bole.from_radius_m) / slope);
            }
        }
        bounds.retain(|z| *z >= low_m && *z <= high_m);
        bounds.sort_by(f64::total_cmp);
        let radius_m = |z: f64| {
            let share = (z - low_m) / (high_m - low_m);
            bole.from_radius_m + share * (bole.to_radius_m - bole.from_radius_m)
        };
        bounds.windows(2).fold(Mass::ZERO, |sum, z| {
            let middle_m = 0.5 * (z[0] + z[1]) + cut_m;
            let here = |h: &&Hollow| h.from_m <= middle_m && middle_m <= h.to_m;
            let shell = self.hollows.iter().filter(here).map(|h| h.sound_shell_m);
            let Some(shell_m) = shell.min_by(f64::total_cmp) else { return sum };
            let core = Frustum {
                from_m: DVec3::Z * z[0],
                to_m: DVec3::Z * z[1],
                from_radius_m: (radius_m(z[0]) - shell_m).max(0.0),
                to_radius_m: (radius_m(z[1]) - shell_m).max(0.0),
                density_kg_m3: -self.density_kg_m3,
            };
            sum.with(core.mass())
        })
    }

    /// A stub as a cylinder in the stem frame.
    fn stub(&self, stub: &Stub, from_m: f64, to_m: f64) -> Result<Frustum, StemError> {
        above_zero("a stub's length in m", stub.length_m)?;
        above_zero("a stub's diameter in m", stub.diameter_m)?;
        if !(stub.height_m >= from_m && stub.height_m <= to_m) {
            return Err(StemError::StubNotOnSection { height_m: stub.height_m, from_m, to_m });
        }
        let (sin, cos) = (libm::sin(stub.azimuth_rad), libm::cos(stub.azimuth_rad));
        let outward = DVec3::new(sin, cos, 0.0);
        let along = outward * libm::cos(stub.rise_rad) + DVec3::Z * libm::sin(stub.rise_rad);
        let base_m =
            outward * (0.5 * self.diameter_m(stub.height_m)) + DVec3::Z * (stub.height_m - from_m);
        Ok(Frustum {
            from_m: base_m,
            to_m: base_m + along * stub.length_m,
            from_radius_m: 0.5 * stub.diameter_m,
            to_radius_m: 0.5 * stub.diameter_m,
            density_kg_m3: self.density_kg_m3,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        tree::stem::{BREAST_HEIGHT_M, Station, published_diameter_m},
        wood::species,
    };
    use glam::DMat3;

    fn straight(diameter_m: f64, top_diameter_m: f64, density_kg_m3: f64) -> Stem {
        let at = |height_m, diameter_m| Station { height_m, diameter_m };
        let stations = vec![at(0.0, diameter_m), at(10.0, top_diameter_m)];
        let stem = Stem::measured(stations, None, species("white oak").unwrap()).unwrap();
        Stem { density_kg_m3, ..stem }
    }

    /// National Park Service table of green log weights, lb per foot of log (through a reprint);
    /// it prints whole pounds, and drops rather than rounds some.
    #[test]
    fn val_log_weights_of_the_park_service_table() {
        let inches = [10.0, 12.0, 14.0, 16.0, 18.0, 20.0];
        let table = [
            (45.0, [25.0, 35.0, 48.0, 63.0, 79.0, 98.0]),
            (48.0, [26.0, 38.0, 51.0, 67.0, 85.0, 105.0]),
            (54.0, [29.0, 42.0, 58.0, 75.0, 95.0, 118.0]),
            (49.0, [27.0, 38.0, 52.0, 68.0, 87.0, 107.0]),
            (50.0, [27.0, 39.0, 53.0, 70.0, 88.0, 109.0]),
            (63.0, [34.0, 49.0, 67.0, 88.0, 111.0, 137.0]),
            (62.0, [34.0, 49.0, 66.0, 87.0, 110.0, 135.0]),
            (58.0, [32.0, 46.0, 62.0, 81.0, 102.0, 126.0]),
            (64.0, [35.0, 50.0, 68.0, 89.0, 113.0, 140.0]),
            (38.0, [21.0, 30.0, 41.0, 53.0, 67.0, 83.0]),
            (76.0, [41.0, 60.0, 81.0, 106.0, 134.0, 166.0]),
        ];
        for (lb_ft3, pounds) in table {
            for (d_in, lb) in inches.into_iter().zip(pounds) {
                let stem = straight(d_in * 0.0254, d_in * 0.0254, lb_ft3 * 16.018_463);
                let foot = stem.section(1.0, 1.0 + 0.3048, &[]).unwrap();
                let ours_lb = foot.piece.mass_kg / 0.453_592_37;
                assert!((ours_lb - lb).abs() < 1.0, "{lb_ft3} {d_in}: {ours_lb} against {lb}");
            }
        }
    }

    /// 16 in red oak at 63 lb/ft³ is 87.96 lb a foot; 20 in cherry at 45 is 98.17.
    #[test]
    fn verif_log_weights() {
        for (d_in, lb_ft3, lb) in [(16.0, 63.0, 87.96), (20.0, 45.0, 98.17)] {
            let stem = straight(d_in * 0.0254, d_in * 0.0254, lb_ft3 * 16.018_463);
            let foot = stem.section(2.0, 2.3048, &[]).unwrap();
            assert!((foot.piece.mass_kg / 0.453_592_37 - lb).abs() < 0.01);
        }
    }

    /// Rounds between stations hold the volume that the published curve (model 6: share of volume
    /// by height) puts above one foot, scaled through breast height.
    #[test]
    fn verif_published_stem_keeps_its_volume() {
        for (name, d_in, h_ft) in
            [("white oak", 20.0, 80.0), ("black cherry", 12.0, 60.0), ("Douglas-fir", 30.0, 95.0)]
        {
            let wood = species(name).unwrap();
            let (dbh_m, height_m) = (d_in * 0.0254, h_ft * 0.3048);
            let stem = Stem::published(dbh_m, height_m, wood).unwrap();
            let t = wood.taper;
            let total_ft3 = t.a * f64::powf(d_in, t.b) * f64::powf(h_ft, t.c);
            let below = (1.0 - (1.0 - 1.0 / h_ft).powf(t.alpha)).powf(t.beta);
            let at_breast = published_diameter_m(&t, dbh_m, height_m, BREAST_HEIGHT_M);
            let volume_m3 =
                total_ft3 * 0.3048_f64.powi(3) * (1.0 - below) * (dbh_m / at_breast).powi(2);
            let whole = stem.section(0.3048, height_m, &[]).unwrap().piece.mass_kg;
            let ratio = whole / stem.density_kg_m3 / volume_m3;
            assert!((ratio - 1.0).abs() < 0.005, "{name}: {ratio}");
        }
    }

    #[test]
    fn verif_section_frame_is_the_stem_turned_by_nothing() {
        let section = straight(0.5, 0.3, 900.0).section(2.0, 4.4, &[]).unwrap();
        assert_eq!(section.attitude, DQuat::IDENTITY);
        let piece = &section.piece;
        assert!((piece.length_m() - 2.4).abs() < 1e-12);
        assert!(piece.butt_m().z < -1.15 && piece.top_m().z > 1.2);
        assert_eq!(piece.inertia_kg_m2.x, piece.inertia_kg_m2.y);
        assert!(piece.rounds[0].from_is_face && piece.rounds[piece.stem_rounds - 1].to_is_face);
    }

    /// Cutting a section in two loses nothing.
    #[test]
    fn prop_sections_add_up() {
        let mut stem = Stem::published(0.6, 25.0, species("white ash").unwrap()).unwrap();
        stem.hollows = vec![
            Hollow { from_m: 1.0, to_m: 6.3, sound_shell_m: 0.15 },
            Hollow { from_m: 4.0, to_m: 9.0, sound_shell_m: 0.22 },
        ];
        let mass = |from_m, to_m| stem.section(from_m, to_m, &[]).unwrap().piece.mass_kg;
        let whole = mass(0.5, 9.5);
        assert!((mass(0.5, 5.1) + mass(5.1, 9.5) - whole).abs() < 1e-9 * whole);
        stem.hollows.clear();
        assert!(stem.section(0.5, 9.5, &[]).unwrap().piece.mass_kg > 1.1 * whole);
    }

    /// At t/R = 0.3 the core holds 49 % of the area.
    #[test]
    fn verif_hollow_takes_the_core() {
        let mut stem = straight(0.508, 0.508, 900.0);
        let sound = stem.section(2.0, 4.0, &[]).unwrap().piece;
        stem.hollows = vec![Hollow { from_m: 0.0, to_m: 10.0, sound_shell_m: 0.3 * 0.254 }];
        let hollow = stem.section(2.0, 4.0, &[]).unwrap().piece;
        assert!((hollow.mass_kg / sound.mass_kg - 0.51).abs() < 1e-12);
        let axial = hollow.inertia_kg_m2.z / sound.inertia_kg_m2.z;
        assert!((axial - (1.0 - 0.7_f64.powi(4))).abs() < 1e-12, "{axial}");
    }

    /// Mass, centre and full tensor of a hollow section with a stub against half a million small
    /// cubes.
    #[test]
    fn verif_stub_and_hollow_match_brute_force() {
        let mut stem = straight(0.6, 0.2, 850.0);
        stem.hollows = vec![Hollow { from_m: 1.4, to_m: 2.1, sound_shell_m: 0.16 }];
        let stub = Stub {
            height_m: 2.6,
            azimuth_rad: 1.1,
            rise_rad: 0.5,
            length_m: 0.7,
            diameter_m: 0.14,
        };
        let section = stem.section(1.0, 3.0, &[stub]).unwrap();

        let out = DVec3::new(stub.azimuth_rad.sin(), stub.azimuth_rad.cos(), 0.0);
        let base = out * 0.5 * stem.diameter_m(2.6) + DVec3::Z * 1.6;
        let along = out * stub.rise_rad.cos() + DVec3::Z * stub.rise_rad.sin();
        let step = 0.01;
        let (mut mass, mut first, mut second) = (0.0, DVec3::ZERO, DMat3::ZERO);
        for (i, j, k) in
            (0..260).flat_map(|k| (0..160).flat_map(move |j| (0..160).map(move |i| (i, j, k))))
        {
            let p = DVec3::new(f64::from(i) - 55.0, f64::from(j) - 55.0, f64::from(k)) * step
                + DVec3::splat(0.5 * step);
            let r = 0.5 * stem.diameter_m(1.0 + p.z);
            let ring = p.truncate().length();
            let bole = p.z < 2.0 && ring < r;
            let core = p.z > 0.4 && p.z < 1.1 && ring < r - 0.16;
            let s = (p - base).dot(along);
            let side = (p - base - along * s).length();
            let mut dm = 0.0;
            if bole && !core {
                dm += 1.0;
            }
            // The stub overlaps the bole by a sliver; both are counted, as the section does.
            if s > 0.0 && s < stub.length_m && side < 0.5 * stub.diameter_m {
                dm += 1.0;
            }
            let dm = dm * 850.0 * step.powi(3);
            mass += dm;
            first += p * dm;
            let outer = DMat3::from_cols(p * p.x, p * p.y, p * p.z);
            second += (DMat3::IDENTITY * p.length_squared() - outer) * dm;
        }
        let piece = &section.piece;
        assert!((mass / piece.mass_kg - 1.0).abs() < 3e-3, "{mass} {}", piece.mass_kg);
        let centre = first / mass;
        assert!((centre - section.centre_m).length() < 2e-3, "{centre} {}", section.centre_m);
        let c = centre;
        let outer = DMat3::from_cols(c * c.x, c * c.y, c * c.z);
        let about = second - (DMat3::IDENTITY * c.length_squared() - outer) * mass;
        let turn = DMat3::from_quat(section.attitude);
        let ours = turn * DMat3::from_diagonal(piece.inertia_kg_m2) * turn.transpose();
        let worst = 4e-3 * piece.inertia_kg_m2.max_element();
        assert!(about.abs_diff_eq(ours, worst), "{about}\n{ours}");
        // The tilt of the principal axis is real, and the stub's tip is where it was put.
        assert!(turn.z_axis.z < 0.9999);
        let tip = section.attitude * piece.rounds.last().unwrap().to_m + section.centre_m;
        assert!((tip - base - along * 0.7).length() < 1e-12);
    }

    #[test]
    fn prop_impossible_sections_are_refused() {
        let mut stem = straight(0.5, 0.3, 900.0);
        for (from_m, to_m) in [(2.0, 2.0), (3.0, 2.0), (-1.0, 2.0), (8.0, 10.5), (f64::NAN, 2.0)] {
            assert!(stem.section(from_m, to_m, &[]).is_err());
        }
        let stub =
            Stub { height_m: 5.0, azimuth_rad: 0.0, rise_rad: 0.0, length_m: 0.3, diameter_m: 0.1 };
        assert!(stem.section(1.0, 3.0, &[stub]).is_err());
        assert!(stem.section(4.0, 6.0, &[Stub { length_m: 0.0, ..stub }]).is_err());
        stem.hollows = vec![Hollow { from_m: 0.0, to_m: 10.0, sound_shell_m: 0.0 }];
        assert!(stem.section(4.0, 6.0, &[]).is_err());
    }
}
