//! The go/no-go list in words, for helm, deck, desk, report and print alike.

use jiff::tz::TimeZone;

use super::app::App;
use super::error::Error;
use super::form::Fields;
use super::live::Snapshot;
use super::sea::words::Told;
use super::view;
use crate::sea::daylight::Crossing;
use crate::store::register::key;
use crate::trip::event::{Answer, Condition, ConditionAnswered, ForecastNoted, ForecastOf, Sea};
use crate::trip::go_hints::{Hint, hints};
use crate::trip::state::{Answered, Known, State, Verdict};
use crate::words::Words;

/// Answers as they stand in forms.
pub(super) const ANSWERS: [(&str, Answer); 3] = [
    ("go", Answer::Go),
    ("no-go", Answer::NoGo),
    ("open", Answer::Open),
];
/// Longest note, characters.
const LONGEST_NOTE: usize = 300;

/// A condition as it is shown.
pub(super) struct Line {
    /// As it stands in forms.
    pub value: String,
    /// Its words.
    pub label: String,
    /// How it stands.
    pub answer: Answer,
    /// The same as a word.
    pub word: String,
    /// Each answer: what, who, when, note.
    pub said: Vec<String>,
    /// The note of the one answer that stands.
    pub note: String,
    /// What the program can say.
    pub hints: Vec<String>,
}

/// The centre's own lines.
pub(super) async fn own_lines(app: &App) -> Result<Vec<String>, Error> {
    let lines: Option<Vec<String>> = app.store().setting(key::GO_LINES).await?;
    Ok(lines.unwrap_or_default())
}

/// Key of the word of an answer.
pub(super) fn answer_key(answer: Answer) -> &'static str {
    match answer {
        Answer::Go => "go-go",
        Answer::NoGo => "go-no-go",
        Answer::Open => "go-open",
    }
}

/// A condition in words.
pub(super) fn label(condition: &Condition, t: &Words) -> String {
    t.say(match condition {
        Condition::Weather => "go-weather",
        Condition::SeaState => "go-sea-state",
        Condition::Stream => "go-stream",
        Condition::Daylight => "go-daylight",
        Condition::CrewComplete => "go-crew-complete",
        Condition::LookoutNamed => "go-lookout-named",
        Condition::OxygenFirstAid => "go-oxygen-first-aid",
        Condition::Radio => "go-radio",
        Condition::EmergencyPlan => "go-emergency-plan",
        Condition::RecallSignal => "go-recall-signal",
        Condition::ListAshore => "go-list-ashore",
        Condition::Own(text) => return text.clone(),
    })
}

/// Where the list stands, in a sentence.
pub(super) fn verdict(state: &State, t: &Words) -> String {
    let list = &state.go_list;
    let by = |key: &str| {
        let Some(decision) = list.decision() else {
            return t.say("go-verdict-open");
        };
        let labels = |of: &[Condition]| {
            let labels: Vec<String> = of.iter().map(|one| label(one, t)).collect();
            labels.join(", ")
        };
        let since: Vec<Condition> = list.since().into_iter().cloned().collect();
        let args = [
            ("by", decision.by.as_str().into()),
            (
                "at",
                view::clock_time(decision.at, &view::zone(state)).into(),
            ),
            ("reason", decision.reason.clone().unwrap_or_default().into()),
            ("over", labels(&decision.not_go).into()),
            ("since", labels(&since).into()),
        ];
        t.say_with(key, &args)
    };
    match list.verdict() {
        Verdict::NotBegun => t.say("go-verdict-not-begun"),
        Verdict::Open => t.say("go-verdict-open"),
        Verdict::Go => by("go-verdict-go"),
        Verdict::GoOver => by("go-verdict-go-over"),
        Verdict::ChangedSince => by("go-verdict-changed"),
        Verdict::NoGo => by("go-verdict-no-go"),
    }
}

