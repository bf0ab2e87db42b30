use super::*;
use crate::catalogue::Catalogue;
use crate::keys::section::{Data, Section};
use crate::run::{Arrangement, ArrangementKind, Control, Input};
use crate::runfile::demo;
use crate::study::Verdict;

mod decisions;

/// The demo's machine without anything that warms the air but its electronics, in panels that let
/// next to nothing through, in a room of one temperature: all heat leaves with the air.
fn insulated(power_W: f64) -> Inputs {
    let mut inputs = demo().inputs;
    inputs.table_of("room").remove(&["series"]);
    let mut vent = Section::default();
    vent.put("area", Data::Number(0.01));
    vent.put("height", Data::Number(0.05));
    vent.put("discharge", Data::Number(0.6));
    inputs
        .table_of("machine")
        .put("vent", Data::List(vec![vent]));
    for (key, si) in [
        ("run.duration", 100.0 * 3600.0),
        ("room.temperature", 303.15),
        ("room.altitude", 0.0),
        // Setpoints below any temperature: the heaters never work.
        ("job.bed", 1.0),
        // Warm enough to feed, and giving heat to next to no filament alone.
        ("job.nozzle", 400.0),
        ("part.mass", 1e-4),
        ("machine.hotend.loss", 0.0),
        ("machine.hotend.heat_break", 0.0),
        ("job.heat_up", 0.0),
        ("job.motion", 0.0),
        ("job.feeder", 0.0),
        ("machine.electronics", power_W),
        ("machine.leak_area", 0.0),
        ("coefficients.short_circuit", 0.0),
        // The limit is that of the filament everywhere, and the hotend is far from where it is read.
        ("coefficients.spool_allowance", 0.0),
        ("coefficients.tube_allowance", 0.0),
        ("coefficients.gear_allowance", 0.0),
        ("coefficients.cold_end_allowance", 0.0),
        ("coefficients.soft_length", 0.05),
        ("coefficients.bench_resistance", 1e6),
        ("coefficients.layer_mixing", 100.0),
    ] {
        inputs.put(key, si);
    }
    for layer in inputs.all().iter().map(Input::key) {
        let passes_nothing = match layer.rsplit_once('.') {
            Some((table, "thickness")) if table.contains(".layer.") => table,
            _ => continue,
        };
        for (key, si) in [
            ("thickness", 1.0),
            ("conductivity", 1e-4),
            ("density", 0.01),
            ("heat_capacity", 100.0),
        ] {
            inputs.put(&format!("{passes_nothing}.{key}"), si);
        }
    }
    inputs
}

/// Steady heat balance of a well-mixed box without losses (ASHRAE Handbook Fundamentals,
/// ventilation chapter): Q = P/(rho cp dT), rho and cp of the air at the fan; here 60 W, and the
/// filament, which takes on the air's temperature, may be 8 K above the room. By hand:
/// 101325/(287.05 311.15) = 1.1345 kg/m3, Q = 60/(1.1345 1006 8) = 23.66 m3/h. The answer is
/// rounded up to 0.1; half a per cent is left for what the panels still let through.
#[test]
fn least_flow_is_the_steady_heat_balance() {
    let mut run = insulated(60.0);
    run.put("require.margin", 2.0);
    run.put("material.softening_limit", 303.15 + 8.0 + 2.0);
    let sizing = size_fan(&run, &[], None, &Options::default()).expect("runs");
    let needed = sizing.needed_m3_per_s.expect("reachable") * 3600.0;
    assert!((needed - 23.66).abs() < 0.1 + 0.12, "{needed}");
    // Exactly at the grain: a tenth less would not do.
    let less = flow::sample(&run, (needed - 0.1) / 3600.0, &Options::default()).expect("runs");
    let at = flow::sample(&run, needed / 3600.0, &Options::default()).expect("runs");
    assert!(at.outcome.margin_K >= 2.0 && less.outcome.margin_K < 2.0);
}

/// The same box: the chamber is to stay 12 K above the room, so the air may take at most
/// 60/(rho cp 12), rho at 315.15 K = 1.1201 kg/m3: 15.97 m3/h.
#[test]
fn most_flow_is_the_steady_heat_balance_too() {
    let mut run = insulated(60.0);
    run.put("require.margin", 2.0);
    run.put("require.chamber_min", 303.15 + 12.0);
    run.put("material.softening_limit", 303.15 + 20.0 + 2.0);
    // What is slow takes hours to follow, and the chamber counts after three.
    for part in ["frame", "bed", "motion", "feeder"] {
        run.put(&format!("machine.{part}.mass"), 0.1);
    }
    let sizing = size_fan(&run, &[], None, &Options::default()).expect("runs");
    let most = sizing.most_m3_per_s.expect("limited") * 3600.0;
    assert!((most - 15.97).abs() < 0.1 + 0.08, "{most}");
}

