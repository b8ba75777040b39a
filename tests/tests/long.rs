//! What takes too long for every run: `tests/run long`.

use glam::DVec2;
use tumblewood::{keyed::Key, terrain::Grid};

/// Neighbours in a series of keys are how drops, grounds and inputs follow each other: a
/// correlation between them would show up as drops that resemble their neighbours.
#[test]
fn verif_neighbouring_keys_draw_independent_numbers() {
    const DRAWS: u64 = 20_000_000;
    let root = Key::root(3);
    let place = |i: u64| root.number(i).word("heading").uniform() - 0.5;
    let (mut at_once, mut next, mut tenth) = (0.0, 0.0, 0.0);
    for i in 0..DRAWS {
        let here = place(i);
        at_once += here * root.number(i).word("speed").uniform() - 0.5 * here;
        next += here * place(i + 1);
        tenth += here * place(i + 10);
    }
    // The product of two independent uniform numbers about zero has a variance of 1/144.
    let five_errors = 5.0 * (DRAWS as f64).sqrt() / 12.0;
    for sum in [at_once, next, tenth] {
        assert!(sum.abs() < five_errors, "{sum} against {five_errors}");
    }
}

/// Any grid, any place: a height lies between those of the four nodes round it, and off the grid
/// there is none.
#[test]
fn prop_heights_lie_between_their_nodes() {
    for shape in 0..20_000 {
        let key = Key::root(11).number(shape);
        let whole = |word: &str, most: f64| (key.word(word).uniform() * most) as usize + 2;
        let (nx, ny) = (whole("nx", 40.0), whole("ny", 40.0));
        let heights_m: Vec<f32> = (0..nx * ny)
            .map(|k| (1e3 * (key.word("height").number(k as u64).uniform() - 0.5)) as f32)
            .collect();
        let cell_m = 0.1 + 5.0 * key.word("cell").uniform();
        let origin_m = 1e3 * DVec2::new(key.word("x").uniform() - 0.5, key.word("y").uniform());
        let grid = Grid { origin_m, cell_m, nx, ny, heights_m };
        for place in 0..200 {
            let at = key.word("place").number(place);
            let u = (at.number(0).uniform() * 1.2 - 0.1) * (nx - 1) as f64;
            let v = (at.number(1).uniform() * 1.2 - 0.1) * (ny - 1) as f64;
            let found = grid.surface(origin_m.x + u * cell_m, origin_m.y + v * cell_m);
            // A place within rounding of the edge may fall on either side of it.
            let inside = |w: f64, n: usize| w > 1e-9 && w < (n - 1) as f64 - 1e-9;
            let outside = |w: f64, n: usize| w < -1e-9 || w > (n - 1) as f64 + 1e-9;
            if outside(u, nx) || outside(v, ny) {
                assert_eq!(found, None);
            } else if inside(u, nx) && inside(v, ny) {
                let height_m = found.expect("a place on the grid has a height").height_m;
                // The cell's four nodes: rounding can only matter at a node, where both cells agree.
                let (i, j) = (u as usize, v as usize);
                let near = [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)]
                    .map(|(i, j)| f64::from(grid.heights_m[j * nx + i]));
                let low = near.iter().copied().fold(f64::INFINITY, f64::min);
                let high = near.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                assert!(
                    (low - 1e-6..=high + 1e-6).contains(&height_m),
                    "{height_m} at {u}, {v}: {low} to {high}"
                );
            }
        }
    }
}
