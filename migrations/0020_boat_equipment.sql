-- What a boat has aboard for the day it is needed, and when each was looked at; and whom to call
-- and where to go from her, as the centre tells it.

CREATE TABLE boat_equipment (
    id         TEXT    NOT NULL PRIMARY KEY,
    boat       TEXT    NOT NULL REFERENCES boat (id) ON DELETE CASCADE,
    name       TEXT    NOT NULL CHECK (name <> ''),
    count      INTEGER NOT NULL CHECK (count >= 1),
    place      TEXT    NOT NULL,
    due        TEXT,
    checked_on TEXT,
    checked_by TEXT,
    CHECK ((checked_on IS NULL) = (checked_by IS NULL))
) STRICT;

CREATE INDEX boat_equipment_boat ON boat_equipment (boat);

CREATE TABLE boat_emergency (
    boat       TEXT NOT NULL PRIMARY KEY REFERENCES boat (id) ON DELETE CASCADE,
    channel    TEXT NOT NULL,
    numbers    TEXT NOT NULL,
    chamber    TEXT NOT NULL,
    evacuation TEXT NOT NULL,
    told_on    TEXT NOT NULL,
    told_by    TEXT NOT NULL CHECK (told_by <> '')
) STRICT;