/// The duty points are taken at temperatures between neighbouring runs; with those of the run
/// itself the flow would differ by less than the 0.1 m3/h to which flows are stated.
#[test]
fn taking_the_mean_temperature_costs_less_than_the_grain() {
    let run = demo().inputs;
    let fans = Catalogue::embedded().fans().expect("valid");
    let sizing = size_fan(&run, &fans, None, &Options::default()).expect("runs");
    assert_eq!(sizing.candidates.len(), fans.len());
    for c in &sizing.candidates {
        for d in [&c.clean, &c.loaded] {
            assert!(d.flow_error_m3_per_s.abs() * 3600.0 < 0.1, "{}", c.label());
        }
        assert!(c.loaded.flow_m3_per_s < c.clean.flow_m3_per_s);
    }
    let best = sizing.chosen().expect("one is enough");
    let needed = sizing.needed_m3_per_s.expect("reachable");
    assert!(best.loaded.flow_m3_per_s >= RESERVE * needed);
}

#[test]
fn a_margin_nothing_can_give_is_not_reachable() {
    let mut run = demo().inputs;
    run.put("require.margin", 45.0);
    let fans = Catalogue::embedded().fans().expect("valid");
    let sizing = size_fan(&run, &fans[..2], None, &Options::default()).expect("runs");
    assert!(sizing.needed_m3_per_s.is_none() && sizing.recommended.is_none());
    let why = sizing.unreachable.as_ref().expect("says why");
    assert!(why.room_K > why.allowed_K);
    assert_eq!(sizing.verdict(), Verdict::Softens);
}

#[test]
fn a_system_that_lets_nothing_pass_is_said_to() {
    let mut run = demo().inputs;
    run.table_of("machine").remove(&["vent"]);
    run.put("machine.leak_area", 0.0);
    let fans = Catalogue::embedded().fans().expect("valid");
    let sizing = size_fan(&run, &fans[..2], None, &Options::default()).expect("runs");
    let tight = |w: &FanWarning| matches!(w, FanWarning::TooTight { .. });
    assert!(sizing.warnings.iter().any(tight));
    assert!(sizing.recommended.is_none());
    // Nothing presses that flow through a square millimetre: what takes the pressure is said, and what would not.
    assert_eq!(sizing.advice, Advice::NoneEnough(NoneEnough::OutOfReach));
    assert_eq!(sizing.verdict(), Verdict::Softens);
    let split = sizing.split_at_needed.expect("a flow is needed");
    assert!(split.shell_Pa > 1e6 && split.shell_Pa > 0.99 * split.total_Pa());
    let eased = sizing.eased.expect("something works");
    // The shell then takes 3 Pa by the rule; filter, grille and duct as they do at that flow.
    let rest_Pa = split.filter_Pa + split.grille_Pa + split.duct_Pa;
    assert!(eased.pressure_Pa < 3.5 + rest_Pa, "{eased:?}");
    assert!(sizing.specification.is_none());
}

/// Where no single fan is enough, two may be.
#[test]
fn pairs_are_tried_when_no_single_fan_is_enough() {
    let run = coarse();
    let one = Catalogue::embedded().fan("axial-120-quiet").expect("known");
    let sizing = size_fan(&run, &[one], None, &Options::default()).expect("runs");
    let best = &sizing.candidates[sizing.recommended.expect("a pair is enough")];
    assert_ne!(best.setup.mounting, Mounting::Single);
    assert!(best.is_enough());
}

/// The demo with a coarse mat for a filter, which weak fans press air through.
fn coarse() -> Inputs {
    let mut run = demo().inputs;
    run.put("system.filter_clean", 8.0);
    run.put("system.filter_loaded", 20.0);
    run
}

fn fan(name: &str) -> Fan {
    Catalogue::embedded().fan(name).expect("known")
}

fn sized(run: &Inputs, fans: &[Fan]) -> Sizing {
    size_fan(run, fans, None, &Options::default()).expect("runs")
}

