//! `backup`, `restore` and `check` as commands: of a box that is being served and written to,
//! into a fresh folder that is served then.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use deckwatch::clock::Clock;
use deckwatch::store::Store;
use deckwatch::store::register::{Contact, Person};
use deckwatch::trip::PersonId;
use deckwatch::trip::event::Fitness;

use crate::commands::{at, filled, good, text};

/// `deckwatch serve`, ended at the end.
pub struct Served {
    child: Child,
    address: String,
}

impl Served {
    pub fn of(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_deckwatch"))
            .args(["serve", "--bind", "127.0.0.1:0", "--data"])
            .arg(folder)
            .env_clear()
            .env("NO_COLOR", "1")
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
        let address = loop {
            let line = lines.next().unwrap().unwrap();
            if let Some((_, rest)) = line.split_once("address=") {
                break rest.split_whitespace().next().unwrap().to_owned();
            }
        };
        // What it says later must have somewhere to go.
        std::thread::spawn(move || lines.for_each(drop));
        Self { child, address }
    }

    /// An answer, head and body, to a request with these cookies; a form, if it has fields.
    pub fn ask(&self, path: &str, cookies: &str, form: &[(&str, &str)]) -> String {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        let address = &self.address;
        let body = form_urlencoded::Serializer::new(String::new())
            .extend_pairs(form)
            .finish();
        let method = if form.is_empty() { "GET" } else { "POST" };
        let asked = format!(
            "{method} {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\n\
             Cookie: {cookies}\r\nConnection: close\r\nContent-Length: {}\r\n\
             Content-Type: application/x-www-form-urlencoded\r\n\r\n{body}",
            body.len()
        );
        stream.write_all(asked.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    fn health(&self) -> String {
        self.ask("/api/health", "", &[])
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

pub fn word(told: &str, before: &str) -> String {
    let rest = told.split_once(before).unwrap().1;
    rest.lines().next().unwrap().to_owned()
}

#[tokio::test]
async fn a_box_that_is_served_is_backed_up_and_served_again_out_of_the_backup() {
    let folder = tempfile::tempdir().unwrap();
    let trip = filled(folder.path()).await.to_string();
    let to = tempfile::tempdir().unwrap();
    let to_text = to.path().to_str().unwrap();
    let served = Served::of(folder.path());
    let made = at(folder.path(), &["backup", to_text], "");
    let told = good(&made).to_owned();
    let backup = PathBuf::from(word(&told, "backup "));
    assert!(backup.starts_with(to.path()) && backup.is_file(), "{told}");
    assert!(told.contains("1 trips, 1 entries, proof "), "{told}");
    assert!(served.health().contains("\"ok\":true"));
    // Nothing that writes gets in meanwhile.
    let from = backup.to_str().unwrap();
    let refused = at(folder.path(), &["restore", from, "--replace"], "");
    assert_eq!(refused.status.code(), Some(1));
    assert!(text(&refused.stderr).contains("another Deckwatch"));
    drop(served);

    let fresh = tempfile::tempdir().unwrap();
    let restored = at(fresh.path(), &["restore", from], "");
    assert_eq!(word(good(&restored), "proof "), word(&told, "proof "));
    let again = Served::of(fresh.path());
    assert!(again.health().contains("\"storing\":true"));
    drop(again);
    assert_eq!(
        good(&at(fresh.path(), &["export", &trip], "")),
        good(&at(folder.path(), &["export", &trip], "")),
    );
    let checked = at(fresh.path(), &["check", "--backup-to", to_text], "");
    assert!(
        good(&checked).contains("1 backups, the last one "),
        "{checked:?}"
    );
    assert!(good(&checked).contains("(0 h 0 min old)"), "{checked:?}");
}

#[tokio::test]
async fn a_restore_elsewhere_says_that_it_needs_the_key_and_takes_it() {
    let folder = tempfile::tempdir().unwrap();
    filled(folder.path()).await;
    let store = Store::open(folder.path(), Clock::system()).await.unwrap();
    let person = Person {
        id: PersonId::new(uuid::Uuid::from_u128(1)),
        name: "Bo Reed".to_owned(),
        level: String::new(),
        depth_limit: None,
        last_dive: None,
        fitness: Fitness::Cleared,
        breathing: None,
        born: None,
        archived: false,
    };
    let contact = Contact {
        name: "Ada Moor".to_owned(),
        relation: "sister".to_owned(),
        telephone: "1".to_owned(),
    };
    store.save_person(&person).await.unwrap();
    store.save_contact(person.id, &contact).await.unwrap();
    store.close().await.unwrap();
    let to = tempfile::tempdir().unwrap();
    let made = at(
        folder.path(),
        &["backup", to.path().to_str().unwrap(), "--with-key"],
        "",
    );
    let backup = word(good(&made), "backup ");
    let told = word(good(&made), "key ");
    let key = told.split_once(':').unwrap().0;

    let without = tempfile::tempdir().unwrap();
    let restored = at(without.path(), &["restore", &backup], "");
    assert!(
        good(&restored).contains("CONTACTS CANNOT BE OPENED"),
        "{restored:?}"
    );
    let fresh = tempfile::tempdir().unwrap();
    let restored = at(fresh.path(), &["restore", &backup, "--key", key], "");
    assert!(good(&restored).contains("contacts: the key file opens them"));
    let store = Store::open(fresh.path(), Clock::system()).await.unwrap();
    assert_eq!(store.contact(person.id).await.unwrap(), Some(contact));
    store.close().await.unwrap();
}

#[test]
fn a_restore_of_something_else_says_so_and_makes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let letter = folder.path().join("letter.db");
    std::fs::write(&letter, "Dear harbour master").unwrap();
    let place = folder.path().join("data");
    let refused = at(&place, &["restore", letter.to_str().unwrap()], "");
    assert_eq!(refused.status.code(), Some(1));
    assert!(
        text(&refused.stderr).contains("no backup of Deckwatch"),
        "{refused:?}"
    );
    assert!(!place.join("deckwatch.db").exists());
}

/// What is planted for tests is in no release: that one is looked through where it was built.
#[test]
fn a_release_knows_of_no_planted_fault() {
    let own = Path::new(env!("CARGO_BIN_EXE_deckwatch"));
    let named = |path: &Path| {
        let bytes = std::fs::read(path).unwrap();
        bytes.windows(15).any(|window| window == b"DECKWATCH_PLANT")
    };
    assert_eq!(
        named(own),
        cfg!(debug_assertions),
        "the search finds it where it is"
    );
    let release = own
        .parent()
        .unwrap()
        .with_file_name("release")
        .join("deckwatch");
    if release.is_file() {
        assert!(!named(&release), "{}", release.display());
    } else {
        eprintln!(
            "NOT LOOKED THROUGH: no release was built at {}",
            release.display()
        );
    }
}
