//! Sample pages with every part in every state: they are checked here, and written to files to
//! be looked at. The place, the boat and the people are invented.

use askama::Template;

use crate::web::frame::{Author, Frame, LiveInfo, Palette, Place, Way, Who};
use crate::web::marker::Mark;
use crate::web::parts::{
    Action, AlertRow, AlertState, Choice, FieldFault, Figure, Instants, LedgerRow, Phase, Urgency,
    Weight,
};
use crate::web::rail::Rail;

const NOW: &str = "2026-05-04T12:41:00+05:00";

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout.html" %}
{% import "parts/ledger.html" as ledger %}{% import "parts/badge.html" as badge %}{% import "parts/button.html" as button %}
{% block title %}Watch list{% endblock %}
{% block mast %}{{ badge::count(21, "in water", true) }} {{ badge::count(9, "to fetch") }} {{ badge::count(4, "aboard") }}{% endblock %}
{% block main %}<h1 class="unseen">Watch list</h1>{{ ledger::rows(rows, "Groups", frame.t) }}{% endblock %}
{% block shelf %}{% for one in shelf %}{{ button::action(one) }}{% endfor %}{% endblock %}"#
)]
struct WatchSample {
    frame: Frame,
    rows: Vec<LedgerRow>,
    shelf: Vec<Action>,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout.html" %}
{% import "parts/form.html" as form %}{% import "parts/badge.html" as badge %}{% import "parts/button.html" as button %}
{% block title %}Log return: Echo{% endblock %}
{% block mast %}{{ badge::count("1 of 4", "aboard", true) }}{% endblock %}
{% block main %}{{ button::undo("Mirel Tanaq aboard, 60 bar", undo, "2026-05-04T12:41:10+05:00", frame.t) }}
<h1>Log return: Echo</h1>
<form method="post" action="/aboard">{{ form::tiles("person", "Who is aboard?", "One tap, one person.", people, faults) }}
{{ form::number("bar", "Left in the cylinder", "bar", "", faults, "numeric", "") }}
{{ form::number("depth", "Greatest depth", "m", "18", faults, "decimal", "") }}
{{ button::send("Log return", "primary") }}</form>
<h2>Before the drop</h2><form method="post" action="/check">{{ form::checks("check", "Each seen by you", "", checks, faults) }}</form>{% endblock %}
{% block shelf %}{% for one in shelf %}{{ button::action(one) }}{% endfor %}{% endblock %}"#
)]
struct ReturnSample {
    frame: Frame,
    people: Vec<Choice>,
    checks: Vec<Choice>,
    faults: Vec<FieldFault>,
    undo: Action,
    shelf: Vec<Action>,
}

#[derive(Template)]
#[template(
    ext = "html",
    source = r#"{% extends "layout.html" %}
{% import "parts/form.html" as form %}{% import "parts/table.html" as table %}{% import "parts/button.html" as button %}
{% block title %}Plan a dive{% endblock %}
{% block mast %}Trip of 4 May · Brisk Petrel · Sorrel Bank{% endblock %}
{% block main %}{{ form::summary(faults, frame.t) }}<h1>Plan a dive</h1>
<form method="post" action="/plan">
{{ form::text("site", "Site", "As the centre calls it.", "Sorrel Bank, north edge", faults) }}
<div class="fields">{{ form::number("depth", "Greatest depth", "m", "182", faults) }}{{ form::number("minutes", "Bottom time", "min", "40", faults) }}{{ form::number("reserve", "Back on the boat with", "bar", "fifty", faults) }}</div>
{{ form::tiles("mode", "How they come up", "", modes, faults) }}
{{ form::select("leader", "Leader", "", people, faults) }}
{{ form::lines("notes", "Notes for the boat", "", "", faults, 3) }}
{{ button::send("Check plan") }}</form>
{% call table::sheet("groups", "Groups of this dive") %}<thead><tr><th scope="col">Group</th><th scope="col">People</th><th scope="col" class="figure">Run time</th><th scope="col" class="figure">Bar at turn</th></tr></thead>
<tbody>{% for mark in marks %}<tr><th scope="row">{{ mark.svg()|safe }}</th><td>Ada Lindqvar, Mirel Tanaq</td><td class="figure">47 min</td><td class="figure">110 bar</td></tr>{% endfor %}</tbody>{% endcall %}
<dl class="facts">{{ table::fact("Daylight", "until 18:04 local") }}{{ table::fact("Tide table", "assumed, 2 days old") }}</dl>
{{ button::confirm("Close this trip?", "Everyone is aboard by both counts. The log is then closed.", close, "/trip", frame.t) }}{% endblock %}"#
)]
struct PlanSample {
    frame: Frame,
    faults: Vec<FieldFault>,
    modes: Vec<Choice>,
    people: Vec<Choice>,
    marks: Vec<Mark>,
    close: Action,
}

