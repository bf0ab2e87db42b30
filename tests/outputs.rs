//! What the command line promises about the files it writes: none of the user's is lost.
#![cfg(feature = "cli")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// A short run that reads every kind of file: weather, a job's table, a fan's curve.
const RUN: &str = "run = { start = \"2026-07-13 07:00\", duration = \"2 h\" }
machine.name = \"mine\"
material.name = \"petg\"
part.mass = \"20 g\"
room.series = \"weather.csv\"
job.profile = \"job.csv\"
";
const JOB: &str = "elapsed_h,feed_g_per_h\n0,10\n2,10\n";
const FAN: &str = "flow_m3_per_h,pressure_Pa\n0,80\n60,40\n120,0\n";

struct Shop {
    folder: tempfile::TempDir,
}

impl Shop {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let shop = Self { folder };
        shop.put("run.toml", RUN);
        let hours = (0..24).map(|h| format!("2026-07-13 {h:02}:00,24\n"));
        let weather = "time,temperature_degC\n".to_owned() + &hours.collect::<String>();
        shop.put("weather.csv", &weather);
        shop.put("job.csv", JOB);
        shop.put("fan.csv", FAN);
        fs::create_dir_all(shop.path("models/machines")).expect("made");
        let machine = shop.run(&["catalogue", "bench-60", "--file"]);
        shop.put(
            "models/machines/mine.toml",
            &String::from_utf8_lossy(&machine.stdout),
        );
        shop
    }

    fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).expect("written");
    }

    fn text(&self, name: &str) -> String {
        String::from_utf8_lossy(&fs::read(self.path(name)).expect("there")).into_owned()
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dogdays"));
        command
            .args(arguments)
            .current_dir(self.folder.path())
            .env("XDG_DATA_HOME", "/nonexistent")
            .stdin(Stdio::null());
        command
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().expect("starts")
    }

    fn check(&self, more: &[&str]) -> Output {
        self.run(&[&["check", "run.toml", "--models", "models"], more].concat())
    }

    /// Nothing that was begun and not ended.
    fn has_no_temporary_file(&self) {
        for file in fs::read_dir(self.folder.path())
            .expect("readable")
            .flatten()
        {
            let name = file.file_name();
            assert!(!name.to_string_lossy().starts_with(".dogdays"), "{name:?}");
        }
    }
}

