//! `deckwatch serve`: the pages of this box, until it is told to stop.

use std::net::SocketAddr;
use std::path::PathBuf;

use anyhow::Context as _;
use tokio::net::TcpListener;
use tokio::signal::unix::{SignalKind, signal};
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use super::backup::at_least_one;
use super::doors::{Doors, Https, authority};
use super::posted;
use super::systemd::Systemd;
use crate::certificate::Files;
use crate::clock::Clock;
use crate::instruments::Source;
use crate::sounder::{Output, Sounder};
use crate::store::Store;
use crate::web::app::{App, Reached};
use crate::web::backups::{self, Plan};
use crate::web::duties::settle;
use crate::web::serving::{self, Door, Limits};
use crate::web::transport::Line;
use crate::web::{certificate, noted, retention, storage};

/// What `serve` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Folder of the database.
    #[arg(long, env = "DECKWATCH_DATA", default_value = "deckwatch-data")]
    pub data: PathBuf,
    /// Address to listen on.
    #[arg(long, env = "DECKWATCH_BIND", default_value = "127.0.0.1:8080")]
    pub bind: SocketAddr,
    /// An origin pages are reached by, such as `http://10.20.0.1:8080`; can be given more than
    /// once. Loopback is always one.
    #[arg(long = "origin", env = "DECKWATCH_ORIGINS", value_delimiter = ',')]
    pub origins: Vec<String>,
    /// Where NMEA 0183 sentences come from: `tcp://host:port`, `udp://address:port` to listen on,
    /// `serial:///dev/ttyUSB0?baud=4800`; can be given more than once.
    #[arg(
        long = "instruments",
        env = "DECKWATCH_INSTRUMENTS",
        value_delimiter = ','
    )]
    pub instruments: Vec<Source>,
    /// Certificate of the https address, PEM: this box's, then those above it. It is read again
    /// whenever it changes.
    #[arg(long, env = "DECKWATCH_CERTIFICATE", requires = "key")]
    pub certificate: Option<PathBuf>,
    /// Its key, PEM.
    #[arg(long, env = "DECKWATCH_KEY", requires = "certificate")]
    pub key: Option<PathBuf>,
    /// Address to listen on for https, where a certificate is given.
    #[arg(long, env = "DECKWATCH_HTTPS_BIND", default_value = "0.0.0.0:8443")]
    pub https_bind: SocketAddr,
    /// Certificate of the authority, PEM, for devices to take in at `/authority`.
    #[arg(long, env = "DECKWATCH_AUTHORITY")]
    pub authority: Option<PathBuf>,
    /// Folder for backups, every hour and whenever a trip is closed; best on another medium.
    #[arg(long, env = "DECKWATCH_BACKUP_TO")]
    pub backup_to: Option<PathBuf>,
    /// How many backups stay there.
    #[arg(long, env = "DECKWATCH_BACKUPS_KEPT", default_value = "48", value_parser = at_least_one)]
    pub backups_kept: usize,
    #[command(flatten)]
    pub horn: Horn,
    /// Where systemd wants to be told that the box is ready and alive; set by systemd.
    #[arg(long, env = "NOTIFY_SOCKET", hide = true)]
    pub notify_socket: Option<PathBuf>,
}

/// What sounds beside the screens.
#[derive(Debug, Clone, Default, clap::Args)]
pub struct Horn {
    /// A program that sounds, with its arguments, run without a shell: `/usr/local/bin/horn
    /// --relay 1`. It learns from the environment variable `DECKWATCH_SOUNDER` what to do: `on`,
    /// `off`, `once` or `test`.
    #[arg(long, env = "DECKWATCH_SOUNDER_COMMAND", value_parser = Output::command)]
    pub sounder_command: Option<Output>,
    /// An address that takes the same as a JSON document by POST: `http://10.20.0.9/horn`.
    #[arg(long, env = "DECKWATCH_SOUNDER_HOOK", value_parser = Output::hook)]
    pub sounder_hook: Option<Output>,
}

impl Horn {
    pub(super) fn outputs(&self) -> Vec<Output> {
        [&self.sounder_command, &self.sounder_hook]
            .into_iter()
            .flatten()
            .cloned()
            .collect()
    }
}

/// Serves until SIGINT or SIGTERM.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let store = Store::open(&args.data, Clock::system()).await?;
    let listener = listen(args.bind).await?;
    let mut origins = args.origins;
    for origin in &origins {
        check_origin(origin)?;
    }
    origins.extend(loopback(listener.local_addr()?.port()));
    let mut doors = Doors::plain(listener);
    if let (Some(certificate), Some(key)) = (args.certificate, args.key) {
        let files = Files { certificate, key };
        let https = Https::open(args.https_bind, files, store.clock().now()).await?;
        if !origins.iter().any(|origin| origin.starts_with("https://")) {
            let named = https.origins()?;
            if named.is_empty() {
                tracing::error!(
                    "no certificate to take the https address from: name it with --origin https://…"
                );
            }
            origins.extend(named);
        }
        doors.https = Some(https);
    }
    doors.authority = args.authority.as_deref().map(authority).transpose()?;
    let accounts = store.list_crew().await?;
    if accounts.iter().all(|account| !account.active) {
        let code = store.set_up_code().await?;
        let (first, last) = code.digits.split_at(code.digits.len() / 2);
        // To whoever started it, and to no log file of the program's own.
        println!(
            "Nobody can sign in yet. Open /set-up at one of the addresses below and give the code \
             {first} {last}, good until {}.",
            code.expires
        );
    }
    let reached = Reached {
        origins: origins.clone(),
        drill_speed: None,
        lets_devices_in: false,
    };
    tracing::info!(address = %doors.plain.local_addr()?, ?origins, "serving");
    let backups = args.backup_to.map(|to| Plan {
        to,
        keep: args.backups_kept,
    });
    if backups.is_none() {
        tracing::warn!("no backups are made: name a folder for them with --backup-to");
    }
    let duties = Duties {
        outputs: args.horn.outputs(),
        backups,
        systemd: Systemd::new(args.notify_socket),
        on_a_boat: true,
    };
    serve(store, reached, doors, args.instruments, Some(duties)).await
}

