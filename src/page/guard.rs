//! Who may ask, and what every answer carries.
//!
//! Any page in the same browser can send requests to this machine, and any program on it can. So the address has a
//! random token in its first part, without which nothing is answered; the `Host` must be this server's own, so that no
//! name of somebody else's can be made to point here; and where a browser says from which page a question comes, it
//! must be this one.

use axum::http::{HeaderMap, HeaderValue, Method, header};
use std::net::{IpAddr, SocketAddr};

/// Bytes of the token.
const TOKEN_BYTES: usize = 24;

/// What lets a page load its own parts and nothing else.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; \
    img-src 'self' data:; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What is asked of every request.
#[derive(Debug, Clone)]
pub struct Guard {
    token: String,
    address: SocketAddr,
}

/// Why a request is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Denied {
    /// The token is not in the path.
    #[error("nothing is here: open the whole address that the program printed")]
    Token,
    /// Asked under another name.
    #[error(
        "this server answers under its own address only: open the address that the program printed"
    )]
    Host,
    /// Asked by another page.
    #[error("another page asked this: open the address that the program printed")]
    Origin,
}

/// A token that nobody guesses, as letters, digits, `-` and `_`.
///
/// # Errors
/// When the system has no random bytes.
pub fn token() -> Result<String, getrandom::Error> {
    use base64::Engine;
    let mut bytes = [0; TOKEN_BYTES];
    getrandom::fill(&mut bytes)?;
    Ok(base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(bytes))
}

impl Guard {
    /// Of a server at this address.
    pub const fn new(token: String, address: SocketAddr) -> Self {
        Self { token, address }
    }

    /// The first part of every path.
    pub fn token(&self) -> &str {
        &self.token
    }

    /// Whether a request may be answered.
    ///
    /// # Errors
    /// Why not.
    pub fn admits(&self, path: &str, headers: &HeaderMap, method: &Method) -> Result<(), Denied> {
        let host = text(headers.get(header::HOST));
        if !host.is_some_and(|host| self.is_own(host)) {
            return Err(Denied::Host);
        }
        if let Some(origin) = headers.get(header::ORIGIN) {
            let from = text(Some(origin)).and_then(|origin| origin.strip_prefix("http://"));
            if from.is_none() || from != host {
                return Err(Denied::Origin);
            }
        }
        // A page of elsewhere may be followed from, but not ask.
        let site = headers.get("sec-fetch-site").map(|site| text(Some(site)));
        let may = |site: Option<&str>| matches!(site, Some("same-origin" | "none"));
        if site.is_some_and(|site| !may(site)) && (method != Method::GET || path.contains("/api/"))
        {
            return Err(Denied::Origin);
        }
        let first = path.strip_prefix('/').unwrap_or(path).split('/').next();
        if first.is_none_or(|first| !is_same(first, &self.token)) {
            return Err(Denied::Token);
        }
        Ok(())
    }

    /// Whether a `Host` is this server: its own address and port; a name only if it is this machine's. Where it
    /// listens on all addresses, any address: names are what others can bend.
    fn is_own(&self, host: &str) -> bool {
        let Some((name, port)) = host.rsplit_once(':') else {
            return false;
        };
        if port.parse() != Ok(self.address.port()) {
            return false;
        }
        let own = self.address.ip();
        let bare = name
            .strip_prefix('[')
            .and_then(|n| n.strip_suffix(']'))
            .unwrap_or(name);
        match bare.parse::<IpAddr>() {
            Ok(ip) => ip == own || own.is_unspecified() || (own.is_loopback() && ip.is_loopback()),
            Err(_) => {
                name.eq_ignore_ascii_case("localhost")
                    && (own.is_loopback() || own.is_unspecified())
            }
        }
    }
}

fn text(value: Option<&HeaderValue>) -> Option<&str> {
    value.and_then(|value| value.to_str().ok())
}