fn err(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[track_caller]
fn refused(output: &Output, says: &str) {
    assert_eq!(output.status.code(), Some(2), "{}", err(output));
    assert!(output.stdout.is_empty(), "nothing is computed");
    assert!(err(output).contains(says), "{says}: {}", err(output));
}

#[track_caller]
fn done(output: &Output) {
    let code = output.status.code().expect("ended by itself");
    assert!([0, 10, 20].contains(&code), "{code}: {}", err(output));
}

#[test]
fn what_a_run_is_read_from_is_never_replaced_by_whatever_name() {
    let shop = Shop::new();
    let inputs = [
        "run.toml",
        "weather.csv",
        "job.csv",
        "models/machines/mine.toml",
    ];
    fs::create_dir(shop.path("sub")).expect("made");
    for input in inputs {
        let before = shop.text(input);
        let absolute = shop.path(input);
        let roundabout = format!("sub/../{input}");
        let mut names = vec![input, absolute.to_str().expect("UTF-8"), &roundabout];
        #[cfg(unix)]
        {
            let _ = fs::remove_file(shop.path("soft.csv"));
            let _ = fs::remove_file(shop.path("hard.csv"));
            std::os::unix::fs::symlink(&absolute, shop.path("soft.csv")).expect("linked");
            fs::hard_link(&absolute, shop.path("hard.csv")).expect("linked");
            names.extend(["soft.csv", "hard.csv"]);
        }
        for name in names {
            for option in ["--csv", "--export-network"] {
                refused(&shop.check(&[option, name]), "this run is read from");
                refused(
                    &shop.check(&[option, name, "--force"]),
                    "this run is read from",
                );
            }
            assert_eq!(shop.text(input), before, "{name}");
        }
    }
    let fan = [
        "size-fan", "run.toml", "--models", "models", "--fan", "fan.csv",
    ];
    let onto = |name| [&fan[..], &["--csv", name, "--force"]].concat();
    refused(&shop.run(&onto("fan.csv")), "this run is read from");
    refused(&shop.run(&onto("weather.csv")), "this run is read from");
    let compare = [
        "compare", "run.toml", "--models", "models", "--csv", "job.csv",
    ];
    refused(&shop.run(&compare), "this run is read from");
    let schema = "models/machines/mine.toml";
    let new = ["new", "--schema", "--models", "models", "--force", schema];
    refused(&shop.run(&new), "this run is read from");
    assert_eq!(shop.text("fan.csv"), FAN);
}

#[test]
fn yesterdays_output_is_replaced_and_a_file_of_someone_elses_is_not() {
    let shop = Shop::new();
    let writers: [&[&str]; 4] = [
        &["--csv", "out.csv"],
        &["--export-network", "out.json"],
        &["--plot", "out.svg"],
        &["--plot", "out.png"],
    ];
    for more in writers {
        done(&shop.check(more));
        let first = shop.text(more[1]);
        done(&shop.check(more));
        assert_eq!(shop.text(more[1]), first, "{more:?}");
        shop.put(more[1], "mine");
        refused(&shop.check(more), "--force");
        assert_eq!(shop.text(more[1]), "mine");
        done(&shop.check(&[more, &["--force"]].concat()));
        assert_eq!(shop.text(more[1]), first);
        shop.put(more[1], "");
        done(&shop.check(more));
        assert_eq!(shop.text(more[1]), first);
    }
    // Ours, but of another kind: nobody means that.
    refused(&shop.check(&["--csv", "out.svg"]), "--force");
    refused(&shop.check(&["--export-network", "out.csv"]), "--force");
    for study in ["compare", "size-fan"] {
        let files = [format!("{study}.csv"), format!("{study}.svg")];
        let arguments = [
            study, "run.toml", "--models", "models", "--csv", &files[0], "--plot", &files[1],
        ];
        for _ in 0..2 {
            let output = shop.run(&arguments);
            assert_ne!(output.status.code(), Some(2), "{}", err(&output));
            assert!(!shop.text(&files[0]).is_empty());
        }
    }
}

#[test]
fn two_outputs_onto_one_path_are_an_error_before_anything_is_computed() {
    let shop = Shop::new();
    for other in ["out.svg", "./out.svg", "models/../out.svg"] {
        refused(
            &shop.check(&["--csv", "out.svg", "--plot", other]),
            "--csv is written there too",
        );
        assert!(!shop.path("out.svg").exists());
    }
    let log = fs::File::create(shop.path("out.csv")).expect("made");
    let output = shop
        .command(&[
            "check", "run.toml", "--models", "models", "--csv", "out.csv",
        ])
        .stdout(log)
        .output()
        .expect("starts");
    if cfg!(unix) {
        refused(&output, "what the program says is sent to this file too");
    }
}

#[test]
fn what_cannot_be_written_is_said_before_anything_is_computed() {
    let shop = Shop::new();
    refused(&shop.check(&["--csv", "models"]), "it is a folder");
    refused(
        &shop.check(&["--csv", "nowhere/out.csv"]),
        "there is no folder",
    );
    refused(&shop.check(&["--csv", "run.toml/out.csv"]), "cannot write");
}

#[test]
fn rows_closer_than_a_second_are_refused() {
    let shop = Shop::new();
    for every in ["1e-300 s", "0.5 s", "0 s", "-1 s", "nan s"] {
        let output = shop.check(&["--csv", "out.csv", &format!("--every={every}")]);
        refused(&output, "--every");
        assert!(!shop.path("out.csv").exists(), "{every}");
    }
    done(&shop.check(&["--csv", "out.csv", "--every", "1 s"]));
    // Two hours, both ends, and the header.
    assert_eq!(shop.text("out.csv").lines().count(), 7_202);
    done(&shop.check(&["--csv", "out.csv", "--every", "1e300 h"]));
    assert_eq!(shop.text("out.csv").lines().count(), 3);
}

#[cfg(unix)]
mod unix {
    use super::*;
    use std::io::Read;
    use std::os::unix::fs::{FileTypeExt, MetadataExt, PermissionsExt, symlink};
    use std::os::unix::net::UnixListener;
    use std::os::unix::process::ExitStatusExt;
    use std::time::{Duration, Instant};

    const HEADER: &str = "time,elapsed_h,filament_spool_degC";

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).expect("there").permissions().mode() & 0o7777
    }

    #[test]
    fn links_stay_and_their_targets_are_replaced() {
        let shop = Shop::new();
        fs::create_dir(shop.path("archive")).expect("made");
        symlink("archive/real.csv", shop.path("link.csv")).expect("linked");
        symlink("link.csv", shop.path("second.csv")).expect("linked");
        for _ in 0..2 {
            done(&shop.check(&["--csv", "second.csv"]));
            assert!(shop.text("archive/real.csv").starts_with(HEADER));
            for link in ["link.csv", "second.csv"] {
                assert!(shop.path(link).is_symlink(), "{link}");
            }
        }
        symlink("round.csv", shop.path("round.csv")).expect("linked");
        refused(&shop.check(&["--csv", "round.csv"]), "link");
    }

    #[test]
    fn an_existing_files_mode_stays_and_a_new_one_is_as_usual() {
        let shop = Shop::new();
        shop.put("secret.csv", "");
        for wanted in [0o600, 0o664, 0o666] {
            let permissions = fs::Permissions::from_mode(wanted);
            fs::set_permissions(shop.path("secret.csv"), permissions).expect("set");
            done(&shop.check(&["--csv", "secret.csv"]));
            assert_eq!(mode(&shop.path("secret.csv")), wanted);
        }
        let protected = fs::Permissions::from_mode(0o444);
        fs::set_permissions(shop.path("secret.csv"), protected).expect("set");
        refused(&shop.check(&["--csv", "secret.csv"]), "write-protected");
        done(&shop.check(&["--csv", "new.csv"]));
        assert_eq!(mode(&shop.path("new.csv")), mode(&shop.path("run.toml")));
    }

    #[test]
    fn pipes_and_sockets_are_written_into() {
        let shop = Shop::new();
        let made = Command::new("mkfifo").arg(shop.path("pipe")).status();
        assert!(made.expect("mkfifo is there").success());
        let listener = UnixListener::bind(shop.path("socket")).expect("bound");
        listener.set_nonblocking(true).expect("set");
        // Open for both, so that nothing waits for anybody; the table is shorter than a pipe is deep.
        let both = fs::OpenOptions::new()
            .read(true)
            .write(true)
            .open(shop.path("pipe"));
        let mut pipe = both.expect("opens");
        for name in ["pipe", "socket"] {
            done(&shop.check(&["--csv", name]));
            let mut bytes = vec![0; 65_536];
            let count = if name == "pipe" {
                pipe.read(&mut bytes)
            } else {
                listener.accept().expect("connected").0.read(&mut bytes)
            };
            let text = String::from_utf8_lossy(&bytes[..count.expect("read")]);
            assert!(text.starts_with(HEADER) && text.ends_with("\r\n"), "{name}");
            let kind = fs::symlink_metadata(shop.path(name))
                .expect("there")
                .file_type();
            assert!(kind.is_fifo() || kind.is_socket(), "{name} is still one");
        }
        drop(pipe);
        // A reader that goes away early is no error.
        let reader = Command::new("head")
            .arg("-c1")
            .arg(shop.path("pipe"))
            .stdout(Stdio::null())
            .spawn();
        done(&shop.check(&["--csv", "pipe", "--every", "1 s"]));
        assert!(
            reader
                .expect("head is there")
                .wait()
                .expect("ends")
                .success()
        );
        let taken = shop.check(&["--csv", "pipe", "--export-network", "pipe"]);
        refused(&taken, "--csv is written there too");
    }

    #[test]
    fn standard_output_takes_a_table_but_not_beside_json() {
        let shop = Shop::new();
        let output = shop.check(&["--csv", "/dev/stdout", "--quiet"]);
        done(&output);
        let text = String::from_utf8_lossy(&output.stdout);
        assert!(text.starts_with(HEADER), "{text}");
        refused(&shop.check(&["--csv", "/dev/stdout", "--json"]), "--json");
    }

    /// On nodes made for the test; where none may be made, on the system's own as long as that can't harm.
    #[test]
    fn devices_are_written_into_and_stay() {
        let shop = Shop::new();
        let device = |name: &str, numbers: [&str; 3]| {
            let made = Command::new("mknod")
                .arg(shop.path(name))
                .args(numbers)
                .stderr(Stdio::null())
                .status();
            // Some places let nodes be made and not be opened.
            made.is_ok_and(|status| status.success())
                && (numbers[0] == "b" || fs::write(shop.path(name), "x").is_ok())
        };
        if !device("null", ["c", "1", "3"]) {
            eprintln!("skipped: no device may be made here");
            return;
        }
        let before = fs::metadata(shop.path("null")).expect("there");
        done(&shop.check(&["--csv", "null", "--plot", "null.svg"]));
        // Any number of outputs may go there.
        done(&shop.check(&["--csv", "null", "--export-network", "null"]));
        let after = fs::symlink_metadata(shop.path("null")).expect("there");
        assert!(after.file_type().is_char_device());
        assert_eq!(
            (after.rdev(), after.ino(), after.mode()),
            (before.rdev(), before.ino(), before.mode())
        );
        // A disk is not written over by a slip; this one has no driver.
        if device("disk", ["b", "240", "0"]) {
            refused(&shop.check(&["--csv", "disk"]), "it is a disk");
        }
    }

    #[test]
    fn an_ended_program_leaves_no_temporary_file() {
        for (signal, number) in [("INT", 2), ("TERM", 15), ("HUP", 1)] {
            let shop = Shop::new();
            let earlier = "time,elapsed_h,filament_spool_degC\r\nyesterday's\r\n";
            shop.put("out.csv", earlier);
            let long = RUN
                .replace("2 h", "60 day")
                .replace("job.profile", "# job.profile")
                .replace(
                    "room.series = \"weather.csv\"",
                    "room.temperature = \"24 degC\"",
                );
            shop.put("run.toml", &long);
            let arguments = [
                "check", "run.toml", "--models", "models", "--csv", "out.csv", "--every", "1 s",
            ];
            let mut child = shop
                .command(&arguments)
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .expect("starts");
            // The signal comes in the midst of writing millions of rows: once the temporary file has grown.
            let begin = Instant::now();
            let is_writing = || {
                fs::read_dir(shop.folder.path())
                    .expect("readable")
                    .flatten()
                    .any(|file| {
                        file.file_name().to_string_lossy().starts_with(".dogdays")
                            && file.metadata().is_ok_and(|m| m.len() > 100_000)
                    })
            };
            while !is_writing() {
                assert!(begin.elapsed() < Duration::from_secs(120), "never written");
                assert_eq!(child.try_wait().expect("asked"), None, "ended too soon");
                std::thread::sleep(Duration::from_millis(2));
            }
            let id = child.id().to_string();
            let sent = Command::new("kill").args(["-s", signal, &id]).status();
            assert!(sent.expect("kill is there").success());
            // What a shell shows as 130, 143 and 129.
            assert_eq!(child.wait().expect("ends").signal(), Some(number));
            shop.has_no_temporary_file();
            assert_eq!(shop.text("out.csv"), earlier, "the old file is untouched");
        }
    }
}
