-- The centre's cylinders with what is in them as last told (with no oxygen: empty), and analyses of their gas as divers signed
-- them. Instants are milliseconds since 1970 UTC; oxygen is a fraction.

CREATE TABLE cylinder (
    id        TEXT    NOT NULL PRIMARY KEY,
    marking   TEXT    NOT NULL UNIQUE CHECK (marking <> ''),
    litres    REAL    NOT NULL,
    test_due  TEXT,
    oxygen    REAL,
    bar       REAL,
    told_at   INTEGER,
    told_by   TEXT,
    CHECK ((oxygen IS NULL) = (bar IS NULL)),
    CHECK ((told_at IS NULL) = (told_by IS NULL)),
    CHECK (oxygen IS NULL OR told_at IS NOT NULL)
) STRICT;

-- A diver's own cylinder, and one that is no longer the centre's, has no number.
CREATE TABLE gas_analysis (
    id        TEXT    NOT NULL PRIMARY KEY,
    cylinder  TEXT    REFERENCES cylinder (id) ON DELETE SET NULL,
    marking   TEXT    NOT NULL CHECK (marking <> ''),
    litres    REAL    NOT NULL,
    person    TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    signed_as TEXT    NOT NULL CHECK (signed_as <> ''),
    oxygen    REAL    NOT NULL,
    bar       REAL    NOT NULL,
    at        INTEGER NOT NULL,
    who       TEXT
) STRICT;

CREATE INDEX gas_analysis_at ON gas_analysis (at);
CREATE INDEX gas_analysis_person ON gas_analysis (person);
