//! The clock: the only reader of time and the only maker of ids and secrets.
//!
//! Three clocks share one face: the system's, a fixed one that tests set, and that of a
//! drill, which starts at an instant of its own and may run faster than life.
//!
//! What they show is the *trip clock*: an anchor, and what the machine's uptime has run on since,
//! suspend included. Setting the wall clock moves nothing; only a new anchor does, which somebody
//! or something answers for.

use std::sync::Arc;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use tokio::sync::watch;
use uuid::Uuid;

/// Longest sleep before the clock is read again: a long timer does not notice that the
/// machine was suspended or that its wall clock was set.
const SLICE: Duration = Duration::from_millis(250);

/// A clock; cheap to clone, every clone tells the same time.
#[derive(Debug, Clone)]
pub struct Clock(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    kind: Kind,
    boot: Uuid,
    anchor: watch::Sender<Anchor>,
}

#[derive(Debug)]
enum Kind {
    System,
    Fixed(watch::Sender<Reading>),
    /// With the machine's own wall and uptime when it started.
    Drill(Drill, Reading),
}

/// What ties the uptime of a boot to the time of day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Anchor {
    /// The instant.
    pub at: Timestamp,
    /// The uptime then, milliseconds.
    pub uptime_ms: u64,
    /// Whether the instant may be relied on: else nothing is judged to be in time by it.
    pub confirmed: bool,
}

impl Anchor {
    fn shows(&self, uptime_ms: u64) -> Timestamp {
        let run = i128::from(uptime_ms) - i128::from(self.uptime_ms);
        let run = SignedDuration::from_millis(i64::try_from(run).unwrap_or(i64::MAX));
        // Beyond the calendar's end the clock stands still.
        self.at.saturating_add(run).unwrap_or(Timestamp::MAX)
    }
}

#[derive(Debug, Clone, Copy)]
struct Reading {
    wall: Timestamp,
    uptime_ms: u64,
}

/// Where a drill starts and how fast its time runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drill {
    /// The real instant at which it started.
    started: Timestamp,
    /// What its own clock showed then.
    showed: Timestamp,
    speed: f64,
}

/// A drill's speed that is no finite number above 0 and at most 1,000.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a drill runs at a speed above 0 and at most 1000 times life, not {0}")]
pub struct NoSuchSpeed(f64);

impl Drill {
    /// A drill whose clock showed `drill_origin` when the real one showed `real_origin`, and
    /// which since runs `speed` times as fast.
    ///
    /// # Errors
    /// [`NoSuchSpeed`] unless `0 < speed <= 1000`.
    pub fn new(
        real_origin: Timestamp,
        drill_origin: Timestamp,
        speed: f64,
    ) -> Result<Self, NoSuchSpeed> {
        if speed.is_finite() && speed > 0.0 && speed <= 1_000.0 {
            Ok(Self {
                started: real_origin,
                showed: drill_origin,
                speed,
            })
        } else {
            Err(NoSuchSpeed(speed))
        }
    }

    fn at(&self, real: Timestamp) -> Timestamp {
        let real_s = real.duration_since(self.started).as_secs_f64();
        SignedDuration::try_from_secs_f64(real_s * self.speed)
            .ok()
            .and_then(|run| self.showed.checked_add(run).ok())
            // Beyond the calendar's end the drill's clock stands still.
            .unwrap_or(if real_s < 0.0 {
                Timestamp::MIN
            } else {
                Timestamp::MAX
            })
    }
}

impl Clock {
    /// Starts out from what the wall shows.
    fn of(kind: Kind, boot: Uuid) -> Self {
        let anchor = Anchor {
            at: wall_of(&kind),
            uptime_ms: uptime_of(&kind),
            confirmed: true,
        };
        let (anchor, _) = watch::channel(anchor);
        Self(Arc::new(Inner { kind, boot, anchor }))
    }

    /// The machine's own clock.
    #[must_use]
    pub fn system() -> Self {
        Self::of(Kind::System, machine_boot())
    }

