//! The drops of a lesson: every case that it names, as told and over grounds, by its own seed.

use std::{
    collections::BTreeMap,
    sync::atomic::{AtomicBool, Ordering},
};

use crate::{
    drop::Ending,
    felling::{self, FellError, Question},
    forecast::{self, Ask, Fate, Progress, Replay, Run, hinge_turns},
    job::{Job, JobError, Outer},
    outcome::{Mode, Reach},
    scene::{
        self, SceneError,
        model::{Asked, ClaimSpec, Event, LessonSpec, Placeholder, words_of},
    },
    site::BodyKind,
};

/// Drops on each drawn ground.
pub const DROPS_PER_GROUND: u32 = 25;
/// Time between two samples of the drop that is shown, s.
const SAMPLE_S: f64 = 0.02;

/// Why a lesson can't be shown.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum LessonError {
    /// The scene is no lesson.
    #[error("{0}: the scene has no lesson; allowed: a scene with lesson: (..)")]
    NoLesson(String),
    /// The scene of a case is wrong.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Scene(#[from] SceneError),
    /// A case can't be simulated.
    #[error(transparent)]
    #[diagnostic(transparent)]
    Job(#[from] JobError),
    /// It was stopped before the end.
    #[error("stopped before all drops were done")]
    Stopped,
}

impl From<FellError> for LessonError {
    fn from(error: FellError) -> Self {
        match error {
            FellError::Job(error) => Self::Job(error),
            other => Self::Job(JobError::Other(other.to_string())),
        }
    }
}

/// The drops of one case.
#[derive(Debug)]
pub struct CaseRun {
    /// Which case of the lesson, by index.
    pub case: usize,
    /// Its job.
    pub job: Job,
    /// What was asked of it.
    pub ask: Ask,
    /// Index of the lesson's cut in it.
    pub cut: usize,
    /// What came of it.
    pub run: Run,
    /// Its targets, in the order of outcomes.
    pub targets: Vec<(String, BodyKind)>,
    /// How far the piece had turned when its hinge let go, by drop, rad; nothing where it sat back.
    pub lets_go_rad: Vec<Option<f64>>,
    /// The numbers of the cut by their keys, as told and then in each draw; none where nothing asks
    /// for them.
    pub fell: Vec<BTreeMap<String, f64>>,
}

/// The drops of all cases that a lesson names, in the order of its cases.
#[derive(Debug)]
pub struct Reveal {
    /// Runs; the first is the scene as it stands.
    pub runs: Vec<CaseRun>,
}

impl Reveal {
    /// The run of a case, if it was made.
    #[must_use]
    pub fn run(&self, case: usize) -> Option<&CaseRun> {
        self.runs.iter().find(|run| run.case == case)
    }
}

