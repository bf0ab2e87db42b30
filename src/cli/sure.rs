//! The options that say how sure a result shall be told to be.

use crate::study::band::Sampling;
use crate::study::certainty::points::MOST_POINTS;

/// What samples are drawn.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct SampleOptions {
    /// Make the band of so many runs, each with all values in doubt somewhere within their spreads.
    #[arg(
        long,
        value_name = "N",
        default_value_t = Sampling::default().samples,
        value_parser = clap::value_parser!(u32).range(2..=i64::from(MOST_POINTS))
    )]
    samples: u32,
    /// Which values they take: the same number gives the same result.
    #[arg(long, value_name = "N", default_value_t = Sampling::default().seed)]
    seed: u32,
}

impl SampleOptions {
    /// What is to be drawn.
    pub const fn sampling(self) -> Sampling {
        Sampling {
            samples: self.samples,
            seed: self.seed,
        }
    }
}

/// Options of what tells how sure it is.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct BandOptions {
    /// Leave out how sure the result is: no band, no chance of softening.
    #[arg(long, conflicts_with_all = ["samples", "seed"])]
    no_band: bool,
    #[command(flatten)]
    drawn: SampleOptions,
}

impl BandOptions {
    /// What is to be drawn; none where nobody wants to know.
    pub fn sampling(self) -> Option<Sampling> {
        (!self.no_band).then_some(self.drawn.sampling())
    }
}
