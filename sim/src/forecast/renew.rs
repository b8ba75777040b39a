//! A forecast brought up to date: after a change of the scene only the drops that the change can
//! touch are run again, and a larger forecast goes on from a smaller one.
//!
//! Invariant: what comes back equals a full [`run`](super::run) of the same job and ask, byte for
//! byte, counts and fates, whatever was kept before (`prop_renew`).
//!
//! Nothing here knows of edits. For every ground (as told, or drawn) and cut, what is kept is the
//! [`CutReady`] that its drops were run on, and the drops. A renewal makes the new one and compares
//! the two. A drop is a function of
//!
//! - its draws, which are keyed by (seed, cut id, drop): the same while seed and id are;
//! - piece, stand and method, terrain, the ground outside all patches: where one of them differs
//!   nothing is kept;
//! - the patches over the places its nodes saw, and the bodies in its reach, in their order. Bodies
//!   and patches of the two sites are paired by their longest common subsequence, so what is paired
//!   stands in the same order in both: pieces and contacts next to it are put into the solver in
//!   that order, and of patches that lie over one another the later one wins. What is left over on
//!   either side (moved, altered, added, taken away, put before another) makes the changed places.
//!
//! Where pieces are left where they stop, a drop is a function of where earlier ones lay in it too:
//! it is kept only if they lie there still, to the last bit.
//!
//! So a drop whose [`Footprint`] holds no changed place is the same drop bit for bit, a free log
//! that it set going included. All that the change can do to it is what is told of targets: those
//! paired keep their reach under their new number; one that is new where it stands was not touched,
//! and is [`Reach::Unknown`] or missed by what the full run would measure too, because a gap is
//! measured from where the piece went ([`Passage`]) and not as it goes. Gaps are told on the ground
//! as told alone, so passages are kept for that alone.
//!
//! A drop of the demo takes 3 to 10 kB on the ground as told (a passage of 28 B a pose and a path of
//! 12 B a point, up to some 200 of each; 50 to 270 cells of 4 B; the outcome 0.4 kB) and 1 kB or less
//! on a drawn one.

use std::{collections::BTreeMap, sync::atomic::AtomicBool};

use rayon::prelude::*;

use super::{
    Ask, Fate, Progress, Run,
    order::{self, Lain, afterwards, left_for_next, one_drop},
    run::{Ground, Watch, asked, counted, cuts_of, ground_key, setup, told_key},
};
use crate::{
    drop::{Against, GroundLaw, Setup, Track, footprint::Footprint, near::Passage, near::Solids},
    job::{CutReady, Job, JobError, Outer},
    keyed::Key,
    motion::Motion,
    outcome::{Reach, is_unknown},
    scene::model::Scene,
    site::{Body, Site},
    tree::Piece,
};

/// Time between two points of a [`Path`], s.
const POINT_S: f64 = 0.1;

/// Where the centre of a piece went on the ground as told, m from Launch to the end, at most
/// every 0.1 s; empty if it sat back.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path(pub Vec<[f32; 3]>);

/// Drops done for an earlier ask or an earlier scene.
#[derive(Debug, Default)]
pub struct Kept {
    /// Seed and law of all of them.
    draws: Option<(u64, GroundLaw)>,
    /// By ground, `None` for the one as told.
    grounds: BTreeMap<Option<u32>, Cuts>,
}

/// What is kept of one ground, by cut id.
type Cuts = BTreeMap<String, KeptCut>;

/// Drops of one cut on one ground.
#[derive(Debug)]
struct KeptCut {
    /// What they were run on.
    ready: CutReady,
    /// By index.
    drops: Vec<Option<Done>>,
}

/// One drop that was run.
#[derive(Debug)]
struct Done {
    fate: Fate,
    /// Earlier pieces as they lay in it, and after it.
    before: Vec<Lain>,
    after: Vec<Lain>,
    /// Where its own piece came to rest.
    own: Option<Motion>,
    footprint: Footprint,
    /// On the ground as told.
    passage: Passage,
    path: Path,
}

/// A forecast and how its drops on the ground as told went.
#[derive(Debug)]
pub struct Renewed {
    /// As a full run gives it.
    pub run: Run,
    /// Per cut of `run.told`, per drop, its path.
    pub paths: Vec<Vec<Path>>,
    /// Drops that had to be run, those of cuts before that these hang on among them; the others were
    /// kept.
    pub fresh: u32,
}

