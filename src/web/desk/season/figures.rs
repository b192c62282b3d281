//! What the page shows of a season: each plot beside the table of its figures.

use std::fmt::Error;

use super::{Sheet, day};
use crate::trip::season::{Answered, BANDS_KN, Band, By, LEAST_FOR_MIDDLE, Season, Spread, Up};
use crate::units::system::Measure;
use crate::web::plot::{MOST_MARKS, Said, Strip, columns, scatter, strips};
use crate::words::Words;

/// Dives that the page lists one by one; the file has all.
const MOST_LISTED: usize = 200;

/// A figure to one decimal, nought without a sign.
fn figure(value: f64) -> String {
    crate::web::desk::figure((value * 10.0).round() / 10.0 + 0.0)
}

/// A part of the page.
pub(super) struct Part {
    /// Name of its heading.
    pub id: &'static str,
    /// Its heading.
    pub heading: String,
    /// What is to be known of it.
    pub notes: Vec<String>,
    /// Plots, each with its tables.
    pub plots: Vec<Plot>,
}

/// A plot with the tables of its figures.
pub(super) struct Plot {
    /// The drawing; none where there is too little for one.
    pub svg: Option<String>,
    /// Figures in sight.
    pub sheets: Vec<Sheet>,
    /// A long table, to be opened.
    pub long: Option<Sheet>,
}

/// What was read.
pub(super) fn read_words(season: &Season, t: &Words) -> Vec<String> {
    let left = season.left_out();
    let dives = season.dives().count();
    let mut said = vec![t.say_with(
        "season-read",
        &[
            ("trips", season.trips.len().into()),
            ("dives", dives.into()),
        ],
    )];
    if left.only_aboard > 0 {
        said.push(t.say_with("season-only-aboard", &[("n", left.only_aboard.into())]));
    }
    if left.not_known > 0 {
        said.push(t.say_with("season-not-known", &[("n", left.not_known.into())]));
    }
    said
}

/// The parts in the order of the page.
pub(super) fn parts(season: &Season, t: &Words) -> Result<Vec<Part>, Error> {
    Ok(vec![
        run_times(season, t)?,
        lateness(season, t)?,
        alarms(season, t)?,
        gas(season, t)?,
    ])
}

fn run_times(season: &Season, t: &Words) -> Result<Part, Error> {
    let marks = season.run_times();
    let mut notes = vec![t.say("season-run-how")];
    notes.extend(too_many(marks.len(), t));
    let n = [("n", marks.len().into())];
    let said = Said {
        id: "run-times",
        title: t.say("season-run-title"),
        desc: t.say_with("season-run-desc", &n),
        along: t.say("season-run-along"),
        up: t.say("season-run-up"),
    };
    let spread = Spread::of(marks.iter().map(|(planned, actual)| actual - planned));
    let rows = spread.map(|spread| spread_row(t.say("season-run-after"), &spread, t));
    let listed: Vec<Vec<String>> = dive_rows(season, t);
    let caption = if listed.len() > MOST_LISTED {
        let args = [("n", MOST_LISTED.into()), ("all", listed.len().into())];
        t.say_with("season-dives-last", &args)
    } else {
        t.say_with("season-dives-all", &[("n", listed.len().into())])
    };
    let from = listed.len().saturating_sub(MOST_LISTED);
    let head = [
        "season-day",
        "season-boat",
        "season-site",
        "season-group",
        "season-planned",
        "season-dived",
        "season-after-latest",
        "season-current",
    ];
    let long = Sheet {
        id: "dives",
        caption,
        head: head.map(|key| t.say(key)).to_vec(),
        rows: listed.into_iter().skip(from).collect(),
    };
    let drawn = if marks.is_empty() {
        None
    } else {
        Some(scatter(&said, &marks, &t.say("season-run-equal"))?)
    };
    Ok(Part {
        id: "part-run-times",
        heading: t.say("season-run-title"),
        notes,
        plots: vec![Plot {
            svg: drawn,
            sheets: vec![spreads("run-spread", "season-run-caption", rows, t)],
            long: Some(long).filter(|sheet| !sheet.rows.is_empty()),
        }],
    })
}

fn too_many(marks: usize, t: &Words) -> Option<String> {
    let args = [("n", MOST_MARKS.into()), ("all", marks.into())];
    (marks > MOST_MARKS).then(|| t.say_with("season-last-drawn", &args))
}

fn dive_rows(season: &Season, t: &Words) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for trip in &season.trips {
        for dive in &trip.dives {
            let (actual, late) = match dive.up {
                Up::Seen {
                    actual_min,
                    late_min,
                } => (figure(actual_min), figure(late_min)),
                Up::OnlyAboard => (t.say("season-word-aboard"), String::new()),
                Up::NotKnown => (t.say("season-word-unknown"), String::new()),
            };
            rows.push(vec![
                day(trip.day),
                trip.boat.clone(),
                site(dive.at.as_ref().map(|at| &at.name), t),
                dive.letter.clone(),
                figure(dive.planned_min),
                actual,
                late,
                dive.current_kn.map_or_else(String::new, figure),
            ]);
        }
    }
    rows
}

