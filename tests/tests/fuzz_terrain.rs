//! Terrain files, footprints and meshes with bytes changed: every reader answers with ground,
//! proposals or an error; none panics, and none takes memory by what a file merely claims.
//!
//! Draws are keyed, so a find repeats by its number: five seconds a reader here, ten minutes a
//! reader in `tests/run long`; `TUMBLEWOOD_FUZZ=csv,gpx` names readers that it is run on alone.
//! `tests/fuzz/run` goes on from the same files guided by coverage; what it found is kept in
//! `tests/fuzz/found` and read here every time.

use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    time::{Duration, Instant},
};

use tumblewood::keyed::Key;
use tumblewood_tests::{
    fuzz::{Counting, Reader, readers},
    proof::is_long,
    root, written_files,
};

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// The file with a few places changed: bits, whole numbers at their limits, pieces cut or doubled.
fn changed(bytes: &[u8], key: Key, round: u64) -> Vec<u8> {
    let mut out = bytes.to_vec();
    let key = key.number(round);
    let draw = |word: &str, k: u64, most: usize| {
        (key.word(word).number(k).uniform() * most as f64) as usize
    };
    for k in 0..1 + draw("count", 0, 4) as u64 {
        if out.is_empty() {
            break;
        }
        // Headers and ends hold the claims: most changes go there.
        let at = match draw("where", k, 4) {
            0 | 1 => draw("at", k, out.len().min(600)),
            2 => out.len() - 1 - draw("at", k, out.len().min(200)),
            _ => draw("at", k, out.len()),
        };
        let number =
            [0_u64, 1, 0x7f, 0xff, 0x7fff, 0xffff, 0x7fff_ffff, u64::MAX][draw("number", k, 8)];
        match draw("how", k, 6) {
            0 => out[at] ^= 1 << draw("bit", k, 8),
            1 => out[at] = draw("byte", k, 256) as u8,
            2 => {
                let width = [2, 4, 8][draw("width", k, 3)];
                for (slot, byte) in out[at..].iter_mut().take(width).zip(number.to_le_bytes()) {
                    *slot = byte;
                }
            }
            3 => out.truncate(at),
            4 => {
                let end = (at + 1 + draw("length", k, 64)).min(out.len());
                out.drain(at..end);
            }
            _ => {
                let end = (at + 1 + draw("length", k, 64)).min(out.len());
                let piece = out[at..end].to_vec();
                out.splice(at..at, piece);
            }
        }
    }
    out
}

/// Whether bytes could be read; a find is kept.
fn tries(reader: &Reader, what: &str, bytes: &[u8]) -> bool {
    match catch_unwind(AssertUnwindSafe(|| reader.read(bytes))) {
        Ok(said) => said.is_ok(),
        Err(_) => {
            let kept = std::env::temp_dir().join(format!("{}-{what}", reader.name));
            let _ = fs::write(&kept, bytes);
            panic!("{} {what}: {}", reader.name, kept.display());
        }
    }
}

/// One test, one reader after the other: the memory counted is the whole program's.
#[test]
fn prop_changed_files_give_ground_or_an_error_in_bounded_memory() {
    let named = std::env::var("TUMBLEWOOD_FUZZ").unwrap_or_default();
    let found = written_files(&root().join("tests/fuzz/found"), &["bytes"]);
    for reader in readers() {
        let name = reader.name;
        if !named.is_empty() && !named.split(',').any(|n| n == name) {
            continue;
        }
        for file in &found {
            let what = file.file_name().unwrap_or_default().to_string_lossy();
            if what.split('-').next() == Some(name) {
                let _ = tries(&reader, &what, &fs::read(file).expect("a find"));
            }
        }
        let key = Key::root(61).word(name);
        let seconds = if is_long() { 600 } else { 5 };
        let until = Instant::now() + Duration::from_secs(seconds);
        let (mut round, mut answered) = (0, 0);
        while Instant::now() < until || round < reader.seeds.len() as u64 {
            let seed = &reader.seeds[(round % reader.seeds.len() as u64) as usize];
            let bytes = changed(seed, key, round);
            answered += u64::from(tries(&reader, &round.to_string(), &bytes));
            round += 1;
        }
        assert!(
            answered > 0,
            "{name}: none of {round} was readable, so nothing behind a header was tried"
        );
    }
}
