//! The same run in other weather, and at other starts in it: what a season is made of.

use super::{WEATHER, forget};
use crate::keys::problem::Problems;
use crate::keys::section::Data;
use crate::run::inputs::Inputs;
use crate::run::whole::Run;
use crate::weather::Series;
use crate::weather::asked::KEYS;
use jiff::civil::DateTime;
use std::sync::Arc;

impl Inputs {
    /// The run starts at another time, in the weather of then. What is said by weekday or time of day means
    /// that of the new run, what counts from the start goes along.
    pub fn start_at(&mut self, start: DateTime) {
        if let Some(run) = self.root.section_mut("run") {
            run.put("start", Data::DateTime(start));
        }
    }

    /// The run as it is when it starts at another time.
    ///
    /// # Errors
    /// As for [`Inputs::to_run`]; also when something is said to be on a date that the run then does not meet.
    pub fn to_run_at(&self, start: DateTime) -> Result<Run, Problems> {
        let mut inputs = self.clone();
        inputs.start_at(start);
        inputs.to_run()
    }

    /// A series takes the place of the room's weather, whatever that was. What is added to it
    /// (`room.shift`) and the room around the machine stay.
    pub fn take_series(&mut self, series: &Arc<Series>) {
        forget(&mut self.root, "room", &WEATHER);
        forget(&mut self.root, "room", &["swing"]);
        forget(&mut self.root, "room", &KEYS);
        if let Some(room) = self.root.section_mut("room") {
            // Which file it came from, the series itself tells.
            room.put("series", Data::Text("the weather given".to_owned()));
        }
        self.files.series = Some(Arc::clone(series));
    }

    /// The local times between which the run's weather is a series; none where it is something else.
    #[must_use]
    pub fn weather_span(&self) -> Option<(DateTime, DateTime)> {
        let room = self.root.section("room")?;
        room.text("series")?;
        Some(self.files.series.as_ref()?.span())
    }

    /// Whether the run's weather is one nominal year whose end is followed by its beginning.
    #[must_use]
    pub fn has_typical_year(&self) -> bool {
        let series = self.files.series.as_ref();
        self.weather_span().is_some() && series.is_some_and(|series| series.is_typical_year())
    }

    /// How long the run lasts, s.
    #[must_use]
    pub fn duration_s(&self) -> Option<f64> {
        self.root.section("run")?.number("duration")
    }
}
