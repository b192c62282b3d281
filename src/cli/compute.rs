//! `deckwatch compute`: one JSON document from standard input, one to standard output.

use std::io::{Read as _, Write as _};

use anyhow::Context as _;

use crate::units::Faults;
use crate::web::compute::Computation;

/// Largest document.
const LARGEST: u64 = 8 * 1024 * 1024;

/// What `compute` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// What to compute: dive-plan, no-stop-limits, pickup-order, drift, stream or daylight.
    #[arg(value_parser = what)]
    pub what: Computation,
}

fn what(name: &str) -> Result<Computation, String> {
    Computation::by_name(name).ok_or_else(|| {
        let names = Computation::ALL.map(Computation::name).join(", ");
        format!("give one of {names}")
    })
}

/// Answers the document on standard input.
///
/// # Errors
/// [`Faults`] of the document; whatever keeps input or output from working.
pub fn run(args: &Args) -> anyhow::Result<()> {
    let mut document = Vec::new();
    std::io::stdin()
        .lock()
        .take(LARGEST + 1)
        .read_to_end(&mut document)
        .context("cannot read standard input")?;
    if document.len() as u64 > LARGEST {
        let allowed = format!("one of at most {LARGEST} bytes");
        return Err(Faults::one("", "is too large", allowed).into());
    }
    let answer = args.what.answer(&document)?;
    writeln!(std::io::stdout().lock(), "{answer}").context("cannot write the answer")
}
