//! Limbs and crown of the tree.
//!
//! What words for brush stand for: twigs and leaves are a fifth to two fifths of a limb's wood
//! (common practice, no source); the rest of the ranges is ours. A crown's factor is on the share
//! that forest-grown trees have (`tree::crown`), which knows neither species nor height: national
//! models of single species differ from it by half to 2.3 times (`val_stem::val_crown_mass`), and so
//! does a crown of which nothing else is told. That open-grown crowns are heavier is from memory.

use super::{
    super::{
        doubt::{Doubtful, How, Spread},
        limits as lim,
        model::*,
        v1,
    },
    Reader,
};

fn range([low, told, high]: [f64; 3]) -> Doubtful {
    Doubtful { told, spread: Spread { low, high, how: How::Stated } }
}

impl Reader {
    pub(super) fn limb(&mut self, path: &str, limb: &v1::Limb) -> LimbSpec {
        let at = |field: &str| format!("{path}.{field}");
        let brush = match &limb.brush {
            Some(v1::Brush::Bare) => BrushSpec::Share(Doubtful::exact(0.0)),
            Some(v1::Brush::Thin) => BrushSpec::Share(range([0.1, 0.2, 0.3])),
            Some(v1::Brush::Usual) => BrushSpec::Share(range([0.2, 0.3, 0.4])),
            Some(v1::Brush::Thick) => BrushSpec::Share(range([0.3, 0.4, 0.6])),
            Some(v1::Brush::Weighs(mass)) => {
                BrushSpec::Mass(self.number(&at("brush[0]"), mass, lim::BRUSH))
            }
            None => {
                self.assume(&at("brush"), "as usual: 20 to 40 % of the limb's wood");
                BrushSpec::Share(range([0.2, 0.3, 0.4]))
            }
        };
        let spec = LimbSpec {
            id: limb.id.clone(),
            height_m: self.number(&at("height"), &limb.height, lim::STEM),
            azimuth_rad: self.number(&at("azimuth"), &limb.azimuth, lim::AZIMUTH),
            angle_rad: self.number(&at("angle"), &limb.angle, lim::LIMB_ANGLE),
            length_m: self.number(&at("length"), &limb.length, lim::LIMB_LENGTH),
            diameter_m: self.number(&at("diameter"), &limb.diameter, lim::LIMB_DIAMETER),
            brush,
        };
        self.limbs.push((spec.id.clone(), spec.azimuth_rad.told, spec.height_m.told));
        spec
    }

    pub(super) fn crown(&mut self, crown: &v1::Crown) -> CrownSpec {
        let factor = match crown.full {
            Some(v1::Full::Thin) => [0.3, 0.5, 1.0],
            Some(v1::Full::Usual) => [0.5, 1.0, 2.3],
            Some(v1::Full::Full) => [1.0, 1.6, 3.0],
            None => {
                self.assume("tree.crown.full", "as usual: the branch share of forest-grown trees");
                [0.5, 1.0, 2.3]
            }
        };
        CrownSpec {
            from_m: self.number("tree.crown.from", &crown.from, lim::STEM),
            spread_m: self.number("tree.crown.spread", &crown.spread, lim::SPREAD),
            factor: range(factor),
        }
    }
}
