//! The house has floors: no room uses one above it, and no two files use each other.
//!
//! Read from the sources themselves: every `use` and every path that begins with `crate::`, `super::` or
//! `self::`, outside tests. A name that a room only hands on (`pub use`) counts as the file's that defines
//! it. A folder's `mod.rs` may call its own children by their names: it is their face, not their user.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The floors from the ground up. A room may use those on floors below, and on its own floor none but
/// itself.
const FLOORS: &[&[&str]] = &[
    &[
        "vector",
        "course",
        "number",
        "quantity",
        "plain",
        "remembered",
        "wide",
    ],
    &["physics"],
    &["keys"],
    &["table"],
    &["weather", "profile"],
    &["run"],
    &["catalogue"],
    &["runfile"],
    &["integrate"],
    &["network"],
    &["chamber"],
    &["study"],
    &["output"],
    &["answer"],
    &["page"],
    &["error"],
    &["cli"],
];

/// Rooms that lie beside the tower of files: what these use must be among the rooms named.
const NARROW: &[(&str, &[&str])] = &[
    ("integrate", &["vector", "remembered", "wide"]),
    (
        "network",
        &["physics", "course", "number", "vector", "wide", "integrate"],
    ),
    (
        "chamber",
        &["run", "network", "integrate", "physics", "course", "vector"],
    ),
    (
        "study",
        &[
            "chamber",
            "run",
            "network",
            "integrate",
            "physics",
            "course",
            "vector",
            "quantity",
            "keys",
        ],
    ),
    ("keys", &["quantity", "plain"]),
];

/// The sources of a crate: file name (relative to `src`) and text.
type Files = BTreeMap<String, String>;

/// Which file uses which, each with a path that says so.
type Uses = BTreeMap<(String, String), String>;

/// Everything that is wrong with the house.
fn complaints(files: &Files) -> Vec<String> {
    let uses = uses(files);
    let mut found = upward(&uses);
    found.extend(circles(&uses));
    found
}

fn upward(uses: &Uses) -> Vec<String> {
    let floor = |room: &str| FLOORS.iter().position(|rooms| rooms.contains(&room));
    let mut found = Vec::new();
    for ((from, to), path) in uses {
        let (a, b) = (room_of(from), room_of(to));
        if a == b || a == "lib" || a == "main" {
            continue;
        }
        let (Some(above), Some(below)) = (floor(a), floor(b)) else {
            found.push(format!(
                "{from} uses {to} ({path}): name both rooms on a floor of tests/rooms.rs"
            ));
            continue;
        };
        if below >= above {
            found.push(format!(
                "{from} uses {to} ({path}): `{b}` is not below `{a}`; move what is used down, or the user up"
            ));
        } else if let Some((_, rooms)) = NARROW.iter().find(|(room, _)| *room == a)
            && !rooms.contains(&b)
        {
            found.push(format!(
                "{from} uses {to} ({path}): `{a}` is to know only {}",
                rooms.join(", ")
            ));
        }
    }
    found
}

/// One complaint for every set of files that use each other in a circle.
fn circles(uses: &Uses) -> Vec<String> {
    let mut next: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (from, to) in uses.keys() {
        next.entry(from).or_default().insert(to);
    }
    let reach = |start: &str| {
        let (mut seen, mut todo) = (BTreeSet::new(), vec![start]);
        while let Some(file) = todo.pop() {
            for to in next.get(file).into_iter().flatten() {
                if seen.insert(*to) {
                    todo.push(to);
                }
            }
        }
        seen
    };
    let reached: BTreeMap<&str, BTreeSet<&str>> = next.keys().map(|f| (*f, reach(f))).collect();
    let mut told = BTreeSet::new();
    let mut found = Vec::new();
    for (file, all) in &reached {
        if !all.contains(file) || told.contains(file) {
            continue;
        }
        let ring: Vec<&str> = all
            .iter()
            .copied()
            .filter(|other| reached.get(other).is_some_and(|r| r.contains(file)))
            .collect();
        told.extend(ring.iter().copied());
        let ties: Vec<String> = uses
            .iter()
            .filter(|((a, b), _)| ring.contains(&a.as_str()) && ring.contains(&b.as_str()))
            .map(|((a, b), path)| format!("{a} uses {b} ({path})"))
            .collect();
        found.push(format!("a circle: {}", ties.join("; ")));
    }
    found
}

