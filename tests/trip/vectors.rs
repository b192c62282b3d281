//! Vectors that hold the overlay of a device alone (`static/js/overlay.js`) to this fold: a
//! picture, the device's own events since then, an instant, and what must be shown.
//!
//! `VECTORS=1 cargo nextest run --test trip vectors` writes `tests/vectors/overlay.jsonl` anew;
//! `tests/vectors/overlay.test.mjs` runs the script over it.

use std::fmt::Write as _;
use std::path::Path;

use deckwatch::trip::event::*;
use deckwatch::trip::forecast::pickup_order;
use deckwatch::trip::ground::Grounds;
use deckwatch::trip::picture::picture;
use jiff::{SignedDuration, Timestamp};
use serde_json::{Map, Value, json};

use crate::scene::*;

const VECTORS: u64 = 120;
const FOUR: [u128; 4] = [ANNA, BELA, CARO, DINO];

/// A fixed series of numbers (a linear congruential generator with Knuth's MMIX constants).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % n
    }

    fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[self.below(all.len())]
    }

    fn some(&mut self) -> Vec<u128> {
        let from = self.below(4);
        let n = 1 + self.below(2);
        (from..from + n).map(|n| FOUR[n % 4]).collect()
    }
}

fn seen(s: &Scene, now: Timestamp) -> Value {
    let state = s.state();
    let grounds = Grounds::of(&state, None);
    let order = pickup_order(&state, &grounds, now);
    let watch = deckwatch::trip::watch::watch(&state, now);
    picture(&state, &watch, &order, &grounds, s.log.len() as u64, "00")
}

/// What the overlay answers for.
fn projected(told: &Value) -> Value {
    let pick = |from: &Value, keys: &[&str]| -> Map<String, Value> {
        let of = |key: &&str| Some(((*key).to_owned(), from.get(*key)?.clone()));
        keys.iter()
            .filter_map(of)
            .filter(|(_, value)| !value.is_null())
            .collect()
    };
    let each = |of: &str, keys: &[&str]| -> Map<String, Value> {
        let of = told[of].as_object().unwrap();
        of.iter()
            .map(|(id, one)| (id.clone(), Value::Object(pick(one, keys))))
            .collect()
    };
    let plights = [
        "group:",
        "distress:",
        "missing:",
        "unresolved:",
        "emergency",
    ];
    let mut alerts = each("alerts", &["word", "priority", "state", "since"]);
    alerts.retain(|key, _| plights.iter().any(|plight| key.starts_with(plight)));
    json!({
        "people": each("people", &["place", "since", "distress"]),
        "groups": each("groups", &["entered_at", "deadlines", "standing", "up", "at_surface", "accounted", "partner_until"]),
        "alerts": alerts,
        "out": told["out"], "under": told["under"], "aboard": told["aboard"],
        "lookout": told["lookout"]["name"], "emergency": told["emergency"]["reason"],
    })
}

