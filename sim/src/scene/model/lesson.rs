//! A lesson: what a scene asks before it shows.

/// Id of the scene as it stands, among a lesson's cases.
pub const AS_IT_STANDS: &str = "as-it-stands";

/// A lesson of a scene. It changes nothing of what is simulated.
#[derive(Clone, Debug, PartialEq)]
pub struct LessonSpec {
    /// Its title.
    pub title: String,
    /// The one thing it is about.
    pub about: String,
    /// What a learner is told before the first question.
    pub situation: String,
    /// Id of the cut it asks about.
    pub cut: String,
    /// Drops of the cut on the ground as told.
    pub drops: u32,
    /// Grounds drawn, beside the ground as told.
    pub grounds: u32,
    /// Seed of all draws.
    pub seed: u64,
    /// What is shown only when it is asked for.
    pub hidden: Vec<HiddenSpec>,
    /// The scene as it stands ([`AS_IT_STANDS`]), then the scene with something changed.
    pub cases: Vec<CaseSpec>,
    /// What it asks, in order.
    pub questions: Vec<QuestionSpec>,
    /// Words on why, with placeholders in braces.
    pub why: String,
    /// What to change and try, with placeholders in braces.
    pub try_next: String,
    /// Cautions beside those that every output has.
    pub cautions: Vec<String>,
    /// What the forecast must give, so that the lesson holds.
    pub claims: Vec<ClaimSpec>,
}

/// Something that isn't shown until it is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HiddenSpec {
    /// Stable id within the lesson.
    pub id: String,
    /// What isn't known yet.
    pub what: String,
    /// What one does on site to know it.
    pub by: String,
    /// Paths of the fields that it tells.
    pub fields: Vec<String>,
    /// What one finds, in words.
    pub finds: String,
}

/// The scene with something changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaseSpec {
    /// Stable id within the lesson.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// Paths of fields, and the text that stands there instead.
    pub set: Vec<(String, String)>,
}

/// A question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuestionSpec {
    /// Stable id within the lesson.
    pub id: String,
    /// The question in words.
    pub ask: String,
    /// Index of the case it is about.
    pub of: usize,
    /// What is asked.
    pub asked: Asked,
}

/// What is asked. Each is answered against the counts of many drops, or of many draws of what is in
/// doubt, never against one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asked {
    /// How it goes: sits back, stays, slides, rolls or goes end over end.
    Mode,
    /// Which end touches the ground first.
    FirstEnd,
    /// How it lies at the end, and what holds it there.
    HowItLies,
    /// How often something happens.
    Chance(Event),
    /// In which case something happens least often.
    Fewest {
        /// What happens.
        event: Event,
        /// Cases by index, two or more.
        among: Vec<usize>,
    },
    /// Where it first touches.
    FirstTouch,
    /// Where its middle lies at the end.
    Rest,
    /// How far it runs along the ground from first touch to the end.
    HowFar,
    /// How far the piece has turned when the hinge lets go.
    LetsGoAt,
    /// The pull at the stem that turns it, against the gust where the scene has wind; the id of its
    /// pull line.
    Pull(String),
}

/// Something that happens in a drop or does not.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// It doesn't leave.
    SitsBack,
    /// It stays where it lands.
    Stayed,
    /// It slides.
    Slid,
    /// It rolls.
    Rolled,
    /// It goes end over end.
    Tumbled,
    /// Its butt touches first.
    ButtFirst,
    /// Its top touches first.
    TopFirst,
    /// Its side touches first, or its whole length at once.
    SideFirst,
    /// It comes to rest and would lie on ground 5° steeper too.
    LiesFirmly,
    /// It comes to rest and would go on ground less than 5° steeper.
    LiesBarely,
    /// It comes to rest and only something solid holds it.
    HeldByAidOnly,
    /// It leaves the known ground or time runs out.
    NotAtRest,
    /// The piece, or what it sets going, touches this target.
    Reaches(String),
    /// It sets this aid, or the piece of this earlier cut, going.
    SetsGoing(String),
    /// This line bears more than its working load.
    LineOver(String),
    /// The hinge holds the side load: by the draws of what its hold hangs on, not by drops.
    HingeHolds,
}

/// What the forecast must give.
#[derive(Clone, Debug, PartialEq)]
pub enum ClaimSpec {
    /// An event happens between so often and so often.
    Share {
        /// Case by index.
        of: usize,
        /// What happens.
        event: Event,
        /// Least, in 100.
        low: f64,
        /// Greatest, in 100.
        high: f64,
    },
    /// Half of the drops that leave run at least so far.
    HowFar {
        /// Case by index.
        of: usize,
        /// Least median, m.
        low_m: f64,
        /// Greatest median, m.
        high_m: f64,
    },
    /// The hinge lets go at a turn between these, in the middle.
    LetsGoAt {
        /// Case by index.
        of: usize,
        /// Least median, rad.
        low_rad: f64,
        /// Greatest median, rad.
        high_rad: f64,
    },
    /// The pull at the stem, as told.
    Pull {
        /// Case by index.
        of: usize,
        /// Its pull line.
        line: String,
        /// Least, N.
        low_n: f64,
        /// Greatest, N.
        high_n: f64,
    },
    /// An event happens in fewer drops of one case than of another.
    Fewer {
        /// What happens.
        event: Event,
        /// Case by index.
        of: usize,
        /// The other by index.
        than: usize,
    },
}

