//! Computations for programs: anybody who reaches the box may ask, so they get one core at most.

use axum::http::header;
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

use crate::web::compute::Computation;
use crate::web::error::Error;
use crate::web::extract::{Document, Path};

/// Whoever asks for a large order waits for the one before: the watch has the other core.
static TURN: Semaphore = Semaphore::const_new(1);

/// Answers a document, off the threads that serve.
pub(super) async fn answer(
    Path(what): Path<String>,
    Document(document): Document,
) -> Result<Response, Error> {
    let what = Computation::by_name(&what).ok_or(Error::NotFound)?;
    let turn = TURN
        .acquire()
        .await
        .map_err(|_| Error::Internal("computations have ended"))?;
    let answered = tokio::task::spawn_blocking(move || {
        // Held by the work itself: who gives up waiting does not let the next one in beside it.
        let _turn = turn;
        what.answer(&document)
    })
    .await
    .map_err(|_| Error::Internal("a computation panicked"))?;
    let body = answered?.to_string();
    Ok(([(header::CONTENT_TYPE, "application/json")], body).into_response())
}
