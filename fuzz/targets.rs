//! What is sent to each reader, and what must hold whatever is sent: no panic, every refusal
//! names its faults, and what was taken reads back as it was. `fuzz/main.rs` sends what libFuzzer
//! thinks of, `tests/http/hostile/corpus.rs` every file of the corpus.

use std::collections::BTreeSet;

use deckwatch::certificate::Host;
use deckwatch::instruments::{Framer, Piece, Received, Said, Source, read as read_sentence};
use deckwatch::sea::chart::{Chart, Drawn, collection, corners, corners_written, drawn, gpx};
use deckwatch::sea::position::Position;
use deckwatch::sea::typed;
use deckwatch::store::crew::Secret;
use deckwatch::store::register::Site;
use deckwatch::trip::event::{
    Came, Entry, Event, Point, Receipt, SiteSheet, read, read_delivery, read_lines,
};
use deckwatch::trip::forecast::pickup_order;
use deckwatch::trip::gate::gate;
use deckwatch::trip::ground::{Ground, Grounds};
use deckwatch::trip::picture::{patch, picture};
use deckwatch::trip::season;
use deckwatch::trip::state::fold;
use deckwatch::trip::watch::{history, sounded, watch};
use deckwatch::trip::{SiteId, TripId};
use deckwatch::units::{Depth, Distance, Fault, Faults, bounds};
use deckwatch::web::act;
use deckwatch::web::compute::Computation;
use deckwatch::web::form::Fields;
use deckwatch::web::readers;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use uuid::Uuid;

/// Sends bytes to a reader and panics where something does not hold.
pub type Target = fn(&[u8]);

/// Every reader of what comes from outside.
pub const TARGETS: [(&str, Target); 9] = [
    ("roster", roster),
    ("geojson", geojson),
    ("gpx", gpx_file),
    ("nmea", nmea),
    ("events", events),
    ("lines", lines),
    ("compute", compute),
    ("forms", forms),
    ("settings", settings),
];

fn now() -> Timestamp {
    "2026-06-01T12:00:00Z".parse().unwrap()
}

/// The trip of the fixtures.
fn trip() -> TripId {
    TripId::new(Uuid::from_u128(9))
}

fn here() -> Position {
    Position::from_degrees(-30.0, 45.0).unwrap()
}

/// A refusal says what is wrong, and what would not be.
fn are_named(faults: &Faults) {
    assert!(!faults.is_empty(), "refused for nothing");
    for fault in faults.iter() {
        assert!(!fault.what.is_empty(), "a fault without a word");
    }
}

/// The people of a roster in CSV.
fn roster(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match readers::roster(text) {
        Ok(people) => {
            assert!(!people.is_empty(), "a roster of nobody was taken");
            for card in people {
                let length = card.name.chars().count();
                assert!((1..=80).contains(&length), "a name of {length}");
                let texts = [&card.name, &card.level];
                assert!(!texts.iter().any(|text| text.chars().any(char::is_control)));
            }
        }
        Err(bad) => {
            assert!(!bad.is_empty(), "refused for nothing");
            let lines = text.lines().count() + text.matches('\r').count() + 1;
            for (number, why) in bad {
                assert!(!why.is_empty() && number <= lines as u64, "{number}: {why}");
            }
        }
    }
}

fn geojson(bytes: &[u8]) {
    match Chart::from_geojson(bytes) {
        Ok(chart) => charted(&chart),
        Err(faults) => are_named(&faults),
    }
    if let Err(faults) = readers::chart_file(bytes) {
        are_named(&faults);
    }
}

fn again(document: &Value) -> Chart {
    Chart::from_geojson(document.to_string().as_bytes()).expect("a chart that was taken before")
}

/// The features of a chart as they are drawn: a corner that stands twice in a row is one corner.
fn outlines(chart: &Chart) -> Vec<Drawn> {
    let mut features = drawn(chart);
    for ring in features
        .iter_mut()
        .flat_map(|one| one.areas.iter_mut().flatten())
    {
        ring.dedup();
        while ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
    }
    features
}

/// What rings closer than a centimetre, and areas as small, become when they are rounded.
const NEAR: [&str; 4] = [
    "crosses another ring",
    "crosses or touches itself",
    "encloses",
    "lies ",
];

/// Whether a file with seven decimals moves a corner, if only by a millimetre.
fn is_rounded(chart: &Chart) -> bool {
    let moves = |deg: f64| ((deg * 1e7).round() / 1e7 - deg).abs() > 0.0;
    drawn(chart)
        .iter()
        .flat_map(|one| one.areas.iter().flatten().flatten())
        .any(|at| moves(at.lon_deg()) || moves(at.lat_deg()))
}

