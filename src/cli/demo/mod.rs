//! `deckwatch demo`: a drill in an invented place, on a clock that can run faster than life. It
//! opens on a trip under way with groups in every state, and goes on by itself.

mod cast;
#[cfg(test)]
mod day;
mod story;

use std::io::Write as _;
use std::net::SocketAddr;

use anyhow::Context as _;
use jiff::Timestamp;

use crate::clock::{Clock, Drill};
use crate::instruments::Source;
use crate::store::Store;
use crate::store::crew::Pin;
use crate::web::app::Reached;

/// The instant the drill opens at: late morning, local time, on an invented day at sea.
const OPENS_AT: &str = "2026-06-14T19:40:00Z";

/// What `demo` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// How many times faster than life the drill's clock runs.
    #[arg(long, default_value_t = 4.0)]
    speed: f64,
    /// Address to listen on; of this machine only, as any device is let in.
    #[arg(long, default_value = "127.0.0.1:8080")]
    bind: SocketAddr,
    /// Where NMEA 0183 sentences come from, as for `serve`; dates are judged by the drill's clock.
    #[arg(long = "instruments", value_delimiter = ',')]
    instruments: Vec<Source>,
    /// Also watch over who watches and drive the sounder, as on a boat.
    #[arg(long)]
    on_duty: bool,
    #[command(flatten)]
    horn: super::serve::Horn,
}

/// Runs the drill until it is told to stop.
pub async fn run(args: Args) -> anyhow::Result<()> {
    anyhow::ensure!(
        args.bind.ip().is_loopback(),
        "a drill lets any device in: bind it to this machine only, such as 127.0.0.1:8080"
    );
    let opens_at: Timestamp = OPENS_AT.parse().context("the drill's opening instant")?;
    let drill = Drill::new(Clock::system().now(), opens_at, args.speed)?;
    let folder = tempfile::tempdir().context("a drill needs a temporary folder")?;
    let store = Store::open(folder.path(), Clock::drill(drill)).await?;
    let pin = new_pin(store.clock())?;
    let cast = cast::Cast::enter(&store, &pin).await?;
    let trip = story::open(&store, &cast, opens_at).await?;
    let listener = super::serve::listen(args.bind).await?;
    let address = listener.local_addr()?;
    let greeting = format!(
        "DRILL: nothing here is real. The clock runs {} times as fast as life.\n\n  \
         open      http://{address}/\n  \
         sign in   {} (skipper), {} (divemaster) or {} (desk)\n  \
         PIN       {}\n\n",
        args.speed,
        cast.skipper.name,
        cast.divemaster.name,
        cast.desk.name,
        pin.digits()
    );
    // Whoever started it may have closed the pipe: no reason to stop a watch.
    if let Err(cause) = std::io::stdout().lock().write_all(greeting.as_bytes()) {
        tracing::warn!(%cause, "the greeting could not be written");
    }
    let reached = Reached {
        origins: super::serve::loopback(address.port()).to_vec(),
        drill_speed: Some(args.speed),
        lets_devices_in: true,
    };
    let goes_on = tokio::spawn(story::go_on(store.clone(), cast, trip, opens_at));
    let duties = args.on_duty.then(|| super::serve::Duties {
        outputs: args.horn.outputs(),
        backups: None,
        systemd: super::systemd::Systemd::default(),
        on_a_boat: false,
    });
    let plain = super::doors::Doors::plain(listener);
    super::serve::serve(store, reached, plain, args.instruments, duties).await?;
    goes_on.abort();
    Ok(())
}

/// A PIN that nobody would try first.
fn new_pin(clock: &Clock) -> anyhow::Result<Pin> {
    for _ in 0..100 {
        let number = u32::from_le_bytes(clock.secret()) % 1_000_000;
        if let Ok(pin) = Pin::new(&format!("{number:06}")) {
            return Ok(pin);
        }
    }
    anyhow::bail!("no PIN was found that is not trivial")
}
