//! Connections: taken on every listener, counted by where they come from, spoken to in HTTP/1.1
//! with or without TLS, dropped when their header does not come, and ended in peace.

mod peers;

use std::time::Duration;

use axum::Router;
use axum::http::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::time::{sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tokio_util::sync::CancellationToken;
use tokio_util::task::TaskTracker;
use tower::Service as _;

pub use peers::{Most, Peers};

use super::app::App;
use super::router::router;
use super::transport::{Line, Via};

/// Largest header, and what is read ahead of a body, bytes.
const READ_AHEAD: usize = 64 * 1024;
/// A pause when no connection can be taken, as when descriptors run out: more time may free some.
const PAUSE: Duration = Duration::from_millis(200);

/// How long and how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Longest time for a TLS handshake, and for a header to come in whole. An idle connection is
    /// closed after it too.
    pub header: Duration,
    /// Longest time that answers under way may take once the server stops.
    pub last_answers: Duration,
    /// How many connections there may be.
    pub most: Most,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            header: Duration::from_secs(10),
            // As long as an answer may take to begin.
            last_answers: Duration::from_secs(30),
            most: Most::default(),
        }
    }
}

/// A listener and what is spoken there.
pub struct Door {
    /// Where connections come in.
    pub listener: TcpListener,
    /// What it is.
    pub line: Line,
    /// TLS, if it is spoken there.
    pub tls: Option<TlsAcceptor>,
}

#[derive(Clone)]
struct Serving {
    router: Router,
    peers: Peers,
    limits: Limits,
    closing: CancellationToken,
    cut: CancellationToken,
    open: TaskTracker,
}

/// Serves an application on every door until it is closing; then answers under way are finished.
pub async fn serve(app: &App, doors: Vec<Door>, limits: Limits) {
    let serving = Serving {
        // Made ready once: else every connection copies the whole table of routes, and holds on
        // to it as long as a device listens.
        router: router(app.clone()).with_state(()),
        peers: app.peers().clone(),
        limits,
        closing: app.closing().clone(),
        cut: CancellationToken::new(),
        open: TaskTracker::new(),
    };
    let listening = TaskTracker::new();
    for door in doors {
        listening.spawn(serving.clone().accept(door));
    }
    listening.close();
    listening.wait().await;
    serving.open.close();
    if timeout(limits.last_answers, serving.open.wait())
        .await
        .is_err()
    {
        tracing::warn!(connections = serving.open.len(), "cut off while stopping");
        serving.cut.cancel();
        serving.open.wait().await;
    }
}

impl Serving {
    async fn accept(self, door: Door) {
        loop {
            let taken = tokio::select! {
                () = self.closing.cancelled() => return,
                taken = door.listener.accept() => taken,
            };
            let (stream, from) = match taken {
                Ok(taken) => taken,
                Err(error) => {
                    tracing::warn!(%error, "a connection could not be taken");
                    sleep(PAUSE).await;
                    continue;
                }
            };
            let peer = from.ip();
            let Some(counted) = self.peers.enter(peer, &self.limits.most) else {
                tracing::debug!(%peer, "too many connections from there");
                continue;
            };
            let (serving, tls) = (self.clone(), door.tls.clone());
            let line = door.line;
            self.open.spawn(async move {
                serving.carry(stream, tls, Via { line, peer }).await;
                drop(counted);
            });
        }
    }

    async fn carry(self, stream: TcpStream, tls: Option<TlsAcceptor>, via: Via) {
        // Beats and patches are small: none waits for the next.
        if let Err(error) = stream.set_nodelay(true) {
            tracing::debug!(%error, "small answers may come late");
        }
        let Some(tls) = tls else {
            return self.speak(stream, via).await;
        };
        let shaken = tokio::select! {
            () = self.closing.cancelled() => return,
            shaken = timeout(self.limits.header, tls.accept(stream)) => shaken,
        };
        match shaken {
            Ok(Ok(stream)) => self.speak(stream, via).await,
            Ok(Err(error)) => tracing::debug!(peer = %via.peer, %error, "no TLS was agreed on"),
            Err(_) => tracing::debug!(peer = %via.peer, "a TLS handshake did not end"),
        }
    }

    async fn speak<S>(&self, stream: S, via: Via)
    where
        S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
    {
        let router = self.router.clone();
        let service = service_fn(move |mut request: Request<Incoming>| {
            request.extensions_mut().insert(via);
            let mut router = router.clone();
            router.call(request)
        });
        let connection = http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(self.limits.header)
            .max_buf_size(READ_AHEAD)
            .serve_connection(TokioIo::new(stream), service);
        tokio::pin!(connection);
        let ended = tokio::select! {
            ended = connection.as_mut() => ended,
            () = self.closing.cancelled() => {
                connection.as_mut().graceful_shutdown();
                tokio::select! {
                    ended = connection.as_mut() => ended,
                    () = self.cut.cancelled() => return,
                }
            }
        };
        if let Err(error) = ended {
            tracing::debug!(peer = %via.peer, %error, "a connection ended early");
        }
    }
}
