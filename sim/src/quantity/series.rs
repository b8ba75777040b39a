//! Several quantities in one flag: ranges and lists.

use super::{Quantity, QuantityError};

/// Most values a range may stand for.
pub const RANGE_MAX: usize = 1_000;

/// The values of `first..last:step`; `last` is among them if the steps hit it.
///
/// # Errors
/// A part is no quantity, the step is not positive, the range runs backwards or is too long.
pub fn range<Q: Quantity>(text: &str) -> Result<Vec<Q>, QuantityError> {
    let wrong = |what: &str| QuantityError {
        read: text.to_owned(),
        what: what.to_owned(),
        allowed: format!(
            "first..last:step, like 4ft..16ft:2ft, with {} in each place",
            Q::KIND.name
        ),
    };
    let (first, rest) = text.split_once("..").ok_or_else(|| wrong("a range has two dots"))?;
    let (last, step) = rest.split_once(':').ok_or_else(|| wrong("a range has a step"))?;
    let (first, last) = (Q::read(first)?.si(), Q::read(last)?.si());
    let step = Q::KIND.read(step)?;
    if step <= 0.0 {
        return Err(wrong("the step must be greater than zero"));
    }
    if last < first {
        return Err(wrong("the range runs backwards"));
    }
    // A hair more than the whole steps, so that rounding does not lose the last value.
    let steps = ((last - first) / step + 1e-9).floor();
    if steps >= RANGE_MAX as f64 {
        return Err(wrong("the range has more than 1000 values"));
    }
    Ok((0..=steps as usize).map(|i| Q::from_si(first + step * i as f64)).collect())
}

/// The values of a list with commas, or of a range.
///
/// # Errors
/// See [`range`] and [`Kind::read`].
pub fn series<Q: Quantity>(text: &str) -> Result<Vec<Q>, QuantityError> {
    if text.contains("..") {
        return range(text);
    }
    text.split(',').map(Q::read).collect()
}
