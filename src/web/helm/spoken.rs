//! How things are said on the radio: letters by their code words, figures one by one, positions
//! in degrees and minutes, times in UTC.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::sea::position::Position;

/// The code word of a letter.
///
/// # Source
/// ITU Radio Regulations, Appendix 14 (phonetic alphabet).
fn code_word(letter: char) -> Option<&'static str> {
    Some(match letter.to_ascii_uppercase() {
        'A' => "Alfa",
        'I' => "India",
        'O' => "Oscar",
        'Q' => "Quebec",
        other => match crate::web::marker::spoken(other) {
            "" => return None,
            word => word,
        },
    })
}

/// A figure as it is said; plain English figures, as is usual practice on the radio.
fn figure(digit: char) -> Option<&'static str> {
    Some(match digit {
        '0' => "zero",
        '1' => "one",
        '2' => "two",
        '3' => "three",
        '4' => "four",
        '5' => "five",
        '6' => "six",
        '7' => "seven",
        '8' => "eight",
        '9' => "nine",
        _ => return None,
    })
}

/// A call sign, letter by letter.
pub(super) fn spelled(text: &str) -> String {
    let words: Vec<&str> = text
        .chars()
        .filter_map(|c| code_word(c).or_else(|| figure(c)))
        .collect();
    words.join(" ")
}

/// `one two degrees three four decimal five six seven minutes NORTH, ...`.
pub(super) fn position(position: Position) -> String {
    let mut words: Vec<String> = Vec::new();
    for c in position.to_string().chars() {
        let word = match c {
            '°' => "degrees",
            '\'' => "minutes",
            '.' => "decimal",
            'N' => "NORTH",
            'S' => "SOUTH",
            'E' => "EAST",
            'W' => "WEST",
            ',' => {
                if let Some(last) = words.last_mut() {
                    last.push(',');
                }
                continue;
            }
            other => match figure(other) {
                Some(word) => word,
                None => continue,
            },
        };
        words.push(word.to_owned());
    }
    words.join(" ")
}

/// `zero nine one five`.
pub(super) fn utc(at: Timestamp) -> String {
    let text = at
        .to_zoned_datetime(TimeZone::UTC)
        .strftime("%H%M")
        .to_string();
    spelled(&text)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The letters and figures a call sign may have (ITU Radio Regulations, Appendix 14; A, I, O
    /// and Q are no group letters, but stand in call signs).
    #[test]
    fn every_letter_and_figure_of_a_call_sign_is_spoken() {
        for c in ('A'..='Z').chain('0'..='9') {
            assert!(!spelled(&c.to_string()).is_empty(), "{c}");
        }
        assert_eq!(spelled("8qz 41a"), "eight Quebec Zulu four one Alfa");
    }

    #[test]
    fn a_position_is_said_figure_by_figure() {
        let place = Position::from_degrees(-56.131_5, 12.576_116_7).unwrap();
        assert_eq!(place.to_string(), "12° 34.567' N, 056° 07.890' W");
        assert_eq!(
            position(place),
            "one two degrees three four decimal five six seven minutes NORTH, zero five six \
             degrees zero seven decimal eight nine zero minutes WEST"
        );
    }

    #[test]
    fn a_time_is_said_in_utc() {
        let at: Timestamp = "2026-05-04T14:05:00+05:00".parse().unwrap();
        assert_eq!(utc(at), "zero nine zero five");
    }
}
