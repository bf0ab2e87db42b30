//! From a run file's text to a [`Loaded`] run: lays the user's values over the catalogue's, fills
//! in defaults, and checks what belongs together.

use super::job::{self, Plan};
use super::room::{self, Span};
use super::variants::{self, Variant};
use super::{Fetch, Loaded, machine};
use crate::catalogue::Catalogue;
use crate::coefficients::{Coefficient, Coefficients};
use crate::keys::complete::complete;
use crate::keys::explain;
use crate::keys::fields::{RUN_FILE, machine::MACHINE_OVERRIDES};
use crate::keys::kinds::Kind as EntryKind;
use crate::keys::problem::{Mark, Problem, Problems, Source};
use crate::keys::reader::read_source;
use crate::keys::schema::{Kind, Table};
use crate::keys::section::{Data, Origin, Section, Value};
use crate::quantity::Quantity;
use crate::run::{Arrangement, ArrangementKind, Machine, Material, Part, Requirements, Run};

/// Infill, shells and supports taken together: what a part's outline weighs compared with the
/// solid, when its height or footprint is not given (common practice, no source).
const BULK_SHARE: f64 = 0.6;

pub(super) fn parse_with(
    text: &str,
    file_name: &str,
    fetch: Fetch<'_>,
    catalogue: &Catalogue,
) -> Result<Loaded, Problems> {
    if text.trim().is_empty() {
        let problem = Problem::in_file(file_name, "this file is empty")
            .help("a run file has the tables [run], [machine], [material], [part] and [room]");
        return Err(problem.into());
    }
    let source = Source::new(file_name, text);
    let mut builder = Builder {
        file: file_name,
        catalogue,
        fetch,
        problems: Vec::new(),
    };
    let loaded = builder.build(&source);
    let compare = match &loaded {
        Some((_, _, typed, named)) => builder.variants(typed, named),
        None => Vec::new(),
    };
    let (errors, hints): (Vec<_>, Vec<_>) =
        builder.problems.into_iter().partition(Problem::is_error);
    match loaded {
        Some((run, provenance, _, _)) if errors.is_empty() => {
            let warnings = Problems::new(hints).as_slice().to_vec();
            Ok(Loaded {
                run,
                warnings,
                provenance,
                compare,
            })
        }
        // Hints stay out of the way while there are errors to mend.
        _ if errors.is_empty() => Err(Problem::in_file(
            file_name,
            "this run could not be understood, and the program can't say why",
        )
        .help("please report this, with the run file")
        .into()),
        _ => Err(Problems::new(errors)),
    }
}

/// A run, where its values came from, what was typed for it, and its `[[compare]]` tables.
type Built = (Run, Vec<super::Stated>, Section, Vec<Section>);

/// Collects what is wrong while the parts of a run are put together.
pub(super) struct Builder<'a> {
    file: &'a str,
    catalogue: &'a Catalogue,
    fetch: Fetch<'a>,
    pub(super) problems: Vec<Problem>,
}

