//! Systems of units: how a quantity that is kept in metres, bar and litres is told to people and
//! read back from them. Everything stored, sent and exported stays metric.
//!
//! A whole figure that is typed is just that, converted to 0.00001 of its metric unit. One with
//! digits after the point is taken for the roundest metric figure that is shown so, and a field
//! shows what is kept with as many digits as that needs: 18 m as 59.1 ft. So a form saved unchanged
//! changes nothing, and what was typed stands there again. A page tells psi whole, each to its
//! safe side, and a depth to a tenth of a foot where it is not whole.

use super::bounds::Bounds;
use super::rounding;

/// Metres in a foot, exactly (NIST SP 811, 2008, appendix B.8, 'foot (ft)'; from memory).
pub const FOOT_M: f64 = 0.304_8;
/// Bar in a pound-force per square inch: 6.894 757 kPa (NIST SP 811, 2008, appendix B.8, 'psi';
/// from memory), here to more digits from its definition, 0.453 592 37 kg x 9.806 65 m/s2 over
/// (0.025 4 m)2.
pub const PSI_BAR: f64 = 0.068_947_572_931_683_6;
/// Litres in a cubic foot, (3.048 dm)3 (NIST SP 811, 2008, appendix B.8, 'cubic foot'; from memory).
pub const CUBIC_FOOT_L: f64 = 28.316_846_592;
/// Metres in a nautical mile (NIST SP 811, 2008, table 9; from memory).
pub const NAUTICAL_MILE_M: f64 = 1_852.0;
/// The working pressure at which a cylinder's cubic feet are told, psi: that of the most common
/// cylinder (common practice, no source).
pub const WORKING_PSI: f64 = 3_000.0;
/// The standard atmosphere, bar (ISO 2533): a cylinder's cubic feet are of gas at this.
const ATMOSPHERE_BAR: f64 = 1.013_25;
/// Depth between the stops of dive tables: 3 m, and 10 ft in tables in feet (common practice,
/// from memory).
const TABLE_STEP_M: f64 = 3.0;
const TABLE_STEP_FT: f64 = 10.0;

/// A pressure as a gauge can be read.
const GAUGE_BAR: f64 = 5.0;
const GAUGE_PSI: f64 = 50.0;

/// What lies this close below a step is on it, in the units shown: a conversion's last digits.
const SLACK: f64 = 1e-3;
/// Digits after the point that tell every figure apart that forms can make.
const MOST_DECIMALS: u32 = 6;
/// Round figures of a metric unit that a typed figure is taken for, coarsest first.
const ROUND: [f64; 9] = [1.0, 0.5, 0.1, 0.05, 0.01, 0.005, 0.001, 0.000_1, 0.000_01];

/// A system of units.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum System {
    /// Metres, bar, litres.
    #[default]
    Metric,
    /// Feet, psi, cubic feet.
    Imperial,
}

impl System {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Metric, Self::Imperial];

    /// Its word in forms and in the setting.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Metric => "metric",
            Self::Imperial => "imperial",
        }
    }

    /// The system of a word.
    #[must_use]
    pub fn by_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.word() == word)
    }
}

/// A unit as its sign stands in the words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// m
    Metres,
    /// ft
    Feet,
    /// nautical miles
    NauticalMiles,
    /// km
    Kilometres,
    /// bar
    Bar,
    /// psi
    Psi,
    /// l
    Litres,
    /// cubic feet at the working pressure
    CubicFeet,
    /// l/min
    LitresPerMinute,
    /// cubic feet a minute
    CubicFeetPerMinute,
}

impl Unit {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Metres,
        Self::Feet,
        Self::NauticalMiles,
        Self::Kilometres,
        Self::Bar,
        Self::Psi,
        Self::Litres,
        Self::CubicFeet,
        Self::LitresPerMinute,
        Self::CubicFeetPerMinute,
    ];

    /// The key of its sign in the message files.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Metres => "measure-metres",
            Self::Feet => "measure-feet",
            Self::NauticalMiles => "measure-nautical-miles",
            Self::Kilometres => "measure-kilometres",
            Self::Bar => "measure-bar",
            Self::Psi => "measure-psi",
            Self::Litres => "measure-litres",
            Self::CubicFeet => "measure-cubic-feet",
            Self::LitresPerMinute => "measure-litres-minute",
            Self::CubicFeetPerMinute => "measure-cubic-feet-minute",
        }
    }
}

