//! The box under load: a release `serve` with 200 devices on live streams and 50 events a second,
//! for as long as is asked. Tells how long it takes from sending an event to each device seeing
//! it, how long the request itself takes, what memory the box has minute by minute, and its share
//! of the processor.
//!
//! `cargo bench --bench load -- SECONDS [EVENTS-A-SECOND [DEVICES]]`; 30, 50 and 200 if not said.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::disallowed_methods,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::wildcard_imports,
    clippy::unchecked_time_subtraction,
    reason = "a benchmark measures real time, prints, and may fail loudly"
)]

#[path = "../trip/scene.rs"]
#[expect(
    dead_code,
    reason = "only a trip with twelve groups down is wanted here"
)]
mod scene;

use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use deckwatch::clock::Clock;
use deckwatch::store::crew::{Allowed, DeviceKind, Pin};
use deckwatch::store::{Incoming, Store};
use deckwatch::trip::event::*;
use jiff::Timestamp;
use serde_json::{Value, json};
use tokio::io::{AsyncBufReadExt as _, AsyncReadExt as _, AsyncWriteExt as _, BufReader};
use tokio::net::TcpStream;
use tokio::sync::mpsc;
use uuid::Uuid;

use scene::{DECK, DESK, HELM, Scene, formed, group, people, planned, trip};

const PROGRAM: &str = env!("CARGO_BIN_EXE_deckwatch");
const LETTERS: [&str; 12] = ["B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N"];
/// Devices that make the events, in turn.
const AUTHORS: usize = 10;

struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

/// Delays in tenths of a millisecond: counted, not kept.
#[derive(Clone)]
struct Delays {
    counts: Vec<u64>,
    worst_ms: f64,
}

impl Delays {
    fn new() -> Self {
        Self {
            counts: vec![0; 300_000],
            worst_ms: 0.0,
        }
    }

    fn add(&mut self, delay: Duration) {
        let ms = delay.as_secs_f64() * 1_000.0;
        let nth = ((ms * 10.0) as usize).min(self.counts.len() - 1);
        self.counts[nth] += 1;
        self.worst_ms = self.worst_ms.max(ms);
    }

    fn total(&self) -> u64 {
        self.counts.iter().sum()
    }

    /// The delay that this share of all stay within, to a tenth of a millisecond.
    fn share_ms(&self, share: f64) -> f64 {
        let wanted = (self.total() as f64 * share).ceil() as u64;
        let mut seen = 0;
        let nth = self.counts.iter().position(|count| {
            seen += count;
            seen >= wanted.max(1)
        });
        (nth.unwrap_or(0) + 1) as f64 / 10.0
    }

    fn told(&self) -> String {
        let [p50, p99] = [0.50, 0.99].map(|share| self.share_ms(share));
        let worst = self.worst_ms;
        format!("p50 {p50:>7.1} ms, p99 {p99:>7.1} ms, max {worst:>7.1} ms")
    }
}

/// Twelve pairs in the water for ten to twenty minutes, told up to now.
fn twelve_down(now: Timestamp) -> Vec<Event> {
    let mut s = Scene::opened();
    let persons: Vec<u128> = (1_000..1_024).collect();
    for n in &persons {
        let card = scene::card(&format!("Diver {n}"), Activity::Diver);
        s.by(DESK)
            .says(people(&[*n]), Fact::PersonJoined(PersonJoined { card }));
    }
    s.by(DESK)
        .says(About::nobody().on_dive(1), Fact::DivePlanned(planned()));
    for ((pair, nth), letter) in persons.chunks(2).zip(0_u128..).zip(LETTERS) {
        let about = About::nobody().in_group(group(300 + nth), 1);
        s.by(DESK)
            .says(about, Fact::GroupFormed(formed(letter, &[pair], 18.0)));
    }
    s.until("08:00")
        .by(HELM)
        .roll(Point::Departure, &persons, &[]);
    let departed = Departed {
        override_reason: None,
    };
    s.by(HELM).says(About::nobody(), Fact::Departed(departed));
    s.by(HELM)
        .says(About::nobody().on_dive(1), Fact::OnSite(OnSite {}));
    for ((pair, nth), minute) in persons.chunks(2).zip(0_u128..).zip(0..) {
        s.until(&format!("09:{minute:02}"))
            .by(DECK)
            .left_surface(300 + nth, 1, pair);
    }
    s.until("09:20").by(HELM).current(0.3);
    let later = now.duration_since(s.now);
    let events = s.log.into_iter().map(|entry| {
        let mut event = Arc::unwrap_or_clone(entry.event);
        event.at += later;
        event
    });
    events.collect()
}

