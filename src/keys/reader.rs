//! Checks a parsed TOML table against the declared keys and turns its values into SI.
//!
//! The reader never stops at the first mistake: it notes a [`Problem`], marks the value as bad
//! and goes on, so that the user sees all independent mistakes at once.

use super::moment::{HOW, Moment, TimeOfDay, local_date_time};
use super::nearest::{did_you_mean, nearest};
use super::problem::{Problem, Sort};
use super::schema::{Field, Kind, Need, Range, Table};
use super::section::{Data, Guess, Origin, Section, Value};
use super::source::{Mark, Source};
use super::syntax::{self, flag_of};
use super::typed::{Point, Typed};
use crate::plain::plain;
use jiff::civil::{Date, Time};
use std::sync::Arc;
use toml::de::{DeTable, DeValue};

type Spanned<T> = toml::Spanned<T>;

/// Reads the tables of one source.
struct Reader<'a> {
    source: &'a Arc<Source>,
    /// What to note as the origin of its values.
    origin: Origin,
    /// The outermost table, to say where a misplaced key belongs.
    root: &'static Table,
    problems: &'a mut Vec<Problem>,
    /// Whether a comma stood for a decimal point somewhere.
    decimal_commas: bool,
    /// Points that may stand between thousands.
    points: Vec<Point>,
    /// To within how much the quantity read last is known, in SI, where that was written.
    within: Option<f64>,
}

/// Reads a whole source against the table that describes its file kind. Missing keys are left to
/// [`complete`](super::complete). `None` when the text is not TOML.
pub(crate) fn read_source(
    source: &Arc<Source>,
    root: &'static Table,
    origin: Origin,
    problems: &mut Vec<Problem>,
) -> Option<Section> {
    let (document, errors) = DeTable::parse_recoverable(&source.text);
    if !errors.is_empty() {
        syntax::report(source, &errors, problems);
        return None;
    }
    let mut reader = Reader {
        source,
        origin,
        root,
        problems,
        decimal_commas: false,
        points: Vec::new(),
        within: None,
    };
    let section = reader.table("", document.get_ref(), None, root);
    reader.tell_points();
    Some(section)
}

