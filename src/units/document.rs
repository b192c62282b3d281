//! Reads a JSON document field by field and collects *every* fault with its path, so that
//! whoever sent it can mend it in one go. Deserialising with serde stops at the first.
//!
//! Use: take fields with the typed getters (each notes its fault and answers `None`), then
//! call [`Object::close`], which notes every field nobody asked for.

use std::cell::RefCell;
use std::collections::BTreeSet;

use jiff::Timestamp;
use serde_json::{Map, Value};

use super::bounds::Bounds;
use super::{Faults, OutOfRange, turns_the_line};

/// Most faults worth telling in one answer; a hostile document could name millions.
const MOST_FAULTS: usize = 100;

/// Parses text as JSON. Not-a-number has no spelling in JSON and is refused here.
///
/// # Errors
/// One fault with the place of the slip.
pub fn parse(text: &[u8]) -> Result<Value, Faults> {
    serde_json::from_slice(text).map_err(|cause| {
        Faults::one(
            "",
            format!("is not JSON: {cause}"),
            "one JSON document (RFC 8259)",
        )
    })
}

/// Collects faults while a document is read.
#[derive(Debug, Default)]
pub struct Reader {
    faults: RefCell<Faults>,
}

impl Reader {
    /// A reader without faults.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Notes a fault found by the caller.
    pub fn fault(
        &self,
        path: impl Into<String>,
        what: impl Into<String>,
        allowed: impl Into<String>,
    ) {
        let mut faults = self.faults.borrow_mut();
        if faults.iter().count() < MOST_FAULTS {
            faults.add(path, what, allowed);
        }
    }

    /// Whether nothing was wrong so far.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        self.faults.borrow().is_empty()
    }

    /// `value` if the document was sound.
    ///
    /// # Errors
    /// All faults noted; or one general fault if `value` is `None` though none was noted.
    pub fn finish<T>(self, value: Option<T>) -> Result<T, Faults> {
        let faults = self.faults.into_inner();
        match value {
            Some(value) => faults.or(value),
            None if faults.is_empty() => Err(Faults::one("", "is incomplete", "")),
            None => Err(faults),
        }
    }

    /// Reads `value` as an object standing at `path`.
    pub fn object<'a>(&'a self, path: &str, value: &'a Value) -> Option<Object<'a>> {
        if let Value::Object(map) = value {
            return Some(Object {
                reader: self,
                path: path.to_owned(),
                map,
                asked: RefCell::default(),
            });
        }
        self.fault(path, format!("is {}", kind_of(value)), "an object");
        None
    }

    /// Reads `value` as a number within `bounds`.
    pub fn number(&self, path: &str, value: &Value, bounds: &Bounds) -> Option<f64> {
        let allowed = || format!("a number {}", bounds.in_words());
        let Some(number) = value.as_f64() else {
            self.fault(path, format!("is {}", kind_of(value)), allowed());
            return None;
        };
        if bounds.holds(number) {
            return Some(number);
        }
        self.fault(path, format!("is {number}"), allowed());
        None
    }

    /// Reads `value` as a whole number within `bounds`.
    pub fn whole(&self, path: &str, value: &Value, bounds: &Bounds) -> Option<u32> {
        let number = self.number(path, value, bounds)?;
        if number.fract() == 0.0 && number >= 0.0 && number <= f64::from(u32::MAX) {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "whole, not negative and small enough, as checked above"
            )]
            return Some(number as u32);
        }
        self.fault(
            path,
            format!("is {number}"),
            format!("a whole number {}", bounds.in_words()),
        );
        None
    }

    /// Reads `value` as text of 1 to `longest` characters after trimming, without control
    /// characters other than line breaks and tabs, and without what turns a line round.
    pub fn text(&self, path: &str, value: &Value, longest: usize) -> Option<String> {
        let allowed = || format!("text of 1 to {longest} characters");
        let Value::String(text) = value else {
            self.fault(path, format!("is {}", kind_of(value)), allowed());
            return None;
        };
        let trimmed = text.trim();
        let length = trimmed.chars().count();
        if trimmed.is_empty() {
            self.fault(path, "is empty", allowed());
        } else if length > longest {
            self.fault(path, format!("has {length} characters"), allowed());
        } else if trimmed
            .chars()
            .any(|c| c.is_control() && c != '\n' && c != '\r' && c != '\t')
        {
            self.fault(path, "holds a control character", allowed());
        } else if trimmed.chars().any(turns_the_line) {
            self.fault(
                path,
                "holds a character that turns its line round",
                allowed(),
            );
        } else {
            return Some(trimmed.to_owned());
        }
        None
    }

    /// Reads `value` as an instant with offset (RFC 3339).
    pub fn instant(&self, path: &str, value: &Value) -> Option<Timestamp> {
        const ALLOWED: &str = "an RFC 3339 time with offset, such as 2026-06-01T09:32:00Z";
        let Value::String(text) = value else {
            self.fault(path, format!("is {}", kind_of(value)), ALLOWED);
            return None;
        };
        let parsed = text.parse::<Timestamp>();
        if parsed.is_err() {
            self.fault(path, format!("is '{}'", shorten(text)), ALLOWED);
        }
        // The fault above carries what the parser's error would say.
        parsed.ok()
    }

    /// Reads `value` as `true` or `false`.
    pub fn flag(&self, path: &str, value: &Value) -> Option<bool> {
        let flag = value.as_bool();
        if flag.is_none() {
            self.fault(path, format!("is {}", kind_of(value)), "true or false");
        }
        flag
    }

    /// Reads `value` as one of the given words.
    pub fn word<T: Copy>(&self, path: &str, value: &Value, words: &[(&str, T)]) -> Option<T> {
        let found = value
            .as_str()
            .and_then(|text| words.iter().find(|(word, _)| *word == text));
        if let Some((_, meaning)) = found {
            return Some(*meaning);
        }
        let allowed = words
            .iter()
            .map(|(word, _)| *word)
            .collect::<Vec<_>>()
            .join(", ");
        let what = value.as_str().map_or_else(
            || kind_of(value).to_owned(),
            |t| format!("'{}'", shorten(t)),
        );
        self.fault(path, format!("is {what}"), format!("one of {allowed}"));
        None
    }

    /// Reads `value` as a list of at most `most` elements.
    pub fn list<'a>(&self, path: &str, value: &'a Value, most: usize) -> Option<&'a [Value]> {
        let what = match value.as_array() {
            Some(list) if list.len() <= most => return Some(list),
            Some(list) => format!("has {} elements", list.len()),
            None => format!("is {}", kind_of(value)),
        };
        self.fault(path, what, format!("a list of at most {most}"));
        None
    }
}

