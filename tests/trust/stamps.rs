//! The record stamped by a time-stamping authority (RFC 3161). The authority is OpenSSL, made on the spot; what the pack
//! holds is checked by OpenSSL, too.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use cladlog::stamp::{Query, Stamp, StampError};
use serde_json::Value;

use super::fresh;
use super::mutate::inputs::seal_again;
use crate::harness::not_tried;

/// A root, and the certificates that it gave: one for time stamps, one that does not say so as it must, one for servers.
const AUTHORITY: &str = "
[req]
distinguished_name = name
prompt = no
[name]
CN = Invented Time Stamps
[root]
basicConstraints = critical, CA:TRUE
[stamps]
extendedKeyUsage = critical, timeStamping
[lax]
extendedKeyUsage = timeStamping
[servers]
extendedKeyUsage = critical, serverAuth
[both]
extendedKeyUsage = critical, timeStamping, serverAuth
[tsa]
default_tsa = one
[one]
serial = serial
digests = sha256, sha512
default_policy = 1.2.3.4.1
signer_digest = sha256
ess_cert_id_alg = sha256
[older]
serial = serial
digests = sha256
default_policy = 1.2.3.4.1
signer_digest = sha512
ess_cert_id_alg = sha1
";

/// A job and an authority in one folder.
struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    /// With keys of an algorithm, as `openssl genpkey` names it; nothing where there is no OpenSSL.
    fn with_keys(algorithm: &str) -> Option<Self> {
        if Command::new("openssl").arg("version").output().is_err() {
            not_tried("there is no openssl");
            return None;
        }
        let place = Self { folder: fresh().0 };
        std::fs::write(place.at("tsa.cnf"), AUTHORITY).unwrap();
        std::fs::write(place.at("serial"), "01\n").unwrap();
        place.openssl(&format!("genpkey {algorithm} -out root.key"));
        place.openssl(
            "req -x509 -new -key root.key -config tsa.cnf -extensions root -subj /CN=InventedRoot -days 9 -out root.pem",
        );
        place.openssl(&format!("genpkey {algorithm} -out tsa.key"));
        place.openssl("req -new -key tsa.key -config tsa.cnf -out tsa.csr");
        for (kind, days) in [("stamps", 9), ("lax", 9), ("servers", 9), ("both", 9)] {
            place.certify(kind, &format!("{kind}.pem"), days);
        }
        Some(place)
    }

    fn certify(&self, kind: &str, file: &str, days: i32) {
        self.openssl(&format!(
            "x509 -req -in tsa.csr -CA root.pem -CAkey root.key -set_serial {days} -days {days} -extfile tsa.cnf \
             -extensions {kind} -out {file}"
        ));
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn openssl(&self, line: &str) -> String {
        let output = Command::new("openssl").args(line.split_whitespace()).current_dir(&self.folder).output().unwrap();
        assert!(output.status.success(), "{line}: {output:?}");
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    fn run(&self, line: &str) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_cladlog"));
        let words = line.split_whitespace();
        command.env_clear().args(["--db", "job.db", "--by", "Lea", "--json"]).args(words);
        command.current_dir(&self.folder).output().unwrap()
    }

    fn ok(&self, line: &str) -> Value {
        let output = self.run(line);
        assert!(output.status.success(), "{line}: {output:?}");
        serde_json::from_slice(&output.stdout).unwrap()
    }

    /// Has a query answered as a section of the settings says.
    fn answer(&self, query: &str, section: &str, answer: &str) {
        self.openssl(&format!(
            "ts -reply -config tsa.cnf -section {section} -queryfile {query} -inkey tsa.key -signer stamps.pem \
             -chain root.pem -out {answer}"
        ));
    }

    /// What the authority of an answer signed: `TSTInfo`.
    fn signed_of(&self, answer: &str) -> Vec<u8> {
        self.openssl(&format!("ts -reply -in {answer} -token_out -out token.der"));
        self.openssl("cms -verify -noverify -inform DER -in token.der -out info.der");
        std::fs::read(self.at("info.der")).unwrap()
    }

    /// An answer with this content, signed with a certificate: what no well-behaved authority gives.
    fn signed_by(&self, info: &[u8], certificate: &str) -> Vec<u8> {
        std::fs::write(self.at("info.der"), info).unwrap();
        self.openssl(&format!(
            "cms -sign -cades -md sha256 -binary -nodetach -outform DER -econtent_type 1.2.840.113549.1.9.16.1.4 \
             -signer {certificate} -inkey tsa.key -in info.der -out token.der"
        ));
        // TimeStampResp: granted, and the token (RFC 3161, 2.4.2).
        let token = std::fs::read(self.at("token.der")).unwrap();
        let body = [&[0x30, 0x03, 0x02, 0x01, 0x00][..], &token].concat();
        assert!((256..65_536).contains(&body.len()));
        let [high, low] = u16::try_from(body.len()).unwrap().to_be_bytes();
        [&[0x30, 0x82, high, low][..], &body].concat()
    }
}

