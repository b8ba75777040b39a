//! A scene changed by hand: what can be taken hold of, and what may be done with it.
//!
//! The text of the file is the one source of truth. Every edit is a [`Splice`] of it that keeps the
//! user's comments, layout and units; afterwards the text is read again as any file is, so that
//! what may be done by hand is what a file may say. Undo is the inverse splice.

pub mod add;
pub mod document;
pub mod fields;
pub mod forms;
mod layout;
pub mod lesson;
pub mod moving;
pub mod recovery;
pub(super) mod relocate;
pub mod splice;
pub mod things;
mod typed;
pub mod written;

pub use add::{New, add, template};
pub use document::{Document, DocumentError, OnDisk};
pub use fields::{Field, FieldKind, Names, fields, scene_fields, site_fields};
pub use lesson::{change_case, claims_text, lesson_text, remove_lesson, set_lesson};
pub use moving::{move_at_cut, move_by, place_text, turn_by};
pub use recovery::{Recovered, unsaved_in};
pub use splice::{EditError, Splice};
pub use things::{copy, kind, position_m, remove};
pub use typed::set_field;
pub use written::{Doubt, azimuth_text, length_text};

/// Something of a scene that can be picked, moved or edited, by its stable id.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Thing {
    /// What must not be touched.
    Target(String),
    /// What stops or softens pieces.
    Aid(String),
    /// A patch of other ground.
    Patch(String),
    /// A cut.
    Cut(String),
    /// A limb.
    Limb(String),
    /// A line that a piece is pulled with.
    Line(String),
    /// A redirect of a line.
    Redirect(String),
    /// What the far end of a line is made fast to, by the line's id.
    Anchor(String),
    /// The climber.
    Climber,
    /// The climber's line.
    ClimberLine,
    /// The feller.
    Feller,
    /// The tree itself.
    Tree,
}
