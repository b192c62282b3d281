//! What instruments say, from a socket to the log and the pages: the boat's place as it moves, a
//! locator beacon at once and once, and what was refused where the skipper can see it.

use std::time::Duration;

use deckwatch::store::News;
use deckwatch::trip::event::{BeaconHeard, Entry, Fact, PositionSource};
use deckwatch::trip::state::Phase;
use deckwatch::web::noted;
use jiff::SignedDuration;
use serde_json::json;
use tokio::net::TcpStream;
use tokio::sync::broadcast::Receiver;
use tokio::time::timeout;

use crate::app::App;
use crate::player::{Player, fix, play, sealed, until};
use crate::trip::Trip;

/// Longest that a test waits for what should come at once.
const LONGEST: Duration = Duration::from_secs(20);

/// Messages of made-up identities, generated with pyais 3.3.1: 972123456 in earnest at 27.8142°
/// N, 34.3125° E, the same as a text, in test, and in test as a text.
const BEACON: &str = "AIVDM,1,1,,A,1>O5e@>P08RM4OH?rUR4W?vcP000,0";
const BEACON_TEXT: &str = "AIVDM,1,1,,A,>>O5e@0lt:04=@UHD,2";
const BEACON_TEST: &str = "AIVDM,1,1,,A,1>O5e@?P00RM0m0?r4@00?wAP000,0";

fn seconds(s: i64) -> SignedDuration {
    SignedDuration::from_secs(s)
}

/// Instruments that play into an application, and its log.
struct Stage {
    app: App,
    trip: Trip,
    stream: TcpStream,
    news: Receiver<News>,
}

impl Stage {
    async fn set(app: App, trip: Trip) -> Self {
        tokio::spawn(noted::keep(app.web.clone()));
        let player = Player::start().await;
        let source = player.source();
        app.web.instruments().listen(source, app.closing.clone());
        let stream = player.listener().await;
        let news = app.store.news();
        Self {
            app,
            trip,
            stream,
            news,
        }
    }

    /// On its site, a group in the water.
    async fn with_a_group_down() -> Self {
        let app = App::new().await;
        let trip = app.trip().await;
        app.drop_group(&trip, "D").await;
        Self::set(app, trip).await
    }

    /// Plays, and waits until the log has grown.
    async fn play_and_wait(&mut self, text: &str) {
        play(&mut self.stream, text).await;
        timeout(LONGEST, self.news.recv()).await.unwrap().unwrap();
    }

    /// Plays what is not to be written, and then what shows that it has been looked at: a beacon
    /// of another identity.
    async fn play_in_vain(&mut self, text: &str, nth: u32) {
        let before = self.log().await.len();
        play(&mut self.stream, text).await;
        // Message 14 of 970000000 + nth with the text of a test: put together by hand.
        self.play_and_wait(&sealed(&witness(nth))).await;
        let log = self.log().await;
        assert_eq!(
            log.len(),
            before + 1,
            "{:?}",
            log[before..]
                .iter()
                .map(|e| e.event.fact.kind())
                .collect::<Vec<_>>()
        );
    }

    async fn log(&self) -> Vec<Entry> {
        self.app.store.entries(self.trip.id, 0).await.unwrap()
    }

    async fn positions(&self) -> Vec<f64> {
        let of = |entry: &Entry| {
            let Fact::BoatPositioned(boat) = &entry.event.fact else {
                return None;
            };
            let minutes = (boat.position.lat_deg() - 45.0) * 60.0;
            (boat.source == PositionSource::Instruments).then(|| (minutes * 1e4).round() / 1e4)
        };
        self.log().await.iter().filter_map(of).collect()
    }

    async fn heard(&self) -> Vec<BeaconHeard> {
        let of = |entry: &Entry| {
            let Fact::BeaconHeard(heard) = &entry.event.fact else {
                return None;
            };
            (heard.identity == "972123456").then(|| heard.clone())
        };
        self.log().await.iter().filter_map(of).collect()
    }

    fn url(&self, place: &str, page: &str) -> String {
        format!("/{place}/{}/{page}", self.trip.id)
    }

    async fn picture(&self) -> serde_json::Value {
        let path = format!("/api/trips/{}/picture", self.trip.id);
        self.app.skipper().get(&path).await.json()["picture"].clone()
    }
}

