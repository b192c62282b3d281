//! The time of the box: what it shows, what its devices show, how it was set, and somebody's word
//! for it.

use axum::response::Response;
use jiff::civil::{Date, Time};
use jiff::{SignedDuration, Timestamp};

use super::bridge::{Helm, Piece, Tap};
use crate::store::clock::{ClockEvent, ClockNote, ClockSource};
use crate::trip::state::Phase;
use crate::web::duties::{find, span, tie_by};
use crate::web::error::Error;
use crate::web::form::Fields;
use crate::web::parts::{FieldFault, Weight};
use crate::web::view;

/// Notes of the clock that the page shows.
const NOTES: u32 = 6;
/// How far off a watch is that was read to the second, and to the minute.
const TO_THE_SECOND_MS: u64 = 2_000;
const TO_THE_MINUTE_MS: u64 = 60_000;

/// The page.
pub(super) async fn page(helm: Helm) -> Result<Response, Error> {
    draw(&helm, &Fields::default(), Vec::new()).await
}

async fn draw(helm: &Helm, fields: &Fields, faults: Vec<FieldFault>) -> Result<Response, Error> {
    let clock = helm.app.clock();
    let zone = helm.zone();
    let shown = helm.now.to_zoned_datetime(zone.clone());
    let mut page = helm.form(
        helm.t.say("clock-title"),
        "clock",
        "clock-set-by-watch",
        faults,
    );
    let args = [
        ("time", shown.strftime("%H:%M:%S").to_string().into()),
        ("day", shown.date().to_string().into()),
    ];
    page.said.push(helm.say("clock-shows", &args));
    let state = if clock.is_confirmed() {
        "clock-is-confirmed"
    } else {
        "clock-is-not-confirmed"
    };
    page.said.push(helm.t.say(state));
    let lead = clock.wall().duration_since(clock.now());
    if lead.abs() > SignedDuration::from_secs(1) {
        let args = [("by", span(lead).into())];
        page.said.push(helm.say("clock-wall-differs", &args));
    }
    let mut suggested = shown.clone();
    for line in devices(helm) {
        page.said.push(line);
    }
    if let Some((ahead_ms, count)) = middle(helm) {
        let count = i64::try_from(count).unwrap_or(i64::MAX);
        let args = [("by", span(ahead_ms).into()), ("devices", count.into())];
        page.said.push(helm.say("clock-middle", &args));
        if !clock.is_confirmed() {
            suggested = shown.saturating_add(ahead_ms);
        }
    }
    for note in helm.app.store().clock_notes(NOTES).await? {
        page.said.push(told(helm, &note));
    }
    page.caution = helm.t.say("clock-caution");
    let day = suggested.date().to_string();
    page.pieces = vec![
        Piece::text("day", helm.t.say("clock-day"), fields)
            .hinted(helm.t.say("clock-day-hint"))
            .or(&day),
        Piece::text("time", helm.t.say("clock-time"), fields).hinted(helm.t.say("clock-time-hint")),
    ];
    page.other = Some(right(helm));
    page.back = helm.url("alerts");
    page.draw()
}

/// 'The time is right', with the time it is said of.
fn right(helm: &Helm) -> Tap {
    let args = [("time", helm.time(helm.now).into())];
    helm.tap("clock-is-right", "clock/right", Weight::Plain)
        .noted(helm.say("clock-box-time", &args))
}

/// How far the devices are ahead of the box, each with what its measuring may be wrong by.
fn devices(helm: &Helm) -> Vec<String> {
    let watchers = helm.app.presence().watchers();
    let lines = watchers.iter().filter_map(|watcher| {
        let offset = watcher.report.offset?;
        let args = [
            ("name", (&watcher.name).into()),
            ("by", span(of_ms(offset.ms)).into()),
            (
                "bound",
                of_ms(offset.bound_ms.max(1_000.0)).as_secs().into(),
            ),
        ];
        Some(helm.say("clock-device", &args))
    });
    lines.collect()
}

fn middle(helm: &Helm) -> Option<(SignedDuration, usize)> {
    let app = &helm.app;
    let found = find(
        &app.presence().watchers(),
        &std::collections::BTreeSet::new(),
        app.clock().uptime_ms(),
        app.started_ms(),
        app.speed(),
    );
    found.median.map(|(ms, count)| (of_ms(ms), count))
}

