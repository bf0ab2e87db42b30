//! The kinds of entries of the catalogue: what each is called, where its files are, and their keys.

use super::fields::{fan::FAN, machine::MACHINE, material::MATERIAL, material::PANEL};
use super::schema::Table;

/// What an entry describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A machine.
    Machine,
    /// A material.
    Material,
    /// A panel build-up.
    Panel,
    /// A fan.
    Fan,
}

impl Kind {
    /// Every kind, in the order lists show them.
    pub const ALL: [Self; 4] = [Self::Machine, Self::Material, Self::Panel, Self::Fan];

    /// One of them, for sentences: "machine".
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Machine => "machine",
            Self::Material => "material",
            Self::Panel => "panel",
            Self::Fan => "fan",
        }
    }

    /// The folder that holds them: "machines".
    #[must_use]
    pub const fn folder(self) -> &'static str {
        match self {
            Self::Machine => "machines",
            Self::Material => "materials",
            Self::Panel => "panels",
            Self::Fan => "fans",
        }
    }

    /// The keys of its files.
    #[must_use]
    pub fn table(self) -> &'static Table {
        match self {
            Self::Machine => &MACHINE,
            Self::Material => &MATERIAL,
            Self::Panel => &PANEL,
            Self::Fan => &FAN,
        }
    }
}
