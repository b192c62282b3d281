//! Why somebody opens what is sealed: chosen with one tap, or typed.

use super::form::Fields;
use super::parts::Choice;
use crate::words::Words;

/// Longest typed reason, characters.
pub const LONGEST: usize = 200;
/// Field of the reason that is chosen.
pub const CHOSEN: &str = "why";
/// Field of the reason that is typed.
pub const TYPED: &str = "reason";

/// Reasons to choose from, and the keys of their words. Common practice, no source.
const REASONS: [(&str, &str); 5] = [
    ("missing", "reason-missing"),
    ("hurt", "reason-hurt"),
    ("rescue", "reason-rescue"),
    ("late", "reason-late"),
    ("asked", "reason-asked"),
];

/// The reasons to choose from.
pub fn choices(fields: &Fields, t: &Words) -> Vec<Choice> {
    let typed = fields.typed(CHOSEN);
    REASONS
        .iter()
        .map(|(word, key)| Choice {
            value: (*word).to_owned(),
            label: t.say(key),
            note: String::new(),
            chosen: *word == typed,
        })
        .collect()
}

/// The reason given: what was chosen, what was typed, or both. None is a fault, beside its field.
pub fn read(fields: &Fields, t: &Words) -> Option<String> {
    let chosen = match fields.typed(CHOSEN) {
        "" => None,
        _ => Some(fields.word(CHOSEN, &REASONS)?),
    };
    // One line, whatever was typed: it stands in lists and in a file.
    let typed = fields
        .optional_text(TYPED, LONGEST)?
        .map(|typed| typed.split_whitespace().collect::<Vec<_>>().join(" "));
    match (chosen.map(|key| t.say(key)), typed) {
        (Some(chosen), Some(typed)) => Some(format!("{chosen}: {typed}")),
        (Some(one), None) | (None, Some(one)) => Some(one),
        (None, None) => {
            fields.fault(TYPED, "fault-reason", &[]);
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(pairs: &[(&str, &str)]) -> Fields {
        let owned = pairs
            .iter()
            .map(|(n, v)| ((*n).to_owned(), (*v).to_owned()));
        Fields::of(owned.collect())
    }

    #[test]
    fn a_tap_is_enough_and_so_are_words_but_not_neither() {
        let t = Words::english();
        for (pairs, told) in [
            (vec![("why", "missing")], Some("Person missing")),
            (vec![("reason", " two\n lines ")], Some("two lines")),
            (
                vec![("why", "hurt"), ("reason", "arm")],
                Some("Person hurt or ill: arm"),
            ),
            (vec![], None),
            (vec![("reason", " \n ")], None),
            (vec![("why", "because")], None),
            (vec![("why", "hurt"), ("reason", "\u{7}")], None),
        ] {
            let fields = of(&pairs);
            assert_eq!(read(&fields, t).as_deref(), told, "{pairs:?}");
            assert_eq!(fields.is_sound(), told.is_some(), "{pairs:?}");
        }
        let long = "x".repeat(LONGEST + 1);
        assert_eq!(read(&of(&[("reason", &long)]), t), None);
    }
}
