//! The evidence page: what is not covered first, then every check.

use crate::case::{Case, Source, Tolerance, Value};
use crate::worked_examples::Recomputed;
use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::Path;

const OPENING: &str = include_str!("opening.md");
const HERE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/evidence");

/// The whole page.
pub fn page(cases: &[Case], sources: &BTreeSet<Source>, recomputed: &[Recomputed]) -> String {
    let mut s = OPENING.to_owned();
    if Path::new(HERE).join("second/README.md").exists() {
        s += "A second implementation of whole chambers, in another language and with other libraries, has its own page: \
              [second/README.md](second/README.md).\n\n";
    }
    let memory = sources
        .iter()
        .filter(|s| s.title().contains("from memory"))
        .count();
    let _ = write!(
        s,
        "## The checks\n\n{} checks against {} sources; {} of the sources are quoted from memory and say so, and three are no publication but exact \
         solutions, balances by hand and common practice. A row with \
         many values shows the largest distance, rounded up to 1, 2 or 5 times a power of ten and never given below a hundredth of what is allowed, so \
         that the page is the same on every machine.\n",
        cases.len(),
        sources.len(),
        memory
    );
    let mut subject = "";
    for c in cases {
        if c.subject != subject {
            subject = c.subject;
            let _ = write!(
                s,
                "\n### {subject}\n\n| what | source | source's value | ours | allowed | why so much |\n| --- | --- | --- | --- | --- | --- |\n"
            );
        }
        let (theirs, ours) = match &c.value {
            Value::Number { theirs, ours } => (
                format!("{} {}", digits(*theirs, 5), c.unit),
                digits(*ours, 4),
            ),
            Value::Grid(points) => (
                format!("{} values, {}", points.len(), c.unit),
                format!("within {}", bound(c)),
            ),
        };
        let allowed = match c.tolerance {
            Tolerance::Relative(r) => percent(r),
            Tolerance::Absolute(a) => format!("{} {}", digits(a, 2), c.unit),
        };
        let row = format!(
            "| {} | {:?}: {} | {theirs} | {ours} | {allowed} | {} |",
            cell(&c.what),
            c.source,
            cell(c.place),
            cell(c.why)
        );
        let _ = writeln!(s, "{}", symbols(&row));
    }
    let _ = write!(
        s,
        "\n## The sources\n\n| short | source | checks |\n| --- | --- | --- |\n"
    );
    for source in sources {
        let n = cases.iter().filter(|c| c.source == *source).count();
        let _ = writeln!(s, "| {source:?} | {} | {n} |", source.title());
    }
    examples(&mut s, recomputed);
    // What the mutation run found, kept beside this page by whoever ran it.
    if let Ok(mutants) = std::fs::read_to_string(Path::new(HERE).join("mutants.md")) {
        s.push('\n');
        s += &mutants.replace("\r\n", "\n");
    }
    s
}

/// The handbook's examples, worked again from their inputs by other code than ours.
fn examples(s: &mut String, recomputed: &[Recomputed]) {
    let examples: BTreeSet<_> = recomputed.iter().map(|r| r.example()).collect();
    let _ = write!(
        s,
        "\n## Worked examples, worked again\n\nThe inputs of {} worked examples, as remembered, put through the book's own \
         formulas in `reference/make_grids.py` (which shares no code with ours). A printed value that could not be reached \
         again would not be used above.\n\n| example | printed | worked again | allowed |\n| --- | --- | --- | --- |\n",
        examples.len(),
    );
    for r in recomputed {
        let _ = writeln!(
            s,
            "| {} | {} | {} | {} |",
            symbols(&cell(&r.label)),
            digits(r.printed, 5),
            digits(r.again, 4),
            digits(r.allowed, 2)
        );
    }
}

/// A text that does not end the cell of a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

/// Units as they are printed.
fn symbols(text: &str) -> String {
    [
        ("degC", "°C"),
        ("m2", "m²"),
        ("m3", "m³"),
        ("K4", "K⁴"),
        (" - |", " |"),
        (", - |", " |"),
    ]
    .iter()
    .fold(text.to_owned(), |t, (from, to)| t.replace(from, to))
}

fn percent(r: f64) -> String {
    if r >= 1e-4 {
        format!("{} %", digits(100.0 * r, 2))
    } else {
        format!("{r:.0e} of it")
    }
}

/// The deviation rounded up to 1, 2 or 5 times a power of ten, never above what is allowed; below a
/// hundredth of that, rounding and steps of a solver decide, which differ among machines.
fn bound(c: &Case) -> String {
    let (Tolerance::Relative(most) | Tolerance::Absolute(most)) = c.tolerance;
    let d = c.deviation().max(0.01 * most);
    let decade = 10f64.powf(d.log10().floor());
    let up = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * decade)
        .find(|b| d <= *b * (1.0 + 1e-6))
        .unwrap_or(d);
    let up = up.min(most);
    match c.tolerance {
        Tolerance::Relative(_) => percent(up),
        Tolerance::Absolute(_) => format!("{} {}", digits(up, 1), c.unit),
    }
}

/// A number with so many significant digits, without trailing zeros.
fn digits(x: f64, n: i32) -> String {
    if x == 0.0 || x.abs() < 1e-12 {
        return "0".to_owned();
    }
    let exponent = x.abs().log10().floor() as i32;
    if !(-4..6).contains(&exponent) {
        let s = format!("{x:.*e}", (n - 1).max(0) as usize);
        let (mantissa, power) = s.split_once('e').unwrap_or((&s, "0"));
        let mantissa = if mantissa.contains('.') {
            mantissa.trim_end_matches('0').trim_end_matches('.')
        } else {
            mantissa
        };
        return format!("{mantissa}e{power}");
    }
    let s = format!("{x:.*}", (n - 1 - exponent).max(0) as usize);
    if s.contains('.') {
        s.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        s
    }
}
