-- The register: people, their emergency contacts, boats, sites, and the centre's settings.
-- Contacts stand in a table of their own, so that no list of people carries them along.

CREATE TABLE person (
    id              TEXT    NOT NULL PRIMARY KEY,
    name            TEXT    NOT NULL CHECK (name <> ''),
    folded          TEXT    NOT NULL,
    level           TEXT    NOT NULL,
    depth_limit_m   REAL,
    last_dive       TEXT,
    fitness         TEXT    NOT NULL CHECK (fitness IN ('cleared', 'restricted')),
    breathing_l_min REAL,
    archived        INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1))
) STRICT;

CREATE INDEX person_folded ON person (folded);

CREATE TABLE contact (
    person    TEXT NOT NULL PRIMARY KEY REFERENCES person (id) ON DELETE CASCADE,
    name      TEXT NOT NULL,
    relation  TEXT NOT NULL,
    telephone TEXT NOT NULL
) STRICT;

CREATE TABLE boat (
    id                    TEXT    NOT NULL PRIMARY KEY,
    name                  TEXT    NOT NULL CHECK (name <> ''),
    call_sign             TEXT    NOT NULL,
    capacity              INTEGER NOT NULL CHECK (capacity >= 1),
    speed_kn              REAL    NOT NULL CHECK (speed_kn > 0),
    boarding_s_per_person INTEGER NOT NULL CHECK (boarding_s_per_person >= 0),
    approach_s            INTEGER NOT NULL CHECK (approach_s >= 0),
    boarding              TEXT    NOT NULL CHECK (boarding IN ('ladder', 'lift')),
    approach_side         TEXT    NOT NULL CHECK (approach_side IN ('not-set', 'up-wind', 'down-wind', 'lee')),
    mmsi                  TEXT,
    radio                 TEXT,
    emergency_plan        TEXT    NOT NULL
) STRICT;

CREATE TABLE site (
    id          TEXT NOT NULL PRIMARY KEY,
    name        TEXT NOT NULL CHECK (name <> ''),
    lon_deg     REAL NOT NULL,
    lat_deg     REAL NOT NULL,
    chart       TEXT NOT NULL,
    stand_off_m REAL NOT NULL CHECK (stand_off_m >= 0),
    time_zone   TEXT NOT NULL,
    notes       TEXT NOT NULL
) STRICT;

CREATE TABLE setting (
    key   TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;
