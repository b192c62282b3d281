//! What each command prints where, and how it ends.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use deckwatch::clock::Clock;
use deckwatch::dive::window::WindowSettings;
use deckwatch::store::{Incoming, Store};
use deckwatch::trip::event::{
    APP_VERSION, About, ApproachSide, Boarding, BoatSheet, By, Event, Fact, Knows, Role, TripOpened,
};
use deckwatch::trip::{BoatId, CrewId, DeviceId, EventId, TripId};
use serde_json::Value;
use sqlx::ConnectOptions;
use uuid::Uuid;

/// Runs `deckwatch` with nothing of the environment but what is given.
fn run(arguments: &[&str], input: &str, variables: &[(&str, &str)]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_deckwatch"))
        .args(arguments)
        .env_clear()
        .envs(variables.iter().copied())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A command that reads nothing may have ended already.
    drop(child.stdin.take().unwrap().write_all(input.as_bytes()));
    child.wait_with_output().unwrap()
}

pub fn at(folder: &Path, arguments: &[&str], input: &str) -> Output {
    run(
        arguments,
        input,
        &[("DECKWATCH_DATA", folder.to_str().unwrap())],
    )
}

#[track_caller]
pub fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

#[track_caller]
pub fn good(output: &Output) -> &str {
    assert!(output.status.success(), "{}", text(&output.stderr));
    text(&output.stdout)
}

#[test]
fn a_computation_reads_one_document_and_writes_one() {
    let equinox = r#"{"position": [0, 0], "date": "2026-03-20"}"#;
    let output = run(&["compute", "daylight"], equinox, &[]);
    let answer: Value = serde_json::from_str(good(&output)).unwrap();
    assert!(answer["sunrise"].is_string(), "{answer}");
    assert_eq!(text(&output.stderr), "");
}

#[test]
fn each_fault_of_a_document_is_one_line_and_the_end_is_2() {
    let bad = r#"{"position": [200, 0], "date": "yesterday", "odd": 1}"#;
    let output = run(&["compute", "daylight"], bad, &[]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(text(&output.stdout), "");
    let lines: Vec<&str> = text(&output.stderr).lines().collect();
    assert_eq!(lines.len(), 3, "{lines:?}");
    for (line, path) in lines.iter().zip(["position[0]", "date", "odd"]) {
        assert!(line.starts_with(path), "{line}");
    }
    for (what, input) in [("drift", ""), ("stream", "[1,"), ("pickup-order", "NaN")] {
        let output = run(&["compute", what], input, &[]);
        assert_eq!(output.status.code(), Some(2), "{what}");
        assert_eq!(text(&output.stderr).lines().count(), 1, "{what}");
    }
    let output = run(&["compute", "weather"], "{}", &[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("pickup-order"));
}

/// The first row of the separate reckoning beside the reference tests that is asked with the
/// settings of this document: 18 m on air at 100 % of the M-value.
#[test]
fn a_plan_and_a_limit_are_answered_and_every_bad_figure_named() {
    let plan = r#"{"gas": {"oxygen": 0.21}, "levels": [{"depth_m": 18, "minutes": 40}],
        "gradient_factors": {"low": 1, "high": 1}, "last_ascent_m_min": 9}"#;
    let output = run(&["compute", "dive-plan"], plan, &[]);
    let answer: Value = serde_json::from_str(good(&output)).unwrap();
    let limit = answer["no_stop_limit_min"].as_f64().unwrap();
    assert!((limit - 62.38).abs() <= 0.02, "{limit}");
    assert_eq!(answer["within_no_stop"], Value::Bool(true));

    let output = run(
        &["compute", "no-stop-limits"],
        r#"{"gas": {"oxygen": 0.21}}"#,
        &[],
    );
    let answer: Value = serde_json::from_str(good(&output)).unwrap();
    assert_eq!(answer["limits"].as_array().unwrap().len(), 12);

    let bad = r#"{"gas": {"oxygen": 0.1}, "levels": [{"depth_m": 0, "minutes": -1}], "odd": 1}"#;
    let output = run(&["compute", "dive-plan"], bad, &[]);
    assert_eq!(output.status.code(), Some(2));
    let lines: Vec<&str> = text(&output.stderr).lines().collect();
    assert_eq!(lines.len(), 4, "{lines:?}");
}

/// The samples beside the reference tests, with the cost that was proven best for each.
#[test]
fn the_order_of_a_sample_is_as_good_as_was_proven() {
    let file = include_str!("../reference/pickup/001.json");
    let sample: Value = serde_json::from_str(file).unwrap();
    let input = sample["instance"].to_string();
    let output = run(&["compute", "pickup-order"], &input, &[]);
    let answer: Value = serde_json::from_str(good(&output)).unwrap();
    let (cost, best) = (&answer["cost"], &sample["best_cost"]);
    let (cost, best) = (cost.as_f64().unwrap(), best.as_f64().unwrap());
    assert!((cost - best).abs() <= 0.005 * best, "{cost} against {best}");
}

#[test]
fn an_account_is_made_listed_changed_and_removed() {
    let folder = tempfile::tempdir().unwrap();
    let crew = |arguments: &[&str], input: &str| {
        let mut all = vec!["crew"];
        all.extend(arguments);
        at(folder.path(), &all, input)
    };
    let add = ["add", "Ilka Voss", "--role", "skipper", "--role", "desk"];
    let made = crew(&add, "274913\n");
    let code = good(&made).lines().last().unwrap().to_owned();
    let digits = code.chars().take(24).filter(char::is_ascii_digit).count();
    assert_eq!(digits, 8, "{code}");
    assert!(!good(&made).contains("274913"), "a PIN is not repeated");

    let again = crew(&["add", "ILKA  voss", "--role", "desk"], "508261\n");
    assert_eq!(again.status.code(), Some(1));
    for pin in ["", "12345", "111111", "123456", "abcdef"] {
        let refused = crew(&["add", "Berit Holm", "--role", "desk"], pin);
        assert_eq!(refused.status.code(), Some(1), "{pin}");
    }
    for wrong in [
        &["add", "Berit Holm"][..],
        &["add", "B", "--role", "captain"],
        &["add"],
    ] {
        assert_eq!(crew(wrong, "508261\n").status.code(), Some(2), "{wrong:?}");
    }
    let listed = crew(&["list"], "");
    assert_eq!(good(&listed), "Ilka Voss\tdesk skipper\n");
    good(&crew(&["pin", "ilka voss"], "961402\n"));
    good(&crew(&["remove", "Ilka Voss"], ""));
    let listed = crew(&["list"], "");
    assert!(good(&listed).contains("removed"), "{listed:?}");
    assert_eq!(
        crew(&["pin", "Ilka Voss"], "274913\n").status.code(),
        Some(1)
    );
}

#[test]
fn looking_makes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let nowhere = folder.path().join("nowhere");
    for command in [
        &["check"][..],
        &["export"],
        &["crew", "list"],
        &["crew", "pin", "X"],
    ] {
        let output = at(&nowhere, command, "");
        assert_eq!(output.status.code(), Some(1), "{command:?}");
        assert!(text(&output.stderr).contains("no database"), "{output:?}");
        assert!(!nowhere.exists(), "{command:?}");
    }
}