/// What a box does by itself besides answering.
pub(super) struct Duties {
    pub outputs: Vec<Output>,
    /// Where backups go, if anywhere.
    pub backups: Option<Plan>,
    pub systemd: Systemd,
    /// In earnest: the machine is kept awake, and a sentry is posted.
    pub on_a_boat: bool,
}

/// Listens, or says who else does.
pub(super) async fn listen(bind: SocketAddr) -> anyhow::Result<TcpListener> {
    TcpListener::bind(bind)
        .await
        .with_context(|| format!("cannot listen on {bind}: choose another with --bind"))
}

/// The names of this machine for itself.
pub(super) fn loopback(port: u16) -> [String; 2] {
    [
        format!("http://127.0.0.1:{port}"),
        format!("http://localhost:{port}"),
    ]
}

/// An origin is scheme, host and port, as browsers write it: no path, no default port.
pub(super) fn check_origin(origin: &str) -> anyhow::Result<()> {
    let uri: axum::http::Uri = origin
        .parse()
        .with_context(|| format!("'{origin}' is no origin"))?;
    let whole = matches!(uri.scheme_str(), Some("http" | "https"))
        && uri.authority().is_some()
        && uri.path() == "/"
        && !origin.ends_with('/');
    anyhow::ensure!(
        whole,
        "'{origin}' is no origin: give it like http://10.20.0.1:8080"
    );
    Ok(())
}

/// Ties the clock, connects the sounder and lets the loop of the deadlines feed the watchdog.
async fn go_on_duty(
    app: &App,
    duties: Duties,
) -> anyhow::Result<(Systemd, Option<JoinHandle<()>>)> {
    if duties.on_a_boat {
        settle(app).await?;
    }
    if duties.outputs.is_empty() {
        tracing::warn!(
            "no sounder: alarms sound on open screens only; see --sounder-command and --sounder-hook"
        );
    }
    if duties.on_a_boat {
        app.keep_awake();
    }
    let guarded = duties.on_a_boat && !duties.outputs.is_empty();
    let sentry = guarded.then(|| {
        let post = app.store().path().with_file_name("sentry");
        let (outputs, closing) = (duties.outputs.clone(), app.closing().clone());
        tokio::spawn(posted::keep(app.clone(), outputs, post, closing))
    });
    app.connect_sounder(Sounder::new(app.clock().clone(), duties.outputs));
    let fed = duties.systemd.clone();
    app.connect_watchdog(Box::new(move || fed.alive()));
    app.go_on_duty();
    Ok((duties.systemd, sentry))
}

/// Serves a store until told to stop, then lets answers finish and closes the store.
pub(super) async fn serve(
    store: Store,
    reached: Reached,
    doors: Doors,
    instruments: Vec<Source>,
    mut duties: Option<Duties>,
) -> anyhow::Result<()> {
    let closing = CancellationToken::new();
    let app = App::new(store.clone(), reached, closing.clone());
    app.take_units().await?;
    let backups = duties.as_mut().and_then(|duties| duties.backups.take());
    let (systemd, sentry) = match duties {
        Some(duties) => go_on_duty(&app, duties).await?,
        None => (Systemd::default(), None),
    };
    let noting = tokio::spawn(noted::keep(app.clone()));
    tokio::spawn(storage::keep(app.clone()));
    tokio::spawn(retention::keep(app.clone()));
    let backing_up = backups.map(|plan| tokio::spawn(backups::keep(app.clone(), plan)));
    for source in instruments {
        app.instruments().listen(source, closing.clone());
    }
    if let Some(authority) = doors.authority {
        app.offer(authority);
    }
    let mut listening = vec![Door {
        listener: doors.plain,
        line: if doors.https.is_some() {
            Line::Twin
        } else {
            Line::Plain
        },
        tls: None,
    }];
    if let Some(https) = doors.https {
        certificate::tell(&app, &https.held, &https.looked);
        listening.push(Door {
            listener: https.listener,
            line: Line::Tls,
            tls: Some(https.held.tls()?.into()),
        });
        tokio::spawn(certificate::keep(
            app.clone(),
            https.held,
            certificate::EVERY,
        ));
    }
    let failing = storage::until_anew_would_do(app.clone());
    let (mut terminate, mut interrupt) = (
        signal(SignalKind::terminate())?,
        signal(SignalKind::interrupt())?,
    );
    let stopped = {
        let closing = closing.clone();
        async move {
            let failed = tokio::select! {
                _ = terminate.recv() => false,
                _ = interrupt.recv() => false,
                () = failing => true,
            };
            if failed {
                // What the store says could not be relied on: a restart recovers from the disk.
                tracing::error!("the store failed: stopping, so that a restart recovers it");
            }
            closing.cancel();
        }
    };
    tokio::spawn(stopped);
    systemd.ready();
    serving::serve(&app, listening, Limits::default()).await;
    systemd.stopping();
    noting.await?;
    if let Some(sentry) = sentry {
        // Relieved before the box leaves.
        sentry.await?;
    }
    if let Some(backing_up) = backing_up {
        // A backup under way is finished.
        backing_up.await?;
    }
    store.check()?;
    app.sounder().rest().await;
    store.close().await?;
    Ok(())
}
