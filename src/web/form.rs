//! Forms of pages: what was typed, read field by field with every fault kept beside its field,
//! so that a refused form comes back with what was typed still in it.

use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

use super::error::Error;
use super::parts::FieldFault;
use crate::sea::position::Position;
use crate::sea::typed::{degrees, plain_number};
use crate::trip::decide::{Refusal, Refused};
use crate::units::bounds::{self, Bounds};
use crate::units::is_plain;
use crate::units::system::{Measure, System};
use crate::words::{Arg, Words};

/// Most fields of one form: a roster of 200 with a few fields each.
const MOST_FIELDS: usize = 5_000;
/// Longest reason that is typed for an act, characters: what an event takes.
pub(super) const LONGEST_REASON: usize = 2_000;
/// Longest name that is typed, characters.
pub(super) const LONGEST_NAME: usize = 80;

/// The hidden field by which a page says in which units its figures are typed. One that says
/// nothing is metric, and counts only where the centre is.
pub(super) const TYPED_IN: &str = "typed_in";

/// What goes with a form into which quantities are typed, beside its tokens.
pub(super) fn typed_in() -> Option<(String, String)> {
    let units = crate::web::language::units();
    (units != System::Metric).then(|| (TYPED_IN.to_owned(), units.word().to_owned()))
}

/// The keys of a field for a cylinder's size: two figures are typed where cubic feet are.
pub(super) fn size_keys() -> &'static str {
    match crate::web::language::units() {
        System::Metric => "decimal",
        System::Imperial => "text",
    }
}

/// The fields of a form as typed, and the faults found so far.
#[derive(Debug, Default)]
pub struct Fields {
    typed: Vec<(String, String)>,
    // Handlers hold the fields while they wait for the store.
    faults: Mutex<Vec<FieldFault>>,
}

impl<S: Send + Sync> FromRequest<S> for Fields {
    type Rejection = Error;

    async fn from_request(request: Request, state: &S) -> Result<Self, Error> {
        let body = Bytes::from_request(request, state)
            .await
            .map_err(|_| Error::TooLarge)?;
        Self::read(&body)
    }
}

/// A range as the page says it: `from 1 to 100 m`.
pub(super) fn in_words(bounds: &Bounds, system: System) -> String {
    let words = crate::web::language::words();
    let (min, max) = bounds.measure.map_or((bounds.min, bounds.max), |measure| {
        measure.range(bounds, system)
    });
    let args = [("min", min.into()), ("max", max.into())];
    let range = words.say_with("bounds", &args);
    let unit = match bounds.measure {
        Some(measure) => words.say(measure.unit(system).key()),
        None => bounds.unit.to_owned(),
    };
    format!("{range} {unit}").trim_end().to_owned()
}

impl Fields {
    /// The fields of a body as a browser sends it.
    ///
    /// # Errors
    /// If there are too many.
    pub fn read(body: &[u8]) -> Result<Self, Error> {
        let typed: Vec<(String, String)> = form_urlencoded::parse(body)
            .into_owned()
            .take(MOST_FIELDS + 1)
            .collect();
        if typed.len() > MOST_FIELDS {
            return Err(Error::TooLarge);
        }
        Ok(Self::of(typed))
    }

    /// These fields.
    #[must_use]
    pub fn of(typed: Vec<(String, String)>) -> Self {
        Self {
            typed,
            faults: Mutex::default(),
        }
    }

    /// What was typed into a field, trimmed; empty if it is not there.
    #[must_use]
    pub fn typed(&self, name: &str) -> &str {
        self.typed
            .iter()
            .find(|(n, _)| n == name)
            .map_or("", |(_, v)| v.trim())
    }

