//! Text within drawings that are written as SVG.

use crate::units::turns_the_line;

/// A text for content or for a double-quoted attribute.
#[must_use]
pub fn escaped(text: &str) -> String {
    text.replace(turns_the_line, "\u{fffd}")
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn no_text_leaves_its_place() {
        assert_eq!(escaped("\"><b> & "), "&quot;&gt;&lt;b&gt; &amp; ");
        assert_eq!(escaped("\u{202e}dniL"), "\u{fffd}dniL");
    }
}
