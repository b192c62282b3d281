//! The colours of the style sheet keep their contrast.
#![expect(
    clippy::unwrap_used,
    reason = "a test that panics has failed, as it should"
)]

use std::collections::BTreeMap;

/// The blocks of the style sheet with their colours, by palette.
fn palettes() -> BTreeMap<String, BTreeMap<String, String>> {
    let css = include_str!("../static/css/tokens.css");
    let mut palettes = BTreeMap::new();
    let mut name = "";
    for line in css.lines().map(str::trim) {
        if let Some(rest) = line.strip_prefix("[data-palette=\"") {
            name = rest.split('"').next().unwrap();
        } else if line.starts_with("@media print") {
            name = "print";
        } else if let Some((token, value)) = line
            .strip_prefix("--")
            .and_then(|rest| rest.split_once(": #"))
        {
            palettes
                .entry(name.to_owned())
                .or_insert_with(BTreeMap::new)
                .insert(token.to_owned(), value.trim_end_matches(';').to_owned());
        }
    }
    palettes
}

/// Relative luminance of `RRGGBB`.
///
/// # Source
/// WCAG 2.2, definition of relative luminance.
fn luminance(colour: &str) -> f64 {
    let channel = |at: usize| {
        let value = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
        if value <= 0.04045 {
            value / 12.92
        } else {
            ((value + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
}

/// Contrast ratio.
///
/// # Source
/// WCAG 2.2, definition of contrast ratio.
fn contrast(one: &str, other: &str) -> f64 {
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// Known values: black on white is 21:1 by the definition itself; #777777 on white is just under
/// and #767676 just over 4.5:1 (WCAG 2.2 technique G18 and its common worked example).
#[test]
fn the_formula_gives_the_known_values() {
    assert!((contrast("000000", "FFFFFF") - 21.0).abs() < 1e-9);
    assert!(contrast("777777", "FFFFFF") < 4.5 && contrast("767676", "FFFFFF") > 4.5);
}

/// Floors: text 7:1 (WCAG 2.2, 1.4.6), by night 4.5:1 for soft text and for the large bold text on
/// fills (1.4.3); edges, fills and the focus ring 3:1 (1.4.11, 2.4.13); by night at most 15:1 (IMO
/// MSC/Circ.982, 5.6.3.5: contrast between 3:1 and 15:1).
#[test]
fn every_pair_of_every_palette_keeps_its_floor() {
    let palettes = palettes();
    assert_eq!(
        palettes.keys().map(String::as_str).collect::<Vec<_>>(),
        ["day", "dusk", "night", "print"]
    );
    let mut misses = Vec::new();
    for (name, tokens) in &palettes {
        assert_eq!(tokens.len(), 14, "{name}");
        let fill = if name == "night" { 4.5 } else { 7.0 };
        let pairs = vec![
            ("ink", "ground", 7.0),
            ("ink", "panel", 7.0),
            ("soft", "ground", fill),
            ("soft", "panel", fill),
            ("rule", "ground", 3.0),
            ("rule", "panel", 3.0),
            ("focus", "ground", 3.0),
            ("focus", "panel", 3.0),
            ("act-ink", "act", fill),
            ("alarm-ink", "alarm", fill),
            ("warn-ink", "warn", fill),
            ("caut-ink", "caut", fill),
            ("act", "ground", 3.0),
            ("alarm", "ground", 3.0),
            ("alarm", "panel", 3.0),
        ];
        for (one, other, floor) in pairs {
            let ratio = contrast(&tokens[one], &tokens[other]);
            if ratio < floor {
                misses.push(format!(
                    "{name}: {one} on {other} is {ratio:.2}, floor {floor}"
                ));
            }
        }
        if name == "night" {
            assert!(contrast(&tokens["ink"], &tokens["ground"]) <= 15.0);
        }
    }
    assert!(misses.is_empty(), "{misses:#?}");
}