    /// All values of a field that can be given more than once.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.typed
            .iter()
            .filter(move |(n, _)| n == name)
            .map(|(_, v)| v.trim())
    }

    /// All fields in the order of the page.
    #[must_use]
    pub fn pairs(&self) -> &[(String, String)] {
        &self.typed
    }

    /// Whether a box is ticked.
    #[must_use]
    pub fn ticked(&self, name: &str) -> bool {
        !self.typed(name).is_empty()
    }

    /// The faults so far; a list that is only added to is sound whatever happened to who held it.
    /// Notes a fault of a field by the key of its sentence.
    pub fn fault(&self, field: &str, key: &str, args: &[(&str, Arg)]) {
        let text = crate::web::language::words().say_with(key, args);
        self.noted().push(FieldFault {
            field: field.to_owned(),
            text,
        });
    }

    fn noted(&self) -> std::sync::MutexGuard<'_, Vec<FieldFault>> {
        self.faults.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The faults found so far.
    #[must_use]
    pub fn faults(&self) -> Vec<FieldFault> {
        let mut faults = self.noted().clone();
        // What was typed stands there again, beside the signs of other units.
        let others = |units| units != crate::web::language::units();
        if !faults.is_empty() && self.units().is_some_and(others) {
            faults.push(FieldFault {
                field: String::new(),
                text: crate::web::language::words().say("fault-units"),
            });
        }
        faults
    }

    /// Whether nothing was wrong so far.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.noted().is_empty()
    }

    /// Text of 1 to `longest` characters.
    pub fn text(&self, name: &str, longest: usize) -> Option<String> {
        let text = self.optional_text(name, longest)?;
        if text.is_none() {
            self.fault(name, "fault-empty", &[]);
        }
        text
    }

    /// Text of at most `longest` characters. The outer `None` is a fault, the inner absence.
    pub fn optional_text(&self, name: &str, longest: usize) -> Option<Option<String>> {
        let text = self.typed(name);
        if text.chars().count() > longest {
            self.fault(name, "fault-long", &[("longest", longest.into())]);
            return None;
        }
        if !text.chars().all(is_plain) {
            self.fault(name, "fault-control", &[]);
            return None;
        }
        Some((!text.is_empty()).then(|| text.to_owned()))
    }

    /// Text of at most `longest` characters, empty if nothing is typed: whether that will do is
    /// the rules' to say. `None` is a fault.
    pub fn or_empty(&self, name: &str, longest: usize) -> Option<String> {
        self.optional_text(name, longest)
            .map(Option::unwrap_or_default)
    }

    /// The units that figures were typed in, as their page said. None where that page was drawn
    /// before the centre went over to others: whatever it holds may be of either.
    pub fn units(&self) -> Option<System> {
        match self.typed(TYPED_IN) {
            "" => (crate::web::language::units() == System::Metric).then_some(System::Metric),
            word => System::by_word(word),
        }
    }

    fn out_of_range(&self, name: &str, bounds: &Bounds) {
        let system = self.units().unwrap_or_default();
        let key = if (bounds.measure, system) == (Some(Measure::Size), System::Imperial) {
            "fault-stamped"
        } else {
            "fault-number"
        };
        self.fault(name, key, &[("allowed", in_words(bounds, system).into())]);
    }

    /// A figure within bounds, in the metric unit whatever it was typed in; a comma counts as the
    /// decimal point.
    pub fn number(&self, name: &str, bounds: &Bounds) -> Option<f64> {
        let number = self.optional_number(name, bounds)?;
        if number.is_none() {
            self.out_of_range(name, bounds);
        }
        number
    }

    /// The same, if anything is typed.
    pub fn optional_number(&self, name: &str, bounds: &Bounds) -> Option<Option<f64>> {
        let text = self.typed(name);
        if text.is_empty() {
            return Some(None);
        }
        let read = match bounds.measure {
            Some(measure) => {
                let Some(system) = self.units() else {
                    self.fault(name, "fault-units", &[]);
                    return None;
                };
                measure.read(text, system)
            }
            None => plain_number(text),
        };
        let number = read.filter(|number| bounds.holds(*number));
        if number.is_none() {
            self.out_of_range(name, bounds);
        }
        number.map(Some)
    }

    /// A whole figure from 0 to `most`.
    pub fn whole(&self, name: &str, most: u32) -> Option<u32> {
        match self.typed(name).parse::<u32>() {
            Ok(number) if number <= most => Some(number),
            Ok(_) | Err(_) => {
                self.fault(name, "fault-whole", &[("most", i64::from(most).into())]);
                None
            }
        }
    }

    /// An identity or a value of another type that reads itself from text.
    pub fn parsed<T: std::str::FromStr>(&self, name: &str) -> Option<T> {
        let parsed = self.typed(name).parse().ok();
        if parsed.is_none() {
            self.fault(name, "fault-choose", &[]);
        }
        parsed
    }

    /// Everything chosen under one name.
    pub fn parsed_all<T: std::str::FromStr + Ord>(&self, name: &str) -> Option<BTreeSet<T>> {
        let parsed: Result<BTreeSet<T>, _> = self.all(name).map(str::parse).collect();
        let parsed = parsed.ok();
        if parsed.is_none() {
            self.fault(name, "fault-choose", &[]);
        }
        parsed
    }

    /// One of these words.
    pub fn word<T: Copy>(&self, name: &str, words: &[(&str, T)]) -> Option<T> {
        let typed = self.typed(name);
        let found = words
            .iter()
            .find(|(word, _)| *word == typed)
            .map(|(_, meaning)| *meaning);
        if found.is_none() {
            self.fault(name, "fault-choose", &[]);
        }
        found
    }

    /// A day within `allowed`, if anything is typed; `key` is the sentence of the fault.
    pub fn optional_day(
        &self,
        name: &str,
        allowed: std::ops::RangeInclusive<Date>,
        key: &str,
    ) -> Option<Option<Date>> {
        let typed = self.typed(name);
        if typed.is_empty() {
            return Some(None);
        }
        let day = typed.parse().ok().filter(|day| allowed.contains(day));
        if day.is_none() {
            self.fault(name, key, &[]);
        }
        day.map(Some)
    }

    /// A quantity with a constructor of its own.
    pub fn quantity<T>(
        &self,
        name: &str,
        bounds: &Bounds,
        make: impl Fn(f64) -> Result<T, crate::units::OutOfRange>,
    ) -> Option<T> {
        let number = self.number(name, bounds)?;
        let made = make(number).ok();
        if made.is_none() {
            self.out_of_range(name, bounds);
        }
        made
    }

    /// The same, if anything is typed.
    pub fn optional_quantity<T>(
        &self,
        name: &str,
        bounds: &Bounds,
        make: impl Fn(f64) -> Result<T, crate::units::OutOfRange>,
    ) -> Option<Option<T>> {
        if self.typed(name).is_empty() {
            Some(None)
        } else {
            self.quantity(name, bounds, make).map(Some)
        }
    }

    /// 'Happened at': a time of day (`14:05`), taken as the last such time before now in the
    /// boat's zone, or a date with time. Empty: now.
    pub fn happened_at(
        &self,
        name: &str,
        zone: &TimeZone,
        now: Timestamp,
    ) -> Option<Option<Timestamp>> {
        let text = self.typed(name);
        if text.is_empty() {
            return Some(None);
        }
        let at = read_time(text, zone, now);
        if at.is_none() {
            self.fault(name, "fault-time", &[]);
        }
        at.map(Some)
    }

    /// A time of the day that begins at `midnight` in the boat's zone; none, if empty.
    pub fn time_of_day(
        &self,
        name: &str,
        zone: &TimeZone,
        midnight: Timestamp,
    ) -> Option<Option<Timestamp>> {
        let text = self.typed(name);
        if text.is_empty() {
            return Some(None);
        }
        let day = midnight.to_zoned_datetime(zone.clone()).date();
        let time = digits(text).or_else(|| text.parse().ok());
        let at = time.and_then(|time| day.to_datetime(time).to_zoned_datetime(zone.clone()).ok());
        if at.is_none() {
            self.fault(name, "fault-time", &[]);
        }
        at.map(|zoned| Some(zoned.timestamp()))
    }

    /// A position typed as two figures, degrees or degrees and minutes; none if both are empty.
    pub fn position(&self, lat: &str, lon: &str) -> Option<Option<Position>> {
        let (north, east) = (self.typed(lat), self.typed(lon));
        if north.is_empty() && east.is_empty() {
            return Some(None);
        }
        let lat_deg = degrees(north, 'N', 'S').filter(|d| bounds::LATITUDE_DEG.holds(*d));
        let lon_deg = degrees(east, 'E', 'W').filter(|d| bounds::LONGITUDE_DEG.holds(*d));
        for (name, read) in [(lat, lat_deg), (lon, lon_deg)] {
            if read.is_none() {
                self.fault(name, "fault-degrees", &[]);
            }
        }
        Position::from_degrees(lon_deg?, lat_deg?).ok().map(Some)
    }
}

