//! Lines that hold a piece in its drop: tied butts, tag lines, lowering lines.

use crate::{
    quantity::{Angle, Force, Length, Quantity, Share},
    rope,
};

use super::{
    super::{
        doubt::{Doubtful, How, Spread},
        limits::{self as lim, Limits},
        model::*,
        told::Told,
        v1,
    },
    Reader,
};

/// The fields that all of them have.
struct Common<'a> {
    id: &'a str,
    cut: &'a str,
    from_cut: &'a Told<Length>,
    rope: &'a str,
    strength: Option<&'a Told<Force>>,
    stretch: Option<&'a Told<Share>>,
    damping: Option<&'a Told<Share>>,
    knot_loss: Option<&'a Told<Share>>,
    design_factor: Option<f64>,
    slack: &'a Told<Length>,
}

/// The block of a lowering line as it is written.
struct Block<'a> {
    on: &'a v1::Hitch,
    friction: Option<&'a Told<Share>>,
    limit: Option<&'a Told<Force>>,
    sling_limit: Option<&'a Told<Force>>,
    sling: Option<&'a Told<Angle>>,
}

impl Reader {
    pub(super) fn tied_line(&mut self, path: &str, line: &v1::Line) -> Line {
        macro_rules! common {
            ($id:ident, $cut:ident, $from_cut:ident, $rope:ident, $strength:ident, $stretch:ident,
             $damping:ident, $knot_loss:ident, $design_factor:ident, $slack:ident) => {
                Common {
                    id: $id,
                    cut: $cut,
                    from_cut: $from_cut,
                    rope: $rope,
                    strength: $strength.as_ref(),
                    stretch: $stretch.as_ref(),
                    damping: $damping.as_ref(),
                    knot_loss: $knot_loss.as_ref(),
                    design_factor: *$design_factor,
                    slack: $slack,
                }
            };
        }
        match line {
            v1::Line::PullLine { .. } => self.line(path, line),
            v1::Line::TiedButt {
                id,
                cut,
                from_cut,
                rope,
                strength,
                stretch,
                damping,
                knot_loss,
                design_factor,
                slack,
                anchor,
            }
            | v1::Line::TagLine {
                id,
                cut,
                from_cut,
                rope,
                strength,
                stretch,
                damping,
                knot_loss,
                design_factor,
                slack,
                anchor,
            } => {
                let common = common!(
                    id,
                    cut,
                    from_cut,
                    rope,
                    strength,
                    stretch,
                    damping,
                    knot_loss,
                    design_factor,
                    slack
                );
                let is_tag = matches!(line, v1::Line::TagLine { .. });
                let kind = if is_tag { TiedKind::TagLine } else { TiedKind::TiedButt };
                self.tied(path, &common, kind, ("anchor", anchor), None)
            }
            v1::Line::Lowering {
                id,
                cut,
                from_cut,
                rope,
                strength,
                stretch,
                damping,
                knot_loss,
                design_factor,
                slack,
                block,
                friction,
                block_limit,
                sling_limit,
                sling,
                brake,
            } => {
                let common = common!(
                    id,
                    cut,
                    from_cut,
                    rope,
                    strength,
                    stretch,
                    damping,
                    knot_loss,
                    design_factor,
                    slack
                );
                let block = Block {
                    on: block,
                    friction: friction.as_ref(),
                    limit: block_limit.as_ref(),
                    sling_limit: sling_limit.as_ref(),
                    sling: sling.as_ref(),
                };
                self.tied(path, &common, TiedKind::Lowering, ("brake", brake), Some(&block))
            }
        }
    }

    fn tied(
        &mut self,
        path: &str,
        line: &Common<'_>,
        kind: TiedKind,
        (far, hitch): (&str, &v1::Hitch),
        block: Option<&Block<'_>>,
    ) -> Line {
        let at = |field: &str| format!("{path}.{field}");
        let of_table = rope::named(line.rope);
        let stretch_share = match (line.stretch, of_table) {
            (Some(told), _) => self.number(&at("stretch"), told, lim::STRETCH),
            (None, Some(kind)) => {
                let [low, told, high] = kind.stretch_shares;
                let show = |share: f64| Share::from_si(share).text(self.units);
                let words = format!(
                    "{} to {}, {} as told, longer under a tenth of its breaking strength (by \
                     material, {})",
                    show(low),
                    show(high),
                    show(told),
                    kind.stretch_standing
                );
                self.assume(&at("stretch"), words);
                Doubtful { told, spread: Spread { low, high, how: How::DontKnow } }
            }
            (None, None) => self.open(&at("stretch"), lim::STRETCH),
        };
        Line::Tied(TiedLine {
            id: line.id.to_owned(),
            cut: line.cut.to_owned(),
            kind,
            from_cut_m: self.number(&at("from_cut"), line.from_cut, lim::STEM),
            rope: line.rope.trim().to_owned(),
            strength_n: line.strength.map(|s| self.number(&at("strength"), s, lim::ROPE)),
            stretch_share,
            damping_share: self.given_or_open(&at("damping"), line.damping, lim::DAMPING),
            knot_loss_share: self.given_or_open(&at("knot_loss"), line.knot_loss, lim::KNOT_LOSS),
            design_factor: self.design_factor(path, line.design_factor),
            slack_m: self.number(&at("slack"), line.slack, lim::SLACK),
            hitch: self.hitch(&at(far), hitch),
            block: block.map(|block| BlockSpec {
                on: self.hitch(&at("block"), block.on),
                friction: self.given_or_open(
                    &at("friction"),
                    block.friction,
                    lim::FRICTION_AT_BLOCK,
                ),
                working_n: block.limit.map(|n| self.number(&at("block_limit"), n, lim::ROPE)),
                sling_working_n: block
                    .sling_limit
                    .map(|n| self.number(&at("sling_limit"), n, lim::ROPE)),
                sling_rad: block.sling.map(|legs| self.number(&at("sling"), legs, lim::SLING)),
            }),
        })
    }

    /// A number that isn't told: all of its plausible range.
    fn open(&mut self, path: &str, limits: Limits) -> Doubtful {
        self.number(path, &Told::<Share>::DontKnow, limits)
    }

    fn given_or_open(
        &mut self,
        path: &str,
        told: Option<&Told<Share>>,
        limits: Limits,
    ) -> Doubtful {
        match told {
            Some(told) => self.number(path, told, limits),
            None => self.open(path, limits),
        }
    }

    fn hitch(&mut self, path: &str, hitch: &v1::Hitch) -> Hitch {
        let field = |field: &str| format!("{path}.{field}");
        match hitch {
            v1::Hitch::Spar { height } => {
                Hitch::Spar { height_m: self.number(&field("height"), height, lim::STEM) }
            }
            v1::Hitch::Tree { at, height } => Hitch::Tree {
                at: self.place(&field("at"), at),
                height_m: self.number(&field("height"), height, lim::LINE_HEIGHT),
            },
            v1::Hitch::Stump { at, height } => Hitch::Stump {
                at: self.place(&field("at"), at),
                height_m: self.number(&field("height"), height, lim::LINE_HEIGHT),
            },
            v1::Hitch::Hand { at, hold } => Hitch::Hand {
                at: self.place(&field("at"), at),
                hold_n: self.number(&field("hold"), hold, lim::HOLD),
            },
        }
    }
}
