use std::sync::atomic::AtomicBool;

use super::*;
use crate::{
    felling::{Question, fell},
    forecast::{
        Ask,
        reach_map::{MapAsk, reach_map},
        run,
    },
    job::{Job, Outer},
    report::plan,
    scene,
};

/// The starter's brief, from a few drops.
fn starter() -> (Sheet, Job) {
    brief_of(scene::starter())
}

/// One with a pulled stem.
fn mill_ash() -> (Sheet, Job) {
    brief_of(include_str!("../../../../scenes/mill-ash.ron"))
}

fn brief_of(text: &str) -> (Sheet, Job) {
    let scene = scene::parse(text, "scene.ron").unwrap_or_else(|e| panic!("{e}"));
    let job = Job::load(scene).unwrap_or_else(|e| panic!("{e}"));
    let ask = Ask { drops: 12, grounds: 3, drops_per_ground: 4, ..Ask::default() };
    let run = run(&job, &ask, &AtomicBool::new(false), &|_| {}).expect("a forecast");
    let world = job.world(Outer::Told).expect("a world");
    let ready: Vec<CutReady> =
        (0..job.scene.cuts.len()).map(|i| world.cut(i).expect("a cut")).collect();
    let stamp = crate::report::sample::stamp();
    let turning: Vec<Turning> = ready
        .iter()
        .map(|cut| {
            let question = Question { cut: cut.index, seed: 1, draws: 4 };
            let map = MapAsk { cut: cut.index, drops: 0, seed: 1, law: ask.law };
            let is_pulled = job.scene.lines.iter().any(|line| line.cut() == cut.id);
            let stop = AtomicBool::new(false);
            Turning {
                balance: crate::release::describe(&cut.stand(), &cut.method),
                strap_moment_n_m: Some(1200.0),
                felling: is_pulled.then(|| fell(&job, &question).expect("numbers")),
                reach: is_pulled.then(|| reach_map(&job, &map, &stop, &|_| {}).expect("a map")),
            }
        })
        .collect();
    let brief = Brief {
        scene: &job.scene,
        stamp: &stamp,
        run: &run,
        ready: &ready,
        turning: &turning,
        plan_words: "all",
        turn_rad: 0.0,
    };
    (sheet(&brief), job)
}

fn plan_of(job: &Job, size: (f64, f64)) -> String {
    let world = job.world(Outer::Told).expect("a world");
    let stamp = crate::report::sample::stamp();
    plan::map_alone(
        &plan::Plan {
            title: "plan",
            subtitle: "",
            stamp: &stamp,
            units: job.scene.units,
            site: &world.site,
            ground_words: "",
            patch_words: &[],
            north_words: "north",
            lines: None,
            rings: &[],
            faces: &[plan::FaceArrow { azimuth_rad: 1.0, name: "first" }],
            drops: &[],
            forecast: None,
            standing: None,
        },
        size,
    )
}

fn lines(section: &Section) -> impl Iterator<Item = &Line> {
    section.blocks.iter().filter_map(|block| match block {
        Block::Head(line) | Block::Text(line) | Block::Item(line) | Block::Tick(line) => Some(line),
        Block::Blank(_) => None,
    })
}

#[test]
fn prop_every_number_has_a_note_that_is_there() {
    for (sheet, _) in [starter(), mill_ash()] {
        every_number_has_its_note(&sheet);
    }
}

#[test]
fn prop_a_pulled_stem_is_handed_on_with_its_numbers() {
    let (sheet, _) = mill_ash();
    let section = sheet.sections.iter().find(|s| s.id == "pulled").expect("a section");
    let all: Vec<String> = lines(section).map(Line::words).collect();
    for part in [
        "it sits back",
        "first tension, before the back cut",
        "past balance after a turn of",
        "load on it and its anchor",
        "within your doubts: more than the rope's working load",
        "pull it gives before it spins",
        "If it goes another way: stem as cut lies at most 9.",
        "laid down it comes onto drying-shed",
        "hold the truck on its brakes",
    ] {
        assert!(all.iter().any(|line| line.contains(part)), "{part}: {all:#?}");
    }
    assert!(starter().0.sections.iter().all(|s| s.id != "pulled"));
}

