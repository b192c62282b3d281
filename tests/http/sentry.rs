//! The box in earnest, killed with people out: another process sounds, and is relieved by the next
//! start.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use deckwatch::clock::Clock;
use jiff::SignedDuration;

use crate::app::App;

const PROGRAM: &str = env!("CARGO_BIN_EXE_deckwatch");

/// A server that ends with the test, whatever happens.
struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended by itself; either way it is gone.
        let _gone = self.0.kill();
        let _status = self.0.wait();
    }
}

fn serve(data: &Path, horn: &Path) -> Server {
    let child = Command::new(PROGRAM)
        .args(["serve", "--bind", "127.0.0.1:0", "--data"])
        .arg(data)
        .arg("--sounder-command")
        .arg(horn)
        .env_remove("NOTIFY_SOCKET")
        .stdin(Stdio::null())
        .spawn()
        .unwrap();
    Server(child)
}

/// A horn that writes down what it is told, a line each.
fn horn(folder: &Path) -> (PathBuf, PathBuf) {
    use std::os::unix::fs::PermissionsExt as _;
    let (script, log) = (folder.join("horn.sh"), folder.join("horn.log"));
    let line = format!(
        "#!/bin/sh\necho \"$DECKWATCH_SOUNDER $DECKWATCH_ALERTS\" | tr '\\n' ' ' >> {0}\necho >> {0}\n",
        log.display()
    );
    std::fs::write(&script, line).unwrap();
    std::fs::set_permissions(&script, std::fs::Permissions::from_mode(0o755)).unwrap();
    (script, log)
}

/// Waits until a line of the log holds all of this after the first `from` lines; how long it took.
async fn heard(log: &Path, from: usize, parts: &[&str], within: Duration) -> Duration {
    let clock = Clock::system();
    let begun_ms = clock.uptime_ms();
    loop {
        let text = std::fs::read_to_string(log).unwrap_or_default();
        let found = text
            .lines()
            .skip(from)
            .any(|line| parts.iter().all(|part| line.contains(part)));
        let took = Duration::from_millis(clock.uptime_ms() - begun_ms);
        if found {
            return took;
        }
        assert!(took < within, "never {parts:?} in {text}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

fn lines(log: &Path) -> usize {
    std::fs::read_to_string(log)
        .unwrap_or_default()
        .lines()
        .count()
}

#[tokio::test]
async fn a_box_that_is_killed_with_people_out_is_sounded_by_its_sentry_until_it_is_back() {
    // Three hours ago a group went in that nobody saw again.
    let ago = Clock::system().now() - SignedDuration::from_hours(3);
    let app = App::at_start(ago).await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    app.closing.cancel();
    app.store.close().await.unwrap();
    let data = app.folder.path();
    let (script, log) = horn(data);

    let mut server = serve(data, &script);
    let took = heard(&log, 0, &["on", "Delta"], Duration::from_secs(20)).await;
    println!("the first alarm {took:?} after the start");
    let post = data.join("sentry");
    while !post.exists() {
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    // Some beats, so that the sentry knows that people are out.
    tokio::time::sleep(Duration::from_millis(2_500)).await;

    let before = lines(&log);
    server.0.kill().unwrap();
    server.0.wait().unwrap();
    let silent = ["on", "does not answer"];
    let took = heard(&log, before, &silent, Duration::from_secs(8)).await;
    println!("sounded {took:?} after the kill");
    assert!(
        took >= Duration::from_millis(2_500),
        "the next start has its chance"
    );
    let again = lines(&log);
    heard(&log, again, &silent, Duration::from_secs(14)).await;

    // The next start relieves it, and goes on by itself.
    let name = std::fs::read_to_string(&post).unwrap();
    let before = lines(&log);
    let mut server = serve(data, &script);
    heard(&log, before, &["on", "Delta"], Duration::from_secs(20)).await;
    heard(&log, before, &["off"], Duration::from_secs(5)).await;
    assert_ne!(std::fs::read_to_string(&post).unwrap(), name);

    // Stopped in order nobody sounds.
    tokio::time::sleep(Duration::from_millis(1_500)).await;
    let pid = rustix::process::Pid::from_raw(i32::try_from(server.0.id()).unwrap()).unwrap();
    rustix::process::kill_process(pid, rustix::process::Signal::TERM).unwrap();
    assert!(server.0.wait().unwrap().success());
    let before = lines(&log);
    tokio::time::sleep(Duration::from_secs(5)).await;
    let text = std::fs::read_to_string(&log).unwrap();
    let after = text.lines().skip(before).collect::<Vec<_>>();
    assert!(
        after.iter().all(|line| !line.contains("does not answer")),
        "{after:?}"
    );
}
