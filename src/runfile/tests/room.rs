//! The room as it is described: as much warmer than outdoors, or a building with machines and sun in it.

use super::{GOOD, problems, refused, run, says, with};
use crate::run::{Building, Room};

/// The good run (100 h from Monday 13 July, 07:00) with these lines in place of its temperature.
fn room(lines: &str) -> String {
    with("temperature = \"31 degC\"\n", lines)
}

/// The good run in a room of its own.
fn building(lines: &str) -> String {
    format!("{GOOD}[room.building]\nvolume = \"120 m3\"\nenvelope = \"150 W/K\"\n{lines}")
}

fn built(lines: &str) -> Building {
    run(&building(lines)).run.room.building.expect("given")
}

#[test]
fn a_room_may_be_so_much_warmer_than_outdoors() {
    let mean = "mean = \"27 degC\"\nswing = \"3 K\"\n";
    let indoors = |more: &str| -> Room { run(&room(&format!("{mean}{more}"))).run.room };
    let (given, above) = (
        indoors("shift = \"4 K\"\n"),
        indoors("above_outdoors = \"4 K\"\n"),
    );
    assert_eq!(above.weather, given.weather);
    assert!(!given.is_told_from_outdoors() && above.is_told_from_outdoors());
    let day_s = 86_400.0;
    assert!((given.weather_peak_K(day_s) - 307.15).abs() < 1e-9);
    assert!((above.weather_peak_K(day_s) - 303.15).abs() < 1e-9);
}

/// Two answers to one question are told apart by the person who gave them, not by the program.
#[test]
fn a_building_says_by_itself_how_much_warmer_it_is() {
    let text = building("").replace("temperature = ", "above_outdoors = \"4 K\"\ntemperature = ");
    refused(
        &text,
        (14, 18),
        &["[room.building]", "leave above_outdoors away"],
    );
}

/// In `[[compare]]` one of the two takes the other's place.
#[test]
fn a_variant_replaces_how_warm_the_room_gets() {
    let own = "[[compare]]\nname = \"built\"\nroom.building = { volume = \"60 m3\", envelope = \"100 W/K\" }\n";
    let text = format!(
        "{}{own}",
        room("temperature = \"27 degC\"\nabove_outdoors = \"4 K\"\n")
    );
    let room = &run(&text).compare[0].run.room;
    assert!(room.building.is_some() && room.above_outdoors_K.is_none());
    let own = "[[compare]]\nname = \"above\"\nroom.above_outdoors = \"4 K\"\n";
    let room = &run(&(building("") + own)).compare[0].run.room;
    assert!(room.building.is_none() && room.above_outdoors_K == Some(4.0));
}

#[test]
fn machines_are_counted() {
    assert_eq!(built("").machines, 1);
    assert_eq!(built("machines = 6\n").machines, 6);
    for wrong in ["0", "-2", "2.5", "1001"] {
        let found = problems(&building(&format!("machines = {wrong}\n")));
        says(&found[0], &["machines"]);
    }
}

/// South and west windows, by the clock on every day: 2 m2 x 500 W/m2 x 0.75 = 750 W from 12:00 to 16:00 and 600 W
/// from 14:00 to 18:00, of a run that starts at 07:00. Both at once add up.
#[test]
fn the_sun_through_windows_adds_up() {
    let south = "[[room.building.sun]]\nat = \"12:00\"\nuntil = \"16:00\"\nevery = \"day\"\narea = \"2 m2\"\n";
    let west = "[[room.building.sun]]\nat = \"14:00\"\nduration = \"4 h\"\nevery = \"day\"\nheat = \"600 W\"\n";
    let sun_W = built(&format!("{south}{west}")).sun_W;
    for (hour, heat_W) in [
        (0.0, 0.0),
        (4.99, 0.0),
        (5.0, 750.0),
        (7.0, 1350.0),
        (8.99, 1350.0),
        (9.0, 600.0),
        (11.0, 0.0),
        (31.5, 1350.0),
        (99.0, 0.0),
    ] {
        assert_eq!(sun_W.at(3600.0 * hour), (heat_W, 0.0), "{hour} h");
    }
    // Once, by the day of the week; before and after there is none.
    let once = west
        .replace("\"14:00\"", "\"Wed 14:00\"")
        .replace("every = \"day\"\n", "");
    let sun_W = built(&once).sun_W;
    for (hour, heat_W) in [(0.0, 0.0), (7.5, 0.0), (55.0, 600.0), (59.0, 0.0)] {
        assert_eq!(sun_W.at(3600.0 * hour).0, heat_W, "{hour} h");
    }
}

#[test]
fn sun_is_a_heat_or_glass_in_the_sun() {
    let sun = |lines: &str| {
        building(&format!(
            "[[room.building.sun]]\nat = \"12:00\"\nuntil = \"16:00\"\nevery = \"day\"\n{lines}"
        ))
    };
    refused(
        &sun(""),
        (18, 1),
        &["what the sun brings", "heat = ", "area = "],
    );
    let both = "heat = \"600 W\"\narea = \"2 m2\"\n";
    refused(&sun(both), (23, 8), &["both say"]);
    let hints = run(&sun("heat = \"600 W\"\ntransmittance = 0.5\n")).warnings;
    says(&hints[0], &["`transmittance` has no effect"]);
    // Several afternoons: it has to be said which.
    let some = sun("heat = \"600 W\"\n").replace("every = \"day\"\n", "");
    refused(&some, (19, 6), &["comes", "times", "every = \"day\""]);
}
