//! The record of a trip as data: what was planned beside what was dived, counts, alerts, overrides,
//! incidents, conditions, and who signed for it. The report's JSON and CSV are this; its page words
//! the same.
//!
//! Names of fields carry their units; times are instants.

mod csv;
mod gather;

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::Timestamp;
use serde::Serialize;

use crate::trip::event::{IncidentRecord, Role};
use crate::trip::state::{Lack, Phase, Place};

use super::app::App;
use super::error::Error;
use super::live::Snapshot;

pub use self::csv::report_csv;
pub(in crate::web) use gather::dive_line;
pub use gather::{Source, gather, reckoned};

/// The record.
#[derive(Debug, Clone, Serialize)]
pub struct Record {
    /// The trip.
    pub trip: crate::trip::TripId,
    /// The last entry of the log that it is of.
    pub entry: u64,
    /// When it was made.
    pub made_at: Timestamp,
    /// A drill: nothing of it is real.
    pub drill: bool,
    /// The day.
    pub day: String,
    /// IANA name of the boat's zone.
    pub time_zone: String,
    /// The boat.
    pub boat: String,
    /// Her call sign.
    pub call_sign: String,
    /// The harbour.
    pub harbour: String,
    /// Who had command last.
    pub in_command: String,
    /// Where the trip stands.
    pub phase: Phase,
    /// Back, nobody out by the log, counted and called by name.
    pub everybody_accounted_for: bool,
    /// Who is not accounted for.
    pub out: Vec<Out>,
    /// Every dive of everybody.
    pub dives: Vec<DiveLine>,
    /// Counts.
    pub counts: Vec<CountLine>,
    /// Rolls.
    pub rolls: Vec<RollLine>,
    /// Alerts, as the box told them.
    pub alerts: Alerts,
    /// Gates and limits overridden.
    pub overrides: Vec<OverrideLine>,
    /// Incidents, with their records.
    pub incidents: Vec<IncidentLine>,
    /// Answers of the go/no-go list, what was decided on it, and forecasts noted.
    pub before_departure: Vec<BeforeLine>,
    /// Sea and weather as they were seen.
    pub conditions: Vec<ConditionLine>,
    /// Signatures and seals.
    pub sign_off: SignOffLine,
}

/// Somebody who is not accounted for.
#[derive(Debug, Clone, Serialize)]
pub struct Out {
    /// Name.
    pub name: String,
    /// Where the log has them.
    pub place: Place,
}

/// A dive of a person.
#[derive(Debug, Clone, Serialize)]
pub struct DiveLine {
    /// Its number on the trip.
    pub dive: u32,
    /// The site.
    pub site: String,
    /// The group's letter.
    pub group: String,
    /// Name.
    pub name: String,
    /// Cylinder, litres.
    pub cylinder_l: Option<f64>,
    /// Oxygen, fraction.
    pub oxygen: Option<f64>,
    /// As planned.
    pub planned: Planned,
    /// As dived.
    pub actual: Actual,
    /// Who saw the person out of the water.
    pub seen_by: Option<String>,
    /// What was noted.
    pub noted: Option<String>,
}

/// A dive as planned; what no plan said is absent.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Planned {
    /// Leaving the surface.
    pub entry_at: Option<Timestamp>,
    /// From leaving the surface to being back at it.
    pub run_time_min: Option<f64>,
    /// Greatest depth.
    pub greatest_depth_m: Option<f64>,
    /// Pressure at the start.
    pub start_bar: Option<f64>,
    /// Minutes of stops: those owed, else the safety stop.
    pub stop_min: Option<f64>,
}

/// A dive as it was; what nobody noted is absent.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Actual {
    /// Left the surface.
    pub entered_at: Option<Timestamp>,
    /// Up.
    pub surfaced_at: Option<Timestamp>,
    /// Out of the water.
    pub aboard_at: Option<Timestamp>,
    /// Minutes from leaving the surface to being up.
    pub run_time_min: Option<i64>,
    /// Greatest depth.
    pub greatest_depth_m: Option<f64>,
    /// Left in the cylinder.
    pub end_bar: Option<f64>,
    /// The stop was done.
    pub stop_done: Option<bool>,
    /// Breathed at the surface's pressure.
    pub breathing_l_min: Option<f64>,
}

/// A count at a point; while any count is open no figure stands here.
#[derive(Debug, Clone, Serialize)]
pub struct CountLine {
    /// Where.
    pub point: crate::trip::event::Point,
    /// Of which dive; 0 at the quay.
    pub dive: u32,
    /// Its number at this point.
    pub number: u32,
    /// `open`, `agreed` or `failed`.
    pub outcome: &'static str,
    /// On how many it agreed.
    pub agreed_on: Option<u32>,
    /// Each count.
    pub counts: Vec<OneCount>,
}

/// One blind count.
#[derive(Debug, Clone, Serialize)]
pub struct OneCount {
    /// 1, or 2 for the recount.
    pub round: u32,
    /// Who counted.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// How.
    pub method: crate::trip::event::Method,
    /// How many.
    pub people: Option<u32>,
    /// How many by the log then.
    pub log_aboard: Option<u32>,
}

/// A roll.
#[derive(Debug, Clone, Serialize)]
pub struct RollLine {
    /// Where.
    pub point: crate::trip::event::Point,
    /// Of which dive; 0 at the quay.
    pub dive: u32,
    /// Who called it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Who was seen; nobody is named while a count is open.
    pub seen: Vec<String>,
    /// Who was not.
    pub not_seen: Vec<String>,
}

