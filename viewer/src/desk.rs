//! The state of the program: what lies on the desk. Plain data, no renderer.
//!
//! Each frame reads the desk and draws; what a hand wants done comes as a [`Wish`](crate::wish)
//! and is done in one place.

use std::{path::PathBuf, sync::Arc};

use bevy_egui::egui;
use glam::{DVec2, DVec3};
use tumblewood::{
    felling::Felling,
    forecast::{
        Ask, Fate, Progress,
        renew::{Path, Renewed},
        result::CutForecast,
    },
    job::{CutReady, Job, LineReady, Outer, World},
    motion::Motion,
    outcome::{Outcome, Reach},
    report::{Stamp, png::Pixels},
    scene::{
        edit::{Document, New, Thing},
        model::PullLine,
    },
};

use crate::{
    camera::View,
    lesson_page::Mark,
    palette::{Theme, palette},
    playing::{Clock, motion_at},
    sight::sight,
    signs::colour,
    tracks::{Drops, Filter},
    worker::{Made, Stage, ToPage},
};

/// Size of signs on the ground, as a share of the size of the stage, and its limits, m.
const SIGN_SHARE: f32 = 0.008;
const SIGN_RANGE_M: (f32, f32) = (0.15, 2.0);

/// What lies on the desk.
#[derive(Debug)]
pub(crate) struct Desk {
    /// Which screen is shown.
    pub(crate) screen: Screen,
    /// The scene's text and its history.
    pub(crate) document: Option<Document>,
    /// The scene, with what it names read in.
    pub(crate) job: Option<Arc<Job>>,
    /// As told: terrain, bodies, and the cut that is looked at.
    pub(crate) shown: Option<Shown>,
    /// Index of that cut in the scene.
    pub(crate) cut: usize,
    /// The full forecast.
    pub(crate) ask: Ask,
    /// What is known of it.
    pub(crate) answer: Answer,
    /// What is known of the pull and the hinge.
    pub(crate) felled: Felled,
    /// Which drops are drawn.
    pub(crate) filter: Filter,
    /// Drops that are played again.
    pub(crate) playing: Playing,
    /// What was taken hold of.
    pub(crate) picked: Option<Thing>,
    /// What the pointer does on the hillside.
    pub(crate) tool: Tool,
    /// How it looks.
    pub(crate) look: Look,
    /// Why the scene can't be shown as it is.
    pub(crate) trouble: Option<String>,
    /// The part of the panel that is shown.
    pub(crate) tab: Tab,
    /// The view that is to be gone to.
    pub(crate) wanted_view: Option<View>,
    /// The program was left.
    pub(crate) is_over: bool,
    /// The user was told that the file is not what it was.
    pub(crate) told_of_disk: bool,
    /// The lesson that is taken.
    pub(crate) lesson: Option<Taking>,
    /// What is open is a copy of a lesson's scene, to be changed and tried.
    pub(crate) is_trying: bool,
    /// What the user has to be told, until it is put away.
    pub(crate) message: Option<String>,
    /// Why a file could not be opened, for the start page to say.
    pub(crate) said: Option<String>,
    /// What pages wait for.
    pub(crate) mail: Mail,
    /// What the user has to decide before anything else.
    pub(crate) question: Option<Question>,
    /// Where recent files are remembered; nowhere if nothing.
    pub(crate) recent: Option<PathBuf>,
    /// Counts up with what the hillside must be drawn anew for.
    pub(crate) stamps: Stamps,
}

/// The screens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Screen {
    /// Saved scenes, open, new.
    Start,
    /// A new scene from notes.
    Notes,
    /// A new scene on ground out of a file.
    Ground,
    /// Lessons, and how near one's answers come.
    Practice,
    /// A lesson on the hillside.
    Lesson,
    /// The hillside.
    Hillside,
    /// Lengths and faces side by side.
    Compare,
    /// A lesson made of the scene.
    Teach,
}

/// What was asked for by pages, and what came of it.
#[derive(Debug, Default)]
pub(crate) struct Mail {
    /// Asked for and not answered yet.
    pub(crate) waiting: usize,
    /// Answers no page has taken yet.
    pub(crate) come: Vec<ToPage>,
}

/// The parts of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tab {
    /// What the drops come to.
    Forecast,
    /// What the hinge holds and what pull brings the piece over.
    Pull,
    /// What can be changed.
    Change,
    /// How it is looked at.
    View,
}

/// The site as told and the cut that is looked at.
#[derive(Clone, Debug)]
pub(crate) struct Shown {
    /// The site as told.
    pub(crate) world: Arc<World>,
    /// The cut, if the scene has any.
    pub(crate) ready: Option<Arc<CutReady>>,
}

