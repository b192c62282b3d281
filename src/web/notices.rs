//! Notices of the box: what is wrong with the service itself, not with a trip. A certificate that
//! ends, a clock that nobody confirmed, a store that does not write, nobody who watches. Alerts
//! follow from a trip's log and its clock; notices follow from the box, and stand beside them.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use serde::Serialize;
use tokio::sync::watch;

use crate::trip::watch::Priority;

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
