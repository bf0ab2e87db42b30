//! The electricity that a run takes, by what takes it.

use crate::chamber::Simulation;
use crate::network::HeatAudit;
use crate::run::{ArrangementKind, Run};

/// What takes electricity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Consumer {
    /// The bed's heater.
    Bed,
    /// The hotend's heater.
    Hotend,
    /// The heater of the second hotend.
    SecondHotend,
    /// The heater of the chamber's air.
    ChamberHeater,
    /// The motors of motion and feeder.
    Motors,
    /// Boards, lights and small fans.
    Electronics,
    /// The part-cooling fan and the fan of the arrangement.
    Fans,
}

impl Consumer {
    /// All of them, in the order of reports.
    pub const ALL: [Self; 7] = [
        Self::Bed,
        Self::Hotend,
        Self::SecondHotend,
        Self::ChamberHeater,
        Self::Motors,
        Self::Electronics,
        Self::Fans,
    ];

    /// In words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bed => "bed",
            Self::Hotend => "hotend",
            Self::SecondHotend => "second hotend",
            Self::ChamberHeater => "chamber heater",
            Self::Motors => "motors",
            Self::Electronics => "electronics",
            Self::Fans => "fans",
        }
    }

    /// Whose heat a ledger of the chamber books; none where that is no electricity: sun, or filament from a warmer
    /// room.
    fn of_ledger(name: &str) -> Option<Self> {
        Some(match name {
            "bed heater" => Self::Bed,
            "hotend heater" => Self::Hotend,
            "second hotend heater" => Self::SecondHotend,
            "chamber heater" => Self::ChamberHeater,
            "motion motors" | "feeder motor" => Self::Motors,
            "electronics" => Self::Electronics,
            "part-cooling fan" | "filter fan" | "blowing fan" => Self::Fans,
            _ => return None,
        })
    }
}

/// J in a kilowatt hour.
const KWH_J: f64 = 3.6e6;

/// What a run takes from the mains.
#[derive(Debug, Clone, PartialEq)]
pub struct Electricity {
    /// What takes something, and how much over the run, J.
    pub consumers: Vec<(Consumer, f64)>,
    /// What a kilowatt hour costs, where the run says it, in whatever money.
    pub price_per_kWh: Option<f64>,
    /// A fan draws air out and nobody wrote its power (`system.fan_power`): it is not among them.
    pub lacks_fan: bool,
}

impl Electricity {
    /// All together, kWh.
    #[must_use]
    pub fn together_kWh(&self) -> f64 {
        self.consumers.iter().map(|(_, J)| J).sum::<f64>() / KWH_J
    }

    /// Each, kWh.
    pub fn each_kWh(&self) -> impl Iterator<Item = (Consumer, f64)> {
        self.consumers.iter().map(|(who, J)| (*who, J / KWH_J))
    }

    /// What it costs, in whatever money the price is in.
    #[must_use]
    pub fn costs(&self) -> Option<f64> {
        self.price_per_kWh.map(|price| price * self.together_kWh())
    }
}

/// The electricity of a run.
///
/// It is the heat that the machine gives off, from the ledgers of the course: what its power supply loses on the
/// way is not in it where that is not written under `machine.electronics`, nor is work that leaves the machine, which is
/// next to nothing. A fan that draws air out warms nothing in the chamber; it is added with `system.fan_power` for
/// the time it works. Sun, filament from a warmer room and the room's air conditioner are no electricity of the machine.
///
/// * `heat`: the audit of the course, which has to keep its ledgers; without them nothing is found but that fan.
#[must_use]
pub fn electricity(run: &Run, simulation: &Simulation, heat: &HeatAudit) -> Electricity {
    let extracts_s = extracts_s(simulation);
    let fan_J = run
        .system
        .fan_power_W
        .map_or(0.0, |power_W| power_W * extracts_s);
    let of = |consumer: Consumer| {
        let mine = heat
            .in_J
            .iter()
            .filter(|(name, _)| Consumer::of_ledger(name) == Some(consumer));
        let more_J = if consumer == Consumer::Fans {
            fan_J
        } else {
            0.0
        };
        mine.map(|(_, J)| J).sum::<f64>() + more_J
    };
    let all = Consumer::ALL.map(|consumer| (consumer, of(consumer)));
    Electricity {
        consumers: all.into_iter().filter(|(_, J)| *J > 0.0).collect(),
        price_per_kWh: run.system.price_per_kWh,
        lacks_fan: extracts_s > 0.0 && run.system.fan_power_W.is_none(),
    }
}