/// A test message 14 by hand: number, repeat, identity, two spare bits, the text.
fn witness(nth: u32) -> String {
    let mut bits: Vec<u32> = Vec::new();
    let mut push = |value: u32, width: u32| bits.extend((0..width).rev().map(|b| value >> b & 1));
    push(14, 6);
    push(0, 2);
    push(970_000_000 + nth, 30);
    push(0, 2);
    for letter in b"SART TEST" {
        let letter = u32::from(*letter);
        push(if letter >= 64 { letter - 64 } else { letter }, 6);
    }
    let fill = (6 - bits.len() % 6) % 6;
    bits.resize(bits.len() + fill, 0);
    let payload: String = bits
        .chunks(6)
        .map(|six| {
            six.iter()
                .fold(0_u8, |value, bit| value << 1 | u8::from(*bit == 1))
        })
        .map(|value| char::from(if value < 40 { value + 48 } else { value + 56 }))
        .collect();
    format!("AIVDM,1,1,,A,{payload},{fill}")
}

#[tokio::test]
async fn the_boats_place_is_written_as_it_moves_and_not_more_often() {
    let mut stage = Stage::with_a_group_down().await;
    stage.play_and_wait(&fix(0.1)).await;
    let state = stage.app.state(&stage.trip).await;
    assert_eq!(
        state.boat.as_ref().unwrap().source,
        PositionSource::Instruments
    );
    assert_eq!(state.boat.unwrap().at, stage.app.clock.now());
    // By hand: 0.1 minutes of latitude are 185 m, 0.005 are 9 m.
    stage.app.wait(seconds(10));
    stage.play_in_vain(&fix(0.2), 1).await;
    stage.app.wait(seconds(10));
    stage.play_in_vain(&fix(0.105), 2).await;
    stage.app.wait(seconds(5));
    stage.play_and_wait(&fix(0.2)).await;
    stage.app.wait(seconds(45));
    stage.play_and_wait(&fix(0.2)).await;
    assert_eq!(stage.positions().await, [0.1, 0.2, 0.2]);
    // The box is a device of its own, and numbers without a gap.
    let log = stage.log().await;
    let own: Vec<&Entry> = log
        .iter()
        .filter(|e| e.event.by.name == "Instruments")
        .collect();
    let numbers: Vec<u64> = own.iter().map(|e| e.event.device_seq).collect();
    assert_eq!(numbers, (1..=own.len() as u64).collect::<Vec<_>>());
    assert!(own.iter().all(|e| e.event.device == own[0].event.device));
    let state = stage.app.state(&stage.trip).await;
    assert!(state.gaps.is_empty());
    let page = stage
        .app
        .desk()
        .get(&format!("/desk/{}/log", stage.trip.id))
        .await;
    let said = "3 positions by the instruments are not listed here";
    assert!(page.is(200).text().contains(said));
    let picture = stage.picture().await;
    assert_eq!(picture["boat"]["position_source"], "instruments");
    assert_eq!(picture["boat"]["position_at"], json!(stage.app.clock.now()));
}

#[tokio::test]
async fn nothing_is_written_before_departure() {
    let app = App::new().await;
    let trip = app.trip_at_quay().await;
    let mut stage = Stage::set(app, trip).await;
    play(&mut stage.stream, fix(0.1)).await;
    until(stage.app.web.instruments(), |r| r.fix().is_some()).await;
    stage.app.sail(&stage.trip).await;
    assert_eq!(stage.app.state(&stage.trip).await.phase, Phase::OnSite);
    assert_eq!(stage.positions().await, Vec::<f64>::new());
    let mut news = stage.app.store.news();
    stage.app.wait(seconds(2));
    play(&mut stage.stream, fix(0.3)).await;
    timeout(LONGEST, news.recv()).await.unwrap().unwrap();
    assert_eq!(stage.positions().await, [0.3]);
}

