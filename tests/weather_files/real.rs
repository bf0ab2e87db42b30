//! Whole real files, where their folder is named.

use dogdays::integrate::Options;
use dogdays::runfile;
use dogdays::study::check::outcome;
use dogdays::study::compare::own;
use dogdays::study::season::kept::Nothing;
use dogdays::study::season::{Moments, Share, Sharing, season};
use dogdays::weather::{Fill, Rules, Series, ShopClock, read_years};
use jiff::civil::{date, datetime};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::made::{air_is, linear};

/// The folder of whole real files; none elsewhere, which is said.
fn real(name: &str) -> Option<PathBuf> {
    let folder = std::env::var_os("DOGDAYS_WEATHER_DATA");
    let path = folder.map(|folder| Path::new(&folder).join(name));
    if path.is_none() {
        println!(
            "skipped: DOGDAYS_WEATHER_DATA names no folder with {name} (tests/data/fetch.sh fetches it)"
        );
    }
    path
}

fn read_real(name: &str, rules: &Rules) -> Option<Arc<Series>> {
    let years = read_years(&[real(name)?], rules).unwrap_or_else(|p| panic!("{p}"));
    Some(Arc::clone(&years.series[0].series))
}

/// Rows pinned by hand from the raw file, and its numbers as they are published with it.
#[test]
fn a_whole_typical_year_is_read() {
    let Some(series) = read_real("723170TYA.CSV", &Rules::default()) else {
        return;
    };
    for (at, degC) in [
        (datetime(2026, 1, 1, 1, 0, 0, 0), 10.0),
        (datetime(2026, 3, 1, 0, 0, 0, 0), 9.2),
        (datetime(2026, 3, 1, 1, 0, 0, 0), 8.0),
        (datetime(2027, 1, 1, 0, 0, 0, 0), 2.2),
    ] {
        air_is(&series, at, degC);
    }
    assert!(series.gaps().is_empty());
    let described = series.describe().expect("rows");
    let week = described.hottest_week.expect("a week");
    assert_eq!((week.from, week.to), (date(2001, 7, 8), date(2001, 7, 14)));
    // Stated to a tenth.
    assert!(
        (week.mean_K - 273.15 - 28.6).abs() < 0.05,
        "{}",
        week.mean_K
    );
    assert!((week.warmest.temperature_K - 273.15 - 35.6).abs() < 1e-9);
    assert!((described.coldest.temperature_K - 273.15 + 16.7).abs() < 1e-9);
    assert_eq!(
        series.station().map(|s| s.name.as_str()),
        Some("GREENSBORO PIEDMONT TRIAD INT")
    );
}

/// What shared runs say of a whole real year, start by start, beside each start by itself: several machines, one of them
/// with walls of foam and a heavy frame.
#[test]
fn a_whole_year_of_starts_is_what_each_comes_to_by_itself() {
    let Some(year) = real("723170TYA.CSV") else {
        return;
    };
    let year = year.canonicalize().expect("a file");
    for (machine, material, mass) in [
        ("bench-220", "pla", "2.3 kg"),
        ("bench-60", "petg", "1 kg"),
        ("hall-1000", "abs", "9 kg"),
    ] {
        let dir = tempfile::tempdir().expect("a folder");
        let path = dir.path().join("run.toml");
        let run = format!(
            "run = {{ name = \"year\", start = \"2026-01-01 01:00\", duration = \"121 h\" }}\n\
             machine.name = \"{machine}\"\nmaterial.name = \"{material}\"\npart.mass = \"{mass}\"\n\
             room.series = {:?}\n",
            year.display().to_string()
        );
        std::fs::write(&path, run).expect("written");
        let loaded = runfile::load(&path, None).unwrap_or_else(|problems| panic!("{problems}"));
        let moments = Moments::of(&loaded.inputs, 3600.0).expect("moments");
        let options = Options::default();
        let found = season(
            &own(&loaded.run, &loaded.inputs),
            &moments,
            Share::Allowed,
            &options,
            &Nothing,
            &|_| (),
        )
        .expect("a season");
        let Sharing::Shared {
            memory_s,
            by_themselves,
            ..
        } = found.sharing
        else {
            panic!("{machine} shares nothing: {:?}", found.sharing);
        };
        let mut random = fastrand::Rng::with_seed(9);
        let mut largest_K = 0f64;
        for _ in 0..300 {
            let start = found.starts[random.usize(..found.starts.len())];
            let run = loaded.inputs.to_run_at(start.at).expect("a run");
            let by_itself = outcome(&run, &options).expect("it runs");
            let off_K = (start.margin_K - by_itself.margin_K).abs();
            assert!(
                off_K <= 0.01,
                "{machine}: {start:?}, by itself {by_itself:?}"
            );
            assert_eq!(start.verdict, by_itself.verdict, "{start:?}");
            largest_K = largest_K.max(off_K);
        }
        println!(
            "{machine}: {} starts, memory {} h, {by_themselves} by themselves, off by {largest_K:.4} K at most",
            found.starts.len(),
            memory_s / 3600.0
        );
    }
}

/// 2018,1,1,1 2.04; 2009,3,1,1 8.38; 2006,6,30,16 34.33, the year's highest.
#[test]
fn a_whole_epw_file_is_read() {
    let Some(series) = read_real("tmy_45.000_8.000_2005_2023.epw", &Rules::default()) else {
        return;
    };
    air_is(&series, datetime(2026, 1, 1, 1, 0, 0, 0), 2.04);
    air_is(&series, datetime(2026, 3, 1, 1, 0, 0, 0), 8.38);
    let warmest = series.describe().expect("rows").warmest;
    assert_eq!(warmest.at, datetime(2001, 6, 30, 16, 0, 0, 0));
    assert!((warmest.temperature_K - 273.15 - 34.33).abs() < 1e-9);
}

#[test]
fn a_whole_real_year_is_read_with_its_gaps() {
    let rules = Rules {
        clock: Some(ShopClock::parse("America/Los_Angeles").expect("a zone")),
        ..linear(3.0)
    };
    let Some(series) = read_real(
        "725957-2016.gz",
        &Rules {
            fill: Fill::Never,
            ..rules.clone()
        },
    ) else {
        return;
    };
    // 2016 07 28 22, 383 tenths, is 15:00 by the shop's clock; hour 23 of 31 December 3.3.
    air_is(&series, datetime(2016, 7, 28, 15, 0, 0, 0), 38.3);
    air_is(&series, datetime(2015, 12, 31, 17, 0, 0, 0), -2.8);
    assert_eq!(series.span().1, datetime(2016, 12, 31, 15, 0, 0, 0));
    // Eleven marks in six stretches, one of them beside rows that are not there; two more of those.
    assert!(
        series.gaps()[0].message.contains("9 gaps, 16 h in all"),
        "{:?}",
        series.gaps()
    );
    let warmest = series.describe().expect("rows").warmest;
    assert!((warmest.temperature_K - 273.15 - 38.3).abs() < 1e-9);
    let filled = read_real("725957-2016.gz", &rules).expect("read");
    assert_eq!(
        (
            filled.filled().gaps,
            filled.filled().rows_absent,
            filled.filled().values_absent
        ),
        (8, 2, 10)
    );
}