fn read_time(text: &str, zone: &TimeZone, now: Timestamp) -> Option<Timestamp> {
    if let Ok(full) = text.parse::<DateTime>() {
        return full
            .to_zoned_datetime(zone.clone())
            .ok()
            .map(|zoned| zoned.timestamp());
    }
    let time: jiff::civil::Time = match digits(text) {
        Some(time) => time,
        None => text.parse().ok()?,
    };
    let today = now.to_zoned_datetime(zone.clone()).date();
    let at = |date: jiff::civil::Date| {
        date.to_datetime(time)
            .to_zoned_datetime(zone.clone())
            .ok()
            .map(|zoned| zoned.timestamp())
    };
    let later_than_now = |at: &Timestamp| at.duration_since(now).as_secs() > 12 * 3600;
    // 23:50 typed just after midnight was yesterday.
    match at(today) {
        Some(found) if later_than_now(&found) => at(today.yesterday().ok()?),
        found => found,
    }
}

/// `1405` or `905`: a keypad of figures has no colon.
fn digits(text: &str) -> Option<jiff::civil::Time> {
    if !matches!(text.len(), 3 | 4) || !text.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let figure: i16 = text.parse().ok()?;
    let hour = i8::try_from(figure / 100).ok()?;
    let minute = i8::try_from(figure % 100).ok()?;
    jiff::civil::Time::new(hour, minute, 0, 0).ok()
}

