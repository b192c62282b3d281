//! The chart of a site, the picture under it and its tides, as the desk draws and types them.

use axum::body::Body;
use axum::http::{Method, header};
use deckwatch::sea::chart::Chart;
use serde_json::{Value, json};

use crate::app::{App, chart, site};
use crate::client::{Answer, Client};

fn page(what: &str) -> String {
    format!("/desk/sites/{}{what}", site().id)
}

/// Sends a form with a file as a browser does.
async fn upload(client: &Client, path: &str, parts: &[(&str, Option<&str>, &[u8])]) -> Answer {
    const MARK: &str = "----a-line-between";
    let mut body = Vec::new();
    for (name, file, bytes) in parts {
        let file = file.map_or_else(String::new, |file| format!("; filename=\"{file}\""));
        body.extend_from_slice(
            format!("--{MARK}\r\ncontent-disposition: form-data; name=\"{name}\"{file}\r\n\r\n")
                .as_bytes(),
        );
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n");
    }
    body.extend_from_slice(format!("--{MARK}--\r\n").as_bytes());
    let request = client.request(&Method::POST, path).header(
        header::CONTENT_TYPE,
        format!("multipart/form-data; boundary={MARK}"),
    );
    client.send(request.body(Body::from(body)).unwrap()).await
}

async fn held(app: &App) -> Chart {
    let site = app.store.site(site().id).await.unwrap().unwrap();
    Chart::from_geojson(site.chart.as_bytes()).unwrap()
}

/// Fields of a feature typed as new.
fn typed<'t>(n: &str, kind: &'t str, name: &'t str, corners: &'t str) -> Vec<(String, &'t str)> {
    vec![
        (format!("kind-{n}"), kind),
        (format!("name-{n}"), name),
        (format!("corners-{n}"), corners),
    ]
}

async fn submit(client: &Client, fields: &[(String, &str)]) -> Answer {
    let path = page("/chart");
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), *v)).collect();
    client.submit(&path, &path, &fields).await
}

/// 45 N 30 W: a minute of latitude is 1,852 m or so; the reef of the site lies 333 m north.
const CLEAR: &str = "45 0.6 S 30 W";

#[tokio::test]
async fn a_feature_is_typed_changed_and_taken_out_without_scripts() {
    let app = App::new().await;
    let desk = app.desk();
    let shown = desk.get(&page("/chart")).await;
    assert_eq!(shown.is(200).count("[data-feature]"), 3);
    let zone = typed(
        "4",
        "pickup-zone",
        "West <sand>",
        "44 59.4 N 30 0.3 W\n44.99, -30.002\nN44°59'50\" W30°0'30\"",
    );
    submit(&desk, &zone).await.location();
    let chart = held(&app).await;
    assert_eq!(chart.pickup_zones.len(), 2);
    assert_eq!(chart.pickup_zones[1].name, "West <sand>");
    let shown = desk.get(&page("/chart")).await;
    assert!(
        shown.text().contains("West &#60;sand&#62;") || shown.text().contains("West &lt;sand&gt;")
    );
    // The third is the added zone: keep-clear, two zones, mooring.
    submit(
        &desk,
        &[
            ("name-3".to_owned(), "West sand"),
            ("kind-3".to_owned(), "keep-clear"),
        ],
    )
    .await
    .location();
    let chart = held(&app).await;
    assert_eq!((chart.keep_clear.len(), chart.pickup_zones.len()), (2, 1));
    submit(&desk, &[("remove-2".to_owned(), "yes")])
        .await
        .location();
    assert_eq!(held(&app).await.keep_clear.len(), 1);
}

