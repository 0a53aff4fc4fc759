//! How other machines reach this one: its name and addresses, as far as it knows them itself.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};

/// Addresses towards which the machine is asked for its own: one anywhere (RFC 5737, RFC 3849: nobody's), and one in
/// each private network (RFC 1918), for a yard without a way out.
const TOWARDS: [IpAddr; 5] = [
    IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1)),
    IpAddr::V4(Ipv4Addr::new(192, 168, 0, 1)),
    IpAddr::V4(Ipv4Addr::new(10, 0, 0, 1)),
    IpAddr::V4(Ipv4Addr::new(172, 16, 0, 1)),
    IpAddr::V6(Ipv6Addr::new(0x2001, 0xdb8, 0, 0, 0, 0, 0, 1)),
];

/// The machine's name, where it can be told.
pub fn host_name() -> Option<String> {
    let kept =
        || ["/proc/sys/kernel/hostname", "/etc/hostname"].iter().find_map(|path| std::fs::read_to_string(path).ok());
    let said = || ["HOSTNAME", "COMPUTERNAME"].iter().find_map(|name| std::env::var(name).ok());
    let name = kept().or_else(said)?.trim().to_ascii_lowercase();
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '.';
    (!name.is_empty() && name.len() <= 200 && name.chars().all(plain)).then_some(name)
}

/// Addresses of this machine in networks, the one that leads out first; none where there is no network.
pub fn addresses() -> Vec<IpAddr> {
    let mut found = Vec::new();
    for towards in TOWARDS {
        // A datagram socket is only told where it would send to: nothing is sent.
        let any: IpAddr = if towards.is_ipv4() { Ipv4Addr::UNSPECIFIED.into() } else { Ipv6Addr::UNSPECIFIED.into() };
        let asked = || {
            let socket = UdpSocket::bind((any, 0)).ok()?;
            socket.connect((towards, 9)).ok()?;
            Some(socket.local_addr().ok()?.ip())
        };
        if let Some(own) = asked().filter(|own| !own.is_loopback() && !own.is_unspecified())
            && !found.contains(&own)
        {
            found.push(own);
        }
    }
    found
}

/// Host and port under which others reach a server that listens at `listening`; `said` is what its host says of it.
pub fn reached_at(listening: SocketAddr, said: Option<&str>, addresses: &[IpAddr], name: Option<&str>) -> String {
    let port = listening.port();
    if let Some(said) = said {
        return with_port(said, port);
    }
    let own = (!listening.ip().is_unspecified()).then(|| listening.ip());
    match (own.or_else(|| addresses.first().copied()), name) {
        (Some(address), _) => SocketAddr::new(address, port).to_string(),
        (None, Some(name)) => format!("{name}:{port}"),
        (None, None) => format!("localhost:{port}"),
    }
}

/// A name or address with the port where it has none of its own.
fn with_port(said: &str, port: u16) -> String {
    if let Ok(address) = said.trim_matches(['[', ']']).parse::<IpAddr>() {
        return SocketAddr::new(address, port).to_string();
    }
    if said.contains(':') { said.to_owned() } else { format!("{said}:{port}") }
}

/// The host in `HOST` or `HOST:PORT`.
pub fn host_of(said: &str) -> String {
    if said.trim_matches(['[', ']']).parse::<IpAddr>().is_ok() {
        return said.trim_matches(['[', ']']).to_owned();
    }
    said.rsplit_once(':').map_or(said, |(host, _)| host).trim_matches(['[', ']']).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_host_says_wins_and_then_what_is_known() {
        let anywhere: SocketAddr = ([0, 0, 0, 0], 7313).into();
        let home: SocketAddr = ([192, 0, 2, 7], 80).into();
        let lan = [IpAddr::from([192, 0, 2, 9])];
        assert_eq!(reached_at(anywhere, None, &lan, Some("board")), "192.0.2.9:7313");
        assert_eq!(reached_at(home, None, &lan, Some("board")), "192.0.2.7:80");
        assert_eq!(reached_at(anywhere, None, &[], Some("board")), "board:7313");
        assert_eq!(reached_at(anywhere, None, &[], None), "localhost:7313");
        for (said, whole) in [
            ("boards.example", "boards.example:7313"),
            ("boards.example:443", "boards.example:443"),
            ("2001:db8::7", "[2001:db8::7]:7313"),
            ("[2001:db8::7]:443", "[2001:db8::7]:443"),
        ] {
            assert_eq!(reached_at(anywhere, Some(said), &lan, Some("board")), whole);
        }
        for (said, host) in
            [("boards.example:443", "boards.example"), ("board", "board"), ("2001:db8::7", "2001:db8::7")]
        {
            assert_eq!(host_of(said), host);
        }
        assert_eq!(host_of("[2001:db8::7]:443"), "2001:db8::7");
    }

    #[test]
    fn own_addresses_are_none_of_loopback() {
        assert!(addresses().iter().all(|address| !address.is_loopback() && !address.is_unspecified()));
    }
}
