//! Does the suite notice a wrong formula? Every change that cargo-mutants would make to physics,
//! network and chamber is compiled in at once and switched on at run time, one a process; compiling
//! each by itself takes half a day. What cannot be switched, cargo-mutants tries itself.
//!
//! `mutants COPY OUT`: COPY is a clone of the repository, which is rewritten; OUT keeps the results,
//! from which a run that was interrupted goes on.

mod run;
mod switch;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::{Command, ExitCode};

use serde_json::Value;

pub type Failed = Box<dyn std::error::Error>;

/// What is changed. The network's description for export is left out: no result rests on it.
const WHERE: [&str; 14] = [
    "--file",
    "src/physics/**",
    "--file",
    "src/network/**",
    "--file",
    "src/chamber/**",
    "--file",
    "src/number.rs",
    "--file",
    "src/course.rs",
    "--exclude",
    "src/network/description.rs",
    "--exclude",
    "src/chamber/description.rs",
];

/// A change as cargo-mutants lists it. Lines and columns count from one.
pub struct Mutant {
    /// What the variable is set to, from one.
    pub id: u32,
    pub name: String,
    pub file: String,
    pub genre: String,
    pub replacement: String,
    /// Line and column where the changed text begins.
    pub start: (usize, usize),
    /// Line and column where the function ends around it.
    pub function_end: Option<(usize, usize)>,
}

fn list(copy: &Path) -> Result<Vec<Mutant>, Failed> {
    let mut command = Command::new("cargo");
    command.args(["mutants", "--list", "--json"]).args(WHERE);
    let all: Vec<Value> = serde_json::from_str(&run::output(command.current_dir(copy))?)?;
    let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
    let place = |v: &Value| {
        let number = |key| v[key].as_u64().unwrap_or_default() as usize;
        (number("line"), number("column"))
    };
    let mutant = |(k, m): (usize, &Value)| Mutant {
        id: k as u32 + 1,
        name: text(&m["name"]),
        file: text(&m["file"]),
        genre: text(&m["genre"]),
        replacement: text(&m["replacement"]),
        start: place(&m["span"]["start"]),
        function_end: (!m["function"].is_null()).then(|| place(&m["function"]["span"]["end"])),
    };
    Ok(all.iter().enumerate().map(mutant).collect())
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [copy, out] = arguments.as_slice() else {
        eprintln!("mutants COPY OUT");
        return ExitCode::FAILURE;
    };
    match everything(Path::new(copy), Path::new(out)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("mutants: {e}");
            ExitCode::FAILURE
        }
    }
}

fn everything(copy: &Path, out: &Path) -> Result<(), Failed> {
    let began = std::time::Instant::now();
    let mutants = list(copy)?;
    let git =
        |arguments: &[&str]| run::output(Command::new("git").args(arguments).current_dir(copy));
    let commit = git(&["rev-parse", "--short", "HEAD"])?.trim().to_owned();
    println!("{} changes at {commit}", mutants.len());

    let switched = switch::build(copy, &mutants)?;
    println!("{} of them switched in one build", switched.len());
    let mut results = run::switched(copy, out, &commit, &mutants, &switched)?;

    git(&["checkout", "--quiet", "--force", "HEAD"])?;
    git(&["clean", "--quiet", "--force", "src"])?;
    let rest: BTreeSet<&str> = mutants
        .iter()
        .map(|m| m.name.as_str())
        .filter(|name| !results.contains_key(*name))
        .collect();
    println!("{} left to cargo-mutants", rest.len());
    results.extend(run::rest(copy, out, &commit, &rest)?);

    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for m in &mutants {
        let outcome = results.get(&m.name).map_or("not run", String::as_str);
        *count.entry(outcome).or_default() += 1;
        if outcome == "missed" {
            println!("missed: {}", m.name);
        }
    }
    println!(
        "at {commit}: {count:?}, {} min",
        began.elapsed().as_secs() / 60
    );
    Ok(())
}
