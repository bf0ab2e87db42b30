//! Entries and their lookup.

use super::embedded::EMBEDDED;
use super::fan::fan_of;
use crate::keys::complete::complete;
use crate::keys::explain::{Stated, explain};
use crate::keys::fields::table_of;
use crate::keys::file::text_of_file;
use crate::keys::kinds::Kind;
use crate::keys::nearest::did_you_mean;
use crate::keys::problem::{Problem, Problems, Source};
use crate::keys::reader::read_source;
use crate::keys::section::{Data, Origin, Section};
use crate::plain::plain;
use crate::run::derive::material::material;
use crate::run::{Fan, Material};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock, OnceLock};

/// One machine, material, panel or fan.
#[derive(Debug)]
pub struct Entry {
    /// What it describes.
    pub kind: Kind,
    /// Its name: the file's name without `.toml`.
    pub name: String,
    /// Whether it comes with the program (and not from a user's folder).
    pub is_embedded: bool,
    source: Arc<Source>,
    /// Where it was read from, if it did not come with the program.
    path: Option<PathBuf>,
    /// Read when it is first asked for, and then kept.
    read: OnceLock<Read>,
}

/// What reading an entry's text comes to.
#[derive(Debug)]
struct Read {
    section: Option<Section>,
    problems: Vec<Problem>,
}

impl Entry {
    fn new(kind: Kind, name: &str, path: Option<&Path>, source: Arc<Source>) -> Self {
        Self {
            kind,
            name: plain(name).into_owned(),
            is_embedded: path.is_none(),
            source,
            path: path.map(Path::to_owned),
            read: OnceLock::new(),
        }
    }

    /// The file's text as it stands, with its comments.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.source.text
    }

    /// The file's name, for messages.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.source.name
    }

    /// One line of description.
    #[must_use]
    pub fn title(&self) -> String {
        self.own_text("title").unwrap_or_default()
    }

    /// Whatever the next reader should know; empty if nothing.
    #[must_use]
    pub fn notes(&self) -> String {
        self.own_text("notes").unwrap_or_default()
    }

    /// For each key that has one, where its value comes from.
    #[must_use]
    pub fn sources(&self) -> Vec<(String, String)> {
        let section = self.read().section.as_ref();
        match section
            .and_then(|s| s.entries.get("sources"))
            .map(|v| &v.data)
        {
            Some(Data::Sources(list)) => list.clone(),
            _ => Vec::new(),
        }
    }

    /// Every value, defaults filled in, in the order of the keys.
    #[must_use]
    pub fn values(&self) -> Vec<Stated> {
        let mut out = Vec::new();
        // Problems were reported when the entry was added.
        if let Some(section) = self.completed(&mut Vec::new()) {
            explain(&section, "", table_of(self.kind), &mut out);
        }
        out
    }

    fn own_text(&self, key: &str) -> Option<String> {
        self.read().section.as_ref()?.text(key).map(str::to_owned)
    }

    fn read(&self) -> &Read {
        self.read.get_or_init(|| {
            let origin = Origin::Catalogue(self.name.as_str().into());
            let mut problems = Vec::new();
            let section = read_source(&self.source, table_of(self.kind), origin, &mut problems);
            Read { section, problems }
        })
    }

    /// The values of the file; keys that are absent stay absent, so that a run's own values can be
    /// laid over them before defaults are filled in.
    pub(crate) fn section(&self, problems: &mut Vec<Problem>) -> Option<Section> {
        let read = self.read();
        problems.extend_from_slice(&read.problems);
        read.section.clone()
    }

    /// The values of the file with its defaults.
    fn completed(&self, problems: &mut Vec<Problem>) -> Option<Section> {
        let mut section = self.section(problems)?;
        let table = table_of(self.kind);
        complete(&mut section, "", table, self.file(), problems);
        Some(section)
    }

    /// Everything that is wrong with the file by itself.
    fn check(&self) -> Vec<Problem> {
        let mut problems = Vec::new();
        if let Some(section) = self.completed(&mut problems)
            && self.kind == Kind::Fan
            && !problems.iter().any(Problem::is_error)
        {
            problems.extend(fan_of(&section, &self.name, self.file()).err().map(|p| *p));
        }
        problems.retain(Problem::is_error);
        problems
    }
}

