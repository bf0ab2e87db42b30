//! A fan's jet in a closed chamber: how fast it keeps the air moving.

/// Growth of a round jet's flow with the distance from its outlet, counted in outlet diameters.
const GROWTH_PER_DIAMETER: f64 = 0.32;

/// Mean speed at which a fan's jet keeps the air of a chamber moving, m/s.
///
/// A round jet takes up air on its way: at x from an outlet of diameter d it carries
/// `Q(x)/Q = 0.32 x/d`, which is its momentum's square root times 0.282 x whatever the outlet. What it
/// carries flows back beside it, so that the mean of the speed's size over a chamber of length L and
/// section A is Q(L)/A. The chamber's shape and the jet's direction are not known: L is the side of
/// the cube of equal volume, A its face. Where the outlet is so wide that the jet takes up nothing, it
/// is the flow over A.
///
/// * `flow_m3_per_s`: Q at the outlet. `outlet_m`: d. `volume_m3`: the chamber's volume.
///
/// Published range: the jet's law for L/d above about 13, free of walls; nearer it takes up less, but begins
/// with what the outlet gives: a third at one diameter, all at 13 (Hill 1972, J. Fluid Mech. 51, 773-779), which
/// leaves the flow within an eighth. A jet along a wall, or one that goes round and meets itself, moves the air faster: up to
/// three times (isothermal reverse flow in a ventilated room, 0.85 times the root of momentum over section,
/// from memory).
/// Worked example: 40 m3/h from 120 mm into 0.216 m3: 0.01111/0.36 * 0.32 * 0.6/0.12 = 0.0494 m/s.
///
/// Reference: Ricou & Spalding 1961, J. Fluid Mech. 11, 21-32, doi:10.1017/S0022112061000834 (the
/// number from memory).
#[must_use]
pub fn stirring_speed_m_per_s(flow_m3_per_s: f64, outlet_m: f64, volume_m3: f64) -> f64 {
    let length_m = volume_m3.cbrt();
    let growth = (GROWTH_PER_DIAMETER * length_m / outlet_m).max(1.0);
    flow_m3_per_s / (length_m * length_m) * growth
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, in momentum: 0.282 M^(1/2)/L with M = Q u0 and u0 = Q/(pi d^2/4). 0.282 is 0.32 pi^(1/2)/2
    /// rounded, which is 0.6 % off.
    #[test]
    fn the_jet_goes_by_its_momentum() {
        let (flow, d, volume): (f64, f64, f64) = (0.012, 0.06, 0.3);
        let speed = flow / (std::f64::consts::PI / 4.0 * d * d);
        let by_hand = 0.282 * (flow * speed).sqrt() / volume.cbrt();
        let ours = stirring_speed_m_per_s(flow, d, volume);
        assert!((ours / by_hand - 1.0).abs() < 0.01, "{ours} {by_hand}");
    }

    /// 40 m3/h through 120 mm into a cube of 0.6 m, and from an outlet as wide as the chamber.
    #[test]
    fn a_wide_outlet_makes_no_jet() {
        let flow = 40.0 / 3600.0;
        let jet = stirring_speed_m_per_s(flow, 0.12, 0.216);
        assert!((jet - 0.0494).abs() < 1e-4, "{jet}");
        let plug = stirring_speed_m_per_s(flow, 0.6, 0.216);
        assert!((plug - flow / 0.36).abs() < 1e-9, "{plug}");
    }
}
