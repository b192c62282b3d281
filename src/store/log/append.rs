//! Appending. One task writes; deliveries that wait while a commit is synced share the next
//! one, so that slow storage does not queue the boat.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::Timestamp;
use sqlx::Connection;
use sqlx::sqlite::SqliteConnection;
use tokio::sync::{broadcast, mpsc, oneshot};

use super::super::plant::{self, Plant};
use super::super::row::{RowOf, signed};
use super::super::writer::{Turn, Writer};
use super::super::{Store, StoreError};
use super::line::{head, line};
use super::refill;
use super::{AppendError, Appended, Clash, FormError, Head, Incoming, News, Place, Refused, Work};
use crate::clock::Clock;
use crate::trip::TripId;
use crate::trip::event::{DeviceId, Event, EventId, Fact, TripOpened};

/// Most deliveries in one commit.
const LARGEST_GROUP: usize = 64;
/// Ends kept in memory; a box has few trips under way.
const MOST_ENDS: usize = 64;

/// Where a trip's log ends, and in this file.
#[derive(Debug, Clone, Copy)]
pub(super) struct End {
    /// The trip's number in this file; none until it is listed.
    pub(super) nth: Option<i64>,
    pub(super) head: Head,
}

pub(super) type Ends = HashMap<TripId, End>;

pub(super) type Answer = Result<Vec<Appended>, Failure>;

/// Why a job appended nothing.
#[derive(Debug, Clone)]
pub(super) enum Failure {
    Refused,
    Append(AppendError),
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        Self::Append(error.into())
    }
}

/// One delivery or form that waits for the writer.
#[derive(Debug)]
pub(in super::super) struct Job {
    trip: TripId,
    work: Work,
    answer: oneshot::Sender<Answer>,
}

impl Store {
    /// Appends events that a device made: all or none.
    ///
    /// Answers when they are on the medium. An event that stands in the log already with the
    /// same content is answered as the first time.
    ///
    /// # Errors
    /// [`AppendError::Clash`] names every event whose id or device number stands with other
    /// content; those are kept aside and nothing is appended. Anything else: nothing is
    /// written, or at worst written and not acknowledged, which a repeat finds out.
    pub async fn append(
        &self,
        trip: TripId,
        events: Vec<Incoming>,
    ) -> Result<Vec<Appended>, AppendError> {
        for (index, incoming) in events.iter().enumerate() {
            if incoming.event.trip != trip {
                return Err(AppendError::OtherTrip { index });
            }
        }
        if events.is_empty() {
            return Ok(Vec::new());
        }
        match self.submit(trip, Work::Delivered(events)).await {
            Ok(appended) => Ok(appended),
            Err(Failure::Append(error)) => Err(error),
            Err(Failure::Refused) => Ok(Vec::new()),
        }
    }

    /// Appends what a form says, numbered on behalf of `device` inside the write, so that its
    /// numbers have no gap.
    ///
    /// `form` is the identity that the page was rendered with; the first event that `build`
    /// makes bears it, and the others follow in number. A form sent twice is answered with the
    /// entry of its first event, and `build` is not asked. `build` runs while nobody else can
    /// append: it compares, decides, and does nothing slow.
    ///
    /// # Errors
    /// [`FormError::Refused`] with what `build` refused; else as [`Store::append`].
    pub async fn append_from_form<R, B>(
        &self,
        trip: TripId,
        device: DeviceId,
        form: EventId,
        build: B,
    ) -> Result<Vec<Appended>, FormError<R>>
    where
        R: Send + 'static,
        B: FnOnce(Place) -> Result<Vec<Event>, R> + Send + 'static,
    {
        let (tell, refusal) = oneshot::channel();
        let build = Box::new(move |place: Place| {
            build(place).map_err(|why| {
                // Nobody listens any more only when the form's sender went away.
                drop(tell.send(why));
                Refused
            })
        });
        let work = Work::Form {
            device,
            form,
            build,
        };
        match self.submit(trip, work).await {
            Ok(appended) => Ok(appended),
            Err(Failure::Append(error)) => Err(error.into()),
            Err(Failure::Refused) => match refusal.await {
                Ok(why) => Err(FormError::Refused(why)),
                Err(_) => Err(AppendError::from(gone()).into()),
            },
        }
    }

