//! A room of four conductances and two capacities, heated by day: the network without a chamber.
//!
//! ```sh
//! cargo run --release --example room
//! ```

use dogdays::course::{Course, Points};
use dogdays::integrate::{IntegratorKind, Options};
use dogdays::network::*;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut builder = Builder::new(283.15, 101_325.0);
    let air = builder.node(Node::new("air", 200e3));
    let walls = builder.node(Node::new("walls", 8e6));
    let heater = builder.ledger("heater", Direction::In);
    let lost = builder.ledger("lost", Direction::Out);
    let mut network = builder.finish();
    let outdoors = network.given("outdoors", Course::Constant(278.15));
    let cellar = network.given("cellar", Course::Constant(285.15));

    // 1.5 kW from six to twenty-two, for three days.
    let hours = [0, 6, 22, 30, 46, 54, 70].map(|h| f64::from(h) * 3600.0);
    let powers_W = [0.0, 1500.0, 0.0, 1500.0, 0.0, 1500.0, 0.0];
    let heating = Course::steps(Points::new(hours.into(), powers_W.into())?.into());
    let mut room = Configuration::default();
    room.sources.push(Source::new(air, heating, heater));
    room.conductors.extend([
        Conductor::new(air, walls, 120.0),
        Conductor::new(walls, outdoors, 60.0).booked(lost),
        Conductor::new(air, outdoors, 25.0).booked(lost),
        Conductor::new(air, cellar, 15.0).booked(lost),
    ]);

    let schedule = Schedule::always(room);
    let (end_s, main) = (72.0 * 3600.0, IntegratorKind::Rosenbrock);
    let course = simulate(&network, &schedule, end_s, main, &Options::fine())?;
    let reading = Reading::new(&network, &schedule, &course);
    for h in (0..=72).step_by(6) {
        let at_s = f64::from(h) * 3600.0;
        let [air, walls] = [air, walls].map(|p| reading.temperature_K(p, at_s) - 273.15);
        println!("{h:>2} h: air {air:.2} °C, walls {walls:.2} °C");
    }
    let left = reading.heat().unaccounted_relative;
    println!("unaccounted for: {left:.0e} of the heat");
    Ok(())
}