fn instant(min: f64) -> String {
    let now: jiff::Timestamp = NOW.parse().unwrap();
    let seconds = jiff::SignedDuration::from_secs_f64(min * 60.0);
    now.checked_add(seconds).unwrap().to_string()
}

struct Of(usize, Phase, Urgency, f64);

fn row(of: &Of, who: &str, why: &str, figure: (&str, &str, &str), timed: bool) -> LedgerRow {
    let Of(index, phase, urgency, due) = *of;
    let rail = Rail {
        entry_min: due - 45.0,
        earliest_min: due - 13.0,
        expected_min: due,
        latest_min: due + 5.0,
        overdue_min: due + 10.0,
        surfaced_min: (phase == Phase::Surface).then_some(-6.0),
    };
    LedgerRow {
        id: format!("g{index}"),
        href: "/group".to_owned(),
        mark: Mark::of(index),
        who: who.to_owned(),
        why: why.to_owned(),
        stops: if phase == Phase::Due {
            "if still down: owes 6 min at 3 m, up 12:52".to_owned()
        } else {
            String::new()
        },
        phase,
        urgency,
        check_now: false,
        figure: Figure {
            caption: figure.0.to_owned(),
            value: figure.1.to_owned(),
            unit: figure.2.to_owned(),
            counts_to: timed.then(|| {
                instant(match figure.0 {
                    "late in" => due + 5.0,
                    "overdue in" | "for" => due + 10.0,
                    _ => due,
                })
            }),
        },
        rail: (!matches!(phase, Phase::Aboard | Phase::Ready)).then_some(rail),
        instants: timed.then(|| Instants {
            earliest: instant(due - 13.0),
            expected: instant(due),
            latest: instant(due + 5.0),
            overdue: instant(due + 10.0),
        }),
        now_rfc3339: NOW.to_owned(),
    }
}

fn rows() -> Vec<LedgerRow> {
    use Phase as P;
    use Urgency as U;
    vec![
        row(
            &Of(6, P::Distress, U::Emergency, 8.0),
            "1 of 2 at surface",
            "Needs help · 230 m at 071° T",
            ("for", "2", "min"),
            false,
        ),
        row(
            &Of(2, P::Overdue, U::Alarm, -16.0),
            "4 people not seen",
            "Sound recall, mark datum, call",
            ("for", "6", "min"),
            true,
        ),
        row(
            &Of(0, P::Late, U::Warning, -7.0),
            "3 people",
            "Watch down-current, to 225° T",
            ("overdue in", "3", "min"),
            true,
        ),
        row(
            &Of(9, P::Split, U::Warning, 4.0),
            "2 of 4 at surface",
            "Partner of Sefa Moana not up",
            ("clock", "1:40", "min:s"),
            false,
        ),
        row(
            &Of(7, P::Buoy, U::Caution, 2.0),
            "4 people, buoy only",
            "Hold off, nobody seen yet",
            ("due in", "2", "min"),
            false,
        ),
        row(
            &Of(1, P::Due, U::None, -2.0),
            "2 people",
            "Expected at the north edge",
            ("late in", "3", "min"),
            true,
        ),
        row(
            &Of(3, P::Window, U::None, 9.0),
            "4 people",
            "On the way to the shot line",
            ("due in", "9", "min"),
            true,
        ),
        row(
            &Of(4, P::Down, U::None, 31.0),
            "4 people",
            "One-way drift, going to 225° T",
            ("due in", "31", "min"),
            true,
        ),
        row(
            &Of(8, P::Surface, U::None, -5.0),
            "2 of 2 at surface",
            "Waiting, all well",
            ("since", "6", "min"),
            false,
        ),
        row(
            &Of(5, P::Aboard, U::None, 0.0),
            "4 of 4 aboard",
            "Least 60 bar",
            ("at", "12:29", ""),
            false,
        ),
    ]
}

