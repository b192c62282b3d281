//! `deckwatch sentry`: a small second process that holds the next deadlines and sounds when the
//! box falls silent with people out. `serve` starts it and tells it a line a second.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use tokio::sync::mpsc;

use super::serve::Horn;
use crate::clock::Clock;
use crate::sounder::{Order, Sounder, Word};
use crate::words::Words;

/// A box that says nothing for so long is silent.
const SILENT_MS: u64 = 10_000;
/// A box whose pipe closed has ended: time for its next start to relieve this sentry.
const GRACE_MS: u64 = 3_000;
/// What goes on is told again.
const AGAIN_MS: u64 = 10_000;

/// What `sentry` is told.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    horn: Horn,
    /// The file that names who is on post: a sentry whose name no longer stands there is relieved.
    #[arg(long)]
    post: PathBuf,
}

/// A line of the box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Line {
    /// It is alive.
    Beat(Beat),
    /// It stops in order: nobody sounds.
    End,
}

/// What is held until the next line.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Beat {
    /// How many people are out.
    pub out: usize,
    /// Uptimes of the machine at which somebody is overdue, milliseconds.
    pub deadlines_ms: Vec<u64>,
}

/// What came in.
enum Heard {
    Line(Line),
    /// The pipe closed: the box is gone.
    Gone,
}

/// What a sentry knows, and what it does about it. It reads no clock.
#[derive(Debug, Default)]
struct Watch {
    held: Beat,
    heard_ms: u64,
    gone_ms: Option<u64>,
    told_ms: Option<u64>,
    passed: usize,
}

/// What is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Act {
    /// The box is silent: sound.
    Sound,
    /// A deadline passed that the box did not tell.
    Deadline,
    /// The box is back.
    Quiet,
    /// The box is gone and nobody is out: there is nothing to guard.
    Leave,
}

impl Watch {
    fn hear(&mut self, beat: Beat, up_ms: u64) {
        self.held = beat;
        self.heard_ms = up_ms;
    }

    fn step(&mut self, up_ms: u64) -> Option<Act> {
        let silent = match self.gone_ms {
            Some(gone_ms) => up_ms.saturating_sub(gone_ms) >= GRACE_MS,
            None => up_ms.saturating_sub(self.heard_ms) >= SILENT_MS,
        };
        if !silent {
            self.passed = 0;
            return self.told_ms.take().map(|_| Act::Quiet);
        }
        if self.held.out == 0 {
            return self.gone_ms.map(|_| Act::Leave);
        }
        let deadlines = self.held.deadlines_ms.iter();
        let passed = deadlines.filter(|at_ms| **at_ms <= up_ms).count();
        let another = passed > std::mem::replace(&mut self.passed, passed);
        let first = self.told_ms.is_none();
        let again = self
            .told_ms
            .is_some_and(|told_ms| up_ms.saturating_sub(told_ms) >= AGAIN_MS);
        if !(first || again || another) {
            return None;
        }
        self.told_ms = Some(up_ms);
        Some(if another && !first {
            Act::Deadline
        } else {
            Act::Sound
        })
    }
}

/// Guards until the box says that it stops, or another sentry is on post.
pub async fn run(args: Args) -> anyhow::Result<()> {
    let clock = Clock::system();
    let outputs = args.horn.outputs();
    anyhow::ensure!(
        !outputs.is_empty(),
        "a sentry needs something to sound: give it --sounder-command or --sounder-hook"
    );
    let name = clock.new_uuid().to_string();
    // A sentry that cannot take its post, as on a full disk, guards all the same: another may
    // then sound beside it, which is better than none.
    if let Err(cause) = take_post(&args.post, &name) {
        tracing::error!(%cause, post = %args.post.display(), "the post could not be written");
    }
    let before = std::fs::read_to_string(&args.post).ok();
    let sounder = Sounder::new(clock.clone(), outputs);
    let mut lines = listen();
    let mut watch = Watch {
        heard_ms: clock.uptime_ms(),
        ..Watch::default()
    };
    loop {
        tokio::select! {
            heard = lines.recv(), if watch.gone_ms.is_none() => match heard {
                Some(Heard::Line(Line::Beat(beat))) => watch.hear(beat, clock.uptime_ms()),
                Some(Heard::Line(Line::End)) => return Ok(()),
                Some(Heard::Gone) | None => {
                    tracing::error!(out = watch.held.out, "the box has ended without a word");
                    watch.gone_ms = Some(clock.uptime_ms());
                }
            },
            () = clock.pause() => {}
        }
        let on_post = std::fs::read_to_string(&args.post);
        if on_post.is_ok_and(|other| before.as_ref() != Some(&other)) {
            tracing::info!("another sentry is on post");
            sounder.rest().await;
            return Ok(());
        }
        match watch.step(clock.uptime_ms()) {
            None => {}
            Some(Act::Leave) => return Ok(()),
            Some(Act::Quiet) => {
                tracing::warn!("the box is back");
                sounder.tell(&Order::bare(Word::Off, clock.now()));
            }
            Some(act) => {
                tracing::error!(
                    out = watch.held.out,
                    ?act,
                    "the box is silent with people out: sounding"
                );
                sounder.tell(&order(act, watch.held.out, clock.now()));
            }
        }
    }
}

