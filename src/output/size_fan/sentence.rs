//! The sentence that answers the question, and those that go with it.

use super::{fine_flow, opening};
use crate::output::certainty::of_100;
use crate::quantity::{
    System, format_difference, format_flow, format_length, format_pressure, format_temperature,
};
use crate::run::{FilterKind, Run};
use crate::study::size_fan::{
    Advice, AssumedFilter, Candidate, Cause, CauseKind, LargerOpening, NoneEnough, RESERVE, Sizing,
    Split,
};

/// The sentence that answers the question.
#[must_use]
pub fn sentence(run: &Run, s: &Sizing, system: System) -> String {
    let most = of_100(run.requirements.chance);
    match s.advice {
        Advice::NoFan => {
            let sure = s.chances.as_ref().map_or_else(String::new, |chances| {
                format!(", and {}", such_soften(chances.closed()))
            });
            format!("no fan is needed: the closed machine keeps the required margin{sure}.")
        }
        Advice::ClosedMarginal => format!(
            "{}, and no fan looked at brings that down to {most}{}.",
            closed(run, s),
            surest(s).map_or_else(String::new, |(c, chance)| format!(
                ": the surest, {}, leaves {}",
                name(c),
                of_100(chance)
            ))
        ),
        Advice::Take => take(run, s, system),
        Advice::Marginal => marginal(run, s, system),
        Advice::NoneEnough(why) => none_enough(run, s, why, system),
        Advice::NoFlow | Advice::CannotRun => not_reachable(s, system),
    }
}

/// How many runs of such a chance soften, as a clause.
fn such_soften(chance: f64) -> String {
    match of_100(chance) {
        none if none == "none" => "no such run softens".to_owned(),
        all if all == "all" => "all such runs soften".to_owned(),
        some => format!("{some} such runs soften"),
    }
}

/// A fan by name, and that nobody sells it.
fn name(c: &Candidate) -> String {
    let invented = if c.fan.invented { " (invented)" } else { "" };
    format!("{}{invented}", c.label())
}

fn closed(run: &Run, s: &Sizing) -> String {
    let but = match &s.chances {
        Some(c) if c.closed() <= run.requirements.chance => {
            format!(
                "{} samples are too few to be sure of it",
                c.sampling.samples
            )
        }
        Some(c) => such_soften(c.closed()),
        None => such_soften(1.0),
    };
    format!("by the best estimate the closed machine keeps the required margin, but {but}")
}

/// What a fan comes to with a loaded filter.
fn comes_to(c: &Candidate, system: System) -> String {
    let soften = c
        .chance_softens
        .map_or_else(String::new, |chance| format!(", {} soften", of_100(chance)));
    format!(
        "{}, margin {}{soften}",
        fine_flow(c.loaded.flow_m3_per_s, system),
        format_difference(c.loaded.outcome.margin_K, system)
    )
}

fn take(run: &Run, s: &Sizing, system: System) -> String {
    let (Some(c), Some(needed)) = (s.chosen(), s.needed_m3_per_s) else {
        return String::new();
    };
    let most = of_100(run.requirements.chance);
    let comes_to = comes_to(c, system);
    if needed <= 0.0 {
        return format!(
            "{}; the smallest fan that brings that down to {most}, with a loaded filter too, is {}: {comes_to}.",
            closed(run, s),
            name(c)
        );
    }
    let needed_words = fine_flow(needed, system);
    match (&s.chances, s.sure_m3_per_s) {
        (Some(_), Some(sure)) => format!(
            "{needed_words} are needed by the best estimate, {} for {most} to soften at most; the smallest fan that does, with a loaded filter too, is {}: {comes_to}.",
            fine_flow(sure, system),
            name(c)
        ),
        (Some(_), None) => format!(
            "{needed_words} are needed by the best estimate; the smallest fan with which {most} soften at most, with a loaded filter too, is {}: {comes_to}.",
            name(c)
        ),
        (None, _) => format!(
            "{needed_words} are needed, {} with a quarter in reserve; the smallest fan that gives that, with a loaded filter too, is {}: {comes_to}.",
            fine_flow(RESERVE * needed, system),
            name(c)
        ),
    }
}

