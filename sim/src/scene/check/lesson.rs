//! A lesson: what it asks must be what its scene can answer.

use super::{
    super::{case::changed, error::Wrong, model::*},
    Checks, ID_MAX,
};

/// Most drops, grounds, questions, cases and things hidden of one lesson.
const DROPS_MAX: u32 = 10_000;
const GROUNDS_MAX: u32 = 100;
const MANY: usize = 20;

impl Checks {
    pub(super) fn lesson(&mut self, scene: &Scene) {
        let Some(lesson) = &scene.lesson else { return };
        for (field, text) in
            [("title", &lesson.title), ("about", &lesson.about), ("situation", &lesson.situation)]
        {
            self.words(&format!("lesson.{field}"), text);
        }
        self.words("lesson.why", &lesson.why);
        for (field, n, [least, most]) in [
            ("drops", lesson.drops, [10, DROPS_MAX]),
            ("grounds", lesson.grounds, [0, GROUNDS_MAX]),
        ] {
            if !(least..=most).contains(&n) {
                let path = format!("lesson.{field}");
                self.wrong(&path, format!("{n} {field}"), format!("{least} to {most}"));
            }
        }
        self.many("lesson.questions", lesson.questions.len(), 1);
        self.many("lesson.cases", lesson.cases.len().saturating_sub(1), 0);
        self.many("lesson.hidden", lesson.hidden.len(), 0);
        self.own_ids("cases", lesson.cases.iter().skip(1).map(|case| &case.id), &[AS_IT_STANDS]);
        self.own_ids("questions", lesson.questions.iter().map(|q| &q.id), &[]);
        self.own_ids("hidden", lesson.hidden.iter().map(|h| &h.id), &[]);
        for (i, hidden) in lesson.hidden.iter().enumerate() {
            self.words(&format!("lesson.hidden[{i}].what"), &hidden.what);
            self.words(&format!("lesson.hidden[{i}].by"), &hidden.by);
        }
        for (i, case) in lesson.cases.iter().enumerate().skip(1) {
            self.words(&format!("lesson.cases[{}].label", i - 1), &case.label);
        }
        // What follows asks the scenes of the cases, which must be right first.
        let Some(cases) = self.cases(scene, lesson) else { return };
        for (i, question) in lesson.questions.iter().enumerate() {
            let path = format!("lesson.questions[{i}]");
            self.words(&format!("{path}.ask"), &question.ask);
            self.asked(&format!("{path}.answer"), question, lesson, &cases);
        }
        for (i, claim) in lesson.claims.iter().enumerate() {
            self.claim(&format!("lesson.claims[{i}]"), claim, lesson, &cases);
        }
        for (field, text) in [("why", &lesson.why), ("try_next", &lesson.try_next)] {
            self.placeholders(&format!("lesson.{field}"), text, lesson, &cases);
        }
    }

    fn words(&mut self, path: &str, text: &str) {
        if text.is_empty() || text.chars().any(|c| c.is_control() && c != '\n') {
            self.wrong(path, "no words", "one or more printable characters");
        }
    }

    fn many(&mut self, path: &str, n: usize, least: usize) {
        if !(least..=MANY).contains(&n) {
            self.wrong(path, format!("{n} of them"), format!("{least} to {MANY}"));
        }
    }

