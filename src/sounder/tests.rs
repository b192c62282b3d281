//! A sounder of shell scripts and of a socket: what each is told, how it fails and is ended.

use super::*;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpListener;
use std::path::Path;

fn clock() -> Clock {
    Clock::fixed("2026-06-01T10:00:00Z".parse().unwrap())
}

fn order(word: Word) -> Order {
    Order {
        word,
        priority: Some("alarm".to_owned()),
        alerts: vec!["Overdue: Delta".to_owned(), "a;b $(touch x)".to_owned()],
        at: clock().now(),
    }
}

/// A program of one line of shell, that stands in for a horn.
fn shell(line: &str) -> Output {
    Output::Command(vec!["sh".to_owned(), "-c".to_owned(), line.to_owned()])
}

/// Real time since something began.
struct Begun(u64);

impl Begun {
    fn now() -> Self {
        Self(Clock::system().uptime_ms())
    }

    fn elapsed(&self) -> Duration {
        Duration::from_millis(Clock::system().uptime_ms() - self.0)
    }
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_default()
}

#[test]
fn a_command_is_split_as_typed_and_an_address_is_one() {
    let split = Output::command("/bin/horn --name 'deck horn' \"$HOME\"").unwrap();
    let words = ["/bin/horn", "--name", "deck horn", "$HOME"];
    assert_eq!(split, Output::Command(words.map(str::to_owned).to_vec()));
    for text in ["", "   ", "'unclosed", "''"] {
        assert!(Output::command(text).is_err(), "{text}");
    }
    assert!(Output::hook("http://10.20.0.9/horn?on").is_ok());
    for text in [
        "ftp://x/",
        "https://10.20.0.9/horn",
        "http://",
        "http:///x",
        "10.20.0.9",
        "http://a b/",
    ] {
        assert!(Output::hook(text).is_err(), "{text}");
    }
}

#[tokio::test]
async fn a_program_is_told_by_its_environment_and_its_input_and_no_shell_reads_it() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join("told");
    let line = format!(
        "cd {} && printf '%s|%s|%s|' \"$DECKWATCH_SOUNDER\" \"$DECKWATCH_PRIORITY\" \"$DECKWATCH_ALERTS\" > told && cat >> told",
        folder.path().display()
    );
    attempt(&shell(&line), &order(Word::On)).await.unwrap();
    let told = read(&at);
    let (before, document) = told.rsplit_once('|').unwrap();
    assert_eq!(before, "on|alarm|Overdue: Delta\na;b $(touch x)");
    let document: Order = serde_json::from_str(document).unwrap();
    assert_eq!(document, order(Word::On));
    assert!(!folder.path().join("x").exists());
}

#[tokio::test]
async fn what_fails_says_why() {
    let failed = attempt(&shell("echo no relay >&2; exit 3"), &order(Word::On)).await;
    let why = failed.unwrap_err();
    assert!(why.contains('3') && why.contains("no relay"), "{why}");
    let missing = Output::Command(vec!["/nowhere/horn".to_owned()]);
    let why = attempt(&missing, &order(Word::On)).await.unwrap_err();
    assert!(why.contains("/nowhere/horn could not be started"), "{why}");
}

