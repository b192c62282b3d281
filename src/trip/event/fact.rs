//! What the log can say: one payload type for each kind of event.
//!
//! A payload is frozen once released: a changed shape gets a new version in [`Fact::from_wire`].

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{CrewId, EventId, PersonId};
use crate::dive::pressure::Column;
use crate::dive::settings::PlanSettings;
use crate::dive::window::WindowSettings;
use crate::sea::position::Position;
use crate::sea::stream::Tides;
use crate::trip::id::{BoatId, SiteId};
use crate::units::{
    CylinderBar, CylinderLitres, Depth, Distance, Knots, LitresPerMinute, Minutes, OxygenFraction,
    SetTowards, WindFrom,
};

macro_rules! facts {
    ($($(#[$doc:meta])* $name:ident = $kind:literal),* $(,)?) => {
        /// What an event says.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Fact {
            $($(#[$doc])* $name($name),)*
            /// A kind or version that this program cannot read; kept raw and passed on.
            Unread(Unread),
        }

        impl Fact {
            /// The kind's word on the wire.
            #[must_use]
            pub fn kind(&self) -> &str {
                match self {
                    $(Self::$name(_) => $kind,)*
                    Self::Unread(unread) => &unread.kind,
                }
            }

            /// Every kind this program can read.
            pub const KINDS: &[&str] = &[$($kind),*];

            pub(super) fn to_wire(&self) -> (&str, u32, Value) {
                match self {
                    $(Self::$name(payload) => ($kind, self.version(), plain(payload)),)*
                    Self::Unread(unread) => (&unread.kind, unread.version, unread.payload.clone()),
                }
            }

            pub(super) fn from_wire(
                kind: &str,
                version: u32,
                payload: &Value,
            ) -> Option<Result<Self, serde_path_to_error::Error<serde_json::Error>>> {
                let read = match kind {
                    $($kind => serde_path_to_error::deserialize(payload).map(Self::$name),)*
                    _ => return None,
                };
                match read {
                    _ if version > NEWEST_VERSION => None,
                    // Another version than this program would write is left unread: it would
                    // come out as other bytes than it went in.
                    Ok(fact) => (fact.version() == version).then_some(Ok(fact)),
                    Err(why) => Some(Err(why)),
                }
            }
        }
    };
}

/// Newest version of any payload that this program reads.
const NEWEST_VERSION: u32 = 2;

impl Fact {
    /// Version of the payload's shape: 1, or that of the newest field it uses. What does not
    /// use the field keeps its bytes and its hash.
    fn version(&self) -> u32 {
        if let Self::Unread(unread) = self {
            return unread.version;
        }
        // What came with version 2.
        let owes = matches!(self, Self::LeftSurface(left) if !left.owes.is_empty());
        let opened = matches!(self, Self::TripOpened(opened)
            if !opened.plans.is_usual() || opened.boat.recall_signal.is_some());
        let site = matches!(self, Self::DivePlanned(dive)
            if !dive.site.water.is_sea() || dive.site.tides.is_some());
        let entry = matches!(self, Self::GroupFormed(group) if group.enters_at.is_some());
        let record = matches!(self, Self::IncidentNoted(note) if note.record.is_some());
        if owes || opened || site || entry || record {
            2
        } else {
            1
        }
    }
}

facts! {
    /// The trip exists: boat, skipper, harbour, day.
    TripOpened = "trip-opened",
    /// A person is on the roster.
    PersonJoined = "person-joined",
    /// What is known of a person changed.
    PersonChanged = "person-changed",
    /// A person of the roster stays ashore.
    PersonNotComing = "person-not-coming",
    /// Dives that a person made that day before this trip.
    DivedEarlier = "dived-earlier",
    /// A dive is planned on a site.
    DivePlanned = "dive-planned",
    /// A group is formed or formed anew.
    GroupFormed = "group-formed",
    /// A group does not dive.
    GroupStoodDown = "group-stood-down",
    /// One blind count.
    HeadCounted = "head-counted",
    /// The roll was called by name.
    RollCalled = "roll-called",
    /// The boat left the quay.
    Departed = "departed",
    /// The boat is on the site of a dive.
    OnSite = "on-site",
    /// Sea and weather as seen.
    ConditionsObserved = "conditions-observed",
    /// Where the boat is.
    BoatPositioned = "boat-positioned",
    /// The checks before a drop.
    DropChecked = "drop-checked",
    /// A group left the surface.
    LeftSurface = "left-surface",
    /// A marker buoy is up; nobody is counted by it.
    BuoySeen = "buoy-seen",
    /// People are seen at the surface.
    AtSurface = "at-surface",
    /// A named diver says the rest of the group is well.
    OthersWell = "others-well",
    /// A named diver has lost contact with the rest.
    LostContact = "lost-contact",
    /// A person is out of the water, seen by a named person.
    Aboard = "aboard",
    /// What a person's return left to say: bar, depth, time.
    ReturnNoted = "return-noted",
    /// A group is given more time.
    MoreTime = "more-time",
    /// The recall was sounded.
    RecallSounded = "recall-sounded",
    /// People are missing.
    PersonMissing = "person-missing",
    /// A missing person is found.
    PersonFound = "person-found",
    /// Somebody declares an emergency.
    EmergencyDeclared = "emergency-declared",
    /// A step of the boat's emergency plan.
    EmergencyStep = "emergency-step",
    /// The emergency is over.
    EmergencyEnded = "emergency-ended",
    /// A named person has seen an alert.
    AlertAcknowledged = "alert-acknowledged",
    /// An alert's sound is off for thirty seconds.
    AlertSilenced = "alert-silenced",
    /// A lookout has the watch.
    LookoutPosted = "lookout-posted",
    /// The lookout is relieved.
    LookoutRelieved = "lookout-relieved",
    /// Command is offered to another.
    CommandHandedOver = "command-handed-over",
    /// The offered command is taken.
    CommandAccepted = "command-accepted",
    /// What the skipper fixed of the pickup order.
    PickupArranged = "pickup-arranged",
    /// Something worth the record.
    IncidentNoted = "incident-noted",
    /// The boat left the site.
    LeftSite = "left-site",
    /// The boat is back in harbour.
    BackInHarbour = "back-in-harbour",
    /// The trip is closed.
    TripClosed = "trip-closed",
    /// An earlier event does not count.
    Voided = "voided",
    /// A locator beacon is heard.
    BeaconHeard = "beacon-heard",
    /// A beacon is nobody of ours, or a test.
    BeaconDismissed = "beacon-dismissed",
    /// A divemaster or skipper signs the report of the trip.
    ReportSigned = "report-signed",
    /// The record is closed over what both signed.
    RecordSealed = "record-sealed",
    /// A condition of the go/no-go list is answered before departure.
    ConditionAnswered = "condition-answered",
    /// The skipper decides on the go/no-go list.
    TripDecided = "trip-decided",
    /// Somebody waits for a place on a trip that is full.
    WaitingJoined = "waiting-joined",
    /// Somebody waits no longer.
    WaitingLeft = "waiting-left",
    /// A sheet was printed.
    SheetPrinted = "sheet-printed",
    /// A forecast of weather or tide, as somebody read it.
    ForecastNoted = "forecast-noted",
}

/// An event kind or version from a newer program.
#[derive(Debug, Clone, PartialEq)]
pub struct Unread {
    /// Its kind.
    pub kind: String,
    /// Its version.
    pub version: u32,
    /// Its payload, untouched.
    pub payload: Value,
}

macro_rules! payload {
    ($(#[$doc:meta])* $name:ident { $($(#[$fdoc:meta])* $field:ident : $ty:ty),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$fdoc])* pub $field: $ty,)*
        }
    };
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "kebab-case")]
        pub enum $name {
            $($(#[$vdoc])* $variant,)*
        }
    };
}

words!(/// How people come aboard.
    Boarding { /** By ladder. */ Ladder, /** By lift. */ Lift });
words!(/// The side this boat comes in from; sources disagree, so it is the boat's own setting.
    ApproachSide { /** Not set. */ NotSet, /** From up-wind. */ UpWind, /** From down-wind. */ DownWind, /** In the lee. */ Lee });
words!(/// What a person of the roster does on the trip.
    Activity { /** Dives. */ Diver, /** Swims at the surface. */ Snorkeller, /** Stays dry. */ Passenger, /** Works the boat or guides. */ Crew });
words!(/// Fit to dive, as the register says; no medical word ever stands here.
    Fitness { /** Cleared. */ Cleared, /** Restricted: ask the desk. */ Restricted });
words!(/// Where a count or a roll is taken.
    Point { /** At the quay, before departure. */ Departure, /** Before leaving a site. */ Leaving, /** Back at the quay. */ Return });
words!(/// How somebody counted.
    Method { /** Heads. */ Heads, /** By names. */ Names });
words!(/// The state of the sea.
    Sea { /** Calm. */ Calm, /** Slight. */ Slight, /** Moderate. */ Moderate, /** Rough. */ Rough });
words!(/// What a person at the surface signals.
    Signal { /** All well. */ Well, /** No signal seen. */ NoSignal, /** Needs help. */ Help });
words!(/// Colour of a marker buoy.
    BuoyColour { /** Orange or red. */ Orange, /** Yellow: some divers use it for trouble. */ Yellow, /** Another colour. */ Other });
words!(/// What kind of locator beacon sends, by the first digits of its identity (ITU-R M.585).
    BeaconSort { /** A locator of a survival craft, 970. */ Locator, /** A person overboard, 972. */ Person, /** An emergency beacon, 974. */ Epirb });
words!(/// What an incident is about, first of all.
    IncidentSort { /** Somebody is hurt. */ Injury, /** Somebody is unwell. */ Illness, /** Signs after a dive that may come from it. */ AfterDive, /** Somebody was separated, late or missing. */ Separation, /** Equipment failed. */ Equipment, /** The boat. */ Boat, /** Anything else. */ Other });
words!(/// Where a boat's position came from.
    PositionSource { /** Typed by the crew. */ Typed, /** The boat's instruments. */ Instruments, /** A device's own position. */ Device });

/// Who took a person out of the water.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Vessel {
    /// This boat.
    Own,
    /// This boat's tender.
    Tender,
    /// Another boat.
    Other {
        /// Its name.
        name: String,
    },
    /// The person is ashore.
    Shore {
        /// Where.
        place: String,
    },
}

/// How a group means to come back.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Mode {
    /// To the mooring or shot line it went in at.
    Return,
    /// With the current.
    Drift,
    /// On a course, by fin.
    OneWay {
        /// Course through the water, degrees true.
        course_deg: SetTowards,
    },
}

