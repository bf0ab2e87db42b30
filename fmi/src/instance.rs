//! One unit at work, in safe code.
//!
//! Without the input, the run is integrated once as a whole, and a step only moves the moment that is read: what it
//! shows is what `dogdays check --csv` writes, whatever the steps. With the input, each step integrates on from the
//! state of the last, the given temperature held constant over the step.

use crate::RUN_FILE;
use crate::variables::{self, Meaning, Variable};
use dogdays::chamber::{IntegratorKind, Simulation, StationKind};
use dogdays::course::Course;
use dogdays::integrate::{Begin, Options};
use dogdays::network::{simulate, simulate_on};
use dogdays::{Chamber, Run, runfile};
use std::path::Path;

/// Steps may miss the moment at which the last one ended by so much, s.
const SAME_MOMENT_S: f64 = 1e-6;
/// What is integrated before the first step to have something to read at the start, s.
const BEGIN_S: f64 = 1e-3;

/// Where a unit is in the standard's order of calls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Made, or reset.
    Instantiated,
    /// Being initialised.
    Initialization,
    /// Stepping.
    Step,
    /// Over.
    Terminated,
}

/// A unit.
#[derive(Debug)]
pub struct Instance {
    run: Run,
    variables: Vec<Variable>,
    limits_K: [f64; StationKind::ALL.len()],
    /// The state of calls.
    pub state: State,
    use_input: bool,
    input_K: f64,
    start_K: f64,
    now_s: f64,
    course: Option<Simulation>,
    /// The same machine in a room that gains heat from nothing else, where the room is a node.
    bare: Option<Chamber>,
}

/// What can go wrong is told in words: there is nobody but a log to tell it to.
pub type Told<T> = Result<T, String>;

/// The run in a folder of resources.
///
/// # Errors
/// When it can't be read, with everything that is wrong with it.
pub fn run_of(resources: &Path) -> Told<Run> {
    let path = resources.join(RUN_FILE);
    Ok(runfile::load(&path, None).map_err(|e| e.to_string())?.run)
}

fn options() -> Options {
    Options {
        ledgers: false,
        ..Options::fine()
    }
}

impl Instance {
    /// A unit of the run in a folder of resources, known by a token.
    ///
    /// # Errors
    /// When the run can't be read or built, or is not the one that the token was made for.
    pub fn new(resources: &Path, token: &str) -> Told<Self> {
        let run = run_of(resources)?;
        let chamber = variables::chamber(&run)?;
        let variables = variables::of(&chamber);
        let own = variables::token(&variables);
        if own != token {
            return Err(format!(
                "the description belongs to another run: its token is \"{token}\", that of these resources \"{own}\"; make the unit anew"
            ));
        }
        let start_K = chamber.network.given_points()[0].course.at(0.0).0;
        Ok(Self {
            limits_K: StationKind::ALL.map(|s| s.limit_K(&run)),
            run,
            variables,
            state: State::Instantiated,
            use_input: false,
            input_K: start_K,
            start_K,
            now_s: 0.0,
            course: None,
            bare: None,
        })
    }

    /// Back to where it was made.
    pub fn reset(&mut self) {
        self.state = State::Instantiated;
        (self.use_input, self.input_K, self.now_s) = (false, self.start_K, 0.0);
        self.course = None;
    }

    /// Begins initialisation at a time, s.
    ///
    /// # Errors
    /// Out of turn, or before the run's start or after its end.
    pub fn enter_initialization(&mut self, start_s: f64) -> Told<()> {
        self.in_state(&[State::Instantiated], "fmi3EnterInitializationMode")?;
        self.within(start_s)?;
        self.now_s = start_s;
        self.state = State::Initialization;
        Ok(())
    }

    /// Ends it, with everything worked out.
    ///
    /// # Errors
    /// Out of turn, or when the run can't be integrated.
    pub fn exit_initialization(&mut self) -> Told<()> {
        self.in_state(&[State::Initialization], "fmi3ExitInitializationMode")?;
        self.course()?;
        self.state = State::Step;
        Ok(())
    }

