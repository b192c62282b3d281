//! Every key that is said exists, and every key that exists is said.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::{Arg, ENGLISH, GERMAN, Language, System, Words};

/// Keys put together while running, as `phase-` and the name of a phase.
const PUT_TOGETHER: &[&str] = &[
    "alone-buoy-",
    "alone-did-",
    "alert-state-",
    "place-of-work-",
    "problem-",
    "mark-word-",
    "month-",
    "notice-",
    "palette-",
    "phase-",
    "place-",
    "priority-",
    "role-",
    "told-",
];

fn files_below(folder: &Path, ending: &str, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files_below(&path, ending, found);
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(path);
        }
    }
}

/// The literal keys of all calls of `say` and `say_with` in a text.
fn keys_said(text: &str) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for name in ["say", "say_with"] {
        let call = format!(".{name}(");
        for (at, _) in text.match_indices(&call) {
            if let Some(rest) = text[at + call.len()..].trim_start().strip_prefix('"') {
                keys.insert(rest.split('"').next().unwrap().to_owned());
            }
        }
    }
    keys
}

/// Literals that look like keys: keys handed on before they are said.
fn keys_handed_on(text: &str) -> BTreeSet<String> {
    text.split('"')
        .skip(1)
        .filter(|literal| {
            literal.contains('-')
                && literal
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        })
        .map(ToOwned::to_owned)
        .collect()
}

/// What scripts name so and is an element of the page.
const ELEMENTS: &[&str] = &["alone-marks", "alone-words"];

/// Keys that scripts set: literals of the words of a device alone.
fn keys_of_scripts(text: &str) -> BTreeSet<String> {
    text.split(['\'', '"', '`'])
        .filter(|literal| literal.starts_with("alone-") && !ELEMENTS.contains(literal))
        .filter(|literal| literal.chars().all(|c| c.is_ascii_lowercase() || c == '-'))
        .filter(|literal| !PUT_TOGETHER.contains(literal))
        .map(ToOwned::to_owned)
        .collect()
}

/// Literals with these beginnings are always keys.
const ALWAYS_KEYS: &[&str] = &["refused-", "fault-", "way-", "why-"];

fn keys_written() -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for (name, text) in ENGLISH {
        for line in text.lines() {
            if line.starts_with(|c: char| c.is_ascii_alphabetic()) {
                let key = line.split('=').next().unwrap().trim().to_owned();
                assert!(keys.insert(key.clone()), "{name}.ftl has {key} twice");
            }
        }
    }
    keys
}

#[test]
fn the_message_files_are_sound() {
    for language in Language::ALL {
        assert_eq!(Words::of(language).faults(), Vec::<String>::new());
    }
}

/// Each message of a file: its key, and the values it is filled with, in any order. A message goes
/// on over lines that are set in.
fn messages(text: &str) -> BTreeMap<String, BTreeSet<String>> {
    let mut messages: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let mut key = String::new();
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        if line.starts_with(|c: char| c.is_ascii_alphabetic()) {
            line.split(" =").next().unwrap().clone_into(&mut key);
            messages.insert(key.clone(), BTreeSet::new());
        }
        let values = line.split('$').skip(1).map(|rest| {
            let end = rest.find(|c: char| !c.is_ascii_alphanumeric() && c != '_' && c != '-');
            rest[..end.unwrap_or(rest.len())].to_owned()
        });
        if let Some(held) = messages.get_mut(&key) {
            held.extend(values);
        }
    }
    messages
}

#[test]
fn every_language_says_everything_with_the_same_values() {
    assert_eq!(ENGLISH.len(), GERMAN.len());
    for ((name, english), (also, german)) in ENGLISH.iter().zip(GERMAN) {
        assert_eq!(name, also);
        let (english, german) = (messages(english), messages(german));
        let keys = |of: &BTreeMap<String, _>| of.keys().cloned().collect::<BTreeSet<_>>();
        let missing: Vec<_> = keys(&english).difference(&keys(&german)).cloned().collect();
        let surplus: Vec<_> = keys(&german).difference(&keys(&english)).cloned().collect();
        assert!(
            missing.is_empty(),
            "{name}.ftl lacks in German: {missing:?}"
        );
        assert!(
            surplus.is_empty(),
            "{name}.ftl has in German only: {surplus:?}"
        );
        for (key, values) in &english {
            assert_eq!(values, &german[key], "{name}.ftl: {key}");
        }
    }
}

