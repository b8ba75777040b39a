//! The one place where what a hand wishes for is done to the desk.

mod files;

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use tumblewood::{
    felling,
    forecast::Ask,
    job::Job,
    scene::{
        Scene,
        edit::{
            Document, Doubt, EditError, FieldKind, Splice, Thing, add, azimuth_text, fields,
            length_text, move_at_cut, remove_lesson, set_field, set_lesson, splice, things,
            turn_by,
        },
        model::Line,
    },
};

use crate::{
    camera::View,
    desk::{Answer, Desk, Playing, Screen, Tab, Taking, Tool},
    task::Task,
    wish::{Edit, Same, Wish},
    worker::{Errand, Order, Stage, ToFell, ToPage, Workers, shown},
};

pub(crate) use files::{look_at_disk, recovered};

use files::{begin, dropped, leave, recover, reload, save, save_as};

/// A copy is put this far beside what it was made from, m.
const COPY_BESIDE_M: f64 = 2.0;

/// Does what was wished for; what can't be done is said in a message, and nothing is lost.
pub(crate) fn grant(desk: &mut Desk, workers: &Workers, wish: Wish) {
    match wish {
        Wish::Go(screen) => desk.screen = screen,
        Wish::Tab(tab) => {
            desk.tab = tab;
            want_felling(desk, workers);
        }
        Wish::View(view) => desk.wanted_view = Some(view),
        Wish::Begin(text) => begin(desk, workers, &text),
        Wish::Sketch(Same(job)) => sketch(desk, job),
        Wish::Card(path) => {
            desk.mail.waiting += 1;
            workers.errand(Errand::Card(path));
        }
        Wish::Compare { number, mut ask } => {
            let Some(job) = desk.job.clone() else { return };
            desk.mail.waiting += 1;
            // The same draws as on the hillside.
            (ask.ask.seed, ask.ask.law) = (desk.ask.seed, desk.ask.law);
            let date = jiff::Zoned::now().date().to_string();
            workers.task(number, Task::Compare { job, ask: *ask, date });
        }
        Wish::Ground { number, ask } => {
            desk.mail.waiting += 1;
            workers.task(number, Task::Ground(*ask));
        }
        Wish::Lesson(Same(job), ask) => lesson(desk, workers, job, *ask),
        Wish::Reveal { number, ask } => {
            desk.mail.waiting += 1;
            if let Some(lesson) = &mut desk.lesson {
                lesson.wants_mark = false;
            }
            workers.task(number, Task::Reveal(*ask));
        }
        Wish::Claims { number } => {
            let Some(job) = desk.job.clone() else { return };
            desk.mail.waiting += 1;
            workers.task(number, Task::Claims(job));
        }
        Wish::Many(Same(renewed)) => {
            if let Some(lesson) = &mut desk.lesson {
                lesson.is_shown = true;
                desk.answer.newest = Some((desk.answer.order, Stage::Full, renewed));
                desk.stamps.drops += 1;
            }
        }
        Wish::Ends(ends_m) => {
            if let Some(lesson) = &mut desk.lesson {
                (lesson.is_shown, lesson.ends_m) = (true, ends_m);
            }
        }
        Wish::Mark(mark, wanted) => {
            if let Some(lesson) = &mut desk.lesson {
                (lesson.mark, lesson.wants_mark) = (mark, wanted);
            }
        }
        Wish::Marked(at_m) => desk.mail.come.push(ToPage::Marked(at_m)),
        Wish::Try(path) => try_out(desk, workers, &path),
        Wish::StopTask => workers.stop_task(),
        Wish::Dropped(path) => dropped(desk, workers, path),
        Wish::Export(path) => export(desk, workers, &path),
        Wish::Cut(cut) => look_at(desk, workers, cut),
        Wish::Filter(filter) => {
            desk.filter = filter;
            desk.stamps.drops += 1;
        }
        Wish::Drops(drops) => {
            desk.ask.drops = drops;
            order(desk, workers);
        }
        Wish::Play { drop, with_others } => desk.play(&[drop], with_others, workers),
        Wish::NextReaching(by) => next_reaching(desk, workers, by),
        Wish::Worst => {
            let worst: Vec<u32> = desk.reaching(true).into_iter().take(3).collect();
            if worst.is_empty() {
                desk.message = Some("No drop reaches, as told: there is no worst.".to_owned());
            } else {
                desk.play(&worst, false, workers);
            }
        }
        Wish::Typical => {
            let typical = desk.typical();
            desk.play(typical.as_slice(), false, workers);
        }
        Wish::StopPlaying => {
            desk.playing = Playing { side_view: desk.playing.side_view, ..Playing::none() };
            desk.stamps.playing += 1;
        }
        Wish::Run(runs) => desk.playing.clock.play(runs),
        Wish::Seek(time_s) => desk.playing.clock.seek(time_s),
        Wish::Step(frames) => desk.playing.clock.step(frames),
        Wish::Slower(by) => desk.playing.clock.slower(by),
        Wish::Follow(on) => desk.playing.follows = on,
        Wish::Ghosts(on) => {
            desk.playing.ghosts = on;
            desk.stamps.playing += 1;
        }
        Wish::SideView(on) => {
            desk.playing.side_view = on;
            desk.want_strip(workers);
        }
        Wish::Pick(thing) => pick(desk, workers, thing),
        Wish::Use(tool) => desk.tool = tool,
        Wish::Look(look) => {
            desk.look = look;
            desk.stamps.all();
        }
        Wish::Edit(change) => edit(desk, workers, change),
        Wish::Undo => step(desk, workers, Document::undo),
        Wish::Redo => step(desk, workers, Document::redo),
        Wish::Save => save(desk, false),
        Wish::Overwrite => save(desk, true),
        Wish::SaveAs(path) => save_as(desk, &path, false),
        Wish::Replace(path) => save_as(desk, &path, true),
        Wish::Reload => reload(desk, workers),
        Wish::Recover(take) => recover(desk, workers, take),
        Wish::Leave(to) => leave(desk, workers, to, false),
        Wish::LeaveAnyway(to) => leave(desk, workers, to, true),
        Wish::SaveAndLeave(to) => {
            save(desk, false);
            if desk.question.is_none() {
                leave(desk, workers, to, false);
            }
        }
        Wish::Ask(question) => desk.question = Some(question),
        Wish::Dismiss => dismiss(desk),
    }
}