impl Builder<'_> {
    fn build(&mut self, source: &std::sync::Arc<Source>) -> Option<Built> {
        let mut typed = read_source(source, &RUN_FILE, Origin::Typed, &mut self.problems)?;
        let named = variants::take(&mut typed);
        let (run, provenance) = self.run(typed.clone())?;
        Some((run, provenance, typed, named))
    }

    /// The runs of every `[[compare]]`. Mistakes of the run itself are shown first and alone.
    fn variants(&mut self, typed: &Section, named: &[Section]) -> Vec<Variant> {
        let mut made: Vec<Variant> = Vec::new();
        if self.problems.iter().any(Problem::is_error) {
            return made;
        }
        for changes in named {
            let mut changes = changes.clone();
            let header = changes.mark.clone();
            let Some((name, mark)) = variants::take_name(&mut changes) else {
                let help = "add a line name = \"cooler bed\"";
                self.error(header.as_ref(), "this [[compare]] needs a `name`", help);
                continue;
            };
            if made.iter().any(|v| v.name == name) {
                let message = format!("there are two [[compare]] of the name \"{name}\"");
                self.error(mark.as_ref(), message, "give each a name of its own");
                continue;
            }
            let known = self.problems.len();
            let run = self.run(variants::changed(typed, changes));
            variants::own_problems(&mut self.problems, known, &name);
            if let Some(run) = run.map(|(run, _)| run) {
                made.push(Variant { name, run });
            }
        }
        made
    }

    fn run(&mut self, mut root: Section) -> Option<(Run, Vec<super::Stated>)> {
        self.lay_over(&mut root, "machine", EntryKind::Machine, "width");
        self.lay_over(
            &mut root,
            "material",
            EntryKind::Material,
            "softening_limit",
        );
        if let Some(machine) = section_mut(&mut root, "machine") {
            self.resolve_panels(machine, &MACHINE_OVERRIDES);
        }
        complete(&mut root, "", &RUN_FILE, self.file, &mut self.problems);

        let run = root.section("run");
        let span = run.and_then(|run| {
            Some(Span {
                start: run.date_time("start")?,
                duration_s: run.number("duration")?,
            })
        });
        let machine = self.machine(&root);
        let material = root
            .section("material")
            .and_then(|section| machine::material(section, name_of(section)));
        self.derive(&mut root, machine.as_ref(), material.as_ref());
        let part = self.part(&root, machine.as_ref(), material.as_ref());
        let plan = self.plan(&root, span.as_ref(), part.as_ref());
        let room = root.section("room").and_then(|section| {
            room::room(
                section,
                span.as_ref(),
                self.fetch,
                self.file,
                &mut self.problems,
            )
        });
        let arrangement = root
            .section("arrangement")
            .and_then(|section| self.arrangement(section));
        let schedule = self.schedule(&root, span.as_ref(), plan.as_ref());
        let system = root
            .section("system")
            .and_then(|section| self.system(section));
        let requirements = self.requirements(&root, arrangement.as_ref());
        let coefficients = coefficients(&root);
        self.odd_setpoints(&root, material.as_ref());

        drop_idle_defaults(&mut root);
        let mut provenance = Vec::new();
        explain::explain(&root, "", &RUN_FILE, &mut provenance);
        let span = span?;
        let run = Run {
            name: root.section("run")?.text("name")?.to_owned(),
            start: span.start,
            duration_s: span.duration_s,
            machine: machine?,
            material: material?,
            phases: plan?.phases,
            part: part?,
            room: room?,
            arrangement: arrangement?,
            schedule: schedule?,
            system: system?,
            requirements: requirements?,
            coefficients: coefficients?,
        };
        Some((run, provenance))
    }

    pub(super) fn error(
        &mut self,
        mark: Option<&Mark>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.problems
            .push(Problem::at_or_in(mark, self.file, message).help(help));
    }

    pub(super) fn hint(
        &mut self,
        mark: Option<&Mark>,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.problems.push(
            Problem::at_or_in(mark, self.file, message)
                .help(help)
                .as_hint(),
        );
    }

    /// Puts the catalogue's values under the typed ones. `telling` is a key that only a full
    /// description has: with it, no name is needed.
    fn lay_over(&mut self, root: &mut Section, key: &'static str, kind: EntryKind, telling: &str) {
        let Some(typed) = root.section(key) else {
            return;
        };
        let mut known_name = None;
        let base = match typed.text("name") {
            Some(name) => match self.catalogue.get(kind, name) {
                Some(entry) => {
                    known_name = Some(entry.name.clone());
                    entry.read(&mut self.problems)
                }
                None => {
                    let message =
                        format!("there is no {} \"{name}\" in the catalogue", kind.name());
                    let mut help = self.catalogue.suggestion(kind, name);
                    help.push_str("; one of your own is found with --models FOLDER");
                    self.error(typed.mark_of("name"), message, help);
                    None
                }
            },
            None if typed.is_bad("name") => None,
            None if typed.has(telling) => return,
            None => {
                let names: Vec<_> = self.catalogue.list(kind).map(|e| e.name.as_str()).collect();
                let message = format!("[{key}] needs `name`, or a full description");
                let help = format!("add name = \"...\" with one of {}", names.join(", "));
                self.error(typed.mark.as_ref(), message, help);
                None
            }
        };
        let Some(value) = root.entries.get_mut(key) else {
            return;
        };
        value.data = match (base, std::mem::replace(&mut value.data, Data::Bad)) {
            (Some(base), Data::Section(mut typed)) => {
                // "PETG" was typed, "petg" is its name.
                if let (Some(name), Some(value)) = (known_name, typed.entries.get_mut("name")) {
                    value.data = Data::Text(name);
                }
                Data::Section(base.overlaid(typed))
            }
            _ => Data::Bad,
        };
    }

    /// Replaces names of panels by what the catalogue says of them.
    fn resolve_panels(&mut self, section: &mut Section, schema: &'static Table) {
        for field in schema.fields {
            if !matches!(field.kind, Kind::Panel(_)) {
                continue;
            }
            let Some(Value { data, mark, .. }) = section.entries.get_mut(field.key) else {
                continue;
            };
            let Data::Text(name) = data else { continue };
            let name = name.clone();
            if let Some(entry) = self.catalogue.get(EntryKind::Panel, &name) {
                let read = entry.read(&mut self.problems);
                let origin = Origin::Catalogue(entry.name.clone());
                let file_name = entry.name.clone();
                *data = read.map_or(Data::Bad, |mut panel| {
                    let name = Value {
                        data: Data::Text(file_name),
                        mark: mark.clone(),
                        origin,
                    };
                    panel.entries.insert("name", name);
                    Data::Section(panel)
                });
            } else {
                let message = format!("there is no panel \"{name}\" in the catalogue");
                let help = self.catalogue.suggestion(EntryKind::Panel, &name);
                self.problems
                    .push(Problem::at_or_in(mark.as_ref(), self.file, message).help(help));
                *data = Data::Bad;
            }
        }
    }

    fn machine(&mut self, root: &Section) -> Option<Machine> {
        let section = root.section("machine")?;
        machine::check(section, self.file, &mut self.problems);
        machine::machine(section, name_of(section))
    }

    /// Works out what the user may leave away, and notes how.
    fn derive(&self, root: &mut Section, machine: Option<&Machine>, material: Option<&Material>) {
        if let Some(material) = material {
            if let Some(job) = section_mut(root, "job") {
                job.derive("bed", material.bed_K, "the material's usual one");
                job.derive("nozzle", material.nozzle_K, "the material's usual one");
            }
            if let (Some(require), Some(chamber_min_K)) =
                (section_mut(root, "require"), material.chamber_min_K)
            {
                require.derive("chamber_min", chamber_min_K, "the material's");
            }
        }
        let bed_m2 = machine.map_or(f64::INFINITY, |m| m.bed.width_m * m.bed.depth_m);
        if let (Some(part), Some(material)) = (section_mut(root, "part"), material)
            && let Some(mass_kg) = part.number("mass")
            && !part.is_bad("footprint")
            && !part.is_bad("height")
        {
            let volume_m3 = mass_kg / (BULK_SHARE * material.density_kg_per_m3);
            let how = "at a bulk density of 60 % of the material's";
            match part.number("height") {
                Some(height_m) => {
                    part.derive(
                        "footprint",
                        volume_m3 / height_m,
                        format!("from mass and height, {how}"),
                    );
                }
                None => part.derive(
                    "footprint",
                    volume_m3.cbrt().powi(2).min(bed_m2),
                    format!("that of a cube, or the bed's area if that is less, {how}"),
                ),
            }
            if let Some(footprint_m2) = part.number("footprint") {
                part.derive(
                    "height",
                    volume_m3 / footprint_m2,
                    format!("from mass and footprint, {how}"),
                );
            }
        }
    }

    fn part(
        &mut self,
        root: &Section,
        machine: Option<&Machine>,
        material: Option<&Material>,
    ) -> Option<Part> {
        let section = root.section("part")?;
        let part = Part {
            mass_kg: section.number("mass")?,
            footprint_m2: section.number("footprint")?,
            height_m: section.number("height")?,
        };
        let area = |m2| Quantity::Area.to_text(m2, "cm2");
        let length = |m| Quantity::Length.to_text(m, "mm");
        if let Some(machine) = machine {
            let bed_m2 = machine.bed.width_m * machine.bed.depth_m;
            if part.footprint_m2 > bed_m2 * 1.001 {
                let message = format!(
                    "the part covers {}, but the bed has only {}",
                    area(part.footprint_m2),
                    area(bed_m2)
                );
                self.error(
                    section.mark_of("footprint"),
                    message,
                    "change part.footprint, or give part.height, or take a larger machine",
                );
            }
            if part.height_m > machine.height_m {
                let key = if section.is_typed("height") {
                    "height"
                } else {
                    "mass"
                };
                let message = format!(
                    "the part is {} high, but the chamber only {}",
                    length(part.height_m),
                    length(machine.height_m)
                );
                let help = "change part.height, part.footprint or part.mass; a height that is not given is worked out at a bulk density of 60 %";
                self.error(section.mark_of(key), message, help);
            }
        }
        if let Some(material) = material {
            let bulk = part.mass_kg / (part.footprint_m2 * part.height_m);
            // Footprints are rough; 5 % above the solid can still be a solid part.
            if bulk > 1.05 * material.density_kg_per_m3 {
                let message = format!(
                    "a part of {} on {} and {} high would be denser than solid {}",
                    Quantity::Mass.to_text(part.mass_kg, "kg"),
                    area(part.footprint_m2),
                    length(part.height_m),
                    material.name
                );
                self.error(
                    section.mark_of("mass"),
                    message,
                    "check part.mass, part.footprint and part.height",
                );
            }
        }
        Some(part)
    }

    fn plan(&mut self, root: &Section, span: Option<&Span>, part: Option<&Part>) -> Option<Plan> {
        let job = root.section("job")?;
        // A mass that is wrong elsewhere must not hide what is wrong with the phases, unless
        // they feed by themselves.
        let mass_kg = part.map(|part| part.mass_kg);
        if mass_kg.is_none() && job.has("phase") {
            return None;
        }
        let frame = job::Frame {
            duration_s: span?.duration_s,
            mass_kg: mass_kg.unwrap_or(1.0),
            file: self.file,
        };
        job::plan(job, &frame, &mut self.problems)
    }

    fn requirements(
        &mut self,
        root: &Section,
        arrangement: Option<&Arrangement>,
    ) -> Option<Requirements> {
        let section = root.section("require")?;
        let requirements = Requirements {
            margin_K: section.number("margin")?,
            must_stay_closed: section.flag("must_stay_closed")?,
            chamber_min_K: section.number("chamber_min"),
        };
        if requirements.must_stay_closed
            && let Some(arrangement) = arrangement
            && matches!(
                arrangement.kind,
                ArrangementKind::LidOff | ArrangementKind::DoorOpen
            )
        {
            let message = "the machine must stay closed, but this run's arrangement leaves it open";
            self.hint(
                section.mark_of("must_stay_closed"),
                message,
                "change arrangement.kind or require.must_stay_closed",
            );
        }
        Some(requirements)
    }

    /// Setpoints that are legal but do not go with the material.
    fn odd_setpoints(&mut self, root: &Section, material: Option<&Material>) {
        let (Some(job), Some(material)) = (root.section("job"), material) else {
            return;
        };
        let text = |k| Quantity::Temperature.to_text(k, "degC");
        if let Some(nozzle_K) = job.number("nozzle")
            && job.is_typed("nozzle")
            && (nozzle_K - material.nozzle_K).abs() > 60.0
        {
            let message = format!(
                "a nozzle at {} is unusual for {}; usual is about {}",
                text(nozzle_K),
                material.name,
                text(material.nozzle_K)
            );
            self.hint(
                job.mark_of("nozzle"),
                message,
                "check job.nozzle and material.name",
            );
        }
    }
}

