//! Figures told to the safe side: what must be kept or waited for is never told smaller, what is
//! left never larger.

/// What lies this close to a step is on it: the last digits of a sum are no reason for one more.
const SLACK: f64 = 1e-6;

/// The next whole number, or the value itself if it is one.
#[must_use]
pub fn up(value: f64) -> f64 {
    up_to(value, 1.0)
}

/// The whole number before, or the value itself if it is one.
#[must_use]
pub fn down(value: f64) -> f64 {
    down_to(value, 1.0)
}

/// The next multiple of a step.
#[must_use]
pub fn up_to(value: f64, step: f64) -> f64 {
    ((value - SLACK) / step).ceil() * step + 0.0
}

/// The multiple of a step before.
#[must_use]
pub fn down_to(value: f64, step: f64) -> f64 {
    ((value + SLACK) / step).floor() * step + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_told_to_the_safe_side() {
        for (told, expected) in [
            (up(4.1), 5.0),
            (up(4.0), 4.0),
            (up(4.000_000_1), 4.0),
            (down(4.9), 4.0),
            (down(3.999_999_9), 4.0),
            (up_to(76.1, 5.0), 80.0),
            (up_to(75.0, 5.0), 75.0),
            (down_to(64.9, 5.0), 60.0),
        ] {
            assert!((told - expected).abs() < 1e-9, "{told}, not {expected}");
        }
        assert!(up(-0.4).is_sign_positive(), "no minus before a zero");
    }
}
