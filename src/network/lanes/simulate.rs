//! Runs networks side by side.

use super::NetworksAbreast;
use crate::integrate::lanes::{Task, integrate_abreast};
use crate::integrate::{Piece, Trajectory};
use crate::network::asked::Asked;
use crate::network::schedule::Schedule;
use crate::network::system::NetworkSystem;

/// So many at least make lanes worth it.
const LEAST: usize = 3;

/// The task of integrating what is asked for; none where that can't be begun.
fn task<'a>(asked: &Asked<'a>) -> Option<Task<NetworkSystem<'a>>> {
    if asked.end_s > asked.schedule.end_s() + 1e-6 {
        return None;
    }
    let mut system = NetworkSystem::new(asked.network, asked.schedule).ok()?;
    let (begin_s, start) = match asked.from {
        None => (0.0, system.initial()),
        Some(begin) => {
            let (_, running) = Schedule::by_number(begin.stretch);
            system.resume(running);
            (begin.at_s, begin.unknowns.to_vec())
        }
    };
    Some(Task {
        system,
        span_s: (begin_s, asked.end_s),
        start,
        options: asked.options,
        keeps: asked.keeps,
    })
}

/// Runs networks side by side, those together that fit beside each other; courses in the order asked for. None: what
/// lanes can't follow, or has too few beside it, or fails. It is to be run by itself. `told` is told of each piece of a
/// course when it is made, also of one that comes to nothing later.
#[must_use]
pub fn in_lanes(
    asked: &[Asked<'_>],
    told: &mut dyn FnMut(usize, &Piece),
) -> Vec<Option<Trajectory>> {
    let mut courses: Vec<Option<Trajectory>> = vec![None; asked.len()];
    let mut left: Vec<_> = asked
        .iter()
        .enumerate()
        .filter_map(|(k, a)| Some((k, task(a)?)))
        .collect();
    while left.len() >= LEAST {
        let mut all = NetworksAbreast::like(&left[0].1.system);
        let (fit, others): (Vec<_>, Vec<_>) = left
            .into_iter()
            .partition(|(_, task)| all.takes(&task.system));
        left = others;
        if fit.is_empty() {
            // The first has what lanes do not follow.
            left.remove(0);
            continue;
        }
        if fit.len() < LEAST {
            continue;
        }
        let (numbers, tasks): (Vec<usize>, Vec<_>) = fit.into_iter().unzip();
        let mut told = |k: usize, piece: &Piece| told(numbers[k], piece);
        let found = integrate_abreast(&mut all, tasks, &mut told);
        for (k, course) in numbers.into_iter().zip(found) {
            courses[k] = course;
        }
    }
    courses
}