    /// Ids of one list of the lesson.
    fn own_ids<'a>(&mut self, list: &str, ids: impl Iterator<Item = &'a String>, taken: &[&str]) {
        let mut seen: Vec<&str> = taken.to_vec();
        for (i, id) in ids.enumerate() {
            let path = format!("lesson.{list}[{i}].id");
            let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
            if id.is_empty() || id.len() > ID_MAX || !id.chars().all(plain) {
                self.wrong(&path, "no id", "1 to 40 letters, digits, - or _");
            } else if seen.contains(&id.as_str()) {
                self.wrong(&path, "an id that is taken", "an id of its own for each of them");
            }
            seen.push(id);
        }
    }

    /// The scenes of the cases, if all are right.
    fn cases(&mut self, scene: &Scene, lesson: &LessonSpec) -> Option<Vec<Scene>> {
        let cut = lesson.cut.as_str();
        let mut scenes = Vec::new();
        for (i, case) in lesson.cases.iter().enumerate() {
            let path = format!("lesson.cases[{}]", i.saturating_sub(1));
            if i > 0 && case.set.is_empty() {
                self.wrong(
                    &format!("{path}.set"),
                    "a case that changes nothing",
                    "one or more fields",
                );
                continue;
            }
            match changed(scene, case) {
                Ok(scene) if scene.cuts.iter().any(|c| c.id == cut) => {
                    scenes.push(scene);
                }
                Ok(_) => self.wrong(
                    &path,
                    "a case without the lesson's cut",
                    format!("a cut with the id {:?}", cut),
                ),
                Err(wrong) => {
                    let at =
                        if wrong.path.is_empty() { path } else { format!("{path}.{}", wrong.path) };
                    self.wrongs.push(Wrong { path: at, ..wrong });
                }
            }
        }
        (scenes.len() == lesson.cases.len()).then_some(scenes)
    }

    fn asked(&mut self, path: &str, question: &QuestionSpec, lesson: &LessonSpec, cases: &[Scene]) {
        let Some(scene) = cases.get(question.of) else { return };
        match &question.asked {
            Asked::Chance(event) => self.event(path, event, lesson, scene),
            Asked::Fewest { event, among } => {
                let again =
                    among.iter().enumerate().any(|(i, a)| among.iter().take(i).any(|b| a == b));
                if among.len() < 2 || again {
                    let what = "nothing to choose among";
                    self.wrong(&format!("{path}.among"), what, "two or more cases, each once");
                }
                for scene in among.iter().filter_map(|case| cases.get(*case)) {
                    self.event(&format!("{path}.event"), event, lesson, scene);
                }
            }
            Asked::Pull(line) => self.asked_line(path, line, lesson, scene),
            Asked::LetsGoAt => self.hinged(path, lesson, scene),
            Asked::Mode
            | Asked::FirstEnd
            | Asked::HowItLies
            | Asked::FirstTouch
            | Asked::Rest
            | Asked::HowFar => {}
        }
    }

    fn claim(&mut self, path: &str, claim: &ClaimSpec, lesson: &LessonSpec, cases: &[Scene]) {
        let scenes = claim.cases().map(|case| cases.get(case));
        let (low, high) = match claim {
            ClaimSpec::Share { event, low, high, .. } => {
                if !(0.0..=100.0).contains(low) || !(0.0..=100.0).contains(high) {
                    self.wrong(path, "no share", "low and high from 0 to 100, in 100 drops");
                }
                for scene in scenes.into_iter().flatten().take(1) {
                    self.event(&format!("{path}.event"), event, lesson, scene);
                }
                (*low, *high)
            }
            ClaimSpec::Fewer { event, of, than } => {
                if of == than {
                    self.wrong(&format!("{path}.than"), "the same case", "another case");
                }
                for scene in scenes.into_iter().flatten() {
                    self.event(&format!("{path}.event"), event, lesson, scene);
                }
                return;
            }
            ClaimSpec::HowFar { low_m, high_m, .. } => (*low_m, *high_m),
            ClaimSpec::LetsGoAt { low_rad, high_rad, .. } => {
                for scene in scenes.into_iter().flatten().take(1) {
                    self.hinged(path, lesson, scene);
                }
                (*low_rad, *high_rad)
            }
            ClaimSpec::Pull { line, low_n, high_n, .. } => {
                for scene in scenes.into_iter().flatten().take(1) {
                    self.asked_line(&format!("{path}.line"), line, lesson, scene);
                }
                (*low_n, *high_n)
            }
        };
        if low.is_nan() || high.is_nan() || low >= high {
            self.wrong(path, "limits that run backwards", "low less than high");
        }
    }

    /// Something that can happen in this scene.
    fn event(&mut self, path: &str, event: &Event, lesson: &LessonSpec, scene: &Scene) {
        let Some(index) = cut_of(lesson, scene) else { return };
        match event {
            Event::Reaches(id) => {
                let by_cutter: &[&str] = match scene.cuts.get(index).map(|cut| cut.cutter) {
                    Some(Cutter::OnTheGround) => &["feller"],
                    _ => &["climber", "climber_line"],
                };
                let mut ids: Vec<&str> = scene.targets.iter().map(|t| t.id.as_str()).collect();
                ids.extend(by_cutter);
                self.among(path, "target", id, &ids);
            }
            Event::SetsGoing(id) => {
                let logs =
                    scene.aids.iter().filter(|a| matches!(a.kind, AidKind::BarrierLog { .. }));
                let mut ids: Vec<&str> = logs.map(|aid| aid.id.as_str()).collect();
                let left = scene.left_before(index).filter_map(|cut| scene.cuts.get(cut));
                ids.extend(left.map(|cut| cut.id.as_str()));
                self.among(
                    path,
                    "barrier log, or piece of an earlier cut left where it stops,",
                    id,
                    &ids,
                );
            }
            Event::LineOver(id) => {
                let cut = scene.cuts.get(index).map_or("", |cut| cut.id.as_str());
                let tied = scene.lines.iter().filter(|l| l.pull().is_none() && l.cut() == cut);
                let ids: Vec<&str> = tied.map(Line::id).collect();
                self.among(path, "line that holds this piece in its drop", id, &ids);
            }
            Event::HingeHolds => self.hinged(path, lesson, scene),
            _ => {}
        }
    }

    fn among(&mut self, path: &str, what: &str, id: &str, ids: &[&str]) {
        if !ids.contains(&id) {
            let allowed =
                if ids.is_empty() { "the scene has none".to_owned() } else { ids.join(", ") };
            self.wrong(path, format!("no {what} {id:?} in the scene"), allowed);
        }
    }

    fn asked_line(&mut self, path: &str, line: &str, lesson: &LessonSpec, scene: &Scene) {
        let cut = lesson.cut.as_str();
        let on = scene.lines.iter().filter(|l| l.pull().is_some() && l.cut() == cut);
        let ids: Vec<&str> = on.map(Line::id).collect();
        self.among(path, "pull line on this cut", line, &ids);
    }

    fn hinged(&mut self, path: &str, lesson: &LessonSpec, scene: &Scene) {
        let cut = cut_of(lesson, scene).and_then(|cut| scene.cuts.get(cut));
        let has_hinge = cut.is_some_and(|cut| {
            matches!(cut.release, ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. })
        });
        if !has_hinge {
            let what = "a question about a hinge where the cut has none";
            self.wrong(path, what, "a cut released by Hinge or BoredHinge");
        }
    }

    /// Every placeholder names a fact that there is.
    fn placeholders(&mut self, path: &str, text: &str, lesson: &LessonSpec, cases: &[Scene]) {
        for Placeholder { case, fact } in words_of(text).into_iter().filter_map(Result::err) {
            let index = case.map_or(Some(0), |id| lesson.cases.iter().position(|c| c.id == id));
            let Some(scene) = index.and_then(|index| cases.get(index)) else {
                let ids: Vec<&str> = lesson.cases.iter().map(|case| case.id.as_str()).collect();
                let what = format!("no case {:?} for {fact:?}", case.unwrap_or_default());
                self.wrong(path, what, ids.join(", "));
                continue;
            };
            if let Some(line) = fact.strip_prefix("pull:") {
                self.asked_line(path, line, lesson, scene);
            } else if let Some(event) = Event::of_word(fact) {
                self.event(path, &event, lesson, scene);
            } else if FACTS.iter().all(|(name, _)| *name != fact) {
                let names: Vec<&str> = FACTS.iter().map(|(name, _)| *name).collect();
                let what = format!("no fact {fact:?} of a forecast");
                self.wrong(
                    path,
                    what,
                    format!("{}, an event's word, or reaches:ID", names.join(", ")),
                );
            }
        }
    }
}

/// The lesson's cut in the scene of a case.
fn cut_of(lesson: &LessonSpec, scene: &Scene) -> Option<usize> {
    scene.cuts.iter().position(|cut| cut.id == lesson.cut)
}
