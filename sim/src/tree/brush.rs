//! Brush: twigs and leaves as light blobs that drag in air, crush, catch and break.
//!
//! A **spray** is a ball of radius r about a point of the piece, full of `n` like twigs of length r
//! and thickness δ that stand out of it every way; a share f of them faces whatever it meets. Each
//! twig is a cantilever, and so is the limb that carries the spray, met at the distance ℓ from the
//! bark with the thickness d it has there:
//!
//! ```text
//! n   = m/(ρ·(π/4)·δ²·r·φ)
//! k_t = f·n·3·E·I/r³         I = π·δ⁴/64            stiffness of the twigs, N/m
//! F_t = f·n·MOR·(π·δ³/32)/r                          what folds them, N
//! k_c = 3·E·I/ℓ³             I = π·d⁴/64            stiffness of the limb, N/m
//! F_c = MOR·(π·d³/32)/ℓ                              what breaks it at the bark, N
//! U_c = u·V                                          work that breaks it, J
//! ```
//!
//! m the spray's mass (kg), ρ green density (kg/m³), φ form factor of a tapering twig, E modulus of
//! elasticity, MOR modulus of rupture (Pa), V volume of the limb (m³), u the work that green wood
//! takes up to its greatest load a volume (J/m³).
//!
//! Sources: cantilevers and their section moduli, textbook; MOR, E and u of green clear wood, USDA
//! FPL-GTR-282 Table 5-3b; that a limb is a tapering beam with twigs and leaves a fifth to two
//! fifths more, common practice. That brush is balls of like twigs, and every size below, is ours.
//! Leaves out: the mass of what has broken off (it is carried along), twigs that hook one another,
//! leaves shed. Known answers: `verif_a_spray_is_so_many_cantilevers`,
//! `verif_a_limb_breaks_under_the_moment_of_its_section`.

use glam::DVec3;

use super::{mass::Frustum, piece::Round};

/// Volume of a tapering limb or twig over that of a cylinder of its base: the middle of 0.4 to 0.5,
/// common practice.
pub const FORM: f64 = 0.45;
/// Share of a spray's twigs that face what it meets: ours, a third of all ways.
const FACING: f64 = 1.0 / 3.0;
/// Area that brush shows the wind, a kilogram, m²/kg: ours, that of a twig 6 mm thick, 4/(π·ρ·δ).
pub const AREA_M2_KG: f64 = 0.2;
/// Work that green wood takes up to its greatest load in bending, J/m³: 7.5 to 15.7 in·lbf/in³ for
/// the hardwoods of the table (FPL-GTR-282 Table 5-3b), here their middle.
pub const WORK_TO_BREAK_J_M3: f64 = 80e3;

/// Places along a stem at which it is asked whether it gives.
const PLACES: usize = 200;
/// Sprays that stand for the give of one limb, or of one slender end.
pub const SPRAYS: usize = 3;

/// What wood and its sizes make of a limb or twig: the numbers behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wood {
    /// Green density, kg/m³.
    pub density_kg_m3: f64,
    /// Modulus of rupture, Pa.
    pub rupture_pa: f64,
    /// Modulus of elasticity, Pa.
    pub elasticity_pa: f64,
}

/// Something that bends like a spring until it folds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Bending {
    /// Stiffness, N/m.
    pub stiffness_n_m: f64,
    /// Force at which it folds, N.
    pub strength_n: f64,
}

/// The limb that carries a spray: it bends, catches and breaks off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carrier {
    /// How it bends, and the force that breaks it.
    pub bending: Bending,
    /// Work that breaks it, J.
    pub work_j: f64,
}

/// A ball of brush, in the body frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spray {
    /// Its middle, m.
    pub at_m: DVec3,
    /// How far twigs stand out of it, m; the limb's own radius where it has none.
    pub radius_m: f64,
    /// Radius of the limb there, m.
    pub wood_radius_m: f64,
    /// Mass of twigs and leaves, kg.
    pub mass_kg: f64,
    /// Area it shows the wind in still air, m².
    pub drag_area_m2: f64,
    /// The twigs.
    pub twigs: Bending,
    /// The limb that carries it; `None` where that is the piece's own stem.
    pub carrier: Option<Carrier>,
}

