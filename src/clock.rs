//! The clock: the only reader of time and the only maker of ids and secrets.
//!
//! Three clocks share one face: the system's, a fixed one that tests set, and that of a
//! drill, which starts at an instant of its own and may run faster than life.

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
}

#[derive(Debug)]
enum Kind {
    System,
    Fixed(watch::Sender<Reading>),
    Drill(Drill),
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
    fn of(kind: Kind, boot: Uuid) -> Self {
        Self(Arc::new(Inner { kind, boot }))
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
        Self::of(Kind::Drill(drill), machine_boot())
    }

    /// The present instant.
    #[must_use]
    pub fn now(&self) -> Timestamp {
        match &self.0.kind {
            Kind::System => real_now(),
            Kind::Fixed(now) => now.borrow().wall,
            Kind::Drill(drill) => drill.at(real_now()),
        }
    }

    /// Milliseconds since some start, never stepping back; time in suspend counts. In a drill
    /// they run at the drill's speed.
    #[must_use]
    pub fn uptime_ms(&self) -> u64 {
        match &self.0.kind {
            Kind::System => real_uptime_ms(),
            Kind::Fixed(now) => now.borrow().uptime_ms,
            Kind::Drill(drill) => Duration::from_millis(real_uptime_ms())
                .mul_f64(drill.speed)
                .as_millis()
                .try_into()
                .unwrap_or(u64::MAX),
        }
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
                    .wait_for(|reading| reading.wall >= until)
                    .await
                    .is_err()
                {
                    std::future::pending::<()>().await;
                }
                return;
            }
            Kind::System => 1.0,
            Kind::Drill(drill) => drill.speed,
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

    /// Sets the wall of a fixed clock, as somebody sets a watch: its uptime does not move.
    pub fn set(&self, wall: Timestamp) {
        if let Kind::Fixed(now) = &self.0.kind {
            now.send_modify(|reading| reading.wall = wall);
        }
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
    fn setting_a_watch_does_not_move_the_uptime() {
        let clock = Clock::fixed(at("2026-06-01T08:00:00Z"));
        clock.advance(SignedDuration::from_secs(90));
        clock.set(at("2026-06-01T07:00:00Z"));
        assert_eq!(clock.uptime_ms(), 90_000);
        assert_eq!(clock.now(), at("2026-06-01T07:00:00Z"));
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
