//! The sounder: what sounds beside the screens. A program that the box runs, and a web hook that
//! it calls; each is tried again when it fails, ended when it hangs, and remembered.
//!
//! `run` alone starts programs and calls hooks.

mod run;

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use tokio::sync::{mpsc, oneshot};

use crate::clock::Clock;
use crate::trip::watch::Priority;

use run::attempt;

/// Attempts that are remembered, of each output.
const REMEMBERED: usize = 50;
/// An attempt that takes longer is ended and counts as failed.
pub const LIMIT: Duration = Duration::from_secs(8);
/// Pauses before the next try: the first, and the longest.
const FIRST_PAUSE: Duration = Duration::from_millis(500);
const LONGEST_PAUSE: Duration = Duration::from_secs(8);

/// What the sounder is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Word {
    /// Sound, and go on: said again every ten seconds while it holds.
    On,
    /// Be quiet.
    Off,
    /// Sound once: somebody is late.
    Once,
    /// Somebody tries it.
    Test,
}

impl Word {
    /// As programs are told it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::On => "on",
            Self::Off => "off",
            Self::Once => "once",
            Self::Test => "test",
        }
    }
}

/// What is told, with why.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Order {
    /// The word.
    pub word: Word,
    /// The worst of what sounds.
    pub priority: Option<String>,
    /// What sounds, a sentence each.
    pub alerts: Vec<String>,
    /// When it was told, by the box's clock.
    pub at: Timestamp,
}

impl Order {
    /// An order without a reason.
    #[must_use]
    pub fn bare(word: Word, at: Timestamp) -> Self {
        Self {
            word,
            priority: None,
            alerts: Vec::new(),
            at,
        }
    }
}

/// The name of a priority, as programs are told it.
#[must_use]
pub fn priority_name(priority: Priority) -> &'static str {
    match priority {
        Priority::Emergency => "emergency",
        Priority::Alarm => "alarm",
        Priority::Warning => "warning",
        Priority::Caution => "caution",
    }
}

/// Where the sounder is driven.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Output {
    /// A program with its arguments, run without a shell.
    Command(Vec<String>),
    /// An address that takes a POST.
    Hook(String),
}

/// Why text names no output.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoOutput {
    /// No program in it.
    #[error("'{0}' names no program: give it like '/usr/local/bin/horn --relay 1'")]
    NoProgram(String),
    /// No address.
    #[error(
        "'{0}' is no address to call: give it like http://10.20.0.9/horn; for https give a program that speaks it"
    )]
    NoAddress(String),
}

impl Output {
    /// A program with arguments as they are typed: split at spaces, quotes keep words together;
    /// no shell reads them.
    ///
    /// # Errors
    /// [`NoOutput::NoProgram`].
    pub fn command(text: &str) -> Result<Self, NoOutput> {
        shlex::split(text)
            .filter(|words| words.first().is_some_and(|program| !program.is_empty()))
            .map(Self::Command)
            .ok_or_else(|| NoOutput::NoProgram(text.to_owned()))
    }

    /// A web hook.
    ///
    /// # Errors
    /// [`NoOutput::NoAddress`] for anything but plain http, which a horn on the boat's own network
    /// speaks.
    pub fn hook(text: &str) -> Result<Self, NoOutput> {
        let rest = text.strip_prefix("http://");
        let host = rest.and_then(|rest| rest.split(['/', '?', '#']).next());
        let whole = host.is_some_and(|host| !host.is_empty())
            && !text.chars().any(|c| c.is_whitespace() || c.is_control());
        if whole {
            Ok(Self::Hook(text.to_owned()))
        } else {
            Err(NoOutput::NoAddress(text.to_owned()))
        }
    }

    /// What it is called: the program, or the address.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Command(words) => words.first().cloned().unwrap_or_default(),
            Self::Hook(address) => address.clone(),
        }
    }
}

/// One attempt.
#[derive(Debug, Clone, PartialEq)]
pub struct Attempt {
    /// When it began.
    pub at: Timestamp,
    /// What was told.
    pub word: Word,
    /// Why it failed, if it did.
    pub failed: Option<String>,
}

/// What is remembered of one output.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Record {
    /// What it is called.
    pub name: String,
    /// The last attempts, the latest first.
    pub attempts: VecDeque<Attempt>,
    /// The last that succeeded.
    pub succeeded_at: Option<Timestamp>,
    /// The last that failed, and why.
    pub failed: Option<(Timestamp, String)>,
}

impl Record {
    /// Whether the last attempt failed.
    #[must_use]
    pub fn fails(&self) -> bool {
        self.attempts
            .front()
            .is_some_and(|last| last.failed.is_some())
    }

    fn note(&mut self, attempt: Attempt) {
        match &attempt.failed {
            None => self.succeeded_at = Some(attempt.at),
            Some(why) => self.failed = Some((attempt.at, why.clone())),
        }
        self.attempts.push_front(attempt);
        self.attempts.truncate(REMEMBERED);
    }
}

/// The sounder of this box; cheap to clone.
#[derive(Clone)]
pub struct Sounder(Arc<Inner>);

struct Inner {
    clock: Clock,
    outputs: Vec<Driven>,
    /// Whether the last word was to go on.
    goes_on: AtomicBool,
}

struct Driven {
    output: Output,
    jobs: mpsc::UnboundedSender<Job>,
    record: Arc<Mutex<Record>>,
}

