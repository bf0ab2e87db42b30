//! The sun that falls through clear panels: heat where it lands.
//!
//! All that comes in is absorbed inside, as in a black cavity: what a surface throws back another one takes. The
//! panels' own share is left out, and so is sun on opaque panels.

use super::thing::{Thing, is_inside, ledger};
use crate::chamber::build_error::BuildError;
use crate::chamber::site::Site;
use crate::network::{Builder, Configuration, Direction, LedgerId, Source};
use crate::run::Run;

/// Share of the sun on a motor's dark case that it takes (handbook values for dark paint and anodised
/// metal 0.85-0.95, from memory); the rest goes on to the frame.
const DARK_CASE: f64 = 0.9;
/// What a convex body shows to a beam, by its surface, taken over all directions (Cauchy's theorem).
const SHOWN: f64 = 0.25;

/// The sun.
pub struct Sun {
    /// Opened where there is something to book.
    heat: Option<LedgerId>,
}

/// Where the sun's heat lands, W for each W/m2 on the panels.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Landing {
    feeder_m2: f64,
    bed_m2: f64,
    frame_m2: f64,
}

/// Where it lands, as areas that take all that falls on the panels' plane.
fn landing(run: &Run) -> Option<Landing> {
    let sun = run.sun.as_ref()?;
    let whole_m2 = sun.transmittance * sun.area_m2;
    let motor = &run.machine.feeder.motor;
    let feeder_m2 = if is_inside(motor.place) {
        let taken_m2 = sun.transmittance * DARK_CASE * SHOWN * motor.area_m2;
        sun.on_feeder * taken_m2.min(whole_m2)
    } else {
        0.0
    };
    let bed_m2 = sun.on_bed * (whole_m2 - feeder_m2);
    Some(Landing {
        feeder_m2,
        bed_m2,
        frame_m2: whole_m2 - feeder_m2 - bed_m2,
    })
}

impl Sun {
    pub fn new(run: &Run, b: &mut Builder) -> Self {
        let there = run.sun.is_some();
        Self {
            heat: there.then(|| ledger(b, "sun", Direction::In, 65)),
        }
    }
}

impl Thing for Sun {
    fn elements(&self, site: &Site<'_>, c: &mut Configuration) -> Result<(), BuildError> {
        let (Some(sun), Some(landing), Some(heat)) = (&site.run.sun, landing(site.run), self.heat)
        else {
            return Ok(());
        };
        for (node, area_m2) in [
            (site.p.feeder, landing.feeder_m2),
            (site.p.bed, landing.bed_m2),
            (site.p.frame, landing.frame_m2),
        ] {
            if area_m2 > 0.0 {
                let power_W = sun.irradiance_W_per_m2.times(area_m2);
                c.sources.push(Source::new(node, power_W, heat));
            }
        }
        Ok(())
    }
}
