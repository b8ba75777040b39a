//! `fell`: the numbers of a cut that is pulled over.

use std::path::Path;

use tumblewood::{
    felling::{self, FellError, Question},
    job::Job,
    report::{json, pull_curve::pull_curve, text},
};

use super::{Failure, cut_index, output::Folder, say::say};

pub(super) fn fell(
    job: &Job,
    cut: &str,
    seed: u64,
    as_json: bool,
    out: Option<&Path>,
) -> Result<(), Failure> {
    let question = Question { cut: cut_index(job, cut)?, seed, draws: felling::DRAWS };
    let mut folder = out.map(Folder::make).transpose()?;
    let felling = felling::fell(job, &question).map_err(|error| match error {
        FellError::Job(error) => Failure::from(error),
        FellError::NoHinge(..) => Failure::CantAnswer(error.to_string()),
    })?;
    let units = job.scene.units;
    let date = jiff::Zoned::now().date().to_string();
    let words = text::fell(&felling, &date, units);
    let machine = json::felling(&felling).map_err(|e| Failure::CantAnswer(e.to_string()))?;
    say(if as_json { &machine } else { &words })?;
    if let Some(folder) = &mut folder {
        let id = &felling.cut;
        folder.put(&format!("{id}-fell.txt"), words.as_bytes())?;
        folder.put(&format!("{id}-fell.json"), machine.as_bytes())?;
        for curve in &felling.curves {
            let of = curve.line.as_deref().map(|line| format!("-{line}")).unwrap_or_default();
            folder
                .picture(&format!("{id}{of}-pull"), &pull_curve(&felling, curve, &date, units))?;
        }
        folder.tell();
    }
    Ok(())
}
