//! Will a days-long run in a closed material-extrusion chamber keep its filament solid in this heat?
//!
//! # The map of the house
//! A run file is read into sections ([`runfile`], with names looked up in [`catalogue`], keys declared
//! in [`keys`] and units read by [`quantity`]), and these become a valid [`Run`] in SI units
//! ([`run`], with the [`weather`] and a job's own course, its [`profile`]). From it a [`Chamber`] is built ([`chamber`]): a thermal network
//! ([`network`]) whose elements are the phenomena in [`physics`]. Integrated over the run
//! ([`integrate`]) it leaves a [`Trajectory`], in which a study ([`study`]) finds the hottest filament
//! and a [`Verdict`]. [`output`] turns findings into text, JSON, CSV and pictures; [`answer`] puts a study's
//! question and its answer together; [`page`] shows them live in a browser; [`cli`] is the program. Data flow one way, and no room knows those after it.
//!
//! # Five types
//! [`Run`], [`Chamber`], [`Trajectory`], [`Verdict`] and [`Error`] are all that most uses need:
//! ```
//! use dogdays::{Error, Verdict, runfile, study};
//!
//! fn margin_in_a_cooler_room() -> Result<(Verdict, f64), Error> {
//!     let text = r#"
//!         run = { start = "2026-07-13 07:00", duration = "6 h" }
//!         machine.name = "bench-60"
//!         material.name = "petg"
//!         part.mass = "120 g"
//!         room.temperature = "24 degC"
//!     "#;
//!     let catalogue = dogdays::catalogue::Catalogue::embedded();
//!     let run = runfile::parse(text, "my run", None, &catalogue)?.run;
//!     let outcome = study::check::outcome(&run, &Default::default())?;
//!     Ok((outcome.verdict, outcome.margin_K))
//! }
//!
//! let (verdict, margin_K) = margin_in_a_cooler_room()?;
//! assert_eq!(verdict == Verdict::Softens, margin_K < 0.0);
//! # Ok::<(), Error>(())
//! ```
//! A run is a plain value: change it and go again. Temperatures are kelvin.
//! ```
//! use dogdays::course::Course;
//! use dogdays::{Chamber, Error, Run, Trajectory};
//!
//! let mut run: Run = dogdays::runfile::demo().run;
//! run.room.weather = Course::Constant(273.15 + 20.0);
//! let simulation = Chamber::new(&run)?.simulate(Default::default(), &Default::default())?;
//! let course: &Trajectory = &simulation.trajectory;
//! assert_eq!(course.end_s(), 121.0 * 3600.0);
//! // The heated chamber's air ends warmer than the room.
//! let air = simulation.chamber.points.air[0];
//! assert!(simulation.temperature_K(air, course.end_s()) > 293.15);
//! # Ok::<(), Error>(())
//! ```
//! To change what was described, and have all that follows from it follow, set an input by its key:
//! ```
//! let mut inputs = dogdays::runfile::demo().inputs;
//! let mass = inputs.input("part.mass")?;
//! let height_m = inputs.to_run()?.part.height_m;
//! inputs.set(&mass, 2.3 / 2.0)?;
//! // Half the mass on the same footprint is half as high.
//! assert!((inputs.to_run()?.part.height_m - height_m / 2.0).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//! Errors say what to do:
//! ```
//! let e = dogdays::runfile::load("no-such.toml".as_ref(), None).unwrap_err();
//! assert!(dogdays::Error::from(e).to_string().contains("there is no such file"));
//! ```
#![forbid(unsafe_code)]
#![deny(missing_docs)]

pub mod answer;
pub mod catalogue;
pub mod chamber;
#[cfg(feature = "cli")]
pub mod cli;
pub mod course;
mod error;
pub mod integrate;
pub mod keys;
pub mod network;
pub mod number;
pub mod output;
#[cfg(feature = "cli")]
pub mod page;
pub mod physics;
mod plain;
pub mod profile;
pub mod quantity;
mod remembered;
pub mod run;
pub mod runfile;
pub mod study;
mod table;
mod vector;
pub mod weather;
#[cfg(feature = "lanes")]
pub mod wide;

pub use chamber::Chamber;
pub use error::Error;
pub use integrate::Trajectory;
pub use run::Run;
pub use study::Verdict;
