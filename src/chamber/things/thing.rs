//! What every thing of a chamber is.

use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Area, Builder, Configuration, Direction, Index, Ledger, LedgerId};
use crate::run::{Place, Run};

/// Something in or around a chamber.
pub trait Thing {
    /// Adds what moves heat to, from or in it.
    ///
    /// # Errors
    /// When what the run asks for makes no element.
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError>;

    /// What it is to the radiation inside, if it stands there as a body.
    fn body(&self, run: &Run) -> Option<Body> {
        let _ = run;
        None
    }
}

/// A body that radiates inside.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// What exports call it.
    pub role: &'static str,
    pub point: Index,
    pub area_m2: f64,
    pub emissivity: f64,
    /// The share of its area that is there, where it grows.
    pub grows: Option<Area>,
}

/// Opens a ledger with its place among those of its direction in reports.
pub fn ledger(b: &mut Builder, name: &str, direction: Direction, place: u16) -> LedgerId {
    b.open(Ledger {
        name: name.to_owned(),
        direction,
        audited: true,
        place,
    })
}

/// Whether something there stands in the chamber.
pub fn is_inside(place: Place) -> bool {
    place != Place::Room
}
