//! Which units each quantity may be written in, and their size in SI.

/// What kind of thing a value measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// An absolute temperature; SI unit K.
    Temperature,
    /// A difference of two temperatures; SI unit K.
    TemperatureDifference,
    /// A length; SI unit m.
    Length,
    /// An area; SI unit m2.
    Area,
    /// A volume; SI unit m3.
    Volume,
    /// A mass; SI unit kg.
    Mass,
    /// A mass fed per time; SI unit kg/s.
    MassFlow,
    /// A power or heat flow; SI unit W.
    Power,
    /// A volume flow; SI unit m3/s.
    Flow,
    /// A length of time; SI unit s.
    Time,
    /// A pressure or pressure difference; SI unit Pa.
    Pressure,
    /// A speed; SI unit m/s.
    Speed,
    /// A thermal conductance; SI unit W/K.
    Conductance,
    /// A heat transfer coefficient; SI unit W/(m2 K).
    HeatTransferCoefficient,
    /// Power of the sun by the area it falls on.
    Irradiance,
    /// A thermal conductivity; SI unit W/(m K).
    Conductivity,
    /// A specific heat capacity; SI unit J/(kg K).
    HeatCapacity,
    /// A density; SI unit kg/m3.
    Density,
    /// A thermal resistance of a layer; SI unit m2 K/W.
    Resistance,
    /// How often something happens; SI unit 1/s.
    Rate,
    /// A share of a whole, 0 to 1, or in per cent.
    Fraction,
    /// A pure number.
    Number,
}

/// A unit: `SI value = number * scale + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// How run files and reports write it.
    pub symbol: &'static str,
    /// Other spellings that are understood (after superscripts, dots and degree signs have been
    /// turned into plain letters).
    pub aliases: &'static [&'static str],
    /// Size of one unit in SI.
    pub scale: f64,
    /// SI value at the unit's zero; only temperatures have one.
    pub offset: f64,
}

