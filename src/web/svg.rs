//! Text within drawings that are written as SVG.

/// A text for content or for a double-quoted attribute.
#[must_use]
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
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
    }
}
