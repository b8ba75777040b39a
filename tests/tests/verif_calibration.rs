//! Honest doubt: simulation-based calibration of whole forecasts on invented jobs, and what is left
//! of it where the truth follows another law.
//!
//! Draw a truth, note it down as surely as the notes say, forecast from the notes, drop the true
//! piece once and rank it among the forecast's drops (Talts et al. 2018, arXiv 1804.06788; how
//! truths and notes are drawn so that the forecast's draws are the posterior: `invented::notes`).
//! Each drop of the forecast has a ground of its own, as `forecast` draws them: one per ground.
//!
//! What is not exact: of ground whose traction may or may not be limited, the forecast takes
//! exactly half, where chance would take half on average. That moves the distribution of places by
//! half a hundredth at most.
//!
//! The tables of a full run are kept in `tests/calibration.md`:
//! `TUMBLEWOOD_LONG=1 TUMBLEWOOD_TABLES=write cargo test -p tumblewood-tests --test verif_calibration`.

#![allow(clippy::print_stdout, reason = "figures beside the verdict, for whoever looks")]

use std::{collections::BTreeMap, fmt::Write as _, fs, sync::atomic::AtomicBool};

use rayon::prelude::*;
use tumblewood::{
    drop::{Ending, GroundLaw},
    forecast::{Ask, replay, run},
    ground::{Between, Cover, GroundWords, SoilWord, TopLayer, Wetness},
    job::Outer,
    keyed::Key,
    outcome::Outcome,
};
use tumblewood_tests::{
    invented::{HEELS, Invented, Other, THUMBS},
    proof::{is_long, unless_long},
    ranks::{Share, chi_square, kolmogorov, kolmogorov_limit, place},
    root,
    table::{Allowed, Check, Table, page},
};

const SEED: u64 = 1804;
const PAGE: &str = "calibration.md";

/// A number of a drop that truths are ranked by.
struct Ranked {
    name: &'static str,
    of: fn(&Outcome) -> f64,
}

/// What is ranked. A piece that sits back is below all that leave; a drop that was lost ran
/// further than all that came to rest.
const RANKED: [Ranked; 4] = [
    Ranked {
        name: "rollout",
        of: |o| if o.ending == Ending::Rest { o.rollout_m } else { f64::INFINITY },
    },
    Ranked {
        name: "where it lands, from the stump",
        of: |o| o.first_touch.map_or(f64::INFINITY, |t| t.point_m.truncate().length()),
    },
    Ranked { name: "where it ends, east of the stump", of: |o| o.end_m.x },
    Ranked { name: "greatest height over the ground", of: |o| o.height_over_ground_m },
];

fn value(k: usize, outcome: Option<&Outcome>) -> f64 {
    outcome.map_or(f64::NEG_INFINITY, RANKED[k].of)
}

/// Words of ground whose soil or cover has a strength that can limit traction.
fn can_limit(words: GroundWords) -> Option<GroundWords> {
    let wet = GroundWords { wetness: Wetness::Wet, ..words };
    wet.ranges().iter().any(|row| row.path == "soil.adhesion").then_some(words)
}

/// The forecast's own law, then others.
const OTHERS: [Other; 10] = [
    Other::NONE,
    Other { name: "rigid ground", law: GroundLaw::Rigid, ..Other::NONE },
    Other {
        name: "noted dry, and yet traction is limited by the soil's strength",
        words: |job| can_limit(job.words).filter(|words| words.wetness == Wetness::Dry),
        // The range of ground that is noted wet.
        ground: |ground, key| ground.adhesion = Some(0.3 + 0.7 * key.word("adhesion").uniform()),
        ..Other::NONE
    },
    Other {
        name: "noted wet, and yet traction is friction alone",
        words: |job| can_limit(job.words).filter(|words| words.wetness == Wetness::Wet),
        ground: |ground, _| ground.adhesion = None,
        ..Other::NONE
    },
    Other {
        name: "litter or turf twice as deep as noted",
        words: |job| {
            let twice =
                |b: Between| Between { low: 2.0 * b.low, told: 2.0 * b.told, high: 2.0 * b.high };
            let cover = match job.words.cover {
                Cover::Litter(Some(depth)) => Cover::Litter(Some(twice(depth))),
                Cover::Turf(Some(depth)) => Cover::Turf(Some(twice(depth))),
                _ => return None,
            };
            Some(GroundWords { cover, ..job.words })
        },
        ..Other::NONE
    },
    Other {
        name: "nothing on the soil where litter or turf was noted",
        words: |job| {
            let noted = matches!(job.words.cover, Cover::Litter(Some(_)) | Cover::Turf(Some(_)));
            let cover = Cover::Bare;
            noted.then_some(GroundWords { cover, ..job.words })
        },
        ..Other::NONE
    },
    Other {
        name: "30 cm of brush on whatever was noted",
        ground: |ground, _| {
            // The middle of the table's brush mats.
            ground.top =
                Some(TopLayer { thickness_m: 0.3, shear_strength_pa: 2.2e3, friction: 0.7 });
            ground.restitution = 0.05;
        },
        ..Other::NONE
    },
    Other { name: "soil one word weaker than noted", words: |job| soil(job, 1), ..Other::NONE },
    Other { name: "soil one word stronger than noted", words: |job| soil(job, -1), ..Other::NONE },
    Other { name: "measured and paced numbers as far off as by eye", eyed: true, ..Other::NONE },
];