/// The program was left.
pub(crate) fn is_over(desk: &Desk) -> bool {
    desk.is_over
}

fn dismiss(desk: &mut Desk) {
    if desk.question.take().is_some() || desk.message.take().is_some() {
        return;
    }
    if matches!(desk.screen, Screen::Compare | Screen::Teach)
        || desk.screen == Screen::Notes && desk.document.is_some()
    {
        desk.screen = Screen::Hillside;
    } else if desk.tool != Tool::Hand {
        desk.tool = Tool::Hand;
    } else if desk.picked.take().is_some() {
        desk.stamps.things += 1;
    }
}

/// Shows the bank of notes that are being typed; it is framed anew where it has another size.
fn sketch(desk: &mut Desk, job: Arc<Job>) {
    if desk.document.is_some() {
        return;
    }
    let bounds = |desk: &Desk| desk.shown.as_ref().map(|s| s.world.site.terrain.bounds());
    let before = bounds(desk);
    desk.job = Some(job);
    match desk.show() {
        Ok(()) if bounds(desk) != before => desk.wanted_view = Some(View::Oblique),
        Ok(()) => {}
        // The notes are read as a scene, and still it can't be built: as it was, then.
        Err(error) => desk.message = Some(shown(&error)),
    }
}

/// Writes the drop that is played to a file; one that is there is left alone.
fn export(desk: &mut Desk, workers: &Workers, path: &Path) {
    desk.question = None;
    let path =
        if path.extension().is_none() { path.with_extension("glb") } else { path.to_owned() };
    let (Some(job), Some(made)) = (&desk.job, desk.playing.drops.first()) else { return };
    if path.exists() {
        desk.message =
            Some(format!("{} is there already; allowed: the name of a new file", path.display()));
        return;
    }
    workers.errand(Errand::Export { job: job.clone(), made: made.clone(), path });
}

/// Puts a lesson's scene on the hillside, seen from the climber's eye, with nothing of its forecast.
fn lesson(desk: &mut Desk, workers: &Workers, job: Arc<Job>, ask: Ask) {
    workers.stop();
    let before = std::mem::replace(desk, Desk::new());
    let cut = job.scene.lesson.as_ref().map(|lesson| lesson.cut.as_str());
    *desk = Desk {
        screen: Screen::Lesson,
        look: before.look,
        cut: job.scene.cuts.iter().position(|c| Some(c.id.as_str()) == cut).unwrap_or_default(),
        lesson: Some(Taking {
            is_shown: false,
            mark: None,
            wants_mark: false,
            ends_m: vec![],
            before: before.lesson.map_or(before.ask, |lesson| lesson.before),
        }),
        ask,
        question: before.question,
        recent: before.recent,
        stamps: before.stamps,
        mail: before.mail,
        answer: Answer { order: before.answer.order + 1, ..Answer::default() },
        job: Some(job),
        wanted_view: Some(View::Climber),
        ..Desk::new()
    };
    desk.stamps.all();
    if let Err(error) = desk.show() {
        desk.message = Some(shown(&error));
    }
}

