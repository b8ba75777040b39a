//! The ground's push over one step, implicit in velocity.
//!
//! Models pressure and traction on each buried element,
//!
//! ```text
//! p        = S·[(1+e²)/2 + (1−e²)/2 · v_n/√(v_n²+v₀²)] + c·ρ_s·v_n²     (last term while v_n > 0)
//! traction = −min(μ·p, τ_max) · v_t/√(|v_t|²+v₀²)
//! ```
//!
//! and solves the momentum balance over a step Δt with secant coefficients from the last sweep,
//!
//! ```text
//! c_n = S(1−e²)/(2√(v_n²+v₀²)) + c·ρ_s·max(v_n,0)        c_t = min(μp, τ_max)/√(v_t²+v₀²)
//! [M + Δt·ΣA·Jᵀ(c_n·nnᵀ + c_t(1−nnᵀ))J]·V = M·V⁻ + Δt·(W − ΣA·Jᵀn·S(1+e²)/2)
//! ```
//!
//! n outward normal, v_n = v·n > 0 going in (m/s), S strength (Pa), e restitution, v₀ smoothing
//! speed (m/s), μ friction, τ_max greatest traction (Pa), c·ρ_s inertial term (kg/m³), A element
//! area (m²), V = (v, ω) twist, M mass matrix, W other forces. A pressure law on surface elements
//! in the spirit of resistive-force theory (Agarwal, Goldman & Kamrin 2023, PNAS) with Poncelet's
//! inertial term (limits in early impact: Krizou & Clark 2019, arXiv 1912.10119); it is not that
//! theory. Leaves out: what earlier passes did to the ground, and soil carried along.
//!
//! Each sweep minimises a convex bound of the dissipation (the coefficients are those of
//! iteratively re-weighted least squares), so sweeps cannot diverge. Known answers:
//! `verif_a_log_stays_below_its_friction_angle`, `verif_rebound_is_e_…` in the tests.

use glam::{DMat3, DVec3};
use nalgebra::{Matrix6, Vector6};

use crate::soil::contact::Quad;

type Lanes = [f64; 4];

/// Numbers that set how exactly the step is solved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exactness {
    /// Smoothing speed v₀, m/s. At most 5 µm/s, or resting logs creep.
    pub smoothing_m_s: f64,
    /// Sweeps at most.
    pub most_sweeps: u32,
    /// Sweeping stops when the twist changes by less than this share of itself.
    pub share: f64,
    /// Where every element is faster than this and none turns round between going in and coming out,
    /// sweeping stops at [`Exactness::fast_share`], m/s.
    pub fast_m_s: f64,
    /// Share of the twist by which a sweep among fast elements may change it and be the last. At a
    /// tenth, elements that turn round within a step gave back half as much again as they should.
    pub fast_share: f64,
}

impl Default for Exactness {
    fn default() -> Self {
        Self { smoothing_m_s: 5e-6, most_sweeps: 12, share: 1e-4, fast_m_s: 0.5, fast_share: 0.01 }
    }
}

/// Mass and world inertia of a body.
#[derive(Clone, Copy, Debug)]
pub struct Inertia {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Inertia tensor about the centre of mass in the world frame, kg m².
    pub tensor_kg_m2: DMat3,
}

/// Linear and angular velocity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Twist {
    /// Velocity of the centre of mass, m/s.
    pub linear_m_s: DVec3,
    /// Angular velocity, rad/s.
    pub angular_rad_s: DVec3,
}

/// Work that the ground took in and may give back over one touch, J.
///
/// Where S depends on width, direction or place the law has no potential, so this one scalar caps
/// returned work at e² of the work put in, from the first element in to the last element out.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// Σ e²·(work put in), J.
    pub returnable_j: f64,
    /// Work returned, J.
    pub returned_j: f64,
    /// Power returned at the last step had there been no cap, W.
    last_return_w: f64,
}

impl Ledger {
    /// Share of e² that is still covered over the next `dt_s`.
    fn cover(&self, dt_s: f64) -> f64 {
        let left = self.returnable_j - self.returned_j;
        let wanted = self.last_return_w * dt_s;
        // Nothing is returned that was not put in, not even at the first step of a touch.
        if left <= 0.0 {
            0.0
        } else if wanted <= 0.0 {
            1.0
        } else {
            (left / wanted).min(1.0)
        }
    }
}

