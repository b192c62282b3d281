//! Words: every sentence the program shows to people, by key, from the message files of a
//! language, so that no page or fault carries text of its own.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use unic_langid::LanguageIdentifier;

use crate::units::system::{Measure, NAUTICAL_MILE_M, System, Unit};

mod measured;
#[cfg(test)]
mod tests;

/// The message files of English, by the place of work that shows them.
const ENGLISH: &[(&str, &str)] = &[
    (
        "shared",
        include_str!("../../templates/words/en/shared.ftl"),
    ),
    ("logs", include_str!("../../templates/words/en/logs.ftl")),
    ("helm", include_str!("../../templates/words/en/helm.ftl")),
    ("deck", include_str!("../../templates/words/en/deck.ftl")),
    ("go", include_str!("../../templates/words/en/go.ftl")),
    ("gas", include_str!("../../templates/words/en/gas.ftl")),
    ("desk", include_str!("../../templates/words/en/desk.ftl")),
    (
        "access",
        include_str!("../../templates/words/en/access.ftl"),
    ),
    (
        "register",
        include_str!("../../templates/words/en/register.ftl"),
    ),
    (
        "record",
        include_str!("../../templates/words/en/record.ftl"),
    ),
    ("days", include_str!("../../templates/words/en/days.ftl")),
    (
        "season",
        include_str!("../../templates/words/en/season.ftl"),
    ),
    ("chart", include_str!("../../templates/words/en/chart.ftl")),
    ("dive", include_str!("../../templates/words/en/dive.ftl")),
    ("sea", include_str!("../../templates/words/en/sea.ftl")),
    (
        "notices",
        include_str!("../../templates/words/en/notices.ftl"),
    ),
    ("arm", include_str!("../../templates/words/en/arm.ftl")),
    ("watch", include_str!("../../templates/words/en/watch.ftl")),
    ("alone", include_str!("../../templates/words/en/alone.ftl")),
    ("reach", include_str!("../../templates/words/en/reach.ftl")),
    (
        "errors",
        include_str!("../../templates/words/en/errors.ftl"),
    ),
];

/// The message files of German, the same.
const GERMAN: &[(&str, &str)] = &[
    (
        "shared",
        include_str!("../../templates/words/de/shared.ftl"),
    ),
    ("logs", include_str!("../../templates/words/de/logs.ftl")),
    ("helm", include_str!("../../templates/words/de/helm.ftl")),
    ("deck", include_str!("../../templates/words/de/deck.ftl")),
    ("go", include_str!("../../templates/words/de/go.ftl")),
    ("gas", include_str!("../../templates/words/de/gas.ftl")),
    ("desk", include_str!("../../templates/words/de/desk.ftl")),
    (
        "access",
        include_str!("../../templates/words/de/access.ftl"),
    ),
    (
        "register",
        include_str!("../../templates/words/de/register.ftl"),
    ),
    (
        "record",
        include_str!("../../templates/words/de/record.ftl"),
    ),
    ("days", include_str!("../../templates/words/de/days.ftl")),
    (
        "season",
        include_str!("../../templates/words/de/season.ftl"),
    ),
    ("chart", include_str!("../../templates/words/de/chart.ftl")),
    ("dive", include_str!("../../templates/words/de/dive.ftl")),
    ("sea", include_str!("../../templates/words/de/sea.ftl")),
    (
        "notices",
        include_str!("../../templates/words/de/notices.ftl"),
    ),
    ("arm", include_str!("../../templates/words/de/arm.ftl")),
    ("watch", include_str!("../../templates/words/de/watch.ftl")),
    ("alone", include_str!("../../templates/words/de/alone.ftl")),
    ("reach", include_str!("../../templates/words/de/reach.ftl")),
    (
        "errors",
        include_str!("../../templates/words/de/errors.ftl"),
    ),
];

/// A language that every sentence is here in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Language {
    /// English.
    #[default]
    English,
    /// German.
    German,
}

impl Language {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::English, Self::German];

    /// The language as an HTML `lang` value.
    #[must_use]
    pub fn tag(self) -> &'static str {
        match self {
            Self::English => "en",
            Self::German => "de",
        }
    }

    /// Its name, in itself.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::English => "English",
            Self::German => "Deutsch",
        }
    }

    /// The language of a tag; none if it is not here.
    #[must_use]
    pub fn by_tag(tag: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.tag() == tag)
    }
}

