//! Text that people type and others read.

/// Whether a character turns the rest of its line round: what comes after it on a page, in a
/// list or over the radio's log would read as something else. Right-to-left scripts need none of
/// these; their marks (U+200E, U+200F, U+061C) are no such characters.
///
/// # Source
/// Unicode Standard Annex 9, 2.1 to 2.4: explicit directional embeddings, overrides, isolates
/// (from memory).
#[must_use]
pub fn turns_the_line(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether a character can stand in what somebody typed: it can be printed or is white space,
/// and changes nothing around it.
#[must_use]
pub fn is_plain(c: char) -> bool {
    (!c.is_control() || c.is_whitespace()) && !turns_the_line(c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_all_scripts_are_plain_and_what_turns_a_line_is_not() {
        for name in [
            "Mara Lind",
            "Søren Ång",
            "דנה לוי",
            "سارة",
            "\u{200f}דנה",
            "नीरजा",
            "山田\n太郎",
        ] {
            assert!(name.chars().all(is_plain), "{name}");
        }
        for bad in [
            "\u{202e}a",
            "a\u{2066}",
            "\u{2069}",
            "\0",
            "\u{1b}[1m",
            "\u{7f}",
            "\u{80}",
        ] {
            assert!(!bad.chars().all(is_plain), "{bad:?}");
        }
    }
}
