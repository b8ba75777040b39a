//! Two cells side by side, drop by drop: drop i of one has the inner draws of drop i of the other.

use bevy_egui::egui::{Align, Layout, Rect, RichText, Sense, Ui, UiBuilder, vec2};
use tumblewood::{
    drop::Ending,
    forecast::{Fate, compare::Cell},
    outcome::{Mode, Outcome, Reach},
    quantity::Units,
    report::words,
};

use super::cells::mark_button;

/// Height of a row, points.
const ROW: f32 = 20.0;
/// Width of a drop's number, points.
const NUMBER: f32 = 64.0;
/// Width of what one drop did in words, points.
const WORDS: f32 = 380.0;

/// How one drop went.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Went {
    /// How, or nothing if it sat back.
    pub(crate) mode: Option<Mode>,
    /// Distance along the ground, m.
    pub(crate) rollout_m: f64,
    /// It came to rest; if not, the distance is at least that.
    pub(crate) at_rest: bool,
    /// Ids of what it reached.
    pub(crate) reached: Vec<String>,
    /// It was lost before it could be told of every target.
    pub(crate) unknown: bool,
}

impl Went {
    fn of(fate: &Fate, targets: &[String]) -> Self {
        fate.outcome().map_or(
            Self { mode: None, rollout_m: 0.0, at_rest: true, reached: Vec::new(), unknown: false },
            |outcome| Self::left(outcome, targets),
        )
    }

    fn left(outcome: &Outcome, targets: &[String]) -> Self {
        let hits = outcome.reaches.iter().zip(targets);
        let hits = hits.filter(|(reach, _)| matches!(reach, Reach::Reached { .. }));
        Self {
            mode: Some(outcome.mode),
            rollout_m: outcome.rollout_m,
            at_rest: outcome.ending == Ending::Rest,
            reached: hits.map(|(_, id)| id.clone()).collect(),
            unknown: outcome.reaches.contains(&Reach::Unknown),
        }
    }

    /// The mode in words.
    #[must_use]
    pub(crate) fn mode_words(&self) -> &'static str {
        self.mode.map_or("sat back", words::mode)
    }

    /// How far and what it reached, in words.
    #[must_use]
    pub(crate) fn words(&self, units: Units) -> String {
        if self.mode.is_none() {
            return "sat back".to_owned();
        }
        let least = if self.at_rest { "" } else { "at least " };
        let far = units.distance(self.rollout_m);
        let mut text = format!("{}, {least}{far}", self.mode_words());
        if !self.reached.is_empty() {
            let names: Vec<String> = self.reached.iter().map(|id| words::name(id)).collect();
            text.push_str(&format!(", reached {}", names.join(", ")));
        } else if self.unknown {
            text.push_str(", lost before it could be told what it reached");
        }
        text
    }
}

/// Two cells paired.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Pair {
    /// Drop by drop: in the first, in the second.
    pub(crate) drops: Vec<(Went, Went)>,
}

impl Pair {
    /// Pairs the drops on the ground as told that both cells have.
    #[must_use]
    pub(crate) fn of(first: &Cell, second: &Cell) -> Self {
        let ids = |cell: &Cell| -> Vec<String> {
            cell.forecast.targets.iter().map(|target| target.id.clone()).collect()
        };
        let (targets, others) = (ids(first), ids(second));
        let drops = first.told.iter().zip(&second.told);
        Self { drops: drops.map(|(a, b)| (Went::of(a, &targets), Went::of(b, &others))).collect() }
    }

