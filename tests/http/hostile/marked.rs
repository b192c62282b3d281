//! Text that would like to be something else, and how an answer shows that it became nothing.
//! Each bears [`MARK`], so that it is found again wherever it comes out.

use axum::http::HeaderMap;
use scraper::Html;

use super::forms::is_page;
use crate::client::Answer;

/// Part of every hostile text; no word of any page.
pub const MARK: &str = "zqx";

/// Markup, as short as a name may be.
pub const MARKUP: &str = "zqx<script>zqx()</script>\"'><img src=x onerror=zqx()>";
/// The same for a field of few characters.
pub const SHORT: &str = "<zqx>'\"";
/// What ends a comment, an element that holds text alone, a foreign one.
pub const ENDING: &str = "zqx--></textarea></title></svg><zqx-e a='";
/// What template engines and scripts would reckon.
pub const TEMPLATE: &str = "zqx{{7*7}}${7*7}#{7*7}<%=7*7%>%name%$&$'$`";
/// What a spreadsheet would reckon, by its first character.
///
/// # Source
/// OWASP, CSV Injection (from memory): `=`, `+`, `-`, `@`, tab, carriage return.
pub const FORMULAS: [&str; 6] = [
    "=HYPERLINK(\"http://zqx\",\"zqx\")",
    "+1+cmd|' /C zqx'!A0",
    "-2+3+cmd|' /C zqx'!A0",
    "@SUM(1)*zqx",
    "\t=zqx",
    "\r=zqx",
];
/// An address that acts.
pub const ADDRESS: &str = "javascript:zqx()//";

/// An answer in which no hostile text became an element, an attribute, a script, an address, a
/// formula or a line of a head.
pub fn is_inert(path: &str, answer: &Answer) {
    let page = is_page(answer).then(|| Html::parse_document(answer.text()));
    is_inert_as(path, answer, page.as_ref());
}

/// The same, where its page has been read already.
pub fn is_inert_as(path: &str, answer: &Answer, page: Option<&Html>) {
    assert!(answer.status.as_u16() < 500, "{path}: {}", answer.status);
    plain_head(path, &answer.headers);
    let kind = answer.header("content-type");
    if let Some(page) = page {
        is_inert_page(path, page);
    } else if kind.starts_with("text/csv") {
        cells(path, &answer.body);
    } else if kind.contains("json") && !kind.contains("jsonl") {
        answer.json();
    } else if kind.contains("jsonl") {
        for line in answer.text().lines() {
            let read: Result<serde_json::Value, _> = serde_json::from_str(line);
            assert!(read.is_ok(), "{path}: {line}");
        }
    } else if kind.contains("xml") {
        xml(path, answer.text());
    }
}

/// Headers stay printable, and say nothing that was typed but in their own quotes.
fn plain_head(path: &str, headers: &HeaderMap) {
    for (name, value) in headers {
        let bytes = value.as_bytes();
        let is_plain = bytes.iter().all(|byte| (b' '..=b'~').contains(byte));
        assert!(is_plain, "{path}: {name}: {value:?}");
        if name == "content-disposition" {
            let text = value.to_str().unwrap();
            assert!(text.matches('"').count() == 2, "{path}: {text}");
        }
        if name == "location" {
            let to = value.to_str().unwrap();
            assert!(to.starts_with('/') && !to.starts_with("//"), "{path}: {to}");
        }
    }
}

/// As a browser reads it: html5ever builds the tree, in which the mark must be text only.
fn is_inert_page(path: &str, page: &Html) {
    for element in page.root_element().descendent_elements() {
        let name = element.value().name();
        assert!(!name.contains(MARK), "<{name}> in {path}");
        if name == "script" {
            assert!(
                element.attr("src").is_some(),
                "a script of its own in {path}"
            );
            assert_eq!(element.text().collect::<String>().trim(), "", "{path}");
        }
        for (attribute, value) in element.value().attrs() {
            let what = format!("{attribute}={value:?} of <{name}> in {path}");
            assert!(!attribute.starts_with("on"), "{what}");
            assert!(
                !attribute.contains(MARK) && attribute != "onerror",
                "{what}"
            );
            let leads = ["href", "src", "action", "formaction", "xlink:href", "data"];
            if leads.contains(&attribute) {
                let is_ours = value.starts_with('/') && !value.starts_with("//");
                let plain = ["#", "?", "tel:"]
                    .iter()
                    .any(|start| value.starts_with(start));
                assert!(is_ours || plain, "{what}");
            }
            assert!(!["style", "srcdoc"].contains(&attribute), "{what}");
            if attribute == "data-json" {
                let read: Result<serde_json::Value, _> = serde_json::from_str(value);
                assert!(read.is_ok(), "{what}");
            }
        }
    }
}

/// No cell begins as a formula does; a figure may begin with its sign.
///
/// # Source
/// OWASP, CSV Injection (from memory).
fn cells(path: &str, bytes: &[u8]) {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(bytes);
    for record in reader.records() {
        for cell in &record.unwrap() {
            let is_figure = cell.parse::<f64>().is_ok();
            let starts = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']);
            assert!(!starts || is_figure, "{path}: a cell {cell:?}");
        }
    }
}

/// Well formed, with the mark in text and attributes' values only.
fn xml(path: &str, text: &str) {
    let mut reader = quick_xml::Reader::from_str(text);
    loop {
        match reader.read_event() {
            Ok(quick_xml::events::Event::Eof) => return,
            Ok(quick_xml::events::Event::Start(tag) | quick_xml::events::Event::Empty(tag)) => {
                let name = tag.name().into_inner().to_owned();
                assert!(
                    !name.contains(MARK) && name != "script",
                    "<{name}> in {path}"
                );
                for attribute in tag.attributes() {
                    let attribute = attribute.unwrap();
                    let name = attribute.key.into_inner();
                    assert!(!name.starts_with("on"), "{name} in {path}");
                }
            }
            Ok(_) => {}
            Err(cause) => panic!("{path} is not well formed: {cause}\n{text}"),
        }
    }
}
