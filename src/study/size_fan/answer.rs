//! What sizing a fan comes to.

use super::candidates::{Candidate, Lack, Standing};
use super::chance::Chances;
use super::flow::{Sample, Split};
use super::warn::FanWarning;
use crate::chamber::StationKind;
use crate::run::FilterKind;
use crate::study::Verdict;
use crate::study::cautions::Caution;
use crate::study::heaters::Shortfall;

/// What to do, in one word: sentence, table, picture, JSON and exit code follow from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Advice {
    /// No fan is needed: the closed machine holds, as surely as the run requires where that was asked.
    NoFan,
    /// Take the recommended fan.
    Take,
    /// The recommended fan is enough by the best estimate, but not as surely as the run requires.
    Marginal,
    /// The closed machine holds by the best estimate, but not surely, and no fan looked at makes it so.
    ClosedMarginal,
    /// There is a flow that holds, and no fan looked at gives it.
    NoneEnough(NoneEnough),
    /// No flow is enough.
    NoFlow,
    /// At no flow the heaters hold their setpoints.
    CannotRun,
}

/// Why no fan looked at is enough, though there is a flow that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoneEnough {
    /// What holds the filament solid makes the chamber too cool.
    NoWindow,
    /// No fan of any maker gives that flow against that pressure.
    OutOfReach,
    /// Fans that give the flow move too much with a clean filter.
    TooStrong,
    /// Fans that give the flow are not made for air so warm.
    WarmAir,
    /// Fans that give the flow work unsteadily.
    Unstable,
    /// Fans are enough by the best estimate, but with each of them more soften than hold.
    Unsure,
    /// Fans give too little: the nearest ones only hold with a clean filter.
    OnlyClean,
    /// Fans give too little.
    TooWeak,
}

/// Why no flow is enough.
#[derive(Debug, Clone, PartialEq)]
pub struct Unreachable {
    /// The flow with the lowest peak of those tried at which the heaters do their work, m3/s.
    pub tried_m3_per_s: f64,
    /// The station that stays too hot.
    pub station: StationKind,
    /// Warmest room air over the run, K.
    pub room_K: f64,
    /// Softening limit less the required margin, K.
    pub allowed_K: f64,
    /// Whether there is a flow at which the job can run at all.
    pub runs: bool,
    /// What a heater lacks at the largest flow tried.
    pub shortfall: Option<Shortfall>,
    /// That a fan running all the time would be enough, where it does not run all the time.
    pub cause: Option<Cause>,
}

/// What keeps the fan from doing what it could.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// What.
    pub control: CauseKind,
    /// The least flow without it, m3/s.
    pub without_m3_per_s: f64,
}

/// What keeps a fan from running.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CauseKind {
    /// The thermostat starts it too late.
    Thermostat,
    /// The schedule shuts it off, or another arrangement holds, when it is needed.
    Schedule,
    /// Both.
    Both,
}

/// What to ask a supplier for: the fans of the catalogue are examples, and nobody sells them.
#[derive(Debug, Clone, PartialEq)]
pub struct Specification {
    /// Flow, m3/s, at least.
    pub flow_m3_per_s: f64,
    /// Why it is that much.
    pub by: FlowBy,
    /// Static pressure at that flow with a loaded filter, Pa.
    pub pressure_Pa: f64,
    /// Temperature of the air at which that is needed, K.
    pub air_K: f64,
    /// Warmest air that passes it, K.
    pub warmest_K: f64,
    /// Diameter of the duct that it feeds, m.
    pub duct_m: f64,
    /// Power of the smallest fan of the catalogue that does, W, for orientation.
    pub power_W: Option<f64>,
    /// More than this is too much with a clean filter, m3/s, where the chamber can be too cool.
    pub most_m3_per_s: Option<f64>,
    /// Whether its speed should be settable: there is a flow that is too much.
    pub settable: bool,
    /// Whether it should shut when it stands still.
    pub flap: bool,
    /// What the filter has to hold back.
    pub filter: FilterKind,
    /// What clean and loaded filter may take of that flow, Pa.
    pub filter_Pa: (f64, f64),
}

/// How the flow to ask for was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlowBy {
    /// It brings the chance of softening under what the run requires.
    Chance,
    /// The least flow and a reserve.
    Reserve,
    /// It is what the fan to take gives, which is less than certainty takes of a flow alone.
    Fan,
}

/// The sizing once more with the make-up opening that is advised.
#[derive(Debug, Clone, PartialEq)]
pub struct LargerOpening {
    /// Free area added low in the chamber, m2.
    pub add_m2: f64,
    /// The least flow then, m3/s; none where no flow is enough.
    pub needed_m3_per_s: Option<f64>,
    /// The fan to take then; none where none looked at is enough.
    pub candidate: Option<Candidate>,
}