/// All machines, materials, panels and fans that are known.
#[derive(Debug, Clone)]
pub struct Catalogue {
    entries: BTreeMap<(Kind, String), Arc<Entry>>,
    /// What was left out of a user's folder, to be told once.
    notes: Vec<Problem>,
}

impl Catalogue {
    /// The entries that come with the program. Their texts are read once, when they are first asked for.
    #[must_use]
    pub fn embedded() -> Self {
        static KNOWN: LazyLock<Catalogue> = LazyLock::new(|| {
            let entries = EMBEDDED.iter().map(|(kind, name, text)| {
                let source = Source::new(format!("models/{}/{name}.toml", kind.folder()), *text);
                let entry = Entry::new(*kind, name, None, source);
                ((*kind, entry.name.clone()), Arc::new(entry))
            });
            Catalogue {
                entries: entries.collect(),
                notes: Vec::new(),
            }
        });
        KNOWN.clone()
    }

    /// The entries that come with the program, and those of a user's folder, which replace them by
    /// name. Folders `machines`, `materials`, `panels` and `fans` may each be absent; an empty folder is one
    /// in which nothing stands yet. Hidden files are none of a user's: systems and editors leave them behind.
    ///
    /// # Errors
    /// When the folder can't be read, holds other things and none of the four, or a file in it is wrong; all
    /// that is wrong is reported at once.
    pub fn with_folder(folder: &Path) -> Result<Self, Problems> {
        let mut catalogue = Self::embedded();
        let shown = folder.display().to_string();
        if !folder.is_dir() {
            let what = if folder.exists() {
                "this is not a folder"
            } else {
                "there is no such folder"
            };
            return Err(Problem::in_file(shown, what)
                .help("name a folder that holds machines/, materials/, panels/ or fans/ with .toml files")
                .into());
        }
        let mut problems = Vec::new();
        let mut any_folder = false;
        for kind in Kind::ALL {
            let inner = folder.join(kind.folder());
            if inner.is_dir() {
                any_folder = true;
                catalogue.add_files(kind, &inner, &mut problems);
            }
        }
        if !any_folder && holds_anything(folder) {
            return Err(Problem::in_file(shown, "this folder holds no models")
                .help("put your files in folders machines/, materials/, panels/ or fans/ inside it")
                .into());
        }
        if problems.is_empty() {
            Ok(catalogue)
        } else {
            Err(Problems::new(problems))
        }
    }

    /// The folder in which models of one's own are looked for when none is named: `dogdays` in the
    /// platform's usual place for a program's data (`$XDG_DATA_HOME` or `~/.local/share`;
    /// `~/Library/Application Support` on macOS; `%APPDATA%` on Windows). It need not exist.
    #[must_use]
    pub fn usual_folder() -> Option<PathBuf> {
        let absolute = |name: &str| {
            std::env::var_os(name)
                .map(PathBuf::from)
                .filter(|path| path.is_absolute())
        };
        let data = if cfg!(windows) {
            absolute("APPDATA")
        } else if cfg!(target_os = "macos") {
            absolute("HOME").map(|home| home.join("Library/Application Support"))
        } else {
            // The XDG Base Directory Specification: a relative path is to be ignored.
            absolute("XDG_DATA_HOME").or_else(|| absolute("HOME").map(|h| h.join(".local/share")))
        };
        Some(data?.join("dogdays"))
    }