#[test]
fn a_stamp_is_asked_for_checked_kept_and_can_be_checked_without_the_program() {
    for (algorithm, section) in [
        ("-algorithm RSA -pkeyopt rsa_keygen_bits:2048", "one"),
        ("-algorithm RSA -pkeyopt rsa_keygen_bits:2048", "older"),
        ("-algorithm EC -pkeyopt ec_paramgen_curve:P-256", "one"),
        ("-algorithm EC -pkeyopt ec_paramgen_curve:P-384", "one"),
    ] {
        let Some(place) = Place::with_keys(algorithm) else { return };
        let asked = place.ok("stamp request day.tsq");
        let hash = asked["hash"].as_str().unwrap();
        let head = place.ok("log")["entries"].as_array().unwrap().last().unwrap().clone();
        assert_eq!((&head["hash"], &head["id"]), (&asked["hash"], &asked["entry"]));
        let query = place.openssl("ts -query -in day.tsq -text");
        assert!(query.contains("Certificate required: yes") && query.contains("Nonce: 0x"), "{query}");
        place.answer("day.tsq", section, "day.tsr");
        let kept = place.ok("stamp take day.tsr");
        assert_eq!(kept["entries"][0]["kind"], "stamp-taken");
        assert_eq!(place.run("stamp take day.tsr").status.code(), Some(2), "it is kept already");
        assert_eq!(place.run("stamp request day.tsq").status.code(), Some(2), "there is a file");
        // In the pack, byte for byte, with its certificates.
        place.ok("pack pack --interim");
        let id = kept["entries"][0]["id"].as_str().unwrap();
        let answer = std::fs::read(place.at("day.tsr")).unwrap();
        assert_eq!(std::fs::read(place.at(&format!("pack/stamps/{id}.tsr"))).unwrap(), answer);
        let page = std::fs::read_to_string(place.at("pack/handover.html")).unwrap();
        let front = page.split("id=\"vouch\"").next().unwrap();
        assert!(front.contains("Time stamp") && front.contains("Invented Time Stamps"), "{front}");
        for what in ["verify pack", "verify pack.zip", "verify"] {
            let verified = place.ok(what);
            assert!(verified["notes"].to_string().contains("Invented Time Stamps"), "{what}: {verified}");
        }
        // As README.txt says: the authority's root above the pack.
        let readme = std::fs::read_to_string(place.at("pack/README.txt")).unwrap();
        let command = readme.lines().find(|line| line.contains("openssl ts -verify")).unwrap().trim();
        let check = || {
            let output = Command::new("sh").args(["-c", command]).current_dir(place.at("pack")).output().unwrap();
            String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned()
        };
        std::fs::copy(place.at("root.pem"), place.at("authority.pem")).unwrap();
        assert!(check().contains("Verification: OK"), "{}", check());
        let rows = std::fs::read_to_string(place.at("pack/tables/stamps.csv")).unwrap();
        std::fs::write(place.at("pack/tables/stamps.csv"), rows.replace(hash, &"0".repeat(64))).unwrap();
        assert!(!check().contains("Verification: OK"));
        std::fs::write(place.at("pack/tables/stamps.csv"), rows).unwrap();
        place.openssl(
            "req -x509 -new -key tsa.key -config tsa.cnf -extensions root -subj /CN=AnotherRoot -out authority.pem",
        );
        assert!(!check().contains("Verification: OK"), "another authority's root");
    }
}

