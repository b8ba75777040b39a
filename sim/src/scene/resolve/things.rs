//! Targets, people at work and aids.

use crate::quantity::Length;

use super::{
    super::{limits as lim, model::*, told::Told, v1},
    Reader,
};

impl Reader {
    pub(super) fn target(&mut self, path: &str, target: &v1::Target) -> Target {
        let at = |field: &str| format!("{path}.{field}");
        let (id, kind) = match target {
            v1::Target::Structure { id, corners, wall, roof, windows } => {
                let wall_m = self.number(&at("wall"), wall, lim::WALL);
                let roof_m = match roof {
                    Some(roof) => self.number(&at("roof"), roof, lim::WALL),
                    None => {
                        self.assume(&at("roof"), "flat, as high as the walls");
                        wall_m
                    }
                };
                let corners = self.places(&at("corners"), corners);
                let windows = self.each(&at("windows"), windows, |r, path, w| Window {
                    // Zero is refused by the check, which counts from 1 as the file does.
                    wall: w.wall.wrapping_sub(1),
                    along_m: r.plain(&format!("{path}.along"), w.along, 0.0, 200.0),
                    width_m: r.plain(&format!("{path}.width"), w.width, 0.05, 50.0),
                    sill_m: r.plain(&format!("{path}.sill"), w.sill, 0.0, 100.0),
                    height_m: r.plain(&format!("{path}.height"), w.height, 0.05, 50.0),
                });
                (id, TargetKind::Structure { corners, wall_m, roof_m, windows })
            }
            v1::Target::KeepTree { id, at: place, diameter, height, limbs } => {
                let kind = TargetKind::KeepTree {
                    at: self.place(&at("at"), place),
                    diameter_m: self.number(&at("diameter"), diameter, lim::DBH),
                    height_m: self.number(&at("height"), height, lim::TREE_HEIGHT),
                    limbs: limbs.as_ref().map(|limbs| Limbs {
                        from_m: self.number(&at("limbs.from"), &limbs.from, lim::STEM),
                        spread_m: self.number(&at("limbs.spread"), &limbs.spread, lim::SPREAD),
                    }),
                };
                (id, kind)
            }
            v1::Target::Person { id, at: place } => {
                (id, TargetKind::Person { at: self.place(&at("at"), place) })
            }
            v1::Target::Vehicle { id, at: place, heading, length, width, height } => {
                let kind = TargetKind::Vehicle {
                    at: self.place(&at("at"), place),
                    heading_rad: self.number(&at("heading"), heading, lim::AZIMUTH),
                    length_m: self.number(&at("length"), length, lim::VEHICLE_LENGTH),
                    width_m: self.number(&at("width"), width, lim::VEHICLE),
                    height_m: self.number(&at("height"), height, lim::VEHICLE),
                };
                (id, kind)
            }
            v1::Target::Road { id, line, width } | v1::Target::Path { id, line, width } => {
                let kind = TargetKind::Path {
                    line: self.places(&at("line"), line),
                    width_m: self.number(&at("width"), width, lim::ROAD),
                };
                (id, kind)
            }
            v1::Target::Wire { id, from, to, sag } => {
                let kind = TargetKind::Wire {
                    from: self.wire_end(&at("from"), from),
                    to: self.wire_end(&at("to"), to),
                    sag_m: match sag {
                        Some(sag) => self.number(&at("sag"), sag, lim::SAG),
                        None => self.number(&at("sag"), &Told::<Length>::DontKnow, lim::SAG),
                    },
                };
                (id, kind)
            }
        };
        Target { id: id.clone(), kind }
    }

    fn wire_end(&mut self, path: &str, end: &v1::WireEnd) -> WireEnd {
        WireEnd {
            at: self.place(&format!("{path}.at"), &end.at),
            height_m: self.number(&format!("{path}.height"), &end.height, lim::WIRE),
        }
    }

    pub(super) fn climber(&mut self, climber: Option<&v1::Climber>) -> ClimberSpec {
        match climber {
            None | Some(v1::Climber::OnSpar) => ClimberSpec::OnSpar,
            Some(v1::Climber::MovedTo { at, feet }) => ClimberSpec::At {
                at: self.place("climber.at", at),
                feet_m: self.number("climber.feet", feet, lim::STEM),
            },
            Some(v1::Climber::Away) => ClimberSpec::Away,
        }
    }

    pub(super) fn aid(&mut self, path: &str, aid: &v1::Aid) -> Aid {
        let at = |field: &str| format!("{path}.{field}");
        let (id, kind) = match aid {
            v1::Aid::BarrierLog { id, from, to, diameter, held } => {
                let kind = AidKind::BarrierLog {
                    from: self.place(&at("from"), from),
                    to: self.place(&at("to"), to),
                    diameter_m: self.number(&at("diameter"), diameter, lim::LOG),
                    held: (*held).into(),
                };
                (id, kind)
            }
            v1::Aid::BrushMat { id, outline, thickness } => {
                let kind = AidKind::BrushMat {
                    outline: self.places(&at("outline"), outline),
                    thickness_m: self.number(&at("thickness"), thickness, lim::MAT),
                };
                (id, kind)
            }
            v1::Aid::Wall { id, line, height, thickness } => {
                let kind = AidKind::Wall {
                    line: self.places(&at("line"), line),
                    height_m: self.number(&at("height"), height, lim::LOW_WALL),
                    thickness_m: self.number(&at("thickness"), thickness, lim::WALL_THICKNESS),
                };
                (id, kind)
            }
            v1::Aid::Stump { id, at: place, diameter, height } => {
                let kind = AidKind::Stump {
                    at: self.place(&at("at"), place),
                    diameter_m: self.number(&at("diameter"), diameter, lim::DBH),
                    height_m: self.number(&at("height"), height, lim::STUMP),
                };
                (id, kind)
            }
        };
        Aid { id: id.clone(), kind }
    }
}
