//! What each number of a felling report is worked out by: formula, source with its standing, and
//! what is taken for granted.

use serde::Serialize;

/// How well a formula or number is backed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Read in the source.
    Seen,
    /// Read in a copy or quotation of the source.
    SeenSecondHand,
    /// From memory, not looked up.
    Memory,
    /// What the trade does; no one measured it.
    CommonPractice,
    /// Ours.
    Ours,
}

impl Standing {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Seen => "read",
            Self::SeenSecondHand => "read second hand",
            Self::Memory => "from memory",
            Self::CommonPractice => "common practice",
            Self::Ours => "ours",
        }
    }
}

/// What a number is worked out by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Rule {
    /// Formula.
    pub formula: &'static str,
    /// Where it is from.
    pub source: &'static str,
    /// How well that is backed.
    pub standing: Standing,
    /// What is taken for granted, and what is left out.
    pub assumption: &'static str,
}

const STATICS: &str = "textbook statics";
const ETOOL: &str = "OSHA Logging eTool";

pub(super) const WEIGHT: Rule = Rule {
    formula: "sum of frusta between measured diameters and of limbs × green density, hollows taken \
              out, and brush",
    source: "FIADB REF_SPECIES density with bark; FPL Technical Note 218 for its doubt",
    standing: Standing::Seen,
    assumption: "straight round stem with its limbs, brush and crown as the scene has them; ivy and \
                 water in the hollow are not in it",
};
pub(super) const LEAN: Rule = Rule {
    formula: "angle from vertical of the line hinge → centre; positive toward the face",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "the lean as told holds for the whole stem",
};
pub(super) const LEAN_MOMENT: Rule = Rule {
    formula: "M = W × level distance of the centre from the hinge, fore and to the side",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "about the middle line of the hinge; fore is toward the face, side to its right",
};
pub(super) const WIND: Rule = Rule {
    formula: "F = ½·ρ·C_d·A·v², at the centre; ρ 1.2 kg/m³, C_d 0.8, A length × mean diameter",
    source: "White, Fluid Mechanics (drag of a cylinder across)",
    standing: Standing::Memory,
    assumption: "wind as told at every height; brush by the area it shows in still air, less as it \
                 lays itself over",
};
pub(super) const FACE_DEPTH: Rule = Rule {
    formula: "face depth ¼ to ⅓ of the diameter",
    source: ETOOL,
    standing: Standing::Seen,
    assumption: "at the cut",
};
pub(super) const FACE_OPENING: Rule = Rule {
    formula: "open face 70° at least, best 90°: closes just before the ground",
    source: ETOOL,
    standing: Standing::Seen,
    assumption: "a face of 45° closes, and breaks the hinge, half way down",
};
pub(super) const HINGE_LENGTH: Rule = Rule {
    formula: "hinge at least 80 % of the diameter at breast height long",
    source: "OSHA Logging eTool; Forestry Mutual newsletter, fall 2021",
    standing: Standing::Seen,
    assumption: "above breast height the diameter at the cut stands for it",
};
pub(super) const HINGE_THICKNESS: Rule = Rule {
    formula: "hinge a tenth of the diameter at breast height thick; a twentieth on large stems",
    source: "OSHA Logging eTool for the tenth; the twentieth is practice from memory",
    standing: Standing::Seen,
    assumption: "thicker pulls fibre, or splits the stem up the grain instead of folding; thinner \
                 loses its direction",
};
pub(super) const HINGE_FORE: Rule = Rule {
    formula: "M = MOR·(w − c)·t²/6; low C_par for MOR, high MOR·(w − c)·t²/4",
    source: "beam theory; strengths Wood Handbook FPL-GTR-282 Table 5-3b",
    standing: Standing::SeenSecondHand,
    assumption: "clear green wood, c the rotten width; strength differs by 16 % from stem to stem \
                 (from memory); dead or decayed wood holds little",
};
pub(super) const HINGE_SIDE: Rule = Rule {
    formula: "M = MOR·t·(w³ − c³)/(6·w)",
    source: "beam theory; strengths Wood Handbook FPL-GTR-282 Table 5-3b",
    standing: Standing::SeenSecondHand,
    assumption: "not bent forward at the same time, which takes from it; no shake or crack",
};
pub(super) const SIDE_LOAD: Rule = Rule {
    formula: "W × side distance of the centre + gust and rope to the side, at the pull needed",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "it loads one end of the hinge; a hinge tapered thicker at the end in tension, and \
                 a rope against the lean, are common practice",
};
pub(super) const END_STRESS: Rule = Rule {
    formula: "σ = M_side/(t·(w³ − c³)/(6·w)) ± W·cos λ/((w − c)·t)",
    source: "beam theory",
    standing: Standing::Memory,
    assumption: "elastic; against MOR in tension and compression along the grain in compression",
};
pub(super) const SHEAR: Rule = Rule {
    formula: "τ = 1.5·V/((w − c)·t), V across the stem of weight, wind and rope",
    source: "beam theory; shear along the grain Wood Handbook FPL-GTR-282 Table 5-3b",
    standing: Standing::SeenSecondHand,
    assumption: "at the pull needed in the gust",
};
pub(super) const SHELL: Rule = Rule {
    formula: "t/R, sound shell over radius; Z lost (d/D)⁴, by Wagener (d/D)³",
    source: "Mattheck & Breloer (0.30, full crown); Huang et al. 2017 for how it fails",
    standing: Standing::SeenSecondHand,
    assumption: "a round core in the middle, no opening; under 0.30 is a line for trees with their \
                 crown on, mature stems stood with less (Rinn)",
};
pub(super) const STEM_BENDING: Rule = Rule {
    formula: "M(h)/(MOR·π·D³/32·(1 − (d/D)⁴)), the weakest height below the line",
    source: "beam theory; strengths Wood Handbook FPL-GTR-282 Table 5-3b",
    standing: Standing::SeenSecondHand,
    assumption: "sound shell all round, before the face is cut; a cracked or dead shell holds less",
};
pub(super) const FIRST_TENSION: Rule = Rule {
    formula: "T = −(M_weight + M_mean wind)/arm: takes up the back lean, before the back cut",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "common practice puts the line under a little tension before the back cut, also \
                 where this is nothing, and holds the truck on its brakes",
};
pub(super) const PULL: Rule = Rule {
    formula: "T = (M_hinge − M_weight − M_wind)/arm at the stem; T = (W·h·sin λ + M_hinge + \
              M_wind)/(l·cos(λ + β)) in one plane",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "rigid stem turning slowly on its hinge, nobody pushing; rocking, a jerk or a rope \
                 that slackens in a gust are not in it",
};
pub(super) const STRAP: Rule = Rule {
    formula: "area of the strap × MOR × its distance from the hinge, against weight, gust and the \
              lines at the most they are pulled with, less the hinge",
    source: "textbook statics; strengths Wood Handbook FPL-GTR-282 Table 5-3b",
    standing: Standing::SeenSecondHand,
    assumption: "MOR stands for tension along the grain (from memory: low for clear wood); rot, a \
                 fork or a crooked grain holds less",
};
pub(super) const KNOT: Rule = Rule {
    formula: "about two thirds up what falls, above its centre",
    source: "rule of the trade",
    standing: Standing::CommonPractice,
    assumption: "in sound wood; higher takes less pull but a thinner stem",
};
pub(super) const ROPE_ANGLE: Rule = Rule {
    formula: "from the knot on the stem to the line's first fixed point, on the ground as measured",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "straight line, no sag",
};
pub(super) const BALANCE: Rule = Rule {
    formula: "turn at which M_weight + M_wind is M_hinge: from there it goes by itself",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "still air; keep the pull on until then, and stop the moment it commits (common \
                 practice)",
};
pub(super) const FAR_PULL: Rule = Rule {
    formula: "T_far = T·exp(μ·φ) at each turn; μ of a block 0.049 to 0.2, of wood 0.2 to 0.5",
    source: "capstan equation; block friction measured 0.049 to 0.99 (abstract), wood from memory",
    standing: Standing::Memory,
    assumption: "the rope runs while it is pulled; a poor block can eat most of the pull",
};
pub(super) const PULLER_PLACE: Rule = Rule {
    formula: "distance from stump to what pulls over the height of what falls; 1.5 at least",
    source: "ANSI Z133 as quoted by ArborTIMES, fall 2025",
    standing: Standing::SeenSecondHand,
    assumption: "on the map; a redirect that moves it out of the way of the fall counts as well",
};
pub(super) const BLOCK: Rule = Rule {
    formula: "F = |T₁·u₁ + T₂·u₂|; without friction 2·T·cos(α/2)",
    source: "rigging makers' angle chart",
    standing: Standing::Seen,
    assumption: "at the most the line is pulled with; steady, no shock. Whoever stands in the bight \
                 stands where it goes when something gives",
};
pub(super) const SLING: Rule = Rule {
    formula: "F/(2·cos(γ/2)), the chart's 1/sin(angle from square) on half the load",
    source: "rigging makers' sling chart; ASME B30.9 for the angle to avoid",
    standing: Standing::Seen,
    assumption: "both legs share alike; bends over edges and knots of the sling are not in it",
};
pub(super) const ANCHOR: Rule = Rule {
    formula: "T_far, along the last leg",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "at the most the line is pulled with; whether roots, stump or hitch bear it is not \
                 worked out",
};
pub(super) const ROPE: Rule = Rule {
    formula: "working load = breaking strength × (1 − knots)/design factor",
    source: "Cordage Institute CI 1401: knots take up to 50 %, design factor 5 to 12",
    standing: Standing::Seen,
    assumption: "new dry rope; higher for shock, unknown loads, wear, people near",
};
pub(super) const TIED_FALL: Rule = Rule {
    formula: "h = height of the knot over hitch or block + length at which the line is tight",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "it falls free of its hinge and the spar, and hangs straight under in the end",
};
pub(super) const TIED_LOADED: Rule = Rule {
    formula: "L = way to hitch or block + slack; over a block + way to the brake × exp(−μφ)",
    source: "textbook statics; capstan equation; block friction measured 0.049 to 0.99 (abstract)",
    standing: Standing::Seen,
    assumption: "the rope stretches past the block as much less as it is pulled less there",
};
pub(super) const TIED_STIFFNESS: Rule = Rule {
    formula: "EA = a tenth of the breaking strength/stretch under it",
    source: "rope's sheet if told; else by material",
    standing: Standing::Memory,
    assumption: "one spring at every load; used rope is stiffer than new, wet nylon softer",
};
pub(super) const TIED_PEAK: Rule = Rule {
    formula: "T = W·(1 + √(1 + 2·EA·h/(W·L))), no more than hands hold",
    source: "energy of a fall into a spring",
    standing: Standing::Memory,
    assumption: "all of the fall goes into the rope: no give of spar, tree or knots, no brake that \
                 lets it run, nothing lost in the rope; a piece that tips or swings in bears less",
};
pub(super) const TIED_SWING: Rule = Rule {
    formula: "T = W·(3 − 2·cos θ) at the bottom, θ 90°",
    source: "energy of a pendulum",
    standing: Standing::Memory,
    assumption: "let go on a taut line level with hitch or block; slack adds the fall to it",
};
pub(super) const TIED_REACH: Rule = Rule {
    formula: "length at which the line is tight + from the knot to the piece's farther end",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "from hitch or block in every direction, the piece in line with the rope; what the \
                 rope stretches comes on top",
};
pub(super) const TIED_HANDS: Rule = Rule {
    formula: "s = W·h/(H − W), H the most that hands hold",
    source: "energy of a fall against a steady pull",
    standing: Standing::Memory,
    assumption: "the rope runs through hands at what they hold; burns and a loop round a hand are \
                 not in it",
};
pub(super) const TIED_BLOCK: Rule = Rule {
    formula: "F = |T·u₁ + T·exp(−μφ)·u₂|",
    source: "rigging makers' angle chart; capstan equation",
    standing: Standing::Seen,
    assumption: "at the peak, the piece straight under",
};
pub(super) const TIED_SPAR: Rule = Rule {
    formula: "|Σ (a − p) × F|/(MOR·π·D³/32·(1 − (d/D)⁴)), the weakest height",
    source: "beam theory; strengths Wood Handbook FPL-GTR-282 Table 5-3b",
    standing: Standing::SeenSecondHand,
    assumption: "sound shell all round, no face cut into it; the spar's own lean, its bend and give, \
                 and what roots bear are not in it; 30° is ours",
};
pub(super) const VEHICLE: Rule = Rule {
    formula: "T = (μ·W_d·cos σ − W·sin σ)/(cos β + μ·sin β)",
    source: "textbook statics; tyre friction by ground from Noon 1994 as quoted, and handbooks",
    standing: Standing::SeenSecondHand,
    assumption: "rubber tyres about to spin, ground as told there; engine, axle loads and side \
                 slope left out",
};
pub(super) const WEDGE: Rule = Rule {
    formula: "lift S = b·tan(back lean), the top moves S·h/b; the trade takes the diameter for b",
    source: "rule of the trade",
    standing: Standing::CommonPractice,
    assumption: "b from the hinge to the bark behind; a back lean over 5 % of the height is not for \
                 wedges alone",
};
pub(super) const WEDGE_FORCE: Rule = Rule {
    formula: "missing moment at the start/b",
    source: STATICS,
    standing: Standing::Memory,
    assumption: "mean wind; wood under the wedge may crush first",
};
