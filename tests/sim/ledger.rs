//! The append rules of one trip's log, without a file: numbered without gaps, idempotent by the
//! event's id, whole or absent, nothing ever taken out. `tests/store/rules.rs` holds these rules
//! to what the store on a real file answers.

use std::collections::BTreeMap;
use std::sync::Arc;

use deckwatch::trip::event::{DeviceId, Entry, Event, EventId, Knows, Receipt, digest};
use jiff::Timestamp;

/// An event with the hash of its content, which is reckoned once.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    pub event: Arc<Event>,
    pub hash: [u8; 32],
}

impl Told {
    pub fn new(event: impl Into<Arc<Event>>) -> Self {
        let event = event.into();
        let hash = event.content().hash;
        Self { event, hash }
    }
}

/// Ages of an event at sending: by the device's wall clock and by its monotonic one.
pub type Ages = (Option<i64>, Option<i64>);

/// What became of an event, with the number it has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Appended {
    New(u64),
    Repeat(u64),
}

/// An event whose id, or whose number of its device, stands there with other content.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clash {
    pub index: usize,
    pub event: EventId,
    pub stands_at: u64,
}

#[derive(Debug, Clone, Default)]
pub struct Ledger {
    entries: Vec<Entry>,
    told: Vec<Told>,
    by_id: BTreeMap<EventId, usize>,
    by_number: BTreeMap<(DeviceId, u64), usize>,
    head: BTreeMap<DeviceId, u64>,
    aside: BTreeMap<[u8; 32], Told>,
}

impl Ledger {
    /// A batch, all of it or nothing. What clashes is kept aside.
    pub fn append(
        &mut self,
        batch: &[(Told, Ages)],
        now: Timestamp,
    ) -> Result<Vec<Appended>, Vec<Clash>> {
        let before = self.entries.len();
        let mut appended = Vec::new();
        let mut clashes = Vec::new();
        for (index, (told, (wall_age_ms, mono_age_ms))) in batch.iter().enumerate() {
            let event = told.event.id;
            if let Some(at) = self.by_id.get(&event).copied() {
                if self.told[at].hash == told.hash {
                    appended.push(Appended::Repeat(number(at)));
                } else {
                    let stands_at = number(at);
                    clashes.push(Clash {
                        index,
                        event,
                        stands_at,
                    });
                }
            } else if let Some(at) = self.numbered(&told.event) {
                let stands_at = number(at);
                clashes.push(Clash {
                    index,
                    event,
                    stands_at,
                });
            } else {
                let receipt = Receipt {
                    entry: number(self.entries.len()),
                    recorded_at: now,
                    wall_age_ms: *wall_age_ms,
                    mono_age_ms: *mono_age_ms,
                };
                appended.push(Appended::New(receipt.entry));
                self.push(told, receipt);
            }
        }
        if clashes.is_empty() {
            return Ok(appended);
        }
        self.cut(before);
        for clash in &clashes {
            let told = &batch[clash.index].0;
            self.aside.insert(told.hash, told.clone());
        }
        Err(clashes)
    }

    /// Set union: an entry of another copy with its receipt. Of two receipts of one event the one
    /// with the earlier reckoned time is kept, as the fold does. Whether anything changed.
    pub fn take_in(&mut self, told: &Told, receipt: Receipt) -> bool {
        if let Some(at) = self.by_id.get(&told.event.id).copied() {
            if self.told[at].hash != told.hash {
                return self.aside.insert(told.hash, told.clone()).is_none();
            }
            let held = &mut self.entries[at];
            let better = order(&held.event, &receipt) < order(&held.event, &held.receipt);
            if better {
                held.receipt = Receipt {
                    entry: number(at),
                    ..receipt
                };
            }
            return better;
        }
        if self.numbered(&told.event).is_some() {
            return self.aside.insert(told.hash, told.clone()).is_none();
        }
        let entry = number(self.entries.len());
        self.push(told, Receipt { entry, ..receipt });
        true
    }

    /// As a copy from before: what came later is gone.
    pub fn cut(&mut self, length: usize) {
        for entry in self.entries.drain(length.min(self.entries.len())..) {
            self.by_id.remove(&entry.event.id);
            self.by_number
                .remove(&(entry.event.device, entry.event.device_seq));
        }
        self.told.truncate(length);
        self.head.clear();
        for device in self.by_number.keys().map(|(device, _)| *device) {
            self.head.entry(device).or_insert(0);
        }
        for (device, held) in &mut self.head {
            while self.by_number.contains_key(&(*device, *held + 1)) {
                *held += 1;
            }
        }
    }

    fn numbered(&self, event: &Event) -> Option<usize> {
        self.by_number
            .get(&(event.device, event.device_seq))
            .copied()
    }

    fn push(&mut self, told: &Told, receipt: Receipt) {
        let at = self.entries.len();
        let event = &told.event;
        self.by_id.insert(event.id, at);
        self.by_number.insert((event.device, event.device_seq), at);
        self.entries.push(Entry::new(Arc::clone(event), receipt));
        self.told.push(told.clone());
        let held = self.head.entry(event.device).or_insert(0);
        while self.by_number.contains_key(&(event.device, *held + 1)) {
            *held += 1;
        }
    }

    /// A planted fault: appends what stands there already once more.
    pub fn double(&mut self, told: &Told, receipt: Receipt) {
        self.entries
            .push(Entry::new(Arc::clone(&told.event), receipt));
        self.told.push(told.clone());
    }

    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    pub fn hashes(&self) -> impl Iterator<Item = [u8; 32]> {
        self.told.iter().map(|told| told.hash)
    }

    pub fn len(&self) -> usize {
        self.entries.len()
    }

    pub fn holds(&self, event: EventId) -> bool {
        self.by_id.contains_key(&event)
    }

    /// The entry at a place, as it is sent.
    pub fn told(&self, at: usize) -> (Told, Receipt) {
        (self.told[at].clone(), self.entries[at].receipt)
    }

    /// Per device, the number up to which all is held.
    pub fn head(&self) -> Knows {
        let held = self.head.iter().filter(|(_, seq)| **seq > 0);
        Knows(held.map(|(device, seq)| (*device, *seq)).collect())
    }

    /// The number after the device's last.
    pub fn next_seq(&self, device: DeviceId) -> u64 {
        self.by_number
            .range((device, 0)..=(device, u64::MAX))
            .next_back()
            .map_or(1, |((_, seq), _)| seq + 1)
    }

    /// What clashed, both of it kept.
    pub fn aside(&self) -> &BTreeMap<[u8; 32], Told> {
        &self.aside
    }

    pub fn digest(&self) -> [u8; 32] {
        digest(self.hashes())
    }
}

fn number(at: usize) -> u64 {
    at as u64 + 1
}

fn order(event: &Event, receipt: &Receipt) -> impl Ord + use<> {
    let made_at = receipt.made_at();
    (
        event.at.min(made_at),
        made_at,
        receipt.recorded_at,
        receipt.wall_age_ms,
        receipt.mono_age_ms,
    )
}
