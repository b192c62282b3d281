//! The no-stop limits beside published tables, printed as a table for a reader to judge.
//!
//! ZH-L16C with gradient factors and the tables of the U.S. Navy are different models; neither is
//! meant to equal the other. What must hold with the usual gradient factors:
//!
//! - a first dive is never given longer than by either table, at any depth where both have a
//!   limit;
//! - a repeated dive is never given longer than the Navy's table gives a first one.
//!
//! What does not hold, and stands in the printed table: a repeated dive is given up to 40 min
//! more than by tables 9-7 and 9-8, which let nitrogen out at the surface by their slowest
//! compartment alone. Whoever follows those tables must not take our figure for theirs.
//!
//! On the full M-value a limit lies near the table on either side; that is shown, and bounds what
//! a slip in the model could hide behind.

use std::fmt::Write as _;

use deckwatch::dive::ascent::{Breather, Model, StopLength, no_stop_limit_min};
use deckwatch::dive::mix::Mix;
use deckwatch::dive::plan::{DivePlan, Level, Rates, Stop};
use deckwatch::dive::pressure::{Column, SEA_LEVEL_BAR};
use deckwatch::dive::reckon::{EarlierDive, as_planned, load_after};
use deckwatch::dive::tissue::{GradientFactors, Tissues};
use deckwatch::units::{Depth, Minutes};

use crate::table::rows;

/// Metres of our sea water that press like so many feet of sea water: 33 fsw are one atmosphere.
fn metres(fsw: f64) -> f64 {
    let column = Column::default();
    column.depth_m(SEA_LEVEL_BAR * (1.0 + fsw / 33.0))
}

fn square(fsw: f64, minutes: f64) -> DivePlan {
    let level = Level {
        depth: Depth::from_m(metres(fsw)).unwrap(),
        minutes: Minutes::from_min(minutes).unwrap(),
    };
    // The tables know no safety stop.
    DivePlan::new(vec![level], Stop::new(5.0, 0.0).unwrap(), Rates::USUAL).unwrap()
}

fn model(low: f64, high: f64) -> Model {
    Model {
        column: Column::default(),
        gradient_factors: GradientFactors::new(low, high).unwrap(),
        stop_length: StopLength::Exact,
    }
}

fn limit(fsw: f64, tissues: Tissues, model: &Model) -> Option<f64> {
    let diver = Breather {
        tissues,
        mix: Mix::AIR,
    };
    no_stop_limit_min(&square(fsw, 10.0), &diver, model)
}

fn shown(minutes: Option<f64>) -> String {
    minutes.map_or_else(|| ">600".to_owned(), |min| format!("{min:.1}"))
}

/// Table 9-7 of the U.S. Navy Diving Manual, Revision 7, and chart 3 of the NOAA tables, read in
/// transcriptions; rows that the files leave out are left out here.
#[test]
fn first_dives_beside_the_tables() {
    let rested = Tissues::at_rest(Column::default());
    let mut noaa: Vec<(f64, f64)> = rows("noaa_no_decompression_air.csv")
        .iter()
        .map(|row| (row.number("depth_fsw"), row.number("no_stop_limit_min")))
        .collect();
    noaa.dedup();
    let mut table = String::from(
        "No-stop limits on air in minutes: bottom time from leaving the surface.\n\n\
         fsw      m  U.S. Navy 9-7  NOAA chart 3  ZH-L16C 80 %  ZH-L16C 100 %\n",
    );
    let mut last = 0.0;
    for row in rows("usn_rev7_table_9_7.csv") {
        let fsw = row.number("depth_fsw");
        let (Ok(navy), true) = (row.text("no_stop_limit_min").parse::<f64>(), fsw > last) else {
            continue;
        };
        last = fsw;
        let ours = limit(fsw, rested, &model(0.40, 0.80));
        let full = limit(fsw, rested, &model(1.0, 1.0));
        let chart = noaa
            .iter()
            .find(|(at, _)| (at - fsw).abs() < 0.5)
            .map(|(_, min)| *min);
        writeln!(
            table,
            "{fsw:3} {:6.1}  {navy:13}  {:>12}  {:>12}  {:>13}",
            metres(fsw),
            chart.map_or_else(String::new, |min| min.to_string()),
            shown(ours),
            shown(full),
        )
        .unwrap();
        if let Some(ours) = ours {
            assert!(ours <= navy, "{fsw} fsw: {ours} beyond the Navy's {navy}");
            if let Some(noaa) = chart {
                assert!(ours <= noaa, "{fsw} fsw: {ours} beyond NOAA's {noaa}");
            }
        }
        // A slip of a coefficient or of a unit would show far outside of this.
        if let Some(full) = full {
            assert!(
                (0.5..=2.0).contains(&(full / navy)),
                "{fsw} fsw: {full} against {navy}"
            );
        }
    }
    insta::assert_snapshot!("first_dives", table);
}

/// Tables 9-7 and 9-8 of the same manual applied by hand (not printed there): the longest second
/// dive without stops after a first dive and an interval.
#[test]
fn second_dives_beside_the_tables() {
    let usual = model(0.40, 0.80);
    let full = model(1.0, 1.0);
    let mut table = String::from(
        "Longest second dive without stops on air, minutes.\n\n\
         first dive      interval  second at  U.S. Navy 9-7, 9-8  ZH-L16C 80 %  ZH-L16C 100 %\n",
    );
    for row in rows("usn_rev7_repetitive_examples.csv") {
        let (fsw, minutes) = (
            row.number("dive1_depth_fsw"),
            row.number("dive1_bottom_min"),
        );
        let (hours, rest) = row.text("surface_interval").split_once(':').unwrap();
        let interval_min = 60.0 * hours.parse::<f64>().unwrap() + rest.parse::<f64>().unwrap();
        let second = row.number("dive2_depth_fsw");
        let navy = row.number("longest_no_stop_dive2_min");
        let after = |model: &Model| {
            let first = EarlierDive {
                profile: as_planned(&square(fsw, minutes), Mix::AIR, model).unwrap(),
                mix: Mix::AIR,
                interval_min,
            };
            let rested = Tissues::at_rest(model.column);
            limit(second, load_after(rested, &[first], model), model)
        };
        let ours = after(&usual);
        let first_limit = row.number("no_stop_limit_min");
        let in_words = shown(ours);
        assert!(
            ours.is_some_and(|min| min <= first_limit && min <= navy + 40.0),
            "{second} fsw: {in_words} beyond {first_limit} or far beyond {navy}"
        );
        writeln!(
            table,
            "{fsw:3} fsw {minutes:3} min  {:>8}  {second:5} fsw  {navy:18}  {:>12}  {:>13}",
            row.text("surface_interval"),
            shown(ours),
            shown(after(&full)),
        )
        .unwrap();
    }
    insta::assert_snapshot!("second_dives", table);
}