fn site(name: Option<&String>, t: &Words) -> String {
    name.cloned().unwrap_or_else(|| t.say("season-no-site"))
}

/// A row of a table of spreads.
fn spread_row(name: String, spread: &Spread, t: &Words) -> Vec<String> {
    let or_few = |x: Option<f64>| x.map_or_else(|| t.say("season-too-few"), figure);
    vec![
        name,
        spread.n.to_string(),
        figure(spread.least),
        or_few(spread.low),
        or_few(spread.lower_quarter),
        or_few(spread.median),
        or_few(spread.upper_quarter),
        or_few(spread.high),
        figure(spread.most),
    ]
}

fn spreads(
    id: &'static str,
    caption: &str,
    rows: impl IntoIterator<Item = Vec<String>>,
    t: &Words,
) -> Sheet {
    let head = [
        "season-of-what",
        "season-n",
        "season-least",
        "season-q05",
        "season-q25",
        "season-median",
        "season-q75",
        "season-q95",
        "season-most",
    ];
    Sheet {
        id,
        caption: t.say(caption),
        head: head.map(|key| t.say(key)).to_vec(),
        rows: rows.into_iter().collect(),
    }
}

/// Rows of strips and their table.
fn told_apart<K>(
    groups: &[By<K>],
    name: impl Fn(&K) -> String,
    (said, zero): (&Said<'_>, &str),
    (id, caption): (&'static str, &str),
    t: &Words,
) -> Result<Plot, Error> {
    let mut rows = Vec::new();
    let mut drawn = Vec::new();
    for group in groups {
        let Some(spread) = group.spread() else {
            continue;
        };
        let name = name(&group.key);
        let args = [("name", name.as_str().into()), ("n", spread.n.into())];
        let few = spread.n < LEAST_FOR_MIDDLE;
        let label = if few {
            "season-strip-few"
        } else {
            "season-strip"
        };
        drawn.push(Strip {
            label: t.say_with(label, &args),
            figures: group.figures.clone(),
            middle: spread
                .lower_quarter
                .zip(spread.median)
                .zip(spread.upper_quarter)
                .map(|((lower, median), upper)| [lower, median, upper]),
        });
        rows.push(spread_row(name, &spread, t));
    }
    Ok(Plot {
        svg: if drawn.is_empty() {
            None
        } else {
            Some(strips(said, &drawn, zero)?)
        },
        sheets: vec![spreads(id, caption, rows, t)],
        long: None,
    })
}

fn lateness(season: &Season, t: &Words) -> Result<Part, Error> {
    let zero = t.say("season-late-zero");
    let said = |id: &'static str, title: &str| Said {
        id,
        title: t.say(title),
        desc: t.say("season-late-desc"),
        along: t.say("season-late-along"),
        up: String::new(),
    };
    let by_site = told_apart(
        &season.lateness_by_site(),
        |name| site(name.as_ref(), t),
        (&said("late-site", "season-late-site"), &zero),
        ("late-by-site", "season-late-site"),
        t,
    )?;
    let by_current = told_apart(
        &season.lateness_by_current(),
        |band| band_words(*band, t),
        (&said("late-current", "season-late-current"), &zero),
        ("late-by-current", "season-late-current"),
        t,
    )?;
    Ok(Part {
        id: "part-lateness",
        heading: t.say("season-late-title"),
        notes: vec![t.say("season-late-how"), t.say("season-current-how")],
        plots: vec![by_site, by_current],
    })
}

fn band_words(band: Band, t: &Words) -> String {
    let Band::Of(nth) = band else {
        return t.say("season-current-unknown");
    };
    let from = nth.checked_sub(1).and_then(|nth| BANDS_KN.get(nth));
    match (from, BANDS_KN.get(nth)) {
        (None, Some(to)) => t.say_with("season-current-to", &[("to", to.into())]),
        (Some(from), Some(to)) => t.say_with(
            "season-current-of",
            &[("from", from.into()), ("to", to.into())],
        ),
        (Some(from), None) => t.say_with("season-current-from", &[("from", from.into())]),
        (None, None) => t.say("season-current-unknown"),
    }
}

fn answered_cells(answered: &Answered, t: &Words) -> Vec<String> {
    let spread = answered.to_acknowledge();
    let median = spread.map_or_else(
        || t.say("season-none-acknowledged"),
        |spread| {
            spread
                .median
                .map_or_else(|| t.say("season-too-few"), figure)
        },
    );
    let share = answered.unanswered_pct().map_or_else(
        || t.say("season-none-over"),
        |pct| {
            let args = [
                ("pct", pct.round().into()),
                ("n", answered.unanswered.into()),
                ("of", answered.over.into()),
            ];
            t.say_with("season-share-of", &args)
        },
    );
    vec![
        answered.alarms.to_string(),
        share,
        median,
        spread.map_or(0, |spread| spread.n).to_string(),
        answered.by_late_word.to_string(),
    ]
}

fn alarms(season: &Season, t: &Words) -> Result<Part, Error> {
    let mut head: Vec<String> = ["season-trip", "season-hours", "season-an-hour"]
        .map(|key| t.say(key))
        .to_vec();
    let columns_of = [
        "season-alarms",
        "season-unanswered",
        "season-to-acknowledge",
        "season-acknowledged",
        "season-late-word",
    ];
    head.extend(columns_of.map(|key| t.say(key)));
    let unknown = || t.say("season-hours-unknown");
    let mut rows = Vec::new();
    let (rate, hours) = season.alarms_an_hour().map_or_else(
        || (unknown(), unknown()),
        |(rate, hours)| (figure(rate), figure(hours)),
    );
    let mut all = vec![t.say("season-all-trips"), hours, rate];
    all.extend(answered_cells(&season.alarms(), t));
    rows.push(all);
    for trip in season.alarms_by_trip().iter().rev().take(MOST_LISTED) {
        let mut row = vec![format!("{} · {}", day(trip.day), trip.boat)];
        let of = trip.hours.map(|hours| trip.answered.alarms as f64 / hours);
        row.push(trip.hours.map_or_else(unknown, figure));
        row.push(of.map_or_else(unknown, figure));
        row.extend(answered_cells(&trip.answered, t));
        rows.push(row);
    }
    let by_trip = Sheet {
        id: "alarms-by-trip",
        caption: t.say("season-alarms-caption"),
        head,
        rows,
    };
    let with_hours = season
        .trips
        .iter()
        .filter(|trip| trip.hours.is_some())
        .count();
    let by_hour = season.alarms_by_hour();
    let said = Said {
        id: "alarms-hour",
        title: t.say("season-hourly-title"),
        desc: t.say_with("season-hourly-desc", &[("n", with_hours.into())]),
        along: t.say("season-hourly-along"),
        up: t.say("season-hourly-up"),
    };
    let rates: Vec<(String, f64)> = by_hour
        .iter()
        .map(|hour| (hour.hour.to_string(), hour.rate()))
        .collect();
    let head = [
        "season-hour",
        "season-alarms",
        "season-hours",
        "season-an-hour",
    ];
    let hourly = Sheet {
        id: "alarms-by-hour",
        caption: t.say_with("season-hourly-caption", &[("n", with_hours.into())]),
        head: head.map(|key| t.say(key)).to_vec(),
        rows: by_hour
            .iter()
            .map(|hour| {
                vec![
                    hour.hour.to_string(),
                    hour.alarms.to_string(),
                    figure(hour.hours),
                    figure(hour.rate()),
                ]
            })
            .collect(),
    };
    let drawn = if with_hours < LEAST_FOR_MIDDLE {
        None
    } else {
        Some(columns(&said, &rates)?)
    };
    Ok(Part {
        id: "part-alarms",
        heading: t.say("season-alarms-title"),
        notes: vec![t.say("season-alarms-how")],
        plots: vec![
            Plot {
                svg: None,
                sheets: vec![by_trip],
                long: None,
            },
            Plot {
                svg: drawn,
                sheets: vec![hourly],
                long: None,
            },
        ],
    })
}

fn gas(season: &Season, t: &Words) -> Result<Part, Error> {
    let told = |bar: f64| Measure::Pressure.value(bar, t.system());
    let mut groups = season.gas_by_site();
    for figure in groups.iter_mut().flat_map(|group| &mut group.figures) {
        *figure = told(*figure);
    }
    let said = Said {
        id: "gas-site",
        title: t.say("season-gas-site"),
        desc: t.say("season-gas-desc"),
        along: t.say("season-gas-along"),
        up: String::new(),
    };
    let mut plot = told_apart(
        &groups,
        |name| site(name.as_ref(), t),
        (&said, &t.say("season-gas-zero")),
        ("gas-by-site", "season-gas-site"),
        t,
    )?;
    let rows = Spread::of(season.gas_back().into_iter().map(told));
    let rows = rows.map(|spread| spread_row(t.say("season-gas-back"), &spread, t));
    plot.sheets
        .insert(0, spreads("gas-back", "season-gas-caption", rows, t));
    let above: Vec<f64> = groups.iter().flat_map(|g| &g.figures).copied().collect();
    let below = above.iter().filter(|bar| **bar < 0.0).count();
    let args = [
        ("below", below.into()),
        ("n", above.len().into()),
        ("missing", season.gas_not_written().into()),
    ];
    Ok(Part {
        id: "part-gas",
        heading: t.say("season-gas-title"),
        notes: vec![
            t.say("season-gas-how"),
            t.say_with("season-gas-below", &args),
        ],
        plots: vec![plot],
    })
}