/// `Tide: high water 06:20, springs (harbour office)`.
pub(super) fn forecast(note: &ForecastNoted, t: &Words) -> String {
    let of = t.say(match note.of {
        ForecastOf::Weather => "forecast-weather",
        ForecastOf::Sea => "forecast-sea",
        ForecastOf::Tide => "forecast-tide",
    });
    let args = [
        ("of", of.into()),
        ("text", note.text.as_str().into()),
        ("source", note.source.clone().unwrap_or_default().into()),
    ];
    let key = match note.source {
        Some(_) => "forecast-from",
        None => "forecast-bare",
    };
    t.say_with(key, &args)
}

/// Forecasts, each with who noted it and when, the latest first.
pub(super) fn forecasts(state: &State, told: Told<'_>) -> Vec<String> {
    let say = |known: &Known<ForecastNoted>| {
        let args = [
            ("text", forecast(&known.what, told.t).into()),
            ("by", known.by.as_str().into()),
            ("at", view::clock_time(known.at, told.zone).into()),
        ];
        told.t.say_with("report-said", &args)
    };
    state.forecasts.iter().rev().map(say).collect()
}

/// The list, line by line.
pub(super) fn lines(snap: &Snapshot, own: &[String], told: Told<'_>) -> Vec<Line> {
    let (state, t) = (&snap.state, told.t);
    let list = &state.go_list;
    list.conditions(own)
        .iter()
        .map(|condition| {
            let answers = list.answers.get(condition).map_or(&[][..], Vec::as_slice);
            let answer = list.standing(condition);
            Line {
                // Plain data: it cannot fail, and were it to, the form would be refused.
                value: serde_json::to_string(condition).unwrap_or_default(),
                label: label(condition, t),
                word: t.say(answer_key(answer)),
                answer,
                said: answers.iter().map(|one| said(one, told.zone, t)).collect(),
                note: match answers {
                    [one] => one.note.clone().unwrap_or_default(),
                    _ => String::new(),
                },
                hints: hints(state, &snap.grounds, condition)
                    .iter()
                    .filter_map(|hint| hint_words(state, hint, told))
                    .collect(),
            }
        })
        .collect()
}

/// `Go: Ilka Voss, 08:40. Note`.
fn said(one: &Answered, zone: &TimeZone, t: &Words) -> String {
    let args = [
        ("answer", t.say(answer_key(one.answer)).into()),
        ("by", one.by.as_str().into()),
        ("at", view::clock_time(one.at, zone).into()),
        ("note", one.note.clone().unwrap_or_default().into()),
    ];
    t.say_with(
        if one.note.is_some() {
            "go-said-note"
        } else {
            "go-said"
        },
        &args,
    )
}

/// For report and print: the decision, then each condition with its answers.
pub(super) fn told_lines(snap: &Snapshot, own: &[String], told: Told<'_>) -> Vec<String> {
    if snap.state.go_list.verdict() == Verdict::NotBegun {
        return Vec::new();
    }
    let line = |line: Line| {
        let said = if line.said.is_empty() {
            line.word
        } else {
            line.said.join("; ")
        };
        format!("{}: {said}", line.label)
    };
    lines(snap, own, told).into_iter().map(line).collect()
}