#[tokio::test]
async fn a_beacon_alarms_at_once_and_once() {
    let mut stage = Stage::with_a_group_down().await;
    stage.play_and_wait(&sealed(BEACON)).await;
    let picture = stage.picture().await;
    let alert = &picture["alerts"]["beacon:972123456"];
    assert_eq!(
        (alert["priority"].as_str(), alert["state"].as_str()),
        (Some("alarm"), Some("active"))
    );
    let beacon = &picture["beacons"]["972123456"];
    assert_eq!(
        (beacon["sort"].as_str(), beacon["active"].as_bool()),
        (Some("person"), Some(true))
    );
    assert!((beacon["position"][0].as_f64().unwrap() - 34.3125).abs() < 1e-5);
    // Eight messages a burst, on both channels.
    let burst = sealed(BEACON).repeat(6) + &sealed(BEACON_TEXT);
    stage.play_in_vain(&burst, 1).await;
    let client = stage.app.divemaster();
    let alerts = stage.url("deck", "alerts");
    let page = client.get(&alerts).await;
    assert!(
        page.is(200)
            .text()
            .contains("Person-overboard beacon 972123456")
    );
    assert!(
        page.text().contains("27° 48.852"),
        "its place: {}",
        page.text()
    );
    let fields = [("alert", "beacon:972123456"), ("cause", "beacon")];
    client
        .post(&stage.url("deck", "acknowledge"), &fields)
        .await
        .is(303);
    timeout(LONGEST, stage.news.recv()).await.unwrap().unwrap();
    stage.app.wait(seconds(60));
    stage.play_and_wait(&sealed(BEACON)).await;
    assert_eq!(stage.heard().await.len(), 2, "once a minute");
    let picture = stage.picture().await;
    assert_eq!(
        picture["alerts"]["beacon:972123456"]["state"],
        "acknowledged"
    );
}

#[tokio::test]
async fn a_test_is_a_caution_and_earnest_after_it_an_alarm() {
    let mut stage = Stage::with_a_group_down().await;
    stage.play_and_wait(&sealed(BEACON_TEST)).await;
    let picture = stage.picture().await;
    assert_eq!(picture["alerts"]["beacon:972123456"]["priority"], "caution");
    stage.play_and_wait(&sealed(BEACON)).await;
    let picture = stage.picture().await;
    assert_eq!(picture["alerts"]["beacon:972123456"]["priority"], "alarm");
}

#[tokio::test]
async fn the_emergency_is_proposed_with_the_beacons_place() {
    let mut stage = Stage::with_a_group_down().await;
    stage.play_and_wait(&sealed(BEACON)).await;
    let client = stage.app.skipper();
    let page = client.get(&stage.url("helm", "alerts")).await;
    let emergency = stage.url("helm", "emergency");
    let ways = page.attributes(".listed a.button", "href");
    assert!(ways.contains(&emergency), "{ways:?}");
    for page in ["emergency", "chart"] {
        let page = client.get(&stage.url("helm", page)).await;
        assert!(
            page.is(200)
                .text()
                .contains("Person-overboard beacon 972123456")
        );
    }
    client.post(&emergency, &[("what", "beacon")]).await.is(303);
    let state = stage.app.state(&stage.trip).await;
    let datum = state.emergency.unwrap().datum.unwrap();
    assert!((datum.lat_deg() - 27.8142).abs() < 1e-5 && (datum.lon_deg() - 34.3125).abs() < 1e-5);
}

#[tokio::test]
async fn a_beacon_is_dismissed_by_the_skipper_with_a_reason() {
    let mut stage = Stage::with_a_group_down().await;
    let path = stage.url("helm", "beacon/972123456");
    let skipper = stage.app.skipper();
    skipper.get(&path).await.is(404);
    stage.play_and_wait(&sealed(BEACON)).await;
    stage.app.divemaster().get(&path).await.is(403);
    let refused = skipper.submit(&path, &path, &[("reason", "")]).await;
    assert!(refused.is(422).text().contains("Fill this in"));
    let reason = [("reason", "Neighbour's drill, their skipper on channel 8")];
    skipper.submit(&path, &path, &reason).await.is(303);
    let picture = stage.picture().await;
    assert!(picture["alerts"].get("beacon:972123456").is_none());
    assert_eq!(
        picture["beacons"]["972123456"]["dismissed"]["by"],
        "Ilka Voss"
    );
    let page = skipper.get(&stage.url("helm", "instruments")).await;
    assert!(
        page.is(200).text().contains("Neighbour&#39;s drill"),
        "{}",
        page.text()
    );
    let log = stage
        .app
        .desk()
        .get(&format!("/desk/{}/log", stage.trip.id))
        .await;
    assert!(log.is(200).text().contains("Beacon dismissed"));
}

