//! Many years in words.

use super::text::{Told, share};
use super::words::{comes_to, date, moment};
use crate::output::columns::{Column, Columns};
use crate::output::screen::Screen;
use crate::output::words::hours as length;
use crate::quantity::{ShownMargin, System, format_count};
use crate::study::season::Years;

/// Lines of years that are shown unless everything is wanted.
const SHOWN: usize = 10;

/// The text of many years: the run's own arrangement in full, the others in a line each.
#[must_use]
pub fn years_text(all: &[Years], required_K: f64, told: &Told<'_>, screen: Screen) -> String {
    let mut out = String::new();
    let o = &mut out;
    for years in all {
        screen.paragraph(o, &years_answer(years, required_K, screen.system));
    }
    let Some(own) = all.first() else { return out };
    o.push('\n');
    let run = format!(
        "{}, {}",
        told.run.name,
        length(told.run.duration_s / 3600.0)
    );
    screen.entry(o, "Run", &run);
    let held = own.cells.values().filter(|c| c.holds == c.years).count();
    let never = own.cells.values().filter(|c| c.holds == 0).count();
    let places = own.cells.len();
    let dates = format!(
        "of {} dates and hours of the year, {} hold in every year and {} in none (the others: --json)",
        format_count(places),
        share(held, places),
        share(never, places)
    );
    screen.entry(o, "Dates", &dates);
    o.push('\n');
    o.push_str(&table(own, required_K, told.verbose, screen.system).text(screen.width));
    o.push('\n');
    screen.bullet(o, "worst week: the one whose starts have the least mean margin; comes once in: (n + 1)/m years for the m-th worst of n years (Weibull's plotting position), whatever the trend of the climate");
    out
}

/// The answer of one arrangement.
#[must_use]
pub fn years_answer(years: &Years, required_K: f64, system: System) -> String {
    let all = years.counts.all();
    let worst = years.worst.as_ref().map_or_else(String::new, |w| {
        format!(
            "; the worst, {} {}, {}",
            moment(w.at),
            w.at.year(),
            comes_to(w, required_K, system)
        )
    });
    format!(
        "{}: in {} years {} of {} starts hold ({}){worst}.",
        years.name,
        years.years.len(),
        format_count(years.counts.holds),
        format_count(all),
        share(years.counts.holds, all)
    )
}

/// The years, the one with the worst week first.
pub(in crate::output) fn table(
    own: &Years,
    required_K: f64,
    verbose: bool,
    system: System,
) -> Columns {
    let mut years: Vec<_> = own.years.iter().collect();
    years.sort_by(|a, b| {
        let period = |y: &crate::study::season::Year| y.return_period_years.unwrap_or(0.0);
        period(b).total_cmp(&period(a))
    });
    if !verbose {
        years.truncate(SHOWN);
    }
    let cells = |text: &dyn Fn(&crate::study::season::Year) -> String| -> Vec<String> {
        years.iter().map(|y| text(y)).collect()
    };
    Columns {
        head: "Year".to_owned(),
        names: cells(&|y| format!("  {}", y.name)),
        columns: vec![
            Column::numbers(
                &["hold"],
                0,
                cells(&|y| share(y.counts.holds, y.counts.all())),
            ),
            Column::words(
                &["worst week from"],
                1,
                cells(&|y| y.worst_week.map_or_else(String::new, |w| date(w.monday))),
            ),
            Column::numbers(
                &["mean margin", system.difference_unit()],
                1,
                cells(&|y| {
                    y.worst_week.map_or_else(String::new, |w| {
                        ShownMargin::new(w.mean_margin_K, required_K, system).number()
                    })
                }),
            ),
            Column::numbers(
                &["comes once in", "years"],
                0,
                cells(&|y| {
                    y.return_period_years
                        .map_or_else(String::new, |t| format!("{t:.1}"))
                }),
            ),
        ],
    }
}
