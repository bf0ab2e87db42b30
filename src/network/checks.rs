//! What must hold of a network and its schedule before they are run.

use super::elements::law::{Element, Visitor};
use super::error::NetworkError;
use super::fixed::Network;
use super::parts::{BodyId, Index, LedgerId};
use super::schedule::Schedule;
use crate::course::Course;

/// Looks at every element: ends, ledgers and bodies must be this network's.
struct Check<'a> {
    network: &'a Network,
    /// A point that is not there.
    point: Option<Index>,
    /// Whether a ledger or body is another network's.
    foreign: bool,
}

impl Visitor for Check<'_> {
    fn visit<E: Element>(&mut self, _: usize, element: &E) {
        let network = self.network;
        element.ends(&mut |point| {
            if point >= network.points() {
                self.point = Some(point);
            }
        });
        element.ledgers(&mut |LedgerId(k)| self.foreign |= k >= network.ledgers().len());
        element.bodies(&mut |BodyId(k)| self.foreign |= k >= network.bodies().len());
    }
}

/// Whether a network and its schedule can be run.
///
/// # Errors
/// When elements end at points that are not there, or ask for what can't be: see [`NetworkError`].
pub(crate) fn checked(network: &Network, schedule: &Schedule) -> Result<(), NetworkError> {
    let nodes = network.nodes();
    for node in nodes {
        if node.capacity_J_per_K.is_nan() || node.capacity_J_per_K < 0.0 {
            return Err(NetworkError::Capacity(node.name.clone()));
        }
    }
    for body in network.bodies() {
        let least = match &body.share {
            Course::Constant(f) => *f,
            Course::Swing {
                mean, amplitude, ..
            } => mean - amplitude.abs(),
            series => series.points().map(|p| p.1).fold(f64::INFINITY, f64::min),
        };
        if least.is_nan() || least <= 0.0 || body.share.jumps() || body.node >= nodes.len() {
            let name = nodes
                .get(body.node)
                .map_or_else(|| format!("point {}", body.node), |node| node.name.clone());
            return Err(NetworkError::Share(name));
        }
    }
    for (configuration, c) in schedule.configurations().iter().enumerate() {
        let mut check = Check {
            network,
            point: None,
            foreign: false,
        };
        c.each(&mut check);
        let mut held = Vec::new();
        for control in &c.controls {
            for point in [control.node(), control.measures()] {
                if point >= network.points() {
                    check.point = Some(point);
                }
            }
            check.foreign |= control.ledger().0 >= network.ledgers().len();
            let node = control.node();
            let grows = network.bodies().iter().any(|b| b.node == node);
            let without_mass = nodes.get(node).is_none_or(|n| n.capacity_J_per_K == 0.0);
            if control.holds() {
                if check.point.is_none() && (without_mass || grows || held.contains(&node)) {
                    return Err(NetworkError::Held(network.name(node).to_owned()));
                }
                held.push(node);
            }
        }
        if let Some(point) = check.point {
            return Err(NetworkError::Point {
                configuration,
                point,
                points: network.points(),
            });
        }
        if check.foreign {
            return Err(NetworkError::Foreign { configuration });
        }
        for paths in &c.air_paths {
            if !paths.fits() {
                return Err(NetworkError::Layers {
                    configuration,
                    layers: paths.layers.len(),
                    tops: paths.tops_m.len(),
                });
            }
        }
    }
    Ok(())
}
