//! What can be measured, and what it would bring.

use super::belief::{Belief, Seen};
use super::evening::Meanwhile;
use super::moments::EVENING_S;
use super::results::Results;
use crate::run::{Doubtful, Reading};
use crate::study::calibrate::sensors::Sensor;
use crate::study::sensitivity::Both;
use crate::study::thermometer_error;
use nalgebra::DMatrix;

/// Places whose gain differs by less than this, as a share, and whose readings would say the same, are one.
const SAME: f64 = 0.98;
/// A moment that brings so much of what the best one brings is as good, and the earliest of these is the best: what is known
/// early leaves time.
const EARLY: f64 = 0.95;
/// So many places are told of a kind that looks at one.
const MOST_PLACES: usize = 8;
/// A value has learned something that loses so much of its variance.
const LEARNED: f64 = 0.05;
/// So many values are named that learn most.
const MOST_LEARNED: usize = 3;

/// What somebody does, cheapest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// One thermometer, looked at once during the job.
    Reading,
    /// One thermometer, looked at twice.
    TwoReadings,
    /// Two thermometers, each looked at once.
    TwoThermometers,
    /// One thermometer, logged from the start.
    Log,
    /// One thermometer, logged through a test before the job.
    Evening,
}

impl Kind {
    /// In a word or two.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Reading => "one reading",
            Self::TwoReadings => "two readings",
            Self::TwoThermometers => "two thermometers",
            Self::Log => "log",
            Self::Evening => "evening test",
        }
    }
}

/// Where a thermometer is held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// What it is called.
    pub name: String,
    /// Places that tell the same.
    pub or: Vec<String>,
    /// Whether it turns, so that nothing can be fixed to it.
    pub turns: bool,
}

/// When it is looked at.
#[derive(Debug, Clone, PartialEq)]
pub enum When {
    /// During the job, s from its start; one moment for each reading.
    At(Vec<f64>),
    /// During the job, all the time from then to then, s from its start.
    Log(f64, f64),
    /// All through a test so long, s.
    Test(f64),
}

/// Something to measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What somebody does.
    pub kind: Kind,
    /// What the machine does.
    pub meanwhile: Meanwhile,
    /// Where thermometers are held: one for all moments, or one for each.
    pub places: Vec<Place>,
    /// When they are looked at.
    pub when: When,
    /// How many readings that is.
    pub readings: usize,
    /// Half of what nine of ten lie between afterwards, K.
    pub half_width_after_K: Both<f64>,
    /// How much narrower that is, K.
    pub gain_K: Both<f64>,
    /// The values that are known better for it, the one that learns most first.
    pub learns: Vec<String>,
}

/// What is known of the job.
#[derive(Debug, Clone, Copy)]
pub(super) struct Job<'a> {
    pub belief: &'a Belief,
    pub results: &'a Results,
    pub doubtful: &'a [Doubtful],
}

/// What thermometers would show everywhere at some moments: a row a place and moment, place by place.
#[derive(Debug, Clone)]
pub(super) struct Field {
    pub places: Vec<Sensor>,
    /// Whether they turn.
    pub turns: Vec<bool>,
    pub moments_s: Vec<f64>,
    /// Slopes by the job's values.
    pub shown: DMatrix<f64>,
    /// Slopes by values that are not the job's: an error of all readings together.
    pub private: DMatrix<f64>,
}

/// The errors of readings by thermometers to come.
fn errors(thermometers: &[usize]) -> DMatrix<f64> {
    thermometer_error::errors(thermometers, &vec![Reading::WITHIN_K; thermometers.len()])
}

/// A place and a moment, by their numbers.
type Spot = (usize, usize);

impl Field {
    /// What these readings would be.
    fn seen(&self, spots: &[Spot]) -> Seen {
        let rows: Vec<usize> = spots
            .iter()
            .map(|(place, moment)| place * self.moments_s.len() + moment)
            .collect();
        let thermometers: Vec<usize> = spots.iter().map(|(place, _)| *place).collect();
        let private = self.private.select_rows(&rows);
        Seen {
            slopes: self.shown.select_rows(&rows),
            errors: errors(&thermometers) + &private * private.transpose(),
        }
    }

