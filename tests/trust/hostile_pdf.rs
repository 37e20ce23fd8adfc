//! What a PDF may not hold, whatever was recorded: anything that acts, and text that is not text.

use std::io::Read;

/// Names that make a reader do something when it opens the file or when somebody clicks.
const ACTIVE: &[&str] = &[
    "JavaScript",
    "JS",
    "Launch",
    "URI",
    "OpenAction",
    "AA",
    "SubmitForm",
    "ImportData",
    "GoToR",
    "GoToE",
    "RichMedia",
    "Rendition",
    "Movie",
    "Sound",
    "AcroForm",
    "XFA",
];

/// Keys whose value is text for a person.
const TEXT: &[&str] = &[
    "Title",
    "Alt",
    "ActualText",
    "E",
    "Contents",
    "Author",
    "Subject",
    "Keywords",
    "Creator",
    "Desc",
    "UF",
    "F",
    "Lang",
];

/// What is wrong with a PDF as a place for text from outside, in words; nothing if all is well.
pub fn errors(pdf: &[u8]) -> Vec<String> {
    let mut found = Vec::new();
    let (plain, streams) = parts(pdf);
    dictionaries(&plain, &mut found);
    for stream in streams {
        if starts_dictionary(&stream) {
            // An object stream: dictionaries again, packed.
            dictionaries(&stream, &mut found);
        } else if contains(&stream, b"begincmap") {
            character_map(&stream, &mut found);
        } else if contains(&stream, b"<x:xmpmeta") || contains(&stream, b"<?xpacket") {
            said("the metadata", &String::from_utf8_lossy(&stream), &mut found);
        } else if contains(&stream, b" BDC") || contains(&stream, b"BT\n") {
            strings(&stream, &mut found);
        }
    }
    found
}

/// The bytes outside of the streams, and every stream unpacked.
fn parts(pdf: &[u8]) -> (Vec<u8>, Vec<Vec<u8>>) {
    let find = |from: usize, what: &[u8]| pdf[from..].windows(what.len()).position(|at| at == what).map(|at| at + from);
    let (mut plain, mut streams, mut at) = (Vec::new(), Vec::new(), 0);
    while let Some(start) = find(at, b"stream\n") {
        let Some(end) = find(start, b"endstream") else { break };
        plain.extend_from_slice(&pdf[at..start]);
        let packed = &pdf[start + 7..end];
        let mut unpacked = Vec::new();
        let done = flate2::read::ZlibDecoder::new(packed).read_to_end(&mut unpacked);
        streams.push(if done.is_ok() { unpacked } else { packed.to_vec() });
        at = end + 9;
    }
    plain.extend_from_slice(&pdf[at..]);
    (plain, streams)
}

fn contains(bytes: &[u8], what: &[u8]) -> bool {
    bytes.windows(what.len()).any(|at| at == what)
}

fn starts_dictionary(stream: &[u8]) -> bool {
    // An object stream begins with pairs of numbers and holds dictionaries.
    stream.first().is_some_and(u8::is_ascii_digit)
        && contains(stream, b"<<")
        && !contains(stream, b" BDC")
        && !contains(stream, b"begincmap")
}

fn dictionaries(bytes: &[u8], found: &mut Vec<String>) {
    for (name, _) in names(bytes) {
        if ACTIVE.contains(&name.as_str()) {
            found.push(format!("/{name}"));
        }
    }
    strings(bytes, found);
}

/// Every name and where it ends; what stands inside of a string is no name.
fn names(bytes: &[u8]) -> Vec<(String, usize)> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        match bytes[at] {
            b'(' => at = literal(bytes, at).1,
            b'/' => {
                let end = bytes[at + 1..]
                    .iter()
                    .position(|byte| !(byte.is_ascii_alphanumeric() || b"-_.+#".contains(byte)))
                    .map_or(bytes.len(), |length| at + 1 + length);
                // A letter may be written as its number.
                let name = String::from_utf8_lossy(&bytes[at + 1..end]).into_owned();
                found.push((unescaped(&name), end));
                at = end;
            }
            _ => at += 1,
        }
    }
    found
}

fn unescaped(name: &str) -> String {
    let mut parts = name.split('#');
    let mut whole = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        match part.get(..2).and_then(|hex| u8::from_str_radix(hex, 16).ok()) {
            Some(byte) => {
                whole.push(char::from(byte));
                whole.push_str(&part[2..]);
            }
            None => whole.push_str(part),
        }
    }
    whole
}

/// Looks at the text behind every key that is followed by some.
fn strings(bytes: &[u8], found: &mut Vec<String>) {
    for (name, end) in names(bytes) {
        if !TEXT.contains(&name.as_str()) {
            continue;
        }
        let gap = bytes[end..].iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        let raw = match bytes.get(end + gap) {
            Some(b'(') => literal(bytes, end + gap).0,
            Some(b'<') if bytes.get(end + gap + 1) != Some(&b'<') => hexadecimal(&bytes[end + gap + 1..]),
            _ => continue,
        };
        said(&format!("/{name}"), &text_of(&raw), found);
    }
}

