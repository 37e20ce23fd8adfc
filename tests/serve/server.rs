//! A server that is being tried, and the phones that ask it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::harness::site::{Site, Words};

/// How long anything is waited for: nothing takes nearly so long, but for a machine that does much else.
pub const LONG: Duration = Duration::from_secs(60);

/// A running server; killed when it is dropped.
pub struct Server {
    child: Child,
    /// What it said of itself.
    pub said: Value,
}

/// Starts the server of a job's database with more options.
#[track_caller]
pub fn start(site: &Site, options: &str) -> Server {
    let mut command = site.bench().command();
    command.args(["--db", "job.db", "--json", "serve"]).args(options.words());
    let errors = std::fs::File::create(site.path("serve-errors.txt")).unwrap();
    let mut child = command.stdout(Stdio::piped()).stderr(errors).spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let said = serde_json::from_str(&line).unwrap_or_else(|_| panic!("{line:?} {}", site.read("serve-errors.txt")));
    Server { child, said }
}

/// Starts it with HTTP, on loopback.
#[track_caller]
pub fn plain(site: &Site) -> Server {
    start(site, "--plain")
}

impl Server {
    /// Its address.
    pub fn address(&self) -> String {
        let url = self.said["url"].as_str().unwrap();
        url.split_once("://").unwrap().1.trim_end_matches('/').to_owned()
    }

    /// Somebody who is not paired.
    pub fn stranger(&self) -> Phone {
        Phone { address: self.address(), cookie: None, token: String::new() }
    }

    /// Pairs a phone by the code that the server began with.
    #[track_caller]
    pub fn first_phone(&self, person: &str) -> Phone {
        self.stranger().pair(self.said["pairing"]["url"].as_str().unwrap(), person)
    }

    /// Pairs another phone.
    #[track_caller]
    pub fn phone(&self, site: &Site, person: &str) -> Phone {
        let pairing = site.ok("serve pair");
        self.stranger().pair(pairing["pairing"]["url"].as_str().unwrap(), person)
    }

    /// Sends a signal.
    #[cfg(unix)]
    pub fn signal(&self, name: &str) {
        let id = self.child.id().to_string();
        assert!(std::process::Command::new("kill").args(["-s", name, &id]).status().unwrap().success());
    }

