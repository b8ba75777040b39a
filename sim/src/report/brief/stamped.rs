//! The stamp that a brief carries for machines, written and read back.
//!
//! It stands among the keywords of the page or the document, so that whoever has the file alone
//! can tell which scene, law and seed it was made from.

use crate::report::Stamp;

/// What the stamp begins with.
const SCENE: &str = "tumblewood scene sha256 ";
const LAW: &str = ", law ";
const SEED: &str = ", seed ";
const MADE: &str = ", made ";
/// What the stamp ends with.
const END: &str = ", end of stamp";

/// What a brief says it was made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamped {
    /// SHA-256 of the scene, hex.
    pub scene_hash: String,
    /// The ground law.
    pub law: String,
    /// Seed of all draws.
    pub seed: u64,
    /// The day it was made.
    pub date: String,
}

/// The stamp in the words that [`read_stamp`] finds.
#[must_use]
pub(super) fn words(stamp: &Stamp) -> String {
    format!(
        "{SCENE}{}{LAW}{}{SEED}{}{MADE}{}{END}",
        stamp.scene_hash, stamp.law, stamp.seed, stamp.date
    )
}

/// Reads the stamp of a brief back from its file, HTML or PDF; `None` where there is none, or none
/// that is whole.
#[must_use]
pub fn read_stamp(file: &[u8]) -> Option<Stamped> {
    let start = find(file, SCENE.as_bytes())? + SCENE.len();
    let rest = file.get(start..)?;
    let text = std::str::from_utf8(rest.get(..find(rest, END.as_bytes())?)?).ok()?;
    let (scene_hash, text) = text.split_once(LAW)?;
    let (law, text) = text.split_once(SEED)?;
    let (seed, date) = text.split_once(MADE)?;
    let is_hash = scene_hash.len() == 64 && scene_hash.bytes().all(|b| b.is_ascii_hexdigit());
    let plain = |s: &str| s.len() <= 40 && s.chars().all(|c| c == ' ' || c.is_ascii_graphic());
    (is_hash && plain(law) && plain(date)).then_some(())?;
    Some(Stamped {
        scene_hash: scene_hash.to_owned(),
        law: law.to_owned(),
        seed: seed.parse().ok()?,
        date: date.to_owned(),
    })
}

/// Where `part` first stands in `all`.
fn find(all: &[u8], part: &[u8]) -> Option<usize> {
    all.windows(part.len()).position(|window| window == part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_stamp_is_read_back_and_a_broken_one_is_none() {
        let stamp = crate::report::sample::stamp();
        let text = format!("%PDF\u{0}…<x>{}</x>", words(&stamp));
        let read = read_stamp(text.as_bytes()).expect("a stamp");
        assert_eq!(read.scene_hash, stamp.scene_hash);
        assert_eq!((read.law.as_str(), read.seed), (stamp.law.as_str(), stamp.seed));
        assert_eq!(read.date, stamp.date);
        for end in [0, 10, text.len() / 2, text.len() - 20] {
            let cut = text.as_bytes().get(..end).unwrap_or_default();
            assert_eq!(read_stamp(cut), None, "{end}");
        }
        let other = text.replace("seed ", "seed x");
        assert_eq!(read_stamp(other.as_bytes()), None);
    }
}