    fn add_files(&mut self, kind: Kind, folder: &Path, problems: &mut Vec<Problem>) {
        let files = match std::fs::read_dir(folder) {
            Ok(files) => files,
            Err(error) => {
                problems.push(Problem::in_file(
                    folder.display().to_string(),
                    format!("this folder can't be read: {error}"),
                ));
                return;
            }
        };
        let mut paths: Vec<_> = files.flatten().map(|file| file.path()).collect();
        paths.sort();
        for path in paths
            .iter()
            .filter(|path| path.extension().is_some_and(|e| e == "toml") && !is_hidden(path))
        {
            let Some(name) = path.file_stem().and_then(|stem| stem.to_str()) else {
                continue;
            };
            match text_of_file(path) {
                Ok(text) if text.trim().is_empty() => {
                    let message = "this file is empty and was left out";
                    let note = Problem::in_file(path.display().to_string(), message)
                        .help("write an entry into it, or delete it");
                    self.notes.push(note.as_hint());
                }
                Ok(text) => {
                    let source = Source::new(path.display().to_string(), text);
                    let entry = Entry::new(kind, name, Some(path), source);
                    problems.extend(entry.check());
                    self.entries
                        .insert((kind, entry.name.clone()), Arc::new(entry));
                }
                Err(problem) => problems.push(*problem),
            }
        }
    }

    /// The files of the user's own folder that were read.
    pub fn files(&self) -> impl Iterator<Item = &Path> {
        self.entries.values().filter_map(|e| e.path.as_deref())
    }

    /// What was left out of the user's folder, and why.
    #[must_use]
    pub fn notes(&self) -> &[Problem] {
        &self.notes
    }

    /// The names of a kind's entries, in order.
    #[must_use]
    pub fn names(&self, kind: Kind) -> Vec<String> {
        self.list(kind).map(|e| e.name.clone()).collect()
    }

    /// The entry of that kind and name. Capitals don't matter.
    #[must_use]
    pub fn get(&self, kind: Kind, name: &str) -> Option<&Entry> {
        self.entries
            .get(&(kind, name.to_owned()))
            .or_else(|| self.entries.get(&(kind, name.to_lowercase())))
            .map(Arc::as_ref)
    }

    /// The fan of that name.
    ///
    /// # Errors
    /// When there is none of that name, or its file is wrong.
    pub fn fan(&self, name: &str) -> Result<Fan, Problems> {
        let Some(entry) = self.get(Kind::Fan, name) else {
            let message = format!("there is no fan \"{name}\" in the catalogue");
            return Err(Problem::in_file(name, message)
                .help(format!(
                    "{}; or name a CSV file with the columns flow_m3_per_h,pressure_Pa",
                    self.suggestion(Kind::Fan, name)
                ))
                .into());
        };
        let mut problems = Vec::new();
        match entry.completed(&mut problems) {
            Some(section) if !problems.iter().any(Problem::is_error) => {
                let fan = fan_of(&section, &entry.name, entry.file());
                let fan = fan.map_err(|p| Problems::from(*p))?;
                Ok(Fan {
                    invented: entry.is_embedded,
                    ..fan
                })
            }
            _ => Err(Problems::new(problems)),
        }
    }

    /// Every fan, by name.
    ///
    /// # Errors
    /// When a fan's file is wrong.
    pub fn fans(&self) -> Result<Vec<Fan>, Problems> {
        let names: Vec<&str> = self.list(Kind::Fan).map(|e| e.name.as_str()).collect();
        names.into_iter().map(|name| self.fan(name)).collect()
    }

    /// Every material, by name. Entries with mistakes are left out; reading the catalogue has reported
    /// them.
    #[must_use]
    pub fn materials(&self) -> Vec<Material> {
        self.list(Kind::Material)
            .filter_map(|entry| {
                let section = entry.completed(&mut Vec::new())?;
                material(&section, entry.name.clone())
            })
            .collect()
    }

