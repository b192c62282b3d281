//! The little of AIS that a locator beacon says: messages 1 to 3 (a position) and 14 (a text),
//! each in one sentence. ITU-R M.1371-5, tables 48 and 62.
//!
//! Only these fields are read, each within bounds: of the parsers of the whole there is, one
//! subtracts below nought on crafted fragments.

/// What a message says.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Number of the message.
    pub message: u8,
    /// Identity of the sender.
    pub identity: u32,
    /// Navigational status; messages 1 to 3.
    pub status: Option<u8>,
    /// Longitude and latitude in degrees; none where the sender has none.
    pub place: Option<[f64; 2]>,
    /// Second of the minute at which the place was measured; from 60 it was not (61 typed, 62
    /// reckoned, 63 the receiver is out of order; from memory).
    pub second: Option<u8>,
    /// Text of message 14.
    pub text: Option<String>,
}

/// Bits of a payload, most significant first.
struct Bits(Vec<u8>);

impl Bits {
    /// Undoes the armour: six bits a character (IEC 61162-1, table for VDM).
    fn of(payload: &str, fill: usize) -> Option<Self> {
        let mut bits = Vec::with_capacity(payload.len() * 6);
        for byte in payload.bytes() {
            let value = match byte {
                48..=87 => byte - 48,
                96..=119 => byte - 56,
                _ => return None,
            };
            bits.extend((0..6).rev().map(|bit| value >> bit & 1));
        }
        let kept = bits.len().checked_sub(fill)?;
        bits.truncate(kept);
        Some(Self(bits))
    }

    /// The number in `width` bits from `from`.
    fn number(&self, from: usize, width: usize) -> Option<u32> {
        let bits = self.0.get(from..from + width)?;
        Some(
            bits.iter()
                .fold(0, |number, bit| number << 1 | u32::from(*bit)),
        )
    }

    /// The same in two's complement.
    fn signed(&self, from: usize, width: u32) -> Option<f64> {
        let number = f64::from(self.number(from, width as usize)?);
        let whole = f64::from(2_u32.pow(width));
        let is_negative = number >= whole / 2.0;
        Some(if is_negative { number - whole } else { number })
    }

    fn small(&self, from: usize, width: usize) -> Option<u8> {
        self.number(from, width)
            .and_then(|number| u8::try_from(number).ok())
    }

    /// Six-bit text to the end, without what only fills it.
    fn text(&self, from: usize) -> String {
        let count = self.0.len().saturating_sub(from) / 6;
        let text: String = (0..count)
            .filter_map(|nth| self.small(from + nth * 6, 6))
            .map(|six| char::from(if six < 32 { six + 64 } else { six }))
            .take_while(|letter| *letter != '@')
            .collect();
        text.trim().to_owned()
    }
}

/// Reads a message; none if it is another message, or not a whole one.
#[must_use]
pub fn report(payload: &str, fill: usize) -> Option<Report> {
    /// In a ten-thousandth of a minute.
    const PER_DEGREE: f64 = 600_000.0;
    let bits = Bits::of(payload, fill)?;
    let message = bits.small(0, 6)?;
    let identity = bits.number(8, 30)?;
    let mut report = Report {
        message,
        identity,
        status: None,
        place: None,
        second: None,
        text: None,
    };
    match message {
        1..=3 => {
            report.status = Some(bits.small(38, 4)?);
            let lon = bits.signed(61, 28)? / PER_DEGREE;
            let lat = bits.signed(89, 27)? / PER_DEGREE;
            report.second = Some(bits.small(137, 6)?);
            // 181 and 91 say that there is none.
            let is_place = lon.abs() <= 180.0 && lat.abs() <= 90.0;
            report.place = is_place.then_some([lon, lat]);
        }
        14 => report.text = Some(bits.text(40)),
        _ => return None,
    }
    Some(report)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn no_payload_is_too_odd(payload in "\\PC{0,80}", fill in 0_usize..600) {
            if let Some(report) = report(&payload, fill) {
                prop_assert!(matches!(report.message, 1..=3 | 14));
            }
        }

        #[test]
        fn any_armoured_payload_is_read_or_not(payload in "[0-W`-w]{0,60}", fill in 0_usize..6) {
            if let Some([lon, lat]) = report(&payload, fill).and_then(|r| r.place) {
                prop_assert!(lon.abs() <= 180.0 && lat.abs() <= 90.0);
            }
        }
    }

    #[test]
    fn the_sender_may_have_no_place() {
        // By hand: all bits of message 1 zero but longitude 181 and latitude 91 degrees.
        let mut bits = [0_u8; 168];
        for (from, width, value) in [(0, 6, 1_u32), (61, 28, 108_600_000), (89, 27, 54_600_000)] {
            for nth in 0..width {
                bits[from + nth] = u8::from(value >> (width - 1 - nth) & 1 == 1);
            }
        }
        let payload: String = bits
            .chunks(6)
            .map(|six| six.iter().fold(0, |value, bit| value << 1 | bit))
            .map(|value| char::from(if value < 40 { value + 48 } else { value + 56 }))
            .collect();
        let report = report(&payload, 0).unwrap();
        assert_eq!((report.message, report.place), (1, None));
        assert_eq!(super::report(&payload[..20], 0), None, "half a message");
    }
}
