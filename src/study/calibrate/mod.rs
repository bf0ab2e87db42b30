//! Fits the machine to what a shop's thermometers showed.
//!
//! Every value in doubt ([`Inputs::doubtful`]) is believed to lie where it stands, as surely as its key says. Readings
//! of the very run, or logs of it, move those that matter to them, the more the less sure they were, and leave the others
//! alone: least squares with what was believed before ([`fit`]). Several runs may share one machine. Thermometers have
//! errors of their own: one is off by much the same all day, lags behind ([`lag`]), and what the model leaves out comes
//! and goes with hours ([`drift`]). What comes out is where each value is now, how sure that is ([`profile`]), and what the
//! readings can't tell apart ([`identify`]).

mod begin;
pub mod believed;
mod clock;
pub mod drift;
pub mod fit;
pub mod found;
pub mod identify;
pub mod lag;
pub mod mixed;
pub mod model;
pub mod observed;
pub mod profile;
mod search;
pub mod sensors;
pub mod settle;
pub mod white;

use super::StudyError;
use crate::chamber::Chamber;
use crate::chamber::simulation::SimulationError;
use crate::run::{InputError, Inputs, Log, Reading, Switched};
use fit::FitError;
pub use found::{Calibration, Compared, Followed, Heated, HeldOut, Parameter, Posterior};
use found::{Cold, Start};
use model::{Placed, Session};
use observed::Observed;
use sensors::UnknownSensor;

/// A run and what was measured in it.
#[derive(Debug, Clone, Copy)]
pub struct Watched<'a> {
    /// The run as described.
    pub inputs: &'a Inputs,
    /// What thermometers showed once.
    pub readings: &'a [Reading],
    /// What they showed row by row.
    pub logs: &'a [Log],
}

/// Why nothing was fitted.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum CalibrateError {
    /// There are no readings.
    #[error("there is nothing to fit to: give a reading or a log")]
    Nothing,
    /// A reading's place is not known.
    #[error(transparent)]
    Sensor(#[from] UnknownSensor),
    /// A parameter is not known.
    #[error(transparent)]
    Parameter(#[from] InputError),
    /// A parameter is not in doubt.
    #[error(
        "`{0}` is not in doubt in this run: it is what it is said to be, or its doubt is counted in another value"
    )]
    NotInDoubt(String),
    /// Runs of different machines.
    #[error(
        "these are runs of different machines, \"{0}\" and \"{1}\": what one shows says nothing about the other"
    )]
    OtherMachine(String, String),
    /// No value in doubt moves what was read.
    #[error(
        "no value in doubt moves what was read, so that nothing can be learned from it: were the readings taken before anything was warm?"
    )]
    NothingMoves,
    /// The run itself.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// The values can't be told apart at all.
    #[error("what was read does not say where these values are")]
    Singular,
}

impl From<SimulationError> for CalibrateError {
    fn from(e: SimulationError) -> Self {
        Self::Study(e.into())
    }
}

impl From<FitError<StudyError>> for CalibrateError {
    fn from(e: FitError<StudyError>) -> Self {
        match e {
            FitError::Model(e) => Self::Study(e),
            FitError::Singular => Self::Singular,
        }
    }
}

/// Fits the values in doubt to what was measured. `keys` are those to fit; where there are none, those that matter
/// most to what was read are chosen.
///
/// # Errors
/// See [`CalibrateError`].
pub fn calibrate(runs: &[Watched<'_>], keys: &[String]) -> Result<Calibration, CalibrateError> {
    let (mut sessions, mut machine) = (Vec::new(), None);
    let (mut starts, mut cold, mut moved_h) = (Vec::new(), Vec::new(), Vec::new());
    let mut mixed = Vec::new();
    for (at, watched) in runs.iter().enumerate() {
        let Begun {
            session,
            starts: found,
            cold: colder,
            duration_s,
            machine: name,
        } = session(watched, at)?;
        cold.extend(colder);
        let room = widest_room(watched);
        let logged = clock::Logged {
            room,
            switched: &switched(watched),
            observed: &session.observed,
        };
        let suspected = clock::suspected(watched.inputs, logged, duration_s)?;
        moved_h.extend(suspected.map(|hours| (at, hours)));
        mixed.extend(mixed::mixed_up(&session.inputs, &session.observed, at)?);
        match &machine {
            None => machine = Some(name),
            Some(first) if *first == name => {}
            Some(first) => return Err(CalibrateError::OtherMachine(first.clone(), name)),
        }
        sessions.push(session);
        starts.extend(found);
    }
    if sessions.iter().all(|session| session.observed.is_empty()) {
        return Err(CalibrateError::Nothing);
    }
    let all = placed(&sessions);
    let chosen = asked_for(runs, &all, keys)?;
    let mut found = search::search(runs, &sessions, all, &chosen)?;
    found.starts = starts;
    found.cold = cold;
    found.moved_h = moved_h;
    found.mixed = mixed;
    Ok(found)
}

/// The rows of the room that there are most of; none where no log has any.
fn widest_room<'a>(watched: &Watched<'a>) -> &'a [(f64, f64)] {
    let rooms = watched.logs.iter().map(|log| log.room.as_slice());
    rooms.max_by_key(|rows| rows.len()).unwrap_or_default()
}