/// What is filled into a message: a text, or a number that also chooses the plural.
#[derive(Debug, Clone, PartialEq)]
pub enum Arg {
    /// A text, shown as it is.
    Text(String),
    /// A number, shown in its shortest form; round it before.
    Number(f64),
}

impl From<&str> for Arg {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}
impl From<String> for Arg {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}
impl From<&String> for Arg {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}
impl From<f64> for Arg {
    fn from(number: f64) -> Self {
        Self::Number(number)
    }
}
impl From<&f64> for Arg {
    fn from(number: &f64) -> Self {
        Self::Number(*number)
    }
}
impl From<i64> for Arg {
    fn from(number: i64) -> Self {
        Self::Number(number as f64)
    }
}
impl From<&i64> for Arg {
    fn from(number: &i64) -> Self {
        Self::Number(*number as f64)
    }
}
impl From<usize> for Arg {
    fn from(number: usize) -> Self {
        Self::Number(number as f64)
    }
}
impl From<&usize> for Arg {
    fn from(number: &usize) -> Self {
        Self::Number(*number as f64)
    }
}

/// The words of one language, with quantities in one system of units.
pub struct Words {
    tag: &'static str,
    system: System,
    bundle: FluentBundle<FluentResource>,
    faults: Vec<String>,
}

impl std::fmt::Debug for Words {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Words")
            .field("tag", &self.tag)
            .finish_non_exhaustive()
    }
}