fn marginal(run: &Run, s: &Sizing, system: System) -> String {
    let (Some(c), Some(needed)) = (s.chosen(), s.needed_m3_per_s) else {
        return String::new();
    };
    let most = of_100(run.requirements.chance);
    let comes_to = comes_to(c, system);
    let needed_words = fine_flow(needed, system);
    let has_reserve = c.loaded.flow_m3_per_s >= RESERVE * needed;
    if s.chances.is_none() {
        return format!(
            "{needed_words} are needed, {} with a quarter in reserve, which no fan looked at gives; the smallest that is enough by the best estimate, with a loaded filter too, is {}: {comes_to}: marginal.",
            fine_flow(RESERVE * needed, system),
            name(c)
        );
    }
    let sure = match s.sure_m3_per_s {
        Some(sure) => {
            let gives = |c: &Candidate| {
                c.is_enough()
                    && c.chance_softens
                        .is_some_and(|p| p <= run.requirements.chance)
            };
            let but = if s.candidates.iter().any(gives) {
                "which only fans give that strain the shell or may cool the chamber too far"
            } else {
                "which no fan looked at is sure to give"
            };
            format!(
                "{} for {most} to soften at most, {but}",
                fine_flow(sure, system)
            )
        }
        None => format!("and no flow of these fans brings what softens down to {most}"),
    };
    let reserve = if has_reserve {
        " with a quarter in reserve"
    } else {
        ""
    };
    let surest = surest(s)
        .filter(|(surest, _)| surest.label() != c.label())
        .map_or_else(String::new, |(surest, chance)| {
            format!(
                "; the surest is {}: {} soften",
                name(surest),
                of_100(chance)
            )
        });
    format!(
        "{needed_words} are needed by the best estimate, {sure}; the smallest that is enough by the best estimate{reserve}, with a loaded filter too, is {}: {comes_to}: marginal{surest}. What else makes it surer, `dogdays check` ranks.",
        name(c)
    )
}

/// The fan with the least chance of softening, of those that are enough otherwise.
fn surest(s: &Sizing) -> Option<(&Candidate, f64)> {
    let enough = s.candidates.iter().filter(|c| c.is_enough());
    let each = enough.filter_map(|c| Some((c, c.chance_softens?)));
    each.min_by(|a, b| a.1.total_cmp(&b.1))
}

fn none_enough(run: &Run, s: &Sizing, why: NoneEnough, system: System) -> String {
    let needed = s.needed_m3_per_s.unwrap_or(0.0);
    let needed_words = fine_flow(needed, system);
    let takes = s.split_at_needed.as_ref().map_or_else(String::new, |split| {
        let total = format_pressure(split.total_Pa(), system);
        match largest(split) {
            Some((what, Pa)) => format!(
                " At that flow the system takes {total} with a loaded filter, and {what} {} of it.",
                format_pressure(Pa, system)
            ),
            None => format!(" At that flow the system takes {total} with a loaded filter."),
        }
    });
    match why {
        NoneEnough::NoWindow => match s.most_m3_per_s {
            Some(most) => format!(
                "{needed_words} are needed, but above {} the chamber gets too cool for {}, and no fan looked at stays between the two: take another material, a cooler bed or room, or a cooler filament path.",
                fine_flow(most, system),
                run.material.name
            ),
            None => format!("{needed_words} are needed, and the chamber gets too cool."),
        },
        NoneEnough::OutOfReach => {
            let total = s.split_at_needed.map_or(0.0, |split| split.total_Pa());
            let eased = s.eased.as_ref().map_or_else(String::new, |e| {
                let mut with = Vec::new();
                if e.add_m2 > 0.0 {
                    with.push(format!("{} more make-up opening", opening(e.add_m2, system)));
                }
                if e.duct_m > run.system.duct.diameter_m {
                    with.push(format!("a duct of {}", format_length(e.duct_m, system)));
                }
                if e.filters > 1 && run.system.filter != FilterKind::None {
                    with.push(format!("{} of the filters side by side", e.filters));
                }
                format!(
                    " The nearest thing that works: {}, through which it takes {}. Or do with less air: `dogdays check` ranks cooler beds, rooms, starts and other materials.",
                    with.join(", "),
                    format_pressure(e.pressure_Pa, system)
                )
            });
            format!(
                "out of reach: {needed_words} are needed, and through this system they would take {}, more than any fan for such a machine gives.{eased}",
                format_pressure(total, system)
            )
        }
        NoneEnough::TooStrong => format!(
            "{needed_words} are needed, and the fans looked at move so much that a heater can't hold its setpoint, at the latest with a clean filter: take a smaller fan, a slower or throttled one, or a stronger heater."
        ),
        NoneEnough::WarmAir => format!(
            "{needed_words} are needed, and the fans that give them are not made for air so warm: take one that is, or draw the air off through a longer, bare duct and put the fan at its end."
        ),
        NoneEnough::Unstable => format!(
            "{needed_words} are needed, and the fans that give them work unsteadily there: take one with more pressure, or lower the system's.{takes}"
        ),
        NoneEnough::Unsure => {
            let surest = surest(s).map_or_else(String::new, |(c, chance)| {
                format!(": the surest is {}, {} soften", name(c), of_100(chance))
            });
            format!(
                "{needed_words} are needed by the best estimate, and fans give that, but with each of them more runs soften than hold{surest}. A fan is not enough here: `dogdays check` ranks what else helps.{takes}"
            )
        }
        NoneEnough::OnlyClean => format!(
            "{needed_words} are needed, and no fan looked at gives them with a loaded filter, alone or as a pair, though with a clean one it holds: change the filter sooner, or take a stronger fan, a larger make-up opening or a larger filter.{takes}"
        ),
        NoneEnough::TooWeak => format!(
            "{needed_words} are needed, and no fan looked at is enough with a loaded filter, alone or as a pair: take a stronger fan, a larger make-up opening, or a wider duct and filter.{takes}"
        ),
    }
}