/// Written beside and put in place: a sentry that stands guard never reads half a name.
fn take_post(post: &Path, name: &str) -> std::io::Result<()> {
    let folder = post.parent().unwrap_or(Path::new("."));
    let mut beside = tempfile::NamedTempFile::new_in(folder)?;
    beside.write_all(name.as_bytes())?;
    beside
        .persist(post)
        .map(drop)
        .map_err(|failed| failed.error)
}

fn order(act: Act, out: usize, at: Timestamp) -> Order {
    let t = Words::english();
    let silent = t.say_with("sentry-silent", &[("out", out.into())]);
    let mut alerts = vec![silent];
    if act == Act::Deadline {
        alerts.push(t.say("sentry-deadline"));
    }
    Order {
        priority: Some("alarm".to_owned()),
        alerts,
        ..Order::bare(Word::On, at)
    }
}

/// Lines of standard input; one that cannot be read is told and passed over. A thread reads them:
/// a runtime would wait for its next line before it ends.
fn listen() -> mpsc::Receiver<Heard> {
    let (told, heard) = mpsc::channel(16);
    std::thread::spawn(move || {
        for next in std::io::stdin().lines() {
            let line = match next {
                Ok(text) => serde_json::from_str(&text),
                Err(cause) => {
                    tracing::error!(%cause, "the box cannot be heard");
                    break;
                }
            };
            match line {
                Ok(line) => {
                    if told.blocking_send(Heard::Line(line)).is_err() {
                        return;
                    }
                }
                Err(cause) => tracing::error!(%cause, "a line of the box cannot be read"),
            }
        }
        // Nobody may be left to hear that.
        drop(told.blocking_send(Heard::Gone));
    });
    heard
}

#[cfg(test)]
mod tests {
    use super::*;

    fn out(deadlines_ms: &[u64]) -> Beat {
        Beat {
            out: 3,
            deadlines_ms: deadlines_ms.to_vec(),
        }
    }

    #[test]
    fn ten_seconds_of_silence_with_people_out_sound_and_then_every_ten() {
        let mut watch = Watch::default();
        watch.hear(out(&[]), 1_000);
        assert_eq!(watch.step(10_999), None);
        assert_eq!(watch.step(11_000), Some(Act::Sound));
        assert_eq!(watch.step(20_999), None);
        assert_eq!(watch.step(21_000), Some(Act::Sound));
        watch.hear(out(&[]), 22_000);
        assert_eq!(watch.step(22_000), Some(Act::Quiet), "it is back");
        assert_eq!(watch.step(22_250), None);
    }

    #[test]
    fn each_deadline_it_holds_sounds_by_itself() {
        let mut watch = Watch::default();
        watch.hear(out(&[13_000, 14_000]), 1_000);
        assert_eq!(watch.step(11_000), Some(Act::Sound));
        assert_eq!(watch.step(12_999), None);
        assert_eq!(watch.step(13_000), Some(Act::Deadline));
        assert_eq!(watch.step(13_250), None);
        assert_eq!(watch.step(14_000), Some(Act::Deadline));
    }

    #[test]
    fn a_box_that_ended_is_given_time_for_its_next_start_and_no_more() {
        let mut watch = Watch::default();
        watch.hear(out(&[]), 1_000);
        watch.gone_ms = Some(2_000);
        assert_eq!(watch.step(4_999), None);
        assert_eq!(watch.step(5_000), Some(Act::Sound));
    }

    #[test]
    fn with_nobody_out_there_is_nothing_to_guard() {
        let mut watch = Watch::default();
        watch.hear(Beat::default(), 1_000);
        assert_eq!(watch.step(60_000), None);
        watch.gone_ms = Some(60_000);
        assert_eq!(watch.step(63_000), Some(Act::Leave));
    }

    #[test]
    fn a_line_reads_as_it_was_written() {
        for line in [Line::Beat(out(&[5])), Line::End] {
            let text = serde_json::to_string(&line).unwrap();
            assert_eq!(serde_json::from_str::<Line>(&text).unwrap(), line);
        }
    }
}
