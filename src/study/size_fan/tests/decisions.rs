//! One answer, and that it is the right one: what is picked, what is refused, and how surely.

use super::*;

/// Without a chance, a fan needs a quarter in reserve to be robust: one with less is told to be marginal, and the
/// whole answer with it.
#[test]
fn a_fan_without_reserve_is_marginal() {
    let needed = sized(&coarse(), &[]).needed_m3_per_s.expect("reachable");
    let with = |share: f64| {
        // Gives that share of what is needed whatever it works against: a curve so steep that it is upright.
        let flow = share * needed;
        let points = [(0.0, 400.0), (flow, 390.0), (1.0001 * flow, 0.0)];
        let own = Fan {
            name: "own".to_owned(),
            curve: crate::physics::fan::FanCurve::new(&points).expect("a curve"),
            invented: false,
            ..fan("axial-80")
        };
        sized(&coarse(), &[own])
    };
    let little = with(1.1);
    assert_eq!(little.candidates[0].standing, Standing::Marginal);
    assert_eq!(
        (little.advice, little.verdict()),
        (Advice::Marginal, Verdict::Tight)
    );
    let much = with(1.3);
    assert_eq!(much.candidates[0].standing, Standing::Robust);
    assert_eq!(
        (much.advice, much.verdict()),
        (Advice::Take, Verdict::Holds)
    );
    let none = with(0.9);
    assert_eq!(none.candidates[0].standing, Standing::Not(Lack::TooWeak));
    // Two of it may be.
    assert_ne!(none.recommended, Some(0));
}

/// Words, table, picture, JSON and exit code come from the advice; that agrees with the pick and with each fan, in every
/// kind of case.
#[test]
fn one_answer_in_all_its_parts() {
    let all = Catalogue::embedded().fans().expect("valid");
    let cool = |by_K: f64| {
        let mut run = coarse();
        run.warm(-by_K);
        run
    };
    let needs_warmth = |chamber_min_K: f64| {
        let mut run = coarse();
        run.put("require.chamber_min", chamber_min_K);
        run
    };
    let mut tight = coarse();
    tight.put("machine.vent.1.area", 1e-4);
    let mut windy = coarse();
    windy.put("system.wind", 30.0);
    let mut seen = Vec::new();
    for (run, sampling) in [
        (cool(0.0), None),
        (cool(12.0), None),
        (needs_warmth(273.15 + 33.0), None),
        (needs_warmth(273.15 + 45.0), None),
        (tight, None),
        (windy, None),
        (
            cool(9.0),
            Some(Sampling {
                samples: 16,
                seed: 1,
            }),
        ),
        (
            cool(25.0),
            Some(Sampling {
                samples: 16,
                seed: 1,
            }),
        ),
    ] {
        let s = size_fan(&run, &all, sampling, &Options::default()).expect("runs");
        let chosen = s.chosen().map(|c| c.standing);
        match s.advice {
            Advice::NoFan => {
                assert_eq!((chosen, s.needed_m3_per_s), (None, Some(0.0)));
                assert!(s.specification.is_none() && s.thermostat.is_none());
            }
            Advice::Take => assert_eq!(chosen, Some(Standing::Robust)),
            Advice::Marginal => {
                assert_eq!(chosen, Some(Standing::Marginal));
                let robust = |c: &Candidate| c.standing == Standing::Robust;
                assert!(!s.candidates.iter().any(robust));
            }
            _ => assert_eq!(chosen, None),
        }
        assert_eq!(
            s.verdict() == Verdict::Holds,
            matches!(s.advice, Advice::NoFan | Advice::Take)
        );
        if let Some(c) = s.chosen() {
            assert!(!c.clean.unstable && !c.loaded.unstable && !c.too_cool);
            assert!(
                c.fan
                    .air_max_K
                    .is_none_or(|most_K| c.loaded.warmest_K <= most_K)
            );
            assert_eq!(c.loaded.outcome.verdict, Verdict::Holds);
        }
        seen.push(s.advice);
    }
    // Cases of several kinds, or nothing was looked at.
    for advice in [Advice::NoFan, Advice::Take] {
        assert!(seen.contains(&advice), "{seen:?}");
    }
    assert!(
        seen.iter().any(|a| matches!(a, Advice::NoneEnough(_))),
        "{seen:?}"
    );
}

