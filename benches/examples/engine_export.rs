//! Writes the firm bank and its initial states for another engine into a folder.
//!
//! `cargo run --release -p tumblewood-benches --example engine_export FOLDER [DROPS] [FINE]`:
//! DROPS of each case (200), FINE nodes of the height field per lattice cell of the bumps (1).

fn main() -> std::io::Result<()> {
    let mut args = std::env::args().skip(1);
    let folder = args.next().ok_or_else(|| std::io::Error::other("needs a folder"))?;
    let mut number = |or: u64| args.next().and_then(|text| text.parse().ok()).unwrap_or(or);
    let (drops, fine) = (number(200), number(1));
    tumblewood_benches::engine::export(folder.as_ref(), drops, fine.max(1) as usize)
}