/// `chamber` of `chamber/links.rs`, `course` of `course.rs`.
fn room_of(file: &str) -> &str {
    file.split('/')
        .next()
        .map_or(file, |room| room.trim_end_matches(".rs"))
}

/// The module of a file: `["chamber", "links"]`.
fn module_of(file: &str) -> Vec<String> {
    let path = file.trim_end_matches(".rs");
    let path = path.strip_suffix("/mod").unwrap_or(path);
    if path == "lib" || path == "main" {
        return Vec::new();
    }
    path.split('/').map(str::to_owned).collect()
}

fn is_test(file: &str) -> bool {
    file.ends_with("tests.rs") || file.contains("tests/")
}

fn uses(files: &Files) -> Uses {
    let modules: BTreeMap<Vec<String>, &str> = files
        .keys()
        .filter(|file| !is_test(file))
        .map(|file| (module_of(file), file.as_str()))
        .collect();
    let texts: BTreeMap<&str, String> = modules
        .values()
        .map(|file| (*file, without_tests(&code_of(&files[*file]))))
        .collect();
    // What a module hands on: name, and where it has it from.
    let mut handed: BTreeMap<(Vec<String>, String), Vec<String>> = BTreeMap::new();
    for (module, file) in &modules {
        for (path, name) in use_paths(&texts[file], true) {
            if let Some(path) = absolute(&path, module, &modules) {
                handed.insert((module.clone(), name), path);
            }
        }
    }
    let mut found = Uses::new();
    for (module, file) in &modules {
        let text = &texts[file];
        let mut paths: Vec<Vec<String>> =
            use_paths(text, false).into_iter().map(|(p, _)| p).collect();
        for head in ["crate", "super", "self"] {
            inline_paths(text, head, &mut paths);
        }
        for path in paths {
            let Some(full) = absolute(&path, module, &modules) else {
                continue;
            };
            let Some(to) = defining_file(full, &modules, &handed) else {
                continue;
            };
            if to != *file {
                found
                    .entry(((*file).to_owned(), to.to_owned()))
                    .or_insert_with(|| path.join("::"));
            }
        }
    }
    found
}

/// The file in which the thing at a path is defined.
fn defining_file<'a>(
    mut path: Vec<String>,
    modules: &BTreeMap<Vec<String>, &'a str>,
    handed: &BTreeMap<(Vec<String>, String), Vec<String>>,
) -> Option<&'a str> {
    // A name may be handed on more than once, but not for ever.
    for _ in 0..8 {
        let depth = (0..=path.len())
            .rev()
            .find(|n| modules.contains_key(&path[..*n]))?;
        let module = path[..depth].to_vec();
        let Some(name) = path.get(depth) else {
            return modules.get(&module).copied();
        };
        match handed.get(&(module.clone(), name.clone())) {
            Some(from) => {
                let rest = path[depth + 1..].to_vec();
                path = from.iter().cloned().chain(rest).collect();
            }
            None => return modules.get(&module).copied(),
        }
    }
    None
}

/// A path of this crate from its root; none for other crates'.
fn absolute(
    path: &[String],
    module: &[String],
    modules: &BTreeMap<Vec<String>, &str>,
) -> Option<Vec<String>> {
    let mut at = module.to_vec();
    let mut rest = path;
    match path.first()?.as_str() {
        "crate" => {
            at.clear();
            rest = &path[1..];
        }
        "self" => rest = &path[1..],
        "super" => {
            while rest.first().is_some_and(|p| p == "super") {
                at.pop()?;
                rest = &rest[1..];
            }
        }
        child => {
            // A module may name its own children.
            at.push(child.to_owned());
            modules.get(&at)?;
            rest = &path[1..];
        }
    }
    at.extend(rest.iter().cloned());
    Some(at)
}

/// The text without comments and without what stands in quotes.
fn code_of(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        if rest.starts_with("//") {
            rest = &rest[rest.find('\n').unwrap_or(rest.len())..];
        } else if rest.starts_with("r#\"") {
            rest = rest[3..].split_once("\"#").map_or("", |(_, after)| after);
        } else if c == '"' {
            let mut escaped = false;
            let end = rest[1..].find(|c| {
                let ends = c == '"' && !escaped;
                escaped = c == '\\' && !escaped;
                ends
            });
            rest = end.map_or("", |end| &rest[end + 2..]);
            out.push_str("\"\"");
        } else if rest.starts_with("'\"'") {
            rest = &rest[3..];
        } else {
            out.push(c);
            rest = &rest[c.len_utf8()..];
        }
    }
    out
}

