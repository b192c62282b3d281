//! Every route with who may use it, and what stands round all of them.

use std::time::Duration;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::{Request, StatusCode};
use axum::middleware::{from_fn, from_fn_with_state, map_response};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, get, post};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::timeout::TimeoutLayer;
use tower_http::trace::TraceLayer;

use super::app::App;
use super::error::Error;
use super::guard::{Needs, admit, ours, tell};
use super::{alone, language, set_up, sign_in, start, stream};

/// Largest body of a form or an upload.
const LARGEST_BODY: usize = 8 * 1024 * 1024;
/// Longest time an answer may take to begin.
const LONGEST_ANSWER: Duration = Duration::from_secs(30);

/// One route.
pub struct Route {
    /// The path, with its parts in braces.
    pub path: &'static str,
    /// The methods it is used with.
    pub methods: &'static [&'static str],
    /// Who may use it.
    pub needs: Needs,
    handler: MethodRouter<App>,
}

/// A route that is read.
pub(super) fn read<H, T>(path: &'static str, needs: Needs, handler: H) -> Route
where
    H: axum::handler::Handler<T, App>,
    T: 'static,
{
    Route {
        path,
        methods: &["GET"],
        needs,
        handler: get(handler),
    }
}

/// A route that acts.
pub(super) fn act<H, T>(path: &'static str, needs: Needs, handler: H) -> Route
where
    H: axum::handler::Handler<T, App>,
    T: 'static,
{
    Route {
        path,
        methods: &["POST"],
        needs,
        handler: post(handler),
    }
}

/// Every route there is.
#[must_use]
pub fn routes() -> Vec<Route> {
    let mut routes = vec![
        read("/", Needs::Looker, start::page),
        read("/enrol", Needs::Nobody, sign_in::enrol_page),
        act("/enrol", Needs::Nobody, sign_in::enrol),
        read("/set-up", Needs::Nobody, set_up::page),
        act("/set-up", Needs::Nobody, set_up::make),
        read("/sign-in", Needs::Nobody, sign_in::sign_in_page),
        act("/sign-in", Needs::Nobody, sign_in::sign_in),
        act("/sign-out", Needs::Looker, sign_in::sign_out),
        act("/palette", Needs::Nobody, sign_in::palette),
        act("/language", Needs::Nobody, language::choose),
        read(
            "/static/{hash}/{*path}",
            Needs::Nobody,
            sign_in::static_file,
        ),
        read("/alone", Needs::Nobody, alone::page),
        read("/sw.js", Needs::Nobody, alone::worker),
        read("/deckwatch.webmanifest", Needs::Nobody, alone::manifest),
        read("/api/trips/{trip}/live", Needs::Crew, stream::listen),
    ];
    routes.extend(super::helm::routes());
    routes.extend(super::deck::routes());
    routes.extend(super::desk::routes());
    routes.extend(super::logs::routes());
    routes.extend(super::api::routes());
    routes.extend(super::authority::routes());
    routes
}

/// The whole application.
pub fn router(app: App) -> Router {
    let mut router: Router<App> = Router::new();
    for route in routes() {
        let basic = super::basic::has(route.path);
        let guard = from_fn_with_state((app.clone(), route.needs, basic), admit);
        router = router.route(route.path, route.handler.layer(guard));
    }
    router
        .fallback(|| async { Error::NotFound })
        .method_not_allowed_fallback(|| async { Error::NotFound })
        .layer(CatchPanicLayer::custom(panicked))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST_ANSWER))
        .layer(DefaultBodyLimit::max(LARGEST_BODY))
        .layer(CsrfLayer::new())
        .layer(from_fn_with_state(app.clone(), ours))
        .layer(map_response(too_large))
        .layer(from_fn(alone::answer_script))
        .layer(from_fn_with_state(app.clone(), tell))
        .layer(from_fn_with_state(app.clone(), language::answer))
        .layer(CompressionLayer::new())
        .layer(TraceLayer::new_for_http().make_span_with(|request: &Request<_>| {
            tracing::info_span!("request", http.method = %request.method(), http.path = %request.uri().path())
        }))
        .with_state(app)
}

/// A handler that panicked is a fault of ours; the others go on.
fn panicked(_: Box<dyn std::any::Any + Send>) -> Response {
    Error::Internal("a handler panicked").into_response()
}

/// A body over the limit is told like every other problem.
async fn too_large(response: Response) -> Response {
    let told = response
        .extensions()
        .get::<super::error::Problem>()
        .is_some();
    if response.status() == StatusCode::PAYLOAD_TOO_LARGE && !told {
        return Error::TooLarge.into_response();
    }
    response
}
