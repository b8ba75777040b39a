//! From what a climber can say of the ground to one draw of its numbers.
//!
//! Words give a list of [`Range`]s (`GroundWords::ranges`), each with its source; one number from
//! each makes a [`Ground`] (`GroundWords::draw`). A number is drawn by its path, never by order, so
//! that one more range changes no other draw.
//!
//! As told: the middle of each range. Where wetness isn't known, "as told" takes the friction of
//! damp ground and does not limit traction by the soil's strength; half of the draws do. Untested
//! soil is as told the middle of the thumb test ("thumb with effort"), an unseen cover litter.
//! Known answers: `val_thumb_words_are_the_strengths_of_tm_5_818_1` and the tests beside it.

use super::{Ground, Strength, TopLayer, Undergrowth, table};
use crate::GRAVITY_M_S2;

/// What goes into soil that holds together, and how easily; weakest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thumb {
    /// The fist goes in easily.
    FistEasily,
    /// The thumb goes in easily.
    ThumbEasily,
    /// The thumb goes in with effort.
    ThumbWithEffort,
    /// The thumb leaves a dent.
    ThumbIndents,
    /// The thumbnail leaves a mark.
    Thumbnail,
    /// The thumbnail leaves a mark with difficulty.
    ThumbnailWithDifficulty,
}

/// The mark a heel leaves in loose ground; firmest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Heel {
    /// No mark.
    None,
    /// 1 cm deep.
    OneCm,
    /// 3 cm deep.
    ThreeCm,
    /// Over the welt of the boot.
    OverTheWelt,
}

/// The soil by a test in the field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoilWord {
    /// Soil that holds together.
    Thumb(Thumb),
    /// Loose ground.
    Heel(Heel),
    /// Gravel.
    Gravel,
    /// Asphalt or concrete.
    Pavement,
    /// Not tested.
    DontKnow,
}

impl SoilWord {
    /// The word for a reader.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Thumb(Thumb::FistEasily) => "fist easily",
            Self::Thumb(Thumb::ThumbEasily) => "thumb easily",
            Self::Thumb(Thumb::ThumbWithEffort) => "thumb with effort",
            Self::Thumb(Thumb::ThumbIndents) => "thumb indents",
            Self::Thumb(Thumb::Thumbnail) => "thumbnail",
            Self::Thumb(Thumb::ThumbnailWithDifficulty) => "thumbnail with difficulty",
            Self::Heel(Heel::None) => "loose, no heel mark",
            Self::Heel(Heel::OneCm) => "loose, heel mark 1 cm",
            Self::Heel(Heel::ThreeCm) => "loose, heel mark 3 cm",
            Self::Heel(Heel::OverTheWelt) => "loose, heel over the welt",
            Self::Gravel => "gravel",
            Self::Pavement => "pavement",
            Self::DontKnow => "not tested",
        }
    }
}

impl Cover {
    /// The word for a reader.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Litter(_) => "litter",
            Self::Turf(_) => "turf",
            Self::BrushMat(_) => "brush mat",
            Self::Bare => "bare",
            Self::DontKnow => "not looked at",
        }
    }
}

/// A number as told and where it may lie, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Between {
    /// Least.
    pub low: f64,
    /// As told.
    pub told: f64,
    /// Greatest.
    pub high: f64,
}

/// What lies on the soil, with its thickness (m) if it was felt for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cover {
    /// Leaves and twigs.
    Litter(Option<Between>),
    /// Grass and its roots.
    Turf(Option<Between>),
    /// Brush laid out to catch pieces.
    BrushMat(Option<Between>),
    /// Nothing.
    Bare,
    /// Not looked at.
    DontKnow,
}

/// Bumps, peak to trough over about a pace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Roughness {
    /// Like a lawn.
    Lawn,
    /// Up to the ankle.
    Ankle,
    /// Up to the knee.
    Knee,
    /// As measured, m.
    Measured(Between),
    /// Not looked at.
    DontKnow,
}

/// How wet it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wetness {
    /// Dry: traction is friction alone.
    Dry,
    /// Damp: traction limited by the soil's strength in half of the draws.
    Damp,
    /// Wet: traction limited by the soil's strength.
    Wet,
    /// Not known: as damp, with friction from wet to dry.
    DontKnow,
}

/// Undergrowth as told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UndergrowthWords {
    /// Mean distance between stems, m.
    pub spacing_m: Between,
    /// Thickness at knee height, m.
    pub thickness_m: Between,
    /// Height, m.
    pub height_m: Between,
}

