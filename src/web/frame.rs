//! The frame around every page: palette, drill marking, who works here, the live stream, and
//! the alert strip, which has a place of its own on every screen.

use crate::web::notices::NoticeRow;
use crate::web::parts::{Action, AlertRow, AlertState};
use crate::words::Words;

/// The colours of a screen, chosen by hand in one tap: never only by the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Palette {
    /// Dark on light, for sun.
    #[default]
    Day,
    /// Light on dark grey.
    Dusk,
    /// Amber on near black: keeps night vision.
    Night,
}

impl Palette {
    /// All, in the order of the switch.
    pub const ALL: [Self; 3] = [Self::Day, Self::Dusk, Self::Night];

    /// Its name in the cookie, the form and the style sheet.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Dusk => "dusk",
            Self::Night => "night",
        }
    }

    /// The palette of this name, as a cookie or a form carries it.
    #[must_use]
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|palette| palette.name() == name)
    }

    /// What the switch calls it.
    #[must_use]
    pub fn word(self, t: &Words) -> String {
        t.say(&format!("palette-{}", self.name()))
    }
}

/// The place of work a page belongs to: it sets the size of text and targets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Skipper's tablet: text from 24 px, targets from 72 px.
    Helm,
    /// Divemaster's phone: text from 20 px, targets from 72 px.
    Deck,
    /// A PC ashore: targets from 44 px.
    Desk,
    /// None of the three: signing in, errors.
    None,
}

impl Place {
    /// Its name in the style sheet.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Helm => "helm",
            Self::Deck => "deck",
            Self::Desk => "desk",
            Self::None => "none",
        }
    }
}

/// Who is signed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    /// The crew member's name.
    pub name: String,
    /// The role, as a word.
    pub role: String,
}

/// What a page needs to stay live.
#[derive(Debug, Clone, PartialEq)]
pub struct LiveInfo {
    /// The trip shown.
    pub trip_id: String,
    /// The last entry of its log that the page knows.
    pub entry: u64,
    /// The server's time at rendering, RFC 3339 with the boat's offset: times shown by
    /// scripts use this offset.
    pub server_time_rfc3339: String,
    /// The same time as read by people: `12:41 local`.
    pub server_time_words: String,
    /// How many seconds of the server's clock pass in one second: 1, or more in a drill.
    pub clock_speed: f64,
    /// Where the picture is.
    pub picture_url: String,
    /// Where the stream of named events `picture` and `beat` is.
    pub stream_url: String,
    /// Seconds after which a page without scripts loads itself again; none where that is
    /// switched off.
    pub refresh_s: Option<u32>,
    /// When the certificate that this page came by ends, RFC 3339: from then on the device is
    /// alone, and has to say why.
    pub certificate_ends: Option<String>,
    /// The address that works without a certificate, if there is one.
    pub basic_url: Option<String>,
    /// Who acts on which device, for what a device says while it is alone.
    pub author: Author,
}

/// What stands under an event that is made on this device.
#[derive(Debug, Clone, PartialEq)]
pub struct Author {
    /// The device's identity.
    pub device: String,
    /// The crew account.
    pub crew: String,
    /// Its name.
    pub name: String,
    /// The role acted in, as the log writes it.
    pub role: &'static str,
}

/// A link of the spine: the way to another page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// What it is called.
    pub label: String,
    /// Where it leads.
    pub href: String,
    /// Whether it is this page.
    pub here: bool,
}

/// An alarm that covers the helm until it is answered.
#[derive(Debug, Clone)]
pub struct Cover {
    /// What is the matter.
    pub title: String,
    /// What to do.
    pub detail: String,
    /// Its sign, as SVG.
    pub sign: &'static str,
    /// Since when it holds, RFC 3339.
    pub since_rfc3339: String,
    /// Where it stands: a silenced one covers nothing.
    pub state: AlertState,
    /// Whether fifteen seconds have gone.
    pub is_due: bool,
    /// The answer in one tap.
    pub acknowledge: Action,
    /// Thirty seconds of quiet.
    pub quiet: Action,
}

/// The frame around a page.
#[derive(Debug, Clone)]
pub struct Frame {
    /// The words of the language.
    pub t: &'static Words,
    /// The colours chosen.
    pub palette: Palette,
    /// Whether everything here is a drill: striped frame, and the word in every title.
    pub drill: bool,
    /// Whether the page must be kept open to alarm: plain HTTP gives it no more.
    pub basic: bool,
    /// Stands before the title: `Error: ` when a form was refused.
    pub title_prefix: String,
    /// Who is signed in, if anybody.
    pub who: Option<Who>,
    /// The place of work.
    pub place: Place,
    /// The live stream, on pages of a trip under way.
    pub live: Option<LiveInfo>,
    /// Path and query of this page, to come back to after a switch of palette.
    pub path: String,
    /// Whether the page answers a form; such a page keeps what it says while it is renewed.
    pub is_answer: bool,
    /// The alerts, worst first. None where there is no watch to show, as at signing in.
    pub alerts: Option<Vec<AlertRow>>,
    /// What is wrong with the box itself, worst first; stands below the alerts.
    pub notices: Vec<NoticeRow>,
    /// The worst alarm that nobody has answered: it covers the helm after fifteen seconds.
    pub cover: Option<Cover>,
    /// Where all alerts are listed and handled.
    pub alerts_url: String,
    /// The ways to other pages, in the spine.
    pub ways: Vec<Way>,
}

impl Frame {
    /// A frame with nothing in it yet.
    #[must_use]
    pub fn new(place: Place, path: impl Into<String>) -> Self {
        Self {
            t: crate::web::language::words(),
            palette: Palette::default(),
            drill: false,
            basic: false,
            title_prefix: String::new(),
            who: None,
            place,
            live: None,
            path: path.into(),
            is_answer: false,
            alerts: None,
            notices: Vec::new(),
            cover: None,
            alerts_url: String::new(),
            ways: Vec::new(),
        }
    }

    /// The alerts of the strip.
    #[must_use]
    pub fn alert_rows(&self) -> &[AlertRow] {
        self.alerts.as_deref().unwrap_or_default()
    }

    /// The address of a static file.
    #[must_use]
    pub fn asset(&self, path: &str) -> String {
        crate::web::assets::asset(path)
    }

    /// Names the files of this program: another value, and the page was drawn by another one.
    #[must_use]
    pub fn build(&self) -> &'static str {
        crate::web::assets::tree_hash()
    }

    /// The program's version, as events carry it.
    #[must_use]
    pub fn app(&self) -> &'static str {
        crate::trip::event::APP_VERSION
    }

    /// What stands before the page's own title.
    #[must_use]
    pub fn title_start(&self) -> String {
        let mut start = self.title_prefix.clone();
        if self.drill {
            start.push_str(&self.t.say("drill"));
            start.push_str(" · ");
        }
        start
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_palette_is_found_by_its_own_name_only() {
        for palette in Palette::ALL {
            assert_eq!(Palette::by_name(palette.name()), Some(palette));
        }
        assert_eq!(Palette::by_name("Day"), None);
        assert_eq!(Palette::by_name(""), None);
    }

    #[test]
    fn a_drill_is_named_after_the_error() {
        let mut frame = Frame::new(Place::Desk, "/");
        frame.title_prefix = "Error: ".to_owned();
        frame.drill = true;
        assert_eq!(frame.title_start(), "Error: DRILL · ");
    }
}
