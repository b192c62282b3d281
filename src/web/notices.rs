//! Notices of the box: what is wrong with the service itself, not with a trip. A certificate that
//! ends, a clock that nobody confirmed, a store that does not write, nobody who watches. Alerts
//! follow from a trip's log and its clock; notices follow from the box, and stand beside them.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use serde_json::{Map, Value, json};
use tokio::sync::watch;

use super::parts::Urgency;
use super::view;
use crate::trip::watch::Priority;
use crate::words::{Arg, Words};

/// Notices that sound: the watch is lost, or nobody knows the time with people out. The others
/// stand there until they are mended, as a sound that nobody can answer teaches to ignore it.
const SOUND: [&str; 2] = ["nobody-watching", "check-groups"];

/// Whether a notice about this sounds, on screens and on the box's own sounder.
#[must_use]
pub fn sounds(about: &str) -> bool {
    SOUND.contains(&about)
}

/// One notice.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Notice {
    /// How much it matters.
    pub priority: Priority,
    /// Since when it holds.
    pub since: Timestamp,
    /// What fills its sentence, `notice-{about}` in the message files.
    pub args: BTreeMap<String, String>,
}

impl Notice {
    /// Its sentence. An argument that is an instant is told as the time of day in `zone`.
    #[must_use]
    pub fn sentence(&self, about: &str, zone: &TimeZone, t: &Words) -> String {
        let args: Vec<(&str, Arg)> = self
            .args
            .iter()
            .map(|(name, value)| (name.as_str(), worded(value, zone)))
            .collect();
        t.say_with(&format!("notice-{about}"), &args)
    }
}

fn worded(value: &str, zone: &TimeZone) -> Arg {
    if let Ok(at) = value.parse::<Timestamp>() {
        return view::clock_time(at, zone).into();
    }
    // A figure chooses its plural; text stays text.
    match value.parse::<i64>() {
        Ok(figure) => figure.into(),
        Err(_) => value.into(),
    }
}

/// A notice as a row of the strip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoticeRow {
    /// What it is about; becomes part of the element's id.
    pub about: &'static str,
    /// How urgent.
    pub urgency: Urgency,
    /// Whether it sounds.
    pub sounds: bool,
    /// What is the matter and what to do.
    pub text: String,
    /// Since when, as the time of day.
    pub since: String,
    /// Since when, RFC 3339.
    pub since_rfc3339: String,
    /// Where it is handled.
    pub href: String,
}

/// The notices that hold, by what each is about; cheap to clone.
#[derive(Debug, Clone)]
pub struct Notices(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    held: Mutex<BTreeMap<&'static str, Notice>>,
    changed: watch::Sender<u64>,
}

impl Default for Notices {
    fn default() -> Self {
        let (changed, _) = watch::channel(0);
        Self(Arc::new(Inner {
            held: Mutex::default(),
            changed,
        }))
    }
}

impl Notices {
    /// Raises a notice, or renews its words: since when it holds stays as it was.
    pub fn raise(
        &self,
        about: &'static str,
        priority: Priority,
        args: &[(&str, String)],
        now: Timestamp,
    ) {
        let args = args.iter().map(|(k, v)| ((*k).to_owned(), v.clone()));
        let mut notice = Notice {
            priority,
            since: now,
            args: args.collect(),
        };
        let mut held = self.held();
        if let Some(was) = held.get(about) {
            notice.since = was.since;
            if *was == notice {
                return;
            }
        }
        held.insert(about, notice);
        drop(held);
        self.0.changed.send_modify(|n| *n += 1);
    }

    /// A notice holds no longer.
    pub fn clear(&self, about: &'static str) {
        if self.held().remove(about).is_some() {
            self.0.changed.send_modify(|n| *n += 1);
        }
    }

    /// All that hold.
    #[must_use]
    pub fn all(&self) -> BTreeMap<&'static str, Notice> {
        self.held().clone()
    }

    /// The rows of the strip, worst first, then the oldest. `url`: where all are listed.
    #[must_use]
    pub fn rows(&self, url: &str, zone: &TimeZone, t: &Words) -> Vec<NoticeRow> {
        let mut held: Vec<_> = self.all().into_iter().collect();
        held.sort_by_key(|(_, notice)| (notice.priority, notice.since));
        held.into_iter()
            .map(|(about, notice)| NoticeRow {
                about,
                urgency: view::urgency(notice.priority),
                sounds: sounds(about),
                text: notice.sentence(about, zone, t),
                since: view::clock_time(notice.since, zone),
                since_rfc3339: notice.since.to_string(),
                href: format!("{url}#notice-{about}"),
            })
            .collect()
    }

    /// All that hold, as programs read them: with their sentences, times of day in UTC.
    #[must_use]
    pub fn told(&self, t: &Words) -> Value {
        let told = self.all().into_iter().map(|(about, notice)| {
            let text = notice.sentence(about, &TimeZone::UTC, t);
            let value = json!({
                "priority": notice.priority, "since": notice.since, "args": notice.args,
                "text": text,
            });
            (about.to_owned(), value)
        });
        Value::Object(told.collect::<Map<_, _>>())
    }

    /// Tells of every change.
    #[must_use]
    pub fn changed(&self) -> watch::Receiver<u64> {
        self.0.changed.subscribe()
    }

    /// What is held is whole at any instant, whoever panicked while holding it.
    fn held(&self) -> std::sync::MutexGuard<'_, BTreeMap<&'static str, Notice>> {
        self.0.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::SignedDuration;

    #[test]
    fn a_notice_that_goes_on_keeps_its_beginning() {
        let notices = Notices::default();
        let told = notices.changed();
        let start = Timestamp::UNIX_EPOCH;
        let later = start + SignedDuration::from_mins(5);
        notices.raise("storage", Priority::Warning, &[], start);
        notices.raise("storage", Priority::Warning, &[], later);
        assert_eq!(*told.borrow(), 1);
        notices.raise("storage", Priority::Alarm, &[], later);
        let held = &notices.all()["storage"];
        assert_eq!((held.since, held.priority), (start, Priority::Alarm));
        notices.clear("storage");
        assert!(notices.all().is_empty());
        assert_eq!(*told.borrow(), 3);
    }
}
