//! The variables of a unit: all follow from the run's chamber, in one order, which numbers them.

use dogdays::chamber::StationKind;
use dogdays::{Chamber, Run};

/// What a variable is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// Time since the run's start, s.
    Time,
    /// Whether the input is used; else the run's own weather.
    UseInput,
    /// The given temperature as an input, K.
    Input,
    /// Filament that has stood at a station, K.
    Filament(StationKind),
    /// Its limit, K.
    Limit(StationKind),
    /// Limit less filament, K.
    Margin(StationKind),
    /// The smallest of these at the moment, K.
    LeastMargin,
    /// Heat that the machine gives to its room, W.
    HeatToRoom,
    /// A point's temperature, K.
    Point(usize),
}

/// A variable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    /// Its name.
    pub name: String,
    /// What it is.
    pub meaning: Meaning,
    /// In words.
    pub words: String,
}

/// The chamber of a run by itself: what others in its room give off changes no variable.
///
/// # Errors
/// When it can't be built.
pub fn chamber(run: &Run) -> Result<Chamber, String> {
    let mut alone = run.clone();
    alone.neighbours.clear();
    Chamber::new(&alone).map_err(|e| e.to_string())
}

/// All variables of a chamber; a variable's value reference is its position.
#[must_use]
pub fn of(chamber: &Chamber) -> Vec<Variable> {
    let plain = |name: &str| name.replace(' ', "_");
    let given = &chamber.network.given_points()[0].name;
    let mut all = Vec::new();
    let mut add = |name: String, meaning: Meaning, words: String| {
        all.push(Variable {
            name,
            meaning,
            words,
        });
    };
    add(
        "time".into(),
        Meaning::Time,
        "time since the start of the run".into(),
    );
    let input = format!("{}_temperature", plain(given));
    let words = format!("whether {input} is used; if not, the weather of the run file");
    add(format!("use_{input}"), Meaning::UseInput, words);
    let words = format!("temperature of the {given}, constant over a step");
    add(input, Meaning::Input, words);
    for station in StationKind::ALL {
        let (name, place) = (station.name(), plain(station.name()));
        let words = format!("filament that has stood at the {name}");
        add(
            format!("filament.{place}"),
            Meaning::Filament(station),
            words,
        );
        let words = format!("what filament at the {name} must stay below");
        add(format!("limit.{place}"), Meaning::Limit(station), words);
        let words = format!("limit less filament at the {name}");
        add(format!("margin.{place}"), Meaning::Margin(station), words);
    }
    let words = "the smallest margin of all stations at this moment";
    add("least_margin".into(), Meaning::LeastMargin, words.into());
    let words = "heat that one machine gives to its room";
    add("heat_to_room".into(), Meaning::HeatToRoom, words.into());
    for (point, name) in chamber.network.names().enumerate() {
        let words = format!("temperature of {name}");
        add(
            format!("temperature.{}", plain(name)),
            Meaning::Point(point),
            words,
        );
    }
    all
}

/// A word that two units share if and, but for accidents, only if they have the same variables (FNV-1a of their
/// names, 64 bits): the instantiation token, by which an importer's description is known to belong to these resources.
#[must_use]
pub fn token(all: &[Variable]) -> String {
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for byte in all.iter().flat_map(|v| v.name.bytes().chain([0])) {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    format!("dogdays-{hash:016x}")
}
