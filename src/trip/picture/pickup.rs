//! The pickup order in the picture: keys and figures, no sentences. What holds for every row, as
//! how the hull goes, stands once; a new current changes every row, and only figures travel.

use serde_json::{Map, Value, json};

use super::{by, place, second};
use crate::trip::forecast::Order;
use crate::trip::pickup::{Advice, Approach, Because, Row, Unreachable, Warning, Why};

/// The order, its rows by name.
pub(super) fn order(order: &Order) -> Value {
    let rows = by(order.answer.order.iter().zip(1_u32..), |(one, rank)| {
        (one.id.clone(), row(one, rank, order))
    });
    json!({
        "rows": rows,
        // The solver takes one wind, one water and one boat for all rows.
        "advice": order.answer.order.first().map(|row| advice(row.advice)),
        "unreachable": by(&order.answer.unreachable, |(id, why)| (id.clone(), json!(unreachable(*why)))),
        "proven": order.answer.proven,
        "gap": order.answer.gap,
        "boat_assumed": order.boat_assumed,
        "chart_unread": order.chart_unread,
    })
}

fn row(row: &Row, rank: u32, order: &Order) -> Value {
    let entry = order.entries.get(&row.id);
    json!({
        "rank": rank,
        "group": entry.and_then(|e| e.group),
        "persons": entry.map(|e| e.persons.clone()),
        "seen": entry.is_some_and(|e| e.seen),
        // The instant moves with every change, how long it takes seldom does.
        "arrive_at": second(row.arrive_at),
        "wait_s": whole(row.wait_s),
        "boarding_s": row.start_at.duration_until(row.end_at).as_secs(),
        "meet": place(row.meet),
        "run_m": whole(row.run_m),
        "course_deg": row.course_deg.map(whole),
        "stand_off_m": row.stand_off_m.map(whole),
        "stand_off_min": row.stand_off_min.map(|minutes| whole(minutes.floor())),
        "why": why(&row.why),
        "warnings": by(&row.warnings, warning),
    })
}

fn advice(advice: Advice) -> Value {
    json!({
        "hull_towards_deg": advice.hull.towards_deg.map(whole),
        "hull_kn": tenth(advice.hull.speed_kn),
        "approach": match advice.approach {
            Approach::NotSet => "not-set",
            Approach::FromUpWind => "up-wind",
            Approach::FromDownWind => "down-wind",
            Approach::InTheLee => "lee",
        },
        "wind_from_deg": advice.wind_from_deg.map(whole),
    })
}

/// Why a row stands where it does. `swap_costs` is in weighted person-minutes, or says that one
/// of the two would then be out of reach.
fn why(why: &Why) -> Value {
    let because = match why {
        Why::UnderWay => "under-way",
        Why::Fixed => "fixed",
        Why::Distress => "distress",
        Why::Last => "last",
        Why::Ahead { because, .. } => match because {
            Because::DriftsAshore { .. } => "drifts-ashore",
            Because::Prompt => "prompt",
            Because::UpFirst => "up-first",
            Because::Nearest => "nearest",
            Because::LeastWaiting => "least-waiting",
        },
    };
    let mut told = Map::from_iter([("because".to_owned(), json!(because))]);
    if let Why::Ahead {
        because,
        next,
        swap_costs,
    } = why
    {
        let swap_costs = swap_costs.map_or_else(|| json!("out-of-reach"), whole);
        told.insert("next".into(), json!(next));
        told.insert("swap_costs".into(), swap_costs);
        if let Because::DriftsAshore { minutes } = because {
            // Less than there is rather than more.
            told.insert("minutes".into(), whole(minutes.floor()));
        }
    }
    Value::Object(told)
}

/// A warning under its key. Figures are rounded towards danger, never away from it.
fn warning(warning: &Warning) -> (String, Value) {
    let (key, told) = match warning {
        Warning::StandOffBelowMinimum { minutes, minimum } => (
            "stand-off-below-minimum",
            json!({"minutes": whole(minutes.floor()), "minimum": whole(minimum.ceil())}),
        ),
        Warning::GroupsNearRun { ids } => ("groups-near-run", json!(ids)),
        Warning::CannotSwimClear { set_m_s } => (
            "cannot-swim-clear",
            json!({"set_m_s": (set_m_s * 10.0).ceil() / 10.0}),
        ),
        Warning::NotSeen => ("not-seen", json!(true)),
    };
    (key.to_owned(), told)
}

fn unreachable(why: Unreachable) -> &'static str {
    match why {
        Unreachable::BoatHemmedIn => "boat-hemmed-in",
        Unreachable::ClosedIn => "closed-in",
        Unreachable::OutrunByDrift => "outrun-by-drift",
        Unreachable::LeftBehind => "left-behind",
    }
}

/// Written without a fraction, which every change would carry along; null where it is no number,
/// as JSON knows none but numbers.
fn whole(figure: f64) -> Value {
    // Adding zero takes the sign off a zero.
    serde_json::from_str(&format!("{:.0}", figure.round() + 0.0)).unwrap_or(Value::Null)
}

fn tenth(figure: f64) -> f64 {
    (figure * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_swap_costs_is_a_figure_or_a_word_and_never_left_out() {
        let ahead = |because, swap_costs| Why::Ahead {
            because,
            next: "C".to_owned(),
            swap_costs,
        };
        assert_eq!(
            why(&ahead(Because::Nearest, Some(9.4))),
            json!({"because": "nearest", "next": "C", "swap_costs": 9})
        );
        assert_eq!(
            why(&ahead(Because::DriftsAshore { minutes: 3.9 }, None)),
            json!({"because": "drifts-ashore", "minutes": 3, "next": "C",
                "swap_costs": "out-of-reach"})
        );
        assert_eq!(why(&Why::Last), json!({"because": "last"}));
    }

    /// What is left is never told as more, what is wanted or sets them ashore never as less.
    #[test]
    fn figures_of_warnings_are_rounded_towards_danger() {
        let of = |told: &Warning| warning(told).1;
        let stand_off = Warning::StandOffBelowMinimum {
            minutes: 4.9,
            minimum: 6.1,
        };
        assert_eq!(of(&stand_off), json!({"minutes": 4, "minimum": 7}));
        let set = Warning::CannotSwimClear { set_m_s: 0.41 };
        assert_eq!(of(&set), json!({"set_m_s": 0.5}));
        let near = Warning::GroupsNearRun {
            ids: vec!["E".into(), "L".into()],
        };
        assert_eq!(
            warning(&near),
            ("groups-near-run".to_owned(), json!(["E", "L"]))
        );
        assert_eq!(warning(&Warning::NotSeen).1, json!(true));
    }
}
