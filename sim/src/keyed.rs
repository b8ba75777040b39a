//! Random numbers by key, never by order: any draw can be made again alone.
//!
//! A key is a path of words and numbers, hashed by FNV-1a (64 bit, Fowler–Noll–Vo) and finished
//! by SplitMix64's mixer (Steele, Lea & Flood 2014). Adding an input or a thread changes nothing
//! that another key draws.

/// A key under which random numbers are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key(u64);

impl Key {
    /// The root of all keys of one run.
    #[must_use]
    pub fn root(seed: u64) -> Self {
        Self(mix(seed ^ 0x9e37_79b9_7f4a_7c15))
    }

    /// The key below this one named by a word.
    #[must_use]
    pub fn word(self, word: &str) -> Self {
        let mut hash = 0xcbf2_9ce4_8422_2325_u64 ^ self.0;
        for byte in word.bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        Self(mix(hash))
    }

    /// The key below this one numbered `index`.
    #[must_use]
    pub fn number(self, index: u64) -> Self {
        Self(mix(self.0.rotate_left(23) ^ mix(index.wrapping_add(0x9e37_79b9_7f4a_7c15))))
    }

    /// The key as a number, for streams and lattices.
    #[must_use]
    pub fn raw(self) -> u64 {
        self.0
    }

    /// A number uniform in (0, 1).
    #[must_use]
    pub fn uniform(self) -> f64 {
        ((mix(self.0) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// A number from the standard normal distribution (Box & Muller 1958).
    #[must_use]
    pub fn normal(self) -> f64 {
        let radius = (-2.0 * libm::log(self.number(1).uniform())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.number(2).uniform())
    }
}

/// SplitMix64's finishing mixer.
#[must_use]
pub fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_draws_have_the_moments_of_their_distribution() {
        let n = 200_000;
        let root = Key::root(7).word("moments");
        let (mut mean, mut square) = (0.0, 0.0);
        for i in 0..n {
            let x = root.number(i).normal();
            mean += x / n as f64;
            square += x * x / n as f64;
        }
        // Five standard errors of each estimate.
        assert!(mean.abs() < 5.0 / (n as f64).sqrt(), "{mean}");
        assert!((square - 1.0).abs() < 5.0 * (2.0 / n as f64).sqrt(), "{square}");
    }

    #[test]
    fn prop_words_and_numbers_do_not_collide() {
        let root = Key::root(1);
        let mut seen: Vec<u64> = (0..1000).map(|i| root.number(i).raw()).collect();
        seen.extend((0..1000).map(|i| root.word(&format!("w{i}")).raw()));
        seen.sort_unstable();
        seen.dedup();
        assert_eq!(seen.len(), 2000);
    }
}
