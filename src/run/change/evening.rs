//! The same machine in a short job of its own: what is learned of it before the long one.

use super::{PHASES, WEATHER, forget};
use crate::keys::section::Data;
use crate::run::inputs::Inputs;
use crate::weather::asked::KEYS;

/// Bed and hotend heat up in so long where the job does not say it, s.
const HEAT_UP_S: f64 = 900.0;
/// The lowest setpoint that the bed's key takes, K: below any room it holds nothing.
const BED_OFF_K: f64 = 273.15;

impl Inputs {
    /// A short job on the same machine, from cold, in a room whose temperature is measured: heating up, then feeding
    /// as fast as the job does on average (`mass_kg` in all), with its setpoints and its arrangement. Nothing happens
    /// in between, no sun shines, and the part is a small one.
    pub fn shorten(&mut self, duration_s: f64, mass_kg: f64, room_K: f64, room_within_K: f64) {
        if let Some(run) = self.root.section_mut("run") {
            run.put("duration", Data::Number(duration_s));
        }
        self.root.remove(&["sun", "initial", "spool"]);
        self.drop_schedule();
        if let Some(job) = self.root.section_mut("job") {
            let heat_up_s = job.number("heat_up").unwrap_or(HEAT_UP_S);
            job.remove(&PHASES);
            job.remove(&["profile"]);
            job.put("heat_up", Data::Number(heat_up_s.min(0.25 * duration_s)));
            for key in ["soak", "cool_down", "first_layers"] {
                job.put(key, Data::Number(0.0));
            }
        }
        self.files.profile = None;
        if let Some(part) = self.root.section_mut("part") {
            part.remove(&["footprint", "height"]);
            part.put("mass", Data::Number(mass_kg));
        }
        forget(&mut self.root, "room", &WEATHER);
        forget(&mut self.root, "room", &KEYS);
        forget(
            &mut self.root,
            "room",
            &["swing", "above_outdoors", "building"],
        );
        self.files.others.clear();
        if let Some(room) = self.root.section_mut("room") {
            room.put("shift", Data::Number(0.0));
            room.put("temperature", Data::Number(room_K));
            if let Some(temperature) = room.entries.get_mut("temperature") {
                temperature.within = Some(room_within_K);
            }
        }
    }

    /// While printing, bed and nozzle are held at these, K; a bed at none stays off.
    pub fn hold(&mut self, bed_K: Option<f64>, nozzle_K: Option<f64>) {
        let Some(job) = self.root.section_mut("job") else {
            return;
        };
        job.put("bed", Data::Number(bed_K.unwrap_or(BED_OFF_K)));
        if let Some(nozzle_K) = nozzle_K {
            job.put("nozzle", Data::Number(nozzle_K));
        }
    }
}
