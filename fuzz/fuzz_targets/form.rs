#![no_main]

#[allow(dead_code)]
#[path = "../inputs.rs"]
mod inputs;

libfuzzer_sys::fuzz_target!(|data: &[u8]| inputs::form(data));
