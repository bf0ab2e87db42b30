//! A season in words.

use jiff::civil::DateTime;

use super::words::{comes_to, date, hours, moment, seen_from, stretch, stretch_from, weeks};
use crate::output::columns::{Column, Columns};
use crate::output::screen::Screen;
use crate::output::words::hours as length;
use crate::quantity::{System, format_count, format_duration, format_flow};
use crate::run::Run;
use crate::study::Verdict;
use crate::study::cautions::Caution;
use crate::study::season::{Counts, Extraction, Season, Sharing};

/// Stretches that are told of from a moment on.
pub(super) const NEXT: usize = 4;

/// What a season is told with.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The run as it is.
    pub run: &'a Run,
    /// From when on the next starts are asked for.
    pub from: Option<DateTime>,
    /// What extraction does, where it was asked for.
    pub extraction: Option<&'a Extraction>,
    /// Whether the year of the weather stands for any.
    pub is_typical_year: bool,
    /// Whether everything is wanted.
    pub verbose: bool,
}

/// A share of starts: "36 %"; what is not all is not 100 %, what is not nothing not 0 %.
pub(super) fn share(part: usize, of: usize) -> String {
    if of == 0 {
        return "0 %".to_owned();
    }
    let percent = 100.0 * part as f64 / of as f64;
    if part > 0 && percent < 0.5 {
        "under 1 %".to_owned()
    } else if part < of && percent > 99.5 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// The answer alone.
#[must_use]
pub fn answer(season: &Season, system: System) -> String {
    let counts = season.counts();
    let all = season.starts.len();
    let name = &season.name;
    let Some(worst) = season.worst() else {
        return format!("{name}: no start fits into the weather.");
    };
    let worst_is = format!(
        "the worst, {}, {}",
        moment(worst.at),
        comes_to(worst, season.required_K, system)
    );
    if counts.holds == all {
        return format!(
            "{name}: every one of {} starts holds; {worst_is}.",
            format_count(all)
        );
    }
    if counts.holds == 0 {
        let others = kinds(&counts);
        return format!(
            "{name}: none of {} starts holds: {others}; {worst_is}.",
            format_count(all)
        );
    }
    format!(
        "{name}: {} of {} starts hold ({}), {}; {worst_is}.",
        format_count(counts.holds),
        format_count(all),
        share(counts.holds, all),
        kinds(&counts)
    )
}

/// The starts that do not hold, by kind.
fn kinds(counts: &Counts) -> String {
    let kinds = [
        (counts.tight, "tight"),
        (counts.softens, "soften"),
        (counts.cannot_run, "cannot run"),
    ];
    let kinds = kinds.iter().filter(|(n, _)| *n > 0).map(|(n, word)| {
        let verb = match *word {
            "tight" if *n == 1 => "is tight",
            "tight" => "are tight",
            "soften" if *n == 1 => "softens",
            word => word,
        };
        format!("{} {verb}", format_count(*n))
    });
    kinds.collect::<Vec<_>>().join(", ")
}

/// The whole text: the run's own arrangement in full, the others in a table.
#[must_use]
pub fn text(seasons: &[Season], told: &Told<'_>, screen: Screen) -> String {
    let mut out = String::new();
    let Some(own) = seasons.first() else {
        return out;
    };
    let o = &mut out;
    screen.paragraph(o, &answer(own, screen.system));
    o.push('\n');
    about(o, own, told, screen);
    when(o, own, screen);
    next(o, own, told, screen);
    extraction(o, told, screen);
    if seasons.len() > 1 {
        o.push('\n');
        o.push_str(&arrangements(seasons, screen.system).text(screen.width));
        if seasons.iter().any(|s| !s.is_allowed) {
            screen.bullet(
                o,
                "*  not allowed for this run: it opens a machine that must stay closed",
            );
        }
    }
    o.push('\n');
    if told.verbose {
        o.push_str(&by_week(own).text(screen.width));
        o.push('\n');
        o.push_str(&by_hour(own).text(screen.width));
        o.push('\n');
        for season in seasons {
            screen.bullet(o, &how(season));
        }
        for caution in cautions_of(told.run, told.extraction.is_some()) {
            screen.bullet(o, caution.text());
        }
    } else {
        screen.paragraph(o, &mind(told.run));
        screen.paragraph(o, "More: --verbose (weeks, hours), --from \"2026-07-13 18:00\" (the next starts), --least-flow, --csv FILE");
    }
    out
}

/// Which run, and when it is started.
pub(in crate::output) fn about(o: &mut String, own: &Season, told: &Told<'_>, screen: Screen) {
    let required = crate::quantity::format_difference(own.required_K, screen.system);
    let run = format!(
        "{}, {}; {required} below the softening limit required",
        told.run.name,
        length(own.duration_s / 3600.0)
    );
    screen.entry(o, "Run", &run);
    if let (Some(first), Some(last)) = (own.starts.first(), own.starts.last()) {
        let mut span = format!(
            "a start every {} from {} to {}",
            every(own.every_s),
            date(first.at.date()),
            date(last.at.date())
        );
        if told.is_typical_year {
            span += &format!(", a typical year laid on {}", first.at.year());
        }
        if own.left_out > 0 {
            span += &format!(
                "; {} later ones are left out, whose job would outlast the weather",
                format_count(own.left_out)
            );
        }
        screen.entry(o, "Season", &span);
    }
}

/// "hour", "6 h".
fn every(every_s: f64) -> String {
    if every_s == 3600.0 {
        return "hour".to_owned();
    }
    format_duration(every_s)
}

/// Weeks and hours of day in which every start holds, and the longest stretches.
pub(in crate::output) fn when(o: &mut String, own: &Season, screen: Screen) {
    let counts = own.counts();
    if counts.holds > 0 && counts.holds < counts.all() {
        let all = own.weeks();
        let (safe, none): (Vec<_>, Vec<_>) = all
            .iter()
            .filter(|w| w.counts.holds == w.counts.all() || w.counts.holds == 0)
            .partition(|w| w.counts.holds > 0);
        let mondays = |list: &[&crate::study::season::Week]| {
            weeks(&list.iter().map(|w| w.monday).collect::<Vec<_>>())
        };
        let text = match (safe.is_empty(), none.is_empty()) {
            (true, true) => "in no week every start holds, and in none no start".to_owned(),
            (false, true) => format!("every start holds in {}", mondays(&safe)),
            (true, false) => format!("no start holds in {}", mondays(&none)),
            (false, false) => format!(
                "every start holds in {}; no start in {}",
                mondays(&safe),
                mondays(&none)
            ),
        };
        screen.entry(o, "Weeks", &text);
        screen.entry(o, "Hours", &hours_text(own));
    }
    let longest: Vec<String> = [(true, "that holds"), (false, "that does not")]
        .into_iter()
        .filter_map(|(holds, word)| {
            let longest = own.longest(holds)?;
            Some(format!("{word}: {}", stretch(&longest, own)))
        })
        .collect();
    screen.entry(o, "Longest time", &longest.join("; "));
}

/// The hours of the day at which starts hold most often, and least.
fn hours_text(own: &Season) -> String {
    let by_hour = own.hours();
    let shares: Vec<(usize, f64)> = by_hour
        .iter()
        .enumerate()
        .filter(|(_, c)| c.all() > 0)
        .map(|(hour, c)| (hour, c.share_that_holds()))
        .collect();
    let fold = |start: f64, f: fn(f64, f64) -> f64| shares.iter().map(|s| s.1).fold(start, f);
    let (best, least) = (fold(0.0, f64::max), fold(1.0, f64::min));
    // A point of a hundred makes no difference to anybody.
    let near = |to: f64| {
        let near = shares.iter().filter(|s| (s.1 - to).abs() < 0.01);
        hours(&near.map(|s| s.0).collect::<Vec<_>>())
    };
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    if best - least < 0.01 {
        return format!(
            "the hour of the day makes no difference: {} hold at each",
            percent(best)
        );
    }
    format!(
        "most starts hold at {} ({}), fewest at {} ({})",
        near(best),
        percent(best),
        near(least),
        percent(least)
    )
}

/// The next starts from a moment on.
pub(in crate::output) fn next(o: &mut String, own: &Season, told: &Told<'_>, screen: Screen) {
    let Some(from) = told.from else { return };
    let stretches = own.next(from, NEXT);
    o.push('\n');
    screen.paragraph(o, &format!("From {} on", moment(from)));
    for stretch in &stretches {
        screen.bullet(
            o,
            &stretch_from(stretch, from, own.required_K, screen.system),
        );
    }
    if let Some(stretch) = stretches.last()
        && !stretches.iter().any(|s| s.holds)
    {
        let until = seen_from(stretch.to, from);
        screen.bullet(
            o,
            &format!("no start holds up to {until}, the last in this weather"),
        );
    }
    if stretches.is_empty() {
        screen.bullet(o, "the weather has no start after that");
    }
}

fn extraction(o: &mut String, told: &Told<'_>, screen: Screen) {
    let Some(found) = told.extraction else { return };
    o.push('\n');
    screen.paragraph(o, &extraction_sentence(found, screen.system));
    if found.flows.len() > 1 {
        o.push_str(&flows(found, screen.system).text(screen.width));
    }
}

/// The least flow that makes every start hold.
pub(in crate::output) fn extraction_sentence(found: &Extraction, system: System) -> String {
    match found.least_m3_per_s {
        Some(least) if least > 0.0 => format!(
            "Extracting {} makes every start hold; without a fan, {} of {} days are too warm for a job under way.",
            format_flow(least, system),
            found.days,
            found.of_days
        ),
        Some(_) => "No fan is needed: every start holds without.".to_owned(),
        None => format!(
            "No extraction makes every start hold; without a fan, {} of {} days are too warm for a job under way.",
            found.days, found.of_days
        ),
    }
}

/// What smaller flows are worth.
pub(in crate::output) fn flows(found: &Extraction, system: System) -> Columns {
    let cells = |text: &dyn Fn(&crate::study::season::AtFlow) -> String| -> Vec<String> {
        found.flows.iter().map(text).collect()
    };
    Columns {
        head: "Extracting".to_owned(),
        names: cells(&|f| match f.flow_m3_per_s {
            flow if flow > 0.0 => format!("  {}", format_flow(flow, system)),
            _ => "  nothing".to_owned(),
        }),
        columns: vec![
            Column::numbers(
                &["hold"],
                0,
                cells(&|f| share(f.counts.holds, f.counts.all())),
            ),
            Column::numbers(
                &["rescued of those that don't"],
                0,
                cells(&|f| format!("{:.0} %", (100.0 * f.rescued).floor())),
            ),
            Column::numbers(&["soften"], 1, cells(&|f| format_count(f.counts.softens))),
        ],
    }
}

pub(in crate::output) fn arrangements(seasons: &[Season], system: System) -> Columns {
    let cells =
        |text: &dyn Fn(&Season) -> String| -> Vec<String> { seasons.iter().map(text).collect() };
    Columns {
        head: "Arrangement".to_owned(),
        names: cells(&|s| format!("  {}{}", s.name, if s.is_allowed { "" } else { " *" })),
        columns: vec![
            Column::numbers(
                &["hold"],
                0,
                cells(&|s| share(s.counts().holds, s.starts.len())),
            ),
            Column::numbers(&["tight"], 1, cells(&|s| format_count(s.counts().tight))),
            Column::numbers(&["soften"], 1, cells(&|s| format_count(s.counts().softens))),
            Column::numbers(
                &["can't run"],
                2,
                cells(&|s| format_count(s.counts().cannot_run)),
            ),
            Column::numbers(
                &["least margin", system.difference_unit()],
                0,
                cells(&|s| {
                    s.worst()
                        .filter(|w| w.verdict != Verdict::CannotRun)
                        .map_or_else(String::new, |w| {
                            crate::quantity::ShownMargin::new(w.margin_K, s.required_K, system)
                                .number()
                        })
                }),
            ),
        ],
    }
}

pub(in crate::output) fn by_week(own: &Season) -> Columns {
    let weeks = own.weeks();
    Columns {
        head: "Week from".to_owned(),
        names: weeks
            .iter()
            .map(|w| format!("  {}", date(w.monday)))
            .collect(),
        columns: counts(&weeks.iter().map(|w| w.counts).collect::<Vec<_>>()),
    }
}

pub(in crate::output) fn by_hour(own: &Season) -> Columns {
    let hours = own.hours();
    let used: Vec<(usize, Counts)> = hours
        .into_iter()
        .enumerate()
        .filter(|(_, c)| c.all() > 0)
        .collect();
    Columns {
        head: "Hour of day".to_owned(),
        names: used.iter().map(|(h, _)| format!("  {h:02}:00")).collect(),
        columns: counts(&used.iter().map(|(_, c)| *c).collect::<Vec<_>>()),
    }
}

fn counts(all: &[Counts]) -> Vec<Column> {
    let cells =
        |text: &dyn Fn(&Counts) -> String| -> Vec<String> { all.iter().map(text).collect() };
    vec![
        Column::numbers(&["hold"], 0, cells(&|c| share(c.holds, c.all()))),
        Column::numbers(&["starts"], 1, cells(&|c| c.all().to_string())),
        Column::numbers(&["tight"], 0, cells(&|c| c.tight.to_string())),
        Column::numbers(&["soften"], 0, cells(&|c| c.softens.to_string())),
        Column::numbers(&["can't run"], 2, cells(&|c| c.cannot_run.to_string())),
    ]
}

/// How the numbers came about.
pub(in crate::output) fn how(season: &Season) -> String {
    match season.sharing {
        Sharing::Shared {
            every_s,
            memory_s,
            by_themselves,
        } => format!(
            "{}: read between runs that start every {}; this machine agrees with them {} after its own start (measured). {} starts, or their first hours, were run by themselves.",
            season.name,
            length(every_s / 3600.0),
            length(memory_s / 3600.0),
            format_count(by_themselves)
        ),
        Sharing::Alone(reason) => format!(
            "{}: every start was run by itself, because {}.",
            season.name,
            reason.text()
        ),
    }
}

/// What the reader must mind.
pub(in crate::output) fn cautions_of(run: &Run, extracts: bool) -> Vec<Caution> {
    let mut all = Caution::for_run(run);
    if extracts {
        all.push(Caution::ExtractedAir);
    }
    all.sort_unstable();
    all.dedup();
    all
}

fn mind(run: &Run) -> String {
    let all = Caution::for_run(run);
    let all: Vec<&str> = all.into_iter().map(|c| c.brief()).collect();
    format!("Mind: {}.", all.join("; "))
}
