//! What the drops of the cut come to, in words, and which of them are drawn.

use bevy_egui::egui::{self, ComboBox, RichText, Ui};
use tumblewood::{
    forecast::result::{CutForecast, TargetForecast},
    outcome::Mode,
    quantity::Units,
    report::{text, words},
    scene::model::PieceSpec,
};

use super::caution_under_counts;
use crate::{
    desk::{Counts, Desk},
    page::{named, sentence},
    palette::MODES,
    signs::mode_mark,
    tracks::{counted, left_out},
    wish::Wish,
    worker::Stage,
};

/// A drop that comes this near to a target is worth a look, m.
const NEAR_MISS_M: f64 = 2.0;
/// Numbers of drops that can be asked for.
const DROPS: [u32; 6] = [60, 120, 500, 1_000, 2_000, 10_000];

pub(super) fn tab(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let Some(job) = &desk.job else {
        ui.label("No scene.");
        return;
    };
    let units = job.scene.units;
    cuts(ui, desk, wishes);
    if job.scene.cuts.is_empty() {
        ui.label("The scene has no cuts: add one under Change.");
        return;
    }
    ui.separator();
    how_much(ui, desk, wishes);
    let Some(counts) = desk.counts() else { return };
    if !counts.is_now {
        ui.label(RichText::new("These counts are of the scene before the last change.").strong());
    }
    reaches(ui, &counts, units);
    caution_under_counts(ui);
    ui.separator();
    how_it_goes(ui, desk, &counts, units);
    ui.separator();
    filters(ui, desk, &counts, units, wishes);
    ui.separator();
    whole_job(ui, &counts);
    hangs_on(ui, counts.cut);
    if let Some(stamp) = desk.stamp() {
        ui.label(RichText::new(stamp.line()).small());
    }
}

fn cuts(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let Some(job) = &desk.job else { return };
    let units = job.scene.units;
    ui.label(RichText::new("Cuts, in order").strong());
    for (i, cut) in job.scene.cuts.iter().enumerate() {
        let toward = cut.release.toward_rad().told.to_degrees();
        let up = units.distance(job.scene.tree.cut_height_m(&cut.piece));
        let name = words::name(&cut.id);
        let words = match (&cut.piece, job.scene.stem_taken_m(i)) {
            (PieceSpec::Limb { limb, .. }, _) => {
                let limb = job.scene.tree.limbs.get(*limb).map_or("", |limb| limb.id.as_str());
                format!("{name}: limb {}, {up} up, toward {toward:.0}°", words::name(limb))
            }
            (_, Some([from_m, to_m])) => {
                let long = units.length(to_m - from_m);
                format!("{name}: {long} long, butt {up} up, toward {toward:.0}°")
            }
            (_, None) => format!("{name}: butt {up} up, toward {toward:.0}°"),
        };
        if ui.selectable_label(i == desk.cut, words).clicked() {
            wishes.push(Wish::Cut(i));
        }
    }
}

/// How much of the forecast there is, and how much is asked for.
fn how_much(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    if let Some(why) = &desk.answer.failed {
        ui.label(RichText::new("This can't be forecast:").strong());
        ui.label(RichText::new(why).monospace().small());
    }
    let counts = desk.counts();
    let words = match counts.map(|counts| (counts.stage, counts.fates.len(), counts.cut)) {
        None => "Dropping the first pieces…".to_owned(),
        Some((Stage::Coarse, n, _)) => {
            format!("Coarse: {n} drops on the ground as you told it, no other ground yet.")
        }
        Some((Stage::Finer, n, cut)) => {
            format!("Coarse: {n} drops as told and {} other grounds so far.", cut.grounds.len())
        }
        Some((Stage::Full | Stage::WholeJob, n, cut)) => {
            format!("Full: {n} drops as told and {} other grounds.", cut.grounds.len())
        }
    };
    ui.label(RichText::new(words).strong());
    ui.horizontal(|ui| {
        ui.label("Drops as told");
        let mut drops = desk.ask.drops;
        let list = ComboBox::from_id_salt("drops").selected_text(format!("{drops} drops"));
        let list = list.show_ui(ui, |ui| {
            for n in DROPS {
                ui.selectable_value(&mut drops, n, format!("{n} drops"));
            }
        });
        named(ui, &list.response, "Drops as told");
        if drops != desk.ask.drops {
            wishes.push(Wish::Drops(drops));
        }
    });
    if let Some((stage, progress)) = desk.answer.progress {
        let share = progress.done as f32 / progress.total.max(1) as f32;
        let what = match stage {
            Stage::Coarse | Stage::Finer => "A first answer",
            Stage::Full => "All drops of this cut",
            Stage::WholeJob => "The other cuts, for the whole job",
        };
        let text = format!("{what}: {} of {}", progress.done, progress.total);
        ui.add(egui::ProgressBar::new(share).text(text));
    }
}

fn reaches(ui: &mut Ui, counts: &Counts<'_>, units: Units) {
    ui.label(RichText::new("What it reaches, by any mode").strong());
    let drops = counts.fates.len() as u32;
    if counts.cut.targets.is_empty() {
        ui.label("No target is named in the scene.");
    }
    for target in &counts.cut.targets {
        let hit =
            target.reached > 0 || target.over_grounds.high > 0.0 && !counts.cut.grounds.is_empty();
        let sign = if hit { "✖" } else { "–" };
        ui.label(RichText::new(format!("{sign} {}", words::name(&target.id))).strong());
        ui.indent(&target.id, |ui| one_target(ui, target, counts, drops, units));
    }
}

