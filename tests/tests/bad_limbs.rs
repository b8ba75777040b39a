//! Slips about limbs, tops and their order: each is refused with place, what was read and what is
//! allowed.

use tumblewood::scene;

const GOOD: &str = r#"(
    version: 1,
    name: "limbs",
    units: Metric,
    site: (terrain: Transects(lines: [(id: "down", azimuth: "0 deg", legs: [("20 m", "-20 deg"), ("40 m", "-15 deg")]), (id: "over", azimuth: "90 deg", legs: [("20 m", "0 deg"), ("40 m", "1 deg")])]),
           ground: (soil: ThumbIndents, cover: Bare, roughness: Lawn, wetness: Dry)),
    tree: (species: "White oak", dbh: "50 cm", height: "20 m", limbs: [
        (id: "low", height: "6 m", azimuth: "90 deg", angle: "20 deg", length: "5 m", diameter: "16 cm", brush: Usual),
        (id: "high", height: "9 m", azimuth: "200 deg", angle: "40 deg", length: "3 m", diameter: "10 cm"),
    ], crown: (from: "11 m", spread: "2 m")),
    cuts: [
        (id: "tip", piece: Limb(limb: "low", at: "2 m"), release: UnderAndTop(under: "30 %")),
        (id: "rest", piece: Limb(limb: "low", at: "10 cm"), release: Hinge(face: "90 deg", opening: "70 deg", depth: "30 %", hinge: "1 cm")),
        (id: "head", piece: Top(from: "10 m"), release: Hinge(face: "0 deg", opening: "70 deg", depth: "30 %", hinge: "2 cm")),
        (id: "mid", piece: Section(from: "7 m", to: "10 m"), release: PushOver(toward: "0 deg")),
    ],
)"#;

/// What is put for what, the path it is refused at, and what the refusal says.
#[rustfmt::skip]
const BAD: &[(&str, &str, &str, &str, &str)] = &[
    ("brush: Usual", "brush: Leafy", "tree.limbs[0].brush", "unknown word", "Weighs"),
    ("brush: Usual", "brush: Weighs(\"9 m\")", "tree.limbs[0].brush", "no unit of", "kg"),
    ("brush: Usual", "leaves: 3", "tree.limbs[0].leaves", "unknown field", "brush"),
    ("angle: \"20 deg\"", "angle: \"120 deg\"", "tree.limbs[0].angle", "beyond what is plausible", "85"),
    ("height: \"6 m\"", "height: \"26 m\"", "tree.limbs[0].height", "above the top", "20 m"),
    ("diameter: \"16 cm\"", "diameter: \"90 cm\"", "tree.limbs[0].diameter", "thicker than the stem", "at most"),
    ("id: \"high\"", "id: \"low\"", "tree.limbs[1].id", "taken", "of its own"),
    ("from: \"11 m\", spread", "from: \"21 m\", spread", "tree.crown.from", "begins above the top", "below 20 m"),
    ("Limb(limb: \"low\", at: \"2 m\")", "Limb(limb: \"left\", at: \"2 m\")", "cuts[0].piece.limb", "no limb \"left\"", "low, high"),
    ("Limb(limb: \"low\", at: \"2 m\")", "Limb(limb: \"low\", at: \"5 m\")", "cuts[0].piece.at", "beyond the limb's tip", "at most"),
    // The order of cuts.
    ("Limb(limb: \"low\", at: \"10 cm\")", "Limb(limb: \"low\", at: \"3 m\")", "cuts[1].piece.limb", "was cut 2 m from the bark by the cut \"tip\" before", "another order"),
    ("Section(from: \"7 m\", to: \"10 m\"), release: PushOver(toward: \"0 deg\")", "Limb(limb: \"high\", at: \"1 m\"), release: UnderAndTop(under: \"30 %\")", "", "", ""),
    ("Top(from: \"10 m\")", "Top(from: \"8 m\")", "cuts[3].piece.to", "what the cut \"head\" leaves", "at most 8 m"),
    ("Top(from: \"10 m\")", "Top(from: \"20 m\")", "cuts[2].piece.from", "above the top of what stands", "less than 20 m"),
    // Releases.
    ("release: UnderAndTop(under: \"30 %\")", "release: PushOver(toward: \"90 deg\")", "cuts[0].release", "not snapped or pushed off", "UnderAndTop"),
    ("release: PushOver(toward: \"0 deg\")", "release: UnderAndTop(under: \"30 %\")", "cuts[3].release", "on the stem", "it is for limbs"),
    ("Hinge(face: \"90 deg\"", "Hinge(face: \"200 deg\"", "cuts[1].release.face", "does not fall to", "within 45° of 90°"),
    ("UnderAndTop(under: \"30 %\")", "UnderAndTop(under: \"90 %\")", "cuts[0].release.under", "beyond what is plausible", "5 % to 70 %"),
    ("hinge: \"1 cm\"", "hinge: \"15 cm\"", "cuts[1].release.hinge", "thicker than the stem", "less than"),
];

#[test]
fn verif_slips_about_limbs_are_refused_with_place_and_words() {
    scene::parse(GOOD, "job.ron").unwrap_or_else(|e| panic!("{e}"));
    for (find, put, path, what, allowed) in BAD {
        assert!(GOOD.contains(find), "{find:?}");
        let text = GOOD.replacen(find, put, 1);
        let refused = scene::parse(&text, "job.ron").err();
        if path.is_empty() {
            assert!(refused.is_none(), "{put:?} is right: {refused:?}");
            continue;
        }
        let problem = refused.and_then(|e| e.problem().cloned());
        let problem = problem.unwrap_or_else(|| panic!("{put:?} is not refused"));
        let said = problem.to_string();
        assert!(said.starts_with("job.ron:"), "{said}");
        assert_eq!(problem.path, *path, "{said}");
        assert!(said.contains(what) && said.contains(allowed), "{put:?}: {said}");
    }
}

/// A limb that came down with a piece is gone, and the refusal says with which.
#[test]
fn verif_a_limb_that_came_down_with_a_piece_is_refused() {
    let text = GOOD.replacen(
        "Section(from: \"7 m\", to: \"10 m\"), release: PushOver(toward: \"0 deg\")",
        "Section(from: \"7 m\", to: \"10 m\"), release: PushOver(toward: \"0 deg\")), \
         (id: \"late\", piece: Limb(limb: \"high\", at: \"1 m\"), \
         release: UnderAndTop(under: \"30 %\")",
        1,
    );
    let error = scene::parse(&text, "job.ron").unwrap_err();
    let problem = error.problem().unwrap();
    assert_eq!(problem.path, "cuts[4].piece.limb");
    assert!(problem.what.contains("on the piece of the cut \"mid\""), "{problem}");
}