/// Cuts away what is compiled for tests only.
fn without_tests(code: &str) -> String {
    let mut out = String::new();
    let mut rest = code;
    while let Some(at) = rest.find("#[cfg(test)]") {
        out.push_str(&rest[..at]);
        let item = &rest[at..];
        let end = match (item.find('{'), item.find(';')) {
            (Some(open), semicolon) if semicolon.is_none_or(|s| open < s) => {
                let mut depth = 0;
                item[open..]
                    .char_indices()
                    .find(|(_, c)| {
                        match c {
                            '{' => depth += 1,
                            '}' => depth -= 1,
                            _ => {}
                        }
                        depth == 0
                    })
                    .map_or(item.len(), |(close, _)| open + close + 1)
            }
            (_, Some(semicolon)) => semicolon + 1,
            _ => item.len(),
        };
        rest = &item[end..];
    }
    out.push_str(rest);
    out
}

/// The paths of `use` lines, braces written out, each with the name under which it is known here. Those
/// that hand on (`pub use`), or the others.
fn use_paths(code: &str, handing_on: bool) -> Vec<(Vec<String>, String)> {
    let mut found = Vec::new();
    for item in code.split(';') {
        // A list in braces may span lines: it begins where a line begins with `use`.
        let begin = item.rmatch_indices("use ").map(|(at, _)| at).find(|at| {
            let before = item[..*at].rsplit('\n').next().unwrap_or("").trim();
            before.is_empty() || before.starts_with("pub")
        });
        let Some(begin) = begin else { continue };
        let before = item[..begin].rsplit('\n').next().unwrap_or("");
        if before.trim_start().starts_with("pub") == handing_on {
            expand(&item[begin + 4..], &mut Vec::new(), &mut found);
        }
    }
    found
}

/// Writes out `a::{b, c::{self, d as e}}`.
fn expand(tree: &str, before: &mut Vec<String>, found: &mut Vec<(Vec<String>, String)>) {
    let tree = tree.trim();
    let depth = before.len();
    if let Some(inner) = tree.strip_prefix('{') {
        let inner = inner.strip_suffix('}').unwrap_or(inner);
        let mut level = 0;
        let mut begin = 0;
        for (at, c) in inner.char_indices() {
            match c {
                '{' => level += 1,
                '}' => level -= 1,
                ',' if level == 0 => {
                    expand(&inner[begin..at], before, found);
                    begin = at + 1;
                }
                _ => {}
            }
        }
        expand(&inner[begin..], before, found);
    } else if let Some((first, rest)) = tree.split_once("::") {
        before.push(first.trim().to_owned());
        expand(rest, before, found);
    } else if !tree.is_empty() {
        let (name, known) = tree.split_once(" as ").unwrap_or((tree, tree));
        let (name, mut known) = (name.trim(), known.trim().to_owned());
        if name != "self" && name != "*" {
            before.push(name.to_owned());
        } else if let (true, Some(last)) = (known == "self", before.last()) {
            known.clone_from(last);
        }
        found.push((before.clone(), known));
    }
    before.truncate(depth);
}

/// Paths in the midst of the code that begin with a name: `crate::quantity::Quantity::Length`.
fn inline_paths(code: &str, head: &str, found: &mut Vec<Vec<String>>) {
    let is_name = |c: char| c.is_alphanumeric() || c == '_';
    for (at, _) in code.match_indices(&format!("{head}::")) {
        let before = code[..at].chars().next_back();
        if before.is_some_and(|c| is_name(c) || c == ':') {
            continue;
        }
        // The lines of `use` have been read already, as a whole.
        let line = code[..at].rsplit('\n').next().unwrap_or("");
        if line.trim_start().starts_with("use ") || line.trim_start().starts_with("pub use ") {
            continue;
        }
        let path = &code[at..];
        let end = path
            .find(|c: char| !is_name(c) && c != ':')
            .unwrap_or(path.len());
        let parts = path[..end].split("::").filter(|part| !part.is_empty());
        found.push(parts.map(str::to_owned).collect());
    }
}

