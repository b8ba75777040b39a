//! What `check` says of limbs, of what stands close to the tree, and of how limbs are let go.

use tumblewood::{
    drop::near::{clearance_m, gap_m},
    job::{CutReady, World},
    quantity::Units,
    release::{Balance, Method, Stand},
    report::{cut_words::length, units::decimals},
    scene::model::{BrushSpec, PieceSpec},
    site::{Body, BodyKind},
    tree::LimbPart,
};

use super::{Failure, check::Page};

/// Nothing is said of trees further from one another than this, m.
const CLOSE_M: f64 = 30.0;

/// The limbs of the tree, and its crown.
pub(super) fn limbs(page: &mut Page, world: &World, units: Units) {
    let tree = &world.scene.tree;
    for (spec, limb) in tree.limbs.iter().zip(world.limbs()) {
        let wood_kg = limb.wood_m3() * world.stem.density_kg_m3;
        let brush = match spec.brush {
            BrushSpec::Share(share) if share.told <= 0.0 => "bare".to_owned(),
            _ => format!("{} of brush", units.mass(limb.brush_kg)),
        };
        page.line(format!(
            "  limb {}: {} up, toward {}°, {}° above level, {} long, {} thick; wood {}, {brush}",
            spec.id,
            units.length(spec.height_m.told),
            decimals(spec.azimuth_rad.told.to_degrees(), 0),
            decimals(spec.angle_rad.told.to_degrees(), 0),
            units.length(limb.length_m),
            units.diameter(limb.diameter_m),
            units.mass(wood_kg),
        ));
    }
    if let Some(crown) = &tree.crown {
        let limbs = world.limbs().get(tree.limbs.len()..).unwrap_or_default();
        let kg: f64 =
            limbs.iter().map(|l| l.wood_m3() * world.stem.density_kg_m3 + l.brush_kg).sum();
        page.line(format!(
            "  crown from {} up, reaching {}: {} of limbs and brush, by the branch share of \
             forest-grown trees (Jenkins et al. 2003) times {}, less the limbs listed; by species it may \
             be half or twice that",
            units.length(crown.from_m.told),
            units.length(crown.spread_m.told),
            units.mass(kg),
            decimals(crown.factor.told, 1),
        ));
    }
}

/// How far the tree, as it stands, is from each tree that stays, and those from one another.
pub(super) fn clearances(page: &mut Page, world: &World, units: Units) -> Result<(), Failure> {
    let keep: Vec<&Body> =
        world.site.bodies.iter().filter(|b| b.kind == BodyKind::KeepTree).collect();
    if keep.is_empty() {
        return Ok(());
    }
    let scene = &world.scene;
    let top_m = scene.standing(0).top_m.min(world.stem.top_m());
    let parts: Vec<LimbPart> = world
        .limbs()
        .iter()
        .filter(|limb| limb.height_m <= top_m)
        .map(|limb| LimbPart { limb: *limb, to_m: limb.length_m })
        .collect();
    let whole = world
        .stem
        .limbed_section(0.0, top_m, &[], &parts)
        .map_err(tumblewood::job::JobError::from)?;
    let stand = Stand::on(&world.stem, &whole, 0.0, glam::DVec3::ZERO);
    let said = |gap_m: f64| {
        if gap_m > 0.0 { units.distance(gap_m) } else { "none, they touch".to_owned() }
    };
    for (i, tree) in keep.iter().enumerate() {
        let gap_m = gap_m(&whole.piece, &stand.motion(), tree);
        if gap_m < CLOSE_M {
            page.line(format!("  clearance between the tree and {}: {}", tree.id, said(gap_m)));
        }
        for other in keep.iter().skip(i + 1) {
            let gap_m = clearance_m(tree, other);
            if gap_m < CLOSE_M {
                page.line(format!(
                    "  clearance between {} and {}: {}",
                    tree.id,
                    other.id,
                    said(gap_m)
                ));
            }
        }
    }
    Ok(())
}

/// What limbs and hollows make of a cut.
pub(super) fn of_cut(
    page: &mut Page,
    world: &World,
    ready: &CutReady,
    balance: &Balance,
    units: Units,
) {
    let brush = &ready.section.piece.brush;
    if let Some(PieceSpec::Limb { limb, at_m }) =
        world.scene.cuts.get(ready.index).map(|cut| &cut.piece)
    {
        let id = world.scene.tree.limbs.get(*limb).map_or("", |limb| limb.id.as_str());
        page.line(format!("      limb {id}, cut {} from the bark", length(at_m.told, units)));
    }
    if !brush.is_empty() {
        page.line(format!(
            "      brush {}, showing the wind {} m² in still air",
            units.mass(brush.mass_kg()),
            decimals(brush.drag_area_m2(), 1)
        ));
    }
    if ready.decay_share > 0.0 {
        page.line(format!(
            "      the hinge stands in hollow wood: {} in 100 of its width are gone; in as many \
             drops it is let break early and steers no more (ours)",
            decimals(100.0 * ready.decay_share, 0)
        ));
    }
    if let Method::UnderAndTop(spec) = &ready.method {
        let radius_m = ready.stand().cut_radius_m;
        page.line(match spec.tears_at_m(radius_m, balance.weight_moment_n_m) {
            Some(left_m) => format!(
                "      tears when {} of wood are left between the cuts",
                length(left_m, units)
            ),
            None => "      the under cut is too deep: it breaks there before the top cut is begun"
                .to_owned(),
        });
    }
}
