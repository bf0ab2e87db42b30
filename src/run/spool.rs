//! The spools that a job is fed from.

/// What spools hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpoolMass {
    /// Filament on a full spool, kg.
    pub full_kg: f64,
    /// Filament on the spool that the job begins with, kg.
    pub first_kg: f64,
}

impl SpoolMass {
    /// What the spool of that number holds, the first being 0, kg.
    #[must_use]
    pub const fn of_kg(&self, spool: usize) -> f64 {
        if spool == 0 {
            self.first_kg
        } else {
            self.full_kg
        }
    }
}
