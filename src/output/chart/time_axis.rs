//! Ticks of the time axis in local date and hour: a rule of ours for the places, which plotters maps
//! and draws.
//!
//! Times are civil: what a clock on the shop's wall shows, without changes to or from summer time.

use jiff::SignedDuration;
use jiff::civil::{DateTime, Weekday};
use plotters::element::{EmptyElement, PathElement, Text};
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::axis::Label;
use super::data::ChartError;
use super::ink::{failed, fine, letters, pen};
use super::panel::{Measures, Panel};
use super::scene::{Colour, Scene, Type};

const DAY_S: f64 = 86_400.0;
const NIGHT_FROM_S: f64 = 20.0 * 3600.0;
const NIGHT_TO_S: f64 = 6.0 * 3600.0;
/// Round steps below a day, s.
const STEPS_S: [u32; 17] = [
    1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200,
];

/// Two rows of labels and the ticks that go with them; places are in s from the start.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TimeTicks {
    /// Short ticks: hours with their texts, or midnights without.
    pub fine: Vec<Label>,
    /// Days of the month in the first row, each centred on its noon.
    pub days: Vec<Label>,
    /// Dates in the second row, each beginning at its place.
    pub dates: Vec<Label>,
    /// Long ticks, down to the second row: midnights.
    pub date_ticks: Vec<f64>,
}

impl TimeTicks {
    fn has_hours(&self) -> bool {
        self.fine.iter().any(|label| !label.text.is_empty())
    }

    /// Dates stand alone, or below hours or days.
    fn has_two_rows(&self) -> bool {
        self.has_hours() || !self.days.is_empty()
    }

    /// Room that the rows take, px at `k` = 1.
    pub fn height(&self) -> f64 {
        if self.has_two_rows() { 40.0 } else { 25.0 }
    }

    /// What a time axis has besides hours: days of the month, and in a second row dates, each right of
    /// a tick that reaches down to it.
    pub fn draw_days_and_dates(
        &self,
        scene: &mut Scene,
        panel: &Panel,
        measures: Measures,
    ) -> Result<(), ChartError> {
        let k = measures.k;
        let low = panel.y.low;
        // Hours stand on the long ticks, which begin below them; days stand between.
        let (first, second) = (8.0 * k, 24.5 * k);
        let row = if self.has_two_rows() { second } else { first };
        let from = if self.has_hours() { 20.0 * k } else { 0.0 };
        let tick = |&at_s: &f64| {
            let ends = vec![(0, fine(from)), (0, fine(row + 11.5 * k))];
            EmptyElement::at((at_s, low)) + PathElement::new(ends, pen(Colour::RULE, 1.0))
        };
        let number = letters(measures.tick()).pos(Pos::new(HPos::Center, VPos::Top));
        let day = |label: &Label| {
            let text = Text::new(label.text.clone(), (0, fine(first)), number.clone());
            EmptyElement::at((label.at, low)) + text
        };
        let ink = letters(Type {
            colour: Colour::INK,
            ..measures.tick()
        });
        let date = |label: &Label| {
            let at_midnight = self.date_ticks.contains(&label.at);
            let indent = if at_midnight { 5.0 * k } else { 0.0 };
            let text = Text::new(label.text.clone(), (fine(indent), fine(row)), ink.clone());
            EmptyElement::at((label.at, low)) + text
        };
        let mut chart = panel.chart(scene, &[])?;
        chart
            .draw_series(self.date_ticks.iter().map(tick))
            .map_err(failed)?;
        chart
            .draw_series(self.days.iter().map(day))
            .map_err(failed)?;
        chart
            .draw_series(self.dates.iter().map(date))
            .map_err(failed)?;
        Ok(())
    }
}

/// The local date and time some seconds after the start; `None` beyond the calendar.
pub fn moment(start: DateTime, at_s: f64) -> Option<DateTime> {
    start
        .checked_add(SignedDuration::try_from_secs_f64(at_s).ok()?)
        .ok()
}

/// "Thu 16 Jul, 16:40", to the nearest minute.
pub fn moment_text(start: DateTime, at_s: f64) -> String {
    moment(start, (at_s / 60.0).round() * 60.0)
        .map(|moment| moment.strftime("%a %-d %b, %H:%M").to_string())
        .unwrap_or_default()
}

/// Seconds from midnight to the start of the run.
fn since_midnight_s(start: DateTime) -> f64 {
    let time = start.time();
    f64::from(time.hour()) * 3600.0 + f64::from(time.minute()) * 60.0 + f64::from(time.second())
}

