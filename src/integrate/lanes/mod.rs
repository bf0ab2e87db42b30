//! Many systems integrated side by side, eight at a time, by the method of [`rosenbrock`](super::rosenbrock).
//!
//! Each lane has its own time, step, error, events and known times. In one round every lane tries one step of its
//! own; those whose error is small enough go on from its end, the others try again. A lane whose system has come to
//! its end is given to the next one. What takes long - the rates, their slopes, the factors, the chain - is done for
//! all at once. Slopes are worked out when any lane wants them, and all lanes take them over: that, by some
//! ten-thousandths of a kelvin, is all that one lane's course has of another's.
//!
//! A system that asks for something lanes don't do, or whose integration fails, leaves without a course: it is
//! run by itself then, from its beginning.

mod abreast;
mod factors;
mod lane;
mod method;

pub use abreast::{Abreast, Slopes, Task};
pub use factors::MOST_UNKNOWNS;

use super::{Piece, Trajectory};
use crate::wide::{LANES, Wide, Work, side_by_side};
use lane::Lane;
use method::Method;

/// Integrates systems side by side; their courses in the order of the tasks. None: to be run by itself. `told` is told
/// of each piece of a task's course when it is made, also of one that comes to nothing later.
///
/// # Panics
/// When tasks have more than [`MOST_UNKNOWNS`] unknowns.
pub fn integrate_abreast<A: Abreast>(
    all: &mut A,
    tasks: impl IntoIterator<Item = Task<A::One>>,
    told: &mut dyn FnMut(usize, &Piece),
) -> Vec<Option<Trajectory>> {
    let mut tasks = tasks.into_iter().enumerate().peekable();
    let mut courses: Vec<Option<Trajectory>> = Vec::new();
    let mut lanes: [Option<Lane>; LANES] = Default::default();
    let Some((_, first)) = tasks.peek() else {
        return courses;
    };
    let method = &mut Method::new(first.start.len());
    loop {
        for (lane, place) in lanes.iter_mut().enumerate() {
            seat_and_prepare(lane, place, &mut tasks, all, method, &mut courses);
        }
        if lanes.iter().all(Option::is_none) {
            return courses;
        }
        let mut stale = renew_slopes(&mut lanes, all, method);
        let mut t_s = [0.0; LANES];
        for (lane, place) in lanes.iter_mut().enumerate() {
            if let Some(l) = place {
                stale |= l.choose(lane, all, method);
                t_s[lane] = l.end_s();
            }
        }
        side_by_side(GoStraight { method, stale });
        all.rates(&t_s, &method.end, &mut method.end_rates);
        all.error_weights(&mut method.weights);
        side_by_side(Correct(method));
        all.correct_meters(&method.corrected);
        let mut near_alarm = false;
        let mut made = Wide::ZERO;
        for (lane, place) in lanes.iter_mut().enumerate() {
            if let Some(l) = place {
                l.conclude(lane, all, method);
                near_alarm |= l.is_near_alarm();
                t_s[lane] = l.begin_s();
                made.0[lane] = f64::from(u8::from(l.has_made()));
            }
        }
        side_by_side(GoOn { method, made });
        if near_alarm {
            all.rates(&t_s, &method.y, &mut method.end_rates);
        }
        let ends = std::mem::take(&mut method.end_rates);
        for (lane, place) in lanes.iter_mut().enumerate() {
            if let Some(l) = place {
                if l.is_near_alarm() {
                    l.take_rates(lane, method, &ends);
                }
                l.watch(lane, all, method, told);
            }
        }
        method.end_rates = ends;
    }
}

/// Brings a lane to where it can try a step. A task that is done, or can't be followed, makes place for the next.
fn seat_and_prepare<A: Abreast>(
    lane: usize,
    place: &mut Option<Lane>,
    tasks: &mut impl Iterator<Item = (usize, Task<A::One>)>,
    all: &mut A,
    method: &mut Method,
    courses: &mut Vec<Option<Trajectory>>,
) {
    loop {
        let seated = match place {
            Some(seated) => seated,
            None => {
                let Some((number, task)) = tasks.next() else {
                    return;
                };
                courses.push(None);
                for (wide, y) in method.y.iter_mut().zip(&task.start) {
                    wide.0[lane] = *y;
                }
                let seated = place.insert(Lane::new(number, &task));
                all.seat(lane, task.system);
                seated
            }
        };
        match seated.prepare(lane, all) {
            lane::Ready::Step => return,
            lane::Ready::Done => courses[seated.number] = Some(seated.course()),
            lane::Ready::Lost => {}
        }
        all.leave(lane);
        *place = None;
    }
}

/// Works out slopes anew where any lane wants them: for one or for all is the same work, and lanes that keep step in
/// this want them less often. Returns whether it was done.
fn renew_slopes<A: Abreast>(
    lanes: &mut [Option<Lane>; LANES],
    all: &mut A,
    method: &mut Method,
) -> bool {
    let mut t_s = [0.0; LANES];
    let mut wants = false;
    side_by_side(Moved(method));
    for (lane, place) in lanes.iter_mut().enumerate() {
        if let Some(l) = place {
            t_s[lane] = l.begin_s();
            wants |= l.wants_slopes(lane, all, method);
        }
    }
    if wants {
        all.linearise(&t_s, &method.y, &mut method.slopes);
        method.has_slopes();
        lanes.iter_mut().flatten().for_each(Lane::has_slopes);
    }
    all.drift(&t_s, &method.y, &mut method.with_time);
    wants
}

struct Moved<'a>(&'a mut Method);

impl Work for Moved<'_> {
    #[inline(always)]
    fn work(self) {
        self.0.see_what_moved();
    }
}

struct GoStraight<'a> {
    method: &'a mut Method,
    stale: bool,
}

impl Work for GoStraight<'_> {
    #[inline(always)]
    fn work(self) {
        if self.stale {
            self.method.factor();
        }
        self.method.go_straight();
    }
}

/// Goes on from the step's end in lanes that have made one.
struct GoOn<'a> {
    method: &'a mut Method,
    /// One in those, else zero.
    made: Wide,
}

impl Work for GoOn<'_> {
    #[inline(always)]
    fn work(self) {
        let m = self.method;
        let go_on = |from: &mut [Wide], to: &[Wide]| {
            for (from, to) in from.iter_mut().zip(to) {
                *from = self.made.above(Wide::ZERO, *to, *from);
            }
        };
        go_on(&mut m.y, &m.end);
        go_on(&mut m.rates, &m.end_rates);
    }
}

struct Correct<'a>(&'a mut Method);

impl Work for Correct<'_> {
    #[inline(always)]
    fn work(self) {
        self.0.correct();
    }
}
