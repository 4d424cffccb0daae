//! At which address of this computer the workshop's network may reach the page.
use crate::error::Refused;
use std::collections::BTreeSet;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// The port if none is named: the usual second one for HTTPS, above those that need a system's leave.
pub const USUAL_PORT: u16 = 8443;

/// Where a packet would have to go for the system to tell from which address it would leave: a documentation network
/// (RFC 5737) for the usual way out, and the last address of each private range (RFC 1918) for ways of their own.
const TOWARDS: [Ipv4Addr; 4] = [
    Ipv4Addr::new(192, 0, 2, 1),
    Ipv4Addr::new(10, 255, 255, 254),
    Ipv4Addr::new(172, 31, 255, 254),
    Ipv4Addr::new(192, 168, 255, 254),
];

/// The address a maker typed: `192.168.1.20` or `192.168.1.20:8443`.
///
/// # Errors
/// [`Refused`] `wrong_address` for what is no address; `not_private` for one that is not of a private network, and for
/// "every address".
pub fn typed(text: &str) -> Result<SocketAddr, Refused> {
    let text = text.trim();
    let socket = text.parse::<SocketAddr>().ok();
    let address = socket.or_else(|| text.parse::<IpAddr>().ok().map(|ip| SocketAddr::new(ip, USUAL_PORT)));
    let Some(address) = address else {
        let shown: String = text.chars().take(60).collect();
        return Err(Refused::new(
            "wrong_address",
            format!("\"{shown}\" is no address"),
            "give this computer's own address in the workshop's network, such as 192.168.1.20 or 192.168.1.20:8443",
        ));
    };
    check(address.ip())?;
    Ok(SocketAddr::new(address.ip().to_canonical(), address.port()))
}

/// The one private address of this computer, found without sending anything.
///
/// # Errors
/// [`Refused`] `no_private_address` if there is none, `several_addresses` if there are several: the maker must say which.
pub fn found() -> Result<SocketAddr, Refused> {
    // Connecting a UDP socket only asks the system for the way; no packet leaves.
    let way = |to: Ipv4Addr| {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        socket.connect((to, 9)).ok()?;
        Some(socket.local_addr().ok()?.ip())
    };
    only(&TOWARDS.into_iter().filter_map(way).collect())
}

fn only(ways: &BTreeSet<IpAddr>) -> Result<SocketAddr, Refused> {
    let private: Vec<&IpAddr> = ways.iter().filter(|ip| !ip.is_loopback() && check(**ip).is_ok()).collect();
    match private.as_slice() {
        [one] => Ok(SocketAddr::new(**one, USUAL_PORT)),
        [] => Err(Refused::new(
            "no_private_address",
            "no address of this computer in a private network was found",
            "connect it to the workshop's network, or give the address that the system's network settings show: barwright serve --lan 192.168.1.20",
        )),
        several => {
            let list: Vec<String> = several.iter().map(ToString::to_string).collect();
            Err(Refused::new(
                "several_addresses",
                format!("this computer has several private addresses: {}", list.join(", ")),
                format!("say which one is the workshop's network, such as barwright serve --lan {}", list[0]),
            ))
        }
    }
}

/// Refuses whatever the whole world, or every network at once, could reach.
fn check(ip: IpAddr) -> Result<(), Refused> {
    let ip = ip.to_canonical();
    let private = match ip {
        IpAddr::V4(v4) => v4.is_private() || v4.is_link_local() || v4.is_loopback(),
        IpAddr::V6(v6) => v6.is_unique_local() || v6.is_loopback(),
    };
    if private {
        return Ok(());
    }
    let message = if ip.is_unspecified() {
        format!("{ip} means every network this computer is in, and the page is never served that wide")
    } else {
        format!("{ip} is not an address of a private network, and the page is never served to the open internet")
    };
    Err(Refused::new(
        "not_private",
        message,
        "give this computer's address in the workshop's network: it begins with 192.168., with 10., or with 172.16. to 172.31.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(text: &str) -> String {
        typed(text).unwrap_err().code
    }

    #[test]
    fn private_addresses_are_taken_with_or_without_a_port() {
        for (text, meant) in [
            ("192.168.1.20", "192.168.1.20:8443"),
            ("10.0.0.7:9000", "10.0.0.7:9000"),
            ("172.31.0.1", "172.31.0.1:8443"),
            ("169.254.3.4", "169.254.3.4:8443"),
            ("127.0.0.1:0", "127.0.0.1:0"),
            ("[fd00::5]:8443", "[fd00::5]:8443"),
            ("::ffff:192.168.1.20", "192.168.1.20:8443"),
        ] {
            assert_eq!(typed(text).unwrap().to_string(), meant);
        }
    }

    #[test]
    fn nothing_wider_than_a_private_network_is_served() {
        for wide in ["0.0.0.0", "0.0.0.0:8443", "::", "[::]:8443", "::ffff:0.0.0.0"] {
            assert_eq!(code(wide), "not_private", "{wide}");
        }
        // 172.32 and 100.64 lie just outside RFC 1918; 192.0.2.1 and 2001:db8:: are documentation, fe80:: needs a zone.
        for public in ["192.0.2.1", "172.32.0.1", "100.64.0.1", "255.255.255.255", "2001:db8::1", "fe80::1"] {
            assert_eq!(code(public), "not_private", "{public}");
        }
        for odd in ["workshop.local", "", "192.168.1", "192.168.1.20:99999", "bar.json"] {
            assert_eq!(code(odd), "wrong_address", "{odd}");
        }
    }

    #[test]
    fn none_or_several_are_told_with_what_to_type() {
        let ways = |list: &[&str]| only(&list.iter().map(|ip| ip.parse().unwrap()).collect());
        assert_eq!(ways(&["192.168.1.20"]).unwrap().to_string(), "192.168.1.20:8443");
        // The way to the internet is a public address here, and is passed over.
        assert_eq!(ways(&["192.0.2.77", "10.1.2.3"]).unwrap().to_string(), "10.1.2.3:8443");
        for none in [&["127.0.0.1"][..], &["192.0.2.77"], &[]] {
            assert_eq!(ways(none).unwrap_err().code, "no_private_address");
        }
        let refused = ways(&["192.168.1.20", "10.1.2.3"]).unwrap_err();
        assert!(refused.code == "several_addresses" && refused.hint.contains("--lan 10.1.2.3"), "{refused}");
    }
}
