//! The picture of a season: a calendar by hour of the day, made to hang on the wall; one for each arrangement where
//! there are several.

use super::text::share;
use crate::output::chart::{
    Calendar, ChartError, ComesTo, Format, Size, Starts, Zone, draw_calendar,
};
use crate::output::words::hours;
use crate::quantity::{System, format_count};
use crate::run::Run;
use crate::study::Verdict;
use crate::study::cautions::Caution;
use crate::study::season::{Counts, Season, Start, later};
use crate::weather::Station;

/// What a season's picture is titled with.
#[derive(Debug, Clone, Copy)]
pub struct Titled<'a> {
    /// The run as it is.
    pub run: &'a Run,
    /// The name of its weather, where that has no place.
    pub weather: &'a str,
    /// The weather's place, where its file says it.
    pub station: Option<&'a Station>,
    /// Whether its year stands for any.
    pub is_typical_year: bool,
}

/// Draws the seasons of one weather, the run's own arrangement first.
///
/// # Errors
/// See [`ChartError`].
pub fn draw(
    seasons: &[Season],
    titled: &Titled<'_>,
    format: Format,
    size: Size,
    system: System,
) -> Result<Vec<u8>, ChartError> {
    let Some(calendar) = calendar(seasons, titled) else {
        return Err(ChartError::NoData);
    };
    draw_calendar(&calendar, format, size, system)
}

/// The calendar; none without seasons.
pub(in crate::output) fn calendar(seasons: &[Season], titled: &Titled<'_>) -> Option<Calendar> {
    let own = seasons.first()?;
    let required_K = own.required_K;
    let is_shared = seasons.iter().all(|s| s.required_K == required_K);
    Some(Calendar {
        title: title(seasons, own),
        subtitle: subtitle(seasons, own, titled),
        required_K: is_shared.then_some(required_K),
        panels: seasons.iter().map(panel).collect(),
        note: note(seasons, own, titled),
    })
}

/// "41 % of 2,280 starts hold, 39 % are tight, 20 % soften".
fn parts(counts: &Counts, of: &str) -> String {
    let all = counts.all();
    if counts.holds == all {
        return format!("every one of {of} holds");
    }
    let first = match counts.holds {
        0 => format!("none of {of} holds"),
        holds => format!("{} of {of} hold", share(holds, all)),
    };
    let others = [
        (counts.tight, "are tight"),
        (counts.softens, "soften"),
        (counts.cannot_run, "cannot run"),
    ];
    let others = others.iter().filter(|(n, _)| *n > 0);
    let others = others.map(|(n, word)| format!("{} {word}", share(*n, all)));
    let all: Vec<String> = std::iter::once(first).chain(others).collect();
    all.join(", ")
}

fn title(seasons: &[Season], own: &Season) -> String {
    let of = format!("{} starts", format_count(own.starts.len()));
    let counts = own.counts();
    let first = format!("{}: {}", own.name, parts(&counts, &of));
    let others = seasons.iter().skip(1).filter(|s| s.is_allowed);
    let held = |s: &Season| s.counts().share_that_holds();
    // The first of the best, as the table has them.
    let best = others.rev().max_by(|a, b| held(a).total_cmp(&held(b)));
    match best {
        Some(best) if held(best) > counts.share_that_holds() => {
            let counts = best.counts();
            let holds = share(counts.holds, counts.all());
            format!("{first}. {}: {holds} hold", best.name)
        }
        Some(_) => format!("{first}. No other arrangement does better"),
        None => first,
    }
}

