//! Several files, or folders of them: several series, each with its name.

use super::asked::{Asked, By};
use super::clock::ShopClock;
use super::fill::Fill;
use super::format::is_named_epw;
use super::series::Series;
use crate::keys::problem::{Problem, Problems};
use crate::plain::plain;
use crate::table::DataFile;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How files are read that no run file names.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rules {
    /// How gaps are filled.
    pub fill: Fill,
    /// The shop's clock; none where the files are on it, or are of places' standard times.
    pub clock: Option<ShopClock>,
    /// Whether the end of a real year is followed by its beginning, as a typical year's always is.
    pub wraps: bool,
    /// Whether files are only looked at: then one in UTC needs no clock.
    pub is_only_looked_at: bool,
}

/// A series and its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// The file's name without folder and endings.
    pub name: String,
    /// The file.
    pub path: PathBuf,
    /// What it holds.
    pub series: Arc<Series>,
}

/// What was read of files and folders.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Years {
    /// The series, sorted by name.
    pub series: Vec<Named>,
    /// Files of the folders that are no weather by their names, and were left out.
    pub left_out: Vec<PathBuf>,
}

/// Endings of weather files, `.gz` after any of them or alone.
const ENDINGS: [&str; 8] = ["csv", "epw", "txt", "tsv", "dat", "xlsx", "xls", "ods"];

/// Reads files, and those of folders whose names end as weather files' do. Folders in folders are not looked into.
///
/// # Errors
/// Everything that is wrong with any of the files; a folder without any; no path at all.
pub fn read_years(paths: &[PathBuf], rules: &Rules) -> Result<Years, Problems> {
    let asked = Asked {
        fill: rules.fill,
        clock: rules.clock.clone(),
        is_round: rules.wraps,
        by: if rules.is_only_looked_at {
            By::Looking
        } else {
            By::Options
        },
        ..Asked::default()
    };
    let (mut problems, mut years) = (Vec::new(), Years::default());
    let mut files: Vec<PathBuf> = Vec::new();
    for path in paths {
        if path.is_dir() {
            match folder(path) {
                Ok((found, left_out)) => {
                    files.extend(found);
                    years.left_out.extend(left_out);
                }
                Err(problem) => problems.push(*problem),
            }
        } else {
            files.push(path.clone());
        }
    }
    files.sort();
    files.dedup();
    if files.is_empty() && problems.is_empty() {
        problems
            .push(Problem::in_file("weather", "no file is named").help("name a file or a folder"));
    }
    for path in files {
        let file = match DataFile::read(&path) {
            Ok(file) => file,
            Err(problem) => {
                problems.push(*problem);
                continue;
            }
        };
        if let Some(series) = Series::read(file, &asked, &mut problems) {
            years.series.push(Named {
                name: name_of(&path),
                path,
                series: Arc::new(series),
            });
        }
    }
    if problems.is_empty() {
        years
            .series
            .sort_by(|a, b| (&a.name, &a.path).cmp(&(&b.name, &b.path)));
        return Ok(years);
    }
    Err(Problems::new(problems))
}

/// The weather files of a folder, and the others.
fn folder(path: &Path) -> Result<(Vec<PathBuf>, Vec<PathBuf>), Box<Problem>> {
    let shown = path.display().to_string();
    let entries = std::fs::read_dir(path).map_err(|error| {
        Box::new(Problem::in_file(
            shown.clone(),
            format!("the folder can't be read: {error}"),
        ))
    })?;
    let mut files: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.is_file())
        .collect();
    files.sort();
    let is_hidden = |path: &Path| {
        path.file_name()
            .is_some_and(|name| name.to_string_lossy().starts_with('.'))
    };
    files.retain(|path| !is_hidden(path));
    let (weather, others): (Vec<_>, Vec<_>) = files.into_iter().partition(|path| is_weather(path));
    if weather.is_empty() {
        let endings = ENDINGS.map(|ending| format!(".{ending}")).join(", ");
        return Err(Box::new(
            Problem::in_file(shown, "there is no weather file in this folder").help(format!(
                "weather files end with {endings} or .gz; name the file itself if it ends otherwise"
            )),
        ));
    }
    Ok((weather, others))
}

fn is_weather(path: &Path) -> bool {
    let Some(ending) = path
        .extension()
        .map(|e| e.to_string_lossy().to_ascii_lowercase())
    else {
        return false;
    };
    ending == "gz" || ENDINGS.contains(&ending.as_str()) || is_named_epw(&path.to_string_lossy())
}

/// `725957-2016` of `folder/725957-2016.gz`.
fn name_of(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let mut name = name.as_ref();
    for ending in ["gz"].iter().chain(&ENDINGS) {
        let without = name
            .len()
            .checked_sub(ending.len() + 1)
            .filter(|at| name.is_char_boundary(*at))
            .filter(|at| name[*at..].eq_ignore_ascii_case(&format!(".{ending}")));
        if let Some(end) = without {
            name = &name[..end];
        }
    }
    plain(name).into_owned()
}
