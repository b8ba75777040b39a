//! Soil thrown by any drop of a cut, as told or on a drawn ground: outer bounds, no counts.

use crate::{
    forecast::{
        Fate,
        result::{ThrownForecast, ThrownTarget},
    },
    job::CutReady,
    site::Body,
};

/// The outer bounds over all drops, towards people and towards structures whose windows the scene
/// names (`windowed`, by id); nothing where no drop threw soil.
pub(super) fn of<'f>(
    cut: &CutReady,
    windowed: &[&str],
    fates: impl Iterator<Item = &'f Fate>,
) -> Option<ThrownForecast> {
    let is_told = |body: &Body| body.kind.is_person() || windowed.contains(&body.id.as_str());
    let bodies = cut.site.bodies.iter().filter(|body| body.is_target && is_told(body));
    let mut targets: Vec<(&Body, Option<f64>)> = bodies.map(|body| (body, None)).collect();
    let (mut dug_m3, mut radius_m) = (0.0_f64, 0.0_f64);
    for dig in fates.filter_map(Fate::outcome).flat_map(|outcome| &outcome.digs) {
        dug_m3 = dug_m3.max(dig.dug_m3);
        radius_m = radius_m.max(dig.radius_m);
        for (body, least_m) in &mut targets {
            if let Some(short_m) = dig.short_m(body) {
                *least_m = Some(least_m.map_or(short_m, |least| least.min(short_m)));
            }
        }
    }
    (dug_m3 > 0.0).then(|| ThrownForecast {
        dug_m3,
        radius_m,
        targets: targets
            .into_iter()
            .map(|(body, short_m)| ThrownTarget { id: body.id.clone(), short_m })
            .collect(),
    })
}