fn opened(trip: TripId) -> Event {
    Event {
        id: EventId::new(Uuid::from_u128(2)),
        trip,
        about: About::nobody(),
        device: DeviceId::new(Uuid::from_u128(3)),
        device_seq: 1,
        knows: Knows::default(),
        by: By {
            crew: CrewId::new(Uuid::from_u128(4)),
            name: "Ilka Voss".to_owned(),
            role: Role::Skipper,
        },
        at: "2026-06-01T10:00:00Z".parse().unwrap(),
        app: APP_VERSION.to_owned(),
        corrects: None,
        fact: Fact::TripOpened(TripOpened {
            day: "2026-06-01".parse().unwrap(),
            harbour: "Old Quay".to_owned(),
            time_zone: "Etc/GMT-2".to_owned(),
            boat: BoatSheet {
                id: BoatId::new(Uuid::from_u128(5)),
                name: "Marrow Tern".to_owned(),
                call_sign: String::new(),
                capacity: 12,
                speed_kn: 6.0,
                boarding_s_per_person: 120,
                approach_s: 120,
                boarding: Boarding::Ladder,
                approach_side: ApproachSide::NotSet,
                emergency_plan: Vec::new(),
                recall_signal: None,
            },
            skipper: "Ilka Voss".to_owned(),
            skipper_account: CrewId::new(Uuid::from_u128(4)),
            windows: WindowSettings::default(),
            plans: deckwatch::dive::settings::PlanSettings::default(),
            drill: false,
        }),
    }
}

pub async fn filled(folder: &Path) -> TripId {
    let trip = TripId::new(Uuid::from_u128(1));
    let store = Store::open(folder, Clock::system()).await.unwrap();
    let events = vec![Incoming::from(opened(trip))];
    let _appended = store.append(trip, events).await.unwrap();
    store.close().await.unwrap();
    trip
}

