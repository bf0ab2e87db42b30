//! Whole real files, where their folder is named.

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
