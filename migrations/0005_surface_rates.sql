-- What each diver breathed on a logged dive, litres a minute at the surface: learned from the
-- trip's log, written anew whenever that changes, gone with the person. Instants are
-- milliseconds since 1970 UTC.

CREATE TABLE surface_rate (
    person TEXT    NOT NULL REFERENCES person (id) ON DELETE CASCADE,
    trip   TEXT    NOT NULL REFERENCES trip (id),
    dive   INTEGER NOT NULL CHECK (dive >= 1),
    at     INTEGER NOT NULL,
    l_min  REAL    NOT NULL CHECK (l_min > 0),
    PRIMARY KEY (person, trip, dive)
) STRICT, WITHOUT ROWID;

CREATE INDEX surface_rate_trip ON surface_rate (trip);