/// A lesson that is taken.
#[derive(Clone, Debug)]
pub(crate) struct Taking {
    /// Its answers are locked and its drops made: nothing of the forecast is shown before.
    pub(crate) is_shown: bool,
    /// The learner's mark.
    pub(crate) mark: Option<Mark>,
    /// A click on the hillside puts it.
    pub(crate) wants_mark: bool,
    /// Where its drops end, m, for the views; none before it is locked.
    pub(crate) ends_m: Vec<DVec2>,
    /// What was asked of a forecast before it.
    pub(crate) before: Ask,
}

/// What is known of the forecast.
#[derive(Clone, Debug, Default)]
pub(crate) struct Answer {
    /// Number of the newest order.
    pub(crate) order: u64,
    /// The newest counts, how much of the full forecast they are, and of which order.
    pub(crate) newest: Option<(u64, Stage, Arc<Renewed>)>,
    /// How far the next are.
    pub(crate) progress: Option<(Stage, Progress)>,
    /// Why there are none.
    pub(crate) failed: Option<String>,
}

/// What is known of the pull and the hinge of the cut that is looked at.
#[derive(Clone, Debug, Default)]
pub(crate) struct Felled {
    /// The order that numbers were asked for last.
    pub(crate) asked: Option<u64>,
    /// The newest numbers, or why there are none, and of which order.
    pub(crate) newest: Option<(u64, Result<Arc<Felling>, String>)>,
}

/// Drops that are played again.
#[derive(Debug)]
pub(crate) struct Playing {
    /// The drops, the one that was asked for first.
    pub(crate) drops: Vec<Arc<Made>>,
    /// What was asked for, in order.
    pub(crate) asked: Vec<u32>,
    /// Asked for and not made yet.
    pub(crate) waiting: Vec<u32>,
    /// The clock.
    pub(crate) clock: Clock,
    /// The camera stays with the first piece.
    pub(crate) follows: bool,
    /// Earlier places of the pieces are drawn.
    pub(crate) ghosts: bool,
    /// The side view is shown.
    pub(crate) side_view: bool,
    /// The side view of the first drop.
    pub(crate) strip: Option<(u32, Arc<Pixels>)>,
}

/// What the pointer does.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) enum Tool {
    /// Looks, picks and moves.
    #[default]
    Hand,
    /// Measures from the first point to the second, m.
    Measure(Vec<DVec3>),
    /// Puts something new down.
    Put(New),
}

/// How it looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Look {
    /// Colours.
    pub(crate) theme: Theme,
    /// Size of letters against the usual.
    pub(crate) text_scale: f32,
}

/// What has to be decided.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Question {
    /// Unsaved work would be left behind for this.
    Leave(Leaving),
    /// Unsaved work of an earlier time was found, of this day and hour.
    Recover(String),
    /// The file was changed by something else.
    Overwrite,
    /// A name for the file.
    SaveAs(String),
    /// A name for the file of a drop.
    Export(String),
    /// There is a file of that name.
    Replace(PathBuf),
}

/// Where to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Leaving {
    /// Out of the program.
    Quit,
    /// To the start page.
    Start,
    /// To another scene.
    Open(PathBuf),
    /// To ground out of this file.
    Ground(PathBuf),
    /// To the lessons.
    Practice,
    /// Back to the lesson that is being taken.
    Lesson,
}

/// Counts up with each change of a layer of the hillside.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Stamps {
    /// Terrain.
    pub(crate) ground: u64,
    /// What stands on it, and the tree.
    pub(crate) things: u64,
    /// Tracks, resting places, lines.
    pub(crate) drops: u64,
    /// Pieces that are played.
    pub(crate) playing: u64,
}

impl Desk {
    /// An empty desk.
    pub(crate) fn new() -> Self {
        Self {
            screen: Screen::Start,
            document: None,
            job: None,
            shown: None,
            cut: 0,
            ask: Ask::default(),
            answer: Answer::default(),
            felled: Felled::default(),
            filter: Filter::default(),
            playing: Playing::none(),
            picked: None,
            tool: Tool::Hand,
            look: Look { theme: Theme::Day, text_scale: 1.0 },
            trouble: None,
            tab: Tab::Forecast,
            wanted_view: None,
            is_over: false,
            told_of_disk: false,
            lesson: None,
            is_trying: false,
            message: None,
            said: None,
            mail: Mail::default(),
            question: None,
            recent: None,
            stamps: Stamps::default(),
        }
    }

