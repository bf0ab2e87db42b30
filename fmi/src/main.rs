//! `dogdays-fmu RUN.toml OUT.fmu`: a run as a co-simulation unit by FMI 3.0.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn made(run: &Path, out: &Path) -> Result<(), String> {
    let program = std::env::current_exe().map_err(|e| e.to_string())?;
    let folder = program.parent().unwrap_or_else(|| Path::new("."));
    let bytes = dogdays_fmu::packing::packed(run, folder)?;
    // Whole, then renamed: nothing half-written is left.
    let mut half = out.as_os_str().to_owned();
    half.push(".part");
    let half = PathBuf::from(half);
    let written = std::fs::write(&half, bytes).and_then(|()| std::fs::rename(&half, out));
    written.map_err(|e| {
        let _ = std::fs::remove_file(&half);
        format!("cannot write {}: {e}", out.display())
    })
}

fn main() -> ExitCode {
    let arguments: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let [run, out] = arguments.as_slice() else {
        eprintln!("usage: dogdays-fmu RUN.toml OUT.fmu");
        return ExitCode::from(2);
    };
    if out.extension().is_none_or(|e| e != "fmu") {
        eprintln!(
            "error: the file to write must end in .fmu, not {}",
            out.display()
        );
        return ExitCode::from(2);
    }
    match made(run, out) {
        Ok(()) => {
            eprintln!("wrote {}", out.display());
            ExitCode::SUCCESS
        }
        Err(e) => {
            eprintln!("error: {e}");
            ExitCode::from(2)
        }
    }
}