/// One act of a dive day, said by `crew` now, in full knowledge.
fn act(s: &mut Scene, chance: &mut Chance, crew: Crew) {
    let about = |of: &[u128]| people(of).in_group(group(B), 1);
    let some = chance.some();
    let down = s.group(B).drop.is_some();
    if !down && chance.below(3) > 0 {
        s.by(crew).left_surface(B, 1, &FOUR);
        return;
    }
    let watch = deckwatch::trip::watch::watch(&s.state(), s.now);
    let alert = watch
        .alerts
        .first()
        .map(|a| (a.key.clone(), a.cause.word()));
    match chance.below(17) {
        0..=3 => {
            let signal = chance.of(&[Signal::Well, Signal::Well, Signal::NoSignal, Signal::Help]);
            s.by(crew).says(about(&some), at_surface(signal));
        }
        4..=6 => {
            s.by(crew).says(about(&some[..1]), aboard_own());
        }
        7 => {
            let colour = chance.of(&[BuoyColour::Orange, BuoyColour::Yellow]);
            let buoy = BuoySeen {
                colour,
                place: None,
                from_boat: None,
            };
            s.by(crew)
                .says(About::nobody().in_group(group(B), 1), Fact::BuoySeen(buoy));
        }
        8 => {
            let well = OthersWell {
                said_by: who(some[0]),
            };
            s.by(crew).says(
                About::nobody().in_group(group(B), 1),
                Fact::OthersWell(well),
            );
        }
        9 => {
            let lost = LostContact {
                said_by: who(some[0]),
            };
            s.by(crew).says(
                About::nobody().in_group(group(B), 1),
                Fact::LostContact(lost),
            );
        }
        10 => {
            let kn = chance.of(&[0.2, 1.0, 2.5]);
            s.by(crew).current(kn);
        }
        11 => {
            s.by(crew).missing(some[0]);
        }
        12 => {
            let name = chance.of(&["Jo Quist", "Kai Brandt"]).to_owned();
            s.by(crew)
                .says(About::nobody(), Fact::LookoutPosted(LookoutPosted { name }));
        }
        13 => {
            let reason = "diver in distress".to_owned();
            let declared = EmergencyDeclared {
                reason,
                datum: None,
            };
            s.by(crew)
                .says(About::nobody(), Fact::EmergencyDeclared(declared));
        }
        _ => {
            let Some((alert, cause)) = alert else { return };
            let fact = if chance.below(4) == 0 {
                Fact::AlertSilenced(AlertSilenced { alert, cause })
            } else {
                Fact::AlertAcknowledged(AlertAcknowledged { alert, cause })
            };
            s.by(crew).says(About::nobody(), fact);
        }
    }
}

fn pass(s: &mut Scene, chance: &mut Chance, most_s: usize) {
    let by = i64::try_from(20 + chance.below(most_s)).unwrap();
    s.now = s.now.checked_add(SignedDuration::from_secs(by)).unwrap();
}

fn vector(nth: u64) -> Value {
    let mut chance = Chance(nth.wrapping_mul(0x9E37_79B9_7F4A_7C15) + 1);
    let mut s = if nth.is_multiple_of(4) {
        Scene::on_site()
    } else {
        Scene::four_down()
    };
    if nth.is_multiple_of(3) {
        // Most of the dive is over, so that deadlines fall due while the device is alone.
        s.now = s.now.checked_add(SignedDuration::from_mins(38)).unwrap();
    }
    for _ in 0..chance.below(6) {
        pass(&mut s, &mut chance, 300);
        let crew = chance.of(&[HELM, DECK, BOW]);
        act(&mut s, &mut chance, crew);
    }
    if nth.is_multiple_of(5) {
        // Two devices that did not know of each other differ about somebody.
        let before = s.knowledge();
        pass(&mut s, &mut chance, 60);
        s.by(HELM).knowing(&before).seen(&[ANNA], Signal::Well);
        s.by(BOW)
            .knowing(&before)
            .says(people(&[ANNA]).in_group(group(B), 1), aboard_own());
    }
    pass(&mut s, &mut chance, 60);
    let mut told = seen(&s, s.now);
    // What the overlay passes on untouched.
    for key in ["pickup", "site", "boat", "ahead"] {
        told.as_object_mut().unwrap().remove(key);
    }
    let held = s.log.len();
    for _ in 0..=chance.below(6) {
        pass(&mut s, &mut chance, 240);
        act(&mut s, &mut chance, DECK);
    }
    pass(&mut s, &mut chance, 900);
    let pending: Vec<Value> = s.log[held..]
        .iter()
        .map(|entry| serde_json::from_str(&entry.event.content().text).unwrap())
        .collect();
    json!({"nth": nth, "now": s.now, "picture": told, "pending": pending, "expected": projected(&seen(&s, s.now))})
}

#[test]
fn the_vectors_of_the_overlay_are_what_the_fold_says() {
    let mut lines = String::new();
    for nth in 0..VECTORS {
        writeln!(lines, "{}", vector(nth)).unwrap();
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/overlay.jsonl");
    if std::env::var_os("VECTORS").is_some() {
        std::fs::write(&path, &lines).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap();
    assert!(
        kept == lines,
        "write them anew with VECTORS=1, then look at what changed"
    );
}
