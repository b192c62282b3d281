//! `deckwatch check`: whether what the box keeps is whole and can be relied on.

use super::data::Data;
use crate::clock::Clock;
use crate::store::{Durability, Verdict};

/// What `check` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    /// The certificate of the https address, whose end is told too.
    #[arg(long, env = "DECKWATCH_CERTIFICATE")]
    certificate: Option<std::path::PathBuf>,
}

/// Proves every log and reads back the settings that durability rests on. Opening folds in what
/// a crash left, and brings older tables up to date; beyond that nothing is written.
///
/// # Errors
/// If anything is not as it was written.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let store = args.data.open_existing().await?;
    println!("database {}", store.path().display());
    let proved = async {
        let durability = store.durability().await?;
        Ok::<_, anyhow::Error>((durability, store.verify().await?))
    }
    .await;
    store.close().await?;
    let (durability, verdict) = proved?;
    tell(&durability, &verdict);
    let certificate = args.certificate.as_deref();
    let good = certificate.is_none_or(|certificate| {
        let (line, good) = super::certificate::told(certificate, Clock::system().now());
        println!("{line}");
        good
    });
    let flaws = verdict.flaws.len();
    anyhow::ensure!(
        flaws == 0,
        "{flaws} flaws: keep this file as it is, and go on from a copy that a device or the shore holds"
    );
    anyhow::ensure!(
        good,
        "the certificate does not hold: tablets cannot connect over https"
    );
    Ok(())
}

fn tell(durability: &Durability, verdict: &Verdict) {
    println!(
        "SQLite {}, journal {}, synchronous {}, foreign keys {}",
        durability.library,
        durability.journal_mode,
        durability.synchronous,
        durability.foreign_keys
    );
    for flaw in &verdict.flaws {
        let trip = if flaw.trip.is_empty() {
            "database"
        } else {
            &flaw.trip
        };
        println!("FLAW {trip} entry {}: {}", flaw.entry, flaw.what);
    }
    println!(
        "{} trips, {} entries, {} flaws",
        verdict.trips,
        verdict.entries,
        verdict.flaws.len()
    );
}