#[tokio::test]
async fn what_does_not_hold_is_named_and_nothing_is_kept() {
    let app = App::new().await;
    let desk = app.desk();
    let before = held(&app).await;
    // The zone of the site reaches to 44.999; the reef begins at 45.003: a zone up to 45.0027
    // leaves 0.0003 degrees of latitude, 33 m, of the 50 m.
    let near = "45.002 -30.001\n45.002 -30\n45.0027 -30\n45.0027 -30.001";
    for (kind, name, corners, field, says) in [
        (
            "pickup-zone",
            "North",
            near,
            "corners-4",
            "Zone North lies 17 m too near to Anvil reef",
        ),
        (
            "pickup-zone",
            "Over",
            "45.002 -30.001\n45.002 -30\n45.004 -30\n45.004 -30.001",
            "corners-4",
            "Zone Over overlaps Anvil reef",
        ),
        (
            "keep-clear",
            "Swap",
            "-30.001 45.002",
            "corners-4",
            "Swap, line 1: latitude and longitude look swapped",
        ),
        (
            "keep-clear",
            "Far",
            "46 -30\n46 -29.99\n46.01 -30",
            "corners-4",
            "line 1: this is more than 20 km",
        ),
        (
            "keep-clear",
            "Odd",
            "45 -30\nreef",
            "corners-4",
            "line 2: give latitude and longitude",
        ),
        (
            "keep-clear",
            "Bow",
            "45 -30\n45.001 -29.999\n45 -29.999\n45.001 -30",
            "corners-4",
            "crosses or touches itself",
        ),
        (
            "keep-clear",
            "Line",
            "45 -30\n45.001 -29.999",
            "corners-4",
            "four or more",
        ),
        (
            "mooring",
            "Two",
            "45 -30\n45 -29.99",
            "corners-4",
            "MultiPoint",
        ),
        ("mooring", "", "45 -30", "name-4", "is empty"),
        ("", "None", "45 -30", "kind-4", "choose what it is"),
        ("mooring", "Pole", CLEAR, "corners-4", "more than 20 km"),
    ] {
        let refused = submit(&desk, &typed("4", kind, name, corners)).await;
        let told = refused.is(422).all(".problem li").join(" / ");
        assert!(told.contains(says), "{name}: {told}");
        assert!(
            refused
                .attributes(".problem a", "href")
                .contains(&format!("#{field}")),
            "{name}"
        );
        assert!(refused.count(&format!("#{field}-fault")) == 1, "{name}");
        assert_eq!(held(&app).await, before, "{name}");
    }
}

#[tokio::test]
async fn a_check_keeps_nothing_and_two_people_do_not_write_over_each_other() {
    let app = App::new().await;
    let desk = app.desk();
    let path = page("/chart");
    let before = held(&app).await;
    let mut mooring = typed("4", "mooring", "New buoy", "44.9985 -30.0005");
    mooring.push(("do".to_owned(), "check"));
    let checked = submit(&desk, &mooring).await;
    assert_eq!(checked.is(200).count("#problem"), 0);
    assert!(checked.attributes("[data-feature=\"4\"]", "data-read")[0].contains("44.9985"));
    assert_eq!(held(&app).await, before);
    // Opened twice, saved twice.
    let mut first: Vec<(String, String)> = desk.get(&path).await.form(&path);
    let mut second = first.clone();
    for (form, name) in [(&mut first, "One"), (&mut second, "Other")] {
        form.retain(|(n, _)| !n.ends_with("-4"));
        for (n, v) in typed("4", "mooring", name, "44.9985 -30.0005") {
            form.push((n, v.to_owned()));
        }
    }
    desk.post_raw(&path, &first).await.location();
    let refused = desk.post_raw(&path, &second).await;
    assert!(
        refused
            .is(422)
            .one(".problem li")
            .contains("Somebody else saved")
    );
    assert_eq!(held(&app).await.moorings.len(), 2);
}

#[tokio::test]
async fn a_file_is_shown_before_it_is_kept() {
    let app = App::new().await;
    let desk = app.desk();
    let import = page("/chart/import");
    let before = held(&app).await;
    let gpx = br#"<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">
        <wpt lat="44.9985" lon="-30.0005"><name>Shot 2</name><type>shot-line</type></wpt></gpx>"#;
    for (how, features) in [(&b"add"[..], 4), (&b"replace"[..], 1)] {
        let parts = [("how", None, how), ("file", Some("a.gpx"), &gpx[..])];
        let shown = upload(&desk, &import, &parts).await;
        assert_eq!(shown.is(200).count("[data-feature]"), features);
        assert!(shown.text().contains("Read: 1 feature."));
        assert_eq!(held(&app).await, before, "nothing is kept yet");
        let form = shown.form(&page("/chart"));
        if how == b"add" {
            desk.post_raw(&page("/chart"), &form).await.location();
            assert_eq!(held(&app).await.shot_lines[0].name, "Shot 2");
            desk.post_raw(&page("/chart"), &form).await.is(422);
            let back = before.to_geojson().to_string();
            let parts = [
                ("how", None, &b"replace"[..]),
                ("text", None, back.as_bytes()),
            ];
            let shown = upload(&desk, &import, &parts).await;
            let form = shown.is(200).form(&page("/chart"));
            desk.post_raw(&page("/chart"), &form).await.location();
            assert_eq!(held(&app).await, before);
        }
    }
}

