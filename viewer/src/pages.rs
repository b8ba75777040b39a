//! The pages beside the hillside: which is there, what it is told, and what it wishes for.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use bevy_egui::egui::{Context, Rect};
use tumblewood::{forecast::Progress, job::Job};

use crate::{
    camera::View,
    compare_page::{CompareMessage, ComparePage, compare_page},
    desk::{Desk, Leaving, Look, Question, Screen, Tab},
    ground_page::{GroundMessage, GroundPage, ground_page},
    lesson_page::{LessonMessage, LessonPage, Mark, lesson_page},
    notes::{NotesMessage, NotesPage, notes_page},
    panel::PANEL_WIDTH,
    practice_page::{PracticeMessage, PracticePage, practice_page},
    screens::sheet,
    start_page::{StartMessage, StartPage, scene_folders, start_page},
    task::Done,
    teach_page::{TeachMessage, TeachPage, teach_page},
    wish::{Edit, Same, Wish},
    worker::ToPage,
};

/// Windows at least this wide show the bank of notes beside them, points.
const BESIDE: f32 = 1120.0;

/// Large letters, for a room.
const LARGE: f32 = 1.5;

/// The pages that are there.
#[derive(Default)]
pub(crate) struct Pages {
    start: Option<StartPage>,
    /// A card's picture is under way: one at a time, or they keep a replay waiting.
    drawing: bool,
    notes: Option<NotesPage>,
    /// The notes' scene that the hillside was last told to show.
    sketched: Option<Arc<Job>>,
    /// The file that the notes were last saved to, and what it holds.
    saved: Option<(PathBuf, String)>,
    compare: Option<ComparePage>,
    pub(crate) ground: Option<GroundPage>,
    teach: Option<TeachPage>,
    practice: Option<PracticePage>,
    /// The one lesson of the list is to be taken.
    take_at_once: bool,
    pub(crate) lesson: Option<LessonPage>,
    /// What the lesson's messages are, found while news came.
    pub(crate) from_lesson: Vec<LessonMessage>,
    /// The mark that the hillside was last told of.
    mark: Option<(Option<Mark>, bool)>,
    /// Tasks asked for so far.
    tasks: u64,
}

/// The part of the window that the page of notes leaves to the hillside, as a share of its width.
pub(crate) fn beside_notes(width: f32) -> f32 {
    if width >= BESIDE { 0.46 } else { 0.0 }
}

impl Pages {
    /// Takes what threads have told.
    pub(crate) fn hear(&mut self, context: &Context, news: ToPage) {
        match news {
            ToPage::Card { path, drawn } => {
                self.drawing = false;
                if let Some(page) = &mut self.start {
                    page.take(context, &path, drawn);
                }
            }
            ToPage::Working { number, progress } if number == self.tasks => {
                if let Some(page) = self.compare.as_mut().filter(|page| page.running.is_some()) {
                    page.running = Some(progress);
                }
                if let Some(page) = &mut self.ground {
                    page.work(progress);
                }
                if let Some(page) = &mut self.lesson {
                    page.work(progress);
                }
                if let Some(page) = self.teach.as_mut().filter(|page| page.running.is_some()) {
                    page.running = Some(progress);
                }
            }
            ToPage::Done { number, done } if number == self.tasks => self.take(context, done),
            ToPage::Working { .. } | ToPage::Done { .. } => {}
            ToPage::Practice(path) => {
                self.practise(&path);
            }
            ToPage::Marked(at_m) => {
                if let Some(page) = &mut self.lesson {
                    page.marked(at_m);
                }
            }
            ToPage::Ground { path, at } => {
                let page = self.ground.get_or_insert_with(GroundPage::here);
                page.open(path);
                page.at_once = at;
            }
        }
    }

    /// Gives the page that waits what came of its task.
    fn take(&mut self, context: &Context, done: Result<Done, String>) {
        let done = match (done, &mut self.lesson) {
            (Ok(Done::Revealed(revealed)), Some(page)) => {
                if let Some(list) = &mut self.practice {
                    list.look_again();
                }
                return page.take(Ok(*revealed), &mut self.from_lesson);
            }
            (Err(why), Some(page)) if page.running.is_some() => {
                return page.take(Err(why), &mut self.from_lesson);
            }
            (done, _) => done,
        };
        let done = match (done, &mut self.teach) {
            (Ok(Done::Claimed(claims)), Some(page)) => return page.take(Ok(claims)),
            (Err(why), Some(page)) if page.running.is_some() => return page.take(Err(why)),
            (done, _) => done,
        };
        match (done, &mut self.compare, &mut self.ground) {
            (Ok(Done::Compared(compared)), Some(page), _) => page.take(Ok(*compared)),
            (Ok(Done::Grounded(grounded)), _, Some(page)) => page.take(context, Ok(grounded)),
            (Err(why), Some(page), _) if page.running.is_some() => page.take(Err(why)),
            (Err(why), _, Some(page)) => page.take(context, Err(why)),
            // Its page was left.
            (Ok(_) | Err(_), ..) => {}
        }
    }

