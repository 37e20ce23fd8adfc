//! `sslmode` against a server that takes nothing but TLS: who is let in, and whom the program trusts.

use std::net::TcpListener;

use cladlog::office::Server;

use super::postgres::{Cluster, Office, give};

#[test]
fn the_certificate_is_checked_as_far_as_the_address_asks() {
    if Office::empty().is_none() {
        return;
    }
    let certificate = |names: &[&str]| {
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        rcgen::generate_simple_self_signed(names).unwrap()
    };
    let (own, other) = (certificate(&["localhost"]), certificate(&["localhost"]));
    // Whoever takes the port in between makes the server fail to start, and the test with it.
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let cluster = Cluster::start_with(Some(port), |data| {
        for (name, text) in [("server.crt", own.cert.pem()), ("server.key", own.signing_key.serialize_pem())] {
            std::fs::write(data.join(name), text).unwrap();
            give(&data.join(name));
        }
        std::fs::write(data.join("pg_hba.conf"), "local all all trust\nhostssl all all 127.0.0.1/32 trust\n").unwrap();
        give(&data.join("pg_hba.conf"));
        let settings = data.join("postgresql.conf");
        let text = std::fs::read_to_string(&settings).unwrap();
        std::fs::write(&settings, text + "\nssl = on\n").unwrap();
    })
    .unwrap();
    let folder = tempfile::tempdir().unwrap();
    let root = |name: &str, pem: String| {
        let path = folder.path().join(name);
        std::fs::write(&path, pem).unwrap();
        path.to_str().unwrap().replace('/', "%2F")
    };
    let (own, other) = (root("own.pem", own.cert.pem()), root("other.pem", other.cert.pem()));
    let connects = |host: &str, asked: &str| {
        Server::connect(&format!("postgres://postgres@{host}:{port}/postgres?{asked}"))
            .map(|_| ())
            .map_err(|error| error.to_string())
    };
    for (host, asked, lets_in) in [
        ("127.0.0.1", "sslmode=disable".to_owned(), false),
        ("127.0.0.1", String::new(), true),
        ("127.0.0.1", "sslmode=require".to_owned(), true),
        ("127.0.0.1", format!("sslmode=verify-ca&sslrootcert={own}"), true),
        ("127.0.0.1", format!("sslmode=verify-ca&sslrootcert={other}"), false),
        ("127.0.0.1", format!("sslmode=require&sslrootcert={other}"), false),
        ("127.0.0.1", format!("sslmode=verify-full&sslrootcert={own}"), false),
        ("localhost", format!("sslmode=verify-full&sslrootcert={own}"), true),
        ("localhost", format!("sslmode=verify-full&sslrootcert={other}"), false),
    ] {
        let connected = connects(host, &asked);
        assert_eq!(connected.is_ok(), lets_in, "{host} {asked}: {connected:?}");
    }
    drop(cluster);
}