/// A chart that was taken is written and read as itself, and lies in the plane.
fn charted(chart: &Chart) {
    assert_eq!(&again(&chart.to_geojson()), chart);
    assert_eq!(
        outlines(&again(&collection(&drawn(chart)))),
        outlines(chart)
    );
    // Seven decimals are a centimetre: rings that close to each other may touch in a file.
    if let Err(faults) = Chart::from_geojson(chart.to_rfc7946().to_string().as_bytes()) {
        let near = |fault: &Fault| NEAR.iter().any(|what| fault.what.starts_with(what));
        assert!(faults.iter().all(near) && is_rounded(chart), "{faults}");
    }
    let file = gpx::written("Anvil Rock", chart);
    if let Err(faults) = gpx::read(file.as_bytes()) {
        // An empty chart makes a file with nothing to draw.
        assert!(drawn(chart).is_empty(), "{faults}\n{file}");
    }
    for one in drawn(chart) {
        // What is typed has hundred-thousandths of a minute, so only its being read is held.
        let typed = corners_written(&one.areas);
        let site = one.areas[0][0][0];
        if let Err(faults) = corners(site, &typed) {
            let far = |fault: &deckwatch::sea::chart::LineFault| fault.flaw == typed::Flaw::Far;
            assert!(faults.iter().all(far), "{faults:?}\n{typed}");
        }
    }
    let ground = Ground::of(&SiteSheet {
        id: SiteId::new(Uuid::nil()),
        name: "Anvil Rock".to_owned(),
        position: here(),
        chart: chart.to_geojson(),
        stand_off_m: Distance::from_m(50.0).unwrap(),
        water: deckwatch::dive::pressure::Column::default(),
        tides: None,
    });
    let at = ground.plane.metres(here());
    let out = ground.ways.nearest_outside(at);
    assert!(out.east.is_finite() && out.north.is_finite(), "{out:?}");
    let start = ground.ways.start(at);
    let run = ground.ways.run(&start, out);
    assert!(!run.length_m.is_nan(), "{run:?}");
}

fn gpx_file(bytes: &[u8]) {
    match gpx::read(bytes) {
        Ok(features) => {
            assert!(!features.is_empty(), "a file of nothing was taken");
            // Not judged yet: that is the chart's to do.
            match Chart::from_geojson(collection(&features).to_string().as_bytes()) {
                Ok(chart) => charted(&chart),
                Err(faults) => are_named(&faults),
            }
            for one in &features {
                drop(corners_written(&one.areas));
            }
        }
        Err(faults) => are_named(&faults),
    }
}

/// Lines of instruments: as they came, and each with the checksum it ought to have, which nobody
/// finds by guessing.
fn nmea(bytes: &[u8]) {
    let mut mended = Vec::new();
    for line in bytes.split(|byte| matches!(byte, b'\r' | b'\n')) {
        let body = line.rsplitn(2, |byte| *byte == b'*').last().unwrap_or(line);
        let start = body.iter().rposition(|byte| matches!(byte, b'$' | b'!'));
        let summed = &body[start.map_or(0, |at| at + 1)..];
        let sum = summed.iter().fold(0, |sum, byte| sum ^ byte);
        mended.extend_from_slice(body);
        mended.extend_from_slice(format!("*{sum:02X}\r\n").as_bytes());
    }
    for stream in [bytes, &mended] {
        let mut framer = Framer::default();
        let mut received = Received::default();
        let inputs = ["tcp://plotter:10110", "udp://0.0.0.0:10110"].map(|text| {
            let source: Source = text.parse().unwrap();
            received.add(&source)
        });
        let mut pieces = framer.feed(stream);
        pieces.extend(framer.end());
        for (nth, piece) in pieces.iter().enumerate() {
            let at = now() + SignedDuration::from_secs(i64::try_from(nth).unwrap());
            received.piece(inputs[nth % 2], piece, at);
            let Piece::Line(line) = piece else { continue };
            match read_sentence(line, at) {
                Ok(Said::Fixed(fixed)) => {
                    let is_near = |said: Timestamp| {
                        at.duration_since(said).abs() <= SignedDuration::from_hours(24)
                    };
                    assert!(fixed.measured_at.is_none_or(is_near), "{fixed:?}");
                }
                Ok(Said::Beacon(burst)) => {
                    assert_eq!(burst.identity.len(), 9, "{burst:?}");
                    let text = burst.text.unwrap_or_default();
                    assert!(!text.chars().any(char::is_control), "{text:?}");
                }
                Ok(Said::Nothing(_)) => {}
                Err(refused) => assert!(!refused.word().is_empty()),
            }
        }
        assert!(received.beacons().count() <= 32);
        for beacon in received.beacons() {
            assert!(beacon.says().identity.bytes().all(|b| b.is_ascii_digit()));
        }
        for (_, tally) in received.refused() {
            assert!(!tally.sample.chars().any(char::is_control));
        }
    }
}