/// What a kick gave.
#[derive(Clone, Copy, Debug)]
pub struct Kicked {
    /// Twist after the step.
    pub twist: Twist,
    /// Twist that the last sweep took its coefficients from.
    pub from: Twist,
    /// It took them along the law's tangent there.
    pub tangent: bool,
    /// Greatest speed of an element before the last sweep, m/s.
    pub fastest_m_s: f64,
    /// Sweeps taken.
    pub sweeps: u32,
    /// The twist stopped changing before the sweeps ran out.
    pub settled: bool,
    /// Share of e² that was given back: what [`pushes`] wants.
    pub cover: f64,
}

/// What acts on a body besides the ground.
#[derive(Clone, Copy, Debug, Default)]
pub struct Loads {
    /// Force at the centre of mass, N.
    pub force_n: DVec3,
    /// Torque about the centre of mass, N m.
    pub torque_n_m: DVec3,
    /// A resistance at the centre against its velocity, whatever the speed, N.
    pub resistance_n: f64,
}

/// Below this speed a [`Loads::resistance_n`] falls to nothing, m/s.
const RESISTS_ABOVE_M_S: f64 = 0.05;

/// Solves one step for a body under `loads` besides the ground.
#[must_use]
pub fn kick(
    quads: &[Quad],
    inertia: &Inertia,
    before: Twist,
    loads: &Loads,
    dt_s: f64,
    exactness: &Exactness,
    ledger: &mut Ledger,
) -> Kicked {
    let speed_sq = before.linear_m_s.length_squared() + RESISTS_ABOVE_M_S * RESISTS_ABOVE_M_S;
    let eased = Inertia {
        mass_kg: inertia.mass_kg + dt_s * loads.resistance_n / speed_sq.sqrt(),
        ..*inertia
    };
    let momentum = before.linear_m_s * inertia.mass_kg + loads.force_n * dt_s;
    let spin = inertia.tensor_kg_m2 * before.angular_rad_s + loads.torque_n_m * dt_s;
    // A resistance c·v at the centre, implicit in v, stands in the balance where mass stands.
    let inertia = &eased;
    if quads.is_empty() {
        *ledger = Ledger::default();
        let twist = Twist {
            linear_m_s: momentum / inertia.mass_kg,
            angular_rad_s: before.angular_rad_s
                + inertia.tensor_kg_m2.inverse() * (loads.torque_n_m * dt_s),
        };
        return Kicked {
            twist,
            from: twist,
            tangent: false,
            fastest_m_s: 0.0,
            sweeps: 0,
            settled: true,
            cover: 0.0,
        };
    }
    let cover = ledger.cover(dt_s);
    let reach = arm_scale(quads);
    let mut twist = before;
    let (mut sweeps, mut settled, mut fastest, mut from) = (0, false, 0.0, before);
    let mut tangent = false;
    let mut last: Option<Sweep> = None;
    while sweeps < exactness.most_sweeps {
        sweeps += 1;
        from = twist;
        let sums = sum::<false>(quads, &twist, exactness.smoothing_m_s, cover);
        fastest = sums.fastest_sq.sqrt();
        let next = solve(&sums, inertia, momentum, spin, dt_s);
        let sweep = Sweep::new(&twist, next, reach);
        let change = sweep.linear.length() + sweep.angular.length();
        let size = next.linear_m_s.length() + next.angular_rad_s.length() * reach;
        twist = next;
        if sweeps == 1 {
            ledger.returnable_j += sums.put_in_w * dt_s;
            ledger.returned_j += sums.returned_w * cover * dt_s;
            ledger.last_return_w = sums.returned_w;
        }
        let small = change < exactness.smoothing_m_s.max(exactness.share * size);
        let mut escaped = false;
        tangent = false;
        if small && size < SLOW_M_S || sweeps == JUMP_AT || sweeps == exactness.most_sweeps {
            let out = escape(quads, inertia, momentum, spin, dt_s, exactness, cover, twist);
            if let Some((to, at)) = out {
                (twist, from, tangent) = (to, at, true);
                escaped = twist != next;
            }
        }
        let fast = sums.slowest_sq > exactness.fast_m_s * exactness.fast_m_s
            && change < exactness.fast_share * size
            // Pressure hangs on whether an element goes in or comes out: none may turn round yet.
            && change < sums.slowest_in;
        if small || fast {
            settled = true;
            break;
        }
        if escaped {
            last = None;
        } else {
            if let Some(last) = &last
                && sweeps < exactness.most_sweeps
                && size < SLOW_M_S
            {
                twist = sweep.ahead(last);
            }
            last = Some(sweep);
        }
    }
    Kicked { twist, from, tangent, fastest_m_s: fastest, sweeps, settled, cover }
}