/// Opens a copy of a lesson's scene without a file: the lesson stays as it is.
fn try_out(desk: &mut Desk, workers: &Workers, path: &Path) {
    let folder = path.parent().map_or_else(PathBuf::new, Path::to_owned);
    match tumblewood::scene::read_text(path) {
        Ok(text) => {
            put_on_desk(desk, workers, Document::new(&text, &folder));
            (desk.tab, desk.is_trying) = (Tab::Change, true);
        }
        Err(error) => desk.message = Some(error.to_string()),
    }
}

fn put_on_desk(desk: &mut Desk, workers: &Workers, document: Document) {
    workers.stop();
    let mut before = std::mem::replace(desk, Desk::new());
    before.ask = before.lesson.take().map_or(before.ask, |lesson| lesson.before);
    *desk = Desk {
        screen: Screen::Hillside,
        look: before.look,
        ask: before.ask,
        question: before.question,
        recent: before.recent,
        stamps: before.stamps,
        mail: before.mail,
        answer: Answer { order: before.answer.order, ..Answer::default() },
        document: Some(document),
        ..Desk::new()
    };
    desk.stamps.all();
    if let Err(why) = take_scene(desk) {
        desk.trouble = Some(why);
    }
    desk.wanted_view = Some(View::Oblique);
    order(desk, workers);
}

/// Takes the document's scene as the one to be shown.
///
/// # Errors
///
/// The scene can't be read or built; what was shown stays, and with it the job it is of.
pub(crate) fn take_scene(desk: &mut Desk) -> Result<(), String> {
    let Some(document) = &desk.document else { return Ok(()) };
    let Some(scene) = document.scene() else {
        return Err(document.error_text().unwrap_or_default());
    };
    let scene = Scene::clone(scene);
    let job = match &desk.job {
        Some(job) => job.edited(scene),
        None => Job::load(scene),
    };
    let job = job.map_err(|error| shown(&error))?;
    // The cut that is looked at is followed by its id where others come and go, the target whose
    // drops are drawn too; one that is gone is no other.
    let cut = desk.cut_id().and_then(|id| job.scene.cuts.iter().position(|cut| cut.id == id));
    let target = desk.filter.target.and_then(|k| Some(target_ids(desk).nth(k)?.to_owned()));
    let before = (desk.job.take(), desk.cut);
    (desk.job, desk.cut) = (Some(Arc::new(job)), cut.unwrap_or(desk.cut));
    if let Err(error) = desk.show() {
        (desk.job, desk.cut) = before;
        return Err(shown(&error));
    }
    desk.filter.target = target.and_then(|id| target_ids(desk).position(|other| other == id));
    desk.trouble = None;
    Ok(())
}

/// The ids of what must not be touched, in the order in which it is counted.
fn target_ids(desk: &Desk) -> impl Iterator<Item = &str> {
    let targets = desk.shown.as_ref().map(|shown| &shown.world.targets[..]).unwrap_or_default();
    targets.iter().map(|target| target.id.as_str())
}

/// Asks for the forecast of what is on the desk.
pub(crate) fn order(desk: &mut Desk, workers: &Workers) {
    desk.answer.order += 1;
    desk.answer.progress = None;
    desk.answer.failed = None;
    // What is shown while the text can't be read is of a scene that is no more.
    let job = desk.job.as_ref().filter(|_| desk.trouble.is_none());
    let Some(job) = job.filter(|job| !job.scene.cuts.is_empty()) else {
        workers.stop();
        return;
    };
    let (number, ask) = (desk.answer.order, desk.ask.clone());
    workers.order(Order { number, job: job.clone(), ask, cut: desk.cut });
    want_felling(desk, workers);
}

/// Asks for the numbers of pull and hinge where they are looked at and not those of now.
fn want_felling(desk: &mut Desk, workers: &Workers) {
    let order = desk.answer.order;
    let Some(job) = desk.job.as_ref().filter(|job| !job.scene.cuts.is_empty()) else { return };
    if desk.tab != Tab::Pull || desk.trouble.is_some() || desk.felled.asked == Some(order) {
        return;
    }
    desk.felled.asked = Some(order);
    let question = felling::Question { cut: desk.cut, seed: desk.ask.seed, draws: felling::DRAWS };
    workers.fell(ToFell { order, job: job.clone(), question });
}

