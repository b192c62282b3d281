//! The picture of a planned dive as line art: depth and ceiling over time, and the gas left of
//! the member who has the least to spare. Lines differ in their strokes, not in colour alone.

use std::fmt::Write;

use crate::dive::findings::say_stops;
use crate::dive::plan::Part;
use crate::trip::dives::{Answer, settings};
use crate::trip::state::State;
use crate::units::rounding;
use crate::units::system::{Measure, System};
use crate::web::svg::escaped;
use crate::words::Words;

/// Width of the drawing, in its own units: text of 17 is legible on a phone.
const WIDTH: f64 = 420.0;
/// The plot within it.
const LEFT: f64 = 44.0;
const RIGHT: f64 = 372.0;
const TOP: f64 = 30.0;
const BOTTOM: f64 = 262.0;
/// First line of what the strokes mean, and the way to the next.
const KEYS: f64 = 326.0;
const KEY_STEP: f64 = 26.0;

/// Where a moment stands in the drawing.
struct Scales {
    minutes: f64,
    depth_m: f64,
    bar: f64,
    reserve_bar: f64,
}

impl Scales {
    fn x(&self, minute: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * minute / self.minutes
    }

    fn y(&self, depth_m: f64) -> f64 {
        TOP + (BOTTOM - TOP) * depth_m / self.depth_m
    }

    fn y_of_bar(&self, bar: f64) -> f64 {
        BOTTOM - (BOTTOM - TOP) * bar.clamp(0.0, self.bar) / self.bar
    }
}

/// The drawing, or nothing if there is nothing to draw.
#[must_use]
pub(super) fn draw(state: &State, answer: &Answer, t: &Words) -> Option<String> {
    if answer.members.is_empty() {
        return None;
    }
    write_svg(state, answer, t).ok()
}

fn write_svg(state: &State, answer: &Answer, t: &Words) -> Result<String, std::fmt::Error> {
    let depths = answer.moments();
    let gas = answer.gas_moments();
    let start_bar = gas.first().map_or(200.0, |moment| moment.bar);
    let deepest_m = answer.profile.greatest_depth_m();
    let run_min = answer.profile.run_time_min();
    let system = t.system();
    // Ticks stand at round figures of the unit that is read.
    let metres = Measure::Depth.one(system);
    let metres = metres
        * match system {
            System::Metric => step(deepest_m, &[2.0, 5.0, 10.0, 20.0]),
            System::Imperial => step(deepest_m / metres, &[5.0, 10.0, 20.0, 50.0]),
        };
    let full = Measure::Pressure.one(system)
        * match system {
            System::Metric => 50.0,
            System::Imperial => 500.0,
        };
    let minutes = step(run_min, &[5.0, 10.0, 20.0, 60.0]);
    let scales = Scales {
        minutes: next(run_min, minutes / 2.0),
        depth_m: next(deepest_m * 1.05, metres / 2.0),
        bar: next(start_bar, full),
        reserve_bar: settings(state).reserve().bar(),
    };
    let height = KEYS + KEY_STEP * 2.0 + 12.0;
    let mut svg = format!(
        "<svg class=\"dive-picture\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" \
         aria-labelledby=\"dive-title dive-desc\"><title id=\"dive-title\">{}</title>\
         <desc id=\"dive-desc\">{}</desc>",
        escaped(&t.say("picture-title")),
        escaped(&in_words(state, answer, t))
    );
    write_axes(&mut svg, &scales, (metres, minutes), !gas.is_empty(), t)?;
    let has_ceiling = depths.iter().any(|m| m.ceiling_m > 0.0);
    // Drawn where there is one: the open surface is no ceiling.
    for piece in depths.split(|m| m.ceiling_m <= 0.0) {
        let ceiling = piece
            .iter()
            .map(|m| (scales.x(m.minute), scales.y(m.ceiling_m)));
        if piece.len() > 1 {
            write_line(&mut svg, "dive-ceiling", ceiling)?;
        }
    }
    let left = gas
        .iter()
        .map(|m| (scales.x(m.minute), scales.y_of_bar(m.bar)));
    if !gas.is_empty() {
        write_line(&mut svg, "dive-gas", left)?;
    }
    let line = depths
        .iter()
        .map(|m| (scales.x(m.minute), scales.y(m.depth_m)));
    write_line(&mut svg, "dive-depth", line)?;
    write_stops(&mut svg, answer, &scales, t)?;
    write_keys(&mut svg, state, answer, (has_ceiling, !gas.is_empty()), t)?;
    svg.push_str("</svg>");
    Ok(svg)
}