/// One sweep: where it led, and how far that was from where it began.
struct Sweep {
    to: Twist,
    linear: DVec3,
    /// Times the reach of the elements, so that it is a speed, too.
    angular: DVec3,
}

impl Sweep {
    fn new(from: &Twist, to: Twist, reach: f64) -> Self {
        let linear = to.linear_m_s - from.linear_m_s;
        let angular = (to.angular_rad_s - from.angular_rad_s) * reach;
        Self { to, linear, angular }
    }

    /// Where the next sweep begins: on the line through the last two ends, where their changes
    /// would have met in the least square (Anderson 1965, depth one).
    fn ahead(&self, last: &Self) -> Twist {
        let (dl, da) = (self.linear - last.linear, self.angular - last.angular);
        let square = dl.length_squared() + da.length_squared();
        if square <= 0.0 {
            return self.to;
        }
        let share = (self.linear.dot(dl) + self.angular.dot(da)) / square;
        let share = share.clamp(-MOST_AHEAD, 0.5);
        Twist {
            linear_m_s: self.to.linear_m_s - (self.to.linear_m_s - last.to.linear_m_s) * share,
            angular_rad_s: self.to.angular_rad_s
                - (self.to.angular_rad_s - last.to.angular_rad_s) * share,
        }
    }
}

/// Furthest that a sweep begins ahead of the last one's end, in last ways.
const MOST_AHEAD: f64 = 10.0;

/// Below this speed a twist that has stopped changing may still be one that has yet to leave, m/s.
const SLOW_M_S: f64 = 0.05;
/// Momentum left over, as a share of gravity's over the step, above which leaving is tried.
const LEFT_OVER: f64 = 0.02;

/// Leaving is tried once at this sweep, too.
const JUMP_AT: u32 = 4;
/// Sweeps tried before staying: the first leaves the smoothed part of the law, the next lands.
const LANDINGS: u32 = 3;

/// Leaves a standstill that the balance does not hold.
///
/// Sweeps leave a velocity near zero only by the factor (1+e²)/(1−e²) each, so a piece about to
/// rebound, or to break loose, would stay for many steps. Where the balance at the twist found
/// leaves momentum over, sweeps along the tangent are tried, a few times over,
/// and what they lead to is taken if it leaves less than a tenth as much: the twist, and the one
/// that its coefficients are from.
#[expect(
    clippy::too_many_arguments,
    reason = "the pieces of one balance; a struct would live here only"
)]
fn escape(
    quads: &[Quad],
    inertia: &Inertia,
    momentum: DVec3,
    spin: DVec3,
    dt_s: f64,
    exactness: &Exactness,
    cover: f64,
    twist: Twist,
) -> Option<(Twist, Twist)> {
    let reach = arm_scale(quads);
    let inverse = inertia.tensor_kg_m2.inverse();
    let left_over = |twist: &Twist| {
        let sums = sum::<true>(quads, twist, exactness.smoothing_m_s, cover);
        let (force, torque) = sums.balance(inertia, twist, momentum, spin, dt_s);
        let size = (force / inertia.mass_kg).length() + (inverse * torque).length() * reach;
        (sums, size)
    };
    let (sums, size) = left_over(&twist);
    if size < LEFT_OVER * crate::GRAVITY_M_S2 * dt_s {
        return None;
    }
    let mut from = twist;
    let mut tried = solve(&sums, inertia, momentum, spin, dt_s);
    for _ in 0..LANDINGS {
        let (sums, size_there) = left_over(&tried);
        if size_there < 0.1 * size {
            return Some((tried, from));
        }
        from = tried;
        tried = solve(&sums, inertia, momentum, spin, dt_s);
    }
    None
}