fn look_at(desk: &mut Desk, workers: &Workers, cut: usize) {
    let cuts = desk.job.as_ref().map_or(0, |job| job.scene.cuts.len());
    if cut >= cuts || cut == desk.cut {
        return;
    }
    desk.cut = cut;
    desk.playing = Playing { side_view: desk.playing.side_view, ..Playing::none() };
    desk.stamps.all();
    if let Err(error) = desk.show() {
        desk.message = Some(shown(&error));
    }
    order(desk, workers);
}

fn pick(desk: &mut Desk, workers: &Workers, thing: Option<Thing>) {
    if let (Some(thing), Some(job)) = (&thing, &desk.job) {
        // A line is seen where its piece is.
        let cut = match thing {
            Thing::Cut(id) => Some(id.as_str()),
            thing => things::line_of(&job.scene, thing).map(Line::cut),
        };
        let place = cut.and_then(|id| job.scene.cuts.iter().position(|cut| cut.id == id));
        if let Some(place) = place {
            look_at(desk, workers, place);
        }
    }
    if thing.is_some() {
        desk.tab = Tab::Change;
    }
    if desk.picked != thing {
        desk.picked = thing;
        desk.stamps.things += 1;
    }
}

fn next_reaching(desk: &mut Desk, workers: &Workers, by: i32) {
    let reaching = desk.reaching(false);
    let now = desk.playing.asked.first().copied();
    let place = |drop: u32| reaching.partition_point(|r| *r < drop);
    let next = match (now, by > 0) {
        (None, true) => reaching.first(),
        (None, false) => reaching.last(),
        (Some(drop), true) => reaching.get(place(drop + 1)).or(reaching.first()),
        (Some(drop), false) => {
            place(drop).checked_sub(1).and_then(|k| reaching.get(k)).or(reaching.last())
        }
    };
    if let Some(&next) = next {
        desk.play(&[next], false, workers);
    }
}

fn edit(desk: &mut Desk, workers: &Workers, change: Edit) {
    if desk.trouble.is_some() {
        // What is shown is not what the text says: an edit would be of another text.
        let words = "The scene can't be read as it is. Undo the last change, or mend the file.";
        desk.message = Some(words.to_owned());
        return;
    }
    let (Some(document), Some(job)) = (&mut desk.document, &desk.job) else { return };
    let (scene, frame, text) = (&job.scene, job.frame(), document.text());
    let named = |word: &str, thing: &Thing| format!("{word} {}", called(thing));
    // What belongs to a cut goes to the one that is looked at.
    let looked_at = job.scene.cuts.get(desk.cut).map(|cut| Thing::Cut(cut.id.clone()));
    let near = desk.picked.clone().or(looked_at);
    let (mut made, mut gone) = (None, false);
    let splices = match &change {
        Edit::Move(thing, by_m) => {
            let cut = Some(desk.cut);
            move_at_cut(scene, &frame, text, thing, *by_m, cut)
                .map(|splices| (named("move", thing), splices))
        }
        Edit::Turn(thing, angle_rad) => turn_by(scene, &frame, text, thing, *angle_rad)
            .map(|splices| (named("turn", thing), splices)),
        Edit::Field { field, typed, doubt } => set_field(text, field, typed, doubt)
            .map(|splice| (format!("change {}", field.label), vec![splice])),
        Edit::Add(kind, at_m) => add(scene, &frame, text, *kind, *at_m, near.as_ref()).map(|new| {
            let name = named("add", &new.1);
            made = Some(new.1);
            (name, vec![new.0])
        }),
        Edit::Copy(thing) => {
            let beside_m = glam::DVec2::new(COPY_BESIDE_M, 0.0);
            things::copy(scene, &frame, text, thing, beside_m).map(|new| {
                made = Some(new.1);
                (named("copy", thing), new.0)
            })
        }
        Edit::Remove(thing) => things::remove(scene, text, thing).map(|splices| {
            gone = true;
            (named("remove", thing), splices)
        }),
        Edit::Lesson(Some(lesson)) => set_lesson(scene, text, lesson)
            .map(|splice| ("make a lesson of it".to_owned(), vec![splice])),
        Edit::Lesson(None) => remove_lesson(text)
            .map(|splice| ("take the lesson out".to_owned(), splice.into_iter().collect())),
        Edit::Cell { cut, length_m, face_rad } => cell(scene, text, cut, *length_m, *face_rad)
            .map(|splice| (format!("take the compared length of {cut}"), vec![splice])),
    };
    let done = splices.map_err(|error| error.to_string()).and_then(|(name, splices)| {
        let before = document.text().to_owned();
        document.apply(&name, None, &splices).map_err(|error| error.to_string())?;
        Ok(document.text() != before)
    });
    match done {
        Err(why) => {
            desk.message = Some(why);
            return;
        }
        // Counts of a text that stays as it was are as good as before.
        Ok(is_new) => {
            if is_new && !adopt(desk, workers) {
                return;
            }
        }
    }
    if gone {
        desk.picked = None;
    }
    if let Edit::Cell { cut, .. } = &change
        && let Some(job) = &desk.job
        && let Some(place) = job.scene.cuts.iter().position(|other| other.id == *cut)
    {
        look_at(desk, workers, place);
    }
    if made.is_some() {
        desk.tool = Tool::Hand;
        pick(desk, workers, made);
    }
}