    /// Every entry of a kind, by name.
    pub fn list(&self, kind: Kind) -> impl Iterator<Item = &Entry> {
        self.entries
            .values()
            .map(Arc::as_ref)
            .filter(move |entry| entry.kind == kind)
    }

    /// What to say when there is no entry of that name: the nearest one, or all.
    #[must_use]
    pub fn suggestion(&self, kind: Kind, name: &str) -> String {
        let names: Vec<&str> = self.list(kind).map(|entry| entry.name.as_str()).collect();
        match did_you_mean(name, names.iter().copied(), |near| format!("\"{near}\"")) {
            Some(near) => format!("{near} Known are {}", names.join(", ")),
            None => format!("known are {}", names.join(", ")),
        }
    }
}

/// Whether a file is one of those that systems and editors leave beside a user's own: `._x.toml`,
/// `.#x.toml`.
fn is_hidden(path: &Path) -> bool {
    let name = path.file_name().and_then(|name| name.to_str());
    name.is_some_and(|name| name.starts_with('.'))
}

fn holds_anything(folder: &Path) -> bool {
    std::fs::read_dir(folder)
        .is_ok_and(|mut files| files.any(|file| file.is_ok_and(|file| !is_hidden(&file.path()))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_model_file_is_embedded_and_right() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("models");
        let catalogue = Catalogue::embedded();
        for kind in Kind::ALL {
            let mut on_disk: Vec<String> = std::fs::read_dir(root.join(kind.folder()))
                .expect("folder")
                .flatten()
                .filter_map(|f| {
                    f.file_name()
                        .to_str()?
                        .strip_suffix(".toml")
                        .map(str::to_owned)
                })
                .collect();
            on_disk.sort();
            let listed: Vec<String> = catalogue.list(kind).map(|e| e.name.clone()).collect();
            assert_eq!(
                on_disk,
                listed,
                "embedded.rs lists every file of models/{}",
                kind.folder()
            );
        }
        for entry in catalogue.entries.values() {
            let problems = entry.check();
            assert!(problems.is_empty(), "{}", Problems::new(problems));
            assert!(!entry.title().is_empty(), "{} has a title", entry.name);
        }
    }

    /// Every value of a material and of a panel's layers says where it comes from.
    #[test]
    fn materials_and_panels_name_their_sources() {
        let catalogue = Catalogue::embedded();
        for entry in catalogue.list(Kind::Material) {
            let sources = entry.sources();
            let section = entry.section(&mut Vec::new()).expect("reads");
            for key in section.entries.keys() {
                let is_value = !matches!(
                    *key,
                    "title" | "notes" | "sources" | "softening_basis" | "caveat" | "use"
                );
                assert!(
                    !is_value || sources.iter().any(|(k, _)| k == key),
                    "{}: {key} has no source",
                    entry.name
                );
            }
        }
        for entry in catalogue.list(Kind::Panel) {
            assert!(!entry.sources().is_empty(), "{} has no sources", entry.name);
        }
    }

    #[test]
    fn the_catalogue_is_as_broad_as_promised() {
        let catalogue = Catalogue::embedded();
        assert!(catalogue.list(Kind::Machine).count() >= 6);
        assert!(catalogue.list(Kind::Material).count() >= 13);
        assert!(catalogue.list(Kind::Panel).count() >= 8);
        assert!(catalogue.fans().expect("all valid").len() >= 10);
    }

    /// U-values with the surface resistances of ISO 6946 for walls (0.13 and 0.04 m2 K/W):
    /// EN 673 gives 5.8 W/(m2 K) for 4 mm glass and 2.9 for 4-12-4 air; makers of 6 mm twin-wall
    /// sheet state 3.5 to 3.6. All from memory and published to a tenth: tolerance 0.1.
    #[test]
    fn panels_have_their_published_u_values() {
        let catalogue = Catalogue::embedded();
        for (name, published) in [
            ("glass-4", 5.8),
            ("double-glass", 2.9),
            ("polycarbonate-twin-6", 3.55),
        ] {
            let entry = catalogue.get(Kind::Panel, name).expect("listed");
            let section = entry.section(&mut Vec::new()).expect("reads");
            let resistance: f64 = section
                .list("layer")
                .iter()
                .map(|l| {
                    l.number("thickness").expect("given") / l.number("conductivity").expect("given")
                })
                .sum();
            let u = 1.0 / (0.13 + 0.04 + resistance);
            assert!((u - published).abs() < 0.1, "{name}: {u}");
        }
    }

    #[test]
    fn a_folder_adds_and_replaces_and_reports_all_that_is_wrong() {
        let folder = tempfile::tempdir().expect("temp dir");
        let panels = folder.path().join("panels");
        std::fs::create_dir(&panels).expect("mkdir");
        let good = "title = \"Cork, 10 mm\"\n[[layer]]\nmaterial = \"cork\"\nthickness = \"10 mm\"\n\
            conductivity = \"0.045 W/(m K)\"\ndensity = \"120 kg/m3\"\nheat_capacity = \"1800 J/(kg K)\"\n";
        std::fs::write(panels.join("cork-10.toml"), good).expect("write");
        std::fs::write(panels.join("glass-4.toml"), good).expect("write");
        let catalogue = Catalogue::with_folder(folder.path()).expect("valid");
        assert_eq!(
            catalogue
                .get(Kind::Panel, "Cork-10")
                .expect("added")
                .title(),
            "Cork, 10 mm"
        );
        assert_eq!(
            catalogue
                .get(Kind::Panel, "glass-4")
                .expect("replaced")
                .title(),
            "Cork, 10 mm"
        );
        assert!(
            catalogue
                .suggestion(Kind::Panel, "corc-10")
                .contains("did you mean \"cork-10\"")
        );

        std::fs::write(
            panels.join("bad.toml"),
            good.replace("10 mm\"\ncond", "0 mm\"\ncond"),
        )
        .expect("write");
        std::fs::write(panels.join("worse.toml"), "title = \"x\"\n").expect("write");
        let problems = Catalogue::with_folder(folder.path()).expect_err("invalid");
        let text = problems.to_string();
        assert!(text.contains("bad.toml:4:13"), "{text}");
        assert!(text.contains("[[layer]] is missing"), "{text}");
    }

    #[test]
    fn a_folder_that_is_none_is_an_error() {
        let folder = tempfile::tempdir().expect("temp dir");
        assert!(Catalogue::with_folder(&folder.path().join("nowhere")).is_err());
        std::fs::write(folder.path().join("mine.toml"), "title = \"x\"\n").expect("write");
        assert!(Catalogue::with_folder(folder.path()).is_err());
    }

    /// What copying from another system and editing leave behind once stopped every command.
    #[test]
    fn empty_folders_and_hidden_or_empty_files_stop_nothing() {
        let folder = tempfile::tempdir().expect("temp dir");
        let notes = |folder: &Path| {
            let catalogue = Catalogue::with_folder(folder).expect("nothing wrong");
            catalogue.notes().to_vec()
        };
        assert_eq!(notes(folder.path()), []);
        let machines = folder.path().join("machines");
        std::fs::create_dir(&machines).expect("mkdir");
        assert_eq!(notes(folder.path()), []);
        for hidden in ["._x.toml", ".#x.toml", "x.toml~", ".x.toml.swp"] {
            std::fs::write(machines.join(hidden), [0xFF, 0x00, 0xFE]).expect("write");
        }
        assert_eq!(notes(folder.path()), []);
        std::fs::write(machines.join("x.toml"), " \n").expect("write");
        let told = notes(folder.path());
        assert_eq!(told.len(), 1);
        assert!(told[0].message.contains("empty") && told[0].file.ends_with("x.toml"));
        assert!(!told[0].is_error());
    }
}
