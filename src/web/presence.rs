//! Who is in touch: which crew member's device was heard of lately. Kept in memory; after a start
//! nobody is in touch until heard.

use std::collections::HashMap;
use std::sync::Mutex;

use jiff::{SignedDuration, Timestamp};

use crate::trip::CrewId;
use crate::trip::event::DeviceId;

/// A device not heard of for so long is out of touch. A page without scripts asks every 15 s, a
/// stream is written to every 3 s.
const AWAY: SignedDuration = SignedDuration::from_secs(60);

/// Devices and when they were heard of last.
#[derive(Debug, Default)]
pub struct Presence(Mutex<HashMap<DeviceId, Heard>>);

#[derive(Debug, Clone, Copy)]
struct Heard {
    crew: CrewId,
    at: Timestamp,
}

impl Presence {
    /// A crew member's device was heard of.
    pub fn hear(&self, device: DeviceId, crew: CrewId, at: Timestamp) {
        if let Ok(mut heard) = self.0.lock() {
            heard.insert(device, Heard { crew, at });
        }
    }

    /// Whether another crew member is in touch on another device. `speed`: how fast the clock
    /// runs. Doubt counts as somebody, whose word is then waited for.
    #[must_use]
    pub fn has_another(&self, device: DeviceId, crew: CrewId, now: Timestamp, speed: f64) -> bool {
        let Ok(heard) = self.0.lock() else {
            return true;
        };
        let away_s = AWAY.as_secs_f64() * speed.max(1.0);
        heard.iter().any(|(other, last)| {
            *other != device
                && last.crew != crew
                && now.duration_since(last.at).as_secs_f64() <= away_s
        })
    }
}
