//! The live page, asked as a browser asks it: the real program as a child, over plain TCP.
#![cfg(feature = "cli")]

use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// The program with its page; ended when dropped.
struct Page {
    child: Child,
    address: String,
    /// With the token, from slash to slash.
    path: String,
}

impl Drop for Page {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

struct Answer {
    status: u16,
    head: String,
    body: String,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }

    fn message(&self) -> String {
        self.json()["error"]["message"]
            .as_str()
            .expect("a message")
            .to_owned()
    }
}

impl Page {
    fn begin(folder: &Path, arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_dogdays"))
            .arg("page")
            .args(arguments)
            .current_dir(folder)
            .env_remove("XDG_DATA_HOME")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("starts");
        let mut line = String::new();
        let mut out = BufReader::new(child.stdout.take().expect("piped"));
        out.read_line(&mut line).expect("prints its address");
        let rest = line.trim().strip_prefix("http://").expect("an address");
        let (address, path) = rest.split_once('/').expect("a token");
        Self {
            child,
            address: address.to_owned(),
            path: format!("/{path}"),
        }
    }

    /// One request on a connection of its own, byte for byte.
    fn raw(&self, request: &str) -> Answer {
        let mut stream = TcpStream::connect(&self.address).expect("listens");
        stream
            .set_read_timeout(Some(Duration::from_secs(120)))
            .unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut text = String::new();
        stream.read_to_string(&mut text).expect("UTF-8");
        let (head, body) = text.split_once("\r\n\r\n").expect("a head");
        let status = head
            .split(' ')
            .nth(1)
            .and_then(|s| s.parse().ok())
            .expect("a status");
        Answer {
            status,
            head: head.to_lowercase(),
            body: body.to_owned(),
        }
    }

    fn get(&self, path: &str, headers: &[(&str, &str)]) -> Answer {
        self.request("GET", path, headers, "")
    }

    fn request(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        if !headers.iter().any(|(name, _)| *name == "Host") {
            head.push_str(&format!("Host: {}\r\n", self.address));
        }
        for (name, value) in headers {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
        self.raw(&format!(
            "{head}Content-Length: {}\r\n\r\n{body}",
            body.len()
        ))
    }

    fn ask(&self, what: &str, question: &Value) -> Answer {
        let path = format!("{}api/{what}", self.path);
        let json = [("Content-Type", "application/json")];
        self.request("POST", &path, &json, &question.to_string())
    }
}

fn demo_folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for name in ["run.toml", "weather.csv"] {
        std::fs::copy(Path::new("demo-data").join(name), folder.path().join(name)).unwrap();
    }
    folder
}

/// What the program says of a file on the command line, as JSON.
fn check(folder: &Path, file: &str) -> Value {
    let out = Command::new(env!("CARGO_BIN_EXE_dogdays"))
        .args(["check", file, "--json", "--no-band"])
        .current_dir(folder)
        .output()
        .unwrap();
    let mut value: Value = serde_json::from_slice(&out.stdout)
        .unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)));
    let object = value.as_object_mut().unwrap();
    object.remove("remedies");
    object.remove("guessed");
    value
}

/// Values that turn nearly everything at once.
fn turned() -> Value {
    json!({
        "arrangement.kind": "extracting", "arrangement.flow": 27.5, "room.shift": 1.5, "job.bed": 57,
        "machine.feeder.heat_sink": 0.08, "run.start": "2026-07-13 19:30", "machine.spool": "chamber top",
        "job.spool_change.number": 2, "job.spool_change.door": "open", "job.spool_change.duration": 6,
        "sun": "on", "sun.irradiance": 300, "material.name": "petg",
    })
}