/// Steady balance of a room by hand: 60 W of the box and 300 W beside, 60 W/K to outdoors at 303.15 K and nothing else
/// (no air changes). Led into the room, the box's heat stays there: the room is 6 K above outdoors. Led outdoors, it
/// leaves, and the room draws in as much outdoor air: 300/(60 + C) K. The filament may be 14 K above outdoors: into the
/// room 60 W warm its air by 8 K; outdoors C (14 - 300/(60 + C)) = 60, C = 6.30 W/K. With C = 1.1345 1006 Q at
/// 311.15 K and 1.1127 at 317.15 K, 101325/(287.05 T): 24.1 and 20.3 m3/h.
#[test]
fn air_that_is_led_outdoors_needs_less_flow_in_a_small_room() {
    let needed = |led_to: &str| {
        let mut run = insulated(60.0);
        run.put("require.margin", 2.0);
        run.put("material.softening_limit", 303.15 + 14.0 + 2.0);
        let mut building = Section::default();
        for (key, si) in [
            ("volume", 30.0),
            ("envelope", 60.0),
            ("air_changes", 0.0),
            ("other_heat", 300.0),
            ("cooler_power", 0.0),
            ("cooler_setpoint", 299.15),
            ("storage_factor", 1.0),
            ("machines", 1.0),
        ] {
            building.put(key, Data::Number(si));
        }
        run.table_of("room")
            .put("building", Data::Section(building.into()));
        run.table_of("system")
            .put("led_to", Data::Text(led_to.to_owned()));
        sized(&run, &[]).needed_m3_per_s.expect("reachable") * 3600.0
    };
    let (outdoors, room) = (needed("outdoors"), needed("room"));
    assert!((room - 24.1).abs() < 0.4, "into the room: {room}");
    assert!((outdoors - 20.3).abs() < 0.4, "outdoors: {outdoors}");
}

/// By hand: the shop's season of 1210 h is ten of the demo's 121 h;
/// a filter of 100 Pa that is due at 200 Pa and gains 10 Pa in 100 h is due after 1000 h.
#[test]
fn a_season_and_a_filter_by_hand() {
    let mut run = demo().inputs;
    for (key, si) in [
        ("system.season", 1210.0 * 3600.0),
        ("system.price_per_kWh", 0.25),
        ("system.filter_rise", 10.0),
    ] {
        run.put(key, si);
    }
    let sizing = sized(&run, &[fan("blower-97")]);
    let c = sizing.chosen().expect("enough");
    let costs = sizing.costs.expect("known");
    let season_J = costs.season_J.expect("stated");
    let run_J = costs.fan_J.expect("its power is known") + costs.heaters_J;
    assert!((season_J / run_J - 10.0).abs() < 1e-9);
    let fan_J = c.power_W.expect("known") * 121.0 * 3600.0;
    assert!((costs.fan_J.expect("known") / fan_J - 1.0).abs() < 1e-9);
    let due = sizing.filter_change.expect("a filter");
    let hours = due.after_s.expect("stated") / 3600.0;
    assert!((hours - 1000.0).abs() < 1e-6, "{hours}");
    assert_eq!(due.at_Pa, c.loaded.split.filter_Pa);
}

#[test]
fn practice_is_told() {
    let mut run = demo().inputs;
    run.put(
        "machine.vent.1.height",
        demo().run.machine.extraction_height_m,
    );
    run.put("machine.vent.1.area", 6e-4);
    let system = run.table_of("system");
    system.put("burner_in_room", Data::Bool(true));
    system.put("filter_stops", Data::Text("particles".to_owned()));
    run.put("system.filter_clean", 8.0);
    run.put("system.filter_loaded", 20.0);
    let stalls = Catalogue::embedded()
        .fan("axial-120-strong")
        .expect("known");
    let found = size_fan(&run, &[stalls], None, &Options::default())
        .expect("runs")
        .warnings;
    let has = |f: fn(&FanWarning) -> bool| assert!(found.iter().any(f), "{found:?}");
    has(|w| matches!(w, FanWarning::NextToInlet { .. }));
    has(|w| matches!(w, FanWarning::Burner { .. }));
    has(|w| {
        matches!(
            w,
            FanWarning::Fumes {
                into_room: false,
                ..
            }
        )
    });
    has(|w| matches!(w, FanWarning::DuctUnderPressure));
    // What can hurt somebody comes before what makes noise.
    let first = found
        .iter()
        .position(|w| matches!(w, FanWarning::Draught { .. }));
    let burner = found
        .iter()
        .position(|w| matches!(w, FanWarning::Burner { .. }));
    assert!(burner < first);
    has(|w| matches!(w, FanWarning::Unstable { .. }));
    has(|w| matches!(w, FanWarning::SmallOpening { .. }));
    has(|w| matches!(w, FanWarning::Draught { .. }));
}