/// What a thing is called in a list of steps.
fn called(thing: &Thing) -> String {
    let id = things::id(thing).replace('_', " ");
    if matches!(thing, Thing::Anchor(_)) { format!("the far end of {id}") } else { id }
}

/// A cut at another length and face, as one splice.
fn cell(
    scene: &Scene,
    text: &str,
    cut: &str,
    length_m: f64,
    face_rad: f64,
) -> Result<Splice, EditError> {
    let thing = Thing::Cut(cut.to_owned());
    let own_rad = scene.cuts.iter().find(|other| other.id == cut).map(|c| c.release.toward_rad());
    let mut after = text.to_owned();
    let mut set = |ending: &str, typed: &str, kept: bool| -> Result<(), EditError> {
        let fields = fields(scene, &after, &thing);
        // Of a face and a direction of pushing a cut has one.
        let field = fields.iter().find(|field| {
            field.path.ends_with(ending)
                && (field.kind == FieldKind::PlainLength || field.kind == FieldKind::Azimuth)
        });
        let Some(field) = field else { return Ok(()) };
        // What is compared is not in doubt.
        let doubt = if kept { Doubt::Plain } else { Doubt::Exactly };
        let splice = set_field(&after, field, typed, &doubt)?;
        after = splice::apply(&after, &[splice])?;
        Ok(())
    };
    set("piece.length", &length_text(length_m, scene.units), true)?;
    if own_rad.is_some_and(|own| (own.told - face_rad).abs() > 1e-9) {
        let azimuth = azimuth_text(face_rad, 10.0);
        set("release.face", &azimuth, false)?;
        set("release.toward", &azimuth, false)?;
    }
    Ok(Splice::between(text, &after))
}

/// Shows and forecasts the scene after an edit; one that can't be built is taken back.
fn adopt(desk: &mut Desk, workers: &Workers) -> bool {
    let done = take_scene(desk);
    match done {
        Ok(()) => {
            // Drops that are played belong to the scene as it was.
            put_played_away(desk);
            order(desk, workers);
            true
        }
        Err(why) => {
            if let Some(document) = &mut desk.document {
                document.take_back();
            }
            desk.message = Some(why);
            false
        }
    }
}

fn put_played_away(desk: &mut Desk) {
    desk.playing = Playing { side_view: desk.playing.side_view, ..Playing::none() };
    desk.stamps.playing += 1;
}

/// A step back or forth in the history.
fn step(desk: &mut Desk, workers: &Workers, take: fn(&mut Document) -> Option<String>) {
    let stepped = desk.document.as_mut().is_some_and(|document| take(document).is_some());
    if stepped {
        changed(desk, workers);
    }
}

/// Shows what the document holds now, or says why it can't be shown.
fn changed(desk: &mut Desk, workers: &Workers) {
    match take_scene(desk) {
        Ok(()) => {
            put_played_away(desk);
            let things = desk.job.as_ref().map(|job| things::all(&job.scene)).unwrap_or_default();
            desk.picked = desk.picked.take().filter(|thing| things.contains(thing));
            order(desk, workers);
        }
        Err(why) => {
            desk.trouble = Some(why);
            put_played_away(desk);
            // The counts are of the scene before.
            desk.answer.order += 1;
            desk.answer.progress = None;
            workers.stop();
        }
    }
}