fn frame(place: Place, palette: Palette) -> Frame {
    let mut frame = Frame::new(place, "/helm/trip/7?view=watch");
    frame.palette = palette;
    frame.who = Some(Who {
        name: "Ilse Varga".to_owned(),
        role: "Skipper".to_owned(),
    });
    frame.live = Some(LiveInfo {
        trip_id: "7".to_owned(),
        certificate_ends: None,
        basic_url: None,
        entry: 214,
        server_time_rfc3339: NOW.to_owned(),
        server_time_words: "12:41 local".to_owned(),
        clock_speed: 1.0,
        picture_url: "/api/trips/7/picture".to_owned(),
        stream_url: "/api/trips/7/live".to_owned(),
        refresh_s: Some(15),
        author: Author {
            device: "6".to_owned(),
            crew: "5".to_owned(),
            name: "Ilse Varga".to_owned(),
            role: "skipper",
        },
    });
    frame.ways = ["Watch list", "Pickup order", "Roll call", "More"]
        .into_iter()
        .enumerate()
        .map(|(i, label)| Way {
            label: label.to_owned(),
            href: "/".to_owned(),
            here: i == 0,
        })
        .collect();
    frame.alerts_url = "/helm/trip/7/alerts".to_owned();
    frame
}

fn alert(
    id: &str,
    urgency: Urgency,
    state: AlertState,
    index: usize,
    title: &str,
    detail: &str,
) -> AlertRow {
    AlertRow {
        id: id.to_owned(),
        urgency,
        state,
        mark: Some(Mark::of(index)),
        title: title.to_owned(),
        detail: detail.to_owned(),
        href: "/alert".to_owned(),
        since_rfc3339: NOW.to_owned(),
        quiet_until_rfc3339: (state == AlertState::Silenced).then(|| instant(0.4)),
    }
}

fn alerts() -> Vec<AlertRow> {
    vec![
        alert(
            "a1",
            Urgency::Emergency,
            AlertState::Active,
            6,
            "Distress: Hotel, 2 people",
            "Needs help · 230 m at 071° T",
        ),
        alert(
            "a2",
            Urgency::Alarm,
            AlertState::Silenced,
            2,
            "Overdue: Delta, 4 people",
            "Sound recall, mark datum, call",
        ),
        alert(
            "a3",
            Urgency::Warning,
            AlertState::Acknowledged,
            0,
            "Late: Bravo, 3 people",
            "Acknowledged by Ilse Varga",
        ),
    ]
}

fn watch(palette: Palette, quiet: bool) -> String {
    let mut frame = frame(Place::Helm, palette);
    frame.alerts = Some(if quiet { Vec::new() } else { alerts() });
    let rows = if quiet { rows().split_off(5) } else { rows() };
    let first = if quiet {
        Action::new("Pickup order", "/pickup", Weight::Primary)
    } else {
        Action::new("Acknowledge", "/ack", Weight::Primary).with("knows", "helm:214")
    };
    let mut recall = Action::new("Sound recall", "/recall", Weight::Plain);
    recall.note = "Hold, or tap to confirm".to_owned();
    recall.confirm_url = Some("/recall".to_owned());
    WatchSample {
        frame,
        rows,
        shelf: vec![first, recall],
    }
    .render()
    .unwrap()
}

fn choice(value: &str, note: &str, chosen: bool) -> Choice {
    Choice {
        value: value.to_owned(),
        label: value.to_owned(),
        note: note.to_owned(),
        chosen,
    }
}

fn fault(field: &str, text: &str) -> FieldFault {
    FieldFault {
        field: field.to_owned(),
        text: text.to_owned(),
    }
}