/// Wind of 60 Pa on the outlet of a fan that gives 46 Pa at most: it is blown back, and no pick. The pressures are the
/// catalogue's own.
#[test]
fn a_fan_that_wind_blows_back_is_no_pick() {
    let mut run = coarse();
    run.put("system.wind", 60.0);
    let sizing = sized(&run, &[fan("axial-80")]);
    let c = &sizing.candidates[0];
    assert_eq!(c.standing, Standing::Not(Lack::FlowsBack));
    assert_eq!(c.loaded.flow_m3_per_s, 0.0);
    let told = |w: &FanWarning| matches!(w, FanWarning::FlowsBack { .. });
    assert!(sizing.warnings.iter().any(told));
    // Led into the room there is no wind.
    run.table_of("system")
        .put("led_to", Data::Text("room".to_owned()));
    assert!(
        sized(&run, &[fan("axial-80")]).candidates[0]
            .loaded
            .flow_m3_per_s
            > 0.0
    );
}

/// The air at the top of the demo's chamber gets to some 40 degC: a fan for 35 degC is none to take; one of somebody's
/// own for less than the room's 34 degC is a slip of the pen.
#[test]
fn a_fan_for_cooler_air_is_refused() {
    let for_air = |air_max_K: f64, invented: bool| Fan {
        air_max_K: Some(air_max_K),
        invented,
        ..fan("blower-97")
    };
    let sizing = sized(&coarse(), &[for_air(308.15, true)]);
    let standing = sizing.candidates[0].standing;
    assert!(
        matches!(standing, Standing::Not(Lack::WarmAir { .. })),
        "{standing:?}"
    );
    assert_eq!(sizing.advice, Advice::NoneEnough(NoneEnough::WarmAir));
    let slip = size_fan(
        &coarse(),
        &[for_air(298.15, false)],
        None,
        &Options::default(),
    );
    let said = slip.expect_err("refused").to_string();
    assert!(said.contains("the room alone reaches"), "{said}");
    assert!(
        sized(&coarse(), &[for_air(298.15, true)])
            .recommended
            .is_none()
    );
}

/// The box again, with a window: at least 15.8 m3/h (12 K: 60/(1.1196 1006 12)), at most 23.7 (8 K). A fan that blows
/// more gets a row of its own: slower where its speed can be set, else behind a damper; its flow stays in the window.
#[test]
fn too_strong_a_fan_is_run_slower_or_throttled() {
    let mut run = insulated(60.0);
    run.put("require.margin", 2.0);
    run.put("require.chamber_min", 303.15 + 8.0);
    run.put("material.softening_limit", 303.15 + 12.0 + 2.0);
    for part in ["frame", "bed", "motion", "feeder"] {
        run.put(&format!("machine.{part}.mass"), 0.1);
    }
    run.put("system.filter_clean", 8.0);
    run.put("system.filter_loaded", 12.0);
    let settable = fan("axial-80");
    let fixed = Fan {
        settable: false,
        ..settable.clone()
    };
    let of = |fan: Fan| {
        let sizing = sized(&run, &[fan]);
        let most = sizing.most_m3_per_s.expect("a window");
        assert!((most * 3600.0 - 23.7).abs() < 0.4, "{}", most * 3600.0);
        let first = &sizing.candidates[0];
        assert_eq!(first.standing, Standing::Not(Lack::TooCool));
        let set = sizing
            .candidates
            .iter()
            .find(|c| c.setup != first.setup)
            .expect("a row of its own");
        assert!(
            set.clean.flow_m3_per_s <= most && set.is_enough(),
            "{set:?}"
        );
        assert_eq!(sizing.chosen().map(Candidate::label), Some(set.label()));
        set.clone()
    };
    let slower = of(settable.clone());
    assert!(slower.label().starts_with("axial-80 at ") && slower.setup.speed < 1.0);
    // Power by the cube of speed, sound by fifty times its logarithm.
    let ratio = slower.power_W.expect("known") / settable.power_W.expect("known");
    assert!((ratio / slower.setup.speed.powi(3) - 1.0).abs() < 0.1);
    let quieter = slower.sound_dBA.expect("known") - settable.sound_dBA.expect("known");
    assert!((quieter - 50.0 * slower.setup.speed.log10()).abs() < 1e-9);
    let damped = of(fixed);
    assert_eq!(damped.label(), "axial-80 with damper");
    assert!(damped.clean.damper_Pa > 1.0);
    let parts_Pa = damped.clean.split.total_Pa() + damped.clean.damper_Pa;
    assert!((parts_Pa - damped.clean.pressure_Pa).abs() < 0.01);
}

