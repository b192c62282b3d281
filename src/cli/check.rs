//! `deckwatch check`: whether what the box keeps is whole and can be relied on.

use super::data::Data;
use crate::store::{Durability, Verdict};

/// What `check` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
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
    let flaws = verdict.flaws.len();
    anyhow::ensure!(
        flaws == 0,
        "{flaws} flaws: keep this file as it is, and go on from a copy that a device or the shore holds"
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
