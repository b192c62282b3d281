//! Locator beacons as the log has them: one for each identity, until the skipper says that it is
//! nobody's here.

use std::collections::BTreeMap;

use jiff::{SignedDuration, Timestamp};

use super::trip_facts::Known;
use crate::sea::position::Position;
use crate::trip::event::{BeaconHeard, BeaconSort, Entry, Fact, Mark, Role};

/// A beacon that was dismissed and falls silent for so long counts anew when it is heard again
/// (common practice, no source): a burst comes once a minute while it sends.
const SILENCE: SignedDuration = SignedDuration::from_mins(10);

/// A locator beacon.
#[derive(Debug, Clone, PartialEq)]
pub struct Beacon {
    /// What it is.
    pub sort: BeaconSort,
    /// The place it said last, if any.
    pub place: Option<BeaconPlace>,
    /// What it said in words last, if anything.
    pub text: Option<String>,
    /// It sends in earnest, or did since it was last dismissed.
    pub is_active: bool,
    /// Since when it counts as it does.
    pub since: Timestamp,
    /// The event that says so first.
    pub mark: Mark,
    /// When the log heard it last.
    pub heard_at: Timestamp,
    /// Why it is nobody's here, if a skipper said so.
    pub dismissed: Option<Known<String>>,
}

/// Where a beacon is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeaconPlace {
    /// Where.
    pub position: Position,
    /// When it said so.
    pub at: Timestamp,
    /// Its own fix is lost: it was there last.
    pub is_last: bool,
}

impl Beacon {
    /// How long a test is shown after it was last heard.
    #[must_use]
    pub fn test_fades_at(&self) -> Timestamp {
        super::plus(self.heard_at, SILENCE)
    }

    /// In earnest, and not dismissed.
    #[must_use]
    pub fn calls_for_help(&self) -> bool {
        self.is_active && self.dismissed.is_none()
    }
}

type Heard<'a> = (&'a Entry, &'a BeaconHeard);

/// `effective`: the entries that count, by time.
pub(super) fn fold(effective: &[&Entry]) -> BTreeMap<String, Beacon> {
    let mut heard: BTreeMap<&str, Vec<Heard<'_>>> = BTreeMap::new();
    let mut dismissals: BTreeMap<&str, Vec<Known<String>>> = BTreeMap::new();
    let mut words: BTreeMap<&str, Vec<&Entry>> = BTreeMap::new();
    for entry in effective {
        if let Fact::BeaconHeard(what) = &entry.event.fact {
            let of = heard.entry(what.identity.as_str()).or_default();
            of.push((entry, what));
        }
        if let Fact::BeaconDismissed(what) = &entry.event.fact
            && entry.event.by.role == Role::Skipper
        {
            let identity = what.identity.as_str();
            words.entry(identity).or_default().push(entry);
            let why = Known::of(entry, what.reason.clone());
            dismissals.entry(identity).or_default().push(why);
        }
    }
    heard
        .into_iter()
        .filter_map(|(identity, bursts)| {
            let words = words.get(identity).map_or(&[][..], Vec::as_slice);
            let why = dismissals.get(identity).and_then(|why| why.last());
            Some((identity.to_owned(), beacon(&bursts, words, why)?))
        })
        .collect()
}

fn beacon(
    bursts: &[Heard<'_>],
    dismissals: &[&Entry],
    why: Option<&Known<String>>,
) -> Option<Beacon> {
    let (last, said_last) = bursts.last()?;
    let mut covered = vec![false; bursts.len()];
    for word in dismissals {
        cover(word, bursts, &mut covered);
    }
    let standing: Vec<Heard<'_>> = bursts
        .iter()
        .zip(&covered)
        .filter(|(_, covered)| !**covered)
        .map(|(burst, _)| *burst)
        .collect();
    let counting = if standing.is_empty() {
        bursts
    } else {
        &standing
    };
    let first_active = counting.iter().find(|(_, what)| !what.test);
    let (first, _) = first_active.or(counting.first())?;
    let place = bursts.iter().rev().find_map(|(entry, what)| {
        Some(BeaconPlace {
            position: what.place?,
            at: entry.time(),
            is_last: what.place_is_last,
        })
    });
    Some(Beacon {
        sort: said_last.sort,
        place,
        text: bursts.iter().rev().find_map(|(_, what)| what.text.clone()),
        is_active: first_active.is_some(),
        since: first.time(),
        mark: first.event.mark(),
        heard_at: last.time(),
        dismissed: why.filter(|_| standing.is_empty()).cloned(),
    })
}

/// A dismissal covers what its author had heard, and what follows without a long silence: not
/// ours does not become ours by going on. Of a test it covers tests alone.
fn cover(word: &Entry, bursts: &[Heard<'_>], covered: &mut [bool]) {
    let knew = |entry: &Entry| word.event.knew(&entry.event);
    let in_earnest = bursts.iter().any(|(entry, what)| !what.test && knew(entry));
    let mut until = super::plus(word.time(), SILENCE);
    for ((entry, what), covered) in bursts.iter().zip(covered) {
        let known = knew(entry);
        let goes_on = entry.time() >= word.time() && entry.time() <= until;
        if known || (goes_on && (what.test || in_earnest)) {
            *covered = true;
            until = until.max(super::plus(entry.time(), SILENCE));
        }
    }
}