/// The ground as told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroundWords {
    /// The soil under the cover.
    pub soil: SoilWord,
    /// What lies on it.
    pub cover: Cover,
    /// Bumps.
    pub roughness: Roughness,
    /// Undergrowth, if any.
    pub undergrowth: Option<UndergrowthWords>,
    /// How wet it is.
    pub wetness: Wetness,
    /// Depth at which something hard begins, m, if it was met.
    pub hard_at_m: Option<Between>,
}

/// One uncertain number of the ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Its name, and the key it is drawn by.
    pub path: &'static str,
    /// Least value.
    pub low: f64,
    /// Value as told.
    pub told: f64,
    /// Greatest value.
    pub high: f64,
    /// Unit.
    pub unit: &'static str,
    /// Drawn evenly in its logarithm.
    pub log: bool,
    /// Where it comes from.
    pub source: &'static str,
}

impl Range {
    /// The value at `share` (0 to 1) of the way from low to high.
    #[must_use]
    pub fn at(&self, share: f64) -> f64 {
        // Nothing between equal ends, whatever rounding does.
        if self.low == self.high {
            self.low
        } else if self.log {
            (self.low * libm::pow(self.high / self.low, share)).clamp(self.low, self.high)
        } else {
            self.low + (self.high - self.low) * share
        }
    }
}

/// Cover by its place in the tables.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Top {
    Litter = 0,
    Turf = 1,
    Brush = 2,
}

impl GroundWords {
    /// Every range these words stand for, with its source; no path twice but for untested soil,
    /// which may hold together (a shear strength) or be loose (a friction angle).
    #[must_use]
    pub fn ranges(&self) -> Vec<Range> {
        let mut rows = Vec::with_capacity(20);
        match self.soil {
            SoilWord::Thumb(word) => rows.extend(thumb(word)),
            SoilWord::Heel(word) => rows.extend(heel(word)),
            SoilWord::Gravel => rows.push(table::GRAVEL_ANGLE),
            SoilWord::Pavement => rows.push(table::PAVEMENT_STRENGTH),
            SoilWord::DontKnow => rows.extend([table::ANY_STRENGTH, table::ANY_ANGLE]),
        }
        rows.extend([table::DENSITY, table::INERTIA, table::SIDE_BEARING, table::SIDEWAYS]);
        rows.push(table::MOBILISED);
        let quick = matches!(self.soil, SoilWord::Thumb(_) | SoilWord::DontKnow)
            || self.top_told().is_some();
        rows.push(if quick { table::RATE } else { table::NO_RATE });
        let wetness = self.friction_rows();
        rows.push(spanned(&table::FRICTION, wetness.clone()));
        if self.wetness != Wetness::Dry && self.may_cap() {
            rows.push(table::ADHESION);
        }
        if let Some((top, thickness)) = self.top_told() {
            rows.push(thickness);
            rows.extend(table::TOP_STRENGTH.get(top as usize));
            rows.push(if top == Top::Brush {
                table::BRUSH_FRICTION
            } else {
                spanned(&table::TOP_FRICTION, wetness)
            });
            rows.extend(table::TOP_RESTITUTION.get(top as usize));
        } else {
            rows.push(match self.soil {
                SoilWord::Thumb(Thumb::FistEasily | Thumb::ThumbEasily)
                | SoilWord::Heel(Heel::ThreeCm | Heel::OverTheWelt) => table::SOFT_RESTITUTION,
                SoilWord::Thumb(_) | SoilWord::Heel(_) => table::FIRM_RESTITUTION,
                SoilWord::Gravel => table::GRAVEL_RESTITUTION,
                SoilWord::Pavement => table::PAVEMENT_RESTITUTION,
                SoilWord::DontKnow => table::ANY_RESTITUTION,
            });
        }
        if let Some(depth) = self.hard_at_m {
            rows.extend([as_told("stop.depth", depth), table::STOP]);
        }
        let [lawn, ankle, knee, any] = table::ROUGHNESS;
        rows.push(match self.roughness {
            Roughness::Lawn => lawn,
            Roughness::Ankle => ankle,
            Roughness::Knee => knee,
            Roughness::DontKnow => any,
            Roughness::Measured(height) => as_told("roughness", height),
        });
        if let Some(u) = self.undergrowth {
            rows.extend([
                as_told("undergrowth.spacing", u.spacing_m),
                as_told("undergrowth.thickness", u.thickness_m),
                as_told("undergrowth.height", u.height_m),
            ]);
        }
        rows
    }

