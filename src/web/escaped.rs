//! How text stands on a page: markup escaped, and what would turn the rest of its line round shown
//! as a sign that something is not shown. A log that comes from elsewhere may hold either.

use std::fmt::{self, Write};

use askama::filters::{Escaper, Html};

use crate::units::turns_the_line;

/// The escaper of every page: `askama.toml` names it.
#[derive(Debug, Clone, Copy)]
pub struct Page;

impl Escaper for Page {
    fn write_escaped_str<W: Write>(&self, mut dest: W, text: &str) -> fmt::Result {
        let mut pieces = text.split(turns_the_line);
        if let Some(first) = pieces.next() {
            Html.write_escaped_str(&mut dest, first)?;
        }
        for piece in pieces {
            dest.write_char(char::REPLACEMENT_CHARACTER)?;
            Html.write_escaped_str(&mut dest, piece)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_is_escaped_and_a_line_is_not_turned_round() {
        let shown = |text: &str| {
            let mut shown = String::new();
            Page.write_escaped_str(&mut shown, text).unwrap();
            shown
        };
        assert_eq!(shown("Mara & Tom"), "Mara &#38; Tom");
        assert_eq!(shown("\u{202e}dniL <b>"), "\u{fffd}dniL &#60;b&#62;");
        assert_eq!(shown("a\u{2066}\u{2069}"), "a\u{fffd}\u{fffd}");
        assert_eq!(shown(""), "");
    }
}
