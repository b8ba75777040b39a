//! What the drops say of each question of a lesson, beside what a learner or a room said of it.

use crate::{
    report::{units::decimals, words::in_hundred},
    scene::model::{LessonSpec, QuestionSpec},
};

use super::{
    answer::{Answer, Form, Terms, form},
    record::Row,
    reveal::Reveal,
    score::{Score, score},
    tally::Tally,
    truth::{Truth, truth},
    words,
};

/// One question, what was said of it, and what the drops say.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// What an answer to it looks like.
    pub form: Form,
    /// A learner's answer, unless it was left out.
    pub answer: Option<Answer>,
    /// A room's hands; none where no room was asked.
    pub tally: Tally,
    /// What the drops say; nothing where its case wasn't run.
    pub truth: Option<Truth>,
    /// Score of the learner's answer; nothing where no drop tells.
    pub score: Option<Score>,
}

/// Each question of a lesson in order: `answers` and `tallies` are of the questions in that order,
/// and may be fewer.
#[must_use]
pub fn found(
    reveal: &Reveal,
    lesson: &LessonSpec,
    answers: &[Option<Answer>],
    tallies: &[Tally],
) -> Vec<Found> {
    let of = |(i, question)| {
        let truth = truth(reveal, question);
        let answer = answers.get(i).cloned().flatten();
        let score = answer.as_ref().zip(truth.as_ref()).and_then(|(a, truth)| score(a, truth));
        let tally = tallies.get(i).cloned().unwrap_or_default();
        Found { form: form(lesson, question), answer, tally, truth, score }
    };
    lesson.questions.iter().enumerate().map(of).collect()
}

/// Lines for the learner's file: one for each answer that has a score. `date` is the day,
/// year-month-day; `course` is empty for a lesson alone.
#[must_use]
pub fn rows(
    reveal: &Reveal,
    lesson: &LessonSpec,
    found: &[Found],
    course: &str,
    date: &str,
    terms: &Terms,
) -> Vec<Row> {
    let row = |(question, found): (&QuestionSpec, &Found)| {
        let (answer, score) = (found.answer.as_ref()?, found.score?);
        let row = Row::begun(reveal.run(question.of)?, lesson, question, course, date);
        let answer = answer.written(&found.form, terms);
        Some(Row { answer, happened: found.happened(terms).join(" "), ..row }.scored(&score))
    };
    lesson.questions.iter().zip(found).filter_map(row).collect()
}

impl Found {
    /// What happened, one sentence a line.
    #[must_use]
    pub fn happened(&self, terms: &Terms) -> Vec<String> {
        self.truth.as_ref().map_or_else(Vec::new, |truth| words::happened(truth, terms))
    }

    /// What the learner said and what its score means, one sentence a line; none where it was left
    /// out.
    #[must_use]
    pub fn scored(&self, terms: &Terms) -> Vec<String> {
        if self.answer.is_none() || self.truth.is_none() {
            return Vec::new();
        }
        self.score.map_or_else(
            || vec!["No drop tells, so nothing is scored.".to_owned()],
            |score| words::scored(&score, terms),
        )
    }

    /// What a room said and how far that is from the drops, one sentence a line; none without hands.
    #[must_use]
    pub fn room(&self, terms: &Terms) -> Vec<String> {
        let Some(truth) = self.truth.as_ref().filter(|_| self.tally.count() > 0) else {
            return Vec::new();
        };
        let spread = self.tally.spread(truth);
        let mut lines = Vec::new();
        let drops = self.drops();
        let of = match truth {
            Truth::Chance(counted) if counted.draws => "the draws",
            _ => "the drops",
        };
        match &self.form {
            Form::Options(options) => {
                for (i, option) in options.iter().enumerate() {
                    let Some(room) = spread.room.get(i) else { continue };
                    let share = drops.get(i).map(|share| format!(", {of} {}", in_hundred(*share)));
                    let share = share.unwrap_or_default();
                    lines.push(format!("{option}: the room {} in 100{share}.", in_hundred(*room)));
                }
                lines.push(
                    "What a hand is not sure of is spread evenly over the other options."
                        .to_owned(),
                );
            }
            Form::Chance => {
                if let (Some(room), Some(share)) = (spread.room.first(), drops.first()) {
                    lines.push(format!(
                        "The room says {} in 100 in the mean, {of} {}.",
                        in_hundred(*room),
                        in_hundred(*share)
                    ));
                }
            }
            Form::Range(_) | Form::Mark => {}
        }
        if let Some(mean) = spread.mean_score {
            let hands = hands_words(spread.hands);
            let mean = self.score_shown(mean, terms);
            let what = match self.form {
                Form::Options(_) | Form::Chance => "",
                Form::Range(_) => ": the width of a range and ten times what lies outside it",
                Form::Mark => ": the radius of a mark and five times what lies outside it",
            };
            lines.push(format!("Mean score of {hands}: {mean}; less is nearer{what}."));
        }
        lines
    }

    /// A score of an answer to it, for a reader.
    #[must_use]
    pub fn score_shown(&self, score: f64, terms: &Terms) -> String {
        match &self.form {
            Form::Options(_) | Form::Chance => decimals(score, 2),
            Form::Range(measure) => measure.shown(score, terms.units),
            Form::Mark => terms.units.distance(score),
        }
    }

    /// How often each option happened, or the one thing; empty for numbers and places, and where in
    /// each of several cases something else is counted.
    #[must_use]
    pub fn drops(&self) -> Vec<f64> {
        match &self.truth {
            Some(Truth::Options(counted)) => counted.iter().map(|c| c.share()).collect(),
            Some(Truth::Chance(counted)) => vec![counted.share()],
            _ => Vec::new(),
        }
    }
}

/// So many hands in words.
#[must_use]
pub fn hands_words(hands: u32) -> String {
    if hands == 1 { "1 hand".to_owned() } else { format!("{hands} hands") }
}