payload!(/// The boat as it sails: the log must be readable without the register.
BoatSheet {
    /// In the register.
    id: BoatId,
    /// Name.
    name: String,
    /// Radio call sign, empty if none.
    call_sign: String,
    /// Most people allowed aboard, crew included.
    capacity: u32,
    /// Speed between groups, knots.
    speed_kn: f64,
    /// Seconds to board one person.
    boarding_s_per_person: u32,
    /// Seconds to set up an approach.
    approach_s: u32,
    /// Ladder or lift.
    boarding: Boarding,
    /// The boat's own approach setting.
    approach_side: ApproachSide,
    /// Steps of the boat's emergency plan, in order.
    emergency_plan: Vec<String>,
    /// The recall signal that this boat agrees on in its briefings, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    recall_signal: Option<String>,
});

payload!(/// The trip exists.
TripOpened {
    /// The day.
    day: Date,
    /// The harbour.
    harbour: String,
    /// IANA name of the zone local times are shown in.
    time_zone: String,
    /// The boat.
    boat: BoatSheet,
    /// Name of the skipper.
    skipper: String,
    /// Account of the skipper, who has command at the start.
    skipper_account: CrewId,
    /// The centre's minutes.
    windows: WindowSettings,
    /// The centre's figures for plans.
    #[serde(default, skip_serializing_if = "PlanSettings::is_usual")]
    plans: PlanSettings,
    /// A drill: nothing of it is real.
    drill: bool,
});
payload!(/// What the boat must know of a person: no contact, no medical word.
PersonCard {
    /// Name.
    name: String,
    /// What the person does.
    activity: Activity,
    /// Certification level in the words of ISO 24801.
    level: String,
    /// Greatest depth of that level, metres; none for who does not dive.
    depth_limit_m: Option<Depth>,
    /// Fit to dive.
    fitness: Fitness,
    /// Date of the last dive, if known.
    last_dive: Option<Date>,
});
payload!(/// A person is on the roster.
PersonJoined {
    /// The person.
    card: PersonCard,
});
payload!(/// What is known of a person changed.
PersonChanged {
    /// The person.
    card: PersonCard,
});
payload!(/// Stays ashore.
PersonNotComing {
    /// Why.
    reason: String,
});
payload!(/// A dive that was made before, as somebody tells it.
ToldDive {
    /// Greatest depth.
    depth_m: Depth,
    /// Minutes from leaving the surface to leaving the bottom.
    minutes: Minutes,
    /// Oxygen of the gas.
    oxygen: OxygenFraction,
    /// Reached the surface.
    surfaced_at: jiff::Timestamp,
    /// Who tells it, or which trip it was logged on.
    source: String,
});
payload!(/// All dives of the day before this trip, as known when it was told: exactly one person.
DivedEarlier {
    /// The dives, in any order; none: nothing was dived after all.
    dives: Vec<ToldDive>,
});
payload!(/// The site as planned.
SiteSheet {
    /// In the register.
    id: SiteId,
    /// Name.
    name: String,
    /// Reference position.
    position: Position,
    /// Chart as GeoJSON (RFC 7946).
    chart: Value,
    /// Distance kept from keep-clear areas, metres.
    stand_off_m: Distance,
    /// Salt or fresh, and the pressure above it.
    #[serde(default, skip_serializing_if = "Column::is_sea")]
    water: Column,
    /// Stream table and the high waters about the day, where they are known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    tides: Option<Tides>,
});
payload!(/// A dive is planned.
DivePlanned {
    /// The site.
    site: SiteSheet,
});
payload!(/// A level of a dive.
LevelPlan {
    /// Depth, metres.
    depth_m: Depth,
    /// Minutes on it, the way to it included.
    minutes: Minutes,
});
payload!(/// A stop.
StopPlan {
    /// Depth, metres.
    depth_m: Depth,
    /// Minutes.
    minutes: Minutes,
});
payload!(/// A plan as shown to the group.
PlanSheet {
    /// Levels in order of time.
    levels: Vec<LevelPlan>,
    /// The safety stop.
    safety_stop: StopPlan,
    /// Run time, minutes, from leaving the surface to being back at it.
    run_time_min: f64,
});
payload!(/// What a member breathes.
Kit {
    /// Water volume, litres.
    cylinder_l: CylinderLitres,
    /// Oxygen fraction.
    oxygen: OxygenFraction,
    /// Gauge pressure at the start.
    start_bar: CylinderBar,
    /// Breathing rate at the surface.
    breathing_l_min: LitresPerMinute,
});
payload!(/// A group: pairs or threes under a leader, with a plan.
GroupFormed {
    /// Marker letter, spoken in the phonetic alphabet.
    letter: String,
    /// Leader.
    leader: Option<PersonId>,
    /// Pairs and threes.
    units: Vec<Vec<PersonId>>,
    /// The plan.
    plan: PlanSheet,
    /// How the group comes back.
    mode: Mode,
    /// Name of the zone it swims to.
    exit_zone: Option<String>,
    /// Where it goes in, if not at the site's reference position.
    entry_place: Option<Position>,
    /// What each member breathes.
    kit: BTreeMap<PersonId, Kit>,
    /// A limit was overridden by name: who and why.
    limit_override: Option<String>,
    /// When it means to leave the surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    enters_at: Option<jiff::Timestamp>,
});
payload!(/// Does not dive.
GroupStoodDown {
    /// Why.
    reason: String,
});
payload!(/// One blind count.
HeadCounted {
    /// Where.
    point: Point,
    /// Which count at this point, from 1.
    call: u32,
    /// 1, or 2 for the recount.
    round: u32,
    /// How.
    method: Method,
    /// How many.
    people: u32,
    /// How many the log held aboard then; never shown to who counts.
    log_aboard: u32,
});
payload!(/// The roll by name; those present are the event's people.
RollCalled {
    /// Where.
    point: Point,
    /// Called and not seen.
    not_seen: Vec<PersonId>,
});
payload!(/// Left the quay.
Departed {
    /// Stated reason where a gate was overridden.
    override_reason: Option<String>,
});
payload!(/// On the site of a dive.
    OnSite {});
