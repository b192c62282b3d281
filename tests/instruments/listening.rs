//! What comes in over TCP and UDP: the good is used, the rest is counted with its reason, and a
//! source that fails is tried again.

use std::collections::BTreeMap;
use std::net::SocketAddr;

use deckwatch::clock::Clock;
use deckwatch::instruments::{Instruments, LONGEST, Link, Received};
use deckwatch::sea::position::Position;
use jiff::{SignedDuration, Timestamp};
use tokio::net::UdpSocket;
use tokio_util::sync::CancellationToken;

use crate::player::{Player, fix, play, sealed, until};

/// A minute of an invented boat adrift: it lies at 45° N, 30° W at ten o'clock on 1 June 2026 and
/// goes to 118° at 1.2 knots. Mixed in are three changed digits, two cut lines, one that breaks
/// off in the middle, three seconds of a date of 2006 and two without a fix.
const TRACK: &str = include_str!("track.nmea");

/// Sends one datagram.
async fn cast(to: SocketAddr, bytes: impl AsRef<[u8]>) {
    let socket = UdpSocket::bind("127.0.0.1:0").await.unwrap();
    socket.send_to(bytes.as_ref(), to).await.unwrap();
}

/// Where datagrams are listened for, once they are.
async fn listening(instruments: &Instruments) -> SocketAddr {
    let at = |received: &Received| match received.inputs().last().map(|input| &input.link) {
        Some(Link::Listening { at }) => Some(*at),
        _ => None,
    };
    let received = until(instruments, |received| at(received).is_some()).await;
    at(&received).unwrap()
}

fn ten() -> Timestamp {
    "2026-06-01T10:00:00Z".parse().unwrap()
}

fn instruments() -> (Instruments, Clock, CancellationToken) {
    let clock = Clock::fixed(ten());
    let own = Instruments::new(clock.clone());
    (own, clock, CancellationToken::new())
}

fn refused(received: &Received) -> BTreeMap<&'static str, u64> {
    let counts = received.refused();
    counts
        .map(|(why, tally)| (why.word(), tally.count))
        .collect()
}

/// Whether the fix lies so many minutes of latitude beyond 45° N.
fn is_at(received: &Received, minutes: f64) -> bool {
    received
        .fix()
        .is_some_and(|fix| (fix.position.lat_deg() - 45.0 - minutes / 60.0).abs() < 1e-9)
}

/// Where the track ends after its 59 seconds: by hand 1.2 kn x 59 s = 36.4 m to 118°.
fn assert_ends_right(received: &Received) {
    let begun = Position::from_degrees(-30.0, 45.0).unwrap();
    let ended = received.fix().unwrap().position;
    assert!((begun.distance_m(ended) - 36.4).abs() < 0.5);
    assert!((begun.bearing_deg(ended) - 118.0).abs() < 0.5);
}

/// What the track's faults come to: the changed digits; the cut lines (the one that broke off
/// before another is read from there); of the wrong date three sentences in each of its three
/// seconds, of no fix three in each of its two.
fn faults_of_the_track() -> BTreeMap<&'static str, u64> {
    BTreeMap::from([
        ("checksum", 3),
        ("cut-short", 2),
        ("date-off", 9),
        ("no-fix", 6),
    ])
}

#[tokio::test]
async fn a_track_over_tcp_is_followed_and_its_faults_are_counted() {
    let (own, _, closing) = instruments();
    let player = Player::start().await;
    own.listen(player.source(), closing.clone());
    let mut stream = player.listener().await;
    // However the network cuts it.
    for part in TRACK.as_bytes().chunks(37) {
        play(&mut stream, part).await;
    }
    let lines = TRACK.lines().count();
    let received = until(&own, |r| taken(r) == lines as u64).await;
    assert_ends_right(&received);
    assert_eq!(refused(&received), faults_of_the_track());
    closing.cancel();
}

#[tokio::test]
async fn a_track_over_udp_is_followed_and_its_faults_are_counted() {
    let (own, _, closing) = instruments();
    own.listen("udp://127.0.0.1:0".parse().unwrap(), closing.clone());
    let to = listening(&own).await;
    let lines: Vec<&str> = TRACK.lines().collect();
    let datagrams = lines.chunks(5).count();
    for (nth, lines) in lines.chunks(5).enumerate() {
        // Without an end of the last line: a datagram ends its sentence too.
        cast(to, lines.join("\r\n")).await;
        if nth + 1 < datagrams {
            // Each before the next, lest the system's buffer drops one.
            let so_far = (nth + 1) * 5;
            until(&own, |r| taken(r) >= so_far as u64).await;
        }
    }
    let received = until(&own, |r| taken(r) == lines.len() as u64).await;
    assert_ends_right(&received);
    assert_eq!(refused(&received), faults_of_the_track());
    closing.cancel();
}