/// Brings a forecast up to date with a job and an ask; `kept` is what earlier calls have left and
/// afterwards holds this one's drops, also when `stop` ended it early.
///
/// # Errors
///
/// As [`run`](super::run).
pub fn renew(
    job: &Job,
    ask: &Ask,
    kept: &mut Kept,
    stop: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Renewed, JobError> {
    let cuts = cuts_of(job, ask);
    let needed = order::needed(&job.scene, &cuts);
    let watch = Watch::new(ask, needed.len(), stop, progress);
    let world = job.world(Outer::Told)?;
    let ready = needed.iter().map(|&c| world.cut(c)).collect::<Result<Vec<_>, _>>()?;
    kept.make_ready(job, ask);
    let told = Wanted { key: told_key(ask.seed), law: ask.law, drops: ask.drops, told: true };
    let mut fresh = 0;
    let of_told = kept.grounds.entry(None).or_default();
    let mut bank = told.bank();
    for cut in ready {
        fresh += told.bring(of_told, cut, &job.scene, &mut bank, &watch);
    }
    // Every ground's drops are out of `kept` while it is worked at and go back however it ends.
    let works: Vec<(u32, Cuts)> = (0..ask.grounds)
        .map(|index| (index, kept.grounds.remove(&Some(index)).unwrap_or_default()))
        .collect();
    let works: Vec<_> = works
        .into_par_iter()
        .with_max_len(1)
        .map(|(index, mut of)| {
            let done = ground(job, ask, [&cuts, &needed], index, &mut of, &watch);
            (index, of, done)
        })
        .collect();
    let mut grounds = Vec::new();
    let mut failed = None;
    for (index, of, done) in works {
        kept.grounds.insert(Some(index), of);
        match done {
            Ok(Some((ground, more))) => {
                fresh += more;
                grounds.push(ground);
            }
            Ok(None) => {}
            Err(error) => failed = failed.or(Some(error)),
        }
    }
    if let Some(error) = failed {
        return Err(error);
    }
    let of_told = kept.grounds.entry(None).or_default();
    let ids = cuts.iter().filter_map(|&c| job.scene.cuts.get(c));
    let done: Vec<&KeptCut> = ids.filter_map(|cut| of_told.get(&cut.id)).collect();
    let ready: Vec<&CutReady> = done.iter().map(|cut| &cut.ready).collect();
    let fates = done.iter().map(|cut| cut.first(ask.drops).map(|d| d.fate.clone()).collect());
    let paths = done.iter().map(|cut| cut.first(ask.drops).map(|d| d.path.clone()).collect());
    let (fates, paths) = (fates.collect(), paths.collect());
    let run = counted(job, ask, &cuts, &world, &ready, fates, &grounds, watch.stopped());
    Ok(Renewed { run, paths, fresh })
}

impl Kept {
    /// Leaves out what can be of no use.
    fn make_ready(&mut self, job: &Job, ask: &Ask) {
        let draws = Some((ask.seed, ask.law));
        if self.draws != draws {
            *self = Self { draws, grounds: BTreeMap::new() };
        }
        for cuts in self.grounds.values_mut() {
            cuts.retain(|id, _| job.scene.cuts.iter().any(|cut| cut.id == *id));
        }
    }
}

impl KeptCut {
    /// The first `n` drops, those that are done.
    fn first(&self, n: u32) -> impl Iterator<Item = &Done> {
        self.drops.iter().take(n as usize).flatten()
    }
}

/// One drawn ground brought up to date, and the drops that had to be run; `None` if stopped before
/// it was begun.
fn ground(
    job: &Job,
    ask: &Ask,
    [cuts, needed]: [&[usize]; 2],
    index: u32,
    of: &mut Cuts,
    watch: &Watch<'_>,
) -> Result<Option<(Ground, u32)>, JobError> {
    if watch.stopped() {
        return Ok(None);
    }
    let world = job.world(Outer::Drawn { seed: ask.seed, index: u64::from(index) })?;
    let key = ground_key(ask.seed, u64::from(index));
    let wanted = Wanted { key, law: ask.law, drops: ask.drops_per_ground, told: false };
    let (mut done, mut fresh) = (Vec::new(), 0);
    let mut bank = wanted.bank();
    for &cut in needed {
        let ready = world.cut(cut)?;
        let (warnings, id) = (ready.warnings.clone(), ready.id.clone());
        fresh += wanted.bring(of, ready, &job.scene, &mut bank, watch);
        let drops = of.get(&id).into_iter().flat_map(|cut| cut.first(wanted.drops));
        done.push((warnings, drops.map(|d| d.fate.clone()).collect()));
    }
    let (warnings, fates) = asked(cuts, needed, done).into_iter().unzip();
    let (inputs, words) = (world.inputs, world.words);
    Ok(Some((Ground { index, inputs, words, warnings, fates }, fresh)))
}

/// Drops to be had of a cut on one ground.
struct Wanted {
    key: Key,
    law: GroundLaw,
    drops: u32,
    told: bool,
}

impl Wanted {
    /// Before the first cut nothing lies in any drop.
    fn bank(&self) -> Vec<Vec<Lain>> {
        vec![Vec::new(); self.drops as usize]
    }

    /// Brings what is kept of a cut up to date, and `bank`, what lies in each drop, from before the
    /// cut to after it; how many drops had to be run.
    fn bring(
        &self,
        of: &mut Cuts,
        ready: CutReady,
        scene: &Scene,
        bank: &mut [Vec<Lain>],
        watch: &Watch<'_>,
    ) -> u32 {
        let old = of.remove(&ready.id);
        let mut drops = old.map(|old| old.still_true(&ready)).unwrap_or_default();
        let wanted = self.drops as usize;
        if drops.len() < wanted {
            drops.resize_with(wanted, || None);
        }
        for (drop, lain) in drops.iter_mut().zip(bank.iter()) {
            *drop = drop.take().filter(|done| done.before == *lain);
        }
        let missing: Vec<usize> = (0..wanted).filter(|i| drops[*i].is_none()).collect();
        watch.note_all(drops.iter().take(wanted).flatten().map(|done| &done.fate));
        let mut fresh = 0;
        if !missing.is_empty() && !watch.stopped() {
            let setup = setup(&ready, self.law);
            let made: Vec<Option<(usize, Done)>> = missing
                .into_par_iter()
                .with_max_len(1)
                .map(|i| {
                    let lain = bank.get(i)?;
                    let done =
                        (!watch.stopped()).then(|| self.done(&ready, &setup, i as u32, lain))?;
                    watch.note(&done.fate);
                    Some((i, done))
                })
                .collect();
            for (i, done) in made.into_iter().flatten() {
                fresh += 1;
                drops[i] = Some(done);
            }
        }
        let left = order::is_left(scene, ready.index);
        for (lain, done) in bank.iter_mut().zip(&drops) {
            // Of drops that were not begun the later cuts begin none either.
            let after = done.as_ref().map(|done| (done.after.clone(), done.own));
            *lain = after.map_or_else(Vec::new, |after| left_for_next(&ready, left, after));
        }
        of.insert(ready.id.clone(), KeptCut { ready, drops });
        fresh
    }

    fn done(&self, ready: &CutReady, setup: &Setup<'_>, index: u32, lain: &[Lain]) -> Done {
        let what = one_drop(ready, setup, self.key, index, POINT_S, lain);
        let (after, own) = afterwards(lain.to_vec(), &what);
        let mut done = Done {
            fate: Fate::SatBack { missing_moment_n_m: 0.0 },
            before: lain.to_vec(),
            after,
            own,
            footprint: Footprint::default(),
            passage: Passage::default(),
            path: Path::default(),
        };
        done.fate = Fate::of(what.map(|(track, outcome)| {
            let Track { samples, footprint, mut passage, .. } = track;
            if self.told {
                let point = |s: &crate::drop::Sample| s.motion.centre_m.as_vec3().to_array();
                done.path = Path(samples.iter().map(point).collect());
                passage.shrink();
                done.passage = passage;
            }
            done.footprint = footprint;
            outcome
        }));
        done
    }
}

impl KeptCut {
    /// The drops that are the same on another site, told as that site would have them.
    fn still_true(self, new: &CutReady) -> Vec<Option<Done>> {
        let Self { ready: old, drops } = self;
        if !old.leaves_like(new) || !same_outside(&old.site, &new.site) {
            return Vec::new();
        }
        if old.site.bodies == new.site.bodies && old.site.patches == new.site.patches {
            return drops;
        }
        let change = Change::new(&old.site, &new.site, &new.section.piece);
        let keep = |done: &Done| !done.footprint.meets(&change.places);
        drops
            .into_par_iter()
            .map(|done| done.filter(keep).map(|done| change.retold(done)))
            .collect()
    }
}

/// Whether two sites are the same but for patches and bodies.
fn same_outside(a: &Site, b: &Site) -> bool {
    a.terrain.same_ground(&b.terrain)
        && a.ground == b.ground
        && a.roughness_key == b.roughness_key
        && a.stump_m == b.stump_m
}

/// What differs between two sites.
struct Change<'a> {
    /// Old and new places of all that differs.
    places: Footprint,
    /// New number of each old body, if it is there.
    to: Vec<Option<usize>>,
    /// How many bodies the new one has.
    bodies: usize,
    /// Each target of the new site: which of the old one it was, or which of `new` it is.
    targets: Vec<Result<usize, usize>>,
    /// Targets that stand where none stood.
    new: Vec<&'a Body>,
    solids: Solids,
    piece: &'a Piece,
}

