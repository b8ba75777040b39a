//! What is typed to a lesson, or given by its flags.

use std::io::{BufRead as _, IsTerminal as _};

use tumblewood::{
    lesson::{
        Answer, Form, Terms, form,
        tally::{Hands, Tally, read_hands},
    },
    scene::model::{LessonSpec, QuestionSpec},
};

use crate::command::{Failure, say::say};

/// Lines that a learner types.
pub(super) struct Typed {
    lines: std::io::Lines<std::io::StdinLock<'static>>,
    /// Whether anybody sees a prompt.
    is_terminal: bool,
}

impl Typed {
    pub(super) fn new() -> Self {
        let stdin = std::io::stdin();
        Self { is_terminal: stdin.is_terminal(), lines: stdin.lock().lines() }
    }

    /// The next line; nothing when there is no more.
    fn next(&mut self) -> Result<Option<String>, Failure> {
        if self.is_terminal {
            say("> ")?;
        }
        self.lines
            .next()
            .transpose()
            .map_err(|e| Failure::input(format!("what was typed can't be read: {e}")))
    }
}

/// What was typed to a question.
pub(super) enum Said {
    Answer(Answer),
    Skip,
    Quit,
}

pub(super) fn typed_answer(
    lesson: &LessonSpec,
    form: &Form,
    terms: &Terms,
    typed: &mut Typed,
) -> Result<Said, Failure> {
    loop {
        let Some(line) = typed.next()? else {
            return Err(Failure::input(
                "the answers end before the questions do: nothing is shown; allowed: a line for each \
                 question, or skip, or quit",
            ));
        };
        let line = line.trim();
        match line {
            "" => continue,
            "skip" => return Ok(Said::Skip),
            "quit" => return Ok(Said::Quit),
            _ => {}
        }
        if let Some(id) = line.strip_prefix("find") {
            let hidden = lesson.hidden.iter().find(|hidden| hidden.id == id.trim());
            let ids: Vec<&str> = lesson.hidden.iter().map(|hidden| hidden.id.as_str()).collect();
            say(&match hidden {
                Some(hidden) => format!("{}: {}\n", hidden.by, hidden.finds),
                None => {
                    format!("read {:?}; allowed: find and one of {}\n", id.trim(), ids.join(", "))
                }
            })?;
            continue;
        }
        match Answer::read(line, form, terms) {
            Ok(answer) => return Ok(Said::Answer(answer)),
            // Typed by hand it can be typed again; out of a pipe nobody would.
            Err(wrong) if typed.is_terminal => say(&format!("{wrong}\n"))?,
            Err(wrong) => return Err(Failure::input(wrong)),
        }
    }
}

/// The question of an id that a flag names.
fn question_of<'a>(
    lesson: &'a LessonSpec,
    id: &str,
    flag: &str,
) -> Result<&'a QuestionSpec, Failure> {
    lesson.questions.iter().find(|question| question.id == id).ok_or_else(|| {
        let ids: Vec<&str> = lesson.questions.iter().map(|q| q.id.as_str()).collect();
        Failure::input(format!(
            "{flag}: read {id}, no question of this lesson; allowed: {}",
            ids.join(", ")
        ))
    })
}

/// Answers given by flags.
pub(super) fn given(
    flags: &[String],
    lesson: &LessonSpec,
    terms: &Terms,
    flag: &str,
) -> Result<Vec<(String, Answer)>, Failure> {
    let mut seen = Vec::new();
    flags
        .iter()
        .map(|text| {
            let (id, answer) = text.split_once('=').ok_or_else(|| {
                Failure::input(format!(
                    "{flag}: read {text}; allowed: ID=ANSWER, as mode=\"4 70 %\""
                ))
            })?;
            let question = question_of(lesson, id, flag)?;
            if seen.contains(&id) {
                return Err(Failure::input(format!(
                    "{flag}: read {id} twice; allowed: one answer to each question"
                )));
            }
            seen.push(id);
            let answer = Answer::read(answer, &form(lesson, question), terms)
                .map_err(|wrong| Failure::input(format!("{flag} {id}: {wrong}")))?;
            Ok((id.to_owned(), answer))
        })
        .collect()
}

/// A room's hands given by flags, for each question in order.
pub(super) fn hands(
    flags: &[String],
    lesson: &LessonSpec,
    terms: &Terms,
) -> Result<Vec<Tally>, Failure> {
    let mut tallies = vec![Tally::default(); lesson.questions.len()];
    for text in flags {
        let wrong = |why: &str| {
            Failure::input(format!(
                "--hands: read {text}{why}; allowed: ID:HANDS:ANSWER, as mode:12:\"4 70 %\""
            ))
        };
        let (id, rest) = text.split_once(':').ok_or_else(|| wrong(""))?;
        let (count, answer) = rest.split_once(':').ok_or_else(|| wrong(""))?;
        let count = read_hands(count).map_err(|why| wrong(&format!(": {why}")))?;
        let question = question_of(lesson, id, "--hands")?;
        let answer = Answer::read(answer, &form(lesson, question), terms)
            .map_err(|wrong| Failure::input(format!("--hands {id}: {wrong}")))?;
        let entry = Hands { answer, hands: count };
        let at = lesson.questions.iter().position(|question| question.id == id);
        if let Some(tally) = at.and_then(|at| tallies.get_mut(at)) {
            tally.hands.push(entry);
        }
    }
    Ok(tallies)
}