payload!(/// Sea and weather; what was not looked at is absent.
ConditionsObserved {
    /// Where the current goes.
    set_deg: Option<SetTowards>,
    /// How fast.
    drift_kn: Option<Knots>,
    /// Where the wind comes from.
    wind_from_deg: Option<WindFrom>,
    /// How fast.
    wind_kn: Option<Knots>,
    /// Under water, metres.
    visibility_m: Option<f64>,
    /// The sea.
    sea: Option<Sea>,
    /// Of the water, degrees Celsius.
    water_c: Option<f64>,
});
payload!(/// Where the boat is.
BoatPositioned {
    /// Where.
    position: Position,
    /// By what.
    source: PositionSource,
});
payload!(/// The checks before a drop.
DropChecked {
    /// The engine is in neutral.
    engine_neutral: bool,
    /// Flag A is shown, or the lights by night.
    flag_shown: bool,
    /// Each diver has a light; asked by night.
    lights: Option<bool>,
});
payload!(/// Deadlines as seconds from leaving the surface.
Offsets {
    /// Earliest.
    earliest_s: u32,
    /// Expected.
    expected_s: u32,
    /// Latest: late from here.
    latest_s: u32,
    /// Overdue from here.
    overdue_s: u32,
    /// From here all are treated as out of gas.
    endurance_s: u32,
});
/// Left the surface; the members are the event's people.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeftSurface {
    /// Deadlines, frozen at the drop.
    pub window: Offsets,
    /// Where.
    pub place: Option<Position>,
    /// Stops that the plan owed then, deepest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub owes: Vec<StopPlan>,
}
payload!(/// A bearing and range from the boat.
Bearing {
    /// Degrees true.
    bearing_deg: SetTowards,
    /// Metres.
    range_m: Distance,
});
payload!(/// A buoy.
BuoySeen {
    /// Colour.
    colour: BuoyColour,
    /// Where, if known.
    place: Option<Position>,
    /// As it was taken from the boat.
    from_boat: Option<Bearing>,
});
payload!(/// People seen at the surface: the event's people.
AtSurface {
    /// Signal.
    signal: Signal,
    /// Where, if known.
    place: Option<Position>,
    /// As it was taken from the boat.
    from_boat: Option<Bearing>,
});
payload!(/// The rest is well.
OthersWell {
    /// Who says so.
    said_by: PersonId,
});
payload!(/// Contact lost.
LostContact {
    /// Who says so.
    said_by: PersonId,
});
payload!(/// What a return leaves to say.
Return {
    /// When the person came up, if not seen coming up.
    surfaced_at: Option<jiff::Timestamp>,
    /// Left in the cylinder.
    bar: Option<CylinderBar>,
    /// Greatest depth.
    greatest_depth_m: Option<Depth>,
    /// The stop was done.
    stop_done: Option<bool>,
    /// Trouble or discomfort, in a few words; nothing medical.
    problem: Option<String>,
});
payload!(/// Out of the water: exactly one person, seen by a named person.
Aboard {
    /// Where to.
    vessel: Vessel,
    /// Who saw the person.
    seen_by: String,
    /// The rest.
    detail: Return,
});
payload!(/// More of a return.
ReturnNoted {
    /// The rest.
    detail: Return,
});
payload!(/// More time for a group.
MoreTime {
    /// How many minutes more.
    minutes: Minutes,
    /// Minutes granted before, as its author saw.
    granted_before_min: f64,
    /// Why.
    reason: String,
});
payload!(/// Recall.
RecallSounded {
    /// How.
    signal: String,
});
payload!(/// Missing.
PersonMissing {
    /// What is known.
    note: String,
});
payload!(/// Found.
PersonFound {
    /// On which vessel; none: at the surface.
    vessel: Option<Vessel>,
    /// Who saw the person.
    seen_by: String,
    /// Where.
    place: Option<Position>,
});
payload!(/// An emergency.
EmergencyDeclared {
    /// What happened.
    reason: String,
    /// The datum: best known place.
    datum: Option<Position>,
});
payload!(/// A step of the emergency plan.
EmergencyStep {
    /// Its number, from 0.
    step: u32,
    /// Its words.
    text: String,
    /// A note.
    note: Option<String>,
});
payload!(/// Over.
EmergencyEnded {
    /// How it ended.
    reason: String,
});
payload!(/// An alert was seen.
AlertAcknowledged {
    /// Which.
    alert: String,
    /// The cause it showed: a new cause sounds again.
    cause: String,
});
payload!(/// Thirty seconds of quiet.
AlertSilenced {
    /// Which.
    alert: String,
    /// The cause it showed.
    cause: String,
});
payload!(/// A lookout.
LookoutPosted {
    /// Name.
    name: String,
});
payload!(/// Relieved.
LookoutRelieved {
    /// Name.
    name: String,
});
payload!(/// Offered.
CommandHandedOver {
    /// To this account.
    to: CrewId,
    /// Its name.
    name: String,
});
payload!(/// Taken.
    CommandAccepted {});