#[test]
fn the_page_says_the_answer_and_loads_only_its_own() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    let answer = page.get(&page.path, &[]);
    assert_eq!(answer.status, 200);
    assert!(
        answer.body.contains("softens")
            && answer.body.contains("Pump housing for Orvelsby waterworks")
    );
    for header in [
        "content-security-policy: default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
        "x-content-type-options: nosniff",
        "referrer-policy: no-referrer",
        "cache-control: no-store",
    ] {
        assert!(answer.head.contains(header), "{header}\n{}", answer.head);
    }
    // What the policy would block.
    assert!(
        !answer.body.contains(" style=\"")
            && !answer.body.contains(" onclick")
            && !answer.body.contains("<style")
    );
    let linked: Vec<&str> = answer
        .body
        .split('"')
        .filter(|s| s.starts_with("a/"))
        .collect();
    assert!(linked.len() >= 6, "{linked:?}");
    for name in linked {
        let asset = page.get(&format!("{}{name}", page.path), &[]);
        assert_eq!(asset.status, 200, "{name}");
        assert!(asset.head.contains("immutable"), "{}", asset.head);
    }
}

#[test]
fn others_are_refused() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    let port = page.address.rsplit_once(':').unwrap().1;
    assert_eq!(page.get("/", &[]).status, 404);
    assert_eq!(page.get("/api/look", &[]).status, 404);
    let wrong = format!("/{}/", "A".repeat(32));
    assert_eq!(page.get(&wrong, &[]).status, 404);
    let foreign = format!("evil.example:{port}");
    assert_eq!(page.get(&page.path, &[("Host", &foreign)]).status, 403);
    assert_eq!(
        page.get(&page.path, &[("Origin", "http://evil.example")])
            .status,
        403
    );
    assert_eq!(page.get(&page.path, &[("Origin", "null")]).status, 403);
    let look = format!("{}api/look", page.path);
    let site = [("Sec-Fetch-Site", "cross-site")];
    assert_eq!(page.request("POST", &look, &site, "{}").status, 403);
    let own = format!("http://{}", page.address);
    assert_eq!(
        page.request("POST", &look, &[("Origin", &own)], "{}")
            .status,
        200
    );
    // Nothing but the right way of asking.
    assert_eq!(page.get(&look, &[]).status, 405);
    assert_eq!(
        page.get(&format!("{}../../etc/passwd", page.path), &[])
            .status,
        404
    );
    let huge = format!("{{\"file\":\"{}\"}}", "a".repeat(200_000));
    assert_eq!(page.request("POST", &look, &[], &huge).status, 413);
}

/// Both go through the reader of run files and the same study: every number is the same, to the last digit.
#[test]
fn what_is_saved_checks_to_the_numbers_of_the_page() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    for (name, values) in [("as-it-is.toml", json!({})), ("turned.toml", turned())] {
        let looked = page
            .ask("look", &json!({ "values": values, "check": true, "n": 7 }))
            .json();
        assert_eq!(looked["n"], 7);
        let saved = page.ask("save", &json!({ "values": values, "file": name }));
        assert_eq!(saved.status, 200, "{}", saved.body);
        assert_eq!(saved.json()["saved"], name);
        assert_eq!(check(folder.path(), name), looked["check"], "{name}");
    }
    let before = std::fs::read_to_string("demo-data/run.toml").unwrap();
    let after = std::fs::read_to_string(folder.path().join("turned.toml")).unwrap();
    // What nobody turned stands as it stood, comments too.
    for line in before
        .lines()
        .filter(|line| line.starts_with('#') || line.contains("mass ="))
    {
        assert!(after.contains(line), "{line}\n{after}");
    }
}

#[test]
fn the_demo_is_saved_with_its_weather() {
    let folder = tempfile::tempdir().unwrap();
    let page = Page::begin(folder.path(), &[]);
    let values = json!({ "job.bed": 50 });
    let looked = page
        .ask("look", &json!({ "values": values, "check": true }))
        .json();
    let saved = page.ask("save", &json!({ "values": values, "file": "mine.toml" }));
    assert_eq!(saved.status, 200, "{}", saved.body);
    assert_eq!(check(folder.path(), "mine.toml"), looked["check"]);
    assert!(folder.path().join("mine-weather.csv").is_file());
}

