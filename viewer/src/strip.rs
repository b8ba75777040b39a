//! The strip below: which drop is played, its clock, and what happened in it.

use bevy_egui::egui::{self, Button, Key, RichText, ScrollArea, Slider, Ui};
use tumblewood::{
    drop::{Against, Touch},
    quantity::Units,
    report::{text, words},
    site::Site,
};

use crate::{
    desk::{Desk, Question},
    page::{follow_focus, named},
    playing::{FRAME_S, SPEEDS, touches_until},
    wish::Wish,
    worker::Made,
};

/// Its height, in points.
pub(crate) const STRIP_HEIGHT: f32 = 112.0;

/// The height that it takes of the hillside, in points: a lesson has none before its drops are shown.
pub(crate) fn strip_height(desk: &Desk) -> f32 {
    let hidden = desk.lesson.as_ref().is_some_and(|lesson| !lesson.is_shown);
    if hidden { 0.0 } else { STRIP_HEIGHT }
}

/// Words for the speeds of the clock.
const SPEED_WORDS: [&str; SPEEDS.len()] = ["True speed", "1/2", "1/4", "1/8", "1/16"];

/// Room for the moment as a number, and the least for its slider, points.
const NUMBER: f32 = 90.0;
const SHORTEST: f32 = 120.0;

/// Draws the strip.
pub(crate) fn strip(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    // Large letters need more rows than it is high.
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        // One drop of a lesson is shown before any are counted.
        if desk.lesson.is_none() || desk.counts().is_some() {
            which(ui, desk, wishes);
        }
        if desk.playing.drops.is_empty() {
            ui.label(
                "Play a drop: the next reaching one, the worst three, a typical one, or a number.",
            );
        } else {
            clock(ui, desk, wishes);
            happened(ui, desk);
        }
        follow_focus(ui);
    });
}

fn which(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let reaching = desk.reaching(false).len();
    let drops = desk.counts().map_or(0, |counts| counts.fates.len());
    ui.horizontal_wrapped(|ui| {
        let mut button = |ui: &mut Ui, words: &str, enabled: bool, wish: Wish| {
            if ui.add_enabled(enabled, Button::new(words)).clicked() {
                wishes.push(wish);
            }
        };
        button(ui, "◀ Reaching", reaching > 0, Wish::NextReaching(-1));
        button(ui, "Reaching ▶", reaching > 0, Wish::NextReaching(1));
        button(ui, "Worst three", reaching > 0, Wish::Worst);
        button(ui, "Typical", drops > 0, Wish::Typical);
        let now = desk.playing.drops.first().map(|made| made.drop);
        let mut drop = now.unwrap_or(0);
        let most = (drops as u32).saturating_sub(1);
        ui.label("Drop");
        let number = egui::DragValue::new(&mut drop).range(0..=most).update_while_editing(false);
        let number = ui.add_enabled(drops > 0, number);
        named(ui, &number, "Drop");
        // To open the field is no wish; Enter in it is, also for the number that stood there.
        let entered = number.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        if number.changed() && drop != now.unwrap_or(0) || now.is_none() && entered {
            wishes.push(Wish::Play { drop, with_others: false });
        }
        ui.label(format!("of {drops}; {reaching} reach"));
        if !desk.playing.waiting.is_empty() {
            ui.spinner();
        }
        let playing = !desk.playing.drops.is_empty();
        if ui.add_enabled(playing, Button::new("Put away")).clicked() {
            wishes.push(Wish::StopPlaying);
        }
        let left = desk.playing.drops.first().filter(|made| made.replay.what.is_ok());
        if ui.add_enabled(left.is_some(), Button::new("Export replay…")).clicked()
            && let (Some(made), Some(cut)) = (left, desk.cut_id())
        {
            let named = format!("{cut}-drop-{}.glb", made.drop);
            wishes.push(Wish::Ask(Question::Export(named)));
        }
    });
}