payload!(/// Pickup as arranged.
PickupArranged {
    /// First entries of the order, as the skipper fixed them.
    fixed: Vec<String>,
    /// The pickup under way.
    under_way: Option<String>,
    /// Why, if said.
    reason: Option<String>,
});
payload!(/// What an incident record asks beside the note; what nobody knows is absent.
///
/// # Source
/// Fields: what is asked of a person who was found or hurt (depth, time, missed stops, signs,
/// oxygen, who was called) and of the place; common practice, no source for their order.
IncidentRecord {
    /// What it is about.
    sort: IncidentSort,
    /// Where, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    whereabouts: Option<String>,
    /// Where, as a position.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    place: Option<Position>,
    /// Greatest depth of the dive before it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    greatest_depth_m: Option<Depth>,
    /// Minutes under water on that dive.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    under_min: Option<Minutes>,
    /// Whether stops were missed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    stops_missed: Option<bool>,
    /// What was seen or told of the person: as little as helps. Stays out of lists and logs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    signs: Option<String>,
    /// When oxygen was first given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    oxygen_from: Option<jiff::Timestamp>,
    /// What was done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    done: Option<String>,
    /// Who was called, when, and what they said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    called: Option<String>,
    /// Who saw it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    witnesses: Option<String>,
    /// How it ended: where to the person went, with whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    outcome: Option<String>,
});
payload!(/// A note.
IncidentNoted {
    /// Text.
    text: String,
    /// The fields of an incident record, where somebody filled them in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    record: Option<IncidentRecord>,
});
payload!(/// Left the site.
LeftSite {
    /// Stated reason where a gate was overridden.
    override_reason: Option<String>,
});
payload!(/// Back.
    BackInHarbour {});