fn subtitle(seasons: &[Season], own: &Season, titled: &Titled<'_>) -> String {
    let run = titled.run;
    let mut parts = vec![
        run.name.clone(),
        run.machine.name.clone(),
        run.material.name.clone(),
    ];
    if seasons.len() == 1 && own.name != run.arrangement.name() {
        parts.push(run.arrangement.name().to_owned());
    }
    parts.push(format!("weather of {}", place(titled)));
    if let (Some(first), Some(last)) = (own.starts.first(), own.starts.last()) {
        let last = if titled.is_typical_year {
            format!("{} of a typical year", last.at.strftime("%-d %b"))
        } else {
            last.at.strftime("%-d %b %Y").to_string()
        };
        parts.push(format!("{} to {last}", first.at.strftime("%-d %b")));
    }
    parts.join(" · ")
}

fn place(titled: &Titled<'_>) -> String {
    let known = titled.station.map(|s| [s.name.trim(), s.region.trim()]);
    let known: Vec<&str> = known
        .into_iter()
        .flatten()
        .filter(|p| !p.is_empty())
        .collect();
    if known.is_empty() {
        titled.weather.to_owned()
    } else {
        known.join(", ")
    }
}

fn panel(season: &Season) -> Starts {
    let counts = season.counts();
    let mark = if season.is_allowed { "" } else { " *" };
    let mut starts: Vec<_> = season.starts.iter().map(|s| (s.at, comes_to(s))).collect();
    if let Some(last) = season.starts.last() {
        let after = |k: usize| later(last.at, season.every_s * k as f64);
        starts.extend((1..=season.left_out).map(|k| (after(k), ComesTo::Outlasts)));
    }
    Starts {
        name: season.name.clone(),
        tail: format!("{mark}: {} hold", share(counts.holds, counts.all())),
        every_s: season.every_s,
        starts,
    }
}

const fn comes_to(start: &Start) -> ComesTo {
    match start.verdict {
        Verdict::Holds => ComesTo::Margin(start.margin_K, Zone::Holds),
        Verdict::Tight => ComesTo::Margin(start.margin_K, Zone::Tight),
        Verdict::Softens => ComesTo::Margin(start.margin_K, Zone::Softens),
        Verdict::CannotRun => ComesTo::CannotRun,
    }
}

