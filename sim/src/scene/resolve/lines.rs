//! Lines made fast to pieces; those that hold a piece in its drop are in `tied`.

use crate::quantity::{Quantity, Share};

use super::{
    super::{doubt::Doubtful, limits as lim, model::*, v1},
    Reader,
};

/// Share of a rope's strength that its knots take when the scene doesn't say: the most that the
/// Cordage Institute names (CI 1401: up to 50 %).
const KNOT_LOSS: f64 = 0.5;
/// Design factor when the scene doesn't say: between the 5 and 12 of Cordage Institute CI 1401, on
/// the side for knots, unknown loads and people near.
const DESIGN_FACTOR: f64 = 10.0;
/// Design factors that are read.
const DESIGN_FACTORS: [f64; 2] = [1.0, 30.0];

impl Reader {
    pub(super) fn line(&mut self, path: &str, line: &v1::Line) -> Line {
        match line {
            v1::Line::PullLine {
                id,
                cut,
                height,
                rope,
                strength,
                knot_loss,
                design_factor,
                redirects,
                anchor,
                pull,
            } => {
                let at = |field: &str| format!("{path}.{field}");
                let knot_loss_share = match knot_loss {
                    Some(loss) => self.number(&at("knot_loss"), loss, lim::KNOT_LOSS),
                    None => {
                        let share = Share::from_si(KNOT_LOSS).text(self.units);
                        let taken = format!("knots take {share} of the strength");
                        self.assume(&at("knot_loss"), taken);
                        Doubtful::exact(KNOT_LOSS)
                    }
                };
                Line::Pull(PullLine {
                    id: id.clone(),
                    cut: cut.clone(),
                    height_m: self.number(&at("height"), height, lim::STEM),
                    rope: rope.trim().to_owned(),
                    strength_n: strength
                        .as_ref()
                        .map(|s| self.number(&at("strength"), s, lim::ROPE)),
                    knot_loss_share,
                    design_factor: self.design_factor(path, *design_factor),
                    redirects: self.each(&at("redirects"), redirects, Self::redirect),
                    anchor: self.anchor(&at("anchor"), anchor),
                    pull_n: self.number(&at("pull"), pull, lim::LINE_PULL),
                })
            }
            _ => self.tied_line(path, line),
        }
    }

    pub(super) fn design_factor(&mut self, path: &str, told: Option<f64>) -> f64 {
        let at = format!("{path}.design_factor");
        let design_factor = told.unwrap_or_else(|| {
            self.assume(&at, format!("{DESIGN_FACTOR}"));
            DESIGN_FACTOR
        });
        let [least, most] = DESIGN_FACTORS;
        if !(least..=most).contains(&design_factor) {
            let allowed = format!("{least} to {most}, such as 10");
            self.wrong(&at, "no design factor", allowed);
        }
        design_factor
    }

    fn redirect(&mut self, path: &str, redirect: &v1::Redirect) -> Redirect {
        let at = |field: &str| format!("{path}.{field}");
        if redirect.over.is_none() {
            self.assume(&at("over"), "a block");
        }
        if redirect.sling.is_none() {
            self.assume(&at("sling"), "one leg, which carries all of it");
        }
        Redirect {
            id: redirect.id.clone(),
            at: self.place(&at("at"), &redirect.at),
            height_m: self.number(&at("height"), &redirect.height, lim::LINE_HEIGHT),
            over: redirect.over.map_or(Over::Block, Into::into),
            sling_rad: redirect
                .sling
                .as_ref()
                .map(|legs| self.number(&at("sling"), legs, lim::SLING)),
        }
    }

    fn anchor(&mut self, path: &str, anchor: &v1::Anchor) -> Anchor {
        let field = |field: &str| format!("{path}.{field}");
        match anchor {
            v1::Anchor::Tree { at, height } => Anchor::Tree {
                at: self.place(&field("at"), at),
                height_m: self.number(&field("height"), height, lim::LINE_HEIGHT),
            },
            v1::Anchor::Stump { at, height } => Anchor::Stump {
                at: self.place(&field("at"), at),
                height_m: self.number(&field("height"), height, lim::LINE_HEIGHT),
            },
            v1::Anchor::Vehicle { at, height, mass, driven } => Anchor::Vehicle {
                at: self.place(&field("at"), at),
                height_m: self.number(&field("height"), height, lim::LINE_HEIGHT),
                mass_kg: self.number(&field("mass"), mass, lim::VEHICLE_MASS),
                driven_share: self.number(&field("driven"), driven, lim::DRIVEN),
            },
        }
    }
}
