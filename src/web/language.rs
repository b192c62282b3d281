//! The language of a request: the one the device chose, else what its browser asks for, else
//! English. It goes along with the request as its span does, so that a sentence made anywhere
//! while it is answered is in the language of the page. The centre's units go along the same way:
//! what programs are answered is metric always, as everything that is kept is.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::Cookie;

use super::app::App;
use super::form::Fields;
use super::page::{cookie, local_path};
use super::sign_in::with_cookies;
use super::transport::Transport;
use crate::units::system::System;
use crate::words::{Language, Words};

const LANGUAGE: &str = "deckwatch-language";
/// Days for which a device keeps its language.
const KEPT_DAYS: i64 = 400;

tokio::task_local! {
    static ASKED: (Language, System);
}

fn asked() -> (Language, System) {
    ASKED.try_with(|asked| *asked).unwrap_or_default()
}

/// The words of the request that is being answered; English and metric outside of any.
pub fn words() -> &'static Words {
    let (language, system) = asked();
    Words::with(language, system)
}

/// The units of the page that is being answered.
pub fn units() -> System {
    asked().1
}

/// Says something in English, whatever the page is in: what goes over the radio.
pub fn in_english<T>(say: impl FnOnce() -> T) -> T {
    ASKED.sync_scope((Language::English, units()), say)
}

/// Answers a request in its language, and in the centre's units where people read.
pub async fn answer(State(app): State<App>, request: Request, next: Next) -> Response {
    let language = of(request.headers());
    let system = if is_metric(request.uri().path()) {
        System::Metric
    } else {
        app.units()
    };
    ASKED.scope((language, system), next.run(request)).await
}

/// What is metric whatever the setting: what programs ask for, and the chart, the picture and the
/// tides of a site, whose files and tables are in metres. Each of those pages is so as a whole.
fn is_metric(path: &str) -> bool {
    let of_site = path
        .strip_prefix("/desk/sites/")
        .and_then(|rest| rest.split_once('/'));
    path.starts_with("/api/") || of_site.is_some()
}

fn of(headers: &HeaderMap) -> Language {
    let jar = CookieJar::from_headers(headers);
    let chosen = jar.get(LANGUAGE);
    chosen
        .and_then(|cookie| Language::by_tag(cookie.value()))
        .or_else(|| {
            let asked = headers.get(header::ACCEPT_LANGUAGE)?.to_str().ok()?;
            preferred(asked)
        })
        .unwrap_or_default()
}

/// The first language asked for that is here; browsers name them best first (RFC 9110, 12.5.4).
fn preferred(asked: &str) -> Option<Language> {
    asked
        .split(',')
        .filter_map(|range| range.split([';', '-']).next())
        .find_map(|tag| Language::by_tag(tag.trim()))
}

/// Keeps a language on a device.
pub async fn choose(transport: Transport, fields: Fields) -> Response {
    let language = Language::by_tag(fields.typed("language")).unwrap_or_default();
    let kept: Cookie<'static> = cookie(transport, LANGUAGE, language.tag().to_owned(), KEPT_DAYS);
    let back = local_path(fields.typed("back")).to_owned();
    with_cookies([kept], Redirect::to(&back)).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(cookie: Option<&str>, accept: Option<&str>) -> Language {
        let mut headers = HeaderMap::new();
        if let Some(cookie) = cookie {
            let cookie = format!("{LANGUAGE}={cookie}");
            headers.insert(header::COOKIE, cookie.parse().unwrap());
        }
        if let Some(accept) = accept {
            headers.insert(header::ACCEPT_LANGUAGE, accept.parse().unwrap());
        }
        of(&headers)
    }

    #[test]
    fn what_the_device_chose_comes_before_what_its_browser_asks_for() {
        assert_eq!(asked(None, None), Language::English);
        assert_eq!(
            asked(None, Some("de-AT,de;q=0.8,en;q=0.5")),
            Language::German
        );
        assert_eq!(
            asked(None, Some("fr, en;q=0.9, de;q=0.8")),
            Language::English
        );
        assert_eq!(asked(None, Some("fr")), Language::English);
        assert_eq!(asked(Some("en"), Some("de")), Language::English);
        assert_eq!(asked(Some("de"), Some("en")), Language::German);
        assert_eq!(asked(Some("klingon"), Some("de")), Language::German);
    }

    #[tokio::test]
    async fn outside_of_a_request_words_are_english() {
        assert_eq!(words().tag(), "en");
        let asked = (Language::German, System::Imperial);
        let inside = ASKED.scope(asked, async { (words().tag(), words().system()) });
        assert_eq!(inside.await, ("de", System::Imperial));
    }
}
