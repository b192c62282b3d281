//! Faults that are planted on purpose, so that the power programme can show that it would find
//! them. They exist in builds with debug assertions only, and wait there for an environment
//! variable; a release knows neither (a test looks).

/// A fault that can be planted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Plant {
    /// Commits are not synced, only checkpoints are.
    Normal,
    /// Events are acknowledged before they are written.
    EarlyAck,
    /// Every statement replaces all that came before it, known to its author or not.
    LastWrite,
}

/// What takes the syncing away from commits.
pub(super) const NOT_SYNCED: &str = concat!("PRAGMA ", "synchronous = NORMAL");

/// Whether this fault is planted.
#[cfg(debug_assertions)]
pub(super) fn is(plant: Plant) -> bool {
    static PLANTED: std::sync::OnceLock<Option<Plant>> = std::sync::OnceLock::new();
    *PLANTED.get_or_init(|| match std::env::var_os("DECKWATCH_PLANT")?.to_str()? {
        "normal" => Some(Plant::Normal),
        "early-ack" => Some(Plant::EarlyAck),
        "last-write" => Some(Plant::LastWrite),
        _ => None,
    }) == Some(plant)
}

/// Nothing is planted in a release.
#[cfg(not(debug_assertions))]
pub(super) const fn is(_: Plant) -> bool {
    false
}
