//! An evening's test before the job: the same machine in a short job of its own.

use super::moments::{EVENING_S, STEP_S};
use crate::run::{ArrangementKind, Control, Inputs, PhaseKind, Reading, Run};

/// What the machine does while a thermometer is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meanwhile {
    /// What the job asks for.
    AsInTheJob,
    /// The same with the bed's heater off: motors and hotend alone.
    BedOff,
    /// Closed, where the job runs a fan.
    FanOff,
    /// The fan on throughout, where the job runs it at times.
    FanOn,
    /// The lid off, where the machine may be open.
    LidOff,
}

impl Meanwhile {
    /// All of them, those that ask for least first.
    pub const ALL: [Self; 5] = [
        Self::AsInTheJob,
        Self::BedOff,
        Self::FanOff,
        Self::FanOn,
        Self::LidOff,
    ];

    /// In the words of a table.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::AsInTheJob => "as in the job",
            Self::BedOff => "bed off",
            Self::FanOff => "fan off",
            Self::FanOn => "fan on",
            Self::LidOff => "lid off",
        }
    }

    /// The inputs of such a test before this run; none where it would not differ from another, or where the machine can't
    /// or must not do it.
    #[must_use]
    pub fn test(self, inputs: &Inputs, run: &Run) -> Option<Inputs> {
        let kind = &run.arrangement.kind;
        let mut test = inputs.clone();
        let mass_kg = run.part.mass_kg * (EVENING_S / run.duration_s).min(1.0);
        let (room_K, _) = run.room.weather.at(0.0);
        test.shorten(EVENING_S, mass_kg, room_K, Reading::WITHIN_K);
        // What most of the job holds: phases and tables of the job have setpoints of their own.
        let prints = run.phases.iter().filter(|p| p.kind == PhaseKind::Print);
        let print = prints.max_by(|a, b| a.length_s().total_cmp(&b.length_s()))?;
        test.hold(print.bed_K, print.nozzle_K);
        let always = &Control::Constant;
        match self {
            Self::AsInTheJob => {}
            Self::BedOff => {
                print.bed_K.filter(|bed_K| *bed_K > room_K)?;
                test.hold(None, print.nozzle_K);
            }
            Self::FanOff => {
                if !kind.has_fan() {
                    return None;
                }
                test.arrange(&ArrangementKind::Closed, always);
            }
            Self::FanOn => {
                let mut stretches = run.schedule.iter().map(|s| &s.arrangement.kind);
                let fan = stretches.find(|kind| kind.has_fan());
                test.arrange(fan.filter(|_| !kind.has_fan())?, always);
            }
            Self::LidOff => {
                let is_off = *kind == ArrangementKind::LidOff;
                if is_off || run.requirements.must_stay_closed {
                    return None;
                }
                test.arrange(&ArrangementKind::LidOff, always);
            }
        }
        Some(test)
    }
}

/// When a test's thermometers are logged, s from its start.
#[must_use]
pub fn rows_s() -> Vec<f64> {
    (1..)
        .map(|k| STEP_S * f64::from(k))
        .take_while(|t_s| *t_s <= EVENING_S)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn tests_of(more: &str) -> Vec<(Meanwhile, Inputs, Run)> {
        let text = format!(
            r#"
            run = {{ start = "2026-07-13 07:00", duration = "40 h" }}
            machine.name = "bench-220"
            material.name = "pla"
            part = {{ mass = "0.8 kg", height = "200 mm" }}
            room = {{ mean = "28 degC", swing = "4 K" }}
            {more}
            "#
        );
        let loaded = crate::runfile::parse(&text, "run.toml", None, &Catalogue::embedded());
        let inputs = loaded.unwrap_or_else(|e| panic!("{e}")).inputs;
        let run = inputs.to_run().expect("a run");
        let each = Meanwhile::ALL.into_iter().filter_map(|meanwhile| {
            let test = meanwhile.test(&inputs, &run)?;
            let made = test
                .to_run()
                .unwrap_or_else(|e| panic!("{meanwhile:?}: {e}"));
            Some((meanwhile, test, made))
        });
        each.collect()
    }

    fn kinds(of: &[(Meanwhile, Inputs, Run)]) -> Vec<Meanwhile> {
        of.iter().map(|(meanwhile, _, _)| *meanwhile).collect()
    }

    /// What was typed of the job goes, its setpoints and its feed stay, and its room is measured.
    #[test]
    fn a_test_is_the_job_in_short() {
        for more in [
            "",
            "job = { soak = \"3 h\", first_layers = \"5 h\", first_layer_bed = \"70 degC\" }",
            "[[job.pause]]\nat = \"20 h\"\nduration = \"30 min\"",
            "[[job.phase]]\nkind = \"print\"\nduration = \"40 h\"\nfeed = \"20 g/h\"\nbed = \"70 degC\"",
        ] {
            let all = tests_of(more);
            assert_eq!(kinds(&all)[..2], Meanwhile::ALL[..2], "{more}");
            for (meanwhile, inputs, run) in &all {
                assert_eq!(run.duration_s, EVENING_S);
                let print = &run.phases[1];
                assert_eq!(print.kind, PhaseKind::Print, "{more}");
                let fed_g_per_h = print.feed_kg_per_s * 3.6e6;
                assert!((fed_g_per_h - 20.0).abs() < 2.0, "{more}: {fed_g_per_h}");
                let bed_C = match meanwhile {
                    Meanwhile::BedOff => 0.0,
                    _ if more.contains("bed = \"70 degC\"") && more.contains("phase") => 70.0,
                    _ => 60.0,
                };
                let bed_K = print.bed_K.unwrap_or(0.0);
                assert!((bed_K - 273.15 - bed_C).abs() < 1e-9, "{more}: {bed_K}");
                let doubtful = inputs.doubtful();
                let has = |key: &str| doubtful.iter().any(|d| d.input.key() == key);
                assert!(has("room.temperature") && !has("room.shift"), "{more}");
                assert!(!has("room.swing"), "{more}");
            }
        }
    }

    /// Nothing is asked for that the machine has not, or that its run must not do.
    #[test]
    fn a_test_asks_for_what_there_is() {
        use Meanwhile::{AsInTheJob, BedOff, FanOff, FanOn, LidOff};
        let closed = "require = { must_stay_closed = true }";
        assert_eq!(kinds(&tests_of(closed)), [AsInTheJob, BedOff]);
        let fan = "arrangement = { kind = \"extracting\", flow = \"30 m3/h\" }\nrequire = { must_stay_closed = true }";
        assert_eq!(kinds(&tests_of(fan)), [AsInTheJob, BedOff, FanOff]);
        let open = "require = { must_stay_closed = false }";
        assert_eq!(kinds(&tests_of(open)), [AsInTheJob, BedOff, LidOff]);
        let at_times = r#"
            require = { must_stay_closed = true }
            [[arrangement.schedule]]
            kind = "extracting"
            flow = "30 m3/h"
            every = "day"
            at = "12:00"
            until = "20:00"
        "#;
        assert_eq!(kinds(&tests_of(at_times)), [AsInTheJob, BedOff, FanOn]);
    }
}