/// What logs say was done.
fn switched(watched: &Watched<'_>) -> Vec<Switched> {
    let each = watched.logs.iter().flat_map(|log| &log.switched);
    each.cloned().collect()
}

/// A run as it really was.
struct Begun {
    session: Session,
    starts: Vec<Start>,
    cold: Vec<Cold>,
    duration_s: f64,
    machine: String,
}

/// A run as it really was, what was measured in it, and what logs say of its start.
fn session(watched: &Watched<'_>, at: usize) -> Result<Begun, CalibrateError> {
    let chamber = |inputs: &Inputs| -> Result<Chamber, CalibrateError> {
        let run = inputs.to_run().map_err(StudyError::from)?;
        Ok(sensors::chamber_of(&run)?)
    };
    let mut inputs = watched
        .inputs
        .in_measured_room(widest_room(watched))
        .as_switched(&switched(watched));
    let described = chamber(&inputs)?;
    let (starts, cold);
    (inputs, starts, cold) = begin::as_measured(&inputs, watched.logs, &described, at);
    let readings = watched.readings.iter();
    let readings = readings.map(|reading| Observed::of_reading(reading, &described));
    let columns = watched.logs.iter().flat_map(|log| &log.columns);
    let columns = columns.map(|column| Observed::of_column(column, &described));
    let powers = watched.logs.iter().flat_map(|log| &log.powers);
    let powers = powers.map(|power| Observed::of_power(power, &described));
    let all = readings.chain(columns).chain(powers);
    let mut observed: Vec<Observed> = all.collect::<Result<_, _>>()?;
    observed.retain(|o| !o.times_s.is_empty());
    Ok(Begun {
        session: Session { inputs, observed },
        starts,
        cold,
        duration_s: described.run().duration_s,
        machine: described.run().machine.name.clone(),
    })
}

/// Every value in doubt: the machine's own once.
fn placed(sessions: &[Session]) -> Vec<Placed> {
    let mut all: Vec<Placed> = Vec::new();
    for (at, session) in sessions.iter().enumerate() {
        for (place, doubtful) in session.inputs.doubtful().into_iter().enumerate() {
            let key = doubtful.input.key();
            let is_shared = sessions.len() == 1 || found::is_the_machines(key);
            if is_shared && all.iter().any(|known| known.doubtful.input.key() == key) {
                continue;
            }
            all.push(Placed {
                doubtful,
                session: (!is_shared).then_some(at),
                listed: (at, place),
            });
        }
    }
    all
}

/// The places among the values in doubt of those that someone asks for; of one that each run has for itself, all.
fn asked_for(
    runs: &[Watched<'_>],
    all: &[Placed],
    keys: &[String],
) -> Result<Vec<usize>, CalibrateError> {
    let mut chosen = Vec::new();
    for key in keys {
        for watched in runs {
            watched.inputs.input(key)?;
        }
        let its = all.iter().enumerate();
        let its = its.filter(|(_, placed)| placed.doubtful.input.key() == key);
        let known = chosen.len();
        chosen.extend(its.map(|(at, _)| at));
        if chosen.len() == known {
            return Err(CalibrateError::NotInDoubt(key.clone()));
        }
    }
    Ok(chosen)
}

#[cfg(test)]
pub(crate) mod log_tests;
#[cfg(test)]
mod power_tests;
#[cfg(test)]
mod switched_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod together_tests;
