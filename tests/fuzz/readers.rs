//! One reader of untrusted files under libFuzzer; `tests/fuzz/run` starts it.
//!
//! `TUMBLEWOOD_FUZZ=csv` names the reader, `TUMBLEWOOD_SEEDS` a folder for the files to begin from.
#![no_main]

use std::{env, fs, path::PathBuf};

use libfuzzer_sys::fuzz_target;
use tumblewood_tests::fuzz::{Counting, Reader, readers};

#[global_allocator]
static ALLOCATOR: Counting = Counting;

thread_local! {
    static READER: Reader = {
        let name = env::var("TUMBLEWOOD_FUZZ").unwrap_or_default();
        let reader = readers().into_iter().find(|reader| reader.name == name);
        reader.expect("TUMBLEWOOD_FUZZ is the name of a reader")
    };
}

fuzz_target!(
    init: {
        let folder = PathBuf::from(env::var("TUMBLEWOOD_SEEDS").expect("TUMBLEWOOD_SEEDS"));
        READER.with(|reader| {
            for (k, seed) in reader.seeds.iter().enumerate() {
                fs::write(folder.join(k.to_string()), seed).expect("written");
            }
        });
    },
    |bytes: &[u8]| {
        let _ = READER.with(|reader| reader.read(bytes));
    }
);
