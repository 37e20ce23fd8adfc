//! Photos in a store of objects: a general-purpose S3 server (PyPI's moto) that the tests start themselves.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;

use super::postgres::Office;
use super::small;
use crate::harness::root;
use crate::harness::site::Site;

/// A running store; it is ended when it is dropped.
struct Objects {
    server: Child,
    port: u16,
}

impl Objects {
    /// None where there is no moto: `.ci/run` puts it into `target/moto`.
    fn start() -> Option<Self> {
        let own = root().join("target/moto/bin/python");
        let python = if own.exists() { own.into_os_string() } else { "python3".into() };
        let there = Command::new(&python).args(["-c", "import moto.server"]).stderr(Stdio::null()).status();
        if !there.is_ok_and(|status| status.success()) {
            crate::harness::not_tried("photos in an object store: moto is not installed (pip install 'moto[server]')");
            return None;
        }
        // Whoever takes the port in between makes the server fail to start, and the test with it.
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let mut command = Command::new(python);
        command.args(["-m", "moto.server", "-H", "127.0.0.1", "-p", &port.to_string()]);
        let server = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let objects = Self { server, port };
        let until = Instant::now() + Duration::from_secs(120);
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(Instant::now() < until, "moto did not start");
            std::thread::sleep(Duration::from_millis(50));
        }
        Some(objects)
    }

    /// Puts bytes at a path, past the program. That there is a signature is asked for, not that it is right.
    fn put(&self, path: &str, bytes: &[u8]) {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        let head = format!(
            "PUT {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Length: {}\r\nConnection: close\r\n\
             Authorization: AWS4-HMAC-SHA256 Credential=invented/20260302/us-east-1/s3/aws4_request, \
             SignedHeaders=host, Signature=invented\r\n\r\n",
            self.port,
            bytes.len()
        );
        stream.write_all(&[head.as_bytes(), bytes].concat()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    }

    fn address(&self, bucket: &str) -> String {
        format!("s3://{bucket}?endpoint=http%3A%2F%2F127.0.0.1%3A{}", self.port)
    }
}

impl Drop for Objects {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

/// `office …` on a file, with keys to the store as other programs have them; the exit code, what it prints and says.
fn with_keys(site: &Site, db: &str, of: &Office, words: &[&str]) -> (i32, Value, String) {
    let mut command = site.bench().command();
    command.env("AWS_ACCESS_KEY_ID", "invented").env("AWS_SECRET_ACCESS_KEY", "invented as well");
    let done = command.args(["--json", "--db", db, "office", "--server", &of.url()]).args(words).output().unwrap();
    let (out, said) = (String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap());
    assert!(!said.contains("invented"), "a key is in what is said: {said}");
    (done.status.code().unwrap(), serde_json::from_str(&out).unwrap_or_default(), said)
}

#[test]
fn photos_go_to_an_object_store_and_come_back() {
    let Some(of) = Office::new() else { return };
    let Some(objects) = Objects::start() else { return };
    objects.put("/photos", b"");
    let site = small("one");
    std::fs::copy(root().join("demo-db/demo.db"), site.path("demo.db")).unwrap();
    let demo = site.beside("demo", "Lea");
    let key = demo.ok("job list")["jobs"][0]["key"].as_str().unwrap().to_owned();
    let place = objects.address("photos/office");
    let push = || with_keys(&demo, "demo.db", &of, &["push", "--photos", &place]);
    // Without the photos beside the file all are missing; with them none is.
    let (code, without, said) = push();
    assert_eq!(code, 0, "{said}");
    let missing = without["photos_missing"].as_array().unwrap().len();
    assert!(missing > 0 && without["photos"] == 0, "{without}");
    std::fs::create_dir(site.path("demo.db.photos")).unwrap();
    let mut names = Vec::new();
    for photo in std::fs::read_dir(root().join("demo-db/demo.db.photos")).unwrap() {
        let photo = photo.unwrap();
        names.push(photo.file_name().into_string().unwrap());
        std::fs::copy(photo.path(), site.path("demo.db.photos").join(photo.file_name())).unwrap();
    }
    let (_, with, _) = push();
    assert_eq!((&with["photos"], with.get("photos_missing")), (&missing.into(), None), "{with}");
    assert_eq!(push().1["photos"], 0);
    let pull = |file: &str| with_keys(&demo, "demo.db", &of, &["pull", "--job", &key, file, "--photos", &place]);
    let (code, pulled, said) = pull("back.jsonl");
    assert_eq!(code, 0, "{said}");
    assert_eq!((&pulled["photos"], &pulled["photos_missing"]), (&missing.into(), &serde_json::json!([])));
    let again = site.beside("again", "Lea");
    again.clock("2027-03-02T08:00:00+13:00").ok("merge back.jsonl");
    assert_eq!(again.ok("verify again.db")["ok"], true);
    // What was changed in the store does not come back as what an entry names.
    names.sort();
    let changed = names.iter().find(|name| site.path("back.jsonl.photos").join(name).exists()).unwrap();
    objects.put(&format!("/photos/office/{changed}"), b"another picture");
    let (_, pulled, _) = pull("changed.jsonl");
    assert_eq!(pulled["photos_missing"].as_array().unwrap().len(), 1, "{pulled}");
    assert!(!site.path("changed.jsonl.photos").join(changed).exists());
    // A bucket that is not there, and a store that is gone.
    let (code, _, said) = with_keys(&demo, "demo.db", &of, &["push", "--photos", &objects.address("nowhere")]);
    assert!(code == 2 && said.contains("404") && said.contains("AWS_ACCESS_KEY_ID"), "{code} {said}");
    drop(objects);
    let (code, _, said) = push();
    assert!(code == 3 && said.contains("it goes on where it broke off"), "{code} {said}");
}