fn note(seasons: &[Season], own: &Season, titled: &Titled<'_>) -> String {
    let mut note = String::new();
    if seasons.iter().any(|s| !s.is_allowed) {
        note.push_str("* Not allowed: it opens the machine. ");
    }
    if seasons.iter().any(|s| s.required_K != own.required_K) {
        note.push_str("They require different margins. ");
    }
    note.push_str(&format!(
        "The job takes {}. An estimate, not a permit: measure the first run.",
        hours(own.duration_s / 3600.0)
    ));
    // The estimate is said already.
    let cautions = Caution::for_run(titled.run).into_iter();
    let cautions = cautions.filter(|c| *c != Caution::Estimate);
    let cautions: Vec<&str> = cautions.map(Caution::brief).collect();
    if !cautions.is_empty() {
        note.push_str(&format!(" Mind: {}.", cautions.join("; ")));
    }
    note
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::chamber::StationKind;
    use crate::study::season::{Reason, Sharing};

    fn season(name: &str, verdicts: &[(Verdict, f64)]) -> Season {
        let first = date(2026, 7, 13).at(6, 0, 0, 0);
        let start = |(k, (verdict, margin_K)): (usize, &(Verdict, f64))| Start {
            at: later(first, 3600.0 * k as f64),
            margin_K: *margin_K,
            verdict: *verdict,
            peak_K: 330.0,
            station: StationKind::DriveGear,
            peak_at: first,
        };
        Season {
            name: name.to_owned(),
            required_K: 3.0,
            duration_s: 121.0 * 3600.0,
            is_allowed: true,
            every_s: 3600.0,
            starts: verdicts.iter().enumerate().map(start).collect(),
            left_out: 2,
            sharing: Sharing::Alone(Reason::Few),
        }
    }

    fn drawn(seasons: &[Season]) -> Calendar {
        let run = crate::runfile::demo().run;
        let titled = Titled {
            run: &run,
            weather: "summer.csv",
            station: None,
            is_typical_year: false,
        };
        calendar(seasons, &titled).expect("a season")
    }

    const HOLDS: (Verdict, f64) = (Verdict::Holds, 4.0);
    const TIGHT: (Verdict, f64) = (Verdict::Tight, 1.0);
    const SOFTENS: (Verdict, f64) = (Verdict::Softens, -1.5);
    const CANNOT: (Verdict, f64) = (Verdict::CannotRun, 0.0);

    #[test]
    fn every_start_is_handed_on_and_those_left_out_too() {
        let calendar = drawn(&[season("closed", &[HOLDS, TIGHT, SOFTENS, CANNOT])]);
        let at = |hour| date(2026, 7, 13).at(hour, 0, 0, 0);
        let expected = [
            (at(6), ComesTo::Margin(4.0, Zone::Holds)),
            (at(7), ComesTo::Margin(1.0, Zone::Tight)),
            (at(8), ComesTo::Margin(-1.5, Zone::Softens)),
            (at(9), ComesTo::CannotRun),
            (at(10), ComesTo::Outlasts),
            (at(11), ComesTo::Outlasts),
        ];
        assert_eq!(calendar.panels[0].starts, expected);
        assert_eq!(calendar.required_K, Some(3.0));
        assert_eq!(
            calendar.title,
            "closed: 25 % of 4 starts hold, 25 % are tight, 25 % soften, 25 % cannot run"
        );
        for word in ["bench-220", "pla", "summer.csv", "13 Jul to 13 Jul 2026"] {
            assert!(calendar.subtitle.contains(word), "{}", calendar.subtitle);
        }
        assert!(calendar.note.contains("The job takes 121 h"));
        assert!(calendar.note.contains("fire rules"), "{}", calendar.note);
    }

    #[test]
    fn titles_say_what_is_best() {
        let all = season("closed", &[HOLDS, HOLDS]);
        let none = season("lid on", &[SOFTENS, TIGHT]);
        let half = season("extracting", &[HOLDS, TIGHT]);
        let title = |seasons: &[&Season]| {
            let seasons: Vec<Season> = seasons.iter().map(|s| (*s).clone()).collect();
            drawn(&seasons).title
        };
        assert_eq!(title(&[&all]), "closed: every one of 2 starts holds");
        assert_eq!(
            title(&[&none, &half]),
            "lid on: none of 2 starts holds, 50 % are tight, 50 % soften. extracting: 50 % hold"
        );
        assert!(title(&[&all, &half]).ends_with("No other arrangement does better"));
        // What is not allowed is drawn and marked, but not praised.
        let open = Season {
            is_allowed: false,
            ..season("door open", &[HOLDS, HOLDS])
        };
        let calendar = drawn(&[none.clone(), half, open]);
        assert!(calendar.title.ends_with("extracting: 50 % hold"));
        assert_eq!(calendar.panels[2].tail, " *: 100 % hold");
        assert!(calendar.note.starts_with("* Not allowed"));
        assert_eq!(drawn(&[none]).panels[0].tail, ": 0 % hold");
    }

    #[test]
    fn the_place_is_that_of_the_weather() {
        let run = crate::runfile::demo().run;
        let station = Station {
            name: "Orvelsby".to_owned(),
            region: "Nowhere".to_owned(),
            ..Station::default()
        };
        let titled = Titled {
            run: &run,
            weather: "a.epw",
            station: Some(&station),
            is_typical_year: true,
        };
        assert_eq!(place(&titled), "Orvelsby, Nowhere");
        // The year it is laid on says nothing.
        let one = season("closed", &[HOLDS]);
        let words = subtitle(std::slice::from_ref(&one), &one, &titled);
        assert!(
            words.ends_with("13 Jul to 13 Jul of a typical year"),
            "{words}"
        );
        let nameless = Station::default();
        let titled = Titled {
            station: Some(&nameless),
            ..titled
        };
        assert_eq!(place(&titled), "a.epw");
    }
}
