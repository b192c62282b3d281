//! The static files, in the binary, under a path that carries a hash of them all: a browser may
//! keep them for ever, and a script's relative imports stay within one version.

use std::fmt::Write;
use std::sync::OnceLock;

use axum::body::Body;
use axum::http::{HeaderMap, HeaderValue, Response, StatusCode, header};
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

#[derive(RustEmbed)]
#[folder = "static/"]
struct Files;

/// The hash of all names and contents, 16 hexadecimal digits.
#[must_use]
pub fn tree_hash() -> &'static str {
    static HASH: OnceLock<String> = OnceLock::new();
    HASH.get_or_init(|| {
        let mut names: Vec<_> = Files::iter().collect();
        names.sort();
        let mut hasher = Sha256::new();
        for name in names {
            if let Some(file) = Files::get(&name) {
                hasher.update(name.as_bytes());
                hasher.update([0]);
                hasher.update(file.metadata.sha256_hash());
            }
        }
        hex(&hasher.finalize(), 8)
    })
}

/// The first `count` bytes in hexadecimal.
fn hex(bytes: &[u8], count: usize) -> String {
    bytes
        .iter()
        .take(count)
        .fold(String::new(), |mut text, byte| {
            // Writing into a String cannot fail; a digit short would only change the name.
            if write!(text, "{byte:02x}").is_err() {
                text.push('-');
            }
            text
        })
}

/// The address of a static file: `css/page.css` becomes `/static/<hash>/css/page.css`.
#[must_use]
pub fn asset(path: &str) -> String {
    format!("/static/{}/{path}", tree_hash())
}

/// The content type of a file by its ending.
fn content_type(path: &str) -> &'static str {
    match path.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("json") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        _ => "text/plain; charset=utf-8",
    }
}

/// The addresses of the files that a device keeps to go on alone: all but what only the desk uses.
#[must_use]
pub fn shell() -> Vec<String> {
    let mut names: Vec<_> = Files::iter()
        .filter(|name| !name.starts_with("js/chart-edit") && *name != WORKER)
        .map(|name| asset(&name))
        .collect();
    names.sort();
    names
}

const WORKER: &str = "js/worker.js";

/// The service worker: which version it keeps and which files, before its own text.
///
/// # Errors
/// If the file is missing from the binary.
pub fn worker() -> Result<String, &'static str> {
    let file = Files::get(WORKER).ok_or("the service worker is missing from the binary")?;
    let text = std::str::from_utf8(&file.data).map_err(|_| "the service worker is not UTF-8")?;
    let kept = serde_json::json!({"build": tree_hash(), "files": shell()});
    Ok(format!("const KEPT = {kept};\n{text}"))
}