/// Scripts fill in what stands on one line of a message, in every language.
#[test]
fn patterns_for_scripts_are_whole_in_every_language() {
    let prefixes = ["alone-", "alert-", "phase-", "place-"];
    let english = Words::of(Language::English).patterns(&prefixes);
    let german = Words::of(Language::German).patterns(&prefixes);
    assert!(english.len() > 100 && english.keys().eq(german.keys()));
    let marks = |text: &str| {
        let marks = text.split('%').skip(1).step_by(2).map(ToOwned::to_owned);
        marks.collect::<BTreeSet<_>>()
    };
    for (key, text) in &english {
        assert_eq!(marks(text), marks(&german[key]), "{key}");
        assert!(!german[key].contains(['{', '}']), "{key}: {}", german[key]);
    }
}

#[test]
fn every_key_said_is_written_and_every_key_written_is_said() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    files_below(&root.join("src"), "rs", &mut files);
    files_below(&root.join("templates"), "html", &mut files);
    let mut said = BTreeSet::new();
    for file in &files {
        said.extend(keys_said(&std::fs::read_to_string(file).unwrap()));
    }
    let mut scripts = Vec::new();
    files_below(&root.join("static/js"), "js", &mut scripts);
    for script in &scripts {
        said.extend(keys_of_scripts(&std::fs::read_to_string(script).unwrap()));
    }
    let written = keys_written();
    let mut handed_on = BTreeSet::new();
    for file in files
        .iter()
        .filter(|file| file.extension().is_some_and(|e| e == "rs"))
    {
        handed_on.extend(keys_handed_on(&std::fs::read_to_string(file).unwrap()));
    }
    said.extend(
        handed_on
            .iter()
            .filter(|key| {
                written.contains(*key)
                    || ALWAYS_KEYS
                        .iter()
                        .any(|start| key.starts_with(start) && key != start)
            })
            .cloned(),
    );
    assert!(said.len() > 20, "the scan finds the calls");

    let missing: Vec<_> = said.difference(&written).collect();
    assert!(missing.is_empty(), "said but not written: {missing:?}");
    let idle: Vec<_> = written
        .difference(&said)
        .filter(|key| !PUT_TOGETHER.iter().any(|prefix| key.starts_with(prefix)))
        .collect();
    assert!(idle.is_empty(), "written but never said: {idle:?}");
}

/// Notices are raised by what they are about: each has its sentence, and each sentence is raised.
#[test]
fn every_notice_has_its_sentence_and_every_sentence_its_notice() {
    let mut files = Vec::new();
    files_below(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        "rs",
        &mut files,
    );
    let mut raised = BTreeSet::from(["notice-of-the-box".to_owned()]);
    for file in &files {
        let text = std::fs::read_to_string(file).unwrap();
        // Tests raise what they like.
        let text = text.split("#[cfg(test)]").next().unwrap();
        for call in [".raise(", "raised("] {
            for (at, _) in text.match_indices(call) {
                let rest = text[at + call.len()..].trim_start();
                // What it is about stands there, or in a constant of the file.
                let named = rest
                    .split(|c: char| !c.is_ascii_uppercase())
                    .next()
                    .unwrap();
                let constant = format!("const {named}: &str = ");
                let about = match text.split_once(&constant) {
                    Some((_, value)) if !named.is_empty() => value,
                    Some(_) | None => rest,
                };
                if let Some(about) = about.strip_prefix('"') {
                    raised.insert(format!("notice-{}", about.split('"').next().unwrap()));
                }
            }
        }
    }
    let written: BTreeSet<String> = keys_written()
        .into_iter()
        .filter(|key| key.starts_with("notice-"))
        .collect();
    assert_eq!(raised, written);
}