    /// Draws the page of the screen that the desk is at, if it is one.
    pub(crate) fn draw(&mut self, context: &Context, desk: &Desk, wishes: &mut Vec<Wish>) {
        // What belongs to a scene goes with it, and scenes come and go while one looks at another.
        match desk.screen {
            Screen::Start | Screen::Notes | Screen::Ground | Screen::Practice | Screen::Lesson => {
                (self.compare, self.teach) = (None, None);
            }
            Screen::Hillside | Screen::Compare | Screen::Teach => {
                (self.start, self.sketched, self.ground) = (None, None, None);
            }
        }
        if matches!(desk.screen, Screen::Start | Screen::Practice) {
            self.lesson = None;
        }
        let whole = context.viewport_rect();
        match desk.screen {
            Screen::Start => self.start(context, desk, whole, wishes),
            Screen::Notes => {
                let mut left = whole;
                left.set_width(whole.width() * (1.0 - beside_notes(whole.width())));
                self.notes(context, left, wishes);
            }
            Screen::Ground => self.ground(context, whole, wishes),
            Screen::Practice => self.practice(context, desk, whole, wishes),
            Screen::Lesson => {
                let mut right = whole;
                right.min.x = right.max.x - PANEL_WIDTH;
                self.lesson(context, desk, right, wishes);
            }
            Screen::Compare => self.compare(context, desk, whole, wishes),
            Screen::Teach => self.teach(context, desk, whole, wishes),
            Screen::Hillside => {}
        }
    }

    fn start(&mut self, context: &Context, desk: &Desk, place: Rect, wishes: &mut Vec<Wish>) {
        let page = self.start.get_or_insert_with(|| StartPage::here(desk.recent.as_deref()));
        page.said.clone_from(&desk.said);
        if !self.drawing
            && let Some(path) = page.waiting().next()
        {
            self.drawing = true;
            wishes.push(Wish::Card(path.to_owned()));
        }
        let mut messages = Vec::new();
        sheet(context, "start", place, |ui| messages = start_page(ui, page));
        wishes.extend(messages.into_iter().map(|message| match message {
            StartMessage::Open(path) => Wish::Leave(Leaving::Open(path)),
            StartMessage::FromNotes => Wish::Go(Screen::Notes),
            StartMessage::FromGround => Wish::Go(Screen::Ground),
            StartMessage::Practice => Wish::Go(Screen::Practice),
        }));
    }

    fn notes(&mut self, context: &Context, place: Rect, wishes: &mut Vec<Wish>) {
        let page = self.notes.get_or_insert_with(NotesPage::default);
        let mut messages = Vec::new();
        sheet(context, "notes", place, |ui| messages = notes_page(ui, page));
        if let Some(job) = &page.judged.job
            && self.sketched.as_ref().is_none_or(|before| !Arc::ptr_eq(before, job))
        {
            self.sketched = Some(job.clone());
            wishes.push(Wish::Sketch(Same(job.clone())));
        }
        for message in messages {
            match message {
                NotesMessage::Back => {
                    (self.notes, self.saved) = (None, None);
                    wishes.push(Wish::Leave(Leaving::Start));
                    return;
                }
                NotesMessage::Show { text, .. } => wishes.push(match &self.saved {
                    // What is in a file already is opened there.
                    Some((path, kept)) if *kept == text => Wish::Leave(Leaving::Open(path.clone())),
                    _ => Wish::Begin(text),
                }),
                NotesMessage::Save { path, text } => {
                    let page = self.notes.get_or_insert_with(NotesPage::default);
                    page.said = Some(match save(&path, &text, self.saved.as_ref()) {
                        Ok(path) => {
                            let said = format!("Saved to {}.", path.display());
                            self.saved = Some((path, text));
                            said
                        }
                        Err(why) => format!("Not saved: {why}"),
                    });
                }
            }
        }
    }

    fn ground(&mut self, context: &Context, place: Rect, wishes: &mut Vec<Wish>) {
        let page = self.ground.get_or_insert_with(GroundPage::here);
        let mut messages = Vec::new();
        sheet(context, "ground", place, |ui| messages = ground_page(ui, page));
        for message in messages {
            match message {
                GroundMessage::Back => {
                    self.ground = None;
                    wishes.extend([Wish::StopTask, Wish::Leave(Leaving::Start)]);
                    return;
                }
                GroundMessage::Ask(ask) => {
                    self.tasks += 1;
                    wishes.push(Wish::Ground { number: self.tasks, ask: Box::new(ask) });
                }
                GroundMessage::Cancel => wishes.push(Wish::StopTask),
                // What is there can be changed at once.
                GroundMessage::Open(scene) => {
                    wishes.extend([Wish::Leave(Leaving::Open(scene)), Wish::Tab(Tab::Change)]);
                }
            }
        }
    }