/// A system that lets a flow pass which no fan presses through the one described.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eased {
    /// Free area added low in the chamber, m2.
    pub add_m2: f64,
    /// Inside diameter of the duct, m.
    pub duct_m: f64,
    /// So many of the filter side by side.
    pub filters: u32,
    /// Pressure with loaded filters, Pa.
    pub pressure_Pa: f64,
}

/// A thermostat that spares the fan where it is not needed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermostat {
    /// Starts the fan above this, in the top air, K.
    pub on_above_K: f64,
    /// Stops it below this, K.
    pub off_below_K: f64,
    /// Share of the run in which the fan runs, 0 to 1.
    pub share: f64,
    /// Starts a day.
    pub starts_a_day: f64,
    /// The margin with it, K.
    pub margin_K: f64,
}

/// When to change the filter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilterChange {
    /// Pressure across it at which it is due, at the fan's flow, Pa.
    pub at_Pa: f64,
    /// Pressure across a new one at the fan's flow, Pa.
    pub new_Pa: f64,
    /// After how long a running time that is about, s, where its loading is known.
    pub after_s: Option<f64>,
}

/// A filter that nobody described, or not wholly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssumedFilter {
    /// What it stops, as far as that was said.
    pub filter: FilterKind,
    /// Pressures at the rated flow, clean and loaded, Pa.
    pub rated_Pa: (f64, f64),
    /// The rated flow, m3/s.
    pub rated_flow_m3_per_s: f64,
}

/// What running the fan costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Costs {
    /// Electrical energy of the fan over the run, J, where its power is known.
    pub fan_J: Option<f64>,
    /// How much more the machine's heaters draw than with the machine closed, J.
    pub heaters_J: f64,
    /// The fan's and the heaters' together over the season, J, where a season was stated.
    pub season_J: Option<f64>,
    /// What a kilowatt hour costs, where that was stated.
    pub price_per_kWh: Option<f64>,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Sizing {
    /// What to do.
    pub advice: Advice,
    /// The filter that was taken for granted where the run file does not say all of it.
    pub assumed: Option<AssumedFilter>,
    /// The arrangement that the run itself has, where that moves air another way or leaves something open: a fan that
    /// extracts from the shut machine was sized in its place.
    pub instead_of: Option<&'static str>,
    /// Whether the fan runs only in stretches of the run's schedule.
    pub as_scheduled: bool,
    /// Least flow that holds the required margin, m3/s, rounded up to 0.1 m3/h; 0 where the closed
    /// machine holds already; none where no flow does.
    pub needed_m3_per_s: Option<f64>,
    /// Least flow that also brings the chance of softening under what the run puts up with, m3/s; none where that was not
    /// asked, or where no flow between the fans' does.
    pub sure_m3_per_s: Option<f64>,
    /// The chance of softening at any flow, where that was asked.
    pub chances: Option<Chances>,
    /// Why there is none.
    pub unreachable: Option<Unreachable>,
    /// Lowest peak of the filament over all flows tried, K.
    pub coolest_peak_K: f64,
    /// The margin that goes with it, K: no flow brings more.
    pub most_margin_K: f64,
    /// Largest flow that keeps the chamber warm enough, m3/s; none where it can't be too cool, or
    /// where no flow tried makes it so.
    pub most_m3_per_s: Option<f64>,
    /// Pressure of the whole system at the needed flow with clean and with loaded filter, Pa.
    pub pressure_at_needed_Pa: Option<(f64, f64)>,
    /// What takes it with a loaded filter.
    pub split_at_needed: Option<Split>,
    /// A system through which it would pass, where no fan presses it through this one.
    pub eased: Option<Eased>,
    /// Candidates in the order given, then slower and throttled ones, then pairs where no single fan is enough.
    pub candidates: Vec<Candidate>,
    /// Position of the recommended one.
    pub recommended: Option<usize>,
    /// The sizing with more make-up opening, where that is advised.
    pub larger_opening: Option<LargerOpening>,
    /// A thermostat for the recommended fan.
    pub thermostat: Option<Thermostat>,
    /// When the recommended fan's filter is due; none without a filter.
    pub filter_change: Option<FilterChange>,
    /// What running the recommended fan costs.
    pub costs: Option<Costs>,
    /// What to ask for; none where no flow is needed or enough.
    pub specification: Option<Specification>,
    /// Flow and pressure of the system, clean and loaded, for the picture.
    pub system_Pa: Vec<(f64, f64, f64)>,
    /// Whole runs at flows, by rising flow: the margin over the flow.
    pub samples: Vec<Sample>,
    /// What practice knows, what can hurt somebody first.
    pub warnings: Vec<FanWarning>,
    /// What the user must mind.
    pub cautions: Vec<Caution>,
}