/// An object being read: knows its path and which fields were asked for.
#[derive(Debug)]
pub struct Object<'a> {
    reader: &'a Reader,
    path: String,
    map: &'a Map<String, Value>,
    asked: RefCell<BTreeSet<&'a str>>,
}

impl<'a> Object<'a> {
    /// The reader, for faults of the caller's own.
    #[must_use]
    pub fn reader(&self) -> &'a Reader {
        self.reader
    }

    /// Path of a field of this object.
    #[must_use]
    pub fn path_of(&self, name: &str) -> String {
        if self.path.is_empty() {
            name.to_owned()
        } else {
            format!("{}.{name}", self.path)
        }
    }

    /// The field, if it is there; `null` counts as absent.
    pub fn optional(&self, name: &str) -> Option<&'a Value> {
        let (key, value) = self.map.get_key_value(name)?;
        self.asked.borrow_mut().insert(key.as_str());
        if value.is_null() { None } else { Some(value) }
    }

    /// The field; its absence is a fault.
    pub fn required(&self, name: &str) -> Option<&'a Value> {
        let value = self.optional(name);
        if value.is_none() {
            self.reader.fault(self.path_of(name), "is missing", "");
        }
        value
    }

    /// Reads a required field with one of the reader's methods: `o.take("now", Reader::instant)`.
    pub fn take<T>(
        &self,
        name: &str,
        read: impl FnOnce(&'a Reader, &str, &'a Value) -> Option<T>,
    ) -> Option<T> {
        let value = self.required(name)?;
        read(self.reader, &self.path_of(name), value)
    }

    /// Reads a field if it is there. The outer `None` is a fault, the inner one absence.
    pub fn take_if<T>(
        &self,
        name: &str,
        read: impl FnOnce(&'a Reader, &str, &'a Value) -> Option<T>,
    ) -> Option<Option<T>> {
        match self.optional(name) {
            None => Some(None),
            Some(value) => read(self.reader, &self.path_of(name), value).map(Some),
        }
    }

    /// A required number within bounds.
    pub fn number(&self, name: &str, bounds: &Bounds) -> Option<f64> {
        self.take(name, |r, path, v| r.number(path, v, bounds))
    }

    /// A number within bounds, or `default` where the field is absent.
    pub fn number_or(&self, name: &str, bounds: &Bounds, default: f64) -> Option<f64> {
        Some(
            self.take_if(name, |r, path, v| r.number(path, v, bounds))?
                .unwrap_or(default),
        )
    }

    /// A required quantity: a number within `bounds` that `from` accepts.
    pub fn quantity<T>(
        &self,
        name: &str,
        bounds: &Bounds,
        from: impl FnOnce(f64) -> Result<T, OutOfRange>,
    ) -> Option<T> {
        match from(self.number(name, bounds)?) {
            Ok(quantity) => Some(quantity),
            Err(cause) => {
                let allowed = format!("a number {}", cause.bounds.in_words());
                self.reader
                    .fault(self.path_of(name), format!("is {}", cause.value), allowed);
                None
            }
        }
    }

    /// Notes every field that was never asked for.
    pub fn close(self) {
        let asked = self.asked.borrow();
        for name in self
            .map
            .keys()
            .filter(|name| !asked.contains(name.as_str()))
        {
            self.reader
                .fault(self.path_of(&shorten(name)), "is not a known field", "");
        }
    }
}

