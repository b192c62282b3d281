//! The judge: whether a store holds everything that was acknowledged, once, whole and in order,
//! and whether it tells that two devices disagree.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::trip::event::{Entry, Fact};
use deckwatch::trip::state::{Place, fold};

use crate::child::{of_tablet, person};
use crate::world::{device, noon, trip};

/// The acknowledgements in what a child said.
pub fn acks(said: &str) -> Vec<String> {
    said.lines()
        .filter_map(|line| line.split_once("ack "))
        .map(|(_, ack)| ack.to_owned())
        .collect()
}

/// Opens the store in `place`, as its program does after whatever happened to it, and judges it.
/// Returns how many entries it has.
pub async fn look(place: &Path, acknowledged: &[String]) -> Result<usize, String> {
    let store = Store::open(place, Clock::fixed(noon()))
        .await
        .map_err(|error| format!("does not open: {error}"))?;
    let judged = judge(&store, acknowledged, true).await;
    store.close().await.map_err(|error| error.to_string())?;
    judged
}

/// `proves`: also what the events say, the database against itself, and every hash and chain.
pub async fn judge(store: &Store, acknowledged: &[String], proves: bool) -> Result<usize, String> {
    if !proves {
        return glance(store, acknowledged).await;
    }
    let mut kept = BTreeSet::new();
    let mut count = 0;
    for trip in [trip(1), trip(2)] {
        let entries = store.entries(trip, 0).await.map_err(|e| e.to_string())?;
        let mut ids = BTreeSet::new();
        for (nth, entry) in (1..).zip(&entries) {
            let (id, at) = (entry.event.id, entry.receipt.entry);
            if at != nth {
                return Err(format!("entry {at} stands where {nth} ought to"));
            }
            if !ids.insert(id) {
                return Err(format!("{id} stands twice"));
            }
            kept.insert(format!("{trip} {at} {id}"));
        }
        is_gapless(&entries)?;
        count += entries.len();
    }
    for ack in acknowledged {
        if !kept.contains(ack) {
            return Err(format!("acknowledged and lost: {ack}"));
        }
    }
    let first = store.entries(trip(1), 0).await.map_err(|e| e.to_string())?;
    are_whole(&first)?;
    let second = store.entries(trip(2), 0).await.map_err(|e| e.to_string())?;
    is_doubt_told(&second)?;
    let verdict = store.verify().await.map_err(|e| e.to_string())?;
    if let Some(flaw) = verdict.flaws.first() {
        return Err(format!("{flaw:?}"));
    }
    Ok(count)
}

/// The same without reading what the events say, for thousands of stores: each at its entry,
/// none twice, deliveries whole.
async fn glance(store: &Store, acknowledged: &[String]) -> Result<usize, String> {
    let mut kept = BTreeSet::new();
    let devices: Vec<String> = (0..10).map(|nth| device(nth).to_string()).collect();
    for trip in [trip(1), trip(2)] {
        let mut counts = [0_usize; 10];
        let log = store.log(trip, 0).await.map_err(|e| e.to_string())?;
        for (nth, entry) in (1..).zip(&log) {
            if entry.receipt.entry != nth {
                return Err(format!(
                    "entry {} stands where {nth} ought to",
                    entry.receipt.entry
                ));
            }
            let of = |key: &str| {
                let (_, rest) = entry.content.split_once(key)?;
                rest.get(..36)
            };
            let id = of("\"id\":\"").ok_or_else(|| format!("entry {nth} has no id"))?;
            if !kept.insert(format!("{trip} {nth} {id}")) {
                return Err(format!("{id} stands twice"));
            }
            let by = of("\"device\":\"").ok_or_else(|| format!("entry {nth} has no device"))?;
            if let Some(who) = devices.iter().position(|one| one == by) {
                counts[who] += 1;
            }
        }
        if trip == crate::world::trip(1)
            && (counts[2] % 2, counts[3] % 3, counts[9] % 2) != (0, 0, 0)
        {
            return Err(format!("a delivery was torn: {counts:?}"));
        }
    }
    match acknowledged.iter().find(|ack| !kept.contains(*ack)) {
        Some(ack) => Err(format!("acknowledged and lost: {ack}")),
        None => Ok(kept.len()),
    }
}

fn is_gapless(entries: &[Entry]) -> Result<(), String> {
    let mut next = BTreeMap::new();
    for entry in entries {
        let next: &mut u64 = next.entry(entry.event.device).or_insert(1);
        if entry.event.device_seq != *next {
            return Err(format!(
                "{} gave {} after {}",
                entry.event.device,
                entry.event.device_seq,
                *next - 1
            ));
        }
        *next += 1;
    }
    Ok(())
}

/// A delivery of two or three, and a form of two, is whole or absent.
fn are_whole(entries: &[Entry]) -> Result<(), String> {
    for (who, of) in [(2, 2), (3, 3), (9, 2)] {
        let count = entries.iter().filter(|e| e.event.device == device(who));
        let count = count.count();
        if count % of != 0 {
            return Err(format!(
                "{count} events of device {who}, which sends {of} at a time"
            ));
        }
    }
    Ok(())
}

/// Whoever was said to be aboard by one device and missing by another that did not know of it
/// is unresolved.
fn is_doubt_told(entries: &[Entry]) -> Result<(), String> {
    let state = fold(trip(2), entries);
    let said = |what: fn(&Fact) -> bool| -> BTreeSet<_> {
        entries
            .iter()
            .filter(|entry| what(&entry.event.fact))
            .flat_map(|entry| entry.event.about.persons.iter().copied())
            .collect()
    };
    let aboard = said(|fact| matches!(fact, Fact::Aboard(_)));
    let missing = said(|fact| matches!(fact, Fact::PersonMissing(_)));
    for person in aboard.intersection(&missing) {
        let place = state.people[person].place;
        if place != Place::Unresolved {
            return Err(format!("{person} is {place:?}, and two devices disagree"));
        }
    }
    Ok(())
}

/// What the devices still hold is delivered again: it is taken, once.
pub async fn deliver_again(store: &Store) -> Result<(), String> {
    for nth in 1..=3 {
        let count = u64::try_from(nth).unwrap();
        let entries = store.entries(trip(1), 0).await.map_err(|e| e.to_string())?;
        let mine = entries.iter().filter(|e| e.event.device == device(nth));
        let deliveries = mine.count() as u64 / count + 1;
        // The last ones, of which the device may not have heard, and one that is new.
        for delivery in deliveries.saturating_sub(3)..deliveries {
            let sent = of_tablet(nth, 1 + delivery * count, count);
            let done = store.append(trip(1), sent).await;
            done.map_err(|e| format!("refused when delivered again: {e}"))?;
        }
    }
    Ok(())
}

/// How many people there are of whom devices disagree.
pub async fn disagreements(store: &Store) -> usize {
    let entries = store.entries(trip(2), 0).await.unwrap();
    let state = fold(trip(2), &entries);
    (1..100)
        .filter(|n| {
            let person = state.people.get(&person(*n));
            person.is_some_and(|person| person.place == Place::Unresolved)
        })
        .count()
}