const fn u(symbol: &'static str, aliases: &'static [&'static str], scale: f64) -> Unit {
    Unit {
        symbol,
        aliases,
        scale,
        offset: 0.0,
    }
}

// Exact by definition: inch and pound of 1959, BTU of the International Table (1956).
const INCH_M: f64 = 0.0254;
const FOOT_M: f64 = 0.3048;
const POUND_KG: f64 = 0.453_592_37;
const BTU_J: f64 = 1_055.055_852_62;
// The conventional inch of water (1000 kg/m3, 9.80665 m/s2): 9806.65 Pa/m * 0.0254 m.
const INCH_OF_WATER_PA: f64 = 9_806.65 * INCH_M;
const CUBIC_FOOT_M3: f64 = FOOT_M * FOOT_M * FOOT_M;

static TEMPERATURE: &[Unit] = &[
    Unit {
        symbol: "degC",
        aliases: &["C", "degc", "deg C", "celsius", "Celsius"],
        scale: 1.0,
        offset: 273.15,
    },
    Unit {
        symbol: "degF",
        aliases: &["F", "degf", "deg F", "fahrenheit", "Fahrenheit"],
        scale: 5.0 / 9.0,
        offset: 273.15 - 160.0 / 9.0,
    },
    u("K", &["kelvin", "Kelvin"], 1.0),
];
static DIFFERENCE: &[Unit] = &[u("K", &["kelvin", "Kelvin"], 1.0)];
static LENGTH: &[Unit] = &[
    u("mm", &[], 1e-3),
    u("cm", &[], 1e-2),
    u("m", &["metre", "metres"], 1.0),
    u("in", &["inch", "inches"], INCH_M),
    u("ft", &["foot", "feet"], FOOT_M),
];
static AREA: &[Unit] = &[
    u("mm2", &["sq mm"], 1e-6),
    u("cm2", &["sq cm"], 1e-4),
    u("m2", &["sq m"], 1.0),
    u("in2", &["sq in"], INCH_M * INCH_M),
    u("ft2", &["sq ft"], FOOT_M * FOOT_M),
];
static VOLUME: &[Unit] = &[
    u("L", &["l", "litre", "litres", "liter", "liters"], 1e-3),
    u("m3", &[], 1.0),
    u("cm3", &["ml", "mL"], 1e-6),
    u("ft3", &[], CUBIC_FOOT_M3),
];
static MASS: &[Unit] = &[
    u("g", &["gram", "grams"], 1e-3),
    u("kg", &["Kg", "KG"], 1.0),
    u("lb", &["lbs"], POUND_KG),
    u("oz", &[], POUND_KG / 16.0),
];
static MASS_FLOW: &[Unit] = &[
    u("g/h", &["g/hr"], 1e-3 / 3_600.0),
    u("kg/h", &["kg/hr"], 1.0 / 3_600.0),
    u("g/min", &[], 1e-3 / 60.0),
    u("kg/s", &[], 1.0),
];
static POWER: &[Unit] = &[
    u("W", &["w", "watt", "watts"], 1.0),
    u("kW", &["kw", "KW"], 1e3),
    u("mW", &[], 1e-3),
    u(
        "BTU/h",
        &["Btu/h", "btu/h", "BTU/hr", "Btu/hr"],
        BTU_J / 3_600.0,
    ),
];
static FLOW: &[Unit] = &[
    u("m3/h", &["m3/hr"], 1.0 / 3_600.0),
    u("L/s", &["l/s"], 1e-3),
    u("m3/s", &[], 1.0),
    u("L/min", &["l/min"], 1e-3 / 60.0),
    u("cfm", &["CFM", "ft3/min"], CUBIC_FOOT_M3 / 60.0),
];
static TIME: &[Unit] = &[
    u("s", &["sec", "second", "seconds"], 1.0),
    u("min", &["mins", "minute", "minutes"], 60.0),
    u("h", &["hr", "hrs", "hour", "hours"], 3_600.0),
    u("day", &["d", "days"], 86_400.0),
    u("week", &["weeks"], 604_800.0),
];
static PRESSURE: &[Unit] = &[
    u("Pa", &["pa"], 1.0),
    u("hPa", &[], 100.0),
    u("kPa", &[], 1e3),
    u("inH2O", &["in H2O", "inWG", "in wg"], INCH_OF_WATER_PA),
    u("mbar", &[], 100.0),
];
static SPEED: &[Unit] = &[u("m/s", &[], 1.0), u("mm/s", &[], 1e-3)];
static CONDUCTANCE: &[Unit] = &[u("W/K", &[], 1.0), u("mW/K", &[], 1e-3)];
static COEFFICIENT: &[Unit] = &[u("W/(m2 K)", &["W/m2/K"], 1.0)];
static IRRADIANCE: &[Unit] = &[u("W/m2", &[], 1.0), u("kW/m2", &[], 1e3)];
static CONDUCTIVITY: &[Unit] = &[u("W/(m K)", &["W/m/K"], 1.0)];
static HEAT_CAPACITY: &[Unit] = &[
    u("J/(kg K)", &["J/kg/K"], 1.0),
    u("kJ/(kg K)", &["kJ/kg/K", "J/(g K)"], 1e3),
];
static DENSITY: &[Unit] = &[u("kg/m3", &[], 1.0), u("g/cm3", &["g/ml", "g/mL"], 1e3)];
static RESISTANCE: &[Unit] = &[u("m2 K/W", &["K m2/W"], 1.0)];
static RATE: &[Unit] = &[
    u("1/h", &["/h", "1/hr", "per hour"], 1.0 / 3_600.0),
    u("1/s", &["/s"], 1.0),
];
static FRACTION: &[Unit] = &[u("%", &["percent", "per cent"], 1e-2), u("", &[], 1.0)];
static NUMBER: &[Unit] = &[u("", &[], 1.0)];

impl Quantity {
    /// Every quantity. Where a unit belongs to two (K), the first one is taken as its home.
    pub const ALL: [Self; 22] = [
        Self::Temperature,
        Self::TemperatureDifference,
        Self::Length,
        Self::Area,
        Self::Volume,
        Self::Mass,
        Self::MassFlow,
        Self::Power,
        Self::Flow,
        Self::Time,
        Self::Pressure,
        Self::Speed,
        Self::Conductance,
        Self::HeatTransferCoefficient,
        Self::Irradiance,
        Self::Conductivity,
        Self::HeatCapacity,
        Self::Density,
        Self::Resistance,
        Self::Rate,
        Self::Fraction,
        Self::Number,
    ];

    /// With its article, for sentences: "a temperature".
    #[must_use]
    pub const fn article_name(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::TemperatureDifference => "a temperature difference",
            Self::Length => "a length",
            Self::Area => "an area",
            Self::Volume => "a volume",
            Self::Mass => "a mass",
            Self::MassFlow => "a mass per time",
            Self::Power => "a power",
            Self::Flow => "a volume flow",
            Self::Time => "a length of time",
            Self::Pressure => "a pressure",
            Self::Speed => "a speed",
            Self::Conductance => "a thermal conductance",
            Self::HeatTransferCoefficient => "a heat transfer coefficient",
            Self::Irradiance => "an irradiance",
            Self::Conductivity => "a thermal conductivity",
            Self::HeatCapacity => "a heat capacity",
            Self::Density => "a density",
            Self::Resistance => "a thermal resistance",
            Self::Rate => "a rate",
            Self::Fraction => "a share (0 to 1, or per cent)",
            Self::Number => "a pure number",
        }
    }

    /// The units it may be written in.
    #[must_use]
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Temperature => TEMPERATURE,
            Self::TemperatureDifference => DIFFERENCE,
            Self::Length => LENGTH,
            Self::Area => AREA,
            Self::Volume => VOLUME,
            Self::Mass => MASS,
            Self::MassFlow => MASS_FLOW,
            Self::Power => POWER,
            Self::Flow => FLOW,
            Self::Time => TIME,
            Self::Pressure => PRESSURE,
            Self::Speed => SPEED,
            Self::Conductance => CONDUCTANCE,
            Self::HeatTransferCoefficient => COEFFICIENT,
            Self::Irradiance => IRRADIANCE,
            Self::Conductivity => CONDUCTIVITY,
            Self::HeatCapacity => HEAT_CAPACITY,
            Self::Density => DENSITY,
            Self::Resistance => RESISTANCE,
            Self::Rate => RATE,
            Self::Fraction => FRACTION,
            Self::Number => NUMBER,
        }
    }

    /// Whether a number without a unit is complete.
    #[must_use]
    pub const fn may_be_bare(self) -> bool {
        matches!(self, Self::Fraction | Self::Number)
    }

    /// Its units as a list for sentences: "g, kg, lb or oz".
    #[must_use]
    pub fn unit_list(self) -> String {
        let symbols: Vec<_> = self
            .units()
            .iter()
            .map(|unit| unit.symbol)
            .filter(|s| !s.is_empty())
            .collect();
        match symbols.split_last() {
            None => "no unit".to_owned(),
            Some((only, [])) => (*only).to_owned(),
            Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        }
    }
}

impl Unit {
    /// The SI value of a number in this unit.
    #[must_use]
    pub fn to_si(&self, number: f64) -> f64 {
        number.mul_add(self.scale, self.offset)
    }

    /// The number in this unit of an SI value.
    #[must_use]
    pub fn from_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.scale
    }
}