/// Equal, found out in a time that does not depend on where they differ.
fn is_same(a: &str, b: &str) -> bool {
    a.len() == b.len()
        && a.bytes()
            .zip(b.bytes())
            .fold(0, |sum, (a, b)| sum | (a ^ b))
            == 0
}

/// What every answer carries.
pub fn headers(of: &mut HeaderMap) {
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::X_FRAME_OPTIONS, "DENY"),
    ] {
        of.entry(name).or_insert(HeaderValue::from_static(value));
    }
    of.insert(
        "cross-origin-resource-policy",
        HeaderValue::from_static("same-origin"),
    );
    of.insert(
        "cross-origin-opener-policy",
        HeaderValue::from_static("same-origin"),
    );
    of.entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guard(address: &str) -> Guard {
        Guard::new("secret".to_owned(), address.parse().unwrap())
    }

    fn asks(guard: &Guard, path: &str, pairs: &[(&'static str, &str)]) -> Result<(), Denied> {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.insert(*name, value.parse().unwrap());
        }
        guard.admits(path, &headers, &Method::POST)
    }

    #[test]
    fn only_its_own_address_is_answered() {
        let guard = guard("127.0.0.1:8000");
        for host in [
            "127.0.0.1:8000",
            "localhost:8000",
            "LOCALHOST:8000",
            "[::1]:8000",
        ] {
            assert_eq!(
                asks(&guard, "/secret/", &[("host", host)]),
                Ok(()),
                "{host}"
            );
        }
        for host in [
            "127.0.0.1",
            "127.0.0.1:8001",
            "evil.example:8000",
            "localhost.evil.example:8000",
            "192.168.1.2:8000",
            "",
        ] {
            assert_eq!(
                asks(&guard, "/secret/", &[("host", host)]),
                Err(Denied::Host),
                "{host}"
            );
        }
        assert_eq!(asks(&guard, "/secret/", &[]), Err(Denied::Host));
    }

    #[test]
    fn on_all_addresses_no_name_is_answered() {
        let guard = guard("0.0.0.0:8000");
        assert_eq!(
            asks(&guard, "/secret/", &[("host", "192.168.1.2:8000")]),
            Ok(())
        );
        assert_eq!(
            asks(&guard, "/secret/", &[("host", "evil.example:8000")]),
            Err(Denied::Host)
        );
    }

    #[test]
    fn other_pages_may_not_ask() {
        let guard = guard("127.0.0.1:8000");
        let host = ("host", "127.0.0.1:8000");
        let with = |name, value| asks(&guard, "/secret/api/look", &[host, (name, value)]);
        assert_eq!(with("origin", "http://127.0.0.1:8000"), Ok(()));
        for origin in [
            "http://evil.example",
            "null",
            "https://127.0.0.1:8000",
            "http://127.0.0.1:8001",
            "http://localhost:8000",
        ] {
            assert_eq!(with("origin", origin), Err(Denied::Origin), "{origin}");
        }
        assert_eq!(with("sec-fetch-site", "same-origin"), Ok(()));
        for site in ["cross-site", "same-site", "nonsense"] {
            assert_eq!(with("sec-fetch-site", site), Err(Denied::Origin), "{site}");
        }
    }

    #[test]
    fn without_the_token_nothing_is_there() {
        let guard = guard("127.0.0.1:8000");
        for path in [
            "/",
            "",
            "/secre/",
            "/secrets/",
            "/api/look",
            "//secret/",
            "/x/secret/",
        ] {
            assert_eq!(
                asks(&guard, path, &[("host", "127.0.0.1:8000")]),
                Err(Denied::Token),
                "{path}"
            );
        }
        assert_eq!(
            asks(&guard, "/secret/a/b", &[("host", "127.0.0.1:8000")]),
            Ok(())
        );
    }

    /// 24 bytes are 32 signs of base 64.
    #[test]
    fn tokens_are_long_and_differ() {
        let (a, b) = (token().unwrap(), token().unwrap());
        assert!(a.len() == 32 && a != b);
        assert!(
            a.chars()
                .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_'),
            "{a}"
        );
    }
}