fn returned(palette: Palette) -> String {
    let mut frame = frame(Place::Deck, palette);
    frame.drill = true;
    frame.alerts = Some(vec![alert(
        "a4",
        Urgency::Caution,
        AlertState::Active,
        3,
        "Link lost to the helm",
        "Since 12:38 local",
    )]);
    let mut well = Action::new("Others well", "/well", Weight::Plain);
    well.note = "Said by a diver".to_owned();
    let mut lost = Action::new("Lost contact", "/lost", Weight::Grave);
    lost.note = "Alarm at once".to_owned();
    ReturnSample {
        frame,
        people: vec![
            choice("Sefa Moana", "leader", true),
            choice("Jonas Brandt-Okafor", "", false),
            choice("李小龙", "", false),
        ],
        checks: vec![
            choice("Engine in neutral", "", true),
            choice("Lookout posted", "Tove Aalto", false),
        ],
        faults: vec![fault("bar", "Enter the bar left, from 0 to 300")],
        undo: Action::new("Undo", "/undo", Weight::Plain).with("event", "1"),
        shelf: vec![well, lost],
    }
    .render()
    .unwrap()
}

fn plan(palette: Palette) -> String {
    let mut frame = frame(Place::Desk, palette);
    frame.title_prefix = "Error: ".to_owned();
    frame.alerts = Some(alerts().split_off(2));
    PlanSample {
        frame,
        faults: vec![
            fault(
                "depth",
                "Depth of 182 m is beyond the limit of the group: 18 m",
            ),
            fault("reserve", "Enter the bar as a figure, from 20 to 200"),
            fault("mode", "Choose how the group comes up"),
        ],
        modes: vec![
            choice("Back to the shot line", "", false),
            choice("Drift", "with the current", false),
            choice("One way", "to a zone", false),
        ],
        people: vec![
            choice("Ada Lindqvar", "", true),
            choice("Mirel Tanaq", "", false),
        ],
        marks: (0..12).map(Mark::of).collect(),
        close: Action::new("Close trip", "/close", Weight::Grave),
    }
    .render()
    .unwrap()
}

fn all() -> Vec<(String, String)> {
    let mut pages = Vec::new();
    for palette in Palette::ALL {
        let name = palette.name();
        pages.push((format!("watch-{name}"), watch(palette, false)));
        pages.push((format!("quiet-{name}"), watch(palette, true)));
        pages.push((format!("return-{name}"), returned(palette)));
        pages.push((format!("plan-{name}"), plan(palette)));
    }
    pages
}

/// The content security policy allows neither inline styles nor inline scripts.
#[test]
fn no_page_carries_a_style_or_a_script_of_its_own() {
    for (name, page) in all() {
        assert!(!page.contains(" style="), "{name}");
        assert!(!page.contains("<style"), "{name}");
        assert!(!page.contains(" onclick"), "{name}");
        assert_eq!(
            page.matches("<script").count(),
            page.matches(" src=").count(),
            "{name}"
        );
    }
}

#[test]
fn an_id_stands_once_on_a_page_and_every_reference_finds_one() {
    for (name, page) in all() {
        let mut ids = std::collections::BTreeSet::new();
        for part in page.split(" id=\"").skip(1) {
            let id = part.split('"').next().unwrap();
            assert!(ids.insert(id.to_owned()), "{name}: {id} twice");
        }
        for start in [" for=\"", " aria-describedby=\"", " href=\"#"] {
            for part in page.split(start).skip(1) {
                for id in part.split('"').next().unwrap().split_whitespace() {
                    assert!(ids.contains(id), "{name}: nothing is called {id}");
                }
            }
        }
    }
}

#[test]
fn a_drill_is_marked_on_the_page_and_in_its_title() {
    let page = returned(Palette::Day);
    assert!(
        page.contains("<title>DRILL · Log return: Echo · Deckwatch</title>"),
        "{page}"
    );
    assert!(page.contains(" data-drill>") && page.contains("class=\"drill-word\""));
    assert!(!watch(Palette::Day, false).contains("data-drill"));
}

#[test]
fn names_are_escaped() {
    let mut frame = frame(Place::Helm, Palette::Day);
    frame.alerts = Some(Vec::new());
    let mut rows = rows();
    rows.truncate(1);
    rows[0].who = "<img src=x>".to_owned();
    let page = WatchSample {
        frame,
        rows,
        shelf: Vec::new(),
    }
    .render()
    .unwrap();
    assert!(
        !page.contains("<img") && page.contains("&#60;img"),
        "{page}"
    );
}

#[test]
fn no_word_is_missing_from_a_page() {
    for (name, page) in all() {
        assert!(!page.contains('{') && !page.contains('}'), "{name}");
    }
}
