//! How the files that a run names are found.

use super::notes::Notes;
use crate::keys::section::Section;
use crate::profile::Profile;
use crate::weather::Series;
use std::sync::Arc;

/// How the files that a run names are found. Each is asked for once a run; what is wrong with one is noted.
pub(crate) trait Files {
    /// The weather series that a `[room]` names.
    fn series(&mut self, room: &Section, notes: &mut Notes<'_>) -> Option<Arc<Series>>;
    /// The table that a `[job]` names.
    fn profile(&mut self, job: &Section, notes: &mut Notes<'_>) -> Option<Arc<Profile>>;
}
