//! What the threads tell, put on the desk.

use std::sync::Arc;

use crate::{
    desk::{Desk, Playing},
    playing::{Clock, end_s},
    worker::{Errand, Made, News, ToPage, Workers},
};

impl Desk {
    /// Puts what was told on the desk; what belongs to an older order is put away.
    pub(crate) fn hear(&mut self, news: News, workers: &Workers) {
        match news {
            News::Renewed { order, stage, renewed } if order == self.answer.order => {
                self.answer.newest = Some((order, stage, renewed));
                self.answer.progress = None;
                self.stamps.drops += 1;
            }
            News::Progress { order, stage, progress } if order == self.answer.order => {
                self.answer.progress = Some((stage, progress));
            }
            News::Failed { order, why } if order == self.answer.order => {
                self.answer.failed = Some(why);
                self.answer.progress = None;
            }
            News::Renewed { .. } | News::Progress { .. } | News::Failed { .. } => {}
            News::Felled { order, felling } if self.felled.asked == Some(order) => {
                self.felled.newest = Some((order, felling));
            }
            News::Felled { .. } => {}
            News::Replayed(made) => self.take_up(made, workers),
            News::Filmstrip { made, pixels } => {
                if self.playing.drops.first().is_some_and(|first| Arc::ptr_eq(first, &made)) {
                    self.playing.strip = Some((made.drop, Arc::new(pixels)));
                }
            }
            News::Exported(path) => self.message = Some(format!("Written: {}", path.display())),
            News::ToPage(news) => {
                if !matches!(
                    news,
                    ToPage::Working { .. }
                        | ToPage::Ground { .. }
                        | ToPage::Practice(_)
                        | ToPage::Marked(_)
                ) {
                    self.mail.waiting = self.mail.waiting.saturating_sub(1);
                }
                self.mail.come.push(news);
            }
            News::Undone(why) => {
                self.playing.waiting.clear();
                self.message = Some(why);
            }
        }
    }

    /// A drop that was made again is played, if it is still waited for.
    fn take_up(&mut self, made: Arc<Made>, workers: &Workers) {
        let Some(place) = self.playing.waiting.iter().position(|drop| *drop == made.drop) else {
            return;
        };
        // One that was asked for before the scene changed is of that scene.
        if made.cut != self.cut || !self.job.as_ref().is_some_and(|job| Arc::ptr_eq(job, &made.job))
        {
            return;
        }
        self.playing.waiting.remove(place);
        self.playing.drops.push(made);
        let order = &self.playing.asked;
        self.playing.drops.sort_by_key(|m| order.iter().position(|drop| *drop == m.drop));
        let ends = self.playing.drops.iter().filter_map(|m| m.replay.what.as_ref().ok());
        let end = ends.map(|(track, _)| end_s(track)).fold(0.0, f64::max);
        let before = self.playing.clock;
        self.playing.clock = Clock { end_s: end, ..before };
        self.stamps.playing += 1;
        self.want_strip(workers);
    }

    /// Asks for the side view of the first drop, where it is wanted and not there yet.
    pub(crate) fn want_strip(&mut self, workers: &Workers) {
        let (Some(first), Some(job), Some(stamp)) =
            (self.playing.drops.first(), &self.job, self.stamp())
        else {
            return;
        };
        let there = self.playing.strip.as_ref().is_some_and(|(drop, _)| *drop == first.drop);
        if self.playing.side_view && !there && first.replay.what.is_ok() {
            let of = self.counts().map_or(self.ask.drops, |counts| counts.fates.len() as u32);
            workers.errand(Errand::Filmstrip {
                job: job.clone(),
                stamp,
                made: first.clone(),
                of: of.max(first.drop + 1),
            });
        }
    }

    /// Plays these drops of the cut from their beginning.
    pub(crate) fn play(&mut self, drops: &[u32], with_others: bool, workers: &Workers) {
        let Some(job) = &self.job else { return };
        let kept = (with_others && !self.playing.drops.is_empty())
            .then(|| std::mem::take(&mut self.playing.drops));
        let old = &self.playing;
        let (follows, ghosts, side_view, speed) =
            (old.follows, old.ghosts, old.side_view, old.clock.speed);
        self.playing = Playing {
            drops: kept.unwrap_or_default(),
            follows,
            ghosts,
            side_view,
            ..Playing::none()
        };
        self.playing.asked = self.playing.drops.iter().map(|made| made.drop).collect();
        self.playing.clock = Clock { speed, runs: true, ..Clock::new(0.0) };
        for &drop in drops {
            if self.playing.asked.contains(&drop) {
                continue;
            }
            self.playing.asked.push(drop);
            self.playing.waiting.push(drop);
            workers.errand(Errand::Replay {
                job: job.clone(),
                ask: self.ask.clone(),
                cut: self.cut,
                drop,
            });
        }
        self.stamps.playing += 1;
    }
}
