//! What is typed into the comparison, what is asked by it, and the run itself.

use std::sync::atomic::AtomicBool;

use tumblewood::{
    forecast::{
        Ask, Progress,
        compare::{Comparison, DROPS, DROPS_PER_GROUND, Lengths, Misfit, compare, fits},
    },
    job::Job,
    quantity::{Azimuth, Length, Quantity, Units, series},
    report::{Stamp, bank::Bank, text::CompareCell},
};

/// Most drops of a cell.
const DROPS_MAX: u32 = 100_000;

/// A field of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Field {
    /// The cut.
    Cut,
    /// Lengths.
    Lengths,
    /// Faces.
    Faces,
    /// Drops of a cell.
    Drops,
}

/// The fields as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Typed {
    /// The cut's index in the scene.
    pub(crate) cut: usize,
    /// Lengths, as "4ft..16ft:4ft" or "4ft, 6ft".
    pub(crate) lengths: String,
    /// Faces, as "160deg, 250deg"; the scene's own if empty.
    pub(crate) faces: String,
    /// Drops of a cell on the ground as told.
    pub(crate) drops: String,
}

impl Typed {
    /// Something to start from, in the scene's units.
    #[must_use]
    pub(crate) fn starting(units: Units) -> Self {
        let lengths = match units {
            Units::Metric => "1m..4m:1m",
            Units::Imperial => "4ft..12ft:4ft",
        };
        Self { cut: 0, lengths: lengths.to_owned(), faces: String::new(), drops: DROPS.to_string() }
    }
}

/// A comparison to be run.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct CompareAsk {
    /// The cut, its lengths and faces.
    pub(crate) lengths: Lengths,
    /// Drops, grounds and seed.
    pub(crate) ask: Ask,
}

/// What the fields ask for.
///
/// # Errors
/// The first field that can't be used, and why.
pub(crate) fn asked(typed: &Typed, job: &Job) -> Result<CompareAsk, (Field, String)> {
    if typed.cut >= job.scene.cuts.len() {
        return Err((Field::Cut, "the scene has no such cut".to_owned()));
    }
    let lengths_m = values::<Length>(&typed.lengths).map_err(|why| (Field::Lengths, why))?;
    if lengths_m.iter().any(|length_m| *length_m <= 0.0) {
        return Err((Field::Lengths, "allowed: lengths above zero".to_owned()));
    }
    let faces_rad = if typed.faces.trim().is_empty() {
        Vec::new()
    } else {
        values::<Azimuth>(&typed.faces).map_err(|why| (Field::Faces, why))?
    };
    let drops = typed.drops.trim().parse().ok().filter(|drops| (1..=DROPS_MAX).contains(drops));
    let Some(drops) = drops else {
        let why = format!("read {:?}; allowed: a whole number, 1 to {DROPS_MAX}", typed.drops);
        return Err((Field::Drops, why));
    };
    let lengths = Lengths { cut: typed.cut, lengths_m, faces_rad };
    fits(job, &lengths).map_err(|misfit| match misfit {
        Misfit::Cells(why) | Misfit::Length(why) => (Field::Lengths, why),
        // Neither is asked here.
        Misfit::Search(why) | Misfit::Order(why) => (Field::Cut, why),
    })?;
    let ask = Ask { drops, drops_per_ground: DROPS_PER_GROUND, ..Ask::default() };
    Ok(CompareAsk { lengths, ask })
}

fn values<Q: Quantity>(text: &str) -> Result<Vec<f64>, String> {
    let values = series::<Q>(text).map_err(|error| error.to_string())?;
    let values: Vec<f64> = values.into_iter().map(Quantity::si).collect();
    let again = values.iter().enumerate().any(|(i, v)| values.iter().take(i).any(|w| w == v));
    if again { Err(format!("read {text}; allowed: each value once")) } else { Ok(values) }
}

/// A comparison that was run, with what its page draws.
#[derive(Clone, Debug)]
pub(crate) struct Compared {
    /// The drops and counts.
    pub(crate) comparison: Comparison,
    /// Per cell of it, what its table says.
    pub(crate) words: Vec<CompareCell>,
    /// The bank as told.
    pub(crate) bank: Bank,
    /// Where it comes from.
    pub(crate) stamp: Stamp,
    /// Units of the scene.
    pub(crate) units: Units,
}

/// Runs a comparison: for a thread of its own. `date` is the day, as it is to be shown.
///
/// # Errors
/// A cell or a drawn ground can't be built.
pub(crate) fn run(
    job: &Job,
    ask: &CompareAsk,
    date: &str,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Compared, String> {
    let compared = || {
        let bank = Bank::of(job)?;
        Ok((compare(job, &ask.lengths, &ask.ask, stop, progress)?, bank))
    };
    let (comparison, bank) = compared().map_err(|e: tumblewood::job::JobError| e.to_string())?;
    Ok(Compared {
        words: comparison.cells.iter().map(|cell| CompareCell::of(cell, &comparison)).collect(),
        comparison,
        bank,
        stamp: Stamp::of(job, &ask.ask, date),
        units: job.scene.units,
    })
}
