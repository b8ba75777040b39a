//! What moves beside the piece: what lies loose and is set going, what is held and lets go.

use glam::DVec3;

use crate::{
    drop::{GroundLaw, loose::Loose, mover::Mover, near::Near},
    motion::Motion,
    tree::Piece,
};

use super::{DOWN, Run};

impl<'s, 'p: 's> Run<'s, 'p> {
    /// Held logs that a step's pushes overcome, by body, and the share of the speed they get that is
    /// left after it.
    pub(super) fn overcome(
        &mut self,
        near: &Near,
        motions: &[Motion],
        moving: &[usize],
        dt: f64,
    ) -> Vec<(usize, f64)> {
        if self.held.is_empty() {
            return Vec::new();
        }
        let logs = self.loose.iter().filter(|log| moving.contains(&log.body));
        let pieces: Vec<&Piece> =
            std::iter::once(self.piece.piece).chain(logs.map(|log| log.mover.piece)).collect();
        let response = near.response();
        let held = self.held.iter_mut();
        held.filter_map(|held| Some((held.body, held.overcome(response, motions, &pieces, dt)?)))
            .collect()
    }

    /// Makes a step's contacts once more with the logs loose that it overcame.
    pub(super) fn once_more(
        &mut self,
        overcome: &[(usize, f64)],
        motions: &mut Vec<Motion>,
        dt: f64,
    ) -> Near {
        for (body, _) in overcome {
            self.let_go(*body, dt);
        }
        let mut near = self.near_world();
        let moving: Vec<usize> = near.free().collect();
        self.take_motions(&moving);
        std::mem::swap(&mut self.motions, motions);
        near.step(motions, dt);
        for (body, left) in overcome {
            let at = moving.iter().position(|moves| moves == body);
            if let Some(motion) = at.and_then(|k| motions.get_mut(k + 1)) {
                motion.velocity_m_s *= *left;
                motion.spin_rad_s *= *left;
            }
        }
        near
    }

    /// Lets a held log go, in the middle of a step.
    fn let_go(&mut self, body: usize, dt: f64) {
        let Some(at) = self.held.iter().position(|held| held.body == body) else { return };
        let held = self.held.remove(at);
        self.solids.to_mut().let_go(body, held.piece, &held.motion);
        self.watch.let_go(&self.solids, body);
        for other in &mut self.loose {
            other.let_go(&self.solids, body);
        }
        let pace = &self.setup.pace;
        let mut mover = Mover::new(held.piece, &held.motion, &self.bed);
        mover.look(&self.bed, pace);
        let mut log = Loose::new(body, mover, &self.solids);
        log.wake();
        log.push(&self.bed, DOWN, dt, pace);
        let slot = self.loose.partition_point(|other| other.body < body);
        self.loose.insert(slot, log);
    }

    /// Where something is in play, m.
    pub(super) fn middle_of_play(&self) -> DVec3 {
        let mut logs = self.loose.iter().filter(|log| log.in_play);
        logs.next().map_or(self.piece.centre_m, |log| log.mover.centre_m)
    }

    /// Something that lies loose is pushed by another body.
    pub(super) fn loose_touches(&mut self, log: usize, body: usize) {
        if let Some(other) = self.loose.iter_mut().find(|other| other.body == body) {
            other.quiet.pushed_by_solid();
        }
        let is_target = self.is_target(body);
        let time_s = self.time_s;
        if let Some(log) = self.loose.iter_mut().find(|one| one.body == log)
            && log.pushed_by(body)
            && is_target
        {
            log.note_reach(body, time_s);
        }
    }

    /// Wakes what lies loose and is near the piece or near what goes, looks round for all of it that
    /// is in play, and gathers who is [`together`](Self::together); true if that is another list.
    pub(super) fn look_at_loose(&mut self, dt: f64, reach_m: f64) -> bool {
        let on_soil = self.setup.law == GroundLaw::Soil;
        let near = if self.gone { &[][..] } else { self.watch.near() };
        let mut plays: Vec<bool> = (self.loose.iter())
            .map(|log| !log.is_gone() && (near.contains(&log.body) || (on_soil && log.goes())))
            .collect();
        let mut looked = vec![false; plays.len()];
        while let Some(k) = (0..plays.len()).find(|&k| plays[k] && !looked[k]) {
            looked[k] = true;
            self.loose[k].wake();
            self.look_of_loose(k, dt, reach_m);
            if self.loose[k].goes() {
                let near = self.loose[k].near();
                for (plays, other) in plays.iter_mut().zip(&self.loose) {
                    *plays |= near.contains(&other.body);
                }
            }
        }
        let rest = self.loose.iter_mut().zip(&plays).filter(|(_, plays)| !**plays);
        rest.for_each(|(log, _)| log.sleep());
        let mut together = self.watch.near().to_vec();
        if !self.loose.is_empty() {
            let near = self.loose.iter().flat_map(|log| log.near().iter().copied());
            together.extend(near);
            let in_play = self.loose.iter().filter(|log| log.in_play).map(|log| log.body);
            if !together.is_empty() {
                together.extend(in_play);
            }
            together.sort_unstable();
            together.dedup();
        }
        let changed = together != self.together;
        self.together = together;
        changed
    }

    /// Looks round for one that lies loose.
    fn look_of_loose(&mut self, k: usize, dt: f64, reach_m: f64) {
        let Some(log) = self.loose.get_mut(k) else { return };
        let own = (log.mover.motion(), log.speed_m_s());
        let of_piece = (self.motions[0], self.speeds_m_s[0]);
        (self.motions[0], self.speeds_m_s[0]) = own;
        let look = log.look(&self.solids, &self.motions, &self.speeds_m_s, dt);
        (self.motions[0], self.speeds_m_s[0]) = of_piece;
        self.clear_s = self.clear_s.min(log.clear_s);
        log.paint(&mut self.footprint, look.reach_m.max(reach_m));
        for body in log.touched() {
            if self.bed.site().bodies.get(body).is_some_and(|b| b.is_target) {
                log.note_reach(body, self.time_s);
            }
        }
    }
}