#[tokio::test]
async fn files_that_mean_harm_are_refused_with_a_reason() {
    let app = App::new().await;
    let desk = app.desk();
    let import = page("/chart/import");
    let before = held(&app).await;
    let ring = |points: usize| -> Value {
        let mut ring: Vec<[f64; 2]> = (0..points)
            .map(|n| {
                let (sin, cos) = (n as f64 / points as f64 * std::f64::consts::TAU).sin_cos();
                [-30.0 + 0.01 * cos, 45.0 + 0.01 * sin]
            })
            .collect();
        ring.push(ring[0]);
        json!(ring)
    };
    let polygon = |rings: Value| {
        json!({"type": "FeatureCollection", "features": [{"type": "Feature",
            "properties": {"kind": "keep-clear", "name": "R"},
            "geometry": {"type": "Polygon", "coordinates": rings}}]})
        .to_string()
    };
    let nested = json!({"type": "FeatureCollection", "features": [{"type": "Feature",
        "properties": {"kind": "keep-clear", "name": "Nest"}, "geometry": {"type": "GeometryCollection",
        "geometries": [{"type": "GeometryCollection", "geometries": []}]}}]})
    .to_string();
    for (text, says) in [
        (
            "<!DOCTYPE gpx [<!ENTITY x SYSTEM \"file:///etc/hostname\">]><gpx/>".to_owned(),
            "document type",
        ),
        (
            "<gpx version=\"1.0\" xmlns=\"http://www.topografix.com/GPX/1/0\"/>".to_owned(),
            "version 1.1",
        ),
        (polygon(json!([ring(10_001)])), "at most 2000"),
        (
            polygon(json!([[[-30.0, 45.0], [-29.99, 45.0], [-29.99, 45.01]]])),
            "four or more",
        ),
        (
            polygon(json!([[
                [-30.0, 45.0],
                [-29.99, 45.0],
                [-29.99, 45.01],
                [-30.0, 45.001]
            ]])),
            "not closed",
        ),
        (
            polygon(json!([[
                [0.0, 89.0],
                [1.0, 89.0],
                [1.0, 89.5],
                [0.0, 89.0]
            ]])),
            "swapped",
        ),
        (
            polygon(json!([[
                [45.0, -30.0],
                [45.0, -29.99],
                [45.01, -29.99],
                [45.0, -30.0]
            ]])),
            "look swapped",
        ),
        (polygon(json!([])), "has no ring"),
        (nested, "GeometryCollection"),
        (
            "{\"type\": \"FeatureCollection\", \"features\": [NaN]}".to_owned(),
            "JSON",
        ),
        ("reef".to_owned(), "neither GeoJSON nor GPX"),
        (String::new(), "is empty"),
    ] {
        let refused = upload(
            &desk,
            &import,
            &[("how", None, b"add"), ("file", Some("x"), text.as_bytes())],
        )
        .await;
        let told = refused.is(422).all(".problem li").join(" / ");
        assert!(told.contains(says), "{says}: {told}");
        assert_eq!(held(&app).await, before);
    }
    let huge = vec![b' '; 50 * 1024 * 1024];
    let refused = upload(&desk, &import, &[("file", Some("huge"), &huge)]).await;
    assert!(refused.is(413).text().contains("Send less at a time"));
    let large = vec![b' '; 3 * 1024 * 1024];
    upload(&desk, &import, &[("file", Some("large"), &large)])
        .await
        .is(413);
}

#[tokio::test]
async fn a_chart_goes_out_as_geojson_and_gpx() {
    let app = App::new().await;
    let desk = app.desk();
    let out = desk.get(&page("/chart.geojson")).await;
    assert_eq!(out.is(200).header("content-type"), "application/geo+json");
    assert_eq!(
        out.header("content-disposition"),
        "attachment; filename=\"Anvil-Rock.geojson\""
    );
    let again = Chart::from_geojson(out.text().as_bytes()).unwrap();
    assert_eq!(
        again,
        Chart::from_geojson(chart().to_string().as_bytes()).unwrap()
    );
    let out = desk.get(&page("/chart.gpx")).await;
    assert_eq!(out.is(200).header("content-type"), "application/gpx+xml");
    assert!(out.text().contains("<desc>Not for navigation"));
}