/// A device that makes events, with what it signs by.
struct Author {
    cookie: String,
    device: DeviceId,
    by: By,
    seq: u64,
    knows: Knows,
}

impl Author {
    fn event(&mut self, nth: usize) -> String {
        self.seq += 1;
        let site = planned().site.position;
        // The boat goes round the site, 200 m off.
        let turned = site.along((nth % 360) as f64, 200.0).unwrap();
        let fact: Value = if nth.is_multiple_of(10) {
            json!({"set_deg": nth % 360, "drift_kn": 0.3, "wind_from_deg": null, "wind_kn": null,
                "visibility_m": null, "sea": null, "water_c": null})
        } else {
            json!({"position": turned, "source": "typed"})
        };
        let fact = if nth.is_multiple_of(10) {
            Fact::ConditionsObserved(serde_json::from_value(fact).unwrap())
        } else {
            Fact::BoatPositioned(serde_json::from_value(fact).unwrap())
        };
        let event = Event {
            id: EventId::new(Uuid::now_v7()),
            trip: trip(),
            about: About::nobody(),
            device: self.device,
            device_seq: self.seq,
            knows: self.knows.clone(),
            by: self.by.clone(),
            at: Timestamp::now(),
            app: APP_VERSION.to_owned(),
            corrects: None,
            fact,
        };
        format!("{{\"events\":[{}]}}", event.content().text)
    }
}

/// A box with the trip, and the devices that make events.
async fn filled(folder: &Path) -> Vec<Author> {
    let store = Store::open(folder, Clock::system()).await.unwrap();
    let events = twelve_down(Timestamp::now());
    let mut knows = Knows::default();
    for event in &events {
        let known = knows.0.entry(event.device).or_default();
        *known = event.device_seq.max(*known);
    }
    let incoming = events.into_iter().map(Incoming::from).collect();
    let _appended = store.append(trip(), incoming).await.unwrap();
    let mut authors = Vec::new();
    for nth in 0..AUTHORS {
        let name = format!("Watch {nth}");
        let allowed = Allowed::from(&BTreeSet::from([Role::Skipper]));
        let pin = Pin::new("274913").unwrap();
        let crew = store.add_crew(&name, allowed, &pin).await.unwrap();
        let code = store.enrolment_code(None).await.unwrap();
        let device = store
            .enrol_device(&code.digits, &name, DeviceKind::Helm)
            .await
            .unwrap();
        let session = store.sign_in(device.device, &name, "274913").await.unwrap();
        authors.push(Author {
            cookie: format!(
                "deckwatch-device={}; deckwatch-session={}",
                device.secret.text(),
                session.text()
            ),
            device: device.device,
            by: By {
                crew,
                name,
                role: Role::Skipper,
            },
            seq: 0,
            knows: knows.clone(),
        });
    }
    store.close().await.unwrap();
    authors
}

