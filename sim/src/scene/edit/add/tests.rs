use super::*;
use crate::scene::{
    edit::{
        splice::apply,
        things::{all, kind, position_m},
    },
    parse, starter,
};

#[test]
fn prop_every_kind_can_be_put_in() {
    let bare = "(version: 1, name: \"b\", units: Metric, site: (
        terrain: Inline(cell: \"50 m\", columns: 3, rows: 3, south_west: (\"-50 m\", \"-50 m\"),
            heights_m: [0, 0, 0, 0, 0, 0, 0, 0, 0]),
        ground: (soil: DontKnow, cover: Bare, roughness: Lawn, wetness: Dry)),
        tree: (species: \"White oak\", dbh: \"50 cm\", height: \"20 m\"))";
    let mut texts = vec![bare.to_owned(), starter().to_owned()];
    for name in ["lake-oak", "lane-ash", "lidar-slope", "terrace-walnut", "mill-ash"] {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenes/");
        texts.push(std::fs::read_to_string(format!("{folder}{name}.ron")).unwrap());
    }
    for text in &texts {
        let frame = MapFrame { turn_rad: 0.2, unit_m: 1.0 };
        let (mut text, mut scene) = (text.clone(), parse(text, "s").unwrap());
        for at in [DVec2::new(9.0, -6.0), DVec2::new(0.4, 11.0)] {
            for new in New::all() {
                assert_eq!(new.template().new, new);
                // Between the stem and the far end.
                let at = if new == New::Redirect { 0.5 * at } else { at };
                let left_m = scene.standing(scene.cuts.len()).top_m;
                let Ok((splice, thing)) = add(&scene, &frame, &text, new, at, None) else {
                    assert!(matches!(new, New::Cut | New::Top | New::Lowering) && left_m < LEFT_M);
                    continue;
                };
                text = apply(&text, &[splice]).unwrap();
                let before = all(&scene).len();
                scene = parse(&text, "s").unwrap_or_else(|e| panic!("{new:?}: {e}"));
                // A line has a far end, which is a thing of its own.
                let more = 1 + usize::from(new == New::PullLine);
                assert_eq!(all(&scene).len(), before + more);
                if matches!(new, New::Cut | New::Top | New::Limb | New::LimbCut | New::Lowering) {
                    continue;
                }
                let there = position_m(&scene, &frame, &thing).unwrap();
                assert!(there.distance(at) < 0.02, "{new:?}: {there}");
                let words = kind(&scene, &thing);
                assert!(words == new.words() || words == "road or path", "{words}");
            }
        }
        assert!(!text.contains(['{', '@']));
    }
}

#[test]
fn verif_new_cuts_go_down_to_a_stump() {
    let (mut text, frame) = (starter().to_owned(), MapFrame::default());
    for expect in ["18 ft", "12 ft", "6 ft", "1 ft"] {
        let scene = parse(&text, "s").unwrap();
        let at = DVec2::new(3.0, 0.0);
        let (splice, _) = add(&scene, &frame, &text, New::Cut, at, None).unwrap();
        assert!(splice.text.contains("face: \"90 deg\""), "{}", splice.text);
        text = apply(&text, &[splice]).unwrap();
        let found =
            super::super::splice::value(&text, &format!("cuts[{}].piece.from", scene.cuts.len()));
        assert_eq!(found, Some(quoted(expect).as_str()));
    }
}