/// The alerts of a trip.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Alerts {
    /// Those that asked for an act: cautions are awareness, and count in no figure.
    pub asking_for_an_act: usize,
    /// Of those, how many are over or acknowledged.
    pub dealt_with: usize,
    /// Of those, how many were over before anybody acknowledged them.
    pub ended_unseen: usize,
    /// Their share, 0 to 1; none without any that is dealt with.
    pub share_ended_unseen: Option<f64>,
    /// The middle one of the times until somebody acknowledged, seconds.
    pub median_answer_s: Option<i64>,
    /// The longest of them.
    pub longest_answer_s: Option<i64>,
    /// Each, in the order in which they began.
    pub all: Vec<AlertLine>,
}

/// An alert.
#[derive(Debug, Clone, Serialize)]
pub struct AlertLine {
    /// What was the matter, in a sentence.
    pub what: String,
    /// How much it mattered.
    pub priority: crate::trip::watch::Priority,
    /// Since when it held.
    pub since: Timestamp,
    /// Who acknowledged it.
    pub acknowledged_by: Option<String>,
    /// When.
    pub acknowledged_at: Option<Timestamp>,
    /// How long nobody had.
    pub answered_after_s: Option<i64>,
    /// When it no longer held.
    pub until: Option<Timestamp>,
    /// Over before anybody acknowledged it.
    pub ended_unseen: bool,
    /// It gave way to another cause of the same situation.
    pub went_over: bool,
}

/// A gate or limit overridden.
#[derive(Debug, Clone, Serialize)]
pub struct OverrideLine {
    /// `departed`, `left-site`, `trip-closed` or `group-limit`.
    pub what: &'static str,
    /// Why.
    pub reason: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// An incident.
#[derive(Debug, Clone, Serialize)]
pub struct IncidentLine {
    /// What happened.
    pub text: String,
    /// Whom it concerns.
    pub persons: Vec<String>,
    /// Who noted it.
    pub by: String,
    /// When it happened.
    pub at: Timestamp,
    /// The fields of its record.
    pub record: Option<IncidentRecord>,
}

/// A word of the go/no-go list or a forecast; what it does not tell is absent.
#[derive(Debug, Clone, Serialize)]
pub struct BeforeLine {
    /// When.
    pub at: Timestamp,
    /// Who.
    pub by: String,
    /// The condition that was answered.
    pub condition: Option<crate::trip::event::Condition>,
    /// How it was answered.
    pub answer: Option<crate::trip::event::Answer>,
    /// What was decided.
    pub go: Option<bool>,
    /// What did not stand at go when that was decided.
    pub not_go: Vec<crate::trip::event::Condition>,
    /// What a forecast is of.
    pub forecast_of: Option<crate::trip::event::ForecastOf>,
    /// The note, the reason, or the forecast.
    pub text: Option<String>,
    /// Where a forecast was read.
    pub source: Option<String>,
}

/// Sea and weather; what was not looked at is absent.
#[derive(Debug, Clone, Serialize)]
pub struct ConditionLine {
    /// When.
    pub at: Timestamp,
    /// Who looked.
    pub by: String,
    /// What was seen.
    #[serde(flatten)]
    pub seen: crate::trip::event::ConditionsObserved,
}

/// Signatures and seals.
#[derive(Debug, Clone, Serialize)]
pub struct SignOffLine {
    /// A seal stands over all that needs one, and the log is what was signed.
    pub sealed: bool,
    /// Whose signatures are missing.
    pub missing: Vec<Role>,
    /// Why nobody can sign yet, each in a sentence.
    pub cannot_sign: Vec<String>,
    /// Every signature.
    pub signatures: Vec<SignatureLine>,
    /// Every seal.
    pub seals: Vec<SealLine>,
    /// What came after the last seal.
    pub after: Vec<AfterLine>,
}

/// A signature.
#[derive(Debug, Clone, Serialize)]
pub struct SignatureLine {
    /// As what.
    pub role: Role,
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Over the entries up to this one.
    pub over_entry: u64,
    /// The chain there.
    pub chain: String,
    /// Nothing that needs a signature came since.
    pub stands: bool,
    /// The log is what was signed.
    pub holds: bool,
}

/// A seal.
#[derive(Debug, Clone, Serialize)]
pub struct SealLine {
    /// Who set it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Over the entries up to this one.
    pub over_entry: u64,
    /// The chain there.
    pub chain: String,
    /// What it lacks to be one.
    pub lacks: Vec<&'static str>,
    /// The log is what was sealed.
    pub holds: bool,
}

/// An entry after the seal.
#[derive(Debug, Clone, Serialize)]
pub struct AfterLine {
    /// Its number on this box.
    pub entry: u64,
    /// Its kind.
    pub kind: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// What a seal lacks, in a word for programs.
#[must_use]
pub fn lack(lack: Lack) -> &'static str {
    match lack {
        Lack::Divemaster => "divemaster",
        Lack::Skipper => "skipper",
        Lack::TwoPeople => "two-people",
        Lack::Author => "author",
    }
}

/// The record of a trip now, gathered on a thread that nobody waits for.
///
/// # Errors
/// If the store fails.
pub async fn made(app: &App, snap: Arc<Snapshot>) -> Result<Record, Error> {
    let relayed: BTreeSet<u64> = app.store().relayed(snap.trip).await?.into_keys().collect();
    let now = app.clock().now();
    tokio::task::spawn_blocking(move || gather(snap.source(), &relayed, now))
        .await
        .map_err(|_| Error::Internal("gathering the record panicked"))
}
