//! A room's answers to one question: hands for each answer, entered by the trainer.

use super::{
    answer::Answer,
    score::{Score, score},
    truth::Truth,
};

/// Hands for one answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Hands {
    /// The answer.
    pub answer: Answer,
    /// How many gave it.
    pub hands: u32,
}

/// A room's answers to one question.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// Answers and hands, in the order entered.
    pub hands: Vec<Hands>,
}

/// A room's answers against the drops.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// All hands.
    pub hands: u32,
    /// For each answer of the tally its score, where it has one.
    pub scores: Vec<Option<Score>>,
    /// Mean score over the hands; lower is nearer.
    pub mean_score: Option<f64>,
    /// For options, what share of the room's belief each has, hands and how sure they are together;
    /// for a chance the mean of what was said. Empty for ranges and marks.
    pub room: Vec<f64>,
}

/// More than any room holds.
const HANDS_MAX: u32 = 10_000;

/// Reads how many hands.
///
/// # Errors
/// What was read and what is allowed, in words.
pub fn read_hands(text: &str) -> Result<u32, String> {
    let read = text.trim().parse().ok().filter(|hands| (1..=HANDS_MAX).contains(hands));
    read.ok_or_else(|| {
        format!("read {:?}, no number of hands; allowed: 1 to {HANDS_MAX}", text.trim())
    })
}

impl Tally {
    /// All hands.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.hands.iter().map(|h| h.hands).sum()
    }

    /// The room against what the drops say.
    #[must_use]
    pub fn spread(&self, truth: &Truth) -> Spread {
        let scores: Vec<Option<Score>> =
            self.hands.iter().map(|h| score(&h.answer, truth)).collect();
        let scored =
            self.hands.iter().zip(&scores).filter_map(|(h, s)| Some((h.hands, (*s)?.value)));
        let (n, sum) = scored.fold((0_u32, 0.0), |(n, sum), (hands, value)| {
            (n + hands, sum + f64::from(hands) * value)
        });
        Spread {
            hands: self.count(),
            scores,
            mean_score: (n > 0).then(|| sum / f64::from(n)),
            room: self.room(truth),
        }
    }

    /// Mean chance of each option over the hands.
    fn room(&self, truth: &Truth) -> Vec<f64> {
        let options = match truth {
            Truth::Options(counted) | Truth::Fewest(counted) => counted.len(),
            Truth::Chance(_) => 1,
            Truth::Values { .. } | Truth::Points { .. } => return Vec::new(),
        };
        let all = f64::from(self.count().max(1));
        let mut room = vec![0.0; options];
        for Hands { answer, hands } in &self.hands {
            let chances = match answer {
                Answer::Chance(chance) => vec![*chance],
                answer => answer.chances(options),
            };
            for (sum, chance) in room.iter_mut().zip(chances) {
                *sum += f64::from(*hands) * chance / all;
            }
        }
        room
    }
}