/// An order, and who waits to hear how its first attempt went.
struct Job {
    order: Order,
    answer: Option<oneshot::Sender<Result<(), String>>>,
}

impl Sounder {
    /// A sounder with these outputs, on a runtime. None: there is no sounder.
    #[must_use]
    pub fn new(clock: Clock, outputs: Vec<Output>) -> Self {
        let outputs = outputs
            .into_iter()
            .map(|output| {
                let (jobs, waiting) = mpsc::unbounded_channel();
                let record = Arc::new(Mutex::new(Record {
                    name: output.name(),
                    ..Record::default()
                }));
                tokio::spawn(drive(
                    clock.clone(),
                    output.clone(),
                    waiting,
                    record.clone(),
                ));
                Driven {
                    output,
                    jobs,
                    record,
                }
            })
            .collect();
        Self(Arc::new(Inner {
            clock,
            outputs,
            goes_on: AtomicBool::new(false),
        }))
    }

    /// Whether there is one.
    #[must_use]
    pub fn is_there(&self) -> bool {
        !self.0.outputs.is_empty()
    }

    /// What is remembered of each output.
    #[must_use]
    pub fn records(&self) -> Vec<Record> {
        let each = self.0.outputs.iter();
        each.map(|driven| held(&driven.record).clone()).collect()
    }

    /// Tells it; what fails is tried again until it succeeds or something newer is told.
    pub fn tell(&self, order: &Order) {
        match order.word {
            Word::On => self.0.goes_on.store(true, Ordering::Relaxed),
            Word::Off => self.0.goes_on.store(false, Ordering::Relaxed),
            Word::Once | Word::Test => {}
        }
        for driven in &self.0.outputs {
            let job = Job {
                order: order.clone(),
                answer: None,
            };
            // Its task has ended only with the runtime.
            drop(driven.jobs.send(job));
        }
    }

    /// The last word before the program ends, waited for: what was told to go on is told to be
    /// quiet, as nobody could tell it after that.
    pub async fn rest(&self) {
        if self.0.goes_on.swap(false, Ordering::Relaxed) {
            for (sounder, done) in self.ask(Word::Off).await {
                if let Err(why) = done {
                    tracing::error!(sounder, why, "the sounder could not be told to be quiet");
                }
            }
        }
    }

    /// Tries every output once and says how each went.
    pub async fn try_out(&self) -> Vec<(String, Result<(), String>)> {
        self.ask(Word::Test).await
    }

    /// Tells every output and waits for its first attempt.
    async fn ask(&self, word: Word) -> Vec<(String, Result<(), String>)> {
        let order = Order::bare(word, self.0.clock.now());
        let mut waiting = Vec::new();
        for driven in &self.0.outputs {
            let (answer, told) = oneshot::channel();
            let job = Job {
                order: order.clone(),
                answer: Some(answer),
            };
            drop(driven.jobs.send(job));
            waiting.push((driven.output.name(), told));
        }
        let mut answers = Vec::new();
        for (name, told) in waiting {
            let answer = told
                .await
                .unwrap_or_else(|_| Err("something more urgent was told meanwhile".to_owned()));
            answers.push((name, answer));
        }
        answers
    }
}

/// What is held is whole at any instant, whoever panicked while holding it.
fn held(record: &Mutex<Record>) -> MutexGuard<'_, Record> {
    record.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Of what waits, what still matters: the last word about going on, else the last of all.
fn newest(mut job: Job, waiting: &mut mpsc::UnboundedReceiver<Job>) -> Job {
    while let Ok(next) = waiting.try_recv() {
        // A trial takes the place of no word that somebody relies on: it is told as not made.
        let keeps = matches!(
            (job.order.word, next.order.word),
            (Word::On, Word::Once) | (Word::On | Word::Off | Word::Once, Word::Test)
        );
        if !keeps {
            job = next;
        }
    }
    job
}

async fn drive(
    clock: Clock,
    output: Output,
    mut waiting: mpsc::UnboundedReceiver<Job>,
    record: Arc<Mutex<Record>>,
) {
    let mut next = waiting.recv().await;
    while let Some(job) = next.take() {
        let Job { order, mut answer } = newest(job, &mut waiting);
        let mut pause = FIRST_PAUSE;
        loop {
            let at = clock.now();
            let done = attempt(&output, &order).await;
            let (word, sounder) = (order.word.name(), output.name());
            match &done {
                Ok(()) => tracing::info!(sounder, word, at = %at, "the sounder was told"),
                Err(why) => tracing::error!(sounder, word, at = %at, why, "the sounder failed"),
            }
            held(&record).note(Attempt {
                at,
                word: order.word,
                failed: done.as_ref().err().cloned(),
            });
            let is_trial = order.word == Word::Test;
            let failed = done.is_err();
            if let Some(answer) = answer.take() {
                // Whoever tried may have gone.
                drop(answer.send(done));
            }
            if !failed || is_trial {
                break;
            }
            tokio::select! {
                newer = waiting.recv() => match newer {
                    Some(newer) => { next = Some(newer); break; }
                    None => return,
                },
                () = tokio::time::sleep(pause) => pause = (pause * 2).min(LONGEST_PAUSE),
            }
        }
        if next.is_none() {
            next = waiting.recv().await;
        }
    }
}

#[cfg(test)]
mod tests;
