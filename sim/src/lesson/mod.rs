//! Practice: a scene asks, waits for an answer, then shows what happens and how often.
//!
//! A lesson is a part of a scene ([`LessonSpec`](crate::scene::LessonSpec)) and changes nothing of
//! what is simulated. Its flow, each step a plain function on plain data:
//!
//! ```text
//! course file -scene::load_course-> lesson files -scene::load-> Scene with a lesson
//!   form(lesson, question) ->  what an answer looks like
//!   learner -> Answer::read, or made by a screen, and checked by Form::check: locked
//!   reveal(job) -> Reveal: the drops of every case that the lesson names
//!     shown, worst -> which drop to play first, and which went worst
//!     truth(reveal, question) -> what the drops say: counts, distances, places
//!     score(answer, truth) -> Score, with what it means in words
//!     found(reveal, lesson, answers, tallies) -> Found: the two above for each question
//!     facts(reveal), fill(text) -> the lesson's words with the numbers of this very run
//!   Row -> record::append: a line in a file that the learner owns
//!   record::read -> calibration::of: what was said against what happened, over many lessons
//!   tally -> a room's hands against the drops; report::hands draws it, report::lesson_sheet prints it
//! ```
//!
//! | file | what |
//! |---|---|
//! | `answer` | what an answer looks like, typed and written |
//! | `reveal` | the drops of a lesson's cases, as told and over grounds |
//! | `truth` | what they say of a question |
//! | [`mod@found`] | each question beside what was said of it |
//! | [`words`] | what happened and what a score means, in sentences |
//! | [`mod@score`] | proper scores, with their sources |
//! | [`claim`] | whether the forecast still gives what a lesson says, and what it could say |
//! | [`record`] | the learner's file |
//! | [`calibration`] | what is said over many lessons against what happens |
//! | [`tally`] | a room's answers |
//! | [`suggest`] | what a lesson of a scene can ask and hide |
//! | `facts` | numbers of the run for the lesson's words |
//!
//! Nothing is graded on one drop, and nothing is passed or failed: the model has not been compared
//! with dropped logs, so what is learnt is what the model gives.

mod answer;
pub mod calibration;
pub mod claim;
mod facts;
pub mod found;
pub mod record;
mod reveal;
pub mod score;
pub mod suggest;
pub mod tally;
mod truth;
pub mod words;

pub use answer::{Answer, Form, HELD, Measure, Terms, form};
pub use facts::{Facts, facts, fill};
pub use found::{Found, found};
pub use reveal::{
    CaseRun, DROPS_PER_GROUND, LessonError, Reveal, RunCase, ask_of, lesson_of, reveal, reveal_by,
    shown, worst,
};
pub use score::{Score, score};
pub use truth::{Counted, Truth, event_counted, truth};
