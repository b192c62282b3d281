//! Whether the box saves: looked at while it serves, and told as a notice on every screen. What
//! the trips' pictures say goes on from memory meanwhile.

use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch;

use super::app::App;
use crate::store::{Space, StoreError};
use crate::trip::watch::Priority;

/// The notice's name.
const ABOUT: &str = "storage";
/// How often the room on the disk is looked at.
const LOOK_EVERY: Duration = Duration::from_secs(10);
/// How often a store that stopped is asked whether it would do better anew.
const ASK_EVERY: Duration = Duration::from_secs(2);

/// Keeps the notice right until the server stops.
pub async fn keep(app: App) {
    let mut space = app.store().space();
    let mut health = app.store().health();
    loop {
        app.store().look_after_space().await;
        if app.store().check().is_ok() {
            tell(&app, *space.borrow_and_update());
        }
        tokio::select! {
            () = app.closing().cancelled() => return,
            changed = space.changed() => if changed.is_err() { return },
            () = stopped(&mut health) => {
                tell_stopped(&app, &app.store().would_open_anew().await);
                // Until `until_anew_would_do` says so, nothing changes.
                app.closing().cancelled().await;
                return;
            }
            () = tokio::time::sleep(LOOK_EVERY) => {}
        }
    }
}

/// Waits until the store has stopped and would do better when opened anew. A medium that takes
/// nothing would keep the program from starting at all: then it stays up, saves nothing, says
/// so, and goes on with the alarms from memory.
pub async fn until_anew_would_do(app: App) {
    let mut health = app.store().health();
    stopped(&mut health).await;
    loop {
        let told = app.store().would_open_anew().await;
        if told.is_ok() {
            return;
        }
        tell_stopped(&app, &told);
        tokio::time::sleep(ASK_EVERY).await;
    }
}

/// Waits until the store has stopped. Its health cannot end before it does: the application
/// holds the store.
async fn stopped(health: &mut watch::Receiver<Option<Arc<str>>>) {
    if health.wait_for(Option::is_some).await.is_err() {
        std::future::pending::<()>().await;
    }
}

fn tell(app: &App, space: Space) {
    let (priority, state, free) = match space {
        Space::Enough => return app.notices().clear(ABOUT),
        Space::Low { free } => (Priority::Caution, "low", free),
        Space::Reserve => (Priority::Warning, "reserve", 0),
        Space::Full => (Priority::Alarm, "full", 0),
    };
    let args = [
        ("state", state.to_owned()),
        ("free", (free >> 20).to_string()),
        ("why", String::new()),
    ];
    app.notices()
        .raise(ABOUT, priority, &args, app.clock().now());
}

fn tell_stopped(app: &App, against: &Result<(), StoreError>) {
    let why = match against {
        Ok(()) => String::new(),
        Err(StoreError::File { cause, .. }) => cause.to_string(),
        Err(StoreError::Stopped { why }) => why.to_string(),
        Err(other) => other.to_string(),
    };
    let state = if why.is_empty() { "stopped" } else { "broken" };
    let args = [
        ("state", state.to_owned()),
        ("free", "0".to_owned()),
        ("why", why),
    ];
    let now = app.clock().now();
    app.notices().raise(ABOUT, Priority::Alarm, &args, now);
}
