//! Where labels go: beside their thing, over nothing that matters.

/// A rectangle on the page, px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Box {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Box {
    pub(crate) fn around(x: f64, y: f64, half_width: f64, half_height: f64) -> Self {
        Self {
            left: x - half_width,
            top: y - half_height,
            right: x + half_width,
            bottom: y + half_height,
        }
    }

    fn overlap(&self, other: &Self) -> f64 {
        let width = self.right.min(other.right) - self.left.max(other.left);
        let height = self.bottom.min(other.bottom) - self.top.max(other.top);
        width.max(0.0) * height.max(0.0)
    }

    pub(crate) fn holds(&self, x: f64, y: f64) -> bool {
        x >= self.left && x <= self.right && y >= self.top && y <= self.bottom
    }

    pub(crate) fn middle(&self) -> (f64, f64) {
        ((self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0)
    }
}

/// What is taken on the map so far.
#[derive(Clone, Debug)]
pub(crate) struct Labels {
    bounds: Box,
    taken: Vec<Box>,
    busy: Vec<(f64, f64)>,
}

impl Labels {
    pub(crate) fn new(bounds: Box) -> Self {
        Self { bounds, taken: Vec::new(), busy: Vec::new() }
    }

    /// Nothing may cover this.
    pub(crate) fn take(&mut self, area: Box) {
        self.taken.push(area);
    }

    /// Better not covered.
    pub(crate) fn avoid(&mut self, x: f64, y: f64) {
        self.busy.push((x, y));
    }

    /// The cost of covering an area: 0 is free; what is forbidden costs at least 1000.
    pub(crate) fn cost(&self, area: &Box) -> f64 {
        let b = &self.bounds;
        let outside = (b.left - area.left).max(0.0)
            + (area.right - b.right).max(0.0)
            + (b.top - area.top).max(0.0)
            + (area.bottom - b.bottom).max(0.0);
        let covered: f64 = self.taken.iter().map(|t| t.overlap(area)).sum();
        let busy = self.busy.iter().filter(|&&(x, y)| area.holds(x, y)).count();
        let forbidden = if outside > 0.0 || covered > 0.0 { 1000.0 } else { 0.0 };
        forbidden + 50.0 * outside + 4.0 * covered + 3.0 * busy as f64
    }

    /// Takes the cheapest place for a label beside any one of `things`; says which, where the
    /// label lies and whether it had to go so far that a leader line helps.
    pub(crate) fn place(&mut self, things: &[Box], width: f64, height: f64) -> Placed {
        let mut best: Option<(f64, Placed)> = None;
        for thing in things {
            let (x, y) = thing.middle();
            let half = ((thing.right - thing.left) / 2.0, (thing.bottom - thing.top) / 2.0);
            for (ring, gap) in [5.0, 16.0, 34.0, 60.0, 95.0].into_iter().enumerate() {
                for (rank, (dx, dy)) in AROUND.into_iter().enumerate() {
                    let at_x = x + dx * (half.0 + gap + width / 2.0);
                    let at_y = y + dy * (half.1 + gap + height / 2.0);
                    let area = Box::around(at_x, at_y, width / 2.0, height / 2.0);
                    let cost = self.cost(&area) + 6.0 * ring as f64 + 0.5 * rank as f64;
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        best = Some((cost, Placed { area, thing: *thing, far: ring > 1 }));
                    }
                }
            }
        }
        let nowhere = Box::around(0.0, 0.0, 0.0, 0.0);
        let placed =
            best.map_or(Placed { area: nowhere, thing: nowhere, far: false }, |(_, placed)| placed);
        self.take(placed.area);
        placed
    }
}

/// A label's place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed {
    /// Where the label lies, px.
    pub(crate) area: Box,
    /// The thing it was put beside.
    pub(crate) thing: Box,
    /// So far away that a leader line helps.
    pub(crate) far: bool,
}

/// Beside, above and below before the corners.
const AROUND: [(f64, f64); 8] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, -1.0),
    (1.0, 1.0),
    (-1.0, -1.0),
    (-1.0, 1.0),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_labels_of_neighbours_do_not_overlap() {
        let mut labels = Labels::new(Box { left: 0.0, top: 0.0, right: 400.0, bottom: 300.0 });
        let things: Vec<Box> = (0..9)
            .map(|i| {
                Box::around(
                    180.0 + 20.0 * f64::from(i % 3),
                    130.0 + 20.0 * f64::from(i / 3),
                    5.0,
                    5.0,
                )
            })
            .collect();
        things.iter().for_each(|t| labels.take(*t));
        let placed: Vec<Box> =
            things.iter().map(|t| labels.place(&[*t], 60.0, 14.0).area).collect();
        for (i, a) in placed.iter().enumerate() {
            for b in placed.iter().skip(i + 1).chain(&things) {
                assert_eq!(a.overlap(b), 0.0, "{a:?} {b:?}");
            }
        }
    }
}
