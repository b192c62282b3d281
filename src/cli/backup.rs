//! `deckwatch backup`: a proven copy of what the box keeps, whether it is being served or not.

use std::path::PathBuf;

use super::data::Data;
use crate::clock::Clock;
use crate::store::{Store, StoreError};

/// What `backup` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    /// Folder for backups: on another medium than the data.
    to: PathBuf,
    /// How many backups stay in that folder; older ones are removed.
    #[arg(long, env = "DECKWATCH_BACKUPS_KEPT", default_value = "48", value_parser = at_least_one)]
    keep: usize,
    /// Also copies the key file that opens sealed contacts, beside the backup. Without it a
    /// restore on another box has no contacts; with it whoever finds the medium has them.
    #[arg(long)]
    with_key: bool,
}

/// A number of backups.
pub(super) fn at_least_one(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(0) | Err(_) => Err("give a number of at least 1".to_owned()),
        Ok(number) => Ok(number),
    }
}

/// Makes a backup, proves it, and says what it holds.
///
/// # Errors
/// If none was made, or what it was made of has flaws.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let store = match args.data.open_existing().await {
        Ok(store) => store,
        Err(error) => match error.downcast_ref::<StoreError>() {
            Some(StoreError::InUse { .. }) => {
                Store::open_to_read(&args.data.data, Clock::system()).await?
            }
            _ => return Err(error),
        },
    };
    let made = store.back_up(&args.to, args.keep).await;
    let key = match &made {
        Ok(made) if args.with_key => Some(store.put_key_beside(&made.path).await),
        Ok(_) | Err(_) => None,
    };
    let closed = store.close().await;
    let made = made?;
    println!("backup {}", made.path.display());
    println!(
        "{} trips, {} entries, proof {}",
        made.proof.0.len(),
        made.proof.entries(),
        made.proof.hash()
    );
    for old in &made.removed {
        println!("removed {}", old.display());
    }
    if let Some(key) = key.transpose()? {
        println!("key {}: keep it where nobody else reads it", key.display());
    }
    closed?;
    anyhow::ensure!(
        made.flaws == 0,
        "the log has {} flaws, and so has its backup: run `deckwatch check`",
        made.flaws
    );
    Ok(())
}