    fn place(&self, at: usize) -> Place {
        Place {
            name: self.places[at].name.clone(),
            or: Vec::new(),
            turns: self.turns[at],
        }
    }

    /// The moment at these times, s, by their numbers.
    fn numbers(&self, times_s: &[f64]) -> Vec<usize> {
        let all = self.moments_s.iter().enumerate();
        all.filter(|(_, t_s)| times_s.contains(t_s))
            .map(|(k, _)| k)
            .collect()
    }
}

/// Every reading there could be.
pub(super) fn all_of(field: &Field) -> Seen {
    let moments = 0..field.moments_s.len();
    let spots: Vec<Spot> = (0..field.places.len())
        .flat_map(|place| moments.clone().map(move |moment| (place, moment)))
        .collect();
    field.seen(&spots)
}

impl Job<'_> {
    fn gained_K2(&self, field: &Field, spots: &[Spot]) -> f64 {
        let least = &self.results.least;
        self.belief.gained(&least.slopes, &field.seen(spots))
    }

    /// The first of sets of readings that are about as good as the best, and what of the margin's variance it takes.
    fn best(
        &self,
        field: &Field,
        sets: impl Iterator<Item = Vec<Spot>>,
    ) -> Option<(Vec<Spot>, f64)> {
        let each = sets.map(|spots| {
            let gained_K2 = self.gained_K2(field, &spots);
            (spots, gained_K2)
        });
        let each: Vec<(Vec<Spot>, f64)> = each.collect();
        let most_K2 = each.iter().map(|(_, K2)| *K2).fold(0.0, f64::max);
        each.into_iter().find(|(_, K2)| *K2 >= EARLY * most_K2)
    }

    /// The best set at each place, the best place first; places that tell the same as a better one stand with it.
    fn by_place(
        &self,
        field: &Field,
        sets: impl Fn(usize) -> Vec<Vec<Spot>>,
    ) -> Vec<(Vec<Spot>, Place)> {
        let each = (0..field.places.len()).filter_map(|place| {
            let found = self.best(field, sets(place).into_iter())?;
            Some((place, found))
        });
        let mut each: Vec<(usize, (Vec<Spot>, f64))> = each.collect();
        each.sort_by(|a, b| b.1.1.total_cmp(&a.1.1));
        let mut found: Vec<(Vec<Spot>, Place)> = Vec::new();
        for (place, (spots, gained_K2)) in each {
            let same = found.iter_mut().find(|(better, _)| {
                let both = [&better[..], &spots[..]].concat();
                let alone_K2 = self.gained_K2(field, better);
                gained_K2 > SAME * alone_K2 && self.tells_the_same(field, better, &both)
            });
            match same {
                Some((_, known)) => known.or.push(field.places[place].name.clone()),
                None => found.push((spots, field.place(place))),
            }
        }
        found.truncate(MOST_PLACES);
        found
    }

    /// The same among places at which a thermometer can stay.
    fn by_steady_place(
        &self,
        field: &Field,
        sets: impl Fn(usize) -> Vec<Vec<Spot>>,
    ) -> Vec<(Vec<Spot>, Place)> {
        self.by_place(field, |place| match field.turns[place] {
            true => Vec::new(),
            false => sets(place),
        })
    }

    /// Whether readings at a second place bring no more than a second thermometer at the first would.
    fn tells_the_same(&self, field: &Field, better: &[Spot], both: &[Spot]) -> bool {
        let better_K2 = self.gained_K2(field, better);
        let both_K2 = self.gained_K2(field, both);
        let mut twice = field.seen(&[better, better].concat());
        let rows = better.len();
        // Another thermometer has errors of its own.
        let shared = field.seen(better);
        let private = &shared.errors - errors(&better.iter().map(|(p, _)| *p).collect::<Vec<_>>());
        for corner in [(0, rows), (rows, 0)] {
            twice
                .errors
                .view_mut(corner, (rows, rows))
                .copy_from(&private);
        }
        let twice_K2 = self.belief.gained(&self.results.least.slopes, &twice);
        both_K2 - better_K2 < 1.1 * (twice_K2 - better_K2)
    }

    fn candidate(
        &self,
        field: &Field,
        (kind, meanwhile): (Kind, Meanwhile),
        spots: &[Spot],
        places: Vec<Place>,
        when: When,
    ) -> Candidate {
        let seen = field.seen(spots);
        let gained = self.results.gained(self.belief, &seen);
        let before = self.results.half_widths_K(self.belief, Both::default());
        let after = self.results.half_widths_K(self.belief, gained);
        Candidate {
            kind,
            meanwhile,
            places,
            when,
            readings: spots.len(),
            half_width_after_K: after,
            gain_K: Both {
                peak: before.peak - after.peak,
                margin: before.margin - after.margin,
            },
            learns: self.learns(&seen),
        }
    }

    /// The values that lose most of their variance.
    fn learns(&self, seen: &Seen) -> Vec<String> {
        let mut each: Vec<(f64, usize)> = (0..self.doubtful.len())
            .map(|k| {
                let way = self.doubtful[k].way(k, self.doubtful.len());
                let share = self.belief.gained(&way, seen) / self.belief.variance(&way);
                (share, k)
            })
            .filter(|(share, _)| *share > LEARNED)
            .collect();
        each.sort_by(|a, b| b.0.total_cmp(&a.0));
        let keys = each.iter().map(|(_, k)| self.doubtful[*k].input.key());
        keys.take(MOST_LEARNED).map(str::to_owned).collect()
    }
}