#[tokio::test]
async fn what_was_refused_stands_where_the_skipper_can_see_it() {
    let mut stage = Stage::with_a_group_down().await;
    let client = stage.app.skipper();
    let path = stage.url("helm", "instruments");
    let empty = App::new().await;
    let other = empty.trip().await;
    let page = empty
        .skipper()
        .get(&format!("/helm/{}/instruments", other.id))
        .await;
    assert!(page.is(200).text().contains("None connected"));
    let off = sealed("GPRMC,100000.00,A,4500.1000,N,03000.0000,W,0.4,118.0,161006,,,A");
    let bad = fix(0.1).replace('*', "1*");
    let odd = "$GPGGA,<script>alert(1)</script>*00\r\n";
    stage
        .play_and_wait(&(off + &bad + "half\r\n" + odd + &sealed(BEACON)))
        .await;
    let page = client.get(&path).await;
    let rows = page.is(200).all("#refused li");
    assert_eq!(rows.len(), 3, "{rows:?}");
    let said = rows.join(" ");
    assert!(
        said.contains("16 October 2006") && said.contains("1 June 2026"),
        "{said}"
    );
    assert!(
        said.contains("Wrong checksum") && said.contains("Half a sentence"),
        "{said}"
    );
    assert_eq!(page.count("script:not([src])"), 0);
    assert!(page.text().contains("tcp://127.0.0.1:"));
    for way in ["trip", "position"] {
        let page = client.get(&stage.url("helm", way)).await;
        assert!(page.attributes("a", "href").contains(&path), "{way}");
    }
    stage.app.divemaster().get(&path).await.is(200);
    stage.app.desk().get(&path).await.is(403);
}

#[tokio::test]
async fn a_devices_own_position_is_taken_if_it_is_exact_enough() {
    let app = App::new().await;
    let trip = app.trip().await;
    let path = format!("/helm/{}/position", trip.id);
    let client = app.skipper();
    let page = client.get(&path).await;
    assert_eq!(page.count("form[data-own-place]"), 1);
    assert_eq!(page.count("form[data-own-place][data-needs-script]"), 1);
    let of = |accuracy: &'static str| {
        [
            ("source", "device"),
            ("latitude", "45.0012345"),
            ("longitude", "-30.0054321"),
            ("accuracy", accuracy),
        ]
    };
    for (accuracy, why) in [
        ("201", "201"),
        ("1500", "1500"),
        ("", "number"),
        ("NaN", ""),
        ("-1", ""),
    ] {
        let refused = client.post(&path, &of(accuracy)).await;
        refused.is(422);
        let said = refused.one("#problem");
        assert!(said.contains(why), "'{accuracy}': {said}");
    }
    assert!(app.state(&trip).await.boat.is_none());
    client.post(&path, &of("200")).await.is(303);
    let boat = app.state(&trip).await.boat.unwrap();
    assert_eq!(boat.source, PositionSource::Device);
    assert!((boat.position.lat_deg() - 45.001_234_5).abs() < 1e-9);
    app.wait(seconds(60));
    let page = client.get(&path).await;
    assert!(page.text().contains("by a device&#39;s own position"));
    assert_eq!(page.count(".warned"), 0);
    app.wait(seconds(1));
    let page = client.get(&path).await;
    assert!(page.one(".warned").contains("old"));
    let typed = [("latitude", "45 0.6 N"), ("longitude", "30 0.3 W")];
    client.post(&path, &typed).await.is(303);
    let boat = app.state(&trip).await.boat.unwrap();
    assert_eq!(boat.source, PositionSource::Typed);
}

/// From where the boat was a while ago a bearing gives a place that is wrong and looks right.
#[tokio::test]
async fn a_bearing_from_an_old_position_gives_no_place() {
    let app = App::new().await;
    let trip = app.trip().await;
    app.drop_group(&trip, "D").await;
    let client = app.skipper();
    let position = format!("/helm/{}/position", trip.id);
    let typed = [("latitude", "45 0.0 N"), ("longitude", "30 0.0 W")];
    client.post(&position, &typed).await.is(303);
    let buoy = format!("/helm/{}/buoy", trip.id);
    let group = trip.group("D").to_string();
    let seen = [
        ("group", group.as_str()),
        ("colour", "orange"),
        ("bearing", "90"),
        ("range", "200"),
    ];
    let places = async || {
        let log = app.store.entries(trip.id, 0).await.unwrap();
        let of = |entry: &Entry| {
            let Fact::BuoySeen(buoy) = &entry.event.fact else {
                return None;
            };
            Some((buoy.place.is_some(), buoy.from_boat.is_some()))
        };
        log.iter().filter_map(of).collect::<Vec<_>>()
    };
    client.post(&buoy, &seen).await.is(303);
    assert_eq!(places().await, [(true, true)]);
    app.wait(seconds(601));
    let page = client.get(&buoy).await;
    assert!(page.text().contains("logged without a place"));
    client.post(&buoy, &seen).await.is(303);
    assert_eq!(places().await, [(true, true), (false, true)]);
}