/// A thermostat that starts above anything the chamber reaches: no flow helps, and it is the cause.
#[test]
fn a_thermostat_that_starts_too_late_is_named() {
    let mut run = coarse();
    let least = sized(&run, &[]).needed_m3_per_s.expect("reachable");
    run.arrange(
        &ArrangementKind::Extracting {
            flow_m3_per_s: 30.0 / 3600.0,
        },
        &Control::Thermostat {
            on_above_K: 400.0,
            off_below_K: 390.0,
        },
    );
    let sizing = sized(&run, &[fan("blower-97")]);
    assert_eq!(sizing.advice, Advice::NoFlow);
    let cause = sizing
        .unreachable
        .expect("says why")
        .cause
        .expect("names it");
    assert_eq!(cause.control, CauseKind::Thermostat);
    assert_eq!(cause.without_m3_per_s, least);
}

/// The thermostat that is proposed, typed in: the run keeps its margin, and the fan starts no oftener than told.
#[test]
fn the_thermostat_that_is_proposed_holds() {
    let run = coarse();
    let sizing = sized(&run, &[fan("axial-80")]);
    let t = sizing.thermostat.expect("one spares something");
    let c = sizing.chosen().expect("one is enough");
    let flow_m3_per_s = c.loaded.flow_m3_per_s;
    assert!(t.margin_K >= c.loaded.outcome.margin_K - 0.1 && t.share < 0.95);
    let mut least_K = f64::INFINITY;
    for flow_m3_per_s in [flow_m3_per_s, c.clean.flow_m3_per_s] {
        let mut typed = run.clone();
        typed.arrange(
            &ArrangementKind::Extracting { flow_m3_per_s },
            &Control::Thermostat {
                on_above_K: t.on_above_K,
                off_below_K: t.off_below_K,
            },
        );
        let typed = typed.to_run().expect("valid");
        let f = crate::study::check(&typed, Default::default(), &Options::default()).expect("runs");
        least_K = least_K.min(f.outcome.margin_K);
        // Nothing that `check` would warn of.
        let told = f
            .warnings
            .iter()
            .map(ToString::to_string)
            .collect::<String>();
        assert!(!told.contains("widen the band"), "{told}");
    }
    assert!((least_K - t.margin_K).abs() < 0.01, "{least_K}");
}

/// Each of a few samples by itself: its own system, its own duty point, a whole run at that flow. The margin taken for
/// it lies no higher than what that run has, but for the steps of samples, and little lower.
#[test]
fn a_samples_margin_errs_on_the_warm_side() {
    let run = coarse();
    let sampling = Sampling {
        samples: 8,
        seed: 3,
    };
    let sizing = size_fan(
        &run,
        &[fan("axial-80")],
        Some(sampling),
        &Options::default(),
    )
    .expect("runs");
    let c = &sizing.candidates[0];
    let chances = sizing.chances.as_ref().expect("asked");
    let doubtful = run.doubtful();
    for k in 0..8 {
        let at = |dimension| crate::study::certainty::points::normal(k, dimension, 3);
        let drawn = crate::study::certainty::drawn(&run, &doubtful, at).expect("goes together");
        let (own, taken_K) = chances.of_sample(k as usize, c, (310.0, 303.0));
        let mut extracting = drawn.clone();
        extracting.arrangement = if own > 0.0 {
            Arrangement::of(ArrangementKind::Extracting { flow_m3_per_s: own })
        } else {
            Arrangement::of(ArrangementKind::Closed)
        };
        let f = crate::study::check(&extracting, Default::default(), &Options::default())
            .expect("runs");
        let true_K = f.outcome.margin_K;
        let flow = 3600.0 * own;
        assert!(
            taken_K < true_K + 0.05 && taken_K > true_K - 0.3,
            "{k}: {taken_K} of {true_K} at {flow}"
        );
    }
}

/// Twenty per cent more of the feeder's heat need more flow by more than that: a reserve of some per cent does not
/// cover it.
#[test]
fn a_reserve_of_some_per_cent_is_none() {
    let needed = |factor: f64| {
        let mut run = coarse();
        run.scale_feeder_heat(factor);
        sized(&run, &[]).needed_m3_per_s.expect("reachable")
    };
    let more = needed(1.2) / needed(1.0);
    assert!(more > 1.2, "{more}");
}