/// The words with soil that many words weaker, where it was noted and there is such a word.
fn soil(job: &Invented, weaker: isize) -> Option<GroundWords> {
    fn next<T: Copy + PartialEq>(all: &[T], word: T, by: isize) -> Option<T> {
        let here = all.iter().position(|w| *w == word)?;
        all.get(here.checked_add_signed(by)?).copied()
    }
    let soil = match job.job.scene.site.ground.soil {
        SoilWord::Thumb(word) => SoilWord::Thumb(next(&THUMBS, word, -weaker)?),
        SoilWord::Heel(word) => SoilWord::Heel(next(&HEELS, word, weaker)?),
        _ => return None,
    };
    Some(GroundWords { soil, ..job.words })
}

/// How much is run.
struct Size {
    jobs: u64,
    /// Drops of each forecast, one on each ground.
    grounds: u64,
    /// Drops of each on the ground as told alone.
    told: u64,
    /// Draws that true inputs are ranked among.
    inputs: u64,
    /// Jobs, the first ones, whose truths of other laws are dropped too.
    others: u64,
    bins: usize,
}

/// Places of one job's truths among its forecast's drops.
struct Places {
    /// By [`OTHERS`] and [`RANKED`], where the truth can differ so.
    others: Vec<Option<[f64; RANKED.len()]>>,
    /// Of the forecast's own law among drops on the ground as told alone.
    told: [f64; RANKED.len()],
    /// By input path.
    inputs: BTreeMap<String, f64>,
    /// Of all inputs added up.
    sum: f64,
}

fn places(number: u64, size: &Size) -> Places {
    let invented = Invented::new(SEED, number);
    let key = Key::root(SEED).word("places").number(number);
    let ask = Ask {
        cuts: vec![0],
        drops: size.told as u32,
        grounds: 0,
        seed: key.word("forecast").raw(),
        ..Ask::default()
    };
    let outer = |index| Outer::Drawn { seed: ask.seed, index };
    let fates: Vec<Option<Outcome>> = (0..size.grounds)
        .map(|index| {
            let drop = replay(&invented.job, &ask, outer(index), 0, 0, f64::INFINITY);
            drop.expect("a drawn ground").what.ok().map(|(_, outcome)| outcome)
        })
        .collect();
    let as_told = run(&invented.job, &ask, &AtomicBool::new(false), &|_| {}).expect("as told");
    let as_told: Vec<Option<&Outcome>> = as_told.told[0].1.iter().map(|f| f.outcome()).collect();
    let drops: Vec<Option<&Outcome>> = fates.iter().map(Option::as_ref).collect();
    let among = |truth: Option<&Outcome>, drops: &[Option<&Outcome>], key: Key| {
        std::array::from_fn(|k| {
            let draws: Vec<f64> = drops.iter().map(|d| value(k, *d)).collect();
            place(value(k, truth), &draws, key.number(k as u64))
        })
    };
    let truths: Vec<Option<Option<Outcome>>> = OTHERS
        [..if number < size.others { OTHERS.len() } else { 1 }]
        .iter()
        .map(|other| invented.drop_once(other))
        .collect();
    let others = (0..)
        .zip(&truths)
        .map(|(i, t)| Some(among(t.as_ref()?.as_ref(), &drops, key.word("other").number(i))))
        .collect();
    let own = truths[0].as_ref().and_then(Option::as_ref);
    let (inputs, sum) = inputs(&invented, size.inputs, &outer, key.word("inputs"));
    Places { others, told: among(own, &as_told, key.word("told")), inputs, sum }
}

