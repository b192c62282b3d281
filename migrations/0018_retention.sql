-- What an audit line is about, so that it can be looked for; and what is to be deleted, listed
-- before it is. Instants are milliseconds since 1970 UTC.

ALTER TABLE audit ADD COLUMN kind TEXT;
ALTER TABLE audit ADD COLUMN person TEXT;

UPDATE audit SET kind = CASE
    WHEN what LIKE 'refused%' THEN 'refused'
    WHEN what LIKE 'signed %' THEN 'sign-in'
    WHEN what LIKE 'forgave %' THEN 'sign-in'
    WHEN what LIKE 'opened the contact of %' THEN 'contact-opened'
    WHEN what LIKE 'emergency contacts opened:%' THEN 'contact-opened'
    WHEN what LIKE '%enrol%' OR what = 'revoked' THEN 'device'
    WHEN what LIKE 'made the account %' OR what LIKE 'changed the roles of %' THEN 'account'
    WHEN what LIKE 'gave % a new PIN' OR what LIKE 'removed the account %' THEN 'account'
    ELSE 'box'
END;
UPDATE audit SET person = substr(what, 23) WHERE what LIKE 'opened the contact of %';

CREATE INDEX audit_kind ON audit (kind, id);
CREATE INDEX audit_person ON audit (person, id) WHERE person IS NOT NULL;

-- When somebody's entry of the register was last written, as far as this program saw it.
CREATE TABLE registered (
    person TEXT    NOT NULL PRIMARY KEY REFERENCES person (id) ON DELETE CASCADE,
    since  INTEGER NOT NULL
) STRICT;

-- What will be deleted of whom, and since when the desk could read that.
CREATE TABLE to_delete (
    person    TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    what      TEXT    NOT NULL CHECK (what IN ('contact', 'fitness', 'entry')),
    due_at    INTEGER NOT NULL,
    listed_at INTEGER NOT NULL,
    PRIMARY KEY (person, what)
) STRICT, WITHOUT ROWID;

-- Trips with an incident about which nothing more is open.
CREATE TABLE incident_settled (
    trip  TEXT    NOT NULL PRIMARY KEY,
    entry INTEGER NOT NULL,
    at    INTEGER NOT NULL,
    crew  TEXT    NOT NULL,
    why   TEXT    NOT NULL
) STRICT;