/// What devices deliver: an event, or a batch with ages.
fn events(bytes: &[u8]) {
    match read(bytes) {
        Ok((event, content)) => is_canonical(&event, &content.text),
        Err(faults) => are_named(&faults),
    }
    match read_delivery(bytes) {
        Ok(delivered) => {
            let entries = delivered.into_iter().map(|sent| {
                is_canonical(&sent.event, &sent.content.text);
                (sent.event, now(), (sent.ages.wall_ms, sent.ages.mono_ms))
            });
            lived(entries.collect());
        }
        Err(faults) => are_named(&faults),
    }
}

/// The canonical text of an event reads as that event, for ever.
fn is_canonical(event: &Event, text: &str) {
    let (read, content) = read(text.as_bytes()).expect("what this program wrote");
    assert_eq!(&read, event);
    assert_eq!(content.text, text);
}

/// Lines of a log, as they are handed over from box to box, pasted, or read from codes.
fn lines(bytes: &[u8]) {
    match read_lines(trip(), bytes) {
        Ok(lines) => {
            let entries = lines.into_iter().map(|line| {
                is_canonical(&line.event, &line.content.text);
                match line.came {
                    Came::Received { receipt, .. } => (
                        line.event,
                        receipt.recorded_at,
                        (receipt.wall_age_ms, receipt.mono_age_ms),
                    ),
                    Came::Undelivered(ages) => (line.event, now(), (ages.wall_ms, ages.mono_ms)),
                }
            });
            lived(entries.collect());
        }
        Err(faults) => are_named(&faults),
    }
}

type Arrival = (Event, Timestamp, (Option<i64>, Option<i64>));

/// The store takes an identity once, and a number of a device once.
fn stored(arrivals: Vec<Arrival>) -> Vec<Entry> {
    let mut ids = BTreeSet::new();
    let mut marks = BTreeSet::new();
    let mut entries = Vec::new();
    for (event, recorded_at, (wall_age_ms, mono_age_ms)) in arrivals {
        if ids.insert(event.id) && marks.insert((event.device, event.device_seq)) {
            let receipt = Receipt {
                entry: entries.len() as u64 + 1,
                recorded_at,
                wall_age_ms,
                mono_age_ms,
            };
            entries.push(Entry::new(event, receipt));
        }
    }
    entries
}

/// Whatever a log says, every page of it can be made, and its order changes nothing.
fn lived(arrivals: Vec<Arrival>) {
    let entries = stored(arrivals);
    let state = fold(trip(), &entries);
    let reversed: Vec<Entry> = entries.iter().rev().cloned().collect();
    assert_eq!(
        fold(trip(), &reversed),
        state,
        "another order, another state"
    );
    let counted: usize = state.counts().values().sum();
    assert_eq!(
        counted,
        state.people.len(),
        "somebody is in no place, or in two"
    );
    let last = entries.iter().map(|entry| entry.receipt.recorded_at).max();
    let last = last.unwrap_or_else(now);
    let grounds = Grounds::of(&state, None);
    let mut before = None;
    for minutes in [0, 30, 600] {
        // Beyond the last instant that can be said no clock goes.
        let Ok(at) = last.checked_add(SignedDuration::from_mins(minutes)) else {
            break;
        };
        let watched = watch(&state, at);
        let order = pickup_order(&state, &grounds, at);
        let made = picture(
            &state,
            &watched,
            &order,
            &grounds,
            entries.len() as u64,
            "00",
        );
        if let Some(before) = &before {
            drop(patch(before, &made));
        }
        before = Some(made);
        drop(sounded(&state, &entries, at));
    }
    for point in [Point::Departure, Point::Leaving, Point::Return] {
        drop(gate(&state, point));
    }
    if entries.len() <= 12 {
        drop(history(trip(), &entries, last));
    }
    drop(season::read(trip(), &entries, last));
}