/// Places of true inputs among the forecast's draws of them, where all have that input: which word
/// a ground was drawn by decides which numbers it has. And the place of their sum, each in its own
/// spread: inputs that are drawn alike, each even by itself, make sums too wide.
fn inputs(
    invented: &Invented,
    draws: u64,
    outer: &dyn Fn(u64) -> Outer,
    key: Key,
) -> (BTreeMap<String, f64>, f64) {
    let worlds: Vec<BTreeMap<String, f64>> = (0..draws)
        .map(|index| invented.job.world(outer(index)).expect("a drawn world").inputs)
        .collect();
    let mut seen = BTreeMap::new();
    let (mut true_sum, mut sums) = (0.0, vec![0.0; worlds.len()]);
    for (path, truth) in &invented.truths {
        let drawn: Option<Vec<f64>> = worlds.iter().map(|w| w.get(path).copied()).collect();
        let Some(drawn) = drawn else { continue };
        seen.insert(path.clone(), place(*truth, &drawn, key.word(path)));
        // Mean and spread of truth and draws together, so that none stands apart.
        let n = drawn.len() as f64 + 1.0;
        let mean = (drawn.iter().sum::<f64>() + truth) / n;
        let off = |x: f64| (x - mean) * (x - mean);
        let spread = ((drawn.iter().map(|x| off(*x)).sum::<f64>() + off(*truth)) / n).sqrt();
        if spread > 0.0 {
            true_sum += (truth - mean) / spread;
            sums.iter_mut().zip(&drawn).for_each(|(sum, x)| *sum += (x - mean) / spread);
        }
    }
    // What every draw has the truth has too, or a number would go unchecked; but a soil that
    // nobody tested may be loose in truth and hold together in each of a few draws.
    for path in worlds[0].keys().filter(|p| worlds.iter().all(|w| w.contains_key(*p))) {
        let by_chance = path.starts_with("site.ground.soil.");
        assert!(seen.contains_key(path) || by_chance, "{path} has no truth");
    }
    (seen, place(true_sum, &sums, key))
}

/// Even or not, as the tables show it.
struct Evenness {
    name: String,
    places: Vec<f64>,
}

impl Evenness {
    fn row(&self, bins: usize) -> String {
        let Self { name, places } = self;
        let ((square, by_chance), (distance, too)) = (chi_square(places, bins), kolmogorov(places));
        format!(
            "| {name} | {} | {square:.1} ({by_chance:.3}) | {distance:.3} ({too:.3}) | {} | {} |",
            places.len(),
            Share::middle(places, 0.5).text(),
            Share::middle(places, 0.9).text()
        )
    }
}

#[test]
fn verif_truths_rank_among_drops_as_one_more_drop() {
    let jobs = unless_long("jobs of the calibration", 40, 100);
    let size = if is_long() {
        Size { jobs, grounds: 60, told: 20, inputs: 20, others: jobs, bins: 20 }
    } else {
        Size { jobs, grounds: 20, told: 2, inputs: 20, others: 2, bins: 5 }
    };
    let all: Vec<Places> = (0..size.jobs as u32)
        .into_par_iter()
        .with_max_len(1)
        .map(|n| places(n.into(), &size))
        .collect();

    let mut rows: Vec<Evenness> = (0..RANKED.len())
        .map(|k| Evenness {
            name: RANKED[k].name.to_owned(),
            places: all.iter().filter_map(|p| p.others[0].map(|own| own[k])).collect(),
        })
        .collect();
    let mut by_input: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for (path, place) in all.iter().flat_map(|p| &p.inputs) {
        by_input.entry(path).or_default().push(*place);
    }
    let enough = by_input.iter().filter(|(_, places)| places.len() >= 20);
    let mut worst: Vec<(f64, &str)> = enough.map(|(path, p)| (kolmogorov(p).1, *path)).collect();
    worst.sort_by(|a, b| a.0.total_cmp(&b.0));
    println!("inputs: {worst:.4?}");
    rows.push(Evenness {
        name: format!("all {} inputs, each by itself", by_input.len()),
        places: by_input.values().flatten().copied().collect(),
    });
    rows.push(Evenness {
        name: "all inputs of a job added up".to_owned(),
        places: all.iter().map(|p| p.sum).collect(),
    });
    for row in &rows {
        println!("{}", row.row(size.bins));
    }

    let mut check = Check::new(
        Table::Equations,
        "verif_calibration::verif_truths_rank_among_drops_as_one_more_drop",
        "truths drawn, noted at their stated doubt, forecast from the notes and dropped once: how \
         far the distribution of their places among the forecast's drops is from even; 40 invented \
         jobs by 20 drops, 100 by 60 in calibration.md. It says that doubt is drawn as it is \
         stated, not that grounds are so",
        "simulation-based calibration (Talts et al. 2018, arXiv 1804.06788): even, by \
         Kolmogorov's and the χ² test at 1 % for all of them together",
    );
    // One in a hundred for all the tests together.
    let level = 0.01 / (4 * rows.len() + 1) as f64;
    for Evenness { name, places } in &rows {
        let limit = kolmogorov_limit(places.len(), level);
        check.near(name, "", kolmogorov(places).0, 0.0, Allowed::By(limit));
        let (square, by_chance) = chi_square(places, size.bins);
        let seen = format!("χ² {square:.1}");
        check.holds(name, by_chance > level, &seen);
        for middle in [0.5, 0.9] {
            let share = Share::middle(places, middle);
            let [low, high] = share.interval(level);
            let seen = format!("{} in the middle {middle}", share.text());
            check.holds(name, (low..=high).contains(&middle), &seen);
        }
    }
    let tests = worst.len() as f64;
    if let Some((by_chance, path)) = worst.first() {
        check.holds("the oddest input", by_chance * tests > level, path);
    }
    if is_long() {
        page(PAGE, &written(&all, &rows, &size));
    }
    check.end();
}