    /// Tells of every append, after it is on the medium. Who lags reads the log anew.
    #[must_use]
    pub fn news(&self) -> broadcast::Receiver<News> {
        self.0.news.subscribe()
    }

    /// Waits until work that answers by itself is on the medium.
    pub(super) async fn write(&self, trip: TripId, work: Work) -> Result<(), AppendError> {
        match self.submit(trip, work).await {
            Ok(_) | Err(Failure::Refused) => Ok(()),
            Err(Failure::Append(error)) => Err(error),
        }
    }

    async fn submit(&self, trip: TripId, work: Work) -> Answer {
        self.check()?;
        let (answer, told) = oneshot::channel();
        let job = Job { trip, work, answer };
        if self.0.jobs.send(job).await.is_err() {
            return Err(gone().into());
        }
        match told.await {
            Ok(answer) => answer,
            Err(_) => Err(gone().into()),
        }
    }
}

pub(super) fn gone() -> StoreError {
    StoreError::Stopped {
        why: "the writer has ended".into(),
    }
}

/// Writes what comes until every store is dropped; then closes the file.
pub(in super::super) async fn write_all(
    mut waiting: mpsc::Receiver<Job>,
    writer: Arc<Writer>,
    clock: Clock,
    news: broadcast::Sender<News>,
) {
    let mut ends = Ends::new();
    while let Some(first) = waiting.recv().await {
        let mut group = vec![first];
        while group.len() < LARGEST_GROUP
            && let Ok(next) = waiting.try_recv()
        {
            group.push(next);
        }
        if ends.len() > MOST_ENDS {
            ends.clear();
        }
        write_group(&writer, &clock, &news, &mut ends, group).await;
    }
    if let Err(error) = writer.close().await {
        tracing::warn!(error = ?error, "the store was not closed in order");
    }
}

async fn write_group(
    writer: &Writer,
    clock: &Clock,
    news: &broadcast::Sender<News>,
    ends: &mut Ends,
    group: Vec<Job>,
) {
    let (senders, works): (Vec<_>, Vec<_>) = group
        .into_iter()
        .map(|job| (job.answer, (job.trip, job.work)))
        .unzip();
    let mut turn = match writer.turn().await {
        Ok(turn) => turn,
        Err(error) => return fail_all(senders, &error),
    };
    let mut pending = ends.clone();
    let senders = if plant::is(Plant::EarlyAck) {
        answer_early(ends, &works, senders)
    } else {
        senders
    };
    match commit_group(&mut turn, clock, &mut pending, works).await {
        Ok(answers) => {
            for (trip, End { head, .. }) in &pending {
                if ends.get(trip).is_none_or(|old| old.head.entry < head.entry) {
                    // Nobody may be listening.
                    drop(news.send(News {
                        trip: *trip,
                        entry: head.entry,
                    }));
                }
            }
            *ends = pending;
            for (sender, answer) in senders.into_iter().zip(answers) {
                // The asker may have gone; the events stand all the same.
                drop(sender.send(answer));
            }
        }
        Err(error) => {
            ends.clear();
            fail_all(senders, &error);
        }
    }
    // After the answers, so that nobody waits for it. Its failure has stopped the store.
    if let Err(error) = turn.tidy().await {
        tracing::error!(error = ?error, "folding the write-ahead log in failed");
    }
}

/// PLANTED: acknowledges deliveries as if they were written; the rest wait as they should.
fn answer_early(
    ends: &Ends,
    works: &[(TripId, Work)],
    senders: Vec<oneshot::Sender<Answer>>,
) -> Vec<oneshot::Sender<Answer>> {
    let mut given: HashMap<TripId, u64> = HashMap::new();
    senders
        .into_iter()
        .zip(works)
        .map(|(sender, (trip, work))| match (ends.get(trip), work) {
            (Some(end), Work::Delivered(events)) => {
                let last = given.entry(*trip).or_insert(end.head.entry);
                let first = *last + 1;
                *last += events.len() as u64;
                let told = (first..=*last).map(|entry| Appended::New { entry });
                drop(sender.send(Ok(told.collect())));
                oneshot::channel().0
            }
            _ => sender,
        })
        .collect()
}

