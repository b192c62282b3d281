//! An event of the log in words.

use crate::trip::event::{
    Activity, Condition, Event, Fact, Method, Mode, PersonCard, PersonId, Point, Return, Sea,
    Sheet, Signal, SignedOver, ToldDive, Vessel,
};
use crate::trip::roll::Outcome;
use crate::trip::state::waiting;
use crate::web::go_list::{self, forecast};
use crate::web::view;
use crate::words::Arg;

use super::{Here, figure};

/// What happened, in a few words: `Left surface`.
pub(super) fn title(here: &Here, fact: &Fact) -> String {
    here.t.say(&format!("told-{}", fact.kind()))
}

/// The kinds this program can read have a title each; another is named as it came.
pub(super) fn is_known(fact: &Fact) -> bool {
    !matches!(fact, Fact::Unread(_))
}

/// To whom: group letter and names.
pub(super) fn about(here: &Here, event: &Event) -> String {
    let state = &here.snap.state;
    let mut parts = Vec::new();
    if let Some(dive) = event.about.dive.filter(|dive| *dive > 0) {
        parts.push(say(here, "told-dive", &[("n", i64::from(dive).into())]));
    }
    if let Some(group) = event.about.group {
        let letter = if let Fact::GroupFormed(formed) = &event.fact {
            Some(formed.letter.clone())
        } else {
            state.groups.get(&group).map(|g| g.formed.letter.clone())
        };
        if let Some(letter) = letter {
            parts.push(say(here, "told-group", &[("letter", letter.into())]));
        }
    }
    let names: Vec<String> = event
        .about
        .persons
        .iter()
        .map(|id| name(here, *id))
        .collect();
    if !names.is_empty() {
        parts.push(names.join(", "));
    }
    parts.join(" · ")
}

fn name(here: &Here, id: PersonId) -> String {
    here.snap
        .state
        .people
        .get(&id)
        .map_or_else(|| id.to_string(), |p| p.name().to_owned())
}

fn say(here: &Here, key: &str, args: &[(&str, Arg)]) -> String {
    here.t.say_with(key, args)
}

/// The message rounds, in the units it tells.
fn figured(here: &Here, key: &str, n: f64) -> String {
    say(here, key, &[("n", n.into())])
}

fn because(here: &Here, reason: &str) -> String {
    say(here, "told-because", &[("reason", reason.into())])
}