/// The page of a full run.
fn written(all: &[Places], rows: &[Evenness], size: &Size) -> String {
    let mut text = format!(
        "# How honest the doubt is\n\n\
         Made by `verif_calibration` on the law {}: {} invented jobs, each noted at a stated doubt, \
         forecast\nfrom its notes on {} drawn grounds with a drop on each, and dropped once as it \
         truly is. The truth's\nplace among the forecast's drops should be any place as likely. \
         Shares stand with what holds the\ntrue share in 95 % of samples (Clopper & Pearson 1934). \
         Written anew by\n\n```\n{COMMAND}\n```\n\n",
        GroundLaw::Soil.name(),
        size.jobs,
        size.grounds
    );
    text += "## Truths of the forecast's own law\n\n\
         Whether doubt is drawn as it is stated (Talts et al. 2018, arXiv 1804.06788). It says \
         nothing about\nthe law, which truth and forecast share.\n\n\
         | what is ranked | places | χ² of 20 bins (by chance) | Kolmogorov's distance (by chance) | \
         in the middle 50 % | in the middle 90 % |\n|---|---|---|---|---|---|\n";
    for row in rows {
        writeln!(text, "{}", row.row(size.bins)).expect("a string");
    }
    text += "\n## Truths of other laws\n\n\
         The honest figure: how often the true rollout is in the middle 50 % and the middle 90 % of \
         the\nforecast's drops where the ground is not what the notes and the law make of it. \
         \"Further\" is past 95\nin 100 of the forecast's drops, where 5 % belong.\n\n\
         | what is otherwise | jobs | in the middle 50 % | in the middle 90 % | further |\n\
         |---|---|---|---|---|\n";
    let mut row = |name: &str, places: &[f64]| {
        let further = Share::of(places, |p| p > 0.95).text();
        let [half, most] = [0.5, 0.9].map(|m| Share::middle(places, m).text());
        writeln!(text, "| {name} | {} | {half} | {most} | {further} |", places.len())
            .expect("a string");
    };
    for (i, other) in OTHERS.iter().enumerate() {
        let places: Vec<f64> =
            all.iter().filter_map(|p| Some(p.others.get(i)?.as_ref()?[0])).collect();
        row(other.name, &places);
    }
    let told: Vec<f64> = all.iter().map(|p| p.told[0]).collect();
    row("none, but forecast on the ground as told alone, 20 drops", &told);
    text
}

const COMMAND: &str = "TUMBLEWOOD_LONG=1 TUMBLEWOOD_TABLES=write \\\n  \
                       cargo test -p tumblewood-tests --test verif_calibration";

/// A page of another law is of no use: run the long tests again.
#[test]
fn prop_the_page_is_of_todays_law() {
    if is_long() {
        // The full run compares or writes the whole page.
        return;
    }
    let text = fs::read_to_string(root().join("tests").join(PAGE)).expect("the page");
    let law = GroundLaw::Soil.name();
    let is_of_it = text.contains(&format!("on the law {law}:"));
    assert!(is_of_it, "tests/{PAGE} is not of the law {law}; this writes it anew:\n{COMMAND}");
}