    /// Ends it all.
    ///
    /// # Errors
    /// Out of turn.
    pub fn terminate(&mut self) -> Told<()> {
        self.in_state(&[State::Step], "fmi3Terminate")?;
        self.state = State::Terminated;
        Ok(())
    }

    /// One step from a moment, s, of a length, s; returns where it ended.
    ///
    /// # Errors
    /// Out of turn, past the run's end, elsewhere than where the last one ended, or when the integration fails.
    pub fn step(&mut self, from_s: f64, length_s: f64) -> Told<f64> {
        self.in_state(&[State::Step], "fmi3DoStep")?;
        if !(length_s > 0.0 && (from_s - self.now_s).abs() <= SAME_MOMENT_S) {
            return Err(format!(
                "a step of {length_s} s from {from_s} s does not follow on {} s",
                self.now_s
            ));
        }
        let to_s = from_s + length_s;
        self.within(to_s)?;
        let to_s = to_s.min(self.run.duration_s);
        if self.use_input {
            self.go_on(to_s)?;
        }
        self.now_s = to_s;
        Ok(to_s)
    }

    /// A number that is set.
    ///
    /// # Errors
    /// When it can't be set, now or ever, or is no temperature.
    pub fn set_number(&mut self, reference: u32, value: f64) -> Told<()> {
        let v = self.variable(reference)?;
        if v.meaning != Meaning::Input {
            return Err(format!("\"{}\" is no input", v.name));
        }
        let name = v.name.clone();
        let turns = [State::Instantiated, State::Initialization, State::Step];
        self.in_state(&turns, "fmi3SetFloat64")?;
        if !(150.0..=500.0).contains(&value) {
            return Err(format!("\"{name}\" must be from 150 to 500 K, not {value}"));
        }
        if self.state != State::Step && self.use_input {
            self.course = None;
        }
        self.input_K = value;
        Ok(())
    }

    /// A switch that is set.
    ///
    /// # Errors
    /// When it can't be set, now or ever.
    pub fn set_switch(&mut self, reference: u32, value: bool) -> Told<()> {
        let v = self.variable(reference)?;
        if v.meaning != Meaning::UseInput {
            return Err(format!("\"{}\" is no switch", v.name));
        }
        self.in_state(
            &[State::Instantiated, State::Initialization],
            "fmi3SetBoolean",
        )?;
        if value != self.use_input {
            self.course = None;
        }
        self.use_input = value;
        Ok(())
    }

    /// A switch.
    ///
    /// # Errors
    /// When there is none of that number.
    pub fn switch(&self, reference: u32) -> Told<bool> {
        let v = self.variable(reference)?;
        match v.meaning {
            Meaning::UseInput => Ok(self.use_input),
            _ => Err(format!("\"{}\" is no switch", v.name)),
        }
    }

    /// A number at the present moment, in the variable's unit.
    ///
    /// # Errors
    /// Before initialisation, when there is none of that number, or the run can't be integrated.
    pub fn number(&mut self, reference: u32) -> Told<f64> {
        let v = self.variable(reference)?;
        let (meaning, name) = (v.meaning, v.name.clone());
        let (now_s, limits_K) = (self.now_s, self.limits_K);
        match meaning {
            Meaning::Time => return Ok(now_s),
            Meaning::Input => return Ok(self.input_K),
            Meaning::UseInput => return Err(format!("\"{name}\" is no number")),
            Meaning::Limit(station) => return Ok(limits_K[station as usize]),
            _ => {}
        }
        if self.state == State::Instantiated {
            return Err(format!("\"{name}\" is known from initialisation on"));
        }
        if meaning == Meaning::HeatToRoom {
            return self.heat_to_room_W();
        }
        let course = self.course()?;
        let margin_K = |s: StationKind| limits_K[s as usize] - course.filament_K(s, now_s);
        Ok(match meaning {
            Meaning::Filament(station) => course.filament_K(station, now_s),
            Meaning::Margin(station) => margin_K(station),
            Meaning::LeastMargin => StationKind::ALL
                .map(margin_K)
                .into_iter()
                .fold(f64::INFINITY, f64::min),
            Meaning::Point(point) => course.temperature_K(point, now_s),
            _ => f64::NAN,
        })
    }

