#[path = "try.rs"]
#[allow(dead_code)]
mod t;
use dogdays::chamber::*; use dogdays::chamber::system::ChamberSystem; use dogdays::integrate::*; use dogdays::runfile::model::*;
use std::time::Instant;
fn main() {
    let r = t::run(ArrangementKind::Closed, Weather::Constant(304.0));
    let c = Chamber::new(&r).unwrap();
    let s = Chamber::new(&r).unwrap().simulate(&r, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
    println!("{:?}", s.trajectory.effort);
    let mut sys = ChamberSystem::new(&c);
    let (n, l) = (sys.unknowns(), sys.ledgers());
    let mut y = vec![0.0; n + l]; s.trajectory.at(50.0 * 3600.0, &mut y); y.truncate(n);
    sys.begin(0.0, &y); sys.begin(50.0 * 3600.0, &y);
    let mut dy = vec![0.0; n]; let mut le = vec![0.0; l];
    let t0 = Instant::now(); let reps = 20000;
    for _ in 0..reps { sys.rates(180000.0, &y, &mut dy, &mut le); }
    println!("n {n} l {l} rates {:?}", t0.elapsed() / reps);
    let mut lin = Linearisation::new(n, l);
    let t0 = Instant::now();
    for _ in 0..reps { sys.linearise(180000.0, &y, &mut lin); }
    println!("linearise {:?}", t0.elapsed() / reps);
    let pat: Vec<bool> = lin.jacobian.iter().map(|v| *v != 0.0).collect();
    println!("nnz {}", pat.iter().filter(|b| **b).count());
    let p = sparse_lu::Pattern::new(n, &pat); let mut f = sparse_lu::Factors::new(n);
    let t0 = Instant::now();
    for _ in 0..reps { f.factor(&p, 1.0 / 900.0, &lin.jacobian); }
    println!("factor {:?}", t0.elapsed() / reps);
    let mut x = dy.clone();
    let t0 = Instant::now();
    for _ in 0..reps { x.copy_from_slice(&dy); f.solve(&p, &mut x); }
    println!("solve {:?}", t0.elapsed() / reps);
    let cfg = &c.configurations[1];
    let mut t = vec![310.0; c.network.points()]; for (a, b) in t.iter_mut().zip(&y) { *a = c.network.reference_K + b; } 
    let mut sc = network_scratch(&c);
    macro_rules! time { ($n:expr, $e:expr) => { let mut cc = dogdays::network::Configuration::default(); $e(&mut cc); let modes = vec![]; let t0 = Instant::now(); for _ in 0..reps { cc.balance(&c.network, &t, 0.5, &modes, &mut sc); } print!("{} {:?}", $n, t0.elapsed() / reps); let t0 = Instant::now(); for _ in 0..reps { cc.slopes(&c.network, &mut t, 0.5, 0.0, &modes, &mut sc); } println!("  slopes {:?}", t0.elapsed() / reps); } }
    time!("none", |_c: &mut dogdays::network::Configuration| {});
    time!("conv", |x: &mut dogdays::network::Configuration| x.convectors = cfg.convectors.clone());
    println!("{} convectors", cfg.convectors.len());
    time!("encl", |x: &mut dogdays::network::Configuration| x.enclosures = cfg.enclosures.clone());
    time!("rad", |x: &mut dogdays::network::Configuration| x.radiators = cfg.radiators.clone());
    time!("air", |x: &mut dogdays::network::Configuration| x.air_paths = cfg.air_paths.clone());
    time!("plume", |x: &mut dogdays::network::Configuration| x.plume = cfg.plume.clone());
    time!("stream", |x: &mut dogdays::network::Configuration| x.stream = cfg.stream.clone());
    time!("cond", |x: &mut dogdays::network::Configuration| x.conductors = cfg.conductors.clone());
}
fn network_scratch(c: &Chamber) -> dogdays::network::evaluate::Scratch { dogdays::network::evaluate::Scratch::new(&c.network) }