/// Runs all that a lesson asks, claims or tells about, by its own seed and drops.
///
/// # Errors
/// The scene has no lesson, a case of it can't be simulated, or `stop` was set.
pub fn reveal(
    job: &Job,
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Reveal, LessonError> {
    reveal_by(job, ask, stop, progress, &mut |_, job, ask, progress| {
        forecast::run(job, ask, stop, progress)
    })
}

/// Forecasts a case, by its index, told how far it is: one that keeps more than its run can stand in
/// for the plain one.
pub type RunCase<'a> =
    dyn FnMut(usize, &Job, &Ask, &(dyn Fn(Progress) + Sync)) -> Result<Run, JobError> + 'a;

/// As [`reveal`], each case forecast by `run`.
///
/// # Errors
/// As of [`reveal`].
pub fn reveal_by(
    job: &Job,
    ask: &Ask,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
    run: &mut RunCase<'_>,
) -> Result<Reveal, LessonError> {
    let lesson = lesson_of(job)?;
    let cases = cases_needed(lesson);
    let each = ask.drops + ask.grounds * ask.drops_per_ground;
    let total = each * cases.len() as u32;
    let mut runs = Vec::new();
    for (i, &case) in cases.iter().enumerate() {
        let before = each * i as u32;
        let of_all = |p: Progress| {
            progress(Progress { done: before + p.done.min(each), total, ..p });
        };
        let job = case_job(job, case)?;
        let cut = job.scene.cuts.iter().position(|cut| cut.id == lesson.cut);
        let cut = cut.ok_or_else(|| JobError::Other(format!("no cut {:?}", lesson.cut)))?;
        let ask = Ask { cuts: vec![cut], ..ask.clone() };
        let run = run(case, &job, &ask, &of_all)?;
        runs.push(CaseRun::of(lesson, case, job, ask, cut, run)?);
        if stop.load(Ordering::Relaxed) {
            return Err(LessonError::Stopped);
        }
    }
    Ok(Reveal { runs })
}

/// What a lesson asks of a forecast: its cut, drops, grounds and seed.
///
/// # Errors
/// The scene has no lesson.
pub fn ask_of(job: &Job) -> Result<Ask, LessonError> {
    let lesson = lesson_of(job)?;
    Ok(Ask {
        cuts: job.scene.cuts.iter().position(|cut| cut.id == lesson.cut).into_iter().collect(),
        drops: lesson.drops,
        grounds: lesson.grounds,
        drops_per_ground: DROPS_PER_GROUND,
        seed: lesson.seed,
        ..Ask::default()
    })
}

/// The lesson of a job's scene.
///
/// # Errors
/// It has none.
pub fn lesson_of(job: &Job) -> Result<&LessonSpec, LessonError> {
    let none = || LessonError::NoLesson(job.scene.source.name.clone());
    job.scene.lesson.as_ref().ok_or_else(none)
}

/// The job of a case.
fn case_job(job: &Job, case: usize) -> Result<Job, LessonError> {
    if case == 0 {
        return Ok(job.clone());
    }
    Ok(job.edited(scene::case(&job.scene, case)?)?)
}

impl CaseRun {
    /// Of a forecast of the lesson's cut that was run as told by `ask`.
    fn of(
        lesson: &LessonSpec,
        case: usize,
        job: Job,
        ask: Ask,
        cut: usize,
        run: Run,
    ) -> Result<Self, LessonError> {
        let ready = job.world(Outer::Told)?.cut(cut)?;
        let lets_go_rad = hinge_turns(&ready, ask.seed, ask.drops);
        let fell = if needs_fell(lesson, case) {
            felling::draws(&job, &Question { cut, seed: ask.seed, draws: felling::DRAWS })?
        } else {
            Vec::new()
        };
        let targets = ready.site.bodies.iter().filter(|body| body.is_target);
        let targets = targets.map(|body| (body.id.clone(), body.kind)).collect();
        Ok(Self { case, job, ask, cut, run, targets, lets_go_rad, fell })
    }

    /// The drops on the ground as told.
    #[must_use]
    pub fn fates(&self) -> &[Fate] {
        self.run.told.first().map_or(&[], |(_, fates)| fates)
    }

    /// One of its drops again, with its track.
    ///
    /// # Errors
    /// As of a forecast.
    pub fn replay(&self, drop: u32) -> Result<Replay, JobError> {
        forecast::replay(&self.job, &self.ask, Outer::Told, self.cut, drop, SAMPLE_S)
    }
}

/// The cases that a lesson's questions, claims and words name, the scene as it stands first.
fn cases_needed(lesson: &LessonSpec) -> Vec<usize> {
    let mut cases = vec![0];
    for question in &lesson.questions {
        match &question.asked {
            Asked::Fewest { among, .. } => cases.extend(among),
            _ => cases.push(question.of),
        }
    }
    cases.extend(lesson.claims.iter().flat_map(ClaimSpec::cases));
    for Placeholder { case, .. } in placeholders(lesson) {
        cases.extend(lesson.cases.iter().position(|c| Some(c.id.as_str()) == case));
    }
    cases.sort_unstable();
    cases.dedup();
    cases
}

fn placeholders(lesson: &LessonSpec) -> impl Iterator<Item = Placeholder<'_>> {
    [&lesson.why, &lesson.try_next]
        .into_iter()
        .flat_map(|text| words_of(text))
        .filter_map(Result::err)
}

