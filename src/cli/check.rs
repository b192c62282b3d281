//! `deckwatch check`: whether what the box keeps is whole and can be relied on.

use std::path::{Path, PathBuf};

use super::data::Data;
use crate::clock::Clock;
use crate::store::copy::kept_in;
use crate::store::register::key;
use crate::store::{Durability, Verdict};
use crate::web::backups::LastTry;

/// What `check` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    /// The certificate of the https address, whose end is told too.
    #[arg(long, env = "DECKWATCH_CERTIFICATE")]
    certificate: Option<std::path::PathBuf>,
    /// Folder in which to look for backups.
    #[arg(long, env = "DECKWATCH_BACKUP_TO")]
    backup_to: Option<PathBuf>,
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
        let last: Option<LastTry> = store.setting(key::BACKUP).await?;
        Ok::<_, anyhow::Error>((durability, store.verify().await?, last))
    }
    .await;
    store.close().await?;
    let (durability, verdict, last) = proved?;
    tell(&durability, &verdict);
    let certificate = args.certificate.as_deref();
    let good = certificate.is_none_or(|certificate| {
        let (line, good) = super::certificate::told(certificate, Clock::system().now());
        println!("{line}");
        good
    });
    tell_backups(args.backup_to.as_deref(), last.as_ref())?;
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

/// Says how old the last backup is. The last try that failed is a fault of this box.
fn tell_backups(folder: Option<&Path>, last: Option<&LastTry>) -> anyhow::Result<()> {
    let folder = folder.or(last.map(|last| last.to.as_path()));
    let Some(folder) = folder else {
        println!("no backup: none was made while serving; name their folder with --backup-to");
        return Ok(());
    };
    let kept = kept_in(folder)?;
    match kept.last() {
        None => println!("no backup in {}", folder.display()),
        Some(newest) => {
            let age = Clock::system().now().duration_since(newest.at);
            println!(
                "{} backups, the last one {} ({} h {} min old)",
                kept.len(),
                newest.path.display(),
                age.as_hours(),
                age.as_mins() % 60
            );
        }
    }
    if let Some(last) = last
        && let Some(fault) = &last.fault
    {
        println!("FAULT the last try, {}, failed: {fault}", last.at);
    }
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
    if verdict.signed > 0 {
        println!("{} signatures and seals", verdict.signed);
    }
    println!(
        "{} trips, {} entries, {} flaws",
        verdict.trips,
        verdict.entries,
        verdict.flaws.len()
    );
}
