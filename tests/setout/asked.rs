//! Readings typed at a real terminal.

use std::io::{Read, Write};
use std::time::Duration;

use portable_pty::{CommandBuilder, PtySize, native_pty_system};

#[test]
fn readings_are_typed_stud_by_stud() {
    let pair = native_pty_system().openpty(PtySize { rows: 40, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_cladlog"));
    command.args(["calc", "packing", "--flat", "0"]);
    command.env("TERM", "xterm");
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    let mut reader = pair.master.try_clone_reader().unwrap();
    let mut writer = pair.master.take_writer().unwrap();
    let (send, screen) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let mut bytes = [0; 4096];
        while let Ok(count) = reader.read(&mut bytes) {
            if count == 0 || send.send(bytes[..count].to_vec()).is_err() {
                break;
            }
        }
    });
    let mut shown = String::new();
    // Each answer is typed when its question stands on the screen: the wait only bounds a hang.
    let mut type_after = |question: &str, answer: &str| {
        while !shown.contains(question) {
            let bytes = screen.recv_timeout(Duration::from_secs(20)).unwrap_or_else(|_| panic!("{question}: {shown}"));
            shown.push_str(&String::from_utf8_lossy(&bytes));
        }
        // What came after the question is kept for the next one.
        shown = shown.split_once(question).map(|(_, after)| after.to_owned()).unwrap_or_default();
        writer.write_all(answer.as_bytes()).unwrap();
    };
    type_after("First stud", "\r");
    type_after("spacing", "\r");
    type_after("Heights", "\r");
    type_after("Stud 0", "0\r");
    type_after("Stud 600", "30\r");
    type_after("Stud 1200", "u\r");
    type_after("Stud 600", "3\r");
    type_after("Stud 1200", "2,5\r");
    type_after("comma", "");
    type_after("Stud 1200", "-2\r");
    type_after("Stud 1800", "4\r");
    type_after("Stud 2400", "1\r");
    type_after("Stud 3000", "\r");
    type_after("Total packing 11.5 mm", "");
    assert!(child.wait().unwrap().success());
}
