//! Group markers: a letter inside one of six outlines, plain or banded, told apart without
//! colour and spoken as the letter's word.

/// The letters in order. Left out: A (its flag is a diving signal), and I, O, Q (read as
/// figures or as each other).
pub const LETTERS: [char; 22] = [
    'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K', 'L', 'M', 'N', 'P', 'R', 'S', 'T', 'U', 'V', 'W',
    'X', 'Y', 'Z',
];

/// The word spoken for a letter.
///
/// # Source
/// ITU Radio Regulations, Appendix 14 (phonetic alphabet).
#[must_use]
pub fn spoken(letter: char) -> &'static str {
    match letter {
        'B' => "Bravo",
        'C' => "Charlie",
        'D' => "Delta",
        'E' => "Echo",
        'F' => "Foxtrot",
        'G' => "Golf",
        'H' => "Hotel",
        'J' => "Juliett",
        'K' => "Kilo",
        'L' => "Lima",
        'M' => "Mike",
        'N' => "November",
        'P' => "Papa",
        'R' => "Romeo",
        'S' => "Sierra",
        'T' => "Tango",
        'U' => "Uniform",
        'V' => "Victor",
        'W' => "Whiskey",
        'X' => "X-ray",
        'Y' => "Yankee",
        'Z' => "Zulu",
        _ => "",
    }
}

/// An outline of the six, in a box of 64 by 64: its path, and the band across it.
const OUTLINES: [(&str, &str); 6] = [
    ("M32 2 62 32 32 62 2 32Z", "M18 48H46"),
    ("M16 5H48L62 32 48 59H16L2 32Z", "M11 50H53"),
    ("M18 3H46V16H61V46H46V61H18V46H3V16H18Z", "M18 52H46"),
    ("M4 59V31A28 28 0 0 1 60 31V59Z", "M4 52H60"),
    ("M4 5H60V33A28 28 0 0 1 4 33Z", "M11 50H53"),
    ("M5 5H59V59H5Z", "M5 52H59"),
];

/// The marker of one group of a trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    index: usize,
    letter: char,
}

impl Mark {
    /// The marker of the group with this place in the order of forming, from 0. From the 23rd
    /// group on, letters return with a figure beside them: `B2`.
    #[must_use]
    pub fn of(index: usize) -> Self {
        let letter = LETTERS.get(index % LETTERS.len()).copied().unwrap_or('Z');
        Self { index, letter }
    }

    /// The marker with this letter, if it is one of the letters.
    #[must_use]
    pub fn by_letter(letter: char) -> Option<Self> {
        let index = LETTERS.iter().position(|l| *l == letter)?;
        Some(Self { index, letter })
    }

    /// What stands in the marker and what lists call the group: `B`, or `B2`.
    #[must_use]
    pub fn label(&self) -> String {
        match self.index / LETTERS.len() {
            0 => self.letter.to_string(),
            round => format!("{}{}", self.letter, round + 1),
        }
    }

    /// What is said aloud: `Bravo`, or `Bravo 2`.
    #[must_use]
    pub fn spoken(&self) -> String {
        match self.index / LETTERS.len() {
            0 => spoken(self.letter).to_owned(),
            round => format!("{} {}", spoken(self.letter), round + 1),
        }
    }

    /// The marker drawn as SVG in the colour of the text around it, with its word for screen
    /// readers.
    #[must_use]
    pub fn svg(&self) -> String {
        format!(
            "<svg class=\"mark\" viewBox=\"0 0 64 64\" role=\"img\" aria-label=\"{}\">{}</svg>",
            self.spoken(),
            self.drawn()
        )
    }

    /// What stands in its box of 64 by 64, for a drawing that has several.
    #[must_use]
    pub fn drawn(&self) -> String {
        let (outline, band) = OUTLINES
            .get(self.index % OUTLINES.len())
            .copied()
            .unwrap_or(("", ""));
        let banded = (self.index / OUTLINES.len()) % 2 == 1;
        let label = self.label();
        let size = if label.len() > 1 { 24 } else { 32 };
        let baseline = if banded { 40 } else { 43 };
        let band = if banded {
            format!("<path d=\"{band}\" stroke=\"currentColor\" stroke-width=\"7\"/>")
        } else {
            String::new()
        };
        format!(
            "<path d=\"{outline}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"4\" \
             stroke-linejoin=\"round\"/>{band}\
             <text x=\"32\" y=\"{baseline}\" text-anchor=\"middle\" font-size=\"{size}\" \
             font-weight=\"700\" fill=\"currentColor\" aria-hidden=\"true\">{label}</text>"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_twelve_markers_differ_without_their_letters() {
        let shapes: std::collections::BTreeSet<String> = (0..12)
            .map(|i| Mark::of(i).svg().split("<text").next().unwrap().to_owned())
            .map(|s| s.split("<path").skip(1).collect())
            .collect();
        assert_eq!(shapes.len(), 12);
    }

    #[test]
    fn letters_leave_out_what_is_misread_and_return_with_a_figure() {
        assert!(
            LETTERS
                .iter()
                .all(|l| !"AIOQ".contains(*l) && !spoken(*l).is_empty())
        );
        assert_eq!(Mark::of(0).label(), "B");
        assert_eq!(Mark::of(22).label(), "B2");
        assert_eq!(Mark::of(22).spoken(), "Bravo 2");
        assert_eq!(Mark::by_letter('A'), None);
        assert_eq!(Mark::by_letter('E'), Some(Mark::of(3)));
    }
}