/// A string in brackets, and where it ends.
fn literal(bytes: &[u8], start: usize) -> (Vec<u8>, usize) {
    let (mut text, mut depth, mut at) = (Vec::new(), 0, start);
    while at < bytes.len() {
        let byte = bytes[at];
        at += 1;
        match byte {
            b'(' => {
                if depth > 0 {
                    text.push(byte);
                }
                depth += 1;
            }
            b')' => {
                depth -= 1;
                if depth == 0 {
                    break;
                }
                text.push(byte);
            }
            b'\\' => {
                let Some(&next) = bytes.get(at) else { break };
                let digits = bytes[at..].iter().take(3).take_while(|digit| (b'0'..=b'7').contains(digit)).count();
                if digits > 0 {
                    let value =
                        bytes[at..at + digits].iter().fold(0_u32, |sum, digit| sum * 8 + u32::from(digit - b'0'));
                    text.push((value & 0xff) as u8);
                    at += digits;
                } else {
                    text.push(match next {
                        b'n' => b'\n',
                        b'r' => b'\r',
                        b't' => b'\t',
                        b'b' => 8,
                        b'f' => 12,
                        other => other,
                    });
                    at += 1;
                }
            }
            other => text.push(other),
        }
    }
    (text, at)
}

fn hexadecimal(bytes: &[u8]) -> Vec<u8> {
    let digits: Vec<u8> = bytes
        .iter()
        .take_while(|byte| **byte != b'>')
        .filter_map(|byte| char::from(*byte).to_digit(16).map(|digit| digit as u8))
        .collect();
    digits.chunks(2).map(|pair| pair[0] * 16 + pair.get(1).copied().unwrap_or_default()).collect()
}

fn text_of(raw: &[u8]) -> String {
    match raw.strip_prefix(b"\xfe\xff") {
        Some(wide) => {
            let units: Vec<u16> =
                wide.chunks(2).map(|pair| u16::from_be_bytes([pair[0], *pair.get(1).unwrap_or(&0)])).collect();
            String::from_utf16_lossy(&units)
        }
        None => raw.iter().map(|byte| char::from(*byte)).collect(),
    }
}

/// What the glyphs of a font stand for: what is copied from a page, and what it is searched by.
fn character_map(stream: &[u8], found: &mut Vec<String>) {
    let text = String::from_utf8_lossy(stream);
    for block in ["bfchar", "bfrange"] {
        for part in text.split(&format!("begin{block}")).skip(1) {
            for line in part.split(&format!("end{block}")).next().unwrap_or_default().lines() {
                let last = line.rsplit('<').next().unwrap_or_default();
                let raw = hexadecimal(last.as_bytes());
                let units: Vec<u16> =
                    raw.chunks(2).filter_map(|pair| Some(u16::from_be_bytes([pair[0], *pair.get(1)?]))).collect();
                said("a glyph", &String::from_utf16_lossy(&units), found);
            }
        }
    }
}

fn said(what: &str, text: &str, found: &mut Vec<String>) {
    let bad = |c: char| {
        (c.is_control() && !matches!(c, '\n' | '\t')) || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    if let Some(bad) = text.chars().find(|c| bad(*c)) {
        let shown: String = text.chars().take(120).collect();
        found.push(format!("{what}: {bad:?} in {shown:?}"));
    }
}

#[test]
fn what_acts_and_what_is_no_text_is_found_in_a_pdf() {
    use std::io::Write;
    let packed = |bytes: &[u8]| {
        let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::default());
        packer.write_all(bytes).unwrap();
        packer.finish().unwrap()
    };
    let file = |dictionary: &str, stream: &[u8]| {
        let mut pdf = format!("%PDF-1.7\n1 0 obj\n<<{dictionary}>>\nendobj\n2 0 obj\n<<>>stream\n").into_bytes();
        pdf.extend(packed(stream));
        pdf.extend(b"\nendstream\nendobj\n");
        pdf
    };
    let good =
        file("/Title(Plain \\(/JS\\) text)/Alt<FEFF00E40041>/ID(\u{1b})", b"/Span<</ActualText(a)>> BDC\n(\x1b) Tj");
    assert_eq!(errors(&good), Vec::<String>::new());
    for (dictionary, stream, said) in [
        ("/OpenAction 3 0 R", &b""[..], "/OpenAction"),
        ("/S/J#61vaScript", b"", "/JavaScript"),
        ("/Title(a\\033[2J)", b"", "/Title: '\\u{1b}'"),
        ("/Alt<FEFF202E>", b"", "/Alt: '\\u{202e}'"),
        ("", b"1 0 2 9 <</A<</S/Launch>>>>", "/Launch"),
        ("", b"/Span<</ActualText(\x07)>> BDC", "/ActualText: '\\u{7}'"),
        ("", b"begincmap\n1 beginbfchar\n<0003> <001B>\nendbfchar", "a glyph: '\\u{1b}'"),
        ("", "<x:xmpmeta><dc:title>\u{9b}</dc:title>".as_bytes(), "the metadata: '\\u{9b}'"),
    ] {
        let found = errors(&file(dictionary, stream));
        assert!(found.len() == 1 && found[0].starts_with(said), "{dictionary} {stream:?}: {found:?}");
    }
}