/// Air that goes back into the room: told first for every material, whatever the filter is or is not said to stop; more
/// gravely for one that is known to fume, even behind a filter for fumes.
#[test]
fn unfiltered_air_into_the_room_is_told_first() {
    let first = |fumes: Option<&str>, stops: Option<&str>| {
        let mut run = coarse();
        if let Some(fumes) = fumes {
            let material = run.table_of("material");
            material.put("fumes", Data::Text(fumes.to_owned()));
        }
        let system = run.table_of("system");
        system.put("led_to", Data::Text("room".to_owned()));
        if let Some(stops) = stops {
            system.put("filter_stops", Data::Text(stops.to_owned()));
        }
        let sizing = sized(&run, &[fan("blower-97")]);
        let fumes = |w: &&FanWarning| matches!(w, FanWarning::Fumes { .. });
        let found = sizing.warnings.iter().find(fumes).cloned();
        found.map(|w| (w.comes_first(), w.to_string()))
    };
    for stops in [None, Some("nothing"), Some("particles")] {
        let (is_first, text) = first(None, stops).expect("told");
        assert!(
            is_first && text.contains("back into the room"),
            "{stops:?}: {text}"
        );
    }
    // A mat of 8 Pa is told to be one, whatever it is said to stop; a filter that may be one is not.
    let (is_first, text) = first(None, Some("particles and fumes")).expect("told");
    assert!(is_first && text.contains("coarse mat"), "{text}");
    let mut run = demo().inputs;
    for (key, word) in [("led_to", "room"), ("filter_stops", "particles and fumes")] {
        run.table_of("system").put(key, Data::Text(word.to_owned()));
    }
    let told = sized(&run, &[fan("blower-97")]).warnings;
    assert!(!told.iter().any(FanWarning::comes_first), "{told:?}");
    assert!(told.contains(&FanWarning::SpentFilter));
    let (is_first, text) = first(Some("styrene"), Some("nothing")).expect("told");
    assert!(
        is_first && text.contains("styrene") && text.contains("nobody should stay"),
        "{text}"
    );
    let (_, text) = first(Some("styrene"), Some("particles and fumes")).expect("told");
    assert!(text.contains("styrene"), "{text}");
}

/// A fan that starts below the room's temperature never stops, one that starts above anything the
/// chamber reaches never runs; one between them starts more than once in the demo's hot days.
#[test]
fn a_thermostats_share_and_starts() {
    let with = |on_above_K: f64, off_below_K: f64| {
        let mut run = demo().run;
        run.system.fan_power_W = Some(5.0);
        run.arrangement = Arrangement {
            control: Control::Thermostat {
                on_above_K,
                off_below_K,
            },
            ..Arrangement::of(ArrangementKind::Extracting {
                flow_m3_per_s: 30.0 / 3600.0,
            })
        };
        let f = crate::study::check(&run, Default::default(), &Options::default()).expect("runs");
        (f.fan.expect("a thermostat runs it"), run.duration_s)
    };
    let (never, _) = with(400.0, 390.0);
    assert_eq!((never.starts, never.running_h), (0, 0.0));
    let (always, duration_s) = with(285.0, 284.0);
    assert!((always.share - 1.0).abs() < 1e-9 && always.starts == 1);
    // 5 W over the whole run.
    assert!((always.energy_J.expect("power known") - 5.0 * duration_s).abs() < 1.0);
    let (some, _) = with(313.15, 310.15);
    assert!(some.share > 0.02 && some.share < 0.98 && some.starts > 1);
}

/// The run file's declared defaults and the model's are one and the same system.
#[test]
fn a_run_file_without_a_system_has_the_default_one() {
    let (got, want) = (demo().run.system, crate::run::ExtractionSystem::default());
    assert_eq!(got.filter, want.filter);
    for (a, b) in [
        (got.grille.rated_Pa, want.grille.rated_Pa),
        (got.filter_clean.rated_Pa, want.filter_clean.rated_Pa),
        (got.filter_loaded.rated_Pa, want.filter_loaded.rated_Pa),
        (got.filter_clean.linear, want.filter_clean.linear),
        (
            got.filter_clean.rated_flow_m3_per_s,
            want.filter_clean.rated_flow_m3_per_s,
        ),
        (got.duct.diameter_m, want.duct.diameter_m),
        (got.duct.length_m, want.duct.length_m),
        (got.duct.roughness_m, want.duct.roughness_m),
        (got.duct.fittings, want.duct.fittings),
    ] {
        // Only rounding of units may differ.
        assert!((a - b).abs() < 1e-12, "{a} {b}");
    }
}