#[test]
fn what_answers_another_query_is_not_kept() {
    let Some(place) = Place::with_keys("-algorithm EC -pkeyopt ec_paramgen_curve:P-256") else { return };
    place.ok("stamp request first.tsq");
    place.ok("stamp request second.tsq");
    place.answer("first.tsq", "one", "second.tsr");
    // Another number; the right query is found beside it, or given.
    assert_eq!(place.run("stamp take second.tsr").status.code(), Some(2));
    assert_eq!(place.run("stamp take second.tsr --query job.db").status.code(), Some(2));
    // Another hash.
    place.openssl(&format!("ts -query -digest {} -sha256 -cert -out other.tsq", "5".repeat(64)));
    place.answer("other.tsq", "one", "other.tsr");
    assert_eq!(place.run("stamp take other.tsr").status.code(), Some(2));
    // Not a SHA-256, or without certificates.
    place.openssl(&format!("ts -query -digest {} -sha512 -cert -out long.tsq", "5".repeat(128)));
    place.answer("long.tsq", "one", "long.tsr");
    assert_eq!(place.run("stamp take long.tsr").status.code(), Some(2));
    let hash = place.ok("log")["entries"][0]["hash"].as_str().unwrap().to_owned();
    place.openssl(&format!("ts -query -digest {hash} -sha256 -out bare.tsq"));
    place.answer("bare.tsq", "one", "bare.tsr");
    let bare = Stamp::read(&std::fs::read(place.at("bare.tsr")).unwrap());
    assert_eq!(bare, Err(StampError::NoCertificate));
    assert_eq!(place.run("stamp take bare.tsr").status.code(), Some(2));
    // Refused by the authority.
    std::fs::write(place.at("tsa.cnf"), AUTHORITY.replace("digests = sha256, sha512", "digests = sha512")).unwrap();
    place.answer("first.tsq", "one", "refused.tsr");
    assert!(matches!(Stamp::read(&std::fs::read(place.at("refused.tsr")).unwrap()), Err(StampError::Denied(_))));
    assert_eq!(place.run("stamp take refused.tsr").status.code(), Some(2));
    let log = place.ok("log");
    assert!(log["entries"].as_array().unwrap().iter().all(|entry| entry["kind"] != "stamp-taken"), "{log}");
    place.ok("stamp take second.tsr --query first.tsq");
}

#[test]
fn only_a_certificate_for_time_stamps_alone_that_was_valid_then_will_do() {
    let Some(place) = Place::with_keys("-algorithm RSA -pkeyopt rsa_keygen_bits:2048") else { return };
    place.ok("stamp request day.tsq");
    place.answer("day.tsq", "one", "day.tsr");
    let info = place.signed_of("day.tsr");
    let given = Stamp::read(&std::fs::read(place.at("day.tsr")).unwrap()).unwrap();
    // The same content under the same certificate, signed by another command, holds: what follows is no fault of it.
    let again = Stamp::read(&place.signed_by(&info, "stamps.pem")).unwrap();
    assert_eq!((&again.hash, again.at, &again.nonce), (&given.hash, given.at, &given.nonce));
    for certificate in ["lax.pem", "servers.pem", "both.pem"] {
        let read = Stamp::read(&place.signed_by(&info, certificate));
        assert!(matches!(read, Err(StampError::Usage(_))), "{certificate}: {read:?}");
    }
    // Years before the certificate, years after it, and with a fraction of a second (RFC 3161, 2.4.2).
    let at = info.windows(2).position(|two| two == [0x18, 0x0f]).unwrap() + 2;
    for year in ["2019", "2063"] {
        let mut moved = info.clone();
        moved[at..at + 4].copy_from_slice(year.as_bytes());
        let read = Stamp::read(&place.signed_by(&moved, "stamps.pem"));
        assert!(matches!(read, Err(StampError::Expired { .. })), "{year}: {read:?}");
    }
    let mut fraction = info.clone();
    fraction.splice(at + 14..at + 15, *b".5Z");
    fraction[at - 1] += 2;
    fraction[1] += 2;
    assert!(info[1] < 0x7e, "its length is one byte");
    assert_eq!(Stamp::read(&place.signed_by(&fraction, "stamps.pem")).unwrap().at, given.at);
}

#[test]
fn r14_an_authority_whose_clock_disagrees_is_not_believed() {
    let Some(place) = Place::with_keys("-algorithm RSA -pkeyopt rsa_keygen_bits:2048") else { return };
    place.certify("stamps", "long.pem", 4000);
    place.ok("stamp request day.tsq");
    place.answer("day.tsq", "one", "day.tsr");
    let info = place.signed_of("day.tsr");
    let at = info.windows(2).position(|two| two == [0x18, 0x0f]).unwrap() + 2;
    let year: u32 = std::str::from_utf8(&info[at..at + 4]).unwrap().parse().unwrap();
    let mut ahead = info.clone();
    ahead[at..at + 4].copy_from_slice((year + 2).to_string().as_bytes());
    std::fs::write(place.at("ahead.tsr"), place.signed_by(&ahead, "long.pem")).unwrap();
    let refused = place.run("stamp take ahead.tsr");
    assert_eq!(refused.status.code(), Some(1), "{refused:?}");
    let refused: Value = serde_json::from_slice(&refused.stdout).unwrap();
    assert_eq!(refused["refused"]["rule"], "R14");
}