fn read(folder: &Path, under: &str, files: &mut Files) {
    for entry in std::fs::read_dir(folder)
        .expect("the sources are there")
        .flatten()
    {
        let (path, name) = (entry.path(), entry.file_name());
        let name = format!("{under}{}", name.to_string_lossy());
        if path.is_dir() {
            read(&path, &format!("{name}/"), files);
        } else if name.ends_with(".rs") {
            files.insert(name, std::fs::read_to_string(&path).expect("readable"));
        }
    }
}

#[test]
fn no_room_uses_one_above_it_and_no_files_use_each_other() {
    let mut files = Files::new();
    let sources = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    read(&sources, "", &mut files);
    assert!(files.len() > 100, "all sources are read");
    // The reading itself works: what everybody knows to be so is found.
    let uses = uses(&files);
    let known = ("run/machine.rs".to_owned(), "run/panel.rs".to_owned());
    assert!(uses.contains_key(&known), "{uses:#?}");
    let found = complaints(&files);
    assert!(
        found.is_empty(),
        "{} complaints:\n{}",
        found.len(),
        found.join("\n")
    );
}

fn house(files: &[(&str, &str)]) -> Vec<String> {
    let files = files
        .iter()
        .map(|(f, t)| ((*f).to_owned(), (*t).to_owned()));
    complaints(&files.collect())
}

#[track_caller]
fn says(found: &[String], words: &[&str]) {
    assert_eq!(found.len(), 1, "{found:#?}");
    for word in words {
        assert!(found[0].contains(word), "{word}: {found:#?}");
    }
}

#[test]
fn an_import_upward_is_noticed() {
    let room = ("physics/mod.rs", "pub mod air;");
    let study = ("study/mod.rs", "pub mod check;\npub use check::Verdict;");
    let check = ("study/check.rs", "pub enum Verdict { Holds }");
    for air in [
        "use crate::study::Verdict;",
        "use crate::{\n    study::{self as s, check::Verdict},\n};",
        "fn f() -> crate::study::Verdict { crate::study::check::Verdict::Holds }",
        "use super::super::study::check;",
    ] {
        let found = house(&[room, study, check, ("physics/air.rs", air)]);
        assert!(
            found
                .iter()
                .any(|f| f.contains("physics/air.rs uses study/check.rs")),
            "{air}: {found:#?}"
        );
    }
    let quiet = "// use crate::study::Verdict;\nconst A: &str = \"crate::study\";\n\
        #[cfg(test)]\nmod tests { use crate::study::Verdict; fn f() { if true {} } }\n\
        #[cfg(test)]\nmod others;\n";
    assert!(house(&[room, study, check, ("physics/air.rs", quiet)]).is_empty());
    let tests = ("physics/air/tests.rs", "use crate::study::Verdict;");
    assert!(house(&[room, study, check, ("physics/air.rs", quiet), tests]).is_empty());
}

#[test]
fn a_circle_is_noticed_within_a_room_and_behind_what_is_handed_on() {
    let found = house(&[
        (
            "run/mod.rs",
            "mod a;\nmod b;\nmod c;\npub use a::A;\npub use c::C;",
        ),
        ("run/a.rs", "use super::b::B;\npub struct A(B);"),
        ("run/b.rs", "use super::C;\npub struct B(C);"),
        ("run/c.rs", "use crate::run::A;\npub struct C(Box<A>);"),
    ]);
    says(
        &found,
        &[
            "a circle",
            "run/a.rs uses run/b.rs",
            "run/b.rs uses run/c.rs",
            "run/c.rs uses run/a.rs",
        ],
    );
    // A room's own file that uses what its children define, and is used by them.
    let found = house(&[
        ("run/mod.rs", "mod a;\nuse a::A;\npub struct Run(A);"),
        ("run/a.rs", "use super::Run;\npub struct A(Box<Run>);"),
    ]);
    says(
        &found,
        &["run/mod.rs uses run/a.rs", "run/a.rs uses run/mod.rs"],
    );
}

#[test]
fn a_room_beside_the_files_is_held_to_those_it_may_know() {
    let found = house(&[
        ("catalogue/mod.rs", "pub struct Catalogue;"),
        ("study/mod.rs", "fn f(_: &crate::catalogue::Catalogue) {}"),
    ]);
    says(
        &found,
        &["study/mod.rs uses catalogue/mod.rs", "to know only"],
    );
    let found = house(&[
        ("new.rs", "use crate::run::Run;"),
        ("run/mod.rs", "pub struct Run;"),
    ]);
    says(&found, &["new.rs uses run/mod.rs", "name both rooms"]);
}
