//! The tree and its cuts.

use crate::quantity::{Length, Quantity};

use super::{
    super::{
        doubt::{Doubtful, How},
        limits::{self as lim, Limits},
        model::*,
        told::Told,
        v1,
    },
    Reader,
};

/// Height of a cut under which it is made from the ground: what a person reaches with a saw
/// (5 ft, common practice).
const GROUND_CUT_BELOW_M: f64 = 1.53;
/// Width of a hinge when the scene doesn't say: the face's own chord.
const HINGE_WIDTH_SHARE: f64 = 1.0;
/// Height above the cut at which hands push when the scene doesn't say, m (ours).
const PUSH_HEIGHT_M: f64 = 1.2;
/// What is cut more than the mill's length when the scene doesn't say, m (4 in, common practice).
const TRIM_M: f64 = 0.1016;
/// Lengths that a mill may take.
const MOST_MILL_LENGTHS: usize = 8;
/// How far the top cut lies outside the under cut when the scene doesn't say, m (2 in, common
/// practice).
const STEP_M: f64 = 0.05;
/// How far from upright a stem may be that looks upright, rad (2°, ours).
const UPRIGHT_HALF_RAD: f64 = 2.0 * std::f64::consts::PI / 180.0;

impl Reader {
    pub(super) fn tree(&mut self, tree: &v1::Tree) -> TreeSpec {
        let lean = match &tree.lean {
            Some(v1::Lean::Plumb { offset, height, toward }) => Lean::Plumb {
                offset_m: self.number("tree.lean.offset", offset, lim::OFFSET),
                height_m: self.number("tree.lean.height", height, Limits { low: 0.5, ..lim::STEM }),
                toward_rad: self.number("tree.lean.toward", toward, lim::AZIMUTH_OPEN),
            },
            Some(v1::Lean::Angle { angle, toward }) => Lean::Angle {
                angle_rad: self.number("tree.lean.angle", angle, lim::LEAN),
                toward_rad: self.number("tree.lean.toward", toward, lim::AZIMUTH_OPEN),
            },
            Some(v1::Lean::Upright) | None => {
                self.assume("tree.lean", "upright, within 2 deg");
                Lean::Upright(Doubtful::around(0.0, UPRIGHT_HALF_RAD, How::Stated))
            }
        };
        TreeSpec {
            species: tree.species.trim().to_owned(),
            dbh_m: self.number("tree.dbh", &tree.dbh, lim::DBH),
            height_m: self.number("tree.height", &tree.height, lim::TREE_HEIGHT),
            topped_at_m: tree
                .topped_at
                .as_ref()
                .map(|h| self.number("tree.topped_at", h, Limits { low: 0.1, ..lim::STEM })),
            diameters: self.each("tree.diameters", &tree.diameters, |r, path, at| StemDiameter {
                height_m: r.number(&format!("{path}[0]"), &at.0, lim::STEM),
                diameter_m: r.number(&format!("{path}[1]"), &at.1, lim::DIAMETER),
            }),
            lean,
            hollows: self.each("tree.hollows", &tree.hollows, |r, path, hollow| Hollow {
                from_m: r.number(&format!("{path}.from"), &hollow.from, lim::STEM),
                to_m: r.number(&format!("{path}.to"), &hollow.to, lim::STEM),
                shell_m: r.number(&format!("{path}.shell"), &hollow.shell, lim::SHELL),
            }),
            limbs: self.each("tree.limbs", &tree.limbs, Self::limb),
            crown: tree.crown.as_ref().map(|crown| self.crown(crown)),
        }
    }