/// The rest: figures, places and words of those who wrote it.
#[expect(
    clippy::too_many_lines,
    reason = "one arm for each kind of event, so that a new kind forces a sentence"
)]
pub(super) fn detail(here: &Here, event: &Event) -> String {
    let overridden = |why: &Option<String>| -> Vec<String> {
        why.iter()
            .map(|why| say(here, "told-override", &[("reason", why.into())]))
            .collect()
    };
    let parts: Vec<String> = match &event.fact {
        Fact::TripOpened(opened) => vec![
            opened.boat.name.clone(),
            opened.harbour.clone(),
            view::day(opened.day),
            opened.skipper.clone(),
        ],
        Fact::PersonJoined(joined) => card(here, &joined.card),
        Fact::PersonChanged(changed) => card(here, &changed.card),
        Fact::DivedEarlier(earlier) => earlier
            .dives
            .iter()
            .map(|dive| earlier_dive(here, dive))
            .collect(),
        Fact::PersonNotComing(not) => vec![because(here, &not.reason)],
        Fact::DivePlanned(planned) => vec![planned.site.name.clone()],
        Fact::GroupFormed(formed) => {
            let mut parts: Vec<String> = formed
                .units
                .iter()
                .map(|unit| {
                    let names: Vec<String> = unit.iter().map(|id| name(here, *id)).collect();
                    names.join(" + ")
                })
                .collect();
            parts.push(view::levels(&formed.plan, here.t));
            parts.push(match formed.mode {
                Mode::Return => here.t.say("mode-return"),
                Mode::Drift => here.t.say("mode-drift"),
                Mode::OneWay { course_deg } => say(
                    here,
                    "mode-one-way-course",
                    &[("course", view::degrees(course_deg.deg()).into())],
                ),
            });
            parts.extend(overridden(&formed.limit_override));
            parts
        }
        Fact::GroupStoodDown(down) => vec![because(here, &down.reason)],
        Fact::HeadCounted(counted) => {
            let mut parts = vec![
                point(here, counted.point),
                here.t.say(match counted.method {
                    Method::Heads => "told-by-heads",
                    Method::Names => "told-by-names",
                }),
            ];
            let dive = event.about.dive.unwrap_or(0);
            // The figure of an earlier count would be read as this one's.
            let is_open = here.is_counting()
                || here.snap.state.calls.iter().any(|call| {
                    (call.point, call.dive, call.number) == (counted.point, dive, counted.call)
                        && matches!(call.outcome(), Outcome::Open { .. })
                });
            // Whoever counts next must not read what the first has counted.
            parts.push(if is_open {
                here.t.say("told-count-hidden")
            } else {
                say(
                    here,
                    "told-counted",
                    &[
                        ("n", i64::from(counted.people).into()),
                        ("log", i64::from(counted.log_aboard).into()),
                    ],
                )
            });
            parts
        }
        Fact::RollCalled(roll) => {
            let mut parts = vec![point(here, roll.point)];
            if !roll.not_seen.is_empty() {
                let names: Vec<String> = roll.not_seen.iter().map(|id| name(here, *id)).collect();
                parts.push(say(
                    here,
                    "told-not-seen",
                    &[("names", names.join(", ").into())],
                ));
            }
            parts
        }
        Fact::Departed(departed) => overridden(&departed.override_reason),
        Fact::LeftSite(left) => overridden(&left.override_reason),
        Fact::TripClosed(closed) => overridden(&closed.override_reason),
        Fact::OnSite(_) | Fact::BackInHarbour(_) | Fact::CommandAccepted(_) => Vec::new(),
        Fact::ConditionsObserved(seen) => {
            let mut parts = Vec::new();
            if let (Some(set), Some(drift)) = (seen.set_deg, seen.drift_kn) {
                let args = [
                    ("set", view::degrees(set.deg()).into()),
                    ("drift", figure(drift.kn()).into()),
                ];
                parts.push(say(here, "told-current", &args));
            }
            if let (Some(from), Some(speed)) = (seen.wind_from_deg, seen.wind_kn) {
                let args = [
                    ("from", view::degrees(from.deg()).into()),
                    ("speed", figure(speed.kn()).into()),
                ];
                parts.push(say(here, "told-wind", &args));
            }
            parts.extend(
                seen.visibility_m
                    .map(|m| figured(here, "told-visibility", m)),
            );
            parts.extend(seen.sea.map(|sea| {
                here.t.say(match sea {
                    Sea::Calm => "told-sea-calm",
                    Sea::Slight => "told-sea-slight",
                    Sea::Moderate => "told-sea-moderate",
                    Sea::Rough => "told-sea-rough",
                })
            }));
            parts.extend(
                seen.water_c
                    .map(|c| say(here, "told-water", &[("n", figure(c).into())])),
            );
            parts
        }
        Fact::BoatPositioned(boat) => vec![
            place(boat.position),
            here.t.say(view::source_key(boat.source)),
        ],
        Fact::DropChecked(check) => {
            let mut parts = Vec::new();
            if check.engine_neutral {
                parts.push(here.t.say("told-neutral"));
            }
            if check.flag_shown {
                parts.push(here.t.say("told-flag"));
            }
            if check.lights == Some(true) {
                parts.push(here.t.say("told-lights"));
            }
            parts
        }
        Fact::LeftSurface(left) => {
            let minutes = |s: u32| -> Arg { super::lines::whole_minutes(s).into() };
            let mut parts = vec![say(
                here,
                "told-window",
                &[
                    ("expected", minutes(left.window.expected_s)),
                    ("latest", minutes(left.window.latest_s)),
                    ("overdue", minutes(left.window.overdue_s)),
                ],
            )];
            parts.extend(left.place.map(place));
            parts
        }
        Fact::BuoySeen(buoy) => buoy.place.map(place).into_iter().collect(),
        Fact::AtSurface(seen) => {
            let signal = here.t.say(match seen.signal {
                Signal::Well => "told-signal-well",
                Signal::NoSignal => "told-signal-none",
                Signal::Help => "told-signal-help",
            });
            std::iter::once(signal)
                .chain(seen.place.map(place))
                .collect()
        }
        Fact::OthersWell(well) => vec![said_by(here, well.said_by)],
        Fact::LostContact(lost) => vec![said_by(here, lost.said_by)],
        Fact::Aboard(aboard) => {
            let mut parts = vec![
                vessel(here, &aboard.vessel),
                say(here, "told-seen-by", &[("name", (&aboard.seen_by).into())]),
            ];
            parts.extend(returned(here, &aboard.detail));
            parts
        }
        Fact::ReturnNoted(noted) => returned(here, &noted.detail),
        Fact::MoreTime(more) => vec![
            say(here, "minutes", &[("n", more.minutes.min().into())]),
            because(here, &more.reason),
        ],
        Fact::RecallSounded(recall) => vec![recall.signal.clone()],
        Fact::PersonMissing(missing) => vec![missing.note.clone()],
        Fact::PersonFound(found) => {
            let mut parts: Vec<String> = found.vessel.iter().map(|v| vessel(here, v)).collect();
            parts.push(say(
                here,
                "told-seen-by",
                &[("name", (&found.seen_by).into())],
            ));
            parts.extend(found.place.map(place));
            parts
        }
        Fact::EmergencyDeclared(declared) => std::iter::once(declared.reason.clone())
            .chain(declared.datum.map(place))
            .collect(),
        Fact::EmergencyStep(step) => std::iter::once(step.text.clone())
            .chain(step.note.clone())
            .collect(),
        Fact::EmergencyEnded(ended) => vec![ended.reason.clone()],
        Fact::AlertAcknowledged(ack) => vec![alert_name(here, &ack.alert)],
        Fact::AlertSilenced(quiet) => vec![alert_name(here, &quiet.alert)],
        Fact::LookoutPosted(posted) => vec![posted.name.clone()],
        Fact::LookoutRelieved(relieved) => vec![relieved.name.clone()],
        Fact::CommandHandedOver(over) => vec![over.name.clone()],
        Fact::PickupArranged(arranged) => {
            let mut parts = vec![arranged.fixed.join(", ")];
            parts.extend(arranged.reason.iter().map(|why| because(here, why)));
            parts
        }
        // What was seen of a person stays out of the log as it is read: the report has it.
        Fact::IncidentNoted(note) => std::iter::once(note.text.clone())
            .chain(note.record.iter().map(|_| here.t.say("told-record")))
            .collect(),
        Fact::ReportSigned(signed) => vec![signed_over(here, &signed.over)],
        Fact::RecordSealed(sealed) => vec![signed_over(here, &sealed.over)],
        Fact::Voided(voided) => {
            let what = here
                .snap
                .entries
                .iter()
                .find(|entry| entry.event.id == voided.of);
            what.map(|entry| {
                let number = i64::try_from(entry.receipt.entry).unwrap_or(0);
                say(here, "told-of-entry", &[("n", number.into())])
            })
            .into_iter()
            .chain([because(here, &voided.reason)])
            .chain(waiting(&here.snap.entries, voided.of).map(|_| here.t.say("told-void-waits")))
            .collect()
        }
        Fact::BeaconHeard(heard) => {
            let mut parts = vec![view::beacon_name(heard.sort, &heard.identity, here.t)];
            if heard.test {
                parts.push(here.t.say("beacon-in-test"));
            }
            parts.extend(heard.place.map(place));
            parts.extend(heard.text.clone());
            parts
        }
        Fact::BeaconDismissed(of) => vec![of.identity.clone(), because(here, &of.reason)],
        Fact::ConditionAnswered(answered) => {
            let word = here.t.say(go_list::answer_key(answered.answer));
            let mut parts = vec![go_list::label(&answered.condition, here.t), word];
            parts.extend(answered.note.clone());
            parts
        }
        Fact::TripDecided(decided) => {
            let key = if decided.go { "go-go" } else { "go-no-go" };
            let mut parts = vec![here.t.say(key)];
            if !decided.not_go.is_empty() {
                let label = |one: &Condition| go_list::label(one, here.t);
                let over: Vec<String> = decided.not_go.iter().map(label).collect();
                parts.push(say(
                    here,
                    "go-not-at-go",
                    &[("what", over.join(", ").into())],
                ));
            }
            parts.extend(decided.reason.iter().map(|why| because(here, why)));
            parts
        }
        Fact::SheetPrinted(printed) => vec![here.t.say(match printed.sheet {
            Sheet::BoatSheet => "way-boat-sheet",
            Sheet::PassengerList => "way-passenger-list",
            Sheet::Briefings => "print-briefings",
        })],
        Fact::ForecastNoted(note) => vec![forecast(note, here.t)],
        Fact::WaitingJoined(joined) => {
            let mut parts = card(here, &joined.card);
            parts.extend(joined.wish.clone());
            parts
        }
        Fact::WaitingLeft(left) => vec![because(here, &left.reason)],
        Fact::Unread(unread) => vec![unread.kind.clone()],
    };
    parts
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" · ")
}

