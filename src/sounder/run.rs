//! One attempt: a program is run or a hook is called, within a limit of time.

use std::process::Stdio;
use std::time::Duration;

use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, copy, sink};
use tokio::process::{Child, ChildStderr, Command};
use tokio::time::timeout;

use super::{LIMIT, Order, Output};

/// So much of what a program complains is kept.
const COMPLAINT: u64 = 1_024;
/// What a program said is read within this after its end.
const LAST_WORDS: Duration = Duration::from_millis(200);
/// A hook answers within this.
const HOOK: Duration = Duration::from_secs(5);

/// Tells one output, once.
///
/// # Errors
/// Why it failed, in a sentence for the page of the box.
pub async fn attempt(output: &Output, order: &Order) -> Result<(), String> {
    let document = serde_json::to_string(order).map_err(|cause| cause.to_string())?;
    match output {
        Output::Command(words) => command(words, order, document).await,
        Output::Hook(address) => {
            let address = address.clone();
            let called = tokio::task::spawn_blocking(move || call(&address, document));
            called.await.map_err(|cause| cause.to_string())?
        }
    }
}

async fn command(words: &[String], order: &Order, document: String) -> Result<(), String> {
    let Some((program, arguments)) = words.split_first() else {
        return Err("there is no program to run".to_owned());
    };
    let mut child = Command::new(program)
        .args(arguments)
        .env("DECKWATCH_SOUNDER", order.word.name())
        .env(
            "DECKWATCH_PRIORITY",
            order.priority.as_deref().unwrap_or_default(),
        )
        .env("DECKWATCH_ALERTS", order.alerts.join("\n"))
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        // A group of its own: what it started ends with it when it hangs.
        .process_group(0)
        .kill_on_drop(true)
        .spawn()
        .map_err(|cause| format!("{program} could not be started: {cause}"))?;
    let group = child.id();
    if let Ok(finished) = timeout(LIMIT, finish(&mut child, document)).await {
        return finished;
    }
    end_group(group);
    // Reaped, so that no dead process is left behind.
    let ended = timeout(Duration::from_secs(1), child.wait()).await;
    let how = if ended.is_ok() {
        "and was ended"
    } else {
        "and could not be ended"
    };
    Err(format!(
        "{program} had not finished after {} s {how}",
        LIMIT.as_secs()
    ))
}

async fn finish(child: &mut Child, document: String) -> Result<(), String> {
    if let Some(mut stdin) = child.stdin.take() {
        // A program that reads nothing is as good as one that does.
        drop(stdin.write_all(document.as_bytes()).await);
    }
    let complaining = child.stderr.take().map(|stderr| tokio::spawn(hear(stderr)));
    let status = child
        .wait()
        .await
        .map_err(|cause| format!("it could not be waited for: {cause}"))?;
    if status.success() {
        // What it left playing plays on.
        return Ok(());
    }
    let complaint = match complaining {
        Some(hearing) => timeout(LAST_WORDS, hearing).await,
        None => Ok(Ok(Vec::new())),
    };
    // What it started may hold its stderr open: then it ended without a complaint.
    let complaint = complaint.ok().and_then(Result::ok).unwrap_or_default();
    let complaint = String::from_utf8_lossy(&complaint);
    let last = complaint.lines().rev().find(|line| !line.trim().is_empty());
    let last = last.map_or_else(String::new, |line| format!(": {}", line.escape_debug()));
    Err(format!("it ended with {status}{last}"))
}

/// The first of what a program complains. The rest is read, too: a player that it left in the
/// background would be ended by a pipe that nobody reads.
async fn hear(mut stderr: ChildStderr) -> Vec<u8> {
    let mut complaint = Vec::new();
    drop(
        (&mut stderr)
            .take(COMPLAINT)
            .read_to_end(&mut complaint)
            .await,
    );
    tokio::spawn(async move { drop(copy(&mut stderr, &mut sink()).await) });
    complaint
}

fn end_group(group: Option<u32>) {
    let group = group
        .and_then(|id| i32::try_from(id).ok())
        .and_then(rustix::process::Pid::from_raw);
    if let Some(group) = group
        && let Err(cause) =
            rustix::process::kill_process_group(group, rustix::process::Signal::KILL)
    {
        tracing::warn!(%cause, "a sounder that hangs could not be ended");
    }
}

fn call(address: &str, document: String) -> Result<(), String> {
    let agent: ureq::Agent = ureq::Agent::config_builder()
        .timeout_global(Some(HOOK))
        .max_redirects(0)
        .proxy(None)
        .build()
        .into();
    agent
        .post(address)
        .header("Content-Type", "application/json")
        .send(document)
        .map(drop)
        .map_err(|cause| cause.to_string())
}