/// Of two fans of one curve that differ in size, or in sound alone, the smaller or the quieter one is taken; one of
/// unknown power is ranked by what its curve says.
#[test]
fn what_smallest_means() {
    let like = |name: &str, size_m: f64, sound_dBA: f64| Fan {
        name: name.to_owned(),
        size_m: Some(size_m),
        sound_dBA: Some(sound_dBA),
        ..fan("blower-97")
    };
    let chosen = |fans: &[Fan]| sized(&coarse(), fans).chosen().map(Candidate::label);
    let (large, small) = (like("large", 0.12, 30.0), like("small", 0.1, 50.0));
    assert_eq!(
        chosen(&[large.clone(), small.clone()]).as_deref(),
        Some("small")
    );
    let quiet = like("quiet", 0.1, 45.0);
    assert_eq!(chosen(&[small.clone(), quiet]).as_deref(), Some("quiet"));
    let unknown = Fan {
        name: "unknown".to_owned(),
        power_W: None,
        ..small.clone()
    };
    let stronger = fan("blower-120");
    assert_eq!(chosen(&[stronger, unknown]).as_deref(), Some("unknown"));
}

/// What stands open in the run is shut: what is told of the closed machine is true of the closed machine.
#[test]
fn the_closed_machine_is_closed() {
    let closed = coarse();
    let mut open = coarse();
    open.arrange(
        &ArrangementKind::Extracting {
            flow_m3_per_s: 30.0 / 3600.0,
        },
        &Control::Constant,
    );
    open.table_of("arrangement")
        .put("open", Data::Text("door".to_owned()));
    let (closed, open) = (
        sized(&closed, &[fan("axial-80")]),
        sized(&open, &[fan("axial-80")]),
    );
    assert_eq!(open.needed_m3_per_s, closed.needed_m3_per_s);
    assert_eq!(open.samples[0].outcome, closed.samples[0].outcome);
    assert_eq!(open.instead_of, Some("extracting, door open"));
    assert_eq!(closed.instead_of, None);
}

/// A closed run with a fan for one hour of the night: that fan is sized for its hour, which does not help, and the
/// schedule is the cause. Its energy is that of an hour: a 121st of the demo's.
#[test]
fn a_fan_on_a_schedule_is_sized_on_its_schedule() {
    let with = |begin_h: f64, hours: f64| {
        let mut run = coarse();
        let mut stretch = Section::default();
        for (key, si) in [
            ("at", begin_h * 3600.0),
            ("duration", hours * 3600.0),
            ("flow", 30.0 / 3600.0),
        ] {
            stretch.put(key, Data::Number(si));
        }
        stretch.put("kind", Data::Text("extracting".to_owned()));
        run.table_of("arrangement")
            .put("schedule", Data::List(vec![stretch]));
        sized(&run, &[fan("axial-80")])
    };
    let always = sized(&coarse(), &[fan("axial-80")]);
    let night = with(16.0, 1.0);
    assert!(
        night.as_scheduled && night.advice == Advice::NoFlow,
        "{:?}",
        night.advice
    );
    let cause = night
        .unreachable
        .expect("says why")
        .cause
        .expect("names it");
    assert_eq!(cause.control, CauseKind::Schedule);
    assert_eq!(Some(cause.without_m3_per_s), always.needed_m3_per_s);
    // All but an hour at the beginning: as good as always.
    let nearly = with(1.0, 120.0);
    let flow = |s: &Sizing| s.needed_m3_per_s.expect("reachable") * 3600.0;
    assert!((flow(&nearly) - flow(&always)).abs() < 0.3);
    let c = &nearly.candidates[0];
    let (share, starts) = c.loaded.running.expect("a schedule runs it");
    assert!((share - 120.0 / 121.0).abs() < 1e-9 && starts == 1);
}

/// Two samples of which none softens do not show that one in twenty does: by Laplace's rule of succession (0 + 1)/(2 + 2)
/// may.
#[test]
fn a_few_samples_make_no_fan_robust() {
    let mut run = coarse();
    run.warm(-30.0);
    run.put("require.margin", 30.0);
    let with = |samples| {
        let sampling = Sampling { samples, seed: 1 };
        let one = [fan("axial-80")];
        size_fan(&run, &one, Some(sampling), &Options::default())
            .expect("runs")
            .candidates[0]
            .clone()
    };
    let few = with(2);
    assert_eq!(few.chance_softens, Some(0.0));
    assert_eq!(few.standing, Standing::Marginal);
    let many = with(128);
    assert!(many.chance_softens.is_some_and(|chance| chance <= 0.05));
    assert_eq!(many.standing, Standing::Robust);
    // Nor do they show that none is needed.
    run.put("require.margin", 3.0);
    let closed = |samples| {
        let sampling = Sampling { samples, seed: 1 };
        let one = [fan("axial-80")];
        let sizing = size_fan(&run, &one, Some(sampling), &Options::default()).expect("runs");
        (sizing.advice, sizing.verdict())
    };
    assert_eq!(closed(2), (Advice::ClosedMarginal, Verdict::Tight));
    assert_eq!(closed(128), (Advice::NoFan, Verdict::Holds));
}
