//! The running box: start to first answer, memory, size, weight of a page, and an event to every
//! one of 200 live devices. Starts the release binary's drill and talks to it over loopback.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    clippy::disallowed_methods,
    clippy::assigning_clones,
    clippy::too_many_lines,
    reason = "a benchmark measures real time, prints, and may fail loudly"
)]

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_deckwatch");
const DEVICES: usize = 200;
const EVENTS: usize = 60;

struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
    wire: usize,
}

fn ask(host: &str, method: &str, path: &str, cookies: &str, body: &str) -> Answer {
    let mut stream = TcpStream::connect(host).unwrap();
    let kind = if body.is_empty() {
        ""
    } else {
        "Content-Type: application/x-www-form-urlencoded\r\n"
    };
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookies}\r\n\
         Accept-Encoding: gzip\r\nConnection: close\r\n{kind}Content-Length: {}\r\n\r\n{body}",
        body.len()
    )
    .unwrap();
    let mut all = Vec::new();
    stream.read_to_end(&mut all).unwrap();
    let end = all
        .windows(4)
        .position(|w| w == b"\r\n\r\n")
        .expect("a head")
        + 4;
    let head = String::from_utf8_lossy(&all[..end]).into_owned();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    let raw = &all[end..];
    let body = if head.to_lowercase().contains("transfer-encoding: chunked") {
        joined(raw)
    } else {
        raw.to_vec()
    };
    Answer {
        status,
        head,
        wire: body.len(),
        body,
    }
}

/// The chunks of a chunked body in one (RFC 9112, 7.1).
fn joined(mut raw: &[u8]) -> Vec<u8> {
    let mut body = Vec::new();
    while let Some(end) = raw.windows(2).position(|w| w == b"\r\n") {
        let size =
            usize::from_str_radix(std::str::from_utf8(&raw[..end]).unwrap().trim(), 16).unwrap();
        if size == 0 {
            break;
        }
        body.extend_from_slice(&raw[end + 2..end + 2 + size]);
        raw = &raw[end + 2 + size + 2..];
    }
    body
}

/// The scripts that these bring with them, themselves included, each with its bytes on the wire;
/// without those that are `there` already, and without what is only imported when it is needed.
fn fetched_by(
    host: &str,
    base: &str,
    cookies: &str,
    entries: &[&str],
    there: &BTreeMap<String, usize>,
) -> BTreeMap<String, usize> {
    let mut fetched = BTreeMap::new();
    let mut wanted: Vec<String> = entries.iter().map(|&file| file.to_owned()).collect();
    while let Some(file) = wanted.pop() {
        if fetched.contains_key(&file) || there.contains_key(&file) {
            continue;
        }
        let answer = ask(host, "GET", &format!("{base}/{file}"), cookies, "");
        assert_eq!(answer.status, 200, "{file}");
        let source = text(&answer);
        let imports = source.lines().filter(|line| line.starts_with("import "));
        wanted.extend(
            imports
                .filter_map(|line| line.split('\'').nth(1)?.strip_prefix("./"))
                .map(|name| format!("js/{name}")),
        );
        fetched.insert(file, answer.wire);
    }
    fetched
}

fn text(answer: &Answer) -> String {
    if answer
        .head
        .to_lowercase()
        .contains("content-encoding: gzip")
    {
        let mut plain = String::new();
        flate2::read::GzDecoder::new(answer.body.as_slice())
            .read_to_string(&mut plain)
            .unwrap();
        plain
    } else {
        String::from_utf8_lossy(&answer.body).into_owned()
    }
}

fn cookie(answer: &Answer) -> String {
    answer
        .head
        .lines()
        .filter_map(|line| line.split_once(": "))
        .filter(|(name, _)| name.eq_ignore_ascii_case("set-cookie"))
        .map(|(_, value)| value.split(';').next().unwrap())
        .collect::<Vec<_>>()
        .join("; ")
}