/// How many lines were taken in.
fn taken(received: &Received) -> u64 {
    let heard: u64 = received.heard().map(|(_, tally)| tally.count).sum();
    heard + refused(received).values().sum::<u64>()
}

#[tokio::test]
async fn a_flood_of_noise_is_told_and_the_next_fix_is_used() {
    let (own, _, closing) = instruments();
    let player = Player::start().await;
    own.listen(player.source(), closing.clone());
    let mut stream = player.listener().await;
    for _ in 0..200 {
        play(&mut stream, [b'x'; 5_000]).await;
    }
    play(&mut stream, [0xff; 100]).await;
    play(&mut stream, "\r\n").await;
    play(&mut stream, [0xff, 0x00, b'\n']).await;
    play(&mut stream, format!("${}\n", "A".repeat(2 * LONGEST))).await;
    play(&mut stream, fix(0.5)).await;
    let received = until(&own, |r| is_at(r, 0.5)).await;
    let expected = BTreeMap::from([("too-long", 2), ("not-text", 1)]);
    assert_eq!(refused(&received), expected);
    closing.cancel();
}

#[tokio::test]
async fn a_connection_that_breaks_is_made_again_and_half_a_sentence_is_not_made_whole() {
    let (own, clock, closing) = instruments();
    let player = Player::start().await;
    own.listen(player.source(), closing.clone());
    let mut stream = player.listener().await;
    play(&mut stream, fix(0.1)).await;
    until(&own, |r| is_at(r, 0.1)).await;
    let whole = fix(0.2);
    let (half, rest) = whole.split_at(30);
    play(&mut stream, half).await;
    drop(stream);
    let failed = |r: &Received| matches!(r.inputs()[0].link, Link::Failed { .. });
    until(&own, failed).await;
    let mut stream = player.listener().await;
    play(&mut stream, rest).await;
    clock.advance(SignedDuration::from_secs(30));
    play(&mut stream, fix(0.3)).await;
    let received = until(&own, |r| is_at(r, 0.3)).await;
    assert_eq!(refused(&received), BTreeMap::from([("cut-short", 1)]));
    assert_eq!(received.fix().unwrap().at, clock.now());
    closing.cancel();
}

#[tokio::test]
async fn who_cannot_be_reached_is_told_with_the_systems_words() {
    let (own, _, closing) = instruments();
    let gone = Player::start().await.source();
    own.listen(gone, closing.clone());
    own.listen(
        "serial:///dev/no-such-line".parse().unwrap(),
        closing.clone(),
    );
    let failed = |r: &Received, nth: usize| {
        let link = &r.inputs()[nth].link;
        matches!(link, Link::Failed { why } if !why.is_empty())
    };
    until(&own, |r| failed(r, 0)).await;
    until(&own, |r| failed(r, 1)).await;
    closing.cancel();
}

#[tokio::test]
async fn bursts_of_a_beacon_add_up() {
    let (own, _, closing) = instruments();
    let player = Player::start().await;
    own.listen(player.source(), closing.clone());
    let mut stream = player.listener().await;
    // Made-up identity, generated with pyais 3.3.1: text first, then place.
    play(&mut stream, sealed("AIVDM,1,1,,A,>>O5e@0lt:04=@UHD,2")).await;
    play(
        &mut stream,
        sealed("AIVDM,1,1,,B,1>O5e@>P08RM4OH?rUR4W?vcP000,0"),
    )
    .await;
    let received = until(&own, |r| r.bursts() == 2).await;
    let says = received.beacons().next().unwrap().says();
    assert_eq!(says.identity, "972123456");
    assert_eq!(says.text.as_deref(), Some("MOB ACTIVE"));
    assert!(says.place.is_some() && !says.test && !says.place_is_last);
    closing.cancel();
}

#[cfg(target_os = "linux")]
#[tokio::test]
async fn a_serial_line_is_read() {
    use std::io::Write as _;

    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

    let (own, _, closing) = instruments();
    // A line with a receiver at its other end.
    let receiver = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&receiver).unwrap();
    unlockpt(&receiver).unwrap();
    let path = ptsname(&receiver, Vec::new()).unwrap();
    let source = format!("serial://{}?baud=38400", path.to_str().unwrap());
    own.listen(source.parse().unwrap(), closing.clone());
    until(&own, |r| r.inputs()[0].link == Link::Open).await;
    let mut receiver = std::fs::File::from(receiver);
    receiver.write_all(fix(0.4).as_bytes()).unwrap();
    until(&own, |r| is_at(r, 0.4)).await;
    closing.cancel();
}
