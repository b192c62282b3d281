//! Sends whatever libFuzzer thinks of to one reader: the one that `TARGET` names.
#![no_main]

mod targets;

use std::sync::OnceLock;

fn chosen() -> targets::Target {
    static CHOSEN: OnceLock<targets::Target> = OnceLock::new();
    *CHOSEN.get_or_init(|| {
        let wanted = std::env::var("TARGET").unwrap_or_default();
        let found = targets::TARGETS.iter().find(|(name, _)| *name == wanted);
        let names: Vec<&str> = targets::TARGETS.iter().map(|(name, _)| *name).collect();
        found
            .unwrap_or_else(|| panic!("TARGET is one of {}", names.join(", ")))
            .1
    })
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| chosen()(bytes));