/// Whether anything is asked of this case that is worked out and not dropped.
fn needs_fell(lesson: &LessonSpec, case: usize) -> bool {
    let holds = |event: &Event| *event == Event::HingeHolds;
    let asks = |asked: &Asked, of: usize| match asked {
        Asked::Pull(_) => of == case,
        Asked::Chance(event) => holds(event) && of == case,
        Asked::Fewest { event, among } => holds(event) && among.contains(&case),
        _ => false,
    };
    let claims = |claim: &ClaimSpec| match claim {
        ClaimSpec::Pull { .. } => true,
        ClaimSpec::Share { event, .. } | ClaimSpec::Fewer { event, .. } => holds(event),
        ClaimSpec::HowFar { .. } | ClaimSpec::LetsGoAt { .. } => false,
    };
    let names = |p: Placeholder<'_>| {
        let of = p.case.map_or(Some(0), |id| lesson.cases.iter().position(|c| c.id == id));
        let fact = p.fact.split(':').next().unwrap_or_default();
        of == Some(case) && ["pull", "side_share", "hinge_holds"].contains(&fact)
    };
    lesson.questions.iter().any(|q| asks(&q.asked, q.of))
        || lesson.claims.iter().any(|c| claims(c) && c.cases().contains(&case))
        || placeholders(lesson).any(names)
}

/// The drop to play first: the first of those that go as most do.
#[must_use]
pub fn shown(run: &CaseRun) -> u32 {
    let way = |fate: &Fate| fate.outcome().map(|outcome| outcome.mode);
    let ways =
        [None, Some(Mode::Stayed), Some(Mode::Slid), Some(Mode::Rolled), Some(Mode::Tumbled)];
    let count = |wanted: Option<Mode>| run.fates().iter().filter(|f| way(f) == wanted).count();
    // The last of equals is kept, so that of two ways the livelier one is played.
    let most = ways.into_iter().max_by_key(|wanted| count(*wanted)).flatten();
    run.fates().iter().position(|fate| way(fate) == most).unwrap_or(0) as u32
}

/// The drop that went worst: one that touches a person before any other, then by the energy that a
/// target is touched with, then by how far it ran; none if all sat back.
#[must_use]
pub fn worst(run: &CaseRun) -> Option<u32> {
    let badness = |fate: &Fate| {
        let outcome = fate.outcome()?;
        let touched = outcome.reaches.iter().zip(&run.targets).filter_map(|(reach, (_, kind))| {
            let Reach::Reached { energy_j, .. } = reach else { return None };
            Some((kind.is_person(), *energy_j))
        });
        let (mut person, mut energy_j) = (false, -1.0_f64);
        for (is_person, energy) in touched {
            person |= is_person;
            energy_j = energy_j.max(energy);
        }
        for reach in outcome.loose.iter().flat_map(|loose| &loose.reached) {
            energy_j = energy_j.max(reach.energy_j);
        }
        let lost = outcome.ending != Ending::Rest;
        Some((person, energy_j, lost, outcome.rollout_m))
    };
    let mut worst: Option<(u32, (bool, f64, bool, f64))> = None;
    for (i, fate) in run.fates().iter().enumerate() {
        let Some(now) = badness(fate) else { continue };
        let is_worse = worst.is_none_or(|(_, then)| {
            now.0
                .cmp(&then.0)
                .then(now.1.total_cmp(&then.1))
                .then(now.2.cmp(&then.2))
                .then(now.3.total_cmp(&then.3))
                .is_gt()
        });
        if is_worse {
            worst = Some((i as u32, now));
        }
    }
    worst.map(|(drop, _)| drop)
}