    /// A clock that stands at `wall` until it is moved; its uptime starts at 0.
    #[must_use]
    pub fn fixed(wall: Timestamp) -> Self {
        let (now, _) = watch::channel(Reading { wall, uptime_ms: 0 });
        Self::of(Kind::Fixed(now), Uuid::from_u128(1))
    }

    /// The clock of a drill.
    #[must_use]
    pub fn drill(drill: Drill) -> Self {
        let started = Reading {
            wall: real_now(),
            uptime_ms: real_uptime_ms(),
        };
        Self::of(Kind::Drill(drill, started), machine_boot())
    }

    /// The present instant by the trip clock.
    #[must_use]
    pub fn now(&self) -> Timestamp {
        self.0.anchor.borrow().shows(self.uptime_ms())
    }

    /// What the wall clock shows, right or wrong: the one that people and programs set.
    #[must_use]
    pub fn wall(&self) -> Timestamp {
        wall_of(&self.0.kind)
    }

    /// The time that other devices can compare theirs with: the trip clock's, and in a drill what
    /// it would show in earnest.
    #[must_use]
    pub fn for_comparing(&self) -> Timestamp {
        match &self.0.kind {
            Kind::System | Kind::Fixed(_) => self.now(),
            Kind::Drill(_, started) => {
                let run = real_uptime_ms().saturating_sub(started.uptime_ms);
                let run = SignedDuration::from_millis(i64::try_from(run).unwrap_or(i64::MAX));
                started.wall.saturating_add(run).unwrap_or(Timestamp::MAX)
            }
        }
    }

    /// The anchor that holds.
    #[must_use]
    pub fn anchor(&self) -> Anchor {
        *self.0.anchor.borrow()
    }

    /// Whether what this clock shows may be relied on.
    #[must_use]
    pub fn is_confirmed(&self) -> bool {
        self.0.anchor.borrow().confirmed
    }

    /// Ties the clock anew: it shows `at` from now on. Who calls this answers for it.
    pub fn tie(&self, at: Timestamp, confirmed: bool) {
        self.0.anchor.send_replace(Anchor {
            at,
            uptime_ms: self.uptime_ms(),
            confirmed,
        });
        if let Kind::Fixed(now) = &self.0.kind {
            // Whoever sleeps looks again.
            now.send_modify(|_| ());
        }
    }

    /// Waits for a quarter of a second of this clock, at most: until it is worth to look at the
    /// time again. A fixed clock is looked at whenever it is moved.
    pub async fn pause(&self) {
        match &self.0.kind {
            Kind::System => tokio::time::sleep(SLICE).await,
            Kind::Drill(drill, _) => {
                let real_s = SLICE.as_secs_f64() / drill.speed.max(1.0);
                // More often than fifty times a second would leave no time for anything else.
                tokio::time::sleep(Duration::from_secs_f64(real_s.max(0.02))).await;
            }
            Kind::Fixed(now) => {
                let mut readings = now.subscribe();
                let moved = tokio::time::timeout(Duration::from_millis(25), readings.changed());
                // It was moved or it was not: either way the pause is over.
                drop(moved.await);
            }
        }
    }

    /// Milliseconds since some start, never stepping back; time in suspend counts. In a drill
    /// they run at the drill's speed.
    #[must_use]
    pub fn uptime_ms(&self) -> u64 {
        uptime_of(&self.0.kind)
    }

    /// Names one run of the machine: an uptime means something only beside it.
    #[must_use]
    pub fn boot_id(&self) -> Uuid {
        self.0.boot
    }

    /// A new identity: version 7 of RFC 9562, of this clock's time. It says no order.
    #[must_use]
    pub fn new_uuid(&self) -> Uuid {
        let ms = u64::try_from(self.now().as_millisecond()).unwrap_or(0);
        uuid::Builder::from_unix_timestamp_millis(ms, &self.secret()).into_uuid()
    }

