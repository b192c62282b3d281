//! The sentry as `serve` keeps it: started, told a line a second while the deadline loop turns,
//! started again when it ends, and relieved in order.

use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;

use tokio::io::AsyncWriteExt as _;
use tokio::process::{Child, ChildStdin, Command};
use tokio::time::{sleep, timeout};
use tokio_util::sync::CancellationToken;

use super::sentry::{Beat, Line};
use crate::sounder::Output;
use crate::trip::watch::Priority;
use crate::web::app::App;

/// A line at most so often.
const EVERY: Duration = Duration::from_secs(1);
/// One that heard so many lines is on post.
const SETTLED: u32 = 3;
/// What the box says when it has none.
const ABOUT: &str = "sentry-none";
/// A pipe that takes nothing for so long belongs to a sentry that hangs.
const PATIENCE: Duration = Duration::from_secs(2);

/// Keeps a sentry on post until `closing`.
pub(super) async fn keep(
    app: App,
    outputs: Vec<Output>,
    post: PathBuf,
    closing: CancellationToken,
) {
    loop {
        match start(&outputs, &post) {
            Ok(child) => {
                if guard(&app, child, &closing).await {
                    return;
                }
                tracing::error!("the sentry ended: it is started again");
            }
            Err(cause) => tracing::error!(%cause, "the sentry could not be started"),
        }
        let now = app.clock().now();
        app.notices().raise(ABOUT, Priority::Caution, &[], now);
        tokio::select! {
            () = closing.cancelled() => return,
            () = sleep(EVERY) => {}
        }
    }
}

fn start(outputs: &[Output], post: &Path) -> anyhow::Result<Child> {
    let mut command = Command::new(std::env::current_exe()?);
    command.arg("sentry").arg("--post").arg(post);
    for output in outputs {
        match output {
            Output::Command(words) => {
                let typed = shlex::try_join(words.iter().map(String::as_str))?;
                command.arg("--sounder-command").arg(typed);
            }
            Output::Hook(address) => {
                command.arg("--sounder-hook").arg(address);
            }
        }
    }
    // A group of its own: what ends the box ends no sentry.
    let child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .process_group(0)
        .spawn()?;
    Ok(child)
}

/// Tells it what it holds; whether the box stops in order.
async fn guard(app: &App, mut child: Child, closing: &CancellationToken) -> bool {
    let Some(mut stdin) = child.stdin.take() else {
        return false;
    };
    let mut turns = app.turns();
    let mut told = 0_u32;
    loop {
        tokio::select! {
            () = closing.cancelled() => {
                if app.store().check().is_err() {
                    // The box fails rather than stops: the sentry stays until another relieves it.
                    return true;
                }
                if tell(&mut stdin, &Line::End).await.is_ok() {
                    drop(stdin);
                    // It ends by itself; one that does not is not worth waiting for.
                    drop(timeout(PATIENCE, child.wait()).await);
                }
                return true;
            }
            _ = child.wait() => return false,
            turned = turns.changed() => if turned.is_err() { return true },
        }

        let turn = turns.borrow_and_update().clone();
        let beat = Beat {
            out: turn.out,
            deadlines_ms: turn.deadlines_ms,
        };
        if let Err(cause) = tell(&mut stdin, &Line::Beat(beat)).await {
            tracing::error!(%cause, "the sentry could not be told");
            // It is ended, as nobody knows what it holds.
            drop(child.kill().await);
            return false;
        }
        told = told.saturating_add(1);
        if told >= SETTLED {
            app.notices().clear(ABOUT);
        }
        tokio::select! {
            () = closing.cancelled() => {}
            () = sleep(EVERY) => {}
        }
    }
}

async fn tell(stdin: &mut ChildStdin, line: &Line) -> std::io::Result<()> {
    let mut text = serde_json::to_string(line)?;
    text.push('\n');
    match timeout(PATIENCE, stdin.write_all(text.as_bytes())).await {
        Ok(written) => written,
        Err(_) => Err(std::io::ErrorKind::TimedOut.into()),
    }
}
