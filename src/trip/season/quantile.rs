//! Medians and quantiles by one named definition, and the spread of some figures in them.

use serde::Serialize;

/// From so many figures on, a median and quartiles are told: with fewer, each figure stands for
/// itself (this tool's own choice, no source).
pub const LEAST_FOR_MIDDLE: usize = 10;
/// From so many figures on, the 5 % and 95 % quantiles are told: with fewer, less than one
/// figure lies beyond either, and what is told would be the ends themselves.
pub const LEAST_FOR_TAILS: usize = 20;

/// A quantile of figures in rising order; `None` without a figure or for a share outside 0 to 1.
///
/// # Source
/// Type 7 of R. J. Hyndman, Y. Fan, Sample Quantiles in Statistical Packages, The American
/// Statistician 50 (1996) 361: linear between the order statistics, h = (n - 1) p.
#[must_use]
pub fn quantile(rising: &[f64], share: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&share) {
        return None;
    }
    let last = rising.len().checked_sub(1)?;
    let h = last as f64 * share;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "between 0 and the last index"
    )]
    let below = h.floor() as usize;
    let low = *rising.get(below)?;
    let high = *rising.get((below + 1).min(last))?;
    let between = h - h.floor();
    // Held between the two: a rounding must not carry a figure past those it lies between.
    Some((low + (high - low) * between).clamp(low, high))
}

/// How some figures spread. What so few figures cannot carry is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Of so many.
    pub n: usize,
    /// The least.
    pub least: f64,
    /// 5 % lie below.
    pub low: Option<f64>,
    /// A quarter lies below.
    pub lower_quarter: Option<f64>,
    /// Half lie below.
    pub median: Option<f64>,
    /// A quarter lies above.
    pub upper_quarter: Option<f64>,
    /// 5 % lie above.
    pub high: Option<f64>,
    /// The greatest.
    pub most: f64,
}

impl Spread {
    /// Of these figures, in any order; `None` without any. What is not a number is left out.
    #[must_use]
    pub fn of(figures: impl IntoIterator<Item = f64>) -> Option<Self> {
        let mut rising: Vec<f64> = figures.into_iter().filter(|x| x.is_finite()).collect();
        rising.sort_by(f64::total_cmp);
        let (least, most) = (*rising.first()?, *rising.last()?);
        let n = rising.len();
        let from = |least: usize, share: f64| {
            let enough = n >= least;
            enough.then(|| quantile(&rising, share)).flatten()
        };
        Some(Self {
            n,
            least,
            low: from(LEAST_FOR_TAILS, 0.05),
            lower_quarter: from(LEAST_FOR_MIDDLE, 0.25),
            median: from(LEAST_FOR_MIDDLE, 0.5),
            upper_quarter: from(LEAST_FOR_MIDDLE, 0.75),
            high: from(LEAST_FOR_TAILS, 0.95),
            most,
        })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    type Row = (&'static [f64], [f64; 5]);
    const TABLE: [Row; 4] = [
        (&[1.0, 2.0, 4.0, 8.0], [1.15, 1.75, 3.0, 5.0, 7.4]),
        (
            &[38.5, 41.0, 44.25, 39.0, 52.0, 40.5, 36.0, 47.75],
            [36.875, 38.875, 40.75, 45.125, 50.5125],
        ),
        (
            &[-4.0, -1.5, 0.0, 0.5, 2.0, 2.0, 3.25, 6.0, -7.5, 1.0, -0.25],
            [-5.75, -0.875, 0.5, 2.0, 4.625],
        ),
        (
            &[
                0.0, 9.25, 18.5, 2.5, 11.75, 21.0, 5.0, 14.25, 23.5, 7.5, 16.75, 0.75, 10.0, 19.25,
                3.25, 12.5, 21.75, 5.75, 15.0, 24.25, 8.25, 17.5, 1.5,
            ],
            [0.825, 5.375, 11.75, 18.0, 23.325],
        ),
    ];

    /// By Python 3.11, module `statistics`, `quantiles(data, n=20, method='inclusive')`, whose
    /// documentation names the same (n - 1) p: the cut points of 5, 25, 50, 75 and 95 %.
    #[test]
    fn quantiles_are_those_of_a_general_purpose_reference() {
        for (figures, expected) in TABLE {
            let mut rising = figures.to_vec();
            rising.sort_by(f64::total_cmp);
            for (share, expected) in [0.05, 0.25, 0.5, 0.75, 0.95].into_iter().zip(expected) {
                let found = quantile(&rising, share).unwrap();
                assert!(
                    (found - expected).abs() < 1e-9,
                    "{figures:?} {share}: {found}"
                );
            }
        }
    }

    /// By hand: of 1, 2, 4, 8 a quarter lies at h = 0.75, between 1 and 2; half at 1.5, between
    /// 2 and 4.
    #[test]
    fn by_hand() {
        let rising = [1.0, 2.0, 4.0, 8.0];
        assert_eq!(quantile(&rising, 0.25), Some(1.75));
        assert_eq!(quantile(&rising, 0.5), Some(3.0));
        assert_eq!(quantile(&rising, 0.0), Some(1.0));
        assert_eq!(quantile(&rising, 1.0), Some(8.0));
        assert_eq!(quantile(&[], 0.5), None);
        assert_eq!(quantile(&rising, 1.01), None);
        assert_eq!(quantile(&rising, f64::NAN), None);
    }

    #[test]
    fn few_figures_tell_no_trend() {
        let of = |n: u32| Spread::of((0..n).map(f64::from)).unwrap();
        assert_eq!(Spread::of([]), None);
        assert_eq!(
            (of(9).n, of(9).median, of(9).least, of(9).most),
            (9, None, 0.0, 8.0)
        );
        assert_eq!((of(10).median, of(10).high), (Some(4.5), None));
        assert_eq!(of(19).low, None);
        assert!((of(20).low.unwrap() - 0.95).abs() < 1e-9);
        assert_eq!(Spread::of([f64::NAN]), None);
    }

    proptest! {
        #[test]
        fn quantiles_rise_with_the_share_and_stay_between_the_ends(
            mut figures in proptest::collection::vec(-1e9_f64..1e9, 1..60),
            a in 0.0_f64..=1.0,
            b in 0.0_f64..=1.0,
        ) {
            figures.sort_by(f64::total_cmp);
            let (low, high) = (a.min(b), a.max(b));
            let (at_low, at_high) =
                (quantile(&figures, low).unwrap(), quantile(&figures, high).unwrap());
            prop_assert!(at_low <= at_high);
            prop_assert!(figures[0] <= at_low && at_high <= figures[figures.len() - 1]);
        }

        #[test]
        fn order_does_not_matter(
            figures in proptest::collection::vec(-1e3_f64..1e3, 1..60).prop_shuffle(),
        ) {
            let mut rising = figures.clone();
            rising.sort_by(f64::total_cmp);
            prop_assert_eq!(Spread::of(figures), Spread::of(rising));
        }
    }
}
