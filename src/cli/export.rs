//! `deckwatch export`: a trip's log or returns to standard output, from a box that is not being
//! served.

use std::io::Write as _;

use anyhow::Context as _;
use clap::ValueEnum;

use super::data::Data;
use crate::store::Store;
use crate::trip::TripId;
use crate::trip::state::fold;
use crate::web::export::{log_lines, returns_csv};

/// What `export` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    /// The log as JSON Lines, or the returns as CSV.
    #[arg(long, value_enum, default_value = "log")]
    what: What,
    /// The trip; without one, the trips are listed.
    trip: Option<TripId>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    Log,
    Returns,
}

/// Writes what is asked.
///
/// # Errors
/// If there is no such trip, or what the store says makes no sense.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let store = args.data.open_existing().await?;
    let made = match args.trip {
        None => list(&store).await,
        Some(trip) => export(&store, trip, args.what).await,
    };
    store.close().await?;
    std::io::stdout()
        .lock()
        .write_all(&made?)
        .context("cannot write to standard output")
}

async fn list(store: &Store) -> anyhow::Result<Vec<u8>> {
    let mut text = Vec::new();
    for row in store.trips().await? {
        let day = row
            .day
            .map_or_else(|| "-".to_owned(), |day| day.to_string());
        let boat = row.boat.unwrap_or_default();
        let closed = if row.closed { "closed" } else { "open" };
        writeln!(text, "{}\t{day}\t{boat}\t{closed}", row.trip)?;
    }
    Ok(text)
}

async fn export(store: &Store, trip: TripId, what: What) -> anyhow::Result<Vec<u8>> {
    anyhow::ensure!(
        store.trip(trip).await?.is_some(),
        "there is no trip {trip}: run `deckwatch export` without one to list them"
    );
    match what {
        What::Log => Ok(log_lines(&store.log(trip, 0).await?).into_bytes()),
        What::Returns => {
            let state = fold(trip, &store.entries(trip, 0).await?);
            Ok(returns_csv(&state)?)
        }
    }
}