/// What a figure measures: its unit in each system, and to which side it may be rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// A depth, as it is.
    Depth,
    /// A depth that is not to be passed: never told deeper.
    Limit,
    /// The depth of a stop: the steps of tables in metres are told as those of tables in feet.
    Stop,
    /// Gas that is there: never told more.
    Pressure,
    /// Gas that must be there: never told less.
    Needed,
    /// Pressure of the air.
    Ambient,
    /// The size of a cylinder: never told larger.
    Size,
    /// Breathing rate.
    Rate,
    /// A length on or in the water.
    Length,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Nearest,
    Down,
    Up,
}

impl Measure {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Depth,
        Self::Limit,
        Self::Stop,
        Self::Pressure,
        Self::Needed,
        Self::Ambient,
        Self::Size,
        Self::Rate,
        Self::Length,
    ];

    /// Its unit.
    #[must_use]
    pub fn unit(self, system: System) -> Unit {
        match (self, system) {
            (Self::Depth | Self::Limit | Self::Stop | Self::Length, System::Metric) => Unit::Metres,
            (Self::Depth | Self::Limit | Self::Stop | Self::Length, System::Imperial) => Unit::Feet,
            (Self::Pressure | Self::Needed | Self::Ambient, System::Metric) => Unit::Bar,
            (Self::Pressure | Self::Needed | Self::Ambient, System::Imperial) => Unit::Psi,
            (Self::Size, System::Metric) => Unit::Litres,
            (Self::Size, System::Imperial) => Unit::CubicFeet,
            (Self::Rate, System::Metric) => Unit::LitresPerMinute,
            (Self::Rate, System::Imperial) => Unit::CubicFeetPerMinute,
        }
    }

    /// How many of the imperial unit are one of the metric.
    fn factor(self) -> f64 {
        match self {
            Self::Depth | Self::Limit | Self::Stop | Self::Length => 1.0 / FOOT_M,
            Self::Pressure | Self::Needed | Self::Ambient => 1.0 / PSI_BAR,
            // What a litre holds at the working pressure, as cylinders are sold by: an ideal gas
            // at the standard atmosphere (common practice).
            Self::Size => WORKING_PSI * PSI_BAR / ATMOSPHERE_BAR / CUBIC_FOOT_L,
            Self::Rate => 1.0 / CUBIC_FOOT_L,
        }
    }

    fn side(self) -> Side {
        match self {
            Self::Depth | Self::Stop | Self::Ambient | Self::Rate | Self::Length => Side::Nearest,
            Self::Limit | Self::Pressure | Self::Size => Side::Down,
            Self::Needed => Side::Up,
        }
    }

    /// Digits after the point that it is told with in imperial units.
    fn decimals(self) -> u32 {
        match self {
            Self::Rate | Self::Ambient => 2,
            // A limit kept in metres must not look shallower than the plan that keeps to it.
            Self::Size | Self::Depth | Self::Limit => 1,
            Self::Stop | Self::Pressure | Self::Needed | Self::Length => 0,
        }
    }

    /// The metric figure in the imperial unit, unrounded.
    #[must_use]
    pub fn exact(self, metric: f64) -> f64 {
        if self == Self::Stop {
            let steps = metric / TABLE_STEP_M;
            if (steps - steps.round()).abs() < 1e-6 {
                return steps.round() * TABLE_STEP_FT;
            }
        }
        metric * self.factor()
    }

    /// The figure as it stands on a page.
    #[must_use]
    pub fn figure(self, metric: f64, system: System) -> String {
        match system {
            // Air differs in hundredths of a bar.
            System::Metric if self == Self::Ambient => metric.to_string(),
            System::Metric => plain(metric),
            System::Imperial => short(self.rounded(metric, self.decimals()), self.decimals()),
        }
    }

    /// The figure in the units of a system, rounded as on a page; as it is in metric ones.
    #[must_use]
    pub fn value(self, metric: f64, system: System) -> f64 {
        match system {
            System::Metric => metric,
            System::Imperial => self.rounded(metric, self.decimals()),
        }
    }

    /// One of the units of a system, in the metric unit.
    #[must_use]
    pub fn one(self, system: System) -> f64 {
        match system {
            System::Metric => 1.0,
            System::Imperial => 1.0 / self.factor(),
        }
    }

    /// A pressure as a gauge can be read, rounded to the measure's side: to 5 bar, or to 50 psi.
    #[must_use]
    pub fn gauge(self, bar: f64, system: System) -> f64 {
        let step = match system {
            System::Metric => GAUGE_BAR,
            System::Imperial => GAUGE_PSI * PSI_BAR,
        };
        match self.side() {
            Side::Up => rounding::up_to(bar, step),
            Side::Down | Side::Nearest => rounding::down_to(bar, step),
        }
    }

    fn rounded(self, metric: f64, decimals: u32) -> f64 {
        let scale = power(decimals);
        let shown = self.exact(metric) * scale;
        let rounded = match self.side() {
            Side::Nearest => shown.round(),
            Side::Down => (shown + SLACK).floor(),
            Side::Up => (shown - SLACK).ceil(),
        };
        // No minus before a zero.
        rounded / scale + 0.0
    }

    fn nearest(self, metric: f64, decimals: u32) -> f64 {
        let scale = power(decimals);
        (self.exact(metric) * scale).round() / scale + 0.0
    }

    /// The figure as it stands in a field: the shortest that is read as this one again.
    #[must_use]
    pub fn field(self, metric: f64, system: System) -> String {
        let typed = (fine(metric) - metric).abs() < 1e-9;
        if system == System::Metric {
            return if typed {
                format!("{}", fine(metric))
            } else {
                plain(metric)
            };
        }
        let shown = |decimals: u32| format_with(self.nearest(metric, decimals), decimals);
        let same = |text: &String| {
            let read = self.read_figure(text);
            read.is_some_and(|read| (read - metric).abs() < 1e-9)
        };
        // What was reckoned has no end of digits; it is shown as on a page.
        let found = (0..=MOST_DECIMALS).filter(|_| typed).map(shown).find(same);
        let figure = found.unwrap_or_else(|| self.figure(metric, system));
        match self {
            Self::Size => format!("{figure} @ {WORKING_PSI}"),
            Self::Depth
            | Self::Limit
            | Self::Stop
            | Self::Pressure
            | Self::Needed
            | Self::Ambient
            | Self::Rate
            | Self::Length => figure,
        }
    }

    /// What was typed, in the metric unit; a comma counts as the decimal point. None if it cannot
    /// be read.
    #[must_use]
    pub fn read(self, text: &str, system: System) -> Option<f64> {
        match (system, self) {
            (System::Metric, _) => number(text),
            (System::Imperial, Self::Size) => self.read_stamped(text),
            (System::Imperial, _) => self.read_figure(text),
        }
    }

    /// `80 @ 3000`: what is stamped on a cylinder, both figures, since cubic feet alone say
    /// nothing of the cylinder's volume.
    fn read_stamped(self, text: &str) -> Option<f64> {
        let (size, working) = text.split_once(['@', '/'])?;
        let (size, working) = (size.trim(), working.trim());
        let psi = number(working).filter(|psi| (1_000.0..=6_000.0).contains(psi))?;
        if (psi - WORKING_PSI).abs() < 0.5 {
            return self.read_figure(size);
        }
        let metric = number(size)? * WORKING_PSI / psi / self.factor();
        Some(fine(metric))
    }

    fn read_figure(self, text: &str) -> Option<f64> {
        let value = number(text)?;
        let decimals = text
            .split_once(['.', ','])
            .map_or(0, |(_, digits)| digits.len());
        let decimals = u32::try_from(decimals).ok()?.min(MOST_DECIMALS);
        let resolution = 1.0 / power(decimals);
        let is_step = self == Self::Stop && (value % TABLE_STEP_FT).abs() < 1e-9;
        let straight = if is_step {
            value / TABLE_STEP_FT * TABLE_STEP_M
        } else {
            value / self.factor()
        };
        // A round metric figure that is shown just so is what is meant, if no other of its kind is.
        let kinds = ROUND
            .iter()
            .filter(|step| decimals > 0 && *step * self.factor() > resolution * 1.01);
        let meant = kinds
            .map(|step| (straight / step).round() * step)
            .find(|near| (self.nearest(*near, decimals) - value).abs() < resolution * 1e-3);
        Some(fine(meant.unwrap_or(straight)))
    }

    /// The range, in the units that are typed: rounded inwards.
    #[must_use]
    pub fn range(self, bounds: &Bounds, system: System) -> (f64, f64) {
        match system {
            System::Metric => (bounds.min, bounds.max),
            System::Imperial => {
                let scale = power(self.decimals());
                let least = (self.exact(bounds.min) * scale - SLACK).ceil() / scale;
                let most = (self.exact(bounds.max) * scale + SLACK).floor() / scale;
                (least + 0.0, most)
            }
        }
    }
}

