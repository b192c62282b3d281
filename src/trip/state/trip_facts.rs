//! What is said of the trip as a whole: where it stands, who commands, sea and weather, the
//! emergency, what was acknowledged and overridden.

use std::collections::BTreeMap;

use jiff::{SignedDuration, Timestamp};
use serde::Serialize;

use super::group::plus;
use super::knowledge::undominated;
use crate::sea::position::Position;
use crate::trip::event::{
    Author, ConditionsObserved, CrewId, DivePlanned, Entry, Event, EventId, Fact, ForecastNoted,
    IncidentRecord, Mark, PersonId, PositionSource, Role, Sea, TripOpened,
};

/// Where a trip stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// At the quay, before departure.
    #[default]
    AtQuay,
    /// Under way between quay and site.
    UnderWay,
    /// On a site.
    OnSite,
    /// Back at the quay.
    Back,
    /// Closed.
    Closed,
}

/// Something known, with who said it and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Known<T> {
    /// What.
    pub what: T,
    /// Who said so.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// The event.
    pub event: EventId,
}

impl<T> Known<T> {
    pub(super) fn of(entry: &Entry, what: T) -> Self {
        Self {
            what,
            by: entry.event.by.name.clone(),
            at: entry.time(),
            event: entry.event.id,
        }
    }
}

/// An alert that somebody acknowledged or silenced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heard {
    /// The alert.
    pub alert: String,
    /// The cause it showed.
    pub cause: String,
    /// Who.
    pub by: String,
    /// When, by the box's clock: a tablet's own may be hours out.
    pub at: Timestamp,
    /// What was known to who did.
    pub author: Author,
}

impl Heard {
    fn of(entry: &Entry, alert: &str, cause: &str) -> Self {
        Self {
            alert: alert.to_owned(),
            cause: cause.to_owned(),
            by: entry.event.by.name.clone(),
            at: entry.receipt.made_at(),
            author: entry.event.author(),
        }
    }
}

/// An emergency that is over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Over {
    /// How it was declared.
    pub declared: Known<String>,
    /// The event's mark.
    pub mark: Mark,
    /// When it was said to be over.
    pub until: Timestamp,
}

/// Sea and weather: the latest word on each, with its own age.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Conditions {
    /// Every word on the current, in the order of the fold: set (degrees true, towards) and drift
    /// (knots). What was carried before the latest was carried by those.
    pub currents: Vec<Known<(f64, f64)>>,
    /// Wind: from (degrees true) and knots.
    pub wind: Option<Known<(f64, f64)>>,
    /// Visibility under water, metres.
    pub visibility_m: Option<Known<f64>>,
    /// The sea.
    pub sea: Option<Known<Sea>>,
    /// Water temperature, degrees Celsius.
    pub water_c: Option<Known<f64>>,
}

/// An observation of the current counts so long (common practice, no source: slack to full
/// stream takes about three hours).
pub const CURRENT_COUNTS: SignedDuration = SignedDuration::from_mins(60);

impl Conditions {
    /// The latest word on the current.
    #[must_use]
    pub fn current(&self) -> Option<&Known<(f64, f64)>> {
        self.currents.last()
    }

    /// Adds what was looked at, as somebody saw it at an instant; the rest stays as it was.
    pub fn observe(
        &mut self,
        seen: &ConditionsObserved,
        (by, at, event): (&str, Timestamp, EventId),
    ) {
        fn known<T>(what: T, (by, at, event): (&str, Timestamp, EventId)) -> Known<T> {
            Known {
                what,
                by: by.to_owned(),
                at,
                event,
            }
        }
        let said = (by, at, event);
        if let (Some(set), Some(drift)) = (seen.set_deg, seen.drift_kn) {
            self.currents.push(known((set.deg(), drift.kn()), said));
        }
        if let (Some(from), Some(speed)) = (seen.wind_from_deg, seen.wind_kn) {
            self.wind = Some(known((from.deg(), speed.kn()), said));
        }
        if let Some(visibility) = seen.visibility_m {
            self.visibility_m = Some(known(visibility, said));
        }
        if let Some(sea) = seen.sea {
            self.sea = Some(known(sea, said));
        }
        if let Some(water) = seen.water_c {
            self.water_c = Some(known(water, said));
        }
    }
}

/// Where the boat is.
#[derive(Debug, Clone, PartialEq)]
pub struct BoatPlace {
    /// Where.
    pub position: Position,
    /// When.
    pub at: Timestamp,
    /// By what.
    pub source: PositionSource,
}

impl BoatPlace {
    /// How long a fix of instruments or of a device says where the boat is: at six knots it has
    /// gone a cable by then (common practice, no source for the figure).
    const FIX_COUNTS: SignedDuration = SignedDuration::from_secs(60);
    /// How long a typed position does: whoever types one is mostly adrift or lies still, but
    /// nobody says which (common practice, no source for the figure).
    const TYPED_COUNTS: SignedDuration = SignedDuration::from_mins(10);

