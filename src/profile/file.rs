//! Reads a job's own course: a CSV file whose header names what each column is and in which unit.

use super::rows::{Feed, Profile, Row, Setpoint};
use crate::keys::fields::job::{JOB, PHASE};
use crate::keys::problem::{Problem, Source, nearest};
use crate::keys::schema::{Kind, Range};
use crate::quantity::{Quantity, Unit, unit_by_symbol};
use crate::table::{DataFile, Decimals, Line, Mistakes, Separator, Table};
use std::ops::ControlFlow;
use std::sync::Arc;

/// What a column may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Elapsed,
    FeedMass,
    FeedSpeed,
    Bed,
    Nozzle,
    Motion,
    Feeder,
    PartFan,
    Chamber,
    SecondNozzle,
    Standing,
}

impl Column {
    /// Every column with the word its header begins with and a header as it may be written.
    const ALL: [(Self, &'static str, &'static str); 11] = [
        (Self::Elapsed, "elapsed", "elapsed_h"),
        (Self::FeedMass, "feed", "feed_g_per_h"),
        (Self::FeedSpeed, "feed", "feed_mm_per_s"),
        (Self::Bed, "bed", "bed_degC"),
        (Self::Nozzle, "nozzle", "nozzle_degC"),
        (Self::Motion, "motion", "motion"),
        (Self::Feeder, "feeder", "feeder"),
        (Self::PartFan, "part_fan", "part_fan"),
        (Self::Chamber, "chamber", "chamber_degC"),
        (Self::SecondNozzle, "second_nozzle", "second_nozzle_degC"),
        (Self::Standing, "standing", "standing"),
    ];

    const fn quantity(self) -> Quantity {
        match self {
            Self::Elapsed => Quantity::Time,
            Self::FeedMass => Quantity::MassFlow,
            Self::FeedSpeed => Quantity::Speed,
            Self::Bed | Self::Nozzle | Self::Chamber | Self::SecondNozzle => Quantity::Temperature,
            Self::Motion | Self::Feeder | Self::PartFan | Self::Standing => Quantity::Fraction,
        }
    }

    /// Whether it is a heater's setpoint, which may be off.
    const fn heats(self) -> bool {
        matches!(self.quantity(), Quantity::Temperature)
    }

    /// The limits of the key of that meaning.
    fn limits(self) -> Option<Range> {
        let field = match self {
            Self::Elapsed | Self::FeedSpeed | Self::Standing => None,
            Self::FeedMass => PHASE.field("feed"),
            Self::Bed => JOB.field("bed"),
            Self::Nozzle => JOB.field("nozzle"),
            Self::Motion => JOB.field("motion"),
            Self::Feeder => JOB.field("feeder"),
            Self::PartFan => JOB.field("part_fan"),
            Self::Chamber => JOB.field("chamber"),
            Self::SecondNozzle => JOB.field("second_nozzle"),
        };
        match field?.kind {
            Kind::Quantity(range) => Some(range),
            _ => None,
        }
    }
}

/// Where a column stands, and its unit.
struct Place {
    column: Column,
    at: usize,
    unit: &'static Unit,
    header: String,
}

/// Filament is never fed faster than this, m/s: ten times what large nozzles melt (common practice, no source).
const FASTEST_M_PER_S: f64 = 0.5;

const EXAMPLE: &str = "such as elapsed_h,feed_g_per_h,bed_degC,nozzle_degC,motion,feeder, and each further line a moment at which something changes, such as 0.25,19,60,210,1,1";

/// The course in a file; `None` when something is wrong, which then has been reported.
pub(crate) fn read(file: DataFile, problems: &mut Vec<Problem>) -> Option<Profile> {
    let source = match file.text() {
        Ok((source, _)) => source,
        Err(problem) => {
            problems.push(*problem);
            return None;
        }
    };
    let mut mistakes = Mistakes::default();
    let rows = rows(&source, &mut mistakes);
    match rows {
        Some(rows) if mistakes.is_empty() => Some(Profile::new(source, rows)),
        _ => {
            mistakes.report(problems);
            None
        }
    }
}

fn rows(source: &Arc<Source>, mistakes: &mut Mistakes) -> Option<Vec<Row>> {
    let table = Table::with_header(source);
    let Some(header) = table.line(0, |header| {
        let places = places(header, mistakes)?;
        let columns = places.len();
        Some((places, columns))
    }) else {
        let help = format!("its first line names the columns, {EXAMPLE}");
        let message = "this table of a job is empty";
        mistakes.push(Problem::in_file(source.name.clone(), message).help(help));
        return None;
    };
    let (places, columns) = header?;
    let decimals = decimals(&table, &places);
    let mut rows: Vec<Row> = Vec::new();
    table.lines(|line| {
        if line.at == 0 {
            return ControlFlow::Continue(());
        }
        // A comma for a decimal point would else cut a number in two, and its end be lost.
        let is_blank = |at: usize| line.cell(at).is_none_or(str::is_empty);
        if !(columns..line.len()).all(is_blank) {
            mistakes.add("rows with more cells than the header", || {
                let message = format!("this row has more than the header's {columns} cells");
                line.problem(columns, message)
                    .help("write numbers with a decimal point; a comma ends a cell")
            });
            return ControlFlow::Continue(());
        }
        if let Some(row) = row(line, &places, decimals, mistakes) {
            order(line, &places, &rows, &row, mistakes);
            rows.push(row);
        }
        ControlFlow::Continue(())
    });
    if rows.is_empty() && mistakes.is_empty() {
        mistakes.push(
            Problem::in_file(source.name.clone(), "this table of a job has no rows")
                .help("write a line for every moment at which something changes, the first at 0"),
        );
    }
    Some(rows)
}