fn one_target(ui: &mut Ui, target: &TargetForecast, counts: &Counts<'_>, drops: u32, units: Units) {
    if counts.cut.grounds.is_empty() {
        ui.label("Other grounds not looked at yet");
    } else {
        let range = words::over_grounds(target.over_grounds);
        ui.label(if counts.stage < Stage::Full {
            format!("Coarse: {range}")
        } else {
            sentence(&range)
        });
    }
    ui.label(sentence(&format!(
        "{}; {}",
        words::as_told(target, drops),
        words::counting_noise(target, tumblewood::forecast::interval::CONFIDENCE)
    )));
    if let Some(energy) = target.energy_j.as_ref().and_then(|energy| energy.max) {
        ui.label(format!("Touched with up to {}", units.energy(energy)));
    }
    if let Some(gap_m) = target.nearest_miss_m {
        ui.label(format!("Of those that miss, the nearest by {}", units.length(gap_m)));
    }
}

fn how_it_goes(ui: &mut Ui, desk: &Desk, counts: &Counts<'_>, units: Units) {
    let cut = counts.cut;
    let drops = counts.fates.len().max(1) as f64;
    ui.label(RichText::new("How it goes, as told").strong());
    let rows = [
        (Mode::Tumbled, cut.modes.tumbled),
        (Mode::Rolled, cut.modes.rolled),
        (Mode::Slid, cut.modes.slid),
        (Mode::Stayed, cut.modes.stayed),
    ];
    for (mode, n) in rows {
        ui.horizontal(|ui| {
            mode_mark(ui, mode, true, desk.look.theme);
            let share = words::in_hundred(f64::from(n) / drops);
            let mode = sentence(words::mode(mode));
            ui.label(format!("{mode}: {n} of {drops:.0}, {share} in 100"));
        });
    }
    if cut.sat_back > 0 {
        ui.label(format!(
            "Sits back in {} of {drops:.0}: it does not leave without more pull, push or wedge.",
            cut.sat_back
        ));
    }
    let lost = cut.unfinished.left_terrain + cut.unfinished.out_of_time;
    if lost > 0 {
        ui.horizontal(|ui| {
            mode_mark(ui, Mode::Rolled, false, desk.look.theme);
            ui.label(format!("Hollow: {lost} left the known terrain or were still going"));
        });
    }
    let run = &cut.rollout_at_least_m;
    if let (Some(p50), Some(p90), Some(max)) = (run.p50, run.p90, run.max) {
        let least = if lost > 0 { "at least " } else { "" };
        ui.label(format!(
            "Half run {least}{} or more, 1 in 10 {least}{}, the farthest {least}{}.",
            units.distance(p50),
            units.distance(p90),
            units.distance(max)
        ));
    }
    if let Some(height) = cut.height_over_ground_m.max {
        ui.label(format!("Bounces up to {} over the ground.", units.length(height)));
    }
    let hold = &cut.hold;
    ui.label(format!(
        "Where they come to rest: {} lie firm, {} would go on a slope a little steeper, {} are \
         held only by what they lie against.",
        hold.firm, hold.marginal, hold.by_aid_only
    ));
}

fn filters(ui: &mut Ui, desk: &Desk, counts: &Counts<'_>, units: Units, wishes: &mut Vec<Wish>) {
    ui.label(RichText::new("Drops that are drawn").strong());
    let mut filter = desk.filter;
    ui.horizontal_wrapped(|ui| {
        for ((mode, word), shown) in MODES.iter().zip(&mut filter.modes) {
            mode_mark(ui, *mode, true, desk.look.theme);
            ui.checkbox(shown, sentence(word));
        }
    });
    let name = |k: Option<usize>| match k.and_then(|k| counts.cut.targets.get(k)) {
        Some(target) => words::name(&target.id),
        None => "Any target".to_owned(),
    };
    ui.horizontal(|ui| {
        ui.label("Of target");
        let list = ComboBox::from_id_salt("target").selected_text(name(filter.target));
        let list = list.show_ui(ui, |ui| {
            for k in std::iter::once(None).chain((0..counts.cut.targets.len()).map(Some)) {
                ui.selectable_value(&mut filter.target, k, name(k));
            }
        });
        named(ui, &list.response, "Of target");
    });
    ui.checkbox(&mut filter.only_reaching, "Only those that reach it");
    let mut near = filter.within_m.is_some();
    let within = format!("Only those that came within {} of it", units.length(NEAR_MISS_M));
    ui.checkbox(&mut near, within);
    filter.within_m = near.then_some(NEAR_MISS_M);
    let drops = desk.drops();
    let (drawn, reach) = drops.map_or((0, 0), |drops| counted(&drops, &filter));
    let all = counts.fates.len();
    ui.label(format!("{drawn} of {all} drops are drawn, {reach} of them reach."));
    if let Some(words) = drops.and_then(|drops| left_out(&drops, &filter)) {
        ui.label(words);
    }
    if filter != desk.filter {
        wishes.push(Wish::Filter(filter));
    }
}

fn whole_job(ui: &mut Ui, counts: &Counts<'_>) {
    let Some(whole) = counts.whole.filter(|whole| whole.run.forecast.cuts.len() > 1) else {
        return;
    };
    ui.label(RichText::new("The whole job: any of its cuts, all on one ground").strong());
    for target in &whole.run.forecast.job.targets {
        ui.label(text::job_target(target, whole.run.forecast.confidence));
    }
    ui.separator();
}

fn hangs_on(ui: &mut Ui, cut: &CutForecast) {
    let lines = text::hangs_on(cut);
    if lines.is_empty() {
        return;
    }
    ui.label(RichText::new("What the answer hangs on").strong());
    for line in lines {
        ui.label(line);
    }
    ui.separator();
}