    pub(super) fn cut(&mut self, path: &str, cut: &v1::Cut) -> Cut {
        let (piece, from_m, length_m, toward_rad) =
            self.piece(&format!("{path}.piece"), &cut.piece);
        let cutter = match cut.cutter {
            Some(cutter) => cutter.into(),
            None if from_m < GROUND_CUT_BELOW_M => {
                self.assume(&format!("{path}.cutter"), "cut from the ground");
                Cutter::OnTheGround
            }
            None => Cutter::OnTheSpar,
        };
        let after = match &cut.after {
            Some(v1::After::Cleared) => After::Cleared,
            Some(v1::After::LeftWhereItStops) => After::LeftWhereItStops,
            Some(v1::After::LeftAt { at, axis }) => After::LeftAt {
                at: self.place(&format!("{path}.after.at"), at),
                axis_rad: self.number(&format!("{path}.after.axis"), axis, lim::AZIMUTH),
            },
            None => {
                self.assume(&format!("{path}.after"), "cleared before the next cut");
                After::Cleared
            }
        };
        Cut {
            id: cut.id.clone(),
            piece,
            stubs: self.each(&format!("{path}.stubs"), &cut.stubs, |r, path, stub| Stub {
                height_m: r.number(&format!("{path}.height"), &stub.height, lim::STEM),
                azimuth_rad: r.number(&format!("{path}.azimuth"), &stub.azimuth, lim::AZIMUTH),
                length_m: r.number(&format!("{path}.length"), &stub.length, lim::STUB),
                diameter_m: r.number(
                    &format!("{path}.diameter"),
                    &stub.diameter,
                    lim::STUB_DIAMETER,
                ),
            }),
            release: self.release(&format!("{path}.release"), &cut.release, length_m, toward_rad),
            cutter,
            after,
            log: cut.log.as_ref().map(|log| self.log(&format!("{path}.log"), log)),
        }
    }

    fn log(&mut self, path: &str, log: &v1::Log) -> LogSpec {
        if log.lengths.is_empty() || log.lengths.len() > MOST_MILL_LENGTHS {
            let what = format!("{} lengths", log.lengths.len());
            let allowed = format!("1 to {MOST_MILL_LENGTHS} lengths that the mill takes");
            self.wrong(&format!("{path}.lengths"), what, allowed);
        }
        let mut within = |path: &str, length: &Length, [low_m, high_m]: [f64; 2]| {
            let length_m = length.si();
            if !(low_m..=high_m).contains(&length_m) {
                let text = |m| Length::from_si(m).text(self.units);
                let allowed = format!("{} to {}", text(low_m), text(high_m));
                self.wrong(path, format!("read {}", text(length_m)), allowed);
            }
            length_m
        };
        let lengths_m =
            log.lengths.iter().enumerate().map(|(i, length)| {
                within(&format!("{path}.lengths[{i}]"), length, lim::MILL_LENGTH_M)
            });
        let lengths_m = lengths_m.collect();
        let trim_m = match &log.trim {
            Some(trim) => within(&format!("{path}.trim"), trim, lim::TRIM_M),
            None => {
                let text = Length::from_si(TRIM_M).text(self.units);
                self.assume(&format!("{path}.trim"), format!("{text} more than each length"));
                TRIM_M
            }
        };
        LogSpec { lengths_m, trim_m }
    }

    /// The piece, the height it is cut at (m), its length as far as it is known here (m), and where
    /// a limb points (rad).
    fn piece(&mut self, path: &str, piece: &v1::Piece) -> (PieceSpec, f64, f64, f64) {
        match piece {
            v1::Piece::Section { from, to } => {
                let from_m = self.number(&format!("{path}.from"), from, lim::STEM);
                let to_m = self.number(&format!("{path}.to"), to, lim::STEM);
                let length_m = to_m.told - from_m.told;
                (PieceSpec::Section { from_m, to_m }, from_m.told, length_m, 0.0)
            }
            v1::Piece::Top { from } => {
                let from_m = self.number(&format!("{path}.from"), from, lim::STEM);
                (PieceSpec::Top { from_m }, from_m.told, f64::INFINITY, 0.0)
            }
            v1::Piece::Limb { limb: id, at } => {
                let at_m = self.number(&format!("{path}.at"), at, lim::LIMB_AT);
                let known = self.limbs.iter().enumerate().find(|(_, (known, ..))| known == id);
                let found =
                    known.map(|(i, &(_, azimuth_rad, height_m))| (i, azimuth_rad, height_m));
                if found.is_none() {
                    let ids: Vec<&str> = self.limbs.iter().map(|(id, ..)| id.as_str()).collect();
                    let allowed = if ids.is_empty() {
                        "an id from tree.limbs, which is empty".to_owned()
                    } else {
                        format!("one of {}", ids.join(", "))
                    };
                    self.wrong(&format!("{path}.limb"), format!("no limb {id:?}"), allowed);
                }
                let (limb, azimuth_rad, height_m) = found.unwrap_or((usize::MAX, 0.0, 0.0));
                (PieceSpec::Limb { limb, at_m }, height_m, f64::INFINITY, azimuth_rad)
            }
        }
    }

