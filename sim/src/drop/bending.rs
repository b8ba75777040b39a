//! How hard the ground bends a piece as it lands.
//!
//! Models the stem as a rigid beam: at each step the ground's push on every element
//! ([`pushes`](crate::soil::kick::pushes)) and the inertia of every slice of the stem hold each
//! other up (d'Alembert), and what they do on one side of a section is what the wood there has to
//! bear:
//!
//! ```text
//! a_c = ΣF/m + g        I·α = Σ r×F − ω×I·ω        a_j = a_c + α×r_j + ω×(ω×r_j)
//! M(s) = Σ_{i below s} (x_i − x_s)×F_i − Σ_{j below s} [ (x_j − x_s)×m_j·(a_j − g) + dL_j/dt ]
//! σ(s) = |M(s) − (M·u)u| / Z(s),    Z = π·D³/32·(1 − (d/D)⁴)
//! ```
//!
//! F push of the ground on an element (N) at x_i (m), m_j mass (kg) of a slice at x_j that turns by
//! L_j (kg m²/s), u the stem's axis, D its diameter and d that of a hollow (m), Z section modulus
//! (m³, textbook), σ bending stress (Pa). Stubs, limbs and brush count as masses where they stand.
//! It breaks, by this reckoning, where σ passes the modulus of rupture of
//! green wood (`assets/species.csv`).
//!
//! Leaves out: bending waves (a blow that comes on within the quarter period of the stem, some
//! milliseconds, bends it up to twice as far, one that is over sooner less); that wood bears more
//! in a blow than in a slow test (about a tenth a decade of time, Wood Handbook, from memory); knots
//! and cracks; blows against something solid, which are only told by their speed; splitting.
//! Known answers: `verif_bending` of the acceptance tests.

use std::f64::consts::PI;

use glam::{DMat3, DVec3};

use crate::{
    GRAVITY_M_S2,
    drop::mover::Mover,
    soil::kick::{Kicked, pushes},
    tree::{Piece, Section},
};

/// Slices of the stem: moments are reckoned between them.
const SLICES: usize = 24;
/// Pushes under this many weights of the piece are not looked at: lying there breaks nothing.
const LEAST_WEIGHTS: f64 = 3.0;

/// The hardest that the ground has bent a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bent {
    /// Bending stress, Pa.
    pub stress_pa: f64,
    /// Where, along the stem from the butt, m.
    pub from_butt_m: f64,
    /// When, s after Launch.
    pub time_s: f64,
}

/// A piece as a beam, in the body frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Beam {
    butt_m: DVec3,
    axis: DVec3,
    /// Distance from the butt and radius, m, butt to top.
    outline: Vec<(f64, f64)>,
    /// Mass by mass: slices of the stem in order, then what stands on it.
    lumps: Vec<Lump>,
    /// Between slices: distance from the butt, m, and section modulus, m³.
    sections: Vec<(f64, f64)>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Lump {
    from_butt_m: f64,
    at_m: DVec3,
    mass_kg: f64,
    /// About the stem's axis and across it, kg m².
    inertia_kg_m2: [f64; 2],
}

impl Beam {
    /// The beam of a section; `hollow_m` is the diameter of its hollow at a distance from its
    /// butt, m.
    #[must_use]
    pub fn new(section: &Section, hollow_m: impl Fn(f64) -> f64) -> Self {
        let piece = &section.piece;
        let (butt_m, length_m) = (piece.butt_m(), piece.length_m());
        let axis = (piece.top_m() - butt_m).normalize_or(DVec3::Z);
        let step_m = length_m / SLICES as f64;
        let outline = outline(piece);
        let solid = |from_butt_m: f64| {
            let (outer, inner) = (2.0 * radius_m(&outline, from_butt_m), hollow_m(from_butt_m));
            (outer, inner.clamp(0.0, outer))
        };
        let slices = (0..SLICES).map(|k| {
            let from_butt_m = step_m * (k as f64 + 0.5);
            let (outer, inner) = solid(from_butt_m);
            let area = 0.25 * PI * (outer * outer - inner * inner);
            // r² of gyration about a diameter: (D² + d²)/16.
            let gyration = (outer * outer + inner * inner) / 16.0;
            Lump {
                from_butt_m,
                at_m: butt_m + axis * from_butt_m,
                mass_kg: area * step_m,
                inertia_kg_m2: [2.0 * gyration, gyration + step_m * step_m / 12.0]
                    .map(|k| k * area * step_m),
            }
        });
        let beside = piece.rounds.iter().skip(piece.stem_rounds).chain(&piece.brush.rods);
        let beside = beside.map(|round| {
            let [a, b] = [round.from_radius_m, round.to_radius_m];
            let volume = PI * round.from_m.distance(round.to_m) / 3.0 * (a * a + a * b + b * b);
            Lump {
                from_butt_m: (round.from_m - butt_m).dot(axis),
                at_m: round.from_m.midpoint(round.to_m),
                mass_kg: volume,
                inertia_kg_m2: [0.0; 2],
            }
        });
        let mut lumps: Vec<Lump> = slices.chain(beside).collect();
        // Volumes so far; together they weigh what of the piece is wood.
        let wood_kg = piece.mass_kg - piece.brush.mass_kg();
        let density = wood_kg / lumps.iter().map(|l| l.mass_kg).sum::<f64>().max(1e-9);
        for lump in &mut lumps {
            lump.mass_kg *= density;
            lump.inertia_kg_m2 = lump.inertia_kg_m2.map(|k| k * density);
        }
        lumps.extend(piece.brush.sprays.iter().map(|spray| Lump {
            from_butt_m: (spray.at_m - butt_m).dot(axis),
            at_m: spray.at_m,
            mass_kg: spray.mass_kg,
            inertia_kg_m2: [0.0; 2],
        }));
        let sections = (1..SLICES).map(|k| {
            let from_butt_m = step_m * k as f64;
            let (outer, inner) = solid(from_butt_m);
            let share = inner / outer.max(1e-9);
            (from_butt_m, PI * outer.powi(3) / 32.0 * (1.0 - share.powi(4)).max(1e-6))
        });
        let sections = sections.collect();
        Self { butt_m, axis, outline, lumps, sections }
    }