/// Nights, 20:00 to 06:00, within the run: begin and end in s from the start.
pub fn nights(start: DateTime, duration_s: f64) -> Vec<(f64, f64)> {
    let offset = since_midnight_s(start);
    let days = ((duration_s + offset) / DAY_S).ceil() as i64;
    (-1..=days)
        .map(|day| {
            let midnight = day as f64 * DAY_S - offset;
            (midnight + NIGHT_FROM_S, midnight + DAY_S + NIGHT_TO_S)
        })
        .map(|(from, to)| (from.max(0.0), to.min(duration_s)))
        .filter(|(from, to)| from < to)
        .collect()
}

/// Chooses ticks for an axis of `width` pixels so that no two labels of a row touch.
///
/// `measure` gives the width of a label, `gap` is the least space between two.
pub fn ticks(
    start: DateTime,
    duration_s: f64,
    width: f64,
    measure: &dyn Fn(&str) -> f64,
    gap: f64,
) -> TimeTicks {
    let per_s = width / duration_s;
    let room = |step_s: f64, label: &str| step_s * per_s >= measure(label) + gap;
    let step = STEPS_S
        .iter()
        .map(|&step| f64::from(step))
        .find(|&step| room(step, if step < 60.0 { "00:00:00" } else { "00:00" }));
    match step {
        Some(step) => by_hour(start, duration_s, per_s, step, measure, gap),
        None => by_day(start, duration_s, per_s, measure, gap),
    }
}

fn by_hour(
    start: DateTime,
    duration_s: f64,
    per_s: f64,
    step_s: f64,
    measure: &dyn Fn(&str) -> f64,
    gap: f64,
) -> TimeTicks {
    let offset = since_midnight_s(start);
    let format = if step_s < 60.0 { "%H:%M:%S" } else { "%H:%M" };
    let mut ticks = TimeTicks::default();
    let first = (offset / step_s).ceil() as i64;
    let last = ((offset + duration_s) / step_s).floor() as i64;
    for count in first..=last {
        let at_s = count as f64 * step_s - offset;
        let Some(moment) = moment(start, at_s) else {
            continue;
        };
        ticks.fine.push(Label {
            at: at_s,
            text: moment.strftime(format).to_string(),
        });
    }
    ticks.date_ticks = midnights(offset, duration_s, 1, 0);
    dates(start, per_s, measure, gap, &mut ticks);
    ticks
}

fn by_day(
    start: DateTime,
    duration_s: f64,
    per_s: f64,
    measure: &dyn Fn(&str) -> f64,
    gap: f64,
) -> TimeTicks {
    let offset = since_midnight_s(start);
    let day = DAY_S * per_s;
    let needed = (measure("Wed 30 Nov") + gap) / day;
    let step = [1, 2]
        .into_iter()
        .chain((0..20).map(|doubling| 7 << doubling))
        .find(|&step| f64::from(step) >= needed)
        .unwrap_or(7 << 20);
    // Weeks begin on Monday (ISO 8601).
    let shift = if step < 7 {
        0
    } else {
        i64::from(start.date().weekday().until(Weekday::Monday))
    };
    let mut ticks = TimeTicks {
        date_ticks: midnights(offset, duration_s, step.into(), shift),
        ..TimeTicks::default()
    };
    if day >= 5.0 {
        let unnamed = |at| Label {
            at,
            text: String::new(),
        };
        let all = midnights(offset, duration_s, 1, 0);
        ticks.fine = all.into_iter().map(unnamed).collect();
    }
    if step >= 7 && day >= measure("30") + 0.4 * gap {
        ticks.days = midnights(offset - DAY_S / 2.0, duration_s, 1, 0)
            .into_iter()
            .filter_map(|noon| {
                let text = moment(start, noon)?.day().to_string();
                Some(Label { at: noon, text })
            })
            .collect();
    }
    dates(start, per_s, measure, gap, &mut ticks);
    ticks
}

/// Every `step`-th midnight within the run, counted from `shift` days after the first day.
fn midnights(offset: f64, duration_s: f64, step: i64, shift: i64) -> Vec<f64> {
    let last = ((offset + duration_s) / DAY_S).floor() as i64;
    let first = shift.rem_euclid(step);
    (0..)
        .map(|count| first + count * step)
        .take_while(|&day| day <= last)
        .map(|day| day as f64 * DAY_S - offset)
        .filter(|&at_s| at_s >= 0.0)
        .collect()
}

/// Writes the dates at their midnights, and the first day at the axis' begin if there is room
/// before the next.
fn dates(
    start: DateTime,
    per_s: f64,
    measure: &dyn Fn(&str) -> f64,
    gap: f64,
    ticks: &mut TimeTicks,
) {
    let mut places: Vec<f64> = ticks.date_ticks.clone();
    if places.first().is_none_or(|&first| first > 0.0) {
        places.insert(0, 0.0);
    }
    for (position, &at) in places.iter().enumerate() {
        let Some(moment) = moment(start, at) else {
            continue;
        };
        let text = date_text(moment);
        let space = places
            .get(position + 1)
            .map_or(f64::INFINITY, |next| (next - at) * per_s - gap);
        if measure(&text) <= space {
            ticks.dates.push(Label { at, text });
        }
    }
}