impl Words {
    /// The words of a language with metric quantities, read once.
    #[must_use]
    pub fn of(language: Language) -> &'static Self {
        Self::with(language, System::Metric)
    }

    /// The words of a language with quantities in a system of units, read once.
    #[must_use]
    pub fn with(language: Language, system: System) -> &'static Self {
        static ENGLISH_METRIC: OnceLock<Words> = OnceLock::new();
        static ENGLISH_IMPERIAL: OnceLock<Words> = OnceLock::new();
        static GERMAN_METRIC: OnceLock<Words> = OnceLock::new();
        static GERMAN_IMPERIAL: OnceLock<Words> = OnceLock::new();
        let (held, tag, files) = match (language, system) {
            (Language::English, System::Metric) => (&ENGLISH_METRIC, "en", ENGLISH),
            (Language::English, System::Imperial) => (&ENGLISH_IMPERIAL, "en", ENGLISH),
            (Language::German, System::Metric) => (&GERMAN_METRIC, "de", GERMAN),
            (Language::German, System::Imperial) => (&GERMAN_IMPERIAL, "de", GERMAN),
        };
        held.get_or_init(|| Self::read_in(tag, files, system))
    }

    /// The words in English: for what is read by the box itself, by programs, or on the radio.
    #[must_use]
    pub fn english() -> &'static Self {
        Self::of(Language::English)
    }

    /// Reads message files with metric quantities.
    #[cfg(test)]
    fn read(tag: &'static str, files: &[(&str, &str)]) -> Self {
        Self::read_in(tag, files, System::Metric)
    }

    /// Reads message files. A sentence that does not parse is left out, so its key shows.
    fn read_in(tag: &'static str, files: &[(&str, &str)], system: System) -> Self {
        let mut faults = Vec::new();
        let language = tag.parse::<LanguageIdentifier>().unwrap_or_else(|error| {
            faults.push(format!("{tag}: {error}"));
            LanguageIdentifier::default()
        });
        let mut bundle = FluentBundle::new_concurrent(vec![language]);
        // Isolating marks would sit unseen in values that people copy, such as positions.
        bundle.set_use_isolating(false);
        for (name, text) in files {
            let resource = match FluentResource::try_new((*text).to_owned()) {
                Ok(resource) => resource,
                Err((resource, errors)) => {
                    faults.extend(errors.iter().map(|error| format!("{name}.ftl: {error}")));
                    resource
                }
            };
            if let Err(errors) = bundle.add_resource(resource) {
                faults.extend(errors.iter().map(|error| format!("{name}.ftl: {error}")));
            }
        }
        let mut words = Self {
            tag,
            system,
            bundle,
            faults,
        };
        words.take_measures();
        words
    }

    /// The system of units of its quantities.
    #[must_use]
    pub fn system(&self) -> System {
        self.system
    }

    /// The sign of the unit that a quantity is told in.
    #[must_use]
    pub fn sign(&self, measure: Measure) -> String {
        self.say(measure.unit(self.system).key())
    }

    /// A quantity with its unit, which no line break parts from it.
    #[must_use]
    pub fn told(&self, measure: Measure, metric: f64) -> String {
        let figure = measure.figure(metric, self.system);
        format!("{figure}\u{a0}{}", self.sign(measure))
    }

    /// A quantity as it stands in a field.
    #[must_use]
    pub fn field(&self, measure: Measure, metric: f64) -> String {
        measure.field(metric, self.system)
    }

    /// A distance on the water, rounded to what anybody can judge by eye: in feet up to a nautical
    /// mile, where the other system has metres.
    #[must_use]
    pub fn distance(&self, m: f64) -> String {
        self.rounded(m, f64::round)
    }

    /// A distance that has to be kept: the same, never told shorter than it is.
    #[must_use]
    pub fn distance_to_keep(&self, m: f64) -> String {
        self.rounded(m, |steps| (steps - 1e-3).ceil())
    }

    fn rounded(&self, m: f64, round: impl Fn(f64) -> f64) -> String {
        let (figure, unit) = match self.system {
            System::Metric => {
                let step = if m < 100.0 { 5.0 } else { 10.0 };
                (format!("{:.0}", round(m / step) * step), Unit::Metres)
            }
            System::Imperial if m < NAUTICAL_MILE_M => {
                let ft = Measure::Length.exact(m);
                let step = if ft < 300.0 { 10.0 } else { 50.0 };
                (format!("{:.0}", round(ft / step) * step), Unit::Feet)
            }
            System::Imperial => {
                let tenths = round(m / NAUTICAL_MILE_M * 10.0);
                (format!("{:.1}", tenths / 10.0), Unit::NauticalMiles)
            }
        };
        format!("{figure}\u{a0}{}", self.say(unit.key()))
    }

    /// The language, as an HTML `lang` value.
    #[must_use]
    pub fn tag(&self) -> &'static str {
        self.tag
    }

    /// What was wrong with the message files, to be logged at the start: nothing, in a build
    /// that passed its tests.
    #[must_use]
    pub fn faults(&self) -> &[String] {
        &self.faults
    }

    /// The message of this key; a key that is missing shows itself as `{key}`.
    #[must_use]
    pub fn say(&self, key: &str) -> String {
        self.say_with(key, &[])
    }

    /// The messages whose keys begin so, for scripts to fill in: a value stands as `%name%`.
    #[must_use]
    pub fn patterns(&self, prefixes: &[&str]) -> BTreeMap<String, String> {
        let mut patterns = BTreeMap::new();
        let is_key = |line: &&str| line.starts_with(|c: char| c.is_ascii_alphabetic());
        for line in ENGLISH
            .iter()
            .flat_map(|(_, text)| text.lines())
            .filter(is_key)
        {
            let Some((key, value)) = line.split_once(" =") else {
                continue;
            };
            if !prefixes.iter().any(|prefix| key.starts_with(prefix)) {
                continue;
            }
            let names: Vec<&str> = value
                .split('$')
                .skip(1)
                .filter_map(|rest| rest.split([' ', '}', ')']).next())
                .collect();
            let args: Vec<(&str, Arg)> = names
                .iter()
                .map(|name| (*name, Arg::from(format!("%{name}%"))))
                .collect();
            patterns.insert(key.to_owned(), self.say_with(key, &args));
        }
        patterns
    }

    /// The message of this key with its values filled in. A key or a value that is missing
    /// shows itself in braces: a gap must be seen, not guessed over.
    #[must_use]
    pub fn say_with(&self, key: &str, args: &[(&str, Arg)]) -> String {
        let Some(pattern) = self
            .bundle
            .get_message(key)
            .and_then(|message| message.value())
        else {
            return format!("{{{key}}}");
        };
        let mut values = FluentArgs::with_capacity(args.len());
        for (name, arg) in args {
            let value = match arg {
                Arg::Text(text) => FluentValue::from(text.as_str()),
                Arg::Number(number) => FluentValue::from(*number),
            };
            values.set(*name, value);
        }
        // The errors repeat what the text already shows in braces.
        let mut shown_in_text = Vec::new();
        self.bundle
            .format_pattern(pattern, Some(&values), &mut shown_in_text)
            .into_owned()
    }
}