    fn practice(&mut self, context: &Context, desk: &Desk, place: Rect, wishes: &mut Vec<Wish>) {
        let page = self.practice.get_or_insert_with(|| PracticePage::here(&scene_folders()));
        let mut messages = Vec::new();
        if std::mem::take(&mut self.take_at_once) {
            messages.push(PracticeMessage::Lesson(0));
        }
        sheet(context, "practice", place, |ui| messages.extend(practice_page(ui, page)));
        for message in messages {
            match message {
                PracticeMessage::Back => wishes.push(Wish::Leave(Leaving::Start)),
                PracticeMessage::Lesson(i) => self.open_lesson(i, desk, wishes),
            }
        }
    }

    /// Opens a lesson of the list, or says there why it can't be.
    fn open_lesson(&mut self, i: usize, desk: &Desk, wishes: &mut Vec<Wish>) {
        let Some(list) = &mut self.practice else { return };
        let Some(listed) = list.lessons.get(i) else { return };
        let place = [i, list.lessons.len()];
        let opened =
            LessonPage::open(listed.path.clone(), &list.course, place, list.record.clone());
        match opened {
            Ok(mut page) => {
                page.large = desk.look.text_scale > 1.0;
                wishes.push(show(&page));
                (self.lesson, self.mark) = (Some(page), None);
                self.from_lesson.clear();
            }
            Err(why) => {
                list.said = Some(why);
                wishes.push(Wish::Leave(Leaving::Practice));
            }
        }
    }

    fn lesson(&mut self, context: &Context, desk: &Desk, place: Rect, wishes: &mut Vec<Wish>) {
        let Some(page) = &mut self.lesson else {
            wishes.push(Wish::Leave(Leaving::Practice));
            return;
        };
        if desk.lesson.is_none() {
            // Come back from trying something.
            wishes.push(show(page));
            self.mark = None;
            self.from_lesson.extend(page.again());
        }
        let mut messages = std::mem::take(&mut self.from_lesson);
        sheet(context, "lesson", place, |ui| messages.extend(lesson_page(ui, page)));
        let mark = (page.mark(), page.wants_mark());
        if desk.lesson.is_some() && self.mark != Some(mark) {
            self.mark = Some(mark);
            wishes.push(Wish::Mark(mark.0, mark.1));
        }
        let (path, [i, _]) = (page.path.clone(), page.place);
        for message in messages {
            match message {
                LessonMessage::Back => {
                    wishes.extend([Wish::StopTask, Wish::Leave(Leaving::Practice)]);
                }
                LessonMessage::Scores => {
                    if let Some(list) = &mut self.practice {
                        list.scores = true;
                    }
                    wishes.push(Wish::Leave(Leaving::Practice));
                }
                LessonMessage::Large(large) => {
                    page.large = large;
                    let text_scale = if large { LARGE } else { 1.0 };
                    wishes.push(Wish::Look(Look { text_scale, ..desk.look }));
                }
                LessonMessage::Reveal(ask) => {
                    self.tasks += 1;
                    wishes.push(Wish::Reveal { number: self.tasks, ask });
                }
                LessonMessage::Cancel => wishes.push(Wish::StopTask),
                LessonMessage::Ends(ends_m) => {
                    wishes.extend([Wish::Ends(ends_m), Wish::View(View::Oblique)]);
                }
                LessonMessage::Play(drop) => {
                    wishes.extend([Wish::StopPlaying, Wish::Play { drop, with_others: false }]);
                }
                LessonMessage::Many(renewed) => {
                    wishes.extend([Wish::StopPlaying, Wish::Many(renewed)]);
                }
                LessonMessage::Try => wishes.push(Wish::Try(path.clone())),
                LessonMessage::Next => {
                    self.open_lesson(i + 1, desk, wishes);
                    return;
                }
            }
        }
    }