async fn started(folder: &Path) -> (Server, String) {
    let port = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let host = port.local_addr().unwrap().to_string();
    drop(port);
    let child = Command::new(PROGRAM)
        .args(["serve", "--log", "error", "--bind", &host, "--data"])
        .arg(folder)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let server = Server(child);
    let began = Instant::now();
    while TcpStream::connect(&host).await.is_err() {
        assert!(
            began.elapsed() < Duration::from_secs(10),
            "it did not start"
        );
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    (server, host)
}

/// One request on a connection that stays open; the answer's body.
async fn post(
    stream: &mut BufReader<TcpStream>,
    host: &str,
    path: &str,
    cookie: &str,
    body: &str,
) -> String {
    let asked = format!(
        "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.get_mut().write_all(asked.as_bytes()).await.unwrap();
    let mut length = 0;
    let mut first = String::new();
    loop {
        let mut line = String::new();
        stream.read_line(&mut line).await.unwrap();
        if first.is_empty() {
            first.clone_from(&line);
        }
        if let Some((name, value)) = line.split_once(": ")
            && name.eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse().unwrap();
        }
        if line.trim().is_empty() {
            break;
        }
    }
    let mut bytes = vec![0; length];
    stream.read_exact(&mut bytes).await.unwrap();
    let body = String::from_utf8(bytes).unwrap();
    assert!(first.contains(" 200 "), "{first}{body}");
    body
}

fn entry_of(text: &str) -> Option<u64> {
    let rest = text.split("\"entry\":").nth(1)?;
    rest.split([',', '}']).next()?.trim().parse().ok()
}

/// A device on the live stream: tells each entry that it sees, with the instant.
async fn device(nth: usize, host: String, cookie: String, seen: mpsc::UnboundedSender<Seen>) {
    let mut stream = TcpStream::connect(&host).await.unwrap();
    let asked = format!(
        "GET /api/trips/{}/live HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n",
        trip()
    );
    stream.write_all(asked.as_bytes()).await.unwrap();
    let mut lines = BufReader::with_capacity(16 * 1024, stream);
    let mut line = Vec::new();
    let mut is_picture = false;
    loop {
        line.clear();
        if lines.read_until(b'\n', &mut line).await.unwrap_or(0) == 0 {
            return;
        }
        if let Some(name) = line.strip_prefix(b"event: ") {
            is_picture = name.trim_ascii() == b"picture";
        } else if is_picture && line.starts_with(b"data: ") {
            let text = String::from_utf8_lossy(&line);
            if let Some(entry) = entry_of(&text) {
                let told = Seen {
                    device: nth,
                    entry,
                    at: Instant::now(),
                    bytes: line.len(),
                };
                if seen.send(told).is_err() {
                    return;
                }
            }
        }
    }
}

struct Seen {
    device: usize,
    entry: u64,
    at: Instant,
    bytes: usize,
}

/// When each entry was sent: index by its number.
type Sent = Arc<Mutex<Vec<Option<Instant>>>>;

/// Sends events in turn at their instants, whatever the answers take: what waits for its turn
/// counts as waiting.
async fn author(
    nth: usize,
    mut author: Author,
    host: String,
    (rate, seconds): (f64, u64),
    sent: Sent,
) -> Delays {
    let path = format!("/api/trips/{}/events", trip());
    let stream = TcpStream::connect(&host).await.unwrap();
    stream.set_nodelay(true).unwrap();
    let mut stream = BufReader::new(stream);
    let mut delays = Delays::new();
    let began = Instant::now();
    let mut mine = nth;
    loop {
        let due = began + Duration::from_secs_f64(mine as f64 / rate);
        if due >= began + Duration::from_secs(seconds) {
            return delays;
        }
        tokio::time::sleep_until(due.into()).await;
        let body = author.event(mine);
        let answer = post(&mut stream, &host, &path, &author.cookie, &body).await;
        delays.add(due.elapsed());
        let entry = entry_of(&answer).expect("an entry") as usize;
        let mut sent = sent.lock().unwrap();
        if sent.len() <= entry {
            sent.resize(entry + 1, None);
        }
        sent[entry] = Some(due);
        mine += AUTHORS;
    }
}

fn memory_mb(server: &Server) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", server.0.id())).unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kb = line.unwrap().trim().trim_end_matches(" kB").trim();
    kb.parse::<f64>().unwrap() / 1024.0
}

/// Ticks of the processor: of a process, and of the whole machine but for idling.
fn ticks(of: u32) -> u64 {
    let stat = std::fs::read_to_string(format!("/proc/{of}/stat")).unwrap();
    let fields = stat.rsplit_once(')').unwrap().1;
    let fields: Vec<&str> = fields.split_whitespace().collect();
    fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap()
}

fn machine_ticks() -> (u64, u64) {
    let stat = std::fs::read_to_string("/proc/stat").unwrap();
    let line = stat.lines().next().unwrap();
    let all: Vec<u64> = line
        .split_whitespace()
        .skip(1)
        .map(|figure| figure.parse().unwrap())
        .collect();
    let idle = all[3] + all[4];
    (all.iter().sum::<u64>() - idle, all.iter().sum())
}

/// Counts what devices saw against when it was sent, a second later, when every answer is in.
struct Counted {
    sent: Sent,
    last: Vec<u64>,
    waiting: Vec<Seen>,
    all: Delays,
    lately: Delays,
    bytes: u64,
    updates: u64,
}

impl Counted {
    fn take(&mut self, seen: &mut mpsc::UnboundedReceiver<Seen>, until: Instant) {
        while let Ok(one) = seen.try_recv() {
            self.waiting.push(one);
        }
        let sent = self.sent.lock().unwrap();
        let ripe: Vec<Seen> = self.waiting.extract_if(.., |one| one.at < until).collect();
        for one in ripe {
            self.bytes += one.bytes as u64;
            self.updates += 1;
            let last = &mut self.last[one.device];
            // A device that joins sees the past at once: that is no delay.
            if *last > 0 {
                for entry in *last + 1..=one.entry {
                    if let Some(Some(at)) = sent.get(entry as usize) {
                        let delay = one.at.saturating_duration_since(*at);
                        self.all.add(delay);
                        self.lately.add(delay);
                    }
                }
            }
            *last = one.entry.max(*last);
        }
    }
}

