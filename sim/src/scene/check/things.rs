//! Targets and aids.

use glam::DVec2;

use super::{
    super::{
        doubt::Doubtful,
        model::*,
        outline::contains,
        places::{MapFrame, place_m},
    },
    Checks, map,
};

impl Checks {
    pub(super) fn targets(&mut self, scene: &Scene) {
        let site = &scene.site;
        for (i, target) in scene.targets.iter().enumerate() {
            let path = format!("targets[{i}]");
            match &target.kind {
                TargetKind::Structure { corners, wall_m, roof_m, windows } => {
                    self.outline(site, &format!("{path}.corners"), corners);
                    if roof_m.told < wall_m.told {
                        self.wrong(
                            &format!("{path}.roof"),
                            "a roof lower than the walls",
                            format!("at least {}", self.m(wall_m.told)),
                        );
                    }
                    for (j, window) in windows.iter().enumerate() {
                        self.window(
                            site,
                            &format!("{path}.windows[{j}]"),
                            window,
                            corners,
                            *wall_m,
                        );
                    }
                    let points = map(site, corners);
                    if contains(&points, DVec2::ZERO) {
                        self.wrong(
                            &format!("{path}.corners"),
                            "the stump stands inside it",
                            "a footprint beside the stump",
                        );
                    }
                }
                TargetKind::KeepTree { at, diameter_m, height_m, limbs } => {
                    self.beside_stump(scene, &format!("{path}.at"), at, 0.5 * diameter_m.told);
                    if let Some(limbs) = limbs
                        && limbs.from_m.told >= height_m.told
                    {
                        self.wrong(
                            &format!("{path}.limbs.from"),
                            "limbs above the tree's top",
                            format!("below {}", self.m(height_m.told)),
                        );
                    }
                }
                TargetKind::Person { .. } => {}
                TargetKind::Vehicle { at, width_m, .. } => {
                    self.beside_stump(scene, &format!("{path}.at"), at, 0.5 * width_m.told);
                }
                TargetKind::Path { line, .. } => self.line(site, &format!("{path}.line"), line),
                TargetKind::Wire { from, to, sag_m } => {
                    self.span(site, &format!("{path}.to.at"), &from.at, &to.at);
                    let lowest = from.height_m.told.min(to.height_m.told);
                    if sag_m.told >= lowest {
                        self.wrong(
                            &format!("{path}.sag"),
                            "a wire that sags to the ground",
                            format!("less than its lower end, {}", self.m(lowest)),
                        );
                    }
                }
            }
        }
    }

    fn window(
        &mut self,
        site: &SiteSpec,
        path: &str,
        window: &Window,
        corners: &[Place],
        wall_m: Doubtful,
    ) {
        let points = map(site, corners);
        let Some(from) = points.get(window.wall) else {
            self.wrong(&format!("{path}.wall"), "no such wall", format!("1 to {}", points.len()));
            return;
        };
        let to = points.get(window.wall + 1).or(points.first()).copied().unwrap_or(*from);
        let length_m = from.distance(to);
        if window.along_m + window.width_m > length_m {
            self.wrong(
                &format!("{path}.along"),
                "a window past the end of its wall",
                format!("along and width together at most {}", self.m(length_m)),
            );
        }
        if window.sill_m + window.height_m > wall_m.told {
            self.wrong(
                &format!("{path}.sill"),
                "a window above its wall",
                format!("sill and height together at most {}", self.m(wall_m.told)),
            );
        }
    }

    pub(super) fn aids(&mut self, scene: &Scene) {
        let site = &scene.site;
        for (i, aid) in scene.aids.iter().enumerate() {
            let path = format!("aids[{i}]");
            match &aid.kind {
                AidKind::BarrierLog { from, to, .. } => {
                    self.span(site, &format!("{path}.to"), from, to);
                }
                AidKind::BrushMat { outline, .. } => {
                    self.outline(site, &format!("{path}.outline"), outline);
                }
                AidKind::Wall { line, .. } => self.line(site, &format!("{path}.line"), line),
                AidKind::Stump { at, diameter_m, .. } => {
                    self.beside_stump(scene, &format!("{path}.at"), at, 0.5 * diameter_m.told);
                }
            }
        }
    }

    fn beside_stump(&mut self, scene: &Scene, path: &str, at: &Place, half_m: f64) {
        let least_m = half_m + 0.5 * scene.tree.dbh_m.told;
        if place_m(&scene.site, at, &MapFrame::default()).length() < least_m {
            self.wrong(
                path,
                "it stands in the tree itself",
                format!("at least {} from the stump", self.m(least_m)),
            );
        }
    }
}