payload!(/// Closed.
TripClosed {
    /// Stated reason where a gate was overridden.
    override_reason: Option<String>,
});
payload!(/// Does not count.
Voided {
    /// Which event.
    of: EventId,
    /// Why.
    reason: String,
    /// No other crew member's device was in touch that could have seconded it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    alone: bool,
});

payload!(/// A locator beacon on the AIS: who it belongs to is not said.
BeaconHeard {
    /// Its identity: nine digits.
    identity: String,
    /// What it is.
    sort: BeaconSort,
    /// Where, if it says so.
    place: Option<Position>,
    /// Its own fix is lost: the place is where it was last.
    place_is_last: bool,
    /// It says that it is being tested.
    test: bool,
    /// What it says in words, if anything.
    text: Option<String>,
});
payload!(/// Not ours, or a test: the skipper's word.
BeaconDismissed {
    /// Its identity.
    identity: String,
    /// Why.
    reason: String,
});

/// What somebody signs: the log as it stood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignedOver {
    /// The last entry signed over, by the number of the box that wrote this.
    pub entry: u64,
    /// That box's chain there: SHA-256 as 64 hexadecimal digits.
    pub chain: String,
    /// The canonical digest of all that the author knew ([`super::digest`]), which is the same on
    /// every box: 64 hexadecimal digits.
    pub digest: String,
}
payload!(/// Signed, in the author's own role.
ReportSigned {
    /// What.
    over: SignedOver,
});
payload!(/// Sealed.
RecordSealed {
    /// Over what.
    over: SignedOver,
    /// The signatures it rests on.
    signatures: Vec<EventId>,
});

