//! The words of the ground tests, each with how the test is done.

/// A word of the scene file, what the button says, and what to look for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Word {
    /// As the scene file has it.
    pub(super) file: &'static str,
    /// On the button.
    pub(super) shown: &'static str,
    /// What it means at the spot.
    pub(super) how: &'static str,
}

const fn word(file: &'static str, shown: &'static str, how: &'static str) -> Word {
    Word { file, shown, how }
}

/// Where and how the soil is tested.
pub(super) const WHERE: &str = "Scrape the litter away and test 10 cm (4 in) down, at three spots \
     down the bank where pieces will land and run. Take the word that two of them give.";

/// Soil by thumb, heel or look.
pub(super) const SOILS: [Word; 13] = [
    word("FistEasily", "Fist easily", "Holds together; the fist goes in with little effort."),
    word("ThumbEasily", "Thumb easily", "Holds together; the thumb goes in with little effort."),
    word(
        "ThumbWithEffort",
        "Thumb with effort",
        "Holds together; the thumb goes in if you lean on it.",
    ),
    word("ThumbIndents", "Thumb dents it", "Holds together; the thumb leaves a dent and stops."),
    word("Thumbnail", "Thumbnail marks it", "Hard; only the nail leaves a mark."),
    word(
        "ThumbnailWithDifficulty",
        "Thumbnail hardly",
        "Very hard; the nail leaves a mark with difficulty.",
    ),
    word("HeelNoMark", "Loose, no heel mark", "Sand or gravelly soil; stand on one heel: no mark."),
    word("HeelOneCm", "Loose, heel 1 cm", "Stand on one heel: a mark about 1 cm (1/2 in) deep."),
    word("HeelThreeCm", "Loose, heel 3 cm", "Stand on one heel: a mark about 3 cm (1 in) deep."),
    word(
        "HeelOverTheWelt",
        "Loose, over the welt",
        "Stand on one heel: it goes in over the boot's welt.",
    ),
    word("Gravel", "Gravel", "Loose stones."),
    word("Pavement", "Pavement", "Asphalt or concrete."),
    word("DontKnow", "Don't know", "Not tested: every soil of the thumb and heel tests is tried."),
];

/// What lies on the soil.
pub(super) const COVERS: [Word; 4] = [
    word("Litter", "Litter", "Leaves and twigs; push a finger in down to the soil."),
    word("Turf", "Turf", "Grass and its roots; push a finger in down to the soil."),
    word("Bare", "Bare", "Nothing on the soil."),
    word("DontKnow", "Don't know", "Not looked at."),
];

/// Bumps.
pub(super) const BUMPS: [Word; 5] = [
    word("Lawn", "Like a lawn", "You could push a mower over it."),
    word("Ankle", "To the ankle", "Bumps and holes up to the ankle within a pace."),
    word("Knee", "To the knee", "Bumps and holes up to the knee within a pace."),
    word("Bumps", "Measured", "From the bottom of a hole to the top of the bump beside it."),
    word("DontKnow", "Don't know", "Not looked at."),
];

/// How wet the soil is.
pub(super) const WETNESS: [Word; 4] = [
    word("Dry", "Dry", "Dusty, or crumbles in the hand."),
    word("Damp", "Damp", "Cool and dark; leaves no water on the hand."),
    word("Wet", "Wet", "Shines, or leaves water or mud on the hand. Much hangs on it."),
    word("DontKnow", "Don't know", "Both wet and dry are tried. Much hangs on it."),
];

/// How a piece is released.
pub(super) const RELEASES: [Word; 3] = [
    word("Hinge", "Face and hinge", "A face, a hinge behind it, a back cut."),
    word("Snap", "Snap cut", "Two cuts past each other, broken off by hand."),
    word("PushOver", "Flat cut, pushed", "Cut through flat and pushed over the far rim."),
];

/// What is said of a word of one of these tables; empty for a word that isn't in it.
pub(super) fn how(table: &[Word], file: &str) -> &'static str {
    table.iter().find(|word| word.file == file).map_or("", |word| word.how)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_every_word_says_how_and_stands_once() {
        for table in [&SOILS[..], &COVERS, &BUMPS, &WETNESS, &RELEASES] {
            for (i, word) in table.iter().enumerate() {
                assert!(word.how.ends_with('.') && !word.shown.is_empty(), "{}", word.file);
                assert!(table.iter().skip(i + 1).all(|other| other.file != word.file));
                assert_eq!(how(table, word.file), word.how);
            }
        }
    }
}