#[tokio::main(flavor = "current_thread")]
async fn main() {
    let asked: Vec<f64> = std::env::args()
        .filter_map(|one| one.parse().ok())
        .collect();
    let seconds = asked.first().copied().unwrap_or(30.0) as u64;
    let rate = asked.get(1).copied().unwrap_or(50.0);
    let devices = asked.get(2).copied().unwrap_or(200.0) as usize;
    println!("The box under load: {devices} devices, {rate} events a second, {seconds} s");
    let folder = tempfile::tempdir().unwrap();
    let authors = filled(folder.path()).await;
    let (server, host) = started(folder.path()).await;
    let own = std::process::id();
    let (seen, mut heard) = mpsc::unbounded_channel();
    for nth in 0..devices {
        let cookie = authors[nth % AUTHORS].cookie.clone();
        // The first lets the address be known as the crew's.
        tokio::spawn(device(nth, host.clone(), cookie, seen.clone()));
        if nth == 0 {
            tokio::time::sleep(Duration::from_millis(300)).await;
        }
    }
    let sent: Sent = Arc::default();
    let mut counted = Counted {
        sent: sent.clone(),
        last: vec![0; devices],
        waiting: Vec::new(),
        all: Delays::new(),
        lately: Delays::new(),
        bytes: 0,
        updates: 0,
    };
    tokio::time::sleep(Duration::from_secs(3)).await;
    counted.take(&mut heard, Instant::now());
    let joined = counted.last.iter().filter(|last| **last > 0).count();
    assert_eq!(joined, devices, "every device has a first picture");
    counted.updates = 0;
    counted.bytes = 0;
    println!("memory before the first event {:.1} MB", memory_mb(&server));
    let senders: Vec<_> = authors
        .into_iter()
        .enumerate()
        .map(|(nth, one)| {
            let pace = (rate, seconds);
            tokio::spawn(author(nth, one, host.clone(), pace, sent.clone()))
        })
        .collect();
    let began = Instant::now();
    let mut minute = Minute::begin(&server, own);
    let mut told = 0;
    while began.elapsed() < Duration::from_secs(seconds + 2) {
        tokio::time::sleep(Duration::from_millis(500)).await;
        counted.take(&mut heard, Instant::now() - Duration::from_secs(1));
        if began.elapsed().as_secs() / 60 > told {
            told += 1;
            println!(
                "minute {told:>2}: {}, memory {:>6.1} MB, {}",
                counted.lately.told(),
                memory_mb(&server),
                minute.tell(&server, own)
            );
            counted.lately = Delays::new();
            minute = Minute::begin(&server, own);
        }
    }
    tokio::time::sleep(Duration::from_secs(2)).await;
    counted.take(&mut heard, Instant::now());
    let mut requests = Delays::new();
    for sender in senders {
        let one = sender.await.unwrap();
        for (all, own) in requests.counts.iter_mut().zip(&one.counts) {
            *all += own;
        }
        requests.worst_ms = requests.worst_ms.max(one.worst_ms);
    }
    let wanted = requests.total() * devices as u64;
    println!("requests  {:>8}: {}", requests.total(), requests.told());
    println!(
        "seen      {:>8}: {}",
        counted.all.total(),
        counted.all.told()
    );
    println!(
        "not seen  {:>8}; updates {}, {:.1} KB each",
        wanted.saturating_sub(counted.all.total()),
        counted.updates,
        counted.bytes as f64 / counted.updates.max(1) as f64 / 1024.0
    );
    for (what, value, unit, budget) in [
        (
            "event to every device, p99",
            counted.all.share_ms(0.99),
            "ms",
            150.0,
        ),
        ("memory at the end", memory_mb(&server), "MB", 100.0),
    ] {
        let verdict = if value <= budget { "within" } else { "OVER" };
        println!("{what:<32}{value:>9.1} {unit}  budget {budget:>6.1} {unit}  {verdict}");
    }
}

/// Who used the processor for a while: a figure counts only if nobody else did.
struct Minute {
    server: u64,
    own: u64,
    machine: (u64, u64),
}

impl Minute {
    fn begin(server: &Server, own: u32) -> Self {
        Self {
            server: ticks(server.0.id()),
            own: ticks(own),
            machine: machine_ticks(),
        }
    }

    fn tell(&self, server: &Server, own: u32) -> String {
        let now = Self::begin(server, own);
        let all = (now.machine.1 - self.machine.1).max(1) as f64;
        let share = |ticks: u64| 100.0 * ticks as f64 / all;
        let (box_, bench) = (now.server - self.server, now.own - self.own);
        let others = (now.machine.0 - self.machine.0).saturating_sub(box_ + bench);
        format!(
            "of the machine: box {:.0} %, this {:.0} %, others {:.0} %",
            share(box_),
            share(bench),
            share(others)
        )
    }
}
