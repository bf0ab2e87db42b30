//! Puts a unit's file together: a zip archive with its description, its library and its resources (FMI 3.0,
//! section 2.5).

use crate::instance::Told;
use crate::{IDENTIFIER, RUN_FILE, description, variables};
use dogdays::runfile;
use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Write as _};
use std::path::Path;
use zip::write::SimpleFileOptions;

/// The standard's word for the system that the program was built for, and how its libraries end.
const PLATFORM: Option<(&str, &str)> = if cfg!(all(target_arch = "x86_64", target_os = "linux")) {
    Some(("x86_64-linux", "so"))
} else if cfg!(all(target_arch = "aarch64", target_os = "linux")) {
    Some(("aarch64-linux", "so"))
} else if cfg!(all(target_arch = "x86_64", target_os = "windows")) {
    Some(("x86_64-windows", "dll"))
} else if cfg!(all(target_arch = "x86_64", target_os = "macos")) {
    Some(("x86_64-darwin", "dylib"))
} else if cfg!(all(target_arch = "aarch64", target_os = "macos")) {
    Some(("aarch64-darwin", "dylib"))
} else {
    None
};

/// A unit of a run file; the folder is that of the library.
///
/// # Errors
/// When something can't be read, the run file is wrong, or it names files that lie outside its folder.
pub fn packed(run_file: &Path, folder: &Path) -> Told<Vec<u8>> {
    let (platform, ending) = PLATFORM.ok_or("the standard has no name for this system")?;
    let loaded = runfile::load(run_file, None).map_err(|e| e.to_string())?;
    let chamber = variables::chamber(&loaded.run)?;
    let all = variables::of(&chamber);
    let start_K = chamber.network.given_points()[0].course.at(0.0).0;
    let xml = description::xml(&loaded.run.name, loaded.run.duration_s, start_K, &all);

    let absolute = |path: &Path| {
        path.canonicalize()
            .map_err(|e| format!("cannot read {}: {e}", path.display()))
    };
    let read =
        |path: &Path| fs::read(path).map_err(|e| format!("cannot read {}: {e}", path.display()));
    let run_path = absolute(run_file)?;
    let home = run_path.parent().unwrap_or_else(|| Path::new("/"));
    let mut files = BTreeMap::from([("modelDescription.xml".to_owned(), xml.into_bytes())]);
    let prefix = if cfg!(windows) { "" } else { "lib" };
    let library = folder.join(format!("{prefix}{IDENTIFIER}.{ending}"));
    files.insert(
        format!("binaries/{platform}/{IDENTIFIER}.{ending}"),
        read(&library)?,
    );
    files.insert(format!("resources/{RUN_FILE}"), read(&run_path)?);
    for path in &loaded.files {
        let path = absolute(path)?;
        if path == run_path {
            continue;
        }
        let inside = path.strip_prefix(home).map_err(|_| {
            format!(
                "{} lies outside the run file's folder; put it beside the run file, so that it can go along",
                path.display()
            )
        })?;
        let inside = inside
            .to_str()
            .ok_or("a file's name is no Unicode")?
            .replace('\\', "/");
        if inside == RUN_FILE {
            return Err(format!(
                "a file beside the run file is called {RUN_FILE}; call it otherwise"
            ));
        }
        files.insert(format!("resources/{inside}"), read(&path)?);
    }

    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let told = |e: zip::result::ZipError| e.to_string();
    for (name, bytes) in files {
        archive
            .start_file(name, SimpleFileOptions::default())
            .map_err(told)?;
        archive.write_all(&bytes).map_err(|e| e.to_string())?;
    }
    Ok(archive.finish().map_err(told)?.into_inner())
}
