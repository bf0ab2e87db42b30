//! What a run means: valid, complete, in SI units. Temperatures are kelvin.
//!
//! [`Inputs`] are a run as it was described: completed sections, every value under its key, nothing worked
//! out yet. `derive` works out of them what follows (a part's height from its mass, phases from the
//! setpoints) and checks what belongs together; the result is a [`Run`], a plain value. Studies make
//! many runs from one by changing inputs, by key or by the rules in [`change`]; both are here and nowhere
//! else. This room knows keys, sections and weather, and no files: from text to sections is
//! [`crate::runfile`]'s work.

pub mod arrangement;
pub mod change;
pub mod coefficients;
pub(crate) mod derive;
pub mod doubtful;
pub mod failure;
pub mod fan;
pub mod initial;
pub mod inputs;
pub mod job;
pub mod log;
pub mod machine;
pub mod machine_file;
pub mod material;
pub mod panel;
pub mod part;
pub mod reading;
pub mod requirements;
pub mod room;
pub mod spool;
pub mod sun;
pub mod switched;
pub mod system;
pub mod whole;

pub use crate::keys::hours::Hours;
pub use arrangement::{Arrangement, ArrangementKind, Control, Jet, OpenSide, Scheduled};
pub use coefficients::{Coefficient, Coefficients};
pub use doubtful::Doubtful;
pub use failure::{Failure, FailureKind, Off};
pub use fan::{Fan, FanKind};
pub use initial::Initial;
pub use inputs::{Input, InputError, Inputs};
pub use job::{Filament, Phase, PhaseKind};
pub use log::{Log, LogColumn, LogPower, MeanPower};
pub use machine::{
    Bed, BedMotion, ChamberHeater, ColdEnd, Feeder, Gear, Hotend, Machine, Motor, Mount, PartFan,
    Place, SecondHotend, Vent,
};
pub use machine_file::Known;
pub use material::{Material, MaterialUse};
pub use panel::{Layer, Panel};
pub use part::Part;
pub use reading::Reading;
pub use requirements::Requirements;
pub use room::{Building, Room};
pub use spool::SpoolMass;
pub use sun::Sun;
pub use switched::{Switch, Switched};
pub use system::{ExtractionSystem, FilterKind};
pub use whole::{Neighbour, Run};
