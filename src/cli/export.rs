//! `deckwatch export`: a trip's log, returns or report to standard output, from a box that is not
//! being served.

use std::io::Write as _;

use anyhow::Context as _;
use clap::ValueEnum;

use super::data::Data;
use crate::clock::Clock;
use crate::store::Store;
use crate::trip::TripId;
use crate::trip::state::fold;
use crate::web::export::{log_lines, returns_csv};
use crate::web::record::{Record, Source, gather, report_csv};

/// What `export` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    data: Data,
    /// The log as JSON Lines, the returns as CSV, or the report as JSON or CSV.
    #[arg(long, value_enum, default_value = "log")]
    what: What,
    /// The trip; without one, the trips are listed.
    trip: Option<TripId>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    Log,
    Returns,
    Report,
    ReportCsv,
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
        What::Report => {
            let mut text = serde_json::to_vec_pretty(&record(store, trip).await?)?;
            text.push(b'\n');
            Ok(text)
        }
        What::ReportCsv => Ok(report_csv(&record(store, trip).await?)?),
    }
}

async fn record(store: &Store, trip: TripId) -> anyhow::Result<Record> {
    let entries = store.entries(trip, 0).await?;
    let state = fold(trip, &entries);
    let relayed = store.relayed(trip).await?.into_keys().collect();
    let source = Source {
        trip,
        entry: entries.last().map_or(0, |entry| entry.receipt.entry),
        state: &state,
        entries: &entries,
    };
    Ok(gather(source, &relayed, Clock::system().now()))
}