words!(/// How a condition of the go/no-go list is answered.
    Answer { /** It holds. */ Go, /** It does not hold. */ NoGo, /** Not answered after all. */ Open });

/// A condition of site, boat or crew that is looked at before departure.
///
/// # Source
/// Common practice, no source: which conditions stand on the list.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Wind and weather, now and as forecast.
    Weather,
    /// The sea at the quay and on the site.
    SeaState,
    /// Stream and slack against the latest surfacing.
    Stream,
    /// Sunset against the latest surfacing.
    Daylight,
    /// The crew is complete.
    CrewComplete,
    /// A lookout is named.
    LookoutNamed,
    /// Oxygen and first aid are aboard and checked.
    OxygenFirstAid,
    /// The radio is checked.
    Radio,
    /// The emergency plan is at hand.
    EmergencyPlan,
    /// The recall signal is agreed.
    RecallSignal,
    /// The passenger list is left ashore.
    ListAshore,
    /// A line of the centre's own.
    Own(String),
}

impl Condition {
    /// Those of every list, in its order.
    pub const USUAL: [Self; 11] = [
        Self::Weather,
        Self::SeaState,
        Self::Stream,
        Self::Daylight,
        Self::CrewComplete,
        Self::LookoutNamed,
        Self::OxygenFirstAid,
        Self::Radio,
        Self::EmergencyPlan,
        Self::RecallSignal,
        Self::ListAshore,
    ];
}