/// Without the dust of a division: 0.00001 of the unit is less than any gauge tells.
fn fine(metric: f64) -> f64 {
    (metric * 1e5).round() / 1e5
}

fn power(decimals: u32) -> f64 {
    (0..decimals).fold(1.0, |scale, _| scale * 10.0)
}

fn format_with(value: f64, decimals: u32) -> String {
    let decimals = usize::try_from(decimals).unwrap_or(0);
    format!("{value:.decimals$}")
}

/// In its shortest form, to so many digits.
fn short(value: f64, decimals: u32) -> String {
    let text = format_with(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A metric figure in its shortest form, to one digit.
#[must_use]
pub fn plain(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let is_figure = text
        .chars()
        .all(|c| c.is_ascii_digit() || ".,+-".contains(c));
    is_figure
        .then(|| text.replace(',', ".").parse::<f64>().ok())
        .flatten()
        .filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::bounds;
    use super::*;

    fn near(a: f64, b: f64, within: f64) {
        assert!((a - b).abs() <= within, "{a}, not {b}");
    }

    /// Factors of NIST SP 811 (2008), appendix B.8, to the digits given there (from memory): psi
    /// to pascal 6.894 757 E+03, cubic foot to cubic metre 2.831 685 E-02, foot to metre 3.048 E-01.
    #[test]
    fn factors_are_those_of_nist_sp_811() {
        near(PSI_BAR * 1e5, 6_894.757, 5e-4);
        near(CUBIC_FOOT_L / 1e3, 2.831_685e-2, 5e-9);
        near(FOOT_M, 3.048e-1, 0.0);
    }

    /// Pairs that are printed on cards and gauges (common practice, no source).
    #[test]
    fn pairs_that_divers_know() {
        let read = |measure: Measure, text: &str| measure.read(text, System::Imperial).unwrap();
        near(read(Measure::Needed, "3000"), 206.8, 0.05);
        near(read(Measure::Depth, "130"), 39.6, 0.05);
        near(read(Measure::Depth, "33"), 10.0, 0.1);
        // An aluminium 80 is nominally 11.1 l.
        near(read(Measure::Size, "80 @ 3000"), 11.1, 0.05);
        // A steel 100 at 3442 psi holds 12.1 l of water.
        near(read(Measure::Size, "100 @ 3442"), 12.1, 0.05);
        near(read(Measure::Rate, "0.75"), 21.2, 0.05);
        near(read(Measure::Ambient, "14.7"), 1.0135, 0.0005);
    }

    #[test]
    fn figures_are_told_to_the_safe_side() {
        let told = |measure: Measure, metric: f64| measure.figure(metric, System::Imperial);
        for (measure, metric, expected) in [
            (Measure::Depth, 18.0, "59.1"),
            (Measure::Depth, 20.0, "65.6"),
            (Measure::Limit, 20.0, "65.6"),
            (Measure::Limit, 30.0, "98.4"),
            (Measure::Pressure, 200.0, "2900"),
            (Measure::Needed, 50.0, "726"),
            (Measure::Stop, 3.0, "10"),
            (Measure::Stop, 6.0, "20"),
            (Measure::Stop, 9.0, "30"),
            (Measure::Stop, 12.0, "40"),
            (Measure::Stop, 5.0, "16"),
            (Measure::Size, 12.0, "86.5"),
            (Measure::Rate, 20.0, "0.71"),
            (Measure::Length, 0.0, "0"),
        ] {
            assert_eq!(told(measure, metric), expected, "{measure:?} of {metric}");
        }
        assert_eq!(Measure::Limit.figure(39.624, System::Imperial), "130");
        // 25 m are 82.021 ft, and 31.1 m 102.034 ft: whole again, and down.
        assert_eq!(Measure::Limit.figure(25.0, System::Imperial), "82");
        assert_eq!(Measure::Limit.figure(31.1, System::Imperial), "102");
        assert_eq!(Measure::Limit.figure(18.0, System::Metric), "18");
    }

    #[test]
    fn a_range_lies_within_the_metric_one() {
        let range =
            |bounds: &bounds::Bounds| bounds.measure.unwrap().range(bounds, System::Imperial);
        assert_eq!(range(&bounds::DEPTH_M), (3.3, 393.7));
        assert_eq!(range(&bounds::RESERVE_BAR), (291.0, 2175.0));
        assert_eq!(range(&bounds::CYLINDER_BAR), (0.0, 5076.0));
    }

    #[test]
    fn cubic_feet_without_the_pressure_that_goes_with_them_are_not_read() {
        for text in ["80", "80 @", "@ 3000", "80 @ 200", "eighty @ 3000", ""] {
            assert_eq!(Measure::Size.read(text, System::Imperial), None, "{text}");
        }
        for text in ["80 @ 3000", "80@3000", "80/3000"] {
            assert!(
                Measure::Size.read(text, System::Imperial).is_some(),
                "{text}"
            );
        }
    }

    fn any_measure() -> impl Strategy<Value = Measure> {
        proptest::sample::select(Measure::ALL.to_vec())
    }

    /// `VECTORS=1` writes anew what `tests/vectors/units.test.mjs` holds the scripts to.
    #[test]
    fn the_vectors_of_the_scripts_are_what_is_read_here() {
        use std::fmt::Write as _;
        let mut lines = String::new();
        for (word, measure, most) in [
            ("depth", Measure::Depth, 390),
            ("pressure", Measure::Pressure, 5_000),
            ("length", Measure::Length, 9_000),
        ] {
            for nth in 0..120 {
                let whole = most * nth / 120;
                for typed in [
                    whole.to_string(),
                    format!("{whole}.{}", nth % 10),
                    format!("{whole},{:02}", nth % 100),
                ] {
                    let metric = measure.read(&typed, System::Imperial).unwrap();
                    let line =
                        serde_json::json!({"measure": word, "typed": typed, "metric": metric});
                    writeln!(lines, "{line}").unwrap();
                }
            }
        }
        let path =
            std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/units.jsonl");
        if std::env::var_os("VECTORS").is_some() {
            std::fs::write(&path, &lines).unwrap();
        }
        let kept = std::fs::read_to_string(&path).unwrap();
        assert!(
            kept == lines,
            "write them anew with VECTORS=1, then look at what changed"
        );
    }

    proptest! {
        /// A form saved unchanged changes nothing that is stored.
        #[test]
        fn what_is_shown_in_a_field_is_read_as_what_is_kept(
            measure in any_measure(),
            thousandths in 0_u32..400_000,
            digits in 0_u32..=3,
        ) {
            let coarse = 10_u32.pow(3 - digits);
            let metric = fine(f64::from(thousandths / coarse * coarse) / 1e3);
            for system in System::ALL {
                let shown = measure.field(metric, system);
                let read = measure.read(&shown, system);
                prop_assert!(
                    read.is_some_and(|read| (read - metric).abs() < 1e-9),
                    "{metric} is shown as {shown} and read as {read:?}"
                );
            }
        }

        /// What somebody typed stands there again, and stays the same however often it is saved,
        /// in the one system or the other.
        #[test]
        fn what_was_typed_is_shown_again_and_does_not_creep(
            measure in any_measure(),
            tenths in 0_u32..60_000,
            is_whole in any::<bool>(),
        ) {
            let mut typed = if is_whole {
                format!("{}", tenths / 10)
            } else {
                format!("{:.1}", f64::from(tenths) / 10.0)
            };
            if measure == Measure::Size {
                typed.push_str(" @ 3000");
            }
            let kept = measure.read(&typed, System::Imperial).unwrap();
            let mut now = kept;
            for system in [System::Imperial, System::Metric, System::Imperial, System::Imperial] {
                now = measure.read(&measure.field(now, system), system).unwrap();
                prop_assert!((now - kept).abs() < 1e-9, "{typed}: {kept} became {now}");
            }
            let exact = measure.exact(kept);
            let asked: f64 = typed.split(' ').next().unwrap().parse().unwrap();
            let within = if is_whole { 1e-3 } else { 0.051 };
            prop_assert!((exact - asked).abs() <= within, "{typed} is kept as {exact}");
            if is_whole {
                let figure: f64 = measure.figure(kept, System::Imperial).parse().unwrap();
                prop_assert!((figure - asked).abs() < 1e-9, "{typed} stands there as {figure}");
            }
        }

        /// What is left or allowed is never told larger than it is, what is needed never smaller.
        #[test]
        fn rounding_is_never_to_the_unsafe_side(metric in 0.0_f64..400.0) {
            let told = |measure: Measure| -> f64 {
                measure.figure(metric, System::Imperial).parse().unwrap()
            };
            prop_assert!(told(Measure::Limit) <= metric / FOOT_M + 2.0 * SLACK);
            prop_assert!(told(Measure::Pressure) <= metric / PSI_BAR + 2.0 * SLACK);
            prop_assert!(told(Measure::Needed) >= metric / PSI_BAR - 2.0 * SLACK);
        }
    }
}
