//! Changes that follow each other too fast for a chamber to notice, joined.

/// Changes closer than this are joined, s: a chamber's air takes minutes.
const APART_S: f64 = 60.0;
/// Where more than so many are left, those further apart are joined too: each costs the integrator a new beginning.
const MOST: usize = 400;

/// When something changes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Changes {
    /// Begin and end of the time that is told of, s.
    pub of_all: (f64, f64),
    pub begins_on: bool,
    /// In order, s.
    pub at_s: Vec<f64>,
}

impl Changes {
    /// With those joined that are too close to each other, and how close that is, s.
    pub fn joined(&self) -> (Self, f64) {
        let mut apart_s = APART_S;
        loop {
            let joined = self.joined_within(apart_s);
            if joined.at_s.len() <= MOST {
                return (joined, apart_s);
            }
            apart_s *= 2.0;
        }
    }

    /// Changes that follow each other within so long become windows of that length, each on or off by its share. What a
    /// window is more or less than its share, the next one makes up for, so that a fan that is on for two seconds of five
    /// is on for two minutes of five.
    fn joined_within(&self, apart_s: f64) -> Self {
        let on_until = self.on_until();
        let mut states: Vec<(f64, bool)> = Vec::new();
        let mut next = 0;
        for close in self.at_s.chunk_by(|a, b| b - a < apart_s) {
            let (first_s, last_s) = (close[0], close[close.len() - 1]);
            next += close.len();
            let is_on_after = self.begins_on != (next % 2 == 1);
            if close.len() > 1 {
                let more_s = 0.5 * (apart_s - (last_s - first_s)).max(0.0);
                let begin_s = (first_s - more_s).max(self.of_all.0);
                let length_s = (last_s + more_s).min(self.of_all.1) - begin_s;
                let count = (length_s / apart_s).floor().max(1.0);
                let end_s = |k: f64| begin_s + length_s * k / count;
                let (mut k, mut owed) = (0.0, 0.0);
                while k < count {
                    let (from_s, to_s) = (end_s(k), end_s(k + 1.0));
                    owed += (on_until(to_s) - on_until(from_s)) / (to_s - from_s);
                    let is_on = owed > 0.5;
                    owed -= f64::from(u8::from(is_on));
                    states.push((from_s, is_on));
                    k += 1.0;
                }
                states.push((end_s(count), is_on_after));
            } else {
                states.push((first_s, is_on_after));
            }
        }
        let mut is_on = self.begins_on;
        states.retain(|(_, next)| std::mem::replace(&mut is_on, *next) != *next);
        Self {
            at_s: states.into_iter().map(|(at_s, _)| at_s).collect(),
            ..*self
        }
    }

    /// For how long it has been on until a time, s.
    fn on_until(&self) -> impl Fn(f64) -> f64 {
        let (mut on_s, mut before_s, mut is_on) = (0.0, self.of_all.0, self.begins_on);
        let mut until = vec![(before_s, 0.0, is_on)];
        for at_s in &self.at_s {
            if is_on {
                on_s += at_s - before_s;
            }
            (before_s, is_on) = (*at_s, !is_on);
            until.push((before_s, on_s, is_on));
        }
        move |t_s| {
            let next = until.partition_point(|(at_s, ..)| *at_s <= t_s);
            let (at_s, on_s, is_on) = until[next.saturating_sub(1)];
            on_s + if is_on { t_s - at_s } else { 0.0 }
        }
    }

    /// When it is on within a time, s: begins and ends.
    pub fn on_s(&self, (from_s, to_s): (f64, f64)) -> Vec<(f64, f64)> {
        let begin_s = self.begins_on.then_some(self.of_all.0);
        let mut cuts_s = begin_s.into_iter().chain(self.at_s.iter().copied());
        let mut on_s = Vec::new();
        while let Some(begin_s) = cuts_s.next() {
            let end_s = cuts_s.next().unwrap_or(self.of_all.1);
            let (begin_s, end_s) = (begin_s.max(from_s), end_s.min(to_s));
            if begin_s < end_s {
                on_s.push((begin_s, end_s));
            }
        }
        on_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn changes(at_s: &[f64], end_s: f64) -> Changes {
        Changes {
            of_all: (0.0, end_s),
            begins_on: false,
            at_s: at_s.to_vec(),
        }
    }

    fn lasts_s(changes: &Changes) -> f64 {
        let on_s = changes.on_s(changes.of_all);
        on_s.iter().map(|(begin_s, end_s)| end_s - begin_s).sum()
    }

    /// A minute apart nothing is joined; a fan that is on for most of a minute is on for it, for less of one it is not.
    #[test]
    fn a_change_within_a_minute_goes_to_the_larger_share() {
        let slow = changes(&[1_000.0, 1_060.0, 5_000.0], 9_000.0);
        assert_eq!(slow.joined(), (slow.clone(), 60.0));
        // On for 40 of 60 s.
        let on = changes(&[1_000.0, 1_040.0], 9_000.0).joined().0;
        assert_eq!(on.at_s, [990.0, 1_050.0]);
        // For 20 of 60 s.
        let off = changes(&[1_000.0, 1_020.0], 9_000.0).joined().0;
        assert!(off.at_s.is_empty(), "{off:?}");
        // A contact that bounces: off, on, off, and then on for good.
        let bounced = changes(&[1_000.0, 1_002.0, 1_004.0], 9_000.0).joined().0;
        assert_eq!(bounced.at_s.len(), 1);
        assert!((bounced.at_s[0] - 1_003.0).abs() < 31.0, "{bounced:?}");
    }

    /// On for 4 s of each 10 s through an hour: 24 minutes.
    #[test]
    fn what_chatters_keeps_its_share() {
        let at_s: Vec<f64> = (0..360)
            .flat_map(|k| [10.0, 14.0].map(|s| 3_600.0 + 10.0 * f64::from(k) + s))
            .collect();
        let chatters = changes(&at_s, 20_000.0);
        let joined = chatters.joined().0;
        assert!((lasts_s(&joined) - 1_440.0).abs() < 61.0, "{joined:?}");
        assert!(joined.at_s.windows(2).all(|pair| pair[1] - pair[0] >= 59.9));
        assert!(joined.at_s.len() < 60, "{}", joined.at_s.len());
    }

    /// A day of a change every minute is some four hundred changes at most, and half of it is on.
    #[test]
    fn there_are_never_too_many() {
        let at_s: Vec<f64> = (1..5_000).map(|k| 61.0 * f64::from(k)).collect();
        let (joined, apart_s) = changes(&at_s, 310_000.0).joined();
        assert!(joined.at_s.len() <= MOST && apart_s > 60.0, "{apart_s}");
        assert!((lasts_s(&joined) / 310_000.0 - 0.5).abs() < 0.01);
    }
}