impl Reader<'_> {
    fn mark(&self, span: std::ops::Range<usize>) -> Mark {
        Mark {
            source: Arc::clone(self.source),
            span,
        }
    }

    /// Beside decimal commas nobody can say what a point means; else both readings must make sense before
    /// anybody is asked.
    fn tell_points(&mut self) {
        for Point {
            problem,
            both_usual,
        } in std::mem::take(&mut self.points)
        {
            if self.decimal_commas {
                self.problems.push(problem);
            } else if both_usual && self.origin == Origin::Typed {
                self.problems.push(problem.as_hint());
            }
        }
    }

    /// Reads a table. Keys that are absent stay absent.
    fn table(
        &mut self,
        path: &str,
        table: &DeTable<'_>,
        mark: Option<Mark>,
        schema: &'static Table,
    ) -> Section {
        let mut section = Section {
            mark,
            ..Section::default()
        };
        for (key, value) in table {
            let name = key.get_ref();
            let Some(field) = schema.field(name) else {
                let problem = self.unknown_key(name, &self.mark(key.span()), path, schema);
                self.problems.push(problem);
                // The key that was probably meant is not reported as missing as well.
                let keys = schema.fields.iter().map(|field| field.key);
                if let Some(meant) = nearest(name, keys) {
                    let origin = self.origin.clone();
                    let bad = Value {
                        data: Data::Bad,
                        mark: None,
                        origin,
                        within: None,
                    };
                    section.entries.entry(meant).or_insert(bad);
                }
                continue;
            };
            let place = self.mark(value.span());
            self.within = None;
            let data = self
                .value(&join(path, field.key), value, field)
                .unwrap_or(Data::Bad);
            let value = Value {
                data,
                mark: Some(place),
                origin: self.origin.clone(),
                within: self.within.take(),
            };
            section.entries.insert(field.key, value);
        }
        section
    }

    fn unknown_key(&self, name: &str, mark: &Mark, path: &str, schema: &'static Table) -> Problem {
        let place = if path.is_empty() {
            "a key of this file".to_owned()
        } else {
            format!("a key of [{path}]")
        };
        let keys = || schema.fields.iter().map(|field| field.key);
        // Where something begins and ends in time, `from` and `to` mean that, and not another table's.
        let has_moments = schema
            .fields
            .iter()
            .any(|f| matches!(f.kind, Kind::Moment(_)));
        let help = did_you_mean(name, keys(), |near| format!("`{near}`")).unwrap_or_else(|| {
            let homes = if has_moments {
                Vec::new()
            } else {
                homes(self.root, name)
            };
            if homes.is_empty() || homes.contains(&"[]".to_owned()) {
                format!("known here: {}", keys().collect::<Vec<_>>().join(", "))
            } else {
                format!("`{name}` belongs under {}", homes.join(" or "))
            }
        });
        Problem::at(mark, format!("`{}` is not {place}", cut(name)))
            .help(help)
            .of(Sort::Key)
    }

    fn value(
        &mut self,
        path: &str,
        value: &Spanned<DeValue<'_>>,
        field: &'static Field,
    ) -> Option<Data> {
        let mark = self.mark(value.span());
        match (field.kind, value.get_ref()) {
            (Kind::Quantity(range), value) => self
                .quantity(path, value, &mark, field, range)
                .map(Data::Number),
            (Kind::Integer(low, high), DeValue::Integer(typed)) => {
                let number = i64::from_str_radix(typed.as_str(), typed.radix()).ok();
                match number {
                    #[expect(clippy::cast_precision_loss, reason = "limits are small")]
                    Some(number) if (low..=high).contains(&number) => {
                        Some(Data::Number(number as f64))
                    }
                    _ => {
                        let message =
                            format!("`{path}` is {typed}, but has to lie between {low} and {high}");
                        self.report(&mark, message, field.help())
                    }
                }
            }
            (Kind::Text | Kind::Name(_) | Kind::File | Kind::Panel(_), DeValue::String(text)) => {
                if text.trim().is_empty() {
                    self.report(&mark, format!("`{path}` is empty"), field.help())
                } else {
                    Some(Data::Text(match field.kind {
                        // A file's name has to be found on disk as it is.
                        Kind::File => text.trim().to_owned(),
                        _ => plain(text.trim()).into_owned(),
                    }))
                }
            }
            (Kind::Bool, DeValue::Boolean(flag)) => Some(Data::Bool(*flag)),
            // "yes" in quotes: what is meant is clear, what to write is another thing.
            (Kind::Bool, DeValue::String(text)) if flag_of(text).is_some() => {
                let message = format!(
                    "`{path}` should be true or false, without quotes, but this is \"{text}\""
                );
                let flag = flag_of(text).unwrap_or_default();
                self.report(&mark, message, format!("write {} = {flag}", field.key))
            }
            (Kind::Choice(words), DeValue::String(text)) => self.choice(path, text, &mark, words),
            (Kind::DateTime, DeValue::String(text)) => self.date_time(path, text, &mark, field),
            (Kind::DateTime, DeValue::Datetime(time)) => {
                self.date_time(path, &time.to_string(), &mark, field)
            }
            (Kind::Date, DeValue::String(text)) => self.date(path, text, &mark, field),
            (Kind::Date, DeValue::Datetime(time)) => {
                self.date(path, &time.to_string(), &mark, field)
            }
            (Kind::TimeOfDay, DeValue::String(text)) => self.time_of_day(path, text, &mark, field),
            (Kind::TimeOfDay, DeValue::Datetime(time)) => {
                self.time_of_day(path, &time.to_string(), &mark, field)
            }
            (Kind::Moment(_), DeValue::String(text)) if Moment::is_meant(text) => {
                self.moment(path, text, &mark)
            }
            (Kind::Moment(_), DeValue::Datetime(time)) => {
                self.moment(path, &time.to_string(), &mark)
            }
            (Kind::Moment(range), value) => {
                let known = self.problems.len();
                let number = self.quantity(path, value, &mark, field, range);
                for problem in self
                    .problems
                    .iter_mut()
                    .skip(known)
                    .filter(|p| p.is_error())
                {
                    let help = problem.help.take().unwrap_or_default();
                    problem.help = Some(format!("{help}; or, by the clock, \"Wed 14:00\""));
                }
                number.map(Data::Number)
            }
            (Kind::Table(schema) | Kind::Panel(schema), DeValue::Table(table)) => Some(
                Data::Section(Arc::new(self.table(path, table, Some(mark), schema))),
            ),
            (Kind::List(schema), DeValue::Array(items)) => {
                let mut list = Vec::new();
                for (at, item) in items.iter().enumerate() {
                    let item_mark = self.mark(item.span());
                    let item_path = format!("{path}.{}", at + 1);
                    if let DeValue::Table(table) = item.get_ref() {
                        list.push(self.table(&item_path, table, Some(item_mark), schema));
                    } else {
                        self.wrong_type(&item_path, item.get_ref(), &item_mark, field);
                        return None;
                    }
                }
                Some(Data::List(list))
            }
            (Kind::Sources, DeValue::Table(table)) => self.sources(path, table),
            (Kind::Guesses, DeValue::Table(table)) => {
                let known = self.problems.len();
                let mut guesses = Vec::new();
                self.guesses("", table, self.root, &mut guesses);
                // What is odd about a value is said where it stands in earnest.
                let found = self.problems.split_off(known.min(self.problems.len()));
                self.problems
                    .extend(found.into_iter().filter(Problem::is_error));
                Some(Data::Guesses(guesses))
            }
            (_, other) => self.wrong_type(path, other, &mark, field),
        }
    }

    fn report(&mut self, mark: &Mark, message: String, help: String) -> Option<Data> {
        let problem = Problem::at(mark, message).help(help).of(Sort::Value);
        self.problems.push(problem);
        None
    }

    fn wrong_type(
        &mut self,
        path: &str,
        value: &DeValue<'_>,
        mark: &Mark,
        field: &'static Field,
    ) -> Option<Data> {
        let wanted = match field.kind {
            Kind::Quantity(_) => "a quantity in quotes",
            Kind::Integer(..) => "a whole number",
            Kind::Text => "a text in quotes",
            Kind::Bool => "true or false, without quotes",
            Kind::Choice(_) => "a word in quotes",
            Kind::Name(_) => "a name in quotes",
            Kind::Panel(_) => "the name of a panel in quotes, or a table that describes one",
            Kind::DateTime => "a date and time",
            Kind::Date => "a date",
            Kind::TimeOfDay => "a time of day",
            Kind::Moment(_) => "a moment of the run in quotes",
            Kind::File => "a file name in quotes",
            Kind::Table(_) | Kind::Sources | Kind::Guesses => "a table",
            Kind::List(_) => "a list of tables",
        };
        let help = match field.kind {
            Kind::Table(schema) => {
                let inner: Vec<_> = telling_fields(schema).map(Field::sample).collect();
                format!(
                    "write a line [{path}] and below it, for example, {}",
                    inner.join(", ")
                )
            }
            Kind::List(_) => format!("write a line [[{path}]] before each of them"),
            _ => field.help(),
        };
        let found = match value {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.report(
            mark,
            format!("`{path}` should be {wanted}, but this is {found}"),
            help,
        )
    }

    fn quantity(
        &mut self,
        path: &str,
        value: &DeValue<'_>,
        mark: &Mark,
        field: &'static Field,
        range: Range,
    ) -> Option<f64> {
        let text = match value {
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(number) => number.to_string(),
            DeValue::Float(number) => number.to_string(),
            other => {
                self.wrong_type(path, other, mark, field);
                return None;
            }
        };
        let typed = Typed {
            path,
            text: &text,
            mark,
            field,
            range,
            with_hints: self.origin == Origin::Typed,
        };
        let outcome = typed.read();
        self.problems.extend(outcome.problem);
        self.decimal_commas |= outcome.decimal_comma;
        // A float of TOML knows only one kind of point.
        if matches!(value, DeValue::String(_)) {
            self.points.extend(outcome.point);
        }
        self.within = outcome.within;
        outcome.si
    }

    fn choice(
        &mut self,
        path: &str,
        text: &str,
        mark: &Mark,
        words: &[&'static str],
    ) -> Option<Data> {
        let fold = |word: &str| word.trim().to_lowercase().replace(['-', '_'], " ");
        if let Some(word) = words.iter().find(|word| fold(word) == fold(text)) {
            return Some(Data::Text((*word).to_owned()));
        }
        let quoted: Vec<_> = words.iter().map(|word| format!("\"{word}\"")).collect();
        let mut help = format!("write one of {}", quoted.join(", "));
        if let Some(near) = did_you_mean(text, words.iter().copied(), |w| format!("\"{w}\"")) {
            help = format!("{near} Otherwise {help}");
        }
        self.report(mark, format!("`{path}` can't be \"{}\"", cut(text)), help)
    }

    fn date_time(
        &mut self,
        path: &str,
        text: &str,
        mark: &Mark,
        field: &'static Field,
    ) -> Option<Data> {
        match local_date_time(text) {
            // Midnight may be the wrong half of a day by which everything shifts.
            Ok(time) if says_no_time(text) => {
                let message = format!("`{path}`: \"{text}\" does not say at which time of day");
                let help = format!(
                    "write {} = \"{}\"",
                    field.key,
                    time.strftime("%Y-%m-%d 07:00")
                );
                self.report(mark, message, help)
            }
            Ok(time) => Some(Data::DateTime(time)),
            Err(what) => self.report(mark, format!("`{path}`: {what}"), field.help()),
        }
    }

    /// A day, as its midnight.
    fn date(&mut self, path: &str, text: &str, mark: &Mark, field: &'static Field) -> Option<Data> {
        let text = text.trim();
        match text.parse::<Date>() {
            Ok(date) if text.len() == 10 => {
                Some(Data::DateTime(date.to_datetime(Time::midnight())))
            }
            _ => {
                let message = format!("`{path}`: \"{text}\" is no date, or there is no such day");
                self.report(mark, message, field.help())
            }
        }
    }

    fn time_of_day(
        &mut self,
        path: &str,
        text: &str,
        mark: &Mark,
        field: &'static Field,
    ) -> Option<Data> {
        match TimeOfDay::parse(text) {
            Some(time) => Some(Data::Number(time.seconds() / 3_600.0)),
            None => {
                let message = format!("`{path}`: \"{text}\" is not a time of day");
                self.report(mark, message, field.help())
            }
        }
    }

    fn moment(&mut self, path: &str, text: &str, mark: &Mark) -> Option<Data> {
        match Moment::parse(text) {
            Ok(moment) => Some(Data::Moment(moment)),
            Err(error) => self.report(mark, format!("`{path}`: {error}"), HOW.to_owned()),
        }
    }

    /// Values under keys of the file itself.
    fn guesses(
        &mut self,
        path: &str,
        table: &DeTable<'_>,
        schema: &'static Table,
        out: &mut Vec<Guess>,
    ) {
        for (key, value) in table {
            let Some(field) = schema.field(key.get_ref()) else {
                let mark = self.mark(key.span());
                let problem = self.unknown_key(key.get_ref(), &mark, path, schema);
                self.problems.push(problem);
                continue;
            };
            let path = join(path, field.key);
            match (field.kind, value.get_ref()) {
                (Kind::Table(inner) | Kind::Panel(inner), DeValue::Table(table)) => {
                    self.guesses(&path, table, inner, out);
                }
                (Kind::List(_) | Kind::Sources | Kind::Guesses, _) => {
                    let mark = self.mark(value.span());
                    let message = format!("`{path}` is not a single value that may be guessed");
                    self.report(&mark, message, "take this line away".to_owned());
                }
                _ => {
                    if let Some(data) = self.value(&path, value, field) {
                        out.push(Guess { key: path, data });
                    }
                }
            }
        }
    }

    fn sources(&mut self, path: &str, table: &DeTable<'_>) -> Option<Data> {
        let mut list = Vec::new();
        for (key, value) in table {
            if let DeValue::String(text) = value.get_ref() {
                list.push((
                    plain(key.get_ref()).into_owned(),
                    plain(text.trim()).into_owned(),
                ));
            } else {
                let mark = self.mark(value.span());
                let key = key.get_ref();
                let message = format!("`{path}.{key}` should be a text that names a source");
                self.report(
                    &mark,
                    message,
                    format!("write {key} = \"handbook, from memory\""),
                );
            }
        }
        Some(Data::Sources(list))
    }
}

/// The few fields that show best what belongs in a table: the name if it has one, else what must
/// be there.
fn telling_fields(schema: &'static Table) -> impl Iterator<Item = &'static Field> {
    let is_nested = |field: &&Field| matches!(field.kind, Kind::Table(_) | Kind::List(_));
    let has_name = matches!(
        schema.fields.first(),
        Some(Field {
            kind: Kind::Name(_),
            ..
        })
    );
    let has_required = schema
        .fields
        .iter()
        .any(|field| field.need == Need::Required);
    schema
        .fields
        .iter()
        .filter(move |field| !is_nested(field))
        .filter(move |field| has_name || !has_required || field.need == Need::Required)
        .take(if has_name { 1 } else { 2 })
}

/// Whether a date that can be read stands alone.
pub(crate) fn says_no_time(text: &str) -> bool {
    text.trim().len() <= "2026-07-13".len()
}

/// The beginning of something that was typed, which may be long.
fn cut(text: &str) -> String {
    const MOST: usize = 60;
    match text.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

pub(crate) fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

/// The tables a key may belong to, when it was typed in the wrong one: of all that have it, those
/// that are nested least.
fn homes(root: &'static Table, key: &str) -> Vec<String> {
    let mut level = vec![(String::new(), root)];
    while !level.is_empty() {
        let found: Vec<_> = level
            .iter()
            .filter(|(_, table)| table.field(key).is_some())
            .map(|(path, _)| format!("[{path}]"))
            .collect();
        if !found.is_empty() {
            return found;
        }
        level = level
            .iter()
            .flat_map(|(path, table)| {
                table
                    .fields
                    .iter()
                    .filter_map(move |field| match field.kind {
                        Kind::Table(inner) | Kind::List(inner) => {
                            Some((join(path, field.key), inner))
                        }
                        _ => None,
                    })
            })
            .collect();
    }
    Vec::new()
}