/// Numbers have decimal points where commas part the columns, else what most of them have.
fn decimals(table: &Table, places: &[Place]) -> Decimals {
    if table.separator == Separator::Comma {
        return Decimals::Point;
    }
    let (mut commas, mut points) = (0_usize, 0_usize);
    table.lines(|line| {
        let numbers = places.iter().filter_map(|place| line.cell(place.at));
        for text in numbers.filter(|_| line.at > 0) {
            commas += usize::from(text.contains(','));
            points += usize::from(text.contains('.'));
        }
        ControlFlow::Continue(())
    });
    Decimals::of_counts(commas, points)
}

/// Reports a row that does not come after the one before it, or a first one that does not begin the run.
fn order(line: &Line<'_>, places: &[Place], rows: &[Row], row: &Row, mistakes: &mut Mistakes) {
    let at = places.iter().find(|p| p.column == Column::Elapsed);
    let Some(at) = at.map(|place| place.at) else {
        return;
    };
    match rows.last() {
        Some(before) if row.begin_s <= before.begin_s => mistakes.add("moments out of order", || {
            line.problem(at, "this moment does not come after the one before it")
                .help("sort the rows by time, and keep one row for each moment")
        }),
        None if row.begin_s > 0.0 => mistakes.push(
            line.problem(at, "the first row is not at the start of the run")
                .help("put a row at 0 before it that says what holds from the start; times count from the start of the run, heating up included"),
        ),
        _ => {}
    }
}

fn row(
    line: &Line<'_>,
    places: &[Place],
    decimals: Decimals,
    mistakes: &mut Mistakes,
) -> Option<Row> {
    let mut row = Row {
        begin_s: 0.0,
        feed: None,
        bed: None,
        nozzle: None,
        motion: None,
        feeder: None,
        part_fan: None,
        chamber: None,
        second_nozzle: None,
        stands: None,
        span: line.whole().span,
    };
    let mut is_right = true;
    for place in places {
        let text = line.cell(place.at).unwrap_or_default();
        match cell(text, place, decimals) {
            Ok(value) => put(&mut row, place.column, value),
            Err((message, help)) => {
                is_right = false;
                mistakes.add("values that can't be", || {
                    line.problem(place.at, message).help(help)
                });
            }
        }
        if place.column == Column::Elapsed {
            row.span = line.mark(place.at).span;
        }
    }
    let feeds = row.feed.is_some_and(|feed| feed.kg_per_s(1.0) > 0.0);
    if feeds && row.stands == Some(true) && is_right {
        is_right = false;
        mistakes.add("rows that feed while the filament stands", || {
            line.problem_of_all("this row feeds material while the filament stands")
                .help("write feed 0 or standing 0")
        });
    }
    is_right.then_some(row)
}

fn put(row: &mut Row, column: Column, value: Option<f64>) {
    let setpoint = || Some(value.map_or(Setpoint::Off, Setpoint::At));
    match column {
        Column::Elapsed => row.begin_s = value.unwrap_or_default(),
        Column::FeedMass => row.feed = value.map(Feed::Mass),
        Column::FeedSpeed => row.feed = value.map(Feed::Speed),
        Column::Bed => row.bed = setpoint(),
        Column::Nozzle => row.nozzle = setpoint(),
        Column::Motion => row.motion = value,
        Column::Feeder => row.feeder = value,
        Column::PartFan => row.part_fan = value,
        Column::Chamber => row.chamber = setpoint(),
        Column::SecondNozzle => row.second_nozzle = setpoint(),
        Column::Standing => row.stands = value.map(|share| share == 1.0),
    }
}

