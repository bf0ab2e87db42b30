//! One check: what is computed, who says what it should be, and why so much may be missing.

/// An independent source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    Ashrae,
    BrownSolvason,
    CarslawJaeger,
    Churchill,
    Cibse,
    CommonPractice,
    Coolprop,
    Codata,
    Cvode,
    Epstein,
    Fluids,
    FoamBox,
    Ht,
    Howell,
    Iec60028,
    Iec60890,
    Incropera,
    Iso2533,
    Iso6946,
    LinearAlgebra,
    Modestpy,
    MonteCarlo,
    Mechanics,
    MortonTaylorTurner,
    Ngspice,
    Patankar,
    Psychrolib,
    Rehva,
    Scipy,
}

impl Source {
    pub const fn title(self) -> &'static str {
        match self {
            Self::Ashrae => "ASHRAE Handbooks, ventilation and infiltration, fans (from memory)",
            Self::BrownSolvason => {
                "Brown & Solvason 1962, Int. J. Heat Mass Transfer 5, 859-868 (from memory)"
            }
            Self::CarslawJaeger => {
                "Carslaw & Jaeger 1959, Conduction of Heat in Solids, 2nd ed. (closed solutions, from memory)"
            }
            Self::Churchill => "Churchill 1977, AIChE J. 23, 10-16 (from memory)",
            Self::Cibse => "CIBSE Guide A, ventilation and air infiltration (from memory)",
            Self::CommonPractice => "common practice, no source",
            Self::Coolprop => "CoolProp 8.0.0 (Python), equations of state",
            Self::Codata => "CODATA 2018, fundamental constants (from memory)",
            Self::Cvode => "SUNDIALS CVODE by scikit-sundae 1.2.0 (Python)",
            Self::Epstein => "Epstein 1988, J. Heat Transfer 110, 885-893 (from memory)",
            Self::Fluids => {
                "fluids 1.3.1 (Python), U.S. Standard Atmosphere 1976, friction and fittings"
            }
            Self::FoamBox => {
                "Feng et al. 2021, arXiv:2102.10390, a logged foam box with a heated plate"
            }
            Self::Ht => "ht 1.2.0 (Python), heat transfer correlations",
            Self::Howell => "Howell, A Catalog of Radiation Configuration Factors (from memory)",
            Self::Iec60028 => "IEC 60028, resistance of copper (from memory)",
            Self::Iec60890 => "IEC TR 60890, temperature rise in closed assemblies (from memory)",
            Self::Incropera => {
                "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, 6th ed. (from memory)"
            }
            Self::Iso2533 => "ISO 2533:1975 Standard Atmosphere, tables (from memory)",
            Self::Iso6946 => "ISO 6946, surface resistances (from memory)",
            Self::LinearAlgebra => {
                "exact solution of a linear system (matrix exponential, separation)"
            }
            Self::Modestpy => "modestpy 0.1.1 (Python), data set simple2R1C",
            Self::MonteCarlo => "Monte Carlo ray casting, numpy 2.4.6, fixed seed",
            Self::Mechanics => "mass and energy balance written by hand",
            Self::MortonTaylorTurner => {
                "Morton, Taylor & Turner 1956, Proc. R. Soc. A 234, 1-23 (from memory)"
            }
            Self::Ngspice => "ngspice (Debian), circuit simulator",
            Self::Patankar => "Patankar 1980, Numerical Heat Transfer and Fluid Flow (from memory)",
            Self::Psychrolib => "PsychroLib 2.5.0 (Python)",
            Self::Rehva => "Skistad et al. 2002, REHVA guidebook 1 (from memory)",
            Self::Scipy => {
                "scipy 1.17.1 (Python), quadrature, roots, interpolation and ODE solvers"
            }
        }
    }
}

/// How far ours may be from the source's.
#[derive(Debug, Clone, Copy)]
pub enum Tolerance {
    /// As a share of the source's value.
    Relative(f64),
    /// In the value's unit.
    Absolute(f64),
}