/// What takes most of a system's pressure, if it takes more than half.
fn largest(split: &Split) -> Option<(&'static str, f64)> {
    let parts = [
        ("the shell", split.shell_Pa),
        ("the grille", split.grille_Pa),
        ("the filter", split.filter_Pa),
        ("the duct", split.duct_Pa),
        ("the wind", split.wind_Pa),
    ];
    let most = parts.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
    most.filter(|(_, Pa)| *Pa > 0.5 * split.total_Pa())
}

fn not_reachable(s: &Sizing, system: System) -> String {
    let Some(u) = &s.unreachable else {
        return "no flow is enough.".to_owned();
    };
    let degrees = |K: f64| format_temperature(K, system);
    if let (false, Some(shortfall)) = (u.runs, &u.shortfall) {
        return format!("cannot run at any flow: {}.", shortfall.text(system));
    }
    let flow = match u.tried_m3_per_s {
        q if q > 0.0 => format!("even {}", format_flow(q, system)),
        _ => "every flow".to_owned(),
    };
    let leaves = format!(
        "{flow} leaves {} at the {}, and {} is allowed",
        degrees(s.coolest_peak_K),
        u.station.name(),
        degrees(u.allowed_K)
    );
    if let Some(cause) = u.cause {
        return format!(
            "not reachable as the fan is run: {leaves}; {}.",
            by_control(cause, system)
        );
    }
    let room = degrees(u.room_K);
    let why = if let Some(shortfall) = &u.shortfall {
        format!("with more, {}", shortfall.text(system))
    } else if u.room_K >= u.allowed_K {
        format!("the room itself reaches {room}")
    } else {
        format!(
            "the {} stays that much warmer than the room's {room} whatever blows through the chamber",
            u.station.name()
        )
    };
    format!("not reachable: {leaves}; {why}.")
}

fn by_control(cause: Cause, system: System) -> String {
    let enough = match cause.without_m3_per_s {
        q if q > 0.0 => format!("{} are enough", fine_flow(q, system)),
        _ => "it holds".to_owned(),
    };
    match cause.control {
        CauseKind::Thermostat => format!(
            "the thermostat starts the fan too late: running all the time, {enough} (`arrangement.thermostat.on_above`)"
        ),
        CauseKind::Schedule => format!(
            "the schedule rests the fan, or opens something else, when it is needed: without it {enough} (`arrangement.schedule`)"
        ),
        CauseKind::Both => format!(
            "thermostat and schedule rest the fan when it is needed: running all the time, {enough} (`arrangement.thermostat`, `arrangement.schedule`)"
        ),
    }
}

/// What was taken for granted of a filter.
#[must_use]
pub(super) fn assumed(a: &AssumedFilter, system: System) -> String {
    let what = match a.filter {
        FilterKind::NotSaid => "a filter for particles and fumes",
        FilterKind::Particles => "a filter for particles",
        FilterKind::ParticlesAndFumes => "a filter for particles and fumes",
        FilterKind::None => "no filter",
    };
    format!(
        "Assumed, as the run file does not say it: {what} that takes {} clean and {} when it is due for change, at {} (`system.filter_stops`, `filter_clean`, `filter_loaded`). Another one may need another fan.",
        format_pressure(a.rated_Pa.0, system),
        format_pressure(a.rated_Pa.1, system),
        format_flow(a.rated_flow_m3_per_s, system)
    )
}

