//! What the sounder is told and when: a state machine fed four times a second. It reads no clock.

use std::collections::BTreeMap;

use crate::sounder::Word;
use crate::trip::watch::Priority;

/// An alarm that goes on is told again: the relay behind it may be one that drops off.
const AGAIN_MS: f64 = 10_000.0;

/// What sounds at an instant: the identity of each situation at its cause and priority.
pub type Audible = BTreeMap<String, Priority>;

/// What the sounder was told so far.
#[derive(Debug, Default)]
pub struct Sounding {
    heard: Audible,
    on: bool,
    told_ms: u64,
    owes_once: bool,
}

impl Sounding {
    /// What is to be told now, if anything. `up_ms`: the uptime; `speed`: how fast it runs.
    pub fn step(&mut self, audible: &Audible, up_ms: u64, speed: f64) -> Option<Word> {
        let is_loud = |priority: &Priority| *priority <= Priority::Alarm;
        let rises = |loud: bool| {
            audible
                .iter()
                .any(|(key, priority)| is_loud(priority) == loud && !self.heard.contains_key(key))
        };
        let (alarm_rises, warning_rises) = (rises(true), rises(false));
        self.heard.clone_from(audible);
        self.owes_once |= warning_rises;
        if audible.values().any(is_loud) {
            // The louder covers the other.
            self.owes_once = false;
            let since_ms = up_ms.saturating_sub(self.told_ms) as f64 / speed.max(1.0);
            if self.on && !alarm_rises && since_ms < AGAIN_MS {
                return None;
            }
            self.on = true;
            self.told_ms = up_ms;
            return Some(Word::On);
        }
        if std::mem::take(&mut self.on) {
            return Some(Word::Off);
        }
        std::mem::take(&mut self.owes_once).then_some(Word::Once)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn audible(all: &[(&str, Priority)]) -> Audible {
        all.iter().map(|(key, p)| ((*key).to_owned(), *p)).collect()
    }

    #[test]
    fn an_alarm_is_told_at_once_then_every_ten_seconds_and_its_end() {
        let mut sounding = Sounding::default();
        let alarm = audible(&[("d overdue", Priority::Alarm)]);
        assert_eq!(sounding.step(&Audible::new(), 0, 1.0), None);
        assert_eq!(sounding.step(&alarm, 250, 1.0), Some(Word::On));
        assert_eq!(sounding.step(&alarm, 500, 1.0), None);
        assert_eq!(sounding.step(&alarm, 10_249, 1.0), None);
        assert_eq!(sounding.step(&alarm, 10_250, 1.0), Some(Word::On));
        assert_eq!(
            sounding.step(&Audible::new(), 10_500, 1.0),
            Some(Word::Off),
            "acknowledged, silenced or over"
        );
        assert_eq!(sounding.step(&Audible::new(), 60_000, 1.0), None);
        assert_eq!(
            sounding.step(&alarm, 60_250, 1.0),
            Some(Word::On),
            "silence over"
        );
    }

    #[test]
    fn another_alarm_is_told_at_once_and_a_rise_is_another() {
        let mut sounding = Sounding::default();
        let one = audible(&[("d overdue", Priority::Alarm)]);
        assert_eq!(sounding.step(&one, 0, 1.0), Some(Word::On));
        let two = audible(&[
            ("d overdue", Priority::Alarm),
            ("e missing", Priority::Emergency),
        ]);
        assert_eq!(sounding.step(&two, 250, 1.0), Some(Word::On));
        assert_eq!(sounding.step(&one, 500, 1.0), None);
    }

    #[test]
    fn a_late_group_is_told_once_and_after_the_quiet_where_both_come_together() {
        let mut sounding = Sounding::default();
        let late = audible(&[("d late", Priority::Warning)]);
        assert_eq!(sounding.step(&late, 0, 1.0), Some(Word::Once));
        assert_eq!(sounding.step(&late, 70_000, 1.0), None);
        let alarm = audible(&[("e overdue", Priority::Alarm)]);
        assert_eq!(sounding.step(&alarm, 70_250, 1.0), Some(Word::On));
        assert_eq!(sounding.step(&late, 70_500, 1.0), Some(Word::Off));
        assert_eq!(sounding.step(&late, 70_750, 1.0), Some(Word::Once));
    }

    #[test]
    fn in_a_drill_it_is_told_again_by_real_seconds() {
        let mut sounding = Sounding::default();
        let alarm = audible(&[("d overdue", Priority::Alarm)]);
        assert_eq!(sounding.step(&alarm, 0, 100.0), Some(Word::On));
        assert_eq!(sounding.step(&alarm, 999_000, 100.0), None);
        assert_eq!(sounding.step(&alarm, 1_000_000, 100.0), Some(Word::On));
    }
}
