//! The minutes of the watch beside what the season's dives say: shown, offered to nobody.

use super::Sheet;
use crate::dive::window::{Light, WindowFigures, WindowSettings};
use crate::trip::season::{Season, Spread};
use crate::web::desk::figure;
use crate::words::Words;

/// The figures side by side, with what is to be read with them.
pub(super) struct Beside {
    /// The table.
    pub sheet: Sheet,
    /// Where the figures that count come from.
    pub rests_on: String,
}

/// `set`: the centre's own figures, if it set any.
pub(super) fn beside(season: &Season, set: Option<WindowSettings>, t: &Words) -> Beside {
    let figures = WindowFigures::from(set.unwrap_or_default());
    let rests_on = t.say(if set.is_some() {
        "season-rests-on-centre"
    } else {
        "season-rests-on-program"
    });
    let (day, night) = (season.observed(Light::Day), season.observed(Light::Night));
    let share = |x: f64| t.say_with("season-of-run-time", &[("n", hundredths(x).into())]);
    let after = |x: f64| t.say_with("season-after", &[("n", figure(x).into())]);
    let low = |spread: &Spread| spread.low.map(share);
    let high = |spread: &Spread| spread.high.map(after);
    let row = |key: &str, counts: String, gives: Option<String>, n: usize| {
        let gives = gives.unwrap_or_else(|| t.say("season-too-few"));
        vec![t.say(key), counts, gives, n.to_string()]
    };
    let shares = [day.map(|d| d.share), night.map(|d| d.share)];
    let afters = [day.map(|d| d.after_min), night.map(|d| d.after_min)];
    let one = |key: &str,
               counts: String,
               spread: Option<&Spread>,
               gives: &dyn Fn(&Spread) -> Option<String>| {
        row(
            key,
            counts,
            spread.and_then(gives),
            spread.map_or(0, |s| s.n),
        )
    };
    let [day_share, night_share] = &shares;
    let [day_after, night_after] = &afters;
    let rows = vec![
        one(
            "season-earliest-day",
            share(figures.earliest_share),
            day_share.as_ref(),
            &low,
        ),
        one(
            "season-earliest-night",
            share(figures.earliest_share),
            night_share.as_ref(),
            &low,
        ),
        one(
            "season-latest-day",
            after(figures.latest_after_min),
            day_after.as_ref(),
            &high,
        ),
        one(
            "season-latest-night",
            after(figures.night_latest_after_min),
            night_after.as_ref(),
            &high,
        ),
    ];
    let head = [
        "season-figure",
        "season-counts",
        "season-would-give",
        "season-dives-n",
    ];
    Beside {
        sheet: Sheet {
            id: "windows",
            caption: t.say("season-windows-caption"),
            head: head.map(|key| t.say(key)).to_vec(),
            rows,
        },
        rests_on,
    }
}

fn hundredths(share: f64) -> String {
    format!("{share:.2}")
}