fn of_ms(ms: f64) -> SignedDuration {
    SignedDuration::try_from_secs_f64(ms / 1_000.0).unwrap_or_default()
}

fn told(helm: &Helm, note: &ClockNote) -> String {
    let at = ("at", helm.aged(note.at).into());
    let who = note.who.as_ref().map_or("", |(_, name)| name.as_str());
    match (note.event, note.source) {
        (ClockEvent::Start, ClockSource::SameBoot) => helm.say("clock-note-same-boot", &[at]),
        (ClockEvent::Start, ClockSource::LastEntry) => helm.say("clock-note-behind", &[at]),
        (ClockEvent::Start, _) => helm.say("clock-note-start", &[at]),
        (ClockEvent::Step, _) => {
            let by = span(note.wall.duration_since(note.at)).into();
            helm.say("clock-note-step", &[at, ("by", by)])
        }
        (ClockEvent::Tie, ClockSource::Wall) => helm.say("clock-note-wall", &[at]),
        (ClockEvent::Tie, ClockSource::Confirmed) => {
            helm.say("clock-note-confirmed", &[at, ("who", who.into())])
        }
        (ClockEvent::Tie, _) => helm.say("clock-note-watch", &[at, ("who", who.into())]),
    }
}

/// Somebody says that the time shown is right.
pub(super) async fn right_said(helm: Helm) -> Result<Response, Error> {
    let now = helm.app.clock().now();
    tie(&helm, now, ClockSource::Confirmed, None).await
}

/// Somebody sets the box by a watch.
pub(super) async fn set(helm: Helm, fields: Fields) -> Result<Response, Error> {
    let Some((at, uncertainty_ms)) = typed(&helm, &fields) else {
        return draw(&helm, &fields, fields.faults()).await;
    };
    if let Err(key) = allowed(&helm, at).await {
        let args = [("time", helm.time(at).into())];
        fields.fault("time", key, &args);
        return draw(&helm, &fields, fields.faults()).await;
    }
    tie(&helm, at, ClockSource::Watch, Some(uncertainty_ms)).await
}

/// A day and a time in the boat's zone, with how finely they were read.
fn typed(helm: &Helm, fields: &Fields) -> Option<(Timestamp, u64)> {
    let day: Option<Date> = fields.typed("day").parse().ok();
    if day.is_none() {
        fields.fault("day", "fault-clock-day", &[]);
    }
    let text = fields.typed("time");
    let time: Option<Time> = text.parse().ok().filter(|_| text.contains(':'));
    if time.is_none() {
        fields.fault("time", "fault-clock-time", &[]);
    }
    let uncertainty_ms = if text.matches(':').count() > 1 {
        TO_THE_SECOND_MS
    } else {
        TO_THE_MINUTE_MS
    };
    let at = day?.to_datetime(time?).to_zoned_datetime(helm.zone());
    if at.is_err() {
        fields.fault("day", "fault-clock-day", &[]);
    }
    Some((at.ok()?.timestamp(), uncertainty_ms))
}

/// Refuses what would make anybody safer: a time before what was received already, and with people
/// out a time earlier than the one the deadlines run on.
async fn allowed(helm: &Helm, at: Timestamp) -> Result<(), &'static str> {
    let app = &helm.app;
    let trips = app.live().watched_now().await;
    let open = trips
        .iter()
        .filter(|trip| trip.state.phase != Phase::Closed);
    if open
        .filter_map(|trip| trip.received_at)
        .any(|last| at < last)
    {
        return Err("fault-clock-before-entry");
    }
    let out = trips.iter().any(|trip| trip.state.anybody_out());
    if out && app.clock().is_confirmed() && at < app.clock().now() {
        return Err("fault-clock-back");
    }
    Ok(())
}

async fn tie(
    helm: &Helm,
    at: Timestamp,
    source: ClockSource,
    uncertainty_ms: Option<u64>,
) -> Result<Response, Error> {
    let (who, device) = (helm.crew.by(), helm.crew.0.device);
    let crew = who.crew;
    tie_by(
        &helm.app,
        at,
        source,
        uncertainty_ms,
        (crew, who.name),
        device,
    )
    .await?;
    let what = format!(
        "time of the box confirmed: {}",
        view::with_offset(at, &helm.zone())
    );
    helm.app
        .store()
        .audit(Some(crew), Some(device), &what)
        .await?;
    Ok(helm.to("clock"))
}