    /// One ground: as told, or with each number drawn by `pick`, which gives 0 to 1 for a path.
    ///
    /// Paths that aren't ranges: `soil.word` and `cover.word` (which word, where none was told) and
    /// `wetness` (under a half: traction is limited by the soil's strength).
    #[must_use]
    pub fn draw(&self, told: bool, pick: &dyn Fn(&str) -> f64) -> Ground {
        let settled = self.settled(told, pick);
        let rows = settled.ranges();
        let value = |path: &str| {
            rows.iter()
                .find(|r| r.path == path)
                .map(|r| if told { r.told } else { r.at(pick(path)) })
        };
        let number = |path: &str| value(path).unwrap_or(0.0);
        let density_kg_m3 = number("soil.density");
        let soil = match value("soil.friction_angle") {
            Some(friction_angle_rad) => Strength::Frictional {
                friction_angle_rad,
                unit_weight_n_m3: density_kg_m3 * GRAVITY_M_S2,
            },
            None => Strength::Cohesive { shear_strength_pa: number("soil.shear_strength") },
        };
        let capped = match self.wetness {
            Wetness::Dry => false,
            Wetness::Wet => true,
            Wetness::Damp | Wetness::DontKnow => !told && pick("wetness") < 0.5,
        };
        Ground {
            top: value("top.thickness").map(|thickness_m| TopLayer {
                thickness_m,
                shear_strength_pa: number("top.shear_strength"),
                friction: number("top.friction"),
            }),
            soil,
            stop_depth_m: value("stop.depth").unwrap_or(f64::INFINITY),
            stop_strength_pa: value("stop.shear_strength").unwrap_or(table::STOP.told),
            rate_factor: number("soil.rate_factor"),
            restitution: number("restitution"),
            friction: number("soil.friction"),
            adhesion: value("soil.adhesion").filter(|_| capped),
            inertial_factor: number("soil.inertial_factor"),
            density_kg_m3,
            side_bearing_deep: number("soil.side_bearing_deep"),
            sideways_share: number("soil.sideways_share"),
            mobilised_at: number("soil.mobilised_at"),
            roughness_m: number("roughness"),
            undergrowth: value("undergrowth.spacing").map(|spacing_m| Undergrowth {
                spacing_m,
                thickness_m: number("undergrowth.thickness"),
                height_m: number("undergrowth.height"),
            }),
        }
    }

    /// What one draw took, by path, with the same `pick` as [`GroundWords::draw`]: the ranges of
    /// the words that were drawn, and no others.
    #[must_use]
    pub fn drawn(&self, pick: &dyn Fn(&str) -> f64) -> Vec<(&'static str, f64)> {
        let rows = self.settled(false, pick).ranges();
        rows.iter().filter(|r| r.low < r.high).map(|r| (r.path, r.at(pick(r.path)))).collect()
    }

    /// Which words one draw took where none was told, by path, with the same `pick`.
    #[must_use]
    pub fn chosen(&self, pick: &dyn Fn(&str) -> f64) -> Vec<(&'static str, &'static str)> {
        let settled = self.settled(false, pick);
        let mut out = Vec::new();
        if settled.soil != self.soil {
            out.push(("soil.word", settled.soil.name()));
        }
        if settled.cover != self.cover {
            out.push(("cover.word", settled.cover.name()));
        }
        out
    }

    /// The same as numbers an answer may hang on: 1 where loose soil or no cover was drawn, 0
    /// where soil that holds together or some cover was.
    #[must_use]
    pub fn chosen_kinds(&self, pick: &dyn Fn(&str) -> f64) -> Vec<(&'static str, f64)> {
        let settled = self.settled(false, pick);
        let mut out = Vec::new();
        if settled.soil != self.soil {
            out.push((
                "soil.loose",
                f64::from(u8::from(matches!(settled.soil, SoilWord::Heel(_)))),
            ));
        }
        if settled.cover != self.cover {
            out.push(("cover.bare", f64::from(u8::from(settled.cover == Cover::Bare))));
        }
        out
    }