    /// Waits for the end; gives the exit code.
    #[track_caller]
    pub fn ends(&mut self) -> Option<i32> {
        let begun = Instant::now();
        while begun.elapsed() < LONG {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.code();
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!("the server does not end");
    }

    /// Kills it, as a power cut would.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A browser: an address, a cookie, and the token of its forms.
#[derive(Clone)]
pub struct Phone {
    /// Where it asks.
    pub address: String,
    /// The cookie, name and value.
    pub cookie: Option<String>,
    /// What its forms carry.
    pub token: String,
}

/// An answer.
#[derive(Debug)]
pub struct Answer {
    /// The status.
    pub status: u16,
    /// The head, in lower case.
    pub headers: Vec<(String, String)>,
    /// The body.
    pub body: String,
}

impl Answer {
    /// Insists on a status.
    #[track_caller]
    pub fn is(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{self:?}");
        self
    }

    /// A field of the head.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// The body as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }
}

/// Fields as browsers write them.
pub fn form(fields: &[(&str, &str)]) -> String {
    form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish()
}

/// The value of a hidden field of a page.
#[track_caller]
pub fn hidden(page: &str, name: &str) -> String {
    let (_, rest) = page.split_once(&format!("name=\"{name}\" value=\"")).unwrap_or_else(|| panic!("{name}: {page}"));
    rest.split_once('"').unwrap().0.to_owned()
}

impl Phone {
    /// Pairs this phone by a page, as its person would.
    #[track_caller]
    fn pair(mut self, url: &str, person: &str) -> Self {
        let path = url.split_once(&self.address).unwrap().1;
        let page = self.get(path).is(200).body;
        let (token, id) = (hidden(&page, "token"), hidden(&page, "request_id"));
        let done = self.post(path, &[("token", &token), ("request_id", &id), ("person", person)]).is(303);
        assert_eq!(done.header("location"), Some("/"));
        self.keep(&done);
        self
    }

    /// Keeps the cookie of an answer, and fetches the token of its forms.
    #[track_caller]
    pub fn keep(&mut self, answer: &Answer) {
        let cookie = answer.header("set-cookie").unwrap();
        self.cookie = Some(cookie.split(';').next().unwrap().to_owned());
        self.token = self.get("/api/token").is(200).json()["token"].as_str().unwrap().to_owned();
    }

    /// The head that a browser sends with a form.
    pub fn own_head(&self) -> Vec<(String, String)> {
        let mut head = vec![("Origin".to_owned(), format!("http://{}", self.address))];
        head.extend(self.cookie.iter().map(|cookie| ("Cookie".to_owned(), cookie.clone())));
        head
    }

    /// `GET`
    pub fn get(&self, path: &str) -> Answer {
        let cookie: Vec<_> = self.cookie.iter().map(|cookie| ("Cookie".to_owned(), cookie.clone())).collect();
        self.ask("GET", path, &cookie, b"")
    }

    /// `POST` of a form, as it is given.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut head = self.own_head();
        head.push(("Content-Type".to_owned(), "application/x-www-form-urlencoded".to_owned()));
        self.ask("POST", path, &head, form(fields).as_bytes())
    }

    /// `POST` of a form with its token, under this id.
    pub fn send(&self, path: &str, id: &str, fields: &[(&str, &str)]) -> Answer {
        let own = [("token", self.token.as_str()), ("request_id", id)];
        self.post(path, &[&own[..], fields].concat())
    }

    /// `POST /api/record`
    pub fn record(&self, body: &Value) -> Answer {
        let mut head = self.own_head();
        head.push(("X-Form-Token".to_owned(), self.token.clone()));
        head.push(("Content-Type".to_owned(), "application/json".to_owned()));
        self.ask("POST", "/api/record", &head, body.to_string().as_bytes())
    }

    /// `POST` of a form with files: name of the field, name of the file, bytes.
    pub fn upload(&self, path: &str, fields: &[(&str, &str)], files: &[(&str, &str, &[u8])]) -> Answer {
        const LINE: &str = "------line-between-the-parts";
        let mut body = Vec::new();
        for (name, text) in fields {
            write!(body, "{LINE}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{text}\r\n").unwrap();
        }
        for (name, file, bytes) in files {
            let disposition = format!("Content-Disposition: form-data; name=\"{name}\"; filename=\"{file}\"");
            write!(body, "{LINE}\r\n{disposition}\r\nContent-Type: image/jpeg\r\n\r\n").unwrap();
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        write!(body, "{LINE}--\r\n").unwrap();
        let mut head = self.own_head();
        head.push(("Content-Type".to_owned(), format!("multipart/form-data; boundary={}", &LINE[2..])));
        self.ask("POST", path, &head, &body)
    }

    /// Any request, with this head besides host and length.
    pub fn ask(&self, method: &str, path: &str, head: &[(String, String)], body: &[u8]) -> Answer {
        let mut stream = self.connect();
        let mut request = format!("{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n", self.address);
        head.iter().for_each(|(name, value)| request += &format!("{name}: {value}\r\n"));
        if method == "POST" {
            request += &format!("Content-Length: {}\r\n", body.len());
        }
        request += "\r\n";
        // A server that refuses a body need not take it all in.
        let _ = stream.write_all(request.as_bytes()).and_then(|()| stream.write_all(body));
        answer(&mut stream)
    }

    /// A connection.
    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.address).unwrap();
        stream.set_read_timeout(Some(LONG)).unwrap();
        stream.set_write_timeout(Some(LONG)).unwrap();
        stream
    }
}

/// Reads an answer to the end of the connection.
pub fn answer(stream: &mut impl Read) -> Answer {
    let mut bytes = Vec::new();
    // A connection that is reset after the answer has answered.
    let _ = stream.read_to_end(&mut bytes);
    parsed(&bytes)
}

fn parsed(bytes: &[u8]) -> Answer {
    let text = String::from_utf8_lossy(bytes);
    let Some((head, body)) = text.split_once("\r\n\r\n") else {
        return Answer { status: 0, headers: Vec::new(), body: text.into_owned() };
    };
    let mut lines = head.lines();
    let status = lines.next().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
    let headers = lines.filter_map(|line| line.split_once(": "));
    let headers = headers.map(|(name, value)| (name.to_lowercase(), value.to_owned())).collect();
    Answer { status, headers, body: body.to_owned() }
}