/// A changed byte may lie where nothing is signed (the status, the root's certificate): then the answer says the same as
/// before. Nowhere may it say something else.
#[test]
fn no_changed_byte_of_an_answer_makes_it_say_something_else() {
    let Some(place) = Place::with_keys("-algorithm EC -pkeyopt ec_paramgen_curve:P-256") else { return };
    place.ok("stamp request day.tsq");
    place.answer("day.tsq", "one", "day.tsr");
    let answer = std::fs::read(place.at("day.tsr")).unwrap();
    let says = |stamp: &Stamp| (stamp.hash.clone(), stamp.at, stamp.nonce.clone(), stamp.certificate_sha256.clone());
    let given = says(&Stamp::read(&answer).unwrap());
    let mut refused = 0;
    for at in 0..answer.len() {
        for bit in [0x01, 0x10, 0x80] {
            let mut changed = answer.clone();
            changed[at] ^= bit;
            match Stamp::read(&changed) {
                Ok(stamp) => assert_eq!(says(&stamp), given, "byte {at}"),
                Err(_) => refused += 1,
            }
        }
        assert!(Stamp::read(&answer[..at]).is_err(), "cut at {at}");
    }
    assert!(refused > answer.len(), "{refused} of {} changes were noticed", 3 * answer.len());
    let query = std::fs::read(place.at("day.tsq")).unwrap();
    for at in 0..query.len() {
        assert_eq!(Query::read(&query[..at]), None);
    }
    for garbage in ["job.toml", "job.db", "root.pem"] {
        assert_eq!(place.run(&format!("stamp take {garbage}")).status.code(), Some(2), "{garbage}");
    }
}

/// What is done to the body of an entry.
type Change = Box<dyn Fn(&mut Value)>;

#[test]
fn a_record_from_elsewhere_whose_stamp_does_not_hold_is_named() {
    let Some(place) = Place::with_keys("-algorithm EC -pkeyopt ec_paramgen_curve:P-256") else { return };
    place.ok("note --text first");
    place.ok("stamp request day.tsq");
    place.answer("day.tsq", "one", "day.tsr");
    place.ok("stamp take day.tsr");
    place.ok("export good.jsonl");
    let good = std::fs::read_to_string(place.at("good.jsonl")).unwrap();
    let tampered = |change: &dyn Fn(&mut Value)| -> String {
        let line = |line: &str| {
            let mut entry: Value = serde_json::from_str(line).unwrap();
            if entry["kind"] == "stamp-taken" {
                change(&mut entry["body"]);
            }
            format!("{entry}\n")
        };
        seal_again(&good.lines().map(line).collect::<String>())
    };
    let first = place.ok("log")["entries"][0]["id"].clone();
    let answer = std::fs::read(place.at("day.tsr")).unwrap();
    let mut changed = answer.clone();
    *changed.last_mut().unwrap() ^= 1;
    let cases: [(&str, Change); 3] = [
        ("entry", Box::new(move |body| body["entry"] = first.clone())),
        ("signature", Box::new(move |body| body["answer"] = STANDARD.encode(&changed).into())),
        ("text", Box::new(|body| body["answer"] = "not base64".into())),
    ];
    for (name, change) in cases {
        let file = format!("{name}.jsonl");
        std::fs::write(place.at(&file), tampered(&*change)).unwrap();
        let merged = run_on(&place, &format!("{name}.db"), &["merge", &file]);
        assert!(merged.status.success(), "{merged:?}");
        let verified = run_on(&place, &format!("{name}.db"), &["verify"]);
        let text = String::from_utf8_lossy(&verified.stdout).into_owned();
        assert_eq!(verified.status.code(), Some(1), "{name}: {text}");
        assert!(text.contains("its time stamp does not hold"), "{text}");
    }
}

fn run_on(place: &Place, database: &str, words: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cladlog"));
    let database: &Path = Path::new(database);
    command.env_clear().arg("--db").arg(database).args(["--by", "Lea", "--json"]).args(words);
    command.current_dir(&place.folder).output().unwrap()
}
