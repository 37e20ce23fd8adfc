//! Zips that mean harm: each is named with the reason, little of it is unpacked, and nothing is written anywhere.

use std::io::Write;

use cladlog::handover::{Contents, verify};
use flate2::Crc;
use flate2::write::DeflateEncoder;

use crate::harness::Bench;

/// One entry, byte by byte as APPNOTE 4.3 has it; each head can be made to lie.
#[derive(Clone)]
struct Piece {
    name: &'static str,
    /// What the head in front of the content says, where that is something else.
    local_name: Option<&'static str>,
    packed: Vec<u8>,
    method: u16,
    flags: u16,
    crc: u32,
    size: u32,
    local_size: Option<u32>,
    mode: u32,
}

impl Piece {
    fn of(name: &'static str, content: &[u8]) -> Self {
        let mut crc = Crc::new();
        crc.update(content);
        let size = u32::try_from(content.len()).unwrap();
        let (crc, packed) = (crc.sum(), content.to_vec());
        let (local_name, local_size) = (None, None);
        Self { name, local_name, packed, method: 0, flags: 0x800, crc, size, local_size, mode: 0o100_644 }
    }

    /// So many megabytes of zeros in a thousandth of that; its head says how much.
    fn bomb(name: &'static str, megabytes: u32, says: u32) -> Self {
        let mut one = DeflateEncoder::new(Vec::new(), flate2::Compression::best());
        one.write_all(&vec![0; 1_000_000]).unwrap();
        one.flush().unwrap();
        // A flushed block stands for itself, wherever it stands; then the last block, an empty one.
        let mut packed = one.get_ref().repeat(megabytes as usize);
        packed.extend([3, 0]);
        Self { packed, method: 8, size: says, ..Self::of(name, b"") }
    }

    fn head(&self, name: &str, size: u32) -> Vec<u8> {
        let mut head = Vec::new();
        for part in [20, self.flags, self.method, 0, 0x5c21] {
            head.extend(part.to_le_bytes());
        }
        for part in [self.crc, u32::try_from(self.packed.len()).unwrap(), size] {
            head.extend(part.to_le_bytes());
        }
        head.extend(u16::try_from(name.len()).unwrap().to_le_bytes());
        head.extend([0, 0]);
        head
    }

    fn local(&self) -> Vec<u8> {
        let name = self.local_name.unwrap_or(self.name);
        let head = self.head(name, self.local_size.unwrap_or(self.size));
        [b"PK\x03\x04", &head[..], name.as_bytes(), &self.packed].concat()
    }

    fn listed(&self, at: usize) -> Vec<u8> {
        let mut listed = [b"PK\x01\x02\x14\x03", &self.head(self.name, self.size)[..]].concat();
        listed.extend([0; 6]);
        listed.extend((self.mode << 16).to_le_bytes());
        listed.extend(u32::try_from(at).unwrap().to_le_bytes());
        listed.extend(self.name.as_bytes());
        listed
    }
}

/// A zip of what lies in it and what its list says of that: places and pieces.
fn zip_of(body: Vec<u8>, listed: &[(usize, &Piece)]) -> Vec<u8> {
    let list: Vec<u8> = listed.iter().flat_map(|(at, piece)| piece.listed(*at)).collect();
    with_list(body, &list, listed.len())
}

fn with_list(mut body: Vec<u8>, list: &[u8], many: usize) -> Vec<u8> {
    let at = body.len();
    body.extend(list);
    let [many, length, at] = [many, list.len(), at].map(|number| u32::try_from(number).unwrap());
    if many >= 0xffff {
        let end = body.len() as u64;
        body.extend(b"PK\x06\x06\x2c\0\0\0\0\0\0\0\x2d\0\x2d\0\0\0\0\0\0\0\0\0");
        [many, many, length, at].iter().for_each(|number| body.extend(u64::from(*number).to_le_bytes()));
        body.extend(b"PK\x06\x07\0\0\0\0");
        body.extend(end.to_le_bytes());
        body.extend([1, 0, 0, 0]);
    }
    let short = u16::try_from(many).unwrap_or(u16::MAX).to_le_bytes();
    body.extend([&b"PK\x05\x06\0\0\0\0"[..], &short, &short].concat());
    body.extend([&length.to_le_bytes()[..], &at.to_le_bytes(), &[0, 0]].concat());
    body
}

/// An honest zip of pieces, as far as they are honest.
fn zip(pieces: &[Piece]) -> Vec<u8> {
    let mut body = Vec::new();
    let mut listed = Vec::new();
    for piece in pieces {
        listed.push((body.len(), piece));
        body.extend(piece.local());
    }
    zip_of(body, &listed)
}

fn good() -> Piece {
    Piece::of("pack/manifest.json", b"{}")
}