impl<'a> Change<'a> {
    fn new(was: &Site, is: &'a Site, piece: &'a Piece) -> Self {
        let mut places = Footprint::default();
        let (to, from) = paired(&was.bodies, &is.bodies);
        for i in alone(&to) {
            was.bodies.get(i).into_iter().for_each(|body| places.add_body(body));
        }
        for i in alone(&from) {
            is.bodies.get(i).into_iter().for_each(|body| places.add_body(body));
        }
        let (patch_to, patch_from) = paired(&was.patches, &is.patches);
        for i in alone(&patch_to) {
            was.patches.get(i).into_iter().for_each(|patch| places.add_patch(patch));
        }
        for i in alone(&patch_from) {
            is.patches.get(i).into_iter().for_each(|patch| places.add_patch(patch));
        }
        places.tidy();
        // Number of each old body among the targets.
        let mut count = 0;
        let among: Vec<usize> = was
            .bodies
            .iter()
            .map(|body| {
                count += usize::from(body.is_target);
                count.saturating_sub(1)
            })
            .collect();
        let mut new = Vec::new();
        let targets = is.bodies.iter().zip(&from).filter(|(body, _)| body.is_target);
        let targets = targets
            .map(|(body, from)| match from.and_then(|i| among.get(i)) {
                Some(k) => Ok(*k),
                None => {
                    new.push(body);
                    Err(new.len() - 1)
                }
            })
            .collect();
        let bodies: Vec<Body> = new.iter().map(|body| (*body).clone()).collect();
        let bodies_in_all = is.bodies.len();
        Self {
            places,
            to,
            bodies: bodies_in_all,
            targets,
            new,
            solids: Solids::new(&bodies),
            piece,
        }
    }

