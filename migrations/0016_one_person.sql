-- One person, one entry: an entry that was found to be a double is taken out, and its identity,
-- which logs go on to name, points to the one that remained. Besides: when somebody was born and
-- who agreed that a minor dives. Instants are milliseconds since 1970 UTC.

ALTER TABLE person ADD COLUMN born TEXT;

-- Kinds of audit lines that came later than the column `kind`, which an older program reads: for
-- that program these lines are about the box.
ALTER TABLE audit ADD COLUMN about TEXT;

CREATE TABLE merged_person (
    gone   TEXT    NOT NULL PRIMARY KEY,
    person TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    name   TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    who    TEXT
) STRICT, WITHOUT ROWID;

CREATE INDEX merged_into ON merged_person (person);

-- Two entries that look alike and are two people, by somebody's word.
CREATE TABLE two_people (
    one   TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    other TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    at    INTEGER NOT NULL,
    who   TEXT,
    PRIMARY KEY (one, other),
    CHECK (one < other)
) STRICT, WITHOUT ROWID;

-- A guardian's consent, on a paper that somebody of the centre saw: for one trip, or until a day.
CREATE TABLE consent (
    id       TEXT    NOT NULL PRIMARY KEY,
    person   TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    guardian TEXT    NOT NULL CHECK (guardian <> ''),
    given_on TEXT    NOT NULL,
    trip     TEXT,
    until    TEXT,
    seen_by  TEXT    NOT NULL CHECK (seen_by <> ''),
    seen_at  INTEGER NOT NULL,
    CHECK ((trip IS NULL) <> (until IS NULL))
) STRICT;

CREATE INDEX consent_person ON consent (person);

-- A minor comes along on a trip without consent: who decided that, and why.
CREATE TABLE consent_override (
    person TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    trip   TEXT    NOT NULL,
    why    TEXT    NOT NULL CHECK (why <> ''),
    who    TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    PRIMARY KEY (person, trip)
) STRICT, WITHOUT ROWID;