impl ClaimSpec {
    /// The cases that it is about.
    #[must_use]
    pub fn cases(&self) -> [usize; 2] {
        match self {
            Self::Share { of, .. }
            | Self::HowFar { of, .. }
            | Self::LetsGoAt { of, .. }
            | Self::Pull { of, .. } => [*of; 2],
            Self::Fewer { of, than, .. } => [*of, *than],
        }
    }
}

/// Facts of a case that the words of a lesson may name, with what they are; beside them the words of
/// events, which say in how many drops they happen.
pub const FACTS: [(&str, &str); 20] = [
    ("drops", "drops on the ground as told"),
    ("length", "length of the piece"),
    ("mass", "mass of the piece"),
    ("from", "height of its butt before it goes"),
    ("far", "what half of the drops run past, along the ground"),
    ("far_near", "what 1 in 10 drops stay under"),
    ("far_most", "what 1 in 10 drops go past"),
    ("most", "the longest run"),
    ("turns_half", "turns end over end that half of the drops go past"),
    ("lets_go", "how far it has turned when the hinge lets go, in the middle"),
    ("shown", "number of the drop that is played first"),
    ("shown_how", "what happens in that drop"),
    ("shown_end", "which end touches first in it"),
    ("shown_speed", "speed of that end at first touch"),
    (
        "shown_steep",
        "angle of the piece to the ground at first touch; 90° is straight in on an end",
    ),
    ("shown_turns", "its turns end over end"),
    ("shown_far", "how far it runs"),
    ("shown_height", "greatest height over the ground after first touch"),
    ("shown_lets_go", "how far it had turned when the hinge let go"),
    ("side_share", "share of the hinge's side hold that is used"),
];

impl Event {
    /// Its word in a lesson's placeholders and records.
    #[must_use]
    pub fn word(&self) -> String {
        match self {
            Self::SitsBack => "sits_back".to_owned(),
            Self::Stayed => "stayed".to_owned(),
            Self::Slid => "slid".to_owned(),
            Self::Rolled => "rolled".to_owned(),
            Self::Tumbled => "tumbled".to_owned(),
            Self::ButtFirst => "butt_first".to_owned(),
            Self::TopFirst => "top_first".to_owned(),
            Self::SideFirst => "side_first".to_owned(),
            Self::LiesFirmly => "lies_firmly".to_owned(),
            Self::LiesBarely => "lies_barely".to_owned(),
            Self::HeldByAidOnly => "held_by_aid_only".to_owned(),
            Self::NotAtRest => "not_at_rest".to_owned(),
            Self::Reaches(id) => format!("reaches:{id}"),
            Self::SetsGoing(id) => format!("sets_going:{id}"),
            Self::LineOver(id) => format!("line_over:{id}"),
            Self::HingeHolds => "hinge_holds".to_owned(),
        }
    }

    /// What happens, after "it" and without one.
    #[must_use]
    pub fn said(&self) -> String {
        let plain = match self {
            Self::SitsBack => "sits back",
            Self::Stayed => "stays where it lands",
            Self::Slid => "slides",
            Self::Rolled => "rolls",
            Self::Tumbled => "goes end over end",
            Self::ButtFirst => "touches with its butt first",
            Self::TopFirst => "touches with its top first",
            Self::SideFirst => "touches with its side first",
            Self::LiesFirmly => "lies firmly",
            Self::LiesBarely => "lies there only just",
            Self::HeldByAidOnly => "is held only by what it lies against",
            Self::NotAtRest => "doesn't come to rest on known ground",
            Self::Reaches(id) => return format!("reaches {id}"),
            Self::SetsGoing(id) => return format!("sets {id} going"),
            Self::LineOver(id) => return format!("loads {id} over its working load"),
            Self::HingeHolds => "has a hinge that holds",
        };
        plain.to_owned()
    }

    /// The event of a word.
    #[must_use]
    pub fn of_word(word: &str) -> Option<Self> {
        if let Some((kind, id)) = word.split_once(':') {
            let id = id.to_owned();
            return match kind {
                "reaches" => Some(Self::Reaches(id)),
                "sets_going" => Some(Self::SetsGoing(id)),
                "line_over" => Some(Self::LineOver(id)),
                _ => None,
            };
        }
        let plain = [
            Self::SitsBack,
            Self::Stayed,
            Self::Slid,
            Self::Rolled,
            Self::Tumbled,
            Self::ButtFirst,
            Self::TopFirst,
            Self::SideFirst,
            Self::LiesFirmly,
            Self::LiesBarely,
            Self::HeldByAidOnly,
            Self::NotAtRest,
            Self::HingeHolds,
        ];
        plain.into_iter().find(|event| event.word() == word)
    }
}

/// A placeholder of a lesson's words: `{tumbled}`, `{short.far}`, `{reaches:shed}`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placeholder<'a> {
    /// Id of the case; the scene as it stands if left out.
    pub case: Option<&'a str>,
    /// The fact's name, with an id behind a colon where it has one.
    pub fact: &'a str,
}

/// Text and placeholders of a lesson's words, in order; a brace without its other half is text.
#[must_use]
pub fn words_of(text: &str) -> Vec<Result<&str, Placeholder<'_>>> {
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some((before, from)) = rest.split_once('{') {
        let Some((inside, after)) = from.split_once('}') else { break };
        if !before.is_empty() {
            parts.push(Ok(before));
        }
        let (case, fact) = match inside.split_once('.') {
            Some((case, fact)) => (Some(case), fact),
            None => (None, inside),
        };
        parts.push(Err(Placeholder { case, fact }));
        rest = after;
    }
    if !rest.is_empty() {
        parts.push(Ok(rest));
    }
    parts
}