/// That another arrangement than the run's was sized.
#[must_use]
pub(super) fn instead_of(arrangement: &str) -> String {
    format!(
        "The run's own arrangement is \"{arrangement}\"; what is sized here is a fan that extracts in its place, with lid and door shut."
    )
}

/// When the fan runs that was sized.
#[must_use]
pub(super) const fn as_scheduled() -> &'static str {
    "Sized as scheduled: the fan runs only in the stretches in which `arrangement.schedule` lets it."
}

/// Both picks: without and with the opening that is advised.
#[must_use]
pub(super) fn larger_opening(s: &Sizing, larger: &LargerOpening, system: System) -> String {
    let more = format!(
        "with {} more make-up opening low in the chamber (`machine.vent`)",
        opening(larger.add_m2, system)
    );
    let described = |c: &Candidate| {
        let power = c
            .power_W
            .map_or_else(String::new, |W| format!(", {W:.1} W"));
        format!(
            "{}{power} and {}: {}",
            name(c),
            format_pressure(c.loaded.pressure_Pa, system),
            comes_to(c, system)
        )
    };
    let now = s.chosen();
    match (now, &larger.candidate) {
        (_, None) => format!("Sized again {more}: no fan looked at is enough then either."),
        (Some(now), Some(then)) if now.label() == then.label() => format!(
            "Sized again {more}, the same fan is the one to take: {}.",
            comes_to(then, system)
        ),
        (Some(now), Some(then)) => format!(
            "Sized again {more}, {}; as the machine is, {}.",
            described(then),
            described(now)
        ),
        (None, Some(then)) => format!("Sized again {more}, {}.", described(then)),
    }
}

/// How little more flow brings: from a round flow to twice and four times it.
#[must_use]
pub(super) fn returns(s: &Sizing, system: System) -> Option<String> {
    let needed = s.needed_m3_per_s.filter(|q| *q > 0.0)?;
    let shown = system.flow(needed);
    // The round number below.
    let magnitude = 10f64.powf(shown.log10().floor());
    let first = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|m| m * magnitude)
        .find(|q| *q <= shown * 1.001)?;
    let margin_K = |q: f64| s.margin_at_K(needed * q / shown);
    let [a, b, c] = [
        margin_K(first)?,
        margin_K(2.0 * first)?,
        margin_K(4.0 * first)?,
    ];
    let unit = system.flow_unit();
    let gain = |K: f64| format_difference(K, system);
    Some(format!(
        "From {first} to {} {unit} the margin gains {}, from there to {} {unit} another {}; no flow brings more than {}.",
        2.0 * first,
        gain(b - a),
        4.0 * first,
        gain(c - b),
        gain(s.most_margin_K)
    ))
}

/// The answer in one line, for the head of a picture.
#[cfg(feature = "pictures")]
#[must_use]
pub(super) fn headline(run: &Run, s: &Sizing, system: System) -> String {
    let needed = s
        .needed_m3_per_s
        .map(|q| fine_flow(q, system))
        .unwrap_or_default();
    let pick = |word: &str| {
        let Some(c) = s.chosen() else {
            return String::new();
        };
        let need = match s.needed_m3_per_s {
            Some(q) if q > 0.0 => format!(" where {needed} are needed"),
            _ => String::new(),
        };
        let soften = c
            .chance_softens
            .map_or_else(String::new, |chance| format!(", {} soften", of_100(chance)));
        format!(
            "{}: {}{need}, margin {}{soften}{word}",
            name(c),
            fine_flow(c.loaded.flow_m3_per_s, system),
            format_difference(c.loaded.outcome.margin_K, system)
        )
    };
    match s.advice {
        Advice::Take => pick(""),
        Advice::Marginal => pick(": marginal"),
        Advice::NoFan => "No fan is needed".to_owned(),
        Advice::ClosedMarginal => format!(
            "Closed it holds by the best estimate, but {} soften, and no fan looked at makes it sure",
            of_100(s.chances.as_ref().map_or(1.0, |c| c.closed()))
        ),
        Advice::NoneEnough(NoneEnough::OutOfReach) => {
            format!("{needed} are needed: out of reach of any fan through this system")
        }
        Advice::NoneEnough(NoneEnough::NoWindow) => {
            format!(
                "{needed} are needed, and the chamber gets too cool for {}",
                run.material.name
            )
        }
        Advice::NoneEnough(_) => format!("{needed} are needed: no fan looked at is enough"),
        Advice::NoFlow => "No flow is enough".to_owned(),
        Advice::CannotRun => "Cannot run at any flow".to_owned(),
    }
}