/// A refusal of the trip's rules as sentences beside their fields.
#[must_use]
pub fn sentences(refused: &Refused, words: &Words) -> Vec<FieldFault> {
    refused
        .0
        .iter()
        .map(|refusal| sentence(refusal, words))
        .collect()
}

/// One refusal as a sentence.
#[must_use]
pub fn sentence(refusal: &Refusal, words: &Words) -> FieldFault {
    let mut args: Vec<(&str, Arg)> = refusal
        .args
        .iter()
        .map(|(name, value)| (*name, Arg::from(value)))
        .collect();
    args.extend(
        refusal
            .finding
            .as_ref()
            .map(|finding| ("what", finding.say(words).into())),
    );
    let field = match &refusal.row {
        Some(row) => format!("{}-{row}", refusal.field),
        None => refusal.field.to_owned(),
    };
    FieldFault {
        field,
        text: words.say_with(refusal.key, &args),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_of_day_is_the_last_such_time() {
        let zone = TimeZone::get("Indian/Maldives").unwrap();
        let now: Timestamp = "2026-05-04T19:10:00Z".parse().unwrap(); // 00:10 local on the 5th
        let at = read_time("23:50", &zone, now).unwrap();
        assert_eq!(at.to_string(), "2026-05-04T18:50:00Z");
        for text in ["25:00", "2500", "1275", "12345", "+905", "-905"] {
            assert_eq!(read_time(text, &zone, now), None, "{text}");
        }
    }

    #[test]
    fn figures_alone_are_a_time_as_a_keypad_has_no_colon() {
        let now: Timestamp = "2026-05-04T19:10:00Z".parse().unwrap();
        for (typed, with_colon) in [("1405", "14:05"), ("905", "09:05"), ("0000", "00:00")] {
            let read = read_time(typed, &TimeZone::UTC, now);
            assert!(read.is_some());
            assert_eq!(read, read_time(with_colon, &TimeZone::UTC, now));
        }
    }

    #[test]
    fn every_fault_of_a_form_is_kept() {
        let pair = |n: &str, v: &str| (n.to_owned(), v.to_owned());
        let fields = Fields::of(vec![
            pair("depth", "NaN"),
            pair("name", " "),
            pair("at", "soon"),
        ]);
        assert!(fields.number("depth", &bounds::DEPTH_M).is_none());
        assert!(fields.text("name", 60).is_none());
        assert!(
            fields
                .happened_at("at", &TimeZone::UTC, Timestamp::UNIX_EPOCH)
                .is_none()
        );
        let named: Vec<String> = fields.faults().into_iter().map(|f| f.field).collect();
        assert_eq!(named, ["depth", "name", "at"]);
    }
}