/// A cell's value in SI; none for a heater that is off. Else what is wrong, and what to write.
fn cell(text: &str, place: &Place, decimals: Decimals) -> Result<Option<f64>, (String, String)> {
    let Place {
        column,
        unit,
        header,
        ..
    } = place;
    let heats = column.heats();
    if heats && text.eq_ignore_ascii_case("off") {
        return Ok(None);
    }
    if text.is_empty() {
        let or_off = if heats {
            "; a heater that is off is `off`"
        } else {
            ""
        };
        return Err((
            format!("the value of {header} is missing"),
            format!(
                "every row states every column: a row's values hold until the next row{or_off}"
            ),
        ));
    }
    let number = decimals
        .number(text, unit.symbol)
        .map_err(|(message, help)| {
            let or_off = if heats { ", or off" } else { "" };
            (message, format!("{help}{or_off}"))
        })?;
    let si = unit.to_si(number);
    let refuse = |message: String, help: String| Err((message, help));
    match column {
        Column::Elapsed if si < 0.0 => refuse(
            format!("{text} lies before the start of the run"),
            "times count from the start of the run".to_owned(),
        ),
        Column::FeedSpeed if !(0.0..=FASTEST_M_PER_S).contains(&si) => refuse(
            format!("filament is not fed at {text} {}", unit.symbol),
            "write a speed of the filament between 0 and 500 mm/s, and see to the unit at the end of the header".to_owned(),
        ),
        Column::Standing if number != 0.0 && number != 1.0 => refuse(
            format!("standing is 0 or 1, not {text}"),
            "write 1 where the filament stands and everything else goes on, else 0".to_owned(),
        ),
        _ => match column.limits() {
            Some(range) if !(range.si(range.hard.0)..=range.si(range.hard.1)).contains(&si) => {
                refuse(
                    format!("{header} can't be {text}"),
                    format!(
                        "write a value from {} to {}, and see to the unit at the end of the header",
                        range.limit_text(range.hard.0),
                        range.limit_text(range.hard.1)
                    ),
                )
            }
            _ => Ok(Some(si)),
        },
    }
}

/// Which columns there are.
fn places(header: &Line<'_>, mistakes: &mut Mistakes) -> Option<Vec<Place>> {
    if header
        .cell(0)
        .is_some_and(|first| first.parse::<f64>().is_ok())
    {
        mistakes.push(
            header
                .problem_of_all("the first line does not name the columns")
                .help(format!("put a line before it that does, {EXAMPLE}")),
        );
        return None;
    }
    let mut places: Vec<Place> = Vec::new();
    for (at, name) in header.cells().enumerate() {
        // Spreadsheets end lines with blank cells.
        if name.is_empty() && (at..header.len()).all(|at| header.cell(at) == Some("")) {
            break;
        }
        match column_of(name) {
            Ok((column, unit)) => {
                let word = |c: Column| Column::ALL.iter().find(|k| k.0 == c).map(|k| k.1);
                if places.iter().any(|p| word(p.column) == word(column)) {
                    let message = format!("a second column says what \"{name}\" says");
                    mistakes.push(
                        header
                            .problem(at, message)
                            .help("keep one of the two columns"),
                    );
                }
                places.push(Place {
                    column,
                    at,
                    unit,
                    header: name.to_owned(),
                });
            }
            Err((message, help)) => {
                mistakes.push(header.problem(at, message).help(help));
            }
        }
    }
    if !mistakes.is_empty() {
        return None;
    }
    let has = |columns: &[Column]| places.iter().any(|p| columns.contains(&p.column));
    if !has(&[Column::Elapsed]) {
        mistakes.push(
            header.problem_of_all("no column says when").help(
                "add elapsed_h (or elapsed_min, elapsed_s): the time from the start of the run",
            ),
        );
    }
    if !has(&[Column::FeedMass, Column::FeedSpeed, Column::Standing]) {
        mistakes.push(
            header.problem_of_all(
                "the columns say neither what is fed nor when the filament stands",
            )
            .help("add feed_g_per_h or feed_mm_per_s; or standing, 1 where nothing is fed: the part's mass is then spread evenly over the other rows"),
        );
    }
    mistakes.is_empty().then_some(places)
}

/// What a header stands for: `feed_g_per_h` is a feed in g/h.
fn column_of(header: &str) -> Result<(Column, &'static Unit), (String, String)> {
    let lower = header.to_lowercase();
    // `second_nozzle_degC` begins with no shorter word; `bed_degC` and `bedding` do not both begin with `bed`.
    let rest_of = |word: &str| {
        let rest = lower.strip_prefix(word)?;
        (rest.is_empty() || rest.starts_with(['_', ' '])).then(|| &header[word.len()..])
    };
    let mut of_word = Column::ALL
        .iter()
        .filter_map(|(column, word, sample)| Some((*column, rest_of(word)?, *sample)))
        .peekable();
    if of_word.peek().is_none() {
        let samples = Column::ALL.map(|(_, _, sample)| sample);
        let words = Column::ALL.map(|(_, word, _)| word);
        let word = lower.split(['_', ' ']).next().unwrap_or_default();
        let near = nearest(word, words);
        let near = near.and_then(|near| Column::ALL.iter().find(|k| k.1 == near));
        let help = near.map_or_else(
            || format!("the columns are {}; take others out", samples.join(", ")),
            |(_, _, sample)| format!("did you mean {sample}?"),
        );
        return Err((format!("there is no column \"{header}\" in a job"), help));
    }
    let samples: Vec<&str> = of_word.clone().map(|(_, _, sample)| sample).collect();
    of_word
        .find_map(|(column, unit, _)| {
            let unit = unit
                .trim_matches(['_', '(', ')', '[', ']', ' '])
                .replace("_per_", "/");
            Some((column, unit_by_symbol(&unit, column.quantity())?))
        })
        .ok_or_else(|| {
            (
                format!("the header \"{header}\" does not say in which unit"),
                format!("put the unit at its end: {}", samples.join(" or ")),
            )
        })
}