impl Sizing {
    /// The fan to take.
    #[must_use]
    pub fn chosen(&self) -> Option<&Candidate> {
        self.recommended.map(|k| &self.candidates[k])
    }

    /// `holds` when no fan is needed or the one to take is enough as surely as is required; `tight` when it is enough
    /// by the best estimate only, or fans are enough with a clean filter only, or what is enough leaves the chamber too
    /// cool; `cannot run` when at no flow, or at none that holds and a fan looked at gives, the heaters hold their
    /// setpoints; else `softens`.
    #[must_use]
    pub const fn verdict(&self) -> Verdict {
        match self.advice {
            Advice::NoFan | Advice::Take => Verdict::Holds,
            Advice::Marginal | Advice::ClosedMarginal => Verdict::Tight,
            Advice::NoneEnough(why) => match why {
                NoneEnough::NoWindow | NoneEnough::OnlyClean | NoneEnough::Unsure => Verdict::Tight,
                NoneEnough::TooStrong => Verdict::CannotRun,
                NoneEnough::OutOfReach
                | NoneEnough::WarmAir
                | NoneEnough::Unstable
                | NoneEnough::TooWeak => Verdict::Softens,
            },
            Advice::NoFlow => Verdict::Softens,
            Advice::CannotRun => Verdict::CannotRun,
        }
    }

    /// The margin at a flow between those run, m3/s, K: as straight between neighbours.
    #[must_use]
    pub fn margin_at_K(&self, flow_m3_per_s: f64) -> Option<f64> {
        let after = self
            .samples
            .partition_point(|s| s.flow_m3_per_s < flow_m3_per_s);
        let high = self.samples.get(after)?;
        let Some(low) = after.checked_sub(1).map(|k| &self.samples[k]) else {
            return Some(high.outcome.margin_K);
        };
        let share = (flow_m3_per_s - low.flow_m3_per_s) / (high.flow_m3_per_s - low.flow_m3_per_s);
        Some(low.outcome.margin_K + share * (high.outcome.margin_K - low.outcome.margin_K))
    }
}

/// What there is to do, from what each fan is.
pub(super) fn advice(s: &Sizing, required_chance: f64, out_of_reach: bool) -> Advice {
    let Some(needed) = s.needed_m3_per_s else {
        return match &s.unreachable {
            Some(u) if !u.runs => Advice::CannotRun,
            _ => Advice::NoFlow,
        };
    };
    let is_sure_closed = s
        .chances
        .as_ref()
        .is_none_or(|c| c.is_sure_closed(required_chance));
    if needed <= 0.0 && is_sure_closed {
        return Advice::NoFan;
    }
    match s.chosen().map(|c| c.standing) {
        Some(Standing::Robust) => return Advice::Take,
        // A fan that does not make it sure is none to take where none is needed otherwise.
        _ if needed <= 0.0 => return Advice::ClosedMarginal,
        Some(_) => return Advice::Marginal,
        None => {}
    }
    let any = |lack: &dyn Fn(&Lack) -> bool| {
        let is = |c: &Candidate| matches!(&c.standing, Standing::Not(found) if lack(found));
        s.candidates.iter().any(is)
    };
    Advice::NoneEnough(match s.most_m3_per_s {
        Some(most) if needed > most => NoneEnough::NoWindow,
        _ if out_of_reach => NoneEnough::OutOfReach,
        _ if s.candidates.iter().any(Candidate::is_enough) => NoneEnough::Unsure,
        _ if any(&|l| matches!(l, Lack::CannotRun | Lack::TooStrong)) => NoneEnough::TooStrong,
        _ if any(&|l| matches!(l, Lack::TooCool)) => NoneEnough::NoWindow,
        _ if any(&|l| matches!(l, Lack::WarmAir { .. })) => NoneEnough::WarmAir,
        _ if any(&|l| matches!(l, Lack::Unstable)) => NoneEnough::Unstable,
        _ if holds_clean(&s.candidates) => NoneEnough::OnlyClean,
        _ => NoneEnough::TooWeak,
    })
}

fn holds_clean(candidates: &[Candidate]) -> bool {
    let holds = |c: &Candidate| {
        c.standing == Standing::Not(Lack::TooWeak)
            && c.clean.outcome.verdict == Verdict::Holds
            && !c.too_cool
            && !c.clean.unstable
    };
    candidates.iter().any(holds)
}