/// `group:…` as the group's letter; other keys say themselves.
fn alert_name(here: &Here, key: &str) -> String {
    let letter = key
        .strip_prefix("group:")
        .and_then(|id| id.parse().ok())
        .and_then(|id| here.snap.state.groups.get(&id))
        .map(|group| group.formed.letter.clone());
    match letter {
        Some(letter) => say(here, "told-group", &[("letter", letter.into())]),
        None => key.to_owned(),
    }
}

/// Up to which entry, and the beginning of the chain there.
fn signed_over(here: &Here, over: &SignedOver) -> String {
    let chain: String = over.chain.chars().take(8).collect();
    let args = [
        ("n", i64::try_from(over.entry).unwrap_or(0).into()),
        ("chain", chain.into()),
    ];
    say(here, "told-signed-over", &args)
}

fn said_by(here: &Here, id: PersonId) -> String {
    say(here, "told-said-by", &[("name", name(here, id).into())])
}

fn card(here: &Here, card: &PersonCard) -> Vec<String> {
    let mut parts = vec![card.name.clone()];
    if card.activity != Activity::Diver {
        parts.push(here.t.say(super::roster::activity_key(card.activity)));
    }
    if !card.level.is_empty() {
        parts.push(card.level.clone());
    }
    parts.extend(
        card.depth_limit_m
            .map(|d| figured(here, "told-limit", d.m())),
    );
    parts
}