    /// Bytes that nobody can guess, from the operating system.
    ///
    /// A machine that has none to give cannot run this service: the process ends there and
    /// then, as it must not hand out a secret that is none.
    #[must_use]
    pub fn secret<const N: usize>(&self) -> [u8; N] {
        let mut bytes = [0; N];
        if let Err(cause) = getrandom::fill(&mut bytes) {
            tracing::error!(%cause, "the operating system gives no random bytes");
            std::process::abort();
        }
        bytes
    }

    /// Waits until this clock shows `until` or later.
    pub async fn sleep_until(&self, until: Timestamp) {
        let speed = match &self.0.kind {
            Kind::Fixed(now) => {
                let mut readings = now.subscribe();
                // Cannot end early: this clock holds the sender.
                if readings
                    .wait_for(|reading| self.anchor().shows(reading.uptime_ms) >= until)
                    .await
                    .is_err()
                {
                    std::future::pending::<()>().await;
                }
                return;
            }
            Kind::System => 1.0,
            Kind::Drill(drill, _) => drill.speed,
        };
        loop {
            let left = until.duration_since(self.now());
            if left <= SignedDuration::ZERO {
                return;
            }
            let real_s = (left.as_secs_f64() / speed).min(SLICE.as_secs_f64());
            // Less than a millisecond would spin.
            tokio::time::sleep(Duration::from_secs_f64(real_s.max(0.001))).await;
        }
    }

    /// Lets `time` pass on a fixed clock; the other clocks take no orders.
    pub fn advance(&self, time: SignedDuration) {
        if let Kind::Fixed(now) = &self.0.kind {
            now.send_modify(|reading| {
                reading.wall = reading.wall.saturating_add(time).unwrap_or(Timestamp::MAX);
                let ms = u64::try_from(time.as_millis()).unwrap_or(0);
                reading.uptime_ms = reading.uptime_ms.saturating_add(ms);
            });
        }
    }

    /// Sets the wall of a fixed clock, as somebody sets a watch: neither its uptime nor what it
    /// shows moves.
    pub fn set(&self, wall: Timestamp) {
        if let Kind::Fixed(now) = &self.0.kind {
            now.send_modify(|reading| reading.wall = wall);
        }
    }
}

fn wall_of(kind: &Kind) -> Timestamp {
    match kind {
        Kind::System => real_now(),
        Kind::Fixed(now) => now.borrow().wall,
        Kind::Drill(drill, _) => drill.at(real_now()),
    }
}

fn uptime_of(kind: &Kind) -> u64 {
    match kind {
        Kind::System => real_uptime_ms(),
        Kind::Fixed(now) => now.borrow().uptime_ms,
        Kind::Drill(drill, _) => Duration::from_millis(real_uptime_ms())
            .mul_f64(drill.speed)
            .as_millis()
            .try_into()
            .unwrap_or(u64::MAX),
    }
}

#[expect(clippy::disallowed_methods, reason = "this is the clock room")]
fn real_now() -> Timestamp {
    Timestamp::now()
}

/// The clock of the machine that goes on in suspend, as `std::time::Instant` does not.
#[cfg(target_os = "linux")]
fn real_uptime_ms() -> u64 {
    let read = rustix::time::clock_gettime(rustix::time::ClockId::Boottime);
    let s = u64::try_from(read.tv_sec).unwrap_or(0);
    let ms = u64::try_from(read.tv_nsec).unwrap_or(0) / 1_000_000;
    s.saturating_mul(1_000).saturating_add(ms)
}

/// Elsewhere than on Linux time in suspend may not count.
#[cfg(not(target_os = "linux"))]
#[expect(clippy::disallowed_methods, reason = "this is the clock room")]
fn real_uptime_ms() -> u64 {
    static START: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
    let start = START.get_or_init(std::time::Instant::now);
    u64::try_from(start.elapsed().as_millis()).unwrap_or(u64::MAX)
}