fn clock(ui: &mut Ui, desk: &Desk, wishes: &mut Vec<Wish>) {
    let playing = &desk.playing;
    ui.horizontal_wrapped(|ui| {
        let (word, runs) =
            if playing.clock.runs { ("⏸ Pause", false) } else { ("▶ Play", true) };
        if ui.button(word).clicked() {
            wishes.push(Wish::Run(runs));
        }
        for (word, frames) in [("−1 frame", -1), ("+1 frame", 1)] {
            if ui.button(word).on_hover_text(format!("{:.0} ms", 1e3 * FRAME_S)).clicked() {
                wishes.push(Wish::Step(frames));
            }
        }
        let speed = playing.clock.speed;
        let word = SPEED_WORDS.get(speed).copied().unwrap_or_default();
        let list = egui::ComboBox::from_id_salt("speed").selected_text(word).width(90.0);
        let list = list.show_ui(ui, |ui| {
            for (i, word) in SPEED_WORDS.iter().enumerate() {
                if ui.selectable_label(i == speed, *word).clicked() {
                    wishes.push(Wish::Slower(i as i32 - speed as i32));
                }
            }
        });
        named(ui, &list.response, "Speed");
        for (word, on, wish) in [
            ("Follow", playing.follows, Wish::Follow(!playing.follows)),
            ("Ghosts", playing.ghosts, Wish::Ghosts(!playing.ghosts)),
            ("Side view", playing.side_view, Wish::SideView(!playing.side_view)),
        ] {
            if ui.selectable_label(on, word).clicked() {
                wishes.push(wish);
            }
        }
        let (mut time_s, range) = (playing.clock.time_s, 0.0..=playing.clock.end_s);
        // What is left of the row, or a row of its own: a slider doesn't go on to the next by itself.
        let mut left = ui.available_size_before_wrap().x - NUMBER;
        if left < SHORTEST {
            ui.end_row();
            left = ui.available_size_before_wrap().x - NUMBER;
        }
        ui.spacing_mut().slider_width = left.max(SHORTEST);
        let slider = ui.add(Slider::new(&mut time_s, range.clone()).show_value(false));
        named(ui, &slider, "Moment");
        // Written to a hundredth, but not rounded: a slow clock would stand still.
        let number = egui::DragValue::new(&mut time_s)
            .range(range)
            .speed(FRAME_S)
            .custom_formatter(|time_s, _| format!("{time_s:.2}"))
            .custom_parser(|typed| typed.trim().trim_end_matches('s').trim().parse().ok())
            .suffix(" s")
            .update_while_editing(false);
        let number = ui.add(number);
        named(ui, &number, "Moment, typed");
        // To open the field writes it to a hundredth, which nobody wished for.
        let is_typed = number.changed() && (time_s - playing.clock.time_s).abs() > 0.005;
        if slider.changed() || is_typed {
            wishes.push(Wish::Seek(time_s));
        }
    });
}

/// What happened in the drop, and its last touch so far.
fn happened(ui: &mut Ui, desk: &Desk) {
    let (Some(made), Some(job)) = (desk.playing.drops.first(), &desk.job) else { return };
    let units = job.scene.units;
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(words_of(made, units)).strong());
        let others: Vec<String> =
            desk.playing.drops.iter().skip(1).map(|made| made.drop.to_string()).collect();
        if !others.is_empty() {
            ui.label(format!("With it drops {}.", others.join(", ")));
        }
        let Ok((track, _)) = &made.replay.what else { return };
        let site = &made.replay.ready.site;
        if let Some(touch) = touches_until(track, desk.playing.clock.time_s).next() {
            ui.label(touched(touch, site, units));
        }
    });
}

/// A drop in a sentence.
pub(crate) fn words_of(made: &Made, units: Units) -> String {
    match &made.replay.what {
        Ok((track, outcome)) => format!(
            "Drop {}: {}.",
            made.drop,
            text::what_happened(outcome, track, &made.replay.ready.site, units)
        ),
        Err(missing) => format!(
            "Drop {}: sits back; {} are missing to turn it.",
            made.drop,
            units.moment(*missing)
        ),
    }
}

/// A touch in a sentence: when, with which end, what, how hard.
fn touched(touch: &Touch, site: &Site, units: Units) -> String {
    let what = match touch.against {
        Against::Ground => "the ground".to_owned(),
        Against::Body(i) => {
            site.bodies.get(i).map_or("something".to_owned(), |body| words::name(&body.id))
        }
    };
    format!(
        "Last touch at {:.2} s: {} on {what}, {}, {} in the piece.",
        touch.time_s,
        words::place(touch.place),
        units.speed(touch.speed_m_s),
        units.energy(touch.energy_j)
    )
}