/// Verifies a zip with no more memory than a phone would spare; gives the one failure's text.
#[track_caller]
fn refused(bytes: &[u8]) -> String {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    std::fs::create_dir(bench.path("in")).unwrap();
    std::fs::write(bench.path("in/sent.zip"), bytes).unwrap();
    let run = if cfg!(target_os = "linux") {
        let mut shell = std::process::Command::new("sh");
        shell.args(["-c", "ulimit -v 400000; exec \"$0\" verify in/sent.zip --json", env!("CARGO_BIN_EXE_cladlog")]);
        let output = shell.env_clear().current_dir(bench.path("")).output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        let code = output.status.code().unwrap_or(-1);
        crate::harness::Run { code, stdout: text(output.stdout), stderr: text(output.stderr) }
    } else {
        bench.run(["verify", "in/sent.zip", "--json"])
    };
    let found = run.exits(1).json();
    assert_eq!(found["ok"], false);
    assert_eq!(found["failures"].as_array().unwrap().len(), 1, "{found}");
    assert_eq!(found["failures"][0]["file"], "sent.zip");
    for folder in ["", "in"] {
        assert_eq!(std::fs::read_dir(bench.path(folder)).unwrap().count(), 1, "something was written into '{folder}'");
    }
    found["failures"][0]["what"].as_str().unwrap().to_owned()
}

#[test]
fn the_pieces_make_a_zip_that_is_read() {
    let bytes = zip(&[good(), Piece::of("pack/tables/steps.csv", b"step\n")]);
    let (folder, contents) = cladlog::handover::unzip(&bytes).unwrap();
    assert_eq!(folder, "pack");
    assert_eq!(*contents.files["tables/steps.csv"].read().unwrap(), *b"step\n");
    let bomb = Piece::bomb("pack/zeros", 3, 3_000_000);
    assert!(bomb.packed.len() < 6_000, "{}", bomb.packed.len());
}

#[test]
fn a_name_that_leads_out_is_refused_whatever_system_it_is_meant_for() {
    for name in [
        "../evil",
        "pack/../../evil",
        "pack/..",
        "/etc/evil",
        "//server/share/evil",
        "..\\evil",
        "pack\\..\\..\\evil",
        "pack/..\\..\\evil",
        "\\\\server\\share\\evil",
        "C:\\evil",
        "C:/evil",
        "c:evil",
        "pack/evil:stream",
        "pack/./evil",
        "pack//evil",
        "pack/e\0vil",
        "",
    ] {
        let what = refused(&zip(&[good(), Piece::of(name, b"evil")]));
        let shown = name.escape_debug().to_string();
        let whole = format!(
            "the zip has an entry named {shown}, which leads out of its folder or is not a plain path: nothing in it was used"
        );
        assert_eq!(what, whole);
    }
    assert_eq!(
        refused(&zip(&[good(), Piece::of("other/evil", b"evil")])),
        "the entries of the zip are not in one folder: other/evil"
    );
    assert_eq!(
        refused(&zip(&[good(), Piece::of("evil", b"evil")])),
        "the entries of the zip are not in one folder: evil"
    );
    // What a terminal would obey is shown, not obeyed.
    let what = refused(&zip(&[Piece::of("pack/\u{1b}[2J/..", b"")]));
    assert!(what.contains("pack/\\u{1b}[2J/.."), "{what}");
}

#[test]
fn a_link_or_a_device_is_refused() {
    for mode in [0o120_777, 0o060_600, 0o010_600, 0o140_600] {
        let link = Piece { mode, ..Piece::of("pack/record.jsonl", b"/etc/passwd") };
        assert_eq!(
            refused(&zip(&[good(), link])),
            "pack/record.jsonl in the zip is a link or a device, not a regular file: nothing in it was used"
        );
    }
}

#[test]
fn a_name_twice_is_refused_also_where_only_capitals_differ() {
    let twice = zip(&[good(), Piece::of("pack/record.jsonl", b"one"), Piece::of("pack/record.jsonl", b"two")]);
    assert_eq!(refused(&twice), "the zip has two entries named pack/record.jsonl");
    let capitals = zip(&[good(), Piece::of("pack/record.jsonl", b"one"), Piece::of("pack/Record.jsonl", b"two")]);
    assert_eq!(
        refused(&capitals),
        "the zip has pack/Record.jsonl twice, differing only by capitals: unpacked, one would be written over the other on \
         some systems"
    );
}

#[test]
fn a_bomb_is_refused_before_it_goes_off() {
    // Four gigabytes in four megabytes, in a file that is held and in one that is hashed, and honest about it.
    for name in ["pack/record.jsonl", "pack/handover.html"] {
        let bomb = Piece::bomb(name, 4_200, 4_200_000_000);
        let packed = bomb.packed.len();
        assert_eq!(
            refused(&zip(&[good(), bomb])),
            format!("the zip unpacks to more than a pack can hold: {name}, 4200000000 bytes packed into {packed}")
        );
        // And lying: it is left as soon as it gives more than it said.
        for says in [0, 3, 900_000] {
            assert_eq!(
                refused(&zip(&[good(), Piece::bomb(name, 4_200, says)])),
                format!("{name} in the zip can't be read: File is larger than its declared uncompressed size")
            );
        }
    }
    // A key of a gigabyte.
    let key = refused(&zip(&[good(), Piece { size: 999_999_999, ..Piece::of("pack/manifest.pub", &[b'k'; 20_000]) }]));
    assert!(key.contains("pack/manifest.pub, 999999999 bytes"), "{key}");
    // Fewer than it says.
    let less = Piece { size: 13, ..Piece::of("pack/handover.html", b"twelve bytes") };
    assert_eq!(
        refused(&zip(&[good(), less])),
        "pack/handover.html in the zip can't be read: it has 12 bytes, and the zip says 13"
    );
}