fn write_axes(
    svg: &mut String,
    scales: &Scales,
    (metres, minutes): (f64, f64),
    has_gas: bool,
    t: &Words,
) -> std::fmt::Result {
    write!(
        svg,
        "<path class=\"dive-axis\" d=\"M{LEFT} {TOP}H{RIGHT}M{LEFT} {TOP}V{BOTTOM}"
    )?;
    if has_gas {
        write!(svg, "M{RIGHT} {TOP}V{BOTTOM}")?;
    }
    svg.push_str("\"/>");
    for depth_m in ticks(metres, scales.depth_m) {
        let y = scales.y(depth_m);
        let says = (depth_m / Measure::Depth.one(t.system())).round();
        write!(
            svg,
            "<path class=\"dive-grid\" d=\"M{LEFT} {y:.1}H{RIGHT}\"/>\
             <text class=\"at-end\" x=\"{:.1}\" y=\"{:.1}\">{says}</text>",
            LEFT - 6.0,
            y + 6.0
        )?;
    }
    for minute in ticks(minutes, scales.minutes) {
        let x = scales.x(minute);
        write!(
            svg,
            "<path class=\"dive-axis\" d=\"M{x:.1} {BOTTOM}v6\"/>\
             <text class=\"at-middle\" x=\"{x:.1}\" y=\"{:.1}\">{minute}</text>",
            BOTTOM + 22.0
        )?;
    }
    if has_gas {
        let one = Measure::Pressure.one(t.system());
        let bar_step = one
            * match t.system() {
                System::Metric if scales.bar > 200.0 => 100.0,
                System::Metric => 50.0,
                System::Imperial if scales.bar > 3_001.0 * one => 1_000.0,
                System::Imperial => 500.0,
            };
        for bar in ticks(bar_step, scales.bar) {
            let y = scales.y_of_bar(bar);
            let says = (bar / one).round();
            write!(
                svg,
                "<path class=\"dive-axis\" d=\"M{RIGHT} {y:.1}h6\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\">{says}</text>",
                RIGHT + 8.0,
                y + 6.0
            )?;
        }
        // The reserve, so that what comes back can be seen against it.
        let y = scales.y_of_bar(scales.reserve_bar);
        write!(
            svg,
            "<path class=\"dive-reserve\" d=\"M{:.1} {y:.1}H{RIGHT}\"/>",
            RIGHT - 60.0
        )?;
        write!(
            svg,
            "<text class=\"at-end\" x=\"{WIDTH}\" y=\"18\">{}</text>",
            escaped(&t.say("picture-bar"))
        )?;
    }
    write!(
        svg,
        "<text x=\"0\" y=\"18\">{}</text><text class=\"at-middle\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
        escaped(&t.say("picture-metres")),
        f64::midpoint(LEFT, RIGHT),
        BOTTOM + 42.0,
        escaped(&t.say("picture-minutes"))
    )
}

fn write_line(
    svg: &mut String,
    class: &str,
    points: impl Iterator<Item = (f64, f64)>,
) -> std::fmt::Result {
    write!(svg, "<polyline class=\"{class}\" points=\"")?;
    for (x, y) in points {
        write!(svg, "{x:.1},{y:.1} ")?;
    }
    svg.push_str("\"/>");
    Ok(())
}