/// The name of a computation on the first line, its document after it.
fn compute(bytes: &[u8]) {
    let mut parts = bytes.splitn(2, |byte| *byte == b'\n');
    let name = parts.next().and_then(|name| std::str::from_utf8(name).ok());
    let Some(computation) = name.and_then(|name| Computation::by_name(name.trim())) else {
        return;
    };
    match computation.answer(parts.next().unwrap_or_default()) {
        Ok(answer) => assert!(answer.is_object(), "{answer}"),
        Err(faults) => are_named(&faults),
    }
}

/// Names that forms of the pages use; each is read in every way there is.
const FIELDS: [&str; 6] = ["name", "at", "lat", "form", "drift_kn", "note"];

/// A form as a browser sends it, with a file if it begins with a boundary; and what is typed into
/// one field, a place, an address, a picture.
fn forms(bytes: &[u8]) {
    let sent = if bytes.starts_with(b"--") {
        readers::upload("sea", bytes)
    } else {
        readers::form(bytes)
    };
    if let Some(fields) = sent {
        filled(&fields);
    }
    if let Err(fields) = readers::picture(bytes) {
        assert!(!fields.is_empty(), "a picture was refused for nothing");
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        text.lines().take(20).for_each(words);
    }
}

/// `None` of a reader of fields is a fault, so one is noted.
fn noted<T>(fields: &Fields, read: impl FnOnce(&Fields) -> Option<T>) {
    let before = fields.faults().len();
    if read(fields).is_none() {
        assert!(fields.faults().len() > before, "refused for nothing");
    }
}

fn filled(fields: &Fields) {
    let zone = TimeZone::UTC;
    for name in FIELDS {
        noted(fields, |f| f.text(name, 200));
        noted(fields, |f| f.number(name, &bounds::DRIFT_KN));
        noted(fields, |f| {
            f.quantity(name, &bounds::DEPTH_M, Depth::from_m)
        });
        noted(fields, |f| f.whole(name, 200));
        noted(fields, |f| f.parsed_all::<TripId>(name));
        noted(fields, |f| f.happened_at(name, &zone, now()));
        noted(fields, |f| f.time_of_day(name, &zone, now()));
        noted(fields, |f| f.position(name, "lon"));
    }
    // A form without a number is too old; one with a number has one identity.
    if let Ok(id) = act::identity(fields) {
        assert_eq!(act::identity(fields).ok(), Some(id));
    }
    let site = Site {
        id: SiteId::new(Uuid::nil()),
        name: "Anvil Rock".to_owned(),
        position: here(),
        chart: String::new(),
        stand_off: Distance::from_m(50.0).unwrap(),
        time_zone: "Etc/UTC".to_owned(),
        notes: String::new(),
        water: deckwatch::dive::pressure::Column::default(),
        tides: None,
    };
    let groups = readers::groups_of(fields, trip());
    assert!(
        groups <= fields.pairs().len(),
        "{groups} groups out of nothing"
    );
    let fresh = Fields::of(fields.pairs().to_vec());
    match readers::chart_of(&fresh, &site) {
        Some(chart) => charted(&chart),
        None => assert!(!fresh.is_sound(), "a chart was refused for nothing"),
    }
    let fresh = Fields::of(fields.pairs().to_vec());
    if let Some(tides) = readers::tides_of(&fresh) {
        let told = serde_json::to_value(&tides).expect("tides as JSON");
        assert_eq!(told.to_string().parse().ok(), Some(tides), "{told}");
    }
}

/// One line, as what it might be.
fn words(line: &str) {
    if let Ok(source) = line.parse::<Source>() {
        assert_eq!(source.to_string().parse::<Source>(), Ok(source));
    }
    if let Ok(host) = line.parse::<Host>() {
        assert_eq!(host.to_string().parse::<Host>(), Ok(host));
    }
    if let Ok(secret) = line.parse::<Secret>() {
        assert_eq!(secret.text(), line.to_lowercase());
    }
    if let Ok(at) = typed::place(here(), line) {
        assert!(here().distance_m(at) <= typed::REACH_M);
        let written = typed::written(at);
        // To the metre: what is written has ten-thousandths of a minute.
        let read = typed::both(&written).map(|(lat, lon)| Position::from_degrees(lon, lat));
        let near = read.is_some_and(|read| read.is_ok_and(|read| read.distance_m(at) < 1.0));
        assert!(near, "{line}: {written}");
    }
}

fn settings(bytes: &[u8]) {
    if let Ok(text) = std::str::from_utf8(bytes)
        && let Err(why) = deckwatch::cli::settings_of(text)
    {
        assert!(!why.is_empty());
    }
}
