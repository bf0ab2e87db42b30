//! The kinds of entries of the catalogue: what each is called and where its files are. Their keys are
//! declared in [`super::fields`].

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
}
