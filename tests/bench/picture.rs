//! Fold and watch of a full trip: 12 groups, 60 people, 600 events. Budget: under 5 ms in all,
//! and under 1 ms after one more event. And the whole picture with its pickup order on a chart
//! of 2,000 positions. Budget: under 20 ms.
#![expect(
    clippy::wildcard_imports,
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a bench stops where its own data are wrong"
)]

#[expect(dead_code, reason = "told here with a few of its words only")]
#[path = "../trip/scene.rs"]
mod scene;

use deckwatch::sea::position::Position;
use deckwatch::trip::event::*;
use deckwatch::trip::forecast::pickup_order;
use deckwatch::trip::ground::Grounds;
use deckwatch::trip::picture::picture;
use deckwatch::trip::state::fold;
use deckwatch::trip::watch::watch;
use scene::*;

fn main() {
    divan::main();
}

/// Four reefs of 500 positions each round the site, their edges as uneven as a surveyed one's.
fn reefs(site: Position) -> serde_json::Value {
    let ring = |middle: Position| {
        let mut ring: Vec<Position> = (0..499_u32)
            .map(|nth| {
                let turn = f64::from(nth) / 499.0;
                let uneven = (turn * 37.0 * std::f64::consts::TAU).sin() * 12.0
                    + (turn * 5.0 * std::f64::consts::TAU).cos() * 40.0;
                middle.along(360.0 - turn * 360.0, 220.0 + uneven).unwrap()
            })
            .collect();
        ring.push(ring[0]);
        ring
    };
    let reef = |(name, course, off): (&str, f64, f64)| {
        let middle = site.along(course, off).unwrap();
        serde_json::json!({
            "type": "Feature",
            "properties": {"kind": "keep-clear", "name": name},
            "geometry": {"type": "Polygon", "coordinates": [ring(middle)]},
        })
    };
    let reefs = [
        ("North reef", 0.0, 450.0),
        ("East reef", 80.0, 600.0),
        ("South reef", 170.0, 700.0),
        ("West reef", 260.0, 520.0),
    ];
    serde_json::json!({"type": "FeatureCollection", "features": reefs.map(reef)})
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
    let mut site = planned();
    let position = site.site.position;
    site.site.chart = reefs(position);
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(site));
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
        // Along the edge of the bank, a group every two minutes: as a boat drops them.
        let metres = 20.0 + 25.0 * f64::from(u32::try_from(nth).unwrap());
        let fact = Fact::LeftSurface(LeftSurface {
            window: WINDOW,
            place: Some(position.along(70.0, metres).unwrap()),
            owes: Vec::new(),
        });
        let about = people(five).in_group(group(300 + nth), 1);
        s.until(&format!("09:{:02}", 2 * nth))
            .by(DECK)
            .says(about, fact);
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
                    record: None,
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

/// Any change of a fact to the new picture: fold, watch, likely places, pickup order, on ground
/// that was laid when the dive was planned.
#[divan::bench]
fn picture_after_one_more_fact(bencher: divan::Bencher<'_, '_>) {
    let s = full();
    let grounds = Grounds::of(&s.state(), None);
    bencher.bench(|| {
        let state = fold(trip(), divan::black_box(&s.log));
        let now = clock("09:41");
        let grounds = Grounds::of(&state, Some(&grounds));
        let order = pickup_order(&state, &grounds, now);
        picture(&state, &watch(&state, now), &order, &grounds, 600, "chart")
    });
}

/// Once for each site, when its dive is planned or the box starts.
#[divan::bench]
fn lay_the_ground(bencher: divan::Bencher<'_, '_>) {
    let state = full().state();
    bencher.bench(|| Grounds::of(divan::black_box(&state), None));
}

#[divan::bench]
fn pickup_order_alone(bencher: divan::Bencher<'_, '_>) {
    let state = full().state();
    let grounds = Grounds::of(&state, None);
    bencher.bench(|| pickup_order(divan::black_box(&state), &grounds, clock("09:41")));
}
