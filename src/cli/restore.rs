//! `deckwatch restore`: a backup becomes what the box keeps.

use std::path::PathBuf;

use super::data::Data;
use crate::clock::Clock;
use crate::store::Store;
use crate::store::copy::{put_key, restore};

/// What `restore` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    /// The backup: the file itself.
    from: PathBuf,
    /// Puts the database that is there aside, under another name in its folder.
    #[arg(long)]
    replace: bool,
    /// The key file that sealed the contacts in it, if that box was another one: it becomes this
    /// box's, and one that is there is put aside.
    #[arg(long)]
    key: Option<PathBuf>,
}

/// Proves a backup and puts it in place.
///
/// # Errors
/// If it is not good, or a program works on the folder; then all is as it was.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let clock = Clock::system();
    let done = restore(&args.from, &args.data.data, args.replace, &clock).await?;
    println!("database {}", done.path.display());
    println!(
        "{} trips, {} entries, proof {}",
        done.proof.0.len(),
        done.proof.entries(),
        done.proof.hash()
    );
    println!("as of {}", done.made_at);
    if !done.states_compared {
        println!("made by another version: its events were compared, its states were not");
    }
    if let Some(aside) = &done.aside {
        println!("the database before is {}", aside.display());
    }
    if let Some(key) = &args.key
        && let Some(aside) = put_key(key, &args.data.data, &clock).await?
    {
        println!("the key file before is {}", aside.display());
    }
    let store = Store::open_to_read(&done.path, clock).await;
    match store {
        Ok(store) => {
            match store.can_open_contacts().await {
                Ok(()) => println!("contacts: the key file opens them, or none are sealed"),
                Err(error) => println!("CONTACTS CANNOT BE OPENED: {error}"),
            }
            store.close().await?;
        }
        Err(error) => println!("contacts: not looked at, as {error}"),
    }
    Ok(())
}