#[tokio::test]
async fn a_trip_is_exported_and_its_log_proved() {
    let folder = tempfile::tempdir().unwrap();
    let trip = filled(folder.path()).await.to_string();
    let listed = at(folder.path(), &["export"], "");
    assert!(good(&listed).starts_with(&trip), "{listed:?}");
    let log = at(folder.path(), &["export", &trip], "");
    let line: Value = serde_json::from_str(good(&log)).unwrap();
    assert_eq!(line["event"]["kind"], "trip-opened");
    let returns = at(folder.path(), &["export", &trip, "--what", "returns"], "");
    assert!(good(&returns).starts_with("\"day\",\"boat\""));
    let report = at(folder.path(), &["export", &trip, "--what", "report"], "");
    let report: Value = serde_json::from_str(good(&report)).unwrap();
    assert_eq!(report["trip"], trip);
    assert_eq!(report["sign_off"]["sealed"], false);
    let report = at(
        folder.path(),
        &["export", &trip, "--what", "report-csv"],
        "",
    );
    assert!(good(&report).starts_with("\"part\",\"dive\""));
    let other = at(folder.path(), &["export", &Uuid::nil().to_string()], "");
    assert_eq!(other.status.code(), Some(1));
    let checked = at(folder.path(), &["check"], "");
    assert!(
        good(&checked).contains("1 trips, 1 entries, 0 flaws"),
        "{checked:?}"
    );
    assert!(
        good(&checked).contains("journal wal, synchronous 2"),
        "{checked:?}"
    );
}

#[tokio::test]
async fn a_log_that_was_changed_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let trip = filled(folder.path()).await;
    let mut file = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.path().join("deckwatch.db"))
        .connect()
        .await
        .unwrap();
    for statement in [
        "DROP TRIGGER entry_is_not_changed",
        "UPDATE entry SET content = replace(content, 'Old Quay', 'New Quay')",
    ] {
        sqlx::query(statement).execute(&mut file).await.unwrap();
    }
    drop(file);
    let checked = at(folder.path(), &["check"], "");
    assert_eq!(checked.status.code(), Some(1));
    let flaw = format!("FLAW {trip} entry 1:");
    assert!(text(&checked.stdout).contains(&flaw), "{checked:?}");
}

#[tokio::test]
async fn a_log_whose_end_was_cut_off_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let trip = filled(folder.path()).await;
    let mut file = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(folder.path().join("deckwatch.db"))
        .connect()
        .await
        .unwrap();
    for statement in [
        "DROP TRIGGER entry_is_not_removed",
        "DELETE FROM entry WHERE entry = 1",
    ] {
        sqlx::query(statement).execute(&mut file).await.unwrap();
    }
    drop(file);
    for _ in 0..2 {
        let checked = at(folder.path(), &["check"], "");
        assert_eq!(checked.status.code(), Some(1));
        let flaw = format!("FLAW {trip} entry 1: was here and is gone");
        assert!(text(&checked.stdout).contains(&flaw), "{checked:?}");
        // Every start says so.
        assert!(text(&checked.stderr).contains("is gone"), "{checked:?}");
    }
}

#[test]
fn a_level_of_the_log_that_is_none_is_refused_not_silent() {
    for (given, told) in [
        ("inof", "'inof'"),
        ("info,deckwatch=loud", "deckwatch=loud"),
    ] {
        let output = run(&["--log", given, "compute", "daylight"], "{}", &[]);
        let why = text(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{why}");
        assert!(why.contains(told) && why.contains("warn, info"), "{why}");
    }
    let equinox = r#"{"position": [0, 0], "date": "2026-03-20"}"#;
    for level in ["off", "debug", "warn,deckwatch::store=debug"] {
        let asked = ["compute", "daylight"];
        good(&run(&asked, equinox, &[("DECKWATCH_LOG", level)]));
    }
}

#[test]
fn a_flag_comes_before_the_environment_and_that_before_the_default() {
    let variables = [
        ("DECKWATCH_BIND", "127.0.0.1:9001"),
        ("DECKWATCH_DATA", "/somewhere"),
    ];
    let output = run(&["config", "--bind", "127.0.0.1:9002"], "", &variables);
    let told = good(&output);
    assert!(told.contains("bind = 127.0.0.1:9002 (flag)"), "{told}");
    assert!(
        told.contains("data = /somewhere (environment DECKWATCH_DATA)"),
        "{told}"
    );
    let output = run(&["config"], "", &[]);
    assert!(good(&output).contains("bind = 127.0.0.1:8080 (default)"));
    for (name, value) in [
        ("DECKWATCH_BIND", "nowhere"),
        ("DECKWATCH_ORIGINS", "example"),
    ] {
        let output = run(&["config"], "", &[(name, value)]);
        assert!(!output.status.success(), "{name}");
        assert!(text(&output.stderr).contains(value), "{output:?}");
    }
}