    fn heat_to_room_W(&mut self) -> Told<f64> {
        if self.bare.is_none()
            && let Some(building) = &self.run.room.building
        {
            let mut run = self.run.clone();
            let mut empty = building.clone();
            empty.envelope_W_per_K = 0.0;
            empty.air_changes_per_s = 0.0;
            empty.other_heat_W = 0.0;
            empty.cooler_max_W = 0.0;
            empty.sun_W = Course::Constant(0.0);
            empty.neighbours_W = Course::Constant(0.0);
            run.room.building = Some(empty);
            self.bare = Some(variables::chamber(&run)?);
        }
        let now_s = self.now_s;
        self.course()?;
        let Some(course) = &self.course else {
            return Ok(f64::NAN);
        };
        let (piece, x) = course.trajectory.locate(now_s);
        let schedule = &self.bare.as_ref().unwrap_or(&course.chamber).schedule;
        let room = course.chamber.points.room;
        Ok(course.reading().gain_W(schedule, piece, x, room))
    }

    fn variable(&self, reference: u32) -> Told<&Variable> {
        let found = self.variables.get(reference as usize);
        found.ok_or_else(|| format!("there is no variable with the value reference {reference}"))
    }

    fn in_state(&self, allowed: &[State], call: &str) -> Told<()> {
        if allowed.contains(&self.state) {
            return Ok(());
        }
        Err(format!(
            "{call} is out of turn: the unit is in the state {:?}",
            self.state
        ))
    }

    fn within(&self, t_s: f64) -> Told<()> {
        let end_s = self.run.duration_s;
        if t_s >= 0.0 && t_s <= end_s + SAME_MOMENT_S {
            return Ok(());
        }
        Err(format!(
            "the run lasts from 0 to {end_s} s; there is nothing at {t_s} s"
        ))
    }

    /// The course that is read, begun if it is not there.
    fn course(&mut self) -> Told<&Simulation> {
        if self.course.is_none() {
            self.course = Some(self.begun()?);
        }
        self.course.as_ref().ok_or_else(String::new)
    }

    fn begun(&self) -> Told<Simulation> {
        if !self.use_input {
            let kind = IntegratorKind::Rosenbrock;
            return Simulation::of(&self.run, kind, &options()).map_err(|e| e.to_string());
        }
        if self.now_s > 0.0 {
            return Err("with an input a unit must start at 0 s, where the run does".to_owned());
        }
        if !self.run.neighbours.is_empty() {
            return Err("a run beside other runs in one room can't have an input: what the others give off follows from the weather".to_owned());
        }
        // Everything that starts at the given temperature starts at the input's.
        let mut run = self.run.clone();
        run.room.weather = Course::Constant(self.input_K);
        let chamber = Chamber::new(&run).map_err(|e| e.to_string())?;
        let kind = IntegratorKind::Rosenbrock;
        let end_s = BEGIN_S.min(run.duration_s);
        let trajectory = simulate(&chamber.network, &chamber.schedule, end_s, kind, &options())
            .map_err(|e| e.to_string())?;
        Ok(Simulation {
            chamber,
            trajectory,
        })
    }

    /// Integrates on with the input.
    fn go_on(&mut self, to_s: f64) -> Told<()> {
        let (now_s, input_K) = (self.now_s, self.input_K);
        self.course()?;
        let Some(course) = &mut self.course else {
            return Ok(());
        };
        let (piece, x) = course.trajectory.locate(now_s);
        let mut state = vec![0.0; piece.width()];
        piece.at(x, &mut state);
        state.truncate(course.chamber.network.nodes().len());
        let from = Begin {
            at_s: now_s,
            stretch: piece.stretch,
            unknowns: &state,
        };
        let chamber = &mut course.chamber;
        chamber.network.give(0, Course::Constant(input_K));
        let (network, schedule) = (&chamber.network, &chamber.schedule);
        course.trajectory =
            simulate_on(network, schedule, from, to_s, &options()).map_err(|e| e.to_string())?;
        Ok(())
    }
}