fn kind_of(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}

fn shorten(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        return text.escape_debug().to_string();
    }
    let head: String = text.chars().take(LONGEST).collect();
    format!("{}…", head.escape_debug())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::bounds;

    /// A figure that is read as its neighbour changes the hash of what it stands in.
    #[test]
    fn a_figure_is_read_as_it_was_written() {
        // Found by fuzzing; the first three came back with another last digit.
        for text in [
            "14.168536774085865",
            "-27.644584272573738",
            "-63.788536474011124",
            "0.1",
        ] {
            let read = parse(text.as_bytes()).unwrap();
            assert_eq!(read.to_string(), text);
        }
        // As the places of a track have them: minutes divided by sixty.
        for nth in 0..2_000 {
            let figure = 45.0 + f64::from(nth) * 0.0123 / 60.0;
            let read = parse(figure.to_string().as_bytes()).unwrap();
            assert_eq!(read.as_f64(), Some(figure));
        }
    }

    #[test]
    fn every_fault_is_named_with_its_path() {
        let value =
            parse(br#"{"a": {"depth_m": -3, "odd": 1}, "list": [1, "x"], "at": "noon"}"#).unwrap();
        let reader = Reader::new();
        let root = reader.object("", &value).unwrap();
        let inner = root.take("a", Reader::object).unwrap();
        assert_eq!(inner.number("depth_m", &bounds::DEPTH_M), None);
        assert_eq!(inner.number("minutes", &bounds::LEVEL_MIN), None);
        inner.close();
        let list = root.take("list", |r, p, v| r.list(p, v, 5)).unwrap();
        assert_eq!(reader.number("list[1]", &list[1], &bounds::DEPTH_M), None);
        assert_eq!(root.take("at", Reader::instant), None);
        root.close();
        let faults = reader.finish(Some(())).unwrap_err();
        let paths: Vec<_> = faults.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["a.depth_m", "a.minutes", "a.odd", "list[1]", "at"]);
    }

    #[test]
    fn nothing_that_is_not_a_finite_number_is_read_as_one() {
        for text in ["NaN", "Infinity", "1e999", "{\"x\": NaN}"] {
            assert!(parse(text.as_bytes()).is_err(), "{text}");
        }
    }

    /// RFC 3339 section 5.6: a time without offset says no instant.
    #[test]
    fn an_instant_needs_its_offset() {
        let reader = Reader::new();
        assert!(
            reader
                .instant("at", &Value::from("2026-06-01T09:32:00"))
                .is_none()
        );
        assert!(
            reader
                .instant("at", &Value::from("2026-06-01T09:32:00+02:00"))
                .is_some()
        );
    }
}