/// All brush of a piece, and the wood in it that bends.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Brush {
    /// The sprays.
    pub sprays: Vec<Spray>,
    /// Limb wood outside the stiff part at the bark: it is seen and can touch, and what the ground
    /// makes of it is in the sprays along it.
    pub rods: Vec<Round>,
    /// The piece's own stem bends from the round with this index on, as its limbs do: it is slender
    /// there. `None` where all of it is stiff.
    pub slender_from: Option<usize>,
    /// Speed from which brush lays itself into the wind, so that drag grows no faster than speed,
    /// m/s.
    pub yields_at_m_s: f64,
}

impl Brush {
    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.sprays.is_empty()
    }

    /// Mass of twigs and leaves, kg.
    #[must_use]
    pub fn mass_kg(&self) -> f64 {
        self.sprays.iter().map(|s| s.mass_kg).sum()
    }

    /// Area it shows the wind in still air, m².
    #[must_use]
    pub fn drag_area_m2(&self) -> f64 {
        self.sprays.iter().map(|s| s.drag_area_m2).sum()
    }
}

impl Wood {
    /// A cantilever of this length and thickness (m) under a load across its end.
    #[must_use]
    pub fn cantilever(&self, length_m: f64, diameter_m: f64) -> Bending {
        use std::f64::consts::PI;
        let second_moment = PI * diameter_m.powi(4) / 64.0;
        let section_modulus = PI * diameter_m.powi(3) / 32.0;
        Bending {
            stiffness_n_m: 3.0 * self.elasticity_pa * second_moment / length_m.powi(3),
            strength_n: self.rupture_pa * section_modulus / length_m,
        }
    }

    /// The twigs of a spray: so much mass of twigs of this length and thickness (m).
    #[must_use]
    pub fn twigs(&self, mass_kg: f64, length_m: f64, diameter_m: f64) -> Bending {
        let quarter_pi = std::f64::consts::FRAC_PI_4;
        let one_kg = self.density_kg_m3 * quarter_pi * diameter_m.powi(2) * length_m * FORM;
        let facing = FACING * mass_kg / one_kg;
        let one = self.cantilever(length_m, diameter_m);
        Bending { stiffness_n_m: facing * one.stiffness_n_m, strength_n: facing * one.strength_n }
    }
}

/// A straight stem of rounds split where it gives: its stiff rounds, then the slender ones, none if
/// it is stiff to its end.
///
/// Of its outer half it gives from the lowest place on where its section can't carry the piece's
/// weight `weight_n` (N) across the stem's far end: MOR·(π·d³/32)/x < W, x from there to the end (m). So a heavy top
/// breaks its thin end off, and the tip of a light limb holds. The rule is ours.
pub(super) fn split(rounds: &[Frustum], wood: &Wood, weight_n: f64) -> [Vec<Frustum>; 2] {
    let (Some(first), Some(last)) = (rounds.first(), rounds.last()) else {
        return [Vec::new(), Vec::new()];
    };
    let length_m = first.from_m.distance(last.to_m);
    let along = |p: DVec3| first.from_m.distance(p);
    let radius_m = |z_m: f64| {
        let round = rounds.iter().find(|r| along(r.to_m) >= z_m).unwrap_or(last);
        let (low_m, high_m) = (along(round.from_m), along(round.to_m));
        let share = ((z_m - low_m) / (high_m - low_m)).clamp(0.0, 1.0);
        round.from_radius_m + share * (round.to_radius_m - round.from_radius_m)
    };
    let places = (PLACES / 2..PLACES).map(|k| length_m * k as f64 / PLACES as f64);
    let gives =
        |z_m: &f64| wood.cantilever(length_m - z_m, 2.0 * radius_m(*z_m)).strength_n < weight_n;
    let Some(at_m) = places.into_iter().find(gives) else {
        return [rounds.to_vec(), Vec::new()];
    };
    let (mut stiff, mut slender) = (Vec::new(), Vec::new());
    for round in rounds {
        let (low_m, high_m) = (along(round.from_m), along(round.to_m));
        if high_m <= at_m {
            stiff.push(*round);
        } else if low_m >= at_m {
            slender.push(*round);
        } else {
            let there_m = round.from_m.lerp(round.to_m, (at_m - low_m) / (high_m - low_m));
            let r = radius_m(at_m);
            stiff.push(Frustum { to_m: there_m, to_radius_m: r, ..*round });
            slender.push(Frustum { from_m: there_m, from_radius_m: r, ..*round });
        }
    }
    [stiff, slender]
}

