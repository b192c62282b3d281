-- The trip log. Instants are milliseconds since 1970 UTC, identities are UUIDs as text.
-- Nothing in entry or clash is ever updated or deleted.

CREATE TABLE trip (
    id         TEXT    NOT NULL PRIMARY KEY,
    day        TEXT,
    harbour    TEXT,
    boat       TEXT,
    drill      INTEGER NOT NULL DEFAULT 0 CHECK (drill IN (0, 1)),
    opened_at  INTEGER,
    closed     INTEGER NOT NULL DEFAULT 0 CHECK (closed IN (0, 1)),
    last_entry INTEGER NOT NULL CHECK (last_entry >= 0),
    chain      BLOB    NOT NULL CHECK (length(chain) = 32)
) STRICT;

CREATE TABLE entry (
    trip        TEXT    NOT NULL REFERENCES trip (id),
    entry       INTEGER NOT NULL CHECK (entry >= 1),
    event       TEXT    NOT NULL,
    device      TEXT    NOT NULL,
    device_seq  INTEGER NOT NULL CHECK (device_seq >= 1),
    content     TEXT    NOT NULL,
    hash        BLOB    NOT NULL CHECK (length(hash) = 32),
    chain       BLOB    NOT NULL CHECK (length(chain) = 32),
    recorded_at INTEGER NOT NULL,
    wall_age_ms INTEGER,
    mono_age_ms INTEGER,
    boot        TEXT    NOT NULL,
    uptime_ms   INTEGER NOT NULL,
    PRIMARY KEY (trip, entry)
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX entry_event ON entry (event);
CREATE UNIQUE INDEX entry_device ON entry (trip, device, device_seq);

-- Where a log ends is noted by the insert itself: one statement appends an event.
CREATE TRIGGER entry_ends_log AFTER INSERT ON entry BEGIN
    UPDATE trip SET last_entry = NEW.entry, chain = NEW.chain WHERE id = NEW.trip;
END;

-- Content that was refused because its id, or its number of its device, stands in a log with
-- other content. Kept, as one of the two is wrong and nobody knows which.
CREATE TABLE clash (
    trip        TEXT    NOT NULL,
    event       TEXT    NOT NULL,
    device      TEXT    NOT NULL,
    device_seq  INTEGER NOT NULL,
    content     TEXT    NOT NULL,
    hash        BLOB    NOT NULL PRIMARY KEY CHECK (length(hash) = 32),
    recorded_at INTEGER NOT NULL,
    boot        TEXT    NOT NULL
) STRICT;

CREATE INDEX clash_trip ON clash (trip);