/// What is compared.
#[derive(Debug, Clone)]
pub enum Value {
    /// One number.
    Number { theirs: f64, ours: f64 },
    /// Many: their pairs (theirs, ours).
    Grid(Vec<(f64, f64)>),
}

#[derive(Debug, Clone)]
pub struct Case {
    /// Subject: the heading it stands under.
    pub subject: &'static str,
    /// What is computed, with the numbers that go in.
    pub what: String,
    pub unit: &'static str,
    pub source: Source,
    /// Where in the source.
    pub place: &'static str,
    pub value: Value,
    pub tolerance: Tolerance,
    /// Why so much.
    pub why: &'static str,
}

impl Case {
    /// Distance of ours from theirs in the tolerance's measure: the largest of a grid.
    pub fn deviation(&self) -> f64 {
        let of = |theirs: f64, ours: f64| {
            let d = (ours - theirs).abs();
            // NaN must not pass for small.
            if d.is_nan() {
                return f64::INFINITY;
            }
            match self.tolerance {
                Tolerance::Relative(_) => d / theirs.abs(),
                Tolerance::Absolute(_) => d,
            }
        };
        match &self.value {
            Value::Number { theirs, ours } => of(*theirs, *ours),
            Value::Grid(points) => points.iter().map(|(t, o)| of(*t, *o)).fold(0.0, f64::max),
        }
    }

    /// The same check on an imagined other machine: our numbers moved by `scale` times 1e-9 of
    /// themselves, and distances by `scale` times 1 %.
    pub fn moved(&self, scale: f64) -> Self {
        let value = match &self.value {
            Value::Number { theirs, ours } => Value::Number {
                theirs: *theirs,
                ours: ours * (1.0 + scale * 1e-9),
            },
            Value::Grid(points) => Value::Grid(
                points
                    .iter()
                    .map(|(t, o)| (*t, t + (o - t) * (1.0 + scale * 0.01)))
                    .collect(),
            ),
        };
        Self {
            value,
            ..self.clone()
        }
    }

    pub fn holds(&self) -> bool {
        let most = match self.tolerance {
            Tolerance::Relative(r) => r,
            Tolerance::Absolute(a) => a,
        };
        let empty = matches!(&self.value, Value::Grid(p) if p.is_empty());
        !empty && self.deviation() <= most
    }
}

/// A list of checks of one subject.
pub struct Cases {
    subject: &'static str,
    pub list: Vec<Case>,
}

impl Cases {
    pub fn new(subject: &'static str) -> Self {
        Self {
            subject,
            list: Vec::new(),
        }
    }

    #[allow(clippy::too_many_arguments)]
    fn push(
        &mut self,
        what: impl Into<String>,
        unit: &'static str,
        source: Source,
        place: &'static str,
        value: Value,
        tolerance: Tolerance,
        why: &'static str,
    ) {
        self.list.push(Case {
            subject: self.subject,
            what: what.into(),
            unit,
            source,
            place,
            value,
            tolerance,
            why,
        });
    }

    /// One number.
    #[allow(clippy::too_many_arguments)]
    pub fn number(
        &mut self,
        what: impl Into<String>,
        unit: &'static str,
        (source, place): (Source, &'static str),
        theirs: f64,
        ours: f64,
        tolerance: Tolerance,
        why: &'static str,
    ) {
        self.push(
            what,
            unit,
            source,
            place,
            Value::Number { theirs, ours },
            tolerance,
            why,
        );
    }

    /// Many numbers.
    pub fn grid(
        &mut self,
        what: impl Into<String>,
        unit: &'static str,
        (source, place): (Source, &'static str),
        pairs: Vec<(f64, f64)>,
        tolerance: Tolerance,
        why: &'static str,
    ) {
        self.push(
            what,
            unit,
            source,
            place,
            Value::Grid(pairs),
            tolerance,
            why,
        );
    }
}