#[tokio::test]
async fn a_site_keeps_its_chart_and_refuses_a_stand_off_that_a_zone_breaks() {
    let app = App::new().await;
    let desk = app.desk();
    desk.submit(&page(""), &page(""), &[("notes", "Calm.")])
        .await
        .location();
    assert_eq!(held(&app).await.keep_clear.len(), 1);
    // The zone lies 0.004 degrees of latitude, 444 m, from the reef.
    let refused = desk
        .submit(&page(""), &page(""), &[("stand_off", "450")])
        .await;
    assert!(
        refused
            .is(422)
            .one("#stand_off-fault")
            .contains("too near to Anvil reef")
    );
    desk.submit(&page(""), &page(""), &[("stand_off", "440")])
        .await
        .location();
    let refused = desk
        .submit(&page(""), &page(""), &[("lat", "30 S"), ("lon", "45")])
        .await;
    assert!(refused.is(422).text().contains("look swapped"));
}

/// The head of a PNG (RFC 2083, 3.1 and 4.1.1): signature and IHDR.
fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    bytes.extend_from_slice(&width.to_be_bytes());
    bytes.extend_from_slice(&height.to_be_bytes());
    bytes.extend_from_slice(&[8, 2, 0, 0, 0, 0, 0, 0, 0]);
    bytes
}

#[tokio::test]
async fn a_picture_is_taken_by_what_it_is_and_placed_by_two_points() {
    let app = App::new().await;
    let desk = app.desk();
    let path = page("/picture");
    for (bytes, says) in [
        (b"GIF89a\x10\0\x10\0".to_vec(), "no PNG, JPEG or WebP"),
        (
            b"<svg xmlns='http://www.w3.org/2000/svg'/>".to_vec(),
            "no PNG, JPEG or WebP",
        ),
        (Vec::new(), "no PNG, JPEG or WebP"),
        (png(20, 20), "from 100 to 12000"),
        (png(100_000, 400), "from 100 to 12000"),
    ] {
        let refused = upload(&desk, &path, &[("file", Some("reef.png"), &bytes)]).await;
        assert!(refused.is(422).one("#file-fault").contains(says), "{says}");
    }
    let large = [png(1000, 800), vec![0; 6 * 1024 * 1024]].concat();
    upload(&desk, &path, &[("file", Some("reef.png"), &large)])
        .await
        .is(413);
    assert!(app.store.backdrop(site().id).await.unwrap().is_none());
    let place = page("/picture/place");
    desk.post(&place, &[]).await.is(404);

    let bytes = png(1000, 800);
    upload(&desk, &path, &[("file", Some("reef.txt"), &bytes)])
        .await
        .location();
    let shown = desk.get(&path).await;
    let url = shown.is(200).attributes("image", "href")[0].clone();
    let out = desk.get(&url).await;
    assert_eq!(out.is(200).header("content-type"), "image/png");
    assert_eq!(out.body.as_ref(), bytes.as_slice());
    assert_eq!(
        desk.get(&page("")).await.count("image"),
        0,
        "not placed yet"
    );
    desk.get(&page("/picture/00ff")).await.is(404);

    let points = [
        ("x1", "0"),
        ("y1", "0"),
        ("at1", "45.004 -30.005"),
        ("x2", "1000"),
        ("y2", "800"),
    ];
    for (at2, field) in [
        ("45.004 -30.005", "at2"),
        ("-30 45", "at2"),
        ("reef", "at2"),
    ] {
        let fields = [&points[..], &[("at2", at2)]].concat();
        let refused = desk.submit(&path, &place, &fields).await;
        assert_eq!(
            refused.is(422).count(&format!("#{field}-fault")),
            1,
            "{at2}"
        );
    }
    let near = [
        ("x1", "0"),
        ("y1", "0"),
        ("at1", "45.004 -30.005"),
        ("x2", "5"),
        ("y2", "5"),
        ("at2", "44.999 -29.995"),
    ];
    assert_eq!(
        desk.submit(&path, &place, &near)
            .await
            .is(422)
            .count("#x2-fault"),
        1
    );
    let fields = [&points[..], &[("at2", "44.999 -29.995")]].concat();
    desk.submit(&path, &place, &fields).await.location();
    for at in ["", "/chart"] {
        let shown = desk.get(&page(at)).await;
        let shown = shown.attributes("svg.sea-chart image", "href");
        assert_eq!(shown, std::slice::from_ref(&url));
    }
    desk.post(&page("/picture/remove"), &[]).await.location();
    desk.get(&url).await.is(404);
}