    /// A drop that the change didn't touch, in the words of the new site.
    fn retold(&self, mut done: Done) -> Done {
        let Fate::Left(outcome) = &mut done.fate else { return done };
        if let Some(touch) = &mut outcome.first_touch
            && let Against::Body(body) = &mut touch.against
        {
            match self.to.get(*body) {
                Some(Some(to)) => *body = *to,
                Some(None) => {}
                // Earlier pieces come after all that stands.
                None => *body = *body - self.to.len() + self.bodies,
            }
        }
        let gaps_m = done.passage.gaps_m(self.piece, &self.solids, |_| true);
        let was = std::mem::take(&mut outcome.reaches);
        let missed =
            |gap_m: Option<&f64>| Reach::Missed { gap_m: gap_m.copied().unwrap_or(f64::INFINITY) };
        let reach = |target: &Result<usize, usize>| match target {
            Ok(k) => was.get(*k).copied().unwrap_or(missed(None)),
            Err(k) => match self.new.get(*k) {
                Some(body) if is_unknown(outcome.ending, outcome.end_m, body) => Reach::Unknown,
                _ => missed(gaps_m.get(*k)),
            },
        };
        outcome.reaches = self.targets.iter().map(reach).collect();
        done
    }
}

/// Which have no partner.
fn alone(to: &[Option<usize>]) -> impl Iterator<Item = usize> + '_ {
    to.iter().enumerate().filter_map(|(i, to)| to.is_none().then_some(i))
}

/// Pairs two lists by their longest common subsequence: for each of `old` its place in `new`, if it
/// is there, and the other way round.
fn paired<T: PartialEq>(old: &[T], new: &[T]) -> (Vec<Option<usize>>, Vec<Option<usize>>) {
    let (n, m) = (old.len(), new.len());
    // Length of the longest from (i, j) on.
    let mut longest = vec![vec![0_u32; m + 1]; n + 1];
    for (i, a) in old.iter().enumerate().rev() {
        for (j, b) in new.iter().enumerate().rev() {
            longest[i][j] = if a == b {
                longest[i + 1][j + 1] + 1
            } else {
                longest[i + 1][j].max(longest[i][j + 1])
            };
        }
    }
    let (mut to, mut from) = (vec![None; n], vec![None; m]);
    let (mut i, mut j) = (0, 0);
    while i < n && j < m {
        if old[i] == new[j] {
            (to[i], from[j]) = (Some(j), Some(i));
            (i, j) = (i + 1, j + 1);
        } else if longest[i + 1][j] >= longest[i][j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    (to, from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prop_pairs_keep_their_order_and_are_as_many_as_can_be() {
        for (old, new, common) in [
            ("abcdef", "abcdef", 6),
            ("abcdef", "acdef", 5),
            ("abcd", "xabcdy", 4),
            ("abcd", "bacd", 3),
            ("", "ab", 0),
            ("abab", "ba", 2),
        ] {
            let (old, new) = (old.as_bytes(), new.as_bytes());
            let (to, from) = paired(old, new);
            let pairs: Vec<(usize, usize)> =
                to.iter().enumerate().filter_map(|(i, j)| Some((i, (*j)?))).collect();
            assert_eq!(pairs.len(), common);
            assert!(pairs.windows(2).all(|p| p[0].1 < p[1].1));
            assert!(pairs.iter().all(|(i, j)| old[*i] == new[*j] && from[*j] == Some(*i)));
            assert_eq!(alone(&from).count(), new.len() - common);
        }
    }
}