/// How long each stop is: beside its end, where the way up leaves the picture free; the last one
/// under its line, or over it where that is short and others stand below.
fn write_stops(svg: &mut String, answer: &Answer, scales: &Scales, t: &Words) -> std::fmt::Result {
    let mut minute = 0.0;
    let held = answer.profile.stops().len();
    let mut nth = 0;
    for leg in answer.profile.legs() {
        let began = scales.x(minute);
        minute += leg.minutes;
        if leg.part != Part::Stop {
            continue;
        }
        nth += 1;
        let (x, y) = (scales.x(minute), scales.y(leg.to_m));
        let (class, x, y) = if nth < held {
            ("dive-stop", x + 8.0, y + 6.0)
        } else if held > 1 && x - began < 110.0 {
            ("dive-stop at-end", x, y - 6.0)
        } else {
            ("dive-stop at-end", x, y + 19.0)
        };
        let says = t.say_with("minutes", &[("n", rounding::up(leg.minutes).into())]);
        write!(
            svg,
            "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\">{}</text>",
            escaped(&says)
        )?;
    }
    Ok(())
}

fn write_keys(
    svg: &mut String,
    state: &State,
    answer: &Answer,
    (has_ceiling, has_gas): (bool, bool),
    t: &Words,
) -> std::fmt::Result {
    let mut keys = vec![("dive-depth", t.say("picture-depth"))];
    if let Some(member) = answer.strictest_by_load().filter(|_| has_ceiling) {
        let args = [("name", state.name_of(member.id).into())];
        keys.push(("dive-ceiling", t.say_with("picture-ceiling", &args)));
    }
    if let Some(member) = answer.strictest_by_gas().filter(|_| has_gas) {
        let args = [("name", state.name_of(member.id).into())];
        keys.push(("dive-gas", t.say_with("picture-gas", &args)));
    }
    for (nth, (class, says)) in (0_u32..).zip(keys) {
        let y = KEYS + KEY_STEP * f64::from(nth);
        write!(
            svg,
            "<path class=\"{class}\" d=\"M{LEFT} {:.1}h46\"/><text x=\"{:.1}\" y=\"{y:.1}\">{}</text>",
            y - 6.0,
            LEFT + 56.0,
            escaped(&says)
        )?;
    }
    Ok(())
}

/// The picture for who cannot see it.
fn in_words(state: &State, answer: &Answer, t: &Words) -> String {
    let profile = &answer.profile;
    let stops: Vec<_> = profile.stops().iter().map(|held| held.stop).collect();
    let mut words = vec![t.say_with(
        "picture-profile",
        &[
            ("depth", profile.greatest_depth_m().into()),
            ("leaving", profile.bottom_time_min().round().into()),
            ("stops", say_stops(&stops, t).into()),
            ("run", profile.run_time_min().round().into()),
        ],
    )];
    let deepest = answer
        .moments()
        .iter()
        .map(|m| m.ceiling_m)
        .fold(0.0, f64::max);
    if let Some(member) = answer.strictest_by_load().filter(|_| deepest > 0.0) {
        let args = [
            ("name", state.name_of(member.id).into()),
            ("depth", rounding::up_to(deepest, 0.1).into()),
        ];
        words.push(t.say_with("picture-ceiling-to", &args));
    } else {
        words.push(t.say("picture-no-ceiling"));
    }
    if let Some((member, gas)) = answer.strictest_by_gas().and_then(|m| Some((m, m.gas?))) {
        let args = [
            ("name", state.name_of(member.id).into()),
            ("leaving", rounding::down(gas.leaving_bar).max(0.0).into()),
            ("end", rounding::down(gas.end_bar).max(0.0).into()),
        ];
        words.push(t.say_with("picture-gas-to", &args));
    }
    words.join(" ")
}

/// The first of these steps that leaves at most six ticks.
fn step(most: f64, steps: &[f64]) -> f64 {
    let fits = steps.iter().copied().find(|step| most / step <= 6.0);
    fits.or(steps.last().copied()).unwrap_or(10.0)
}

/// The next multiple of a step.
fn next(value: f64, step: f64) -> f64 {
    ((value / step).ceil() * step).max(step)
}

fn ticks(step: f64, to: f64) -> impl Iterator<Item = f64> {
    (0_u32..100)
        .map(move |nth| f64::from(nth) * step)
        .take_while(move |at| *at <= to + 1e-9)
}
