//! Other crates' readers that panic on bytes they don't expect: caught, and told as an error.
//!
//! Crate `laz` asserts what a packed file must hold (found by `fuzz_terrain`). The hook that prints
//! a panic is kept for every other one.

use std::{
    cell::Cell,
    panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook},
    sync::Once,
};

thread_local! {
    static CAUGHT: Cell<bool> = const { Cell::new(false) };
}

/// What `read` gives; nothing if it panics. State that `read` changed is not to be used after that.
pub(crate) fn caught<T>(read: impl FnOnce() -> T) -> Option<T> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before = take_hook();
        set_hook(Box::new(move |panic| {
            if !CAUGHT.get() {
                before(panic);
            }
        }));
    });
    let outer = CAUGHT.replace(true);
    let result = catch_unwind(AssertUnwindSafe(read));
    CAUGHT.set(outer);
    result.ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verif_a_panic_is_nothing_and_the_next_read_is_as_before() {
        assert_eq!(caught(|| [1, 2, 3].iter().sum::<i32>()), Some(6));
        let empty: Vec<i32> = Vec::new();
        assert_eq!(caught(|| empty[std::hint::black_box(3)]), None);
        assert_eq!(caught(|| 1), Some(1));
    }
}
