//! The server: bound first, told second, gone as soon as somebody asks for it.

use super::guard::{Guard, token};
use super::routes::{Server, router};
use super::shop::Shop;
use std::future::Future;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

/// How long requests in flight may take once the end is asked for.
const DRAIN: Duration = Duration::from_millis(100);

/// Where to listen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Listening {
    /// The address.
    pub ip: IpAddr,
    /// The port; without one, any that is free.
    pub port: Option<u16>,
}

impl Default for Listening {
    fn default() -> Self {
        Self {
            ip: Ipv4Addr::LOCALHOST.into(),
            port: None,
        }
    }
}

/// Why there is no page.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ServeError {
    /// Somebody else listens there.
    #[error(
        "port {0} is in use by another program; name another with --port, or leave --port out and any free one is taken"
    )]
    InUse(u16),
    /// The system keeps it.
    #[error(
        "port {0} is not for ordinary users; name one from 1024 up with --port, or leave --port out"
    )]
    NotPermitted(u16),
    /// No address of this machine.
    #[error(
        "{0} is no address of this machine; leave --listen out to be reached from this machine only"
    )]
    NoAddress(IpAddr),
    /// What the system says.
    #[error("the page can't be served: {0}")]
    System(#[from] io::Error),
    /// The token can't be made.
    #[error("the system gives no random numbers for the page's address: {0}")]
    Random(#[from] getrandom::Error),
}

/// Serves the page until `end` comes; `announce` is told its whole address once it can be opened.
///
/// # Errors
/// When it can't listen there, or the system fails.
pub fn serve<E: Future<Output = ()>>(
    shop: Shop,
    listening: Listening,
    announce: impl FnOnce(&str) -> io::Result<()>,
    end: impl FnOnce() -> io::Result<E>,
) -> Result<(), ServeError> {
    let address = SocketAddr::new(listening.ip, listening.port.unwrap_or(0));
    let listener = std::net::TcpListener::bind(address).map_err(|e| refused(e, address))?;
    listener.set_nonblocking(true)?;
    let address = listener.local_addr()?;
    let guard = Guard::new(token()?, address);
    let url = format!("http://{}/{}/", reached_at(address), guard.token());
    let app = router(Arc::new(Server::new(shop, guard)));
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let done = runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        // Whoever reads the address may end the program at once.
        let end = end()?;
        announce(&url)?;
        tokio::select! {
            served = async { axum::serve(listener, app).await } => served,
            () = end => Ok(()),
        }
    });
    // What is still worked out is left to the end of the program.
    runtime.shutdown_timeout(DRAIN);
    done.map_err(ServeError::System)
}

/// The address under which a browser on this machine reaches it.
fn reached_at(address: SocketAddr) -> SocketAddr {
    if address.ip().is_unspecified() {
        SocketAddr::new(Ipv4Addr::LOCALHOST.into(), address.port())
    } else {
        address
    }
}

fn refused(e: io::Error, address: SocketAddr) -> ServeError {
    match e.kind() {
        io::ErrorKind::AddrInUse => ServeError::InUse(address.port()),
        io::ErrorKind::PermissionDenied => ServeError::NotPermitted(address.port()),
        io::ErrorKind::AddrNotAvailable => ServeError::NoAddress(address.ip()),
        _ => ServeError::System(e),
    }
}
