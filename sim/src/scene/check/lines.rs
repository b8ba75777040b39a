//! Lines that pieces are pulled with.

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
            if line.rope.is_empty() {
                self.wrong(&format!("{path}.rope"), "no name", "the rope's name");
            }
            self.pulled(scene, &path, line);
            let stump = Place::AtStation(Station::Stump);
            let mut from = &stump;
            for (j, redirect) in line.redirects.iter().enumerate() {
                let at = format!("{path}.redirects[{j}].at");
                self.leg(scene, &at, from, &redirect.at);
                from = &redirect.at;
            }
            self.leg(scene, &format!("{path}.anchor.at"), from, line.anchor.at());
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
    fn pulled(&mut self, scene: &Scene, path: &str, line: &PullLine) {
        let Some(cut) = scene.cuts.iter().find(|cut| cut.id == line.cut) else {
            let ids: Vec<&str> = scene.cuts.iter().map(|cut| cut.id.as_str()).collect();
            let allowed = if ids.is_empty() {
                "a cut of the scene, which has none".to_owned()
            } else {
                format!("a cut of the scene: {}", ids.join(", "))
            };
            self.wrong(&format!("{path}.cut"), "no such cut", allowed);
            return;
        };
        let hinged =
            matches!(cut.release, ReleaseSpec::Hinge { .. } | ReleaseSpec::BoredHinge { .. });
        if !hinged {
            self.wrong(
                &format!("{path}.cut"),
                "a piece that turns on no hinge",
                "a cut released by Hinge or BoredHinge",
            );
        }
        let index = scene.cuts.iter().position(|other| other.id == cut.id);
        let Some([low, high]) = index.and_then(|index| scene.stem_taken_m(index)) else {
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
