//! Bytes to lines, in a buffer that never grows: what is too long is told once and dropped.

/// Longest line that is looked at. A sentence has at most 82 characters (NMEA 0183, 5.3); real
/// receivers write longer ones and put tags before them.
pub const LONGEST: usize = 200;

/// A line, or what was left of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// A line without its end.
    Line(Vec<u8>),
    /// A line that went on and on; its bytes are gone.
    TooLong,
}

/// Cuts a stream of bytes into lines.
#[derive(Debug, Default)]
pub struct Framer {
    line: Vec<u8>,
    is_overlong: bool,
}

impl Framer {
    /// The lines that these bytes complete; a carriage return or a line feed ends one.
    pub fn feed(&mut self, bytes: &[u8]) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for byte in bytes {
            if matches!(byte, b'\r' | b'\n') {
                pieces.extend(self.end());
            } else if self.line.len() < LONGEST {
                self.line.push(*byte);
            } else if !self.is_overlong {
                self.is_overlong = true;
                pieces.push(Piece::TooLong);
            }
        }
        pieces
    }

    /// What stands in the buffer, as the source has ended.
    pub fn end(&mut self) -> Option<Piece> {
        let line = std::mem::take(&mut self.line);
        if std::mem::take(&mut self.is_overlong) || line.is_empty() {
            return None;
        }
        Some(Piece::Line(line))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lines(pieces: &[Piece]) -> Vec<&str> {
        pieces
            .iter()
            .map(|piece| match piece {
                Piece::Line(line) => std::str::from_utf8(line).unwrap(),
                Piece::TooLong => "(too long)",
            })
            .collect()
    }

    #[test]
    fn lines_end_in_either_way_and_go_on_over_packets() {
        let mut framer = Framer::default();
        let mut pieces = framer.feed(b"one\r\ntw");
        pieces.extend(framer.feed(b"o\n\n\nthree\rfo"));
        pieces.extend(framer.end());
        assert_eq!(lines(&pieces), ["one", "two", "three", "fo"]);
        assert_eq!(framer.end(), None);
    }

    #[test]
    fn what_is_too_long_is_told_once_and_the_next_line_is_whole() {
        let mut framer = Framer::default();
        let mut pieces = framer.feed(&[b'x'; LONGEST]);
        assert!(pieces.is_empty());
        for _ in 0..1_000 {
            pieces.extend(framer.feed(&[b'x'; 1_000]));
        }
        pieces.extend(framer.feed(b"\nnext\n"));
        assert_eq!(lines(&pieces), ["(too long)", "next"]);
        assert!(framer.line.capacity() <= 2 * LONGEST);
    }

    proptest! {
        #[test]
        fn however_the_bytes_come_the_lines_are_the_same(
            bytes in proptest::collection::vec(any::<u8>(), 0..600),
            at in 0_usize..600,
        ) {
            let mut whole = Framer::default();
            let expected = whole.feed(&bytes);
            let (before, after) = bytes.split_at(at.min(bytes.len()));
            let mut parted = Framer::default();
            let mut pieces = parted.feed(before);
            pieces.extend(parted.feed(after));
            prop_assert_eq!(pieces, expected);
        }
    }
}