#[test]
fn what_is_missing_shows_itself() {
    let words = Words::read("en", &[("x", "greeting = Ahoy { $name }\n")]);
    let unknown = "nobody-wrote-this";
    assert_eq!(words.say(unknown), "{nobody-wrote-this}");
    let greeting = "greeting";
    assert_eq!(words.say(greeting), "Ahoy {$name}");
    assert_eq!(
        words.say_with(greeting, &[("name", "Ada".into())]),
        "Ahoy Ada"
    );
}

#[test]
fn a_number_chooses_its_plural() {
    let text = "people = { $n ->\n    [one] 1 person\n   *[other] { $n } people\n}\n";
    let words = Words::read("en", &[("x", text)]);
    let people = "people";
    assert_eq!(words.say_with(people, &[("n", 1_usize.into())]), "1 person");
    assert_eq!(words.say_with(people, &[("n", 4_usize.into())]), "4 people");
    assert_eq!(words.say_with(people, &[("n", 0_i64.into())]), "0 people");
}

#[test]
fn a_sentence_that_does_not_parse_is_told() {
    let words = Words::read("en", &[("x", "good = Yes\nbad = { $n\n")]);
    assert_eq!(words.faults.len(), 1);
    let good = "good";
    assert_eq!(words.say(good), "Yes");
}

#[test]
fn a_quantity_is_told_in_the_units_of_the_words() {
    let text = "measure-metres = m\nmeasure-feet = ft\nmeasure-nautical-miles = nm\nmeasure-kilometres = km\n\
        measure-bar = bar\nmeasure-psi = psi\n\
        measure-litres = l\nmeasure-cubic-feet = cu ft @ 3000 psi\nmeasure-litres-minute = l/min\n\
        measure-cubic-feet-minute = cu ft/min\n\
        down = { DEPTH($m) }, not below { LIMIT($m) }\nleft = { PRESSURE($bar) } of { NEEDED($bar) }\n\
        head = Depth, { SIGN(\"depth\") }\nfar = { FAR($m) }\n\
        units = { UNITS() ->\n    [imperial] feet\n   *[metric] metres\n}\n";
    let [metric, imperial] = [System::Metric, System::Imperial]
        .map(|system| Words::read_in("en", &[("x", text)], system));
    assert_eq!((&metric.faults, &imperial.faults), (&vec![], &vec![]));
    let both = |key: &str, args: &[(&str, Arg)]| {
        [metric.say_with(key, args), imperial.say_with(key, args)]
    };
    let depth = [("m", 20.0.into())];
    let down = ["20 m, not below 20 m", "65.6 ft, not below 65.6 ft"];
    assert_eq!(both("down", &depth), down);
    let gas = [("bar", "50".into())];
    assert_eq!(
        both("left", &gas),
        ["50 bar of 50 bar", "725 psi of 726 psi"]
    );
    assert_eq!(both("head", &[]), ["Depth, m", "Depth, ft"]);
    assert_eq!(both("units", &[]), ["metres", "feet"]);
    let far = [("m", 20_000.0.into())];
    assert_eq!(both("far", &far), ["20 km", "10.8 nm"]);
    // What is not given shows itself.
    let unfilled = "down";
    assert!(imperial.say(unfilled).contains("{DEPTH}"));
    let distance = |m: f64| [metric.distance(m), imperial.distance(m)];
    assert_eq!(distance(52.0), ["50\u{a0}m", "170\u{a0}ft"]);
    assert_eq!(distance(1_900.0), ["1900\u{a0}m", "1.0\u{a0}nm"]);
    let kept = [
        metric.distance_to_keep(50.0),
        imperial.distance_to_keep(50.0),
    ];
    assert_eq!(kept, ["50\u{a0}m", "170\u{a0}ft"]);
}