    /// Radius of the stem at a distance from the butt, m.
    #[must_use]
    pub fn radius_m(&self, from_butt_m: f64) -> f64 {
        radius_m(&self.outline, from_butt_m)
    }

    /// The stress that the ground's push of one step raises, if it touches, and where.
    #[must_use]
    pub fn stress(&self, mover: &Mover<'_>, kicked: &Kicked, smoothing_m_s: f64) -> Option<Bent> {
        if mover.contact.quads.is_empty() {
            return None;
        }
        let mut loads = Vec::with_capacity(4 * mover.contact.quads.len());
        let body = mover.attitude.inverse();
        pushes(&mover.contact.quads, kicked, smoothing_m_s, |arm, force| {
            loads.push((body * arm, body * force))
        });
        let force: DVec3 = loads.iter().map(|(_, force)| *force).sum();
        if force.length() < LEAST_WEIGHTS * mover.piece.mass_kg * GRAVITY_M_S2 {
            return None;
        }
        Some(self.bend(&loads, mover.piece, body * kicked.twist.angular_rad_s))
    }

    /// The greatest stress under loads (place from the centre of mass, force), in the body frame.
    #[must_use]
    pub fn bend(&self, loads: &[(DVec3, DVec3)], piece: &Piece, spin_rad_s: DVec3) -> Bent {
        let inertia = DMat3::from_diagonal(piece.inertia_kg_m2);
        let force: DVec3 = loads.iter().map(|(_, f)| *f).sum();
        let torque: DVec3 = loads.iter().map(|(r, f)| r.cross(*f)).sum();
        // Less gravity, which pulls on every slice alike and bends nothing.
        let push_m_s2 = force / piece.mass_kg;
        let twisting = (torque - spin_rad_s.cross(inertia * spin_rad_s)) / piece.inertia_kg_m2;
        let mut worst = Bent { stress_pa: 0.0, from_butt_m: 0.0, time_s: 0.0 };
        for &(from_butt_m, modulus_m3) in &self.sections {
            let at = self.butt_m + self.axis * from_butt_m;
            let below = |x: DVec3| (x - self.butt_m).dot(self.axis) < from_butt_m;
            let mut moment = DVec3::ZERO;
            for (place, force) in loads.iter().filter(|(place, _)| below(*place)) {
                moment += (*place - at).cross(*force);
            }
            for lump in self.lumps.iter().filter(|lump| lump.from_butt_m < from_butt_m) {
                let r = lump.at_m;
                let acceleration =
                    push_m_s2 + twisting.cross(r) + spin_rad_s.cross(spin_rad_s.cross(r));
                moment -= (r - at).cross(acceleration * lump.mass_kg);
                let [about, across] = lump.inertia_kg_m2;
                let of = |w: DVec3| w * across + self.axis * (w.dot(self.axis) * (about - across));
                moment -= of(twisting) + spin_rad_s.cross(of(spin_rad_s));
            }
            let across = moment - self.axis * moment.dot(self.axis);
            let stress_pa = across.length() / modulus_m3;
            if stress_pa > worst.stress_pa {
                worst = Bent { stress_pa, from_butt_m, time_s: 0.0 };
            }
        }
        worst
    }
}

/// Distances from the butt and radii of the main stem, m.
fn outline(piece: &Piece) -> Vec<(f64, f64)> {
    let stem = piece.rounds.iter().take(piece.stem_rounds);
    let mut outline: Vec<(f64, f64)> = Vec::with_capacity(piece.stem_rounds + 1);
    for round in stem {
        let begun = outline.last().map_or(0.0, |at| at.0);
        if outline.is_empty() {
            outline.push((0.0, round.from_radius_m));
        }
        outline.push((begun + round.from_m.distance(round.to_m), round.to_radius_m));
    }
    outline
}

fn radius_m(outline: &[(f64, f64)], from_butt_m: f64) -> f64 {
    let above = outline.iter().position(|at| at.0 >= from_butt_m);
    let above = above.unwrap_or(outline.len().saturating_sub(1)).max(1);
    let (Some(a), Some(b)) = (outline.get(above - 1), outline.get(above)) else { return 0.0 };
    let share = ((from_butt_m - a.0) / (b.0 - a.0).max(1e-9)).clamp(0.0, 1.0);
    a.1 + share * (b.1 - a.1)
}
