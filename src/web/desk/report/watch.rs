//! The alerts of the trip in figures and in a table: how long each waited for somebody, and how many
//! were over before anybody had seen them.

use jiff::Timestamp;

use crate::web::desk::Here;
use crate::web::record::{AlertLine, Record};

/// The alerts as the page shows them.
pub(super) struct AlertsShown {
    /// In a sentence.
    pub summary: String,
    /// Each.
    pub rows: Vec<AlertRow>,
}

/// One alert.
pub(super) struct AlertRow {
    pub what: String,
    pub priority: String,
    pub since: String,
    pub answered: String,
    pub by: String,
    pub until: String,
}

/// All alerts of the trip.
pub(super) fn shown(here: &Here, record: &Record) -> AlertsShown {
    let (t, all) = (here.t, &record.alerts);
    let summary = if all.asking_for_an_act == 0 {
        t.say("record-alerts-none")
    } else {
        let percent = all
            .share_ended_unseen
            .map_or_else(|| "0".to_owned(), |share| format!("{:.0}", share * 100.0));
        let answer = |s: Option<i64>| s.map_or_else(|| t.say("record-nobody"), |s| span(here, s));
        let args = [
            ("n", all.asking_for_an_act.into()),
            ("unseen", all.ended_unseen.into()),
            ("over", all.dealt_with.into()),
            ("percent", percent.into()),
            ("median", answer(all.median_answer_s).into()),
            ("longest", answer(all.longest_answer_s).into()),
        ];
        t.say_with("record-alerts-summary", &args)
    };
    AlertsShown {
        summary,
        rows: all.all.iter().map(|one| row(here, one)).collect(),
    }
}

fn row(here: &Here, one: &AlertLine) -> AlertRow {
    let t = here.t;
    let time = |at: Timestamp| here.time(at);
    AlertRow {
        what: one.what.clone(),
        priority: t.say(match one.priority {
            crate::trip::watch::Priority::Emergency => "record-emergency",
            crate::trip::watch::Priority::Alarm => "record-alarm",
            crate::trip::watch::Priority::Warning => "record-warning",
            crate::trip::watch::Priority::Caution => "record-caution",
        }),
        since: time(one.since),
        answered: one
            .answered_after_s
            .map_or_else(String::new, |s| span(here, s)),
        by: one.acknowledged_by.clone().unwrap_or_default(),
        until: match one.until {
            None => t.say("record-holds-still"),
            Some(_) if one.went_over => t.say("record-went-over"),
            Some(until) if one.ended_unseen => {
                t.say_with("record-ended-unseen", &[("at", time(until).into())])
            }
            Some(until) => time(until),
        },
    }
}

/// `4 min 10 s`, or `10 s` below a minute.
fn span(here: &Here, seconds: i64) -> String {
    let args = [("m", (seconds / 60).into()), ("s", (seconds % 60).into())];
    if seconds < 60 {
        here.t.say_with("record-seconds", &args)
    } else {
        here.t.say_with("record-minutes", &args)
    }
}