fn fail_all(senders: Vec<oneshot::Sender<Answer>>, error: &StoreError) {
    for sender in senders {
        drop(sender.send(Err(error.clone().into())));
    }
}

/// One commit for all jobs of the group; each of them whole or absent.
async fn commit_group(
    turn: &mut Turn<'_>,
    clock: &Clock,
    ends: &mut Ends,
    mut works: Vec<(TripId, Work)>,
) -> Result<Vec<Answer>, StoreError> {
    let stamp = Stamp::of(clock);
    if !matches!(works.as_slice(), [(_, Work::Refill(_))])
        && works.len() == 1
        && let Some((trip, work)) = works.pop()
    {
        match in_one_statement(turn, &stamp, ends, trip, work).await {
            Ok(Quick::Done(answer)) => return Ok(vec![answer]),
            Ok(Quick::Events(events)) => works.push((trip, Work::Delivered(events))),
            Err(error) => return Err(turn.note(error)),
        }
    }
    let mut write = turn.begin().await?;
    let mut bytes = 0;
    let mut answers = Vec::with_capacity(works.len());
    for (trip, work) in works {
        match job(write.on(), &stamp, ends, trip, work).await {
            Ok(Done { answer, written }) => {
                bytes += written;
                answers.push(answer);
            }
            Err(error) => return Err(write.give_up(error).await),
        }
    }
    write.commit(bytes).await?;
    Ok(answers)
}

/// What came of trying to append in one statement.
enum Quick {
    Done(Answer),
    /// These need a transaction.
    Events(Vec<Incoming>),
}

/// Most deliveries are one event of a trip under way: one statement, committed by itself,
/// spares three turns to the connection's thread and back. The turn is held, so nobody
/// appends between the reading and the writing.
async fn in_one_statement(
    turn: &mut Turn<'_>,
    stamp: &Stamp,
    ends: &mut Ends,
    trip: TripId,
    work: Work,
) -> Result<Quick, StoreError> {
    let connection = turn.on()?;
    let End { nth, head } = end_of(connection, ends, trip).await?;
    let events = match events_of(connection, stamp, End { nth, head }, trip, work).await? {
        Ok(events) => events,
        Err(answer) => return Ok(Quick::Done(answer)),
    };
    let [incoming] = events.as_slice() else {
        return Ok(Quick::Events(events));
    };
    let Some(nth) = nth else {
        return Ok(Quick::Events(events));
    };
    if matches!(incoming.event.fact, Fact::TripOpened(_)) {
        return Ok(Quick::Events(events));
    }
    let next = head.then(&incoming.content.hash);
    match insert(connection, stamp, nth, next, incoming).await? {
        Inserted::New => {
            turn.wrote(incoming.content.text.len() as u64);
            let end = End {
                nth: Some(nth),
                head: next,
            };
            ends.insert(trip, end);
            let appended = Appended::New { entry: next.entry };
            Ok(Quick::Done(Ok(vec![appended])))
        }
        Inserted::Repeat(entry) => Ok(Quick::Done(Ok(vec![Appended::Repeat { entry }]))),
        // To be kept aside.
        Inserted::Clash(..) => Ok(Quick::Events(events)),
    }
}

/// What all events of one commit have in common.
pub(super) struct Stamp {
    pub(super) now: Timestamp,
    pub(super) now_ms: i64,
    pub(super) boot: String,
    pub(super) uptime_ms: i64,
}

impl Stamp {
    fn of(clock: &Clock) -> Self {
        let now = clock.now();
        Self {
            now,
            now_ms: now.as_millisecond(),
            boot: clock.boot_id().to_string(),
            uptime_ms: i64::try_from(clock.uptime_ms()).unwrap_or(i64::MAX),
        }
    }
}

pub(super) struct Done {
    pub(super) answer: Answer,
    /// Bytes of content that were written.
    pub(super) written: u64,
}