    /// What changed between the two, in words, most telling first.
    #[must_use]
    pub(crate) fn counts(&self) -> Vec<String> {
        let all = self.drops.len();
        let count = |what: &dyn Fn(&Went, &Went) -> bool| {
            self.drops.iter().filter(|(a, b)| what(a, b)).count()
        };
        let hit = |went: &Went| !went.reached.is_empty();
        let open = |went: &Went| went.unknown && !hit(went);
        let mut lines = vec![
            format!(
                "{} of {all} drops reached in the first and not in the second",
                count(&|a, b| hit(a) && !hit(b) && !open(b))
            ),
            format!(
                "{} of {all} drops reached in the second and not in the first",
                count(&|a, b| hit(b) && !hit(a) && !open(a))
            ),
            format!("{} of {all} drops reached in both", count(&|a, b| hit(a) && hit(b))),
            format!(
                "{} of {all} drops reached in neither",
                count(&|a, b| !hit(a) && !hit(b) && !open(a) && !open(b))
            ),
        ];
        let lost = count(&|a, b| open(a) || open(b));
        if lost > 0 {
            lines.push(format!("{lost} of {all} drops can't be told: lost in one of the two"));
        }
        for (from, to) in ways().flat_map(|from| ways().map(move |to| (from, to))) {
            let changed = count(&|a, b| a.mode == from && b.mode == to);
            if from != to && changed > 0 {
                let name = |mode: Option<Mode>| mode.map_or("sat back", words::mode);
                lines.push(format!(
                    "{changed} of {all} drops {} in the first and {} in the second",
                    name(from),
                    name(to)
                ));
            }
        }
        lines
    }
}

fn ways() -> impl Iterator<Item = Option<Mode>> {
    [Some(Mode::Tumbled), Some(Mode::Rolled), Some(Mode::Slid), Some(Mode::Stayed), None]
        .into_iter()
}

/// Draws a pair: its counts, then drop by drop. `caution` is said under the counts.
pub(super) fn pair(
    ui: &mut Ui,
    pair: &Pair,
    names: [&str; 2],
    units: Units,
    caution: &dyn Fn(&mut Ui),
) {
    ui.label(RichText::new(format!("First: {}. Second: {}.", names[0], names[1])).strong());
    ui.label(
        "Drop by drop on the ground as you told it: drop 7 of the one has the same scatter at \
         release and the same bumps as drop 7 of the other. ≠ marks drops that went another way \
         or reached something else.",
    );
    for line in pair.counts() {
        ui.label(line);
    }
    caution(ui);
    rows(ui, pair, names, units);
}

/// Drop by drop; only the rows that are seen are drawn.
fn rows(ui: &mut Ui, pair: &Pair, names: [&str; 2], units: Units) {
    let column = |ui: &mut Ui, width: f32, text: RichText| {
        let left = Layout::left_to_right(Align::Center);
        ui.allocate_ui_with_layout(vec2(width, ROW), left, |ui| {
            ui.set_min_width(width);
            ui.label(text);
        });
    };
    ui.horizontal(|ui| {
        column(ui, NUMBER, RichText::new("Drop").strong());
        for name in names {
            ui.add_space(26.0);
            column(ui, WORDS, RichText::new(name).strong());
        }
    });
    let size = vec2(NUMBER + 2.0 * (WORDS + 60.0), ROW * pair.drops.len() as f32);
    let (all, _) = ui.allocate_exact_size(size, Sense::hover());
    let seen = ui.clip_rect();
    let first = ((seen.top() - all.top()) / ROW).max(0.0) as usize;
    let count = (seen.height() / ROW) as usize + 2;
    for (i, (before, after)) in pair.drops.iter().enumerate().skip(first).take(count) {
        let corner = all.left_top() + vec2(0.0, ROW * i as f32);
        let row = Rect::from_min_size(corner, vec2(size.x, ROW));
        let left = Layout::left_to_right(Align::Center);
        let mut ui = ui.new_child(UiBuilder::new().max_rect(row).layout(left));
        let changed = before.mode != after.mode || before.reached != after.reached;
        let number = if changed { format!("{i} ≠") } else { i.to_string() };
        column(&mut ui, NUMBER, RichText::new(number));
        for went in [before, after] {
            mark_button(&mut ui, went.mode, went.at_rest, !went.reached.is_empty());
            column(&mut ui, WORDS, RichText::new(went.words(units)));
        }
    }
}