    /// Threads are at work, or ought to be.
    pub(crate) fn is_working(&self) -> bool {
        // Notes that are being typed are not forecast.
        let job = self.job.as_ref().filter(|_| self.document.is_some());
        let has_cuts = job.is_some_and(|job| !job.scene.cuts.is_empty());
        let one = self.job.as_ref().is_some_and(|job| job.scene.cuts.len() == 1);
        let last = if one { Stage::Full } else { Stage::WholeJob };
        let done = self
            .answer
            .newest
            .as_ref()
            .is_some_and(|(order, stage, _)| *order == self.answer.order && *stage == last);
        let can = self.answer.failed.is_none() && self.trouble.is_none();
        has_cuts && !done && can
            || self.is_felling()
            || !self.playing.waiting.is_empty()
            || self.mail.waiting > 0
    }

    /// Numbers of the pull and the hinge are being worked out.
    pub(crate) fn is_felling(&self) -> bool {
        let known = self.felled.newest.as_ref().map(|(order, _)| *order);
        self.felled.asked.is_some() && self.felled.asked != known
    }

    /// The id of the cut that is looked at.
    pub(crate) fn cut_id(&self) -> Option<&str> {
        Some(self.job.as_ref()?.scene.cuts.get(self.cut)?.id.as_str())
    }

    /// The newest counts of the cut that is looked at, with their stage and whether they are of
    /// the scene as it is now.
    pub(crate) fn counts(&self) -> Option<Counts<'_>> {
        let (order, stage, renewed) = self.answer.newest.as_ref()?;
        let id = self.cut_id()?;
        let k = renewed.run.forecast.cuts.iter().position(|cut| cut.id == id)?;
        let (_, fates) = renewed.run.told.get(k)?;
        Some(Counts {
            stage: *stage,
            is_now: *order == self.answer.order && self.trouble.is_none(),
            cut: renewed.run.forecast.cuts.get(k)?,
            whole: (*stage == Stage::WholeJob).then_some(&**renewed),
            fates,
            paths: renewed.paths.get(k).map_or(&[], Vec::as_slice),
        })
    }

    /// Size of signs on the ground, m.
    pub(crate) fn unit_m(&self) -> f32 {
        sight(self).map_or(SIGN_RANGE_M.0, |sight| {
            let across = (sight.high_m - sight.low_m).truncate().length();
            (SIGN_SHARE * across).clamp(SIGN_RANGE_M.0, SIGN_RANGE_M.1)
        })
    }

    /// The drops of the cut, for whoever draws them.
    pub(crate) fn drops(&self) -> Option<Drops<'_>> {
        let counts = self.counts()?;
        Some(Drops {
            fates: counts.fates,
            paths: counts.paths,
            site: &self.shown.as_ref()?.ready.as_ref()?.site,
            unit_m: self.unit_m(),
            palette: palette(self.look.theme),
        })
    }

    /// Drops of the cut, as told, that reached a target, most energy first where `by_energy`.
    pub(crate) fn reaching(&self, by_energy: bool) -> Vec<u32> {
        let Some(counts) = self.counts() else { return vec![] };
        let target = self.filter.target;
        let mut drops: Vec<(u32, f64)> = counts
            .fates
            .iter()
            .enumerate()
            .filter_map(|(i, fate)| Some((i as u32, harm(fate.outcome()?, target)?)))
            .collect();
        if by_energy {
            drops.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        }
        drops.into_iter().map(|(drop, _)| drop).collect()
    }

    /// The drop whose rollout is the median.
    pub(crate) fn typical(&self) -> Option<u32> {
        let counts = self.counts()?;
        let mut left: Vec<(u32, f64)> = counts
            .fates
            .iter()
            .enumerate()
            .filter_map(|(i, fate)| Some((i as u32, fate.outcome()?.rollout_m)))
            .collect();
        left.sort_by(|a, b| a.1.total_cmp(&b.1));
        left.get(left.len() / 2).map(|(drop, _)| *drop)
    }

    /// The line that says where a number comes from.
    pub(crate) fn stamp(&self) -> Option<Stamp> {
        let job = self.job.as_ref()?;
        Some(Stamp::of(job, &self.ask, &jiff::Zoned::now().date().to_string()))
    }

    /// Works out what is shown of the scene as it is.
    ///
    /// # Errors
    ///
    /// The scene can't be built as told.
    pub(crate) fn show(&mut self) -> Result<(), tumblewood::job::JobError> {
        let Some(job) = &self.job else {
            self.shown = None;
            return Ok(());
        };
        self.cut = self.cut.min(job.scene.cuts.len().saturating_sub(1));
        let world = job.world(Outer::Told)?;
        let ready =
            if job.scene.cuts.is_empty() { None } else { Some(Arc::new(world.cut(self.cut)?)) };
        let before = self.shown.as_ref().map(|shown| shown.world.site.terrain.grid.clone());
        if before.as_ref() != Some(&world.site.terrain.grid) {
            self.stamps.ground += 1;
        }
        self.stamps.things += 1;
        self.shown = Some(Shown { world: Arc::new(world), ready });
        Ok(())
    }

    /// Height of the ground at a place, m.
    pub(crate) fn ground_m(&self, at: DVec2) -> Option<DVec3> {
        let surface = self.shown.as_ref()?.world.site.terrain.surface(at.x, at.y)?;
        Some(at.extend(surface.height_m))
    }
}