    /// The last instant at which this says where the boat is.
    #[must_use]
    pub fn counts_until(&self) -> Timestamp {
        let counts = match self.source {
            PositionSource::Instruments | PositionSource::Device => Self::FIX_COUNTS,
            PositionSource::Typed => Self::TYPED_COUNTS,
        };
        plus(self.at, counts)
    }

    /// Whether the boat may have gone on since: whoever uses the position then says so.
    #[must_use]
    pub fn is_old(&self, now: Timestamp) -> bool {
        now > self.counts_until()
    }
}

/// A lookout on watch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lookout {
    /// Who.
    pub name: String,
    /// Since when.
    pub since: Timestamp,
}

/// Who has command.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Command {
    /// The account.
    pub holder: Option<CrewId>,
    /// The name.
    pub name: String,
    /// An offer that was not taken yet; it lapses after thirty seconds.
    pub offered: Option<Offer>,
}

/// Command offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// To whom.
    pub to: CrewId,
    /// The name.
    pub name: String,
    /// When.
    pub at: Timestamp,
}

impl Offer {
    /// How long it stands: command that nobody takes stays where it is (common practice, no
    /// source for the figure).
    const STANDS: SignedDuration = SignedDuration::from_secs(30);

    /// The last instant at which it can be taken.
    #[must_use]
    pub fn until(&self) -> Timestamp {
        plus(self.at, Self::STANDS)
    }

    /// Whether it can be taken at `at`.
    #[must_use]
    pub fn stands(&self, at: Timestamp) -> bool {
        at <= self.until()
    }
}

/// A declared emergency.
#[derive(Debug, Clone, PartialEq)]
pub struct Emergency {
    /// What happened, who declared it, when.
    pub declared: Known<String>,
    /// Which events declare it.
    pub marks: Vec<Mark>,
    /// Everybody concerned by name.
    pub persons: std::collections::BTreeSet<PersonId>,
    /// Best known place.
    pub datum: Option<Position>,
    /// Steps of the plan that were taken.
    pub steps: Vec<StepTaken>,
}

/// A step of the emergency plan that was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct StepTaken {
    /// Its number in the plan.
    pub step: u32,
    /// Its words then, who, when.
    pub taken: Known<String>,
    /// A note.
    pub note: Option<String>,
}

/// A note for the record.
#[derive(Debug, Clone, PartialEq)]
pub struct Incident {
    /// What happened.
    pub text: String,
    /// Whom it names.
    pub persons: std::collections::BTreeSet<PersonId>,
    /// The fields of an incident record, where they were filled in.
    pub record: Option<IncidentRecord>,
}

/// What the skipper fixed of the pickup order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Arranged {
    /// First entries in order.
    pub fixed: Vec<String>,
    /// The pickup under way.
    pub under_way: Option<String>,
}