/// The ground's push on each element over a step that was solved: its arm from the centre of mass
/// (m) and the force on the piece there (N).
///
/// As the solve had it, with the last sweep's coefficients: an element that hardly moves presses
/// with whatever holds the piece, which its own speed does not tell.
pub fn pushes(
    quads: &[Quad],
    kicked: &Kicked,
    smoothing_m_s: f64,
    mut each: impl FnMut(DVec3, DVec3),
) {
    let v0_sq = smoothing_m_s * smoothing_m_s;
    let Kicked { twist, from, cover, tangent, .. } = kicked;
    for quad in quads {
        let e_sq = quad.restitution_sq * cover;
        for i in 0..4 {
            let at = |of: &[[f64; 4]; 3]| DVec3::new(of[0][i], of[1][i], of[2][i]);
            let (normal, arm) = (at(&quad.normal), at(&quad.arm_m));
            let split = |twist: &Twist| {
                let velocity = twist.linear_m_s + twist.angular_rad_s.cross(arm);
                let vn = velocity.dot(normal);
                (vn, velocity - normal * vn)
            };
            let ((vn, along), (vn_from, along_from)) = (split(twist), split(from));
            let base = quad.strength_pa[i] * 0.5 * (1.0 + e_sq);
            let near_sq = vn_from * vn_from + v0_sq;
            let secant = quad.strength_pa[i] * 0.5 * (1.0 - e_sq) / near_sq.sqrt();
            let slope = if *tangent { secant * v0_sq / near_sq } else { secant };
            let inertial = quad.inertial_kg_m3 * vn_from.max(0.0);
            let pressure_from = (base + (secant + inertial) * vn_from).max(0.0);
            let traction = (quad.friction[i] * pressure_from).min(quad.traction_limit_pa[i]);
            let drag = traction / (along_from.length_squared() + v0_sq).sqrt();
            let pressure = base + (secant - slope) * vn_from + (slope + inertial) * vn;
            let stress = normal * pressure + along * drag;
            each(arm, -stress * quad.area_m2[i]);
        }
    }
}

/// How far elements are from the centre of mass, m: turns spin into speed.
fn arm_scale(quads: &[Quad]) -> f64 {
    let mut most: f64 = 0.0;
    for quad in quads {
        let [x, y, z] = quad.arm_m;
        most = most.max(x[0] * x[0] + y[0] * y[0] + z[0] * z[0]);
    }
    most.sqrt()
}

/// Sums over all elements of what the 6×6 system is made of.
struct Sums {
    /// Σ A·c_t.
    drag: f64,
    /// Σ A·c_t·r.
    drag_arm: DVec3,
    /// Σ A·c_t·r·rᵀ, upper triangle xx xy xz yy yz zz.
    drag_arm_sq: [f64; 6],
    /// Σ A·(c_n − c_t)·g·gᵀ with g = (n, r×n), lower triangle by rows.
    push: [f64; 21],
    /// Σ A·S·(1+e²)/2·g.
    load: [f64; 6],
    put_in_w: f64,
    returned_w: f64,
    fastest_sq: f64,
    slowest_sq: f64,
    /// Least speed into or out of the ground, m/s.
    slowest_in: f64,
}

#[inline(always)]
fn each(f: impl Fn(usize) -> f64) -> Lanes {
    [f(0), f(1), f(2), f(3)]
}

