-- Crew accounts, the devices they use, and who signed in where. Secrets, codes and PINs are
-- kept as hashes only.

CREATE TABLE crew (
    id     TEXT    NOT NULL PRIMARY KEY,
    name   TEXT    NOT NULL CHECK (name <> ''),
    folded TEXT    NOT NULL,
    roles  TEXT    NOT NULL CHECK (roles <> ''),
    pin    TEXT    NOT NULL,
    active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0, 1))
) STRICT;

-- A name belongs to one account at a time; a removed one gives it free.
CREATE UNIQUE INDEX crew_name ON crew (folded) WHERE active = 1;

CREATE TABLE device (
    id          TEXT    NOT NULL PRIMARY KEY,
    name        TEXT    NOT NULL CHECK (name <> ''),
    kind        TEXT    NOT NULL CHECK (kind IN ('helm', 'deck', 'desk')),
    secret      BLOB    NOT NULL UNIQUE CHECK (length(secret) = 32),
    enrolled_by TEXT    NOT NULL,
    enrolled_at INTEGER NOT NULL,
    revoked_at  INTEGER
) STRICT;

CREATE TABLE enrolment (
    code     BLOB    NOT NULL PRIMARY KEY CHECK (length(code) = 32),
    made_by  TEXT    NOT NULL,
    made_at  INTEGER NOT NULL,
    expires  INTEGER NOT NULL,
    misses   INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE session (
    secret    BLOB    NOT NULL PRIMARY KEY CHECK (length(secret) = 32),
    device    TEXT    NOT NULL REFERENCES device (id),
    crew      TEXT    NOT NULL REFERENCES crew (id),
    created   INTEGER NOT NULL,
    last_seen INTEGER NOT NULL,
    expires   INTEGER NOT NULL
) STRICT;

CREATE INDEX session_device ON session (device);
CREATE INDEX session_crew ON session (crew);

-- Wrong PINs by crew name (known or not) and device.
CREATE TABLE attempt (
    folded       TEXT    NOT NULL,
    device       TEXT    NOT NULL,
    misses       INTEGER NOT NULL,
    last_at      INTEGER NOT NULL,
    locked_until INTEGER NOT NULL,
    PRIMARY KEY (folded, device)
) STRICT;

CREATE TABLE audit (
    id     INTEGER NOT NULL PRIMARY KEY,
    at     INTEGER NOT NULL,
    who    TEXT,
    device TEXT,
    what   TEXT    NOT NULL
) STRICT;
