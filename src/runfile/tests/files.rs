//! Files that can't be read, and the way from a path to a run.

use super::{GOOD, says};
use crate::runfile::load;
use std::path::Path;

fn refused(path: &Path, words: &[&str]) -> crate::keys::Problem {
    let problems = load(path, None).expect_err("refused");
    assert_eq!(problems.as_slice().len(), 1, "{problems}");
    says(&problems.as_slice()[0], words);
    assert!(
        problems.as_slice()[0]
            .file
            .contains(&*path.file_name().expect("name").to_string_lossy())
    );
    problems.as_slice()[0].clone()
}

#[test]
fn a_file_is_loaded_with_its_weather_beside_it() {
    let loaded = load(
        Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/run.toml")),
        None,
    );
    assert_eq!(loaded.expect("valid").run, crate::runfile::demo().run);
}

#[test]
fn files_that_cannot_be_read_say_why() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = |name: &str| folder.path().join(name);
    std::fs::write(path("pump.toml"), GOOD).expect("write");
    refused(
        &path("pimp.toml"),
        &["no such file", "did you mean", "pump.toml"],
    );
    std::fs::create_dir(path("sub.toml")).expect("mkdir");
    refused(&path("sub.toml"), &["this is a folder"]);
    refused(
        &path("nowhere").join("run.toml"),
        &["no such file", "no folder"],
    );

    std::fs::write(path("latin.toml"), b"[run]\nname = \"Pr\xfcfst\xfcck\"\n").expect("write");
    let problem = refused(
        &path("latin.toml"),
        &["not UTF-8", "byte 16", "line 2", "save it"],
    );
    assert_eq!((problem.line, problem.column), (Some(2), Some(11)));
    assert!(problem.render(false).contains("latin.toml:2:11"));

    std::fs::write(path("utf16.toml"), b"\xFF\xFE[\x00r").expect("write");
    refused(&path("utf16.toml"), &["UTF-16", "save it"]);
    std::fs::write(path("empty.toml"), "").expect("write");
    refused(&path("empty.toml"), &["empty"]);
}

#[test]
fn byte_order_mark_and_windows_line_ends_are_no_mistake() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = folder.path().join("run.toml");
    std::fs::write(&path, format!("\u{feff}{}", GOOD.replace('\n', "\r\n"))).expect("write");
    assert_eq!(load(&path, None).expect("valid").run, super::run(GOOD).run);
}

#[test]
fn utf_16_is_read_in_either_order() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = folder.path().join("run.toml");
    let units = || std::iter::once(0xFEFF).chain(GOOD.encode_utf16());
    let little: Vec<u8> = units().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = units().flat_map(u16::to_be_bytes).collect();
    for bytes in [little, big] {
        std::fs::write(&path, bytes).expect("write");
        assert_eq!(load(&path, None).expect("valid").run, super::run(GOOD).run);
    }
}

/// An empty file in the folder is told with the run, and stops nothing.
#[test]
fn what_was_left_out_of_a_models_folder_is_told() {
    let folder = tempfile::tempdir().expect("temp dir");
    let fans = folder.path().join("fans");
    std::fs::create_dir(&fans).expect("mkdir");
    std::fs::write(fans.join("later.toml"), "").expect("write");
    std::fs::write(fans.join("._later.toml"), [0xFF, 0x05]).expect("write");
    let path = folder.path().join("run.toml");
    std::fs::write(&path, GOOD).expect("write");
    let loaded = load(&path, Some(folder.path())).expect("valid");
    assert_eq!(loaded.warnings.len(), 1);
    assert!(loaded.warnings[0].file.ends_with("later.toml"));
}

#[test]
fn a_models_folder_supplies_machines_of_ones_own() {
    let folder = tempfile::tempdir().expect("temp dir");
    let machines = folder.path().join("machines");
    std::fs::create_dir(&machines).expect("mkdir");
    let own =
        include_str!("../../../models/machines/bench-220.toml").replace("\"560 mm\"", "\"570 mm\"");
    std::fs::write(machines.join("ours.toml"), &own).expect("write");
    let path = folder.path().join("run.toml");
    std::fs::write(&path, GOOD.replace("bench-220", "ours")).expect("write");
    let loaded = load(&path, Some(folder.path())).expect("valid");
    assert!((loaded.run.machine.width_m - 0.57).abs() < 1e-12);

    std::fs::write(
        machines.join("ours.toml"),
        own.replace("height = \"700 mm\"", "hight = \"700 mm\""),
    )
    .expect("write");
    let problems = load(&path, Some(folder.path()))
        .expect_err("refused")
        .to_string();
    assert!(
        problems.contains("ours.toml:10:1") && problems.contains("did you mean `height`"),
        "{problems}"
    );
}