#[expect(
    clippy::too_many_lines,
    reason = "one arm for each hint, so that a new one forces a sentence"
)]
fn hint_words(state: &State, hint: &Hint, told: Told<'_>) -> Option<String> {
    let t = told.t;
    let time = |at| view::clock_time(at, told.zone);
    Some(match hint {
        Hint::Forecast(known) => {
            let args = [
                ("text", forecast(&known.what, t).into()),
                ("by", known.by.as_str().into()),
                ("at", time(known.at).into()),
            ];
            t.say_with("report-said", &args)
        }
        Hint::Wind(known) => {
            let args = [
                ("from", view::degrees(known.what.0).into()),
                ("speed", known.what.1.into()),
                ("by", known.by.as_str().into()),
                ("at", time(known.at).into()),
            ];
            t.say_with("go-hint-wind", &args)
        }
        Hint::Sea(known) => {
            let sea = match known.what {
                Sea::Calm => "told-sea-calm",
                Sea::Slight => "told-sea-slight",
                Sea::Moderate => "told-sea-moderate",
                Sea::Rough => "told-sea-rough",
            };
            let args = [
                ("sea", t.say(sea).into()),
                ("by", known.by.as_str().into()),
                ("at", time(known.at).into()),
            ];
            t.say_with("go-hint-sea", &args)
        }
        Hint::Current {
            letter,
            dive,
            latest,
            current,
        } => {
            let args = [
                ("letter", letter.as_str().into()),
                ("dive", i64::from(*dive).into()),
                ("at", time(*latest).into()),
                ("current", told.current(current).into()),
            ];
            t.say_with("go-hint-current", &args)
        }
        Hint::Meets {
            letter,
            dive,
            conflict,
        } => {
            let args = [
                ("letter", letter.as_str().into()),
                ("dive", i64::from(*dive).into()),
                ("what", told.conflict(conflict).into()),
            ];
            t.say_with("go-hint-meets", &args)
        }
        Hint::Sunset {
            dive,
            site,
            sunset,
            latest,
            after,
        } => {
            let sunset = match sunset {
                Some(Crossing::At(at)) => time(*at),
                Some(Crossing::AlwaysUp) => t.say("go-hint-always-up"),
                Some(Crossing::NeverUp) => t.say("go-hint-never-up"),
                None => t.say("go-hint-no-almanac"),
            };
            let args = [
                ("dive", i64::from(*dive).into()),
                ("site", site.as_str().into()),
                ("sunset", sunset.into()),
                ("latest", latest.map_or_else(String::new, time).into()),
            ];
            let key = match (latest, after) {
                (None, _) => "go-hint-sunset",
                (Some(_), false) => "go-hint-sunset-before",
                (Some(_), true) => "go-hint-sunset-after",
            };
            t.say_with(key, &args)
        }
        Hint::NoEntryTime { dive, letters } => {
            let args = [
                ("dive", i64::from(*dive).into()),
                ("letters", letters.join(", ").into()),
            ];
            t.say_with("go-hint-no-entry", &args)
        }
        Hint::NoGroups => t.say("go-hint-no-groups"),
        // Who counts blind must not read it off the list.
        Hint::Crew(_) | Hint::Roster { .. } if state.is_counting() => return None,
        Hint::Crew(names) if names.is_empty() => t.say("go-hint-no-crew"),
        Hint::Crew(names) => t.say_with("go-hint-crew", &[("names", names.join(", ").into())]),
        Hint::Lookout(Some(name)) => t.say_with("go-hint-lookout", &[("name", name.into())]),
        Hint::Lookout(None) => t.say("go-hint-no-lookout"),
        Hint::CallSign(sign) => t.say_with("go-hint-call-sign", &[("sign", sign.into())]),
        Hint::PlanSteps(n) => t.say_with("go-hint-plan", &[("n", (*n).into())]),
        Hint::RecallSignal(Some(signal)) => {
            t.say_with("go-hint-recall", &[("signal", signal.into())])
        }
        Hint::RecallSignal(None) => t.say("go-hint-no-recall"),
        Hint::Roster { coming, capacity } => {
            let args = [
                ("n", (*coming).into()),
                ("capacity", i64::from(*capacity).into()),
            ];
            t.say_with("go-hint-roster", &args)
        }
    })
}

/// The answers a form carries: none if one of them cannot be read, with the fault beside it.
pub(super) fn read(fields: &Fields, known: &[Condition]) -> Option<Vec<ConditionAnswered>> {
    let mut answers = Vec::new();
    for nth in 0..known.len() {
        let value = fields.typed(&format!("condition-{nth}"));
        if value.is_empty() {
            break;
        }
        let answer = format!("answer-{nth}");
        let condition: Option<Condition> = serde_json::from_str(value).ok();
        // What stands on no list any more was changed meanwhile: look again.
        let Some(condition) = condition.filter(|one| known.contains(one)) else {
            fields.fault(&answer, "fault-choose", &[]);
            continue;
        };
        let given = fields.word(&answer, &ANSWERS);
        let note = fields.optional_text(&format!("note-{nth}"), LONGEST_NOTE);
        if let (Some(answer), Some(note)) = (given, note) {
            answers.push(ConditionAnswered {
                condition,
                answer,
                note,
            });
        }
    }
    fields.is_sound().then_some(answers)
}
