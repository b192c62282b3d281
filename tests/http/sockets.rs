//! Real connections: TLS with an authority made here, a renewed pair taken under way, headers
//! that do not come, addresses that take too much, and a stop in peace.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use deckwatch::certificate::{Authority, Files, Folder, Held, Host, Looked, fingerprint};
use deckwatch::clock::Clock;
use deckwatch::trip::watch::Priority;
use deckwatch::web::certificate;
use deckwatch::web::serving::{Door, Limits, Most, serve};
use deckwatch::web::transport::Line;
use jiff::SignedDuration;
use tokio::io::{AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{CertificateError, ClientConfig, RootCertStore};

use crate::app::{App, HOST};

const NAME: &str = "boat.deckwatch.test";
/// Longest that a test waits for what should come at once.
const LONGEST: Duration = Duration::from_secs(20);

fn hosts(names: &[&str]) -> Vec<Host> {
    names.iter().map(|name| name.parse().unwrap()).collect()
}

/// A box that listens on plain HTTP and on https, by an authority of its own.
struct Running {
    app: App,
    plain: SocketAddr,
    https: SocketAddr,
    authority: Authority,
    folder: Folder,
    held: Held,
    served: JoinHandle<()>,
    _kept: tempfile::TempDir,
}

async fn running(limits: Limits) -> Running {
    let app = App::new().await.beside_https();
    let kept = tempfile::tempdir().unwrap();
    let now = Clock::system().now();
    let authority = Authority::make(&hosts(&[NAME]), now).unwrap();
    let folder = Folder::new(kept.path());
    folder.keep_authority(&authority).unwrap();
    folder.keep_leaf(&authority.sign(now).unwrap()).unwrap();
    let (held, looked) = Held::open(folder.served(), now);
    assert!(matches!(looked, Looked::Taken), "{looked:?}");
    let plain = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let https = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let at = (plain.local_addr().unwrap(), https.local_addr().unwrap());
    let doors = vec![
        Door {
            listener: plain,
            line: Line::Twin,
            tls: None,
        },
        Door {
            listener: https,
            line: Line::Tls,
            tls: Some(held.tls().unwrap().into()),
        },
    ];
    let web = app.web.clone();
    let served = tokio::spawn(async move { serve(&web, doors, limits).await });
    Running {
        app,
        plain: at.0,
        https: at.1,
        authority,
        folder,
        held,
        served,
        _kept: kept,
    }
}

/// A client that trusts these authorities and nothing else.
fn trusting(authorities: &[&str]) -> TlsConnector {
    let mut roots = RootCertStore::empty();
    for pem in authorities {
        roots
            .add(CertificateDer::from_pem_slice(pem.as_bytes()).unwrap())
            .unwrap();
    }
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    TlsConnector::from(Arc::new(config))
}

async fn connect(
    at: SocketAddr,
    trust: &TlsConnector,
    name: &'static str,
) -> std::io::Result<TlsStream<TcpStream>> {
    let stream = TcpStream::connect(at).await.unwrap();
    let name = ServerName::try_from(name).unwrap();
    timeout(LONGEST, trust.connect(name, stream)).await.unwrap()
}

fn leaf_of(stream: &TlsStream<TcpStream>) -> String {
    let (_, session) = stream.get_ref();
    fingerprint(&session.peer_certificates().unwrap()[0])
}

/// Asks on an open connection and reads one answer that says its length.
async fn ask(stream: &mut (impl AsyncRead + AsyncWrite + Unpin), host: &str, path: &str) -> String {
    let request = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\n\r\n");
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut text = String::new();
    loop {
        let mut bytes = [0; 4096];
        let read = timeout(LONGEST, stream.read(&mut bytes))
            .await
            .unwrap()
            .unwrap();
        assert_ne!(read, 0, "closed: {text}");
        text.push_str(std::str::from_utf8(&bytes[..read]).unwrap());
        let Some((head, body)) = text.split_once("\r\n\r\n") else {
            continue;
        };
        let length = head
            .lines()
            .find_map(|line| line.strip_prefix("content-length: "))
            .unwrap_or_else(|| panic!("no length: {head}"));
        if body.len() == length.parse::<usize>().unwrap() {
            return text;
        }
    }
}

/// Whether the other end closes without a word.
async fn is_dropped(stream: &mut (impl AsyncRead + Unpin)) -> bool {
    let mut rest = Vec::new();
    match timeout(LONGEST, stream.read_to_end(&mut rest))
        .await
        .unwrap()
    {
        Ok(_) => rest.is_empty() || String::from_utf8_lossy(&rest).starts_with("HTTP/1.1 408"),
        // Closed with bytes unread, or without a farewell of TLS.
        Err(error) => matches!(
            error.kind(),
            std::io::ErrorKind::ConnectionReset | std::io::ErrorKind::UnexpectedEof
        ),
    }
}

#[tokio::test]
async fn who_trusts_the_authority_and_nothing_else_reaches_the_box() {
    let run = running(Limits::default()).await;
    let trust = trusting(&[&run.authority.certificate]);
    let mut stream = connect(run.https, &trust, NAME).await.unwrap();
    let (_, session) = stream.get_ref();
    let (protocol, version) = (session.alpn_protocol(), session.protocol_version());
    assert_eq!(protocol, None, "none was asked for");
    assert!(version.is_some());
    let answer = ask(&mut stream, NAME, "/api/health").await;
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    assert!(!answer.to_lowercase().contains("strict-transport-security"));
    // The twin's host is not this listener's.
    let other = ask(&mut stream, HOST, "/api/health").await;
    assert!(other.starts_with("HTTP/1.1 421"), "{other}");
    // Another authority of the same name is another authority.
    let now = Clock::system().now();
    let stranger = Authority::make(&hosts(&[NAME]), now).unwrap();
    let refused = connect(run.https, &trusting(&[&stranger.certificate]), NAME).await;
    assert!(refused.unwrap_err().to_string().contains("UnknownIssuer"));
    // Another name than the certificate's.
    let refused = connect(run.https, &trust, "other.deckwatch.test").await;
    assert!(refused.is_err());
}

/// A checker of its own kind: what `webpki`, as rustls uses it, says of a leaf.
async fn checked(
    authority: &Authority,
    leaf_hosts: &[&str],
    name: &'static str,
) -> Result<(), String> {
    let now = Clock::system().now();
    let made = authority.sign_for(&hosts(leaf_hosts), now).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let files = Files {
        certificate: folder.path().join("certificate.pem"),
        key: folder.path().join("key.pem"),
    };
    std::fs::write(&files.certificate, &made.certificate).unwrap();
    std::fs::write(&files.key, &made.key).unwrap();
    let (held, _) = Held::open(files, now);
    let acceptor = tokio_rustls::TlsAcceptor::from(held.tls().unwrap());
    let (near, far) = tokio::io::duplex(64 * 1024);
    let server = tokio::spawn(async move { acceptor.accept(far).await.map(drop) });
    let trust = trusting(&[&authority.certificate]);
    let shaken = trust
        .connect(ServerName::try_from(name).unwrap(), near)
        .await;
    let result = shaken.map(drop).map_err(|error| error.to_string());
    // What counts is what the client says; the server may find it gone already.
    drop(server.await.unwrap());
    result
}

#[tokio::test]
async fn a_leaf_for_another_host_is_refused_though_the_authority_signed_it() {
    let now = Clock::system().now();
    let outside = format!("{:?}", CertificateError::UnknownIssuer);
    let of_name = Authority::make(&hosts(&[NAME]), now).unwrap();
    let of_address = Authority::make(&hosts(&["10.20.0.1"]), now).unwrap();
    let of_both = Authority::make(&hosts(&[NAME, "10.20.0.1"]), now).unwrap();
    let cases: [(&Authority, &[&str], &str, bool); 11] = [
        (&of_name, &[NAME], NAME, true),
        (&of_name, &["bank.test"], "bank.test", false),
        (&of_name, &[NAME, "bank.test"], NAME, false),
        // A name that only ends alike.
        (
            &of_name,
            &["notboat.deckwatch.test"],
            "notboat.deckwatch.test",
            false,
        ),
        // Kinds of names that the constraint does not permit at all.
        (&of_name, &["10.20.0.1"], "10.20.0.1", false),
        (&of_name, &["fd00::1"], "fd00::1", false),
        (&of_address, &["10.20.0.1"], "10.20.0.1", true),
        (&of_address, &["10.20.0.2"], "10.20.0.2", false),
        (&of_address, &["bank.test"], "bank.test", false),
        (&of_both, &[NAME, "10.20.0.1"], "10.20.0.1", true),
        (&of_both, &["fd00::1"], "fd00::1", false),
    ];
    for (authority, leaf, name, good) in cases {
        let result = checked(authority, leaf, name).await;
        assert_eq!(result.is_ok(), good, "{leaf:?} as {name}: {result:?}");
        if let Err(why) = result {
            // The issuer is found, and what is refused is the name.
            assert!(
                why.contains("NameConstraintViolation"),
                "{leaf:?}: {why}, not {outside}"
            );
        }
    }
}

#[tokio::test]
async fn a_renewed_pair_is_taken_under_way_and_a_broken_one_is_not() {
    let run = running(Limits::default()).await;
    let trust = || trusting(&[&run.authority.certificate]);
    let now = Clock::system().now();
    let look = || {
        // What is new is tried when it was seen twice alike.
        let first = run.held.look(now);
        assert!(matches!(first, Looked::Same), "{first:?}");
        let looked = run.held.look(now);
        certificate::tell(&run.app.web, &run.held, &looked);
        looked
    };
    let refused = || {
        run.app
            .web
            .notices()
            .all()
            .contains_key("certificate-refused")
    };
    let mut before = connect(run.https, &trust(), NAME).await.unwrap();
    let first = leaf_of(&before);
    assert!(matches!(look(), Looked::Same));

    run.folder
        .keep_leaf(&run.authority.sign(now).unwrap())
        .unwrap();
    assert!(matches!(look(), Looked::Taken));
    let second = leaf_of(&connect(run.https, &trust(), NAME).await.unwrap());
    assert_ne!(first, second);
    // Whoever was connected stays so.
    let answer = ask(&mut before, NAME, "/api/health").await;
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");

    // A certificate whose key has not come yet, one that is cut off, and none at all.
    let served = run.folder.served();
    let good = (
        std::fs::read(&served.certificate).unwrap(),
        std::fs::read(&served.key).unwrap(),
    );
    let next = run.authority.sign(now).unwrap();
    for broken in [next.certificate.as_str(), &next.certificate[..300], ""] {
        std::fs::write(&served.certificate, broken).unwrap();
        assert!(matches!(look(), Looked::Refused(_)), "{broken}");
        assert!(refused());
        let still = leaf_of(&connect(run.https, &trust(), NAME).await.unwrap());
        assert_eq!(still, second);
    }
    // Only once: the same broken pair is not tried, nor told, again.
    assert!(matches!(look(), Looked::Same));
    std::fs::remove_file(&served.key).unwrap();
    let gone = look();
    assert!(matches!(gone, Looked::Refused(_)), "{gone:?}");

    std::fs::write(&served.certificate, &good.0).unwrap();
    std::fs::write(&served.key, &good.1).unwrap();
    assert!(matches!(look(), Looked::Taken));
    assert!(!refused());
}

#[tokio::test]
async fn the_box_looks_by_itself_until_it_stops() {
    let run = running(Limits::default()).await;
    let (web, served) = (run.app.web.clone(), run.folder.served());
    let mut changed = web.notices().changed();
    let every = Duration::from_millis(10);
    let keeping = tokio::spawn(certificate::keep(web.clone(), run.held.clone(), every));
    let refused = || web.notices().all().contains_key("certificate-refused");
    let good = std::fs::read(&served.certificate).unwrap();
    std::fs::write(&served.certificate, "none").unwrap();
    let told = changed.wait_for(|_| refused());
    timeout(LONGEST, told).await.unwrap().unwrap();
    std::fs::write(&served.certificate, good).unwrap();
    let told = changed.wait_for(|_| !refused());
    timeout(LONGEST, told).await.unwrap().unwrap();
    web.closing().cancel();
    timeout(LONGEST, keeping).await.unwrap().unwrap();
}

#[tokio::test]
async fn a_new_pair_that_has_ended_does_not_take_the_place_of_one_that_holds() {
    let run = running(Limits::default()).await;
    let now = Clock::system().now();
    // As a client with a clock two years behind would make it.
    let past = now - SignedDuration::from_hours(24 * 730);
    let old = Authority::make(&hosts(&[NAME]), past)
        .unwrap()
        .sign(past)
        .unwrap();
    run.folder.keep_leaf(&old).unwrap();
    assert!(matches!(run.held.look(now), Looked::Same));
    let looked = run.held.look(now);
    assert!(matches!(looked, Looked::Refused(_)), "{looked:?}");
}

#[tokio::test]
async fn a_box_without_a_good_pair_starts_and_takes_it_when_it_comes() {
    let app = App::new().await;
    let kept = tempfile::tempdir().unwrap();
    let now = Clock::system().now();
    let folder = Folder::new(kept.path().join("none"));
    let (held, looked) = Held::open(folder.served(), now);
    certificate::tell(&app.web, &held, &looked);
    let missing = &app.web.notices().all()["certificate-missing"];
    assert_eq!(missing.priority, Priority::Alarm);
    let authority = Authority::make(&hosts(&[NAME]), now).unwrap();
    folder.keep_authority(&authority).unwrap();
    folder.keep_leaf(&authority.sign(now).unwrap()).unwrap();
    assert!(matches!(held.look(now), Looked::Same));
    let looked = held.look(now);
    assert!(matches!(looked, Looked::Taken), "{looked:?}");
    // The clock of the box stands a little before the certificate begins, and that is told.
    certificate::tell(&app.web, &held, &looked);
    let all = app.web.notices().all();
    assert!(all.contains_key("certificate-not-yet"), "{all:?}");
}

#[tokio::test]
async fn fourteen_days_before_the_end_and_seven_and_at_the_end_the_box_says_so() {
    let app = App::new().await;
    let kept = tempfile::tempdir().unwrap();
    let folder = Folder::new(kept.path());
    let authority = Authority::make(&hosts(&[NAME]), app.clock.now()).unwrap();
    folder.keep_authority(&authority).unwrap();
    folder
        .keep_leaf(&authority.sign(app.clock.now()).unwrap())
        .unwrap();
    let (held, looked) = Held::open(folder.served(), app.clock.now());
    certificate::tell(&app.web, &held, &looked);
    let ends = held.facts().unwrap().ends;
    let day = SignedDuration::from_hours(24);
    let told = |left: SignedDuration| {
        app.clock.tie(ends - left, true);
        certificate::tell(&app.web, &held, &held.look(app.clock.now()));
        let all = app.web.notices().all();
        all.into_iter()
            .next()
            .map(|(about, notice)| (about, notice.priority, notice.args.get("days").cloned()))
    };
    assert_eq!(told(day * 15), None);
    let soon = |priority, days: &str| Some(("certificate", priority, Some(days.to_owned())));
    assert_eq!(told(day * 14), soon(Priority::Caution, "14"));
    assert_eq!(told(day * 7), soon(Priority::Warning, "7"));
    let second = SignedDuration::from_secs(1);
    assert_eq!(told(second), soon(Priority::Warning, "0"));
    assert_eq!(
        told(-second),
        Some(("certificate-ended", Priority::Alarm, None))
    );
    // Renewed, with the box's clock as it stands now.
    folder
        .keep_leaf(&authority.sign(app.clock.now()).unwrap())
        .unwrap();
    assert_eq!(
        told(-second),
        Some(("certificate-ended", Priority::Alarm, None))
    );
    assert_eq!(told(-second), None, "seen twice, and taken");
}

#[tokio::test]
async fn half_a_header_is_dropped_and_so_is_half_a_handshake() {
    let header = Duration::from_millis(300);
    let run = running(Limits {
        header,
        ..Limits::default()
    })
    .await;
    let clock = Clock::system();
    let begun_ms = clock.uptime_ms();
    let mut half = TcpStream::connect(run.plain).await.unwrap();
    half.write_all(b"GET / HTTP/1.1\r\nHost: deck")
        .await
        .unwrap();
    assert!(is_dropped(&mut half).await);
    let took_ms = clock.uptime_ms() - begun_ms;
    assert!(took_ms >= 270, "dropped after {took_ms} ms");
    let mut silent = TcpStream::connect(run.plain).await.unwrap();
    assert!(is_dropped(&mut silent).await);
    // The first bytes of a handshake record, and no more.
    let mut half = TcpStream::connect(run.https).await.unwrap();
    half.write_all(&[0x16, 0x03, 0x01, 0x02]).await.unwrap();
    assert!(is_dropped(&mut half).await);
    // A whole handshake, and then half a header.
    let trust = trusting(&[&run.authority.certificate]);
    let mut stream = connect(run.https, &trust, NAME).await.unwrap();
    stream.write_all(b"GET / HTTP/1.1\r\n").await.unwrap();
    assert!(is_dropped(&mut stream).await);
    // Whoever speaks is answered.
    let mut stream = TcpStream::connect(run.plain).await.unwrap();
    let answer = ask(&mut stream, HOST, "/api/health").await;
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}

#[tokio::test]
async fn an_address_that_nobody_signed_in_from_gets_few_connections() {
    let most = Most {
        per_stranger: 2,
        spares_this_machine: false,
        ..Most::default()
    };
    let run = running(Limits {
        most,
        ..Limits::default()
    })
    .await;
    let mut first = TcpStream::connect(run.plain).await.unwrap();
    let mut second = TcpStream::connect(run.plain).await.unwrap();
    ask(&mut first, HOST, "/api/health").await;
    ask(&mut second, HOST, "/api/health").await;
    let mut third = TcpStream::connect(run.plain).await.unwrap();
    assert!(is_dropped(&mut third).await);
    // Once crew signed in from there it gets more.
    let request = format!(
        "GET / HTTP/1.1\r\nHost: {HOST}\r\nCookie: {}\r\n\r\n",
        run.app.helm.cookie
    );
    first.write_all(request.as_bytes()).await.unwrap();
    let mut bytes = [0; 64];
    let read = timeout(LONGEST, first.read(&mut bytes))
        .await
        .unwrap()
        .unwrap();
    assert!(bytes[..read].starts_with(b"HTTP/1.1 200"));
    let mut third = TcpStream::connect(run.plain).await.unwrap();
    ask(&mut third, HOST, "/api/health").await;
}

#[tokio::test]
async fn a_stop_ends_open_streams_over_both_and_lets_nobody_wait() {
    let run = running(Limits::default()).await;
    let trip = run.app.trip().await;
    let trust = trusting(&[&run.authority.certificate]);
    let tls = connect(run.https, &trust, NAME).await.unwrap();
    let mut idle = TcpStream::connect(run.plain).await.unwrap();
    ask(&mut idle, HOST, "/api/health").await;
    let mut stream = TcpStream::connect(run.plain).await.unwrap();
    let request = format!(
        "GET /api/trips/{}/live HTTP/1.1\r\nHost: {HOST}\r\nCookie: {}\r\n\r\n",
        trip.id, run.app.helm.cookie
    );
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut bytes = [0; 4096];
    let read = timeout(LONGEST, stream.read(&mut bytes))
        .await
        .unwrap()
        .unwrap();
    assert!(bytes[..read].starts_with(b"HTTP/1.1 200"));
    run.app.closing.cancel();
    let mut rest = Vec::new();
    timeout(LONGEST, stream.read_to_end(&mut rest))
        .await
        .unwrap()
        .unwrap();
    assert!(rest.ends_with(b"0\r\n\r\n"), "the stream is ended, not cut");
    timeout(LONGEST, run.served).await.unwrap().unwrap();
    drop((tls, idle));
}
