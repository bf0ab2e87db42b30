//! Runs networks side by side where that is possible, and quicker than one after the other.

use super::asked::Asked;
use crate::integrate::{Piece, Trajectory};

/// The courses of networks, in the order asked for. None: to be run by itself. That is what lanes can't follow, what has
/// too few alike beside it, what fails, and everything on a machine whose instructions make lanes not worth it. `told` is told of
/// each piece of a course when it is made, while it is at hand, also of one that comes to nothing later.
#[must_use]
#[cfg(feature = "lanes")]
pub fn simulate_abreast(
    asked: &[Asked<'_>],
    told: &mut dyn FnMut(usize, &Piece),
) -> Vec<Option<Trajectory>> {
    if crate::wide::is_worth_it() {
        super::lanes::in_lanes(asked, told)
    } else {
        vec![None; asked.len()]
    }
}

/// None: this program was built without lanes.
#[must_use]
#[cfg(not(feature = "lanes"))]
pub fn simulate_abreast(
    asked: &[Asked<'_>],
    _told: &mut dyn FnMut(usize, &Piece),
) -> Vec<Option<Trajectory>> {
    vec![None; asked.len()]
}
