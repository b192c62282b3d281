//! The time rail of a group: a ruler of one hour with *now* fixed at one third, on which the
//! surfacing window is a bracket that tears open when the group is overdue.

use super::svg::escaped;
use std::fmt::Write;

/// Width of the drawing, for 60 minutes.
const WIDTH: f64 = 300.0;
/// Drawing units to a minute.
const A_MINUTE: f64 = 5.0;
/// Where *now* stands: 20 minutes lie behind it, 40 ahead.
const NOW_X: f64 = 100.0;
/// The line everything stands on.
const BASE_Y: f64 = 34.0;

/// The instants of one group in minutes from now, negative when past.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rail {
    /// Left the surface.
    pub entry_min: f64,
    /// Earliest time of surfacing.
    pub earliest_min: f64,
    /// Expected time: due from here.
    pub expected_min: f64,
    /// Latest time: late from here.
    pub latest_min: f64,
    /// Overdue from here.
    pub overdue_min: f64,
    /// When all of the group were up, if they are.
    pub surfaced_min: Option<f64>,
}

/// Places far off the ruler are drawn just beyond its edge; numbers stay short.
fn x(minutes: f64) -> f64 {
    if minutes.is_nan() {
        return -WIDTH;
    }
    let units = (NOW_X + minutes * A_MINUTE).clamp(-WIDTH, 2.0 * WIDTH);
    (units * 10.0).round() / 10.0
}

impl Rail {
    /// The rail as SVG. `now`: the instant from which the minutes count, RFC 3339, so that a
    /// page can move the ruler on. `label`: the same in words, for screen readers.
    ///
    /// Both the whole and the torn bracket are drawn; the phase of the row shows one of them.
    ///
    /// # Errors
    /// [`std::fmt::Error`] if the text cannot grow.
    pub fn svg(&self, now: &str, label: &str) -> Result<String, std::fmt::Error> {
        let (entry, early) = (x(self.entry_min), x(self.earliest_min));
        let (due, late, over) = (
            x(self.expected_min),
            x(self.latest_min),
            x(self.overdue_min),
        );
        let (now, label) = (escaped(now), escaped(label));
        let mut svg = String::with_capacity(1400);
        write!(
            svg,
            "<svg class=\"rail\" viewBox=\"0 0 300 44\" role=\"img\" aria-label=\"{label}\">\
             <path class=\"rail-base\" d=\"M0 {BASE_Y}H300M0 {BASE_Y}v7M50 {BASE_Y}v7M150 {BASE_Y}v7\
             M200 {BASE_Y}v7M250 {BASE_Y}v7M300 {BASE_Y}v7\"/>"
        )?;
        // What lies behind now is clipped at the notch: the time under water, and the tear.
        write!(
            svg,
            "<svg x=\"0\" y=\"0\" width=\"100\" height=\"44\" viewBox=\"0 0 100 44\">\
             <g data-rail-from=\"{now}\">\
             <path class=\"rail-down\" d=\"M{entry} {BASE_Y}H{end}\"/>\
             <path class=\"rail-entry\" d=\"M{entry} 22v24\"/>\
             <path class=\"rail-tear\" d=\"M{late} {BASE_Y}",
            end = self.surfaced_min.map_or(2.0 * WIDTH, x),
        )?;
        for tooth in 0..60 {
            svg.push_str(if tooth % 2 == 0 { "l5 -14" } else { "l5 14" });
        }
        svg.push_str("\"/></g></svg>");
        write!(
            svg,
            "<g data-rail-from=\"{now}\">\
             <path class=\"rail-grace\" d=\"M{late} 26H{over}\"/>\
             <path class=\"rail-limit\" d=\"M{over} 10V{BASE_Y}\"/>\
             <path class=\"rail-whole\" d=\"M{in_early} 8H{early}V{BASE_Y}H{late}V8H{in_late}\"/>\
             <path class=\"rail-torn\" d=\"M{in_early} 8H{early}V{BASE_Y}H{late}\"/>\
             <path class=\"rail-due\" d=\"M{due} 18l6 8 -6 8 -6 -8Z\"/>",
            in_early = early + 9.0,
            in_late = late - 9.0,
        )?;
        if let Some(up) = self.surfaced_min {
            let up = x(up);
            write!(
                svg,
                "<path class=\"rail-up\" d=\"M{up} 6V{BASE_Y}M{up} 6l-7 9M{up} 6l7 9\"/>"
            )?;
        }
        svg.push_str("</g>");
        if early > WIDTH - 8.0 {
            svg.push_str("<path class=\"rail-off\" d=\"M278 14l10 9 -10 9M288 14l10 9 -10 9\"/>");
        }
        svg.push_str(
            "<path class=\"rail-now\" d=\"M100 0V44\"/><path class=\"rail-notch\" d=\"M91 0h18l-9 12Z\"/></svg>",
        );
        Ok(svg)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rail() -> Rail {
        Rail {
            entry_min: -30.0,
            earliest_min: 2.0,
            expected_min: 15.0,
            latest_min: 20.0,
            overdue_min: 25.0,
            surfaced_min: None,
        }
    }

    #[test]
    fn now_is_at_one_third_and_a_minute_is_a_sixtieth() {
        assert!((x(0.0) - WIDTH / 3.0).abs() < 1e-9);
        assert!((x(40.0) - WIDTH).abs() < 1e-9);
        assert!((x(-20.0)).abs() < 1e-9);
    }

    #[test]
    fn the_bracket_stands_from_earliest_to_latest() {
        let svg = rail().svg("2026-05-04T12:00:00Z", "Due in 15 min").unwrap();
        assert!(svg.contains("M119 8H110V34H200V8H191"), "{svg}");
    }

    #[test]
    fn words_cannot_leave_their_attribute() {
        let svg = rail().svg("now", "\"><script>").unwrap();
        assert!(!svg.contains("<script"));
    }

    #[test]
    fn figures_that_are_none_draw_nothing_wild() {
        let mut wild = rail();
        wild.entry_min = f64::NAN;
        wild.latest_min = f64::INFINITY;
        let svg = wild.svg("now", "x").unwrap();
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
    }
}
