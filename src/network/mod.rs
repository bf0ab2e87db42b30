//! A general thermal network: nodes that store heat, points whose temperature is given, and elements
//! that move heat between them. It knows nothing of chambers or run files.
//!
//! A [`Builder`] takes nodes, growing bodies and ledgers; the [`Network`] it makes gets the given
//! temperatures. What moves heat are [`elements`], held together in a [`Configuration`]; a [`Schedule`] says which
//! configuration holds when. [`NetworkSystem`] is all of that as a system of differential equations, and
//! [`simulate()`] runs it; a [`Reading`] looks temperatures and heat up in what came of it.
//! [`description`] tells what each element is made of.
//!
//! Every element adds the heat it moves to its nodes' balances and, where heat enters or leaves
//! the audited nodes, to a *ledger* entry. Sources, losses and stored heat then have to agree: the
//! integrators carry the ledgers along as extra unknowns, so a link, sign or area that one side
//! forgets shows as unaccounted heat.
//!
//! Points are numbered: nodes first, then what is given. Temperatures are kelvin, flows watts.
//!
//! # A cup that cools
//! ```
//! use dogdays::course::Course;
//! use dogdays::integrate::{IntegratorKind, Options};
//! use dogdays::network::{
//!     Builder, Conductor, Configuration, Direction, Node, Reading, Schedule, simulate,
//! };
//!
//! let mut builder = Builder::new(293.15, 101_325.0);
//! let cup = builder.node(Node::new("cup", 1200.0).starting_at(353.15));
//! let lost = builder.ledger("to the room", Direction::Out);
//! let mut network = builder.finish();
//! let room = network.given("room", Course::Constant(293.15));
//!
//! let mut elements = Configuration::default();
//! elements
//!     .conductors
//!     .push(Conductor::new(cup, room, 2.0).booked(lost));
//! let schedule = Schedule::always(elements);
//! let course = simulate(&network, &schedule, 3600.0, IntegratorKind::Rosenbrock, &Options::fine())?;
//!
//! // 1200 J/K over 2 W/K is a time constant of 600 s.
//! let reading = Reading::new(&network, &schedule, &course);
//! let by_hand = 293.15 + 60.0 * (-1.0_f64).exp();
//! assert!((reading.temperature_K(cup, 600.0) - by_hand).abs() < 0.01);
//! assert!(reading.heat().unaccounted_relative < 1e-9);
//! # Ok::<(), dogdays::network::NetworkError>(())
//! ```

mod abreast;
mod air_work;
mod asked;
pub mod balance;
mod checks;
pub mod description;
pub mod elements;
mod error;
mod evaluate;
mod fixed;
#[cfg(feature = "lanes")]
pub mod lanes;
mod parts;
mod reading;
mod running;
mod schedule;
mod simulate;
mod system;
mod thermostat;

#[cfg(test)]
mod edge_tests;
#[cfg(test)]
mod system_tests;
#[cfg(test)]
mod tests;

pub use abreast::simulate_abreast;
pub use asked::Asked;
pub use balance::{Sink, Workspace};
pub(crate) use checks::checked;
pub use description::Store;
pub use elements::{
    AirPaths, Area, Conductor, Configuration, Contact, Control, Convector, Draught, Element,
    Enclosure, Layering, Member, Mode, Moment, Opening, Plume, Radiator, Shape, Side, Source,
    Station, StirredOpening, Stream, Visitor, Way,
};
pub use error::NetworkError;
pub use evaluate::Scratch;
pub use fixed::{Builder, Network};
pub use parts::{Body, BodyId, Direction, Given, INTERNAL, Index, Ledger, LedgerId, Node};
pub use reading::{HeatAudit, PointsOver, Reading};
pub use running::Running;
pub use schedule::{Schedule, ScheduleError, Stretch, Thermostat};
pub use simulate::{simulate, simulate_on};
pub use system::NetworkSystem;
pub use thermostat::RAPID_S;