/// The events of a job: as they were delivered, or as a form makes them at its place; or the
/// answer, when there is nothing to write.
async fn events_of(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    end: End,
    trip: TripId,
    work: Work,
) -> Result<Result<Vec<Incoming>, Answer>, StoreError> {
    let (device, form, build) = match work {
        Work::Delivered(events) => return Ok(Ok(events)),
        // It has a job of its own.
        Work::Refill(_) => return Ok(Err(Err(Failure::Refused))),
        Work::Form {
            device,
            form,
            build,
        } => (device, form, build),
    };
    if let Some(answer) = sent_before(connection, trip, form).await? {
        return Ok(Err(answer));
    }
    let next_seq = match end.nth {
        Some(nth) => next_device_seq(connection, nth, device).await?,
        None => 1,
    };
    let place = Place {
        head: end.head,
        next_seq,
        now: stamp.now,
    };
    let Ok(made) = build(place) else {
        return Ok(Err(Err(Failure::Refused)));
    };
    if let Some(index) = misnumbered(&made, trip, device, form, next_seq) {
        let error = AppendError::Misnumbered { index };
        return Ok(Err(Err(Failure::Append(error))));
    }
    if made.is_empty() {
        return Ok(Err(Ok(Vec::new())));
    }
    Ok(Ok(made.into_iter().map(Incoming::from).collect()))
}

/// One job inside a transaction.
async fn job(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    ends: &mut Ends,
    trip: TripId,
    work: Work,
) -> Result<Done, StoreError> {
    let work = match work {
        Work::Refill(refill) => return refill::job(connection, stamp, ends, trip, *refill).await,
        work @ (Work::Delivered(_) | Work::Form { .. }) => work,
    };
    let end = end_of(connection, ends, trip).await?;
    let events = match events_of(connection, stamp, end, trip, work).await? {
        Ok(events) => events,
        Err(answer) => return Ok(Done { answer, written: 0 }),
    };
    let batch = if let Some(nth) = end.nth
        && events.len() == 1
    {
        // A lone event has either been written or not: there is nothing to undo.
        batch(connection, stamp, nth, end.head, &events).await?
    } else {
        let mut inner = connection.begin().await?;
        let nth = match end.nth {
            Some(nth) => nth,
            None => list(&mut inner, trip).await?,
        };
        let batch = batch(&mut inner, stamp, nth, end.head, &events).await?;
        if batch.clashes.is_empty() {
            inner.commit().await?;
        } else {
            inner.rollback().await?;
        }
        batch
    };
    finish(connection, stamp, ends, trip, &events, batch).await
}

/// What trying a batch came to.
struct Batch {
    nth: i64,
    head: Head,
    appended: Vec<Appended>,
    clashes: Vec<Clash>,
}

async fn batch(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    nth: i64,
    mut head: Head,
    events: &[Incoming],
) -> Result<Batch, StoreError> {
    let mut appended = Vec::with_capacity(events.len());
    let mut clashes = Vec::new();
    for (index, incoming) in events.iter().enumerate() {
        let next = head.then(&incoming.content.hash);
        match insert(connection, stamp, nth, next, incoming).await? {
            Inserted::New => {
                head = next;
                appended.push(Appended::New { entry: next.entry });
            }
            Inserted::Repeat(entry) => appended.push(Appended::Repeat { entry }),
            Inserted::Clash(stands_in, stands_at) => clashes.push(Clash {
                index,
                event: incoming.event.id,
                stands_in,
                stands_at,
            }),
        }
    }
    Ok(Batch {
        nth,
        head,
        appended,
        clashes,
    })
}

async fn finish(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    ends: &mut Ends,
    trip: TripId,
    events: &[Incoming],
    batch: Batch,
) -> Result<Done, StoreError> {
    if !batch.clashes.is_empty() {
        for clash in &batch.clashes {
            if let Some(incoming) = events.get(clash.index) {
                keep_aside(connection, stamp, trip, incoming).await?;
            }
        }
        let error = AppendError::Clash(batch.clashes);
        return Ok(Done {
            answer: Err(Failure::Append(error)),
            written: 0,
        });
    }
    let mut written = 0;
    for (incoming, appended) in events.iter().zip(&batch.appended) {
        if matches!(appended, Appended::New { .. }) {
            written += incoming.content.text.len() as u64;
            if let Fact::TripOpened(opened) = &incoming.event.fact {
                note_opening(connection, trip, incoming.event.at, opened).await?;
            }
        }
    }
    let end = End {
        nth: Some(batch.nth),
        head: batch.head,
    };
    ends.insert(trip, end);
    Ok(Done {
        answer: Ok(batch.appended),
        written,
    })
}