#[tokio::test]
async fn tides_are_typed_shown_and_kept() {
    let app = App::new().await;
    let desk = app.desk();
    let path = page("/tides");
    let rows: Vec<u8> = (-6..=6)
        .flat_map(|hour| format!("{hour};90;2,0;1,0\n").into_bytes())
        .collect();
    // The site keeps UTC+2: 12:04 there is 10:04 UTC.
    let waters = b"time;range\n2026-06-01 12:04;3.0";
    let parts = |act: &'static [u8]| {
        [
            ("spring_range", None, &b"4"[..]),
            ("neap_range", None, &b"2"[..]),
            ("table", None, &b""[..]),
            ("high_waters", None, &b""[..]),
            ("day", None, &b"2026-06-01"[..]),
            ("do", None, act),
        ]
    };
    let files = [
        ("table_file", Some("t.csv"), rows.as_slice()),
        ("high_waters_file", Some("w.csv"), &waters[..]),
    ];
    let checked = upload(&desk, &path, &[&parts(b"check")[..], &files[..]].concat()).await;
    // Half way between neaps and springs: 1.5 kn. Reach is 6 h 28 min either way of 12:04.
    let told = checked.is(200).all("#preview tbody tr");
    assert_eq!(told.len(), 24);
    assert!(
        told[12].contains("090°") && told[12].contains("1.5"),
        "{}",
        told[12]
    );
    assert!(told[0].contains("Not told") && told[23].contains("Not told"));
    assert!(checked.text().contains("Reckoned from a table"));
    assert!(
        app.store
            .site(site().id)
            .await
            .unwrap()
            .unwrap()
            .tides
            .is_none()
    );
    upload(&desk, &path, &[&parts(b"")[..], &files[..]].concat())
        .await
        .location();
    let tides = app
        .store
        .site(site().id)
        .await
        .unwrap()
        .unwrap()
        .tides
        .unwrap();
    assert_eq!(tides.table().rows().len(), 13);
    assert_eq!(
        tides.high_waters()[0].at.to_string(),
        "2026-06-01T10:04:00Z"
    );
    // What the page shows is taken as it stands.
    let form = desk.get(&path).await.form(&path);
    let same: Vec<(&str, Option<&str>, &[u8])> = form
        .iter()
        .map(|(n, v)| (n.as_str(), None, v.as_bytes()))
        .collect();
    upload(&desk, &path, &same).await.location();
    assert_eq!(
        app.store.site(site().id).await.unwrap().unwrap().tides,
        Some(tides)
    );
    // The site's own form leaves them alone.
    desk.submit(&page(""), &page(""), &[("notes", "Calm.")])
        .await
        .location();
    assert!(
        app.store
            .site(site().id)
            .await
            .unwrap()
            .unwrap()
            .tides
            .is_some()
    );

    upload(&desk, &path, &[("table", None, b"")])
        .await
        .location();
    let held = app.store.site(site().id).await.unwrap().unwrap();
    assert!(held.tides.is_none());
}

#[tokio::test]
async fn tides_that_do_not_hold_are_told_beside_their_fields() {
    let app = App::new().await;
    let desk = app.desk();
    let path = page("/tides");
    let wrong = [
        ("spring_range", None, &b"1"[..]),
        ("neap_range", None, &b"x"[..]),
        ("set-0", None, &b"400"[..]),
        ("spring-0", None, &b"1"[..]),
        ("high_waters", None, &b"soon;3"[..]),
        ("day", None, &b"tomorrow"[..]),
    ];
    let refused = upload(&desk, &path, &wrong).await;
    for field in ["set-0", "neap-0", "high_waters", "day"] {
        assert_eq!(
            refused.is(422).count(&format!("#{field}-fault")),
            1,
            "{field}"
        );
    }
    let held = app.store.site(site().id).await.unwrap().unwrap();
    assert!(held.tides.is_none());
}