/// How long a fan draws air out of the chamber, s; where it is throttled, at full speed.
fn extracts_s(s: &Simulation) -> f64 {
    let reading = s.reading();
    let each = s.trajectory.pieces.iter().map(|piece| {
        let stretch = s.stretch_of(piece);
        let arrangement = &s.chamber.timeline.recipes[stretch.on].arrangement;
        if !matches!(arrangement.kind, ArrangementKind::Extracting { .. }) {
            return 0.0;
        }
        match stretch.thermostat {
            Some(_) => reading.working_share(piece) * piece.length_s,
            None => piece.length_s,
        }
    });
    each.sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::chamber::IntegratorKind;
    use crate::integrate::Options;
    use crate::runfile::DEMO_RUN;

    fn found(changes: &[(&str, &str)]) -> (Electricity, HeatAudit) {
        let mut text = DEMO_RUN.replace("series = \"weather.csv\"", "temperature = \"31 degC\"");
        for (old, new) in changes {
            assert!(text.contains(old), "{old}");
            text = text.replace(old, new);
        }
        let loaded = crate::runfile::parse(&text, "run.toml", None, &Catalogue::embedded());
        let run = loaded.expect("a run").run;
        let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::default());
        let s = s.expect("it runs");
        let heat = s.heat();
        (electricity(&run, &s, &heat), heat)
    }

    fn of_kWh(e: &Electricity, consumer: Consumer) -> f64 {
        e.each_kWh()
            .find(|(who, _)| *who == consumer)
            .map_or(0.0, |(_, kWh)| kWh)
    }

    /// By hand: 10 W of electronics for 121 h are 1.21 kWh; a fan of 8 W that extracts from 12:00 to 20:00 on the days
    /// from Monday to Friday 0.32 kWh, and all of it at 0.25 a kilowatt hour a quarter of the sum.
    #[test]
    fn constant_powers_by_hand() {
        let fan = "\n[[arrangement.schedule]]\nkind = \"extracting\"\nflow = \"30 m3/h\"\nevery = \"workday\"\nat = \"12:00\"\nuntil = \"20:00\"\n[system]\nfan_power = \"8 W\"\nprice_per_kWh = 0.25\n[require]";
        let (e, _) = found(&[("[require]", fan)]);
        assert!((of_kWh(&e, Consumer::Electronics) - 1.21).abs() < 1e-6);
        assert!((of_kWh(&e, Consumer::Fans) - 0.32).abs() < 1e-9, "{e:?}");
        assert!((e.costs().expect("a price") - 0.25 * e.together_kWh()).abs() < 1e-12);
        assert!(!e.lacks_fan);
        let (silent, _) = found(&[("[require]", &fan.replace("fan_power = \"8 W\"\n", ""))]);
        assert!(silent.lacks_fan && of_kWh(&silent, Consumer::Fans) == 0.0);
    }

    /// Whatever comes in is electricity, but for sun and filament: nothing that a machine has is forgotten, and no more
    /// is counted than came in.
    #[test]
    fn all_heat_but_sun_and_filament_is_electricity() {
        let more = "name = \"bench-220\"\nchamber_heater = { max_power = \"150 W\", place = \"chamber bottom\" }\n\
            second_hotend = {}\npart_fan = { power = \"2.4 W\" }\n#";
        let job = "[job]\nchamber = \"50 degC\"\nsecond_nozzle = \"150 degC\"\n";
        let sun = "[sun]\narea = \"900 cm2\"\nfrom = \"14:00\"\nto = \"18:00\"\n[require]";
        let recirculating = "kind = \"recirculating\"\nflow = \"20 m3/h\"\n#";
        let changes = [
            ("name = \"bench-220\"", more),
            ("[job]\n", job),
            ("[require]", sun),
            ("kind = \"closed\"", recirculating),
        ];
        let (e, heat) = found(&changes);
        let is_other = |name: &str| ["sun", "filament"].contains(&name);
        let others_J: f64 = heat
            .in_J
            .iter()
            .filter(|(name, _)| is_other(name))
            .map(|(_, J)| J)
            .sum();
        let all_J: f64 = heat.in_J.iter().map(|(_, J)| J).sum();
        assert!(others_J.abs() > 1e5, "the sun shines: {:?}", heat.in_J);
        assert!((e.together_kWh() * KWH_J - (all_J - others_J)).abs() < 1e-6 * all_J);
        assert_eq!(e.consumers.len(), Consumer::ALL.len(), "{e:?}");
    }
}