/// A shell that throttles: sized again with the opening that is advised, a smaller fan is enough, and it is one that is
/// not without it. Made anew with the vent typed in, the run holds at the flow that is told.
#[test]
fn a_smaller_fan_is_found_with_the_opening_that_is_advised() {
    let mut run = coarse();
    run.put("machine.vent.1.area", 4e-4);
    let fans = Catalogue::embedded().fans().expect("valid");
    let sizing = sized(&run, &fans);
    let larger = sizing.larger_opening.as_ref().expect("it is advised");
    let smaller = larger.candidate.as_ref().expect("one is enough");
    assert!(smaller.is_enough());
    let chosen = sizing.chosen();
    assert!(chosen.is_none_or(|c| smaller.power_W < c.power_W));
    let without = sizing.candidates.iter().find(|c| c.fan == smaller.fan);
    assert_ne!(without.expect("it was tried").standing, Standing::Robust);
    let area_m2 = run.to_run().expect("valid").machine.vents[0].area_m2;
    let mut opened = run.clone();
    opened.put("machine.vent.1.area", area_m2 + larger.add_m2);
    let again = flow::sample(&opened, smaller.loaded.flow_m3_per_s, &Options::default());
    let margin_K = again.expect("runs").outcome.margin_K;
    // The vent that is there may lie a little higher than the one added.
    assert!(
        (margin_K - smaller.loaded.outcome.margin_K).abs() < 0.3,
        "{margin_K}"
    );
    // Where nothing throttles, nothing is to be opened.
    let mut open = coarse();
    open.put("machine.vent.1.area", 0.02);
    assert!(sized(&open, &[fan("axial-80")]).larger_opening.is_none());
}

/// Two temperatures a kelvin apart, for twenty days: as many steps as any run takes, and it is told.
#[test]
fn a_thermostat_that_would_start_without_end_costs_nothing() {
    let with = |off_below_K: f64| {
        let mut run = demo().run;
        run.room.weather = crate::course::Course::Constant(304.15);
        let days = 20.0 * 86_400.0;
        let last = run.phases.last_mut().expect("it prints");
        last.end_s = days;
        last.feed_kg_per_s *= run.duration_s / days;
        run.duration_s = days;
        run.arrangement = Arrangement {
            control: Control::Thermostat {
                on_above_K: 315.15,
                off_below_K,
            },
            ..Arrangement::of(ArrangementKind::Extracting {
                flow_m3_per_s: 40.0 / 3600.0,
            })
        };
        crate::study::check(&run, Default::default(), &Options::default()).expect("runs")
    };
    let f = with(314.15);
    // An hour at most a step is 480; the first starts take some hundred.
    assert!(f.effort.steps < 1500, "{:?}", f.effort);
    let used = f.fan.expect("a thermostat runs it");
    assert!(used.starts < 20 && used.all_starts() > 20_000, "{used:?}");
    let told = f.warnings.iter().map(ToString::to_string);
    let told = told.collect::<Vec<_>>().join("\n");
    assert!(told.contains("widen the band"), "{told}");
    let top = f.nodes.iter().find(|n| n.name == "air top").expect("there");
    // At the top of the band.
    assert!((314.99..=315.15).contains(&top.end_K), "{}", top.end_K);
}

/// Switching one by one and a throttled fan come to the same, but for what the throttled one is on the warm side: less
/// than half of the band. The heat balances either way.
#[test]
fn a_throttled_fan_stands_for_a_switched_one() {
    let with = |band_K: f64, hours: f64| {
        let mut run = demo().run;
        run.room.weather = crate::course::Course::Constant(304.15);
        run.duration_s = hours * 3600.0;
        run.phases
            .iter_mut()
            .for_each(|p| p.end_s = p.end_s.min(run.duration_s));
        run.arrangement = Arrangement {
            control: Control::Thermostat {
                on_above_K: 315.15,
                off_below_K: 315.15 - band_K,
            },
            ..Arrangement::of(ArrangementKind::Extracting {
                flow_m3_per_s: 40.0 / 3600.0,
            })
        };
        crate::study::check(&run, Default::default(), &Options::default()).expect("runs")
    };
    for band_K in [1.0, 3.0] {
        let f = with(band_K, 12.0);
        let used = f.fan.expect("a thermostat runs it");
        assert!(used.throttled_h > 5.0, "{used:?}");
        assert!(f.heat.unaccounted_relative < 1e-6, "{:?}", f.heat);
        // The last start that was made was as quick as the first: cycles of some tens of seconds.
        let every_s = used.cycling_s / used.all_starts() as f64;
        assert!((5.0..120.0).contains(&every_s), "{every_s}");
    }
}
