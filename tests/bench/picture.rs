//! Fold and watch of a full trip: 12 groups, 60 people, 600 events. Budget: under 5 ms in all,
//! and under 1 ms after one more event.
#![expect(
    clippy::wildcard_imports,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a bench stops where its own data are wrong"
)]

#[expect(dead_code, reason = "told here with a few of its words only")]
#[path = "../trip/scene.rs"]
mod scene;

use deckwatch::trip::event::*;
use deckwatch::trip::state::fold;
use deckwatch::trip::watch::watch;
use scene::*;

fn main() {
    divan::main();
}

/// 60 people in 12 groups of five, down since nine, and what is seen of them since.
fn full() -> Scene {
    let mut s = Scene::opened();
    let persons: Vec<u128> = (1_000..1_060).collect();
    for n in &persons {
        let card = card(&format!("Diver {n}"), Activity::Diver);
        s.by(DESK)
            .says(people(&[*n]), Fact::PersonJoined(PersonJoined { card }));
    }
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(planned()));
    for (five, nth) in persons.chunks(5).zip(0_u128..) {
        let letter = LETTERS[usize::try_from(nth).unwrap()];
        let formed = formed(letter, &[&five[..2], &five[2..]], 18.0);
        let about = About::nobody().in_group(group(300 + nth), 1);
        s.by(DESK).says(about, Fact::GroupFormed(formed));
    }
    s.until("08:00")
        .by(HELM)
        .roll(Point::Departure, &persons, &[]);
    s.by(HELM).says(
        About::nobody(),
        Fact::Departed(Departed {
            override_reason: None,
        }),
    );
    s.by(HELM)
        .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
    for (five, nth) in persons.chunks(5).zip(0_u128..) {
        s.until("09:00").by(DECK).left_surface(300 + nth, 1, five);
    }
    let mut seen = persons.iter().cycle();
    while s.log.len() < 600 {
        s.until("09:30");
        let person = *seen.next().unwrap();
        let about = people(&[person]).in_group(group(300 + (person - 1_000) / 5), 1);
        match s.log.len() % 5 {
            0 => s.by(HELM).current(0.5),
            1 => s.by(BOW).says(
                about,
                Fact::ReturnNoted(payload(serde_json::json!({"detail": {}}))),
            ),
            2 => s.by(HELM).says(
                About::nobody(),
                Fact::IncidentNoted(IncidentNoted {
                    text: "note".into(),
                }),
            ),
            _ => s.by(DECK).says(about, at_surface(Signal::Well)),
        };
    }
    s
}

const LETTERS: [&str; 12] = ["B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N"];

#[divan::bench]
fn fold_and_watch_600_events(bencher: divan::Bencher<'_, '_>) {
    let s = full();
    bencher.bench(|| watch(&fold(trip(), divan::black_box(&s.log)), clock("09:41")));
}

#[divan::bench]
fn fold_alone(bencher: divan::Bencher<'_, '_>) {
    let s = full();
    bencher.bench(|| fold(trip(), divan::black_box(&s.log)));
}

#[divan::bench]
fn watch_alone(bencher: divan::Bencher<'_, '_>) {
    let state = full().state();
    bencher.bench(|| watch(divan::black_box(&state), clock("09:41")));
}
