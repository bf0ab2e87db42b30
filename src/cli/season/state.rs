//! What is done of a season that was interrupted: one file, to which finished starts are added.
//!
//! Its first line says of which season it is; each further one is a block of starts. A last line that was cut off
//! when the program ended counts as not written.

use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use jiff::civil::DateTime;
use serde_json::{Value, json};

use crate::chamber::StationKind;
use crate::cli::common::Failure;
use crate::output::ours::SEASON_STATE;
use crate::study::Verdict;
use crate::study::season::Start;
use crate::study::season::kept::Kept;

/// Which block of which season: weather, arrangement, block.
type Key = (usize, usize, usize);

/// The file.
#[derive(Debug)]
pub struct State {
    known: HashMap<Key, Vec<Start>>,
    file: Option<Mutex<(PathBuf, File)>>,
}

/// Everything that a season's numbers depend on.
#[derive(Debug, Default)]
pub struct Fingerprint(DefaultHasher);

impl Fingerprint {
    /// Of this version of the program.
    pub fn new() -> Self {
        let mut new = Self::default();
        new.add(env!("CARGO_PKG_VERSION").as_bytes());
        new
    }

    /// Adds some bytes.
    pub fn add(&mut self, bytes: &[u8]) {
        bytes.hash(&mut self.0);
    }

    /// Adds what a file holds.
    pub fn add_file(&mut self, path: &Path) {
        match std::fs::read(path) {
            Ok(bytes) => self.add(&bytes),
            // It has just been read; should it be gone, its name tells it from others.
            Err(_) => self.add(path.as_os_str().as_encoded_bytes()),
        }
    }

    fn text(&self) -> String {
        format!("{:016x}", self.0.finish())
    }
}

impl State {
    /// Keeps nothing.
    pub fn none() -> Self {
        Self {
            known: HashMap::new(),
            file: None,
        }
    }

    /// Opens a file, or begins it. Another season's is refused.
    pub fn open(path: &Path, fingerprint: &Fingerprint) -> Result<Self, Failure> {
        let failed =
            |e: std::io::Error| Failure::Usage(format!("--resume {}: {e}", path.display()));
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
            .map_err(failed)?;
        let mut text = String::new();
        file.read_to_string(&mut text).map_err(failed)?;
        let header = format!("{SEASON_STATE} {}\n", fingerprint.text());
        let mut known = HashMap::new();
        let whole = text.rfind('\n').map_or(0, |at| at + 1);
        if whole == 0 {
            file.set_len(0).map_err(failed)?;
            file.seek(SeekFrom::Start(0)).map_err(failed)?;
            file.write_all(header.as_bytes()).map_err(failed)?;
        } else {
            let mut lines = text[..whole].split_inclusive('\n');
            if lines.next() != Some(&header) {
                return Err(Failure::Usage(format!(
                    "--resume {}: this file keeps the season of another run, other weather, other options or another version of dogdays; name another file, or remove it to begin anew",
                    path.display()
                )));
            }
            known.extend(lines.filter_map(read));
            // What was cut off is written anew.
            file.set_len(whole as u64).map_err(failed)?;
            file.seek(SeekFrom::End(0)).map_err(failed)?;
        }
        Ok(Self {
            known,
            file: Some(Mutex::new((path.to_owned(), file))),
        })
    }

    /// The blocks of one season.
    pub fn of(&self, weather: usize, arrangement: usize) -> Blocks<'_> {
        Blocks {
            state: self,
            weather,
            arrangement,
        }
    }

    fn write(&self, key: Key, starts: &[Start]) {
        let Some(file) = &self.file else { return };
        let mut file = file.lock().unwrap_or_else(PoisonError::into_inner);
        let rows: Vec<Value> = starts.iter().map(row).collect();
        let line = json!({ "block": [key.0, key.1, key.2], "starts": rows });
        // One call for a line; should the disk be full, the season goes on without being kept.
        let _ = file.1.write_all(format!("{line}\n").as_bytes());
    }
}

/// The blocks of one season.
#[derive(Debug)]
pub struct Blocks<'a> {
    state: &'a State,
    weather: usize,
    arrangement: usize,
}

impl Kept for Blocks<'_> {
    fn block(&self, number: usize) -> Option<Vec<Start>> {
        let key = (self.weather, self.arrangement, number);
        self.state.known.get(&key).cloned()
    }

    fn keep(&self, number: usize, starts: &[Start]) {
        self.state
            .write((self.weather, self.arrangement, number), starts);
    }
}

/// Numbers as their bits, so that what is read is what was written.
fn row(start: &Start) -> Value {
    json!([
        start.at.to_string(),
        start.margin_K.to_bits(),
        start.verdict.exit_code(),
        start.peak_K.to_bits(),
        start.station.name(),
        start.peak_at.to_string(),
    ])
}

/// A line of the file; none where it is not whole.
fn read(line: &str) -> Option<(Key, Vec<Start>)> {
    let value: Value = serde_json::from_str(line).ok()?;
    let number = |k: usize| Some(value["block"][k].as_u64()? as usize);
    let key = (number(0)?, number(1)?, number(2)?);
    let starts = value["starts"].as_array()?.iter().map(start);
    Some((key, starts.collect::<Option<_>>()?))
}

fn start(row: &Value) -> Option<Start> {
    let time = |k: usize| row[k].as_str()?.parse::<DateTime>().ok();
    let number = |k: usize| Some(f64::from_bits(row[k].as_u64()?));
    let code = row[2].as_u64()?;
    let verdicts = [
        Verdict::Holds,
        Verdict::Tight,
        Verdict::Softens,
        Verdict::CannotRun,
    ];
    let station = row[4].as_str()?;
    Some(Start {
        at: time(0)?,
        margin_K: number(1)?,
        verdict: verdicts
            .into_iter()
            .find(|v| u64::from(v.exit_code()) == code)?,
        peak_K: number(3)?,
        station: StationKind::ALL.into_iter().find(|s| s.name() == station)?,
        peak_at: time(5)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn starts() -> Vec<Start> {
        let at = date(2026, 7, 13).at(18, 0, 0, 0);
        vec![Start {
            at,
            margin_K: -1.0 / 3.0,
            verdict: Verdict::Softens,
            peak_K: 325.1,
            station: StationKind::ColdEnd,
            peak_at: date(2026, 7, 15).at(17, 4, 9, 0),
        }]
    }

    fn fingerprint(of: &str) -> Fingerprint {
        let mut new = Fingerprint::new();
        new.add(of.as_bytes());
        new
    }

    #[test]
    fn what_was_kept_is_there_again_and_a_cut_line_is_not() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("state");
        let state = State::open(&path, &fingerprint("a")).unwrap();
        assert!(state.of(0, 1).block(7).is_none());
        state.of(0, 1).keep(7, &starts());
        state.of(0, 1).keep(8, &starts());
        drop(state);
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, &text[..text.len() - 20]).unwrap();
        let state = State::open(&path, &fingerprint("a")).unwrap();
        assert_eq!(state.of(0, 1).block(7), Some(starts()));
        assert_eq!(state.of(0, 1).block(8), None);
        assert_eq!(state.of(0, 0).block(7), None);
        // What was cut off is written anew, and whole.
        state.of(0, 1).keep(8, &starts());
        drop(state);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
    }

    #[test]
    fn another_seasons_file_is_refused() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("state");
        drop(State::open(&path, &fingerprint("a")).unwrap());
        let Err(Failure::Usage(told)) = State::open(&path, &fingerprint("b")) else {
            panic!("taken for its own");
        };
        assert!(
            told.contains("another run") && told.contains("remove it"),
            "{told}"
        );
    }
}
