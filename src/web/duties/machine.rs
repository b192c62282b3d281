//! What the box asks of its machine: not to fall asleep while people are out.

use std::process::Stdio;

use tokio::process::{Child, ChildStdin, Command};

/// Keeps the machine awake while it is held.
///
/// It is a program of the system, `systemd-inhibit`, that runs as long as its input is open: when
/// this process ends, however that comes, the machine may sleep again.
#[derive(Debug, Default)]
pub struct Awake {
    held: Option<(Child, Option<ChildStdin>)>,
    failed: bool,
}

impl Awake {
    /// Holds the machine awake, or lets it go. What cannot be held is tried again with the next
    /// dive.
    pub fn hold(&mut self, wanted: bool) {
        if !wanted {
            self.failed = false;
            if let Some((_, stdin)) = self.held.take() {
                // Its input closed, the program ends; it is reaped by the runtime.
                drop(stdin);
                tracing::info!("the machine may sleep again");
            }
            return;
        }
        if let Some((child, _)) = &mut self.held
            && let Ok(Some(status)) = child.try_wait()
        {
            tracing::warn!(%status, "the machine is not kept awake: systemd-inhibit ended");
            self.held = None;
            self.failed = true;
        }
        if self.held.is_some() || self.failed {
            return;
        }
        match start() {
            Ok(mut child) => {
                let stdin = child.stdin.take();
                self.held = Some((child, stdin));
                tracing::info!("the machine is kept awake while people are out");
            }
            Err(cause) => {
                tracing::warn!(%cause, "the machine is not kept awake: systemd-inhibit could not be run");
                self.failed = true;
            }
        }
    }

    /// Whether it was asked for and could not be had.
    #[must_use]
    pub fn is_refused(&self) -> bool {
        self.failed
    }
}

fn start() -> std::io::Result<Child> {
    Command::new("systemd-inhibit")
        .args([
            "--what=sleep:idle",
            "--who=Deckwatch",
            "--why=People are in the water",
            "--mode=block",
            "cat",
        ])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .process_group(0)
        .spawn()
}