/// Defaults of keys that have no part in this run would only puzzle whoever reads it explained.
fn drop_idle_defaults(root: &mut Section) {
    let mut drop = |table: &str, key: &str, is_used: &dyn Fn(&Section) -> bool| {
        if let Some(section) = section_mut(root, table)
            && !section.is_typed(key)
            && !is_used(section)
        {
            section.entries.remove(key);
        }
    };
    drop("room", "warmest_at", &|room| room.has("mean"));
    drop("room", "time_column", &|room| room.has("series"));
    drop("arrangement", "fan_power", &|arrangement| {
        arrangement.text("kind") == Some("recirculating")
    });
}

fn section_mut<'s>(root: &'s mut Section, key: &str) -> Option<&'s mut Section> {
    match &mut root.entries.get_mut(key)?.data {
        Data::Section(section) => Some(section),
        _ => None,
    }
}

fn name_of(section: &Section) -> String {
    section
        .text("name")
        .or_else(|| section.text("title"))
        .unwrap_or("own")
        .to_owned()
}

/// The coefficients: defaults, and what the run file sets, in the unit of each description.
fn coefficients(root: &Section) -> Option<Coefficients> {
    let mut coefficients = Coefficients::default();
    let Some(section) = root.section("coefficients") else {
        return (!root.is_bad("coefficients")).then_some(coefficients);
    };
    for coefficient in Coefficient::ALL {
        let known = coefficient.describe();
        if !section.has(known.name) {
            continue;
        }
        let si = section.number(known.name)?;
        let Kind::Quantity(range) = crate::keys::fields::COEFFICIENTS.field(known.name)?.kind
        else {
            return None;
        };
        // The limits' unit is the description's: its size is what one of it is in SI.
        coefficients.set(coefficient, si / range.si(1.0));
    }
    Some(coefficients)
}