/// The first event of a form that is not of its trip or device, or out of number.
fn misnumbered(
    made: &[Event],
    trip: TripId,
    device: DeviceId,
    form: EventId,
    next_seq: u64,
) -> Option<usize> {
    (next_seq..)
        .zip(made)
        .enumerate()
        .find(|(index, (seq, event))| {
            event.trip != trip
                || event.device != device
                || event.device_seq != *seq
                || (*index == 0) != (event.id == form)
        })
        .map(|(index, _)| index)
}

pub(super) enum Inserted {
    New,
    Repeat(u64),
    Clash(TripId, u64),
}

pub(super) async fn insert(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    nth: i64,
    place: Head,
    incoming: &Incoming,
) -> Result<Inserted, StoreError> {
    let event = &incoming.event;
    let tried = sqlx::query(
        "INSERT INTO entry (line, event, device, device_seq, content, hash, chain, \
         recorded_at, wall_age_ms, mono_age_ms, boot, uptime_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12) \
         ON CONFLICT (event) DO NOTHING",
    )
    .bind(line(event.trip, nth, place.entry)?)
    .bind(event.id.to_string())
    .bind(event.device.to_string())
    .bind(signed("entry", "device_seq", event.id, event.device_seq)?)
    .bind(incoming.content.text.as_str())
    .bind(incoming.content.hash.as_slice())
    .bind(place.chain.as_slice())
    .bind(stamp.now_ms)
    .bind(incoming.wall_age_ms)
    .bind(incoming.mono_age_ms)
    .bind(stamp.boot.as_str())
    .bind(stamp.uptime_ms)
    .execute(&mut *connection)
    .await;
    let refused = match tried {
        Ok(done) if done.rows_affected() == 1 => return Ok(Inserted::New),
        Ok(_) => None,
        // SQLite names no constraint, and may look at another one before the event's id.
        Err(error) if is_taken(&error) => Some(error),
        Err(error) => return Err(error.into()),
    };
    if let Some(stands) = standing(connection, event.id).await? {
        return Ok(if stands.hash == incoming.content.hash {
            Inserted::Repeat(stands.entry)
        } else {
            Inserted::Clash(stands.trip, stands.entry)
        });
    }
    let number: Option<i64> = sqlx::query_scalar(
        "SELECT entry FROM number WHERE trip = $1 AND device = $2 AND device_seq = $3",
    )
    .bind(nth)
    .bind(event.device.to_string())
    .bind(signed("entry", "device_seq", event.id, event.device_seq)?)
    .fetch_optional(&mut *connection)
    .await?;
    match (number, refused) {
        (Some(entry), _) => {
            let key = event.id.to_string();
            let row = RowOf {
                table: "number",
                key: &key,
            };
            Ok(Inserted::Clash(event.trip, row.figure("entry", entry)?))
        }
        (None, Some(error)) => Err(error.into()),
        (None, None) => Err(StoreError::row(
            "entry",
            "event",
            &event.id,
            &"is taken, and is not there",
        )),
    }
}

fn is_taken(error: &sqlx::Error) -> bool {
    error
        .as_database_error()
        .is_some_and(|cause| cause.kind() == sqlx::error::ErrorKind::UniqueViolation)
}

struct Standing {
    trip: TripId,
    entry: u64,
    hash: [u8; 32],
}

async fn standing(
    connection: &mut SqliteConnection,
    event: EventId,
) -> Result<Option<Standing>, StoreError> {
    let key = event.to_string();
    let found: Option<(String, i64, Vec<u8>)> = sqlx::query_as(
        "SELECT id, entry, hash FROM entry JOIN trip ON nth = trip WHERE event = $1",
    )
    .bind(key.as_str())
    .fetch_optional(connection)
    .await?;
    let row = RowOf {
        table: "entry",
        key: &key,
    };
    found
        .map(|(trip, entry, hash)| {
            Ok(Standing {
                trip: row.parse("trip", &trip)?,
                entry: row.figure("entry", entry)?,
                hash: row.digest("hash", &hash)?,
            })
        })
        .transpose()
}