/// The kernel's name for this boot; where there is none, a new one for each process, which
/// claims less.
fn machine_boot() -> Uuid {
    static BOOT: std::sync::OnceLock<Uuid> = std::sync::OnceLock::new();
    *BOOT.get_or_init(|| {
        let told = std::fs::read_to_string("/proc/sys/kernel/random/boot_id");
        match told.map(|text| Uuid::parse_str(text.trim())) {
            Ok(Ok(boot)) => boot,
            Ok(Err(_)) | Err(_) => Clock::of(Kind::System, Uuid::nil()).new_uuid(),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    #[test]
    fn an_identity_carries_the_clocks_time_and_its_version() {
        // RFC 9562, appendix A.6: this instant is 017F22E2-79B0-7..., to the millisecond.
        let clock = Clock::fixed(at("2022-02-22T14:22:22-05:00"));
        let id = clock.new_uuid();
        assert_eq!(id.get_version_num(), 7);
        assert!(id.to_string().starts_with("017f22e2-79b0-7"), "{id}");
        assert_ne!(id, clock.new_uuid());
    }

    #[test]
    fn a_drill_runs_at_its_speed() {
        let drill =
            Drill::new(at("2026-06-01T08:00:00Z"), at("2026-07-01T20:00:00Z"), 10.0).unwrap();
        assert_eq!(
            drill.at(at("2026-06-01T08:01:30Z")),
            at("2026-07-01T20:15:00Z")
        );
        for speed in [0.0, -1.0, f64::NAN, f64::INFINITY, 1_001.0] {
            assert!(Drill::new(Timestamp::UNIX_EPOCH, Timestamp::UNIX_EPOCH, speed).is_err());
        }
    }

    #[test]
    fn setting_a_watch_moves_neither_the_uptime_nor_the_trip_clock() {
        let clock = Clock::fixed(at("2026-06-01T08:00:00Z"));
        clock.advance(SignedDuration::from_secs(90));
        clock.set(at("2026-06-01T07:00:00Z"));
        assert_eq!(clock.uptime_ms(), 90_000);
        assert_eq!(clock.wall(), at("2026-06-01T07:00:00Z"));
        assert_eq!(clock.now(), at("2026-06-01T08:01:30Z"));
        clock.tie(at("2026-06-01T09:00:00Z"), false);
        clock.advance(SignedDuration::from_secs(5));
        assert_eq!(clock.now(), at("2026-06-01T09:00:05Z"));
        assert!(!clock.is_confirmed());
    }

    #[test]
    fn the_machines_uptime_does_not_step_back() {
        let clock = Clock::system();
        let first = clock.uptime_ms();
        assert!(first > 0);
        assert!(clock.uptime_ms() >= first);
        assert_eq!(clock.boot_id(), Clock::system().boot_id());
    }

    #[tokio::test]
    async fn a_sleeper_wakes_when_a_fixed_clock_gets_there() {
        let clock = Clock::fixed(at("2026-06-01T08:00:00Z"));
        let sleeper = tokio::spawn({
            let clock = clock.clone();
            async move {
                clock.sleep_until(at("2026-06-01T08:05:00Z")).await;
                clock.now()
            }
        });
        tokio::task::yield_now().await;
        clock.advance(SignedDuration::from_mins(4));
        tokio::task::yield_now().await;
        assert!(!sleeper.is_finished());
        clock.advance(SignedDuration::from_mins(1));
        assert_eq!(sleeper.await.unwrap(), at("2026-06-01T08:05:00Z"));
    }

    #[tokio::test]
    async fn a_sleeper_in_a_drill_wakes_the_sooner() {
        let real = real_now();
        let clock = Clock::drill(Drill::new(real, at("2026-06-01T08:00:00Z"), 1_000.0).unwrap());
        clock.sleep_until(at("2026-06-01T08:00:20Z")).await;
        assert!(clock.now() >= at("2026-06-01T08:00:20Z"));
        assert!(real_now().duration_since(real) < SignedDuration::from_secs(10));
    }
}
