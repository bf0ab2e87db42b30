//! The elements of a network, one kind a file.
//!
//! A kind states what it joins and its law, once. A [`Pair`] is heat from one point to another by their
//! temperatures; a [`Law`] may have any number of ends. Both are written over [`Number`](crate::number::Number), so that the
//! same lines give the value and the slopes. The two kinds whose slopes are cheaper another way
//! ([`enclosure`], [`air_paths`]) are [`Element`]s by themselves. [`Configuration`] holds an array a kind and
//! shows each element to a [`Visitor`]: evaluation, export and checks are visitors, and none needs a list
//! of kinds of its own.

pub mod air_paths;
pub mod conductor;
pub mod configuration;
pub mod contact;
pub mod control;
pub mod convector;
pub mod enclosure;
pub mod law;
pub mod layering;
pub mod plume;
pub mod radiator;
pub mod source;
pub mod stirred_opening;
pub mod stream;

pub use air_paths::{AirPaths, Draught, Opening};
pub use conductor::Conductor;
pub use configuration::Configuration;
pub use contact::Contact;
pub use control::{Control, Mode, Side, Way};
pub use convector::{Area, Convector};
pub use enclosure::{Enclosure, Member};
pub use law::{Element, Law, Moment, Pair, Visitor};
pub use layering::Layering;
pub use plume::Plume;
pub use radiator::Radiator;
pub use source::Source;
pub use stirred_opening::{Shape, StirredOpening};
pub use stream::{Station, Stream};