#[test]
fn many_files_are_refused_before_they_are_listed() {
    let body = good().local();
    let list = |many: usize| -> Vec<u8> {
        let model = Piece::of("pack/0000000", b"").listed(0);
        let mut list = Vec::with_capacity(many * model.len());
        for number in 0..many {
            list.extend(&model[..model.len() - 7]);
            list.extend(format!("{number:07}").bytes());
        }
        list
    };
    assert_eq!(
        refused(&with_list(body.clone(), &list(50_001), 50_001)),
        "the zip unpacks to more than a pack can hold: 50001 files"
    );
    assert_eq!(
        refused(&with_list(body.clone(), &list(400_000), 400_000)),
        "the zip unpacks to more than a pack can hold: the list of its files alone is longer than that of any pack"
    );
    // A number that is a lie.
    for many in [3, 40_000, 70_000, u32::MAX as usize] {
        let what = refused(&with_list(body.clone(), &good().listed(0), many));
        assert!(what.starts_with("the zip "), "{many}: {what}");
    }
}

#[test]
fn a_zip_that_says_two_things_is_refused() {
    let begins = |bytes: &[u8], with: &str| {
        let what = refused(bytes);
        assert!(what.starts_with(with), "{what}");
    };
    let record = Piece::of("pack/record.jsonl", b"one");
    let two = "the list at the end of the zip and the place that it names for pack/record.jsonl do not agree: ";
    begins(&zip(&[good(), Piece { local_name: Some("pack/another.json"), ..record.clone() }]), two);
    begins(&zip(&[good(), Piece { local_size: Some(2), ..record.clone() }]), two);
    // Both files at one place.
    let body = [good().local(), record.local()].concat();
    begins(&zip_of(body.clone(), &[(0, &good()), (0, &record)]), two);
    // A file that the list leaves out: some programs would unpack it.
    begins(&zip_of(body, &[(0, &good())]), "the zip can't be read: ");
    // A file within another.
    let inner = record.local();
    let outer = Piece::of("pack/handover.html", &inner);
    let at = outer.local().len() - inner.len();
    begins(&zip_of(outer.local(), &[(0, &outer), (at, &record)]), "the zip can't be read: ");
    // A sum that does not fit the content, in both heads.
    begins(&zip(&[good(), Piece { crc: 1, ..record }]), "pack/record.jsonl in the zip can't be read: ");
}

#[test]
fn an_encrypted_file_is_refused() {
    let locked = Piece { flags: 0x801, ..Piece::of("pack/record.jsonl", &[7; 40]) };
    assert_eq!(
        refused(&zip(&[good(), locked])),
        "pack/record.jsonl in the zip is encrypted; a pack never is: nothing in it was used"
    );
    let way = Piece { method: 97, ..Piece::of("pack/record.jsonl", &[7; 40]) };
    assert!(refused(&zip(&[good(), way])).starts_with("pack/record.jsonl in the zip can't be read: "));
}

#[test]
fn a_zip_cut_short_is_refused_wherever_it_was_cut() {
    let whole = zip(&[good(), Piece::of("pack/record.jsonl", b"one"), Piece::of("pack/handover.html", b"<p>")]);
    for length in (4..whole.len()).step_by(17) {
        let what = refused(&whole[..length]);
        assert!(what.starts_with("the zip can't be read: "), "{length}: {what}");
    }
    assert_eq!(refused(&zip(&[])), "the zip can't be read: it is empty");
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    for content in ["", "PK", "Dear Sir or Madam"] {
        bench.file("letter.zip", content);
        let run = bench.run(["verify", "letter.zip"]).exits(2);
        assert_eq!(run.stderr, "cladlog: letter.zip: is neither a pack nor a database\n");
    }
}

#[test]
fn of_a_record_of_rubbish_only_the_first_thousand_lines_are_named() {
    let mut contents = Contents::default();
    contents.files.insert("record.jsonl".to_owned(), vec![b'\n'; 5_000].into());
    let verified = verify(&contents);
    assert_eq!(verified.checked.entries, 5_000);
    assert!(verified.failures.len() < 1_010, "{}", verified.failures.len());
    assert_eq!(verified.failures.last().unwrap().what, "4000 more of its entries do not hold");
}

#[test]
fn a_zip_of_something_else_is_no_pack() {
    let bench = Bench::at("2026-03-02T08:00:00+13:00");
    for other in [zip(&[Piece::of("a", b"b")]), zip(&[Piece::of("letters/a.txt", b"b")])] {
        std::fs::write(bench.path("other.zip"), other).unwrap();
        let refused = bench.run(["verify", "other.zip", "--json"]).exits(2).stderr;
        assert!(refused.contains("is not a pack"), "{refused}");
    }
}