fn every_number_has_its_note(sheet: &Sheet) {
    for section in sheet.sections.iter().filter(|s| s.id != "cautions") {
        for line in lines(section) {
            let mut number = false;
            for stretch in &line.0 {
                match stretch {
                    Stretch::Plain(text) | Stretch::Strong(text) => {
                        number |= text.chars().any(|c| c.is_ascii_digit());
                    }
                    Stretch::Mark(n) => {
                        assert!((1..=sheet.sources.texts().len()).contains(n), "{n}");
                        number = false;
                    }
                }
            }
            // Numbers after the last mark would stand alone.
            assert!(!number, "{}: {}", section.id, line.words());
        }
    }
    let marked: Vec<usize> = sheet
        .sections
        .iter()
        .flat_map(lines)
        .flat_map(|l| &l.0)
        .filter_map(|s| if let Stretch::Mark(n) = s { Some(*n) } else { None })
        .collect();
    for n in 1..=sheet.sources.texts().len() {
        assert!(marked.contains(&n), "note {n} is used nowhere: {}", sheet.sources.texts()[n - 1]);
    }
}

#[test]
fn prop_the_brief_says_what_a_crew_must_read() {
    let (sheet, job) = starter();
    let page = html(&sheet, &plan_of(&job, (400.0, 300.0)));
    for part in [
        crate::report::stamp::NOT_COMPARED,
        "No one goes below a piece that lies on the bank until it is secured",
        "29 CFR 1910.266(h)(1), OSHA, logging (read)",
        "(from memory)",
        "depends on the voltage",
        "Rescue climber",
        "Stop work when",
        "in brackets the count of 12",
        "law soil",
    ] {
        assert!(page.contains(&crate::report::svg::escape(part)), "{part}");
    }
    assert!(page.contains(&sheet.stamp.scene_hash));
    let lower = page.to_lowercase();
    // Nothing is fetched: the only addresses are the names of SVG's own words.
    assert_eq!(lower.matches("http").count(), lower.matches("http://www.w3.org/").count());
    for outside in ["<script", "src=", "@import", "<link"] {
        assert!(!lower.contains(outside), "{outside}");
    }
    // Of people nothing is graded: no energy stands in a line about one.
    for line in sheet.sections.iter().flat_map(lines).map(Line::words) {
        let of_person = line.starts_with("climber is") || line.starts_with("feller is");
        assert!(!of_person || !line.contains("ft·lb"), "{line}");
    }
    assert_eq!(read_stamp(page.as_bytes()).expect("a stamp").seed, sheet.stamp.seed);
}

#[test]
fn prop_pages_hold_every_word_and_stay_on_the_paper() {
    let (sheet, job) = starter();
    for paper in [Paper::A4, Paper::Letter] {
        let (width, height) = paper.size_pt();
        let pages = pages(&sheet, paper, &|size| plan_of(&job, size));
        assert!((1..=4).contains(&pages.len()), "{}", pages.len());
        let all = pages.join("\n");
        for section in &sheet.sections {
            assert!(all.contains(&crate::report::svg::escape(&section.title)), "{}", section.title);
        }
        for (i, page) in pages.iter().enumerate() {
            crate::report::sample::leave(&format!("brief-{paper:?}-{i}"), page);
            let tree = crate::report::png::parse(page).expect("a picture");
            let bounds = tree.root().abs_bounding_box();
            assert!(f64::from(bounds.right()) <= width + 0.5, "{paper:?} {i}: {bounds:?}");
            assert!(f64::from(bounds.bottom()) <= height + 0.5, "{paper:?} {i}: {bounds:?}");
            assert!(page.contains(crate::report::stamp::NOT_COMPARED));
        }
    }
}

#[test]
fn prop_the_pdf_is_the_same_twice_and_carries_its_stamp() {
    let (sheet, job) = starter();
    let make = || pdf(&sheet, Paper::A4, &|size| plan_of(&job, size)).expect("a PDF");
    let once = make();
    assert!(once.starts_with(b"%PDF-"));
    assert_eq!(once, make());
    assert_eq!(read_stamp(&once).expect("a stamp").scene_hash, sheet.stamp.scene_hash);
}