    fn compare(&mut self, context: &Context, desk: &Desk, place: Rect, wishes: &mut Vec<Wish>) {
        let Some(job) = &desk.job else {
            wishes.push(Wish::Go(Screen::Hillside));
            return;
        };
        let page = self.compare.get_or_insert_with(|| {
            let mut page = ComparePage::of(job);
            page.typed.cut = desk.cut;
            page
        });
        page.outdated = page
            .compared
            .as_ref()
            .is_some_and(|compared| compared.stamp.scene_hash != job.scene.hash);
        let mut messages = Vec::new();
        sheet(context, "compare", place, |ui| messages = compare_page(ui, page, job));
        for message in messages {
            match message {
                CompareMessage::Back => wishes.push(Wish::Go(Screen::Hillside)),
                CompareMessage::Run(ask) => {
                    // A newer task stops the older.
                    if let Some(page) = &mut self.teach {
                        page.running = None;
                    }
                    self.tasks += 1;
                    page.said = None;
                    page.running = Some(Progress { done: 0, total: 0, reached: 0 });
                    let number = self.tasks;
                    wishes.push(Wish::Compare { number, ask: Box::new(ask) });
                }
                CompareMessage::Cancel => wishes.push(Wish::StopTask),
                CompareMessage::ShowCell { length_m, face_rad } => {
                    let Some(compared) = &page.compared else { continue };
                    let cut = compared.comparison.cut.clone();
                    wishes.push(Wish::Go(Screen::Hillside));
                    wishes.push(Wish::Edit(Edit::Cell { cut, length_m, face_rad }));
                }
            }
        }
    }
}

impl Pages {
    fn teach(&mut self, context: &Context, desk: &Desk, place: Rect, wishes: &mut Vec<Wish>) {
        let (Some(job), Some(document)) = (&desk.job, &desk.document) else {
            wishes.push(Wish::Go(Screen::Hillside));
            return;
        };
        let home = std::env::var_os("HOME").map(PathBuf::from);
        let page = self
            .teach
            .get_or_insert_with(|| TeachPage::of(job, document.text(), desk.cut, home.as_deref()));
        if !page.is_of(job) {
            page.renew(job, document.text());
        }
        let file = document.path().filter(|_| !document.is_dirty());
        let mut messages = Vec::new();
        sheet(context, "teach", place, |ui| messages = teach_page(ui, page, file));
        let mut taken = None;
        wishes.extend(messages.into_iter().map(|message| match message {
            TeachMessage::Back => Wish::Go(Screen::Hillside),
            TeachMessage::Measure => {
                // A newer task stops the older.
                if let Some(page) = &mut self.compare {
                    page.running = None;
                }
                self.tasks += 1;
                Wish::Claims { number: self.tasks }
            }
            TeachMessage::Cancel => Wish::StopTask,
            TeachMessage::Put(lesson) => Wish::Edit(Edit::Lesson(Some(lesson))),
            TeachMessage::Remove => Wish::Edit(Edit::Lesson(None)),
            TeachMessage::SaveAs => {
                let named = document.path().map(|path| path.display().to_string());
                Wish::Ask(Question::SaveAs(named.unwrap_or_default()))
            }
            TeachMessage::Take(path) => {
                taken = Some(path);
                Wish::Leave(Leaving::Practice)
            }
        }));
        if let Some(path) = taken {
            self.practise(&path);
        }
    }

    /// Opens a course, or a lesson that is taken at once.
    fn practise(&mut self, path: &Path) {
        let page = self.practice.get_or_insert_with(|| PracticePage::here(&[]));
        page.open(path);
        self.take_at_once = page.course.is_empty() && page.said.is_none();
    }
}

/// Puts a lesson on the hillside.
fn show(page: &LessonPage) -> Wish {
    Wish::Lesson(Same(page.job.clone()), Box::new(page.drops.clone()))
}

/// Writes notes to a file, over one only that they were saved to before; where to.
fn save(path: &str, text: &str, before: Option<&(PathBuf, String)>) -> Result<PathBuf, String> {
    if path.is_empty() {
        return Err("the file: read no name; allowed: the name of a new file".to_owned());
    }
    let path = Path::new(path);
    let path =
        if path.extension().is_none() { path.with_extension("ron") } else { path.to_owned() };
    let ours = before.is_some_and(|(before, _)| *before == path);
    if path.exists() && !ours {
        return Err(format!(
            "{} is there already; allowed: the name of a new file",
            path.display()
        ));
    }
    tumblewood::scene::write(&path, text.as_bytes(), ours).map_err(|error| error.to_string())?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_notes_are_saved_over_their_own_file_alone() {
        let folder = tempfile::tempdir().unwrap();
        let name = folder.path().join("bank");
        let name = name.to_str().unwrap();
        let path = save(name, "one", None).unwrap();
        assert_eq!(path, folder.path().join("bank.ron"));
        assert!(save(name, "two", None).unwrap_err().contains("is there already"));
        let kept = (path.clone(), "one".to_owned());
        assert_eq!(save(name, "two", Some(&kept)), Ok(path.clone()));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "two");
        assert!(save("", "two", None).is_err());
        assert!(save(&format!("{name}/no/bank.ron"), "two", None).is_err());
    }
}
