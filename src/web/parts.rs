//! What the larger parts of a page are made from: alert rows, ledger rows and actions, as
//! plain values that a page fills and a template part draws.

use crate::web::marker::Mark;
use crate::web::rail::Rail;
use crate::words::Words;

/// How urgent a row is; the inked area grows with it.
///
/// # Source
/// The four priorities of IMO MSC.302(87), and none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// Normal has no colour.
    None,
    /// Awareness: dashed outline, square.
    Caution,
    /// Not yet hazardous: thick left bar, disc.
    Warning,
    /// Act now: the whole row, triangle.
    Alarm,
    /// Danger to life, declared by a person: the whole row, edged, triangle.
    Emergency,
}

impl Urgency {
    /// Its name in attributes.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Caution => "caution",
            Self::Warning => "warning",
            Self::Alarm => "alarm",
            Self::Emergency => "emergency",
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self, t: &Words) -> String {
        t.say(&format!("priority-{}", self.name()))
    }

    /// Its sign as SVG, in the colour of the text; hidden from screen readers, since the word
    /// stands beside it.
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Caution => {
                "<svg class=\"sign\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><path d=\"M4 4h16v16H4Z\"/></svg>"
            }
            Self::Warning => {
                "<svg class=\"sign\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><circle cx=\"12\" cy=\"12\" r=\"9\"/></svg>"
            }
            Self::Alarm | Self::Emergency => {
                "<svg class=\"sign\" viewBox=\"0 0 24 24\" aria-hidden=\"true\"><path d=\"M12 2 23 22H1Z\"/></svg>"
            }
        }
    }
}

/// Where an alert stands.
///
/// # Source
/// The states of IMO MSC.302(87), §7.3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AlertState {
    /// Nobody has answered: flashes and sounds.
    Active,
    /// Quiet for 30 s, still unanswered: flashes.
    Silenced,
    /// Answered by name: steady until mended.
    Acknowledged,
    /// Mended before anybody answered: stays listed until answered.
    Resolved,
}

impl AlertState {
    /// Its name in attributes.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Active => "active",
            Self::Silenced => "silenced",
            Self::Acknowledged => "acknowledged",
            Self::Resolved => "resolved",
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self, t: &Words) -> String {
        t.say(&format!("alert-state-{}", self.name()))
    }
}

/// One row of the alert strip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AlertRow {
    /// Stable identity of the alert; becomes the element's id.
    pub id: String,
    /// How urgent.
    pub urgency: Urgency,
    /// Where it stands.
    pub state: AlertState,
    /// The group it is about.
    pub mark: Option<Mark>,
    /// What is the matter: `Overdue: Delta, 4 people`.
    pub title: String,
    /// What to do, or who acknowledged.
    pub detail: String,
    /// Where it is handled.
    pub href: String,
    /// Since when it holds, RFC 3339.
    pub since_rfc3339: String,
    /// Until when it is quiet, RFC 3339, while silenced.
    pub quiet_until_rfc3339: Option<String>,
}

/// How far a group is, as the ledger shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Formed, not yet in.
    Ready,
    /// In the water, before the earliest time.
    Down,
    /// May come up.
    Window,
    /// The expected time has passed.
    Due,
    /// The latest time has passed.
    Late,
    /// The grace has passed.
    Overdue,
    /// A buoy was seen, nobody yet.
    Buoy,
    /// Some are at the surface, some are not.
    Split,
    /// All seen at the surface.
    Surface,
    /// A person has declared distress.
    Distress,
    /// A person is missing.
    Missing,
    /// Statements differ: counts as not safe.
    Unresolved,
    /// Everyone aboard.
    Aboard,
}

impl Phase {
    /// Its name in attributes.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Ready => "ready",
            Self::Down => "down",
            Self::Window => "window",
            Self::Due => "due",
            Self::Late => "late",
            Self::Overdue => "overdue",
            Self::Buoy => "buoy",
            Self::Split => "split",
            Self::Surface => "surface",
            Self::Distress => "distress",
            Self::Missing => "missing",
            Self::Unresolved => "unresolved",
            Self::Aboard => "aboard",
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self, t: &Words) -> String {
        t.say(&format!("phase-{}", self.name()))
    }
}

/// The instants of a group that is in the water, RFC 3339. A page with them changes phase by
/// itself when an instant passes, even if the server is silent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instants {
    /// Earliest time of surfacing.
    pub earliest: String,
    /// Expected time.
    pub expected: String,
    /// Latest time.
    pub latest: String,
    /// Overdue from here.
    pub overdue: String,
}

