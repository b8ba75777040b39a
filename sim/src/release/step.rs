//! One step of the classical Runge–Kutta method (Kutta 1901), and a step cut at an event.

/// State of a planar body: x, y, turn, and their rates.
pub(super) type State = [f64; 6];

/// One step of length `dt_s`.
pub(super) fn rk4(state: &State, dt_s: f64, rate: impl Fn(&State) -> State) -> State {
    let ahead = |k: &State, dt_s: f64| std::array::from_fn(|i| state[i] + dt_s * k[i]);
    let k1 = rate(state);
    let k2 = rate(&ahead(&k1, 0.5 * dt_s));
    let k3 = rate(&ahead(&k2, 0.5 * dt_s));
    let k4 = rate(&ahead(&k3, dt_s));
    std::array::from_fn(|i| state[i] + dt_s / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]))
}

/// Steps no longer than `dt_s`, cut where `alive` ends, by halving to a billionth of the step.
/// Returns the time gone, the state and whether it was cut. At a cut the state is the first found
/// past it.
pub(super) fn step_until(
    state: &State,
    dt_s: f64,
    rate: impl Fn(&State) -> State,
    alive: impl Fn(&State) -> bool,
) -> (f64, State, bool) {
    let whole = rk4(state, dt_s, &rate);
    if alive(&whole) {
        return (dt_s, whole, false);
    }
    let (mut before_s, mut after_s) = (0.0, dt_s);
    let mut end = whole;
    for _ in 0..30 {
        let middle_s = 0.5 * (before_s + after_s);
        let there = rk4(state, middle_s, &rate);
        if alive(&there) {
            before_s = middle_s;
        } else {
            after_s = middle_s;
            end = there;
        }
    }
    (after_s, end, true)
}
