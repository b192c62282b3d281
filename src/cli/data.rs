//! The folder of the database, for commands that use what is there already.

use std::path::PathBuf;

use crate::clock::Clock;
use crate::store::Store;

/// Where the database lies.
#[derive(Debug, clap::Args)]
pub struct Data {
    /// Folder of the database.
    #[arg(
        long,
        env = "DECKWATCH_DATA",
        default_value = "deckwatch-data",
        global = true
    )]
    pub data: PathBuf,
}

impl Data {
    /// Opens a store, new if there is none.
    pub(super) async fn open(&self) -> anyhow::Result<Store> {
        Ok(Store::open(&self.data, Clock::system()).await?)
    }

    /// Opens the store that must be there: looking makes nothing.
    pub(super) async fn open_existing(&self) -> anyhow::Result<Store> {
        let file = if self.data.is_dir() {
            self.data.join("deckwatch.db")
        } else {
            self.data.clone()
        };
        anyhow::ensure!(
            file.is_file(),
            "there is no database at {}: give its folder with --data",
            file.display()
        );
        self.open().await
    }
}
