//! The pages beside the hillside: which is there, what it is told, and what it wishes for.

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use bevy_egui::egui::{Context, Rect};
use tumblewood::{forecast::Progress, job::Job};

use crate::{
    compare_page::{CompareMessage, ComparePage, compare_page},
    desk::{Desk, Leaving, Question, Screen, Tab},
    ground_page::{GroundMessage, GroundPage, ground_page},
    notes::{NotesMessage, NotesPage, notes_page},
    screens::sheet,
    start_page::{StartMessage, StartPage, start_page},
    task::Done,
    teach_page::{TeachMessage, TeachPage, teach_page},
    wish::{Edit, Sketched, Wish},
    worker::ToPage,
};

/// Windows at least this wide show the bank of notes beside them, points.
const BESIDE: f32 = 1120.0;

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
            }
            ToPage::Done { number, done } if number == self.tasks => self.take(context, done),
            ToPage::Working { .. } | ToPage::Done { .. } => {}
            ToPage::Ground { path, at } => {
                let page = self.ground.get_or_insert_with(GroundPage::here);
                page.open(path);
                page.at_once = at;
            }
        }
    }

    /// Gives the page that waits what came of its task.
    fn take(&mut self, context: &Context, done: Result<Done, String>) {
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
            Screen::Start | Screen::Notes | Screen::Ground => {
                (self.compare, self.teach) = (None, None);
            }
            Screen::Hillside | Screen::Compare | Screen::Teach => {
                (self.start, self.sketched, self.ground) = (None, None, None);
            }
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
            wishes.push(Wish::Sketch(Sketched(job.clone())));
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
        wishes.extend(messages.into_iter().map(|message| match message {
            TeachMessage::Back => Wish::Go(Screen::Hillside),
            TeachMessage::Put(lesson) => Wish::Edit(Edit::Lesson(Some(lesson))),
            TeachMessage::Remove => Wish::Edit(Edit::Lesson(None)),
            TeachMessage::SaveAs => {
                let named = document.path().map(|path| path.display().to_string());
                Wish::Ask(Question::SaveAs(named.unwrap_or_default()))
            }
        }));
    }
}

/// Writes notes to a file, over one only that they were saved to before; where to.
fn save(path: &str, text: &str, before: Option<&(PathBuf, String)>) -> Result<PathBuf, String> {
    if path.is_empty() {
        return Err("the file needs a name".to_owned());
    }
    let path = Path::new(path);
    let path =
        if path.extension().is_none() { path.with_extension("ron") } else { path.to_owned() };
    let ours = before.is_some_and(|(before, _)| *before == path);
    if path.exists() && !ours {
        return Err(format!("{} is there already: another name, please", path.display()));
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