fn hidden(page: &str, name: &str) -> String {
    let at = page
        .find(&format!("name=\"{name}\""))
        .expect("a hidden field");
    page[at..]
        .split("value=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .to_owned()
}

fn line(what: &str, value: f64, unit: &str, budget: f64) {
    let verdict = if value <= budget { "within" } else { "OVER" };
    println!("{what:<44}{value:>10.1} {unit:<4} budget {budget:>7.1} {unit:<4} {verdict}");
}

fn start() -> (Server, String, String, f64) {
    let began = Instant::now();
    let mut child = Command::new(PROGRAM)
        .args(["demo", "--speed", "1", "--bind", "127.0.0.1:0"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let out = BufReader::new(child.stdout.take().unwrap());
    let (mut host, mut pin) = (String::new(), String::new());
    for line in out.lines() {
        let line = line.unwrap();
        if let Some(url) = line.trim().strip_prefix("open") {
            host = url
                .trim()
                .trim_start_matches("http://")
                .trim_end_matches('/')
                .to_owned();
        }
        if let Some(digits) = line.trim().strip_prefix("PIN") {
            pin = digits.trim().to_owned();
            break;
        }
    }
    (
        Server(child),
        host,
        pin,
        began.elapsed().as_secs_f64() * 1000.0,
    )
}

/// A box without a trip: what `serve` needs from start to its first answer.
fn first_answer() -> f64 {
    let data = tempfile::tempdir().unwrap();
    let port = std::net::TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let host = format!("127.0.0.1:{port}");
    let began = Instant::now();
    let child = Command::new(PROGRAM)
        .args(["serve", "--log", "error", "--bind", &host, "--data"])
        .arg(data.path())
        .spawn()
        .unwrap();
    let _server = Server(child);
    loop {
        if TcpStream::connect(&host).is_ok() {
            assert_eq!(ask(&host, "GET", "/enrol", "", "").status, 200);
            return began.elapsed().as_secs_f64() * 1000.0;
        }
        assert!(
            began.elapsed() < Duration::from_secs(10),
            "the box did not start"
        );
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn memory_mb(server: &Server) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", server.0.id())).unwrap();
    let kb = status
        .lines()
        .find_map(|l| l.strip_prefix("VmRSS:"))
        .unwrap();
    kb.trim()
        .trim_end_matches(" kB")
        .trim()
        .parse::<f64>()
        .unwrap()
        / 1024.0
}

/// One live device: tells every entry it hears of with the instant.
fn device(host: &str, path: &str, cookies: &str, told: mpsc::Sender<(u64, Instant, usize)>) {
    let mut stream = TcpStream::connect(host).unwrap();
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookies}\r\n\r\n"
    )
    .unwrap();
    std::thread::spawn(move || {
        let mut named = false;
        for line in BufReader::new(stream).lines() {
            let Ok(line) = line else { return };
            named = if let Some(event) = line.strip_prefix("event: ") {
                event == "picture"
            } else {
                named
            };
            if let Some(data) = line.strip_prefix("data: ").filter(|_| named) {
                let entry = data
                    .split("\"entry\":")
                    .nth(1)
                    .and_then(|t| t.split([',', '}']).next());
                let entry = entry.and_then(|e| e.parse().ok()).unwrap_or(0);
                if told.send((entry, Instant::now(), data.len())).is_err() {
                    return;
                }
            }
        }
    });
}

fn main() {
    println!("The box, on {DEVICES} live devices and {EVENTS} events:");
    line("start to first answer", first_answer(), "ms", 300.0);
    let (server, host, pin, _) = start();
    let held = cookie(&ask(&host, "GET", "/sign-in", "", ""));
    let form = format!("name=Ilka+Voss&pin={pin}&to=%2F");
    let signed = cookie(&ask(&host, "POST", "/sign-in", &held, &form));
    let cookies = format!("{held}; {signed}");
    let home = text(&ask(&host, "GET", "/", &cookies, ""));
    let trip = home
        .split("/helm/")
        .nth(1)
        .expect("a trip")
        .split('"')
        .next()
        .unwrap()
        .to_owned();

    let page = ask(&host, "GET", &format!("/helm/{trip}"), &cookies, "");
    let html = text(&page);
    let mut whole = page.wire;
    let base = html
        .split('"')
        .find_map(|part| part.strip_suffix("/js/app.js"))
        .unwrap()
        .to_owned();
    for file in [
        "css/tokens.css",
        "css/page.css",
        "css/parts.css",
        "css/print.css",
        "icon.svg",
    ] {
        whole += ask(&host, "GET", &format!("{base}/{file}"), &cookies, "").wire;
    }
    let entry = ["js/app.js", "vendor/idiomorph.min.js"];
    let first = fetched_by(&host, &base, &cookies, &entry, &BTreeMap::new());
    let later = fetched_by(&host, &base, &cookies, &["js/going-on.js"], &first);
    let kilobytes = |files: &BTreeMap<String, usize>| files.values().sum::<usize>() as f64 / 1024.0;
    line(
        "helm page, first load, compressed",
        whole as f64 / 1024.0 + kilobytes(&first),
        "KB",
        150.0,
    );
    line("scripts of it, compressed", kilobytes(&first), "KB", 40.0);
    // Fetched when the page stands; the budget is the one that the program's own test holds.
    line("scripts for going on alone", kilobytes(&later), "KB", 48.0);
    line("memory with one trip live", memory_mb(&server), "MB", 60.0);
    line(
        "release binary",
        std::fs::metadata(PROGRAM).unwrap().len() as f64 / 1e6,
        "MB",
        25.0,
    );

    let (told, heard) = mpsc::channel();
    for _ in 0..DEVICES {
        device(
            &host,
            &format!("/api/trips/{trip}/live"),
            &cookies,
            told.clone(),
        );
    }
    let mut entry = 0;
    for _ in 0..DEVICES {
        entry = heard
            .recv_timeout(Duration::from_secs(10))
            .expect("a first picture")
            .0;
    }
    let mut delays = Vec::new();
    let mut largest = 0;
    for nth in 0..EVENTS {
        let path = format!("/helm/{trip}/conditions");
        let page = text(&ask(&host, "GET", &path, &cookies, ""));
        let (knows, form) = (hidden(&page, "knows"), hidden(&page, "form"));
        let drift = 0.3 + 0.01 * nth as f64;
        let body = format!("knows={knows}&form={form}&set_deg=285&drift_kn={drift:.2}");
        let sent = Instant::now();
        let answer = ask(&host, "POST", &path, &cookies, &body);
        assert_eq!(answer.status, 303, "{}", text(&answer));
        entry += 1;
        let mut missing = DEVICES;
        while missing > 0 {
            let (of, at, size) = heard
                .recv_timeout(Duration::from_secs(10))
                .expect("the event");
            // The first change that holds the entry counts; the clock's own changes do not.
            if of >= entry && at >= sent {
                delays.push(at.duration_since(sent).as_secs_f64() * 1000.0);
                largest = largest.max(size);
                missing -= 1;
            }
        }
    }
    delays.sort_by(f64::total_cmp);
    let p99 = delays[delays.len() * 99 / 100];
    line("event to every device, p99", p99, "ms", 150.0);
    line(
        "one live update, as sent",
        largest as f64 / 1024.0,
        "KB",
        4.0,
    );
    line("memory with 200 devices", memory_mb(&server), "MB", 100.0);
}
