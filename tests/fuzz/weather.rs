//! Weather files of every kind that a run may name, whole enough to be read before they are changed.

use std::fmt::Write as _;
use std::io::Write as _;

use dogdays::runfile::DEMO_WEATHER;
use fastrand::Rng;
use jiff::civil::date;

use crate::mutate::{self, chance, pick};

/// A file that may be changed: its name, and what it is.
pub struct WeatherFile {
    pub name: &'static str,
    text: String,
}

/// One of each kind.
pub fn files() -> Vec<WeatherFile> {
    let of = |name, text| WeatherFile { name, text };
    vec![
        of("mutated.csv", DEMO_WEATHER.to_owned()),
        of("mutated.epw", epw()),
        of("mutated-tmy3.csv", tmy3()),
        of("mutated.txt", isd_lite()),
    ]
}

impl WeatherFile {
    /// The file changed, perhaps packed, and what the run file says of it.
    pub fn changed(&self, random: &mut Rng) -> (Vec<u8>, String) {
        let text = mutate::csv(random, &self.text);
        let text = if chance(random, 0.2) {
            columns_shifted(random, &text)
        } else {
            text
        };
        let mut bytes = text.into_bytes();
        if chance(random, 0.1) {
            bytes = packed(&bytes);
            if chance(random, 0.5) {
                let at = random.usize(..bytes.len());
                bytes[at] ^= 1 << random.u8(..8);
            }
        }
        let asked = *pick(
            random,
            &[
                "",
                "",
                "fill = \"linear\"",
                "fill = \"warmer\"\nfill_up_to = \"24 h\"",
                "utc_offset = \"+02:00\"",
                "time_zone = \"Europe/Paris\"\nfill = \"linear\"",
            ],
        );
        (bytes, asked.to_owned())
    }
}

/// One blank more or less in some line: columns that are told by their places.
fn columns_shifted(random: &mut Rng, text: &str) -> String {
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let at = random.usize(..lines.len());
    lines[at] = match random.u8(..4) {
        0 => format!(" {}", lines[at]),
        1 => lines[at].replacen(' ', "", 1),
        2 => lines[at].replace("2026", "-999"),
        _ => lines[at].replacen('2', "9", 2),
    };
    lines.join("\n")
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut writer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
    writer.write_all(bytes).expect("packed");
    writer.finish().expect("packed")
}

/// Each hour of a year: month, day, hour from 1 to 24, and some air, °C.
fn each_hour(mut row: impl FnMut(i8, i8, usize, f64)) {
    let mut day = date(2001, 1, 1);
    while day.year() == 2001 {
        for hour in 1..=24 {
            let degC = 15.0 + f64::from(day.month()) - (hour as f64 - 15.0).abs() / 2.0;
            row(day.month(), day.day(), hour, degC);
        }
        day = day.tomorrow().expect("a date");
    }
}

fn epw() -> String {
    let mut text = "LOCATION,\"Orvelsby, Hafen\",-,XXX,made,0,54.0,12.0,1.0,8.0\nCOMMENTS 1,invented\nDATA PERIODS,1,1,Data,Monday,1/1,12/31\n".to_owned();
    each_hour(|month, day, hour, degC| {
        let rest = ",".repeat(28);
        writeln!(text, "1990,{month},{day},{hour},0,,{degC}{rest}").expect("string");
    });
    text
}

fn tmy3() -> String {
    let mut text =
        "1,\"ORVELSBY\",XX,1.0,54.0,12.0,8\nDate (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C)\n"
            .to_owned();
    each_hour(|month, day, hour, degC| {
        writeln!(text, "{month:02}/{day:02}/1990,{hour:02}:00,{degC}").expect("string");
    });
    text
}

fn isd_lite() -> String {
    let mut text = String::new();
    for day in 1..=31 {
        for hour in 0..24 {
            let tenths = 220 + 10 * (12 - i32::abs(hour - 13));
            writeln!(
                text,
                "2026 07 {day:02} {hour:02}{tenths:>6}   -83 10299 -9999    15     0     0 -9999"
            )
            .expect("string");
        }
    }
    text
}

#[test]
fn the_files_are_whole_before_they_are_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    for file in files() {
        let path = folder.path().join(file.name);
        std::fs::write(&path, &file.text).expect("written");
        let looked_at = dogdays::weather::Rules {
            is_only_looked_at: true,
            ..Default::default()
        };
        let read = dogdays::weather::read_years(&[path], &looked_at);
        let years = read.unwrap_or_else(|problems| panic!("{problems}"));
        assert!(years.series[0].series.gaps().is_empty());
    }
}