    fn release(
        &mut self,
        path: &str,
        release: &v1::Release,
        length_m: f64,
        limb_rad: f64,
    ) -> ReleaseSpec {
        let at = |field: &str| format!("{path}.{field}");
        match release {
            v1::Release::Hinge { face, opening, depth, hinge, width, push } => ReleaseSpec::Hinge {
                face: Face {
                    toward_rad: self.number(&at("face"), face, lim::AZIMUTH),
                    opening_rad: self.number(&at("opening"), opening, lim::OPENING),
                    depth_share: self.number(&at("depth"), depth, lim::DEPTH),
                    hinge_m: self.number(&at("hinge"), hinge, lim::HINGE),
                    width_share: self.hinge_width(path, width.as_ref()),
                },
                push: push.as_ref().map(|push| self.push(path, push)),
            },
            v1::Release::BoredHinge { face, opening, depth, hinge, width, strap, push } => {
                ReleaseSpec::BoredHinge {
                    face: Face {
                        toward_rad: self.number(&at("face"), face, lim::AZIMUTH),
                        opening_rad: self.number(&at("opening"), opening, lim::OPENING),
                        depth_share: self.number(&at("depth"), depth, lim::DEPTH),
                        hinge_m: self.number(&at("hinge"), hinge, lim::HINGE),
                        width_share: self.hinge_width(path, width.as_ref()),
                    },
                    strap_m: self.number(&at("strap"), strap, lim::HINGE),
                    push: push.as_ref().map(|push| self.push(path, push)),
                }
            }
            v1::Release::Snap { toward, push } => ReleaseSpec::Snap {
                toward_rad: self.number(&at("toward"), toward, lim::AZIMUTH),
                push: self.push_or_hands(path, push.as_ref(), length_m),
            },
            v1::Release::PushOver { toward, push } => ReleaseSpec::PushOver {
                toward_rad: self.number(&at("toward"), toward, lim::AZIMUTH),
                push: self.push_or_hands(path, push.as_ref(), length_m),
            },
            v1::Release::UnderAndTop { under, step } => ReleaseSpec::UnderAndTop {
                under_share: self.number(&at("under"), under, lim::UNDER),
                step_m: match step {
                    Some(step) => self.number(&at("step"), step, lim::STEP),
                    None => {
                        let text = Length::from_si(STEP_M).text(self.units);
                        let taken = format!("the top cut {text} outside the under cut");
                        self.assume(&at("step"), taken);
                        Doubtful::exact(STEP_M)
                    }
                },
                toward_rad: limb_rad,
            },
        }
    }

    fn hinge_width(
        &mut self,
        path: &str,
        width: Option<&Told<crate::quantity::Share>>,
    ) -> Doubtful {
        match width {
            Some(width) => self.number(&format!("{path}.width"), width, lim::WIDTH),
            None => {
                self.assume(&format!("{path}.width"), "the hinge is as wide as the stem there");
                Doubtful::exact(HINGE_WIDTH_SHARE)
            }
        }
    }

    fn push(&mut self, path: &str, push: &v1::Push) -> Push {
        Push {
            force_n: self.number(&format!("{path}.push.force"), &push.force, lim::PUSH),
            height_m: self.number(&format!("{path}.push.height"), &push.height, lim::PUSH_HEIGHT),
        }
    }

    fn push_or_hands(&mut self, path: &str, push: Option<&v1::Push>, length_m: f64) -> Push {
        if let Some(push) = push {
            return self.push(path, push);
        }
        let height_m = PUSH_HEIGHT_M.min(0.8 * length_m).max(lim::PUSH_HEIGHT.low);
        let text = Length::from_si(height_m).text(self.units);
        self.assume(&format!("{path}.push.height"), format!("hands at {text} above the cut"));
        Push {
            force_n: self.number(
                &format!("{path}.push.force"),
                &Told::<crate::quantity::Force>::DontKnow,
                lim::PUSH,
            ),
            height_m: Doubtful::exact(height_m),
        }
    }
}
