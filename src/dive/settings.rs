//! What a centre sets for every plan: gradient factors and the reserve.

use super::tissue::GradientFactors;
use crate::units::{CylinderBar, Faults, bounds};

/// The figures of [`PlanSettings`], as typed in; not yet checked.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct PlanFigures {
    /// Gradient factor at the first stop.
    pub gradient_low: f64,
    /// Gradient factor at the surface.
    pub gradient_high: f64,
    /// Back on the boat with at least this, bar.
    pub reserve_bar: f64,
}

impl Default for PlanFigures {
    fn default() -> Self {
        Self {
            gradient_low: GradientFactors::USUAL.low(),
            gradient_high: GradientFactors::USUAL.high(),
            reserve_bar: CylinderBar::USUAL_RESERVE.bar(),
        }
    }
}

/// Settings of a centre, each within its range.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "PlanFigures", into = "PlanFigures")]
pub struct PlanSettings {
    gradient_factors: GradientFactors,
    reserve: CylinderBar,
}

impl Default for PlanSettings {
    fn default() -> Self {
        Self {
            gradient_factors: GradientFactors::USUAL,
            reserve: CylinderBar::USUAL_RESERVE,
        }
    }
}

impl TryFrom<PlanFigures> for PlanSettings {
    type Error = Faults;

    fn try_from(figures: PlanFigures) -> Result<Self, Faults> {
        let mut faults = Faults::new();
        let factors = GradientFactors::new(figures.gradient_low, figures.gradient_high);
        let reserve = if bounds::RESERVE_BAR.holds(figures.reserve_bar) {
            CylinderBar::from_bar(figures.reserve_bar).ok()
        } else {
            None
        };
        if reserve.is_none() {
            faults.add(
                "reserve_bar",
                format!("is {}", figures.reserve_bar),
                format!("a number {}", bounds::RESERVE_BAR.in_words()),
            );
        }
        match (factors, reserve) {
            (Ok(gradient_factors), Some(reserve)) => Ok(Self {
                gradient_factors,
                reserve,
            }),
            (Ok(_), None) => Err(faults),
            (Err(of_factors), _) => {
                for fault in of_factors {
                    faults.add(
                        format!("gradient_{}", fault.path),
                        fault.what,
                        fault.allowed,
                    );
                }
                Err(faults)
            }
        }
    }
}

impl From<PlanSettings> for PlanFigures {
    fn from(settings: PlanSettings) -> Self {
        Self {
            gradient_low: settings.gradient_factors.low(),
            gradient_high: settings.gradient_factors.high(),
            reserve_bar: settings.reserve.bar(),
        }
    }
}

impl PlanSettings {
    /// Whether these are the usual figures.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    /// Gradient factors.
    #[must_use]
    pub fn gradient_factors(self) -> GradientFactors {
        self.gradient_factors
    }

    /// What has to be back on the boat.
    #[must_use]
    pub fn reserve(self) -> CylinderBar {
        self.reserve
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_out_of_range_are_all_named() {
        let figures = PlanFigures {
            gradient_low: 0.9,
            gradient_high: f64::NAN,
            reserve_bar: 5.0,
        };
        let faults = PlanSettings::try_from(figures).unwrap_err();
        let paths: Vec<_> = faults.iter().map(|fault| fault.path.as_str()).collect();
        assert_eq!(paths, ["reserve_bar", "gradient_high"]);
    }

    #[test]
    fn settings_survive_their_own_text() {
        let text = serde_json::to_string(&PlanSettings::default()).unwrap();
        let back: PlanSettings = serde_json::from_str(&text).unwrap();
        assert!(back.is_usual());
        assert!(serde_json::from_str::<PlanSettings>(r#"{"reserve": 50}"#).is_err());
        let strict: PlanSettings = serde_json::from_str(r#"{"gradient_low": 0.3}"#).unwrap();
        assert!(!strict.is_usual() && strict.gradient_factors().low() < 0.4);
    }
}