/// With `TANGENT` the ground's push is taken along its slope at the twist (outside its smoothed
/// part all but constant), else along the line from nothing (the secant), which always converges.
fn sum<const TANGENT: bool>(quads: &[Quad], twist: &Twist, smoothing: f64, cover: f64) -> Sums {
    let [vx, vy, vz] = twist.linear_m_s.to_array();
    let [wx, wy, wz] = twist.angular_rad_s.to_array();
    let v0_sq = smoothing * smoothing;
    let mut iso = [[0.0; 4]; 10];
    let mut push = [[0.0; 4]; 21];
    let mut load = [[0.0; 4]; 6];
    let (mut put_in, mut returned) = ([0.0; 4], [0.0; 4]);
    let (mut fastest, mut slowest) = ([0.0_f64; 4], [f64::INFINITY; 4]);
    let mut slowest_in = [f64::INFINITY; 4];
    for quad in quads {
        let [nx, ny, nz] = quad.normal;
        let [rx, ry, rz] = quad.arm_m;
        let e_sq = quad.restitution_sq;
        let (mean, swing) = (0.5 * (1.0 + e_sq * cover), 0.5 * (1.0 - e_sq * cover));
        let ux = each(|i| vx + wy * rz[i] - wz * ry[i]);
        let uy = each(|i| vy + wz * rx[i] - wx * rz[i]);
        let uz = each(|i| vz + wx * ry[i] - wy * rx[i]);
        let vn = each(|i| ux[i] * nx[i] + uy[i] * ny[i] + uz[i] * nz[i]);
        let speed_sq = each(|i| ux[i] * ux[i] + uy[i] * uy[i] + uz[i] * uz[i]);
        let vt_sq = each(|i| (speed_sq[i] - vn[i] * vn[i]).max(0.0));
        let per_vn = each(|i| 1.0 / (vn[i] * vn[i] + v0_sq).sqrt());
        let per_vt = each(|i| 1.0 / (vt_sq[i] + v0_sq).sqrt());
        let going_in = each(|i| vn[i].max(0.0));
        let s = quad.strength_pa;
        let inertial = each(|i| quad.inertial_kg_m3 * going_in[i]);
        let secant = each(|i| s[i] * swing * per_vn[i]);
        let p = each(|i| (s[i] * mean + (secant[i] + inertial[i]) * vn[i]).max(0.0));
        let slope =
            if TANGENT { each(|i| secant[i] * v0_sq * per_vn[i] * per_vn[i]) } else { secant };
        let cn = each(|i| slope[i] + inertial[i]);
        let ct = each(|i| (quad.friction[i] * p[i]).min(quad.traction_limit_pa[i]) * per_vt[i]);
        let area = quad.area_m2;
        let drag = each(|i| area[i] * ct[i]);
        let lift = each(|i| area[i] * (cn[i] - ct[i]));
        let base = each(|i| area[i] * (s[i] * mean + (secant[i] - slope[i]) * vn[i]));
        let mx = each(|i| ry[i] * nz[i] - rz[i] * ny[i]);
        let my = each(|i| rz[i] * nx[i] - rx[i] * nz[i]);
        let mz = each(|i| rx[i] * ny[i] - ry[i] * nx[i]);
        let (dx, dy, dz) =
            (each(|i| drag[i] * rx[i]), each(|i| drag[i] * ry[i]), each(|i| drag[i] * rz[i]));
        let terms: [Lanes; 10] = [
            drag,
            dx,
            dy,
            dz,
            each(|i| dx[i] * rx[i]),
            each(|i| dx[i] * ry[i]),
            each(|i| dx[i] * rz[i]),
            each(|i| dy[i] * ry[i]),
            each(|i| dy[i] * rz[i]),
            each(|i| dz[i] * rz[i]),
        ];
        for (total, term) in iso.iter_mut().zip(&terms) {
            *total = each(|i| total[i] + term[i]);
        }
        let g: [Lanes; 6] = [nx, ny, nz, mx, my, mz];
        let mut k = 0;
        for row in 0..6 {
            let weighted = each(|i| lift[i] * g[row][i]);
            for other in &g[..=row] {
                push[k] = each(|i| push[k][i] + weighted[i] * other[i]);
                k += 1;
            }
            load[row] = each(|i| load[row][i] + base[i] * g[row][i]);
        }
        let work = each(|i| e_sq * s[i] * area[i]);
        put_in = each(|i| put_in[i] + work[i] * going_in[i]);
        returned = each(|i| returned[i] + work[i] * (-vn[i]).max(0.0));
        fastest = each(|i| fastest[i].max(speed_sq[i]));
        slowest = each(|i| slowest[i].min(speed_sq[i]));
        slowest_in = each(|i| slowest_in[i].min(vn[i].abs()));
    }
    let total = |l: &Lanes| (l[0] + l[1]) + (l[2] + l[3]);
    let iso: [f64; 10] = std::array::from_fn(|k| total(&iso[k]));
    Sums {
        drag: iso[0],
        drag_arm: DVec3::new(iso[1], iso[2], iso[3]),
        drag_arm_sq: [iso[4], iso[5], iso[6], iso[7], iso[8], iso[9]],
        push: std::array::from_fn(|k| total(&push[k])),
        load: std::array::from_fn(|k| total(&load[k])),
        put_in_w: total(&put_in),
        returned_w: total(&returned),
        fastest_sq: fastest.iter().fold(0.0, |a, b| b.max(a)),
        slowest_sq: slowest.iter().fold(f64::INFINITY, |a, b| b.min(a)),
        slowest_in: slowest_in.iter().fold(f64::INFINITY, |a, b| b.min(a)),
    }
}

