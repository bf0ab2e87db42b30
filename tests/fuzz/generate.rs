//! Random runs, made from the declared keys and their ranges. Some are no valid runs: the reader decides.

use std::fmt::Write;

use dogdays::keys::Kind as Entry;
use dogdays::keys::fields::RUN_FILE;
use dogdays::keys::schema::{Field, Kind, Need, Range, Table};
use dogdays::quantity::{Quantity, unit_by_symbol};
use fastrand::Rng;

use crate::inputs::Shop;
use crate::mutate::{chance, pick};

/// What decides which keys go together is chosen here; everything else comes from the schema.
const ARRANGEMENTS: &[&str] = &[
    "kind = \"closed\"",
    "kind = \"lid off\"",
    "kind = \"door open\"",
    "kind = \"extracting\"\nflow = \"25 m3/h\"",
    "kind = \"blowing in\"\nflow = \"40 m3/h\"",
    "kind = \"recirculating\"\nflow = \"60 m3/h\"",
    "kind = \"extracting\"\nflow = \"30 m3/h\"\nthermostat = { on_above = \"38 degC\", off_below = \"35 degC\" }",
];

/// A run of hours in a random machine, with some keys of every table.
pub fn run(random: &mut Rng, shop: &Shop) -> String {
    let mut text = String::new();
    let hours = 10_f64.powf(random.f64() * 1.8 - 0.3);
    let machine = pick(random, &shop.names(Entry::Machine)).clone();
    let material = pick(random, &shop.names(Entry::Material)).clone();
    let mass_g = 10_f64.powf(0.7 + 2.3 * random.f64());
    let arrangement = *pick(random, ARRANGEMENTS);
    let room = match random.u8(..3) {
        0 => "series = \"weather.csv\"".to_owned(),
        1 => format!(
            "mean = \"{:.1} degC\"\nswing = \"{:.1} K\"",
            15.0 + 20.0 * random.f64(),
            8.0 * random.f64()
        ),
        _ => format!("temperature = \"{:.1} degC\"", 10.0 + 30.0 * random.f64()),
    };
    // Writing to a string cannot fail.
    let _ = write!(
        text,
        "[run]\nstart = \"2026-07-13 07:00\"\nduration = \"{hours:.2} h\"\n[machine]\nname = \"{machine}\"\n{}\
        [material]\nname = \"{material}\"\n{}[part]\nmass = \"{mass_g:.0} g\"\n[job]\n{}[room]\n{room}\n{}\
        [arrangement]\n{arrangement}\n",
        some(random, shop, "machine", 0.06),
        some(random, shop, "material", 0.05),
        some(random, shop, "job", 0.08),
        some(random, shop, "room", 0.12),
    );
    for table in ["coefficients", "require", "initial"] {
        if chance(random, 0.4) {
            let _ = write!(text, "[{table}]\n{}", some(random, shop, table, 0.15));
        }
    }
    text
}

/// Keys that are written above, or that exclude or need others.
const SET_APART: &[&str] = &[
    "name",
    "title",
    "notes",
    "sources",
    "temperature",
    "mean",
    "swing",
    "series",
    "phase",
    "pause",
    "spool_change",
    "profile",
    "time_column",
    "temperature_column",
    "width",
    "depth",
    "height",
    "chamber",
    "second_nozzle",
    "part_fan",
];

/// Some keys of a table, each with a value of its range.
fn some(random: &mut Rng, shop: &Shop, table: &str, share: f64) -> String {
    let Some(Kind::Table(table)) = RUN_FILE.field(table).map(|f| f.kind) else {
        panic!("{table} is a table of run files");
    };
    let mut text = String::new();
    for field in table.fields {
        if SET_APART.contains(&field.key) || !chance(random, share) {
            continue;
        }
        if let Some(value) = value(random, shop, field, 0) {
            let _ = writeln!(text, "{} = {value}", field.key);
        }
    }
    text
}

/// A value that its field takes; none for what needs files.
fn value(random: &mut Rng, shop: &Shop, field: &Field, depth: usize) -> Option<String> {
    Some(match field.kind {
        Kind::Quantity(range) | Kind::Moment(range) => quantity(random, &range),
        Kind::Integer(low, high) => random.i64(low..=high.min(low + 8)).to_string(),
        Kind::Text => "\"text\"".to_owned(),
        Kind::Bool => random.bool().to_string(),
        Kind::Choice(words) => format!("{:?}", pick(random, words)),
        Kind::Name(kind) => format!("{:?}", pick(random, &shop.names(kind))),
        Kind::Panel(_) => format!("{:?}", pick(random, &shop.names(Entry::Panel))),
        Kind::DateTime => "\"2026-07-13 07:00\"".to_owned(),
        Kind::Date => "\"2026-07-13\"".to_owned(),
        Kind::TimeOfDay => format!("\"{:02}:{:02}\"", random.u8(..24), random.u8(..60)),
        Kind::Table(table) if depth < 2 => inline(random, shop, table, depth)?,
        Kind::List(table) if depth < 2 => format!("[{}]", inline(random, shop, table, depth)?),
        Kind::Table(_) | Kind::List(_) | Kind::File | Kind::Sources | Kind::Guesses => return None,
    })
}

fn inline(random: &mut Rng, shop: &Shop, table: &'static Table, depth: usize) -> Option<String> {
    let mut parts = Vec::new();
    for field in table.fields {
        let needed = field.need == Need::Required;
        if needed || chance(random, 0.2) {
            match value(random, shop, field, depth + 1) {
                Some(value) => parts.push(format!("{} = {value}", field.key)),
                None if needed => return None,
                None => {}
            }
        }
    }
    Some(format!("{{ {} }}", parts.join(", ")))
}

/// Mostly what is usual, sometimes all that is allowed, in any unit of the quantity.
fn quantity(random: &mut Rng, range: &Range) -> String {
    let (low, high) = if chance(random, 0.1) {
        range.hard
    } else {
        range.usual
    };
    let value = if low > 0.0 && high / low > 50.0 {
        low * (high / low).powf(random.f64())
    } else {
        low + (high - low) * random.f64()
    };
    let own = unit_by_symbol(range.unit, range.quantity).expect("declared");
    let unit = if chance(random, 0.3) {
        pick(random, range.quantity.units())
    } else {
        own
    };
    let number = unit.from_si(own.to_si(value));
    if range.quantity == Quantity::Number {
        return format!("{number:.6}");
    }
    format!("\"{number:.6} {}\"", unit.symbol)
}
