//! What a hand wants done, and the one place where it is done.

use std::{path::PathBuf, sync::Arc};

use glam::DVec2;
use tumblewood::{
    forecast::{Ask, renew::Renewed},
    job::Job,
    scene::{
        edit::{Doubt, Field, New, Thing},
        model::LessonSpec,
    },
};

use crate::{
    camera::View,
    compare_page::CompareAsk,
    desk::{Leaving, Look, Question, Screen, Tab, Tool},
    ground_page::GroundAsk,
    lesson_page::{Mark, RevealAsk},
    tracks::Filter,
};

/// Something to be done.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Wish {
    /// Go to a screen.
    Go(Screen),
    /// To a part of the panel.
    Tab(Tab),
    /// Look at the hillside another way.
    View(View),
    /// Begin a new scene with this text.
    Begin(String),
    /// Show the bank of notes that are being typed.
    Sketch(Same<Job>),
    /// Draw the picture of a scene's card.
    Card(PathBuf),
    /// Compare lengths and faces of the scene as it is.
    Compare {
        /// So that the page knows its own.
        number: u64,
        /// What is asked.
        ask: Box<CompareAsk>,
    },
    /// Read, crop or write ground out of a file.
    Ground {
        /// So that the page knows its own.
        number: u64,
        /// What is asked.
        ask: Box<GroundAsk>,
    },
    /// Put a lesson on the hillside, nothing of its forecast with it.
    Lesson(Same<Job>, Box<Ask>),
    /// Drop all that a lesson asks about.
    Reveal {
        /// So that the page knows its own.
        number: u64,
        /// The locked answers.
        ask: Box<RevealAsk>,
    },
    /// Drop what the lesson of the open scene asks about, for what it could claim.
    Claims {
        /// So that the page knows its own.
        number: u64,
    },
    /// Show all drops of the lesson.
    Many(Same<Renewed>),
    /// Where the drops of the lesson end, m.
    Ends(Vec<DVec2>),
    /// What the learner's mark is now, and whether a click puts it.
    Mark(Option<Mark>, bool),
    /// A place of the hillside was clicked for a mark, m.
    Marked(DVec2),
    /// Change a lesson's scene, as a copy without a file.
    Try(PathBuf),
    /// Stop what a page waits for.
    StopTask,
    /// A file was dropped onto the window.
    Dropped(PathBuf),
    /// Write the drop that is played to a file for 3D programs.
    Export(PathBuf),
    /// Look at another cut.
    Cut(usize),
    /// Draw other drops.
    Filter(Filter),
    /// Forecast with so many drops as told.
    Drops(u32),
    /// Play a drop; together with those that play if so wanted.
    Play {
        /// Which.
        drop: u32,
        /// The others go on too.
        with_others: bool,
    },
    /// Play the next reaching drop, or the one before.
    NextReaching(i32),
    /// Play the three that reach with the most energy.
    Worst,
    /// Play the drop of the median rollout.
    Typical,
    /// Play nothing.
    StopPlaying,
    /// The clock: start or stop, seek, step, slower.
    Run(bool),
    /// To a moment, s.
    Seek(f64),
    /// By frames.
    Step(i32),
    /// Slower for 1, faster for −1.
    Slower(i32),
    /// The camera stays with the piece.
    Follow(bool),
    /// Ghosts are drawn.
    Ghosts(bool),
    /// The side view is shown.
    SideView(bool),
    /// Take hold of something, or of nothing.
    Pick(Option<Thing>),
    /// Another tool.
    Use(Tool),
    /// How it looks.
    Look(Look),
    /// Change the scene.
    Edit(Edit),
    /// Undo the last change.
    Undo,
    /// Do it again.
    Redo,
    /// Save.
    Save,
    /// Save under another name.
    SaveAs(PathBuf),
    /// Save under a name that is taken.
    Replace(PathBuf),
    /// Take what is on disk.
    Reload,
    /// Take up unsaved work of an earlier time, or drop it.
    Recover(bool),
    /// Save over what something else wrote.
    Overwrite,
    /// Leave, asking first where work would be lost.
    Leave(Leaving),
    /// Leave without saving.
    LeaveAnyway(Leaving),
    /// Save, then leave.
    SaveAndLeave(Leaving),
    /// Ask something.
    Ask(Question),
    /// Put questions and messages away.
    Dismiss,
}

/// A change of the scene.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Edit {
    /// Move something over the map, m.
    Move(Thing, DVec2),
    /// Turn something about its middle, rad clockwise from above.
    Turn(Thing, f64),
    /// Put what was typed into a field.
    Field {
        /// Which.
        field: Box<Field>,
        /// The text.
        typed: String,
        /// How sure it is.
        doubt: Doubt,
    },
    /// Put down something new.
    Add(New, DVec2),
    /// The same again beside it.
    Copy(Thing),
    /// Away with it.
    Remove(Thing),
    /// The scene is this lesson, or none.
    Lesson(Option<Box<LessonSpec>>),
    /// Give a cut another length and face, as compared.
    Cell {
        /// The cut's id.
        cut: String,
        /// Length of its piece, m.
        length_m: f64,
        /// Azimuth of its face from the scene's north, rad.
        face_rad: f64,
    },
}

/// Something that is only the same as itself.
#[derive(Debug)]
pub(crate) struct Same<T>(pub(crate) Arc<T>);

impl<T> Clone for Same<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}