payload!(/// Answered.
ConditionAnswered {
    /// Which.
    condition: Condition,
    /// How.
    answer: Answer,
    /// A note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    note: Option<String>,
});
payload!(/// Decided: the skipper's word.
TripDecided {
    /// Go or not.
    go: bool,
    /// What did not stand at go, as the author saw it: the list can be read from the log alone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    not_go: Vec<Condition>,
    /// Why, where it is no go, or go over what did not stand at go.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
});

payload!(/// Waits: the person stands here and not among those the event is about, as nobody who
/// waits is on the roster.
WaitingJoined {
    /// Who.
    person: PersonId,
    /// What is known of the person.
    card: PersonCard,
    /// A wish, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    wish: Option<String>,
});
payload!(/// Waits no longer, without a place.
WaitingLeft {
    /// Who.
    person: PersonId,
    /// Why.
    reason: String,
});

words!(/// What is printed for a trip.
    Sheet { /** The boat sheet. */ BoatSheet, /** The passenger list. */ PassengerList, /** The briefing cards of a dive. */ Briefings });
words!(/// What a forecast is of.
    ForecastOf { /** Weather and wind. */ Weather, /** Sea and swell. */ Sea, /** Tide and stream. */ Tide });
payload!(/// Printed, as its author saw the page; of a dive, where the sheet is of one.
SheetPrinted {
    /// Which.
    sheet: Sheet,
});
payload!(/// A forecast, in words.
ForecastNoted {
    /// Of what.
    of: ForecastOf,
    /// What it says.
    text: String,
    /// Where it was read or heard, and of when it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    source: Option<String>,
});

impl Fact {
    /// Who waits, or waits no longer, by this: a person that the event is not about.
    #[must_use]
    pub fn waits(&self) -> Option<PersonId> {
        if let Self::WaitingJoined(joined) = self {
            Some(joined.person)
        } else if let Self::WaitingLeft(left) = self {
            Some(left.person)
        } else {
            None
        }
    }
}

/// Plain data to JSON. Such types hold no maps with keys that are not text and no failing
/// serialisers, so this cannot fail; were it to, the null would be refused when read again.
fn plain<T: Serialize>(payload: &T) -> Value {
    serde_json::to_value(payload).unwrap_or(Value::Null)
}