/// Bare sprays along the slender end of a stem: it gives, and breaks where it begins.
pub(super) fn slender_end(rounds: &[Frustum], wood: &Wood) -> Vec<Spray> {
    let (Some(first), Some(last)) = (rounds.first(), rounds.last()) else { return Vec::new() };
    let (from_m, to_m) = (first.from_m, last.to_m);
    let length_m = from_m.distance(to_m);
    let volume_m3: f64 = rounds.iter().map(Frustum::volume_m3).sum();
    let share = 1.0 / SPRAYS as f64;
    (0..SPRAYS)
        .filter_map(|k| {
            let along = (k as f64 + 0.5) * share;
            let at_m = from_m.lerp(to_m, along);
            let on = |f: &&Frustum| (at_m - f.from_m).dot(at_m - f.to_m) <= 1e-12;
            let round = rounds.iter().find(on)?;
            let there = at_m.distance(round.from_m) / round.from_m.distance(round.to_m);
            let radius_m = round.from_radius_m + there * (round.to_radius_m - round.from_radius_m);
            // Met at the end of its third: nearer to where it begins it would be as stiff as wood.
            let arm_m = (along + 0.5 * share) * length_m;
            let bending = wood.cantilever(arm_m, 2.0 * first.from_radius_m);
            let work_j = share * WORK_TO_BREAK_J_M3 * volume_m3;
            Some(Spray {
                at_m,
                radius_m,
                wood_radius_m: radius_m,
                mass_kg: 0.0,
                drag_area_m2: 0.0,
                twigs: Bending::default(),
                carrier: Some(Carrier { bending: bending.share(share), work_j }),
            })
        })
        .collect()
}

impl Bending {
    /// A share of it.
    #[must_use]
    pub fn share(self, share: f64) -> Self {
        Self { stiffness_n_m: share * self.stiffness_n_m, strength_n: share * self.strength_n }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OAK: Wood = Wood { density_kg_m3: 1000.0, rupture_pa: 57.2e6, elasticity_pa: 8.62e9 };

    #[test]
    fn verif_a_limb_breaks_under_the_moment_of_its_section() {
        // 20 in at 8,300 psi: 543,234 ft·lbf (values worked from the handbook's MOR); 1 m out.
        let oak = Wood { rupture_pa: 8300.0 * 6894.757, ..OAK };
        let one = oak.cantilever(1.0, 0.508);
        assert!((one.strength_n / (543_234.0 * 1.355_818) - 1.0).abs() < 1e-5);
        // Twice as far out half the force breaks it, and it is eight times as soft.
        let two = oak.cantilever(2.0, 0.508);
        assert!((one.strength_n / two.strength_n - 2.0).abs() < 1e-12);
        assert!((one.stiffness_n_m / two.stiffness_n_m - 8.0).abs() < 1e-12);
    }

    #[test]
    fn verif_a_stem_gives_where_it_cannot_carry_the_piece() {
        // A cylinder 10 cm thick: MOR·π·d³/32 = 5,615 N m, so 2 kN break it 2.81 m from its end and
        // further in; of its outer half, 3 m, all.
        let log = Frustum {
            from_m: DVec3::ZERO,
            to_m: DVec3::Z * 6.0,
            from_radius_m: 0.05,
            to_radius_m: 0.05,
            density_kg_m3: 1000.0,
        };
        let [stiff, slender] = split(&[log], &OAK, 2_000.0);
        assert!(stiff[0].to_m == slender[0].from_m && slender[0].to_m == log.to_m);
        let gives_m = 6.0 - stiff[0].to_m.z;
        assert!((gives_m - 3.0).abs() < 1e-9, "{gives_m}");
        // Nothing of it where it can carry all.
        assert!(split(&[log], &OAK, 900.0)[1].is_empty());
    }

    #[test]
    fn verif_a_spray_is_so_many_cantilevers() {
        let (length_m, diameter_m) = (0.8, 0.02);
        let one = OAK.cantilever(length_m, diameter_m);
        let one_kg = 1000.0 * std::f64::consts::FRAC_PI_4 * 0.0004 * 0.8 * FORM;
        // Thirty of them, of which ten face the ground.
        let twigs = OAK.twigs(30.0 * one_kg, length_m, diameter_m);
        assert!((twigs.strength_n / one.strength_n - 10.0).abs() < 1e-9);
        assert!((twigs.stiffness_n_m / one.stiffness_n_m - 10.0).abs() < 1e-9);
        assert_eq!(OAK.twigs(0.0, length_m, diameter_m), Bending::default());
    }
}
