//! The certificate of the https address under way: its files are looked at again and again, and
//! what is wrong with it stands among the notices of the box.

use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use tokio::time::{MissedTickBehavior, interval};

use super::app::App;
use super::notices::Notices;
use crate::certificate::{Facts, Held, Looked};
use crate::trip::watch::Priority;

/// How often the files are looked at. It costs two small reads, and a renewed pair is served
/// after at most twice as long.
pub const EVERY: Duration = Duration::from_secs(5);
/// So long before its end it is a caution: time to meet the internet, or to find the authority's
/// key.
const CAUTION: SignedDuration = SignedDuration::from_hours(14 * 24);
/// So long before its end it is a warning.
const WARNING: SignedDuration = SignedDuration::from_hours(7 * 24);

/// What a certificate's span means now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It holds for long enough.
    Good,
    /// It ends soon.
    EndsSoon(Priority),
    /// It has ended.
    Ended,
    /// It has not begun: the clock or the certificate is wrong.
    NotYet,
}

/// How a certificate stands at an instant: caution 14 days before its end, warning 7 days, alarm
/// from its end on.
#[must_use]
pub fn standing(facts: &Facts, now: Timestamp) -> Standing {
    let left = facts.ends.duration_since(now);
    if now < facts.begins {
        Standing::NotYet
    } else if left <= SignedDuration::ZERO {
        Standing::Ended
    } else if left <= WARNING {
        Standing::EndsSoon(Priority::Warning)
    } else if left <= CAUTION {
        Standing::EndsSoon(Priority::Caution)
    } else {
        Standing::Good
    }
}

/// Whole days until a certificate ends, rounded down; none once it has.
#[must_use]
pub fn days_left(facts: &Facts, now: Timestamp) -> i64 {
    (facts.ends.duration_since(now).as_hours() / 24).max(0)
}

/// An instant as notices and the command line write it.
#[must_use]
pub fn written(instant: Timestamp) -> String {
    instant.strftime("%Y-%m-%d %H:%M UTC").to_string()
}

/// Looks after the certificate until the server stops.
pub async fn keep(app: App, held: Held, every: Duration) {
    let mut ticks = interval(every);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    loop {
        tokio::select! {
            () = app.closing().cancelled() => return,
            _ = ticks.tick() => {}
        }
        let (looking, now) = (held.clone(), app.clock().now());
        // The disk may stall; the rest of the box does not wait for it.
        match tokio::task::spawn_blocking(move || looking.look(now)).await {
            Ok(looked) => tell(&app, &held, &looked),
            Err(error) => tracing::error!(%error, "looking at the certificate failed"),
        }
    }
}

/// Says what a look found, in the log and among the notices.
pub fn tell(app: &App, held: &Held, looked: &Looked) {
    let (notices, now) = (app.notices(), app.clock().now());
    let facts = held.facts();
    match looked {
        Looked::Same => {}
        Looked::Taken => {
            if let Some(facts) = &facts {
                tracing::info!(ends = %facts.ends, fingerprint = %facts.fingerprint, "serving this certificate");
            }
            notices.clear("certificate-refused");
        }
        Looked::Refused(refusal) => {
            tracing::error!("{refusal}");
            if facts.is_some() {
                notices.raise("certificate-refused", Priority::Warning, &[], now);
            }
        }
    }
    app.hold_certificate_end(facts.as_ref().map(|facts| facts.ends));
    judge(notices, facts.as_ref(), now);
}

/// Raises what holds of the served certificate, and clears what does not.
fn judge(notices: &Notices, facts: Option<&Facts>, now: Timestamp) {
    let mut raised = None;
    match facts {
        None => {
            raised = Some("certificate-missing");
            notices.raise("certificate-missing", Priority::Alarm, &[], now);
        }
        Some(facts) => {
            let ends = ("ends", written(facts.ends));
            match standing(facts, now) {
                Standing::Good => {}
                Standing::EndsSoon(priority) => {
                    raised = Some("certificate");
                    let days = ("days", days_left(facts, now).to_string());
                    notices.raise("certificate", priority, &[ends, days], now);
                }
                Standing::Ended => {
                    raised = Some("certificate-ended");
                    notices.raise("certificate-ended", Priority::Alarm, &[ends], now);
                }
                Standing::NotYet => {
                    raised = Some("certificate-not-yet");
                    let begins = ("begins", written(facts.begins));
                    let clock = ("now", written(now));
                    let args = [begins, clock];
                    notices.raise("certificate-not-yet", Priority::Alarm, &args, now);
                }
            }
        }
    }
    for about in [
        "certificate",
        "certificate-ended",
        "certificate-not-yet",
        "certificate-missing",
    ] {
        if raised != Some(about) {
            notices.clear(about);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(now: Timestamp, left: SignedDuration) -> Facts {
        Facts {
            hosts: Vec::new(),
            begins: now - SignedDuration::from_hours(24 * 60),
            ends: now + left,
            fingerprint: String::new(),
        }
    }

    #[test]
    fn fourteen_days_seven_days_and_the_end() {
        let now: Timestamp = "2026-06-01T10:00:00Z".parse().unwrap();
        let day = SignedDuration::from_hours(24);
        let second = SignedDuration::from_secs(1);
        let at = |left| standing(&facts(now, left), now);
        assert_eq!(at(day * 14 + second), Standing::Good);
        assert_eq!(at(day * 14), Standing::EndsSoon(Priority::Caution));
        assert_eq!(at(day * 7 + second), Standing::EndsSoon(Priority::Caution));
        assert_eq!(at(day * 7), Standing::EndsSoon(Priority::Warning));
        assert_eq!(at(second), Standing::EndsSoon(Priority::Warning));
        assert_eq!(at(SignedDuration::ZERO), Standing::Ended);
        let early = now - day * 61;
        assert_eq!(standing(&facts(now, day * 30), early), Standing::NotYet);
    }

    #[test]
    fn one_notice_takes_the_place_of_the_other() {
        let notices = Notices::default();
        let now: Timestamp = "2026-06-01T10:00:00Z".parse().unwrap();
        let day = SignedDuration::from_hours(24);
        let held = facts(now, day * 20);
        let mut told = Vec::new();
        for days in [0, 6, 13, 20, 21] {
            judge(&notices, Some(&held), now + day * days);
            let all = notices.all();
            assert!(all.len() <= 1, "{all:?}");
            told.push(
                all.into_iter()
                    .next()
                    .map(|(about, one)| (about, one.priority)),
            );
        }
        assert_eq!(
            told,
            [
                None,
                Some(("certificate", Priority::Caution)),
                Some(("certificate", Priority::Warning)),
                Some(("certificate-ended", Priority::Alarm)),
                Some(("certificate-ended", Priority::Alarm)),
            ]
        );
        judge(&notices, Some(&facts(now, day * 60)), now);
        assert!(notices.all().is_empty());
        judge(&notices, None, now);
        assert!(notices.all().contains_key("certificate-missing"));
    }
}
