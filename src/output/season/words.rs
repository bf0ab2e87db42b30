//! Moments and stretches of a season in words.

use jiff::ToSpan;
use jiff::civil::{Date, DateTime};

use crate::quantity::{ShownMargin, System};
use crate::study::Verdict;
use crate::study::season::{Season, Start, Stretch};

/// "Mon 13 Jul 2026".
pub(super) fn date(date: Date) -> String {
    date.strftime("%a %-d %b %Y").to_string()
}

/// "13 Jul".
pub(super) fn day(date: Date) -> String {
    date.strftime("%-d %b").to_string()
}

/// "Mon 13 Jul 18:00".
pub(super) fn moment(at: DateTime) -> String {
    at.strftime("%a %-d %b %H:%M").to_string()
}

/// A moment as someone says it at another: "tonight 21:00", "tomorrow 08:00".
pub(super) fn seen_from(at: DateTime, from: DateTime) -> String {
    let clock = at.strftime("%H:%M");
    if at.date() == from.date() {
        let word = if at.hour() >= 18 { "tonight" } else { "today" };
        format!("{word} {clock}")
    } else if from
        .date()
        .checked_add(1.day())
        .is_ok_and(|d| d == at.date())
    {
        format!("tomorrow {clock}")
    } else {
        moment(at)
    }
}

/// What a start comes to: "holds by 4.1 K", "softens, 1.2 K above its limit".
pub(super) fn comes_to(start: &Start, required_K: f64, system: System) -> String {
    let margin = ShownMargin::new(start.margin_K, required_K, system);
    match start.verdict {
        Verdict::Holds => format!("holds by {}", margin.text()),
        Verdict::Tight => format!("is tight: {} are left", margin.text()),
        Verdict::Softens => format!("softens, {} above its limit", margin.above()),
        Verdict::CannotRun => "cannot run".to_owned(),
    }
}

/// A stretch of starts that follows a moment.
pub(super) fn stretch_from(
    stretch: &Stretch,
    from: DateTime,
    required_K: f64,
    system: System,
) -> String {
    let seen = |at| seen_from(at, from);
    let span = if stretch.starts == 1 {
        seen(stretch.from)
    } else {
        format!("{} to {}", seen(stretch.from), seen(stretch.to))
    };
    if stretch.holds {
        let best = &stretch.best;
        let margin = ShownMargin::new(best.margin_K, required_K, system);
        if stretch.starts == 1 {
            return format!("{span}: holds by {}", margin.text());
        }
        format!(
            "{span}: holds; most is left at {}, {}",
            seen(best.at),
            margin.text()
        )
    } else {
        let worst = comes_to(&stretch.worst, required_K, system);
        if stretch.starts == 1 {
            return format!("{span}: {worst}");
        }
        format!("{span}: does not; {} {worst}", seen(stretch.worst.at))
    }
}

/// A stretch in a season: "9 days, starts from Mon 1 Jun 00:00 to ...".
pub(super) fn stretch(stretch: &Stretch, season: &Season) -> String {
    let long_s = stretch.starts as f64 * season.every_s;
    let days = long_s / 86_400.0;
    let length = if days >= 2.0 {
        format!("{days:.0} days")
    } else {
        crate::output::words::hours(long_s / 3600.0)
    };
    format!(
        "{length}, {} to {}",
        moment(stretch.from),
        moment(stretch.to)
    )
}

/// Weeks that follow each other as spans of days: "1 Jun to 21 Jun, 29 Jun to 5 Jul".
pub(super) fn weeks(mondays: &[Date]) -> String {
    let mut spans: Vec<(Date, Date)> = Vec::new();
    for monday in mondays {
        let sunday = monday.saturating_add(6.days());
        match spans.last_mut() {
            Some((_, end)) if end.saturating_add(1.day()) == *monday => *end = sunday,
            _ => spans.push((*monday, sunday)),
        }
    }
    let spans = spans
        .iter()
        .map(|(a, b)| format!("{} to {}", day(*a), day(*b)));
    spans.collect::<Vec<_>>().join(", ")
}

/// Hours of the day that follow each other: "00 to 07, 22 to 23 h".
pub(super) fn hours(hours: &[usize]) -> String {
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for hour in hours {
        match spans.last_mut() {
            Some((_, end)) if *end + 1 == *hour => *end = *hour,
            _ => spans.push((*hour, *hour)),
        }
    }
    let spans = spans.iter().map(|(a, b)| {
        if a == b {
            format!("{a:02}:00")
        } else {
            format!("{a:02}:00 to {b:02}:00")
        }
    });
    spans.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn moments_are_said_as_people_say_them() {
        let from = date(2026, 7, 13).at(16, 0, 0, 0);
        let seen = |day, hour| seen_from(date(2026, 7, day).at(hour, 0, 0, 0), from);
        assert_eq!(
            [seen(13, 17), seen(13, 21), seen(14, 8), seen(15, 8)],
            [
                "today 17:00",
                "tonight 21:00",
                "tomorrow 08:00",
                "Wed 15 Jul 08:00"
            ]
        );
        let new_years_eve = date(2026, 12, 31).at(20, 0, 0, 0);
        let next = date(2027, 1, 1).at(2, 0, 0, 0);
        assert_eq!(seen_from(next, new_years_eve), "tomorrow 02:00");
    }

    #[test]
    fn weeks_and_hours_that_follow_each_other_are_one_span() {
        let mondays = [date(2026, 6, 1), date(2026, 6, 8), date(2026, 6, 29)];
        assert_eq!(weeks(&mondays), "1 Jun to 14 Jun, 29 Jun to 5 Jul");
        assert_eq!(hours(&[0, 1, 2, 22]), "00:00 to 02:00, 22:00");
        assert_eq!(hours(&[]), "");
    }
}