impl Shown {
    /// The lines that pull the piece of the cut that is looked at, where they are.
    pub(crate) fn lines(&self) -> impl Iterator<Item = (&PullLine, LineReady)> {
        self.ready.iter().flat_map(|ready| {
            let lines = self.world.lines_of(&ready.id);
            // One off the terrain was refused when the cut was made ready.
            lines.filter_map(|(_, line)| Some((line, self.world.line(ready, line).ok()?)))
        })
    }
}

impl Look {
    /// Dresses the panels in its colours and its size of letters.
    pub(crate) fn dress(&self, context: &egui::Context) {
        if context.zoom_factor() != self.text_scale {
            context.set_zoom_factor(self.text_scale);
        }
        let palette = palette(self.theme);
        let dark = self.theme == Theme::DarkRoom;
        let mut visuals = if dark { egui::Visuals::dark() } else { egui::Visuals::light() };
        let (ink, paper) = (colour(palette.ink), colour(palette.paper));
        visuals.override_text_color = Some(ink);
        visuals.panel_fill = paper;
        visuals.window_fill = paper;
        // What has the keyboard is ringed so that it can be seen from across a room.
        visuals.selection.stroke = egui::Stroke::new(1.5, ink);
        visuals.widgets.hovered.bg_stroke = egui::Stroke::new(1.5, ink);
        visuals.widgets.active.bg_stroke = egui::Stroke::new(2.5, colour(palette.chosen));
        // A field without a frame looks like a word.
        visuals.widgets.inactive.bg_stroke = egui::Stroke::new(1.0, colour(palette.soft_ink));
        if self.theme == Theme::Sunlight {
            for widget in [&mut visuals.widgets.inactive, &mut visuals.widgets.noninteractive] {
                widget.bg_stroke = egui::Stroke::new(1.0, ink);
                widget.fg_stroke = egui::Stroke::new(1.5, ink);
            }
        }
        let theme = if dark { egui::Theme::Dark } else { egui::Theme::Light };
        context.set_theme(theme);
        if context.style_of(theme).visuals != visuals {
            context.set_visuals_of(theme, visuals);
        }
    }
}

/// The counts of one cut.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Counts<'a> {
    /// How much of the full forecast this is.
    pub(crate) stage: Stage,
    /// They are of the scene as it is now, not as it was before the last change.
    pub(crate) is_now: bool,
    /// The counts.
    pub(crate) cut: &'a CutForecast,
    /// The whole job, once it is counted.
    pub(crate) whole: Option<&'a Renewed>,
    /// Each drop on the ground as told.
    pub(crate) fates: &'a [Fate],
    /// Its path.
    pub(crate) paths: &'a [Path],
}

impl Stamps {
    /// Everything must be drawn anew.
    pub(crate) fn all(&mut self) {
        self.ground += 1;
        self.things += 1;
        self.drops += 1;
        self.playing += 1;
    }
}

impl Playing {
    /// Where each piece is now.
    pub(crate) fn motions(&self) -> impl Iterator<Item = Motion> {
        let tracks = self.drops.iter().filter_map(|made| made.replay.what.as_ref().ok());
        tracks.filter_map(|(track, _)| motion_at(&track.samples, self.clock.time_s))
    }

    /// Nothing is played.
    pub(crate) fn none() -> Self {
        Self {
            drops: vec![],
            asked: vec![],
            waiting: vec![],
            clock: Clock::new(0.0),
            follows: false,
            ghosts: true,
            side_view: false,
            strip: None,
        }
    }
}

/// The most energy with which a drop touched a target, J: the one asked about, or any.
fn harm(outcome: &Outcome, target: Option<usize>) -> Option<f64> {
    let energies = outcome.reaches.iter().enumerate().filter_map(|(k, reach)| match reach {
        Reach::Reached { energy_j, .. } if target.is_none_or(|t| t == k) => Some(*energy_j),
        _ => None,
    });
    energies.reduce(f64::max)
}