/// Where a count or a roll was taken.
pub(super) fn point(here: &Here, point: Point) -> String {
    here.t.say(match point {
        Point::Departure => "point-departure",
        Point::Leaving => "point-leaving",
        Point::Return => "point-return",
    })
}

/// Which vessel, in words.
fn vessel(here: &Here, vessel: &Vessel) -> String {
    match vessel {
        Vessel::Own => here.t.say("vessel-own"),
        Vessel::Tender => here.t.say("vessel-tender"),
        Vessel::Other { name } => say(here, "vessel-other", &[("name", name.into())]),
        Vessel::Shore { place } => say(here, "vessel-shore", &[("place", place.into())]),
    }
}

fn returned(here: &Here, detail: &Return) -> Vec<String> {
    let mut parts = Vec::new();
    parts.extend(detail.bar.map(|bar| figured(here, "told-bar", bar.bar())));
    parts.extend(
        detail
            .greatest_depth_m
            .map(|depth| figured(here, "told-depth", depth.m())),
    );
    parts.extend(
        detail
            .surfaced_at
            .map(|at| say(here, "told-surfaced-at", &[("at", here.time(at).into())])),
    );
    if detail.stop_done == Some(true) {
        parts.push(here.t.say("told-stop-done"));
    }
    if detail.stop_done == Some(false) {
        parts.push(here.t.say("told-stop-missed"));
    }
    parts.extend(detail.problem.clone());
    parts
}

/// A place in degrees and minutes, as it is spoken: `4° 10.500' N 073° 30.200' E`.
pub(super) fn place(position: crate::sea::position::Position) -> String {
    let half = |deg: f64, width: usize, plus: char, minus: char| {
        let thousandths = (deg.abs() * 60_000.0).round();
        let whole = (thousandths / 60_000.0).floor();
        let minutes = (thousandths - whole * 60_000.0) / 1_000.0;
        let letter = if deg < 0.0 { minus } else { plus };
        format!("{whole:0width$.0}°\u{a0}{minutes:06.3}'\u{a0}{letter}")
    };
    format!(
        "{} {}",
        half(position.lat_deg(), 2, 'N', 'S'),
        half(position.lon_deg(), 3, 'E', 'W')
    )
}

/// `18 m, 40 min, up at 1 June 2026, 10:58 (Marrow Tern)`.
pub(super) fn earlier_dive(here: &Here, dive: &ToldDive) -> String {
    let args = [
        ("depth", dive.depth_m.m().into()),
        ("minutes", dive.minutes.min().into()),
        ("at", here.day_and_time(dive.surfaced_at).into()),
        ("source", (&dive.source).into()),
    ];
    say(here, "told-earlier-dive", &args)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sea::position::Position;

    /// By division: 0.175° is 10.5', 0.003333° is 0.2'; 59.9996' is not written as 60'.
    #[test]
    fn places_are_in_degrees_and_minutes() {
        let at = |lon, lat| place(Position::from_degrees(lon, lat).unwrap());
        assert_eq!(
            at(73.503_333_333, 4.175),
            "04°\u{a0}10.500'\u{a0}N 073°\u{a0}30.200'\u{a0}E"
        );
        assert_eq!(
            at(-0.5, -12.5),
            "12°\u{a0}30.000'\u{a0}S 000°\u{a0}30.000'\u{a0}W"
        );
        assert_eq!(
            at(10.999_999_999, 0.0),
            "00°\u{a0}00.000'\u{a0}N 011°\u{a0}00.000'\u{a0}E"
        );
    }
}