/// What can be measured during the job itself, at the moments of the field; a log has its rows at these times, s.
pub(super) fn of_job(job: &Job<'_>, field: &Field, log_s: &[f64]) -> Vec<Candidate> {
    let moments = field.moments_s.len();
    let doing = |kind| (kind, Meanwhile::AsInTheJob);
    let at_s = |spots: &[Spot]| When::At(spots.iter().map(|(_, m)| field.moments_s[*m]).collect());
    let mut found = Vec::new();
    let singles = job.by_place(field, |place| {
        (0..moments).map(|moment| vec![(place, moment)]).collect()
    });
    for (spots, place) in &singles {
        let places = vec![place.clone()];
        found.push(job.candidate(field, doing(Kind::Reading), spots, places, at_s(spots)));
    }
    let pairs = job.by_steady_place(field, |place| {
        let all = (1..moments).flat_map(|a| (0..a).map(move |b| vec![(place, b), (place, a)]));
        all.collect()
    });
    for (spots, place) in pairs.into_iter().take(1) {
        let when = at_s(&spots);
        found.push(job.candidate(field, doing(Kind::TwoReadings), &spots, vec![place], when));
    }
    // The second for what the first leaves.
    let mut steady = singles.iter().filter(|(_, place)| !place.turns);
    if let Some([first]) = steady.next().map(|(spots, _)| &spots[..]) {
        let others =
            (0..field.places.len()).filter(|place| *place != first.0 && !field.turns[*place]);
        let sets = others.flat_map(|place| (0..moments).map(move |m| vec![*first, (place, m)]));
        if let Some((spots, _)) = job.best(field, sets) {
            let places = spots.iter().map(|(place, _)| field.place(*place)).collect();
            let doing = doing(Kind::TwoThermometers);
            found.push(job.candidate(field, doing, &spots, places, at_s(&spots)));
        }
    }
    if let [first_s, .., last_s] = *log_s {
        let rows = field.numbers(log_s);
        let from_s = first_s - super::moments::STEP_S;
        let logs = job.by_steady_place(field, |place| {
            vec![rows.iter().map(|row| (place, *row)).collect()]
        });
        for (spots, place) in logs.into_iter().take(1) {
            let when = When::Log(from_s, last_s);
            found.push(job.candidate(field, doing(Kind::Log), &spots, vec![place], when));
        }
    }
    found
}

/// What a test before the job brings, with one thermometer logged through it.
pub(super) fn of_test(job: &Job<'_>, field: &Field, meanwhile: Meanwhile) -> Vec<Candidate> {
    let logs = job.by_steady_place(field, |place| {
        vec![(0..field.moments_s.len()).map(|m| (place, m)).collect()]
    });
    let best = logs.into_iter().take(1).map(|(spots, place)| {
        let doing = (Kind::Evening, meanwhile);
        job.candidate(field, doing, &spots, vec![place], When::Test(EVENING_S))
    });
    best.collect()
}