#[test]
fn only_plain_new_names_beside_the_run_file_are_saved() {
    let folder = demo_folder();
    let outside = tempfile::tempdir().unwrap();
    let page = Page::begin(folder.path(), &["run.toml"]);
    let save =
        |name: &str, replace: bool| page.ask("save", &json!({ "file": name, "replace": replace }));
    let count = || std::fs::read_dir(folder.path()).unwrap().count();
    let there = count();
    for name in [
        "../x.toml",
        "/etc/x.toml",
        "a\\b.toml",
        ".hidden.toml",
        "con.toml",
        "x.toml/../../y.toml",
        "x.csv",
        "",
    ] {
        for replace in [false, true] {
            let refused = save(name, replace);
            assert_eq!(refused.status, 422, "{name}: {}", refused.body);
        }
    }
    // The run's own file stays, whatever is asked.
    assert_eq!(save("run.toml", true).status, 422);
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(
            outside.path().join("y.toml"),
            folder.path().join("link.toml"),
        )
        .unwrap();
        for replace in [false, true] {
            assert_eq!(save("link.toml", replace).status, 422);
        }
        std::fs::remove_file(folder.path().join("link.toml")).unwrap();
    }
    assert_eq!(count(), there);
    assert_eq!(std::fs::read_dir(outside.path()).unwrap().count(), 0);
    std::fs::write(folder.path().join("there.toml"), "precious").unwrap();
    let refused = save("there.toml", false);
    assert_eq!(refused.status, 409);
    assert!(refused.message().contains("replace it"), "{}", refused.body);
    assert_eq!(
        std::fs::read_to_string(folder.path().join("there.toml")).unwrap(),
        "precious"
    );
    assert_eq!(save("there.toml", true).status, 200);
}

#[test]
fn bad_values_are_refused_in_words() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    let refused = |body: &str| page.request("POST", &format!("{}api/look", page.path), &[], body);
    for body in [
        "",
        "[]",
        "{\"values\":{\"job.bed\":NaN}}",
        "{\"values\":{\"job.bed\":1e999}}",
        "{\"vlues\":{}}",
    ] {
        let answer = refused(body);
        assert_eq!(answer.status, 400, "{body}: {}", answer.body);
        assert!(
            answer.message().contains("can't be read"),
            "{}",
            answer.body
        );
    }
    for (values, word) in [
        (json!({ "job.bed": 900 }), "between 0 degC and 250 degC"),
        (json!({ "job.bd": 60 }), "did you mean `job.bed`"),
        (json!({ "part.mass": "1 kg" }), "no control"),
        (json!({ "job.bed": "60" }), "has no unit"),
        (json!({ "material.name": "cheese" }), "cheese"),
        (json!({ "arrangement.kind": 3 }), "takes a word"),
        (json!({ "arrangement.kind": "ajar" }), "ajar"),
        (json!({ "run.start": "2031-01-01 07:00" }), "weather"),
        (
            json!({ "job.bed": "60 degC\"\n[part]\nmass = \"9 kg" }),
            "job.bed",
        ),
    ] {
        let answer = page.ask("look", &json!({ "values": values }));
        assert_eq!(answer.status, 422, "{values}: {}", answer.body);
        assert!(answer.message().contains(word), "{values}: {}", answer.body);
    }
}

/// Names that act wherever they are taken for more than text.
#[test]
fn hostile_names_come_out_as_text() {
    let long = "n".repeat(300);
    for name in [
        "<script>alert(1)</script>",
        "a & b",
        "'\"><img src=x onerror=alert(1)>",
        "\u{202e}txt.exe",
        "部品 🔥",
        &long,
    ] {
        let folder = demo_folder();
        let text = std::fs::read_to_string(folder.path().join("run.toml")).unwrap();
        let quoted = name.replace('\\', "\\\\").replace('"', "\\\"");
        let text = text.replace("Pump housing for Orvelsby waterworks", &quoted);
        std::fs::write(folder.path().join("run.toml"), text).unwrap();
        let page = Page::begin(folder.path(), &["run.toml"]);
        let html = page.get(&page.path, &[]).body;
        let look = page.ask("look", &json!({})).body;
        for body in [&html, &look] {
            assert!(
                !body.contains("<script>alert") && !body.contains("<img"),
                "{name}"
            );
            assert!(!body.contains('\u{202e}'), "{name}");
        }
        if name.contains('&') {
            assert!(html.contains("a &amp; b"), "{name}");
        } else if !name.contains(['<', '\u{202e}']) {
            assert!(html.contains(name), "{name}");
        }
    }
}