/// The facts of the trip as a whole.
#[derive(Debug, Default)]
pub(super) struct TripFacts {
    pub opened: Option<TripOpened>,
    pub phase: Phase,
    pub phase_before_closing: Phase,
    pub closed_over: Vec<Author>,
    pub dive: u32,
    pub dives: BTreeMap<u32, DivePlanned>,
    pub conditions: Conditions,
    pub boat: Option<BoatPlace>,
    pub lookout: Option<Lookout>,
    pub command: Command,
    pub recalls: Vec<Known<u32>>,
    pub emergency: Option<Emergency>,
    pub emergency_over: Option<Over>,
    pub acknowledged: Vec<Heard>,
    pub silenced: Vec<Heard>,
    pub arranged: Arranged,
    pub incidents: Vec<Known<Incident>>,
    pub forecasts: Vec<Known<ForecastNoted>>,
    pub overrides: Vec<Known<(&'static str, String)>>,
    pub unread: Vec<Known<String>>,
}

pub(super) fn fold(entries: &[&Entry]) -> TripFacts {
    let mut facts = TripFacts::default();
    for entry in entries {
        note(&mut facts, entry);
    }
    stage(&mut facts, entries);
    facts.opened = latest(entries, |f| match f {
        Fact::TripOpened(opened) => Some(opened.clone()),
        _ => None,
    });
    facts.lookout = lookout(entries);
    facts.command = command(entries, facts.opened.as_ref());
    facts.emergency = emergency(entries);
    facts.emergency_over = emergency_over(entries);
    facts.arranged = latest(entries, |f| match f {
        Fact::PickupArranged(a) => Some(Arranged {
            fixed: a.fixed.clone(),
            under_way: a.under_way.clone(),
        }),
        _ => None,
    })
    .unwrap_or_default();
    facts
}

fn note(facts: &mut TripFacts, entry: &Entry) {
    match &entry.event.fact {
        Fact::DivePlanned(planned) => {
            if let Some(dive) = entry.event.about.dive {
                facts.dives.insert(dive, planned.clone());
            }
        }
        Fact::ConditionsObserved(seen) => {
            let said = (&*entry.event.by.name, entry.time(), entry.event.id);
            facts.conditions.observe(seen, said);
        }
        Fact::BoatPositioned(_) => facts.boat = place_of(entry),
        Fact::RecallSounded(_) => {
            facts
                .recalls
                .push(Known::of(entry, entry.event.about.dive.unwrap_or(0)));
        }
        Fact::AlertAcknowledged(ack) => {
            facts
                .acknowledged
                .push(Heard::of(entry, &ack.alert, &ack.cause));
        }
        Fact::AlertSilenced(quiet) => {
            facts
                .silenced
                .push(Heard::of(entry, &quiet.alert, &quiet.cause));
        }
        Fact::IncidentNoted(note) => {
            let incident = Incident {
                text: note.text.clone(),
                persons: entry.event.about.persons.clone(),
                record: note.record.clone(),
            };
            facts.incidents.push(Known::of(entry, incident));
        }
        Fact::ForecastNoted(note) => facts.forecasts.push(Known::of(entry, note.clone())),
        Fact::Departed(d) => overridden(facts, entry, "departed", d.override_reason.as_ref()),
        Fact::LeftSite(l) => overridden(facts, entry, "left-site", l.override_reason.as_ref()),
        Fact::TripClosed(c) => overridden(facts, entry, "trip-closed", c.override_reason.as_ref()),
        Fact::GroupFormed(g) => overridden(facts, entry, "group-limit", g.limit_override.as_ref()),
        Fact::Unread(unread) => facts.unread.push(Known::of(entry, unread.kind.clone())),
        _ => {}
    }
}

/// Where an entry says that the boat was, if it does.
pub(super) fn place_of(entry: &Entry) -> Option<BoatPlace> {
    let Fact::BoatPositioned(boat) = &entry.event.fact else {
        return None;
    };
    Some(BoatPlace {
        position: boat.position,
        at: entry.time(),
        source: boat.source,
    })
}

fn overridden(facts: &mut TripFacts, entry: &Entry, what: &'static str, why: Option<&String>) {
    if let Some(why) = why {
        facts.overrides.push(Known::of(entry, (what, why.clone())));
    }
}

/// The phase by what stands (at the quay before anything is said); of two words said apart, the one nearer to people in the water.
fn stage(facts: &mut TripFacts, entries: &[&Entry]) {
    let phase_of = |entry: &Entry| match &entry.event.fact {
        Fact::Departed(_) | Fact::LeftSite(_) => Some(Phase::UnderWay),
        Fact::OnSite(_) => Some(Phase::OnSite),
        Fact::BackInHarbour(_) => Some(Phase::Back),
        Fact::TripClosed(_) => Some(Phase::Closed),
        _ => None,
    };
    let staging: Vec<&Entry> = entries
        .iter()
        .filter(|e| phase_of(e).is_some())
        .copied()
        .collect();
    facts.phase = least_safe(&staging, phase_of);
    let before: Vec<&Entry> = staging
        .iter()
        .filter(|e| !matches!(e.event.fact, Fact::TripClosed(_)))
        .copied()
        .collect();
    facts.phase_before_closing = least_safe(&before, phase_of);
    facts.closed_over = undominated(&staging)
        .iter()
        .filter(|e| e.event.by.role == Role::Skipper)
        .filter(|e| matches!(&e.event.fact, Fact::TripClosed(c) if c.override_reason.is_some()))
        .map(|e| e.event.author())
        .collect();
    facts.dive = entries
        .iter()
        .filter(|e| matches!(e.event.fact, Fact::OnSite(_)))
        .filter_map(|e| e.event.about.dive)
        .max()
        .unwrap_or(0);
}

fn least_safe(staging: &[&Entry], phase_of: impl Fn(&Entry) -> Option<Phase>) -> Phase {
    let rank = |phase: &Phase| match phase {
        Phase::OnSite => 4,
        Phase::UnderWay => 3,
        Phase::AtQuay => 2,
        Phase::Back => 1,
        Phase::Closed => 0,
    };
    undominated(staging)
        .iter()
        .filter_map(|e| phase_of(e))
        .max_by_key(rank)
        .unwrap_or_default()
}

/// The last in the one order of those that nobody who knew them has replaced.
fn latest<T>(entries: &[&Entry], read: impl Fn(&Fact) -> Option<T>) -> Option<T> {
    let all: Vec<&Entry> = entries
        .iter()
        .filter(|e| read(&e.event.fact).is_some())
        .copied()
        .collect();
    undominated(&all)
        .last()
        .and_then(|entry| read(&entry.event.fact))
}

fn lookout(entries: &[&Entry]) -> Option<Lookout> {
    let watch: Vec<&Entry> = entries
        .iter()
        .filter(|e| {
            matches!(
                e.event.fact,
                Fact::LookoutPosted(_) | Fact::LookoutRelieved(_)
            )
        })
        .copied()
        .collect();
    match undominated(&watch)
        .last()
        .map(|e| (&e.event.fact, e.time()))
    {
        Some((Fact::LookoutPosted(posted), since)) => Some(Lookout {
            name: posted.name.clone(),
            since,
        }),
        _ => None,
    }
}

fn command(entries: &[&Entry], opened: Option<&TripOpened>) -> Command {
    let mut command = opened.map_or_else(Command::default, |opened| Command {
        holder: Some(opened.skipper_account),
        name: opened.skipper.clone(),
        offered: None,
    });
    for entry in entries {
        match &entry.event.fact {
            Fact::CommandHandedOver(over) => {
                let (to, name) = (over.to, over.name.clone());
                command.offered = Some(Offer {
                    to,
                    name,
                    at: entry.time(),
                });
            }
            Fact::CommandAccepted(_) => {
                let (by, at) = (entry.event.by.crew, entry.time());
                if let Some(offer) = command.offered.take_if(|o| o.to == by && o.stands(at)) {
                    command.holder = Some(offer.to);
                    command.name = offer.name;
                }
            }
            _ => {}
        }
    }
    command
}

/// Any crew member declares; that it is over is the skipper's word.
fn ends_emergency(event: &Event) -> bool {
    matches!(event.fact, Fact::EmergencyEnded(_)) && event.by.role == Role::Skipper
}

/// Declared, and not ended by a skipper who knew of the declaration.
fn emergency(entries: &[&Entry]) -> Option<Emergency> {
    let ends: Vec<&Entry> = entries
        .iter()
        .filter(|e| ends_emergency(&e.event))
        .copied()
        .collect();
    let declared: Vec<&Entry> = entries
        .iter()
        .filter(|e| matches!(e.event.fact, Fact::EmergencyDeclared(_)))
        .filter(|e| !ends.iter().any(|end| end.event.knew(&e.event)))
        .copied()
        .collect();
    let first = *declared.first()?;
    let Fact::EmergencyDeclared(what) = &first.event.fact else {
        return None;
    };
    let datum = declared.iter().rev().find_map(|e| match &e.event.fact {
        Fact::EmergencyDeclared(d) => d.datum,
        _ => None,
    });
    let steps = entries
        .iter()
        .filter(|e| e.time() >= first.time())
        .filter_map(|e| match &e.event.fact {
            Fact::EmergencyStep(step) => Some(StepTaken {
                step: step.step,
                taken: Known::of(e, step.text.clone()),
                note: step.note.clone(),
            }),
            _ => None,
        })
        .collect();
    let persons = declared
        .iter()
        .flat_map(|e| e.event.about.persons.iter().copied())
        .collect();
    Some(Emergency {
        declared: Known::of(first, what.reason.clone()),
        marks: declared.iter().map(|e| e.event.mark()).collect(),
        persons,
        datum,
        steps,
    })
}

/// The last emergency that a skipper who knew of it said was over.
fn emergency_over(entries: &[&Entry]) -> Option<Over> {
    entries
        .iter()
        .filter_map(|declared| {
            let Fact::EmergencyDeclared(what) = &declared.event.fact else {
                return None;
            };
            let until = entries
                .iter()
                .filter(|e| ends_emergency(&e.event))
                .filter(|e| e.event.knew(&declared.event))
                .map(|e| e.time())
                .min()?;
            Some(Over {
                declared: Known::of(declared, what.reason.clone()),
                mark: declared.event.mark(),
                until,
            })
        })
        .next_back()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_grows_old_by_its_source() {
        let at: Timestamp = "2026-06-01T10:00:00Z".parse().unwrap();
        let position = serde_json::from_value(serde_json::json!([-30.0, 45.0])).unwrap();
        for (source, counts_s) in [
            (PositionSource::Instruments, 60),
            (PositionSource::Device, 60),
            (PositionSource::Typed, 600),
        ] {
            let place = BoatPlace {
                position,
                at,
                source,
            };
            let after = |s| at + SignedDuration::from_secs(s);
            assert!(!place.is_old(after(0)), "{source:?}");
            assert!(!place.is_old(after(counts_s)), "{source:?}");
            assert!(place.is_old(after(counts_s + 1)), "{source:?}");
        }
    }
}