#[tokio::test]
async fn a_program_that_hangs_is_ended_with_what_it_started() {
    let folder = tempfile::tempdir().unwrap();
    let pid = folder.path().join("pid");
    let line = format!("sleep 600 & echo $! > {}; wait", pid.display());
    let begun = Begun::now();
    let why = attempt(&shell(&line), &order(Word::On)).await.unwrap_err();
    assert!(why.contains("was ended"), "{why}");
    assert!(begun.elapsed() < LIMIT + Duration::from_secs(3));
    let child = read(&pid).trim().to_owned();
    // A kill is taken note of when the machine gets to it.
    let stat = format!("/proc/{child}/stat");
    let mut state = read(Path::new(&stat));
    for _ in 0..50 {
        if state.is_empty() || state.contains(") Z ") {
            return;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
        state = read(Path::new(&stat));
    }
    panic!("still runs: {state}");
}

#[tokio::test]
async fn what_a_program_leaves_playing_plays_on() {
    let folder = tempfile::tempdir().unwrap();
    let pid = folder.path().join("pid");
    // It keeps the stderr that it was given, as a player does.
    let line = format!("sleep 30 & echo $! > {}", pid.display());
    let begun = Begun::now();
    attempt(&shell(&line), &order(Word::On)).await.unwrap();
    assert!(begun.elapsed() < Duration::from_secs(5));
    let child = read(&pid).trim().to_owned();
    let stat = format!("/proc/{child}/stat");
    // The shell may have ended before what it left has become the player.
    while begun.elapsed() < Duration::from_secs(20) && read(Path::new(&stat)).contains("(sh)") {
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
    let state = read(Path::new(&stat));
    assert!(
        state.contains("(sleep)") && !state.contains(") Z "),
        "{state}"
    );
    let ended = std::process::Command::new("kill").arg(&child).status();
    assert!(ended.unwrap().success());
}

#[tokio::test]
async fn a_hook_gets_the_document_and_its_refusal_is_a_failure() {
    for (answer, is_told) in [
        ("HTTP/1.1 204 No Content\r\n\r\n", true),
        ("HTTP/1.1 500 Broken\r\nContent-Length: 0\r\n\r\n", false),
    ] {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = format!("http://{}/horn", listener.local_addr().unwrap());
        let heard = std::thread::spawn(move || {
            let (stream, _) = listener.accept().unwrap();
            let mut reader = BufReader::new(stream);
            let mut length = 0;
            let mut head = String::new();
            loop {
                let mut line = String::new();
                reader.read_line(&mut line).unwrap();
                if let Some(text) = line.to_lowercase().strip_prefix("content-length:") {
                    length = text.trim().parse().unwrap();
                }
                if line.trim().is_empty() {
                    break;
                }
                head.push_str(&line);
            }
            let mut body = vec![0; length];
            reader.read_exact(&mut body).unwrap();
            reader.get_mut().write_all(answer.as_bytes()).unwrap();
            (head, String::from_utf8(body).unwrap())
        });
        let told = attempt(&Output::hook(&address).unwrap(), &order(Word::Once)).await;
        assert_eq!(told.is_ok(), is_told, "{told:?}");
        let (head, body) = heard.join().unwrap();
        assert!(head.starts_with("POST /horn HTTP/1.1"), "{head}");
        let document: Order = serde_json::from_str(&body).unwrap();
        assert_eq!(document, order(Word::Once));
    }
}

#[tokio::test]
async fn what_fails_is_tried_again_until_it_succeeds_and_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log");
    // Fails twice, then works.
    let line = format!(
        "echo x >> {0}; test $(wc -l < {0}) -gt 2 || exit 1",
        log.display()
    );
    let sounder = Sounder::new(clock(), vec![shell(&line)]);
    sounder.tell(&order(Word::On));
    let begun = Begun::now();
    loop {
        let record = sounder.records().remove(0);
        if record.succeeded_at.is_some() {
            assert_eq!(record.attempts.len(), 3);
            assert!(!record.fails());
            assert!(record.failed.is_some(), "the failures are not forgotten");
            // Half a second, then a whole one.
            assert!(begun.elapsed() >= Duration::from_millis(1_450));
            break;
        }
        assert!(begun.elapsed() < Duration::from_secs(20), "{record:?}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test]
async fn a_newer_word_is_not_held_up_by_one_that_fails() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log");
    let line = format!(
        "echo $DECKWATCH_SOUNDER >> {}; test $DECKWATCH_SOUNDER = off",
        log.display()
    );
    let sounder = Sounder::new(clock(), vec![shell(&line)]);
    sounder.tell(&order(Word::On));
    let begun = Begun::now();
    while read(&log).is_empty() {
        tokio::time::sleep(Duration::from_millis(10)).await;
        assert!(begun.elapsed() < Duration::from_secs(20));
    }
    sounder.tell(&order(Word::Off));
    while !read(&log).ends_with("off\n") {
        tokio::time::sleep(Duration::from_millis(10)).await;
        assert!(begun.elapsed() < Duration::from_secs(20));
    }
    let trial = sounder.try_out().await;
    assert!(trial[0].1.is_err(), "a trial is tried once: {trial:?}");
}