impl Sums {
    /// The left side of the balance less its right side at a twist: momentum (N s) and angular
    /// momentum (N m s) left over.
    fn balance(
        &self,
        inertia: &Inertia,
        twist: &Twist,
        momentum: DVec3,
        spin: DVec3,
        dt_s: f64,
    ) -> (DVec3, DVec3) {
        let (a, b) = system(self, inertia, momentum, spin, dt_s);
        let (v, w) = (twist.linear_m_s, twist.angular_rad_s);
        let x = Vector6::new(v.x, v.y, v.z, w.x, w.y, w.z);
        let lower = |row: usize, col: usize| if row >= col { a[(row, col)] } else { a[(col, row)] };
        let r: [f64; 6] = std::array::from_fn(|row| {
            (0..6).map(|col| lower(row, col) * x[col]).sum::<f64>() - b[row]
        });
        (DVec3::new(r[0], r[1], r[2]), DVec3::new(r[3], r[4], r[5]))
    }
}

fn solve(sums: &Sums, inertia: &Inertia, momentum: DVec3, spin: DVec3, dt_s: f64) -> Twist {
    let (a, b) = system(sums, inertia, momentum, spin, dt_s);
    // The matrix is positive definite because M is; Cholesky reads the lower triangle only.
    let x = a.cholesky().map_or_else(Vector6::zeros, |c| c.solve(&b));
    Twist { linear_m_s: DVec3::new(x[0], x[1], x[2]), angular_rad_s: DVec3::new(x[3], x[4], x[5]) }
}

/// The matrix (lower triangle) and right side of the balance.
fn system(
    sums: &Sums,
    inertia: &Inertia,
    momentum: DVec3,
    spin: DVec3,
    dt_s: f64,
) -> (Matrix6<f64>, Vector6<f64>) {
    let mut a = Matrix6::<f64>::zeros();
    let mut k = 0;
    for row in 0..6 {
        for col in 0..=row {
            a[(row, col)] = dt_s * sums.push[k];
            k += 1;
        }
    }
    // JᵀJ weighted by A·c_t: [w, −[Σwr]×; [Σwr]×, Σw(r²1 − rrᵀ)].
    let w = dt_s * sums.drag;
    let [rx, ry, rz] = (sums.drag_arm * dt_s).to_array();
    let [xx, xy, xz, yy, yz, zz] = sums.drag_arm_sq.map(|x| x * dt_s);
    for i in 0..3 {
        a[(i, i)] += w + inertia.mass_kg;
    }
    a[(3, 1)] -= rz;
    a[(3, 2)] += ry;
    a[(4, 0)] += rz;
    a[(4, 2)] -= rx;
    a[(5, 0)] -= ry;
    a[(5, 1)] += rx;
    let t = &inertia.tensor_kg_m2;
    a[(3, 3)] += yy + zz + t.x_axis.x;
    a[(4, 4)] += xx + zz + t.y_axis.y;
    a[(5, 5)] += xx + yy + t.z_axis.z;
    a[(4, 3)] += t.x_axis.y - xy;
    a[(5, 3)] += t.x_axis.z - xz;
    a[(5, 4)] += t.y_axis.z - yz;
    let b = Vector6::new(
        momentum.x - dt_s * sums.load[0],
        momentum.y - dt_s * sums.load[1],
        momentum.z - dt_s * sums.load[2],
        spin.x - dt_s * sums.load[3],
        spin.y - dt_s * sums.load[4],
        spin.z - dt_s * sums.load[5],
    );
    (a, b)
}