/// "Mon 13 Jul".
fn date_text(moment: DateTime) -> String {
    moment.strftime("%a %-d %b").to_string()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// A stand-in for the font: every letter 6 px wide.
    fn measure(text: &str) -> f64 {
        6.0 * text.chars().count() as f64
    }
    fn texts(labels: &[Label]) -> Vec<&str> {
        labels.iter().map(|label| label.text.as_str()).collect()
    }

    /// 13 July 2026 is a Monday (any calendar; ISO week 29).
    #[test]
    fn an_hour_shows_minutes() {
        let start = date(2026, 7, 13).at(5, 58, 0, 0);
        let ticks = ticks(start, 3600.0, 600.0, &measure, 12.0);
        let expected = [
            "06:00", "06:05", "06:10", "06:15", "06:20", "06:25", "06:30", "06:35", "06:40",
            "06:45", "06:50", "06:55",
        ];
        assert_eq!(texts(&ticks.fine), expected);
        assert_eq!(ticks.fine[0].at, 120.0);
        assert_eq!(texts(&ticks.dates), ["Mon 13 Jul"]);
        assert_eq!(ticks.dates[0].at, 0.0);
    }

    #[test]
    fn five_days_show_hours_and_dates() {
        let start = date(2026, 7, 13).at(6, 0, 0, 0);
        let ticks = ticks(start, 121.0 * 3600.0, 900.0, &measure, 12.0);
        assert_eq!(
            texts(&ticks.fine)[..4],
            ["06:00", "12:00", "18:00", "00:00"]
        );
        assert_eq!(
            texts(&ticks.dates),
            [
                "Mon 13 Jul",
                "Tue 14 Jul",
                "Wed 15 Jul",
                "Thu 16 Jul",
                "Fri 17 Jul",
                "Sat 18 Jul"
            ]
        );
        assert_eq!(ticks.dates[1].at, 18.0 * 3600.0);
    }

    #[test]
    fn a_month_shows_days_and_mondays() {
        let start = date(2026, 7, 1).at(0, 0, 0, 0);
        let ticks = ticks(start, 30.0 * DAY_S, 900.0, &measure, 12.0);
        let numbers: Vec<String> = (1..=30).map(|day| day.to_string()).collect();
        assert_eq!(texts(&ticks.days), numbers);
        assert_eq!(ticks.days[0].at, 12.0 * 3600.0);
        assert_eq!(
            texts(&ticks.dates),
            [
                "Wed 1 Jul",
                "Mon 6 Jul",
                "Mon 13 Jul",
                "Mon 20 Jul",
                "Mon 27 Jul"
            ]
        );
    }

    /// Whatever the length and width, labels of one row never touch and are in order.
    #[test]
    fn labels_never_touch() {
        let start = date(2027, 12, 30).at(17, 23, 11, 0);
        for hours in [
            0.01, 0.2, 1.0, 3.0, 9.0, 26.0, 121.0, 260.0, 400.0, 720.0, 3000.0, 40_000.0,
        ] {
            for width in [250.0, 480.0, 900.0, 3000.0] {
                let duration_s = hours * 3600.0;
                let ticks = ticks(start, duration_s, width, &measure, 12.0);
                let per_s = width / duration_s;
                for pair in ticks.fine.windows(2).chain(ticks.days.windows(2)) {
                    let space = (pair[1].at - pair[0].at) * per_s;
                    let both = (measure(&pair[0].text) + measure(&pair[1].text)) / 2.0;
                    assert!(space > both, "{hours} h on {width} px: {pair:?}");
                }
                for pair in ticks.dates.windows(2) {
                    let space = (pair[1].at - pair[0].at) * per_s;
                    assert!(
                        space > measure(&pair[0].text),
                        "{hours} h on {width} px: {pair:?}"
                    );
                }
                assert!(!ticks.dates.is_empty(), "{hours} h on {width} px");
            }
        }
    }

    #[test]
    fn nights_are_cut_to_the_run() {
        let start = date(2026, 7, 13).at(4, 0, 0, 0);
        let hour = 3600.0;
        assert_eq!(
            nights(start, 40.0 * hour),
            vec![(0.0, 2.0 * hour), (16.0 * hour, 26.0 * hour)]
        );
        assert!(nights(date(2026, 7, 13).at(9, 0, 0, 0), hour).is_empty());
    }

    #[test]
    fn moments_round_to_the_minute() {
        let start = date(2026, 7, 13).at(6, 0, 0, 0);
        assert_eq!(
            moment_text(start, 82.0 * 3600.0 + 40.0 * 60.0 - 1.0),
            "Thu 16 Jul, 16:40"
        );
        assert_eq!(moment(start, 1e30), None);
    }
}