#[test]
fn two_ask_at_once_and_get_their_own() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    std::thread::scope(|scope| {
        for bed in [45, 70] {
            let page = &page;
            scope.spawn(move || {
                let mut margins = Vec::new();
                for n in 0..4 {
                    let answer = page
                        .ask("look", &json!({ "n": n, "values": { "job.bed": bed } }))
                        .json();
                    let knobs = answer["controls"].as_array().unwrap().clone();
                    let knob = knobs.into_iter().find(|c| c["key"] == "job.bed").unwrap();
                    assert_eq!(knob["value"], f64::from(bed));
                    margins.push(answer["margin_K"].as_f64().unwrap());
                }
                assert!(margins.windows(2).all(|m| m[0] == m[1]), "{margins:?}");
            });
        }
    });
}

/// More than 2 K between a bed of 45 °C and one of 70 °C: the bed is what warms the chamber.
#[test]
fn turning_the_bed_down_helps() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    let margin = |bed: i32| {
        page.ask("look", &json!({ "values": { "job.bed": bed } }))
            .json()["margin_K"]
            .as_f64()
            .unwrap()
    };
    assert!(margin(45) > margin(70) + 2.0);
}

#[test]
fn a_port_in_use_is_told_in_one_line() {
    let folder = demo_folder();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let out = Command::new(env!("CARGO_BIN_EXE_dogdays"))
        .args(["page", "run.toml", "--port", &port])
        .current_dir(folder.path())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{told}");
    assert!(
        told.contains(&port) && told.contains("--port") && told.trim().lines().count() == 1,
        "{told}"
    );
    assert!(out.stdout.is_empty());
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it_at_once_and_well() {
    let folder = demo_folder();
    let mut page = Page::begin(folder.path(), &["run.toml"]);
    // Somebody has a connection open and says nothing.
    let _idle = TcpStream::connect(&page.address).unwrap();
    let pid = page.child.id().to_string();
    let began = Instant::now();
    assert!(
        Command::new("kill")
            .args(["-INT", &pid])
            .status()
            .unwrap()
            .success()
    );
    let status = page.child.wait().unwrap();
    assert_eq!(status.code(), Some(0));
    assert!(
        began.elapsed() < Duration::from_secs(1),
        "{:?}",
        began.elapsed()
    );
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
}

#[test]
fn other_units_are_those_of_the_controls_too() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml", "--units", "us"]);
    let looked = |values: Value| {
        page.ask("look", &json!({ "values": values, "check": true }))
            .json()
    };
    // 140 °F is 60 °C: the demo's own bed. 9 °F more are 5 K more.
    assert_eq!(
        looked(json!({ "job.bed": 140 }))["check"],
        looked(json!({}))["check"]
    );
    assert_eq!(
        looked(json!({ "room.shift": 9 }))["check"],
        looked(json!({ "room.shift": "5 K" }))["check"]
    );
    assert!(
        looked(json!({}))["html"]["verdict"]
            .as_str()
            .unwrap()
            .contains("°F")
    );
}

#[test]
fn the_report_is_a_page_of_its_own() {
    let folder = demo_folder();
    let page = Page::begin(folder.path(), &["run.toml"]);
    let report = page.ask(
        "report",
        &json!({ "values": { "job.bed": 50, "room.shift": -6 } }),
    );
    assert_eq!(report.status, 200, "{}", report.body);
    assert!(report.body.contains("<!DOCTYPE html>") && report.body.contains("50 degC"));
    assert!(
        report.head.contains("frame-ancestors 'none'")
            && !report.head.contains("script-src 'self'")
    );
    assert_eq!(
        page.get(&format!("{}api/report?ask=x", page.path), &[])
            .status,
        400
    );
}