/// The key numeral of a ledger row, with the words round it: `late in 4 min`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// Before the numeral: `late in`.
    pub caption: String,
    /// The numeral: `4`, or a time such as `12:41`.
    pub value: String,
    /// After it: `min`.
    pub unit: String,
    /// The instant it counts to or from, RFC 3339; none for a figure that stands still.
    pub counts_to: Option<String>,
}

/// One row of the ledger: a group.
#[derive(Debug, Clone, PartialEq)]
pub struct LedgerRow {
    /// Stable identity of the group; becomes the element's id.
    pub id: String,
    /// Where the whole row leads.
    pub href: String,
    /// Its marker.
    pub mark: Mark,
    /// Counts and names: `4 people · Lind, Okoro, Sato, Weiss`.
    pub who: String,
    /// Why the row stands here, or what to do: one short sentence.
    pub why: String,
    /// What is reckoned of its stops; empty where none are owed and nobody was recalled.
    pub stops: String,
    /// How far the group is.
    pub phase: Phase,
    /// How urgent the row is.
    pub urgency: Urgency,
    /// The key numeral.
    pub figure: Figure,
    /// The time rail, where the group has a window.
    pub rail: Option<Rail>,
    /// The clock is not confirmed: what would be in time by it is to be checked now.
    pub check_now: bool,
    /// Its instants, while its phase follows from the time alone.
    pub instants: Option<Instants>,
    /// The server's time at rendering, RFC 3339: where the rail stands.
    pub now_rfc3339: String,
}

/// Whether something in these rows is reckoned rather than seen, so that it must be said.
#[must_use]
pub fn is_reckoned(rows: &[LedgerRow]) -> bool {
    rows.iter().any(|row| !row.stops.is_empty())
}

impl LedgerRow {
    /// The rail as SVG, or nothing.
    ///
    /// # Errors
    /// [`std::fmt::Error`] if the text cannot grow.
    pub fn rail_svg(&self) -> Result<String, std::fmt::Error> {
        let label = format!(
            "{} {} {}",
            self.figure.caption, self.figure.value, self.figure.unit
        );
        self.rail.map_or(Ok(String::new()), |rail| {
            rail.svg(&self.now_rfc3339, &label)
        })
    }
}

/// The weight of an action's button.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// The one thing to do here, filled.
    Primary,
    /// Anything else, outlined.
    Plain,
    /// What cannot be undone, filled as an alarm.
    Grave,
}

impl Weight {
    /// Its name in the style sheet.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Primary => "primary",
            Self::Plain => "plain",
            Self::Grave => "grave",
        }
    }
}

/// Something a person can do with one tap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Action {
    /// The verb, with its object if it is not plain.
    pub label: String,
    /// A second line: what follows, or on whom.
    pub note: String,
    /// Where it is sent.
    pub url: String,
    /// The hidden fields that go with it: what the page knew, the group, the person.
    pub fields: Vec<(String, String)>,
    /// Weight of the button.
    pub weight: Weight,
    /// For what cannot be undone: the page that asks again. With scripts, holding the button
    /// for 0.8 s does it at once; a tap always goes to that page.
    pub confirm_url: Option<String>,
}

impl Action {
    /// A plain action without hidden fields.
    #[must_use]
    pub fn new(label: impl Into<String>, url: impl Into<String>, weight: Weight) -> Self {
        Self {
            label: label.into(),
            note: String::new(),
            url: url.into(),
            fields: Vec::new(),
            weight,
            confirm_url: None,
        }
    }

    /// With a hidden field.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<String>) -> Self {
        self.fields.push((name.to_owned(), value.into()));
        self
    }
}

/// One choice of a set of tiles or of a select.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What is sent.
    pub value: String,
    /// What is read.
    pub label: String,
    /// A second line; may be empty.
    pub note: String,
    /// Whether it is chosen.
    pub chosen: bool,
}

/// A fault shown in the summary and beside its field: the same words in both places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldFault {
    /// The id of the field's input.
    pub field: String,
    /// The sentence.
    pub text: String,
}

/// The sentence for a field, or nothing.
#[must_use]
pub fn fault_of<'a>(faults: &'a [FieldFault], field: &str) -> &'a str {
    faults
        .iter()
        .find(|fault| fault.field == field)
        .map_or("", |fault| fault.text.as_str())
}