    /// What "as told" takes where nothing was told, one sentence each.
    #[must_use]
    pub fn assumed(&self) -> Vec<&'static str> {
        let mut out = Vec::new();
        if self.soil == SoilWord::DontKnow {
            out.push("soil not tested: as told it is soil a thumb enters with effort");
        }
        if self.cover == Cover::DontKnow && self.soil != SoilWord::Pavement {
            out.push("cover not looked at: as told it is 5 cm of litter");
        }
        if matches!(self.wetness, Wetness::DontKnow | Wetness::Damp) && self.may_cap() {
            out.push(
                "wetness not known to be dry or wet: as told, traction is not limited by the \
                 soil's strength; in half of the grounds it is",
            );
        }
        if self.roughness == Roughness::DontKnow {
            out.push("roughness not looked at: as told it is ankle high");
        }
        if self.hard_at_m.is_none() {
            out.push("nothing hard was met in the soil: as told and in every draw there is none");
        }
        out
    }

    /// The same words with one chosen where none was told.
    fn settled(&self, told: bool, pick: &dyn Fn(&str) -> f64) -> Self {
        let mut words = *self;
        if self.soil == SoilWord::DontKnow {
            let all = table::THUMB
                .into_iter()
                .map(|(w, _)| SoilWord::Thumb(w))
                .chain(table::HEEL.into_iter().map(|(w, _)| SoilWord::Heel(w)));
            let count = table::THUMB.len() + table::HEEL.len();
            let middle = SoilWord::Thumb(Thumb::ThumbWithEffort);
            words.soil = if told {
                middle
            } else {
                let k = (pick("soil.word") * count as f64) as usize;
                all.clone().nth(k.min(count - 1)).unwrap_or(middle)
            };
        }
        if self.cover == Cover::DontKnow && self.soil != SoilWord::Pavement {
            let share = if told { 0.0 } else { pick("cover.word") };
            words.cover = match (share * 3.0) as usize {
                0 => Cover::Litter(None),
                1 => Cover::Turf(None),
                _ => Cover::Bare,
            };
        }
        words
    }

    /// The layer on top, as far as the words go; unseen, litter. Nothing lies on pavement unseen.
    fn top_told(&self) -> Option<(Top, Range)> {
        let (top, thickness) = match self.cover {
            Cover::Litter(t) => (Top::Litter, t),
            Cover::Turf(t) => (Top::Turf, t),
            Cover::BrushMat(t) => (Top::Brush, t),
            Cover::DontKnow if self.soil != SoilWord::Pavement => (Top::Litter, None),
            Cover::Bare | Cover::DontKnow => return None,
        };
        // A layer felt to be nothing is none.
        if thickness.is_some_and(|t| t.high <= 0.0) {
            return None;
        }
        let usual = table::TOP_THICKNESS.get(top as usize).copied()?;
        Some((top, thickness.map_or(usual, |t| as_told("top.thickness", t))))
    }

    /// Rows of the friction tables that the wetness stands for.
    fn friction_rows(&self) -> std::ops::Range<usize> {
        match self.wetness {
            Wetness::Dry => 0..1,
            Wetness::Damp => 1..2,
            Wetness::Wet => 2..3,
            Wetness::DontKnow => 0..3,
        }
    }

    /// Whether there is a shear strength that could limit traction.
    fn may_cap(&self) -> bool {
        matches!(self.soil, SoilWord::Thumb(_) | SoilWord::DontKnow) || self.top_told().is_some()
    }
}

fn thumb(word: Thumb) -> Option<Range> {
    table::THUMB.iter().find(|(w, _)| *w == word).map(|(_, r)| *r)
}

fn heel(word: Heel) -> Option<Range> {
    table::HEEL.iter().find(|(w, _)| *w == word).map(|(_, r)| *r)
}

/// One row from the least to the greatest of several, told as the middle one.
fn spanned(rows: &[Range; 3], which: std::ops::Range<usize>) -> Range {
    let [first, middle, last] = *rows;
    match rows.get(which) {
        Some([one]) => *one,
        _ => Range {
            low: first.low.min(last.low),
            high: first.high.max(last.high),
            source: "ours: wetness not known, wet to dry",
            ..middle
        },
    }
}

/// A row of a number that the user gave.
fn as_told(path: &'static str, number: Between) -> Range {
    let unit = "m";
    let low = number.low.max(0.0);
    Range {
        path,
        low,
        told: number.told.max(low),
        high: number.high.max(low),
        unit,
        log: false,
        source: "as told",
    }
}

#[cfg(test)]
mod tests;