/// The answer to a form that was sent before.
async fn sent_before(
    connection: &mut SqliteConnection,
    trip: TripId,
    form: EventId,
) -> Result<Option<Answer>, StoreError> {
    Ok(standing(connection, form).await?.map(|stands| {
        if stands.trip == trip {
            Ok(vec![Appended::Repeat {
                entry: stands.entry,
            }])
        } else {
            Err(Failure::Append(AppendError::Clash(vec![Clash {
                index: 0,
                event: form,
                stands_in: stands.trip,
                stands_at: stands.entry,
            }])))
        }
    }))
}

/// The number after the device's last. One that is lost is not given again: whoever reads on
/// sees that it is missing.
async fn next_device_seq(
    connection: &mut SqliteConnection,
    nth: i64,
    device: DeviceId,
) -> Result<u64, StoreError> {
    let key = device.to_string();
    let last: i64 = sqlx::query_scalar(
        "SELECT max( \
         coalesce((SELECT max(device_seq) FROM number WHERE trip = $1 AND device = $2), 0), \
         coalesce((SELECT max(device_seq) FROM lost WHERE trip = $1 AND device = $2), 0))",
    )
    .bind(nth)
    .bind(key.as_str())
    .fetch_one(connection)
    .await?;
    let row = RowOf {
        table: "number",
        key: &key,
    };
    let last: u64 = row.figure("device_seq", last)?;
    Ok(last + 1)
}

pub(super) async fn end_of(
    connection: &mut SqliteConnection,
    ends: &Ends,
    trip: TripId,
) -> Result<End, StoreError> {
    if let Some(end) = ends.get(&trip) {
        return Ok(*end);
    }
    let found: Option<(i64, i64, Option<Vec<u8>>)> =
        sqlx::query_as("SELECT nth, last_entry, last_chain FROM trip_head WHERE id = $1")
            .bind(trip.to_string())
            .fetch_optional(connection)
            .await?;
    Ok(match found {
        None => End {
            nth: None,
            head: Head::start(trip),
        },
        Some((nth, entry, chain)) => End {
            nth: Some(nth),
            head: head(trip, entry, chain.as_deref())?,
        },
    })
}

/// Lists a trip before its first entry: its number in this file.
pub(super) async fn list(
    connection: &mut SqliteConnection,
    trip: TripId,
) -> Result<i64, StoreError> {
    let nth = sqlx::query_scalar("INSERT INTO trip (id) VALUES ($1) RETURNING nth")
        .bind(trip.to_string())
        .fetch_one(connection)
        .await?;
    Ok(nth)
}

/// Notes what an opening says for the list of trips. The list only helps to find a trip: what
/// holds is the fold, whose keeper notes it by `note_trip`.
pub(super) async fn note_opening(
    connection: &mut SqliteConnection,
    trip: TripId,
    at: Timestamp,
    opened: &TripOpened,
) -> Result<(), StoreError> {
    sqlx::query(
        "UPDATE trip SET day = coalesce(day, $2), harbour = coalesce(harbour, $3), \
         boat = coalesce(boat, $4), drill = max(drill, $5), \
         opened_at = coalesce(opened_at, $6) WHERE id = $1",
    )
    .bind(trip.to_string())
    .bind(opened.day.to_string())
    .bind(opened.harbour.as_str())
    .bind(opened.boat.name.as_str())
    .bind(opened.drill)
    .bind(at.as_millisecond())
    .execute(connection)
    .await?;
    Ok(())
}

pub(super) async fn keep_aside(
    connection: &mut SqliteConnection,
    stamp: &Stamp,
    trip: TripId,
    incoming: &Incoming,
) -> Result<(), StoreError> {
    let event = &incoming.event;
    sqlx::query(
        "INSERT INTO clash (trip, event, device, device_seq, content, hash, recorded_at, boot) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (hash) DO NOTHING",
    )
    .bind(trip.to_string())
    .bind(event.id.to_string())
    .bind(event.device.to_string())
    .bind(signed("clash", "device_seq", event.id, event.device_seq)?)
    .bind(incoming.content.text.as_str())
    .bind(incoming.content.hash.as_slice())
    .bind(stamp.now_ms)
    .bind(stamp.boot.as_str())
    .execute(connection)
    .await?;
    Ok(())
}
