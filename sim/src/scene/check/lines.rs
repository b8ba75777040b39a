//! Lines made fast to pieces.

use super::{
    super::{
        model::*,
        places::{MapFrame, place_m},
    },
    Checks,
};

impl Checks {
    pub(super) fn lines(&mut self, scene: &Scene) {
        for (i, line) in scene.lines.iter().enumerate() {
            let path = format!("lines[{i}]");
            if line.rope().0.is_empty() {
                self.wrong(&format!("{path}.rope"), "no name", "the rope's name");
            }
            let Some(cut) = self.its_cut(scene, &path, line.cut()) else { continue };
            match line {
                Line::Pull(line) => self.pull_line(scene, &path, line, cut),
                Line::Tied(line) => self.tied_line(scene, &path, line, cut),
            }
        }
    }

    /// Index of the cut whose piece a line is on.
    fn its_cut(&mut self, scene: &Scene, path: &str, id: &str) -> Option<usize> {
        let index = scene.cuts.iter().position(|cut| cut.id == id);
        if index.is_none() {
            let ids: Vec<&str> = scene.cuts.iter().map(|cut| cut.id.as_str()).collect();
            let allowed = if ids.is_empty() {
                "a cut of the scene, which has none".to_owned()
            } else {
                format!("a cut of the scene: {}", ids.join(", "))
            };
            self.wrong(&format!("{path}.cut"), "no such cut", allowed);
        }
        index
    }

    fn pull_line(&mut self, scene: &Scene, path: &str, line: &PullLine, cut: usize) {
        self.pulled(scene, path, line, cut);
        let stump = Place::AtStation(Station::Stump);
        let mut from = &stump;
        for (j, redirect) in line.redirects.iter().enumerate() {
            let at = format!("{path}.redirects[{j}].at");
            self.leg(scene, &at, from, &redirect.at);
            from = &redirect.at;
        }
        self.leg(scene, &format!("{path}.anchor.at"), from, line.anchor.at());
    }

    fn tied_line(&mut self, scene: &Scene, path: &str, line: &TiedLine, cut: usize) {
        if let Some(length_m) = scene.piece_length_m(cut)
            && line.from_cut_m.told > length_m
        {
            self.wrong(
                &format!("{path}.from_cut"),
                format!("a line that is not on the piece of the cut {:?}", line.cut),
                format!("0 to the piece's length, {}", self.m(length_m)),
            );
        }
        let top_m = scene.standing(cut + 1).top_m;
        match &line.block {
            Some(block) => {
                self.fast(&format!("{path}.block"), &block.on, top_m, &["Spar", "Tree"]);
                let brakes = ["Spar", "Tree", "Stump"];
                self.fast(&format!("{path}.brake"), &line.hitch, top_m, &brakes);
            }
            None => {
                let all = ["Spar", "Tree", "Stump", "Hand"];
                let may = if line.kind == TiedKind::TagLine { &all[..] } else { &all[..3] };
                self.fast(&format!("{path}.anchor"), &line.hitch, top_m, may);
            }
        }
    }

    /// What a line or a block is made fast to, the stem standing up to `top_m` once the cut is made.
    fn fast(&mut self, path: &str, hitch: &Hitch, top_m: f64, may: &[&str]) {
        let kind = match hitch {
            Hitch::Spar { .. } => "Spar",
            Hitch::Tree { .. } => "Tree",
            Hitch::Stump { .. } => "Stump",
            Hitch::Hand { .. } => "Hand",
        };
        if !may.contains(&kind) {
            let what = format!("{}, which can't be what this is made fast to", hitch.words());
            let may: Vec<String> = may.iter().map(|word| format!("{word}(..)")).collect();
            self.wrong(path, what, may.join(" or "));
        }
        if let Hitch::Spar { height_m } = hitch
            && height_m.told >= top_m
        {
            let what = "a height that no longer stands once the cut is made";
            let allowed = format!("less than {}", self.m(top_m));
            self.wrong(&format!("{path}.height"), what, allowed);
        }
    }

    /// A leg of a line needs a direction on the map.
    fn leg(&mut self, scene: &Scene, path: &str, from: &Place, to: &Place) {
        /// Shortest leg, m.
        const LEG_MIN_M: f64 = 1.0;
        let at = |place: &Place| place_m(&scene.site, place, &MapFrame::default());
        if at(from).distance(at(to)) < LEG_MIN_M {
            let allowed = format!("at least {} from where it comes from", self.m(LEG_MIN_M));
            self.wrong(path, "a line that goes nowhere", allowed);
        }
    }

    /// The piece that a line pulls, and where on it.
    fn pulled(&mut self, scene: &Scene, path: &str, line: &PullLine, index: usize) {
        let Some(cut) = scene.cuts.get(index) else { return };
        let hinged =
            matches!(cut.release, ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. });
        if !hinged {
            self.wrong(
                &format!("{path}.cut"),
                "a piece that turns on no hinge",
                "a cut released by Hinge or BoredHinge",
            );
        }
        let Some([low, high]) = scene.stem_taken_m(index) else {
            self.wrong(&format!("{path}.cut"), "a limb", "a section or a top of the stem");
            return;
        };
        if !(low..=high).contains(&line.height_m.told) || line.height_m.told <= low {
            self.wrong(
                &format!("{path}.height"),
                format!("a line that is not on the piece of the cut {:?}", cut.id),
                format!("above {} and at most {}", self.m(low), self.m(high)),
            );
        }
    }
}
