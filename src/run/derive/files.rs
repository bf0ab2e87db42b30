//! How the files that a run names are found.

use super::notes::Notes;
use crate::keys::section::Section;
use crate::profile::Profile;
use crate::run::Switched;
use crate::weather::Series;
use std::sync::Arc;

/// Another run of the room, as its file describes it: completed, nothing derived yet.
#[derive(Debug, PartialEq)]
pub(crate) struct Other {
    /// Its name, for messages.
    pub file: Arc<str>,
    pub root: Section,
    pub profile: Option<Arc<Profile>>,
}

/// How the files that a run names are found. Each is asked for once a run; what is wrong with one is noted.
pub(crate) trait Files {
    /// The weather series that a `[room]` names.
    fn series(&mut self, room: &Section, notes: &mut Notes<'_>) -> Option<Arc<Series>>;
    /// The table that a `[job]` names.
    fn profile(&mut self, job: &Section, notes: &mut Notes<'_>) -> Option<Arc<Profile>>;
    /// The run file that an entry of `[[room.building.machine]]` names.
    fn other(&mut self, entry: &Section, notes: &mut Notes<'_>) -> Option<Arc<Other>>;
    /// What was measured of the room's air during this run, s from its start and K; empty where nothing was.
    fn measured_room(&self) -> &[(f64, f64)] {
        &[]
    }
    /// What logs say was done at the machine during this run.
    fn switched(&self) -> &[Switched] {
        &[]
    }
}

/// What another run of the room names was found with it; its weather is that of the run that lists it.
pub(super) struct Its<'a>(pub &'a Other);

impl Files for Its<'_> {
    fn series(&mut self, _: &Section, _: &mut Notes<'_>) -> Option<Arc<Series>> {
        None
    }

    fn profile(&mut self, _: &Section, _: &mut Notes<'_>) -> Option<Arc<Profile>> {
        self.0.profile.clone()
    }

    fn other(&mut self, _: &Section, _: &mut Notes<'_>) -> Option<Arc<Other>> {
        None
    }
}