/// Answers a request for a static file: route `/static/{hash}/{*path}`.
///
/// Under the present hash a file never changes and may be kept for ever. A page from before an
/// update asks under an old hash; it gets what there is now, unkept, so that its alarm can
/// still load.
#[must_use]
pub fn serve(hash: &str, path: &str, asked: &HeaderMap) -> Response<Body> {
    let Some(file) = Files::get(path) else {
        return answer(StatusCode::NOT_FOUND, &[], Body::empty());
    };
    let tag = format!("\"{}\"", hex(&file.metadata.sha256_hash(), 16));
    let keep = if hash == tree_hash() {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let headers = [
        (header::CONTENT_TYPE, content_type(path)),
        (header::CACHE_CONTROL, keep),
        (header::ETAG, tag.as_str()),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    ];
    let held = asked.get(header::IF_NONE_MATCH).is_some_and(|value| {
        value
            .to_str()
            .is_ok_and(|list| list.split(',').any(|one| one.trim() == tag))
    });
    if held {
        answer(StatusCode::NOT_MODIFIED, &headers, Body::empty())
    } else {
        answer(StatusCode::OK, &headers, Body::from(file.data.into_owned()))
    }
}

fn answer(
    status: StatusCode,
    headers: &[(header::HeaderName, &str)],
    body: Body,
) -> Response<Body> {
    let mut response = Response::new(body);
    *response.status_mut() = status;
    for (name, value) in headers {
        if let Ok(value) = HeaderValue::from_str(value) {
            response.headers_mut().insert(name.clone(), value);
        }
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header_of(response: &Response<Body>, name: header::HeaderName) -> &str {
        response.headers().get(name).unwrap().to_str().unwrap()
    }

    #[test]
    fn a_file_under_its_hash_is_kept_for_ever_and_under_another_is_not() {
        let none = HeaderMap::new();
        let now = serve(tree_hash(), "js/app.js", &none);
        assert_eq!(now.status(), StatusCode::OK);
        assert_eq!(
            header_of(&now, header::CONTENT_TYPE),
            "text/javascript; charset=utf-8"
        );
        assert!(header_of(&now, header::CACHE_CONTROL).contains("immutable"));
        let old = serve("0000", "js/app.js", &none);
        assert_eq!(header_of(&old, header::CACHE_CONTROL), "no-cache");
    }

    #[test]
    fn what_the_browser_holds_is_not_sent_again() {
        let first = serve(tree_hash(), "css/page.css", &HeaderMap::new());
        let mut asked = HeaderMap::new();
        asked.insert(
            header::IF_NONE_MATCH,
            first.headers().get(header::ETAG).unwrap().clone(),
        );
        assert_eq!(
            serve(tree_hash(), "css/page.css", &asked).status(),
            StatusCode::NOT_MODIFIED
        );
    }

    #[test]
    fn there_is_no_way_out_of_the_folder() {
        for path in [
            "../Cargo.toml",
            "css/../../Cargo.toml",
            "/etc/hostname",
            "",
            "css",
        ] {
            let found = serve(tree_hash(), path, &HeaderMap::new());
            assert_eq!(found.status(), StatusCode::NOT_FOUND, "{path}");
        }
    }

    fn script_bytes(taken: impl Fn(&str) -> bool) -> usize {
        Files::iter()
            .filter(|name| name.ends_with(".js") && taken(name))
            .filter_map(|name| Files::get(&name))
            .map(|file| file.data.len())
            .sum()
    }

    /// What is fetched when the page stands, for going on alone; and the service worker.
    const LATER: [&str; 13] = [
        "js/alone-pages.js",
        "js/alone.js",
        "js/copy.js",
        "js/going-on.js",
        "js/outbox.js",
        "js/overlay.js",
        "js/said.js",
        "js/shell.js",
        "js/submit.js",
        "js/typed.js",
        "js/units.js",
        "js/words.js",
        "js/worker.js",
    ];

    fn compressed(taken: impl Fn(&str) -> bool) -> usize {
        use std::io::Write as _;
        Files::iter()
            .filter(|name| taken(name))
            .filter_map(|name| Files::get(&name))
            .map(|file| {
                let mut packed =
                    flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
                packed.write_all(&file.data).unwrap();
                packed.finish().unwrap().len()
            })
            .sum()
    }

    /// The budget of scripts any page may load, and of what a chart adds.
    #[test]
    fn the_scripts_stay_small() {
        let is_chart = |name: &str| name.starts_with("js/chart-");
        let is_log = |name: &str| name.starts_with("js/log-") || name.starts_with("vendor/qr");
        let is_later = |name: &str| LATER.contains(&name);
        let bytes = compressed(|name| {
            content_type(name).starts_with("text/javascript")
                && !is_chart(name)
                && !is_log(name)
                && !is_later(name)
        });
        assert!(bytes <= 40 * 1024, "{bytes} bytes of scripts");
        let bytes = compressed(is_later);
        assert!(
            bytes <= 48 * 1024,
            "{bytes} bytes to go on alone, compressed"
        );
        let bytes = script_bytes(is_chart);
        assert!(bytes <= 40 * 1024, "{bytes} bytes of scripts for charts");
        let bytes = script_bytes(|name| name.starts_with("js/log-"));
        assert!(
            bytes <= 40 * 1024,
            "{bytes} bytes of scripts for handing logs over"
        );
        let bytes = script_bytes(|name| name.starts_with("vendor/qr"));
        assert!(
            bytes <= 56 * 1024,
            "{bytes} bytes to draw codes and to read them"
        );
    }
}
